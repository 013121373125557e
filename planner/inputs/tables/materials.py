"""What things are made of, by the words people write, and what each liquid does to it: data/materials.yaml, `touched`.

A phrase is read by the longest words of the table that are in it, in either spelling, singular or plural; words beside
them (gutters, sill, head) name no material. What no word of is known is refused where it is written, and never taken
as harmless.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from itertools import pairwise
from typing import Final, Literal

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.tables.rows import rows, table

May = Literal["fine", "weak", "care", "rinse", "never"]
_WORST: Final[tuple[May, ...]] = ("fine", "weak", "care", "rinse", "never")
CLASSES: Final = tuple(table("materials")["classes"])
"""What a record has an effect for; `touches` of a chemical's own record says which of them it goes by."""
_ALL_ALIKE: Final = {"mild": "fine", "untried": "try_first"}
"""What `touches` says of all materials at once."""
_WORD = re.compile(r"[^\W_]+")
_KINDS: Final = ("weathering steel", "galvanized steel", "stainless steel", "mild steel")
_LIKE: Final = 0.82
"""How like a known word an unknown one beside it may be before somebody has to say which he meant (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a class of chemical does to a material; `bath`: in a descaling bath, empty where `may` says all."""

    name: str
    may: May
    bath: str
    why: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One material, its words, its effects by class; `kinds`: a word before it may name one that bears less."""

    name: str
    words: tuple[str, ...]
    effects: Mapping[str, Effect]
    gas: str | None
    seals: bool
    general: bool
    kinds: bool = False


@lru_cache(maxsize=1)
def materials() -> Mapping[str, Material]:
    """Every material by name."""
    effects = {
        row["name"]: Effect(
            name=row["name"], may=row["may"], bath=row.get("bath", ""), why=row["why"], source=row["source"]
        )
        for row in rows("materials", "effects")
    }
    return {
        row["name"]: Material(
            name=row["name"],
            words=tuple(row["words"]),
            effects={one: effects[row[one]] for one in CLASSES},
            gas=row.get("gas"),
            seals=row.get("seals") == "true",
            general=row.get("general") == "true",
            kinds=row.get("kinds") == "true",
        )
        for row in rows("materials", "touched")
    }


@lru_cache(maxsize=1)
def _by_words() -> tuple[tuple[str, Material], ...]:
    """Words with their material, the longest first: stainless steel is no steel."""
    pairs = [(" ".join(_words(word)), material) for material in materials().values() for word in material.words]
    return tuple(sorted(pairs, key=lambda pair: -len(pair[0])))


def _words(phrase: str) -> list[str]:
    return [_singular(word) for word in _WORD.findall(phrase.casefold())]


def _singular(word: str) -> str:
    """A word without its plural."""
    if word.endswith("sses"):
        return word[:-2]
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


@lru_cache(maxsize=1)
def _beside() -> frozenset[str]:
    return frozenset(_singular(word) for word in table("materials")["beside"])


@lru_cache(maxsize=1)
def _absent() -> frozenset[str]:
    return frozenset(table("materials")["absent"])


@lru_cache(maxsize=4096)
def named(phrase: str) -> tuple[tuple[Material, ...], tuple[str, ...]]:
    """The materials that a phrase names, and its words that name none and are not known to: figures are grades."""
    left = f" {' '.join(_words(phrase))} "
    found: dict[str, Material] = {}
    for word, material in _by_words():
        while f" {word} " in left:
            found.setdefault(material.name, material)
            left = left.replace(f" {word} ", " ", 1)
    known = _beside() | _absent()
    rest = (word for word in left.split() if word not in known and not re.fullmatch(r"\d+[a-z]?", word))
    sure = tuple(one for one in found.values() if not one.general)
    return sure or tuple(found.values()), tuple(rest)


def effect_on(chemical: str, material: Material) -> Effect:
    """What a chemical does to a material. One that no class has is not known to be harmless: it is tried first."""
    of = CHEMICALS.get(chemical)
    if of is None or of.touches is None:
        return _effect("try_first")
    own = of.touches_but.get(material.name, _ALL_ALIKE.get(of.touches))
    return _effect(own) if own is not None else material.effects[of.touches]


def worst_on(chemical: str, phrase: str) -> tuple[Material, Effect] | None:
    """The material of a phrase that a chemical does most to, with what it does; None where none is named."""
    found = [(material, effect_on(chemical, material)) for material in named(phrase)[0]]
    return max(found, key=lambda pair: _WORST.index(pair[1].may), default=None)


@lru_cache(maxsize=64)
def _effect(name: str) -> Effect:
    row = next(row for row in rows("materials", "effects") if row["name"] == name)
    return Effect(name=name, may=row["may"], bath=row.get("bath", ""), why=row["why"], source=row["source"])


def spoils(chemical: str) -> bool:
    """Whether what a chemical goes through must be known: soaps and what ends a bleach or an acid spoil nothing."""
    return chemical not in CHEMICALS or CHEMICALS[chemical].touches != "mild"


def refused(phrase: str) -> tuple[str, str] | None:
    """What is wrong with a phrase for a material and what to write instead; None where it names one."""
    if _absent() & set(_words(phrase)):
        return (
            f"`{phrase[:60]}` says what is not there",
            "write only what is there, or take this out if there is nothing of the kind",
        )
    if not named(phrase)[0]:
        near = _nearest([phrase, *_words(phrase)])
        meant = f"write `{near}` if that was meant; known here: " if near else "known here: "
        shown = ", ".join(f"`{material}`" for material in list(materials())[::3]) + " and so on"
        return f"`{phrase[:60]}` names no material this planner knows", f"{meant}{shown}"
    return almost(phrase)


def almost(phrase: str) -> tuple[str, str] | None:
    """What is wrong with a word of a phrase that is almost a material's, and what to write; None where none is."""
    found, rest = named(phrase)
    kinds = next((material for material in found if material.kinds), None)
    said = _words(phrase)
    for word, metal in pairwise(said):
        if kinds is not None and word in rest and metal in kinds.words:
            return (
                f"`{word} {metal}` in `{phrase[:60]}` is a kind of {metal} this planner does not know",
                f"write the kind it is ({', '.join(f'`{literal}`' for literal in _KINDS)}), or leave `{word}` out",
            )
    for word in rest:
        near = _nearest([word], _LIKE) if len(word) > 3 else None
        if near is not None and not any(near in material.words for material in found):
            return (
                f"`{word}` in `{phrase[:60]}` is almost a material's name",
                f"write `{near}` if that was meant, or leave `{word}` out",
            )
    return None


def _nearest(words: Iterable[str], cutoff: float = 0.7) -> str | None:
    """The table's own spelling most like any of the words."""
    known = {word: word for material in materials().values() for word in material.words}
    for word in words:
        close = difflib.get_close_matches(word.casefold()[:60], known, 1, cutoff)
        if close:
            return known[close[0]]
    return None
