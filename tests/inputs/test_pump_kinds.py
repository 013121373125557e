"""A kind of pump is one record: what a record may not leave out, and that nothing beside it names a kind."""

from __future__ import annotations

import ast
from dataclasses import fields
from pathlib import Path

import pytest

import planner
from planner.inputs.tables.pumps import ON_THE_BENCH, PumpKind, has_stages, kind_from, pump_kinds
from planner.inputs.tables.rows import rows
from planner.locate import templates

ROOT = Path(planner.__file__).parent
RECORD = next(row for row in rows("pumps") if row["kind"] == "piston")


@pytest.mark.parametrize("name", [field.name for field in fields(PumpKind)])
def test_a_record_that_leaves_out_a_field_is_told_which(name: str) -> None:
    left = {key: value for key, value in RECORD.items() if key != name}
    with pytest.raises(ValueError, match=f"lacks `{name}`"):
        kind_from(left)


@pytest.mark.parametrize("key", ON_THE_BENCH)
def test_a_record_without_words_for_an_act_of_the_bench_is_told_which(key: str) -> None:
    acts = {name: words for name, words in RECORD["acts"].items() if name != key}
    with pytest.raises(ValueError, match=f"piston lacks `acts: {key}`"):
        kind_from({**RECORD, "acts": acts})


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"wears": "rust"}, "`wears: rust`, which is not one of head, flow"),
        ({"stages": "some"}, "`stages: some`, which is not one of true, false"),
        ({"colour": "red"}, "has no use for `colour`"),
        ({"wears": "head"}, "must say all or none of"),  # physics knows no constant flow that wears as head
        ({"relief": "none"}, "must say all or none of"),  # nor one that a shut gun may stop
    ],
)
def test_a_record_that_cannot_be_is_told_why(change: dict[str, str], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        kind_from({**RECORD, **change})


def test_no_code_and_no_template_names_a_kind() -> None:
    kinds = set(pump_kinds())
    named = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in ROOT.rglob("*.py")
        if path.parent != ROOT / "physics" and any(f'"{kind}"' in path.read_text(encoding="utf-8") for kind in kinds)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and node.value in kinds
    ]
    assert [one.partition(":")[0] for one in named] == ["inputs/models/gear.py"], named  # the example of the key
    for path in templates().glob("*.md"):
        assert not kinds & set(path.read_text(encoding="utf-8").replace('"', " ").split()), path.name


def test_a_kind_that_is_no_kind_any_more_has_no_stages() -> None:
    assert has_stages("centrifugal")
    assert not has_stages("piston")
    assert not has_stages("steam")
    assert not has_stages(None)
