"""The page read at the drums: tonight's lots, each batch in order of addition, what must never meet it."""

from __future__ import annotations

from typing import Any

from planner.packet.blocks import Block, Bullet, Picture, Section, Span, State, Table, Text
from planner.packet.drawings.dial import dial
from planner.packet.drawings.tank import HEEL, STOCK, WATER, Column, Level, tank_levels
from planner.packet.drawings.tank import SOAP as SOAP_FILL
from planner.packet.findings import with_numbers
from planner.packet.measures import poured, side_of, strength, warmer, weighed
from planner.packet.sections.flush_first import place_of
from planner.packet.sections.mix_lots import lots_after, lots_table
from planner.packet.sections.mixes import (
    ACIDS,
    dial_set,
    jug_of,
    lots_in,
    on_the_wall,
    percent_of,
    pours,
    share_set,
    tank_name,
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
from planner.units import System, Toward, show

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
    places: dict[str, tuple[Block, ...]] = {
        "lots": (lots_table(reading),),
        "never": (_never(plan),),
    }
    values = []
    for n, mix in enumerate(plan.mixes, start=1):
        made = pours(reading, mix)
        places[f"short {n}"] = () if made else tuple(_short(reading, mix))
        picture = _picture(mix, system, alone=len(plan.mixes) == 1) if made else None
        places[f"picture {n}"] = (picture,) if picture is not None else ()
        values.append(_values(n, mix, reading, drawn=picture is not None))
    one = values[0]
    known = {
        "mixes": values,
        "off": _OFF[system],
        "mark": _MARK[system],
        "never": _never_line(_never(plan)),
        "nevers": "yes" if _never(plan).rows else "no",
        "never_beside": "yes" if len(values) == 1 and one["drawn"] == "yes" and one["kind"] == "premix" else "no",
    }
    return section_from("mix", template("mix"), known, places)


def _short(reading: Reading, mix: MixPlan) -> list[Block]:
    """A mix that may not be made: what is short and what clears it, and not one figure to pour by."""
    blocks: list[Block] = [Text(spans=(Span(text="Mix nothing for this.", strong=True),), use="reading")]
    for message, cure in why_not(reading, mix):
        words = with_numbers(f"{message} To clear it: {cure[:1].lower()}{cure[1:]}" if cure else message)
        blocks.append(Bullet(spans=words))
    return blocks


def _values(number: int, mix: MixPlan, reading: Reading, *, drawn: bool) -> dict[str, Any]:
    plan, system = reading.checked.plan, reading.system
    lots = lots_in(mix) or [spoken_name(mix.chemical)]
    made = pours(reading, mix)
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
        "lot": lots[0],
        "lots": " then ".join(lots),
        "then": [],
        "comes_to": "",
        "warms": "",
        "acid": "yes" if mix.chemical in ACIDS else "no",
        "dry": "yes" if mix.stock_mass is not None else "no",
        "tank": mix.run.feed_tank.name if mix.run.feed_tank is not None else "the tank",
        "device": mix.run.dosing.name if mix.run.dosing is not None else "",
        "soap": _soap_name(plan, mix),
        "soap_dose": show(mix.soap_share, "dose", system) if mix.soap_share > 0 else "",
        "stick": "yes"
        if any(step.by_stick and step.what != "water" for one in mix.batches for step in one.additions)
        else "no",
        "batches": [],
        "first": ", ".join(place_of(change) for change in plan.changes if change.mix == mix.name),
        "bathed": " and ".join(bathed_before(plan, mix)),
    }
    if not made:
        return values
    bucket = mix.line.test
    values["bucket"] = poured(bucket, system)
    values["push"] = show(mix.line.push, "volume", system, toward="up")
    if mix.kind == "premix":
        values["batches"] = _batches(mix, plan, system)
    elif mix.kind == "metered":
        values |= {
            "dial": dial_set(mix),
            "share": show(mix.share or 0.0, "fraction", system, toward="down"),
            "pull": poured(mix.pours[0].pull, system, "up"),
            "drawn_down": poured(bucket * share_set(mix), system, "down"),
            "then": lots_after(mix, system),
        }
    elif (jug := jug_of(mix, system)) is not None:
        ratio = (mix.run.dosing.water_to_stock if mix.run.dosing is not None else None) or 0.0
        soap_side = side_of("soap", active=jug.stock > 0)
        values |= {
            "pull": poured(mix.pull or 0.0, system, "up"),
            "jug": jug.name,
            "jug_water": poured(jug.water, system, "up") if jug.water > 0.005 * jug.measure else "",
            "jug_stock": poured(jug.stock, system, "down") if jug.stock > 0 else "",
            "jug_soap": poured(jug.soap, system, soap_side) if jug.soap > 0 else "",
            "jug_whole": poured(jug.whole, system, "up"),
            "ratio": f"{ratio:g}:1",
            "drawn_down": poured(bucket / (1.0 + ratio), system, "down"),
            "then": lots_after(mix, system),
        }
    if mix.acid is not None:
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


def _batches(mix: MixPlan, plan: JobPlan, system: System) -> list[dict[str, Any]]:
    """Each batch with its steps in order; one that is poured as another says so in a line."""
    listed: list[dict[str, Any]] = []
    kept = distinct(mix)
    for number, batch in enumerate(mix.batches, start=1):
        like = next(n for n, other in kept if _alike(batch, other))
        of = f" of {len(mix.batches)}" if len(mix.batches) > 1 else ""
        title = f"Batch {number}{of}: {show(batch.mix, 'volume', system)} in {tank_name(batch.tank)}"
        steps = _steps(mix, batch, number, plan, system) if like == number else []
        listed.append({"number": number, "title": title, "like": like, "steps": steps})
    return listed


def _steps(mix: MixPlan, batch: BatchPlan, number: int, plan: JobPlan, system: System) -> list[dict[str, str]]:
    steps: list[dict[str, str]] = []
    tank = mix.run.feed_tank
    if batch.heel > 0:
        depth = depth_of(tank_volumes(tank), batch.heel) if tank is not None else None
        known = mix.heel_chemical if number == 1 else mix.chemical
        held = mix.heel_strength if number == 1 else mix.target
        what = "water" if known in (None, "water") or not held > 0 else (
            f"mix at {strength(held, known or '', percent_of(plan), caustic=0.0)}")  # fmt: skip
        steps.append({"kind": "heel", "amount": poured(batch.heel, system), "dip": _dip(depth, system), "what": what,
                      "after": _after(mix, number, plan)})  # fmt: skip
    for addition in batch.additions:
        kind = addition.what if addition.what in ("water", "soap") else "stock" if addition.mass is None else "dry"
        if kind in ("stock", "dry") and any(step["kind"] == kind for step in steps):
            kind = f"more {kind}"
        side = side_of(addition.what, active=mix.chemical != SOAP)
        mass = addition.mass
        amount = weighed(mass, system, side) if mass is not None else poured(addition.volume, system, side)
        dip = _dip(addition.dip, system, side) if addition.by_stick else ""
        steps.append({"kind": kind, "amount": amount, "dip": dip, "what": addition.what})
    return steps


def _after(mix: MixPlan, number: int, plan: JobPlan) -> str:
    """What has to be sprayed out of the tank before: the batch before, or an earlier mix of this job; else nothing."""
    if number > 1:
        return f"batch {number - 1}"
    before = plan.mixes[: plan.mixes.index(mix)]
    tank = mix.run.feed_tank
    same = [one for one in before if one.batches and tank is not None and one.batches[0].tank == tank.name]
    return mix_name(plan.mixes, same[-1]) if same else ""


def _dip(depth: float | None, system: System, toward: Toward = "near") -> str:
    return show(depth, "dip", system, toward=toward) if depth is not None else ""


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
    return Column(title=title, note=f"{show(batch.mix, 'volume', system)} in all", levels=tuple(levels))


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
