"""A workspace read and joined: every job that is sound, and every fault in every file that was looked at."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from planner.faults import Fault, in_order
from planner.inputs.desk import Desk, Document, JobDocument
from planner.inputs.files import (
    YAML_ENDINGS,
    file_fault,
    in_working_order,
    is_day,
    is_folder,
    is_there,
    listed_files,
)
from planner.inputs.join import Around, joined
from planner.inputs.joined import DayInput, JobInput
from planner.inputs.learned import NAME as LEARNED
from planner.inputs.learned import OWN_REACH, applied
from planner.inputs.models import Day, Rig
from planner.inputs.models.base import nearest
from planner.inputs.places import all_places, faults_of

_SHARED = ("company.yaml", "stock.yaml", "surfaces.yaml", LEARNED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """What was read: sound jobs in working order, the days asked for, and every fault."""

    jobs: tuple[JobInput, ...]
    days: tuple[DayInput, ...]
    faults: tuple[Fault, ...]
    workspace: Path
    call: _Call = field(repr=False, compare=False)
    """What was read so far, so that what lies beside is read once too."""

    def job_at(self, path: Path) -> JobInput | None:
        """The job of a file that was not asked for; None where it cannot be read.

        What is wrong with it is told to those who ask for it.
        """
        desk = _desk(self.call, path)
        if desk is not None:
            _job(self.call, desk, path)
        return self.call.jobs.get(path)

    def page(self, folder: Path) -> Document[Day] | None:
        """The day's page of a folder; None where there is none."""
        desk = _desk(self.call, folder)
        return _day_page(self.call, desk, folder) if desk is not None else None


@dataclass(slots=True)
class _Call:
    """One call of load: desks by workspace, so that no file is read or complained of twice."""

    desks: dict[Path, Desk] = field(default_factory=dict)
    days: dict[Path, Document[Day] | None] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    jobs: dict[Path, JobInput | None] = field(default_factory=dict)
    day_inputs: list[DayInput] = field(default_factory=list)

    def desk(self, start: Path) -> Desk | None:
        """The desk of the workspace a path lies in, or None and a fault."""
        for folder in (start, *start.parents):
            if is_there(folder / "company.yaml"):
                if folder not in self.desks:
                    self.desks[folder] = Desk(folder)
                return self.desks[folder]
        return None


def load(paths: Sequence[Path]) -> Loaded:
    """Jobs, days, a season of days or a whole workspace."""
    call = _Call()
    for path in paths:
        try:
            absolute = path.absolute().resolve()
        except (OSError, RuntimeError, ValueError):
            call.faults.append(
                file_fault("file.unreadable", path, "this cannot be read", "check the name and where its links lead")
            )
            continue
        _take(call, path, absolute)
    for desk in call.desks.values():
        call.faults += desk.faults
    workspace = next(iter(call.desks), Path.cwd())
    jobs = tuple(job for job in call.jobs.values() if job is not None)
    faults = tuple(in_order(call.faults))
    return Loaded(jobs=jobs, days=tuple(call.day_inputs), faults=faults, workspace=workspace, call=call)


def _take(call: _Call, path: Path, absolute: Path) -> None:
    if is_folder(absolute):
        days = [absolute] if is_day(absolute) else [day for day in listed_files(absolute) if is_day(day)]
        desk = call.desk(absolute)
        if desk is not None and absolute == desk.folder:
            desk.read_rigs()
        if not days:
            if desk is None or absolute != desk.folder:
                call.faults.append(_no_day(path))
            elif not desk.faults:  # else those are told alone: a job is asked for once they are put right
                call.faults.append(_bare(path, desk))
        for day in days:
            _day(call, day)
        return
    if absolute.name == "day.yaml":
        _day(call, absolute.parent)
        return
    if not is_there(absolute):
        call.faults.append(file_fault("file.missing", path, "there is no such file", _like_named(absolute)))
        return
    desk = _desk(call, absolute)
    if desk is None:
        return
    if absolute.parent == desk.folder / "rigs" or absolute.name in _SHARED:
        if absolute.parent.name == "rigs":
            desk.rig_named(absolute.stem)  # what is wrong with it is told beside
        call.faults.append(file_fault("file.kind", path, "this is no job", "name a job's file, or a day's folder"))
        return
    _job(call, desk, absolute)


BARE = "workspace.bare"
"""The code of a workspace that is in order and has no job yet."""


def _bare(path: Path, desk: Desk) -> Fault:
    there = ["company", *(name for name in ("stock", "surfaces") if is_there(desk.folder / f"{name}.yaml"))]
    rigs, remedy = len(desk.rig_files()), "write one: `planner new 2026-06-09/10-boathouse.yaml` asks for it"
    there += [f"rig{'s' if rigs > 1 else ''}"] if rigs else []
    missing = [] if "stock" in there else ["no stock.yaml"]
    if not rigs:
        missing.append("no rig")
        remedy = "write a rig's file in the folder rigs first, with its setups; `planner start DIR` shows one"
    whole = f"{', '.join(there[:-1])} and {there[-1]} are" if len(there) > 1 else f"{there[0]} is"
    message = f"{whole} in order; {', '.join([*missing, 'no job and no day'])} lies here yet"
    return file_fault(BARE, path, message, remedy)


def _no_day(path: Path) -> Fault:
    remedy = "name a job's file, or a day's folder like `2026-06-09`"
    return file_fault("file.folder", path, "no job and no day lies in this folder", remedy)


def _like_named(path: Path) -> str:
    names = [one.name for one in listed_files(path.parent) if one.suffix in YAML_ENDINGS or is_folder(one)]
    near = nearest(path.name, names)
    return f"write `{near}` if that was meant" if near else "check the name and the folder"


def _desk(call: _Call, path: Path) -> Desk | None:
    desk = call.desk(path if is_folder(path) else path.parent)
    if desk is None:
        call.faults.append(
            file_fault(
                "workspace.missing",
                path,
                "no company.yaml lies in this folder or in any above it",
                "write a company.yaml at the top of the workspace, with `name: ` in it",
            )
        )
    return desk


def date_of(folder: Path) -> datetime.date | None:
    """The date a day's folder is named by."""
    try:
        return datetime.date.fromisoformat(folder.name) if len(folder.name) == 10 else None
    except ValueError:
        return None


def _day_page(call: _Call, desk: Desk, folder: Path) -> Document[Day] | None:
    """The day's page of a folder, read once; None where there is none."""
    if folder not in call.days:
        page = folder / "day.yaml"
        stems = [path.stem for path in in_working_order(folder)]
        call.days[folder] = desk.day(page, stems) if is_there(page) else None
    return call.days[folder]


def _day(call: _Call, folder: Path) -> None:
    desk = _desk(call, folder)
    if desk is None:
        return
    page = _day_page(call, desk, folder)
    paths = in_working_order(folder)
    if page is None:
        call.faults.append(
            file_fault(
                "file.missing", folder / "day.yaml", "the day has no page", "write a day.yaml with `rig: ` in it"
            )
        )
    if not paths:
        call.faults.append(
            file_fault("file.folder", folder, "no job lies in this day", "name job files like `10-boathouse.yaml`")
        )
    for path in paths:
        _job(call, desk, path)
    if page is not None and page.value is not None and page.sound:
        rig = desk.rig_named(page.value.rig)
        if rig is not None and rig.value is not None and rig.sound and desk.company.sound:
            call.day_inputs.append(_day_input(folder, page.value, rig.value, paths, page))


def _day_input(folder: Path, day: Day, rig: Rig, paths: Sequence[Path], page: Document[Day]) -> DayInput:
    root = page.root
    assert root is not None
    return DayInput(
        name=folder.name,
        date=date_of(folder),
        day=day,
        rig=rig,
        jobs=tuple(_id(path) for path in paths),
        where=root.where,
        places=all_places(root),
    )


def _id(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}" if date_of(path.parent) is not None else path.stem


def _job(call: _Call, desk: Desk, path: Path) -> None:
    if path in call.jobs:
        return
    page = _day_page(call, desk, path.parent)
    found = desk.job(path, page)
    call.jobs[path] = _joined(call, desk, path, found, page)


def _joined(call: _Call, desk: Desk, path: Path, found: JobDocument, page: Document[Day] | None) -> JobInput | None:
    rig, day = found.rig, page.value if page is not None else None
    company, stock, rows, limits = desk.company.value, desk.stock, desk.rows, desk.limits
    sound = found.document.sound and desk.sound and (page is None or page.sound)
    if not sound or rig is None or not rig.sound or rig.value is None or company is None:
        return None
    job, root = found.document.value, found.document.root
    if job is None or root is None or rows is None or limits is None:
        return None
    order = in_working_order(path.parent) if page is not None else []
    roots = {
        "job": root,
        "company": desk.company.root,
        "day": page.root if page is not None else None,
        "stock": stock.root,
        "surfaces": desk.surfaces.root,
        "rig": rig.root,
        "learned": desk.learned.root,
    }
    lots = stock.value.lots if stock.value is not None else ()
    most_low = limits["reach_recorded_factor"] if OWN_REACH not in company.limits else None
    learned = applied(desk.learned.value, rig.value, lots, desk.surfaces.value, most_low)
    around = Around(
        company=company,
        rig=learned.rig,
        lots=learned.lots,
        learned=learned,
        rows=rows,
        limits=limits,
        day=day,
        date=date_of(path.parent),
        id=_id(path),
        place_in_day=(order.index(path) + 1, len(order)) if path in order else None,
        roots={name: node for name, node in roots.items() if node is not None},
    )
    result, slips = joined(job, around)
    call.faults += faults_of(slips, root, found.document.refused)
    return result
