"""Small procedures written as one writes them down: what is done, by whom, where, how long; clock and walks follow."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from planner.inputs.tables.chemicals import CHEMICALS
from planner.plan.between.matrix import matrix
from planner.plan.procedure import acts as of
from planner.plan.procedure.acts import Act, At, Detail, Expect, Held, Phase, Procedure, Section, State, Who
from planner.rehearsal.from_plan import agents_of
from planner.rehearsal.setting import Hose, Lot, Pump, Run, Setting, Tank

FLOW = 5e-4
TAP = 4e-4
RIG = {"desk", "rig", "drums", "reel", "bench"}

BASE = Setting(
    kind="wash",
    tanks={"water": Tank(volume=1.0, dead=0.02, holds="water"), "acid": Tank(volume=0.05, dead=0.001, holds="muriatic")},
    hoses={"red": Hose(volume=0.01, length=25.4), "green": Hose(volume=0.002, length=12.7)},
    pumps={
        "booster": Pump(),
        "acid pump": Pump(dedicated="muriatic", switched=True),
        "washer": Pump(bypass=True),
    },
    runs={},
    lots={
        "B-1": Lot(chemical="hypochlorite", strength=100.0, on_hand=0.05),
        "B-2": Lot(chemical="hypochlorite", strength=120.0, on_hand=0.05),
        "M-1": Lot(chemical="muriatic", strength=360.0, on_hand=0.02),
        "soap": Lot(chemical="surfactant", strength=1000.0, on_hand=0.01),
        "bicarb": Lot(chemical="bicarbonate", strength=None, on_hand=20.0),
        "thio": Lot(chemical="thiosulfate", strength=None, on_hand=5.0),
    },
    matrix=matrix(),
    agents=agents_of(CHEMICALS.values()),
    thin=20.0,
    warm=22.0,
    crew=1,
    tap=TAP,
)  # fmt: skip


def run(name: str, **fields: Any) -> Run:
    """A run, of the booster and the red hose where nothing else is said."""
    plain: dict[str, Any] = {
        "hoses": ("red",), "pump": "booster", "dosing": "water", "device": None, "flow": FLOW, "pump_flow": FLOW,
    }  # fmt: skip
    return Run(name=name, **(plain | fields))


@dataclass
class Script:
    """The acts so far, by one lead and perhaps a second who fits in between."""

    setting: Setting
    phase: Phase = "walk"
    acts: list[Act] = field(default_factory=list)
    now: float = 0.0
    stops: int = 0
    place: dict[str, str] = field(default_factory=lambda: {"lead": "rig", "second": "rig"})
    away: dict[str, float] = field(default_factory=lambda: {"lead": 0.0, "second": 0.0})

    def do(
        self, detail: Detail, at: At, seconds: float, *, who: Who = "lead", run: str | None = None,
        start: float | None = None, hands: float | None = None, stop: int | None = None, expect: Expect | None = None,
        section: tuple[str, int, int] | None = None,
    ) -> Act:  # fmt: skip
        """An act: the lead's next, or another's at its `start`."""
        people = ("lead", "second") if who == "both" else (who,)
        walk = max(self._walk(one, at, run) for one in people)
        act = Act(
            id=f"{len(self.acts)}", phase=self.phase, who=who, at=at, detail=detail,
            start=self.now if start is None else start, lasts=walk + seconds, hands=hands, expect=expect,
            section=Section(surface=section[0], number=section[1], of=section[2]) if section else None,
            stop_point=stop,
        )  # fmt: skip
        self.acts.append(act)
        for one in people:
            if at == "grounds":
                self.away[one] += act.lasts
        if who != "second":
            self.now = act.end
        return act

    def _walk(self, who: str, at: At, run: str | None) -> float:
        if at == "grounds":
            return 0.0
        place = "rig" if at in RIG else "wall"
        lengths = [self.setting.length_of(name) for name in ([run] if run else self.setting.runs)]
        walk = 0.0 if place == self.place[who] else max(min(lengths) / self.setting.pace - self.away[who], 0.0)
        self.place[who], self.away[who] = place, 0.0
        return walk

    def tick(self, verb: of.Done, *whats: str, at: At = "rig") -> None:
        """Things done and ticked, each a few seconds."""
        for what in whats:
            run = what.partition(" ")[2]
            self.do(of.Mark(verb=verb, what=what), at, 5.0, run=run if run in self.setting.runs else None)

    def stop(self, before: of.Before, about: str | None, *asks: str, at: At = "rig") -> int:
        """A stop point."""
        self.stops += 1
        self.do(of.StopPoint(number=self.stops, before=before, about=about, asks=asks), at, 10.0, run=about)
        return self.stops

    def read(self, what: str, unit: of.Unit, value: float, at: At = "rig") -> None:
        """A reading."""
        self.do(of.Read(), at, 10.0, expect=Expect(what=what, unit=unit, value=value, low=0.0, high=2.0 * value))

    def spray(self, run: str, volume: float, onto: str, use: of.Use, at: At = "wall", **fields: Any) -> Act:
        """The gun open as long as it takes."""
        seconds = volume / self.setting.runs[run].flow
        detail = of.Spray(run=run, seconds=seconds, volume=volume, onto=onto, use=use)
        return self.do(detail, at, seconds, run=run, **fields)

    def shut(self, run: str, at: At = "wall") -> None:
        """The gun closed."""
        self.do(of.Shut(run=run), at, 2.0, run=run)

    def done(self, begin: State, end: State) -> Procedure:
        """All of it, in its order."""
        return Procedure(acts=tuple(sorted(self.acts, key=lambda act: act.start)), begin=begin, end=end)

    def clocked(self) -> Setting:
        """The setting with a clock that fits."""
        return replace(self.setting, begins=0.0, ends=max(act.end for act in self.acts))


def state(tanks: dict[str, Held], hoses: dict[str, str], lots: dict[str, float]) -> State:
    """A state of the rig; hoses by what they hold."""
    return State(tanks=tanks, hoses={name: Held(stock=stock) for name, stock in hoses.items()}, lots=lots)


def water(volume: float) -> Held:
    """So much water."""
    return Held(stock="water", volume=volume)
