"""What measured throws say: a throw along the ground is held against its plan, jets at the wall narrow the reach band."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from math import floor, sqrt
from typing import Any

import pytest

from planner.archive.compare.comparison import compared
from planner.archive.compare.differences import Difference, differences
from planner.archive.compare.learn import Correction, Known, corrections, learned_text
from planner.archive.compare.wear import LEAST_RISE, jet_of_model, value_at, wear_of
from planner.inputs.models import Learned
from planner.inputs.models.learned import LEAST_JET
from planner.inputs.reading.tree import parse_tree
from planner.inputs.tables.whole import limit_rows
from tests.archive import seasons

TIP = ("Case", "long throw")
KNOWN = Known(pumps=(), kinds=(), lots=(), tips={TIP})
LEAST, MOST = limit_rows()["reach_low_factor"].value, limit_rows()["reach_recorded_factor"].value


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return seasons.plan_of(tmp_path_factory.mktemp("jets"))


def jet(plan: dict[str, Any], ratio: float, share: float = 1.0) -> float:
    """A jet at the wall that comes to `ratio` of the model's, the pump at one of the shares it was kept at."""
    wear = plan["runs"][0]["wear"]
    thrown = float(seasons.as_share(plan, share)["jet_m"])
    return float(wear["tip_m"]) + ratio * (thrown - float(wear["tip_m"]))


def measured(plan: dict[str, Any], ratios: Sequence[float], **also: float | None) -> list[Any]:
    """A season of jets at the wall, each at its ratio of the model's, the gauge saying that the pump is sound."""
    run = plan["runs"][0]["name"]
    also = {"gauge_closed_pa": seasons.as_share(plan, 1.0)["gauge_closed_pa"]} | also

    def done(number: int, record: dict[str, Any]) -> None:
        record["readings"] = [seasons.reading(run, jet_m=jet(plan, ratios[number]), **also)]

    return seasons.season(plan, len(ratios), done)


def learned_low(plan: dict[str, Any], ratios: Sequence[float]) -> Correction | None:
    found = corrections(compared(measured(plan, ratios)).trends, KNOWN)
    assert len(found) <= 1
    return found[0] if found else None


def low(plan: dict[str, Any], ratios: Sequence[float]) -> float:
    one = learned_low(plan, ratios)
    assert one is not None
    return one.value


def rows_of(plan: dict[str, Any], *readings: dict[str, Any]) -> dict[str, Difference]:
    record = {**seasons.empty_record(plan), "readings": list(readings)}
    return {row.figure: row for row in differences(seasons.pair(plan, record))}


# ------------------------------------------------------------------------------------- along the ground


def ground(plan: dict[str, Any], share: float) -> float:
    points = plan["runs"][0]["wear"]["points"]
    found = value_at([(point["share"], point["ground_m"]) for point in points], share)
    assert found is not None
    return found


def test_a_throw_as_planned_is_as_planned_and_a_short_one_is_called_low(plan: dict[str, Any]) -> None:
    name = plan["runs"][0]["name"]
    row = rows_of(plan, seasons.reading(name, throw_m=ground(plan, 1.0)))["throw"]
    assert (row.sign, row.planned) == ("in", pytest.approx(ground(plan, 1.0)))
    low_row = rows_of(plan, seasons.reading(name, throw_m=0.8 * ground(plan, 1.0)))["throw"]
    assert (low_row.sign, low_row.cause) == ("low", "pump_or_line")
    sure = rows_of(plan, {**seasons.as_share(plan, 0.6), "throw_m": 0.8 * ground(plan, 1.0)})
    assert sure["throw"].cause == "worn_pump_sure"
    aimed = rows_of(plan, {**seasons.as_share(plan, 1.0), "throw_m": 0.8 * ground(plan, 1.0)})
    assert aimed["throw"].cause == "tip_or_aim"


def test_a_throw_or_a_jet_alone_tells_no_pump_and_a_gauge_does_beside_it(plan: dict[str, Any]) -> None:
    run = plan["runs"][0]
    closed = seasons.as_share(plan, 0.75)["gauge_closed_pa"]
    for read in ({"throw_m": ground(plan, 0.8)}, {"jet_m": jet(plan, 1.0, 0.9)}):
        alone = wear_of(run, seasons.reading(run["name"], **read))
        assert alone is not None
        assert alone.share is None
        both = wear_of(run, seasons.reading(run["name"], gauge_closed_pa=closed, **read))
        assert both is not None
        assert both.share == pytest.approx(0.75, abs=0.02)


def test_plans_kept_before_throws_were_planned_are_compared_without_them(plan: dict[str, Any]) -> None:
    older = json.loads(json.dumps(plan))
    run = older["runs"][0]
    del run["tip"], run["wear"]["tip_m"]
    for point in run["wear"]["points"]:
        del point["ground_m"]
    rows = rows_of(older, seasons.reading(run["name"], throw_m=12.0, jet_m=jet(plan, 1.0)))
    assert (rows["throw"].planned, rows["throw"].sign) == (None, None)
    assert rows["jet"].sign == "in"
    assert [one.subject for one in compared(measured(plan, [1.0])).trends] == ["pump", "tip"]
    season = [replace(one, plan=older) for one in measured(plan, [1.0] * 4)]
    assert [one.subject for one in compared(season).trends] == ["pump"]


# ------------------------------------------------------------------------------------------- at the wall


def test_a_jet_is_held_against_the_model_with_the_pump_as_it_was_that_day(plan: dict[str, Any]) -> None:
    run = plan["runs"][0]
    worn = seasons.as_share(plan, 0.75)
    read = seasons.reading(run["name"], jet_m=jet(plan, 0.95, 0.75), gauge_closed_pa=worn["gauge_closed_pa"])
    assert jet_of_model(run, read) == pytest.approx(0.95, abs=0.005), "a worn pump is not the model's error"
    by_bucket = {**read, "gauge_closed_pa": None, "bucket_m3": worn["bucket_m3"], "bucket_s": worn["bucket_s"]}
    told = jet_of_model(run, by_bucket)
    assert told is not None
    assert 0.85 < told < 0.96, "what line and tip may take of it lies on the low side"
    unread = {**read, "gauge_closed_pa": None}
    above = jet(plan, 0.95, 0.75) - run["wear"]["tip_m"]
    assert jet_of_model(run, unread) == pytest.approx(above / (jet(plan, 1.0) - run["wear"]["tip_m"]))


def test_a_jet_from_another_place_or_one_that_hardly_rises_says_nothing_of_the_model(plan: dict[str, Any]) -> None:
    run = plan["runs"][0]
    read = seasons.reading(run["name"], jet_m=jet(plan, 1.0), standoff_m=2.0 * run["wear"]["standoff_m"])
    assert jet_of_model(run, read) is None
    flat = json.loads(json.dumps(run))
    flat["wear"]["tip_m"] = jet(plan, 1.0) - 0.9 * LEAST_RISE
    assert jet_of_model(flat, seasons.reading(run["name"], jet_m=jet(plan, 1.0))) is None


def test_jets_as_the_model_has_them_narrow_the_band_to_what_records_may(plan: dict[str, Any]) -> None:
    one = learned_low(plan, [1.0, 1.01, 0.99, 1.0, 1.0])
    assert one is not None
    assert (one.kind, one.about, one.key, one.value, one.records) == ("jets", TIP, "low", MOST, 5)
    assert low(plan, [1.2] * 5) == MOST, "a jet higher than the model's is no promise"


def test_too_few_jets_narrow_nothing(plan: dict[str, Any]) -> None:
    assert learned_low(plan, [1.0] * 4) is None


def test_a_jet_alone_tells_of_the_pump_and_is_not_told_of_the_tip_too(plan: dict[str, Any]) -> None:
    found = compared(measured(plan, [0.9] * 6, gauge_closed_pa=None)).trends
    assert [one.subject for one in found] == ["pump"]


@pytest.mark.parametrize("wild", [1.1, 1.45, 3.0])
def test_one_jet_that_is_wildly_high_promises_nothing(plan: dict[str, Any], wild: float) -> None:
    assert low(plan, [1.0, 1.0, wild, 1.0, 1.0, 1.0]) == low(plan, [1.0] * 5)
    assert low(plan, [0.87, 0.86, wild, 0.88, 0.87, 0.86]) == low(plan, [0.87, 0.86, 0.88, 0.87, 0.86]) == 0.8


@pytest.mark.parametrize(("wild", "left"), [(0.1, LEAST), (0.55, LEAST), (0.84, LEAST), (0.9, 0.9)])
def test_no_jet_that_was_measured_lies_under_the_band(plan: dict[str, Any], wild: float, left: float) -> None:
    assert low(plan, [1.0, 1.0, wild, 1.0, 1.0, 1.0, 1.0, 1.0]) == left


def test_a_low_throwing_tip_is_planned_as_low_as_its_jets_were(plan: dict[str, Any]) -> None:
    assert low(plan, [0.9] * 5) == 0.83, "0.9 x 0.93, down to the hundredth: lower than a tip nobody measured"
    assert low(plan, [0.96] * 5) == 0.89, "0.96 x 0.93, down to the hundredth"
    assert low(plan, [0.61] * 6) == 0.56
    assert low(plan, [0.1] * 6) == LEAST_JET, "no jet any more: the pump or the tip is wrong, and compare says so"


def test_two_low_jets_widen_the_band_and_one_does_not(plan: dict[str, Any]) -> None:
    assert low(plan, [1.0, 1.0, 0.7, 1.0, 1.0, 1.0]) == LEAST
    assert low(plan, [1.0, 1.0, 0.7, 1.0, 0.72, 1.0]) == 0.72


def test_jets_that_scatter_by_more_than_the_band_do_not_narrow_it_so_far(plan: dict[str, Any]) -> None:
    assert low(plan, [0.9, 1.1, 1.0, 0.8, 1.2]) == LEAST
    scattered = low(plan, [1.0, 0.96, 1.04, 1.0, 0.96, 1.04])
    assert scattered == floor((1 - 2 * 1.4826 * 0.04 * sqrt(1 + 1 / 6)) * 100) / 100 == 0.87


def test_a_tip_that_throws_lower_from_job_to_job_is_taken_where_it_has_got_to(plan: dict[str, Any]) -> None:
    falling = [1.0 - 0.008 * number for number in range(15)]
    one = learned_low(plan, falling)
    assert one is not None
    assert one.raw == pytest.approx(falling[-1], abs=0.01)
    assert one.value < LEAST < falling[-1], "0.888 and falling: its own band, not that of a tip nobody measured"


def test_a_throw_along_the_ground_alone_narrows_nothing(plan: dict[str, Any]) -> None:
    run = plan["runs"][0]["name"]

    def done(_: int, record: dict[str, Any]) -> None:
        record["readings"] = [seasons.reading(run, throw_m=ground(plan, 1.0))]

    found = compared(seasons.season(plan, 6, done))
    assert [one.subject for one in found.trends] == ["pump"]
    assert corrections(found.trends, KNOWN) == []


def test_two_runs_with_one_tip_on_one_day_are_one_look_the_lower(plan: dict[str, Any]) -> None:
    twice = json.loads(json.dumps(plan))
    twice["runs"].append({**twice["runs"][0], "name": "back"})
    first, sound = twice["runs"][0]["name"], seasons.as_share(plan, 1.0)["gauge_closed_pa"]

    def done(_: int, record: dict[str, Any]) -> None:
        record["readings"] = [
            seasons.reading(first, jet_m=jet(plan, 1.0), gauge_closed_pa=sound),
            seasons.reading("back", jet_m=jet(plan, 0.95), gauge_closed_pa=sound),
        ]  # fmt: skip

    (tip,) = [one for one in compared(seasons.season(twice, 4, done)).trends if one.subject == "tip"]
    assert (tip.count, tip.middle) == (4, pytest.approx(0.95))


def test_a_tip_that_is_gone_or_a_company_with_a_limit_of_its_own_is_not_learned_for(plan: dict[str, Any]) -> None:
    found = compared(measured(plan, [1.0] * 5)).trends
    assert corrections(found, Known(pumps=(), kinds=(), lots=(), tips={("Other", "long throw")})) == []
    assert corrections(found, Known(pumps=(), kinds=(), lots=(), tips={TIP}, own_reach=True)) == []


def test_what_is_learned_of_jets_reads_back_as_it_was(plan: dict[str, Any]) -> None:
    found = corrections(compared(measured(plan, [1.0] * 5)).trends, KNOWN)
    text = learned_text(found)
    tree = parse_tree(text.encode(), "learned.yaml")
    assert tree.root is not None
    assert not tree.faults
    read = Learned.model_validate(tree.root.plain()).jets["Case"]["long throw"]
    assert (read.low, read.records, read.through) == (MOST, 5, found[0].through)
