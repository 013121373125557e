"""Workspaces for the tests of commands: the demo, and one job planned, printed and archived once."""

from __future__ import annotations

import builtins
import io
import os
import shutil
import sys
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.commands.start import copy_demo
from tests import workspaces
from tests.commands.recording import CHEMICALS, WHOLE, yaml


@pytest.fixture
def own_archive(monkeypatch: pytest.MonkeyPatch) -> None:
    """The archive beside the workspace, as with an owner."""
    monkeypatch.delenv("PLANNER_ARCHIVE")


@pytest.fixture
def demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo as a workspace of the test's own, and the folder we stand in."""
    folder = tmp_path / "ws"
    copy_demo(folder)
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture(scope="session")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace of one job with one run, one mix and one side, in `ws`; its packet printed into `out`."""
    folder = tmp_path_factory.mktemp("once")
    job = workspaces.write(folder / "ws", workspaces.merged(workspaces.base(), CHEMICALS))
    apart = os.environ.pop("PLANNER_ARCHIVE")
    try:
        assert main(["packet", str(job), "-o", str(folder / "out")]) in (0, 1)
    finally:
        os.environ["PLANNER_ARCHIVE"] = apart
    return folder


@pytest.fixture
def job(once: Path, tmp_path: Path) -> Path:
    """The job in a workspace of the test's own, nothing archived yet."""
    shutil.copytree(once / "ws", tmp_path / "ws", ignore=shutil.ignore_patterns("archive.db"))
    return tmp_path / "ws" / "2026-06-09" / "10-case.yaml"


@pytest.fixture
def printed(once: Path, job: Path, tmp_path: Path) -> Path:
    """The job's packet, printed and archived."""
    shutil.copytree(once / "out", tmp_path / "out")
    shutil.copy(once / "ws" / "archive.db", tmp_path / "ws" / "archive.db")
    return tmp_path / "out" / "2026-06-09" / "10-case.pdf"


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> Any:
    """A terminal at which these answers are typed, by what the question begins with; everything else is Enter."""

    def at(answers: dict[str, list[str | type[BaseException]]]) -> list[str]:
        waiting = {start: list(texts) for start, texts in answers.items()}
        asked: list[str] = []

        def answer(prompt: str = "") -> str:
            asked.append(prompt)
            for start, texts in waiting.items():
                if prompt.startswith(start) and texts:
                    text = texts.pop(0)
                    if isinstance(text, str):
                        return text
                    raise text
            return ""

        monkeypatch.setattr(builtins, "input", answer)
        monkeypatch.setattr(sys, "stdin", Terminal())
        return asked

    return at


@pytest.fixture
def whole(job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """The job with a whole record, its first revision."""
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    capsys.readouterr()
    return job
