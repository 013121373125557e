"""Every string a user can get: the wordings of planner/data, templates, topics, README, and the program's own literals."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import yaml

import planner

PACKAGE = Path(planner.__file__).parent
ROOT = PACKAGE.parent
UNSPOKEN_FILES = {"addresses.yaml", "letters.yaml", "spelling.yaml", "sources.yaml", "rounding.yaml", "transport.yaml"}
"""Tables of words people write, and titles of what others wrote."""
UNSPOKEN_KEYS = {"source", "sources", "words", "also"}
TAGS = re.compile(r"\{%.*?%\}|\{#.*?#\}", re.DOTALL)
FILLED = re.compile(r"\{\{.*?\}\}|\{[^{}]*\}", re.DOTALL)
KEYS = re.compile(r"\b\w*_\w+\b|@\w+")


APART = re.compile(r"(?<=[.?!])\**\s+(?=[A-Z{*`])|\n\s*\n|\s\|\s|\f|\s{3,}")


class Said(NamedTuple):
    """A string and where it stands, `file:line`."""

    where: str
    text: str


@cache
def everything() -> tuple[Said, ...]:
    """All of them, read once."""
    return tuple(_everything())


def _everything() -> Iterator[Said]:
    yield from _tables()
    for path in (
        *sorted((ROOT / "templates").glob("*.md")),
        *sorted((PACKAGE / "topics").glob("*.md")),
        ROOT / "README.md",
    ):
        text = TAGS.sub(_line_ends, path.read_text("utf-8"))
        for at, line in enumerate(text.splitlines(), 1):
            yield Said(f"{path.relative_to(ROOT)}:{at}", line)
    for path in sorted(PACKAGE.rglob("*.py")):
        if path.name != "migrations.py":  # SQL
            yield from _literals(path)


def sentences() -> Iterator[Said]:
    """What is told, a sentence each: a paragraph's lines joined, a table's row and a list's item for themselves."""
    for where, text in everything():
        for one in APART.split(text):
            if one.strip():
                yield Said(where, " ".join(one.split()))


def words(text: str) -> int:
    return len(re.findall(r"[^\s]*\w[^\s]*", FILLED.sub("x", text)))


def _line_ends(tag: re.Match[str]) -> str:
    """A template's tag as the lines it takes; what `else` divides is never read as one sentence."""
    return ("\f" if tag[0].startswith(("{% el", "{%- el")) else "") + "\n" * tag[0].count("\n")


def _tables() -> Iterator[Said]:
    for path in sorted((PACKAGE / "data").glob("*.yaml")):
        if path.name not in UNSPOKEN_FILES:
            name = str(path.relative_to(ROOT))
            yield from _scalars(yaml.compose(path.read_text("utf-8"), Loader=yaml.CSafeLoader), name)


def _scalars(node: yaml.Node | None, name: str) -> Iterator[Said]:
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            if key.value not in UNSPOKEN_KEYS:
                yield from _scalars(value, name)
    elif isinstance(node, yaml.SequenceNode):
        for value in node.value:
            yield from _scalars(value, name)
    elif isinstance(node, yaml.ScalarNode) and len(node.value.split()) > 2:
        yield Said(f"{name}:{node.start_mark.line + 1}", node.value)


def _literals(path: Path) -> Iterator[Said]:
    """Strings of three words or more that are not docstrings; what an f-string fills in is `{}`."""
    nodes = list(ast.walk(ast.parse(path.read_text("utf-8"))))
    apart = {id(node.value) for node in nodes if isinstance(node, ast.Expr)}
    apart |= {id(part) for node in nodes if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in nodes:
        if id(node) in apart:
            continue
        if isinstance(node, ast.JoinedStr):
            text = "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        if len(text.split()) > 2:
            yield Said(f"{path.relative_to(ROOT)}:{node.lineno}", text)
