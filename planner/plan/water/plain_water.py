"""Water that is not only water: what a run of plain water, or the suction of any run, brings along from tank and line.

A tank that a chemical is kept or mixed in gives no plain water, nor does one nobody knows of, unless a planned flush
takes out what it held.  A line that carried a chemical takes it to every wall it wets or rinses.

A mix tank whose last tankful nobody tells is a stop as a feed; a heel is flushed first, of the job's own chemical too.
A run that sprays a tankful is wetted, rinsed and mixed with the rig's own water, so its tank is looked at with them.
`volume: 0 gal` of a chemical is what a drained tank keeps; `stock: water` with it is rinsed. Lines that carry only
water are held against every mix of the site, what its walls bore and what the site had today; a pump kept for a
chemical always held it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from planner.frozen import dataclass
from planner.inputs.joined import JobInput, RunInput
from planner.inputs.models import Tank
from planner.inputs.tables.chemicals import chemical_named
from planner.physics.hoses import area
from planner.plan.between.heels import after_mix, left_in, standing_in, water_of
from planner.plan.between.matrix import meets
from planner.plan.between.meeting import Cleared, Meeting
from planner.plan.between.sites import Around, active
from planner.plan.mix.model import Carried, MixPlan

_NOTHING: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class FoulFeed:
    """A run that takes for water what a `tank` holds: of a chemical `held`, empty where nobody knows.

    `why`: a mix of this job is made in it; it is kept for a chemical; something stands in it; or nobody knows.
    """

    run: RunInput
    tank: str
    why: Literal["mixed", "kept", "heel", "unknown"]
    held: str = ""


def kept_for(job: JobInput, tank: Tank) -> str:
    """The one thing a tank is kept for, a chemical by its name; empty where it is for water or whatever is mixed."""
    word = (tank.holds or "").casefold()
    if word in ("", "water", "mix"):
        return ""
    lot = next((lot for lot in job.lots if lot.name == tank.holds), None)
    known = chemical_named(word)
    return lot.chemical if lot is not None else known.name if known is not None else word


def foul_feeds(job: JobInput, found: Carried, washed: Cleared) -> Iterator[FoulFeed]:
    """Every run that draws plain water from a tank that does not surely give it, by the gravest reason."""
    mixed = {run.feed_tank.name for run in job.runs if run.premix and run.feed_tank is not None}
    for run in job.runs:
        tank = water_of(job, run)
        if tank is None or (run.premix and tank.name in mixed):
            continue
        out = washed.get(tank.name, _NOTHING)
        kept, stands = kept_for(job, tank), standing_in(found, tank.name, "water")
        if tank.name in mixed:
            yield FoulFeed(run=run, tank=tank.name, why="mixed")
        elif stands is not None and stands.chemical != "water" and stands.chemical not in out:
            yield FoulFeed(run=run, tank=tank.name, why="heel", held=stands.chemical)
        elif kept and kept not in out:
            yield FoulFeed(run=run, tank=tank.name, why="kept", held=kept)
        elif (tank.holds or "").casefold() == "mix" and not (stands or out or tank.name in found.water):
            yield FoulFeed(run=run, tank=tank.name, why="unknown")


def feed_meetings(around: Around, washed: Cleared) -> Iterator[Meeting]:
    """What a run takes for water out of a tank that still holds something, and every mix it then meets."""
    mixed = {run.feed_tank.name for run in around.runs if run.premix and run.feed_tank is not None}
    for run in around.runs:
        tank = around.waters.get(run.name)
        if tank is None or (run.premix and tank.name in mixed):
            continue
        for chemical, mass in _held_in(tank, around):
            for mix in around.mixes:
                # A mix of this very run meets it in the line, any other on the wall or in the runoff.
                yield Meeting(
                    kind="feed",
                    place=tank.name,
                    first=chemical,
                    second=mix.chemical,
                    answer=meets(chemical, mix.chemical),
                    first_mass=mass,
                    second_mass=active(mix),
                    mix=mix,
                    surfaces=tuple(name for name in mix.surfaces if name in run.surfaces),
                    cleared=chemical in washed.get(tank.name, _NOTHING),
                )


def _held_in(tank: Tank, around: Around) -> Iterator[tuple[str, float]]:
    """What a tank holds at any time of this job, with its active [kg]; water apart. An empty one has wet walls."""
    rig = around.found
    held: dict[str, float] = {}
    for mix in (None, *around.mixes):
        rig = rig if mix is None else after_mix(rig, mix)
        heel = rig.tanks.get(tank.name) or rig.overnight.get(tank.name)
        if heel is not None and heel.chemical != "water":
            mass = max(heel.volume, left_in(tank)) * heel.strength
            held[heel.chemical] = max(held.get(heel.chemical, 0.0), mass)
    yield from held.items()


def plain_parts(run: RunInput, mixes: Sequence[MixPlan]) -> tuple[str, ...]:
    """The parts of a run's line that carry water alone: all of it where it sprays no mix, else an injector's pump.

    So do hoses that are put on for a role.
    """
    injector = run.dosing is not None and run.dosing.kind == "injector"
    pump = [run.pump.name] if run.pump is not None else []
    put_on = [hose.name for hose in run.put_on]
    if any(mix.run.name == run.name for mix in mixes):
        return (*pump, *put_on) if injector else tuple(put_on)
    device = [run.dosing.name] if run.dosing is not None else []
    return (*pump, *device, *(hose.name for hose in run.hoses), *put_on)


def waters_through(run: RunInput, mixes: Sequence[MixPlan]) -> tuple[str, ...]:
    """The parts of a run that carry water alone, with the tank it comes out of."""
    tank = [run.feed_tank.name] if run.feed_tank is not None and not run.premix else []
    return (*tank, *plain_parts(run, mixes))


def line_meetings(around: Around, washed: Cleared) -> Iterator[Meeting]:
    """What lines of water carried before, and what it meets: the mixes of the job, and what its walls bore."""
    met: set[tuple[str, str, str]] = set()
    for run in around.runs:
        for part in plain_parts(run, around.mixes):
            kept = _dedicated(run, part)
            for first in dict.fromkeys(one for one in (around.found.parts.get(part), kept) if one is not None):
                alone = first == kept and first != around.found.parts.get(part)
                for second, mass, mix, walls in _there(run, around):
                    if (part, first, second) in met:
                        continue
                    met.add((part, first, second))
                    yield Meeting(
                        kind="rinse_kept" if alone else "rinse",
                        place=part,
                        first=first,
                        second=second,
                        answer=meets(first, second),
                        first_mass=_mass_in(run, part, first, around),
                        second_mass=mass,
                        mix=mix,
                        surfaces=walls,
                        run=run.name,
                        cleared=first in washed.get(part, _NOTHING),
                    )


def _dedicated(run: RunInput, part: str) -> str | None:
    """The chemical a pump is kept for: what it held last, nobody knows better."""
    if run.pump is None or run.pump.name != part or not run.pump.dedicated:
        return None
    known = chemical_named(run.pump.dedicated)
    return known.name if known is not None else run.pump.dedicated


def _there(
    run: RunInput, around: Around
) -> Iterator[tuple[str, float | None, MixPlan | None, tuple[str, ...]]]:  # fmt: skip
    """What the water of a run comes upon: every mix of the job, what its own walls bore, what the site had today."""
    for mix in around.mixes:
        yield mix.chemical, active(mix), mix, tuple(name for name in mix.surfaces if name in run.surfaces)
    for wall in around.walls:
        if wall.surface in run.surfaces:
            yield wall.chemical, wall.mass, None, (wall.surface,)
    for trace in around.sites:
        walls = tuple(name for name in trace.walls if name in run.surfaces)
        if trace.address == around.address and (trace.today or walls):
            yield trace.chemical, trace.mass if trace.today else None, None, walls


def _mass_in(run: RunInput, part: str, chemical: str, around: Around) -> float | None:
    """The active [kg] a part is full of, at the strongest there is of it; None where nobody knows."""
    strongest = around.strongest.get(chemical)
    if strongest is None:
        return None
    volumes = {hose.name: area(hose.bore) * hose.length for hose in (*run.hoses, *run.put_on)}
    if run.pump is not None:
        volumes[run.pump.name] = run.pump.wetted_volume
    if run.dosing is not None:
        volumes[run.dosing.name] = run.dosing.wetted_volume
    return volumes[part] * strongest
