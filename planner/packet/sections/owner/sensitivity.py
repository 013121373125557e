"""What one change of gear, tap or pump does to a run: a table of the owner's pages."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor

from planner.packet.blocks import Block, Cell, Heading, Span, Table, Text, said
from planner.plan.between.flushing import flush_flow
from planner.plan.model import Change, JobPlan, RunPlan, WornSigns
from planner.units import System, Toward, show, show_number
from planner.words.figures import reached, timed_bucket
from planner.words.measures import drawn, gauge_number


def sensitivity_blocks(plan: JobPlan, run: RunPlan, system: System) -> list[Block]:
    """One row a change, the plan's own figures first; nothing where no jet is asked to reach."""
    changes = next((sensitivity.changes for sensitivity in plan.sensitivity if sensitivity.run == run.name), ())
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
    if change.kind == "plate":
        return f"pump {100 * change.step:.0f} % under its plate"
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


# ------------------------------------------------------------ worn
# The signs of a worn pump on site, to hold throw, bucket and closed gauge against.


_SIDES: tuple[Toward, ...] = ("up", "down")


def worn_values(plan: JobPlan, system: System) -> Sequence[dict[str, str]]:
    """One set of figures a pump, on the first run whose jet is asked to reach.

    Rounded towards calling the pump worn: throw and gauge up, seconds down. What does not show wear is empty.
    """
    runs = {run.name: run for run in plan.runs}
    found: dict[str, dict[str, str]] = {}
    for table in plan.differs:
        run, worn = runs.get(table.run), table.worn
        if run is None or worn is None or run.input.pump is None or reached(run, system) is None:
            continue
        if run.input.pump.name in found:
            continue
        size = timed_bucket(plan, run, system)
        found[run.input.pump.name] = {
            "pump": run.input.pump.name,
            "run": run.name if len(plan.runs) > 1 else "",
            "limit": f"{100 * worn.condition:.0f} %",
            "throw": _throw(worn, system),
            "standoff": show(run.input.standoff, "length", system),
            "bucket": drawn(size, system),
            "seconds": _seconds(size / worn.flow * run.flow / flush_flow(run) if worn.flow > 0.0 else None),
            "closed": _gauge(worn.closed, system),
        }
    return list(found.values())


def _throw(worn: WornSigns, system: System) -> str:
    """The throw of a worn pump, below the one that is planned as both are printed; nothing where a tape can't tell."""
    if worn.throw is None or worn.throw_planned is None:
        return ""
    planned = _number(worn.throw_planned, system, "down")
    for side in _SIDES:
        if _number(worn.throw, system, side) < planned:
            return show(worn.throw, "length", system, toward=side)
    return ""


def _number(throw: float, system: System, side: Toward) -> float:
    return float(show_number(throw, "length", system, toward=side)[0].replace(",", ""))


def _seconds(seconds: float | None) -> str:
    return "" if seconds is None else f"{floor(seconds + 1e-9)} s"


def _gauge(closed: float | None, system: System) -> str:
    if closed is None:
        return ""
    return " ".join(gauge_number(closed, system, "up"))
