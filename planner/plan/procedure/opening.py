"""The opening of a job: the walk round, what is looked at and covered, the lines laid out and tried with clean water.

Each line is tried once: primed and asked about before its pump has power, sprayed until it is full of water, its
bucket timed, its gauge read.  A line that comes back only joins again.  It ends full of water, power off, gun shut.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil, inf
from typing import Final

from planner.chemistry.reactions import ACIDS
from planner.inputs.chemicals import chemical_named
from planner.physics.tanks import depth_of
from planner.plan.mix_model import Look
from planner.plan.pouring import tank_volumes
from planner.plan.power import plan_power
from planner.plan.procedure.acts import (
    At,
    Drain,
    DrawFrom,
    Expect,
    Fill,
    Join,
    Mark,
    Parting,
    Phase,
    Prime,
    Read,
    Relieve,
    SetDosing,
    Spray,
    WaterBed,
    Who,
)
from planner.plan.procedure.book import PAIL, Book, Draft, Line, about
from planner.plan.tap import has_tap, pour_flow, usual_flow, water_tank

OVER: Final = 1.05
"""So much more is filled into a pail or jug than is drawn out of it, so that nothing runs dry (our choice)."""

_LITRE: Final = 1e-3
_BUCKETS: Final = (PAIL, PAIL * 2 / 5, PAIL / 5)
_BUCKETS_SI: Final = (20 * _LITRE, 10 * _LITRE, 5 * _LITRE)
"""Buckets a flow is timed with [m3]: 5, 2 and 1 gal, or 20, 10 and 5 L (common practice, no source)."""

_LONGEST_BUCKET: Final = 60.0
"""A bucket that takes longer [s] gives way to a smaller one (our choice)."""

_THROW: Final = 5.0
"""How long the jet is held up to see how high it gets [s] (our choice)."""

_LOW_TARGET: Final = 3.0
"""Below this height [m] anybody reaches, and none is asked of the jet (our choice)."""

_NOISE: Final = 1e-9

# ---------------------------------------------------------------------------------------------------- the walk round


def arrive(book: Book) -> None:
    """The walk round, the customer, the photographs; covers by the second, alone by the lead too.

    The walk round takes what the others leave of the whole phase.
    """
    book.phase = "walk"
    took = book.minutes["customer"] + book.minutes["photographs"]
    covers = list(_covers(book))
    if book.second is None:
        took += sum(book.minutes[key.split(" ")[0]] for key in covers)
        took += book.minutes["vents_shut"] if book.asked.mixes else 0.0
    walk = max(book.minutes["walk_round"], book.minutes["walk"] - took)
    book.do(Mark(verb="look", what="walk_round"), "grounds", walk)
    book.mark(Mark(verb="ask", what="customer"), "grounds")
    book.mark(Mark(verb="write", what="photographs"), "grounds")
    for key in covers:
        book.mark(Mark(verb="cover", what=key), "grounds", who="second")
        book.covered.append(key)
    if book.asked.mixes:
        book.mark(Mark(verb="look", what="vents_shut"), "grounds", who="second")


def _covers(book: Book) -> Iterator[str]:
    """What this job has covered, by key."""
    near = book.job.job.near
    kinds = near.control or () if near is not None else ()
    if near is not None and (near.storm_drain is not None or "drain_cover" in kinds):
        yield "drains_covered"
    if near is not None and near.downspouts and book.asked.mixes:
        yield "downspouts_bagged"
    yield from (f"control {kind}" for kind in kinds if kind != "drain_cover")
    if any(part.surface.trim for mix in book.asked.mixes for part in mix.parts):
        yield "fittings_taped"


# ---------------------------------------------------------------------------------------------------- before work


def before_work(book: Book, lines: Sequence[Line]) -> None:
    """What is looked at before anything is filled, the beds' first water, and the hoses laid out.

    `lines` are set up next, as far as they do not share hoses: laying out takes what their set-up and test leave of
    the whole phase's minutes.
    """
    book.phase = "set_up"
    begun = book.lead.now
    if book.second is not None:
        book.second.now = max(book.second.now, begun)
        water_beds(book)
    book.mark(Mark(verb="look", what="rig_parked"), "rig")
    for look in book.asked.looks:
        _look(book, look)
    if has_tap(book.job):
        book.mark(Mark(verb="look", what="backflow"), "rig")
    for name in dict.fromkeys(mix.run.feed_tank.name for mix in book.asked.mixes if mix.run.feed_tank is not None):
        held = book.asked.found.tanks.get(name)
        if held is not None and held.volume > 0.0:
            _dip(book, name, held.volume)
    hoses = book.do(Mark(verb="lay_out", what="hoses"), "rig", book.minutes["hoses"])
    roof = any(one.surface.row["family"] == "roof" for one in book.asked.work)
    acid = any(mix.chemical in ACIDS for mix in book.asked.mixes)
    whole = book.minutes["set_up"]
    whole += (book.minutes["set_up_roof"] if roof else 0.0) + (book.minutes["set_up_acid"] if acid else 0.0)
    for _ in range(9):
        # Where somebody waits for the beds, what is laid out longer is waited less: tried again until nothing is left.
        left = begun + whole - _tried(book, lines)
        if left <= _NOISE:
            break
        hoses.lasts += left
        book.lead.now += left


def _tried(book: Book, lines: Sequence[Line]) -> float:
    """When the lead would be done with these lines' set-up and test, in a copy of the book."""
    second = replace(book.second) if book.second is not None else None
    own = {name: replace(line) for name, line in book.lines.items()}
    copy = replace(book, drafts=list(book.drafts), lead=replace(book.lead), second=second, lines=own)
    for line in lines:
        if not in_the_way(copy, copy.lines[line.name]):
            set_up(copy, copy.lines[line.name])
    return copy.lead.now


def _look(book: Book, look: Look) -> None:
    """One thing nobody knows, found out at the rig; a line of which bleach may be left is read at its test."""
    if look.what == "stick" and _dip(book, look.place, look.volume or 0.0, least=0.0, why="mix.heel"):
        return
    if look.what in ("gainsaid", "strip", "undated"):
        why = {"gainsaid": "mix.heel", "strip": "mix.reaction"}.get(look.what)
        acid = look.chemical in ACIDS
        book.read(
            _strip_ph(book) if acid else _strip(book, "residual"), "rig", book.minutes["strip"], why=why
        )  # fmt: skip
    tanks = {
        "dry": [look.place], "stick": [look.place], "gainsaid": [look.place],
        "undated": [mix.run.feed_tank.name for mix in book.asked.mixes if mix.run.feed_tank is not None],
    }.get(look.what, [])  # fmt: skip
    for name in dict.fromkeys(tanks):
        why = "mix.heel" if look.what in ("stick", "gainsaid") else None
        book.do(Mark(verb="look", what=f"dry {name}"), "rig", book.minutes["dry"], why=why)


def _dip(book: Book, name: str, volume: float, *, least: float | None = None, why: str | None = None) -> bool:
    """The stick read in a tank that should hold `volume` [m3]; nothing where the tank has no shape."""
    tank = next((one for one in book.job.rig.tanks if one.name == name), None)
    depth = depth_of(tank_volumes(tank), volume) if tank is not None else None
    if depth is None:
        return False
    told = about("dip", "m", depth)
    book.read(told if least is None else replace(told, low=least), "rig", book.minutes["dip"], why=why)
    return True


def _strip(book: Book, limit: str) -> Expect:
    """A chlorine strip: what the tap brings, at most the limit [mg/L, which is g/m3]."""
    most = book.job.limits[limit] * 1e3
    inlet = (book.job.water.chlorine or 0.0) * 1e3
    return Expect(what="strip_chlorine", unit="mg_per_l", value=min(inlet, most), low=0.0, high=most)


def _strip_ph(book: Book) -> Expect:
    low, high = book.job.limits["strip_low"], book.job.limits["strip_high"]
    return Expect(what="strip_ph", unit="ph", value=(low + high) / 2.0, low=low, high=high)


def water_beds(book: Book) -> Draft | None:
    """The beds' first water, given once; who is asked again gets the act there is. None without beds."""
    given = next((one for one in book.drafts if isinstance(one.detail, WaterBed)), None)
    beds = book.asked.beds
    if given is not None or beds is None or beds.before <= 0.0:
        return given
    detail = WaterBed(bed="flower_beds", source=book.outside() or book.source(), volume=beds.before)
    if book.second is None:
        wait_for(book, detail.source)
    return book.do(detail, "grounds", beds.before / (book.tap or usual_flow(book.job)), who="second")


# ---------------------------------------------------------------------------------------------------- a line


def set_up(book: Book, line: Line) -> None:
    """A line joined, primed and, the first time, tried with clean water; what it shares gear with is taken off."""
    for other in in_the_way(book, line):
        take_off(book, other)
    book.phase = "set_up"
    book.do(Join(run=line.name), "rig", book.minutes["join"], run=line.name)
    line.joined = True
    if line.plan.input.dosing is not None:
        book.do(SetDosing(run=line.name, to="water"), "rig", book.minutes["set_dosing"], run=line.name)
        line.stock = False
    feed = test_feed(book, line)
    if feed is None:
        return
    steps = [] if line.tested else list(_sprays(book, line, feed))
    needed = sum(step.volume for step, _ in steps)
    holds = inf
    if feed.startswith("pail"):
        holds = min(max(needed * OVER, _primes(line)), PAIL)
        fill(book, feed, holds, "rig", run=line.name)
    elif not _plain(book, line, feed):
        tank = line.plan.input.feed_tank
        assert tank is not None
        fill(book, feed, min(tank.dead_volume + max(needed * OVER, _primes(line)), tank.volume), "rig", run=line.name)
    book.do(DrawFrom(run=line.name, feed=feed), "rig", book.minutes["draw_from"], run=line.name)
    line.feed, line.stock = feed, False
    make_ready(book, line)
    if steps:
        _test(book, line, steps, holds)
    elif holds < inf:
        book.do(Drain(source=feed, to="lawn", volume=holds), "grounds", book.minutes["pail_carried"], run=line.name)


def make_ready(book: Book, line: Line) -> None:
    """Its pump primed from where the suction is; breaker and gun looked at; the stop point before it has power."""
    wall: At = "wall" if book.second is not None else "rig"
    asks = []
    if line.pump is not None:
        book.do(Prime(run=line.name), "rig", book.minutes["prime"], run=line.name)
        line.primed = True
        if _mains(book, line):
            asks.append(f"breaker {line.name}")
            book.mark(Mark(verb="look", what=asks[0]), "rig", run=line.name)
        asks.append("primed")
    asks.append(f"gun {line.name}")
    book.mark(Mark(verb="look", what=asks[-1]), wall, run=line.name)
    if line.pump is not None:
        line.power_stop = book.stop("power", line.name, asks, wall)


def _test(book: Book, line: Line, steps: Sequence[tuple[Spray, Expect | None]], holds: float) -> None:
    """The sprays of a line's test, refilling the pail it draws from; its gauge; power off, the bucket emptied."""
    book.phase = "test"
    wait_for(book, line.feed)
    for step, expect in steps:
        parts = max(ceil(step.volume * OVER / PAIL - _NOISE), 1) if holds < inf else 1
        for _ in range(parts):
            if holds < step.volume / parts:
                book.shut(line)
                book.power(line, on=False)
                fill(book, line.feed, PAIL - holds, "rig", run=line.name)
                holds = PAIL
            book.power(line, on=True)
            book.spray(line, step.volume / parts, step.onto, step.use, expect=expect)
            holds -= step.volume / parts
    book.shut(line)
    full = sum(step.volume for step, _ in steps if step.onto == "bucket")
    joint = next((one for one in line.plan.joints if one.kind == "gauge"), None)
    closed = joint.closed if joint is not None and line.pump is not None else None
    # Alone the lead walks to the gauge and the switch while the pump stands against the shut gun.
    left = line.allowed - book.minutes["power"]
    if book.second is None:
        left -= line.length / book.minutes["walk_pace"]
        if full > 0.0 and book.minutes["bucket_emptied"] <= left:
            left -= book.minutes["bucket_emptied"]
            _empty_bucket(book, line, full)
            full = 0.0
    if closed is not None and book.minutes["gauge"] <= left:
        told = about("gauge_closed", "pa", closed)
        book.call(Read(), "rig", book.minutes["gauge"], run=line.name, expect=told)
    book.power(line, on=False)
    if full > 0.0:
        _empty_bucket(book, line, full)
    if any(look.what == "chlorine" and look.place == line.name for look in book.asked.looks):
        book.read(_strip(book, "residual_acid"), "wall", book.minutes["strip"], run=line.name)
    if 0.0 < holds < inf:
        book.do(
            Drain(source=line.feed, to="lawn", volume=holds), "grounds", book.minutes["pail_carried"], run=line.name
        )
    line.tested = True


def _empty_bucket(book: Book, line: Line, volume: float) -> None:
    detail = Drain(source="bucket", to="lawn", volume=volume)
    book.do(detail, "wall", book.minutes["bucket_emptied"], run=line.name)


def _sprays(book: Book, line: Line, feed: str) -> Iterator[tuple[Spray, Expect | None]]:
    """The sprays of a line's first test: its volume, the height of its jet, a bucket, each with what is read by it.

    Runs sprayed at the same time give what is planned only together: alone their flow is not read.
    """
    plan = line.plan
    joint = next((one for one in plan.joints if one.kind == "gauge"), None)
    alone = not plan.input.same_time
    gauge = about("gauge_open", "pa", joint.open) if joint is not None and alone and joint.open > 0.0 else None
    yield _spray(line, line.volume, "ground", "line"), gauge if book.second is not None else None
    thrown = 0.0
    if alone and plan.needed is not None and plan.needed > _LOW_TARGET and plan.reach is not None:
        reach = plan.reach
        high = max(reach.high, plan.needed)
        throw = Expect(what="throw", unit="m", value=reach.nominal, low=plan.needed, high=high)
        thrown = _THROW * line.flow
        yield _spray(line, thrown, "ground", "test"), throw
    if alone and plan.input.tip.pattern != "surface_cleaner":
        room = PAIL / OVER - line.volume - thrown if feed.startswith("pail") else inf
        sizes = [one for one in _buckets(book) if one <= room] or [_buckets(book)[-1]]
        size = next((one for one in sizes if one <= _LONGEST_BUCKET * line.flow * (1.0 + _NOISE)), sizes[-1])
        yield _spray(line, size, "bucket", "test"), about("bucket", "s", size / line.flow)


def _spray(line: Line, volume: float, onto: str, use: str) -> Spray:
    return Spray(run=line.name, seconds=volume / line.flow, volume=volume, onto=onto, use=use)  # type: ignore[arg-type]


def _buckets(book: Book) -> tuple[float, ...]:
    return _BUCKETS_SI if book.job.company.units == "si" else _BUCKETS


def _primes(line: Line) -> float:
    """What pump and suction hold [m3], which a pail has to have."""
    pump = line.plan.input.pump
    return pump.wetted_volume * 2.0 if pump is not None else 0.0


def _mains(book: Book, line: Line) -> bool:
    """Whether its pump hangs on a cord of mains voltage."""
    power = plan_power(book.job, (line.plan,), (), ())
    motor = power.motor(line.pump) if power is not None and line.pump is not None else None
    return motor is not None and not motor.direct


# ---------------------------------------------------------------------------------------------------- where water is


def test_feed(book: Book, line: Line) -> str | None:
    """Where a line's clean water comes from, a new pail's name where it is one; None: its suction gets to none.

    One that sprays tankfuls draws the rig's water where it gets there, a pail's where it stood in acid, and its own
    tank's where nothing else and nothing is in that.
    """
    run = line.plan.input
    if not run.premix:
        return book.water_feed(line)
    own, tank = run.feed_tank, water_tank(book.job)
    draws = getattr(run.pump, "draws", None)
    if kept_for_acid(book, line):
        return book.pail()
    if tank is not None and (draws is None or tank.name in draws):
        return tank.name
    if draws is None:
        return book.pail()
    stands = {*book.asked.found.tanks, *book.asked.found.overnight}
    used = any(isinstance(one.detail, Fill) and own is not None and one.detail.into == own.name for one in book.drafts)
    return own.name if own is not None and own.name not in stands and not used else None


def kept_for_acid(book: Book, line: Line) -> bool:
    """Whether a line's suction stands in acid: its pump is kept for one, or its mixes are."""
    pump = line.plan.input.pump
    kept = chemical_named(pump.dedicated) if pump is not None and pump.dedicated else None
    mixed = any(mix.run.name == line.name and mix.chemical in ACIDS for mix in book.asked.mixes)
    return mixed or (kept is not None and kept.name in ACIDS)


def _plain(book: Book, line: Line, feed: str) -> bool:
    """Whether a feed has water of its own; else it is the run's mix tank, filled for the test."""
    own = line.plan.input.feed_tank
    return not line.plan.input.premix or own is None or feed != own.name


def fill(book: Book, into: str, volume: float, at: At, *, run: str | None = None, who: Who = "lead",
         phase: Phase | None = None) -> Draft:  # fmt: skip
    """Water into a vessel, from the tap where there is one, else from the rig's; nobody else draws on a tap then."""
    source = (book.outside() if has_tap(book.job) else None) or book.source()
    wait_for(book, source)
    if who == "second" and book.second is not None:
        book.second.now = max(book.second.now, book.lead.now)
    return book.do(
        Fill(into=into, source=source, volume=volume), at, volume / pour_flow(book.job), run=run, who=who, phase=phase
    )


def wait_for(book: Book, source: str) -> None:
    """The lead waits until what a tap or hydrant gives to beds and tanks has ended."""
    if source in ("tap", "hydrant"):
        running = (
            one.end for one in book.drafts if isinstance(one.detail, Fill | WaterBed) and one.detail.source == source
        )
        book.wait_until(max(running, default=book.lead.now))


def in_the_way(book: Book, line: Line) -> list[Line]:
    """Joined lines that hold a hose, or but for runs of the same time the pump, that this one takes."""
    mine = {hose.name for hose in line.plan.input.hoses}
    found = []
    for other in book.lines.values():
        if other is line or not other.joined or other.name in line.plan.input.same_time:
            continue
        hoses = mine & {hose.name for hose in other.plan.input.hoses}
        if hoses or (line.pump is not None and line.pump == other.pump):
            found.append(other)
    return found


def take_off(book: Book, line: Line) -> None:
    """A line shut, without power and pressure, and taken apart, so that another can have its hoses or pump."""
    if not line.joined:
        return
    book.phase = "wash"
    book.shut(line)
    book.power(line, on=False)
    book.do(Relieve(run=line.name), "wall", book.minutes["relieve"], run=line.name)
    book.do(Parting(run=line.name), "reel", book.minutes["part"], run=line.name)
    line.joined = line.primed = line.stock = False
    line.feed, line.power_stop, line.mix_stop = "", None, None
