"""A record asked for on the terminal: what the last revision says is offered, what is odd is asked again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from planner.contract.record import record_json
from planner.frozen import dataclass
from planner.inputs.models.record import Record
from planner.inputs.reading.files import shown
from planner.inputs.reading.handwriting import is_blank
from planner.inputs.record import joined_record
from planner.interview import asking
from planner.interview.answers import yes
from planner.interview.asking import BACK, HELP, STOP, USUAL, Asking, Ended, Unfit, line_of
from planner.interview.offered import count, offered
from planner.recording.asked import ANSWERS, Asked, Kept, Offer, flat, source_of, with_last
from planner.recording.doubts import doubts
from planner.recording.drafts import drafts_beside, drop
from planner.recording.questions import Question, in_unit
from planner.recording.sources import Source, from_answers

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened

_ENDS: Final = "."


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """What was answered to what was `asked`: `keep` it as the record, or as a draft; `draft` is where it is kept.

    `confirmed` are the key paths whose odd figures somebody wrote twice.
    """

    asked: Asked
    source: Source
    keep: bool
    draft: Kept
    confirmed: frozenset[str]


def ask(asked: Asked, archive: Opened) -> Answered | str:
    """What somebody answers; where that is nothing to be kept, what to say of it. Raises ArchiveRefused."""
    asking.ready()
    asked = with_last(asked, archive)
    try:
        offer = offered(asked, archive)
    except Ended:
        return _nothing(asked)
    asked, given = offer.asked, offer.given
    _open(offer)
    kept = Kept(offer)
    dialogue = Asking(keep=kept.keep, ahead=dict(given.answers), said_as=offer.said_as, ends=_ENDS)
    confirmed = {(path, text) for path, text in given.answers.items()}
    twice: set[str] = set()
    while True:
        how = "done"
        try:
            dialogue.through(lambda: _walk(asked, dialogue, confirmed, twice))
        except Ended as ended:
            how = ended.how
        else:
            how = "all"
        told = asked.told({**dialogue.ahead, **dialogue.answers})
        begun = dialogue.answers or (how in ("all", "done") and given.answers)
        if not begun or (not told and not given.rest):
            if kept.own and kept.path is not None:
                drop(kept.path)  # all of it was taken back
            return _nothing(asked)
        keep = how != "stop" and _agreed(asked, told, given, broken=how not in ("all", "done"))
        if keep is not None:
            break
        if how == "all":
            dialogue.gone_back()
    if how == "stop" and kept.path is None and flat(replace(given, answers=told)) == flat(given):
        return _nothing(asked)
    return Answered(
        asked=asked, source=source_of(asked, told, given), keep=keep, draft=kept, confirmed=frozenset(twice)
    )


def _open(offer: Offer) -> None:
    """What is asked, how it goes, and what Enter takes."""
    asked = offer.asked
    print(f"{asked.planned.job}  {asked.plan['title']}, plan {asked.plan['plan']}")
    if asked.newer:
        since = f"revision {asked.revision} is of it" if asked.revision else "the draft is of it"
        print(f"Asked against that plan, for {since}; {asked.newer} was printed since. What was done from")
        print(f"{asked.newer} goes in a file with `plan: {asked.newer}` and comes in with --from.")
    print(f"Write what was done; a number alone takes the unit in brackets. `{HELP}` explains, `{BACK}` goes to the")
    print(f"question before, `{STOP}` keeps the answers for later, `{_ENDS}` ends the questions.")
    if offer.draft is not None:
        print(f"Enter takes what the draft says, `{USUAL}` leaves it blank.")
    elif asked.revision:
        print(f"Revision {asked.revision} is in the archive; Enter takes what it says, `{USUAL}` leaves it blank.")
    whose = "The draft" if offer.draft is not None else f"Revision {asked.revision}"
    for name in offer.given.lost:
        print(f"{whose} mentions {name}, which is not in the plan; that part is left out.")


def _nothing(asked: Asked) -> str:
    """That nothing is kept, and what stands as it was."""
    left = [f"revision {asked.revision}"] if asked.revision else []
    left += [shown(draft.path) for draft in drafts_beside(asked.file)]
    stays = f"; {', '.join(left)} {'stay' if len(left) > 1 else 'stays'} as it was" if left else ""
    stays = stays.replace("stay as it was", "stay as they were")
    return f"nothing was written down, so nothing is kept{stays}"


def _agreed(asked: Asked, told: Mapping[str, str], given: Any, *, broken: bool) -> bool | None:
    """Whether it is to be kept, None to go back to the questions; where nobody is there any more, it is not.

    Enter keeps it, but for what was broken off, and what leaves blank something the last revision says.
    """
    blank = 0
    if asked.revision:
        last, now = flat(asked.last), flat(replace(given, answers=told))
        changed = sum(now.get(path, "") != last.get(path, "") for path in {*now, *last})
        blank = sum(path not in now for path in last)
        parts = [count(len(told), "answer"), f"{changed} changed", *([f"{blank} of them left blank"] if blank else [])]
        what = f"Keep this as revision {asked.revision + 1} ({', '.join(parts)})?"
    else:
        what = f"Keep {f'these {len(told)} answers' if len(told) > 1 else 'this answer'} as the record?"
    usual = not broken and not blank
    while True:
        try:
            answer = line_of(f"{what} {'[Y/n]' if usual else '[y/N]'} ")
        except Ended:
            return False
        word = answer.casefold()
        if word == BACK:
            return None
        if word in ("", STOP):
            return usual and not word
        if word == HELP:
            print("  Yes keeps it as the record. No keeps the answers as a draft, to go on from another day.")
            print(f"  `{BACK}` goes back to the questions, `{STOP}` means no.")
            continue
        try:
            return yes(answer)
        except Unfit as unfit:
            print(f"  {unfit}")


def _walk(
    asked: Asked, dialogue: Asking, confirmed: set[tuple[str, str]], twice: set[str]
) -> asking.Walk[None]:  # fmt: skip
    questions = asked.questions()
    if asked.adding:  # what comes in afterwards is a remark, as a rule
        questions.sort(key=lambda one: "." in one.path)
    for question in questions:
        if asked.adding and question.path != "callbacks" and dialogue.ahead.get(question.path):
            continue
        planned = f", planned {question.planned}" if question.planned else ""
        yield asking.Question(
            key=question.path,
            about=question.about + planned,
            unit=question.unit,
            read=_reader(asked, question, dialogue, confirmed, twice),
            blank="left blank",
            more=question.more or explained(question.path),
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
        source = from_answers({"job": asked.planned.job, path: given}, ANSWERS, ANSWERS)
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
    on_clock = path.startswith("times.") or path.endswith(".first_mix")
    answers = {"job": asked.planned.job, **(beside if on_clock else {}), path: given}
    done, _ = joined_record(from_answers(answers, ANSWERS, ANSWERS).read, asked.planned)
    if done is None:
        return []
    content = record_json(done, asked.planned, None, None)
    found = doubts(content, asked.plan, asked.system, asked.percent, {path: given})
    return [(doubt.message, doubt.remedy) for doubt in found if doubt.path == path]


def explained(path: str) -> str:
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
