"""The kinds of text a key takes, each read to SI where the model is made.

A number that is already a float passes as SI, so that a program can make the
same models a file makes.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable
from typing import Annotated, Any, Final

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from planner.frozen import dataclass
from planner.inputs.models.base import Slip
from planner.inputs.reading.handwriting import read_bucket_text, read_clock, read_money
from planner.inputs.reading.letters import hidden, lost
from planner.inputs.reading.strengths import EXAMPLES, Strength, read_strength
from planner.inputs.tables.materials import refused
from planner.inputs.tables.rows import table
from planner.units import DIMENSIONS, Bucket, Unreadable, read, read_head_or_pressure, read_rectangle

LONGEST_WORDS = 2000
LONGEST_SIDE = 40  # characters, as much as a row of the wash table takes in two lines (our choice)


@dataclass(frozen=True, slots=True)
class Reads:
    """Reads text by `reader` into one of `kinds`; `example` goes into the JSON Schema, `article` into faults.

    `bare` names what an editor's own YAML reader takes the unquoted text for where that is not text.
    """

    reader: Callable[[str], Any]
    kinds: tuple[type, ...]
    article: str
    example: str
    bare: tuple[str, ...] = ()

    def __call__(self, written: Any) -> Any:
        """The value, or a slip as pydantic's own error."""
        if isinstance(written, str):
            try:
                return self.reader(written)
            except Unreadable as fault:
                raise Slip(code=fault.code, message=fault.message, remedy=fault.remedy).error() from None
        if isinstance(written, self.kinds) and not _odd_bool(written, self.kinds):
            return written
        raise Slip(
            code="key.shape",
            message=f"{self.article} is needed here",
            remedy=f"write {self.article} like {self.example}",
        ).error()

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Reading stands for pydantic's own handling of the type."""
        return core_schema.no_info_plain_validator_function(self)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """In a file it is text, for an editor perhaps a number."""
        text = {"description": f"{self.article}, such as {self.example}"}
        kinds = ("string", *self.bare)
        return {"anyOf": [{"type": kind} for kind in kinds], **text} if self.bare else {"type": "string", **text}


def _odd_bool(written: object, kinds: tuple[type, ...]) -> bool:
    return isinstance(written, bool) and bool not in kinds


_POINTED = frozenset({"l", "liter", "liters", "litre", "litres", "kg", "w"})
"""Units of countries where a point stands before thousands; of an area any: nobody measures it to three decimals."""


def _not_thousands(text: str, dimension: str) -> None:
    match = re.match(r"\s*([1-9][0-9]{0,2})\.([0-9]{3})(?![0-9])(.*)", text, re.DOTALL)
    if match is not None and (dimension == "area" or match[3].strip().lower() in _POINTED):
        small, rest = f"{float(match[1] + '.' + match[2]):g}", match[3].strip()
        short = f"{float(match[1] + '.' + match[2]):.2f}"
        raise Unreadable(
            "quantity.point",
            f"`{text}` may be {small} or {match[1]},{match[2]}: in some countries the point marks thousands",
            f"write `{short} {rest}`, or `{match[1]}{match[2]} {rest}` if that was meant",
        )


def _not_above_zero(text: str, remedy: str) -> Unreadable:
    return Unreadable("quantity.range", f"`{text}` must be more than zero", remedy)


def quantity(dimension: str, *, positive: bool = False) -> Reads:
    """A reader of one dimension; `positive` refuses zero where zero would mean nothing."""
    kind = DIMENSIONS.get(dimension)
    names = {
        "number": ("a number", "`0.95`"),
        "gauge": ("a wire gauge", "`12 AWG`"),
        "pitch": ("a pitch", "`6/12`"),
        "squares": ("a number of squares", "`24`"),
    }
    article, example = (kind.article, kind.example) if kind else names[dimension]

    def reader(text: str) -> float:
        value = read(text, dimension)
        _not_thousands(text, dimension)
        if positive and value <= 0:
            raise _not_above_zero(text, f"write {article} above zero, such as {example}")
        return value

    bare = ("number",) if dimension in ("number", "squares") else ()
    return Reads(reader, (float, int), article, example, bare)


def _words(text: str) -> str:
    plain = text.strip()
    if not plain:
        raise Unreadable("text.blank", "there is no text here", "write some words, or take the key out")
    if len(plain) > LONGEST_WORDS:
        raise Unreadable("text.long", f"this is {len(plain)} characters long", f"keep it to {LONGEST_WORDS}")
    return plain


def _name(text: str) -> str:
    plain = " ".join(_words(text).split())
    if len(plain) > 120:
        raise Unreadable("text.long", f"this name is {len(plain)} characters long", "keep a name to 120 letters")
    return plain


def _called(text: str) -> str:
    """The name of something to act on: whoever acts reads it on paper."""
    plain = _name(text)
    if unseen := hidden(plain):
        message = f"a character that editors do not show ({unseen}) is in this name"
        raise Unreadable("name.hidden", message, "take it out, or type the name again")
    if gone := lost(plain):
        message = f"the print font has no {', '.join(gone[:8])}, so paper could not show this name"
        remedy = "write it in Latin, Greek or Cyrillic letters, or as a number, such as `drum 14`"
        raise Unreadable("name.letters", message, remedy)
    return plain


def _side(text: str) -> str:
    plain = _called(text)
    if len(plain) > LONGEST_SIDE:
        raise Unreadable("text.long", f"this side is {len(plain)} letters long", f"keep it to {LONGEST_SIDE} letters")
    return plain


def _says(text: str, what: str, also: tuple[str, ...]) -> bool:
    """Whether a text says anything: letters enough, and not only words that stand for nothing."""
    blanks = table("blanks")
    empty = {word for name in ("nothing", *also) for word in blanks[name]}
    words = re.findall(r"[^\W\d_]+", text.casefold())
    letters = sum(len(word) for word in words if word not in empty)
    # A script that writes a word as one sign needs fewer of them.
    least = int(blanks["least_letters"][what]) if text.isascii() else 1
    return letters >= least


def _reason(text: str) -> str:
    plain = _words(text)
    if not _says(plain, "reason", ()):
        raise Unreadable(
            "text.empty", f"`{plain[:40]}` gives no reason", "write why in a few words, such as `sheltered courtyard`"
        )
    return plain


def person(text: str) -> str:
    """A person's name, or what the person is to the company. Raises Unreadable."""
    plain = _name(text)
    if not _says(plain, "person", ("nobody",)):
        raise Unreadable("text.empty", f"`{plain[:40]}` names nobody", "write a person's name, or `owner`")
    return plain


def _material(text: str) -> str:
    plain = _name(text)
    wrong = refused(plain)
    if wrong is not None:
        raise Unreadable("name.unknown", *wrong)
    return plain


def _yes_or_no(text: str) -> bool:
    word = text.strip().lower()
    if word in ("true", "yes", "on"):
        return True
    if word in ("false", "no", "off"):
        return False
    raise Unreadable("value.choice", f"`{text[:40]}` is neither yes nor no", "write `true` or `false`")


def _count(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,6}", text.strip()):
        raise Unreadable("quantity.number", f"`{text[:40]}` is not a whole number", "write a whole number, such as `3`")
    return int(text)


def _positive_count(text: str) -> int:
    count = _count(text)
    if count < 1:
        raise _not_above_zero(text, "write `1` or more")
    return count


def _volts(text: str) -> float:
    bare = re.fullmatch(r"[0-9]{1,6}(\.[0-9]+)?", text.strip())
    value = read(f"{text.strip()} V" if bare else text, "voltage")
    if value <= 0:
        raise _not_above_zero(text, "write a voltage above zero, such as `120`")
    return value


def _hours(text: str) -> float:
    bare = re.fullmatch(r"[0-9]{1,6}(\.[0-9]+)?", text.strip())
    clock = re.fullmatch(r"([0-9]{1,4}) ?[:hH] ?([0-5][0-9])(?: ?min)?", text.strip())
    written = f"{text.strip()} h" if bare else f"{clock[1]} h {clock[2]} min" if clock is not None else text
    try:
        return read(written, "time")
    except Unreadable as slip:
        raise Unreadable(slip.code, slip.message, "write hours such as `5.5`, `5:30` or `5 h 30 min`") from None


def read_date(text: str) -> datetime.date:
    """A date written as year, month and day. Raises Unreadable."""
    try:
        if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text.strip()):
            raise ValueError
        return datetime.date.fromisoformat(text.strip())
    except ValueError:
        raise Unreadable(
            "date.text", f"`{text[:40]}` is not a date", "write year, month and day like `2026-06-09`"
        ) from None


@dataclass(frozen=True, slots=True, kw_only=True)
class Best:
    """A pump's best point on its plate: `flow` [m3/s], and the rise as `pressure` [Pa] or `head` [m]."""

    flow: float
    pressure: float | None
    head: float | None


def read_best(text: str) -> Best:
    """`10 gpm at 45 psi`, or at a head. Raises Unreadable."""
    flow, joined, rise = (part.strip() for part in re.sub(r"\s+(?:at|@)\s+", "\0", text, count=1).partition("\0"))
    if not joined:
        message, remedy = f"`{text[:40]}` is not a flow at a pressure", "write both, such as `10 gpm at 45 psi`"
        raise Unreadable("quantity.range", message, remedy)
    lift = read_head_or_pressure(rise)
    found = Best(flow=read(flow, "flow"), pressure=lift.pressure, head=lift.head)
    if found.flow <= 0.0 or (found.pressure or found.head or 0.0) <= 0.0:
        message, remedy = f"`{text[:40]}` must be more than zero", "write both, such as `10 gpm at 45 psi`"
        raise Unreadable("quantity.range", message, remedy)
    return found


_POINTS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")
_SHORT = ("n", "ne", "e", "se", "s", "sw", "w", "nw")


def _bearing(text: str) -> float:
    word = text.strip().lower().replace(" ", "").replace("-", "")
    for points in (_POINTS, _SHORT):
        if word in points:
            return points.index(word) * math.pi / 4.0
    bare = re.fullmatch(r"([0-9]{1,3})(?:deg|°)?", word)
    if bare is None or int(bare[1]) > 360:
        raise Unreadable("value.choice", f"`{text[:40]}` is not a direction", "write it like `south`, `SW` or `225`")
    return math.radians(int(bare[1]) % 360)


def bearing_of(side: str) -> float | None:
    """Which way [rad] a wall on this side faces where its name is a point of the compass, `South` or `north-east wall`;
    None where it says more, or nothing of that."""
    known = re.fullmatch(r"([a-z -]+?)(?: (?:side|wall|face|gable|end))?", side.strip().lower())
    word = known[1].replace(" ", "").replace("-", "") if known is not None else ""
    return _POINTS.index(word) * math.pi / 4.0 if word in _POINTS else None


@dataclass(frozen=True, slots=True)
class North:
    """A latitude in degrees, south of the equator below 0."""

    degrees: float


def _latitude(text: str) -> North:
    known = re.fullmatch(r"(-?)([0-9]{1,2}(?:\.[0-9]{1,6})?) ?°? ?([NnSs]?)", text.strip())
    if known is None or float(known[2]) > 90.0 or (known[1] and known[3]):
        raise Unreadable("quantity.number", f"`{text[:40]}` is not a latitude", "write it like `40.2 N` or `33.9 S`")
    south = known[1] == "-" or known[3] in ("S", "s")
    return North(-float(known[2]) if south else float(known[2]))


def _rectangle(text: str) -> tuple[float, float]:
    sides = read_rectangle(text)
    if min(sides) <= 0:
        raise _not_above_zero(text, "write both sides, such as `35 ft x 9 ft`")
    return sides


def _footprint(text: str) -> float:
    if re.search(r"[x×]", text, re.IGNORECASE):
        width, length = _rectangle(text)
        return width * length
    value = read(text, "area")
    _not_thousands(text, "area")
    if value <= 0:
        raise _not_above_zero(text, "write an area, such as `1800 ft2`")
    return value


def _weight_share(text: str) -> float:
    strength = read_strength(text)
    if strength.basis != "wt":
        raise Unreadable("strength.basis", f"`{text}` is not a percent by weight", "write it like `0.2 wt %`")
    return strength.amount / 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """So much of a chemical: `volume` in m3 of a liquid, or `mass` in kg of a dry one, the other None."""

    volume: float | None
    mass: float | None


def _amount(text: str) -> Amount:
    _not_thousands(text, "volume")
    try:
        return Amount(volume=read(text, "volume"), mass=None)
    except Unreadable as fault:
        if fault.code == "quantity.dimension" and " is a mass" in fault.message:
            return Amount(volume=None, mass=read(text, "mass"))
        raise


@dataclass(frozen=True, slots=True, kw_only=True)
class Rain:
    """Rain in the forecast: `chance` as a fraction, `start` in s from midnight; None where not said."""

    chance: float | None
    start: float | None


def read_rain(text: str) -> Rain:
    """`none`, a chance, or from when. Raises Unreadable."""
    plain = " ".join(text.split()).lower()
    if plain in ("none", "no", "dry"):
        return Rain(chance=0.0, start=None)
    match = re.fullmatch(r"(?P<chance>[0-9.]+ ?%)?(?: ?(?:from|after) (?P<start>[0-9n].*))?", plain)
    if not plain or not match:
        raise Unreadable(
            "value.rain", f"`{text[:40]}` cannot be read as rain", "write `none`, `30 %` or `40 % from 14:00`"
        )
    chance = read(match["chance"], "fraction") if match["chance"] else None
    return Rain(chance=chance, start=read_clock(match["start"]) if match["start"] else None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Every:
    """How often: after so many `hours` a pump runs [s], or after so many `months` and `days` of the calendar."""

    hours: float | None
    months: int
    days: int


_CALENDAR: Final = {"day": (0, 1), "week": (0, 7), "month": (1, 0), "year": (12, 0)}
"""A word of the calendar in months and days."""


def _every(text: str) -> Every:
    words = " ".join(text.split()).lower()
    match = re.fullmatch(r"(?P<count>[0-9]{1,5}) ?(?P<word>hours?|hrs?|h|days?|weeks?|months?|years?)", words)
    if not match or not int(match["count"]):
        raise Unreadable(
            "value.every", f"`{text[:40]}` does not say how often", "write hours a pump runs, `150 h`, or `6 months`"
        )
    count, word = int(match["count"]), match["word"].removesuffix("s")
    if word.startswith("h"):
        return Every(hours=count * 3600.0, months=0, days=0)
    months, days = _CALENDAR[word]
    return Every(hours=None, months=count * months, days=count * days)


Words = Annotated[str, Reads(_words, (str,), "text", "`some words`", ("number",))]
Name = Annotated[str, Reads(_name, (str,), "a name", "`lake side`", ("number",))]
Called = Annotated[str, Reads(_called, (str,), "a name", "`lake side`", ("number",))]
SideName = Annotated[str, Reads(_side, (str,), "a name", "`left gable`", ("number",))]
MaterialName = Annotated[str, Reads(_material, (), "a material", "`aluminum`", ("number",))]
Reason = Annotated[str, Reads(_reason, (str,), "a reason", "`sheltered courtyard`", ("number",))]
Person = Annotated[str, Reads(person, (str,), "a person", "`owner`", ("number",))]
YesNo = Annotated[bool, Reads(_yes_or_no, (bool,), "yes or no", "`true` or `false`", ("boolean",))]
Count = Annotated[int, Reads(_count, (int,), "a whole number", "`3`", ("integer",))]
PositiveCount = Annotated[int, Reads(_positive_count, (int,), "a whole number", "`3`", ("integer",))]
Volts = Annotated[float, Reads(_volts, (float, int), "a voltage", "`120` or `120 V`", ("number",))]
Hours = Annotated[float, Reads(_hours, (float, int), "a time in hours", "`16.5` or `16.5 h`", ("number",))]
Date = Annotated[datetime.date, Reads(read_date, (datetime.date,), "a date", "`2026-06-09`")]
Clock = Annotated[float, Reads(read_clock, (float, int), "a time of day", "`07:00`")]
StrengthText = Annotated[Strength, Reads(read_strength, (Strength,), "a strength", EXAMPLES)]
WeightShare = Annotated[float, Reads(_weight_share, (float, int), "a percent by weight", "`0.2 wt %`")]
AmountText = Annotated[Amount, Reads(_amount, (Amount,), "a volume or a mass", "`12 gal` or `50 lb`")]
EveryText = Annotated[Every, Reads(_every, (Every,), "how often", "`150 h` or `6 months`")]
RainText = Annotated[Rain, Reads(read_rain, (Rain,), "rain", "`none`, `30 %` or `40 % from 14:00`")]
BucketText = Annotated[Bucket, Reads(read_bucket_text, (Bucket,), "a bucket test", "`5 gal in 50 s`")]
BestText = Annotated[Best, Reads(read_best, (Best,), "a flow at a pressure", "`10 gpm at 45 psi`")]
Bearing = Annotated[float, Reads(_bearing, (float, int), "a direction", "`south` or `225`", ("integer",))]
Latitude = Annotated[North, Reads(_latitude, (North,), "a latitude", "`40.2 N`", ("number",))]
Rectangle = Annotated[tuple[float, float], Reads(_rectangle, (tuple,), "two sides", "`35 ft x 9 ft`")]
Footprint = Annotated[float, Reads(_footprint, (float, int), "an area or two sides", "`40 ft x 30 ft` or `1200 ft2`")]

Length = Annotated[float, quantity("length")]
PositiveLength = Annotated[float, quantity("length", positive=True)]
Height = Annotated[float, quantity("height")]
Bore = Annotated[float, quantity("bore", positive=True)]
Head = Annotated[float, quantity("head")]
Area = Annotated[float, quantity("area")]
PositiveArea = Annotated[float, quantity("area", positive=True)]
Volume = Annotated[float, quantity("volume")]
PositiveVolume = Annotated[float, quantity("volume", positive=True)]
PositiveFlow = Annotated[float, quantity("flow", positive=True)]
Pressure = Annotated[float, quantity("pressure")]
PositivePressure = Annotated[float, quantity("pressure", positive=True)]
Temperature = Annotated[float, quantity("temperature")]
Speed = Annotated[float, quantity("speed")]
Mass = Annotated[float, quantity("mass")]
Time = Annotated[float, quantity("time")]
Power = Annotated[float, quantity("power", positive=True)]
Current = Annotated[float, quantity("current", positive=True)]
Charge = Annotated[float, quantity("charge", positive=True)]
Rotation = Annotated[float, quantity("rotation", positive=True)]
Share = Annotated[float, quantity("fraction")]
Dose = Annotated[float, quantity("dose", positive=True)]
Concentration = Annotated[float, quantity("concentration")]
Gauge = Annotated[float, quantity("gauge")]
Pitch = Annotated[float, quantity("pitch")]
Squares = Annotated[float, quantity("squares", positive=True)]
Number = Annotated[float, quantity("number")]
PositiveNumber = Annotated[float, quantity("number", positive=True)]
Spread = Annotated[float, quantity("spread")]
Pace = Annotated[float, quantity("pace", positive=True)]
Money = Annotated[float, Reads(read_money, (float, int), "a sum of money", "`62.50`", ("number",))]
