"""The tables of data/: as the trade's page has them, and as a company may change them."""

from __future__ import annotations

import re
from pathlib import Path

import fluids
import pytest

from planner.inputs.reading.tree import parse_tree
from planner.inputs.tables import rows as of_rows
from planner.inputs.tables.chemicals import CHEMICALS, chemical_named
from planner.inputs.tables.defaults import default, default_list
from planner.inputs.tables.rows import rows
from planner.inputs.tables.whole import (
    accept_rows,
    fitting_rows,
    gun_flow,
    limit_rows,
    limits_with,
    may_accept,
    roughness,
    surface_rows,
)
from planner.locate import data_file
from planner.units import read


def test_every_row_has_a_source() -> None:
    for table in ("surfaces", "chemicals", "fittings", "materials", "limits", "defaults", "minutes"):
        for row in rows(table):
            assert row.get("source"), (table, row)
    for under in ("streets", "directions", "units", "words"):
        assert all(row["source"] for row in rows("addresses", under))


@pytest.mark.parametrize("name", sorted(path.stem for path in data_file("").glob("*.yaml")))
def test_every_table_is_what_the_strict_reader_reads_of_it(name: str) -> None:
    tree = parse_tree(data_file(f"{name}.yaml").read_bytes(), name)
    assert tree.faults == ()
    assert tree.root is not None
    assert of_rows.table(name) == tree.root.plain()


def test_valve_resistances_are_cranes() -> None:
    diameter = 0.019
    ft = fluids.ft_Crane(diameter)
    rows_now = fitting_rows()
    for kind, k in (
        ("ball_valve", fluids.K_ball_valve_Crane(diameter, diameter, 0)),
        ("swing_check", fluids.K_swing_check_valve_Crane(diameter, angled=True)),
        ("foot_valve", fluids.K_foot_valve_Crane(diameter, style=0)),
    ):
        assert rows_now[kind].k_times_ft is not None
        assert rows_now[kind].k_times_ft * ft == pytest.approx(k), kind
    assert rows_now["reducer"].k is None
    assert rows_now["reducer"].k_times_ft is None


def test_surfaces_hold_both_ends_of_the_trades_figures() -> None:
    vinyl, shingle, brick = (surface_rows()[kind] for kind in ("vinyl", "asphalt_shingle", "brick_acid"))
    assert vinyl.strength is not None
    assert [end.amount for end in vinyl.strength] == [0.5, 1.5]
    assert vinyl.cover is None
    assert vinyl.section_hot == pytest.approx(read("250 ft2", "area"))
    assert shingle.cover == pytest.approx((read("100 ft2/gal", "coverage"), read("35 ft2/gal", "coverage")))
    assert shingle.leave
    assert shingle.wet == 0
    assert brick.strength is not None
    assert [round(end.amount, 2) for end in brick.strength] == [4.76, 9.09]
    assert brick.chemical == "muriatic"


def test_light_soil_takes_less_strength_and_covers_more() -> None:
    for row in surface_rows().values():
        assert row.strength is not None
        assert row.strength[0].amount <= row.strength[1].amount
        assert row.cover is None or row.cover[0] >= row.cover[1]
    assert all(row.cover[0] > row.cover[1] and row.least < row.most for row in gun_flow())


def test_defaults_are_si() -> None:
    assert default("tip_height") == pytest.approx(1.2192)
    assert default("kept_shed") == pytest.approx(read("80 F", "temperature"))
    assert len(default_list("water_temperature_by_month")) == 12
    assert roughness() == {"plastic": 1.5e-6, "rubber": 1e-5, "worn": 3e-5}


def test_every_chemical_is_found_by_every_name() -> None:
    wanted = "hypochlorite muriatic oxalic citric caustic percarbonate surfactant bicarbonate soda_ash lime"
    assert set(wanted.split()) <= set(CHEMICALS)
    for written, name in (("bleach", "hypochlorite"), ("Soap", "surfactant"), ("soda ash", "soda_ash")):
        found = chemical_named(written)
        assert found is not None
        assert found.name == name
    assert chemical_named("vinegar") is None


def test_limits_belong_to_findings_that_exist() -> None:
    for row in limit_rows().values():
        assert row.finding in accept_rows(), row.name


def test_a_company_may_tighten_a_regulation_and_move_its_own_habits_either_way() -> None:
    limits, slips = limits_with({"power_line_stop": "12 ft", "wind_caution": "14 mph", "age_hot": "10 d"})
    assert not slips
    assert limits["power_line_stop"] == pytest.approx(read("12 ft", "length"))
    assert limits["wind_caution"] == pytest.approx(read("14 mph", "speed"))
    assert limits["rating_stop"] == 1.0


@pytest.mark.parametrize(
    ("name", "text", "code"),
    [
        ("power_line_stop", "9 ft", "limit.looser"),
        ("hazmat_total", "500 lb", "limit.looser"),
        ("eyewash_volume", "5 gal", "limit.looser"),
        ("wind_cautoin", "8 mph", "key.unknown"),
        ("wind_caution", "8", "quantity.bare"),
    ],
)
def test_a_limit_that_may_not_be_is_refused(name: str, text: str, code: str) -> None:
    limits, (slip,) = limits_with({name: text})
    assert slip.code == code
    assert name not in limits or limits[name] == limit_rows()[name].value


def test_what_may_be_accepted() -> None:
    assert may_accept("reach.short", "stop")
    assert may_accept("weather.wind", "stop")
    assert may_accept("supply.pressure", "caution")
    assert not may_accept("supply.dry", "stop")
    assert not may_accept("power.gfci", "caution")


_BY_PATTERN = r"(?:kept|test|beds|bath|reportable)_\w+"
"""Rows that are asked for by what a file names: how a lot is kept, a bath's acid."""


@pytest.mark.parametrize("name", ["limits", "defaults", "minutes"])
def test_every_figure_of_a_table_is_asked_for_somewhere(name: str) -> None:
    planner = Path(__file__).resolve().parents[2] / "planner"
    code = "\n".join(path.read_text(encoding="utf-8") for path in planner.rglob("*.py"))
    for row in rows(name):
        asked = f'"{row["name"]}"' in code or re.fullmatch(_BY_PATTERN, row["name"])
        assert asked, f"nothing asks for {row['name']} of data/{name}.yaml"
