"""A fourth kind of pump is one record more: a job with it is planned, checked and printed by code that never heard of it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pdfplumber
import pytest

import planner
from planner.locate import templates
from tests import workspaces

LOBE = """
  - kind: lobe
    curve: constant
    wears: flow
    relief: unloader
    relief_called: a relief valve
    driven_by: motor
    pierces: false
    stages: false
    shaft: true
    inside: lobes and end plates
    prime: "Open the suction of {device}; it draws by itself."
    bounds:
      - {key: flow, dimension: flow, possible: [0.5 gpm, 200 gpm], usual: [2 gpm, 60 gpm], source: (p)}
      - {key: unloader, dimension: pressure, possible: [5 psi, 600 psi], usual: [20 psi, 300 psi], source: (p)}
    acts:
      stages: {step: "Cover off, lobes drawn as a pair."}
      spacers_written: {step: Mark how the lobes mesh., ask: Mesh marked?}
      spacers: {step: "{new}Lobes in mesh as marked.", ask: Lobes as marked?}
    apart: "Lobes: no score that **a nail** finds{% if wear %}, gloves on{% endif %}."
    together: "Turn it by hand: nothing touches."
    source: common practice, no source
"""

PUMP = {
    "name": "lobes",
    "kind": "lobe",
    "flow": "9 gpm",
    "unloader": "90 psi",
    "height": "0 ft",
    "max_pressure": "200 psi",
}
RUN = {"name": "drive", "pump": "lobes", "feed": "water", "hoses": ["red"], "tip": "long throw"}


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The planner as it is, with one record more in one file."""
    tree, ours = tmp_path_factory.mktemp("tree"), Path(planner.__file__).parent
    shutil.copytree(ours, tree / "planner", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(templates(), tree / "templates")
    kinds = tree / "planner" / "data" / "pumps.yaml"
    kinds.write_text(kinds.read_text(encoding="utf-8") + LOBE, encoding="utf-8")
    return tree


def _files(folder: Path, job: dict[str, Any], **pump: str | None) -> str:
    of_pump = {key: value for key, value in {**PUMP, **pump}.items() if value is not None}
    files = workspaces.base()
    files["rig"]["pumps"].append(of_pump)
    files["rig"]["setups"] = [{**RUN, "name": "setup"}]
    files["job"] = job if job.get("kind") == "yard" else workspaces.merged(files["job"], job)
    return str(workspaces.write(folder, files))


def _run(tree: Path, *args: str) -> subprocess.CompletedProcess[str]:
    archive = str(tree / "archive.db")
    env = {**os.environ, "PYTHONPATH": str(tree), "PLANNER_ARCHIVE": archive}
    return subprocess.run(
        [sys.executable, "-m", "planner", *args], cwd=tree, env=env, capture_output=True, text=True, check=False
    )


def _text(folder: Path) -> str:
    found = []
    for path in sorted(folder.rglob("*.pdf")):
        with pdfplumber.open(path) as pdf:
            found += [page.extract_text() for page in pdf.pages]
    return " ".join(" ".join(found).split())


WASH = {"hose_runs": {0: RUN}}
YARD = {"job": "Lobes", "kind": "yard", "pump": "lobes", "work": ["rebuild", "test"]}


def test_a_wash_job_with_it_is_checked_and_printed(tree: Path, tmp_path: Path) -> None:
    job = _files(tmp_path, WASH)
    done = _run(tree, "check", "--json", job)
    assert done.returncode == 0, done.stdout + done.stderr
    findings = json.loads(done.stdout)["jobs"][0]["findings"]
    found = {(one["code"], one["about"]): one["message"] for one in findings}
    assert found["pump.unloader", "drive"].startswith("Relief valve set to 90"), found
    assert found["pump.wear", "drive"] == "A lobe pump's wear shows in a bucket, not in its head."
    assert "goes round through its relief valve: 2 min at most" in found["pump.shut_off", "drive"]
    assert "value.unusual" not in {one["code"] for one in findings if one["level"] == "caution"}
    printed = _run(tree, "packet", job, "-o", str(tmp_path / "out"))
    assert printed.returncode == 0, printed.stdout + printed.stderr
    assert "Open the suction of lobes; it draws by" in _text(tmp_path / "out")


def test_its_wear_is_told_by_a_bucket_and_written_as_flow(tree: Path, tmp_path: Path) -> None:
    done = _run(tree, "check", _files(tmp_path, WASH), "--bucket", "5 gal in 60 s")
    assert "lobes and end plates are worn, a belt slips, the relief valve leaks back" in done.stdout, done.stderr
    assert "Write `flow: 5.00 gpm` under lobes" in done.stdout


def test_without_its_relief_valve_the_job_is_held(tree: Path, tmp_path: Path) -> None:
    done = _run(tree, "check", _files(tmp_path, WASH, unloader=None))
    assert done.returncode == 1, done.stdout + done.stderr
    said = " ".join(done.stdout.split())
    assert "Lobe pump lobes has no relief valve." in said
    assert "Fit a relief valve and write its setting" in said


def test_on_the_bench_it_has_its_own_words(tree: Path, tmp_path: Path) -> None:
    printed = _run(tree, "packet", _files(tmp_path, YARD), "-o", str(tmp_path / "out"))
    assert printed.returncode == 0, printed.stdout + printed.stderr
    text = _text(tmp_path / "out")
    for words in ("Cover off, lobes drawn as a pair.", "Mark how the lobes mesh.", "Lobes in mesh as marked.",
                  "Lobes: no score that a nail finds.", "Turn it by hand: nothing touches."):  # fmt: skip
        assert words in text, words


@pytest.mark.parametrize(
    ("pump", "told"),
    [
        ({"kind": "lobes"}, ["`lobe` if that was meant"]),
        ({"flow": None, "cut_off": "60 psi"}, ["a lobe pump has one", "a lobe pump has no `cut_off`"]),
        ({"flow": "300 gpm"}, ["`300 gpm` cannot be meant"]),
    ],
)
def test_a_slip_in_it_is_told_like_any_other(
    tree: Path, tmp_path: Path, pump: dict[str, str | None], told: list[str]
) -> None:
    done = _run(tree, "check", _files(tmp_path, WASH, **pump))
    assert done.returncode == 2, done.stdout
    said = " ".join((done.stdout + done.stderr).split())
    assert all(words in said for words in told), said
