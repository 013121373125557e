"""`planner compare`: planned against done, what it likely is, where it goes, and what to plan with from now on."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from planner.days.archiving import address_of
from planner.days.prepare import report
from planner.exits import FAULTY, OK
from planner.faults import Fault, in_order
from planner.frozen import dataclass
from planner.inputs.joining.learned import NAME as LEARNED
from planner.inputs.models import Company
from planner.inputs.reading.files import file_fault, shown
from planner.inputs.shelf import Desk
from planner.office.chosen import date_in, meant, workspace_asked
from planner.terminal import progress, table

if TYPE_CHECKING:
    from planner.archive.compare.comparison import Comparison
    from planner.archive.compare.learn import Correction
    from planner.archive.compare.pairs import Chosen, Pair, Unread
    from planner.archive.compare.trends import Forecast
    from planner.archive.kept.opening import Opened

MOST_SHOWN: Final = 40
"""Rows of several jobs on one screen; all of them are in --json."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What to compare: the workspace, and which of its records."""

    folder: Path
    desk: Desk
    company: Company
    chosen: Chosen
    whole: bool


def run(args: argparse.Namespace) -> int:
    """Compare, and learn where asked to."""
    asked = _asked(args)
    if isinstance(asked, list):
        return _faulty(asked, args)
    from planner.archive.kept import opening
    from planner.archive.kept.refused import ArchiveRefused

    try:
        with opening.opened(address_of(asked.company), asked.folder, write=False) as archive:
            return _compared(archive, asked, args)
    except ArchiveRefused as refused:
        return _faulty([refused.fault], args)


def _faulty(faults: list[Fault], args: argparse.Namespace) -> int:
    if args.json:
        print(json.dumps({"format": 1, "faults": [fault.as_json() for fault in in_order(faults)], "jobs": []}))
    report(faults)
    return FAULTY


def _asked(args: argparse.Namespace) -> _Asked | list[Fault]:
    from planner.archive.compare.pairs import Chosen

    path = Path(args.path)
    found = workspace_asked(path)
    if isinstance(found, list):
        return found
    folder, desk, company = found
    since = date_in(args.since, "--since")
    if isinstance(since, Fault):
        return [since]
    job, days = meant(path, folder)
    if isinstance(days, Fault):
        return [days]
    whole = job is None and days is None
    if args.apply and not whole:
        remedy = "name the workspace; --since leaves out what is too old"
        return [file_fault("compare.part", path, "--apply learns from all records, not from one job or day", remedy)]
    chosen = Chosen(job=job, days=days, since=since)
    return _Asked(folder=folder, desk=desk, company=company, chosen=chosen, whole=whole)


def _compared(archive: Opened, asked: _Asked, args: argparse.Namespace) -> int:
    from planner.archive.compare.comparison import compared
    from planner.archive.compare.learn import corrections
    from planner.office.compare_files import ahead_of, known, nothing_kept, unread_faults

    found = compared(_with_bar(archive, asked), all_jobs=args.json)
    if not found.count:
        return _faulty(unread_faults(archive, found) or [nothing_kept(archive)], args)
    learned = corrections(found.trends, known(asked.desk)) if asked.whole else []
    if args.apply and learned:
        unwritten = _apply(asked, learned)
        if unwritten is not None:
            return _faulty([unwritten], args)
    ahead, faults = ahead_of(archive, asked.folder, found) if asked.whole else ([], [])
    if args.output is not None:
        unwritten = _paper(Path(args.output), asked, args, found, ahead, learned)
        if unwritten is not None:
            return _faulty([unwritten], args)
    if args.json:
        from planner.archive.compare.kept import kept_corrections, unread_corrections
        from planner.office.compare_json import comparison_json

        kept = kept_corrections(archive)
        faults += unread_faults(archive, found, unread_corrections(archive))
        told = comparison_json(found, ahead, learned, bool(args.apply and learned), kept)
        told["faults"] = [fault.as_json() for fault in faults]
        print(json.dumps(told, ensure_ascii=True, allow_nan=False, indent=1))
    else:
        faults += unread_faults(archive, found)
        _screen(asked, args, found, ahead, learned)
    report(faults)
    return FAULTY if faults else OK


def _with_bar(archive: Opened, asked: _Asked) -> Iterator[Pair | Unread]:
    from planner.archive.compare.pairs import counted, pairs

    with progress("records", counted(archive)) as step:
        for pair in pairs(archive, asked.chosen):
            step()
            yield pair


def _apply(asked: _Asked, learned: list[Correction]) -> Fault | None:
    """Keep what was learned and write its file; the fault that kept it from being written. Raises ArchiveRefused."""
    from planner.archive.kept import opening
    from planner.office.compare_files import apply_learned

    with opening.opened(address_of(asked.company), asked.folder) as archive:
        return apply_learned(archive, asked.folder, asked.desk, learned)


def _paper(
    folder: Path, asked: _Asked, args: argparse.Namespace, found: Comparison, ahead: list[Forecast],
    learned: list[Correction],
) -> Fault | None:  # fmt: skip
    """Print the page; the fault that kept it from being written."""
    from planner.office.compare_files import page_of
    from planner.packet.sandbox import TemplateRefused
    from planner.writing import write_whole

    system, paper = args.units or asked.company.units, args.paper or asked.company.page
    target = folder / "compared.pdf"
    try:
        page = page_of(
            found, ahead, learned, asked.company, system=system, paper=paper, applied=bool(args.apply and learned)
        )
        write_whole(target, page)
    except TemplateRefused as refused:
        return refused.fault
    except OSError as error:
        return file_fault(
            "packet.unwritable", target, f"the page could not be written: {error.strerror or error}",
            "name a folder you may write to with -o",
        )  # fmt: skip
    print(target, file=sys.stderr if args.json else sys.stdout)
    return None


def _screen(
    asked: _Asked, args: argparse.Namespace, found: Comparison, ahead: list[Forecast], learned: list[Correction]
) -> None:  # fmt: skip
    from planner.office import compare_words as words

    system, percent = args.units or asked.company.units, asked.company.percent
    if found.count > 1:
        if asked.whole:
            _lead(asked, args, found, ahead, learned)
        _several(found, system, percent)
        return
    (one,) = found.jobs
    print(words.job_head(one))
    rows = [words.figure_row(row, system, percent) for row in one.found]
    if rows:
        table(words.FIGURE_HEAD, rows, numbers=(2, 3, 4))
    for line in (*words.cause_lines(one), *words.remark_lines(one)):
        print(f"  {line}")
    if asked.whole:
        print()
        _lead(asked, args, found, ahead, learned)


def _lead(
    asked: _Asked, args: argparse.Namespace, found: Comparison, ahead: list[Forecast], learned: list[Correction]
) -> None:  # fmt: skip
    """What matters first: what falls and when, what will fail, where things stand, what would be learned."""
    from planner.office import compare_words as words

    for line in words.lead_lines(found, ahead):
        print(line)
    if told := words.told_trends(found):
        table(words.TREND_HEAD, [words.trend_row(one) for one in told[:MOST_SHOWN]], numbers=(3, 4, 5, 6))
        _rest(len(told))
    if not learned:
        left = f"; {LEARNED} is left as it is" if args.apply and (asked.folder / LEARNED).exists() else ""
        print(f"\nNothing rests on enough records to be learned yet{left}.\n")
        return
    print(f"\nLearned, and written into {shown(asked.folder / LEARNED)}:" if args.apply else "\n--apply would learn:")
    for correction in learned:
        print(f"  {words.correction_line(correction)}")
    print()


def _several(found: Comparison, system: str, percent: str) -> None:
    from planner.office import compare_words as words

    if said := words.season_causes(found.jobs):
        print("what it likely is, by jobs that have it:")
        for line in said:
            print(f"  {line}")
        print()
    if tallies := words.told_tallies(found):
        print("callbacks and cost:")
        table(words.TALLY_HEAD, [words.tally_row(one) for one in tallies[:MOST_SHOWN]], numbers=(1, 2, 3, 4, 5, 6, 7))
        print()
    for one in found.jobs[-MOST_SHOWN:]:
        print(words.job_head(one))
        for line in words.remark_lines(one):
            print(f"    {line}")
    _rest(found.count)
    rows = words.outside_rows(found.jobs, system, percent)  # type: ignore[arg-type]
    if rows:
        print("\noutside what counts as planned:")
        table(("job", *words.FIGURE_HEAD), rows[-MOST_SHOWN:], numbers=(3, 4, 5))
        _rest(len(rows))
    if len(found.days) > 1:
        print()
        table(words.DAY_HEAD, [words.day_row(day) for day in found.days[-MOST_SHOWN:]], numbers=(1, 2, 3, 4, 5, 6))
        _rest(len(found.days))
    if found.season:
        print(f"\nall {words.records(found.count)}:")
        table(words.SEASON_HEAD, [words.season_row(one) for one in found.season], numbers=(1, 2, 3, 4))


def _rest(count: int) -> None:
    if count > MOST_SHOWN:
        print(f"{count - MOST_SHOWN:,} more before these: name a day, give --since, or take --json.")
