"""A compared figure in words: the planned one as the packet has it, no band under nothing, marks as they are turned to."""

from __future__ import annotations

from typing import Any

import pytest

from planner.archive.compare.comparison import compared
from planner.archive.compare.differences import Difference, differences
from planner.contract.recordable import Beside
from planner.office.compare_words import figure_row, trend_row
from planner.units import read
from tests.archive import seasons


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return seasons.plan_of(tmp_path_factory.mktemp("words"))


def row(figure: str, planned: float, done: float, **band: float) -> Difference:
    return Difference(figure=figure, about="", run="", planned=planned, done=done, sign="in",
                      low=band.get("low"), high=band.get("high"))  # fmt: skip


def test_a_planned_reach_and_a_planned_need_are_rounded_as_on_the_packet() -> None:
    for figure, feet, said in (("jet", 41.7, "41 ft"), ("throw", 61.9, "61 ft")):
        assert figure_row(row(figure, read(f"{feet} ft", "length"), 12.0), "us", "trade")[2] == said
    assert figure_row(row("water", read("575.2 gal", "volume"), 2.0), "us", "trade")[2] == "580 gal"
    assert figure_row(row("bucket", read("9.84 gpm", "flow"), 6e-4), "us", "trade")[2] == "9.8 gpm"


def test_a_dial_is_planned_as_the_packet_has_it_and_done_to_the_hundredth() -> None:
    assert figure_row(row("dial", 2.11, 2.10), "us", "trade")[2:4] == ("2.1", "2.10")


def test_no_band_begins_under_nothing(plan: dict[str, Any]) -> None:
    side = {**plan["work"][0]}
    run = plan["runs"][0]["name"]
    small = {**plan, "procedure": None, "work": [{**side, "wet_m3": read("2.4 gal", "volume")}]}
    record = {**seasons.empty_record(plan), "sides": [seasons.side(side["surface"], run, wet_m3=0.01)]}
    (wet,) = [one for one in differences(seasons.pair(small, record)) if one.figure == "wet"]
    assert wet.planned == pytest.approx(read("2.4 gal", "volume"))
    assert wet.low == 0.0


def test_a_stock_test_is_told_in_the_companys_percent_whatever_its_mix_is_called() -> None:
    tested = Difference(figure="stock_test", about="1: hypochlorite, house: front", run="house", planned=103.4, done=103.0,
                        low=93.0, high=113.7, sign="in", beside=Beside(stock="hypochlorite"))  # fmt: skip
    assert figure_row(tested, "us", "trade")[2:4] == ("10.3 trade %", "10.3 trade %")


def test_two_mixes_of_one_name_are_compared_each_by_its_number_in_percent(plan: dict[str, Any]) -> None:
    mix = plan["mixes"][0]
    two = {**plan, "mixes": [mix, {**mix, "surfaces": ["plinth"]}]}
    done = {**dict.fromkeys(("batches", "dial", "stock_m3", "stock_kg", "mix_m3", "water_m3", "left_m3")),
            "number": 2, "lot": None, "stock_test": {"amount": 10.0, "basis": "trade", "g_per_l": 100.0}}  # fmt: skip
    record = {**seasons.empty_record(plan), "mixes": [done]}
    (tested,) = [one for one in differences(seasons.pair(two, record)) if one.figure == "stock_test"]
    assert tested.about.startswith("2: hypochlorite")
    assert figure_row(tested, "us", "trade")[3] == "10.0 trade %"


def test_a_pump_that_its_readings_do_not_tell_is_given_no_share(plan: dict[str, Any]) -> None:
    run = plan["runs"][0]
    read = seasons.reading(run["name"], bucket_m3=0.02, bucket_s=1.07 * 0.02 / run["flow_m3_per_s"])
    pair = seasons.pair(plan, {**seasons.empty_record(plan), "readings": [read]})
    (pump,) = [one for one in compared([pair]).trends if one.subject == "pump"]
    assert not pump.known
    assert trend_row(pump)[3:6] == ("", "", "not known")
