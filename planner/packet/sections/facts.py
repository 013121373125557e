"""Who, where, when and in what weather, from what was written; and the telephone numbers of a bad day."""

from __future__ import annotations

from planner.packet.blocks import Fields, Spans, WriteIn, said
from planner.packet.findings import with_numbers
from planner.packet.pages.pages import in_head
from planner.packet.sections.hours import when
from planner.packet.sections.reading import spoken
from planner.plan.model import JobPlan
from planner.plan.sky.weather import by_the_hour, forecast_of, met, on_visit
from planner.units import System, show
from planner.words.dates import MINUTE, clock_text, long_date

_NO_FORECAST = "No forecast listed: check it before you leave."
_PHONES = (("poison", "Poison line"), ("spill", "Spill line"), ("hospital", "Hospital"), ("office", "Office"))
_IN_CHARGE = ("office", "owner", "boss")


def place_in_day(plan: JobPlan) -> str:
    """`job 1 of 3 today`, or nothing for a job on its own."""
    place = plan.input.place_in_day
    return f"job {place[0]} of {place[1]} today" if place else ""


def rig_name(plan: JobPlan) -> str:
    """The rig's own name."""
    return plan.input.rig.rig.strip()


def running_line(plan: JobPlan, system: System) -> str:
    """The second line of every page's head."""
    rig = rig_name(plan)
    parts = [long_date(plan.input.date, system), f"rig {rig}" if rig else "", place_in_day(plan)]
    return "    ".join(part for part in parts if part)


def facts(plan: JobPlan, system: System) -> Fields:
    """The first page's fields."""
    site = plan.input.job.site
    where = ". ".join(part.rstrip(".") for part in (site.address.strip(), spoken(site.notes)) if part)
    contact = spoken(site.contact)
    crew = crew_of(plan)
    who = ". ".join(part for part in (contact, f"Crew: {crew}" if crew else "") if part)
    rows: list[tuple[str, Spans | WriteIn]] = [
        *(() if in_head(plan.title) else (("Job", said(plan.title)),)),
        ("Where", said(_end(where) or "not written")),
        ("Who", said(_end(who) or "not written")),
        ("When", when(plan, long_date(plan.input.date, system), place_in_day(plan), system)),
        ("Weather", with_numbers(weather(plan, system, visit=True))),
    ]
    return Fields(rows=tuple(rows), label=56.0)


def _end(text: str) -> str:
    return text if not text or text[-1] in ".?!" else f"{text}."


def crew_of(plan: JobPlan) -> str:
    """The crew's names, or how many they are."""
    crew = plan.input.day.crew if plan.input.day is not None else None
    if crew is None:
        return ""
    return ", ".join(crew.names) or ("one" if crew.count == 1 else f"{crew.count} people")


def weather(plan: JobPlan, system: System, *, visit: bool = False) -> str:
    """The forecast as a sentence, the day's or that of this `visit`; says so where there is none."""
    forecast = forecast_of(plan.input.day)
    if forecast is None:
        return _NO_FORECAST
    own = visit and by_the_hour(plan.input) and plan.input.worked is not None
    whole = on_visit(plan.input) if own else met(plan.input, None)
    parts: list[str] = []
    if whole.low is not None and whole.high is not None:
        cold = show(whole.low, "temperature", system, toward="down")
        warm = show(whole.high, "temperature", system, toward="up")
        parts.append(f"{cold} to {warm}")
    elif whole.high is not None:
        parts.append(f"up to {show(whole.high, 'temperature', system, toward='up')}")
    elif whole.low is not None:
        parts.append(f"down to {show(whole.low, 'temperature', system, toward='down')}")
    if whole.wind is not None:
        parts.append(f"wind {show(whole.wind, 'speed', system, toward='up')}")
    if whole.gust is not None:
        parts.append(f"gust {show(whole.gust, 'speed', system, toward='up')}")
    if forecast.rain is not None and not own:
        parts.append(_rain(forecast.rain.chance, forecast.rain.start, system))
    elif whole.rain is not None:
        wettest = [row.hour for row in forecast.hours if row.rain == whole.rain and not own]
        parts.append(_rain(whole.rain, min(wettest, default=None), system))
    if forecast.sun is not None:
        parts.append({"full": "full sun", "part": "sun in part", "none": "no sun"}[forecast.sun])
    return _end(", ".join(parts)) or _NO_FORECAST


def _rain(chance: float | None, start: float | None, system: System) -> str:
    if chance == 0.0:
        return "no rain"
    likely = f" {show(chance, 'fraction', system, toward='up')}" if chance is not None else ""
    return f"rain{likely}" + (f" from {clock_text(start, system, step=MINUTE)}" if start is not None else "")


def emergency(plan: JobPlan) -> Fields:
    """What to say on the telephone and whom to call; a box to write in where no number was given."""
    given = plan.input.company.phones
    address = plan.input.job.site.address.strip()
    rows: list[tuple[str, Spans | WriteIn]] = [
        ("We are at", said(address) if address else WriteIn(width=110, height=18))
    ]
    taken: set[str] = set()
    for word, label in _PHONES:
        key = next((k for k in given if word in str(k).lower() and spoken(given[k])), None)
        if key is not None:
            taken.add(key)
            rows.append((label, said(spoken(given[key]))))
        elif _needed(word, plan):
            rows.append((label, WriteIn(width=110, height=18)))
    for key, number in given.items():
        if key not in taken and spoken(number):
            rows.append((str(key).replace("_", " ").capitalize(), said(spoken(number))))
    return Fields(rows=tuple(rows), label=72.0)


def _needed(word: str, plan: JobPlan) -> bool:
    """Whether a number that nobody gave has a box: who knows of a chemical, and the office that steps name."""
    if word == "office":
        return not any(name in str(key).lower() for key in plan.input.company.phones for name in _IN_CHARGE)
    return word in ("poison", "spill") and bool(plan.mixes)
