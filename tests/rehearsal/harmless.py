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
            return _amount(one)
        case "sprayed for something else":
            yard = one.setting.kind == "yard" and one.how == "use flush"
            return "in the yard no flush is printed, and there is only water in the line" if yard else None
    return None


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


def _beside_a_stop_point(first: Act, second: Act) -> str | None:
    point, other = (first, second) if isinstance(first.detail, of.StopPoint) else (second, first)
    assert isinstance(point.detail, of.StopPoint)
    if other.stop_point == point.detail.number or _key(other) in point.detail.asks:
        return None
    if isinstance(other.detail, of.Power) and other.detail.on:
        return None
    free = of.Fill | of.WaterBed | of.Drain | of.Join | of.Parting | of.Power | of.Mark
    return "the stop point neither asks it nor guards it" if isinstance(other.detail, free) else None


def _pump(one: Spoiled, kinds: tuple[of.Detail, of.Detail]) -> str:
    run = next(detail.run for detail in kinds if isinstance(detail, of.DrawFrom))
    return one.setting.runs[run].pump or ""


def _sprays(first: Act, second: Act) -> str | None:
    """Of one gun, one after the other."""
    one, other = first.detail, second.detail
    assert isinstance(one, of.Spray)
    assert isinstance(other, of.Spray)
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
    if (
        isinstance(detail, of.Mark)
        and detail.what not in _asked(one)
        and detail.verb in ("look", "ask", "write", "lay_out")
    ):
        return "a look, question, note or laying out that no stop point asks"
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
