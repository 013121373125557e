"""How often each caution is there, and how often it takes one of a card's places. By hand: python -m tests.packet.caution_share [COUNT]."""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from planner.checks.model import CheckedJob
from planner.days.prepare import Depth, Trouble, checked_jobs, loaded
from planner.packet.cautions import MOST_CAUTIONS, card_of, cautions
from tests.packet import ordinary

_FIFTH = 0.2


def shares(jobs: Iterable[CheckedJob]) -> tuple[int, Counter[str], Counter[str], Counter[int]]:
    """Jobs that are not held; of these how many have each caution, have it on the card, and have so many acts."""
    total, there, printed, acts = 0, Counter[str](), Counter[str](), Counter[int]()
    for job in jobs:
        if job.held:
            continue
        total += 1
        there.update({_named(one) for one in job.findings if one.level == "caution" and one.accepted is None})
        told = cautions(job, "us")
        printed.update({_named(one.finding) for one in told[:MOST_CAUTIONS]})
        acts[len(told)] += 1
    return total, there, printed, acts


def _named(finding: object) -> str:
    given = card_of(finding)  # type: ignore[arg-type]
    where = given if isinstance(given, str) else str(given["at"])
    return f"{finding.code} {finding.case} ({where})"  # type: ignore[attr-defined]


def _print(name: str, jobs: Iterable[CheckedJob]) -> None:
    total, there, printed, acts = shares(jobs)
    print(f"{name}: {total} jobs that are not held")
    for key, count in there.most_common():
        mark = "  more than a fifth" if printed[key] > _FIFTH * total else ""
        print(f"  {count / total:6.1%} there  {printed[key] / total:6.1%} on a card  {key}{mark}")
    print("  acts on a card's job: " + ", ".join(f"{n}: {count / total:.0%}" for n, count in sorted(acts.items())))


if __name__ == "__main__":
    _print("demo", checked_jobs(loaded([str(ordinary.ROOT / "jobs")]), Trouble(faults=[]), Depth(tables=True)))
    with tempfile.TemporaryDirectory() as made:
        count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
        _print("ordinary", ordinary.jobs(count, Path(made)))
