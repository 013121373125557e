"""What is asked of a record, figure by figure: what was planned beside each, and the unit a bare number is given.

That unit is the planned figure's own, as on the paper: `40 fl oz` beside `[gal]` would be taken for forty gallons.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from planner.contract.recordable import asked_of, parts_of, rows_of, shown
from planner.frozen import dataclass
from planner.inputs.reading.handwriting import with_unit
from planner.inputs.record import Planned
from planner.inputs.tables.pumps import has_stages
from planner.units import System

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson

_MORE = {
    "clock": "By the 24 hour clock, such as `13:05`, or with am or pm, such as `1:05 pm`.",
    "bucket": "Seconds alone, such as `38`; or another bucket whole, such as `3 gal in 22 s`.",
}
_WASH = ("times", "water", "readings", "mixes", "sides", "flush", "")
_BENCH = ("times", "pump", "")
_LINES = 8  # of a bench sheet whose pump says no number of stages


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One figure: its key path, what it is, what was planned, and the unit a bare number is given (`{}` its place).

    `more` is what `?` says of it.
    """

    path: str
    about: str
    planned: str = ""
    unit: str = ""
    more: str = ""


def in_unit(text: str, unit: str) -> str:
    """An answer with the question's unit, where it has none of its own."""
    lead, _, after = unit.rpartition(" {} ")
    return with_unit(text, after, lead)


def questions(
    plan: PlanJson, planned: Planned, system: System, percent: str = "trade"
) -> Iterator[Question]:  # fmt: skip
    """Every question of a job, in the order of its page for what was done; `percent` is the company's own."""
    bench = planned.kind == "yard"
    for group in _BENCH if bench else _WASH:
        for path, part, name in parts_of(plan, group):
            for row in rows_of(group):
                if row.asked and (row.bench or not (bench and group == "times")) and asked_of(row, plan, part):
                    told = shown(row, plan, part, system, percent)
                    yield Question(
                        path=f"{path}.{row.key}".lstrip("."),
                        about=f"{name}{(bench and row.bench) or row.asked}",
                        planned=f"up to {told.text}" if row.told == "total up" and told.number else told.text,
                        unit=f"{told.lead} {{}} {told.unit}" if told.lead else told.unit,
                        more=_MORE.get(row.more, row.more),
                    )
    if bench:
        yield from _of_stages(plan)


def _of_stages(plan: PlanJson) -> Iterator[Question]:
    """Every line of the bench sheet, last: who wrote spacers and parts above ends with a dot."""
    yard = plan.get("yard")
    if not yard or not {"descale", "rebuild"} & set(yard["work"]):
        return
    spaced = has_stages(yard.get("kind"))
    stages = yard.get("stages") if spaced else None
    rows = [row for row in rows_of("pump.stages") if spaced or row.key != "spacer"]
    if not stages:  # whose part it is comes first where no number says it
        rows.sort(key=lambda row: row.key != "part")
    for number in range(1, (stages or max(_LINES, len(yard.get("spacers", ())))) + 1):
        for row in rows:
            about = row.asked if stages else row.bench or row.asked
            line = "Stage" if stages else "Line"
            yield Question(path=f"pump.stages.{number}.{row.key}", about=f"{line} {number}: {about}")
