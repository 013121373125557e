"""Boxes as crews fill them on a tablet: what can be meant one way is read, the rest is a fault that says what to write."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from planner.inputs.models import Forecast, Job, YardJob
from planner.inputs.models.quantities import Rain
from planner.inputs.models.record import (
    FlushDone,
    LotDone,
    MixDone,
    PumpWork,
    ReadingsDone,
    SideDone,
    TimesDone,
    WaterDone,
)
from planner.inputs.reading.handwriting import is_blank, read_bucket_text, read_gauge, read_time, read_volume, with_unit
from planner.units import Unreadable, read


@pytest.mark.parametrize("reader", [read_bucket_text, read_gauge, read_time, read_volume])
@pytest.mark.parametrize("text", ["9" * 200_000, "9," * 100_000, "5 gal in " + "9" * 200_000 + " s"])
def test_what_is_far_too_long_is_told_at_once(reader: Any, text: str) -> None:
    with pytest.raises(Unreadable, match="characters long"):
        reader(text)


def value(model: Any, key: str, text: str) -> Any:
    return getattr(model.model_validate({key: text}), key)


def slip(model: Any, key: str, text: str) -> tuple[str, str, str]:
    """Code, message and remedy of the one thing that is wrong."""
    with pytest.raises(ValidationError) as caught:
        model.model_validate({key: text})
    (error,) = caught.value.errors()
    return error["type"], error["ctx"]["message"], error["ctx"]["remedy"]


@pytest.mark.parametrize(
    ("written", "clock"),
    [
        ("9:15", "9:15"), ("9:15 am", "9:15"), ("9.15am", "9:15"), ("1:05 PM", "13:05"), ("0915", "9:15"), ("915", "9:15"),
        ("13:05", "13:05"), ("12:10 am", "0:10"), ("12:10 pm", "12:10"), ("9 a.m.", "9:00"), ("1:05p", "13:05"),
        ("9h15", "9:15"), ("9;15", "9:15"), ("noon", "12:00"), ("12 noon", "12:00"), ("00:00", "0:00"), ("1305 hrs", "13:05"),
    ],
)  # fmt: skip
def test_a_time_of_day_is_read_as_crews_write_it(written: str, clock: str) -> None:
    hours, _, minutes = clock.partition(":")
    assert value(TimesDone, "arrived", written) == int(hours) * 3600.0 + int(minutes) * 60.0


@pytest.mark.parametrize(
    ("written", "why", "remedy"),
    [
        ("13:05 pm", "from 1 to 12", "write `13:05` if"), ("25:00", "hours go to 23", "1:05 pm"), ("24:00", "hours go to 23", ""),
        ("9:75", "minutes go to 59", ""), ("9", "not a time of day", "like `13:05`"), ("12:3O", "not a time of day", ""),
        ("8am-9am", "not a time of day", ""), ("0:15 am", "from 1 to 12", "write `00:15` if"), ("9:15:30", "not a time of day", ""),
    ],
)  # fmt: skip
def test_what_is_no_time_of_day_says_why(written: str, why: str, remedy: str) -> None:
    code, message, told = slip(TimesDone, "arrived", written)
    assert code == "time.clock"
    assert why in message
    assert remedy in told


GAL, PSI, FT = "gal", "psi", "ft"
READ: list[tuple[Any, str, str, str, str, str]] = [
    (ReadingsDone, "gauge_open", PSI, "", text, "52 psi")
    for text in ("52", "52psi", "52 PSI", "52 lb", "52 lbs", "52#", "~52", "about 52", "52.", "52.0 psi")
]
READ += [
    (ReadingsDone, "jet", FT, "", text, "34.5 ft")
    for text in ("34.5", "34 1/2", "34½", "34' 6\"", "34' 6", "34 ft 6", "~34.5 ft")
]
READ += [
    (SideDone, "dwell", "min", "", text, "510 s") for text in ("8.5", "8:30", "8½", "8.5 m", "8 min 30 s", "510 sec")
]
READ += [
    (SideDone, "rinse", GAL, "", text, "60 gal")
    for text in (
        "60",
        "60gal",
        "60 gals",
        "60 GAL",
        "60 gal.",
        "about 60",
        "60.0",
        "240 qt",
        "7680 oz",
        "59 gal 128 oz",
    )
]
READ += [(MixDone, "left", GAL, "", text, "0 gal") for text in ("none", "0", "nil", "0 gal", "nothing")]
READ += [(WaterDone, "used", GAL, "", "1,200", "1200 gal"), (PumpWork, "bath", "min", "", "20 m", "20 min")]


@pytest.mark.parametrize(("model", "key", "unit", "lead", "text", "meant"), READ)
def test_a_figure_is_read_with_or_without_its_unit(
    model: Any, key: str, unit: str, lead: str, text: str, meant: str
) -> None:
    dimension = {PSI: "pressure", FT: "length", "min": "time", GAL: "volume"}[unit]
    assert value(model, key, with_unit(text, unit, lead)) == pytest.approx(read(meant, dimension))


@pytest.mark.parametrize(
    "text",
    [
        "38", "38 s", "38s", "38 sec", "38 seconds", '38"', "0:38", "00:38", "~38", "38.0", "5 gal/38 s", "5 gal in 38", "5 gal 38 s",
        "5gal in 38sec", "5 gallons in 38 seconds", "5 gal bucket 38 s", "5 gal: 38", "38 sec for 5 gal", "38 s/5 gal", "5 gal in 0:38", "0:38 for 5 gal", "38 s for 5 gal",
    ],
)  # fmt: skip
def test_a_bucket_is_read_as_crews_write_it(text: str) -> None:
    bucket = value(ReadingsDone, "bucket", with_unit(text, "s", "5 gal in"))
    assert (bucket.volume, bucket.seconds) == (pytest.approx(read("5 gal", "volume")), 38.0)


def test_longer_buckets_and_other_sizes() -> None:
    for text, seconds in (("1:05", 65.0), ("1 min 5 s", 65.0), ("1 min 5", 65.0)):
        assert value(WaterDone, "tap", with_unit(text, "s", "5 gal in")).seconds == seconds
    assert value(WaterDone, "tap", with_unit("20 L in 40 s", "s", "5 gal in")).volume == pytest.approx(0.02)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("38-40", "such as `39 s`"), ("5 gal", "without its seconds"), ("0", "fills nothing"), ("385 gal", "without its seconds"),
        ("37/38", "write one of them"), ("48/50", "write one of them"), ("1.05", "such as `1:05`"), ("5 gal in 38 m", "such as `1:05`"),
        ("7.9 gpm", "is a flow"), ("thirty", "cannot be read as a bucket test"),
    ],
)  # fmt: skip
def test_a_bucket_that_can_mean_two_things_is_a_fault(text: str, words: str) -> None:
    _, message, remedy = slip(ReadingsDone, "bucket", with_unit(text, "s", "5 gal in"))
    assert words in f"{message} {remedy}"


@pytest.mark.parametrize(
    ("text", "amount", "basis"),
    [
        ("10.5", 10.5, "trade"), ("10.5%", 10.5, "trade"), ("10.5 %", 10.5, "trade"), ("10.5 trade", 10.5, "trade"),
        ("10.5 trade %", 10.5, "trade"), ("~10.5", 10.5, "trade"), ("12.5 wt % NaOCl", 12.5, "wt_naocl"),
    ],
)  # fmt: skip
def test_a_percent_in_a_box_is_the_one_printed_beside_it(text: str, amount: float, basis: str) -> None:
    strength = value(MixDone, "stock_test", with_unit(text, "trade %"))
    assert (strength.amount, strength.basis) == (amount, basis)


def test_a_bare_percent_in_a_file_still_does_not_say_which() -> None:
    assert value(LotDone, "test", "10.5 %").basis == "bare"


def test_ounces_are_fluid_where_the_box_is_a_volumes_and_a_weight_where_it_is_a_weights() -> None:
    assert value(MixDone, "stock_used", with_unit("32 oz", GAL)).volume == pytest.approx(read("1/4 gal", "volume"))
    assert value(MixDone, "stock_used", with_unit("1 gal 20", "fl oz")).volume == pytest.approx(
        read("148 fl oz", "volume")
    )
    assert value(MixDone, "stock_used", with_unit("32 oz", "lb")).mass == pytest.approx(read("2 lb", "mass"))
    assert value(MixDone, "stock_used", with_unit("2 lb 4 oz", "lb")).mass == pytest.approx(read("2.25 lb", "mass"))
    for text, ounces in (
        ("1½ oz", "1.5 oz"),
        ("½ oz", "0.5 oz"),
        ("2 ½ oz", "2.5 oz"),
        ("1/2", "0.5 oz"),
        ("1 1/2 oz", "1.5 oz"),
    ):
        light = value(MixDone, "stock_used", with_unit(text, "oz"))
        assert (light.volume, light.mass) == (None, pytest.approx(read(ounces, "mass"))), text
    assert value(MixDone, "stock_used", with_unit("1½#", "lb")).mass == pytest.approx(read("1.5 lb", "mass"))
    assert value(MixDone, "stock_used", with_unit("½", GAL)).volume == pytest.approx(read("0.5 gal", "volume"))
    nothing = value(MixDone, "stock_used", with_unit("none", "lb"))
    assert (nothing.volume, nothing.mass) == (None, 0.0)


@pytest.mark.parametrize(
    ("text", "mark"),
    [("2.5", 2.5), ("2 1/2", 2.5), ("2½", 2.5), ("1/2", 0.5), ("½", 0.5), ("#3", 3.0), ("no. 3", 3.0), ("at 2.4", 2.4)],
)
def test_a_dial_is_read_with_fractions(text: str, mark: float) -> None:
    assert value(MixDone, "dial", text) == mark


@pytest.mark.parametrize(
    ("text", "count"), [("2", 2), ("two", 2), ("2 tanks", 2), ("2x", 2), ("2.0", 2), ("Two tankfuls", 2)]
)
def test_a_count_is_read_in_words_too(text: str, count: int) -> None:
    assert value(MixDone, "batches", text) == count


@pytest.mark.parametrize(
    ("text", "grams", "below"),
    [
        ("2", 2.0, False), ("0", 0.0, False), ("2 ppm", 2.0, False), ("<1", 1.0, True), ("< 1 mg/L", 1.0, True),
        ("less than 1", 1.0, True), ("under 0.5 ppm", 0.5, True), ("≤1", 1.0, True), ("0-1", 1.0, True), ("0 to 1", 1.0, True),
    ],
)  # fmt: skip
def test_a_strip_that_reads_less_than_its_end_keeps_that_mark(text: str, grams: float, below: bool) -> None:
    residual = value(FlushDone, "residual", with_unit(text, "mg/L"))
    assert (residual.value, residual.below) == (pytest.approx(grams * 1e-3), below)


@pytest.mark.parametrize("text", ["trace", "none", "ND", "clear", "nil", "not detected"])
def test_a_strip_that_shows_nothing_asks_for_its_lowest_mark(text: str) -> None:
    assert "such as `<1 mg/L`" in slip(FlushDone, "residual", with_unit(text, "mg/L"))[2]


@pytest.mark.parametrize(("text", "ph"), [("7", 7.0), ("pH 7", 7.0), ("ph7.5", 7.5), ("~7", 7.0)])
def test_a_ph_may_say_so(text: str, ph: float) -> None:
    assert value(FlushDone, "ph", text) == ph


UNCLEAR: list[tuple[Any, str, str, str, str]] = [
    (ReadingsDone, "gauge_open", PSI, "52-54", "`53 psi` for their middle"),
    (ReadingsDone, "gauge_open", PSI, "50 to 54 psi", "`52 psi` for their middle"),
    (ReadingsDone, "gauge_open", PSI, "52,5", "like `52.5 psi`"),
    *((ReadingsDone, "gauge_open", PSI, text, "write one of them") for text in ("52/54", "52 / 54", "104/2", "1/2")),
    (ReadingsDone, "jet", FT, "34/36", "write one of them"),
    (ReadingsDone, "jet", FT, "7/8", "write one of them"),
    (SideDone, "dwell", "min", "8/9", "write one of them"),
    (SideDone, "rinse", GAL, "60/62", "write one of them"),
    (SideDone, "rinse", GAL, "5/6", "write one of them"),
    (MixDone, "stock_used", "lb", "3/5", "write one of them"),
    (MixDone, "dial", "", "8/2", "write one of them"),
    (FlushDone, "residual", "mg/L", "2/3", "write one of them"),
    (FlushDone, "ph", "", "7/8", "write one of them"),
    (ReadingsDone, "gauge_open", PSI, "52 ft", "is a length"),
    (ReadingsDone, "gauge_open", PSI, ">52", "only says above or below"),
    (ReadingsDone, "jet", FT, "30+", "only says above or below"),
    (ReadingsDone, "jet", FT, "over 30", "only says above or below"),
    (ReadingsDone, "standoff", FT, "0", "more than zero"),
    (SideDone, "dwell", "min", "8-10", "`9 min` for their middle"),
    (SideDone, "rinse", GAL, "60 g", "is a mass"),
    (SideDone, "rinse", GAL, "lots", "cannot be read as a volume"),
    (WaterDone, "used", GAL, "1240-1480", "`1360 gal`"),
    (PumpWork, "bath", "min", "1:30", "cannot be read as a time"),
    (MixDone, "dial", "", "2,4", "like `2.4`"),
    (MixDone, "batches", "", "1 1/2", "not a whole number"),
    (MixDone, "stock_test", "trade %", "10-11", "`10.5 trade %`"),
    (FlushDone, "residual", "mg/L", "1-3", "`2 mg/L`"),
    (FlushDone, "residual", "mg/L", ">5", "only says above or below"),
    (FlushDone, "residual", "mg/L", "<0", "is less than zero"),
    (FlushDone, "ph", "", "6-7", "`6.5`"),
    (FlushDone, "ph", "", "15", "is not a pH"),
]


@pytest.mark.parametrize(("model", "key", "unit", "text", "words"), UNCLEAR)
def test_what_can_be_meant_two_ways_is_a_fault(model: Any, key: str, unit: str, text: str, words: str) -> None:
    _, message, remedy = slip(model, key, with_unit(text, unit))
    assert words in f"{message}; {remedy}"


@pytest.mark.parametrize("text", ["", " ", "-", "--", "—", "n/a", "N.A.", "not taken", "/"])
def test_a_dash_is_nothing_written(text: str) -> None:
    assert is_blank(text)
    assert not is_blank("0")
    assert not is_blank("none")


@pytest.mark.parametrize(
    ("model", "key", "unit", "text", "meant"),
    [
        (ReadingsDone, "gauge_open", "psi", "50ish", read("50 psi", "pressure")),
        (WaterDone, "used", "gal", "350 ish", read("350 gal", "volume")),
        (WaterDone, "used", "gal", "350-ish gal", read("350 gal", "volume")),
    ],
)
def test_ish_is_about(model: Any, key: str, unit: str, text: str, meant: float) -> None:
    assert value(model, key, with_unit(text, unit)) == pytest.approx(meant)


@pytest.mark.parametrize("text", ["5 gal/50 s", "5 gal in 50", "50 sec for 5 gal", "5 gal in 50 s"])
def test_a_bucket_is_read_in_a_job_as_in_a_record(text: str) -> None:
    assert _job({"tap": text}).tap == value(WaterDone, "tap", text)


def test_a_slow_tap_in_a_job_may_take_its_half_hour() -> None:
    assert _job({"tap": "5 gal in 30 min"}).tap.seconds == 1800.0


@pytest.mark.parametrize("text", ["40 % from 2 pm", "40 % from 14:00", "40 % after 2.00 p.m."])
def test_rain_begins_by_either_clock(text: str) -> None:
    assert value(Forecast, "rain", text) == Rain(chance=0.4, start=14 * 3600.0)


def test_parts_are_told_the_key_they_mean() -> None:
    for model, key in ((YardJob, "replace"), (PumpWork, "replaced")):
        with pytest.raises(ValidationError) as caught:
            model.model_validate({"parts": "shaft seal"})
        assert f"write `{key}` if that was meant" in [error["ctx"]["remedy"] for error in caught.value.errors()]


def _job(more: dict[str, Any]) -> Job:
    surface = {"kind": "vinyl", "area": "10 m2"}
    whole = {"job": "x", "site": {"address": "y"}, "surfaces": [surface], "setup": "house", **more}
    return Job.model_validate(whole)
