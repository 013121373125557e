"""Days drawn at random, planned, checked and rehearsed as `check` does it: no act breaches a rule, and tanks meet."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from planner.days.prepare import Trouble, checked_jobs
from planner.inputs.workspace import load
from tests.rehearsal import drawn
from tests.sampled import in_ci


def _played(folder: Path, seed: int, *, tips: bool = False) -> int:
    """How many jobs of a day are rehearsed; every breach fails."""
    read = load([drawn.write_day(Random(seed), folder, tips=tips)])
    assert not read.faults, "\n".join(str(fault) for fault in read.faults)
    trouble = Trouble(faults=[])
    jobs = list(checked_jobs(read, trouble))
    breaches = [(job.plan.id, breach) for job in jobs for breach in job.breaches]
    assert not breaches, f"day {seed}: {breaches[:5]}"
    assert not trouble.faults, f"day {seed}: {trouble.faults}"
    assert not trouble.ours, f"day {seed}"
    return sum(not job.held_by for job in jobs)


def _days(tmp_path: Path, seeds: range, *, tips: bool = False) -> int:
    return sum(_played(tmp_path / str(seed), seed, tips=tips) for seed in seeds)


@pytest.mark.ci
def test_a_few_days_drawn_at_random_are_rehearsed_without_a_breach(tmp_path: Path) -> None:
    assert _days(tmp_path, range(2)) > 0


@pytest.mark.ci
def test_a_few_days_with_tips_to_change_are_rehearsed_without_a_breach(tmp_path: Path) -> None:
    assert _days(tmp_path, range(20, 26), tips=True) > 1


@pytest.mark.parametrize("seed", [352, 445, 480, *map(in_ci, (3133, 3284, 3292, 3357))])
def test_beds_between_sections_and_small_walls_behind_long_hoses_are_rehearsed_without_a_breach(
    seed: int, tmp_path: Path
) -> None:
    """Two guns' first water for the beds, beds when little is owed, a wall below a hose's mix, a neat jug, a second flush;
    mixes made in one tank for walls they share."""
    assert _days(tmp_path / "plain", range(seed, seed + 1)) + _days(tmp_path / "tips", range(seed, seed + 1), tips=True)


@pytest.mark.ci
def test_forty_days_with_tips_to_change_are_rehearsed_without_a_breach(tmp_path: Path) -> None:
    assert _days(tmp_path, range(200, 240), tips=True) > 20


@pytest.mark.ci
def test_sixty_days_drawn_at_random_are_rehearsed_without_a_breach(tmp_path: Path) -> None:
    assert _days(tmp_path, range(2, 12)) > 2
    assert _days(tmp_path, range(100, 160)) > 30


@pytest.mark.long
def test_two_thousand_days_drawn_at_random_are_rehearsed_without_a_breach(tmp_path: Path) -> None:
    assert _days(tmp_path, range(1000, 3000)) > 1000
