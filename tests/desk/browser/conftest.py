"""A real browser on a desk that runs: Debian's chromium, or the one PLANNER_TEST_CHROMIUM names; else skipped."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from planner import locate

CHROMIUM = os.environ.get("PLANNER_TEST_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
NOISE: tuple[str, ...] = ()
EVENING_BEFORE = """
import sys
import pytest
from planner.cli import main
from planner.desk import frame
from tests.desk.desks import on_a_day
patch = pytest.MonkeyPatch()
on_a_day(patch, 2026, 6, 8)
patch.setattr(frame, "today", lambda: __import__("datetime").date(2026, 6, 8))
raise SystemExit(main(sys.argv[1:]))
"""
"""The program on the evening before the demo's first day: by this machine's clock those days are past."""


def labeled(label: str) -> re.Pattern[str]:
    """A box of Done by its label, with its unit or without."""
    return re.compile(rf"^{re.escape(label)}( \[.*\])?$")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """One browser for all tests."""
    playwright = pytest.importorskip("playwright.sync_api")
    if CHROMIUM is None:
        pytest.skip("no chromium is installed")
    with playwright.sync_playwright() as running:
        args = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
        browser = running.chromium.launch(executable_path=CHROMIUM, args=args)
        yield browser
        browser.close()


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    """A copy of the demo."""
    shutil.copytree(locate.jobs(), tmp_path / "jobs", ignore=shutil.ignore_patterns("*.db*", ".planner-*"))
    return tmp_path / "jobs"


@pytest.fixture
def address(workspace: Path, tmp_path: Path) -> Iterator[str]:
    """A desk that runs over it: the address it printed."""
    environment = {**os.environ, "PLANNER_ARCHIVE": str(tmp_path / "archive.db"), "PYTHONUNBUFFERED": "1"}
    call = [sys.executable, "-c", EVENING_BEFORE, "desk", str(workspace), "--no-open"]
    server = subprocess.Popen(call, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        assert server.stdout is not None
        yield next(line.strip() for line in server.stdout if "http://" in line)
    finally:
        server.terminate()
        server.wait(10)


@pytest.fixture
def page(chromium: Any, address: str) -> Iterator[Any]:
    """A page on the desk, 1280 by 800. No request leaves the machine, and the console stays silent."""
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    found, said = context.new_page(), list[str]()
    away: list[str] = []

    def only_here(route: Any) -> None:
        if route.request.url.startswith(("http://127.0.0.1:", "data:")):
            route.continue_()
        else:
            away.append(route.request.url)
            route.abort()

    found.route("**", only_here)
    found.on("console", lambda message: said.append(message.text))
    found.on("pageerror", lambda error: said.append(str(error)))
    found.goto(address)
    yield found
    context.close()
    assert not away, f"requests left the machine: {away}"
    assert not [one for one in said if not one.startswith(NOISE)] if NOISE else not said, said
