"""What every test shares: an archive of its own, so that printing the demo leaves nothing in `jobs/`."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest


@pytest.fixture(autouse=True, scope="session")
def _archive_apart(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Commands called by tests keep their results away from the demo workspace."""
    before = os.environ.get("PLANNER_ARCHIVE")
    os.environ["PLANNER_ARCHIVE"] = str(tmp_path_factory.mktemp("archive") / "archive.db")
    yield
    if before is None:
        del os.environ["PLANNER_ARCHIVE"]
    else:
        os.environ["PLANNER_ARCHIVE"] = before
