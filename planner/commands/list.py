"""`planner list`: every job in a row, what was printed and never recorded, what is due, a month's sums, the winter."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from planner.days.archiving import address_of
from planner.days.prepare import Trouble, checked_jobs, loaded, report
from planner.exits import FAULTY, OK
from planner.faults import Fault, in_order
from planner.frozen import dataclass
from planner.inputs.models import Company
from planner.inputs.reading.files import file_fault
from planner.inputs.shelf import Desk
from planner.office import words
from planner.office.chosen import date_in, ending, meant, usage, workspace_asked
from planner.office.listed import Listed, Wanted, listed, settled, today
from planner.terminal import table
from planner.units import System

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.office.due import Due
    from planner.office.months import Month


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    folder: Path
    desk: Desk
    company: Company
    wanted: Wanted


def run(args: argparse.Namespace) -> int:
    """List them."""
    asked = _asked(args)
    if isinstance(asked, list):
        return _faulty(asked, args)
    from planner.archive.kept.refused import ArchiveRefused

    if args.winter:
        return _winter(asked)
    from planner.archive.kept import opening

    try:
        with opening.opened(address_of(asked.company), asked.folder, write=False) as archive:
            return _listed(asked, archive, args)
    except ArchiveRefused as refused:
        if refused.fault.code != "archive.missing":
            return _faulty([refused.fault], args)
    return _listed(asked, None, args)


def _listed(asked: _Asked, archive: Opened | None, args: argparse.Namespace) -> int:
    """The list, with what an archive knows where there is one. Raises ArchiveRefused."""
    rows, read = listed(asked.folder, archive, asked.wanted)
    due = _due(asked, archive) if args.due or args.json else []
    rows, faults = _settled(rows, asked, archive)
    if archive is not None:
        faults += _unread(archive, rows)
    known = asked.desk.faults if args.due or args.json or args.months else []
    faults = list(dict.fromkeys([*faults, *known, *(read.faults if read is not None else ())]))
    if args.csv is not None and (unwritten := _sheet(Path(args.csv), rows, asked, args)):
        return _faulty([unwritten], args)
    system: System = args.units or asked.company.units
    if args.json:
        print(_json(rows, due, _months(rows, asked) if args.months else None, faults))
    elif args.due:
        _print_due(due, _pumps(asked, archive), system)
    elif args.months:
        _print_months(_months(rows, asked), system)
    else:
        _print(rows, system)
    report(faults)
    return FAULTY if faults else OK


def _faulty(faults: list[Fault], args: argparse.Namespace) -> int:
    if args.json:
        print(json.dumps({"format": 1, "faults": [fault.as_json() for fault in in_order(faults)], "jobs": []}))
    report(faults)
    return FAULTY


def _asked(args: argparse.Namespace) -> _Asked | list[Fault]:
    found = workspace_asked(Path(args.path))
    if isinstance(found, list):
        return found
    folder, desk, company = found
    job, days = meant(Path(args.path), folder)
    if isinstance(days, Fault):
        return [days]
    since, until = date_in(args.since, "--since"), date_in(args.until, "--until")
    if isinstance(since, Fault) or isinstance(until, Fault):
        return [one for one in (since, until) if isinstance(one, Fault)]
    if since is not None and until is not None and until < since:
        return [usage("date.order", "--until", "it ends before it begins", "write the later day after --until")]
    if args.csv is not None and (wrong := ending(Path(args.csv), ".csv", "--csv")):
        return [wrong]
    wanted = Wanted(
        since=since, until=until, status=args.status, customer=args.customer or "", days=days, job=job
    )  # fmt: skip
    return _Asked(folder=folder, desk=desk, company=company, wanted=wanted)


def _unread(archive: Opened, rows: Sequence[Listed]) -> list[Fault]:
    """What is archived of these jobs and cannot be read."""
    if not any(one.unread for one in rows):
        return []
    from planner.archive.compare.pairs import Unread
    from planner.office.compare_files import unread_fault

    return [unread_fault(archive, Unread(job=one.job, what=one.unread)) for one in rows if one.unread]


def _settled(rows: list[Listed], asked: _Asked, archive: Opened | None) -> tuple[list[Listed], list[Fault]]:
    """Jobs still to come, checked as `check` would; a fault of theirs is told. Raises ArchiveRefused."""
    ahead = [one for one in rows if one.file is not None and one.date is not None and one.date >= today()]
    ahead = [one for one in ahead if one.status in ("written", "printed", "held")]
    if not ahead:
        return rows, []
    trouble = Trouble(faults=[])
    read = loaded([str(asked.folder / one.file) for one in ahead if one.file is not None])
    found = {job.plan.id: job for job in checked_jobs(read, trouble)}
    return settled(rows, found, archive), [*read.faults, *trouble.faults]


# ------------------------------------------------------------ what is due, months, winter


def _rigs(asked: _Asked) -> list:  # type: ignore[type-arg]
    found = [asked.desk.rig_named(name) for name in asked.desk.rig_files()]
    return [one.value for one in found if one is not None and one.value is not None and one.sound]


def _due(asked: _Asked, archive: Opened | None) -> list[Due]:
    from planner.office.due import due_of, kept_hours

    ran, mended = kept_hours(archive) if archive is not None else ([], {})
    return due_of(_rigs(asked), ran, mended, today())


def _months(rows: Sequence[Listed], asked: _Asked) -> list[Month]:
    from planner.office.months import months

    stock = asked.desk.stock.value
    return months(rows, stock.lots if stock is not None else ())


def _winter(asked: _Asked) -> int:
    from planner.office.winter import winter_steps

    stock = asked.desk.stock.value
    rigs = _rigs(asked)
    for rig in rigs:
        print(f"{rig.rig}, before the first hard frost:")
        for step in winter_steps(rig, stock.lots if stock is not None else ()):
            print(f"  [ ] {step}")
    faults = in_order(asked.desk.faults)
    report(faults)
    return FAULTY if faults else OK


# ------------------------------------------------------------ out


_NOTHING: Final = "No job fits what you asked for."


def _print(rows: Sequence[Listed], system: System) -> None:
    unwritten = [one for one in rows if one.open_on(today())]
    if unwritten:
        print(f"Printed, day over, not recorded ({len(unwritten)}):")
        for one in unwritten:
            print(words.open_line(one))
        print("  Write them down: planner record JOB --from F\n")
    if not rows:
        print(_NOTHING)
        return
    table(words.HEAD, [words.row(one, system) for one in rows])
    if any(one.changed for one in rows):
        print("\n* its files changed since it was printed: print it again before anybody works from it")


def _pumps(asked: _Asked, archive: Opened | None) -> list[str]:
    """What records say of pumps that fall. Raises ArchiveRefused."""
    from planner.office.compare_files import pumps_told

    return pumps_told(archive, asked.folder) if archive is not None else []


def _print_due(due: Sequence[Due], pumps: Sequence[str], system: System) -> None:
    from planner.office.due import SHOWN

    for line in pumps:
        print(line)
    if not due:
        print("No rig has a `service` list. Write one in its file: planner schema rig")
        return
    for shown, head in ((True, "Due, or soon:"), (False, "Later:")):
        rows = [words.due_row(one, system) for one in due if (one.state in SHOWN) == shown]
        if rows:
            print(head)
            table(words.DUE_HEAD, rows)


def _print_months(found: Sequence[Month], system: System) -> None:
    if not found:
        print(_NOTHING)
        return
    table(words.MONTH_HEAD, list(words.month_rows(found, system)), numbers=(1, 2, 3, 5, 6, 7))
    for line in words.bought_lines(found, system):
        print(line)


def _sheet(target: Path, rows: Sequence[Listed], asked: _Asked, args: argparse.Namespace) -> Fault | None:
    from planner.office.sheet import sheet
    from planner.writing import write_whole

    try:
        write_whole(target, sheet(rows, args.units or asked.company.units))
    except OSError as error:
        reason = error.strerror or str(error)
        return file_fault("list.unwritable", target, f"the list could not be written: {reason}", "name another file")
    return None


def _json(rows: Sequence[Listed], due: Sequence[Due], months: Sequence[Month] | None, faults: Sequence[Fault]) -> str:
    told: dict[str, object] = {
        "format": 1,
        "faults": [fault.as_json() for fault in in_order(faults)],
        "jobs": [words.listed_json(one) for one in rows],
        "not_recorded": [one.job for one in rows if one.open_on(today())],
        "due": [words.due_json(one) for one in due],
    }
    if months is not None:
        told["months"] = [words.month_json(one) for one in months]
    return json.dumps(told, ensure_ascii=True, allow_nan=False, indent=1)
