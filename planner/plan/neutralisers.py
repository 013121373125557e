"""What makes a leftover harmless: gutter catch, heels, spare and spills, never the whole runoff and never stock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import isclose
from types import MappingProxyType
from typing import Any, Final

from planner.chemistry.base_heat import HEAT_PER_PROTON, neutralising_rise
from planner.chemistry.bath import PROTONS
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
from planner.plan.mix_model import MixPlan, Neutraliser
from planner.plan.runoff import remains_of
from planner.plan.runoff_model import AgentNeed, RunoffPlan

_GALLON = 231 * 0.0254**3
CATCH: Final = 5 * _GALLON
"""A bucket of what the gutters give [m3], treated before it is emptied (common practice, no source)."""

FROM_HOSE: Final = "what the hose held"
"""Mix in a hose that was filled for less than it holds: it goes into pails, no wall gets it."""

_HAIR: Final = 1e-9  # m3; less is what sums leave over

_TABLE = {
    "hypochlorite": "chlorine", "muriatic": "hydrogen_chloride", "oxalic": "oxalic_dihydrate", "citric": "citric",
}  # fmt: skip
_UNTOUCHED: Mapping[str, float] = MappingProxyType({})
_USUAL = {
    "chlorine": "thiosulfate", "hydrogen_chloride": "bicarbonate", "oxalic_dihydrate": "bicarbonate",
    "citric": "bicarbonate",
}  # fmt: skip


def plan_neutralisers(
    job: JobInput,
    mixes: Sequence[MixPlan],
    runoff: RunoffPlan | None = None,
    taken: Mapping[str, float] = _UNTOUCHED,
) -> tuple[Neutraliser, ...]:
    """For each mix: a gallon left or spilled, the test's bucket, what its hose held, its tank's heel and spare, a
    bucket of gutter catch.

    A mix above the limit is thinned to it first; a company may ask for thinner, never for stronger. `taken` [kg]: what
    the jobs before took of each lot.
    """
    limit = min(job.limits["neutralise_strength"], STRONGEST_DECHLORINATED)
    found = list(_leftovers(mixes, runoff))
    agents = {
        table: _agent(job, table, sum(active_mass(volume, strength) for mix, _, volume, strength in found
                                      if _TABLE[mix.chemical] == table), taken)
        for table in dict.fromkeys(_TABLE[mix.chemical] for mix, *_ in found)
    }  # fmt: skip
    planned = []
    for mix, purpose, volume, strength in found:
        thinned = mix.chemical == "hypochlorite" and strength > limit
        treated = neutralise(
            volume=volume * strength / limit if thinned else volume,
            strength=limit if thinned else strength,
            agent=agents[_TABLE[mix.chemical]],
        )
        if treated.agent is None or treated.carry is None:
            continue
        planned.append(
            Neutraliser(
                agent=treated.name,
                purpose=f"{purpose} of {mix.name}",
                volume=volume,
                strength=strength,
                thin_to=volume * strength / limit if thinned else None,
                mass=treated.agent,
                carry=treated.carry,
                rise=rise_of(mix.chemical, strength, treated.name),
            )
        )
    return tuple(planned)


def _leftovers(
    mixes: Sequence[MixPlan], runoff: RunoffPlan | None
) -> Iterator[tuple[MixPlan, str, float, float]]:  # fmt: skip
    """Mix, what of it is left, volume [m3] and strength [kg/m3], as strong as it may be."""
    caught = False
    for mix in mixes:
        strength = max(mix.wall_high or 0.0, mix.wall or 0.0, mix.target)
        if mix.chemical not in _TABLE or not strength > 0.0:
            continue
        yield mix, "a leftover gallon", _GALLON, strength
        if mix.mix is not None and mix.line.test > 0.0:
            yield mix, "the test bucket", mix.line.test, strength
        left, tank = remains_of(mix), mix.run.feed_tank
        if mix.mix is not None and left.line > _HAIR:
            yield mix, FROM_HOSE, left.line, strength
        if mix.kind == "premix" and tank is not None:
            if tank.dead_volume > 0.0:
                yield mix, f"the heel in {tank.name}", tank.dead_volume, strength
            if mix.mix is not None and left.spare > _HAIR:
                yield mix, f"the spare in {tank.name}", left.spare, strength
        roof = any(part.surface.row["family"] == "roof" for part in mix.parts)
        if roof and runoff is not None and runoff.outlets is not None and not caught:
            caught = True
            yield mix, "a bucket of gutter catch", min(CATCH, runoff.outlets.volume), strength


def neutralised(
    job: JobInput,
    chemical: str,
    purpose: str,
    volume: float,
    strength: float,
    taken: Mapping[str, float] = _UNTOUCHED,
) -> Neutraliser | None:
    """What makes `volume` [m3] of a chemical at `strength` [kg/m3] harmless; None where nothing is known to.

    `taken` [kg]: what the jobs before took of each lot.
    """
    table = _TABLE.get(chemical)
    limit = min(job.limits["neutralise_strength"], STRONGEST_DECHLORINATED)
    if table is None or not volume > 0.0 or not strength > 0.0:
        return None
    thinned = chemical == "hypochlorite" and strength > limit
    treated = neutralise(
        volume=volume * strength / limit if thinned else volume,
        strength=limit if thinned else strength,
        agent=_agent(job, table, active_mass(volume, strength), taken),
    )
    if treated.agent is None or treated.carry is None:
        return None
    return Neutraliser(
        agent=treated.name,
        purpose=purpose,
        volume=volume,
        strength=strength,
        thin_to=volume * strength / limit if thinned else None,
        mass=treated.agent,
        carry=treated.carry,
        rise=rise_of(chemical, strength, treated.name),
    )


def usual_agent(job: JobInput, chemical: str, active: float) -> tuple[str, float]:
    """What makes `active` [kg] of an acid harmless as a rule, and how much [kg], its spare included."""
    table = _TABLE[chemical]
    (row,) = [row for row in job.tables["neutralisers"][table] if row["name"] == _USUAL[table]]
    return _USUAL[table], active * _dose(row) * (1.0 + SPARE)


def rise_of(chemical: str, strength: float, agent: str) -> float | None:
    """How much warmer [K] an acid at `strength` [kg/m3] gets from its agent, below 0 colder; None of anything else."""
    known = chemical in PROTONS and agent in HEAT_PER_PROTON
    return neutralising_rise(chemical, strength, agent) if known else None


def agents_needed(
    job: JobInput, planned: Sequence[Neutraliser], taken: Mapping[str, float] = _UNTOUCHED
) -> tuple[AgentNeed, ...]:
    """Each agent in all, against what the shelf still holds once the jobs before have `taken` [kg] theirs."""
    needs = []
    for agent in dict.fromkeys(one.agent for one in planned):
        same = [one for one in planned if one.agent == agent]
        lots = [lot for lot in job.lots if lot.chemical == agent]
        counted = [left for lot in lots if (left := _left(lot, taken)) is not None]
        on_hand = sum(counted) if len(counted) == len(lots) else None
        carry = sum(one.carry for one in same)
        chlorine = agent in {row["name"] for row in job.tables["neutralisers"]["chlorine"]}
        limit = min(job.limits["neutralise_strength"], STRONGEST_DECHLORINATED)
        needs.append(
            AgentNeed(
                agent=agent,
                against="chlorine" if chlorine else "acid",
                lots=tuple(lot.name for lot in lots),
                mass=sum(one.mass for one in same),
                carry=carry,
                on_hand=on_hand,
                buy=max(carry - on_hand, 0.0) if on_hand is not None else 0.0,
                rise=dechlorinating_rise(min(limit, max(one.strength for one in same)))
                if chlorine
                else max((one.rise for one in same if one.rise is not None), default=None),
                before=sum(taken.get(lot.name, 0.0) for lot in lots),
            )
        )
    return tuple(needs)


def agents_taken(job: JobInput, planned: Sequence[Neutraliser], taken: Mapping[str, float]) -> dict[str, float]:
    """What is gone of each lot [kg] once these lie beside the tub with their spare, `taken` before them counted in.

    Lots go in the shelf's order; of one nobody counted there is always enough.
    """
    gone = dict(taken)
    for agent in dict.fromkeys(one.agent for one in planned):
        wanted = sum(one.carry for one in planned if one.agent == agent)
        for lot in (lot for lot in job.lots if lot.chemical == agent):
            left = _left(lot, gone)
            given = wanted if left is None else min(wanted, left)
            if given > 0.0 and left is not None:
                gone[lot.name] = gone.get(lot.name, 0.0) + given
            wanted -= given
    return gone


def _left(lot: Lot, taken: Mapping[str, float]) -> float | None:
    """What a lot still holds [kg]; None where nobody weighed it."""
    if lot.on_hand is None or lot.on_hand.mass is None:
        return None
    held, gone = lot.on_hand.mass, taken.get(lot.name, 0.0)
    return 0.0 if isclose(held, gone, rel_tol=1e-9) else max(held - gone, 0.0)


def _agent(job: JobInput, table: str, active: float, taken: Mapping[str, float]) -> Agent:
    """The first on the shelf that is enough for `active` [kg] with its spare, else what there is most of.

    One that is marked `last` only where no other will do. With nothing on the shelf the usual one, to be bought. A lot
    nobody counted is taken for enough.
    """
    rows: Mapping[str, Any] = {row["name"]: row for row in job.tables["neutralisers"][table]}
    treats: dict[str, float] = {}
    for lot in job.lots:
        if lot.chemical in rows:
            mass = _left(lot, taken)
            held = float("inf") if mass is None else mass / (_dose(rows[lot.chemical]) * (1.0 + SPARE))
            treats[lot.chemical] = treats.get(lot.chemical, 0.0) + held
    there = sorted(treats, key=lambda name: bool(rows[name].get("last")))
    kept = [name for name in there if treats[name] > 0.0] or there
    enough = [name for name in kept if treats[name] >= active]
    mild = [name for name in kept if not rows[name].get("last")] or kept
    name = enough[0] if enough else max(mild, key=lambda name: treats[name]) if mild else _USUAL[table]
    row = rows[name]
    return Agent(
        name=row["name"],
        dose=float(row["dose"]) if "dose" in row else None,
        stoichiometric=float(row["stoichiometric"]) if "stoichiometric" in row else None,
        source=row["source"],
    )


def _dose(row: Mapping[str, Any]) -> float:
    return float(row.get("dose") or row["stoichiometric"])
