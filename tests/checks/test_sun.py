"""Which way a wall faces counts only where the company's place is known: what keeps it from counting is said first."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.words import spoken
from tests import workspaces

HOT = {"high": "95 F", "humidity": "30 %", "wind": "10 mph", "sun": "full"}
PLACE = {"latitude": "40 N", "noon": "13:15"}
BLIND = "Write the company's `place`, then which way the wall `faces`"


def remedy(folder: Path, forecast: dict[str, Any], faces: str | None = None, place: Any = None) -> str:
    """What the finding tells to do."""
    walls = {"surfaces": {0: {"faces": faces}}} if faces else {}
    job = {"chemicals": [{"stock": "drum", "strength": "1.2 %"}], "hose_runs": {0: {"dosing": "panel"}}, **walls}
    change: dict[str, Any] = {"day": {"forecast": forecast}, "job": job}
    change |= {"company": {"place": place}} if place else {}
    found = workspaces.checked(folder, workspaces.merged(workspaces.base(), change)).findings
    return next(spoken.remedy(one, "us") for one in found if one.code == "wall.dries")


@pytest.mark.parametrize("forecast", [HOT, {"high": "95 F", "wind": "10 mph", "sun": "full"}], ids=["stop", "caution"])
def test_without_a_place_that_is_asked_for_first(tmp_path: Path, forecast: dict[str, Any]) -> None:
    assert remedy(tmp_path, forecast).startswith(BLIND)


def test_a_side_without_a_place_is_said_to_do_nothing_yet(tmp_path: Path) -> None:
    assert remedy(tmp_path, HOT, "north").startswith("Write the company's `place`, `faces` counts only then")


@pytest.mark.ci
def test_with_a_place_the_side_is_asked_for_and_with_both_nothing(tmp_path: Path) -> None:
    assert remedy(tmp_path / "a", HOT, None, PLACE).startswith("Write which way the wall `faces`")
    assert "`faces`" not in remedy(tmp_path / "b", HOT, "south", PLACE)


def test_a_day_without_sun_asks_for_neither(tmp_path: Path) -> None:
    assert "`place`" not in remedy(tmp_path, {**HOT, "sun": "none"})
