"""A job with an acid that no code names: it plans, checks, is rehearsed, prints and is made harmless by its record."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import planner
from planner.cli import main
from planner.inputs.tables.chemicals import CHEMICALS
from planner.plan.between.runoff import ph_of
from tests import workspaces

JOB: dict[str, Any] = {
    "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "600 ft2"}],
    "chemicals": [{"stock": "phosphoric acid", "strength": "5 wt %"}],
    "hose_runs": {0: {"feed": "mix", "dosing": "premix"}},
    "near": {"storm_drain": "20 ft", "control": "berm"},
}
LOTS = {"lots": [{"name": "jug", "chemical": "phosphoric acid", "strength": "75 wt %", "on_hand": "5 gal"},
                 {"name": "bicarb", "chemical": "bicarbonate", "on_hand": "40 lb"}]}  # fmt: skip


def files(job: dict[str, Any] = JOB, stock: dict[str, Any] = LOTS) -> dict[str, Any]:
    return workspaces.merged(workspaces.base(), {"job": job, "stock": stock})


SUBJECT = {
    ("plan/yard/bath.py", "muriatic"): "the rule of thumb of a bath nobody wrote",
    ("inputs/models/gear.py", "muriatic"): "an example",
    ("contract/yard.py", "bicarbonate"): "a key of the JSON",
    ("checks/grounds.py", "caustic"): "a case of a finding",
    ("inputs/tables/chemicals.py", "lime"): "a key of a record: scale",
}


def test_no_module_names_a_chemical_that_is_not_its_subject() -> None:
    root, found = Path(planner.__file__).parent, set()
    for path in root.rglob("*.py"):
        text = path.read_text("utf-8")
        # Only a text that holds a name between quotes is worth parsing.
        for node in ast.walk(ast.parse(text)) if any(f'"{name}"' in text for name in CHEMICALS) else ():
            if isinstance(node, ast.Constant) and node.value in CHEMICALS:
                found.add((path.relative_to(root).as_posix(), node.value))
    assert found == set(SUBJECT)


def test_it_is_mixed_by_weight_and_made_harmless_by_its_protons(tmp_path: Path) -> None:
    plan = workspaces.checked(tmp_path, files()).plan
    (mix,) = plan.mixes
    # 75 wt % of 1.579 kg/L; 5 wt % of 1.0254 kg/L.
    assert mix.lot is not None
    assert mix.lot.nominal == pytest.approx(0.75 * 1579.0)
    assert mix.target == pytest.approx(0.05 * 1025.4)
    assert mix.stock is not None
    assert mix.mix is not None
    assert mix.stock * 0.75 * 1579.0 == pytest.approx(mix.mix * mix.target, rel=1e-9)
    gallon = next(one for one in plan.neutralisers if one.purpose.startswith("a leftover gallon"))
    # Two of bicarbonate, 84.007 g, to one of acid, 97.995 g.
    active = 3.785411784e-3 * gallon.strength
    assert (gallon.agent, gallon.of) == ("bicarbonate", "phosphoric")
    assert gallon.mass == pytest.approx(active * 2 * 84.0066 / 97.9952, rel=1e-3)
    assert gallon.rise is not None
    assert gallon.rise < 0.0, "bicarbonate cools it"


def test_it_is_as_sour_as_textbooks_say() -> None:
    # 0.1 mol/L of phosphoric acid stands at pH 1.6.
    assert ph_of("phosphoric", 9.7995) == pytest.approx(1.63, abs=0.05)
    assert ph_of("hydrogen_peroxide", 30.0) is None


def test_its_findings_are_those_of_an_acid(tmp_path: Path) -> None:
    job = {**JOB, "surfaces": [{**JOB["surfaces"][0], "trim": ["limestone sill"]}]}
    told = {(one.code, one.level) for one in workspaces.checked(tmp_path, files(job)).findings}
    assert ("mix.surface", "stop") in told, "acid dissolves limestone"
    bleach = [*LOTS["lots"], {"name": "drum", "chemical": "bleach", "strength": "10 trade %", "made": "2026-06-01"}]
    both = {**JOB, "chemicals": [*JOB["chemicals"], {"stock": "bleach", "strength": "1 %"}]}
    found = workspaces.checked(tmp_path / "both", files(both, {"lots": bleach})).findings
    meeting = [one for one in found if one.code == "mix.reaction" and one.level == "stop"]
    assert any("chlorine" in str(one.values.get("gives")) for one in meeting)


@pytest.mark.ci
def test_its_packet_prints_and_says_what_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PLANNER_ARCHIVE", "")
    path = workspaces.write(tmp_path, files())
    assert main(["packet", str(path), "--html", "-o", str(tmp_path / "out")]) in (0, 1)
    (page,) = (tmp_path / "out").rglob("*.html")
    text = page.read_text("utf-8")
    assert "phosphoric acid stock" in text
    assert "Never phosphoric acid with" in text
    assert "bicarbonate" in text
    assert "by its own data sheet" not in text, "its record has its hazards"


def test_peroxide_whose_end_nobody_found_is_kept_and_taken_home(tmp_path: Path) -> None:
    assert CHEMICALS["hydrogen_peroxide"].unknown == {"neutralised", "lawn", "touches"}
    lots = {"lots": [{"name": "jug", "chemical": "hydrogen peroxide", "strength": "35 wt %", "on_hand": "5 gal"}]}
    job = {**JOB, "chemicals": [{"stock": "peroxide", "strength": "3 wt %"}]}
    checked = workspaces.checked(tmp_path, files(job, lots))
    assert checked.plan.neutralisers == ()
    tried = [one for one in checked.findings if one.code == "mix.surface" and one.level == "caution"]
    assert tried, "what it does to brick is not known"


def test_a_record_is_refused_before_anything_is_planned(tmp_path: Path) -> None:
    code = (
        "import planner.inputs.tables.rows as r; t = r.table('chemicals')['chemicals'];"
        "del next(one for one in t if one['name'] == 'phosphoric')['acid'];"
        "import planner.inputs.tables.chemicals"
    )
    run = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert "data/chemicals.yaml: `phosphoric` has no `acid`" in run.stderr
