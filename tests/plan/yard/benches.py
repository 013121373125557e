"""A yard job laid over the base workspace: what is written of it, planned and checked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from planner.checks.model import CheckedJob
from planner.plan.yard.model import BathPlan, ThrowTest
from tests import workspaces

GAL = 231 * 0.0254**3
POUND = 0.45359237
YARD: dict[str, Any] = {
    "job": "Booster", "kind": "yard", "pump": "booster", "work": ["descale", "rebuild", "test"], "bath": "15 vol % muriatic",
}  # fmt: skip
SETUPS: dict[str, Any] = {
    "rig": {
        "pumps": {"0": {"wetted": ["plastic"]}},
        "setups": [
            {"name": "rinse", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "fan"},
            {"name": "house", "pump": "booster", "feed": "water", "dosing": "panel", "hoses": ["red"], "tip": "long throw"},
            {"name": "drive", "pump": "washer", "feed": "water", "hoses": ["red"], "tip": "fan"},
        ],
    }
}  # fmt: skip


def checked(folder: Path, yard: dict[str, Any] | None = None, change: dict[str, Any] | None = None) -> CheckedJob:
    files = workspaces.merged(workspaces.merged(workspaces.base(), SETUPS), change or {})
    files["job"] = {key: value for key, value in {**YARD, **(yard or {})}.items() if value is not None}
    return workspaces.checked(folder, files)


def bath_of(job: CheckedJob) -> BathPlan:
    assert job.plan.yard is not None
    assert job.plan.yard.bath is not None
    return job.plan.yard.bath


def shown_of(job: CheckedJob) -> ThrowTest:
    assert job.plan.yard is not None
    assert job.plan.yard.test is not None
    return job.plan.yard.test


def told(job: CheckedJob, code: str) -> dict[str, tuple[str, str]]:
    return {one.about: (one.level, one.case) for one in job.findings if one.code == code}
