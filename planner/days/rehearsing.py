"""A job's acts played before anything is printed of them; a breach is our own mistake, and keeps its packet back."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from functools import lru_cache

from planner import __version__
from planner.checks.model import CheckedJob
from planner.plan.between.matrix import matrix
from planner.plan.procedure.acts import Procedure
from planner.plan.water.tap import has_tap, open_flow, usual_flow
from planner.rehearsal.breach import Breach
from planner.rehearsal.ending import day
from planner.rehearsal.from_plan import keys_of, setting_of
from planner.rehearsal.play import rehearse
from planner.words.act_keys import act_keys


def rehearsed(job: CheckedJob) -> CheckedJob:
    """The job with what its acts breach; one that is held is not played."""
    plan = job.plan
    if job.held_by or plan.procedure is None:
        return job
    tap = (open_flow(plan.input) or usual_flow(plan.input)) if has_tap(plan.input) else None
    found = rehearse(setting_of(plan, matrix(), tap, _keys()), plan.procedure)
    return _with(job, found)


def met(job: CheckedJob, before: Mapping[str, Procedure]) -> CheckedJob:
    """The job with what does not begin as the day's jobs `before` leave it; one that nobody is to begin has nothing."""
    if not before or job.plan.procedure is None or job.held_by:
        return job
    counted = {lot.name for lot in job.plan.input.lots if lot.on_hand is not None}
    done = {**before, job.plan.id: job.plan.procedure}
    return _with(job, day({name: _counted(one, counted) for name, one in done.items()})[job.plan.id])


def _with(job: CheckedJob, found: Sequence[Breach]) -> CheckedJob:
    """The job with more that its rehearsal found."""
    return replace(job, breaches=(*job.breaches, *((one.rule, one.act, one.state) for one in found)))


def _counted(procedure: Procedure, lots: AbstractSet[str]) -> Procedure:
    """The procedure without the lots nobody counted: what is in those, nobody can hold against each other."""
    begin, end = (
        replace(state, lots={name: left for name, left in state.lots.items() if name in lots})
        for state in (procedure.begin, procedure.end)
    )
    return replace(procedure, begin=begin, end=end)


@lru_cache(maxsize=1)
def _keys() -> Mapping[str, frozenset[str]]:
    """The keys paper has words for, by the verb that takes them."""
    rows = act_keys().values()
    return keys_of((row.key if row.named in ("", row.key) else f"{row.key} {row.named}", row.verbs) for row in rows)


def tell(job: CheckedJob) -> None:
    """Say sorry for a procedure that its rehearsal refused, and where its details are."""
    log = _log(job.plan.id, job.breaches)
    rule, act, state = job.breaches[0]
    more = f", and {len(job.breaches) - 1} more" if len(job.breaches) > 1 else ""
    print(
        f"Sorry, that is our mistake: the steps of {job.plan.id} failed their rehearsal, so its packet is not printed. "
        f"Step {act}: {state} ({rule}){more}. The details are in {log}",
        file=sys.stderr,
    )


@lru_cache(maxsize=64)
def _log(plan: str, breaches: Sequence[tuple[str, str, str]]) -> str:
    """One file of the same trouble, however often it is met: its name."""
    with tempfile.NamedTemporaryFile("w", prefix="planner-", suffix=".log", delete=False, encoding="utf-8") as log:
        log.write(f"planner {__version__}\n{' '.join(sys.argv)}\n{plan}\n\n")
        log.writelines(f"{rule}\t{act}\t{state}\n" for rule, act, state in breaches)
    return log.name
