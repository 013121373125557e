"""What every section is made from: the checked job, the reader's units, and where the last printing put things."""

from __future__ import annotations

from dataclasses import field
from functools import lru_cache
from typing import Any

from planner.checks.model import CheckedJob
from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.models.site import Access
from planner.locate import templates
from planner.packet.pages.pages import Bound
from planner.packet.sandbox import LONGEST_SOURCE, TemplateRefused
from planner.plan.model import JobPlan, RunPlan
from planner.units import System, show, show_number
from planner.words.figures import close_call, reaches, tightest
from planner.writing import read_ordinary


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One printing of one job."""

    checked: CheckedJob
    system: System
    places: Bound
    asked: list[Bound] = field(default_factory=list, compare=False)
    """Holds `places` once somebody asked for them: what is said then stands only as long as nothing moves."""
    made: dict[str, Any] = field(default_factory=dict, compare=False)
    """What several sections are made of, made once; nothing that asks where things stand."""

    @property
    def bound(self) -> Bound:
        """Where the last printing put things."""
        self.asked.append(self.places)
        return self.places


@lru_cache(maxsize=32)
def template(name: str) -> str:
    """The text of a template. Raises TemplateRefused where there is none to read."""
    path = templates() / f"{name}.md"
    try:
        return read_ordinary(path, 4 * LONGEST_SOURCE).decode("utf-8")
    except (OSError, UnicodeDecodeError):
        raise TemplateRefused(
            Fault(
                code="template.missing",
                message=f"the wording {name}.md cannot be read",
                remedy="Put back the file that came along with the planner, as plain UTF-8 text.",
                where=Where(file=str(path)),
            )
        ) from None


def warned(reading: Reading) -> frozenset[str]:
    """The runs whose jet may be kept too low."""
    generator = (
        finding
        for finding in reading.checked.findings
        if finding.code.startswith("reach.") and finding.level == "caution"
    )
    return frozenset(finding.about for finding in generator)


def jets_tried(reading: Reading) -> list[RunPlan]:
    """The runs whose jet is looked at before the walls: of water alone a wall shows it, but for a close call."""
    plan = reading.checked.plan
    return [run for run in plan.runs if plan.mixes or run.name in warned(reading)]


def close_run(reading: Reading) -> RunPlan | None:
    """The run whose wall the crew sees drawn: the one with least in hand where its reach is a close call."""
    close = warned(reading)
    runs = (run for run in reading.checked.plan.runs if reaches(run) and (close_call(run) or run.name in close))
    return tightest(tuple(runs))


def eave_of(plan: JobPlan) -> float | None:
    """How high the eave is [m]; None where it is not written."""
    roof = (plan.input.job.access or Access()).roof_work
    return roof.eave if roof is not None else None


def spoken(value: Any) -> str:
    """A written value as words: a list with commas, nothing where nothing was written."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, (list, tuple)):
        return ", ".join(spoken(part) for part in value)
    return str(value)


def let_go(reading: Reading) -> dict[str, str]:
    """What a strip must read before a leftover goes anywhere, as the company holds it."""
    limits, system = reading.checked.plan.input.limits, reading.system
    chlorine = limits["let_go_chlorine"]
    step = 1.0 if abs(chlorine * 1e3 - round(chlorine * 1e3)) < 1e-9 else 0.1
    return {
        "strip": show(chlorine, "concentration", system, step=step, toward="down"),
        "ph_low": show_number(limits["let_go_ph_low"], "number", system, step=0.1, toward="up")[0].removesuffix(".0"),
        "ph_high": show_number(limits["let_go_ph_high"], "number", system, step=0.1, toward="down")[0].removesuffix(
            ".0"
        ),
    }
