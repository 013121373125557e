"""The opening of a job and its mixing as acts: what is done, in which order, by whom, and what each reading shows."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from planner.plan.procedure.acts import (
    Drain,
    DrawFrom,
    Fill,
    Mark,
    Parting,
    Power,
    Prime,
    SetDosing,
    Spray,
    StopPoint,
    Tap,
)
from planner.plan.procedure.book import PAIL
from planner.plan.procedure.stages import mixing, opening
from tests.plan.procedure.asked import book_of
from tests.plan.procedure.opened import (
    ACID,
    ALONE,
    BLEACHED,
    GALLON,
    TANKFUL,
    _book,
    _of,
    _open,
    _read,
    _set_up_from,
    _whats,
)
from tests.workspaces import base, loaded, merged


def test_covers_are_what_the_job_has_near_and_a_kind_of_control_is_one_too(tmp_path: Path) -> None:
    book = _book(tmp_path, BLEACHED)
    opening.arrive(book)
    # What is built against runoff beside the drain cover is a part of covering the drains, and takes its own minutes.
    assert book.covered == ["drains_covered", "downspouts_bagged"]
    drains = next(act for act in book.acts() if act.detail == Mark(verb="cover", what="drains_covered"))
    assert drains.lasts == pytest.approx(2.0 * book.minutes["drains_covered"])
    assert "vents_shut" in _whats(book.acts())


def test_without_a_mix_no_vent_is_shut_and_nothing_covered_but_the_drain(tmp_path: Path) -> None:
    book = _book(tmp_path, {"job": {"near": {"storm_drain": "40 ft", "downspouts": "2"}}})
    opening.arrive(book)
    assert book.covered == ["drains_covered"]
    assert "vents_shut" not in _whats(book.acts())


def test_the_walk_round_fills_the_walks_minutes(tmp_path: Path) -> None:
    book = _book(tmp_path, {"company": {"minutes": {"walk": "40 min"}}})
    opening.arrive(book)
    assert book.lead.now == pytest.approx(2400.0)


def test_alone_nobody_does_two_things_at_once(tmp_path: Path) -> None:
    acts = _open(_book(tmp_path, BLEACHED, ALONE))
    assert {act.who for act in acts} == {"lead"}
    assert all(one.end == pytest.approx(other.start) for one, other in pairwise(acts))


def test_set_up_and_test_last_the_tables_minutes(tmp_path: Path) -> None:
    book = _book(tmp_path, BLEACHED)
    acts = _open(book)
    assert book.lead.now - _set_up_from(acts) == pytest.approx(1200.0)


def test_a_longer_set_up_is_longer_laying_out_and_never_less_than_its_own_minutes(tmp_path: Path) -> None:
    def laid(minutes: str) -> float:
        acts = _open(_book(tmp_path, BLEACHED, {"company": {"minutes": {"set_up": minutes}}}))
        return next(act.lasts for act in acts if act.detail == Mark(verb="lay_out", what="hoses"))

    assert laid("40 min") - laid("30 min") == pytest.approx(600.0)
    assert laid("1 min") == pytest.approx(300.0)


def test_a_line_is_primed_and_asked_about_before_its_pump_has_power_and_ends_shut(tmp_path: Path) -> None:
    book = _book(tmp_path, BLEACHED)
    acts = _open(book)
    line = book.lines["front"]
    kinds = [type(act.detail) for act in acts]
    assert (
        kinds.index(SetDosing) < kinds.index(Prime) < kinds.index(StopPoint) < kinds.index(Power) < kinds.index(Spray)
    )
    point = next(act for act in acts if isinstance(act.detail, StopPoint))
    assert point.detail.asks == ("primed", "gun front")
    first = next(act for act in acts if isinstance(act.detail, Power))
    assert (first.stop_point, first.start) == (1, pytest.approx(point.end))
    assert (line.joined, line.tested, line.on, line.open, line.feed) == (True, True, False, False, "water")


def test_a_mains_motor_has_its_breaker_tried(tmp_path: Path) -> None:
    motor = {"rig": {"pumps": {0: {"motor": {"power": "0.75 hp", "volts": "115"}}}}}
    acts = _open(_book(tmp_path, motor))
    (point,) = _of(acts, StopPoint)
    assert point.asks == ("breaker front", "primed", "gun front")
    battery = {"rig": {"pumps": {0: {"motor": {"amps": "9 A", "volts": "12"}}}}}
    assert "breaker front" not in _whats(_open(_book(tmp_path, battery)))


def test_a_test_fills_the_line_holds_the_jet_up_and_times_the_largest_bucket_of_a_minute(tmp_path: Path) -> None:
    book = _book(tmp_path, BLEACHED)
    acts = _open(book)
    line = book.lines["front"]
    sprays = _of(acts, Spray)
    assert [(one.onto, one.use) for one in sprays] == [("ground", "line"), ("ground", "test"), ("bucket", "test")]
    assert sprays[0].volume == pytest.approx(line.volume)
    assert sprays[1].seconds == pytest.approx(5.0)
    assert sprays[2].volume == pytest.approx(5 * GALLON)
    read = _read(acts, "throw")
    assert not isinstance(read.detail, Spray), "the gun is shut while it is written down"
    throw = read.expect
    assert throw is not None
    assert throw.low == pytest.approx(20 * 0.3048)
    bucket = _read(acts, "bucket").expect
    assert bucket is not None
    assert (bucket.low, bucket.value, bucket.high) == pytest.approx(
        [5 * GALLON / line.flow * share for share in (0.92, 1.0, 1.08)]
    )


@pytest.mark.parametrize(("units", "litres"), [("us", 2 * 3.785411784), ("si", 10.0)])
def test_a_slow_line_is_timed_with_a_smaller_bucket_of_the_companys_own(
    tmp_path: Path, units: str, litres: float
) -> None:
    slow = {"company": {"units": units}, "rig": {"tips": {1: {"flow": "2.5 gpm", "at": "40 psi"}}},
            "job": {"hose_runs": {0: {"tip": "fan", "target": "6 ft"}}}}  # fmt: skip
    sprays = _of(_open(_book(tmp_path, slow)), Spray)
    assert sprays[-1].volume == pytest.approx(litres * 1e-3)
    assert [one.onto for one in sprays] == ["ground", "bucket"], "no height is asked below ten feet"


def test_a_surface_cleaner_has_no_bucket_held_under_it(tmp_path: Path) -> None:
    cleaner = {"rig": {"tips": {1: {"pattern": "surface_cleaner", "flow": "5 gpm", "at": "2000 psi"}}},
               "job": {"surfaces": [{"name": "drive", "kind": "concrete", "area": "500 ft2"}],
                       "hose_runs": {0: {"tip": "fan", "pump": "washer", "target": "0 ft"}}}}  # fmt: skip
    acts = _open(_book(tmp_path, cleaner))
    assert [one.onto for one in _of(acts, Spray)] == ["ground"]
    assert not _of(acts, Drain)


def test_the_second_reads_the_gauge_and_alone_it_is_read_where_the_pump_bears_the_walk(tmp_path: Path) -> None:
    two = _open(_book(tmp_path))
    assert _read(two, "gauge_closed").who == "second"
    assert _read(two, "gauge_open").detail.onto == "ground"
    far = {"rig": {"hoses": {0: {"length": "400 ft"}}}, "job": {"hose_runs": {0: {"tip": "fan", "target": "6 ft"}}}}
    alone = _open(_book(tmp_path, far, ALONE))
    assert not [act for act in alone if act.expect is not None and act.expect.what.startswith("gauge")]


TAP = {"job": {"hose_runs": {0: {"pump": None, "feed": "tap"}}}}


def test_water_alone_is_not_tried_for_height(tmp_path: Path) -> None:
    acts = _open(_book(tmp_path))
    assert [(one.onto, one.use) for one in _of(acts, Spray)] == [("ground", "line"), ("bucket", "test")]
    assert not [act for act in acts if act.expect is not None and act.expect.what == "throw"]


@pytest.mark.parametrize("crew", [{}, ALONE])
def test_straight_from_the_tap_nothing_is_primed_and_the_tap_opens_past_its_stop_point(
    tmp_path: Path, crew: dict[str, Any]
) -> None:
    acts = _open(_book(tmp_path, TAP, crew))
    assert not [act for act in acts if isinstance(act.detail, Prime | Power)]
    assert [one.feed for one in _of(acts, DrawFrom)] == ["tap"]
    (point,) = _of(acts, StopPoint)
    assert (point.before, point.asks) == ("power", ("people_clear", "gun front"))
    (opened,) = [act for act in acts if isinstance(act.detail, Tap)]
    assert (opened.detail.on, opened.stop_point) == (True, point.number)
    assert opened.end <= next(act for act in acts if isinstance(act.detail, Spray)).start
    # No gauge hangs on a house's tap: a bucket says what comes.
    assert {act.expect.what for act in acts if act.expect is not None} == {"bucket"}


@pytest.mark.parametrize("pump", [None, "booster"])
def test_a_tap_feeds_the_line_so_nobody_looks_into_the_rigs_tank(tmp_path: Path, pump: str | None) -> None:
    tap = {"rig": {"tanks": {0: {"holds": None}}}, "job": {"hose_runs": {0: {"pump": pump, "feed": "tap"}}}}
    assert not [what for what in _whats(_open(_book(tmp_path, tap))) if what.startswith("dry ")]


def test_a_tankfuls_line_is_tried_with_the_rigs_water_and_its_heel_is_read(tmp_path: Path) -> None:
    acts = _open(_book(tmp_path, TANKFUL))
    assert [one.feed for one in _of(acts, DrawFrom)] == ["water"]
    dip = _read(acts, "dip").expect
    assert dip is not None
    assert dip.value == pytest.approx(2 * GALLON / (3.141592653589793 / 4 * (24 * 0.0254) ** 2), rel=0.02)


def test_a_pump_that_gets_to_its_mix_tank_alone_is_tried_from_that_only_if_it_is_empty(tmp_path: Path) -> None:
    only = {"rig": {"pumps": {2: {"draws": ["mix"]}}}}
    held = _open(_book(tmp_path, TANKFUL, only))
    assert not [act for act in held if isinstance(act.detail, DrawFrom | Spray | Power)]
    book = _book(tmp_path, TANKFUL, only, {"day": {"heels": None}})
    acts = _open(book)
    assert [one.feed for one in _of(acts, DrawFrom)] == ["mix"]
    (mix,) = book.asked.mixes
    line = book.lines["front"]
    mixing.stock_stop(book, line, mix)
    mixing.batch(book, line, mix, 1)
    drawn = sum(one.volume for one in _of(acts, Spray))
    filled = sum(one.volume for one in _of(book.acts(), Fill))
    assert filled - drawn == pytest.approx(mix.batches[0].water, rel=1e-12)


def test_a_suction_that_stood_in_acid_is_tried_from_a_pail_that_is_emptied(tmp_path: Path) -> None:
    book = _book(tmp_path, ACID)
    acts = _open(book)
    (pail,) = _of(acts, Fill)
    assert (pail.into, [one.feed for one in _of(acts, DrawFrom)]) == ("pail 1", ["pail 1"])
    assert pail.volume <= PAIL * (1 + 1e-12)
    drained = sum(one.volume for one in _of(acts, Drain) if one.source == "pail 1")
    assert drained == pytest.approx(pail.volume - sum(one.volume for one in _of(acts, Spray)))
    assert drained > 0.0


def test_a_long_line_takes_its_pail_more_than_once_and_never_over_its_brim(tmp_path: Path) -> None:
    acts = _open(_book(tmp_path, ACID, {"rig": {"hoses": {0: {"length": "300 ft"}}}}))
    stands, highest = 0.0, 0.0
    for detail in (act.detail for act in acts):
        if isinstance(detail, Fill):
            stands += detail.volume
        elif isinstance(detail, Spray) or (isinstance(detail, Drain) and detail.source == "pail 1"):
            stands -= detail.volume
        highest = max(highest, stands)
        assert stands >= -1e-12
    assert len(_of(acts, Fill)) > 1
    assert highest <= PAIL * (1 + 1e-12)
    assert stands == pytest.approx(0.0, abs=1e-12)


def test_a_tank_of_which_nothing_is_known_is_looked_into_before_anything_is_filled(tmp_path: Path) -> None:
    acts = _open(_book(tmp_path, ACID))
    assert _whats(acts).index("dry mix") < _whats(acts).index("hoses")


def test_a_line_that_joins_again_is_primed_and_asked_about_but_not_tried(tmp_path: Path) -> None:
    book = _book(tmp_path, BLEACHED)
    _open(book)
    line = book.lines["front"]
    sprays = len(_of(book.acts(), Spray))
    opening.take_off(book, line)
    assert _of(book.acts(), Parting)
    assert (line.joined, line.primed, line.power_stop) == (False, False, None)
    opening.set_up(book, line)
    assert (line.joined, line.power_stop) == (True, 2)
    assert len(_of(book.acts(), Spray)) == sprays


def test_two_guns_of_one_pump_are_open_at_once_by_two_people(tmp_path: Path) -> None:
    run = {"pump": "booster", "feed": "water", "tip": "fan", "target": "6 ft"}
    files = merged(base(), {"rig": {"hoses": [{"name": name, "bore": "3/4 in", "length": length, "rated": "200 psi"}
                                             for name, length in (("red", "60 ft"), ("blue", "50 ft"))]}})  # fmt: skip
    files["job"]["hose_runs"] = [
        {"name": "front", **run, "hoses": ["red"], "same_time": ["back"], "share": "50 %"},
        {"name": "back", **run, "hoses": ["blue"], "same_time": ["front"], "share": "50 %"},
    ]
    read = loaded(tmp_path, files)
    assert not read.faults, "\n".join(map(str, read.faults))
    book = book_of(read.jobs[0])
    opening.arrive(book)
    lines = list(book.lines.values())
    opening.before_work(book, lines)
    for line in lines:
        opening.set_up(book, line)
    one, other = [act for act in book.acts() if isinstance(act.detail, Spray)]
    assert {one.who, other.who} == {"lead", "second"}
    assert one.end == pytest.approx(other.end)
    assert [act.detail.on for act in book.acts() if isinstance(act.detail, Power)] == [True, False]
    for act in (one, other):
        assert isinstance(act.detail, Spray)
        assert act.detail.volume >= book.lines[act.detail.run].volume * (1 - 1e-12)
    assert all(line.tested for line in lines)
