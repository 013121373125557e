"""What was done, taken in from a filled packet, from YAML and from answers; what was printed, kept."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.contract.plan import job_json
from planner.contract.record import planned_of, record_json
from planner.inputs.record import joined_record, record_of_text
from planner.packet.filled.filled import read_filled
from planner.recording.doubts import doubts
from planner.recording.packet_plan import is_plan
from planner.units import read
from tests.commands.recording import WHOLE, fill, records, rows, yaml
from tests.packet.builders import written

pytestmark = pytest.mark.usefixtures("own_archive")


@pytest.mark.ci
def test_a_printed_packet_is_kept_with_its_plan(job: Path, printed: Path) -> None:
    from pypdf import PdfReader

    from planner.archive.kept.content import hash_of

    (plan,), (packet,) = rows(job, "plans"), rows(job, "packets")
    assert packet["sha256"] == hash_of(printed.read_bytes())
    assert packet["pages"] == len(PdfReader(printed).pages)
    assert (packet["plan"], packet["file"]) == (plan["sha256"], "2026-06-09/10-case.pdf")
    assert json.loads(plan["json"])["runs"][0]["name"] == "front"
    assert str(job.parents[2]) not in plan["json"], "no place on this machine"


@pytest.mark.ci
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
    assert done["flush"] == {"residual_mg_per_l": pytest.approx(2.0), "residual_below": False, "ph": 7.0}
    assert done["heels"][0]["tank"] == "mix"
    assert done["as_written"]["water"] == {"used": "240 gal"}
    (row,) = rows(job, "records")
    assert row["plan"] == rows(job, "plans")[0]["sha256"]


@pytest.mark.ci
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
    text = "job: 2026-06-09/10-case\ntimes: {arrived: 8 xm, lef: 12:00}\nwater: {used: 240}\nflush: {ph: 15}\n"
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
        "heels: {mix: {stock: oxalic, strength: 3 vol %, volume: 2 gal}, water: {stock: bleach, strength: 1 %, volume: 1 gal}}\n"
    )
    assert main(["record", str(job), "--from", yaml(tmp_path, text)]) == 2
    told = capsys.readouterr().err
    for words in (
        "record.job",
        "write `front` if",
        "are the same run",
        "no mix `2`",
        "does not say which percent",
        "`3 vol %` does not say how much oxalic",
        "record of a wash",
    ):
        assert words in told, (words, told)
    assert records(job) == []


@pytest.mark.ci
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


@pytest.mark.ci
def test_initials_of_a_filled_packet_are_kept_and_stop_points_without_them_are_told(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    texts = {
        "initials.1.lead": "AB", "initials.2.lead": "AB", "initials.2.second": "CD", "customer": "EF",
        "ticks.lead.1": "/Yes", "ticks.rows.1.1": "/Yes", "notes.near.1": "drain by the gate",
    }  # fmt: skip
    assert main(["record", str(job), "--from", str(fill(printed, texts))]) == 0
    told = capsys.readouterr()
    assert "no initials at stop points 3 (lead)" in told.out + told.err
    assert "was left out:" not in told.out + told.err
    (done,) = records(job)
    assert [(row["stop_point"], row["lead"], row["second"]) for row in done["initials"]] == [
        (1, "AB", None),
        (2, "AB", "CD"),
    ]
    assert done["customer"] == "EF"
    assert "ticks" not in json.dumps(done)


def test_initials_go_by_the_number_of_their_stop_point(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = "job: 10-case\ninitials: {first: {lead: AB}, 2: {boss: CD}}\n"
    assert main(["record", str(job), "--from", yaml(tmp_path, text)]) == 2
    told = capsys.readouterr().err
    assert "`first` is not a stop point's number" in told
    assert "`boss`" in told


def test_initials_at_no_stop_point_or_of_nobody_on_the_crew_are_faults_that_name_what_there_is(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert (
        main(["record", str(job), "--from", yaml(tmp_path, "job: 10-case\ninitials: {9: {lead: AB}, 1: {lead: AB}}\n")])
        == 2
    )
    told = capsys.readouterr().err
    assert "done.yaml:2:15" in told
    assert "there is no stop point 9: the plan has stop points 1 to " in told
    assert "stop point 1:" not in told
    assert not records(job)


def test_initials_of_a_second_are_a_fault_of_somebody_alone_and_odd_where_the_stop_point_is_the_lead_s() -> None:
    for crew, odd, wrong in (("[Ann]", set(), True), ("[Ann, Ben]", {"initials.1.second"}, False)):
        plan = job_json(written(f"day: {{crew: {crew}}}"), "us")
        planned = planned_of(plan)
        assert planned.stops is not None
        (first, *_) = planned.stops
        assert first.who == ("lead",)
        initials = ", ".join(
            f"{one.number}: {{{', '.join(f'{who}: AB' for who in one.who)}}}" for one in planned.stops[1:]
        )
        text = f"job: {plan['id']}\ninitials: {{1: {{lead: AB, second: CD}}, {initials}}}\n"
        done, faults = joined_record(record_of_text(text, "done.yaml"), planned)
        assert [fault.code for fault in faults] == ["record.stop_point"] * wrong
        assert (done is None) == wrong
        found = doubts(record_json(done, planned, None, None), plan, "us") if done is not None else ()
        assert {one.path for one in found} == odd


def test_a_plan_kept_before_it_had_acts_takes_initials_as_they_are() -> None:
    plan = {**job_json(written(), "us"), "procedure": None}
    read = record_of_text(f"job: {plan['id']}\ninitials: {{9: {{second: AB}}}}\n", "done.yaml")
    assert joined_record(read, planned_of(plan))[1] == []


@pytest.mark.ci
def test_boxes_that_cannot_be_read_are_named_and_the_rest_kept_as_a_draft(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    texts = {"times.arrived": "08:40", "times.left": "12:3O", "water.used": "lots", "deviations": "a # b: [c]"}
    filled = fill(printed, texts)
    assert main(["record", str(job), "--from", str(filled)]) == 2
    told = capsys.readouterr().err
    assert 'filled.pdf: box "Left" (times.left): time.clock `12:3O` is not a time of day' in told
    assert 'filled.pdf: box "Water in all" (water.used): quantity.number' in told
    assert ":1:1" not in told
    draft = job.with_name("10-case.record.draft.yaml")
    assert "10-case.record.draft.yaml" in told
    assert '# times.left: "12:3O"' in draft.read_text(encoding="utf-8")
    assert records(job) == []
    edited = draft.read_text(encoding="utf-8") + 'water:\n  used: "240 gal"\n'
    draft.write_text(edited, encoding="utf-8")
    assert main(["record", str(job), "--from", str(filled)]) == 2, "and never over a draft somebody has worked on"
    assert draft.read_text(encoding="utf-8") == edited
    assert job.with_name("10-case.record.draft-2.yaml").exists()
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


@pytest.mark.ci
def test_a_job_never_printed_is_planned_and_kept_with_its_record(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["record", str(job.with_suffix("")), "--from", yaml(tmp_path, WHOLE)]) == 0
    assert "never printed: planned now" in capsys.readouterr().out
    assert len(rows(job, "plans")) == 1
    assert rows(job, "packets") == []


@pytest.mark.ci
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


@pytest.mark.ci
def test_an_unknown_plan_comes_from_the_packet_itself_or_is_refused(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"water.used": "240"})
    (job.parents[1] / "archive.db").unlink()
    job.write_text(job.read_text(encoding="utf-8").replace("500 ft2", "900 ft2"), encoding="utf-8")
    assert main(["record", str(job), "--from", str(filled)]) == 0
    assert "taken from the packet itself" in capsys.readouterr().out
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE + "plan: dead-beef\n")]) == 2
    assert "plan dead-beef is not in the archive" in capsys.readouterr().err
    assert len(records(job)) == 1


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
    inside = {**read_filled(printed).document["jobs"][0], **changed}
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


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            "heels: {roofmix: {stock: water, volume: 1 gal}}",
            "there is no tank of rig Case called `roofmix` at heels.roofmix: write `mix` if that was meant; known here: `mix` or `water`",
        ),
        ("heels: {' mix': {stock: water, volume: 1 gal}}", "there is no tank of rig Case called ` mix`"),
        (
            "heels: {mix: {stock: bleach, strength: 1 trade %, volume: 60 gal}}",
            "60 gal are in `mix`, which holds 50 gal",
        ),
        (
            "heels: {mix: {stock: bleech, strength: 1 trade %, volume: 1 gal}}",
            "there is no lot or chemical called `bleech`",
        ),
        (
            "lots: {drumm: {on_hand: 24 gal}}",
            "there is no lot of stock.yaml called `drumm` at lots.drumm: write `drum` if that was meant",
        ),
        ("mixes: {1: {lot: drumm}}", "there is no lot of stock.yaml called `drumm`"),
        ("readings: {fornt: {gauge_open: 52 psi}}", "the plan has no run `fornt`"),
        ("mixes: {2: {left: 1 gal}}", "the plan has no mix `2`"),
        ("sides: {gable: {wet: 1 gal}}", "the plan has no side `gable`"),
    ],
)
def test_a_record_names_nothing_that_is_not_there(
    change: str, said: str, job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    key = change.partition(":")[0]
    whole = "".join(line + "\n" for line in WHOLE.splitlines() if not line.startswith(f"{key}:")) + change + "\n"
    assert main(["record", str(job), "--from", yaml(tmp_path, whole)]) == 2
    assert said in " ".join(capsys.readouterr().err.split())
    assert records(job) == []


@pytest.mark.parametrize(
    "twice",
    ["signed: Ben", "water: {used: 10 gal}", "flush: {ph: 3, ph: 7}", "after: {}", "pump: &a {throw_after: 31 ft}"],
)
def test_a_record_the_strict_reader_finds_a_fault_in_is_not_taken(
    twice: str, job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = WHOLE.replace("flush: {residual: 2 mg/L, ph: 7}\n", "") if twice.startswith("flush") else WHOLE
    assert main(["record", str(job), "--from", yaml(tmp_path, whole + twice + "\n")]) == 2
    capsys.readouterr()
    assert records(job) == []


def test_a_key_written_twice_in_a_record_says_where_the_first_is(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = WHOLE.replace("{used: 240 gal}", "{used: 240 gal, used: 999 gal}")
    assert main(["record", str(job), "--from", yaml(tmp_path, whole)]) == 2
    assert "`used` appears twice here, first on line 4" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["company.yaml", "stock.yaml", "surfaces.yaml", "learned.yaml", "2026-06-09/day.yaml"])
def test_a_key_written_twice_is_told_of_every_file(name: str, job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = job.parents[1] / name
    first = {
        "company.yaml": "units: us\n",
        "stock.yaml": "",
        "surfaces.yaml": "surfaces: []\n",
        "learned.yaml": "taps: {}\n",
    }
    text = path.read_text(encoding="utf-8") if path.exists() else first[name]
    key = text.partition(":")[0]
    path.write_text(f"{text}\n{key}: twice\n", encoding="utf-8")
    assert main(["check", str(job)]) == 2
    assert "appears twice" in capsys.readouterr().err
