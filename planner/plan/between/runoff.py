"""The runoff of each wall and of the job: how much chlorine or acid, in how much water, and where it comes out.

A surface cleaner's water, before the mix, thins nothing. Roofs share their downspouts evenly.
"""

from __future__ import annotations

from collections.abc import Sequence

from planner.chemistry import runoff
from planner.inputs.joined import JobInput
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS, SOAP
from planner.plan.between.model import ActiveLedger, Outlets, RunoffPlan, SurfaceRunoff
from planner.plan.mix.model import MixPlan, SurfaceWork


def plan_runoff(job: JobInput, mixes: Sequence[MixPlan], work: Sequence[SurfaceWork]) -> RunoffPlan | None:
    """What leaves the walls of the job; None where no mix is made. A mix that cannot be made leaves nothing."""
    made = [mix for mix in mixes if mix.mix is not None]
    if job.kind != "wash" or not made:
        return None
    water = water_by_surface(work)
    surfaces = tuple(_surfaces(job, made, water))
    return RunoffPlan(
        surfaces=surfaces,
        totals=tuple(_totals(job, surfaces, water)),
        outlets=_outlets(job, surfaces, water),
        ledger=tuple(ledger_of(mix) for mix in made),
    )


def water_by_surface(work: Sequence[SurfaceWork]) -> dict[str, float]:
    """Water [m3] that wets and rinses each surface; what a surface cleaner uses before the mix is left out."""
    water: dict[str, float] = {}
    for wall in work:
        water[wall.surface.name] = water.get(wall.surface.name, 0.0) + wall.wet_volume + wall.rinse_volume
    return water


def landing(mix: MixPlan) -> float:
    """Strength [kg/m3] of the mix as it lands: what its dosing gives, else what was wanted."""
    return mix.wall if mix.wall is not None else mix.target


def remains_of(mix: MixPlan) -> runoff.Remains:
    """What is left of the mix [m3]: a tank makes its spare as well. A line is chased with water, and leaves none."""
    walls = sum(part.mix for part in mix.parts)
    tank = mix.run.feed_tank
    poured = mix.kind == "premix" and tank is not None
    return runoff.remains(
        made=mix.mix or 0.0,
        walls=walls,
        heel=tank.dead_volume if poured and tank is not None else 0.0,
    )


def ledger_of(mix: MixPlan) -> ActiveLedger:
    """Where the active of one mix comes from and goes; the stock is what the heel does not give.

    An injector's jug holds a little over what is drawn of it: that is its spare.
    """
    left, strength = remains_of(mix), landing(mix)
    fits = mix.heel_chemical == mix.chemical
    found = mix.heel * mix.heel_strength if fits else 0.0
    stock = mix.stock_mass
    if stock is None:
        stock = sum(share.stock * (share.lot.nominal or 0.0) for share in mix.pours)
    walls = left.walls * strength
    return ActiveLedger(
        mix=mix.name,
        stock=stock,
        found=found,
        walls=walls,
        spare=max(stock - walls, 0.0) if mix.kind == "injector" else left.spare * strength,
        heel=left.heel * strength,
    )


def ph_of(chemical: str, strength: float) -> float | None:
    """pH of acid or alkali of `strength` [kg/m3 of the active as sold]; None of anything else."""
    row = CHEMICALS.get(chemical)
    if row is None or row.molar is None:
        return None
    moles = strength / (1000.0 * row.molar)
    if row.acid is not None:
        return runoff.weak_ph(moles, row.acid.pk) if row.acid.pk else runoff.strong_ph(row.acid.protons * moles)
    if row.base is None or row.base.hydroxide is None:
        return None
    if row.base.carbonate:
        return runoff.carbonate_ph(row.base.carbonate * moles, (row.base.peroxide or 0.0) * moles)
    # Taken as dissolved, all of it: the safe side.
    return runoff.strong_ph(-row.base.hydroxide * moles)


def _surfaces(job: JobInput, mixes: Sequence[MixPlan], water: dict[str, float]) -> list[SurfaceRunoff]:
    """One row for each surface and chemical, whatever number of runs sprays it."""
    volumes: dict[tuple[str, str], tuple[float, float]] = {}
    families: dict[str, str] = {}
    for mix in mixes:
        for part in mix.parts:
            place = (part.surface.name, mix.chemical)
            volume, active = volumes.get(place, (0.0, 0.0))
            volumes[place] = (volume + part.mix, active + part.mix * landing(mix))
            families[part.surface.name] = str(part.surface.row["family"])
    return [
        _row(job, name, chemical, families[name], volume, active, water.get(name, 0.0))
        for (name, chemical), (volume, active) in volumes.items()
        if volume > 0.0
    ]


def _totals(job: JobInput, surfaces: Sequence[SurfaceRunoff], water: dict[str, float]) -> list[SurfaceRunoff]:
    """All of one chemical, in the water of the walls it was on."""
    rows = []
    for chemical in dict.fromkeys(wall.chemical for wall in surfaces):
        same = [wall for wall in surfaces if wall.chemical == chemical]
        names = {wall.surface for wall in same}
        mix, active = sum(wall.mix for wall in same), sum(wall.mix * wall.first for wall in same)
        rows.append(_row(job, "in all", chemical, "", mix, active, sum(water.get(name, 0.0) for name in names)))
    return rows


def _row(
    job: JobInput, name: str, chemical: str, family: str, mix: float, active: float, water: float
) -> SurfaceRunoff:  # fmt: skip
    first = active / mix
    left = runoff.leaving(mix=mix, strength=first, water=water)
    known = chemical != SOAP and active > 0.0
    chlorine = known and chemical == BLEACH
    tap = job.water.chlorine
    limits = job.limits
    return SurfaceRunoff(
        surface=name,
        chemical=chemical,
        family=family,
        mix=mix,
        water=water,
        first=first,
        active=left.active if known else None,
        strength=left.strength if known else None,
        times_acute=runoff.times_over(left.strength, limits["life_acute"]) if chlorine else None,
        times_chronic=runoff.times_over(left.strength, limits["life_chronic"]) if chlorine else None,
        times_tap=runoff.times_over(left.strength, tap) if chlorine and tap else None,
        ph=ph_of(chemical, left.strength) if known else None,
    )


def _outlets(job: JobInput, surfaces: Sequence[SurfaceRunoff], water: dict[str, float]) -> Outlets | None:
    """What each downspout takes of the roofs' runoff, evenly; the roof's valleys decide which takes more."""
    count = job.job.near.downspouts if job.job.near is not None else None
    roofs = [wall for wall in surfaces if wall.family == "roof" and wall.active is not None]
    if not count or not roofs:
        return None
    chemical = roofs[0].chemical
    same = [roof for roof in roofs if roof.chemical == chemical]
    return Outlets(
        count=count,
        chemical=chemical,
        volume=sum(wall.mix + water.get(wall.surface, 0.0) for wall in same) / count,
        active=sum(wall.active or 0.0 for wall in same) / count,
    )
