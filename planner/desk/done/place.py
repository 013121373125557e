"""Done: what was done on each job typed in beside what was planned, kept as a record, and what is to be learned."""

from __future__ import annotations

import datetime
import hashlib
import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from glob import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from flask import Flask, abort, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from planner.days.archiving import address_of
from planner.desk.done.sitting import (
    Sitting,
    changed,
    gone_on,
    kept,
    revising,
    sitting,
    take_in,
    typed_in,
)  # fmt: skip
from planner.desk.done.table import Row as Figure
from planner.desk.done.table import Table, pair_now, table, verdict
from planner.desk.done.taken import Offer, OnHand
from planner.desk.files import Sheet
from planner.desk.frame import Rail, Row, around, day_title, days_jobs, swap
from planner.desk.guard import MOST_SENT
from planner.desk.state import Desk
from planner.desk.told import Remark, sentence
from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.joining.learned import NAME as LEARNED
from planner.inputs.shelf import Desk as Shelf
from planner.inputs.workspace import date_of
from planner.office.compare_words import correction_line
from planner.packet.filled.pdf_in import MOST_BYTES
from planner.recording.against import RecordJob, job_asked
from planner.recording.drafts import DRAFT
from planner.recording.keeping import Outcome, withdrawn
from planner.recording.sources import from_packet
from planner.recording.words import told as told_of_record
from planner.units import System
from planner.words.dates import short_date

if TYPE_CHECKING:
    from planner.archive.compare.comparison import Told
    from planner.archive.compare.learn import Correction
    from planner.archive.kept.opening import Opened

_STATES: Final = {"done": "done", "part": "done in part", "cancelled": "canceled", "moved": "moved"}
_NOT_DONE: Final = ("cancelled", "moved")
_NAME: Final = re.compile(r"[^\w. -]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief:
    """Where one job's record is: `row` for the rail, `status` and what there is of it."""

    row: Row
    status: str
    recorded: bool
    wanted: bool
    typed: int
    outside: int
    plan: str
    printed: str


class Doing:
    """What the place holds beside the files: notes for the next page, ticks of what no draft keeps, what other records
    said when they were last read."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.notes: dict[Path, list[tuple[str, str]]] = {}
        self.ticks: dict[Path, set[str]] = {}
        self.on_hand = OnHand(desk)
        self._briefs: dict[Path, tuple[object, Brief]] = {}
        self._told: tuple[object, dict[str, Told]] | None = None

    def say(self, path: Path, level: str, *lines: str) -> None:
        """Something for the next page of a job."""
        self.notes.setdefault(path, []).extend((level, line) for line in lines if line)

    @contextmanager
    def archive(self, job: RecordJob) -> Iterator[Opened]:
        """The archive of the workspace. Raises ArchiveRefused."""
        from planner.archive.kept import opening

        with opening.opened(address_of(job.company), job.folder) as archive:
            yield archive

    def told(self, archive: Opened) -> dict[str, Told]:
        """What each record that is kept says, read anew where one came in. Raises ArchiveRefused."""
        from planner.archive.compare.comparison import Told, told_of
        from planner.archive.compare.pairs import pairs
        from planner.archive.kept.store import stamp

        key = stamp(archive)
        if self._told is None or self._told[0] != key:
            read = ((pair.job, told_of(pair)) for pair in pairs(archive))
            self._told = (key, {job: one for job, one in read if isinstance(one, Told)})
        return self._told[1]

    def corrections(self, archive: Opened, now: Sitting) -> list[Correction]:
        """What there would be to learn with this record as it is. Raises ArchiveRefused."""
        from planner.archive.compare.comparison import compared
        from planner.archive.compare.learn import corrections
        from planner.office.compare_files import known

        others = [one for job, one in self.told(archive).items() if job != now.job.id]
        mine = pair_now(now)
        found = compared([*others, *([mine] if mine is not None else [])])
        return corrections(found.trends, known(Shelf(now.job.folder)))

    # ------------------------------------------------------------ brief

    def brief(
        self, archive: Opened, path: Path, number: int, now: Sitting | None = None, found: Table | None = None
    ) -> Brief:
        """Where one job's record is. Raises ArchiveRefused."""
        from planner.archive.kept.store import stamp

        files = [path, *sorted(path.parent.glob(f"{escape(path.stem)}{DRAFT}*"))]
        looks = [(str(one), one.stat().st_mtime_ns, one.stat().st_size) for one in files if one.exists()]
        key = (stamp(archive), looks, number)
        known = self._briefs.get(path)
        if now is None and known is not None and known[0] == key:
            return known[1]
        if now is None:
            job = job_asked(path)
            sat = sitting(archive, job) if isinstance(job, RecordJob) else job
            now = sat if isinstance(sat, Sitting) else None
        made = self._brief(archive, path, number, now, found)
        self._briefs[path] = (key, made)
        return made

    def _brief(self, archive: Opened, path: Path, number: int, now: Sitting | None, found: Table | None) -> Brief:
        id_ = self.desk.files.id_of(path)
        if now is None:
            row = Row(id=id_, number=number, title=path.stem, level="fault", word="", when="cannot be planned",
                      unsaved=False)  # fmt: skip
            return Brief(row=row, status="cannot be planned", recorded=False, wanted=True, typed=0, outside=0, plan="",
                         printed="")  # fmt: skip
        found, recorded = found or table(now), bool(now.asked.revision)
        typing = now.draft is not None
        printed = _printed(archive, now)
        off = f"{found.outside} outside" if found.outside else ""
        if typing:
            status = f"{len(now.texts)} typed in"
            level, when = "caution" if found.outside or now.unsure else "fault", off and f"{off} so far"
        elif recorded:
            done = now.asked.last.answers.get("status") or "done"
            status = _STATES.get(done, "done")
            level, when = "caution" if found.outside else "ok", off
        elif now.held:
            status, level, when = "was held, not done", "stop", ""
        else:
            status, level, when = "nothing typed in yet" if printed else "never printed", "fault", ""
        row = Row(id=id_, number=number, title=str(now.asked.plan["title"]), level=level, word="",
                  when=", ".join(one for one in (status, when) if one), unsaved=False)  # fmt: skip
        return Brief(
            row=row, status=status, recorded=recorded, wanted=recorded or not now.held, typed=len(now.texts),
            outside=found.outside, plan=str(now.asked.plan["plan"]), printed=printed,
        )  # fmt: skip

    def briefs(
        self, archive: Opened, folder: Path, now: Sitting | None = None, found: Table | None = None
    ) -> list[Brief]:
        """The same of a day's jobs, one of which is being typed in. Raises ArchiveRefused."""
        own = now.job.file if now is not None else None
        return [
            self.brief(archive, path, n, now, found) if path == own else self.brief(archive, path, n)
            for n, path in enumerate(days_jobs(folder), 1)
        ]

    def around(self, folder: Path, briefs: list[Brief]) -> dict[str, Any]:
        """The frame of a page of this place."""
        desk, days = self.desk, self.desk.files.days()
        at, id_ = days.index(folder), self.desk.files.id_of(folder)
        wanted = [one for one in briefs if one.wanted]
        recorded = sum(one.recorded for one in wanted)
        system = _system(desk.files.folder)
        own = Rail(
            id=id_, title=day_title(folder, system), short=folder.name, who="",
            before=desk.files.id_of(days[at - 1]) if at else "",
            after=desk.files.id_of(days[at + 1]) if at + 1 < len(days) else "",
            rows=tuple(one.row for one in briefs), end_level="ok" if recorded == len(wanted) else "fault",
            end=f"{recorded} of {len(wanted)} {'job' if len(wanted) == 1 else 'jobs'} recorded",
            end_more="" if len(wanted) == len(briefs) else "Held jobs were not done.",
        )  # fmt: skip
        return {**around(desk, None, "done", id_), "rail": own}


def _system(workspace: Path) -> System:
    """The company's units."""
    shelf = Shelf(workspace)
    return shelf.company.value.units if shelf.company.value is not None else "us"


def _printed(archive: Opened, now: Sitting) -> str:
    """The day a packet of this plan was last made; empty where none was. Raises ArchiveRefused."""
    from planner.archive.kept import store

    for name in dict.fromkeys((str(now.asked.plan["id"]), now.job.id)):
        plan = store.plan_of(archive, name, str(now.asked.plan["plan"]))
        at = store.printed_at(archive, plan.sha256) if plan is not None else None
        if at is not None:
            day = datetime.datetime.fromisoformat(at).astimezone().date()
            return short_date(day, now.asked.system)
    return ""


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
            return _typed(doing, *_asked(desk, id_))

    @app.post("/packet/<id_>")
    def packet(id_: str) -> AnyResponse:
        """A filled packet, whose entries go into the boxes that are blank."""
        with desk.lock:
            return _taken_in(doing, *_asked(desk, id_))

    @app.post("/learn/<id_>")
    def learn(id_: str) -> AnyResponse:
        """What would be learned, as a fragment; or learn it."""
        with desk.lock:
            return _learned(doing, *_asked(desk, id_))


def _asked(desk: Desk, id_: str) -> tuple[Sheet, RecordJob | list[Fault]]:
    sheet = desk.files.sheet(id_)
    if sheet is None or sheet.kind != "job":
        abort(404)
    return sheet, job_asked(sheet.path)


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
    """The archive and the record as it is; or what keeps it from being typed in."""
    from planner.archive.kept.refused import ArchiveRefused

    if not isinstance(job, RecordJob):
        yield job
        return
    try:
        with doing.archive(job) as archive:
            found = sitting(archive, job)
            yield (archive, found) if isinstance(found, Sitting) else found
    except ArchiveRefused as refused:
        yield [refused.fault]


def _day(doing: Doing, folder: Path) -> str:
    from planner.archive.kept.refused import ArchiveRefused

    paths = days_jobs(folder)
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
    with _sat(doing, job) as found:
        if isinstance(found, list):
            notes = [("stop", _line(fault.message, fault.remedy)) for fault in found]
            notes += doing.notes.pop(sheet.path, [])
            frame = doing.around(sheet.path.parent, [])
            return render_template("done_none.html", sheet=sheet, notes=notes, title=sheet.path.stem, **frame)
        archive, now = found
        values = _values(doing, archive, sheet, now)
        values["notes"] = doing.notes.pop(sheet.path, [])
        values["offers"] = _offers(doing, archive, sheet, now)
        values |= _lessons(doing, archive, now, shown=values["open"])
        return render_template("done.html", **values)


def _values(doing: Doing, archive: Opened, sheet: Sheet, now: Sitting) -> dict[str, Any]:
    """Everything the templates of one job need."""
    found = table(now)
    typing = now.draft is not None
    revision = now.asked.revision
    ticked = doing.ticks.get(sheet.path, set())
    wanted = request.values.get("change") == "yes"
    apart = [(doubt, now.token(doubt.path)) for doubt in now.reading.doubts if doubt.path not in now.questions]
    numbers = changed(now) if revision else (0, 0)
    return {
        **doing.around(sheet.path.parent, doing.briefs(archive, sheet.path.parent, now, found)),
        "sheet": sheet, "sat": now, "table": found, "title": str(now.asked.plan["title"]),
        "open": typing or wanted or not (revision or now.held), "printed": _printed(archive, now),
        "plan": str(now.asked.plan["plan"]), "revision": revision, "typing": typing,
        "said": {row.path: _remark(row) for row in found.rows if row.said},
        "causes": found.causes,
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
            gone_on(archive, now)
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
        own = doing.ticks.setdefault(sheet.path, set())
        if whole:
            own.clear()
        own |= {token for path, token in ticks.items() if path not in now.questions and token}
        own -= {_own_token(now, path) for path, token in ticks.items() if path not in now.questions and not token}
        gone = {path for path, token in ticks.items() if path in now.questions and not token}
        after = typed_in(now, entries, set(ticks.values()), gone=now.questions if whole else gone)
        if do == "keep":
            return _keep(doing, archive, sheet, after)
        new = after.notes[len(now.notes) :]
        if not script:
            doing.say(sheet.path, "stop", *map(sentence, new))
            return redirect(_open(sheet, after), 303)
        return jsonify(_fragments(doing, archive, sheet, after, [("stop", sentence(one)) for one in new]))


def _open(sheet: Sheet, now: Sitting) -> str:
    """The page with its boxes, though no draft opens them."""
    return url_for("done", id_=sheet.id, change="yes" if now.draft is None else None)


def _own_token(now: Sitting, path: str) -> str:
    return revising(now) if path == "revision" else now.token(path)


def _fragments(
    doing: Doing, archive: Opened, sheet: Sheet, now: Sitting, notes: list[tuple[str, str]]
) -> dict[str, Any]:  # fmt: skip
    """What the page shows after an entry."""
    values = _values(doing, archive, sheet, now)
    values |= {"notes": notes, "open": True}
    parts = [swap("side", **values), swap("rail", **values), swap("kept", **values), swap("told", **values)]
    for at, group in enumerate(values["table"].groups):
        for row in group.rows:
            id_ = row.path.replace(".", "-")
            parts.append({"id": f"c-{id_}", "html": render_template("_cell.html", row=row)})
            parts.append({"id": f"t-{id_}", "html": render_template("_tick.html", row=row)})
        parts.append({"id": f"w-{at}", "html": render_template("_worked.html", group=group, at=at)})
    return {
        "saved": True, "whole": False, "swap": parts, "live": " ".join(values["verdict"][1:]),
        "said": {path: [one.level, one.text, ""] for path, one in values["said"].items()},
    }  # fmt: skip


def _keep(doing: Doing, archive: Opened, sheet: Sheet, now: Sitting) -> AnyResponse:
    """Keep the record, or say what is to be settled first."""
    outcome = kept(archive, now, doing.ticks.get(sheet.path, set()))
    if not isinstance(outcome, Outcome):
        doing.say(sheet.path, "fault", "Nothing is kept yet.", *(_line(*one) for one in outcome))
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
        doing.ticks.pop(sheet.path, None)
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
    from planner.archive.kept.refused import ArchiveRefused
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
        try:
            unwritten = apply_learned(archive, now.job.folder, Shelf(now.job.folder), doing.corrections(archive, now))
        except ArchiveRefused as refused:
            unwritten = refused.fault
        if unwritten is not None:
            return _refused(sheet, doing, [unwritten])
        doing.say(sheet.path, "ok", f"{LEARNED} now has this. {'. '.join(lessons['lessons'])}.")
    return redirect(url_for("done", id_=sheet.id), 303)
