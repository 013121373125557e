"""What a season costs to plan and print, by one core and by all, turn about: 75 packets and 50 covers.

Run by hand: python tests/bench/bench_printing.py [rounds].  Seconds on the wall want a machine with nothing else to do.
"""

from __future__ import annotations

import datetime
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DAYS, FIRST = 50, datetime.date(2026, 6, 9)
PACKETS = DAYS + DAYS // 2


def season(folder: Path) -> Path:
    """One job and two jobs a day by turns, each at an address of its own, from a shelf that does not run out."""
    shutil.copytree(ROOT / "jobs", folder, ignore=shutil.ignore_patterns("20*", "archive.db*", ".schema"))
    stock = (folder / "stock.yaml").read_text(encoding="utf-8")
    (folder / "stock.yaml").write_text(
        re.sub(r"on_hand: [0-9.]+ (gal|lb)", r"on_hand: 900 \1", stock), encoding="utf-8"
    )
    for number in range(DAYS):
        day = folder / (FIRST + datetime.timedelta(days=number)).isoformat()
        left = ["30-*", *(["20-*"] if number % 2 else [])]
        shutil.copytree(ROOT / "jobs" / FIRST.isoformat(), day, ignore=shutil.ignore_patterns("*.record*", *left))
        page = (day / "day.yaml").read_text(encoding="utf-8")
        page = re.sub(r"heels:.*\n.*\n", "", page)
        (day / "day.yaml").write_text(re.sub(r"drive:.*\n", "", page), encoding="utf-8")
        for path in day.glob("[0-9]*.yaml"):
            text = re.sub(r"address: [^,}]*", f"address: {number + 1} Street{number}x Way", path.read_text("utf-8"))
            path.write_text(re.sub("(?i)millrace|granary", f"Other{number}", text), encoding="utf-8")
    return folder


def seconds(folder: Path, cores: set[int]) -> float:
    """One run of the command from cold, on these cores."""
    (folder / "archive.db").unlink(missing_ok=True)
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "planner", "packet", str(folder), "-o", str(folder / "out")], check=True, cwd=ROOT,
        env={**env, "PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL,
        preexec_fn=lambda: os.sched_setaffinity(0, cores),
    )  # fmt: skip
    return time.perf_counter() - start


def main(rounds: int) -> None:
    """Print both, what they make a second, and their ratio in pairs."""
    every = os.sched_getaffinity(0)
    with tempfile.TemporaryDirectory() as made:
        folder = season(Path(made) / "season")
        pairs = [(seconds(folder, {min(every)}), seconds(folder, every)) for _ in range(rounds)]
    one, all_cores = (statistics.median(pair[n] for pair in pairs) for n in (0, 1))
    print(f"{PACKETS} packets and {DAYS} covers: {one:.1f} s by one core, {all_cores:.1f} s by {len(every)}")
    print(f"{PACKETS / all_cores:.1f} packets a second, {(PACKETS + DAYS) / all_cores:.1f} with their covers")
    print(f"{statistics.median(first / then for first, then in pairs):.2f} times as fast, median of {rounds} pairs")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
