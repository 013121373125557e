"""What the sheets of a yard job share: how its bath is called, whose figures may be printed, its hours."""

from __future__ import annotations

from planner.packet.blocks import Role, Span, Spans, said
from planner.packet.dates import clock_text
from planner.packet.measures import in_unit, poured, weighed
from planner.packet.sections.hours import arrives, hours, leaves, on_site
from planner.packet.sections.mixes import today
from planner.packet.sections.reading import Reading, written
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


def role_in_yard(reading: Reading) -> Role:
    """Whose sheet a yard job's is: of both who are at the bench, else of who is there alone."""
    crew = written(reading.checked.plan.input.day, "crew")
    return "lead" if crew is not None and crew.count == 1 else "both"


def opened(yard: YardPlan) -> bool:
    """True where the pump is taken apart: to rebuild it, or to get at its scale."""
    return "rebuild" in yard.works or "descale" in yard.works


def kept_out(yard: YardPlan) -> list[str]:
    """What of the pump may not lie in its bath, as the findings have it."""
    return [part.material for part in yard.parts.out]


def need_of(plan: JobPlan, agent: str) -> AgentNeed | None:
    """All of an agent the job takes, against the shelf."""
    return next((need for need in plan.agents if need.agent == agent), None)


def strength_words(bath: BathPlan) -> str:
    """How strong the bath is, as it was written: `15 vol %`, `1:10`."""
    if bath.ratio:
        return f"1:{100.0 / bath.amount - 1.0:g}"
    return in_unit(bath.amount, bath.basis)


def bath_name(bath: BathPlan) -> str:
    """The bath in a word or two: `15 vol % muriatic`."""
    return f"{strength_words(bath)} {spoken_name(bath.chemical)}"


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


def when_in_yard(plan: JobPlan, system: System) -> Spans:
    """From when until when on the clock, else how long it takes."""
    at, until = arrives(plan), leaves(plan)
    if not plan.time:
        return said("no time planned.")
    if at is None or until is None:
        return said(f"About {hours(on_site(plan))} in all.")
    return (
        Span(text=clock_text(at, system), strong=True),
        Span(text=" to "),
        Span(text=clock_text(until, system), strong=True),
        Span(text=f" ({hours(on_site(plan))})."),
    )
