"""What the jobs of a call follow: the rest of their days, and what their rigs did before, however few files were named.

A day that was asked for, in whole or in one job, is planned whole and in order: its clock, its shelf and its rig belong
to all of it.  Behind it lie the days before, as far as `look_back` goes, and less far where what the day's gear last
held is sure: a job on record settles the gear it used, a heel in a day's page settles its tank.  What a rig did without
a record may or may not have been done, so the search goes on behind it.  Walls are looked for by their address: pores
keep what was on them until a strip is read.

A file is opened only if its text names gear or ground that is still open; a file whose text cannot be read always is.
"""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from planner.archive.kept.lately import records_between
from planner.contract.planned import NOT_DONE
from planner.days.archiving import address_of, workspace_of
from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.models import Rig
from planner.inputs.reading.addresses import same_place, telling_word
from planner.inputs.reading.files import astray, days_below, in_working_order, is_day, plain_name
from planner.inputs.reading.tree import LARGEST_FILE
from planner.inputs.tables.chemicals import ACIDS, BLEACH
from planner.inputs.workspace import Loaded, date_of
from planner.plan.between.heels import water_of
from planner.plan.days.pending import parts_of_run
from planner.writing import read_ordinary

if TYPE_CHECKING:
    from planner.contract.record import RecordJson

_LIKE: Final = "like"
"""A job that takes something from an earlier one may use gear its own text never names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing that happens in turn: a job, a file that cannot be read (no `job`), or what a `morning`'s page says.

    `asked`: the call names it. `of_day`: it belongs to a day the call names; else it is only looked back upon.
    `record` is what was written down of a job of the days before, None where nothing was.
    """

    folder: Path
    workspace: Path
    date: datetime.date | None
    place: int
    name: str
    rig: str
    job: JobInput | None
    asked: bool = False
    of_day: bool = False
    morning: bool = False
    record: RecordJson | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LineUp:
    """Everything in turn, and why the records of the days before could not be read, where they could not."""

    entries: tuple[Entry, ...]
    trouble: str | None = None


def line_up(read: Loaded) -> LineUp:
    """The jobs of a call among all they follow, by date, folder and place."""
    paths = {id(job): path for path, job in read.call.jobs.items() if job is not None}
    asked = {paths[id(job)]: job for job in read.jobs}
    found: dict[tuple[Path, int, str], Entry] = {}
    seen, stems = _Seen(), {path.with_suffix("") for path in asked}
    for folder in dict.fromkeys(path.parent for path in asked):
        workspace = workspace_of(folder) or folder
        day = [_entry(read, workspace, path, n, job) for n, (path, job) in enumerate(_of_folder(read, folder, asked))]
        day = [replace(one, asked=folder / one.name in stems, of_day=True) for one in day]
        for one in (*day, *_before(read, workspace, folder, day, seen)):
            key = (one.folder, one.place, one.name)
            if key not in found or one.of_day:
                found[key] = one
    entries = sorted(found.values(), key=lambda one: (one.date or datetime.date.min, one.folder, one.place))
    return LineUp(entries=tuple(entries), trouble=seen.trouble)


def _of_folder(read: Loaded, folder: Path, asked: Mapping[Path, JobInput]) -> list[tuple[Path, JobInput | None]]:
    """The folder's jobs in working order; outside of a day, those that were asked for alone."""
    own = {path: job for path, job in asked.items() if path.parent == folder}
    if is_day(folder):
        whole = {path: read.job_at(path) for path in in_working_order(folder)}
        return list({**whole, **own}.items())
    return list(own.items())


def _entry(read: Loaded, workspace: Path, path: Path, place: int, job: JobInput | None) -> Entry:
    return Entry(
        folder=path.parent,
        workspace=workspace,
        date=job.date if job is not None else date_of(path.parent),
        place=place + 1,
        name=path.stem,
        rig=plain_name(job.rig.rig) if job is not None else _rig_of_page(read, path.parent),
        job=job,
    )


def _rig_of_page(read: Loaded, folder: Path) -> str:
    """The rig a day's page names, as names are compared; empty where it cannot be told, or no rig is called so."""
    page = read.page(folder) if is_day(folder) else None
    name = (page.raw or {}).get("rig") if page is not None else None
    return plain_name(name) if isinstance(name, str) and read.has_rig(folder, name) else ""


@dataclass(slots=True)
class _Seen:
    """What lies behind the days of a call, looked at once: records by workspace and stretch of days, days, texts."""

    found: dict[tuple[Path, str, str], Mapping[str, RecordJson]] = field(default_factory=dict)
    days: dict[Path, list[tuple[datetime.date | None, Path]]] = field(default_factory=dict)
    orders: dict[Path, list[Path]] = field(default_factory=dict)
    texts: dict[Path, str | None] = field(default_factory=dict)
    strays: dict[Path, list[Path]] = field(default_factory=dict)
    trouble: str | None = None

    def days_before(self, workspace: Path, first: datetime.date, end: datetime.date) -> list[Path]:
        """The workspace's days from `first` up to `end`, the latest first."""
        if workspace not in self.days:
            dated = [(date_of(folder), folder) for folder in days_below(workspace)]
            self.days[workspace] = sorted(dated, key=lambda row: row[1].name, reverse=True)
        return [folder for date, folder in self.days[workspace] if date is not None and first <= date < end]

    def jobs_in(self, folder: Path) -> list[Path]:
        """A day's job files in working order."""
        if folder not in self.orders:
            self.orders[folder] = in_working_order(folder)
        return self.orders[folder]

    def text(self, path: Path) -> str | None:
        """As `_text` has it."""
        if path not in self.texts:
            self.texts[path] = _text(path)
        return self.texts[path]

    def between(
        self, workspace: Path, job: JobInput, first: datetime.date, end: datetime.date
    ) -> Mapping[str, RecordJson]:
        key = (workspace, first.isoformat(), end.isoformat())
        if key not in self.found:
            self.found[key] = {}
            try:
                self.found[key] = records_between(address_of(job.company), workspace, key[1], key[2])
            except OSError as error:
                self.trouble = str(error)
        return self.found[key]


@dataclass(slots=True)
class _Open:
    """What is not settled yet of one rig and its ground: tanks, parts of lines, pumps bleach may have gone through."""

    rig: Rig
    gear: set[str]
    acid_pumps: set[str]
    ground: frozenset[str]

    def words(self) -> set[str]:
        """What a job's text may call open gear by: its names, and those of setups that use it."""
        names = self.gear | self.acid_pumps
        setups = {
            setup.name
            for setup in self.rig.setups
            if names & {setup.pump, setup.feed, setup.dosing, *(hose for hose in setup.hoses if isinstance(hose, str))}
        }
        return {name.casefold() for name in names | setups}

    def close(self, job: JobInput, *, sure: bool) -> None:
        """Settle what this job used, if it is sure that it was done."""
        for run in job.runs:
            if sure:
                self.gear -= {tank.name for tank in (run.feed_tank, water_of(job, run)) if tank is not None}
            chemicals = {surface.chemical for surface in job.surfaces if surface.name in run.surfaces}
            if not (run.premix or run.dosing is not None) or not chemicals - {None}:
                continue
            if BLEACH in chemicals and run.pump is not None:
                self.acid_pumps.discard(run.pump.name)
            if sure:
                self.gear -= set(parts_of_run(run))


def _before(read: Loaded, workspace: Path, folder: Path, day: Sequence[Entry], seen: _Seen) -> Iterator[Entry]:
    """What a day's rig and ground went through before it, the latest first, and other rigs on its ground that day."""
    jobs = [one.job for one in day if one.job is not None]
    date = date_of(folder) if is_day(folder) else None
    if date is None or not jobs:
        return
    within = max(job.limits["look_back"] for job in jobs)
    first = date - datetime.timedelta(seconds=within)
    records = seen.between(workspace, jobs[0], first, date)
    left = _open(jobs)
    rig = plain_name(jobs[0].rig.rig)
    if workspace not in seen.strays:
        seen.strays[workspace] = astray(workspace)
    for odd in seen.strays[workspace]:
        # It may be an earlier day, and nobody reads it.
        yield Entry(
            folder=odd, workspace=workspace, date=date - datetime.timedelta(days=1), place=0,
            name=f"folder {odd.name}", rig="", job=None,
        )  # fmt: skip
    for beside in seen.days_before(workspace, date, date + datetime.timedelta(days=1)):
        for place, path in enumerate(seen.jobs_in(beside) if beside != folder else ()):
            if _names(seen.text(path), left.ground):
                yield _entry(read, workspace, path, place, read.job_at(path))
    for earlier in seen.days_before(workspace, first, date):
        words = left.words()
        paths = seen.jobs_in(earlier)
        texts = {path: seen.text(path) for path in (*paths, earlier / "day.yaml")}
        whose = None
        for place, path in reversed(list(enumerate(paths))):
            named = _names(texts[path], words)
            if not named and not _names(texts[path], left.ground):
                continue
            whose = _rig_of_page(read, earlier) if whose is None else whose
            if whose not in (rig, "") and not _names(texts[path], left.ground):
                continue
            job = read.job_at(path)
            entry = _entry(read, workspace, path, place, job)
            entry = replace(entry, record=records.get(f"{earlier.name}/{path.stem}"))
            if entry.record is not None and entry.record.get("status") in NOT_DONE:
                continue
            if job is not None and entry.rig == rig:
                left.close(job, sure=entry.record is not None)
            yield entry
        if _names(texts[earlier / "day.yaml"], left.gear) and _rig_of_page(read, earlier) in (rig, ""):
            page = read.page(earlier)
            if page is not None and page.value is None:
                yield Entry(
                    folder=earlier, workspace=workspace, date=date_of(earlier), place=0,
                    name="day.yaml", rig=rig, job=None,
                )  # fmt: skip
            elif page is not None and page.value is not None:
                left.gear -= set(page.value.heels)
                yield Entry(
                    folder=earlier, workspace=workspace, date=date_of(earlier), place=0, name="day", rig=rig,
                    job=replace(jobs[0], day=page.value, date=date_of(earlier)), morning=True,
                )  # fmt: skip


def _open(jobs: Sequence[JobInput]) -> _Open:
    """All that the day's jobs draw from, go through and land on."""
    runs = [(job, run) for job in jobs for run in job.runs]
    runs += [(job, job.yard_run) for job in jobs if job.yard_run is not None]
    gear = {part for _, run in runs for part in (*parts_of_run(run), *(hose.name for hose in run.put_on))}
    gear |= {tank.name for job, run in runs for tank in (run.feed_tank, water_of(job, run)) if tank is not None}
    gear |= {run.pump.name for _, run in runs if run.pump is not None}
    pumps = {job.yard.pump for job in jobs if job.yard is not None}
    acid = {
        run.pump.name
        for job, run in runs
        if run.pump is not None
        and (run.premix or run.dosing is not None)
        and not run.pump.dedicated
        and any(one.chemical in ACIDS for one in job.surfaces if one.name in run.surfaces)
    }
    ground: set[str] = set()
    for job in jobs:
        address = job.job.site.address if job.surfaces else ""
        # However it is spelled: the street's own name, else its numbers.
        name = telling_word(address)
        ground |= {name} if name else set(re.findall(r"\d+", same_place(address)))
    return _Open(rig=jobs[0].rig, gear=gear | pumps, acid_pumps=acid | pumps, ground=frozenset(ground))


def _text(path: Path) -> str | None:
    """A file's text in one case and without accents; None where it cannot be read, or is not there."""
    try:
        content = read_ordinary(path, LARGEST_FILE + 1)
        if content.isascii() and len(content) <= LARGEST_FILE:
            return content.decode("ascii").casefold()
        text = unicodedata.normalize("NFKD", content.decode("utf-8"))
    except (OSError, ValueError):
        return None
    if len(content) > LARGEST_FILE:
        return None
    return "".join(letter for letter in text if not unicodedata.combining(letter)).casefold()


def _names(text: str | None, words: Iterable[str]) -> bool:
    """Whether a text names one of the words, or may: one that nobody can read names them all."""
    return text is None or _LIKE in text or any(word.casefold() in text for word in words)
