"""What of a pump may lie in a descaling bath, what is kept out of it, and what nobody can say.

The one list that findings and paper both go by. A part is known by the words that somebody wrote of it, read by the
table of materials.

A word beside a part that no row has is looked at first. Seals and plungers (`seals`) are no reason for a bath: where
nothing may lie in it and no shaft is wiped, none is planned and `mix.surface` stops. A shaft is wiped only where it
bears the acid.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from planner.frozen import dataclass
from planner.inputs.tables.materials import Material, effect_on, materials, named

_SHAFT = "stainless"  # what shafts are made of that may be wiped with acid, if rinsed at once
Fate = Literal["in", "hydrogen", "eaten", "pits", "spoiled"]
_UNSAID = "metal"  # the table's record of metal that nobody says more of


@dataclass(frozen=True, slots=True, kw_only=True)
class BathPart:
    """One material of a pump and what a bath does to it; `gas` is the metal that gives hydrogen, by its own name.

    `seals`: a pump's seals, packings and plungers are of it, which are no reason for a bath.
    """

    material: str
    fate: Fate
    gas: str | None
    why: str
    seals: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BathParts:
    """A pump's materials: `inside` may lie in the bath, `out` may not, of `unknown` names no table says anything.

    `apart` are those of `out` that give hydrogen and are written as staying out (`kept_out`). `written` False: nobody
    wrote what the pump is made of.
    """

    written: bool
    inside: tuple[BathPart, ...] = ()
    out: tuple[BathPart, ...] = ()
    apart: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def hydrogen(self) -> tuple[BathPart, ...]:
        """What gives hydrogen that burns, and is not written as staying out."""
        return tuple(part for part in self.out if part.fate == "hydrogen" and part.material not in self.apart)

    @property
    def seals(self) -> tuple[BathPart, ...]:
        """What acid would leave alone, but is seals and plungers, which stay out of it."""
        return tuple(part for part in self.inside if part.seals)

    @property
    def nothing_inside(self) -> bool:
        """Whether none of what is written, seals and plungers aside, is known to bear the bath: unknown stays out too.

        What gives hydrogen and is not written as staying out is told first.
        """
        return self.written and len(self.inside) == len(self.seals) and not self.hydrogen

    @property
    def shaft_bears(self) -> bool:
        """Whether a shaft may be wiped with the bath: it may be of stainless, or all that is written bears the acid."""
        if any(part.material == _SHAFT and part.fate in ("in", "pits") for part in (*self.inside, *self.out)):
            return True
        return self.written and bool(self.inside) and not self.out and not self.unknown


def parts_in_bath(acid: str, wetted: Sequence[str], spacers: Sequence[str], kept_out: Sequence[str]) -> BathParts:
    """A pump's parts in a bath of `acid`. Of spacers only what is named counts: mostly it is their thickness alone."""
    found: dict[str, BathPart] = {}
    unknown: list[str] = []
    for name in wetted:
        one, rest = named(name)
        found |= {material.name: _part(material, acid) for material in one}
        spoiled = any(_part(material, acid).fate != "in" for material in one)
        if not one or (not spoiled and rest):
            unknown.append(name)
    for name in spacers:
        found |= {
            material.name: _part(material, acid) for material in named(name)[0] if _part(material, acid).fate != "in"
        }
    apart = {material.name for name in kept_out for material in named(name)[0]}
    return BathParts(
        written=bool(wetted),
        inside=tuple(part for part in found.values() if part.fate == "in"),
        out=tuple(part for part in found.values() if part.fate != "in"),
        apart=tuple(part.material for part in found.values() if part.fate == "hydrogen" and part.material in apart),
        unknown=tuple(dict.fromkeys(unknown)),
    )


def hydrogen_metals() -> tuple[str, ...]:
    """Every metal that gives hydrogen in an acid bath, by its table name."""
    return tuple(
        material.name
        for material in materials().values()
        if material.name != _UNSAID and any(effect.bath == "hydrogen" for effect in material.effects.values())
    )


def _part(material: Material, acid: str) -> BathPart:
    effect = effect_on(acid, material)
    fate = effect.bath or ("in" if effect.may == "fine" else "spoiled")
    return BathPart(material=material.name, fate=fate, gas=material.gas, why=effect.why, seals=material.seals)  # type: ignore[arg-type]
