"""Tanks, jugs and pails that mix what is put into them, and hoses in which one thing pushes the other along.

A mixture is kg of each substance in a m3 of it; without any it is water. Air and what nobody knows are counted as
substances of 1 kg/m3, so that they fill a line, and are found in a vessel, like any other.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Final

from planner.inputs.tables.chemicals import SOAP

Mixture = Mapping[str, float]
Parcel = tuple[float, Mixture]

AIR: Final = "air"
UNKNOWN: Final = "unknown"
WATER: Final[Mixture] = {}
OF_AIR: Final[Mixture] = {AIR: 1.0}

LEAST: Final = 1e-9
"""Volumes [m3] and masses [kg] below this are what sums of floats leave over (the contract's tolerance)."""

ROUNDING: Final = 1.0 + 1e-9
"""So much more is the same."""

_DUST: Final = 1e-12


def held_of(stock: str, strength: float) -> Mixture:
    """The mixture of a chemical's name and strength as a procedure's states have them."""
    if stock == "water":
        return WATER
    return {stock: 1.0 if stock in (AIR, UNKNOWN) else strength}


def blend(parts: list[tuple[float, Mixture]]) -> Mixture:
    """What comes of shares of mixtures, the shares making one."""
    found: dict[str, float] = {}
    for share, mixture in parts:
        for name, strength in mixture.items():
            found[name] = found.get(name, 0.0) + share * strength
    return found


def chemicals(mixture: Mixture) -> list[str]:
    """What of a mixture is neither water, air nor unknown."""
    return [name for name, strength in mixture.items() if strength > LEAST and name not in (AIR, UNKNOWN)]


@dataclass(slots=True)
class Vessel:
    """A tank, jug, pail, bucket or tub.

    `watered`: water went in since it was last stirred; `unstirred`: stock did, `soaped` soap too, `order` the last
    one's; `rinsed`: what came in last is water to flush it with; `traces`:
    what flush water may hold a trace of. `neat` is the lot a panel's jug holds; `drawn` [m3]
    has been taken out.
    """

    name: str
    room: float = inf
    dead: float = 0.0
    volume: float = 0.0
    mass: dict[str, float] = field(default_factory=dict)
    watered: bool = False
    unstirred: bool = False
    neat: str | None = None
    order: int = 0
    soaped: bool = False
    rinsed: bool = False
    traces: set[str] = field(default_factory=set)
    drawn: float = 0.0
    _mixture: Mixture | None = None

    def mixture(self) -> Mixture:
        """What it holds, mixed."""
        if self._mixture is None:
            volume = self.volume
            self._mixture = {name: kg / volume for name, kg in self.mass.items()} if volume > _DUST else WATER
        return self._mixture

    def put(self, volume: float, mixture: Mixture) -> None:
        """Something more in it."""
        self.volume += volume
        for name, strength in mixture.items():
            self.mass[name] = self.mass.get(name, 0.0) + volume * strength
        if self.mass:
            self._mixture = None

    def add(self, substance: str, mass: float) -> None:
        """Something dry in it."""
        self.mass[substance] = self.mass.get(substance, 0.0) + mass
        self._mixture = None

    def take(self, volume: float) -> Mixture:
        """Something out of it; more than it holds leaves it less than empty, for whoever asks."""
        mixture = self.mixture()
        left = self.volume - volume
        if abs(left) < _DUST:
            self.empty()
            return mixture
        for name, strength in mixture.items():
            self.mass[name] -= volume * strength
        self.volume = left
        return mixture

    def empty(self) -> None:
        """Nothing in it."""
        self.volume = 0.0
        self.mass.clear()
        self._mixture = None

    def rid(self, *names: str) -> dict[str, float]:
        """It without some substances, and how much [kg] of them there was."""
        self._mixture = None
        return {name: self.mass.pop(name) for name in names if name in self.mass}

    def names(self) -> list[str]:
        """The chemicals in it."""
        return [name for name, kg in self.mass.items() if kg > LEAST and name not in (AIR, UNKNOWN)]

    def unknown(self) -> bool:
        """Whether nobody knows what all of it is."""
        return self.mass.get(UNKNOWN, 0.0) > LEAST


def active_of(mass: Mapping[str, float]) -> tuple[str | None, float]:
    """The chemical there is most of and its mass: what a state is named by. Soap only where there is nothing else."""
    best, most = None, LEAST
    for name, kg in mass.items():
        if name not in (AIR, UNKNOWN, SOAP) and kg > most:
            best, most = name, kg
    if best is None and mass.get(SOAP, 0.0) > LEAST:
        return SOAP, mass[SOAP]
    return (best, most) if best is not None else (None, 0.0)


class Queue:
    """What stands in a line, from the pump's end to the tip: what goes in pushes the same volume out."""

    __slots__ = ("parcels",)

    def __init__(self, parcels: list[Parcel]) -> None:
        """`parcels` from the pump's end on."""
        self.parcels: deque[Parcel] = deque(parcels)

    def push(self, volume: float, mixture: Mixture) -> list[Parcel]:
        """So much in at the pump's end; what leaves at the tip, the first of it first."""
        parcels = self.parcels
        if parcels and (parcels[0][1] is mixture or parcels[0][1] == mixture):
            parcels[0] = (parcels[0][0] + volume, mixture)
        else:
            parcels.appendleft((volume, mixture))
        out: list[Parcel] = []
        left = volume
        while left > 0.0 and parcels:
            size, last = parcels[-1]
            if size > left + _DUST:
                parcels[-1] = (size - left, last)
                out.append((left, last))
                break
            # What floats leave over of a parcel goes with it.
            parcels.pop()
            out.append((size, last))
            left -= size
        return out

    def split(self, volumes: list[float]) -> list[list[Parcel]]:
        """What each hose holds, in order from the pump."""
        found: list[list[Parcel]] = []
        rest = list(self.parcels)
        for number, volume in enumerate(volumes):
            own: list[Parcel] = []
            left = inf if number == len(volumes) - 1 else volume
            while rest and left > 0.0:
                size, mixture = rest[0]
                if size > left + _DUST:
                    own.append((left, mixture))
                    rest[0] = (size - left, mixture)
                    break
                own.append((size, mixture))
                left -= size
                rest.pop(0)
            found.append(own)
        return found

    def forget(self, substance: str) -> float:
        """So much [m3] of a substance turns out to be water."""
        found = sum(size * mixture.get(substance, 0.0) for size, mixture in self.parcels)
        if found > 0.0:
            self.parcels = deque(
                (size, {name: kg for name, kg in mixture.items() if name != substance})
                for size, mixture in self.parcels
            )
        return found


def names_in(parcels: list[Parcel] | deque[Parcel]) -> set[str]:
    """Everything in some parcels but water, air and unknown among it."""
    return {name for size, mixture in parcels if size > LEAST for name, kg in mixture.items() if size * kg > LEAST}


def state_of(parcels: list[Parcel] | deque[Parcel]) -> tuple[str, float]:
    """What a hose holds, in a state's words: unknown before any chemical, that before water, water before air.

    With the chemical its mean strength over all of it.
    """
    volume = sum(size for size, _ in parcels)
    mass: dict[str, float] = {}
    plain = 0.0
    for size, mixture in parcels:
        plain += size if not mixture else 0.0
        for name, strength in mixture.items():
            mass[name] = mass.get(name, 0.0) + size * strength
    if mass.get(UNKNOWN, 0.0) > LEAST:
        return UNKNOWN, 0.0
    chemical, kg = active_of(mass)
    if chemical is not None:
        return chemical, kg / volume
    return ("water", 0.0) if plain > LEAST else (AIR, 0.0)
