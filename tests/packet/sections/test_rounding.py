"""The one rounding of crew pages: its steps by size, its side, bands that a hand can read, totals and no ratios."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.packet.sections.acts.expected import at_most, expected
from planner.plan.procedure.acts import Expect
from planner.units import read, show
from planner.words.measures import (
    dial_number,
    drawn,
    gauge_number,
    gun_open,
    in_all,
    minutes_between,
    poured,
    rounded,
    rows_of,
    weighed,
)
from tests.packet.figures.known import number_of
from tests.packet.mixing import CASES, crew, printed
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(200), deadline=None, derandomize=True, database=None)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (drawn(read("20.2 fl oz", "volume"), "us", "up"), "21 fl oz"),
        (drawn(read("3.2 gal", "volume"), "us", "up"), "3 1/4 gal"),
        (drawn(read("17.6 gal", "volume"), "us", "up"), "18 gal"),
        (drawn(read("0.344 L", "volume"), "si", "up"), "350 mL"),
        (drawn(read("3.3 L", "volume"), "si", "up"), "3.5 L"),
        (drawn(read("52.5 L", "volume"), "si", "up"), "53 L"),
        (" ".join(in_all(read("727 gal", "volume"), "us")), "730 gal"),
        (poured(read("150.7 fl oz", "volume"), "us", "down"), "150 fl oz"),
        (poured(read("6.9 gal", "volume"), "us", "down"), "6 7/8 gal"),
        (poured(read("13.75 gal", "volume"), "us", "down"), "13 1/2 gal"),
        (poured(read("1.18 L", "volume"), "si", "down"), "1.15 L"),
        (weighed(read("3.2 oz", "mass"), "us", "up"), "3 1/2 oz"),
        (weighed(read("6.1 lb", "mass"), "us", "up"), "6 1/4 lb"),
        (weighed(read("104.2 lb", "mass"), "us", "up"), "105 lb"),
        (" ".join(gauge_number(read("71.2 psi", "pressure"), "us")), "72 psi"),
        (" ".join(gauge_number(read("346 psi", "pressure"), "us")), "350 psi"),
        (" ".join(gauge_number(read("2999 psi", "pressure"), "us")), "3,000 psi"),
        (" ".join(gauge_number(read("3.73 bar", "pressure"), "si")), "3.7 bar"),
        (" ".join(gauge_number(read("24.4 bar", "pressure"), "si")), "24 bar"),
        (" ".join(gauge_number(read("207 bar", "pressure"), "si")), "205 bar"),
        (gun_open(57.6), "60 s"),
        (gun_open(131.0, "up"), "2 min 20 s"),
        (gun_open(640.0, "up"), "11 min"),
        (minutes_between(300.0, 600.0), "5 to 10"),
        (minutes_between(300.0, 301.0), "5"),
        (minutes_between(312.0, 348.0), "5"),  # no whole minute between them: never longer
        (dial_number(2.096, long=False), "2.1"),
        (dial_number(2.07, long=False), "2.05"),
        (dial_number(3.29, long=False), "3.3"),
        (dial_number(3.27, long=False), "3.2"),
        (dial_number(12.4, long=True), "12"),
        (show(8.4, "length", "si"), "8.4 m"),
        (show(read("27.6 ft", "length"), "length", "us", toward="down"), "27 ft"),
        (show(read("17.13 in", "length"), "dip", "us"), "17 1/8 in"),
        (show(0.4346, "dip", "si"), "434 mm"),
    ],
)
def test_a_figure_has_the_step_of_its_size(told: str, words: str) -> None:
    assert told == words


@pytest.mark.ci
@given(
    st.sampled_from(["volume", "poured", "total", "weight", "gauge", "gun", "strength"]),
    st.sampled_from(["us", "si"]),
    st.floats(1e-4, 1.0),
)
@PROPERTY
def test_up_is_never_less_and_down_never_more_and_both_are_within_a_step(
    quantity: Any, system: Any, part: float
) -> None:
    rows = rows_of(quantity, system)
    value = part * 4.0 * (rows[-2].below or 1.0)
    low, high = (_in_si(rounded(value, quantity, system, side), rows) for side in ("down", "up"))
    assert low <= value * (1 + 1e-9)
    assert high >= value * (1 - 1e-9)
    assert high - low <= 2.0 * max(row.one * float(row.step) for row in rows) + 1e-12


def _in_si(told: tuple[str, str], rows: Any) -> float:
    return float(number_of(told[0])) * next(row.one for row in rows if row.unit == told[1])


@pytest.mark.parametrize("quantity", ["poured", "gun"])
def test_what_goes_into_a_mix_or_onto_a_wall_is_told_about_as_fine_as_it_must_be(quantity: str) -> None:
    """Rounded to the nearest, a figure from the second row up is off by a twentieth at most."""
    for system in ("us", "si"):
        rows = rows_of(quantity, system)
        for before, row in pairwise(rows):
            assert before.below is not None
            assert row.one * float(row.step) / 2.0 <= before.below * 0.0501


@pytest.mark.parametrize(
    ("one", "value", "low", "high"),
    [
        # A heel of 5/8 in may be read one mark off, however narrow its band.
        (("dip", "m", 0.625 * 0.0254, 0.61 * 0.0254, 0.64 * 0.0254), "5/8 in", "1/2", "3/4 in"),
        (("gauge_open", "pa", 6.2 * 6894.757, 5.7 * 6894.757, 6.7 * 6894.757), "6 psi", "5", "7 psi"),
        (("bucket", "s", 9.0, 8.3, 9.7), "9 s", "8", "10 s"),
        # A wide one goes to its inner marks.
        (("gauge_open", "pa", 54.0 * 6894.757, 49.7 * 6894.757, 58.3 * 6894.757), "54 psi", "50", "58 psi"),
        # How high a jet must get is no mark: nothing below what is needed is in order.
        (("throw", "m", 41.2 * 0.3048, 41.0 * 0.3048, 47.0 * 0.3048), "41 ft", "41", "47 ft"),
    ],
)
def test_a_band_is_as_wide_as_a_hand_can_read(one: Any, value: str, low: str, high: str) -> None:
    what, unit, *figures = one
    reading = Expect(what=what, unit=unit, value=figures[0], low=figures[1], high=figures[2])
    told = expected(reading, "us")
    assert (*told[:2], at_most(reading, "us")) == (value, low, high)


@pytest.mark.ci
@pytest.mark.parametrize("system", ["us", "si"])
def test_a_jug_is_told_by_its_whole_and_never_by_the_gallon(system: Any) -> None:
    assert "injected" in CASES
    pages = crew(printed("injected", "letter" if system == "us" else "a4", system))
    said = " ".join(pages)
    assert not re.search(r"(?:in|for) each (?:gallon|10 L)|per gallon", said)
    stock = re.search(r"Pour ([\d., ]+ (?:fl oz|L|mL|gal)) of lot drum into the jug", said)
    water = re.search(r"Fill the jug: ([\d., ]+ (?:fl oz|L|mL|gal)) of water", said)
    assert stock
    assert water
    assert f"{stock[1]} of stock for the jug" in pages[0]
    assert f"with water: {water[1]}" in pages[0]
    assert f"Stock used {stock[1]}" in said
