"""What walls, trim and gear are made of, in people's own words, and what the mix does to it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.model import CheckedJob
from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.tables.materials import CLASSES, materials, named, refused
from planner.inputs.tables.rows import rows
from planner.inputs.tables.whole import surface_rows
from planner.words import spoken as words
from tests import workspaces

KNOWN: dict[str, Any] = {
    "pumps": {"0": {"wetted": ["plastic"]}, "2": {"wetted": ["plastic"]}},
    "tanks": {"1": {"wetted": ["plastic"]}},
    "hoses": {"0": {"couplings": ["plastic"]}},
    "dosing": {"0": {"wetted": ["plastic"]}, "1": {"wetted": ["plastic"]}},
}
BLEACH: dict[str, Any] = {
    "chemicals": [{"stock": "bleach", "strength": "1 %"}],
    "hose_runs": {"0": {"dosing": "panel"}},
}
ACID: dict[str, Any] = {
    "chemicals": [{"stock": "muriatic", "strength": "1:10"}],
    "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "100 ft2"}],
    "hose_runs": {"0": {"pump": "transfer", "feed": "mix", "dosing": "premix"}},
}


def _files(job: dict[str, Any], rig: dict[str, Any] | None = None) -> dict[str, Any]:
    return workspaces.merged(workspaces.merged(workspaces.base(), {"rig": KNOWN}), {"job": job, "rig": rig or {}})


def _with_trim(job: dict[str, Any], trim: list[str]) -> dict[str, Any]:
    surfaces = job.get("surfaces", workspaces.base()["job"]["surfaces"])
    return {**job, "surfaces": [{**surfaces[0], "trim": trim}]}


def _told(job: CheckedJob) -> list[tuple[str, str]]:
    return [(one.level, str(one.values.get("material", ""))) for one in job.findings if one.code == "mix.surface"]


@pytest.mark.parametrize(
    ("said", "bleach", "acid"),
    [
        ("aluminum gutters", ("caution", "aluminium"), ("stop", "aluminium")),
        ("Aluminium gutter", ("caution", "aluminium"), ("stop", "aluminium")),
        ("galvanized flashing", ("caution", "galvanised steel"), ("stop", "galvanised steel")),
        ("galvanised flashings", ("caution", "galvanised steel"), ("stop", "galvanised steel")),
        ("marble sill", ("caution", "marble"), ("stop", "marble")),
        ("316 stainless", ("ok", ""), ("stop", "stainless")),
        ("aluminium head", ("caution", "aluminium"), ("stop", "aluminium")),
        ("steel", ("caution", "steel"), ("stop", "steel")),
        ("copper", ("caution", "copper"), ("stop", "copper")),
        ("copper gutters", ("caution", "copper"), ("stop", "copper")),
        ("brass knobs", ("caution", "brass"), ("stop", "brass")),
        ("cast stone", ("ok", ""), ("stop", "cast stone")),
        ("caststone lintels", ("ok", ""), ("stop", "cast stone")),
        ("limestone sills", ("ok", ""), ("stop", "limestone")),
        ("stone", ("ok", ""), ("stop", "stone")),
        ("flashing", ("caution", "metal"), ("stop", "metal")),
        ("gutters", ("ok", ""), ("stop", "gutters")),
        ("vinyl gutters", ("ok", ""), ("ok", "")),
        ("canvas awning", ("stop", "awning cloth"), ("caution", "awning cloth")),
        ("plastic, with a brass screw", ("caution", "brass"), ("stop", "brass")),
        ("colored concrete", ("caution", "coloured concrete"), ("stop", "coloured concrete")),
        ("coloured-concrete", ("caution", "coloured concrete"), ("stop", "coloured concrete")),
    ],
)
def test_a_phrase_counts_as_the_material_it_names(
    said: str, bleach: tuple[str, str], acid: tuple[str, str], tmp_path: Path
) -> None:
    assert _told(workspaces.checked(tmp_path / "bleach", _files(_with_trim(BLEACH, [said])))) == [bleach]
    assert _told(workspaces.checked(tmp_path / "acid", _files(_with_trim(ACID, [said])))) == [acid]


@pytest.mark.parametrize(
    "said", ["aluminum alloy head", "die-cast zinc", "galv", "mild steel", "316 stainless", "brass fittings"]
)
@pytest.mark.parametrize("place", ["pumps", "tanks", "hoses"])
def test_gear_of_such_a_metal_never_carries_acid(said: str, place: str, tmp_path: Path) -> None:
    number, key = {"pumps": ("2", "wetted"), "tanks": ("1", "wetted"), "hoses": ("0", "couplings")}[place]
    job = workspaces.checked(tmp_path, _files(ACID, {place: {number: {key: ["plastic", said]}}}))
    assert [level for level, _ in _told(job)] == ["stop"]


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("alumnium", "aluminium"), ("zink", "zinc"), ("stainles steal", "stainless steel"), ("marbel", "marble"),
        ("moonmetal", None), ("?", None), ("todo", None), ("2", None), ("sills", None),
        ("alumninum head, plastic wheel", "aluminum"), ("none", None), ("no aluminum", None),
        ("patina steel", None),
    ],
)  # fmt: skip
def test_a_word_no_table_has_is_a_fault_with_the_nearest(said: str, meant: str | None, tmp_path: Path) -> None:
    places: list[tuple[str, dict[str, Any]]] = [
        ("surfaces[0].trim[0]", {"job": {"surfaces": {"0": {"trim": [said]}}}}),
        ("pumps[0].wetted[1]", {"rig": {"pumps": {"0": {"wetted": ["plastic", said]}}}}),
        ("tanks[0].wetted[0]", {"rig": {"tanks": {"0": {"wetted": [said]}}}}),
        ("dosing[0].wetted[0]", {"rig": {"dosing": {"0": {"wetted": [said]}}}}),
        ("hoses[0].couplings[0]", {"rig": {"hoses": {"0": {"couplings": [said]}}}}),
    ]
    for place, change in places:
        faults = workspaces.loaded(tmp_path / place, workspaces.merged(workspaces.base(), change)).faults
        (fault,) = [one for one in faults if one.where.path == place]
        assert fault.code == "name.unknown"
        assert meant is None or f"write `{meant}`" in fault.remedy


def test_the_worst_of_several_materials_counts() -> None:
    assert {one.name for one in named("chrome plated brass on an aluminum body")[0]} == {"chrome", "brass", "aluminium"}
    assert [one.name for one in named("aluminium bronze")[0]] == ["bronze"]


@pytest.mark.parametrize(
    ("change", "parts"),
    [
        ({"pumps": {"0": {"wetted": None}}}, "pump booster"),
        ({"dosing": {"0": {"wetted": None}}}, "panel"),
        ({"hoses": {"0": {"couplings": None}}}, "couplings of red"),
    ],
)
def test_bleach_through_what_nobody_said_the_material_of_is_a_caution(
    change: dict[str, Any], parts: str, tmp_path: Path
) -> None:
    quiet = workspaces.checked(tmp_path / "said", _files(BLEACH))
    assert _told(quiet) == [("ok", "")]
    job = workspaces.checked(tmp_path / "unsaid", _files(BLEACH, change))
    (finding,) = [one for one in job.findings if one.case == "gear_unsaid"]
    assert (finding.level, finding.values["parts"]) == ("caution", parts)
    assert parts in words.message(finding, "us")


def test_soap_and_plain_water_ask_for_no_material(tmp_path: Path) -> None:
    soap = {"stock": {"lots": [{"name": "soap", "chemical": "soap", "bleach_stable": "true"}]}}
    files = workspaces.merged(
        workspaces.base(), {**soap, "job": {**BLEACH, "chemicals": [{"stock": "soap", "dose": "1 fl oz/gal"}]}}
    )
    assert "gear_unsaid" not in {one.case for one in workspaces.checked(tmp_path, files).findings}


def test_couplings_of_a_hose_written_in_the_job_count(tmp_path: Path) -> None:
    hose = {"bore": "3/4 in", "length": "100 ft", "rated": "200 psi", "couplings": ["aluminum"]}
    job = workspaces.checked(tmp_path, _files(workspaces.merged(ACID, {"hose_runs": {"0": {"hoses": [hose]}}})))
    assert _told(job) == [("stop", "aluminium")]


def test_a_company_kind_says_what_it_is_made_of(tmp_path: Path) -> None:
    row = {
        "kind": "old_front", "family": "wall", "chemical": "muriatic", "strength": ["1:20", "1:10"], "dwell": "5 min",
        "wet": "0.2 gal/ft2", "apply": "20 ft2/min", "rinse": "0.5 gal/ft2", "section": "80 ft2", "cover": "60 ft2/gal",
    }  # fmt: skip
    files = _files({**ACID, "surfaces": [{"name": "wall", "kind": "old_front", "area": "100 ft2"}]})
    for name, more in (("unsaid", {}), ("said", {"material": "lime stone"})):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "surfaces.yaml").write_text(yaml.safe_dump({"surfaces": [{**row, **more}]}))
        read = workspaces.loaded(folder, files)
        if more:
            job = workspaces.checked(folder, files)
            assert _told(job) == [("stop", "limestone")]
        else:
            assert [one.remedy for one in read.faults] == ["add `material: limestone`, or what it is"]


def test_a_spacer_of_a_metal_misspelt_is_a_fault(tmp_path: Path) -> None:
    files = workspaces.base()
    for spacers, place in (
        (["2 alumnium"], "spacers[0]"),
        ("1 thin, 2 alumnium", "spacers"),
        ({"4": "alumnium"}, "spacers.4"),
    ):
        files["job"] = {"job": "Pump", "kind": "yard", "pump": "booster", "work": "descale", "spacers": spacers}
        (fault,) = workspaces.loaded(tmp_path, files).faults
        assert (fault.code, fault.where.path) == ("name.unknown", place)


def test_every_record_says_what_every_class_does_and_every_chemical_has_a_class() -> None:
    known = [one for one in CHEMICALS.values() if "touches" not in one.unknown]
    assert {one.touches for one in known} == {*CLASSES, "mild", "untried"}
    for one in known:
        assert set(one.touches_but) <= set(materials()), one.name
    for row in rows("materials", "touched"):
        assert set(CLASSES) <= set(row), row["name"]
    used = {effect.name for one in materials().values() for effect in one.effects.values()}
    assert used == {row["name"] for row in rows("materials", "effects")}
    said = [word for one in materials().values() for word in one.words]
    assert len(said) == len(set(said)), "a word is of one material"
    assert [kind for kind in surface_rows() if refused(kind) is not None] == []
