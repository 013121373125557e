"""The desk: how soon a verdict is there, on the demo's day and on one of eight jobs, and memory over many edits.

In a real browser where chromium and Playwright are there: from the end of the pause behind the last key to the swapped
answer, the whole way round. Else the server alone, by its test client. The aims: the verdict at most 300 ms at the 95th of
100 edits, remedies at most 700 ms, memory flat and under 150 MB.

Run by hand: python tests/bench/bench_desk.py [edits of the memory run].  Wall times of this machine; nothing is asserted.
"""

from __future__ import annotations

import datetime
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import pytest

from planner import locate
from planner.desk import frame
from tests.desk.browser.conftest import EVENING_BEFORE
from tests.desk.desks import Asked, on_a_day

DAY = "2026-06-09"
JOB = f"{DAY}/10-millrace.yaml"
EDITS = 100
PAUSE_MS = 150.0


def _workspace(folder: Path, jobs: int) -> Path:
    """A copy of the demo whose first day has so many jobs."""
    shutil.copytree(locate.jobs(), folder / "jobs", ignore=shutil.ignore_patterns("*.db*", ".planner-*"))
    day = folder / "jobs" / DAY
    shutil.rmtree(folder / "jobs" / "2026-06-10")
    page = (day / "day.yaml").read_text(encoding="utf-8")
    for n in range(jobs - 3):
        text = (day / "10-millrace.yaml").read_text(encoding="utf-8").replace("3 Millrace", f"{n + 20} Millrace")
        (day / f"{40 + n}-more.yaml").write_text(text, encoding="utf-8")
        page = page.replace("home: 25 min", f"{40 + n}-more: 5 min, home: 25 min")
    (day / "day.yaml").write_text(page, encoding="utf-8")
    return folder / "jobs"


def _told(name: str, times: list[float]) -> None:
    times.sort()
    print(
        f"  {name}: median {statistics.median(times):.0f}, 95th {times[int(0.95 * len(times))]:.0f}, worst {times[-1]:.0f} ms"
    )


def _heights() -> list[str]:
    return [f"{20 + n % 25} ft" for n in range(EDITS)]


def _server(folder: Path) -> None:
    asked = Asked(folder)
    asked.get(f"/job/{asked.id(JOB)}")
    first, second = [], []
    for height in _heights():
        start = time.perf_counter()
        assert asked.edit(JOB, v={"building.height": height}, typing="yes").status_code == 200
        first.append(1e3 * (time.perf_counter() - start))
        start = time.perf_counter()
        assert asked.post(f"/cures/{asked.id(JOB)}").status_code == 200
        second.append(1e3 * (time.perf_counter() - start))
    _told("server, verdict", first)
    _told("server, remedies", second)


def _browser(folder: Path) -> None:
    try:
        from playwright.sync_api import sync_playwright
    except ModuleNotFoundError:
        print("  Playwright is not installed: the server alone")
        return
    chromium = os.environ.get("PLANNER_TEST_CHROMIUM") or shutil.which("chromium")
    if chromium is None:
        print("  no chromium is installed: the server alone")
        return
    call = [sys.executable, "-c", EVENING_BEFORE, "desk", str(folder), "--no-open"]
    env = {**os.environ, "PYTHONUNBUFFERED": "1", "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    server = subprocess.Popen(call, stdout=subprocess.PIPE, text=True, env=env)
    try:
        assert server.stdout is not None
        address = next(line.strip() for line in server.stdout if "http://" in line)
        with sync_playwright() as running:
            browser = running.chromium.launch(
                executable_path=chromium, args=["--no-sandbox"] if os.geteuid() == 0 else []
            )
            page = browser.new_context(bypass_csp=True).new_page()
            page.goto(address)
            page.locator("#rail").get_by_role("link", name="Millrace Row, end").first.click()
            _told("browser, verdict", [_swapped(page, height) for height in _heights()])
            browser.close()
    finally:
        server.terminate()
        server.wait(10)


_WAIT = """(height) => new Promise((done) => {
  const box = document.querySelector('[name="v:building.height"]'), start = performance.now();
  const seen = new MutationObserver(() => {
    if (!document.getElementById('answer') || document.getElementById('answer') === was) return;
    seen.disconnect(); requestAnimationFrame(() => done(performance.now() - start));
  });
  const was = document.getElementById('answer');
  seen.observe(document.body, { childList: true, subtree: true });
  box.focus(); box.value = height; box.dispatchEvent(new Event('input', { bubbles: true }));
})"""


def _swapped(page: Any, height: str) -> float:
    """From the end of the pause behind a key to the swapped answer [ms]."""
    found = float(page.evaluate(_WAIT, height)) - PAUSE_MS
    page.wait_for_function("() => !document.querySelector('.waits')")
    return found


def _resident() -> float:
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return next(float(line.split()[1]) / 1024 for line in status.splitlines() if line.startswith("VmRSS"))


def _memory(folder: Path, edits: int) -> None:
    asked, held = Asked(folder), list[float]()
    for n in range(edits):
        asked.edit(JOB, v={"building.height": f"{20 + n % 25} ft"})
        if n % max(edits // 5, 1) == 0:
            asked.post(f"/cures/{asked.id(JOB)}")
            held.append(_resident())
    print(f"  memory over {edits} edits: {', '.join(f'{one:.0f}' for one in [*held, _resident()])} MB")


def main() -> None:
    edits = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    patch = pytest.MonkeyPatch()  # a day that is past draws and promises nothing
    on_a_day(patch, 2026, 6, 8)
    patch.setattr(frame, "today", lambda: datetime.date(2026, 6, 8))
    for jobs in (3, 8):
        with tempfile.TemporaryDirectory() as folder:
            os.environ["PLANNER_ARCHIVE"] = f"{folder}/archive.db"
            workspace = _workspace(Path(folder), jobs)
            print(f"a day of {jobs} jobs, {EDITS} edits")
            _server(workspace)
            _browser(workspace)
            if jobs == 3:
                _memory(workspace, edits)


if __name__ == "__main__":
    main()
