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
    ("Near empty", "2 at 12, 0.5, 1, 8"),
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


@pytest.mark.ci
def test_a_rig_off_its_plates_is_written_as_answered_and_a_house_is_tried_on_it(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert asked("rigs/finch", SOFT, monkeypatch) == 0
    said = capsys.readouterr().out
    file = bare / "rigs" / "finch.yaml"
    assert as_written(file) == SOFT_RIG
    assert "Trial house: go" in said
    assert "the suction of softwash" in said
    assert "weights, so no load is checked against" in re.sub(r"\s+", " ", said)
    assert sorted(path.name for path in bare.rglob("*.draft")) == []
    assert not (bare / "trial-house.yaml").exists(), "the house was tried in a copy"
    text = file.read_text(encoding="utf-8")
    assert "# yaml-language-server: $schema=../.schema/rig.json\n" in text
    assert "Truer: `curve:" in text
    assert all(len(line) <= 100 for line in text.splitlines())


@pytest.mark.ci
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


@pytest.mark.ci
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


@pytest.mark.ci
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


@pytest.mark.ci
def test_a_hose_may_be_said_either_way_round(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = [("First hose", "150 ft of 1/2 in") if pair[0] == "First hose" else pair for pair in SOFT]
    asked("rigs/finch", answers, monkeypatch)
    assert as_written(bare / "rigs" / "finch.yaml") == SOFT_RIG


@pytest.mark.ci
def test_gear_that_fits_is_offered_as_setups(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked("rigs/heron", HARD, monkeypatch)
    said = re.sub(r"\s+", " ", capsys.readouterr().out)
    assert "the floor of the drum beside panel, the jug of injector" in said
    rig = as_written(bare / "rigs" / "heron.yaml")
    common: dict[str, Any] = {"feed": "water", "hoses": ["drive line"], "pump": "washer"}
    assert rig["setups"] == [
        {"name": "house", "pump": "booster", "feed": "water", "dosing": "panel", "hoses": ["hose"], "tip": "throw"},
        {"name": "flat", **common, "dosing": "injector", "tip": "fan", "cleaner": "spinner"},
        {"name": "water", "pump": "booster", "feed": "water", "hoses": ["hose"], "tip": "fan"},
    ]
    levels = {"stock": "1 ft", "flow": "8 gpm"}
    assert rig["dosing"][0]["at"] == {"water": "3 ft", **levels}
    assert rig["dosing"][0]["again"] == {"dial": "2", "share": "12 %", "water": "0.5 ft", **levels}
    assert rig["pumps"][0]["curve"] == [["0 gpm", "70 psi"], ["8 gpm", "58 psi"], ["16 gpm", "31 psi"]]
    assert rig["pumps"][1]["unloader"] == "3000 psi", "at its plate's pressure"


PANEL = (
    ("Water tank", "100"), ("Its inside floor", "2"), ("Its shape", "upright"), ("Inside diameter", "30"),
    ("First pump", "multistage"), ("Points off", "0 at 70, 8 at 58, 16 at 31"), ("What turns it", "engine"),
    ("First hose", "3/4 x 100"), ("First tip", "solid"), ("Its hole", "1/4"), ("Another tip", "fan"), ("Its size", "60"),
    ("A proportioning panel", "panel"), ("Its tested dial", "1 at 4, 2 at 9"),
)  # fmt: skip


@pytest.mark.ci
@pytest.mark.parametrize(
    ("question", "wrong", "told", "right"),
    [
        # The panel sits at its pump, 2 ft up, on the tank's floor: 2.7 ft of water at the most stand over it.
        ("At the test", "5, 1, 8", "the water was 5 ft over the panel, and can be only 0 ft to 2.7 ft over it", "2.5, 1, 8"),
        ("At the test", "2.5, 8, 8", "the stock was 8 ft over the panel", "2.5, 1, 8"),
        ("At the test", "2.5, 1", "is not 3 figures", "2.5, 1, 8"),
        ("Near empty", "2 at 12, 2, 1, 8", "levels too close together", "2 at 12, 0.4, 1, 8"),
        ("Near empty", "2 at 8, 0.4, 1, 8", "no panel can have given both tests", "2 at 12, 0.4, 1, 8"),
        ("Near empty", "7 at 12, 0.4, 1, 8", "no mark between those tested", "2 at 12, 0.4, 1, 8"),
        ("The pressure it costs", "0.01 at 8", "too little for a panel that drew so", "2 at 8"),
        ("Its tested dial", "1 at 9, 2 at 4", "mark 2 draws 4 %, no more than mark 1; a higher mark", "1 at 4, 2 at 9"),
    ],
)  # fmt: skip
def test_a_panels_levels_and_tests_are_tried_at_once(
    question: str, wrong: str, told: str, right: str, bare: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    usual = {"At the test": "2.5, 1, 8", "How high the floor of its stock": "1.5"}
    before = [pair for pair in PANEL if pair[0] != question]
    answers = [*before, *((name, said) for name, said in usual.items() if name != question)]
    asked("rigs/heron", [*answers, (question, wrong), (question, right)], monkeypatch)
    said = re.sub(r"\s+", " ", capsys.readouterr().out)
    assert told in said
    (panel,) = as_written(bare / "rigs" / "heron.yaml")["dosing"]
    assert panel["drum_floor"] == "1.5 ft"
    assert panel["at"] == {"water": "2.5 ft", "stock": "1 ft", "flow": "8 gpm"}


@pytest.mark.ci
def test_a_panel_off_its_pump_is_asked_for_its_height_and_goes_by_it(
    bare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked("rigs/heron", [*PANEL, ("How high the panel", "0"), ("At the test", "4, 3, 8")], monkeypatch)
    (panel,) = as_written(bare / "rigs" / "heron.yaml")["dosing"]
    assert panel["height"] == "0 ft"
    assert panel["at"]["water"] == "4 ft", "2 ft lower it stands 2 ft higher over it"


@pytest.mark.ci
def test_an_injector_says_its_test_and_its_jug(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tested = (
        ("When it was bucket-tested", "2026-05-01"), ("The flow at that test", "5"), ("The gauge where it stops", "250"),
        ("The highest gauge at which", "210"), ("What the jug", "5"),
    )  # fmt: skip
    asked("rigs/heron", [*HARD, *tested], monkeypatch)
    assert as_written(bare / "rigs" / "heron.yaml")["dosing"][1] == {
        "name": "injector", "kind": "injector", "water_to_stock": "10", "tested": "2026-05-01", "ratio_flow": "5 gpm",
        "max_back_pressure": "250 psi", "full_draw": "210 psi", "jug": "5 gal",
    }  # fmt: skip


@pytest.mark.ci
def test_a_setup_has_tips_of_its_own_to_rinse_and_to_clean(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    more = [*HARD[:-4], ("Another tip", "fan"), ("Its size", "15"), *HARD[-4:]]
    asked("rigs/heron", [*more, ("Tip it rinses through: fan", "fan")], monkeypatch)
    house, flat, *_ = as_written(bare / "rigs" / "heron.yaml")["setups"]
    assert (house["rinse_tip"], "cleaner" in house) == ("fan", False)
    assert (flat["tip"], flat["rinse_tip"], flat["cleaner"]) == ("fan", "fan 2", "spinner"), "the widest draws"


@pytest.mark.ci
def test_a_role_offered_may_be_declined(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked("rigs/heron", [*HARD, ("Surface cleaner it cleans", "none")], monkeypatch)
    assert all("cleaner" not in one for one in as_written(bare / "rigs" / "heron.yaml")["setups"])


@pytest.mark.ci
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


@pytest.mark.ci
def test_a_pressure_washer_whose_unloader_nobody_knows_stays_a_stop(
    bare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked("rigs/heron", [pair for pair in HARD if not pair[0].startswith("Has it")], monkeypatch)
    assert "unloader" not in as_written(bare / "rigs" / "heron.yaml")["pumps"][1]


@pytest.mark.ci
@pytest.mark.parametrize(
    ("question", "wrong", "told"),
    [
        ("Its plate: flow", "5.5 psi", "flow"),
        ("Its plate: flow", "550", "cannot be right"),
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


@pytest.mark.ci
def test_back_and_a_draft_take_up_a_rig_as_they_do_a_job(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    at = next(n for n, pair in enumerate(SOFT) if pair[0] == "Where its switch")
    first = [*SOFT[:at], ("Where its switch", "back"), ("Its plate: pressure", "60"), ("Where its switch", "stop")]
    assert asked("rigs/finch", first, monkeypatch) == 0
    said = capsys.readouterr().out
    assert "No rig has been written yet" in said
    assert "planner new rigs/finch" in said
    assert [path.name for path in bare.rglob("*.draft")] == ["rigs-finch.draft"]
    assert asked("rigs/finch", SOFT[at:], monkeypatch) == 0
    assert as_written(bare / "rigs" / "finch.yaml") == SOFT_RIG
    assert not list(bare.rglob("*.draft"))


@pytest.mark.ci
def test_the_folder_alone_asks_for_the_name_and_files_the_rig_under_it(
    bare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert asked("rigs", [("What is the rig called", "Big Finch"), *SOFT], monkeypatch) == 0
    assert as_written(bare / "rigs" / "big-finch.yaml")["rig"] == "Big Finch"
    found = Desk(bare).rig_named("Big Finch")
    assert found is not None
    assert found.sound


@pytest.mark.ci
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


@pytest.mark.ci
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
