"""Jobs that come first, today or on a day before, and are not counted as done: held, not planned, or not readable.

A plan is made as if they were never done.  Somebody may do them all the same, so what they would bring is remembered.
"""

from __future__ import annotations

import datetime
from typing import Literal

from planner.frozen import dataclass
from planner.inputs.joined import JobInput, RunInput
from planner.plan.wear.model import Found

Why = Literal["held", "unplanned", "unread", "beside"]
"""Held by a stop; its lines could not be worked out; its file could not be read; or another rig's, the same day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pending:
    """One such job: the `chemicals` it puts on walls, its site's `address` as written, the `gear` each goes through.

    `gear` pairs a chemical with a tank, pump, panel or hose. `job` is its title, or its id where it could not be read;
    `day` the day before it was on, None for today's.
    """

    job: str
    why: Why
    chemicals: tuple[str, ...] = ()
    address: str = ""
    gear: tuple[tuple[str, str], ...] = ()
    day: datetime.date | None = None

    @property
    def called(self) -> str:
        """Its name among jobs of other days."""
        return self.job if self.day is None else f"{self.job} of {self.day.isoformat()}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Benched:
    """What a yard job of the day, by its title, `found` before any work of its `pump`, or of its line.

    `of`: head, or flow. `gear` names hoses and tip it was tested through where what it found is lost in them, before
    the pump or at the tip (`line`), while the pump is what a finer reading says. `mends`: it works on the pump after
    its test; `mended`: it comes before the job this is told to, which is then planned with what the work promises.
    """

    job: str
    pump: str
    rig: str
    of: str
    found: Found
    gear: tuple[str, ...] = ()
    line: bool = False
    mends: bool = False
    mended: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchLook:
    """All that one yard job has to tell of its `pump`; `mends`: it works on it after its test.

    `read`: something in it says how worn the pump is, or that it is not; `flowed`: a bucket, which sees its line too.
    """

    pump: str
    told: tuple[Benched, ...]
    mends: bool
    read: bool
    flowed: bool

    def again(self, one: Benched) -> bool:
        """Whether it looks again at what another yard job found."""
        return self.flowed if one.line else self.read


def pending_of(job: JobInput, why: Why) -> Pending:
    """What a job that is not counted as done would bring."""
    gear: dict[tuple[str, str], None] = {}
    for run in job.runs:
        if not run.premix and run.dosing is None:
            continue
        for surface in job.surfaces:
            if surface.name in run.surfaces and surface.chemical is not None:
                gear |= dict.fromkeys((surface.chemical, part) for part in parts_of_run(run))
    return Pending(
        job=job.title,
        why=why,
        chemicals=tuple(dict.fromkeys(chemical for chemical, _ in gear)),
        address=job.job.site.address,
        gear=tuple(gear),
    )


def parts_of_run(run: RunInput) -> list[str]:
    """What a run's mix goes through; an injector's pump sees only water."""
    parts = [hose.name for hose in run.hoses]
    if run.dosing is not None:
        parts.append(run.dosing.name)
    if run.pump is not None and (run.dosing is None or run.dosing.kind != "injector"):
        parts.append(run.pump.name)
    if run.premix and run.feed_tank is not None:
        parts.append(run.feed_tank.name)
    return parts
