"""What the checks say, put in the order people should read it. The words themselves come from `words`."""

from __future__ import annotations

import re
from collections.abc import Iterable

from planner.checks.model import LEVELS, CheckedJob, Finding, Verdict
from planner.packet import cautions
from planner.packet.blocks import Span, Spans
from planner.plan.model import JobPlan
from planner.units import System
from planner.words import cures
from planner.words import spoken as words

# What hurts people before what spoils the work (common practice, no source).
_GROUPS = ("site", "mix", "power", "load", "line", "pump", "supply", "reach", "flush", "runoff", "weather", "time")
_UNITS = "ft3|ft2|ft|in|psi|kPa|bar|gpm|gal|L/min|L|m3|m2|mm|m|mph|m/s|km/h|lbf|lb|kg|N|min|s|h|V|A|W|F|C|%"
_NUMBER = re.compile(rf"[-−]?\d+(?:[.,/]\d+)*(?:[ \u00a0]\d+/\d+)?[ \u00a0](?:{_UNITS})(?![A-Za-z0-9])")


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """Findings by level, then by what they endanger; alike ones stay in the order they were found."""

    def rank(finding: Finding) -> tuple[int, bool, int, str]:
        group = finding.code.partition(".")[0]
        place = _GROUPS.index(group) if group in _GROUPS else len(_GROUPS)
        return LEVELS.index(finding.level), finding.accepted is not None, place, finding.code

    return sorted(findings, key=rank)


def crew_verdict(checked: CheckedJob, system: System) -> Verdict:
    """Stop, go with care, or go: of a caution that asks nothing of the crew on this job they are not told."""
    if checked.held:
        return "stop"
    return "caution" if cautions.cautions(checked, system) else "ok"


def accepted(checked: CheckedJob) -> list[Finding]:
    """Findings somebody put their name to."""
    return [finding for finding in worst_first(checked.findings) if finding.accepted is not None]


def headed(finding: Finding, plan: JobPlan | None = None) -> str:
    """A finding's short name with what it is about; with a `plan`, as its crew calls that."""
    name = words.title(finding.code)
    about = finding.about if plan is None else words.about_for_crew(plan, finding.about)
    return name if about.casefold() in ("", name.casefold()) else f"{name}, {about}"


def with_numbers(text: str) -> Spans:
    """A sentence with its measured numbers strong."""
    spans: list[Span] = []
    at = 0
    for match in _NUMBER.finditer(text):
        if match.start() > at:
            spans.append(Span(text=text[at : match.start()]))
        spans.append(Span(text=match.group(), strong=True))
        at = match.end()
    if at < len(text) or not spans:
        spans.append(Span(text=text[at:]))
    return tuple(spans)


def message_of(finding: Finding, system: System) -> str:
    """What was found, as a sentence in the reader's units."""
    return _sentence(words.message(finding, system))


def remedy_of(finding: Finding, system: System, checked: CheckedJob | None = None) -> str:
    """What to do about it, as a sentence; empty where there is nothing to say. With `checked`, what was found to do."""
    found = cures.in_short(checked, finding, system) if checked is not None else ""
    return found or _sentence(words.remedy(finding, system))


def all_remedies_of(finding: Finding, system: System, checked: CheckedJob) -> str:
    """Everything found to do about it, with its new numbers; else what to do about it in general."""
    return cures.in_full(checked, finding, system) or remedy_of(finding, system)


def _sentence(text: str) -> str:
    text = text.replace("`", "").strip()
    return text if not text or text[-1] in ".?!" else f"{text}."


def run_of(checked: CheckedJob, finding: Finding) -> str:
    """The one run a finding is about, by its own name or that of its mix; empty where it is about more.

    A forbidden meeting is never a matter of one run: what it gives off reaches everybody.
    """
    if any(run.name == finding.about for run in checked.plan.runs):
        return finding.about
    if finding.code == "mix.reaction":
        return ""
    return next((mix.run.name for mix in checked.plan.mixes if mix.name == finding.about), "")


def stops_of(checked: CheckedJob) -> list[Finding]:
    """The stops nobody accepted, worst first."""
    return [f for f in worst_first(checked.findings) if f.level == "stop" and f.accepted is None]
