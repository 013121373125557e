"""The search: sets of up to three changes, least trouble first, until no set left can be less than what is found.

Trouble is the effort of each change and the time the job takes longer (`bounds` of data/remedies.yaml), never under the
effort, so the search ends once no set left can undercut what is found; `tests/remedies/test_complete.py` holds it
against a trial of everything. Before a set is planned whole its line is solved alone; only plans count toward the 400
of a job. A search that ran out is in `CheckedJob.broken_off`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from typing import Final

from planner.checks.model import Finding, Remedy
from planner.inputs.joined import RunInput
from planner.remedies.options import Option
from planner.remedies.trial import Trials

_MOST_AT_ONCE: Final = 3
_LOOKS: Final = 20
"""Sets whose line is looked at for each that may be planned whole: a look takes a thirtieth of a plan (our choice)."""


def least(
    trials: Trials, finding: Finding, name: str, options: Sequence[Option], most: int, budget: int
) -> tuple[list[Remedy], bool]:
    """The `most` remedies of least trouble, cures if there are any, else what eases; and whether all was tried.

    `budget` is how many more plans may be made. Trouble is never less than the changes' own, so once enough is found
    that the next set can't undercut, the rest needs no trial: the answer is that of trying everything.
    """
    cures: list[Remedy] = []
    eases: list[Remedy] = []
    made = len(trials.done)
    for looked, one in enumerate(_sets(options)):
        sure = [cure for cure in cures if cure.trouble <= _effort(one)]
        if len(_least_of(sure, most)) == most:
            break
        if len(trials.done) - made >= budget or looked >= budget * _LOOKS:
            return _least_of(cures or eases, most), False
        if any(_within(cure, [other.change for other in one]) for cure in sure):
            continue
        eased = len(_least_of([ease for ease in eases if ease.trouble <= _effort(one)], most)) == most
        if trials.may_help(finding, name, one, cure=bool(cures) or eased):
            remedy = trials.remedy(finding, name, one)
            if remedy is not None:
                (cures if cures_it(remedy) else eases).append(remedy)
    return _least_of(cures or eases, most), True


def cures_it(remedy: Remedy) -> bool:
    """Whether nothing of the finding is left."""
    return remedy.after is None or remedy.after.level in ("ok", "none")


def _sets(options: Sequence[Option]) -> list[tuple[Option, ...]]:
    """Sets of changes to different things, least trouble first; of equal trouble fewest changes, then as written."""
    sets = [
        combination
        for count in range(1, _MOST_AT_ONCE + 1)
        for combination in combinations(options, count)
        if not any(a.touches & b.touches for a, b in combinations(combination, 2))
    ]
    return sorted(sets, key=_effort)


def _effort(options: Sequence[Option]) -> int:
    return sum(option.effort for option in options)


def _within(remedy: Remedy, changes: Sequence[object]) -> bool:
    """Whether all of a remedy's changes are among these."""
    return all(change in changes for change in remedy.changes)


def _least_of(found: Sequence[Remedy], most: int) -> list[Remedy]:
    """The first `most` by trouble, without any that only adds to one before it or comes to the same run."""
    remedies: list[Remedy] = []
    runs: list[RunInput | None] = []
    for remedy in sorted(found, key=lambda one: one.trouble):
        run = _unnamed(remedy)
        if run not in runs and not any(_within(one, remedy.changes) for one in remedies):
            remedies.append(remedy)
            runs.append(run)
    return remedies[:most]


def _unnamed(remedy: Remedy) -> RunInput | None:
    """The run it comes to, whatever its hoses are called: one red hose laid is as good as the other."""
    run = remedy.run.input if remedy.run is not None else None
    return replace(run, hoses=tuple(replace(hose, name="") for hose in run.hoses)) if run is not None else None
