"""Whose act it is and when: the procedure as the lead's stream, cut into pages, and the second's, by event."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import groupby

from planner.frozen import dataclass
from planner.packet.blocks import Role
from planner.packet.sections.reading import Reading
from planner.plan.procedure.acts import (
    Act,
    ChangeTip,
    DrawFrom,
    Join,
    Mark,
    Pour,
    Power,
    Procedure,
    SetDosing,
    Spray,
    StopPoint,
    Tap,
    Wait,
)

_CALLED = (SetDosing, DrawFrom, Power, Tap)
_PLAIN = frozenset({"walk", "set_up", "test", "wash", "grounds", "flush", "leave"})  # phases of a job with water alone


def role_of_second(reading: Reading) -> Role:
    """Whose sheet holds what the second minds: somebody alone has it on their own."""
    procedure = procedure_of(reading)
    return "second" if procedure is None or any(act.who == "second" for act in procedure.acts) else "lead"


def procedure_of(reading: Reading) -> Procedure | None:
    """The job's acts; None where a stop holds it, or where nothing is to be done."""
    if reading.checked.held:
        return None
    procedure = reading.checked.plan.procedure
    return procedure if procedure is not None and procedure.acts else None


def on_one_sheet(procedure: Procedure) -> bool:
    """Whether a job is so small that whoever is there reads one sheet: one wall, water alone, by a line off the tap."""
    feeds = {act.detail.feed for act in procedure.acts if isinstance(act.detail, DrawFrom)}
    walls = {act.section.surface for act in procedure.acts if act.section is not None}
    runs = {act.detail.run for act in procedure.acts if isinstance(act.detail, Join)}
    stops = {act.detail.before for act in procedure.acts if isinstance(act.detail, StopPoint)}
    phases = {act.phase for act in procedure.acts}
    small = len(walls) == len(runs) == 1 and bool(feeds) and feeds <= {"tap", "hydrant"}
    return small and stops <= {"power", "coil"} and phases <= _PLAIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """Acts of the second that belong to one event of the job; `key` names it."""

    key: str
    acts: tuple[Act, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """The acts of each page in their order: the lead's from the walk to the leaving, and the second's by event.

    `rig` are acts of the second at the rig that the lead's rows are told with; they are printed on the second's sheet.
    """

    walk: tuple[Act, ...] = ()
    set_up: tuple[Act, ...] = ()
    mix: tuple[Act, ...] = ()
    wash: tuple[Act, ...] = ()
    flush: tuple[Act, ...] = ()
    rig: tuple[Act, ...] = ()
    second: tuple[Stage, ...] = ()


def sheets_of(procedure: Procedure | None) -> Sheets:
    """Every act on the sheet of who does it: the lead's stream is cut where the next phase begins, never put in another
    order.

    Of a job on one sheet all acts are one stream. What both do at the drums is on the sheet of who pours. What falls
    between two cuts stays where it falls, so a batch made between two walls stands between them.
    """
    if procedure is None:
        return Sheets()
    drums, whole = _drums_of_the_second(procedure), on_one_sheet(procedure)
    lead = (
        list(procedure.acts)
        if whole
        else [act for act in procedure.acts if act.who != "second" and act.id not in drums]
    )
    end = len(lead)

    def first(after: int, is_it: Callable[[Act], bool]) -> int:
        return next((n for n in range(after, end) if is_it(lead[n])), end)

    set_up = first(0, lambda act: act.phase != "walk")
    wash = first(set_up, lambda act: act.phase == "wash")
    mix = min(first(set_up, lambda act: act.phase == "mix"), wash)
    last = max((n for n, act in enumerate(lead) if act.phase == "wash" or act.section is not None), default=-1)
    flush = first(max(last + 1, mix), lambda act: act.phase in ("flush", "leave"))
    wash = min(wash, flush)
    mix = min(mix, wash)
    if not any(isinstance(act.detail, Pour) for act in lead[mix:wash]):
        mix = wash  # the lead only stands by: that is told where they come from
    set_up, mix, wash, flush = (_before_its_stop(lead, at) for at in (set_up, mix, wash, flush))
    return Sheets(
        walk=tuple(lead[:set_up]), set_up=tuple(lead[set_up:mix]), mix=tuple(lead[mix:wash]),
        wash=tuple(lead[wash:flush]), flush=tuple(lead[flush:]),
        rig=tuple(act for act in ([] if whole else procedure.acts)
                  if act.who == "second" and isinstance(act.detail, _CALLED)),
        second=() if whole else tuple(_stages(procedure, drums)),
    )  # fmt: skip


def _before_its_stop(lead: Sequence[Act], at: int) -> int:
    """Where a page is cut so that a stop point stands on it with what it guards."""
    asks: tuple[str, ...] = ()
    while 0 < at < len(lead):
        before = lead[at - 1]
        if isinstance(before.detail, StopPoint) and not asks:
            asks = before.detail.asks
        elif looked_at(before) not in asks:
            break
        at -= 1
    return at


def _drums_of_the_second(procedure: Procedure) -> frozenset[str]:
    """Acts at the drums, by id, of stretches of mixing in which the second pours: both stand there with one sheet."""
    found: set[str] = set()
    for mixing, stretch in groupby(
        (act for act in procedure.acts if act.phase != "grounds"), lambda act: act.phase == "mix"
    ):
        acts = [act for act in stretch if not isinstance(act.detail, Wait)]
        pours = [act for act in acts if isinstance(act.detail, Pour)]
        if mixing and pours and all(act.who == "second" for act in pours):
            found |= {act.id for act in acts if act.at == "drums"}
    return frozenset(found)


def trials_of(procedure: Procedure) -> tuple[tuple[float, float], ...]:
    """From when to when [s] each draw test lasts: from its stop point until the gun opens again."""
    found = []
    for read in procedure.acts:
        if read.expect is None or read.expect.what != "jug_down":
            continue
        stops = [act.start for act in procedure.acts if isinstance(act.detail, StopPoint) and act.start <= read.start]
        sprays = (act.start for act in procedure.acts if isinstance(act.detail, Spray) and act.start >= read.end)
        found.append((max(stops, default=read.start), next(sprays, read.end)))
    return tuple(found)


def tried(act: Act, trials: tuple[tuple[float, float], ...]) -> bool:
    """Whether an act begins in a draw test."""
    return any(begins <= act.start < ends for begins, ends in trials)


def _stages(procedure: Procedure, drums: frozenset[str]) -> Iterator[Stage]:
    """The second's acts by event: what only goes on beside the work belongs to the event it begins in."""
    trials = trials_of(procedure)
    key = "first"
    made: list[tuple[str, Act]] = []
    for act in procedure.acts:
        phase = act.phase
        if phase == "test":
            key = "test"
        elif phase in ("set_up", "flush_first"):
            key = "first" if key == "first" else "next"
        elif phase == "mix":
            key = "mix" if act.id in drums or (key == "mix" and isinstance(act.detail, Wait)) else "mixes"
        elif phase == "wash" and (act.who == "lead" or act.at == "rig"):
            key = "trial" if tried(act, trials) else "wash"
        elif phase in ("flush", "leave"):
            key = "leave"
        if act.who == "second" or act.id in drums:
            made.append((key, act))
        elif act.who == "both" and isinstance(act.detail, StopPoint):
            made.append(("beside", act))
    made = _on_again(procedure, made)
    events = [(name, [act for _, act in stretch]) for name, stretch in groupby(made, key=lambda one: one[0])]
    for n in range(1, len(events) - 1):
        if [events[n - 1][0], events[n][0], events[n + 1][0]] == ["wash", "mixes", "wash"]:
            events[n] = ("wash", events[n][1])  # the second goes on with what they are at
    for name, parts in groupby(events, key=lambda one: one[0]):
        yield Stage(key=name, acts=tuple(act for _, acts in parts for act in acts))


def for_a_tip(procedure: Procedure, off: Act, on: Act) -> bool:
    """Whether somebody switches a pump off and on again, and a tip is changed meanwhile."""
    switches = [act.detail.on for act in (off, on) if isinstance(act.detail, Power)]
    tips = (act for act in procedure.acts if isinstance(act.detail, ChangeTip))
    return switches == [False, True] and any(off.end <= tip.start < on.start for tip in tips)


def _on_again(procedure: Procedure, made: Sequence[tuple[str, Act]]) -> list[tuple[str, Act]]:
    """A pump that is off for a tip is on again in the event it was switched off in."""
    found: list[tuple[str, Act]] = []
    for key, act in made:
        last = found[-1] if found else None
        again = last is not None and for_a_tip(procedure, last[1], act)
        found.append((last[0] if last is not None and again else key, act))
    return found


def looked_at(act: Act) -> str:
    """What a look, a dress or a reading of the wind is asked for by; nothing of any other act."""
    if act.expect is not None:
        return "wind" if act.expect.what == "wind" else ""
    looks = isinstance(act.detail, Mark) and act.detail.verb in ("look", "wear", "ask")
    return act.detail.what if looks and isinstance(act.detail, Mark) else ""
