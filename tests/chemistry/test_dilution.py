"""Batches: need, tankfuls, heel, stock, water and soap."""

from __future__ import annotations

from math import ceil

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.chemistry import acids
from planner.chemistry.dilution import (
    DRY,
    Covered,
    Heel,
    Premix,
    batch_count,
    highest_strength,
    need,
    premix,
)
from tests.sampled import examples

GALLON = 3.785411784e-3
SQUARE_FOOT = 0.09290304
A_HAIR = 2e-9  # stock that needs all the room but a billionth still has soap beside it


def gallons(
    amount: float,
    target: float,
    stock: float,
    *,
    tank: float = 100,
    dead: float = 0,
    heel: tuple[float, float] = (0, 0),
    soap: float = 0,
) -> Premix:
    """A premix written as a washer would: gallons and trade %."""
    return premix(
        need=amount * GALLON,
        target=10 * target,
        stock_strength=10 * stock,
        tank_volume=tank * GALLON,
        dead_volume=dead * GALLON,
        heel=Heel(volume=heel[0] * GALLON, strength=10 * heel[1]),
        soap_share=soap,
    )


@pytest.mark.parametrize(
    ("target", "stock", "pour", "water"),
    [(1, 12.5, 8.0, 92.0), (3, 12.5, 24, 76), (3, 9.46, 31.7, 68.3)],
)
def test_a_hundred_gallons(target: float, stock: float, pour: float, water: float) -> None:
    made = gallons(100, target, stock)
    assert made.stock / GALLON == pytest.approx(pour, abs=0.05)
    assert made.water / GALLON == pytest.approx(water, abs=0.05)


def test_the_roof_job_with_a_strong_heel() -> None:
    # 48 gal on the roof and 15 % spare, 1 gal out of reach, 2 gal of 3 % left in the tank, stock tested 10.0.
    made = gallons(48 * 1.15, 3.5, 10.0, dead=1, heel=(2, 3))
    (batch,) = made.batches
    assert batch.mix / GALLON == pytest.approx(56.2)
    assert batch.stock / GALLON == pytest.approx(19.0, abs=0.1)
    without = gallons(48 * 1.15, 3.5, 10.0, dead=1)
    assert without.stock / GALLON == pytest.approx(19.6, abs=0.1)


def test_the_brick_wall_pours_one_part_of_acid_to_ten_of_water() -> None:
    # 9.2 gal by volume percent: the target is that share of the jug's own strength, .84 acid + 8.4 water.
    jug = acids.from_label(31.45, "wt")
    made = premix(
        need=9.2,
        target=jug * 1 / 11,
        stock_strength=jug,
        tank_volume=15,
        dead_volume=0,
    )
    assert made.stock == pytest.approx(0.84, abs=0.005)
    assert made.water == pytest.approx(8.4, abs=0.05)


def test_need_is_area_over_coverage_and_fifteen_percent() -> None:
    wall = Covered(area=3195 * SQUARE_FOOT, coverage=45 * SQUARE_FOOT / GALLON)
    assert need([wall]) / GALLON == pytest.approx(71 * 1.15)
    assert need([wall, wall], spare=0) / GALLON == pytest.approx(142)
    assert need([]) == 0
    with pytest.raises(ValueError, match="coverage of 0"):
        need([Covered(area=1, coverage=0)])


@pytest.mark.parametrize(
    ("amount", "batches"), [(0, 0), (1, 1), (98.99, 1), (99, 1), (99.001, 2), (198, 2), (297, 3), (300, 4)]
)
def test_batches_are_the_fewest_equal_tankfuls(amount: float, batches: int) -> None:
    made = gallons(amount, 1, 12.5, dead=1)
    assert len(made.batches) == batches
    assert len({round(batch.mix, 12) for batch in made.batches}) <= 1


def test_float_noise_never_adds_a_tankful() -> None:
    usable = 0.1 + 0.2
    assert batch_count(usable * 3 * (1 + 1e-15), usable, 0) == 3
    assert batch_count(0.9000001 * usable / 0.3, usable, 0) == ceil(0.9000001 / 0.3)


def test_soap_counts_as_diluent() -> None:
    plain, soapy = gallons(50, 3, 12.5), gallons(50, 3, 12.5, soap=0.008)
    assert soapy.stock == pytest.approx(plain.stock)
    assert soapy.soap == pytest.approx(0.008 * 50 * GALLON)
    assert soapy.water == pytest.approx(plain.water - soapy.soap)
    assert soapy.highest == pytest.approx(125 * 0.992)
    assert highest_strength(125, 0.008) == soapy.highest
    assert highest_strength(125) == 125
    assert (DRY.volume, DRY.strength) == (0, 0)


def test_soap_left_in_the_heel_is_not_dosed_twice() -> None:
    made = gallons(180, 3, 12.5, dead=5, soap=0.01)
    assert len(made.batches) == 2
    first, second = made.batches
    assert first.soap == pytest.approx(0.01 * first.mix)
    assert second.soap == pytest.approx(0.01 * (second.mix - 5 * GALLON))


def test_between_batches_the_heel_is_dead_volume_of_mix() -> None:
    made = gallons(180, 3, 12.5, dead=5)
    second = made.batches[1]
    assert second.heel.volume == pytest.approx(5 * GALLON)
    assert second.heel.strength == 30
    assert second.stock == pytest.approx((second.mix - 5 * GALLON) * 3 / 12.5)


def test_a_strong_heel_is_thinned_until_no_stock_is_needed() -> None:
    made = gallons(10, 1, 12.5, heel=(8, 3))
    (batch,) = made.batches
    assert batch.mix / GALLON == pytest.approx(24)
    assert batch.stock == pytest.approx(0, abs=1e-15)
    assert batch.water / GALLON == pytest.approx(16)


def test_a_weak_heel_is_strengthened_until_no_water_is_needed() -> None:
    # h (Cs - Ch) / (Cs - Ct) = 30 (12.5 - 0) / (12.5 - 4)
    made = gallons(20, 4, 12.5, heel=(30, 0))
    (batch,) = made.batches
    assert batch.mix / GALLON == pytest.approx(30 * 12.5 / 8.5)
    assert batch.water == pytest.approx(0, abs=1e-15)


def test_a_heel_that_makes_too_much_says_drain_first() -> None:
    assert gallons(20, 1, 12.5, heel=(40, 3)).overflow
    assert not gallons(20, 1, 12.5, heel=(33, 3)).overflow


def test_exactly_a_full_tank_fits() -> None:
    made = gallons(99, 1, 12.5, dead=1)
    assert made.batches[0].mix / GALLON == pytest.approx(100)
    assert not made.overflow


@pytest.mark.parametrize(
    ("target", "soap", "reachable"),
    [(12.5, 0, True), (12.4, 0.008, True), (12.41, 0.008, False), (12.6, 0, False), (13, 0, False)],
)
def test_the_highest_strength_is_reached_and_not_a_hair_more(target: float, soap: float, reachable: bool) -> None:
    made = gallons(50, target, 12.5, soap=soap)
    assert made.reachable is reachable
    assert bool(made.batches) is reachable


def test_neat_stock_over_water_cannot_be_made() -> None:
    assert not gallons(50, 12.5, 12.5, heel=(1, 0)).reachable
    assert gallons(50, 12.5, 12.5, heel=(1, 12.5)).reachable


def test_a_strong_heel_may_lift_weak_stock_but_only_so_far() -> None:
    assert gallons(10, 3, 2.5, heel=(8, 4)).reachable
    assert not gallons(40, 3, 2.5, heel=(8, 4)).reachable


def test_soap_in_a_first_heel_leaves_less_to_dose_and_less_room_to_strengthen_it() -> None:
    made = premix(
        need=1.0,
        target=40,
        stock_strength=125,
        tank_volume=4.0,
        dead_volume=0.0,
        heel=Heel(volume=2.0, strength=0, soap=0.02),
        soap_share=0.02,
    )
    (batch,) = made.batches
    # V (125 x .98 - 40) = 2 x 125 x .98
    assert batch.mix == pytest.approx(2 * 125 * 0.98 / (125 * 0.98 - 40))
    assert batch.water == pytest.approx(0, abs=1e-12)
    assert batch.soap == pytest.approx(0.02 * (batch.mix - 2))


def test_a_heel_with_too_much_soap_is_thinned() -> None:
    made = premix(
        need=0.1,
        target=10,
        stock_strength=125,
        tank_volume=4.0,
        dead_volume=0.0,
        heel=Heel(volume=0.5, strength=10, soap=0.03),
        soap_share=0.01,
    )
    assert made.batches[0].mix == pytest.approx(1.5)
    assert made.batches[0].soap == pytest.approx(0, abs=1e-12)


def test_nothing_needed_still_says_whether_the_strength_could_be_reached() -> None:
    assert gallons(0, 12.5, 12.5).reachable
    assert not gallons(0, 12.51, 12.5).reachable
    assert gallons(0, 1, 12.5).heel == 0


def test_dead_stock_makes_nothing() -> None:
    made = gallons(40, 1, 0)
    assert not made.reachable
    assert made.batches == ()
    assert made.mix == 0


def test_additions_are_water_then_stock_then_soap_up_to_the_mix() -> None:
    (batch,) = gallons(50, 3, 12.5, heel=(2, 1), soap=0.008).batches
    assert [addition.what for addition in batch.additions] == ["water", "stock", "soap"]
    level = batch.heel.volume
    for addition in batch.additions:
        level += addition.volume
        assert addition.contents == pytest.approx(level, rel=1e-12)
    assert level == pytest.approx(batch.mix, rel=1e-12)


def test_a_tank_that_gives_nothing_and_a_mix_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="gives nothing"):
        gallons(10, 1, 12.5, tank=5, dead=5)
    with pytest.raises(ValueError, match="no mix of 0"):
        gallons(10, 0, 12.5)
    with pytest.raises(ValueError, match="with soap 1"):
        gallons(10, 1, 12.5, soap=1)


SIZES = st.floats(0.02, 2)


@pytest.mark.ci
@given(
    wanted=st.floats(0.001, 3),
    target=st.floats(1, 80),
    stock=st.floats(20, 160),
    tank=SIZES,
    dead=st.floats(0, 0.5),
    heel=st.floats(0, 1),
    heel_strength=st.floats(0, 160),
    soap=st.floats(0, 0.05),
)
@settings(max_examples=examples(150), deadline=None, derandomize=True, database=None)
def test_volumes_balance_active_is_conserved_and_nothing_is_negative(
    wanted: float,
    target: float,
    stock: float,
    tank: float,
    dead: float,
    heel: float,
    heel_strength: float,
    soap: float,
) -> None:
    assume(wanted / (tank * (1 - dead)) < 60)
    before = Heel(volume=heel * tank, strength=heel_strength) if heel > 0.1 else DRY
    made = premix(
        need=wanted,
        target=target,
        stock_strength=stock,
        tank_volume=tank,
        dead_volume=dead * tank,
        heel=before,
        soap_share=soap,
    )
    assume(made.batches)
    assert made.reachable
    for batch in made.batches:
        assert min(batch.stock, batch.water, batch.soap) >= 0
        parts = batch.heel.volume + batch.stock + batch.water + batch.soap
        assert parts == pytest.approx(batch.mix, rel=A_HAIR)
        active = batch.stock * stock + batch.heel.volume * batch.heel.strength
        assert active / batch.mix == pytest.approx(target, rel=1e-9)
        assert batch.soap + batch.heel.volume * batch.heel.soap == pytest.approx(soap * batch.mix, rel=1e-9)
        assert batch.overflow == (batch.mix > tank * (1 + 1e-9))
    assert made.heel + made.stock + made.water + made.soap == pytest.approx(made.mix, rel=A_HAIR)
    active_in = made.stock * stock + before.volume * before.strength
    assert active_in == pytest.approx(target * made.mix, rel=1e-9)
    usable = sum(batch.mix - dead * tank for batch in made.batches)
    assert usable >= wanted * (1 - 1e-9)


@given(wanted=st.floats(0.001, 3), target=st.floats(1, 80), extra=st.floats(0, 100), tank=SIZES)
def test_a_dry_tank_never_overflows(wanted: float, target: float, extra: float, tank: float) -> None:
    assume(wanted / tank < 60)
    made = premix(need=wanted, target=target, stock_strength=target + extra, tank_volume=tank, dead_volume=0.02 * tank)
    assert made.reachable
    assert not made.overflow
    usable = sum(batch.mix - 0.02 * tank for batch in made.batches)
    assert usable == pytest.approx(wanted, rel=1e-9)


@given(heel=st.floats(0.01, 0.9), heel_strength=st.floats(0, 160), target=st.floats(1, 80))
def test_the_contract_bounds_are_kept_and_are_the_smallest_that_work(
    heel: float, heel_strength: float, target: float
) -> None:
    stock = 125.0
    made = premix(
        need=0.05,
        target=target,
        stock_strength=stock,
        tank_volume=1.0,
        dead_volume=0.01,
        heel=Heel(volume=heel, strength=heel_strength),
    )
    contract = max(0.06, heel * heel_strength / target, heel * (stock - heel_strength) / (stock - target), heel)
    assert made.batches[0].mix == pytest.approx(contract, rel=1e-9)
