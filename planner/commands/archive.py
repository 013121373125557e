"""`planner archive`: export, import or back up everything on file while others use it, or give it to a branch."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from planner.days.archiving import address_of
from planner.days.prepare import report
from planner.exits import FAULTY, OK
from planner.inputs.reading.files import file_fault, shown
from planner.office.chosen import ending, workspace_asked
from planner.writing import write_whole

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.inputs.models import Company


def run(args: argparse.Namespace) -> int:
    """Export, import or copy the archive of one workspace, or give it to the workspace's branch."""
    from planner.archive.kept import exchange, identity, opening
    from planner.archive.kept.refused import ArchiveRefused

    found = workspace_asked(Path(args.workspace))
    if isinstance(found, list):
        report(found)
        return FAULTY
    folder, _, company = found
    target, office = Path(args.target), args.action == "export" and args.office
    if office and (wrong := ending(target, ".csv", "FILE")):
        report([wrong])
        return FAULTY
    address = address_of(company)
    if args.action == "branch" and args.target.casefold() != (address.branch or None):
        own = f"`branch: {address.branch}`" if address.branch else "no branch"
        remedy = f"write `branch: {args.target}` there first, or name the branch it has"
        report([file_fault("archive.branch", folder / "company.yaml", f"this workspace has {own}", remedy)])
        return FAULTY
    try:
        with opening.opened(address, folder, write=args.action in ("import", "branch")) as archive:
            where = shown(archive.path) if archive.path is not None else archive.where
            if office:
                print(f"{_jobs(_office(archive, folder, target, company))} of {where} written into {shown(target)}")
            elif args.action == "export":
                print(f"{_counted(exchange.export(archive, target))} of {where} written into {shown(target)}")
            elif args.action == "import":
                print(f"{_counted(exchange.take_in(archive, target))} new in {where}")
            elif args.action == "branch":
                print(f"{_counted(identity.name_branch(archive))} given to branch {address.branch} in {where}")
            else:
                exchange.copy(archive, target)
                print(f"{where} copied to {shown(target)}")
    except ArchiveRefused as refused:
        report([refused.fault])
        return FAULTY
    except OSError as error:
        reason = error.strerror or str(error)
        report([file_fault("list.unwritable", target, f"it could not be written: {reason}", "name another file")])
        return FAULTY
    return OK


def _office(archive: Opened, folder: Path, target: Path, company: Company) -> int:
    """Write one row a job; how many there are. Raises ArchiveRefused, OSError."""
    from planner.office.listed import Wanted, listed
    from planner.office.sheet import sheet

    rows, _ = listed(folder, archive, Wanted())
    write_whole(target, sheet(rows, company.units))
    return len(rows)


def _jobs(count: int) -> str:
    return "1 job" if count == 1 else f"{count:,} jobs"


def _counted(counts: Mapping[str, int]) -> str:
    """`3 plans, 2 packets, 1 record`, with nothing for nothing."""
    called = {"withdrawn": "withdrawals"}
    parts = [
        f"{count:,} {plural if count != 1 else plural[:-1]}"
        for name, count in counts.items()
        if count and (plural := called.get(name, name))
    ]
    return ", ".join(parts) or "nothing"
