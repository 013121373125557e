"""A stop point's frame: what is looked at just before it is its question, and the act it guards stands in it.

And steps told together: what only turns a gun, a switch or a tap, where nobody else has a part in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from planner.packet.blocks import Block, Hold, Span, Spans, Step
from planner.packet.sections.acts.streams import looked_at
from planner.plan.procedure.acts import Act, Drain, Mark, Parting, Power, Shut, StopPoint, Tap, Wait


def asked_by_stops(acts: Sequence[Act]) -> dict[str, tuple[str, ...]]:
    """By each stop point, what is looked at, put on or read right before it and asked by it: that is its question.

    Who has to be called or asked is an act with its own box, and the stop point asks what came of it.
    """
    found: dict[str, tuple[str, ...]] = {}
    before: list[Act] = []
    for act in acts:
        if isinstance(act.detail, StopPoint):
            found[act.id] = tuple(one.id for one in before if looked_at(one) in act.detail.asks and not _asks(one))
        before = [*before, act] if looked_at(act) else []
    return found


def _asks(act: Act) -> bool:
    return isinstance(act.detail, Mark) and act.detail.verb == "ask"


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


def turned(made: Sequence[Block], acts: Iterable[Act]) -> list[Block]:
    """A gun shut, a switch or a tap turned is told with what follows it; at the end of all with what came before.

    So is a line taken apart with its hoses coiled. In a stop point's frame stands nothing but what that guards.
    """
    known = {act.id: act for act in acts}
    blocks: list[Block] = []
    for block in made:
        last = blocks[-1] if blocks else None
        framed = (
            len(blocks) > 1 and isinstance(blocks[-2], Hold) and not (isinstance(last, Step) and _parts(last, known))
        )
        if isinstance(block, Step) and isinstance(last, Step) and not framed and _only_turns(last, block, known):
            blocks[-1] = _together(last, block, known)
        else:
            blocks.append(block)
    if len(blocks) > 1 and isinstance(last := blocks[-1], Step) and isinstance(before := blocks[-2], Step):
        framed = len(blocks) > 2 and isinstance(blocks[-3], Hold)
        if not framed and _only_turns(last, before, known):
            whole = _together(before, last, known)
            blocks[-2:] = [replace(before, spans=whole.spans, caution=whole.caution, acts=whole.acts)]
    return blocks


def _only_turns(step: Step, then: Step, known: Mapping[str, Act]) -> bool:
    """Whether a step only shuts or switches, is done once, and may be told with the step `then`."""
    heads = [one.spans[0].text for one in (step, then)]
    again = any(head.startswith("Each time") or head.endswith(" times") for head in heads)
    coiled = known[then.acts[0]].detail
    coils = _parts(step, known) and (isinstance(coiled, Drain) or (isinstance(coiled, Mark) and coiled.verb == "coil"))
    turns = all(isinstance(known[act].detail, (Shut, Power, Tap, Wait)) for act in step.acts)
    return not again and not then.rounds and (coils or turns)


def _parts(step: Step, known: Mapping[str, Act]) -> bool:
    """Whether a step takes lines apart and nothing else."""
    return all(isinstance(known[act].detail, Parting) for act in step.acts)


def _together(last: Step, then: Step, known: Mapping[str, Act]) -> Step:
    """Two steps as one, with who goes on where that is somebody else."""
    spans = then.spans
    if any(isinstance(known[act].detail, Shut) for act in last.acts):
        spans = tuple(replace(span, text=span.text.replace(", gun shut", "")) for span in spans)
    # Of a step that only waits it is whoever waits.
    did, does = (
        next((known[one].who for one in ids if not isinstance(known[one].detail, Wait)), known[ids[0]].who)
        for ids in (last.acts[::-1], then.acts)
    )
    if did == does == "second":
        spans = (replace(spans[1], text=spans[1].text[:1].upper() + spans[1].text[1:]), *spans[2:])
    elif did == "second":
        spans = (Span(text="Lead: ", strong=True), plainly(spans[0]), *spans[1:])
    spans = (*last.spans, Span(text=" "), *spans)
    return replace(then, spans=spans, caution=cautions_of(last, then), acts=(*last.acts, *then.acts))


def cautions_of(first: Step, then: Step) -> Spans | None:
    """The cautions of two steps that are told as one: both, in their order, and what both say once."""
    if first.caution is None or then.caution is None or first.caution == then.caution:
        return first.caution or then.caution
    return (*first.caution, Span(text=" "), *then.caution)


def plainly(first: Span) -> Span:
    """The first words of a sentence as they go on another one."""
    text = first.text
    return replace(first, text=text[:1].lower() + text[1:] if text[1:2].islower() else text)
