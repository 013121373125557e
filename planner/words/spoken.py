"""The words of findings: one place makes them for paper, terminal and JSON alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil, floor
from typing import Any

from planner.checks.model import CheckedJob, Finding
from planner.inputs.tables.chemicals import words_of
from planner.inputs.tables.rows import table
from planner.inputs.tables.whole import limit_rows
from planner.plan.mix.model import MixPlan
from planner.plan.mix.names import clash, told_apart, walls_of
from planner.plan.model import JobPlan, Value
from planner.units import System, show
from planner.words.dates import MINUTE, clock_text
from planner.words.spelling import spelled

_STRENGTHS = {"trade": (10.0, "trade %"), "grams": (1.0, "g/L")}
"""Strengths are printed as the trade says them: kg/m3 of chlorine in one trade percent, anything else in g/L."""


def spoken_name(chemical: str) -> str:
    """A chemical's table name as words."""
    return words_of(chemical)


def wall_name(plan: JobPlan, surface: str) -> str:
    """What crew pages call a surface of a plan, by its name: its side where the job says so."""
    return next((wall.called for wall in plan.input.surfaces if wall.name == surface), surface)


def about_for_crew(plan: JobPlan, about: str) -> str:
    """What a finding is about, a mix or a wall as crew pages call it."""
    return wall_name(plan, for_mixes(plan, about))


def for_mixes(plan: JobPlan, text: str) -> str:
    """Words with the plan's name of a mix that is told apart by its walls as crew pages call it, no table's name."""
    for mix in plan.mixes:
        if len(mix.name) > len(f"{mix.chemical}, {mix.run.name}"):
            text = text.replace(mix.name, mix_name(plan.mixes, mix))
        if "_" in mix.chemical:
            text = text.replace(mix.chemical, words_of(mix.chemical))
    return text


def for_crew(checked: CheckedJob) -> CheckedJob:
    """The same with its findings telling of surfaces as crew pages call them."""
    plan = checked.plan
    if not any(wall.side for wall in plan.input.surfaces):
        return checked

    def called(value: Value | str) -> Value | str:
        if not isinstance(value, str):
            return value
        whole = wall_name(plan, value)
        return whole if whole != value else ", ".join(wall_name(plan, name) for name in value.split(", "))

    findings = tuple(
        replace(
            finding, values={key: called(value) if key in _SURFACES else value for key, value in finding.values.items()}
        )
        for finding in checked.findings
    )
    return replace(checked, findings=findings)


_SURFACES = frozenset({"surface", "walls"})
"""Values of findings that name surfaces."""

_OF_TABLES = frozenset({"material", "materials", "seals", "why"})
"""Values of findings that are words of our tables."""


def mix_name(mixes: Sequence[MixPlan], mix: MixPlan) -> str:
    """What one of a job's `mixes` is called: chemical and run, with its number and walls where two are called so."""
    return told_apart(*_among(mixes, mix))


def mix_title(mixes: Sequence[MixPlan], mix: MixPlan) -> str:
    """The same as a short head of a column: `Mix 2: plinth` where two are called alike."""
    told, number = _among(mixes, mix)
    name = mix_name(mixes, mix)
    return f"Mix {number}: {walls_of(told[number - 1][2])}" if clash(told, number) else f"{name[:1].upper()}{name[1:]}"


def _among(mixes: Sequence[MixPlan], mix: MixPlan) -> tuple[list[tuple[str, str, Sequence[str]]], int]:
    told: list[tuple[str, str, Sequence[str]]] = [
        (spoken_name(one.chemical), one.run.name, [part.surface.called for part in one.parts]) for one in mixes
    ]
    return told, next(n for n, one in enumerate(mixes, start=1) if one is mix)


def strength(value: Value, side: str = "") -> str:
    """A strength to three figures, rounded `up`, `down` or to the nearest."""
    divisor, unit = _STRENGTHS[value.dimension]
    number = value.amount / divisor
    decimals = 0 if number >= 100.0 else 1 if number >= 10.0 else 2
    scaled = number * 10**decimals
    # A thousandth of the last place is noise of the computation, not strength.
    whole = {"up": ceil(scaled - 1e-3), "down": floor(scaled + 1e-3)}.get(side, round(scaled))
    text = f"{whole / 10**decimals:.{decimals}f}"
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


_DAY = 86400.0


def _days(seconds: float) -> str:
    """An age in whole days: `14 days`, `1 day`."""
    days = round(seconds / _DAY)
    return "1 day" if days == 1 else f"{days} days"


class Words:
    """A value that prints itself in the reader's units; `{x:up}` and `{x:down}` round to that side.

    `{x:rough}` is for orders of magnitude: two figures. A `clock` is a time of day, in s from midnight.
    """

    def __init__(self, value: Value | str, system: System) -> None:
        self._value = value
        self._system: System = system

    def __format__(self, side: str) -> str:
        if isinstance(self._value, str):
            return self._value
        if self._value.dimension in _STRENGTHS:
            return strength(self._value, side)
        if self._value.dimension == "days" or (self._value.dimension == "time" and self._value.amount >= 2 * _DAY):
            return _days(self._value.amount)
        if self._value.dimension == "clock":
            return clock_text(self._value.amount, self._system, step=MINUTE, toward="up" if side == "up" else "down")
        if self._value.dimension == "concentration" and self._value.amount >= 1.0:
            # A mix is spoken of in grams, a residual in milligrams.
            return strength(Value(self._value.amount, "grams"), side)
        if side == "rough":
            return show(self._value.amount, self._value.dimension, self._system, digits=2)
        if side == "up":
            return show(self._value.amount, self._value.dimension, self._system, toward="up")
        if side == "down":
            return show(self._value.amount, self._value.dimension, self._system, toward="down")
        return show(self._value.amount, self._value.dimension, self._system)


def wording() -> Mapping[str, Any]:
    """The rows of data/findings.yaml by code."""
    return table("findings")


def sources() -> Mapping[str, Mapping[str, str]]:
    """The rows of data/sources.yaml by the key the plan names."""
    return table("sources")


def title(code: str) -> str:
    """The finding's short name."""
    return str(wording()[code]["title"])


def message(finding: Finding, system: System) -> str:
    """What was found and the limit, in the reader's units."""
    said = filled(template(finding), finding, system)
    return f"With tip {finding.tip} on: {said}" if finding.tip else said


def template(finding: Finding) -> str:
    """The words of a finding before its values are put in: its case, and of a stop or caution what `more` is known."""
    row = wording()[finding.code]
    texts = [str(row["say"][finding.case])]
    if finding.level in ("stop", "caution"):
        texts += [str(text) for name, text in row.get("more", {}).items() if name in finding.values]
    return " ".join(texts)


def remedy(finding: Finding, system: System) -> str:
    """What to do about it, or nothing where nothing is to be done."""
    return filled(str(wording()[finding.code].get("remedy", {}).get(finding.case, "")), finding, system)


def basis(code: str) -> str:
    """Where the finding's limit comes from."""
    return str(wording()[code]["source"])


def limit(code: str, system: System) -> str:
    """The finding's limits in the reader's units."""
    row = wording()[code]
    known = limit_rows()
    values = {name: Value(known[name].value, known[name].dimension) for name in row["limits"]}
    shown = {name: Words(value, system) for name, value in values.items()}
    return str(row["limit"]).format(**shown)


def filled(text: str, finding: Finding, system: System) -> str:
    """A sentence with the finding's values put in, in the reader's units."""
    values = {
        name: spelled(value, system) if name in _OF_TABLES and isinstance(value, str) else value
        for name, value in finding.values.items()
    }
    said = text.format(**{name: Words(value, system) for name, value in values.items()})
    return said[:1].upper() + said[1:]
