"""A record taken in question by question, at a terminal."""

from __future__ import annotations

import builtins
import io
import os
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.archive.kept import store
from planner.archive.kept.refused import refused
from planner.cli import main
from planner.recording import drafts as record_drafts
from planner.units import read
from planner.writing import write_whole
from tests.commands.recording import WHOLE, fill, records, rows, yaml

pytestmark = pytest.mark.usefixtures("own_archive")


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> Callable[[dict[str, list[str] | type[BaseException]]], list[str]]:
    """A terminal at which these answers are typed, by what the question begins with; everything else is left blank."""

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    asked: list[str] = []

    def at(answers: dict[str, list[str] | type[BaseException]]) -> list[str]:
        waiting = {start: list(texts) if isinstance(texts, list) else texts for start, texts in answers.items()}

        def answer(prompt: str = "") -> str:
            asked.append(prompt)
            for start, texts in waiting.items():
                if prompt.startswith(start):
                    if not isinstance(texts, list):
                        raise texts
                    return texts.pop(0) if texts else ""
            return ""

        monkeypatch.setattr(builtins, "input", answer)
        monkeypatch.setattr(sys, "stdin", Terminal())
        return asked

    return at


@pytest.mark.ci
def test_questions_show_what_was_planned_and_ask_again_until_an_answer_can_be_read(
    job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = typed(
        {"Arrived": ["quarter past", "08:15"], "Water in all": ["240"], "front: bucket": ["38"], "Signed": ["Ana"]}
    )
    assert main(["record", str(job)]) == 0
    said = capsys.readouterr().out
    assert "is not a time of day" in said
    assert sum(prompt.startswith("Arrived") for prompt in asked) == 2
    (gauge,) = [prompt for prompt in asked if prompt.startswith("front: gauge open")]
    assert "planned" in gauge
    assert "[psi]" in gauge
    assert any(prompt.startswith("Keep these 4 answers") for prompt in asked)
    (done,) = records(job)
    assert done["times"]["arrived_s"] == 29700.0
    assert done["readings"][0]["bucket_s"] == 38.0
    assert done["water"]["used_m3"] == pytest.approx(read("240 gal", "volume"))
    assert done["signed"] == "Ana"
    assert main(["record", str(job)]) == 0, "nothing written at all is nothing kept"


@pytest.mark.ci
@pytest.mark.parametrize("then", [EOFError, KeyboardInterrupt])
def test_questions_broken_off_keep_the_answers_as_a_draft(
    then: type[BaseException], job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    typed({"Arrived": ["08:15"], "Water in all": KeyboardInterrupt, "Keep": then})
    assert main(["record", str(job)]) == 0
    assert records(job) == []
    draft = job.with_name("10-case.record.draft.yaml")
    assert 'arrived: "08:15"' in draft.read_text(encoding="utf-8")
    assert main(["record", str(job), "--from", str(draft)]) == 0
    assert len(records(job)) == 1


@pytest.mark.ci
def test_answers_the_archive_does_not_take_are_kept_as_a_draft(
    job: Path, printed: Path, typed: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(*_: object, **__: object) -> None:
        raise refused("full", "archive.db", "there is no room left for the archive", "make room")

    monkeypatch.setattr(store, "keep_record", full)
    typed({"Arrived": ["08:15"]})
    assert main(["record", str(job)]) == 2
    told = capsys.readouterr().err
    assert "archive.full" in told
    assert "10-case.record.draft.yaml" in told
    assert 'arrived: "08:15"' in job.with_name("10-case.record.draft.yaml").read_text(encoding="utf-8")


@pytest.mark.ci
def test_a_draft_that_finds_no_room_beside_job_or_packet_lies_where_the_command_was_called(
    job: Path, printed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"water.used": "240", "times.arrived": "early"})
    write, here = write_whole, tmp_path / "here"

    def not_there(path: Path, content: bytes) -> None:
        if path.parent in (job.parent, filled.parent):
            raise PermissionError(13, "Permission denied")
        write(path, content)

    here.mkdir()
    monkeypatch.chdir(here)
    monkeypatch.setattr(record_drafts, "write_whole", not_there)
    assert main(["record", str(job), "--from", str(filled)]) == 2
    assert "record.unwritable" not in capsys.readouterr().err
    assert 'used: "240 gal"' in (here / "filled.record.draft.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize("rest", ["", "plan: aaaa-0001\n", "date: 2026-06-09\ntimes: {}\n", "deviations: ' '\n"])
def test_a_record_that_says_nothing_does_not_go_before_one_that_does(
    rest: str, job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    assert main(["record", str(job), "--from", yaml(tmp_path, f"job: 10-case\n{rest}")]) == 2
    assert capsys.readouterr().err
    assert len(records(job)) == 1


def test_times_that_run_backward_are_kept_with_a_word_about_the_clock(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = "job: 10-case\ntimes: {arrived: 08:40, left: 01:15}\n"
    assert main(["record", str(job), "--from", yaml(tmp_path, text)]) == 0
    assert "left 1:15" in capsys.readouterr().err
    assert main(["record", str(job), "--from", yaml(tmp_path, text.replace("01:15", "13:15"))]) == 0
    assert capsys.readouterr().err == ""


@pytest.mark.ci
def test_without_a_number_a_record_is_held_against_what_was_printed_last(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first, as_it_was = rows(job, "plans")[0]["number"], job.read_text(encoding="utf-8")
    out = ["-o", str(tmp_path / "again")]
    job.write_text(re.sub(r"uphill: \S+ ft", "uphill: 2 ft", as_it_was), encoding="utf-8")
    main(["packet", str(job), *out])
    job.write_text(as_it_was, encoding="utf-8")
    main(["packet", str(job), *out])
    assert len({row["number"] for row in rows(job, "plans")}) == 2
    capsys.readouterr()
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    assert f"against plan {first}" in capsys.readouterr().out


@pytest.mark.parametrize("name", ["", "/", ".", ".."])
def test_a_path_that_names_no_job_is_a_fault(
    name: str, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(job.parent)
    assert main(["record", name, "--from", yaml(tmp_path, WHOLE)]) == 2
    assert "file.kind" in capsys.readouterr().err


def test_without_a_file_and_without_a_terminal_there_is_nothing_to_read(
    job: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    assert main(["record", str(job)]) == 2
    assert "--from" in capsys.readouterr().err
    assert not (job.parents[1] / "archive.db").exists()


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"%PDF-1.4\nnothing", b"just words", None])
def test_what_is_neither_packet_nor_record_is_a_fault(
    content: bytes | None, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "odd"
    if content is not None:
        path.write_bytes(content)
    assert main(["record", str(job), "--from", str(path)]) == 2
    told = capsys.readouterr().err
    assert "odd" in told
    assert "Sorry" not in told


@pytest.mark.parametrize("content", [b"\xff\xd8\xff\xe0\x00\x10JFIF\x00", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"])
def test_a_picture_is_told_from_a_text_in_another_encoding(
    content: bytes, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "done.jpg").write_bytes(content)
    assert main(["record", str(job), "--from", str(tmp_path / "done.jpg")]) == 2
    told = capsys.readouterr().err
    assert "record.kind" in told
    assert "UTF-8" not in told
    (tmp_path / "done.yaml").write_text("job: caf\u00e9\n", encoding="latin-1")
    assert main(["record", str(job), "--from", str(tmp_path / "done.yaml")]) == 2
    assert "save the file as UTF-8" in capsys.readouterr().err


@pytest.mark.ci
def test_a_damaged_archive_stops_a_record_but_never_the_printing(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    archive = job.parents[1] / "archive.db"
    archive.write_bytes(b"a letter")
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 2
    told = capsys.readouterr().err
    assert "archive.foreign" in told
    assert "name another place in company.yaml" in told
    filled = fill(printed, {"water.used": "240"})
    assert main(["record", str(job), "--from", str(filled)]) == 2
    assert job.with_name("10-case.record.draft.yaml").exists(), "nothing that was written down is lost"
    capsys.readouterr()
    again = main(["packet", str(job), "-o", str(tmp_path / "again")])
    said = capsys.readouterr()
    assert again in (0, 1)
    assert said.err.count("\n") == 2, "one line for what could not be read back, one for what could not be kept"
    assert "printed, but not archived" in said.err
    assert (tmp_path / "again" / "2026-06-09" / "10-case.pdf").exists()
    assert archive.read_bytes() == b"a letter"


@pytest.mark.ci
def test_the_company_or_the_environment_says_where_the_archive_is(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    company = job.parents[1] / "company.yaml"
    company.write_text(company.read_text(encoding="utf-8") + "archive: sqlite:///own.db\n", encoding="utf-8")
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    assert (job.parents[1] / "own.db").exists()
    monkeypatch.setenv("PLANNER_ARCHIVE", str(tmp_path / "apart.db"))
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    assert (tmp_path / "apart.db").exists()
    assert "revision 1" in capsys.readouterr().out.splitlines()[-2], "an archive of its own"
    (tmp_path / "apart.db").write_bytes(b"a letter")
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 2
    assert "name another place in PLANNER_ARCHIVE" in capsys.readouterr().err
    monkeypatch.setenv("PLANNER_ARCHIVE", "odd://place")
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 2
    assert "`PLANNER_ARCHIVE` holds an address of the kind" in capsys.readouterr().err
    assert not (job.parents[1] / "archive.db").exists()


@pytest.mark.ci
def test_an_archive_goes_out_comes_in_and_is_copied_by_command(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["record", str(job), "--from", yaml(tmp_path, WHOLE)])
    monkeypatch.chdir(job.parent)
    assert main(["archive", "export", str(tmp_path / "kept")]) == 0
    assert main(["archive", "export", str(tmp_path / "kept")]) == 2, "never over anything"
    assert main(["archive", "copy", str(tmp_path / "copy.db")]) == 0
    other = tmp_path / "other"
    other.mkdir()
    (other / "company.yaml").write_text("name: Other\n", encoding="utf-8")
    assert main(["archive", "export", str(tmp_path / "none"), "--workspace", str(other)]) == 2
    assert main(["archive", "import", str(tmp_path / "kept"), "--workspace", str(other)]) == 0
    assert "1 plan, 1 record new" in capsys.readouterr().out
    assert set(os.listdir(other)) == {"company.yaml", "archive.db"}
    lines = tmp_path / "kept" / "records.json"
    changed = lines.read_text(encoding="utf-8").replace('"revision":1', '"revision":"1"')
    lines.write_text(changed, encoding="utf-8")
    assert main(["archive", "import", str(tmp_path / "kept"), "--workspace", str(other)]) == 2
    assert main(["archive", "export", "x", "--workspace", str(tmp_path)]) == 2
    told = capsys.readouterr().err
    assert "archive.torn" in told
    assert "workspace.missing" in told
