"""What was done held against what was planned, and the likely cause of what lies outside."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from planner.archive.compare.causes import cause_of
from planner.archive.compare.comparison import MOST_KEPT, Unread, compared  # type: ignore[attr-defined]
from planner.archive.compare.differences import Difference, differences
from planner.archive.compare.figures import CauseRow, causes, figures
from planner.archive.compare.pairs import Chosen, Pair, pairs
from planner.archive.compare.wear import share_at
from planner.archive.kept.opening import opened
from planner.archive.kept.store import keep_record
from planner.inputs.tables.rows import table
from planner.inputs.workspace import load
from planner.plan.make import make_plan
from planner.plan.wear.inverse import Measured, plan_inverse
from tests import workspaces
from tests.archive import seasons
from tests.archive.conftest import Place


@pytest.fixture(scope="module")
def workspace(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("compare")


@pytest.fixture(scope="module")
def plan(workspace: Path) -> dict[str, Any]:
    return seasons.plan_of(workspace)


def found(plan: dict[str, Any], **written: Any) -> dict[str, Difference]:
    record = {**seasons.empty_record(plan), **written}
    return {row.figure: row for row in differences(seasons.pair(plan, record))}


def test_nothing_written_down_is_nothing_compared(plan: dict[str, Any]) -> None:
    assert found(plan) == {}


def test_a_worn_pump_shows_in_gauge_bucket_and_jet_and_is_called_one(plan: dict[str, Any]) -> None:
    rows = found(plan, readings=[seasons.as_share(plan, 0.6)])
    assert [rows[name].sign for name in ("gauge_closed", "bucket", "jet", "condition")] == ["low"] * 4
    assert rows["condition"].done == pytest.approx(0.6)
    assert {rows[name].cause for name in ("gauge_closed", "bucket", "jet", "condition")} == {"worn_pump_sure"}


def test_a_sound_gauge_and_a_slow_bucket_are_a_blocked_line(plan: dict[str, Any]) -> None:
    read = {**seasons.as_share(plan, 1.0), "bucket_s": seasons.as_share(plan, 0.6)["bucket_s"]}
    rows = found(plan, readings=[read])
    assert rows["gauge_closed"].sign == "in"
    assert rows["bucket"].cause == "blocked"
    assert rows["condition"].done == pytest.approx(1.0), "the gauge sees the pump alone, and goes before the bucket"


def test_what_was_planned_is_as_planned(plan: dict[str, Any]) -> None:
    run, mix, work = plan["runs"][0], plan["mixes"][0], plan["work"][0]
    rows = found(
        plan,
        readings=[seasons.as_share(plan, 1.0)],
        sides=[
            seasons.side(
                work["surface"], run["name"], mix_m3=mix["parts"][0]["mix_m3"], rinse_m3=work["rinse_m3"],
                wet_m3=work["wet_m3"], dwell_s=work["dwell_s"][0],
            )
        ],
        water={"used_m3": plan["water"]["need_m3"]},
    )  # fmt: skip
    assert len(rows) == 9
    assert {row.sign for row in rows.values()} == {"in"}
    assert {row.cause for row in rows.values()} == {None}
    assert all(row.by == pytest.approx(0.0, abs=1e-9) for row in rows.values() if row.planned is not None)


def test_what_equals_the_end_of_its_band_counts_as_planned(plan: dict[str, Any]) -> None:
    need, row = plan["water"]["need_m3"], figures()["water"]
    assert row.high is not None
    assert found(plan, water={"used_m3": need * row.high})["water"].sign == "in"
    over = found(plan, water={"used_m3": need * row.high * 1.001})["water"]
    assert (over.sign, over.cause) == ("high", "water_high")


def test_a_jet_from_another_place_is_not_held_against_the_plan(plan: dict[str, Any]) -> None:
    read = {**seasons.as_share(plan, 0.6), "standoff_m": 2.0 * plan["runs"][0]["wear"]["standoff_m"]}
    row = found(plan, readings=[read])["jet"]
    assert (row.planned, row.sign) == (None, None)
    assert not row.outside


def test_work_past_midnight_took_as_long_as_it_took(plan: dict[str, Any]) -> None:
    times = {"arrived_s": 23 * 3600.0, "first_mix_s": None, "flushed_s": None, "left_s": 3600.0}
    assert found(plan, times=times)["whole"].done == 7200.0


def test_a_record_without_a_plan_is_counted_and_not_judged(plan: dict[str, Any]) -> None:
    alone = Pair(
        job="2026-06-09/10-gone", date=seasons.START, revision=1, number=None, record=seasons.empty_record(plan), plan=None,
    )  # fmt: skip
    told = compared([alone])
    assert (told.count, told.planless, told.jobs[0].found) == (1, 1, ())


def test_a_plan_kept_before_there_were_wear_points_is_compared_all_the_same(plan: dict[str, Any]) -> None:
    older = {**plan, "runs": [{key: value for key, value in run.items() if key != "wear"} for run in plan["runs"]]}
    older["mixes"] = [{key: value for key, value in mix.items() if key != "parts"} for mix in plan["mixes"]]
    del older["rig"], older["yard_pump"]
    rows = found(older, readings=[seasons.as_share(plan, 0.6)])
    assert rows["gauge_closed"].sign == "low"
    assert "condition" not in rows


@pytest.mark.parametrize("share", [0.62, 0.8, 0.93, 1.0, 1.1])
def test_the_share_between_the_kept_points_is_the_solved_one(
    workspace: Path, plan: dict[str, Any], share: float
) -> None:  # fmt: skip
    files = workspaces.merged(workspaces.base(), seasons.CHEMICALS)
    job = make_plan(load([workspaces.write(workspace, files)]).jobs[0], tables=False)
    points = [(point["flow_m3_per_s"], point["share"]) for point in plan["runs"][0]["wear"]["points"]]
    lows, highs = zip(*itertools.pairwise(points), strict=True)
    low, high = next((a, b) for a, b in zip(lows, highs, strict=True) if a[1] <= share <= b[1])
    flow = low[0] + (high[0] - low[0]) * (share - low[1]) / (high[1] - low[1])
    solved = plan_inverse(job, job.runs[0], Measured(flow=flow)).reads[0].share
    assert solved is not None
    assert share_at(points, flow) == pytest.approx(solved, abs=0.01)


def test_a_reading_that_a_switch_holds_tells_no_share() -> None:
    assert share_at([(4.0e5, 0.75), (4.0e5, 0.9), (4.0e5, 1.0)], 4.0e5) is None
    assert share_at([(3.0e5, 0.75), (4.0e5, 0.9), (4.0e5, 1.0)], 3.5e5) == pytest.approx(0.825)
    assert share_at([(3.0e5, 0.75), (4.0e5, 1.0)], 2.0e5) is None, "beyond what any share gives"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    figure: str
    sign: str | None
    about: str = "house"
    run: str = "house"


def shown_by(row: CauseRow) -> bool:
    """Whether some signs come to this row before any above it."""
    for figure, signs in row.of.items():
        for sign in signs:
            names = [name for name in row.when if name != figure]
            for chosen in itertools.product(*(sorted(row.when[name]) for name in names)):
                one = Sign(figure=figure, sign=sign)
                others = [Sign(figure=name, sign=mark) for name, mark in zip(names, chosen, strict=True) if mark != "-"]
                if cause_of(one, [one, *others], worked=row.worked is not False, yard=row.yard) == row.name:
                    return True
    return False


@pytest.mark.parametrize("row", causes(), ids=lambda row: row.name)
def test_no_cause_is_hidden_by_those_above_it(row: CauseRow) -> None:
    assert shown_by(row)
    assert set(row.of) | set(row.when) <= set(figures())
    assert set().union(*row.when.values(), *row.of.values()) <= {"low", "in", "high", "-"}


@pytest.mark.parametrize("name", [name for name in figures() if name != "dwell"])
def test_every_figure_outside_its_band_has_a_cause(name: str) -> None:
    row = figures()[name]
    for sign in ("low", "high") if name != "residual" else ("high",):
        one = Sign(figure=name, sign=sign)
        assert all(cause_of(one, [one], worked=worked) is not None for worked in (True, False)), (row, sign)


def test_every_band_and_every_figure_of_learning_has_a_source() -> None:
    whole = table("compare")
    for row in (*whole["figures"], *whole["learning"].values()):
        assert row["source"], row


def test_a_plan_of_another_kind_is_told_and_not_held_against(tmp_path: Path, plan: dict[str, Any]) -> None:
    with opened(None, tmp_path) as archive:
        keep_record(
            archive,
            seasons.empty_record(plan),
            plan={"id": plan["id"], "plan": "aaaa-0001"},
            plan_number=None,
            source="a",
        )
        told = compared(pairs(archive))
    assert (told.count, told.planless) == (0, 0)
    assert told.unread == (Unread(job=plan["id"], what="plan"),)


def test_the_latest_revision_is_compared_with_its_own_plan(place: Place, plan: dict[str, Any]) -> None:
    record = seasons.empty_record(plan)
    later = {**plan, "plan": "bbbb-0002", "title": "another"}
    with opened(place.address, place.folder) as archive:
        keep_record(archive, record, plan=plan, plan_number=None, source="a")
        keep_record(archive, {**record, "water": {"used_m3": 1.0}}, plan=later, plan_number="bbbb-0002", source="b")
        keep_record(archive, {**record, "job": "2026-06-11/10-other", "date": "2026-06-11"}, plan=plan, plan_number=None,
                    source="c")  # fmt: skip
        both = list(pairs(archive))
        assert [(one.job, one.revision, one.number) for one in both] == [
            (plan["id"], 2, "bbbb-0002"), ("2026-06-11/10-other", 1, plan["plan"]),
        ]  # fmt: skip
        assert both[0].plan is not None
        assert both[0].plan["title"] == "another"
        since = Chosen(since=both[1].date)
        assert [one.job for one in pairs(archive, since)] == ["2026-06-11/10-other"]
        assert [one.job for one in pairs(archive, Chosen(job=plan["id"]))] == [plan["id"]]
        assert [one.job for one in pairs(archive, Chosen(days=frozenset({"2026-06-11"})))] == ["2026-06-11/10-other"]


def test_a_long_season_keeps_its_latest_jobs_one_by_one_and_counts_them_all(plan: dict[str, Any]) -> None:
    def done(number: int, record: dict[str, Any]) -> None:
        record["water"] = {"used_m3": plan["water"]["need_m3"] * (2.0 if number % 4 == 0 else 1.0)}
        record["callbacks"] = "streaks" if number % 10 == 0 else None

    many = seasons.season(plan, 2 * MOST_KEPT + 20, done, days=1)
    told = compared(iter(many))
    assert told.count == len(many)
    assert len(told.jobs) == MOST_KEPT
    assert told.jobs[-1].job == many[-1].job
    (water,) = told.season
    assert (water.count, water.outside) == (len(many), len(many) // 4)
    assert water.middle == pytest.approx(1.0)
    assert sum(day.callbacks for day in told.days) == len(many) // 10
    assert len(compared(iter(many), all_jobs=True).jobs) == len(many)
