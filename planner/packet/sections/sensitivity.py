"""What one change of gear, tap or pump does to a run: a table of the owner's pages."""

from __future__ import annotations

from planner.packet.blocks import Block, Cell, Heading, Span, Table, Text, said
from planner.plan.model import Change, JobPlan, RunPlan
from planner.units import System, show, show_number


def sensitivity_blocks(plan: JobPlan, run: RunPlan, system: System) -> list[Block]:
    """One row a change, the plan's own figures first; nothing where no jet is asked to reach."""
    changes = next((found.changes for found in plan.sensitivity if found.run == run.name), ())
    if run.reach is None or not changes:
        return []
    planned = run.reach.nominal
    rows: list[tuple[Cell, ...]] = [
        (
            (Span(text="as planned", strong=True),),
            show(run.flow, "flow", system),
            show(run.tip_pressure, "pressure", system),
            show(planned, "length", system, toward="down"),
            "",
        )
    ]
    rows += [
        (
            _named(change, run, system),
            _figure(change.flow, "flow", system),
            _figure(change.tip_pressure, "pressure", system),
            show(change.reach, "length", system, toward="down") if change.reach is not None else "none",
            _step(change.reach, planned, system),
        )
        for change in changes
    ]
    name = f", {run.name}" if len(plan.runs) > 1 else ""
    head = ("One change at a time", "Flow", "At the tip", "Reach", "Against plan")
    return [
        Heading(spans=said(f"What each change does{name}")),
        Table(head=head, rows=tuple(rows), widths=(4.6, 1.8, 1.8, 1.8, 2.0), right=frozenset({1, 2, 3, 4})),
        Text(spans=said("Everything else as planned; nominal reach in still air."), use="small"),
    ]


def _named(change: Change, run: RunPlan, system: System) -> str:
    if change.kind in ("wider", "narrower"):
        size = show(change.step, "bore", system)
        several = len({hose.bore for hose in run.input.hoses}) > 1
        return f"hose one size {change.kind}, {'narrowest ' if several else ''}{size}"
    if change.kind in ("longer", "shorter"):
        return f"{show(change.step, 'length', system)} {'more' if change.kind == 'longer' else 'less'} hose"
    if change.kind == "tap":
        return f"tap {show(change.step, 'pressure', system)} weaker"
    return f"pump {100 * change.step:.0f} % worn"


def _figure(value: float | None, dimension: str, system: System) -> str:
    return "-" if value is None else show(value, dimension, system)


def _step(reach: float | None, planned: float, system: System) -> str:
    """The change as the difference of the two printed heights, so a reader who subtracts gets the same."""
    if reach is None:
        return "no reach"
    (now, unit), (before, _) = (show_number(height, "length", system, toward="down") for height in (reach, planned))
    left = round(float(now.replace(",", "")) - float(before.replace(",", "")), 3)
    return "the same" if left == 0 else f"{'+' if left > 0 else '−'}{abs(left):g} {unit}"
