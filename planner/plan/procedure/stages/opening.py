"""The opening of a job: the walk round, what is looked at and covered, the lines laid out and tried with clean water.

Each line is tried once: primed and asked about before its pump has power, sprayed until it is full of water, its
bucket timed, its gauge read.  A line that comes back only joins again.  It ends full of water, power off, gun shut.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import inf

from planner.inputs.joined import Role
from planner.inputs.tables.chemicals import ACIDS, BLEACH
from planner.inputs.tables.defaults import default
from planner.physics.tanks import depth_of
from planner.plan.mix.model import Look
from planner.plan.mix.pouring import tank_volumes
from planner.plan.procedure.acts import (
    At,
    ChangeTip,
    Detail,
    DrawFrom,
    Expect,
    Join,
    Mark,
    Parting,
    Power,
    Prime,
    Relieve,
    SetDosing,
    Spray,
    Tap,
    WaterBed,
    Who,
)
from planner.plan.procedure.book import PAIL, Book, Draft, Line, about
from planner.plan.procedure.hands.pails import stands_in
from planner.plan.procedure.hands.sections import shares_gear
from planner.plan.procedure.hands.water import fill, test_feed, wait_for
from planner.plan.procedure.stages.trial import primes, sprays, strip, try_line, try_together
from planner.plan.procedure.state import hoses_of, strange_parts, untold
from planner.plan.road.power import plan_power
from planner.plan.water.tap import usual_flow

# ---------------------------------------------------------------------------------------------------- the walk round


def arrive(book: Book) -> None:
    """The walk round, the customer, the photographs; covers by whoever is free first, with two the second.

    The walk round takes what the lead's other acts leave of the whole phase.
    """
    book.phase = "walk"
    took = book.minutes["customer"] + book.minutes["photographs"]
    covers = list(_covers(book))
    if book.second is None:
        took += sum(_cover_seconds(book, key) for key in covers)
        took += book.minutes["vents_shut"] if book.asked.mixes else 0.0
    walk = max(book.minutes["walk_round"], book.minutes["walk"] - took)
    book.do(Mark(verb="look", what="walk_round"), "grounds", walk)
    book.mark(Mark(verb="ask", what="customer"), "grounds")
    book.mark(Mark(verb="write", what="photographs"), "grounds")
    for key in covers:
        book.do(Mark(verb="cover", what=key), "grounds", _cover_seconds(book, key), who=_free_first(book))
        book.covered.append(key)
    if book.asked.mixes:
        book.mark(Mark(verb="look", what="vents_shut"), "grounds", who=_free_first(book))


def _free_first(book: Book) -> Who:
    return "second" if book.second is not None and book.second.now <= book.lead.now else "lead"


def _covers(book: Book) -> Iterator[str]:
    """What this job has covered, by key."""
    near = book.job.job.near
    kinds = near.control or () if near is not None else ()
    if near is not None and (near.storm_drain is not None or kinds):
        # Berms, pumps and whatever else keeps the runoff from where it may not go.
        yield "drains_covered"
    if near is not None and near.downspouts and book.asked.mixes:
        yield "downspouts_bagged"
    if any(part.surface.trim for mix in book.asked.mixes for part in mix.parts):
        yield "fittings_taped"


def _cover_seconds(book: Book, key: str) -> float:
    """How long a cover takes [s]: each thing that is built against runoff as long as a drain cover."""
    near = book.job.job.near
    kinds = near.control or () if near is not None and key == "drains_covered" else ()
    return book.minutes[key] * max(len(kinds), 1)


# ---------------------------------------------------------------------------------------------------- before work


def before_work(book: Book, lines: Sequence[Line]) -> None:
    """What is looked at before anything is filled, the beds' first water, and the hoses laid out.

    `lines` are set up next, as far as they do not share hoses: laying out takes what their set-up and test leave of
    the whole phase's minutes.
    """
    book.phase = "set_up"
    begun = book.lead.now
    if book.own_fill is not None:
        book.own_fill.open(book)
    if book.second is not None:
        book.second.now = max(book.second.now, begun)
        water_beds(book)
    for look in book.asked.looks:
        _look(book, look)
    for name in untold(book.asked):
        book.do(Mark(verb="look", what=f"dry {name}"), "rig", book.minutes["dry"])
    for name in _mix_tanks(book):
        held = book.asked.found.tanks.get(name)
        if held is not None and held.volume > 0.0:
            if held.of:
                book.mark(Mark(verb="look", what=f"heel {name}"), "rig", key="dry")
            _dip(book, name, held.volume)
    hoses = book.do(Mark(verb="lay_out", what="hoses"), "rig", book.minutes["hoses"])
    roof = any(work.surface.row["family"] == "roof" for work in book.asked.work)
    acid = any(mix.chemical in ACIDS for mix in book.asked.mixes)
    whole = book.minutes["set_up"]
    whole += (book.minutes["set_up_roof"] if roof else 0.0) + (book.minutes["set_up_acid"] if acid else 0.0)
    for _ in range(9):
        # Where somebody waits for the beds, what is laid out longer is waited less: tried again until nothing is left.
        left = begun + whole - _tried(book, lines)
        if left <= 1e-9:
            break
        waits = book.second is not None and book.second.now > book.lead.now
        hoses.lasts += left
        book.lead.now += left
        if not waits:
            break


def _tried(book: Book, lines: Sequence[Line]) -> float:
    """When the lead would be done with these lines' set-up and test, in a copy of the book."""
    second = replace(book.second) if book.second is not None else None
    own = {name: replace(line) for name, line in book.lines.items()}
    copy = replace(
        book, drafts=list(book.drafts), lead=replace(book.lead), second=second, lines=own, suctions=dict(book.suctions)
    )
    if book.own_fill is not None:
        copy.own_fill = replace(book.own_fill)
    for line in (own[one.name] for one in lines):
        if not any(other.joined and shares_gear(line, other) for other in own.values()):
            set_up(copy, line)
    return copy.lead.now


def _look(book: Book, look: Look) -> None:
    """One thing nobody knows, found out at the rig; what may be left in a line is read at its test."""
    if look.what == "stick":
        _dip(book, look.place, look.volume or 0.0, least=0.0, why="mix.heel")
    if look.what == "gainsaid":
        bleach = look.chemical in ("", BLEACH)
        book.read(strip(book, "residual") if bleach else _strip_ph(book), "rig", book.minutes["strip"], why="mix.heel")
    tanks = {"dry": [look.place], "stick": [look.place], "gainsaid": [look.place], "undated": _mix_tanks(book)}
    for name in dict.fromkeys(tanks.get(look.what, [])):
        # What the page says stands in a tank is no reason to call it empty.
        if name not in book.asked.found.tanks:
            why = "mix.heel" if look.what in ("stick", "gainsaid") else None
            book.do(Mark(verb="look", what=f"dry {name}"), "rig", book.minutes["dry"], why=why)


def _mix_tanks(book: Book) -> list[str]:
    """The tanks this job mixes in, each once."""
    tanks = [mix.run.feed_tank for mix in book.asked.mixes if mix.kind == "premix"]
    return list(dict.fromkeys(tank.name for tank in tanks if tank is not None))


def _dip(book: Book, name: str, volume: float, *, least: float | None = None, why: str | None = None) -> None:
    """The stick read in a tank that should hold `volume` [m3]; nothing where the tank has no shape."""
    tank = next((tank for tank in book.job.rig.tanks if tank.name == name), None)
    depth = depth_of(tank_volumes(tank), volume) if tank is not None else None
    if depth is not None:
        expect = about("dip", "m", depth)
        book.read(expect if least is None else replace(expect, low=least), "rig", book.minutes["dip"], why=why)


def _strip_ph(book: Book) -> Expect:
    low, high = book.job.limits["strip_low"], book.job.limits["strip_high"]
    return Expect(what="strip_ph", unit="ph", value=(low + high) / 2.0, low=low, high=high)


def water_beds(book: Book) -> Draft | None:
    """The beds' first water, given once; who is asked again gets the act there is. None without beds."""
    given = next((draft for draft in book.drafts if isinstance(draft.detail, WaterBed)), None)
    beds = book.asked.beds
    if given is not None or beds is None or beds.before <= 0.0:
        return given
    detail = WaterBed(bed="flower_beds", source=book.outside() or book.source(), volume=beds.before)
    if book.second is None:
        wait_for(book, detail.source)
    return book.do(detail, "grounds", beds.before / (book.tap or usual_flow(book.job)), who="second")


# ---------------------------------------------------------------------------------------------------- a line


def set_up(book: Book, line: Line) -> None:
    """A line joined, primed and, the first time, tried with clean water; what it shares gear with is taken off.

    The lead lays it out and joins it; one that joins again is the second's, while he waits where he is.
    """
    for other in book.lines.values():
        if other.joined and shares_gear(line, other):
            take_off(book, other)
    book.phase = "set_up"
    _at_the_rig(book, line, Join(run=line.name), "join")
    line.joined, line.tip = True, "tip"
    if line.plan.input.dosing is not None:
        _at_the_rig(book, line, SetDosing(run=line.name, to="water"), "set_dosing")
        line.stock = False
    if not line.tested and strange(book, line):
        # What a job nobody can vouch for left in a line comes out with its first water.
        book.read(strip(book, "residual"), "wall", book.minutes["strip"], run=line.name, why="mix.reaction")
    feed = test_feed(book, line)
    if feed is None:
        return
    steps = [] if line.tested else list(sprays(book, line, feed))
    needed = sum(step.volume for step, _ in steps) * default("drawn_over") + primes(line)
    holds = inf
    who: Who = "second" if line.tested else "lead"
    if feed.startswith("pail "):
        holds = min(needed, PAIL)
        stands = stands_in(book, feed)
        if holds > stands:
            fill(book, feed, holds - stands, "rig", run=line.name, who=who)
    elif line.plan.input.premix and line.plan.input.feed_tank is not None and feed == line.plan.input.feed_tank.name:
        tank = line.plan.input.feed_tank
        fill(book, feed, min(tank.dead_volume + needed, tank.volume), "rig", run=line.name, who=who)
    _at_the_rig(book, line, DrawFrom(run=line.name, feed=feed), "draw_from")
    line.feed, line.stock = feed, False
    make_ready(book, line)
    others = [book.lines[name] for name in line.plan.input.same_time if name in book.lines]
    if steps and others:
        # Sprayed at once they give what is planned only together; two people have two guns.
        if len(others) == 1 and others[0].joined and others[0].feed and not others[0].tested:
            try_together(book, line, others[0])
    elif steps:
        try_line(book, line, steps, holds)


def strange(book: Book, line: Line) -> bool:
    """Whether nobody knows what is left in a line, or in any."""
    looks = any(look.what in ("strip", "undated") for look in book.asked.looks)
    return looks or bool(strange_parts(book.asked, line.plan))


def _at_the_rig(book: Book, line: Line, detail: Detail, key: str) -> None:
    """Something of a line's set-up."""
    do = book.call if line.tested else book.do
    do(detail, "rig", book.minutes[key], run=line.name)


def make_ready(book: Book, line: Line) -> None:
    """Its pump primed from where the suction is; breaker and gun looked at; the stop point before it has power.

    Without a pump it is the tap's own water that it guards.
    """
    wall: At = "wall" if book.second is not None else "rig"
    asks = []
    if line.pump is not None:
        _at_the_rig(book, line, Prime(run=line.name), "prime")
        line.primed = True
        if _mains(book, line):
            asks.append(f"breaker {line.name}")
            _at_the_rig(book, line, Mark(verb="look", what=asks[0]), "breaker")
        asks.append("primed")
    if line.pump is None and not book.asked.mixes:
        asks.append("people_clear")
        book.mark(Mark(verb="look", what=asks[-1]), wall, run=line.name)
    asks.append(f"gun {line.name}")
    if book.second is not None:
        # Whoever switches has to be there, and the beds have the tap: a stop point stands right before what it guards.
        book.wait_until(book.second.now)
    book.mark(Mark(verb="look", what=asks[-1]), wall, run=line.name)
    line.power_stop = book.stop("power", line.name, asks, wall)
    if line.pump is None:
        book.call(Tap(run=line.name, on=True), "rig", book.minutes["tap"], run=line.name, stop=line.power_stop)
    line.running = line.feed in ("tap", "hydrant") or line.pump is None


def _mains(book: Book, line: Line) -> bool:
    """Whether its pump hangs on a cord of mains voltage."""
    if line.name not in book.mains:
        power = plan_power(book.job, (line.plan,), {})
        motor = power.motor(line.pump) if power is not None and line.pump is not None else None
        book.mains[line.name] = motor is not None and not motor.direct
    return book.mains[line.name]


def take_off(book: Book, line: Line) -> None:
    """A line shut, without power and pressure, and taken apart, so that another can have its hoses or pump."""
    if not line.joined:
        return
    if book.phase not in ("set_up", "test"):
        book.phase = "wash"
    book.shut(line)
    book.power(line, on=False)
    relieve(book, line)
    book.do(Parting(run=line.name), "reel", book.minutes["part"], run=line.name)
    line.joined = line.primed = line.stock = line.running = False
    line.feed, line.power_stop = "", None


def change_tip(book: Book, line: Line, role: Role) -> None:
    """Another tip on its gun: shut, without power, the pressure let out there. Its pump stays off until it is opened.

    A tap that feeds it is opened again at once.
    """
    if line.tip == role:
        return
    running = line.running
    book.shut(line)
    book.power(line, on=False)
    relieve(book, line)
    now, then = (list(hoses_of(line.plan, book.asked.runs, one)) for one in (line.tip, role))
    stay = next((n for n, pair in enumerate(zip(now, then, strict=False)) if pair[0] != pair[1]), None)
    stay = min(len(now), len(then)) if stay is None else stay
    change = ChangeTip(
        run=line.name, role=role, tip=line.plan.input.tips[role].name, off=tuple(now[stay:]), on=tuple(then[stay:])
    )
    book.do(change, "wall", book.tip_seconds(line, line.tip, role), run=line.name)
    line.tip = role
    if running:
        book.call(Tap(run=line.name, on=True), "rig", book.minutes["tap"], run=line.name, stop=line.power_stop)
        line.running = True


def relieve(book: Book, line: Line) -> None:
    """Its pressure let out, unless that was done since there was any."""
    for draft in reversed(book.drafts):
        match draft.detail:
            case Relieve(run=run) if run == line.name:
                return
            case Spray(run=run) if run == line.name:
                break
            case Power(pump=pump, on=True) if pump == line.pump:
                break
            case Prime(run=run) | Tap(run=run, on=True) if run == line.name and line.running:
                break
            case _:
                pass
    book.tap_off(line)
    book.do(Relieve(run=line.name), "wall", book.minutes["relieve"], run=line.name)
