"""Building a pump up again, its test after, and the line put away, act by act."""

from __future__ import annotations

from planner.packet.blocks import Section
from planner.packet.measures import gauge
from planner.packet.sections.acts import headed
from planner.packet.sections.reading import Reading, template, written
from planner.packet.sections.yard_acts import pages_of, yard_printing
from planner.packet.sections.yard_words import role_in_yard
from planner.packet.wording import section_from


def section(reading: Reading) -> Section | None:
    """The last sheet at the bench; None where nothing was taken apart, or a stop holds the job."""
    printing = yard_printing(reading)
    acts = pages_of(printing.telling.procedure.acts).up if printing is not None else ()
    if printing is None or not acts:
        return None
    plan = reading.checked.plan
    assert plan.yard is not None
    cut_off = written(plan.yard.pump, "cut_off")
    values = {
        "kind": plan.yard.pump.kind,
        "cut_off": gauge(cut_off, reading.system) if isinstance(cut_off, (int, float)) else "",
    }
    return section_from(
        "yard_up", template("yard_up"), values, {"acts": headed(printing.blocks(acts))}, role=role_in_yard(reading)
    )
