"""learned.yaml: what records say of pumps, jets, surfaces, paces, lots and taps, by `planner compare --apply`; and of
surfaces and paces what an owner remembers of earlier jobs, by `planner new rigs/NAME`, until records say more."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar, Final

from planner.inputs.models.base import Slip, Written, key
from planner.inputs.models.gear import quietly
from planner.inputs.models.quantities import Count, Date, PositiveFlow, PositiveNumber, Share, StrengthText
from planner.inputs.tables.rows import rows

LEAST_COVER: Final = 0.5
MOST_COVER: Final = 2.0
"""A surface that takes double or half the table's mix is another surface (common practice, no source)."""

LEAST_PACE: Final = 0.5
MOST_PACE: Final = 2.0
"""A crew that takes half or double the table's minutes did other work (common practice, no source)."""

LEAST_JET: Final = 0.3
"""A jet that gets to less of the model's height is another tip's, or no jet any more (common practice, no source)."""


def _between(raw: Mapping[str, Any], name: str, low: float, high: float, what: str) -> Iterator[Slip]:
    value = quietly(raw.get(name), "number")
    if value is not None and not low <= value <= high:
        yield Slip(
            code="quantity.range",
            message=f"`{name}: {raw[name]}` is not {what}",
            remedy=f"write a number from {low:g} to {high:g}, or run `planner compare --apply` again",
            at=(name,),
        )


class LearnedPump(Written, defer_build=True):
    """A pump's share of its sound head."""

    what: ClassVar[str] = "what was learned of a pump"
    condition: PositiveNumber = key("Head left of a new pump's", "0.91")
    records: Count = key("How many records say so", "7")
    through: Date | None = key("The last of them", "2026-06-09", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """No pump has more head than its curve."""
        yield from _between(raw, "condition", 0.3, 1.0, "a condition a working pump has")


class OfJobs(Written, defer_build=True):
    """A share of the table's that rests on records, or on jobs somebody remembers."""

    records: Count = key("How many records say so", "12")
    through: Date | None = key("The last of them", "2026-06-09", None)
    remembered: Count = key("Where no record says so, how many jobs that somebody remembers", "3", 0)
    off: Share | None = key("How far a job may be off it", "20 %", None)


class LearnedSurface(OfJobs):
    """A surface's coverage as a share of the table's."""

    what: ClassVar[str] = "what was learned of a surface"
    cover: PositiveNumber = key("Area a gallon covers, as a share of what the table has", "0.93")

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Neither half nor double."""
        yield from _between(raw, "cover", LEAST_COVER, MOST_COVER, "a share of a coverage")


class LearnedPace(OfJobs):
    """A surface's minutes as a share of the table's."""

    what: ClassVar[str] = "what was learned of a pace"
    minutes: PositiveNumber = key("Minutes our crews take, as a share of what the table has", "1.18")

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Neither half nor double."""
        yield from _between(raw, "minutes", LEAST_PACE, MOST_PACE, "a share of the table's minutes")


class LearnedLot(Written, defer_build=True):
    """A container's last test on record."""

    what: ClassVar[str] = "what was learned of a lot"
    strength: StrengthText = key("What the last test read", "10.5 trade %")
    on: Date = key("When it was read", "2026-06-09")
    records: Count = key("How many tests there were", "1")


class LearnedTap(Written, defer_build=True):
    """The open tap of one address: `flow` in m3/s."""

    what: ClassVar[str] = "what was learned of a tap"
    flow: PositiveFlow = key("What it gives into a bucket", "6.2 gpm")
    records: Count = key("How many records say so", "2")
    through: Date | None = key("The last of them", "2026-06-09", None)


class LearnedJet(Written, defer_build=True):
    """The low end of a tip's reach as a share of the model's height over it."""

    what: ClassVar[str] = "what was learned of a tip's jet"
    low: PositiveNumber = key("Low end of the reach, as a share of the model's height over the tip", "0.93")
    records: Count = key("How many records say so", "4")
    through: Date | None = key("The last of them", "2026-06-09", None)

    @classmethod
    def rules(cls, raw: Mapping[str, Any]) -> Iterator[Slip]:
        """Records never narrow the band further than the limits have it; low jets widen it."""
        ends = {row["name"]: float(row["value"]) for row in rows("limits") if row["dimension"] == "number"}
        yield from _between(raw, "low", LEAST_JET, ends["reach_recorded_factor"], "a low end of a reach")


class Learned(Written, defer_build=True):
    """What was learned from records."""

    what: ClassVar[str] = "learned.yaml"
    pumps: dict[str, dict[str, LearnedPump]] = key(
        "Pumps by rig and name", "{Bittern: {booster: {condition: 0.91, records: 7}}}", {}
    )
    surfaces: dict[str, LearnedSurface] = key("Surfaces by kind", "{vinyl: {cover: 0.93, records: 12}}", {})
    paces: dict[str, LearnedPace] = key("Minutes by kind of surface", "{vinyl: {minutes: 1.18, records: 6}}", {})
    lots: dict[str, LearnedLot] = key(
        "Containers by name", "{drum 14: {strength: 10.5 trade %, on: 2026-06-09, records: 1}}", {}
    )
    taps: dict[str, LearnedTap] = key("Taps by address", "{14 Alder Lane: {flow: 6.2 gpm, records: 2}}", {})
    jets: dict[str, dict[str, LearnedJet]] = key(
        "Tips by rig and name", "{Bittern: {long throw: {low: 0.93, records: 4}}}", {}
    )
