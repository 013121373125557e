"""The setting a job's plan is rehearsed on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import inf
from typing import Final

from planner.chemistry.constants import MARGIN
from planner.chemistry.dosing import DialPoint
from planner.chemistry.neutralising import STRONGEST_DECHLORINATED
from planner.chemistry.reactions import Matrix
from planner.inputs.tables.chemicals import ACIDS, CHEMICALS, SOAP, Chemical, chemical_named
from planner.plan.mix.model import LotToday, MixPlan
from planner.plan.model import JobPlan, RunPlan
from planner.rehearsal.setting import (
    KEYS,
    PACE,
    SWITCH,
    Beds,
    Dosing,
    Hose,
    Lot,
    Mix,
    Pump,
    Run,
    Setting,
    Stands,
    Tank,
    Work,
)

_RESIDUAL: Final = {SOAP: "residual_soap"}


def setting_of(
    plan: JobPlan,
    matrix: Matrix,
    tap: float | None,
    keys: Mapping[str, frozenset[str]] = KEYS,
) -> Setting:
    """What `plan` is rehearsed on. `matrix` says what may meet what, `keys` which words an act may tick.

    `tap` [m3/s] is what fills and beds share, None without one.
    """
    job = plan.input
    names = hose_names(plan)
    crew = job.day.crew if job.day is not None else None
    flushes: dict[str, float] = {}
    for flush in (*plan.flushes, *(plan.yard.flushes if plan.yard is not None else ())):
        flushes[flush.run] = flushes.get(flush.run, 0.0) + (flush.volume or 0.0)
    spans = [span for span in plan.time if not span.road]
    starts = [span.start for span in spans if span.start is not None]
    begins = min(starts) if starts else 0.0
    yard = job.kind == "yard"
    bath = plan.yard.bath if plan.yard is not None else None
    return Setting(
        kind="yard" if yard else "wash",
        tanks={
            tank.name: Tank(volume=tank.volume, dead=tank.dead_volume, holds=_chemical(plan, tank.holds))
            for tank in job.rig.tanks
        },
        hoses={
            names[run.name, number]: Hose(volume=_volume(hose.bore, hose.length), length=hose.length)
            for run in plan.lines
            for number, hose in enumerate((*run.input.hoses, *run.input.put_on))
        },
        pumps={
            pump.name: Pump(
                dedicated=_chemical(plan, pump.dedicated),
                switched=pump.cut_off is not None,
                bypass=bool(pump.bypass),
                draws=pump.draws,
                told=min(
                    job.limits["shut_off_on_paper"],
                    job.limits["bypass_time"] if pump.of_kind.relief == "unloader" else inf,
                ),
            )
            for pump in job.rig.pumps
        },
        runs={run.name: _run(plan, run, names) for run in plan.lines},
        lots=_lots(plan),
        matrix=matrix,
        agents=agents_of(CHEMICALS.values()),
        thin=min(job.limits["neutralise_strength"], STRONGEST_DECHLORINATED),
        warm=job.limits["neutralise_rise"] * (1.0 + MARGIN),
        crew=crew.count if crew is not None else 2,
        work=tuple(
            Work(
                surface=one.surface.name,
                run=one.run,
                wet=one.wet_volume,
                rinse=one.rinse_volume,
                clean=one.clean_volume,
                dwell_least=one.dwell_least,
                dwell_most=one.dwell_bound,
                # Where the acts cannot keep up, that is a finding; they may not take longer than it says.
                again=max(one.mists.every, one.bare or 0.0) if one.mists is not None else inf,
            )
            for one in plan.work
        ),
        mixes=tuple(_mix(mix) for mix in plan.mixes),
        rests=frozenset(surface.name for surface in job.surfaces if surface.rinse != "now"),
        beds=None
        if plan.beds is None
        else Beds(
            before=plan.beds.before,
            during=plan.beds.during,
            after=plan.beds.after,
            every=plan.beds.every,
            each=plan.beds.each,
            alone=float(job.tables["defaults"]["beds_alone"]),
        ),
        water_need=plan.water.need,
        tap=tap,
        flushes=flushes,
        given={agent: sum(one.mass for one in plan.neutralisers if one.given and one.agent == agent)
               for agent in {one.agent for one in plan.neutralisers}},
        begins=begins if spans else None,
        ends=begins + sum(span.seconds for span in spans) if spans else None,
        found={name: Stands(volume=held.volume, chemical=held.chemical, strength=held.strength or None)
               for name, held in plan.found.tanks.items() if name not in plan.found.water},
        heels_after={name: Stands(volume=held.volume, chemical=held.chemical, strength=held.strength or None)
                     for name, held in plan.left.tanks.items() if held.chemical != "water"},
        parts={part: chemical for part, chemical in plan.found.parts.items()
               if part in plan.found.unflushed and part in {pump.name for pump in job.rig.pumps}},
        endless=frozenset(flush.run for flush in plan.flushes if flush.volume is None),
        told=_said_to_hold_water(plan),
        strange=frozenset(names[run.name, number] for run in plan.lines
                          for number, hose in enumerate((*run.input.hoses, *run.input.put_on))
                          if _strange(plan, run, hose.name)),
        doubted=frozenset({plan.yard.pump.name} if plan.yard is not None and plan.yard.held else ()),
        lawn=job.limits["lawn_strength"],
        shut_unknown=job.limits["shut_off_unknown"],
        wetted=float(job.tables["defaults"]["wetted_most"]),
        residual={name: job.limits[_RESIDUAL.get(name, "residual_acid" if name in ACIDS else "residual")]
                  for name in {SOAP, *(one.name for one in CHEMICALS.values() if one.neutralised)}},
        soak=bath.soak if bath is not None else None,
        rinse=bath.rinse * bath.rinses if bath is not None else 0.0,
        keys=keys,
        pace=float(job.tables.get("minutes", {}).get("walk_pace", PACE)),
        switch=float(job.tables.get("minutes", {}).get("power", SWITCH)),
        units=job.company.units,
    )  # fmt: skip


def keys_of(rows: Iterable[tuple[str, Iterable[str]]]) -> Mapping[str, frozenset[str]]:
    """Keys by the verb that takes them, of each key with its verbs."""
    found: dict[str, set[str]] = {}
    for key, verbs in rows:
        for verb in verbs:
            found.setdefault(verb, set()).add(key)
    return {verb: frozenset(keys) for verb, keys in found.items()}


def hose_names(plan: JobPlan) -> Mapping[tuple[str, int], str]:
    """What each hose is called, by its run and its place there: its name, behind the run's where two would be one.

    Behind the run's own come those that are only put on for a role.

    A hose without a name of its own is another one on every run.
    """
    own: dict[str, set[str]] = {}
    for run in plan.lines:
        for hose in (*run.input.hoses, *run.input.put_on):
            own.setdefault(hose.name, set()).add(hose.name if hose.named else run.name)
    return {
        (run.name, number): hose.name if hose.named or len(own[hose.name]) == 1 else f"{run.name}: {hose.name}"
        for run in plan.lines
        for number, hose in enumerate((*run.input.hoses, *run.input.put_on))
    }


def agents_of(chemicals: Iterable[Chemical]) -> Mapping[str, Mapping[str, float]]:
    """How much of each agent makes a kg of each chemical harmless, of their records: its dose, else chemistry's."""
    return {
        one.name: {row["name"]: float(row.get("dose") or row["stoichiometric"]) for row in one.neutralised}
        for one in chemicals
        if one.neutralised
    }


def _volume(bore: float, length: float) -> float:
    return 3.141592653589793 * bore * bore / 4.0 * length


def _chemical(plan: JobPlan, name: str | None) -> str | None:
    """The table's name of what something is kept for; the rig may say bleach for hypochlorite."""
    known = chemical_named(name) if name is not None else None
    return known.name if known is not None else name


def _run(plan: JobPlan, run: RunPlan, names: Mapping[tuple[str, int], str]) -> Run:
    device = run.input.dosing
    every = (*run.input.hoses, *run.input.put_on)
    called = {hose.name: names[run.name, number] for number, hose in enumerate(every)}
    # What each mark draws with the tank full, of each drum, where its levels are known; else as it was tested.
    panels = [panel for mix in plan.mixes if mix.run.name == run.name for panel in mix.panels.values()]
    marks = tuple(dict.fromkeys(panel.marks[0] for panel in panels if panel.marks))
    if not marks and device is not None and device.dial:
        marks = (tuple(DialPoint(setting=one.setting, share=one.share) for one in device.dial),)
    dosing: Dosing = "premix" if run.input.premix else "water"
    if device is not None:
        dosing = "injector" if device.kind == "injector" else "metered"
    return Run(
        name=run.name,
        hoses=tuple(names[run.name, number] for number in range(len(run.input.hoses))),
        pump=run.input.pump.name if run.input.pump is not None else None,
        dosing=dosing,
        device=device.name if device is not None else None,
        flow=run.flow,
        pump_flow=run.pump_flow,
        tips={role: one.input.tip.name for role, one in {"tip": run, **run.roles}.items()},
        other_tips={role: one.flow for role, one in run.roles.items()},
        other_hoses={role: tuple(called[hose.name] for hose in line) for role, line in run.input.role_hoses.items()},
        ratio=device.water_to_stock if device is not None and dosing == "injector" else None,
        dials=marks if dosing == "metered" else (),
        shut_off=run.shut_off.seconds if run.shut_off is not None else None,
        same_time=run.input.same_time,
        stirred=_stirred(run, dosing),
    )


def _said_to_hold_water(plan: JobPlan) -> frozenset[str]:
    """Tanks somebody says hold water: the day's page, an earlier job, or who wrote that a run draws it from there."""
    fed = [run.input.feed_tank for run in plan.lines if not run.input.premix]
    return frozenset({*plan.found.water, *(tank.name for tank in fed if tank is not None and tank.holds is None)})


def _strange(plan: JobPlan, run: RunPlan, hose: str) -> bool:
    """Whether a hose is not known to be drained: unflushed, or of a day nobody can vouch for."""
    found, tank = plan.found, run.input.feed_tank
    if hose in found.unflushed:
        return True
    before = [one for one in found.pending if one.day is not None]
    used = any(one.why == "unread" or hose in {part for _, part in one.gear} for one in before)
    gainsaid = run.input.premix and tank is not None and tank.name in found.gainsaid
    return found.ends is None and plan.kind != "yard" and (used or gainsaid)


def _stirred(run: RunPlan, dosing: Dosing) -> Mapping[str, float]:
    """What has to be washed out of a line besides its hoses: mix does not go through an injector's pump."""
    pump, device = run.input.pump, run.input.dosing
    found = {pump.name: pump.wetted_volume} if pump is not None and dosing in ("premix", "metered") else {}
    return found | ({device.name: device.wetted_volume} if device is not None else {})


def _lots(plan: JobPlan) -> Mapping[str, Lot]:
    """Every lot of the shelf, as strong as it is today; what is soap or weighed has none, soap counts by volume."""
    known: dict[str, LotToday] = {lot.name: lot for lot in plan.shelf}
    for mix in plan.mixes:
        known |= {share.lot.name: share.lot for share in (*mix.pours, *mix.soaps)}
    found = {}
    for lot in plan.input.lots:
        today = known.get(lot.name)
        held = lot.on_hand
        weighed = held is not None and held.mass is not None
        strength = today.nominal if today is not None else None
        if strength is None and not weighed and lot.chemical == SOAP:
            strength = 1000.0
        on_hand = None if held is None else held.mass if weighed else held.volume
        found[lot.name] = Lot(chemical=lot.chemical, strength=None if weighed else strength, on_hand=on_hand)
    return found


def _mix(mix: MixPlan) -> Mix:
    """A mix as it can be made: where its strength can't be reached, what is said of it comes to."""
    strength: float | None = mix.target if mix.target > 0.0 else None
    if strength is not None and mix.wall is not None and mix.wall < strength:
        strength = mix.wall
    return Mix(
        chemical=mix.chemical,
        run=mix.run.name,
        strength=strength,
        parts={part.surface.name: part.mix for part in mix.parts},
        stock=mix.stock if mix.stock_mass is None else mix.stock_mass,
        soap=mix.soap,
    )
