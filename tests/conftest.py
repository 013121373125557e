"""What every test shares: an archive of its own, so that printing the demo leaves nothing in `jobs/`."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator
from typing import Any

import pytest
from xdist.scheduler import LoadScopeScheduling

# Pages are trees of small things: looking through all of them for cycles every 700 new ones takes time and frees little.
gc.set_threshold(100_000, 20, 50)


class _ByFile(LoadScopeScheduling):  # type: ignore[misc]
    """A file's tests in one process, which prints what they share once; packets' together, for they share across files."""

    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.partition("::")[0]
        return "tests/packet" if file.startswith("tests/packet/") else file


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling | None:
    return _ByFile(config, log) if config.getvalue("dist") == "loadscope" else None


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
