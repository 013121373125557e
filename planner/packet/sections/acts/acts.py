"""The procedure on paper: which page holds an act, its step or stop point, and what is repeated folded into one."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import replace
from itertools import groupby, pairwise
from math import inf
from typing import Any

from planner.packet.blocks import Block, Hold, Role, Span, Spans, Step, StepHead
from planner.packet.sandbox import refused
from planner.packet.sections.acts.folding import Fold, folded
from planner.packet.sections.acts.framing import asked_by_stops, cautions_of, guarded, plainly, turned
from planner.packet.sections.acts.streams import Stage, for_a_tip, on_one_sheet, procedure_of, sheets_of
from planner.packet.sections.acts.values import Telling
from planner.packet.sections.acts.waited import Waited, meanwhile, over, waited_for
from planner.packet.sections.crew.done import STRIPS, read_at_acts
from planner.packet.sections.reading import Reading, jets_tried, template
from planner.packet.wording import section_from
from planner.plan.procedure.acts import (
    Act,
    ChangeTip,
    Drain,
    DrawFrom,
    Fill,
    Mark,
    Pour,
    Power,
    Procedure,
    Read,
    Relieve,
    SetDosing,
    Shut,
    Spray,
    StopPoint,
    Tap,
    Wait,
    WaterBed,
)
from planner.units import show
from planner.words.act_keys import opens, stop_titles
from planner.words.dates import CLOCK, MINUTE
from planner.words.figures import reaches

_PAILS = ("into", "to", "source", "onto", "what")  # where an act has its pail
_GAP = 1.0  # s between what the lead does and a call at its end


class Printing:
    """One procedure as blocks of one packet."""

    told_by: type[Telling] = Telling

    def __init__(self, reading: Reading, procedure: Procedure) -> None:
        self.telling = self.told_by(reading, procedure)
        self.reading = reading
        self._acts = procedure.acts
        self.whole = on_one_sheet(procedure)
        self._waits: dict[str, tuple[str, ...]] = {}  # of one sheet: waits that only stand over an act of the second
        self.called_first: dict[str, str] = {}  # the word called before an act of the lead, by its id
        self._values: dict[str, dict[str, Any]] = {}
        self._ready: set[str] = set()  # the second's last act that a stop point of the lead waits for
        self._asks_ready: set[str] = set()
        self._tips = [act for act in procedure.acts if isinstance(act.detail, ChangeTip)]
        self.for_tips: set[str] = set()  # all that is done between two sprays with a change of tip
        for opened, stretch in groupby(procedure.acts, key=lambda act: isinstance(act.detail, Spray)):
            ids = {act.id: act.detail for act in stretch}
            if not opened and any(isinstance(detail, ChangeTip) for detail in ids.values()):
                self.for_tips |= ids.keys()
        self._relief = {act.id for act in procedure.acts if isinstance(act.detail, Relieve)}
        self._shut = {act.id for act in procedure.acts if isinstance(act.detail, Shut)}
        self._strips = {act.id for act in procedure.acts if act.expect is not None and act.expect.what in STRIPS}
        self._go: set[str] = set()  # the second's last act of a draw test
        self.waited = Waited()
        self._unasked: set[str] = set()  # what the second does of themselves once a draw test is read
        self._heard(procedure)
        self._aimed: set[str] = set()  # sprays by which a jet's height is seen
        for run in jets_tried(reading):
            sprays = (act for act in procedure.acts if isinstance(act.detail, Spray) and act.detail.run == run.name)
            tried = [act for act in sprays if act.phase in ("test", "set_up")]
            aimed = next((act for act in tried if isinstance(act.detail, Spray) and act.detail.use == "test"), None)
            if tried and aimed is not None and reaches(run):
                self._aimed.add((tried[0] if aimed.expect is not None else aimed).id)
        self._write = read_at_acts(reading)
        # Of a job on one sheet nobody has to be told when to begin: it is read by both.
        self.waited = waited_for(procedure.acts, self._bare_word) if not self.whole else Waited()
        self._words = self._call_words(procedure)
        off = [act.id for act in procedure.acts if isinstance(act.detail, (Power, Tap)) and not act.detail.on]
        self._off = {f"“{self._words[one]}”" for one in off if one in self._words}
        self._at_end: dict[str, list[Act]] = {}  # calls at the end of what the lead goes on doing, by its id
        self._goes_on(procedure)

    def _heard(self, procedure: Procedure) -> None:
        """What the second tells the lead: that all is ready before mix, and that a draw test was good."""
        acts = {act.id: act for act in procedure.acts}
        for act in procedure.acts:
            waited = [acts[one] for one in act.after if acts[one].who == "second"]
            if isinstance(act.detail, StopPoint) and act.detail.before == "mix" and act.who == "lead" and waited:
                last = max(waited, key=lambda one: one.end).id
                if last not in self._ready:
                    self._ready.add(last)
                    self._asks_ready.add(act.id)
            if act.who == "second" and act.expect is not None and act.expect.what == "jug_down":
                sprays = (one.start for one in procedure.acts if isinstance(one.detail, Spray))
                opens = next((start for start in sprays if start >= act.end), inf)
                then = [one for one in procedure.acts if one.who == "second" and act.end <= one.start < opens]
                then = [one for one in then if one.phase != "grounds"]
                self._go.add(then[-1].id if then else act.id)
                self._unasked |= {one.id for one in then}

    def _call_words(self, procedure: Procedure) -> dict[str, str]:
        """The word for each act of the second that the lead calls: with its pump where there are several, and with its
        line or mark where within one event the bare word could mean two things."""
        found: dict[str, str] = {}
        several = len({act.detail.pump for act in procedure.acts if isinstance(act.detail, Power)}) > 1
        for stage in sheets_of(procedure).second:  # none of a job on one sheet
            meant: dict[str, set[tuple[str, str]]] = {}
            for act in stage.acts:
                meant.setdefault(self._bare_word(act), set()).add(self._meant(act))
            for act in stage.acts:
                bare = word = self._bare_word(act)
                if not bare or act.who != "second" or act.id in self._unasked:
                    continue
                of, mark = self._meant(act)
                if isinstance(act.detail, Power):
                    word = f"{of[:1].upper()}{of[1:]} {bare.lower()}" if several else bare
                elif len({one for one, _ in meant[bare]}) > 1:
                    word = f"{bare}, {of}"
                if len({one for name, one in meant[bare] if name == of}) > 1:
                    word = f"{word} {mark}".rstrip()
                found[act.id] = word
        return found

    def _meant(self, act: Act) -> tuple[str, str]:
        """What an act of the second is done to, and the mark it is set to."""
        match act.detail:
            case Power(pump=pump):
                return pump, ""
            case SetDosing(run=run):
                return run, str(self.values(act)["mark"])
            case DrawFrom(run=run) | Tap(run=run):
                return run, ""
        return "", ""

    def _goes_on(self, procedure: Procedure) -> None:
        """Calls that the lead does not wait for."""
        lead = [act for act in procedure.acts if act.who != "second"]
        for call in procedure.acts:
            if call.id not in self._words or any(isinstance(act.detail, Wait) and over(act, call) for act in lead):
                continue
            sprays = (act for act in lead if isinstance(act.detail, Spray))
            goes_on = next((act for act in sprays if abs(act.end - call.end) <= _GAP), None)
            if goes_on is not None:
                self._at_end.setdefault(goes_on.id, []).append(call)

    def values(self, act: Act) -> dict[str, Any]:
        """An act's values for its template, made once."""
        if act.id not in self._values:
            values = self.telling.values(act)
            if act.id in self._aimed and isinstance(act.detail, Spray):
                values |= self._aim(act.detail.run)
            self._values[act.id] = values | {"each": False, "at": "", "calls": []}
        return self._values[act.id]

    def _aim(self, name: str) -> dict[str, str | bool]:
        run = next(run for run in self.reading.checked.plan.runs if run.name == name)
        system = self.reading.system
        return {
            "standoff": show(run.input.standoff, "length", system),
            "up": show(run.needed or 0.0, "length", system, toward="up"),
            "mix": bool(self.reading.checked.plan.mixes),
        }

    def same(self, act: Act) -> Hashable:
        """What two acts that paper says alike have in common: all but the number of their section and pail."""
        if isinstance(act.detail, StopPoint):
            return act.id
        values = {key: value for key, value in self.values(act).items() if key not in ("part", "parts", "why")}
        words = tuple(_unnumbered(str(value)) for value in values.values())
        parts = tuple(str(part) for part in self.values(act)["parts"])
        return (act.who, words, parts, act.id in self.waited.go_on)

    def _same_step(self, act: Act) -> Hashable:
        """The same of two steps: with what is called before and at the end of them."""
        calls = tuple(self.call_word(one) for one in self._at_end.get(act.id, ()))
        return (self.same(act), calls, self.called_first.get(act.id, ""), act.id in self.waited.done)

    def blocks(self, acts: Sequence[Act], role: Role = "lead") -> tuple[Block, ...]:
        """Steps and stop points of acts in their order, for the sheet of one person."""
        made: list[Block] = []
        if self.whole:
            acts, waits = self.calls(acts)
            self._waits |= waits
        asked = asked_by_stops(acts)
        acts = [act for act in acts if act.id not in {one for ids in asked.values() for one in ids}]
        for kind, stretch in groupby(acts, key=_kind):
            part = list(stretch)
            calls = meanwhile(self._acts, part) if kind.startswith("wait") else []
            if calls and role == "second":
                (step,) = self.worded(
                    [dict.fromkeys(self.values(part[0]), "") | {"parts": [], "calls": [], "verb": "lead"}]
                )
                made.append(replace(step, acts=tuple(act.id for act in part)))
            elif calls:
                made.append(self._call(calls, part))
                if made[1:] and isinstance(made[-2], Step) and made[-2].acts[-1] in self._shut:
                    made[-2:] = [self._call(calls, part, shut=made[-2].acts)]
            elif kind == "hose" and len(part) > 1:
                made.append(self._coiled(part))
            else:
                made += self._folded(part, role)
                self._relieved(made)
        self._relieved(made)
        self._changed(made)
        self._read_at_once(made)
        if self.whole or self.telling.alone:
            made = turned(made, self._acts)
        return guarded(
            (
                replace(block, acts=(*asked[block.acts[0]], *block.acts)) if isinstance(block, Hold) else block
                for block in made
            ),
            self.telling.procedure.acts,
        )

    def _folded(self, acts: Sequence[Act], role: Role) -> list[Block]:
        made: list[Block] = []
        for fold in folded(acts, self._same_step, lambda act: isinstance(act.detail, Spray), within=True):
            for n, turns in enumerate(fold.acts):
                block = self._block_of(turns, each=fold.times > 1 and n > 0, role=role)
                if fold.times > 1 and n == 0 and isinstance(block, Step):
                    block = replace(block, spans=(*self._times(fold), *block.spans))
                made.append(block)
        return made

    def _relieved(self, made: list[Block]) -> None:
        """Letting the pressure out right after the call for the pump to be off is told with it."""
        for n in range(len(made) - 1, 0, -1):
            off, relief = made[n - 1], made[n]
            if (
                isinstance(off, Step)
                and isinstance(relief, Step)
                and relief.acts[0] in self._relief
                and len(relief.acts) == 1
                and len(off.spans) > 1
                and off.spans[-2].text in self._off
            ):
                spans = (*off.spans, Span(text=" Then "), plainly(relief.spans[0]), *relief.spans[1:])
                whole = replace(off, spans=spans, caution=cautions_of(off, relief), acts=(*off.acts, *relief.acts))
                made[n - 1 : n + 1] = [whole]

    def _changed(self, made: list[Block]) -> None:
        """A call right after a tip was put on is told with it."""
        tips = {act.id for act in self._tips}
        for n in range(len(made) - 1, 0, -1):
            first, then = made[n - 1], made[n]
            if not isinstance(first, Step) or not isinstance(then, Step) or not then.spans:
                continue
            if first.acts[-1] in tips and then.spans[0].text == "Call ":
                spans = (*first.spans, Span(text=" "), *then.spans)
                made[n - 1 : n + 1] = [replace(then, spans=spans, acts=(*first.acts, *then.acts))]
        self._off_and_on(made)

    def _off_and_on(self, made: list[Block]) -> None:
        """The second's pump off, and on again once a tip is changed, is one step, whatever is done by the clock
        meanwhile."""
        known = {act.id: act for act in self._acts if act.who == "second"}
        steps = [n for n, block in enumerate(made) if not (isinstance(block, Step) and block.rounds)]
        for at, then in reversed(list(pairwise(steps))):
            off, on = made[at], made[then]
            if not (isinstance(off, Step) and isinstance(on, Step) and len(off.acts) == len(on.acts) == 1):
                continue
            pair = [known[one] for one in (*off.acts, *on.acts) if one in known]
            if len(pair) == 2 and for_a_tip(self.telling.procedure, *pair):
                spans = (*off.spans, Span(text=" "), *on.spans)
                made[at] = replace(off, spans=spans, acts=(*off.acts, *on.acts))
                del made[then]
                following = made[at + 1] if then > at + 1 else None
                if isinstance(following, Step):
                    made[at + 1] = replace(following, together=True)

    def _read_at_once(self, made: list[Block]) -> None:
        """A strip read at the gun that was just shut is told with it."""
        for n in range(len(made) - 1, 0, -1):
            shut, strip = made[n - 1], made[n]
            if not isinstance(shut, Step) or not isinstance(strip, Step):
                continue
            if set(shut.acts) <= self._shut and set(strip.acts) <= self._strips:
                spans = (*shut.spans, Span(text=" "), *strip.spans)
                made[n - 1 : n + 1] = [replace(strip, spans=spans, acts=(*shut.acts, *strip.acts))]

    def _coiled(self, acts: Sequence[Act]) -> Step:
        """Hoses drained and coiled one after another, as one step."""
        drained = next((act for act in acts if isinstance(act.detail, Drain)), None)
        names = dict.fromkeys(act.detail.what for act in acts if isinstance(act.detail, Mark))
        values = dict.fromkeys(self.values(acts[0]), "") | {"parts": [], "calls": [], "verb": "coil"}
        values |= {"hoses": ", ".join(names), "place": self.values(drained)["place"] if drained is not None else ""}
        (step,) = self.worded([values])
        return replace(step, acts=tuple(act.id for act in acts))

    def _call(self, calls: Sequence[Act], waits: Sequence[Act], shut: tuple[str, ...] = ()) -> Step:
        """The lead's side of calls: the words to call out, or what to wait for; `shut` the gun's act just before."""
        values = self.values(calls[0])
        words = list(dict.fromkeys(word for act in calls if (word := self.call_word(act))))
        what = next((act.expect.what for act in calls if act.expect is not None), "")
        kind = "jug" if what == "jug_down" else "pour" if any(isinstance(act.detail, Pour) for act in calls) else ""
        kind = "done" if any(act.id in self.waited.done for act in calls) else kind
        first = {one for act in calls for one in act.after}
        stops = [
            act.detail for act in self.telling.procedure.acts if act.id in first and isinstance(act.detail, StopPoint)
        ]
        drum = next((stop for stop in stops if stop.before in ("stock", "acid")), None)
        values = {**dict.fromkeys(values, ""), "parts": [], "verb": "call", "kind": kind, "calls": words}
        values |= {"part": str(drum.number) if drum is not None else ""}
        (step,) = self.worded([values | {"use": "shut" if shut else ""}])
        return replace(step, acts=(*shut, *(act.id for act in waits)))

    def call_before(self, part: Sequence[Act], waits: Mapping[str, tuple[str, ...]]) -> None:
        """Has each call that no step of `part` waits for or ends with said before what the lead does next."""
        inside = {act.id for act in part}
        ends = {call.id for end, calls in self._at_end.items() if end in inside for call in calls}
        for n, act in enumerate(part):
            after = next((one for one in part[n + 1 :] if one.who != "second"), None)
            if self.call_word(act) and act.id not in ends and not waits.get(act.id) and after is not None:
                self.called_first[after.id] = self.call_word(act)

    def call_word(self, act: Act) -> str:
        """The word by which the lead has the second do an act; nothing where there is none."""
        return self._words.get(act.id, "")

    def _bare_word(self, act: Act) -> str:
        if act.id in self.waited.called:
            return "Next"
        match act.detail:
            case Power(on=on):
                return "On" if on else "Off"
            case Tap(run=run, on=on):
                return f"{opens(self.telling.runs[run]).capitalize()} {'on' if on else 'off'}".replace("Pump", "Tap")
            case Read():
                return "Read"
            case SetDosing():
                return "Mix" if self.to_mix(act) else "Water"
            case DrawFrom(run=run):
                # Of a line with a panel or an injector, water and mix are set there.
                dosed = any(isinstance(one.detail, SetDosing) and one.detail.run == run for one in self._acts)
                return "Mix" if self.to_mix(act) else "Suction" if dosed else "Water"
        return ""

    def to_mix(self, act: Act) -> bool:
        """Whether an act puts mix into the line."""
        if isinstance(act.detail, SetDosing):
            return bool(act.detail.draws)
        if isinstance(act.detail, DrawFrom):
            return act.detail.feed in {batch.tank for mix in self.telling.plan.mixes for batch in mix.batches}
        return False

    def stage(self, stage: Stage) -> tuple[Block, ...]:
        """One event on the second's sheet. Beside the work at the walls what comes again is one step with its times."""
        if stage.key not in ("wash", "leave"):
            return self.blocks(stage.acts, "second")
        alike: dict[Hashable, list[Act]] = {}
        for act in stage.acts:
            alike.setdefault(self._comes_again(act, stage.key), []).append(act)
        again = {acts[0].id: acts for key, acts in alike.items() if key and len(acts) > 1}
        later = {act.id for acts in again.values() for act in acts[1:]}
        timed = [self.telling.clock(act) for acts in again.values() for act in acts if not self.call_word(act)]
        step = CLOCK if len(set(timed)) == len(timed) else MINUTE
        made: list[Block] = []
        for rounds, stretch in groupby(
            (act for act in stage.acts if act.id not in later), key=lambda act: act.id in again
        ):
            for act in stretch if rounds else ():
                made.append(self._again(again[act.id], step))
            made += () if rounds else self.blocks(list(stretch), "second")
        self._off_and_on(made)
        return guarded(made, self.telling.procedure.acts)

    def _comes_again(self, act: Act, stage: str) -> Hashable:
        """What acts have in common that are one step with the times it is done; nothing of any other."""
        if isinstance(act.detail, (WaterBed, Fill)) and act.phase == "grounds":
            place = act.detail.into if isinstance(act.detail, Fill) else act.detail.bed
            return None if place.startswith("pail ") else (type(act.detail), place)
        return self.same(act) if stage == "wash" and self.call_word(act) else None

    def _again(self, acts: Sequence[Act], every: float) -> Block:
        """What is done again and again: how often on a call, and by the clock when and how much.

        Am or pm is said of the first time; `every` so many seconds: to the minute where two of the event, be it beds
        and tank off one tap, would be the same five.
        """
        if self.call_word(acts[0]):
            step = self._block_of(acts, each=False, role="second")
            assert isinstance(step, Step)
            return replace(step, should=(Span(text=f"{len(acts)} times", strong=True),))
        told = dict(self.values(acts[0])) | {"amount": "", "minutes": "", "stick": "", "verb": "rounds"}
        told["use"] = max(self.values(act)["use"] for act in acts)
        (step,) = self.worded([told | {"kind": "bed" if isinstance(acts[0].detail, WaterBed) else "tank"}])
        times = [self.telling.clock(act, step=every, bare=True) for act in acts]
        first = self.telling.clock(acts[0], step=every)
        notes = [f"{values['amount']}, {values['minutes']} min" for values in map(self.values, acts)]
        should = (Span(text="from "), Span(text=first, strong=True)) if first != times[0] else ()
        return replace(
            step, should=should, rounds=tuple(zip(times, notes, strict=True)), acts=tuple(act.id for act in acts)
        )

    def calls(self, acts: Sequence[Act]) -> tuple[list[Act], dict[str, tuple[str, ...]]]:
        """The acts without waits that only stand over a call of the second; by the call's id, the waits that do."""
        taken: dict[str, tuple[str, ...]] = {}
        kept: list[Act] = []
        calls = [act for act in acts if act.who == "second" and not isinstance(act.detail, StopPoint)]
        for act in acts:
            call = None
            if isinstance(act.detail, Wait) and act.who == "lead":
                call = next((call for call in calls if over(act, call)), None)
            if call is None:
                kept.append(act)
            else:
                taken[call.id] = (*taken.get(call.id, ()), act.id)
        return kept, taken

    def _times(self, fold: Fold) -> Spans:
        """The head of what is repeated: how often, and with which pails."""
        pails = [word for turn in fold.acts[0] if (word := _pail(turn))]
        spans = [Span(text=f"{fold.times} times", strong=True)]
        if pails and len(set(pails)) == fold.times:
            spans.append(Span(text=f", {pails[0]}, then {', '.join(pails[1:])}"))
        return (*spans, Span(text=": "))

    def _block_of(self, turns: Sequence[Act], *, each: bool, role: Role) -> Block:
        act = turns[0]
        if isinstance(act.detail, StopPoint):
            return self._stop(act, act.detail)
        values = dict(self.values(act))
        values["each"] = each
        if len({_pail(turn) for turn in turns}) > 1:
            values |= {key: _unnumbered(str(values[key])) for key in ("place", "source")}
        numbers = [turn.section.number for turn in turns if turn.section is not None]
        if len(set(numbers)) > 1:
            values["part"] = f"{numbers[0]} to {numbers[-1]}"
        (step,) = self.worded([values])
        spans = self.by(act, step.spans, role)
        if role == "lead" and act.id in self.called_first:
            called = Span(text=f"“{self.called_first[act.id]}”", strong=True)
            spans = (Span(text="Call "), called, Span(text=", gun open. "), *spans)
        if role == "lead":
            for call in self._at_end.get(act.id, ()):
                called = Span(text=f"“{self.call_word(call)}”", strong=True)
                spans = (*spans, Span(text=" Then call "), called, Span(text=", gun open."))
        said = {"Go": self._go, "Ready": self._ready, "Done": self.waited.done, "Go on": self.waited.go_on}
        if word := next((word for word, ids in said.items() if act.id in ids), ""):
            spans = (*spans, Span(text=" Call "), Span(text=f"“{word}”", strong=True), Span(text="."))
        write = next((self._write[turn.id] for turn in turns if turn.id in self._write), None)
        ids = tuple(one for turn in turns for one in (turn.id, *self._waits.get(turn.id, ())))
        return replace(step, spans=spans, write=write, acts=ids)

    def worded(self, steps: Sequence[dict[str, Any]]) -> list[Step]:
        """Each act's values as the template words them. Raises TemplateRefused where a verb is not one step."""
        made = section_from("acts", template("acts"), {"steps": list(steps)}, {}).blocks
        found = [block for block in made if isinstance(block, Step)]
        if len(found) != len(steps) or len(found) != len(made):
            raise refused("acts", 1, "an act is one step", "Begin each verb's words with one '- [ ] ', and no more.")
        return found

    def by(self, act: Act, spans: Spans, role: Role) -> Spans:
        """A step's words with the call that it answers, or who does it where that is not the sheet's own person."""
        who = ""
        if not self.telling.alone and act.who != role:
            who = {"lead": "Lead: ", "second": "Second: ", "both": "Both: "}[act.who]
        elif act.who == "second" and self.call_word(act):
            who = f"“{self.call_word(act)}”: "
        if not who:
            return spans
        return (Span(text=who, strong=True), plainly(spans[0]), *spans[1:])

    def _stop(self, act: Act, detail: StopPoint) -> Hold:
        questions: list[Span] = []
        if act.id in self._asks_ready:
            questions += [Span(text="Second said "), Span(text="“Ready”", strong=True), Span(text="?")]
        for ask in detail.asks:
            if self.telling.alone and ask == "company":
                continue
            questions += [Span(text=" ")] * bool(questions) + list(self.telling.question(act, ask))
        several = len(self.reading.checked.plan.runs) > 1 and detail.about
        run = self.telling.runs.get(detail.about or "")
        title = stop_titles(opens(run) if run is not None else "pump")[detail.before]
        title = f"{title}, {detail.about}" if several else title
        who = ("lead",) if self.telling.alone else ("lead", "second") if act.who == "both" else (act.who,)
        return Hold(title=title, questions=tuple(questions), number=detail.number, who=who, acts=(act.id,))


def _pail(act: Act) -> str:
    """The pail an act is about; nothing of any other."""
    words = (getattr(act.detail, key, "") for key in _PAILS)
    return next((word for word in words if isinstance(word, str) and word.startswith("pail ")), "")


def _kind(act: Act) -> str:
    """Acts that are told together where they follow each other."""
    if isinstance(act.detail, Wait):
        return f"wait {act.phase}"
    hose = isinstance(act.detail, Drain) and act.phase == "leave" and act.at == "reel"
    return "hose" if hose or (isinstance(act.detail, Mark) and act.detail.verb == "coil") else ""


def _unnumbered(text: str) -> str:
    """The same without a pail's number."""
    if "pail" not in text:
        return text
    words = text.split(" ")
    for n, (before, after) in enumerate(pairwise(words)):
        if before == "pail" and after.rstrip(".,").isdigit():
            words[n], words[n + 1] = "that", "pail"
    return " ".join(words)


def headed(steps: Sequence[Block]) -> tuple[Block, ...]:
    """Steps across the page under the heads of their columns."""
    return (StepHead(), *steps) if steps else ()


def printing_of(reading: Reading) -> Printing | None:
    """The procedure of a wash that is not held, ready to be printed; a yard job's is yard_acts.yard_printing's."""
    procedure = procedure_of(reading) if reading.checked.plan.kind == "wash" else None
    if procedure is not None and "printing" not in reading.made:
        reading.made["printing"] = Printing(reading, procedure)
    return reading.made.get("printing")
