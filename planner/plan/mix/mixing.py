"""What to mix for each run: how much of each surface's mix, from which lot, by tank, panel or injector.

A mix is planned for each run, chemical and strength. A tankful is mixed with its spare; a panel or injector mixes as
long as the gun is open, so its spare is only loaded (`pull`). `need` is the walls' own (a tank's with spare), and what
a panel or injector draws is no more: its test is drawn onto the wall, and a front's spread in the hose is left out.
Load and buying use the lot's low strength, a surface's upper end and bans its high one, the pour its nominal one. A
plain-water run does not share a surface's mix with the run that sprays it, unless a `share` is written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from planner.chemistry import acids, heat
from planner.chemistry.solutions import solubility
from planner.inputs.joined import JobInput, RunInput, Surface
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS, DRY, SOAP, by_equation
from planner.inputs.tables.defaults import default
from planner.physics.hoses import area as cross_section
from planner.plan.between.heels import after_mix, may_stay, ready_for, standing_in, water_of
from planner.plan.line.apparatus import available_chlorine
from planner.plan.mix.dosed import can_pour, injected, metered
from planner.plan.mix.lots import Offer, Shelf, active, first_lot, lots_of, offers, soaps_for, use_on
from planner.plan.mix.model import (
    AcidMix,
    Carried,
    LotToday,
    MixPlan,
    NextMix,
    PanelPlan,
    SurfaceMix,
    TankHeel,
)
from planner.plan.mix.names import told_apart
from planner.plan.mix.panel import plan_panel
from planner.plan.mix.pouring import premixed
from planner.plan.mix.weighing import soaped, weighed
from planner.plan.model import RunPlan
from planner.plan.sky.model import Mists


def carries_mix(run: RunInput) -> bool:
    """Whether the run sprays anything but plain water."""
    return run.premix or run.dosing is not None


def plan_mixes(
    job: JobInput, runs: Sequence[RunPlan], before: Carried, mists: Mapping[str, Mists] = MappingProxyType({})
) -> tuple[tuple[MixPlan, ...], Carried]:
    """Every mix of the job, in the order of the runs, and the rig as the last one leaves it; `mists` by surface.

    One mix for each run, chemical and strength; each finds in its tank what the one before left there.
    """
    mixes: list[MixPlan] = []
    rig = before
    shelf = Shelf(pulled=before.taken, poured=before.taken)
    for run in runs:
        for surfaces, target in _groups(job, run, before.taken):
            if run.input.premix:
                rig = ready_for(job, run.input.feed_tank, surfaces[0].chemical or SOAP, rig)
            mix = _mix(job, run, surfaces, target, rig, shelf, before.taken, runs, mists)
            rig, shelf = after_mix(rig, mix), shelf.after(mix)
            mixes.append(mix)
    last = {tank.name: number for number, mix in enumerate(mixes) if (tank := mix.run.feed_tank) is not None}
    for name, number in last.items():
        after = before.next_in.get(name)
        if after is not None and may_stay(mixes[number], after):
            mixes[number] = replace(mixes[number], stays_for=after.job)
    called = [(mix.chemical, mix.run.name, mix.surfaces) for mix in mixes]
    told = [replace(mix, name=told_apart(called, number)) for number, mix in enumerate(mixes, start=1)]
    return tuple(told), replace(rig, taken=MappingProxyType(dict(shelf.pulled)))


def next_mixes(job: JobInput) -> Mapping[str, NextMix]:
    """What the day's next job mixes in each tank; nothing of one it draws water from or mixes two chemicals in."""
    found: dict[str, list[tuple[str, bool]]] = {}
    for run in job.runs:
        if not run.premix or run.feed_tank is None:
            continue
        for surface in job.surfaces:
            soap = soap_share(job, [surface]) > 0.0
            chemical = surface.chemical if surface.strength is not None else None
            if surface.name in run.surfaces and (chemical is not None or soap):
                found.setdefault(run.feed_tank.name, []).append((chemical or SOAP, soap))
    plain = {tank.name for run in job.runs if (tank := water_of(job, run)) is not None}
    return MappingProxyType(
        {
            tank: NextMix(job=job.title, chemical=mixed[0][0], soap=all(soap for _, soap in mixed))
            for tank, mixed in found.items()
            if tank not in plain and len({chemical for chemical, _ in mixed}) == 1
        }
    )


def _groups(job: JobInput, run: RunPlan, taken: Mapping[str, float]) -> Iterator[tuple[list[Surface], float]]:
    """The run's surfaces that take one mix, with the strength wanted on them; 0 where it is not known."""
    if not carries_mix(run.input):
        return
    groups: dict[tuple[str, str, float], list[Surface]] = {}
    for surface in job.surfaces:
        if surface.name not in run.input.surfaces:
            continue
        if surface.chemical is not None and surface.strength is not None:
            target = target_of(surface, next(iter(lots_of(job, use_on(job, surface), taken)), None))
            groups.setdefault((surface.chemical, surface.stock or "", target), []).append(surface)
        elif soap_share(job, [surface]) > 0.0:
            groups.setdefault((SOAP, SOAP, 0.0), []).append(surface)
    for (_, _, target), surfaces in groups.items():
        yield surfaces, target


def target_of(surface: Surface, lot: LotToday | None) -> float:
    """Active wanted on the surface [kg/m3]; 0 where it is not known: a share by volume needs the lot's strength."""
    strength = surface.strength
    assert strength is not None
    if strength.basis == "vol":
        return strength.amount / 100.0 * lot.nominal if lot is not None and lot.nominal is not None else 0.0
    if surface.chemical == BLEACH:
        return available_chlorine(strength)
    # A strength that says nothing of its chemical is a fault of the job's file; 0 stops the mix all the same.
    return active(strength, surface.chemical or "") or 0.0


def share_of(job: JobInput, run: RunInput, surface: Surface) -> float:
    """The run's part [-] of a surface, among the runs that do the same thing there: spray mix, or plain water.

    A written `share` holds. Else runs naming one surface share it evenly; a plain rinse takes no mix from the run
    that sprays it, for the wall would get half of what it needs.
    """
    same = _sharing(job, run, surface)
    if _share_written(job, same):
        return dict(run.shares).get(surface.name, 1.0)
    return 1.0 / max(len(same), 1)


def _sharing(job: JobInput, run: RunInput, surface: Surface) -> list[RunInput]:
    return [other for other in job.runs if surface.name in other.surfaces and carries_mix(other) == carries_mix(run)]


def _share_written(job: JobInput, runs: Sequence[RunInput]) -> bool:
    written = {run.name for run in job.job.hose_runs or () if run.share is not None}
    return any(run.name in written for run in runs)


_PARTS = {2: "half", 3: "a third", 4: "a quarter"}


def shared_notes(job: JobInput) -> tuple[str, ...]:
    """Surfaces that runs share evenly because nobody wrote a share or which run does which: `front: half by house`."""
    notes: dict[tuple[str, ...], list[str]] = {}
    for surface in job.surfaces:
        for run in job.runs:
            same = _sharing(job, run, surface)
            if len(same) > 1 and run.name == same[0].name and not _share_written(job, same):
                notes.setdefault(tuple(one.name for one in same), []).append(surface.name)
    told = []
    for runs, names in notes.items():
        part = _PARTS.get(len(runs), "an equal part")
        told.append(f"{', '.join(names)}: {' and '.join(f'{part} by {run}' for run in runs)}")
    return tuple(told)


def soap_share(job: JobInput, surfaces: Sequence[Surface]) -> float:
    """Soap in the mix [m3 per m3]: the strongest dose written for any of its surfaces."""
    names = {surface.name for surface in surfaces}
    soaps = [use for use in job.chemicals if use.chemical == SOAP and use.dose is not None]
    return max((use.dose or 0.0 for use in soaps if names & set(use.surfaces)), default=0.0)


def coverage_of(job: JobInput, surface: Surface, flow: float) -> float:
    """Area covered by a volume of mix [m2/m3]: the surface's own, else by the gun's flow [m3/s].

    Light soil takes the high end, heavy the low one, medium the mix half way between the two, which is the
    harmonic mean of the coverages (common practice, no source). What records say of the kind is laid over it.
    """
    cover = surface.row["cover"]
    if cover is None:
        rows = job.tables["gun_flow"]
        between = next((row for row in rows if flow <= row.most), rows[-1])
        cover = between.cover
    light, heavy = cover
    medium = 2.0 / (1.0 / light + 1.0 / heavy)
    return float({"light": light, "medium": medium, "heavy": heavy}[surface.soil]) * surface.cover_factor


def _mix(
    job: JobInput,
    run: RunPlan,
    surfaces: list[Surface],
    target: float,
    rig: Carried,
    shelf: Shelf,
    found: Mapping[str, float],
    runs: Sequence[RunPlan],
    mists: Mapping[str, Mists],
) -> MixPlan:
    parts = []
    for surface in surfaces:
        area = surface.area * share_of(job, run.input, surface)
        # Runs that share a wall put as much on each section, as the gun does that needs the most.
        same = [one for one in runs if one.input in _sharing(job, run.input, surface)]
        coverage = min(coverage_of(job, surface, one.flow) for one in [run, *same])
        count = mists[surface.name].count if surface.name in mists else 0
        mist = area * default("mist_film") if count else 0.0
        whole = area / coverage + count * mist
        parts.append(
            SurfaceMix(surface=surface, area=area, coverage=coverage, mix=whole, mists=count, mist=mist)
        )  # fmt: skip
    spare = job.tables["defaults"]["spare_mix"]
    fill = sum(cross_section(hose.bore) * hose.length for hose in run.input.hoses)
    # A tankful is mixed with its spare; a panel or injector mixes as long as the gun is open, and only loads it.
    need = sum(part.mix for part in parts)
    need = need * (1.0 + spare) if run.input.premix else need
    chemical = surfaces[0].chemical or SOAP
    tank = run.input.feed_tank
    held = standing_in(rig, tank.name, chemical) if run.input.premix and tank is not None else None
    kind = "premix" if run.input.premix else run.input.dosing.kind if run.input.dosing is not None else "none"
    use = use_on(job, surfaces[0])
    lots = lots_of(job, use, found)
    base = MixPlan(
        name=f"{chemical}, {run.name}",
        chemical=chemical,
        use=use,
        lot=lots[0] if lots else None,
        run=run.input,
        parts=tuple(parts),
        kind=kind,
        target=target,
        soap_share=soap_share(job, surfaces),
        spare=spare,
        need=need,
        fill=fill,
        stick_least=job.limits["stick_least"],
        where=surfaces[0].where,
        **_UNKNOWN,
    )
    base = replace(
        base,
        ratio_band=_ratio_band(job, run.input),
        ratio_tested=_ratio_tested(job, run.input),
        heel_chemical=held.chemical if held is not None else None,
        heel_held=held.volume if held is not None else 0.0,
        heel_strength=held.strength if held is not None else 0.0,
        heel_of=held.of if held is not None else "",
    )
    if kind == "metered":
        base = replace(base, panels=MappingProxyType(_panels(job, run, base, lots, shelf, found)))
    made = _made(base, run, lots, held, job.water.temperature, lambda able, of: offers(able, shelf, found, of))
    return replace(made, soaps=soaps_for(job, made, shelf, found), acid=acid_of(made))


def _panels(
    job: JobInput, run: RunPlan, base: MixPlan, lots: Sequence[LotToday], shelf: Shelf, found: Mapping[str, float]
) -> dict[str, PanelPlan]:
    """A run's panel as it draws from each lot, with what the job's mixes before this one have left in it."""
    panels: dict[str, PanelPlan] = {}
    able: Sequence[LotToday | None] = lots or [None]
    for lot in able:
        name = lot.name if lot is not None else ""
        held = lot.on_hand if lot is not None else None
        left = max(held - (shelf.poured.get(name, 0.0) - found.get(name, 0.0)), 0.0) if held is not None else None
        share = base.target / lot.nominal if lot is not None and lot.nominal else 0.0
        panel = plan_panel(job, run, base.chemical, lot, left, (base.need, min(share, 1.0)))
        if panel is not None:
            panels[name] = panel
    return panels


def _ratio_band(job: JobInput, run: RunInput) -> tuple[float, float]:
    """What an injector's ratio may be, as shares of what was written."""
    if _ratio_tested(job, run):
        off = float(job.tables["defaults"]["injector_tested_off"])
        return 1.0 - off, 1.0 + off
    least, most = job.tables["defaults"]["injector_untested"]
    return float(least), float(most)


def _ratio_tested(job: JobInput, run: RunInput) -> bool:
    """Whether a dated test tells of an injector's ratio; one of a later day tells nothing."""
    device = run.dosing
    if device is None or device.kind != "injector":
        return True
    return device.tested is not None and (job.date is None or device.tested <= job.date)


def _made(
    base: MixPlan,
    run: RunPlan,
    lots: Sequence[LotToday],
    held: TankHeel | None,
    temperature: float,
    offered: Callable[[Sequence[LotToday], Callable[[LotToday], float]], list[Offer]],
) -> MixPlan:
    """The mix from the lots that can make it; where none can, from the oldest strong one: the checks say why not."""
    if base.chemical == SOAP:
        return soaped(base, run, held)
    if base.chemical in DRY:
        base = replace(base, able=tuple(lots), dissolves=most_dissolved(base.chemical, temperature))
        return first_lot(weighed(base, held, offered(lots, lambda _: base.target * base.need)))
    strong = [lot for lot in lots if lot.nominal is not None and lot.nominal > base.target]
    able = [lot for lot in strong if can_pour(base, run, lot, held)] if base.target > 0.0 and run.flow > 0.0 else []
    lot = next(iter(able or strong or lots), None)
    base = replace(base, lot=lot, able=tuple(able))
    if lot is None or not lot.nominal or base.target <= 0.0 or run.flow <= 0.0:
        return base

    def takes(one: LotToday) -> float:
        """All a mix takes of a lot."""
        return base.need * base.target / (one.nominal or 1.0)

    # One that comes close is poured all the same where its drift allows it: the strongest there is enough of, alone.
    near = sorted(strong or [lot], key=lambda one: -(one.nominal or 0.0))
    alone = [offer for lot_today in near for offer in offered([lot_today], takes)]
    enough = [offer for offer in alone if offer.to_pour >= takes(offer.lot) * default("jug_over")]
    chosen = offered(able, takes) if able else (enough or alone)[:1]
    if base.kind == "premix":
        return first_lot(premixed(base, chosen, held))
    if base.kind == "injector":
        return first_lot(injected(base, run, chosen))
    return first_lot(metered(base, chosen))


_UNKNOWN: dict[str, Any] = {
    "mix": None, "stock": None, "stock_mass": None, "water": None, "soap": None, "heel": 0.0, "heel_strength": 0.0,
    "heel_chemical": None, "heel_held": 0.0, "batches": (), "reachable": False, "reachable_low": False, "highest": None,
    "wall": None, "wall_low": None, "wall_high": None, "share": None, "dial": None, "dial_low": None, "dial_high": None,
    "jug_stock": None, "jug_soap": None, "overflow": False, "rows": (),
}  # fmt: skip


# ------------------------------------------------------------ acid mix
# What diluted muriatic acid comes to: its weight percent, density and normality, and how warm pouring it gets.


def acid_of(mix: MixPlan) -> AcidMix | None:
    """The mix's figures at 20 C, by mass from what is poured; None for anything but muriatic that can be mixed.

    The warming is of the strongest pour, with no heat lost: a whole batch from one lot, or an injector's jug.
    """
    acid = by_equation(mix.chemical) == "hydrochloric"
    if not acid or not mix.reachable or not mix.pours or not mix.stock or not mix.mix:
        return None
    strengths = [share.lot.nominal for share in mix.pours if share.stock > 0.0 and share.lot.nominal]
    if not strengths:
        return None
    try:
        stock = acids.mass_fraction_of_strength(max(strengths))
        poured = [batch.stock / batch.mix for batch in mix.batches] or [mix.share or 0.0]
        # In a jug or a tank alike it is the thickest mixture that gets warmest.
        rise = heat.temperature_rise(stock, mix.jug_stock if mix.jug_stock is not None else max(poured))
        if mix.heel > 0.0 or mix.soap_share > 0.0:
            fraction = acids.mass_fraction_of_strength(mix.target)
            density, strength = acids.density(fraction), mix.target
        else:
            diluted = acids.diluted(stock, poured[0])
            fraction, density, strength = diluted.mass_fraction, diluted.density, diluted.strength
    except ValueError:
        # Stronger than any acid that stays in solution: the lot's own strength is what is wrong.
        return None
    return AcidMix(
        mass_fraction=fraction,
        density=density,
        normality=acids.normality(strength),
        rise=rise.nominal,
        rise_high=rise.high,
    )


# ------------------------------------------------------------ dissolving
# The most of a dry chemical tonight's water takes up, by the table of chemicals.


def most_dissolved(chemical: str, temperature: float) -> float | None:
    """What dissolves in water of `temperature` [K], kg per m3; None where the table has no row."""
    row = CHEMICALS.get(chemical)
    return solubility(row.dissolves, temperature) if row is not None and row.dissolves else None
