"""SQLAlchemy is known in one place, and loaded by nothing that keeps no results."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import planner
from planner.locate import jobs

ROOT = Path(planner.__file__).parent


@pytest.mark.ci
def test_only_the_archive_imports_sqlalchemy() -> None:
    users = set()
    for path in ROOT.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) and not node.level else []
            if any(name.split(".")[0] in ("sqlalchemy", "sqlite3", "psycopg") for name in names):
                users.add(path.relative_to(ROOT).parts[0])
    assert users == {"archive"}


@pytest.mark.ci
def test_what_keeps_no_results_never_loads_it() -> None:
    job = jobs() / "2026-06-09" / "10-millrace.yaml"
    calls = [["--help"], ["record", "--help"], ["explain", "reach.short"], ["schema", "record"], ["check", str(job)]]
    program = (
        "import sys\nfrom planner.cli import main\n"
        f"for call in {calls!r}:\n"
        "    try:\n        assert main(call) in (0, 1), call\n"
        "    except SystemExit as stop:\n        assert stop.code == 0, call\n"
        "    assert 'sqlalchemy' not in sys.modules, call\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
