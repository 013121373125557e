"""A yard job as acts: the pump tested, flushed, opened, taken down, bathed, built up, tested again, the line put away.

The order is here and nowhere else: water before acid, the pump flushed before it is opened, its bath neutralized before
it is poured away.  What is asked of the job decides which phases there are.

The test stands in `YardPlan.runs`, as the pump is and, where it is opened, once it is sound: two runs of one line, for
a run has one flow. What a kind of pump needs beyond the contract's keys stands in words: `yard` of data/acts.yaml and
the lists of templates/yard_test.md. Wiping the shaft is the first soak that goes into a rinse pail.
"""

from __future__ import annotations

from math import ceil
from typing import Final

from planner.inputs.models import Tank
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS
from planner.physics.hoses import area
from planner.plan.between.changes import strongest_of
from planner.plan.between.flushing import inlet_of
from planner.plan.between.heels import left_in
from planner.plan.between.neutralisers import neutralised
from planner.plan.procedure.acts import (
    Drain,
    Expect,
    Mark,
    Parting,
    Soak,
    State,
    Stir,
)
from planner.plan.procedure.asked import Asked
from planner.plan.procedure.book import PAIL, Book, Line, about
from planner.plan.procedure.stages.bench import Bench
from planner.plan.procedure.state import hoses_of, untold
from planner.plan.yard.bath import FIRST_RINSE
from planner.plan.yard.flush import dirty_of, seen_of, strength_of
from planner.plan.yard.model import BathPlan, BenchPoint, FoulTank, PumpHeld, YardPlan

_DROP: Final = 1e-9  # m3; less is what sums leave over
_FULL: Final = 0.8 * PAIL
"""What goes into a pail [m3]: parts are put in, and it is carried (our choice)."""

_TURNOVERS: Final = 5.0
"""Times its own volume of water that takes all but a hundredth out of a pump (stirred: exp(-5))."""

_RINSED: Final = (6.0, 8.0)
_SPENT: Final = (6.0, 9.0)
"""pH that a strip reads on what is rinsed, and in a bath that may be let go (common practice, no source)."""


def yard_book(asked: Asked, yard: YardPlan, begin: State, begins: float) -> Book:
    """Every act in its book, from when the lead is at the bench at `begins` [s]; `begin` is the rig as it is found."""
    bench = Bench(job=asked.job, yard=yard, book=Book.of(asked, begins), found=asked.found)
    bench.vessels = {name: held.volume or 0.0 for name, held in begin.tanks.items()}
    bench.active = {name: (held.volume or 0.0) * held.strength for name, held in begin.tanks.items()}
    bench.air = sum(volume for run in yard.runs[:1] for name, volume in hoses_of(run, yard.runs).items()
                    if begin.hoses[name].stock == "air")  # fmt: skip
    lines = list(bench.book.lines.values())
    dirty = dirty_of(yard, asked.found)
    opened = yard.opened or yard.bath is not None
    _tested(bench, lines, dirty, opened=opened)
    if opened:
        _taken_down(bench, lines)
        if yard.bath is not None:
            _bathed(bench, yard.bath)
            _ended(bench, yard.bath)
        _built_up(bench)
        if lines:
            _tested_again(bench, lines[-1])
    bench.book.phase = "leave"
    if lines:
        _given_back(bench)
        _put_away(bench, lines[-1], flushed=opened or bool(dirty))
    if yard.bath is not None:
        bench.mark("strap", "drums")
    return bench.book


# ------------------------------------------------------------------------------------------------- the test


def _tested(bench: Bench, lines: list[Line], dirty: list[PumpHeld], *, opened: bool) -> None:
    """The flush of a pump that may hold something, then the test before."""
    yard, book = bench.yard, bench.book
    book.phase = "test"
    if dirty:
        bench.worn = _dressed(bench, acid=any(held.chemical != BLEACH for held in dirty))
    if not lines:
        if opened:
            # No setup sprays with it: it is rinsed out by hand, and the strip says when.
            _strips(bench, None)
        else:
            bench.mark("write", "photographs")
        return
    line, test = lines[0], yard.test
    assert test is not None
    _watered(bench, lines)
    bench.mark("lay_out", "hoses")
    if dirty:
        _flushed_out(bench, line, dirty)
    else:
        bench.joined(line)
    bench.fed(line, _drawn(bench, line) - (line.volume if dirty else 0.0))
    bench.power(line, on=True)
    if not dirty:
        bench.spray(line, line.volume, "ground", "line")
    _shown(bench, line, test.before, worn=not opened)
    bench.power(line, on=False)
    _noted(bench, test.before)
    if opened and not dirty:
        _strips(bench, line)


def _tested_again(bench: Bench, line: Line) -> None:
    """The test after: the line made up once more, the pump filled and vented, heard, then read."""
    test = bench.yard.test
    assert test is not None
    bench.book.phase = "test"
    bench.fed(line, _drawn(bench, line))
    bench.joined(line)
    bench.power(line, on=True)
    bench.spray(line, line.volume, "ground", "line")
    _shown(bench, line, test.after)
    bench.power(line, on=False)
    _noted(bench, test.after)
    if bench.yard.bath is not None:
        # Bleach may be the next that goes through it.
        bench.read(_ph(_RINSED), "strip", run=line.name, why="flush.needed")


def _shown(bench: Bench, line: Line, point: BenchPoint, *, worn: bool = False) -> None:
    """Bucket, jet and closed gauge with the gun opened once; of a test alone up to what a sound pump shows (`worn`)."""
    test = bench.yard.test
    assert test is not None
    sound = test.after
    bucket = about("bucket", "s", test.bucket / line.flow)
    closed = about("gauge_closed", "pa", point.closed) if point.closed is not None else None
    if worn:
        bucket = _from_to(bucket, test.bucket / sound.flow)
        closed = _from_to(closed, sound.closed) if closed is not None and sound.closed is not None else closed
    bench.spray(line, test.bucket, "bucket", "test", expect=bucket)
    if point.ground is not None:
        bench.spray(line, line.flow * bench.row("throw_sprayed"), "ground", "test")
    bench.shut(line)
    if closed is not None:
        bench.read(closed, "gauge", run=line.name)


def _from_to(expect: Expect, sound: float) -> Expect:
    """What is in order from the pump as it stands to a sound one."""
    other = about(expect.what, expect.unit, sound)
    low, high = min(expect.low, other.low), max(expect.high, other.high)
    return Expect(what=expect.what, unit=expect.unit, value=expect.value, low=low, high=high)


def _noted(bench: Bench, point: BenchPoint) -> None:
    """What is left of a test when the pump is off: the bucket emptied, the throw paced out by the wet ground."""
    bench.empty("bucket", "lawn", bench.row("bucket_emptied"))
    if point.ground is not None:
        bench.read(about("throw", "m", point.ground, bench.job.limits["reach_band"]), "throw_paced")


# ------------------------------------------------------------------------------------------------- the flush


def _flushed_out(bench: Bench, line: Line, dirty: list[PumpHeld]) -> None:
    """What is known to be in pump or hose, run low into pails until the strips are right, and made harmless.

    The hose's own comes first, then the pump's; each pail of it gets water before the line is made up, and the agent
    after.
    Where two chemicals may be in it nothing is put to them: what ends one may gas with the other.
    """
    volume, pump = _flushed(bench.yard), bench.yard.pump
    hoses = [hose for hose in line.plan.input.hoses if hose.name in bench.found.unflushed]
    held = sum(area(hose.bore) * hose.length for hose in hoses)
    strength = max(
        strongest_of(bench.job, pump_held.chemical) if hoses else strength_of(bench.job, pump_held)
        for pump_held in dirty
    )
    inside = held + pump.wetted_volume
    ends = neutralised(bench.job, dirty[0].chemical, "the flush", inside, strength, bench.found.taken)
    thin = (ends.thin_to or inside) / inside if ends is not None else 1.0
    first = min(line.volume + _TURNOVERS * pump.wetted_volume, volume)
    strong = _parted(first, _FULL / thin)
    # Which of these it comes into depends on how full the hoses are: each gets agent for all that it can hold.
    dose = ends.mass * min(strong[0] / inside, 1.0) if ends is not None else 0.0
    if ends is None or len(dirty) > 1 or not bench.enough(ends.agent, dose * len(strong)):
        ends, thin, strong = None, 1.0, _parted(first, _FULL)
    pails = [(bench.book.pail(), part) for part in (*strong, *_parted(volume - first, _FULL))]
    reached = [pail for pail, _ in pails[: len(strong)]]
    for pail, part in pails[: len(strong)] if thin > 1.0 else ():
        bench.fill(pail, part * (thin - 1.0))
    bench.joined(line)
    bench.power(line, on=True)
    for pail, part in pails:
        bench.spray(line, part, pail, "flush", why="flush.needed")
        bench.shut(line)
    bench.power(line, on=False)
    _strips(bench, line)
    for pail in reached:
        if ends is not None:
            bench.end(pail, ends, dose, bench.row("neutralise"))
    # All are ended before the first is carried: that is one walk, and what was stirred in has had its time.
    for pail, _ in pails:
        kept = ends is None and pail in reached
        bench.empty(pail, "carried_home" if kept else "sanitary", bench.row("pail_carried"))


def _parted(volume: float, most: float) -> list[float]:
    """A volume in equal parts, none of them over `most`; none of nothing."""
    count = ceil(volume / most - 1e-9) if volume > _DROP else 0
    return [volume / count] * count


def _flushed(yard: YardPlan) -> float:
    """The flush's water [m3]; 0 without one."""
    return sum(flush.volume or 0.0 for flush in yard.flushes)


def _strips(bench: Bench, line: Line | None) -> None:
    """What strips have to read in the last drops: the tap's chlorine, whatever went through; of all else its pH too."""
    run = line.name if line is not None else None
    tap, most = 1e3 * inlet_of(bench.job, BLEACH), 1e3 * seen_of(bench.job)
    chlorine = Expect(what="strip_chlorine", unit="mg_per_l", value=tap, low=0.0, high=most)
    bench.read(chlorine, "strip", run=run, why="flush.needed")
    if {held.chemical for held in bench.yard.held} - {BLEACH}:
        bench.read(_ph(_RINSED), "strip", run=run, why="flush.needed")


def _ph(between: tuple[float, float]) -> Expect:
    return Expect(what="strip_ph", unit="ph", value=7.0, low=between[0], high=between[1])


# ------------------------------------------------------------------------------------------------- down and up


def _taken_down(bench: Bench, lines: list[Line]) -> None:
    """Locked, the line off it, and apart stage by stage."""
    book, yard = bench.book, bench.yard
    book.phase = "take_down"
    began = book.lead.now
    bench.mark("look", "locked")
    run = lines[0].name if lines else None
    stop = book.stop("open", run, (*bench.worn, "residual", "power_off", "no_pressure", "locked"), "bench")
    if run is not None:
        book.do(Parting(run=run), "bench", bench.row("part"), run=run, stop=stop)
    bench.mark("write", "photographs", stop=stop)
    bench.mark("write", "spacers_written", bench.row("spacers_written") * stages_of(yard), stop=stop)
    rest = bench.row("take_down") - (book.lead.now - began)
    bench.mark("lay_out", "stages", max(rest, bench.row("stages")), stop=stop)


def stages_of(yard: YardPlan) -> int:
    """How many stages a spacer is written for; 1 of what has none, or none that anybody counted."""
    return yard.stages or 1 if yard.pump.of_kind.stages else 1


def _built_up(bench: Bench) -> None:
    """Together again, each spacer, packing or flap as it was written down; with new parts it takes longer."""
    yard = bench.yard
    bench.book.phase = "build_up"
    new = "rebuild" in yard.works or bool(yard.replace)
    least = bench.row("spacers") * stages_of(yard)
    bench.mark("look", "spacers", max(bench.row("build_up") + (bench.row("build_up_new") if new else 0.0), least))


# ------------------------------------------------------------------------------------------------- the bath


def _bathed(bench: Bench, bath: BathPlan) -> None:
    """Rinse water and neutralizer first, then water into the tub, and only then acid into the water."""
    book, company = bench.book, bench.book.people > 1
    book.phase = "mix"
    asks = [*bench.worn, *_dressed(bench, acid=True, shield=CHEMICALS[bath.chemical].people.burns == "strong")]
    each = len(_parted(bath.rinse, _FULL))
    bench.rinses = [[book.pail() for _ in range(each)] for _ in range(bath.rinses)]
    agent = _rinse_agent(bench, bath)
    rinse = next((leftover for leftover in bath.neutralise if leftover.purpose == FIRST_RINSE), None)
    for number, pails in enumerate(bench.rinses):
        for pail in pails:
            bench.fill(pail, bath.rinse / each)
            if number == 0 and rinse is not None and agent > 0.0:
                bench.end(pail, rinse, agent / each, bench.row("pour"))
    bench.fill("tub", bath.water)
    for what in ("no_aluminium", "eyewash", "lot_read"):
        bench.mark("look", what)
    bench.mark("look" if company else "ask", "company" if company else "office_knows")
    asks += ["no_aluminium", "eyewash", "lot_read", "company" if company else "office_knows"]
    stop = book.stop("acid", None, asks, "bench")
    for order, share in enumerate(bath.pours, start=2):
        bench.pour(share.lot.name, share.stock, share.mass, order, stop)
    book.do(Stir(tank="tub", seconds=bench.row("stir")), "bench", bench.row("stir"), stop=stop)


def _rinse_agent(bench: Bench, bath: BathPlan) -> float:
    """What the first rinse gets [kg]: as much as it should have, where the shelf has that beside what ends the bath."""
    ends = sum(
        leftover.mass
        for leftover in bath.neutralise
        if leftover.purpose != FIRST_RINSE and leftover.agent == bath.rinse_with
    )
    left = [bench.left(lot.name) for lot in bench.job.lots if lot.chemical == bath.rinse_with]
    if not left or any(one is None for one in left):
        return bath.rinse_agent
    return min(bath.rinse_agent, max(sum(one or 0.0 for one in left) - ends, 0.0))


def _dressed(bench: Bench, *, acid: bool, shield: bool = True) -> list[str]:
    """What is put on against it: gloves and goggles, against acid its own gloves, and a `shield` over the face."""
    worn = ["gloves_goggles"] if not acid else ["acid_gloves", "face_shield"] if shield else ["acid_gloves"]
    for what in worn:
        bench.mark("wear", what)
    return worn


def _ended(bench: Bench, bath: BathPlan) -> None:
    """Soaked, the shaft wiped, rinsed; then the bath made harmless, and all of it poured away."""
    book, inside = bench.book, not bench.yard.parts.nothing_inside
    book.phase = "soak"
    # Of a pump that may not lie in it only rags do, and what is wiped with them is rinsed.
    parts = "stages" if inside and bench.yard.pump.of_kind.stages else "housing"
    book.do(Soak(what=parts, into="tub", seconds=bath.soak), "bench", bath.soak)
    if bath.wipe is not None and bath.passes:
        wiped = bath.passes * (bath.wipe[1] + bench.row("wipe_rinse"))
        book.do(Soak(what="housing", into=bench.rinses[0][0], seconds=wiped), "bench", wiped)
    for pails in bench.rinses:
        for pail in pails:
            seconds = bench.row("bath_rinse") / len(pails)
            book.do(Soak(what=parts, into=pail, seconds=seconds), "bench", seconds)
    bench.read(_ph(_RINSED), "strip")
    harmless = next((leftover for leftover in bath.neutralise if leftover.purpose != FIRST_RINSE), None)
    if harmless is not None:
        bench.end("tub", harmless, harmless.mass, bench.row("bath_neutralised"))
        bench.read(_ph(_SPENT), "strip")
    bench.empty("tub", "sanitary" if harmless is not None else "carried_home", bench.row("pail_carried"))
    for pail in (pail for pails in bench.rinses for pail in pails):
        bench.empty(pail, "sanitary", bench.row("pail_carried"))


# ------------------------------------------------------------------------------------------------- the line put away


def _put_away(bench: Bench, line: Line, *, flushed: bool) -> None:
    """The line apart, drained and coiled."""
    asks = (*(("residual",) if flushed else ()), "power_off", "no_pressure")
    stop = bench.book.stop("coil", None, asks, "reel")
    bench.book.do(Parting(run=line.name), "reel", bench.row("part"), run=line.name, stop=stop)
    for hose in line.plan.input.hoses:
        drained = Drain(source=hose.name, to="lawn", volume=area(hose.bore) * hose.length)
        bench.book.do(drained, "reel", bench.row("hose_drained"), stop=stop)
        bench.book.do(Mark(verb="coil", what=hose.name), "reel", bench.row("coil"), stop=stop)


def _watered(bench: Bench, lines: list[Line]) -> None:
    """The tank a pump is tested from, with as much clean water in it as tests and flush draw, or it holds."""
    tank = next((tank for tank in bench.job.rig.tanks if tank.name == bench.yard.feed), None)
    if tank is None:
        return
    if bench.yard.tank is not None:
        _cleared(bench, tank, bench.yard.tank)
    elif tank.name in untold(bench.book.asked):
        bench.mark("look", f"dry {tank.name}")
    bench.ahead = sum(_drawn(bench, line) for line in lines) + _flushed(bench.yard)
    bench.fed(lines[0], bench.ahead)


def _drawn(bench: Bench, line: Line) -> float:
    """What a test draws [m3]: the line filled, the bucket, the jet."""
    test = bench.yard.test
    assert test is not None
    return line.volume + line.flow * bench.row("throw_sprayed") + test.bucket


def _cleared(bench: Bench, tank: Tank, foul: FoulTank) -> None:
    """A tank that gives no plain water: looked into, or what stands in it in pails of its own and the tank rinsed."""
    name = tank.name
    if not bench.vessels[name]:
        bench.mark("look", f"dry {name}")
        return
    if not bench.worn:
        bench.worn = _dressed(bench, acid=foul.holds != BLEACH)
    strength = bench.active[name] / bench.vessels[name]
    ends = neutralised(bench.job, foul.holds, "the tank", _FULL, strength, bench.found.taken)
    # What goes back stays as it is; what does not is thinned as it comes out.
    thin = (ends.thin_to or _FULL) / _FULL if ends is not None and foul.why == "water" else 1.0
    while bench.vessels[name] > _DROP:
        bench.own.append(bench.book.pail())
        if thin > 1.0:
            bench.fill(bench.own[-1], _FULL * (1.0 - 1.0 / thin))
        bench.empty(name, bench.own[-1], bench.row("pail_carried"), keep=max(bench.vessels[name] - _FULL / thin, 0.0))
    pail = bench.book.pail()
    bench.fill(name, _FULL)
    bench.empty(name, pail, bench.row("pail_carried"))
    _let_go(bench, foul.holds, pail, left_in(tank) * strength)
    _strips(bench, None)


def _let_go(bench: Bench, chemical: str, pail: str, active: float) -> None:
    """A pail with so much in it [kg] made harmless and poured away; kept where the shelf has nothing for it."""
    volume = bench.vessels[pail]
    ends = neutralised(bench.job, chemical, "the flush", volume, active / volume, bench.found.taken)
    harmless = ends is not None and bench.enough(ends.agent, ends.mass)
    if ends is not None and harmless:
        bench.end(pail, ends, ends.mass, bench.row("neutralise"))
    bench.empty(pail, "sanitary" if harmless else "carried_home", bench.row("pail_carried"))


def _given_back(bench: Bench) -> None:
    """The test's water out of a tank that holds no water else, and its own back in; out of a tank for water it goes."""
    foul = bench.yard.tank
    if foul is None:
        return
    bench.empty(foul.tank, "sanitary", bench.row("hose_drained"))
    for pail in bench.own:
        if foul.why == "water":
            _let_go(bench, foul.holds, pail, bench.active[pail])
        else:
            bench.empty(pail, foul.tank, bench.row("pail_carried"))
