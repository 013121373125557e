"""A month's work in sums: jobs on record, hours, stock, water, money and callbacks, by who led and what was washed.

Of a surface, hours, stock and money are those of jobs that washed nothing else, as in `compare`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import field
from typing import TYPE_CHECKING

from planner.archive.compare.totals import Sum
from planner.frozen import dataclass
from planner.office.listed import Listed, Used

if TYPE_CHECKING:
    from planner.inputs.models import Lot


@dataclass(slots=True)
class Sums:
    """Of so many jobs; None where nobody wrote any."""

    jobs: int = 0
    rang: int = 0
    done: Sum = field(default_factory=Sum)
    crew: Sum = field(default_factory=Sum)
    water: Sum = field(default_factory=Sum)
    money: Sum = field(default_factory=Sum)
    used: dict[tuple[str, bool], float] = field(default_factory=dict)

    def add(self, one: Listed, *, whole: bool = True) -> None:
        """One job; not `whole`: it washed other things too, and only counts."""
        self.jobs += 1
        self.rang += one.rang
        if whole:
            self.done.add(one.done_s)
            self.crew.add(one.crew_s)
            self.water.add(one.water_m3)
            self.money.add(one.spent)
            for used in one.stock_done:
                key = (used.chemical, used.kg is not None)
                self.used[key] = self.used.get(key, 0.0) + (used.kg if used.kg is not None else used.m3 or 0.0)

    @property
    def done_s(self) -> float | None:
        """Hours at the sites [s]."""
        return self.done.told

    @property
    def crew_s(self) -> float | None:
        """Hours of all hands [s]."""
        return self.crew.told

    @property
    def water_m3(self) -> float | None:
        """Water used [m3]."""
        return self.water.told

    @property
    def spent(self) -> float | None:
        """Money, the company's own."""
        return self.money.told

    @property
    def stock(self) -> Sequence[Used]:
        """What was used of each chemical."""
        return [
            Used(chemical=name, m3=None if dry else amount, kg=amount if dry else None)
            for (name, dry), amount in sorted(self.used.items())
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """One month, `name` as in 2026-06: sums of all its jobs, by crew and by surface; `bought`: lots bought in it."""

    name: str
    all: Sums
    crews: dict[str, Sums]
    surfaces: dict[str, Sums]
    bought: tuple[Lot, ...] = ()

    @property
    def by(self) -> Iterator[tuple[str, Sums]]:
        """Crews, then surfaces, by name."""
        return ((f"{by} {name}", sums) for by, name, sums in self.rows if name)

    @property
    def rows(self) -> Iterator[tuple[str, str, Sums]]:
        """What by, its name, its sums; all jobs first, without a name."""
        yield "all", "", self.all
        yield from (("crew", name, sums) for name, sums in sorted(self.crews.items()))
        yield from (("surface", name, sums) for name, sums in sorted(self.surfaces.items()))


def months(rows: Iterable[Listed], lots: Sequence[Lot]) -> list[Month]:
    """The months that have jobs on record, or a lot that was bought."""
    found: dict[str, Month] = {}

    def month_of(name: str) -> Month:
        bought = tuple(lot for lot in lots if lot.bought is not None and lot.bought.isoformat()[:7] == name)
        return found.setdefault(name, Month(name=name, all=Sums(), crews={}, surfaces={}, bought=bought))

    for one in rows:
        if one.date is None or one.status not in ("done", "part"):
            continue
        month = month_of(one.date.isoformat()[:7])
        month.all.add(one)
        if one.lead:
            month.crews.setdefault(one.lead, Sums()).add(one)
        for kind in one.surfaces:
            month.surfaces.setdefault(kind, Sums()).add(one, whole=len(one.surfaces) == 1)
    for lot in lots:
        if lot.bought is not None:
            month_of(lot.bought.isoformat()[:7])
    return [found[name] for name in sorted(found)]
