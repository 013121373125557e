"""A tank over time: closed forms, balances over random schedules, and an integrator of another kind."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from planner.physics.tanks import (
    NOISE,
    Spell,
    drawn,
    dry_at,
    filling,
    missing,
    stretches,
    supplied,
)
from tests.sampled import examples

GALLON = 231 * 0.0254**3
MILLILITRE = 1e-6

flows = st.one_of(st.just(0.0), st.floats(1e-6, 2e-3))
spells = st.lists(st.builds(Spell, seconds=st.floats(0.0, 7200.0), draw=flows, fill=flows), min_size=1, max_size=25)
tanks = st.tuples(st.floats(0.05, 4.0), st.floats(0.0, 0.9), st.floats(0.0, 1.0)).map(
    lambda t: (t[0], t[0] * t[1], t[0] * t[2])
)


def test_a_full_tank_drains_in_its_usable_volume_over_the_net_draw() -> None:
    """269 gal over 5.5 gal/min: 48.9 min; with 4 gal/min running in, 269 / 1.5 min. Closed form."""
    volume, dead, draw = 275 * GALLON, 6 * GALLON, 5.5 * GALLON / 60
    alone = stretches([Spell(seconds=5400.0, draw=draw, fill=0.0)], volume, volume, dead)
    assert dry_at(alone) == pytest.approx(269 / 5.5 * 60, rel=1e-12)
    filled = stretches([Spell(seconds=20000.0, draw=draw, fill=4 * GALLON / 60)], volume, volume, dead)
    assert dry_at(filled) == pytest.approx(269 / 1.5 * 60, rel=1e-12)
    after = filled[-1]
    assert after.outflow == after.inflow == pytest.approx(4 * GALLON / 60)
    assert after.level_after == dead


def test_a_tank_fills_in_its_room_over_the_net_fill_and_no_more() -> None:
    volume = 275 * GALLON
    pieces = stretches([Spell(seconds=3600.0, draw=1e-4, fill=4e-4)], 100 * GALLON, volume, 0.0)
    assert pieces[0].seconds == pytest.approx(175 * GALLON / 3e-4, rel=1e-12)
    assert pieces[-1].level_after == volume
    assert pieces[-1].inflow == pieces[-1].outflow == 1e-4


def test_a_tank_drawn_down_exactly_to_its_outlet_is_not_dry_and_one_litre_more_is() -> None:
    for gallons in (10.0, 33.3, 94.0):
        seconds = gallons * GALLON / (5.5 * GALLON / 60)
        just = stretches(
            [Spell(seconds=seconds, draw=5.5 * GALLON / 60, fill=0.0)], (gallons + 6) * GALLON, 1.0, 6 * GALLON
        )
        assert dry_at(just) is None
        assert just[-1].level_after == pytest.approx(6 * GALLON, abs=MILLILITRE)
        more = stretches(
            [Spell(seconds=seconds, draw=5.5 * GALLON / 60 + 1e-3 / seconds, fill=0.0)],
            (gallons + 6) * GALLON,
            1.0,
            6 * GALLON,
        )
        assert dry_at(more) is not None
        assert missing(more) == pytest.approx(1e-3, abs=1e-9)


def test_below_its_outlet_a_tank_gives_nothing_until_it_has_filled_that_far() -> None:
    pieces = stretches([Spell(seconds=100.0, draw=1e-4, fill=2e-4)], 0.01, 1.0, 0.02)
    assert pieces[0].outflow == 0.0
    assert pieces[0].seconds == pytest.approx(50.0)
    assert pieces[1].outflow == 1e-4
    assert missing(pieces) == pytest.approx(50.0 * 1e-4)
    assert dry_at(pieces) == 0.0


def test_times_of_filling_join_across_changes_and_over_short_gaps() -> None:
    schedule = [
        Spell(seconds=60.0, draw=2e-4, fill=1e-4),
        Spell(seconds=60.0, draw=1e-4, fill=1e-4),
        Spell(seconds=30.0, draw=1e-4, fill=0.0),
        Spell(seconds=60.0, draw=0.0, fill=1e-4),
    ]
    pieces = stretches(schedule, 0.5, 1.0, 0.0, start=-60.0)
    assert filling(pieces) == ((-60.0, 60.0), (90.0, 150.0))
    assert filling(pieces, gap=30.0) == ((-60.0, 150.0),)


@given(tank=tanks, schedule=spells)
def test_what_stood_there_and_ran_in_is_what_was_drawn_and_stands_there(
    tank: tuple[float, float, float], schedule: list[Spell]
) -> None:
    volume, dead, level = tank
    pieces = stretches(schedule, level, volume, dead)
    end = pieces[-1].level_after if pieces else level
    assert level + supplied(pieces) - drawn(pieces) == pytest.approx(end, abs=MILLILITRE)
    wanted = sum(spell.draw * spell.seconds for spell in schedule)
    assert drawn(pieces) + missing(pieces) == pytest.approx(wanted, abs=MILLILITRE)
    assert sum(piece.seconds for piece in pieces) == pytest.approx(sum(spell.seconds for spell in schedule))


@pytest.mark.ci
@given(tank=tanks, schedule=spells)
def test_no_level_passes_the_rim_or_falls_below_the_outlet_by_drawing(
    tank: tuple[float, float, float], schedule: list[Spell]
) -> None:
    volume, dead, level = tank
    for piece in stretches(schedule, level, volume, dead):
        assert min(level, dead) - 1e-12 <= piece.level_after <= volume + 1e-12
        assert piece.inflow <= schedule[piece.spell].fill + 1e-18
        assert 0.0 <= piece.missing <= schedule[piece.spell].draw
        if piece.missing > 0.0:
            assert piece.level <= dead


@given(tank=tanks, schedule=spells, extra=st.floats(0.0, 5e-4))
def test_more_fill_never_leaves_less_in_the_tank(
    tank: tuple[float, float, float], schedule: list[Spell], extra: float
) -> None:
    volume, dead, level = tank
    richer = [Spell(seconds=s.seconds, draw=s.draw, fill=s.fill + extra) for s in schedule]
    less, more = stretches(schedule, level, volume, dead), stretches(richer, level, volume, dead)
    assert missing(more) <= missing(less) + NOISE
    if missing(less) <= NOISE and less:
        assert more[-1].level_after >= less[-1].level_after - MILLILITRE


@given(tank=tanks, schedule=spells, at=st.integers(0, 24), share=st.floats(0.01, 0.99))
def test_cutting_a_spell_in_two_changes_nothing(
    tank: tuple[float, float, float], schedule: list[Spell], at: int, share: float
) -> None:
    volume, dead, level = tank
    at %= len(schedule)
    whole = schedule[at]
    halves = [
        Spell(seconds=whole.seconds * share, draw=whole.draw, fill=whole.fill),
        Spell(seconds=whole.seconds * (1 - share), draw=whole.draw, fill=whole.fill),
    ]
    cut = [*schedule[:at], *halves, *schedule[at + 1 :]]
    one, two = stretches(schedule, level, volume, dead), stretches(cut, level, volume, dead)
    assert missing(one) == pytest.approx(missing(two), abs=MILLILITRE)
    if one:
        assert one[-1].level_after == pytest.approx(two[-1].level_after, abs=MILLILITRE)


def _integrated(spell: Spell, level: float, volume: float, dead: float) -> float:
    """The level after a spell by a stepping integrator that stops at the rim and at the outlet."""

    def at_rim(_: float, y: np.ndarray) -> float:
        return float(y[0] - volume)

    def at_outlet(_: float, y: np.ndarray) -> float:
        return float(y[0] - dead)

    at_rim.terminal = at_outlet.terminal = True  # type: ignore[attr-defined]
    at_rim.direction, at_outlet.direction = 1.0, -1.0  # type: ignore[attr-defined]
    rate = spell.fill - spell.draw
    if (rate > 0.0 and level >= volume) or (rate < 0.0 and level <= dead) or spell.seconds == 0.0:
        return level
    solved = solve_ivp(
        lambda _, y: [rate], (0.0, spell.seconds), [level], events=(at_rim, at_outlet), rtol=1e-10, atol=1e-12
    )
    return float(solved.y[0, -1])


@settings(max_examples=examples(25), deadline=None)
@given(schedule=spells)
def test_a_stepping_integrator_with_events_comes_to_the_same_level(schedule: list[Spell]) -> None:
    volume, dead, level = 1.0, 0.02, 0.6
    pieces = stretches(schedule, level, volume, dead)
    for number, spell in enumerate(schedule):
        level = _integrated(spell, level, volume, dead)
        own = [piece for piece in pieces if piece.spell == number]
        if own:
            assert own[-1].level_after == pytest.approx(level, abs=1e-7)


@pytest.mark.parametrize(
    ("spell", "level", "volume", "dead"),
    [
        (Spell(seconds=-1.0, draw=0.0, fill=0.0), 0.5, 1.0, 0.0),
        (Spell(seconds=1.0, draw=-1e-4, fill=0.0), 0.5, 1.0, 0.0),
        (Spell(seconds=1.0, draw=0.0, fill=0.0), 1.5, 1.0, 0.0),
        (Spell(seconds=1.0, draw=0.0, fill=0.0), 0.5, 1.0, 1.1),
    ],
)
def test_what_no_tank_can_be_is_refused(spell: Spell, level: float, volume: float, dead: float) -> None:
    with pytest.raises(ValueError, match="tank"):
        stretches([spell], level, volume, dead)
