"""What was done of a yard job, beside what stands in the boxes of bench and test. Names are key paths of a record."""

from __future__ import annotations

from planner.packet.blocks import Block, Section, Table, WriteIn
from planner.packet.dates import after_text, clock_text
from planner.packet.measures import minutes
from planner.packet.sections.done import Entry, Group, abreast
from planner.packet.sections.hours import arrives, leaves, on_site
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.yard_words import opened, yard_of
from planner.packet.wording import section_from
from planner.plan.model import JobPlan
from planner.plan.yard_model import YardPlan
from planner.units import System

_LAST = 34.0


def section(reading: Reading) -> Section | None:
    """The last boxes; of a held job only who was told, and why nothing was done."""
    plan = reading.checked.plan
    yard = yard_of(plan)
    if yard is None:
        return None
    held = reading.held.everything
    places: dict[str, tuple[Block, ...]] = {
        "times": () if held else (_times(plan, yard, reading.system),),
        "parts": () if held or not opened(yard) else (_parts(yard),),
        "last": (_last(held, yard),),
    }
    values = {"held": "yes" if held else "no", "acid": "yes" if yard.bath is not None else "no"}
    return section_from("yard_done", template("yard_done"), values, places)


def _times(plan: JobPlan, yard: YardPlan, system: System) -> Table:
    """Begun, over, and minutes in the bath."""
    at, until = arrives(plan), leaves(plan)
    whole = on_site(plan)
    over = clock_text(until, system) if until is not None else after_text(whole) if whole else ""
    begun = Entry(name="times.arrived", label="Begun", planned=clock_text(at, system) if at is not None else "")
    groups = [
        Group(title="Times", entries=[begun]),
        Group(title="Times", entries=[Entry(name="times.left", label="Over", planned=over)]),
    ]
    if yard.bath is not None:
        soak = Entry(name="pump.bath", label="In the bath", planned=minutes(yard.bath.soak, "down"), unit="min")
        groups.append(Group(title="Bath", entries=[soak]))
    return abreast(groups)


def _parts(yard: YardPlan) -> Table:
    """What was replaced, and what was looked at and kept."""
    new = WriteIn(
        width=1000, height=_LAST, name="pump.replaced", label="Parts replaced, with commas",
        planned=", ".join(yard.replace), tall=True,
    )  # fmt: skip
    kept = WriteIn(
        width=1000, height=_LAST, name="pump.checked", label="Parts looked at and kept, with commas", tall=True
    )
    asked = f", planned: {', '.join(yard.replace)}" if yard.replace else ""
    head = (f"Replaced, with commas{asked}", "Looked at and kept, with commas")
    return Table(head=head, rows=((new, kept),), widths=(1, 1), tight=True)


def _last(held: bool, yard: YardPlan) -> Table:
    """What went otherwise, leftovers, cost, and who says so."""
    boxes = [("What went otherwise, and why", "deviations", 4.2)]
    if not held:
        left = "Bath, rinse, old parts: where to" if yard.bath is not None else "Old parts and oil: where to"
        boxes += [(left, "after", 3.6), ("Cost in all", "cost", 1.7)]
    boxes += [("Signed", "signed", 2.0), ("Date and time", "signed_at", 2.0)]
    row = tuple(
        WriteIn(width=1000, height=_LAST, name=name, label=label, tall=name in ("deviations", "after"))
        for label, name, _ in boxes
    )
    head, widths = tuple(label for label, _, _ in boxes), tuple(wide for _, _, wide in boxes)
    return Table(head=head, rows=(row,), widths=widths, tight=True)
