"""What the sheets of a yard job share: how its bath is called, whose figures may be printed, its hours."""

from __future__ import annotations

from planner.checks.model import Finding
from planner.packet.blocks import Span, Spans, said
from planner.packet.dates import clock_text
from planner.packet.findings import stops_of
from planner.packet.measures import in_unit, poured, weighed
from planner.packet.sections.hours import arrives, hours, leaves, on_site
from planner.packet.sections.mixes import today
from planner.packet.sections.reading import Reading
from planner.packet.words import spoken_name
from planner.plan.model import JobPlan
from planner.plan.runoff_model import AgentNeed
from planner.plan.yard_model import BathPlan, YardPlan
from planner.units import System

FALLBACK_ROWS = 8
"""Lines to write on where nobody wrote how many stages a pump has."""


def yard_of(plan: JobPlan) -> YardPlan | None:
    """The yard half of a plan; None of a wash."""
    return plan.yard if plan.kind == "yard" else None


def opened(yard: YardPlan) -> bool:
    """True where the pump is taken apart: to rebuild it, or to get at its scale."""
    return "rebuild" in yard.works or "descale" in yard.works


def kept_out(yard: YardPlan) -> list[str]:
    """What of the pump may not lie in its bath, as the findings have it."""
    return [part.material for part in yard.parts.out]


def need_of(plan: JobPlan, agent: str) -> AgentNeed | None:
    """All of an agent the job takes, against the shelf."""
    return next((need for need in plan.agents if need.agent == agent), None)


def hand_words(plan: JobPlan, agent: str, system: System) -> str:
    """What has to lie by the tub of an agent, or what is still to buy of it."""
    need = need_of(plan, agent)
    if need is None:
        return ""
    if need.buy > 0.0:
        return f"buy {weighed(need.buy, system, 'up')} first"
    return f"{'at hand' if need.on_hand is not None else 'have'} {weighed(need.carry, system, 'up')}"


def strength_words(bath: BathPlan) -> str:
    """How strong the bath is, as it was written: `15 vol %`, `1:10`."""
    if bath.ratio:
        return f"1:{100.0 / bath.amount - 1.0:g}"
    return in_unit(bath.amount, bath.basis)


def bath_name(bath: BathPlan) -> str:
    """The bath in a word or two: `15 vol % muriatic`."""
    return f"{strength_words(bath)} {spoken_name(bath.chemical)}"


def pours_bath(reading: Reading) -> bool:
    """True where the page may say what to pour: nothing holds the job, and the bath can be made."""
    yard = yard_of(reading.checked.plan)
    bath = yard.bath if yard is not None else None
    return bath is not None and bath.reachable and not reading.held.everything


def stock_words(bath: BathPlan, system: System) -> str:
    """What of the stock goes in, as it is measured out."""
    if bath.stock_mass is not None:
        return weighed(bath.stock_mass, system, "down")
    return poured(bath.stock, system, "down")


def lots_words(bath: BathPlan) -> str:
    """The containers it is poured from, in their order."""
    names = [one.lot.name for one in bath.pours] or ([bath.lot.name] if bath.lot is not None else [])
    return " then ".join(names) or f"no lot of {spoken_name(bath.chemical)}"


def lot_today(plan: JobPlan, bath: BathPlan) -> str:
    """How strong its first container is."""
    return today(plan, bath.lot) if bath.lot is not None else ""


def when_in_yard(plan: JobPlan, date: str, place: str, system: System) -> Spans:
    """From when until when on the clock, else how long it takes."""
    at, until = arrives(plan), leaves(plan)
    rest = f" {place.capitalize()}." if place else ""
    if not plan.time:
        return said(f"{date}.{rest}")
    if at is None or until is None:
        return said(f"{date}.{rest} About {hours(on_site(plan))} in all.")
    return (
        Span(text="Begin "),
        Span(text=clock_text(at, system), strong=True),
        Span(text=", over by "),
        Span(text=clock_text(until, system), strong=True),
        Span(text=f" ({hours(on_site(plan))}).{rest}"),
    )


def stops(reading: Reading) -> list[Finding]:
    """What holds the job."""
    return stops_of(reading.checked)
