"""The walls: each section wetted, covered, left to stand and rinsed, as much of it and as long as was asked."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from math import inf
from typing import Final

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import SOAP
from planner.plan.procedure.acts import Act, Section, Spray
from planner.rehearsal.breach import Log
from planner.rehearsal.setting import Setting
from planner.rehearsal.vessels import AIR, LEAST, UNKNOWN, active_of

_WITHIN: Final = 0.05
_WITHIN_STRENGTH: Final = 0.03
_HAIR: Final = 1e-9
_AT_ONCE: Final = 1e-6
AGAIN: Final = "wall.dries"
"""Why an act sprays mix on what has some."""


@dataclass(slots=True)
class Landed:
    """What left a tip in one spray: `volume` in all, `plain` water, `air`, `strange`, `mixed`, kg by substance."""

    plain: float = 0.0
    air: float = 0.0
    strange: float = 0.0
    mixed: float = 0.0
    mass: dict[str, float] = field(default_factory=dict)

    def more(self, volume: float, mixture: Mapping[str, float]) -> None:
        """More of it."""
        if not mixture:
            self.plain += volume
            return
        if AIR in mixture:
            self.air += volume
        elif mixture.get(UNKNOWN, 0.0) > 0.0:
            self.strange += volume
        elif any(strength > LEAST for strength in mixture.values()):
            self.mixed += volume
        else:
            self.plain += volume
        for name, strength in mixture.items():
            if name not in (AIR, UNKNOWN):
                self.mass[name] = self.mass.get(name, 0.0) + volume * strength


@dataclass(slots=True)
class _Round:
    """One wetting, mix and rinse of a section; since `bare` [s] what was wetted first of it waits for more."""

    wet: float = 0.0
    wetted: float = -inf
    line: float = 0.0
    run: str = ""
    chemical: str = ""
    mix: float = 0.0
    mass: float = 0.0
    mixed: float = -inf
    bare: float = inf
    rinse: float = 0.0
    clean: float = 0.0
    last: str = ""


@dataclass(slots=True)
class _Asked:
    """What was asked of a surface: water over all its runs, mix by chemical, its strength and dwell by run."""

    wet: float = 0.0
    rinse: float = 0.0
    clean: float = 0.0
    mixes: dict[str, float] = field(default_factory=dict)
    strengths: dict[tuple[str, str], float | None] = field(default_factory=dict)
    dwell: dict[str, tuple[float, float]] = field(default_factory=dict)
    again: float = inf


class Walls:
    """Every section as it stands, and the time mix stands anywhere."""

    def __init__(self, setting: Setting, acts: Sequence[Act], log: Log, cleared: Callable[[Act], None]) -> None:
        """Nothing is done yet; the acts tell only when a wall that is not rinsed gets its last mix.

        `cleared` is called as the last wall is about to be rid of its mix.
        """
        self.setting, self.log, self.cleared = setting, log, cleared
        self.asked: dict[str, _Asked] = {}
        for work in setting.work:
            one = self.asked.setdefault(work.surface, _Asked())
            one.wet += work.wet
            one.rinse += work.rinse
            one.clean += work.clean
            one.dwell[work.run] = (work.dwell_least, work.dwell_most)
            one.again = min(one.again, work.again)
        for mix in setting.mixes:
            for surface, volume in mix.parts.items():
                one = self.asked.setdefault(surface, _Asked())
                one.mixes[mix.chemical] = one.mixes.get(mix.chemical, 0.0) + volume
                one.strengths[mix.chemical, mix.run] = mix.strength
        self.of: dict[str, int] = {}
        self.rounds: dict[tuple[str, int], list[_Round]] = {}
        self.standing: set[tuple[str, int]] = set()
        self.since = inf
        self.done_at = -inf
        self.last_mix = {
            act.section.surface: act.id
            for act in acts
            if act.section is not None and isinstance(act.detail, Spray) and act.detail.use == "mix"
        }

    # ------------------------------------------------------------------------------------------- as it happens

    def known(self, act: Act) -> Section | None:
        """The section an act is at; a breach where nobody asked for it."""
        section = act.section
        if section is None:
            self.log.add("section", act.id, "it sprays a section and does not say which")
            return None
        of = self.of.setdefault(section.surface, section.of)
        if section.surface not in self.asked or section.of != of or not 1 <= section.number <= section.of:
            told = f"{section.surface}, {section.number} of {section.of}"
            self.log.add("section", act.id, f"nobody asked for {told}" + (f" where there are {of}" if of else ""))
            return None
        return section

    def begins(self, act: Act, spray: Spray, now: float) -> None:
        """A spray at a section as its gun opens."""
        section = self.known(act)
        if section is None:
            return
        key = (section.surface, section.number)
        rounds = self.rounds.setdefault(key, [_Round()])
        current = rounds[-1]
        if spray.use in ("wet", "clean") and current.mix > 0.0:
            self._next(act, key, rounds)
        if spray.use == "mix":
            if current.rinse > 0.0:
                self._next(act, key, rounds)
            self._waited(act, key, rounds[-1], now)
            self._kept_wet(act, key, rounds[-1], now)
            if not self.standing:
                self.since = now
            self.standing.add(key)
        if spray.use == "rinse" and current.rinse == 0.0:
            self._dwelt(act, key, current, now)
            self._kept_wet(act, key, current, now)
            self._clear(act, {key}, now)

    def _waited(self, act: Act, key: tuple[str, int], current: _Round, now: float) -> None:
        """How long a wetted section has waited for the first of its mix."""
        waited = now - current.wetted
        if current.wet > LEAST and current.mix == 0.0 and waited > self.setting.wetted + _AT_ONCE:
            most = self.log.time(self.setting.wetted)
            self.log.add("section", act.id, f"{_called(key)} was wetted {self.log.time(waited)} before, {most} at most")

    def _kept_wet(self, act: Act, key: tuple[str, int], current: _Round, now: float) -> None:
        """What dries before its mix has stood is wetted again in time, and only what has mix on it already."""
        again, most = act.why == AGAIN, self.asked[key[0]].again
        if again and current.mix == 0.0:
            self.log.add("section", act.id, f"{_called(key)} is wetted again and has no mix on it")
        if again and most == inf:
            self.log.add("section", act.id, f"nobody asked for {_called(key)} to be wetted again")
        waited = now - current.bare
        if (again or not _mixes(act)) and waited > most + _WITHIN * most:
            told = f"{self.log.time(waited)} to be wetted again; the limit is {self.log.time(most)}"
            self.log.add("section", act.id, f"{_called(key)} waited {told}")
        if again or current.bare == inf:
            current.bare = now

    def _clear(self, act: Act, keys: set[tuple[str, int]], now: float) -> None:
        """Mix stands there no more."""
        if self.standing and self.standing <= keys:
            self.cleared(act)
            self.since = inf
        self.standing -= keys

    def _next(self, act: Act, key: tuple[str, int], rounds: list[_Round]) -> None:
        """A second round of a section: for another chemical, and once the first is rinsed off."""
        asked = self.asked[key[0]]
        if len(rounds) >= max(len(asked.mixes), 1):
            self.log.add("section", act.id, f"{_called(key)} is done a second time")
        elif rounds[-1].rinse == 0.0 and key[0] not in self.setting.rests:
            self.log.add("section", act.id, f"{_called(key)} still has {rounds[-1].chemical} on it")
        rounds.append(_Round())

    def _dwelt(self, act: Act, key: tuple[str, int], current: _Round, now: float) -> None:
        """How long the mix has stood as the first rinse water comes."""
        asked = self.asked[key[0]]
        if not asked.mixes:
            return
        if current.mix == 0.0:
            self.log.add("section", act.id, f"{_called(key)} is rinsed and has no mix on it")
            return
        least, most = asked.dwell.get(current.run, (0.0, inf))
        stood = now - current.mixed
        if not least - _AT_ONCE <= stood <= most + _AT_ONCE:
            between = f"{self.log.time(least)} to {self.log.time(most)}" if most < inf else f"{self.log.time(least)}"
            self.log.add(
                "section", act.id, f"the mix stood {self.log.time(stood)} on {_called(key)}, {between} is right"
            )

    def ends(self, act: Act, spray: Spray, landed: Landed, now: float) -> None:
        """A spray at a section as it is done."""
        section = act.section
        if section is None or (section.surface, section.number) not in self.rounds:
            return
        key = (section.surface, section.number)
        current = self.rounds[key][-1]
        current.last = act.id
        self.done_at = now
        if spray.use == "wet":
            current.wet += landed.plain
            current.wetted = now
            current.line = max(current.line, self.setting.volume_of(spray.run))
        elif spray.use == "rinse":
            current.rinse += landed.plain
        elif spray.use == "clean":
            current.clean += landed.plain
        elif spray.use == "mix":
            self._mixed(act, spray, key, current, landed, now)

    def _mixed(self, act: Act, spray: Spray, key: tuple[str, int], current: _Round, landed: Landed, now: float) -> None:
        chemical = active_of(landed.mass)[0]
        if chemical is None:
            return
        if current.chemical not in ("", chemical):
            self.log.add("section", act.id, f"{_called(key)} gets {chemical} on top of {current.chemical}")
        if current.run not in ("", spray.run):
            self.log.add("section", act.id, f"{_called(key)} gets its mix from {current.run} and from {spray.run}")
        current.chemical, current.run = chemical, spray.run
        current.mix += landed.mixed
        current.mass += landed.mass.get(chemical, 0.0)
        if act.why != AGAIN:
            current.mixed = now
        if key[0] in self.setting.rests and self.last_mix.get(key[0]) == act.id:
            self._clear(act, {one for one in self.standing if one[0] == key[0]}, now)

    # ------------------------------------------------------------------------------------------- at the end

    def close(self, last: str) -> None:
        """None forgotten, none twice, each with what was asked."""
        for surface, asked in self.asked.items():
            wanted = asked.wet > LEAST or asked.rinse > LEAST or asked.clean > LEAST or asked.mixes
            of = self.of.get(surface)
            if of is None:
                if wanted:
                    self.log.add("section", last, f"nothing is done on {surface}")
                continue
            for number in range(1, of + 1):
                rounds = self.rounds.get((surface, number))
                if rounds is None:
                    self.log.add("section", last, f"{_called((surface, number))} is forgotten")
                else:
                    self._judge(surface, number, of, asked, rounds)

    def _judge(self, surface: str, number: int, of: int, asked: _Asked, rounds: list[_Round]) -> None:
        called = _called((surface, number))
        for chemical in asked.mixes:
            if not any(one.chemical == chemical for one in rounds):
                self.log.add("section", rounds[-1].last, f"{called} never gets its {chemical}")
        for one in rounds:
            self._water(called, one, asked.wet / of, asked.rinse / of, asked.clean / of, surface)
            if one.chemical in asked.mixes:
                self._mix(called, one, asked.mixes[one.chemical] / of, asked.strengths.get((one.chemical, one.run)))
            elif one.chemical:
                self.log.add("section", one.last, f"{called} gets {one.chemical}, which nobody asked for")

    def _water(self, called: str, one: _Round, wet: float, rinse: float, clean: float, surface: str) -> None:
        log = self.log
        most = max(wet * (1.0 + _WITHIN), one.line)
        if not wet * (1.0 - _WITHIN) - _HAIR <= one.wet <= most + _HAIR:
            log.add("section", one.last, f"{called} is wetted with {log.volume(one.wet)}, {log.volume(wet)} was asked")
        for what, done, asked in (("rinsed", one.rinse, rinse), ("cleaned", one.clean, clean)):
            if abs(done - asked) > _WITHIN * asked + _HAIR:
                log.add(
                    "section", one.last, f"{called} is {what} with {log.volume(done)}, {log.volume(asked)} was asked"
                )
        if one.mix > 0.0 and one.rinse == 0.0 and surface not in self.setting.rests:
            log.add("section", one.last, f"{called} keeps its {one.chemical}: nobody rinses it")

    def _mix(self, called: str, one: _Round, volume: float, strength: float | None) -> None:
        log = self.log
        if abs(one.mix - volume) > _WITHIN * volume + _HAIR:
            log.add("section", one.last, f"{called} gets {log.volume(one.mix)} of mix, {log.volume(volume)} was asked")
        if strength is None or one.chemical == SOAP or not one.mix > 0.0:
            return
        landed = one.mass / one.mix
        if abs(landed - strength) > _WITHIN_STRENGTH * strength + _HAIR:
            told = f"{log.strength(landed)}, {log.strength(strength)} was asked"
            log.add("section", one.last, f"the {one.chemical} on {called} is of {told}")

    def chemicals_on(self, surface: str) -> set[str]:
        """What has landed on a wall so far."""
        return {one.chemical for key, rounds in self.rounds.items() if key[0] == surface for one in rounds} - {""}


def _mixes(act: Act) -> bool:
    return isinstance(act.detail, Spray) and act.detail.use == "mix"


def _called(key: tuple[str, int]) -> str:
    return f"{key[0]} {key[1]}"
