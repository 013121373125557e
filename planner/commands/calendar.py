"""`planner calendar`: booked jobs as a calendar file, their times, addresses and verdicts in it."""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path

from planner.days.prepare import Trouble, checked_jobs, exit_code, loaded, report
from planner.exits import FAULTY
from planner.inputs.reading.files import file_fault
from planner.office.chosen import ending
from planner.terminal import on_one_line
from planner.writing import write_whole


def run(args: argparse.Namespace) -> int:
    """Check the jobs the paths name and write them into one file."""
    target = Path(args.output)
    if wrong := ending(target, ".ics", "--output"):
        report([wrong])
        return FAULTY
    read = loaded(args.paths)
    trouble = Trouble(faults=list(read.faults))
    jobs = list(checked_jobs(read, trouble))
    dated = [job for job in jobs if job.plan.input.date is not None]
    if dated:
        from planner.office.calendar import calendar

        try:
            write_whole(target, calendar(dated, datetime.datetime.now(datetime.UTC)))
            print(f"{on_one_line(str(target))}: {len(dated)} {'job' if len(dated) == 1 else 'jobs'}")
        except OSError as error:
            reason = error.strerror or str(error)
            trouble.faults.append(
                file_fault("calendar.unwritable", target, f"it could not be written: {reason}", "name another file")
            )
    elif not trouble.faults:
        message, remedy = "no job here has a date", "name a day's folder such as `2026-06-09`"
        trouble.faults.append(file_fault("calendar.undated", target, message, remedy))
    report(trouble.faults)
    return exit_code(jobs, trouble)
