"""How a line stands for water and for mix, as two small boxes: on the page that sets it up, or beside its wall."""

from __future__ import annotations

from planner.packet.blocks import Picture
from planner.packet.drawings.states import States, states
from planner.packet.sections.acts.streams import procedure_of
from planner.packet.sections.mixes import dial_set, tank_name
from planner.packet.sections.reading import Reading
from planner.plan.model import RunPlan
from planner.plan.procedure.acts import StopPoint


def states_of(reading: Reading, run: RunPlan, heights: tuple[float, ...]) -> Picture | None:
    """How the line stands for water and for mix; nothing where it never carries any."""
    procedure = procedure_of(reading)
    mix = next((mix for mix in reading.checked.plan.mixes if mix.run.name == run.name), None)
    if mix is None or procedure is None:
        return None
    stops = [act.detail for act in procedure.acts if isinstance(act.detail, StopPoint)]
    number = next((stop.number for stop in stops if stop.before == "mix" and stop.about in (None, run.name)), 0)
    alone = all(act.who == "lead" for act in procedure.acts)
    until = f"until stop point {number}" if number else "until mix goes on"
    then = "you, at “Mix”" if alone else "second, on your call"
    if mix.kind == "metered":
        shown = States(kind="knob", water="", mix="", mark=dial_set(mix).removesuffix(" dial"), until=until, then=then)
    else:
        tank = mix.run.feed_tank
        name = tank_name(tank.name).removeprefix("the ") if tank is not None else "mix"
        shown = States(
            kind="paths", water="clean water", mix="jug" if mix.kind == "injector" else name, until=until, then=then
        )

    def paint(wide: float, tall: float) -> object:
        return states(shown, wide, tall)

    where = f"panel at {shown.mark}" if shown.kind == "knob" else f"out of the {shown.mix}"
    text = f"Water: {until}. Mix: {where}; {then}."
    return Picture(paint=paint, heights=heights, title=run.name, told=text, rank=0)
