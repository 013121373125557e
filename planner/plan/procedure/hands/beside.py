"""Who works beside whom: the walls of two runs sprayed at once, by pairs, and what keeps two runs from being that."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import isclose

from planner.frozen import dataclass
from planner.plan.mix.model import GunsMisfit, LotShare, MixPlan, SurfaceWork
from planner.plan.procedure.book import Book
from planner.plan.procedure.hands.guns import Guns, guns_of
from planner.plan.procedure.hands.sections import part_of

Rows = tuple[SurfaceWork, SurfaceWork]


@dataclass(frozen=True, slots=True, kw_only=True)
class Both:
    """What two runs work on in step: one wall each, or one wall that they take by turns."""

    rows: Rows
    mixes: tuple[MixPlan, MixPlan] | None

    @property
    def names(self) -> tuple[str, str]:
        """The surfaces."""
        return self.rows[0].surface.name, self.rows[1].surface.name


def pairs_of(book: Book) -> tuple[list[Both], list[GunsMisfit]]:
    """What is worked in step, in order; the runs sprayed at once that cannot be."""
    found: list[Both] = []
    misfits: list[GunsMisfit] = []
    seen: set[str] = set()
    for line in book.lines.values():
        runs = (line.name, *line.plan.input.same_time)
        if len(runs) == 1 or line.name in seen:
            continue
        seen |= set(runs)
        guns = guns_of(book, line)
        if guns is None:
            misfits.append(GunsMisfit(runs=runs, why="many"))
            continue
        own, why = list(_pairs(book, guns)), next(_misfits(book, guns), None)
        if why is not None or any(isinstance(one, GunsMisfit) for one in own):
            misfits.append(why or next(one for one in own if isinstance(one, GunsMisfit)))
            continue
        found += [one for one in own if isinstance(one, Both)]
    return found, misfits


def _misfits(book: Book, guns: Guns) -> Iterator[GunsMisfit]:
    """What keeps two lines from being sprayed at once, whatever their walls."""
    mine, yours = guns.lines
    hoses = [{hose.name for hose in line.plan.input.hoses if hose.named} for line in guns.lines]
    for name in sorted(hoses[0] & hoses[1]):
        yield GunsMisfit(runs=guns.names, why="hose", about=name)
    if any(book.water_feed(line) == "pail" for line in guns.lines):
        yield GunsMisfit(runs=guns.names, why="draws", about=mine.pump or "")
    own = {mix.name for mix in book.asked.mixes if mix.run.name in guns.names}
    if any(change.run in guns.names or change.mix in own for change in book.asked.changes):
        yield GunsMisfit(runs=guns.names, why="first")
    if guns.far:
        yield GunsMisfit(runs=guns.names, why="far", about=yours.pump or "")


def _pairs(book: Book, guns: Guns) -> Iterator[Both | GunsMisfit]:
    """The walls of two runs, each with the one that is worked beside it."""
    work = [row for row in book.asked.work if book.lines[row.run].plan.flow > 0.0]
    rows = [[row for row in work if row.run == name] for name in guns.names]
    names = [[row.surface.name for row in own] for own in rows]
    for row in work:
        if row.run not in guns.names and row.surface.name in (*names[0], *names[1]):
            yield GunsMisfit(runs=guns.names, why="walls", about=row.surface.name)
    if len(rows[0]) != len(rows[1]):
        yield GunsMisfit(runs=guns.names, why="walls")
        return
    others = [row for row in rows[1] if row.surface.name not in names[0]]
    for row in rows[0]:
        shared = next((wall for wall in rows[1] if wall.surface.name == row.surface.name), None)
        both = (row, shared or others.pop(0))
        yield _pair(book, guns, both)


def _pair(book: Book, guns: Guns, rows: Rows) -> Both | GunsMisfit:
    parts = [part_of(book.asked, row) for row in rows]
    mixes = [part[0] for part in parts if part is not None]
    shared = rows[0].surface.name == rows[1].surface.name
    amounts = [
        (row.wet_volume + row.rinse_volume + row.clean_volume, part[1].mix if part is not None else 0.0)
        for row, part in zip(rows, parts, strict=True)
    ]
    if shared and not all(isclose(one, other, rel_tol=1e-6) for one, other in zip(*amounts, strict=True)):
        return GunsMisfit(runs=guns.names, why="walls", about=rows[0].surface.name)
    if not mixes:
        return Both(rows=rows, mixes=None)
    alike = len(mixes) == len(rows) and all(
        (mix.chemical, mix.kind, bool(mix.pours)) == (mixes[0].chemical, mixes[0].kind, bool(mixes[0].pours))
        and isclose(mix.target, mixes[0].target, rel_tol=1e-6)
        and isclose(mix.soap_share, mixes[0].soap_share, rel_tol=1e-6)
        for mix in mixes
    )
    if not alike or any((row.rinse_volume > 0.0) != (rows[0].rinse_volume > 0.0) for row in rows):
        return GunsMisfit(runs=guns.names, why="mix", about=rows[1].surface.name)
    return Both(rows=rows, mixes=(mixes[0], mixes[1]))


def pooled(mixes: Sequence[MixPlan]) -> MixPlan:
    """Two mixes drawn at once, made as one: their lots one after another, each once."""
    first = mixes[0]

    def lots(shares: Sequence[LotShare]) -> tuple[LotShare, ...]:
        found: dict[str, LotShare] = {}
        for share in shares:
            known = found.get(share.lot.name)
            found[share.lot.name] = share if known is None else replace(
                known, stock=known.stock + share.stock, mass=known.mass + share.mass,
                mix=None if known.mix is None and share.mix is None else (known.mix or 0.0) + (share.mix or 0.0),
            )  # fmt: skip
        return tuple(found.values())

    return replace(
        first,
        parts=tuple(part for mix in mixes for part in mix.parts),
        batches=tuple(batch for mix in mixes for batch in mix.batches),
        pours=lots([share for mix in mixes for share in mix.pours]),
        soaps=lots([share for mix in mixes for share in mix.soaps]),
        mix=sum(mix.mix or 0.0 for mix in mixes),
    )
