"""Which archive a job's results go into, and what `packet` and `record` put there alike. Light until it is used."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from planner.archive.kept.address import ADDRESS, Address
from planner.checks.model import CheckedJob
from planner.frozen import dataclass
from planner.inputs.models import Company
from planner.inputs.reading.files import is_there

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson

_PAGE: Final = re.compile(rb"/Type\s*/Page\b(?!s)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A packet on paper, waiting to be archived with its plan."""

    job: CheckedJob
    plan: PlanJson
    file: str
    packet: bytes


def workspace_of(path: Path) -> Path | None:
    """The folder of the company.yaml a path lies under, itself included; None outside of any workspace."""
    try:
        start = path.absolute().resolve()
    except (OSError, RuntimeError, ValueError):
        return None
    return next((folder for folder in (start, *start.parents) if is_there(folder / "company.yaml")), None)


def address_of(company: Company) -> Address:
    """Where the archive is, by the environment's word or else the company's own, and whose part of it is meant."""
    return Address(text=os.environ.get(ADDRESS) or company.archive, branch=(company.branch or "").casefold())


def plan_json(job: CheckedJob, folder: Path) -> PlanJson:
    """A job's plan as it is archived: in the company's units, its places named from the workspace.

    So the same plan is the same text wherever the command was called from.
    """
    from planner.contract.plan import job_json

    return as_archived(job_json(job, job.plan.input.company.units), folder)


def as_archived(plan: PlanJson, folder: Path) -> PlanJson:
    """A plan in its company's units, its places named from the workspace."""
    from planner.contract.plan import placed

    return placed(plan, lambda file: _from(folder, file))


def _from(folder: Path, file: str) -> str:
    path = Path(file).absolute().resolve()
    return path.relative_to(folder).as_posix() if path.is_relative_to(folder) else path.name


def pages_in(packet: bytes) -> int:
    """How many pages a packet of ours has; its page objects are never packed away."""
    return len(_PAGE.findall(packet))


def archive_printed(kept: Sequence[Kept]) -> Iterator[str]:
    """Archive what was printed. Paper comes first: whatever keeps it from the archive is a caution, no fault."""
    by_folder: dict[Path, list[Kept]] = {}
    for one in kept:
        folder = workspace_of(Path(one.job.plan.input.where.file))
        if folder is not None:
            by_folder.setdefault(folder, []).append(one)
    for folder, printed in by_folder.items():
        if trouble := _archived(folder, printed):
            yield f"caution: printed, but not archived: {trouble}"


def _archived(folder: Path, printed: Sequence[Kept]) -> str | None:
    """What kept the prints of one workspace from its archive; None where nothing did."""
    try:
        from planner.archive.kept import opening, store
        from planner.archive.kept.refused import ArchiveRefused
    except ImportError as error:
        return f"`{error.name}` is not installed"
    rows = [
        store.Printed(
            plan=as_archived(one.plan, folder),
            file=one.file,
            packet=one.packet,
            pages=pages_in(one.packet),
            held=one.job.verdict == "stop",
        )
        for one in printed
    ]
    try:
        with opening.opened(address_of(printed[0].job.plan.input.company), folder) as archive:
            store.keep_printed(archive, rows)
    except ArchiveRefused as refused:
        return f"{refused.fault.message} ({refused.fault.where.file}); {refused.fault.remedy}"
    except Exception as error:
        return f"{type(error).__name__} in the archive"
    return None
