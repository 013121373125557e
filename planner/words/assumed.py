"""What was filled in where nothing was written, in the reader's units; paper and JSON alike."""

from __future__ import annotations

from collections.abc import Iterator

from planner.plan.model import JobPlan
from planner.plan.yard.model import Filled
from planner.units import System, show
from planner.words.measures import in_unit
from planner.words.spoken import spoken_name


def assumed_words(plan: JobPlan, system: System) -> tuple[str, ...]:
    """Every one of them, once."""
    filled = plan.yard.filled if plan.yard is not None else ()
    return tuple(dict.fromkeys((*plan.notes, *_sentences(filled, system))))


def _sentences(filled: tuple[Filled, ...], system: System) -> Iterator[str]:
    for one in filled:
        if one.what == "tub":
            yield f"tub: {show(one.amount, 'volume', system)} of bath"
        elif one.what == "bath":
            yield f"bath: {in_unit(one.amount, 'vol')} {spoken_name(one.of)}"
        else:
            yield f"{spoken_name(one.of)}: {in_unit(one.amount, 'wt')}, as it is sold"
