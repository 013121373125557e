"""One desk for each test."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from planner.desk import frame
from tests.desk.desks import Asked, demo


@pytest.fixture
def asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Asked:
    """A desk over a copy of the demo on the evening before its first day, with an archive of its own."""
    monkeypatch.setattr(frame, "today", lambda: datetime.date(2026, 6, 8))
    monkeypatch.setenv("PLANNER_ARCHIVE", f"{tmp_path / 'archive.db'}")
    return demo(tmp_path)
