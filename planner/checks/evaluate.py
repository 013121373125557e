"""Runs every check on a plan, marks what the owner accepted, and comes to a verdict."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

# Importing a module of checks registers them, in the order they are reported.
from planner.checks import (  # noqa: F401
    day,
    flush,
    grounds,
    line,
    load,
    meeting,
    mix,
    pump,
    site,
    stock,
    supply,
)
from planner.checks.model import CHECKS, LEVELS, CheckedJob, Finding, Verdict, findings_for, findings_of
from planner.inputs.joined import JobInput
from planner.inputs.tables.whole import may_accept
from planner.plan.model import JobPlan


def check_plan(plan: JobPlan) -> CheckedJob:
    """The plan with its findings, worst first, and the verdict of those that were not accepted."""
    findings = [_accepted(finding, plan.input) for finding in findings_of(plan)]
    findings.sort(key=lambda finding: LEVELS.index(finding.level))
    return CheckedJob(plan=plan, findings=tuple(findings), verdict=verdict_of(findings))


def check_again(checked: CheckedJob, plan: JobPlan, codes: frozenset[str]) -> CheckedJob:
    """The job with the findings of `codes` as `plan` now has them, the others as they were."""
    kept = [finding for finding in checked.findings if finding.code not in codes]
    findings = [_accepted(finding, plan.input) for code in codes for finding in findings_for(code, plan)]
    order = list(CHECKS)
    whole = sorted([*kept, *findings], key=lambda finding: (LEVELS.index(finding.level), order.index(finding.code)))
    return replace(checked, plan=plan, findings=tuple(whole), verdict=verdict_of(whole))


def verdict_of(findings: Iterable[Finding]) -> Verdict:
    """The worst level among findings that were not accepted."""
    levels = {finding.level for finding in findings if finding.accepted is None}
    return "stop" if "stop" in levels else "caution" if "caution" in levels else "ok"


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst verdict of several jobs."""
    found = set(verdicts)
    return "stop" if "stop" in found else "caution" if "caution" in found else "ok"


def _accepted(finding: Finding, job: JobInput) -> Finding:
    """The finding with the owner's reason and name, if one was written and this level may be accepted."""
    if finding.level not in ("stop", "caution"):
        return finding
    if not may_accept(finding.code, finding.level, finding.case):
        return finding
    for accept in job.accept:
        same_subject = accept.about is None or accept.about.casefold() == finding.about.casefold()
        if accept.finding == finding.code and same_subject:
            return replace(finding, accepted=(accept.reason, accept.by))
    return finding
