"""A job asked for question by question, from the first answer to the file and what the check says of it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.inputs.workspace import load
from planner.interview.surfaces import tallest
from tests.commands.asked import ANSWERS, DAY, JOB, as_written, new


@pytest.mark.ci
def test_a_job_is_written_as_it_was_answered_and_checked_at_once(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code = new(f"{DAY}/50-alder", [*ANSWERS, "y"], monkeypatch)
    said = capsys.readouterr().out
    file = demo / DAY / "50-alder.yaml"
    assert as_written(file) == JOB
    assert "# yaml-language-server: $schema=../.schema/job.json\n" in file.read_text(encoding="utf-8")
    assert f"{DAY}/50-alder  Alder Lane" in said
    assert main(["check", f"{DAY}/50-alder.yaml"]) == code == 0
    checked = capsys.readouterr().out
    assert checked in said, "the table at the end is check's own"
    assert "planner packet" in said
    assert main(["check", "--json", str(file)]) == code
    found = json.loads(capsys.readouterr().out)
    assert found["faults"] == []
    assert found["jobs"][0]["title"] == "Alder Lane"
    assert sorted(path.name for path in demo.iterdir() if path.suffix == ".draft") == []
    assert not list((demo / DAY).glob("*.draft"))


@pytest.mark.ci
def test_a_new_day_gets_its_page_with_its_first_job(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    day = ["Ana, Joe", "06:45", "58", "79 F", "7", "12 mph", "20 % from 17:00", "part", "2", "", "3 %", ""]
    assert new("2026-06-12", [*day, *ANSWERS, "", "25", "yes"], monkeypatch) in (0, 1)
    page = as_written(demo / "2026-06-12" / "day.yaml")
    assert page == {
        "rig": "Bittern",
        "crew": ["Ana", "Joe"],
        "leave_yard": "06:45",
        "forecast": {
            "low": "58 F",
            "high": "79 F",
            "wind": "7 mph",
            "gust": "12 mph",
            "rain": "20 % from 17:00",
            "sun": "part",
        },
        "heels": {"roof mix": {"stock": "bleach", "strength": "3 %", "volume": "2 gal"}},
        "drive": {"10-alder-lane": "25 min"},
    }
    read = load([demo / "2026-06-12"])
    assert not read.faults
    assert [job.id for job in read.jobs] == ["2026-06-12/10-alder-lane"]


@pytest.mark.ci
def test_a_wrong_answer_is_told_as_the_check_would_and_asked_again(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = {
        5: ["27 gal", "tall", "0"],
        6: ["vinil", "99"],
        9: ["160 around", "big", "1 x 2 x 3", "8 squares"],
        10: ["9000"],
        21: ["strong", "20 degBe"],
        23: ["hose", "house, roofs"],
        34: ["bed 400 ft", "moat 3 ft", "12", "beds, beds"],
    }
    answers = [part for at, answer in enumerate(ANSWERS) for part in [*wrong.get(at, ()), answer]]
    assert new(f"{DAY}/50-alder", [*answers, "y"], monkeypatch) == 0
    said = capsys.readouterr().out
    for told in (
        "`27 gal` is a volume",
        "write `vinyl` if that was meant",
        "a length around needs a height",
        "`squares` measures a roof, and vinyl is not a roof",
        "more comes off it than it has",
        "`strong` cannot be read as a strength; write it like `1.2 %`",
        "`20 degBe` does not say how much hypochlorite is in the mix",
        "there is no setup of rig Bittern called",
        "this planner does not watch for `moat 3 ft`",
    ):
        assert told in said, told
    assert as_written(demo / DAY / "50-alder.yaml") == JOB


@pytest.mark.ci
def test_going_back_changes_one_answer_and_offers_the_rest_again(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    back = ["back"] * 13  # from the last word to the setup
    again = ["roof", "-", *[""] * 9]
    new(f"{DAY}/50-alder", [*ANSWERS, *back, *again, "y"], monkeypatch)
    said = capsys.readouterr().out
    assert "(Enter: house, as you said)" in said
    changed = {name: value for name, value in JOB.items() if name != "uphill"} | {"setup": "roof"}
    assert as_written(demo / DAY / "50-alder.yaml") == changed


@pytest.mark.ci
def test_an_earlier_job_at_the_address_is_offered_and_only_the_difference_written(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = ["Millrace again", "", "3, millrace  ROW"]
    assert new(f"{DAY}/50-again", [*answers, *[""] * 14, "y"], monkeypatch) in (0, 1)
    assert "2026-06-09/10-millrace was at this address" in capsys.readouterr().out
    assert as_written(demo / DAY / "50-again.yaml") == {
        "job": "Millrace again",
        "like": "2026-06-09/10-millrace",
        "site": {"address": "3, millrace  ROW", "contact": "555-0142"},
    }
    (job,) = load([demo / DAY / "50-again.yaml"]).jobs
    assert job.job.building is not None
    assert job.job.building.height == pytest.approx(27 * 0.3048)


@pytest.mark.ci
def test_chemicals_of_walls_that_are_gone_do_not_come_along(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = ["Kiln, gable", "", "2 Kiln Yard", "", "", "", "", "new"]
    wall = ["vinyl", "gable wall", "", "30 x 13", "", "", "", "", "house", "", "", "", "", "", ""]
    new(f"{DAY}/50-kiln", [*before, *wall, "y"], monkeypatch)
    raw = as_written(demo / DAY / "50-kiln.yaml")
    assert raw["surfaces"] == [{"name": "gable wall", "kind": "vinyl", "width": "30 ft", "height": "13 ft"}]
    assert raw["setup"] == "house"
    assert raw["near"]["storm_drain"] == "30 ft"
    assert not raw.keys() & {"like", "chemicals", "hose_runs"}
    assert not load([demo / DAY / "50-kiln.yaml"]).faults


@pytest.mark.ci
def test_nothing_is_taken_from_an_earlier_job_that_is_not_wanted(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = list(ANSWERS)
    answers[2:3] = ["3 Millrace Row", "no"]
    assert new(f"{DAY}/50-alder", [*answers, "y"], monkeypatch) == 0
    assert as_written(demo / DAY / "50-alder.yaml") == {**JOB, "site": {"address": "3 Millrace Row"}}


@pytest.mark.ci
def test_what_was_near_then_can_be_near_no_more(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = ["Millrace again", "", "3 Millrace Row", *[""] * 13, "new", "", "y"]
    new(f"{DAY}/50-again", answers, monkeypatch)
    assert as_written(demo / DAY / "50-again.yaml")["near"] == {}
    (job,) = load([demo / DAY / "50-again.yaml"]).jobs
    assert job.job.near is not None
    assert job.job.near.fish_pond is None


@pytest.mark.ci
def test_a_yard_job_is_asked_for_its_pump_and_bath(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = [
        "Lime",
        "yard",
        "roof",
        "descale, rebuild",
        "5",
        "14",
        "16",
        "15 vol % muriatic",
        "36",
        "seal",
        "2 thin, none, 1 thick",
        "",
    ]
    assert new(DAY, [*answers, "", "y"], monkeypatch) in (0, 1)
    assert as_written(demo / DAY / "100-lime.yaml") == {
        "job": "Lime",
        "kind": "yard",
        "pump": "roof pump",
        "work": ["descale", "rebuild"],
        "tub": "5 gal",
        "across": "14 in",
        "tub_height": "16 in",
        "bath": "15 vol % muriatic",
        "throw": "36 ft",
        "replace": ["seal"],
        "spacers": ["2 thin", "none", "1 thick"],
    }


@pytest.mark.ci
def test_a_hose_run_of_its_own_is_put_together_and_a_roof_asks_for_its_pitch(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    roof = [
        "Roof",
        "",
        "9 New St",
        "",
        "",
        "",
        "shingle",
        "",
        "south",
        "40 x 30 ft",
        "6/12",
        "heavy",
        "leave",
        "",
        "",
        "17",
    ]
    run = [
        "",
        "",
        "own",
        "ridge",
        "roof pump",
        "tap",
        "panel",
        "premix",
        "back",
        "roof mix",
        "premix",
        "roof line",
        "roof tip",
    ]
    stand = ["", "6", "12"]
    site = ["hydrant", "40", "58", "", "20", "no", "", "yes", "6/12", "11", "yes", "2 downspouts"]
    assert new(f"{DAY}/50-roof", [*roof, *run, *stand, *site, "y"], monkeypatch) in (0, 1)
    assert "is plumbed to `booster`" in capsys.readouterr().out
    assert as_written(demo / DAY / "50-roof.yaml") == {
        "job": "Roof",
        "site": {"address": "9 New St"},
        "building": {"height": "17 ft"},
        "surfaces": [
            {
                "kind": "asphalt_shingle",
                "side": "south",
                "footprint": "40 ft x 30 ft",
                "pitch": "6/12",
                "soil": "heavy",
                "rinse": "leave",
            }
        ],
        "hose_runs": [
            {
                "name": "ridge",
                "pump": "roof pump",
                "feed": "roof mix",
                "dosing": "premix",
                "hoses": ["roof line"],
                "tip": "roof tip",
                "standoff": "6 ft",
                "past_eave": "12 ft",
            }
        ],
        "water": {"source": "hydrant", "bucket": "5 gal in 40 s", "static": "58 psi"},
        "access": {"ladder": "20 ft", "roof_work": {"pitch": "6/12", "eave": "11 ft", "anchor": "true"}},
        "near": {"downspouts": "2"},
    }


@pytest.mark.ci
def test_a_side_that_would_not_tell_two_walls_apart_is_asked_for_again(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = list(ANSWERS)
    answers[7:9], answers[14:16] = ["front", "front"], ["", "Front", "rear"]
    assert new(f"{DAY}/50-alder", [*answers, "y"], monkeypatch) == 0
    assert "two surfaces would be called `Front` on paper" in capsys.readouterr().out
    assert [one.get("side") for one in as_written(demo / DAY / "50-alder.yaml")["surfaces"]] == ["front", "rear"]


@pytest.mark.ci
def test_what_does_not_go_together_is_told_before_anything_is_written(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    rig = demo / "rigs" / "bittern.yaml"
    text = rig.read_text(encoding="utf-8")
    rig.write_text(text.replace("name: house, pump: booster, feed: water", "name: house, pump: roof pump, feed: water"))
    code = new(f"{DAY}/50-alder", [*ANSWERS, "", "write"], monkeypatch)
    said = capsys.readouterr()
    assert "does not fit together yet" in said.out
    assert "`panel` is plumbed to `booster`" in said.out
    assert code == 2
    assert "50-alder.yaml" in said.err


@pytest.mark.ci
def test_bare_numbers_take_the_units_asked_for(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = list(ANSWERS)
    answers[5], answers[9], answers[16], answers[24], answers[30] = (
        "8.2",
        "48 around x 5.5 m",
        "gable 10 x 3",
        "1.2",
        "7",
    )
    answers[34] = "beds 37, pond 8"
    assert new(f"{DAY}/50-alder", [*answers, "y"], monkeypatch, "--units", "si") in (0, 1)
    raw = as_written(demo / DAY / "50-alder.yaml")
    assert raw["building"] == {"height": "8.2 m"}
    assert raw["surfaces"][0]["around"] == "48 m"
    assert raw["surfaces"][1]["gable"] == "10 m x 3 m"
    assert raw["tap"] == "20 L in 50 s"
    assert raw["near"]["flower_beds"] == "37 m2"


@pytest.mark.ci
def test_one_strength_may_be_written_for_all_walls(demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    answers = list(ANSWERS)
    answers[21] = "1.2"
    assert new(f"{DAY}/50-alder", [*answers, "y"], monkeypatch) == 0
    assert "How strong on the wall [%] (Enter: the table's, 1 trade % on vinyl)" in capsys.readouterr().out
    assert as_written(demo / DAY / "50-alder.yaml") == {**JOB, "strength": "1.2 %"}


@pytest.mark.ci
def test_a_height_left_to_the_walls_is_offered_from_them(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = list(ANSWERS)
    answers[5] = ""
    answers.insert(21, "")
    assert new(f"{DAY}/50-alder", [*answers, "y"], monkeypatch) in (0, 1)
    assert (
        "How high must the mix reach [ft] (Enter: 27 ft, the tallest wall and the gable on it)"
        in capsys.readouterr().out
    )
    assert as_written(demo / DAY / "50-alder.yaml")["building"] == {"height": "27 ft"}


@pytest.mark.parametrize(
    ("walls", "told"),
    [
        ([{"height": "18 ft"}, {"area": "300 ft2"}], "18 ft"),
        ([{"height": "18 ft"}, {"height": "22 ft"}, {"gable": "30 ft x 8 ft"}, {"gable": "30 ft x 9 ft"}], "31 ft"),
        ([{"gable": "30 ft x 8 ft"}], ""),
        ([{"height": "18 ft"}, {"footprint": "30 ft x 8 ft", "pitch": "6/12"}], ""),
    ],
)
def test_no_height_is_offered_that_the_walls_do_not_tell(walls: list[Any], told: str) -> None:
    assert tallest(walls, "us")[0] == told


def test_the_crew_and_the_work_are_explained(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    new("2026-06-12", ["?", "stop"], monkeypatch)
    assert "are printed on the packet" in capsys.readouterr().out
    new(DAY, ["Lime", "?", "yard", "roof", "?", "stop"], monkeypatch)
    said = capsys.readouterr().out
    assert "Enter takes: wash." in said
    assert "`descale` soaks its parts" in said


@pytest.mark.ci
def test_spacers_may_go_by_their_stage(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = ["Lime", "yard", "roof", "rebuild", "", "", "4: thick, 2: thin", "", "", "y"]
    assert new(DAY, answers, monkeypatch) in (0, 1)
    assert as_written(demo / DAY / "100-lime.yaml")["spacers"] == {"4": "thick", "2": "thin"}


@pytest.mark.ci
def test_soap_goes_on_with_the_tables_bleach_and_the_shelf_is_told_what_it_lacks(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = list(ANSWERS)
    answers[21:23] = ["1.2", "1"]
    assert new(f"{DAY}/50-alder", [*answers, "y"], monkeypatch) in (0, 1)
    said = capsys.readouterr().out
    assert "soap-3 does not say which kind it is: write `kind` in stock.yaml" in said
    raw = as_written(demo / DAY / "50-alder.yaml")
    assert raw["chemicals"] == [{"stock": "bleach", "strength": "1.2 %"}, {"stock": "soap", "dose": "1 fl oz/gal"}]
    assert "strength" not in raw
    assert "No soap goes into this mix" not in said


@pytest.mark.ci
def test_soap_and_the_tables_own_go_on_the_walls_they_are_for(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = list(ANSWERS)
    answers[13:20] = ["deck", "", "240", ""]
    answers[19] = "1"
    new(f"{DAY}/50-alder", [*answers, "y"], monkeypatch)
    raw = as_written(demo / DAY / "50-alder.yaml")
    assert raw["surfaces"][1]["kind"] == "deck"
    assert raw["chemicals"] == [
        {"stock": "bleach", "surfaces": ["vinyl"]},
        {"stock": "percarbonate", "surfaces": ["deck"]},
        {"stock": "soap", "dose": "1 fl oz/gal", "surfaces": ["vinyl"]},
    ]
    assert not load([demo / DAY / "50-alder.yaml"]).faults


@pytest.mark.ci
def test_a_running_tap_a_height_and_steep_ground_are_asked_for_where_they_matter(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = list(ANSWERS)
    answers[27:30] = ["", "58", "6 gpm at 60 psi", "6 at 31", "5200"]
    answers[34] = "steep"
    assert new(f"{DAY}/50-alder", [*answers, "y"], monkeypatch) in (0, 1)
    assert "the running tap's pressure is not below the closed one's" in capsys.readouterr().out
    raw = as_written(demo / DAY / "50-alder.yaml")
    assert raw["water"] == {"source": "tap", "static": "58 psi", "flow_test": {"flow": "6 gpm", "pressure": "31 psi"}}
    assert raw["site"]["altitude"] == "5200 ft"
    assert raw["access"]["slope"] == "steep"
