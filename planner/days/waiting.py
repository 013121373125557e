"""What the jobs around a job tell it: which come first and are not counted as done, which pumps are worn."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from planner.days.lineup import Entry
from planner.inputs.joined import JobInput
from planner.inputs.reading.files import date_of
from planner.plan.days.pending import Benched, BenchLook, Pending, Why, pending_of
from planner.plan.yard.wear import look_of


class Waiting:
    """Jobs not counted as done, in turn, and what yard jobs found."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._found: list[tuple[Entry, Pending]] = []
        self._yards: dict[Path, list[tuple[Entry, JobInput]]] = {}
        self._looks: dict[str, BenchLook | None] = {}
        self._undone: set[str] = set()
        self._beside: dict[tuple[Path, datetime.date | None], list[Entry]] = {}
        for one in entries:
            if one.date is not None and (one.job is None or one.job.kind == "wash") and not one.morning:
                self._beside.setdefault((one.workspace, one.date), []).append(one)
            if one.job is not None and one.job.yard is not None and not one.morning:
                self._yards.setdefault(one.folder, []).append((one, one.job))

    def add(self, entry: Entry, why: Why) -> None:
        """This job is not done when those after it are planned."""
        job = entry.job
        if job is None:
            day = entry.date if date_of(entry.folder) is not None else None
            self._found.append((entry, Pending(job=entry.name, why=why, day=day)))
        elif job.kind == "wash":
            self._found.append((entry, replace(pending_of(job, why), day=entry.date)))
        else:
            self._undone.add(job.id)

    def before(self, entry: Entry) -> tuple[Pending, ...]:
        """Those that come before this job and could matter to it: on its rig, or on its ground by another rig."""
        found = [
            Pending(job=one.name, why="unread") if one.job is None else replace(pending_of(one.job, "beside"), gear=())
            for one in self._beside.get((entry.workspace, entry.date), ())
            if one.folder != entry.folder
        ]
        for earlier, one in self._found if entry.date is not None else ():
            beside = earlier.date == entry.date and earlier.folder != entry.folder  # told above, in whatever order
            if earlier.workspace != entry.workspace or earlier.date is None or beside:
                continue
            if earlier.rig not in (entry.rig, ""):
                one = replace(one, gear=())
            found.append(replace(one, day=None) if earlier.date == entry.date else one)
        return tuple(found)

    def benched(self, entry: Entry) -> tuple[Benched, ...]:
        """What yard jobs of this job's day found of pumps and lines of its rig: the last look before it, and any after.

        A pump that was mended before the job is planned as sound, on the word of a test nobody has made yet; one whose
        yard job is held is as worn as it was found.
        """
        if entry.date is None or entry.job is None or entry.job.kind != "wash":
            return ()
        found: list[Benched] = []
        for one, yard in self._yards.get(entry.folder, []):
            look = self._look(yard)
            if look is None or one.rig != entry.rig:
                continue
            before = one.place < entry.place
            if before:
                # What was read last before the job is how pump and line stand by then.
                found = [kept for kept in found if kept.pump != look.pump or not look.again(kept)]
            found += look.told
            if before and look.mends and yard.id not in self._undone:
                same = look.pump
                found = [one if one.line or one.pump != same else replace(one, mended=True) for one in found]
        return tuple(found)

    def _look(self, yard: JobInput) -> BenchLook | None:
        if yard.id not in self._looks:
            self._looks[yard.id] = look_of(yard)
        return self._looks[yard.id]
