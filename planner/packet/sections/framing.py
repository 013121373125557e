"""A stop point's frame: what is looked at just before it is its question, and the act it guards stands in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from planner.packet.blocks import Block, Hold, Step
from planner.packet.sections.streams import looked_at
from planner.plan.procedure.acts import Act, Drain, Mark, Parting, Power, StopPoint, Tap, Wait


def asked_by_stops(acts: Sequence[Act]) -> dict[str, tuple[str, ...]]:
    """By each stop point, what is looked at, put on or read right before it and asked by it: that is its question."""
    found: dict[str, tuple[str, ...]] = {}
    before: list[Act] = []
    for act in acts:
        if isinstance(act.detail, StopPoint):
            found[act.id] = tuple(one.id for one in before if looked_at(one) in act.detail.asks)
        before = [*before, act] if looked_at(act) else []
    return found


def guarded(blocks: Iterable[Block], acts: Iterable[Act] = ()) -> tuple[Block, ...]:
    """Each stop point with the step right after it in its frame; one that it does not guard stays outside."""
    known = {act.id: act for act in acts}
    made: list[Block] = []
    for block in blocks:
        last = made[-1] if made else None
        if isinstance(block, Step) and isinstance(last, Hold) and last.guards is None and _guards(last, block, known):
            made[-1] = replace(last, guards=block)
        else:
            made.append(block)
    return tuple(made)


def _guards(hold: Hold, step: Step, known: Mapping[str, Act]) -> bool:
    stop = next(
        (known[one].detail for one in hold.acts if one in known and isinstance(known[one].detail, StopPoint)), None
    )
    act = known.get(step.acts[0]) if step.acts else None
    if act is None or not isinstance(stop, StopPoint):
        return True
    if stop.before == "power":
        return isinstance(act.detail, (Power, Tap, Wait))
    if stop.before == "coil":
        return isinstance(act.detail, (Parting, Drain, Mark))
    return True
