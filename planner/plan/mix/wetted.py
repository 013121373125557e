"""What a mix does to what it wets of a wall, and how long it may therefore stand there."""

from __future__ import annotations

from math import inf
from typing import Final, Literal

from planner.inputs.joined import JobInput, Surface
from planner.inputs.tables.materials import Effect, worst_on
from planner.plan.mix.dosed import over_as_tested
from planner.plan.mix.model import MixPlan

Borne = Literal["", "banned", "rinse", "care"]

_SLACK: Final = 1e-9


def wetted(surface: Surface) -> tuple[str, ...]:
    """What a mix wets of a surface: what that is made of, and its trim."""
    return surface.row.get("material") or surface.kind, *surface.trim


def strongest(mix: MixPlan) -> float:
    """How strong a mix may be on the wall [kg/m3]."""
    return mix.wall_high if mix.wall_high is not None else mix.target


def borne(job: JobInput, mix: MixPlan, effect: Effect, holds: float) -> Borne:
    """How a material takes a mix that `holds` so much [kg/m3]: it may be banned, rinsed off at once, tried; else empty.

    The mix is weak if what is asked for is within the limit for trim, and what it holds within that and the error of a
    tested mix. A strength that is not known is not a weak one.
    """
    weak = job.limits["trim_strength"]
    most = weak * over_as_tested(mix)
    strong = not holds > 0.0 or _over(mix.target, weak) or _over(holds, most)
    if effect.may == "never" or (effect.may == "rinse" and strong):
        return "banned"
    if effect.may == "rinse" or (effect.may == "weak" and strong):
        return "rinse"
    return "care" if effect.may == "care" else ""


def stands_most(job: JobInput, mix: MixPlan, surface: Surface) -> float:
    """How long a mix may stand on a wall for what it wets there [s]: inf where nothing has to be rinsed at once."""
    met = (worst_on(mix.chemical, words) for words in wetted(surface))
    at_once = any(one is not None and borne(job, mix, one[1], strongest(mix)) == "rinse" for one in met)
    return job.limits["trim_rinse_within"] if at_once and surface.rinse == "now" else inf


def _over(value: float, limit: float) -> bool:
    return value > limit + _SLACK * max(abs(value), abs(limit))
