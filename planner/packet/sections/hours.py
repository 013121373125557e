"""The hours of a visit: when the rig arrives and drives off, and what is done when, as words and as a bar."""

from __future__ import annotations

from planner.packet.blocks import Block, Picture, Span, Spans, said
from planner.packet.drawings.clock import Piece, clock_bar
from planner.packet.sections.told import order_told
from planner.plan.model import JobPlan
from planner.plan.water.timing import arrival_of, end_of, lost_by
from planner.units import System
from planner.words.dates import MINUTE, clock_text, to_the_clock
from planner.words.spoken import wall_name

_SHORT = {
    "walk-round": "walk",
    "set up": "set",
    "flush first": "flush",
    "fill and mix": "mix",
    "flush": "flush",
    "pack": "pack",
    "test before": "test",
    "take down": "down",
    "mix the bath": "mix",
    "wipe and rinse": "rinse",
    "neutralise": "end",
    "build up": "up",
    "test after": "test",
}


def arrives(plan: JobPlan) -> float | None:
    """When the rig stands at the site [s from midnight]; None where nobody wrote when it leaves."""
    return arrival_of(plan.time)


def leaves(plan: JobPlan) -> float | None:
    """When it drives off [s from midnight]; None as for `arrives`."""
    return end_of(plan.time)


def on_site(plan: JobPlan) -> float:
    """How long the visit takes without the drive [s]: between its two times as printed, where the hour is known."""
    at, until = arrives(plan), leaves(plan)
    if at is not None and until is not None:
        return to_the_clock(until) - to_the_clock(at)
    return sum(span.seconds for span in plan.time if not span.road)


def hours(seconds: float) -> str:
    """A stretch of hours, never said shorter than it is: `2 h 53 min`."""
    minutes = -int(-seconds // 60)
    whole, rest = divmod(minutes, 60)
    return f"{whole} h {rest:02d} min" if whole else f"{rest} min"


def when(plan: JobPlan, date: str, place: str, system: System) -> Spans:
    """The card's line of when: on the clock where the day says when the rig leaves, else how long it takes."""
    day = plan.input.day
    yard = ""
    if day is not None and day.leave_yard is not None:
        yard = f" Leave the yard {clock_text(day.leave_yard, system, step=MINUTE)}."
    rest = f" {place.capitalize()}." if place else ""
    at, until = arrives(plan), leaves(plan)
    if at is None or until is None:
        stay = f" About {hours(on_site(plan))} on site." if plan.time else ""
        lost = lost_by(plan.input, plan.found)
        waits = f" Its times wait for {plan.found.lost or 'the drive'}." if lost else ""
        return said(f"{date}.{rest}{stay}{yard}{waits}")
    return (
        Span(text="Arrive "),
        Span(text=clock_text(at, system), strong=True),
        Span(text=", on site until "),
        Span(text=clock_text(until, system), strong=True),
        Span(text=f" ({hours(on_site(plan))}).{yard}"),  # its place in the day stands in the head
    )


def clock(plan: JobPlan, system: System) -> list[Block]:
    """The visit as a bar, left out where the page has no room for it."""
    if not plan.time:
        return []
    surfaces = {surface.name for surface in plan.input.surfaces}
    pieces = [
        Piece(
            label=span.what if span.road else wall_name(plan, span.what),
            seconds=span.seconds,
            kind="drive" if span.road else "shade" if span.what in surfaces else "plain",
            short=_SHORT.get(span.what, ""),
        )
        for span in plan.time
    ]
    start = plan.time[0].start

    def paint(wide: float, tall: float) -> object:
        return clock_bar(pieces, start, system, wide, tall)

    # A page without room leaves the bar out: its times are then on no paper.
    return [Picture(paint=paint, heights=(36.0, 0.0), title="The hours of this job", told=order_told(pieces))]
