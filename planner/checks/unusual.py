"""Whether every figure is one of those people usually write: a slip of a point or a unit may look like another job."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding
from planner.checks.registry import check
from planner.plan.model import JobPlan


@check("value.unusual")
def value_unusual(plan: JobPlan) -> Iterator[Finding]:
    """Figures of the job and of all its files outside of what is usual, by data/bounds.yaml."""
    for one in plan.input.unusual:
        values = {"key": one.key, "of": one.of, "text": one.text, "least": one.least, "most": one.most}
        if one.meant is not None:
            values["meant"] = one.meant
        case = "unusual" if one.meant is None else "slip"
        yield Finding(code="value.unusual", about=one.path, level="caution", case=case, values=values, where=one.where)
    if not plan.input.unusual:
        where = plan.input.where
        yield Finding(code="value.unusual", about="figures", level="ok", case="ok", values={}, where=where)
