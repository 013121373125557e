"""The sections, one module each: the crew's in the order they are needed, and those of the owner's own file."""

from __future__ import annotations

from collections.abc import Callable

from planner.packet.blocks import Section
from planner.packet.sections.crew import (
    card,
    differs,
    done,
    flush,
    grounds,
    mix,
    near,
    safety,
    set_up,
    walk_round,
    wash,
)
from planner.packet.sections.owner import summary, worksheet
from planner.packet.sections.reading import Reading
from planner.packet.sections.yard import pages as yard_pages

ORDER: tuple[Callable[[Reading], Section | None], ...] = (
    card.section,
    walk_round.section,
    safety.section,
    near.section,
    set_up.section,
    mix.section,
    wash.section,
    flush.section,
    grounds.section,
    differs.section,
    done.section,
    yard_pages.front,
    yard_pages.bath,
    yard_pages.up,
    yard_pages.last,
)
"""Of the crew's packet. Each makes its sheet, or None where this job has no use for it."""

_BEGINS = ORDER.index(set_up.section)

ALONE = (*ORDER[:_BEGINS], grounds.section, *(one for one in ORDER[_BEGINS:] if one is not grounds.section))
"""The same for somebody alone, who reads of beds and leftovers before they begin."""

OWNERS: tuple[Callable[[Reading], Section | None], ...] = (summary.section, worksheet.section)
"""The same of the owner's file."""
