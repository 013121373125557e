"""`planner packet`: each job's packet as a PDF, its owner's file and HTML if asked; written whole or not at all."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from planner.checks.model import CheckedJob
from planner.contract.plan import plan_text
from planner.days.archiving import Kept, archive_printed
from planner.days.prepare import Trouble, checked_jobs, days_of, exit_code, loaded, report
from planner.exits import apologise
from planner.faults import Fault, Where
from planner.packet.book import Book, day_book, job_book, notice, owner_book, rig_book
from planner.packet.html import twin
from planner.packet.sandbox import TemplateRefused
from planner.packet.sections.facts import rig_name
from planner.plan.days.day import DayPlan
from planner.terminal import on_one_line, progress
from planner.writing import write_whole


def run(args: argparse.Namespace) -> int:
    """Print the packet of every job the paths name, and the cover of every day asked for whole."""
    read = loaded(args.paths)
    trouble = Trouble(faults=list(read.faults))
    root = Path(args.output)
    jobs = list(checked_jobs(read, trouble, tables=True))
    days = days_of(read, jobs)
    clocked = {job.plan.id: (job, of_day) for _, of_day in days for job in of_day}
    prints = [_of_day(root, day, of_day, args) for day, of_day in days]
    for job in jobs:
        if job.breaches:
            _put_aside(packet_path(root, job))
        else:
            prints += _of_job(root, *clocked.get(job.plan.id, (job, [])), args)
    if args.rig_card:
        prints += _rig_cards(root, jobs, args)
    kept: list[Kept] = []
    with progress("packets", len(prints)) as step:
        for one in sorted(prints, key=lambda one: one.target.with_suffix("")):
            for target, content in _printed(root, one, trouble).items():
                print(f"{on_one_line(str(target))}{'  HELD' if one.held else ''}")
                if one.job is not None and target == one.target:
                    kept.append(Kept(job=one.job, file=target.relative_to(root).as_posix(), packet=content))
            step()
    archive_printed(kept)
    report(trouble.faults)
    return exit_code(jobs, trouble)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Print:
    """One file to print: where it goes, whether to mark it as held, what makes its bytes and those of its twins."""

    target: Path
    held: bool
    make: Callable[[], dict[str, bytes]]
    """By the ending of the file's name."""
    job: CheckedJob | None = None
    """Whose packet it is."""


def _of_day(root: Path, day: DayPlan, jobs: list[CheckedJob], args: argparse.Namespace) -> _Print:
    company = jobs[0].plan.input.company
    paper, system = args.paper or company.page, args.units or company.units
    return _Print(
        target=root / day.name / "00-day.pdf",
        held=False,
        make=lambda: _files(day_book(day, jobs, paper=paper, system=system), html=args.html),
    )


def _of_job(root: Path, job: CheckedJob, day: list[CheckedJob], args: argparse.Namespace) -> list[_Print]:
    company = job.plan.input.company
    paper, system = args.paper or company.page, args.units or company.units
    target = packet_path(root, job)
    held = job.verdict == "stop"

    def make() -> dict[str, bytes]:
        book = job_book(job, paper=paper, system=system, plan_json=plan_text(job, system), day=day)
        return _files(book, html=args.html)

    prints = [_Print(target=target, held=held, make=make, job=job)]
    if args.owner or company.owner_pages == "always":
        # A held job's too: on paper its figures are here alone.
        owners = target.with_name(f"{target.stem}-owner.pdf")
        prints.append(
            _Print(
                target=owners,
                held=held,
                make=lambda: _files(owner_book(job, paper=paper, system=system), html=args.html),
            )
        )
    if args.notice and job.plan.kind == "wash":
        beside = target.with_name(f"{target.stem}-notice.pdf")
        prints.append(_Print(target=beside, held=False, make=lambda: {".pdf": notice(job, paper=paper, system=system)}))
    return prints


def _rig_cards(root: Path, jobs: list[CheckedJob], args: argparse.Namespace) -> Iterator[_Print]:
    """One for each rig that the jobs name; it says nothing of any job."""
    for name, job in {rig_name(job.plan): job for job in reversed(jobs)}.items():
        company = job.plan.input.company
        make = partial(rig_book, job.plan, paper=args.paper or company.page, system=args.units or company.units)
        yield _Print(
            target=root / f"rig-{_in_file_name(name)}.pdf",
            held=False,
            make=lambda make=make: _files(make(), html=args.html),  # type: ignore[misc]
        )


def _in_file_name(name: str) -> str:
    """A rig's name as part of a file's: what a file system or a shell has its own use for is a hyphen."""
    return re.sub(r"[^\w.]+", "-", name).strip("-.") or "card"


def _files(book: Book, *, html: bool) -> dict[str, bytes]:
    """The book's bytes, and its twin's for screen readers."""
    return {".pdf": book.pdf, **({".html": twin(book)} if html else {})}


def _printed(root: Path, one: _Print, trouble: Trouble) -> dict[Path, bytes]:
    """Make and write one file and its twin; gives what was written, and where.

    What goes wrong is a fault, or an apology of ours, and the others go on.
    """
    written: dict[Path, bytes] = {}
    try:
        for ending, content in one.make().items():
            target = one.target.with_name(f"{one.target.stem}{ending}")
            write_whole(target, content, root)
            written[target] = content
    except TemplateRefused as refused:
        # The wording serves every job: the fault is told once.
        trouble.faults.append(refused.fault)
    except OSError as error:
        trouble.faults.append(_unwritable(one.target, error))
    except Exception:
        apologise(str(one.target))
        trouble.ours = True
    return written


def packet_path(root: Path, job: CheckedJob) -> Path:
    """Where a job's packet goes: ROOT/<date>/<stem>.pdf, or ROOT/<stem>.pdf for a job without a day."""
    parts = job.plan.id.split("/")
    return root.joinpath(*parts[:-1], f"{parts[-1]}.pdf")


def _put_aside(target: Path) -> None:
    """A packet printed before of a job whose new one is kept back: renamed, so that nobody hands it out for today's."""
    owners = target.with_name(f"{target.stem}-owner.pdf")
    for old in (target, target.with_suffix(".html"), owners, owners.with_suffix(".html")):
        aside = old.with_name(f"{old.stem}-before{old.suffix}")
        try:
            old.replace(aside)
        except FileNotFoundError:
            continue
        except OSError as error:
            print(f"Do not work from {old}: it was printed before. ({error.strerror or error})", file=sys.stderr)
        else:
            print(f"Do not work from the packet printed before: it is now {aside}", file=sys.stderr)


def _unwritable(target: Path, error: OSError) -> Fault:
    return Fault(
        code="packet.unwritable",
        message=f"the packet could not be written: {error.strerror or error}",
        remedy="Name a folder you may write to with -o, and close the file if it is open elsewhere.",
        where=Where(file=str(target)),
    )
