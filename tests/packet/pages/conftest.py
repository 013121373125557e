"""The job that a plain house wash is counted by."""

from __future__ import annotations

import pytest

from planner.checks.model import CheckedJob
from tests import workspaces
from tests.packet.sections.said import alder_files


@pytest.fixture(scope="session")
def alder(tmp_path_factory: pytest.TempPathFactory) -> CheckedJob:
    return workspaces.checked(tmp_path_factory.mktemp("alder"), alder_files(), tables=True)
