"""What lead and second wait for: what has no word of its own is called for by one, and its end is called out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby

from planner.frozen import dataclass
from planner.plan.procedure.acts import Act, Pour, Shut, Spray, StopPoint, Wait

_SHORT = 30.0  # s; a wait that is no longer than this over a call of the second is that call's


@dataclass(frozen=True, slots=True, kw_only=True)
class Waited:
    """Acts by their ids: those of the second that begin on the lead's "Next" and that end in "Done", and those of the
    lead that end in "Go on"."""

    called: frozenset[str] = frozenset()
    done: frozenset[str] = frozenset()
    go_on: frozenset[str] = frozenset()


def waited_for(acts: Sequence[Act], word: Callable[[Act], str]) -> Waited:
    """What the waits of both are for; `word` is an act's own call, by which no other is needed."""
    called, done, go_on = set[str](), set[str](), set[str]()
    lead = [act for act in acts if act.who != "second" and not isinstance(act.detail, StopPoint)]
    parts = [(key, list(part)) for key, part in groupby(lead, key=lambda act: isinstance(act.detail, Wait))]
    for n, (waits, stretch) in enumerate(parts):
        meant = meanwhile(acts, stretch) if waits else []
        if not meant or any(isinstance(act.detail, Pour) or _jug(act) for act in meant) or word(meant[-1]):
            continue
        # At a wall the lead's rows tell of guns and calls; each sees what the other one sprays.
        before, after = (parts[at][1] if 0 <= at < len(parts) else [] for at in (n - 1, n + 1))
        if meant[-1].section is not None or (before and after and _row(before[-1]) and _sprays(after[0])):
            continue
        called |= {meant[0].id} if not any(word(act) for act in meant) else set()
        done.add(meant[-1].id)
    for wait in acts:
        if isinstance(wait.detail, Wait) and wait.who == "second":
            does = [act for act in lead if not isinstance(act.detail, Wait) and _within(wait, act) > 0.0]
            go_on |= {act.id for act in does[-1:]}
    return Waited(called=frozenset(called), done=frozenset(done), go_on=frozenset(go_on))


def meanwhile(acts: Sequence[Act], waits: Sequence[Act]) -> list[Act]:
    """What the second does that these waits of the lead are for, in order; beds and tanks are nobody's to wait for."""
    return [
        act for act in acts if act.who == "second" and act.phase != "grounds" and any(over(wait, act) for wait in waits)
    ]


def over(wait: Act, call: Act) -> bool:
    """Whether the lead only waits for a call of the second."""
    within = _within(wait, call)
    return within > 0.0 and wait.lasts - within <= _SHORT


def _within(wait: Act, act: Act) -> float:
    return min(wait.end, act.end) - max(wait.start, act.start)


def _sprays(act: Act) -> bool:
    return isinstance(act.detail, Spray) and act.section is not None


def _row(act: Act) -> bool:
    return _sprays(act) or (isinstance(act.detail, Shut) and act.phase == "wash")


def _jug(act: Act) -> bool:
    return act.expect is not None and act.expect.what == "jug_down"
