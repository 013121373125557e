"""The setting made of a plan is the one written out by hand; what the demo's plan makes breaks no rule on it."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from math import isclose
from pathlib import Path
from typing import Any

import pytest

import planner
from planner.days.prepare import Trouble, checked_jobs, loaded
from planner.days.rehearsing import rehearsed
from planner.plan.between.matrix import matrix
from planner.plan.water.tap import open_flow
from planner.rehearsal.from_plan import keys_of, setting_of
from planner.rehearsal.setting import Setting
from tests.rehearsal.reading import BY_HAND, by_hand

AS_SOLD = 110.0
"""How strong the files by hand have a lot that their job does not take [kg/m3]."""

DAY = Path(planner.__file__).parents[1] / "jobs" / "2026-06-09"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Setting]:
    """The settings of the demo's first day, with the panel as the files by hand have it: wide open, levels unknown."""
    copy = shutil.copytree(
        DAY.parent, tmp_path_factory.mktemp("demo") / "jobs", ignore=shutil.ignore_patterns("archive*")
    )
    rig = copy / "rigs" / "bittern.yaml"
    text = rig.read_text(encoding="utf-8")
    throttled = "loss: {pressure: 4 psi, flow: 8 gpm}, at: {water: 2 ft, stock: 1 ft, flow: 9 gpm}"
    assert throttled in text
    rig.write_text(text.replace(throttled, "loss: {pressure: 1 psi, flow: 8 gpm}"), encoding="utf-8")
    trouble = Trouble([])
    jobs = {job.plan.id: job.plan for job in checked_jobs(loaded([str(copy / DAY.name)]), trouble)}
    assert not trouble.faults
    return {name: setting_of(plan, matrix(), open_flow(plan.input)) for name, plan in jobs.items()}


def alike(one: Any, other: Any) -> bool:
    """Whether two things are the same, their numbers to the ninth figure."""
    if is_dataclass(one) and is_dataclass(other):
        return all(alike(getattr(one, field.name), getattr(other, field.name)) for field in fields(one))
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return all(key in one and alike(one[key], value) for key, value in other.items())
    if isinstance(one, float) and isinstance(other, float):
        return isclose(one, other, rel_tol=1e-9, abs_tol=1e-12) or one == other
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(alike, one, other))
    return bool(one == other)


@pytest.mark.parametrize(("name", "job"), [(BY_HAND[0], "10-millrace"), (BY_HAND[1], "20-granary")])
def test_the_setting_of_a_plan_is_the_one_written_out_by_hand(name: str, job: str, demo: dict[str, Setting]) -> None:
    by_plan, written = demo[f"2026-06-09/{job}"], by_hand(name)[0]
    # The files say nothing of a panel's marks, nor of what is in pumps and panels.
    runs = {name: replace(run, dials=(), stirred={}) for name, run in by_plan.runs.items()}
    # In the files by hand a panel loses what it does after the pump, not before it.
    for name, run in runs.items():
        by_hands = written.runs[name]
        assert isclose(run.flow, by_hands.flow, rel_tol=1e-3)
        assert alike(replace(run, flow=by_hands.flow, pump_flow=by_hands.pump_flow), by_hands)
    for field in ("tanks", "hoses", "pumps", "agents", "work", "rests", "thin", "kind", "tap"):
        assert alike(getattr(by_plan, field), getattr(written, field)), field
    for mine, theirs in zip(by_plan.mixes, written.mixes, strict=True):
        assert alike(replace(mine, stock=None), replace(theirs, stock=None))
    stocks = {mix.chemical for mix in written.mixes}
    today = {name: lot for name, lot in written.lots.items() if lot.chemical in stocks and lot.strength != AS_SOLD}
    assert alike({name: replace(by_plan.lots[name], on_hand=None) for name in today},
                 {name: replace(lot, on_hand=None) for name, lot in today.items()})  # fmt: skip


@pytest.mark.ci
def test_what_the_demos_plans_make_breaks_no_rule() -> None:
    checked = list(checked_jobs(loaded([str(DAY)]), Trouble([])))
    found = {job.plan.id: rehearsed(job).breaches for job in checked if not job.held_by}
    assert len(found) == 2
    assert not any(found.values()), found


@pytest.mark.ci
def test_an_owner_who_measures_in_liters_has_jobs_that_break_no_rule(tmp_path: Path) -> None:
    copy = shutil.copytree(DAY.parent, tmp_path / "jobs", ignore=shutil.ignore_patterns("archive*"))
    company = copy / "company.yaml"
    text = company.read_text(encoding="utf-8")
    assert "\nunits: us" in text
    company.write_text(text.replace("\nunits: us", "\nunits: si"), encoding="utf-8")
    checked = list(checked_jobs(loaded([str(copy)]), Trouble([])))
    found = {job.plan.id: rehearsed(job).breaches for job in checked if not job.held_by}
    assert len(found) == 6
    assert not any(found.values()), found


def test_keys_are_known_by_the_verbs_that_take_them() -> None:
    found = keys_of([("HOSE", ["coil"]), ("drains_covered", ["cover", "uncover"]), ("gun RUN", ["look"])])
    assert found == {
        "coil": {"HOSE"}, "cover": {"drains_covered"}, "uncover": {"drains_covered"}, "look": {"gun RUN"},
    }  # fmt: skip
