"""The lots at the head of the mix page, how strong each is and what to load; and each lot after the first."""

from __future__ import annotations

from planner.packet.blocks import Span, Table, Text
from planner.packet.measures import poured, weighed
from planner.packet.sections.mixes import (
    band_of,
    known_from,
    lots_in,
    pours,
    today,
)
from planner.packet.sections.reading import Reading
from planner.packet.words import spoken_name
from planner.plan.mix_model import LotToday
from planner.plan.model import JobPlan


def lots_table(reading: Reading) -> Table | Text:
    """The lots to use, how strong tonight and how that is known; what to load only of what may be poured."""
    plan, system = reading.checked.plan, reading.system
    loading = [mix for mix in plan.mixes if pours(reading, mix)]
    rows = []
    for lot in used(plan):
        taken = [one for mix in loading for one in (*mix.pours, *mix.soaps) if one.lot.name == lot.name]
        load, mass = sum(one.pull for one in taken), sum(one.pull_mass for one in taken)
        amount = weighed(mass, system, "up") if mass else poured(load, system, "up") if load else ""
        if loading and len(used(plan)) == 1 and lot.chemical != "surfactant":
            return _one_lot(plan, lot, amount)
        row = (
            (Span(text=lot.name, strong=True), Span(text=f", {spoken_name(lot.chemical)}")),
            (Span(text=today(plan, lot) if lot.chemical != "surfactant" else "", strong=True),),
            band_of(plan, lot),
            known_from(lot) if lot.chemical != "surfactant" else "",
        )
        rows.append((*row, amount) if loading else row)
    head = ("Lot", "Strength today", "It may be", "Known from", "Load at least")
    widths = (3.6, 2.4, 1.9, 2.6, 2.0)
    count = 5 if loading else 4
    return Table(head=head[:count], rows=tuple(rows), widths=widths[:count], right=frozenset({4}), act=frozenset({4}))


def _one_lot(plan: JobPlan, lot: LotToday, amount: str) -> Text:
    """The same of a single lot, in a line."""
    band = band_of(plan, lot)
    known = ", ".join(part for part in (band, known_from(lot)) if part)
    spans = [Span(text="Lot "), Span(text=lot.name, strong=True), Span(text=f", {spoken_name(lot.chemical)}: ")]
    day = "" if lot.nominal is None else " today"
    spans += [Span(text=today(plan, lot), strong=True), Span(text=f"{day} ({known})." if known else f"{day}.")]
    if amount:
        spans += [Span(text=" Load at least "), Span(text=amount, strong=True), Span(text=".")]
    return Text(spans=tuple(spans), use="reading")


def used(plan: JobPlan) -> list[LotToday]:
    """The lots this job takes from, stock first, then soap."""
    names = [name for mix in plan.mixes for name in lots_in(mix)]
    names += [one.lot.name for mix in plan.mixes for one in mix.soaps]
    names += [use.lots[0].name for use in plan.input.chemicals if use.dose is not None and use.lots]
    known = {lot.name: lot for lot in plan.shelf}
    return [known[name] for name in dict.fromkeys(names) if name in known]
