"""What crews write in a box, brought to the spellings our grammar reads: `9.15am`, `0:38`, `<1`, `52 lb` at a gauge.

Only records are read so; job files keep to the grammar, but for times of day and bucket tests, which are read alike
everywhere. What can be meant two ways, two figures or a bound are faults that say so: nothing is guessed.

`<1` on a strip is kept as its upper end with `residual_below`, and judged only where that end passes. Slashes divide
only where parts marks come in: `52/54` is two readings.
"""

from __future__ import annotations

import re
from typing import Final

from planner.frozen import dataclass
from planner.light import pattern
from planner.units import Bucket, Unreadable, read, read_bucket

_NUMBER: Final = r"(?:[0-9][0-9.,]*(?: ?[0-9]+/[0-9]+| ?[½⅓¼¾⅛⅔⅜⅝⅞])?|[0-9]+/[0-9]+|[½⅓¼¾⅛⅔⅜⅝⅞]|\.[0-9]+)"
_SLASHED: Final = pattern(r"(?:(?P<whole>[0-9]+)[ -])?(?<![0-9.])(?P<top>[0-9.]+) ?/ ?(?P<bottom>[0-9.]+)")
_PARTS: Final = frozenset({"2", "3", "4", "8", "16", "32"})
"""What marks on jugs, tapes and dials are divided in (common practice, no source)."""

_ABOUT: Final = pattern(
    r"(?:~|≈|about|approx\.?|approximately|around|ca\.?|circa)\s*(?=[0-9.½⅓¼¾⅛⅔⅜⅝⅞])", re.IGNORECASE
)
_ISH: Final = pattern(r"(?<=[0-9½⅓¼¾⅛⅔⅜⅝⅞])[ -]?ish\b|(?<=[a-z])[ -]ish$", re.IGNORECASE)
_TWO: Final = pattern(
    rf"({_NUMBER})\s*[a-z%/'\"°]*\s*(?:-|–|—|\bto\b|\bor\b|\.\.+)\s*({_NUMBER})(?!/)\s*([^0-9]*)", re.IGNORECASE
)
_BOUND: Final = pattern(
    r"(?:<|>|≤|≥|over|under|above|below|(?:more|less) than|at (?:least|most))\s*|.*[0-9]\s*\+$", re.I
)
_BELOW: Final = pattern(
    r"(?:<=?|≤|less than|under|below|at most)\s*(?P<rest>.+)|0\s*(?:-|–|—|\bto\b)\s*(?P<top>.+)", re.I
)
_NOT_SEEN: Final = pattern(
    r"traces?|none|nil|n\.?d\.?|not detect(?:ed|able)|clear|neg(?:ative)?|no chlorine|too low", re.IGNORECASE
)
_NOTHING: Final = pattern(r"none|nil|zero|nothing|no", re.IGNORECASE)
_BLANK: Final = pattern(r"[-–—_.,/\\*]+|n\.?\s?/?\s?a\.?|not (?:taken|read|done|measured)", re.IGNORECASE)
_ENDS_BARE: Final = pattern(r"[0-9](?:[.,][0-9]*)?$|[½⅓¼¾⅛⅔⅜⅝⅞]$")
_MINUTES: Final = pattern(
    r"([0-9]{1,3}):([0-5][0-9](?:\.[0-9]+)?)(?: ?(?:s|sec|secs|seconds|min|mins|minutes)\.?)?", re.I
)
_VOLUMES: Final = frozenset({"gal", "fl oz", "qt", "pt", "L", "mL"})
_WEIGHTS: Final = frozenset({"lb", "oz", "kg", "g"})
_HAS_VOLUME: Final = pattern(r"[0-9]\s*-?\s*(?:us |imp )?(?:gal|gals|gallons?|l|lit(?:er|re)s?|qts?|quarts?)\b", re.I)
_SOME_VOLUME: Final = (
    rf"(?P<volume>{_NUMBER}[ -]?(?:us |imp )?(?:gal\w*|l|lit(?:er|re)s?|ltrs?|ml|qts?|quarts?|pts?|pints?|ft3|m3)\.?)"
)
_SOME_TIME: Final = (
    rf"(?P<time>{_NUMBER}(?::[0-9.]+)? ?(?:(?!(?:for|to|per)\b)[a-z]+\.?|[\"″]|'')?"
    r"(?: [0-9.]+ ?(?:s|secs?|seconds?)?)?)"
)
_VOLUME_FIRST: Final = pattern(rf"{_SOME_VOLUME} ?(?:\bin\b|/|@|\bper\b|\bat\b|\btook\b|,|=|:|-)? ?{_SOME_TIME}", re.I)
_TIME_FIRST: Final = pattern(
    rf"{_SOME_TIME}(?: ?(?:\bfor\b|\bto\b|/|\bper\b|,|@) ?| )(?:fill |fills )?{_SOME_VOLUME}", re.IGNORECASE
)
_MARK: Final = r"(?:[$€£]|usd|us\$|eur|gbp|dollars?|bucks|euros?|pounds?(?: sterling)?)"
_MONEY: Final = pattern(rf"{_MARK}? ?(?P<sum>[0-9][0-9,]*(?:\.[0-9]+)?|\.[0-9]+)(?:\.?-)? ?{_MARK}?\.?", re.I)
QUICKEST: Final = 2.0
SLOWEST: Final = 1200.0
"""A bucket is timed within these [s]: a watch is no quicker, nobody waits longer (common practice, no source)."""

_IN_WORDS: Final = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


@dataclass(frozen=True, slots=True, kw_only=True)
class Residual:
    """What a strip read [kg/m3]; `below`: it read less, `value` being the end it could tell."""

    value: float
    below: bool = False


def is_blank(text: str) -> bool:
    """Whether what stands in a box says only that nothing does: a dash, `n/a`."""
    return not text.strip() or bool(_BLANK.fullmatch(text.strip()))


def with_unit(text: str, unit: str, lead: str = "") -> str:
    """What was written with the unit printed beside its box, where it has none: `52 psi`, `5 gal in 38 s`.

    `lead` stands before a number there. A text with a unit of its own keeps it.
    """
    text = _ISH.sub("", " ".join(text.split()))
    if lead:
        if _HAS_VOLUME.search(text) or (not text[:1].isdigit() and not _ABOUT.match(text)):
            return text
        bare = _ENDS_BARE.search(text) and not _MINUTES.fullmatch(text)
        return f"{lead} {text} {unit}" if bare else f"{lead} {text}"
    if unit.endswith("%") and (
        match := re.fullmatch(rf"({_NUMBER}) ?%(?: ?{re.escape(unit[:-1].strip())})?", text, re.I)
    ):
        return f"{match[1]} {unit}"  # the box says which percent
    if unit in _VOLUMES | _WEIGHTS and _NOTHING.fullmatch(text):
        return f"0 {unit}"
    if unit in _VOLUMES:
        text = re.sub(r"(?<![a-z] )(?<![a-z])oz\b", "fl oz", text, flags=re.IGNORECASE)
    if not unit or not _ENDS_BARE.search(text) or _MINUTES.fullmatch(text):
        return text
    if unit == "ft" and re.fullmatch(r"[0-9]+ ?(?:ft|foot|feet|'|’) ?[0-9]{1,2}", text, re.IGNORECASE):
        return f"{text} in"
    return f"{text} {unit}"


_LONGEST: Final = 200
"""Characters of a measure and the words around it (our choice)."""


def _refuse_long(text: str, article: str) -> None:
    if len(text) > _LONGEST:
        raise Unreadable(
            "quantity.long", f"`{text[:30]}...` is {len(text):,} characters long, far more than {article} takes",
            "write the figure that was read, and its unit",
        )  # fmt: skip


def plain(text: str, article: str, *, parts: bool = False) -> str:
    """A measure without `about`; two figures and bounds are told from one. Raises Unreadable.

    `parts`: less than one may be written as a fraction, as of a jug or a dial; elsewhere `52/54` and `7/8` are two
    readings, and a fraction follows a whole number.
    """
    _refuse_long(text, article)
    slashed = _SLASHED.search(text)
    if slashed and not _is_part(slashed, alone=parts):
        raise Unreadable(
            "quantity.number", f"`{text[:40]}` is two figures, and one is needed here",
            f"write one of them, `{slashed['top'][:12]}` or `{slashed['bottom'][:12]}`",
        )  # fmt: skip
    text = _ISH.sub("", _ABOUT.sub("", " ".join(text.split()), count=1))
    text = re.sub(r"(?<=[0-9])\.(?=$|\s)", "", text)
    two = _TWO.fullmatch(text)
    if two and not re.fullmatch(r"[0-9]+ ?- ?[0-9]+/[0-9]+.*", text):
        raise Unreadable("quantity.number", f"`{text[:40]}` is two figures, and one is needed here", _one_of(two))
    if _BOUND.match(text):
        raise Unreadable(
            "quantity.number", f"`{text[:40]}` only says above or below, and {article} is needed here",
            "write the figure that was read, or say it in `deviations`",
        )  # fmt: skip
    if re.search(r"(?<![0-9,])[0-9]+,[0-9]{1,2}(?![0-9,])", text):
        raise Unreadable(
            "quantity.number", f"`{text[:40]}` cannot be read as {article}",
            f"write decimals with a point, like `{re.sub(r'(?<=[0-9]),(?=[0-9])', '.', text)[:40]}`",
        )  # fmt: skip
    return text


def _is_part(slashed: re.Match[str], *, alone: bool) -> bool:
    """Whether a slash divides: less than one, in parts that marks come in, with a whole number before it or `alone`."""
    top, bottom = slashed["top"], slashed["bottom"]
    return bottom in _PARTS and top.isdigit() and 0 < int(top) < int(bottom) and (alone or bool(slashed["whole"]))


def _one_of(two: re.Match[str]) -> str:
    unit = f" {two[3].strip()}" if two[3].strip() else ""
    try:
        middle = f", such as `{(float(two[1]) + float(two[2])) / 2:g}{unit}` for their middle"
    except ValueError:
        middle = ""
    return f"write one of them{middle}"


def read_clock(text: str) -> float:
    """A time of day [s from midnight]: `13:05`, `1:05 pm`, `9.15am`, `0915`; raises Unreadable.

    Without am or pm it is the 24 hour clock.
    """
    low = " ".join(text.lower().split())
    low = re.sub(r"\b([ap])\.? ?m\.?$|(?<=[0-9 ])([ap])\.?$", lambda half: f"{half[1] or half[2]}m", low)
    if re.fullmatch(r"(?:12(?:[:.]00)? )?(?:noon|midnight)", low):
        return 43200.0 if low.endswith("noon") else 0.0
    match = re.fullmatch(
        r"(?:(?P<hour>[0-9]{1,2})(?: ?[:.;h] ?| )(?P<minute>[0-9]{2})|(?P<run>[0-9]{3,4})|(?P<alone>[0-9]{1,2}))"
        r" ?(?P<half>am|pm|h|hrs|hours)?",
        low, re.ASCII,
    )  # fmt: skip
    half = match["half"] if match and match["half"] in ("am", "pm") else ""
    if not match or (match["alone"] and not half):
        raise _no_clock(text, "")
    run = match["run"] or ""
    hour, minute = int(match["hour"] or run[:-2] or match["alone"]), int(match["minute"] or run[-2:] or 0)
    if minute > 59:
        raise _no_clock(text, ": minutes go to 59")
    if half and not 1 <= hour <= 12:
        meant = f"{hour:02}:{minute:02}" if hour <= 23 else ""
        raise _no_clock(text, ": with am or pm the hours go from 1 to 12", meant)
    if hour > 23:
        raise _no_clock(text, ": hours go to 23")
    if half:
        hour = hour % 12 + (12 if half == "pm" else 0)
    return hour * 3600.0 + minute * 60.0


def _no_clock(text: str, why: str, meant: str = "") -> Unreadable:
    remedy = "write it by the 24 hour clock, like `13:05`, or with am or pm, like `1:05 pm`"
    return Unreadable(
        "time.clock",
        f"`{text[:40]}` is not a time of day{why}",
        f"write `{meant}` if that was meant" if meant else remedy,
    )


def read_gauge(text: str) -> float:
    """A gauge's pressure [Pa]; pounds are those on a square inch. Raises Unreadable."""
    return read(
        re.sub(r"(?<=[0-9.½¼¾]) ?(?:lbs?|pounds?|#)\.?$", " psi", plain(text, "a pressure"), flags=re.I), "pressure"
    )


def read_volume(text: str) -> float:
    """A volume [m3]: `none` is 0, ounces are fluid, gallons may have ounces or quarts after them. Raises Unreadable."""
    if _NOTHING.fullmatch(text.strip()):
        return 0.0
    text = re.sub(r"(?<![a-z] )(?<![a-z])oz\b", "fl oz", plain(text, "a volume", parts=True), flags=re.IGNORECASE)
    parts = re.fullmatch(
        rf"({_NUMBER} ?gal\w*\.?),? (?:and )?({_NUMBER} ?(?:fl oz|qts?|quarts?|pts?|pints?|cups?))\.?", text, re.I
    )
    return read(parts[1], "volume") + read(parts[2], "volume") if parts else read(text, "volume")


def read_time(text: str, *, watch: bool = True) -> float:
    """A time [s]; `8 m` is minutes, and `8:30` is minutes and seconds by a `watch`. Raises Unreadable."""
    text = plain(text, "a time")
    if watch and (match := _MINUTES.fullmatch(text)):
        return int(match[1]) * 60.0 + float(match[2])
    return read(re.sub(r"(?<=[0-9.½¼¾]) ?m$", " min", text), "time")


def read_bucket_done(text: str) -> Bucket:
    """A bucket test as crews write it: `5 gal in 38`, `5 gal/38 s`, `38 sec for 5 gal`. Raises Unreadable."""
    article, example = "a bucket test", "`5 gal in 38 s`"
    _refuse_long(text, article)
    words = re.sub(r"\b(?:bucket|pail)\b:? ?", "", _ABOUT.sub("", " ".join(text.split())), flags=re.IGNORECASE)
    words = re.sub(r" in (?:~|about |ca\.? )", " in ", words)
    match = _VOLUME_FIRST.fullmatch(words) or _TIME_FIRST.fullmatch(words)
    if not match:
        two = _TWO.fullmatch(re.sub(rf"^{_SOME_VOLUME} ?(?:in\b|/)? ?", "", words, flags=re.IGNORECASE))
        if two:
            raise Unreadable("quantity.number", f"`{text[:40]}` is two times, and one is needed here", _one_of(two))
        lacks = re.fullmatch(r"[0-9.:]+ ?[a-z]*", words, re.IGNORECASE)
        bare = (" without its seconds" if _HAS_VOLUME.search(words) else " without its bucket") if lacks else ""
        message = f"`{text[:40]}` cannot be read as {article}{bare}"
        raise Unreadable("quantity.number", message, f"write {article} like {example}")
    seconds = re.sub(r" ?(?:[\"″]|'')$", " s", match["time"].strip())
    seconds = f"{seconds} s" if _ENDS_BARE.search(seconds) and ":" not in seconds else seconds
    filled, took = read_volume(match["volume"].replace("-", " ")), read_time(seconds)
    if filled <= 0.0 or took <= 0.0:
        raise Unreadable("quantity.range", f"`{text[:40]}` fills nothing", f"write {article} like {example}")
    if not QUICKEST <= took <= SLOWEST:
        raise Unreadable(
            "quantity.range", f"`{text[:40]}`: nobody times a bucket of {took:g} s",
            "write seconds, such as `38`, or minutes and seconds, such as `1:05`",
        )  # fmt: skip
    return Bucket(volume=filled, seconds=took)


def read_bucket_text(text: str) -> Bucket:
    """The same where a file or an option is read: what our grammar takes as well, however long it ran. Raises
    Unreadable."""
    try:
        return read_bucket(text)
    except Unreadable:
        return read_bucket_done(text)


def read_number(text: str, *, parts: bool = True) -> float:
    """A mark on a dial: `2.4`, `2 1/2`, `#3`; without `parts` no fraction by itself. Raises Unreadable."""
    words = re.sub(
        r"^(?:#|no\.?|mark|at|on|dial)\s*(?=[0-9.½¼¾])", "", plain(text, "a number", parts=parts), flags=re.IGNORECASE
    )
    for mark, share in {"½": "1/2", "¼": "1/4", "¾": "3/4"}.items():
        words = words.replace(mark, f" {share}").strip()
    mixed = re.fullmatch(r"(?:([0-9]{1,4})[ -]+)?([0-9]{1,3})/([1-9][0-9]{0,2})", words)
    return int(mixed[1] or 0) + int(mixed[2]) / int(mixed[3]) if mixed else read(words, "number")


def read_money(text: str) -> float:
    """A sum in the company's own money: `18.40`, `$18.40`, `14 dollars`, `1,250`. Raises Unreadable."""
    words = plain(text, "a sum of money")
    if match := _MONEY.fullmatch(words):
        words = match["sum"]
    elif not re.fullmatch(_NUMBER, words):
        raise Unreadable(
            "quantity.number", f"`{text[:40]}` cannot be read as a sum of money", "write the figure, such as `62.50`"
        )
    return read(words, "number")


def money_in(words: str | None) -> float | None:
    """The sum where words are a sum of money and nothing else, as of `$62.50`; None where they say anything more."""
    try:
        return read_money(words) if words else None
    except Unreadable:
        return None


def read_count(text: str) -> int:
    """A count: `2`, `two`, `2 tanks`, `2x`. Raises Unreadable."""
    words = re.sub(r"\s*(?:x|×|tank(?:s|fuls?)?|batch(?:es)?)$", "", " ".join(text.split()).lower())
    if words in _IN_WORDS:
        return _IN_WORDS.index(words) + 1
    match = re.fullmatch(r"([0-9]{1,6})(?:\.0*)?", words)
    if not match:
        raise Unreadable("quantity.number", f"`{text[:40]}` is not a whole number", "write a whole number, such as `3`")
    return int(match[1])


def read_residual(text: str) -> Residual:
    """What a strip read; `<1 mg/L` keeps its mark, `0-1 mg/L` says the same. Raises Unreadable."""
    words = _ABOUT.sub("", " ".join(text.split()))
    if _NOT_SEEN.fullmatch(words):
        raise Unreadable(
            "quantity.number",
            f"`{text[:40]}` is not a figure",
            "write the lowest mark of the strip's scale, such as `<1 mg/L`",
        )
    match = _BELOW.fullmatch(words)
    value = read(plain((match["rest"] or match["top"]) if match else words, "a concentration"), "concentration")
    if match and value <= 0.0:
        raise Unreadable("quantity.range", f"`{text[:40]}` is less than zero", "write what it read, such as `0 mg/L`")
    return Residual(value=value, below=bool(match))
