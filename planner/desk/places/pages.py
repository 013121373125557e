"""The packets of a day as the crew will get them: their pages as pictures, their text, and the files themselves.

What is looked at is made of the texts as the page has them, saved or not. What is printed is what `planner packet`
prints, from the files: so it is refused while any of them is not saved.
"""

from __future__ import annotations

import hashlib
import io
import os
import pickle
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final, cast
from urllib.parse import urlencode

from flask import Flask, Response, abort, redirect, render_template, request, send_file, url_for
from werkzeug.wrappers import Response as AnyResponse

from planner.desk.checking import Answer
from planner.desk.frame import around
from planner.desk.places.company import left_of_demo
from planner.desk.state import Desk
from planner.desk.told import fault_remark
from planner.exits import apologise
from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.models import Company
from planner.inputs.workspace import load
from planner.office.printing import Asked, Print, printed, prints_of
from planner.packet.pages.pages import PAPERS
from planner.packet.sandbox import TemplateRefused
from planner.units import System

MOST_MADE: Final = 60
"""Files kept to be looked at: a day of eight jobs with owner's files and notices, twice (our choice; about 10 MB)."""

_SHARP: Final = 2.0
"""Dots of a picture to a point of paper: text of 8 pt can be read (our choice)."""

_TITLES: Final = {"day": "The day", "packet": "", "owner": "The owner's file", "notice": "Notice", "rig": "Rig card"}
_TEXT: Final = (
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""The text of the pages brings its own style along; nothing in it runs, and nothing is fetched."""

_VIEWER: Final = "default-src 'none'; object-src 'self'; style-src 'unsafe-inline'; frame-ancestors 'self'"
"""A browser's own viewer puts the file into a page of its making, as seen in Chromium."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """One file of the day as it would be printed: `pages` the titles on each of its pages; `key` names its bytes."""

    key: str
    stem: str
    what: str
    title: str
    of: str
    held: bool
    pages: tuple[str, ...]
    plan: str
    pdf: bytes
    text: bytes

    def name(self, titles: Mapping[str, str]) -> str:
        """What it is, with its job's title."""
        job = titles.get(self.of, "")
        return f"{job}: {self.title[:1].lower()}{self.title[1:]}" if job and self.title else job or self.title

    def side(self, n: int) -> str:
        """`page 2, back`; a single page has no other side to be told from."""
        return f"page {n}" if len(self.pages) == 1 else f"page {n}, {'front' if n % 2 else 'back'}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """One job of the list with its files, or why it has none."""

    number: int
    title: str
    level: str
    word: str
    why: str
    files: tuple[Sheets, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What was printed where, as the command would have told it."""

    folder: str = ""
    files: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = ()
    ours: bool = False
    refused: str = ""


class Refused(Exception):
    """A folder that nothing is printed into, and why."""


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""
    made: OrderedDict[str, Sheets] = OrderedDict()
    reports: dict[str, Report] = {}

    @app.get("/pages/<id_>")
    def pages(id_: str) -> str:
        with desk.lock:
            folder = _folder(desk, id_)
            return _shown(desk, folder, made, _asked(request.args), "packets", reports.pop(id_, None))

    @app.post("/pages/<id_>")
    def make(id_: str) -> AnyResponse | tuple[str, int]:
        """Print the day as the command does."""
        with desk.lock:
            folder, asked = _folder(desk, id_), _asked(request.form)
            into = request.form.get("folder", "")
            try:
                report = _print(desk, folder, asked, into_folder(desk.files.folder, into, folder.name))
            except Refused as refused:
                return _shown(desk, folder, made, asked, into, Report(refused=str(refused))), 409
            reports[id_] = report
            return redirect(f"{url_for('pages', id_=id_)}?{urlencode(_args(asked))}", 303)

    def kept(key: str) -> Sheets:
        if key not in made:
            abort(404, "These pages are no longer kept. Open Pages again to make them.")
        return made[key]

    @app.get("/sheet/<key>/<int:page>.png")
    def picture(key: str, page: int) -> Response:
        with desk.lock:
            sheets = kept(key)
            if not pictured() or not 1 <= page <= len(sheets.pages):
                abort(404)
            return Response(picture_of(sheets.pdf, page), mimetype="image/png")

    @app.get("/sheet/<key>.pdf")
    def pdf(key: str) -> Response:
        with desk.lock:
            sheets = kept(key)
            unsaved = [one.name for one in desk.files.waiting()]
        if unsaved:  # it would look like a packet that is on record
            return Response(
                f"Not saved: {', '.join(unsaved)}. Save it, and open this page again.", 409, mimetype="text/plain"
            )
        found = send_file(io.BytesIO(sheets.pdf), "application/pdf", download_name=f"{sheets.stem}.pdf")
        found.headers["Content-Security-Policy"] = _VIEWER
        return found

    @app.get("/sheet/<key>.html")
    def text(key: str) -> Response:
        with desk.lock:
            sheets = kept(key)
        if not sheets.text:
            abort(404)
        found = Response(sheets.text, mimetype="text/html")
        found.headers["Content-Security-Policy"] = _TEXT
        return found


def _folder(desk: Desk, id_: str) -> Path:
    folder = desk.day_of(id_)
    if folder is None:
        abort(404)
    return folder


def _asked(form: Mapping[str, str]) -> Asked:
    paper, units = form.get("paper"), form.get("units")
    return Asked(
        paper=paper if paper in PAPERS else None,
        units=cast("System", units) if units in ("us", "si") else None,
        owner=form.get("owner") == "yes",
        notice=form.get("notice") == "yes",
    )


def _args(asked: Asked) -> dict[str, str]:
    given = {"paper": asked.paper, "units": asked.units}
    ticked = {name: "yes" for name, on in (("owner", asked.owner), ("notice", asked.notice)) if on}
    return {**{name: value for name, value in given.items() if value}, **ticked}


# ------------------------------------------------------------ look


def _shown(
    desk: Desk, folder: Path, made: OrderedDict[str, Sheets], asked: Asked, into: str, report: Report | None
) -> str:
    """The place with all its pages."""
    answer = desk.answer(folder, whole=True, tables=True)
    # A twin goes with each: it is the text behind the pictures.
    prints = prints_of(Path(), answer.found, answer.days, replace(asked, html=True))
    files, faults = _made(prints, made)
    frame = around(desk, answer, "pages")
    company = answer.found[0].plan.input.company if answer.found else None
    day_id = desk.files.id_of(folder)
    titles = {job.plan.id: job.plan.title for job in answer.found}
    return render_template(
        "pages.html",
        **frame,
        day_id=day_id,
        day_files=[one for one in files if one[0].what == "day"],
        groups=_groups(answer, frame["rail"].rows, files),
        sheets=[(one.name(titles), one) for _, one in files],
        pictured=pictured(),
        size=_size(asked, company),
        count=len(prints),
        settings=_settings(asked, company),
        asked=asked,
        own_pages=company is not None and company.owner_pages == "always",
        into=into,
        report=report,
        faults=[*faults, *answer.faults],
        remark=fault_remark,
        left=left_of_demo(desk),
    )


def _made(
    prints: Sequence[Print], made: OrderedDict[str, Sheets]
) -> tuple[list[tuple[Print, Sheets]], list[Fault]]:  # fmt: skip
    """Each file, made now or kept from before. All that goes into one is in its name: another plan is another key."""
    found: list[tuple[Print, Sheets]] = []
    faults: dict[Fault, None] = {}
    for one in prints:
        key = hashlib.sha256(pickle.dumps(one.make)).hexdigest()[:32]
        if key not in made:
            try:
                printed_ = one.make()
            except TemplateRefused as refused:
                faults[refused.fault] = None
                continue
            except Exception:
                apologise(str(one.target))
                continue
            made[key] = Sheets(
                key=key, stem=one.target.stem, what=one.what, title=_TITLES[one.what], of=one.of, held=one.held,
                pages=printed_.pages, plan=printed_.plan["plan"] if printed_.plan is not None else "",
                pdf=printed_.files[".pdf"], text=printed_.files.get(".html", b""),
            )  # fmt: skip
        made.move_to_end(key)
        found.append((one, made[key]))
    while len(made) > max(MOST_MADE, len(prints)):
        made.popitem(last=False)
    return found, list(faults)


def _groups(answer: Answer, rows: Sequence[Any], files: Sequence[tuple[Print, Sheets]]) -> list[Group]:
    """The day's jobs in order, each with what is printed of it."""
    found = []
    for (path, job), row in zip(answer.jobs.items(), rows, strict=True):
        own = tuple(sheets for one, sheets in files if one.of == f"{answer.folder.name}/{path.stem}")
        why = ""
        if job is None:
            why = f"{row.word}, {row.when}. There is no packet until it can be planned."
        elif job.breaches:
            why = "Sorry, that is our mistake: its steps failed their rehearsal, so it has no packet."
        elif not own:
            why = "Sorry, that is our mistake: its packet could not be made."
        elif job.held:
            why = "Held. Its packet is one page that says why."
        found.append(
            Group(number=row.number, title=row.title, level=row.level, word=row.word, why=why, files=own)
        )  # fmt: skip
    return found


def _size(asked: Asked, company: Company | None) -> tuple[int, int]:
    wide, tall, _ = PAPERS[asked.paper or (company.page if company is not None else "letter")]
    return round(wide * _SHARP), round(tall * _SHARP)


def _settings(asked: Asked, company: Company | None) -> str:
    paper = asked.paper or (company.page if company is not None else "letter")
    units = asked.units or (company.units if company is not None else "us")
    return f"{'A4' if paper == 'a4' else 'Letter'}, {units.upper()} units."


def pictured() -> bool:
    """Whether pages can be shown as pictures here; else the browser's own viewer shows the file."""
    return _pdfium() is not None


def _pdfium() -> Any:
    try:
        import pypdfium2
    except ImportError:
        return None
    return pypdfium2


def picture_of(pdf: bytes, page: int) -> bytes:
    """One page as a PNG in grays, its boxes to write in among it."""
    document = _pdfium().PdfDocument(pdf)
    try:
        document.init_forms()
        file = io.BytesIO()
        document[page - 1].render(scale=_SHARP, grayscale=True).to_pil().save(file, "PNG")
        return file.getvalue()
    finally:
        document.close()


# ------------------------------------------------------------ print


def into_folder(workspace: Path, typed: str, day: str) -> Path:
    """The folder that a name means, taken from beside the workspace. Raises Refused for one that is elsewhere."""
    text = typed.strip()
    if not text or not text.isprintable() or text.startswith("~"):
        raise Refused("Write the name of a folder, such as packets.")
    beside = workspace.parent
    within = workspace if beside == beside.parent else beside
    try:
        folder = (beside / text).resolve()
        inside = (folder / day).resolve()
        file = folder.exists() and not folder.is_dir()
    except (OSError, RuntimeError, ValueError):
        raise Refused("This folder cannot be read. Write the name of another, such as packets.") from None
    if not folder.is_relative_to(within) or not inside.is_relative_to(folder):
        raise Refused(f"Packets are printed in {within} and the folders in it, nowhere else. Write such a folder.")
    if any(part.startswith(".") for part in folder.relative_to(within).parts):
        raise Refused("A folder whose name begins with a dot is hidden. Write another name, such as packets.")
    if file:
        raise Refused(f"{folder} is a file. Write the name of a folder, such as packets.")
    return folder


def _print(desk: Desk, folder: Path, asked: Asked, into: Path) -> Report:
    """What `planner packet FOLDER -o INTO` does. Raises Refused while a file is not saved."""
    for sheet in desk.files.each(lambda one: True):
        desk.files.sheet(sheet.id)  # looks at the disk
    if waiting := [sheet.name for sheet in desk.files.waiting()]:
        names = " and ".join((", ".join(waiting[:-1]), waiting[-1])) if len(waiting) > 1 else waiting[0]
        raise Refused(f"Nothing is printed while {names} has changes that are not saved. Save them first.")
    said: list[str] = []
    cautions: list[str] = []
    _, trouble = printed(load([folder]), into, asked, said.append, cautions.append)
    return Report(
        folder=str(into),
        files=tuple(_below(into, line) for lines in said for line in lines.splitlines()),
        cautions=tuple(cautions),
        faults=tuple(dict.fromkeys(trouble.faults)),
        ours=trouble.ours,
    )


def _below(folder: Path, line: str) -> str:
    return line.removeprefix(f"{folder}{os.sep}")
