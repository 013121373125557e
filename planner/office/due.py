"""What each rig's `service` asks for, and when: hours a pump ran since by the plans of jobs on record, or the calendar.

What nobody wrote as done is due. A pump that was worked on in the yard counts from that day on.
"""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Collection, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from planner.archive.compare.observed import serviced
from planner.archive.compare.pairs import Unread, pairs
from planner.contract.held import MALFORMED
from planner.contract.planned import acts_of
from planner.days.archiving import address_of, workspace_of
from planner.frozen import dataclass
from planner.inputs.tables.defaults import default
from planner.units import System
from planner.words.dates import short_date

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.contract.plan import PlanJson
    from planner.inputs.joined import JobInput
    from planner.inputs.models import Company, Rig, Service

State = Literal["overdue", "due", "soon", "later"]
SHOWN: Final[Collection[State]] = ("overdue", "due", "soon")


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One service: by `on`, or after `hours` [s] of which `ran` [s]; `last` None where nobody wrote it.

    `counted` jobs on record told how long a pump ran, `silent` ones did not.
    """

    rig: str
    part: str
    work: str
    state: State
    on: datetime.date | None
    last: datetime.date | None
    hours: float | None = None
    ran: float | None = None
    counted: int = 0
    silent: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """How long [s] the pumps of a rig had power on one job of a day, by the acts of its plan; not `told`: it has none.

    What cannot be read may be of any rig (empty) and of any day (None).
    """

    rig: str
    date: datetime.date | None
    pumps: Mapping[str, float]
    told: bool


_UNREAD: Final = Ran(rig="", date=None, pumps={}, told=False)


def ran_by(plan: PlanJson, date: datetime.date | None) -> Ran:
    """The same of one plan."""
    on: dict[str, float] = {}
    ran: dict[str, float] = {}
    acts = sorted(acts_of(plan), key=lambda act: act["start_s"] + act["lasts_s"])
    for act in acts:
        if act["act"] == "power":
            pump, now = act["pump"], act["start_s"] + act["lasts_s"]
            if act["on"]:
                on.setdefault(pump, now)
            elif (since := on.pop(pump, None)) is not None:
                ran[pump] = ran.get(pump, 0.0) + now - since
    return Ran(rig=plan.get("rig") or "", date=date, pumps=ran, told=bool(acts))


def kept_hours(archive: Opened) -> tuple[list[Ran], dict[tuple[str, str], datetime.date]]:
    """What the jobs on record ran their pumps, and when each pump was last worked on. Raises ArchiveRefused."""
    ran: list[Ran] = []
    mended: dict[tuple[str, str], datetime.date] = {}
    for pair in pairs(archive):
        if isinstance(pair, Unread) or pair.plan is None:
            ran.append(_UNREAD)
            continue
        try:
            ran.append(ran_by(pair.plan, pair.date))
            done = serviced(pair)
        except MALFORMED:
            ran.append(_UNREAD)
            continue
        if done is not None:
            rig, pump = done.name
            mended[rig, pump] = max(done.date, mended.get((rig, pump), done.date))
    return ran, mended


def due_of(
    rigs: Iterable[Rig], ran: Sequence[Ran], mended: Mapping[tuple[str, str], datetime.date], today: datetime.date
) -> list[Due]:
    """Every service of every rig, what is most pressing first. `mended`: when a pump (rig, pump) was last worked on."""
    found = [_due(rig.rig, one, ran, mended.get((rig.rig, one.part)), today) for rig in rigs for one in rig.service]
    order = ("overdue", "due", "soon", "later")
    return sorted(found, key=lambda one: (order.index(one.state), one.on or today, one.rig, one.part, one.work))


def due_on_pages(jobs: Iterable[JobInput], units: System | None) -> dict[str, list[str]]:
    """What is due by each day of the jobs on its own rig, a line each, by the day's name.

    Where the archive cannot be read, its hours are unknown and said to be.
    """
    found: dict[str, list[str]] = {}
    kept: dict[Path | None, tuple[list[Ran], dict[tuple[str, str], datetime.date]]] = {}
    for job in jobs:
        rig, system = job.rig, units or job.company.units
        if not rig.service or job.date is None:
            continue
        folder = workspace_of(Path(job.where.file))
        if folder not in kept:
            kept[folder] = _hours_in(folder, job.company) if folder is not None else ([], {})
        ran, mended = kept[folder]
        before = [one for one in ran if one.date is None or one.date < job.date]
        due = due_of([rig], before, mended, job.date)
        found[job.day_name or job.date.isoformat()] = [due_line(one, system) for one in due if one.state in SHOWN]
    return found


def _hours_in(
    folder: Path, company: Company
) -> tuple[list[Ran], dict[tuple[str, str], datetime.date]]:  # fmt: skip
    from planner.archive.kept import opening
    from planner.archive.kept.refused import ArchiveRefused

    try:
        with opening.opened(address_of(company), folder, write=False) as archive:
            return kept_hours(archive)
    except ArchiveRefused as refused:
        return ([] if refused.fault.code == "archive.missing" else [_UNREAD]), {}


def due_words(one: Due, system: System | None = None) -> str:
    """When it is due, and how that is known; with dates as files have them, or as the reader of a page does."""

    def said(date: datetime.date) -> str:
        return date.isoformat() if system is None else short_date(date, system)

    if one.hours is not None and one.ran is not None:
        ran, every = one.ran / 3600.0, one.hours / 3600.0
        if one.last is None:
            return f"now: no date of the last one; it ran {ran:.0f} h on record"
        told = f"{ran:.0f} of {every:.0f} h since {said(one.last)}"
        told += f", {one.silent} {'job' if one.silent == 1 else 'jobs'} on record not counted" if one.silent else ""
        return f"now: {told}" if ran >= every else told
    if one.on is None:
        return "now: no date of the last one"
    return {"overdue": "was due ", "due": "today, "}.get(one.state, "by ") + said(one.on)


def due_line(one: Due, system: System) -> str:
    """The same in a line for a page: `washer, oil and filter (now: 151 of 150 h since April 2)`."""
    return f"{one.part}, {one.work} ({due_words(one, system)})"


def _due(rig: str, one: Service, ran: Sequence[Ran], mended: datetime.date | None, today: datetime.date) -> Due:
    every = one.every
    last = max((date for date in (one.last, mended if every and every.hours else None) if date), default=None)
    if every is not None and every.hours is not None:
        since = [job for job in ran if job.rig in (rig, "")]
        since = [job for job in since if last is None or job.date is None or job.date > last]
        told = [job for job in since if job.told]
        hours = sum(job.pumps.get(one.part, 0.0) for job in told)
        # A job that tells no hours may have been the one too many.
        soon = hours >= every.hours * default("service_soon_share") or len(told) < len(since)
        by_hours: State = "due" if last is None or hours >= every.hours else "soon" if soon else "later"
        return Due(
            rig=rig, part=one.part, work=one.work, state=_worse(by_hours, one.by, today), on=one.by, last=last,
            hours=every.hours, ran=hours, counted=len(told), silent=len(since) - len(told),
        )  # fmt: skip
    dates = [one.by] if one.by else []
    if every is not None:
        dates += [_after(last, every.months, every.days)] if last is not None else []
    state: State = "due" if every is not None and last is None else "later"
    on = min(dates, default=None)
    return Due(rig=rig, part=one.part, work=one.work, state=_worse(state, on, today), on=on, last=last)


def _worse(state: State, on: datetime.date | None, today: datetime.date) -> State:
    """The more pressing of a state and of what a date comes to."""
    if on is None:
        return state
    if on < today:
        return "overdue"
    if on == today or state == "due":
        return "due"
    days = datetime.timedelta(seconds=default("service_soon"))
    return "soon" if state == "soon" or on <= today + days else "later"


def _after(date: datetime.date, months: int, days: int) -> datetime.date:
    """So many months and days on; of a month that is too short its last day."""
    year, month = divmod(date.month - 1 + months, 12)
    last = calendar.monthrange(date.year + year, month + 1)[1]
    return date.replace(year=date.year + year, month=month + 1, day=min(date.day, last)) + datetime.timedelta(days=days)
