"""Quantity text to an SI float.

The grammar is ours: pint's own expression parser silently misreads `1 1/2 in`
and `1 000 ft` and never comes back from `10**10**10 ft`.  pint converts.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable

from planner.frozen import dataclass
from planner.units.scale import scale
from planner.units.table import DIMENSIONS, SQUARE, Dimension, unit_key

LONGEST_TEXT = 80
_NUMBER = re.compile(
    r"(?P<whole>\d{1,3}(?:,\d{3})+|\d+)[ -](?P<top>\d+)/(?P<bottom>\d+)|(?P<top1>\d+)/(?P<bottom1>\d+)"
    r"|(?P<decimal>\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?|\.\d+)",
    re.ASCII,
)
_DIGITS = "0123456789"
_GLYPHS = str.maketrans(
    {"’": "'", "′": "'", "”": '"', "″": '"', "−": "-", "×": "x", "º": "°", "⁄": "/"}
    | {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
)


class Unreadable(ValueError):
    """Text that is no quantity of the dimension asked for: `code`, `message`, `remedy` as in a Fault."""

    def __init__(self, code: str, message: str, remedy: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.remedy = remedy


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadOrPressure:
    """A pump's rise as it was written: `pressure` in Pa or `head` in m of the liquid, the other None."""

    pressure: float | None
    head: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bucket:
    """A bucket test: `volume` in m3 caught in `seconds`."""

    volume: float
    seconds: float

    @property
    def flow(self) -> float:
        """Flow [m3/s]."""
        return self.volume / self.seconds


def _plain(text: str) -> str:
    """Text with one space between words, plain quotes and plain powers."""
    text = re.sub(r"(?<=[a-z])[²³]", lambda power: "2" if power[0] == "²" else "3", text)
    return " ".join(text.translate(_GLYPHS).split())


def _number_fault(text: str, kind: Dimension) -> Unreadable:
    if re.search(r"\d[ ]\d{3}(?!\d|/)", text):
        remedy = f"take the space out of the number, or write `1,000`; write {kind.article} like {kind.example}"
    elif re.search(r"\d,\d", text):
        remedy = f"write decimals with a point, commas only before three digits, like {kind.example}"
    else:
        remedy = f"write {kind.article} with its unit, such as {kind.example}"
    return Unreadable("quantity.number", f"`{text}` cannot be read as {kind.article}", remedy)


def _fraction(top: str, bottom: str) -> float:
    if int(bottom) == 0:
        raise ZeroDivisionError
    return int(top) / int(bottom)


def _one_number(found: re.Match[str]) -> float:
    if found["whole"]:
        part = _fraction(found["top"], found["bottom"])
        if part >= 1:
            raise ZeroDivisionError
        return int(found["whole"].replace(",", "")) + part
    if found["top1"]:
        return _fraction(found["top1"], found["bottom1"])
    return float(found["decimal"].replace(",", ""))


def _unit_end(text: str, start: int) -> int:
    """Where the unit beginning at `start` ends: before the next digit that is no power of a unit."""
    at = start
    while at < len(text):
        if text[at] in _DIGITS:
            power = text[at] in "23" and at > start and (text[at - 1].isalpha() or text[at - 1] == "^")
            if not power or text[at + 1 : at + 2].isalnum():
                break
        at += 1
    return at


def _parts(text: str, kind: Dimension) -> list[tuple[float, str]]:
    """Numbers with the unit text behind each."""
    parts: list[tuple[float, str]] = []
    at = 0
    while at < len(text):
        found = _NUMBER.match(text, at)
        if not found:
            raise _number_fault(text, kind)
        try:
            number = _one_number(found)
        except ZeroDivisionError:
            raise _number_fault(text, kind) from None
        end = _unit_end(text, found.end())
        unit = text[found.end() : end]
        if unit[:1] in tuple(",.+-/*_:") or (not unit.strip() and end < len(text)):
            raise _number_fault(text, kind)
        parts.append((number, unit.strip()))
        at = end
    return parts


def _expression(unit: str, kind: Dimension, text: str) -> str:
    if not unit:
        raise Unreadable(
            "quantity.bare", f"`{text}` has no unit", f"write {kind.article} with its unit, such as {kind.example}"
        )
    key = unit_key(unit)
    if key in kind.spellings:
        return kind.spellings[key]
    for other in DIMENSIONS.values():
        if key in other.spellings:
            raise Unreadable(
                "quantity.dimension",
                f"`{text}` is {other.article}, and {kind.article} is needed here",
                f"write {kind.article}, such as {kind.example}",
            )
    if (told := _other_words(text, key, kind)) is not None:
        raise told
    near = _near(key, kind)
    raise Unreadable(
        "quantity.unit",
        f"`{unit}` in `{text}` is not a unit this planner knows",
        f"write `{near}` if that was meant; {kind.article} is written like {kind.example}"
        if near
        else f"write {kind.article} like {kind.example}",
    )


def _near(key: str, kind: Dimension) -> str | None:
    """The unit most like a word; none where only a letter or two happen to be the same, as of `am` and `m`."""
    for near in difflib.get_close_matches(key, kind.spellings, 3, 0.5):
        alike = difflib.SequenceMatcher(None, key, near).ratio()
        begins = key[:1] == near[:1] and (alike >= 0.6 or len(key) == len(near))
        if alike >= 0.75 or begins or sorted(key) == sorted(near):
            return near
    return None


def _other_words(text: str, key: str, kind: Dimension) -> Unreadable | None:
    """What stands after a number and is no unit at all: a time of day, or a word for about."""
    if re.fullmatch(r"[ap]\.?m\.?", key):
        return Unreadable(
            "quantity.dimension",
            f"`{text}` is a time of day, and {kind.article} is needed here",
            f"write {kind.article}, such as {kind.example}",
        )
    if key in ("ish", "or so", "about", "approx", "odd"):
        return Unreadable(
            "quantity.number",
            f"`{text}` is only about how much, and one figure is needed here",
            f"write the figure you plan with and its unit, such as {kind.example}",
        )
    return None


def _checked(text: object, article: str, example: str) -> str:
    """The text, plain and within bounds, before any grammar sees it."""
    if not isinstance(text, str):
        raise Unreadable("quantity.number", f"{article} is needed here", f"write it as text, such as {example}")
    if len(text) > LONGEST_TEXT:
        raise Unreadable(
            "quantity.long",
            f"`{text[:30]}...` is {len(text)} characters long, far more than {article} takes",
            f"write {article} like {example}",
        )
    return _plain(text)


def _amount(text: str, kind: Dimension) -> float:
    """One quantity, sign and all, in SI."""
    sign, rest = 1.0, text
    if rest[:1] in ("+", "-"):
        sign, rest = (-1.0 if rest[0] == "-" else 1.0), rest[1:].lstrip()
    if not rest or rest[0] not in _DIGITS + "." or re.search(r"\d[eE][-+]?\d", rest):
        raise _number_fault(text, kind)
    parts = _parts(rest, kind)
    if len(parts) > 1 and not kind.compound:
        raise _number_fault(text, kind)
    value, last, offset = 0.0, math.inf, 0.0
    for number, unit in parts:
        factor, offset = scale(_expression(unit, kind, text), kind.si)
        if factor >= last or (last < math.inf and number * factor >= last * (1 - 1e-12)):
            raise _number_fault(text, kind)
        value, last = value + number * factor, factor
    value = sign * value + offset
    if sign < 0 and not kind.signed and value != 0:
        raise Unreadable(
            "quantity.sign", f"`{text}` is negative", f"write {kind.article} without a minus, such as {kind.example}"
        )
    if not math.isfinite(value) or abs(value) > kind.most or value < kind.least:
        raise Unreadable(
            "quantity.range", f"`{text}` is larger than any real figure", f"write {kind.article} like {kind.example}"
        )
    return value + 0.0


def read(text: str, dimension: str) -> float:
    """An SI float from quantity text; raises Unreadable.

    `dimension` is a key of units_text.DIMENSIONS, or one of `number` (bare), `gauge` (`12 AWG` is 12.0),
    `pitch` (`6/12` is 0.5), `bucket` (`5 gal in 50 s`, a flow in m3/s), `squares` (100 ft2 each, in m2).
    """
    special = _SPECIAL.get(dimension)
    if special:
        article, example, reader = special
        return reader(_checked(text, article, example))
    kind = DIMENSIONS[dimension]
    return _amount(_checked(text, kind.article, kind.example), kind)


def _bare(text: str, article: str, example: str) -> float:
    if not re.fullmatch(r"(\d{1,3}(,\d{3})+|\d+)(\.\d+)?|\.\d+", text, re.ASCII):
        code = "quantity.sign" if re.fullmatch(r"-[\d.]+", text) else "quantity.number"
        raise Unreadable(code, f"`{text}` cannot be read as {article}", f"write {article}, such as {example}")
    value = float(text.replace(",", ""))
    if value > 1e9:
        raise Unreadable(
            "quantity.range", f"`{text}` is larger than any real figure", f"write {article} like {example}"
        )
    return value


def _gauge(text: str) -> float:
    found = re.fullmatch(r"(?:(\d{1,2})[ -]?(?:awg|ga|gauge)|(?:awg|ga|gauge) ?#?(\d{1,2}))\.?", text.lower(), re.ASCII)
    if not found:
        code = "quantity.bare" if re.fullmatch(r"\d+", text) else "quantity.number"
        raise Unreadable(code, f"`{text}` cannot be read as a wire gauge", "write a wire gauge like `12 AWG`")
    return float(found[1] or found[2])


def _pitch(text: str) -> float:
    found = re.fullmatch(r"(\d{1,3}(?:\.\d+)?) ?(?:/|:| in ) ?(\d{1,3}(?:\.\d+)?)", text, re.ASCII)
    if not found or float(found[2]) == 0 or float(found[1]) > 20 * float(found[2]):
        code = "quantity.bare" if re.fullmatch(r"[\d.]+", text) else "quantity.number"
        raise Unreadable(code, f"`{text}` cannot be read as a pitch", "write rise over run, such as `6/12`")
    return float(found[1]) / float(found[2])


def _bucket(text: str) -> Bucket:
    article, example = "a bucket test", "`5 gal in 50 s`"
    halves = re.split(r" in ", text, maxsplit=1)
    if len(halves) != 2:
        raise Unreadable("quantity.number", f"`{text}` cannot be read as {article}", f"write {article} like {example}")
    volume, seconds = read(halves[0], "volume"), read(halves[1], "time")
    if volume <= 0 or seconds <= 0:
        raise Unreadable("quantity.range", f"`{text}` fills nothing", f"write {article} like {example}")
    return Bucket(volume=volume, seconds=seconds)


def _squares(text: str) -> float:
    return SQUARE * _bare(re.sub(r" ?(squares?|sqs?)\.?$", "", text.lower()), "a number of squares", "`24`")


_SPECIAL: dict[str, tuple[str, str, Callable[[str], float]]] = {
    "number": ("a number", "`0.95`", lambda text: _bare(text, "a number", "`0.95`")),
    "gauge": ("a wire gauge", "`12 AWG`", _gauge),
    "pitch": ("a pitch", "`6/12`", _pitch),
    "bucket": ("a bucket test", "`5 gal in 50 s`", lambda text: _bucket(text).flow),
    "squares": ("a number of squares", "`24`", _squares),
}


def read_bucket(text: str) -> Bucket:
    """`5 gal in 50 s` as volume [m3] and time [s]; raises Unreadable."""
    return _bucket(_checked(text, "a bucket test", "`5 gal in 50 s`"))


def read_rectangle(text: str) -> tuple[float, float]:
    """`35 ft x 9 ft` as two lengths [m]; raises Unreadable."""
    plain = _checked(text, "a rectangle", "`35 ft x 9 ft`")
    sides = re.split(r"\s*[xX]\s*", plain)
    if len(sides) != 2 or not all(sides):
        raise Unreadable(
            "quantity.number", f"`{plain}` cannot be read as two lengths", "write both sides, such as `35 ft x 9 ft`"
        )
    return read(sides[0], "length"), read(sides[1], "length")


def read_head_or_pressure(text: str) -> HeadOrPressure:
    """`46 psi` as a pressure [Pa] or `106 ft` as a head [m]; raises Unreadable."""
    try:
        return HeadOrPressure(pressure=read(text, "pressure"), head=None)
    except Unreadable as fault:
        if fault.code == "quantity.dimension" and "is a length" in fault.message:
            return HeadOrPressure(pressure=None, head=read(text, "head"))
        raise
