"""What the place of what was done holds beside the files: where each job's record is, and what is to be learned."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from glob import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from planner.days.archiving import address_of
from planner.desk.done.sent import Shown, sent_over
from planner.desk.done.sitting import Sitting, sitting, typed_in
from planner.desk.done.table import Table, pair_now, table
from planner.desk.done.taken import OnHand
from planner.desk.files import stamps
from planner.desk.frame import Rail, Row, around, day_title
from planner.desk.state import Desk
from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.reading.files import in_working_order
from planner.inputs.shelf import Desk as Shelf
from planner.recording.against import Against, RecordJob, job_asked, planned_now
from planner.recording.drafts import DRAFT
from planner.units import System
from planner.words.dates import short_date

if TYPE_CHECKING:
    from planner.archive.compare.comparison import Told
    from planner.archive.compare.learn import Correction
    from planner.archive.kept.opening import Opened

_STATES: Final = {"done": "done", "part": "done in part", "cancelled": "canceled", "moved": "moved"}
_PATIENCE: Final = 2.0
"""How long the page waits for another program to finish with the archive [s]: all the desk waits too (our choice)."""
_MOST_SHOWN: Final = 500
"""Plans whose boxes are remembered: a few kilobytes each (our choice)."""


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
    """What the place holds beside the files: notes for the next page, ticks of what no draft keeps, what the pages
    showed, entries no draft could take yet, what other records said when they were last read."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.notes: dict[Path, list[tuple[str, str]]] = {}
        self.ticks: dict[Path, set[str]] = {}
        self.on_hand = OnHand(desk)
        self._waiting: dict[Path, tuple[Shown, dict[str, str]]] = {}
        self._shown: dict[tuple[Path, str], Shown] = {}
        self._briefs: dict[Path, tuple[object, Brief]] = {}
        self._told: tuple[object, dict[str, Told]] | None = None
        self._made: tuple[object, dict[Path, Against]] = (None, {})

    def say(self, path: Path, level: str, *lines: str) -> None:
        """Something for the next page of a job."""
        self.notes.setdefault(path, []).extend((level, line) for line in lines if line)

    def show(self, path: Path, now: Sitting) -> None:
        """Remember what a page shows of a job, for what it will send."""
        shown = Shown.of(now)
        self._shown.pop((path, shown.number), None)
        self._shown[path, shown.number] = shown
        while len(self._shown) > _MOST_SHOWN:
            self._shown.pop(next(iter(self._shown)))

    def shown(self, path: Path, number: str) -> Shown | None:
        """What a page of a plan showed; None where none was shown, or too long ago."""
        return self._shown.get((path, number))

    def hold(self, path: Path, now: Sitting) -> Sitting:
        """The same; what the draft could not take waits here until it can."""
        self._waiting.pop(path, None)
        if now.unkept:
            self._waiting[path] = (Shown.of(now), now.texts)
        return now

    def held(self, path: Path, now: Sitting) -> Sitting:
        """The record with what waits for its draft, which is tried again."""
        if path not in self._waiting:
            return now
        return self.hold(path, typed_in(now, sent_over(now, *self._waiting[path], None).changes, ()))

    def recorded(self, path: Path) -> None:
        """Everything of a job is in the archive: nothing waits."""
        self._waiting.pop(path, None)
        self.ticks.pop(path, None)

    @contextmanager
    def archive(self, job: RecordJob) -> Iterator[Opened]:
        """The archive of the workspace; who writes to it waits less than a program does. Raises ArchiveRefused."""
        from planner.archive.kept import opening

        with opening.opened(address_of(job.company), job.folder, patience=_PATIENCE) as archive:
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

    def sitting(self, archive: Opened, job: RecordJob) -> Sitting | list[Fault]:
        """A job's record; one that was never printed is planned once while nothing changes. Raises ArchiveRefused."""

        def made(job: RecordJob) -> Against:
            now = self._as_it_is(archive)
            if self._made[0] != now:
                self._made = (now, {})
            if job.file not in self._made[1]:
                self._made[1][job.file] = planned_now(job)
            return self._made[1][job.file]

        return sitting(archive, job, made)

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
        files = [path, *sorted(path.parent.glob(f"{escape(path.stem)}{DRAFT}*"))]
        looks = [(str(one), one.stat().st_mtime_ns, one.stat().st_size) for one in files if one.exists()]
        key = (looks, number, *self._as_it_is(archive))
        known = self._briefs.get(path)
        if now is None and known is not None and known[0] == key:
            return known[1]
        if now is None:
            job = job_asked(path)
            sat = self.sitting(archive, job) if isinstance(job, RecordJob) else job
            now = sat if isinstance(sat, Sitting) else None
        made = self._brief(archive, path, number, now, found)
        self._briefs[path] = (key, made)
        return made

    def _as_it_is(self, archive: Opened) -> list[object]:
        """What a plan may be made from: the workspace's files, not drafts nor what `archive` is in, records, the date.

        Raises ArchiveRefused.
        """
        from planner.archive.kept.store import stamp

        own = archive.path.name if archive.path is not None else DRAFT
        found = [(one, Path(one[0]).name) for one in stamps(self.desk.files.folder)]
        files = [one for one, name in found if DRAFT not in name and not name.startswith(own)]
        return [stamp(archive), datetime.date.today(), *files]

    def _brief(self, archive: Opened, path: Path, number: int, now: Sitting | None, found: Table | None) -> Brief:
        id_ = self.desk.files.id_of(path)
        if now is None:
            row = Row(id=id_, number=number, title=path.stem, level="fault", word="", when="cannot be planned",
                      unsaved=False)  # fmt: skip
            return Brief(row=row, status="cannot be planned", recorded=False, wanted=True, typed=0, outside=0, plan="",
                         printed="")  # fmt: skip
        found, recorded = found or table(now), bool(now.asked.revision)
        typing = now.draft is not None
        printed = printed_on(archive, now)
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
            for n, path in enumerate(in_working_order(folder), 1)
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


def printed_on(archive: Opened, now: Sitting) -> str:
    """The day a packet of this plan was last made; empty where none was. Raises ArchiveRefused."""
    from planner.archive.kept import store

    for name in dict.fromkeys((str(now.asked.plan["id"]), now.job.id)):
        plan = store.plan_of(archive, name, str(now.asked.plan["plan"]))
        at = store.printed_at(archive, plan.sha256) if plan is not None else None
        if at is not None:
            day = datetime.datetime.fromisoformat(at).astimezone().date()
            return short_date(day, now.asked.system)
    return ""
