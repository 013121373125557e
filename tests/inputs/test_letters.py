"""Names of what is acted on: printable, nothing hidden in them, told apart by whoever reads them on paper."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from planner.faults import Fault
from planner.inputs.reading.letters import alike, hidden, lost
from planner.inputs.reading.sizes import sides_alike, sides_misspelled
from planner.inputs.workspace import load
from tests import workspaces

pytestmark = pytest.mark.short

NAMED: list[Any] = [
    {"stock": {"lots": {0: {"name": "@"}}}},
    {"rig": {"tanks": {0: {"name": "@"}}}},
    {"rig": {"pumps": {1: {"name": "@"}}}},
    {"rig": {"hoses": {0: {"name": "@"}}}},
    {"rig": {"tips": {1: {"name": "@"}}}},
    {"rig": {"dosing": {1: {"name": "@"}}}},
    {"rig": {"setups": [{"name": "@", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "fan"}]}},
    {"job": {"hose_runs": {0: {"name": "@"}}}},
    {"job": {"hose_runs": {0: {"hoses": [{"name": "@", "bore": "1/2 in", "length": "50 ft"}]}}}},
    {"job": {"surfaces": {0: {"name": "@"}}}},
    {"job": {"surfaces": {0: {"side": "@"}}}},
]


def _put(value: Any, name: str) -> Any:
    if isinstance(value, dict):
        return {key: _put(one, name) for key, one in value.items()}
    if isinstance(value, list):
        return [_put(one, name) for one in value]
    return name if value == "@" else value


def _faults(folder: Path, change: Any) -> list[Fault]:
    return list(load([workspaces.write(folder, workspaces.merged(workspaces.base(), change))]).faults)


@pytest.mark.parametrize("change", NAMED, ids=str)
@pytest.mark.parametrize(
    ("name", "code", "told"),
    [
        ("左 酸", "name.letters", "the print font has no `左`, `酸`, so paper could not show this name"),
        ("drum x\u0302", "name.letters", "the print font has no U+0302,"),
        ("drum\u202e 14", "name.hidden", "a character that editors do not show (U+202E) is in this name"),
        ("dr\u00adum", "name.hidden", "(U+00AD)"),
        ("drum\u200b", "name.hidden", "(U+200B)"),
    ],
)
def test_a_name_paper_could_not_show_is_a_fault(change: Any, name: str, code: str, told: str, tmp_path: Path) -> None:
    (fault,) = (
        one for one in _faults(tmp_path, _put(change, name)) if one.code.startswith("name.") and told in one.message
    )
    assert fault.code == code
    assert re.search(r"\.(name|side)$", fault.where.path)


@pytest.mark.parametrize("name", ["Łódź", "Жук", "Δ-4", "drum 14", "e\u0301tage", "１４"])
def test_a_name_the_font_can_draw_is_taken(name: str, tmp_path: Path) -> None:
    assert not _faults(tmp_path, {"job": {"surfaces": {0: {"name": name}}}})
    assert not lost(name)
    assert not hidden(name)


def test_titles_and_notes_may_hold_any_letters(tmp_path: Path) -> None:
    assert not _faults(tmp_path, {"job": {"job": "左側", "site": {"address": "左", "notes": "右"}}})


@pytest.mark.parametrize(
    ("one", "other"),
    [("drum 14", "ＤＲＵＭ 14"), ("front", "front\u200b"), ("left gable", "left\u00a0 Gable"), ("re\u2011do", "re-do"),
     ("ﬁn", "fin"), ("straße", "STRASSE"), ("x", "x\u0302")],
)  # fmt: skip
def test_two_names_that_look_alike_on_paper_are_one(one: str, other: str, tmp_path: Path) -> None:
    assert alike(one) == alike(other)
    sides = [{"kind": "vinyl", "side": one}, {"kind": "brick", "side": other}]
    assert sides_misspelled(sides) == [(1, one)]
    assert sides_alike([{"kind": "vinyl", "name": one}, {"kind": "brick", "side": other}])


def test_names_that_differ_are_no_fault_for_being_foreign() -> None:
    assert len({alike(name) for name in ("左", "右", "á", "a", "drum 1", "drum 14")}) == 6


def test_lots_tanks_hoses_and_walls_that_look_alike_are_refused(tmp_path: Path) -> None:
    def codes(folder: str, change: Any) -> list[str]:
        return [fault.code for fault in _faults(tmp_path / folder, change)]

    lots = workspaces.base()["stock"]["lots"]
    assert "name.twice" in codes("lots", {"stock": {"lots": [*lots, {**lots[1], "name": "ａcid"}]}})
    tanks = workspaces.base()["rig"]["tanks"]
    assert "name.twice" in codes(
        "tanks", {"rig": {"tanks": [*tanks, {"name": "ｍix", "floor": "0 ft", "volume": "9 gal"}]}}
    )
    hoses = [{"name": name, "bore": "1/2 in", "length": "50 ft"} for name in ("red", "ｒed")]
    assert "name.twice" in codes("hoses", {"rig": {"hoses": hoses}})
    walls = [{"name": name, "kind": "vinyl", "area": "90 ft2"} for name in ("front", "Ｆront")]
    assert "name.twice" in codes("walls", {"job": {"surfaces": walls}})


@pytest.mark.parametrize(("length", "fits"), [(40, True), (41, False)])
def test_a_side_is_kept_to_forty_letters(length: int, fits: bool, tmp_path: Path) -> None:
    faults = _faults(tmp_path, {"job": {"surfaces": {0: {"side": "a" * length}}}})
    assert [(fault.message, fault.remedy) for fault in faults] == (
        [] if fits else [("this side is 41 letters long", "keep it to 40 letters")]
    )
