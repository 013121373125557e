"""`planner archive`: what was kept, out as plain files, in again, or copied while others use it."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path

from planner.days.archiving import address_of, workspace_of
from planner.days.prepare import report
from planner.exits import FAULTY, OK
from planner.faults import Fault, in_order
from planner.inputs.reading.files import file_fault, shown
from planner.inputs.shelf import Desk


def run(args: argparse.Namespace) -> int:
    """Export, import or copy the archive of one workspace."""
    from planner.archive.kept import exchange, opening
    from planner.archive.kept.refused import ArchiveRefused

    found = _address(Path(args.workspace))
    if isinstance(found, list):
        report(found)
        return FAULTY
    folder, address = found
    target = Path(args.target)
    try:
        with opening.opened(address, folder, write=args.action == "import") as archive:
            where = shown(archive.path) if archive.path is not None else archive.where
            if args.action == "export":
                print(f"{_counted(exchange.export(archive, target))} of {where} written into {shown(target)}")
            elif args.action == "import":
                print(f"{_counted(exchange.take_in(archive, target))} new in {where}")
            else:
                exchange.copy(archive, target)
                print(f"{where} copied to {shown(target)}")
    except ArchiveRefused as refused:
        report([refused.fault])
        return FAULTY
    return OK


def _address(start: Path) -> tuple[Path, str | None] | list[Fault]:
    """The workspace and its archive's address, or why there is none."""
    folder = workspace_of(start)
    if folder is None:
        remedy = "call this inside a workspace, or name one with --workspace"
        return [file_fault("workspace.missing", start, "no company.yaml lies here or above", remedy)]
    desk = Desk(folder)
    if desk.company.value is None or not desk.company.sound:
        return in_order(fault for fault in desk.faults if fault.where.file == shown(folder / "company.yaml"))
    return folder, address_of(desk.company.value.archive)


def _counted(counts: Mapping[str, int]) -> str:
    """`3 plans, 2 packets, 1 record`, with nothing for nothing."""
    parts = [f"{count:,} {name if count != 1 else name[:-1]}" for name, count in counts.items() if count]
    return ", ".join(parts) or "nothing"
