"""Three jobs an owner remembers: fitted to the crew's own rates at once, and told on every packet."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from planner.archive.compare.learn import Remembered, remembered_in, with_remembered
from planner.archive.compare.pace import pace_of
from planner.cli import main
from planner.inputs.shelf import Desk
from tests.commands.asked import as_written
from tests.commands.test_new_rig import DAY, HARD, HOUSE, asked, bare

__all__ = ["bare"]

VINYL = [("A job you remember", "vinyl"), ("How much of it", "2000"), ("Minutes", "60"), ("Mix it took", "40")]


@pytest.mark.ci
def test_what_is_remembered_is_learned_and_the_packet_says_so(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    more = [("Another job you", "vinyl"), ("How much of it", "3000"), ("Minutes", "90"), ("Mix it took", "60")]
    asked("rigs/finch", [*HARD, *VINYL, *more], monkeypatch)
    said = capsys.readouterr().out
    learned = as_written(bare / "learned.yaml")
    assert learned["paces"]["vinyl"]["remembered"] == "2"
    assert learned["paces"]["vinyl"]["records"] == "0"
    share = 100 * float(learned["paces"]["vinyl"]["minutes"])
    assert f"vinyl: minutes {share:.0f} % of the table's, by 2 jobs, within 20 %" in said
    day = bare / "2026-06-12"
    day.mkdir()
    (day / "day.yaml").write_text(DAY, encoding="utf-8")
    (day / "10-alder.yaml").write_text(HOUSE, encoding="utf-8")
    capsys.readouterr()
    main(["check", "--json", str(day)])
    (job,) = json.loads(capsys.readouterr().out)["jobs"]
    assert "rates: of 2 jobs you remember" in job["assumed"]
    assert f"vinyl: minutes {share:.0f} % of the table's, from 2 jobs you remember, within 20 %" in job["assumed"]
    assert job["work"][0]["pace_factor"] == pytest.approx(share / 100)


@pytest.mark.ci
def test_a_job_planned_as_remembered_takes_as_long_and_as_much_mix_as_it_did(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked("rigs/finch", [*HARD, *VINYL], monkeypatch)
    file = bare / "again.yaml"
    size = "{kind: vinyl, area: 2000 ft2}"
    site = "site: {address: 1 Lane}\nbuilding: {height: 18 ft}\n"
    file.write_text(f"job: Again\nrig: Finch\n{site}surfaces: [{size}]\nsetup: house\n", encoding="utf-8")
    capsys.readouterr()
    main(["check", "--json", str(file)])
    (job,) = json.loads(capsys.readouterr().out)["jobs"]
    (work,) = job["work"]
    assert pace_of(work).seconds(work["pace_factor"]) / 60 == pytest.approx(60, rel=0.015)
    gallon = 3.785411784e-3
    assert sum(part["mix_m3"] for mix in job["mixes"] for part in mix["parts"]) / gallon == pytest.approx(40, rel=0.01)


@pytest.mark.ci
def test_what_cannot_be_of_the_same_work_is_not_taken_and_said(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = [("A job you remember", "vinyl"), ("How much of it", "2000"), ("Minutes", "600"), ("Mix it took", "400")]
    asked("rigs/finch", [*HARD, *odd], monkeypatch)
    said = capsys.readouterr().out
    assert not (bare / "learned.yaml").exists()
    assert "its minutes are not taken" in said
    assert "its mix is not taken" in said


@pytest.mark.ci
def test_records_and_what_is_written_go_before_memory(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = "paces:\n  vinyl: {minutes: 1.18, records: 6}\n"
    (bare / "learned.yaml").write_text(kept, encoding="utf-8")
    asked("rigs/finch", [*HARD, *VINYL], monkeypatch)
    learned = as_written(bare / "learned.yaml")
    assert learned["paces"] == {"vinyl": {"minutes": "1.18", "records": "6"}}
    assert learned["surfaces"]["vinyl"]["remembered"] == "1"


def test_learning_from_records_keeps_what_only_memory_knows(bare: Path) -> None:
    rows = [
        Remembered(section="paces", kind=kind, key="minutes", value=0.8, jobs=3, off=0.2) for kind in ("vinyl", "brick")
    ]
    (bare / "learned.yaml").write_text(with_remembered("", rows), encoding="utf-8")
    desk = Desk(bare)
    assert desk.learned.sound
    assert sorted(one.kind for one in remembered_in(desk.learned.value)) == ["brick", "vinyl"]
    records = "# head\npaces:\n  vinyl: {minutes: 0.95, records: 6}    # why\n"
    text = with_remembered(records, remembered_in(desk.learned.value), {("paces", "vinyl")})
    (bare / "learned.yaml").write_text(text, encoding="utf-8")
    learned = as_written(bare / "learned.yaml")
    assert learned["paces"]["vinyl"] == {"minutes": "0.95", "records": "6"}
    assert learned["paces"]["brick"]["remembered"] == "3"


@pytest.mark.ci
def test_a_packet_without_any_says_the_trades(
    bare: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked("rigs/finch", HARD, monkeypatch)
    file = bare / "again.yaml"
    site = "site: {address: 1 Lane}\nbuilding: {height: 18 ft}\n"
    file.write_text(f"job: Again\nrig: Finch\n{site}surfaces: [{{kind: vinyl, area: 2000 ft2}}]\nsetup: house\n")
    capsys.readouterr()
    main(["check", "--json", str(file)])
    (job,) = json.loads(capsys.readouterr().out)["jobs"]
    assert "rates: the trade's" in job["assumed"]
