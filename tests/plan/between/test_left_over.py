"""What a tankful leaves over: kept in its tank for the day's next job of the same mix, else drained by acts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import pytest
import yaml

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.contract.record import RecordJson
from planner.days.prepare import Trouble, checked_jobs, days_of
from planner.days.recorded import as_recorded
from planner.days.rehearsing import rehearsed
from planner.inputs.workspace import load
from planner.plan.days.day import DayPlan
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Drain, Mark
from tests import workspaces

GALLON = 231 * 0.0254**3
SOAP = {"name": "suds", "chemical": "soap", "on_hand": "4 gal", "bleach_stable": "true"}
THIO = {"name": "thio", "chemical": "thiosulfate"}


def _mixes(strength: str = "1 %", area: str = "500 ft2", soap: str = "", stock: str = "bleach") -> dict[str, Any]:
    kind = "vinyl" if stock == "bleach" else "brick_acid"
    chemicals = [{"stock": stock, "strength": strength}, *([{"stock": "suds", "dose": soap}] if soap else [])]
    return {
        "surfaces": [{"name": "wall", "kind": kind, "area": area}],
        "chemicals": chemicals,
        "hose_runs": {0: {"feed": "mix", "dosing": "premix"}},
    }


def _day(
    folder: Path,
    *jobs: dict[str, Any],
    rig: Mapping[str, Any] | None = None,
    crew: Sequence[str] = ("lead", "ground"),
    thio: str = "40 lb",
) -> tuple[list[CheckedJob], DayPlan]:
    """A day's jobs, checked and put on the clock."""
    files = workspaces.base()
    files["stock"]["lots"] += [SOAP, THIO | {"on_hand": thio}]
    day = {
        "leave_yard": "07:00",
        "crew": list(crew),
        "drive": {f"{n}0-case": "15 min" for n in range(1, len(jobs) + 1)},
    }
    path = workspaces.write(folder, workspaces.merged(files, {"day": day, "rig": rig or {}, "job": jobs[0]}))
    for number, job in enumerate(jobs[1:], start=2):
        other = workspaces.merged(files["job"], {"job": f"Case {number}", **job})
        (path.parent / f"{number}0-case.yaml").write_text(yaml.safe_dump(other), encoding="utf-8")
    read = load([path.parent])
    trouble = Trouble(faults=list(read.faults))
    found = list(checked_jobs(read, trouble))
    assert not trouble.faults
    assert not trouble.ours
    ((planned, clocked),) = days_of(read, found)
    return clocked, planned


def _drained(plan: JobPlan) -> float:
    """Out of the mix tank by acts [gal]."""
    assert plan.procedure is not None
    details = (act.detail for act in plan.procedure.acts)
    return sum(one.volume for one in details if isinstance(one, Drain) and one.source == "mix") / GALLON


def _stands(plan: JobPlan) -> float:
    """In the mix tank by the state the acts end in [gal]."""
    assert plan.procedure is not None
    return (plan.procedure.end.tanks["mix"].volume or 0.0) / GALLON


def _looks(plan: JobPlan) -> list[str]:
    assert plan.procedure is not None
    return [act.detail.what for act in plan.procedure.acts if isinstance(act.detail, Mark) and "mix" in act.detail.what]


def _left_over(job: CheckedJob) -> float:
    mix = job.plan.mixes[0]
    return mix.spare * sum(part.mix for part in mix.parts) / GALLON


def test_what_is_left_over_stays_for_the_next_job_of_the_same_mix(tmp_path: Path) -> None:
    (first, second), day = _day(tmp_path, _mixes(), _mixes())
    over = _left_over(first)
    assert over > 1.0
    assert _drained(first.plan) == 0.0
    assert _stands(first.plan) == pytest.approx(1.0 + over)
    assert first.plan.left.tanks["mix"].volume / GALLON == pytest.approx(1.0 + over)
    assert _looks(first.plan)[-1] == "kept mix"
    mix = second.plan.mixes[0]
    assert (mix.heel / GALLON, mix.heel_strength) == (pytest.approx(1.0 + over), pytest.approx(10.0))
    assert _looks(second.plan)[0] == "heel mix"
    # stock + water + heel is the mix: as much as on a dry tank, with so much less poured.
    poured = (mix.stock or 0.0) + (mix.water or 0.0)
    assert poured + mix.heel == pytest.approx(mix.mix, rel=1e-9)
    assert first.plan.mixes[0].mix == pytest.approx(mix.mix)
    on_the_way = second.plan.load
    assert on_the_way is not None
    (heel,) = (item for leg in on_the_way.legs[:1] for item in leg.items if item.kind == "heel")
    assert heel.volume == pytest.approx(first.plan.left.tanks["mix"].volume)
    # Nobody mixes on the last one's: acts drain it, and the day's page has what the pump leaves.
    assert _drained(second.plan) == pytest.approx(_left_over(second))
    assert [(one.tank, one.volume / GALLON) for one in day.heels] == [("mix", pytest.approx(1.0))]
    assert not [*first.breaches, *second.breaches]


def test_the_json_says_what_stays(tmp_path: Path) -> None:
    (first, second), _ = _day(tmp_path, _mixes(), _mixes())
    rows = [job_json(job, "us")["mixes"][0] for job in (first, second)]
    assert rows[0]["stays_m3"] == pytest.approx(_left_over(first) * GALLON)
    assert rows[0]["left_over_m3"] == pytest.approx(rows[0]["stays_m3"])
    assert rows[1]["stays_m3"] == 0.0


@pytest.mark.parametrize("strength", ["0.5 %", "2 %"])
def test_another_strength_mixes_on_it_where_that_makes_no_more_mix(strength: str, tmp_path: Path) -> None:
    (first, second), _ = _day(tmp_path, _mixes(), _mixes(strength))
    assert _drained(first.plan) == 0.0
    mix = second.plan.mixes[0]
    assert mix.mix is not None
    assert mix.mix / GALLON == pytest.approx(1.0 + 1.15 * sum(part.mix for part in mix.parts) / GALLON)
    assert not second.breaches


@pytest.mark.parametrize(
    ("first", "second"),
    [
        pytest.param(_mixes(), _mixes("1:10", "100 ft2", stock="muriatic"), id="another chemical"),
        pytest.param(_mixes(), {}, id="no mix"),
        pytest.param(_mixes(), _mixes("0.5 %", "50 ft2"), id="more than it needs"),
        pytest.param(_mixes(soap="1 fl oz/gal"), _mixes(), id="no soap goes there"),
        pytest.param(_mixes("1:10", "100 ft2", stock="muriatic"), _mixes("1:10", "100 ft2", stock="muriatic"), id="acid"),
        pytest.param(_mixes(), {**_mixes(), "building": {"height": "90 ft"}, "hose_runs": {
            0: {"feed": "mix", "dosing": "premix", "target": "90 ft"}}}, id="the next job is held"),
    ],
)  # fmt: skip
def test_where_it_may_not_stay_acts_drain_it(first: dict[str, Any], second: dict[str, Any], tmp_path: Path) -> None:
    jobs, _ = _day(tmp_path, first, second)
    plan = jobs[0].plan
    assert _drained(plan) == pytest.approx(_left_over(jobs[0]))
    assert _stands(plan) == pytest.approx(1.0)
    assert plan.left.tanks["mix"].volume == pytest.approx(GALLON)
    assert "kept mix" not in _looks(plan)
    assert not jobs[0].breaches


def test_a_job_between_has_it_drained(tmp_path: Path) -> None:
    (first, _, third), _ = _day(tmp_path, _mixes(), {}, _mixes())
    assert _drained(first.plan) == pytest.approx(_left_over(first))
    assert third.plan.mixes[0].heel / GALLON == pytest.approx(1.0)


@pytest.mark.ci
def test_thio_that_an_earlier_job_gave_is_gone_for_the_next(tmp_path: Path) -> None:
    """Left-over bleach is drained and dosed by each job in turn; once the shelf has no more of it, it goes home."""
    jobs, _ = _day(tmp_path, *[_mixes("2 %"), {}] * 3, thio="1.5 lb")
    given = [sum(one.mass for one in job.plan.neutralisers if one.given and one.agent == "thiosulfate") for job in jobs]
    held = 1.5 * 0.45359237
    assert 0.5 * held < sum(given) <= held
    last = jobs[-2]
    (need,) = [need for need in last.plan.agents if need.agent == "thiosulfate"]
    assert need.before == pytest.approx(sum(given[:-2]))
    assert need.on_hand == pytest.approx(held - need.before)
    assert need.buy == pytest.approx(need.carry - need.on_hand)
    (told,) = [one for one in last.findings if one.about == "thiosulfate for leftovers"]
    assert (told.level, told.case) == ("caution", "left_short")
    assert not [breach for job in jobs for breach in job.breaches]


@pytest.mark.parametrize("crew", ["[lead]", "[lead, ground]"])
def test_it_stays_in_a_tank_that_its_pump_empties_too(crew: str, tmp_path: Path) -> None:
    rig = {"tanks": {1: {"dead_volume": "0 gal"}}}
    (first, second), day = _day(tmp_path, _mixes(), _mixes(), rig=rig, crew=yaml.safe_load(crew))
    assert _stands(first.plan) == pytest.approx(_left_over(first))
    assert second.plan.mixes[0].heel / GALLON == pytest.approx(_left_over(first))
    assert not day.heels
    assert not [*first.breaches, *second.breaches]


@pytest.mark.ci
def test_three_jobs_in_a_row_hand_it_on(tmp_path: Path) -> None:
    jobs, day = _day(tmp_path, *([_mixes()] * 3))
    assert [_drained(job.plan) > 0.0 for job in jobs] == [False, False, True]
    assert [job.plan.mixes[0].heel_of for job in jobs] == ["", "Case job", "Case 2"]
    assert [one.volume / GALLON for one in day.heels] == [pytest.approx(1.0)]
    assert not [breach for job in jobs for breach in job.breaches]


def test_the_rehearsal_refuses_mix_that_is_left_and_nobody_is_told_to_leave(tmp_path: Path) -> None:
    (first, _), _ = _day(tmp_path, _mixes(), _mixes())
    procedure = first.plan.procedure
    assert procedure is not None
    acts = tuple(act for act in procedure.acts if not (isinstance(act.detail, Mark) and act.detail.what == "kept mix"))
    again = rehearsed(replace(first, plan=replace(first.plan, procedure=replace(procedure, acts=acts))))
    told = [state for _, _, state in again.breaches]
    assert any("mix is left in mix above its outlet" in state for state in told), told


def test_what_a_record_says_was_left_over_is_in_the_tank_only_where_no_act_drained_it(tmp_path: Path) -> None:
    (first, second), _ = _day(tmp_path, _mixes(), _mixes())

    def stands(job: CheckedJob, left: float) -> float:
        flush = {"residual_mg_per_l": None, "ph": None}
        record = {"mixes": [{"number": 1, "left_m3": left * GALLON}], "flush": flush}
        told = as_recorded(job.plan.left, job.plan, cast("RecordJson", record))
        return told.tanks["mix"].volume / GALLON

    assert stands(first, 4.0) == pytest.approx(4.0)
    assert stands(second, _left_over(second)) == pytest.approx(1.0, abs=0.2)
    assert stands(second, _left_over(second) + 3.0) == pytest.approx(3.0)
