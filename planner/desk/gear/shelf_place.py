"""The shelf: each container with its strength today, what the next booked day leaves of it and by when to order."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from flask import Flask, abort, redirect, render_template, request
from pydantic import ValidationError
from werkzeug.wrappers import Response as AnyResponse

from planner.desk.edits import node_at
from planner.desk.files import Sheet
from planner.desk.form import Field, Group, Item, Listed
from planner.desk.frame import around, day_title, swap
from planner.desk.gear import rig_place
from planner.desk.gear.booked import Days, Planned, booked_days, planned
from planner.desk.job_place import form_too
from planner.desk.state import Desk
from planner.frozen import dataclass
from planner.inputs.joining.learned import as_tested
from planner.inputs.models import Company, Learned, Lot, Stock
from planner.inputs.reading.files import in_working_order
from planner.inputs.shelf import Desk as Shelf
from planner.inputs.tables.chemicals import BLEACH, DRY
from planner.interview.answers import slips_in
from planner.interview.draft import write_new
from planner.interview.text import file_text, schema_path
from planner.packet.sections.mixes import known_from
from planner.plan.days.day import DayPlan
from planner.plan.mix.lots import lot_today
from planner.plan.mix.model import LotToday
from planner.units import System
from planner.words.dates import short_date
from planner.words.day_words import reorder_words
from planner.words.measures import poured, strength, strength_number, weighed

_TYPED: Final = {
    "on_hand": "On hand", "tested.strength": "Tested strength", "tested.on": "Tested on", "tested.by": "Tested by",
}  # fmt: skip
"""What is typed right there, and how its boxes are called."""

_HEAD: Final = "# What stands on the shelf, one row for each container. Give each bleach its date and where it is kept."


@dataclass(frozen=True, slots=True, kw_only=True)
class Strong:
    """How strong a lot is on a day: in words, its band, and how that is known."""

    number: str
    band: str
    known: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One container: its keys typed here and the rest, its figures, what is left of it and when to order."""

    n: int
    path: str
    name: str
    chemical: str
    written: str
    today: Strong | None
    then: Strong | None
    then_day: str
    on_hand: str
    left: str
    order: tuple[str, ...]
    typed: tuple[Field, ...]
    more: tuple[Item, ...]


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""

    @app.get("/shelf")
    @app.get("/shelf/<id_>")
    def shelf(id_: str = "") -> str | AnyResponse:
        with desk.lock:
            sheet = desk.files.sheet(id_) if id_ else desk.files.of(desk.files.folder / "stock.yaml")
            frame = around(desk, None, "shelf")
            if sheet is None and not id_:
                return render_template("noshelf.html", said="", typed={}, others=_others(desk), **frame)
            if sheet is None or sheet.kind not in ("stock", "surfaces", "company"):
                abort(404)
            if sheet.kind != "stock":
                return render_template("rig.html", **rig_place.values(desk, sheet, "", seek=True), **frame)
            return render_template("shelf.html", **values(desk, sheet, "", seek=True), **frame)

    @app.post("/newshelf")
    def newshelf() -> str | AnyResponse:
        """A shelf with its first container, where there is none."""
        with desk.lock:
            names = ("name", "chemical", "strength", "made", "on_hand")
            typed = {name: request.form.get(name, "").strip() for name in names}
            said = _begun(desk, {name: text for name, text in typed.items() if text})
            if said:
                frame = around(desk, None, "shelf")
                return render_template("noshelf.html", said=said, typed=typed, others=_others(desk), **frame)
            return redirect("/shelf", 303)


def _begun(desk: Desk, lot: Mapping[str, str]) -> str:
    """Write a new stock.yaml; nothing, or why it was not."""
    raw, folder = {"lots": [dict(lot)]}, desk.files.folder
    slips = slips_in(Stock, raw)
    if slips:
        return " ".join(f"{slip.message}; {slip.remedy}.".replace("`", "") for slip in slips)
    try:
        write_new(folder / "stock.yaml", file_text(raw, _HEAD, schema_path(folder, folder, "stock")).encode("utf-8"))
    except OSError as error:
        return f"stock.yaml could not be written: {error.strerror}."
    desk.files.listing()
    return ""


def fragments(desk: Desk, sheet: Sheet, at: str, trouble: str) -> dict[str, Any]:
    """What the place shows after a change; what is left and what it does to booked jobs is a second answer."""
    if sheet.kind != "stock":
        return rig_place.fragments(desk, sheet, at, trouble)
    found = {**values(desk, sheet, trouble, seek=False), **around(desk, None, "shelf")}
    return {
        **rig_place.answered(sheet, found),
        "swap": [
            *rig_place.swaps(found, ("file", "state", "notes", "head", "booked", "faults")),
            *({"id": name, "html": render_template("_lots.html", **found)} for name in form_too(trouble)),
            *_figures(found),
        ],
    }


def second(desk: Desk, sheet: Sheet) -> dict[str, Any]:
    """The second answer: the booked jobs, and what they leave."""
    found = {**values(desk, sheet, "", seek=True), **around(desk, None, "shelf")}
    return {"version": sheet.version, "swap": [swap("booked", **found), *_figures(found)], "live": found["live"]}


def _figures(found: Mapping[str, Any]) -> Iterator[dict[str, str]]:
    """Each container's figures: they change while one of its boxes is typed in."""
    for row in found["rows"]:
        yield {"id": f"lot-{row.n}", "html": render_template("_lot.html", row=row, next_day=found["next_day"])}


def values(desk: Desk, sheet: Sheet, trouble: str, *, seek: bool) -> dict[str, Any]:
    """Everything the shelf's templates need. `seek`: with what the next booked day leaves."""
    found = rig_place.values(desk, sheet, trouble, seek=seek)
    shelf: Shelf = found["shelf"]
    days = booked_days(desk, shelf)
    # What past days took is gone from what was counted since: only days ahead draw the shelf down.
    ahead = not days.past and bool(days.folders)
    plan = planned(desk, days, desk.files.unsaved()) if seek and ahead else None
    listed = next(
        (item for part in found["parts"] for item in part.items if isinstance(item, Listed) and item.key == "lots"),
        None,
    )
    first = _first_day(days, plan)
    groups = listed.items if listed is not None else ()
    lacks = _lacking(days, plan, first)
    rows = [_row(sheet, shelf, group, n, first, seek or not ahead, lacks) for n, group in enumerate(groups)]
    return {
        **found, "title": "Shelf", "rows": rows, "listed": listed, "others": _others(desk),
        "today": short_date(datetime.date.today(), _system(shelf)),
        "next_day": day_title(days.folders[0], _system(shelf)) if ahead else "",
        "on_record": sum(id_.startswith(f"{days.folders[0].name}/") for id_ in days.done) if ahead else 0,
    }  # fmt: skip


def _others(desk: Desk) -> list[tuple[str, str]]:
    """The files beside it: their ids and names."""
    kinds = ("surfaces",)
    return [(id_, path.name) for id_, (path, kind) in desk.files.listing().items() if kind in kinds]


def _first_day(days: Days, plan: Planned | None) -> DayPlan | None:
    if plan is None:
        return None
    return next((plan.days[folder] for folder in days.folders if folder in plan.days), None)


def _lacking(days: Days, plan: Planned | None, day: DayPlan | None) -> str:
    """A job of that day that could not be planned: what is left then nobody knows."""
    if plan is None or day is None:
        return ""
    files = [path for folder in days.folders if folder.name == day.name for path in in_working_order(folder)]
    return next((path.stem for path in files if f"{day.name}/{path.stem}" not in plan.jobs), "")


def _system(shelf: Shelf) -> System:
    return shelf.company.value.units if shelf.company.value is not None else "us"


# ------------------------------------------------------------ rows


def _row(sheet: Sheet, shelf: Shelf, group: Group, n: int, day: DayPlan | None, seek: bool, lacks: str) -> Row:
    node = node_at(sheet.tree.root, group.path)
    raw = node.plain() if node is not None else {}
    lot = _lot(raw, shelf.learned.value)
    fields = _by_key(group)
    typed = tuple(replace(fields[key], label=label) for key, label in _TYPED.items() if key in fields)
    taken = {field.path for field in typed}
    company, system, today = shelf.company.value, _system(shelf), datetime.date.today()
    then = next((one for one in day.outlook if lot is not None and one.lot.name == lot.name), None) if day else None
    return Row(
        n=n, path=group.path, name=group.label, chemical=_text(raw, "chemical"), written=_text(raw, "strength"),
        today=_strong(lot, lot_today(lot, today), company) if lot is not None else None,
        then=_strong(lot, then.lot, company) if lot is not None and then is not None and day is not None else None,
        then_day=short_date(day.date, system) if day is not None else "",
        on_hand=_text(raw, "on_hand"),
        left=f"not known without {lacks}" if lacks else
             _amount(then.left, then.lot, system) if then is not None else "" if seek else "…",
        order=tuple(_orders(lot, day, system)) if lot is not None and day is not None else (),
        typed=typed, more=tuple(_rest((*group.items, *group.more), taken)),
    )  # fmt: skip


def _text(raw: Any, key: str) -> str:
    found = raw.get(key, "") if isinstance(raw, dict) else ""
    return found if isinstance(found, str) else ""


def _lot(raw: Any, learned: Learned | None) -> Lot | None:
    """A container as it is planned with: a test that was learned counts here too."""
    try:
        lot = Lot.model_validate(raw)
    except ValidationError:
        return None
    return as_tested(lot, learned) if learned is not None else lot


def _by_key(group: Group) -> dict[str, Field]:
    """The fields of a container by their key, those of its test as `tested.strength`."""
    found = {}
    for item in (*group.items, *group.more):
        if isinstance(item, Field):
            found[item.key] = item
        elif isinstance(item, Group) and item.key == "tested":
            found |= {f"tested.{inner.key}": inner for inner in (*item.items, *item.more) if isinstance(inner, Field)}
    return found


def _rest(items: tuple[Item, ...], taken: set[str]) -> Iterator[Item]:
    for item in items:
        if isinstance(item, Group) and any(isinstance(one, Field) and one.path in taken for one in item.items):
            continue
        if not (isinstance(item, Field) and item.path in taken):
            yield item


def _strong(lot: Lot, on: LotToday, company: Company | None) -> Strong:
    """A lot's strength: bleach in the company's percent as it has aged, anything else as it is written."""
    if on.nominal is None:
        return Strong(number="dry" if lot.chemical in DRY else "not known", band="", known="")
    percent = company.percent if company is not None else "trade"
    bleach = lot.chemical == BLEACH
    caustic = lot.excess_caustic if bleach else 0.0
    written = lot.tested.strength if lot.tested is not None else lot.strength
    told = strength(on.nominal, lot.chemical, percent, "down", caustic=caustic)
    number = told if bleach or written is None else written.text
    if on.low is None or on.high is None or on.low == on.high:
        return Strong(number=number, band="", known=known_from(on))
    low = strength_number(on.low, lot.chemical, percent, "down", caustic=caustic)[0]
    high, unit = strength_number(on.high, lot.chemical, percent, "up", caustic=caustic)
    band = f"{low} to {high}" if number.endswith(unit) else f"{low} to {high} {unit}"
    return Strong(number=number, band=band, known=known_from(on))


def _amount(left: float | None, lot: LotToday, system: System) -> str:
    if left is None:
        return "not counted"
    if left <= 0.0:
        return "none"
    return poured(left, system, "down") if lot.on_hand is not None else weighed(left, system, "down")


def _orders(lot: Lot, day: DayPlan, system: System) -> Iterator[str]:
    """What is to be ordered or bought: said at the lot it is of, else at the chemical's first."""
    first = next((one.lot.name for one in day.outlook if one.lot.chemical == lot.chemical), "")
    for buy in day.buys:
        if buy.chemical == lot.chemical and lot.name == first:
            amount = poured(buy.volume, system, "up") if buy.volume else weighed(buy.mass, system, "up")
            yield f"{amount} for {short_date(day.date, system)}: the shelf lacks it"
    for one in day.reorders:
        if one.chemical == lot.chemical and lot.name == (one.lot or first):
            what, why = reorder_words(one, system)
            yield f"{what}: {why}"
