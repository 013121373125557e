"""What on this rig would cure a finding, singly then in pairs, least trouble first; and what would if nothing does.

Every answer was planned and checked whole: a remedy that brings a stop of its own is none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Final

from planner.checks.model import LEVELS, CheckedJob, Finding, Remedy
from planner.inputs.joined import RunInput
from planner.remedies.heads import Heads
from planner.remedies.needs import needs_for
from planner.remedies.options import Option, options_for, parting
from planner.remedies.trial import Trials, falls_shorter, level_of, new_trouble, only_unknown, soiled

MOST: Final = 3
"""So many remedies are told for a finding (the contract)."""

_MOST_TRIALS: Final = 12
"""So many whole plans are made for a finding before the search goes on to pairs, and again for pairs (our choice)."""

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


def with_remedies(checked: CheckedJob) -> CheckedJob:
    """The job with what would cure its stops and cautions; the same job where none asks for it."""
    asked = [
        finding
        for finding in checked.findings
        if finding.code in CURABLE and finding.level in ("stop", "caution") and finding.accepted is None
    ]
    if not asked:
        return checked
    trials = Trials(checked=checked, heads=Heads(job=checked.plan.input))
    asked = [finding for finding in asked if run_of(checked, finding) is not None]
    found = [remedy for finding in asked for remedy in _remedies(trials, finding)]
    return replace(checked, remedies=tuple(found), tried=frozenset((one.code, one.about) for one in asked))


def _remedies(trials: Trials, finding: Finding) -> list[Remedy]:
    run = run_of(trials.checked, finding)
    if run is None:
        return []
    singles = options_for(trials.job, run, CURABLE[finding.code])
    cures: list[Remedy] = []
    eases: list[Remedy] = []
    curing: list[frozenset[tuple[object, ...]]] = []
    for combos in ([(one,) for one in singles], list(_pairs(singles))):
        tried = 0
        for options in combos:
            if len(cures) >= MOST or tried >= _MOST_TRIALS:
                break
            alone = parting(trials.job, run.name, options)
            said = options if alone is None else (*options, alone)
            keys = frozenset(one.key for one in said)
            if any(done <= keys for done in curing) or not _may_help(trials, finding, run.name, options):
                continue
            tried += 1
            remedy = _tried(trials, finding, run.name, options, said)
            if remedy is None or _told(remedy, (*cures, *eases)):
                continue
            if remedy.after is None or remedy.after.level in ("ok", "none"):
                cures.append(remedy)
                curing.append(keys)
            elif len(eases) < MOST:
                eases.append(remedy)
                curing.append(keys)
    told = (cures or eases)[:MOST]
    return told if cures else [*told, *needs_for(trials, finding, run)]


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


def _pairs(singles: list[Option]) -> Iterator[tuple[Option, ...]]:
    """Pairs that touch different things, least trouble first."""
    pairs = [pair for pair in combinations(singles, 2) if not pair[0].touches & pair[1].touches]
    return iter(sorted(pairs, key=lambda pair: pair[0].effort + pair[1].effort))


def _told(remedy: Remedy, others: Sequence[Remedy]) -> bool:
    """Whether another remedy already comes to the very same run: one hose laid for another is also hoses laid."""
    return remedy.run is not None and any(
        one.run is not None and one.run.input == remedy.run.input and one.run.name == remedy.run.name for one in others
    )


def _may_help(trials: Trials, finding: Finding, name: str, options: tuple[Option, ...]) -> bool:
    """For reach, heads are compared before anything is planned; for the rest the plan itself answers."""
    if finding.code != "reach.short":
        return True
    return trials.may_reach(name, options, or_nominal=finding.level == "stop")


def _tried(
    trials: Trials, finding: Finding, name: str, options: tuple[Option, ...], said: tuple[Option, ...]
) -> Remedy | None:
    """The remedy, if the finding gets better by it and nothing gets worse; `said` are its options in words."""
    after = trials.whole(name, options)
    if after is None:
        return None
    level, found = level_of(after, finding.code, finding.about)
    if LEVELS.index(level) <= LEVELS.index(finding.level) or only_unknown(found):
        return None
    stops, cautions = new_trouble(trials.checked, after)
    if finding.code != "reach.short" and falls_shorter(trials.checked, after):
        return None
    if stops or (cautions and finding.level == "caution") or soiled(trials.checked, after, name):
        return None
    run = next((run for run in after.plan.runs if run.name == name), None)
    return Remedy(
        code=finding.code,
        about=finding.about,
        changes=tuple(one.change for one in said),
        after=found,
        run=run,
        on_rig=all(one.on_rig for one in options),
    )
