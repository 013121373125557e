"""Cases of a long sweep: some in every run, the others where `-m ci` asks for them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest
from _pytest.mark import ParameterSet

asked = False
"""Whether `-m ci` is asked for, which tests/conftest.py finds out: property tests then draw all their examples."""


def examples(most: int) -> int:
    """How many examples a property is tried on: all in CI, and some of them in every run."""
    return most if asked else max(most // 4, 5)


def one_in(every: int, cases: Iterable[Any], *, first: int = 0) -> list[Any]:
    """Every n-th of the cases as it is, the others in CI."""
    return [case if n % every == first else in_ci(case) for n, case in enumerate(cases)]


def in_ci(case: Any) -> ParameterSet:
    """A case that is only run in CI: a single value, a tuple of them, or one that has an id or marks already."""
    if isinstance(case, ParameterSet):
        return pytest.param(*case.values, marks=[*case.marks, pytest.mark.ci], id=case.id)
    return (
        pytest.param(*case, marks=pytest.mark.ci)
        if isinstance(case, tuple)
        else pytest.param(case, marks=pytest.mark.ci)
    )
