"""What `check` says under a whole day: the same figures as its JSON and its cover."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.words.dates import long_date
from tests import workspaces

DEMO = Path(__file__).resolve().parents[2] / "jobs"
POUND = 0.45359237


def _both(capsys: pytest.CaptureFixture[str], path: Path) -> tuple[str, dict[str, Any]]:
    main(["check", "--json", str(path)])
    (day,) = json.loads(capsys.readouterr().out)["days"]
    main(["check", str(path)])
    text = capsys.readouterr().out
    return text[text.rindex(long_date(date.fromisoformat(day["date"]), "us") + "  ") :], day


@pytest.mark.ci
def test_a_day_is_told_under_its_jobs_as_its_json_has_it(capsys: pytest.CaptureFixture[str]) -> None:
    text, day = _both(capsys, DEMO / "2026-06-09")
    assert text.startswith("Tuesday, June 9, 2026  Bittern, 3 jobs, 1 held")
    loads = [line.split("  load ")[1] for line in text.splitlines() if line.startswith("  load ")]
    assert len(loads) == len(day["stock"]) > 0
    assert all(f" of {pull['lot']} (" in line for pull, line in zip(day["stock"], loads, strict=True))
    (weighs,) = [line for line in text.splitlines() if line.startswith("  weighs ")]
    told = float(weighs.split()[1].replace(",", ""))
    heaviest = max(leg["total_kg"] for leg in day["load"]["legs"])
    assert 0.0 <= told - heaviest / POUND <= 10.0
    tanks = [line.split()[1:] for line in text.splitlines() if line.startswith("  tonight ")]
    assert len(tanks) == len(day["heels_after"]) == 1


@pytest.mark.ci
def test_one_job_alone_has_no_day(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(DEMO / "2026-06-09" / "10-millrace.yaml")])
    assert "  weighs " not in capsys.readouterr().out


def test_what_the_shelf_lacks_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written = workspaces.base()
    written["stock"]["lots"][0]["on_hand"] = "1 gal"
    written["job"]["chemicals"] = [{"stock": "bleach", "strength": "1 %"}]
    written["job"]["hose_runs"][0]["dosing"] = "panel"
    job = workspaces.write(tmp_path, written)
    text, day = _both(capsys, job.parent)
    assert day["buy"], day
    (line,) = [line for line in text.splitlines() if line.startswith("  buy ")]
    assert "of hypochlorite: not on the shelf" in line
