"""The job on the clock: elapsed minutes of each step, from leaving the last place to driving off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.plan.mix.model import Carried

if TYPE_CHECKING:
    from planner.plan.model import JobPlan

DRIVE: Final = "drive"
"""The way there, the first of the steps."""

FLUSH_FIRST: Final = "flush first"
"""The step in which a tank or line is flushed of one chemistry before a mix of another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One step of the visit: `start` [s] from local midnight, None where nobody wrote when the rig leaves.

    `road`: the way there; a surface may be called `drive` too.
    """

    what: str
    start: float | None
    seconds: float
    road: bool = False


HOME: Final = "home"
"""The key of a day's `drive` for the way back to the yard."""


def drive_to(job: JobInput) -> float | None:
    """The drive to a job [s] as its day has it; None where it is missing. Without a day there is none to count.

    To the yard it is the drive home, and none at all for what is done there first.
    """
    if job.day is None:
        return 0.0
    found = job.day.drive.get(job.id.rpartition("/")[2])
    if found is None and job.kind == "yard":
        return 0.0 if job.place_in_day is not None and job.place_in_day[0] == 1 else drive_home(job)
    return found


def drive_home(job: JobInput) -> float | None:
    """The drive home [s]; left out, as long as the day's longest (common practice, no source). None where none is."""
    drives = job.day.drive if job.day is not None else {}
    return drives.get(HOME, max(drives.values(), default=None))


def home_after(plan: JobPlan) -> float | None:
    """The drive home [s] behind the day's last job; None behind any other, in the yard, and where nobody knows it."""
    place = plan.input.place_in_day
    last = place is None or place[0] == place[1]
    return drive_home(plan.input) if last and plan.kind == "wash" else None


def leaves_at(job: JobInput, found: Carried) -> float | None:
    """When the rig leaves for a job [s from midnight]: when the job before is done, the day's first from the yard."""
    if found.lost:
        return None
    return found.ends if found.ends is not None else job.day.leave_yard if job.day is not None else None


def begins_at(job: JobInput, found: Carried) -> float | None:
    """When the rig is there [s from midnight]; None where that is not known: no clock, no drive, or a job before it in
    the day that it was not planned after."""
    leaves, drive = leaves_at(job, found), drive_to(job)
    behind = job.place_in_day is not None and job.place_in_day[0] > 1 and found.ends is None
    return None if leaves is None or drive is None or behind else leaves + drive


def lost_by(job: JobInput, found: Carried) -> str:
    """What the day's clock waits for behind this job; empty where it runs on, or was never set."""
    missing = job.day is not None and job.day.leave_yard is not None and drive_to(job) is None
    return found.lost or (job.id.rpartition("/")[2] if missing else "")


def end_of(spans: Sequence[Span]) -> float | None:
    """When the last step is done [s from midnight]; None where there is none, or nobody wrote when the rig leaves."""
    last = spans[-1] if spans else None
    return last.start + last.seconds if last is not None and last.start is not None else None


def arrival_of(spans: Sequence[Span]) -> float | None:
    """When the rig stands at the site [s from midnight]; None where nobody wrote when it leaves."""
    return next((span.start for span in spans if not span.road), None)
