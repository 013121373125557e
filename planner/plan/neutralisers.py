"""What makes a leftover harmless: gutter catch, heels and spills, never the whole runoff and never stock."""

from __future__ import annotations

from collections.abc import Sequence

from planner.chemistry.neutralising import Agent, neutralise
from planner.inputs.joined import JobInput
from planner.plan.mix_model import MixPlan, Neutraliser

_GALLON = 231 * 0.0254**3
_TABLE = {"hypochlorite": "chlorine", "muriatic": "hydrogen_chloride", "oxalic": "oxalic_dihydrate"}
_USUAL = {"chlorine": "thiosulfate", "hydrogen_chloride": "bicarbonate", "oxalic_dihydrate": "bicarbonate"}


def plan_neutralisers(job: JobInput, mixes: Sequence[MixPlan]) -> tuple[Neutraliser, ...]:
    """For each mix: a leftover gallon, and what stays in its tank. A mix above the limit is thinned to it first."""
    limit = job.limits["neutralise_strength"]
    planned = []
    for mix in mixes:
        agent = agent_for(job, mix.chemical)
        strength = max(mix.wall_high or 0.0, mix.wall or 0.0, mix.target)
        if agent is None or not strength > 0.0:
            continue
        leftovers = [("a leftover gallon", _GALLON)]
        tank = mix.run.feed_tank
        if mix.kind == "premix" and tank is not None and tank.dead_volume > 0.0:
            leftovers.append((f"the heel in {tank.name}", tank.dead_volume))
        for purpose, volume in leftovers:
            thinned = mix.chemical == "hypochlorite" and strength > limit
            taken = neutralise(
                volume=volume * strength / limit if thinned else volume,
                strength=limit if thinned else strength,
                agent=agent,
            )
            if taken.agent is None or taken.carry is None:
                continue
            planned.append(
                Neutraliser(
                    agent=agent.name,
                    purpose=f"{purpose} of {mix.name}",
                    volume=volume,
                    strength=strength,
                    thin_to=volume * strength / limit if thinned else None,
                    mass=taken.agent,
                    carry=taken.carry,
                )
            )
    return tuple(planned)


def agent_for(job: JobInput, chemical: str) -> Agent | None:
    """The neutraliser on the shelf, else the usual one; None where nothing is known for the chemical."""
    table = _TABLE.get(chemical)
    if table is None:
        return None
    rows = {row["name"]: row for row in job.tables["neutralisers"][table]}
    on_shelf = [lot.chemical for lot in job.lots if lot.chemical in rows]
    row = rows[on_shelf[0] if on_shelf else _USUAL[table]]
    return Agent(
        name=row["name"],
        dose=float(row["dose"]) if "dose" in row else None,
        stoichiometric=float(row["stoichiometric"]) if "stoichiometric" in row else None,
        source=row["source"],
    )
