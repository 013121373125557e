"""Sums and conversions of the JSON's figures that a packet may say, each named by what it is made of."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import pairwise

from planner.checks.model import CheckedJob
from planner.chemistry import acids, hypochlorite
from planner.physics.tanks import depth_of, full_depth
from planner.plan.between.flushing import flush_flow
from planner.plan.mix.model import MixPlan
from planner.plan.mix.pouring import tank_volumes
from planner.plan.model import JobPlan, RunPlan, Value
from planner.plan.procedure.acts import Spray
from planner.plan.water.tap import open_flow
from planner.units import System, read
from planner.words.measures import strength_number
from tests.packet.figures.given import bored, road_spans, some
from tests.packet.figures.known import Known, Toward


def at_mark(mix: MixPlan) -> float:
    """What a panel draws at its mark as printed: by straight lines between its own points."""
    points = sorted((one.setting, one.share) for one in mix.run.dosing.dial)
    aim = mix.dial * 1.005
    fine = (20 if aim < 3 else 10) if points[-1][0] <= 30 else 2 if aim < 30 else 1
    mark = math.floor(aim * fine + 1e-6) / fine
    for (low, least), (high, most) in pairwise(points):
        if low <= mark <= high:
            return least + (most - least) * (mark - low) / (high - low)
    return mix.share  # type: ignore[return-value]


def derived(checked: CheckedJob, system: System) -> Iterator[Known]:
    """Sums and conversions of the JSON's figures, each named by what it is made of."""
    plan = checked.plan
    percent = plan.input.company.percent
    yield from _strengths(plan, percent)
    for change in (change for remedy in checked.remedies for change in remedy.changes if change.kind == "get_stock"):
        wanted = change.values["strength"]
        assert isinstance(wanted, Value)
        chemical = "hypochlorite" if wanted.dimension == "trade" else "other"
        yield from in_percent("derived.get_stock", wanted.amount, chemical, percent, 0.0, ("up",))
    for run in plan.runs:
        yield from _of_runs(plan, run, system)
        # What went into each equation, as the worksheet shows it beside the figure.
        for key, basis in run.basis.items():
            for what, value in basis.inputs:
                if isinstance(value, Value):
                    family = {
                        "height": "length",
                        "head": "length",
                        "bore": "length",
                        "roughness": "length",
                        "velocity": "speed",
                    }.get(value.dimension, value.dimension)
                    how = "bore" if value.dimension == "bore" else "plain"
                    yield from some(f"basis.runs[{run.name}].{key}.{what}", value.amount, family, how=how)
                    if how == "bore":
                        yield from bored(f"basis.runs[{run.name}].{key}.{what}", value.amount)
    for mix in plan.mixes:
        measure = sum(one.stock / (one.jug_stock or 1.0) for one in mix.pours)
        yield from some(f"derived.mixes[{mix.chemical}].jug.all", measure or None, "volume", "near", how="jug")
        if mix.jug_stock:
            water = 1.0 - mix.jug_stock - (mix.jug_soap or 0.0)
            for key, share in (("stock", mix.jug_stock), ("soap", mix.jug_soap or 0.0), ("water", water)):
                side: Toward = "down" if key == "stock" else "up"
                yield from some(f"derived.mixes[{mix.chemical}].jug.{key}", measure * share, "volume", side, how="jug")
                yield from some(f"derived.mixes[{mix.chemical}].jug_share.{key}", share, "fraction", "down")
        yield from some(f"derived.mixes[{mix.chemical}].spare", mix.spare, "fraction")
        yield from some(f"derived.mixes[{mix.chemical}].soap_share", mix.soap_share, "dose")
        yield from some(f"derived.mixes[{mix.chemical}].made", sum(b.mix for b in mix.batches) or None, "volume")
        yield from some(
            f"derived.mixes[{mix.chemical}].soap",
            (mix.soap or 0.0) * (1.0 + mix.spare_loaded),
            "volume",
            "up",
            how="jug",
        )
        yield from some(f"derived.mixes[{mix.chemical}].soap", mix.soap, "volume", "up", how="jug")
        tank = mix.run.feed_tank
        volumes = tank_volumes(tank) if tank is not None and mix.batches else None
        yield from some(
            f"derived.mixes[{mix.chemical}].deep", full_depth(volumes) if volumes else None, "length", how="stick"
        )
        yield from some(f"derived.mixes[{mix.chemical}].batches", len(mix.batches), "count", how="exact")
        for batch in mix.batches:
            if volumes is not None and batch.heel > 0:
                depth = depth_of(volumes, batch.heel)
                yield from some(f"derived.mixes[{mix.chemical}].heel_dip", depth, "length", how="stick")
            for held in (batch.heel, mix.heel_held):
                yield from some(f"derived.mixes[{mix.chemical}].heel", held, "volume", how="jug")
        for part in mix.parts:
            yield from some(f"derived.mixes[{mix.chemical}].part[{part.surface.name}].mix", part.mix, "volume")
            yield from some(f"derived.mixes[{mix.chemical}].part[{part.surface.name}].area", part.area, "area")
            yield from some(
                f"derived.mixes[{mix.chemical}].part[{part.surface.name}].coverage", part.coverage, "coverage"
            )
    yield from _sums(plan, system)
    yield from _shelf(plan)
    yield from _made_of(plan, system)


def _of_runs(plan: JobPlan, run: RunPlan, system: System) -> Iterator[Known]:
    bucket = read("5 gal" if system == "us" else "20 L", "volume")
    name = f"derived.runs[{run.name}]"
    for act in plan.procedure.acts if plan.procedure is not None else ():
        spray = act.detail
        if isinstance(spray, Spray) and spray.run == run.name and act.expect is not None:
            # One bucket on every page: the one the run's flow is timed with.
            bucket = spray.volume if act.expect.what == "bucket" else bucket
    yield from some(f"{name}.bucket", bucket, "volume")
    if run.flow > 0:
        yield from some(f"{name}.bucket_s", bucket / flush_flow(run), "time")
    yield from some(f"{name}.rise", run.tip_z - run.pump_z, "length")
    yield from some(f"{name}.lost", sum(part.pressure for part in run.losses), "pressure")
    yield from some(f"{name}.lowest", min(run.pump_z, 0.0, run.input.uphill), "length")
    if run.reach is not None:
        yield from some(f"{name}.wind", run.reach.wind, "speed")
        unit, step = ("ft", 1.0) if system == "us" else ("m", 0.1)
        one = read(f"{step} {unit}", "length")
        for key, height in (("hand", run.reach.nominal), ("hand_low", run.reach.low)):
            # What the printed figures leave, so that a reader who subtracts gets the same.
            left = math.floor(height / one + 1e-9) - math.ceil((run.needed or 0.0) / one - 1e-9)
            yield from some(f"{name}.{key}", abs(left) * one, "length", how="exact")
    for part in run.losses:
        yield from some(f"{name}.losses[{part.part}].reynolds", part.reynolds, "count")


def _strengths(plan: JobPlan, percent: str) -> Iterator[Known]:
    """Strengths in the company's percent: on the wall and of a lot down, a band to its outer sides."""
    for mix in plan.mixes:
        name = f"derived.mixes[{mix.chemical}]"
        pairs: list[tuple[str, float | None, tuple[Toward, ...]]] = [
            ("target_g_per_l", mix.target, ("down", "near")), ("wall_g_per_l", mix.wall, ("down",)),
            ("wall_low_g_per_l", mix.wall_low, ("down",)), ("wall_high_g_per_l", mix.wall_high, ("up",)),
            ("highest_g_per_l", mix.highest, ("down",)), ("heel_g_per_l", mix.heel_strength, ("near",)),
        ]  # fmt: skip
        for key, amount, sides in pairs:
            yield from in_percent(f"{name}.{key}", amount, mix.chemical, percent, 0.0, sides)
    for lot in plan.shelf:
        given = next((one for one in plan.input.lots if one.name == lot.name), None)
        caustic = given.excess_caustic if given is not None else hypochlorite.USUAL_CAUSTIC
        for key, amount, side in (("", lot.nominal, "down"), ("_low", lot.low, "down"), ("_high", lot.high, "up")):
            name = f"derived.lots[{lot.name}].strength_today{key}_g_per_l"
            yield from in_percent(name, amount, lot.chemical, percent, caustic, (side,))  # type: ignore[arg-type]
        if lot.age is not None:
            yield from some(f"derived.lots[{lot.name}].days", round(lot.age / 86400.0) * 86400.0, "time", how="exact")
    for flush in plan.flushes:
        yield from in_percent(
            f"derived.flushes[{flush.part}].from", flush.strength, flush.leaves, percent, 0.0, ("up",)
        )
        yield from some(f"derived.flushes[{flush.part}].target", flush.target, "concentration")
        # The tap's own chlorine and a hair over it is still the tap's own: a thousandth is not rounded up.
        left = flush.residual * 0.999 if flush.residual is not None else None
        yield from some(f"derived.flushes[{flush.part}].residual", left, "concentration", "up")


def in_percent(
    name: str, amount: float | None, chemical: str, percent: str, caustic: float, sides: tuple[Toward, ...]
) -> Iterator[Known]:
    if amount is None or amount != amount or amount in (0.0, float("inf")):
        return
    if chemical == "hypochlorite":
        label = {"trade": "trade %", "wt_naocl": "wt % NaOCl", "wt_cl2": "wt % Cl2"}[percent]
        value = amount / 10.0 if percent == "trade" else hypochlorite.to_label(amount, percent, caustic)  # type: ignore[arg-type]
    else:
        label = strength_number(amount, chemical, percent)[1]
        value = 100.0 * acids.mass_fraction_of_strength(amount) if label == "wt %" else amount
    yield from some(name, value, label, *sides, how="strength")


def _changes(plan: JobPlan) -> Iterator[Known]:
    """What is flushed before a mix: each tank's rinses, what its line takes, and the whole of it."""
    for change in plan.changes:
        name = f"derived.changes[{change.mix}]"
        yield from some(f"{name}.volume", change.volume, "volume", "up")
        yield from some(f"{name}.seconds", change.seconds, "time", "up")
        target = min(part.target for part in change.parts)
        yield from some(f"{name}.target", target, "concentration")
        yield from some(f"{name}.target", target, "concentration", how="digits")
        own = [part for part in change.line if part.through is None]
        yield from some(f"{name}.line", sum(part.volume or 0.0 for part in own), "volume", "up")
        yield from some(f"{name}.line_seconds", sum(part.seconds or 0.0 for part in own), "time", "up")
        tank = change.tank
        if tank is not None:
            yield from some(f"{name}.rinses", (tank.rinses or 0) - change.together, "count", how="exact")


def _sums(plan: JobPlan, system: System) -> Iterator[Known]:
    yield from _changes(plan)
    for run in dict.fromkeys(flush.run for flush in plan.flushes):
        parts = [flush for flush in plan.flushes if flush.run == run]
        yield from some(f"derived.flushes[{run}].volume", sum(one.volume or 0.0 for one in parts), "volume", "up")
        yield from some(f"derived.flushes[{run}].seconds", sum(one.seconds or 0.0 for one in parts), "time", "up")
    for key in ("wet_volume", "rinse_volume"):
        held = _as_printed([getattr(one, key) for one in plan.work if getattr(one, key) > 0.0], system, math.ceil)
        yield from some(f"derived.work.{key}", held, "volume", how="exact")
    for key in ("wet", "apply", "rinse"):
        # Rows are added up as they are printed, whole minutes each, so that a reader gets the same.
        minutes = [-(-getattr(one, key) // 60) * 60 for one in plan.work]
        yield from some(f"derived.work.{key}", sum(minutes), "time", how="exact")
    for one in plan.work:
        name = f"derived.work[{one.surface.name}]"
        yield from some(f"{name}.sections", one.sections, "count", how="exact")
        if one.sections:
            yield from some(f"{name}.each", one.apply / one.sections, "time", "up")
        yield from some(f"{name}.clean", one.clean_volume, "volume", "up")
        took = sum(span.seconds for span in plan.time if span.what == one.surface.name)
        waits = max(took - one.clean - one.wet - one.apply - one.rinse, 0.0)
        yield from some(f"{name}.waits", waits, "time", "up")
        yield from some(f"{name}.took", took, "time", "up")
        yield from some(f"{name}.dwell", one.dwell_most, "time", "up")
        yield from some(f"{name}.pace", one.surface.pace_factor, "fraction")
        yield from some(f"{name}.records", one.surface.pace_records, "count", how="exact")
        yield from some(f"{name}.remembered", one.surface.pace_remembered, "count", how="exact")
    acts = plan.procedure.acts if plan.procedure is not None else ()
    sections = {act.section.surface: act.section.of for act in acts if act.section is not None}
    for surface in plan.input.surfaces:
        if surface.name in sections:
            yield from some(f"derived.section[{surface.name}].count", sections[surface.name], "count", how="exact")
            yield from some(
                f"derived.section[{surface.name}].area", surface.area / sections[surface.name], "area", "up"
            )
    sprayed = _as_printed([p.mix for m in plan.mixes for p in m.parts], system, round)
    yield from some("derived.mixes.on_the_wall", sprayed or None, "volume", how="exact")
    if plan.beds is not None:
        each = plan.beds.each
        spell = plan.beds.during / each * plan.beds.every
        yield from some("derived.beds.out", spell, "time", "up")
        whole = plan.beds.before + plan.beds.during + plan.beds.after
        amounts = {"before": plan.beds.before, "each": each, "during": plan.beds.during, "after": plan.beds.after,
                   "whole": whole}  # fmt: skip
        for key, amount in amounts.items():
            yield from some(f"derived.beds.{key}", amount, "volume", "up", how="total" if key == "whole" else "plain")
            if plan.input.water.test_flow:
                yield from some(f"derived.beds.{key}_s", amount / plan.input.water.test_flow, "time", "up")
    yield from _running_off(plan)
    for agent in plan.neutralisers:
        yield from some(f"derived.neutralise[{agent.agent}].volume", agent.volume, "volume", "up", "near")
    tap = open_flow(plan.input)
    if tap:  # one tap, one bucket: as it runs wide open, whatever pressure was left when it was tested
        yield from some("derived.tap.flow", tap, "flow", "down")
        for text in ("5 gal", "20 L"):
            yield from some("derived.tap.bucket_s", read(text, "volume") / tap, "time")
    visit = plan.time[road_spans(plan) :]
    stay = sum(span.seconds for span in visit)
    if visit and visit[0].start is not None:
        # Between its two times as they are printed, so that a reader gets the same.
        begun, over = visit[0].start, visit[0].start + stay
        stay = 300.0 * (math.ceil(over / 300.0 - 1e-6) - math.ceil(begun / 300.0 - 1e-6))
    yield from some("derived.time.on_site", stay, "time", "up")
    yield from _clock(plan)


def _as_printed(amounts: list[float], system: System, rounded: Callable[[float], int]) -> float:
    """What a column's figures come to [m3] as they are printed: whole gallons or litres from ten up, tenths below."""
    unit = read("1 gal" if system == "us" else "1 L", "volume")
    steps = [1.0 if amount >= 9.95 * unit else 0.1 for amount in amounts]
    pairs = zip(amounts, steps, strict=True)
    return sum(
        rounded(amount / unit / step + (-1e-6 if rounded is math.ceil else 1e-9)) * step * unit
        for amount, step in pairs
    )


def _running_off(plan: JobPlan) -> Iterator[Known]:
    """How strong the runoff is at the foot of each wall, to two figures, and what a strip must read of a leftover."""
    for row in (*plan.runoff.surfaces, *plan.runoff.totals) if plan.runoff is not None else ():
        name = f"derived.runoff[{row.surface}]"
        yield from some(f"{name}.strength", row.strength, "concentration", "up", how="digits")
        yield from some(f"{name}.times_acute", row.times_acute, "count", how="digits")
        yield from some(f"{name}.ph", row.ph, "count", "down" if (row.ph or 0.0) < 7.0 else "up")
    yield from some("derived.let_go.chlorine", plan.input.limits["let_go_chlorine"], "concentration", how="exact")


def _clock(plan: JobPlan) -> Iterator[Known]:
    """When each part begins and is over, to five minutes and no earlier; the bar's own marks."""
    now, arrived = 0.0, None
    for number, span in enumerate(plan.time):
        start = span.start if span.start is not None else now
        arrived = start if arrived is None and number >= road_spans(plan) else arrived
        now = start + span.seconds
        yield from some(f"derived.time[{span.what}].start", start, "clock", "up")
        yield from some(f"derived.time[{span.what}].end", now, "clock", "up")
        if arrived is not None and span.start is None:
            yield from some(f"derived.time[{span.what}].start_after", start - arrived, "clock", "up")
            yield from some(f"derived.time[{span.what}].end_after", now - arrived, "clock", "up")


def _made_of(plan: JobPlan, system: System) -> Iterator[Known]:
    """What diluted acid comes to and how many degrees it warms; what water takes up of crystals."""
    nought = read("0 F" if system == "us" else "0 C", "temperature")
    for one in plan.neutralisers:
        yield from some("derived.neutralise.warmer", nought + (one.rise or 0.0), "temperature", "up")
    for mix in plan.mixes:
        name = f"derived.mixes[{mix.chemical}]"
        yield from some(f"{name}.dissolves", mix.dissolves, "g/L", "down", how="strength")
        if mix.acid is not None:
            yield from some(f"{name}.acid.percent", 100.0 * mix.acid.mass_fraction, "wt %")
            yield from some(f"{name}.acid.density", mix.acid.density, "density")
            yield from some(f"{name}.acid.normality", mix.acid.normality, "force")
            yield from some(f"{name}.acid.warmer", nought + mix.acid.rise_high, "temperature", "up")
            yield from some(f"{name}.acid.at", 293.15, "temperature", how="exact")


def _shelf(plan: JobPlan) -> Iterator[Known]:
    for lot in plan.shelf:
        shares = [one for mix in plan.mixes for one in (*mix.pours, *mix.soaps) if one.lot.name == lot.name]
        pull, mass = sum(one.pull for one in shares), sum(one.pull_mass for one in shares)
        yield from some(f"derived.lots[{lot.name}].pull", pull or None, "volume", "up", how="jug")
        yield from some(f"derived.lots[{lot.name}].mass", mass or None, "mass", "up", how="scale")
        if lot.on_hand is not None:
            poured = sum(one.stock for one in shares)
            for key, taken in (("left", poured), ("least", max(pull, poured))):
                left = max(lot.on_hand - taken, 0.0)
                yield from some(f"derived.lots[{lot.name}].{key}", left, "volume", "down", how="jug")
        if lot.chemical == "surfactant":
            soap = sum((m.soap or 0.0) * (1.0 if m.kind == "premix" else 1.0 + m.spare_loaded) for m in plan.mixes)
            yield from some(f"derived.lots[{lot.name}].soap", soap or None, "volume", "up", how="jug")
