"""Water and dilute mixes: density, viscosity, vapour pressure, and the air that pushes water into a pump.

Source: IAPWS SR6-08(2011), Revised Supplementary Release on Properties of Liquid Water at 0.1 MPa
(volume, eq. for v; viscosity, eq. 7), and IAPWS R7-97(2012), region 4, eq. 30 for the vapour pressure.
Tests hold all three to the iapws package within 0.05 % from 0 to 60 C.
"""

from __future__ import annotations

from math import sqrt
from typing import Final

from fluids.atmosphere import ATMOSPHERE_1976

GRAVITY: Final = 9.80665
"""Standard acceleration of gravity [m/s2] (ISO 80000-3)."""

REFERENCE_TEMPERATURE: Final = 293.15
"""Temperature [K] of the water on which pump curves, rated tips and device losses are stated: 68 F."""

_R: Final = 0.46151805
"""Specific gas constant of water [kJ/(kg K)], IAPWS SR6-08."""

# Coefficient and exponent pairs of the volume equation, IAPWS SR6-08 table 2, terms 6 to 10.
_VOLUME_A: Final = ((6.74458446e3, 4), (-2.22521604e5, 5), (1.00231247e8, 7), (-1.63552118e9, 8),
                    (8.32299658e9, 9))  # fmt: skip
_VOLUME_B: Final = ((5.78545292e-3, 1), (-1.53195665e-2, 2), (3.11337859e-2, 3), (-4.23546241e-2, 4),
                    (3.38713507e-2, 5), (-1.19946761e-2, 6))  # fmt: skip
_VOLUME_CONSTANT: Final = 1.93763157e-2

# IAPWS SR6-08 eq. 7: mu = 1e-6 sum a (T/300)^b.
_VISCOSITY: Final = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))

# IAPWS R7-97 table 34, the ten coefficients of the saturation line.
_SATURATION: Final = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip

DENSITY_PER_AVAILABLE_CHLORINE: Final = 0.0013083
"""Rise of relative density per g/L of available chlorine, fitted to a published maker-independent table
of hypochlorite densities (120 g/L, no excess caustic: 1.157); error 0.006."""


def water_density(temperature: float) -> float:
    """Density of water at 0.1 MPa [kg/m3].

    `temperature` [K], 253 to 383. Source: IAPWS SR6-08, volume equation.
    """
    alpha = 10.0 / (593.0 - temperature)
    beta = 10.0 / (temperature - 232.0)
    reduced = _VOLUME_CONSTANT + sum(c * alpha**n for c, n in _VOLUME_A) + sum(c * beta**n for c, n in _VOLUME_B)
    return float(1.0 / (_R * 10.0 / 0.1 / 1000.0 * reduced))


def water_viscosity(temperature: float) -> float:
    """Dynamic viscosity of water at 0.1 MPa [Pa s].

    `temperature` [K], 253 to 383. Source: IAPWS SR6-08, eq. 7.
    """
    ratio = temperature / 300.0
    return float(1e-6 * sum(a * ratio**b for a, b in _VISCOSITY))


def water_vapour_pressure(temperature: float) -> float:
    """Saturation pressure of water [Pa].

    `temperature` [K], 273.15 to 647. Source: IAPWS R7-97(2012), eq. 30.
    """
    n = _SATURATION
    theta = temperature + n[8] / (temperature - n[9])
    a = theta * theta + n[0] * theta + n[1]
    b = n[2] * theta * theta + n[3] * theta + n[4]
    c = n[5] * theta * theta + n[6] * theta + n[7]
    return float(1e6 * (2.0 * c / (-b + sqrt(b * b - 4.0 * a * c))) ** 4)


def mix_density(water: float, available_chlorine: float) -> float:
    """Density of a dilute hypochlorite mix [kg/m3].

    `water` [kg/m3] the density of the water it is made with, `available_chlorine` [kg/m3, that is g/L].
    Source: fit to a published table of hypochlorite densities; excess caustic of a dilute mix is neglected.
    """
    return water * (1.0 + DENSITY_PER_AVAILABLE_CHLORINE * available_chlorine)


def atmospheric_pressure(altitude: float) -> float:
    """Pressure of the air [Pa] at `altitude` [m]. Source: U.S. Standard Atmosphere 1976, through fluids."""
    return float(ATMOSPHERE_1976(altitude).P)


REFERENCE_DENSITY: Final = water_density(REFERENCE_TEMPERATURE)
"""Density of water at 68 F [kg/m3]: turns a pressure stated on water into a head."""
