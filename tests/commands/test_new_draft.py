"""What was answered and not yet written: kept, offered again, and never died of."""

from __future__ import annotations

import builtins
import io
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.inputs.workspace import load
from planner.interview import draft as new_draft
from tests.commands.asked import ANSWERS, DAY, JOB, as_written, new


@pytest.mark.parametrize(
    ("many", "how"),
    [
        (many, how) if (many, how) == (7, EOFError)
        else pytest.param(many, how, marks=pytest.mark.ci)
        for many in (1, 7, 20, len(ANSWERS)) for how in ("stop", "end", EOFError, KeyboardInterrupt)
    ],
)  # fmt: skip
@pytest.mark.ci
def test_what_was_answered_is_kept_and_gone_on_from(
    many: int, how: Any, demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    given = list(ANSWERS[:many])
    if isinstance(how, str):
        code = new(f"{DAY}/50-alder", [*given, *(["stop"] if how == "stop" else [])], monkeypatch)
        if how == "end" and many == len(ANSWERS):
            assert code == 0, "everything was said, so it is written"
            return
        assert code == (0 if how == "stop" else 2)
    else:
        waiting = iter(given)

        def typed(prompt: str = "") -> str:
            try:
                return next(waiting)
            except StopIteration:
                raise how from None

        with monkeypatch.context() as patch:
            patch.setattr(builtins, "input", typed)
            patch.setattr("sys.stdin", type("Terminal", (io.StringIO,), {"isatty": lambda self: True})())
            assert main(["new", f"{DAY}/50-alder"]) == 0
    said = capsys.readouterr().out
    assert f"planner new {DAY}/50-alder" in said
    assert not (demo / DAY / "50-alder.yaml").exists()
    assert main(["check", DAY]) in (0, 1), "a draft is no job of its day"
    assert new(f"{DAY}/50-alder", ["yes", *ANSWERS[many:], "y"], monkeypatch) == 0
    assert as_written(demo / DAY / "50-alder.yaml") == JOB
    assert not (demo / DAY / "50-alder.draft").exists()


@pytest.mark.ci
def test_a_draft_may_be_left_and_is_still_kept(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    new(f"{DAY}/50-alder", ["Another job", "stop"], monkeypatch)
    assert new(f"{DAY}/50-alder", ["no", *ANSWERS, "y"], monkeypatch) == 0
    assert as_written(demo / DAY / "50-alder.yaml") == JOB
    assert "Another job" in (demo / DAY / "50-alder.old1.draft").read_text(encoding="utf-8")


def test_a_draft_for_a_day_still_to_be_made_makes_no_empty_day(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    new("2026-06-12/alder", ["2", "stop"], monkeypatch)
    assert not (demo / "2026-06-12").exists()
    assert (demo / "2026-06-12-alder.draft").exists()
    assert load([demo]).faults == ()


def test_stopping_before_a_draft_is_taken_up_leaves_it(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    new(f"{DAY}/50-alder", ["Another job", "stop"], monkeypatch)
    kept = (demo / DAY / "50-alder.draft").read_bytes()
    assert new(f"{DAY}/50-alder", ["stop"], monkeypatch) == 0
    assert "stays as it is" in capsys.readouterr().out
    assert (demo / DAY / "50-alder.draft").read_bytes() == kept


@pytest.mark.ci
def test_a_damaged_draft_is_put_aside_not_died_of(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (demo / DAY / "50-alder.draft").write_bytes(b"\xff{[")
    assert new(f"{DAY}/50-alder", [*ANSWERS, "y"], monkeypatch) == 0
    assert (demo / DAY / "50-alder.old1.draft").read_bytes() == b"\xff{["


def test_answers_nowhere_can_be_kept_are_printed(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(new_draft, "write_whole", full)
    assert new(f"{DAY}/50-alder", [*ANSWERS, "y"], monkeypatch) == 2
    told = capsys.readouterr().err
    assert "new.unwritable" in told
    assert '"address": "14 Alder Lane"' in told
    assert not (demo / DAY / "50-alder.yaml").exists()


def test_the_answers_told_of_are_those_the_draft_holds(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    new(f"{DAY}/50-alder", [*ANSWERS[:7], "back", "stop"], monkeypatch)
    assert "; 7 answers are kept in" in capsys.readouterr().out
    draft = (demo / DAY / "50-alder.draft").read_text(encoding="utf-8")
    assert sum(not line.startswith("#") for line in draft.splitlines()) == 7
