"""A rig asked for off its plates, question by question, from the first answer to a house tried on it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.inputs.shelf import Desk
from planner.inputs.tables.pumps import pump_kinds
from planner.interview.rig.pumps import _sold
from tests.commands.asked import as_written

Answers = Iterable[tuple[str, str]]

SOFT = (
    ("Water tank", "100"),
    ("Its inside floor", "2"),
    ("Mix tank", "50"),
    ("Its inside floor", "2"),
    ("What it is made of", "plastic"),
    ("First pump", "12 V"),
    ("Its plate: flow", "5.5"),
    ("Its plate: pressure", "60"),
    ("Where its switch", "60"),
    ("What the liquid", "plastic"),
    ("First hose", "1/2 x 150"),
    ("Working pressure", "300"),
    ("What its couplings", "stainless"),
    ("First tip", "solid"),
    ("Its hole", "1/8"),
    ("Supply hose", "5/8 in x 100 ft"),
    ("What keeps chemical", "air gap"),
    ("Eyewash", "6"),
)
"""A 12 V rig, as an owner with plates and a tape at hand answers; Enter to all else."""

SOFT_RIG = {
    "rig": "Finch",
    "tanks": [
        {"name": "water", "volume": "100 gal", "holds": "water", "floor": "2 ft"},
        {"name": "mix", "volume": "50 gal", "holds": "mix", "floor": "2 ft", "wetted": ["plastic"]},
    ],
    "pumps": [
        {
            "name": "softwash", "kind": "diaphragm", "flow": "5.5 gpm", "shut_off": "60 psi", "drive": "battery",
            "cut_off": "60 psi", "height": "2 ft", "wetted": ["plastic"],
        }
    ],
    "hoses": [{"name": "hose", "bore": "1/2 in", "length": "150 ft", "rated": "300 psi", "couplings": ["stainless"]}],
    "tips": [{"name": "throw", "pattern": "solid", "orifice": "1/8 in"}],
    "setups": [
        {"name": "house", "pump": "softwash", "feed": "mix", "dosing": "premix", "hoses": ["hose"], "tip": "throw"}
    ],
    "supply_hose": {"bore": "5/8 in", "length": "100 ft", "backflow": "air_gap"},
    "carried": {"eyewash": "6 gal"},
}  # fmt: skip

HARD = (
    ("Water tank", "275"),
    ("First pump", "multistage"),
    ("Points off", "0 at 70, 8 at 58, 16 at 31"),
    ("What turns it", "mains"),
    ("Its motor's plate", "0.75 hp"),
    ("Its volts", "115"),
    ("Another pump", "washer"),
    ("Its plate: flow", "5.5"),
    ("Its plate: pressure", "3000"),
    ("What turns it", "engine"),
    ("Has it an unloader", "yes"),
    ("First hose", "3/4 x 150"),
    ("Working pressure", "200"),
    ("Another hose", "3/8 x 100"),
    ("What the crew calls it .Enter: hose 2", "drive line"),
    ("Working pressure", "4000"),
    ("First tip", "solid"),
    ("Its hole", "1/4"),
    ("Another tip", "fan"),
    ("Its size", "60"),
    ("Another tip", "3"),
    ("Its size", "7"),
    ("A proportioning panel", "panel"),
    ("Its tested dial", "1 at 4, 2 at 9"),
    ("At the test", "3, 1, 8"),
    ("Another panel", "injector"),
    ("Parts of water", "10"),
    ("Eyewash", "6"),
)
"""A booster with a panel, and a pressure washer with an injector."""

HOUSE = """\
job: Alder Lane
site: {address: 14 Alder Lane}
surfaces:
  - {kind: vinyl, around: 160 ft, height: 18 ft, soil: medium}
setup: house
tap: 5 gal in 50 s
access: {power_line: 24 ft}
near: {flower_beds: 400 ft2}
"""

DAY = "rig: Finch\ncrew: 2\nforecast: {low: 58 F, high: 79 F, wind: 5 mph, gust: 9 mph, rain: none, sun: part}\n"

SHORT = """\
rig: Finch
tanks:
  - {name: water, volume: 100 gal, floor: 2 ft}
  - {name: mix, volume: 50 gal, floor: 2 ft, holds: mix}
pumps:
  - {name: softwash, kind: diaphragm, flow: 5.5 gpm, shut_off: 60 psi, cut_off: 60 psi, height: 2 ft}
hoses:
  - {name: hose, bore: 1/2 in, length: 150 ft, rated: 300 psi}
tips:
  - {name: throw, orifice: 1/8 in}
setups:
  - {name: house, pump: softwash, feed: mix, dosing: premix, hoses: [hose], tip: throw}
supply_hose: {bore: 5/8 in, length: 100 ft, backflow: air_gap}
carried: {eyewash: 6 gal}
"""
"""All that a rig of one pump needs."""


@pytest.fixture
def bare(demo: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workspace with a company and a shelf, and no rig yet."""
    for path in (demo / "rigs").iterdir():
        path.unlink()
    (demo / "rigs").rmdir()
    monkeypatch.chdir(demo)
    return demo


def asked(path: str, answers: Answers, monkeypatch: pytest.MonkeyPatch, *options: str) -> int:
    """`planner new` with each answer given to the next question that begins so; Enter to every other."""
    left = list(answers)

    def typed(prompt: str = "") -> str:
        place = next((n for n, (start, _) in enumerate(left) if re.match(start, prompt)), None)
        return left.pop(place)[1] if place is not None else ""

    monkeypatch.setattr("builtins.input", typed)
    code = main(["new", path, *options])
    assert not left, "each answer had its question"
    return code


def test_a_rig_off_its_plates_is_written_as_answered_and_a_house_is_tried_on_it(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert asked("rigs/finch", SOFT, monkeypatch) == 0
    said = capsys.readouterr().out
    file = bare / "rigs" / "finch.yaml"
    assert as_written(file) == SOFT_RIG
    assert "Trial house: go" in said
    assert "the suction of softwash" in said
    assert "weights, so no load is held against" in re.sub(r"\s+", " ", said)
    assert sorted(path.name for path in bare.rglob("*.draft")) == []
    assert not (bare / "trial-house.yaml").exists(), "the house was tried in a copy"
    text = file.read_text(encoding="utf-8")
    assert "# yaml-language-server: $schema=../.schema/rig.json\n" in text
    assert "Truer: `curve:" in text
    assert all(len(line) <= 112 for line in text.splitlines())


def test_what_would_make_it_surer_says_its_key_and_its_share_of_the_reach(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked("rigs/finch", SOFT, monkeypatch)
    said = capsys.readouterr().out
    shares = {
        fills: int(share)
        for fills, share in re.findall(r"^(?:read|time|pace|note) .*?  +(\S.*?)  +(\d+) %$", said, re.MULTILINE)
    }
    assert list(shares) == ["`shut_off`", "a point of `curve`", "`throw` of a record", "`jet` of a record"]
    whole = shares["`throw` of a record"]
    # A tenth of a pump's head is less than a tenth of the reach; what gives nothing at full flow loses all of it there.
    assert 0 < whole < 10
    assert shares["`shut_off`"] == whole
    assert 0 < shares["a point of `curve`"] < whole


def test_a_rig_of_one_pump_needs_fifteen_lines_for_a_house_that_is_not_held(
    bare: Path, capsys: pytest.CaptureFixture[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    assert len(SHORT.splitlines()) <= 15
    (bare / "rigs").mkdir()
    (bare / "rigs" / "finch.yaml").write_text(SHORT, encoding="utf-8")
    day = bare / "2026-06-12"
    day.mkdir()
    (day / "day.yaml").write_text(DAY, encoding="utf-8")
    (day / "10-alder.yaml").write_text(HOUSE, encoding="utf-8")
    out = tmp_path_factory.mktemp("packets")
    assert main(["packet", str(day), "-o", str(out)]) == 0
    assert "HELD" not in capsys.readouterr().out
    assert (out / "2026-06-12" / "10-alder.pdf").stat().st_size > 100_000


def test_a_workspace_of_a_company_alone_tries_its_first_rig_on_bleach_as_sold(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("stock.yaml", "surfaces.yaml"):
        (bare / name).unlink()
    (bare / "company.yaml").write_text("name: Case\nunits: us\n", encoding="utf-8")
    assert asked("rigs/finch", [*SOFT, ("A job you remember", "stucco"), ("How much", "900")], monkeypatch) == 0
    said = capsys.readouterr().out
    assert "fresh 12.5 trade % bleach, as there is no stock.yaml yet" in said
    assert "Trial house: go" in said
    assert not (bare / "stock.yaml").exists()


@pytest.mark.parametrize(
    ("words", "kind"),
    [("12v", "diaphragm"), ("soft wash pump", "diaphragm"), ("booster", "centrifugal"), ("Pressure washer", "piston")],
)
def test_a_pump_is_found_by_the_owners_word(words: str, kind: str) -> None:
    sold = {row["called"]: (one, row) for one in pump_kinds().values() for row in one.sold_as}
    assert sold[_sold(sold)(words)][0].kind == kind


def test_a_hose_may_be_said_either_way_round(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = [("First hose", "150 ft of 1/2 in") if pair[0] == "First hose" else pair for pair in SOFT]
    asked("rigs/finch", answers, monkeypatch)
    assert as_written(bare / "rigs" / "finch.yaml") == SOFT_RIG


def test_gear_that_fits_is_offered_as_setups(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked("rigs/heron", HARD, monkeypatch)
    rig = as_written(bare / "rigs" / "heron.yaml")
    common: dict[str, Any] = {"feed": "water", "hoses": ["drive line"], "pump": "washer"}
    assert rig["setups"] == [
        {"name": "house", "pump": "booster", "feed": "water", "dosing": "panel", "hoses": ["hose"], "tip": "throw"},
        {"name": "clean flat", **common, "tip": "spinner"},
        {"name": "treat flat", **common, "dosing": "injector", "tip": "fan"},
        {"name": "water", "pump": "booster", "feed": "water", "hoses": ["hose"], "tip": "fan"},
    ]
    assert rig["dosing"][0]["at"] == {"water": "3 ft", "stock": "1 ft", "flow": "8 gpm"}
    assert rig["pumps"][0]["curve"] == [["0 gpm", "70 psi"], ["8 gpm", "58 psi"], ["16 gpm", "31 psi"]]
    assert rig["pumps"][1]["unloader"] == "3000 psi", "at its plate's pressure"


def test_what_nobody_says_stays_unknown_and_holds_the_house(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    known = [pair for pair in SOFT if pair[0] not in ("Eyewash", "What keeps chemical", "Where its switch")]
    assert asked("rigs/finch", known, monkeypatch) == 1
    said = capsys.readouterr().out
    rig = as_written(bare / "rigs" / "finch.yaml")
    assert "carried" not in rig
    assert "backflow" not in rig["supply_hose"]
    assert "cut_off" not in rig["pumps"][0]
    assert "Trial house: HELD" in said
    assert re.search(r"STOP +site.eyewash", said)
    assert re.search(r"caution +supply.backflow", said)


def test_a_pressure_washer_whose_unloader_nobody_knows_stays_a_stop(
    bare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked("rigs/heron", [pair for pair in HARD if not pair[0].startswith("Has it")], monkeypatch)
    assert "unloader" not in as_written(bare / "rigs" / "heron.yaml")["pumps"][1]


@pytest.mark.parametrize(
    ("question", "wrong", "told"),
    [
        ("Its plate: flow", "5.5 psi", "flow"),
        ("Its plate: flow", "550", "cannot be meant"),
        ("First hose", "3/4 in", "is not 2 figures"),
        ("Its hole", "4006", "write the size alone"),
        ("What the liquid", "kryptonite", "no material"),
        ("Supply hose", "x", "write them like `3/4 in x 100 ft`"),
    ],
)
def test_a_wrong_answer_is_told_at_once_and_asked_again(
    question: str,
    wrong: str,
    told: str,
    bare: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    at = next(n for n, pair in enumerate(SOFT) if pair[0] == question)
    answers = [*SOFT[:at], (question, wrong), *SOFT[at:]]
    assert asked("rigs/finch", answers, monkeypatch) == 0
    assert told in capsys.readouterr().out
    assert as_written(bare / "rigs" / "finch.yaml") == SOFT_RIG


def test_back_and_a_draft_take_up_a_rig_as_they_do_a_job(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    at = next(n for n, pair in enumerate(SOFT) if pair[0] == "Where its switch")
    first = [*SOFT[:at], ("Where its switch", "back"), ("Its plate: pressure", "60"), ("Where its switch", "stop")]
    assert asked("rigs/finch", first, monkeypatch) == 0
    said = capsys.readouterr().out
    assert "No rig is written yet" in said
    assert "planner new rigs/finch" in said
    assert [path.name for path in bare.rglob("*.draft")] == ["rigs-finch.draft"]
    assert asked("rigs/finch", SOFT[at:], monkeypatch) == 0
    assert as_written(bare / "rigs" / "finch.yaml") == SOFT_RIG
    assert not list(bare.rglob("*.draft"))


def test_the_folder_alone_asks_for_the_name_and_files_the_rig_under_it(
    bare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert asked("rigs", [("What is the rig called", "Big Finch"), *SOFT], monkeypatch) == 0
    assert as_written(bare / "rigs" / "big-finch.yaml")["rig"] == "Big Finch"
    found = Desk(bare).rig_named("Big Finch")
    assert found is not None
    assert found.sound


def test_a_job_can_be_asked_for_right_after_its_rig(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", "2026-06-12"]) == 2
    assert "planner new rigs/NAME" in capsys.readouterr().err
    assert asked("rigs/finch", SOFT, monkeypatch) == 0
    capsys.readouterr()
    monkeypatch.setattr("builtins.input", lambda prompt="": "stop")
    assert main(["new", "2026-06-12"]) == 0
    assert "A job for 2026-06-12" in capsys.readouterr().out


def test_metric_rigs_are_asked_in_metric(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = [
        ("Water tank", "400"), ("Mix tank", "200"), ("First pump", "12 V"), ("Its plate: flow", "20"),
        ("Its plate: pressure", "4"), ("First hose", "12.5 x 45"), ("First tip", "solid"), ("Its hole", "3.2"),
    ]  # fmt: skip
    asked("rigs/finch", answers, monkeypatch, "--units", "si")
    rig = as_written(bare / "rigs" / "finch.yaml")
    assert rig["pumps"][0]["flow"] == "20 L/min"
    assert rig["hoses"][0] == {"name": "hose", "bore": "12.5 mm", "length": "45 m"}
    assert Desk(bare).rig_named("Finch") is not None
