"""A day as the JSON contract writes it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypedDict

from planner.checks.day import day_findings
from planner.checks.evaluate import worst
from planner.checks.model import CheckedJob
from planner.contract.finding import FindingJson, finding_json
from planner.contract.road import LoadJson, load_json
from planner.plan.days.day import DayPlan, Pull
from planner.plan.days.order import BetterOrder
from planner.plan.water.timing import drive_to
from planner.units import System


class SavesJson(TypedDict):
    stops: int
    m3: float
    seconds: float


class OutlookJson(TypedDict, total=False):
    on_hand_m3: float | None
    on_hand_kg: float | None
    left_m3: float | None
    left_kg: float | None
    strength_g_per_l: float | None
    strength_low_g_per_l: float | None
    strength_high_g_per_l: float | None
    runs_out: str | None
    too_weak: str | None
    reorder_on: str | None


class PullJson(OutlookJson):
    lot: str
    stock: str
    m3: float
    kg: float
    jobs: list[str]
    bench_m3: float | None
    bench_kg: float | None


class ReorderJson(TypedDict):
    stock: str
    by: str
    ends: str
    why: str
    lot: str | None


class BuyJson(TypedDict):
    stock: str
    m3: float
    kg: float


class HeelJson(TypedDict):
    stock: str
    strength_g_per_l: float
    m3: float


class DayJson(TypedDict):
    """`waits_for`: ids of jobs that cannot be planned, or whose drive is missing: what comes after has no times."""

    id: str
    date: str
    verdict: str
    order: list[str]
    waits_for: list[str]
    better_order: list[str] | None
    better_saves: SavesJson | None
    load: LoadJson | None
    stock: list[PullJson]
    reorder: list[ReorderJson]
    buy: list[BuyJson]
    heels_after: dict[str, HeelJson]
    water_m3: float
    ends_s: float | None
    home_s: float | None
    findings: list[FindingJson]


def _waits_for(day: DayPlan) -> list[str]:
    clock = day.jobs[0].input.day is not None and day.jobs[0].input.day.leave_yard is not None
    return [
        name
        for _, name, place in day.rows
        if place is None or (clock and drive_to(day.jobs[place].input) is None)
    ]  # fmt: skip


def _saves(better: BetterOrder | None) -> SavesJson | None:
    """What the better order saves against the one written; less than 0 is more."""
    if better is None:
        return None
    return {"stops": better.stops, "m3": better.volume, "seconds": better.seconds}


def day_json(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> DayJson:
    """One day: order, a better one if there is, totals of the load-out list, what stays in the tanks."""
    return {
        "id": day.name,
        "date": day.date.isoformat(),
        "verdict": worst([job.verdict for job in jobs]),
        "order": [plan.id for plan in day.jobs],
        "waits_for": _waits_for(day),
        "better_order": list(day.better.order) if day.better is not None else None,
        "better_saves": _saves(day.better),
        "load": load_json(day.load),
        "stock": [
            {
                "lot": pull.lot,
                "stock": pull.chemical,
                "m3": pull.volume,
                "kg": pull.mass,
                "jobs": list(pull.for_jobs),
                "bench_m3": pull.bench if pull.volume else None,
                "bench_kg": pull.bench if pull.mass else None,
                **_outlook(day, pull),
            }
            for pull in day.pulls
        ],
        "reorder": [
            {
                "stock": one.chemical,
                "by": one.by.isoformat(),
                "ends": one.ends.isoformat(),
                "why": one.why,
                "lot": one.lot or None,
            }
            for one in day.reorders
        ],
        "buy": [{"stock": buy.chemical, "m3": buy.volume, "kg": buy.mass} for buy in day.buys],
        "heels_after": {
            heel.tank: {"stock": heel.chemical, "strength_g_per_l": heel.strength, "m3": heel.volume}
            for heel in day.heels
        },
        "water_m3": day.water,
        "ends_s": day.ends,
        "home_s": day.home,
        "findings": [finding_json(finding, system, jobs[-1]) for finding in day_findings(jobs, day.waits)],
    }


def _outlook(day: DayPlan, pull: Pull) -> OutlookJson:
    """How a lot stands that morning and evening, and when it no longer does; null where nobody counted or wrote it."""
    found = next((one for one in day.outlook if one.lot.name == pull.lot), None)
    if found is None:
        return {}
    lot, dry = found.lot, pull.mass > 0.0
    return {
        "on_hand_m3": None if dry else lot.on_hand,
        "on_hand_kg": lot.on_hand_mass if dry else None,
        "left_m3": None if dry else found.left,
        "left_kg": found.left if dry else None,
        "strength_g_per_l": lot.nominal,
        "strength_low_g_per_l": lot.low,
        "strength_high_g_per_l": lot.high,
        "runs_out": found.runs_out.isoformat() if found.runs_out is not None else None,
        "too_weak": found.too_weak.isoformat() if found.too_weak is not None else None,
        "reorder_on": found.reorder_on.isoformat() if found.reorder_on is not None else None,
    }
