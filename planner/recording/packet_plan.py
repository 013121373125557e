"""The plan inside a packet: somebody may have written into it, and what is archived once is read for years.

It is archived only if a record of everything can be compared with it.
"""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any, Final, TypeGuard

from planner.contract.record import planned_of, record_json
from planner.inputs.record import Planned, joined_record, record_of_text
from planner.recording.doubts import doubts
from planner.recording.questions import questions

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson

_RUN: Final = "{gauge_open: 1 bar, gauge_closed: 1 bar, bucket: 20 L in 30 s, jet: 1 m, throw: 1 m, standoff: 1 m}"
_MIX: Final = "{dial: 1, stock_used: 1 L, batches: 1, mix_made: 1 L, jug_left: 1 L, left: 1 L}"
_SIDE: Final = "{first_mix: 08:30, sections: 2, wet: 1 L, mix: 1 L, dwell: 1 min, rinse: 1 L}"
_WASH: Final = """
times: {arrived: 08:00, first_mix: 08:30, flushed: 11:00, left: 12:00}
water: {used: 1 m3, tap: 20 L in 30 s}
flush: {residual: 1 mg/L}
"""
_YARD: Final = (
    "pump: {bath: 1 min, throw_before: 1 m, throw_after: 1 m, gauge_before: 1 bar, gauge_closed: 1 bar, "
    "bucket_before: 20 L in 30 s, bucket: 20 L in 30 s, stages: {1: {spacer: thin}}}\n"
)


def is_plan(inside: object, job: str, number: str) -> TypeGuard[PlanJson]:
    """Whether what lay inside a packet is the plan of this job and number, and can be asked after and compared.

    It is tried whole, with a record that says something of everything, before it may go into the archive.
    """
    return isinstance(inside, dict) and (inside.get("id"), inside.get("plan")) == (job, number) and is_sound(inside)


def is_sound(plan: Any) -> TypeGuard[PlanJson]:
    """Whether a plan can be asked after and compared."""
    try:
        return _holds(plan, planned_of(plan))
    except Exception:  # a stranger's JSON may be anything anywhere
        return False


def _holds(plan: PlanJson, planned: Planned) -> bool:
    from planner.archive.compare.comparison import compared
    from planner.archive.compare.pairs import Pair
    from planner.archive.kept.content import text_of

    names = [*planned.runs, *planned.called, *(part for two in planned.sides for part in two)]
    names += [part for chemical, run, lot in planned.mixes for part in (chemical, run, lot or "")]
    names += [part for stop in planned.stops or () for part in (*stop.key, *stop.who)]
    if not all(isinstance(name, str) for name in [*names, planned.kind]):
        return False
    text_of(plan)
    done, _ = joined_record(record_of_text(_of_everything(planned), "everything"), planned)
    if done is None:
        return False
    record = record_json(done, planned, None, None)
    day = datetime.date(2000, 1, 1)
    if compared([Pair(job=planned.job, date=day, revision=1, number=None, record=record, plan=plan)]).unread:
        return False
    list(doubts(record, plan, "us"))
    return all(isinstance(question.planned, str) for question in questions(plan, planned, "us"))


def _of_everything(planned: Planned) -> str:
    """A record that says something of every part of a plan."""
    if planned.kind == "yard":
        return f"job: '{planned.job}'\n{_YARD}"
    parts = (("readings", planned.runs, _RUN), ("mixes", planned.mixes, _MIX), ("sides", planned.sides, _SIDE))
    told = [
        f"{key}: {{{', '.join(f'{number}: {text}' for number in range(1, len(of) + 1))}}}\n"
        for key, of, text in parts
        if of
    ]
    return f"job: '{planned.job}'{_WASH}{''.join(told)}"
