"""A workspace read and joined: every job that is sound, and every fault in every file that was looked at."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import field, replace
from pathlib import Path

from planner.faults import Fault, in_order
from planner.frozen import dataclass
from planner.inputs.joined import DayInput, JobInput
from planner.inputs.joining.join import Around, joined
from planner.inputs.joining.learned import OWN_REACH, applied
from planner.inputs.lacking import BARE, bare, like_named, no_date, no_day, no_stock, pours, too_many
from planner.inputs.models import Day, Rig
from planner.inputs.models.bounds import unusual
from planner.inputs.reading.files import (
    NOT_DAYS,
    date_of,
    days_below,
    file_fault,
    in_working_order,
    is_day,
    is_folder,
    is_printed,
    is_there,
    like_a_date,
    listed_files,
    looks_like_a_job,
    misnamed_in,
    no_workspace,
    plain_name,
    read_file,
    rig_of,
    right_ending,
    shown,
)
from planner.inputs.reading.places import all_places, faults_of
from planner.inputs.shelf import SHARED, Desk, Document, JobDocument

__all__ = ["BARE", "Loaded", "date_of", "load"]


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

    def has_rig(self, folder: Path, name: str) -> bool:
        """Whether the workspace of a folder has a rig of this name."""
        desk = _desk(self.call, folder)
        return desk is not None and plain_name(name) in desk.rig_files()

    def page(self, folder: Path) -> Document[Day] | None:
        """The day's page of a folder; None where there is none."""
        desk = _desk(self.call, folder)
        return _day_page(self.call, desk, folder) if desk is not None else None


@dataclass(slots=True)
class _Call:
    """One call of load: desks by workspace, so that no file is read or complained of twice."""

    desks: dict[Path, Desk] = field(default_factory=dict)
    homes: dict[Path, Path | None] = field(default_factory=dict)
    days: dict[Path, Document[Day] | None] = field(default_factory=dict)
    crowded: dict[Path, bool] = field(default_factory=dict)
    misplaced: dict[Path, frozenset[Path]] = field(default_factory=dict)
    printed: dict[str, Path] = field(default_factory=dict)
    taken: set[Path] = field(default_factory=set)
    faults: list[Fault] = field(default_factory=list)
    jobs: dict[Path, JobInput | None] = field(default_factory=dict)
    day_inputs: list[DayInput] = field(default_factory=list)

    def desk(self, start: Path) -> Desk | None:
        """The desk of the workspace a path lies in, or None and a fault."""
        if start not in self.homes:
            self.homes[start] = next((one for one in (start, *start.parents) if is_there(one / "company.yaml")), None)
        home = self.homes[start]
        if home is not None and home not in self.desks:
            self.desks[home] = Desk(home)
        return self.desks[home] if home is not None else None


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
        desk = call.desk(absolute)
        if desk is not None and absolute == desk.folder:
            desk.read_rigs()
        told = len(call.faults)
        if is_day(absolute):
            _day(call, absolute)
        elif not _below(call, absolute, desk) and len(call.faults) == told:
            if desk is None or absolute != desk.folder:
                call.faults.append(no_day(path))
            elif not desk.faults:  # else those are told alone: a job is asked for once they are put right
                call.faults.append(bare(path, desk))
        return
    if absolute.name == "day.yaml":
        _day(call, absolute.parent)
        return
    if not is_there(absolute):
        call.faults.append(file_fault("file.missing", path, "there is no such file", like_named(absolute)))
        return
    desk = _desk(call, absolute)
    if desk is None:
        return
    if absolute.parent == desk.folder / "rigs" or absolute.name in SHARED:
        if absolute.parent.name == "rigs":
            desk.rig_named(absolute.stem)  # what is wrong with it is told beside
        call.faults.append(file_fault("file.kind", path, "this is not a job", "name a job's file, or a day's folder"))
        return
    _job(call, desk, absolute)


def _below(call: _Call, folder: Path, desk: Desk | None) -> bool:
    """Take every day below a folder, and tell of every job's file that lies where none is looked for."""
    if folder in call.taken:
        return True
    call.taken.add(folder)
    found = False
    for path in listed_files(folder):
        if path.name.startswith("."):
            continue
        if not is_folder(path):
            if looks_like_a_job(path) and right_ending(path).name.casefold() not in SHARED:
                message, remedy = "this job is not in a day, so nothing reads it", "move it into the folder of its day"
                call.faults.append(file_fault("file.place", path, message, f"{remedy}, such as `2026-06-09`"))
        elif (desk is not None and folder == desk.folder and path.name in NOT_DAYS) or is_printed(path):
            continue
        elif path.is_symlink():
            if is_day(path) or any(map(looks_like_a_job, listed_files(path))) or any(days_below(path)):
                call.faults.append(_linked(path))
                found = True
        elif is_day(path):
            _day(call, path)
            found = True
        elif is_there(path / "company.yaml"):
            message = "there is another workspace in this one, and its jobs are not read with it"
            call.faults.append(file_fault("file.place", path, message, "move it out, or name it by itself"))
        elif any(map(looks_like_a_job, listed_files(path))):
            if fault := no_date(path):
                call.faults.append(fault)
            found = True
        else:
            found |= _below(call, path, desk)
    return found


def _linked(path: Path) -> Fault:
    """A folder of days or jobs that is a link: what it leads to may be another crew's, or the same day twice."""
    message = "this folder is a link, and the jobs it leads to are not read"
    return file_fault("file.place", path, message, "put the folder itself here, or name where it leads by itself")


def _desk(call: _Call, path: Path) -> Desk | None:
    desk = call.desk(path if is_folder(path) else path.parent)
    if desk is None:
        above = [listed_file for folder in (path, *path.parents) for listed_file in listed_files(folder)]
        near = next((one for one in above if right_ending(one).name.casefold() == "company.yaml"), None)
        remedy = "write a company.yaml at the top of the workspace, with `name: ` in it"
        remedy = remedy if near is None else f"rename `{shown(near)}` to `company.yaml`"
        call.faults.append(no_workspace(path, remedy))
    return desk


def _day_page(call: _Call, desk: Desk, folder: Path) -> Document[Day] | None:
    """The day's page of a folder, read once; None where there is none."""
    if folder not in call.days:
        page = folder / "day.yaml"
        stems = [path.stem for path in in_working_order(folder)]
        call.days[folder] = desk.day(page, stems) if is_there(page) else None
    return call.days[folder]


def _day(call: _Call, folder: Path) -> None:
    desk = _desk(call, folder)
    if desk is None or folder in call.taken:
        return
    call.taken.add(folder)
    if _crowded(call, folder):
        return
    page = _day_page(call, desk, folder)
    paths = in_working_order(folder)
    if page is None:
        call.faults.append(
            file_fault(
                "file.missing", folder / "day.yaml", "the day has no day.yaml", "write a day.yaml with `rig: ` in it"
            )
        )
    if not paths and not _misplaced(call, desk, folder):
        call.faults.append(
            file_fault("file.folder", folder, "there is no job in this day", "name job files like `10-boathouse.yaml`")
        )
    for path in paths:
        _job(call, desk, path)
    if page is not None and page.value is not None and page.sound and folder not in _misplaced(call, desk, folder):
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


def _crowded(call: _Call, folder: Path) -> bool:
    """Whether more jobs lie in a day than are planned as one: none of them is opened."""
    if folder not in call.crowded:
        fault = too_many(folder, len(in_working_order(folder))) if is_day(folder) else None
        call.faults += [fault] if fault is not None else []
        call.crowded[folder] = fault is not None
    return call.crowded[folder]


def _misplaced(call: _Call, desk: Desk, folder: Path) -> frozenset[Path]:
    """The files of a day that must not be planned under the names they have; the folder itself where it must not."""
    if folder in call.misplaced:
        return call.misplaced[folder]
    paths: set[Path] = set()
    if is_day(folder) or (like_a_date(folder) and folder != desk.folder):
        for path, fault in misnamed_in(folder):
            paths.add(path)
            if fault not in call.faults:
                call.faults.append(fault)
        wrong = no_date(folder) or _not_this_rig(call, desk, folder)
        if wrong is not None:
            paths |= {folder, *in_working_order(folder)}
            call.faults.append(wrong)
    call.misplaced[folder] = frozenset(paths)
    return call.misplaced[folder]


def _not_this_rig(call: _Call, desk: Desk, folder: Path) -> Fault | None:
    """A day's folder that names another rig than its page, or a second folder of one rig and date."""
    named, page = rig_of(folder), _day_page(call, desk, folder)
    rig = (page.raw or {}).get("rig") if page is not None else None
    if not isinstance(rig, str):
        return None  # the page is told that its rig is missing
    if named and plain_name(named) != plain_name(rig):
        message = f"the folder is for rig `{named[:60]}`, its day.yaml for `{rig[:60]}`"
        return file_fault("rig.disagrees", folder, message, "write the same rig in both")
    date = folder.name[:10]
    for other in listed_files(folder.parent):
        if other == folder or not other.name.startswith(date) or not is_day(other) or date_of(other) is None:
            continue
        written = read_file(other / "day.yaml").mapping.get("rig")  # its own faults are told where it is asked for
        theirs = rig_of(other) or (written.value if written is not None else "")
        if isinstance(theirs, str) and plain_name(theirs) == plain_name(rig):
            message = f"`{shown(Path(other.name))}` is a folder of the same rig and date"
            return file_fault("folder.twice", folder, message, "keep one folder for each rig and date")
    return None


def _id(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}" if date_of(path.parent) is not None else path.stem


def _job(call: _Call, desk: Desk, path: Path) -> None:
    if path in call.jobs:
        return
    call.jobs[path] = None
    if _crowded(call, path.parent):
        return
    page = _day_page(call, desk, path.parent)
    job_document = desk.job(path, page)
    if path not in _misplaced(call, desk, path.parent) and not _printed_over(call, path):
        call.jobs[path] = _joined(call, desk, path, job_document, page)


def _printed_over(call: _Call, path: Path) -> bool:
    """Whether another job or day of this call has the same name, so that packets would be printed over each other."""
    dated = date_of(path.parent) is not None
    names = [(_id(path), path), *([(f"{path.parent.name}/", path.parent)] if dated else [])]
    for name, own in names:
        first = call.printed.setdefault(unicodedata.normalize("NFC", name).casefold(), own)
        if first != own:
            message = f"packets would be printed over those of `{shown(first)}`"
            fault = file_fault("file.name", own, message, "rename one of the two, or run them separately")
            if fault not in call.faults:
                call.faults.append(fault)
            return True
    return False


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
    if result is not None and stock.root is None and pours(result):
        call.faults.append(no_stock(desk))
        result = None
    call.faults += faults_of(slips, root, found.document.refused)
    values = {
        "": job,
        "company": company,
        "day": day,
        "stock": stock.value,
        "surfaces": desk.surfaces.value,
        "rig": rig.value,
        "learned": desk.learned.value,
    }
    found_odd = {
        figure.path: figure for name, value in values.items() for figure in unusual(value, roots[name or "job"], name)
    }
    return replace(result, unusual=tuple(found_odd.values())) if result is not None else None
