"""How long a command takes from cold beside what no program could avoid.

Run by hand: python tests/bench/bench_start.py [JOB ...].  Default: the demo workspace's first job.

1. `planner --help` against a bare interpreter that builds an argparse parser and imports nothing else.
2. `planner check JOB` against an interpreter that only imports the libraries the work rests on, each as it comes:
   fluids and pint bring numpy along.  A check loads neither numpy nor, for common units, pint.
Processor time, bytecode written before, as an installation has it.  Turn about; medians and their ratio.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 15
BARE_HELP = "import argparse; argparse.ArgumentParser(prog='planner').parse_args(['--help'])"
LIBRARIES = "import fluids, pint, pydantic, yaml"


def _demo_jobs() -> list[str]:
    days = sorted(path for path in (ROOT / "jobs").glob("[0-9]*-[0-9]*-[0-9]*") if path.is_dir())
    jobs = [path for day in days for path in sorted(day.glob("[0-9]*-*.yaml"))]
    if not jobs:
        raise SystemExit("no demo job found under jobs/: name a job file")
    return [str(jobs[0])]


def _seconds(arguments: list[str], allowed: tuple[int, ...]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    done = subprocess.run([sys.executable, *arguments], cwd=ROOT, capture_output=True, text=True, check=False, env=env)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    if done.returncode not in allowed:
        raise SystemExit(f"{' '.join(arguments)} ended with {done.returncode}:\n{done.stdout}{done.stderr}")
    return seconds


def _compare(name: str, ours: list[str], bare: list[str]) -> None:
    for arguments in (ours, bare):
        _seconds(arguments, (0, 1))
    pairs = [(_seconds(ours, (0, 1)), _seconds(bare, (0, 1))) for _ in range(ROUNDS)]
    us, least = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"{name}")
    print(f"    ours  {us * 1000.0:7.1f} ms   {' '.join(ours)}")
    print(f"    least {least * 1000.0:7.1f} ms   {' '.join(bare)}")
    print(f"    ratio {us / least:7.2f}      medians of {ROUNDS}, turn about")


def main(jobs: list[str]) -> None:
    """Prints both comparisons."""
    _compare("help", ["-m", "planner", "--help"], ["-c", BARE_HELP])
    for job in jobs:
        _compare("check from cold", ["-m", "planner", "check", job], ["-c", LIBRARIES])


if __name__ == "__main__":
    main(sys.argv[1:] or _demo_jobs())
