"""Mixes, water, flushes and neutralisers as the JSON contract writes them."""

from __future__ import annotations

from typing import Any

from planner.contract.supply import supply_json
from planner.plan.between.model import ChangeFlush
from planner.plan.between.runoff import remains_of
from planner.plan.mix.model import (
    AcidMix,
    Addition,
    BatchPlan,
    FlushPlan,
    LotShare,
    MixPlan,
    Neutraliser,
    SurfaceMix,
    SurfaceWork,
)
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Procedure, Spray
from planner.plan.procedure.totals import JugTest, first_mix, jugs_left
from planner.plan.water.tap import has_tap, open_flow
from planner.units import System
from planner.words.jugs import filled, rest_of, with_active


def mixes_json(plan: JobPlan, system: System) -> list[dict[str, Any]]:
    """Every mix of a job; what a jug has left is as paper in this system of units tells it."""
    names = [mix.run.name for mix in plan.mixes]
    jugs = jugs_left(plan.procedure, names) if plan.procedure is not None else (None,) * len(names)
    return [_mix(mix, plan.procedure, _jug(plan, jug, system)) for mix, jug in zip(plan.mixes, jugs, strict=True)]


def _jug(plan: JobPlan, test: JugTest | None, system: System) -> dict[str, Any]:
    """A mix's draw test: what was put into the jug, how far it goes down, and what is left as it is printed."""
    if test is None:
        return {"jug_left_m3": None, "jug_left_between_m3": None, "jug_test": None}
    rest = rest_of(plan, test, system)
    parts = [{"what": what, "m3": part} for what, part in filled(plan, test)]
    drawn = {"down_m3": test.down, "down_between_m3": list(test.between)}
    return {
        "jug_left_m3": rest.value,
        "jug_left_between_m3": list(rest.between),
        "jug_test": {"filled": parts, "soap_thins": with_active(plan), **drawn},
    }


def _mix(mix: MixPlan, procedure: Procedure | None, jug: dict[str, Any]) -> dict[str, Any]:
    """One mix; `jug` its draw test. Strengths are g/L of the active as sold, null where unknown.

    A test is drawn onto the wall and every line is chased with water, so that nothing is drawn beside the walls.
    """
    lot, left = mix.lot, remains_of(mix) if mix.mix is not None else None
    return {
        "name": mix.name,
        "stock": mix.chemical,
        "lot": lot.name if lot is not None else None,
        "run": mix.run.name,
        "surfaces": list(mix.surfaces),
        "parts": [_part(part) for part in mix.parts],
        "dosing": mix.run.dosing.name if mix.run.dosing is not None else "premix",
        "strength_today_g_per_l": lot.nominal if lot is not None else None,
        "strength_today_low_g_per_l": lot.low if lot is not None else None,
        "strength_today_high_g_per_l": lot.high if lot is not None else None,
        "target_g_per_l": mix.target or None,
        "reachable": mix.reachable,
        "wall_g_per_l": mix.wall,
        "wall_low_g_per_l": mix.wall_low,
        "wall_high_g_per_l": mix.wall_high,
        "need_m3": mix.need,
        "mix_m3": mix.mix,
        "stock_m3": mix.stock if mix.stock_mass is None else None,
        "stock_kg": mix.stock_mass,
        "pull_m3": mix.pull,
        "water_m3": mix.water,
        "soap_m3": mix.soap,
        "heel_m3": mix.heel,
        "hose_fill_m3": mix.fill,
        "hose_fill_covers_m2": mix.fill_covers,
        "test_m3": 0.0,
        "hose_primes_m3": 0.0,
        **jug,
        "left_in_tank_m3": left.spare if left is not None else None,
        "left_over_m3": left.spare if left is not None else None,
        "test_push_m3": 0.0,
        "stretches": _stretches(mix, procedure),
        "hose_small": [],
        "lots": [_share(share) for share in mix.pours],
        "dissolves_g_per_l": mix.dissolves,
        "acid": _acid(mix.acid),
        "batches": [_batch(batch) for batch in mix.batches],
        "setting": _setting(mix),
    }


def _part(part: SurfaceMix) -> dict[str, Any]:
    """What one surface takes of a mix, without spare; `cover_factor` is what was learned, in the coverage already."""
    return {
        "surface": part.surface.name,
        "kind": part.surface.kind,
        "area_m2": part.area,
        "cover_m2_per_m3": part.coverage,
        "cover_factor": part.surface.cover_factor,
        "mix_m3": part.mix,
    }


def _stretches(mix: MixPlan, procedure: Procedure | None) -> list[dict[str, Any]]:
    """Each wall's sections of the mix: so many `times`, `mix_m3` each."""
    sections: dict[str, set[int]] = {}
    for act in procedure.acts if procedure is not None else ():
        spray = act.detail
        if act.section is not None and isinstance(spray, Spray) and (spray.run, spray.use) == (mix.run.name, "mix"):
            sections.setdefault(act.section.surface, set()).add(act.section.number)
    return [
        {
            "surfaces": [part.surface.name],
            "times": len(sections[part.surface.name]),
            "mix_m3": part.mix / len(sections[part.surface.name]),
            "lead_m3": 0.0,
            "chased": True,
        }
        for part in mix.parts
        if part.surface.name in sections
    ]


def _share(share: LotShare) -> dict[str, Any]:
    """What one lot gives; a lot with a pull and no stock rides along in case another is weak."""
    dry = share.mass > 0.0
    return {
        "lot": share.lot.name,
        "stock_m3": None if dry else share.stock,
        "stock_kg": share.mass if dry else None,
        "pull_m3": None if dry else share.pull,
        "mix_m3": share.mix,
        "strength_today_g_per_l": share.lot.nominal,
        "share": share.share,
        "dial": share.dial,
        "jug_stock": share.jug_stock,
    }


def _acid(acid: AcidMix | None) -> dict[str, Any] | None:
    """What diluted acid comes to at 20 C, and how warm it gets on mixing; null for anything else."""
    if acid is None:
        return None
    return {
        "mass_fraction": acid.mass_fraction,
        "density_kg_per_m3": acid.density,
        "normality": acid.normality,
        "rise_delta_k": acid.rise,
        "rise_high_delta_k": acid.rise_high,
    }


def _batch(batch: BatchPlan) -> dict[str, Any]:
    return {
        "tank": batch.tank,
        "mix_m3": batch.mix,
        "heel_m3": batch.heel,
        "water_m3": batch.water,
        "stock_m3": batch.stock,
        "soap_m3": batch.soap,
        "additions": [_addition(addition) for addition in batch.additions],
    }


def _addition(addition: Addition) -> dict[str, Any]:
    return {
        "what": addition.what,
        "m3": addition.volume if addition.mass is None else None,
        "kg": addition.mass,
        "dip_m": addition.dip,
        "contents_m3": addition.contents,
    }


def _setting(mix: MixPlan) -> dict[str, Any]:
    """How the dosing is set: a dial and its share, or what goes in an injector's jug; empty for a tank."""
    if mix.kind == "metered":
        return {"dial": mix.dial, "share": mix.share}
    if mix.kind == "injector":
        ratio = mix.run.dosing.water_to_stock if mix.run.dosing is not None else None
        return {"water_to_stock": ratio, "jug_stock": mix.jug_stock, "jug_soap": mix.jug_soap, "share": mix.share}
    return {}


def water_json(plan: JobPlan) -> dict[str, Any]:
    """Water by use, and how it lasts: times are seconds from the start of the work, the end of set-up.

    In the yard, where a tap is at hand, nothing is told of how it lasts.
    """
    water = plan.water
    tap = [run.tap_pressure for run in plan.lines if run.tap_pressure is not None]
    return {
        "source": plan.input.water.source,
        "tap_m3_per_s": open_flow(plan.input),
        "tap_tested": plan.input.water.tested if has_tap(plan.input) else None,
        "need_m3": water.need,
        "most_m3": water.most,
        "by_use_m3": {
            "pre_wet": water.pre_wet,
            "line": water.line,
            "test": water.test,
            "mix": water.mix,
            "rinse": water.rinse,
            "flush": water.flush,
            "clean": water.clean,
            "beds": water.beds,
        },
        "seconds": dict(water.seconds),
        "tap_pressure_low_pa": min(tap) if tap else None,
        **supply_json(plan.supply),
    }


def beds_json(plan: JobPlan) -> dict[str, Any] | None:
    """Water for the flower beds before, during and after; null where there are none."""
    beds = plan.beds
    if beds is None:
        return None
    return {
        "before_m3": beds.before,
        "during_m3": beds.during,
        "after_m3": beds.after,
        "every_s": beds.every,
        "each_m3": beds.each,
        "during_s": beds.seconds,
    }


def flush_json(flush: FlushPlan) -> dict[str, Any]:
    """One part to flush at the job's end, from what it held to plain water."""
    return {
        "from": flush.leaves,
        "to": "water",
        "run": flush.run,
        "part": flush.part,
        "volume_m3": flush.volume,
        "seconds": flush.seconds,
        "residual_mg_per_l": None if flush.residual is None else flush.residual * 1000.0,
        "target_mg_per_l": flush.target * 1000.0,
        "when": "after",
        "before": None,
        "drains_to": None,
    }


def change_json(change: ChangeFlush) -> list[dict[str, Any]]:
    """The parts flushed before a mix of another chemistry; one washed by a tank's rinses takes no water of its own."""
    return [
        {
            "from": part.leaves,
            "to": change.comes,
            "run": change.run,
            "part": part.part,
            "volume_m3": part.volume,
            "seconds": part.seconds,
            "residual_mg_per_l": None if part.residual is None else part.residual * 1000.0,
            "target_mg_per_l": part.target * 1000.0,
            "when": "before",
            "before": change.mix or None,
            "drains_to": change.drains_to,
            "strength_g_per_l": part.strength,
            "drained_m3": part.drained if part.kind == "tank" else None,
            "heel_m3": part.holds if part.kind == "tank" else None,
            "rinses": part.rinses,
            "each_m3": part.each if part.rinses is not None else None,
            "last_m3": part.last if part.rinses is not None else None,
            "through": part.through,
        }
        for part in change.parts
    ]


def neutraliser_json(one: Neutraliser, *, acts: bool = True) -> dict[str, Any]:
    """So much of an agent for a leftover; `carry_kg` has the spare in it, `rise` is how much warmer the pail gets.

    `in_acts`: the `acts`, where there are any, give it, and `kg` is their sum; else it is carried for what may be left,
    spilled or caught.
    """
    return {
        "agent": one.agent,
        "kg": one.mass,
        "carry_kg": one.carry,
        "for": one.purpose,
        "thin_to_m3": one.thin_to,
        "rise_delta_k": one.rise,
        "of": one.of,
        "in_acts": acts and one.given,
    }


def _first_mix(work: SurfaceWork, plan: JobPlan) -> float | None:
    dated = bool(plan.time) and plan.time[0].start is not None
    return first_mix(plan.procedure, work.surface.name, work.run) if dated and plan.procedure is not None else None


def work_json(work: SurfaceWork, plan: JobPlan) -> dict[str, Any]:
    """Seconds and water of one surface; `table` without what was learned, `least` with the gun never shut.

    `sections_s` is the fixed time of all its sections, null where none is fixed; `side` what paper calls it where the
    job says on which side it is; `first_mix_s` its first mix on the clock, null where no time of day is known.
    """
    pace = work.pace
    return {
        "surface": work.surface.name,
        "run": work.run,
        "kind": work.surface.kind,
        "side": work.surface.side or None,
        "pace_factor": work.surface.pace_factor,
        "wet_s": work.wet,
        "apply_s": work.apply,
        "trigger_s": work.trigger,
        "rinse_s": work.rinse,
        "clean_s": work.clean,
        "dwell_s": [work.dwell_least, work.dwell_most],
        "dwell_most_s": work.dwell_bound,
        "sections": work.sections,
        "first_mix_s": _first_mix(work, plan),
        "wet_m3": work.wet_volume,
        "rinse_m3": work.rinse_volume,
        "line_m3": 0.0,
        "table": {
            "wet_s": pace.wet.table,
            "apply_s": pace.apply.table,
            "rinse_s": pace.rinse.table,
            "clean_s": pace.clean.table,
            "dwell_s": pace.dwell,
            "sections_s": pace.sections,
        },
        "least": {"wet_s": pace.wet.least, "apply_s": pace.apply.least, "rinse_s": pace.rinse.least},
    }
