"""How large a surface is, from whichever way its size was written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt
from typing import Any

from planner.inputs.models.job import SurfaceInput
from planner.inputs.reading.letters import alike

ROOF_SIZES = ("footprint", "squares")


def gross_area(surface: SurfaceInput) -> float:
    """Area [m2] before windows and doors come off."""
    if surface.area is not None:
        return surface.area
    if surface.squares is not None:
        return surface.squares
    if surface.gable is not None:
        base, height = surface.gable
        return surface.count * base * height / 2
    if surface.footprint is not None:
        # The slope is longer than the ground below it by sqrt(1 + pitch^2), whatever the roof's shape.
        return surface.footprint * sqrt(1 + (surface.pitch or 0.0) ** 2)
    side = surface.width if surface.width is not None else surface.around or 0.0
    return side * (surface.height or 0.0)


def net_area(surface: SurfaceInput) -> float:
    """Area [m2] to wash."""
    return gross_area(surface) - surface.less


def surface_names(surfaces: Sequence[SurfaceInput | Mapping[str, Any]]) -> list[str]:
    """What each surface is called: its name, or its kind, numbered where a kind comes unnamed more than once."""
    written = [(_key(wall, "name"), _key(wall, "kind")) for wall in surfaces]
    unnamed = [kind for name, kind in written if not name]
    taken = {alike(name) for name, _ in written if name}
    names, seen = [], dict.fromkeys(unnamed, 0)
    for name, kind in written:
        if name:
            names.append(name)
            continue
        words = kind.replace("_", " ")
        while True:
            seen[kind] += 1
            own = words if unnamed.count(kind) == 1 and seen[kind] == 1 else f"{words} {seen[kind]}"
            if alike(own) not in taken:
                break
        taken.add(alike(own))
        names.append(own)
    return names


def side_names(surfaces: Sequence[SurfaceInput | Mapping[str, Any]]) -> list[str]:
    """What paper calls each surface by its side, with its name too where two are on one side; empty without a side."""
    names, sides = surface_names(surfaces), [_key(wall, "side") for wall in surfaces]
    bases = [alike(side or name) for side, name in zip(sides, names, strict=True)]
    return [
        f"{side}, {name}" if side and bases.count(base) > 1 else side
        for side, name, base in zip(sides, names, bases, strict=True)
    ]


def sides_alike(surfaces: Sequence[SurfaceInput | Mapping[str, Any]]) -> list[tuple[int, str]]:
    """The places of surfaces whose side does not tell them from another one, each with what both are called.

    No side is another's name, though that one be called by a side of its own: pages, JSON and a record go by either.
    """
    names, sides = surface_names(surfaces), side_names(surfaces)
    written = [_key(wall, "side") for wall in surfaces]
    called = [alike(side or name) for side, name in zip(sides, names, strict=True)]
    plain = [alike(name) for name in names]
    return [
        (place, side)
        for place, (side, name) in enumerate(zip(written, names, strict=True))
        if side
        and (
            alike(side) in (*plain[:place], *plain[place + 1 :])  # another one's name
            or called.count(called[place]) > 1
            or (sides[place] != side and alike(side) == alike(name))  # `front, front` says nothing
        )
    ]


def sides_misspelled(surfaces: Sequence[SurfaceInput | Mapping[str, Any]]) -> list[tuple[int, str]]:
    """The places of surfaces whose side is an earlier one's spelled otherwise, each with how that is spelled."""
    spelled: dict[str, str] = {}
    found = []
    for place, side in enumerate(_key(wall, "side") for wall in surfaces):
        first = spelled.setdefault(alike(side), side)
        if side != first:
            found.append((place, first))
    return found


def _key(surface: SurfaceInput | Mapping[str, Any], name: str) -> str:
    value = surface.get(name) if isinstance(surface, Mapping) else getattr(surface, name, None)
    return " ".join(value.split()) if isinstance(value, str) else ""
