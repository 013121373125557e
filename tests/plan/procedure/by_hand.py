"""Procedures written by hand, an act a line, and what is settled of their jobs before anything has an order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from planner.inputs.joined import JobInput
from planner.plan.between.heels import tonight
from planner.plan.line.hydraulics import plan_runs
from planner.plan.mix.mixing import plan_mixes
from planner.plan.model import RunPlan
from planner.plan.procedure import levels
from planner.plan.procedure.acts import (
    Act,
    Detail,
    Draw,
    DrawFrom,
    Held,
    Mark,
    Procedure,
    Section,
    SetDosing,
    Spray,
    State,
)
from planner.plan.water.model import BedWater, SupplyPlan, TankLevel
from planner.plan.water.work import beds_of, plan_work

PUBLISHED = Path(__file__).parents[2] / "published"
EXACT = 1e-9
HOUSE = ("2026-06-09/10-millrace", "procedure_house.json")
ROOF = ("2026-06-09/20-granary", "procedure_roof_one_person.json")


@dataclass(frozen=True)
class Settled:
    """What is settled of a job before anything has an order."""

    job: JobInput
    runs: tuple[RunPlan, ...]
    beds: BedWater | None

    @classmethod
    def of(cls, job: JobInput) -> Settled:
        runs = plan_runs(job, (), curves=False)
        mixes, _ = plan_mixes(job, runs, tonight(job))
        return cls(job=job, runs=runs, beds=beds_of(job, plan_work(job, runs, mixes)))


@dataclass(frozen=True)
class Whole:
    """A whole procedure written out by hand, with its job."""

    plan: Settled
    procedure: Procedure
    walks: dict[str, float]
    need: float

    @property
    def job(self) -> JobInput:
        return self.plan.job

    @property
    def supply(self) -> SupplyPlan:
        found = levels.supply(self.job, self.procedure, self.plan.runs, self.plan.beds, self.walks)
        assert found is not None
        return found


# ------------------------------------------------------------------------------------------------ small ones by hand


def act(
    detail: Detail, start: float, lasts: float, *, phase: Any = "wash", who: Any = "lead", at: Any = "rig",
    wall: str = "", number: int = 1, of: int = 1, hands: float | None = None,
) -> Act:  # fmt: skip
    section = Section(surface=wall, number=number, of=of) if wall else None
    return Act(
        id=f"{phase}.{who}.{start!r}.{id(detail)}", phase=phase, who=who, at=at, detail=detail, start=start, lasts=lasts,
        hands=hands, section=section,
    )  # fmt: skip


def made(acts: Sequence[Act], **tanks: Held) -> Procedure:
    return Procedure(
        acts=tuple(sorted(acts, key=lambda one: one.start)), begin=State(tanks=tanks), end=State()
    )  # fmt: skip


def spray(volume: float, use: Any, seconds: float = 10.0, run: str = "front", onto: str = "section") -> Spray:
    return Spray(run=run, seconds=seconds, volume=volume, onto=onto, use=use)


def water(volume: float) -> Held:
    return Held(stock="water", volume=volume)


def bleach(volume: float) -> Held:
    return Held(stock="hypochlorite", volume=volume, strength=30.0)


def mark(what: str) -> Mark:
    return Mark(verb="look", what=what)


def feed(tank: str, start: float = 0.0) -> Act:
    return act(DrawFrom(run="front", feed=tank), start, 10.0, phase="set_up")


def stock(*draws: Draw, start: float) -> Act:
    to: Any = "mark" if draws else "water"
    return act(SetDosing(run="front", to=to, draws=draws), start, 5.0, who="second")


def supply_of(plan: Settled, procedure: Procedure, asked: BedWater | None = None) -> SupplyPlan:
    found = levels.supply(plan.job, procedure, plan.runs, asked, {})
    assert found is not None
    return found


def tank_of(supply: SupplyPlan, name: str) -> TankLevel:
    return next(tank for tank in (*supply.tanks, *supply.mix_tanks) if tank.name == name)


both = pytest.mark.parametrize("name", [HOUSE[0], ROOF[0]])
