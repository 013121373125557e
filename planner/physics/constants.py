"""Constants the equations share."""

from __future__ import annotations

from typing import Final

GRAVITY: Final = 9.80665
"""Standard acceleration of gravity [m/s2] (ISO 80000-3)."""

REFERENCE_TEMPERATURE: Final = 293.15
"""Temperature [K] of the water on which pump curves, rated tips and device losses are stated: 68 F."""
