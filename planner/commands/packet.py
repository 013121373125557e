"""`planner packet`: each job's packet as a PDF, written beside and renamed, never half there."""

from __future__ import annotations

import argparse
import os
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from planner.checks.model import CheckedJob
from planner.commands.prepare import Trouble, checked_jobs, days_of, exit_code, loaded, report
from planner.commands.progress import progress
from planner.commands.sorry import apologise
from planner.faults import Fault, Where
from planner.packet.book import day_packet, job_packet, notice
from planner.packet.sandbox import TemplateRefused
from planner.plan.day import DayPlan


def run(args: argparse.Namespace) -> int:
    """Print the packet of every job the paths name, and the cover of every day asked for whole."""
    read = loaded(args.paths)
    trouble = Trouble(faults=list(read.faults))
    root = Path(args.output)
    jobs = list(checked_jobs(read.jobs, trouble, tables=True))
    days = days_of(read, jobs)
    clocked = {job.plan.id: job for _, of_day in days for job in of_day}
    prints = [_of_day(root, day, of_day, args) for day, of_day in days]
    for job in jobs:
        prints += _of_job(root, clocked.get(job.plan.id, job), args)
    with progress("packets", len(prints)) as step:
        for one in sorted(prints, key=lambda one: one.target):
            if _printed(one, trouble):
                print(f"{one.target}{'  HELD' if one.held else ''}")
            step()
    report(trouble.faults)
    return exit_code(jobs, trouble)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Print:
    """One file to print: where it goes, whether to mark it as held, what makes its bytes."""

    target: Path
    held: bool
    make: Callable[[], bytes]


def _of_day(root: Path, day: DayPlan, jobs: list[CheckedJob], args: argparse.Namespace) -> _Print:
    company = jobs[0].plan.input.company
    paper, system = args.paper or company.page, args.units or company.units
    return _Print(
        target=root / day.date.isoformat() / "00-day.pdf",
        held=False,
        make=lambda: day_packet(day, jobs, paper=paper, system=system),
    )


def _of_job(root: Path, job: CheckedJob, args: argparse.Namespace) -> list[_Print]:
    company = job.plan.input.company
    paper, system = args.paper or company.page, args.units or company.units
    target = packet_path(root, job)
    held = job.verdict == "stop"
    prints = [_Print(target=target, held=held, make=lambda: job_packet(job, paper=paper, system=system))]
    if args.notice and job.plan.kind == "wash":
        beside = target.with_name(f"{target.stem}-notice.pdf")
        prints.append(_Print(target=beside, held=False, make=lambda: notice(job, paper=paper, system=system)))
    return prints


def _printed(one: _Print, trouble: Trouble) -> bool:
    """Make and write one file; what goes wrong is a fault, or an apology of ours, and the others go on."""
    try:
        write_whole(one.target, one.make())
    except TemplateRefused as refused:
        # The wording serves every job: the fault is told once.
        trouble.faults.append(refused.fault)
        return False
    except OSError as error:
        trouble.faults.append(_unwritable(one.target, error))
        return False
    except Exception:
        apologise(str(one.target))
        trouble.ours = True
        return False
    return True


def packet_path(root: Path, job: CheckedJob) -> Path:
    """Where a job's packet goes: ROOT/<date>/<stem>.pdf, or ROOT/<stem>.pdf for a job without a day."""
    parts = job.plan.id.split("/")
    return root.joinpath(*parts[:-1], f"{parts[-1]}.pdf")


def write_whole(target: Path, content: bytes) -> None:
    """Write `content` beside `target` and rename it into place. Raises OSError; leaves nothing half-written."""
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.stem}-", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, 0o644)
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _unwritable(target: Path, error: OSError) -> Fault:
    return Fault(
        code="packet.unwritable",
        message=f"the packet could not be written: {error.strerror or error}",
        remedy="Name a folder you may write to with -o, and close the file if it is open elsewhere.",
        where=Where(file=str(target)),
    )
