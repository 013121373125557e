"""The day: its order on a clock, what to settle tonight, its page as fields, what to load and what stays behind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from flask import Flask, abort, render_template

from planner.checks.day import day_findings
from planner.desk.checking import Answer
from planner.desk.files import Sheet
from planner.desk.form import Options, parts_of
from planner.desk.frame import around, file_bits, is_past, no_file, out_of, past_of, swap
from planner.desk.job_place import at_fields, form_too, refusal, text_lines
from planner.desk.places.company import left_of_demo
from planner.desk.state import Desk
from planner.desk.told import VERDICTS, Remark, fault_remark, told
from planner.frozen import dataclass
from planner.inputs.reading.files import shown
from planner.inputs.reading.spans import all_lines
from planner.inputs.tables.chemicals import short_of
from planner.packet.blocks import Block, Step, Text
from planner.packet.sections.load import load_steps
from planner.plan.water.timing import arrival_of, end_of
from planner.units import System, show
from planner.words import spoken
from planner.words.dates import clock_text
from planner.words.day_words import day_lines
from planner.words.figures import tightest
from planner.words.measures import in_all


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One job of the day's table."""

    id: str
    number: int
    stem: str
    title: str
    address: str
    level: str
    word: str
    arrive: str
    leave: str
    jet: str
    jet_share: float
    need_share: float
    mix: str
    water: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One stretch of the day's line, in thousandths of it."""

    kind: str
    label: str
    short: str
    left: int
    wide: int


def add(app: Flask, desk: Desk) -> None:
    """The routes of this place."""

    @app.get("/day/<id_>")
    def day(id_: str) -> str:
        with desk.lock:
            folder = desk.day_of(id_)
            if folder is None:
                abort(404)
            answer = desk.answer(folder, whole=True, orders=True)
            return render_template("day.html", **values(desk, folder, answer), **around(desk, answer, "day"))


def fragments(desk: Desk, sheet: Sheet, at: str, trouble: str) -> dict[str, Any]:
    """What the place shows after a change of the day's page."""
    folder = desk.day_of(at)
    if folder is None:
        abort(404)
    answer = desk.answer(folder, whole=True)  # no second answer follows here: what is not rehearsed must not read as go
    found = {**values(desk, folder, answer, trouble), **around(desk, answer, "day")}
    return {
        "version": sheet.version, "saved": not sheet.unsaved, "whole": True,
        "swap": [
            *(swap(name, **found) for name in ("day", "rail", "state", "notes", *form_too())),
            swap("file", **{**found, "lines": found["file_lines"]}),
            {"id": "head", "html": render_template("_dayhead.html", **found)},
        ],
        "said": {path: [one.level, one.text, one.remedy] for path, one in found["said"].items()},
        "live": found["count"],
    }  # fmt: skip


def values(desk: Desk, folder: Path, answer: Answer, trouble: str = "") -> dict[str, Any]:
    """Everything the day's templates need."""
    sheet = desk.files.of(folder / "day.yaml")
    jobs = [job for job in answer.jobs.values() if job is not None]
    waits = answer.day.waits if answer.day is not None else ()
    past = past_of(desk, answer)
    lines = [_line(desk, answer, path, n, past.get(path, "")) for n, path in enumerate(answer.jobs, 1)]
    held = sum(line.level == "stop" for line in lines)
    faulty = sum(line.level == "fault" for line in lines)
    page_faults = [fault_remark(fault, n) for n, fault in enumerate(answer.faults_of(folder / "day.yaml"))]
    root, spots = (sheet.tree.root, all_lines(sheet.text)) if sheet is not None else (None, {})
    typed = sheet.refused if sheet is not None else {}
    parts = parts_of("day", root, _options(answer), lambda at: spots.get(at, (0, 0)), typed)
    said = (*(refusal(sheet) if sheet is not None else ()), *page_faults)
    going = [job.plan for job in jobs if not job.held]
    load = load_steps(answer.day, going, answer.system) if answer.day is not None and jobs else []
    own = [fault for path in (*answer.jobs, folder / "day.yaml") for fault in answer.faults_of(path)]
    bare = ("file.folder", shown(folder))
    elsewhere = [one for one in answer.faults if one not in own and (one.code, one.where.file) != bare]
    return {
        **(file_bits(desk, sheet, trouble) if sheet is not None else no_file(trouble)),
        "lines": lines, "spans": _spans(answer), "ticks": _ticks(answer),
        "level": "fault" if faulty or page_faults or elsewhere else
                 "past" if is_past(folder) else "stop" if held else "ok",
        "count": _count(len(lines), held, faulty, bool(elsewhere)) if not is_past(folder) else _past_count(lines),
        "settle": _settle(desk, answer),
        "load": [_worded(step) for step in load],
        "more": [(name, text) for name, text in day_lines(answer.day, jobs, answer.system) if name != "load"]
        if answer.day is not None else [],
        "findings": [(one.level, spoken.message(one, answer.system)) for one in day_findings(jobs, waits)
                     if one.level in ("stop", "caution")],
        "parts": parts, "said": at_fields(parts, list(said)), "page_faults": page_faults,
        "at": answer.at, "day_id": desk.files.id_of(folder), "out_of_day": out_of(folder),
        "file_lines": text_lines(sheet, list(said)) if sheet is not None else [],
        "edit_place": f"day:{desk.files.id_of(folder)}",
        "elsewhere": [(fault.where.file, fault.where.line, fault.message, fault.remedy) for fault in elsewhere],
    }  # fmt: skip


def _options(answer: Answer) -> Options:
    """The drives of the day, one to each job and one home, and the tanks of its rig."""
    titles = [(path.stem, job.plan.title if job is not None else "") for path, job in answer.jobs.items()]
    rig = next((job.plan.input.rig for job in answer.jobs.values() if job is not None), None)
    yard = any(job is not None and job.plan.kind == "yard" for job in answer.jobs.values())
    home = [] if yard else [("home", "The drive home")]
    return {
        "drives": [*((stem, f"To {title or stem}") for stem, title in titles), *home],
        "tanks": [(tank.name, "") for tank in rig.tanks] if rig is not None else [],
    }


def _worded(step: Block) -> tuple[str, str]:
    """A line of the printed list: its amount, and of what."""
    spans = step.spans if isinstance(step, Step | Text) else ()
    return (
        "".join(span.text for span in spans if span.strong).strip(),
        "".join(span.text for span in spans if not span.strong).strip(),
    )


def _past_count(lines: Sequence[Line]) -> str:
    done = sum(line.word == "done, on record" for line in lines)
    return f"this day is past, {done} of {len(lines)} on record"


def _count(jobs: int, held: int, faulty: int, elsewhere: bool) -> str:
    told = ["a file has a fault"] if elsewhere and not faulty else []
    if faulty:
        told.append(f"{faulty} of {jobs} not ready")
    if held:
        told.append(f"{held} of {jobs} held")
    return ", ".join(told) or (
        "1 job, and it goes" if jobs == 1 else f"{jobs} jobs, and all go" if jobs else "no job yet"
    )


def _line(desk: Desk, answer: Answer, path: Path, number: int, past: str) -> Line:
    """One row; of a job that is done or past nothing new is promised."""
    line = _fresh(desk, answer, path, number)
    why = "Its record is under Done." if past.startswith("done") else ""
    return replace(line, level="past", word=past, why=why) if past else line


def _fresh(desk: Desk, answer: Answer, path: Path, number: int) -> Line:
    job, system = answer.jobs[path], answer.system
    id_ = desk.files.id_of(path)
    if job is None:
        faults = answer.faults_of(path)
        why = f"Line {faults[0].where.line}: {fault_remark(faults[0], 0).text}" if faults else "It cannot be planned."
        kept = desk.kept.get(path)
        title = kept.job.plan.title if kept is not None else path.stem
        return Line(
            id=id_, number=number, stem=path.stem, title=title, address="", level="fault", word=VERDICTS["fault"],
            arrive="", leave="", jet="", jet_share=0.0, need_share=0.0, mix="", water="", why=why,
        )  # fmt: skip
    plan, said = job.plan, told(job, system)
    begin, end = arrival_of(plan.time), end_of(plan.time)
    jet, share, need = _jet(job.plan.runs, system)
    number_, unit = in_all(plan.water.most, system)
    open_ones = [*said.stops, *said.cautions]
    return Line(
        id=id_, number=number, stem=path.stem, title=plan.title,
        address=plan.input.job.site.address if plan.kind == "wash" else "in the yard",
        level=said.level, word=said.word,
        arrive=clock_text(begin, system) if begin is not None else "-",
        leave=clock_text(end, system) if end is not None else "-",
        jet=jet, jet_share=share, need_share=need, mix=_mixes(plan),
        water=f"{number_} {unit}" if plan.kind == "wash" else "",
        why=_why(open_ones) or f"{said.holds} checks hold",
    )  # fmt: skip


def _why(remarks: list[Remark]) -> str:
    stops = [one for one in remarks if one.level == "stop" and not one.accepted]
    if stops:
        return f"{len(stops)} stop{'s' if len(stops) > 1 else ''}: {', '.join(_low(one.title) for one in stops)}"
    open_ones = [one for one in remarks if not one.accepted]
    if not open_ones:
        return ""
    named = list(dict.fromkeys(_low(one.title) for one in open_ones))
    return f"{len(open_ones)} caution{'s' if len(open_ones) > 1 else ''}: {', '.join(named)}"


def _low(text: str) -> str:
    return f"{text[:1].lower()}{text[1:]}"


def _jet(runs: Any, system: System) -> tuple[str, float, float]:
    """The tightest run's jet at worst against what is needed, and both as shares of a bar."""
    run = tightest(runs)
    if run is None or run.needed is None:
        return "low work", 0.0, 0.0
    needed = show(run.needed, "length", system, toward="up")
    if run.reach is None:
        return f"none, need {needed}", 0.0, 1.0
    top = max(run.reach.nominal, run.needed)
    low = show(run.reach.low, "length", system, toward="down")
    return f"{low}, need {needed}", run.reach.low / top, run.needed / top


def _mixes(plan: Any) -> str:
    from planner.packet.sections.mixes import on_the_wall

    return "; ".join(
        f"{on_the_wall(plan, mix)} {short_of(mix.chemical)}" if mix.reachable else f"no {short_of(mix.chemical)} mix"
        for mix in plan.mixes
    )


def _settle(desk: Desk, answer: Answer) -> list[tuple[str, str, str, str, str]]:
    """What to settle tonight, stops first: level, job, words, what to do, where."""
    rows: list[tuple[str, str, str, str, str]] = []
    if is_past(answer.folder):
        return rows
    done = past_of(desk, answer)
    for path, job in answer.jobs.items():
        id_ = f"/job/{desk.files.id_of(path)}"
        if path in done:
            continue
        if job is None:
            for fault in answer.faults_of(path)[:3]:
                one = fault_remark(fault, 0)
                rows.append(("fault", path.stem, f"Line {one.line}: {one.text}", one.remedy, id_))
            continue
        for one in (*told(job, answer.system).stops, *told(job, answer.system).cautions):
            if not one.accepted:
                cure = one.cures[0].change if one.cures else one.remedy
                rows.append((one.level, job.plan.title, one.text, cure, id_))
    rows += [("caution", "Company", text, "Put in your own.", "/company") for text in left_of_demo(desk)]
    order = ("fault", "stop", "caution")
    return sorted(rows, key=lambda row: order.index(row[0]))


def _spans(answer: Answer) -> list[Span]:
    """The day's line: drives and stays to scale."""
    day = answer.day
    if day is None or day.ends is None or any(job is None for job in answer.jobs.values()):
        return []
    first = min((span.start for plan in day.jobs for span in plan.time if span.start is not None), default=None)
    if first is None or day.ends <= first:
        return []
    whole, found = day.ends - first, list[Span]()
    levels = {job.plan.id: "stop" if job.held else job.verdict for job in answer.jobs.values() if job is not None}
    for n, plan in enumerate(day.jobs, 1):
        begin, end = arrival_of(plan.time), end_of(plan.time)
        if begin is None or end is None:
            return []
        held = levels.get(plan.id) == "stop"
        left, wide = round(1000 * (begin - first) / whole), max(1, round(1000 * (end - begin) / whole))
        label = f"{n} {plan.title}{', held' if held else ''}"
        room = wide // 9  # letters of the line's type
        short = label if len(label) <= room else f"{n}, held" if held and room > 7 else f"{n}"
        found.append(Span(kind="held" if held else "job", label=label, short=short, left=left, wide=wide))
    return found


def _ticks(answer: Answer) -> list[tuple[int, str]]:
    day = answer.day
    if not _spans(answer) or day is None or day.ends is None:
        return []
    first = min(span.start for plan in day.jobs for span in plan.time if span.start is not None)
    step = 3600.0 if day.ends - first <= 8 * 3600.0 else 7200.0
    at = -(-first // step) * step
    found = []
    while at <= day.ends:
        found.append((round(1000 * (at - first) / (day.ends - first)), clock_text(at, answer.system)))
        at += step
    return found
