"""learned.yaml laid over rig, shelf and surfaces: what somebody wrote there goes before what was learned.

A lot's test from before the lot was made is of another fill: learned, it is left and said so; written by hand, it is a
fault. A job that writes `tap`, `bucket` or `flow_test` goes before a learned tap, and a hydrant is never taken for one.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace

from planner.frozen import dataclass
from planner.inputs.joined import RunInput, Surface
from planner.inputs.models import Lot, Pump, Rig, SurfaceTable, Tested
from planner.inputs.models.base import Slip, listed, nearest
from planner.inputs.models.learned import Learned, LearnedJet, LearnedLot, LearnedPace, LearnedTap, OfJobs
from planner.inputs.reading.addresses import same_place
from planner.inputs.reading.tree import Node, Tree

NAME = "learned.yaml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Applied:
    """Rig and lots with what was learned in them, coverage factors [-] by kind, and how each is told by its name.

    `taps` are by place, `paces` by kind of surface, `jets` by the rig's tips; `rates` says of a kind whose rates it is
    planned by, where they are not the trade's.
    """

    rig: Rig
    lots: tuple[Lot, ...]
    covers: Mapping[str, float]
    pumps: Mapping[str, str]
    kinds: Mapping[str, str]
    tests: Mapping[str, str]
    taps: Mapping[str, LearnedTap] = field(default_factory=dict)
    paces: Mapping[str, LearnedPace] = field(default_factory=dict)
    jets: Mapping[str, LearnedJet] = field(default_factory=dict)
    rates: Mapping[str, str] = field(default_factory=dict)

    def tap(self, address: str) -> LearnedTap | None:
        """The tap records know at an address, however it is spelled."""
        return self.taps.get(same_place(address))

    def surfaces(self, found: Iterable[Surface]) -> tuple[Surface, ...]:
        """The job's surfaces with their factors."""
        return tuple(self._paced(replace(wall, cover_factor=self.covers.get(wall.kind, 1.0))) for wall in found)

    def _paced(self, surface: Surface) -> Surface:
        known = self.paces.get(surface.kind)
        if known is None:
            return surface
        return replace(surface, pace_factor=known.minutes, pace_records=known.records, pace_remembered=known.remembered)

    def notes(self, runs: Sequence[RunInput], surfaces: Sequence[Surface], lots: Iterable[str]) -> list[str]:
        """What of it this job rests on, in words for the owner's pages."""
        pumps = dict.fromkeys(run.pump.name for run in runs if run.pump is not None)
        kinds = dict.fromkeys(surface.kind for surface in surfaces if surface.chemical is not None)
        worked = dict.fromkeys(surface.kind for surface in surfaces)
        tips = dict.fromkeys(run.tip.name for run in runs if run.pump is not None and run.tip.pattern == "solid")
        return [
            *rates_note(worked, self.rates),
            *(self.pumps[name] for name in pumps if name in self.pumps),
            *(self.kinds[name] for name in kinds if name in self.kinds),
            *(pace_note(self.paces[kind], kind) for kind in worked if kind in self.paces),
            *(self.tests[name] for name in dict.fromkeys(lots) if name in self.tests),
            *(jet_note(self.jets[name], name) for name in tips if name in self.jets),
        ]


def tap_note(tap: LearnedTap) -> str:
    """A tap that records know, in words for the owner's pages."""
    found = f"as found on {tap.through.isoformat()}, " if tap.through is not None else ""
    return f"tap {found}learned from {_records(tap.records)}"


def pace_note(pace: LearnedPace, kind: str) -> str:
    """A kind's minutes as records know them, in words for the owner's pages."""
    return f"{kind}: minutes {100 * pace.minutes:.0f} % of the table's, {_from(pace)}"


def rates_note(kinds: Iterable[str], rates: Mapping[str, str]) -> Iterator[str]:
    """Whose coverage and minutes a job is planned by, in words for the owner's pages."""
    whose: dict[str, list[str]] = {}
    for kind in kinds:
        whose.setdefault(rates.get(kind, _TRADE), []).append(kind.replace("_", " "))
    alone = len(whose) == 1
    told = (whom if alone else f"{whom} for {', '.join(of)}" for whom, of in whose.items())
    if whose:
        yield f"rates: {'; '.join(told)}"


_TRADE = "the trade's"


def jet_note(jet: LearnedJet, tip: str) -> str:
    """How a tip's jets came off by records, in words for the owner's pages."""
    return f"{tip}: low end of the reach {100 * jet.low:.0f} % of the model's, learned from {_records(jet.records)}"


def own_paces(own: SurfaceTable | None) -> frozenset[str]:
    """Kinds whose minutes somebody wrote: their pace of applying, or what a section takes."""
    rows = own.surfaces if own is not None else ()
    return frozenset(row.kind for row in rows if row.apply is not None or row.section_time is not None)


OWN_REACH = "reach_low_factor"
"""The company's own limit that goes before what was learned of jets."""


def applied(
    learned: Learned | None, rig: Rig, lots: tuple[Lot, ...], own: SurfaceTable | None, most_low: float | None = None
) -> Applied:  # fmt: skip
    """What was learned, where nobody wrote it.

    A pump's condition counts unless the rig's file says another than 1.0; a coverage or a pace unless surfaces.yaml
    has one of that kind; a test unless stock.yaml has a later one; a jet's low end up to `most_low` [-], the most that
    records may narrow it to, None where the company wrote that end itself.
    """
    rates = _rates(learned, own)
    if learned is None:
        return Applied(rig=rig, lots=lots, covers={}, pumps={}, kinds={}, tests={}, rates=rates)
    of_rig = learned.pumps.get(rig.rig, {})
    pumps, told = [], {}
    for pump in rig.pumps:
        learned_pump = of_rig.get(pump.name)
        if learned_pump is None or pump.condition != 1.0 or not _wears_as_head(pump):
            pumps.append(pump)
            continue
        pumps.append(pump.model_copy(update={"condition": learned_pump.condition}))
        told[pump.name] = (
            f"{pump.name}: condition {learned_pump.condition:.2f}, learned from {_records(learned_pump.records)}"
        )
    written = {row.kind for row in own.surfaces if row.cover is not None} if own is not None else set()
    kinds = {kind: wall for kind, wall in learned.surfaces.items() if kind not in written}
    shelf = [as_tested(lot, learned) for lot in lots]
    return Applied(
        rig=rig.model_copy(update={"pumps": tuple(pumps)}),
        lots=tuple(shelf),
        covers={kind: wall.cover for kind, wall in kinds.items()},
        pumps=told,
        kinds={
            kind: f"{kind}: coverage {100 * wall.cover:.0f} % of the table's, {_from(wall)}"
            for kind, wall in kinds.items()
        },
        tests=_test_notes(learned, lots, shelf),
        taps=_taps(learned.taps),
        paces={kind: pace for kind, pace in learned.paces.items() if kind not in own_paces(own)},
        jets=_jets(learned.jets.get(rig.rig, {}), most_low),
        rates=rates,
    )


def _rates(learned: Learned | None, own: SurfaceTable | None) -> dict[str, str]:
    """Whose rates a kind is planned by: what somebody wrote in surfaces.yaml, then records, then what is remembered."""
    rows = own.surfaces if own is not None else ()
    found = {row.kind: "your surfaces.yaml's" for row in rows if row.cover is not None} | dict.fromkeys(
        own_paces(own), "your surfaces.yaml's"
    )
    learnt = (*learned.paces.items(), *learned.surfaces.items()) if learned is not None else ()
    for kind, one in sorted(learnt, key=lambda row: -row[1].records):
        found.setdefault(kind, "your records'" if one.records else f"of {_jobs(one.remembered)} you remember")
    return found


def _from(one: OfJobs) -> str:
    """What a share of the table's rests on."""
    if one.records or not one.remembered:
        return f"learned from {_records(one.records)}"
    within = f", within {100 * one.off:.0f} %" if one.off is not None else ""
    return f"from {_jobs(one.remembered)} you remember{within}"


def _jobs(count: int) -> str:
    return "1 job" if count == 1 else f"{count} jobs"


def _taps(found: Mapping[str, LearnedTap]) -> dict[str, LearnedTap]:
    """Taps by place; of one place under two spellings the one that gives less, so that no tank runs dry for it."""
    taps: dict[str, LearnedTap] = {}
    for address, tap in found.items():
        place = same_place(address)
        if place not in taps or tap.flow < taps[place].flow:
            taps[place] = tap
    return taps


def _jets(found: Mapping[str, LearnedJet], most_low: float | None) -> dict[str, LearnedJet]:
    if most_low is None:
        return {}
    return {tip: jet.model_copy(update={"low": min(jet.low, most_low)}) for tip, jet in found.items()}


def _wears_as_head(pump: Pump) -> bool:
    return pump.of_kind.wears == "head"


def _test_notes(learned: Learned, before: Iterable[Lot], shelf: Iterable[Lot]) -> dict[str, str]:
    notes = {}
    for lot, as_written in zip(shelf, before, strict=True):
        learned_lot = learned.lots.get(lot.name)
        if lot is not as_written and lot.tested is not None:
            notes[lot.name] = f"{lot.name}: strength tested {lot.tested.on.isoformat()}, learned from its record"
        elif learned_lot is not None and older_fill(lot, learned_lot):
            on, made = learned_lot.on.isoformat(), lot.made.isoformat() if lot.made is not None else ""
            notes[lot.name] = f"{lot.name}: its test of {on} is older than the lot, made {made}, and is not used"
    return notes


def as_tested(lot: Lot, learned: Learned) -> Lot:
    """A lot with the test that was learned of it, where that goes before what stock.yaml says."""
    learned_lot = learned.lots.get(lot.name)
    if (
        learned_lot is None
        or older_fill(lot, learned_lot)
        or (lot.tested is not None and lot.tested.on >= learned_lot.on)
    ):
        return lot
    return lot.model_copy(update={"tested": Tested.model_construct(strength=learned_lot.strength, on=learned_lot.on)})


def older_fill(lot: Lot, found: LearnedLot) -> bool:
    """Whether a test was taken before this lot was made: a container keeps its name, not what was in it."""
    return lot.made is not None and found.on < lot.made


def _records(count: int) -> str:
    return "1 record" if count == 1 else f"{count} records"


Gear = Mapping[str, Iterable[str] | None]


def learned_slips(learned: Learned, rigs: Gear, kinds: Iterable[str], tips: Gear | None = None) -> Iterator[Slip]:
    """Names that nothing in the workspace has. Lots come and go: one that is used up is no slip.

    `rigs` are pumps by rig, `tips` its tips, None where that rig's own file is faulty.
    """
    yield from _of_rigs("pump", "pumps", learned.pumps, rigs)
    yield from _of_rigs("tip", "jets", learned.jets, tips or {})
    names = list(kinds)
    yield from (_unknown("surface", kind, names, ("surfaces", kind)) for kind in learned.surfaces if kind not in names)
    yield from (_unknown("surface", kind, names, ("paces", kind)) for kind in learned.paces if kind not in names)


def _of_rigs(what: str, key: str, learned: Mapping[str, Collection[str]], rigs: Gear) -> Iterator[Slip]:
    for rig, gear in learned.items():
        if rig not in rigs:
            yield _unknown("rig", rig, rigs, (key, rig))
            continue
        known = rigs[rig]
        if known is not None:
            names = list(known)
            yield from (_unknown(what, one, names, (key, rig, one)) for one in gear if one not in names)


def _unknown(what: str, name: str, known: Iterable[str], at: tuple[str, ...]) -> Slip:
    names = list(known)
    near = nearest(name, names)
    hint = f"write `{near}` if that was meant" if near else f"known here: {listed(names)}"
    return Slip(
        code="name.unknown",
        message=f"there is no {what} `{name[:60]}` for what was learned of it",
        remedy=f"{hint}; or take it out, or run `planner compare --apply` again",
        at=at,
    )


# ------------------------------------------------------------ taken out
# A key whose lines or figure are gone says that nothing was learned.  Nowhere else: what somebody writes by hand and
# leaves empty is a slip, but this file is the program's, and its own head says that any of its lines may go.


_EMPTY = frozenset({"yaml.empty", "file.empty"})
_BESIDE = frozenset({"through"})
"""Keys an entry says something without."""


def without_empty(tree: Tree) -> Tree:
    """A tree without its empty keys, and without the faults that told of them."""
    empty = {fault.where.path for fault in tree.faults if fault.code == "yaml.empty"}
    faults = tuple(fault for fault in tree.faults if fault.code not in _EMPTY)
    if len(faults) == len(tree.faults):
        return tree
    root = _pruned(tree.root, empty) if tree.root is not None else None
    return replace(tree, root=root, faults=faults, refused=frozenset(tree.refused - empty))


def _pruned(node: Node, empty: set[str]) -> Node | None:
    """The node without what is empty in it; None where that leaves nothing that could be read."""
    if not isinstance(node.value, Mapping):
        return node
    gone = {name for name, below in node.value.items() if below.where.path in empty}
    kept = {
        name: found
        for name, below in node.value.items()
        if name not in gone and (found := _pruned(below, empty)) is not None
    }
    entry = all(isinstance(below.value, str) for below in node.value.values())
    if (node.value and not kept) or (entry and gone - _BESIDE):
        return None
    return replace(node, value=kept)
