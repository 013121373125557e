"""What is written for a wall is planned there, held, or a fault: never left out, never in another chemical's gear."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.meeting import may_follow
from planner.checks.model import CheckedJob, Finding
from planner.days.prepare import Trouble, checked_jobs
from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.workspace import load
from planner.plan.between.matrix import meets
from planner.words import spoken as words
from tests import workspaces
from tests.sampled import one_in

PREMIX = {"feed": "mix", "dosing": "premix"}
LOTS = [
    {"name": "drum", "chemical": "bleach", "strength": "12.5 trade %", "made": "2026-06-09", "kept_at": "cool",
     "on_hand": "30 gal"},
    {"name": "muri", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "5 gal"},
    {"name": "lye", "chemical": "caustic", "strength": "50 wt %", "on_hand": "5 gal"},
    {"name": "suds", "chemical": "soap", "on_hand": "2 gal", "bleach_stable": "true"},
    *({"name": f"bag of {name}", "chemical": name, "on_hand": "50 lb"} for name in CHEMICALS
      if CHEMICALS[name].form == "dry"),
]  # fmt: skip
STRENGTHS = {"hypochlorite": "1 %", "muriatic": "1:10", "caustic": "20 g/L", "lime": "1 g/L"}


def _use(chemical: str, **more: Any) -> dict[str, Any]:
    return {"stock": chemical, "strength": STRENGTHS.get(chemical, "30 g/L"), **more}


def _files(chemicals: list[dict[str, Any]], kind: str = "bare_wood", **more: Any) -> dict[str, Any]:
    change = {
        "stock": {"lots": LOTS},
        "job": {"surfaces": [{"name": "deck", "kind": kind, "area": "600 ft2"}], "chemicals": chemicals,
                "hose_runs": {0: PREMIX}},
    }  # fmt: skip
    return workspaces.merged(workspaces.merged(workspaces.base(), change), more)


def _stops(job: CheckedJob, code: str) -> dict[str, Finding]:
    return {one.case: one for one in job.findings if one.code == code and one.level == "stop"}


def test_percarbonate_then_oxalic_says_both_in_the_order_written_and_what_to_do(tmp_path: Path) -> None:
    job = workspaces.checked(tmp_path, _files([_use("percarbonate"), _use("oxalic")]))
    found = _stops(job, "mix.reaction")["steps"]
    assert words.message(found, "us").startswith("Percarbonate, then oxalic, on deck: two steps on one wall cannot")
    remedy = words.remedy(found, "us") or ""
    assert remedy.startswith("Make it two jobs: percarbonate first, rinsed until a strip reads pH 6 to 8; then oxalic")
    assert found.where.path == "chemicals[1]"
    assert job.verdict == "stop"


@pytest.mark.parametrize("kind", ["brick", "brick_acid", "vinyl", "bare_wood"])
@pytest.mark.parametrize("acid", ["muriatic", "oxalic", "citric"])
def test_bleach_and_an_acid_on_one_wall_stop_whichever_comes_first(tmp_path: Path, kind: str, acid: str) -> None:
    for number, order in enumerate([("hypochlorite", acid), (acid, "hypochlorite")]):
        job = workspaces.checked(tmp_path / str(number), _files([_use(one) for one in order], kind))
        said = words.message(_stops(job, "mix.reaction")["wall"], "us")
        assert "on the same wall, deck, make chlorine gas" in said
        assert "steps" not in _stops(job, "mix.reaction")


@pytest.mark.parametrize("part", one_in(6, range(6)))
@pytest.mark.ci
def test_no_pair_of_chemicals_on_one_wall_is_planned_as_one(part: int, tmp_path: Path) -> None:
    pairs = list(combinations([one for one in CHEMICALS if one != "surfactant"], 2))
    for number, (first, second) in enumerate(pairs[part::6]):
        job = workspaces.checked(tmp_path / str(number), _files([_use(first), _use(second)]))
        found = _stops(job, "mix.reaction")
        case = "steps" if may_follow(meets(first, second)) else "wall"
        assert case in found, (first, second)
        assert not any(mix.chemical == second for mix in job.plan.mixes)


def test_nothing_that_gives_poison_or_fire_may_follow_the_other_on_a_day() -> None:
    # By hand: what a rinse leaves of the first then only warms or foams.
    for first, second in (("percarbonate", "oxalic"), ("percarbonate", "citric"), ("caustic", "oxalic"),
                          ("muriatic", "bicarbonate"), ("hypochlorite", "soda_ash")):  # fmt: skip
        assert may_follow(meets(first, second)), (first, second)
    for first, second in (("hypochlorite", "muriatic"), ("hypochlorite", "oxalic"), ("hypochlorite", "citric"),
                          ("hypochlorite", "ascorbic"), ("hypochlorite", "bisulfite"), ("muriatic", "sulfite"),
                          ("oxalic", "thiosulfate"), ("citric", "bisulfite")):  # fmt: skip
        assert not may_follow(meets(first, second)), (first, second)


def test_a_chemical_for_every_wall_is_asked_whether_it_is_for_some(tmp_path: Path) -> None:
    files = _files([_use("percarbonate", surfaces=["deck"]), _use("oxalic")])
    files["job"]["surfaces"].append({"name": "rail", "kind": "bare_wood", "area": "100 ft2"})
    said = words.message(_stops(workspaces.checked(tmp_path, files), "mix.reaction")["steps"], "us")
    assert "on deck:" in said
    assert said.endswith("If oxalic is for some walls only, name them under its `surfaces:`.")


def test_soap_is_no_second_chemical(tmp_path: Path) -> None:
    job = workspaces.checked(
        tmp_path, _files([_use("hypochlorite"), {"stock": "suds", "dose": "1 fl oz/gal"}], "vinyl")
    )
    assert not _stops(job, "mix.reaction")
    assert job.plan.mixes[0].soap_share > 0.0


@pytest.mark.parametrize(
    ("chemicals", "code"),
    [
        ([_use("oxalic"), _use("oxalic", strength="60 g/L")], "name.twice"),
        ([_use("percarbonate"), _use("oxalic"), _use("oxalic", strength="60 g/L")], "name.twice"),
        ([_use("hypochlorite"), _use("drum")], "name.twice"),
        ([_use("hypochlorite"), {"stock": "soap"}], "key.missing"),
        ([_use("hypochlorite"), {"stock": "soap", "strength": "2 vol %"}], "key.missing"),
        ([{"stock": "soap", "dose": "1 fl oz/gal"}, {"stock": "suds", "dose": "2 fl oz/gal"}], "name.twice"),
        ([{"stock": "muriatic", "dose": "1 fl oz/gal"}], "key.clash"),
        ([{"stock": "bicarbonate"}], "key.missing"),
        ([_use("oxalic", surfaces=[])], "value.few"),
    ],
)
def test_what_would_go_nowhere_is_a_fault(tmp_path: Path, chemicals: list[dict[str, Any]], code: str) -> None:
    use = [{**one, "strength": "1 %"} if one["stock"] == "drum" else one for one in chemicals]
    assert {fault.code for fault in workspaces.loaded(tmp_path, _files(use)).faults} == {code}


@pytest.mark.parametrize("agent", [name for name in CHEMICALS if CHEMICALS[name].form == "dry"])
def test_crystals_written_for_a_wall_are_mixed_for_it_or_held(tmp_path: Path, agent: str) -> None:
    (mix,) = workspaces.checked(tmp_path / "tank", _files([_use(agent)])).plan.mixes
    assert mix.stock_mass
    files = _files([_use(agent)])
    files["job"]["hose_runs"][0] |= {"feed": "water", "dosing": "panel"}
    assert "no_way" in _stops(workspaces.checked(tmp_path / "panel", files), "mix.reach")


def test_acid_without_a_list_of_walls_stops_on_what_it_eats(tmp_path: Path) -> None:
    files = _files([_use("muriatic")], "brick_acid")
    files["job"]["surfaces"].append({"name": "gutter", "kind": "gutters", "area": "30 ft2"})
    assert "banned" in _stops(workspaces.checked(tmp_path, files), "mix.surface")


def test_the_tables_own_chemical_that_no_run_brings_is_said(tmp_path: Path) -> None:
    files = workspaces.base()
    del files["job"]["chemicals"]
    (found,) = [one for one in workspaces.checked(tmp_path, files).findings if one.case == "no_run_table"]
    assert found.level == "caution"
    assert words.message(found, "us").startswith("Wall: water only. The table has hypochlorite for it")


def test_a_premix_with_nothing_to_mix_never_sprays_what_stands_in_its_tank(tmp_path: Path) -> None:
    files = workspaces.base()
    files["job"]["hose_runs"][0] |= PREMIX
    files["day"]["heels"] = {"mix": {"stock": "bleach", "strength": "3 %", "volume": "2 gal"}}
    assert "nothing_to_mix" in _stops(workspaces.checked(tmp_path, files), "mix.reach")


@pytest.mark.parametrize("word", ["HCl", "diesel", "Muratic"])
def test_a_tank_or_pump_kept_for_a_word_nobody_knows_is_a_fault(tmp_path: Path, word: str) -> None:
    for number, (gear, key) in enumerate((("tanks", "holds"), ("pumps", "dedicated"))):
        files = workspaces.base()
        files["rig"][gear][1][key] = word
        (fault,) = workspaces.loaded(tmp_path / str(number), files).faults
        assert (fault.code, fault.where.path) == ("name.unknown", f"{gear}[1].{key}")


@pytest.mark.parametrize("kept", ["muriatic", "Muriatic Acid", "hydrochloric-acid", "muri"])
@pytest.mark.parametrize("dosing", ["premix", "panel"])
def test_bleach_never_goes_into_a_tank_kept_for_acid_however_its_run_uses_it(
    tmp_path: Path, kept: str, dosing: str
) -> None:
    files = _files([_use("hypochlorite")], "vinyl", rig={"tanks": {1: {"holds": kept}}})
    files["job"]["hose_runs"][0]["dosing"] = dosing
    found = _stops(workspaces.checked(tmp_path, files), "mix.reaction")
    assert set(found) == {"kept_tank" if dosing == "premix" else "feed_kept"}


def _two_jobs(folder: Path, first: str, second: str, before: dict[str, str] | None) -> CheckedJob:
    files = _files([_use(first)])
    path = workspaces.write(folder, files)
    later = workspaces.merged(files["job"], {"chemicals": [_use(second)]})
    if before is not None:
        later["surfaces"][0]["before"] = before
    (path.parent / "20-later.yaml").write_text(yaml.safe_dump(later), encoding="utf-8")
    read = load([path.parent])
    trouble = Trouble(faults=list(read.faults))
    found = list(checked_jobs(read, trouble))
    assert not trouble.faults
    return found[1]


@pytest.mark.ci
def test_two_jobs_of_one_day_may_follow_each_other_once_the_strip_is_written(tmp_path: Path) -> None:
    assert _stops(_two_jobs(tmp_path / "a", "percarbonate", "oxalic", None), "mix.reaction")
    rinsed = {"stock": "percarbonate", "on": "2026-06-09", "strip": "7"}
    assert not _stops(_two_jobs(tmp_path / "b", "percarbonate", "oxalic", rinsed), "mix.reaction")
    unrinsed = _stops(_two_jobs(tmp_path / "c", "percarbonate", "oxalic", {**rinsed, "strip": "10"}), "mix.reaction")
    assert "strip_bad" in unrinsed
    # No strip makes chlorine safe on the same day.
    bleached = {"stock": "hypochlorite", "on": "2026-06-09", "strip": "7"}
    assert {"wall_today", "site_today"} <= set(
        _stops(_two_jobs(tmp_path / "d", "hypochlorite", "oxalic", bleached), "mix.reaction")
    )


def test_a_strength_over_an_earlier_jobs_soap_is_a_fault_that_names_it(tmp_path: Path) -> None:
    files = _files([_use("hypochlorite"), {"stock": "suds", "dose": "1 fl oz/gal"}], "vinyl")
    path = workspaces.write(tmp_path, files)
    again = path.parent / "20-again.yaml"
    again.write_text("job: Again\nlike: 10-case\nstrength: 0.8 %\n", encoding="utf-8")
    (fault,) = load([again]).faults
    assert (fault.code, fault.where.line) == ("key.clash", 3)
    assert "`suds`" in fault.message
    files["job"]["chemicals"].pop()
    workspaces.write(tmp_path, files)
    assert not load([again]).faults


@pytest.mark.parametrize(
    ("name", "chemical"), [("bleach", "muriatic"), ("Muriatic Acid", "bleach"), ("water", "bleach")]
)
def test_a_lot_called_by_another_chemicals_name_is_a_fault(tmp_path: Path, name: str, chemical: str) -> None:
    files = workspaces.base()
    files["stock"]["lots"][1] = {
        "name": name,
        "chemical": chemical,
        "strength": LOTS[chemical == "muriatic"]["strength"],
    }
    (fault,) = workspaces.loaded(tmp_path, files).faults
    assert (fault.code, fault.where.path) == ("name.reserved", "lots[1].name")


@pytest.mark.parametrize("dosing", ["premix", "panel"])
def test_a_run_with_bleach_for_one_wall_and_acid_for_the_next_is_held(tmp_path: Path, dosing: str) -> None:
    files = _files([_use("hypochlorite", surfaces=["deck"]), _use("muriatic", surfaces=["plinth"])], "vinyl")
    files["job"]["surfaces"].append({"name": "plinth", "kind": "brick_acid", "area": "100 ft2"})
    files["job"]["hose_runs"][0] |= {"feed": "mix" if dosing == "premix" else "water", "dosing": dosing}
    job = workspaces.checked(tmp_path, files)
    assert [mix.chemical for mix in job.plan.mixes] == ["hypochlorite", "muriatic"]
    assert _stops(job, "mix.reaction")


@pytest.mark.parametrize(
    ("chemical", "strength", "code"),
    [
        ("muriatic", "[45 wt %, 60 wt %]", "quantity.bounds"),
        ("muriatic", "[3 %, 5 %]", "strength.bare"),
        ("oxalic", "[3 vol %, 5 vol %]", "strength.basis"),
        ("hypochlorite", "[1 %, 2 %]", "strength.bare"),
        ("hypochlorite", "[1 trade %, 2 wt % NaOCl]", "strength.basis"),
        ("soap", "[1 vol %, 2 vol %]", "strength.basis"),
    ],
)
def test_a_companys_own_row_says_how_much_of_its_chemical_it_is(
    tmp_path: Path, chemical: str, strength: str, code: str
) -> None:
    path = workspaces.write(tmp_path, workspaces.base())
    row = f"surfaces:\n  - {{kind: vinyl, chemical: {chemical}, strength: {strength}}}\n"
    (tmp_path / "surfaces.yaml").write_text(row, encoding="utf-8")
    (fault,) = load([path]).faults
    assert fault.code == code
    assert fault.where.path.startswith("surfaces[0].strength")
