"""A finding as the JSON contract writes it, of a job or of a day."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from planner.checks.model import Finding
from planner.faults import WhereJson
from planner.units import System
from planner.words import spoken as words


class FindingJson(TypedDict):
    code: str
    about: str
    level: str
    accepted: bool
    reason: str | None
    by: str | None
    message: str
    remedy: str
    basis: str
    where: WhereJson
    tip: NotRequired[str]


def finding_json(finding: Finding, system: System) -> FindingJson:
    """One finding, its words in the reader's units."""
    accepted = finding.accepted
    found: FindingJson = {
        "code": finding.code,
        "about": finding.about,
        "level": finding.level,
        "accepted": accepted is not None,
        "reason": accepted[0] if accepted is not None else None,
        "by": accepted[1] if accepted is not None else None,
        "message": words.message(finding, system),
        "remedy": words.remedy(finding, system),
        "basis": words.basis(finding.code),
        "where": finding.where.as_json(),
    }
    if finding.tip:
        found["tip"] = finding.tip
    return found
