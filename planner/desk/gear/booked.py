"""What a change of a shared file does to booked jobs, told before it is saved: each verdict before and after.

Both sides are planned alike, all booked days in one call, so that what an earlier day pulls is gone for a later one.
What another file has unsaved counts on both sides: only this file's own change is told.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from planner.archive.kept.lately import records_between
from planner.checks.model import CheckedJob
from planner.days.archiving import address_of
from planner.days.prepare import Depth, Trouble, checked_jobs, days_of
from planner.desk.checking import units_of
from planner.desk.files import Sheet
from planner.desk.frame import day_title
from planner.desk.state import Desk
from planner.desk.told import VERDICTS, fault_remark
from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.models import Company
from planner.inputs.reading.files import date_of, in_working_order, plain_name, read_file, shown
from planner.inputs.shelf import Desk as Shelf
from planner.inputs.workspace import BARE, load
from planner.packet.sections.mixes import dial_set, stock_in_all
from planner.plan.days.day import DayPlan
from planner.units import System
from planner.words import spoken
from planner.words.figures import reached, tightest
from planner.writing import unsaved

MOST_DAYS: Final = 6
"""Days planned for one answer: each takes about 60 ms, twice (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Days:
    """Booked days, the next first. `left_out`: how many more there are. `past`: none is ahead, so those not on record.

    `known`: the records could be read; else every job counts as booked.
    """

    folders: tuple[Path, ...]
    left_out: int
    past: bool
    done: frozenset[str]
    known: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Days planned in one call: what became of each job by its id, and why one could not be planned."""

    jobs: Mapping[str, CheckedJob]
    days: Mapping[Path, DayPlan]
    faults: tuple[Fault, ...]
    system: System


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One job before or after: level and word of its verdict."""

    level: str
    word: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One booked job: what its verdict was and becomes, what is new and what is gone, and which figures move."""

    id: str
    day: str
    title: str
    before: Side
    after: Side
    new: tuple[tuple[str, str], ...]
    gone: tuple[str, ...]
    figures: tuple[str, ...]

    @property
    def changes(self) -> bool:
        """Whether its verdict or a finding changes."""
        return self.before != self.after or bool(self.new or self.gone)


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a change comes to: jobs it changes, jobs of which only figures move, and the rest."""

    changed: tuple[Row, ...]
    moved: tuple[Row, ...]
    same: tuple[Row, ...]
    days: Days
    faults: tuple[tuple[str, int, str, str], ...]

    @property
    def count(self) -> int:
        """How many booked jobs were looked at."""
        return len(self.changed) + len(self.moved) + len(self.same)


def booked_days(desk: Desk, shelf: Shelf, rig: str | None = None) -> Days:
    """Days from today on, of one `rig` where it is named; where none is ahead, those with a job that is not on record.

    In the demo all days are past, and a rig is most often changed on the evening before.
    """
    dated = [(date, folder) for folder in desk.files.days() if (date := date_of(folder)) is not None]
    mine = [(date, folder) for date, folder in dated if rig is None or plain_name(rig) in rigs_of(folder)]
    today = datetime.date.today()
    done, known = _on_record(desk, shelf.company.value, [date for date, _ in mine])
    open_ones = [row for row in mine if {f"{row[1].name}/{path.stem}" for path in in_working_order(row[1])} - set(done)]
    ahead = [folder for date, folder in open_ones if date >= today]
    found = ahead or [folder for _, folder in open_ones]
    chosen = found[:MOST_DAYS] if ahead else found[-MOST_DAYS:]
    return Days(
        folders=tuple(chosen), left_out=len(found) - len(chosen), past=not ahead, done=frozenset(done), known=known
    )


def rigs_of(folder: Path) -> set[str]:
    """Rigs that a day's page or its jobs name, as names are compared."""
    page = read_file(folder / "day.yaml").mapping.get("rig")
    if page is not None:
        return {plain_name(page.value)} if isinstance(page.value, str) else set()
    written = [read_file(path).mapping.get("rig") for path in in_working_order(folder)]
    return {plain_name(node.value) for node in written if node is not None and isinstance(node.value, str)}


def _on_record(desk: Desk, company: Company | None, dates: list[datetime.date]) -> tuple[set[str], bool]:
    if company is None or not dates:
        return set(), company is not None
    end = max(dates) + datetime.timedelta(days=1)
    try:
        found = records_between(
            address_of(company), desk.files.folder, min(dates).isoformat(), end.isoformat()
        )  # fmt: skip
    except OSError:
        return set(), False
    return set(found), True


# ------------------------------------------------------------ planned


def planned(desk: Desk, days: Days, texts: Mapping[Path, bytes]) -> Planned:
    """The booked days with some texts in place of what the disk holds; asked again for the same, it is at hand."""
    if not days.folders:
        return Planned(jobs={}, days={}, faults=(), system="us")
    key = (days.folders, *sorted((str(path), text) for path, text in texts.items()))
    state = desk.rests_on()
    kept = desk.planned.get(key) if state is not None else None
    if kept is not None and kept[0] == state:
        found: Planned = kept[1]
        return found
    made = _planned(days, texts)
    while len(desk.planned) > 3:
        desk.planned.pop(next(iter(desk.planned)))
    desk.planned[key] = (state, made)
    return made


def _planned(days: Days, texts: Mapping[Path, bytes]) -> Planned:
    with unsaved(texts):
        read = load(days.folders)
        trouble = Trouble(faults=[fault for fault in read.faults if fault.code != BARE])
        found = list(checked_jobs(read, trouble, Depth(cures=False)))
        put_in = days_of(read, found, quick=True)
    folders = {folder.name: folder for folder in days.folders}
    return Planned(
        jobs={job.plan.id: job for job in found},
        days={folders[day.name]: day for day, _ in put_in if day.name in folders},
        faults=tuple(dict.fromkeys(trouble.faults)),
        system=units_of(read, found),
    )


# ------------------------------------------------------------ compared


def effect_of(desk: Desk, sheet: Sheet, days: Days) -> Effect:
    """What the unsaved text of a file does to booked jobs."""
    texts = desk.files.unsaved()
    now = planned(desk, days, texts)
    was = planned(desk, days, {path: text for path, text in texts.items() if path != sheet.path})
    rows = [
        _row(desk, sheet, was, now, path)
        for folder in days.folders
        for path in in_working_order(folder)
        if f"{folder.name}/{path.stem}" not in days.done
    ]
    order = {"fault": 0, "stop": 1, "caution": 2, "ok": 3}
    changed = sorted((row for row in rows if row.changes), key=lambda row: order[row.after.level])
    return Effect(
        changed=tuple(changed),
        moved=tuple(row for row in rows if not row.changes and row.figures),
        same=tuple(row for row in rows if not row.changes and not row.figures),
        days=days,
        faults=tuple(
            (_inside(desk, fault.where.file), fault.where.line, fault.message, fault.remedy)
            for fault in now.faults
            if fault not in was.faults and fault.where.file != shown(sheet.path)
        ),
    )


def _row(desk: Desk, sheet: Sheet, was: Planned, now: Planned, path: Path) -> Row:
    folder = path.parent
    id_ = f"{folder.name}/{path.stem}"
    before, after = was.jobs.get(id_), now.jobs.get(id_)
    one = after or before
    new: tuple[tuple[str, str], ...] = ()
    gone: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()
    if before is not None and after is not None:
        old, open_ones = _open(before), _open(after)
        new = tuple(
            (finding.level, spoken.message(finding, now.system))
            for key, finding in open_ones.items()
            if key not in old or old[key].level != finding.level
        )
        gone = tuple(
            spoken.message(finding, now.system)
            for key, finding in old.items()
            if key not in open_ones
        )  # fmt: skip
        figures = tuple(_moved(_figures(before, was.system), _figures(after, now.system)))
    elif after is None and before is not None:
        told = _why(desk, now, path, sheet)
        new = (("fault", told),) if told else ()
    return Row(
        id=desk.files.id_of(path), day=day_title(folder, now.system), title=one.plan.title if one else path.stem,
        before=_side(before), after=_side(after), new=new, gone=gone, figures=figures,
    )  # fmt: skip


def _side(job: CheckedJob | None) -> Side:
    level = "fault" if job is None else "stop" if job.held else job.verdict
    return Side(level=level, word=VERDICTS[level])


def _open(job: CheckedJob) -> dict[tuple[str, str], Any]:
    """The stops and cautions somebody would read, by code and what they are about."""
    return {
        (one.code, one.about): one
        for one in job.findings
        if one.level in ("stop", "caution") and one.accepted is None
    }  # fmt: skip


def _why(desk: Desk, now: Planned, path: Path, sheet: Sheet) -> str:
    """Why a job can no longer be planned: a fault of its own file, else the first there is.

    Nothing where that is a fault of the changed file: those are told beside.
    """
    own = [fault for fault in now.faults if fault.where.file == shown(path)]
    first = next(iter(own or now.faults), None)
    if first is None or first.where.file == shown(sheet.path):
        return ""
    return f"{_inside(desk, first.where.file)}, line {first.where.line}: {fault_remark(first, 0).text}"


def _inside(desk: Desk, file: str) -> str:
    """A file as it is called in the workspace."""
    return file.removeprefix(f"{shown(desk.files.folder)}/")


def _figures(job: CheckedJob, system: System) -> dict[str, str]:
    """The figures a change of gear or stock moves most: the tightest jet, and what each mix takes."""
    found = {}
    run = tightest(job.plan.runs)
    heights = reached(run, system) if run is not None else None
    if heights is not None:
        found["jet at worst"] = heights.low
    for mix in job.plan.mixes:
        if not mix.reachable:
            continue
        name = mix.lot.name if mix.lot is not None else mix.chemical
        if mix.dial is not None:
            found[f"dial for {name}"] = dial_set(mix)
        elif amount := stock_in_all(mix, system):
            found[f"stock of {name}"] = amount
    return found


def _moved(before: Mapping[str, str], after: Mapping[str, str]) -> Iterator[str]:
    for name in dict.fromkeys((*before, *after)):
        old, new = before.get(name, "none"), after.get(name, "none")
        if old != new:
            yield f"{name}: {old}, then {new}"
