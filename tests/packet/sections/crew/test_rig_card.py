"""The rig card: one page of what holds on every job of a rig, and only what that rig has."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.packet.book import rig_book
from planner.packet.sections.rig_card import section
from planner.plan.road.rig_rules import pump_rules
from tests import workspaces
from tests.packet import ordinary
from tests.packet.reading import problems, texts
from tests.packet.sections.crew.test_cautions import demo
from tests.packet.sections.said import each_word


def told(folder: Path, *changes: dict[str, Any]) -> str:
    files = workspaces.base()
    for change in changes:
        files = workspaces.merged(files, change)
    plan = workspaces.checked(folder, files).plan
    return " ".join(" ".join(each_word(section(plan, "us").blocks)).replace("\u00a0", " ").split())


@pytest.mark.ci
@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_card_of_the_demos_rig_is_one_page_without_a_job_on_it(paper: Any, system: Any) -> None:
    jobs = demo()
    first = rig_book(jobs["2026-06-09/10-millrace"].plan, paper=paper, system=system)
    other = rig_book(jobs["2026-06-10/10-slipway"].plan, paper=paper, system=system)
    assert problems(first.pdf, paper) == []
    assert len(texts(first.pdf)) == 1
    assert first.pdf == other.pdf
    assert not re.search("Millrace|2026|plan [0-9a-f]{4}-", " ".join(texts(first.pdf)))


def test_it_holds_each_pumps_minutes_pressure_and_cord_and_each_hoses_rating() -> None:
    text = " ".join(texts(rig_book(demo()["2026-06-09/10-millrace"].plan, paper="letter", system="us").pdf))
    text = " ".join(text.replace("\u00a0", " ").split())
    for words in ("booster 105 s at most 70 psi 12 AWG, 50 ft", "roof pump stops itself 60 psi",
                  "washer 2 min at most 3,000 psi engine", "drive line 4,000 psi", "red 1, red 2 200 psi",
                  "Let the trigger go slowly", "Test the GFCI", "Engine: outdoors", "Eyewash, 6 gal", "chlorine gas",
                  "2: 9.0"):  # fmt: skip
        assert words in text, words


def test_a_gun_is_shut_no_longer_than_any_job_of_the_rig_allows() -> None:
    """The card's water is as warm as a faucet gives it, so no job's pump is hot sooner."""
    for job in demo().values():
        rules = {rule.pump.name: rule for rule in pump_rules(job.plan.input)}
        for run in job.plan.runs:
            if run.shut_off is not None and run.input.pump is not None:
                assert rules[run.input.pump.name].seconds <= run.shut_off.seconds


def test_a_pump_that_nothing_limits_never_sees_its_gun_shut(tmp_path: Path) -> None:
    text = told(tmp_path, {"rig": {"pumps": {1: {"unloader": None}}}})
    assert "Nothing limits washer: never shut the gun while it runs." in text
    assert "washer never no limit" in text


def test_what_the_rig_does_not_have_is_not_on_its_card(tmp_path: Path) -> None:
    plain = {
        "rig": {
            "pumps": [{"name": "booster", "kind": "centrifugal", "curve": [["0 gpm", "70 psi"], ["8 gpm", "58 psi"]], "height": "0 ft"}],
            "dosing": None, "power": None,
        },
        "stock": {"lots": []},
    }  # fmt: skip
    text = told(tmp_path, plain)
    for word in ("GFCI", "Engine", "Panel", "never with", "First aid Eyes", "pinprick", "Eyewash", "switch starts"):
        assert word not in text, word


def test_what_is_not_known_of_a_rig_is_looked_for_never_taken_as_there(tmp_path: Path) -> None:
    motor = {"power": "0.75 hp", "volts": "115"}
    changes = {
        "rig": {"carried": None, "supply_hose": None, "hoses": {0: {"rated": None}}, "pumps": {0: {"motor": motor}}},
        "job": {"water": {"source": "tank", "static": None, "flow_test": None, "backflow": None}},
    }
    text = told(tmp_path, changes)
    assert "No eyewash is known on this rig: without one open no drum." in text
    assert "read it on the hose first" in text
    assert "Find the GFCI and test it" in text
    assert "No backflow protection is known" in text
    assert "not known: look, and read a strip" in text


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_rig_of_many_hoses_still_has_one_page(tmp_path: Path, paper: Any) -> None:
    hoses = [
        {"name": f"hose {n}", "bore": "3/4 in", "length": "100 ft", "rated": f"{(200, 300, 4000)[n % 3]} psi"}
        for n in range(1, 13)
    ]
    files = workspaces.merged(workspaces.base(), {"rig": {"hoses": [*workspaces.base()["rig"]["hoses"], *hoses]}})
    pdf = rig_book(workspaces.checked(tmp_path, files).plan, paper=paper, system="us").pdf
    assert problems(pdf, paper) == []
    assert len(texts(pdf)) == 1


@pytest.mark.ci
def test_packet_prints_one_card_for_each_rig_beside_the_days(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = ordinary.ROOT / "jobs/2026-06-09/20-granary.yaml"
    first, second = tmp_path / "first", tmp_path / "second"
    for root in (first, second):
        assert main(["packet", "--rig-card", "--html", str(job), "-o", str(root)]) == 0
        assert f"{root / 'rig-Bittern.pdf'}" in capsys.readouterr().out
    assert (first / "rig-Bittern.pdf").read_bytes() == (second / "rig-Bittern.pdf").read_bytes()
    assert "Let the trigger go slowly" in (first / "rig-Bittern.html").read_text(encoding="utf-8")
    assert main(["packet", str(job), "-o", str(tmp_path / "third")]) == 0
    assert not list((tmp_path / "third").glob("rig-*"))
