"""The customer's notice for the evening before: what we ask, and what to do afterwards. No figure of ours on it."""

from __future__ import annotations

from typing import Any

from planner.inputs.models.site import Near
from planner.inputs.tables.chemicals import ACIDS, BLEACH
from planner.packet.blocks import Section
from planner.packet.sections.hours import arrives, leaves
from planner.packet.sections.reading import Reading, spoken, template
from planner.packet.wording import section_from
from planner.plan.model import JobPlan
from planner.units import System
from planner.words.dates import clock_text, day_text

_QUARTER = 15 * 60.0


def section(reading: Reading) -> Section:
    """One page in plain words."""
    checked = reading.checked
    plan, system = checked.plan, reading.system
    near = plan.input.job.near or Near()
    chemicals = {mix.chemical for mix in plan.mixes}
    values: dict[str, Any] = {
        "company": plan.input.company.name.strip(),
        "phone": phone_of(plan),
        "address": plan.input.job.site.address.strip(),
        "date": day_text(plan.input.date, system) if plan.input.date is not None else "",
        "held": checked.verdict == "stop",
        **_hours(plan, system),
        **_washed(plan),
        "bleach": BLEACH in chemicals,
        "acid": bool(chemicals & set(ACIDS)),
        "mixed": bool(plan.mixes),
        "faucet": "faucet" if system == "us" else "tap",
        "tap": plan.input.water.source in ("tap", "hydrant"),
        "beds": near.flower_beds is not None,
        "food": near.food is True and bool(plan.mixes),
        "pond": near.fish_pond is not None,
        "barrel": near.rain_barrel is not None,
        "well": near.well is not None,
        "leave": any(work.surface.rinse == "leave" for work in plan.work),
    }
    return section_from("notice", template("notice"), values, {}, foot="Thank you.")


def phone_of(plan: JobPlan) -> str:
    """The number a customer calls: the office's, else the owner's; nothing where neither is written."""
    phones = plan.input.company.phones
    for word in ("office", "owner"):
        for name, number in phones.items():
            if word in str(name).casefold():
                return spoken(number)
    return ""


def _washed(plan: JobPlan) -> dict[str, str | bool]:
    """What is washed, by the family of its surfaces: a house, its roof, its paving."""
    families = {surface.row.get("family") for surface in plan.input.surfaces}
    flat = [surface for surface in plan.input.surfaces if surface.row.get("family") == "flat"]
    roof, drive = "roof" in families, bool(flat)
    house = bool(families - {"roof", "flat"}) or not families
    paving = "driveway" if flat and all("drive" in wall.name.casefold() for wall in flat) else "paving"
    parts = [word for word, is_so in (("house", house), ("roof", roof), (paving, drive)) if is_so]
    wet = ["walls" if word == "house" else word for word in parts]
    return {
        "house": house,
        "roof": roof,
        "drive": drive,
        "paving": paving,
        "washed": _listed(parts),
        "dry": f"the {_listed(wet)} {'is' if wet in (['roof'], [paving]) else 'are'}",
    }


def _listed(words: list[str]) -> str:
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)


def _hours(plan: JobPlan, system: System) -> dict[str, str]:
    """When we come and until when, to the quarter of an hour; nothing where it is not known when the rig leaves."""
    at, until = arrives(plan), leaves(plan)
    if at is None or until is None:
        return {"arrive": "", "until": ""}
    return {
        "arrive": _hour(round(at / _QUARTER) * _QUARTER, system),
        "until": _hour(-(-until // _QUARTER) * _QUARTER, system),
    }


def _hour(seconds: float, system: System) -> str:
    """A time of day as a customer is told it: `4 pm`, `4:15 pm`, `noon`; `16:00`."""
    text = clock_text(seconds, system)
    if system != "us":
        return text
    return {"12:00 pm": "noon", "12:00 am": "midnight"}.get(text, text.replace(":00 ", " "))
