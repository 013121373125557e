"""Booked jobs as a calendar file (RFC 5545): times by the plan's clock, where, whom to ring, whether it goes.

Times float: they are those of the clock where the work is, and nobody writes a zone. A job keeps its UID, so that a
calendar that is read again is brought up to date. A held job is tentative.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from planner import __version__
from planner.packet.findings import headed, stops_of
from planner.packet.sections.hours import arrives, leaves
from planner.words.dates import CLOCK, to_the_clock

if TYPE_CHECKING:
    from planner.checks.model import CheckedJob

_SAID: Final = {"ok": "Go", "caution": "Go, with care", "stop": "Held"}


def calendar(jobs: Iterable[CheckedJob], made: datetime.datetime) -> bytes:
    """The file. `made` [UTC] says how new it is."""
    from icalendar import Calendar, Event

    page = Calendar()
    page.add("prodid", f"-//wash day planner//{__version__}//EN")
    page.add("version", "2.0")
    for job in jobs:
        if job.plan.input.date is None:
            continue
        event = Event()
        event.add("uid", f"{job.plan.id}@wash-day-planner")
        event.add("dtstamp", made)
        event.add("summary", f"{'HELD: ' if job.held else ''}{job.plan.title}")
        begin, end = _times(job)
        event.add("dtstart", begin)
        event.add("dtend", end)
        event.add("status", "TENTATIVE" if job.held else "CONFIRMED")
        if job.plan.kind == "wash":
            event.add("location", job.plan.input.job.site.address)
        event.add("description", _told(job))
        page.add_component(event)
    return bytes(page.to_ical())


def _times(job: CheckedJob) -> tuple[datetime.date, datetime.date]:
    """From arriving to leaving; the whole day where no clock is known."""
    day = job.plan.input.date
    assert day is not None
    at, until = arrives(job.plan), leaves(job.plan)
    if at is None or until is None:
        return day, day + datetime.timedelta(days=1)
    midnight = datetime.datetime.combine(day, datetime.time())
    return tuple(  # type: ignore[return-value]
        midnight + datetime.timedelta(seconds=to_the_clock(seconds)) for seconds in (at, max(until, at + CLOCK))
    )


def _told(job: CheckedJob) -> str:
    """The verdict, what holds it, the rig and its crew, and whom to ring."""
    plan = job.plan
    page, company = plan.input.day, plan.input.company
    lines = [f"{_SAID['stop' if job.held else job.verdict]}. Rig {plan.input.rig.rig}."]
    lines += [f"Stop: {headed(finding, plan)}" for finding in stops_of(job)] if job.held else []
    if page is not None and page.crew is not None:
        lines.append(f"Crew: {', '.join(page.crew.names)}" if page.crew.names else f"Crew of {page.crew.count}")
    if plan.kind == "wash" and plan.input.job.site.contact:
        lines.append(f"Customer: {plan.input.job.site.contact}")
    lines += [f"{who}: {number}" for who, number in company.phones.items()]
    return "\n".join(lines)
