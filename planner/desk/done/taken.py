"""What a record says was used of the shelf, and what on hand would then be: offered, and put into stock.yaml if asked.

A plan takes nothing off for days that are past: what stock.yaml has on hand counts as counted since. For a day from
today on, it takes off all that day's jobs, those on record too. So a record's own use is offered once, with its first
revision, and only once no other job of its day is still to come: it is then taken off in one place alone.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from pydantic import ValidationError

from planner.desk.edits import changed, node_at
from planner.desk.files import FileChanged, Sheet
from planner.desk.state import Desk
from planner.frozen import dataclass
from planner.inputs.models import Lot
from planner.inputs.reading.spans import NotAsMeant
from planner.inputs.workspace import date_of
from planner.units import System, show

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson
    from planner.contract.record import RecordJson

_NO_FILE: Final = "stock.yaml cannot be read now. Set it on Shelf"


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What one record used of a lot, a volume [m3] or a mass [kg]; `was` is what stock.yaml had on hand, as it had it.

    `counted`: it is no use but what the record found left in the lot.
    """

    lot: str
    amount: float
    dimension: str
    was: str
    counted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One line under a kept record; `set_to` is the text its button puts in, nothing where it has none."""

    lot: str
    told: str
    set_to: str


class OnHand:
    """What kept records used and nobody took off the shelf yet, by the file of the job. In memory alone."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.taken: dict[Path, list[Taken]] = {}

    def kept(self, path: Path, content: RecordJson, plan: PlanJson, revision: int) -> list[str]:
        """Take note of a record that was kept; what is to be counted by hand."""
        found, unsure = taken_of(content, plan, self.desk)
        self.taken[path] = found if revision == 1 else []
        if found and revision > 1:  # the revision before may be taken off already, in part or in whole
            names = ", ".join(one.lot for one in found)
            unsure.append(f"An earlier revision may be off the shelf already. Count {names}, and set it on Shelf.")
        return unsure

    def offers(self, path: Path, job: str, others: int, system: System) -> list[Offer]:
        """What is said of each lot now. `others`: how many jobs of the record's day are not on record yet."""
        day = date_of(path.parent)
        waits = others > 0 and day is not None and day >= datetime.date.today()
        return list(_offers(self.taken.get(path, ()), self.desk, f"{path.parent.name}, {job}", system, waits=waits))

    def put(self, path: Path, offer: Offer | None) -> tuple[str, str]:
        """Set what a lot has on hand as it was offered; how that went, as a level and a sentence."""
        one = next((one for one in self.taken.get(path, ()) if offer is not None and one.lot == offer.lot), None)
        if offer is None or one is None:
            return "caution", "Nothing was changed: the shelf says something else by now. Look again."
        why = _put(self.desk, one, offer.set_to)
        if why:
            return "fault", f"{why}."
        self.taken = {
            file: [replace(other, was=offer.set_to) if (other.lot, other.was) == (one.lot, one.was) else other
                   for other in many if other != one]
            for file, many in self.taken.items()
        }  # fmt: skip
        return "ok", f"stock.yaml now has {offer.set_to} on hand of {offer.lot}. Undo is on Shelf."


def taken_of(content: RecordJson, plan: PlanJson, desk: Desk) -> tuple[list[Taken], list[str]]:
    """What a record used of each lot that is counted, and what cannot be told of the others."""
    used: dict[tuple[str, str], float] = {}
    unsure: list[str] = []
    for row in content["mixes"]:
        name, mix = row["lot"], plan["mixes"][row["number"] - 1]
        for dimension, amount in (("volume", row["stock_m3"]), ("mass", row["stock_kg"])):
            if amount is None or name is None:
                continue
            poured = [share["lot"] for share in mix["lots"] if share["stock_m3"] or share["stock_kg"]]
            if len(poured) > 1 and name in poured:
                both = " and ".join(poured)
                unsure.append(f"{both} were both planned for it: count what is left in each, and set it on Shelf.")
            else:
                used[name, dimension] = used.get((name, dimension), 0.0) + amount
    found = [
        Taken(lot=name, amount=amount, dimension=dimension, was=on_hand(desk, name))
        for (name, dimension), amount in used.items()
    ]
    for one in content["lots"]:
        for dimension, left in (("volume", one["on_hand_m3"]), ("mass", one["on_hand_kg"])):
            if left is not None:
                found = [other for other in found if other.lot != one["lot"]]
                was = on_hand(desk, one["lot"])
                found.append(Taken(lot=one["lot"], amount=left, dimension=dimension, was=was, counted=True))
    return [one for one in found if one.was], unsure


def _offers(taken: Sequence[Taken], desk: Desk, job: str, system: System, *, waits: bool) -> Iterator[Offer]:
    for one in taken:
        was, left = on_hand(desk, one.lot), _left(desk, one)
        if left is None or was != one.was:
            continue  # somebody counted it since
        text = show(left, one.dimension, system, toward="down") if left > 0.0 else _nothing(was)
        amount = show(one.amount, one.dimension, system)
        told = f"{one.lot}: {amount} {'was left in it' if one.counted else 'was used'} on {job}"
        if waits:
            told += f". The plan takes all jobs of that day off {was}: set it when all are on record"
            yield Offer(lot=one.lot, told=told, set_to="")
        elif text != was:
            yield Offer(lot=one.lot, told=f"{told}. The plan goes on with {was} on hand", set_to=text)


def _put(desk: Desk, one: Taken, text: str) -> str:
    """Set what a lot has on hand in stock.yaml; nothing, or why it was not done."""
    sheet = _sheet(desk)
    at = _at(sheet, one.lot) if sheet is not None else None
    if sheet is None or at is None:
        return _NO_FILE
    if sheet.unsaved:
        return "Shelf has a change that is not saved. Save it or drop it there first"
    try:
        sheet.change(changed(sheet, [(f"{at}.on_hand", text, False)]), f"{one.lot} on hand {text}")
        return sheet.save(desk.files.folder)
    except NotAsMeant:
        return _NO_FILE
    except FileChanged:
        _sheet(desk)  # takes in what is there now
        return "Another program changed stock.yaml. Look at Shelf"
    except OSError as error:
        return f"stock.yaml could not be written: {error.strerror}"


def on_hand(desk: Desk, lot: str) -> str:
    """What stock.yaml has on hand of a lot, as written; nothing where it does not say."""
    sheet = _sheet(desk)
    at = _at(sheet, lot) if sheet is not None else None
    node = node_at(sheet.tree.root, f"{at}.on_hand") if sheet is not None and at is not None else None
    return node.value if node is not None and isinstance(node.value, str) else ""


def _left(desk: Desk, one: Taken) -> float | None:
    """What is left in a lot [m3 or kg]; None where the two cannot be held against each other."""
    sheet = _sheet(desk)
    at = _at(sheet, one.lot) if sheet is not None else None
    node = node_at(sheet.tree.root, at) if sheet is not None and at is not None else None
    if node is None:
        return None
    try:
        amount = Lot.model_validate(node.plain()).on_hand
    except ValidationError:
        return None
    held: Any = getattr(amount, one.dimension, None)
    if held is None:
        return None
    return one.amount if one.counted else max(held - one.amount, 0.0)


def _nothing(was: str) -> str:
    """Nothing left, in the unit it was counted in."""
    unit = was.strip().rpartition(" ")[2]
    return f"0 {unit}"


def _sheet(desk: Desk) -> Sheet | None:
    return desk.files.of(desk.files.folder / "stock.yaml")


def _at(sheet: Sheet, lot: str) -> str | None:
    many = node_at(sheet.tree.root, "lots")
    for n, node in enumerate(many.value if many is not None and isinstance(many.value, tuple) else ()):
        name = node.value.get("name") if isinstance(node.value, Mapping) else None
        if name is not None and name.value == lot:
            return f"lots[{n}]"
    return None
