"""The descaling bath of a yard job: what is poured in which order, what it dissolves, what makes it harmless.

`tub` is what is poured, water and stock together.  A share by volume is of that; of any other strength the parts are
worked out by mass, so that the mixed bath has just that strength.  Acid and water mixed take a little less room.

Strength, scale and neutralizer go by the mixed volume (`fills`), and the bath is made harmless as if no scale had been
in it. The deposit is called scale everywhere; lime is only the neutralizer, and keys of data and JSON that say lime for
scale stay. A bath's strength is judged once the stock is known; the bounds of `inputs/models/yard.py` only catch slips
of the pen.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pi
from typing import Final

from planner.chemistry import acids, dilution, gases, heat
from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.models import Pump, YardJob
from planner.inputs.reading.strengths import Strength
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS, DRY, chemical_named
from planner.inputs.tables.defaults import default
from planner.physics.liquids import water_density
from planner.plan.between.neutralisers import neutralised
from planner.plan.mix.lots import Offer, Shelf, active, offers, shared
from planner.plan.mix.mixing import most_dissolved
from planner.plan.mix.model import AcidMix, Carried, LotShare, LotToday, Neutraliser
from planner.plan.yard.model import BathPlan, Bleached, Level
from planner.plan.yard.parts import BathParts, parts_in_bath


@dataclass(frozen=True, slots=True, kw_only=True)
class _Poured:
    """What goes into the tub: volumes [m3], crystals [kg], strength [kg/m3]; `fills` is what it comes to."""

    fills: float
    strength: float
    share: float | None
    stock: float
    stock_mass: float | None
    water: float
    pours: tuple[LotShare, ...]
    able: tuple[LotToday, ...]
    short: float
    acid: AcidMix | None
    mass: float
    stock_known: bool = True


MURIATIC: Final = "muriatic"
"""What a bath is made of where nobody wrote one: the rule of thumb is its own."""


def acid_of(yard: YardJob) -> str | None:
    """What the bath is asked to be of; None where nothing is descaled and none is written."""
    if yard.bath is not None:
        return yard.bath.chemical
    return MURIATIC if "descale" in yard.works else None


def bath_parts(job: JobInput, yard: YardJob) -> BathParts:
    """What the bath does to the pump; nothing where there is none."""
    acid = acid_of(yard)
    pump = yard_pump(job, yard)
    if acid is None:
        return BathParts(written=bool(pump.wetted))
    return parts_in_bath(acid, pump.wetted, yard.spacers, yard.kept_out)


def nothing_to_bathe(job: JobInput, yard: YardJob) -> bool:
    """Whether a bath is asked for that nothing of the pump may lie in, and no shaft is to be wiped from."""
    return acid_of(yard) is not None and bath_parts(job, yard).nothing_inside and not wiped(job, yard)


def wiped(job: JobInput, yard: YardJob) -> bool:
    """Whether the pump has a shaft that may be wiped with the bath: of a row of stages.

    What is written of its spacers says nothing of the shaft.
    """
    acid, pump = acid_of(yard), yard_pump(job, yard)
    if acid is None or not pump.of_kind.stages:
        return False
    return parts_in_bath(acid, pump.wetted, (), ()).shaft_bears


def plan_bath(job: JobInput, yard: YardJob, shelf: Sequence[LotToday], found: Carried) -> BathPlan | None:
    """The bath of a yard job; None where there is none, or nothing may lie in it. `found` is the rig as it stands."""
    chemical = acid_of(yard)
    if chemical is None or nothing_to_bathe(job, yard):
        return None
    defaults = job.tables["defaults"]
    strength = yard.bath.strength if yard.bath is not None else _usual(defaults["bath_muriatic"])
    volume = yard.tub if yard.tub is not None else float(defaults["bath_tub"])
    lots = [lot for lot in shelf if lot.chemical == chemical]
    stands = Shelf(pulled=found.taken, poured=found.taken)
    if chemical not in DRY:
        poured = _acid(job, volume, strength, lots, stands)
    else:
        poured = _crystals(job, chemical, volume, strength, lots, stands)
    of = CHEMICALS[chemical]
    assert of.acid is not None, f"no bath is made of {chemical}"
    assert of.molar is not None, f"no bath is made of {chemical}"
    moles = poured.fills * poured.strength / of.molar
    lime = gases.lime_dissolved(moles, of.acid.lime)
    neutralise = ended(job, chemical, poured.fills, poured.strength, volume, found.taken)
    of_lime = gases.gas_from_lime(lime) if lime is not None else None
    agent = neutralise[0].agent if neutralise else None
    base = CHEMICALS[agent].base if agent is not None and agent in CHEMICALS else None
    fizz = base.gas if base is not None else None
    of_agent = gases.gas_from_agent(moles * of.acid.protons, fizz) if fizz is not None else None
    shaft = wiped(job, yard)
    area = pi / 4.0 * yard.across**2 if yard.across is not None else None
    displaced = float(defaults["bath_displaced"]) * volume
    top = (poured.fills + displaced) / area if area is not None else None
    rinse_with, rinse_mass = rinse_agent(job, chemical, volume, agent)
    foam = float(defaults["bath_freeboard"]) * area if area is not None else float(defaults["bath_foam"]) * volume
    return BathPlan(
        chemical=chemical,
        basis=strength.basis,
        amount=strength.amount,
        ratio=":" in strength.text,
        default=yard.bath is None,
        tub_default=yard.tub is None,
        volume=volume,
        fills=poured.fills,
        strength=poured.strength,
        share=poured.share,
        stock=poured.stock,
        stock_mass=poured.stock_mass,
        water=poured.water,
        lot=poured.pours[0].lot if poured.pours else None,
        pours=poured.pours,
        able=poured.able,
        short=poured.short,
        stock_known=poured.stock_known,
        acid=poured.acid,
        levels=tuple(_levels(chemical, poured, area, job.limits["stick_least"])),
        soak=yard.soak if yard.soak is not None else float(defaults["bath_soak"]),
        wipe=_pair(defaults["bath_wipe"]) if shaft else None,
        passes=int(defaults["bath_passes"]) if shaft else 0,
        rinse=volume,
        rinses=int(defaults["bath_rinses"]),
        rinse_agent=rinse_mass,
        rinse_with=rinse_with,
        tub_least=volume + displaced + foam,
        capacity=lime,
        spent=lime * gases.SPENT if lime is not None else None,
        spent_ph=of.acid.spent_ph,
        carbon_dioxide=max(of_agent, of_lime or 0.0) if of_agent is not None else of_lime,
        carbon_dioxide_lime=of_lime,
        neutralise=neutralise,
        dissolves=most_dissolved(chemical, job.water.temperature),
        mass=poured.mass,
        across=yard.across,
        height=yard.tub_height,
        displaced=displaced,
        top=top,
        free=yard.tub_height - top if yard.tub_height is not None and top is not None else None,
        freeboard=float(defaults["bath_freeboard"]),
        bleached=bleached_of(job, yard.pump, found),
    )


def yard_pump(job: JobInput, yard: YardJob) -> Pump:
    """The pump worked on."""
    return next(pump for pump in job.rig.pumps if pump.name == yard.pump)


def _usual(share: float) -> Strength:
    amount = 100.0 * share
    return Strength(amount=amount, basis="vol", text=f"{amount:g} vol %")


def _pair(values: tuple[float, ...]) -> tuple[float, float]:
    return values[0], values[1]


def _levels(chemical: str, poured: _Poured, area: float | None, least: float) -> list[Level]:
    """The tub after the water and after the acid; crystals are taken to add no room, mixed acid takes its own."""
    steps = (("water", poured.water, None, poured.water), (chemical, poured.stock, poured.stock_mass, poured.fills))
    found = []
    under = 0.0
    for what, added, mass, stands in steps:
        rise = (stands - under) / area if area is not None else None
        found.append(
            Level(
                what=what,
                added=added,
                mass=mass,
                volume=stands,
                dip=stands / area if area is not None else None,
                by_stick=rise is not None and rise >= least,
            )
        )
        under = stands
    return found


# --------------------------------------------------------------------------------------------- poured acid


def _acid(job: JobInput, volume: float, strength: Strength, lots: Sequence[LotToday], stands: Shelf) -> _Poured:
    """Muriatic poured into water. A lot that says no strength, or none at all, is taken for what is sold."""
    usual = acids.strength(float(job.tables["defaults"]["bath_stock"]))
    target = None if strength.basis == "vol" else active(strength, MURIATIC)
    assert target is not None or strength.basis == "vol", f"{strength.text} says how much is in it"
    most = default("bath_stock_most")
    strong = [lot for lot in lots if target is None or _share(target, lot.nominal or usual) <= most]
    if target is not None and not strong and (lots or _share(target, usual) > most):
        # No stock gets there with water beside it: nothing is poured, and the checks say so.
        return _nothing(target, tuple(lots))
    share = (
        strength.amount / 100.0 if target is None else _share(target, (strong[0].nominal if strong else None) or usual)
    )
    offered = offers(strong, stands, stands.poured, lambda _: share * volume) if strong else []
    strengths = [offer.lot.nominal or usual for offer in offered]
    if not offered:
        stock, given, short, mean = share * volume, [], 0.0, usual
    elif target is None:
        # A share by volume is poured by the jug, whatever each lot's strength.
        taken = dilution.take(
            [dilution.Source(strength=1.0, volume=offer.to_pour) for offer in offered], share * volume
        )
        given, short, stock = list(taken.volumes), taken.short, taken.volume
        mean = sum(a * b for a, b in zip(given, strengths, strict=True)) / stock
    else:
        given, short, stock, mean = _of_strength(volume, target, offered, strengths)
    share = stock / volume
    mixed = acids.diluted(acids.mass_fraction_of_strength(mean), share)
    rise = heat.temperature_rise(acids.mass_fraction_of_strength(mean), share)
    return _Poured(
        fills=volume * mixed.volume,
        strength=mixed.strength,
        share=share,
        stock=stock,
        stock_mass=None,
        water=volume - stock,
        pours=shared(offered, given, given) if offered else (),
        able=tuple(strong),
        short=short if offered else stock,
        acid=AcidMix(
            mass_fraction=mixed.mass_fraction,
            density=mixed.density,
            normality=mixed.normality,
            rise=rise.nominal,
            rise_high=rise.high,
        ),
        mass=volume * mixed.volume * mixed.density,
        stock_known=bool(offered) and offered[0].lot.nominal is not None,
    )


def _share(target: float, stock: float) -> float:
    """Stock in what is poured [-] for a mixed bath of `target` [kg/m3]; all of it where no more will do."""
    parts = acids.parts_for(1.0, min(target, stock), stock)
    return parts.stock / (parts.stock + parts.water)


def _of_strength(
    volume: float, target: float, offered: Sequence[Offer], strengths: Sequence[float]
) -> tuple[list[float], float, float, float]:
    """What each lot gives, what is short, all of it [m3] and its mean strength [kg/m3], for a bath of `target`.

    The blend sets the share and the share the blend: a few rounds settle it, for lots of acid differ by little.
    """
    mean = strengths[0]
    taken = None
    for _ in range(12):
        wanted = _share(target, mean) * volume * mean
        sources = [
            dilution.Source(strength=one, volume=offer.to_pour) for offer, one in zip(offered, strengths, strict=True)
        ]
        taken = dilution.take(sources, wanted)
        mean = wanted / taken.volume
    assert taken is not None
    return list(taken.volumes), taken.short, taken.volume, mean


def _nothing(strength: float, able: tuple[LotToday, ...]) -> _Poured:
    return _Poured(
        fills=0.0, strength=strength, share=None, stock=0.0, stock_mass=None, water=0.0, pours=(), able=able, short=0.0,
        acid=None, mass=0.0,
    )  # fmt: skip


# --------------------------------------------------------------------------------------------- weighed crystals


def _crystals(
    job: JobInput, chemical: str, volume: float, strength: Strength, lots: Sequence[LotToday], stands: Shelf
) -> _Poured:
    """Crystals weighed into water; they are taken to add no room, which is within a few percent for what is used."""
    target = active(strength, chemical)
    assert target is not None, f"{strength.text} of {chemical} says how much is in it: the key's reader sees to it"
    most = most_dissolved(chemical, job.water.temperature)
    mass = target * volume
    if most is not None and target > most * (1.0 + 1e-9):
        return _nothing(target, tuple(lots))
    offered = offers(lots, stands, stands.poured, lambda _: mass) if lots else []
    given: list[float] = []
    short = mass
    if offered:
        taken = dilution.take([dilution.Source(strength=1.0, volume=offer.to_pour) for offer in offered], mass)
        given, short = list(taken.volumes), taken.short
    return _Poured(
        fills=volume,
        strength=target,
        share=None,
        stock=0.0,
        stock_mass=mass,
        water=volume,
        pours=tuple(
            LotShare(lot=offer.lot, mass=amount, pull_mass=amount)
            for offer, amount in zip(offered, given, strict=True)
            if amount > 0.0
        ),
        able=tuple(lots),
        short=short,
        acid=None,
        mass=volume * water_density(job.water.temperature) + mass,
    )


# ------------------------------------------------------------ bleach
# Whether bleach went through a pump that is to lie in acid: today, in a job that may yet be done, or on other days.


def bleached_of(job: JobInput, pump: str, found: Carried) -> Bleached:
    """What is known of it, the worst first. `found` is the rig as the day's jobs before leave it."""
    if found.parts.get(pump) == BLEACH and pump in found.unflushed:
        return "unflushed"
    if pump in found.bleach_pumps or found.parts.get(pump) == BLEACH:
        return "today"
    if any((BLEACH, pump) in pending.gear for pending in found.pending):
        return "pending"
    return "maybe" if _may(job, pump) else "never"


def _may(job: JobInput, pump: str) -> bool:
    """Whether a setup of the rig could send bleach through it; an injector sits behind its pump, which sees water."""
    gear = next((one for one in job.rig.pumps if one.name == pump), None)
    kept = chemical_named(gear.dedicated) if gear is not None and gear.dedicated else None
    if kept is not None and kept.name != BLEACH:
        return False
    metered = {dosing.name for dosing in job.rig.dosing if dosing.kind == "metered"}
    return any(setup.pump == pump and (setup.dosing == "premix" or setup.dosing in metered) for setup in job.rig.setups)


# ------------------------------------------------------------ end
# How a descaling bath is ended: what makes it harmless, and what its first rinse has in it.


SPENT_BATH: Final = "the bath, as strong as it was made"
FIRST_RINSE: Final = "the first rinse"
"""What each neutraliser of a yard job is for."""


def ended(
    job: JobInput, chemical: str, fills: float, strength: float, rinse: float, taken: Mapping[str, float]
) -> tuple[Neutraliser, ...]:
    """For `fills` [m3] of a bath of `strength` [kg/m3] as it was made, and for its first `rinse` [m3] of water.

    No bath is so strong once it was used. `taken` [kg]: what the jobs before took of each lot.
    """
    leftover = neutralised(job, chemical, SPENT_BATH, fills, strength, taken, thin=False)
    if leftover is None:
        return ()
    agent, mass = rinse_agent(job, chemical, rinse, leftover.agent)
    first = Neutraliser(
        agent=agent, purpose=FIRST_RINSE, volume=rinse, strength=0.0, thin_to=None, mass=mass, carry=mass, of=chemical
    )
    return leftover, first


def rinse_agent(job: JobInput, chemical: str, volume: float, ends_it: str | None) -> tuple[str, float]:
    """What the first rinse has in it, and how much [kg]: what ends the bath, never lime, which bites what it rinses.

    Of another than the best so much that it takes as much acid as that would.
    """
    takes = {row["name"]: float(row["stoichiometric"]) for row in CHEMICALS[chemical].neutralised if "last" not in row}
    best, there = next(iter(takes)), {lot.chemical for lot in job.lots}
    name = ends_it if ends_it is not None and ends_it in takes else next((one for one in takes if one in there), best)
    return name, float(job.tables["defaults"]["bath_rinse_strength"]) * volume * takes[name] / takes[best]
