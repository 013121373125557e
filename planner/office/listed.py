"""Every job that the workspace's files or its archive know: one row each, where it stands and what it took.

A job stands where its latest paper or record puts it. A file that was never printed is `written`, one that cannot be
read `faulty`; a packet that only says why not to go is `held`. Jobs still to come are checked anew (`settled`): nothing
stops a `checked` one, and paper whose files changed since is told. Planned figures are those of the plan on paper, done
ones those of the record.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal, TypeAlias

from planner.archive.compare.totals import rang
from planner.contract.held import MALFORMED, record_of
from planner.contract.planned import moments
from planner.days.archiving import plan_json, workspace_of
from planner.frozen import dataclass
from planner.inputs.reading.files import days_below, in_working_order
from planner.inputs.workspace import Loaded, load

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.archive.kept.store import KeptPaper
    from planner.checks.model import CheckedJob
    from planner.contract.plan import PlanJson
    from planner.contract.record import RecordJson
    from planner.inputs.joined import JobInput

Status: TypeAlias = Literal["written", "faulty", "checked", "held", "printed", "done", "part", "cancelled", "moved"]
STATUSES: Final[tuple[Status, ...]] = (
    "written", "faulty", "checked", "held", "printed", "done", "part", "cancelled", "moved",
)  # fmt: skip


def today() -> datetime.date:
    """The day it is where this runs."""
    return datetime.date.today()


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """So much of a chemical: `m3`, or `kg` of a dry one."""

    chemical: str
    m3: float | None
    kg: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """One job. `file` from the workspace, None where it is gone; `printed_at` ISO text in UTC, None: never printed.

    `plan` is the number on that paper, `changed`: the job would print otherwise by now. `unread`: what is archived of
    it and cannot be read. `planned_s` and `done_s` [s] from arriving to leaving, `crew_s` [s] of all hands; `water_m3`
    as done. What nobody wrote is None, or an empty text.
    """

    job: str
    date: datetime.date | None
    title: str
    rig: str
    address: str
    customer: str
    kind: str
    status: Status
    file: str | None
    printed_at: str | None
    plan: str | None = None
    changed: bool = False
    revision: int | None = None
    planned_s: float | None = None
    done_s: float | None = None
    crew_s: float | None = None
    stock_planned: tuple[Used, ...] = ()
    stock_done: tuple[Used, ...] = ()
    water_m3: float | None = None
    spent: float | None = None
    lead: str = ""
    unread: Literal["plan", "record"] | None = None
    callback: bool | None = None
    callbacks: str = ""
    surfaces: tuple[str, ...] = ()

    @property
    def rang(self) -> bool:
        """Whether the customer rang about it."""
        return rang(self.callbacks or None, self.callback)

    def open_on(self, day: datetime.date) -> bool:
        """Whether it is on paper, its day is over, and nobody wrote down what was done."""
        return self.status == "printed" and self.date is not None and self.date < day


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which rows are meant: by date, ends included, by status, by a word of customer, address or title."""

    since: datetime.date | None = None
    until: datetime.date | None = None
    status: Status | None = None
    customer: str = ""
    days: frozenset[str] | None = None
    job: str | None = None

    def has(self, one: Listed) -> bool:
        """Whether a row is meant. A job without a date is neither since nor until anything."""
        if self.job is not None and one.job != self.job:
            return False
        if self.days is not None and one.job.partition("/")[0] not in self.days:
            return False
        if (self.since or self.until) and one.date is None:
            return False
        if self.since is not None and one.date is not None and one.date < self.since:
            return False
        if self.until is not None and one.date is not None and one.date > self.until:
            return False
        if self.status is not None and one.status != self.status:
            return False
        word = self.customer.casefold().strip()
        return not word or any(word in text.casefold() for text in (one.customer, one.address, one.title))


def listed(
    folder: Path, archive: Opened | None, wanted: Wanted, only: Collection[Path] | None = None
) -> tuple[list[Listed], Loaded | None]:
    """The rows that are meant, by date and id, and what was read of the files, or of `only` some days' files. Raises
    ArchiveRefused."""
    days = [day for day in days_below(folder) if only is None or day in only]
    read = load(days) if days else None
    papers: Mapping[str, KeptPaper] = {}
    records: Mapping[str, tuple[int, RecordJson | None]] = {}
    if archive is not None:
        papers, records = _kept(archive)
    files = {_id(path): path for day in days for path in in_working_order(day)}
    jobs = {job.id: job for job in read.jobs} if read is not None else {}
    rows = [
        _row(name, files.get(name), folder, jobs.get(name), papers.get(name), records.get(name))
        for name in {*files, *papers, *records}
    ]
    meant = [row for row in rows if wanted.has(row)]
    return sorted(meant, key=lambda one: (one.date or datetime.date.max, one.job)), read


def settled(rows: Sequence[Listed], checked: Mapping[str, CheckedJob], archive: Opened | None) -> list[Listed]:
    """The rows with what checking some jobs anew came to. Raises ArchiveRefused."""
    found = []
    for one in rows:
        job = checked.get(one.job)
        if job is not None and one.status == "written":
            one = replace(one, status="held" if job.held else "checked")
        elif job is not None and one.status in ("printed", "held") and archive is not None:
            one = replace(one, changed=_otherwise(job, one, archive))
        found.append(one)
    return found


def _otherwise(job: CheckedJob, one: Listed, archive: Opened) -> bool:
    """Whether the job would print otherwise than it was: all its plan but the number, which goes by the files' text."""
    from planner.archive.kept.content import text_of
    from planner.archive.kept.store import plan_of

    kept, folder = plan_of(archive, one.job, one.plan), workspace_of(Path(job.plan.input.where.file))
    if kept is None or folder is None or not kept.content:
        return True
    bare = {"plan": None, "findings": None, "remedies": None}  # words and places, not what is to be done
    return text_of({**kept.content, **bare}) != text_of({**plan_json(job, folder), **bare})


def _id(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"


def _kept(archive: Opened) -> tuple[Mapping[str, KeptPaper], Mapping[str, tuple[int, RecordJson | None]]]:
    from planner.archive.kept.store import latest_papers, latest_records

    records: dict[str, tuple[int, RecordJson | None]] = {}
    for row in latest_records(archive):
        records[row.job] = (row.revision, None)
        with suppress(*MALFORMED):
            records[row.job] = (row.revision, record_of(row.content))
    return latest_papers(archive), records


def _row(
    name: str, path: Path | None, folder: Path, job: JobInput | None, paper: KeptPaper | None,
    record: tuple[int, RecordJson | None] | None,
) -> Listed:  # fmt: skip
    plan = paper.plan if paper is not None and _whole(paper.plan) else None
    done = record[1] if record is not None else None
    written = done["date"] if done is not None else None
    begun = _date(written or name.partition("/")[0][:10])
    return Listed(
        job=name,
        date=begun,
        title=job.title if job is not None else _text(plan, "title"),
        rig=job.rig.rig if job is not None else _text(plan, "rig"),
        address=job.job.site.address if job is not None and job.kind == "wash" else _text(plan, "address"),
        customer=_contact(job),
        kind=job.kind if job is not None else _text(plan, "kind"),
        status=_status(path, job, paper, done) if record is None or done is not None else "faulty",
        unread=_unread(paper, plan, record),
        file=path.relative_to(folder).as_posix() if path is not None else None,
        printed_at=paper.at if paper is not None else None,
        plan=_text(plan, "plan") or None,
        revision=record[0] if record is not None else None,
        planned_s=_planned(plan),
        stock_planned=tuple(_stock_of(plan)),
        surfaces=tuple(sorted({side["kind"] for side in plan["work"] if "kind" in side})) if plan is not None else (),
        **(_done(done) if done is not None else {}),
    )


def _text(plan: PlanJson | None, key: str) -> str:
    said = plan.get(key) if plan is not None else None
    return said if isinstance(said, str) else ""


def _contact(job: JobInput | None) -> str:
    return (job.job.site.contact or "") if job is not None and job.kind == "wash" else ""


def _status(path: Path | None, job: JobInput | None, paper: KeptPaper | None, record: RecordJson | None) -> Status:
    if record is not None:
        said = record.get("status")
        return next((one for one in STATUSES if one == said), "done")
    if paper is not None:
        return "held" if paper.held else "printed"
    return "written" if job is not None or path is None else "faulty"


def _unread(
    paper: KeptPaper | None, plan: PlanJson | None, record: tuple[int, RecordJson | None] | None
) -> Literal["plan", "record"] | None:
    """Which half of what is archived of a job is not as this program writes one."""
    if record is not None and record[1] is None:
        return "record"
    return "plan" if paper is not None and plan is None else None


def _whole(plan: PlanJson) -> bool:
    """Whether a plan out of the archive has what a row tells of it; an import may have put anything there."""
    try:
        moments(plan)
        list(_stock_of(plan))
        return all(isinstance(side["surface"], str) for side in plan["work"])
    except MALFORMED:
        return False


def _date(text: str) -> datetime.date | None:
    with suppress(ValueError):
        return datetime.date.fromisoformat(text)
    return None


def _planned(plan: PlanJson | None) -> float | None:
    at, _ = moments(plan) if plan is not None else ({}, True)
    return at["left"] - at["arrived"] if {"arrived", "left"} <= at.keys() else None


def _stock_of(plan: PlanJson | None) -> Iterable[Used]:
    rows = ((mix["stock"], mix["stock_m3"], mix["stock_kg"]) for mix in (plan["mixes"] if plan is not None else ()))
    return _summed(rows)


def _summed(rows: Iterable[tuple[str, float | None, float | None]]) -> Iterable[Used]:
    """What was used of each chemical; a volume and a weight of one are told apart."""
    sums: dict[tuple[str, bool], float] = {}
    for chemical, m3, kg in rows:
        for dry, amount in ((False, m3), (True, kg)):
            if amount is not None:
                sums[chemical, dry] = sums.get((chemical, dry), 0.0) + amount
    for (chemical, dry), amount in sums.items():
        yield Used(chemical=chemical, m3=None if dry else amount, kg=amount if dry else None)


def _done(record: RecordJson) -> dict[str, Any]:
    """The fields of a row that a record fills."""
    times = record["times"]
    begun, left = times["arrived_s"], times["left_s"]
    rows = ((mix["stock"], mix["stock_m3"], mix["stock_kg"]) for mix in record["mixes"])
    return {
        "done_s": left - begun if begun is not None and left is not None and left > begun else None,
        "crew_s": record.get("crew_s"),
        "stock_done": tuple(_summed(rows)),
        "water_m3": record["water"]["used_m3"],
        "spent": record.get("spent"),
        "lead": record["signed"] or "",
        "callback": record.get("callback"),
        "callbacks": record["callbacks"] or "",
    }
