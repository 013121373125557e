"""Where the water goes, and what has to be washed out before the rig leaves."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level
from planner.checks.registry import check, under
from planner.chemistry.reactions import ACIDS
from planner.plan.flushing import LIFE, near_life
from planner.plan.heels import after_mix
from planner.plan.lookups import forbidden
from planner.plan.mix_model import EMPTY
from planner.plan.model import JobPlan, Value


@check("flush.needed")
def flush_needed(plan: JobPlan) -> Iterator[Finding]:
    """Each line that carried mix is flushed at the end: a hold point. It stops where no water can do it."""
    for run in dict.fromkeys(flush.run for flush in plan.flushes):
        parts = [flush for flush in plan.flushes if flush.run == run]
        can = all(part.volume is not None for part in parts)
        acid = parts[0].leaves != "hypochlorite"
        for_life = not acid and near_life(plan.input) and parts[0].target > plan.input.limits["residual_with_life"]
        volume = sum(part.volume or 0.0 for part in parts)
        seconds = sum(part.seconds or 0.0 for part in parts)
        inlet = plan.input.water.chlorine or 0.0
        yield Finding(
            code="flush.needed",
            about=run,
            level="caution" if for_life or not can else "ok",
            case="inlet" if not can else "for_life" if for_life else "acid" if acid else "ok",
            values={
                "run": run,
                "volume": Value(volume, "volume"),
                "seconds": Value(seconds, "time"),
                "target": Value(parts[0].target, "concentration"),
                "inlet": Value(inlet, "concentration"),
                "life": Value(plan.input.limits["residual_with_life"], "concentration"),
                "leaves": parts[0].leaves,
            },
            where=plan.input.places.get("near", plan.where),
        )
    for mix in plan.mixes:
        held = mix.heel_chemical
        if held is None or held in (mix.chemical, "water"):
            continue
        tank = mix.run.feed_tank
        yield Finding(
            code="flush.needed",
            about=tank.name if tank is not None else mix.run.name,
            level="stop",
            case="before",
            values={"tank": tank.name if tank is not None else "", "held": held, "chemical": mix.chemical},
            where=mix.where,
        )
    yield from _between(plan)
    if not plan.mixes:
        yield Finding(code="flush.needed", about="job", level="none", case="none", values={}, where=plan.where)


def _between(plan: JobPlan) -> Iterator[Finding]:
    """Parts that carried, earlier today, what may not meet this job's mix: their flush has to be ticked first."""
    met: set[tuple[str, str]] = set()
    for mix in plan.mixes:
        for part in dict.fromkeys(after_mix(EMPTY, mix).parts):
            earlier = plan.found.parts.get(part)
            if earlier is None or (part, mix.chemical) in met or forbidden(plan, mix.chemical, earlier) is None:
                continue
            met.add((part, mix.chemical))
            yield Finding(
                code="flush.needed",
                about=part,
                level="caution",
                case="between",
                values={"part": part, "held": earlier, "chemical": mix.chemical},
                where=mix.where,
            )


def _harsh(plan: JobPlan) -> str | None:
    """Which of this job's waters may not run off: flatwork's, or acid."""
    for mix in plan.mixes:
        if mix.chemical in ACIDS:
            return "acid"
    flat = {surface.name for surface in plan.input.surfaces if surface.row["family"] == "flat"}
    return "flatwork" if flat & {name for run in plan.runs for name in run.input.surfaces} else None


@check("runoff.drain")
def runoff_drain(plan: JobPlan) -> Iterator[Finding]:
    """Wash water and a storm drain: not without a permit."""
    near = plan.input.job.near
    distance = near.storm_drain if near is not None else None
    harsh = _harsh(plan)
    level: Level = "none"
    case = "none"
    values: dict[str, Value | str] = {}
    if distance is not None and plan.kind == "wash":
        values = {
            "distance": Value(distance, "length"),
            "what": {"acid": "Acid", "flatwork": "Flatwork water"}.get(harsh or "", "Rinse water"),
            "control": (near.control if near is not None else None) or "",
        }
        if near is not None and near.control:
            level, case = "ok", "controlled"
        elif harsh is not None:
            level, case = "stop", "harsh"
        else:
            level, case = ("caution", "house") if plan.mixes else ("ok", "plain")
    yield Finding(
        code="runoff.drain", about="storm drain", level=level, case=case, values=values,
        where=plan.input.places.get("near", plan.where),
    )  # fmt: skip


@check("runoff.water_life")
def runoff_water_life(plan: JobPlan) -> Iterator[Finding]:
    """Ponds, streams, barrels and wells near the work."""
    near = plan.input.job.near
    reach = plan.input.limits["life_within_reach"]
    found = False
    for name in LIFE:
        distance = getattr(near, name) if near is not None else None
        if distance is None or not plan.mixes:
            continue
        found = True
        level: Level = "caution"
        case = "house"
        if near is not None and near.control:
            level, case = "ok", "controlled"
        elif under(distance, reach):
            level, case = "stop", "within"
        yield Finding(
            code="runoff.water_life",
            about=name.replace("_", " "),
            level=level,
            case=case,
            values={
                "what": name.replace("_", " "),
                "distance": Value(distance, "length"),
                "reach": Value(reach, "length"),
                "control": (near.control if near is not None else None) or "",
            },
            where=plan.input.places.get("near", plan.where),
        )
    if not found:
        yield Finding(code="runoff.water_life", about="site", level="none", case="none", values={}, where=plan.where)
