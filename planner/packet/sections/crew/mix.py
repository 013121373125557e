"""The page read at the drums: tonight's lots, each batch in order of addition, what must never meet it."""

from __future__ import annotations

from typing import Any

from planner.inputs.tables.chemicals import SOAP
from planner.packet.blocks import Block, Hold, Picture, Section
from planner.packet.drawings.tank import HEEL, STOCK, WATER, Column, Level, dial, tank_levels
from planner.packet.drawings.tank import SOAP as SOAP_FILL
from planner.packet.sections.acts.acts import printing_of
from planner.packet.sections.acts.streams import sheets_of
from planner.packet.sections.mixes import (
    dial_set,
    on_the_wall,
)
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.told import tank_told
from planner.packet.wording import section_from
from planner.physics.tanks import TankVolumes, depth_of, full_depth
from planner.plan.mix.lookups import bathed_before
from planner.plan.mix.model import BatchPlan, MixPlan
from planner.plan.mix.pouring import tank_volumes
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Pour
from planner.units import System, show
from planner.words.measures import drawn, poured, side_of, warmer
from planner.words.spoken import mix_name, mix_title, spoken_name

_TANK = (290.0, 260.0, 230.0, 200.0, 170.0, 150.0)
_DIAL = (70.0, 58.0)
_SAME = 1e-6  # m3; batches closer than this are poured alike
_OFF = {"us": "1/4 in", "si": "6 mm"}
_MARK = {"us": "1/8 in", "si": "3 mm"}
_MOST_NAMES = 3


def section(reading: Reading) -> Section | None:
    """One part for each mix that the lead makes; what the second pours stands on the second's own sheet."""
    plan, system = reading.checked.plan, reading.system
    printing = printing_of(reading)
    lead = sheets_of(printing.telling.procedure).mix if printing is not None else ()
    if not plan.mixes or printing is None or not any(isinstance(act.detail, Pour) for act in lead):
        return None
    places: dict[str, tuple[Block, ...]] = {}
    values = []
    for n, mix in enumerate(plan.mixes, start=1):
        own = mix_title(plan.mixes, mix) if len(plan.mixes) > 1 else ""
        picture = _picture(mix, mix_name(plan.mixes, mix), system, own)
        places[f"picture {n}"] = (picture,) if picture is not None else ()
        values.append(_values(n, mix, reading, drawn=picture is not None))
    acts = printing.blocks(lead)
    # A stop point takes the whole width; what comes after the last of them stands beside a picture.
    guarded = max((at + 1 for at, block in enumerate(acts) if isinstance(block, Hold)), default=0)
    places |= {"acts": acts[:guarded], "pours": acts[guarded:]}
    known = {
        "mixes": values,
        "drawn_first": next((value["number"] for value in values if value["drawn"]), 0),
        "off": _OFF[system],
        "mark": _MARK[system],
        "stick": any(value["stick"] for value in values),
        "several": len(values) > 1,
    }
    return section_from("mix", template("mix"), known, places, role="lead")


def _values(number: int, mix: MixPlan, reading: Reading, *, drawn: bool) -> dict[str, Any]:
    plan, system = reading.checked.plan, reading.system
    title = f"{spoken_name(mix.chemical).capitalize()} at {on_the_wall(plan, mix)}, {_where(mix)}"
    if len(plan.runs) > 1:
        title += f" ({mix.run.name})"
    if mix_name(plan.mixes, mix).startswith(f"{number}: "):
        title = f"{number}: {title}"
    values: dict[str, Any] = {
        "number": number,
        "title": title,
        "kind": mix.kind,
        "drawn": drawn,
        "device": mix.run.dosing.name if mix.run.dosing is not None else "",
        "soap": _soap_name(plan, mix),
        "soap_dose": show(mix.soap_share, "dose", system) if mix.soap_share > 0 else "",
        "share": show(mix.share or 0.0, "fraction", system, toward="down") if mix.kind == "metered" else "",
        "stick": any(step.by_stick and step.what != "water" for batch in mix.batches for step in batch.additions),
        "bathed": " and ".join(bathed_before(plan, mix)),
        "comes_to": "",
        "warms": "",
    }
    if mix.acid is not None:
        values |= {
            "comes_to": f"{100.0 * mix.acid.mass_fraction:.1f} wt % HCl, {mix.acid.density / 1000.0:.3f} kg/L, "
            f"{mix.acid.normality:.2f} N",
            "warms": warmer(mix.acid.rise_high, system),
        }
    return values


def _where(mix: MixPlan) -> str:
    names = [part.surface.called for part in mix.parts]
    return ", ".join(names) if len(names) <= _MOST_NAMES else f"{len(names)} surfaces"


def _soap_name(plan: JobPlan, mix: MixPlan) -> str:
    if mix.soaps:
        return f"soap, lot {' then '.join(share.lot.name for share in mix.soaps)}"
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


def _picture(mix: MixPlan, title: str, system: System, own: str) -> Picture | None:
    """The tank with its stick, or the panel's dial; an injector's jug needs none. `own`: what the mix is titled."""
    if mix.kind == "metered" and mix.run.dosing is not None and mix.run.dosing.dial:
        points = [(point.setting, point.share) for point in mix.run.dosing.dial]
        words = f"set {dial_set(mix)}"
        setting = mix.dial or 0.0

        def paint_dial(wide: float, tall: float) -> object:
            return dial(points, setting, words, system, wide, tall)

        return Picture(paint=paint_dial, heights=_DIAL, title=title, told=f"The dial: {words}.")
    tank = mix.run.feed_tank
    if mix.kind != "premix" or tank is None:
        return None
    volumes = tank_volumes(tank)
    full = full_depth(volumes)
    columns = [_column(mix, number, batch, volumes, system, own) for number, batch in distinct(mix)[:2]]
    if full is None or not all(column.levels for column in columns):
        return None
    deep = full

    def paint(wide: float, tall: float) -> object:
        return tank_levels(columns, deep, system, wide, tall)

    text = tank_told(columns, deep, system)
    return Picture(paint=paint, heights=_TANK, title=title, told=text)


def _column(
    mix: MixPlan, number: int, batch: BatchPlan, volumes: TankVolumes, system: System, own: str
) -> Column:  # fmt: skip
    alike = [n for n, other in enumerate(mix.batches, start=1) if _alike(batch, other)]
    title = f"Batch {number}"
    if len(alike) > 1:
        title = f"Batches {number} {'and' if len(alike) == 2 else 'to'} {alike[-1]}"
    if own:
        title = f"{own}, {title.lower()}" if len(mix.batches) > 1 else own
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
