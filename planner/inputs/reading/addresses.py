"""When two addresses are one place: without case, punctuation, the spelling of street and number, unit and town.

The house number, the street's name, its type and its compass point are compared. A unit is a part of one building, with
one roof and one gutter, so it is left out; so is the town behind the street. An address without a number keeps all its
words. Two spellings the rules do not make one may still be meant as one: `near_place` finds those, to be asked about.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from planner.frozen import dataclass
from planner.inputs.tables.rows import rows, table

_NUMBER: Final = re.compile(r"\d+[a-z]?|\d+(?:[-/]\d+)+")
_TOKEN: Final = re.compile(r"#|\d+(?:[-/]\d+)+|[^\W_]+")
_SHORT: Final = 4
"""Of shorter street names one letter is no slip: Elm and Elk are two streets (our choice)."""

_MOST_WORDS: Final = 20
"""Words that make no address may read differently once they are in order; each turn leaves out some of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """An address in its parts, each in one spelling and empty where it has none; `rest` is one without a number."""

    number: str = ""
    before: str = ""
    name: tuple[str, ...] = ()
    kind: str = ""
    after: str = ""
    rest: tuple[str, ...] = ()


@lru_cache(maxsize=4096)
def same_place(address: str) -> str:
    """An address as it is compared: equal texts are one place. The text compares as the address itself does."""
    text, before = _text(address), address
    for _ in range(_MOST_WORDS):
        if text == before:
            break
        text, before = _text(text), text
    return text


def _text(address: str) -> str:
    place = _place(address)
    if place.rest or not place.number:
        return " ".join(place.rest) or " ".join(address.casefold().split())
    return " ".join(part for part in (place.number, place.before, *place.name, place.kind, place.after) if part)


def telling_word(address: str) -> str:
    """The longest word of an address that has one spelling only, to look for it in a text; empty where it has none."""
    known = {*_spellings().values(), *_names("streets"), *_names("directions")}
    words = [word for word in same_place(address).split() if word.isalpha() and word not in known]
    return max(words, key=len, default="")


def near_place(address: str, other: str, neighbors: float = 0.0) -> bool:
    """Whether two addresses that are not the same may be one site all the same, or share a gutter.

    One slip: a letter of the street, its type, its compass point, or a number spelled apart (`14 A`, `14-16`); what
    only one of them has is no difference. House numbers of one street up to `neighbors` apart share its gutter, and
    one digit may be a slip.
    """
    if same_place(address) == same_place(other):
        return False
    place, two = _place(address), _place(other)
    if not place.number and not two.number:
        return _begins(place.rest, two.rest) or _slip(" ".join(place.rest), " ".join(two.rest))
    place, two = _with_number(place), _with_number(two)
    if not _alike(place.number, two.number, neighbors):
        return False
    names = ["".join(each.name) for each in (place, two)]
    whole = ["".join((*each.name, each.kind)) for each in (place, two)]
    named = names[0] == names[1] or whole[0] == whole[1]
    if not (named or _slip(*names) or _begins(place.name, two.name)):
        return False
    pairs = ((place.kind, two.kind), (place.before + place.after, two.before + two.after))
    slips = sum(bool(a and b and a != b) for a, b in pairs)
    return slips + (not named) + (_digits(place.number) != _digits(two.number)) <= 1


def _with_number(place: _Place) -> _Place:
    """A number spelled apart in one piece; an address without one read as a street without a number."""
    if place.rest:
        whole = _place("1 " + " ".join(place.rest))
        return _Place(before=whole.before, name=whole.name, kind=whole.kind, after=whole.after)
    name, number = list(place.name), place.number
    while len(name) > 1 and name[0].isdigit():
        number += name.pop(0)
    return _Place(number=number, before=place.before, name=tuple(name), kind=place.kind, after=place.after)


def _alike(one: str, other: str, neighbors: float) -> bool:
    if not one or not other or _digits(one) == _digits(other):
        return True
    ends = [[int(end) for end in re.findall(r"\d{1,9}", text)[:2]] for text in (one, other)]
    if any(min(a) <= end <= max(a) for a, b in (ends, ends[::-1]) for end in b):
        return True
    if not neighbors > 0.0:
        return False
    apart = min(abs(a - b) for a in ends[0] for b in ends[1])
    return apart <= neighbors or _edits(one, other) <= 1


def _digits(number: str) -> str:
    """The first of its numbers, without a letter or a fraction behind it."""
    return re.split(r"[^\d]", number, maxsplit=1)[0]


def _begins(one: Sequence[str], other: Sequence[str]) -> bool:
    least = min(len(one), len(other))
    return least > 0 and tuple(one[:least]) == tuple(other[:least])


def _slip(one: str, other: str) -> bool:
    """Whether one letter too many, too few, wrong, or two changed about make one of the other."""
    return min(len(one), len(other)) >= _SHORT and _edits(one, other) <= 1


def _edits(one: str, other: str) -> int:
    """Slips of the pen between two words: 0, 1, or 2 for any more."""
    if one == other:
        return 0
    if abs(len(one) - len(other)) > 1:
        return 2
    start = next((n for n, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
    a, b = one[start:], other[start:]
    if a[1:] == b[1:] or a[1:] == b or a == b[1:] or (a[:2] == b[1::-1] and a[2:] == b[2:]):
        return 1
    return 2


@lru_cache(maxsize=1)
def _spellings() -> dict[str, str]:
    """Every other spelling of a street type, a compass point or a word."""
    lists = [row for under in ("streets", "directions", "words") for row in rows("addresses", under)]
    return {word: row["name"] for row in lists for word in row["spelled"]}


@lru_cache(maxsize=4)
def _names(under: str, *, spelled: bool = False) -> frozenset[str]:
    found = rows("addresses", under)
    return frozenset(word for row in found for word in (row["name"], *(row["spelled"] if spelled else ())))


@lru_cache(maxsize=1)
def _counted() -> dict[str, int]:
    words = table("addresses")
    ones = {word: number for number, word in enumerate(words["ones"], start=1)}
    return ones | {word: 10 * number for number, word in enumerate(words["tens"], start=2)}


@lru_cache(maxsize=1)
def _roads() -> tuple[tuple[re.Pattern[str], str], ...]:
    """What stands for a numbered road before its number: `CR 7`, `Co. Rd. 7`, `US-9`."""
    found = []
    for row in rows("addresses", "roads"):
        ways = sorted((row["name"], *row["spelled"]), key=len, reverse=True)
        spelled = "|".join(way.replace(" ", r"[\s.]+") for way in ways)
        found.append((re.compile(rf"\b(?:{spelled})[\s.-]*(?=\d)"), row["name"]))
    return tuple(found)


def _segments(address: str) -> list[list[str]]:
    """Its words between commas, in small letters without marks and accents."""
    apart = "".join(f" {letter}" if unicodedata.category(letter) == "No" else letter for letter in address)  # 14½
    plain = unicodedata.normalize("NFKD", apart.casefold())
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter)).casefold()
    plain = re.sub(r"['’`]", "", plain)
    plain = re.sub(r"\b([a-z])\.\s?(?=[a-z]\b)", r"\1", plain)  # N.E. is one word
    for pattern, name in _roads():
        plain = pattern.sub(f"{name} ", plain)
    plain = re.sub(r"(?<=\d)\s*[-–/⁄]\s*(?=\d)", lambda sign: "/" if sign[0].strip() in "/⁄" else "-", plain)
    return [found for part in re.split(r"[,;\n()]", plain) if (found := _TOKEN.findall(part))]


@lru_cache(maxsize=4096)
def _place(address: str) -> _Place:
    segments = _segments(address)
    everything = tuple(_one_spelling(word) for words in segments for word in words if word not in ("the", "#"))
    bare = [kept for words in segments if (kept := _without_units(words))]
    streets = []
    for at, words in enumerate(bare):
        found = _number_in(words)
        if found is None:
            continue
        number, street = found
        # `14, Alder Lane`: the street is what comes behind the comma.
        street = street or (bare[at + 1] if at + 1 < len(bare) else [])
        if street:
            streets.append(_street(number, [word for word in street if word != "the"] or street))
    # `Seven Oaks, 14 Alder Lane`: what says its type is the street.
    return next((place for place in streets if place.kind), streets[0] if streets else _Place(rest=everything))


def _without_units(words: Sequence[str]) -> list[str]:
    """The words of a segment without `unit 3`, `#3`, `2nd floor`."""
    kept: list[str] = []
    units = _names("units", spelled=True)
    at = 0
    while at < len(words):
        follows = words[at + 1] if at + 1 < len(words) else ""
        third = follows in units and re.fullmatch(r"\d+(st|nd|rd|th)", _one_spelling(words[at]))
        if third or (words[at] in units and (re.search(r"\d", follows) or len(follows) == 1)):
            at += 2
        else:
            kept.append(words[at])
            at += 1
    return kept


def _number_in(words: Sequence[str]) -> tuple[str, list[str]] | None:
    """The house number of a segment and what comes behind it; None where it has none."""
    counted, spellings = _counted(), _spellings()
    numbered = table("addresses")["numbered"]
    first = counted.get(words[0])
    if first is not None and len(words) > 1:
        second = counted.get(words[1], 0)
        both = first >= 20 and 0 < second < 10
        return str(first + second if both else first), list(words[2 if both else 1 :])
    for at, word in enumerate(words):
        behind = spellings.get(words[at - 1], words[at - 1]) if at else ""
        if not _NUMBER.fullmatch(word) or behind in numbered:
            continue
        # `Alder Lane 14`, as some countries have it.
        rest = list(words[at + 1 :] if at + 1 < len(words) else words[:at])
        number = re.sub(r"(?<!\d)0+(?=\d)", "", word)
        if rest and re.fullmatch(r"\d/\d", rest[0]):
            number += f" {rest.pop(0)}"
        elif number.isdigit() and len(rest) > 1 and _is_letter(rest):
            number += rest.pop(0)
        return number, rest
    return None


def _is_letter(rest: Sequence[str]) -> bool:
    """Whether a letter behind a house number belongs to it: no compass point, and not all the street's name."""
    if not re.fullmatch(r"[^\W\d]", rest[0]) or rest[0] in _names("directions"):
        return False
    return _one_spelling(rest[1]) not in _names("streets")


def _one_spelling(word: str) -> str:
    return _spellings().get(word, word)


def _street(number: str, words: Sequence[str]) -> _Place:
    """A street in its parts. Of two types side by side the first is part of the name (USPS Publication 28, 234.2)."""
    kinds, points = _names("streets"), _names("directions")
    street = [_one_spelling(word) for word in words]
    if len(words) > 2 and words[0] == "st":
        street[0] = "saint"
    before = ""
    while len(street) > 1 and street[0] in points and len(before) < 2 and street[1] not in kinds:
        before += street.pop(0)
    at = next((n for n, word in enumerate(street) if n and word in kinds), None)
    if at is None or street[0] in table("addresses")["numbered"]:
        numbered = [n for n, word in enumerate(street[:-1]) if word in kinds and street[n + 1].isdigit()]
        end = numbered[0] + 2 if numbered else len(street)
        name, kind, tail = street[:end], "", street[end:]
    else:
        while at + 1 < len(street) and street[at + 1] in kinds:
            at += 1
        name, kind, tail = street[:at], street[at], street[at + 1 :]
        if tail and tail[0].isdigit() and kind in table("addresses")["numbered"] and len(tail[0]) < 5:
            name, kind, tail = [*street[: at + 1], tail[0]], "", tail[1:]
    after = tail[0] if tail and tail[0] in points and all(word.isdigit() for word in tail[1:]) else ""
    return _Place(number=number, before=before, name=tuple(name), kind=kind, after=after)
