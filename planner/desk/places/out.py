"""A job, an empty day or a rig taken out, behind a second press that names what goes; nothing on paper or on record.

The file goes to a name beside it that nothing reads, so it can be put back.
"""

from __future__ import annotations

import datetime
from pathlib import Path

from flask import Flask, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from planner.desk.frame import OUT, around, out_of
from planner.desk.gear.booked import rigs_of
from planner.desk.places import drives
from planner.desk.places.drives import Refused
from planner.desk.places.order import known, moved_to
from planner.desk.state import Desk
from planner.inputs.reading.files import date_of, in_working_order, is_there, listed_files, plain_name
from planner.writing import write_whole

_SO = "it stays"


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""

    @app.route("/out/<id_>", methods=["GET", "POST"])
    def out(id_: str) -> AnyResponse | tuple[str, int]:
        """Name what goes; with the second press it goes."""
        with desk.lock:
            path = desk.day_of(id_) or _file(desk, id_)
            day = desk.files.id_of(path.parent) if path.suffix and path.parent.name != "rigs" else ""
            why = ""
            try:
                _may_go(desk, path)
                if request.method == "POST":
                    _gone(desk, path)
                    desk.files.listing()
                    return redirect(url_for("day", id_=day) if day else "/rig" if path.suffix else "/", 303)
            except Refused as refused:
                why = str(refused)
            back = f"/day/{id_}" if not path.suffix else f"/rig/{id_}" if not day else f"/job/{id_}"
            found = {"id": id_, "name": _name(path), "target": _target(path).name, "why": why, "back": back}
            page = render_template("out.html", **found, **around(desk, None, "rig" if "/rig" in back else "day", day))
            return page, 409 if why and request.method == "POST" else 200

    @app.post("/back/<id_>")
    def back(id_: str) -> AnyResponse:
        """Put a job back that was taken out."""
        with desk.lock:
            folder, name = desk.day_of(id_), request.form.get("file", "")
            if folder is None or name not in out_of(folder):
                abort(404)
            page = desk.files.of(folder / "day.yaml")
            try:
                _put_back(desk, folder, name)
            except Refused as refused:
                if page is not None:
                    page.note = str(refused)
            return redirect(url_for("day", id_=id_), 303)


def _file(desk: Desk, id_: str) -> Path:
    sheet = desk.files.sheet(id_)
    if sheet is None or sheet.kind not in ("job", "rig"):
        abort(404)
    return sheet.path


def _name(path: Path) -> str:
    return path.name if path.parent.name == "rigs" or not path.suffix else f"{path.parent.name}/{path.name}"


def _target(path: Path) -> Path:
    """A name beside it that nothing reads or has; a day's folder is hidden too, for its name alone is a day."""
    bare = path.name if path.suffix else f".{path.name}"
    names = (f"{bare}{OUT}", *(f"{bare}.{n}{OUT}" for n in range(2, 100)))
    return next(one for name in names if not is_there(one := path.with_name(name)))


def _may_go(desk: Desk, path: Path) -> None:
    """Refuse what is on paper, on record, named elsewhere or not saved. Raises Refused."""
    if not path.suffix:
        jobs = in_working_order(path)
        if jobs:
            raise Refused(
                f"There {'is a job' if len(jobs) == 1 else f'are {len(jobs)} jobs'} in it. Take those out first."
            )
        sheet = desk.files.of(path / "day.yaml")
        if sheet is not None and sheet.unsaved:
            raise Refused("Its page has changes that are not saved. Save or undo them first.")
        return
    sheet = desk.files.of(path)
    if path.is_symlink():
        raise Refused(f"{path.name} is a link to another file. Take it out where it is.")
    if sheet is not None and sheet.unsaved:
        raise Refused(f"{sheet.name} has changes that are not saved. Save or undo them first.")
    if path.parent.name == "rigs":
        today = datetime.date.today()
        days = [day for day in desk.files.days() if plain_name(path.stem) in rigs_of(day)]
        if days:
            ahead = next((day for day in days if (date_of(day) or today) >= today), days[-1])
            raise Refused(f"{ahead.name} names this rig, so it stays. Give that day another rig first.")
        return
    beside = [one for one in listed_files(path.parent) if one.name.startswith(f"{path.name}.") and one.suffix == OUT]
    known(desk, path.parent, {path: path, **{one: one for one in beside}}, _SO)


def _gone(desk: Desk, path: Path) -> None:
    """Give it its other name; of a job the day's drives go along. Raises Refused."""
    target = _target(path)
    try:
        if not path.suffix:
            path.rename(target)
            desk.files.forget(path / "day.yaml")
            return
        if path.parent.name == "rigs":
            moved_to(path, target)
        else:
            before = [one.stem for one in in_working_order(path.parent)]
            _with_drives(desk, path, target, before, [stem for stem in before if stem != path.stem], "is taken out")
    except OSError as error:
        raise Refused(f"It could not be taken out: {error.strerror or error}.") from None
    desk.files.forget(path)
    desk.kept.pop(path, None)


def _put_back(desk: Desk, folder: Path, name: str) -> None:
    path = folder / name
    before = [one.stem for one in in_working_order(folder)]
    after = sorted([*before, path.stem], key=lambda stem: (int(stem.partition("-")[0][:9]), stem))
    if is_there(path):
        raise Refused(f"{name} is there again, so what was taken out stays out.")
    try:
        _with_drives(desk, path.with_name(f"{name}{OUT}"), path, before, after, "is back")
    except OSError as error:
        raise Refused(f"It could not be put back: {error.strerror or error}.") from None


def _with_drives(desk: Desk, old: Path, new: Path, before: list[str], after: list[str], what: str) -> None:
    """Rename a job's file and save the day's page with the drives it then has, or neither. Raises Refused, OSError."""
    page = desk.files.of(old.parent / "day.yaml")
    texts, asked = drives.page_texts(desk, page, {stem: stem for stem in before}, after)
    moved_to(old, new)
    try:
        if page is not None and texts is not None and texts[0] != page.base:
            write_whole(page.path, texts[0], desk.files.folder, was=page.base)
    except OSError:
        moved_to(new, old)
        raise
    name = (new if old.name.endswith(OUT) else old).name
    drives.take(page, texts, f"{name} {what}.", asked)
    desk.files.listing()
