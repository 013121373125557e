"""Strict YAML: what is read, and what is refused at which line and column."""

from __future__ import annotations

import tracemalloc
from collections.abc import Mapping
from typing import Any

import pytest
import yaml

from planner.inputs.reading.tree import LARGEST_FILE, LONGEST_PATH, LONGEST_VALUE, MOST_VALUES, Tree, parse_tree
from planner.inputs.reading.yaml_text import MOST_FAULTS
from planner.locate import data_file
from tests.sampled import in_ci

LOADERS = [yaml.SafeLoader, yaml.CSafeLoader] if hasattr(yaml, "CSafeLoader") else [yaml.SafeLoader]


@pytest.fixture(params=LOADERS, ids=lambda loader: loader.__name__)
def loader(request: pytest.FixtureRequest) -> Any:
    return request.param


def found(tree: Tree) -> list[tuple[str, int, int]]:
    return [(fault.code, fault.where.line, fault.where.column) for fault in tree.faults]


def test_scalars_stay_the_text_that_was_written(loader: Any) -> None:
    tree = parse_tree(b"a: 12:30\nb: no\nc: 010\nd: 1_000\ne: 1e3\nf: 'x'\ng: [yes, null]\n", "f", loader)
    assert not tree.faults
    assert tree.root is not None
    assert tree.root.plain() == {
        "a": "12:30", "b": "no", "c": "010", "d": "1_000", "e": "1e3", "f": "x", "g": ["yes", "null"],
    }  # fmt: skip


def test_a_byte_order_mark_and_carriage_returns_are_fine(loader: Any) -> None:
    tree = parse_tree(b"\xef\xbb\xbfa: b\r\nc: d\re: f\n", "f", loader)
    assert not tree.faults
    assert tree.mapping["e"].where.line == 3
    assert tree.mapping["e"].where.column == 4


def test_every_node_knows_its_place_and_its_key(loader: Any) -> None:
    tree = parse_tree("é: [{k: v}]\nb:\n  - x\n  - y: z\n".encode(), "f", loader)
    inner = tree.mapping["é"].value[0].value["k"]  # type: ignore[call-overload]
    assert (inner.where.line, inner.where.column, inner.where.path) == (1, 9, "é[0].k")
    assert (inner.key.line, inner.key.column) == (1, 6)
    second = tree.mapping["b"].value[1]
    assert (second.where.line, second.where.column, second.where.path) == (4, 5, "b[1]")


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("a: 1\nb: 2\na: 3\n", [("yaml.duplicate", 3, 1)]),
        ("a: {b: 1, b: 2}\n", [("yaml.duplicate", 1, 11)]),
        ("a: &x 1\n", [("yaml.anchor", 1, 4)]),
        ("a: &x 1\nb: *x\n", [("yaml.anchor", 1, 4), ("yaml.alias", 2, 4)]),
        ("<<: {a: 1}\n", [("yaml.merge", 1, 1)]),
        ("a: !!str 1\n", [("yaml.tag", 1, 4)]),
        ("a: !thing {b: 1}\n", [("yaml.tag", 1, 4)]),
        ("%YAML 1.1\n---\na: 1\n", [("yaml.tag", 1, 1)]),
        ("a:\tb\n", [("yaml.tab", 1, 3)]),
        ("a: 1\n\tb: 2\n", [("yaml.tab", 2, 1)]),
        ("a: 1 # note\tmore\n", [("yaml.tab", 1, 12)]),
        ("a:\nb: 1\n", [("yaml.empty", 1, 1)]),
        ("a: ~\n", [("yaml.empty", 1, 1)]),
        ("a: [1, ~]\n", [("yaml.empty", 1, 8)]),
        ("a: {b: , c: 1}\n", [("yaml.empty", 1, 5)]),
        ("a: x\x07y\n", [("yaml.control", 1, 5)]),
        ("a: x\u2028y\n", [("yaml.control", 1, 5)]),
        ("a: x\ufeffy\n", [("yaml.control", 1, 5)]),
        ('a: "\\x07"\n', [("yaml.control", 1, 4)]),
        ("a: 1\n---\nb: 2\n", [("yaml.documents", 2, 1)]),
        ("? [a]\n: 1\nb: 2\n", [("yaml.key", 1, 3)]),
        ("a: b: c\n", [("yaml.syntax", 1, 5)]),
        ("a: 'x\nb: 1\n", [("yaml.syntax", 1, 4)]),
        ("a: {area: 1,200 ft2, soil: light}\n", [("yaml.comma", 1, 11)]),
        ("- a\n", [("file.shape", 1, 1)]),
        ("just words\n", [("file.shape", 1, 1)]),
        ("", [("file.empty", 1, 1)]),
        ("# nothing but a note\n", [("file.empty", 1, 1)]),
        ("a:\tb\nc: ~\nd: 1\nd: 2\n", [("yaml.tab", 1, 3), ("yaml.empty", 2, 1), ("yaml.duplicate", 4, 1)]),
    ],
)
def test_refusals_have_their_line_and_column(text: str, faults: list[tuple[str, int, int]], loader: Any) -> None:
    assert found(parse_tree(text.encode(), "f", loader)) == faults


def test_a_lone_surrogate_is_refused_where_it_stands(loader: Any) -> None:
    (fault,) = parse_tree(b'a: 1\nb: "\\ud800"\n', "f", loader).faults
    assert fault.where.line == 2


def test_a_tab_inside_quotes_stays(loader: Any) -> None:
    tree = parse_tree(b"a: 'x\ty'\n", "f", loader)
    assert not tree.faults
    assert tree.mapping["a"].value == "x\ty"


@pytest.mark.parametrize(
    ("data", "line", "column"), [(b"a: b\nc: \xe9\n", 2, 4), (b"\xff\xfea\x00", 1, 1), ("é: ".encode() + b"\xff", 1, 4)]
)
def test_what_is_not_utf8_is_refused_at_its_byte(data: bytes, line: int, column: int) -> None:
    assert found(parse_tree(data, "f")) == [("file.encoding", line, column)]


def test_a_file_over_one_mebibyte_is_refused_and_one_just_under_is_read() -> None:
    assert found(parse_tree(b"#" * (LARGEST_FILE + 1), "f")) == [("file.size", 1, 1)]
    assert "104,857,600 bytes" in parse_tree(b"#" * (LARGEST_FILE + 1), "f", size=100 << 20).faults[0].message
    tree = parse_tree(b"a: b\n#" + b"x" * (LARGEST_FILE - 6), "f")
    assert not tree.faults


def test_fifty_levels_are_read_and_one_more_is_refused(loader: Any) -> None:
    assert not parse_tree(b"a: " + b"[" * 49 + b"x" + b"]" * 49, "f", loader).faults
    assert found(parse_tree(b"a: " + b"[" * 50 + b"x" + b"]" * 50, "f", loader)) == [("yaml.depth", 1, 53)]


@pytest.mark.parametrize(
    "data",
    [b"[" * 1_000_000, b"a: {" * 250_000, b"\x07" * 1_000_000, b"\t\n" * 500_000, b"- " * 500_000, b"? " * 500_000],
)
@pytest.mark.parametrize("part", [10, in_ci(1)])
def test_hostile_files_are_refused(data: bytes, part: int) -> None:
    assert parse_tree(data[: len(data) // part], "f").faults


@pytest.mark.ci
def test_a_huge_key_is_one_fault_and_not_the_path_of_every_value_below_it(loader: Any) -> None:
    tracemalloc.start()
    tree = parse_tree(b"? " + b"k" * 100_000 + b"\n:\n" + b"  - a\n" * 500, "f", loader)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert [fault.code for fault in tree.faults] == ["yaml.key"]
    assert most < 20e6, f"{most:,} bytes for a file of 100 kB"


def test_keys_below_keys_do_not_make_paths_of_any_length(loader: Any) -> None:
    deep = "".join(" " * n + "k" * 190 + ":\n" for n in range(30))
    tree = parse_tree(f"{deep}{' ' * 30}- a\n".encode(), "f", loader)
    assert not tree.faults
    node = tree.root
    while node is not None and isinstance(node.value, Mapping):
        (node,) = node.value.values()
    assert node is not None
    assert isinstance(node.value, tuple)
    assert len(node.value[0].where.path) <= LONGEST_PATH


def test_a_text_of_any_length_is_one_fault_at_its_place(loader: Any) -> None:
    tree = parse_tree(b"a: " + b"9" * 200_000 + b"\nb: " + b"9" * LONGEST_VALUE, "f", loader)
    assert found(tree) == [("text.long", 1, 4)]
    assert tree.refused == {"a"}
    assert tree.mapping["a"].value == ""


@pytest.mark.ci
def test_too_many_values_are_one_fault(loader: Any) -> None:
    assert not parse_tree(b"a: [" + b"x," * (MOST_VALUES - 2) + b"]", "f", loader).faults
    assert [fault.code for fault in parse_tree(b"a: [" + b"x," * MOST_VALUES + b"]", "f", loader).faults] == [
        "file.size"
    ]


def test_the_faults_that_are_not_told_are_counted() -> None:
    told = parse_tree(b"".join(b"k%d:\n" % n for n in range(MOST_FAULTS + 250)), "f").faults
    assert len(told) == MOST_FAULTS + 1
    assert "250 more" in told[-1].message


@pytest.mark.parametrize("mark", ["&", "*", "!"])
def test_a_mark_of_any_length_makes_a_short_fault(mark: str) -> None:
    for fault in parse_tree(f"a: {mark}{'x' * 50_000} b\n".encode(), "f").faults:
        assert len(fault.message) < 400


def test_what_was_refused_is_known_by_its_path() -> None:
    assert parse_tree(b"a:\nb: {c: ~}\n", "f").refused == {"a", "b.c"}


@pytest.mark.parametrize("name", ["surfaces", "chemicals", "fittings", "materials", "limits", "defaults"])
def test_our_own_tables_pass_the_same_reader(name: str) -> None:
    assert not parse_tree(data_file(f"{name}.yaml").read_bytes(), name).faults


def test_a_quoted_mark_of_a_merge_is_a_name_and_a_bare_one_a_fault() -> None:
    quoted = parse_tree(b'"<<": {a: 1}\n', "x.yaml")
    assert not quoted.faults
    assert quoted.root is not None
    assert quoted.root.plain() == {"<<": {"a": "1"}}
    bare = parse_tree(b"<<: {a: 1}\n<<: {b: 1}\n", "x.yaml")
    assert {fault.code for fault in bare.faults} == {"yaml.merge"}
