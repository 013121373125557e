"""`planner packet`: each job's packet as a PDF, written beside and renamed, never half there."""

from __future__ import annotations

import argparse
import os
import tempfile
from pathlib import Path

from planner.checks.model import CheckedJob
from planner.commands.prepare import Trouble, checked_jobs, exit_code, loaded, report
from planner.commands.progress import progress
from planner.faults import Fault, Where
from planner.packet.book import job_packet
from planner.packet.sandbox import TemplateRefused


def run(args: argparse.Namespace) -> int:
    """Print the packet of every job the paths name."""
    read = loaded(args.paths)
    trouble = Trouble(faults=list(read.faults))
    faults = trouble.faults
    root = Path(args.output)
    done: list[CheckedJob] = []
    with progress("packets", len(read.jobs)) as step:
        for job in checked_jobs(read.jobs, trouble):
            system = args.units or job.plan.input.company.units
            paper = args.paper or job.plan.input.company.page
            target = packet_path(root, job)
            try:
                write_whole(target, job_packet(job, paper=paper, system=system))
            except TemplateRefused as refused:
                # The wording serves every job: one fault, once, and no packet with half of it.
                faults.append(refused.fault)
                continue
            except OSError as error:
                faults.append(_unwritable(target, error))
                continue
            done.append(job)
            step()
            held = "  HELD" if job.verdict == "stop" else ""
            print(f"{target}{held}")
    report(faults)
    return exit_code(done, trouble)


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
