"""Quantities as people write them, and as they are printed for them."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as some

from planner.units import (
    DIMENSIONS,
    System,
    Unreadable,
    read,
    read_bucket,
    read_head_or_pressure,
    read_rectangle,
    show,
    show_number,
)
from planner.units.scale import by_pint, known, scale
from planner.units.table import unit_key

pytestmark = pytest.mark.short

FT, INCH, GAL, LB, PSI = 0.3048, 0.0254, 3.785411784e-3, 0.45359237, 6894.757293168361


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("31 ft", "length", 31 * FT),
        ("31ft", "length", 31 * FT),
        ("5 ft 6 in", "length", 5.5 * FT),
        ("5' 6\"", "length", 5.5 * FT),
        ("5'6\"", "length", 5.5 * FT),
        ("5’ 6”", "length", 5.5 * FT),
        ("5ft3in", "length", 5.25 * FT),
        ("1 1/2 in", "bore", 1.5 * INCH),
        ("1-1/4 in", "bore", 1.25 * INCH),
        ("1½ in", "bore", 1.5 * INCH),
        ("5/8 in", "bore", 0.625 * INCH),
        ("0.600 in", "bore", 0.6 * INCH),
        ("19 mm", "bore", 0.019),
        ("9.4 m", "length", 9.4),
        ("-4 ft", "height", -4 * FT),
        ("−4 ft", "height", -4 * FT),
        ("+4 ft", "height", 4 * FT),
        ("-5 ft 6 in", "height", -5.5 * FT),
        ("12.5 gpm", "flow", 12.5 * GAL / 60),
        ("19 L/min", "flow", 0.019 / 60),
        ("1 m3/h", "flow", 1 / 3600),
        ("2 gal per min", "flow", 2 * GAL / 60),
        ("58 psi", "pressure", 58 * PSI),
        ("58 PSI", "pressure", 58 * PSI),
        ("4 bar", "pressure", 4e5),
        ("400 kPa", "pressure", 4e5),
        ("72 degF", "temperature", 295.37222222222223),
        ("72 F", "temperature", 295.37222222222223),
        ("72 °F", "temperature", 295.37222222222223),
        ("22 C", "temperature", 295.15),
        ("-4 F", "temperature", 253.15),
        ("300 K", "temperature", 300.0),
        ("9 mph", "speed", 4.02336),
        ("36 km/h", "speed", 10.0),
        ("1,200 ft2", "area", 1200 * FT**2),
        ("1,200 sq ft", "area", 1200 * FT**2),
        ("1,200 ft²", "area", 1200 * FT**2),
        ("1200 ft^2", "area", 1200 * FT**2),
        ("1 200,5 m2".replace(" ", "").replace(",", "."), "area", 1200.5),
        ("275 gal", "volume", 275 * GAL),
        ("5 imp gal", "volume", 0.02273045),
        ("3 fl oz", "volume", 3 * GAL / 128),
        ("3 fl oz/gal", "dose", 3 / 128),
        ("8 mL/L", "dose", 0.008),
        ("2 %", "dose", 0.02),
        ("15 min", "time", 900.0),
        ("3 h 05 min", "time", 11100.0),
        ("5200 lb", "mass", 5200 * LB),
        ("5,200 lbs.", "mass", 5200 * LB),
        ("3 lb 4 oz", "mass", 3.25 * LB),
        ("10 lbf", "force", 44.4822161526),
        ("3/4 hp", "power", 0.75 * 745.6998715822702),
        ("120 V", "voltage", 120.0),
        ("15 A", "current", 15.0),
        ("3450 rpm", "rotation", 57.5),
        ("4 %", "fraction", 0.04),
        ("4 mg/L", "concentration", 0.004),
        ("120 g/L", "concentration", 120.0),
        ("2 ppm", "concentration", 0.002),
        ("0.12 gal/ft2", "spread", 0.12 * GAL / FT**2),
        ("60 ft2/gal", "coverage", 60 * FT**2 / GAL),
        ("100 ft2/min", "pace", 100 * FT**2 / 60),
        ("12 AWG", "gauge", 12.0),
        ("6/12", "pitch", 0.5),
        ("5 gal in 50 s", "bucket", 5 * GAL / 50),
        ("24", "squares", 2400 * FT**2),
        ("24 squares", "squares", 2400 * FT**2),
        ("0.95", "number", 0.95),
    ],
)
def test_every_spelling_reads(text: str, dimension: str, value: float) -> None:
    assert read(text, dimension) == pytest.approx(value, rel=1e-12)


def test_two_sides_and_a_bucket_and_a_head_read() -> None:
    assert read_rectangle("35 ft x 9 ft") == pytest.approx((35 * FT, 9 * FT))
    assert read_bucket("5 gal in 50 s").seconds == 50
    assert read_head_or_pressure("106 ft").head == pytest.approx(106 * FT)
    assert read_head_or_pressure("46 psi").pressure == pytest.approx(46 * PSI)
    with pytest.raises(Unreadable):
        read_head_or_pressure("46 gpm")


@pytest.mark.parametrize(
    ("text", "dimension", "code", "in_remedy"),
    [
        ("31", "length", "quantity.bare", "31 ft"),
        ("0.04", "fraction", "quantity.bare", "4 %"),
        ("12", "gauge", "quantity.bare", "12 AWG"),
        ("31 psi", "length", "quantity.dimension", "31 ft"),
        ("25 C", "length", "quantity.dimension", "31 ft"),
        ("31 fet", "length", "quantity.unit", "feet"),
        ("31 furlongs", "length", "quantity.unit", "31 ft"),
        ("12 spi", "pressure", "quantity.unit", "write `psi`"),
        ("7 am", "height", "quantity.dimension", "write a height"),
        ("350ish", "volume", "quantity.number", "the figure you plan with"),
        ("nan ft", "length", "quantity.number", "31 ft"),
        ("inf ft", "length", "quantity.number", "31 ft"),
        (".inf", "length", "quantity.number", "31 ft"),
        ("-4 ft", "length", "quantity.sign", "31 ft"),
        ("1 000 ft", "length", "quantity.number", "1,000"),
        ("1\u00a0000 ft", "length", "quantity.number", "1,000"),
        ("9,4 m", "length", "quantity.number", "point"),
        ("1,2000 ft", "length", "quantity.number", "three digits"),
        ("1e3 ft", "length", "quantity.number", "31 ft"),
        ("10**10**10 ft", "length", "quantity.number", "31 ft"),
        ("1e999999999 ft", "length", "quantity.number", "31 ft"),
        ("9" * 70 + " ft", "length", "quantity.range", "31 ft"),
        ("9" * 5000 + " ft", "length", "quantity.long", "31 ft"),
        ("5 ft 13 in", "length", "quantity.number", "31 ft"),
        ("6 in 5 ft", "length", "quantity.number", "31 ft"),
        ("5 gal 3 L", "volume", "quantity.number", "275 gal"),
        ("1/0 in", "bore", "quantity.number", "3/4 in"),
        ("1 5/4 in", "bore", "quantity.number", "3/4 in"),
        ("", "length", "quantity.number", "31 ft"),
        ("٣ ft", "length", "quantity.number", "31 ft"),
        ("-300 C", "temperature", "quantity.range", "72 F"),
        ("6/0", "pitch", "quantity.number", "6/12"),
        ("5 gal in 0 s", "bucket", "quantity.range", "5 gal in 50 s"),
        ("5 gal", "bucket", "quantity.number", "5 gal in 50 s"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_spelling_that_can(
    text: str, dimension: str, code: str, in_remedy: str
) -> None:
    with pytest.raises(Unreadable) as refused:
        read(text, dimension)
    assert refused.value.code == code
    assert in_remedy in refused.value.remedy


def test_every_dimensions_own_example_reads() -> None:
    for name, kind in DIMENSIONS.items():
        examples = kind.example.split("`")[1::2]
        assert examples
        for example in examples:
            assert math.isfinite(read(example, name)), (name, example)


@given(text=some.text(max_size=40), dimension=some.sampled_from([*DIMENSIONS, "bucket", "pitch", "gauge", "squares"]))
def test_any_text_at_all_reads_or_is_refused(text: str, dimension: str) -> None:
    try:
        value = read(text, dimension)
    except Unreadable:
        return
    assert math.isfinite(value)


def test_hostile_numbers_do_not_hang() -> None:
    for text in ("10**10**10 ft", "9" * 80, "1/" * 40, "1 " * 40, "((((" * 20, "1e1e1e1e ft", "'" * 80):
        with pytest.raises(Unreadable):
            read(text, "length")


@pytest.mark.parametrize(
    ("value", "dimension", "system", "options", "text"),
    [
        (31 * FT, "length", "us", {}, "31 ft"),
        (9.4, "length", "si", {}, "9.4 m"),
        (-4 * FT, "height", "us", {}, "-4 ft"),
        (0.75 * INCH, "bore", "us", {}, "3/4 in"),
        (0.75 * INCH, "bore", "si", {}, "19 mm"),
        (0.6 * INCH, "bore", "us", {}, "0.600 in"),
        (1.25 * INCH, "bore", "us", {}, "1 1/4 in"),
        (17.125 * INCH, "dip", "us", {}, "17 1/8 in"),
        (17.125 * INCH, "dip", "si", {}, "434 mm"),
        (17.2 * INCH, "dip", "us", {"toward": "up"}, "17 1/4 in"),
        (17.2 * INCH, "dip", "us", {"toward": "down"}, "17 1/8 in"),
        (1200 * FT**2, "area", "us", {}, "1,200 ft2"),
        (275 * GAL, "volume", "us", {}, "275 gal"),
        (5.41 * GAL, "volume", "us", {}, "5.4 gal"),
        (5.41 * GAL, "volume", "us", {"toward": "up"}, "5.5 gal"),
        (9.81 * GAL / 60, "flow", "us", {}, "9.8 gpm"),
        (58 * PSI, "pressure", "us", {}, "58 psi"),
        (4e5, "pressure", "si", {}, "4.00 bar"),
        (295.15, "temperature", "us", {}, "72 F"),
        (253.15, "temperature", "us", {}, "-4 F"),
        (4.02336, "speed", "us", {}, "9 mph"),
        (5200 * LB, "mass", "us", {}, "5,200 lb"),
        (50, "time", "us", {}, "50 s"),
        (100, "time", "us", {}, "100 s"),
        (120, "time", "us", {}, "2 min"),
        (150, "time", "us", {"step": 10}, "2 min 30 s"),
        (11090, "time", "us", {}, "3 h 05 min"),
        (11090, "time", "us", {"unit": "min"}, "185 min"),
        (3.93 * 4.4482216152605, "force", "us", {}, "3.9 lbf"),
        (0.04, "fraction", "us", {}, "4.0 %"),
        (0.004, "concentration", "us", {}, "4.0 mg/L"),
        (0.0001, "concentration", "us", {}, "0.10 mg/L"),
        (22.4 * FT, "head", "us", {}, "22.4 ft"),
        (0.5, "pitch", "us", {}, "6/12"),
        (12.0, "gauge", "us", {}, "12 AWG"),
        (559.27, "power", "us", {"unit": "hp", "step": 0.01}, "0.75 hp"),
        (1234.5 * FT, "length", "us", {"digits": 2}, "1,200 ft"),
        (0.0, "length", "us", {}, "0 ft"),
        (-0.01, "height", "us", {}, "0 ft"),
    ],
)
def test_a_value_prints_in_the_readers_units(
    value: float, dimension: str, system: System, options: dict[str, object], text: str
) -> None:
    assert show(value, dimension, system, **options) == text  # type: ignore[arg-type]


@pytest.mark.ci
def test_rounding_to_the_safe_side_moves_by_a_real_difference_and_never_by_float_noise() -> None:
    assert show(31.000000001 * FT, "length", "us", toward="down") == "31 ft"
    assert show(31.000000001 * FT, "length", "us", toward="up") == "32 ft"
    assert show(31 * FT * (1 + 1e-12), "length", "us", toward="up") == "31 ft"
    assert show(31 * FT * (1 - 1e-12), "length", "us", toward="down") == "31 ft"
    assert show(30.999999999 * FT, "length", "us", toward="down") == "30 ft"
    for whole in range(1, 2000):
        for toward in ("near", "up", "down"):
            assert show(read(f"{whole} ft", "length"), "length", "us", toward=toward) == f"{whole:,} ft"


def test_the_number_and_its_unit_come_apart() -> None:
    assert show_number(17.125 * INCH, "dip", "us") == ("17 1/8", "in")
    assert show_number(11090, "time", "us") == ("3 h 05", "min")
    assert show_number(0.5, "pitch", "us") == ("6/12", "")


def test_what_is_no_number_is_never_printed() -> None:
    with pytest.raises(ValueError, match="cannot be printed"):
        show(math.nan, "length", "us")


# One step of what is printed by default, in SI: the most a value may move on its way to paper and back.
def _step(value: float, dimension: str, system: System, toward: str) -> float:
    kind = DIMENSIONS[dimension]
    if dimension == "time":
        return 1.0 if abs(value) < 120 else 60.0
    label = kind.us if system == "us" else kind.metric
    factor, offset = scale(kind.spellings[unit_key(label)], kind.si)
    if dimension == "dip":
        return INCH / 8 if system == "us" else 0.002
    if dimension == "bore":
        return max(0.005 * value, 0.001 * INCH if system == "us" else 0.0001) * 1.01
    number = abs((value - offset) / factor)
    steps = kind.us_steps if system == "us" else kind.metric_steps
    return float(next(step for below, step in steps if number < below)) * factor


@given(
    dimension=some.sampled_from(sorted(DIMENSIONS)),
    share=some.floats(min_value=1e-7, max_value=1.0),
    power=some.integers(min_value=0, max_value=6),
    system=some.sampled_from(["us", "si"]),
    toward=some.sampled_from(["near", "up", "down"]),
)
def test_what_is_printed_reads_back_within_its_rounding(
    dimension: str, share: float, power: int, system: System, toward: str
) -> None:
    kind = DIMENSIONS[dimension]
    value = 0.9 * kind.most * share / 10**power
    if dimension == "temperature":
        value = 220 + 0.5 * value
    text = show(value, dimension, system, toward=toward)  # type: ignore[arg-type]
    back = read(text, dimension)
    slack = _step(value, dimension, system, toward) * (0.5 if toward == "near" and dimension != "bore" else 1.0)
    slack += 1e-9 * abs(value) + 1e-12
    assert abs(back - value) <= slack, (text, value, back)
    if toward == "up" and dimension != "bore":
        assert back >= value - 1e-9 * abs(value)
    if toward == "down" and dimension != "bore":
        assert back <= value + 1e-9 * abs(value)


def test_conversion_never_loads_scipy_and_the_grammar_alone_not_even_pint() -> None:
    code = (
        "import sys; import planner.units as u\n"
        "u.read('31 ft', 'length')\n"
        "assert 'pint' not in sys.modules\n"
        "u.read('62 lb/ft3', 'density')\n"
        "assert 'pint' in sys.modules and not {'numpy', 'scipy'} & set(sys.modules)\n"
        "import scipy\n"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_what_stands_in_the_table_of_scales_is_what_pint_says_to_the_last_digit() -> None:
    assert {row: by_pint(*row) for row in known()} == known()


def test_every_unit_that_is_no_ratio_stands_in_the_table_of_scales() -> None:
    units = {(unit, kind.si) for kind in DIMENSIONS.values() for unit in kind.spellings.values() if ") / (" not in unit}
    assert units - known().keys() == set()


def test_every_unit_that_is_printed_stands_in_the_table_of_scales() -> None:
    printed = {
        (kind.spellings[unit_key(unit)], kind.si) for kind in DIMENSIONS.values() for unit in (kind.us, kind.metric)
    }
    assert printed - known().keys() == set()
