"""A new job and a new day: the questions of `planner new` in one form, with the same words, defaults and readers.

The walk is asked with what the form holds. A question without an answer that can be taken gets one to go on with, so
that all faults are told at once; nothing is written until no such answer is left. A file that is there is never
written over.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping, Sequence
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final, Generic, TypeAlias, TypeVar

from flask import Flask, abort, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from planner.desk.checking import answer_for
from planner.desk.frame import around, day_title, swap
from planner.desk.gear import rig_place
from planner.desk.places import drives
from planner.desk.places.company import left_of_demo
from planner.desk.state import Desk
from planner.desk.told import Told, fault_remark
from planner.desk.told import told as verdict_of
from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.reading.files import file_fault, is_there
from planner.inputs.workspace import date_of
from planner.interview.answers import Choice, Here, here_of, yes
from planner.interview.asking import Question, Unfit, Walk, hold_plain
from planner.interview.day import drive, new_day
from planner.interview.draft import put
from planner.interview.questions import NO_RIG, answered, nothing_to_go_by
from planner.interview.text import Written
from planner.interview.trial import lay_out, tried

Made = TypeVar("Made")
Answered: TypeAlias = AnyResponse | str | tuple[AnyResponse | str, int]

_PARTS: Final = (
    (r"rig|crew|leave yard|forecast .*|heel .*", "The day"),
    (r"job|kind|address|like|site (contact|notes)", "The job"),
    (r"height.*|surfaces as then", "What is washed"),
    (r"surface ([0-9]+).*", "Surface {}"),
    (r"setup|run .*|uphill|standoff|past_eave", "How it is sprayed"),
    (r"water.*|site altitude", "Water"),
    (r"access.*|power line|.*ladder|slope|roof .*", "Getting to the work"),
    (r"near.*", "What is near"),
    (r"yard .*", "In the yard"),
    (r"file|drive", "Its place in the day"),
)
"""Which part of the form a question is in; any other one belongs to the mix."""

_TO_GO_ON: Final = (
    "new job", "1 x 1 ft", "1", "1 ft", "1 ft2", "6/12", "1 %", "yes", "1 min", "07:00",
)  # fmt: skip
"""Answers to go on with where there is none that can be taken: the first that a question takes."""

_MOST: Final = 600
"""Questions of one form (our choice: sixty surfaces)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One question of the form: `told` is what is wrong with its answer, `fresh` that it was not there to be seen."""

    key: str
    id: str
    about: str
    unit: str
    value: str
    blank: str | None
    names: tuple[str, ...]
    list: tuple[str, ...]
    more: str
    told: tuple[str, ...]
    fresh: bool
    part: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked(Generic[Made]):
    """A walk with a form's answers: `made` what it comes to, None while an answer is missing or cannot be taken."""

    fields: tuple[Field, ...]
    made: Made | None


def asked(walk: Walk[Made], given: Mapping[str, str] | None, *, sent: bool = True) -> Asked[Made]:
    """Ask every question of what the form holds; `given` None: the form is new, and nothing in it can be wrong.

    Not `sent`: somebody is still writing, so what is missing is not told yet.
    """
    fields: list[Field] = []
    whole = given is not None
    answers = given or {}
    try:
        question = next(walk)
        while len(fields) < _MOST:
            text = " ".join(answers.get(question.key, "").split())
            fresh = given is not None and question.key not in given
            value, told = _read(question, text)
            taken = not told
            if fresh or given is None or not (text or sent):
                told = ()
            whole = whole and taken and not fresh
            fields.append(_field(question, text, told, fresh))
            question = walk.send(value if taken else _to_go_on(question))
    except StopIteration as done:
        made: Made = done.value
        return Asked(fields=tuple(fields), made=made if whole else None)
    except Unfit:
        pass  # nothing can be answered here until what comes before is
    return Asked(fields=tuple(fields), made=None)


def _read(question: Question, text: str) -> tuple[Any, tuple[str, ...]]:
    """What an answer means, or what is wrong with it."""
    if not text:
        return None, () if question.blank is not None else ("An answer is needed here.",)
    try:
        hold_plain(text)
        return question.read(text), ()
    except Unfit as unfit:
        return None, tuple(_said(message, remedy) for message, remedy in unfit.told)


def _to_go_on(question: Question) -> Any:
    """An answer that stands in for one that is missing. Raises Unfit where none fits."""
    if question.blank is not None:
        return None
    for text in _TO_GO_ON:
        try:
            return question.read(text)
        except Unfit:
            continue
    raise Unfit(("an answer is needed here", "write it"))


def _said(message: str, remedy: str) -> str:
    one = fault_remark(Fault(code="new.answer", message=message, remedy=remedy, where=Where(file="")), 0)
    return f"{one.text} {one.remedy}".strip()


def _field(question: Question, text: str, told: tuple[str, ...], fresh: bool) -> Field:
    names = question.read.names if isinstance(question.read, Choice) else ("yes", "no") if question.read is yes else ()
    shown = () if isinstance(question.read, Choice) else question.before
    if text and names and text not in names:
        try:
            value = question.read(text)
            text = value if isinstance(value, str) else "yes" if value else "no"
        except Unfit:
            names = (*names, text)  # what was sent stays to be seen
    more = question.more.splitlines()[:1]
    bare = [line.strip().replace("`", "") for line in shown]
    return Field(
        key=question.key, id=f"q-{re.sub(r'[^a-z0-9]+', '-', question.key.casefold())}",
        about=question.about.replace("`", ""), list=tuple(bare), more=" ".join(more).replace("`", ""),
        unit=question.unit.replace("{}", ".."), value=text, blank=question.blank, names=names,
        told=told, fresh=fresh, part=_part(question.key),
    )  # fmt: skip


def _part(key: str) -> str:
    for pattern, title in _PARTS:
        if found := re.fullmatch(pattern, key):
            return title.format(*found.groups())
    return "The mix"


# ------------------------------------------------------------ routes


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""

    @app.get("/none")
    def none() -> AnyResponse | str:
        with desk.lock:
            if desk.files.days():
                return redirect("/")
            return render_template(
                "none.html", tomorrow=_tomorrow().isoformat(), left=left_of_demo(desk), rigs=rig_place.rigs(desk),
                **around(desk, None, "day"),
            )  # fmt: skip

    @app.route("/new/<id_>", methods=["GET", "POST"])
    def new(id_: str) -> Answered:
        with desk.lock:
            folder = desk.day_of(id_)
            if folder is None:
                abort(404)
            return _new_job(desk, folder)

    @app.route("/newday", methods=["GET", "POST"])
    def newday() -> Answered:
        with desk.lock:
            return _new_day(desk)


def _given(desk: Desk, of: str) -> dict[str, str] | None:
    """What the form holds, by the questions' keys, else what it held when it was left; None where there is neither."""
    sent = {name.removeprefix("a:"): text for name, text in request.form.items() if name.startswith("a:")}
    if sent:
        desk.drafts[of] = {**sent, **({"date": request.form["date"]} if "date" in request.form else {})}
    return sent or desk.drafts.get(of)


def _new_job(desk: Desk, folder: Path) -> Answered:
    draft = f"new {desk.files.id_of(folder)}"
    if request.form.get("do") == "afresh":
        desk.drafts.pop(draft, None)
        return redirect(url_for("new", id_=desk.files.id_of(folder)), 303)
    here = here_of(str(folder), None)
    faults = here if isinstance(here, list) else nothing_to_go_by(here)
    if isinstance(here, list) or faults:
        return _page(desk, folder, fields=(), faults=faults), 409 if request.method == "POST" else 200
    found = asked(_job(here), _given(desk, draft), sent="do" in request.form)
    do, status, said = request.form.get("do", ""), 200, None
    if found.made is not None:
        made, minutes = found.made
        faults = tried(here, made)
        if do == "anyway" or (do == "write" and not faults):
            fault = put(here, made)
            if fault is None:
                desk.drafts.pop(draft, None)
                return redirect(_written(desk, made, minutes), 303)
            faults, status = [fault], 409
        if do == "look" and not faults:
            said = _verdict(here, made)
        shown = _page(
            desk, folder, fields=found.fields, faults=faults, text=made.text, page=made.page, said=said, draft=draft
        )
        return shown, status
    return _page(desk, folder, fields=found.fields, faults=[], draft=draft)


def _verdict(here: Here, made: Written) -> Told | None:
    """What the checks say of the job before it is a file; None where no copy can be made to try it in."""
    try:
        with TemporaryDirectory(prefix="planner-new-") as name:
            copy = Path(name).resolve()
            lay_out(here, copy)
            day = copy / here.day.relative_to(here.workspace)
            (day / made.file.name).write_text(made.text, encoding="utf-8")
            if made.page is not None:
                (day / here.page.name).write_text(made.page, encoding="utf-8")
            answer = answer_for(day, {}, whole=True)
            job = answer.jobs.get(day / made.file.name)
            return verdict_of(job, answer.system) if job is not None else None
    except OSError:
        return None


def _job(here: Here) -> Walk[tuple[Written, str | None]]:
    """The job, and the drive to it where the day has its page already."""
    made = yield from answered(here)
    minutes = (yield from drive()) if here.dated and not here.asks_day else None
    return made, minutes


def _written(desk: Desk, made: Written, minutes: str | None) -> str:
    """The new job's page; the drive to it goes into the day's, and the one after it is asked for again."""
    sheet = desk.files.of(made.file)
    page = desk.files.of(made.file.parent / "day.yaml")
    if sheet is None:
        abort(404)
    if page is not None and minutes is not None:
        stem = made.file.stem
        try:
            sheet.note = drives.again(drives.put_in(desk, page, made.file, minutes))
        except (drives.Refused, OSError):
            sheet.note = f"The drive could not be written. Write it into the day's page: drive: {{{stem}: {minutes}}}."
    return url_for("job", id_=sheet.id)


def _new_day(desk: Desk) -> Answered:
    if request.form.get("do") == "afresh":
        desk.drafts.pop("newday", None)
        return redirect(url_for("newday"), 303)
    left = desk.drafts.get("newday", {}).get("date", "")
    days = [date for day in desk.files.days() if (date := date_of(day)) is not None]
    usual = max([_tomorrow(), *(date + datetime.timedelta(days=1) for date in days)])
    typed = (request.form.get("date") or request.args.get("date") or left or usual.isoformat()).strip()
    here, faults = _day_here(desk, typed)
    if here is None:
        return _page(desk, None, fields=(), faults=faults, date=typed), 409 if request.method == "POST" else 200
    found = asked(new_day(here), _given(desk, "newday"), sent="do" in request.form)
    text = ""
    if found.made is not None:
        text = found.made.text
        if request.form.get("do") == "write":
            fault = put(here, found.made)
            if fault is None:
                desk.drafts.pop("newday", None)
                return redirect(url_for("day", id_=desk.files.id_of(here.day)), 303)
            return _page(desk, None, fields=found.fields, faults=[fault], text=text, date=typed), 409
    return _page(desk, None, fields=found.fields, faults=[], text=text, date=typed, draft="newday")


def _day_here(desk: Desk, date: str) -> tuple[Here | None, list[Fault]]:
    """The place of a day that has no page yet, or why there is none."""
    folder = desk.files.folder / (date if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", date) else "day")
    if date_of(folder) is None:
        remedy = "write it as year, month, day, such as `2026-06-11`"
        return None, [file_fault("new.place", folder, f"`{date[:40]}` is not a date", remedy)]
    if folder.is_symlink() or is_there(folder / "day.yaml"):
        return None, [file_fault("new.exists", folder, "this day is there already", "open it, or write another date")]
    here = here_of(str(folder), None)
    if isinstance(here, list):
        return None, here
    faults = nothing_to_go_by(here)
    return (None, faults) if faults else (here, [])


def _tomorrow() -> datetime.date:
    return datetime.date.today() + datetime.timedelta(days=1)


def _page(
    desk: Desk, folder: Path | None, *, fields: Sequence[Field], faults: Sequence[Fault], text: str = "",
    page: str | None = None, date: str = "", said: Told | None = None, draft: str = "",
) -> AnyResponse | str:  # fmt: skip
    """The form; for a script only what it takes the place of, and without planning the day."""
    found = {
        "parts": [(part, list(own)) for part, own in groupby(fields, key=lambda one: one.part)],
        "wrong": sum(bool(one.told) for one in fields), "fresh": sum(one.fresh for one in fields),
        "faults": [fault_remark(fault, n) for n, fault in enumerate(faults)], "said": said,
        "no_rig": any(fault.code == "new.rig" and fault.message == NO_RIG for fault in faults),
        "draft": request.method == "GET" and draft in desk.drafts, "text": text, "day_text": page,
        "date": date, "of_day": folder is None, "sent": "do" in request.form,
        "action": url_for("newday") if folder is None else url_for("new", id_=desk.files.id_of(folder)),
        "where": day_title(folder, "us") if folder is not None else "",
    }  # fmt: skip
    if request.headers.get("X-Desk") is not None:
        return jsonify(swap=[swap("new", **found)])
    answer = desk.answer(folder, whole=True) if folder is not None else None  # no second answer follows here
    return render_template("new.html", **found, **around(desk, answer, "day"))
