"""Another program changes a file in the last moment before it is saved: its text stays, and that is said."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from planner import writing
from planner.desk import files
from planner.desk.places import order
from tests.desk.desks import Asked, words

pytestmark = pytest.mark.ci
JOB, DAY = "2026-06-09/10-millrace.yaml", "2026-06-10"


def another_first(patched: pytest.MonkeyPatch, module: Any, theirs: str) -> None:
    """Another program puts `theirs` under a file after it was looked at, before it is written."""

    def write(target: Path, *rest: Any, **more: Any) -> None:
        target.write_text(theirs, encoding="utf-8")
        writing.write_whole(target, *rest, **more)

    patched.setattr(module, "write_whole", write)


def test_a_save_never_goes_over_what_came_in_the_last_moment(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    theirs = asked.text(JOB) + "# of another program\n"
    with monkeypatch.context() as patched:
        another_first(patched, files, theirs)
        found = asked.edit(JOB, v={"building.height": "28 ft"}, save="yes")
    assert found.status_code == 409
    assert asked.text(JOB) == theirs
    assert "Another program changed this file while you did." in words(asked.get(f"/job/{asked.id(JOB)}"))


def test_an_order_never_goes_over_what_came_in_the_last_moment(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    names = sorted(path.name for path in (asked.folder / DAY).iterdir())
    theirs = asked.text(f"{DAY}/day.yaml") + "# of another program\n"
    with monkeypatch.context() as patched:
        another_first(patched, order, theirs)
        asked.post(f"/order/{asked.id(DAY)}", {"do": f"up {asked.id(f'{DAY}/20-millrace-mid.yaml')}"}, script=False)
    assert asked.text(f"{DAY}/day.yaml") == theirs
    assert sorted(path.name for path in (asked.folder / DAY).iterdir()) == names


def test_of_two_that_save_at_one_instant_one_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both would find the file as it was, were they let look together."""
    real, met, path = writing._still, threading.Barrier(2), tmp_path / "10-job.yaml"
    path.write_bytes(b"job: Was\n")

    def slow(target: Path, was: bytes) -> bool:
        same = real(target, was)
        with suppress(threading.BrokenBarrierError):
            met.wait(0.3)
        return same

    def save(text: bytes) -> bool:
        try:
            writing.write_whole(path, text, was=b"job: Was\n")
        except writing.FileChanged:
            return False
        return True

    monkeypatch.setattr(writing, "_still", slow)
    texts = [b"job: Mine\n", b"job: Theirs\n"]
    with ThreadPoolExecutor(2) as both:
        saved = list(both.map(save, texts))
    assert sorted(saved) == [False, True]
    assert path.read_bytes() == texts[saved.index(True)]
