"""What every test shares: the process it runs in, and an archive that leaves nothing in `jobs/`."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator
from typing import Any

import fluids  # noqa: F401 - whole, before the planner loads it without numpy: libraries beside it here want that
import pytest
from xdist.scheduler import LoadScopeScheduling

# Pages are trees of small things: to look through all of them for cycles every 700 new ones frees little.
gc.set_threshold(100_000, 20, 50)


class _ByFile(LoadScopeScheduling):  # type: ignore[misc]
    """A file's tests in one process, which prints once what they share; packets' in one, as they share across files."""

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


@pytest.fixture(autouse=True, scope="session")
def _compiled_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Programs that tests start find each other's bytecode, also where the machine keeps none beside the code."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        patch.setenv("PYTHONPYCACHEPREFIX", str(tmp_path_factory.mktemp("bytecode")))
        yield
