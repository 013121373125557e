"""What a path of `compare` or `list` means: its workspace, and the day or the job in it, whose files may be gone."""

from __future__ import annotations

import datetime
from pathlib import Path

from planner.days.archiving import workspace_of
from planner.faults import Fault, Where, in_order
from planner.inputs.models import Company
from planner.inputs.reading.files import date_of, file_fault, is_day, is_folder, listed_files, no_workspace, shown
from planner.inputs.shelf import Desk


def workspace_asked(path: Path) -> tuple[Path, Desk, Company] | list[Fault]:
    """The workspace a path lies in, its desk and its company; or why there is none."""
    folder = workspace_of(path if is_folder(path) else path.parent)
    if folder is None:
        remedy = "run this inside a workspace, or name one"
        return [no_workspace(path, remedy)]
    desk = Desk(folder)
    if desk.company.value is None or not desk.company.sound:
        return in_order(fault for fault in desk.faults if fault.where.file == shown(folder / "company.yaml"))
    return folder, desk, desk.company.value


def meant(path: Path, folder: Path) -> tuple[str | None, frozenset[str] | Fault | None]:
    """The job, or the days, a path means; neither for the whole workspace. Its folder or file may be gone."""
    absolute = path.absolute().resolve()
    if absolute == folder:
        return None, None
    if is_day(absolute) or date_of(absolute) is not None:
        return None, frozenset({absolute.name})
    if is_folder(absolute):
        days = frozenset(day.name for day in listed_files(absolute) if is_day(day))
        if days:
            return None, days
        return None, file_fault("file.folder", path, "there is no day in this folder", "name a workspace, day or job")
    date = date_of(absolute.parent)
    if absolute.stem == "day" and date is not None:
        return None, frozenset({absolute.parent.name})
    stem = absolute.stem if absolute.suffix in (".yaml", ".yml") else absolute.name
    return (f"{absolute.parent.name}/{stem}" if date is not None else stem), None


def date_in(text: str | None, option: str) -> datetime.date | Fault | None:
    """The date of an option, or what is wrong with it; None where it was not given."""
    try:
        return datetime.date.fromisoformat(text) if text is not None else None
    except ValueError:
        return usage("date.text", option, f"`{str(text)[:40]}` is not a date", "write it like `2026-06-09`")


def ending(path: Path, wanted: str, option: str) -> Fault | None:
    """What is wrong with a file to be written by its name: nothing of another kind is ever written over."""
    if path.suffix.lower() == wanted:
        return None
    return usage("file.name", option, f"`{path.name[:60]}` does not end in `{wanted}`", f"write it like `jobs{wanted}`")


def usage(code: str, option: str, message: str, remedy: str) -> Fault:
    """What is wrong with an option."""
    where = Where(file="command line", path=option, lines=False)
    return Fault(code=code, message=message, remedy=remedy, where=where)
