"""Ordinary jobs drawn at random: what small firms wash on most days, with rigs, shelves and weather as they usually are."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from random import Random
from typing import Any

import yaml

from planner.checks.model import CheckedJob
from tests import workspaces

ROOT = Path(__file__).resolve().parents[2]
KINDS = ("house", "house", "house", "roof", "drive", "water")
_RIG: dict[str, Any] = workspaces.as_written((ROOT / "jobs/rigs/bittern.yaml").read_text(encoding="utf-8"))
_STOCK = workspaces.as_written((ROOT / "jobs/stock.yaml").read_text(encoding="utf-8"))
# The shares are guesses of ours (common practice, no source): how often a file has a line, and what it says.
_TAP_TESTED, _BACKFLOW_SAID, _GFCI_SAID, _LOT_TESTED = 0.85, 0.9, 0.9, 0.7


def files(random: Random) -> dict[str, Any]:
    """One workspace with one job, as YAML would read it."""
    found: dict[str, Any] = {
        "company": {"name": "Case Company", "units": "us"},
        "rig": _rig(random),
        "stock": _stock(random),
        "day": _day(random),
        "job": _job(random),
    }
    plain: dict[str, Any] = json.loads(json.dumps(found))  # rows are shared, and our reader takes no aliases
    return plain


def jobs(count: int, folder: Path, seed: int = 1) -> list[CheckedJob]:
    """So many of them, checked; drawn alike each time."""
    random = Random(seed)
    return [workspaces.checked(folder / str(number), files(random), tables=True) for number in range(count)]


def _rig(random: Random) -> dict[str, Any]:
    rig = copy.deepcopy(_RIG)
    rig["rig"] = "Case"
    by_name = {pump["name"]: pump for pump in rig["pumps"]}
    by_name["booster"]["motor"]["cord"]["length"] = random.choice(("25 ft", "50 ft", "50 ft", "100 ft"))
    if random.random() < 0.3:
        by_name["booster"]["condition"] = random.choice(("0.95", "0.9", "0.8"))
    if random.random() < 0.3:
        by_name["booster"]["bypass"] = "true"
    if random.random() < 0.7:
        by_name["washer"]["bypass"] = "true"
    if random.random() > _GFCI_SAID:
        rig["power"].pop("gfci")
    if random.random() > _BACKFLOW_SAID:
        rig["supply_hose"].pop("backflow")
    rig["tanks"][0]["volume"] = "275 gal"
    return rig


def _stock(random: Random) -> dict[str, Any]:
    stock = copy.deepcopy(_STOCK)
    for lot in stock["lots"]:
        if lot["chemical"] == "bleach":
            lot["made"] = random.choice(("2026-06-01", "2026-05-20", "2026-05-05"))
            lot["on_hand"] = random.choice(("30 gal", "48 gal"))
            lot.pop("tested", None)
            if random.random() < _LOT_TESTED:
                lot["tested"] = {"strength": f"{random.choice((9.5, 10, 10.5, 11))} trade %", "on": "2026-06-08"}
            lot["container"] = "55 gal"
    return stock


def _day(random: Random) -> dict[str, Any]:
    wind = random.choice((2, 3, 4, 5, 6, 7, 8, 10, 12))
    return {
        "rig": "Case", "crew": random.choice((["lead", "ground"], ["lead", "ground"], ["lead"])),
        "leave_yard": "07:00", "drive": {"10-case": "25 min", "home": "25 min"},
        "forecast": {"low": f"{random.choice((48, 52, 58, 62))} F", "high": f"{random.choice((68, 74, 78, 84, 88))} F",
                     "wind": f"{wind} mph", "gust": f"{wind + random.choice((3, 5, 8))} mph",
                     "rain": random.choice(("none", "none", "none", "20 %", "40 % from 14:00"))},
        "heels": {"roof mix": {"stock": "water", "volume": "0 gal"}},
    }  # fmt: skip


def _job(random: Random) -> dict[str, Any]:
    kind = random.choice(KINDS)
    job: dict[str, Any] = {
        "job": f"Case {kind}", "site": {"address": "1 Case Street"},
        "tap": f"5 gal in {random.choice((35, 42, 50, 60))} s", "near": _near(random),
    }  # fmt: skip
    if random.random() > _TAP_TESTED:
        job.pop("tap")
    job |= {"house": _house, "roof": _roof, "drive": _drive, "water": _water}[kind](random)
    if random.random() < 0.3:
        job["access"] = {**job.get("access", {}), "power_line": random.choice(("12 ft", "16 ft", "24 ft", "40 ft"))}
    return job


def _near(random: Random) -> dict[str, Any]:
    near: dict[str, Any] = {}
    if random.random() < 0.7:
        near["flower_beds"] = random.choice(("80 ft2", "200 ft2", "400 ft2"))
    if random.random() < 0.4:
        near["storm_drain"] = random.choice(("20 ft", "40 ft", "80 ft"))
        if random.random() < 0.6:
            near["control"] = ["drain_cover", "berm"]
    if random.random() < 0.06:
        near["fish_pond"] = random.choice(("25 ft", "60 ft"))
    if random.random() < 0.4:
        near["cars"] = random.choice(("20 ft", "40 ft"))
    if random.random() < 0.3:
        near["downspouts"] = random.choice(("2", "4"))
    return near


def _house(random: Random) -> dict[str, Any]:
    tall = random.choice((("9 ft", "12 ft"), ("10 ft", "14 ft"), ("18 ft", "22 ft"), ("18 ft", "27 ft")))
    kind = random.choice(("vinyl", "vinyl", "painted_wood", "fibre_cement", "brick", "stucco"))
    return {
        "building": {"height": tall[1]},
        "surfaces": [{"kind": kind, "around": random.choice(("90 ft", "120 ft", "160 ft")), "height": tall[0],
                      "soil": random.choice(("light", "medium", "medium"))}],
        "setup": "house", "standoff": "10 ft",
    }  # fmt: skip


def _roof(random: Random) -> dict[str, Any]:
    return {
        "building": {"height": "17 ft"},
        "surfaces": [{"name": "slope", "kind": "asphalt_shingle", "squares": random.choice(("4", "8", "12")),
                      "soil": random.choice(("medium", "heavy")), "rinse": random.choice(("leave", "leave", "now"))}],
        "hose_runs": [{"name": "ridge", "pump": "roof pump", "feed": "roof mix", "dosing": "premix",
                       "hoses": ["roof line"], "tip": "roof tip", "tip_height": "6 ft", "standoff": "6 ft",
                       "past_eave": "12 ft", "target": "17 ft", "surfaces": ["slope"]}],
        "chemicals": [{"stock": "bleach", "strength": random.choice(("3 %", "3.5 %", "4 %"))}],
        "access": {"roof_work": {"pitch": "6/12", "eave": "11 ft", "anchor": "true"}},
    }  # fmt: skip


def _drive(random: Random) -> dict[str, Any]:
    chemicals: list[dict[str, Any]] = random.choice(([], [{"stock": "bleach", "strength": "0.7 %"}]))
    area = random.choice(("400 ft2", "800 ft2", "1500 ft2"))
    return {
        "surfaces": [{"name": "drive", "kind": "concrete", "area": area, "soil": random.choice(("light", "medium"))}],
        "chemicals": chemicals,
        **({"setup": "flat"} if chemicals else {"hose_runs": [
            {"name": "drive", "pump": "washer", "feed": "water", "hoses": ["drive line"], "tip": "rinse fan",
             "cleaner": "spinner"}]}),
    }  # fmt: skip


def _water(random: Random) -> dict[str, Any]:
    return {
        "building": {"height": "10 ft"},
        "surfaces": [{"kind": random.choice(("vinyl", "brick")), "around": "80 ft", "height": "9 ft", "soil": "light"}],
        "hose_runs": [{"name": "rinse", "pump": "booster", "feed": "water", "hoses": ["red 1", "red 2"], "tip": "fan 40",
                       "standoff": "6 ft", "target": "6 ft"}],
        "chemicals": [],
    }  # fmt: skip


def demo() -> list[Path]:
    """The demo's job files."""
    return [path for path in sorted((ROOT / "jobs").glob("2*/*.yaml")) if path.name != "day.yaml"]


def readable(job: dict[str, Any]) -> str:
    """A drawn job as an owner would see it."""
    return yaml.safe_dump(job, sort_keys=False)
