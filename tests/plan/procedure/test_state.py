"""The rig before and after a job's acts: two whole procedures written out by hand, and jobs the plan makes."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

from planner.plan.mix.model import Carried, TankHeel
from planner.plan.procedure.acts import (
    Act,
    Detail,
    Drain,
    Draw,
    DrawFrom,
    Fill,
    Held,
    Neutralise,
    Pour,
    Procedure,
    SetDosing,
    Spray,
    State,
)
from planner.plan.procedure.state import Known, begin, drawn_by_lot, end, water_left
from tests.acts_read import procedure_from
from tests.plan.procedure.asked import book_of
from tests.workspaces import base, loaded, merged

PUBLISHED = Path(__file__).parent.parent.parent / "published"
PREMIX = {"job": {"chemicals": [{"stock": "bleach", "strength": "1 %"}],
                  "hose_runs": {"0": {"feed": "mix", "dosing": "premix"}}}}  # fmt: skip
RIG = Known(
    lots=MappingProxyType({"drum": ("hypochlorite", 100.0), "soap": ("surfactant", 1000.0), "thio": ("thiosulfate", 1.0),
                           "crystals": ("oxalic", 0.0)}),
    hoses=MappingProxyType({"front": MappingProxyType({"red": 0.01, "blue": 0.005})}),
    trace=0.05,
)  # fmt: skip
BEFORE = State(
    tanks=MappingProxyType({"water": Held(stock="water", volume=1.0), "mix": Held(stock="air", volume=0.0)}),
    hoses=MappingProxyType({"red": Held(stock="air"), "blue": Held(stock="air")}),
    lots=MappingProxyType({"drum": 0.1, "soap": 0.01, "thio": 3.0, "crystals": 2.0}),
)


def near(value: float) -> Any:
    """A figure of a state that is compared whole."""
    return pytest.approx(value)


def in_turn(*details: Detail) -> tuple[Act, ...]:
    """Acts one after another, a minute each."""
    return tuple(
        Act(id=f"a.{n}", phase="wash", who="lead", at="rig", detail=one, start=60.0 * n, lasts=60.0)
        for n, one in enumerate(details)
    )


def written(name: str) -> tuple[Procedure, Known]:
    """A procedure written out by hand, and what it says of its lots and hoses."""
    found: dict[str, Any] = json.loads((PUBLISHED / name).read_text(encoding="utf-8"))
    job, hoses = found["job"], found["rig"]["hoses"]
    today = {row["lot"]: row["strength_today_g_per_l"] for mix in job["mixes"] for row in mix["lots"]}
    lots = {lot: (row["stock"], today.get(lot, row["g_per_l"])) for lot, row in found["lots"].items()}
    lines = {run["name"]: {one["part"]: hoses[one["part"]] for one in run["losses"] if one["part"] in hoses}
             for run in job["runs"]}  # fmt: skip
    return procedure_from(job["procedure"]), Known(lots=lots, hoses=lines, trace=0.05)


def same(found: Held, expected: Held) -> bool:
    return (found.stock, found.strength, found.volume) == (
        expected.stock,
        pytest.approx(expected.strength, abs=1e-9),
        expected.volume if expected.volume is None else pytest.approx(expected.volume, abs=1e-9),
    )


@pytest.mark.parametrize("name", ["procedure_house.json", "procedure_roof_one_person.json"])
def test_a_procedure_written_out_by_hand_ends_as_it_says(name: str) -> None:
    procedure, rig = written(name)
    found = end(procedure.begin, procedure.acts, rig)
    for kind in ("tanks", "hoses", "pails"):
        mine, theirs = getattr(found, kind), getattr(procedure.end, kind)
        assert mine.keys() == theirs.keys()
        assert all(same(mine[one], theirs[one]) for one in theirs), kind
    assert found.lots == pytest.approx(dict(procedure.end.lots), abs=1e-9)


def test_what_a_jug_gives_back_was_not_drawn() -> None:
    procedure, _ = written("procedure_house.json")
    assert drawn_by_lot(procedure.acts) == {"H-0518": pytest.approx(0.026450682691625694, abs=1e-9)}


def test_an_agent_counts_with_the_lots_that_are_drawn() -> None:
    procedure, _ = written("procedure_roof_one_person.json")
    drawn = drawn_by_lot(procedure.acts)
    assert drawn["thio"] == pytest.approx(2 * 0.5006796287787508)
    assert drawn["H-0518"] + drawn["H-0601"] == pytest.approx(0.03327103009933677)


def test_a_tank_is_as_strong_as_all_that_went_in() -> None:
    found = end(BEFORE, in_turn(
        Fill(into="mix", source="water", volume=0.08),
        Pour(lot="drum", into="mix", volume=0.02, mass=None, order=2),
        Pour(lot="soap", into="mix", volume=0.01, mass=None, order=3),
        Drain(source="mix", to="lawn", volume=0.055),
    ), RIG)  # fmt: skip
    assert found.tanks["mix"].stock == "hypochlorite"
    assert found.tanks["mix"].volume == pytest.approx(0.055)
    assert found.tanks["mix"].strength == pytest.approx(100.0 * 0.02 / 0.11)
    assert found.lots == pytest.approx({"drum": 0.08, "soap": 0.0, "thio": 3.0, "crystals": 2.0})
    assert water_left(found) == {"water": pytest.approx(0.92)}


def test_soap_alone_is_called_soap_and_crystals_take_no_room() -> None:
    fill = Fill(into="mix", source="tap", volume=0.1)
    soapy = end(BEFORE, in_turn(fill, Pour(lot="soap", into="mix", volume=0.001, mass=None, order=2)), RIG)
    assert (soapy.tanks["mix"].stock, soapy.tanks["mix"].volume) == ("surfactant", pytest.approx(0.101))
    sour = end(BEFORE, in_turn(fill, Pour(lot="crystals", into="mix", volume=None, mass=0.5, order=2)), RIG)
    assert sour.tanks["mix"] == Held(stock="oxalic", strength=near(5.0), volume=near(0.1))
    assert sour.lots["crystals"] == pytest.approx(1.5)


def test_what_a_flush_may_leave_is_water() -> None:
    def ending(drum: float) -> Held:
        pour = Pour(lot="drum", into="mix", volume=drum, mass=None, order=2)
        return end(BEFORE, in_turn(Fill(into="mix", source="tap", volume=0.1), pour), RIG).tanks["mix"]

    assert ending(0.00004).stock == "water"
    assert ending(0.00006).stock == "hypochlorite"


def test_a_hose_holds_what_went_in_last_until_it_is_drained() -> None:
    def spray(volume: float) -> Spray:
        return Spray(run="front", seconds=10.0, volume=volume, onto="section", use="mix")

    mark = SetDosing(run="front", to="mark", draws=(Draw(source="drum", share=0.1),))
    done: list[Detail] = [
        DrawFrom(run="front", feed="water"),
        mark,
        spray(0.02),
        SetDosing(run="front", to="water"),
        spray(0.005),
    ]
    found = end(BEFORE, in_turn(*done), RIG)
    assert found.hoses["red"] == Held(stock="hypochlorite", strength=near(5.0))
    assert found.hoses["blue"] == Held(stock="hypochlorite", strength=near(10.0))
    assert found.tanks["water"].volume == pytest.approx(1.0 - 0.018 - 0.005)
    chased = end(BEFORE, in_turn(*done, spray(0.005)), RIG)
    assert (chased.hoses["red"].stock, chased.hoses["blue"].stock) == ("water", "hypochlorite")
    drains = [Drain(source=one, to="lawn", volume=size) for one, size in (("red", 0.01), ("blue", 0.005))]
    drained = end(BEFORE, in_turn(*done, *drains), RIG)
    assert {one.stock for one in drained.hoses.values()} == {"air"}


def test_a_dosing_set_while_the_gun_is_open_counts_from_its_end() -> None:
    def act(detail: Detail, start: float, lasts: float) -> Act:
        return Act(id="a", phase="wash", who="lead", at="rig", detail=detail, start=start, lasts=lasts)

    wet = Spray(run="front", seconds=3.0, volume=0.003, onto="section", use="wet")
    acts = (
        act(SetDosing(run="front", to="mark", draws=(Draw(source="drum", share=0.1),)), 8.0, 5.0),
        act(wet, 10.0, 3.0),
        act(wet, 13.0, 3.0),
    )
    assert drawn_by_lot(acts) == {"drum": pytest.approx(0.0003)}


def test_a_pail_that_nobody_empties_is_left_and_its_agent_makes_it_harmless() -> None:
    done: list[Detail] = [
        Pour(lot="drum", into="pail 1", volume=0.001, mass=None, order=1),
        Fill(into="pail 2", source="tap", volume=0.004),
        Drain(source="pail 1", to="pail 2", volume=0.001),
    ]
    left = end(BEFORE, in_turn(*done), RIG).pails
    assert left == {"pail 2": Held(stock="hypochlorite", strength=near(20.0), volume=near(0.005))}
    dosed = end(BEFORE, in_turn(*done, Neutralise(what="pail 2", lot="thio", mass=0.2)), RIG)
    assert dosed.pails["pail 2"].stock == "water"
    assert dosed.lots["thio"] == pytest.approx(2.8)


def test_a_job_begins_with_full_water_and_a_dry_mix_tank_unless_the_day_says_otherwise(tmp_path: Path) -> None:
    files = merged(base(), PREMIX)
    found = begin(book_of(loaded(tmp_path / "a", files).jobs[0]).asked, ())
    assert found.tanks["water"] == Held(stock="water", volume=near(0.37854117839999996))
    assert found.tanks["mix"] == Held(stock="air", volume=0.0)
    assert found.hoses == {"red": Held(stock="air")}
    files = merged(files, {"day": {"heels": {"mix": {"stock": "bleach", "strength": "1 %", "volume": "5 gal"},
                                             "water": {"stock": "water", "volume": "30 gal"}}}})  # fmt: skip
    found = begin(book_of(loaded(tmp_path / "b", files).jobs[0]).asked, ())
    assert found.tanks["mix"].stock == "hypochlorite"
    assert found.tanks["mix"].volume == pytest.approx(5 * 231 * 0.0254**3)
    assert found.tanks["water"].volume == pytest.approx(30 * 231 * 0.0254**3)


def test_a_lot_begins_with_what_the_jobs_before_left_and_only_lots_that_are_used_are_told(tmp_path: Path) -> None:
    job = loaded(tmp_path, merged(base(), PREMIX)).jobs[0]
    asked = book_of(job).asked
    pour = in_turn(Pour(lot="drum", into="mix", volume=0.001, mass=None, order=2))
    whole = begin(asked, pour).lots
    assert whole == {"drum": pytest.approx(30 * 231 * 0.0254**3)}
    taken = replace(asked, found=Carried(used=MappingProxyType({"drum": 0.01})))
    assert begin(taken, pour).lots["drum"] == pytest.approx(whole["drum"] - 0.01)


def test_a_lot_nobody_counted_holds_what_the_acts_take(tmp_path: Path) -> None:
    files = merged(base(), {**PREMIX, "stock": {"lots": {"0": {"on_hand": None}}}})
    asked = book_of(loaded(tmp_path, files).jobs[0]).asked
    pour = in_turn(Pour(lot="drum", into="mix", volume=0.001, mass=None, order=2))
    assert begin(asked, pour).lots == {"drum": 0.001}


def test_an_unflushed_hose_begins_with_what_last_went_through(tmp_path: Path) -> None:
    asked = book_of(loaded(tmp_path, merged(base(), PREMIX)).jobs[0]).asked
    found = Carried(
        parts=MappingProxyType({"red": "muriatic"}),
        unflushed=frozenset({"red"}),
        tanks=MappingProxyType({"mix": TankHeel(volume=0.01, strength=30.0, soap=0.0, chemical="muriatic")}),
    )
    state = begin(replace(asked, found=found), ())
    assert state.hoses["red"].stock == "muriatic"
    assert state.hoses["red"].strength > 300.0
    assert state.tanks["mix"] == Held(stock="muriatic", strength=30.0, volume=0.01)


def test_a_tank_that_gives_a_line_its_plain_water_is_full_whatever_it_is_kept_for(tmp_path: Path) -> None:
    asked = book_of(loaded(tmp_path, merged(base(), {"job": {"hose_runs": {"0": {"feed": "mix"}}}})).jobs[0]).asked
    assert begin(asked, ()).tanks["mix"] == Held(stock="water", volume=near(50 * 231 * 0.0254**3))
