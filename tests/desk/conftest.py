"""One desk for each test."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.desk.desks import Asked, demo


@pytest.fixture
def asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Asked:
    """A desk over a copy of the demo, with an archive of its own."""
    monkeypatch.setenv("PLANNER_ARCHIVE", f"{tmp_path / 'archive.db'}")
    return demo(tmp_path)
