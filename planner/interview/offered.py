"""What is offered before a record's questions: the last revision, or a draft that somebody goes on from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.inputs.reading.files import shown
from planner.interview.answers import yes
from planner.interview.asking import Asking, Question, Walk
from planner.recording.asked import Asked, Offer, is_older, merged, of_draft
from planner.recording.drafts import Draft, drafts_beside

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened


def offered(asked: Asked, archive: Opened) -> Offer:
    """A draft that somebody goes on from, else the last revision. Raises ArchiveRefused, Ended."""
    left = []
    for draft in drafts_beside(asked.file):
        found = of_draft(draft, asked, archive)
        if isinstance(found, str):
            print(f"{shown(draft.path)} {found}")
        elif found is not None:
            older = is_older(draft, asked)
            if _wanted(draft, found, older):
                for remark in draft.remarks:
                    print(f"  not read: {remark.removeprefix('# ')}")
                return merged(found) if older else found
            left.append(draft)
    for draft in left:
        print(f"Starting over. {shown(draft.path)} is left as it is; delete it when you no longer need it.")
    return Offer(asked=asked, given=asked.last)


def _wanted(draft: Draft, found: Offer, older: bool) -> bool:
    return Asking().through(lambda: _go_on(draft, found, older))


def _go_on(draft: Draft, found: Offer, older: bool) -> Walk[bool]:
    number, asked = len(found.given.answers), found.asked
    holds = f"{shown(draft.path)} holds {count(number, 'answer')}"
    if older:
        holds += f" and is older than revision {asked.revision}"
    if asked.newer and not asked.revision:
        holds += f", of plan {asked.plan['plan']}; {asked.newer} was printed since"
    more = "Yes goes on from what it says"
    more += ", beside what the revision says; where both say something, the draft's is offered." if older else "."
    more += " No starts over and leaves it as it is."
    # An older one wants a word: one Enter too many would lay it over what came in since.
    answer = yield Question(
        key="go on", about=f"{holds}. Go on from there", read=yes, blank=None if older else "yes", more=more
    )
    return answer is not False


def count(number: int, what: str) -> str:
    """`1 answer`, `2 answers`."""
    return f"{number} {what}{'' if number == 1 else 's'}"
