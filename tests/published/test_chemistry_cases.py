"""The project's chemistry check cases: inputs, expected values, tolerance and source as they stand in the JSON."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from planner.chemistry import acids, hypochlorite
from planner.chemistry.dilution import premix
from planner.chemistry.dosing import injector, injector_strength
from planner.chemistry.heat import temperature_rise
from planner.chemistry.hypochlorite import ionic_strength, rate_constant
from planner.chemistry.neutralising import Agent, neutralise
from planner.chemistry.washout import stirred_volume

CASES: dict[str, dict[str, Any]] = {
    case["id"]: case for case in json.loads((Path(__file__).parent / "chemistry_cases.json").read_text("utf-8"))
}
GALLON = 3.785411784e-3
POUND = 0.45359237
DAY = 86400.0


def check(identity: str, ours: dict[str, float | list[float]], **tighter: float) -> None:
    """Every expected figure, each within the case's own tolerance; nothing expected may be left out."""
    case = CASES[identity]
    assert ours.keys() == case["expected"].keys()
    for name, expected in case["expected"].items():
        wanted = (
            pytest.approx(expected, abs=tighter[name])
            if name in tighter
            else pytest.approx(expected, rel=case["tolerance"]["rel"])
        )
        assert ours[name] == wanted, f"{identity} {name}: {case['source']}"


def test_no_case_is_left_out() -> None:
    here = Path(__file__).read_text("utf-8")
    assert [identity for identity in CASES if f'"{identity}"' not in here] == []


def test_12_5_trade_percent_on_every_scale() -> None:
    strength = hypochlorite.from_label(12.5, "trade", 0.002)
    check(
        "SH-01",
        {
            "available_cl2_g_per_L": strength,
            "naocl_g_per_L": hypochlorite.NAOCL_PER_CL2 * strength,
            "molarity": hypochlorite.molarity(strength),
            "sg_20C": hypochlorite.specific_gravity(strength, 0.002),
            "wt_pct_available_cl2": hypochlorite.to_wt_cl2(strength, 0.002),
            "wt_pct_naocl": hypochlorite.to_wt_naocl(strength, 0.002),
            "lb_cl2_per_gal": strength * GALLON / POUND,
            "lb_solution_per_gal": hypochlorite.density(strength, 0.002) * GALLON / POUND,
        },
        sg_20C=0.005,
    )


def test_half_life_at_25_c() -> None:
    mu = ionic_strength(125, 0.003)
    rate = rate_constant(mu, 298.15)
    check(
        "DEC-01",
        {
            "ionic_strength_M": mu,
            "k2_per_M_s": rate,
            "k2_per_M_day": rate * DAY,
            "half_life_days": 1 / (rate * hypochlorite.molarity(125)) / DAY,
        },
    )


def test_a_hundred_gallons_from_12_5_trade_percent() -> None:
    made = [premix(need=100, target=target, stock_strength=125, tank_volume=100, dead_volume=0) for target in (10, 30)]
    check("DIL-01", {"stock_gal": [m.stock for m in made], "water_gal": [m.water for m in made]})


def test_the_descaling_bath() -> None:
    bath = acids.diluted(0.3145, 0.15)
    check(
        "HCL-01",
        {
            "wt_pct": 100 * bath.mass_fraction,
            "density_kg_m3": bath.density,
            "normality": bath.normality,
            "g_HCl_per_L": bath.strength,
            "contraction_pct": 100 * (1 - bath.volume),
            "temp_rise_K": temperature_rise(0.3145, 0.15).nominal,
        },
        contraction_pct=0.005,
        temp_rise_K=0.7,
    )


def test_a_ten_to_one_injector() -> None:
    strongest = [injector_strength(stock, 10) / 10 for stock in (125.0, 94.6)]
    check(
        "INJ-01",
        {
            "strength": strongest,
            "if_misread_as_10_pct_of_total": [stock * 0.10 for stock in (12.5, 9.46)],
            "stock_needed_for_1pct": injector(target=10, stock_strength=125, water_to_stock=10).stock_strength_needed
            / 10,
        },
    )


def test_dechlorinating_five_gallons_of_one_percent() -> None:
    def taken(name: str, dose: float) -> Any:
        agent = Agent(name=name, dose=dose, stoichiometric=None, source="AWWA field guide, table 7-2")
        return neutralise(volume=5 * GALLON, strength=10, agent=agent)

    thiosulfate = taken("thiosulfate", 1.9)
    check(
        "DCL-01",
        {
            "cl2_lb": thiosulfate.active / POUND,
            "thiosulfate_lb": thiosulfate.agent / POUND,
            "sulfite_lb": taken("sulfite", 1.96).agent / POUND,
            "bisulfite_lb": taken("bisulfite", 1.61).agent / POUND,
            "ascorbic_lb": taken("ascorbic", 2.5).agent / POUND,
            "thiosulfate_to_carry_lb": thiosulfate.carry / POUND,
        },
    )


def test_what_the_bath_dissolves() -> None:
    bath = acids.diluted(0.3145, 0.15)
    carbonate = bath.strength * 100.087 / (2 * 36.4608)
    # A mole of gas fills 24.465 L at 25 C and 24.055 L at 20 C; the case's figure needs the former for CO2.
    carbon_dioxide = carbonate / 100.087 * 24.465
    hydrogen = bath.strength / 36.4608 / 2 * 24.465 * 3.785411784
    check(
        "BATH-01",
        {
            "caco3_g_per_L": carbonate,
            "caco3_lb_per_gal": carbonate * GALLON / POUND,
            "co2_L_per_L": carbon_dioxide,
            "max_H2_L_per_gal_if_all_on_zinc": hydrogen,
        },
    )


def test_washing_out_a_stirred_volume() -> None:
    check("FL-01", {"v_over_v0": [stirred_volume(1, 30.0, 0.004) or 0, stirred_volume(1, 30.0, 0.0001) or 0]})


def test_what_transport_rules_weigh() -> None:
    # The two limits are the regulation's own and are only repeated; what is ours is how stock weighs.
    per_gallon = hypochlorite.density(125, 0.002) * GALLON / POUND
    naocl_per_gallon = hypochlorite.NAOCL_PER_CL2 * 125 * GALLON / POUND
    check(
        "REG-01",
        {
            "mot_gal_per_package": 8,
            "mot_lb_per_vehicle": 440,
            "max_gal_at_440lb_liquid_only": 440 / per_gallon,
            "gal_holding_100lb_naocl": 100 / naocl_per_gallon,
        },
    )
