"""Where the water goes.

Runoff is held against 40 CFR 261.22 by the first of it, which is the mix itself; the rule says "or equal".
"""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.model import Finding, Level, check, over, under
from planner.inputs.tables.chemicals import ACIDS, CHEMICALS, LASTS, words_of
from planner.inputs.tables.controls import controls
from planner.plan.between.flushing import LIFE, controls_of, kept_out, waters_of
from planner.plan.between.model import SurfaceRunoff
from planner.plan.between.runoff import ph_of
from planner.plan.model import JobPlan, Value

_WHAT = {"acid": "Acid", "caustic": "Caustic", "flatwork": "Flatwork water"}
"""What runs toward a drain, as a sentence begins with it."""


def _flat(plan: JobPlan) -> bool:
    """Whether flatwork is washed: its water carries what lay on it, oil and all, with or without a chemical."""
    flat = {surface.name for surface in plan.input.surfaces if surface.row["family"] == "flat"}
    return bool(flat & {name for run in plan.runs for name in run.input.surfaces})


def _lasting(plan: JobPlan) -> str:
    """The mixes that nothing here is known to end; else nothing."""
    return " and ".join(dict.fromkeys(words_of(mix.chemical) for mix in plan.mixes if mix.chemical in LASTS))


def _harsh(plan: JobPlan) -> str | None:
    """Which of this job's waters may not run off: acid, what nothing ends, lye, or flatwork's."""
    if any(mix.chemical in ACIDS for mix in plan.mixes):
        return "acid"
    if _lasting(plan):
        return "lasts"
    if any(_hazardous(plan, runoff) for runoff in _rows(plan)):
        return "caustic"
    return "flatwork" if _flat(plan) else None


def _rows(plan: JobPlan) -> tuple[SurfaceRunoff, ...]:
    return plan.runoff.surfaces if plan.runoff is not None else ()


def _hazardous(plan: JobPlan, one: SurfaceRunoff) -> bool:
    """Whether what runs off is waste by its pH. The first of it is the mix itself: no rinse has thinned it."""
    ph, of = ph_of(one.chemical, one.first), CHEMICALS.get(one.chemical)
    if of is not None and of.unknown & {"acid", "base"}:
        return True  # nobody knows
    low, high = plan.input.limits["waste_ph_low"], plan.input.limits["waste_ph_high"]
    # The rule says "or equal": a pH at its limit is waste.
    return ph is not None and (not over(ph, low) or not under(ph, high))


def _control(plan: JobPlan, place: str) -> tuple[bool, dict[str, Value | str]]:
    """Whether what is written keeps the runoff from a place, with its words, and which kinds would."""
    fit = kept_out(plan.input, place, waters_of(plan))
    values: dict[str, Value | str] = {"control": ", ".join(control.says for control in fit)}
    if not fit:
        able = [
            control for control in controls().values() if all(control.holds(place, water) for water in waters_of(plan))
        ]
        values["kinds"] = " or ".join(f"`{control.kind}`" for control in able)
    if controls_of(plan.input) and not fit:
        values["misfit"] = ", ".join(control.says for control in controls_of(plan.input))
    return bool(fit), values


def _foot(plan: JobPlan, life: bool = False) -> dict[str, Value | str]:
    """The strongest the runoff is at the foot of any wall: of chlorine, and how often what life bears; pH of acid."""
    rows = _rows(plan)
    values: dict[str, Value | str] = {}
    chlorine = [runoff for runoff in rows if runoff.times_acute is not None]
    if chlorine:
        worst = max(chlorine, key=lambda one: one.strength or 0.0)
        if life:
            values["times"] = Value(worst.times_acute or 0.0, "number")
        else:
            values["foot"] = Value(worst.strength or 0.0, "grams")
    acid = [runoff.ph for runoff in rows if runoff.ph is not None and runoff.chemical in ACIDS]
    if acid:
        values["ph"] = Value(min(acid), "number")
    alkali = [runoff for runoff in rows if runoff.ph is not None and runoff.chemical not in ACIDS]
    if alkali:
        values["ph_high"] = Value(max(runoff.ph or 0.0 for runoff in alkali), "number")
        values["ph_first"] = Value(max(ph_of(runoff.chemical, runoff.first) or 0.0 for runoff in alkali), "number")
    return values


@check("runoff.drain")
def runoff_drain(plan: JobPlan) -> Iterator[Finding]:
    """Wash water and a storm drain: not without a permit."""
    near = plan.input.job.near
    distance = near.storm_drain if near is not None else None
    harsh = _harsh(plan)
    level: Level = "none"
    case = "none"
    values: dict[str, Value | str] = {}
    if distance is not None and plan.kind == "wash":
        fits, control = _control(plan, "storm_drain")
        values = {
            "distance": Value(distance, "length"),
            "what": _WHAT.get(harsh or "", _lasting(plan).capitalize() or "Rinse water"),
            **control,
            **_foot(plan),
        }
        if fits:
            level, case = "ok", "controlled"
        elif harsh is not None:
            level, case = "stop", "harsh"
        else:
            level, case = ("caution", "house") if plan.mixes else ("ok", "plain")
    yield Finding(
        code="runoff.drain", about="storm drain", level=level, case=case, values=values,
        where=plan.input.places.get("near", plan.where),
    )  # fmt: skip


@check("runoff.water_life")
def runoff_water_life(plan: JobPlan) -> Iterator[Finding]:
    """Ponds, streams, barrels and wells near the work."""
    near = plan.input.job.near
    reach = plan.input.limits["life_within_reach"]
    found = False
    flat = _flat(plan)
    lasting = _lasting(plan)
    for name in LIFE:
        distance = near.distances.get(name) if near is not None else None
        if distance is None or plan.kind != "wash" or not (plan.mixes or flat):
            continue
        found = True
        level: Level = "caution"
        case = "house" if plan.mixes else "flatwork"
        fits, control = _control(plan, name)
        if fits:
            level, case = "ok", "controlled"
        elif plan.mixes and under(distance, reach):
            level, case = "stop", "within"
        elif any(_hazardous(plan, runoff) for runoff in _rows(plan)):
            level, case = "stop", "waste"
        elif lasting:
            level, case = "stop", "lasts"
        yield Finding(
            code="runoff.water_life",
            about=name.replace("_", " "),
            level=level,
            case=case,
            values={
                "what": name.replace("_", " "),
                "distance": Value(distance, "length"),
                "reach": Value(reach, "length"),
                "lasting": lasting,
                **control,
                # A well and a barrel hold no fish: they are told how strong it is.
                **_foot(plan, life=name in ("fish_pond", "stream")),
            },
            where=plan.input.places.get("near", plan.where),
        )
    if not found:
        yield Finding(code="runoff.water_life", about="site", level="none", case="none", values={}, where=plan.where)
