"""The procedure of a yard job on paper: its acts by page, worded as for a wash where nothing of the yard is in them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from planner.chemistry.bath import CARBON_DIOXIDE_PER_PROTON
from planner.packet.blocks import Block, Hold, Step
from planner.packet.measures import gauge, minutes, poured, warmer, weighed
from planner.packet.sandbox import refused
from planner.packet.sections.act_values import Telling, place_words
from planner.packet.sections.acts import Printing, procedure_of
from planner.packet.sections.reading import Reading, template, written
from planner.packet.sections.yard_safety import held_wear, wear_words
from planner.packet.sections.yard_words import kept_out
from planner.packet.wording import section_from
from planner.packet.words import spoken_name
from planner.plan.procedure.acts import Act, Neutralise, Power, Soak
from planner.plan.yard_end import FIRST_RINSE
from planner.plan.yard_model import BathPlan, YardPlan
from planner.plan.yard_parts import hydrogen_metals
from planner.units import System, Toward, show

_OWN = frozenset({"fill", "pour", "soak", "neutralise", "drain", "read", "spray", "power", "set_dosing"})
"""Verbs that the yard words itself, in templates/yard_acts.md."""


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

    @cached_property
    def yard(self) -> YardPlan:
        """The work on the pump."""
        assert self.plan.yard is not None
        return self.plan.yard

    def own_words(self, act: Act) -> Mapping[str, str]:
        """What the keys of the yard have in braces."""
        held = held_wear(self.yard)
        wear = wear_words(self.yard.bath) if act.phase == "mix" and self.yard.bath is not None else held
        return {**self._of_pump, **self._of_bath, "wear_up": _capital(wear), "held_up": _capital(held)}

    def _residual(self, act: Act) -> str:
        ph = bool({one.chemical for one in self.yard.held} - {"hypochlorite"})
        return f"chlorine **0**{', pH **6 to 8**' if ph else ''}"

    @cached_property
    def _of_pump(self) -> Mapping[str, str]:
        yard, unloader = self.yard, written(self.yard.pump, "unloader")
        diaphragm = yard.pump.kind == "diaphragm"
        count = f"{yard.stages} of them" if yard.stages else "counted"
        replaced = f": {', '.join(yard.replace)}" if yard.replace else ""
        blocked = "" if diaphragm else "Block the shaft. Nothing above the bench can fall."
        return {
            "lift": "Lift the stage off"
            if yard.stages == 1
            else f"Lift the stages off one by one, {count} from the root",
            "new": f"New parts in, wear parts first{replaced}. " if "rebuild" in yard.works or yard.replace else "",
            "battery": ", the battery's lead too" if diaphragm else "",
            "blocked": blocked,
            "blocked_ask": "" if diaphragm else "Shaft blocked, nothing above the bench that can fall?",
            "unloader": f"; its gauge never over {gauge(unloader, self.system)}"
            if isinstance(unloader, (int, float))
            else "",
        }

    @cached_property
    def _of_bath(self) -> Mapping[str, str]:
        bath, parts = self.yard.bath, self.yard.parts
        metals = hydrogen_metals()
        apart = " and ".join(parts.apart)
        told = {
            "hydrogen": f"{', '.join(metals[:-1])} or {metals[-1]}",
            "apart": f" Count every part of {apart}: off and apart." if apart else "",
            "apart_ask": f" Every part of {apart} counted, off and lying apart?" if apart else "",
        }
        return told | (bath_words(bath, self.system) if bath is not None else {"ends": "", "ends_open": ""})


def bath_words(bath: BathPlan, system: System) -> dict[str, str]:
    """What ends a bath, as it is looked at before acid is opened."""
    ends = next((one for one in bath.neutralise if one.purpose != FIRST_RINSE), None)
    if ends is None:
        return {"ends": "", "ends_open": ""}
    return {
        "ends": f", and {weighed(ends.carry, system, 'up')} of {spoken_name(ends.agent)} open beside the tub",
        "ends_open": ", neutralizer open beside the tub",
    }


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


class YardPrinting(Printing):
    """One yard procedure as blocks of one packet."""

    told_by = YardTelling

    def values(self, act: Act) -> dict[str, Any]:
        """An act's values for its template, with what the yard says beside."""
        known = act.id in self._values
        told = super().values(act)
        if not known:
            told |= self._beside(act)
        return told

    def _beside(self, act: Act) -> dict[str, Any]:
        """Which vessel, which reading, whether a start is the first: what the yard's words depend on."""
        before = [one for one in self.telling.procedure.acts if one.start < act.start]
        detail, yard = act.detail, self.reading.checked.plan.yard
        assert yard is not None
        names = (getattr(detail, key, "") for key in ("into", "source", "onto"))
        vessel = detail.what if isinstance(detail, Neutralise) else next((name for name in names if name), "")
        built = [one for one in before if one.phase == "build_up"]
        heard = any(isinstance(one.detail, Power) and one.start > built[-1].start for one in before) if built else True
        treated = any(isinstance(one.detail, Neutralise) and one.detail.what == "tub" for one in before)
        place = {"place": place_words(detail.into, self.reading)} if isinstance(detail, Soak) else {}
        return place | {
            "part": detail.what if isinstance(detail, Soak) else "",
            "phase": act.phase,
            "vessel": vessel.partition(" ")[0],
            "wiped": "yes" if self._wipes(act) else "no",
            "what": act.expect.what if act.expect is not None else "",
            "first": "no" if heard or yard.pump.kind != "centrifugal" else "yes",
            "tub": "yes" if treated else "no",
        }

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
        return _test_values(self.reading, yard) | (_bath_values(self.reading, yard.bath, yard) if yard.bath else {})


def _test_values(reading: Reading, yard: YardPlan) -> dict[str, Any]:
    test, limits, system = yard.test, reading.checked.plan.input.limits, reading.system
    angle = test.after.angle if test is not None else None
    return {
        "kind": yard.pump.kind,
        "acid": "yes" if yard.bath is not None else "no",
        "angle": f"{round(math.degrees(angle))}" if angle is not None else "",
        "tip_height": show(test.run.tip_height, "length", system) if test is not None else "",
        "bypass": show(min(limits["bypass_time"], limits["shut_off_on_paper"]), "time", system, toward="down"),
    }


def _bath_values(reading: Reading, bath: BathPlan, yard: YardPlan) -> dict[str, Any]:
    system = reading.system
    water = next((level.dip for level in bath.levels if level.what == "water"), None)
    stock = next((level.dip for level in bath.levels if level.what != "water" and level.by_stick), None)
    ends = next((one for one in bath.neutralise if one.purpose != FIRST_RINSE), None)
    given = [one for one in bath.pours if one.stock > 0.0 or one.mass > 0.0]
    return {
        "tub_least": poured(bath.tub_least, system, "up"),
        "water_dip": _dip(water, system, "up"),
        "stock_dip": _dip(stock, system, "down") if len(given) == 1 else "",
        "warms": warmer(bath.acid.rise_high, system) if bath.acid else "",
        "soak": minutes(bath.soak, "down"),
        "inside": "no" if yard.parts.nothing_inside else "yes",
        "stainless": "yes" if any(part.fate == "pits" for part in yard.parts.out) else "no",
        "passes": f"{bath.passes}",
        "wipe_least": minutes(bath.wipe[0], "down") if bath.wipe is not None else "",
        "wipe_most": minutes(bath.wipe[1], "down") if bath.wipe is not None else "",
        "rinse_with": _capital(spoken_name(bath.rinse_with)),
        "rust": "yes" if bath.capacity is None else "no",
        "metals": " and ".join(kept_out(yard)),
        "written": "yes" if yard.parts.written else "no",
        "unknown": " and ".join(yard.parts.unknown),
        "free": _dip(bath.free, system, "down") if bath.free is not None and bath.free > 0.0 else "",
        "top": _dip(bath.top, system, "up"),
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
    if not bath.carbon_dioxide or not CARBON_DIOXIDE_PER_PROTON.get(agent):
        return ""
    return show(bath.carbon_dioxide, "air", system, digits=2, toward="up")
