"""The one rounding of every crew page, by data/rounding.yaml; strengths as the company writes them.

What is poured is printed down, the water under it up, a dial on the side that draws less (`side_of`, `dial_number`; a
mark half a percent above is that mark); the bucket at the tip shows what the printed mark draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from functools import lru_cache

from planner.chemistry import acids, hypochlorite, solutions
from planner.frozen import dataclass
from planner.inputs.reading.strengths import Strength
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS
from planner.inputs.tables.rows import table
from planner.units import System, Toward, read, show, show_number

GALLON = read("1 gal", "volume")
_LITRE = 1e-3
_PERCENT: dict[str, tuple[hypochlorite.Label, str]] = {
    "trade": ("trade", "trade %"),
    "wt_naocl": ("wt_naocl", "wt % NaOCl"),
    "wt_cl2": ("wt_cl2", "wt % Cl2"),
}
_NOUGHT = {"us": 459.67 / 1.8, "si": 273.15}  # nought of the printed scale, K: a rise is printed in its degrees
_UNIT_OF = {"wt": "wt %", "vol": "vol %", "g_l": "g/L", "g_l_cl2": "g/L Cl2", "normal": "N", "degbe": "degBe"}
_RULED = frozenset({"gal", "lb", "oz"})  # told in common fractions
_HAIR = 0.005  # a mark of a dial so much [-] above what is asked is that mark: no hand sets it closer


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row of the table: figures under `below` [SI; None: any] are told in `unit`, `one` [SI], to a `step` of it."""

    below: float | None
    unit: str
    one: float
    step: Fraction


@lru_cache(maxsize=64)
def rows_of(quantity: str, system: System) -> Sequence[Row]:
    """The rows of a quantity, from small to large."""
    found = table("rounding")["rounding"][quantity]
    dimension = found.get("dimension", "")

    def size(text: str) -> float:
        return read(text, dimension) if dimension else float(text)

    return tuple(
        Row(below=None if below == "~" else size(below), unit=unit, one=size(f"1 {unit}".strip()), step=Fraction(step))
        for below, unit, step in found.get(system) or found["us"]
    )


def steps_of(ratio: float, toward: Toward) -> int:
    """A number of whole steps, by the one rule of rounding there is."""
    return int(show_number(ratio, "number", "us", step=1.0, toward=toward)[0].replace(",", ""))


def rounded(
    value: float, quantity: str, system: System, toward: Toward = "near", *, like: float | None = None
) -> tuple[str, str]:  # fmt: skip
    """A figure (SI) as a crew page has it, number and unit apart; `like` another one whose unit and step it shares."""
    row, steps = _row(value if like is None else like, quantity, system, toward)
    if like is not None:
        steps = steps_of(value / (row.one * float(row.step)), toward)
    return as_read(steps * row.step, row), row.unit


def _row(value: float, quantity: str, system: System, toward: Toward) -> tuple[Row, int]:
    """The row a figure is of once it is rounded, and its steps there."""
    for row in rows_of(quantity, system):
        steps = steps_of(value / (row.one * float(row.step)), toward)
        if row.below is None or abs(steps * float(row.step)) * row.one < row.below * (1.0 - 1e-9):
            break
    return row, steps


def printed(value: float, quantity: str, system: System, toward: Toward = "near") -> float:
    """What a figure comes to as it is printed [SI]."""
    row, steps = _row(value, quantity, system, toward)
    return steps * float(row.step) * row.one


def row_of(value: float, quantity: str, system: System) -> Row:
    """The row a figure is told by."""
    return _row(value, quantity, system, "near")[0]


def one_step(value: float, quantity: str, system: System) -> float:
    """The step a figure is told in [SI]."""
    row = row_of(value, quantity, system)
    return row.one * float(row.step)


def as_read(number: Fraction, row: Row) -> str:
    """A number of a row's unit as a hand reads it: in common fractions of gallons, else in decimals."""
    if row.unit in _RULED:
        sign, (whole, part) = "-" * (number < 0), divmod(abs(number), 1)
        words = [f"{whole:,}"] if whole or not part else []
        return sign + " ".join([*words, *([f"{part.numerator}/{part.denominator}"] if part else [])])
    if row.step.denominator == 1:
        return f"{int(number):,}"
    decimals = 1 if (10 * row.step).denominator == 1 else 2
    text = f"{float(number):,.{decimals}f}"
    return text[:-1] if decimals == 2 and text.endswith("0") else text


def poured(volume: float, system: System, toward: Toward = "near") -> str:
    """What makes a mix (m3), as a jug shows it: `150 fl oz`, `2 5/8 gal`; `350 mL`, `3.4 L`."""
    return " ".join(poured_number(volume, system, toward))


def poured_number(volume: float, system: System, toward: Toward = "near") -> tuple[str, str]:
    """The same, number and unit apart."""
    number, unit = rounded(volume, "poured", system, toward)
    if number == "0":
        return f"under {rows_of('poured', system)[0].step}", unit
    return number, unit


def drawn(volume: float, system: System, toward: Toward = "near") -> str:
    """Water that is run, drained or told, and what a wall gets (m3): `90 fl oz`, `3 1/4 gal`, `32 gal`."""
    return " ".join(rounded(volume, "volume", system, toward))


def in_all(volume: float, system: System) -> tuple[str, str]:
    """All the water of a site or of its beds (m3), rounded up: the page says `up to` before it."""
    return rounded(volume, "total", system, "up")


def side_of(what: str, *, active: bool = True) -> Toward:
    """The side what goes into a mix is rounded to, so that rounding never makes it stronger than asked.

    Water up and what is strong down; soap thins a mix with an `active` in it, and is the strong part of one without.
    """
    return "up" if what == "water" or (what == "soap" and active) else "down"


def weighed(mass: float, system: System, toward: Toward = "near") -> str:
    """A mass (kg) as a scale shows it: ounces or grams while it is small."""
    return " ".join(rounded(mass, "weight", system, toward))


def volume(amount: float, system: System, toward: Toward = "near") -> str:
    """A volume (m3) for a column of gallons or litres, without its unit: as `drawn` from one of them up."""
    one = GALLON if system == "us" else _LITRE
    return rounded(amount, "volume", system, toward, like=max(amount, one))[0]


def of_water(amount: float, system: System) -> str:
    """For the owner: water of one use (m3), up to the tenth of a gallon or the litre, so that its parts add up."""
    return show(amount, "volume", system, step=0.1 if system == "us" else 1.0, toward="up")


def minutes(seconds: float, toward: Toward = "up") -> str:
    """Whole minutes; nothing lasts no time."""
    return rounded(seconds, "minutes", "us", toward)[0]


def minutes_between(least: float, most: float) -> str:
    """From the shortest to the longest wait [s] in whole minutes: `5 to 10`; never longer where only one fits."""
    low, high = minutes(least), minutes(most, "down")
    return f"{low} to {high}" if steps_of(least / 60.0, "up") < steps_of(most / 60.0, "down") else high


def timed(seconds: float, toward: Toward = "near") -> str:
    """Whole seconds, as a watch is read by a bucket."""
    return rounded(seconds, "timed", "us", toward)[0]


def gun_open(seconds: float, toward: Toward = "near") -> str:
    """How long a gun is open, as a watch is read with it in the hand: `17 s`, `55 s`, `3 min 10 s`, `12 min`."""
    row, steps = _row(seconds, "gun", "us", toward)
    whole = steps * row.step * (60 if row.unit == "min" else 1)
    return f"{whole} s" if whole < 120 else show(float(whole), "time", "us", step=1.0)


def gauge_number(value: float, system: System, toward: Toward = "near") -> tuple[str, str]:
    """A pressure (Pa) as a gauge is read, number and unit apart, with a true minus."""
    number, unit = rounded(value, "gauge", system, toward)
    return number.replace("-", "−"), unit


def gauge(value: float, system: System) -> str:
    """The same as words."""
    return " ".join(gauge_number(value, system))


def dial_number(setting: float, *, long: bool) -> str:
    """A mark of a dial that draws no more than asked: `2.05`; `long`: of one that goes beyond thirty."""
    quantity = "long_panel" if long else "panel"
    mark = rounded(setting * (1.0 + _HAIR), quantity, "us", "down")[0]
    return mark.removesuffix(".0") if long else mark


def strength_number(
    amount: float, chemical: str, percent: str, toward: Toward = "near", *, caustic: float = 0.0
) -> tuple[str, str]:
    """A strength (kg/m3) in the company's percent, number and unit apart; muriatic by weight, anything else in g/L.

    `caustic` [kg/kg] is the excess lye of a stock; a mix has none.
    """
    if chemical == BLEACH:
        label, unit = _PERCENT[percent]
        number = hypochlorite.to_label(amount, label, caustic)
    else:
        number, unit = _as_sold(amount, chemical)
    return rounded(number, "strength", "us", toward)[0], unit


def _as_sold(amount: float, chemical: str) -> tuple[float, str]:
    """A strength (kg/m3) as its drum is marked: muriatic by weight, within what the density is known for."""
    row = CHEMICALS.get(chemical)
    with suppress(ValueError):
        if row is not None and row.solution.by == "hydrochloric":
            return 100.0 * acids.mass_fraction_of_strength(amount), "wt %"
        if row is not None and row.label.asked and row.solution.rows:
            return 100.0 * solutions.mass_fraction(row.solution.rows, amount), "wt %"
    return amount, "g/L"


def strength(
    amount: float, chemical: str, percent: str, toward: Toward = "near", *, caustic: float = 0.0
) -> str:  # fmt: skip
    """The same as words: `1.0 trade %`."""
    return " ".join(strength_number(amount, chemical, percent, toward, caustic=caustic))


def as_written(given: Strength) -> tuple[str, str]:
    """A strength as somebody wrote it, number and unit apart: `1:10` and nothing, `15` and `vol %`."""
    if ":" in given.text or given.basis not in _UNIT_OF:
        return given.text, ""
    return f"{given.amount:g}", _UNIT_OF[given.basis]


def warmer(rise: float, system: System) -> str:
    """A rise of temperature (K) in degrees of the paper's own scale, to the warmer side: `20 F`."""
    return show(_NOUGHT[system] + rise, "temperature", system, toward="up")


def in_unit(amount: float, basis: str) -> str:
    """A strength's figure with the unit of its basis: `15 vol %`."""
    return f"{amount:g} {_UNIT_OF[basis]}"


def in_parts(amount: float, basis: str) -> str:
    """A share by volume in words: `1 part to 10 of water`; empty for any other strength."""
    if basis != "vol" or not 0.0 < amount < 100.0:
        return ""
    parts = show_number(100.0 / amount - 1.0, "number", "us", step=0.1)[0].removesuffix(".0")
    return f"1 part to {parts} of water"
