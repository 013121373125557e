"""The procedure of a yard job on paper: its acts by page, worded as for a wash where nothing of the yard is in them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import BLEACH, ended_by, foams
from planner.packet.blocks import Block, Hold, Span, Spans, Step
from planner.packet.sandbox import refused
from planner.packet.sections.acts.acts import Printing
from planner.packet.sections.acts.expected import expected
from planner.packet.sections.acts.folding import Fold
from planner.packet.sections.acts.framing import cautions_of
from planner.packet.sections.acts.streams import procedure_of
from planner.packet.sections.acts.values import Telling, place_words
from planner.packet.sections.reading import Reading, let_go, template
from planner.packet.sections.yard.safety import held_wear, left_to_steps, wear_words
from planner.packet.wording import section_from
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import (
    Act,
    Drain,
    DrawFrom,
    Join,
    Mark,
    Neutralise,
    Parting,
    Pour,
    Power,
    Prime,
    Read,
    Relieve,
    SetDosing,
    Shut,
    Soak,
    Spray,
    Stir,
    StopPoint,
    Tap,
)
from planner.plan.road.rig_rules import shut_most
from planner.plan.yard.bath import FIRST_RINSE
from planner.plan.yard.model import BathPlan, YardPlan
from planner.plan.yard.parts import hydrogen_metals
from planner.units import System, Toward, show
from planner.words.figures import bench_bucket
from planner.words.measures import gauge, minutes, poured, warmer, weighed
from planner.words.spelling import spelled
from planner.words.spoken import spoken_name

_OWN = frozenset({"fill", "pour", "soak", "neutralise", "drain", "read", "spray", "power", "set_dosing",
                  "join", "prime"})  # fmt: skip
"""Verbs that the yard words itself, in templates/yard_acts.md."""


def _locked(drive: str | None) -> dict[str, str]:
    """How a pump is kept from starting by itself, by what turns it, and how a stop point asks for that."""
    if drive == "engine":
        return {
            "unplug": "Engine off and cold, fuel shut. Pull the spark plug wire and tie it back. "
            "Whoever opens it keeps the key",
            "unplug_ask": "Engine cold, plug wire off, key with whoever opens it?",
        }
    lead = ", the battery's cable too" if drive == "battery" else ""
    return {
        "unplug": f"Unplug the pump{lead}. Whoever opens it keeps the plug",
        "unplug_ask": f"Plug{lead} with whoever opens it?",
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class Pages:
    """The acts of each page, in their order."""

    test: tuple[Act, ...] = ()
    down: tuple[Act, ...] = ()
    bath: tuple[Act, ...] = ()
    up: tuple[Act, ...] = ()


def pages_of(acts: Sequence[Act]) -> Pages:
    """Cut where the pump is opened, where the bath is mixed, and where it is built up; a test alone is one page."""

    def first(*phases: str) -> int:
        return next((n for n, act in enumerate(acts) if act.phase in phases), len(acts))

    up = first("build_up")
    bath = min(first("mix", "soak"), up)
    down = min(first("take_down"), bath)
    return Pages(
        test=tuple(acts[:down]), down=tuple(acts[down:bath]), bath=tuple(acts[bath:up]), up=tuple(acts[up:])
    )  # fmt: skip


def at_the_stop(blocks: Sequence[Block]) -> tuple[tuple[Block, ...], tuple[Block, ...], tuple[Block, ...]]:
    """What comes before the first stop point, the stop point across the page, and the rest."""
    at = next((n for n, block in enumerate(blocks) if isinstance(block, Hold)), len(blocks))
    return tuple(blocks[:at]), tuple(blocks[at : at + 1]), tuple(blocks[at + 1 :])


def yard_printing(reading: Reading) -> YardPrinting | None:
    """The acts of a yard job that is not held, ready to be printed."""
    procedure = procedure_of(reading) if reading.checked.plan.kind == "yard" else None
    return YardPrinting(reading, procedure) if procedure is not None else None


class YardTelling(Telling):
    """A yard job's acts told to one reader: what its pump, its bath and its shelf put into the words."""

    flushing = "test"

    @cached_property
    def yard(self) -> YardPlan:
        """The work on the pump."""
        assert self.plan.yard is not None
        return self.plan.yard

    def own_words(self, act: Act) -> Mapping[str, str]:
        """What the keys of the yard have in braces."""
        held = held_wear(self.yard)
        wear = wear_words(self.yard.bath) if act.phase == "mix" and self.yard.bath is not None else held
        return {**self._of_pump, **self._of_bath, "wear_up": capital(wear), "held_up": capital(held)}

    @cached_property
    def _of_pump(self) -> Mapping[str, str]:
        yard, unloader = self.yard, self.yard.pump.unloader
        kind = yard.pump.of_kind
        count = f"{yard.stages} of them" if yard.stages else "counted"
        replaced = f": {', '.join(yard.replace)}" if yard.replace else ""
        blocked = "Block the shaft. Nothing above the bench can fall." if kind.shaft else ""
        return {
            "lift": "Lift the stage off"
            if yard.stages == 1
            else f"Lift the stages off one by one, {count} from the root",
            "new": f"New parts in, wear parts first{replaced}. " if "rebuild" in yard.works or yard.replace else "",
            **_locked(yard.pump.driven_by),
            "blocked": blocked,
            "blocked_ask": "Shaft blocked, nothing can fall?" if kind.shaft else "",
            "unloader": f"; its gauge never over {gauge(unloader, self.system)}"
            if isinstance(unloader, (int, float))
            else "",
        }

    @cached_property
    def _of_bath(self) -> Mapping[str, str]:
        bath, parts = self.yard.bath, self.yard.parts
        metals = [spelled(metal, self.system) for metal in hydrogen_metals()]
        apart = spelled(" and ".join(parts.apart), self.system)
        values = {
            "hydrogen": f"{', '.join(metals[:-1])} or {metals[-1]}",
            "apart": f" Count every part of {apart}: off and set apart." if apart else "",
            "apart_ask": f" Every part of {apart} counted, off and set apart?" if apart else "",
        }
        return values | {"ends": bath_words(self.plan, bath, self.system) if bath is not None else ""}


def bath_words(plan: JobPlan, bath: BathPlan, system: System) -> str:
    """What ends a bath, as it is asked for before acid is opened."""
    ends = next((leftover for leftover in bath.neutralise if leftover.purpose != FIRST_RINSE), None)
    if ends is None:
        return ""
    need = next((agent for agent in plan.agents if agent.agent == ends.agent), None)
    buy = f" (buy {weighed(need.buy, system, 'up')} first)" if need is not None and need.buy > 0.0 else ""
    return f", and {weighed(ends.carry, system, 'up')} of {spoken_name(ends.agent)}{buy} open beside the tub"


def capital(words: str) -> str:
    """The same as a sentence begins."""
    return words[:1].upper() + words[1:]


_TOGETHER = {
    ("flush", "shut"), ("lay", "join"), ("join", "set"), ("join", "draw"), ("join", "prime"), ("set", "draw"),
    ("draw", "prime"), ("shut", "gauge"), ("shut", "off"), ("off", "relieve"), ("off", "tap"),
    ("tap", "relieve"), ("wear", "wear"), ("pour", "stir"),
    ("relieve", "bucket"), ("on", "line"), ("part", "hose"), ("on", "timed"),
}  # fmt: skip
"""What is one step of a yard job where it follows each other, by the hand that does it."""


_EACH, _THAT, _NUMBERED = "Each time: ", "that pail", ", pails "


def _repeated(first: Step, then: Step) -> bool:
    """Whether a step goes on what is done several times in the one before it."""
    bare = not (first.should or first.differs or first.caution or then.should or then.differs)
    return bare and len(first.acts) > 1 and then.spans[0].text.startswith(_EACH)


def _pails(numbers: Sequence[str]) -> str:
    """Several pails by their numbers: `pails 1 and 2`, `pails 3 to 5`."""
    counted = [int(number) for number in numbers]
    if len(counted) > 2 and counted == list(range(counted[0], counted[-1] + 1)):
        return f"pails {numbers[0]} to {numbers[-1]}"
    return f"pails {', '.join(numbers[:-1])} and {numbers[-1]}"


def _in_each(block: Block) -> Block:
    """What is done the same way with several pails names them where it has the pail: `into each of pails 1 and 2`."""
    if not isinstance(block, Step) or len(block.spans) < 3 or not block.spans[1].text.startswith(_NUMBERED):
        return block
    pails = block.spans[1].text.removeprefix(", ").removesuffix(": ")
    spans: list[Span] = []
    for span in block.spans[2:]:
        if _THAT in span.text and not any("each of" in one.text for one in spans):
            span = replace(span, text=span.text.replace(_THAT, f"each of {pails}", 1))
        spans.append(replace(span, text=span.text.replace(_THAT, "each")))
    named = any(pails in span.text for span in spans)
    return replace(block, spans=tuple(spans)) if named else block


def _hand(act: Act) -> str:
    """What a hand does, for acts that are told together."""
    match act.detail:
        case Shut():
            return "shut"
        case Power(on=False):
            return "off"
        case Relieve():
            return "relieve"
        case Tap(on=False):
            return "tap"
        case SetDosing(to="water"):
            return "set"
        case DrawFrom():
            return "draw"
        case Join():
            return "join"
        case Prime():
            return "prime"
        case Power(on=True):
            return "on"
        case Spray(use="flush"):
            return "flush"
        case Spray(use="line"):
            return "line"
        case Spray(use="test", onto="bucket"):
            return "timed"
        case Parting():
            return "part"
        case Drain(source="bucket"):
            return "bucket"
        case Mark(verb="coil"):
            return "hose"
        case Drain() if act.phase == "leave" and act.at == "reel":
            return "hose"
        case Pour():
            return "pour"
        case Stir():
            return "stir"
        case Mark(verb="wear"):
            return "wear"
        case Mark(verb="lay_out", what="hoses"):
            return "lay"
        case Read() if act.expect is not None and act.expect.what == "gauge_closed":
            return "gauge"
    return ""


class YardPrinting(Printing):
    """One yard procedure as blocks of one packet."""

    told_by = YardTelling

    def _relieved(self, made: list[Block]) -> None:
        """What one hand does at one place right after another is told in one step."""
        kinds = {act.id: _hand(act) for act in self.telling.procedure.acts}
        blocks: list[Block] = []
        for then in made:
            first = blocks[-1] if blocks else None
            if isinstance(first, Step) and isinstance(then, Step) and _repeated(first, then):
                again = replace(then.spans[0], text=then.spans[0].text.removeprefix(_EACH))
                spans = (*first.spans, Span(text=" "), again, *then.spans[1:])
                blocks[-1] = replace(first, spans=spans, acts=(*first.acts, *then.acts),
                                   caution=cautions_of(first, then))  # fmt: skip
            elif isinstance(first, Step) and isinstance(then, Step) and self._same_way(first, then):
                blocks[-1] = replace(first, caution=cautions_of(first, then), acts=(*first.acts, *then.acts))
            elif isinstance(first, Step) and isinstance(then, Step) and self._one_go(first, then, kinds):
                same = len(then.spans) > 1 and then.spans[0] == first.spans[0]  # who does it is said once
                words = then.spans[same:]
                begun = replace(words[0], text=capital(words[0].text)) if same else words[0]
                spans = (*first.spans, Span(text=" "), begun, *words[1:])
                blocks[-1] = replace(then, spans=spans, should=first.should or then.should,
                                   caution=cautions_of(first, then), acts=(*first.acts, *then.acts))  # fmt: skip
            else:
                blocks.append(then)
        blocks = [_in_each(self._emptied(block)) for block in blocks]
        for n in range(len(blocks) - 1, 0, -1):
            first, then = blocks[n - 1], blocks[n]
            if isinstance(first, Step) and isinstance(then, Step) and self._poured_away(first, then):
                spans = (*first.spans, Span(text=" "), *then.spans)
                whole = replace(first, spans=spans, caution=cautions_of(first, then), acts=(*first.acts, *then.acts))
                blocks[n - 1 : n + 1] = [whole]
            elif isinstance(first, Step) and isinstance(then, Step) and self._until(first, then):
                whole = replace(first, caution=cautions_of(first, then), acts=(*first.acts, *then.acts))
                blocks[n - 1 : n + 1] = [whole]
        made[:] = blocks

    def _poured_away(self, first: Step, then: Step) -> bool:
        """Whether pails are emptied right after the tub, where it went."""
        tub = self._detail(first.acts[-1])
        return isinstance(tub, Drain) and tub.source == "tub" and bool(self._pails_of(then))

    def _until(self, first: Step, then: Step) -> bool:
        """Whether a strip is read until which the tub is neutralized or all is rinsed: the step before says so."""
        before, strip = self._detail(first.acts[-1]), self._detail(then.acts[0])
        ended = isinstance(before, Neutralise) and before.what == "tub"
        rinsed = isinstance(before, Soak) and before.into != "tub"
        return isinstance(strip, Read) and (ended or rinsed)

    def _detail(self, name: str) -> object:
        return next(act.detail for act in self.telling.procedure.acts if act.id == name)

    def _emptied(self, block: Block) -> Block:
        """Pails that go the same way are named in one go."""
        acts = self._pails_of(block)
        if len(acts) < 2 or not isinstance(block, Step):
            return block
        source = _pails([act.detail.source.partition(" ")[2] for act in acts if isinstance(act.detail, Drain)])
        (step,) = self.worded([dict(self.values(acts[0])) | {"source": source, "each": False}])
        return replace(step, caution=block.caution, acts=tuple(act.id for act in acts))

    def _pails_of(self, block: Block) -> list[Act]:
        """The acts of a step that empties pails and does nothing else; none of any other block."""
        acts = [act for act in self.telling.procedure.acts if isinstance(block, Step) and act.id in block.acts]
        drained = all(isinstance(act.detail, Drain) and act.detail.source.startswith("pail ") for act in acts)
        return acts if drained else []

    def _times(self, fold: Fold) -> Spans:
        """How often, with the numbers of its pails: `2 times, pails 1 and 2: `."""
        spans = super()._times(fold)
        numbers = [word for span in spans for word in re.findall(r"pail (\d+)", span.text)]
        if not numbers:
            return spans
        return (spans[0], Span(text=f", {_pails(numbers)}: "))

    def _stop(self, act: Act, detail: StopPoint) -> Hold:
        """At a tub of acid what is worn against it is asked for, and no other gloves."""
        asks = tuple(ask for ask in detail.asks if ask != "gloves_goggles" or "acid_gloves" not in detail.asks)
        return super()._stop(act, replace(detail, asks=asks))

    def _same_way(self, first: Step, then: Step) -> bool:
        """Whether two steps empty pails to the same place."""
        ways = [
            {act.detail.to for act in self._pails_of(step) if isinstance(act.detail, Drain)} for step in (first, then)
        ]
        return len(ways[0]) == 1 and ways[0] == ways[1]

    def _one_go(self, first: Step, then: Step, kinds: Mapping[str, str]) -> bool:
        """Whether a step is told with the one before it; what is repeated never is."""
        hands = [kinds[act] for act in first.acts]
        if hands[0] == "flush" and kinds[then.acts[0]] == "bucket":
            return False  # that is for the throw, whose row says it
        both = (first.should and then.should) or (first.caution and then.caution) or first.differs
        again = {kinds[act] for act in then.acts}
        if both or len(again) > 1 or (len(then.acts) > 1 and again != {"hose"}) or len(set(hands)) != len(hands):
            return False
        return (hands[-1], kinds[then.acts[0]]) in _TOGETHER

    def values(self, act: Act) -> dict[str, Any]:
        """An act's values for its template, with what the yard says beside."""
        known = act.id in self._values
        values = super().values(act)
        if not known:
            values |= self._beside(act)
        return values

    def _beside(self, act: Act) -> dict[str, Any]:
        """Which vessel, which reading, whether a start is the first: what the yard's words depend on."""
        before = [one for one in self.telling.procedure.acts if one.start < act.start]
        detail, yard = act.detail, self.reading.checked.plan.yard
        assert yard is not None
        names = (getattr(detail, key, "") for key in ("into", "source", "onto"))
        vessel = detail.what if isinstance(detail, Neutralise) else next((name for name in names if name), "")
        built = [one for one in before if one.phase == "build_up"]
        heard = any(isinstance(one.detail, Power) and one.start > built[-1].start for one in before) if built else True
        place = {"place": place_words(detail.into, self.reading)} if isinstance(detail, Soak) else {}
        if isinstance(detail, Drain) and detail.to == "sanitary":
            same = (one for one in before if isinstance(one.detail, Drain) and one.detail.to == "sanitary")
            if any(one.phase == act.phase for one in same):
                place = {"place": "into the same drain"}
        if isinstance(detail, Spray) and detail.onto == "bucket":
            place = self._bucket(act, detail.volume)
        ends = expected(act.expect, self.reading.system)[1:] if act.expect is not None else ("", "")
        return {
            "low": ends[0],
            "high": ends[1],
            "part": detail.what if isinstance(detail, Soak) else "",
            "phase": act.phase,
            "vessel": vessel.partition(" ")[0],
            "wiped": self._wipes(act),
            "what": act.expect.what if act.expect is not None else "",
            "first": yard.pump.of_kind.stages and not heard,
            "built": bool(built),
            "against": self._against(detail.lot) if isinstance(detail, Neutralise) else "",
            **place,
        }

    def _against(self, lot: str) -> str:
        """What an agent takes out of a pail, by which its strip is told: `chlorine`, else `ph`."""
        return "chlorine" if self.telling.chemical(lot) in ended_by(BLEACH) else "ph"

    def _bucket(self, act: Act, volume: float) -> dict[str, str]:
        """A timed bucket, as large as the crew's own of these units, with the seconds that one takes."""
        size, name = bench_bucket(volume, self.reading.system)
        if act.expect is None:
            return {"amount": name}
        times, expect = size / volume, act.expect
        scaled = replace(expect, value=expect.value * times, low=expect.low * times, high=expect.high * times)
        value, low, high = expected(scaled, self.reading.system)
        return {"amount": name, "reads": value, "low": low, "high": high}

    def _wipes(self, act: Act) -> bool:
        """Whether it is the shaft that is wiped: the first that goes into a rinse pail, where the bath has a wipe."""
        bath = self.reading.checked.plan.yard.bath if self.reading.checked.plan.yard is not None else None
        if bath is None or bath.wipe is None or not isinstance(act.detail, Soak):
            return False
        acts = self.telling.procedure.acts
        first = next(one for one in acts if isinstance(one.detail, Soak) and one.detail.into.startswith("pail "))
        return act.id == first.id

    def worded(self, steps: Sequence[dict[str, Any]]) -> list[Step]:
        """Each act as the yard's own template words it, or as a wash does. Raises TemplateRefused as that does."""
        found: list[Step] = []
        for step in steps:
            if step["verb"] not in _OWN:
                found += super().worded([step])
                continue
            made = section_from("yard_acts", template("yard_acts"), {"step": step, **self._whole}, {}).blocks
            if len(made) != 1 or not isinstance(made[0], Step):
                raise refused("yard_acts", 1, "an act is one step", "Begin each verb's words with one '- [ ] '.")
            found.append(made[0])
        return found

    @cached_property
    def _whole(self) -> dict[str, Any]:
        """What the words of several acts share, of test and bath."""
        yard = self.reading.checked.plan.yard
        assert yard is not None
        bath = _bath_values(self.reading, yard.bath, yard) if yard.bath is not None else {}
        return _test_values(self.reading, yard) | let_go(self.reading) | bath


def _test_values(reading: Reading, yard: YardPlan) -> dict[str, Any]:
    test, limits, system = yard.test, reading.checked.plan.input.limits, reading.system
    angle = test.after.angle if test is not None else None
    return {
        "pierces": yard.pump.of_kind.pierces,
        "acid": yard.bath is not None,
        "angle": f"{round(math.degrees(angle))}" if angle is not None else "",
        "shaft": "bench_shaft" in left_to_steps(reading.checked.plan, yard),
        "tip_height": show(test.run.tip_height, "length", system) if test is not None else "",
        "bypass": show(shut_most(limits, yard.pump, None), "time", system, toward="down")
        if yard.pump.of_kind.relief == "unloader"
        else "",
    }


def _bath_values(reading: Reading, bath: BathPlan, yard: YardPlan) -> dict[str, Any]:
    system = reading.system
    water = next((level.dip for level in bath.levels if level.what == "water"), None)
    stock = next((level.dip for level in bath.levels if level.what != "water" and level.by_stick), None)
    ends = next((leftover for leftover in bath.neutralise if leftover.purpose != FIRST_RINSE), None)
    given = [share for share in bath.pours if share.stock > 0.0 or share.mass > 0.0]
    return {
        "tub_least": poured(bath.tub_least, system, "up"),
        "water_dip": _dip(water, system, "up"),
        "stock_dip": _dip(stock, system, "down") if len(given) == 1 else "",
        "warms": warmer(bath.acid.rise_high, system) if bath.acid else "",
        "soak": minutes(bath.soak, "down"),
        "inside": not yard.parts.nothing_inside,
        "stainless": any(part.fate == "pits" for part in yard.parts.out),
        "passes": f"{bath.passes}",
        "wipe_least": minutes(bath.wipe[0], "down") if bath.wipe is not None else "",
        "wipe_most": minutes(bath.wipe[1], "down") if bath.wipe is not None else "",
        "rinse_with": capital(spoken_name(bath.rinse_with)),
        "rust": bath.capacity is None,
        "capacity": weighed(bath.capacity, system, "down") if bath.capacity is not None else "",
        "spent": weighed(bath.spent, system, "down") if bath.spent is not None else "",
        "spent_ph": f"{bath.spent_ph:g}",
        "metals": spelled(" and ".join(part.material for part in yard.parts.out), system),
        "written": yard.parts.written,
        "unknown": " and ".join(yard.parts.unknown),
        "free": _dip(bath.free, system, "down") if bath.free is not None and bath.free > 0.0 else "",
        "end_key": ends.agent if ends is not None else "",
        "end_carbon": _gas(bath, ends.agent, system) if ends is not None else "",
        "end_warms": warmer(ends.rise, system)
        if ends is not None and ends.rise is not None and ends.rise > 0.0
        else "",
    }


def _dip(depth: float | None, system: System, toward: Toward) -> str:
    return show(depth, "dip", system, toward=toward) if depth is not None else ""


def _gas(bath: BathPlan, agent: str, system: System) -> str:
    """The gas of neutralizing, as an order of magnitude; nothing of what gives none of its own."""
    if not bath.carbon_dioxide or not foams(agent):
        return ""
    return show(bath.carbon_dioxide, "air", system, digits=2, toward="up")
