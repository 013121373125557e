"""What a check says: code, level, subject and SI values. Its words are made where text is printed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Final, Literal

from planner.faults import Where
from planner.frozen import dataclass
from planner.inputs.joined import ROLES
from planner.plan.model import JobPlan, RunPlan, Value

Level = Literal["stop", "caution", "ok", "none"]
Verdict = Literal["ok", "caution", "stop"]
LEVELS: tuple[Level, ...] = ("stop", "caution", "ok", "none")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One check's answer for one subject. `accepted` holds the owner's reason and name where it was accepted.

    `tip`: it is so with that tip on, which the run changes to, and not so bad with its own.
    """

    code: str
    about: str
    level: Level
    case: str
    values: Mapping[str, Value | str]
    where: Where
    accepted: tuple[str, str] | None = None
    tip: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing to do otherwise: `kind` is a row of data/remedies.yaml, `values` what its words are filled with."""

    kind: str
    values: Mapping[str, Value | str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """What would cure or ease a finding: `changes` to make together, and what the finding then comes to.

    `run` is the hose run as it would work then; None where it is no matter of one run. `on_rig` False: the
    trailer does not have it. `added` [s] is how much longer the job takes, 0 where that is no matter; `trouble` counts
    the changes' own and that.
    """

    code: str
    about: str
    changes: tuple[Change, ...]
    after: Finding | None
    run: RunPlan | None
    on_rig: bool
    added: float = 0.0
    trouble: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedJob:
    """A plan with everything the checks say of it. `verdict` counts findings that were not accepted.

    `remedies` is filled in by a search of its own, where somebody will read it; `tried` names the findings (code and
    subject) it was made for, `broken_off` those of them for which more could be tried. `breaches`: where the rehearsal
    of its acts failed, each the rule, the act's id and what stood how. `failed`: single changes with which a stop
    stays a stop, best first, for the page that tells what was tried.
    """

    plan: JobPlan
    findings: tuple[Finding, ...]
    verdict: Verdict
    remedies: tuple[Remedy, ...] = ()
    tried: frozenset[tuple[str, str]] = frozenset()
    broken_off: frozenset[tuple[str, str]] = frozenset()
    breaches: tuple[tuple[str, str, str], ...] = ()
    failed: tuple[Remedy, ...] = ()

    @property
    def held(self) -> bool:
        """Whether nobody is to begin it: a stop that nobody accepted, or acts that failed their rehearsal."""
        return self.verdict == "stop" or bool(self.breaches)

    @property
    def held_by(self) -> list[str]:
        """The codes of the stops that hold it, each once."""
        return list(
            dict.fromkeys(
                finding.code for finding in self.findings if finding.level == "stop" and finding.accepted is None
            )
        )


# ------------------------------------------------------------ registry
# The checks, each under its permanent code. A second use of a code is refused.


Check = Callable[[JobPlan], Iterable[Finding]]

CHECKS: Final[dict[str, Check]] = {}

_SLACK: Final = 1e-9
"""A value equal to its limit passes; this much relative noise of floating point is still equal."""

_BY_TIP: Final = frozenset({
    "line.rating", "line.reaction", "line.velocity", "line.surge", "line.pressure_on_ladder", "reach.short",
    "reach.pattern", "pump.shut_off", "pump.suction", "pump.curve", "pump.unloader", "pump.cycling", "supply.pressure",
})  # fmt: skip
"""Checks of a line as it works: another tip is another line."""

NEVER_ON_THE_CARD: Final = frozenset({"line.velocity", "line.surge", "pump.curve", "value.unusual"})
"""Notes to the owner: a remedy may bring their cautions along."""


def check(code: str) -> Callable[[Check], Check]:
    """Register a function as the check of `code`. Raises ValueError if the code is taken."""

    def register(function: Check) -> Check:
        if code in CHECKS:
            raise ValueError(f"the code {code} is taken")
        CHECKS[code] = function
        return function

    return register


def over(value: float, limit: float) -> bool:
    """Whether `value` is above `limit` by more than floating-point noise."""
    return value > limit + _SLACK * max(abs(value), abs(limit))


def under(value: float, limit: float) -> bool:
    """Whether `value` is below `limit` by more than floating-point noise."""
    return over(limit, value)


def findings_of(plan: JobPlan) -> Iterator[Finding]:
    """What every check says of the plan, in the order the checks were registered."""
    for code in CHECKS:
        yield from findings_for(code, plan)


def findings_for(code: str, plan: JobPlan) -> Iterator[Finding]:
    """What one check says; of a line that changes its tip the worst it says with any of them on."""
    found = list(CHECKS[code](plan))
    for role in ROLES if code in _BY_TIP else ():
        with_it = {run.name: run.roles[role] for run in plan.runs if role in run.roles}
        if not with_it:
            continue
        changed = CHECKS[code](replace(plan, runs=tuple(with_it.get(run.name, run) for run in plan.runs)))
        worse = {one.about: one for one in changed if one.about in with_it}
        for n, finding in enumerate(found):
            other = worse.get(finding.about)
            if other is not None and LEVELS.index(other.level) < LEVELS.index(finding.level):
                found[n] = replace(other, tip=with_it[other.about].input.tip.name)
    yield from found
