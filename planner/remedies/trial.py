"""One trial: the job with some options made, planned and checked like the job itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from planner.checks.evaluate import check_plan
from planner.checks.model import LEVELS, CheckedJob, Finding, Level
from planner.checks.registry import under
from planner.inputs.joined import JobInput, RunInput
from planner.physics.lines import SolveError, solve
from planner.plan import apparatus
from planner.plan.heels import after_mix
from planner.plan.hydraulics import line_of
from planner.plan.make import make_plan
from planner.plan.mix_model import EMPTY
from planner.remedies.heads import Heads
from planner.remedies.options import Option, applied


@dataclass(slots=True)
class Trials:
    """Trials of one job; each combination is planned once, however many findings ask for it."""

    checked: CheckedJob
    heads: Heads
    done: dict[tuple[object, ...], CheckedJob | None] = field(default_factory=dict)

    @property
    def job(self) -> JobInput:
        """The job as written."""
        return self.checked.plan.input

    def whole(self, name: str, options: tuple[Option, ...]) -> CheckedJob | None:
        """The job with the options made on run `name`; None where gear does not go together or nothing flows."""
        key = (name, *(one.key for one in options))
        if key not in self.done:
            self.done[key] = self._made(name, options)
        return self.done[key]

    def _made(self, name: str, options: tuple[Option, ...]) -> CheckedJob | None:
        altered = applied(self.job, name, options)
        if altered is None:
            return None
        try:
            plan = self.checked.plan
            return check_plan(make_plan(altered, plan.found, tables=False, known=plan.runs))
        except SolveError:
            return None

    def tip_head(self, name: str, options: tuple[Option, ...]) -> tuple[RunInput, float] | None:
        """The altered run and the head [m] at its tip, by the line solve alone."""
        altered = applied(self.job, name, options)
        if altered is None:
            return None
        run = next(run for run in altered.runs if run.name == name)
        group = [other for other in altered.runs if other.name == name or other.name in run.same_time]
        water = apparatus.liquid(altered.water.temperature, 0.0)
        mix = apparatus.liquid(altered.water.temperature, max(apparatus.strongest(altered, one) for one in group))
        try:
            line = line_of(altered, group, water=water, mix=mix)
            point = solve(line)
        except SolveError:
            return None
        return run, point.tip_heads[[one.name for one in line.runs].index(name)]

    def may_reach(self, name: str, options: tuple[Option, ...], *, or_nominal: bool) -> bool:
        """Whether the altered jet has head enough for its target, before anything is planned whole."""
        found = self.tip_head(name, options)
        if found is None:
            return False
        run, head = found
        if self.heads.reaches(run, head, surely=True):
            return True
        return or_nominal and self.heads.reaches(run, head, surely=False)


def level_of(checked: CheckedJob, code: str, about: str) -> tuple[Level, Finding | None]:
    """What a finding comes to in a trial; `none` where it no longer applies."""
    found = [one for one in checked.findings if one.code == code and one.about == about]
    if not found:
        return "none", None
    worst = min(found, key=lambda one: LEVELS.index(one.level))
    return worst.level, worst


_UNKNOWN: Final[Mapping[str, frozenset[str]]] = {
    "line.rating": frozenset({"none"}),
    "power.drop": frozenset({"no_cord", "no_amps", "no_gauge"}),
    "power.current": frozenset({"no_amps", "no_supply"}),
}
"""Cases in which a finding does not apply only because nobody wrote what it is worked out with."""


def only_unknown(found: Finding | None) -> bool:
    """Whether a trial silences a finding by gear of which too little is written: that cures nothing."""
    return found is not None and found.level == "none" and found.case in _UNKNOWN.get(found.code, ())


def falls_shorter(before: CheckedJob, after: CheckedJob) -> bool:
    """Whether a jet that was already short of its target gets lower still: no cure of something else may do that."""
    short = {one.about for one in before.findings if one.code == "reach.short" and one.level in ("stop", "caution")}
    was = {run.name: run.reach.low if run.reach is not None else 0.0 for run in before.plan.runs}
    now = {run.name: run.reach.low if run.reach is not None else 0.0 for run in after.plan.runs}
    return any(under(now.get(name, 0.0), was[name]) for name in short if name in was)


def soiled(before: CheckedJob, after: CheckedJob, name: str) -> bool:
    """Whether the run `name` newly takes its mix through a part that carried another chemical earlier today.

    A flush may be planned for that part; to send acid after bleach through it is still no answer to a short jet.
    """

    def parts_of(checked: CheckedJob) -> dict[str, str]:
        mixes = [mix for mix in checked.plan.mixes if mix.run.name == name]
        return {part: mix.chemical for mix in mixes for part in after_mix(EMPTY, mix).parts}

    carried, was = before.plan.found.parts, parts_of(before)
    return any(carried.get(part, now) != now for part, now in parts_of(after).items() if part not in was)


def new_trouble(before: CheckedJob, after: CheckedJob) -> tuple[int, int]:
    """How many stops, and how many cautions, a trial adds.

    What is said of a run is held against the same run: two guns on one pump take from each other, and a stop that
    wanders from one to the other is cured by nothing. Of other subjects codes are counted: gear may change their names.
    """
    runs = {run.name for run in before.plan.runs}
    was = {(one.code, one.about): one.level for one in before.findings if one.about in runs}
    stops = cautions = 0
    for one in after.findings:
        if one.about not in runs:
            continue
        had = was.get((one.code, one.about), "none")
        stops += one.level == "stop" and had != "stop"
        cautions += one.level == "caution" and had not in ("stop", "caution")
    others = _added(
        [one for one in before.findings if one.about not in runs],
        [one for one in after.findings if one.about not in runs],
    )
    return stops + others[0], cautions + others[1]


def _added(before: Sequence[Finding], after: Sequence[Finding]) -> tuple[int, int]:
    """How many stops, and how many cautions, are added in codes that had fewer of them."""
    added = []
    for level in ("stop", "caution"):
        had = Counter(one.code for one in before if one.level == level)
        has = Counter(one.code for one in after if one.level == level)
        added.append(sum(max(count - had[code], 0) for code, count in has.items()))
    # A stop that became a caution is no new trouble.
    eased = Counter(one.code for one in before if one.level == "stop")
    eased.subtract(one.code for one in after if one.level == "stop")
    cautions = added[1] - sum(min(max(count, 0), 1) for count in eased.values())
    return added[0], max(cautions, 0)
