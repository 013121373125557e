"""The whole job on one screen: a joined job in, its plan out."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf
from types import MappingProxyType

from planner import __version__
from planner.inputs.joined import JobInput, Worked
from planner.plan.between.changes import drained_neutralisers, plan_changes
from planner.plan.between.flushing import plan_flushes
from planner.plan.between.heels import as_left, drew_bleach, looks_of, tonight, with_clean_feeds
from planner.plan.between.meetings import unflushed
from planner.plan.between.neutralisers import agents_needed, once_mixed, plan_neutralisers, with_given
from planner.plan.between.runoff import ledger_of, plan_runoff
from planner.plan.between.sites import bleached, traces
from planner.plan.line.drift import plan_drift
from planner.plan.line.hydraulics import plan_runs
from planner.plan.mix.lots import shelf_today
from planner.plan.mix.mixing import plan_mixes, shared_notes
from planner.plan.mix.model import Carried, LotShare, MixPlan, SurfaceWork
from planner.plan.model import JobPlan, RunPlan
from planner.plan.procedure import levels, totals
from planner.plan.procedure.acts import Act, Procedure, State
from planner.plan.procedure.asked import Asked
from planner.plan.procedure.flows import flows, walks_of
from planner.plan.procedure.make import wash_job, yard_job
from planner.plan.procedure.sides import in_shade
from planner.plan.procedure.state import drawn_by_lot, drawn_by_mix, given_by_lot
from planner.plan.road.loading import load_of
from planner.plan.road.model import PowerPlan
from planner.plan.road.power import plan_power
from planner.plan.sky.hours import worked_of
from planner.plan.sky.weather import by_the_hour, forecast_of
from planner.plan.water.drying import mists_of, plan_drying
from planner.plan.water.timing import begins_at, drive_to, end_of, leaves_at, lost_by
from planner.plan.water.work import beds_of, plan_work
from planner.plan.wear.differing import plan_differences
from planner.plan.wear.sensitivity import plan_sensitivity
from planner.plan.yard.held import after_test
from planner.plan.yard.make import after_yard, bath_neutralisers, plan_yard, yard_time


def make_plan(
    job: JobInput, before: Carried | None = None, *, tables: bool = True, known: Sequence[RunPlan] = ()
) -> JobPlan:
    """The plan of one job, as `plan_once` makes it: where it matters at what hours it is, with those hours known.

    It is planned until every run and wall is at hours whose weather it was planned with, and with its sides in another
    order than written where that keeps mix from drying (`procedure/sides.py`).
    """
    begins = begins_at(job, before if before is not None else tonight(job))
    if begins is None or not hours_matter(job):
        return plan_once(replace(job, worked=None), before, tables=tables, known=known)
    plan = _at_its_hours(job, before, begins, known)
    if job.sides is None:
        plan = in_shade(
            plan, lambda other: _at_its_hours(replace(job, worked=other.worked, sides=other.sides), before, begins, ())
        )
    if not tables:
        return plan
    settled = replace(job, worked=plan.input.worked, sides=plan.input.sides)
    taken = known if settled.worked == job.worked else ()
    return replace(plan_once(settled, before, known=taken), moved=plan.moved)


def _at_its_hours(job: JobInput, before: Carried | None, begins: float, known: Sequence[RunPlan]) -> JobPlan:
    """The plan at whose hours every run and wall is that it was planned with, its sides as they are in the job."""
    # Planned before at this very hour, it is tried with the hours it had then.
    worked = job.worked if job.worked is not None and min(job.worked.visit) == int(begins // 3600.0) else None
    job = replace(job, sides=job.sides or ())
    while True:
        # Runs taken over have the reach of the hours they were planned with.
        taken = known if worked == job.worked else ()
        plan = plan_once(replace(job, worked=worked), before, tables=False, known=taken)
        is_on = worked_in(plan)
        if worked is not None and worked.holds(is_on):
            return plan
        worked = is_on if worked is None else worked.joined(is_on)


def hours_matter(job: JobInput) -> bool:
    """Whether weather is written by the hour, or the sun on a wall can be told by the hour."""
    forecast = forecast_of(job.day)
    return by_the_hour(job) or (forecast is not None and job.company.place is not None and job.date is not None)


def worked_in(plan: JobPlan) -> Worked:
    """At what hours a plan has its runs and walls."""
    procedure = plan.procedure or Procedure(acts=(), begin=State(), end=State())
    walks = walks_of(procedure, hose_lengths(plan.runs), plan.input.tables["minutes"]["walk_pace"])
    return worked_of(procedure, flows(procedure, walks))


def plan_once(
    job: JobInput, before: Carried | None = None, *, tables: bool = True, known: Sequence[RunPlan] = ()
) -> JobPlan:
    """The plan of one job. Raises planner.physics.lines.SolveError where a line has no operating point.

    `before` is the rig as the day's job before leaves it; left out, as the day's file says it stands tonight.
    `known`: runs of this job planned before, some of whose runs may have changed since.
    `tables`: also what to do if it differs on site, what each change of gear does, and the curves of pump and line,
    which only paper shows and which take most of the time.
    """
    carried = before if before is not None else tonight(job)
    carried = replace(carried, bleach_pumps=carried.bleach_pumps | drew_bleach(job))
    leaves = leaves_at(job, carried)
    runs = plan_runs(job, known, curves=tables)
    # An injector's ratio is that of the flow the run really has.
    job = replace(job, runs=tuple(run.input for run in runs)) if runs else job
    shelf = shelf_today(job, carried.taken)
    ready = with_clean_feeds(job, carried)
    mixes, left = plan_mixes(job, runs, ready)
    drying = plan_drying(job, mixes, begins_at(job, carried))
    mists = mists_of(job, mixes, drying)
    if mists:
        mixes, left = plan_mixes(job, runs, ready, mists)
    changes = plan_changes(job, runs, mixes, carried)
    drive = drive_to(job)
    begins = leaves + drive if leaves is not None and drive is not None else None
    work = plan_work(job, runs, mixes, drying, mists)
    flushes = plan_flushes(job, runs, mixes, changes)
    beds = beds_of(job, work)
    runoff = plan_runoff(job, mixes, work)
    yard = plan_yard(job, shelf, carried)
    taken = once_mixed(carried.taken, mixes)
    neutralisers = (
        *plan_neutralisers(job, mixes, runoff, taken),
        *drained_neutralisers(job, changes, taken),
        *bath_neutralisers(yard),
    )
    looks = looks_of(job, mixes, carried)
    asked = Asked(
        job=job, runs=runs, mixes=mixes, work=work, changes=changes, flushes=flushes, neutralisers=neutralisers,
        looks=looks, shelf=tuple(shelf), beds=beds, found=carried,
    )  # fmt: skip
    made = yard_job(asked, yard, begins or 0.0) if yard is not None else wash_job(asked, begins or 0.0)
    procedure = made.procedure
    neutralisers = with_given(neutralisers, made.given)
    asked_of, mixes = mixes, as_drawn(mixes, procedure.acts)
    mixes, left = as_left(job, mixes, left, procedure.end)
    left = replace(left, taken=added(left.taken, loaded_more(asked_of, mixes)))
    if runoff is not None:
        runoff = replace(runoff, ledger=tuple(ledger_of(mix) for mix in mixes if mix.mix is not None))
    flushes = tuple(replace(flush, run=made.flushed_by.get(flush.run, flush.run)) for flush in flushes)
    stood = totals.stood(procedure)
    pace = job.tables["minutes"]["walk_pace"]
    walks = {} if made.moved else walks_of(procedure, hose_lengths(runs), pace)
    moved = made.moved or flows(procedure, walks)
    bare = totals.bare(procedure, moved)
    work = tuple(
        replace(
            wall,
            sections=made.sections.get(wall.surface.name, wall.sections),
            bare=bare.get(wall.surface.name),
            pace=replace(wall.pace, dwell=stood.get(wall.surface.name, wall.pace.dwell)),
        )
        for wall in (as_washed(work, made.sides) if job.sides else work)
    )
    water = totals.water(procedure, moved)
    supply = levels.supply(job, procedure, runs, beds, walks, moved)
    if made.unwaited is not None and supply is not None:
        # What the findings say of the tank is how it would stand if nobody waited for the tap.
        dry = levels.supply(job, made.unwaited, runs, beds, walks_of(made.unwaited, hose_lengths(runs), pace))
        unwaited = {tank.name: tank.dry for tank in dry.tanks} if dry is not None else {}
        supply = replace(
            supply,
            tanks=tuple(
                replace(tank, dry=tank.dry or unwaited.get(tank.name), waited=tank.dry is None) for tank in supply.tanks
            ),
        )
    power = plan_power(job, runs, totals.pump_seconds(job, runs, procedure))
    time = totals.spans(job, procedure, leaves) if yard is None else yard_time(job, procedure, leaves)
    after = after_test(after_yard(job, left, yard), yard, procedure.end)
    after = replace(after, taken=once_given(after.taken, taken, procedure.acts))
    plan = JobPlan(
        id=job.id,
        title=job.title,
        kind=job.kind,
        input=job,
        runs=runs,
        shelf=shelf,
        mixes=mixes,
        found=carried,
        left=replace(
            after,
            water={**levels.water_left(left if yard is None else after, supply), **standing_water(procedure)},
            used=added(carried.used, drawn_by_lot(procedure.acts)),
            ends=end_of(time) if time else carried.ends,
            lost=lost_by(job, carried),
            sites=(*carried.sites, *traces(job, mixes)),
            bleach_pumps=carried.bleach_pumps | bleached(mixes),
            unflushed=unflushed(carried, mixes, flushes, changes) if yard is None else after.unflushed,
        ),
        work=work,
        water=water,
        supply=supply,
        drift=plan_drift(job),
        power=power,
        beds=totals.beds(beds, procedure, walks, moved),
        flushes=flushes,
        changes=changes,
        runoff=runoff,
        neutralisers=neutralisers,
        agents=agents_needed(job, neutralisers, taken, carried.taken),
        differs=plan_differences(job, runs) if tables else (),
        sensitivity=plan_sensitivity(job, runs, whole=tables),
        time=time,
        looks=looks,
        procedure=procedure,
        procedure_misfits=made.misfits,
        guns_misfits=made.guns,
        sides=made.sides,
        yard=yard,
        notes=tuple(dict.fromkeys((*job.assumed, *shared_notes(job), *_assumed_water(job), *_assumed_of(power)))),
        hash=plan_number(job),
        where=job.where,
    )
    return replace(plan, load=load_of(plan))


def as_drawn(mixes: Sequence[MixPlan], acts: Sequence[Act]) -> tuple[MixPlan, ...]:
    """The mixes of panels and injectors with what their acts take of each lot: drums change between sections.

    More of a lot than was planned, because another would not do a section, is loaded as weak as it may be; what is
    dialed first is for the first that is drawn. Two guns at once draw one drum after another together, also where one
    of them was to have its own.
    """
    found = []
    shares = {share.lot.name: share for mix in mixes for share in mix.pours if share.share or share.jug_stock}
    for mix, taken in zip(mixes, drawn_by_mix(mixes, acts), strict=True):
        known = {share.lot.name for share in mix.pours} & set(taken)
        beside = [shares[name] for name in taken if name in shares and name not in known] if mix.run.same_time else []
        if mix.kind == "premix" or not (known or beside) or mix.mix is None:
            found.append(mix)
            continue
        pours = tuple(
            replace(
                share,
                stock=taken.get(share.lot.name, 0.0),
                mix=taken.get(share.lot.name, 0.0) / share.share if share.share else share.mix,
                pull=_loaded(share, taken.get(share.lot.name, 0.0)),
            )
            for share in (*mix.pours, *(replace(share, stock=inf, pull=0.0) for share in beside))
        )
        stock = sum(share.stock for share in pours)
        first = next((share for share in pours if share.stock > 0.0), pours[0])
        found.append(
            replace(
                mix, pours=pours, stock=stock, water=mix.mix - stock - (mix.soap or 0.0), share=first.share,
                dial=first.dial, jug_stock=first.jug_stock if mix.kind == "injector" else mix.jug_stock,
            )
        )  # fmt: skip
    return tuple(found)


def _loaded(share: LotShare, drawn: float) -> float:
    """What is loaded of a lot [m3] of which the acts draw so much: the more as weak as it may be, as far as it goes."""
    more = drawn - share.stock
    if more < 1e-9:
        return share.pull
    weak = (share.lot.nominal or 0.0) / share.lot.low if share.lot.low else 1.0
    whole = share.pull + more * weak
    return whole if share.lot.on_hand is None else max(min(whole, share.lot.on_hand), share.pull)


def loaded_more(asked: Sequence[MixPlan], mixes: Sequence[MixPlan]) -> dict[str, float]:
    """What the acts load of each lot beyond what was asked for [m3]."""
    more: dict[str, float] = {}
    for before, after in zip(asked, mixes, strict=True):
        pulled = {share.lot.name: share.pull for share in before.pours}
        for other in after.pours:
            over = other.pull - pulled.get(other.lot.name, 0.0)
            if over > 0.0:
                more[other.lot.name] = more.get(other.lot.name, 0.0) + over
    return more


def once_given(left: Mapping[str, float], mixed: Mapping[str, float], acts: Sequence[Act]) -> Mapping[str, float]:
    """What is gone of each lot `left` by this job [m3, or kg], once its acts have given their agents too.

    `mixed`: what was gone once its mixes had theirs. A bath's agent is in `left` with its spare, and not counted twice.
    """
    gone = dict(left)
    for name, mass in given_by_lot(acts).items():
        gone[name] = max(gone.get(name, 0.0), mixed.get(name, 0.0) + mass)
    return MappingProxyType(gone)


def as_washed(work: Sequence[SurfaceWork], sides: Sequence[Sequence[str]]) -> list[SurfaceWork]:
    """The work of each run with its sides as they follow each other in the acts."""
    rows = list(work)
    for run in dict.fromkeys(row.run for row in work):
        for names in sides:
            places = [place for place, row in enumerate(rows) if row.run == run and row.surface.name in names]
            own = sorted((rows[place] for place in places), key=lambda row: names.index(row.surface.name))
            for place, row in zip(places, own, strict=True):
                rows[place] = row
    return rows


def added(one: Mapping[str, float], more: Mapping[str, float]) -> Mapping[str, float]:
    """Two amounts of each lot together [m3, or kg]."""
    return MappingProxyType({name: one.get(name, 0.0) + more.get(name, 0.0) for name in {**one, **more}})


def standing_water(procedure: Procedure) -> dict[str, float]:
    """What stands in the tanks that hold water when the rig drives off [m3], drawn on or only filled."""
    return {name: held.volume or 0.0 for name, held in procedure.end.tanks.items() if held.stock == "water"}


def hose_lengths(runs: Sequence[RunPlan]) -> dict[str, float]:
    """How far each run's gun is from the rig [m]: all of its hose."""
    return {run.name: run.input.length for run in runs}


def _assumed_water(job: JobInput) -> tuple[str, ...]:
    """What was filled in of the water. In the yard only the tap counts, and only where a pump is fed from it."""
    fed = job.kind == "wash" or (job.yard_run is not None and job.yard_run.feed == "tap")
    return job.water.assumed if fed else ()


def _assumed_of(power: PowerPlan | None) -> tuple[str, ...]:
    return power.assumed if power is not None else ()


def plan_number(job: JobInput) -> str:
    """Eight hex digits over everything that was read and the program's version: `7c41-e9b2`."""
    digest = hashlib.sha256(f"{__version__}\n{job.id}\n{job.source_text}".encode()).hexdigest()
    return f"{digest[:4]}-{digest[4:8]}"
