"""Amounts as a hand measures them: a jug's marks, a scale's, whole minutes; strengths as the company writes them."""

from __future__ import annotations

from fractions import Fraction

from planner.chemistry import acids, hypochlorite
from planner.inputs.strengths import Strength
from planner.units import System, Toward, read, show, show_number

GALLON = read("1 gal", "volume")
_OUNCES = 128
_IN_OUNCES = 2.0  # gal; below it a jug's ounces are finer than eighths of a gallon
_LITRE = 1e-3
_POUND = read("1 lb", "mass")
_PERCENT: dict[str, tuple[hypochlorite.Label, str]] = {
    "trade": ("trade", "trade %"),
    "wt_naocl": ("wt_naocl", "wt % NaOCl"),
    "wt_cl2": ("wt_cl2", "wt % Cl2"),
}
_NOUGHT = {"us": 459.67 / 1.8, "si": 273.15}  # nought of the printed scale, K: a rise is printed in its degrees
_UNIT_OF = {"wt": "wt %", "vol": "vol %", "g_l": "g/L", "g_l_cl2": "g/L Cl2", "normal": "N", "degbe": "degBe"}


def steps_of(ratio: float, toward: Toward) -> int:
    """A number of whole steps, by the one rule of rounding there is."""
    return int(show_number(ratio, "number", "us", step=1.0, toward=toward)[0].replace(",", ""))


def poured(volume: float, system: System, toward: Toward = "near") -> str:
    """A volume (m3) as a jug shows it: `2 5/8 gal`, `1 gal 20 fl oz`, `30 fl oz`; `12.4 L`, `350 mL`."""
    return " ".join(poured_number(volume, system, toward))


def poured_number(volume: float, system: System, toward: Toward = "near") -> tuple[str, str]:
    """The same, number and last unit apart."""
    if system == "si":
        if volume < _LITRE * (1 - 1e-9):
            small = steps_of(volume / _LITRE * 100, toward) * 10
            return (f"{small}", "mL") if small else ("under 10", "mL")
        return show_number(volume, "volume", system, step=0.1, toward=toward)
    if volume < _IN_OUNCES * GALLON * (1 - 1e-9):
        ounces = steps_of(volume / GALLON * _OUNCES, toward)
        whole, rest = divmod(ounces, _OUNCES)
        if not ounces:
            return "under 1", "fl oz"
        if not whole:
            return f"{rest}", "fl oz"
        return (f"{whole} gal {rest}", "fl oz") if rest else (f"{whole}", "gal")
    eighths = steps_of(volume / GALLON * 8, toward)
    whole, part = divmod(Fraction(eighths, 8), 1)
    return f"{whole:,}" + (f" {part.numerator}/{part.denominator}" if part else ""), "gal"


def in_one_unit(volume: float, system: System, toward: Toward = "near") -> tuple[str, str]:
    """A volume (m3) as `poured_number` has it, in one number as it goes into a box: gallons and ounces as ounces."""
    number, unit = poured_number(volume, system, toward)
    gallons, both, ounces = number.partition(" gal ")
    return (f"{int(gallons) * _OUNCES + int(ounces)}", unit) if both else (number, unit)


def side_of(what: str, *, active: bool = True) -> Toward:
    """The side what goes into a mix is rounded to, so that rounding never makes it stronger than asked.

    Water up and what is strong down; soap thins a mix with an `active` in it, and is the strong part of one without.
    """
    return "up" if what == "water" or (what == "soap" and active) else "down"


def weighed(mass: float, system: System, toward: Toward = "near") -> str:
    """A mass (kg) as a kitchen scale shows it: ounces or grams while it is small."""
    if system == "us" and mass < _POUND:
        return show(mass, "mass", system, unit="oz", step=0.5, toward=toward).replace(".0 oz", " oz")
    if system == "si" and mass < 1.0:
        return show(mass, "mass", system, unit="g", step=5.0, toward=toward)
    return show(mass, "mass", system, toward=toward)


def volume(amount: float, system: System, toward: Toward = "near") -> str:
    """A volume (m3) of water without its unit: whole gallons or litres from ten up, tenths below."""
    unit = GALLON if system == "us" else _LITRE
    step = 1.0 if amount >= 9.95 * unit else 0.1
    return show_number(amount, "volume", system, step=step, toward=toward)[0]


def of_water(amount: float, system: System) -> str:
    """Water of one use (m3), up to the tenth of a gallon or the litre, so that parts of it told elsewhere add up."""
    return show(amount, "volume", system, step=0.1 if system == "us" else 1.0, toward="up")


def minutes(seconds: float, toward: Toward = "up") -> str:
    """Whole minutes; nothing lasts no time."""
    return f"{steps_of(seconds / 60, toward):,}"


def gun_open(seconds: float, toward: Toward = "near") -> str:
    """How long a gun is open, as a watch is read with it in the hand: `15 s`, `35 s`, `4 min`; mix also `3 min 10 s`.

    Whole seconds under 20 s, 5 s up to two minutes. Above, water goes up to whole minutes, mix to the nearest 10 s.
    """
    step = 1.0 if seconds < 19.5 else 5.0 if seconds < 117.5 else 60.0 if toward == "up" else 10.0
    return show(seconds, "time", "us", step=step, toward=toward)


def strength_number(
    amount: float, chemical: str, percent: str, toward: Toward = "near", *, caustic: float = 0.0
) -> tuple[str, str]:
    """A strength (kg/m3) in the company's percent, number and unit apart; muriatic by weight, anything else in g/L.

    `caustic` [kg/kg] is the excess lye of a stock; a mix has none.
    """
    if chemical == "hypochlorite":
        label, unit = _PERCENT[percent]
        number = hypochlorite.to_label(amount, label, caustic)
    else:
        number, unit = _as_sold(amount, chemical)
    text = show_number(number, "number", "us", step=0.01 if number < 9.995 else 0.1, toward=toward)[0]
    return (text[:-1] if text.endswith("0") and text[-3:-2] == "." else text), unit


def _as_sold(amount: float, chemical: str) -> tuple[float, str]:
    """A strength (kg/m3) as its drum is marked: muriatic by weight, within what the density is known for."""
    if chemical == "muriatic":
        try:
            return 100.0 * acids.mass_fraction_of_strength(amount), "wt %"
        except ValueError:
            pass
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
