"""What on this rig would cure a finding, in sets of up to three changes; and what would if nothing does.

Every answer was planned and checked whole: a remedy that brings a stop of its own, or no longer does the work, is none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from planner.checks.model import CheckedJob, Finding, Remedy
from planner.inputs.joined import RunInput
from planner.plan.model import Value
from planner.remedies.heads import Heads
from planner.remedies.least import cures_it, least
from planner.remedies.needs import needs_for
from planner.remedies.options import options_for
from planner.remedies.trial import Trials, level_of

MOST: Final = 3
"""So many remedies are told for a finding (the contract)."""

MOST_FAILING: Final = 12
"""So many single changes are looked at for what fails (our choice: a page names no more)."""

MOST_TRIALS: Final = 400
"""So many whole plans are made for a job, shared out among its findings (the contract)."""

_LINE: Final = frozenset({"apart", "tip", "unreel", "nearer", "swap", "hoses", "pump", "setup"})
CURABLE: Final[Mapping[str, frozenset[str]]] = {
    "reach.short": _LINE | {"standoff", "feed_tap", "feed_tank"},
    "reach.pattern": frozenset({"tip", "setup"}),
    "line.rating": frozenset({"swap", "hoses", "nearer", "pump", "setup", "feed_tank"}),
    "line.reaction": frozenset({"tip", "apart", "pump", "setup"}),
    "line.pressure_on_ladder": frozenset({"pump", "setup", "tip"}),
    "pump.suction": frozenset({"tip", "apart", "feed_tank", "feed_tap", "pump", "setup"}),
    "pump.cycling": frozenset({"tip", "pump", "setup"}),
    "supply.pressure": frozenset({"feed_tank", "tip", "apart", "setup"}),
    "supply.dry": frozenset({"tip", "feed_tap", "feed_tank", "setup"}),
    "mix.reach": frozenset({"dosing", "premix", "tip", "nearer", "unreel", "swap", "setup"}),
    "power.current": frozenset({"apart", "pump", "setup"}),
    "power.drop": frozenset({"pump", "setup"}),
}
"""Which kinds of change can cure which finding; what is not here no gear cures."""


def with_remedies(checked: CheckedJob, *, failing: bool = True) -> CheckedJob:
    """The job with what would cure its stops and cautions; the same job where none asks for it.

    `failing`: with what would not help either, which a held job's page shows; it takes as long again.
    """
    asked = [
        (finding, run)
        for finding in checked.findings
        if finding.code in CURABLE and finding.level in ("stop", "caution") and finding.accepted is None
        for run in (run_of(checked, finding),)
        if run is not None
    ]
    if not asked:
        return checked
    trials = Trials(checked=checked, heads=Heads(job=checked.plan.input))
    found: list[Remedy] = []
    broken_off = set()
    for place, (finding, run) in enumerate(asked):
        share = (MOST_TRIALS - len(trials.done)) // (len(asked) - place)
        remedies, whole = _remedies(trials, finding, run, share)
        found += remedies
        broken_off |= set() if whole else {(finding.code, finding.about)}
    failed = [row for finding, run in asked for row in _failing(trials, finding, run)] if failing else []
    tried = frozenset((finding.code, finding.about) for finding, _ in asked)
    return replace(checked, remedies=tuple(found), tried=tried, broken_off=frozenset(broken_off), failed=tuple(failed))


def _remedies(trials: Trials, finding: Finding, run: RunInput, share: int) -> tuple[list[Remedy], bool]:
    """Up to `MOST` cures on the rig; else what eases, and what is wanting, which a quarter of the share is for."""
    here = options_for(trials.job, run, kinds_for(finding, run))
    remedies, whole = least(trials, finding, run.name, here, MOST, share - share // 4)
    if any(cures_it(remedy) for remedy in remedies):
        return remedies, True
    return [*remedies, *needs_for(trials, finding, run, share // 4)], whole


def kinds_for(finding: Finding, run: RunInput) -> frozenset[str]:
    """Which kinds of change can cure a finding: of one with another tip on, a tip for that and not the run's own."""
    kinds = CURABLE[finding.code]
    role = run.role_with(finding.tip) if finding.tip else "tip"
    return kinds if role == "tip" or "tip" not in kinds else kinds - {"tip"} | {role}


def _failing(trials: Trials, finding: Finding, run: RunInput) -> list[Remedy]:
    """For a jet that is short in any air: single changes of least trouble with which it still is, highest jet first."""
    if (finding.code, finding.level) != ("reach.short", "stop"):
        return []
    found: list[tuple[float, Remedy]] = []
    for option in options_for(trials.job, run, kinds_for(finding, run))[:MOST_FAILING]:
        after = trials.whole(run.name, (option,)) if len(trials.done) < MOST_TRIALS else None
        still = level_of(after, finding.code, finding.about)[1] if after is not None else None
        low = still.values.get("low") if still is not None and still.level == "stop" else None
        if after is None or not isinstance(low, Value):
            continue
        made = next(plan for plan in after.plan.runs if plan.name == run.name)
        found.append(
            (low.amount, Remedy(code=finding.code, about=finding.about, changes=(option.change,), after=still, run=made,
                                on_rig=True))
        )  # fmt: skip
    return [remedy for _, remedy in sorted(found, key=lambda row: -row[0])]


def run_of(checked: CheckedJob, finding: Finding) -> RunInput | None:
    """The hose run a finding is about, by its own name, its mix's, or its tank's; None where it is no run's."""
    plan = checked.plan
    mix = next((mix for mix in plan.mixes if mix.name == finding.about), None)
    name = mix.run.name if mix is not None else finding.about
    found = next((run for run in plan.input.runs if run.name == name), None)
    if found is not None:
        return found
    drawing = [run for run in plan.runs if run.input.feed_tank is not None and run.input.feed_tank.name == name]
    pumped = [run for run in plan.runs if run.input.pump is not None and run.input.pump.name == name]
    thirsty = max(drawing or pumped, key=lambda run: run.flow, default=None)
    return thirsty.input if thirsty is not None else None
