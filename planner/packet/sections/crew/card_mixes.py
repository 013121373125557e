"""The first page's figures of mix and water: on the wall, to mix, water for the job."""

from __future__ import annotations

from math import isfinite

from planner.inputs.joined import Role
from planner.inputs.tables.chemicals import BLEACH, SOAP
from planner.packet.blocks import Block, Heading, Span, Spans, Table, Text, Tile, said
from planner.packet.sections.mixes import (
    band_of,
    dial_set,
    jug_of,
    lots_in,
    on_the_wall,
    stock_in_all,
    stops_about,
    tank_name,
    today,
    wall_number,
)
from planner.packet.sections.reading import Reading
from planner.plan.mix.model import MixPlan
from planner.plan.model import JobPlan, RunPlan
from planner.plan.water.tap import open_flow
from planner.units import System, show
from planner.words.figures import bucket, bucket_seconds, gauge_of
from planner.words.measures import (
    drawn,
    gauge,
    in_all,
    in_parts,
    poured,
    poured_number,
    rounded,
    weighed,
)
from planner.words.spoken import mix_name, spoken_name

_ROLES = {"rinse_tip": "Rinse tip", "cleaner": "Surface cleaner"}


def strongest(plan: JobPlan) -> MixPlan | None:
    """The strongest mix of the job, of the chemical that is strongest; None where only water is used."""

    def strong(mix: MixPlan) -> float:
        return mix.target if isfinite(mix.target) else -1.0

    return max(plan.mixes, key=strong, default=None)


def mix_tiles(reading: Reading, mix: MixPlan) -> list[Tile]:
    """On the wall, to mix, water."""
    return [_wall(reading, mix), _to_mix(reading, mix), _water(reading)]


def _wall(reading: Reading, mix: MixPlan) -> Tile:
    plan = reading.checked.plan
    number, unit = wall_number(plan, mix)
    given = mix.parts[0].surface.strength if mix.parts else None
    lines = []
    failing = any(f.code in ("mix.reach", "mix.surface", "mix.strength") for f in stops_about(reading, mix))
    if failing and unit == "trade %":  # the octagon takes the room
        unit = "%"
        lines.append("trade percent")
    if unit.startswith("wt % "):  # the chemical's name has no room beside a large number
        unit, name = "wt %", unit.removeprefix("wt % ")
        lines.append(f"as {name}")
    parts = in_parts(given.amount, given.basis) if given is not None and mix.chemical != BLEACH else ""
    lines.append(parts or spoken_name(mix.chemical))
    if mix.lot is None:
        last = f"lot {mix.soaps[0].lot.name}" if mix.soaps else "no lot"
        return Tile(label="On the wall", number=number, unit=unit, lines=tuple(lines), last=last, failing=failing)
    band = band_of(plan, mix.lot)
    lots = lots_in(mix)
    lines.append(f"lot {mix.lot.name} today" if len(lots) < 2 else f"{mix.lot.name} first, today")
    if band:
        lines.append(f"{today(plan, mix.lot)},")
    last = band or today(plan, mix.lot)
    return Tile(label="On the wall", number=number, unit=unit, lines=tuple(lines), last=last, failing=failing)


def _to_mix(reading: Reading, mix: MixPlan) -> Tile:
    """The first batch, the dial or the jug."""
    system = reading.system
    label = "To mix"
    soap = mix.chemical == SOAP
    what = "soap" if soap else "stock"
    stock = poured(mix.soap or 0.0, system, "down") if soap else stock_in_all(mix, system)
    if mix.kind == "metered":
        device = mix.run.dosing.name if mix.run.dosing is not None else "the panel"
        share = show(mix.share or 0.0, "fraction", system, toward="down")
        lines = (f"mark on {device}:", f"{share} of the flow,")
        return Tile(label=label, number=dial_set(mix), unit="dial", lines=lines, last=f"stock {stock}")
    jug = jug_of(mix)
    if jug is not None:
        number, unit = poured_number(jug.soap if soap else jug.stock, system, "down")
        lines = (f"of {what} for the jug,", "in all, with water:")
        return Tile(label=label, number=number, unit=unit, lines=lines, last=poured(jug.water, system, "up"))
    first = mix.batches[0]
    number, unit = rounded(first.mix, "volume", system)
    count = f"batch 1 of {len(mix.batches)}" if len(mix.batches) > 1 else "one batch"
    mass = sum(addition.mass or 0.0 for addition in first.additions)
    pour = weighed(mass, system, "down") if mass else poured(first.soap if soap else first.stock, system, "down")
    return Tile(
        label=label,
        number=number,
        unit=unit,
        lines=(f"{count}, in", f"{tank_name(first.tank)};"),
        last=f"{what} {pour}",
    )


def _water(reading: Reading) -> Tile:
    """What the whole job needs, the tank it comes from, and the tap."""
    plan, system = reading.checked.plan, reading.system
    water = plan.input.water
    number, unit = in_all(plan.water.most, system)
    tank = next((tank for tank in plan.input.rig.tanks if tank.holds in (None, "water")), None)
    if tank is None:
        tank = next((run.input.feed_tank for run in plan.runs if run.input.feed_tank is not None), None)
    lines = ["at most, in all;"]
    if tank is not None:
        lines.append(f"{tank.name} tank {drawn(tank.volume, system, 'down')}")
    if water.source in ("tap", "hydrant"):
        # As a bucket under it shows: a test with pressure left has less.
        flow = open_flow(plan.input)
        if flow:
            lines.append(f"{water.source} {show(flow, 'flow', system, toward='down')}")
        last = bucket(flow or 0.0, system) if water.tested else "bucket test on arrival"
    else:
        last = f"from {'the ' if water.source == 'pond' else 'a full '}{water.source}"
    return Tile(label="Water", number=number, unit=unit, lines=tuple(lines), last=last)


def in_short(reading: Reading, run: RunPlan) -> list[Block]:
    """Flow and gauge in a line, where the tiles hold the mix instead; and with which other tips."""
    system = reading.system
    if not reading.checked.plan.mixes:
        return [Text(spans=tuple(with_roles(run, system)))] if run.roles else []
    joint = gauge_of(run)
    closed = joint.closed if joint is not None else None
    spans: list[Span] = [
        Span(text="Gauge, gun open, "),
        Span(text=gauge(joint.open if joint is not None else run.pump_pressure, system), strong=True),
        Span(text="; closed "),
        Span(text=gauge(closed, system) if closed is not None else "never", strong=True),
        Span(text=f". Tip {run.input.tip.name}: "),
        Span(text=show(run.flow, "flow", system), strong=True),
        Span(text=f", {gauge(run.tip_pressure, system)} at the tip"),
    ]
    size, seconds = bucket_seconds(reading.checked.plan, run, system)
    if seconds:
        spans += [Span(text=", "), Span(text=f"{size} in {seconds} s", strong=True)]
    return [Text(spans=(*spans, Span(text="."), *with_roles(run, system)))]


def with_roles(run: RunPlan, system: System) -> list[Span]:
    """Flow and pressure with each other tip that the gun is changed to."""
    spans: list[Span] = []
    for role, one in run.roles.items():
        spans += [
            Span(text=f" {_ROLES[role]} {one.input.tip.name}{_behind(run, role)}: "),
            Span(text=show(one.flow, "flow", system), strong=True),
            Span(text=f", {gauge(one.tip_pressure, system)}."),
        ]
    return spans


def _behind(run: RunPlan, role: Role) -> str:
    """The hoses that are put on for a role."""
    own = {hose.name for hose in run.input.hoses}
    line = run.input.role_hoses.get(role, ())
    names = [hose.name for hose in line if hose.name not in own] or [hose.name for hose in line[-1:]]
    return f" behind {', '.join(names)}" if names else ""


def mix_rows(reading: Reading) -> list[Block]:
    """With more mixes than one the tiles show the strongest; this shows them all."""
    plan, system = reading.checked.plan, reading.system
    if len(plan.mixes) < 2:
        return []
    rows = []
    for mix in plan.mixes:
        name: Spans = (Span(text=mix_name(plan.mixes, mix), strong=True),)
        rows.append(
            (
                name,
                on_the_wall(plan, mix),
                f"{' then '.join(lots_in(mix))}, {today(plan, mix.lot)}" if mix.lot is not None else "no lot",
                _setting(mix, system),
                stock_in_all(mix, system),
            )
        )
    head = ("Every mix", "On the wall", "Lot, strength today", "To mix", "Stock in all")
    table = Table(head=head, rows=tuple(rows), widths=(3.0, 2.2, 2.6, 2.4, 1.7), right=frozenset({4}),
                  act=frozenset({3}))  # fmt: skip
    return [Heading(spans=said("Every mix of this job")), table]


def _setting(mix: MixPlan, system: System) -> str:
    if mix.kind == "metered":
        return f"dial {dial_set(mix)}"
    jug = jug_of(mix)
    if jug is not None:
        strong = f"{poured(jug.soap, system, 'down')} of soap" if mix.chemical == SOAP else stock_in_all(mix, system)
        return f"{strong}, {poured(jug.water, system, 'up')} of water"
    count = len(mix.batches)
    each = drawn(mix.batches[0].mix, system)
    return f"{count} batches of {each}" if count > 1 else f"{each} in {mix.batches[0].tank}"
