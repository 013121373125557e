"""The owner's figures of each mix: what is needed and from what, its share, water and flush, each with its basis."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import isfinite

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import ACIDS, BLEACH, SOAP, by_equation
from planner.packet.blocks import Block, Cell, Heading, Span, Table, said
from planner.packet.sections.mixes import band_of, dial_set, known_from, on_the_wall, percent_of, today
from planner.packet.sections.reading import Reading
from planner.plan.mix.model import LotToday, MixPlan, SurfaceWork
from planner.plan.model import JobPlan
from planner.units import System, show
from planner.words import spoken as words
from planner.words.measures import of_water, poured, side_of, steps_of, strength, volume, weighed
from planner.words.spoken import mix_name, spoken_name

_USES = (
    ("pre_wet", "pre-wet"),
    ("line", "to fill hoses, into buckets"),
    ("test", "to test"),
    ("mix", "in the mix"),
    ("rinse", "rinse"),
    ("clean", "surface cleaner"),
    ("flush", "flush"),
    ("beds", "flower beds"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One row of the worksheet: the figure, its value, the key of its equation, what went in."""

    name: str
    value: str
    equation: str
    inputs: str


def mix_blocks(reading: Reading) -> list[Block]:
    """Every mix with its figures, then water by use, the flush and the neutralisers."""
    plan, system = reading.checked.plan, reading.system
    if not plan.mixes:
        return []
    blocks: list[Block] = []
    for mix in plan.mixes:
        title = f"The mix: {mix_name(plan.mixes, mix)}"
        blocks += [Heading(spans=said(title)), figure_table(figures_of(mix, plan, system))]
    blocks += [Heading(spans=said("Water by use")), _water(plan, system)]
    after = after_figures(plan, system)
    if after:
        blocks += [Heading(spans=said("Flush and leftovers")), figure_table(after)]
    return blocks


def figure_table(figures: Sequence[Figure]) -> Table:
    """Figures with their equations and what went in."""
    rows = tuple(
        (
            figure.name,
            (Span(text=figure.value, strong=True),),
            short_title(figure.equation),
            figure.inputs,
        )
        for figure in figures
    )
    return Table(head=("Figure", "Value", "Equation", "What went in"), rows=rows, widths=(2.1, 2.3, 3.2, 4.4))


def short_title(key: str) -> str:
    """An equation's short name, by which `planner explain sources` has its source: its title to the first colon."""
    row = words.sources().get(key)
    return re.split(r"[:;]", row["title"])[0] if row else key.replace("_", " ")


def figures_of(mix: MixPlan, plan: JobPlan, system: System) -> list[Figure]:
    """What the plan made of one mix. What does not apply has no row."""
    percent = percent_of(plan)
    rows: list[Figure] = []
    lot = mix.lot
    for lot_today in [share.lot for share in mix.pours] or ([lot] if lot is not None else []):
        rows.append(_today(mix, lot_today, plan))
    covered = "; ".join(
        f"{part.surface.name} {show(part.area, 'area', system)} at {show(part.coverage, 'coverage', system)}"
        for part in mix.parts
    )
    spare = f"; spare {show(mix.spare, 'fraction', system)}" if mix.kind == "premix" else ""
    rows.append(Figure(name="mix needed", value=show(mix.need, "volume", system, toward="up"), equation="coverage",
                       inputs=f"{covered}{spare}"))  # fmt: skip
    target = strength(mix.target, mix.chemical, percent) if isfinite(mix.target) else "not known"
    rows += _made(mix, plan, system, target)
    if mix.wall_low is not None and mix.wall_high is not None and mix.wall is not None:
        ends = [strength(end, mix.chemical, percent, side) for end, side in (  # type: ignore[arg-type]
            (mix.wall_low, "down"), (mix.wall_high, "up"))]  # fmt: skip
        rows.append(Figure(name="on the wall", value=f"{ends[0]} to {ends[1]}", equation=_equation(mix),
                           inputs=f"set for {target} ({on_the_wall(plan, mix)} asked)"))  # fmt: skip
    if mix.acid is not None:
        value = f"{100.0 * mix.acid.mass_fraction:.1f} wt %, {mix.acid.normality:.2f} N"
        rows.append(Figure(name="diluted acid", value=value, equation="acid_density",
                           inputs=f"by mass; {mix.acid.density / 1000.0:.3f} kg/L at 20 C"))  # fmt: skip
    if mix.dissolves is not None:
        rows.append(Figure(name="most that dissolves", value=strength(mix.dissolves, mix.chemical, percent, "down"),
                           equation="solubility",
                           inputs=f"water of {show(plan.input.water.temperature, 'temperature', system)}"))  # fmt: skip
    if mix.highest is not None:
        rows.append(Figure(name="strongest it can be", value=strength(mix.highest, mix.chemical, percent, "down"),
                           equation=_equation(mix), inputs=f"lot {lot.name if lot else 'none'}"))  # fmt: skip
    rows.append(Figure(name="hose holds", value=show(mix.fill, "volume", system, toward="up"), equation="hose_volume",
                       inputs=""))  # fmt: skip
    return rows


def _today(mix: MixPlan, lot: LotToday, plan: JobPlan) -> Figure:
    """A lot's strength on the day, and how it is known; with more lots than one each by its name."""
    band = band_of(plan, lot)
    aged = lot.chemical == BLEACH
    poured = by_equation(lot.chemical) == "hydrochloric"
    equation = "hypochlorite_ageing" if aged else "acid_density" if poured else "as_written"
    flags = ["beyond the equation's range"] * lot.extrapolated
    flags += ["may be too high: strength when made unknown"] * lot.optimistic
    known = [f"lot {lot.name}", known_from(lot), *(["kept warm"] if lot.hot and aged else []), *flags]
    inputs = "; ".join(part for part in known if part)
    name = "stock today" if len(mix.pours) < 2 else f"stock today, {lot.name}"
    return Figure(name=name, value=f"{today(plan, lot)}{f', {band}' if band else ''}", equation=equation, inputs=inputs)


def _equation(mix: MixPlan) -> str:
    return {"metered": "metered_share", "injector": "injector_ratio"}.get(mix.kind, "batches")


def _made(mix: MixPlan, plan: JobPlan, system: System, target: str) -> list[Figure]:
    stock = today(plan, mix.lot) if mix.lot is not None else "no stock"
    if mix.kind == "metered" and mix.share is not None and mix.run.dosing is not None:
        points = ", ".join(
            f"{point.setting:g}: {show(point.share, 'fraction', system)}" for point in mix.run.dosing.dial or ()
        )
        share = show(mix.share, "fraction", system, toward="down")
        value = f"{share}, dial {dial_set(mix) if mix.dial is not None else 'none'}"
        return [
            Figure(name="share of stock, dial", value=value, equation="metered_share",
                   inputs=f"target {target}; stock {stock}; dial {points}"),
            _parts(mix, system),
        ]  # fmt: skip
    if mix.kind == "injector" and mix.jug_stock is not None and mix.run.dosing is not None:
        value = f"{show(mix.jug_stock, 'fraction', system, toward='down')} stock"
        return [
            Figure(name="in the jug", value=value, equation="injector_ratio",
                   inputs=f"target {target}; stock {stock}; {mix.run.dosing.water_to_stock or 0:g} of water to 1"),
            _parts(mix, system),
        ]  # fmt: skip
    if mix.kind != "premix" or not mix.batches:
        return []
    heel = f"; heel {poured(mix.heel, system)}" if mix.heel > 0 else ""
    rows = [
        Figure(name="made in all", value=show(mix.mix or 0.0, "volume", system),
               equation="batches", inputs=f"target {target}; stock {stock}{heel}; {len(mix.batches)} batch(es)"),
        _parts(mix, system),
    ]  # fmt: skip
    first = mix.batches[0]
    marks = ", ".join(
        f"{a.what} {show(a.dip, 'dip', system, toward=side_of(a.what, active=mix.chemical != SOAP))}"
        for a in first.additions
        if a.dip is not None
    )
    if marks:
        rows.append(Figure(name="stick, batch 1", value=marks, equation="tank_stick",
                           inputs=f"tank {first.tank}; contents {show(first.mix, 'volume', system)}"))  # fmt: skip
    return rows


def _parts(mix: MixPlan, system: System) -> Figure:
    dry = mix.stock_mass
    stock = weighed(dry, system, "down") if dry is not None else poured(mix.stock or 0.0, system, "down")
    value = f"{stock} stock, {volume(mix.water or 0.0, system, 'up')} {'gal' if system == 'us' else 'L'} water"
    side = side_of("soap", active=mix.chemical != SOAP)
    soap = f"soap {poured(mix.soap, system, side)}" if mix.soap else "no soap"
    return Figure(name="stock and water", value=value, equation=_equation(mix), inputs=soap)


def _water(plan: JobPlan, system: System) -> Table:
    rows = []
    for key, name in _USES:
        amount = getattr(plan.water, key)
        seconds = plan.water.seconds.get(key)
        open_ = show(seconds, "time", system, toward="up") if seconds else ""
        if amount > 0:
            rows.append((name, of_water(amount, system), open_))
    rows.append(("in all", show(plan.water.need, "volume", system, toward="up"), ""))
    if plan.water.most > plan.water.need:
        piped = show(plan.water.most, "volume", system, toward="up")
        rows.append(("from the tap, with tanks refilled", piped, ""))
    return Table(head=("Use", "Water", "Gun open"), rows=tuple(rows), widths=(5, 2, 2), right=frozenset({1, 2}))


def after_figures(plan: JobPlan, system: System) -> list[Figure]:
    """The flush part by part, and the neutralisers."""
    hoses = {hose.name for run in plan.runs for hose in run.input.hoses}
    rows = []
    inlet = show(plan.input.water.chlorine or 0.0, "concentration", system)
    for part in (part for change in plan.changes for part in change.parts if part.through is None):
        value = "not with this water" if part.volume is None else show(part.volume, "volume", system, toward="up")
        kind = "washout_hose" if part.kind == "hose" else "washout_stirred"
        if part.kind == "tank":
            kind = "rinses_least" if part.last == part.each else "rinses_through"
        rows.append(
            Figure(
                name=f"flush {part.part} first",
                value=value,
                equation=kind,
                inputs=f"{spoken_name(part.leaves)} out of it to {show(part.target, 'concentration', system)}",
            )
        )
    for flush in plan.flushes:
        value = "not with this water" if flush.volume is None else show(flush.volume, "volume", system, toward="up")
        rows.append(
            Figure(
                name=f"flush {flush.part}",
                value=value,
                equation="washout_hose" if flush.part in hoses else "washout_stirred",
                inputs=f"from {strength(flush.strength, flush.leaves, percent_of(plan), 'up')} to "
                f"{show(flush.target, 'concentration', system)}; the water brings {inlet}",
            )
        )
    for wall in plan.runoff.surfaces if plan.runoff is not None else ():
        if wall.strength is None:
            continue
        waters = [show(amount, "volume", system, toward="up") for amount in (wall.mix, wall.water)]
        rows.append(
            Figure(
                name=f"runoff of {wall.surface}",
                value=show(wall.strength, "concentration", system, digits=2, toward="up"),
                equation="runoff_strength" if wall.ph is None else "runoff_ph",
                inputs=f"{waters[0]} of mix, {waters[1]} of water",
            )
        )
    for leftover in plan.neutralisers:
        kind = "dechlorinating" if leftover.of == BLEACH else "acid" if leftover.of in ACIDS else "alkali"
        rows.append(
            Figure(
                name=spoken_name(leftover.agent),
                value=weighed(leftover.mass, system, "up"),
                equation=kind if kind == "dechlorinating" else f"neutralising_{kind}",
                inputs=f"{leftover.purpose}; {show(leftover.volume, 'volume', system)}",
            )
        )
    return rows


# ------------------------------------------------------------ minutes
# For the worksheet: the minutes of each surface step by step, and the pace they are planned at.


def minutes_blocks(reading: Reading) -> list[Block]:
    """One row a surface and run; nothing where no work is planned."""
    plan = reading.checked.plan
    names = {work.surface.name for work in plan.work}
    took = {name: sum(span.seconds for span in plan.time if span.what == name and not span.road) for name in names}
    work = [wall for wall in plan.work if took[wall.surface.name] > 0.0]
    if not work:
        return []
    several = len({wall.run for wall in work}) > 1
    cleans = any(wall.clean > 0.0 for wall in work)
    head = ("Surface", *(("Clean, min",) if cleans else ()), "Wet, min", "Apply, min", "Rinse, min", "Waits, min")
    table = Table(
        head=(*head, "In all, min", "Pace"),
        rows=tuple(_row(wall, took[wall.surface.name], several, cleans) for wall in work),
        widths=(3.2, *((1.4,) if cleans else ()), 1.4, 1.5, 1.5, 1.5, 1.6, 3.2),
        right=frozenset(range(1, len(head) + 1)),
    )
    return [Heading(spans=said("Minutes by surface")), table]


def _row(one: SurfaceWork, took: float, several: bool, cleans: bool) -> tuple[Cell, ...]:
    """Where another run works on the wall too, its own minutes stand among the waits."""
    name = one.surface.name if one.surface.called == one.surface.name else f"{one.surface.called}: {one.surface.name}"
    name = f"{name} ({one.run})" if several else name
    waited = max(took - one.clean - one.wet - one.apply - one.rinse, 0.0)
    return (
        (Span(text=name, strong=True),),
        *((_tenths(one.clean),) if cleans else ()),
        _tenths(one.wet),
        _tenths(one.apply),
        _tenths(one.rinse),
        _tenths(waited),
        (Span(text=_tenths(took), strong=True),),
        _pace(one),
    )


def _tenths(seconds: float) -> str:
    """Minutes to the tenth, so that a row adds up; none are left empty."""
    return f"{steps_of(seconds / 6.0, 'up') / 10.0:,.1f}" if seconds > 0.0 else ""


def _pace(one: SurfaceWork) -> str:
    surface = one.surface
    said_of = "the table's"
    if surface.pace_records:
        records = "1 record" if surface.pace_records == 1 else f"{surface.pace_records:,} records"
        said_of = f"{show(surface.pace_factor, 'fraction', 'us')} of the table's, learned from {records}"
    elif surface.pace_remembered:
        jobs = "1 job" if surface.pace_remembered == 1 else f"{surface.pace_remembered:,} jobs"
        said_of = f"{show(surface.pace_factor, 'fraction', 'us')} of the table's, from {jobs} you remember"
    if one.pace.sections is not None:
        said_of += f"; its sections' fixed time at the table's: {_tenths(one.pace.sections)} min"
    return said_of
