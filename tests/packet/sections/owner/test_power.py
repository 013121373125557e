"""What paper says of electricity, for the crew and for the owner."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.packet.sections.owner.power import figures_of
from planner.words.spoken import sources
from tests import workspaces

MAINS = (
    "rig: {power: {generator: 3500 W, gfci: true, volts: 120}, "
    "pumps: {0: {motor: {power: 0.75 hp, volts: 115, cord: {gauge: 12 AWG, length: 50 ft}}}}}"
)
BATTERY = (
    "{rig: {power: {battery: 100 Ah}, pumps: {2: {motor: {amps: 9 A, volts: 12, cord: {gauge: 10 AWG, length: 15 ft}}}}}, "
    "job: {hose_runs: {0: {pump: transfer}}}}"
)


def planned(folder: Path, change: str) -> CheckedJob:
    files: Any = workspaces.merged(workspaces.base(), workspaces.as_written(change))
    return workspaces.checked(folder, files, tables=True)


def test_an_engine_has_no_figures_of_electricity(tmp_path: Path) -> None:
    assert not figures_of(planned(tmp_path, "{}").plan, "us")


@pytest.mark.parametrize("change", [MAINS, BATTERY])
def test_every_figure_of_the_owners_page_has_a_source(tmp_path: Path, change: str) -> None:
    figures = figures_of(planned(tmp_path, change).plan, "us")
    assert figures
    for figure in figures:
        assert sources()[figure.equation]["origin"], figure.equation


def test_the_owner_sees_what_starts_beside_what_runs(tmp_path: Path) -> None:
    figures = {figure.name: figure for figure in figures_of(planned(tmp_path, MAINS).plan, "us")}
    assert figures["booster draws"].value == "13.8 A"
    assert figures["runs at once"].value == "1,656 W"
    assert figures["for a moment"].value == "9,936 W"
    assert "3,500 W" in figures["runs at once"].inputs


def test_a_motor_nobody_knows_says_so_and_nothing_more(tmp_path: Path) -> None:
    (figure,) = figures_of(planned(tmp_path, "rig: {pumps: {0: {motor: {power: 20 hp, volts: 230}}}}").plan, "us")
    assert figure.value == "not known"
