"""Stock asked about, tankfuls and jugs made, the beds wetted before any mix goes out."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from pathlib import Path
from typing import Any

import pytest

from planner.inputs.tables.defaults import default
from planner.plan.mix.model import Look
from planner.plan.procedure.acts import (
    Fill,
    Pour,
    Spray,
    Stir,
    StopPoint,
    WaterBed,
)
from planner.plan.procedure.stages import mixing, opening
from tests.plan.procedure.opened import ACID, ALONE, BLEACHED, TANKFUL, _book, _of, _open, _read, _set_up_from, _whats
from tests.workspaces import base

# ---------------------------------------------------------------------------------------------------- mixing


def test_stock_is_asked_about_by_what_is_worn_and_done_once_but_asked_each_time(tmp_path: Path) -> None:
    book = _book(tmp_path, ACID)
    _open(book)
    (mix,) = book.asked.mixes
    line = book.lines["front"]
    first = mixing.stock_stop(book, line, mix)
    second = mixing.stock_stop(book, line, mix)
    points = [one for one in _of(book.acts(), StopPoint) if one.before == "stock"]
    asked = ("gloves_goggles", "acid_gloves", "face_shield", "eyewash", "lot_read", "company")
    assert [(one.number, one.asks) for one in points] == [(first, asked), (second, asked)]
    done = _whats(book.acts())
    assert [done.count(what) for what in asked] == [1, 1, 1, 1, 2, 1]


def test_alone_the_office_knows_in_place_of_company(tmp_path: Path) -> None:
    book = _book(tmp_path, BLEACHED, ALONE)
    line = book.lines["front"]
    mixing.stock_stop(book, line, book.asked.mixes[0])
    (point,) = _of(book.acts(), StopPoint)
    assert point.asks == ("gloves_goggles", "eyewash", "lot_read", "office_knows")


def test_a_tankful_is_water_then_stock_then_soap_then_stirred(tmp_path: Path) -> None:
    soap = {"stock": {"lots": [*base()["stock"]["lots"], {"name": "suds", "chemical": "soap", "on_hand": "2 gal"}]},
            "job": {"chemicals": [{"stock": "drum", "strength": "1 %"}, {"stock": "suds", "dose": "1 fl oz/gal"}]}}  # fmt: skip
    book = _book(tmp_path, TANKFUL, soap)
    (mix,) = book.asked.mixes
    line = book.lines["front"]
    stop = mixing.stock_stop(book, line, mix)
    mixing.batch(book, line, mix, 1)
    acts = [act for act in book.acts() if isinstance(act.detail, Fill | Pour | Stir)]
    assert [type(act.detail) for act in acts] == [Fill, Pour, Pour, Stir]
    pours = [act.detail for act in acts if isinstance(act.detail, Pour)]
    assert [(one.lot, one.order) for one in pours] == [("drum", 2), ("suds", 3)]
    assert {act.stop_point for act in acts if isinstance(act.detail, Pour)} == {stop}
    tankful = mix.batches[0]
    whole = sum(getattr(act.detail, "volume", 0.0) for act in acts)
    assert whole + tankful.heel == pytest.approx(tankful.mix, rel=1e-9)


def test_a_panels_jug_is_neat_and_an_injectors_is_thinned_with_water_first(tmp_path: Path) -> None:
    book = _book(tmp_path, BLEACHED)
    (mix,) = book.asked.mixes
    mixing.jug(book, book.lines["front"], mix, mix.pours[0], 0.001)
    (pour,) = _of(book.acts(), Pour)
    assert (pour.into, pour.volume, pour.order) == ("jug front", pytest.approx(0.0015), 1)
    injector = {"job": {"hose_runs": {0: {"dosing": "venturi", "pump": "washer", "tip": "fan", "target": "6 ft"}},
                        "chemicals": [{"stock": "drum", "strength": "0.5 %"}]}}  # fmt: skip
    book = _book(tmp_path, BLEACHED, injector)
    (mix,) = book.asked.mixes
    share = mix.pours[0]
    mixing.jug(book, book.lines["front"], mix, share, 0.004)
    acts = [act.detail for act in book.acts() if isinstance(act.detail, Fill | Pour | Stir)]
    assert [type(one) for one in acts] == [Fill, Pour, Stir]
    water, stock = acts[0], acts[1]
    assert isinstance(water, Fill)
    assert isinstance(stock, Pour)
    assert stock.volume == pytest.approx((share.jug_stock or 0.0) * 0.004 * default("drawn_over"))
    assert water.volume + (stock.volume or 0.0) == pytest.approx(0.004 * default("drawn_over"))


def test_a_jug_that_should_be_all_stock_is_neat(tmp_path: Path) -> None:
    injector = {"job": {"hose_runs": {0: {"dosing": "venturi", "pump": "washer", "tip": "fan", "target": "6 ft"}}}}
    book = _book(tmp_path, BLEACHED, injector)
    (mix,) = book.asked.mixes
    mixing.jug(book, book.lines["front"], mix, replace(mix.pours[0], jug_stock=1.0), 0.004)
    (stock,) = [act.detail for act in book.acts() if isinstance(act.detail, Fill | Pour)]
    assert isinstance(stock, Pour)
    assert (stock.volume, stock.order) == (pytest.approx(0.004 * default("drawn_over")), 1)


@pytest.mark.parametrize("crew", [{}, ALONE])
def test_mix_is_asked_about_after_the_beds_are_wet_and_every_cover_is_on(tmp_path: Path, crew: dict[str, Any]) -> None:
    book = _book(tmp_path, BLEACHED, crew)
    _open(book)
    number = mixing.before_mix(book, book.lines["front"])
    acts = book.acts()
    point = next(act for act in acts if isinstance(act.detail, StopPoint) and act.detail.before == "mix")
    assert isinstance(point.detail, StopPoint)
    assert point.detail.asks == (
        "vents_shut", "people_clear", "beds_wet", "wind", "drains_covered", "downspouts_bagged",
    )  # fmt: skip
    (bed,) = [act for act in acts if isinstance(act.detail, WaterBed)]
    assert bed.end <= point.start + 1e-9
    assert book.lines["front"].mix_stop == number
    assert point.at == ("rig" if crew else "wall")


def test_two_never_take_the_tap_at_once(tmp_path: Path) -> None:
    short = {"company": {"minutes": {"set_up": "1 min", "set_up_acid": "1 min"}}}
    acts = _open(_book(tmp_path, ACID, short, {"job": {"near": {"flower_beds": "3000 ft2"}}}))
    times = sorted((act.start, act.end) for act in acts if isinstance(act.detail, Fill | WaterBed))
    assert len(times) == 2
    assert times[0][1] <= times[1][0] + 1e-9


def test_wind_stops_sooner_where_the_mix_is_strong(tmp_path: Path) -> None:
    def limit(strength: str) -> float:
        book = _book(
            tmp_path, TANKFUL, {"job": {"chemicals": [{"stock": "drum", "strength": strength, "reason": "lichen"}]}}
        )
        mixing.before_mix(book, book.lines["front"])
        found = _read(book.acts(), "wind").expect
        assert found is not None
        return found.high

    assert limit("4 %") < limit("1 %")


def test_the_lead_waits_for_the_beds_before_mix_is_asked_about(tmp_path: Path) -> None:
    book = _book(tmp_path, BLEACHED, {"job": {"near": {"flower_beds": "3000 ft2"}}})
    bed = opening.water_beds(book)
    mixing.before_mix(book, book.lines["front"])
    point = next(act for act in book.acts() if isinstance(act.detail, StopPoint))
    assert bed is not None
    assert point.start == pytest.approx(bed.end)
    assert point.after == tuple(act.id for act in book.acts() if isinstance(act.detail, WaterBed))


def test_beds_are_first_watered_when_the_rig_is_set_up_and_once(tmp_path: Path) -> None:
    book = _book(tmp_path, BLEACHED, {"company": {"minutes": {"walk": "60 min"}}})
    acts = _open(book)
    (bed,) = [act for act in acts if isinstance(act.detail, WaterBed)]
    assert bed.start == pytest.approx(_set_up_from(acts))
    assert opening.water_beds(book) is not None
    assert len(_of(book.acts(), WaterBed)) == 1


def test_a_tank_the_page_speaks_of_has_a_strip_read_in_it_and_is_not_called_empty(tmp_path: Path) -> None:
    book = _book(tmp_path, TANKFUL)
    book.asked = replace(book.asked, looks=(Look(what="gainsaid", place="mix", chemical="muriatic"),))
    acts = _open(book)
    assert _read(acts, "strip_ph").why == "mix.heel"
    assert "dry mix" not in _whats(acts)


def test_what_may_stand_in_a_tank_is_read_on_the_stick_and_then_looked_into(tmp_path: Path) -> None:
    book = _book(tmp_path, TANKFUL, {"day": {"heels": None}})
    book.asked = replace(book.asked, looks=(Look(what="stick", place="mix", chemical="hypochlorite", volume=0.02),))
    acts = _open(book)
    dip = _read(acts, "dip")
    assert dip.expect is not None
    assert (dip.expect.low, dip.why) == (0.0, "mix.heel")
    assert "dry mix" in _whats(acts)


def test_a_line_bleach_may_be_left_in_is_read_once_water_went_through_it(tmp_path: Path) -> None:
    book = _book(tmp_path)
    book.asked = replace(book.asked, looks=(Look(what="chlorine", place="front"),))
    acts = _open(book)
    strip = _read(acts, "strip_chlorine")
    assert strip.start >= max(act.end for act in acts if isinstance(act.detail, Spray))


def test_a_pump_of_which_nobody_knows_bears_a_shut_gun_as_long_as_the_company_says(tmp_path: Path) -> None:
    book = _book(tmp_path, {"company": {"limits": {"shut_off_unknown": "1 min"}}})
    line = book.lines["front"]
    line.plan = replace(line.plan, shut_off=None)
    assert line.allowed == pytest.approx(60.0)


@pytest.mark.parametrize(
    ("limit", "heats", "change", "most"),
    [
        ("2 min", 600.0, {}, 120.0),
        ("1 min", 600.0, {}, 60.0),
        ("2 min", 70.0, {}, 70.0),
        ("2 min", 70.0, {"rig": {"pumps": {0: {"bypass": "yes"}}}}, 120.0),
        # Alone: 150 ft at 50 ft/min, and the switch; what the pump bears is the end of it.
        ("2 min", 600.0, {"rig": {"hoses": {0: {"length": "150 ft"}}}, "day": {"crew": "1"}}, 185.0),
        ("2 min", 150.0, {"rig": {"hoses": {0: {"length": "150 ft"}}}, "day": {"crew": "1"}}, 150.0),
        ("2 min", 600.0, {"rig": {"hoses": {0: {"length": "50 ft"}}}, "day": {"crew": "1"}}, 120.0),
        ("2 min", 600.0, {"job": {"hose_runs": {0: {"pump": "transfer"}}}}, inf),
    ],
)  # fmt: skip
def test_a_gun_is_shut_no_longer_than_paper_says_or_somebody_alone_walks(
    tmp_path: Path, limit: str, heats: float, change: dict[str, Any], most: float
) -> None:
    line = _book(tmp_path, {"company": {"limits": {"shut_off_on_paper": limit}}}, change).lines["front"]
    if line.plan.shut_off is not None:
        line.plan = replace(line.plan, shut_off=replace(line.plan.shut_off, seconds=heats))
    assert line.allowed == pytest.approx(most)
