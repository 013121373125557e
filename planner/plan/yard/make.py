"""Work on one pump in the yard: its bath, its test, its minutes, its water, what it takes off the shelf.

What a bath takes is off the shelf (`Carried.taken`) and rides nowhere; so is its neutralizer with the spare, where a
wash carries what it may want and brings it home. The pump counts as having carried the acid, flushed: bleach through it
later that day asks for the tick (`Carried.bathed`). Without a line to test it on nothing ran through it, and it is
flushed first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from types import MappingProxyType

from planner.inputs.joined import JobInput
from planner.inputs.tables.chemicals import DRY
from planner.plan.between.neutralisers import agents_taken
from planner.plan.mix.model import Carried, LotToday, Neutraliser
from planner.plan.procedure.acts import Act, Neutralise, Procedure, Soak
from planner.plan.water.timing import DRIVE, Span, drive_to
from planner.plan.yard.bath import acid_of, bath_parts, nothing_to_bathe, plan_bath
from planner.plan.yard.flush import bench_flush
from planner.plan.yard.held import held_in, test_feed
from planner.plan.yard.model import BathPlan, Filled, YardPlan
from planner.plan.yard.throw import bucket_of, plan_test, test_runs


def plan_yard(job: JobInput, shelf: Sequence[LotToday], found: Carried) -> YardPlan | None:
    """The yard half of a plan; None of a wash. `found` is the rig as the day's jobs before leave it."""
    yard = job.yard
    if yard is None:
        return None
    pump = next(pump for pump in job.rig.pumps if pump.name == yard.pump)
    bath = plan_bath(job, yard, shelf, found)
    test = plan_test(job, yard)
    feed, foul = test_feed(job, found)
    test = replace(test, bucket=bucket_of(job, feed)) if test is not None else None
    plan = YardPlan(
        pump=pump,
        works=tuple(dict.fromkeys(yard.works)),
        stages=pump.stages,
        replace=yard.replace,
        spacers=yard.spacers,
        notes=yard.notes,
        acid=acid_of(yard),
        parts=bath_parts(job, yard),
        no_bath=nothing_to_bathe(job, yard),
        bath=bath,
        test=test,
        filled=filled_in(job, bath),
        held=held_in(job, yard.pump, found, tuple(shelf)),
        feed=feed,
        tank=foul,
        runs=test_runs(job, test, opened=bath is not None or bool({"descale", "rebuild"} & set(yard.works))),
    )
    return replace(plan, flushes=bench_flush(job, plan, found))


def filled_in(job: JobInput, bath: BathPlan | None) -> tuple[Filled, ...]:
    """What was filled in of a bath that nobody wrote; the words are made where it is printed."""
    if bath is None:
        return ()
    told = []
    if bath.default:
        told.append(Filled(what="bath", of=bath.chemical, amount=bath.amount))
    if bath.tub_default:
        told.append(Filled(what="tub", of="", amount=bath.volume))
    if not bath.stock_known and bath.chemical not in DRY:
        told.append(Filled(what="stock", of=bath.chemical, amount=100.0 * job.tables["defaults"]["bath_stock"]))
    return tuple(told)


def yard_time(job: JobInput, procedure: Procedure, leaves: float | None) -> tuple[Span, ...]:
    """The drive home and every step at the bench, as the acts have them, from when the rig `leaves` [s]."""
    drive = drive_to(job)
    known = leaves is not None and drive is not None
    spans = [Span(what=DRIVE, start=leaves if known else None, seconds=drive, road=True)] if drive else []
    ends = procedure.starts
    for what, acts in _steps(procedure.acts):
        starts, ends = ends, max(act.end for act in acts)
        spans.append(Span(what=what, start=starts if known else None, seconds=ends - starts))
    return tuple(spans)


def _steps(acts: Sequence[Act]) -> list[tuple[str, list[Act]]]:
    """The acts by the words the clock has for them. The line is put away with the test that was made on it."""
    opened = any(act.phase == "take_down" for act in acts)
    steps: list[tuple[str, list[Act]]] = []
    for act in acts:
        last = steps[-1][0] if steps else ""
        match act.phase, act.detail:
            case "test", _:
                what = "test" if not opened else "test before" if last in ("", "test before") else "test after"
            case "soak", Soak(into="tub"):
                what = "soak"
            case "soak", Neutralise():
                what = "neutralise"
            case "soak", _:
                what = last if last == "neutralise" else "wipe and rinse"
            case "leave", _:
                what = last or "test"
            case _:
                what = "mix the bath" if act.phase == "mix" else act.phase.replace("_", " ")
        if what != last:
            steps.append((what, []))
        steps[-1][1].append(act)
    return steps


def bath_neutralisers(yard: YardPlan | None) -> tuple[Neutraliser, ...]:
    """What makes the bath and its first rinse harmless."""
    return yard.bath.neutralise if yard is not None and yard.bath is not None else ()


def after_yard(job: JobInput, left: Carried, yard: YardPlan | None) -> Carried:
    """The rig once the bath has taken its acid off the shelf, and what makes it harmless."""
    bath = yard.bath if yard is not None else None
    if yard is None or bath is None:
        return left
    taken = dict(left.taken)
    for share in bath.pours:
        taken[share.lot.name] = taken.get(share.lot.name, 0.0) + share.stock + share.mass
    taken = agents_taken(job, bath.neutralise, taken)
    # Rinsed out and run on plain water in the test: what carried it last is asked for its tick, no more. Without a line
    # to test it on nothing ran through it.
    name = yard.pump.name
    return replace(
        left,
        taken=MappingProxyType(taken),
        parts=MappingProxyType({**left.parts, name: bath.chemical}),
        bathed=left.bathed | {name},
        unflushed=left.unflushed - {name} if yard.test is not None else left.unflushed | {name},
    )
