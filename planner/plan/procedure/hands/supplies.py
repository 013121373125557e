"""A mix on its line as loads: tankfuls, drums or jugfuls in their order, and what the one in use still gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, floor, inf
from typing import Final

from planner.inputs.tables.defaults import default
from planner.plan.mix.model import LotShare, MixPlan
from planner.plan.procedure.book import PAIL, Line

DROP: Final = 1e-9
"""Less than this [m3] is nothing."""

BRIM: Final = 0.98
"""A pail is filled no higher than this share of it (our choice)."""


@dataclass(slots=True, kw_only=True)
class Load:
    """One tankful, drum or jugful of a mix: it gives `gives` [m3] of mix as planned, `most` where it has to."""

    number: int
    gives: float
    most: float
    share: LotShare | None = None


@dataclass(slots=True, kw_only=True)
class Supply:
    """A mix on its line: its loads, what the one in use still gives.

    `to_enter` [m3] goes in before water follows, `due` is still to land of that; `wanted` of all of it has not gone in.
    `first` [m3] is what the draw test of two guns at once sprays. `drained`: it gave way to another mix; `poured_out`
    [m3] is what of an injector's jug went before its next lot.
    """

    line: Line
    mix: MixPlan
    loads: list[Load]
    wanted: float
    at: int = -1
    left: float = 0.0
    to_enter: float = 0.0
    due: float = 0.0
    drawn: bool = False
    drained: bool = False
    poured_out: float = 0.0
    first: float | None = None

    @property
    def load(self) -> Load:
        """The load in use."""
        return self.loads[max(self.at, 0)]

    @property
    def neat(self) -> bool:
        """Whether the load in use is an injector's jug of a lot as it is sold."""
        return self._neat(self.at)

    @property
    def neat_next(self) -> bool:
        """The same of the load after it."""
        return self._neat(self.at + 1)

    def _neat(self, number: int) -> bool:
        share = self.loads[number].share if self.mix.kind == "injector" and 0 <= number < len(self.loads) else None
        return share is not None and (share.jug_stock or 0.0) + (self.mix.jug_soap or 0.0) >= 1.0 - DROP

    @property
    def vessel(self) -> str:
        """The tank or jug it stands in; none of a panel's, which draws out of a drum."""
        tank = self.mix.run.feed_tank
        if self.mix.kind == "injector":
            return f"jug {self.line.name}"
        return tank.name if self.mix.kind == "premix" and tank is not None else ""

    @property
    def later(self) -> float:
        """What the loads after this one can give [m3]."""
        return sum(load.most for load in self.loads[self.at + 1 :])

    @property
    def jug_share(self) -> float:
        """What of the flow comes out of the jug [-]."""
        device = self.mix.run.dosing
        if self.mix.kind == "injector" and device is not None and device.water_to_stock is not None:
            return 1.0 / (1.0 + device.water_to_stock)
        share = self.load.share
        return share.share or 0.0 if share is not None else self.mix.soap_share

    def test_seconds(self, volume: float) -> float:
        """How long the draw test's gun is open [s]: the largest whole 5 s that fits, under that whole seconds."""
        whole = volume / self.line.plan.flow
        return 5.0 * floor(whole / 5.0 + 1e-9) or float(floor(whole + 1e-9)) or whole


def soap_lot(mix: MixPlan) -> str:
    """The lot a panel draws its soap from."""
    return next(
        (share.lot.name for share in mix.soaps if share.stock > 0.0), mix.soaps[0].lot.name if mix.soaps else "soap"
    )


def loads_of(mix: MixPlan, mixes: Sequence[MixPlan]) -> list[Load]:
    """The tankfuls, drums or jugfuls of a mix in their order; what others of the `mixes` take of a drum is theirs."""
    planned: dict[str, float] = {}
    for share in (share for one in mixes for share in one.pours):
        planned[share.lot.name] = planned.get(share.lot.name, 0.0) + share.stock
    return list(_loads(mix, planned))


def _loads(mix: MixPlan, taken: Mapping[str, float]) -> Iterator[Load]:
    if mix.kind == "premix":
        tank = mix.run.feed_tank
        dead = tank.dead_volume if tank is not None else 0.0
        for number, batch in enumerate(mix.batches, start=1):
            gives = max(batch.mix - dead, 0.0)
            yield Load(number=number, gives=gives, most=gives)
        return
    shares: Sequence[LotShare] = [pour for pour in mix.pours if pour.stock > 0.0]
    whole = sum(part.mix for part in mix.parts)
    if not shares and mix.kind == "injector":
        # Soap alone.
        yield from _jugs(mix, whole, 1, None)
    elif not shares:
        yield Load(number=1, gives=inf, most=inf)
    for number, share in enumerate(shares, start=1):
        last = number == len(shares)
        planned = share.mix or 0.0
        on_hand = share.lot.on_hand
        spare = max(on_hand - taken[share.lot.name], 0.0) if on_hand is not None and share.share else inf
        if mix.kind == "metered":
            most = planned + spare / (share.share or 1.0)
            yield Load(number=number, gives=inf if last else planned, most=most, share=share)
            continue
        # A drum that is emptied gives no more than it holds, and the jug holds a little over.
        gives = whole if last else min(planned / default("jug_over"), whole)
        whole -= gives
        yield from _jugs(mix, gives, number, share)


def _jugs(mix: MixPlan, gives: float, number: int, share: LotShare | None) -> Iterator[Load]:
    """The jugfuls of an injector's mix out of one lot, each as much."""
    device = mix.run.dosing
    ratio = device.water_to_stock if device is not None and device.water_to_stock is not None else 0.0
    count = max(ceil(gives * default("jug_over") / (1.0 + ratio) / (PAIL * BRIM) - 1e-9), 1)
    for jug in range(count):
        yield Load(number=number + jug, gives=gives / count, most=gives / count, share=share)
