"""Whether the line holds the pressure, and the person holds the gun."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level
from planner.checks.registry import check, over
from planner.plan.model import JobPlan, Value


@check("line.rating")
def line_rating(plan: JobPlan) -> Iterator[Finding]:
    """The highest pressure the line sees, gun closed or open, against the lowest rating on it.

    A hose whose rating nobody read is no more than a garden hose.
    """
    for run in plan.runs:
        pressure = max(run.shut_off_pressure or 0.0, run.pump_pressure)
        level: Level = "none"
        case = "none"
        values: dict[str, Value | str] = {"pressure": Value(pressure, "pressure")}
        if run.rating is not None:
            share = pressure / run.rating
            values |= {
                "rating": Value(run.rating, "pressure"),
                "part": run.weakest or "",
                "share": Value(share, "fraction"),
            }
            if over(share, plan.input.limits["rating_stop"]):
                level = "stop"
            else:
                level = "caution" if over(share, plan.input.limits["rating_caution"]) else "ok"
            case = level
        unrated = [hose.name for hose in run.input.hoses if hose.rated is None]
        if unrated and level in ("none", "ok") and over(pressure, plan.input.limits["rating_unread"]):
            level, case = "caution", "unread"
            values |= {"part": ", ".join(unrated), "limit": Value(plan.input.limits["rating_unread"], "pressure")}
        yield Finding(code="line.rating", about=run.name, level=level, case=case, values=values, where=run.input.where)


@check("line.reaction")
def line_reaction(plan: JobPlan) -> Iterator[Finding]:
    """How hard the gun pushes back; half of it is too much on a ladder."""
    access = plan.input.job.access
    on_ladder = access is not None and bool(access.on_ladder)
    limit = plan.input.limits["reaction_on_ladder" if on_ladder else "reaction"]
    for run in plan.runs:
        high = over(run.reaction, limit)
        level: Level = "caution" if high else "ok"
        case = ("on_ladder" if on_ladder else "standing") if high else "ok"
        if run.input.tip.pattern == "surface_cleaner":
            # Its jets push against each other and the ground, not against a person.
            level, case = "none", "none"
        yield Finding(
            code="line.reaction",
            about=run.name,
            level=level,
            case=case,
            values={"reaction": Value(run.reaction, "force"), "limit": Value(limit, "force")},
            where=run.input.where,
        )
