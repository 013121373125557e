"""Eyewash, who is alone with acid, roofs and ladders."""

from __future__ import annotations

from collections.abc import Iterator
from math import atan, cos

from planner.checks import bench
from planner.checks.model import Finding, Level
from planner.checks.registry import check, over, under
from planner.plan.model import JobPlan, Value

_NOT_ALONE = 2
"""People at an acid bath: one who works and one who gets to tap and telephone (common practice, no source)."""
_OVERLAP = 3 * 0.3048
"""Length [m] an extension ladder loses to the overlap of its halves (common practice, no source)."""


@check("site.eyewash")
def site_eyewash(plan: JobPlan) -> Iterator[Finding]:
    """Stock or acid aboard needs fifteen minutes of eyewash beside it."""
    carried = plan.input.rig.carried
    have = carried.eyewash if carried is not None and carried.eyewash is not None else 0.0
    need = plan.input.limits["eyewash_volume"]
    level: Level = "none"
    case = "none"
    held = {heel.chemical for heel in plan.found.tanks.values()}
    if ({mix.chemical for mix in plan.mixes} | held | set(bench.handled_of(plan))) - {"surfactant", "water"}:
        short = under(have, need)
        level, case = ("stop", "short" if have > 0.0 else "missing") if short else ("ok", "ok")
    yield Finding(
        code="site.eyewash",
        about="rig",
        level=level,
        case=case,
        values={"have": Value(have, "volume"), "need": Value(need, "volume")},
        where=plan.where,
    )


@check("site.alone")
def site_alone(plan: JobPlan) -> Iterator[Finding]:
    """An acid bath wants a second person within call: the page asks for two initials before acid is opened."""
    crew = plan.input.day.crew if plan.input.day is not None else None
    level: Level = "none"
    case = "none"
    if bench.acids_of(plan):
        case = "unknown"
        if crew is not None:
            level, case = ("ok", "ok") if crew.count >= _NOT_ALONE else ("stop", "alone")
    values: dict[str, Value | str] = {
        "crew": str(crew.count) if crew is not None else "",
        "chemical": ", ".join(bench.acids_of(plan)),
    }
    yield Finding(code="site.alone", about="crew", level=level, case=case, values=values, where=plan.where)


@check("crew.guns")
def crew_guns(plan: JobPlan) -> Iterator[Finding]:
    """Runs sprayed at once have two guns that work in step; the plan has tried."""
    for one in plan.guns_misfits:
        yield Finding(
            code="crew.guns",
            about=one.runs[0],
            level="stop",
            case=one.why if one.about or one.why != "walls" else "counts",
            values={"runs": " and ".join(one.runs), "about": one.about},
            where=next((run.where for run in plan.input.runs if run.name == one.runs[0]), plan.where),
        )
    if not plan.guns_misfits:
        level: Level = "ok" if any(run.input.same_time for run in plan.runs) else "none"
        yield Finding(code="crew.guns", about="crew", level=level, case=level, values={}, where=plan.where)


@check("site.roof")
def site_roof(plan: JobPlan) -> Iterator[Finding]:
    """Work on a roof without fall protection."""
    access = plan.input.job.access
    roof = access.roof_work if access is not None else None
    level: Level = "none"
    values: dict[str, Value | str] = {}
    if roof is not None:
        level = "ok" if roof.anchor else "stop"
        values = {"eave": Value(roof.eave, "length")}
    yield Finding(
        code="site.roof", about="roof", level=level, case=level, values=values,
        where=plan.input.places.get("access", plan.where),
    )  # fmt: skip


@check("site.ladder")
def site_ladder(plan: JobPlan) -> Iterator[Finding]:
    """Whether the ladder carried stands far enough above the edge it serves, at four to one."""
    access = plan.input.job.access
    carried = plan.input.rig.carried
    longest = carried.ladder if carried is not None else None
    above = plan.input.limits["ladder_above_edge"]
    slope = plan.input.limits["ladder_slope"]
    wanted = access.ladder if access is not None else None
    roof = access.roof_work if access is not None else None
    level: Level = "none"
    case = "none"
    values: dict[str, Value | str] = {"above": Value(above, "length")}
    if longest is not None:
        values["longest"] = Value(longest, "length")
    if longest is not None and roof is not None:
        serves = (longest - _OVERLAP) * cos(atan(1.0 / slope)) - above
        values |= {"eave": Value(roof.eave, "length"), "serves": Value(max(serves, 0.0), "length")}
        short = over(roof.eave, serves)
        level, case = ("caution", "short_of_eave") if short else ("ok", "ok")
    if wanted is not None and longest is not None and case != "short_of_eave":
        values["wanted"] = Value(wanted, "length")
        short = under(longest, wanted)
        level, case = ("caution", "shorter") if short else ("ok", "carried")
    elif wanted is not None and longest is None:
        values["wanted"] = Value(wanted, "length")
        level, case = "caution", "none_carried"
    yield Finding(
        code="site.ladder", about="ladder", level=level, case=case, values=values,
        where=plan.input.places.get("access", plan.where),
    )  # fmt: skip


@check("line.pressure_on_ladder")
def line_pressure_on_ladder(plan: JobPlan) -> Iterator[Finding]:
    """High pressure in the hands of someone on a ladder."""
    access = plan.input.job.access
    limit = plan.input.limits["pressure_on_ladder"]
    for run in plan.runs:
        highest = max(run.pump_pressure, run.shut_off_pressure or 0.0)
        level: Level = "none"
        if access is not None and access.on_ladder:
            level = "stop" if over(highest, limit) else "ok"
        yield Finding(
            code="line.pressure_on_ladder",
            about=run.name,
            level=level,
            case=level,
            values={"pressure": Value(highest, "pressure"), "limit": Value(limit, "pressure")},
            where=run.input.where,
        )
