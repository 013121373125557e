"""Answers to `planner new`, typed as somebody would."""

from __future__ import annotations

import io
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.inputs.reading.files import read_file

DAY = "2026-06-10"
"""The demo's second day."""

ANSWERS = (
    "Alder Lane",
    "",  # a wash
    "14 Alder Lane",
    "",  # nobody to ask for
    "",  # nothing to know
    "27",
    "vinyl",
    "",  # called by its kind
    "",  # on no side
    "160 ft around x 18",
    "",  # no windows off
    "medium",
    "",  # no metals
    "1",
    "",
    "",
    "2 gables 35 x 9 ft",
    "",
    "",
    "",
    "",  # no more surfaces
    "",  # the table's strength
    "",  # no soap
    "house",
    "4",
    "",  # the standoff's default
    "",  # a tap
    "50",
    "",  # its gauge not read
    "",  # near sea level
    "24",
    "",  # no ladder
    "",  # the ground not looked at
    "",  # nobody on the roof
    "beds 400 ft2, pond 25, drain 40 ft",
    "berm",
)
"""A job on a day that has its page, but for the last word; on the demo's rig."""

JOB = {
    "job": "Alder Lane",
    "site": {"address": "14 Alder Lane"},
    "building": {"height": "27 ft"},
    "surfaces": [
        {"kind": "vinyl", "around": "160 ft", "height": "18 ft", "soil": "medium"},
        {"kind": "vinyl", "gable": "35 ft x 9 ft", "count": "2"},
    ],
    "setup": "house",
    "uphill": "4 ft",
    "tap": "5 gal in 50 s",
    "access": {"power_line": "24 ft"},
    "near": {"flower_beds": "400 ft2", "fish_pond": "25 ft", "storm_drain": "40 ft", "control": ["berm"]},
}
"""What these answers are as a file."""


def new(path: Path | str, answers: Iterable[str], monkeypatch: pytest.MonkeyPatch, *options: str) -> int:
    """`planner new` with these answers, one a line, and the input ended after them."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{answer}\n" for answer in answers)))
    return main(["new", str(path), *options])


def as_written(path: Path) -> Any:
    """What stands in a file that has no fault, every scalar as it was written."""
    tree = read_file(path)
    assert tree.root is not None
    assert not tree.faults
    return tree.root.plain()
