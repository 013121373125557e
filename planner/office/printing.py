"""Packets as `planner packet` prints them: which files a call asks for, what makes each, and how they are written.

Each is written whole or not at all. The desk asks for the same files, to look at them first.
"""

from __future__ import annotations

import re
import sys
from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import field, replace
from functools import partial
from pathlib import Path
from typing import Final, Literal

from planner.checks.model import CheckedJob
from planner.contract.plan import PlanJson, job_json, plan_text
from planner.days.archiving import Kept, archive_printed
from planner.days.prepare import Clocked, Depth, Trouble, checked_folders, clocked, looked_ahead
from planner.exits import apologise
from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.workspace import Loaded
from planner.office.due import due_on_pages
from planner.packet.book import Book, day_book, job_book, notice, owner_book, rig_book
from planner.packet.html import twin
from planner.packet.pages.pages import Paper
from planner.packet.sandbox import TemplateRefused
from planner.packet.sections.facts import rig_name
from planner.plan.days.day import DayPlan
from planner.processes import cores, spread
from planner.terminal import on_one_line, progress
from planner.units import System
from planner.writing import read_ordinary, write_whole

_FEW: Final = 16
"""So many jobs are planned, then printed one after another and told one by one; more are printed by all cores while
the next days are planned, and told a line a day (our choice)."""

_TOGETHER: Final = 24
"""So many packets are archived in one go (our choice)."""

Say = Callable[[str], None]
What = Literal["day", "packet", "owner", "notice", "rig"]


def _warn(text: str) -> None:
    print(text, file=sys.stderr)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is to be printed beside packets and covers; paper and units other than the company's own."""

    paper: Paper | None = None
    units: System | None = None
    owner: bool = False
    notice: bool = False
    html: bool = False
    rig_card: bool = False


def printed(
    read: Loaded, root: Path, asked: Asked, say: Say = print, warn: Say = _warn
) -> tuple[list[CheckedJob], Trouble]:
    """Print everything of what was read into `root`; the jobs, and what went wrong on the way.

    `say` is told each file that was written, `warn` what to look out for.
    """
    trouble = Trouble(faults=list(read.faults))
    jobs: list[CheckedJob] = []
    whole = {name: n for n, day in enumerate(read.days) for name in day.jobs}
    days: dict[int, Clocked] = {}
    due = due_on_pages([job for job in read.jobs if job.id in whole], asked.units)

    def packets() -> Iterator[list[Print]]:
        """Those of one day after another, as it is planned."""
        for of_folder in checked_folders(read, trouble, Depth(tables=True)):
            jobs.extend(of_folder)
            found = {
                n: clocked(read.days[n], of_folder)
                for n in {whole[job.plan.id] for job in of_folder if job.plan.id in whole}
            }
            days.update({n: day for n, day in found.items() if day is not None})
            for job in of_folder:
                if job.breaches:
                    _put_aside(_beside(packet_path(root, job)), warn)
            yield packets_of(root, of_folder, [day for day in found.values() if day is not None], asked)

    def covers() -> list[Print]:
        """What wants every day planned."""
        return covers_of(root, jobs, looked_ahead([days[n] for n in sorted(days)]), due, asked)

    with progress("packets", len(read.jobs)) as step:
        printer = _Printer(root=root, trouble=trouble, step=step, many=len(read.jobs) > _FEW, say=say, warn=warn)
        if printer.many:
            printer.print_all(packets(), covers, min(cores(), len(read.jobs)))
        else:
            prints = [one for turn in packets() for one in turn]
            prints = _in_order([*prints, *covers()])
            printer.targets.update(one.target for one in prints)
            printer.print_all([[one] for one in prints], list, 1)
    return jobs, trouble


def prints_of(root: Path, jobs: Sequence[CheckedJob], days: Sequence[Clocked], asked: Asked) -> list[Print]:
    """The files of these jobs and days in the order of their names; none of a job that failed its rehearsal."""
    due = due_on_pages([job.plan.input for _, of_day in days for job in of_day], asked.units)
    return _in_order([*packets_of(root, jobs, days, asked), *covers_of(root, jobs, days, due, asked)])


def packets_of(root: Path, jobs: Sequence[CheckedJob], days: Sequence[Clocked], asked: Asked) -> list[Print]:
    """The files of each job, those of `days` on their day's clock."""
    of_days = {job.plan.id: (job, of_day) for _, of_day in days for job in of_day}
    prints: list[Print] = []
    for job in jobs:
        if not job.breaches:
            prints += _of_job(root, *of_days.get(job.plan.id, (job, [])), asked)
    return _in_order(prints)


def covers_of(
    root: Path, jobs: Sequence[CheckedJob], days: Sequence[Clocked], due: Mapping[str, list[str]], asked: Asked
) -> list[Print]:
    """Each day's cover, and the cards of the rigs where they are asked for."""
    prints = [_of_day(root, day, of_day, due.get(day.name, []), asked) for day, of_day in days]
    return _in_order([*prints, *(_rig_cards(root, jobs, asked) if asked.rig_card else ())])


def _in_order(prints: Iterable[Print]) -> list[Print]:
    return sorted(prints, key=lambda one: one.target.with_suffix(""))


@dataclass(frozen=True, slots=True, kw_only=True)
class Print:
    """One file to print: where it goes, whether to mark it as held, what makes its bytes and those of its twins."""

    target: Path
    held: bool
    make: Callable[[], Made]
    """Another process may be sent it."""
    job: CheckedJob | None = None
    """Whose packet it is."""
    what: What = "packet"
    of: str = ""
    """The id of the job that it is about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """The bytes of a print by the ending of its file's name; none where its fault is told, or where it is ours.

    Of a packet its plan too, as it is archived. `pages` are the titles on each page.
    """

    files: dict[str, bytes] = field(default_factory=dict)
    pages: tuple[str, ...] = ()
    plan: PlanJson | None = None
    fault: Fault | None = None


@dataclass(slots=True, kw_only=True)
class _Printer:
    """Makes and writes prints, one by one or `many` by all cores; what was not written of many is named at the end."""

    root: Path
    trouble: Trouble
    step: Callable[[], None]
    many: bool
    say: Say
    warn: Say
    targets: set[Path] = field(default_factory=set)
    """What is printed anew: known of a whole day before its first is written."""
    missing: list[Path] = field(default_factory=list)
    kept: list[Kept] = field(default_factory=list)
    cautions: dict[str, None] = field(default_factory=dict)

    def print_all(self, turns: Iterable[list[Print]], last: Callable[[], list[Print]], processes: int) -> None:
        """The turns in order, each whole in one process; `last` is asked for and made here once all turns are named."""
        named: deque[list[Print]] = deque()
        told_last: list[str] = []

        def works() -> Iterator[Callable[[], list[Made]]]:
            for turn in turns:
                named.append(turn)
                self.targets.update(one.target for one in turn)
                yield partial(_made, [(str(one.target), one.make) for one in turn])
            for one in last():
                told_last.extend(self._written(one, *_made([(str(one.target), one.make)]), beside=self.root))

        with closing(spread(works(), processes)) as results:
            for result in results:
                turn = named.popleft()
                folder = turn[0].target.parent if turn and self.many else None
                made = zip(turn, result or [Made()] * len(turn), strict=True)
                self._tell(folder, [file for one, of_one in made for file in self._written(one, of_one, beside=folder)])
        self._tell(self.root, told_last)
        self._archive(0)
        for said in self.cautions:
            self.warn(said)
        if self.many and self.missing:
            self.warn(f"not printed: {', '.join(on_one_line(str(one)) for one in self.missing)}")

    def _written(self, one: Print, made: Made, *, beside: Path | None) -> list[str]:
        """Write what was made; what it says of each file, named from the folder `beside`."""
        stale = _stale(one, made, self.targets)
        files = _written(self.root, one, made, self.trouble)
        if one.target in files:
            _put_aside(stale, self.warn)
        else:
            self.missing.append(one.target)
        if one.job is not None:
            self.step()
            if made.plan is not None and one.target in files:
                file = one.target.relative_to(self.root).as_posix()
                self.kept.append(Kept(job=one.job, plan=made.plan, file=file, packet=made.files[".pdf"]))
                self._archive(_TOGETHER)
        names = [str(file if beside is None else file.relative_to(beside)) for file in files]
        return [f"{on_one_line(name)}{'  HELD' if one.held else ''}" for name in names]

    def _tell(self, folder: Path | None, files: Sequence[str]) -> None:
        """A line a folder, or a line a file."""
        if files:
            self.say("\n".join(files) if folder is None else f"{on_one_line(str(folder))}: {', '.join(files)}")

    def _archive(self, most: int) -> None:
        """Archive what was printed, if it is more than so many."""
        if len(self.kept) > most:
            self.cautions |= dict.fromkeys(archive_printed(self.kept))
            self.kept.clear()


def _made(prints: Sequence[tuple[str, Callable[[], Made]]]) -> list[Made]:
    """Make the bytes of each. What goes wrong is a fault, or an apology of ours, and the others go on."""

    def made(target: str, make: Callable[[], Made]) -> Made:
        try:
            return make()
        except TemplateRefused as refused:
            # The wording serves every job: the fault is told once.
            return Made(fault=refused.fault)
        except Exception:
            apologise(target)
            return Made()

    return [made(target, make) for target, make in prints]


def _written(root: Path, one: Print, made: Made, trouble: Trouble) -> list[Path]:
    """Write what was made, here alone: a process that is killed leaves nothing half-written."""
    written: list[Path] = []
    trouble.ours |= not made.files and made.fault is None
    trouble.faults += [made.fault] if made.fault is not None else []
    try:
        for ending, content in made.files.items():
            target = one.target.with_name(f"{one.target.stem}{ending}")
            write_whole(target, content, root)
            written.append(target)
    except OSError as error:
        trouble.faults.append(_unwritable(one.target, error))
    return written


def _of_day(
    root: Path, day: DayPlan, jobs: list[CheckedJob], due: list[str], asked: Asked
) -> Print:  # fmt: skip
    company = jobs[0].plan.input.company
    book = partial(
        day_book,
        day,
        jobs,
        paper=asked.paper or company.page,
        system=asked.units or company.units,
        due=due,
    )
    target = root / day.name / "00-day.pdf"
    return Print(target=target, held=False, make=partial(_files, book, html=asked.html), what="day")


def _of_job(root: Path, job: CheckedJob, day: list[CheckedJob], asked: Asked) -> Iterator[Print]:
    company = job.plan.input.company
    paper, system = asked.paper or company.page, asked.units or company.units
    target = packet_path(root, job)
    held, of = job.verdict == "stop", job.plan.id
    crews = partial(_crews, job, day, paper, system, html=asked.html)
    yield Print(target=target, held=held, make=crews, job=job, of=of)
    if asked.owner or company.owner_pages == "always":
        # A held job's too: on paper its figures are here alone.
        owners = target.with_name(f"{target.stem}-owner.pdf")
        book = partial(owner_book, job, paper=paper, system=system)
        yield Print(target=owners, held=held, make=partial(_files, book, html=asked.html), what="owner", of=of)
    if asked.notice and job.plan.kind == "wash":
        beside = target.with_name(f"{target.stem}-notice.pdf")
        yield Print(target=beside, held=False, make=partial(_notice, job, paper, system), what="notice", of=of)


def _rig_cards(root: Path, jobs: Sequence[CheckedJob], asked: Asked) -> Iterator[Print]:
    """One for each rig that the jobs name; it says nothing of any job."""
    for name, job in {rig_name(job.plan): job for job in reversed(jobs)}.items():
        company = job.plan.input.company
        book = partial(rig_book, job.plan, paper=asked.paper or company.page, system=asked.units or company.units)
        target = root / f"rig-{_in_file_name(name)}.pdf"
        yield Print(target=target, held=False, make=partial(_files, book, html=asked.html), what="rig")


def _in_file_name(name: str) -> str:
    """A rig's name as part of a file's: what a file system or a shell has its own use for is a hyphen."""
    return re.sub(r"[^\w.]+", "-", name).strip("-.") or "card"


def _crews(job: CheckedJob, day: list[CheckedJob], paper: Paper, system: System, *, html: bool) -> Made:
    """The packet, and its plan in the company's own units."""
    plan, own = job_json(job, system), job.plan.input.company.units
    book = partial(job_book, job, paper=paper, system=system, plan_json=plan_text(plan), day=day)
    return replace(_files(book, html=html), plan=plan if system == own else job_json(job, own))


def _notice(job: CheckedJob, paper: Paper, system: System) -> Made:
    return Made(files={".pdf": notice(job, paper=paper, system=system)}, pages=("Notice for the customer",))


def _files(make: Callable[[], Book], *, html: bool) -> Made:
    """The book's bytes, and its twin's for screen readers."""
    book = make()
    return Made(files={".pdf": book.pdf, **({".html": twin(book)} if html else {})}, pages=book.pages())


def packet_path(root: Path, job: CheckedJob) -> Path:
    """Where a job's packet goes: ROOT/<date>/<stem>.pdf, or ROOT/<stem>.pdf for a job without a day."""
    parts = job.plan.id.split("/")
    return root.joinpath(*parts[:-1], f"{parts[-1]}.pdf")


def _beside(target: Path) -> list[Path]:
    """All that may have been printed of a job: its packet, the owner's pages, the customer's notice, their twins."""
    files = [target, *(target.with_name(f"{target.stem}-{whose}.pdf") for whose in ("owner", "notice"))]
    return [one for file in files for one in (file, file.with_suffix(".html"))]


def _stale(one: Print, made: Made, targets: Collection[Path]) -> list[Path]:
    """What lies beside a packet that is about to change, and is not printed anew: it tells of another plan."""
    pdf = made.files.get(".pdf")
    if one.job is None or pdf is None:
        return []
    try:
        changed = read_ordinary(one.target, len(pdf) + 1) != pdf
    except OSError:
        changed = True
    twins = [target.with_suffix(".html") for target in targets if ".html" in made.files]
    return [file for file in _beside(one.target) if changed and file not in targets and file not in twins]


def _put_aside(files: Iterable[Path], warn: Say) -> None:
    """What was printed before and is not printed anew: renamed, so that nobody hands it out for today's."""
    for old in files:
        aside = old.with_name(f"{old.stem}-before{old.suffix}")
        try:
            old.replace(aside)
        except FileNotFoundError:
            continue
        except OSError as error:
            warn(f"Do not work from {old}: it was printed before. ({error.strerror or error})")
        else:
            warn(f"Do not work from the packet printed before: it is now {aside}")


def _unwritable(target: Path, error: OSError) -> Fault:
    return Fault(
        code="packet.unwritable",
        message=f"the packet could not be written: {error.strerror or error}",
        remedy="Name a folder you may write to with -o, and close the file if it is open elsewhere.",
        where=Where(file=str(target)),
    )
