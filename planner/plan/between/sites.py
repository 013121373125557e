"""What a job finds where it goes: what its walls bore before, what earlier jobs left at the same address.

A rinse reaches siding, metal and shingle; what is porous keeps what was on it, until another day and a strip.

Porous is what `porous` of its row says, or whose trim is among `porous_trim` of data/surfaces.yaml; a company's own
kind is porous unless its row says otherwise. A `before:` counts for what came no later than its day: a strip of last
month says nothing of yesterday's bleach. Neighbors are two sites: their walls do not meet, and their runoff of one day
is asked about up to `neighbor_numbers` apart.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import field, replace

from planner.frozen import dataclass
from planner.inputs.joined import JobInput, RunInput, Surface
from planner.inputs.models import Tank
from planner.inputs.reading.addresses import same_place
from planner.inputs.reading.sizes import surface_names
from planner.inputs.tables.chemicals import BLEACH, chemical_named
from planner.inputs.tables.rows import table
from planner.plan.between.heels import water_of
from planner.plan.mix.model import Carried, LotToday, MixPlan, SiteTrace


@dataclass(frozen=True, slots=True, kw_only=True)
class OnWall:
    """What was on a wall before this job: `chemical`, the `day` or None for today, a `strip` [pH] read since.

    `porous`: its pores still hold it. `mass` [kg] of active, None where nobody knows.
    """

    surface: str
    chemical: str
    day: datetime.date | None
    strip: float | None
    porous: bool
    mass: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What a job's mixes can meet beside each other: every run, the rig as `found`, and what walls bore before.

    `strongest` [kg/m3] is the strongest stock of each chemical on the shelf, for what nobody measured. `address` is
    the site's, as it is compared; `neighbors`: house numbers so far apart may share a gutter. `waters` is the tank the
    plain water of each run comes out of.
    """

    found: Carried
    runs: Sequence[RunInput]
    mixes: Sequence[MixPlan]
    strongest: Mapping[str, float] = field(default_factory=dict)
    walls: Sequence[OnWall] = ()
    sites: Sequence[SiteTrace] = ()
    address: str = ""
    neighbors: float = 0.0
    waters: Mapping[str, Tank] = field(default_factory=dict)


def active(mix: MixPlan) -> float | None:
    """All the active [kg] a mix brings, None where its strength is not known."""
    brings = mix.strongest_active
    if brings:
        return brings
    return mix.need * mix.target if mix.target > 0.0 else None


def is_porous(surface: Surface) -> bool:
    """Whether a rinse does not reach all of a surface: its own pores, or those of its trim."""
    words = {word for trim in surface.trim for word in trim.casefold().replace("_", " ").replace("-", " ").split()}
    return bool(surface.row["porous"]) or not words.isdisjoint(table("surfaces")["porous_trim"]["words"])


def porous_of(mix: MixPlan) -> tuple[str, ...]:
    """Which of a mix's surfaces a rinse does not reach into."""
    return tuple(part.surface.name for part in mix.parts if is_porous(part.surface))


def traces(job: JobInput, mixes: Sequence[MixPlan]) -> tuple[SiteTrace, ...]:
    """What a job leaves at its site for a later one to meet."""
    return tuple(
        SiteTrace(
            address=same_place(job.job.site.address),
            job=job.title,
            chemical=mix.chemical,
            mass=active(mix),
            walls=porous_of(mix),
            today=True,
            date=job.date,
        )
        for mix in mixes
    )


def bleached(mixes: Sequence[MixPlan]) -> frozenset[str]:
    """Pumps that bleach goes through; an injector's pump sees only water."""
    return frozenset(
        mix.run.pump.name
        for mix in mixes
        if mix.chemical == BLEACH and mix.run.pump is not None and mix.kind != "injector"
    )


def known_sites(sites: Sequence[SiteTrace], job: JobInput) -> tuple[SiteTrace, ...]:
    """What earlier jobs left on any ground: today's, and as far back as a wall is taken to remember it."""
    within = job.limits["strip_within"]
    if job.date is None:
        return ()
    dated = [(trace, (job.date - trace.date).total_seconds()) for trace in sites if trace.date is not None]
    return tuple(replace(trace, today=ago == 0.0) for trace, ago in dated if 0.0 <= ago <= within)


def around_job(job: JobInput, found: Carried, mixes: Sequence[MixPlan], shelf: Sequence[LotToday]) -> Around:
    """What a planned job's mixes can meet."""
    strongest: dict[str, float] = {}
    for lot in shelf:
        strongest[lot.chemical] = max(strongest.get(lot.chemical, 0.0), lot.high or lot.nominal or 0.0)
    walls = []
    porous = {surface.name for surface in job.surfaces if is_porous(surface)}
    for name, written in zip(surface_names(job.job.surfaces), job.job.surfaces, strict=True):
        before = written.before
        known = chemical_named(before.stock) if before is not None else None
        if before is not None and known is not None:
            walls.append(
                OnWall(surface=name, chemical=known.name, day=before.on, strip=before.strip, porous=name in porous)
            )  # fmt: skip
    return Around(
        found=found,
        runs=job.runs,
        mixes=mixes,
        strongest={name: amount for name, amount in strongest.items() if amount > 0.0},
        walls=tuple(walls),
        sites=found.sites,
        address=same_place(job.job.site.address),
        neighbors=job.limits["neighbor_numbers"],
        waters={run.name: tank for run in job.runs if (tank := water_of(job, run)) is not None},
    )
