"""Whether the mix can be made, is right for the wall, and meets nothing it must not.

Acid beyond one to ten is a caution, not a stop: it spoils brick and hurts nobody more than one to ten does. Advice from
outside the trade, `outside` in data/surfaces.yaml, is held against the strength asked for. A surface's range and its
trim are held against what a strip-tested, bucket-tested mix may be over what was asked (`over_as_tested`): those
figures are of hands who test so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from planner.checks.model import Finding, Level, check, over, under
from planner.checks.yard import bench
from planner.chemistry.solutions import NEAR_SATURATION
from planner.inputs.tables.chemicals import ACIDS, BLEACH, DRY, SOAP, words_of
from planner.inputs.tables.defaults import default
from planner.plan.between.heels import water_of
from planner.plan.between.matrix import meets
from planner.plan.mix.dosed import over_as_tested
from planner.plan.mix.lookups import advised_most, outside_advice, table_range
from planner.plan.mix.mixing import carries_mix
from planner.plan.mix.model import MixPlan, TankHeel
from planner.plan.model import JobPlan, RunPlan, Value


def mix_finding(code: str, mix: MixPlan, level: Level, case: str, **values: Value | str) -> Finding:
    chemical = words_of(mix.chemical)
    named: dict[str, Value | str] = {"chemical": chemical, "run": mix.run.name, **values}
    return Finding(code=code, about=mix.name, level=level, case=case, values=named, where=mix.where)


def strength_of(mix: MixPlan, amount: float | None) -> Value | str:
    """A strength as the trade says it: trade percent of bleach, parts of acid to water, else grams per litre."""
    strength = mix.lot.nominal if mix.lot is not None else None
    if mix.chemical in ACIDS and mix.chemical not in DRY and amount and strength and amount < strength:
        return f"1:{strength / amount - 1.0:.3g}"
    return Value(amount or 0.0, "trade" if mix.chemical == BLEACH else "grams")


def _asked(mix: MixPlan) -> Value | str:
    """The strength wanted where nothing is held against it: crystals asked for by weight as every page has them."""
    given = mix.parts[0].surface.strength if mix.parts else None
    by_weight = mix.chemical in DRY and given is not None and given.basis == "wt"
    return f"{given.amount:g} wt %" if by_weight and given is not None else strength_of(mix, mix.target)


@check("mix.reach")
def mix_reach(plan: JobPlan) -> Iterator[Finding]:
    """Whether tonight's stock, through this run's dosing, gets to the strength wanted."""
    runs = {run.name: run for run in plan.runs}
    for mix in plan.mixes:
        values: dict[str, Value | str] = {
            "target": strength_of(mix, mix.target),
            "highest": strength_of(mix, mix.highest),
            "lot": _lot(mix),
            "water": Value(plan.input.water.temperature, "temperature"),
            **_injector(mix, runs[mix.run.name]),
        }
        not_drawn = _not_drawn(runs[mix.run.name])
        yield from _small_jug(mix)
        if mix.reachable and not_drawn is not None:
            # No strength is promised of a draw that nobody measured.
            yield mix_finding("mix.reach", mix, "stop", not_drawn, **values)
            continue
        if mix.reachable and mix.chemical == SOAP:
            yield mix_finding("mix.reach", mix, "ok", "soap")
            continue
        if mix.reachable:
            if mix.dissolves is not None:
                values["highest"] = Value(mix.dissolves, "grams")
                if over(mix.target, NEAR_SATURATION * mix.dissolves):
                    yield mix_finding("mix.reach", mix, "caution", "slow_to_dissolve", **values)
                    continue
            values["target"] = _asked(mix)
            case = "untested" if not mix.ratio_tested else "ok" if mix.reachable_low else "low_only"
            if case == "ok" and "full" in values:
                case = "ok_behind"
            yield mix_finding("mix.reach", mix, "ok" if case.startswith("ok") else "caution", case, **values)
            continue
        case = "no_flow" if runs[mix.run.name].flow <= 0.0 else _why_not(mix, runs[mix.run.name])
        level: Level = {"no_lot": "none", "drifts": "caution"}.get(case, "stop")  # type: ignore[assignment]
        yield mix_finding("mix.reach", mix, level, case, **values)
    yield from _unmixed(plan)
    yield from bench.reach(plan)


def _unmixed(plan: JobPlan) -> Iterator[Finding]:
    """What is written for a wall and no run brings there, and runs set up for a mix with nothing to mix."""
    mixed = {(name, mix.chemical) for mix in plan.mixes for name in mix.surfaces}
    soaped = {name for mix in plan.mixes if mix.soap_share > 0.0 for name in mix.surfaces}
    own = plan.input.job.chemicals is None
    for use in plan.input.chemicals:
        # A second chemical on a wall is told under mix.reaction.
        first = {wall.name for wall in plan.input.surfaces if wall.chemical == use.chemical}
        missing = [
            name
            for name in use.surfaces
            if (name not in soaped if use.chemical == SOAP else name in first and (name, use.chemical) not in mixed)
        ]
        if not missing:
            continue
        chemical = words_of(use.chemical)
        yield Finding(
            code="mix.reach",
            about=f"{use.chemical}, {missing[0]}",
            level="caution" if own else "stop",
            case="no_run_table" if own else "no_run",
            values={"chemical": chemical, "walls": ", ".join(missing)},
            where=use.where,
        )
    sprayed = {mix.run.name for mix in plan.mixes}
    for run in plan.input.runs:
        if run.name in sprayed or not carries_mix(run):
            continue
        device = run.dosing.name if run.dosing is not None else ""
        yield Finding(
            code="mix.reach",
            about=run.name,
            level="stop" if run.premix else "caution",
            case="nothing_to_mix" if run.premix else "nothing_to_dose",
            values={"run": run.name, "device": device, "tank": run.feed_tank.name if run.feed_tank is not None else ""},
            where=run.where,
        )


def _injector(mix: MixPlan, run: RunPlan) -> dict[str, Value | str]:
    """What an injector draws against and what its ratio may be; empty of any other dosing."""
    device, injector = mix.run.dosing, run.injector
    if device is None or injector is None or device.water_to_stock is None:
        return {}
    least, most = (device.water_to_stock * share for share in mix.ratio_band)
    values: dict[str, Value | str] = {
        "device": device.name,
        "behind": Value(injector.behind, "pressure"),
        "ratio_least": f"{least:.3g}",
        "ratio_most": f"{most:.3g}",
        "lands_low": strength_of(mix, mix.wall_low),
        "lands_high": strength_of(mix, mix.wall_high),
    }
    if injector.full is not None and injector.limit is not None:
        values |= {"full": Value(injector.full, "pressure"), "most_behind": Value(injector.limit, "pressure")}
    return values


def _not_drawn(run: RunPlan) -> str | None:
    """Why an injector draws nothing, or not what it should; None where it does."""
    injector = run.injector
    if injector is None or run.flow <= 0.0:
        return None
    if injector.full is None or injector.limit is None:
        return "draws_unknown"
    if run.injector_draws is False:
        return "draws_nothing"
    return "draws_part" if over(injector.behind, injector.full) else None


def _why_not(mix: MixPlan, run: RunPlan) -> str:
    """The reason a mix is out of reach; `no_lot` is for mix.stock to say."""
    not_drawn = _not_drawn(run)
    if mix.chemical == SOAP and not_drawn is not None:
        return not_drawn
    if mix.dissolves is not None and over(mix.target, mix.dissolves):
        return "wont_dissolve"
    if mix.chemical in DRY or mix.chemical == SOAP:
        return "no_way" if mix.target > 0.0 or mix.chemical == SOAP else "unknown"
    if mix.lot is None:
        return "no_lot"
    if mix.lot.nominal is None or mix.target <= 0.0:
        return "unknown"
    if mix.kind == "injector":
        if not_drawn is not None:
            return not_drawn
        if not mix.highest:
            return "too_weak"
        return "too_weak" if under(mix.highest, default("injector_drift") * mix.target) else "drifts"
    if mix.kind == "metered" and mix.dial_low is not None and under(mix.target, mix.dial_low):
        return "below_dial"
    if mix.kind == "metered" and mix.dial_high is not None and over(mix.target, mix.dial_high):
        return "above_dial"
    return "too_weak"


def _lot(mix: MixPlan) -> str:
    if len(mix.pours) > 1:
        return " then ".join(share.lot.name for share in mix.pours)
    return mix.lot.name if mix.lot is not None else "none"


def _small_jug(mix: MixPlan) -> Iterator[Finding]:
    """A mix that takes more out of an injector's jug than its jug is written to hold."""
    size = mix.run.dosing.jug if mix.run.dosing is not None and mix.kind == "injector" else None
    whole = sum(one.stock / one.jug_stock for one in mix.pours if one.jug_stock)
    if size is not None and over(whole, size):
        values = {"whole": Value(whole, "volume"), "size": Value(size, "volume")}
        yield mix_finding("mix.reach", mix, "caution", "small_jug", **values)


_DRUM = {
    "drum_floor": "`drum_floor` with the panel",
    "container": "`container` with the lot",
    "on_hand": "`on_hand` with the lot",
}


@check("metered.level")
def metered_level(plan: JobPlan) -> Iterator[Finding]:
    """What a panel's share comes to as its water tank and its drum fall, if its dial stays where it was set."""
    for mix in plan.mixes:
        panel = mix.panel
        strength = mix.lot.nominal if mix.lot is not None else None
        if mix.kind != "metered" or panel is None:
            yield mix_finding("metered.level", mix, "none", "no_panel")
            continue
        device = mix.run.dosing
        named: dict[str, Value | str] = {"device": device.name if device is not None else "panel", "tank": tank_of(mix)}
        if panel.untold is not None:
            level: Level = "caution" if panel.untold in ("feed", "levels", "shape", "loss") else "stop"
            yield mix_finding("metered.level", mix, level, panel.untold, **named)
            continue
        if not strength or mix.target <= 0.0:
            yield mix_finding("metered.level", mix, "none", "no_strength", **named)
            continue
        if mix.dial is None:
            named["first"] = Value(mix.target / strength, "fraction")
            named["most"] = Value(max(point.share for point in panel.marks[0]), "fraction")
            yield mix_finding("metered.level", mix, "caution", "beyond", **named)
            continue
        wanted, most = mix.target / strength, plan.input.limits["metered_drift"]
        kept = panel.kept(wanted)
        named |= {
            "first": Value(wanted, "fraction"), "last": Value(wanted * kept, "fraction"),
            "lands": strength_of(mix, mix.target * kept), "target": strength_of(mix, mix.target),
            "limit": Value(most, "fraction"),
        }  # fmt: skip
        tank, full = mix.run.feed_tank, panel.refill(wanted, most)
        if tank is not None and full is not None:
            named["refill"] = Value(full * tank.volume, "volume")
        drifts = over(abs(kept - 1.0), most)
        stuck = drifts and None in panel.dials(wanted)
        case = "stuck" if stuck else "drifts" if drifts else "ok"
        yield mix_finding("metered.level", mix, "caution" if drifts else "ok", case, **named)
        yield from _by_drum(mix, named, most)


def _by_drum(mix: MixPlan, named: Mapping[str, Value | str], most: float) -> Iterator[Finding]:
    """What the drum does to a panel's share, the worst of those the mix is drawn from, with the water tank full."""
    drums = []
    lots = [one.lot for one in mix.pours if one.stock > 0.0] or ([mix.lot] if mix.lot is not None else [])
    for lot in lots:
        panel = mix.panels.get(lot.name)
        if lot.nominal and panel is not None and panel.untold is None:
            wanted = mix.target / lot.nominal
            low, high = panel.by_drum(wanted)
            drums.append((max(1.0 - low, high - 1.0), lot.name, wanted, low, high, panel.drum))
    if not drums:
        return
    off, name, wanted, low, high, unknown = max(drums, key=lambda drum: drum[0])
    sinks = over(off, most)
    values = {
        **named, "lot": name, "key": _DRUM.get(unknown or "", ""), "first": Value(wanted, "fraction"),
        "low": Value(wanted * low, "fraction"), "high": Value(wanted * high, "fraction"),
        "weakest": strength_of(mix, mix.target * low), "strongest": strength_of(mix, mix.target * high),
    }  # fmt: skip
    case = ("drum_unknown" if sinks else "drum_any") if unknown is not None else "sinks" if sinks else "drum"
    one = mix_finding("metered.level", mix, "caution" if sinks else "ok", case, **values)
    yield replace(one, about=f"{mix.name}, drum")


@check("mix.strength")
def mix_strength(plan: JobPlan) -> Iterator[Finding]:
    """The strength on each wall against the table's range, and against what people outside the trade advise.

    The table's upper end is held with stock at its strongest; outside advice with what was asked for. Acid that
    spoils the brick harms nobody, so what they say never to do is a caution, no stop.
    """
    reason_above = plan.input.limits["strength_needs_reason"]
    for mix in plan.mixes:
        for part in mix.parts:
            low, high = part.surface.row["strength"] or (None, None)
            level: Level
            known = mix.target > 0.0 and mix.chemical == part.surface.row["chemical"]
            advice = outside_advice(plan, part.surface, mix.chemical)
            advised = advised_most(advice, mix.lot) if advice is not None else 0.0
            beyond = advice is not None and mix.target > 0.0 and advised > 0.0 and over(mix.target, advised)
            says: dict[str, Value | str] = {
                "says": advice.says if advice is not None else "",
                "advice": advice.advice if advice is not None else "",
                "advised": strength_of(mix, advised),
            }
            if not known or low is None or high is None:
                # Acid on a wall the table washes with bleach: only what others say of it is known.
                asked = strength_of(mix, mix.target)
                never = beyond and advice is not None and advice.above == "never"
                # What no table has is not known to be harmless.
                level, case = ("none" if mix.chemical == SOAP else "caution"), "never_stronger" if never else "no_row"
                yield mix_finding("mix.strength", mix, level, case, surface=part.surface.name, target=asked, **says)
                continue
            least, most = table_range(part.surface, mix.lot)
            lands = min(mix.wall, mix.target) if mix.wall is not None else mix.target
            strongest = mix.wall_high if mix.wall_high is not None else mix.target
            values: dict[str, Value | str] = {
                "surface": part.surface.name,
                "target": strength_of(mix, lands),
                "strongest": strength_of(mix, strongest),
                "least": strength_of(mix, least),
                "most": strength_of(mix, most),
                "limit": strength_of(mix, reason_above),
                **says,
            }
            level = "caution"
            hypochlorite = mix.chemical == BLEACH
            if hypochlorite and over(mix.target, reason_above) and (mix.use is None or not mix.use.reason):
                case = "no_reason"
            elif beyond and advice is not None and advice.above == "never":
                case = "never_stronger"
            elif over(mix.target, most) or over(strongest, most * over_as_tested(mix)):
                case = "above" if over(mix.target, most) else "above_if_strong"
                by_level = _by_level(mix)
                if case == "above_if_strong" and not over(strongest / by_level, most * over_as_tested(mix)):
                    case = "above_by_level"
            elif under(lands, least):
                case = "below"
            elif beyond:
                # Inside the trade's own range: their recipe is told, not held against it.
                level, case = "ok", "above_advice"
            else:
                level, case = "ok", "ok_advice" if advice is not None and advice.advice else "ok"
            yield mix_finding("mix.strength", mix, level, case, **values)
        bare = [part.surface.name for part in mix.parts if part.surface.row.get("soap")]
        if bare and mix.chemical == BLEACH and mix.soap_share <= 0.0:
            one = mix_finding("mix.strength", mix, "ok", "no_soap", surface=", ".join(bare))
            yield replace(one, about=f"{mix.name}, soap")
    yield from bench.strength(plan)


def _by_level(mix: MixPlan) -> float:
    """How much more than its share a panel draws [-] for its tank's level alone, the dial moved as paper says."""
    strength = mix.lot.nominal if mix.lot is not None else None
    if mix.panel is None or mix.panel.untold is not None or not strength or mix.target <= 0.0:
        return 1.0
    return mix.panel.moved(mix.target / strength)[1]


def tank_of(mix: MixPlan) -> str:
    """The name of the tank it is mixed in."""
    return mix.run.feed_tank.name if mix.run.feed_tank is not None else ""


def _left_before(plan: JobPlan, mix: MixPlan) -> TankHeel | None:
    """What an earlier day left of the same mix in a tank of which today's page says nothing; it is planned as dry."""
    tank = mix.run.feed_tank
    if tank is None or mix.heel_held > 0.0 or tank.name in plan.found.tanks:
        return None
    left = plan.found.overnight.get(tank.name)
    return left if left is not None and left.volume > 0.0 else None


def _gainsaid(plan: JobPlan) -> Iterator[Finding]:
    """Tanks the day's page says hold something else than an earlier day left there, which this mix may not meet."""
    for mix in plan.mixes:
        for tank in (mix.run.feed_tank, water_of(plan.input, mix.run)):
            held = plan.found.gainsaid.get(tank.name) if tank is not None else None
            if tank is not None and held is not None and meets(held.chemical, mix.chemical).stops:
                other = held.chemical.replace("_", " ")
                yield mix_finding("mix.heel", mix, "caution", "gainsaid", tank=tank.name, other=other)


@check("mix.heel")
def mix_heel(plan: JobPlan) -> Iterator[Finding]:
    """Whether what the tank still holds leaves room for the batch, and fits it."""
    for mix in plan.mixes:
        if mix.kind != "premix":
            yield mix_finding("mix.heel", mix, "none", "none")
            continue
        values: dict[str, Value | str] = {
            "heel": Value(mix.heel_held, "volume"),
            "strength": strength_of(mix, mix.heel_strength),
            "target": strength_of(mix, mix.target),
            "tank": tank_of(mix),
            "other": mix.heel_chemical or "",
        }
        if mix.overflow:
            yield mix_finding("mix.heel", mix, "stop", "overflow", **values)
        elif mix.heel_chemical is not None and mix.heel_chemical not in (mix.chemical, "water"):
            yield mix_finding("mix.heel", mix, "stop", "other", **values)
        elif (left := _left_before(plan, mix)) is not None:
            values["heel"] = Value(left.volume, "volume")
            values["strength"] = strength_of(mix, left.strength)
            yield mix_finding("mix.heel", mix, "caution", "overnight", **values)
        else:
            standing = "water" if mix.heel_chemical == "water" else "heel"
            yield mix_finding("mix.heel", mix, "ok", standing if mix.heel_held > 0.0 else "dry", **values)
    yield from _gainsaid(plan)
    yield from bench.heel(plan)
