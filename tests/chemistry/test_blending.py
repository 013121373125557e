"""One mix from several lots: nothing of active or volume is lost, the oldest goes first, the target is hit."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chemistry import dilution
from planner.chemistry.dilution import Source
from tests.sampled import examples

PROPERTY = settings(max_examples=examples(200), deadline=None)
LOTS = st.lists(st.tuples(st.floats(40.0, 160.0), st.floats(0.0, 0.05)), min_size=1, max_size=5)


def sources(lots: list[tuple[float, float]]) -> list[Source]:
    return [Source(strength=strength, volume=volume) for strength, volume in lots]


def test_the_oldest_is_emptied_and_the_next_gives_the_rest() -> None:
    # 3 kg: 10 L of 100 g/L are one of them, 16.67 L of 120 g/L the other two.
    taken = dilution.take([Source(strength=100.0, volume=0.010), Source(strength=120.0, volume=0.100)], 3.0)
    assert taken.volumes == (0.010, pytest.approx(2.0 / 120.0))
    assert taken.short == 0.0


def test_what_they_do_not_hold_together_stands_with_the_last_and_is_told() -> None:
    taken = dilution.take([Source(strength=100.0, volume=0.010), Source(strength=120.0, volume=0.010)], 3.0)
    assert taken.volumes[0] == 0.010
    assert taken.volumes[1] == pytest.approx(2.0 / 120.0)
    assert taken.short == pytest.approx(2.0 / 120.0 - 0.010)


@given(LOTS, st.floats(0.0, 20.0))
@PROPERTY
def test_any_split_keeps_the_active_and_opens_no_lot_before_the_one_ahead_is_empty(
    lots: list[tuple[float, float]], active: float
) -> None:
    given_lots = sources(lots)
    taken = dilution.take(given_lots, active)
    gives = sum(volume * source.strength for volume, source in zip(taken.volumes, given_lots, strict=True))
    assert gives == pytest.approx(active, rel=1e-9, abs=1e-12)
    held = list(taken.volumes)
    held[-1] -= taken.short
    for place, (volume, source) in enumerate(zip(held, given_lots, strict=True)):
        assert -1e-15 <= volume <= source.volume * (1.0 + 1e-9) + 1e-15
        if any(later > 1e-12 for later in held[place + 1 :]):
            assert volume == pytest.approx(source.volume, rel=1e-9)


@pytest.mark.ci
@given(
    LOTS,
    st.floats(0.02, 0.9),
    st.floats(5.0, 60.0),
    st.floats(0.0, 0.02),
    st.one_of(st.none(), st.tuples(st.floats(0.001, 0.05), st.floats(1.0, 60.0))),
)
@PROPERTY
def test_any_tankfuls_from_any_lots_add_up_and_hit_their_target(
    lots: list[tuple[float, float]], need: float, target: float, soap: float, heel: tuple[float, float] | None
) -> None:
    under = dilution.Heel(volume=heel[0], strength=heel[1]) if heel is not None else dilution.DRY
    given_lots = sources(lots)
    blended = dilution.blended(
        need=need, target=target, sources=given_lots, tank_volume=0.2, dead_volume=0.004, heel=under, soap_share=soap
    )
    alone = [
        dilution.premix(
            need=need, target=target, stock_strength=source.strength, tank_volume=0.2, dead_volume=0.004, heel=under,
            soap_share=soap,
        ).reachable
        for source in given_lots
    ]  # fmt: skip
    if all(alone):
        # Lots that each get there alone get there together.
        assert blended.premix.reachable
    below = under
    poured = [0.0] * len(given_lots)
    for batch, pour in zip(blended.premix.batches, blended.pours, strict=True):
        assert batch.stock == pytest.approx(sum(pour), rel=1e-9, abs=1e-15)
        whole = batch.stock + batch.water + batch.soap + batch.heel.volume
        assert whole == pytest.approx(batch.mix, rel=1e-9)
        active = sum(volume * source.strength for volume, source in zip(pour, given_lots, strict=True))
        assert active + below.volume * below.strength == pytest.approx(batch.mix * target, rel=1e-9)
        poured = [sum(pair) for pair in zip(poured, pour, strict=True)]
        below = dilution.Heel(volume=0.004, strength=target)
    poured[-1] -= blended.short
    for volume, source in zip(poured, given_lots, strict=True):
        assert volume <= source.volume * (1.0 + 1e-9) + 1e-12


def test_one_uncounted_lot_is_the_plain_premix() -> None:
    plain = dilution.premix(need=0.2, target=30.0, stock_strength=118.0, tank_volume=0.38, dead_volume=0.004)
    blended = dilution.blended(
        need=0.2, target=30.0, sources=[Source(strength=118.0, volume=inf)], tank_volume=0.38, dead_volume=0.004
    )
    assert blended.premix == plain


def test_two_lots_of_one_strength_make_the_batches_of_one() -> None:
    plain = dilution.premix(need=0.9, target=30.0, stock_strength=100.0, tank_volume=0.38, dead_volume=0.004)
    split = [Source(strength=100.0, volume=0.05), Source(strength=100.0, volume=inf)]
    blended = dilution.blended(need=0.9, target=30.0, sources=split, tank_volume=0.38, dead_volume=0.004)
    assert [batch.mix for batch in blended.premix.batches] == [batch.mix for batch in plain.batches]
    assert blended.premix.stock == pytest.approx(plain.stock, rel=1e-12)
    # The first drum is empty within the first batch and is not opened again.
    assert blended.pours[0][0] == 0.05
    assert blended.pours[1][0] == 0.0


def test_nothing_comes_of_no_lots() -> None:
    with pytest.raises(ValueError, match="no stock"):
        dilution.blended(need=0.1, target=10.0, sources=[], tank_volume=0.2, dead_volume=0.0)
    with pytest.raises(ValueError, match="0 sources"):
        dilution.take([], 1.0)
    with pytest.raises(ValueError, match="1 sources"):
        dilution.take([Source(strength=0.0)], 1.0)


def test_a_weak_heel_that_makes_the_tankful_large_still_adds_up() -> None:
    lots = sources([(40.0, 0.03125), (40.0, 0.03125), (40.0, 0.046875), (51.0, 0.0)])
    heel = dilution.Heel(volume=0.03125, strength=1.0)
    blended = dilution.blended(need=0.59375, target=33.0, sources=lots, tank_volume=0.2, dead_volume=0.004, heel=heel)
    first, pour = blended.premix.batches[0], blended.pours[0]
    active = sum(volume * lot.strength for volume, lot in zip(pour, lots, strict=True))
    assert first.stock == pytest.approx(sum(pour), rel=1e-12)
    assert active + 0.03125 * 1.0 == pytest.approx(first.mix * 33.0, rel=1e-12)


@pytest.mark.ci
@PROPERTY
@given(strength=st.floats(50.0, 130.0), active=st.floats(0.1, 100.0))
def test_no_second_lot_is_opened_for_a_float_s_breadth(strength: float, active: float) -> None:
    taken = dilution.take([Source(strength=strength), Source(strength=90.0)], active)
    assert taken.volumes[1] == 0.0
    # 0.3 kg of 71.3 g/L leaves a remainder in binary floats of some such pairs: all of a row is tried.
    for step in range(200):
        assert dilution.take([Source(strength=50.0 + step / 3.0), Source(strength=90.0)], active).volumes[1] == 0.0
