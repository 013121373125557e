"""The acts once all are made: in order of their start, each with its id and the ids of what it waits for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from planner.plan.procedure.acts import Act, Mark, StopPoint

if TYPE_CHECKING:
    from planner.plan.procedure.book import Draft

_LETTER: Final[Mapping[str, str]] = {
    "walk": "w", "set_up": "s", "flush_first": "f", "test": "t", "mix": "m", "wash": "a", "grounds": "g", "flush": "r",
    "leave": "l", "take_down": "d", "soak": "k", "build_up": "b",
}  # fmt: skip


def numbered(made: Sequence[Draft]) -> tuple[Act, ...]:
    """Every act by its start, with its id."""
    rank = {id(draft): number for number, draft in enumerate(made)}
    drafts = sorted(made, key=lambda one: (one.start, rank[id(one)]))
    counted: dict[str, int] = {}
    ids: dict[int, str] = {}
    for one in drafts:
        letter = _LETTER[one.phase]
        counted[letter] = counted.get(letter, 0) + 1
        ids[id(one)] = f"{letter}.{counted[letter]}"
    doing: dict[str, list[Draft]] = {}
    for one in drafts:
        for key in _done(one):
            doing.setdefault(key, []).append(one)
    points = {draft.detail.number: draft for draft in drafts if isinstance(draft.detail, StopPoint)}

    def after(one: Draft) -> tuple[str, ...]:
        """What somebody else has to have done first: what was said, its stop point, what a stop point asks."""
        first = [*one.after, *([points[one.stop]] if one.stop is not None else [])]
        for key in one.detail.asks if isinstance(one.detail, StopPoint) else ():
            first += [other for other in doing.get(key, ()) if other.end <= one.start + 1e-6][-1:]
        return tuple(dict.fromkeys(ids[id(other)] for other in first if one.who != "both" and other.who != one.who))

    return tuple(
        Act(
            id=ids[id(draft)], phase=draft.phase, who=draft.who, at=draft.at, detail=draft.detail, start=draft.start,
            lasts=draft.lasts, hands=draft.hands, after=after(draft),
            section=draft.section, expect=draft.expect, stop_point=draft.stop, why=draft.why,
        )
        for draft in drafts
    )  # fmt: skip


def _done(draft: Draft) -> set[str]:
    """What an act did or read that a stop point may ask."""
    done = {draft.detail.what} if isinstance(draft.detail, Mark) and draft.detail.verb != "uncover" else set[str]()
    return done if draft.expect is None else {*done, draft.expect.what}
