"""Work on a pump from plan to record to what is planned with next: a season wears it, the bench mends and measures it."""

from __future__ import annotations

import copy
import datetime
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.archive.compare.causes import words
from planner.archive.compare.comparison import compared
from planner.archive.compare.differences import Difference, differences
from planner.archive.compare.learn import Correction, Known, corrections, learned_text
from planner.archive.compare.pairs import Pair
from planner.archive.compare.trends import Trend
from planner.archive.compare.wear import bench_readings, worked_on
from planner.cli import main
from planner.days.archiving import plan_json
from planner.inputs.workspace import load
from planner.units import read
from tests import workspaces
from tests.archive import seasons

GALLONS = read("5 gal", "volume")
PUMP = ("Case", "booster")
KNOWN = Known(pumps=(PUMP,), kinds=(), lots=())
RIG: dict[str, Any] = {
    "rig": {
        "setups": [{"name": "house", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "long throw"}],
        "pumps": {"0": {"wetted": ["plastic"]}},
    }
}
YARD = {"job": "Booster", "kind": "yard", "pump": "booster", "work": ["descale", "test"], "bath": "10 vol % muriatic"}


@pytest.fixture(scope="module")
def wash(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return seasons.plan_of(tmp_path_factory.mktemp("wash"))


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """A yard job as it is archived."""
    folder = tmp_path_factory.mktemp("yard")
    files = workspaces.merged(workspaces.base(), RIG)
    files["job"] = YARD
    return plan_json(workspaces.checked(folder, files), folder)


def at(yard: dict[str, Any], share: float) -> dict[str, float]:
    """What the test shows at one of the shares kept."""
    (point,) = [point for point in yard["yard"]["points"] if abs(point["share"] - share) < 1e-9]
    return point


def bench(yard: dict[str, Any], day: int, **work: Any) -> Pair:
    """A record of work in the yard, so many days after the season's start."""
    record = seasons.empty_record(yard)
    record["pump"] = {**PUMP_WORK, **work}
    date = seasons.START + datetime.timedelta(days=day)
    job = f"{date.isoformat()}/90-booster"
    return seasons.pair({**copy.deepcopy(yard), "id": job}, {**record, "job": job, "date": date.isoformat()}, date, job)


PUMP_WORK: dict[str, Any] = {
    "bath_s": 900.0, "spacers": [], "replaced": [], "checked": [], "stages": [], "throw_before_m": None, "throw_after_m": None,
    "gauge_before_pa": None, "gauge_closed_pa": None, "bucket_before_m3": None, "bucket_before_s": None, "bucket_m3": None,
    "bucket_s": None,
}  # fmt: skip


def worn(wash: dict[str, Any], shares: list[float]) -> list[Pair]:
    def done(number: int, record: dict[str, Any]) -> None:
        record["readings"] = [seasons.as_share(wash, shares[number])]

    return seasons.season(wash, len(shares), done)


def pump_of(pairs: list[Pair]) -> Trend:
    (found,) = [one for one in compared(pairs).trends if one.subject == "pump"]
    return found


def rows(pair: Pair) -> dict[str, Difference]:
    return {row.figure: row for row in differences(pair)}


def learned(pairs: list[Pair]) -> list[Correction]:
    return corrections(compared(pairs).trends, KNOWN)


def test_readings_at_a_share_are_read_back_as_that_share(yard: dict[str, Any]) -> None:
    point = at(yard, 0.9)
    full = bench(
        yard, 0, gauge_before_pa=at(yard, 0.75)["gauge_closed_pa"], gauge_closed_pa=point["gauge_closed_pa"],
        bucket_m3=GALLONS, bucket_s=GALLONS / point["flow_m3_per_s"], throw_after_m=point["ground_m"],
    )  # fmt: skip
    before, after = bench_readings(yard, full.record)
    assert before.share == pytest.approx(0.75, abs=0.005)
    assert after.share == pytest.approx(0.9, abs=0.005)
    full.record["pump"]["gauge_closed_pa"] = None
    _, after = bench_readings(yard, full.record)
    assert (after.share, after.off) == (None, None), "what a line takes hides in a bucket and a throw"


def test_what_was_read_is_held_against_what_the_plan_expected(yard: dict[str, Any]) -> None:
    test = yard["yard"]["throw"]
    found = rows(
        bench(
            yard, 0, bath_s=2400.0, throw_before_m=0.8 * test["before"]["ground_m"], gauge_closed_pa=test["after"]["gauge_closed_pa"],
            bucket_m3=GALLONS, bucket_s=1.3 * test["after"]["bucket_s"],
        )
    )  # fmt: skip
    assert (found["bath"].planned, found["bath"].sign, found["bath"].cause) == (900.0, "high", "bath_long")
    assert (found["throw_before"].sign, found["throw_before"].cause) == ("low", "worse_before")
    assert found["gauge_after"].sign == "in"
    assert (found["bucket_after"].sign, found["bucket_after"].cause) == ("low", "line_after")
    assert found["share_after"].done == pytest.approx(1.0, abs=0.03)
    low = rows(bench(yard, 0, gauge_closed_pa=0.8 * test["after"]["gauge_closed_pa"]))
    assert low["gauge_after"].cause == low["share_after"].cause == "not_mended"


def test_where_nothing_was_done_nothing_is_said_of_spacers_or_of_the_work(yard: dict[str, Any]) -> None:
    looked = {**copy.deepcopy(yard), "bath": None}
    looked["yard"]["work"] = ["test"]
    closed = looked["yard"]["throw"]["after"]["gauge_closed_pa"]
    low = rows(bench(looked, 0, bath_s=None, gauge_closed_pa=0.8 * closed))
    assert low["gauge_after"].cause == low["share_after"].cause == "worn_on_test"
    assert "work" not in words()["worn_on_test"].partition("worked")[0]
    assert "spacers" not in words()["worn_on_test"]
    thrown = rows(bench(looked, 0, bath_s=None, throw_after_m=0.8 * looked["yard"]["throw"]["after"]["ground_m"]))
    assert thrown["throw_after"].cause == "low_on_test"
    mended = rows(bench(looked, 0, bath_s=None, replaced=["seal"], gauge_closed_pa=0.8 * closed))
    assert mended["gauge_after"].cause == "not_mended", "what the record says was done, was done"


def test_after_the_work_its_own_reading_is_the_first_of_the_new_line(
    wash: dict[str, Any], yard: dict[str, Any]
) -> None:
    season = worn(wash, [1.0, 0.9, 0.75, 0.6])
    before = {"gauge_before_pa": at(yard, 0.6)["gauge_closed_pa"]}
    mended = bench(yard, 9, **before, gauge_closed_pa=at(yard, 0.9)["gauge_closed_pa"])
    trend = pump_of([*season, mended])
    assert (trend.count, trend.since, trend.benched) == (1, mended.date, True)
    assert trend.now == pytest.approx(0.9, abs=0.005)
    silent = pump_of([*season, bench(yard, 9, **before)])
    assert (silent.count, silent.since, silent.unmeasured, silent.benched) == (5, mended.date, True, False)
    assert silent.now < 0.8, "a word that it was mended is no reading: it is planned as it was"


def test_looking_alone_is_one_more_look_at_the_same_pump(wash: dict[str, Any], yard: dict[str, Any]) -> None:
    season = worn(wash, [0.9, 0.9, 0.9])
    looked = bench(
        yard, 20, bath_s=None, gauge_before_pa=at(yard, 0.75)["gauge_closed_pa"], gauge_closed_pa=at(yard, 0.9)["gauge_closed_pa"]
    )  # fmt: skip
    trend = pump_of([*season, looked])
    assert (trend.count, trend.since, trend.benched) == (4, None, False)
    assert trend.now == pytest.approx(0.9, abs=0.005)


def test_a_gauge_at_the_bench_is_learned_alone_and_a_throw_is_not(wash: dict[str, Any], yard: dict[str, Any]) -> None:
    season = worn(wash, [0.9, 0.75, 0.6])
    (worn_out,) = learned(season)
    assert worn_out.value < 0.9
    point = at(yard, 0.9)
    (one,) = learned([*season, bench(yard, 30, gauge_closed_pa=point["gauge_closed_pa"])])
    assert (one.about, one.records) == (PUMP, 1)
    assert (one.value, one.raw) == (0.9, pytest.approx(0.9, abs=0.005)), "down to the hundredth"
    assert "booster: {condition: 0.90, records: 1" in learned_text([one])
    assert learned([*season, bench(yard, 30, throw_after_m=point["ground_m"])]) == []


def test_a_plan_and_a_record_kept_before_there_was_a_bench_are_compared_all_the_same(yard: dict[str, Any]) -> None:
    older = {key: value for key, value in yard.items() if key not in ("yard", "bath")}
    old_record = {key: PUMP_WORK[key] for key in
                  ("bath_s", "spacers", "replaced", "checked", "throw_before_m", "throw_after_m", "gauge_closed_pa")}  # fmt: skip
    pair = bench(older, 0)
    pair.record["pump"] = {**old_record, "throw_after_m": 12.0}
    assert rows(pair)["bath"].planned is None
    assert compared([pair]).unread == ()
    held = bench(yard, 0)
    held.record["pump"] = {**old_record, "gauge_closed_pa": at(yard, 0.9)["gauge_closed_pa"]}
    assert rows(held)["share_after"].done == pytest.approx(0.9, abs=0.005)


def test_what_was_bought_for_a_stage_is_work_on_the_pump_and_what_was_seen_in_it_is_not() -> None:
    nothing = {**PUMP_WORK, "bath_s": None}
    assert not worked_on(nothing)
    looked = {"number": 1, "part": "x", "spacer": "2 thin", "plate": "good", "cost": None}
    assert not worked_on({**nothing, "checked": ["impellers"], "spacers": ["2 thin"], "stages": [looked]})
    assert worked_on({**nothing, "stages": [looked, {**looked, "number": 3, "cost": "$12"}]})
    assert worked_on({**nothing, "replaced": ["plates"]})


@pytest.mark.ci
def test_from_packet_to_the_next_jobs_hydraulics(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Planned, recorded with its gauge, compared, applied: the pump's next run is solved with what the bench read."""
    files = workspaces.merged(workspaces.base(), RIG)
    workspaces.write(tmp_path, files)
    day = tmp_path / "2026-06-09"
    (day / "90-booster.yaml").write_text(yaml.safe_dump(YARD), encoding="utf-8")
    assert main(["packet", str(day / "90-booster.yaml"), "-o", str(tmp_path / "out")]) in (0, 1)
    record = {
        "job": "2026-06-09/90-booster",
        "pump": {"bath": "15 min", "gauge_before": "52 psi", "gauge_closed": "64 psi"},
    }
    (tmp_path / "done.yaml").write_text(yaml.safe_dump(record), encoding="utf-8")
    assert main(["record", str(day / "90-booster.yaml"), "--from", str(tmp_path / "done.yaml")]) == 0
    capsys.readouterr()
    assert main(["compare", str(tmp_path), "--apply"]) == 0
    said = capsys.readouterr().out
    assert "gauge after, gun closed" in said
    text = (tmp_path / "learned.yaml").read_text(encoding="utf-8")
    # 64 of 70 psi is 0.914.
    assert "condition: 0.91, records: 1" in text
    (job,) = load([day / "10-case.yaml"]).jobs
    pump = job.runs[0].pump
    assert pump is not None
    assert pump.condition == 0.91
    assert any("booster: condition 0.91, learned from 1 record" in note for note in job.assumed)


def test_a_bench_jobs_time_speaks_of_the_bench(yard: dict[str, Any]) -> None:
    for took, cause, word in ((600.0, "bench_quick", "fewer parts"), (80000.0, "bench_slow", "scale")):
        pair = bench(yard, 0)
        pair.record["times"].update(arrived_s=0.0, left_s=took)
        assert rows(pair)["whole"].cause == cause
        assert word in words()[cause]
        assert "dwell" not in words()[cause]


def test_what_stages_cost_is_summed_where_the_job_says_no_sum(yard: dict[str, Any]) -> None:
    def spent(whole: float | None) -> float | None:
        pair = bench(yard, 0)
        rows: list[dict[str, Any]] = [
            {"number": 1, "spent": 12.5},
            {"number": 2, "spent": None},
            {"number": 3, "spent": 30.1},
        ]
        bare: dict[str, Any] = dict.fromkeys(("part", "spacer", "plate", "cost"))
        pair.record["pump"]["stages"] = [{**bare, **row} for row in rows]
        pair.record["spent"] = whole
        (one,) = compared([pair]).jobs
        return one.spent

    assert (spent(None), spent(60.0)) == (42.6, 60.0)
