"""Days drawn at random: nothing that must not meet does, unless the job is held or a planned flush lies between.

What happens is told by a simulation of its own: it walks the jobs, remembers what each tank, line, pump and site has
seen, and asks a list of forbidden pairs written down by hand.  Of the plan it takes only which flushes are planned, between mixes and at a job's end; of the
checks nothing.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from random import Random

import pytest

from planner.checks.flush import flush_needed
from planner.checks.meeting import mix_reaction
from planner.checks.mix import mix_heel, mix_reach
from planner.inputs.joined import ChemicalInput, JobInput, RunInput, Surface
from planner.inputs.models.day import Heel
from planner.plan.between.heels import next_morning
from planner.plan.between.model import ChangeFlush
from planner.plan.make import make_plan
from planner.plan.mix.model import Carried, FlushPlan
from planner.plan.model import JobPlan
from tests import workspaces

FORBIDDEN = {
    frozenset(pair.split())
    for pair in (
        "hypochlorite muriatic", "hypochlorite oxalic", "hypochlorite percarbonate", "hypochlorite sulfite",
        "muriatic caustic", "muriatic percarbonate", "muriatic sulfite", "oxalic caustic", "oxalic percarbonate",
        "oxalic sulfite", "percarbonate sulfite",
    )
}  # fmt: skip
"""What must not meet among the chemicals drawn here, by the contract's page of reactions."""
ACID = {"muriatic", "oxalic"}
STRENGTHS = {
    "hypochlorite": "1 %", "muriatic": "1:10", "oxalic": "40 g/L", "caustic": "20 g/L", "percarbonate": "60 g/L",
    "sulfite": "20 g/L", "bicarbonate": "50 g/L",
}  # fmt: skip
KINDS = {"wall": "brick", "deck": "bare_wood", "drive": "concrete", "siding": "vinyl"}
POROUS = {"wall", "deck", "drive"}
MIXING = {"mix", "bucket"}
"""Tanks for whatever is mixed: what they held last, nobody knows unless it is said."""
KEPT = {"tub": "muriatic"}
PLACES = {
    1: ("1 Case Street", "1, case st.", "One Case St, Fernhill", "Unit 2, 1 Case Street", "1 Case Street #4"),
    2: ("2 North Case Ave", "2 N. Case Avenue", "2 n case av, apt 3"),
    3: ("3 Mill Rd", "3 MILL ROAD"),
    4: ("3 Mill Ct", "3 Mill Court, Fernhill"),
    5: ("41 Case Street",),
    6: ("60 Case Street",),
    7: ("12 Alder Lane", "12 alder ln"),
    8: ("14 Alder Lane", "14, Alder Ln."),
}
"""Sites, each in spellings that mean it; some of them are neighbors, or all but one letter another."""
ADDRESSES = {spelled: place for place, spellings in PLACES.items() for spelled in spellings}


@dataclass(frozen=True)
class Gear:
    """One way to spray: where the mix is made, where plain water comes from, and every part the mix runs through.

    `bare` are the parts that nothing but water runs through.
    """

    keys: Mapping[str, object]
    tank: str | None
    water: str | None
    parts: tuple[str, ...]
    pump: str | None
    bare: tuple[str, ...] = ()

    @property
    def plain(self) -> bool:
        return self.tank is None and not self.parts


def _gear(feed: str, hose: str, pump: str, dosing: str | None) -> Gear:
    keys: dict[str, object] = {"feed": feed, "hoses": [hose], "pump": pump}
    if dosing is None:
        return Gear(keys=keys, tank=None, water=feed, parts=(), pump=None, bare=(pump, hose))
    keys["dosing"] = dosing
    if dosing == "premix":
        return Gear(keys=keys, tank=feed, water=None, parts=(pump, hose), pump=pump)
    if dosing == "venturi":
        return Gear(keys=keys, tank=None, water=feed, parts=("venturi", hose), pump=None, bare=(pump,))
    return Gear(keys=keys, tank=None, water=feed, parts=(pump, dosing, hose), pump=pump)


GEAR = (
    _gear("water", "red", "booster", "panel"),
    _gear("mix", "red", "booster", "premix"),
    _gear("mix", "blue", "transfer", "premix"),
    _gear("bucket", "grey", "transfer", "premix"),
    _gear("bucket", "grey", "acid pump", "premix"),
    _gear("water", "blue", "washer", "venturi"),
    _gear("water", "red", "booster", None),
    _gear("mix", "red", "booster", None),
    _gear("water", "blue", "transfer", None),
    _gear("water", "grey", "washer", None),
    _gear("water", "grey", "booster", "venturi"),
    _gear("mix", "red", "booster", "panel"),
    _gear("tub", "blue", "transfer", None),
    _gear("tub", "grey", "acid pump", "premix"),
)


@dataclass
class World:
    """What the simulation remembers: chemicals in tanks, last through each part, through each pump, on each site."""

    tanks: dict[str, str] = field(default_factory=dict)
    parts: dict[str, str] = field(default_factory=dict)
    bleached: set[str] = field(default_factory=set)
    sites: dict[int, set[str]] = field(default_factory=dict)
    unflushed: set[str] = field(default_factory=set)
    pores: dict[int, set[tuple[str, str]]] = field(default_factory=dict)
    bleach_tanks: frozenset[str] = frozenset()

    def night(self, spoken: Mapping[str, str], dirty: set[str]) -> World:
        """The morning after: tanks stand as they were where the day does not speak of them, and so do lines.

        `dirty` are those that were not flushed after all. Runoff is gone, pores keep what they took up.
        """
        return World(
            tanks={**self.tanks, **spoken},
            parts=dict(self.parts),
            bleached=set(self.bleached),
            unflushed=self.unflushed | dirty,
            pores={place: set(kept) for place, kept in self.pores.items()},
            bleach_tanks=self.bleach_tanks,
        )


@dataclass(frozen=True)
class Drawn:
    """A job drawn: the gear of each run with the surface it washes, and what goes on each surface."""

    runs: tuple[tuple[Gear, str], ...]
    on: Mapping[str, str]
    address: str

    def sprays(self) -> Iterator[tuple[Gear, str]]:
        for gear, surface in self.runs:
            if not gear.plain:
                yield gear, self.on[surface]


def _bad(one: str, other: str) -> bool:
    return frozenset((one, other)) in FORBIDDEN


def meets_badly(job: Drawn, world: World, changes: Sequence[ChangeFlush]) -> bool:
    """Whether, done as written with the flushes planned after each job, this job brings together what may not meet."""
    put = [chemical for _, chemical in job.sprays()]
    if any(_bad(one, other) for one in put for other in put):
        return True
    place = ADDRESSES[job.address]
    there, pores = world.sites.get(place, set()), world.pores.get(place, set())
    if any(_bad(one, other) for one in put for other in there):
        return True
    onto = {(surface, job.on[surface]) for gear, surface in job.runs if not gear.plain}
    if any(wall == surface and _bad(one, other) for wall, one in pores for surface, other in onto):
        return True
    tanks, unflushed = dict(world.tanks), set(world.unflushed)
    soaked = world.bleached | {gear.pump for gear, _ in job.runs if gear.tank in world.bleach_tanks}
    waters = [change for change in changes if change.comes == "water"]
    # A flush is worked out for what stood there: a tank kept for acid that had something else in it is no water tank.
    rinsed = {
        part.part for change in waters for part in change.parts if KEPT.get(part.part, part.leaves) == part.leaves
    }
    for change in waters:
        tanks.update(dict.fromkeys(_washed(change), "water"))
        unflushed -= _washed(change)
    mixed = {gear.tank for gear, _ in job.runs if gear.tank is not None}
    # What is sprayed from a tank is mixed, wetted and rinsed with the water the rig has.
    own = next((gear.water for gear, _ in job.runs if gear.water is not None), "water")
    if mixed and own not in mixed and tanks.get(own, "water") != "water":
        return True
    for gear, surface in job.runs:
        upon = {*put, *there, *(chemical for wall, chemical in pores if wall == surface)}
        if any(part in unflushed and _bad(world.parts[part], one) for part in gear.bare for one in upon):
            return True
        if gear.water is not None and (gear.water in mixed or not _gives_water(gear.water, tanks, rinsed)):
            return True
    for gear, surface in job.runs:
        for change in changes:
            if change.run == run_name(gear, surface) and change.comes != "water":
                tanks.update({part: "water" for part in _washed(change) if part in tanks})
                unflushed -= _washed(change)
        if gear.plain:
            continue
        chemical = job.on[surface]
        if gear.tank is not None:
            if KEPT.get(gear.tank, chemical) != chemical:
                return True
            if _bad(tanks.get(gear.tank, "water"), chemical):
                return True
            tanks[gear.tank] = chemical
        if chemical in ACID and gear.pump in soaked:
            return True
        if any(part in unflushed and _bad(world.parts[part], chemical) for part in gear.parts):
            return True
    return False


def _gives_water(tank: str, tanks: Mapping[str, str], rinsed: set[str]) -> bool:
    """Whether plain water comes out of a tank: nobody put anything else in, or a flush took it out."""
    if tank in MIXING:
        return tanks.get(tank) == "water"
    return tanks.get(tank, "water") == "water" and (tank not in KEPT or tank in rinsed)


def run_name(gear: Gear, surface: str) -> str:
    return f"{GEAR.index(gear)} {surface}"


def _washed(change: ChangeFlush) -> set[str]:
    """What a flush between two chemistries gets clean."""
    return {part.part for part in change.parts if part.volume is not None}


def done(job: Drawn, world: World, changes: Sequence[ChangeFlush], flushes: Sequence[FlushPlan]) -> None:
    """The world after the job and the flushes it ends with: what runs along a line is told by the gear, not the plan."""
    tanks = {gear.tank for gear in GEAR} | {gear.water for gear in GEAR}
    for change in changes:
        world.unflushed -= _washed(change)
        world.tanks.update({part: "water" for part in _washed(change) if part in tanks})
    through = {flush.run for flush in flushes if flush.volume is not None}
    for gear, _ in job.runs:
        world.unflushed |= set(gear.parts)
    for gear, surface in job.runs:
        if run_name(gear, surface) in through:
            # A line of plain water flushes what it has in common with the line that sprayed the mix.
            world.unflushed -= {*gear.parts, *gear.bare}
    place = ADDRESSES[job.address]
    for gear, surface in job.runs:
        if not gear.plain and surface in POROUS:
            world.pores.setdefault(place, set()).add((surface, job.on[surface]))
    for gear, chemical in job.sprays():
        if gear.tank is not None:
            world.tanks[gear.tank] = chemical
        world.parts.update(dict.fromkeys(gear.parts, chemical))
        if gear.pump is not None and (chemical == "hypochlorite" or gear.tank in world.bleach_tanks):
            world.bleached.add(gear.pump)
        world.sites.setdefault(place, set()).add(chemical)


@dataclass(frozen=True)
class Pool:
    """Joined pieces to make jobs of: a job with every run, its plan, and each chemical on each surface."""

    job: JobInput
    plan: JobPlan
    surfaces: Mapping[tuple[str, str], Surface]
    uses: Mapping[str, ChemicalInput]


@pytest.fixture(scope="module")
def pool(tmp_path_factory: pytest.TempPathFactory) -> Pool:
    surfaces: dict[tuple[str, str], Surface] = {}
    uses: dict[str, ChemicalInput] = {}
    whole: JobInput | None = None
    for chemical, strength in STRENGTHS.items():
        read = workspaces.loaded(tmp_path_factory.mktemp(chemical), _files(chemical, strength))
        assert not read.faults, "\n".join(str(fault) for fault in read.faults)
        whole = whole or read.jobs[0]
        surfaces.update({(one.name, chemical): one for one in read.jobs[0].surfaces})
        uses[chemical] = read.jobs[0].chemicals[0]
    assert whole is not None
    return Pool(job=whole, plan=make_plan(whole, tables=False), surfaces=surfaces, uses=uses)


def _files(chemical: str, strength: str) -> dict[str, object]:
    files = workspaces.base()
    files["rig"]["tanks"] += [
        {"name": "bucket", "volume": "20 gal", "floor": "0 ft", "holds": "mix"},
        {"name": "tub", "volume": "20 gal", "floor": "0 ft", "dead_volume": "0.5 gal", "holds": "muriatic"},
    ]
    files["rig"]["pumps"].append({**files["rig"]["pumps"][2], "name": "acid pump"})
    files["rig"]["hoses"] += [{"name": name, "bore": "1/2 in", "length": "50 ft"} for name in ("blue", "grey")]
    files["stock"]["lots"] += [
        {"name": "lye", "chemical": "caustic", "strength": "300 g/L", "on_hand": "50 gal"},
        *(
            {"name": name, "chemical": name, "on_hand": "200 lb"}
            for name in ("oxalic", "percarbonate", "sulfite", "bicarbonate")
        ),
    ]
    job = files["job"]
    job["surfaces"] = [{"name": name, "kind": kind, "area": "200 ft2"} for name, kind in KINDS.items()]
    job["chemicals"] = [{"stock": chemical, "strength": strength}]
    first = job["hose_runs"][0]
    job["hose_runs"] = [
        {**first, **gear.keys, "name": f"{number} {surface}", "surfaces": [surface]}
        for number, gear in enumerate(GEAR)
        for surface in KINDS
    ]
    plain: dict[str, object] = json.loads(json.dumps(files))  # rows are shared, and our reader takes no aliases
    return plain


def _draw(random: Random) -> Drawn:
    count = random.choice((1, 1, 2, 2, 3))
    chosen = random.sample([(gear, surface) for gear in GEAR for surface in KINDS], count)
    # Bleach and acid come more often than the rest: theirs is the pair that one trailer really carries.
    few = random.choices(list(STRENGTHS), weights=(5, 4, 2, 1, 1, 1, 1), k=random.choice((1, 1, 1, 2)))
    return Drawn(
        runs=tuple(chosen),
        on={surface: random.choice(few) for surface in KINDS},
        address=random.choice(list(ADDRESSES)),
    )


def _joined(pool: Pool, drawn: Drawn, number: int) -> JobInput:
    names = [run_name(gear, surface) for gear, surface in drawn.runs]
    by_name = {run.name: run for run in pool.job.runs}
    used = {surface for gear, surface in drawn.runs}
    return replace(
        pool.job,
        id=f"2026-06-09/{number}-drawn",
        title=f"job {number}",
        job=pool.job.job.model_copy(update={"site": pool.job.job.site.model_copy(update={"address": drawn.address})}),
        runs=tuple(by_name[name] for name in names),
        surfaces=tuple(pool.surfaces[name, drawn.on[name]] for name in KINDS if name in used),
        chemicals=tuple(
            replace(pool.uses[chemical], surfaces=tuple(name for name in used if drawn.on[name] == chemical))
            for chemical in dict.fromkeys(drawn.on[name] for name in KINDS if name in used)
        ),
    )


def _heels(random: Random) -> dict[str, Heel]:
    """What day.yaml says stands in the tanks: some, or none of it left but what stays in a drained one; or water."""
    heels = {}
    for tank in ("mix", "bucket", "tub", "water"):
        if random.random() < 0.2:
            stock = random.choice([*sorted(STRENGTHS), "water"])
            strength = "2 %" if stock == "hypochlorite" else "20 g/L"
            volume = random.choice(("0 gal", "0.5 gal", "2 gal"))
            written = {"stock": stock, "strength": strength, "volume": volume}
            heels[tank] = Heel.model_validate(written)
    return heels


def _flushed(last: Mapping[str, JobPlan], part: str) -> bool:
    """Whether the job that last used a part ends with a flush through a line it is in, and one that gets there.

    One that sent only water through it flushed it before.
    """
    plan = last[part]
    if not any(part in _line(mix.run) for mix in plan.mixes):
        return any(part in _washed(change) for change in plan.changes)
    # A line of plain water may be the one that flushes what it has in common with the one of the mix.
    runs = {run.name for run in plan.input.runs if part in _line(run)}
    washes = [flush for flush in plan.flushes if flush.run in runs]
    return bool(washes) and all(flush.volume is not None for flush in washes)


def _line(run: RunInput) -> set[str]:
    return {one.name for one in (run.pump, run.dosing, *run.hoses) if one is not None}


def _walk(pool: Pool, random: Random) -> tuple[int, int, int]:
    """One day: how many jobs, how many of them the simulation forbids, how many lines a flush kept apart."""
    heels = _heels(random)
    assert pool.job.day is not None
    pool = replace(pool, job=replace(pool.job, day=pool.job.day.model_copy(update={"heels": heels})))
    spoken = {tank: heel.stock for tank, heel in heels.items()}
    # Nobody knows which pump drew the bleach that a page says is in a tank: any that is to draw from it now.
    bleach_tanks = frozenset(tank for tank, stock in spoken.items() if stock == "hypochlorite")
    world, rig = World(bleach_tanks=bleach_tanks), Carried()
    last: dict[str, JobPlan] = {}
    counted = forbidden = kept_apart = 0
    days = random.choice(((0, 2), (0, 3), (0, 4), (1, 2), (1, 3)))
    for number in range(sum(days)):
        drawn = _draw(random)
        job = _joined(pool, drawn, number)
        if number == days[0]:
            # The day itself, after one before it or none; some line of that one may have been left as it was.
            dirty = {part for part in world.parts if random.random() < 0.3}
            world, rig = world.night(spoken, dirty), _night(job, rig, dirty)
        plan = make_plan(job, rig, tables=False, known=pool.plan.runs)
        checks = (mix_reaction, mix_heel, mix_reach, flush_needed)
        stops = [one for check in checks for one in check(plan) if one.level == "stop"]
        reacts = any(one.code == "mix.reaction" for one in stops)
        expected = meets_badly(drawn, world, plan.changes)
        story = f"{drawn}\n{world}\n{stops}"
        counted, forbidden = counted + 1, forbidden + expected
        assert not expected or reacts, story
        # On a heel of anything else the job is held for that already, and what it would then carry on is open.
        open_ = any(one.code == "mix.heel" for one in stops)
        assert open_ or not reacts or expected, story
        if stops:
            continue
        kept_apart += _kept_apart(plan, drawn, world, last, story)
        last.update({part: plan for change in plan.changes for part in _washed(change)})
        last.update({part: plan for gear, _ in drawn.sprays() for part in gear.parts})
        done(drawn, world, plan.changes, plan.flushes)
        rig = plan.left
    return counted, forbidden, kept_apart


def _night(job: JobInput, left: Carried, dirty: set[str]) -> Carried:
    """The rig the next morning, with the lines that nobody flushed."""
    night = next_morning(job, left)
    sites = tuple(replace(trace, today=False) for trace in left.sites)
    return replace(night, unflushed=night.unflushed | dirty, sites=sites)


def _kept_apart(plan: JobPlan, drawn: Drawn, world: World, last: Mapping[str, JobPlan], story: str) -> int:
    """Every part that another chemistry now comes through was flushed by the job before, and a hold point asks for it."""
    asked = {one.about for one in flush_needed(plan) if one.case in ("between", "between_water")}
    put = {chemical for _, chemical in drawn.sprays()}
    parts = {
        part for gear, chemical in drawn.sprays() for part in gear.parts if _bad(world.parts.get(part, ""), chemical)
    }
    parts |= {
        part
        for gear, _ in drawn.runs
        for part in gear.bare
        if any(_bad(world.parts.get(part, ""), chemical) for chemical in put)
    }
    own = {part for change in plan.changes for part in _washed(change)}
    for part in parts - own:
        assert part in asked, f"{part}: {story}"
        assert _flushed(last, part), f"{part}: {story}"
    return len(parts)


def _days(pool: Pool, count: int, seed: int) -> None:
    random = Random(seed)
    sums: Sequence[int] = (0, 0, 0)
    for _ in range(count):
        sums = [total + one for total, one in zip(sums, _walk(pool, random), strict=True)]
    jobs, forbidden, kept_apart = sums
    # The days drawn are no easy ones: many jobs are forbidden, many are not, and lines do change their chemistry.
    assert 0.05 * jobs < forbidden < 0.7 * jobs
    assert kept_apart > count / 100


@pytest.mark.ci
def test_what_must_not_meet_is_held_or_flushed_apart_on_any_day(pool: Pool) -> None:
    _days(pool, 30, 5)


@pytest.mark.ci
def test_what_must_not_meet_is_held_or_flushed_apart_on_two_thousand_days(pool: Pool) -> None:
    _days(pool, 2000, 6)


@pytest.mark.long
def test_what_must_not_meet_is_held_or_flushed_apart_on_very_many_days(pool: Pool) -> None:
    _days(pool, 100_000, 7)
