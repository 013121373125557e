"""What a record is asked from, whoever asks: the plan it is of, what the last revision or a draft says, and its draft.

Answers revise the last revision against its own plan, whatever was printed since. The draft is written after each
answer and says the revision it was begun from: one that came in since is offered beside it, and a record is kept only
over the revision it was made from (`after` of `store.keep_record`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from planner.contract.record import planned_of
from planner.frozen import dataclass
from planner.inputs.reading.handwriting import is_blank
from planner.inputs.record import Planned, same_job
from planner.recording.drafts import Draft, keep_draft
from planner.recording.earlier import Earlier, earlier_of, leaves, over
from planner.recording.packet_plan import is_sound
from planner.recording.questions import Question, questions
from planner.recording.sources import Source, from_answers
from planner.units import System

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.contract.plan import PlanJson

ANSWERS: Final = "your answers"
TYPED: Final = "typed in"
"""What the source of a record is called whose figures somebody was asked for, odd ones twice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of: the job's `file`, its plan, how its company writes, and the last `revision`, 0 for none, with
    what it says and when it was kept (`at`, ISO in UTC).
    `newer` is a plan printed since the one asked of; `adding`: only
    what is not written yet, remarks first."""

    file: Path
    plan: PlanJson
    planned: Planned
    system: System
    percent: str
    revision: int = 0
    last: Earlier = field(default_factory=Earlier)
    at: str = ""
    newer: str = ""
    adding: bool = False

    def questions(self) -> list[Question]:
        """Every question of the plan."""
        return list(questions(self.plan, self.planned, self.system, self.percent))

    def told(self, answers: Mapping[str, str]) -> dict[str, str]:
        """Those answers that say something, in the order of the questions."""
        found = {one.path: answers.get(one.path, "") for one in self.questions()}
        return {path: text for path, text in found.items() if text and not is_blank(text)}

    def of(self, plan: PlanJson) -> Asked:
        """The same asked of another plan, which may be of the job's earlier name."""
        if plan["plan"] == self.plan["plan"]:
            return replace(self, plan=plan)
        return replace(self, plan=plan, planned=_named(plan, self.planned), newer=str(self.plan["plan"]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What the questions begin with: the answers of a draft, where one is gone on from, else of the last revision."""

    asked: Asked
    given: Earlier
    draft: Draft | None = None

    @property
    def said_as(self) -> str:
        """Where the answers offered come from."""
        return "as in the draft" if self.draft is not None else f"as in revision {self.asked.revision}"


def with_last(asked: Asked, archive: Opened) -> Asked:
    """The same with the last revision of the job, where there is one, under the plan it is of: what was done was done
    from that, whatever was printed since. Raises ArchiveRefused."""
    from planner.archive.kept import store

    record = store.record_of(archive, asked.planned.job)
    if record is None:
        return asked
    raw = record.content.get("as_written")
    kept = store.plan_by_hash(archive, record.plan) if record.plan is not None else None
    if kept is not None and is_sound(kept.content):
        asked = asked.of(kept.content)
    same = asked.planned
    last = earlier_of(raw, same, same, asked.questions()) if isinstance(raw, Mapping) else Earlier()
    return replace(asked, revision=record.revision, last=last, at=record.at)


def of_draft(draft: Draft, asked: Asked, archive: Opened) -> Offer | str | None:
    """What a draft offers, or what is wrong with it; None where it says nothing that is not recorded."""
    found = read_draft(draft, asked, archive)
    return None if isinstance(found, Offer) and says_nothing_new(found) else found


def says_nothing_new(found: Offer) -> bool:
    """Whether a draft is blank, or all of it is in the last revision."""
    own, last = flat(found.given), flat(found.asked.last)
    older = found.draft is not None and is_older(found.draft, found.asked)
    return not own or (own.items() <= last.items() if older else own == last)


def read_draft(draft: Draft, asked: Asked, archive: Opened) -> Offer | str:
    """What a draft says under the plan it is of, or what is wrong with it. Raises ArchiveRefused."""
    from planner.archive.kept import store

    if draft.raw is None:
        return "has a mistake in it: fix that, or delete it; `--from` shows the mistake"
    job, number = draft.raw.get("job"), draft.raw.get("plan")
    if not isinstance(job, str) or not any(
        one and same_job(job, one) for one in (asked.planned.job, asked.planned.once)
    ):
        return f"is not of {asked.planned.job}: take it in with `--from` for its own job, or take it away"
    then = asked.planned
    if isinstance(number, str) and number != asked.plan["plan"]:
        kept = store.plan_of(archive, asked.planned.once or asked.planned.job, number)
        kept = kept or store.plan_of(archive, asked.planned.job, number)
        if kept is None or not is_sound(kept.content):
            return f"is of plan {number[:40]}, which the archive does not hold: take it in with `--from`"
        if not asked.revision:
            asked = asked.of(kept.content)
        then = _named(kept.content, asked.planned)
    given = earlier_of(draft.raw, then, asked.planned, asked.questions())
    return Offer(asked=asked, given=given, draft=draft)


def _named(plan: PlanJson, asked: Planned) -> Planned:
    """A plan's own names under the job's name of now."""
    return replace(planned_of(plan), job=asked.job, once=plan["id"] if plan["id"] != asked.job else "")


def is_older(draft: Draft, asked: Asked) -> bool:
    """Whether a revision came in since a draft was begun, which it then knows nothing of."""
    if draft.begun is not None:
        return draft.begun < asked.revision
    return bool(asked.revision) and draft.at <= asked.at


def merged(found: Offer) -> Offer:
    """A draft over the revision that came in beside it: what either says is offered."""
    last = found.asked.last
    answers, rest = {**last.answers, **found.given.answers}, over(found.given.rest, last.rest)
    return replace(found, given=replace(found.given, answers=answers, rest=rest))


def flat(given: Earlier) -> dict[str, str]:
    """Everything said, asked for or not, by its key path."""
    return {**dict(leaves(given.rest)), **given.answers}


class Kept:
    """The draft of one sitting, written after each answer: a window that is closed, or a lost line, loses nothing."""

    def __init__(self, offer: Offer) -> None:
        self._offer = offer
        self._remarks = offer.draft.remarks if offer.draft is not None else ()
        self.path = offer.draft.path if offer.draft is not None else None

    @property
    def begun(self) -> int:
        """The revision it goes on from."""
        return self._offer.asked.revision

    @property
    def remarks(self) -> tuple[str, ...]:
        """What the draft gone on from could not read."""
        return self._remarks

    @property
    def own(self) -> bool:
        """Whether it was begun in this sitting."""
        return self.path is not None and self._offer.draft is None

    def keep(self, answers: Mapping[str, str]) -> None:
        """Keep the answers so far, where they say what the last revision does not."""
        asked, given = self._offer.asked, self._offer.given
        told = asked.told(answers)
        if not (told or given.rest) or (self.path is None and flat(replace(given, answers=told)) == flat(given)):
            return
        source = source_of(asked, told, given)
        path, _ = keep_draft(
            source, (), [asked.file], asked.planned.job, self.path, begun=self.begun, remarks=self._remarks
        )
        self.path = path or self.path


def source_of(asked: Asked, told: Mapping[str, str], given: Earlier) -> Source:
    """Answers as a record of the plan they were asked of, with what nobody is asked for."""
    labels = {question.path: question.about for question in asked.questions()}
    whole = {"job": asked.planned.job, "plan": str(asked.plan["plan"]), **told}
    return from_answers(whole, TYPED, ANSWERS, labels, given.rest)
