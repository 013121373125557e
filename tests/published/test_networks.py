"""Check networks solved once by EPANET 2.2 and written down with every input: networks.json beside this file."""

from __future__ import annotations

import json
from math import log
from pathlib import Path
from typing import Any

import pytest

from planner.physics import tips
from planner.physics.hoses import Hose, straight_head
from planner.physics.lines import Branch, Fluid, Line, Operating, Source, solve
from planner.physics.liquids import GRAVITY
from planner.physics.parts import HosePart, MinorPart, Part
from planner.physics.pumps import HeadPump, centrifugal, diaphragm
from planner.physics.supply import FLOW_TEST_EXPONENT

GPM = 6.30901964e-5
PSI = 6894.757293168
CASES: dict[str, dict[str, Any]] = {
    case["id"]: case
    for case in json.loads((Path(__file__).parent / "networks.json").read_text(encoding="utf-8"))["cases"]
}


def _fluid(inputs: dict[str, Any]) -> Fluid:
    density = inputs["rho_kg_m3"]
    return Fluid(density=density, viscosity=inputs["nu_m2_s"] * density)


def _parts(hoses: list[dict[str, Any]]) -> tuple[Part, ...]:
    parts: list[Part] = []
    for i, hose in enumerate(hoses):
        piece = Hose(bore=hose["ID_m"], length=hose["L_m"], roughness=hose["eps_mm"] / 1000.0)
        parts.append(HosePart(name=f"hose {i}", hose=piece))
        parts.append(MinorPart(name=f"fittings {i}", k=hose["K_minor"], bore=piece.bore))
    return tuple(parts)


def _pump(pump: dict[str, Any], weight: float) -> HeadPump:
    if pump["type"] == "diaphragm_linear":
        # The line through the cut-off and the open flow, carried back to no flow.
        most = pump["open_flow_gpm"]
        shut = pump["cutoff_psi"] * most / (most - pump["flow_at_cutoff_gpm"])
        assert shut == pytest.approx(76.364, abs=5e-4)
        return diaphragm([(0.0, shut * PSI / weight), (most * GPM, 0.0)], cut_off=pump["cutoff_psi"] * PSI)
    points = [tuple(point) for point in pump["points_m3s_m"]]
    if pump["curve_kind"] == "power3":
        return centrifugal(_power_curve(points))
    return centrifugal(points)


def _power_curve(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """EPANET's three-point curve H = a - b Q^c, as the many points a maker would print."""
    (_, top), (q1, h1), (q2, h2) = points
    exponent = log((top - h2) / (top - h1)) / log(q2 / q1)
    slope = (top - h1) / q1**exponent
    return [(q2 * i / 60, top - slope * (q2 * i / 60) ** exponent) for i in range(61)]


def _solved(case: dict[str, Any]) -> Operating:
    inputs = case["inputs"]
    fluid = _fluid(inputs)
    source = inputs["source"]
    assert source["flow_test_k"] == 0.0, "these networks stand on tanks"
    level = source["elevation_or_level_m"] + source["static_head_m"]
    return solve(
        Line(
            source=Source(fluid=fluid, level=level, parts=_parts(inputs["suction"])),
            pump=_pump(inputs["pump"], fluid.density * GRAVITY),
            pump_height=inputs["pump_elevation_m"],
            trunk=_parts(inputs["trunk"]),
            branches=tuple(
                Branch(
                    name=f"run {i}",
                    parts=_parts(branch["hoses"]),
                    coefficient=branch["nozzle_C_m3s_per_sqrt_m"],
                    tip_height=branch["nozzle_z_m"],
                )
                for i, branch in enumerate(inputs["branches"])
            ),
            pumped=fluid,
            sprayed=fluid,
        )
    )


def test_every_kind_of_case_in_the_file_is_tested() -> None:
    assert {case["kind"] for case in CASES.values()} == {"hose_friction", "operating_point", "nozzle_discharge"}


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if case["kind"] == "operating_point"])
def test_the_operating_point_is_epanets(name: str) -> None:
    point = _solved(CASES[name])
    expected = CASES[name]["expected"]["branches"]
    assert len(point.flows) == len(expected)
    for flow, head, wanted in zip(point.flows, point.tip_heads, expected, strict=True):
        assert flow == pytest.approx(wanted["Q_m3_s"], rel=0.005)
        assert head == pytest.approx(wanted["nozzle_total_head_m"], rel=0.01)
    assert not point.cycling
    assert not point.bypassing


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if case["kind"] == "hose_friction"])
def test_the_loss_of_a_hose_is_epanets_within_its_stated_one_percent(name: str) -> None:
    inputs = CASES[name]["inputs"]
    hose = Hose(bore=inputs["hose"]["ID_m"], length=inputs["hose"]["L_m"], roughness=inputs["hose"]["eps_mm"] / 1000.0)
    lost = straight_head(hose, inputs["Q_m3_s"], inputs["nu_m2_s"])
    assert lost == pytest.approx(CASES[name]["expected"]["headloss_m"], rel=0.01)


def test_nozzles_discharge_what_the_network_file_prints() -> None:
    case = CASES["C10"]
    inputs, expected = case["inputs"], case["expected"]
    head = inputs["P_kPa"] * 1000.0 / (998.2060924679477 * GRAVITY)
    for diameter, flow in zip(inputs["d_mm"], expected["Q_m3_s"], strict=True):
        coefficient = tips.bore_coefficient(diameter / 1000.0, inputs["Cd"])
        assert tips.flow(coefficient, head) == pytest.approx(flow, rel=0.005)
    assert tips.jet_velocity(head) / 0.3048 == pytest.approx(expected["velocity_ft_s"], abs=0.05)


def test_the_flow_test_exponent_is_the_one_the_networks_were_made_with() -> None:
    exponents = {
        case["inputs"]["source"]["flow_test_exponent"] for case in CASES.values() if "source" in case["inputs"]
    }
    assert exponents == {1.0 / FLOW_TEST_EXPONENT}
