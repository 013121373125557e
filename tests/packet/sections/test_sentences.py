"""Every figure in a finding's sentence is its own value, rounded to its safe side; and the reader that tells, tried."""

from __future__ import annotations

import re
from typing import Any

import pytest

from planner.contract.plan import job_json
from planner.units import System
from planner.words import spoken as words
from tests.packet.figures.jobs import CASES, job_of
from tests.packet.figures.known import Known, says
from tests.packet.figures.read import ONE_FIGURE, Figure, Phrase, figures

_SIDES = {
    "reach": ("up", "down"), "low": ("down",), "needed": ("up",), "missing": ("up",), "distance": ("down",),
    "available": ("down",), "required": ("up",), "reaction": ("up",), "have": ("down",), "need": ("up",), "pull": ("up",),
    "volume": ("up",), "rise": ("up",), "warmest": ("up",), "highest": ("down",), "rating": ("down",), "serves": ("down",), "eave": ("up",), "strongest": ("up",),
}  # fmt: skip
"""Figures of findings that have a safe side; `reach` is a distance to keep where a finding holds against it."""


def test_every_finding_s_sentence_rounds_a_figure_with_a_safe_side_to_it() -> None:
    unsided = []
    for code, row in words.wording().items():
        for case, text in (*row["say"].items(), *row.get("remedy", {}).items()):
            for value, side in re.findall(r"\{(\w+)(?::(\w+))?\}", str(text)):
                # A closed pump's volume has no safe side, nor has the low end of a band but that of the reach.
                plain = (value, code) == ("volume", "pump.shut_off") or (value == "low" and code != "reach.short")
                if value in _SIDES and not plain and side not in _SIDES[value]:
                    unsided.append(f"{code} {case}: {{{value}}}")
    assert not unsided, "\n".join(unsided)


def _in_sentence(text: str, template: str, numbers: frozenset[str]) -> re.Match[str] | None:
    """The sentence with the words of each value caught by its name; those of `numbers` are figures with units."""
    pattern, at, seen = "", 0, set()
    for match in re.finditer(r"\{(\w+)(?::(\w+))?\}|(\{\{|\}\})", template):
        pattern += re.escape(template[at : match.start()])
        at = match.end()
        if match[3]:
            pattern += re.escape(match[3][0])
        elif match[1] in seen:
            pattern += f"(?P={match[1]})"
        else:
            seen.add(match[1])
            pattern += f"(?P<{match[1]}>{ONE_FIGURE if match[1] in numbers else '.*?'})"
    return re.fullmatch(pattern + re.escape(template[at:]), text, re.IGNORECASE)


@pytest.mark.parametrize(("name", "system"), CASES)
def test_every_number_of_a_finding_s_sentence_is_its_own_value_to_its_side(name: str, system: System) -> None:
    checked = job_of(name)
    families = {
        "height": "length",
        "head": "length",
        "dip": "length",
        "bore": "length",
        "number": "count",
        "velocity": "speed",
        "days": "time",
    }
    told = 0
    for finding, said in zip(checked.findings, job_json(checked, system)["findings"], strict=True):
        template = words.template(finding)
        numbers = frozenset(key for key, value in finding.values.items() if not isinstance(value, str))
        caught = _in_sentence(said["message"], template, numbers)
        assert caught is not None, said["message"]
        sides = dict(re.findall(r"\{(\w+)(?::(\w+))?\}", template))
        for key, value in finding.values.items():
            if key not in caught.groupdict() or isinstance(value, str):
                continue
            (figure,) = figures([Phrase(sheet="", text=caught[key])], (), lambda _: False)
            amount, family, how = value.amount, families.get(value.dimension, value.dimension), "plain"
            if family in ("trade", "grams"):
                amount, family, how = (
                    (amount / 10.0, "trade %", "strength") if family == "trade" else (amount, "g/L", "plain")
                )
            how = "stick" if value.dimension == "dip" else how
            side, how = ("near", "digits") if sides[key] == "rough" else (sides[key] or "near", how)
            known = Known(name=key, value=amount, family=family, toward=side, how=how)  # type: ignore[arg-type]
            assert says(figure, known), f"{said['message']}: {key} is {value}"
            told += 1
    assert told or not checked.plan.runs


def _figure(text: str, unit: str) -> Figure:
    return Figure(sheet="", words="", row="", column="", number=text, unit=unit)


@pytest.mark.parametrize(
    ("text", "unit", "value", "family", "toward", "how", "right"),
    [
        # 384.2 gal of rinse water is 1.45435 m3: 385 gal, never 384.
        ("385", "gal", 384.2 * 3.785411784e-3, "volume", "up", "plain", True),
        ("384", "gal", 384.2 * 3.785411784e-3, "volume", "up", "plain", False),
        ("386", "gal", 384.2 * 3.785411784e-3, "volume", "up", "plain", False),
        # A jet that gets to 41.9 ft gets to 41.
        ("41", "ft", 41.9 * 0.3048, "length", "down", "plain", True),
        ("42", "ft", 41.9 * 0.3048, "length", "down", "plain", False),
        # A whole number of steps stays what it is on either side.
        ("40", "gal", 40 * 3.785411784e-3, "volume", "up", "plain", True),
        ("10", "min", 600.0, "time", "down", "plain", True),
        # 17.13 in on the stick reads 17 1/8; a jug shows eighths of a gallon.
        ("17 1/8", "in", 17.13 * 0.0254, "length", "near", "stick", True),
        ("17 1/4", "in", 17.13 * 0.0254, "length", "near", "stick", False),
        ("434", "mm", 0.4346, "length", "near", "stick", True),
        ("435", "mm", 0.4346, "length", "near", "stick", False),
        ("8 1/8", "gal", 8.06 * 3.785411784e-3, "volume", "up", "jug", True),
        ("8", "gal", 8.06 * 3.785411784e-3, "volume", "up", "jug", False),
        ("148", "fl oz", 148 * 3.785411784e-3 / 128, "volume", "near", "jug", True),
        ("13 1/2", "gal", 13.7 * 3.785411784e-3, "volume", "down", "jug", True),
        ("13 5/8", "gal", 13.7 * 3.785411784e-3, "volume", "down", "jug", False),
        ("3 1/2", "oz", 3.2 * 0.45359237 / 16, "mass", "up", "scale", True),
        ("0.9", "trade %", 0.909, "trade %", "down", "strength", True),
        ("0.91", "trade %", 0.909, "trade %", "down", "strength", False),
        ("24", "C", 297.594, "temperature", "up", "plain", False),
        ("25", "C", 297.594, "temperature", "up", "plain", True),
        ("10:19", "clock", 10 * 3600 + 18 * 60 + 12.0, "clock", "up", "plain", True),
        ("10:18", "clock", 10 * 3600 + 18 * 60 + 12.0, "clock", "up", "plain", False),
        # Too wide a step tells nothing: a gauge is read to a tenth of a bar.
        ("4", "bar", 3.97e5, "pressure", "near", "plain", False),
        ("4.0", "bar", 3.97e5, "pressure", "near", "plain", True),
    ],
)
def test_a_rounding_is_judged_by_its_side_and_its_step(
    text: str, unit: str, value: float, family: str, toward: Any, how: Any, right: bool
) -> None:
    known = Known(name="", value=value, family=family, toward=toward, how=how)
    assert says(_figure(text, unit), known) is right


def test_figures_are_read_with_their_units_and_without_names() -> None:
    said = Phrase(
        sheet="x", text="Run red 1: 13.9 gal in 2 min 05 s, 346 in 51 min, 10.3 trade %, 10.2 to 10.4; +1:05, 10:1"
    )
    found = [(one.number, one.unit) for one in figures([said], ("red 1",), lambda _: False)]
    assert found == [
        ("13.9", "gal"), ("2 min 05 s", "seconds"), ("346", ""), ("51", "min"), ("10.3", "trade %"), ("10.2", "trade %"),
        ("10.4", "trade %"), ("+1:05", "clock"), ("10:1", "ratio"),
    ]  # fmt: skip
