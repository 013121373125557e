"""A tank that the day's page says is empty, mixed in by one job and by the next with something else."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.days.prepare import Trouble, checked_jobs, loaded
from planner.days.rehearsing import rehearsed
from tests import workspaces

DECKS: dict[str, Any] = {
    "rig": {
        "carried": {"apart": ["oxalic", "citric"]},
        "pumps": {2: {"wetted": ["plastic"]}},
        "tanks": {1: {"wetted": ["plastic"]}},
        "hoses": {0: {"couplings": ["plastic"]}},
    },
    "stock": {
        "lots": [
            {"name": name, "chemical": name, "on_hand": "20 lb"}
            for name in ("percarbonate", "oxalic", "bicarbonate", "citric", "thiosulfate")
        ]
    },
    "job": {
        "surfaces": [{"name": "wall", "kind": "deck", "area": "300 ft2"}],
        "building": {"height": "4 ft"},
        "hose_runs": {0: {"pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "fan", "target": "2 m"}},
        "chemicals": [{"stock": "percarbonate"}],
    },
}


@pytest.mark.parametrize("heels", [{}, {"mix": {"stock": "water", "volume": "0 gal"}}])
def test_the_second_job_begins_with_what_the_first_left_whatever_the_page_says_of_the_morning(
    heels: dict[str, Any], tmp_path: Path
) -> None:
    files = workspaces.merged(workspaces.base(), DECKS | {"day": {"heels": heels}})
    first = workspaces.write(tmp_path / "ws", files)
    second = yaml.safe_load(first.read_text(encoding="utf-8")) | {
        "job": "Second",
        "site": {"address": "2 Case Street"},
        "surfaces": [{"name": "wall", "kind": "deck_acid", "area": "300 ft2"}],
        "chemicals": [{"stock": "oxalic"}],
    }
    (first.parent / "20-second.yaml").write_text(yaml.safe_dump(second), encoding="utf-8")
    trouble = Trouble([])
    jobs = list(checked_jobs(loaded([str(first.parent)]), trouble))
    assert not trouble.faults
    assert len(jobs) == 2
    assert not [breach for job in jobs for breach in (*job.breaches, *rehearsed(job).breaches)]
    left, found = jobs[0].plan.left.tanks["mix"], jobs[1].plan.found.tanks["mix"]
    assert found == left
    assert left.chemical == "percarbonate"
