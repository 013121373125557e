"""What paper says of an act, as words for its template: places, amounts a hand can measure, seconds on a watch."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from itertools import takewhile
from typing import Any

from planner.inputs.joined import Role, RunInput
from planner.inputs.tables.chemicals import ACIDS, SOAP, unseen_of
from planner.packet.blocks import Spans
from planner.packet.findings import message_of
from planner.packet.sections.acts.expected import at_most, expected
from planner.packet.sections.acts.words import holds_before, spoken_spans
from planner.packet.sections.mixes import by_level_text, dial_set, dial_text, tank_name
from planner.packet.sections.reading import Reading
from planner.physics.tanks import depth_of
from planner.plan.mix.model import Addition, MixPlan
from planner.plan.mix.pouring import tank_volumes
from planner.plan.model import JobPlan, RunPlan
from planner.plan.procedure.acts import (
    Act,
    ChangeTip,
    Drain,
    DrawFrom,
    Expect,
    Fill,
    Join,
    Mark,
    Neutralise,
    Parting,
    Phase,
    Pour,
    Power,
    Prime,
    Procedure,
    Relieve,
    SetDosing,
    Shut,
    Soak,
    Spray,
    Stir,
    StopPoint,
    Tap,
    Wait,
    WaterBed,
)
from planner.plan.procedure.totals import AGAIN, JugTest, jug_tests
from planner.units import Toward, show
from planner.words.act_keys import ActKey, asked, key_of, opens
from planner.words.dates import CLOCK, after_text, clock_text
from planner.words.figures import lines_laid
from planner.words.jugs import JugRest, rest_of
from planner.words.measures import drawn, gun_open, minutes, minutes_between, poured, weighed
from planner.words.spoken import spoken_name, wall_name

_FIXED = {
    "tap": "the tap", "hydrant": "the hydrant", "pond": "the pond", "tub": "the tub", "bucket": "the bucket",
    "section": "the section", "bed": "the bed", "ground": "the ground", "lawn": "the lawn", "air": "the air",
    "sanitary": "a sanitary drain, with its owner's permission", "carried_home": "a marked drum to take home",
}  # fmt: skip
_ONTO = frozenset({"ground", "lawn", "section", "bed"})
_EMPTY = (
    "run", "place", "source", "amount", "minutes", "seconds", "reads", "low", "high", "should", "differs", "device",
    "mark", "gap", "stays", "size", "stick", "use", "wall", "part", "of", "hoses", "tip", "batch", "standoff", "up",
    "kind", "step", "guard", "mix", "again",
)  # fmt: skip
_ALIKE = 0.02  # a fill that differs by more than this is not a batch's


def runs_of(plan: JobPlan) -> tuple[RunPlan, ...]:
    """The lines a job sprays with: its runs, or the line a pump is tested on in the yard."""
    return (*plan.runs, *(plan.yard.runs if plan.yard is not None else ()))


def place_words(name: str, reading: Reading) -> str:
    """A place of an act in a sentence: `the tap`, `pail 2`, `the roof mix tank`, `lot H-2`, a hose by its name."""
    plan = reading.checked.plan
    if name in _FIXED:
        return _FIXED[name]
    first, _, rest = name.partition(" ")
    if first == "pail" and rest.isdigit():
        return name
    if first == "jug" and any(run.name == rest for run in plan.runs):
        return f"the jug of {rest}" if len(plan.runs) > 1 else "the jug"
    if any(lot.name == name for lot in plan.shelf):
        return f"lot {name}"
    hoses = {hose.name for run in runs_of(plan) for hose in (*run.input.hoses, *run.input.put_on)}
    return name if name in hoses else tank_name(name)


def toward_place(name: str, reading: Reading) -> str:
    """The same with its `into` or `onto`, and home for what is carried there."""
    return f"{'onto' if name in _ONTO else 'into'} {place_words(name, reading)}"


def _parts(spans: Spans) -> list[dict[str, str | bool]]:
    """Spans for a template, which drops the white at a value's ends: `space` says that a part has one before it."""
    parts: list[dict[str, str | bool]] = []
    for n, span in enumerate(spans):
        before = spans[n - 1].text[-1:] if n else ""
        space = bool(n and (before.isspace() or span.text[:1].isspace()))
        parts.append({"text": span.text, "strong": span.strong, "space": space})
    return parts


class Telling:
    """One procedure told to one reader."""

    flushing: Phase = "flush"  # when the strips are read that say a line is clean for good

    def __init__(self, reading: Reading, procedure: Procedure) -> None:
        self.reading, self.plan, self.system = reading, reading.checked.plan, reading.system
        self.procedure = procedure
        self.hoses = frozenset(procedure.begin.hoses)
        self.runs = {run.name: run.input for run in runs_of(self.plan)}
        self.several = len(self.plan.runs) > 1

    def key_of(self, what: str, verb: str = "") -> tuple[ActKey, str]:
        """The row of a key with this job's words, and the name behind it."""
        return key_of(what, verb, hoses=self.hoses, yard=self.plan.yard.pump.kind if self.plan.yard is not None else "")

    @cached_property
    def alone(self) -> bool:
        """True of a crew of one."""
        return all(act.who == "lead" for act in self.procedure.acts)

    @cached_property
    def additions(self) -> Mapping[str, tuple[str, Addition]]:
        """Of each act that fills or pours into a mix tank: its batch, where there are several, and its addition."""
        waiting: dict[str, list[tuple[str, list[Addition]]]] = {}
        for mix in self.plan.mixes:
            for n, batch in enumerate(mix.batches, start=1):
                title = f"Batch {n} of {len(mix.batches)}" if len(mix.batches) > 1 else ""
                waiting.setdefault(batch.tank, []).append((title, list(batch.additions)))
        found: dict[str, tuple[str, Addition]] = {}
        for act in self.procedure.acts:
            detail = act.detail
            if not isinstance(detail, (Fill, Pour)) or detail.into not in waiting:
                continue
            batches = waiting[detail.into]
            # What a tank is rinsed with is no part of a batch: only what fits the next ones is.
            for n, (title, left) in enumerate(batches):
                at = next((n for n, addition in enumerate(left) if self._is(addition, detail)), None)
                if at is not None:
                    found[act.id] = (title, left[at])
                    waiting[detail.into] = [("", left[at + 1 :]), *batches[n + 1 :]]
                    break
        return found

    def _is(self, one: Addition, detail: Fill | Pour) -> bool:
        if isinstance(detail, Fill):
            return one.what == "water" and abs(one.volume - detail.volume) <= _ALIKE * one.volume
        return one.what == detail.lot or (one.what == "soap" and self.chemical(detail.lot) == SOAP)

    def chemical(self, lot: str) -> str:
        """What a lot holds, by its table name."""
        return next((lot_today.chemical for lot_today in self.plan.shelf if lot_today.name == lot), "")

    def mix_of(self, run: str) -> MixPlan | None:
        """The first mix of a run."""
        return next((mix for mix in self.plan.mixes if mix.run.name == run), None)

    def lots_from(self, act: Act) -> str:
        """Stock that goes into something from an act on, up to the next stop point of its kind: `H-1, H-2`."""
        acts = self.procedure.acts
        begins = next(n for n, one in enumerate(acts) if one.id == act.id)
        names: list[str] = []
        passed = not isinstance(act.detail, StopPoint)
        for one in acts[begins + 1 :]:
            if isinstance(one.detail, StopPoint) and one.detail.before in ("stock", "acid"):
                if not passed:
                    break
                passed = False
            elif isinstance(one.detail, Pour):
                names.append(one.detail.lot)
            elif isinstance(one.detail, SetDosing):
                names += [draw.source for draw in one.detail.draws if self.chemical(draw.source)]
        return ", ".join(dict.fromkeys(name for name in names if self.chemical(name)))

    def words_of(self, act: Act, row: ActKey, name: str) -> dict[str, str]:
        """The names and figures a key's words may ask for."""
        run = self.runs.get(name) or next(iter(self.runs.values()), None)
        values = dict.fromkeys(("value", "low", "high", "place", "tank"), "")
        values["name"] = tank_name(name) if row.named == "TANK" else name
        values |= self._left_between(name if row.named == "TANK" else "")
        values["pump"] = run.pump.name if run is not None and run.pump is not None else "the pump"
        values["lots"] = self.lots_from(act)
        values["residual"] = self._residual(act)
        laid = sum(line.laid for line in lines_laid(self._laid(act)))
        values["length"] = show(laid, "length", self.system, toward="up")
        values |= self.own_words(act)
        expect = act.expect or self._read_before(act, row.key)
        if expect is not None:
            values["value"], values["low"], _ = expected(expect, self.system)
            values["high"] = at_most(expect, self.system)
            values["tank"] = self._dipped(expect) if expect.what == "dip" else ""
        return values

    def _left_between(self, tank: str) -> dict[str, str]:
        """What the job before left of its mix in a tank, and what stays there of this one's for the next."""
        mixes = [mix for mix in self.plan.mixes if mix.run.feed_tank is not None and mix.run.feed_tank.name == tank]
        first = next((mix for mix in mixes if mix.heel_of), None)
        last = next((mix for mix in mixes if mix.stays_for), None)
        held = self.procedure.end.tanks.get(tank)
        stays = held.volume or 0.0 if held is not None else 0.0
        return {
            "heel": drawn(first.heel_held, self.system, "up") if first is not None else "",
            "heel_of": first.heel_of if first is not None else "",
            "stays": drawn(stays, self.system, "up") if last is not None else "",
            "stays_for": last.stays_for if last is not None else "",
        }

    def own_words(self, act: Act) -> Mapping[str, str]:
        """What a kind of job has beside, for its keys' words."""
        return {}

    def _read_before(self, act: Act, what: str, *, at_tip: bool = False) -> Expect | None:
        """The last reading of a kind before an act; `at_tip` of the last flush alone, not before a mix or of a pail."""
        before = takewhile(lambda one: one.id != act.id, self.procedure.acts)
        reads = [one.expect for one in before if one.expect is not None and (not at_tip or one.phase == self.flushing)]
        return next((expect for expect in reversed(reads) if expect.what == what), None)

    def _residual(self, act: Act) -> str:
        """What the strips of the flush before an act should say: `chlorine 4 mg/L or less`."""
        chlorine, ph = (self._read_before(act, what, at_tip=True) for what in ("strip_chlorine", "strip_ph"))
        said = [f"chlorine **{at_most(chlorine, self.system)}** or less"] if chlorine is not None else []
        if ph is not None:
            _, low, high = expected(ph, self.system)
            said.append(f"pH **{low} to {high}**")
        unseen = unseen_of(flush.leaves for flush in self.plan.flushes)
        said += [unseen] if unseen else []
        return " and ".join(said) or "in order"

    def _dipped(self, one: Expect) -> str:
        """The tank a stick is read in: the one whose content at the start stands so deep."""
        off: dict[str, float] = {}
        for tank in self.plan.input.rig.tanks:
            held = self.procedure.begin.tanks.get(tank.name)
            depth = depth_of(tank_volumes(tank), held.volume) if held is not None and held.volume else None
            if depth is not None:
                off[tank.name] = abs(depth - one.value)
        return tank_name(min(off, key=lambda name: off[name])) if off else "the tank"

    def mark(self, act: Act, verb: str, what: str) -> Spans:
        """The words of something done by its key."""
        row, name = self.key_of(what, verb)
        held = self.procedure.begin.tanks.get(name)
        full = row.full if held is not None and held.stock == "water" else ""
        undo = row.undo if self.plan.mixes else row.undo_water or row.undo
        return spoken_spans(full or (undo if verb == "uncover" else row.step), self.words_of(act, row, name))

    def question(self, act: Act, ask: str) -> Spans:
        """How a stop point asks for one of its keys."""
        row, name = self.key_of(ask)
        values = self.words_of(act, row, name)
        about = act.detail.about if isinstance(act.detail, StopPoint) else None
        runs = [run for run in self.runs.values() if about in (None, run.name)]
        bench = [self.plan.yard.pump.driven_by or "mains"] if self.plan.yard is not None else []
        said = asked(
            row, [(run.pump.driven_by or "mains") if run.pump is not None else opens(run) for run in runs] or bench
        )
        # What the last strip should be has its own strong figures.
        return spoken_spans(said.replace("{residual}", values["residual"]), values)

    def why(self, act: Act) -> str:
        """The finding an act answers, as the checks say it, up to its first semicolon; else nothing."""
        if act.why is None:
            return ""
        asked = (finding for finding in self.reading.checked.findings if finding.level in ("caution", "stop"))
        found = next((finding for finding in asked if finding.code == act.why), None)
        return "" if found is None else message_of(found, self.system).partition("; ")[0]

    def clock(self, act: Act, *, step: float = CLOCK, bare: bool = False) -> str:
        """When an act begins, as the job's clock has it; from arrival where no time of day is known."""
        if self.procedure.starts < 3600.0:
            return after_text(act.start, step)
        return clock_text(act.start, self.system, step=step, bare=bare)

    def values(self, act: Act) -> dict[str, Any]:
        """An act as the template has it: its verb, its words, its figures; what does not apply is empty."""
        values: dict[str, Any] = dict.fromkeys(_EMPTY, "")
        values |= {"verb": "", "parts": [], "why": self.why(act), "near": act.section is None}
        values |= self._own(act)
        if (section := act.section) is not None:
            values |= {"wall": wall_name(self.plan, section.surface), "part": section.number, "of": section.of}
        if act.expect is not None:
            values |= self._reading(act, act.expect)
        return values

    def _reading(self, act: Act, one: Expect) -> dict[str, Any]:
        row, _ = self.key_of(one.what, "read")
        value, low, high = self._rest(act.id) or expected(one, self.system)
        words = self.words_of(act, row, "")
        still = (row.dry if act.at == "wall" else row.tank) if act.phase == "set_up" else ""
        step = "".join(span.text for span in spoken_spans(still or row.step, words))
        reads = at_most(one, self.system) if row.should == "most" else value
        values = {"step": step, "reads": reads, "low": low, "high": high}
        own = (row.differs_alone if self.alone else "") or ("" if self.plan.mixes else row.differs_water)
        differs = row.still_differs if still else own or row.differs
        return values | {"should": "" if row.should == "band" and low == high else row.should, "differs": differs}

    @cached_property
    def _rests(self) -> Mapping[str, tuple[JugTest, JugRest]]:
        """What each draw test leaves in its jug, by its act's id."""
        tests = [jug_test for of_jug in jug_tests(self.procedure).values() for jug_test in of_jug]
        return {jug_test.act: (jug_test, rest_of(self.plan, jug_test, self.system)) for jug_test in tests}

    def _rest(self, act: str) -> tuple[str, str, str] | None:
        """What a jug that is read has left, with its unit, and the ends of it; None where no jug is read."""
        rest = self._rests[act][1] if act in self._rests else None
        return (f"{rest.number} {rest.unit}", rest.low, rest.high) if rest is not None else None

    def _rest_of(self, detail: Drain) -> str:
        """What is emptied from a jug as its test has it, where nothing was drawn in between."""
        for test, rest in self._rests.values() if detail.source.startswith("jug ") else ():
            if abs(test.left - detail.volume) <= 1e-9 and rest.value > 0.0:
                return f"{rest.number} {rest.unit}"
        return ""

    def _own(self, act: Act) -> dict[str, Any]:
        """The verb and its own figures."""
        detail, at, system = act.detail, self.reading, self.system
        match detail:
            case Mark(verb=verb, what=what):
                spans = self.mark(act, verb, what)
                return {"verb": "mark", "parts": _parts(spans), "stays": self._on_reel(act) if what == "hoses" else ""}
            case Join(run=run):
                return {
                    "verb": "join",
                    "run": self._run(run),
                    "hoses": self._hoses(run),
                    "tip": self.runs[run].tip.name,
                    "size": self._size(run),
                }
            case Fill():
                return self._fill(act, detail)
            case Pour():
                return self._pour(act, detail)
            case Stir():
                return {"verb": "stir", "place": place_words(detail.tank, at), "minutes": minutes(detail.seconds)}
            case Drain():
                return {
                    "verb": "drain", "kind": "hose" if detail.source in self.hoses else "vessel",
                    "source": place_words(detail.source, at), "place": toward_place(detail.to, at),
                    "amount": self._rest_of(detail) or self.measured(detail.volume, "up"),
                }  # fmt: skip
            case DrawFrom(run=run, feed=feed):
                values = {"verb": "draw_from", "run": self._run(run), "place": place_words(feed, at)}
                piped = {"kind": "pump" if self.runs[run].pump is not None else "hose", "guard": self._guard()}
                if self.runs[run].falls:
                    return values | {"kind": "hose", "guard": ""}
                return values | piped if feed in ("tap", "hydrant") else values
            case Prime(run=run):
                pump = self.runs[run].pump
                fed = "tap" if self.runs[run].feed == "tap" else "tank"
                return {"verb": "prime", "run": self._run(run), "device": pump.name if pump else "", "kind": fed,
                        "how": pump.of_kind.prime.format(device=pump.name) if pump else ""}  # fmt: skip
            case Tap(run=run, on=on):
                tank = self.runs[run].feed_tank if self.runs[run].falls else None
                place = place_words(tank.name, at) if tank is not None else ""
                return {"verb": "tap", "run": self._run(run), "kind": "on" if on else "off", "place": place}
            case SetDosing():
                return self._set(detail)
            case Power(pump=pump, on=on):
                return {"verb": "power", "device": pump, "kind": "on" if on else "off"}
            case Spray():
                return self._spray(act, detail)
            case ChangeTip(run=run, role=role, tip=tip, off=off, on=on):
                size, hoses = self._size(run, role), ", ".join(on)
                return {"verb": "change_tip", "run": self._run(run), "tip": tip, "kind": role, "size": size,
                        "off": ", ".join(off), "hoses": hoses}  # fmt: skip
            case Parting(run=run) | Shut(run=run) | Relieve(run=run):
                verbs = {Parting: "part", Shut: "shut", Relieve: "relieve"}
                return {"verb": verbs[type(detail)], "run": self._run(run)}
            case Wait(seconds=seconds):
                return {"verb": "wait", "seconds": gun_open(seconds, "up")}
            case WaterBed():
                amount = drawn(detail.volume, system, "up")
                bed = detail.bed.replace("_", " ")
                return {"verb": "water", "place": f"the {bed}", "source": place_words(detail.source, at),
                        "amount": amount, "minutes": minutes(act.lasts)}  # fmt: skip
            case Neutralise():
                agent = f"{spoken_name(self.chemical(detail.lot))}, lot {detail.lot}".removeprefix(", ")
                amount = weighed(detail.mass, system, "up")
                place = place_words(detail.what, at)
                return {"verb": "neutralise", "place": place, "amount": amount, "source": agent}
            case Soak():
                row, _ = self.key_of(detail.what, "soak")
                spans = spoken_spans(row.soak, {"place": place_words(detail.into, at)})
                return {
                    "verb": "soak",
                    "step": "".join(span.text for span in spans),
                    "minutes": minutes(detail.seconds),
                }
            case StopPoint():
                raise ValueError("a stop point is not a step")
        return {"verb": "read"}

    def _run(self, run: str) -> str:
        return run if self.several else ""

    def _laid(self, act: Act) -> list[RunInput]:
        """The runs that are laid out by an act: those joined after it, up to the next laying out."""
        acts = self.procedure.acts
        begins = next(n for n, one in enumerate(acts) if one.id == act.id)
        runs: list[RunInput] = []
        for one in acts[begins + 1 :]:
            if isinstance(one.detail, Mark) and one.detail.verb == "lay_out":
                break
            if isinstance(one.detail, Join):
                runs.append(self.runs[one.detail.run])
        return runs

    def _on_reel(self, act: Act) -> str:
        """What of the hoses stays on the reel; nothing where all of it goes to the wall."""
        kept = {line.name: line.on_reel for line in lines_laid(self._laid(act)) if line.on_reel > 0.0}
        values = {name: show(length, "length", self.system) for name, length in kept.items()}
        return ", ".join(f"{length}{f' of {name}' if self.several else ''}" for name, length in values.items())

    def _size(self, run: str, role: Role = "tip") -> str:
        orifice = self.runs[run].tips[role].orifice
        return show(orifice, "bore", self.system) if orifice is not None else ""

    def _hoses(self, run: str) -> str:
        names = [hose.name for hose in self.runs[run].hoses]
        return ", ".join(names) if len(names) <= 8 else f"the {len(names)} hoses of the list"

    def measured(self, volume: float, toward: Toward) -> str:
        """Water that is run or drained, and what a wall gets."""
        return drawn(volume, self.system, toward)

    def _fill(self, act: Act, detail: Fill) -> dict[str, Any]:
        batch, added = self.additions.get(act.id, ("", None))
        values = {
            "verb": "fill",
            "kind": "kept" if self._sprayed_from(act, detail.into) else "",
            "place": place_words(detail.into, self.reading),
            "source": place_words(detail.source, self.reading),
            "batch": batch,
        }
        if added is not None or detail.into.startswith(("jug ", "pail ", "tub")):
            stick = self._dip(added, "up") if added is not None else ""
            values["use"] = "more" if stick and holds_before(self.procedure, act, detail.into) else ""
            return values | {"amount": poured(detail.volume, self.system, "up"), "stick": stick}
        amount, tanks = drawn(detail.volume, self.system, "up"), self.plan.input.rig.tanks
        # More than it holds goes in while it is drawn from.
        values["use"] = (
            "drawn" if any(tank.name == detail.into and tank.volume < detail.volume for tank in tanks) else ""
        )
        return values | {"amount": amount, "minutes": minutes(act.lasts), "gap": self._gap(act) or ""}

    def _guard(self) -> str:
        return (self.plan.input.water.backflow or "none").replace("_", " ").replace("rpz", "RPZ")

    def _gap(self, act: Act) -> bool:
        """Whether an act is the first fill out of a tap with an air gap: its hose hangs above the rim."""
        taps = (one for one in self.procedure.acts if isinstance(one.detail, Fill) and one.detail.source == "tap")
        first = next((tap for tap in taps if tap.phase == "grounds"), None)
        return self._guard() == "air gap" and first is not None and first.id == act.id

    def _sprayed_from(self, act: Act, vessel: str) -> bool:
        """Whether somebody else sprays out of a pail while it is filled."""
        if not vessel.startswith("pail "):
            return False
        feeds: dict[str, str] = {}
        meanwhile = 0
        for one in self.procedure.acts:
            if isinstance(one.detail, DrawFrom):
                feeds[one.detail.run] = one.detail.feed
            elif isinstance(one.detail, Spray) and one.who != act.who and feeds.get(one.detail.run) == vessel:
                meanwhile += min(one.end, act.end) - max(one.start, act.start) > 1.0
        return meanwhile > 0

    def _pour(self, act: Act, detail: Pour) -> dict[str, Any]:
        batch, added = self.additions.get(act.id, ("", None))
        chemical = self.chemical(detail.lot)
        soap = chemical == SOAP
        active = any(mix.stock or mix.stock_mass for mix in self.plan.mixes)
        side: Toward = "up" if soap and active else "down"
        amount = weighed(detail.mass, self.system, side) if detail.mass is not None else ""
        if detail.volume is not None:
            amount = poured(detail.volume, self.system, side)
        alike = (one for one in self.procedure.acts if isinstance(one.detail, Pour))
        first = next(one for one in alike if self.chemical(one.detail.lot) == chemical)  # type: ignore[union-attr]
        neat = not any(isinstance(one.detail, Fill) and one.detail.into == detail.into for one in self.procedure.acts)
        kind = "dry" if detail.mass is not None else "soap" if soap else "acid" if chemical in ACIDS else "stock"
        return {
            "verb": "pour", "place": place_words(detail.into, self.reading), "amount": amount, "batch": batch,
            "source": f"lot {detail.lot}", "kind": kind, "use": "neat" if neat else "",
            "stick": self._dip(added, side) if added is not None else "",
            "part": "first" if first.id == act.id else "",
        }  # fmt: skip

    def _dip(self, added: Addition, side: Toward) -> str:
        return show(added.dip, "dip", self.system, toward=side) if added.by_stick and added.dip is not None else ""

    def _set(self, detail: SetDosing) -> dict[str, Any]:
        dosing, mix = self.runs[detail.run].dosing, self.mix_of(detail.run)
        values = {"verb": "set_dosing", "device": dosing.name if dosing is not None else detail.run, "kind": detail.to}
        values["source"] = " and ".join(place_words(draw.source, self.reading) for draw in detail.draws)
        if detail.to == "mark" and mix is not None:
            values["mark"] = dial_text(detail.mark, mix) if detail.mark is not None else dial_set(mix)
            first = next(act.detail for act in self.procedure.acts if isinstance(act.detail, SetDosing)
                         and (act.detail.run, act.detail.to) == (detail.run, "mark"))  # fmt: skip
            values["falls"] = by_level_text(mix) if first is detail else ""
        return values

    def _spray(self, act: Act, detail: Spray) -> dict[str, Any]:
        exact = detail.use == "test" or (act.section is not None and detail.use == "mix")
        side: Toward = "near" if exact else "up"
        amount = self.measured(detail.volume, side)
        return {
            "verb": "spray", "run": self._run(detail.run), "use": detail.use, "kind": detail.onto,
            "place": toward_place(detail.onto, self.reading), "seconds": gun_open(detail.seconds, side),
            "amount": amount, "stays": self._stood(act, detail), "gap": self._runs_on(act, detail) or "",
            "again": self._again(act),
        }  # fmt: skip

    def _again(self, act: Act) -> str:
        """Of mix that keeps a section wet: within how many minutes of the mix before it."""
        if act.section is None or act.why != AGAIN:
            return ""
        rows = (wall.mists for wall in self.plan.work if wall.surface.name == act.section.surface)
        mists = next((one for one in rows if one is not None), None)
        return minutes(mists.every, "down") if mists is not None else ""

    def _stood(self, act: Act, detail: Spray) -> str:
        """How long mix has to stand before the second rinses it, in minutes; on the lead's sheet its row has it."""
        if act.who != "second" or act.section is None or detail.use != "rinse":
            return ""
        rows = (wall for wall in self.plan.work if wall.surface.name == act.section.surface and wall.dwell_most > 0.0)
        work = next(rows, None)
        return minutes_between(work.dwell_least, work.dwell_most) if work is not None else ""

    def _runs_on(self, act: Act, detail: Spray) -> bool:
        """Whether a gun of a full line only runs on until the other one is done."""
        if detail.use != "line" or detail.onto != "ground" or not self.runs[detail.run].same_time:
            return False
        before = takewhile(lambda one: one.id != act.id, self.procedure.acts)
        done = [one.detail for one in before if isinstance(one.detail, Join | Spray) and one.detail.run == detail.run]
        return bool(done) and isinstance(done[-1], Spray)
