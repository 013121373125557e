"""Which letters can be printed, and which names look the same once they are.

The one place where somebody's text becomes text that may stand on a page: what the print font has no letter for is
replaced here and nowhere else. The engine itself would print an empty box and say nothing.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import Final

from planner.inputs.tables.rows import table

NO_GLYPH: Final = "?"
_HIDDEN: Final = frozenset({"Cc", "Cf", "Cs", "Co"})
"""Control, bidi and zero-width characters, soft hyphens, and what only one maker's font draws."""
_MARKS: Final = frozenset({"Mn", "Me"})


@lru_cache(maxsize=1)
def letters() -> frozenset[int]:
    """Code points that every weight of the print font can draw."""
    ends = [tuple(int(end, 16) for end in row.split("-")) for row in table("letters")["letters"].split()]
    return frozenset(point for row in ends for point in range(row[0], row[-1] + 1))


@lru_cache(maxsize=4096)
def _drawn(character: str) -> str | None:
    """What stands on paper for one composed character: nothing for a hidden one, None where there is no letter."""
    if character in "\u2010\u2011\u2012":
        return "-"  # hyphens the face has no separate glyph for
    category = unicodedata.category(character)
    if character in "\n\r\t\v\f\u2028\u2029" or category == "Zs":
        return character if character == "\u00a0" else " "
    if category in _HIDDEN | _MARKS:
        return ""  # marks left over after composing go too
    if ord(character) in letters():
        return character
    plain = (part for part in unicodedata.normalize("NFKD", character) if ord(part) in letters())
    return "".join(part for part in plain if unicodedata.category(part) not in _HIDDEN | _MARKS) or None


def printable(text: str) -> str:
    """The text with control and bidi characters gone and every character one that the typeface can draw."""
    drawn = (_drawn(one) for one in unicodedata.normalize("NFC", str(text)))
    return "".join(NO_GLYPH if one is None else one for one in drawn)


def loses(text: str) -> bool:
    """True where some of the text can only be printed as question marks."""
    return printable(text).count(NO_GLYPH) > str(text).count(NO_GLYPH)


def lost(text: str) -> list[str]:
    """The letters of a name that paper would not show, each once; a lone mark by its number."""
    found = []
    for one in unicodedata.normalize("NFC", text):
        if _drawn(one) is None:
            found.append(f"`{one}`")
        elif unicodedata.category(one) in _MARKS:
            found.append(f"U+{ord(one):04X}")
    return list(dict.fromkeys(found))


def hidden(text: str) -> str:
    """The first character of a name that no editor shows, such as U+202E; empty where there is none."""
    return next((f"U+{ord(one):04X}" for one in text if unicodedata.category(one) in _HIDDEN), "")


def alike(text: str) -> str:
    """A name as the eye takes it: two that give the same here are one name to whoever reads them on paper."""
    drawn = (one if (shown := _drawn(one)) is None else shown for one in unicodedata.normalize("NFC", text))
    return " ".join(unicodedata.normalize("NFKC", "".join(drawn)).casefold().split())
