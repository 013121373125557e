"""The customer's notice for the evening before: what we ask, and what to do afterwards. No figure of ours on it."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Section
from planner.packet.measures import clock_text
from planner.packet.sections.facts import long_date
from planner.packet.sections.hours import arrives, leaves
from planner.packet.sections.reading import Reading, spoken, template, written
from planner.packet.sections.walk_round import has_roof
from planner.packet.wording import section_from
from planner.plan.model import JobPlan

_QUARTER = 15 * 60.0


def section(reading: Reading) -> Section:
    """One page in plain words."""
    checked = reading.checked
    plan = checked.plan
    near = written(plan.input.job, "near")
    chemicals = {mix.chemical for mix in plan.mixes}
    values: dict[str, Any] = {
        "company": spoken(written(plan.input.company, "name")),
        "phone": phone_of(plan),
        "address": spoken(written(plan.input.job, "site", "address")),
        "date": long_date(plan.input.date) if plan.input.date is not None else "",
        "held": "yes" if checked.verdict == "stop" else "no",
        **_hours(plan),
        "bleach": _yes("hypochlorite" in chemicals),
        "acid": _yes(bool(chemicals & {"muriatic", "oxalic", "citric"})),
        "roof": _yes(has_roof(plan)),
        "tap": _yes(plan.input.water.source in ("tap", "hydrant")),
        "beds": _yes(written(near, "flower_beds") is not None),
        "pond": _yes(written(near, "fish_pond") is not None),
        "barrel": _yes(written(near, "rain_barrel") is not None),
        "well": _yes(written(near, "well") is not None),
        "leave": _yes(any(one.surface.rinse == "leave" for one in plan.work)),
    }
    return section_from("notice", template("notice"), values, {}, foot="Thank you.")


def _yes(true: bool) -> str:
    return "yes" if true else "no"


def phone_of(plan: JobPlan) -> str:
    """The number a customer rings: the office's, else the owner's; nothing where neither is written."""
    phones = plan.input.company.phones
    for word in ("office", "owner"):
        for name, number in phones.items():
            if word in str(name).casefold():
                return spoken(number)
    return ""


def _hours(plan: JobPlan) -> dict[str, str]:
    """When we come and until when, to the quarter of an hour; nothing where nobody wrote when the rig leaves."""
    at, until = arrives(plan), leaves(plan)
    if at is None or until is None:
        return {"arrive": "", "until": ""}
    return {
        "arrive": clock_text(round(at / _QUARTER) * _QUARTER),
        "until": clock_text(-(-until // _QUARTER) * _QUARTER),
    }
