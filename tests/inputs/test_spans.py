"""Edits at key paths: the value meant changes and every other byte stays, or nothing changes and it is said why."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.inputs.reading.places import all_places
from planner.inputs.reading.spans import (
    NotAsMeant,
    add_item,
    add_key,
    drop_item,
    drop_key,
    edited,
    lines_of,
    put,
    rename_keys,
    scalar,
    span_of,
)
from planner.inputs.reading.tree import Node, parse_tree
from tests.sampled import one_in

ROOT = Path(__file__).parents[2]
FILES = sorted(path for folder in ("jobs", "tests/inputs/workspace") for path in (ROOT / folder).rglob("*.yaml"))


def read(data: bytes) -> Any:
    """What another reader takes a file for."""
    return yaml.load(data.decode("utf-8-sig"), Loader=yaml.BaseLoader)


# ------------------------------------------------------------ every value of every file


def leaves(node: Node) -> Iterator[tuple[str, str]]:
    """Path and text of each value."""
    if isinstance(node.value, str):
        yield node.where.path, node.value
        return
    for below in node.value.values() if isinstance(node.value, dict) else node.value:
        assert isinstance(below, Node)
        yield from leaves(below)


@pytest.mark.ci
@pytest.mark.parametrize("file", one_in(4, FILES), ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_every_value_is_changed_and_put_back(file: Path) -> None:
    data = file.read_bytes()
    tree = parse_tree(data, "f")
    assert tree.root is not None
    for path, value in leaves(tree.root):
        start, end = span_of(data, path)
        old = data.decode()[start:end]
        key = path.rsplit(".", 1)[-1]
        written = (
            re.sub(rf'^(- *|"?{re.escape(key)}"? *: *)', "", old) if not path.endswith("]") else old.removeprefix("- ")
        )
        changed = put(data, path, "another 7")
        assert dict(leaves_of(changed))[path] == "another 7"
        assert put(changed, path, written) == data, path
        assert put(changed, path, scalar(value, flow=True)).decode().count("\n") == data.decode().count("\n")
        first, last = lines_of(data, path)
        was, now = data.split(b"\n"), changed.split(b"\n")
        assert was[: first - 1] == now[: first - 1], path
        assert was[last:] == now[len(now) - len(was) + last :], path


def leaves_of(data: bytes) -> Iterator[tuple[str, str]]:
    root = parse_tree(data, "f").root
    assert root is not None
    return leaves(root)


@pytest.mark.parametrize("file", one_in(4, FILES, first=1), ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_what_is_added_to_any_mapping_or_list_can_be_dropped_again(file: Path) -> None:
    data = file.read_bytes()
    root = parse_tree(data, "f").root
    assert root is not None
    waiting, tried = [root], 0
    while waiting:
        node = waiting.pop()
        if isinstance(node.value, str):
            continue
        below: list[Any] = list(node.value.values() if isinstance(node.value, dict) else node.value)
        waiting += below
        path, tried = node.where.path, tried + 1
        if isinstance(node.value, dict):
            if data.decode().splitlines()[node.where.line - 1][node.where.column - 1] != "{" and "control[" in path:
                continue  # `[a: b]`, a pair without braces: refused below
            assert drop_key(add_key(data, path, "fresh", "7"), f"{path}.fresh" if path else "fresh") == data, path
        else:
            assert drop_item(add_item(data, path, "fresh"), f"{path}[{len(below)}]") == data, path
    assert tried


# ------------------------------------------------------------ one case each


BOM = "\ufeff"
ALL_AS_MEANT: list[tuple[str, Callable[[bytes], bytes], str, str]] = [
    ("a comment stays", lambda d: put(d, "a", "2"), "a: 1   # note\nb: 3\n", "a: 2   # note\nb: 3\n"),
    ("a hash in quotes", lambda d: put(d, "a", "2"), "a: 'x # y'  # note\n", "a: 2  # note\n"),
    ("a mark and carriage returns", lambda d: put(d, "b", "3"), f"{BOM}a: 1\r\nb: 2\r\n", f"{BOM}a: 1\r\nb: 3\r\n"),
    ("a new line's end", lambda d: add_key(d, "", "c", "3"), "a: 1\r\nb: 2 # n\r\n", "a: 1\r\nb: 2 # n\r\nc: 3\r\n"),
    ("carriage returns alone", lambda d: add_key(d, "", "c", "3"), "a: 1\rb: 2\r", "a: 1\rb: 2\rc: 3\r"),
    ("no last line end", lambda d: add_key(d, "", "c", "3"), "a: 1\nb: 2", "a: 1\nb: 2\nc: 3"),
    ("no last line end, dropped", lambda d: drop_key(d, "b"), "a: 1\nb: 2", "a: 1"),
    ("no last line end, a comment", lambda d: drop_key(d, "b"), "a: 1\n# alone\nb: 2 # own", "a: 1\n# alone"),
    ("a block of text", lambda d: put(d, "a", "2"), "a: |\n  x # y\n  z\n\n# alone\nb: 1\n", "a: 2\n\n# alone\nb: 1\n"),
    ("behind a block of text", lambda d: add_key(d, "s", "b", "2"), "s:\n  a: >\n    x\n\nc: 1\n", "s:\n  a: >\n    x\n  b: 2\n\nc: 1\n"),
    ("a block of text dropped", lambda d: drop_key(d, "a"), "a: |-\n  x\n  # y\nb: 1\n", "b: 1\n"),
    ("a block of text that keeps blanks", lambda d: put(d, "a", "2"), "a: |+\n  x\n\nb: 1\n", "a: 2\nb: 1\n"),
    ("a block that ends the file", lambda d: put(d, "a", "2"), "a: |+\n  x", "a: 2"),
    ("quoted keys", lambda d: put(d, "s.a b", "2"), "s: {\"a b\": 1, 'c': 3}\n", "s: {\"a b\": 2, 'c': 3}\n"),
    ("a key with a dot", lambda d: put(d, "s.a.b", "2"), "s: {a.b: 1}\n", "s: {a.b: 2}\n"),
    ("letters beyond ASCII", lambda d: put(d, "ö.é", "ß"), "ö: {ü: ä, é: å, i: 1} # ø\n", "ö: {ü: ä, é: ß, i: 1} # ø\n"),
    ("letters of two words", lambda d: put(d, "b", "2"), "a: \U0001f4a7 x\nb: 1\n", "a: \U0001f4a7 x\nb: 2\n"),
    ("an empty value", lambda d: put(d, "a", "2"), "a:   # note\nb: 1\n", "a: 2   # note\nb: 1\n"),
    ("an empty value in braces", lambda d: put(d, "s.a", "2"), "s: {a: , b: 1}\n", "s: {a: 2 , b: 1}\n"),
    ("an empty item", lambda d: put(d, "s[0]", "2"), "s:\n-\n- b\n", "s:\n- 2\n- b\n"),
    ("an empty mapping", lambda d: add_key(d, "s", "a", "2"), "s:  # note\nb: 1\n", "s: {a: 2}  # note\nb: 1\n"),
    ("empty braces", lambda d: add_key(d, "s", "a", "2"), "s: {}\nb: 1\n", "s: {a: 2}\nb: 1\n"),
    ("an empty list", lambda d: add_item(d, "s", "a"), "s: [ ]\n", "s: [a]\n"),
    ("braces over lines", lambda d: add_key(d, "s", "c", "3"), "s: {a: 1, # one\n    b: 2 # two\n   }\n", "s: {a: 1, # one\n    b: 2, c: 3 # two\n   }\n"),
    ("a comma at the end", lambda d: add_key(d, "s", "c", "3"), "s: {a: 1, b: 2,}\n", "s: {a: 1, b: 2, c: 3,}\n"),
    ("braces over lines, put", lambda d: put(d, "s.b", "[1,2]"), "s: {a: 1, # one\n    b: 2}\n", "s: {a: 1, # one\n    b: [1,2]}\n"),
    ("braces over lines, last dropped", lambda d: drop_key(d, "s.b"), "s: {a: 1, # one\n    b: 2}\n", "s: {a: 1 # one\n    }\n"),
    ("braces over lines, first dropped", lambda d: drop_key(d, "s.a"), "s: {a: 1, # one\n    b: 2}\n", "s: { # one\n    b: 2}\n"),
    ("a line of its own in brackets", lambda d: drop_item(d, "s[1]"), "s: [\n  a, # 1\n  b, # 2\n  c # 3\n]\n", "s: [\n  a, # 1\n  c # 3\n]\n"),
    ("the last line in brackets", lambda d: drop_item(d, "s[1]"), "s: [\n  a,\n  b # 2\n]\n", "s: [\n  a\n]\n"),
    ("middle of braces", lambda d: drop_key(d, "s.b"), "s: {a: 1, b: 2, c: 3}\n", "s: {a: 1, c: 3}\n"),
    ("end of braces", lambda d: drop_key(d, "s.c"), "s: {a: 1, b: 2, c: 3}\n", "s: {a: 1, b: 2}\n"),
    ("the last of braces", lambda d: drop_key(d, "s.a"), "s: {a: 1,}\nb: 1\n", "s: {}\nb: 1\n"),
    ("the last of a block", lambda d: drop_key(d, "s.a"), "s:\n  a: 1 # own\nb: 1\n", "s: {}\nb: 1\n"),
    ("the last item", lambda d: drop_item(d, "s[0]"), "s:\n  - a: 1\n    b: 2\nb: 1\n", "s: []\nb: 1\n"),
    ("comments above stay", lambda d: drop_key(d, "b"), "a: 1\n# of b\nb: 2 # own\n# of c\nc: 3\n", "a: 1\n# of b\n# of c\nc: 3\n"),
    ("comments inside stay", lambda d: drop_key(d, "b"), "a: 1\nb:\n  x: 1 # own\n  # alone\n  y: 2\nc: 3\n", "a: 1\n  # alone\nc: 3\n"),
    ("the first key of an item", lambda d: drop_key(d, "s[0].a"), "s:\n  - a: 1 # own\n    b: 2\n", "s:\n  - b: 2\n"),
    ("before what comments what follows", lambda d: add_key(d, "s", "b", "2"), "s:\n  a: 1 # n\n\n# of t\nt: 1\n", "s:\n  a: 1 # n\n  b: 2\n\n# of t\nt: 1\n"),
    ("an item in a block", lambda d: add_item(d, "s", "{k: v}"), "s:\n- a\n- b # n\n# end\nt: 1\n", "s:\n- a\n- b # n\n- {k: v}\n# end\nt: 1\n"),
    ("an item before others", lambda d: add_item(d, "s", "x", 1), "s:\n  - a # 1\n  # of b\n  - b\n", "s:\n  - a # 1\n  # of b\n  - x\n  - b\n"),
    ("an item before the first", lambda d: add_item(d, "s", "x", 0), "s: [a, b]\n", "s: [x, a, b]\n"),
    ("lists in lists", lambda d: add_item(d, "s[0]", "x", 0), "s:\n  - - a\n    - b\n", "s:\n  - - x\n    - a\n    - b\n"),
    ("lists in lists, dropped", lambda d: drop_item(d, "s[0][0]"), "s:\n  - - a\n    - b\n", "s:\n  - - b\n"),
    ("a block for a value", lambda d: put(d, "s", "- a\n- {b: 1}\n"), "s: x # n\nt: 1\n", "s: # n\n  - a\n  - {b: 1}\nt: 1\n"),
    ("a block for a block", lambda d: put(d, "s", "- a\n- b"), "s: # n\n  - c\n  - d\nt: 1", "s: # n\n  - a\n  - b\nt: 1"),
    ("a block for nothing", lambda d: put(d, "s", "- a\n- b"), "s: # n\nt: 1\n", "s: # n\n  - a\n  - b\nt: 1\n"),
    ("a value for a block", lambda d: put(d, "s", "[a]"), "s: # n\n  - c\n  # alone\n  - d\nt: 1\n", "s: [a] # n\n  # alone\nt: 1\n"),
    ("a value for a block at the end", lambda d: put(d, "s", "[a]"), "t: 1\ns:\n  c: 1", "t: 1\ns: [a]"),
    ("a new block", lambda d: add_key(d, "", "s", "- a\n- b"), "t: 1\n", "t: 1\ns:\n  - a\n  - b\n"),
    ("a block item", lambda d: add_item(d, "s", "a: 1\nb: 2"), "s:\n  - {a: 0}\n", "s:\n  - {a: 0}\n  - a: 1\n    b: 2\n"),
    ("a value on the next line", lambda d: put(d, "a", "2"), "a:\n  1 # n\nb: 1\n".replace(" # n", ""), "a: 2\nb: 1\n"),
    ("words over lines", lambda d: put(d, "a", "2"), "a: one\n  two # n\nb: 1\n", "a: 2 # n\nb: 1\n"),
    ("nothing yet", lambda d: add_key(d, "", "a", "1"), "# head\n", "# head\na: 1\n"),
    ("no file yet", lambda d: edited(d, [("s.t[0].u", "1")]), "", "s: {t: [{u: 1}]}\n"),
    ("several at once", lambda d: edited(d, [("a", None), ("s[0]", None), ("s[1]", "y"), ("m.o", "7")]), "a: 1\ns: [p, q, r]\n", "s: [y, r]\nm: {o: 7}\n"),
    ("one more item", lambda d: edited(d, [("s[1].k", "1")]), "s:\n  - {k: 0}\n", "s:\n  - {k: 0}\n  - {k: 1}\n"),
    ("beside a fault", lambda d: put(d, "b", "3"), "a: 1\na: 2\nb: 2\nc:\td\n", "a: 1\na: 2\nb: 3\nc:\td\n"),
    ("two names swapped", lambda d: rename_keys(d, "m", {"a": "b", "b": "a", "z": "y"}), "m: {a: 1, b: 2} # note\n", "m: {b: 1, a: 2} # note\n"),
    ("names on lines", lambda d: rename_keys(d, "m", {"a": "c: d"}), "m:\n  a:   1  # one\n  'b': 2\n", "m:\n  \"c: d\":   1  # one\n  'b': 2\n"),
    ("no such name", lambda d: rename_keys(d, "m", {"x": "y"}), "m: {a: 1}\n", "m: {a: 1}\n"),
    ("a key in need of quotes", lambda d: add_key(d, "s", "a: b", "1"), "s: {}\n", 's: {"a: b": 1}\n'),
]  # fmt: skip


@pytest.mark.parametrize(
    ("edit", "before", "after"), [case[1:] for case in ALL_AS_MEANT], ids=[c[0] for c in ALL_AS_MEANT]
)
def test_what_was_meant_and_nothing_else(edit: Callable[[bytes], bytes], before: str, after: str) -> None:
    assert edit(before.encode()).decode() == after


@pytest.mark.parametrize(
    ("edit", "before", "why"),
    [
        (lambda d: put(d, "c", "1"), "a: 1\n", "`c` is not in the file"),
        (lambda d: put(d, "a", ""), "a: 1\n", "has no value"),
        (lambda d: put(d, "a", "2\nb: 3"), "a: 1\n", "cannot be read"),
        (lambda d: put(d, "s.a", "2, b: 3"), "s: {a: 1}\n", "more than one value"),
        (lambda d: put(d, "s.a", "2}\nb: {c: 3"), "s: {a: 1}\n", "cannot be read"),
        (lambda d: put(d, "s.a", "2 # x"), "s: {a: 1}\n", "cannot be read"),
        (lambda d: put(d, "a", "[1, 2"), "a: 1\n", "cannot be read"),
        (lambda d: put(d, "a", "x: y"), "a: 1\n", "cannot be read"),
        (lambda d: put(d, "a", "&x 1"), "a: 1\n", "anchor"),
        (lambda d: put(d, "a", "a\tb"), "a: 1\n", "tab"),
        (lambda d: put(d, "a", "'\ud800'"), "a: 1\n", "cannot be written"),
        (lambda d: put(d, "a", "5 # mine"), "a: 1 # note\n", "`# note` would be lost"),
        (lambda d: put(d, "a", "2"), "a: [1, # one\n  2]\n", "`# one` would be lost"),
        (lambda d: put(d, "a", "2"), "a: | # head\n  x\n", "`# head` would be lost"),
        (lambda d: put(d, "s", "[]"), "s:\n  - a # own\n", "`# own` would be lost"),
        (lambda d: put(d, "a", "3"), "a: 1\na: 2\n", "more than once"),
        (lambda d: drop_key(d, "a"), "a: 1\na: 2\n", "more than once"),
        (lambda d: put(d, "a.b", "3"), "a: {b: 1}\na.b: 2\n", "more than once"),
        (lambda d: add_key(d, "", "a", "3"), "a: 1\n", "there already"),
        (lambda d: add_key(d, "a", "b", "3"), "a: 1\n", "holds no keys"),
        (lambda d: add_key(d, "s[0]", "b", "3"), "s: [a: 1]\n", "more than was meant"),
        (lambda d: rename_keys(d, "m", {"a": "b"}), "m: {a: 1, b: 2}\n", "a key twice"),
        (lambda d: rename_keys(d, "m", {"a": "b"}), "a: 1\n", "`m` is not in the file"),
        (lambda d: add_item(d, "a", "3"), "a: {b: 1}\n", "not a list"),
        (lambda d: add_item(d, "a", "3", 4), "a: [b]\n", "1 items"),
        (lambda d: drop_key(d, "a[0]"), "a: [b]\n", "not a key"),
        (lambda d: drop_item(d, "a"), "a: [b]\n", "not an item"),
        (lambda d: drop_key(d, "a"), "a: 1\n", "only key"),
        (lambda d: drop_key(d, "s[0].a"), "s:\n  - a: 1\n    # alone\n    b: 2\n", "`# alone` would be lost"),
        (lambda d: edited(d, [("b", "2"), ("c", None)]), "a: 1\n", "`c` is not in the file"),
        (lambda d: edited(d, [("s[4].k", "2")]), "s: [a]\n", "no items before it"),
        (lambda d: put(d, "a", "2"), "? [x]\n: 1\na: 1\n", "plain words"),
        (lambda d: put(d, "a", "2"), "a: 'x\n", "cannot be read"),
        (lambda d: put(d, "a", "2"), "a: \xff\n", "UTF-8"),
        (lambda d: put(d, "a.b", "2"), "a: {b, c: 1}\n", "no colon"),
    ],
)
def test_anything_else_is_refused_with_a_reason(edit: Callable[[bytes], bytes], before: str, why: str) -> None:
    with pytest.raises(NotAsMeant) as found:
        edit(before.encode("latin-1" if "\xff" in before else "utf-8"))
    assert why in found.value.reason


@pytest.mark.parametrize(
    "text",
    ["vinyl", "1,200 ft2", "5' 6\"", "a: b", "a #b", "#a", "- a", "-3", "[a", "a]", "a, b", "no", "On", "null", "", " a", "a ",
     "a\nb", "*a", "&a", "!a", "%a", "@a", "`a", "|", ">", "?", "? a", ":", "a:", "'a", '"a"', "ü", "12:30", "~", "---", "{a}",
     "\\n", "true", "1e3", "a\tb", "<<"],
)  # fmt: skip
@pytest.mark.parametrize("flow", [False, True], ids=["block", "flow"])
def test_a_text_is_quoted_where_it_must_be(text: str, flow: bool) -> None:
    written = scalar(text, flow=flow)
    forms = ("[{}]", "{{k: {}}}", "{{{}: k}}") if flow else ("k: {}\n", "- {}\n", "{}: k\n")
    for form in forms:
        assert read(form.format(written).encode()) in ([text], {"k": text}, {text: "k"})
    if text in ("vinyl", "12:30", "-3", "5' 6\"", "ü", "true"):
        assert written == text


def test_quotes_only_where_the_place_needs_them() -> None:
    assert scalar("1,200 ft2", flow=False) == "1,200 ft2"
    assert scalar("1,200 ft2", flow=True) == '"1,200 ft2"'


def test_lines_and_letters_of_a_value() -> None:
    data = f"{BOM}# head\r\na: 1\r\nö:\r\n  - x: |\r\n      t\r\n\r\n  - y\r\nb: 2".encode()
    assert [lines_of(data, path) for path in ("a", "ö", "ö[0]", "ö[0].x", "b")] == [
        (2, 2),
        (3, 7),
        (4, 5),
        (4, 5),
        (8, 8),
    ]
    start, end = span_of(data, "ö[0]")
    assert data.decode()[start:end] == "- x: |\r\n      t"
    start, end = span_of(data, "b")
    assert data.decode()[start:end] == "b: 2"


# ------------------------------------------------------------ at random


class Writer:
    """YAML at random: block and flow, quotes, comments each of its own number, and what it says."""

    def __init__(self, seed: int) -> None:
        self.any = random.Random(seed)
        self.comments = 0

    def note(self, chance: float = 0.3) -> str:
        if self.any.random() > chance:
            return ""
        self.comments += 1
        return f"  # note {self.comments}."

    def word(self, flow: bool) -> str:
        plain = self.any.choice(
            ["12 ft", "ü b", "x", "true", "18:30", "a-b_c", "'#no'", '"a # b"', "'it''s'", '"\\n"', "5' 6"]
        )
        return plain if flow or self.any.random() > 0.1 else f"a, {plain}" if plain[0] not in "'\"" else plain

    def name(self, at: int) -> str:
        return self.any.choice([f"k{at}", f'"k {at}"', f"é{at}", f"k-{at}", f"k.{at}"])

    def flow(self, depth: int) -> str:
        count = self.any.randint(0, 3)
        gap = self.any.choice([", ", ",", " , "]) if self.any.random() < 0.8 else ",\n         "
        one = [self.word(True) if depth > 2 or self.any.random() < 0.7 else self.flow(depth + 1) for _ in range(count)]
        if self.any.random() < 0.5:
            return f"[{gap.join(one)}]"
        return "{" + gap.join(f"{self.name(at)}: {value}" for at, value in enumerate(one)) + "}"

    def block(self, indent: int, depth: int) -> list[str]:
        lines, listed = list[str](), depth > 0 and self.any.random() < 0.4
        for at in range(self.any.randint(1, 4)):
            pad = " " * indent
            if note := self.note(0.15):
                lines.append(f"{pad}{note.strip()}")
            mark = "-" if listed else f"{self.name(at)}:"
            kind = self.any.random()
            if depth < 3 and kind < 0.25:
                below = self.block(indent + 2, depth + 1)
                joined = listed and self.any.random() < 0.7 and "#" not in below[0].split('"')[0].lstrip()[:1]
                lines += [f"{pad}- {below[0].strip()}", *below[1:]] if joined else [f"{pad}{mark}{self.note()}", *below]
            elif kind < 0.32:
                lines += [f"{pad}{mark} {self.any.choice(['|', '>', '|-', '>-'])}", f"{pad}  a # b", f"{pad}  c"]
            elif kind < 0.6:
                lines.append(f"{pad}{mark} {self.flow(0)}{self.note()}")
            else:
                lines.append(f"{pad}{mark} {self.word(False)}{self.note()}")
            lines += [""] if self.any.random() < 0.1 else []
        return lines

    def file(self) -> bytes:
        text = "\n".join(self.block(0, 0)) + self.any.choice(["", "\n", "\n", "\n# end\n"])
        text = text.replace("\n", "\r\n") if self.any.random() < 0.3 else text
        return (self.any.choice(["", "", "", BOM]) + text).encode()


def steps_of(value: Any, before: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield before
    for key, below in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield from steps_of(below, (*before, key))


def path_of(steps: tuple[Any, ...]) -> str:
    return "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in steps).removeprefix(".")


def within(value: Any, steps: tuple[Any, ...]) -> Any:
    for step in steps:
        value = value[step]
    return value


def one_edit(any_: random.Random, data: bytes) -> bool:
    """An edit at random; False where it was refused."""
    meant = read(data)
    steps = any_.choice(list(steps_of(meant)))
    at, value = path_of(steps), within(meant, steps)
    text, says = any_.choice([("7 ft", "7 ft"), ("[a, 'b']", ["a", "b"]), ("{a: 1}", {"a": "1"}), ('"a # b"', "a # b")])
    what = any_.choice(["put", "drop", "add", "add"])
    try:
        if what == "add" and isinstance(value, dict):
            new, value["new key"] = add_key(data, at, "new key", text), says
        elif what == "add" and isinstance(value, list):
            where = any_.randint(0, len(value))
            new = add_item(data, at, text, where)
            value.insert(where, says)
        elif not steps:
            return True
        elif what == "drop":
            new = drop_item(data, at) if isinstance(steps[-1], int) else drop_key(data, at)
            del within(meant, steps[:-1])[steps[-1]]
        else:
            new, within(meant, steps[:-1])[steps[-1]] = put(data, at, text), says
    except NotAsMeant:
        return False
    assert read(new) == meant, (data.decode(), at, what, new.decode())
    notes = re.findall(rb"^\s*(# note \d+\.|# end)|(# note \d+\.)", data, re.MULTILINE)
    lost = [one for alone, own in notes if (one := alone or own) not in new and (alone or what != "drop")]
    assert not lost, (data.decode(), at, what, new.decode())
    assert new.startswith(b"\xef\xbb\xbf") == data.startswith(b"\xef\xbb\xbf")
    assert b"\r\n" not in data or not re.search(rb"(?<!\r)\n", new)
    if steps:
        emptied = what == "drop" and not within(meant, steps[:-1])  # the whole becomes `{}` or `[]`
        first, last = lines_of(data, path_of(steps[:-1]) if emptied else at)
        was, now = data.split(b"\n"), new.split(b"\n")
        assert was[: max(first - 2, 0)] == now[: max(first - 2, 0)], (data.decode(), at, what)
        after = was[last + 1 :]
        assert not after or now[-len(after) :] == after, (data.decode(), at, what)
    return True


@pytest.mark.parametrize("start", one_in(10, range(0, 10_000, 250)))
@pytest.mark.ci
def test_edits_at_random(start: int) -> None:
    done = [one_edit(random.Random(seed), Writer(seed).file()) for seed in range(start, start + 250)]
    assert sum(done) >= 225, "more than one in ten was refused"


def test_places_are_those_that_faults_name() -> None:
    for seed in range(30):
        data = Writer(seed).file()
        root = parse_tree(data, "f").root
        assert root is not None
        for path, where in all_places(root).items():
            first, last = lines_of(data, path)
            assert first <= where.line <= last


@pytest.mark.ci
@pytest.mark.parametrize("start", one_in(8, range(0, 2_000, 250)))
def test_a_spoiled_file_is_edited_or_refused(start: int) -> None:
    for seed in range(start, start + 250):
        any_ = random.Random(seed)
        data = bytearray(Writer(seed).file())
        for _ in range(any_.randint(1, 4)):
            at = any_.randrange(len(data))
            data[at : at + any_.randint(0, 2)] = any_.choice(MANGLED)
        tree = parse_tree(bytes(data), "f")
        paths = list(all_places(tree.root)) if tree.root is not None else []
        for path in [*any_.sample(paths, min(3, len(paths))), "", "k0[7].x", "[", "a..b"]:
            for text in (None, "7 ft", any_.choice(["", "#", "- a\n- b", "x: y", "\ud800", "}", "|", "\t", "\r\n"])):
                try:
                    new = edited(bytes(data), [(path, text)])
                except NotAsMeant:
                    continue
                codes = {fault.code for fault in tree.faults}
                assert {fault.code for fault in parse_tree(new, "f").faults} <= codes


MANGLED = [b"", b"\r", b"\n", b"\t", b"#", b"{", b"]", b"'", b'"', b": ", b"- ", b"&a ", b"*a", b"!t ", b"? ", b"|", b"---\n", b"<<: ",
           b"\xff", b"\x00", b"\xe2\x80\xa8", b"\xef\xbb\xbf", b"~", b","]  # fmt: skip
