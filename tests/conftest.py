"""What every test shares: the process it runs in, and an archive that leaves nothing in `jobs/`."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator
from typing import Any

import fluids  # noqa: F401 - whole, before the planner loads it without numpy: libraries beside it here want that
import pytest
from hypothesis import settings
from xdist.scheduler import LoadScopeScheduling

from tests import sampled

# Pages are trees of small things: to look through all of them for cycles every 700 new ones frees little.
gc.set_threshold(100_000, 20, 50)


class _ByFile(LoadScopeScheduling):  # type: ignore[misc]
    """A file's tests in one process, which prints once what they share; packets' in one, as they share across files."""

    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.partition("::")[0]
        return "tests/packet" if file.startswith("tests/packet/") else file


# Processes that the tests run in, and programs they start, keep the bytecode they made and find each other's, also where
# the machine is told to keep none: half of collecting is pytest's rewriting of our assertions, thrown away each time.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False


def pytest_configure(config: pytest.Config) -> None:
    sampled.asked = config.option.markexpr == "ci"
    settings.register_profile("sampled", max_examples=sampled.examples(100))
    settings.load_profile("sampled")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Property tests are of both runs: in CI they draw what they left out."""
    for item in items if sampled.asked else ():
        if getattr(getattr(item, "obj", None), "is_hypothesis_test", False) and not item.get_closest_marker("long"):
            item.add_marker(pytest.mark.ci)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish() -> None:
    """Pages that are kept to the end are not looked through for cycles five times over as pytest ends."""
    gc.freeze()


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
