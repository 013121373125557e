"""The plan inside a packet: somebody may have written into it, and what is archived once is read for years.

It is archived only if a record of everything can be compared with it.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any, Final

from planner.contract.record import planned_of, record_json
from planner.contract.recordable import rows_in
from planner.inputs.record import Planned, joined_record, record_of_text
from planner.recording.doubts import doubts
from planner.recording.questions import questions

_SAMPLES: Final = {
    "pressure": "1 bar", "length": "1 m", "volume": "1 L", "time": "1 min", "number": "1", "amount": "1 L",
    "bucket": "20 L in 30 s", "residual": "1 mg/L",
}  # fmt: skip


def is_plan(inside: Mapping[str, Any] | None, job: str, number: str) -> bool:
    """Whether what lay inside a packet is the plan of this job and number, and can be asked after and compared.

    It is tried whole, with a record that says something of everything, before it may go into the archive.
    """
    return inside is not None and inside.get("id") == job and inside.get("plan") == number and is_sound(inside)


def is_sound(plan: Mapping[str, Any]) -> bool:
    """Whether a plan can be asked after and compared."""
    try:
        return _holds(plan, planned_of(plan))
    except Exception:  # a stranger's JSON may be anything anywhere
        return False


def _holds(plan: Mapping[str, Any], planned: Planned) -> bool:
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
        return f"job: '{planned.job}'\npump: {{{_of('pump')}, stages: {{1: {{spacer: thin}}}}}}\n"
    parts = {"readings": planned.runs, "mixes": planned.mixes, "sides": planned.sides}
    told = [f"{group}: {{{_of(group)}}}\n" for group in ("times", "water", "flush")]
    for group, of in parts.items():
        rows = ", ".join(f"{number}: {{{_of(group)}}}" for number in range(1, len(of) + 1))
        told += [f"{group}: {{{rows}}}\n"] if rows else []
    return f"job: '{planned.job}'\n{''.join(told)}"


def _of(group: str) -> str:
    """Every figure of one part, and an hour between its times."""
    said = [(row, _SAMPLES.get(row.kind, "")) for row in rows_in(group)]
    said = [(row, f"{hour:02d}:00" if row.kind == "clock" else text) for hour, (row, text) in enumerate(said, 8)]
    return ", ".join(f"{row.key}: {text}" for row, text in said if text)
