"""A line that changes its tip, on paper: which tip at which spray, how it is changed, said once, and by whom."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.days.rehearsing import rehearsed
from planner.packet.blocks import Step, Table, Text, walked
from tests import workspaces
from tests.packet.figures.jobs import job_of
from tests.packet.printing import worded
from tests.packet.sections.acts.test_calls import words
from tests.plan.line.test_roles import files

SLIPWAY = "2026-06-10/10-slipway"


def lines(folder: Path, crew: str) -> list[str]:
    """What the sheet at the wall of a large drive says, a line a step, text or row."""
    made = files(surfaces=[{"name": "drive", "kind": "concrete", "area": "3200 ft2", "soil": "heavy"}])
    made["day"]["crew"] = crew
    made["rig"]["pumps"][0]["bypass"] = "yes"
    job = rehearsed(workspaces.checked(folder, made, tables=True))
    assert not job.held
    (wash,) = (section for section in worded(job).sections if section.key == "wash")
    found = []
    for block in walked(wash.blocks):
        if isinstance(block, (Step, Text)):
            found.append(words(block.spans))
        elif isinstance(block, Table):
            found += [" | ".join(words(cell) for cell in row if isinstance(cell, tuple)) for row in block.rows]
    return found


@pytest.mark.ci
@pytest.mark.parametrize(
    ("crew", "how"),
    [
        ("2", "shut the gun, call “Off”, open the gun until no water comes, put that tip on, call “On”."),
        ("1", "shut the gun, switch washer off, open the gun until no water comes, put that tip on, switch washer on."),
    ],
)
def test_a_row_names_the_tip_and_how_it_is_changed_is_said_once(tmp_path: Path, crew: str, how: str) -> None:
    said = lines(tmp_path, crew)
    assert said.count(f"Where a row names a tip: {how}") == 1
    rows = [line for line in said if line.startswith("drive") and "rinse" in line]
    assert any("rinse fan: " in row for row in rows)
    assert any("then tip treat fan" in row for row in rows)
    # The pump off and on again for it is in that line, and in no row.
    assert not [row for row in rows if "“On”" in row or "washer off" in row]


@pytest.mark.ci
def test_the_surface_cleaner_is_put_on_and_off_in_steps_of_their_own(tmp_path: Path) -> None:
    said = lines(tmp_path, "2")
    assert "Put on surface cleaner spinner. Call “On”." in said
    assert said.index("Put on tip treat fan.") > next(n for n, line in enumerate(said) if "cleaner 2" in line)


def test_every_tip_of_a_job_is_on_its_card_and_on_the_load_list() -> None:
    book = worded(job_of(SLIPWAY))
    card = " ".join(words(b.spans) for s in book.sections for b in walked(s.blocks) if isinstance(b, Text))
    assert "Rinse tip rinse fan: 5.5 gpm" in card
    assert "Surface cleaner spinner: 5.5 gpm" in card
