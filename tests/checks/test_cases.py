"""Every finding code has a file of cases: passes, fails, and stands exactly at the limit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner.checks import evaluate
from planner.checks.model import CHECKS
from planner.contract.plan import job_json
from planner.plan.mix.model import DwellMisfit
from planner.plan.model import Value
from planner.units import read
from planner.words import spoken as words
from tests import workspaces
from tests.sampled import in_ci

FOLDER = Path(__file__).parent.parent / "cases"


def _cases() -> list[Any]:
    """Of a code the first case of each answer, at the limit and not, in every run; the others in CI."""
    found = []
    for path in sorted(FOLDER.glob("*.yaml")):
        seen: set[tuple[str, bool]] = set()
        for row in workspaces.read_yaml(path.read_text(encoding="utf-8")):
            case = pytest.param(path.stem, row, id=f"{path.stem}: {row['name']}")
            answers = {(one["level"], "at" in row) for one in row["expect"].values()}
            found.append(in_ci(case) if answers <= seen else case)
            seen |= answers
    return found


def _at_limit(folder: Path, files: dict[str, Any], at: dict[str, Any]) -> dict[str, Any]:
    """Plan once, then write one of the plan's own figures, or several added up, to the last digit, as the limit."""
    subject = job_json(workspaces.checked(folder, files), "si")[at.get("of", "runs")]  # type: ignore[literal-required]
    subject = subject[0] if isinstance(subject, list) else subject
    figure = sum(_figure(subject, name) for name in ([at["figure"]] if isinstance(at["figure"], str) else at["figure"]))
    *parents, last = at["sets"]
    place: Any = files
    for key in parents:
        place = place.setdefault(key, {}) if isinstance(place, dict) else place[key]
    place[last] = f"{figure!r} {at['unit']}"
    return files


def _figure(subject: Any, path: str) -> float:
    """A figure of the JSON by its keys and places, such as `losses.0.pressure_pa`."""
    for part in path.split("."):
        subject = subject[int(part)] if isinstance(subject, list) else subject[part]
    return float(subject)


def _si(number: float, unit: str, dimension: str) -> float:
    """A case's figure as the finding has it; strengths and ages are findings' own dimensions."""
    if dimension == "trade":
        return 10.0 * number
    if dimension in ("number", "gauge"):
        return number
    kind = {"grams": "concentration", "days": "time"}.get(dimension, dimension)
    return read(f"{number:.12f} {unit}", kind)


def _says(value: Value | str, written: str) -> bool:
    """Whether a finding's value is what its case says, to four figures; a time of day to the minute."""
    if isinstance(value, str):
        return value == written
    if value.dimension == "clock":
        hours, minutes = written.split(":")
        return value.amount // 60.0 == 60 * int(hours) + int(minutes)
    number, _, unit = written.partition(" ")
    low, high = (_si(float(number) * share, unit, value.dimension) for share in (0.9994, 1.0006))
    return low - 1e-9 <= value.amount <= high + 1e-9


@pytest.mark.parametrize(("code", "case"), _cases())
def test_a_finding_comes_out_as_its_case_says(code: str, case: dict[str, Any], tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), case.get("change", {}))
    if "at" in case:
        files = _at_limit(tmp_path / "first", files, case["at"])
    job = workspaces.checked(tmp_path / "second", files)
    if "misfits" in case:
        misfits = tuple(DwellMisfit(**row) for row in case["misfits"])
        job = evaluate.check_plan(replace(job.plan, procedure_misfits=misfits))
    for about, row in case["expect"].items():
        found = [one for one in job.findings if (one.code, one.about) == (code, about)]
        those = [one for one in found if (one.level, one.case) == (row["level"], row["case"])]
        assert those, [(one.level, one.case) for one in found]
        for key, written in row.get("values", {}).items():
            values = [one.values[key] for one in those]
            assert any(_says(value, str(written)) for value in values), f"{key}: {values}, not {written}"
        assert words.message(those[0], "us")
        if row["level"] in ("stop", "caution"):
            assert words.remedy(those[0], "si")


@pytest.mark.ci
def test_every_code_has_cases_that_pass_and_fail() -> None:
    for code in CHECKS:
        rows = workspaces.read_yaml((FOLDER / f"{code}.yaml").read_text(encoding="utf-8"))
        levels = {one["level"] for row in rows for one in row["expect"].values()}
        assert "ok" in levels, code
        assert levels & {"stop", "caution"}, code


def test_every_code_has_words_and_every_sentence_belongs_to_a_code() -> None:
    assert set(words.wording()) == set(CHECKS)
