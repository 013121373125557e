"""What a yard job's paper and terminal say of odd pumps and baths: parts that stay out, rust, one stage, a held job."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import yaml

from planner.commands.prepare import Trouble, checked_jobs, days_of
from planner.commands.yard_lines import yard_lines
from planner.inputs.workspace import load
from planner.packet.book import day_book, job_book
from planner.packet.twin import twin
from tests import workspaces
from tests.packet.test_yard_paper import _book, _checked, words
from tests.plan.benches import SETUPS, YARD

OX = "stock: {lots: [{name: ox, chemical: oxalic, on_hand: 20 lb}, {name: bag, chemical: bicarbonate, on_hand: 40 lb}]}"
ACID = "{name: acid, chemical: muriatic, strength: 31.45 wt %, on_hand: 5 gal}"


def bath_page(text: str = "{}") -> str:
    """The words of the bath's page."""
    return words(text).partition("Bath: outdoors, at the tub</h2>")[2].partition("<h2")[0]


def terminal(text: str = "{}", system: str = "us", *, held: bool = False) -> str:
    return "\n".join(yard_lines(_checked(text).plan, system, held=held))  # type: ignore[arg-type]


def test_paper_keeps_out_what_the_findings_keep_out() -> None:
    page = bath_page("{rig: {pumps: {0: {wetted: [plastic, EPDM, brass, cast iron]}}}}")
    assert "what is of brass and cast iron stays out" in page
    odd = bath_page("{rig: {pumps: {0: {wetted: [plastic, EPDM, moonmetal]}}}}")
    assert "stays out. Soak" not in odd
    assert "What acid does to moonmetal no table here says" in odd


def test_a_metal_that_stays_out_is_counted_before_acid_is_opened() -> None:
    text = "{rig: {pumps: {0: {wetted: [plastic, aluminium]}}}, job: {kept_out: [aluminium]}}"
    held = "Every part of aluminium counted, off and lying apart?"
    assert held in words(text)
    assert held not in words()


def test_metals_that_give_hydrogen_are_the_same_on_every_page() -> None:
    text = words()
    assert "No aluminium, magnesium, zinc or galvanised steel, not a part, pail or hook?" in text
    assert "aluminium, magnesium, zinc, galvanised steel" in text


def test_the_tub_is_told_on_page_and_terminal() -> None:
    assert "Plastic tub that holds at least 7 gal" in bath_page()
    assert "in a tub that holds 7 gal or more" in terminal()


def test_oxalic_has_its_own_end_and_takes_no_lime() -> None:
    page = bath_page(f"{{{OX}, job: {{bath: 3 wt % oxalic}}}}")
    assert "fizz" not in page
    assert "It takes rust, not lime" in page
    assert "rusty parts" in page


@pytest.mark.parametrize(
    ("bath", "equation"),
    [
        ("15 vol % muriatic", "CaCO3 + 2 HCl"),
        ("5 wt % citric", "CaCO3 + 2 C6H8O7"),
        ("3 wt % oxalic", "CaCO3 + H2C2O4"),
    ],
)
def test_each_acid_has_its_own_equation_on_the_worksheet(bath: str, equation: str) -> None:
    lots = f"[{ACID}, {{name: ox, chemical: oxalic, on_hand: 20 lb}}, {{name: cit, chemical: citric, on_hand: 20 lb}}, {{name: bag, chemical: bicarbonate, on_hand: 40 lb}}]"
    text = words(f"{{stock: {{lots: {lots}}}, job: {{bath: {bath}}}}}").partition("Worksheet: for the owner</h2>")[2]
    assert [one for one in ("CaCO3 + 2 HCl", "CaCO3 + 2 C6H8O7", "CaCO3 + H2C2O4") if one in text] == [equation]


def test_nothing_is_at_hand_that_the_shelf_has_not() -> None:
    short = words(f"{{stock: {{lots: [{ACID}, {{name: bag, chemical: bicarbonate, on_hand: 2 lb}}]}}}}")
    assert "at hand" not in short
    assert "lb first" in short
    assert "at hand" in words()


def test_soda_ash_alone_is_what_everything_is_rinsed_in() -> None:
    page = bath_page(f"{{stock: {{lots: [{ACID}, {{name: ash, chemical: soda_ash, on_hand: 40 lb}}]}}}}")
    assert "bicarbonate" not in page
    assert "of soda ash in it" in page


def test_a_held_job_has_no_recipe_anywhere_the_owners_sheet_included() -> None:
    text = "{rig: {pumps: {0: {wetted: [aluminium, plastic]}}}}"
    sheet = words(text).partition("Worksheet: for the owner</h2>")[2]
    assert "held: mix nothing" in sheet
    assert "fl oz" not in sheet
    assert "of water" not in sheet.partition("The test")[0]
    told = terminal(text, held=True)
    assert "held, mix nothing" in told
    assert "fl oz" not in told
    assert "water" not in told


def test_a_pump_that_nothing_of_may_lie_in_acid_has_no_page_of_a_bath() -> None:
    text = "{rig: {pumps: {1: {wetted: [brass, stainless]}}}, job: {pump: washer}}"
    assert "yard_bath" not in [section.key for section in _book(text).sections]
    assert "no bath: nothing of washer may lie in muriatic" in terminal(text)
    assert "no bath is planned" in words(text)


def test_a_pump_of_one_stage_is_not_spoken_of_in_many() -> None:
    text = words("{rig: {pumps: {0: {stages: 1}}}}")
    assert "1 stages" not in text
    assert "Lift the stage off" in text
    assert "1 root" not in text
    assert "7 stages" in words("{rig: {pumps: {0: {stages: 7}}}}")


@pytest.mark.parametrize("system", ["us", "si"])
def test_a_throw_written_on_the_job_is_how_the_pump_stands_everywhere(system: str) -> None:
    text = words("job: {throw: 61 ft}", system)  # type: ignore[arg-type]
    told = "61 ft" if system == "us" else "18.5 m"
    assert f"now {told};" in text
    assert f"now throws {told}" in terminal("job: {throw: 61 ft}", system)
    assert text.count("70 %") >= 2, "the same share, rounded the same way, on the test and for the owner"


def test_a_throw_without_a_jet_is_told_as_that() -> None:
    text = words("job: {setup: rinse, throw: 60 ft}")
    assert "tip throws no jet to pace" in text
    assert "less than any pump throws" not in text


def test_a_litre_bucket_on_litre_paper_and_terminal() -> None:
    assert "20 L in" in terminal(system="si")
    assert "18.9 L in" not in terminal(system="si")
    assert "tub: 18.9 L of bath" in words(system="si")


def test_bleach_after_the_bath_waits_for_initials_on_the_next_jobs_card() -> None:
    files = workspaces.merged(workspaces.base(), SETUPS)
    files["job"] = YARD
    with TemporaryDirectory() as folder:
        path = workspaces.write(Path(folder), files)
        path.rename(path.with_name("10-booster.yaml"))
        house = workspaces.base()["job"] | {"chemicals": [{"stock": "bleach", "strength": "1 %"}]}
        house["hose_runs"] = [{**house["hose_runs"][0], "dosing": "panel"}]
        (path.parent / "20-house.yaml").write_text(yaml.safe_dump(house), encoding="utf-8")
        read = load([path.parent])
        jobs = list(checked_jobs(read.jobs, Trouble(faults=list(read.faults)), tables=True))
        book = job_book(jobs[1], paper="letter", system="us")
        assert "Before the line is filled" in [title for _, title, _ in book.bound.holds]
        text = " ".join(twin(book).decode().split())
        assert "plain water run through" in text
        ((day, of_day),) = days_of(read, jobs)
        cover = " ".join(twin(day_book(day, of_day, paper="letter", system="us")).decode().split())
        assert "booster lay in acid" in cover
