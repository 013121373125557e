"""Work on a pump in the yard as the JSON contract writes it: its bath, its parts, the test before and after."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from planner.physics.lines import SolveError
from planner.plan.model import JobPlan
from planner.plan.yard.model import BenchPoint, ThrowTest, YardPlan
from planner.plan.yard.throw import bench_points


class LotJson(TypedDict):
    lot: str
    stock_m3: float | None
    stock_kg: float | None


class WrittenJson(TypedDict):
    amount: float
    basis: str


class LevelJson(TypedDict):
    what: str
    added_m3: float | None
    added_kg: float | None
    m3: float
    dip_m: float | None
    by_stick: bool


_For = TypedDict("_For", {"for": str})


class BathAgentJson(_For):
    agent: str
    kg: float
    carry_kg: float
    rise_delta_k: float | None


class BathJson(TypedDict):
    chemical: str
    written: WrittenJson | None
    reachable: bool
    lot: str | None
    lots: list[LotJson]
    short_m3: float | None
    short_kg: float | None
    volume_m3: float
    fills_m3: float | None
    stock_m3: float | None
    stock_kg: float | None
    water_m3: float | None
    strength_g_per_l: float | None
    share: float | None
    mass_fraction: float | None
    density_kg_per_m3: float | None
    normality: float | None
    dissolves_g_per_l: float | None
    capacity_kg: float | None
    spent_kg: float | None
    spent_ph: float | None
    warms_k: float | None
    warms_high_k: float | None
    kg: float | None
    soak_s: float
    wipe_s: list[float] | None
    wipe_passes: int | None
    rinse_m3: float
    rinses: int
    rinse_bicarbonate_kg: float | None
    rinse_agent: str | None
    rinse_agent_kg: float | None
    tub_least_m3: float
    levels: list[LevelJson]
    neutralise: list[BathAgentJson]
    co2_m3: float | None
    co2_lime_m3: float | None
    across_m: float | None
    tub_height_m: float | None
    displaced_m3: float | None
    top_m: float | None
    free_m: float | None
    freeboard_m: float | None
    bleach: str


class OutJson(TypedDict):
    material: str
    fate: str


class PartsJson(TypedDict):
    inside: list[str]
    out: list[OutJson]
    kept_out: list[str]
    unknown: list[str]


class PointJson(TypedDict):
    share: float
    ground_m: float | None
    flow_m3_per_s: float | None
    gauge_closed_pa: float | None


class ShownJson(PointJson):
    angle_rad: float | None
    bucket_s: float | None


class ReadValueJson(TypedDict, total=False):
    gauge_closed_pa: float
    flow_m3_per_s: float
    ground_m: float


class ReadJson(ReadValueJson):
    what: str
    share: float | None
    low_share: float | None
    high_share: float | None
    side: str | None


class ThrowJson(TypedDict):
    setup: str
    hoses: list[str]
    tip: str
    tip_height_m: float
    of: str
    limit_share: float
    bucket_m3: NotRequired[float]
    written_m: float | None
    written_share: float | None
    found: list[ReadJson]
    before: ShownJson
    after: ShownJson


class YardJson(TypedDict):
    pump: str
    kind: NotRequired[str]
    work: list[str]
    stages: NotRequired[int | None]
    spacers: NotRequired[list[str]]
    replace: list[str]
    parts: PartsJson | None
    no_bath: bool
    throw: ThrowJson | None
    points: list[PointJson] | None


def bath_json(yard: YardPlan | None) -> BathJson | None:
    """The bath; null where nothing lies in one. Volumes that cannot be mixed are null, as `reachable` says."""
    bath = yard.bath if yard is not None else None
    if bath is None:
        return None
    made = bath.reachable
    acid = bath.acid
    return {
        "chemical": bath.chemical,
        "written": {"amount": bath.amount, "basis": bath.basis} if not bath.default else None,
        "reachable": made,
        "lot": bath.lot.name if bath.lot is not None else None,
        "lots": [_share_json(one.lot.name, one.stock or None, one.mass or None) for one in bath.pours],
        "short_m3": None if bath.stock_mass is not None else bath.short,
        "short_kg": bath.short if bath.stock_mass is not None else None,
        "volume_m3": bath.volume,
        "fills_m3": bath.fills if made else None,
        "stock_m3": bath.stock if made and bath.stock_mass is None else None,
        "stock_kg": bath.stock_mass,
        "water_m3": bath.water if made else None,
        "strength_g_per_l": bath.strength,
        "share": bath.share,
        "mass_fraction": acid.mass_fraction if acid is not None else None,
        "density_kg_per_m3": acid.density if acid is not None else None,
        "normality": acid.normality if acid is not None else None,
        "dissolves_g_per_l": bath.dissolves,
        "capacity_kg": bath.capacity if made else None,
        "spent_kg": bath.spent if made else None,
        "spent_ph": bath.spent_ph,
        "warms_k": acid.rise if acid is not None else None,
        "warms_high_k": acid.rise_high if acid is not None else None,
        "kg": bath.mass if made else None,
        "soak_s": bath.soak,
        "wipe_s": list(bath.wipe) if bath.wipe is not None else None,
        "wipe_passes": bath.passes if bath.wipe is not None else None,
        "rinse_m3": bath.rinse,
        "rinses": bath.rinses,
        "rinse_bicarbonate_kg": bath.rinse_agent if bath.rinse_with == "bicarbonate" else None,
        "rinse_agent": bath.rinse_with,
        "rinse_agent_kg": bath.rinse_agent,
        "tub_least_m3": bath.tub_least,
        "levels": [
            {
                "what": level.what,
                "added_m3": level.added or None,
                "added_kg": level.mass,
                "m3": level.volume,
                "dip_m": level.dip,
                "by_stick": level.by_stick,
            }
            for level in bath.levels
            if made
        ],
        "neutralise": [
            {
                "agent": one.agent,
                "for": one.purpose,
                "kg": one.mass,
                "carry_kg": one.carry,
                "rise_delta_k": one.rise,
            }
            for one in bath.neutralise
        ],
        "co2_m3": bath.carbon_dioxide if made else None,
        "co2_lime_m3": bath.carbon_dioxide_lime if made else None,
        "across_m": bath.across,
        "tub_height_m": bath.height,
        "displaced_m3": bath.displaced if made else None,
        "top_m": bath.top if made else None,
        "free_m": bath.free if made else None,
        "freeboard_m": bath.freeboard,
        "bleach": bath.bleached,
    }


def _share_json(lot: str, volume: float | None, mass: float | None) -> LotJson:
    return {"lot": lot, "stock_m3": volume, "stock_kg": mass}


def yard_json(plan: JobPlan, *, wear: bool) -> YardJson | None:
    """Pump, parts and test; null for a wash. `wear`: also what the test shows at several shares of the pump."""
    yard = plan.yard
    if yard is None:
        return None
    return {
        "pump": yard.pump.name,
        "kind": yard.pump.kind,
        "work": list(yard.works),
        "stages": yard.stages,
        "spacers": list(yard.spacers),
        "replace": list(yard.replace),
        "parts": {
            "inside": [part.material for part in yard.parts.inside],
            "out": [{"material": part.material, "fate": part.fate} for part in yard.parts.out],
            "kept_out": list(yard.parts.apart),
            "unknown": list(yard.parts.unknown),
        }
        if yard.acid is not None
        else None,
        "no_bath": yard.no_bath,
        "throw": _test_json(yard.test) if yard.test is not None else None,
        "points": _points(plan, yard.test) if wear and yard.test is not None else None,
    }


def _test_json(test: ThrowTest) -> ThrowJson:
    """The line it is tested on, what it shows today and sound, and what the throw says that somebody paced out."""
    return {
        "setup": test.run.name,
        "hoses": [hose.name for hose in test.run.hoses],
        "tip": test.run.tip.name,
        "tip_height_m": test.run.tip_height,
        "of": test.of,
        "limit_share": test.limit,
        "bucket_m3": test.bucket,
        "written_m": test.written,
        "written_share": test.written_share,
        "found": [
            {
                "what": one.by,
                **_read_as(one.by, one.value),
                "share": one.share if one.tells else None,
                "low_share": one.low if one.tells else None,
                "high_share": one.high if one.tells else None,
                "side": one.side,
            }
            for one in test.found
        ],
        "before": _shown(test.before, test.bucket),
        "after": _shown(test.after, test.bucket),
    }


def _read_as(by: str, value: float) -> ReadValueJson:
    match by:
        case "gauge":
            return {"gauge_closed_pa": value}
        case "bucket":
            return {"flow_m3_per_s": value}
    return {"ground_m": value}


def _shown(point: BenchPoint, bucket: float) -> ShownJson:
    return {**_point(point), "angle_rad": point.angle, "bucket_s": point.bucket(bucket)}


def _points(plan: JobPlan, test: ThrowTest) -> list[PointJson] | None:
    try:
        points = bench_points(plan.input)
    except SolveError:
        return None
    return [_point(point) for point in points]


def _point(point: BenchPoint) -> PointJson:
    return {
        "share": point.share,
        "ground_m": point.ground,
        "flow_m3_per_s": point.flow,
        "gauge_closed_pa": point.closed,
    }
