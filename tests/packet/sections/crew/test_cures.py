"""Remedies as they are said: on the card, on a held job's page, on the worksheet and on the screen."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob, Finding
from planner.packet.findings import all_remedies_of, remedy_of
from planner.remedies.search import with_remedies
from planner.words import cures
from tests import workspaces
from tests.packet.printing import job_packet
from tests.packet.reading import texts
from tests.remedies.test_remedies import SHORT


def _found(checked: CheckedJob, code: str) -> Finding:
    return next(finding for finding in checked.findings if finding.code == code)


def _files(**change: Any) -> dict[str, Any]:
    return workspaces.merged(workspaces.base(), change)


@pytest.mark.ci
def test_the_card_says_what_on_the_trailer_clears_it(tmp_path: Path) -> None:
    files, code = SHORT["a weak hose"]
    checked = with_remedies(workspaces.checked(tmp_path, files))
    finding = _found(checked, code)
    best = cures.cures_of(checked, finding)[0]
    assert remedy_of(finding, "us", checked).startswith(cures.change(best, "us"))
    page = " ".join(texts(job_packet(checked, paper="letter", system="us")))
    assert cures.change(best, "us") in page


@pytest.mark.ci
def test_the_worksheet_gives_each_remedy_with_its_new_numbers(tmp_path: Path) -> None:
    files, code = SHORT["all on the reel"]
    checked = with_remedies(workspaces.checked(tmp_path, files))
    finding = _found(checked, code)
    text = all_remedies_of(finding, "us", checked)
    for remedy in cures.cures_of(checked, finding):
        assert cures.sentence(remedy, "us") in text
        assert remedy.after is not None
        assert "gets to" in cures.sentence(remedy, "us")


def test_where_nothing_does_it_says_what_was_tried_and_what_is_wanting(tmp_path: Path) -> None:
    checked = with_remedies(
        workspaces.checked(
            tmp_path, _files(job={"building": {"height": "50 ft"}, "hose_runs": {0: {"target": "50 ft"}}})
        )
    )
    finding = _found(checked, "reach.short")
    assert remedy_of(finding, "us", checked).startswith("Nothing tried on the trailer clears it. Needs ")
    full = all_remedies_of(finding, "us", checked)
    assert "singly, in pairs and in threes" in full
    assert "psi at the tip" in full
    assert "Not on the trailer, but would do" in full


def test_without_a_search_the_general_advice_stands(tmp_path: Path) -> None:
    files, code = SHORT["a weak hose"]
    checked = workspaces.checked(tmp_path, files)
    finding = _found(checked, code)
    assert remedy_of(finding, "us", checked) == remedy_of(finding, "us")
    assert all_remedies_of(finding, "us", checked) == remedy_of(finding, "us")


def test_one_pump_behind_two_runs_holds_both(tmp_path: Path) -> None:
    motor = {"power": "0.75 hp", "volts": "115"}
    files = _files(
        rig={
            "pumps": {0: {"motor": motor, "wetted_volume": "0.01 gal"}},
            "power": {"generator": "4000 W", "gfci": "true", "volts": "120"},
        },
        day={"crew": "1"},
    )
    second = copy.deepcopy(files["job"]["hose_runs"][0]) | {"name": "back"}
    files["job"]["hose_runs"].append(second)
    checked = workspaces.checked(tmp_path, files)
    every = [one for one in checked.findings if one.code == "pump.shut_off"]
    assert [one.level for one in every] == ["stop", "stop"]
    page = " ".join(texts(job_packet(checked, paper="letter", system="us"))[0].split())
    assert "Front:" in page
    assert "Shut off, back:" in page
