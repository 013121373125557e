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
            free = isinstance(one.act.detail, of.Mark) and one.act.detail.verb == "uncover"
            return "either of them may take a cover off" if free else None
        case "wrong amount":
            stirred = isinstance(one.act.detail, of.Stir) and "2.0" not in one.how
            return "the contract says no least of stirring, and the act lasts as long" if stirred else None
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
        point, other = (first, second) if isinstance(first.detail, of.StopPoint) else (second, first)
        asks = point.detail.asks if isinstance(point.detail, of.StopPoint) else ()
        number = point.detail.number if isinstance(point.detail, of.StopPoint) else None
        if other.stop_point != number and _key(other) not in asks and isinstance(other.detail, of.Fill | of.WaterBed):
            return "the stop point guards and asks nothing of that water"
        return None
    if all(isinstance(detail, of.Wait) for detail in kinds):
        return "two waits"
    if all(isinstance(detail, of.Mark | of.Read | of.Wait) for detail in kinds):
        return "two looks, readings or waits, and no stop point between them"
    if any(isinstance(detail, of.Mark | of.Read | of.Wait) for detail in kinds):
        return "a look, reading or wait a little earlier or later, and no stop point between them"
    if all(isinstance(detail, of.Spray) for detail in kinds):
        return _sprays(first, second)
    if {type(detail) for detail in kinds} == {of.SetDosing, of.DrawFrom}:
        return "dosing and suction are set before anything is primed, whichever comes first"
    if {type(detail) for detail in kinds} == {of.Power, of.DrawFrom} and one.setting.pumps[_pump(one, kinds)].switched:
        return "a pump that stops itself stands still with its gun shut while its suction is moved"
    if not _touched(first) & _touched(second):
        return "they have nothing in common but who does them"
    if {type(detail) for detail in kinds} == {of.Fill, of.Drain}:
        return "a pail is thinned before or after the rest comes into it, and before its agent does"
    return None


def _pump(one: Spoiled, kinds: tuple[of.Detail, of.Detail]) -> str:
    run = next(detail.run for detail in kinds if isinstance(detail, of.DrawFrom))
    return one.setting.runs[run].pump or ""


def _sprays(first: Act, second: Act) -> str | None:
    """Of one gun, one after the other."""
    one, other = first.detail, second.detail
    assert isinstance(one, of.Spray) and isinstance(other, of.Spray)
    if one.run != other.run:
        return None
    if one.use == other.use and first.section == second.section and one.onto == other.onto:
        return "two parts of one spray"
    if {one.use, other.use} == {"rinse", "flush"}:
        return "the line is on water for both, and the flush is all that was asked"
    return None


def _touched(act: Act) -> set[str]:
    """What an act changes or draws on; water from outside is there for all."""
    names = ("run", "into", "source", "to", "feed", "tank", "lot", "what", "bed", "pump")
    found = {getattr(act.detail, name, None) for name in names}
    return {name for name in found if isinstance(name, str)} - {"tap", "hydrant", "pond", "lawn", "ground"}


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
    if isinstance(detail, of.Read) and _key(one.act) not in _asked(one):
        return "a reading that no stop point asks"
    if isinstance(detail, of.Mark) and detail.what not in _asked(one) and detail.verb in ("look", "ask", "write"):
        return "a look, question or note that no stop point asks"
    return None


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
