"""Strengths: the trade's percents are told apart, and a bare one never guessed at."""

from __future__ import annotations

import pytest

from planner.inputs.reading.strengths import UNITS, read_strength, stock_slip
from planner.inputs.tables.chemicals import CHEMICALS
from planner.plan.mix.lots import active
from planner.units import Unreadable

pytestmark = pytest.mark.short


@pytest.mark.parametrize(
    ("text", "amount", "basis"),
    [
        ("12.5 trade %", 12.5, "trade"),
        ("12.5% trade", 12.5, "trade"),
        ("12.5 wt % NaOCl", 12.5, "wt_naocl"),
        ("12 wt % Cl2", 12.0, "wt_cl2"),
        ("120 g/L Cl2", 120.0, "g_l_cl2"),
        ("31.45 wt %", 31.45, "wt"),
        ("20 degBe", 20.0, "degbe"),
        ("20 °Be", 20.0, "degbe"),
        ("15 vol %", 15.0, "vol"),
        ("1.5 N", 1.5, "normal"),
        ("1 %", 1.0, "bare"),
        ("1:10", 100 / 11, "vol"),
        ("1:20 by volume", 100 / 21, "vol"),
    ],
)
def test_every_way_of_writing_a_strength_reads(text: str, amount: float, basis: str) -> None:
    strength = read_strength(text)
    assert (strength.amount, strength.basis) == (pytest.approx(amount), basis)


@pytest.mark.parametrize("text", ["12.5", "strong", "-1 %", "0 %", "120 trade %", "101 wt %", "1 % of it", "", "1e3 %"])
def test_what_is_no_strength_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(Unreadable) as refused:
        read_strength(text)
    assert refused.value.code.startswith("strength.")
    assert "`" in refused.value.remedy


def test_a_bare_percent_on_a_drum_is_explained() -> None:
    slip = stock_slip(read_strength("12.5 %"), "hypochlorite")
    assert slip is not None
    code, message, remedy = slip
    assert code == "strength.bare"
    assert len(message) < 90
    assert "get its data sheet: guessed wrong, the mix can be a fifth too strong" in remedy
    assert "12.5 trade %" in remedy


def test_each_chemical_takes_its_own_percents() -> None:
    assert stock_slip(read_strength("31.45 wt %"), "muriatic") is None
    assert stock_slip(read_strength("20 degBe"), "muriatic") is None
    assert stock_slip(read_strength("20 degBe"), "hypochlorite") is not None
    assert stock_slip(read_strength("12.5 trade %"), "muriatic") is not None


def test_nothing_is_stronger_than_chemistry_has_it() -> None:
    for chemical in ("muriatic", "caustic"):
        for basis, most in CHEMICALS[chemical].label.most.items():
            unit = UNITS[basis]
            assert active(read_strength(f"{most} {unit}"), chemical) is not None
            assert stock_slip(read_strength(f"{most} {unit}"), chemical) is None
            slip = stock_slip(read_strength(f"{most * 1.03:.4g} {unit}"), chemical)
            assert slip is not None
            assert slip[0] == "strength.range"
