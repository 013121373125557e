"""One trial: the job with some options made, planned and checked like the job itself, and whether that is a remedy.

A cure keeps each run's water and a fan's push, brings no stop, no caution for a caution, and no check that lacks a
figure.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from planner.checks.evaluate import check_plan
from planner.checks.model import LEVELS, NEVER_ON_THE_CARD, CheckedJob, Finding, Level, Remedy, under
from planner.inputs.joined import JobInput, Role, RunInput
from planner.physics.lines import SolveError
from planner.physics.liquids import GRAVITY
from planner.plan.between.heels import after_mix
from planner.plan.line.hydraulics import solved
from planner.plan.make import make_plan
from planner.plan.mix.model import EMPTY
from planner.plan.model import JobPlan
from planner.remedies.heads import Heads
from planner.remedies.options import Option, applied, parting
from planner.remedies.table import bound


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
        key = (name, *(option.key for option in options))
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

    def may_help(self, finding: Finding, name: str, options: tuple[Option, ...], *, cure: bool) -> bool:
        """Whether the line alone, solved before anything is planned, leaves the work its water and the jet its head.

        `cure`: only what may cure counts, not what may ease.
        """
        altered = applied(self.job, name, options)
        if altered is None:
            return False
        run = next(run for run in altered.runs if run.name == name)
        group = [other for other in altered.runs if other.name == name or other.name in run.same_time]
        try:
            found = solved(altered, group)
        except SolveError:
            return False
        point, by_name = found.point, {other.name: other for other in group}
        for other, flow, head in zip(found.order, point.flows, point.tip_heads, strict=True):
            if not self.keeps_work(finding, by_name[other], flow, head * found.mix.density * GRAVITY):
                return False
        if finding.code != "reach.short":
            return True
        head = point.tip_heads[found.order.index(name)]
        role = next(one for one in self.job.runs if one.name == name).role_with(finding.tip) if finding.tip else "tip"
        if role != "tip":
            # It is short with that tip on: its own line counts, on plain water.
            run = run.with_role(role) if role in run.tips else run
            try:
                (head,) = solved(altered, [run], stock=False).point.tip_heads
            except SolveError:
                return False
        if self.heads.reaches(run, head, surely=True):
            return True
        return finding.level == "stop" and not cure and self.heads.reaches(run, head, surely=False)

    def keeps_work(
        self, finding: Finding, run: RunInput, flow: float, pressure: float, role: Role = "tip"
    ) -> bool:  # fmt: skip
        """Whether a run still does what it was planned for: its water, and a fan's or cleaner's push at the tip.

        No more push is asked for than a ladder allows where that is what is to be cured.
        """
        was = next(one for one in self.checked.plan.runs if one.name == run.name).on(role)
        asked = was.tip_pressure
        if finding.code == "line.pressure_on_ladder":
            asked = min(asked, self.job.limits["pressure_on_ladder"])
        pushes = run.tip.pattern == "solid" or not under(pressure, asked * bound("pressure_kept"))
        return pushes and not under(flow, was.flow * bound("flow_kept"))

    def remedy(self, finding: Finding, name: str, options: tuple[Option, ...]) -> Remedy | None:
        """What the options come to, if the finding gets better by them, the work is kept and nothing gets worse."""
        after = self.whole(name, options)
        if after is None:
            return None
        level, found = level_of(after, finding.code, finding.about)
        if LEVELS.index(level) <= LEVELS.index(finding.level) or _guessed(finding, found, after.plan):
            return None
        before = self.checked
        runs = {run.name: run for run in after.plan.runs}
        kept = all(
            self.keeps_work(finding, one.input, one.flow, one.tip_pressure, role)
            for run in runs.values()
            for role, one in {"tip": run, **run.roles}.items()
        )
        stops, cautions = new_trouble(before, after, finding)
        worse = stops or (cautions and finding.level == "caution") or falls_shorter(before, after)
        if worse or not kept or not _same_mixes(before, after) or soiled(before, after, name):
            return None
        alone = parting(self.job, name, options)
        said = options if alone is None else (*options, alone)
        added = max(_elapsed(after) - _elapsed(before), 0.0)
        added = 0.0 if under(added, bound("time_told")) else added
        return Remedy(
            code=finding.code,
            about=finding.about,
            changes=tuple(option.change for option in said),
            after=found,
            run=runs[name],
            on_rig=all(option.on_rig for option in options),
            added=added,
            trouble=sum(option.effort for option in said) + int(added / bound("time_per_effort")),
        )


def _elapsed(checked: CheckedJob) -> float:
    return sum(span.seconds for span in checked.plan.time)


def _same_mixes(before: CheckedJob, after: CheckedJob) -> bool:
    """Whether every wall still gets its mix."""
    return {mix.name for mix in before.plan.mixes} <= {mix.name for mix in after.plan.mixes}


def level_of(checked: CheckedJob, code: str, about: str) -> tuple[Level, Finding | None]:
    """What a finding comes to in a trial; `none` where it no longer applies."""
    findings = [finding for finding in checked.findings if finding.code == code and finding.about == about]
    if not findings:
        return "none", None
    worst = min(findings, key=lambda one: LEVELS.index(one.level))
    return worst.level, worst


_UNKNOWN: Final[Mapping[str, frozenset[str]]] = {
    "line.rating": frozenset({"none"}),
    "power.drop": frozenset({"no_cord", "no_amps", "no_gauge"}),
    "power.current": frozenset({"no_amps", "no_supply"}),
    "pump.shut_off": frozenset({"unknown", "no_unloader"}),
}
"""Cases in which a finding does not apply only because nobody wrote what it is worked out with."""


def unknown(found: Finding, plan: JobPlan) -> bool:
    """Whether a finding is silent only for want of a figure of the gear: that cures nothing and is no all-clear."""
    pump = next((run.input.pump for run in plan.runs if run.name == found.about), None)
    switch = found.code == "pump.cycling" and pump is not None and pump.of_kind.relief == "cut_off"
    return found.level == "none" and (switch or found.case in _UNKNOWN.get(found.code, ()))


def _guessed(was: Finding, found: Finding | None, plan: JobPlan) -> bool:
    """Whether what was wrong is all right only by what is unknown, or by what a new pump is taken to need."""
    if found is None or found.code != "pump.suction" or found.values.get("pump") == was.values.get("pump"):
        return found is not None and unknown(found, plan)
    pump = next((run.input.pump for run in plan.runs if run.name == found.about), None)
    return pump is not None and "npsh_required" not in pump.model_fields_set


def falls_shorter(before: CheckedJob, after: CheckedJob) -> bool:
    """Whether a jet that was already short of its target gets lower still: no cure of anything may do that."""
    short = {
        finding.about
        for finding in before.findings
        if finding.code == "reach.short" and finding.level in ("stop", "caution")
    }
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


def new_trouble(before: CheckedJob, after: CheckedJob, cured: Finding | None = None) -> tuple[int, int]:
    """How many stops, and how many cautions nobody accepted, a trial that is to cure a finding adds.

    What is said of a run is held against the same run: two guns on one pump take from each other, and a stop that
    wanders from one to the other is cured by nothing. Of other subjects codes are counted, for gear may change their
    names; what is `cured` leaves no room for another of its kind. A check that had an answer and lacks a figure now
    counts as a stop, a note for the worksheet alone as nothing.
    """
    runs = {run.name for run in before.plan.runs}
    had, has = (_counted(checked, runs) for checked in (before, after))
    if cured is not None and cured.about not in runs:
        had[cured.code, "", cured.level] -= 1
    stops = cautions = 0
    for code, about in {(code, about): None for code, about, _ in has}:
        more = max(has[code, about, "stop"] - had[code, about, "stop"], 0)
        both = sum(has[code, about, level] - had[code, about, level] for level in ("stop", "caution"))
        stops += more
        cautions += max(both - more, 0)
    answered = {(finding.code, finding.about) for finding in before.findings if finding.level != "none"}
    stops += sum(
        (finding.code, finding.about) in answered and unknown(finding, after.plan) for finding in after.findings
    )
    return stops, cautions


def _counted(checked: CheckedJob, runs: set[str]) -> Counter[tuple[str, str, str]]:
    """Stops and cautions by code, run (blank for other subjects) and level."""
    return Counter(
        (finding.code, finding.about if finding.about in runs else "", finding.level)
        for finding in checked.findings
        if finding.level == "stop"
        or (finding.level == "caution" and finding.accepted is None and finding.code not in NEVER_ON_THE_CARD)
    )
