"""The company: its name, its phones as the crew's pages print them, its units; and what of it is still the demo's."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from flask import Flask, abort, render_template

from planner import locate
from planner.desk.files import Sheet
from planner.desk.frame import around
from planner.desk.gear import rig_place
from planner.desk.job_place import form_too
from planner.desk.state import Desk
from planner.inputs.reading.files import read_file
from planner.inputs.reading.tree import Node
from planner.inputs.tables.rows import table


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""

    @app.get("/company")
    def company() -> str:
        with desk.lock:
            sheet = desk.files.of(desk.files.folder / "company.yaml")
            if sheet is None:
                abort(404)
            return render_template(
                "company.html", **_values(desk, sheet, "", seek=True), **around(desk, None, "company")
            )


def fragments(desk: Desk, sheet: Sheet, at: str, trouble: str) -> dict[str, Any]:
    """What the place shows after a change; what it does to booked jobs is a second answer."""
    found = {**_values(desk, sheet, trouble, seek=False), **around(desk, None, "company")}
    names = ("file", "tabs", "state", "notes", "head", *form_too(), "booked", "faults", "left")
    return {**rig_place.answered(sheet, found), "swap": rig_place.swaps(found, names)}


def _values(desk: Desk, sheet: Sheet, trouble: str, *, seek: bool) -> dict[str, Any]:
    found = rig_place.values(desk, sheet, trouble, seek=seek)
    return {**found, "title": "Company", "edit_place": "company:", "left": [*left_of_demo(desk), *_no_phone(desk)]}


# ------------------------------------------------------------ demo


def left_of_demo(desk: Desk) -> list[str]:
    """What in the company's page is still the demo's: nobody may take its numbers for real ones."""
    own, demo = _said(_tree(desk)), _said(_demo())
    found = []
    if own.get("name") == demo.get("name"):
        found.append(f"The company is still called {own.get('name', '')}, the demo's name.")
    invented = {number for key, number in demo.items() if key.startswith("phones.") and key != "phones.poison"}
    found += [
        f"{key.removeprefix('phones.').capitalize()} {number} is the demo's number, and it is invented. "
        "It is printed on the crew's safety page."
        for key, number in own.items()
        if key.startswith("phones.") and number in invented
    ]
    return found


def _no_phone(desk: Desk) -> list[str]:
    given = " ".join(key for key in _said(_tree(desk)) if key.startswith("phones."))
    return [
        f"There is no {key} number. The crew's page has a blank to fill in by hand."
        for key in table("form")["keys"]["phones"]
        if key not in given.lower()
    ]


def _tree(desk: Desk) -> Mapping[str, Node]:
    sheet = desk.files.of(desk.files.folder / "company.yaml")
    return sheet.tree.mapping if sheet is not None else {}


@cache
def _demo() -> Mapping[str, Node]:
    return read_file(locate.jobs() / "company.yaml").mapping


def _said(page: Mapping[str, Node]) -> dict[str, str]:
    """The name and each phone by `phones.` and its key, as they are written."""
    name, phones = page.get("name"), page.get("phones")
    many = phones.value if phones is not None and isinstance(phones.value, Mapping) else {}
    rows = {"name": name, **{f"phones.{key}": node for key, node in many.items()}}
    return {key: node.value.strip() for key, node in rows.items() if node is not None and isinstance(node.value, str)}
