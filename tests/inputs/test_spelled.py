"""A kind of wall in its American spelling is the table's kind wherever a file or an answer names it."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.inputs.tables.spelled import american_kinds, table_kind
from planner.inputs.tables.whole import surface_rows
from planner.interview.asking import Unfit
from planner.interview.surfaces import _kind
from tests import workspaces


def test_every_kind_spelled_otherwise_in_the_states_is_one_of_the_table() -> None:
    assert "fiber_cement" in american_kinds()
    for kind in american_kinds():
        assert table_kind(kind) in surface_rows()
    assert table_kind("gray_stucco") == "gray_stucco", "a company's own kind is as it wrote it"


@pytest.mark.parametrize("row", ["fiber_cement", "fibre_cement"])
@pytest.mark.parametrize("kind", ["fiber_cement", "fibre_cement"])
def test_a_job_and_a_companys_row_meet_in_either_spelling(kind: str, row: str, tmp_path: Path) -> None:
    (tmp_path / "surfaces.yaml").write_text(f"surfaces: [{{kind: {row}, rinse: 0.25 gal/ft2}}]\n", encoding="utf-8")
    change = {"job": {"surfaces": [{"kind": kind, "area": "500 ft2"}]}}
    job = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), change))
    (wall,) = job.plan.input.surfaces
    assert (wall.kind, wall.name) == ("fibre_cement", kind.replace("_", " "))
    assert wall.row["rinse"] == pytest.approx(0.25 * 3.785411784e-3 / 0.3048**2)


def test_a_kind_asked_for_is_told_in_the_readers_spelling_and_taken_in_both() -> None:
    shown = {"vinyl": "vinyl", "fiber_cement": "fibre_cement"}
    for said in ("2", "fiber_cement", "fibre_cement", "Fiber_Cement"):
        assert shown[_kind(shown, "us")(said)] == "fibre_cement", said
    with pytest.raises(Unfit):
        _kind(shown, "us")("fiber_cemnt")
