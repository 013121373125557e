"""A day as the JSON contract writes it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from planner.checks.evaluate import worst
from planner.checks.model import CheckedJob
from planner.plan.day import DayPlan


def day_json(day: DayPlan, jobs: Sequence[CheckedJob]) -> dict[str, Any]:
    """One day: order, totals of the load-out list, what stays in the tanks; what is not worked out yet is empty."""
    return {
        "date": day.date.isoformat(),
        "verdict": worst([job.verdict for job in jobs]),
        "order": [plan.id for plan in day.jobs],
        "better_order": None,
        "load": {},
        "stock": [
            {"lot": pull.lot, "stock": pull.chemical, "m3": pull.volume, "kg": pull.mass, "jobs": list(pull.for_jobs)}
            for pull in day.pulls
        ],
        "buy": [{"stock": buy.chemical, "m3": buy.volume, "kg": buy.mass} for buy in day.buys],
        "heels_after": {
            heel.tank: {"stock": heel.chemical, "strength_g_per_l": heel.strength, "m3": heel.volume}
            for heel in day.heels
        },
        "water_m3": day.water,
        "ends_s": day.ends,
        "findings": [],
    }
