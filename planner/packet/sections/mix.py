"""The page read at the drums: tonight's lots, each batch in order of addition, what must never meet it."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Block, Bullet, Hold, Picture, Section, Span, State, Table, Text
from planner.packet.drawings.dial import dial
from planner.packet.drawings.tank import HEEL, STOCK, WATER, Column, Level, tank_levels
from planner.packet.drawings.tank import SOAP as SOAP_FILL
from planner.packet.findings import with_numbers
from planner.packet.measures import drawn, poured, side_of, warmer
from planner.packet.sections.acts import printing_of, sheets_of, side_by_side
from planner.packet.sections.mix_lots import lots_table
from planner.packet.sections.mixes import (
    ACIDS,
    dial_set,
    on_the_wall,
    pours,
    why_not,
)
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.told import tank_told
from planner.packet.wording import section_from
from planner.packet.words import mix_name, spoken_name
from planner.physics.tanks import TankVolumes, depth_of, full_depth
from planner.plan.lookups import bathed_before, forbidden
from planner.plan.mix_model import BatchPlan, MixPlan
from planner.plan.mixing import SOAP
from planner.plan.model import JobPlan
from planner.plan.pouring import tank_volumes
from planner.units import System, show

_TANK = (440.0, 400.0, 350.0, 300.0, 250.0, 210.0)
_TANK_ALONE = (290.0, 260.0, 230.0, 200.0, 170.0)  # what never meets the mix stands under it
_DIAL = (70.0, 58.0)
_SAME = 1e-6  # m3; batches closer than this are poured alike
_OFF = {"us": "1/4 in", "si": "6 mm"}
_MARK = {"us": "1/8 in", "si": "3 mm"}
_MOST_NAMES = 3
# Said in plain words beside the table of pairs, whatever is on the rig (general chemistry, from memory).
_PLAIN = {
    "hypochlorite": (
        ("any acid (muriatic, oxalic, vinegar, rust cleaner)", "chlorine gas"),
        ("ammonia, and glass cleaner that holds it", "chloramine gas"),
    ),
    "acid": (
        ("bleach, and anything that holds it", "chlorine gas"),
        ("caustic and degreaser", "violent heat"),
        ("aluminum, zinc, galvanized steel", "hydrogen"),
    ),
    "caustic": (("any acid", "violent heat"), ("aluminum, zinc, galvanized steel", "hydrogen")),
    "percarbonate": (("bleach", "oxygen that bursts what is closed"), ("any acid", "oxygen and heat")),
}
_NAMED = {"hypochlorite": frozenset(ACIDS), "acid": frozenset({"hypochlorite", "caustic"})}


def section(reading: Reading) -> Section | None:
    """One part for each mix; no page where nothing but water is used."""
    plan, system = reading.checked.plan, reading.system
    if not plan.mixes:
        return None
    never = _never(plan)
    places: dict[str, tuple[Block, ...]] = {
        "lots": (lots_table(reading),),
        "never": (never,),
    }
    values = []
    for n, mix in enumerate(plan.mixes, start=1):
        made = _made(reading, mix)
        places[f"short {n}"] = () if made else tuple(_short(reading, mix))
        picture = _picture(mix, system, alone=len(plan.mixes) == 1) if made else None
        places[f"picture {n}"] = (picture,) if picture is not None else ()
        values.append(_values(n, mix, reading, drawn=picture is not None))
    one = values[0]
    printing = printing_of(reading)
    acts = printing.blocks(sheets_of(printing.telling.procedure).mix) if printing is not None else ()
    # A stop point takes the whole width; what comes after the last of them stands beside a picture.
    guarded = max((at + 1 for at, block in enumerate(acts) if isinstance(block, Hold)), default=0)
    places |= {"acts": side_by_side(acts[:guarded]), "pours": acts[guarded:]}
    beside = len(values) == 1 and one["drawn"] == "yes" and one["kind"] == "premix"
    known = {
        "mixes": values,
        "drawn_first": next((value["number"] for value in values if value["drawn"] == "yes"), 0),
        "off": _OFF[system],
        "mark": _MARK[system],
        "never": _never_line(never),
        "nevers": "yes" if never.rows else "no",
        "never_beside": "yes" if beside and never.rows else "no",
    }
    return section_from("mix", template("mix"), known, places)


def _made(reading: Reading, mix: MixPlan) -> bool:
    """True where the page may show what to pour: nothing at all is poured on a job that is held."""
    return pours(reading, mix) and not reading.held


def _short(reading: Reading, mix: MixPlan) -> list[Block]:
    """A mix that may not be made: what is short and what clears it, and not one figure to pour by."""
    blocks: list[Block] = [Text(spans=(Span(text="Mix nothing for this.", strong=True),), use="reading")]
    for message, cure in why_not(reading, mix):
        words = with_numbers(f"{message} To clear it: {cure[:1].lower()}{cure[1:]}" if cure else message)
        blocks.append(Bullet(spans=words))
    return blocks


def _values(number: int, mix: MixPlan, reading: Reading, *, drawn: bool) -> dict[str, Any]:
    plan, system = reading.checked.plan, reading.system
    made = _made(reading, mix)
    title = f"{spoken_name(mix.chemical).capitalize()} at {on_the_wall(plan, mix)}, {_where(mix)}"
    if len(plan.runs) > 1:
        title += f" ({mix.run.name})"
    if mix_name(plan.mixes, mix).startswith(f"{number}: "):
        title = f"{number}: {title}"
    values: dict[str, Any] = {
        "number": number,
        "title": title,
        "made": "yes" if made else "no",
        "kind": mix.kind,
        "drawn": "yes" if drawn else "no",
        "device": mix.run.dosing.name if mix.run.dosing is not None else "",
        "soap": _soap_name(plan, mix),
        "soap_dose": show(mix.soap_share, "dose", system) if mix.soap_share > 0 else "",
        "share": show(mix.share or 0.0, "fraction", system, toward="down") if mix.kind == "metered" and made else "",
        "stick": "yes"
        if any(step.by_stick and step.what != "water" for one in mix.batches for step in one.additions)
        else "no",
        "bathed": " and ".join(bathed_before(plan, mix)),
        "comes_to": "",
        "warms": "",
    }
    if made and mix.acid is not None:
        values |= {
            "comes_to": f"{100.0 * mix.acid.mass_fraction:.1f} wt % HCl, {mix.acid.density / 1000.0:.3f} kg/L, "
            f"{mix.acid.normality:.2f} N",
            "warms": warmer(mix.acid.rise_high, system),
        }
    return values


def _where(mix: MixPlan) -> str:
    names = mix.surfaces
    return ", ".join(names) if len(names) <= _MOST_NAMES else f"{len(names)} surfaces"


def _soap_name(plan: JobPlan, mix: MixPlan) -> str:
    if mix.soaps:
        return f"soap, lot {' then '.join(one.lot.name for one in mix.soaps)}"
    for use in plan.input.chemicals:
        if use.dose is not None and use.lots and set(use.surfaces) & set(mix.surfaces):
            return f"soap, lot {use.lots[0].name}"
    return "soap"


def _alike(one: BatchPlan, other: BatchPlan) -> bool:
    pairs = ((one.heel, other.heel), (one.water, other.water), (one.stock, other.stock), (one.soap, other.soap))
    return all(abs(a - b) < _SAME for a, b in pairs)


def distinct(mix: MixPlan) -> list[tuple[int, BatchPlan]]:
    """The batches that differ from those before them, with their numbers."""
    kept: list[tuple[int, BatchPlan]] = []
    for number, batch in enumerate(mix.batches, start=1):
        if not any(_alike(batch, other) for _, other in kept):
            kept.append((number, batch))
    return kept


def _picture(mix: MixPlan, system: System, *, alone: bool) -> Picture | None:
    """The tank with its stick, or the panel's dial; an injector's jug needs no picture."""
    if mix.kind == "metered" and mix.run.dosing is not None and mix.run.dosing.dial:
        points = [(point.setting, point.share) for point in mix.run.dosing.dial]
        words = f"set {dial_set(mix)}"
        setting = mix.dial or 0.0

        def paint_dial(wide: float, tall: float) -> object:
            return dial(points, setting, words, system, wide, tall)

        return Picture(paint=paint_dial, heights=_DIAL, title=mix.name, told=f"The dial: {words}.")
    tank = mix.run.feed_tank
    if mix.kind != "premix" or tank is None:
        return None
    volumes = tank_volumes(tank)
    full = full_depth(volumes)
    columns = [_column(mix, number, batch, volumes, system) for number, batch in distinct(mix)[:2]]
    if full is None or not all(column.levels for column in columns):
        return None
    deep = full

    def paint(wide: float, tall: float) -> object:
        return tank_levels(columns, deep, system, wide, tall)

    told = tank_told(columns, deep, system)
    return Picture(paint=paint, heights=_TANK_ALONE if alone else _TANK, title=mix.name, told=told)


def _column(mix: MixPlan, number: int, batch: BatchPlan, volumes: TankVolumes, system: System) -> Column:
    alike = [n for n, other in enumerate(mix.batches, start=1) if _alike(batch, other)]
    title = f"Batch {number}"
    if len(alike) > 1:
        title = f"Batches {number} {'and' if len(alike) == 2 else 'to'} {alike[-1]}"
    levels: list[Level] = []
    heel = depth_of(volumes, batch.heel)
    if batch.heel > 0 and heel is not None:
        levels.append(Level(what="heel", depth=heel, fill=HEEL, read=False, amount=poured(batch.heel, system)))
    for addition in batch.additions:
        depth = depth_of(volumes, min(addition.contents, volumes.volume))
        if depth is None or addition.mass is not None:
            continue
        fill = {"water": WATER, "soap": SOAP_FILL}.get(addition.what, STOCK)
        what = addition.what if addition.what in ("water", "soap") else "stock"
        side = side_of(what, active=mix.chemical != SOAP)
        amount = poured(addition.volume, system, side)
        levels.append(Level(what=what, depth=depth, fill=fill, read=addition.by_stick, amount=amount, side=side))
    return Column(title=title, note=f"{drawn(batch.mix, system)} in all", levels=tuple(levels))


def _never(plan: JobPlan) -> Table:
    """What the job's chemicals may not meet: plain words first, then what else of this job the tables forbid."""
    chemicals = list(dict.fromkeys(mix.chemical for mix in plan.mixes))
    others = {mix.heel_chemical for mix in plan.mixes if mix.heel_chemical} | {lot.chemical for lot in plan.shelf}
    agents = {one.agent for one in plan.neutralisers}
    others |= agents | set(chemicals)
    rows = []
    for chemical in chemicals:
        group = "acid" if chemical in ACIDS else chemical
        for what, gives in _PLAIN.get(group, ()):
            rows.append(_meeting(chemical, what, gives))
        for other in sorted(others - _NAMED.get(group, frozenset()) - {chemical}):
            pair = forbidden(plan, chemical, other)
            if pair is not None:
                # A leftover is neutralised with just this; stock boils over with it.
                strong = " on to stock" if other in agents else ""
                rows.append(_meeting(chemical, f"{spoken_name(other)}{strong}", pair.gives))
    if len(chemicals) == 1:
        name = "bleach" if chemicals == ["hypochlorite"] else spoken_name(chemicals[0])
        short = tuple((state, other, gives) for state, _, other, gives in rows)
        return Table(head=("", f"Never {name} with", "It gives"), rows=short, widths=(0.6, 5.4, 3.4))
    return Table(head=("", "Never together: this", "with this", "gives"), rows=tuple(rows), widths=(0.5, 2.6, 5.6, 3.2))


def _never_line(table: Table) -> str:
    """The same in a line, where the table is about one chemical."""
    if len(table.head) != 3 or not table.rows:
        return ""
    # The safety sheet has every example; here a line of kinds is enough.
    short = [str(row[1]).partition(" (")[0].partition(", and ")[0] for row in table.rows]
    return f"{table.head[1]} {'; '.join(f'{what}: {row[2]}' for what, row in zip(short, table.rows, strict=True))}."


def _meeting(chemical: str, other: str, gives: str) -> tuple[Any, ...]:
    name = "bleach" if chemical == "hypochlorite" else spoken_name(chemical)
    return (State(level="stop"), (Span(text=name, strong=True),), other, gives)
