"""What in the archive could not be compared, as faults: named one by one, while all the rest is told."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from planner.archive.compare.comparison import Comparison, Unread
from planner.archive.opening import Opened
from planner.faults import Fault, Where
from planner.inputs.files import shown

_SAID: Final = {
    "plan": "the archived plan its record is held against is not as this program writes one: this job is left out",
    "record": "its archived record is not as this program writes one: this job is left out",
}
_REMEDIES: Final = {
    "plan": "print the job's packet again and then record the job again, or import a sound export into a new workspace",
    "record": "record the job again with `planner record`, or import a sound export into a new workspace",
}


def unread_faults(archive: Opened, found: Comparison, corrections: Iterable[str] = ()) -> list[Fault]:
    """A fault for each job nothing could be said of, and for each of the `corrections` that cannot be read."""
    rows = [_fault(archive, one) for one in found.unread]
    return rows + [
        Fault(
            code="compare.correction",
            message="this archived correction is not as this program writes one: it is left out",
            remedy="go on as before, it is history only; or import a sound export into a new workspace",
            where=Where(file=named(archive), path=about, lines=False),
        )
        for about in corrections
    ]


def nothing_kept(archive: Opened) -> Fault:
    """The fault where no record is kept of what was asked for."""
    return Fault(
        code="compare.nothing",
        message="no record is kept of what was asked for",
        remedy="record a job with `planner record`, or name another job, day or --since",
        where=Where(file=named(archive), lines=False),
    )


def named(archive: Opened) -> str:
    """An archive as faults call it: its file, or its address without the password."""
    return shown(archive.path) if archive.path is not None else archive.where


def _fault(archive: Opened, one: Unread) -> Fault:
    return Fault(
        code=f"compare.{one.what}",
        message=_SAID[one.what],
        remedy=_REMEDIES[one.what],
        where=Where(file=named(archive), path=one.job, lines=False),
    )
