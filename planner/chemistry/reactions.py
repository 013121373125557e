"""What must never meet, and what comes of two substances meeting.

By the very pair where a row says so, both ways round, else by the groups they belong to.

Method: reactivity groups of EPA-600/2-80-076 (A Method for Determining the Compatibility of Hazardous Wastes, 1980).
Each substance belongs to groups, each pair of groups has a consequence or is blank, and the worst counts.  Its chart
lumps hypochlorite with peroxide and knows no strength, so a row for the very pair goes before it.  Rows are handed in.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from itertools import combinations
from typing import Final, Literal

from planner.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two chemicals that must not meet, what comes of it, and the source of that."""

    first: str
    second: str
    gives: str
    source: str


def meeting(first: str, second: str, pairs: Iterable[Pair]) -> Pair | None:
    """The row of `pairs` that forbids `first` to meet `second`, whichever way round, or None. Source: the row's."""
    for pair in pairs:
        if {pair.first, pair.second} == {first, second}:
            return pair
    return None


# ------------------------------------------------------------ groups

Outcome = Literal["same", "harmless", "declared", "thin", "unknown", "forbidden"]
SEVERITY: Final[tuple[Outcome, ...]] = ("same", "harmless", "declared", "thin", "unknown", "forbidden")
"""Outcomes from nothing to never. `thin` is what neutralising is: only thin, slowly, on purpose, in the open.
`declared`: it depends on what the lot says of itself. `unknown`: nothing is known of one of them, and that stops."""

CODES: Final = ("H", "F", "G", "GT", "GF", "E")
"""Consequences as the chart writes them: heat, fire, harmless gas, toxic gas, flammable gas, explosion."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """One substance with its groups. `molar` [kg/mol] of its active as strengths count it, None where no lot holds it.

    `site`: it is not ours, but brought by people or found there.
    """

    name: str
    groups: tuple[str, ...]
    molar: float | None
    site: bool
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """What comes of two groups, or of two very substances, meeting; it holds both ways round."""

    first: str
    second: str
    outcome: Outcome
    gives: str
    codes: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What comes of `first` meeting `second`. `by` is what it was found by: pair, groups, same, or nothing known."""

    first: str
    second: str
    outcome: Outcome
    gives: str
    codes: tuple[str, ...]
    by: Literal["pair", "groups", "same", "nothing"]
    source: str

    @property
    def stops(self) -> bool:
        """Whether they may never meet: forbidden, or nobody knows."""
        return self.outcome in ("forbidden", "unknown")

    @property
    def pair(self) -> Pair | None:
        """The same as a row of forbidden pairs; None where they may meet."""
        if not self.stops:
            return None
        return Pair(first=self.first, second=self.second, gives=self.gives, source=self.source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Matrix:
    """Everything known of what may meet what: substances by name, rules by pair of substances and by pair of groups."""

    substances: Mapping[str, Substance]
    by_pair: Mapping[frozenset[str], Rule] = field(default_factory=dict)
    by_group: Mapping[frozenset[str], Rule] = field(default_factory=dict)


def matrix_of(substances: Iterable[Substance], pairs: Iterable[Rule], groups: Iterable[Rule]) -> Matrix:
    """The matrix of `substances` with rules for `pairs` of them and for pairs of their `groups`.

    Source: the rows' own. Raises ValueError where a name stands twice or two rules speak of one pair.
    """
    by_name: dict[str, Substance] = {}
    for substance in substances:
        if substance.name in by_name:
            raise ValueError(f"{substance.name} stands twice")
        by_name[substance.name] = substance
    return Matrix(substances=by_name, by_pair=_keyed(pairs), by_group=_keyed(groups))


def _keyed(rules: Iterable[Rule]) -> Mapping[frozenset[str], Rule]:
    found: dict[frozenset[str], Rule] = {}
    for rule in rules:
        key = frozenset((rule.first, rule.second))
        if key in found:
            raise ValueError(f"two rules speak of {rule.first} and {rule.second}")
        found[key] = rule
    return found


def answer(first: str, second: str, matrix: Matrix) -> Answer:
    """What comes of `first` meeting `second` by the `matrix`; the same both ways round but for the order of names.

    The very pair's rule holds; else the worst of their groups'; else nothing. Water meets anything.
    Source: EPA-600/2-80-076, overridden by substance; the row's own source is in the answer.
    """
    if first == second:
        return _answer(first, second, "same", "nothing", (), "same", "one substance")
    known = matrix.by_pair.get(frozenset((first, second)))
    rules = _rules(first, second, matrix)
    codes = tuple(code for code in CODES if any(code in rule.codes for rule in rules))
    if known is not None:
        # A row for the very pair says what comes of it; how, the chart still says, unless nothing comes of it.
        how = () if known.outcome == "harmless" else known.codes or codes
        return _answer(first, second, known.outcome, known.gives, how, "pair", known.source)
    if "water" in (first, second):
        return _answer(first, second, "harmless", "nothing", (), "groups", "EPA-600/2-80-076, 106: nothing here")
    strange = next((name for name in (first, second) if name not in matrix.substances), None)
    if strange is not None:
        return _answer(first, second, "unknown", "nobody knows what", (), "nothing", f"no row for {strange}")
    if not rules:
        return _answer(first, second, "harmless", "nothing", (), "groups", "EPA-600/2-80-076: blank in its chart")
    worst = max(rules, key=lambda rule: SEVERITY.index(rule.outcome))
    return _answer(first, second, worst.outcome, worst.gives, codes, "groups", worst.source)


def _rules(first: str, second: str, matrix: Matrix) -> list[Rule]:
    """What the groups of one say with the groups of the other; nothing of a substance without a row."""
    substance, other = matrix.substances.get(first), matrix.substances.get(second)
    if substance is None or other is None:
        return []
    keys = (
        frozenset((of_one, of_other)) for of_one in substance.groups for of_other in other.groups if of_one != of_other
    )
    return [matrix.by_group[key] for key in dict.fromkeys(keys) if key in matrix.by_group]


def _answer(
    first: str,
    second: str,
    outcome: Outcome,
    gives: str,
    codes: tuple[str, ...],
    by: Literal["pair", "groups", "same", "nothing"],
    source: str,
) -> Answer:
    return Answer(first=first, second=second, outcome=outcome, gives=gives, codes=codes, by=by, source=source)


def answers_among(names: Iterable[str], matrix: Matrix) -> tuple[Answer, ...]:
    """What comes of each two of `names` by the `matrix`, each pair once, in the order named. Source: as answer."""
    return tuple(answer(one, other, matrix) for one, other in combinations(dict.fromkeys(names), 2))
