"""The wheel carries exactly the demo that lies in the checkout, named file by file."""

from __future__ import annotations

import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


def _tracked(*under: str) -> set[str]:
    """What git tracks; nothing where there is no git or no checkout."""
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z", *under], cwd=ROOT, capture_output=True, text=True, check=False
        )
    except OSError:
        return set()
    return {name for name in listed.stdout.split("\0") if name} if listed.returncode == 0 else set()


def test_every_demo_file_is_named_in_the_wheels_list() -> None:
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    included = config["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    named = {name for name in included if name.startswith("jobs/")}
    tracked = _tracked("jobs")
    if not tracked:
        pytest.skip("no git checkout here: the tracked files are not known")
    assert named == tracked
    assert included["templates"] == "planner/_templates"


def test_the_top_level_holds_only_what_the_design_allows() -> None:
    """What README's tour makes here, such as `mine` and `kept`, is nobody's fault: only what is tracked counts."""
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "planner", "templates", "tests", "jobs"}
    tracked = {name.partition("/")[0] for name in _tracked()}
    if not tracked:
        pytest.skip("no git checkout here: the tracked files are not known")
    assert {name for name in tracked if not name.startswith(".")} <= allowed
