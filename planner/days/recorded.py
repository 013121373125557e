"""A job of a day before as it was written down: what its tanks kept, and whether its lines were flushed clean.

What the record says stands before what was planned; what it does not say stays as planned.

A tank today's page leaves out is planned as dry and looked at first (`looks`): what an earlier day left there stops
another chemistry and is a caution for the same one (`Carried.overnight`). Lines keep what they carried until a strip is
on record. A wall of the same name at the same address is the same wall: its masonry is held until a strip is written.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from planner.inputs.joined import JobInput
from planner.inputs.models import Day, Heel
from planner.inputs.reading.strengths import Strength
from planner.inputs.tables.chemicals import BLEACH
from planner.inputs.tables.whole import limits_with
from planner.plan.between.heels import after_mix, left_in, tonight
from planner.plan.mix.model import EMPTY, Carried, TankHeel
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Drain, Stir

if TYPE_CHECKING:
    from planner.contract.record import RecordJson


def as_recorded(left: Carried, plan: JobPlan, record: RecordJson) -> Carried:
    """The rig as a job `left` it by its plan, set right by its record."""
    parts, unflushed = dict(left.parts), set(left.unflushed)
    read = {chemical: _clean(record, chemical, plan.input.limits) for chemical in _lines(plan)}
    for chemical, gear in _lines(plan).items():
        if read[chemical]:
            parts = {part: held for part, held in parts.items() if part not in gear or held != chemical}
            unflushed -= gear
    for chemical, gear in _lines(plan).items():
        # What read dirty stands, whatever went through after it.
        if read[chemical] is False:
            parts |= dict.fromkeys(gear, chemical)
            unflushed |= gear
    told = {**_left_over(plan, record), **_heels(plan.input, record)}
    tanks = {**left.tanks, **told}
    night = {name: held for name, held in left.overnight.items() if name not in tanks}
    return replace(
        left,
        tanks=MappingProxyType(tanks),
        parts=MappingProxyType(parts),
        unflushed=frozenset(unflushed),
        overnight=MappingProxyType(night),
        gainsaid=MappingProxyType({name: held for name, held in left.gainsaid.items() if name not in told}),
    )


def settled(record: RecordJson | None) -> bool:
    """Whether the record of a job whose file cannot be read any more says by itself that the rig was left clean."""
    if record is None or not record.get("heels"):
        return False
    limits, _ = limits_with({})
    return _clean(record, BLEACH, limits) is True and _clean(record, "", limits) is True


def _lines(plan: JobPlan) -> dict[str, set[str]]:
    """What each chemical of a job went through."""
    gear: dict[str, set[str]] = {}
    for mix in plan.mixes:
        gear.setdefault(mix.chemical, set()).update(after_mix(EMPTY, mix).parts)
    return gear


def _clean(record: RecordJson, chemical: str, limits: Mapping[str, float]) -> bool | None:
    """Whether the strip after the flush read clean of a chemical; None where none was read that tells."""
    if chemical == BLEACH:
        read = record["flush"]["residual_mg_per_l"]
        return None if read is None else read <= limits["residual"] * 1000.0 * (1.0 + 1e-9)
    read = record["flush"]["ph"]
    return None if read is None else limits["let_go_ph_low"] <= read <= limits["let_go_ph_high"]


def _left_over(plan: JobPlan, record: RecordJson) -> dict[str, TankHeel]:
    """Mix left over in tanks, at least what stays below their outlets: what the acts drain of it is in no tank."""
    found: dict[str, TankHeel] = {}
    for row in record["mixes"]:
        number, left = row["number"], row["left_m3"]
        if left is None or number > len(plan.mixes):
            continue
        mix = plan.mixes[number - 1]
        tank = mix.run.feed_tank
        if mix.kind == "premix" and tank is not None:
            volume = max(left - _drained(plan, tank.name), left_in(tank))
            found[tank.name] = TankHeel(
                volume=volume, strength=mix.target, soap=mix.soap_share, chemical=mix.chemical
            )  # fmt: skip
    return found


def _drained(plan: JobPlan, tank: str) -> float:
    """What the acts drain of a tank [m3] since the last of its batches was stirred."""
    volume = 0.0
    for act in plan.procedure.acts if plan.procedure is not None else ():
        match act.detail:
            case Stir(tank=name) if name == tank:
                volume = 0.0
            case Drain(source=name, volume=more) if name == tank:
                volume += more
            case _:
                pass
    return volume


def _heels(job: JobInput, record: RecordJson) -> dict[str, TankHeel]:
    """What was written down as left in tanks, read as the next morning's page would be."""
    heels = {}
    for row in record.get("heels", ()):
        told = row["strength"]
        strength = Strength(amount=told["amount"], basis=told["basis"], text="") if told else None
        heels[row["tank"]] = Heel.model_construct(stock=row["stock"], strength=strength, volume=row["volume_m3"])
    if not heels:
        return {}
    page = Day.model_construct(rig=job.rig.rig, crew=None, leave_yard=None, forecast=None, heels=heels, drive={})
    return dict(tonight(replace(job, day=page)).tanks)
