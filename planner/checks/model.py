"""What a check says: code, level, subject and SI values. Its words are made where text is printed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from planner.faults import Where
from planner.plan.model import JobPlan, Value

Level = Literal["stop", "caution", "ok", "none"]
Verdict = Literal["ok", "caution", "stop"]
LEVELS: tuple[Level, ...] = ("stop", "caution", "ok", "none")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One check's answer for one subject. `accepted` holds the owner's reason and name where it was accepted."""

    code: str
    about: str
    level: Level
    case: str
    values: Mapping[str, Value | str]
    where: Where
    accepted: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedJob:
    """A plan with everything the checks say of it. `verdict` counts findings that were not accepted."""

    plan: JobPlan
    findings: tuple[Finding, ...]
    verdict: Verdict
