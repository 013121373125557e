"""What a reading should be, on paper: its value and the two ends that are still in order."""

from __future__ import annotations

import re

from planner.plan.procedure.acts import Expect
from planner.units import System, Toward, show
from planner.words.measures import one_step, rounded, steps_of

_READ = {"s": "timed", "pa": "gauge", "m3": "poured", "dip": "dip"}  # how readings are rounded, by unit
_DIP = {"us": 0.0254 / 8.0, "si": 0.002}  # m; a stick's marks


def expected(one: Expect, system: System) -> tuple[str, str, str]:
    """What a reading should be: value with its unit, and its low and high end without, both to the safe side."""
    value = _shown(one, one.value, system, "near")
    unit = re.sub(r"^[\d.,/ −-]+", "", value)
    low, high = (end.removesuffix(f" {unit}") for end in (_end(one, system, "up"), _end(one, system, "down")))
    return value, low, high


def at_most(one: Expect, system: System) -> str:
    """The upper end of a reading with its unit, never said higher than it is."""
    return _end(one, system, "down")


def _end(one: Expect, system: System, toward: Toward) -> str:
    """The low end of a reading, rounded up, or its high end, rounded down.

    Nobody reads a stick, a gauge, a jug or a watch closer than to its mark: the next one is in order too.
    """
    quantity = _READ.get("dip" if one.what == "dip" else one.unit, "")
    end = one.low if toward == "up" else one.high
    if quantity:
        step = _DIP[system] if quantity == "dip" else one_step(one.value, quantity, system)
        mark = round(one.value / step) * step
        end = min(end, mark - step) if toward == "up" else max(end, mark + step)
    return _shown(one, max(end, 0.0) if one.low >= 0.0 else end, system, toward)


def _shown(one: Expect, value: float, system: System, toward: Toward) -> str:
    if one.what != "dip" and one.unit in _READ:
        return " ".join(rounded(value, _READ[one.unit], system, toward, like=one.value))
    if one.unit == "m_per_s":
        return show(value, "speed", system, toward=toward)
    if one.unit == "mg_per_l":
        return show(value * 1e-3, "concentration", system, toward=toward)
    if one.unit == "ph":
        return f"{steps_of(10.0 * value, toward) / 10:g}"
    if one.what == "throw" and toward == "near":
        toward = "down"  # as every throw is said
    return show(value, "dip" if one.what == "dip" else "length", system, toward=toward)
