"""Advice from outside the trade, and the table of surfaces beside it."""

from __future__ import annotations

import pytest

from planner.chemistry import hypochlorite
from planner.inputs.tables.outside import outside_rows
from planner.inputs.tables.whole import surface_rows
from planner.units import read, show


def advice(kind: str):  # type: ignore[no-untyped-def]
    return next(row for row in outside_rows() if kind in row.kinds)


def test_every_row_is_about_a_surface_of_the_table() -> None:
    for row in outside_rows():
        assert set(row.kinds) <= set(surface_rows())
        assert row.source
        assert row.strength[0].amount < row.strength[1].amount


# Household bleach was sold at 5.25 and at 6 wt % NaOCl: what the recipes come to, worked from the label.
@pytest.mark.parametrize(
    ("kind", "share"), [("asphalt_shingle", 0.75), ("vinyl", 1 / 5)], ids=["75 % bleach", "a quart to a gallon"]
)
def test_the_extension_s_recipes_come_to_the_strengths_written_for_them(kind: str, share: float) -> None:
    weak, strong = (one.amount for one in advice(kind).strength)
    for label, written in ((5.25, weak), (6.0, strong)):
        trade = hypochlorite.from_label(label, "wt_naocl") / 10.0
        assert share * trade == pytest.approx(written, abs=0.055)


def test_shingles_are_advised_within_the_coverage_of_the_table() -> None:
    row = advice("asphalt_shingle")
    assert [show(one, "coverage", "us") for one in row.cover] == ["50 ft2/gal", "30 ft2/gal"]
    light, heavy = surface_rows()["asphalt_shingle"].cover or (0.0, 0.0)
    assert heavy < row.cover[0] < light


def test_acid_on_brick_is_one_to_twenty_at_least_and_one_to_ten_at_most() -> None:
    row = advice("brick_acid")
    assert [one.text for one in row.strength] == ["1:20", "1:10"]
    assert row.above == "never"
    assert "brick association" in row.advice
    assert row.dwell == (read("3 min", "time"), read("6 min", "time"))
    table = surface_rows()["brick_acid"]
    assert [one.text for one in table.strength or ()] == ["1:20", "1:10"]
    assert row.dwell[0] <= (table.dwell or (0, 0))[0]
    assert (table.dwell or (0, 0))[1] <= row.dwell[1]
    assert table.wet > 0.0  # the wall is wetted first


# Practice of the trade, as it is told: kind, trade %, parts or g/L, dwell min, wet and rinse gal/ft2, ft2/min, section ft2,
# cover ft2/gal.
PRACTICE = """
vinyl           0.5 1.5 5 10 .01 .12 100 600 -
fibre_cement    0.5 1.5 5 10 .01 .12 100 600 -
composite       0.5 1.5 5 10 .01 .12 100 600 -
painted_wood    0.4 0.8 3 5 .02 .15 80 400 -
bare_wood       0.3 0.7 5 10 .05 .35 40 200 75-125
stucco          0.8 2 5 15 .05 .25 60 400 40-80
eifs            0.8 2 5 15 .05 .25 60 400 40-80
brick           0.8 2 5 15 .05 .25 60 400 40-80
brick_acid      1:20 1:10 3 5 .25 .5 20 80 60-100
deck            30g/L 60g/L 10 15 .05 .35 40 200 100-150
deck_acid       30g/L 60g/L 10 15 .05 .35 40 200 150-200
concrete        1 3 5 15 .02 .12 150 1000 75-125
pavers          1 3 5 15 .02 .12 150 1000 75-125
asphalt_shingle 3 5 15 20 0 .25 50 600 35-100
clay_tile       3 4.5 15 20 0 .25 40 400 40-75
concrete_tile   3 5 15 20 0 .25 40 400 40-75
painted_metal   0.3 0.5 3 5 .02 .15 100 400 -
metal_roof      0.3 0.5 3 5 .02 .15 100 400 -
gutters         0.3 0.5 3 5 .02 .15 100 400 -
membrane_roof   0.5 2 5 10 .01 .2 80 600 75-125
"""


@pytest.mark.parametrize("line", PRACTICE.strip().splitlines(), ids=lambda line: line.split()[0])
def test_the_table_is_the_trade_s_practice(line: str) -> None:
    kind, weak, strong, least, most, wet, rinse, pace, section, cover = line.split()
    row = surface_rows()[kind]
    unit = "" if ":" in weak or "g/L" in weak else " trade %"
    texts = [f"{one}{unit}".replace("g/L", " g/L") for one in (weak, strong)]
    assert [one.text for one in row.strength or ()] == texts
    assert row.dwell == (read(f"{least} min", "time"), read(f"{most} min", "time"))
    assert row.wet == pytest.approx(read(f"{wet} gal/ft2", "spread"))
    assert row.rinse == pytest.approx(read(f"{rinse} gal/ft2", "spread"))
    assert row.apply == pytest.approx(read(f"{pace} ft2/min", "pace"))
    assert row.section == pytest.approx(read(f"{section} ft2", "area"))
    if cover == "-":
        assert row.cover is None
    else:
        heavy, light = (read(f"{one} ft2/gal", "coverage") for one in cover.split("-"))
        assert row.cover == (pytest.approx(light), pytest.approx(heavy))


def test_the_table_has_no_kind_that_practice_does_not_name() -> None:
    assert set(surface_rows()) == {line.split()[0] for line in PRACTICE.strip().splitlines()}
