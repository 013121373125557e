"""Mixes, work, flushes and neutralisers as the JSON contract writes them."""

from __future__ import annotations

from typing import NotRequired, TypedDict

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
from planner.units import System
from planner.words.jugs import filled, rest_of, with_active


class PartJson(TypedDict):
    surface: str
    kind: str
    area_m2: float
    cover_m2_per_m3: float
    cover_factor: float
    mix_m3: float


class PouredJson(TypedDict):
    what: str
    m3: float


class JugTestJson(TypedDict):
    filled: list[PouredJson]
    soap_thins: bool
    down_m3: float
    down_between_m3: list[float]


class JugJson(TypedDict):
    jug_left_m3: NotRequired[float | None]
    jug_left_between_m3: NotRequired[list[float] | None]
    jug_test: NotRequired[JugTestJson | None]


class StretchJson(TypedDict):
    surfaces: list[str]
    times: int
    mix_m3: float
    lead_m3: float
    chased: bool


class ShareJson(TypedDict):
    lot: str
    stock_m3: float | None
    stock_kg: float | None
    pull_m3: float | None
    mix_m3: float | None
    strength_today_g_per_l: float | None
    share: float | None
    dial: float | None
    jug_stock: float | None


class AcidJson(TypedDict):
    mass_fraction: float
    density_kg_per_m3: float
    normality: float
    rise_delta_k: float
    rise_high_delta_k: float


class AdditionJson(TypedDict):
    what: str
    m3: float | None
    kg: float | None
    dip_m: float | None
    contents_m3: float


class BatchJson(TypedDict):
    tank: str
    mix_m3: NotRequired[float]
    heel_m3: float
    water_m3: float
    stock_m3: float
    soap_m3: float
    additions: list[AdditionJson]


class LevelJson(TypedDict):
    tank: float
    dial: float | None


class SettingJson(TypedDict, total=False):
    dial: float | None
    by_level: list[LevelJson]
    share: float | None
    water_to_stock: float | None
    jug_stock: float | None
    jug_soap: float | None
    jug_m3: float  # only where somebody wrote what the jug holds


class MixJson(JugJson):
    name: NotRequired[str]
    stock: str
    lot: str | None
    run: str
    surfaces: NotRequired[list[str]]
    parts: NotRequired[list[PartJson]]
    dosing: str
    strength_today_g_per_l: float | None
    strength_today_low_g_per_l: float | None
    strength_today_high_g_per_l: float | None
    target_g_per_l: float | None
    reachable: bool
    wall_g_per_l: float | None
    wall_low_g_per_l: float | None
    wall_high_g_per_l: float | None
    need_m3: float
    mix_m3: float | None
    stock_m3: float | None
    stock_kg: float | None
    pull_m3: float | None
    water_m3: float | None
    soap_m3: float | None
    heel_m3: float | None
    hose_fill_m3: float
    hose_fill_covers_m2: float
    test_m3: float
    hose_primes_m3: float
    left_in_tank_m3: float | None
    left_over_m3: NotRequired[float | None]
    stays_m3: NotRequired[float]
    test_push_m3: float
    stretches: list[StretchJson]
    hose_small: list[str]
    lots: list[ShareJson]
    dissolves_g_per_l: float | None
    acid: AcidJson | None
    batches: list[BatchJson]
    setting: SettingJson


_FromTo = TypedDict("_FromTo", {"from": NotRequired[str], "to": str})


class FlushJson(_FromTo):
    run: str
    part: str
    volume_m3: float | None
    seconds: float | None
    residual_mg_per_l: float | None
    target_mg_per_l: float
    when: str
    before: str | None
    drains_to: str | None


class ChangeJson(FlushJson):
    """A flush before a mix of another chemistry."""

    strength_g_per_l: float | None
    drained_m3: float | None
    heel_m3: float | None
    rinses: int | None
    each_m3: float | None
    last_m3: float | None
    through: str | None


_For = TypedDict("_For", {"for": str})


class NeutralizerJson(_For):
    agent: str
    kg: float
    carry_kg: float
    thin_to_m3: float | None
    rise_delta_k: float | None
    of: str | None
    in_acts: bool


class PaceJson(TypedDict):
    wet_s: float
    apply_s: float
    rinse_s: float
    clean_s: float
    dwell_s: NotRequired[float]
    sections_s: float | None


class LeastJson(TypedDict):
    wet_s: float
    apply_s: float
    rinse_s: float


class WorkJson(TypedDict):
    surface: str
    run: str
    kind: NotRequired[str]
    side: NotRequired[str | None]
    pace_factor: float
    wet_s: float
    apply_s: float
    trigger_s: float
    rinse_s: float
    clean_s: float
    dwell_s: list[float]
    dwell_most_s: float | None
    sections: int
    first_mix_s: NotRequired[float | None]
    dries_s: NotRequired[list[float]]
    mists: NotRequired[int]
    mist_every_s: NotRequired[float]
    bare_s: NotRequired[float]
    wet_m3: float
    rinse_m3: float
    line_m3: float
    table: NotRequired[PaceJson]
    least: LeastJson


def mixes_json(plan: JobPlan, system: System) -> list[MixJson]:
    """Every mix of a job; what a jug has left is as paper in this system of units tells it."""
    names = [mix.run.name for mix in plan.mixes]
    jugs = jugs_left(plan.procedure, names) if plan.procedure is not None else (None,) * len(names)
    return [_mix(mix, plan.procedure, _jug(plan, jug, system)) for mix, jug in zip(plan.mixes, jugs, strict=True)]


def _jug(plan: JobPlan, test: JugTest | None, system: System) -> JugJson:
    """A mix's draw test: what was put into the jug, how far it goes down, and what is left as it is printed."""
    if test is None:
        return {"jug_left_m3": None, "jug_left_between_m3": None, "jug_test": None}
    rest = rest_of(plan, test, system)
    return {
        "jug_left_m3": rest.value,
        "jug_left_between_m3": list(rest.between),
        "jug_test": {
            "filled": [{"what": what, "m3": part} for what, part in filled(plan, test)],
            "soap_thins": with_active(plan),
            "down_m3": test.down,
            "down_between_m3": list(test.between),
        },
    }


def _mix(mix: MixPlan, procedure: Procedure | None, jug: JugJson) -> MixJson:
    """One mix; `jug` its draw test. Strengths are g/L of the active as sold, null where unknown.

    A test is drawn onto the wall and every line is chased with water, so that nothing is drawn beside the walls. Of
    what is left over `stays_m3` stays in its tank for the next job; acts drain the rest.
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
        "stays_m3": mix.stays,
        "test_push_m3": 0.0,
        "stretches": _stretches(mix, procedure),
        "hose_small": [],
        "lots": [_share(share) for share in mix.pours],
        "dissolves_g_per_l": mix.dissolves,
        "acid": _acid(mix.acid),
        "batches": [_batch(batch) for batch in mix.batches],
        "setting": _setting(mix),
    }


def _part(part: SurfaceMix) -> PartJson:
    """What one surface takes of a mix, without spare; `cover_factor` is what was learned, in the coverage already."""
    return {
        "surface": part.surface.name,
        "kind": part.surface.kind,
        "area_m2": part.area,
        "cover_m2_per_m3": part.coverage,
        "cover_factor": part.surface.cover_factor,
        "mix_m3": part.mix,
    }


def _stretches(mix: MixPlan, procedure: Procedure | None) -> list[StretchJson]:
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


def _share(share: LotShare) -> ShareJson:
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


def _acid(acid: AcidMix | None) -> AcidJson | None:
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


def _batch(batch: BatchPlan) -> BatchJson:
    return {
        "tank": batch.tank,
        "mix_m3": batch.mix,
        "heel_m3": batch.heel,
        "water_m3": batch.water,
        "stock_m3": batch.stock,
        "soap_m3": batch.soap,
        "additions": [_addition(addition) for addition in batch.additions],
    }


def _addition(addition: Addition) -> AdditionJson:
    return {
        "what": addition.what,
        "m3": addition.volume if addition.mass is None else None,
        "kg": addition.mass,
        "dip_m": addition.dip,
        "contents_m3": addition.contents,
    }


def _setting(mix: MixPlan) -> SettingJson:
    """How the dosing is set: a dial and its share, or what goes in an injector's jug; empty for a tank."""
    if mix.kind == "metered":
        setting: SettingJson = {"dial": mix.dial, "share": mix.share}
        if mix.by_level:
            setting["by_level"] = [{"tank": left, "dial": dial} for left, dial in mix.by_level]
        return setting
    if mix.kind == "injector":
        ratio = mix.run.dosing.water_to_stock if mix.run.dosing is not None else None
        size = mix.run.dosing.jug if mix.run.dosing is not None else None
        told: SettingJson = {
            "water_to_stock": ratio, "jug_stock": mix.jug_stock, "jug_soap": mix.jug_soap, "share": mix.share,
        }  # fmt: skip
        if size is not None:
            told["jug_m3"] = size
        return told
    return {}


def flush_json(flush: FlushPlan) -> FlushJson:
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


def change_json(change: ChangeFlush) -> list[ChangeJson]:
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


def neutraliser_json(one: Neutraliser, *, acts: bool = True) -> NeutralizerJson:
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


def work_json(work: SurfaceWork, plan: JobPlan) -> WorkJson:
    """Seconds and water of one surface; `table` without what was learned, `least` with the gun never shut.

    `sections_s` is the fixed time of all its sections, null where none is fixed; `side` what paper calls it where the
    job says on which side it is; `first_mix_s` its first mix on the clock, null where no time of day is known.
    """
    pace = work.pace
    row: WorkJson = {
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
    if work.dries is not None:
        row["dries_s"] = [min(one, 86400.0) for one in (work.dries.low, work.dries.nominal, work.dries.high)]
        if work.bare is not None:
            row["bare_s"] = work.bare
    if work.mists is not None:
        row["mists"], row["mist_every_s"] = work.mists.count, work.mists.every
    return row
