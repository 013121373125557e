"""One job: its form by parts and its file, and beside it what the checks say of it at this very moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from flask import Flask, abort, g, jsonify, render_template, request
from werkzeug.wrappers import Response as AnyResponse

from planner.checks.model import CheckedJob
from planner.desk.checking import Answer
from planner.desk.files import Sheet
from planner.desk.form import Options, fields_in, parts_of
from planner.desk.frame import around, file_bits, swap
from planner.desk.state import Desk
from planner.desk.told import Remark, Told, fault_remark, marks, told
from planner.faults import Fault, Where
from planner.inputs.models import Rig
from planner.inputs.reading.files import is_there, plain_name, shown
from planner.inputs.reading.spans import all_lines
from planner.inputs.shelf import Desk as Shelf
from planner.inputs.tables.chemicals import CHEMICALS
from planner.units import System, show


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""

    @app.get("/job/<id_>")
    def job(id_: str) -> str:
        with desk.lock:
            sheet = desk.files.sheet(id_)
            if sheet is None or sheet.kind != "job":
                abort(404)
            answer = desk.answer(sheet.path.parent, whole=True)
            return render_template("job.html", **values(desk, sheet, answer), **around(desk, answer, "job"))

    @app.post("/cures/<id_>")
    def cures(id_: str) -> AnyResponse:
        """The second answer: remedies, the rehearsal, a better order."""
        with desk.lock:
            sheet = desk.files.sheet(id_)
            if sheet is None or sheet.kind != "job":
                abort(404)
            return jsonify(_fragments(desk, sheet, "", whole=True))


def fragments(desk: Desk, sheet: Sheet, at: str, trouble: str) -> dict[str, Any]:
    """What the place shows after a change."""
    return _fragments(desk, sheet, trouble, whole=False)


def _fragments(desk: Desk, sheet: Sheet, trouble: str, *, whole: bool) -> dict[str, Any]:
    answer = desk.answer(sheet.path.parent, whole=whole, until=None if whole else sheet.path)
    found = {**values(desk, sheet, answer, trouble), **around(desk, answer, "job")}
    names: tuple[str, ...] = (
        ("answer", "rail") if whole else ("answer", "rail", "file", "tabs", "state", "notes", "head")
    )
    names += () if whole else form_too(trouble)  # what was refused stays in its box as it was typed
    return {
        "version": sheet.version, "saved": not sheet.unsaved, "whole": whole,
        "swap": [swap(name, **found) for name in names],
        "said": {path: [one.level, one.text, one.remedy] for path, one in found["said"].items()},
        "lines": {field.path: field.lines for part in found["parts"] for field in fields_in((*part.items, *part.more))
                  if field.lines[0]},
        "live": _live(found),
    }  # fmt: skip


def form_too(trouble: str = "") -> tuple[str, ...]:
    """The form itself too, unless somebody is typing in it or what was typed could not be taken: then only what is said
    beside its fields changes. One that showed an older text is never left as it is."""
    if g.get("stale"):
        return ("form",)
    return () if trouble or request.form.get("typing") or g.get("refused") else ("form",)


def refusal(sheet: Sheet) -> tuple[Remark, ...]:
    """What keeps a typed value out of the text, to be said at its box."""
    if not sheet.refused:
        return ()
    return (fault_remark(_fault(sheet), 99),)


def _fault(sheet: Sheet) -> Fault:
    where = Where(file=shown(sheet.path), path=sheet.refused_at)
    return Fault(code="desk.refused", message=sheet.refused_why, remedy="change it in the text", where=where)


def _live(found: Mapping[str, Any]) -> str:
    """What a screen reader is told once the verdict changed."""
    if found["told"] is None:
        first = found["faults"][0] if found["faults"] else None
        return f"Not ready. Line {first.line}: {first.text}" if first is not None else "Not ready."
    said = found["told"]
    stop = next((one for one in said.stops if not one.accepted), None)
    return f"{said.word}. {stop.text}" if stop is not None else f"{said.word}. {said.count}"


def values(desk: Desk, sheet: Sheet, answer: Answer, trouble: str = "") -> dict[str, Any]:
    """Everything the job's templates need."""
    path = sheet.path
    job, kept = answer.jobs.get(path), desk.kept.get(path)
    faults = tuple(fault_remark(fault, n) for n, fault in enumerate(answer.faults_of(path)))
    elsewhere = [fault for fault in answer.faults if fault not in answer.faults_of(path)]
    tree = sheet.tree
    kind = tree.mapping.get("kind")
    form_kind = "yard" if kind is not None and kind.value == "yard" else "job"
    lines = all_lines(sheet.text)
    options = _options(answer, path)
    parts = parts_of(form_kind, tree.root, options, lambda at: lines.get(at, (0, 0)), sheet.refused)
    now = _at_lines(lines, told(job, answer.system)) if job is not None else None
    remarks = [*faults, *((*now.stops, *now.cautions) if now is not None else ())]
    title = tree.mapping.get("job")
    site = tree.mapping.get("site")
    address = site.value.get("address") if site is not None and isinstance(site.value, Mapping) else None
    return {
        **file_bits(desk, sheet, trouble),
        "title": title.value if title is not None and isinstance(title.value, str) else path.stem,
        "address": address.value if address is not None and isinstance(address.value, str) else "",
        "parts": parts,
        "tabs": [(part.part, part.title, marks(remarks, [one.path for one in part.items])) for part in parts],
        "said": at_fields(parts, [*refusal(sheet), *remarks]), "told": now, "faults": faults,
        "elsewhere": [(fault.where.file, fault.where.line, fault.message, fault.remedy) for fault in elsewhere],
        "last": told(kept.job, kept.system) if now is None and kept is not None else None,
        "last_at": kept.at if kept is not None else answer.at, "at": answer.at, "whole": answer.whole,
        "elsewhere_at": _elsewhere(desk, path, job),
        "ours": answer.ours, "lines": text_lines(sheet, remarks), "edit_place": "job:",
    }  # fmt: skip


def _elsewhere(desk: Desk, path: Path, job: CheckedJob | None) -> dict[str, str]:
    """The pages of what a job shares with others, by how a finding's key begins."""
    files = desk.files
    rig = Shelf(files.folder).rig_files().get(plain_name(job.plan.input.rig.rig)) if job is not None else None
    found = {"stock": "/shelf", "company": "/company", "day": f"/day/{files.id_of(path.parent)}"}
    return {**found, "rig": f"/rig/{files.id_of(rig)}"} if rig is not None and files.of(rig) is not None else found


def _at_lines(lines: Mapping[str, tuple[int, int]], said: Told) -> Told:
    """The same with every finding at the line of its key in this file; 0 where its key is in another one."""

    def placed(one: Remark) -> Remark:
        # A rig written in the job itself has its lines here.
        other = one.path.partition(".")[0] in ("company", "day", "stock", "rig") and one.written not in lines
        return replace(one, line=0 if other else lines.get(one.written, (one.line, 0))[0])

    return replace(said, stops=tuple(map(placed, said.stops)), cautions=tuple(map(placed, said.cautions)))


def at_fields(parts: Any, remarks: list[Remark]) -> dict[str, Remark]:
    """The worst remark of each field: at its own key, or else at the first field that stands below or above it."""
    paths = [field.path for part in parts for field in fields_in((*part.items, *part.more))]
    known = set(paths)
    found: dict[str, Remark] = {}
    order = ("fault", "stop", "caution")
    for one in sorted((one for one in remarks if not one.accepted), key=lambda one: order.index(one.level)):
        above = [path for path in known if one.path.startswith((f"{path}.", f"{path}["))]
        at = (
            one.path
            if one.path in known
            else next((path for path in paths if path.startswith((f"{one.path}.", f"{one.path}["))), "")
            or max(above, key=len, default="")
        )
        if one.path and at:
            found.setdefault(at, one)
    return found


def text_lines(sheet: Sheet, remarks: list[Remark]) -> list[tuple[int, str, str]]:
    """The file's lines with their numbers and the worst level that stands on each."""
    levels: dict[int, str] = {}
    for one in reversed(remarks):
        levels[one.line] = one.level
    text = sheet.plain
    return [(n, line, levels.get(n, "")) for n, line in enumerate((text or "").splitlines(), 1)]


def _options(answer: Answer, path: Path) -> Options:
    """Names that may stand at keys: of the day's rig, the shelf and the tables."""
    shelf = Shelf(_workspace(path))
    job = answer.inputs.get(path)
    rig = job.rig if job is not None else _days_rig(shelf, path)
    system: System = answer.system
    stock = shelf.stock.value
    lots = [(lot.name, lot.chemical) for lot in stock.lots] if stock is not None else []
    found: dict[str, list[tuple[str, str]]] = {
        "rigs": [(one.stem, "") for one in shelf.rig_files().values()],
        "stock": [*lots, *((name, "") for name in CHEMICALS if name not in dict(lots))],
        "kinds": [(kind, "") for kind in sorted(shelf.kinds())],
        "walls": [(wall.name, "") for wall in job.surfaces] if job is not None else [],
    }
    if rig is not None:
        found |= {
            "setups": [
                (one.name, ", ".join(str(hose) for hose in one.hoses if isinstance(hose, str))) for one in rig.setups
            ],
            "pumps": [(one.name, "") for one in rig.pumps],
            "feeds": [*((one.name, "") for one in rig.tanks), ("tap", ""), ("pond", "")],
            "dosing": [("premix", ""), *((one.name, "") for one in rig.dosing)],
            "hoses": [
                (one.name, f"{show(one.bore, 'bore', system)}, {show(one.length, 'length', system)}")
                for one in rig.hoses
            ],
            "tips": [(one.name, one.pattern.replace("_", " ")) for one in rig.tips],
        }
    return found


def _workspace(path: Path) -> Path:
    return next(folder for folder in path.parents if is_there(folder / "company.yaml"))


def _days_rig(shelf: Shelf, path: Path) -> Rig | None:
    node = shelf.tree(path.parent / "day.yaml").mapping.get("rig")
    document = shelf.rig_named(node.value) if node is not None and isinstance(node.value, str) else None
    return document.value if document is not None else None
