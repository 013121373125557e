"""What one running desk holds: the workspace's files, the last answers, one lock round all of it."""

from __future__ import annotations

import datetime
import os
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from planner.archive.kept.address import file_of
from planner.checks.model import CheckedJob
from planner.days.archiving import address_of
from planner.days.prepare import Earlier
from planner.desk.checking import Answer, answer_for
from planner.desk.files import Files, stamp_of, stamps
from planner.frozen import dataclass
from planner.inputs.shelf import Desk as Shelf
from planner.inputs.workspace import date_of
from planner.units import System

MOST_KEPT: Final = 60
"""Jobs whose last good figures are kept for when their file has a fault (our choice: a month's)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The last plan of a job that could be made, and when: shown dated while its file has a fault."""

    job: CheckedJob
    system: System
    at: datetime.datetime


class Desk:
    """The state of one server. Planning is done by one request at a time."""

    def __init__(self, folder: Path) -> None:
        self.files = Files(folder)
        self.lock = threading.RLock()
        self.kept: dict[Path, Kept] = {}
        self.planned: dict[Any, Any] = {}
        self._earlier: tuple[Any, Earlier] = (None, Earlier())
        self.legs: dict[tuple[Path, str, str], str] = {}  # how long a drive is from one job to another, as was said
        self.drafts: dict[str, dict[str, str]] = {}  # what forms hold that were left before they were sent

    def answer(
        self, folder: Path, *, whole: bool, orders: bool = False, tables: bool = False, until: Path | None = None
    ) -> Answer:
        """The day checked as it stands here; what could be planned is kept for when it no longer can.

        `until`: the job that is asked about; a first answer may leave those behind it for the second.
        """
        texts = self.files.unsaved()
        known = self._known(folder, texts)
        found = answer_for(folder, texts, whole=whole, orders=orders, tables=tables, known=known, until=until)
        for path, job in found.jobs.items():
            if job is not None and path not in found.waits:
                self.kept.pop(path, None)
                self.kept[path] = Kept(job=job, system=found.system, at=found.at)
        while len(self.kept) > MOST_KEPT:
            del self.kept[next(iter(self.kept))]
        return found

    def rests_on(self) -> tuple[Any, ...] | None:
        """All that a plan may have read, by its time and size, with today's date; None where that cannot be told."""
        company = Shelf(self.files.folder).company.value
        archive = file_of(address_of(company).text, self.files.folder) if company is not None else None
        if archive is None:
            return None
        log = archive.with_name(f"{archive.name}-wal")  # what was kept may lie in it alone while somebody reads
        return (datetime.date.today(), *stamps(self.files.folder), stamp_of(archive), stamp_of(log))

    def _known(self, folder: Path, texts: Mapping[Path, bytes]) -> Earlier | None:
        """What earlier days came to, as long as no file outside this day's folder is another, on disk or here."""
        state = self.rests_on()
        if state is None:
            return None
        own = f"{folder}{os.sep}"
        outside = tuple(one for one in state if not (isinstance(one, tuple) and str(one[0]).startswith(own)))
        unsaved = tuple(sorted((str(path), text) for path, text in texts.items() if not str(path).startswith(own)))
        if self._earlier[0] != (folder, outside, unsaved):
            self._earlier = ((folder, outside, unsaved), Earlier())
        return self._earlier[1]

    def company(self) -> str:
        """The company's name, as its page has it."""
        sheet = self.files.of(self.files.folder / "company.yaml")
        name = sheet.tree.mapping.get("name") if sheet is not None else None
        return name.value if name is not None and isinstance(name.value, str) else "Your company"

    def first_day(self) -> Path | None:
        """The day to open with: the next one from today, else the last there is."""
        days = self.files.days()
        today = datetime.date.today()
        return next((day for day in days if (date_of(day) or datetime.date.min) > today), days[-1] if days else None)

    def day_of(self, id_: str) -> Path | None:
        """The folder of a day's id."""
        return next((day for day in self.files.days() if self.files.id_of(day) == id_), None)
