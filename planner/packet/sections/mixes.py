"""What every page says of a mix: its strength on the wall, what is poured or set, and why it may not be made."""

from __future__ import annotations

from math import isfinite

from planner.checks.model import Finding
from planner.chemistry import hypochlorite
from planner.frozen import dataclass
from planner.inputs.models import Lot
from planner.inputs.tables.chemicals import BLEACH, DRY, SOAP
from planner.packet.findings import run_of, stops_of
from planner.packet.sections.reading import Reading
from planner.plan.mix.model import LotToday, MixPlan
from planner.plan.model import JobPlan
from planner.units import System, show_number
from planner.words.measures import (
    as_written,
    dial_number,
    in_parts,
    poured,
    strength,
    strength_number,
    weighed,
)

_DAY = 86400.0


def percent_of(plan: JobPlan) -> str:
    """Which percent the company writes."""
    return plan.input.company.percent


def tank_name(name: str) -> str:
    """A tank in a sentence: `the roof mix tank`, `the acid tub`."""
    called = name.casefold().endswith(("tank", "tub", "drum", "tote", "barrel"))
    return f"the {name}" if called else f"the {name} tank"


def pours(reading: Reading, mix: MixPlan) -> bool:
    """True where there are figures to pour by, and its tank holds them.

    An injector that gives a little less than asked for is a caution: its jug is mixed all the same.
    """
    figures = {
        "premix": bool(mix.batches),
        "metered": mix.dial is not None,
        "injector": bool(mix.jug_stock or mix.jug_soap),
    }.get(mix.kind, False)
    return figures and not mix.overflow


def stops_about(reading: Reading, mix: MixPlan) -> list[Finding]:
    """The stops that keep this mix from being made: its own, its run's and the whole job's; else what holds the job."""
    checked = reading.checked
    stops = stops_of(checked)
    return [f for f in stops if run_of(checked, f) in ("", mix.run.name)] or list(stops)


def wall_number(plan: JobPlan, mix: MixPlan) -> tuple[str, str]:
    """Strength on the wall, number and unit: hypochlorite in the company's percent, soap by volume, else as written."""
    given = mix.parts[0].surface.strength if mix.parts else None
    if mix.chemical == SOAP:
        return show_number(100.0 * mix.soap_share, "number", "us", step=0.01)[0], "vol %"
    if mix.chemical == BLEACH and isfinite(mix.target):
        reached = mix.wall if mix.wall is not None and mix.wall < mix.target else mix.target
        return strength_number(reached, mix.chemical, percent_of(plan), "down")
    if given is not None:
        return as_written(given)
    return strength_number(mix.target if isfinite(mix.target) else 0.0, mix.chemical, percent_of(plan), "down")


def on_the_wall(plan: JobPlan, mix: MixPlan) -> str:
    """The same as words, with its parts where it is a share by volume."""
    words = " ".join(part for part in wall_number(plan, mix) if part)
    given = mix.parts[0].surface.strength if mix.parts else None
    parts = in_parts(given.amount, given.basis) if given is not None and mix.chemical != BLEACH else ""
    return f"{words}, {parts}" if parts else words


def written_lot(plan: JobPlan, name: str) -> Lot | None:
    """The lot as it stands in stock.yaml."""
    return next((lot for lot in plan.input.lots if lot.name == name), None)


def _caustic(plan: JobPlan, lot: LotToday) -> float:
    given = written_lot(plan, lot.name)
    return given.excess_caustic if given is not None else hypochlorite.USUAL_CAUSTIC


def today(plan: JobPlan, lot: LotToday) -> str:
    """A lot's strength on the day: hypochlorite in the company's percent, anything else as its paper says."""
    if lot.chemical == BLEACH and lot.nominal is not None:
        return strength(lot.nominal, lot.chemical, percent_of(plan), "down", caustic=_caustic(plan, lot))
    given = written_lot(plan, lot.name)
    text = None
    if given is not None:
        text = given.tested.strength if given.tested is not None else given.strength
    if text is not None:
        return text.text
    if lot.nominal is None:
        return "dry" if lot.chemical in DRY else "not written"
    return strength(lot.nominal, lot.chemical, percent_of(plan), "down")


def band_of(plan: JobPlan, lot: LotToday) -> str:
    """From how weak to how strong it may be, to the outer side; empty where nothing spreads it."""
    if lot.low is None or lot.high is None or lot.low == lot.high:
        return ""
    percent, caustic = percent_of(plan), _caustic(plan, lot) if lot.chemical == BLEACH else 0.0
    low = strength_number(lot.low, lot.chemical, percent, "down", caustic=caustic)[0]
    high, unit = strength_number(lot.high, lot.chemical, percent, "up", caustic=caustic)
    return f"{low} to {high}" if today(plan, lot).endswith(unit) else f"{low} to {high} {unit}"


def known_from(lot: LotToday) -> str:
    """How the strength is known: tested, made so many days ago, or only written; nothing of what is weighed dry."""
    if lot.nominal is None and lot.chemical in DRY:
        return ""
    if lot.chemical != BLEACH:
        return "tested" if lot.tested else "as written"
    if lot.age is None or not lot.known:
        return "as listed, no date: test it"
    days = round(lot.age / _DAY)
    when = "today" if not days else "yesterday" if days == 1 else f"{days} days ago"
    return f"{'tested' if lot.tested else 'made'} {when}"


def lots_in(mix: MixPlan) -> list[str]:
    """The lots a mix takes, in the order they are opened."""
    names = [share.lot.name for share in mix.pours]
    return names or ([mix.lot.name] if mix.lot is not None else [])


def stock_in_all(mix: MixPlan, system: System) -> str:
    """What of the stock the whole mix takes, in one number: its box on the page for what was done has the same.

    Nothing for soap alone, which has none.
    """
    if mix.chemical == SOAP:
        return ""
    if mix.stock_mass is not None:
        return weighed(mix.stock_mass, system, "down")
    return poured(mix.stock, system, "down") if mix.stock is not None else ""


def dial_set(mix: MixPlan) -> str:
    """The dial as a hand can set it, on the side that draws less."""
    return dial_text(mix.dial or 0.0, mix)


def dial_text(setting: float, mix: MixPlan) -> str:
    """A mark of a mix's dial; never one that draws more."""
    points = (mix.run.dosing.dial if mix.run.dosing is not None else None) or ()
    longest = max((point.setting for point in points), default=0.0)
    return dial_number(setting, long=longest > 30)


_LEFT = {0.75: "three quarters full", 0.5: "half full", 0.25: "a quarter full"}


def by_level_text(mix: MixPlan) -> str:
    """Where the dial goes as the water tank falls; nothing where it stays. A mark that no test reaches stays too."""
    told, last = [], dial_set(mix)
    for left, setting in mix.by_level[1:]:
        mark = dial_text(setting, mix) if setting is not None else last
        if mark != last:
            told.append(f"{_LEFT[left]} {mark}")
        last = mark
    return ", ".join(told)


@dataclass(frozen=True, slots=True, kw_only=True)
class JugParts:
    """What an injector's jugs are made of in all [m3]: water, stock, soap."""

    water: float
    stock: float
    soap: float


def jug_of(mix: MixPlan) -> JugParts | None:
    """What goes into an injector's jugs in all; None for any other dosing."""
    shares = (mix.jug_stock or 0.0, mix.jug_soap or 0.0)
    if mix.kind != "injector" or not any(shares) or mix.stock is None or not mix.mix:
        return None
    drawn = sum(share.stock / (share.jug_stock or 1.0) for share in mix.pours)
    if not shares[0]:
        drawn = (mix.soap or 0.0) / shares[1]
    stock, soap = (drawn * share for share in shares)
    return JugParts(water=max(drawn - stock - soap, 0.0), stock=stock, soap=soap)
