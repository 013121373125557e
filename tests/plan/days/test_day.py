"""A day's jobs follow each other: on the clock, in the tanks, through the lines."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.model import CheckedJob
from planner.days.prepare import Trouble, checked_jobs, days_of
from planner.inputs.workspace import load
from planner.plan.days.day import DayPlan
from tests import workspaces

GALLON = 231 * 0.0254**3


def _day(folder: Path, second: dict[str, Any], **first: Any) -> tuple[list[CheckedJob], DayPlan]:
    files = workspaces.merged(
        workspaces.base(),
        {"day": {"leave_yard": "07:00", "drive": {"10-case": "20 min", "20-later": "15 min"}}, **first},
    )
    path = workspaces.write(folder, files)
    later = workspaces.merged(workspaces.base()["job"], second)
    (path.parent / "20-later.yaml").write_text(yaml.safe_dump(later), encoding="utf-8")
    read = load([path.parent])
    trouble = Trouble(faults=list(read.faults))
    jobs = list(checked_jobs(read, trouble))
    assert not trouble.faults, trouble.faults
    ((day, clocked),) = days_of(read, jobs)
    return clocked, day


PREMIX = {"feed": "mix", "dosing": "premix"}
BLEACH = {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: PREMIX}}
ACID = {
    "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "100 ft2"}],
    "chemicals": [{"stock": "muriatic", "strength": "1:10"}],
    "hose_runs": {0: PREMIX},
}


def test_each_job_begins_where_the_one_before_ends(tmp_path: Path) -> None:
    jobs, day = _day(tmp_path, {"job": "Later"})
    first, second = (job.plan.time for job in jobs)
    assert first[0].start == 7 * 3600
    assert (first[0].what, first[0].seconds) == ("drive", 1200)
    assert first[-1].start is not None
    assert second[0].start == pytest.approx(first[-1].start + first[-1].seconds)
    assert second[-1].start is not None
    assert day.home == 1200.0, "as long as the day's longest drive, where the way home is not written"
    assert day.ends == pytest.approx(second[-1].start + second[-1].seconds + 1200.0)


def test_the_second_batch_stands_on_what_the_first_left(tmp_path: Path) -> None:
    jobs, day = _day(tmp_path, BLEACH, job=BLEACH)
    first, second = (job.plan.mixes[0] for job in jobs)
    assert first.heel == 0.0
    over = first.spare * sum(part.mix for part in first.parts)
    assert second.heel == pytest.approx(1 * GALLON + over), "what the pump leaves, and the spare, which stays for it"
    assert second.heel_strength == pytest.approx(10.0)
    assert first.stock is not None
    assert second.stock is not None
    assert first.stock - second.stock == pytest.approx(0.1 * second.heel)
    (pull,) = day.pulls
    # Loaded as if the strip read 12.5 % too much, and as if the heel were a fifth weaker than what was mixed.
    assert pull.volume * 87.5 == pytest.approx((first.stock + second.stock) * 100.0 + 0.2 * second.heel * 10.0)
    assert [(heel.tank, heel.volume) for heel in day.heels] == [("mix", pytest.approx(GALLON))]


def test_a_tonights_heel_is_used_up_by_the_first_job(tmp_path: Path) -> None:
    heels = {"heels": {"mix": {"stock": "bleach", "strength": "3 %", "volume": "2 gal"}}}
    files = {"job": BLEACH, "day": {"leave_yard": "07:00", **heels}}
    jobs, _ = _day(tmp_path, BLEACH, **files)
    first, second = (job.plan.mixes[0] for job in jobs)
    assert first.heel == pytest.approx(2 * GALLON)
    assert second.heel == pytest.approx(GALLON + first.spare * sum(part.mix for part in first.parts))


@pytest.mark.ci
def test_acid_into_the_tank_that_held_bleach_this_morning_asks_for_a_flush_first(tmp_path: Path) -> None:
    jobs, _ = _day(tmp_path, ACID, job=BLEACH)
    found = {(f.code, f.case, f.about) for f in jobs[1].findings}
    assert ("flush.needed", "change", "mix") in found
    assert not {case for code, case, _ in found if code == "mix.reaction"} & {"heel", "line"}
    (mix,) = jobs[1].plan.mixes
    assert (mix.heel_chemical, mix.heel / GALLON) == ("water", pytest.approx(1))


def test_acid_through_the_pump_that_carried_bleach_this_morning_stops_unless_it_is_kept_for_acid(
    tmp_path: Path,
) -> None:
    panel = {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}}
    jobs, _ = _day(tmp_path, ACID, job=panel)
    found = {(f.code, f.case, f.about) for f in jobs[1].findings}
    assert ("mix.reaction", "bleach_pump", "muriatic, front") in found
    assert ("flush.needed", "between", "red") in found


def test_what_the_shelf_lacks_for_the_whole_day_is_to_buy(tmp_path: Path) -> None:
    few = {"lots": {0: {"on_hand": "1.5 gal"}}}
    jobs, day = _day(tmp_path, BLEACH, job=BLEACH, stock=few)
    (buy,) = day.buys
    assert buy.chemical == "hypochlorite"
    # The second job is held for what the first one takes; what is to buy lets it go.
    assert [job.verdict for job in jobs] == ["caution", "stop"]
    whole = sum(job.plan.mixes[0].pull or 0.0 for job in jobs)
    assert buy.volume == pytest.approx(whole - 1.5 * GALLON)
    (pull,) = day.pulls
    assert pull.volume == pytest.approx(jobs[0].plan.mixes[0].pull)
