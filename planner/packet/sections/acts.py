"""The procedure on paper: which page holds an act, its step or stop point, and what is repeated folded into one."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from typing import Any

from planner.packet.act_words import stop_titles
from planner.packet.blocks import Block, Columns, Either, Hold, Span, Spans, Step, Table, Two
from planner.packet.figures import reaches
from planner.packet.sandbox import refused
from planner.packet.sections.act_values import Telling
from planner.packet.sections.reading import Reading, template
from planner.packet.wording import section_from
from planner.plan.procedure.acts import (
    Act,
    Drain,
    Fill,
    Mark,
    Neutralise,
    Procedure,
    Spray,
    StopPoint,
    Wait,
    WaterBed,
)
from planner.units import show

_PAILS = ("into", "source", "onto", "what")  # where an act has its pail
_LONGEST = 12  # acts in what is repeated
_COLUMNS = 3  # steps that are worth two columns
_SHORT = 30.0  # s; a wait that is no longer than this over a call of the second is that call's


def procedure_of(reading: Reading) -> Procedure | None:
    """The job's acts; None where a stop holds it, or where nothing is to be done."""
    if reading.held or reading.checked.verdict == "stop":
        return None
    procedure: Procedure | None = getattr(reading.checked.plan, "procedure", None)
    return procedure if procedure is not None and procedure.acts else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """The acts of each page in their order: the lead's from the walk to the leaving, and the second's own."""

    walk: tuple[Act, ...] = ()
    set_up: tuple[Act, ...] = ()
    mix: tuple[Act, ...] = ()
    wash: tuple[Act, ...] = ()
    flush: tuple[Act, ...] = ()
    grounds: tuple[Act, ...] = ()


def sheets_of(procedure: Procedure | None) -> Sheets:
    """Every act on one page: the lead's stream of acts is cut where the next phase begins, never put in another order.

    What falls between two cuts stays where it falls, so a batch made between two walls stands between them.
    """
    if procedure is None:
        return Sheets()
    lead = [act for act in procedure.acts if not _of_the_grounds(act)]
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
    return Sheets(
        walk=tuple(lead[:set_up]), set_up=tuple(lead[set_up:mix]), mix=tuple(lead[mix:wash]),
        wash=tuple(lead[wash:flush]), flush=tuple(lead[flush:]),
        grounds=tuple(act for act in procedure.acts if _of_the_grounds(act)),
    )  # fmt: skip


def _of_the_grounds(act: Act) -> bool:
    """What the second does alone. At the rig and the drums the second works within the lead's steps, by calls."""
    if act.who != "second" or isinstance(act.detail, StopPoint):
        return False
    if act.phase in ("walk", "grounds") or act.at == "grounds":
        return True
    own = isinstance(act.detail, (Fill, Drain, Neutralise, WaterBed)) or (
        isinstance(act.detail, Mark) and act.detail.verb in ("cover", "uncover")
    )
    return own and act.phase not in ("mix", "flush_first", "test")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fold:
    """Acts done `times` times one after another: of each act in it all its repeats."""

    times: int
    acts: tuple[tuple[Act, ...], ...]


def folded(
    acts: Sequence[Act], same: Callable[[Act], Hashable], starts: Callable[[Act], bool] = lambda _: False
) -> list[Fold]:
    """Acts in order, what repeats itself as one: the shortest stretch that covers the most.

    `same` is equal for two acts that paper says alike; sections must go up one by one. A stretch that can as well begin
    a little later does so where that act `starts` something.
    """
    said = [same(act) for act in acts]
    made: list[Fold] = []
    at = 0
    while at < len(acts):
        long, times = _best(acts, said, at)
        if times > 1 and not starts(acts[at]):
            later = next((n for n in range(at + 1, at + long) if starts(acts[n])), None)
            if later is not None and _best(acts, said, later) == (long, times):
                made += [Fold(times=1, acts=((act,),)) for act in acts[at:later]]
                at = later
        rows = tuple(tuple(acts[at + n + turn * long] for turn in range(times)) for n in range(long))
        made.append(Fold(times=times, acts=rows))
        at += long * times
    return made


def _best(acts: Sequence[Act], said: Sequence[Hashable], at: int) -> tuple[int, int]:
    """Length and number of the repeats that begin here; 1, 1 where nothing is repeated."""
    best = (1, 1)
    for long in range(1, min(_LONGEST, (len(acts) - at) // 2) + 1):
        times = 1
        while said[at + times * long : at + (times + 1) * long] == said[at : at + long]:
            times += 1
        if times > 1 and _evenly(acts[at : at + long * times], long) and long * times > best[0] * best[1]:
            best = (long, times)
    return best


def _evenly(acts: Sequence[Act], long: int) -> bool:
    """Whether the sections go up by one from turn to turn."""
    steps = [
        after.section.number - before.section.number
        for before, after in zip(acts, acts[long:], strict=False)
        if before.section is not None and after.section is not None
    ]
    return all(step == 1 for step in steps)


class Printing:
    """One procedure as blocks of one packet."""

    told_by: type[Telling] = Telling

    def __init__(self, reading: Reading, procedure: Procedure) -> None:
        self.telling = self.told_by(reading, procedure)
        self.reading = reading
        self._values: dict[str, dict[str, Any]] = {}
        self._aimed: set[str] = set()  # sprays by which a jet's height is seen
        for run in reading.checked.plan.runs:
            sprays = (act for act in procedure.acts if isinstance(act.detail, Spray) and act.detail.run == run.name)
            tried = [act for act in sprays if act.phase in ("test", "set_up")]
            aimed = next((act for act in tried if isinstance(act.detail, Spray) and act.detail.use == "test"), None)
            if tried and aimed is not None and reaches(run):
                self._aimed.add((tried[0] if aimed.expect is not None else aimed).id)

    def values(self, act: Act) -> dict[str, Any]:
        """An act's values for its template, made once."""
        if act.id not in self._values:
            told = self.telling.values(act)
            if act.id in self._aimed and isinstance(act.detail, Spray):
                told |= self._aim(act.detail.run)
            self._values[act.id] = told | {"each": "no", "at": ""}
        return self._values[act.id]

    def _aim(self, name: str) -> dict[str, str]:
        run = next(run for run in self.reading.checked.plan.runs if run.name == name)
        system = self.reading.system
        return {
            "standoff": show(run.input.standoff, "length", system),
            "up": show(run.needed or 0.0, "length", system, toward="up"),
        }

    def same(self, act: Act) -> Hashable:
        """What two acts that paper says alike have in common: all but the number of their section and pail."""
        if isinstance(act.detail, StopPoint):
            return act.id
        told = {key: value for key, value in self.values(act).items() if key not in ("part", "parts", "why")}
        words = tuple(_unnumbered(str(value)) for value in told.values())
        parts = tuple(str(part) for part in self.values(act)["parts"])
        return (act.who, words, parts)

    def blocks(self, acts: Sequence[Act], *, clock: bool = False) -> tuple[Block, ...]:
        """Steps and stop points of acts in their order; `clock`: each with its time."""
        made: list[Block] = []
        kept, waits = self.calls(acts)
        for fold in folded(kept, self.same):
            for n, turns in enumerate(fold.acts):
                (block,) = self._one(turns, clock=clock and fold.times == 1, each=fold.times > 1 and n > 0, waits=waits)
                if fold.times > 1 and n == 0 and isinstance(block, Step):
                    block = replace(block, spans=(*self._times(fold, clock=clock), *block.spans))
                made.append(block)
        return tuple(made)

    def calls(self, acts: Sequence[Act]) -> tuple[list[Act], dict[str, tuple[str, ...]]]:
        """The acts without waits that only stand over a call of the second; by the call's id, the waits that do."""
        taken: dict[str, tuple[str, ...]] = {}
        kept: list[Act] = []
        calls = [act for act in acts if act.who == "second" and not isinstance(act.detail, StopPoint)]
        for act in acts:
            call = None
            if isinstance(act.detail, Wait) and act.who == "lead":
                call = next((one for one in calls if _over(act, one)), None)
            if call is None:
                kept.append(act)
            else:
                taken[call.id] = (*taken.get(call.id, ()), act.id)
        return kept, taken

    def _times(self, fold: Fold, *, clock: bool) -> Spans:
        """The head of what is repeated: how often, when, and with which pails."""
        pails = [
            word
            for turn in fold.acts[0]
            for word in [next((getattr(turn.detail, key) for key in _PAILS if hasattr(turn.detail, key)), "")]
            if word.startswith("pail ")
        ]
        spans = [Span(text=f"{fold.times} times", strong=True)]
        if clock:
            spans.append(Span(text=f", at {', '.join(self.telling.clock(turn) for turn in fold.acts[0])}"))
        if pails and len(set(pails)) == fold.times:
            spans.append(Span(text=f", {pails[0]}, then {', '.join(pails[1:])}"))
        return (*spans, Span(text=": "))

    def _one(
        self, turns: Sequence[Act], *, clock: bool, each: bool, waits: dict[str, tuple[str, ...]]
    ) -> list[Block]:  # fmt: skip
        act = turns[0]
        ids = tuple(one for turn in turns for one in (turn.id, *waits.get(turn.id, ())))
        if isinstance(act.detail, StopPoint):
            return [self._stop(act, act.detail)]
        told = dict(self.values(act))
        if clock:
            told["at"] = self.telling.clock(act)
        if each:
            told["each"] = "yes"
        if len(turns) > 1:
            told |= {key: _unnumbered(str(told[key])) for key in ("place", "source")}
        (step,) = self.worded([told])
        return [replace(step, spans=self.by(act, step.spans), acts=ids)]

    def worded(self, steps: Sequence[dict[str, Any]]) -> list[Step]:
        """Each act's values as the template words them. Raises TemplateRefused where a verb is not one step."""
        made = section_from("acts", template("acts"), {"steps": list(steps)}, {}).blocks
        found = [block for block in made if isinstance(block, Step)]
        if len(found) != len(steps) or len(found) != len(made):
            raise refused("acts", 1, "an act is one step", "Begin each verb's words with one '- [ ] ', and no more.")
        return found

    def by(self, act: Act, spans: Spans) -> Spans:
        """A step's words with who does it before them, where that is not the reader of the page alone."""
        if self.telling.alone or act.who == "lead" or _of_the_grounds(act):
            return spans
        first = spans[0]
        plain = first.text[:1].lower() + first.text[1:] if first.text[1:2].islower() else first.text
        who = "Second: " if act.who == "second" else "Both: "
        return (Span(text=who, strong=True), replace(first, text=plain), *spans[1:])

    def _stop(self, act: Act, detail: StopPoint) -> Hold:
        questions: list[Span] = []
        for ask in detail.asks:
            if self.telling.alone and ask == "company":
                continue
            questions += [Span(text=" ")] * bool(questions) + list(self.telling.question(act, ask))
        several = len(self.reading.checked.plan.runs) > 1 and detail.about
        title = f"{stop_titles()[detail.before]}{f', {detail.about}' if several else ''}"
        who = ("lead",) if self.telling.alone else ("lead", "second") if act.who == "both" else (act.who,)
        return Hold(title=title, questions=tuple(questions), number=detail.number, who=who, acts=(act.id,))


def _unnumbered(text: str) -> str:
    """The same without a pail's number."""
    words = text.split(" ")
    for n, (before, after) in enumerate(pairwise(words)):
        if before == "pail" and after.rstrip(".,").isdigit():
            words[n], words[n + 1] = "that", "pail"
    return " ".join(words)


def _over(wait: Act, call: Act) -> bool:
    """Whether the lead only waits for a call of the second."""
    within = min(wait.end, call.end) - max(wait.start, call.start)
    return within > 0.0 and wait.lasts - within <= _SHORT


def side_by_side(blocks: Sequence[Block]) -> tuple[Block, ...]:
    """Short steps that follow each other in two columns, down the left one first; stop points across the page."""
    made: list[Block] = []
    for narrow, part in groupby(blocks, key=lambda block: isinstance(block, Step)):
        stretch = tuple(part)
        made += [Columns(blocks=stretch)] if narrow and len(stretch) >= _COLUMNS else stretch
    return tuple(made)


def printing_of(reading: Reading) -> Printing | None:
    """The procedure of a wash that is not held, ready to be printed; a yard job's is yard_acts.yard_printing's."""
    procedure = procedure_of(reading) if reading.checked.plan.kind == "wash" else None
    return Printing(reading, procedure) if procedure is not None else None


def acts_printed(blocks: Sequence[Block]) -> list[str]:
    """The ids of all acts that blocks print, as often as they do."""
    found: list[str] = []
    for block in blocks:
        if isinstance(block, (Step, Hold, Table)):
            found += block.acts
        elif isinstance(block, Two):
            found += acts_printed((*block.left, *block.right))
        elif isinstance(block, Columns):
            found += acts_printed(block.blocks)
        elif isinstance(block, Either):
            found += acts_printed((block.first,))
    return found
