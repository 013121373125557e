"""The sheets of a yard job: what is asked before acid and before a hand goes in, what each kind of pump needs, its boxes."""

from __future__ import annotations

import re
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from pypdf import PdfReader

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json, plan_text
from planner.contract.record import planned_of, record_json
from planner.inputs.record import joined_record
from planner.packet.blocks import Hold, Step, walked
from planner.packet.book import Book
from planner.packet.fields import boxes_of
from planner.packet.filled.filled import Filled, read_filled
from planner.packet.html import twin
from planner.packet.pages.attached import UNKEPT
from planner.packet.pages.pages import Paper
from planner.recording.questions import questions
from planner.recording.sources import from_answers
from planner.units import System
from tests import workspaces
from tests.packet.figures.jobs import CASES, job_of, packet_of
from tests.packet.figures.test_numbers import SOME, named_figures, passes_one_step_off
from tests.packet.printing import job_book, owner_worded, worded
from tests.plan.yard.benches import SETUPS
from tests.sampled import in_ci

ALL = {"job": "Booster", "kind": "yard", "pump": "booster", "work": ["descale", "rebuild", "test"]}


@lru_cache(maxsize=64)
def _checked(text: str) -> CheckedJob:
    change: dict[str, Any] = workspaces.as_written(text)
    files = workspaces.merged(workspaces.base(), SETUPS)
    files["job"] = {**ALL, **change.pop("job", {})}
    files = workspaces.merged(files, change)
    with TemporaryDirectory() as folder:
        return workspaces.checked(Path(folder), files, tables=True)


@lru_cache(maxsize=64)
def _book(text: str = "{}", paper: Paper = "letter", system: System = "us") -> Book:
    return job_book(_checked(text), paper=paper, system=system)


def _holds(book: Book) -> list[Hold]:
    return [block for section in book.sections for block in walked(section.blocks) if isinstance(block, Hold)]


@lru_cache(maxsize=64)
def words(text: str = "{}", system: System = "us") -> str:
    return _words(worded(_checked(text), system=system))


@lru_cache(maxsize=64)
def owner_words(text: str = "{}", system: System = "us") -> str:
    return _words(owner_worded(_checked(text), system=system))


def _words(book: Book) -> str:
    return " ".join(twin(book).decode().replace("<strong>", "").replace("</strong>", "").split())


def sheets(book: Book) -> list[str]:
    return [section.key for section in book.sections]


@pytest.mark.ci
def test_a_strip_down_has_its_sheets_in_the_order_of_the_work() -> None:
    assert sheets(worded(_checked("{}"))) == ["yard_test", "yard_bath", "yard_up", "yard_done"]


@pytest.mark.parametrize(
    ("work", "there"),
    [("test", {"yard_test"}), ("rebuild", {"yard_test", "yard_up"}), ("descale", {"yard_test", "yard_bath", "yard_up"})],
)  # fmt: skip
def test_what_is_not_asked_for_has_no_sheet(work: str, there: set[str]) -> None:
    found = set(sheets(worded(_checked(f"job: {{work: {work}}}"))))
    assert found & {"yard_test", "yard_bath", "yard_up"} == there


def test_no_word_of_acid_where_nothing_lies_in_any_and_none_went_through() -> None:
    text = words("job: {pump: washer, work: [rebuild, test]}").casefold()
    crew = text.replace("and bath", "")
    for word in ("acid", "muriatic", "goggles", "hydrogen", "bicarbonate", "lungs"):
        assert word not in crew, word
    said = crew.count("chlorine strip in its last drops") + crew.count("last drops read chlorine 1.5 mg/l or less?")
    assert crew.count("chlorine") == said == 3, "a strip before any pump is opened, and what asks for it"


SETUP = (
    "setups: [{name: house, pump: booster, feed: water, hoses: [red], tip: long throw}, "
    "{name: drive, pump: washer, feed: water, hoses: [red], tip: fan}]"
)
"""Setups that send nothing but water through their pumps."""
WATER_ONLY = f"rig: {{{SETUP}}}"

ACID_PUMP = (
    "{rig: {pumps: {2: {dedicated: muriatic}}, tanks: {1: {holds: muriatic}}, "
    "setups: [{name: acid, pump: transfer, feed: mix, dosing: premix, hoses: [red], tip: fan}]}, "
    "job: {pump: transfer, work: [rebuild, test], replace: [diaphragm]}}"
)


@pytest.mark.ci
def test_a_pump_kept_for_acid_is_opened_dressed_for_acid_flushed_and_with_its_first_aid() -> None:
    text = words(ACID_PUMP)
    crew = text
    assert "face shield over goggles, long acid gloves" in crew
    assert "Left in the pump: muriatic." in crew
    assert "Lungs" in crew
    assert "Hurt" not in crew
    assert "Look below it, never with a bare hand" in crew
    hold = crew.rpartition("Before the pump is opened")[2]
    assert hold.index("Flushed, last drops read chlorine 1.5 mg/L or less and pH 6 to 8?") >= 0
    assert crew.index("never thrown") < crew.index("in a bucket at the tip")
    assert [hold.title for hold in _holds(_book(ACID_PUMP))] == [
        "Before the pump has power", "Before the pump is opened", "Before the pump has power", "Before the hose is coiled",
    ]  # fmt: skip


@pytest.mark.ci
def test_a_pump_is_not_tested_on_its_own_tank_of_mix() -> None:
    crew = words(ACID_PUMP.replace("muriatic", "bleach"))
    assert "Put the suction on the water tank." in crew, "any clean tank in reach"
    assert "Flush low into pail 1, never thrown" in crew
    assert "Put the suction on the mix tank." not in crew
    acid = words(ACID_PUMP)
    places = [
        acid.find(one) for one in ("Look into the mix tank.", "Fill the mix tank: ", "Put the suction on the mix tank.")
    ]
    assert -1 < places[0] < places[1] < places[2], "its own, emptied and rinsed"
    away = acid.partition("Empty the mix tank into a sanitary drain")[2]
    assert "permission: 5 7/8 gal." in away
    assert "Lid shut" not in away, "no lid on what is gone"
    assert "Put the suction on the water tank." not in acid, "a suction that stood in acid goes into no shared tank"
    bleach = words(
        "{rig: {pumps: {0: {draws: [water]}}}, job: {work: test}, "
        "day: {heels: {water: {stock: bleach, strength: 3 %, volume: 2 gal}}}}"
    )
    order = ["Empty the water tank into pail 1: 2 gal. Lid shut, marked as its own", "Fill the water tank", "Put the suction on the water tank",
             "Empty pail 1 into a marked drum to take home"]  # fmt: skip
    places = [bleach.find(one) for one in order]
    assert -1 not in places, order[places.index(-1)]
    assert places == sorted(places)
    assert "Look into" not in words("job: {work: [rebuild, test]}"), "water feeds the booster"
    assert "Shut panel. Keep its hose out of stock." in words("job: {work: [rebuild, test]}")


def test_a_piston_pump_by_passes_no_longer_on_the_bench_than_at_a_house() -> None:
    assert "in bypass no longer than 2 min" in words("job: {pump: washer, work: test}")
    longer = "{company: {limits: {shut_off_on_paper: 10 min, shut_off_unknown: 5 min, bypass_time: 3 min}}, job: {pump: washer, work: test}}"
    assert "in bypass no longer than 3 min" in words(longer)


@pytest.mark.ci
def test_what_is_read_at_the_tip_is_told_beside_the_gauge_on_paper_too() -> None:
    text = words("job: {work: test, gauge: 69 psi, bucket: 5 gal in 45 s}")
    assert "less than its gauge says the pump gives: look at hose, tip, strainer and air." in text
    assert "pump by its bucket" not in text
    assert "which fits what its gauge says about the pump" in words(
        "job: {work: test, gauge: 55 psi, bucket: 5 gal in 32 s}"
    )
    assert "more than its gauge says the pump can give" in words(
        "job: {work: test, gauge: 40 psi, bucket: 5 gal in 30 s}"
    )


def test_what_is_worn_at_the_tub_is_one_thing_on_every_sheet_and_chlorine_has_its_next_day() -> None:
    crew = words()
    worn = "face shield over goggles, long acid gloves, apron, boots"
    assert worn in crew.partition("Bath: 15 vol % muriatic")[2].partition("Before acid is poured")[0]
    assert worn in crew.rpartition("Before acid is poured")[2].casefold()
    assert "Add a cup at a time, stir, face away" in crew.rpartition("Neutralize what is left")[2]
    assert "For hours after: hard to breathe, go to the ER." in crew


@pytest.mark.ci
def test_the_forecast_is_told_at_the_bench_too() -> None:
    cold = words("day: {forecast: {low: 20 F, high: 34 F, wind: 12 mph, gust: 14 mph}}")
    crew = cold
    assert "Cold, 20 F forecast" in crew
    assert "Wind. Above 10 mph" in crew


@pytest.mark.ci
def test_before_power_a_hand_acid_and_the_reel_the_work_stops_for_initials() -> None:
    book = _book()
    assert [hold.title for hold in _holds(book)] == [
        "Before the pump has power", "Before the pump is opened", "Before acid is poured", "Before the pump has power",
        "Before the hose is coiled",
    ]  # fmt: skip
    text = words()
    assert "last drops read chlorine 1.5 mg/L or less?" in text
    assert "Pump off, unplugged?" in text
    assert "Plug with whoever opens it?" in text
    bath = text.partition("Bath: 15 vol % muriatic, outdoors, at the tub</h2>")[2]
    assert 0 < bath.index("Water first:") < bath.index("low and slowly")


def test_a_pump_on_an_engine_has_no_plug_to_pull_but_fuel_exhaust_and_hot_parts() -> None:
    text = words("job: {pump: washer, work: [rebuild]}")
    assert "Engine off, switch and fuel shut?" in text
    assert "Engine cold, plug wire off, key with whoever opens it?" in text
    assert "Muffler burns" in text
    assert not re.search(r"(?i)unplug|keeps the plug|gfci|\bcord\b", text)


@pytest.mark.parametrize(
    ("pump", "said", "never"),
    [
        ("booster", ("left-hand", "gripped in the middle it collapses", "spacer", "for a moment"), "Unloader"),
        ("washer", ("which way each lip faces", "crosswise", "the unloader back to its turns", "cardboard"), "left-hand"),
        ("transfer", ("Pressure switch", "Diaphragm to the light", "near 60 psi"), "Packings"),
    ],
)  # fmt: skip
def test_each_kind_of_pump_has_its_own_steps(pump: str, said: tuple[str, ...], never: str) -> None:
    text = words(f"job: {{pump: {pump}, work: [rebuild, test]}}")
    for one in said:
        assert one in text, one
    assert never not in text


@pytest.mark.ci
@pytest.mark.parametrize("stages", [1, in_ci(2), 7, in_ci(16), in_ci(17), 24])
@pytest.mark.parametrize("paper", ["letter", in_ci("a4")])
def test_there_are_as_many_lines_as_stages_and_all_fit(stages: int, paper: str) -> None:
    book = _book(f"{{rig: {{pumps: {{0: {{stages: {stages}}}}}}}}}", paper)
    names = {box.name for box in boxes_of(book.sections) if box.name.endswith(".spacer")}
    assert names == {f"pump.stages.{n}.spacer" for n in range(1, stages + 1)}
    assert book.bound.total <= 4
    painted = [name for name in (PdfReader(BytesIO(book.pdf)).get_fields() or {}) if name.endswith("spacer")]
    assert len(painted) == stages


def test_a_pump_whose_stages_nobody_wrote_has_lines_to_number_by_hand() -> None:
    names = {box.name for box in boxes_of(worded(_checked("{}")).sections)}
    assert {f"pump.stages.{n}.part" for n in range(1, 9)} <= names
    assert "pump.stages.9.part" not in names


def test_spacers_that_were_written_stand_beside_their_lines() -> None:
    text = words("{rig: {pumps: {0: {stages: 3}}}, job: {spacers: [two thin, one thick]}}")
    assert "two thin" in text
    assert "one thick" in text


def test_a_held_yard_job_tempts_nobody_to_pour() -> None:
    text = "{rig: {pumps: {0: {wetted: [aluminium, plastic]}}}}"
    book = _book(text)
    told = words(text)
    assert book.bound.total == 1
    assert "Leave the pump as it is. Do not open it. Do not mix." in told
    assert "Water first:" not in told
    assert not boxes_of(book.sections)
    assert "<input" not in told
    assert "fl oz" not in told


DIRTY: tuple[str, System] = ("2026-06-10/90-booster", "us")


@pytest.mark.parametrize("text", ["{}", "job: {work: test}", "job: {pump: washer, work: [rebuild, test]}", ACID_PUMP])
def test_steps_are_numbered_from_the_first_page_to_the_last(text: str) -> None:
    numbers = [
        step.number
        for section in worded(_checked(text)).sections
        for step in walked(section.blocks)
        if isinstance(step, Step)
    ]
    assert numbers == list(range(1, len(numbers) + 1))


@pytest.mark.ci
def test_a_stop_point_s_frame_holds_the_start_the_opening_the_acid_and_the_hose() -> None:
    for sections in (_book().sections, packet_of(*DIRTY).sections):
        guards = [
            (hold.title, "".join(span.text for span in hold.guards.spans))
            for section in sections
            for hold in walked(section.blocks)
            if isinstance(hold, Hold) and hold.guards is not None
        ]
        assert [title for title, _ in guards] == [
            "Before the pump has power", "Before the pump is opened", "Before acid is poured", "Before the pump has power",
            "Before the hose is coiled",
        ]  # fmt: skip
        words = (
            "Start booster, gun shut.",
            "Take the line apart.",
            "low and slowly.",
            "for a moment",
            "Take the line apart.",
        )
        assert all(word in told for (_, told), word in zip(guards, words, strict=True))


def test_pails_are_full_before_the_line_that_fills_them_is_made_up() -> None:
    (section,) = [one for one in packet_of(*DIRTY).sections if one.key == "yard_test"]
    told = ["".join(span.text for span in step.spans) for step in walked(section.blocks) if isinstance(step, Step)]
    places = [
        next(n for n, words in enumerate(told) if begin in words)
        for begin in ("Fill each of pails 1 and 2", "Join ", "Start ")
    ]
    assert places == sorted(places)


@pytest.mark.ci
def test_whoever_leads_at_the_bench_has_the_sheet_alone_or_not() -> None:
    book = _book("{day: {crew: 1}, job: {work: [rebuild, test]}}")
    assert {section.role for section in book.sections} == {"lead"}


def test_a_readout_names_at_most_six_hazards_and_never_drops_chlorine() -> None:
    text = words()
    assert "Bleach left in the pump." in text
    hazards = text.partition("Hazards of this job, and what we do")[2].partition("</table>")[0]
    assert hazards.count("<td") <= 6


def test_leftovers_go_by_weight_a_cup_at_a_time_and_by_local_rules() -> None:
    text = words()
    assert "Add a cup at a time" in text
    assert "until the strip reads 6 to 9" in text
    assert "dispose of it as local rules say" in text
    assert "never a storm drain" in text


@pytest.mark.ci
@pytest.mark.parametrize("pump", ["booster", "washer", "transfer"])
@pytest.mark.parametrize("system", ["us", in_ci("si")])
@pytest.mark.parametrize("paper", ["letter", in_ci("a4")])
def test_crew_pages_are_few(pump: str, system: System, paper: str) -> None:
    book = _book(f"{{{WATER_ONLY}, job: {{pump: {pump}, work: [rebuild, test]}}}}", paper, system)
    assert book.bound.total <= (3 if pump == "booster" and paper == "letter" else 2)
    assert {section.role for section in book.sections} == {"lead"}
    test = _book(f"{{{WATER_ONLY}, job: {{pump: {pump}, work: test}}}}", paper, system)
    assert test.bound.total == 1


@pytest.mark.ci
@pytest.mark.parametrize("system", ["us", in_ci("si")])
@pytest.mark.parametrize("paper", ["letter", in_ci("a4")])
@pytest.mark.parametrize(("work", "most"), [("test", 2), ("[rebuild, test]", 3), ("[descale, rebuild, test]", 4)])
def test_the_flush_of_a_pump_that_may_hold_bleach_is_one_page_more(
    work: str, most: int, paper: str, system: System
) -> None:
    tub = ", bath: 15 vol % muriatic, tub: 5 gal, across: 12 in, tub_height: 15 in" if "descale" in work else ""
    assert _book(f"job: {{work: {work}{tub}}}", paper, system).bound.total <= most


@pytest.mark.ci
@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("paper", ["letter", in_ci("a4")])
@pytest.mark.parametrize("work", [in_ci("[descale, test]"), "[descale, rebuild, test]"])
def test_a_bath_takes_three_pages_and_stands_whole_on_one(paper: str, system: System, work: str) -> None:
    tub = "tub: 5 gal, across: 12 in, tub_height: 15 in"
    book = _book(f"{{rig: {{{SETUP}, pumps: {{0: {{stages: 7}}}}}}, job: {{work: {work}, {tub}}}}}", paper, system)
    assert book.bound.total <= 3
    assert (book.bound.page("yard_bath"), book.bound.page("yard_up")) == (2, 3)
    assert "yard_up" in book.bound.tops, "nothing of the bath is left for another page"
    dirty = job_book(job_of(DIRTY[0]), paper=paper, system=system)  # type: ignore[arg-type]
    assert dirty.bound.total <= 4, "with bleach to flush out into pails first"
    assert {"yard_bath", "yard_up"} <= dirty.bound.tops


@pytest.mark.parametrize("text", ["{}", "job: {work: test}", "job: {pump: washer, work: [rebuild, test]}", ACID_PUMP])
def test_a_reading_is_written_where_it_is_taken_and_nowhere_else(text: str) -> None:
    book = _book(text)
    names = [box.name for box in boxes_of(book.sections)]
    assert len(names) == len(set(names))
    readings = {"pump.bucket", "pump.gauge_closed"}
    readings |= {"pump.bucket_before", "pump.gauge_before"} if "work: test" not in text else set()
    assert readings <= set(names)
    (last,) = [section for section in book.sections if section.key == "yard_done"]
    assert not readings & {box.name for box in boxes_of([last])}


def _fill(book: Book, values: dict[str, str], folder: Path) -> Path:
    from pypdf import PdfWriter

    made = PdfWriter(clone_from=BytesIO(book.pdf))
    job = "2026-06-09/10-case"
    for page in made.pages:
        if "/Annots" in page:
            made.update_page_form_field_values(page, {f"{job}/{key}": text for key, text in values.items()})
    path = folder / "filled.pdf"
    made.write(path)
    return path


@pytest.mark.ci
def test_a_filled_page_comes_back_as_the_record_of_the_pump(tmp_path: Path) -> None:
    checked = _checked("{rig: {pumps: {0: {stages: 3}}}}")
    book = job_book(checked, paper="letter", system="us", plan_json=plan_text(job_json(checked, "us")))
    written = {
        "times.arrived": "14:05", "pump.bath": "16", "pump.replaced": "diffuser plates, shaft seal",
        "pump.stages.1.spacer": "two thin", "pump.stages.3.plate": "cracked, rim", "pump.stages.3.cost": "12 dollars",
        "pump.throw_before": "58", "pump.throw_after": "64", "pump.gauge_before": "60", "pump.gauge_closed": "69",
        "pump.bucket_before": "36", "pump.bucket": "31", "signed": "Ana",
    }  # fmt: skip
    filled = read_filled(_fill(book, written, tmp_path))
    assert isinstance(filled, Filled)
    assert filled.fields["pump.bucket"] == "5 gal in 31 s"
    plan = job_json(checked, "us")
    source = from_answers({"job": filled.job, **filled.fields}, "filled", "filled.pdf")
    assert not source.read.faults
    done, faults = joined_record(source.read, planned_of(plan))
    assert done is not None, faults
    pump = record_json(done, planned_of(plan), None, None)["pump"]
    assert pump["bath_s"] == pytest.approx(960.0)
    assert pump["replaced"] == ["diffuser plates", "shaft seal"]
    assert pump["stages"] == [
        {"number": 1, "part": None, "spacer": "two thin", "plate": None, "cost": None, "spent": None},
        {"number": 3, "part": None, "spacer": None, "plate": "cracked, rim", "cost": "12 dollars", "spent": 12.0},
    ]
    assert pump["throw_before_m"] == pytest.approx(58 * 0.3048)
    assert pump["gauge_before_pa"] == pytest.approx(60 * 6894.757, rel=1e-6)
    assert (pump["bucket_before_s"], pump["bucket_s"]) == (36.0, 31.0)


def test_every_box_of_the_paper_is_asked_for_on_the_terminal() -> None:
    checked = _checked("{rig: {pumps: {0: {stages: 3}}}}")
    plan = job_json(checked, "us")
    asked = {question.path for question in questions(plan, planned_of(plan), "us")}
    boxes = {box.name for box in boxes_of(worded(_checked("{rig: {pumps: {0: {stages: 3}}}}")).sections)}
    # What was ticked, initialed or noted on the way is not asked after.
    assert {box for box in boxes if box.partition(".")[0] not in (*UNKEPT, "initials", "customer")} <= asked


def test_a_stage_goes_by_its_number_from_the_root() -> None:
    read = from_answers({"job": "x", "pump.stages.front.spacer": "one"}, "typed", "typed").read
    (fault,) = read.faults
    assert fault.code == "name.unknown"


@pytest.mark.parametrize(
    ("name", "system"),
    [
        case if case in SOME else in_ci(case)  # those whose numbers are read in every run
        for case in CASES
        if case[0] in ("2026-06-10/90-booster", "Worn booster", "Limed booster", "Blocked line", "Washer")
    ],
)
def test_a_named_figure_of_the_yard_one_step_off_is_found(name: str, system: System) -> None:
    pairs = named_figures(name, system)
    assert len(pairs) >= (20 if "ooster" in name else 5)
    missed = passes_one_step_off(name, system, pairs)
    assert not missed, "\n".join(missed)
