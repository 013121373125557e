"""What another chemistry left in a tank: drained, rinsed and caught so that it meets nothing it may not, then work."""

from __future__ import annotations

from pathlib import Path
from random import Random
from typing import Any

import pytest

from planner.days.rehearsing import rehearsed
from planner.plan.procedure.acts import Drain, Pour, Read
from tests import workspaces
from tests.rehearsal import drawn

HEELS = {
    "bleach": {"stock": "bleach", "strength": "3 %", "volume": "4 gal"},
    "percarbonate": {"stock": "percarbonate", "strength": "20 g/L", "volume": "4 gal"},
    "oxalic": {"stock": "oxalic", "strength": "20 g/L", "volume": "4 gal"},
    "citric": {"stock": "citric", "strength": "20 g/L", "volume": "4 gal"},
}
STRENGTHS = {"percarbonate": "20 g/L", "oxalic": "20 g/L", "citric": "20 g/L", "bleach": "1 %"}


def files(held: str, comes: str, crew: str) -> dict[str, Any]:
    """A tank that held one chemical yesterday and is to hold another today."""
    found = workspaces.base()
    found["rig"] = drawn.rig(Random(7))
    found["rig"]["carried"]["apart"] = ["muriatic", "oxalic", "citric", "percarbonate"]
    found["stock"]["lots"] = [
        {"name": "drum", "chemical": "bleach", "strength": "12.5 trade %", "made": "2026-06-01", "on_hand": "30 gal"},
        *({"name": name, "chemical": name, "on_hand": "50 lb"} for name in ("percarbonate", "oxalic", "citric")),
        *({"name": name, "chemical": name, "on_hand": "50 lb"} for name in ("thiosulfate", "bicarbonate")),
    ]
    found["day"] |= {"crew": crew, "heels": {"mix": HEELS[held], "water": {"stock": "water", "volume": "60 gal"}}}
    near = {"target": "9 ft", "standoff": "5 ft"}
    kind = "concrete" if comes == "bleach" else "bare_wood"
    found["job"] |= {
        "surfaces": [{"name": "boards", "kind": kind, "area": "200 ft2"}],
        "hose_runs": [
            {"name": "roof", "pump": "roof pump", "feed": "mix", "dosing": "premix", "hoses": ["roof line"],
             "tip": "roof tip", **near},
            {"name": "rinse", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "fan", **near},
        ],
        "chemicals": [{"stock": comes, "strength": STRENGTHS[comes]}],
    }  # fmt: skip
    return found


@pytest.mark.parametrize("crew", ["1", "2"])
@pytest.mark.parametrize(
    ("held", "comes"),
    [("oxalic", "citric"), ("citric", "oxalic"), ("bleach", "percarbonate"), ("percarbonate", "oxalic")],
)
def test_a_tank_of_another_chemistry_is_made_clean_before_its_mix(
    tmp_path: Path, held: str, comes: str, crew: str
) -> None:
    job = rehearsed(workspaces.checked(tmp_path, files(held, comes, crew)))
    assert job.held_by == []
    assert job.breaches == ()
    assert job.plan.procedure is not None
    acts = job.plan.procedure.acts
    poured = next(act.start for act in acts if isinstance(act.detail, Pour))
    strips = [act for act in acts if isinstance(act.detail, Read) and act.expect and "strip" in act.expect.what]
    assert any(act.phase == "flush_first" and act.end <= poured for act in strips)


def test_rinses_of_what_may_not_meet_tonight_s_mix_are_caught(tmp_path: Path) -> None:
    job = rehearsed(workspaces.checked(tmp_path, files("bleach", "percarbonate", "2")))
    assert job.held_by == []
    assert job.plan.procedure is not None
    first = [act for act in job.plan.procedure.acts if act.phase == "flush_first"]
    drains = [act.detail for act in first if isinstance(act.detail, Drain) and act.detail.source == "mix"]
    assert [one.to for one in drains].count("lawn") == 1
    assert drains[-1].to == "lawn"
