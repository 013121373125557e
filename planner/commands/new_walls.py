"""What all walls of a new job have in common: how high they go, and how strong the mix is on them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from planner.commands.asking import Question, Unfit, Walk
from planner.commands.new_answers import Reader, key_of, refuse_slips
from planner.commands.new_here import Here
from planner.inputs.join_walls import on_the_wall, row_strength
from planner.inputs.models import Job
from planner.inputs.models.base import Slip
from planner.inputs.strengths import read_strength
from planner.units import System, Unreadable, read, read_rectangle, show

Raw = dict[str, Any]
_BLEACH = "hypochlorite"


def tallest(walls: Iterable[Any], system: System) -> tuple[str, str]:
    """How high walls and the gables on them go together, and why so; nothing where nobody can say, as of a roof."""
    heights: list[float] = []
    gables: list[float] = []
    for wall in walls:
        if not isinstance(wall, Mapping) or not wall.keys().isdisjoint(("footprint", "squares")):
            return "", ""
        try:
            if "gable" in wall:
                gables.append(read_rectangle(str(wall["gable"]))[1])
            elif "height" in wall:
                heights.append(read(str(wall["height"]), "height"))
        except Unreadable:
            return "", ""
    if not heights:
        return "", ""
    total = show(max(heights) + max(gables, default=0.0), "length", system, toward="up")
    return total, "the tallest wall and the gable on it" if gables else "the tallest wall"


def strength(here: Here, then: Mapping[str, Any], walls: Sequence[Any]) -> Walk[Raw]:
    """How strong the mix is on the walls; not asked where no bleach goes on, or an earlier job lists its chemicals."""
    usual = _usual(here, walls)
    if not usual or "chemicals" in then:
        return {}
    was = then.get("strength")
    answer = yield Question(
        key="strength",
        about="How strong on the wall",
        unit="%",
        read=_strong(here),
        blank=f"{was}, as then" if isinstance(was, str) else f"the table's, {usual}",
        more="One strength for all its walls, such as `1.2 %`: stronger for heavy growth, weaker near what it spoils.",
    )
    return {"strength": answer} if answer is not None else {}


def _usual(here: Here, walls: Sequence[Any]) -> str:
    """What the table has for each kind that bleach goes on; nothing where there is none."""
    rows = here.desk.rows or {}
    found: dict[str, None] = {}
    for wall in walls:
        row = rows.get(str(wall.get("kind"))) if isinstance(wall, Mapping) else None
        if row is None or row.chemical != _BLEACH:
            continue
        usual = row_strength(row, str(wall.get("soil", "medium")))
        if usual is not None:
            found[f"{usual.text} on {row.kind.replace('_', ' ')}"] = None
    return ", ".join(found)


def _strong(here: Here) -> Reader:
    key = key_of(Job, "strength", "%")
    company = here.desk.company.value

    def read_one(text: str) -> str:
        try:
            given: str = key(text)
        except Unfit as unfit:
            raise Unfit(*((message, "write it like `1.2 %`") for message, _ in unfit.told)) from None
        slips: list[Slip] = []
        if company is not None:
            on_the_wall(read_strength(given), _BLEACH, company, (), slips)
        refuse_slips(slips)
        return given

    return read_one
