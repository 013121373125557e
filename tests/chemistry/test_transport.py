"""Stock on the road: what a gallon weighs, how many gallons come to a limit, what a spill counts."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from molmass import Formula

from planner.chemistry import transport
from planner.chemistry.constants import WATER_AT_ROOM
from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.tables.rows import rows
from planner.inputs.tables.transport import listed, tares
from planner.inputs.tables.whole import limit_rows
from planner.plan.mix.density import density_of
from planner.units import read

GALLON, POUND = read("1 gal", "volume"), read("1 lb", "mass")


def test_440_lb_is_45_3_gal_of_twelve_and_a_half_trade_percent_liquid_only() -> None:
    """49 CFR 173.6 as the chemistry page works it out."""
    gallon = density_of("hypochlorite", 125.0)
    assert gallon is not None
    total = limit_rows()["hazmat_total"].value
    assert total == pytest.approx(440 * POUND)
    assert total / gallon / GALLON == pytest.approx(45.3, abs=0.05)


def test_100_lb_of_naocl_is_91_3_gal_of_twelve_and_a_half_trade_percent() -> None:
    """40 CFR 302.4 names NaOCl; counted as chlorine it would be 95.9 gal, on the unsafe side."""
    limit = limit_rows()["reportable_hypochlorite"].value
    assert limit == pytest.approx(100 * POUND)
    assert limit / (listed("hypochlorite").times * 125.0) / GALLON == pytest.approx(91.3, abs=0.05)
    assert listed("hypochlorite").times == pytest.approx(Formula("NaOCl").mass / Formula("Cl2").mass, rel=1e-5)
    assert listed("muriatic").times == 1.0


def test_eyewash_for_fifteen_minutes_at_four_tenths_of_a_gallon_is_six_gallons() -> None:
    """ANSI Z358.1 as quoted by a state rule."""
    assert read("0.4 gpm", "flow") * read("15 min", "time") == pytest.approx(limit_rows()["eyewash_volume"].value)


@pytest.mark.parametrize(
    ("trade", "gravity"), [(5.25, 1.072), (10.0, 1.134), (12.5, 1.167), (15.0, 1.199)]
)  # fmt: skip
def test_bleach_weighs_what_its_table_says(trade: float, gravity: float) -> None:
    """SG at 20 C with 0.2 wt % of caustic, from the chemistry page; water there is 998.2 kg/m3."""
    assert density_of("hypochlorite", 10.0 * trade) == pytest.approx(gravity * 998.2, abs=1.0)


def test_acid_of_31_45_percent_weighs_9_647_lb_a_gallon() -> None:
    found = density_of("muriatic", 0.3145 * 1156.0)
    assert found is not None
    assert found * GALLON / POUND == pytest.approx(9.647, abs=0.002)


@pytest.mark.parametrize("share", [0.0, 0.02, 0.05, 0.08, 0.15, 0.25, 0.35, 0.45, 0.5])
def test_caustic_weighs_what_laliberte_says(share: float) -> None:
    electrochem = pytest.importorskip("thermo.electrochem")
    exact = electrochem.Laliberte_density(293.15, [max(share, 1e-12)], ["1310-73-2"])
    found = density_of("caustic", min(share * exact, 758.15))
    assert found == pytest.approx(exact, rel=0.005)


def test_what_nobody_measured_has_no_density() -> None:
    assert density_of("surfactant", 100.0) is None
    assert density_of("caustic", 2000.0) is None
    assert density_of("muriatic", 900.0) is None


@pytest.mark.parametrize(
    ("volume", "holds", "count"), [(0.0, 5.0, 1), (5.0, 5.0, 1), (5.0 + 1e-12, 5.0, 1), (5.1, 5.0, 2), (15.0, 5.0, 3)]
)
def test_so_many_containers_carry_it(volume: float, holds: float, count: int) -> None:
    assert transport.containers(volume, holds) == count


def test_a_container_that_holds_nothing_carries_nothing() -> None:
    with pytest.raises(ValueError, match="holds"):
        transport.containers(1.0, 0.0)
    with pytest.raises(ValueError, match="no container"):
        transport.tare(1.0, [])


def test_larger_containers_weigh_more_and_every_row_has_its_source() -> None:
    assert all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(tares()))
    assert transport.tare(5 * GALLON, tares()) == transport.tare(4 * GALLON, tares())
    assert transport.tare(5.01 * GALLON, tares()) > transport.tare(5 * GALLON, tares())
    assert transport.tare(1e6, tares()) == tares()[-1][1]
    assert all(len(row["source"]) >= len("from memory") for row in rows("transport", "tares"))


@pytest.mark.parametrize(
    ("chemical", "un"), [("hypochlorite", "1791"), ("muriatic", "1789"), ("oxalic", "3261"), ("percarbonate", "3378")]
)
def test_the_road_calls_it_by_its_number(chemical: str, un: str) -> None:
    assert listed(chemical).un == un


def test_the_density_of_an_unknown_stock_is_on_the_heavy_side() -> None:
    for chemical, usual in (("hypochlorite", 141.0), ("muriatic", 363.6)):
        known = density_of(chemical, usual)
        assert known is not None
        heavy = CHEMICALS[chemical].solution.heaviest
        assert heavy is not None
        assert heavy > known


@given(st.sampled_from(["hypochlorite", "muriatic", "caustic"]), st.floats(0.0, 150.0), st.floats(0.1, 8.0))
def test_stronger_stock_is_heavier(chemical: str, strength: float, more: float) -> None:
    weak, strong = (density_of(chemical, one) for one in (strength, strength + more))
    assert weak is not None
    assert strong is not None
    assert weak < strong


def test_water_to_leave_out_is_what_is_too_much() -> None:
    assert transport.water_less(998.2071) == pytest.approx(1.0)
    assert transport.water_less(-5.0) == 0.0
    assert pytest.approx(998.2071) == WATER_AT_ROOM
