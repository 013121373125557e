"""A record read strictly and joined with the plan it speaks of: every run, mix and side put to its place there.

A record names only what its plan has (`Planned`): runs, mixes, sides, stop points, the rig's tanks, lots of the plan or
of today's stock.yaml. A plan kept before it listed tanks and lots takes any. Initials are held against the plan's stop
points and crew; under another print they go along only to a stop point that asks the very same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from planner.faults import Fault, in_order
from planner.frozen import dataclass
from planner.inputs.models.base import Location, Slip, listed, nearest
from planner.inputs.models.record import MixDone, ReadingsDone, Record, SideDone
from planner.inputs.reading.files import read_file
from planner.inputs.reading.names import kept_stock, too_full, unknown
from planner.inputs.reading.places import Refused, faults_of, made
from planner.inputs.reading.strengths import Strength, mix_slip, stock_slip
from planner.inputs.reading.tree import Tree, parse_tree
from planner.inputs.tables.chemicals import BLEACH, chemical_named


@dataclass(frozen=True, slots=True, kw_only=True)
class StopPlanned:
    """A stop point of a plan: its `number` on paper, who signs it, and what it asks: `key` is the same in every plan
    that stops there for the same."""

    number: int
    who: tuple[str, ...]
    key: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """The names a plan gave its parts: runs in order, (chemical, run, lot) of mixes, (surface, run) of sides.

    `once` is what the job was called when its packet was printed, empty where that has not changed; `stages` how many
    the pump has, None where it has none or nobody wrote; `called` what paper calls each side by the job's `side:`,
    empty where it has none. `stops` are its stop points, None where a plan has no acts to stop at, and `crew` who does
    any of its acts: lead, second. `tanks` are the `rig`'s with what each holds [m3], `lots` the containers there are;
    None of a plan kept before it said so.
    """

    job: str
    kind: str
    runs: tuple[str, ...]
    mixes: tuple[tuple[str, str, str | None], ...]
    sides: tuple[tuple[str, str], ...]
    once: str = ""
    stages: int | None = None
    called: tuple[str, ...] = ()
    stops: tuple[StopPlanned, ...] | None = None
    crew: tuple[str, ...] = ()
    rig: str = ""
    tanks: Mapping[str, float] | None = None
    lots: frozenset[str] | None = None

    def parts(self) -> dict[str, list[tuple[str, ...]]]:
        """The names each part goes by, under the record's key for its kind, in the plan's order."""
        return {
            "readings": [(run,) for run in self.runs],
            "mixes": [_names_of_mix(mix) for mix in self.mixes],
            "sides": [_names_of_side(side) for side in self.sides],
        }

    def names(self) -> dict[str, list[tuple[str, ...]]]:
        """The same with what paper calls a side behind its own names: a record may use either."""
        found = self.parts()
        for at, called in enumerate(self.called):
            if called:
                found["sides"][at] += _names_of_side((called, self.sides[at][1]))
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneJob:
    """A record with its parts under the plan's own numbers, from 0."""

    record: Record
    readings: Mapping[int, ReadingsDone]
    mixes: Mapping[int, MixDone]
    sides: Mapping[int, SideDone]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadRecord:
    """A record's file: `raw` as written, as far as it could be read at all."""

    tree: Tree
    record: Record | None
    faults: tuple[Fault, ...]

    @property
    def raw(self) -> Mapping[str, Any]:
        """The file as text, lists and mappings."""
        return self.tree.root.plain() if self.tree.root is not None else {}


def read_record(path: Path) -> ReadRecord:
    """A record from a YAML file, with every fault in it."""
    return _read(read_file(path))


def record_of_text(text: str, name: str) -> ReadRecord:
    """The same from text; `name` is what its places are called by."""
    return _read(parse_tree(text.encode("utf-8", "surrogatepass"), name))


def _read(tree: Tree) -> ReadRecord:
    if tree.root is None:
        return ReadRecord(tree=tree, record=None, faults=tree.faults)
    record, faults = made(Record, tree.root, _refused(tree))
    # A text the strict reader found a fault in is no record, whatever could be made of the rest: a key written twice
    # would pass with the first of its values.
    return ReadRecord(
        tree=tree, record=record if not tree.faults else None, faults=tuple(in_order([*tree.faults, *faults]))
    )


def _refused(tree: Tree) -> Refused:
    return Refused(paths=frozenset((tree.file, path) for path in tree.refused))


def joined_record(read: ReadRecord, planned: Planned) -> tuple[DoneJob | None, list[Fault]]:
    """The record in the plan's own order, or None and what does not fit it.

    Of a record that could not be read whole, what its names are of is told all the same.
    """
    record, root, raw = read.record, read.tree.root, read.raw
    if root is None:
        return None, []
    slips: list[Slip] = []
    job = raw.get("job")
    if isinstance(job, str) and not any(name and same_job(job, name) for name in (planned.job, planned.once)):
        slips.append(
            Slip(
                code="record.job",
                message=f"this is the record of `{job[:120]}`, not of `{planned.job}`",
                remedy=f"name that job, or write `job: {planned.job}` if it is this one's",
                at=("job",),
            )
        )
    parts, whats = planned.names(), {"readings": "run", "mixes": "mix", "sides": "side"}
    found = {key: _placed(key, _keys(raw, key), parts[key], what, slips) for key, what in whats.items()}
    if record is not None:
        slips += _tests(record, planned, {number: key for key, number in found["mixes"].items()})
    slips += [*_kinds(raw, planned), *_stages(raw, planned), *_initials(raw, planned)]
    slips += [*_heels(raw, planned), *_lots(raw, planned)]
    faults = faults_of(slips, root, _refused(read.tree))
    if faults or record is None:
        return None, faults
    done = DoneJob(
        record=record,
        readings={number: record.readings[key] for key, number in found["readings"].items()},
        mixes={number: record.mixes[key] for key, number in found["mixes"].items()},
        sides={number: record.sides[key] for key, number in found["sides"].items()},
    )
    return done, []


def _keys(raw: Mapping[str, Any], key: str) -> list[str]:
    written = raw.get(key)
    return [str(name) for name in written] if isinstance(written, Mapping) else []


def same_job(written: str, job: str) -> bool:
    """Whether an id means a job: as it stands, or its file's name alone."""
    return written == job or written == job.rpartition("/")[2]


def _plain(text: str) -> str:
    """A name as a form's field spells it: the packet cuts there too."""
    return re.sub(r"[^0-9a-z]+", "_", text.casefold()).strip("_")[:40].strip("_")


def _names_of_mix(mix: tuple[str, str, str | None]) -> tuple[str, ...]:
    chemical, run, lot = mix
    return (f"{chemical} {run}", f"{chemical}, {run}", chemical, run, *([lot] if lot else []))


def _names_of_side(side: tuple[str, str]) -> tuple[str, ...]:
    surface, run = side
    return (f"{surface}, {run}", f"{surface} {run}", surface)


def _placed(
    key: str, written: Iterable[str], parts: Sequence[tuple[str, ...]], what: str, slips: list[Slip]
) -> dict[str, int]:
    """Each written name with the part it means: a number counts from 1, a name must be one part's alone."""
    found: dict[str, int] = {}
    for name in written:
        number = part_number(name, parts)
        if number is None:
            slips.append(_unknown(key, name, parts, what))
        elif number in found.values():
            other = next(one for one, at in found.items() if at == number)
            message = f"`{name}` and `{other}` are the same {what}"
            slips.append(Slip(code="name.twice", message=message, remedy="keep one of them", at=(key, name)))
        else:
            found[name] = number
    return found


def part_number(name: str, parts: Sequence[tuple[str, ...]]) -> int | None:
    """Which part a name or a number means, from 0; None where it is none's, or not one's alone."""
    if re.fullmatch(r"[1-9][0-9]{0,3}", name) and int(name) <= len(parts):
        return int(name) - 1
    for spelled in (str, _plain):
        for level in range(max(map(len, parts), default=0)):
            meant = [at for at, own in enumerate(parts) if len(own) > level and spelled(own[level]) == spelled(name)]
            if len(meant) == 1:
                return meant[0]
    return None


def _unknown(key: str, name: str, parts: Sequence[tuple[str, ...]], what: str) -> Slip:
    # A side goes by what paper calls it too, behind its own names.
    known = [one for names in parts for one in (names[0], *(names[3:4] if key == "sides" else ()))]
    near = nearest(name, known)
    if any(_plain(name) == _plain(one) for names in parts for one in names):
        message, remedy = f"more than one {what} is called `{name[:60]}`", f"write its number, 1 to {len(parts)}"
    elif not parts:
        message, remedy = f"the plan has no {what} to say this of", "take it out, or say it in `deviations`"
    else:
        numbered = f"write a number from 1 to {len(parts)}, or {listed(known)}"
        message = f"the plan has no {what} `{name[:60]}`"
        remedy = f"write `{near}` if that was meant" if near else numbered
    return Slip(code="name.unknown", message=message, remedy=remedy, at=(key, name))


def _tests(record: Record, planned: Planned, keys: Mapping[int, str]) -> list[Slip]:
    """A stock's test says which percent, in words that fit its chemical, and a heel how much is in it."""
    slips: list[Slip] = []
    chemicals = {lot: chemical for chemical, _, lot in planned.mixes if lot is not None}
    told: list[tuple[Location, Strength | None, str | None]] = [
        (("mixes", key, "stock_test"), record.mixes[key].stock_test, planned.mixes[number][0])
        for number, key in keys.items()
    ]
    told += [(("lots", name, "test"), lot.test, chemicals.get(name)) for name, lot in record.lots.items()]
    for at, strength, chemical in told:
        slip = stock_slip(strength, chemical) if strength is not None and chemical is not None else None
        if slip is not None:
            slips.append(Slip(code=slip[0], message=slip[1], remedy=slip[2], at=at))
    for tank, heel in record.heels.items():
        known = chemical_named(heel.stock)
        of = known.name if known is not None else chemicals.get(heel.stock)
        if heel.strength is None or of is None or (of == BLEACH and heel.strength.basis == "bare"):
            continue
        slip = mix_slip(heel.strength, of)
        if slip is not None:
            slips.append(Slip(code=slip[0], message=slip[1], remedy=slip[2], at=("heels", tank, "strength")))
    return slips


def _heels(raw: Mapping[str, Any], planned: Planned) -> Iterator[Slip]:
    """Heels in tanks the rig has, no more in each than it holds, of what there is."""
    written = raw.get("heels")
    for tank, heel in written.items() if isinstance(written, Mapping) else ():
        stands, stock = (heel.get("volume"), heel.get("stock")) if isinstance(heel, Mapping) else (None, None)
        if planned.tanks is not None:
            yield from unknown(tank, planned.tanks, f"tank of rig {planned.rig}", ("heels", tank), exact=True)
            yield from too_full(tank, stands, planned.tanks.get(tank), ("heels", tank, "volume"))
        if planned.lots is not None:
            yield from kept_stock(stock, planned.lots, ("heels", tank, "stock"))


def _lots(raw: Mapping[str, Any], planned: Planned) -> Iterator[Slip]:
    """Containers that stand on the shelf."""
    if planned.lots is None:
        return
    what, mixes = "lot of stock.yaml", raw.get("mixes")
    for name in _keys(raw, "lots"):
        yield from unknown(name, planned.lots, what, ("lots", name), exact=True)
    for key, mix in mixes.items() if isinstance(mixes, Mapping) else ():
        yield from unknown(
            mix.get("lot") if isinstance(mix, Mapping) else None, planned.lots, what, ("mixes", key, "lot")
        )


def _kinds(raw: Mapping[str, Any], planned: Planned) -> list[Slip]:
    """Pump work belongs to a yard job alone."""
    if planned.kind == "yard" or "pump" not in raw:
        return []
    return [
        Slip(
            code="key.clash",
            message="the record of a wash has work on a pump",
            remedy="record it with its own yard job, or say it in `deviations`",
            at=("pump",),
        )
    ]


def _stages(raw: Mapping[str, Any], planned: Planned) -> Iterator[Slip]:
    """Stages of the pump, and no others."""
    pump, most = raw.get("pump"), planned.stages
    if most is None or not isinstance(pump, Mapping):
        return
    for key in ("stages", "spacers"):
        listed = pump.get(key) if key == "spacers" else None
        names = re.findall(r"(?:^|,) ?([1-9][0-9]?) ?:", listed) if isinstance(listed, str) else _keys(pump, key)
        for name in names:
            if re.fullmatch(r"[1-9][0-9]?", name) and int(name) > most:
                yield Slip(
                    code="record.stage",
                    message=f"there is no stage {name}: the pump has {most}",
                    remedy=f"write a number from 1 to {most}, counted from the root of the shaft",
                    at=("pump", key, name),
                )


def _initials(raw: Mapping[str, Any], planned: Planned) -> Iterator[Slip]:
    """Initials at stop points the plan has, by those who are on the job."""
    if planned.stops is None:
        return
    stops = {str(stop.number) for stop in planned.stops}
    written = raw.get("initials")
    for name, row in written.items() if isinstance(written, Mapping) else ():
        if re.fullmatch(r"[1-9][0-9]?", name) and name not in stops:
            has = f"the plan has stop points 1 to {len(stops)}" if len(stops) > 1 else "the plan has stop point 1 alone"
            yield Slip(
                code="record.stop_point",
                message=f"there is no stop point {name}: {has if stops else 'the plan has none'}",
                remedy="write the number printed at the stop point" if stops else "take its initials out",
                at=("initials", name),
            )
        for who in row if isinstance(row, Mapping) else ():
            if who in ("lead", "second") and who not in planned.crew:
                yield Slip(
                    code="record.stop_point",
                    message=f"initials of a {who}, and there is no {who} on this job",
                    remedy="write who it was under the lead's, or take them out and say it in `deviations`",
                    at=("initials", name, who),
                )
