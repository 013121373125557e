"""A template's wording as blocks: Markdown's own tokens, and only those a page has a use for.

`# Task: place` names the sheet, `## ` heads a section,
`- [ ] ` is a step, `  - should: ` and `  - if not: ` under it what it should show and what to do else,
`- [hold] Before this: questions?` a hold point, `> ` a caution (under a step:
that step's), `**x**` a number to act on.  A line that is only `@word` puts in
what the program draws; `@two 7 5`, `@beside`, `@end` stand things side by side (inside a column, two that make up that
column); `@columns` ... `@end` lets short things run down one half of the page and on down the other; `@page` begins a
page unless what follows fits this one whole.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.token import Token

from planner.packet.blocks import (
    Block,
    Bullet,
    Caution,
    Columns,
    Heading,
    Hold,
    NewPage,
    Role,
    Section,
    Span,
    Spans,
    Step,
    Text,
    Two,
)
from planner.packet.sandbox import filled, refused

_OFF = [
    "html_block",
    "html_inline",
    "image",
    "link",
    "autolink",
    "reference",
    "code",
    "fence",
    "backticks",
    "lheading",
    "hr",
]
_MARK = re.compile(r"\[( |hold)\] +")
_CLOSE = re.compile(r"(?<=[^\n])\n@")
"""A directive right under a line of a list would be taken for more of that line. A value's own @ is escaped."""
_BESIDE = {"should": "should", "if not": "differs"}
_COUNTS = {12: "twelve"}
_INLINE = {"text", "strong_open", "strong_close", "softbreak", "hardbreak"}


@lru_cache(maxsize=1)
def _reader() -> MarkdownIt:
    return MarkdownIt("commonmark", {"html": False, "linkify": False}).disable(_OFF)


@lru_cache(maxsize=2048)
def _read(text: str) -> list[Token]:
    """A filled template's tokens, which are only read: a packet is printed twice and most of its words stay."""
    return _reader().parse(_CLOSE.sub("\n\n@", text))


@dataclass(slots=True, kw_only=True)
class _Open:
    """A container that is being filled: the page itself, columns, or an arrangement of them."""

    kind: str
    argument: str = ""
    line: int = 1
    blocks: list[Block] = field(default_factory=list)
    beside: list[Block] | None = None


@dataclass(slots=True, kw_only=True)
class _Page:
    """Everything the walk over the tokens needs to know."""

    name: str
    places: Mapping[str, Sequence[Block]]
    title: str = ""
    place: str = ""
    stack: list[_Open] = field(default_factory=lambda: [_Open(kind="page")])

    def add(self, *blocks: Block) -> None:
        top = self.stack[-1]
        (top.blocks if top.beside is None else top.beside).extend(blocks)


def section_from(
    name: str, source: str, values: Mapping[str, Any], places: Mapping[str, Sequence[Block]], *,
    key: str = "", foot: str = "", role: Role = "both",
) -> Section:  # fmt: skip
    """One sheet from its template. `places` are the blocks for each `@word`."""
    page = _Page(name=name, places=places)
    tokens = _read(filled(name, source, values))
    at = 0
    while at < len(tokens):
        at = _block(page, tokens, at)
    if len(page.stack) > 1:
        open_ = page.stack[-1]
        raise refused(name, open_.line, f"'@{open_.kind}' is never ended", "Write a line '@end' after it.")
    if not page.title:
        raise refused(name, 1, "the sheet has no name", "Begin with a line such as '# Set up: at the rig'.")
    return Section(
        key=key or name, title=page.title, place=page.place, blocks=tuple(page.stack[0].blocks), foot=foot, role=role
    )


def _line(token: Token) -> int:
    return token.map[0] + 1 if token.map else 1


def _unknown(page: _Page, token: Token) -> Exception:
    what = token.type.removesuffix("_open").replace("_", " ")
    return refused(
        page.name, _line(token), f"'{what}' has no place on a page", "Use headings, steps, cautions and text."
    )


def _block(page: _Page, tokens: list[Token], at: int) -> int:
    """Take one block from the tokens at `at`; gives where the next one starts."""
    token = tokens[at]
    if token.type == "heading_open":
        _heading(page, token, tokens[at + 1])
        return at + 3
    if token.type == "paragraph_open":
        inline = tokens[at + 1]
        for line in _directives(inline.content):
            _directive(page, line, _line(token))
        if not _directives(inline.content):
            page.add(Text(spans=_spans(page, inline)))
        return at + 3
    if token.type == "bullet_list_open":
        return _list(page, tokens, at + 1)
    if token.type == "blockquote_open":
        spans, at = _quote(page, tokens, at)
        page.add(Caution(spans=spans))
        return at
    raise _unknown(page, token)


def _heading(page: _Page, token: Token, inline: Token) -> None:
    spans = _spans(page, inline)
    if token.tag == "h1":
        words = "".join(span.text for span in spans)
        page.title, _, page.place = (part.strip() for part in words.partition(":"))
    elif token.tag == "h2":
        page.add(Heading(spans=spans))
    else:
        raise refused(page.name, _line(token), "a heading is '#' or '##'", "Use '## ' for a section of the page.")


def _directives(content: str) -> list[str]:
    """The lines of a paragraph where each of them is a directive; a value's own @ is escaped and never is one."""
    lines = [line.strip() for line in content.splitlines()]
    return [line[1:] for line in lines] if lines and all(line.startswith("@") for line in lines) else []


def _directive(page: _Page, words: str, line: int) -> None:
    word, _, argument = words.replace("\\", "").partition(" ")
    if word == "two":
        room = _room(page)
        if not re.fullmatch(r"\d{1,2} \d{1,2}", argument) or sum(int(n) for n in argument.split()) != room:
            raise refused(page.name, line, f"'@two' takes two widths that make {_COUNTS.get(room, room)}",
                          "Write '@two 7 5'; inside a column, two that make that column's width.")  # fmt: skip
        page.stack.append(_Open(kind="two", argument=argument, line=line))
    elif word == "columns":
        page.stack.append(_Open(kind="columns", line=line))
    elif word == "beside" and page.stack[-1].kind == "two":
        page.stack[-1].beside = []
    elif word == "end" and len(page.stack) > 1:
        closed = page.stack.pop()
        if closed.kind == "two":
            left, right = (int(n) for n in closed.argument.split())
            page.add(Two(left=tuple(closed.blocks), right=tuple(closed.beside or ()), split=(left, right)))
        else:
            page.add(Columns(blocks=tuple(closed.blocks)))
    elif word == "page" and len(page.stack) == 1:
        page.add(NewPage())
    elif words.replace("\\", "") in page.places:
        page.add(*page.places[words.replace("\\", "")])
    else:
        known = ", ".join(f"@{name}" for name in page.places)
        raise refused(
            page.name, line, f"'@{words}' is not known here",
            f"Use one of: {known}, @two, @beside, @columns, @end.",
        )  # fmt: skip


def _room(page: _Page) -> int:
    """How many of the twelve columns there are here: all of them, or those of the column that is being filled."""
    around = next((one for one in reversed(page.stack) if one.kind in ("two", "columns")), None)
    if around is None:
        return 12
    if around.kind == "columns":
        return 6
    return int(around.argument.split()[0 if around.beside is None else 1])


def _list(page: _Page, tokens: list[Token], at: int) -> int:
    while tokens[at].type == "list_item_open":
        first = tokens[at + 1]
        if first.type != "paragraph_open":
            raise refused(page.name, _line(tokens[at]), "a list line has no words", "Write '- [ ] ' and the action.")
        inline = tokens[at + 2]
        at += 4
        caution: Spans | None = None
        beside: dict[str, Spans] = {}
        while tokens[at].type in ("blockquote_open", "bullet_list_open"):
            if tokens[at].type == "blockquote_open":
                caution, at = _quote(page, tokens, at)
            else:
                beside, at = _beside(page, tokens, at)
        if tokens[at].type != "list_item_close":
            raise _unknown(page, tokens[at])
        at += 1
        page.add(_item(page, inline, caution, beside))
    return at + 1


def _beside(page: _Page, tokens: list[Token], at: int) -> tuple[dict[str, Spans], int]:
    """What a step should show and what to do if it does not: lines under it that begin with `should:` and `if not:`."""
    found: dict[str, Spans] = {}
    at += 1
    while tokens[at].type == "list_item_open":
        spans = _spans(page, tokens[at + 2])
        word, colon, rest = spans[0].text.partition(":")
        if word not in _BESIDE or not colon or tokens[at + 4].type != "list_item_close":
            raise refused(page.name, _line(tokens[at]), f"'{word}' cannot go under a step",
                          "Begin the line with 'should: ' or 'if not: '.")  # fmt: skip
        found[_BESIDE[word]] = tuple(span for span in (Span(text=rest.lstrip()), *spans[1:]) if span.text)
        at += 5
    return found, at + 1


def _item(page: _Page, inline: Token, caution: Spans | None, beside: Mapping[str, Spans]) -> Block:
    mark = _MARK.match(inline.content)
    spans = _spans(page, inline)
    if mark is None:
        if caution is not None:
            raise refused(page.name, _line(inline), "a caution goes under a step", "Begin the line with '- [ ] '.")
        return Bullet(spans=spans)
    spans = (replace(spans[0], text=_MARK.sub("", spans[0].text, count=1)), *spans[1:])
    if mark.group(1) != "hold":
        return Step(spans=spans, caution=caution,
                    should=beside.get("should", ()), differs=beside.get("differs", ()))  # fmt: skip
    title, _, rest = spans[0].text.partition(":")
    return Hold(title=title.strip(), questions=(Span(text=rest.lstrip()), *spans[1:]))


def _quote(page: _Page, tokens: list[Token], at: int) -> tuple[Spans, int]:
    spans: list[Span] = []
    at += 1
    while tokens[at].type != "blockquote_close":
        if tokens[at].type != "paragraph_open":
            raise _unknown(page, tokens[at])
        if spans:
            spans.append(Span(text=" "))
        spans.extend(_spans(page, tokens[at + 1]))
        at += 3
    return tuple(spans), at + 1


def _spans(page: _Page, inline: Token) -> Spans:
    spans: list[Span] = []
    strong = False
    for child in inline.children or []:
        if child.type not in _INLINE:
            what = child.type.removesuffix("_open").replace("_", " ")
            raise refused(
                page.name, _line(inline), f"'{what}' is not used on a page", "Use plain words, or **number**."
            )
        if child.type in {"strong_open", "strong_close"}:
            strong = child.type == "strong_open"
        else:
            text = child.content if child.type == "text" else " "
            if spans and spans[-1].strong == strong:
                spans[-1] = replace(spans[-1], text=spans[-1].text + text)
            elif text:
                spans.append(Span(text=text, strong=strong))
    return tuple(spans) or (Span(text=""),)
