"""One row a figure: every key of a record has its row, every row its key, and what a row says of itself is there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args, get_origin

import pytest

from planner.archive.compare.figures import figures
from planner.contract import recordable
from planner.contract.planned import PLANNED
from planner.contract.recordable import KINDS, RowError, by_comparison, recordables
from planner.inputs.models.base import Written
from planner.inputs.models.record import Record
from planner.inputs.tables.rows import rows, table

COLUMNS = ("path", "kind", "planned", "told", "label", "asked", "doubt", "compared")
NAMES = {"job", "plan"}
"""Keys of a record that say which job it is of, and nothing that was done."""


def scalars(model: type[Written], path: str = "") -> Iterator[str]:
    """The key path of everything that is written in a model, without the numbers and names between."""
    for name, field in model.model_fields.items():
        models = [one for one in parts(field.annotation) if isinstance(one, type) and issubclass(one, Written)]
        for one in models:
            yield from scalars(one, f"{path}{name}.")
        if not models:
            yield f"{path}{name}"


def parts(annotation: Any) -> Iterator[Any]:
    """An annotation and what stands in it; of a mapping what it has, not what it goes by."""
    inside = get_args(annotation)
    yield from (part for one in (inside[1:] if get_origin(annotation) is dict else inside) for part in parts(one))
    yield annotation


def test_every_key_of_a_record_has_its_row_and_every_row_its_key() -> None:
    paths = [row.path for row in recordables()]
    assert len(paths) == len(set(paths))
    assert set(paths) == set(scalars(Record)) - NAMES


@pytest.mark.parametrize("column", COLUMNS)
def test_a_row_that_lacks_something_is_told_what(column: str, monkeypatch: pytest.MonkeyPatch) -> None:
    lacking = [{name: text for name, text in row.items() if name != column} for row in rows("recordable")[:1]]
    monkeypatch.setattr(recordable, "rows_of_table", lambda name, under=None: lacking if under is None else [])
    with pytest.raises(RowError, match=rf"has no {column}$"):
        recordables.__wrapped__()


def test_a_row_of_no_kind_there_is_is_told() -> None:
    with pytest.raises(RowError, match="`hours`"):
        recordable._row({"path": "hours", "kind": "hour"}, ("path", "kind"))


def test_a_row_names_only_what_there_is() -> None:
    least = {row["name"] for row in table("record")["least"]}
    named = {name for row in recordables() for name in (row.planned, row.doubt.partition(" ")[2])}
    assert {name[1:-1] for name in named if name.startswith("(")} == set(PLANNED)
    for row in recordables():
        assert row.kind in KINDS
        assert not row.doubt or row.doubt.partition(" ")[0] in least, row.path
        assert set(row.compared.split()) <= set(figures()), row.path
        assert len(row.compared.split()) in (0, 1) or row.kind == "amount", row.path
    worked_out = {"condition", "mixed", "share_before", "share_after", "set_up", "wash", "whole"}
    assert set(figures()) == set(by_comparison()) | worked_out
