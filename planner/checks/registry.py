"""The checks, each under its permanent code. A second use of a code is refused."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Final

from planner.checks.model import Finding
from planner.plan.model import JobPlan

Check = Callable[[JobPlan], Iterable[Finding]]

CHECKS: Final[dict[str, Check]] = {}

_SLACK: Final = 1e-9
"""A value equal to its limit passes; this much relative noise of floating point is still equal."""

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
    for function in CHECKS.values():
        yield from function(plan)
