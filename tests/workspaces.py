"""A small workspace written the way a user would, with changes laid over it: YAML text in, findings out."""

from __future__ import annotations

import copy
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from planner.checks.evaluate import check_plan
from planner.checks.model import CheckedJob
from planner.inputs.workspace import Loaded, load
from planner.plan.make import make_plan

BASE = """
company: {name: Case Company, units: us}
rig:
  rig: Case
  tanks:
    - {name: water, floor: 0 ft, volume: 100 gal}
    - {name: mix, floor: 0 ft, volume: 50 gal, holds: mix, dead_volume: 1 gal, shape: {kind: upright_cylinder, diameter: 24 in}}
  pumps:
    - {name: booster, kind: centrifugal, curve: [[0 gpm, 70 psi], [8 gpm, 58 psi], [16 gpm, 31 psi]], height: 0 ft,
       max_pressure: 200 psi}
    - {name: washer, kind: piston, flow: 5 gpm, unloader: 3000 psi, height: 0 ft}
    - {name: transfer, kind: diaphragm, curve: [[0 gpm, 80 psi], [5.5 gpm, 0 psi]], cut_off: 60 psi, height: 0 ft}
  hoses:
    - {name: red, bore: 3/4 in, length: 100 ft, rated: 200 psi}
  tips:
    - {name: long throw, pattern: solid, orifice: 1/4 in}
    - {name: fan, pattern: fan, flow: 5 gpm, at: 40 psi}
  dosing:
    - {name: panel, kind: metered, pump: booster, dial: [[1, 4 %], [2, 9 %], [3, 16 %]]}
    - {name: venturi, kind: injector, water_to_stock: 10, max_back_pressure: 250 psi, tested: 2026-05-01}
  carried: {eyewash: 6 gal}
  supply_hose: {bore: 3/4 in, length: 25 ft, backflow: rpz}
stock:
  lots:
    - {name: drum, chemical: bleach, strength: 12.5 trade %, made: 2026-06-01, kept_at: cool,
       tested: {strength: 10 trade %, on: 2026-06-09}, on_hand: 30 gal}
    - {name: acid, chemical: muriatic, strength: 31.45 wt %, on_hand: 5 gal}
    - {name: bicarb, chemical: bicarbonate, on_hand: 40 lb}
day:
  rig: Case
  forecast: {wind: 0 mph}
job:
  job: Case job
  site: {address: 1 Case Street}
  building: {height: 20 ft}
  surfaces:
    - {name: wall, kind: vinyl, area: 500 ft2}
  hose_runs:
    - {name: front, pump: booster, feed: water, hoses: [red], tip: long throw, tip_height: 4 ft, uphill: 0 ft,
       standoff: 10 ft, target: 20 ft, on_reel: 0 ft}
  chemicals: []
  water: {source: tap, static: 60 psi, flow_test: {flow: 8 gpm, pressure: 40 psi}, temperature: 68 F, backflow: rpz}
"""


def merged(base: Any, change: Any) -> Any:
    """`change` laid over `base`: mappings key by key (null takes a key away), a list's rows by number."""
    if isinstance(base, dict) and isinstance(change, dict):
        out = dict(base)
        for key, value in change.items():
            if value is None:
                out.pop(key, None)
            else:
                out[key] = merged(out.get(key), value)
        return out
    if isinstance(base, list) and isinstance(change, dict):
        rows = copy.deepcopy(base)
        for number, value in change.items():
            rows[int(number)] = merged(rows[int(number)], value)
        return rows
    return copy.deepcopy(change)


def as_written(text: str) -> dict[str, Any]:
    """A text's mappings and lists with every scalar left as text, so that `on` and `6/12` stay what they are."""
    return copy.deepcopy(_as_written(text))


@cache
def _as_written(text: str) -> dict[str, Any]:
    files: dict[str, Any] = yaml.load(text, Loader=yaml.BaseLoader)
    return files


# Built with its C parts the library writes some eight times as fast; without them it is the same text.
_DUMPER = getattr(yaml, "CSafeDumper", yaml.SafeDumper)


_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def read_yaml(text: str) -> Any:
    """What YAML makes of a text, each scalar as what it is."""
    return yaml.load(text, Loader=_LOADER)


def base() -> dict[str, Any]:
    """The files of the base workspace, as what YAML would make of them."""
    return as_written(BASE)


def write(folder: Path, files: dict[str, Any]) -> Path:
    """Write the workspace and give the job's path."""
    day = folder / "2026-06-09"
    (folder / "rigs").mkdir(parents=True, exist_ok=True)
    day.mkdir(exist_ok=True)
    for path, key in (
        (folder / "company.yaml", "company"),
        (folder / "rigs" / f"{files['rig']['rig'].lower()}.yaml", "rig"),
        (day / "day.yaml", "day"),
        (day / "10-case.yaml", "job"),
        (folder / "stock.yaml", "stock"),
    ):
        if key in files:
            text = yaml.dump(files[key], Dumper=_DUMPER, sort_keys=False, allow_unicode=True)
            path.write_text(text, encoding="utf-8")
    return day / "10-case.yaml"


def loaded(folder: Path, files: dict[str, Any]) -> Loaded:
    """The workspace written and read."""
    return load([write(folder, files)])


def checked(folder: Path, files: dict[str, Any], *, tables: bool = False) -> CheckedJob:
    """The workspace's one job, planned and checked, with paper's `tables` if asked; any fault fails the test."""
    read = loaded(folder, files)
    assert not read.faults, "\n".join(str(fault) for fault in read.faults)
    return check_plan(make_plan(read.jobs[0], tables=tables))
