"""What has to be washed out: before a mix of another chemistry, and before the rig leaves."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, check
from planner.checks.yard import bench
from planner.faults import Where
from planner.inputs.tables.chemicals import BLEACH, NO_STRIP, kind_of, unseen_of, words_of
from planner.plan.between.flushing import near_life
from planner.plan.between.heels import after_mix
from planner.plan.between.model import ChangeFlush
from planner.plan.between.sites import around_job
from planner.plan.mix.lookups import bathed_before, forbidden
from planner.plan.mix.model import EMPTY
from planner.plan.model import JobPlan, Value
from planner.plan.water.plain_water import line_meetings
from planner.units import show


@check("flush.needed")
def flush_needed(plan: JobPlan) -> Iterator[Finding]:
    """Each line that carried mix is flushed at the end, each part of another chemistry before its mix: hold points.

    It stops only where no water can do it.
    """
    yield from _at_the_end(plan)
    for change in plan.changes:
        yield _change(plan, change)
    for mix in plan.mixes:
        held = mix.heel_chemical
        if held is None or held in (mix.chemical, "water"):
            continue
        tank = mix.run.feed_tank
        name = tank.name if tank is not None else mix.run.name
        if any(change.tank is not None and change.tank.part == name for change in plan.changes):
            continue
        yield Finding(
            code="flush.needed",
            about=name,
            level="stop",
            case="before",
            values={"tank": name, "held": held.replace("_", " "), "chemical": mix.chemical.replace("_", " ")},
            where=mix.where,
        )
    yield from _between(plan)
    yield from bench.flush(plan)
    if plan.yard is None and not plan.mixes and not plan.changes:
        yield Finding(code="flush.needed", about="job", level="none", case="none", values={}, where=plan.where)


def _at_the_end(plan: JobPlan) -> Iterator[Finding]:
    """The lines that carried a mix."""
    for run in dict.fromkeys(flush.run for flush in plan.flushes):
        parts = [flush for flush in plan.flushes if flush.run == run]
        volumes = tuple(part.volume for part in parts if part.volume is not None)
        can = len(volumes) == len(parts)
        acid = parts[0].leaves != BLEACH
        unseen = unseen_of(part.leaves for part in parts)
        for_life = not acid and near_life(plan.input) and parts[0].target > plan.input.limits["residual_with_life"]
        yield Finding(
            code="flush.needed",
            about=run,
            level="caution" if for_life or not can else "ok",
            case="inlet" if not can else "for_life" if for_life else "unseen" if unseen else "acid" if acid else "ok",
            values={
                "run": run,
                "volume": Value(sum(volumes), "volume"),
                "seconds": Value(sum(part.seconds or 0.0 for part in parts), "time"),
                "target": Value(parts[0].target, "concentration"),
                "inlet": Value(plan.input.water.chlorine or 0.0, "concentration"),
                "life": Value(plan.input.limits["residual_with_life"], "concentration"),
                "leaves": parts[0].leaves,
                "unseen": unseen,
                "held": " and ".join(dict.fromkeys(_spoken(part.leaves) for part in parts)),
            },
            where=plan.input.places.get("near", plan.where),
        )


def _change(plan: JobPlan, change: ChangeFlush) -> Finding:
    """One flush between two chemistries: a hold point, or a stop where the water at hand cannot do it."""
    mix = next((mix for mix in plan.mixes if mix.name == change.mix), None)
    place = change.tank.part if change.tank is not None else change.run
    worst = next((part for part in change.parts if part.volume is None), change.parts[0])
    return Finding(
        code="flush.needed",
        about=place,
        level="caution" if change.can else "stop",
        case="change" if change.can else "change_inlet",
        values={
            "place": place,
            "held": " and ".join(_spoken(leaves) for leaves in change.leaves),
            "chemical": _spoken(change.comes),
            "volume": Value(change.volume, "volume"),
            "seconds": Value(change.seconds, "time"),
            "target": Value(worst.target, "concentration"),
            "clean": _clean(plan, change),
            "inlet": Value(plan.input.water.chlorine or 0.0, "concentration"),
        },
        where=mix.where if mix is not None else plan.where,
    )


def _clean(plan: JobPlan, change: ChangeFlush) -> str:
    """What a strip of each chemical that is flushed has to read; soap, quat and solvents have none."""
    left = {part.leaves: part.target for part in change.parts}
    most = left.get(BLEACH)
    units = plan.input.company.units
    reads = [f"{show(most, 'concentration', units, toward='down')} of chlorine"] if most is not None else []
    kinds = {kind_of(one) for one in left}
    reads += ["pH 6 to 8"] if kinds - {"bleach", "soap", *NO_STRIP} else []
    reads += [unseen] if (unseen := unseen_of(left)) else []
    return " and ".join(reads) or "no foam"


def _spoken(chemical: str) -> str:
    return words_of(chemical)


def _between(plan: JobPlan) -> Iterator[Finding]:
    """Parts that carried, earlier today, what may not meet this job's mix, or what its water comes upon.

    Their flush has to be ticked first.
    """
    met: set[tuple[str, str]] = set()
    now = {(part.part, part.leaves) for change in plan.changes for part in change.parts}
    for mix in plan.mixes:
        for part in dict.fromkeys(after_mix(EMPTY, mix).parts):
            earlier = plan.found.parts.get(part)
            if earlier is None or (part, mix.chemical) in met or forbidden(plan, mix.chemical, earlier) is None:
                continue
            met.add((part, mix.chemical))
            if (part, earlier) in now and part in plan.found.unflushed:
                # This job's own flush of it is asked for above.
                continue
            case = "between_bath" if part in bathed_before(plan, mix) else "between"
            yield _asked(part, earlier, mix.chemical, case, mix.where)
    around = around_job(plan.input, plan.found, plan.mixes, plan.shelf)
    for meeting in line_meetings(around, {}):
        known = meeting.kind == "rinse" and meeting.answer.stops and (meeting.place, meeting.second) not in met
        if known and not ((meeting.place, meeting.first) in now and meeting.place in plan.found.unflushed):
            met.add((meeting.place, meeting.second))
            where = meeting.mix.where if meeting.mix is not None else plan.where
            yield _asked(meeting.place, meeting.first, meeting.second, "between_water", where)


def _asked(part: str, held: str, chemical: str, case: str, where: Where) -> Finding:
    values: dict[str, Value | str] = {
        "part": part,
        "held": held.replace("_", " "),
        "chemical": chemical.replace("_", " "),
    }
    return Finding(code="flush.needed", about=part, level="caution", case=case, values=values, where=where)
