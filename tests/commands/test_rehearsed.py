"""A procedure that fails its rehearsal is our own mistake: its packet is kept back, the rest of the day is unharmed."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from planner.cli import main
from planner.days import rehearsing
from planner.rehearsal.breach import Breach
from planner.rehearsal.ending import day as rehearsed_day
from planner.rehearsal.play import rehearse
from tests import workspaces

DEMO = Path(__file__).parents[2] / "jobs"


@pytest.fixture
def day(tmp_path: Path) -> Path:
    """The demo's first day: two jobs to do, one held."""
    shutil.copytree(DEMO, tmp_path / "jobs")
    return tmp_path / "jobs" / "2026-06-09"


@pytest.fixture
def refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """The rehearsal finds something wrong with every roof."""
    play = rehearse

    def found(setting: Any, procedure: Any) -> tuple[Breach, ...]:
        if "ridge" in setting.runs:
            return (Breach(rule="clean", act="a.8", state="roof mix holds bleach, and the line is to be tested"),)
        return play(setting, procedure)

    monkeypatch.setattr(rehearsing, "rehearse", found)


def test_a_job_whose_acts_breach_a_rule_is_not_printed_and_the_others_are(
    day: Path, tmp_path: Path, refused: None, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["packet", str(day), "-o", str(tmp_path / "out")]) == 3
    printed = {path.name for path in (tmp_path / "out" / "2026-06-09").iterdir()}
    assert printed == {"00-day.pdf", "10-millrace.pdf", "30-kiln.pdf"}
    told = capsys.readouterr().err
    assert "the steps of 2026-06-09/20-granary failed their rehearsal" in told
    assert "Step a.8: roof mix holds bleach" in told
    log = Path(told.rsplit("The details are in ", 1)[1].split("\n", 1)[0].strip())
    assert "2026-06-09/20-granary" in log.read_text(encoding="utf-8")
    log.unlink()


@pytest.mark.ci
def test_a_packet_printed_before_is_put_aside_and_the_day_s_cover_holds_the_job(
    day: Path, tmp_path: Path, refused: None, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out" / "2026-06-09"
    out.mkdir(parents=True)
    (out / "20-granary.pdf").write_bytes(b"printed before")
    assert main(["packet", str(day), "-o", str(tmp_path / "out")]) == 3
    assert not (out / "20-granary.pdf").exists()
    assert (out / "20-granary-before.pdf").read_bytes() == b"printed before"
    assert "Do not work from the packet printed before" in capsys.readouterr().err
    cover = "".join(page.extract_text() for page in PdfReader(out / "00-day.pdf").pages)
    assert "its steps failed our rehearsal" in " ".join(cover.split())


@pytest.mark.ci
def test_each_job_is_held_against_the_whole_day_before_it(
    day: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    seen: list[list[str]] = []
    real = rehearsed_day

    def noted(procedures: Any) -> Any:
        seen.append(list(procedures))
        return real(procedures)

    monkeypatch.setattr(rehearsing, "day", noted)
    kiln = day / "30-kiln.yaml"
    kiln.unlink()
    shutil.copyfile(day / "10-millrace.yaml", kiln)
    main(["check", str(day), "--json"])
    assert [name.rsplit("/", 1)[1] for name in seen[-1]] == ["10-millrace", "20-granary", "30-kiln"]


@pytest.mark.ci
def test_check_names_the_breach_and_keeps_the_verdict(
    day: Path, refused: None, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(day), "--json"]) == 3
    jobs = {job["id"].rsplit("/", 1)[1]: job for job in json.loads(capsys.readouterr().out)["jobs"]}
    roof = jobs["20-granary"]
    assert roof["procedure"]["breaches"] == [
        {"rule": "clean", "act": "a.8", "state": "roof mix holds bleach, and the line is to be tested"}
    ]
    assert roof["verdict"] == "caution"
    assert jobs["10-millrace"]["procedure"]["breaches"] == []


@pytest.mark.ci
def test_a_held_job_has_no_acts_and_says_what_holds_it(day: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(day), "--json"]) == 1
    jobs = {job["id"].rsplit("/", 1)[1]: job for job in json.loads(capsys.readouterr().out)["jobs"]}
    assert jobs["30-kiln"]["procedure"]["held"] == ["mix.reaction"]
    assert jobs["30-kiln"]["procedure"]["acts"] == []
    assert jobs["10-millrace"]["procedure"]["held"] == []
    assert jobs["10-millrace"]["procedure"]["acts"]


@pytest.mark.ci
def test_a_job_that_cannot_be_read_is_its_own_fault_and_no_mistake_of_ours_in_the_jobs_behind_it(
    day: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = day.parent / "2026-06-10" / "10-slipway.yaml"
    broken.write_text(broken.read_text(encoding="utf-8") + "zzz: 1\n", encoding="utf-8")
    assert main(["check", str(broken.parent)]) == 2
    told = capsys.readouterr()
    assert "`zzz` is not a key of a job" in told.out + told.err
    assert "failed their rehearsal" not in told.out + told.err


@pytest.mark.ci
def test_what_was_printed_beside_a_packet_that_changes_is_put_aside_unless_it_is_printed_anew(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PLANNER_ARCHIVE", "")
    files, out = workspaces.base(), tmp_path / "out" / "2026-06-09"
    job, told = workspaces.write(tmp_path / "work", files), ["-o", str(tmp_path / "out")]

    def names() -> set[str]:
        return {path.name for path in out.iterdir()}

    main(["packet", str(job), "--notice", "--owner", "--html", *told])
    whole = {f"10-case{end}" for end in (".pdf", ".html", "-owner.pdf", "-owner.html", "-notice.pdf")}
    assert names() == whole
    # The same plan again: what is not asked for anew is as good as it was.
    main(["packet", str(job), "--notice", *told])
    assert names() == whole
    workspaces.write(tmp_path / "work", workspaces.merged(files, {"job": {"surfaces": {0: {"area": "900 ft2"}}}}))
    capsys.readouterr()
    main(["packet", str(job), "--owner", *told])
    assert names() == {f"10-case{end}" for end in (
        ".pdf", "-owner.pdf", "-before.html", "-owner-before.html", "-notice-before.pdf")}  # fmt: skip
    assert capsys.readouterr().err.count("Do not work from the packet printed before") == 3
