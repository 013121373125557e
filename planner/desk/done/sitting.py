"""One job's record as it is being typed in: what its draft holds, what each entry reads as, what is still asked about.

The draft is the one `planner record` goes on from, and it is all that is kept: an entry that reads well lies in it as
an answer, one that cannot be read, or is odd and not said to be right, as a remark. So each of the two takes over where
the other was left, and an odd figure is asked about again there too.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Final

from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.models.quantities import LONGEST_WORDS
from planner.inputs.reading.handwriting import is_blank
from planner.inputs.record import joined_record
from planner.interview.asking import Unfit, hold_plain
from planner.recording.against import (
    Against,
    RecordJob,
    no_plan,
    of_another_branch,
    plan_for,
    planned_under,
    renamed_of,
    with_todays_lots,
)  # fmt: skip
from planner.recording.asked import (
    TYPED,
    Asked,
    Offer,
    flat,
    is_older,
    merged,
    read_draft,
    says_nothing_new,
    source_of,
    with_last,
)  # fmt: skip
from planner.recording.doubts import Doubt
from planner.recording.drafts import Draft, drafts_beside, drop, keep_draft
from planner.recording.earlier import Earlier, earlier_of, over
from planner.recording.keeping import Outcome, keep, said_of
from planner.recording.questions import Question, in_unit
from planner.recording.renamed import Before
from planner.recording.sources import Source, nested

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.contract.record import RecordJson

_TYPED: Final = re.compile(r'# ([a-z_]+(?:\.[^":]+)?): ("(?:[^"\\]|\\.)*")  \(')
"""A remark of a draft that has an entry as it was typed."""
_MOST_ROUNDS: Final = 4
"""An entry left out may show a fault in another, hardly twice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What the entries come to: faults by the question they are at, `general` ones at none; doubts; and the record of
    all that can be read."""

    faults: Mapping[str, tuple[Fault, ...]]
    general: tuple[Fault, ...]
    doubts: tuple[Doubt, ...]
    record: RecordJson | None

    def doubts_at(self, path: str) -> list[Doubt]:
        """The doubts about one entry."""
        return [doubt for doubt in self.doubts if doubt.path == path]


@dataclass(frozen=True, kw_only=True)
class Sitting:
    """One job's record in the page.

    `sure` are the answers as a draft has them, `unsure` what is remarked in it; `rest` what nobody is asked for.
    `remarks` are lines of the draft about no question. `older` is a draft that a revision came in after, `notes` say
    what is wrong with others; `lost` names what the plan has no more. `said` tells how the plan was found; `unkept`
    why the draft could not be kept as it is here.
    """

    job: RecordJob
    asked: Asked
    sure: Mapping[str, str]
    unsure: Mapping[str, str] = field(default_factory=dict)
    rest: Mapping[str, object] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()
    draft: Path | None = None
    older: Draft | None = None
    notes: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    said: str = ""
    unkept: str = ""

    @cached_property
    def questions(self) -> Mapping[str, Question]:
        """Every question by its key path."""
        return {one.path: one for one in self.asked.questions()}

    @property
    def texts(self) -> dict[str, str]:
        """Every entry, read or not."""
        return {**self.sure, **self.unsure}

    @property
    def given(self) -> Earlier:
        """The answers, as they are kept."""
        return Earlier(answers=self.sure, rest=self.rest)

    @property
    def blank(self) -> bool:
        """Whether nothing at all is typed in."""
        return not (self.texts or self.rest or self.remarks)

    @property
    def as_recorded(self) -> bool:
        """Whether it says just what the last revision does."""
        return bool(self.asked.revision) and not self.unsure and flat(self.given) == flat(self.asked.last)

    @property
    def held(self) -> bool:
        """Whether the plan tells the crew not to begin."""
        return self.asked.plan.get("verdict") == "stop"

    @cached_property
    def reading(self) -> Reading:
        """What the entries come to."""
        return _reading(self, self.texts)

    def source(self, texts: Mapping[str, str]) -> Source:
        """Entries as a record, in the order of the questions."""
        return source_of(self.asked, self.asked.told(texts), self.given)

    def token(self, path: str) -> str:
        """What a tick of `that is right` says yes to: this entry, with these doubts about it."""
        messages = [doubt.message for doubt in self.reading.doubts_at(path)]
        said = json.dumps([path, self.texts.get(path, ""), *messages])
        return hashlib.sha256(said.encode()).hexdigest()[:16]

    def open_doubts(self, ticked: Collection[str] = ()) -> list[Doubt]:
        """Doubts that nobody answered: of entries not yet said to be right, and of the whole that are not `ticked`."""
        return [
            doubt
            for doubt in self.reading.doubts
            if (doubt.path in self.unsure if doubt.path in self.questions else self.token(doubt.path) not in ticked)
        ]


def sitting(archive: Opened, job: RecordJob, made: Callable[[RecordJob], Against]) -> Sitting | list[Fault]:
    """A job's record as its draft, or the last revision, has it; or why it has no plan. Raises ArchiveRefused.

    `made` plans a job that was never printed.
    """
    against = plan_for(archive, job, None, None, made)
    if against.plan is None:
        return list(against.faults) if against.another else [*against.faults, no_plan(job)]
    planned = planned_under(against, against.plan, job)
    asked = Asked(file=job.file, plan=against.plan, planned=planned, system=job.company.units,
                  percent=job.company.percent)  # fmt: skip
    asked = with_last(asked, archive)
    asked = replace(asked, planned=with_todays_lots(asked.planned, job))
    notes: list[str] = []
    older: Draft | None = None
    for draft in drafts_beside(job.file):
        found = read_draft(draft, asked, archive)
        if isinstance(found, str):
            notes.append(f"{draft.path.name} {found}")
            continue
        if says_nothing_new(found) and (not _typed(draft, found)[0] or is_older(draft, asked)):
            continue
        if is_older(draft, asked):
            older = older or draft
            continue
        return _of_offer(job, found, draft, against.said, tuple(notes))
    return Sitting(job=job, asked=asked, sure=asked.last.answers, rest=asked.last.rest, older=older,
                   notes=tuple(notes), lost=asked.last.lost, said=against.said)  # fmt: skip


def _of_offer(job: RecordJob, found: Offer, draft: Draft, said: str, notes: tuple[str, ...] = ()) -> Sitting:
    asked = replace(found.asked, planned=with_todays_lots(found.asked.planned, job))
    typed, other = _typed(draft, found)
    now = Sitting(
        job=job, asked=asked, sure=found.given.answers, unsure=typed, rest=found.given.rest, remarks=other,
        draft=draft.path, lost=found.given.lost, said=said, notes=notes,
    )  # fmt: skip
    if draft.source in ("", TYPED):
        return now
    # Of what came in by a file nobody was asked about anything odd.
    odd = {doubt.path for doubt in now.reading.doubts} & now.sure.keys()
    sure = {path: text for path, text in now.sure.items() if path not in odd}
    return replace(now, sure=sure, unsure={**typed, **{path: now.sure[path] for path in odd}})


def _typed(draft: Draft, found: Offer) -> tuple[dict[str, str], tuple[str, ...]]:
    """The entries among a draft's remarks, by their questions, but for what was answered since; and all its others."""
    planned, questions = found.asked.planned, found.asked.questions()
    texts: dict[str, str] = {}
    other = []
    for remark in draft.remarks:
        match = _TYPED.match(remark)
        raw = nested({match[1]: json.loads(match[2])}) if match is not None else {}
        answers = earlier_of(raw, planned, planned, questions).answers
        texts = {**answers, **texts}
        other += [] if answers else [remark]
    return {path: text for path, text in texts.items() if path not in found.given.answers}, tuple(other)


def gone_on(archive: Opened, now: Sitting) -> Sitting:
    """Go on from the draft that is older than the last revision, laid over that. Raises ArchiveRefused."""
    found = read_draft(now.older, now.asked, archive) if now.older is not None else ""
    if now.older is None or isinstance(found, str):
        return now
    return _keep_draft(_of_offer(now.job, merged(found), now.older, now.said))


# ------------------------------------------------------------ read


def _reading(now: Sitting, texts: Mapping[str, str]) -> Reading:
    """Each entry as the record's own box reads it, then what is odd in all of them together."""
    faults: dict[str, list[Fault]] = {}
    general: list[Fault] = []
    for path, text in texts.items():
        if odd := _unprintable(path, text):
            faults[path] = odd
    for _ in range(_MOST_ROUNDS):
        source = now.source({path: text for path, text in texts.items() if path not in faults})
        done, slips = joined_record(source.read, now.asked.planned)
        found = [*source.read.faults, *slips]
        if done is not None or not found:
            break
        general = []
        for fault in found:
            at = next((one for one in texts if _covers(fault.where.path, one)), None)
            if at is None:
                general.append(fault)
            else:
                faults.setdefault(at, []).append(fault)
        if general:
            break
    told = {path: tuple(dict.fromkeys(rows)) for path, rows in faults.items()}
    if done is None:
        return Reading(faults=told, general=tuple(general), doubts=(), record=None)
    asked = now.asked
    content, odd_ones, _ = said_of(done, source, asked.plan, asked.planned, now.job, asked.system)
    return Reading(faults=told, general=(), doubts=tuple(odd_ones), record=content)


def _covers(fault: str, path: str) -> bool:
    plain = fault.partition("[")[0]
    return path == plain or plain.startswith(f"{path}.") or (bool(plain) and path.startswith(f"{plain}."))


def _unprintable(path: str, text: str) -> list[Fault]:
    try:
        hold_plain(text)
    except Unfit as unfit:
        where = Where(file="", path=path, lines=False)
        return [Fault(code="record.text", message=one, remedy=remedy, where=where) for one, remedy in unfit.told]
    return []


# ------------------------------------------------------------ type


def plain(text: str, unit: str) -> str:
    """An entry as it is kept, a bare number with the unit beside its box; nothing where it says nothing."""
    text = " ".join(text.split())[: LONGEST_WORDS + 1]
    return "" if is_blank(text) else in_unit(text, unit)


def typed_in(
    now: Sitting, changes: Mapping[str, str], ticks: Collection[str], gone: Collection[str] = ()
) -> Sitting:  # fmt: skip
    """The same with some entries changed and some odd ones said to be right, kept in the draft at once.

    `ticks` are tokens. An odd entry that was said to be right stays so while it and what is odd about it are the same,
    unless its tick is `gone`.
    """
    texts = now.texts
    for path, text in changes.items():
        question = now.questions.get(path)
        if question is None:
            continue
        if text := plain(text, question.unit):
            texts[path] = text
        else:
            texts.pop(path, None)
    after = replace(now, sure={}, unsure=texts)
    sure = {path: text for path, text in texts.items() if _is_sure(now, after, path, ticks, gone)}
    after = replace(after, sure=now.asked.told(sure), unsure={k: v for k, v in texts.items() if k not in sure})
    if (after.sure, after.unsure) == (dict(now.sure), dict(now.unsure)):
        return now
    return _keep_draft(after)


def _is_sure(now: Sitting, after: Sitting, path: str, ticks: Collection[str], gone: Collection[str]) -> bool:
    if path in after.reading.faults:
        return False
    odd = after.reading.doubts_at(path)
    if not odd or after.token(path) in ticks:
        return True
    was = now.sure.get(path) == after.texts[path] and now.token(path) == after.token(path)
    return was and path not in gone


def _keep_draft(now: Sitting) -> Sitting:
    """Write the draft, or take it away where it says nothing any more."""
    if (now.blank or now.as_recorded) and not now.remarks:
        if now.draft is not None:
            drop(now.draft)
        return replace(now, draft=None, unkept="")
    faults: list[Fault] = []
    for path in now.unsure:
        slips = now.reading.faults.get(path, ())
        where = Where(file="", path=path, lines=False)
        told = [(one.message, one.remedy) for one in slips]
        told += [(one.message, one.remedy) for one in now.reading.doubts_at(path)]
        faults += [Fault(code="record.draft", message=one, remedy=remedy, where=where) for one, remedy in told[:1]]
    source = now.source(now.texts)
    draft, unwritten = keep_draft(
        source, faults, [now.job.file], now.job.id, now.draft, begun=now.asked.revision, remarks=now.remarks,
        elsewhere=False,
    )  # fmt: skip
    if draft is None:
        return replace(now, unkept=unwritten.message if unwritten is not None else "there are too many drafts already")
    return replace(now, draft=draft, unkept="")


# ------------------------------------------------------------ packet


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """A filled packet in the boxes of the page: how many entries came, and what there is to say of them."""

    count: int
    notes: tuple[str, ...] = ()


def take_in(archive: Opened, now: Sitting, source: Source) -> TakenIn | list[Fault]:
    """Lay what a filled packet says into the boxes that are blank; what was typed stays. Raises ArchiveRefused.

    Whose packet it is and of which plan is found out as `planner record --from` does.
    """
    job, number = now.job, source.read.raw.get("plan")
    before = of_another_branch(archive, source) or renamed_of(archive, job, source)
    if isinstance(before, Fault):
        return [before]
    if isinstance(before, Before):
        plan = before.plan
    else:
        against = plan_for(archive, job, number.strip() if isinstance(number, str) else None, source.plan)
        if against.plan is None:
            return list(against.faults) if against.another else [*against.faults, no_plan(job)]
        plan = against.plan
    if plan["plan"] != now.asked.plan["plan"] and (now.asked.revision or not now.blank):
        what = f"revision {now.asked.revision} is" if now.asked.revision else "what is typed in is"
        return [_other_plan(job, f"this packet is of plan {plan['plan']}, and {what} of {now.asked.plan['plan']}")]
    asked = now.asked.of(plan)
    kept = plan["plan"] == now.asked.plan["plan"] or _is_kept(archive, job, plan["id"], str(plan["plan"]))
    if not kept:
        return [_other_plan(job, f"plan {plan['plan']} is in this packet alone, and not in the archive")]
    then = replace(now, asked=asked)
    found = earlier_of(source.read.raw, asked.planned, asked.planned, asked.questions())
    texts, differ = dict(then.texts), []
    for path, text in found.answers.items():
        if path in texts and texts[path] != text:
            differ.append(f"{then.questions[path].about}: the packet has `{text[:40]}`, `{texts[path][:40]}` stays")
        texts.setdefault(path, text)
    lost = tuple(
        f"# {one.where.path or source.name}  ({_one_line(one.message)}; {_one_line(one.remedy)})" for one in source.lost
    )
    rest = over(then.rest, found.rest)
    filled = replace(then, unsure=texts, sure={}, rest=rest, remarks=tuple(dict.fromkeys((*then.remarks, *lost))))
    sure = {path: text for path, text in texts.items() if _is_sure(then, filled, path, (), ())}
    unsure = {path: text for path, text in texts.items() if path not in sure}
    after = _keep_draft(replace(filled, sure=asked.told(sure), unsure=unsure))
    if after.unkept:
        remedy = "nothing was taken in: make room on its disk, or allow writing there, and take it in again"
        where = Where(file=job.file.name, lines=False)
        return [Fault(code="record.unwritable", message=after.unkept, remedy=remedy, where=where)]
    return TakenIn(count=len(found.answers), notes=(*differ, *(f"{one} is not in the plan" for one in found.lost)))


def _is_kept(archive: Opened, job: RecordJob, name: str, number: str) -> bool:
    from planner.archive.kept import store

    return any(store.plan_of(archive, one, number) is not None for one in (job.id, name))


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _other_plan(job: RecordJob, message: str) -> Fault:
    return Fault(
        code="record.plan", message=message,
        remedy=f"take it in with `planner record {job.id}.yaml --from` the packet, which keeps its plan beside it",
        where=Where(file=job.file.name, lines=False),
    )  # fmt: skip


# ------------------------------------------------------------ keep


def kept(archive: Opened, now: Sitting, ticked: Collection[str]) -> Outcome | list[tuple[str, str]]:
    """Keep the record as `planner record` does; else what has to be settled first. Raises ArchiveRefused."""
    lacking = list(_lacking(now, ticked))
    if lacking:
        return lacking
    asked = now.asked
    doubted = {doubt.path for doubt in now.reading.doubts}
    outcome = keep(archive, now.job, now.source(now.sure), asked.plan, asked.planned, asked.system,
                   after=asked.revision, confirmed=doubted)  # fmt: skip
    if outcome.kept is not None and now.draft is not None:
        drop(now.draft)
    return outcome


def _lacking(now: Sitting, ticked: Collection[str]) -> Iterable[tuple[str, str]]:
    for path, faults in now.reading.faults.items():
        yield from ((f"{_about(now, path)}: {one.message}", one.remedy) for one in faults)
    yield from ((one.message, one.remedy) for one in now.reading.general)
    if now.reading.faults or now.reading.general:
        return
    for path in now.unsure:
        if not now.reading.doubts_at(path):  # nothing but a slip of ours leaves one there
            yield f"{_about(now, path)}: this entry was not taken yet", "type it in once more"
    for doubt in now.open_doubts(ticked):
        yield f"{_about(now, doubt.path)}: {doubt.message}", f"{doubt.remedy}; or tick that it is right"
    if not (now.texts or now.rest):
        yield "nothing is typed in yet", "type in what was done"
    if now.asked.revision and revising(now) not in ticked:
        yield f"revision {now.asked.revision} is in the archive already", "tick that this takes its place"


def _about(now: Sitting, path: str) -> str:
    question = now.questions.get(path)
    return question.about if question is not None else path


def revising(now: Sitting) -> str:
    """The tick that lets a record take the place of the last revision."""
    return f"revision-{now.asked.revision}"


def changed(now: Sitting) -> tuple[int, int]:
    """How many entries are other than in the last revision, and how many of those are left blank."""
    last, own = flat(now.asked.last), flat(now.given)
    return sum(own.get(path, "") != last.get(path, "") for path in {*own, *last}), sum(one not in own for one in last)
