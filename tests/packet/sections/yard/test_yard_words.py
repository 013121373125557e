"""What a yard job's paper and terminal say of odd pumps and baths: parts that stay out, rust, one stage, a held job."""

from __future__ import annotations

import re
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import yaml

from planner.commands.check import yard_lines
from planner.days.prepare import Depth, Trouble, checked_jobs, days_of
from planner.inputs.workspace import load
from planner.packet.book import day_book
from planner.packet.html import twin
from planner.packet.sections.yard.safety import _AT_ITS_STEP
from tests import workspaces
from tests.packet.printing import worded
from tests.packet.sections.yard.test_yard_paper import _book, _checked, owner_words, words
from tests.plan.yard.benches import SETUPS, YARD

OX = "stock: {lots: [{name: ox, chemical: oxalic, on_hand: 20 lb}, {name: bag, chemical: bicarbonate, on_hand: 40 lb}]}"
ACID = "{name: acid, chemical: muriatic, strength: 31.45 wt %, on_hand: 5 gal}"


def bath_page(text: str = "{}") -> str:
    """The words of the bath's page."""
    return words(text).partition("outdoors, at the tub</h2>")[2].partition("<h2")[0]


def terminal(text: str = "{}", system: str = "us", *, held: bool = False) -> str:
    return "\n".join(yard_lines(_checked(text).plan, system, held=held))  # type: ignore[arg-type]


@pytest.mark.ci
def test_paper_keeps_out_what_the_findings_keep_out() -> None:
    page = bath_page("{rig: {pumps: {0: {wetted: [plastic, EPDM, brass, cast iron]}}}}")
    assert "keep brass and cast iron out" in page
    odd = bath_page("{rig: {pumps: {0: {wetted: [plastic, EPDM, plastic over moonmetal]}}}}")
    assert "stays out. Soak" not in odd
    assert "No table here says what acid does to plastic over moonmetal" in odd


@pytest.mark.ci
def test_a_metal_that_stays_out_is_counted_before_acid_is_opened() -> None:
    text = "{rig: {pumps: {0: {wetted: [plastic, aluminium]}}}, job: {kept_out: [aluminium]}}"
    held = "Every part of aluminum counted, off and set apart?"
    assert held in words(text)
    assert held not in words()


def test_metals_that_give_hydrogen_are_the_same_on_every_page() -> None:
    text = words()
    assert "No aluminum, magnesium, zinc or galvanized steel, not a part, pail or hook?" in text
    assert "aluminum, magnesium, zinc, galvanized steel" in text
    metric = words(system="si")
    assert "aluminium, magnesium, zinc, galvanised steel" in metric
    assert "aluminum" not in metric


def test_the_tub_is_told_on_page_and_terminal() -> None:
    assert "Plastic tub that holds at least 7 gal" in bath_page()
    assert "in a tub that holds 7 gal or more" in terminal()


def test_oxalic_has_its_own_end_and_takes_no_lime() -> None:
    page = bath_page(f"{{{OX}, job: {{bath: 3 wt % oxalic}}}}")
    assert "fizz" not in page
    assert "It takes rust stains, not scale" in page
    assert "rust-stained parts" in page
    assert "against rust" not in words(f"{{{OX}, job: {{bath: 3 wt % oxalic}}}}"), "nothing that rusts may go in"


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
    text = owner_words(f"{{stock: {{lots: {lots}}}, job: {{bath: {bath}}}}}")
    assert [one for one in ("CaCO3 + 2 HCl", "CaCO3 + 2 C6H8O7", "CaCO3 + H2C2O4") if one in text] == [equation]


def test_nothing_is_at_hand_that_the_shelf_has_not() -> None:
    short = words(f"{{stock: {{lots: [{ACID}, {{name: bag, chemical: bicarbonate, on_hand: 6 lb}}]}}}}")
    assert re.search(r"\(buy [\d /]+ (?:oz|lb) first\) open beside the tub\?", short)
    assert "lb of bicarbonate open beside the tub?" in words()


LIME = f"stock: {{lots: [{ACID}, {{name: sack, chemical: lime, on_hand: 40 lb}}]}}"


@pytest.mark.ci
def test_lime_is_told_as_heat_and_overshoot_and_never_as_foam() -> None:
    page = bath_page(f"{{{LIME}, job: {{bath: 10 vol % muriatic}}}}")
    end = page.partition("Neutralize what is left")[2].partition("Let it settle")[0]
    assert "up to 30 F warmer" in end or "up to 29 F warmer" in end
    assert "Add a spoonful" in end
    assert "pH 12" in end
    assert "it foams" not in end
    assert "of gas" not in end
    whole = words(f"{{{LIME}, job: {{bath: 10 vol % muriatic}}}}")
    assert "It heats instead of foaming" in whole
    assert "it foams" not in whole
    foams = bath_page().partition("Neutralize what is left")[2]
    assert "it foams, up to" in foams
    assert "warmer" not in foams, "bicarbonate cools it"
    ash = bath_page(f"{{stock: {{lots: [{ACID}, {{name: ash, chemical: soda_ash, on_hand: 40 lb}}]}}}}")
    assert "it foams, up to" in ash.partition("Neutralize what is left")[2]
    assert "warmer. Open air only" in ash.partition("Neutralize what is left")[2]


@pytest.mark.ci
@pytest.mark.parametrize("pump", ["booster", "washer", "transfer"])
def test_what_is_taken_off_is_scale_and_lime_is_only_what_ends_a_bath(pump: str) -> None:
    wetted = "{rig: {pumps: {0: {wetted: [plastic]}, 1: {wetted: [plastic]}, 2: {wetted: [plastic]}}}"
    for bath in ("10 vol % muriatic", "3 wt % oxalic"):
        change = f"{wetted}, stock: {{lots: [{ACID}, {{name: ox, chemical: oxalic, on_hand: 20 lb}}, {{name: bag, chemical: bicarbonate, on_hand: 40 lb}}]}}, job: {{pump: {pump}, bath: {bath}}}}}"
        text = f"{words(change)} {terminal(change)}".casefold()
        assert "lime" not in text.replace("limestone", ""), text[text.find("lime") - 60 : text.find("lime") + 40]


def test_the_rinse_is_mixed_and_the_neutraliser_open_before_acid_is_and_rags_have_an_end() -> None:
    page = bath_page("{rig: {pumps: {0: {wetted: [plastic, stainless]}}}}")
    order = ["Fill each of pails 4 and 5: 2 1/2 gal of clean water", "of bicarbonate, lot bicarb into each",
             "Plastic tub that holds at least", "Before acid is poured", "Rinse water mixed, and 6 1/2 lb of bicarbonate open beside the tub?",
             "low and slowly", "Shaft, if stainless: wipe",
             "Bicarbonate water over it after each", "Wring acid rags out in pail 4", "Neutralize what is left"]  # fmt: skip
    places = [page.find(one) for one in order]
    assert -1 not in places, order[places.index(-1)]
    assert places == sorted(places)


@pytest.mark.ci
@pytest.mark.parametrize(
    ("agent", "said", "never"),
    [("lime", "It heats instead of foaming", "It foams"), ("bicarbonate", "It foams", "instead of foaming")],
)
def test_a_wash_tells_of_heat_where_lime_ends_its_leftovers(agent: str, said: str, never: str) -> None:
    files = workspaces.base()
    wall = {**files["job"], "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "100 ft2"}],
            "chemicals": [{"stock": "muriatic", "strength": "1:10"}]}  # fmt: skip
    wall["hose_runs"] = [
        {**wall["hose_runs"][0], "pump": "transfer", "feed": "mix", "dosing": "premix", "target": "6 ft"}
    ]
    files["job"] = wall
    files["stock"] = {"lots": [yaml.safe_load(ACID), {"name": "bag", "chemical": agent, "on_hand": "40 lb"}]}
    with TemporaryDirectory() as folder:
        job = workspaces.checked(Path(folder), files, tables=True)
        text = " ".join(twin(worded(job)).decode().split())
    assert said in text
    assert never not in text


@pytest.mark.ci
def test_a_shaft_that_acid_must_not_see_is_brushed() -> None:
    page = bath_page("{rig: {pumps: {0: {wetted: [plastic, cast iron]}}}}")
    assert "Shaft: clean it with a brush and warm water, no acid on it." in page
    assert "wipe it" not in page
    assert "rags" not in page
    assert "wipe" not in terminal("{rig: {pumps: {0: {wetted: [plastic, cast iron]}}}}")


@pytest.mark.ci
def test_a_bath_written_in_parts_is_told_in_parts() -> None:
    text = words("job: {bath: '1:10 muriatic'}")
    assert "1:10 muriatic" in text
    assert "9.09" not in text
    assert "of 1:10 muriatic" in terminal("job: {bath: '1:10 muriatic'}")


def test_one_person_alone_mixes_no_bath_and_no_page_asks_who_stands_by() -> None:
    text = words("day: {crew: 1}")
    crew = text
    assert "Do not mix." in crew
    assert "would be alone with the muriatic" in crew
    assert "crew: [Ana, Joe]" in crew
    assert "nobody alone?" not in crew


def test_soda_ash_alone_is_what_everything_is_rinsed_in() -> None:
    page = bath_page(f"{{stock: {{lots: [{ACID}, {{name: ash, chemical: soda_ash, on_hand: 40 lb}}]}}}}")
    assert "bicarbonate" not in page
    assert "of soda ash, lot ash into each" in page


def test_a_held_job_has_no_recipe_anywhere_the_owners_file_included() -> None:
    text = "{rig: {pumps: {0: {wetted: [aluminium, plastic]}}}}"
    sheet = owner_words(text)
    assert "held: mix nothing" in sheet
    assert "fl oz" not in sheet
    assert "of water" not in sheet.partition("The test")[0]
    assert "fl oz" not in words(text)
    told = terminal(text, held=True)
    assert "held, mix nothing" in told
    assert "fl oz" not in told
    assert "water" not in told


def test_a_pump_that_nothing_of_may_lie_in_acid_has_no_page_of_a_bath() -> None:
    text = "{rig: {pumps: {1: {wetted: [brass, stainless]}}}, job: {pump: washer}}"
    assert "yard_bath" not in [section.key for section in _book(text).sections]
    assert "no bath: no part of washer may go in muriatic" in terminal(text)
    assert "no bath is planned" in words(text)


@pytest.mark.ci
def test_a_pump_of_one_stage_is_not_spoken_of_in_many() -> None:
    text = words("{rig: {pumps: {0: {stages: 1}}}}")
    assert "1 stages" not in text
    assert "Lift the stage off" in text
    assert "1 root" not in text
    assert "7 stages" in words("{rig: {pumps: {0: {stages: 7}}}}")


@pytest.mark.ci
@pytest.mark.parametrize("system", ["us", "si"])
def test_a_throw_written_on_the_job_is_how_the_pump_stands_everywhere(system: str) -> None:
    text = words("job: {throw: 50 ft}", system)
    told = "50 ft" if system == "us" else "15.2 m"
    before = text.partition("Test before")[2].partition("Pace out to where most landed.")[2]
    assert before.startswith(f"</th><td>{told} ("), "where it is paced out"
    text = words("job: {throw: 50 ft, work: test}", system)
    assert f"now throws {told}" in terminal("job: {throw: 50 ft}", system)
    (low, high) = re.search(r"the throw of a pump at (\d+) % to (\d+) % of a new one", text).groups()
    assert int(low) < 50 < int(high) < 85, "a range, and outside what jets differ by"
    assert f"{low} % to {high} %" in owner_words("job: {throw: 50 ft}", system), "the same for the owner"


@pytest.mark.ci
def test_a_throw_near_a_sound_pumps_claims_no_wear_and_is_never_over_sound() -> None:
    near = words("job: {throw: 61 ft, work: test}")
    assert "within the normal spread of a good pump" in near
    assert "Read the gauge shut: it shows wear." in near
    assert "worn or scaled" not in near
    sound = re.search(r"a good pump throws (\d+) ft, gauge (\d+) psi", terminal())
    assert sound is not None
    over = terminal(f"job: {{throw: {int(sound[1]) + 4} ft}}")
    assert f"now throws {sound[1]} ft, gauge {sound[2]} psi" in over, "no pump is better than sound"


@pytest.mark.ci
@pytest.mark.parametrize("system", ["us", "si"])
def test_a_gauge_of_that_morning_is_how_the_pump_stands(system: str) -> None:
    text = words("job: {gauge: 58 psi, throw: 61 ft, work: test}", system)
    assert "Gauge shut before:" in text
    assert re.search(r"a pump at 8\d % of a new one", text)
    assert "within the normal spread" in text
    assert "Read the gauge shut" not in text, "it was read"
    bucket = words("job: {bucket: 5 gal in 60 s, work: test}", system)
    assert "By bucket before:" in bucket


def test_a_throw_without_a_jet_is_told_as_that() -> None:
    text = words("job: {setup: rinse, throw: 60 ft}")
    assert "tip throws no jet to pace" in text
    assert "less than any pump throws" not in text


def test_a_litre_bucket_on_litre_paper_and_terminal() -> None:
    assert "Time 5 gal in a bucket at the tip." in words()
    page = words(system="si")
    assert "Time 20 L in a bucket at the tip." in page
    for told in ("19 L", "18.9 L"):
        assert told not in page
    us, si = (re.search(r"in a bucket at the tip\.</th><td>(\d+) s", one) for one in (words(), page))
    assert us is not None
    assert si is not None
    assert int(si[1]) == pytest.approx(int(us[1]) * 20.0 / 18.927, abs=1.0), "the seconds of the larger bucket"
    assert "20 L in" in terminal(system="si")
    assert "18.9 L in" not in terminal(system="si")
    assert "tub: 18.9 L of bath" in owner_words(system="si")


@pytest.mark.ci
def test_what_lay_in_acid_ends_on_a_strip_and_is_told_of_before_bleach_goes_through_it() -> None:
    files = workspaces.merged(workspaces.base(), SETUPS)
    files["job"] = YARD
    with TemporaryDirectory() as folder:
        path = workspaces.write(Path(folder), files)
        path.rename(path.with_name("10-booster.yaml"))
        house = workspaces.base()["job"] | {"chemicals": [{"stock": "bleach", "strength": "1 %"}]}
        house["hose_runs"] = [{**house["hose_runs"][0], "dosing": "panel"}]
        (path.parent / "20-house.yaml").write_text(yaml.safe_dump(house), encoding="utf-8")
        read = load([path.parent])
        jobs = list(checked_jobs(read, Trouble(faults=list(read.faults)), Depth(tables=True)))
        bench = " ".join(twin(worded(jobs[0])).decode().split())
        assert "Read a pH strip in its last drops" in bench.partition("Up again: at the bench</h2>")[2]
        text = " ".join(twin(worded(jobs[1])).decode().split())
        assert "was in acid" in text
        ((day, of_day),) = days_of(read, jobs)
        cover = " ".join(twin(day_book(day, of_day, paper="letter", system="us")).decode().split())
        assert "booster was in acid" in cover


def test_a_hazard_that_is_left_to_its_step_is_said_there() -> None:
    said = {
        "bath_foam": "it foams", "bath_heat": "It heats instead of foaming", "bath_hydrogen": "not a part, pail or hook?",
        "bench_pressure": "gauge at 0, drained?", "bench_power": "with whoever opens it?",
        "bench_throw": "Nobody within the throw", "bath_splash": "ace shield over goggles, long acid gloves",
        "bench_shaft": "Sleeves tight, no rag near the shaft", "shock": "Plug, breaker and cord dry and tested?",
        "bath_chlorine": "with bleach and pool chlorine (chlorine gas)",
    }  # fmt: skip
    assert set(said) == set(_AT_ITS_STEP)
    motor = "rig: {pumps: {0: {motor: {volts: 115 V, power: 0.75 hp}}}}"
    weak = f"{LIME}, job: {{bath: 10 vol % muriatic}}"
    pages = [words(f"{{{change}}}") for change in ("", weak, motor)]
    assert not [key for key, phrase in said.items() if not any(phrase in page for page in pages)]


@pytest.mark.parametrize("change", ["", ", job: {work: [rebuild, test]}", ", job: {work: test}"])
def test_the_strip_of_a_flush_has_one_figure_at_step_stop_point_and_in_its_acts(change: str) -> None:
    job = f"{{rig: {{pumps: {{0: {{dedicated: bleach}}}}}}{change}}}"
    plan = _checked(job).plan
    strips = {act.expect.high for act in plan.procedure.acts if act.expect and act.expect.what == "strip_chlorine"}
    assert plan.yard is not None
    assert [one.target * 1e3 for one in plan.yard.flushes] == [pytest.approx(high) for high in strips] == [1.5]
    said = re.sub(r"<[^>]*>", "", words(job))
    told = re.findall(r"strip in its last drops\.\s*Should be: ([^:]*?) or less", said)
    told += re.findall(r"last drops read chlorine (.*?) or less", said)
    told += re.findall(r"strip reads (?:chlorine )?([\d.]* mg/L) or less", said)
    assert len(told) >= 3
    assert set(told) == {"1.5 mg/L"}
    assert "reads 0" not in said
    assert "chlorine 0" not in said


def test_a_tank_that_holds_no_whole_bucket_has_half_of_one_timed() -> None:
    small = (
        "{rig: {pumps: {2: {dedicated: muriatic}}, tanks: {1: {holds: muriatic, volume: 5 gal, dead_volume: 1 qt}}, "
        "setups: [{name: acid, pump: transfer, feed: mix, dosing: premix, hoses: [red], tip: fan}]}, "
        "job: {pump: transfer, work: test}}"
    )
    said = words(small)
    assert "Time 2.5 gal in a bucket" in said
    assert "5 gal in a bucket" not in said.replace("2.5 gal", "")


def test_a_jet_that_lands_short_on_the_bench_has_its_tip_and_aim_looked_at() -> None:
    said = words("job: {work: test}")
    assert "Short: tip or aim." in said
    assert "Short: call." not in said
