"""What every place shows round its own: the bar, the day's rail with its jobs, what is known of the open file."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from flask import render_template

from planner.archive.kept.lately import records_between
from planner.days.archiving import address_of
from planner.desk.checking import Answer
from planner.desk.files import Sheet, blocks_of
from planner.desk.state import Desk
from planner.desk.told import VERDICTS
from planner.frozen import dataclass
from planner.inputs.reading.files import listed_files
from planner.inputs.shelf import Desk as Shelf
from planner.inputs.workspace import date_of
from planner.plan.water.timing import arrival_of, end_of
from planner.units import System
from planner.words.dates import clock_text, day_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One job in the rail."""

    id: str
    number: int
    title: str
    level: str
    word: str
    when: str
    unsaved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Rail:
    """A day's jobs with their marks, its neighbors, and when it ends."""

    id: str
    title: str
    short: str
    who: str
    before: str
    after: str
    rows: tuple[Row, ...]
    end_level: str
    end: str
    end_more: str


def day_title(folder: Path, system: System) -> str:
    """A day's date in words; its folder's name where that is none."""
    date = date_of(folder)
    return day_text(date, system) if date is not None else folder.name


def rail(desk: Desk, answer: Answer) -> Rail:
    """The rail of one day."""
    days = desk.files.days()
    at = days.index(answer.folder)
    past = past_of(desk, answer)
    rows = tuple(_row(desk, answer, path, n, past.get(path, "")) for n, path in enumerate(answer.jobs, 1))
    level, end, more = ("past", "This day is past.", "") if is_past(answer.folder) else _end(answer, rows)
    page = desk.files.of(answer.folder / "day.yaml")
    crew = page.tree.mapping.get("crew") if page is not None else None
    plain = crew.plain() if crew is not None else ""
    named = ", ".join(plain) if isinstance(plain, list) and all(isinstance(one, str) for one in plain) else plain
    rig = answer.day.rig if answer.day is not None else ""
    return Rail(
        id=desk.files.id_of(answer.folder), title=day_title(answer.folder, answer.system),
        short=answer.folder.name, who="; ".join(str(part) for part in (rig, named) if part),
        before=desk.files.id_of(days[at - 1]) if at else "",
        after=desk.files.id_of(days[at + 1]) if at + 1 < len(days) else "",
        rows=rows, end_level=level, end=end, end_more=more,
    )  # fmt: skip


def today() -> datetime.date:
    """The date by this machine's clock."""
    return datetime.date.today()


def is_past(folder: Path) -> bool:
    """Whether a day is behind today."""
    date = date_of(folder)
    return date is not None and date < today()


def past_of(desk: Desk, answer: Answer) -> dict[Path, str]:
    """What is said of each job that is on record or of a day that is past, in place of a new verdict."""
    date, company = date_of(answer.folder), Shelf(desk.files.folder).company.value
    if date is None or date > today():
        return {}
    end = (date + datetime.timedelta(days=1)).isoformat()
    try:
        done = records_between(address_of(company), desk.files.folder, date.isoformat(), end) if company else None
    except OSError:
        done = None
    found = {}
    for path in answer.jobs:
        if done is not None and f"{answer.folder.name}/{path.stem}" in done:
            found[path] = "done, on record"
        elif is_past(answer.folder):
            found[path] = "past, not on record" if done is not None else "past"
    return found


def _row(desk: Desk, answer: Answer, path: Path, number: int, past: str) -> Row:
    job, sheet = answer.jobs[path], desk.files.of(path)
    if job is None:
        faults = answer.faults_of(path)
        kept = desk.kept.get(path)
        title = kept.job.plan.title if kept is not None else _title(sheet, path)
        when = f"line {faults[0].where.line}" if faults else "cannot be planned"
        level = "fault"
    else:
        title, level = job.plan.title, "stop" if job.held else job.verdict
        when = _when(answer, job)
    word = past or VERDICTS[level]
    if past:
        level, when = "past", ""
    elif path in answer.waits:
        level, word, when = "fault", "in a moment", "checked next,"
    return Row(
        id=desk.files.id_of(path), number=number, title=title, level=level, word=word, when=when,
        unsaved=sheet.unsaved if sheet is not None else False,
    )  # fmt: skip


def _when(answer: Answer, job: Any) -> str:
    begin, end = arrival_of(job.plan.time), end_of(job.plan.time)
    if begin is not None and end is not None:
        return f"{clock_text(begin, answer.system)} to {clock_text(end, answer.system)}"
    lost = [path.stem for path, one in answer.jobs.items() if one is None]
    return f"times wait for {lost[0]}" if lost else "no time of day"


def _title(sheet: Sheet | None, path: Path) -> str:
    node = sheet.tree.mapping.get("job") if sheet is not None else None
    return node.value if node is not None and isinstance(node.value, str) else path.stem


def _end(answer: Answer, rows: Sequence[Row]) -> tuple[str, str, str]:
    """When the rig is back, and what that hangs on."""
    faulty = [row for row in rows if row.level == "fault"]
    if not rows:
        return "", "No job yet.", ""
    if answer.waits:
        return "fault", "No end yet.", "The jobs after this one are checked next."
    if faulty:
        return "fault", "No end yet.", f"{faulty[0].title} has a fault."
    if answer.day is None or answer.day.ends is None:
        return "fault", "No end yet.", "A drive or the start is missing in the day's page."
    return "ok", f"Ends {clock_text(answer.day.ends, answer.system)}", "with the drive home."


def around(desk: Desk, answer: Answer | None, place: str, day: str = "") -> dict[str, Any]:
    """What the frame's template needs; `day` is the id of its day where nothing was checked."""
    day = desk.files.id_of(answer.folder) if answer is not None else day
    bar = [("day", "Day", f"/day/{day}" if day else "/"), ("rig", "Rig", "/rig"), ("shelf", "Shelf", "/shelf"),
           ("done", "Done", f"/done/{day}" if day else "/done"), ("company", "Company", "/company")]  # fmt: skip
    return {
        "company": desk.company(), "place": place, "bar": bar, "jobs_at": "done" if place == "done" else "job",
        "rail": rail(desk, answer) if answer is not None else None, "now": datetime.datetime.now(),
        "records": answer.records if answer is not None else "",
        "unsaved": [sheet.name for sheet in desk.files.waiting()],
        "waiting": [(sheet.name, page_of(desk, sheet)) for sheet in desk.files.waiting()],
    }  # fmt: skip


OUT: Final = ".out"
"""What is taken out goes by its name with this behind it: nothing reads it, and it can be put back."""


def out_of(folder: Path) -> list[str]:
    """Jobs that were taken out of a day, by their files' names."""
    names = [path.name.removesuffix(OUT) for path in listed_files(folder) if path.name.endswith(OUT)]
    return [name for name in names if re.fullmatch(r"[0-9]+-.+\.ya?ml", name)]


def page_of(desk: Desk, sheet: Sheet) -> str:
    """The page that shows a file and saves it."""
    if sheet.kind == "day":
        return f"/day/{desk.files.id_of(sheet.path.parent)}"
    return {"job": f"/job/{sheet.id}", "rig": f"/rig/{sheet.id}", "stock": "/shelf", "company": "/company"}.get(
        sheet.kind, f"/shelf/{sheet.id}"
    )


def state_of(sheet: Sheet) -> str:
    """Whether the file is saved, in two words and a time."""
    if sheet.theirs is not None:
        return "Two texts"
    return "Not saved" if sheet.unsaved else "Saved"


def file_bits(desk: Desk, sheet: Sheet, trouble: str) -> dict[str, Any]:
    """What templates of an open file need, and what a script keeps of it."""
    note, sheet.note = sheet.note, ""
    return {
        "sheet": sheet, "trouble": trouble or note, "state": state_of(sheet),
        "theirs": side_by_side(sheet) if sheet.theirs is not None else (),
    }  # fmt: skip


def no_file(trouble: str) -> dict[str, Any]:
    """The same where there is no file."""
    return {"sheet": None, "trouble": trouble, "state": "", "theirs": ()}


def side_by_side(sheet: Sheet) -> tuple[tuple[str, str, bool], ...]:
    """Both texts of a conflict line by line, and whether the two differ there."""
    mine = sheet.text.decode("utf-8-sig", "replace").splitlines()
    other = (sheet.theirs or b"").decode("utf-8-sig", "replace").splitlines()
    rows: list[tuple[str, str, bool]] = []
    for tag, i, j, k, m in blocks_of(mine, other):
        left, right = mine[i:j], other[k:m]
        for n in range(max(len(left), len(right))):
            rows.append((left[n] if n < len(left) else "", right[n] if n < len(right) else "", tag != "equal"))
    return tuple(rows)


def swap(name: str, **values: Any) -> dict[str, str]:
    """One fragment: the id of what it takes the place of, and its HTML."""
    return {"id": name, "html": render_template(f"_{name}.html", **values)}
