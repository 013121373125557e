"""What the YAML parser complains of, in plain words with a remedy."""

from __future__ import annotations

_PROBLEMS: tuple[tuple[str, str, str], ...] = (
    (
        "mapping values are not allowed",
        "a colon stands where no key can",
        "put text with a colon in quotes, or check the indent",
    ),
    ("could not find expected ':'", "a key here has no colon", "write `key: value`, with a space after the colon"),
    (
        "did not find expected key",
        "this line does not line up with its neighbours",
        "give keys that belong together the same indent",
    ),
    (
        "expected <block end>",
        "this line does not line up with its neighbours",
        "give keys that belong together the same indent",
    ),
    ("expected '-' indicator", "this item does not line up with its list", "give every `-` of a list the same indent"),
    (
        "expected ',' or '}'",
        "a brace is not closed, or a comma is missing",
        "close `{` with `}` and part its keys by commas",
    ),
    (
        "expected ',' or ']'",
        "a bracket is not closed, or a comma is missing",
        "close `[` with `]` and part its items by commas",
    ),
    ("node content", "a value was expected here", "write a value, or put the text in quotes"),
    ("unexpected end of stream", "a quote is never closed", "close the quote"),
    ("document indicator", "a quote is never closed", "close the quote"),
    ("cannot start any token", "a value cannot start with this character", "put the value in quotes"),
    ("escape", "this escape is unknown", "use single quotes, where a backslash is only a backslash"),
    ("undefined alias", "an alias stands here", "write the value out again"),
    ("block sequence entries are not allowed", "a `-` cannot stand here", "start a list on the line below its key"),
    ("block mapping", "a key cannot stand here", "start each key on its own line"),
    ("alias", "a value cannot start with `*`", "put the value in quotes"),
    ("anchor", "a value cannot start with `&`", "put the value in quotes"),
    ("tag", "a value cannot start with `!`", "put the value in quotes"),
    ("directive", "a line cannot start with `%`", "put the text in quotes"),
)


def plain_problem(problem: str) -> tuple[str, str]:
    """Message and remedy for one of PyYAML's problem texts."""
    for part, message, remedy in _PROBLEMS:
        if part in problem:
            return message, remedy
    return f"this is not YAML: {problem or 'it cannot be read'}", "check the quotes, the colons and the indent here"
