"""What every test shares: an archive of its own, so that printing the demo leaves nothing in `jobs/`."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator

import pytest

# Pages are trees of small things: looking through all of them for cycles every 700 new ones takes time and frees little.
gc.set_threshold(100_000, 20, 50)


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
