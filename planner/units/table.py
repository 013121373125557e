"""The one table of dimensions: how each is spelled, what it is held in, how it is printed.

Every spelling stands beside an expression of the units in data/units.txt, so
pint, not this table, knows how large a unit is.  Spellings are compared in
lower case, without full stops, with one space between words.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal

from planner.frozen import dataclass

System = Literal["us", "si"]
SQUARE = 100 * 0.3048**2  # a roofer's square is 100 ft2

_LENGTH = {
    "ft": "foot", "foot": "foot", "feet": "foot", "'": "foot",
    "in": "inch", "inch": "inch", "inches": "inch", '"': "inch",
    "yd": "3 * foot", "yard": "3 * foot", "yards": "3 * foot",
    "mi": "5280 * foot", "mile": "5280 * foot", "miles": "5280 * foot",
    "m": "meter", "meter": "meter", "meters": "meter", "metre": "meter", "metres": "meter",
    "cm": "meter / 100", "mm": "meter / 1000", "km": "1000 * meter",
}  # fmt: skip
_VOLUME = {
    "gal": "gallon", "gals": "gallon", "gallon": "gallon", "gallons": "gallon",
    "us gal": "gallon", "us gallons": "gallon",
    "imp gal": "imperial_gallon", "imperial gal": "imperial_gallon", "imperial gallon": "imperial_gallon",
    "imperial gallons": "imperial_gallon", "uk gal": "imperial_gallon",
    "qt": "gallon / 4", "qts": "gallon / 4", "quart": "gallon / 4", "quarts": "gallon / 4",
    "pt": "gallon / 8", "pint": "gallon / 8", "pints": "gallon / 8",
    "cup": "gallon / 16", "cups": "gallon / 16",
    "fl oz": "gallon / 128", "floz": "gallon / 128", "fluid ounce": "gallon / 128",
    "fluid ounces": "gallon / 128",
    "l": "liter", "liter": "liter", "liters": "liter", "litre": "liter", "litres": "liter",
    "ltr": "liter", "ltrs": "liter",
    "ml": "liter / 1000", "cl": "liter / 100", "m3": "meter ** 3", "cu m": "meter ** 3",
    "ft3": "foot ** 3", "cu ft": "foot ** 3", "in3": "inch ** 3", "cu in": "inch ** 3",
}  # fmt: skip
_TIME = {
    "s": "second", "sec": "second", "secs": "second", "second": "second", "seconds": "second",
    "min": "minute", "mins": "minute", "minute": "minute", "minutes": "minute",
    "h": "60 * minute", "hr": "60 * minute", "hrs": "60 * minute", "hour": "60 * minute",
    "hours": "60 * minute", "d": "1440 * minute", "day": "1440 * minute", "days": "1440 * minute",
}  # fmt: skip
_MASS = {
    "lb": "pound", "lbs": "pound", "pound": "pound", "pounds": "pound",
    "oz": "pound / 16", "ounce": "pound / 16", "ounces": "pound / 16",
    "kg": "kilogram", "g": "gram", "gram": "gram", "grams": "gram", "mg": "gram / 1000",
}  # fmt: skip


def _areas() -> dict[str, str]:
    table = {"acre": "43560 * foot ** 2", "acres": "43560 * foot ** 2", "sf": "foot ** 2"}
    for name, unit in _LENGTH.items():
        if name not in ("'", '"'):
            for spelled in (f"{name}2", f"sq {name}", f"sq{name}", f"square {name}"):
                table[spelled] = f"({unit}) ** 2"
    return table


def _ratios(tops: Mapping[str, str], bottoms: Mapping[str, str], **named: str) -> dict[str, str]:
    """`fl oz/gal`, `m3/h` and the like: every spelling over every spelling, and the `named` ones."""
    table = {f"{top}/{low}": f"({a}) / ({b})" for top, a in tops.items() for low, b in bottoms.items()}
    return table | named


_AREA = _areas()


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """One kind of quantity.

    `spellings` maps what may be written to an expression in data/units.txt, `si` is what floats are held in,
    `us` and `metric` are the spellings printed, `us_steps` and `metric_steps` the finest step printed below
    each size, in the printed unit; `least` and `most` bound the SI values that can be meant.
    """

    article: str
    spellings: Mapping[str, str]
    si: str
    us: str
    metric: str
    example: str
    most: float
    us_steps: tuple[tuple[float, str], ...]
    metric_steps: tuple[tuple[float, str], ...]
    least: float = -float("inf")
    signed: bool = False
    compound: bool = False


_ENDLESS = float("inf")


def _steps(*pairs: tuple[float, str], last: str) -> tuple[tuple[float, str], ...]:
    return (*pairs, (_ENDLESS, last))


_ONE = _steps(last="1")
_TENTH = _steps(last="0.1")
_FINE = _steps((1, "0.01"), (20, "0.1"), last="1")
_SMALL = _steps((0.01, "0.0001"), (0.1, "0.001"), (1, "0.01"), (10, "0.1"), last="1")
_HUNDREDTH = _steps((10, "0.01"), (100, "0.1"), last="1")


def _length(article: str, example: str, **other: object) -> Dimension:
    fixed: dict[str, object] = {
        "spellings": _LENGTH, "si": "meter", "us": "ft", "metric": "m", "most": 1e5, "compound": True,
        "us_steps": _ONE, "metric_steps": _TENTH,
    }  # fmt: skip
    return Dimension(article=article, example=example, **{**fixed, **other})  # type: ignore[arg-type]


_CONCENTRATION = _ratios(_MASS, _VOLUME, ppm="gram / meter ** 3")

DIMENSIONS: Mapping[str, Dimension] = {
    "length": _length("a length", "`31 ft` or `9.4 m`"),
    "height": _length("a height", "`6 ft`, `-4 ft` or `1.8 m`", signed=True),
    "head": _length("a head of water", "`8 ft` or `2.4 m`", us_steps=_TENTH, metric_steps=_HUNDREDTH),
    "bore": _length("a bore", "`3/4 in` or `19 mm`", us="in", metric="mm", most=2.0),
    "dip": _length("a dipstick reading", "`17 1/8 in` or `434 mm`", us="in", metric="mm", most=100.0),
    "area": Dimension(
        article="an area", spellings=_AREA, si="meter ** 2", us="ft2", metric="m2",
        example="`1200 ft2` or `111 m2`", most=1e7, us_steps=_ONE, metric_steps=_TENTH,
    ),
    "volume": Dimension(
        article="a volume", spellings=_VOLUME, si="meter ** 3", us="gal", metric="L",
        example="`275 gal` or `1040 L`", most=1e4, us_steps=_FINE, metric_steps=_HUNDREDTH,
    ),
    "air": Dimension(
        article="a volume of air or gas", spellings=_VOLUME, si="meter ** 3", us="ft3", metric="m3",
        example="`500 ft3` or `14 m3`", most=1e9,
        us_steps=_FINE, metric_steps=_SMALL,
    ),
    "flow": Dimension(
        article="a flow",
        spellings=_ratios(_VOLUME, _TIME, gpm="gallon / minute", gph="gallon / (60 * minute)",
                          lpm="liter / minute", **{"imp gpm": "imperial_gallon / minute"}),
        si="meter ** 3 / second", us="gpm", metric="L/min", example="`5 gpm` or `19 L/min`", most=10.0,
        us_steps=_TENTH, metric_steps=_TENTH,
    ),
    "pressure": Dimension(
        article="a pressure",
        spellings={"psi": "psi", "psig": "psi", "bar": "100000 * pascal", "mbar": "100 * pascal",
                   "pa": "pascal", "kpa": "1000 * pascal", "mpa": "1000000 * pascal"},
        si="pascal", us="psi", metric="bar", example="`58 psi` or `4 bar`", most=1e9,
        us_steps=_steps((10, "0.1"), last="1"), metric_steps=_steps((10, "0.01"), (100, "0.1"), last="1"),
    ),
    "temperature": Dimension(
        article="a temperature",
        spellings={name: unit for unit, names in {
            "degree_Fahrenheit": ("f", "degf", "deg f", "fahrenheit", "degrees f"),
            "degree_Celsius": ("c", "degc", "deg c", "celsius", "degrees c"),
            "kelvin": ("k", "kelvin"),
        }.items() for name in names},
        si="kelvin", us="F", metric="C", example="`72 F` or `22 C`", least=200.0, most=500.0,
        signed=True,
        us_steps=_ONE, metric_steps=_ONE,
    ),
    "warming": Dimension(
        article="a rise of temperature",
        spellings={"f": "5 / 9 * kelvin", "c": "kelvin", "k": "kelvin"},
        si="kelvin", us="F", metric="C", example="`18 F` or `10 C`", most=500.0,
        us_steps=_ONE, metric_steps=_ONE,
    ),
    "speed": Dimension(
        article="a speed",
        spellings=_ratios(_LENGTH, _TIME, mph="5280 * foot / (60 * minute)", kph="1000 * meter / (60 * minute)",
                          kn="1852 * meter / (60 * minute)", knots="1852 * meter / (60 * minute)"),
        si="meter / second", us="mph", metric="km/h", example="`9 mph` or `14 km/h`", most=3000.0,
        us_steps=_ONE, metric_steps=_ONE,
    ),
    "mass": Dimension(
        article="a mass", spellings=_MASS, si="kilogram", us="lb", metric="kg", example="`5200 lb` or `2360 kg`",
        most=1e6, us_steps=_steps((1, "0.01"), (10, "0.1"), last="1"), compound=True,
        metric_steps=_steps((1, "0.01"), (10, "0.1"), last="1"),
    ),
    "time": Dimension(
        article="a time", spellings=_TIME, si="second", us="s", metric="s", example="`50 s` or `15 min`",
        most=1e10, us_steps=_ONE, metric_steps=_ONE, compound=True,
    ),
    "force": Dimension(
        article="a force", spellings={"lbf": "pound_force", "n": "newton", "newton": "newton", "newtons": "newton"},
        si="newton", us="lbf", metric="N", example="`10 lbf` or `44 N`", most=1e7, us_steps=_TENTH,
        metric_steps=_ONE,
    ),
    "power": Dimension(
        article="a power",
        spellings={"w": "watt", "watt": "watt", "watts": "watt", "kw": "1000 * watt", "hp": "horsepower",
                   "horsepower": "horsepower"},
        si="watt", us="W", metric="W", example="`3/4 hp` or `3500 W`", most=1e8, us_steps=_ONE, metric_steps=_ONE,
    ),
    "voltage": Dimension(
        article="a voltage", spellings={"v": "volt", "volt": "volt", "volts": "volt", "kv": "1000 * volt"},
        si="volt", us="V", metric="V", example="`120 V`", most=1e6, us_steps=_steps((1, "0.01"), (20, "0.1"), last="1"),
        metric_steps=_steps((1, "0.01"), (20, "0.1"), last="1"),
    ),
    "current": Dimension(
        article="a current", spellings={"a": "ampere", "amp": "ampere", "amps": "ampere", "ma": "ampere / 1000"},
        si="ampere", us="A", metric="A", example="`15 A`", most=1e5, us_steps=_steps((20, "0.1"), last="1"),
        metric_steps=_steps((20, "0.1"), last="1"),
    ),
    "charge": Dimension(
        article="a charge", spellings={"ah": "60 * minute * ampere", "amp hour": "60 * minute * ampere",
                                       "amp hours": "60 * minute * ampere", "mah": "60 * minute * ampere / 1000"},
        si="second * ampere", us="Ah", metric="Ah", example="`100 Ah`", most=1e9,
        us_steps=_steps((10, "0.1"), last="1"), metric_steps=_steps((10, "0.1"), last="1"),
    ),
    "rotation": Dimension(
        article="a speed of rotation",
        spellings={"rpm": "1 / minute", "r/min": "1 / minute", "rev/min": "1 / minute"},
        si="1 / second", us="rpm", metric="rpm", example="`3450 rpm`", most=1e5, us_steps=_ONE, metric_steps=_ONE,
    ),
    "fraction": Dimension(
        article="a share", spellings={"%": "percent", "percent": "percent"}, si="radian", us="%", metric="%",
        example="`4 %`", most=1e4, us_steps=_steps((1, "0.01"), (20, "0.1"), last="1"),
        metric_steps=_steps((1, "0.01"), (20, "0.1"), last="1"),
    ),
    "dose": Dimension(
        article="a dose", spellings=_ratios(_VOLUME, _VOLUME, **{"%": "percent", "vol %": "percent"}),
        si="radian", us="fl oz/gal", metric="mL/L", example="`1 fl oz/gal` or `8 mL/L`", most=1.0,
        us_steps=_FINE, metric_steps=_FINE,
    ),
    "concentration": Dimension(
        article="a concentration", spellings=_CONCENTRATION, si="kilogram / meter ** 3", us="mg/L", metric="mg/L",
        example="`4 mg/L` or `120 g/L`", most=1e5, us_steps=_SMALL, metric_steps=_SMALL,
    ),
    "density": Dimension(
        article="a density",
        spellings=_ratios(_MASS, _VOLUME), si="kilogram / meter ** 3", us="lb/gal", metric="kg/m3",
        example="`8.34 lb/gal` or `998 kg/m3`", most=1e5, us_steps=_HUNDREDTH, metric_steps=_ONE,
    ),
    "spread": Dimension(
        article="a volume on each area", spellings=_ratios(_VOLUME, _AREA), si="meter", us="gal/ft2",
        metric="L/m2", example="`0.12 gal/ft2` or `5 L/m2`", most=10.0, us_steps=_SMALL, metric_steps=_HUNDREDTH,
    ),
    "coverage": Dimension(
        article="an area from each volume", spellings=_ratios(_AREA, _VOLUME), si="1 / meter",
        us="ft2/gal", metric="m2/L", example="`60 ft2/gal` or `1.5 m2/L`", most=1e7, us_steps=_ONE,
        metric_steps=_HUNDREDTH,
    ),
    "pace": Dimension(
        article="an area in each time", spellings=_ratios(_AREA, _TIME), si="meter ** 2 / second",
        us="ft2/min", metric="m2/min", example="`100 ft2/min` or `9 m2/min`", most=1e4, us_steps=_ONE,
        metric_steps=_TENTH,
    ),
    "viscosity": Dimension(
        article="a viscosity", spellings={"mpa s": "pascal * second / 1000", "pa s": "pascal * second",
                                          "cp": "pascal * second / 1000"},
        si="pascal * second", us="mPa s", metric="mPa s", example="`1.00 mPa s`", most=1e3,
        us_steps=_steps(last="0.001"), metric_steps=_steps(last="0.001"),
    ),
    "angle": Dimension(
        article="an angle", spellings={"deg": "angle_degree", "degrees": "angle_degree", "rad": "radian"},
        si="radian", us="deg", metric="deg", example="`38 deg`", most=100.0, us_steps=_ONE, metric_steps=_ONE,
        signed=True,
    ),
    "velocity": Dimension(
        article="a velocity", spellings=_ratios(_LENGTH, _TIME), si="meter / second", us="ft/s", metric="m/s",
        example="`8.2 ft/s` or `2.5 m/s`", most=3000.0, us_steps=_TENTH, metric_steps=_HUNDREDTH,
    ),
}  # fmt: skip


def unit_key(text: str) -> str:
    """A unit as its spelling stands in the table: lower case, no full stops, no space round a slash."""
    text = text.lower().replace(".", "").replace("°", "deg ").replace(" per ", "/").replace("^", "")
    return " ".join(re.sub(r"\s*/\s*", "/", text).split())
