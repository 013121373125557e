"""Done: what was done on each job typed in beside what was planned, kept as a record, and what is to be learned."""

from __future__ import annotations

import datetime
import hashlib
import json
import re
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from flask import Flask, Response, abort, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from planner.desk.done.doing import Brief, Doing, printed_on
from planner.desk.done.sent import Sent, sent_over, was_of
from planner.desk.done.sitting import (
    Sitting,
    changed,
    gone_on,
    kept,
    revising,
    take_in,
    typed_in,
)  # fmt: skip
from planner.desk.done.table import Row as Figure
from planner.desk.done.table import table, verdict
from planner.desk.done.taken import Offer
from planner.desk.files import Sheet
from planner.desk.frame import swap
from planner.desk.guard import MOST_SENT
from planner.desk.state import Desk
from planner.desk.told import Remark, sentence
from planner.faults import Fault, Where
from planner.inputs.joining.learned import NAME as LEARNED
from planner.inputs.reading.files import in_working_order
from planner.inputs.shelf import Desk as Shelf
from planner.inputs.workspace import date_of
from planner.office.compare_words import correction_line
from planner.packet.filled.pdf_in import MOST_BYTES
from planner.recording.against import RecordJob, job_asked
from planner.recording.keeping import Outcome, withdrawn
from planner.recording.sources import from_packet
from planner.recording.words import told as told_of_record

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened

_NAME: Final = re.compile(r"[^\w. -]")


# ------------------------------------------------------------ routes


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""
    doing = Doing(desk)
    app.config["doing"] = doing
    app.jinja_env.filters["sentence"] = sentence
    app.config["LARGE"]["packet"] = MOST_BYTES + MOST_SENT

    @app.get("/done")
    def done_last() -> AnyResponse:
        with desk.lock:
            today = datetime.date.today()
            days = [day for day in desk.files.days() if (date_of(day) or datetime.date.max) <= today]
            day = days[-1] if days else desk.first_day()
            return redirect(url_for("done", id_=desk.files.id_of(day)) if day is not None else url_for("none"))

    @app.get("/done/<id_>")
    def done(id_: str) -> str:
        with desk.lock:
            folder = desk.day_of(id_)
            return _day(doing, folder) if folder is not None else _job(doing, *_asked(desk, id_))

    @app.post("/done/<id_>")
    def type_in(id_: str) -> AnyResponse:
        """Entries typed in, and what a button asks for."""
        with desk.lock:
            return _posted(doing, _typed, *_asked(desk, id_))

    @app.post("/packet/<id_>")
    def packet(id_: str) -> AnyResponse:
        """A filled packet, whose entries go into the boxes that are blank."""
        with desk.lock:
            return _posted(doing, _taken_in, *_asked(desk, id_))

    @app.post("/learn/<id_>")
    def learn(id_: str) -> AnyResponse:
        """What would be learned, as a fragment; or learn it."""
        with desk.lock:
            return _posted(doing, _learned, *_asked(desk, id_))


def _asked(desk: Desk, id_: str) -> tuple[Sheet, RecordJob | list[Fault]]:
    sheet = desk.files.sheet(id_)
    if sheet is None or sheet.kind != "job":
        abort(404)
    return sheet, job_asked(sheet.path)


def _posted(
    doing: Doing, work: Callable[[Doing, Sheet, RecordJob | list[Fault]], AnyResponse], sheet: Sheet,
    job: RecordJob | list[Fault],
) -> AnyResponse:  # fmt: skip
    """The answer to a form, also where the archive refused at any step of it."""
    from planner.archive.kept.refused import ArchiveRefused

    try:
        return work(doing, sheet, job)
    except ArchiveRefused as refused:
        return _refused(sheet, doing, [refused.fault])


def _refused(sheet: Sheet, doing: Doing, faults: list[Fault]) -> AnyResponse:
    lines = [_line(fault.message, fault.remedy) for fault in faults]
    if request.headers.get("X-Desk") is not None:
        return jsonify(trouble=" ".join(lines))
    doing.say(sheet.path, "stop", *lines)
    return redirect(url_for("done", id_=sheet.id), 303)


def _line(message: str, remedy: str) -> str:
    return f"{sentence(message)} {sentence(remedy)}"


@contextmanager
def _sat(doing: Doing, job: RecordJob | list[Fault]) -> Iterator[tuple[Opened, Sitting] | list[Fault]]:
    """The archive and the record as it is; or what keeps it from being typed in. Raises ArchiveRefused."""
    if not isinstance(job, RecordJob):
        yield job
        return
    with doing.archive(job) as archive:
        found = doing.sitting(archive, job)
        yield (archive, doing.held(job.file, found)) if isinstance(found, Sitting) else found


def _day(doing: Doing, folder: Path) -> str:
    from planner.archive.kept.refused import ArchiveRefused

    paths = in_working_order(folder)
    job = job_asked(paths[0]) if paths else []
    faults: list[Fault] = job if not isinstance(job, RecordJob) else []
    briefs: list[Brief] = []
    if isinstance(job, RecordJob):
        try:
            with doing.archive(job) as archive:
                briefs = doing.briefs(archive, folder)
        except ArchiveRefused as refused:
            faults = [refused.fault]
    notes = [("stop", _line(fault.message, fault.remedy)) for fault in faults]
    return render_template("done_day.html", sheet=None, briefs=briefs, notes=notes, **doing.around(folder, briefs))


def _job(doing: Doing, sheet: Sheet, job: RecordJob | list[Fault]) -> str:
    from planner.archive.kept.refused import ArchiveRefused

    try:
        with _sat(doing, job) as found:
            if not isinstance(found, list):
                return _drawn(doing, *found, sheet)
    except ArchiveRefused as refused:
        found = [refused.fault]
    notes = [("stop", _line(fault.message, fault.remedy)) for fault in found]
    notes = list(dict.fromkeys([*notes, *doing.notes.pop(sheet.path, [])]))
    frame = doing.around(sheet.path.parent, [])
    return render_template("done_none.html", sheet=sheet, notes=notes, title=sheet.path.stem, **frame)


def _drawn(doing: Doing, archive: Opened, now: Sitting, sheet: Sheet, *, opens: bool = False) -> str:
    """The whole page of one job. Raises ArchiveRefused."""
    values = _values(doing, archive, sheet, now, opens=opens)
    values |= _lessons(doing, archive, now, shown=values["open"])
    values["notes"] = [*_unkept(now), *doing.notes.pop(sheet.path, [])]
    values["offers"] = _offers(doing, archive, sheet, now)
    doing.show(sheet.path, now)
    return render_template("done.html", **values)


def _unkept(now: Sitting) -> list[tuple[str, str]]:
    """That what was typed is in no file yet."""
    remedy = "what you typed is in no file yet: before you close the desk, make room on the disk or allow writing there"
    return [("stop", _line(now.unkept, remedy))] if now.unkept else []


def _values(doing: Doing, archive: Opened, sheet: Sheet, now: Sitting, *, opens: bool = False) -> dict[str, Any]:
    """Everything the templates of one job need."""
    found = table(now)
    typing = now.draft is not None
    revision = now.asked.revision
    ticked = doing.ticks.get(sheet.path, set())
    wanted = request.values.get("change") == "yes"
    apart = [(doubt, now.token(doubt.path)) for doubt in now.reading.doubts if doubt.path not in now.questions]
    numbers = changed(now) if revision else (0, 0)
    opens = opens or typing or wanted or bool(now.unkept) or not (revision or now.held)
    return {
        **doing.around(sheet.path.parent, doing.briefs(archive, sheet.path.parent, now, found)),
        "sheet": sheet, "sat": now, "table": found, "title": str(now.asked.plan["title"]),
        "open": opens, "printed": printed_on(archive, now),
        "plan": str(now.asked.plan["plan"]), "revision": revision, "typing": typing,
        "said": {row.path: _remark(row) for row in found.rows if row.said},
        "causes": found.causes, "was": json.dumps(now.texts),
        "verdict": verdict(now, found), "apart": apart, "ticked": ticked,
        "revising": revising(now) if revision else "", "changed": numbers,
        "kept_at": _written(now.draft) if now.draft is not None else None,
        "remarks": [one.removeprefix("# ") for one in now.remarks],
    }  # fmt: skip


def _offers(doing: Doing, archive: Opened, sheet: Sheet, now: Sitting) -> list[Offer]:
    """What the last record used of the shelf, where that was not taken off yet. Raises ArchiveRefused."""
    if not doing.on_hand.taken.get(sheet.path):
        return []
    others = sum(one.wanted and not one.recorded for one in doing.briefs(archive, sheet.path.parent))
    return doing.on_hand.offers(sheet.path, str(now.asked.plan["title"]), others, now.asked.system)


def _written(draft: Path) -> datetime.datetime:
    """When a draft was last kept; now where it was taken away meanwhile."""
    try:
        return datetime.datetime.fromtimestamp(draft.stat().st_mtime)
    except OSError:
        return datetime.datetime.now()


def _remark(row: Figure) -> Remark:
    return Remark(id=row.path, path=row.path, level=row.level, title="", text=row.said, remedy="", line=0)


def _lessons(doing: Doing, archive: Opened, now: Sitting, *, shown: bool) -> dict[str, Any]:
    """What there would be to learn, and the text it would be written as. Raises ArchiveRefused."""
    from planner.office.compare_files import learned_file

    found = doing.corrections(archive, now)
    new = [one for one in found if one.changed]
    text = learned_file(Shelf(now.job.folder), found) if new else ""
    words = {1: "Use this", 2: "Use both"}.get(len(new), f"Use all {len(new)}")
    return {
        "lessons": [correction_line(one) for one in new], "lesson_text": text, "lesson_file": LEARNED,
        "lesson_button": words if new and not shown else "", "lesson_is": _digest(text), "sheet_id": None,
    }  # fmt: skip


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


# ------------------------------------------------------------ type


def _typed(doing: Doing, sheet: Sheet, job: RecordJob | list[Fault]) -> AnyResponse:
    form, script = request.form, request.headers.get("X-Desk") is not None
    with _sat(doing, job) as found:
        if isinstance(found, list):
            return _refused(sheet, doing, found)
        archive, now = found
        do = form.get("do", "")
        if do == "older":
            doing.notes.setdefault(sheet.path, []).extend(_unkept(gone_on(archive, now)))
            return redirect(url_for("done", id_=sheet.id), 303)
        if do.startswith("onhand "):
            wanted = (do.removeprefix("onhand "), form.get("to") or None)
            offer = next((one for one in _offers(doing, archive, sheet, now) if (one.lot, one.set_to) == wanted), None)
            doing.say(sheet.path, *doing.on_hand.put(sheet.path, offer))
            return redirect(url_for("done", id_=sheet.id), 303)
        if do == "withdraw":
            return _withdraw(doing, archive, sheet, now)
        entries = {name[2:]: text for name, text in form.items() if name.startswith("a:")}
        ticks = {name[4:]: text for name, text in form.items() if name.startswith("yes:")}
        whole = "whole" in form
        shown = doing.shown(sheet.path, form.get("place", "").rpartition(":")[2])
        if shown is None:
            return _refused(sheet, doing, [_UNKNOWN])
        sent = sent_over(now, shown, entries, was_of(form.get("was", "")) if whole else None)
        if sent.told:
            return _between(doing, archive, sheet, doing.hold(sheet.path, typed_in(now, sent.changes, ())), sent)
        own = doing.ticks.setdefault(sheet.path, set())
        if whole:
            own.clear()
        own |= {token for path, token in ticks.items() if path not in now.questions and token}
        own -= {_own_token(now, path) for path, token in ticks.items() if path not in now.questions and not token}
        gone = {path for path, token in ticks.items() if path in now.questions and not token}
        after = typed_in(now, sent.changes, set(ticks.values()), gone=now.questions if whole else gone)
        doing.hold(sheet.path, after)
        if do == "keep":
            return _keep(doing, archive, sheet, after)
        if not script:
            return redirect(_open(sheet, after), 303)
        return jsonify(_fragments(doing, archive, sheet, after))


_UNKNOWN: Final = Fault(
    code="record.plan",
    message="nothing was changed: this page does not say which plan it shows",
    remedy="load it again and type the entry in once more",
    where=Where(file=""),
)


def _between(doing: Doing, archive: Opened, sheet: Sheet, now: Sitting, sent: Sent) -> AnyResponse:
    """Something came between a page and what it sent: all of that is in the boxes, and nothing is recorded."""
    lines = [sentence(one) for one in sent.told]
    if request.headers.get("X-Desk") is not None:
        lines.append("What you type is kept. Load the page again to see the figures of now.")
        return Response(jsonify(trouble=" ".join(lines)).get_data(), 409, mimetype="application/json")
    doing.say(sheet.path, "fault", "Nothing is recorded yet. What you typed is kept; look it over.")
    doing.say(sheet.path, "caution", *lines)
    return Response(_drawn(doing, archive, now, sheet, opens=True), 409)


def _open(sheet: Sheet, now: Sitting) -> str:
    """The page with its boxes, though no draft opens them."""
    return url_for("done", id_=sheet.id, change="yes" if now.draft is None else None)


def _own_token(now: Sitting, path: str) -> str:
    return revising(now) if path == "revision" else now.token(path)


def _fragments(doing: Doing, archive: Opened, sheet: Sheet, now: Sitting) -> dict[str, Any]:
    """What the page shows after an entry."""
    values = _values(doing, archive, sheet, now)
    values |= {"notes": _unkept(now), "open": True}
    parts = [swap("side", **values), swap("rail", **values), swap("kept", **values), swap("told", **values)]
    for at, group in enumerate(values["table"].groups):
        for row in group.rows:
            id_ = row.path.replace(".", "-")
            parts.append({"id": f"c-{id_}", "html": render_template("_cell.html", row=row)})
            parts.append({"id": f"t-{id_}", "html": render_template("_tick.html", row=row)})
        parts.append({"id": f"w-{at}", "html": render_template("_worked.html", group=group, at=at)})
    return {
        "saved": not now.unkept, "whole": False, "swap": parts, "live": " ".join(values["verdict"][1:]),
        "said": {path: [one.level, one.text, ""] for path, one in values["said"].items()},
    }  # fmt: skip


def _keep(doing: Doing, archive: Opened, sheet: Sheet, now: Sitting) -> AnyResponse:
    """Keep the record, or say what is to be settled first."""
    outcome = kept(archive, now, doing.ticks.get(sheet.path, set()))
    if not isinstance(outcome, Outcome):
        doing.say(sheet.path, "fault", "Nothing is kept yet.", *(_line(*one) for one in outcome))
    elif any(fault.code == "archive.busy" for fault in outcome.faults):
        doing.say(sheet.path, "fault", "Nothing is recorded yet: the archive is busy with another program. "
                  "What you typed is kept; press Keep again.")  # fmt: skip
    elif outcome.kept is None:
        doing.say(sheet.path, "stop", *(_line(fault.message, fault.remedy) for fault in outcome.faults))
    else:
        stored, content = outcome.kept.stored, outcome.kept.content
        what = f"Recorded, revision {stored.revision}: {told_of_record(content)}."
        again = f"That is revision {stored.revision} already. Nothing was changed."
        doing.say(sheet.path, "ok", what if stored.new else again)
        if stored.new:
            left = doing.on_hand.kept(sheet.path, content, now.asked.plan, stored.revision)
            doing.say(sheet.path, "caution", *left)
        doing.recorded(sheet.path)
        return redirect(url_for("done", id_=sheet.id), 303)
    return redirect(_open(sheet, now), 303)


def _withdraw(doing: Doing, archive: Opened, sheet: Sheet, now: Sitting) -> AnyResponse:
    reason = request.form.get("reason", "")
    if not reason.strip():
        doing.say(sheet.path, "fault", "Nothing was withdrawn: say why.")
        return redirect(url_for("done", id_=sheet.id), 303)
    found = withdrawn(archive, now.job, request.form.get("revision", ""), reason)
    if isinstance(found, Fault):
        return _refused(sheet, doing, [found])
    doing.say(sheet.path, "ok", f"{found}.")
    return redirect(url_for("done", id_=sheet.id), 303)


def _taken_in(doing: Doing, sheet: Sheet, job: RecordJob | list[Fault]) -> AnyResponse:
    sent = request.files.get("packet")
    if sent is None or not sent.filename:
        doing.say(sheet.path, "fault", "No file was chosen. Choose the packet as it was saved after filling.")
        return redirect(url_for("done", id_=sheet.id), 303)
    name = _NAME.sub("_", sent.filename.replace("\\", "/").rpartition("/")[2])[-80:].strip(". ") or "packet.pdf"
    with _sat(doing, job) as found, tempfile.TemporaryDirectory() as folder:
        if isinstance(found, list):
            return _refused(sheet, doing, found)
        archive, now = found
        path = Path(folder) / name
        sent.save(path)
        source = from_packet(path)
        if isinstance(source, list):
            return _refused(sheet, doing, source)
        taken = take_in(archive, now, source)
        if isinstance(taken, list):
            return _refused(sheet, doing, taken)
        count = f"{taken.count} {'entry' if taken.count == 1 else 'entries'}"
        doing.say(sheet.path, "ok", f"{count} of {name} taken in. Nothing is recorded yet.")
        doing.say(sheet.path, "caution", *(sentence(one) for one in taken.notes))
    return redirect(url_for("done", id_=sheet.id), 303)


def _learned(doing: Doing, sheet: Sheet, job: RecordJob | list[Fault]) -> AnyResponse:
    from planner.office.compare_files import apply_learned

    with _sat(doing, job) as found:
        if isinstance(found, list):
            return _refused(sheet, doing, found)
        archive, now = found
        if request.form.get("do") != "apply":
            lessons = _lessons(doing, archive, now, shown=True)
            return jsonify({"saved": True, "whole": True, "swap": [swap("lessons", sheet=sheet, **lessons)]})
        lessons = _lessons(doing, archive, now, shown=now.draft is not None)
        if not lessons["lesson_button"] or request.form.get("is") != lessons["lesson_is"]:
            doing.say(sheet.path, "caution", "Nothing was changed: the records say something else by now. Look again.")
            return redirect(url_for("done", id_=sheet.id), 303)
        unwritten = apply_learned(archive, now.job.folder, Shelf(now.job.folder), doing.corrections(archive, now))
        if unwritten is not None:
            return _refused(sheet, doing, [unwritten])
        doing.say(sheet.path, "ok", f"{LEARNED} now has this. {'. '.join(lessons['lessons'])}.")
    return redirect(url_for("done", id_=sheet.id), 303)
