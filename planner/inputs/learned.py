"""learned.yaml laid over rig, shelf and surfaces: what somebody wrote there goes before what was learned."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from planner.inputs.joined import RunInput, Surface
from planner.inputs.models import Lot, Pump, Rig, SurfaceTable, Tested
from planner.inputs.models.base import Slip, listed, nearest
from planner.inputs.models.learned import Learned, LearnedTap

NAME = "learned.yaml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Applied:
    """Rig and lots with what was learned in them, coverage factors [-] by kind, and how each is told by its name.

    `taps` are by plain address.
    """

    rig: Rig
    lots: tuple[Lot, ...]
    covers: Mapping[str, float]
    pumps: Mapping[str, str]
    kinds: Mapping[str, str]
    tests: Mapping[str, str]
    taps: Mapping[str, LearnedTap] = field(default_factory=dict)

    def tap(self, address: str) -> LearnedTap | None:
        """The tap records know at an address, however its case and its spaces are written."""
        return self.taps.get(plain_address(address))

    def surfaces(self, found: Iterable[Surface]) -> tuple[Surface, ...]:
        """The job's surfaces with their factors."""
        return tuple(replace(one, cover_factor=self.covers.get(one.kind, 1.0)) for one in found)

    def notes(self, runs: Sequence[RunInput], surfaces: Sequence[Surface], lots: Iterable[str]) -> list[str]:
        """What of it this job rests on, in words for the owner's pages."""
        pumps = dict.fromkeys(run.pump.name for run in runs if run.pump is not None)
        kinds = dict.fromkeys(surface.kind for surface in surfaces if surface.chemical is not None)
        return [
            *(self.pumps[name] for name in pumps if name in self.pumps),
            *(self.kinds[name] for name in kinds if name in self.kinds),
            *(self.tests[name] for name in dict.fromkeys(lots) if name in self.tests),
        ]


def plain_address(address: str) -> str:
    """An address without its case and its spaces, to find it by."""
    return "".join(address.split()).casefold()


def tap_note(tap: LearnedTap) -> str:
    """A tap that records know, in words for the owner's pages."""
    found = f"as found on {tap.through.isoformat()}, " if tap.through is not None else ""
    return f"tap {found}learned from {_records(tap.records)}"


def applied(learned: Learned | None, rig: Rig, lots: tuple[Lot, ...], own: SurfaceTable | None) -> Applied:
    """What was learned, where nobody wrote it.

    A pump's condition counts unless the rig's file says another than 1.0; a coverage unless surfaces.yaml has one
    of that kind; a test unless stock.yaml has a later one.
    """
    if learned is None:
        return Applied(rig=rig, lots=lots, covers={}, pumps={}, kinds={}, tests={})
    of_rig = learned.pumps.get(rig.rig, {})
    pumps, told = [], {}
    for pump in rig.pumps:
        found = of_rig.get(pump.name)
        if found is None or pump.condition != 1.0 or not _wears_as_head(pump):
            pumps.append(pump)
            continue
        pumps.append(pump.model_copy(update={"condition": found.condition}))
        told[pump.name] = f"{pump.name}: condition {found.condition:.2f}, learned from {_records(found.records)}"
    written = {row.kind for row in own.surfaces if row.cover is not None} if own is not None else set()
    kinds = {kind: one for kind, one in learned.surfaces.items() if kind not in written}
    shelf = [_tested(lot, learned) for lot in lots]
    return Applied(
        rig=rig.model_copy(update={"pumps": tuple(pumps)}),
        lots=tuple(shelf),
        covers={kind: one.cover for kind, one in kinds.items()},
        pumps=told,
        kinds={
            kind: f"{kind}: coverage {100 * one.cover:.0f} % of the table's, learned from {_records(one.records)}"
            for kind, one in kinds.items()
        },
        tests={
            lot.name: f"{lot.name}: strength tested {lot.tested.on.isoformat()}, learned from its record"
            for lot, before in zip(shelf, lots, strict=True)
            if lot is not before and lot.tested is not None
        },
        taps={plain_address(address): tap for address, tap in learned.taps.items()},
    )


def _wears_as_head(pump: Pump) -> bool:
    return pump.kind != "piston"


def _tested(lot: Lot, learned: Learned) -> Lot:
    found = learned.lots.get(lot.name)
    if found is None or (lot.tested is not None and lot.tested.on >= found.on):
        return lot
    return lot.model_copy(update={"tested": Tested.model_construct(strength=found.strength, on=found.on)})


def _records(count: int) -> str:
    return "1 record" if count == 1 else f"{count} records"


def learned_slips(learned: Learned, rigs: Mapping[str, Iterable[str] | None], kinds: Iterable[str]) -> Iterator[Slip]:
    """Names that nothing in the workspace has. Lots come and go: one that is used up is no slip.

    `rigs` are pumps by rig, None where that rig's own file is faulty.
    """
    for rig, pumps in learned.pumps.items():
        if rig not in rigs:
            yield _unknown("rig", rig, rigs, ("pumps", rig))
            continue
        known = rigs[rig]
        if known is not None:
            names = list(known)
            yield from (_unknown("pump", pump, names, ("pumps", rig, pump)) for pump in pumps if pump not in names)
    names = list(kinds)
    yield from (_unknown("surface", kind, names, ("surfaces", kind)) for kind in learned.surfaces if kind not in names)


def _unknown(what: str, name: str, known: Iterable[str], at: tuple[str, ...]) -> Slip:
    names = list(known)
    near = nearest(name, names)
    hint = f"write `{near}` if that was meant" if near else f"known here: {listed(names)}"
    return Slip(
        code="name.unknown",
        message=f"there is no {what} `{name[:60]}` to have learned of",
        remedy=f"{hint}; or take it out, or run `planner compare --apply` again",
        at=at,
    )
