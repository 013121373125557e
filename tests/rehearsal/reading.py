"""A setting read from a procedure written out by hand: its `job`, `rig`, `lots`, `heels` and `crew`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from planner.inputs.tables.chemicals import CHEMICALS
from planner.plan.between.matrix import matrix
from planner.plan.procedure.acts import Procedure
from planner.rehearsal.from_plan import agents_of
from planner.rehearsal.setting import Beds, Hose, Lot, Mix, Pump, Run, Setting, Stands, Tank, Work
from tests.acts_read import procedure_from

REFERENCE = Path(__file__).parents[1] / "published"
SIDING = {"vinyl"}
"""Kinds of the files' walls on which hypochlorite may stand twice as long as is aimed at (the contract)."""

BY_HAND = ("procedure_house.json", "procedure_roof_one_person.json")


def by_hand(name: str) -> tuple[Setting, Procedure]:
    """The setting and the procedure of a file that holds both."""
    found = json.loads((REFERENCE / name).read_text(encoding="utf-8"))
    return setting_from(found), procedure_from(found["job"]["procedure"])


def setting_from(found: dict[str, Any]) -> Setting:
    """The setting of such a file."""
    job, rig = found["job"], found["rig"]
    today = {lot["lot"]: lot["strength_today_g_per_l"] for mix in job["mixes"] for lot in mix["lots"]}
    flows = {run["name"]: run["flow_m3_per_s"] for run in job["runs"]}
    stocks = {mix["run"]: mix["stock"] for mix in job["mixes"]}
    whole = {one["name"]: _hoses(one, rig) for one in job["runs"]}
    flushes: dict[str, float] = {}
    for one in job["flushes"]:
        flushes[one["run"]] = flushes.get(one["run"], 0.0) + one["volume_m3"]
    beds, span = job["beds"], [one for one in job["time"] if one["what"] not in ("drive", "home")]
    return Setting(
        kind=job["kind"],
        tanks={
            name: Tank(volume=one["volume"], dead=one["dead"], holds=one["holds"])
            for name, one in rig["tanks"].items()
        },
        hoses={
            name: Hose(volume=rig["hoses"][name], length=rig["lengths"][name])
            for hoses in whole.values()
            for name in hoses
        },
        pumps={
            name: Pump(dedicated=one["dedicated"], switched=one["cut_off"], bypass=one.get("bypass", False))
            for name, one in rig["pumps"].items()
        },
        runs={one["name"]: _run(one, rig, whole[one["name"]]) for one in job["runs"]},
        lots={
            name: Lot(
                chemical=one["stock"],
                strength=None if name in ("bicarb", "thio") else today.get(name, one["g_per_l"]),
                on_hand=one["on_hand"],
            )
            for name, one in found["lots"].items()
        },
        matrix=matrix(),
        agents=agents_of(CHEMICALS.values()),
        thin=20.0,
        warm=22.0,
        crew=found["crew"],
        work=tuple(
            Work(
                surface=one["surface"],
                run=one["run"],
                wet=one["wet_m3"],
                rinse=one["rinse_m3"],
                clean=one["clean_s"] * flows[one["run"]],
                dwell_least=one["dwell_s"][0],
                dwell_most=one.get("dwell_most_s")
                or one["dwell_s"][1] * (2.0 if stocks.get(one["run"]) == "hypochlorite" and one["kind"] in SIDING else 1.0),
            )
            for one in job["work"]
        ),
        mixes=tuple(
            Mix(
                chemical=one["stock"],
                run=one["run"],
                strength=one["target_g_per_l"],
                parts={part["surface"]: part["mix_m3"] for part in one["parts"]},
                stock=one["stock_m3"] if one["stock_kg"] is None else one["stock_kg"],
                soap=one["soap_m3"],
            )
            for one in job["mixes"]
        ),
        rests=frozenset(one["surface"] for one in job["work"] if one["rinse_m3"] == 0.0),
        beds=None
        if beds is None
        else Beds(
            before=beds["before_m3"], during=beds["during_m3"], after=beds["after_m3"], every=beds["every_s"],
            each=beds["each_m3"],
        ),
        water_need=job["water"]["need_m3"],
        tap=job["water"]["tap_m3_per_s"],
        flushes=flushes,
        begins=span[0]["start_s"],
        ends=span[-1]["start_s"] + span[-1]["seconds"],
        found={
            name: Stands(volume=one["m3"], chemical=one["stock"], strength=one["g_per_l"])
            for name, one in found["heels"].items()
        },
    )  # fmt: skip


def _hoses(run: dict[str, Any], rig: dict[str, Any]) -> tuple[str, ...]:
    return tuple(loss["part"] for loss in run["losses"] if loss["part"] in rig["hoses"])


def _run(run: dict[str, Any], rig: dict[str, Any], hoses: tuple[str, ...]) -> Run:
    dosing = run["dosing"]
    return Run(
        name=run["name"],
        hoses=hoses,
        pump=run["pump"],
        dosing="water" if dosing is None else "premix" if dosing == "premix" else rig["dosing"][dosing],
        device=dosing if dosing in rig["dosing"] else None,
        flow=run["flow_m3_per_s"],
        pump_flow=run["pump_flow_m3_per_s"],
        shut_off=run["shut_off_s"],
        same_time=tuple(run["same_time"]),
    )
