"""What a pump on the bench may still hold, and the tank it is tested from: flushed and rinsed before anything else."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from planner.checks.model import Finding, Level
from planner.inputs.tables.chemicals import BLEACH, short_of, unseen_of
from planner.plan.between.matrix import meets
from planner.plan.model import JobPlan, Value
from planner.plan.yard.flush import seen_of
from planner.plan.yard.model import PumpHeld, YardPlan
from planner.units import show


def _finding(plan: JobPlan, code: str, about: str, level: Level, case: str, **values: Value | str) -> Finding:
    yard = plan.yard
    named: dict[str, Value | str] = {"pump": yard.pump.name if yard is not None else "", **values}
    where = plan.input.places.get("pump", plan.where)
    return Finding(code=code, about=about, level=level, case=case, values=named, where=where)


def strip_for(plan: JobPlan, chemical: str) -> str:
    """What a strip in the last drops has to read, as the acts have it."""
    if chemical != BLEACH:
        return " and ".join(filter(None, ("pH 6 to 8", unseen_of([chemical]))))
    return f"chlorine {show(seen_of(plan.input), 'concentration', plan.input.company.units, toward='down')} or less"


def spoken(chemicals: Sequence[str]) -> str:
    """Their names in a sentence: bleach as people call it."""
    return " and ".join(short_of(chemical) for chemical in chemicals)


def held_flush(plan: JobPlan) -> Iterator[Finding]:
    """flush.needed: each chemical the pump may hold, and a tank that does not give plain water.

    Bleach in a pump that lies in acid is told of with its bath.
    """
    yard = plan.yard
    if yard is None:
        return
    still_held = [pump_held for pump_held in yard.held if yard.bath is None or pump_held.chemical != BLEACH]
    for held in still_held:
        yield _finding(
            plan, "flush.needed", f"{yard.pump.name}, {spoken([held.chemical])}", "caution", f"bench_{held.why}",
            held=spoken([held.chemical]), strip=strip_for(plan, held.chemical), when=_when(yard),
        )  # fmt: skip
    tank = yard.tank
    if tank is not None and yard.test is not None:
        yield _finding(
            plan, "flush.needed", tank.tank, "caution", f"bench_tank_{tank.why}",
            tank=tank.tank, held=spoken([tank.holds]), strip=strip_for(plan, tank.holds),
        )  # fmt: skip
    if not yard.held and tank is None and yard.bath is None:
        yield _finding(plan, "flush.needed", yard.pump.name, "none", "bench_water")


def _when(yard: YardPlan) -> str:
    return "it is opened" if yard.opened else "anybody is near its jet"


def held_reaction(plan: JobPlan) -> Iterator[Finding]:
    """mix.reaction: two chemicals the pump, or its tank, may hold and that must not meet as they are flushed out.

    What it may hold against the acid of a bath is told with the bath.
    """
    yard = plan.yard
    if yard is None or yard.bath is not None:
        return
    tank = [] if yard.tank is None else [PumpHeld(chemical=yard.tank.holds, why="today", most=None)]
    for first, second in combinations((*yard.held, *tank), 2):
        answer = meets(first.chemical, second.chemical)
        if first.chemical != second.chemical and answer.stops:
            yield _finding(
                plan, "mix.reaction", f"{yard.pump.name}, {spoken([first.chemical, second.chemical])}", "caution",
                "bench_both", held=spoken([first.chemical, second.chemical]), gives=answer.gives,
            )  # fmt: skip


def quiet_case(plan: JobPlan) -> str:
    """How mix.reaction says that nothing meets on the bench; empty where it is no matter of the bench."""
    yard = plan.yard
    if yard is None:
        return ""
    if yard.bath is not None:
        return "bench_bath"
    return "bench_held" if yard.held or yard.tank is not None else "bench_water"
