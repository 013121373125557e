"""A plain house wash with everything as it should be goes, and says so wherever its verdict stands."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from planner.cli import main
from tests import workspaces

PLAIN = """
rig:
  pumps: {0: {wetted: [plastic], wetted_volume: 1 gal}}
  hoses: {0: {couplings: [stainless]}}
  tanks: {0: {shape: {kind: upright_cylinder, diameter: 40 in}}}
  dosing: {0: {wetted: [plastic], at: {water: 1 ft, stock: 1 ft, flow: 8 gpm}, loss: {pressure: 5 psi, flow: 8 gpm}}}
stock: {lots: {0: {container: 5 gal}}}
day: {crew: [Ana, Bo], leave_yard: "07:00", drive: {10-case: 10 min, home: 10 min},
  forecast: {wind: 4 mph, gust: 9 mph, low: 58 F, high: 76 F, rain: 0 %}}
job:
  chemicals: [{stock: drum, strength: 0.8 %}]
  hose_runs: {0: {dosing: panel}}
"""


@pytest.fixture
def day(tmp_path: Path) -> str:
    files = workspaces.merged(workspaces.base(), workspaces.as_written(PLAIN))
    files["stock"]["lots"].append({"name": "thio", "chemical": "thiosulfate", "on_hand": "10 lb"})
    return str(workspaces.write(tmp_path / "ws", files).parent)


def test_it_goes_on_the_terminal_and_in_json(day: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", day]) == 0
    out = capsys.readouterr().out
    assert "2026-06-09/10-case  Case job: go   (plan" in out
    assert next(line.split()[-1] for line in out.splitlines() if line.startswith("1  Case job")) == "go"
    assert "care" not in out
    assert main(["check", "--json", day]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["jobs"][0]["verdict"], told["days"][0]["verdict"]) == ("ok", "ok")


@pytest.mark.ci
def test_it_goes_on_every_paper(day: str, tmp_path: Path) -> None:
    assert main(["packet", day, "--owner", "-o", str(tmp_path / "out")]) == 0
    pages = {path.name: PdfReader(path).pages[0].extract_text() for path in (tmp_path / "out").rglob("*.pdf")}
    job, cover, owner = (pages[name] for name in ("10-case.pdf", "00-day.pdf", "10-case-owner.pdf"))
    assert "\nGo\nthe rig card's rules hold\n" in job
    assert "Verdict: Go." in cover
    assert "\nGo\nBack in the yard" in cover
    assert "\nGo\nChecks: 37 ok, no cautions, no stops" in owner
    assert not [name for name, text in pages.items() if "with care" in text]
