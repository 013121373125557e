"""What was done held against what was planned, and the likely cause of what lies outside."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from planner.archive.compare.causes import cause_of
from planner.archive.compare.causes import words as causes_said
from planner.archive.compare.comparison import MOST_KEPT, Unread, compared  # type: ignore[attr-defined]
from planner.archive.compare.differences import Difference, differences
from planner.archive.compare.figures import CauseRow, causes, figures
from planner.archive.compare.pairs import Chosen, Pair, pairs
from planner.archive.kept.opening import opened
from planner.archive.kept.store import keep_record
from planner.inputs.tables.rows import table
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
    assert rows["condition"].done == pytest.approx(0.6, abs=0.01)
    assert {rows[name].cause for name in ("gauge_closed", "bucket", "jet", "condition")} == {"worn_pump_sure"}


def test_a_sound_gauge_and_a_slow_bucket_are_a_blocked_line(plan: dict[str, Any]) -> None:
    read = {**seasons.as_share(plan, 1.0), "bucket_s": seasons.as_share(plan, 0.6)["bucket_s"]}
    rows = found(plan, readings=[read])
    assert rows["gauge_closed"].sign == "in"
    assert rows["bucket"].cause == "blocked"
    assert rows["condition"].done == pytest.approx(1.0, abs=0.03), "the gauge sees the pump alone, and is surer"
    assert rows["condition"].sign == "in"


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
                how = {"worked": row.worked is not False, "yard": row.yard, "held": row.held is True}
                if cause_of(one, [one, *others], **how) == row.name:
                    return True
    return False


@pytest.mark.parametrize("row", causes(), ids=lambda row: row.name)
def test_no_cause_is_hidden_by_those_above_it(row: CauseRow) -> None:
    assert shown_by(row)
    assert set(row.of) | set(row.when) <= set(figures())
    assert set().union(*row.when.values(), *row.of.values()) <= {"low", "in", "high", "-"}


def test_a_closed_gauge_behind_a_switch_is_never_the_pump(tmp_path: Path) -> None:
    """A diaphragm pump: its switch opens a little low, and all it shows with the gun open is as planned."""
    run = {"dosing": None, "pump": "transfer"}
    held = seasons.plan_of(tmp_path, {"job": {"chemicals": [], "hose_runs": {"0": run}}})
    name = held["runs"][0]["name"]
    for by, sign, cause in ((0.93, "in", None), (0.85, "low", "switch_off"), (1.15, "high", "switch_off")):
        rows = found(held, readings=[seasons.reading(name, gauge_closed_pa=by * 413685.4)])
        assert (rows["gauge_closed"].sign, rows["gauge_closed"].cause) == (sign, cause)
        assert "condition" not in rows
    slow = seasons.reading(
        name, gauge_closed_pa=413685.4, bucket_m3=0.02, bucket_s=1.2 * 0.02 / held["runs"][0]["flow_m3_per_s"]
    )
    rows = found(held, readings=[slow])
    assert rows["bucket"].cause == "pump_or_line_held"
    assert "condition" not in rows, "a bucket by itself is no pump"


@pytest.mark.parametrize(
    ("stock", "mix", "cause"),
    [
        (1.3, 1.3, "more_stock"),
        (1.3, 1.0, "mixed_stronger"),
        (1.25, 1.17, "more_stock"),
        (1.3, None, "stock_alone"),
        (0.7, 0.7, "less_stock"),
        (0.7, 1.0, "mixed_weaker"),
        (0.7, None, "less_stock_alone"),
    ],
)
def test_stock_is_called_stronger_only_where_the_mix_says_so(
    plan: dict[str, Any], stock: float, mix: float | None, cause: str
) -> None:
    one, (part,) = plan["mixes"][0], plan["mixes"][0]["parts"]
    row = {
        **dict.fromkeys(("lot", "stock_test", "dial", "stock_kg", "batches", "mix_m3", "water_m3", "left_m3")),
        "number": 1, "stock": one["stock"], "run": one["run"], "stock_m3": stock * one["stock_m3"],
    }  # fmt: skip
    sides = [seasons.side(part["surface"], one["run"], mix_m3=mix * part["mix_m3"])] if mix is not None else []
    assert found(plan, mixes=[row], sides=sides)["stock"].cause == cause
    if mix is not None:
        made = {**row, "mix_m3": mix * one["mix_m3"]}
        assert found(plan, mixes=[made])["stock"].cause == cause


@pytest.mark.parametrize(
    ("side", "cause"), [({"dwell_s": 30.0}, "short_dwelled"), ({"rinse_m3": 0.01}, "short_rinsed"), ({}, "quick")]
)
def test_a_quick_job_is_no_skimped_one_by_itself(plan: dict[str, Any], side: dict[str, float], cause: str) -> None:
    work = plan["work"][0]
    times = {"arrived_s": 30_000.0, "first_mix_s": 31_000.0, "flushed_s": 31_600.0, "left_s": 32_000.0}
    rows = found(plan, times=times, sides=[seasons.side(work["surface"], work["run"], **side)])
    assert (rows["wash"].sign, rows["wash"].cause) == ("low", cause)
    assert "fault" in causes_said()["quick"]


@pytest.mark.parametrize("name", [name for name in figures() if name != "dwell"])
def test_every_figure_outside_its_band_has_a_cause(name: str) -> None:
    row = figures()[name]
    for sign in ("low", "high") if name != "residual" else ("high",):
        one = Sign(figure=name, sign=sign)
        for worked, held in itertools.product((True, False), repeat=2):
            assert cause_of(one, [one], worked=worked, held=held) is not None, (row, sign)


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


@pytest.mark.ci
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


@pytest.mark.ci
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
