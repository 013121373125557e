"""Stop points and what they ask: what was ticked, what was played, what each kind asks at the least."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from planner.inputs.tables.chemicals import ACIDS, BURNS, CHEMICALS
from planner.plan.procedure.acts import Act, Mark, StopPoint
from planner.rehearsal.breach import Log
from planner.rehearsal.setting import Setting

STATES: Final = ("primed", "water_only", "beds_wet", "residual", "power_off", "no_pressure")
_BEFORE: Final = {
    "wash": ("power", "stock", "mix", "coil", "open", "acid"),
    "yard": ("power", "stock", "mix", "coil", "open", "acid"),
}

State = Callable[[str, "str | None"], str | None]
"""Why a state is not true of a run, or of all; None: it is."""


@dataclass(slots=True)
class Stops:
    """What is done so far [s], what is covered, worn, coiled, which stop points were passed.

    `passed` are the guards that hold, with the run they are about; `numbers` when each was passed [s].
    """

    setting: Setting
    log: Log
    done: dict[str, float] = field(default_factory=dict)
    covered: dict[str, str] = field(default_factory=dict)
    worn: list[str] = field(default_factory=list)
    coiled: set[str] = field(default_factory=set)
    laid_out: set[str] = field(default_factory=set)
    joined: set[str] = field(default_factory=set)
    flushed: bool = False
    unread: bool = False
    passed: dict[tuple[str, str | None], int] = field(default_factory=dict)
    numbers: dict[int, float] = field(default_factory=dict)

    def know(self, act: Act, verb: str, what: str) -> bool:
        """Whether the contract knows a key with this verb; if not, that is a breach."""
        known = self.setting.keys.get(verb, frozenset())
        fine = what in known or any(self._fits(what, key) for key in known if key.rpartition(" ")[2].isupper())
        if not fine:
            self.log.add("order", act.id, f"nobody knows what `{verb} {what}` is")
        return fine

    def _fits(self, what: str, key: str) -> bool:
        """Whether a key with a name behind it is meant, and the rig has such a name."""
        word, _, of = key.rpartition(" ")
        kept = {"RUN": self.setting.runs, "TANK": self.setting.tanks, "HOSE": self.setting.hoses}.get(of)
        if word and not what.startswith(f"{word} "):
            return False
        name = what[len(word) + 1 :] if word else what
        return bool(name) if kept is None else name in kept

    def mark(self, act: Act, mark: Mark) -> None:
        """Something done, once it is."""
        verb, what = mark.verb, mark.what
        if not self.know(act, verb, what):
            return
        self.done[what] = act.end
        if verb == "cover":
            if what in self.covered:
                self.log.add("order", act.id, f"{what} is covered already")
            self.covered[what] = act.id
        elif verb == "uncover":
            self.done.pop(what, None)
            if self.covered.pop(what, None) is None:
                self.log.add("end", act.id, f"{what} was never covered")
        elif verb == "wear":
            self.worn.append(what)
        elif verb == "lay_out":
            self.laid_out.add(what)

    def untick(self, *words: str) -> None:
        """What was ticked of some kinds has to be done again."""
        for key in [key for key in self.done if key.startswith(words)]:
            del self.done[key]

    # ------------------------------------------------------------------------------------------- the points

    def ask(self, act: Act, point: StopPoint, state: State) -> None:
        """A stop point as it begins: everything it asks is true, and it asks enough."""
        if point.before not in _BEFORE[self.setting.kind]:
            self.log.add("order", act.id, f"nobody knows what comes before {point.before}")
        if point.about is not None and point.about not in self.setting.runs:
            self.log.add("order", act.id, f"nobody knows what {point.about} is")
        if point.number in self.numbers or point.number <= max(self.numbers, default=0):
            self.log.add("order", act.id, f"stop point {point.number} does not come after those before it")
        if act.stop_point is not None and act.stop_point == point.number:
            self.log.add("order", act.id, f"stop point {point.number} waits for itself")
        for key in point.asks:
            self._true(act, key, point.about, state)
        for missing in self._least(point):
            self.log.add("order", act.id, f"stop point {point.number}, before {point.before}, does not ask {missing}")

    def _true(self, act: Act, key: str, about: str | None, state: State) -> None:
        if key in STATES:
            why = state(key, about)
            if why is not None:
                self.log.add("order", act.id, f"it asks {key}: {why}")
        elif key not in self.done:
            self.log.add("order", act.id, f"it asks {key}, and that was not done before")

    def _least(self, point: StopPoint) -> list[str]:
        """What a stop point of its kind has to ask and does not."""
        asks, setting = set(point.asks), self.setting
        least: list[str] = []
        if point.before == "power":
            named = [f"gun {point.about}"] if point.about is not None else []
            looked = [key for key in self.done if key.startswith("breaker ") and point.about in (None, key[8:])]
            run = setting.runs.get(point.about or "")
            least = [*(["primed"] if run is None or run.pump is not None else []), *named, *looked]
        elif point.before in ("stock", "acid"):
            least = ["eyewash", "lot_read", "company" if setting.crew > 1 else "office_knows"]
            least += self.worn or ["what is worn"]
            least += ["no_aluminium"] if point.before == "acid" and setting.kind == "yard" else []
            if self._acid(point) and "acid_gloves" not in self.worn:
                least.append("acid_gloves")
        elif point.before == "mix":
            least = ["vents_shut", "people_clear", "wind", *sorted(self.covered)]
            least += ["beds_wet"] if setting.beds is not None else []
        elif point.before == "coil":
            least = [
                "power_off",
                "no_pressure",
                *(["residual"] if setting.flushes or self.flushed or self.unread else []),
            ]
        elif point.before == "open":
            least = ["residual", "power_off", "no_pressure", "locked"]
        return [key for key in least if key not in asks]

    def _acid(self, point: StopPoint) -> bool:
        """Whether a stop point lets acid go: it says so, or one of its run's mixes is acid."""
        mixes = [mix for mix in self.setting.mixes if point.about in (None, mix.run)]
        return point.before == "acid" or any(mix.chemical in ACIDS for mix in mixes)

    def dressed(self, act: Act, lot: str, chemical: str) -> None:
        """Whoever pours acid or lye wears what it takes; over a bath of crystals no face shield."""
        if chemical not in BURNS:
            return
        splashes = self.setting.kind == "wash" or CHEMICALS[chemical].people.burns == "strong"
        for what in ("acid_gloves", *(("face_shield",) if splashes else ())):
            if what not in self.worn:
                self.log.add("order", act.id, f"{lot} is poured without {what}")

    def over(self, act: Act, point: StopPoint) -> None:
        """A stop point passed."""
        self.numbers[point.number] = act.end
        self.passed[(point.before, point.about)] = point.number

    # ------------------------------------------------------------------------------------------- what they guard

    def holds(self, before: str, about: str | None) -> bool:
        """Whether the stop point before something was passed, about this run or about all."""
        if (before, None) in self.passed:
            return True
        if about is None:
            return any(kind == before for kind, _ in self.passed)
        return (before, about) in self.passed

    def guard(self, act: Act, before: str, about: str | None) -> None:
        """What begins now has to have its stop point behind it."""
        if not self.holds(before, about):
            of = f" of {about}" if about is not None else ""
            self.log.add("order", act.id, f"no stop point before {before}{of} was passed")

    def waited(self, act: Act) -> None:
        """The stop point an act names is over before the act begins."""
        if act.stop_point is not None and act.stop_point not in self.numbers:
            self.log.add("order", act.id, f"it waits for stop point {act.stop_point}, which is not passed")

    def forget(self, before: str, about: str | None = None, *, every: bool = False) -> None:
        """A guard that has to be passed anew, about one run or every one."""
        for key in [key for key in self.passed if key[0] == before and (every or key[1] == about)]:
            del self.passed[key]
