"""What makes a leftover harmless: gutter catch, heels, spare and spills, never the whole runoff and never stock.

Left of a tankful are its heel and its spare; the line is chased with water onto the last wall. A panel's jug gives back
to its lot what the draw test left, an injector's is thinned and made harmless. Agent is carried for a gallon, heel,
spare and one bucket of gutter catch, each as strong as the mix may be.

Rows of data/neutralisers.yaml stand best first, whatever the shelf's order; what is counted and enough goes before what
nobody weighed, and nothing goes into a pail that gives a toxic gas with it by the groups. A pail that would get hotter
than `neutralise_rise` is thinned first; a bath is not, its own finding speaks. A mix without a table is kept and taken
home (`not_neutralised`), never silent. Alkali never goes to the lawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import replace
from math import isclose
from types import MappingProxyType
from typing import Any, Final

from planner.chemistry.constants import MARGIN
from planner.chemistry.heat import alkali_rise, hydrochloric_capacity, neutralising_rise, water_capacity
from planner.chemistry.neutralising import (
    SPARE,
    STRONGEST_DECHLORINATED,
    Agent,
    active_mass,
    dechlorinating_rise,
    neutralise,
)
from planner.inputs.joined import JobInput
from planner.inputs.models import Lot
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS, SOAP, kind_of, lawn_of, overshoots
from planner.inputs.tables.defaults import default
from planner.plan.between.matrix import meets
from planner.plan.between.model import AgentNeed, RunoffPlan
from planner.plan.between.runoff import remains_of
from planner.plan.mix.model import MixPlan, Neutraliser

_GALLON = 231 * 0.0254**3

_HAIR: Final = 1e-9  # m3; less is what sums leave over

HARMLESS: Final = frozenset({"water", *(one for one in CHEMICALS if lawn_of(one) == "harmless")})
"""What may be let go as it is once a strip reads right."""

NEVER_LAWN: Final = frozenset(one for one in CHEMICALS if lawn_of(one) in ("never", "rinse"))
"""What never goes to the lawn, neutralized or not."""

_TOXIC: Final = frozenset({"GT", "GF"})
"""Consequences of groups that no neutralizer may have: a toxic or a flammable gas."""

_UNTOUCHED: Mapping[str, float] = MappingProxyType({})


def plan_neutralisers(
    job: JobInput,
    mixes: Sequence[MixPlan],
    runoff: RunoffPlan | None = None,
    taken: Mapping[str, float] = _UNTOUCHED,
) -> tuple[Neutraliser, ...]:
    """For each mix: a gallon left or spilled, its tank's heel and spare, a bucket of gutter catch.

    A mix above the limit is thinned to it first; a company may ask for thinner, never for stronger. `taken` [kg]: what
    the jobs before took of each lot.
    """
    found = list(_leftovers(mixes, runoff))
    agents = {
        chemical: _agent(job, chemical, {name for mix, *_ in found if mix.chemical == chemical
                                         for name in in_pail(mix)},
                         sum(active_mass(volume, strength) for mix, _, volume, strength in found
                             if mix.chemical == chemical), taken)
        for chemical in dict.fromkeys(mix.chemical for mix, *_ in found)
    }  # fmt: skip
    planned = [
        _treated(job, mix.chemical, f"{purpose} of {mix.name}", volume, strength, agent)
        for mix, purpose, volume, strength in found
        if (agent := agents[mix.chemical]) is not None
    ]
    return tuple(leftover for leftover in planned if leftover is not None)


def once_mixed(taken: Mapping[str, float], mixes: Sequence[MixPlan]) -> dict[str, float]:
    """What is gone of each lot [kg] once this job's own mixes have theirs: what is sprayed neutralizes nothing."""
    gone = dict(taken)
    for share in (share for mix in mixes for share in mix.pours):
        if share.mass > 0.0 or share.pull_mass > 0.0:
            gone[share.lot.name] = gone.get(share.lot.name, 0.0) + max(share.mass, share.pull_mass)
    return gone


def in_pail(mix: MixPlan) -> frozenset[str]:
    """What a pail of this mix's leftovers holds: its chemical, its soap, and a strange heel it was mixed on."""
    heel = mix.heel_chemical if mix.heel > 0.0 and mix.heel_chemical not in (None, "water") else None
    soap = SOAP if mix.soap_share > 0.0 else None
    return frozenset(name for name in (mix.chemical, soap, heel) if name is not None)


def not_neutralised(job: JobInput, mixes: Sequence[MixPlan], planned: Sequence[Neutraliser]) -> tuple[str, ...]:
    """The chemicals of mixes whose leftovers nothing here neutralizes: they are kept and taken home."""
    done = {leftover.of for leftover in planned}
    return tuple(
        dict.fromkeys(mix.chemical for mix in mixes if mix.mix and mix.chemical not in done | HARMLESS)
    )  # fmt: skip


def _treated(
    job: JobInput, chemical: str, purpose: str, volume: float, strength: float, agent: Agent, *, thin: bool = True
) -> Neutraliser | None:
    """What of an agent `volume` [m3] takes, thinned first where it would get too hot or is too strong.

    Of an acid or an alkali the heat is the bound there is: muriatic of 1:10 takes bicarbonate as it is, which cools it
    by 7 K.  How it foams is a matter of room, not of strength (procedure/pails.py).
    """
    hottest = job.limits["neutralise_rise"]
    if chemical == BLEACH:
        times = strength / min(job.limits["neutralise_strength"], STRONGEST_DECHLORINATED)
    else:
        times = (rise_of(chemical, strength, agent.name) or 0.0) / hottest if thin else 1.0
    times = times if times > 1.0 + MARGIN else 1.0
    treated = neutralise(volume=volume * times, strength=strength / times, agent=agent)
    if treated.agent is None or treated.carry is None:
        return None
    return Neutraliser(
        agent=treated.name,
        purpose=purpose,
        volume=volume,
        strength=strength,
        thin_to=volume * times if times > 1.0 else None,
        mass=treated.agent,
        carry=treated.carry,
        rise=rise_of(chemical, strength / times, treated.name),
        of=chemical,
    )


def _leftovers(
    mixes: Sequence[MixPlan], runoff: RunoffPlan | None
) -> Iterator[tuple[MixPlan, str, float, float]]:  # fmt: skip
    """Mix, what of it is left, volume [m3] and strength [kg/m3], as strong as it may be."""
    caught = False
    for mix in mixes:
        strength = max(mix.wall_high or 0.0, mix.wall or 0.0, mix.target)
        if not _rows(mix.chemical) or not strength > 0.0:
            continue
        yield mix, "a leftover gallon", _GALLON, strength
        left, tank = remains_of(mix), mix.run.feed_tank
        if mix.kind == "premix" and tank is not None:
            if tank.dead_volume > 0.0:
                yield mix, f"the heel in {tank.name}", tank.dead_volume, strength
            if mix.mix is not None and left.spare > _HAIR:
                yield mix, f"the spare in {tank.name}", left.spare, strength
        roof = any(part.surface.row["family"] == "roof" for part in mix.parts)
        if roof and runoff is not None and runoff.outlets is not None and not caught:
            caught = True
            yield mix, "a bucket of gutter catch", min(default("gutter_catch"), runoff.outlets.volume), strength


def neutralised(
    job: JobInput,
    chemical: str,
    purpose: str,
    volume: float,
    strength: float,
    taken: Mapping[str, float] = _UNTOUCHED,
    *,
    thin: bool = True,
) -> Neutraliser | None:
    """What makes `volume` [m3] of a chemical at `strength` [kg/m3] harmless; None where nothing is known to.

    `taken` [kg]: what the jobs before took of each lot. `thin`: water first where it would get too hot; a bath is not,
    its own finding tells how hot it gets.
    """
    if not _rows(chemical) or not volume > 0.0 or not strength > 0.0:
        return None
    agent = _agent(job, chemical, {chemical}, active_mass(volume, strength), taken)
    return _treated(job, chemical, purpose, volume, strength, agent, thin=thin) if agent is not None else None


def given_of(one: Neutraliser, mass: float, purpose: str = "") -> Neutraliser:
    """What the acts give of it: `mass` [kg], with its share of all else."""
    share = mass / one.mass if one.mass > 0.0 else 0.0
    return replace(
        one, purpose=purpose or one.purpose, volume=one.volume * share, mass=mass, carry=one.carry * share, given=True,
        thin_to=None if one.thin_to is None else one.thin_to * share,
    )  # fmt: skip


def with_given(planned: Sequence[Neutraliser], given: Sequence[Neutraliser]) -> tuple[Neutraliser, ...]:
    """What was planned, each that the acts give by what they give of it; then what else they give.

    The spare that was to be carried for it is carried all the same.
    """
    found: dict[tuple[str, str], Neutraliser] = {}
    for leftover in given:
        key = (leftover.agent, leftover.purpose)
        found[key] = _together(found[key], leftover) if key in found else leftover
    rows = []
    for neutraliser in planned:
        acted = found.pop((neutraliser.agent, neutraliser.purpose), None)
        rows.append(neutraliser if acted is None else replace(acted, carry=max(acted.carry, neutraliser.carry)))
    return (*rows, *found.values())


def _together(one: Neutraliser, other: Neutraliser) -> Neutraliser:
    thinned = None if one.thin_to is other.thin_to is None else sum(row.thin_to or row.volume for row in (one, other))
    rises = [row.rise for row in (one, other) if row.rise is not None]
    return replace(
        one, volume=one.volume + other.volume, strength=max(one.strength, other.strength), thin_to=thinned,
        mass=one.mass + other.mass, carry=one.carry + other.carry, rise=max(rises, default=None),
    )  # fmt: skip


def treated_with(job: JobInput, chemical: str, agent: str, volume: float, strength: float) -> Neutraliser | None:
    """What of an `agent` that was chosen for a chemical another `volume` [m3] of it takes, at its own strength."""
    rows = [row for row in _rows(chemical) if row["name"] == agent]
    return _treated(job, chemical, "", volume, strength, _agent_in(rows[0])) if rows else None


def usual_agent(job: JobInput, chemical: str, active: float) -> tuple[str, float]:
    """What makes `active` [kg] of an acid harmless as a rule, and how much [kg], its spare included."""
    row = _rows(chemical)[0]
    return row["name"], active * _dose(row) * (1.0 + SPARE)


def rise_of(chemical: str, strength: float, agent: str) -> float | None:
    """How much warmer [K] a pail at `strength` [kg/m3] gets from its agent, below 0 colder; None where not known."""
    if chemical == BLEACH:
        return dechlorinating_rise(strength)
    row, base = CHEMICALS.get(chemical), CHEMICALS[agent].base if agent in CHEMICALS else None
    if row is None or row.molar is None:
        return None
    moles = strength / row.molar
    if row.base is not None and row.base.with_weak is not None:
        return alkali_rise(moles, row.base.with_weak)
    if row.acid is None or base is None or base.in_acid is None:
        return None
    given = base.in_acid + (row.acid.with_lime if overshoots(agent) else 0.0)
    capacity = hydrochloric_capacity if row.solution.by == "hydrochloric" else water_capacity
    return neutralising_rise(moles * row.acid.protons, given, capacity(strength))


def agents_needed(
    job: JobInput,
    planned: Sequence[Neutraliser],
    taken: Mapping[str, float] = _UNTOUCHED,
    before: Mapping[str, float] = _UNTOUCHED,
) -> tuple[AgentNeed, ...]:
    """Each agent in all, against what the shelf still holds once `taken` [kg] is gone, `before` [kg] of it earlier."""
    needs = []
    for agent in dict.fromkeys(leftover.agent for leftover in planned):
        same = [leftover for leftover in planned if leftover.agent == agent]
        lots = [lot for lot in job.lots if lot.chemical == agent]
        counted = [left for lot in lots if (left := left_of(lot, taken)) is not None]
        on_hand = sum(counted) if len(counted) == len(lots) else None
        carry = sum(leftover.carry for leftover in same)
        needs.append(
            AgentNeed(
                agent=agent,
                against={"bleach": "chlorine"}.get(kind_of(same[0].of), kind_of(same[0].of)),
                lots=tuple(lot.name for lot in lots),
                mass=sum(leftover.mass for leftover in same),
                carry=carry,
                on_hand=on_hand,
                buy=max(carry - on_hand, 0.0) if on_hand is not None else 0.0,
                rise=max((leftover.rise for leftover in same if leftover.rise is not None), default=None),
                before=sum(before.get(lot.name, 0.0) for lot in lots),
            )
        )
    return tuple(needs)


def agents_taken(job: JobInput, planned: Sequence[Neutraliser], taken: Mapping[str, float]) -> dict[str, float]:
    """What is gone of each lot [kg] once these lie beside the tub with their spare, `taken` before them counted in.

    Lots go in the shelf's order; of one nobody counted there is always enough.
    """
    gone = dict(taken)
    for agent in dict.fromkeys(leftover.agent for leftover in planned):
        wanted = sum(leftover.carry for leftover in planned if leftover.agent == agent)
        for lot in (lot for lot in job.lots if lot.chemical == agent):
            left = left_of(lot, gone)
            given = wanted if left is None else min(wanted, left)
            if given > 0.0 and left is not None:
                gone[lot.name] = gone.get(lot.name, 0.0) + given
            wanted -= given
    return gone


def left_of(lot: Lot, taken: Mapping[str, float]) -> float | None:
    """What a lot still holds [kg]; None where nobody weighed it."""
    if lot.on_hand is None or lot.on_hand.mass is None:
        return None
    held, gone = lot.on_hand.mass, taken.get(lot.name, 0.0)
    return 0.0 if isclose(held, gone, rel_tol=1e-9) else max(held - gone, 0.0)


def _agent(
    job: JobInput, chemical: str, pail: Set[str], active: float, taken: Mapping[str, float]
) -> Agent | None:  # fmt: skip
    """The best that is enough for `active` [kg] with its spare, else what there is most of; None: nothing fits.

    The table's rows stand best first, whatever the shelf's order; one marked `last` only where no other will do, none
    that gives a toxic gas with what is in the `pail` or may not meet what else is. A lot nobody counted goes after
    those that are counted and enough: the packet asks to weigh it. With nothing on the shelf the best is to be bought.
    """
    rows: Mapping[str, Any] = {row["name"]: row for row in _rows(chemical) if _may_go_in(row["name"], chemical, pail)}
    if not rows:
        return None
    treats: dict[str, float] = {}
    for lot in job.lots:
        if lot.chemical in rows:
            mass = left_of(lot, taken)
            held = float("inf") if mass is None else mass / (_dose(rows[lot.chemical]) * (1.0 + SPARE))
            treats[lot.chemical] = treats.get(lot.chemical, 0.0) + held
    # Best first; what is counted goes before what nobody weighed, and `last` after both.
    there = sorted((name for name in rows if name in treats),
                   key=lambda name: (bool(rows[name].get("last")), treats[name] == float("inf")))  # fmt: skip
    kept = [name for name in there if treats[name] > 0.0] or there
    enough = [name for name in kept if treats[name] >= active]
    mild = [name for name in kept if not rows[name].get("last")] or kept
    name = enough[0] if enough else max(mild, key=lambda name: treats[name]) if mild else next(iter(rows))
    return _agent_in(rows[name])


def _rows(chemical: str) -> tuple[Mapping[str, Any], ...]:
    """What may end a leftover of it, the best first; nothing of one nobody knows anything for."""
    return CHEMICALS[chemical].neutralised if chemical in CHEMICALS else ()


def _agent_in(row: Mapping[str, Any]) -> Agent:
    return Agent(
        name=row["name"],
        dose=float(row["dose"]) if "dose" in row else None,
        stoichiometric=float(row["stoichiometric"]) if "stoichiometric" in row else None,
        source=row["source"],
    )


def _may_go_in(agent: str, chemical: str, pail: Set[str]) -> bool:
    """Whether an agent may go into a pail of `chemical`: no toxic gas, a known heat, and it may meet all else there."""
    gas = bool(_TOXIC & set(meets(chemical, agent).codes)) or rise_of(chemical, 1.0, agent) is None
    return not gas and not any(meets(agent, other).stops for other in pail - {chemical})


def _dose(row: Mapping[str, Any]) -> float:
    return float(row.get("dose") or row["stoichiometric"])
