"""What looking back costs: `check` of one day, with and without thirty days of three jobs each behind it.

Run by hand: `python tests/bench/bench_days_before.py`. Ratios of CPU time of whole processes, interleaved, medians.
"""

from __future__ import annotations

import datetime
import os
import re
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

DAY = datetime.date(2026, 6, 9)
RUNS = 5
DONE = "job: {job}\nheels: {{roof mix: {{stock: water, volume: 1 gal}}, acid bucket: {{stock: water, volume: 1 gal}}}}\nflush: {{residual: 2 mg/L, ph: 7}}\n"


def cpu_of(folder: Path, *args: str) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, "-m", "planner", *args], cwd=folder, stdout=subprocess.DEVNULL,
                   stderr=subprocess.DEVNULL, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False)  # fmt: skip
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def workspace(folder: Path, days: int) -> Path:
    shutil.copytree(ROOT / "jobs", folder, ignore=shutil.ignore_patterns("2026-06-10", "archive.db*", ".schema"))
    for back in range(1, days + 1):
        name = (DAY - datetime.timedelta(days=back)).isoformat()
        shutil.copytree(folder / DAY.isoformat(), folder / name, ignore=shutil.ignore_patterns("*.record*"))
        for path in (folder / name).glob("[0-9]*.yaml"):
            text = re.sub(
                r"address: [^,}]*",
                f"address: {back} Street{'ABCDEFGH'[back % 8]}x Way",
                path.read_text(encoding="utf-8"),
            )
            text = re.sub("(?i)millrace|granary|kiln", f"Other{back}", text)
            path.write_text(text, encoding="utf-8")
    return folder


def recorded(folder: Path) -> Path:
    name = (DAY - datetime.timedelta(days=1)).isoformat()
    for path in sorted((folder / name).glob("[1-9]*.yaml")):
        done = folder / "done.txt"
        done.write_text(DONE.format(job=f"{name}/{path.stem}"), encoding="utf-8")
        subprocess.run([sys.executable, "-m", "planner", "record", str(path), "--from", str(done)], cwd=folder,
                       env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL, check=True)  # fmt: skip
        done.unlink()
    return folder


def main() -> None:
    with tempfile.TemporaryDirectory() as made:
        base = Path(made)
        folders = {
            "no earlier day": workspace(base / "none", 0),
            "30 days, yesterday on record": recorded(workspace(base / "told", 30)),
            "30 days, nothing on record": workspace(base / "plain", 30),
        }
        times: dict[str, list[float]] = {name: [] for name in folders}
        for _ in range(RUNS):
            for name, folder in folders.items():
                times[name].append(cpu_of(folder, "check", DAY.isoformat()))
        first = statistics.median(times["no earlier day"])
        for name, found in times.items():
            middle = statistics.median(found)
            print(f"{name:32} {middle:6.2f} s   {middle / first:5.2f}")


if __name__ == "__main__":
    main()
