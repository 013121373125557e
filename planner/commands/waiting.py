"""What a day's other jobs tell one of them: which come first and are not counted as done, and which pumps are worn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from planner.inputs.files import in_working_order
from planner.inputs.joined import JobInput
from planner.inputs.workspace import load
from planner.plan.bench_wear import look_of
from planner.plan.pending import Benched, BenchLook, Pending, Why, pending_of


class Waiting:
    """Jobs not counted as done, by day and place; those that lie in a day's folder and were not asked for too."""

    def __init__(self, jobs: Sequence[JobInput]) -> None:
        self._found: dict[str, dict[int, Pending]] = {}
        self._asked: dict[str, set[int]] = {}
        self._read: set[str] = set()
        self._beside: dict[str, tuple[JobInput, ...]] = {}
        self._jobs = tuple(jobs)
        self._looks: dict[str, BenchLook | None] = {}
        for job in jobs:
            if job.date is not None and job.place_in_day is not None:
                self._asked.setdefault(job.day_name, set()).add(job.place_in_day[0])

    def add(self, job: JobInput, why: Why) -> None:
        """This job is not done when those after it are planned."""
        if job.date is not None and job.place_in_day is not None and job.kind == "wash":
            self._found.setdefault(job.day_name, {})[job.place_in_day[0]] = pending_of(job, why)

    def before(self, job: JobInput) -> tuple[Pending, ...]:
        """Those that come before this job on its day, in working order."""
        if job.date is None or job.place_in_day is None:
            return ()
        place = job.place_in_day[0]
        if not set(range(1, place)) <= self._asked.get(job.day_name, set()):
            self._look_beside(job, job.day_name)
        found = self._found.get(job.day_name, {})
        return tuple(found[at] for at in sorted(found) if at < place)

    def benched(self, job: JobInput) -> tuple[Benched, ...]:
        """What yard jobs of this job's day found of pumps and lines of its rig: the last look before it, and any after.

        A pump that was mended before the job is planned as sound, on the word of a test nobody has made yet.
        """
        if job.date is None or job.place_in_day is None or job.kind != "wash":
            return ()
        place = job.place_in_day[0]
        found: list[Benched] = []
        yards = [
            (one.place_in_day[0], one)
            for one in self._of_day(job, job.day_name)
            if one.yard is not None and one.place_in_day is not None and one.rig.name == job.rig.name
        ]
        for at, yard in sorted(yards, key=lambda row: row[0]):
            look = self._look(yard)
            if look is None:
                continue
            before = at < place
            if before:
                # What was read last before the job is how pump and line stand by then.
                found = [kept for kept in found if kept.pump != look.pump or not look.again(kept)]
            found += look.told
            if before and look.mends:
                same = look.pump
                found = [one if one.line or one.pump != same else replace(one, mended=True) for one in found]
        return tuple(found)

    def _look(self, yard: JobInput) -> BenchLook | None:
        if yard.id not in self._looks:
            self._looks[yard.id] = look_of(yard)
        return self._looks[yard.id]

    def _of_day(self, job: JobInput, day: str) -> tuple[JobInput, ...]:
        """Every job of the day that can be read, asked for or not."""
        asked = tuple(one for one in self._jobs if one.day_name == day)
        folder = Path(job.where.file).absolute().parent
        if len(asked) >= len(in_working_order(folder)):
            return asked
        names = {one.id for one in asked}
        return asked + tuple(one for one in self._lying_in(folder, day) if one.id not in names)

    def _lying_in(self, folder: Path, day: str) -> tuple[JobInput, ...]:
        if day not in self._beside:
            self._beside[day] = tuple(load([folder]).jobs)
        return self._beside[day]

    def _look_beside(self, job: JobInput, day: str) -> None:
        """The day's other files, once. Their faults are told only to those who ask for them."""
        if day in self._read:
            return
        self._read.add(day)
        folder = Path(job.where.file).absolute().parent
        beside = {one.place_in_day[0]: one for one in self._lying_in(folder, day) if one.place_in_day is not None}
        rows = self._found.setdefault(day, {})
        for place, path in enumerate(in_working_order(folder), start=1):
            if place in self._asked.get(day, set()):
                continue
            one = beside.get(place)
            if one is None:
                rows[place] = Pending(job=path.stem, why="unread")
            elif one.kind == "wash":
                rows[place] = pending_of(one, "apart")
