"""Tips against tables printed elsewhere. Water at 60 F where a constant says so, 68 F otherwise."""

from __future__ import annotations

import pytest

from planner.physics import tips
from planner.physics.liquids import GRAVITY, REFERENCE_DENSITY, water_density
from tests.published.tables import half_last_digit, rows

GPM = 6.30901964e-5
PSI = 6894.757293168
INCH = 0.0254
POUND_FORCE = 4.4482216152605
SIXTY_FAHRENHEIT = 288.7056


def _flow(diameter: float, pressure: float, density: float, discharge_coefficient: float = 1.0) -> float:
    """Flow [gpm] of a smooth bore [in] at a pressure [psi]."""
    coefficient = tips.bore_coefficient(diameter * INCH, discharge_coefficient)
    return tips.flow(coefficient, pressure * PSI / (density * GRAVITY)) / GPM


@pytest.mark.parametrize("row", rows("nozzle_discharge_hydraulic_institute.tsv"), ids=lambda row: row["diameter_in"])
def test_a_smooth_bore_passes_what_the_hydraulic_institute_prints(row: dict[str, str]) -> None:
    flow = _flow(float(row["diameter_in"]), float(row["pressure_psi"]), REFERENCE_DENSITY)
    assert flow == pytest.approx(float(row["flow_gpm"]), abs=half_last_digit(row["flow_gpm"]))


def test_the_jet_leaves_at_the_velocity_the_hydraulic_institute_prints() -> None:
    speed = tips.jet_velocity(40.0 * PSI / (REFERENCE_DENSITY * GRAVITY)) / 0.3048
    assert speed == pytest.approx(77.1, abs=0.05)


def test_a_real_small_tip_passes_what_the_extension_sprinkler_table_prints() -> None:
    # University-extension sprinkler table: 3/16 in at 40 psi passes 6.41 gpm; Cd .966 is the usual one for it.
    assert _flow(3 / 16, 40.0, REFERENCE_DENSITY, 0.966) == pytest.approx(6.41, abs=0.005)


def test_the_square_law_constant_is_the_one_nfpa_291_prints() -> None:
    printed = {row["source"]: row["constant"] for row in rows("nozzle_constants.tsv")}
    ours = _flow(1.0, 1.0, water_density(SIXTY_FAHRENHEIT))
    assert ours == pytest.approx(float(printed["NFPA 291"]), abs=half_last_digit(printed["NFPA 291"]))


def test_the_fire_service_constant_is_ours_with_a_discharge_coefficient_just_under_one() -> None:
    # 29.7 is printed for good fire tips, not for Cd 1: what it implies must be a real smooth bore's coefficient.
    printed = {row["source"]: float(row["constant"]) for row in rows("nozzle_constants.tsv")}
    implied = printed["IFSTA"] / _flow(1.0, 1.0, water_density(SIXTY_FAHRENHEIT))
    assert 0.99 < implied < 1.0


@pytest.mark.parametrize("row", rows("nozzle_reaction.tsv"), ids=lambda row: row["diameter_in"])
def test_the_gun_pushes_back_as_the_fire_service_prints(row: dict[str, str]) -> None:
    head = float(row["pressure_psi"]) * PSI / (REFERENCE_DENSITY * GRAVITY)
    flow = tips.flow(tips.bore_coefficient(float(row["diameter_in"]) * INCH, 1.0), head)
    push = tips.reaction(REFERENCE_DENSITY, flow, tips.jet_velocity(head)) / POUND_FORCE
    assert push == pytest.approx(float(row["reaction_lbf"]), abs=half_last_digit(row["reaction_lbf"]))
