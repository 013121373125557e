"""The people: where each is, how far it is to the next act, what holds them; nobody is in two places.

The lead's acts leave no gap.  An open gun holds its person: from a spray the next act is another with the same gun, at
once, or the gun is shut.  A walk comes first in its act; time on the grounds counts as walked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from planner.plan.procedure import acts
from planner.plan.procedure.acts import Act, Mark, Shut, Spray, StopPoint, Wait
from planner.rehearsal.breach import Log
from planner.rehearsal.setting import Setting

AT_ONCE: Final = 1e-6
"""Moments nearer than this are one [s]."""

_RIG: Final = frozenset({"desk", "rig", "drums", "reel", "bench"})
_PLACES: Final = _RIG | {"wall", "grounds"}
_WHO: Final = frozenset({"lead", "second", "both"})
_DONE_AT: Final = {
    acts.WaterBed: frozenset({"grounds"}), acts.Spray: frozenset({"wall"}), acts.Shut: frozenset({"wall"}),
    acts.ChangeTip: frozenset({"wall"}),
    **dict.fromkeys(
        (acts.Fill, acts.Pour, acts.Stir, acts.DrawFrom, acts.Prime, acts.Tap, acts.SetDosing, acts.Power,
         acts.Join, acts.Parting),
        _RIG,
    ),
}  # fmt: skip
"""Where on a site what is done; the rest may be done anywhere."""

_PHASES: Final = {
    "wash": frozenset({"walk", "set_up", "flush_first", "test", "mix", "wash", "grounds", "flush", "leave"}),
    "yard": frozenset({"test", "take_down", "mix", "soak", "build_up", "leave"}),
}


@dataclass(slots=True)
class _Person:
    name: str
    free: float
    place: str = "rig"
    away: float = 0.0
    gun: str | None = None
    last: str = ""


def run_of(act: Act, setting: Setting) -> str | None:
    """The run an act names."""
    detail = act.detail
    if isinstance(detail, StopPoint):
        return detail.about
    if isinstance(detail, Mark):
        behind = detail.what.partition(" ")[2]
        return behind if behind in setting.runs else None
    run: str | None = getattr(detail, "run", None)
    return run


def walks(setting: Setting, everything: Sequence[Act], log: Log) -> list[float]:
    """The walk [s] each act begins with; on the way every breach of what people can do."""
    starts = everything[0].start if everything else 0.0
    people = {"lead": _Person("lead", starts)}
    if setting.crew > 1:
        people["second"] = _Person("second", starts)
    shortest = min((setting.length_of(name) for name in setting.runs), default=0.0)
    ends: dict[str, float] = {}
    points = {act.detail.number: act for act in everything if isinstance(act.detail, StopPoint)}
    for act in everything:
        if act.id in ends:
            log.add("order", act.id, f"two acts are called {act.id}")
        ends[act.id] = act.end
    found: list[float] = []
    before = starts
    for act in everything:
        _understood(setting, act, log)
        if act.start < before - AT_ONCE:
            log.add("order", act.id, f"it begins {log.time(before - act.start)} before the act that stands before it")
        before = max(before, act.start)
        for other in act.after:
            if other not in ends:
                log.add("order", act.id, f"it comes after {other}, which is not an act")
            elif ends[other] > act.start + AT_ONCE:
                log.add("people", act.id, f"it begins {log.time(ends[other] - act.start)} before {other} is done")
        guard = points.get(act.stop_point) if act.stop_point is not None else None
        if guard is not None and guard.id not in act.after and _people(guard) - _people(act):
            told = f"somebody else passes stop point {act.stop_point} before it, and it does not come after {guard.id}"
            log.add("people", act.id, told)
        names = ("lead", "second") if act.who == "both" else (act.who,)
        who = [people[name] for name in names if name in people]
        if act.who in _WHO and len(who) < len(names):
            log.add("people", act.id, f"it is for {act.who}, and nobody but the lead is there")
        run = run_of(act, setting)
        far = setting.length_of(run) if run is not None and run in setting.runs else shortest
        walk = max((_walk(person, act, far / setting.pace) for person in who), default=0.0)
        for person in who:
            _does(person, act, walk, log)
        found.append(walk)
    for person in people.values():
        if person.gun is not None:
            log.add("people", person.last, f"the {person.name} has the gun of {person.gun} still open")
    _clock(setting, everything, log)
    return found


def _people(act: Act) -> set[str]:
    return {"lead", "second"} if act.who == "both" else {act.who}


def _understood(setting: Setting, act: Act, log: Log) -> None:
    if act.who not in _WHO or act.at not in _PLACES:
        log.add("people", act.id, f"nobody knows who {act.who} is, or where {act.at} is")
    place = _DONE_AT.get(type(act.detail)) if setting.kind == "wash" else None
    if place is not None and act.at not in place:
        log.add("people", act.id, f"it is not done at the {act.at}")
    if act.phase not in _PHASES[setting.kind]:
        log.add("order", act.id, f"a {setting.kind} job has no part called {act.phase}")
    hands = act.lasts if act.hands is None else act.hands
    if not act.lasts >= 0.0 or not 0.0 <= hands <= act.lasts + AT_ONCE:
        log.add("people", act.id, f"it lasts {log.time(act.lasts)} and holds somebody {log.time(hands)}")


def _walk(person: _Person, act: Act, whole: float) -> float:
    """The walk to an act, and the person there."""
    if act.at == "grounds":
        person.away += act.lasts
        return 0.0
    place = "rig" if act.at in _RIG else "wall"
    walk = 0.0 if place == person.place else max(whole - person.away, 0.0)
    person.place, person.away = place, 0.0
    return walk


def _does(person: _Person, act: Act, walk: float, log: Log) -> None:
    """One of the crew at an act; what kept them from it."""
    held = act.lasts if act.hands is None else act.hands
    if act.start < person.free - AT_ONCE:
        busy = log.time(person.free - act.start)
        log.add("people", act.id, f"the {person.name} is at {person.last} for another {busy}")
    elif person.name == "lead" and act.start > person.free + AT_ONCE:
        log.add("people", act.id, f"the lead has done nothing for {log.time(act.start - person.free)}")
    if walk > held + AT_ONCE:
        log.add("people", act.id, f"the {person.name} walks {log.time(walk)} to it, and it lasts {log.time(held)}")
    detail = act.detail
    if person.gun is not None:
        own = isinstance(detail, Spray | Shut) and detail.run == person.gun
        if not own or walk > AT_ONCE:
            log.add("people", act.id, f"the {person.name} holds the gun of {person.gun}, and it is open")
        elif act.start > person.free + AT_ONCE:
            log.add("people", act.id, f"the gun of {person.gun} is open and sprays nothing that is counted")
    if isinstance(detail, Spray):
        person.gun = detail.run
    elif isinstance(detail, Shut) and detail.run == person.gun:
        person.gun = None
    if isinstance(detail, Wait) and abs(detail.seconds - (act.lasts - walk)) > AT_ONCE:
        log.add("people", act.id, f"a wait of {log.time(detail.seconds)} lasts {log.time(act.lasts - walk)}")
    person.free = max(person.free, act.start + held)
    person.last = act.id


def _clock(setting: Setting, everything: Sequence[Act], log: Log) -> None:
    """First and last act against the plan's clock."""
    if not everything:
        return
    begins, ends = everything[0].start, max(act.end for act in everything)
    if setting.begins is not None and abs(begins - setting.begins) > AT_ONCE:
        log.add(
            "people", everything[0].id, f"the clock begins {log.time(begins - setting.begins)} before the first act"
        )
    if setting.ends is not None and abs(ends - setting.ends) > AT_ONCE:
        late = log.time(ends - setting.ends)
        log.add("people", everything[-1].id, f"the last act is done {late} after the clock has the job done")
