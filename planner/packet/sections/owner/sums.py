"""The owner's sums of a job: water by use, chemical, time and money, each adding up as it is printed."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from planner.inputs.models.company import Lot
from planner.inputs.reading.handwriting import money_in
from planner.inputs.tables.chemicals import SOAP
from planner.packet.blocks import Block, Heading, Span, Table, said
from planner.packet.sections.hours import hours, on_site
from planner.packet.sections.mixes import percent_of, stock_in_all, written_lot
from planner.packet.sections.reading import Reading
from planner.plan.mix.model import LotShare, MixPlan
from planner.plan.model import JobPlan
from planner.plan.yard.model import BathPlan
from planner.units import System, Unreadable, read, show, show_number
from planner.words.measures import poured, strength_number, weighed
from planner.words.spoken import mix_name, spoken_name

_USES = (
    ("pre_wet", "pre-wet"),
    ("line", "hoses, buckets"),
    ("test", "tests"),
    ("mix", "in the mix"),
    ("rinse", "rinse"),
    ("clean", "surface cleaner"),
    ("flush", "flush"),
    ("beds", "flower beds"),
)
_NOTHING = 1e-6  # of what a lot held
_Row = tuple[str, str]
_A_UNIT = re.compile(r"(?P<sum>.+?)\s*(?:\b(?:a|an|per|the)\b|/)\s*(?P<unit>[A-Za-z]+)")
_AREA = {"us": ("1000 ft2", "1,000 ft2"), "si": ("100 m2", "100 m2")}


def _column(title: str, rows: list[_Row], last: _Row | None = None) -> tuple[Block, ...]:
    """Names and figures under a head; the sum below them is strong all through."""
    if not rows:
        return ()
    cells = [(name, (Span(text=figure, strong=True),)) for name, figure in rows]
    if last is not None:
        cells.append(((Span(text=last[0], strong=True),), (Span(text=last[1], strong=True),)))  # type: ignore[arg-type]
    table = Table(head=(), rows=tuple(cells), widths=(4, 4), right=frozenset({1}), tight=True)
    return Heading(spans=said(title)), table


# ---------------------------------------------------------------------------------------------------- water


def water_column(reading: Reading) -> tuple[Block, ...]:
    """Water by use: whole gallons or litres, of a small job tenths, that add up to what the job needs."""
    plan, system = reading.checked.plan, reading.system
    used = [(name, getattr(plan.water, key)) for key, name in _USES if getattr(plan.water, key) > 0.0]
    if not used:
        return ()
    need, unit = show_number(plan.water.need, "volume", system, toward="up")
    step = read(f"1 {unit}", "volume") / (10.0 if "." in need else 1.0)
    parts = adding_up([amount for _, amount in used], step)
    tenths = 1 if "." in need else 0
    scale = 10**tenths
    rows = [(name, f"{part / scale:,.{tenths}f}") for (name, _), part in zip(used, parts, strict=True)]
    total = f"{sum(parts) / scale:,.{tenths}f}"
    return _column(f"Water, {unit}", rows, ("in all" if total == need else "in all, rounded up", need))


def adding_up(amounts: list[float], step: float) -> list[int]:
    """The amounts in whole steps whose sum is that of all of them, rounded up: each is off by less than a step.

    The steps that are left over go to those that lost most.
    """
    exact = [amount / step for amount in amounts]
    parts = [math.floor(one + 1e-9) for one in exact]
    left = math.ceil(sum(exact) - 1e-6) - sum(parts)
    for n in sorted(range(len(exact)), key=lambda n: parts[n] - exact[n])[:left]:
        parts[n] += 1
    return parts


# ------------------------------------------------------------------------------------------------- chemical


def chemical_column(reading: Reading) -> tuple[Block, ...]:
    """What a single mix comes to; of several what each takes of its stock; what the lots cost where it is written."""
    plan, system = reading.checked.plan, reading.system
    bath = plan.yard.bath if plan.yard is not None else None
    if bath is not None:
        return () if reading.checked.held else _column("Chemical", list(_bath(bath, system)))
    if not plan.mixes:
        return ()
    single = len(plan.mixes) == 1
    rows = list(_of_mix(plan, plan.mixes[0], system)) if single else list(_of_mixes(plan, system))
    if any(one.case == "no_soap" for one in reading.checked.findings):
        rows.append(("soap", "none"))
    rows += _left(plan, system)
    cost = stock_cost(plan)
    return _column("Chemical", rows, ("cost of it", _money(plan, math.ceil(cost - 1e-6))) if cost is not None else None)


def _of_mix(plan: JobPlan, mix: MixPlan, system: System) -> Iterator[_Row]:
    yield "mix needed", show(mix.need, "volume", system, toward="up")
    if mix.share is not None:
        yield "share of stock", show(mix.share, "fraction", system, toward="down")
    if stock := stock_in_all(mix, system):
        yield "stock used", stock
    load, mass = sum(share.pull for share in mix.pours), sum(share.pull_mass for share in mix.pours)
    if load or mass:
        yield "to load", weighed(mass, system, "up") if mass else poured(load, system, "up")
    if mix.soap:
        yield "soap used", poured(mix.soap, system)
    if mix.wall_low is not None and mix.wall_high is not None and mix.chemical != SOAP:
        percent = percent_of(plan)
        low = strength_number(mix.wall_low, mix.chemical, percent, "down")[0]
        high, unit = strength_number(mix.wall_high, mix.chemical, percent, "up")
        yield f"wall, {unit}", f"{low} to {high}"


def _of_mixes(plan: JobPlan, system: System) -> Iterator[_Row]:
    for mix in plan.mixes:
        name = mix_name(plan.mixes, mix)
        yield name, show(mix.need, "volume", system, toward="up")
        if stock := stock_in_all(mix, system):
            yield "its stock", stock


def _left(plan: JobPlan, system: System) -> Iterator[_Row]:
    """What stays in each lot after this job, for a lot whose shelf is counted."""
    shares = _shares(plan)
    for lot in dict.fromkeys(share.lot.name for share in shares):
        taken = [share for share in shares if share.lot.name == lot]
        today = taken[0].lot
        if today.on_hand is not None:
            left = today.on_hand - sum(share.stock for share in taken)
            yield f"left in {lot}", poured(left, system, "down") if left > _NOTHING * today.on_hand else "nothing"
        elif today.on_hand_mass is not None:
            left = today.on_hand_mass - sum(share.mass for share in taken)
            yield f"left in {lot}", weighed(left, system, "down") if left > _NOTHING * today.on_hand_mass else "nothing"


def _shares(plan: JobPlan) -> list[LotShare]:
    return [share for mix in plan.mixes for share in (*mix.pours, *mix.soaps)]


def _bath(bath: BathPlan, system: System) -> Iterator[_Row]:
    yield "bath", poured(bath.volume, system)
    for agent in dict.fromkeys(leftover.agent for leftover in bath.neutralise):
        mass = sum(leftover.carry for leftover in bath.neutralise if leftover.agent == agent)
        yield spoken_name(agent), weighed(mass, system, "up")


# ----------------------------------------------------------------------------------------- time and money


def time_column(reading: Reading) -> tuple[Block, ...]:
    """Hours on site and of the crew; price and what is left of it where price and pay are written."""
    plan = reading.checked.plan
    if not plan.time:
        return ()
    stay, road = on_site(plan), sum(span.seconds for span in plan.time if span.road)
    rows = [("on site", hours(stay))]
    opened = sum(plan.water.seconds.values())
    if opened > 0.0:
        rows.append(("gun open", hours(opened)))
    if road > 0.0:
        rows.append(("drive there", hours(road)))
    crew = plan.input.day.crew if plan.input.day is not None else None
    count = crew.count if crew is not None else 0
    worked = count * (stay + road)
    if count:
        rows.append((f"crew of {count}", hours(worked)))
    area = sum({work.surface.name: work.surface.area for work in plan.work}.values())
    text, name = _AREA[reading.system]
    if count and area > 0.0:
        rows.append((f"per {name}", hours(worked * read(text, "area") / area)))
    return _column("Time and money" if _priced(plan) else "Time", rows + _pay(plan, worked), _after(plan, worked))


def _priced(plan: JobPlan) -> bool:
    return plan.input.company.pay is not None or plan.input.job.price is not None


def _pay(plan: JobPlan, worked: float) -> list[_Row]:
    rows = []
    price = plan.input.job.price
    if price is not None:
        rows.append(("price", _money(plan, price)))
    if plan.input.company.pay is not None and worked > 0.0:
        rows.append(("pay", _money(plan, math.ceil(worked / 3600.0 * plan.input.company.pay - 1e-6))))
    return rows


def _after(plan: JobPlan, worked: float) -> _Row | None:
    """What pay and stock leave of the price; None unless all of them are written."""
    price = plan.input.job.price
    pay, cost = plan.input.company.pay, stock_cost(plan)
    if price is None or pay is None or cost is None or worked <= 0.0:
        return None
    left = price - math.ceil(worked / 3600.0 * pay - 1e-6) - math.ceil(cost - 1e-6)
    return "after pay, chemical", _money(plan, left)


def stock_cost(plan: JobPlan) -> float | None:
    """What the stock of all mixes costs; None where a lot's cost is not written by its unit or its container."""
    whole = 0.0
    for share in _shares(plan):
        lot = written_lot(plan, share.lot.name)
        by = cost_of_one(lot, mass=share.mass > 0.0) if lot is not None else None
        if by is None:
            return None
        whole += by * (share.mass or share.stock)
    return whole


def cost_of_one(lot: Lot, *, mass: bool) -> float | None:
    """What a m3 of a lot costs, or a kg: `4.10 a gal`, or a sum for its whole container. None where neither is said."""
    if lot.cost is None:
        return None
    match = _A_UNIT.fullmatch(lot.cost.strip())
    if match is None:
        whole = money_in(lot.cost)
        size = (lot.container.mass if mass else lot.container.volume) if lot.container is not None else None
        return whole / size if whole is not None and size else None
    amount = money_in(match["sum"])
    try:
        one = read(f"1 {match['unit']}", "mass" if mass else "volume")
    except Unreadable:
        return None
    return amount / one if amount is not None else None


def _money(plan: JobPlan, amount: float) -> str:
    """A sum in the company's own money, in whole ones where it is whole."""
    number = f"{abs(amount):,.0f}" if float(amount).is_integer() else f"{abs(amount):,.2f}"
    return f"{'−' if amount < 0 else ''}{'$' if plan.input.company.units == 'us' else ''}{number}"
