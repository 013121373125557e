"""A job or a rig tried before it is written: laid into a copy of what it touches, read and joined as any other."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from pathlib import Path
from tempfile import TemporaryDirectory

from planner.faults import Fault
from planner.inputs.reading.files import YAML_ENDINGS, is_day, listed_files
from planner.inputs.shelf import Desk
from planner.inputs.workspace import load
from planner.interview.answers import Here
from planner.interview.text import Written


def tried(here: Here, made: Written) -> list[Fault]:
    """What is wrong with the job and the day's new page, or with the rig, where everything they name is at hand.

    Faults of other files are not theirs, and not told here; nor is any where no copy can be made.
    """
    try:
        with TemporaryDirectory(prefix="planner-new-") as name:
            copy = Path(name).resolve()
            day = copy / here.day.relative_to(here.workspace)
            lay_out(here, copy)
            file = day / made.file.name
            file.write_text(made.text, encoding="utf-8")
            own = {str(file)}
            if made.page is not None:
                (day / here.page.name).write_text(made.page, encoding="utf-8")
                own.add(str(day / here.page.name))
            if here.of_rig:
                desk = Desk(copy)
                desk.read_rigs()
                faults: Iterable[Fault] = desk.faults
            else:
                faults = load([file]).faults
            return [fault for fault in faults if str(Path(fault.where.file).absolute()) in own]
    except OSError:
        return []


def lay_out(here: Here, copy: Path) -> None:
    """The workspace's text files: what all jobs share, and every day, which `like` may name."""
    for entry in listed_files(here.workspace):
        if entry.name == "rigs" or is_day(entry):
            _copied(entry, copy / entry.name)
    _copied(here.workspace, copy)
    _copied(here.day, copy / here.day.relative_to(here.workspace))


def _copied(folder: Path, copy: Path) -> None:
    """The folder's own text files."""
    copy.mkdir(parents=True, exist_ok=True)
    for file in listed_files(folder):
        if file.suffix in YAML_ENDINGS and file.is_file():
            shutil.copyfile(file, copy / file.name)
