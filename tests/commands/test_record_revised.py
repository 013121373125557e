"""A record revised at the terminal: what the last revision says stays unless it is answered otherwise."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import Any

import pytest

from planner.archive.kept import store
from planner.cli import main
from planner.contract.record import planned_of
from planner.inputs.record import Planned, StopPlanned
from planner.recording import doubts as record_doubts
from planner.recording.earlier import earlier_of
from planner.recording.questions import Question, questions
from planner.units import read
from tests.commands.recording import fill, records, rows, yaml

pytestmark = pytest.mark.usefixtures("own_archive")
LEFT = "Left"
DRAFT = "10-case.record.draft.yaml"


@pytest.mark.parametrize("broken", [EOFError, KeyboardInterrupt])
@pytest.mark.ci
def test_a_revision_broken_off_replaces_nothing_and_its_draft_holds_all(
    broken: type[BaseException], whole: Path, typed: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = typed({"Arrived": ["08:50"], "First": [broken]})
    assert main(["record", str(whole)]) == 0
    assert asked[-1].endswith("[y/N] "), "Enter keeps no record"
    assert len(records(whole)) == 1
    draft = whole.with_name(DRAFT)
    assert str(DRAFT) in capsys.readouterr().out
    assert main(["record", str(whole), "--from", str(draft)]) == 0
    first, second = records(whole)
    assert second["times"]["arrived_s"] == read("8 h 50 min", "time")
    for record in (first, second):
        record["times"].pop("arrived_s")
        for beside in ("as_written", "cautions"):
            record.pop(beside)
    first["plan"] = second["plan"]
    assert first == second, "whatever was not answered stays as it was"


@pytest.mark.ci
def test_enter_takes_the_last_revision_and_a_dot_the_rest_of_it(
    whole: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = typed({"front: gauge open": ["50"], "front: bucket": ["."]})
    assert main(["record", str(whole)]) == 0
    assert any("(Enter: 08:40, as in revision 1; -: left blank)" in prompt for prompt in asked)
    assert any("Keep this as revision 2 (" in prompt and "1 changed" in prompt for prompt in asked)
    first, second = records(whole)
    assert second["readings"][0]["gauge_open_pa"] == pytest.approx(read("50 psi", "pressure"))
    assert second["mixes"] == first["mixes"]
    assert second["sides"] == first["sides"]
    assert (second["lots"], second["heels"]) == (first["lots"], first["heels"]), "nobody is asked for these"
    assert second["signed"] == "Ana"


@pytest.mark.ci
def test_a_dash_takes_a_figure_out(whole: Path, typed: Any) -> None:
    typed({LEFT: ["-"], "Keep": ["yes"]})
    assert main(["record", str(whole)]) == 0
    assert records(whole)[-1]["times"]["left_s"] is None


@pytest.mark.ci
def test_nothing_but_enter_changes_nothing(whole: Path, typed: Any, capsys: pytest.CaptureFixture[str]) -> None:
    typed({})
    main(["record", str(whole)])
    typed({})
    assert main(["record", str(whole)]) == 0
    assert "nothing was changed" in capsys.readouterr().out
    typed({"Arrived": [EOFError]})
    assert main(["record", str(whole)]) == 0
    assert "nothing is kept" in capsys.readouterr().out
    assert not whole.with_name(DRAFT).exists()


@pytest.mark.ci
def test_stop_keeps_a_draft_that_is_gone_on_from_and_taken_away(
    job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = typed({"Arrived": ["08:15"], "Water in all": ["stop"]})
    assert main(["record", str(job)]) == 0
    assert not any(prompt.startswith("Keep") for prompt in asked)
    assert records(job) == []
    assert "planner record " in capsys.readouterr().out
    asked = typed({"Water in all": ["240"], "Signed": ["stop"]})
    assert main(["record", str(job)]) == 0
    assert any("holds 1 answer" in prompt for prompt in asked)
    assert sorted(path.name for path in job.parent.glob("*.draft*")) == [DRAFT], "the same draft, gone on with"
    typed({"Signed": ["Ana"]})
    assert main(["record", str(job)]) == 0
    (done,) = records(job)
    assert (done["times"]["arrived_s"], done["signed"]) == (read("8 h 15 min", "time"), "Ana")
    assert done["water"]["used_m3"] == pytest.approx(read("240 gal", "volume"))
    assert not list(job.parent.glob("*.draft*"))


@pytest.mark.ci
def test_a_draft_that_is_recorded_since_is_not_offered_again(whole: Path, typed: Any) -> None:
    typed({"Arrived": ["08:50"], "First": ["stop"]})
    assert main(["record", str(whole)]) == 0
    assert main(["record", str(whole), "--from", str(whole.with_name(DRAFT))]) == 0
    asked = typed({})
    assert main(["record", str(whole)]) == 0
    assert "(Enter: 08:50, as in revision 2" in asked[0]
    assert len(records(whole)) == 2


@pytest.mark.ci
def test_a_value_kept_that_cannot_be_read_any_more_is_told(
    whole: Path, typed: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = store.record_of

    def odd(archive: Any, job: str) -> Any:
        record = kept(archive, job)
        assert record is not None
        raw = {**record.content["as_written"], "water": {"used": "lots"}}
        return dataclasses.replace(record, content={**record.content, "as_written": raw})

    monkeypatch.setattr(store, "record_of", odd)
    typed({"Arrived": ["08:50"], "First": ["."]})
    assert main(["record", str(whole)]) == 2
    told = capsys.readouterr().err
    assert "`lots` cannot be read as a volume" in told
    assert 'arrived: "08:50"' in whole.with_name(DRAFT).read_text(encoding="utf-8")


@pytest.mark.ci
def test_a_revision_with_everything_taken_out_is_none(job: Path, printed: Path, typed: Any) -> None:
    typed({"Arrived": ["08:15"]})
    main(["record", str(job)])
    typed({"Arrived": ["-"]})
    assert main(["record", str(job)]) == 0
    assert len(records(job)) == 1


def test_parts_of_another_plan_are_found_by_their_names() -> None:
    mixes = (("hypochlorite", "front", "drum"), ("surfactant", "front", None))
    then = Planned(
        job="j", kind="wash", runs=("back", "front"), mixes=mixes, sides=(("wall", "front"), ("eave", "back"))
    )
    now = Planned(job="j", kind="wash", runs=("front",), mixes=mixes[:1], sides=(("gable", "front"), ("wall", "front")))
    raw = {
        "job": "j",
        "readings": {"2": {"jet": "30 ft"}, "back": {"jet": "20 ft"}},
        "sides": {"wall": {"wet": "3 gal"}},
        "mixes": {"1": {"left": "1 gal", "lot": "drum 2"}},
        "pump": {"replaced": ["seal", "plates"], "spacers": {"4": "thick"}},
        "lots": {"drum 1.5": {"on_hand": "3 gal"}},
    }
    paths = ("readings.1.jet", "sides.1.wet", "sides.2.wet", "mixes.1.left", "pump.replaced", "pump.spacers")
    found = earlier_of(raw, then, now, [Question(path=path, about="") for path in paths])
    assert found.answers == {
        "readings.1.jet": "30 ft", "sides.2.wet": "3 gal", "mixes.1.left": "1 gal", "pump.replaced": "seal, plates",
        "pump.spacers": "4: thick",
    }  # fmt: skip
    assert found.rest == {"mixes": {"1": {"lot": "drum 2"}}, "lots": {"drum 1.5": {"on_hand": "3 gal"}}}
    assert found.lost == ("readings.back",)


def test_initials_go_along_to_the_stop_point_that_asks_the_same_and_nowhere_else() -> None:
    def planned(*keys: tuple[str, ...]) -> Planned:
        stops = tuple(StopPlanned(number=n, who=("lead",), key=key) for n, key in enumerate(keys, 1))
        return Planned(job="j", kind="wash", runs=(), mixes=(), sides=(), stops=stops, crew=("lead", "second"))

    power, stock, second = ("power", "", "tip_away"), ("stock", "flat", "dressed"), ("stock", "wood", "dressed")
    mix, other = ("mix", "flat", "beds_wet"), ("mix", "flat", "beds_wet", "wind")
    then, now = planned(power, stock, stock, mix, second), planned(second, power, stock, stock, other)
    raw = {"job": "j", "initials": {str(n): {"lead": f"L{n}"} for n in (1, 2, 3, 4, 5, 8)}}
    found = earlier_of(raw, then, now, [])
    kept = {"2": {"lead": "L1"}, "3": {"lead": "L2"}, "4": {"lead": "L3"}, "1": {"lead": "L5"}}
    assert found.rest == {"initials": kept}
    assert found.lost == ("initials.4 (before mix flat)", "initials.8")
    # One tankful less: nobody knows which of two alike is the one that is left.
    fewer = earlier_of(raw, then, planned(power, stock), [])
    assert fewer.rest == {"initials": {"1": {"lead": "L1"}}}
    assert "initials.2 (before stock flat)" in fewer.lost
    assert earlier_of(raw, then, then, []).rest == {"initials": raw["initials"]}


@pytest.mark.ci
def test_back_and_the_question_mark_work_as_in_new(
    job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    typed({"Arrived": ["?", "08:15", "08:20"], "First": ["back"]})
    assert main(["record", str(job)]) == 0
    assert records(job)[0]["times"]["arrived_s"] == read("8 h 20 min", "time")
    assert "24 hour clock" in capsys.readouterr().out
    typed({"front: gauge open": ["?"]})
    main(["record", str(job)])
    assert "Its gauge with the gun open, such as `52 psi`" in capsys.readouterr().out


@pytest.mark.ci
def test_an_odd_figure_is_asked_again_and_kept_when_it_is_written_again(
    job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = typed({"Arrived": ["14:10"], LEFT: ["11:00", "16:00"], "front: gauge closed": ["83 bar", "83 bar"]})
    assert main(["record", str(job)]) == 0
    said = capsys.readouterr()
    assert sum(prompt.startswith("front: gauge closed") for prompt in asked) == 2
    assert "is rated for" in said.out
    assert "is taken as the day after arrived 2:10 pm, 20 h 50 min on" in said.out
    assert said.err == "", "what was confirmed is not told a second time"
    (done,) = records(job)
    assert done["times"]["left_s"] == read("16 h", "time")
    assert done["readings"][0]["gauge_closed_pa"] == pytest.approx(read("83 bar", "pressure"))
    assert [one["path"] for one in done["cautions"]] == ["readings.1.gauge_closed"]


def test_an_odd_figure_in_a_file_is_kept_with_a_caution_by_its_own_key(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (
        "job: 10-case\ntimes: {arrived: 14:10, left: 11:00}\nreadings: {front: {gauge_closed: 83 bar, jet: 100 m}}\n"
        "mixes: {1: {stock_used: 40 gal, stock_test: 1 trade %}}\nsides: {wall: {wet: 2000 gal}}\ncost: about sixty\n"
    )
    assert main(["record", str(job), "--from", yaml(tmp_path, text)]) == 0
    lines = capsys.readouterr().err.splitlines()
    told = {line.split(": ")[1]: line for line in lines if line.startswith("caution: ")}
    assert set(told) == {
        "readings.front.gauge_closed", "readings.front.jet", "mixes.1.stock_used", "mixes.1.stock_test",
        "sides.wall.wet", "times.left", "cost",
    }  # fmt: skip
    assert "read as 1,200 psi" in told["readings.front.gauge_closed"]
    assert "trade %" in told["mixes.1.stock_test"]
    (done,) = records(job)
    assert len(done["cautions"]) == 7
    assert done["times"]["left_s"] == read("11 h", "time")


@pytest.mark.ci
def test_an_odd_figure_in_a_box_is_told_by_its_label(
    job: Path, printed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"readings.front.gauge_closed": "83 bar", "times.arrived": "14:10", "times.left": "11:00"})
    assert main(["record", str(job), "--from", str(filled)]) == 0
    told = capsys.readouterr().err
    assert "caution: readings.front.gauge_closed (Gauge closed): read as 1,200 psi, above the" in told
    assert "caution: times.left (Left): left 11:00 am is taken as the day after arrived 2:10 pm" in told
    assert len(records(job)) == 1


def test_a_figure_near_what_was_planned_brings_no_caution(whole: Path) -> None:
    assert records(whole)[0]["cautions"] == []


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("ounces", [40, 170])
def test_the_unit_of_a_bare_number_is_that_of_the_planned_figure(
    system: Any, ounces: int, job: Path, printed: Path
) -> None:
    plan = json.loads(rows(job, "plans")[0]["json"])
    plan["mixes"][0]["stock_m3"] = read(f"{ounces} fl oz", "volume")
    asked = list(questions(plan, planned_of(plan), system))
    for one in asked:
        if one.planned and one.unit and "{}" not in one.unit and "to" not in one.planned.split():
            assert one.planned.endswith(f" {one.unit}"), one
    (used,) = [one for one in asked if one.path == "mixes.1.stock_used"]
    if system == "us":
        assert (used.planned, used.unit) == (f"{ounces} fl oz", "fl oz")


def test_a_wash_of_another_percent_asks_its_test_in_that(job: Path, printed: Path) -> None:
    plan = json.loads(rows(job, "plans")[0]["json"])
    asked = {one.path: one for one in questions(plan, planned_of(plan), "us", "wt_naocl")}
    assert asked["mixes.1.stock_test"].unit == "wt % NaOCl"
    plan["mixes"][0]["stock"] = "muriatic"
    asked = {one.path: one for one in questions(plan, planned_of(plan), "us")}
    assert asked["mixes.1.stock_test"].unit == "wt %"


def test_faults_of_values_hide_none_of_names(
    job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = "job: 10-other\nspent: much\nmixes: {3: {left: 1 gal}}\nsides: {4: {wet: 1 gal}}\nwater: {used: lots}\n"
    assert main(["record", str(job), "--from", yaml(tmp_path, text)]) == 2
    told = capsys.readouterr().err
    assert "5 faults" in told
    for word in ("`10-other`", "`much`", "no mix `3`", "no side `4`", "`lots`"):
        assert word in told


@pytest.mark.ci
@pytest.mark.parametrize(("written", "sum"), [("$18.40", 18.4), ("14 dollars", 14.0), ("1,250", 1250.0), ("60", 60.0)])
def test_money_is_read_as_it_is_written(written: str, sum: float, job: Path, printed: Path, tmp_path: Path) -> None:
    assert main(["record", str(job), "--from", yaml(tmp_path, f"job: 10-case\nspent: '{written}'\n")]) == 0
    assert main(["record", str(job), "--from", yaml(tmp_path, f"job: 10-case\ncost: '{written}'\n")]) == 0
    assert [record["spent"] for record in records(job)] == [sum, sum]


@pytest.mark.ci
def test_feet_written_as_metres_are_asked_after(
    job: Path, printed: Path, typed: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = json.loads(rows(job, "plans")[0]["json"])
    feet = round(plan["runs"][0]["reach_m"] / 0.3048 * 0.8)
    text = f"job: 10-case\nreadings: {{front: {{jet: {feet} m}}}}\n"
    assert main(["record", str(job), "--from", yaml(tmp_path, text)]) == 0
    told = capsys.readouterr().err
    assert f"readings.front.jet: read as {round(feet / 0.3048)} ft; {feet} ft would be nearer to the" in told
    metres = plan["runs"][0]["reach_m"] * 0.9
    text = f"job: 10-case\nreadings: {{front: {{jet: {metres:.1f} m}}}}\n"
    assert main(["record", str(job), "--from", yaml(tmp_path, text)]) == 0
    assert "caution" not in capsys.readouterr().err, "rightly in metres"
    typed({"front: jet": [f"{feet} m", f"{feet} ft"]})
    assert main(["record", str(job)]) == 0
    assert records(job)[-1]["readings"][0]["jet_m"] == pytest.approx(read(f"{feet} ft", "length"))


def test_a_stages_spacer_written_twice_and_not_alike_is_asked_after() -> None:
    pump = {
        "spacers": ["1 thick", "none"],
        "stages": [{"number": 1, "spacer": "2 thin"}, {"number": 2, "spacer": "None"}],
    }
    (doubt,) = list(record_doubts._of_spacers({"pump": pump}))
    assert doubt.path == "pump.stages.1.spacer"
    assert "`2 thin` here and `1 thick` among the spacers" in doubt.message


@pytest.mark.ci
@pytest.mark.parametrize(("written", "hours"), [("5:30", 5.5), ("5h30", 5.5), ("16.5", 16.5), ("5 h 30 min", 5.5)])
def test_hours_are_read_as_they_are_written(
    written: str, hours: float, job: Path, printed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["record", str(job), "--from", yaml(tmp_path, f"job: 10-case\nhours: '{written}'\n")]) == 0
    assert records(job)[0]["crew_s"] == pytest.approx(hours * 3600.0)
    assert main(["record", str(job), "--from", yaml(tmp_path, "job: 10-case\nhours: many\n")]) == 2
    assert "write hours such as `5.5`, `5:30`" in capsys.readouterr().err
