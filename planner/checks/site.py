"""What stands near the job."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level
from planner.checks.registry import check, under
from planner.plan.model import JobPlan, Value


@check("site.power_line")
def site_power_line(plan: JobPlan) -> Iterator[Finding]:
    """The closest any wall, ladder, wand or jet of this job comes to a power line."""
    access = plan.input.job.access
    distance = access.power_line if access is not None else None
    level: Level = "none"
    values: dict[str, Value | str] = {}
    if distance is not None:
        stop, caution = plan.input.limits["power_line_stop"], plan.input.limits["power_line_caution"]
        level = "stop" if under(distance, stop) else "caution" if under(distance, caution) else "ok"
        values = {
            "distance": Value(distance, "length"),
            "stop": Value(stop, "length"),
            "caution": Value(caution, "length"),
        }
    yield Finding(
        code="site.power_line",
        about="site",
        level=level,
        case=level,
        values=values,
        where=plan.input.places.get("access.power_line", plan.where),
    )
