"""What was done of a yard job, beside what stands in the boxes of bench and test. Names are key paths of a record."""

from __future__ import annotations

from planner.packet.blocks import Block, Section, Table, WriteIn
from planner.packet.dates import after_text, clock_text
from planner.packet.measures import minutes
from planner.packet.sections.done import Entry, Group, abreast
from planner.packet.sections.hours import arrives, leaves, on_site
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.yard_test import readings
from planner.packet.sections.yard_words import opened, role_in_yard, yard_of
from planner.packet.wording import section_from
from planner.plan.model import JobPlan
from planner.plan.yard_model import YardPlan
from planner.units import System

_TALL, _LOW = 30.0, 18.0


def section(reading: Reading) -> Section | None:
    """The last boxes."""
    plan = reading.checked.plan
    yard = yard_of(plan)
    if yard is None:
        return None
    places: dict[str, tuple[Block, ...]] = {
        "times": (_times(plan, yard, reading.system),),
        "told": (_told(yard),),
        "last": (_last(),),
    }
    values = {"acid": "yes" if yard.bath is not None else "no"}
    return section_from("yard_done", template("yard_done"), values, places, role=role_in_yard(reading))


def _times(plan: JobPlan, yard: YardPlan, system: System) -> Table:
    """Begun, over, minutes in the bath, and what the test showed."""
    at, until = arrives(plan), leaves(plan)
    whole = on_site(plan)
    over = clock_text(until, system) if until is not None else after_text(whole) if whole else ""
    begun = Entry(name="times.arrived", label="Begun", planned=clock_text(at, system) if at is not None else "")
    times = [begun, Entry(name="times.left", label="Over", planned=over)]
    if yard.bath is not None:
        soak = minutes(yard.bath.soak, "down")
        times.append(Entry(name="pump.bath", label="In the bath", planned=soak, unit="min"))
    twice = [("Test before", "before"), ("Test after", "after")] if opened(yard) else [("Test", "after")]
    tests = [Group(title=title, entries=readings(yard, when, system)) for title, when in twice]
    return abreast([Group(title="Times", entries=times), *tests])


def _told(yard: YardPlan) -> Table:
    """What was replaced, looked at and kept, went otherwise, and where the leftovers went."""
    left = "Bath, old parts: where to" if yard.bath is not None else "Old parts, oil: where to"
    boxes = [("What went otherwise", "deviations", ""), (left, "after", "")]
    if opened(yard):
        boxes = [("Replaced, with commas", "pump.replaced", ", ".join(yard.replace)),
                 ("Kept, with commas", "pump.checked", ""), *boxes]  # fmt: skip
    row = tuple(
        WriteIn(width=1000, height=_TALL, name=name, label=label, planned=planned, tall=True)
        for label, name, planned in boxes
    )
    return Table(head=tuple(label for label, *_ in boxes), rows=(row,), widths=(1.0,) * len(row), tight=True)


def _last() -> Table:
    """The cost, and who says so."""
    boxes = (("Cost in all", "cost"), ("Signed", "signed"), ("Date and time", "signed_at"))
    cells = [(label, WriteIn(width=1000, height=_LOW, name=name, label=label)) for label, name in boxes]
    return Table(
        head=(), rows=(tuple(cell for pair in cells for cell in pair),), widths=(3, 4, 2, 6, 3.6, 6), tight=True
    )
