"""One desk for each test."""

from __future__ import annotations

import datetime
import os
import shutil
from pathlib import Path

import pytest

from planner import locate
from planner.cli import main
from planner.desk import frame
from tests.desk.desks import Asked, demo, over


@pytest.fixture
def asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Asked:
    """A desk over a copy of the demo on the evening before its first day, with an archive of its own."""
    monkeypatch.setattr(frame, "today", lambda: datetime.date(2026, 6, 8))
    monkeypatch.setenv("PLANNER_ARCHIVE", f"{tmp_path / 'archive.db'}")
    return demo(tmp_path)


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with its first day printed and archived, made once."""
    folder = tmp_path_factory.mktemp("printed")
    shutil.copytree(locate.jobs(), folder / "jobs", ignore=shutil.ignore_patterns("*.db*", ".planner-*"))
    before = os.environ.get("PLANNER_ARCHIVE")
    os.environ["PLANNER_ARCHIVE"] = str(folder / "archive.db")
    try:
        assert main(["packet", str(folder / "jobs" / "2026-06-09"), "-o", str(folder / "out")]) == 1
    finally:
        os.environ["PLANNER_ARCHIVE"] = before or ""
    return folder


@pytest.fixture
def desk(once: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Asked:
    """A desk over that demo."""
    return over(once, tmp_path / "own", monkeypatch)
