"""The words of findings: one place makes them for paper, terminal and JSON alike."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import yaml

from planner.checks.model import Finding
from planner.inputs.tables import limit_rows
from planner.locate import data_file
from planner.plan.model import Value
from planner.units import System, show


class Words:
    """A value that prints itself in the reader's units; `{x:up}` and `{x:down}` round to that side."""

    def __init__(self, value: Value | str, system: System) -> None:
        self._value = value
        self._system: System = system

    def __format__(self, side: str) -> str:
        if isinstance(self._value, str):
            return self._value
        if side == "up":
            return show(self._value.amount, self._value.dimension, self._system, toward="up")
        if side == "down":
            return show(self._value.amount, self._value.dimension, self._system, toward="down")
        return show(self._value.amount, self._value.dimension, self._system)


@lru_cache(maxsize=1)
def wording() -> Mapping[str, Any]:
    """The rows of data/findings.yaml by code."""
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    with data_file("findings.yaml").open(encoding="utf-8") as file:
        rows: Mapping[str, Any] = yaml.load(file, Loader=loader)
    return rows


@lru_cache(maxsize=1)
def sources() -> Mapping[str, Mapping[str, str]]:
    """The rows of data/sources.yaml by the key the plan names."""
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    with data_file("sources.yaml").open(encoding="utf-8") as file:
        rows: Mapping[str, Mapping[str, str]] = yaml.load(file, Loader=loader)
    return rows


def title(code: str) -> str:
    """The finding's short name."""
    return str(wording()[code]["title"])


def message(finding: Finding, system: System) -> str:
    """What was found and the limit, in the reader's units."""
    return _filled(str(wording()[finding.code]["say"][finding.case]), finding, system)


def remedy(finding: Finding, system: System) -> str:
    """What to do about it, or nothing where nothing is to be done."""
    return _filled(str(wording()[finding.code].get("remedy", {}).get(finding.case, "")), finding, system)


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


def _filled(text: str, finding: Finding, system: System) -> str:
    filled = text.format(**{name: Words(value, system) for name, value in finding.values.items()})
    return filled[:1].upper() + filled[1:]
