"""The whole job on one screen: a joined job in, its plan out."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace

from planner import __version__
from planner.inputs.joined import JobInput
from planner.plan.change_waste import drained_neutralisers
from planner.plan.changes import plan_changes
from planner.plan.differing import plan_differences
from planner.plan.drift import plan_drift
from planner.plan.flushing import plan_flushes
from planner.plan.heels import drew_bleach, looks_of, tonight, with_clean_feeds
from planner.plan.hydraulics import plan_runs
from planner.plan.loading import load_of
from planner.plan.meetings import unflushed
from planner.plan.mix_model import Carried, MixPlan
from planner.plan.mixing import plan_mixes, shared_notes
from planner.plan.model import JobPlan, RunPlan
from planner.plan.neutralisers import agents_needed, once_mixed, plan_neutralisers
from planner.plan.power import plan_power
from planner.plan.power_model import PowerPlan
from planner.plan.procedure import levels, totals
from planner.plan.procedure.acts import Act
from planner.plan.procedure.book import Asked
from planner.plan.procedure.flows import walks_of
from planner.plan.procedure.make import wash_job, yard_job
from planner.plan.procedure.state import drawn_by_mix
from planner.plan.runoff import plan_runoff
from planner.plan.sensitivity import plan_sensitivity
from planner.plan.shelf import shelf_today
from planner.plan.sites import bleached, traces
from planner.plan.timing import drive_to, end_of, leaves_at, lost_by
from planner.plan.work import beds_of, plan_work
from planner.plan.yard import after_yard, bath_neutralisers, plan_yard, yard_time
from planner.plan.yard_held import after_test


def make_plan(
    job: JobInput, before: Carried | None = None, *, tables: bool = True, known: Sequence[RunPlan] = ()
) -> JobPlan:
    """The plan of one job. Raises planner.physics.lines.SolveError where a line has no operating point.

    `before` is the rig as the day's job before leaves it; left out, as the day's file says it stands tonight.
    `known`: runs of this job planned before, some of whose runs may have changed since.
    `tables`: also what to do if it differs on site, what each change of gear does, and the curves of pump and line,
    which only paper shows and which take most of the time.
    """
    found = before if before is not None else tonight(job)
    found = replace(found, bleach_pumps=found.bleach_pumps | drew_bleach(job))
    leaves = leaves_at(job, found)
    runs = plan_runs(job, known, curves=tables)
    shelf = shelf_today(job, found.taken)
    ready = with_clean_feeds(job, found)
    mixes, left = plan_mixes(job, runs, ready)
    changes = plan_changes(job, runs, mixes, found)
    work = plan_work(job, runs, mixes)
    flushes = plan_flushes(job, runs, mixes, changes)
    beds = beds_of(job, work)
    runoff = plan_runoff(job, mixes, work)
    yard = plan_yard(job, shelf, found)
    taken = once_mixed(found.taken, mixes)
    neutralisers = (
        *plan_neutralisers(job, mixes, runoff, taken),
        *drained_neutralisers(job, changes, taken),
        *bath_neutralisers(yard),
    )
    looks = looks_of(job, mixes, found)
    asked = Asked(
        job=job, runs=runs, mixes=mixes, work=work, changes=changes, flushes=flushes, neutralisers=neutralisers,
        looks=looks, beds=beds, found=found,
    )  # fmt: skip
    drive = drive_to(job)
    begins = leaves + drive if leaves is not None and drive is not None else 0.0
    made = yard_job(asked, yard, begins) if yard is not None else wash_job(asked, begins)
    procedure = made.procedure
    mixes = as_drawn(mixes, procedure.acts)
    flushes = tuple(replace(one, run=made.flushed_by.get(one.run, one.run)) for one in flushes)
    work = tuple(replace(one, sections=made.sections.get(one.surface.name, one.sections)) for one in work)
    walks = walks_of(procedure, hose_lengths(runs), job.tables["minutes"]["walk_pace"])
    water = totals.water(procedure)
    supply = levels.supply(job, procedure, runs, beds, walks)
    if made.unwaited is not None and supply is not None:
        # What the findings say of the tank is how it would stand if nobody waited for the tap.
        pace = job.tables["minutes"]["walk_pace"]
        dry = levels.supply(job, made.unwaited, runs, beds, walks_of(made.unwaited, hose_lengths(runs), pace))
        unwaited = {tank.name: tank.dry for tank in dry.tanks} if dry is not None else {}
        supply = replace(
            supply, tanks=tuple(replace(tank, dry=tank.dry or unwaited.get(tank.name)) for tank in supply.tanks)
        )
    power = plan_power(job, runs, totals.pump_seconds(job, runs, procedure))
    time = totals.spans(job, procedure, leaves) if yard is None else yard_time(job, procedure, leaves)
    after = after_test(after_yard(job, left, yard), yard, procedure.end)
    plan = JobPlan(
        id=job.id,
        title=job.title,
        kind=job.kind,
        input=job,
        runs=runs,
        shelf=shelf,
        mixes=mixes,
        found=found,
        left=replace(
            after,
            water=levels.water_left(ready if yard is None else after, supply),
            ends=end_of(time) if time else found.ends,
            lost=lost_by(job, found),
            sites=(*found.sites, *traces(job, mixes)),
            bleach_pumps=found.bleach_pumps | bleached(mixes),
            unflushed=unflushed(found, mixes, flushes, changes) if yard is None else after.unflushed,
        ),
        work=work,
        water=water,
        supply=supply,
        drift=plan_drift(job),
        power=power,
        beds=totals.beds(beds, procedure, walks),
        flushes=flushes,
        changes=changes,
        runoff=runoff,
        neutralisers=neutralisers,
        agents=agents_needed(job, neutralisers, taken, found.taken),
        differs=plan_differences(job, runs) if tables else (),
        sensitivity=plan_sensitivity(job, runs) if tables else (),
        time=time,
        looks=looks,
        procedure=procedure,
        procedure_misfits=made.misfits,
        guns_misfits=made.guns,
        yard=yard,
        notes=tuple(dict.fromkeys((*job.assumed, *shared_notes(job), *_assumed_water(job), *_assumed_of(power)))),
        hash=plan_number(job),
        where=job.where,
    )
    return replace(plan, load=load_of(plan))


def as_drawn(mixes: Sequence[MixPlan], acts: Sequence[Act]) -> tuple[MixPlan, ...]:
    """The mixes of panels and injectors with what their acts take of each lot: drums change between sections.

    Two guns at once draw one drum after another together, also where one of them was to have its own.
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
            )
            for share in (*mix.pours, *(replace(share, pull=0.0) for share in beside))
        )
        stock = sum(share.stock for share in pours)
        found.append(replace(mix, pours=pours, stock=stock, water=mix.mix - stock - (mix.soap or 0.0)))
    return tuple(found)


def hose_lengths(runs: Sequence[RunPlan]) -> dict[str, float]:
    """How far each run's gun is from the rig [m]: all of its hose."""
    return {run.name: sum(hose.length for hose in run.input.hoses) for run in runs}


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
