"""For the worksheet: the minutes of each surface step by step, and the pace they are planned at."""

from __future__ import annotations

from planner.packet.blocks import Block, Cell, Heading, Span, Table, said
from planner.packet.measures import steps_of
from planner.packet.sections.reading import Reading
from planner.plan.mix_model import SurfaceWork
from planner.units import show


def minutes_blocks(reading: Reading) -> list[Block]:
    """One row a surface and run; nothing where no work is planned."""
    plan = reading.checked.plan
    took = {one.surface.name: sum(span.seconds for span in plan.time if span.what == one.surface.name and not span.road)
            for one in plan.work}  # fmt: skip
    work = [one for one in plan.work if took[one.surface.name] > 0.0]
    if not work:
        return []
    several = len({one.run for one in work}) > 1
    cleans = any(one.clean > 0.0 for one in work)
    head = ("Surface", *(("Clean, min",) if cleans else ()), "Wet, min", "Apply, min", "Rinse, min", "Waits, min")
    table = Table(
        head=(*head, "In all, min", "Pace"),
        rows=tuple(_row(one, took[one.surface.name], several, cleans) for one in work),
        widths=(3.2, *((1.4,) if cleans else ()), 1.4, 1.5, 1.5, 1.5, 1.6, 3.2),
        right=frozenset(range(1, len(head) + 1)),
    )
    return [Heading(spans=said("Minutes by surface")), table]


def _row(one: SurfaceWork, took: float, several: bool, cleans: bool) -> tuple[Cell, ...]:
    """Where another run works on the wall too, its own minutes stand among the waits."""
    name = one.surface.name if one.surface.called == one.surface.name else f"{one.surface.called}: {one.surface.name}"
    name = f"{name} ({one.run})" if several else name
    waited = max(took - one.clean - one.wet - one.apply - one.rinse, 0.0)
    return (
        (Span(text=name, strong=True),),
        *((_tenths(one.clean),) if cleans else ()),
        _tenths(one.wet),
        _tenths(one.apply),
        _tenths(one.rinse),
        _tenths(waited),
        (Span(text=_tenths(took), strong=True),),
        _pace(one),
    )


def _tenths(seconds: float) -> str:
    """Minutes to the tenth, so that a row adds up; none are left empty."""
    return f"{steps_of(seconds / 6.0, 'up') / 10.0:,.1f}" if seconds > 0.0 else ""


def _pace(one: SurfaceWork) -> str:
    surface = one.surface
    said_of = "the table's"
    if surface.pace_records:
        records = "1 record" if surface.pace_records == 1 else f"{surface.pace_records:,} records"
        said_of = f"{show(surface.pace_factor, 'fraction', 'us')} of the table's, learned from {records}"
    if one.pace.sections is not None:
        said_of += f"; its sections' fixed time at the table's: {_tenths(one.pace.sections)} min"
    return said_of
