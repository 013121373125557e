"""A fourth kind of pump is one record more: a job with it is planned, checked and printed by code that never heard of it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import planner
from planner.locate import templates
from tests import workspaces
from tests.packet.mixing import texts

pytestmark = pytest.mark.ci

LOBE = """
  - kind: lobe
    curve: constant
    wears: flow
    relief: unloader
    relief_called: a relief valve
    sold_as: [{called: lobe pump, name: lobes, words: [rotary], note: draws by itself}]
    driven_by: motor
    pulses: false
    pierces: false
    stages: false
    shaft: true
    winter: "Open both ports and turn the lobes once by hand."
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
    shutil.copytree(ours, tree / "planner")  # with its bytecode: what is new is data
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


@dataclass(frozen=True)
class Done:
    """How one command ended, what it said, and where it printed."""

    code: int
    said: str
    out: Path


_MAIN = """
import contextlib, io, json, sys
from planner.cli import main
told = []
for args in json.load(sys.stdin):
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        code = main(args)
    told.append((code, said.getvalue()))
print(json.dumps(told))
"""
WASH = {"hose_runs": {0: RUN}}
YARD = {"job": "Lobes", "kind": "yard", "pump": "lobes", "work": ["rebuild", "test"]}
CALLS: dict[str, tuple[list[str], dict[str, Any], dict[str, str | None]]] = {
    "told": (["check", "--json"], WASH, {}),
    "printed": (["packet"], WASH, {}),
    "bucket": (["check", "--bucket", "5 gal in 60 s"], WASH, {}),
    "no relief": (["check"], WASH, {"unloader": None}),
    "bench": (["packet"], YARD, {}),
    "misspelled": (["check"], WASH, {"kind": "lobes"}),
    "another's keys": (["check"], WASH, {"flow": None, "cut_off": "60 psi"}),
    "impossible": (["check"], WASH, {"flow": "300 gpm"}),
}


@pytest.fixture(scope="module")
def done(tree: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Done]:
    """Every command that is asked of here, run by one start of that planner."""
    folders = {name: tmp_path_factory.mktemp("case") for name in CALLS}
    calls = []
    for name, (words, job, pump) in CALLS.items():
        out = ["-o", str(folders[name] / "out")] if words == ["packet"] else []
        calls.append([words[0], _files(folders[name], job, **pump), *words[1:], *out])
    env = {**os.environ, "PYTHONPATH": str(tree), "PLANNER_ARCHIVE": str(tree / "archive.db")}
    ran = subprocess.run([sys.executable, "-c", _MAIN], input=json.dumps(calls), cwd=tree, env=env, capture_output=True,
                         text=True, check=False)  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return {name: Done(code, said, folders[name] / "out")
            for name, (code, said) in zip(CALLS, json.loads(ran.stdout), strict=True)}  # fmt: skip


def _text(folder: Path) -> str:
    return " ".join(" ".join(" ".join(texts(path.read_bytes())) for path in sorted(folder.rglob("*.pdf"))).split())


def test_a_wash_job_with_it_is_checked_and_printed(done: dict[str, Done]) -> None:
    told = done["told"]
    assert told.code == 0, told.said
    findings = json.loads(told.said)["jobs"][0]["findings"]
    found = {(one["code"], one["about"]): one["message"] for one in findings}
    assert found["pump.unloader", "drive"].startswith("Relief valve set to 90"), found
    assert found["pump.wear", "drive"] == "Wear in a lobe pump shows in a bucket, not in its head."
    assert "lobes bypasses through its relief valve: 2 min at most" in found["pump.shut_off", "drive"]
    assert "value.unusual" not in {one["code"] for one in findings if one["level"] == "caution"}
    printed = done["printed"]
    assert printed.code == 0, printed.said
    assert "Open the suction of lobes; it draws by" in _text(printed.out)


def test_its_wear_is_told_by_a_bucket_and_written_as_flow(done: dict[str, Done]) -> None:
    said = done["bucket"].said
    assert "lobes and end plates are worn, a belt slips, the relief valve leaks back" in said
    assert "Write `flow: 5.00 gpm` under lobes" in said


def test_without_its_relief_valve_the_job_is_held(done: dict[str, Done]) -> None:
    held = done["no relief"]
    assert held.code == 1, held.said
    said = " ".join(held.said.split())
    assert "Lobe pump lobes has no relief valve." in said
    assert "Fit a relief valve and write its setting" in said


def test_on_the_bench_it_has_its_own_words(done: dict[str, Done]) -> None:
    printed = done["bench"]
    assert printed.code == 0, printed.said
    text = _text(printed.out)
    for words in ("Cover off, lobes drawn as a pair.", "Mark how the lobes mesh.", "Lobes in mesh as marked.",
                  "Lobes: no score that a nail finds.", "Turn it by hand: nothing touches."):  # fmt: skip
        assert words in text, words


@pytest.mark.parametrize(
    ("call", "told"),
    [
        ("misspelled", ["`lobe` if that was meant"]),
        ("another's keys", ["a lobe pump has one", "a lobe pump has no `cut_off`"]),
        ("impossible", ["`300 gpm` cannot be right"]),
    ],
)
def test_a_slip_in_it_is_told_like_any_other(done: dict[str, Done], call: str, told: list[str]) -> None:
    slip = done[call]
    assert slip.code == 2, slip.said
    said = " ".join(slip.said.split())
    assert all(words in said for words in told), said
