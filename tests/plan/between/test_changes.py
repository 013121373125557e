"""What is flushed before a mix of another chemistry: of tanks and lines, in a job and between jobs."""

from __future__ import annotations

from math import log10
from pathlib import Path
from typing import Any

import pytest

from planner.chemistry import washout
from planner.contract.plan import job_json
from planner.inputs.tables.defaults import default
from planner.inputs.tables.whole import limits_with
from planner.plan.between.model import ChangeFlush
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Drain
from planner.plan.water.tap import pour_flow
from tests import workspaces

GALLON = 231 * 0.0254**3
PREMIX = {"feed": "mix", "dosing": "premix"}
BLEACH = [{"stock": "bleach", "strength": "1 %"}]
ASH = {"name": "ash", "chemical": "soda_ash", "on_hand": "50 lb"}
SUDS = {"name": "suds", "chemical": "soap", "on_hand": "4 gal", "bleach_stable": "true"}
ACID_HEEL = {"mix": {"stock": "acid", "strength": "1:10", "volume": "3 gal"}}
BLEACH_HEEL = {"mix": {"stock": "bleach", "strength": "3 %", "volume": "3 gal"}}


def _plan(folder: Path, job: dict[str, Any], day: dict[str, Any] | None = None, **rig: Any) -> JobPlan:
    files = workspaces.base()
    files["stock"]["lots"] += [ASH, SUDS]
    files = workspaces.merged(files, {"job": job, "day": day or {}, **rig})
    return workspaces.checked(folder, files).plan


WOOD = {
    "surfaces": [{"name": "deck", "kind": "bare_wood", "area": "300 ft2"}],
    "chemicals": [{"stock": "ash", "strength": "20 g/L"}],
    "hose_runs": {0: PREMIX},
}


TWO = {
    "surfaces": [
        {"name": "wall", "kind": "vinyl", "area": "500 ft2"},
        {"name": "deck", "kind": "bare_wood", "area": "300 ft2"},
    ],
    "chemicals": [
        {"stock": "bleach", "strength": "1 %", "surfaces": ["wall"]},
        {"stock": "ash", "strength": "20 g/L", "surfaces": ["deck"]},
    ],
    "hose_runs": {0: {**PREMIX, "surfaces": ["wall", "deck"]}},
}


def _only(plan: JobPlan) -> ChangeFlush:
    (change,) = plan.changes
    return change


def test_a_heel_of_another_chemical_is_drained_and_rinsed_out_before_the_mix(tmp_path: Path) -> None:
    plan = _plan(tmp_path, WOOD, {"heels": BLEACH_HEEL})
    change = _only(plan)
    (tank,) = change.parts
    assert (change.comes, tank.part, tank.leaves, tank.strength) == ("soda_ash", "mix", "hypochlorite", 30.0)
    assert tank.drained / GALLON == pytest.approx(2)
    assert tank.holds / GALLON == pytest.approx(1)
    assert tank.rinses is not None
    assert tank.volume == pytest.approx(tank.rinses * tank.each)
    left, inlet = tank.strength, plan.input.water.chlorine or 0.0
    assert inlet == pytest.approx(0.001)
    for _ in range(tank.rinses):
        left = (tank.holds * left + tank.each * inlet) / (tank.holds + tank.each)
    assert left == pytest.approx(tank.residual)
    assert left <= 0.004 * (1 + 1e-9)
    assert tank.each >= default("rinse_least") * 50 * GALLON * (1 - 1e-9)
    assert tank.seconds == pytest.approx(
        (tank.drained + 2 * tank.volume) / pour_flow(plan.input) + tank.rinses * default("swill")
    )


def test_the_batch_then_stands_on_rinse_water_and_takes_all_its_stock(tmp_path: Path) -> None:
    flushed = _plan(tmp_path / "a", WOOD, {"heels": BLEACH_HEEL}).mixes[0]
    wet = {"mix": {"stock": "water", "volume": "1 gal"}}
    clean = _plan(tmp_path / "b", WOOD, {"heels": wet}).mixes[0]
    assert flushed.heel_chemical == "water"
    assert flushed.heel == pytest.approx(GALLON)
    assert flushed.batches == clean.batches
    assert flushed.stock_mass == pytest.approx(clean.stock_mass)


def test_the_same_chemical_needs_no_flush(tmp_path: Path) -> None:
    plan = _plan(tmp_path, {"chemicals": BLEACH, "hose_runs": {0: PREMIX}}, {"heels": BLEACH_HEEL})
    assert plan.changes == ()
    assert plan.mixes[0].heel_chemical == "hypochlorite"


def test_two_chemistries_through_one_tank_and_line_are_flushed_apart_by_the_cheaper_way(tmp_path: Path) -> None:
    change = _only(_plan(tmp_path, TWO))
    assert change.together
    assert [part.kind for part in change.parts] == ["tank", "pump", "hose"]
    assert [part.through for part in change.line] == ["mix", "mix"]
    assert sum(part.volume or 0.0 for part in change.line) == 0.0
    assert change.other is not None
    assert change.volume < change.other
    assert all(part.residual is not None and part.residual <= 0.004 * (1 + 1e-9) for part in change.parts)


def test_where_the_heel_is_large_tank_and_line_are_washed_apart(tmp_path: Path) -> None:
    rig = {"tanks": {1: {"dead_volume": "20 gal"}}, "hoses": {0: {"length": "10 ft"}}}
    change = _only(_plan(tmp_path, {**TWO, "hose_runs": {0: {**TWO["hose_runs"][0], "on_reel": "0 ft"}}}, rig=rig))
    both = (change.volume, change.other)
    assert change.other is not None
    assert both[0] <= both[1]
    pump, hose = change.line
    if not change.together:
        assert pump.volume is not None
        assert hose.volume is not None
        needed = washout.flush_line(
            [washout.Part(name="", volume=hose.holds, strength=hose.strength, mixing="hose")], 0.004, 1.0, 0.001
        )
        assert hose.volume == pytest.approx(needed.volume)


def test_water_clock_and_tanks_all_count_the_flush_between(tmp_path: Path) -> None:
    plan = _plan(tmp_path, TWO)
    change = _only(plan)
    at_end = sum(flush.volume or 0.0 for flush in plan.flushes)
    assert plan.water.flush == pytest.approx(at_end + change.volume)
    (span,) = [span for span in plan.time if span.what == "flush first"]
    # What is drained is carried away, and a strip says when it is clean.
    assert change.seconds < span.seconds < 2.0 * change.seconds
    assert plan.supply is not None
    (phase,) = [phase for phase in plan.supply.phases if phase.what == "flush first"]
    assert phase.draws["tap"] == pytest.approx(change.volume)
    on_site = sum(span.seconds for span in plan.time if span.what != "drive")
    assert sum(phase.seconds for phase in plan.supply.phases) == pytest.approx(on_site)


def test_the_flush_at_the_end_is_of_what_came_last(tmp_path: Path) -> None:
    plan = _plan(tmp_path, TWO)
    assert {flush.leaves for flush in plan.flushes} == {"soda_ash"}
    assert sorted(flush.part for flush in plan.flushes) == ["booster", "red"]
    assert plan.left.tanks["mix"].chemical == "soda_ash"


def test_soap_in_the_line_is_no_stranger_to_a_mix_with_soap_in_it(tmp_path: Path) -> None:
    def changes(dose: bool) -> tuple[ChangeFlush, ...]:
        job = {
            "surfaces": TWO["surfaces"],
            "chemicals": [
                {"stock": "suds", "dose": "1 fl oz/gal", "surfaces": ["wall", "deck"] if dose else ["wall"]},
                {"stock": "bleach", "strength": "0.5 %", "surfaces": ["deck"]},
            ],
            "hose_runs": [
                {**workspaces.base()["job"]["hose_runs"][0], "dosing": "jug", "name": name, "surfaces": [surface]}
                for name, surface in (("front", "wall"), ("back", "deck"))
            ],
        }
        dosing = {"rig": {"dosing": {1: {"name": "jug", "water_to_stock": "10", "max_back_pressure": "250 psi"}}}}
        return _plan(tmp_path / str(dose), job, **dosing).changes

    assert changes(dose=True) == ()
    assert [(one.leaves, one.comes) for one in changes(dose=False)] == [(("surfactant",), "hypochlorite")]


def test_a_tank_its_pump_empties_is_still_wet_and_rinsed(tmp_path: Path) -> None:
    change = _only(_plan(tmp_path, TWO, rig={"tanks": {1: {"dead_volume": "0 gal"}}}))
    assert change.tank is not None
    assert change.tank.holds == pytest.approx(default("film") * 6 * (50 * GALLON) ** (2 / 3))


def test_bleach_in_the_tank_that_gives_the_water_is_flushed_out_and_the_tank_is_then_low(tmp_path: Path) -> None:
    plan = _plan(tmp_path, {}, {"heels": {"water": {"stock": "bleach", "strength": "1 %", "volume": "5 gal"}}})
    change = _only(plan)
    assert (change.comes, change.leaves) == ("water", ("hypochlorite",))
    assert "water" not in plan.left.tanks
    assert plan.supply is not None
    assert plan.supply.main is not None
    assert plan.supply.main.start == pytest.approx(5 * GALLON)
    assert plan.supply.main.lowest <= 5 * GALLON * (1.0 + 1e-9)


@pytest.mark.parametrize(
    ("near", "strength", "where"),
    [
        ({}, "0.5 %", "lawn"),
        ({}, "12 %", "sanitary"),
        ({"storm_drain": "20 ft"}, "12 %", "caught"),
        ({"fish_pond": "50 ft"}, "12 %", "caught"),
    ],
)
def test_where_the_water_goes_is_told_by_its_strength_and_by_what_is_near(
    tmp_path: Path, near: dict[str, str], strength: str, where: str
) -> None:
    heels = {"mix": {"stock": "bleach", "strength": strength, "volume": "3 gal"}}
    change = _only(_plan(tmp_path, {**WOOD, "near": near}, {"heels": heels}))
    assert change.drains_to == where


def test_what_is_drained_has_its_neutraliser_with_the_rest(tmp_path: Path) -> None:
    plan = _plan(tmp_path, WOOD, {"heels": ACID_HEEL})
    (one,) = [one for one in plan.neutralisers if one.purpose == "the muriatic drained from mix"]
    assert plan.procedure is not None
    first = [act.detail for act in plan.procedure.acts if act.phase == "flush_first"]
    drained = [each for each in first if isinstance(each, Drain) and each.source == "mix"]
    assert drained[0].volume / GALLON == pytest.approx(2)
    # The rinses that are too strong for the lawn go the same way.
    assert one.volume == pytest.approx(sum(each.volume for each in drained if each.to.startswith("pail ")))
    assert one.strength == pytest.approx(_only(plan).parts[0].strength)


def test_a_line_two_mixes_of_one_chemical_went_through_is_flushed_once_of_the_stronger(tmp_path: Path) -> None:
    def flushed(folder: str, *walls: tuple[str, str]) -> dict[str, Any]:
        job = {
            "surfaces": [{"name": name, "kind": "vinyl", "area": "500 ft2"} for name, _ in walls],
            "chemicals": [{"stock": "bleach", "strength": strength, "surfaces": [name]} for name, strength in walls],
            "hose_runs": {0: {"dosing": "panel", "surfaces": [name for name, _ in walls]}},
        }
        return job_json(workspaces.checked(tmp_path / folder, workspaces.merged(workspaces.base(), {"job": job})), "us")  # type: ignore[return-value]

    both = flushed("both", ("wall", "0.6 %"), ("gable", "1.2 %"))
    alone = flushed("alone", ("gable", "1.2 %"))
    assert len(both["mixes"]) == 2
    assert [row["part"] for row in both["flushes"]] == ["booster", "red"]
    assert both["flushes"] == alone["flushes"]
    assert both["water"]["by_use_m3"]["flush"] == alone["water"]["by_use_m3"]["flush"]


def test_json_has_each_part_with_when_it_is_flushed(tmp_path: Path) -> None:
    files = workspaces.base()
    files["stock"]["lots"] += [ASH]
    job = job_json(workspaces.checked(tmp_path, workspaces.merged(files, {"job": TWO})), "si")
    assert [(row["part"], row["when"], row["from"], row["to"]) for row in job["flushes"]] == [
        ("mix", "before", "hypochlorite", "soda_ash"),
        ("booster", "before", "hypochlorite", "soda_ash"),
        ("red", "before", "hypochlorite", "soda_ash"),
        ("booster", "after", "soda_ash", "water"),
        ("red", "after", "soda_ash", "water"),
    ]
    tank = job["flushes"][0]
    assert tank["volume_m3"] == pytest.approx((tank["rinses"] - 1) * tank["each_m3"] + tank["last_m3"])  # type: ignore[typeddict-item]
    assert job["water"]["by_use_m3"]["flush"] == pytest.approx(sum(row["volume_m3"] for row in job["flushes"]))  # type: ignore[misc]


def test_what_may_be_left_of_acid_leaves_soft_water_neutral_and_frees_next_to_no_chlorine() -> None:
    """Carbonic acid's first step, pK 6.35 at 25 C; soft water of 20 mg/L as CaCO3, 50.04 g/eq; HCl 36.46 g/mol."""
    residual = limits_with({})[0]["residual_acid"]
    acid = residual / 36.46 * 1000.0  # meq/L, residual in kg/m3
    alkalinity = 20.0 / 50.04
    assert 6.35 + log10((alkalinity - acid) / acid) > 6.0
    # NaOCl + 2 HCl gives Cl2: 70.906 g of 2 x 36.46.
    assert residual * GALLON * 70.906 / (2 * 36.46) * 1e6 < 15.0
