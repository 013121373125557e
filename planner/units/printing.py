"""An SI float as text in the reader's units, rounded to what a person can set or read, to the safe side."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from planner.units.scale import scale
from planner.units.table import DIMENSIONS, SQUARE, Dimension, System, unit_key

Toward = Literal["near", "up", "down"]
# SI figures come from products of several floats: what lies closer than this to a whole step is that step.
_NOISE = 1e-11


def _whole_steps(ratio: float, toward: Toward) -> int:
    """How many steps `ratio` is, rounded `near` (halves up), `up` or `down`; float noise moves nothing."""
    slack = _NOISE * max(1.0, abs(ratio))
    nearest = math.floor(ratio + 0.5)
    if abs(ratio - nearest) <= slack:
        return nearest
    if toward == "up":
        return math.ceil(ratio)
    return math.floor(ratio) if toward == "down" else math.floor(ratio + 0.5 + slack)


def _exact(step: float | str) -> Decimal:
    return Decimal(step) if isinstance(step, str) else Decimal(repr(float(step)))


def _decimal(number: float, step: float | str, toward: Toward) -> str:
    """A number in whole steps, with the step's own decimals and commas between thousands."""
    exact = _exact(step)
    counted = _whole_steps(number / float(exact), toward) * exact
    shown = counted.normalize() if counted == counted.to_integral_value() and exact >= 1 else counted
    decimals = max(0, -int(exact.normalize().as_tuple().exponent))
    return f"{shown:,.{decimals}f}" if shown else f"{0:.{decimals}f}"


def _fractions(number: float, step: Fraction, toward: Toward) -> str:
    """Inches with a common fraction: `17 1/8`, `3/4`, `2`."""
    counted = _whole_steps(number / float(step), toward) * step
    sign, size = ("-" if counted < 0 else ""), abs(counted)
    whole, part = divmod(size, 1)
    words = [f"{whole:,}"] if whole or not part else []
    if part:
        words.append(f"{part.numerator}/{part.denominator}")
    return sign + " ".join(words)


def _binary(step: float) -> Fraction | None:
    """The step as a fraction of an inch where a ruler has it (1/2 to 1/64)."""
    exact = Fraction(step)
    return exact if exact < 1 and exact.numerator == 1 and exact.denominator <= 64 else None


def _significant(number: float, digits: int) -> float:
    return 10.0 ** (math.floor(math.log10(abs(number))) - digits + 1) if number else 1.0


def _clock(seconds: float, step: float | None, toward: Toward) -> tuple[str, str]:
    """`50 s`, `2 min`, `3 h 05 min`: seconds below two minutes, whole minutes above."""
    step = step or (1.0 if abs(seconds) < 119.5 else 60.0)
    whole = _whole_steps(seconds / step, toward) * _exact(step)
    if abs(whole) < 60 or whole % 1:
        return _decimal(seconds, step, toward), "s"
    total = int(whole)
    sign, total = ("-" if total < 0 else ""), abs(total)
    hours, minutes, rest = total // 3600, total // 60 % 60, total % 60
    if total < 120 and rest:
        return f"{sign}{total}", "s"
    words = [f"{hours} h"] if hours else []
    if hours:
        words.append(f"{minutes:02d} min")
    elif minutes:
        words.append(f"{minutes} min")
    if rest:
        words.append(f"{rest} s")
    number, _, unit = " ".join(words).rpartition(" ")
    return sign + number, unit


def _bore(number: float, unit: str, toward: Toward) -> str:
    """A bore the way it is sold where it is close to that, else as it was measured."""
    if unit == "in":
        for part in (16, 32):
            whole = round(number * part)
            if whole and abs(number * part - whole) <= 0.005 * number * part:
                return _fractions(whole / part, Fraction(1, part), "near")
        return _decimal(number, "0.001", toward)
    nominal = round(number)
    if nominal and abs(number - nominal) <= 0.005 * number:
        return _decimal(nominal, "1", "near")
    return _decimal(number, "0.1", toward)


def _default_step(kind: Dimension, system: str, number: float) -> str:
    table = kind.us_steps if system == "us" else kind.metric_steps
    return next(step for below, step in table if abs(number) < below)


def show_number(
    value: float,
    dimension: str,
    system: System,
    *,
    digits: int | None = None,
    step: float | None = None,
    toward: Toward = "near",
    unit: str | None = None,
) -> tuple[str, str]:
    """The number and its unit apart, for a page that sets them in two sizes.

    `value` is SI.  `step` is the finest step in the printed unit (seconds for a time), `digits` significant
    figures, `toward` the side to round to, `unit` another spelling of the same dimension.
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be printed as {dimension}")
    if dimension in ("number", "gauge", "pitch", "squares"):
        return _special(value, dimension, digits, step, toward)
    kind = DIMENSIONS[dimension]
    if dimension == "time" and unit is None:
        return _clock(value, _significant(value, digits) if digits else step, toward)
    label = unit or (kind.us if system == "us" else kind.metric)
    factor, offset = scale(kind.spellings[unit_key(label)], kind.si)
    number = (value - offset) / factor
    if digits:
        return _decimal(number, _significant(number, digits), toward), label
    ruler = _binary(step) if step and label == "in" else None
    if dimension == "dip" and step is None:
        ruler, step = (Fraction(1, 8), None) if label == "in" else (None, 2.0 if label == "mm" else None)
    if ruler:
        return _fractions(number, ruler, toward), label
    if dimension == "bore" and step is None:
        return _bore(number, label, toward), label
    return _decimal(number, step or _default_step(kind, system, number), toward), label


def _special(value: float, dimension: str, digits: int | None, step: float | None, toward: Toward) -> tuple[str, str]:
    if dimension == "gauge":
        return str(round(value)), "AWG"
    if dimension == "pitch":
        return f"{_decimal(value * 12, step or 0.5, toward).removesuffix('.0')}/12", ""
    if dimension == "squares":
        return _decimal(value / SQUARE, step or 0.1, toward), "squares"
    return _decimal(value, _significant(value, digits) if digits else step or 0.01, toward), ""


def show(
    value: float,
    dimension: str,
    system: System,
    *,
    digits: int | None = None,
    step: float | None = None,
    toward: Toward = "near",
    unit: str | None = None,
) -> str:
    """An SI float as text in the reader's units, such as `31 ft` or `9.4 m`; it reads back as printed."""
    number, label = show_number(value, dimension, system, digits=digits, step=step, toward=toward, unit=unit)
    return f"{number} {label}" if label else number
