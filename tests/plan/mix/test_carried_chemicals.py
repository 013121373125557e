"""What crews carry beside bleach: each is planned by its record, kept from what it harms, and never silently fine."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.inputs.tables.chemicals import CHEMICALS, chemical_named, refused_name
from planner.inputs.tables.materials import effect_on, materials
from planner.plan.between.matrix import meets
from planner.plan.between.neutralisers import rise_of
from planner.plan.between.runoff import ph_of
from tests import workspaces
from tests.sampled import one_in

LOTS = [
    {"name": "SU", "chemical": "sulfamic acid", "on_hand": "40 lb"},
    {"name": "D", "chemical": "caustic degreaser", "strength": "10 wt %", "on_hand": "5 gal"},
    {"name": "Q", "chemical": "quat cleaner", "strength": "10 wt %", "on_hand": "5 gal"},
    {"name": "G", "chemical": "benzyl alcohol", "strength": "30 wt %", "on_hand": "5 gal"},
    {"name": "E", "chemical": "dibasic ester", "strength": "60 wt %", "on_hand": "5 gal"},
    {"name": "PC", "chemical": "percarbonate", "on_hand": "50 lb"},
    {"name": "OX", "chemical": "oxalic", "on_hand": "50 lb"},
    {"name": "bicarb", "chemical": "bicarbonate", "on_hand": "40 lb"},
]
JOBS: dict[str, tuple[str, dict[str, Any]]] = {
    "sulfamic": ("brick_acid", {"stock": "sulfamic acid", "strength": "5 wt %"}),
    "caustic_degreaser": ("concrete", {"stock": "D", "strength": "2 wt %"}),
    "quat": ("vinyl", {"stock": "quat", "strength": "0.5 wt %"}),
    "benzyl_alcohol": ("brick", {"stock": "benzyl alcohol", "strength": "20 wt %"}),
    "dibasic_ester": ("concrete", {"stock": "dibasic ester", "strength": "20 wt %"}),
    "percarbonate": ("deck", {"stock": "percarbonate", "strength": "45 g/L"}),
    "oxalic": ("deck_acid", {"stock": "oxalic", "strength": "45 g/L"}),
}
KEPT = ("quat", "benzyl_alcohol", "dibasic_ester")


def files(chemical: str, **more: Any) -> dict[str, Any]:
    kind, use = JOBS[chemical]
    job = {
        "surfaces": [{"name": "wall", "kind": kind, "area": "300 ft2"}], "chemicals": [use],
        "hose_runs": {0: {"pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "fan", "target": "6 ft"}},
        "near": {"storm_drain": "60 ft", "control": "drain_cover"}, **more,
    }  # fmt: skip
    return workspaces.merged(workspaces.base(), {"job": job, "stock": {"lots": LOTS}})


@pytest.mark.ci
@pytest.mark.parametrize("chemical", one_in(3, JOBS))
def test_each_is_planned_rehearsed_and_printed_with_its_hazards(
    chemical: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PLANNER_ARCHIVE", "")
    path = workspaces.write(tmp_path, files(chemical))
    assert main(["packet", str(path), "--html", "-o", str(tmp_path / "out")]) in (0, 1)
    (page,) = (tmp_path / "out").rglob("*.html")
    text = page.read_text("utf-8")
    one = CHEMICALS[chemical]
    assert f"Never {one.short} with" in text
    assert "by its own data sheet" not in text
    assert ("nothing here is known to neutralize" in text) == (not one.neutralised)
    seen = {"quat": "no foam in a shaken bottle", "solvent": "no smell and no film"}
    for kind, words in seen.items():
        assert (words in text) == (kind in (chemical, one.kind))


@pytest.mark.parametrize("chemical", [one for one in JOBS if one not in KEPT])
def test_what_can_be_ended_is_ended(chemical: str, tmp_path: Path) -> None:
    plan = workspaces.checked(tmp_path, files(chemical)).plan
    assert plan.neutralisers or chemical in (
        "percarbonate",
        "caustic_degreaser",
    )  # those take an acid that is not on this shelf


def test_sulfamic_acid_takes_one_proton_and_stands_where_a_strong_acid_does() -> None:
    # 0.1 mol/L stands at pH 1.2: pK 1.
    assert ph_of("sulfamic", 9.70937) == pytest.approx(1.21, abs=0.05)
    rise = rise_of("sulfamic", 50.0, "bicarbonate")
    assert rise is not None
    assert rise < 0.0, "bicarbonate cools it"


@pytest.mark.parametrize(
    ("chemical", "material", "may"),
    [
        ("sulfamic", "limestone", "never"), ("sulfamic", "galvanised steel", "never"), ("sulfamic", "zinc", "never"),
        ("sulfamic", "aluminium", "never"), ("sulfamic", "stainless", "fine"), ("quat", "copper", "care"),
        ("benzyl_alcohol", "membrane", "never"), ("benzyl_alcohol", "paint", "care"), ("dibasic_ester", "EIFS", "never"),
        ("dibasic_ester", "rubber", "care"), ("caustic", "aluminium", "never"),
    ],
)  # fmt: skip
def test_what_each_may_touch(chemical: str, material: str, may: str) -> None:
    assert effect_on(chemical, materials()[material]).may == may


@pytest.mark.parametrize("chemical", [*JOBS, "phosphoric", "hydrogen_peroxide"])
def test_with_bleach_and_acid_nothing_is_fine_without_a_word(chemical: str) -> None:
    acids = [one.name for one in CHEMICALS.values() if one.kind == "acid"]
    for other in ("hypochlorite", *acids):
        if other == chemical or (chemical in acids and other in acids):
            continue
        assert meets(chemical, other).outcome != "harmless", (chemical, other)


@pytest.mark.ci
def test_a_degreaser_is_more_than_its_lye_and_stays_from_bleach(tmp_path: Path) -> None:
    """Bleach is made with lye and holds some; amines, ammonia and solvent of a degreaser it may not meet."""
    assert meets("caustic", "hypochlorite").outcome == "harmless"
    walls = [
        {"name": "slab", "kind": "concrete", "area": "100 ft2"},
        {"name": "wall", "kind": "vinyl", "area": "100 ft2"},
    ]
    uses = [{"stock": "bleach", "strength": "1 %", "surfaces": ["wall"]}, {"strength": "2 wt %", "surfaces": ["slab"]}]

    def stops(folder: str, stock: str, lot: dict[str, Any]) -> set[tuple[str, str]]:
        written = files("caustic_degreaser", surfaces=walls, chemicals=[uses[0], {**uses[1], "stock": stock}])
        bleach = {
            "name": "B",
            "chemical": "bleach",
            "strength": "12.5 trade %",
            "made": "2026-06-01",
            "on_hand": "9 gal",
        }
        written["stock"]["lots"] = [*LOTS, lot, bleach]
        found = workspaces.checked(tmp_path / folder, written).findings
        return {(one.code, one.case) for one in found if one.level == "stop"}

    lye = {"name": "L", "chemical": "lye", "strength": "10 wt %", "on_hand": "5 gal"}
    assert "mix.reaction" in {code for code, _ in stops("degreaser", "D", lye)}
    assert "mix.reaction" not in {code for code, _ in stops("lye", "L", lye)}


@pytest.mark.parametrize("chemical", KEPT)
def test_what_nothing_ends_is_kept_from_drain_pond_and_lawn(chemical: str, tmp_path: Path) -> None:
    near = {"storm_drain": "60 ft", "fish_pond": "100 ft"}
    found = workspaces.checked(tmp_path / "open", files(chemical, near=near)).findings
    assert {one.code for one in found if one.level == "stop"} >= {"runoff.drain", "runoff.water_life"}
    kept = {**near, "control": "bunded"}
    held = workspaces.checked(tmp_path / "kept", files(chemical, near=kept)).findings
    assert not [one for one in held if one.level == "stop" and one.code.startswith("runoff")]
    lawn = {"storm_drain": "60 ft", "control": "pumped_to: lawn"}
    pumped = workspaces.checked(tmp_path / "lawn", files(chemical, near=lawn)).findings
    assert [one for one in pumped if one.level == "stop" and one.code == "runoff.drain"]


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("ammonium bifluoride", "HF: not planned here"), ("hydrofluoric acid", "HF: not planned here"),
        ("HF", "HF: not planned here"), ("rust remover", "which acid"), ("graffiti remover", "what is in it"),
        ("degreaser", "what is in it"), ("heavy-duty degreaser", "what is in it"), ("disinfectant", "what is in it"),
    ],
)  # fmt: skip
def test_a_name_that_does_not_say_what_is_in_it_is_refused_with_what_to_do(
    word: str, says: str, tmp_path: Path
) -> None:
    assert chemical_named(word) is None
    found = workspaces.loaded(
        tmp_path / "lot", workspaces.merged(files("quat"), {"stock": {"lots": {0: {"chemical": word}}}})
    )
    (fault,) = [one for one in found.faults if one.code == "chemical.refused"]
    assert says in fault.message
    assert fault.remedy
    used = workspaces.loaded(tmp_path / "job", files("quat", chemicals=[{"stock": word, "strength": "3 wt %"}]))
    assert [one.where.path for one in used.faults if one.code == "chemical.refused"] == ["chemicals[0].stock"]


def test_a_lot_with_fluoride_in_its_name_is_refused_whatever_it_is_said_to_hold(tmp_path: Path) -> None:
    lots = {"stock": {"lots": {6: {"name": "oxalic with bifluoride"}}}}
    found = workspaces.loaded(tmp_path, workspaces.merged(files("quat"), lots))
    assert [one.where.path for one in found.faults if one.code == "chemical.refused"] == ["lots[6].name"]
    assert refused_name("drum of rust remover", anywhere=True) is None


def test_a_kind_is_of_a_soap_alone(tmp_path: Path) -> None:
    lots = {"stock": {"lots": {2: {"kind": "cationic"}}}}
    found = workspaces.loaded(tmp_path, workspaces.merged(files("quat"), lots))
    assert [(one.code, one.where.path) for one in found.faults] == [("key.clash", "lots[2].kind")]


def test_a_stock_used_as_it_is_sold_goes_in_without_water(tmp_path: Path) -> None:
    use = [{"stock": "benzyl alcohol", "strength": "29.9 wt %"}]
    checked = workspaces.checked(tmp_path, files("benzyl_alcohol", chemicals=use))
    assert not checked.breaches
    assert checked.plan.mixes[0].reachable


# ------------------------------------------------------------------------------------------------------ the jug


INJECTOR: dict[str, Any] = {
    "surfaces": [{"name": "wall", "kind": "vinyl", "area": "500 ft2"}],
    "chemicals": [{"stock": "bleach", "strength": "0.6 %"}],
    "hose_runs": {0: {"pump": "washer", "dosing": "venturi", "tip": "wide", "target": "6 ft",
                      "hoses": [{"bore": "3/8 in", "length": "50 ft", "rated": "4000 psi"}]}},
}  # fmt: skip


def jugged(jug: str | None) -> dict[str, Any]:
    tips = [*workspaces.base()["rig"]["tips"], {"name": "wide", "pattern": "fan", "size": "60"}]
    rig = {"tips": tips, "dosing": {1: {"jug": jug, "loss": {"pressure": "100 psi", "flow": "5 gpm"}}}}
    return workspaces.merged(workspaces.base(), {"rig": rig, "job": INJECTOR})


def page_of(folder: Path, written: dict[str, Any]) -> str:
    path = workspaces.write(folder, written)
    main(["packet", str(path), "--html", "-o", str(folder / "out")])
    (page,) = (folder / "out").rglob("*.html")
    return page.read_text("utf-8")


@pytest.mark.ci
def test_paper_says_what_goes_into_a_jug_of_the_size_that_was_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PLANNER_ARCHIVE", "")
    text = page_of(tmp_path / "five", jugged("5 gal"))
    # 0.6 x 11 of a drum at 9.98 trade %: two thirds of it, rounded down, the water what is left to its rim.
    assert "For a 5 gal jug: 1 3/4 gal of water, 3 1/4 gal of lot drum." in text
    assert "gal jug" not in page_of(tmp_path / "none", jugged(None))
    small = workspaces.checked(tmp_path / "small", jugged("16 fl oz")).findings
    assert [one.level for one in small if one.case == "small_jug"] == ["caution"]
