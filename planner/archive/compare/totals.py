"""Callbacks, money and crew hours added up: of all jobs, by who led the work, by what was washed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import field
from typing import Final, Literal, TypeAlias

from planner.frozen import dataclass

By: TypeAlias = Literal["all", "crew", "surface"]
_ORDER: Final[tuple[By, ...]] = ("all", "crew", "surface")
_NOBODY: Final = re.compile(
    r"[-–—/]*|n/?a|not yet|(?:0|n|no|none|nope|nobody|nothing|nil|zero)"
    r"(?: (?:so far|yet|to date|(?:phone )?calls?|callbacks?|complaints?|problems?|issues?|trouble|one|rang|called|back"
    r"|to report|wrong|heard))*",
    re.IGNORECASE,
)
_WELL: Final = re.compile(
    r"(?:(?:the |they |she |he )?(?:customers?|clients?|owners?|all|everything|everyone|everybody|very|so|is|was|are"
    r"|were|it|went|looks?|looked|said|says|with|job|and|at|far|thank you|thanks|good|great|fine|well|ok|okay|alright"
    r"|all right|happy|pleased|satisfied|delighted|perfect|clean|clear|done)[ ,]*)+",
    re.IGNORECASE,
)
_PARTS: Final = re.compile(r"[.,;!] *")
"""What people write where nobody called, or somebody did to say that all is well (from memory)."""


def rang(callbacks: str | None, callback: bool | None = None) -> bool:
    """Whether a customer called back: the `callback` that was asked for, else what the words of older records say."""
    if callback is not None:
        return callback
    words = " ".join((callbacks or "").split()).rstrip(".! ")
    return bool(words) and not all(_NOBODY.fullmatch(part) or _WELL.fullmatch(part) for part in _PARTS.split(words))


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """So many jobs of one name, with callbacks; what they came to where it was written down.

    `spent` in the company's own money on `spent_jobs` of them, `crew` [s] on `crew_jobs`; None where none has it. Of a
    surface, money and hours are those of jobs that washed nothing else.
    """

    by: By
    name: str
    jobs: int
    callbacks: int
    spent: float | None
    spent_jobs: int
    crew: float | None
    crew_jobs: int

    @property
    def share(self) -> float:
        """Jobs with a callback, of all of them [-]."""
        return self.callbacks / self.jobs


@dataclass(slots=True)
class Sum:
    """Money or time [s] of those jobs that have it written down."""

    total: float = 0.0
    jobs: int = 0

    def add(self, value: float | None) -> None:
        """One job's, if it has one."""
        if value is not None:
            self.total += value
            self.jobs += 1

    @property
    def told(self) -> float | None:
        """The sum; None where no job has one."""
        return self.total if self.jobs else None


@dataclass(slots=True)
class _Count:
    jobs: int = 0
    callbacks: int = 0
    spent: Sum = field(default_factory=Sum)
    crew: Sum = field(default_factory=Sum)


@dataclass(slots=True)
class Totals:
    """Jobs as they come, in any order."""

    counts: dict[tuple[By, str], _Count] = field(default_factory=dict)

    def add(
        self, *, signed: str | None, kinds: Iterable[str], callback: bool, spent: float | None, crew: float | None
    ) -> None:
        """One job: who led it, the kinds it washed, and what it came to."""
        washed = sorted(set(kinds))
        alone = len(washed) == 1
        self._count("all", "", callback, spent, crew)
        if signed:
            self._count("crew", signed, callback, spent, crew)
        for kind in washed:
            self._count("surface", kind, callback, spent if alone else None, crew if alone else None)

    def _count(self, by: By, name: str, callback: bool, spent: float | None, crew: float | None) -> None:
        count = self.counts.setdefault((by, name), _Count())
        count.jobs += 1
        count.callbacks += callback
        count.spent.add(spent)
        count.crew.add(crew)

    def told(self) -> tuple[Tally, ...]:
        """All of them, the season first, names in order."""
        rows = sorted(self.counts.items(), key=lambda row: (_ORDER.index(row[0][0]), row[0][1]))
        return tuple(
            Tally(
                by=by, name=name, jobs=count.jobs, callbacks=count.callbacks, spent=count.spent.told,
                spent_jobs=count.spent.jobs, crew=count.crew.told, crew_jobs=count.crew.jobs,
            )
            for (by, name), count in rows
        )  # fmt: skip
