"""A record asked for on the terminal: what the last revision says is offered, what is odd is asked again."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from planner.commands import asking
from planner.commands.asking import BACK, HELP, STOP, USUAL, Asking, Ended, Unfit, line_of
from planner.commands.new_answers import yes
from planner.commands.packet_plan import is_sound
from planner.commands.record_doubts import doubts
from planner.commands.record_earlier import Earlier, earlier_of
from planner.commands.record_json import planned_of, record_json
from planner.commands.record_questions import Question, in_unit, questions
from planner.commands.record_sources import Source, from_answers, latest_draft
from planner.inputs.files import read_file, shown
from planner.inputs.handwriting import is_blank
from planner.inputs.models.record import Record
from planner.inputs.record import Planned, joined_record
from planner.units import System

if TYPE_CHECKING:
    from planner.archive.opening import Opened

Json = Mapping[str, Any]
_ANSWERS: Final = "your answers"
_ENDS: Final = "."


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """What was answered: `keep` it as the record, or as a draft; `draft` is the one that was gone on from.

    `confirmed` are the key paths whose odd figures somebody wrote twice.
    """

    source: Source
    keep: bool
    draft: Path | None
    confirmed: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked of: the job's `file`, its plan, how its company writes, and the last `revision`, 0 for none, with
    what it says and when it was kept (`at`, ISO in UTC)."""

    file: Path
    plan: Json
    planned: Planned
    system: System
    percent: str
    revision: int = 0
    last: Earlier = field(default_factory=Earlier)
    at: str = ""

    def questions(self) -> list[Question]:
        """Every question of the plan."""
        return list(questions(self.plan, self.planned, self.system, self.percent))


def with_last(asked: Asked, archive: Opened) -> Asked:
    """The same with the last revision of the job, where there is one. Raises ArchiveRefused."""
    from planner.archive import store

    record = store.record_of(archive, asked.planned.job)
    if record is None:
        return asked
    raw = record.content.get("as_written")
    kept = store.plan_by_hash(archive, record.plan) if record.plan is not None else None
    then = planned_of(kept.content) if kept is not None and is_sound(kept.content) else asked.planned
    last = earlier_of(raw, then, asked.planned, asked.questions()) if isinstance(raw, Mapping) else Earlier()
    return replace(asked, revision=record.revision, last=last, at=record.at)


def ask(asked: Asked) -> Answered | None:
    """What somebody answers; None where that is nothing at all."""
    asking.ready()
    print(f"{asked.planned.job}  {asked.plan['title']}, plan {asked.plan['plan']}")
    print(f"Write what was done; a number alone takes the unit in brackets. `{HELP}` explains, `{BACK}` goes to the")
    print(f"question before, `{STOP}` keeps the answers for later, `{_ENDS}` ends the questions.")
    if asked.revision:
        print(f"Revision {asked.revision} is in the archive; Enter takes what it says, `{USUAL}` leaves it blank.")
    for name in asked.last.lost:
        print(f"Revision {asked.revision} speaks of {name}, which the plan has no more: that is left out.")
    try:
        draft, given = _draft(asked)
    except Ended:
        return None
    said_as = "as in the draft" if draft is not None else f"as in revision {asked.revision}"
    dialogue = Asking(ahead=dict(given.answers), said_as=said_as, ends=_ENDS)
    confirmed = {(path, text) for path, text in given.answers.items()}
    twice: set[str] = set()
    how = "done"
    try:
        dialogue.through(lambda: _walk(asked, dialogue, confirmed, twice))
    except Ended as ended:
        how = ended.how
    if not dialogue.answers and (how != "done" or not given.answers):
        return None
    answers = {**dialogue.ahead, **dialogue.answers}
    told = {path: text for path, text in _in_order(asked, answers) if text and not is_blank(text)}
    if not told and not given.rest:
        return None
    labels = {question.path: question.about for question in asked.questions()}
    whole = {"job": asked.planned.job, "plan": str(asked.plan["plan"]), **told}
    source = from_answers(whole, "typed in", _ANSWERS, labels, given.rest)
    keep = how != "stop" and _agreed(asked, told, given.answers, broken=how != "done")
    return Answered(source=source, keep=keep, draft=draft, confirmed=frozenset(twice))


def _in_order(asked: Asked, answers: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    yield from ((one.path, answers[one.path]) for one in asked.questions() if one.path in answers)


def _draft(asked: Asked) -> tuple[Path | None, Earlier]:
    """A draft of this plan that somebody goes on from, else the last revision. Raises Ended."""
    draft = latest_draft(asked.file)
    if draft is not None and _kept_at(draft) <= asked.at:
        draft = None  # what it held is recorded since, or another record is
    raw = _raw(draft) if draft is not None else {}
    if draft is None or raw.get("job") != asked.planned.job or raw.get("plan") != asked.plan["plan"]:
        if draft is not None:
            print(f"{shown(draft)} is another plan's, or has a slip in it: take it in with --from, or take it away.")
        return None, asked.last
    found = earlier_of(raw, asked.planned, asked.planned, asked.questions())
    holds = f"{shown(draft)} holds {_count(len(found.answers), 'answer')}"
    while True:
        answer = line_of(f"{holds}. Go on from there (Enter: yes): ")
        try:
            return (draft, found) if not answer or yes(answer) else (None, asked.last)
        except Unfit as unfit:
            print(f"  {unfit}; write `yes` or `no`")


def _kept_at(draft: Path) -> str:
    """When a draft was written, as the archive writes times."""
    written = datetime.datetime.fromtimestamp(draft.stat().st_mtime, datetime.UTC)
    return written.isoformat(timespec="microseconds")


def _raw(draft: Path) -> Mapping[str, Any]:
    tree = read_file(draft)
    return tree.root.plain() if tree.root is not None and not tree.faults else {}


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _agreed(asked: Asked, told: Mapping[str, str], before: Mapping[str, str], *, broken: bool) -> bool:
    """Whether it is to be kept; where the questions were broken off, or nobody is there any more, it is not."""
    count = len(told)
    if asked.revision:
        changed = sum(told.get(path, "") != before.get(path, "") for path in {*told, *before})
        what = f"Keep this as revision {asked.revision + 1} ({_count(count, 'answer')}, {changed} changed)?"
    else:
        what = f"Keep {f'these {count} answers' if count > 1 else 'this answer'} as the record?"
    try:
        answer = line_of(f"{what} {'[y/N]' if broken else '[Y/n]'} ").casefold()
    except Ended:
        return False
    return answer in ("y", "yes") or (not answer and not broken)


def _walk(
    asked: Asked, dialogue: Asking, confirmed: set[tuple[str, str]], twice: set[str]
) -> asking.Walk[None]:  # fmt: skip
    for question in asked.questions():
        planned = f", planned {question.planned}" if question.planned else ""
        yield asking.Question(
            key=question.path,
            about=question.about + planned,
            unit=question.unit,
            read=_reader(asked, question, dialogue, confirmed, twice),
            blank="not written",
            more=question.more or _explained(question.path),
        )


def _reader(
    asked: Asked, question: Question, dialogue: Asking, confirmed: set[tuple[str, str]], twice: set[str]
) -> Callable[[str], str | None]:
    """Reads an answer as a record's box does; what is hardly meant is asked again, and the same again is taken."""
    path = question.path

    def read(text: str) -> str | None:
        if is_blank(text):
            return None
        given = in_unit(text, question.unit)
        source = from_answers({"job": asked.planned.job, path: given}, _ANSWERS, _ANSWERS)
        done, faults = joined_record(source.read, asked.planned)
        faults = [*source.read.faults, *faults]
        if done is None:
            raise Unfit(*((fault.message, fault.remedy) for fault in faults))
        if (path, given) in confirmed:
            return given
        odd = _odd(asked, path, given, dialogue.answers)
        if odd:
            confirmed.add((path, given))
            twice.add(path)
            raise Unfit(*((doubt, f"{remedy}; write it again if it is so") for doubt, remedy in odd))
        return given

    return read


def _odd(asked: Asked, path: str, given: str, before: Mapping[str, str]) -> list[tuple[str, str]]:
    """What is odd about one answer; a time is held against those answered before it."""
    times = {key: text for key, text in before.items() if key.startswith("times.") and key != path}
    beside = {key: text for key, text in times.items() if text and not is_blank(text)}
    answers = {"job": asked.planned.job, **(beside if path.startswith("times.") else {}), path: given}
    done, _ = joined_record(from_answers(answers, _ANSWERS, _ANSWERS).read, asked.planned)
    if done is None:
        return []
    content = record_json(done, asked.planned, None, None)
    found = doubts(content, asked.plan, asked.system, asked.percent)
    return [(doubt.message, doubt.remedy) for doubt in found if doubt.path == path]


def _explained(path: str) -> str:
    """What the record's own key says of itself."""
    model: Any = Record
    said = ""
    for name in path.split("."):
        field = getattr(model, "model_fields", {}).get(name)
        if field is not None:
            said = str(field.description or "")
            model = _model_in(field.annotation)
    return f"{said}." if said else ""


def _model_in(annotation: Any) -> Any:
    """The model an annotation holds, through unions and mappings; the annotation itself where it holds none."""
    waiting = [annotation]
    while waiting:
        one = waiting.pop()
        if hasattr(one, "model_fields"):
            return one
        waiting += getattr(one, "__args__", ())
    return annotation
