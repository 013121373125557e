"""What is said where a day, a date, a job or the shelf's file is lacking."""

from __future__ import annotations

from pathlib import Path

from planner.faults import Fault
from planner.inputs.joined import JobInput
from planner.inputs.models.base import nearest
from planner.inputs.models.bounds import bound_rows, off
from planner.inputs.reading.files import (
    YAML_ENDINGS,
    date_meant,
    date_of,
    file_fault,
    is_folder,
    is_there,
    listed_files,
    shown,
)
from planner.inputs.shelf import Desk
from planner.inputs.tables.defaults import default

BARE = "workspace.bare"
"""The code of a workspace that is in order and has no job yet."""


def bare(path: Path, desk: Desk) -> Fault:
    there = ["company", *(name for name in ("stock", "surfaces") if is_there(desk.folder / f"{name}.yaml"))]
    rigs, remedy = len(desk.rig_files()), "write one: `planner new 2026-06-09/10-boathouse.yaml` asks for it"
    there += [f"rig{'s' if rigs > 1 else ''}"] if rigs else []
    missing = [] if "stock" in there else ["no stock.yaml"]
    if not rigs:
        missing.append("no rig")
        remedy = "write a rig's file in the folder rigs first, with its setups; `planner start DIR` shows one"
    whole = f"{', '.join(there[:-1])} and {there[-1]} are" if len(there) > 1 else f"{there[0]} is"
    message = f"{whole} in order; {', '.join([*missing, 'no job and no day'])} is here yet"
    return file_fault(BARE, path, message, remedy)


def no_day(path: Path) -> Fault:
    remedy = "name a job's file, or a day's folder like `2026-06-09`"
    return file_fault("file.folder", path, "there is no job and no day in this folder", remedy)


def too_many(folder: Path, jobs: int) -> Fault | None:
    most = int(default("jobs_most"))
    if jobs <= most:
        return None
    message = f"this day has {jobs:,} jobs, and at most {most} are planned as one day"
    return file_fault("file.many", folder, message, "keep the day's own here; move the others to their days or rigs")


def like_named(path: Path) -> str:
    names = [
        listed_file.name
        for listed_file in listed_files(path.parent)
        if listed_file.suffix in YAML_ENDINGS or is_folder(listed_file)
    ]
    near = nearest(path.name, names)
    return f"write `{near}` if that was meant" if near else "check the name and the folder"


def no_date(folder: Path) -> Fault | None:
    date = date_of(folder)
    if date is not None:
        least, most = next(row.texts["possible"] for row in bound_rows() if row.key == "folder")
        if not list(off("folder", date, folder.name, (), "possible")):
            return None
        message = f"`{folder.name[:10]}` cannot be right: days are from {least} to {most}"
        return file_fault("folder.date", folder, message, "rename it to its date, such as `2026-06-09`")
    message = f"`{shown(Path(folder.name))}` is not a date, so the jobs in it have no day"
    return file_fault("folder.date", folder, message, date_meant(folder.name))


def pours(job: JobInput) -> bool:
    return bool(job.chemicals) or (job.yard is not None and "descale" in job.yard.works)


def no_stock(desk: Desk) -> Fault:
    """Without the shelf's file nobody knows what is on it: that is not an empty shelf."""
    message = "there is no stock.yaml, so what is on the shelf is not known"
    remedy = "write one with a row for each container: `planner start DIR` shows how; `lots: []` is an empty shelf"
    return file_fault("file.missing", desk.folder / "stock.yaml", message, remedy)
