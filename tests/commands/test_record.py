"""What was done, taken in from a filled packet, from YAML and from answers; what was printed, kept."""

from __future__ import annotations

import builtins
import io
import json
import os
import re
import shutil
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from planner.archive import store
from planner.archive.refused import refused
from planner.cli import main
from planner.commands import record_sources
from planner.commands.packet_plan import is_plan
from planner.packet.filled import read_filled
from planner.units import read
from tests import workspaces

CHEMICALS = {"job": {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {"0": {"dosing": "panel"}}}}


@pytest.fixture(autouse=True)
def _own_archive(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")


@pytest.fixture(scope="module")
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


def rows(job: Path, table: str) -> list[dict[str, Any]]:
    path = job.parents[1] / "archive.db"
    if not path.exists():
        return []
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as connection:
        connection.row_factory = sqlite3.Row
        return [dict(row) for row in connection.execute(f"SELECT * FROM {table}")]


def records(job: Path) -> list[dict[str, Any]]:
    return [json.loads(row["json"]) for row in sorted(rows(job, "records"), key=lambda row: row["revision"])]


def yaml(tmp_path: Path, text: str, name: str = "done.yaml") -> str:
    (tmp_path / name).write_text(text, encoding="utf-8")
    return str(tmp_path / name)


def fill(packet: Path, texts: dict[str, str]) -> Path:
    """The packet as a viewer saves it with these boxes filled."""
    from pypdf import PdfReader, PdfWriter

    reader = PdfReader(packet)
    names = {name.rpartition("/")[2]: name for name in reader.get_fields() or {}}
    writer = PdfWriter(clone_from=reader)
    for page in writer.pages:
        if "/Annots" in page:
            writer.update_page_form_field_values(page, {names[key]: text for key, text in texts.items()})
    filled = packet.with_name("filled.pdf")
    writer.write(filled)
    return filled


WHOLE = """
job: 2026-06-09/10-case
times: {arrived: 08:40, first_mix: 09:25, left: 12:30}
water: {used: 240 gal}
readings: {front: {gauge_open: 52 psi, bucket: 5 gal in 38 s, jet: 34 ft}}
mixes: {1: {stock_test: 10.5 trade %, stock_used: 6 gal, left: 1 gal}}
sides: {wall: {wet: 12 gal, dwell: 8 min, rinse: 40 gal}}
lots: {drum: {on_hand: 24 gal}}
heels: {mix: {stock: bleach, strength: 1 trade %, volume: 1 gal}}
flush: {residual: 2 mg/L, ph: 7}
deviations: by ladder at the gable
signed: Ana
"""


def test_a_printed_packet_is_kept_with_its_plan(job: Path, printed: Path) -> None:
    from pypdf import PdfReader

    from planner.archive.content import hash_of

    (plan,), (packet,) = rows(job, "plans"), rows(job, "packets")
    assert packet["sha256"] == hash_of(printed.read_bytes())
    assert packet["pages"] == len(PdfReader(printed).pages)
    assert (packet["plan"], packet["file"]) == (plan["sha256"], "2026-06-09/10-case.pdf")
    assert json.loads(plan["json"])["runs"][0]["name"] == "front"
    assert str(job.parents[2]) not in plan["json"], "no place on this machine"


def test_printing_again_from_elsewhere_keeps_one_plan_and_one_packet(
    job: Path, printed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(job.parent)
    main(["packet", "10-case.yaml", "-o", str(tmp_path / "other")])
    assert len(rows(job, "plans")) == 1


def test_a_yaml_record_is_kept_in_si_against_the_plan_that_was_printed(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    said = capsys.readouterr()
    assert "revision 1: 3 times, 1 run, 1 mix, 1 side, 1 lot, 1 heel, 1 remark, water, flush, signed by Ana" in said.out
    assert said.err == ""
    (done,) = records(job)
    assert done["times"] == {"arrived_s": 31200.0, "first_mix_s": 33900.0, "flushed_s": None, "left_s": 45000.0}
    assert done["water"]["used_m3"] == pytest.approx(read("240 gal", "volume"))
    (run,), (mix,), (side,) = done["readings"], done["mixes"], done["sides"]
    assert (run["run"], run["bucket_s"], run["throw_m"]) == ("front", 38.0, None)
    assert run["gauge_open_pa"] == pytest.approx(read("52 psi", "pressure"))
    assert (mix["stock"], mix["run"], mix["lot"]) == ("hypochlorite", "front", "drum")
    assert mix["stock_test"] == {"amount": 10.5, "basis": "trade", "g_per_l": pytest.approx(105.0)}
    assert (side["surface"], side["dwell_s"]) == ("wall", 480.0)
    assert done["flush"] == {"residual_mg_per_l": pytest.approx(2.0), "ph": 7.0}
    assert done["heels"][0]["tank"] == "mix"
    assert done["as_written"]["water"] == {"used": "240 gal"}
    (row,) = rows(job, "records")
    assert row["plan"] == rows(job, "plans")[0]["sha256"]


def test_the_same_record_twice_changes_nothing_and_another_keeps_the_first(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["record", str(job), "--from", yaml(tmp_path, WHOLE)])
    before = rows(job, "records")
    capsys.readouterr()
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE.replace("240 gal", "240.0 gal"), "same.yaml")]) == 0
    assert "recorded already as revision 1: nothing was changed" in capsys.readouterr().out
    assert rows(job, "records") == before
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE.replace("240 gal", "250 gal"))]) == 0
    assert "revision 2 (revision 1 is kept too)" in capsys.readouterr().out
    first, second = records(job)
    assert first["water"]["used_m3"] < second["water"]["used_m3"]


def test_every_slip_of_a_record_is_told_at_once_with_line_and_column(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = "job: 2026-06-09/10-case\ntimes: {arrived: 8 am, lef: 12:00}\nwater: {used: 240}\nflush: {ph: 15}\n"
    assert main(["record", str(job), "--from", yaml(tmp_path, text)]) == 2
    told = capsys.readouterr().err
    for place, code in (
        ("2:18", "time.clock"),
        ("2:24", "key.unknown"),
        ("3:15", "quantity.bare"),
        ("4:13", "quantity.range"),
    ):
        assert f"done.yaml:{place} {code}" in told, told
    assert records(job) == []


def test_what_the_plan_does_not_have_is_refused_by_name(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (
        "job: 30-else\nreadings: {frnt: {jet: 30 ft}, front: {jet: 30 ft}, 1: {jet: 31 ft}}\nmixes: {2: {left: 1 gal}}\n"
        "lots: {drum: {test: 10 %}}\npump: {bath: 5 min}\n"
    )
    assert main(["record", str(job), "--from", yaml(tmp_path, text)]) == 2
    told = capsys.readouterr().err
    for words in (
        "record.job",
        "write `front` if",
        "are the same run",
        "no mix `2`",
        "does not say which percent",
        "for a wash",
    ):
        assert words in told, (words, told)
    assert records(job) == []


def test_a_filled_packet_is_read_back_with_the_units_printed_beside_its_boxes(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    texts = {
        "times.arrived": "08:40", "water.used": "240", "readings.front.gauge_open": "52",
        "readings.front.bucket": "38", "mixes.1.stock_test": "10.5", "sides.1.dwell": "8", "signed": "Ana",
    }  # fmt: skip
    assert main(["record", str(job), "--from", str(fill(printed, texts))]) == 0
    (done,) = records(job)
    assert done["plan"] == json.loads(rows(job, "plans")[0]["json"])["plan"]
    assert done["water"]["used_m3"] == pytest.approx(read("240 gal", "volume"))
    assert done["readings"][0]["gauge_open_pa"] == pytest.approx(read("52 psi", "pressure"))
    assert done["readings"][0]["bucket_s"] == 38.0
    assert done["mixes"][0]["stock_test"]["g_per_l"] == pytest.approx(105.0)
    assert done["sides"][0]["dwell_s"] == 480.0
    assert "filled.pdf" in rows(job, "records")[0]["source"]


def test_boxes_that_cannot_be_read_are_named_and_the_rest_kept_as_a_draft(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    texts = {"times.arrived": "08:40", "times.left": "12:3O", "water.used": "lots", "deviations": "a # b: [c]"}
    filled = fill(printed, texts)
    assert main(["record", str(job), "--from", str(filled)]) == 2
    told = capsys.readouterr().err
    assert "at times.left" in told
    assert "at water.used" in told
    draft = filled.with_name("filled.record.draft.yaml")
    assert "filled.record.draft.yaml" in told
    assert '# times.left: "12:3O"' in draft.read_text(encoding="utf-8")
    assert records(job) == []
    edited = draft.read_text(encoding="utf-8") + 'water:\n  used: "240 gal"\n'
    draft.write_text(edited, encoding="utf-8")
    assert main(["record", str(job), "--from", str(filled)]) == 2, "and never over a draft somebody has worked on"
    assert draft.read_text(encoding="utf-8") == edited
    assert filled.with_name("filled.record.draft-2.yaml").exists()
    assert main(["record", str(job), "--from", str(draft)]) == 0
    (done,) = records(job)
    assert done["times"]["arrived_s"] == 31200.0
    assert done["times"]["left_s"] is None
    assert done["deviations"] == "a # b: [c]"
    assert done["water"]["used_m3"] is not None


def test_a_record_lying_in_a_days_folder_is_no_job(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("10-case.record.yaml", "10-case.record.draft.yaml", "10-case.record.draft-2.yaml"):
        (job.parent / name).write_text(WHOLE, encoding="utf-8")
    assert main(["check", "--json", str(job.parent)]) in (0, 1)
    assert [one["id"] for one in json.loads(capsys.readouterr().out)["jobs"]] == ["2026-06-09/10-case"]


def test_a_job_never_printed_is_planned_and_kept_with_its_record(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["record", str(job.with_suffix("")), "--from", yaml(tmp_path, WHOLE)]) == 0
    assert "never printed: planned now" in capsys.readouterr().out
    assert len(rows(job, "plans")) == 1
    assert rows(job, "packets") == []


def test_the_plan_is_looked_up_by_the_number_on_the_packet(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"water.used": "240"})
    number = rows(job, "plans")[0]["number"]
    job.write_text(job.read_text(encoding="utf-8").replace("500 ft2", "900 ft2"), encoding="utf-8")
    main(["packet", str(job), "-o", str(tmp_path / "later")])
    assert len(rows(job, "plans")) == 2
    assert main(["record", str(job), "--from", str(filled)]) == 0
    said = capsys.readouterr()
    assert f"against plan {number}" in said.out
    assert "caution" not in said.err
    assert records(job)[0]["plan"] == number


def test_an_unknown_plan_comes_from_the_packet_itself_or_is_a_caution(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"water.used": "240"})
    (job.parents[1] / "archive.db").unlink()
    job.write_text(job.read_text(encoding="utf-8").replace("500 ft2", "900 ft2"), encoding="utf-8")
    assert main(["record", str(job), "--from", str(filled)]) == 0
    assert "taken from the packet itself" in capsys.readouterr().out
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE + "plan: dead-beef\n")]) == 0
    assert "plan dead-beef is not in the archive" in capsys.readouterr().err
    assert records(job)[1]["plan"] == "dead-beef"


@pytest.mark.parametrize(
    "changed",
    [
        {},
        {"runs": None},
        {"work": [{"surface": {}, "run": "front"}]},
        {"mixes": [{"stock": 1, "run": [], "lot": {}}]},
        {"time": [{"what": {}}]},
        {"water": "much"},
    ],
)
def test_only_a_plan_that_can_be_compared_is_taken_from_a_packet(changed: dict[str, Any], printed: Path) -> None:
    inside = {**read_filled(printed).document["jobs"][0], **changed}  # type: ignore[index, union-attr]
    assert is_plan(inside, inside["id"], inside["plan"]) is not bool(changed)
    assert not is_plan(inside, inside["id"], "another")


def test_a_job_whose_file_is_gone_is_recorded_against_what_was_printed(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job.unlink()
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    (job.parents[1] / "archive.db").unlink()
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 2
    assert "record.no_plan" in capsys.readouterr().err


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
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


def test_questions_show_what_was_planned_and_ask_again_until_an_answer_can_be_read(
    job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = typed(
        {"Arrived": ["quarter past", "08:15"], "Water in all": ["240"], "front: bucket": ["38"], "Signed": ["Ana"]}
    )
    assert main(["record", str(job)]) == 0
    said = capsys.readouterr().out
    assert "is no time of day" in said
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


def test_a_draft_that_finds_no_room_beside_its_packet_lies_where_the_command_was_called(
    job: Path, printed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"water.used": "240", "times.arrived": "early"})
    write, here = record_sources.write_whole, tmp_path / "here"

    def not_there(path: Path, content: bytes) -> None:
        if path.parent == filled.parent:
            raise PermissionError(13, "Permission denied")
        write(path, content)

    here.mkdir()
    monkeypatch.chdir(here)
    monkeypatch.setattr(record_sources, "write_whole", not_there)
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


def test_a_damaged_archive_stops_a_record_but_never_the_printing(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    archive = job.parents[1] / "archive.db"
    archive.write_bytes(b"a letter")
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 2
    assert "archive.foreign" in capsys.readouterr().err
    filled = fill(printed, {"water.used": "240"})
    assert main(["record", str(job), "--from", str(filled)]) == 2
    assert filled.with_name("filled.record.draft.yaml").exists(), "nothing that was written down is lost"
    capsys.readouterr()
    again = main(["packet", str(job), "-o", str(tmp_path / "again")])
    said = capsys.readouterr()
    assert again in (0, 1)
    assert said.err.count("\n") == 1
    assert "printed, but not archived" in said.err
    assert (tmp_path / "again" / "2026-06-09" / "10-case.pdf").exists()
    assert archive.read_bytes() == b"a letter"


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
    assert not (job.parents[1] / "archive.db").exists()
    assert "revision 1" in capsys.readouterr().out


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
