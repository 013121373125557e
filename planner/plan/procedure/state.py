"""The rig before and after the acts: a ledger of what each vessel, hose and lot holds, played in order of time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from types import MappingProxyType
from typing import Final

from planner.frozen import dataclass
from planner.inputs.joined import HosePiece, Role
from planner.inputs.tables.chemicals import SOAP
from planner.physics.hoses import area
from planner.plan.between.changes import SOAP_DENSITY, strongest_of
from planner.plan.between.heels import standing_in
from planner.plan.mix.lots import shelf_today
from planner.plan.mix.model import MixPlan, TankHeel
from planner.plan.model import RunPlan
from planner.plan.procedure.acts import (
    Act,
    ChangeTip,
    Detail,
    Drain,
    Draw,
    DrawFrom,
    Fill,
    Held,
    Join,
    Neutralise,
    Pour,
    SetDosing,
    Spray,
    State,
    WaterBed,
)
from planner.plan.procedure.asked import Asked
from planner.plan.water.tap import water_tank

_UNKNOWN: Final = "unknown"
_DROP: Final = 1e-12  # m3; less is what sums leave over
_HAIR: Final = 1e-6  # s; what is set is set a hair before what begins at the same moment
_ENDLESS: Final = frozenset({"tap", "hydrant", "pond"})
_AIR: Final = Held(stock="air", volume=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the ledger needs of the rig: each lot's chemical and strength [kg/m3], each run's hoses [m3] in order, and
    those `on` with a role whose line is another.

    Below `trace` [kg/m3] of anything a liquid counts as water: what a flush may leave.
    """

    lots: Mapping[str, tuple[str, float]]
    hoses: Mapping[str, Mapping[str, float]]
    on: Mapping[tuple[str, Role], Mapping[str, float]] = field(default_factory=lambda: MappingProxyType({}))
    trace: float = 0.0


def known(asked: Asked) -> Known:
    """The same of a job."""
    limits = asked.job.limits
    shelf = asked.shelf or shelf_today(asked.job, asked.found.taken)
    strength = {lot.name: SOAP_DENSITY if lot.chemical == SOAP else lot.nominal or 0.0 for lot in shelf}
    return Known(
        lots=MappingProxyType({lot.name: (lot.chemical, strength[lot.name]) for lot in shelf}),
        hoses=MappingProxyType({run.name: hoses_of(run, asked.runs) for run in asked.runs}),
        on=MappingProxyType(
            {(run.name, role): hoses_of(run, asked.runs, role) for run in asked.runs for role in run.input.role_hoses}
        ),
        trace=max(limits[name] for name in ("residual", "residual_acid", "residual_soap")),
    )


def hoses_of(run: RunPlan, runs: Sequence[RunPlan], role: Role = "tip") -> dict[str, float]:
    """A run's hoses [m3] from the dosing to the tip of that role, by the name they have over all `runs`.

    A hose without a name of its own is another one on every run: the run's name goes before it where two are called so.
    """
    others = {hose.name for other in runs if other.name != run.name for hose in other.input.hoses}
    return {
        f"{run.name}: {hose.name}" if not hose.named and hose.name in others else hose.name: area(hose.bore)
        * hose.length
        for hose in run.input.hoses_on(role)
    }


def every_hose(run: RunPlan, runs: Sequence[RunPlan]) -> dict[str, float]:
    """The same with those that are only put on for a role."""
    lines = [hoses_of(run, runs, role) for role in run.input.role_hoses]
    return {name: volume for line in (hoses_of(run, runs), *lines) for name, volume in line.items()}


# ------------------------------------------------------------------------------------------------------- before


def begin(asked: Asked, acts: Sequence[Act]) -> State:
    """The rig as the job finds it: its tanks, the hoses of every run, the lots that these acts take from.

    A lot nobody counted, or that is still to be bought, is taken to hold what they take.
    """
    taken = _ever_drawn(acts)
    given = {lot.name: lot for lot in shelf_today(asked.job, asked.found.used)} if taken else {}
    lots = {}
    for name, amount in taken.items():
        lot = given.get(name)
        left = None if lot is None else lot.on_hand if lot.on_hand is not None else lot.on_hand_mass
        lots[name] = amount if left is None else left
    hoses = {
        name: _hose(asked, run, hose)
        for run in asked.runs
        for name, hose in zip(every_hose(run, asked.runs), (*run.input.hoses, *run.input.put_on), strict=True)
    }
    return State(tanks=MappingProxyType(_tanks(asked, acts)), hoses=MappingProxyType(hoses),
                 lots=MappingProxyType(lots))  # fmt: skip


def _hose(asked: Asked, run: RunPlan, hose: HosePiece) -> Held:
    """Drained, unless an earlier job left it unflushed, or nobody knows what one did."""
    chemical = asked.found.parts.get(hose.name) if hose.name in asked.found.unflushed else None
    if chemical is not None:
        return Held(stock=chemical, strength=strongest_of(asked.job, chemical))
    return Held(stock=_UNKNOWN if hose.name in strange_parts(asked, run) else "air")


def strange_parts(asked: Asked, run: RunPlan) -> frozenset[str]:
    """Hoses of a run of which nobody knows what is left in them, first thing in the day.

    Those of a day before that is not counted as done or cannot be read, and those of a line whose tank the day's page
    says something else of than was left in it.
    """
    carried, own = asked.found, run.input
    if carried.ends is not None or asked.job.kind == "yard":
        # The jobs before it today began with the same; at the bench a line is read by its own flush.
        return frozenset()
    hoses = frozenset(hose.name for hose in (*own.hoses, *own.put_on))
    before = [pending for pending in carried.pending if pending.day is not None]
    gainsaid = own.premix and own.feed_tank is not None and own.feed_tank.name in carried.gainsaid
    if gainsaid or any(pending.why == "unread" for pending in before):
        return hoses
    return hoses & {part for pending in before for _, part in pending.gear}


def _tanks(asked: Asked, acts: Sequence[Act]) -> dict[str, Held]:
    """Every tank the job touches, and its water tank; one nobody says anything of: water full, mix dry."""
    job, carried = asked.job, asked.found
    comes = {mix.run.feed_tank.name: mix.chemical for mix in reversed(asked.mixes)
             if mix.kind == "premix" and mix.run.feed_tank is not None}  # fmt: skip
    water = water_tank(job)
    plain = {run.input.feed_tank.name for run in asked.runs if run.input.feed_tank is not None and not run.input.premix}
    touched = {place for act in acts for place in _places(act.detail)} | set(comes)
    touched |= {run.input.feed_tank.name for run in asked.runs if run.input.feed_tank is not None}
    touched |= {water.name} if water is not None else set()
    tanks = {}
    for tank in job.rig.tanks:
        if tank.name not in touched:
            continue
        held = standing_in(carried, tank.name, comes.get(tank.name, "water"))
        if tank.name in carried.water:
            tanks[tank.name] = _filled(carried.water[tank.name])
        elif held is not None:
            tanks[tank.name] = _heel(held)
        else:
            dry = tank.name in comes or (tank.holds not in (None, "water") and tank.name not in plain)
            tanks[tank.name] = _AIR if dry else _filled(tank.volume)
    return tanks


def untold(asked: Asked) -> list[str]:
    """Tanks this job has its plain water from of which neither the rig nor the day's page says that they hold any.

    They are taken to be full, and looked into before that is believed. One that a run draws plain water from holds it,
    by whoever wrote that, if it is not kept for something else.
    """
    job, carried = asked.job, asked.found
    runs = [run.input for run in asked.runs]
    fed = [run.feed_tank for run in runs if run.feed_tank is not None and not run.premix]
    mixed = {run.feed_tank.name for run in runs if run.feed_tank is not None and run.premix}
    texts = {*carried.water, *carried.tanks, *carried.overnight}
    texts |= {tank.name for tank in job.rig.tanks if tank.holds == "water" or (tank.holds is None and tank in fed)}
    water = water_tank(job)
    # With a tap or hydrant only a suction or what is washed out of a tank takes the rig's own.
    own = job.water.source not in ("tap", "hydrant") or mixed or asked.changes
    names = dict.fromkeys(tank.name for tank in (*fed, *([water] if own else [])) if tank is not None)
    return [name for name in names if name not in texts | mixed]


def _filled(volume: float) -> Held:
    return Held(stock="water", volume=volume) if volume > _DROP else _AIR


def _heel(held: TankHeel) -> Held:
    if held.volume <= _DROP:
        return _AIR
    strength = held.soap * SOAP_DENSITY if held.chemical == SOAP else held.strength
    return Held(stock=held.chemical, strength=strength, volume=held.volume)


def _places(detail: Detail) -> tuple[str, ...]:
    match detail:
        case Fill(into=into, source=source):
            return into, source
        case Pour(into=into):
            return (into,)
        case Drain(source=source, to=to):
            return source, to
        case DrawFrom(feed=feed):
            return (feed,)
        case WaterBed(source=source):
            return (source,)
        case _:
            return ()


# ------------------------------------------------------------------------------------------------------- after


@dataclass(slots=True)
class _Liquid:
    """So much [m3], `kg` of each active in it; a stretch of air has `air` for its volume and nothing else."""

    volume: float = 0.0
    kg: dict[str, float] = field(default_factory=dict)
    air: float = 0.0

    def add(self, other: _Liquid) -> None:
        self.volume += other.volume
        self.air += other.air
        for name, mass in other.kg.items():
            self.kg[name] = self.kg.get(name, 0.0) + mass

    def take(self, volume: float) -> _Liquid:
        """So much out of it, as it is on average."""
        whole = self.volume + self.air
        share = min(volume / whole, 1.0) if whole > 0.0 else 0.0
        wet = share * self.volume
        part = _Liquid(wet, {name: mass * share for name, mass in self.kg.items()}, share * self.air)
        self.volume -= wet
        self.air -= part.air
        for name, mass in part.kg.items():
            self.kg[name] -= mass
        return part

    def held(self, trace: float) -> Held:
        """What it is called: the most of it, soap only where there is nothing else; all of it where it is water."""
        if self.volume <= _DROP:
            return _AIR
        strong = {name: mass / self.volume for name, mass in self.kg.items() if mass > trace * self.volume * (1 + 1e-9)}
        named = {name: one for name, one in strong.items() if name != SOAP} or strong
        if not named:
            return Held(stock="water", volume=self.volume)
        if _UNKNOWN in named:
            return Held(stock=_UNKNOWN, volume=self.volume)
        name = max(named, key=lambda one: named[one])
        return Held(stock=name, strength=named[name], volume=self.volume)


@dataclass(slots=True, kw_only=True)
class _Ledger:
    known: Known
    vessels: dict[str, _Liquid]
    hoses: dict[str, list[_Liquid]]
    lots: dict[str, float]
    feeds: dict[str, str] = field(default_factory=dict)
    draws: dict[str, tuple[Draw, ...]] = field(default_factory=dict)
    roles: dict[str, Role] = field(default_factory=dict)

    def line(self, run: str) -> Mapping[str, float]:
        """The hoses [m3] a run's water goes through with the tip that is on."""
        role = self.roles.get(run, "tip")
        return self.known.on.get((run, role), self.known.hoses.get(run, {}))

    def out_of(self, place: str, volume: float) -> _Liquid:
        """So much from a place; from where there is no end of it, water."""
        if place in self.known.lots or place in self.lots:
            self.lots[place] = self.lots.get(place, 0.0) - volume
            chemical, strength = self.known.lots.get(place, (place, 0.0))
            return _Liquid(volume, {chemical: volume * strength} if chemical != "water" else {})
        if place in _ENDLESS or place not in self.vessels:
            return _Liquid(volume)
        vessel = self.vessels[place]
        gone = vessel.take(volume)
        # More than there is is a breach: the level tells by how much.
        vessel.volume -= volume - gone.volume
        gone.volume = volume
        return gone

    def into(self, place: str, liquid: _Liquid) -> None:
        if place in self.known.lots:
            self.lots[place] = self.lots.get(place, 0.0) + liquid.volume
        elif place in self.vessels or place.startswith(("jug ", "pail ")) or place in ("bucket", "tub"):
            self.vessels.setdefault(place, _Liquid()).add(liquid)

    def play(self, detail: Detail) -> None:
        """One act's volumes; what moves nothing is passed over."""
        match detail:
            case Join(run=run) | ChangeTip(run=run):
                self.roles[run] = detail.role if isinstance(detail, ChangeTip) else "tip"
                # Of what nobody knew, a strip is read before anything is sprayed.
                for slug in (slug for name in self.line(run) for slug in self.hoses.get(name, [])):
                    slug.kg.pop(_UNKNOWN, None)
            case DrawFrom(run=run, feed=feed):
                self.feeds[run] = feed
            case SetDosing(run=run, draws=draws):
                self.draws[run] = draws
            case Fill(into=into, source=source, volume=volume):
                self.into(into, self.out_of(source, volume))
            case WaterBed(source=source, volume=volume):
                self.out_of(source, volume)
            case Pour(lot=lot, into=into, volume=volume, mass=mass):
                if mass is not None:
                    self.lots[lot] = self.lots.get(lot, 0.0) - mass
                    self.into(into, _Liquid(0.0, {self.known.lots.get(lot, (lot, 0.0))[0]: mass}))
                elif volume is not None:
                    self.into(into, self.out_of(lot, volume))
            case Drain(source=source, to=to, volume=volume):
                if source in self.hoses:
                    whole = _joined(self.hoses[source])
                    whole.air = 0.0
                    self.into(to, whole.take(volume))
                    self.hoses[source] = []
                else:
                    self.into(to, self.out_of(source, volume))
            case Neutralise(what=what, lot=lot, mass=mass):
                self.lots[lot] = self.lots.get(lot, 0.0) - mass
                if what in self.vessels:
                    self.vessels[what].kg.clear()
            case Spray():
                self.spray(detail)
            case _:
                pass

    def spray(self, spray: Spray) -> None:
        """What goes in at the dosing pushes as much out of the tip, hose after hose, nothing mixed on the way."""
        draws = self.draws.get(spray.run, ())
        rest = spray.volume * (1.0 - sum(draw.share for draw in draws))
        inside = self.out_of(self.feeds.get(spray.run, "tap"), rest)
        for draw in draws:
            inside.add(self.out_of(draw.source, spray.volume * draw.share))
        moving = [inside]
        for name, volume in self.line(spray.run).items():
            moving = self.pushed(name, volume, moving)
        self.into(spray.onto, _joined(moving))

    def pushed(self, name: str, volume: float, moving: Sequence[_Liquid]) -> list[_Liquid]:
        """What comes out of a hose of so much [m3] when the `moving` goes in."""
        slugs = self.hoses.setdefault(name, [])
        slugs.insert(0, _Liquid(air=max(volume - sum(liquid.volume + liquid.air for liquid in slugs), 0.0)))
        slugs.extend(moving)
        over = sum(liquid.volume + liquid.air for liquid in slugs) - volume
        out = []
        while over > _DROP:
            size = slugs[0].volume + slugs[0].air
            out.append(slugs.pop(0) if size <= over else slugs[0].take(over))
            over -= size
        return out


def _joined(slugs: Sequence[_Liquid]) -> _Liquid:
    whole = _Liquid()
    for liquid in slugs:
        whole.add(liquid)
    return whole


def end(before: State, acts: Sequence[Act], rig: Known) -> State:
    """The rig once the acts are done: tanks by balance, hoses air once drained, pails that still hold anything."""
    hoses = {name: volume for run in (*rig.hoses.values(), *rig.on.values()) for name, volume in run.items()}
    held = {**before.tanks, **before.pails}
    ledger = _Ledger(
        known=rig,
        vessels={name: _liquid(one, one.volume or 0.0) for name, one in held.items()},
        hoses={name: [_liquid(before.hoses[name], volume)] for name, volume in hoses.items()
               if name in before.hoses and before.hoses[name].stock != "air"},
        lots=dict(before.lots),
    )  # fmt: skip
    for act in _in_time(acts):
        ledger.play(act.detail)
    vessels = {name: liquid.held(rig.trace) for name, liquid in ledger.vessels.items()}
    left = {name: _joined(ledger.hoses.get(name, [])).held(rig.trace) for name in before.hoses}
    return State(
        tanks=MappingProxyType({name: vessels[name] for name in before.tanks}),
        hoses=MappingProxyType({name: Held(stock=one.stock, strength=one.strength) for name, one in left.items()}),
        lots=MappingProxyType(ledger.lots),
        pails=MappingProxyType({name: one for name, one in vessels.items()
                                if name not in before.tanks and one.stock != "air"}),
    )  # fmt: skip


def _liquid(held: Held, volume: float) -> _Liquid:
    plain = held.stock in ("water", "air")
    strength = 1.0 if held.stock == _UNKNOWN else held.strength
    return _Liquid(volume, {} if plain else {held.stock: strength * volume})


def _in_time(acts: Sequence[Act]) -> list[Act]:
    """What is set counts from its end, what flows from its start."""
    return sorted(acts, key=lambda act: act.end - _HAIR if isinstance(act.detail, (DrawFrom, SetDosing)) else act.start)


# ------------------------------------------------------------------------------------------------------- sums


def _moves(acts: Sequence[Act]) -> Iterator[tuple[str, float]]:
    """Each lot that is drawn from and how much of it [m3, or kg], in time; given back is below zero."""
    draws: dict[str, tuple[Draw, ...]] = {}
    for act in _in_time(acts):
        match act.detail:
            case SetDosing(run=run, draws=set_to):
                draws[run] = set_to
            case Spray(run=run, volume=volume):
                lots = [draw for draw in draws.get(run, ()) if not draw.source.startswith(("jug ", "pail "))]
                yield from ((draw.source, draw.share * volume) for draw in lots)
            case Pour(lot=lot, volume=volume, mass=mass):
                yield lot, mass if mass is not None else volume or 0.0
            case Neutralise(lot=lot, mass=mass):
                yield lot, mass
            case Drain(source=source, to=to, volume=volume) if source.startswith("jug "):
                yield to, -volume
            case _:
                pass


def drawn_by_lot(acts: Sequence[Act]) -> dict[str, float]:
    """What is poured and drawn of each lot [m3, or kg], agents too, less what a panel's jug gives back."""
    drawn: dict[str, float] = {}
    for name, amount in _moves(acts):
        if amount > 0.0 or name in drawn:
            drawn[name] = drawn.get(name, 0.0) + amount
    return drawn


def given_by_lot(acts: Sequence[Act]) -> dict[str, float]:
    """What goes of each lot [kg] into what it makes harmless."""
    given: dict[str, float] = {}
    for act in acts:
        if isinstance(act.detail, Neutralise):
            given[act.detail.lot] = given.get(act.detail.lot, 0.0) + act.detail.mass
    return given


def drawn_by_mix(mixes: Sequence[MixPlan], acts: Sequence[Act]) -> list[dict[str, float]]:
    """What each mix takes of each lot [m3], in the order of the mixes: drawn by its line, poured into its jug."""
    taken: list[dict[str, float]] = [{} for _ in mixes]
    waiting: dict[str, list[tuple[str, float]]] = {}
    draws: dict[str, tuple[Draw, ...]] = {}
    at: dict[str, int] = {}
    users = _jug_users(acts)
    for act in _in_time(acts):
        run, moved = "", []
        match act.detail:
            case SetDosing(run=of, draws=set_to):
                draws[of] = set_to
            case Spray(run=run, volume=volume):
                moved = [
                    (draw.source, draw.share * volume)
                    for draw in draws.get(run, ())
                    if not draw.source.startswith(("jug ", "pail "))
                ]
            case Pour(lot=lot, into=into, volume=volume) if into.startswith("jug ") and volume is not None:
                for other, share in users.get(into, {into[4:]: 1.0}).items():
                    waiting.setdefault(other, []).append((lot, volume * share))
            case Drain(source=source, to=to, volume=volume) if source.startswith("jug "):
                for other, share in users.get(source, {source[4:]: 1.0}).items():
                    waiting.setdefault(other, []).append((to, -volume * share))
            case _:
                continue
        waiting.setdefault(run, []).extend(moved)
        if act.section is None or not isinstance(act.detail, Spray) or act.detail.use not in ("wet", "mix"):
            continue
        for number, mix in enumerate(mixes):
            if mix.run.name == run and act.section.surface in mix.surfaces and waiting.get(run):
                at[run] = number
                for lot, volume in waiting.pop(run):
                    taken[number][lot] = taken[number].get(lot, 0.0) + volume
                break
    for run, moved in waiting.items():
        for lot, volume in moved if run in at else ():
            taken[at[run]][lot] = taken[at[run]].get(lot, 0.0) + volume
    return taken


def _jug_users(acts: Sequence[Act]) -> dict[str, dict[str, float]]:
    """By jug, the part [-] of what is drawn out of it that each run draws: two guns at once have one."""
    draws: dict[str, tuple[Draw, ...]] = {}
    drawn: dict[str, dict[str, float]] = {}
    for act in _in_time(acts):
        match act.detail:
            case SetDosing(run=run, draws=set_to):
                draws[run] = set_to
            case Spray(run=run, volume=volume):
                for draw in draws.get(run, ()):
                    if draw.source.startswith("jug "):
                        own = drawn.setdefault(draw.source, {})
                        own[run] = own.get(run, 0.0) + draw.share * volume
            case _:
                pass
    return {jug: {run: part / sum(own.values()) for run, part in own.items()} for jug, own in drawn.items()}


def _ever_drawn(acts: Sequence[Act]) -> dict[str, float]:
    """By lot, the most that is ever out of it at once [m3, or kg]."""
    out: dict[str, float] = {}
    most: dict[str, float] = {}
    for name, amount in _moves(acts):
        if amount > 0.0 or name in out:
            out[name] = out.get(name, 0.0) + amount
            most[name] = max(most.get(name, 0.0), out[name])
    return most


def water_left(state: State) -> dict[str, float]:
    """What stands in the tanks that hold plain water [m3]."""
    return {name: held.volume or 0.0 for name, held in state.tanks.items() if held.stock in ("water", "air")}
