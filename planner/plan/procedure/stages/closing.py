"""After the last wall: leftovers, each line's flush and its strip, lines apart, hoses coiled, the site as it was."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import ceil
from typing import Final

from planner.inputs.joined import Role
from planner.inputs.tables.chemicals import ACIDS, BLEACH, lawn_of
from planner.plan.between.flushing import inlet_of
from planner.plan.mix.model import FlushPlan
from planner.plan.procedure.acts import (
    ChangeTip,
    Drain,
    Expect,
    Join,
    Mark,
    Parting,
    SetDosing,
    Spray,
    WaterBed,
)
from planner.plan.procedure.book import PAIL, Book, Draft, Line
from planner.plan.procedure.hands.guns import Guns, Shot, guns_of
from planner.plan.procedure.hands.pailfed import from_pail
from planner.plan.procedure.hands.pails import Left, empty, rate, stands_in
from planner.plan.procedure.hands.water import tap_free
from planner.plan.procedure.stages import opening
from planner.plan.procedure.state import every_hose, hoses_of

_DROP: Final = 1e-9  # m3

_DRIPS: Final = 0.8
"""While a wall drips the beds are watered after this share of the longest they may wait (our choice)."""

_CLEAR: Final = 3.0
"""Line volumes run through a line whose water itself brings more than may be left: until it is clear (our choice)."""


def close(
    book: Book, lines: Sequence[Line], pails: Iterable[Left], leftovers: Iterable[Left], kept: Iterable[str]
) -> None:  # fmt: skip
    """All that comes after the last wall. `pails`: what was caught so far; `leftovers`: what tanks and jugs still hold.

    Of a mix tank `leftovers` is what stands above its dead volume: the heel stays, and so does all in the tanks `kept`,
    which the next job mixes on. With two people the second takes
    pails and beds while the lead goes on to the reel; alone the pails come first, while the lines stand on water.
    """
    book.phase = "flush"
    waste = [*pails, *leftovers]
    if book.second is None:
        for line in lines if waste else ():
            book.shut(line)
            if line.allowed < float("inf"):
                book.power(line, on=False)
        _waste(book, waste)
        waste = []
        if book.own_fill is not None:
            book.own_fill.open(book)
    rows = list(_in_order(book, lines))
    for line, parts in rows:
        pair = guns_of(book, line)
        if pair is None:
            waste += flush(book, line, parts)
        else:
            own = {one.name: flushes for one, flushes in rows}
            if line.name == next(name for name in own if name in pair.names):
                waste += flush_together(pair, [own.get(name, []) for name in pair.names])
    if book.second is not None:
        book.second.now = max(book.second.now, book.drafts[-1].start if book.drafts else book.second.now)
        _beds_while_it_drips(book)
        _last_beds(book)
    waste += [Left(place=name, stock="water", volume=stands_in(book, name)) for name in book.suctions.values()]
    _waste(book, waste)
    for tank in kept:
        book.mark(Mark(verb="look", what=f"kept {tank}"), "drums", key="dry", who="second")
    if book.second is None:
        _last_beds(book)
        if book.own_fill is not None:
            book.own_fill.open(book, walks=True)  # on the way to the reel
    flushed = any(isinstance(draft.detail, Spray) and draft.detail.use == "flush" for draft in book.drafts)
    read = any(draft.phase == "flush" and draft.expect is not None for draft in book.drafts)
    asks = (*(("residual",) if read else ()), "power_off", "no_pressure")
    # A garden hose with its tap shut, that nothing but water went through, is coiled without more ado.
    plain = not (flushed or book.asked.mixes or any(line.pump is not None for line in lines))
    stop = None if plain else book.stop("coil", None, asks, "reel")
    _leave(book, lines, stop)


def _waste(book: Book, waste: Iterable[Left]) -> None:
    """Water goes first: it stands where the gun was."""
    for left in sorted(waste, key=lambda one: one.strength > 0.0):
        empty(book, left, "second")


def _beds_while_it_drips(book: Book) -> None:
    """What nobody rinses drips until it has stood its time: the second waters the beds that long, at their rate."""
    beds, second = book.asked.beds, book.second
    sprays = [
        (draft, draft.detail) for draft in book.drafts if draft.section is not None and isinstance(draft.detail, Spray)
    ]
    rinsed = {draft.section.surface for draft, spray in sprays if spray.use == "rinse" and draft.section is not None}
    stands = {row.surface.name: row.dwell_most for row in book.asked.work}
    mixed = [
        (draft, draft.section.surface) for draft, spray in sprays if spray.use == "mix" and draft.section is not None
    ]
    until = max((draft.end + stands[name] for draft, name in mixed if name not in rinsed), default=0.0)
    if beds is None or second is None or not until > second.now:
        return
    out = min(draft.start for draft, _ in mixed)
    source = book.outside() or book.source()
    while True:
        tap_free(book, "second")
        at = second.now
        had = sum(
            draft.detail.volume for draft in book.drafts if isinstance(draft.detail, WaterBed) and draft.start >= out
        )
        volume = min(beds.each, beds.each * (at - out) / beds.every - had)
        if volume > _DROP:
            bed = WaterBed(bed="flower_beds", source=source, volume=volume)
            book.do(bed, "grounds", volume / rate(book, source), who="second", phase="grounds")
        if at >= until:
            return
        follows = max(at + _DRIPS * beds.every, second.now)
        second.now = max(until, second.now) if until - follows < (1.0 - _DRIPS) * beds.every else follows


def _last_beds(book: Book) -> None:
    beds = book.asked.beds
    if beds is not None and beds.after > 0.0:
        tap_free(book, "second" if book.second is not None else "lead")
        source = book.outside() or book.source()
        water = WaterBed(bed="flower_beds", source=source, volume=beds.after)
        book.do(water, "grounds", beds.after / rate(book, source), who="second", phase="grounds")


# ------------------------------------------------------------------------------------------------------- the flush


def _in_order(book: Book, lines: Sequence[Line]) -> Iterator[tuple[Line, list[FlushPlan]]]:
    """Each line that is joined or carried a mix, with what is flushed through it; the one whose gun is open first.

    What was flushed under a run that is apart goes through a joined line that has all its parts, else that run's is
    joined again: what comes out of a panel has to leave by the tip.
    """
    parts: dict[str, list[FlushPlan]] = {}
    for run in dict.fromkeys(row.run for row in book.asked.flushes):
        rows = [row for row in book.asked.flushes if row.run == run]
        own = [line for line in lines if line.name == run]
        whole = [line for line in lines if line.joined and own and parts_of(book, own[0]) <= parts_of(book, line)]
        best = next(iter([*(line for line in own if line.joined), *whole, *own]), None)
        if best is not None:
            parts.setdefault(best.name, []).extend(rows)
            book.flushed_by[run] = best.name
    for line in sorted(lines, key=lambda one: (not one.open, not one.joined)):
        if line.joined or line.name in parts:
            yield line, parts.get(line.name, [])


def parts_of(book: Book, line: Line) -> set[str]:
    """What a line is of, by name; a hose without a name of its own is another one on every run."""
    run = line.plan.input
    hoses = hoses_of(line.plan, book.asked.runs)
    return {*hoses, *(one.name for one in (run.pump, run.dosing) if one is not None)}


def flush(book: Book, line: Line, parts: Sequence[FlushPlan]) -> list[Left]:
    """One line on clean water, let run, read by a strip, off and without pressure; what was caught of it in pails."""
    if not line.joined:
        for other in book.lines.values():
            if other.joined and parts_of(book, other) & parts_of(book, line):
                opening.take_off(book, other)
        opening.set_up(book, line)
        book.phase = "flush"
    caught: list[Left] = []
    leaves = tuple(dict.fromkeys(part.leaves for part in parts))
    if parts:
        known = [part.volume for part in parts if part.volume is not None]
        # Of stock that nobody has there is no strength, and so no volume: water runs until the line is clear.
        volume = sum(known) or _CLEAR * line.volume
        onto = "sanitary" if any(lawn_of(one) == "never" for one in leaves) else "lawn"
        if len(known) < len(parts):
            # No end to it: what comes out is caught and made harmless.
            volume, onto = max(volume, _CLEAR * line.volume), "pail"
        strongest = max(parts, key=lambda part: part.strength)
        caught = wash(book, line, volume, onto, leaves, strongest.leaves, strongest.strength * line.volume / volume)
    book.shut(line)
    strips = list(strips_of(book, parts)) or _read_before(book, line)
    # What stands in the tip is read before it runs out; where the pump bears it, while more can be flushed at once.
    back = book.minutes["power"] + (0.0 if book.second is not None else line.length / book.minutes["walk_pace"])
    early = book.minutes["strip"] * len(strips) + back < line.allowed
    if early:
        read_strips(book, line, strips)
    book.power(line, on=False)
    if not early:
        read_strips(book, line, strips)
    opening.relieve(book, line)
    return caught


def flush_together(pair: Guns, parts: Sequence[Sequence[FlushPlan]]) -> list[Left]:
    """The same of two lines whose guns are open at once; one that has nothing to flush runs meanwhile."""
    book = pair.book
    if any(parts):
        for line in pair.lines:
            if not line.joined:
                for other in book.lines.values():
                    if other.joined and other.name not in pair.names and parts_of(book, other) & parts_of(book, line):
                        opening.take_off(book, other)
                opening.set_up(book, line)
        book.phase = "flush"
    caught: list[Left] = []
    shots: list[list[Shot]] = []
    for line, own in zip(pair.lines, parts, strict=True):
        known = [part.volume for part in own if part.volume is not None]
        volume, onto = sum(known), "sanitary" if any(lawn_of(part.leaves) == "never" for part in own) else "lawn"
        if len(known) == len(own):
            shots.append([Shot(volume=volume, use="flush", onto=onto)] if volume > _DROP else [])
            continue
        volume = max(volume, _CLEAR * line.volume)
        strongest = max(own, key=lambda part: part.strength)
        strength = strongest.strength * line.volume / volume
        count = max(ceil(volume / PAIL - _DROP), 1)
        pails = [
            Left(place=book.pail(), stock=strongest.leaves, volume=volume / count, strength=strength)
            for _ in range(count)
        ]
        caught += pails
        shots.append([Shot(volume=left.volume, use="flush", onto=left.place) for left in pails])
    for both in pair.evened(*shots):
        pair.open(both)
    pair.switch(on=False)
    joined = [(line, own) for line, own in zip(pair.lines, parts, strict=True) if line.joined]
    for line, own in joined:
        read_strips(book, line, list(strips_of(book, own)))
    for line, _ in joined:
        opening.relieve(book, line)
    return caught


def wash(
    book: Book, line: Line, volume: float, onto: str, leaves: Sequence[str], stock: str = "", strength: float = 0.0,
) -> list[Left]:  # fmt: skip
    """So much clean water [m3] through a joined line in one spray, with the gun left open; what is left in pails.

    `onto` pail: caught, pail after pail, `stock` at a `strength` [kg/m3]. A suction that stood in acid draws from a
    pail of its own.
    """
    run = line.plan.input
    soured = run.premix and not set(leaves).isdisjoint(ACIDS)
    feed = "pail" if soured else book.water_feed(line)
    if line.open and (line.stock or line.feed != feed or not line.on):
        book.shut(line)
    if line.stock and run.dosing is not None:
        book.dose(line, SetDosing(run=line.name, to="water"))
    # What mix went through is flushed: its own tip too.
    opening.change_tip(book, line, "tip")
    if feed == "pail":
        caught: list[Left] = []
        from_pail(
            book, line, volume, 0.0, lambda part, _: caught.extend(spray_out(book, line, part, onto, stock, strength))
        )
        return caught
    if line.feed != feed:
        book.draw(line, feed)
    if line.pump is not None and not line.primed:
        book.shut(line)
        opening.make_ready(book, line)
    book.power(line, on=True)
    return spray_out(book, line, volume, onto, stock, strength)


def spray_out(
    book: Book, line: Line, volume: float, onto: str, stock: str, strength: float
) -> list[Left]:  # fmt: skip
    """One spray onto the ground, or pail after pail with the gun left open; the pails."""
    if onto != "pail":
        book.spray(line, volume, onto, "flush")
        return []
    count = max(ceil(volume / PAIL - _DROP), 1)
    caught = [Left(place=book.pail(), stock=stock, volume=volume / count, strength=strength) for _ in range(count)]
    for left in caught:
        book.spray(line, left.volume, left.place, "flush")
    return caught


# ------------------------------------------------------------------------------------------------------- strips


def strips_of(book: Book, parts: Iterable[FlushPlan]) -> Iterator[Expect]:
    """What a strip at the tip should read once these are flushed."""
    rows = list(parts)
    bleach = [part for part in rows if part.leaves == BLEACH]
    if bleach:
        least = min(max(part.target, inlet_of(book.job, part.leaves)) for part in bleach)
        yield chlorine(least)
    if len(bleach) < len(rows):
        yield acidity(book)


def _read_before(book: Book, line: Line) -> list[Expect]:
    """What was read of a line flushed before its last mix, which leaves nothing to be flushed: it is read once more."""
    sprays = [draft.detail for draft in book.drafts if isinstance(draft.detail, Spray)]
    if not any(spray.run == line.name and spray.use == "flush" for spray in sprays):
        return []
    return [draft.expect for draft in book.drafts if draft.phase == "flush_first" and draft.expect is not None][-1:]


def chlorine(target: float) -> Expect:
    """A chlorine strip of at most the target [kg/m3]."""
    high = target * 1000.0
    return Expect(what="strip_chlorine", unit="mg_per_l", value=high / 2.0, low=0.0, high=high)


def acidity(book: Book) -> Expect:
    """A pH strip between the limits."""
    low, high = book.job.limits["strip_low"], book.job.limits["strip_high"]
    return Expect(what="strip_ph", unit="ph", value=(low + high) / 2.0, low=low, high=high)


def read_strips(book: Book, line: Line, strips: Iterable[Expect]) -> None:
    """Each strip at the tip."""
    for expect in strips:
        book.read(expect, "wall", book.minutes["strip"], run=line.name)


# ------------------------------------------------------------------------------------------------------- leaving


def _leave(book: Book, lines: Sequence[Line], stop: int | None) -> None:
    """Apart, drained, coiled, uncovered, strapped, what rides stowed in what is left of packing's own time."""
    book.phase = "leave"
    begins = book.lead.now
    drained: set[str] = set()
    for line in lines:
        if not line.joined:
            continue
        book.do(Parting(run=line.name), "reel", book.minutes["part"], run=line.name, stop=stop)
        line.joined = False
        _coil(book, line, stop, drained)
    ever = {draft.detail.run for draft in book.drafts if isinstance(draft.detail, Join)}
    for line in lines:
        if line.name in ever:
            _coil(book, line, stop, drained)
    for cover in book.covered:
        book.mark(Mark(verb="uncover", what=cover), "grounds", key="uncover", who="second")
    until = max(begins + book.minutes["pack"], book.second.now if book.second is not None else 0.0)
    if book.asked.mixes:
        book.do(Mark(verb="strap", what="drums"), "drums", max(book.minutes["drums"], until - book.lead.now))
    else:
        book.do(Mark(verb="strap", what="gear"), "rig", max(book.minutes["gear"], until - book.lead.now))
    book.wait_until(until)


def _coil(book: Book, line: Line, stop: int | None, done: set[str]) -> None:
    for name, volume in every_hose(line.plan, book.asked.runs).items():
        if name in done or (name not in hoses_of(line.plan, book.asked.runs) and not _put_on(book, name)):
            continue
        done.add(name)
        if _stands(book.drafts, book, name):
            water = Drain(source=name, to="lawn", volume=volume)
            book.do(water, "reel", book.minutes["hose_drained"])
        book.do(Mark(verb="coil", what=name), "reel", book.minutes["coil"], stop=stop)


def _put_on(book: Book, hose: str) -> bool:
    """Whether a hose of a role was ever put on: one that was not is still as it was laid."""
    return any(isinstance(draft.detail, ChangeTip) and hose in draft.detail.on for draft in book.drafts)


def _stands(drafts: Sequence[Draft], book: Book, hose: str) -> bool:
    """Whether anything is in a hose: it was sprayed through since it was last drained."""
    roles: dict[str, Role] = {}
    stands = False
    for draft in drafts:
        match draft.detail:
            case Drain(source=source) if source == hose:
                stands = False
            case Join(run=run):
                roles[run] = "tip"
            case ChangeTip(run=run, role=role):
                roles[run] = role
            case Spray(run=run):
                line = hoses_of(book.lines[run].plan, book.asked.runs, roles.get(run, "tip"))
                stands = stands or hose in line
            case _:
                pass
    return stands
