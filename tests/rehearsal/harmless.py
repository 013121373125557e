"""Why a spoiled procedure that is not refused does no harm: rules, each narrow, each with its reason."""

from __future__ import annotations

from planner.plan.procedure import acts as of
from planner.plan.procedure.acts import Act
from planner.rehearsal.vessels import AIR
from tests.rehearsal.spoil import Spoiled

_RIG = {"desk", "rig", "drums", "reel", "bench"}
_STANDS = of.Mark | of.Read | of.StopPoint | of.Wait | of.Relieve | of.Drain | of.Neutralise | of.Soak


def reason(one: Spoiled) -> str | None:
    """Why it does no harm; None: nobody knows why, and it should have been refused."""
    match one.kind:
        case "swapped with the next":
            return _swapped(one)
        case "somewhere else":
            return _somewhere(one)
        case "left out" | "left out, closed up" | "waited instead":
            return _left_out(one)
        case "sprayed elsewhere":
            return _sprayed(one)
        case "somebody else":
            return _somebody_else(one)
        case "stop point asks less":
            more = isinstance(one.act.detail, of.StopPoint) and one.act.detail.before == "open"
            return "the contract has no gloves among what is asked before a pump is opened" if more else None
        case "wrong section":
            return _little(one)
        case "wrong amount":
            return _amount(one)
        case "sprayed for something else":
            yard = one.setting.kind == "yard" and one.how == "use flush"
            return "in the yard no flush is printed, and there is only water in the line" if yard else None
    return None


def _somebody_else(one: Spoiled) -> str | None:
    detail = one.act.detail
    if isinstance(detail, of.Mark) and detail.verb == "uncover":
        return "either of them may take a cover off"
    if isinstance(detail, of.Wait | of.Mark) and one.act.end >= one.before.ends - 1e-6:
        return "the last thing done, and either of them may do it"
    return None


def _little(one: Spoiled) -> str | None:
    """A little of a wetting on the next section."""
    spray, section = one.act.detail, one.act.section
    if not isinstance(spray, of.Spray) or spray.use != "wet" or section is None:
        return None
    asked = sum(work.wet for work in one.setting.work if work.surface == section.surface) / section.of
    off = spray.volume <= 0.05 * asked * (1.0 + 1e-9)
    return "the contract lets a wetting be off by as much" if off else None


def _amount(one: Spoiled) -> str | None:
    detail = one.act.detail
    if isinstance(detail, of.Stir):
        return "the contract says no least of stirring, and the act lasts as long"
    if isinstance(detail, of.Soak) and detail.into.startswith("pail "):
        return "the contract says no least of rinsing in a pail, and the act lasts as long"
    return None


def _other(one: Spoiled) -> Act:
    return next(act for act in one.before.acts if act.id == one.how)


def _asked(one: Spoiled) -> set[str]:
    return {key for act in one.before.acts if isinstance(act.detail, of.StopPoint) for key in act.detail.asks}


def _key(act: Act) -> str:
    if isinstance(act.detail, of.Mark):
        return act.detail.what
    return act.expect.what if act.expect is not None else ""


def _swapped(one: Spoiled) -> str | None:
    first, second = one.act, _other(one)
    kinds = (first.detail, second.detail)
    if any(isinstance(detail, of.StopPoint) for detail in kinds):
        return _beside_a_stop_point(first, second)
    if all(isinstance(detail, of.Wait) for detail in kinds):
        return "two waits"
    if all(isinstance(detail, of.Mark | of.Read | of.Wait) for detail in kinds):
        return "two looks, readings or waits, and no stop point between them"
    if any(isinstance(detail, of.Mark | of.Read | of.Wait) for detail in kinds):
        return "a look, reading or wait a little earlier or later, and no stop point between them"
    if all(isinstance(detail, of.Spray) for detail in kinds):
        return _sprays(one, first, second)
    if {*map(type, kinds)} == {of.SetDosing, of.DrawFrom}:
        return "dosing and suction are set before anything is primed, whichever comes first"
    if {*map(type, kinds)} == {of.Power, of.DrawFrom} and one.setting.pumps[_pump(one, kinds)].switched:
        return "a pump that stops itself stands still with its gun shut while its suction is moved"
    if first.detail == second.detail:
        return "the same thing twice"
    if all(isinstance(detail, of.Fill) for detail in kinds):
        return "two fillings, nothing drawn on or poured between"
    if all(isinstance(detail, of.Soak) for detail in kinds):
        return "the pails parts are rinsed in, in another order"
    if not _touched(first) & _touched(second):
        return "they have nothing in common but who does them"
    if {*map(type, kinds)} == {of.Fill, of.Drain}:  # type: ignore[arg-type]
        return "a pail is thinned before or after the rest comes into it, and before its agent does"
    return None


def _beside_a_stop_point(first: Act, second: Act) -> str | None:
    point, other = (first, second) if isinstance(first.detail, of.StopPoint) else (second, first)
    assert isinstance(point.detail, of.StopPoint)
    if other.stop_point == point.detail.number or _key(other) in point.detail.asks:
        return None
    if isinstance(other.detail, of.Power) and other.detail.on:
        return None
    free = of.Fill | of.WaterBed | of.Drain | of.Join | of.Parting | of.Power | of.Mark | of.Read
    return "the stop point neither asks it nor guards it" if isinstance(other.detail, free) else None


def _pump(one: Spoiled, kinds: tuple[of.Detail, of.Detail]) -> str:
    run = next(detail.run for detail in kinds if isinstance(detail, of.DrawFrom))
    return one.setting.runs[run].pump or ""


def _sprays(of_all: Spoiled, first: Act, second: Act) -> str | None:
    """Of one gun, one after the other."""
    one, other = first.detail, second.detail
    assert isinstance(one, of.Spray)
    assert isinstance(other, of.Spray)
    if one.run != other.run:
        return None
    if one.use == other.use and first.section == second.section and one.onto == other.onto:
        return "two parts of one spray"
    if {one.use, other.use} <= {"test", "line"}:
        return "two sprays of the line's trial, with nothing but water in it"
    walls = first.section is not None and second.section is not None and first.section.surface == second.section.surface
    rests = first.section is not None and first.section.surface in of_all.setting.rests
    if walls and one.use == other.use and (one.use == "clean" or (one.use == "mix" and rests)):
        return "the sections of a wall that nothing is waited for, in another order"
    if {one.use, other.use} == {"rinse", "flush"}:
        return "the line is on water for both, and the flush is all that was asked"
    return None


def _touched(act: Act) -> set[str]:
    """What an act changes or draws on; water from outside is there for all."""
    names = ("run", "into", "source", "to", "feed", "tank", "lot", "what", "bed", "pump")
    found = {getattr(act.detail, name, None) for name in names}
    return {name for name in found if isinstance(name, str)} - {
        "tap",
        "hydrant",
        "pond",
        "lawn",
        "ground",
        "sanitary",
        "carried_home",
    }


def _somewhere(one: Spoiled) -> str | None:
    if one.act.at in _RIG and one.how in _RIG:
        return "drums, reel and bench are at the rig"
    if isinstance(one.act.detail, _STANDS):
        return "nothing says where that is done, and the walks of all others still fit"
    return None


def _left_out(one: Spoiled) -> str | None:
    detail = one.act.detail
    if isinstance(detail, of.Wait):
        return "a wait for somebody whose work nothing the lead does next needs"
    if isinstance(detail, of.Shut) and one.kind == "left out, closed up" and isinstance(_after(one).detail, of.Spray):
        return "the gun goes on from one pail to the next"
    if isinstance(detail, of.Relieve) and _let_out_later(one):
        return "the pressure is let out again before anything comes apart"
    if isinstance(detail, of.Soak) and detail.into.startswith("pail ") and detail.what == "housing":
        return "a part that never lay in acid"
    if isinstance(detail, of.Mark) and detail.verb == "strap" and one.setting.kind == "yard":
        return "in the yard nothing rides"
    if isinstance(detail, of.Read) and _key(one.act) not in _asked(one):
        return "a reading that no stop point asks"
    if (
        isinstance(detail, of.Mark)
        and detail.what not in _asked(one)
        and detail.verb in ("look", "ask", "write", "lay_out")
    ):
        return "a look, question, note or laying out that no stop point asks"
    return None


def _after(one: Spoiled) -> Act:
    """The next act of the same person."""
    later = [act for act in one.before.acts if act.start >= one.act.end - 1e-6 and act.who == one.act.who]
    return min(later, key=lambda act: act.start)


def _let_out_later(one: Spoiled) -> bool:
    """Whether the pressure is let out again before a line comes apart or a stop point asks it."""
    for act in (act for act in one.before.acts if act.start >= one.act.end - 1e-6):
        if isinstance(act.detail, of.Relieve):
            return True
        if isinstance(act.detail, of.Parting):
            return False
        if isinstance(act.detail, of.StopPoint) and "no_pressure" in act.detail.asks:
            return False
    return False


def _sprayed(one: Spoiled) -> str | None:
    spray = one.act.detail
    assert isinstance(spray, of.Spray)
    if {spray.onto, one.how.removeprefix("onto ")} == {"lawn", "ground"}:
        return "lawn and ground are one to the water"
    hoses = one.setting.runs[spray.run].hoses
    air = all(one.before.begin.hoses[name].stock == AIR for name in hoses)
    if spray.use == "line" and air and spray.volume <= one.setting.volume_of(spray.run) * (1.0 + 1e-9):
        return "only the air of an empty hose is blown there"
    return None
