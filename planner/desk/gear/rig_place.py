"""One rig: its form with every pump's curve and panel's dial drawn beside its points, and what a change of it does."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from flask import Flask, abort, jsonify, redirect, render_template, request
from pydantic import ValidationError
from werkzeug.wrappers import Response as AnyResponse

from planner.desk.edits import node_at
from planner.desk.files import Sheet
from planner.desk.form import Options, fields_in, parts_of
from planner.desk.frame import around, file_bits, swap
from planner.desk.gear.booked import Effect, booked_days, effect_of
from planner.desk.gear.new_rig import asked_rig, written_rig
from planner.desk.job_place import at_fields, form_too, refusal, text_lines
from planner.desk.state import Desk
from planner.desk.svg import svg_of
from planner.desk.told import Remark, fault_remark, marks
from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.models.gear import Pump
from planner.inputs.models.rig import Dosing
from planner.inputs.reading.files import plain_name, shown
from planner.inputs.reading.spans import all_lines
from planner.inputs.reading.tree import Node
from planner.inputs.shelf import Desk as Shelf
from planner.inputs.tables.defaults import default
from planner.packet.drawings.charts import dial, pump_curve
from planner.units import System, show
from planner.writing import unsaved

_SIZE: Final = (280.0, 170.0)
_READ_AS: Final = {"rig": "rig", "stock": "stock", "surfaces": "surfaces", "company": "company"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A drawing beside a group of the form: its element's id, and its SVG; nothing while its figures have a fault."""

    id: str
    svg: str


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""

    @app.get("/rig")
    @app.get("/rig/<id_>")
    def rig(id_: str = "") -> str | AnyResponse:
        with desk.lock:
            if not id_:
                id_ = _usual(desk)
                if not id_:
                    return redirect("/newrig")
            sheet = desk.files.sheet(id_)
            if sheet is None or sheet.kind != "rig":
                abort(404)
            return render_template("rig.html", **values(desk, sheet, "", seek=True), **around(desk, None, "rig"))

    @app.post("/booked/<id_>")
    def booked(id_: str) -> AnyResponse:
        """The second answer: what the change does to booked jobs."""
        from planner.desk.gear import shelf_place

        with desk.lock:
            sheet = desk.files.sheet(id_)
            if sheet is None or sheet.kind not in _READ_AS:
                abort(404)
            if sheet.kind == "stock":
                return jsonify(shelf_place.second(desk, sheet))
            found = {**effect_bits(desk, sheet, seek=True), "sheet": sheet, "edit_place": place_of(sheet)}
            return jsonify(version=sheet.version, swap=[swap("booked", **found)], live=found["live"])

    @app.route("/newrig", methods=["GET", "POST"])
    def newrig() -> str | AnyResponse:
        with desk.lock:
            given = {name[2:]: value for name, value in request.form.items() if name.startswith("q:")}
            if request.form.get("do") == "afresh":
                desk.drafts.pop("newrig", None)
                return redirect("/newrig", 303)
            if given:
                desk.drafts["newrig"] = given
            found = asked_rig(desk.files.folder, given or desk.drafts.get("newrig", {}))
            if request.form.get("do") == "write":
                path, found = written_rig(found)
                if path is not None:
                    desk.drafts.pop("newrig", None)
                    desk.files.listing()
                    return redirect(f"/rig/{desk.files.id_of(path)}")
            if request.headers.get("X-Desk") is not None:
                return jsonify(swap=[swap("newrig", asked=found)])
            return render_template(
                "newrig.html", asked=found, draft="newrig" in desk.drafts, rigs=rigs(desk), **around(desk, None, "rig")
            )


def fragments(desk: Desk, sheet: Sheet, at: str, trouble: str) -> dict[str, Any]:
    """What the place shows after a change; what it does to booked jobs is a second answer."""
    found = {**values(desk, sheet, trouble, seek=False), **around(desk, None, "rig")}
    form = form_too(trouble)  # what was refused stays in its box as it was typed
    return {
        **answered(sheet, found),
        "swap": [
            *swaps(found, ("file", "tabs", "state", "notes", "head", *form, "booked", "faults")),
            *({"id": one.id, "html": render_template("_drawn.html", one=one)} for one in found["drawn"].values()),
        ],
    }


def answered(sheet: Sheet, found: Mapping[str, Any]) -> dict[str, Any]:
    """What the script keeps of a first answer."""
    said = {path: [one.level, one.text, one.remedy] for path, one in found["said"].items()}
    lines = {field.path: field.lines for part in found["parts"] for field in fields_in((*part.items, *part.more))
             if field.lines[0]}  # fmt: skip
    return {
        "version": sheet.version, "saved": not sheet.unsaved, "whole": False, "said": said, "lines": lines,
        "live": found["fault_line"],
    }  # fmt: skip


def swaps(found: Mapping[str, Any], names: Sequence[str]) -> list[dict[str, str]]:
    """Fragments by their ids; the head has no button that saves."""
    return [
        {"id": name, "html": render_template("_gearhead.html" if name == "head" else f"_{name}.html", **found)}
        for name in names
    ]


def place_of(sheet: Sheet) -> str:
    """The place that shows a file, as its forms name it."""
    return f"rig:{sheet.id}" if sheet.kind == "rig" else "shelf:" if sheet.kind == "stock" else f"shelf:{sheet.id}"


def rigs(desk: Desk) -> list[tuple[str, str]]:
    """Every rig of the workspace: its file's id, and what it is called."""
    found = []
    for id_, (path, kind) in desk.files.listing().items():
        if kind == "rig":
            sheet = desk.files.sheet(id_)
            found.append((id_, _called(sheet) if sheet is not None else path.stem))
    return found


def _usual(desk: Desk) -> str:
    """The rig of the day the page opens with, else the first there is."""
    ids = {plain_name(path.stem): id_ for id_, (path, kind) in desk.files.listing().items() if kind == "rig"}
    day = desk.first_day()
    page = desk.files.of(day / "day.yaml") if day is not None else None
    name = page.tree.mapping.get("rig") if page is not None else None
    wanted = plain_name(name.value) if name is not None and isinstance(name.value, str) else ""
    return ids.get(wanted) or next(iter(ids.values()), "")


# ------------------------------------------------------------ values


def values(desk: Desk, sheet: Sheet, trouble: str, *, seek: bool) -> dict[str, Any]:
    """Everything the templates of a shared file need. `seek`: with what its change does to booked jobs."""
    shelf, told = _read(desk, sheet)
    tree = sheet.tree
    faults = tuple(fault_remark(fault, n) for n, fault in enumerate(told))
    lines = all_lines(sheet.text)
    parts = parts_of(sheet.kind, tree.root, _options(tree.root), lambda at: lines.get(at, (0, 0)), sheet.refused)
    said = at_fields(parts, [*refusal(sheet), *faults])
    company = shelf.company.value
    system: System = company.units if company is not None else "us"
    band = shelf.limits["plate_band"] if shelf.limits is not None else None
    return {
        **file_bits(desk, sheet, trouble), **effect_bits(desk, sheet, seek=seek),
        "title": _called(sheet), "rigs": rigs(desk), "parts": parts,
        "tabs": [(part.part, part.title, marks(faults, [one.path for one in part.items])) for part in parts],
        "said": said, "faults": faults, "fault_line": _fault_line(faults), "lines": text_lines(sheet, list(faults)),
        "edit_place": place_of(sheet), "save_asked": True, "shelf": shelf,
        "drawn": _drawings(tree.root, band, system) if sheet.kind == "rig" else {},
    }  # fmt: skip


def _read(desk: Desk, sheet: Sheet) -> tuple[Shelf, list[Fault]]:
    """The workspace as it stands here, and the faults of one file of it."""
    with unsaved(desk.files.unsaved()):
        shelf = Shelf(desk.files.folder)
        if sheet.kind == "rig":
            shelf.rig_named(sheet.path.stem)
    told = [fault for fault in shelf.faults if fault.where.file == shown(sheet.path)] or list(sheet.tree.faults)
    return shelf, list(dict.fromkeys(told))


def _called(sheet: Sheet) -> str:
    """What heads the page: a rig's own name, else the file's."""
    name = sheet.tree.mapping.get("rig") if sheet.kind == "rig" else None
    return name.value if name is not None and isinstance(name.value, str) else sheet.path.name


def _fault_line(faults: tuple[Remark, ...]) -> str:
    if not faults:
        return ""
    return f"{len(faults)} fault{'' if len(faults) == 1 else 's'}. Line {faults[0].line}: {faults[0].text}"


def effect_bits(desk: Desk, sheet: Sheet, *, seek: bool) -> dict[str, Any]:
    """What the panel of booked jobs needs."""
    effect: Effect | None = None
    if seek:
        shelf = Shelf(desk.files.folder)
        effect = effect_of(desk, sheet, booked_days(desk, shelf, sheet.path.stem if sheet.kind == "rig" else None))
    told = changes_told(effect) if effect is not None else ""
    heading = "Not saved yet" if sheet.unsaved else saved_told(effect, len(_read(desk, sheet)[1]))
    return {"effect": effect, "heading": heading, "changes": told, "what": _WHAT[sheet.kind],
            "live": _live(effect) if sheet.unsaved else ""}  # fmt: skip


_WHAT: Final = {"rig": "rig", "stock": "shelf", "surfaces": "table of surfaces", "company": "company's page"}


def _live(effect: Effect | None) -> str:
    """What a screen reader is told once the booked jobs are known."""
    if effect is None or not effect.count:
        return ""
    said = changes_told(effect)
    if not effect.changed:
        return said
    first = effect.changed[0]
    return f"{said} {first.title}: {first.before.word}, then {first.after.word}."


def changes_told(effect: Effect) -> str:
    """How many booked jobs change, as many as are listed below it."""
    moved = len(effect.moved)
    if not effect.changed:
        figures = f" Figures change in {moved}." if moved else ""
        return f"Every booked job keeps its verdict.{figures}" if moved else "No booked job changes."
    one = len(effect.changed) == 1
    more = f", and figures of {moved} more" if moved else ""
    return f"{len(effect.changed)} of {effect.count} booked jobs change{'s' if one else ''}{more}."


def saved_told(effect: Effect | None, faults: int) -> str:
    """That the file is saved, and in the same line what does not go with it."""
    rows = (*effect.changed, *effect.moved, *effect.same) if effect is not None else ()
    lost = sum(row.after.level == "fault" for row in rows)
    told = [f"{faults} fault{'' if faults == 1 else 's'}"] if faults else []
    told += [f"{lost} of {len(rows)} booked jobs {'is' if lost == 1 else 'are'} Not ready"] if lost else []
    return f"Saved, but {', '.join(told)}" if told else "Saved"


def _options(root: Node | None) -> Options:
    """The rig's own gear, by what its text names."""

    def names(part: str) -> list[tuple[str, str]]:
        many = root.value.get(part) if root is not None and isinstance(root.value, Mapping) else None
        rows = many.value if many is not None and isinstance(many.value, tuple) else ()
        found = [row.value.get("name") for row in rows if isinstance(row.value, Mapping)]
        return [(node.value, "") for node in found if node is not None and isinstance(node.value, str)]

    return {
        "pumps": names("pumps"), "feeds": [*names("tanks"), ("tap", ""), ("pond", "")], "hoses": names("hoses"),
        "dosing": [("premix", ""), *names("dosing")], "tips": names("tips"),
    }  # fmt: skip


# ------------------------------------------------------------ drawn


def _drawings(root: Node | None, band: float | None, system: System) -> dict[str, Drawn]:
    """Each pump's curve and each panel's dial by the path of its group; one with a fault has an empty place."""
    found = {}
    kinds: tuple[tuple[str, Callable[[Any], str]], ...] = (
        ("pumps", lambda raw: _pump(Pump.model_validate(raw), band, system)),
        ("dosing", lambda raw: _panel(Dosing.model_validate(raw))),
    )
    for part, drawn in kinds:
        many = node_at(root, part)
        for n, node in enumerate(many.value if many is not None and isinstance(many.value, tuple) else ()):
            raw = node.plain()
            if not isinstance(raw, dict) or (part == "dosing" and raw.get("kind") != "metered"):
                continue
            try:
                svg = drawn(raw)
            except (ValidationError, ArithmeticError, ValueError):
                svg = ""  # its faults are told at their fields
            found[f"{part}[{n}]"] = Drawn(id=f"drawn-{part}-{n}", svg=svg)
    return found


def _pump(pump: Pump, band: float | None, system: System) -> str:
    if pump.of_kind.curve == "constant":
        told = f"{pump.name} gives {show(pump.flow or 0.0, 'flow', system)} whatever the pressure."
    elif pump.by_plate:
        under = f", dashed {100 * band:.0f} % under it" if band is not None else ""
        told = f"The curve made of {pump.name}'s plate{under}."
    else:
        told = f"The curve of {pump.name} through the {len(pump.curve or ())} points in its file."
    return svg_of(pump_curve(pump, band, system, *_SIZE), told)


def _panel(device: Dosing) -> str:
    points = device.dial or ()
    if len(points) < 2:
        return ""
    off = default("panel_share_off")
    told = f"The dial of {device.name}, {100 * off:.0f} % off on either side: " + ", ".join(
        f"{100 * point.share:g} % at mark {point.setting:g}" for point in points
    )
    return svg_of(dial(points, off, *_SIZE), f"{told}.")
