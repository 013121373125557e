"""A procedure read back from the JSON contract, so that whole ones written out by hand can be played and printed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from types import MappingProxyType
from typing import Any

from planner.plan.procedure.acts import (
    Act,
    Detail,
    Drain,
    Draw,
    DrawFrom,
    Expect,
    Fill,
    Held,
    Join,
    Mark,
    Neutralise,
    Parting,
    Pour,
    Power,
    Prime,
    Procedure,
    Read,
    Relieve,
    Section,
    SetDosing,
    Shut,
    Soak,
    Spray,
    State,
    Stir,
    StopPoint,
    Tap,
    Wait,
    WaterBed,
)


def procedure_of(text: str | Path) -> Procedure:
    """The procedure of a job's JSON, or of a file that holds one under `job`."""
    found = json.loads(Path(text).read_text(encoding="utf-8"))
    job = found.get("job", found)
    return procedure_from(job["procedure"])


def procedure_from(found: dict[str, Any]) -> Procedure:
    """The procedure of its JSON."""
    acts = tuple(act_from(one) for one in found["acts"])
    return Procedure(acts=acts, begin=_state(found["begin"]), end=_state(found["end"]))


def act_from(one: dict[str, Any]) -> Act:
    """One act of its JSON."""
    section, expect = one["section"], one["expect"]
    return Act(
        id=one["id"], phase=one["phase"], who=one["who"], at=one["at"], detail=_detail(one), start=one["start_s"],
        lasts=one["lasts_s"], hands=one["hands_s"], after=tuple(one["after"]),
        section=Section(**section) if section else None, expect=Expect(**expect) if expect else None,
        stop_point=one["stop_point"], why=one["why"],
    )  # fmt: skip


def _state(found: dict[str, Any]) -> State:
    return State(
        tanks=MappingProxyType({name: _held(one) for name, one in found["tanks"].items()}),
        hoses=MappingProxyType({name: _held(one) for name, one in found["hoses"].items()}),
        lots=MappingProxyType(dict(found["lots"])),
        pails=MappingProxyType({name: _held(one) for name, one in found["pails"].items()}),
    )


def _held(one: dict[str, Any]) -> Held:
    return Held(stock=one["stock"], strength=one["g_per_l"], volume=one.get("m3"))


def _detail(one: dict[str, Any]) -> Detail:
    verb = one["act"]
    plain: dict[str, Callable[..., Detail]] = {
        "join": Join,
        "part": Parting,
        "prime": Prime,
        "shut": Shut,
        "relieve": Relieve,
    }
    if verb in plain:
        return plain[verb](run=one["run"])
    if verb == "stop_point":
        return StopPoint(number=one["number"], before=one["before"], about=one["about"], asks=tuple(one["asks"]))
    if verb == "fill":
        return Fill(into=one["into"], source=one["from"], volume=one["m3"])
    if verb == "pour":
        return Pour(lot=one["lot"], into=one["into"], volume=one["m3"], mass=one["kg"], order=one["order"])
    if verb == "stir":
        return Stir(tank=one["tank"], seconds=one["seconds"])
    if verb == "drain":
        return Drain(source=one["from"], to=one["to"], volume=one["m3"])
    if verb == "draw_from":
        return DrawFrom(run=one["run"], feed=one["feed"])
    if verb == "tap":
        return Tap(run=one["run"], on=one["on"])
    if verb == "set_dosing":
        draws = tuple(Draw(source=row["from"], share=row["share"]) for row in one["draws"])
        return SetDosing(run=one["run"], to=one["to"], draws=draws, mark=one.get("mark"))
    if verb == "power":
        return Power(pump=one["pump"], on=one["on"])
    if verb == "spray":
        return Spray(run=one["run"], seconds=one["seconds"], volume=one["m3"], onto=one["onto"], use=one["use"])
    if verb == "read":
        return Read()
    if verb == "wait":
        return Wait(seconds=one["seconds"])
    if verb == "water":
        return WaterBed(bed=one["bed"], source=one["from"], volume=one["m3"])
    if verb == "neutralise":
        return Neutralise(what=one["what"], lot=one["lot"], mass=one["kg"])
    if verb == "soak":
        return Soak(what=one["what"], into=one["into"], seconds=one["seconds"])
    return Mark(verb=verb, what=one["what"])
