"""What comes in after a record: added to it, the rest as it was; a revision withdrawn; a job that was not done."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.archive.kept import store
from planner.archive.kept.opening import opened
from planner.cli import main
from planner.packet.filled.filled import read_filled
from planner.recording.doubts import doubts
from tests.commands.recording import WHOLE, fill, records, rows, yaml

pytestmark = pytest.mark.usefixtures("own_archive")

Said = pytest.CaptureFixture[str]


@pytest.fixture
def recorded(job: Path, printed: Path, tmp_path: Path) -> Path:
    """The job with one revision of what was done."""
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    return job


@pytest.mark.ci
def test_a_callback_money_and_a_late_reading_are_added_and_the_rest_stays(recorded: Path, capsys: Said) -> None:
    capsys.readouterr()
    added = ["callbacks=streaks by the door", "spent=312.50", "readings.1.throw=38 ft", "readings.1.jet=33 ft"]
    assert main(["record", str(recorded), "--add", *added]) == 0
    said = capsys.readouterr()
    assert "revision 2: callbacks `streaks by the door`" in said.out
    assert "`33 ft`, `34 ft` before" in said.out
    assert said.err == ""
    first, second = records(recorded)
    assert (second["callbacks"], second["spent"]) == ("streaks by the door", 312.5)
    assert second["readings"][0]["throw_m"] == pytest.approx(38 * 0.3048)
    assert second["readings"][0]["jet_m"] == pytest.approx(33 * 0.3048)
    changed = {"callbacks", "spent", "readings", "as_written", "cautions"}
    assert {key for key in first if first[key] != second[key]} <= changed
    assert first["readings"][0]["bucket_s"] == second["readings"][0]["bucket_s"]
    kept = rows(recorded, "records")
    assert (kept[0]["plan"], kept[0]["plan_number"]) == (kept[1]["plan"], kept[1]["plan_number"])
    assert main(["record", str(recorded), "--add", *added]) == 0
    assert "already: nothing was changed" in capsys.readouterr().out
    assert main(["record", str(recorded), "--add", "callbacks=drips on the sill"]) == 0
    assert records(recorded)[-1]["callbacks"] == "streaks by the door; drips on the sill"


@pytest.mark.ci
def test_a_file_and_a_packet_are_laid_over_what_is_recorded(recorded: Path, printed: Path, tmp_path: Path) -> None:
    assert (
        main(["record", str(recorded), "--add", "--from", yaml(tmp_path, "job: 10-case\nhours: 9.5\n", "late.yaml")])
        == 0
    )
    filled = fill(printed, {"mixes.1.left": "2", "spent": "90"})
    assert main(["record", str(recorded), "--add", "--from", str(filled)]) == 0
    last = records(recorded)[-1]
    assert (last["crew_s"], last["spent"], last["signed"]) == (9.5 * 3600, 90.0, "Ana")
    assert last["mixes"][0]["left_m3"] == pytest.approx(2 * 0.003785412, rel=1e-6)
    assert last["mixes"][0]["stock_m3"] == pytest.approx(1.5 * 0.003785412, rel=1e-6)


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["spent"], "record.add"),
        (["spent="], "record.add"),
        (["plan=dead-beef"], "record.add"),
        (["nothing=1"], "key.unknown"),
        (["readings.back.jet=3 ft"], "name.unknown"),
        (["spent=much"], "quantity"),
        (["status=nearly"], "status"),
    ],
)
def test_what_adds_nothing_is_refused_and_nothing_is_changed(
    words: list[str], code: str, recorded: Path, capsys: Said
) -> None:
    assert main(["record", str(recorded), "--add", *words]) == 2
    assert code in capsys.readouterr().err
    assert len(records(recorded)) == 1


def test_there_must_be_something_to_add_to_and_it_must_be_of_the_same_packet(
    job: Path, printed: Path, tmp_path: Path, capsys: Said
) -> None:
    assert main(["record", str(job), "--add", "spent=3"]) == 2
    assert "record.nothing" in capsys.readouterr().err
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    other = yaml(tmp_path, "job: 10-case\nplan: dead-beef\nspent: 3\n", "other.yaml")
    assert main(["record", str(job), "--add", "--from", other]) == 2
    assert "another packet's" in capsys.readouterr().err


@pytest.mark.ci
def test_a_record_of_another_packet_is_refused_and_told_whose_it_is(
    job: Path, printed: Path, tmp_path: Path, capsys: Said
) -> None:
    twin = job.with_name("20-other.yaml")
    twin.write_text(job.read_text(encoding="utf-8").replace("500 ft2", "900 ft2"), encoding="utf-8")
    main(["packet", str(twin), "-o", str(tmp_path / "out2")])
    number = next(row["number"] for row in rows(job, "plans") if row["job"].endswith("20-other"))
    capsys.readouterr()
    written = yaml(tmp_path, f"job: 10-case\nplan: {number}\nspent: 3\n", "other.yaml")
    assert main(["record", str(job), "--from", written]) == 2
    assert "of `2026-06-09/20-other`" in capsys.readouterr().err
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE + "plan: dead-beef\n")]) == 2
    assert "check the number on the packet" in capsys.readouterr().err
    assert records(job) == []


@pytest.mark.ci
def test_a_job_that_moved_house_under_its_name_is_not_held_against_what_was_printed(
    job: Path, printed: Path, tmp_path: Path, capsys: Said
) -> None:
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace("1 Case Street", "77 Harbor Terrace"), encoding="utf-8")
    assert job.read_text(encoding="utf-8") != text
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 2
    assert "record.site" in capsys.readouterr().err
    assert main(["packet", str(job), "-o", str(tmp_path / "again")]) <= 1
    assert "not archived: the archive knows `2026-06-09/10-case`" in capsys.readouterr().err
    job.write_text(text.replace("1 Case Street", "1 Case St."), encoding="utf-8")
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0


@pytest.mark.ci
def test_a_revision_is_withdrawn_with_a_reason(recorded: Path, capsys: Said) -> None:
    assert main(["record", str(recorded), "--add", "spent=3"]) == 0
    for number, code, said in (
        ("2", 0, "revision 2 is withdrawn; revision 1 counts now"),
        ("2", 0, "was withdrawn before"),
        ("1", 0, "no record of it counts now"),
    ):
        assert main(["record", str(recorded), "--withdraw", number, "of the house next door"]) == code
        assert said in capsys.readouterr().out
    for number, reason in (("9", "why"), ("0", "why"), ("two", "why"), ("1", "  ")):
        assert main(["record", str(recorded), "--withdraw", number, reason]) == 2
        assert "record.withdraw" in capsys.readouterr().err
    assert [row["reason"] for row in rows(recorded, "withdrawn")] == ["of the house next door"] * 2
    assert len(records(recorded)) == 2, "nothing is ever taken away"
    with opened(None, recorded.parents[1]) as archive:
        assert store.latest_records(archive) == []
    assert main(["record", str(recorded), "--add", "spent=3"]) == 2


@pytest.mark.ci
@pytest.mark.parametrize("status", ["cancelled", "moved"])
def test_a_job_that_was_not_done_is_kept_and_neither_compared_nor_learned_from(
    status: str, job: Path, printed: Path, tmp_path: Path, capsys: Said
) -> None:
    assert main(["record", str(job), "--from", yaml(tmp_path, f"job: 10-case\nstatus: {status}\n")]) == 0
    assert records(job)[0]["status"] == status
    main(["compare", str(job.parents[1])])
    assert "10-case" not in capsys.readouterr().out.replace(str(tmp_path), "").partition("recorded")[2]
    assert main(["record", str(job), "--add", "water.used=200 gal"]) == 0
    assert "says nothing was done that day" in capsys.readouterr().err


@pytest.mark.ci
def test_figures_of_a_whole_job_are_not_compared_where_part_of_it_was_done(recorded: Path) -> None:
    from planner.archive.compare.pairs import Pair, pairs

    assert main(["record", str(recorded), "--add", "status=part"]) == 0
    with opened(None, recorded.parents[1]) as archive:
        (pair,) = pairs(archive)
    assert isinstance(pair, Pair)
    assert pair.record["sides"] == []
    assert pair.record["water"]["used_m3"] is None
    assert pair.record["mixes"][0]["stock_m3"] is None
    assert pair.record["mixes"][0]["stock_test"] is not None
    assert pair.record["readings"][0]["gauge_open_pa"] is not None


def test_a_day_that_has_not_come_is_said_of_the_jobs_own_too(recorded: Path) -> None:
    (record,) = records(recorded)
    plan = json.loads(rows(recorded, "plans")[0]["json"])

    def said(today: datetime.date) -> list[str]:
        return [doubt.message for doubt in doubts(record, plan, "us", today=today) if doubt.path == "date"]

    assert said(datetime.date(2026, 6, 9)) == []
    assert said(datetime.date(2026, 6, 8)) == ["2026-06-09 has not come yet"]


@pytest.mark.ci
def test_boxes_taken_out_of_a_packet_are_said(job: Path, printed: Path, tmp_path: Path, capsys: Said) -> None:
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import ArrayObject, NameObject

    filled = fill(printed, {"water.used": "240"})
    writer = PdfWriter(clone_from=PdfReader(filled))
    form = writer.root_object["/AcroForm"]
    gone = ("signed", "mixes.1.left")

    def left(fields: ArrayObject) -> ArrayObject:
        kept = ArrayObject()
        for field in fields:
            one = field.get_object()
            if str(one.get("/T", "")).rpartition("/")[2] in gone:
                continue
            if "/Kids" in one:
                one[NameObject("/Kids")] = left(one["/Kids"])
            kept.append(field)
        return kept

    form[NameObject("/Fields")] = left(form["/Fields"])
    writer.write(tmp_path / "less.pdf")
    read = read_filled(tmp_path / "less.pdf")
    told = [fault for fault in read.faults if fault.code == "filled.deleted"]
    assert len(told) == 1
    assert "Signed, lead" in told[0].message
    assert not [fault for fault in read_filled(filled).faults if fault.code == "filled.deleted"]
    assert main(["record", str(job), "--from", str(tmp_path / "less.pdf")]) == 0
    assert "lacks boxes" in capsys.readouterr().err


@pytest.mark.ci
def test_on_a_terminal_only_what_is_not_written_yet_is_asked_for(
    recorded: Path, typed: Callable[[dict[str, list[str]]], list[str]]
) -> None:
    asked = typed({"Spent, in money": ["312.50"], "Did the customer call back": ["no"], "Keep": ["y"]})
    assert main(["record", str(recorded), "--add"]) == 0
    last = records(recorded)[-1]
    assert (last["spent"], last["callback"], last["signed"]) == (312.5, False, "Ana")
    assert len(last["readings"]) == 1
    assert not [prompt for prompt in asked if prompt.startswith(("Signed", "Arrived", "What went differently"))]
