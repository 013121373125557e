"""What the JSON, the inputs, the limits and the wording allow a packet to say, each with its safe side and its step.

Rounding here is worked out on its own, from the number as it is printed, not by the planner's printing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any, Literal

from planner.units import read
from tests.packet.figures.read import Figure

Toward = Literal["near", "up", "down"]
How = Literal["plain", "gun", "jug", "scale", "stick", "bore", "strength", "digits", "exact", "minute", "total"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A figure that may be printed: `value` in SI of `family`, rounded `toward` a side the way `how` says.

    `name` is its place in the JSON, or begins with `input.`, `limit.`, `table.`, `derived.` or `wording.`.
    """

    name: str
    value: float
    family: str
    toward: Toward = "near"
    how: How = "plain"


_FAMILIES: dict[str, tuple[str, ...]] = {
    "length": ("ft", "in", "m", "mm"), "area": ("ft2", "m2"), "air": ("ft3", "m3"), "volume": ("gal", "fl oz", "L", "mL"),
    "flow": ("gpm", "L/min"), "pressure": ("psi", "bar"), "mass": ("lb", "oz", "kg", "g"), "force": ("lbf", "N"),
    "speed": ("mph", "km/h", "ft/s", "m/s"), "time": ("s", "min", "h", "days", "day", "hours", "seconds"), "clock": ("clock",),
    "temperature": ("F", "C"), "warming": ("F", "C"), "concentration": ("mg/L",), "coverage": ("ft2/gal", "m2/L"),
    "fraction": ("%",),
    "dose": ("fl oz/gal", "mL/L"), "gauge": ("AWG",), "ratio": ("ratio",), "count": ("",), "dial": ("dial", ""),
    "power": ("kW", "W", "hp"), "charge": ("Ah",), "density": ("kg/L",), "voltage": ("V",), "current": ("A",),
    "trade %": ("trade %",), "wt %": ("wt %",), "vol %": ("vol %",), "g/L": ("g/L",), "wt % NaOCl": ("wt % NaOCl",),
    "wt % Cl2": ("wt % Cl2",),
}  # fmt: skip
_OF_UNIT: dict[str, tuple[str, ...]] = {}
for _family, _units in _FAMILIES.items():
    for _unit in _units:
        _OF_UNIT[_unit] = (*_OF_UNIT.get(_unit, ()), _family)

_COARSEST = {
    "ft": "1", "in": "1/8", "m": "0.1", "mm": "2", "ft2": "1", "m2": "0.1", "ft3": "1", "m3": "0.1", "gal": "1", "fl oz": "1", "L": "1", "mL": "10",
    "gpm": "0.1", "L/min": "0.1", "psi": "1", "bar": "1", "lb": "1", "oz": "1/2", "kg": "1", "g": "5", "lbf": "0.1",
    "N": "1", "mph": "1", "km/h": "1", "ft/s": "0.1", "m/s": "1", "s": "1", "min": "1", "h": "1", "days": "1", "day": "1", "F": "1", "C": "1",
    "ft2/gal": "1", "m2/L": "0.01", "%": "1", "AWG": "1", "": "1", "dial": "1", "kW": "0.1", "W": "1", "V": "1", "A": "0.1", "hp": "0.01", "Ah": "1", "kg/L": "0.001",
    "mg/L": "0.1", "g/L": "1", "trade %": "0.1", "wt %": "0.1", "vol %": "1", "wt % NaOCl": "0.1", "wt % Cl2": "0.1",
}  # fmt: skip
"""The widest step a hand or an eye has use for, in the printed unit; of bar and m/s only above a hundred."""
_NOISE = 1e-7
INF = float("inf")
SCALELESS = ("count", "dial", "gauge", "trade %", "wt %", "vol %", "g/L", "wt % NaOCl", "wt % Cl2")
"""Families that are kept in their printed unit."""


def families_of(unit: str) -> tuple[str, ...]:
    """What a printed unit may be one of."""
    return _OF_UNIT.get(unit, ())


def scale_of(unit: str, family: str) -> float:
    """The size of one of a printed unit, in SI."""
    return _scale(unit, family)[1]


def number_of(text: str) -> Fraction:
    """A number as printed: `1,040`, `8 1/8`, `−0.4`."""
    plain = text.replace(",", "").replace("−", "-")
    whole, _, part = plain.rpartition(" ")
    return (Fraction(whole) if whole else Fraction(0)) + Fraction(part)


_STEPS: dict[str, dict[str, tuple[tuple[float, str], ...]]] = {
    "volume": {"fl oz": ((INF, "1"),), "gal": ((10, "1/8"), (INF, "1")), "mL": ((INF, "10"),),
               "L": ((10, "1/4"), (INF, "1"))},
    "jug": {"fl oz": ((INF, "1"),), "gal": ((10, "1/8"), (50, "1/2"), (INF, "1")), "mL": ((INF, "10"),),
            "L": ((2, "1/20"), (5, "1/10"), (10, "1/4"), (20, "1/2"), (INF, "1"))},
    "total": {"gal": ((10, "1"), (INF, "10")), "L": ((10, "1"), (INF, "10"))},
    "scale": {"oz": ((10, "1/2"), (INF, "1")), "lb": ((5, "1/8"), (10, "1/4"), (20, "1/2"), (INF, "1")),
              "g": ((100, "1"), (INF, "5")), "kg": ((2, "1/20"), (20, "1/10"), (INF, "1"))},
    "pressure": {"psi": ((20, "1"), (100, "2"), (1000, "10"), (INF, "50")), "bar": ((10, "1/10"), (70, "1"), (INF, "5"))},
    "gun": {"s": ((50, "1"), (120, "5"), (300, "10"), (600, "30"), (INF, "60")), "min": ((INF, "1"),)},
    "strength": {"": ((2, "1/100"), (INF, "1/10"))},
    "dial": {"": ((3, "1/20"), (INF, "1/10"))},
}  # fmt: skip
"""The steps of crew pages by size of the figure, from their specification; `volume` and `pressure` on crew pages only."""
OWNERS = frozenset({"", "held", "summary", "worksheet", "checks", "compared", "sources"})
"""Pages for whoever decides: what is worked out, finer than a crew can measure."""
_RULED = frozenset({"gal", "lb", "oz", "in"})


def table_step(kind: str, unit: str, size: Fraction | float, toward: Toward = "near") -> Fraction | None:
    """The step a figure of this size is told in; None where the table says nothing of its unit.

    What is rounded up to the end of a row comes from the row.
    """
    rows = _STEPS.get(kind, {})
    of_unit = rows.get(unit) or rows.get("")
    if of_unit is None:
        return None
    ends = (below if toward == "up" else below * (1 - 1e-12) for below, _ in of_unit)
    return Fraction(next(step for end, (_, step) in zip(ends, of_unit, strict=True) if abs(size) <= end))


def _kind(figure: Figure, family: str, how: How) -> str:
    """What of the table a figure goes by; nothing for the owner's own pages."""
    if how in ("jug", "scale", "gun"):
        return how
    if how == "strength":
        return how if figure.sheet else ""  # a finding's sentence has three figures
    if family == "dial":
        return family
    if figure.sheet in OWNERS or how not in ("plain", "total"):
        return ""
    return how if how == "total" else {"volume": "volume", "pressure": "pressure", "mass": "scale"}.get(family, "")


def step_in_unit(figure: Figure, how: How, family: str = "", toward: Toward = "near") -> Fraction:
    """The step the figure was rounded to, in its printed unit."""
    unit, text = figure.unit, figure.number
    decimals = len(text.partition(".")[2])
    told = table_step(_kind(figure, family, how), unit, number_of(text), toward)
    if told is not None:
        return told
    if how == "bore" and unit == "in" and "." not in text:
        return Fraction(1, 16)
    if how == "stick":
        return Fraction(1, 8) if unit == "in" else Fraction(2)
    if how == "digits":  # two of them tell an order of magnitude
        whole = text.replace(",", "").lstrip("−-")
        return Fraction(1, 10**decimals) if decimals else Fraction(10) ** (len(whole) - 2)
    if how == "strength":
        return Fraction(1, 100) if abs(number_of(text)) < 10 else Fraction(1, 10)
    if "/" in text:
        return Fraction(1, int(text.rpartition("/")[2]))
    return Fraction(1, 10**decimals)


def says(figure: Figure, known: Known) -> bool:
    """True where the figure is this one, rounded as it should be."""
    if known.family not in _OF_UNIT.get(figure.unit, ()):
        return False
    return _rounds(known, *_si(figure, known))


def _rounds(known: Known, printed: float, step: float | None) -> bool:
    if known.how == "exact":
        return abs(printed - known.value) <= 1e-9 * max(1.0, abs(known.value))
    if step is None:
        return False
    # A dial's mark half a percent above is that mark.
    away = (printed - known.value * (1.005 if known.family == "dial" else 1.0)) / step
    if known.toward == "up":
        return -_NOISE <= away < 1.0 - _NOISE
    if known.toward == "down":
        return -1.0 + _NOISE < away <= _NOISE
    return -0.5 + 1e-6 < away <= 0.5 + 1e-6  # halves go up


def _si(figure: Figure, known: Known) -> tuple[float, float | None]:
    """The printed number and its step in SI; no step where the number is none of its steps, or they are too wide."""
    unit = figure.unit
    if unit == "clock":
        time, _, half = figure.number.lstrip("+").partition(" ")
        hours, minutes = (float(part) for part in time.split(":"))
        hours = hours % 12 + 12 * (half == "pm") if half else hours
        # What is planned is told to five minutes, what somebody wrote to the minute.
        return hours * 3600 + minutes * 60, 60.0 if known.how == "minute" else 300.0
    if unit == "ratio":
        return max(float(part) for part in figure.number.split(":")), 1.0
    if unit in ("hours", "seconds"):
        first, second = (int(number) for number in re.findall(r"\d+", figure.number))
        return (
            (first * 3600.0 + second * 60.0, 60.0)
            if unit == "hours"
            else (first * 60.0 + second, _gun_step(first * 60.0 + second) if known.how == "gun" else 1.0)
        )
    number, step = number_of(figure.number), step_in_unit(figure, known.how, known.family, known.toward)
    widest = Fraction(1, 10) if unit in ("bar", "m/s") and abs(number) < 100 else Fraction(_COARSEST[unit])
    fits = (number / step).denominator == 1 and (
        step <= widest or known.how in ("digits", "gun") or _kind(figure, known.family, known.how) != ""
    )
    if known.family in SCALELESS:
        return float(number), float(step) if fits else None
    nought, one = _scale(unit, known.family)
    return nought + float(number) * one, float(step) * one if fits else None


def _gun_step(seconds: float) -> float:
    step = table_step("gun", "s", seconds)
    assert step is not None
    return float(step)


@lru_cache(maxsize=128)
def _scale(unit: str, family: str) -> tuple[float, float]:
    """Nought and the size of one of a printed unit, in SI."""
    dimension = {"length": "height", "speed": "velocity" if "/s" in unit else "speed"}.get(family, family)
    nought = read(f"0 {unit}", "temperature") if family == "temperature" else 0.0
    return nought, read(f"1 {unit}", dimension) - nought


def explained(figure: Figure, known: Iterable[Known]) -> list[Known]:
    """Everything known that the figure says."""
    families = _OF_UNIT.get(figure.unit, ())
    read_as: dict[tuple[str, How, Toward], tuple[float, float | None]] = {}
    found = []
    for one in known:
        if one.family not in families:
            continue
        key = (one.family, one.how, one.toward)
        if key not in read_as:
            read_as[key] = _si(figure, one)
        if _rounds(one, *read_as[key]):
            found.append(one)
    return found


def nudged(figure: Figure, known: Known, steps: int) -> str | None:
    """The number so many steps off, as it would be printed; None where it is not written in plain steps."""
    if figure.unit in ("clock", "ratio", "hours", "seconds"):
        return None
    step = step_in_unit(figure, known.how, known.family)
    number = number_of(figure.number) + steps * step
    if number < 0:
        return None
    if figure.unit in _RULED and step.denominator in (2, 4, 8, 16):
        whole, part = divmod(number, 1)
        return f"{whole} {part.numerator}/{part.denominator}" if part and whole else f"{part or whole}"
    decimals = max(len(figure.number.partition(".")[2]), len(str(step.denominator)) - 1)
    return f"{float(number):.{decimals}f}"


# ------------------------------------------------------------------------------------------------- the JSON's own

_SUFFIXES = (
    ("m3_per_s", "flow"), ("m_per_s", "speed"), ("g_per_l", "strength"), ("mg_per_l", "concentration"), ("m3", "volume"),
    ("m2", "area"), ("pa", "pressure"), ("kg", "mass"), ("amps", "current"), ("fraction", "fraction"), ("n", "force"),
    ("m", "length"), ("s", "time"), ("seconds", "time"), ("share", "fraction"), ("dial", "dial"), ("watts", "power"),
    ("volts", "voltage"), ("coulombs", "charge"), ("awg", "gauge"), ("delta_k", ""),
)  # fmt: skip
_SIDES: tuple[tuple[str, tuple[tuple[Toward, How], ...]], ...] = (
    (r"water\.(?:need|most)_m3", (("up", "total"),)),
    (r"mixes.*\.jug_left(?:_between)?_m3.*", (("near", "exact"),)),  # told as a jug shows it, in the JSON too
    (r"mixes.*\.pull_m3", (("up", "jug"),)),
    # Water up and what is strong down, so that rounding makes no mix stronger; soap is thinner or the strong part.
    (r"mixes.*\.soap_m3|.*additions\[soap\]\.m3", (("up", "jug"), ("down", "jug"))),
    (r".*additions\[water\]\.m3", (("up", "jug"),)),
    (r".*additions\[water\]\.dip_m|.*levels\[water\]\.dip_m", (("up", "stick"),)),
    (r".*additions\[soap\]\.dip_m", (("up", "stick"), ("down", "stick"))),
    (r".*\.heel_m3", (("up", "plain"), ("near", "jug"))),
    (r"mixes.*\.stock_m3|.*additions.*\.m3", (("down", "jug"),)),
    (r"mixes.*\.water_m3", (("up", "plain"), ("up", "jug"))),
    (r"water\.by_use_m3.*", (("up", "plain"),)),
    (r"mixes.*\.(mix|contents)_m3", (("near", "plain"), ("near", "jug"))),
    (r"mixes.*\.(hose_fill_covers)_m2", (("down", "plain"),)),
    (r"mixes.*\.(stock_kg)|.*additions.*\.kg", (("down", "scale"),)),
    (r".*\.dip_m", (("down", "stick"),)),
    (r"runs.*\.(reach_m|reach_low_m|npsh_available_m)", (("down", "plain"),)),
    (r"runs.*\.(needed_m|npsh_required_m|acceleration_head_m)", (("up", "plain"),)),
    (r".*\brated_kg", (("down", "plain"),)),
    (r"runs.*\.shut_off_s|.*battery_lasts_s|.*runs_dry_at_s", (("down", "plain"),)),
    (r"water\.(?:tanks|mix_tanks).*\.(?:start|end|lowest|supplied)_m3|water\.lowest_tank_m3", (("down", "plain"),)),
    (r"power.*(?:generator_watts|usable_coulombs)", (("down", "plain"),)),
    (r"power.*(?:breaker_amps|battery_coulombs|\.volts|supply_volts|drop_volts|drop_cool_volts)", (("near", "plain"),)),
    (r"power.*arriving_volts", (("down", "plain"),)),
    (r"power.*(?:amps|watts|coulombs|drop_fraction|seconds)", (("up", "plain"),)),
    (r"runs.*\.shut_off_pressure_pa", (("up", "plain"),)),
    (r"runs.*\.reaction_n", (("up", "plain"),)),
    (r"runs.*", (("near", "plain"),)),
    (r"work.*\.dwell_s\.1|work.*\.dwell_most_s|beds\.every_s|.*target_mg_per_l", (("down", "plain"),)),
    (r"time.*\.start_s", (("near", "plain"),)),
    (r"neutralise.*_?kg", (("up", "scale"),)),
    (r"mixes.*(share|dial).*", (("down", "plain"),)),
    (r"power.*", (("near", "plain"),)),
    (r"bath\.volume_m3", (("near", "jug"),)),
    (r"bath\.water_m3|bath\.levels\[water\]\.added_m3", (("up", "jug"),)),
    (r"bath\.stock_m3|bath\.(?:lots|levels).*(?:stock|added)_m3", (("down", "jug"),)),
    (r"bath\.rinse_m3", (("up", "jug"),)),
    (r"bath\.tub_least_m3", (("up", "jug"),)),
    (r"bath\.stock_kg|bath\.lots.*stock_kg", (("down", "scale"),)),
    (r"bath\.(?:capacity|spent)_kg", (("down", "scale"),)),
    (r"bath\.rinse_(?:bicarbonate|agent)_kg|bath\.neutralise.*kg", (("up", "scale"),)),
    (r"bath\.(?:soak_s|wipe_s.*)|yard\.throw\..*\.ground_m", (("down", "plain"),)),
    (r"bath\.(?:across|tub_height)_m", (("near", "stick"),)),
    (r"bath\.(?:top|freeboard)_m", (("up", "stick"),)),
    (r"bath\.free_m", (("down", "stick"),)),
    (r"yard\.throw\.found.*high_share", (("up", "plain"),)),
    (r"yard\.throw\.found.*share", (("down", "plain"),)),
    (r"yard\.throw\.(?:written_share|written_m|(?:before|after)\.share)", (("down", "plain"),)),
    (r"yard\.throw\..*", (("near", "plain"),)),
)
"""Which side each figure is rounded to; volumes, times, weights without a row of their own go up, all else to near."""
_FAMILY_SIDES: dict[str, tuple[tuple[Toward, How], ...]] = {
    "volume": (("up", "plain"),), "time": (("up", "plain"),), "mass": (("up", "plain"), ("up", "scale")),
    "concentration": (("up", "plain"),),
}  # fmt: skip
_IDENTITY = ("name", "part", "surface", "what", "agent", "run", "stock", "kind")


def from_json(job: dict[str, Any]) -> list[Known]:
    """Every figure of one job's JSON under its path: `runs[house].flow_m3_per_s`."""
    # What pages say of the acts is worked out in figures_acts.
    return [
        known for path, value in walked(job) if not path.startswith("procedure.") for known in _of_json(path, value)
    ]


def walked(part: Any, path: str = "") -> Iterator[tuple[str, float]]:
    """Paths and numbers of the JSON; a row of a list goes by its own name, or by its place."""
    if isinstance(part, dict):
        for key, value in part.items():
            yield from walked(value, f"{path}.{key}" if path else key)
    elif isinstance(part, list):
        for place, one in enumerate(part):
            names = [str(one[key]) for key in _IDENTITY if isinstance(one, dict) and one.get(key)]
            yield from walked(one, f"{path}[{names[0]}]" if names else f"{path}.{place}")
    elif isinstance(part, (int, float)) and not isinstance(part, bool):
        yield path, float(part)


def _of_json(path: str, value: float) -> Iterator[Known]:
    last = re.sub(r"\.\d+$", "", path)
    family = next((family for end, family in _SUFFIXES if re.search(rf"(?:^|[._]){end}$", last)), "")
    parent = path.rpartition(".")[0]
    family = {"water.seconds": "time", "water.by_use_m3": "volume"}.get(parent, family)
    if not family or family == "strength":  # strengths are said in the company's percent: see `derived`
        return
    if last.endswith("start_s"):
        family = "clock"
    scaled = value * 1e-3 if family == "concentration" else value
    sides = next((sides for row, sides in _SIDES if re.fullmatch(row, path)), None)
    for toward, how in sides or _FAMILY_SIDES.get(family, (("near", "plain"),)):
        yield Known(name=path, value=scaled, family=family, toward=toward, how=how)
