"""Walk-round, safety, and how sheets share pages: from a job as it is written to its pages."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from reportlab.platypus import Flowable

from planner.checks.model import CheckedJob
from planner.packet.blocks import Hold, Picture, Section, Signs, Step, Table, Two, WriteIn, walked
from planner.packet.blocks import said as said_of
from planner.packet.cautions import MOST_CAUTIONS, cautions
from planner.packet.pages.boxes import StepLine
from planner.packet.pages.columns import Vectors
from planner.packet.pages.joining import arranged
from planner.packet.pages.pages import Bound, Paper
from planner.packet.pages.style import JOINED, MEASURE, columns
from planner.packet.sections.crew import done, safety, set_up, walk_round
from planner.packet.sections.reading import Reading
from planner.plan.mix.lookups import forbidden
from planner.units import System
from planner.words.figures import close_call
from planner.words.spoken import wall_name
from tests import workspaces
from tests.packet.builders import ACID, ROOF, run, written
from tests.packet.figures_jobs import book_of, job_of, packet_of
from tests.packet.mixing import CASES, crew, owners, printed, texts
from tests.packet.printing import job_packet
from tests.packet.reading import is_for_notes, problems, sheets
from tests.packet.test_acts import acts_printed
from tests.plan.test_sanity_cases import ALDER_LANE

LADDER = "job: {access: {ladder: 24 ft, on_ladder: true, power_line: 22 ft, slope: steep}}"
HOT = "day: {forecast: {wind: 4 mph, high: 95 F, low: 30 F}}"
GENERATOR = "rig: {power: {generator: 3500 W, gfci: true, volts: 120}}"
DRUM = "stock: {lots: {0: {container: 55 gal}}}"
BRICK = "job: {surfaces: [{name: wall, kind: brick, area: 300 ft2, notes: 'loose <b>face</b> by the door'}]}"
BOTH = "job: {near: {fish_pond: 25 ft, stream: 90 ft, well: 80 ft, storm_drain: 40 ft, cars: 30 ft, rain_barrel: 10 ft, downspouts: 4, control: [barrel_off]}}"


ALONE = "day: {crew: [Ana]}"
TINY = """
job:
  surfaces: [{name: front, kind: vinyl, width: 30 ft, height: 9 ft}]
  building: {height: 10 ft}
  hose_runs: {0: {pump: null, feed: tap, dosing: null, target: 9 ft}}
  chemicals: []
  near: null
"""
"""One wall from the tap, no chemical."""
WALLS = [f"wall {n}" for n in range(1, 9)]
SMALL = {
    "no pump": (),
    "booster": ("job: {hose_runs: {0: {pump: booster}}}",),
    "booster and a tall wall": ("job: {building: {height: 24 ft}, hose_runs: {0: {pump: booster, target: 24 ft}}}",),
    "demand pump": ("job: {hose_runs: {0: {pump: transfer, tip: fan, standoff: 3 ft}}}",),
}
"""The same wall off the tap with what may stand between."""
FED = "job: {hose_runs: {0: {feed: tap}}}"
TWELVE = f"""
job:
  surfaces:
    [{", ".join(f"{{name: {name}, kind: vinyl, width: {20 + 2 * n} ft, height: 18 ft}}" for n, name in enumerate(WALLS))},
     {", ".join(f"{{name: walk {n}, kind: concrete, area: {100 + 20 * n} ft2}}" for n in range(1, 5))}]
  hose_runs:
    - {{name: walls, pump: booster, feed: water, dosing: panel, hoses: [red], tip: long throw, target: 20 ft, surfaces: [{", ".join(WALLS)}]}}
    - {{name: walks, pump: washer, feed: water, hoses: [{{bore: 3/8 in, length: 100 ft, rated: 4000 psi}}], tip: fan, target: 3 ft, surfaces: [walk 1, walk 2]}}
    - {{name: rinse, pump: booster, feed: water, hoses: [red], tip: fan, target: 3 ft, surfaces: [walk 3, walk 4]}}
  chemicals: [{{stock: drum, strength: 1 %, surfaces: [{", ".join(WALLS)}]}}]
  near: {{control: [drain_cover, pumped_to: lawn]}}
"""

USUAL = """
rig:
  power: {generator: 3500 W, gfci: true, volts: 120}
  pumps: {0: {wetted: [plastic], motor: {power: 0.75 hp, volts: 115, cord: {gauge: 12 AWG, length: 50 ft}}}}
  dosing: {0: {wetted: [plastic]}}
  hoses: {0: {couplings: [plastic]}, 1: {couplings: [plastic]}}
job:
  site: {contact: 555-0142, notes: Gate on the left}
  access: {power_line: 18 ft}
  near: {cars: 20 ft, open_windows: true}
day: {crew: [Ana, Bo], leave_yard: "07:00", drive: {10-case: 20 min}, forecast: {low: 58 F, high: 78 F, wind: 11 mph, gust: 14 mph}}
"""


def printed_of(*changes: str) -> bytes:
    """A changed house wash on letter paper."""
    return job_packet(written(*changes), paper="letter", system="us")


def alder_files() -> dict[str, Any]:
    """Sanity case A as it is written, with what is near it, and an eyewash aboard."""
    files = workspaces.as_written(ALDER_LANE)
    files["rig"]["carried"] = {"eyewash": "6 gal", "spill_kit": "true"}
    files["job"]["near"] = {"flower_beds": "400 ft2", "fish_pond": "25 ft", "storm_drain": "40 ft"}
    return files


@pytest.fixture(scope="module")
def alder(tmp_path_factory: pytest.TempPathFactory) -> CheckedJob:
    return workspaces.checked(tmp_path_factory.mktemp("alder"), alder_files(), tables=True)


def reading(*changes: str, system: System = "us") -> Reading:
    checked = written(*changes)
    return Reading(checked=checked, system=system, bound=Bound())


@lru_cache(maxsize=32)
def said(sheet: str, *changes: str, system: System = "us") -> str:
    """All words of one sheet's blocks, spaces plain."""
    made = {"walk": walk_round, "safety": safety, "done": done}[sheet].section(reading(*changes, system=system))
    text = " ".join(_words(made.blocks)).replace("\u00a0", " ") if made is not None else ""
    return re.sub(r" ([.,:;])", r"\1", " ".join(text.split()))


def _words(part: Any) -> Iterator[str]:
    if isinstance(part, str):
        yield part
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from _words(one)
    elif hasattr(part, "__slots__") and not isinstance(part, type):
        for name in part.__slots__:
            if name not in ("paint", "use", "name", "heights", "acts", "who"):
                yield from _words(getattr(part, name))


def boxes(blocks: Any) -> Iterator[tuple[WriteIn, Any, int]]:
    """Every box to write in, in order."""
    for block in walked(blocks):
        if isinstance(block, Table):
            for row in block.rows:
                for at, cell in enumerate(row):
                    if isinstance(cell, WriteIn):
                        yield cell, row, at


# ------------------------------------------------------------------------------------------------ pages


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_plain_house_wash_is_three_sheets(alder: CheckedJob, paper: Paper, system: System) -> None:
    pdf = job_packet(alder, paper=paper, system=system)
    assert problems(pdf, paper) == []
    sheets = crew(pdf)
    assert len(sheets) == 6
    whole = " ".join(sheets)
    titles = ("Job sheet at", "Walk-round before", "Safety read", "Near the work keep", "Set up at", "Wash at",
              "leave at the reel", "water in time order", "If it differs on", "What was done before")  # fmt: skip
    places = [whole.index(title) for title in titles]
    assert places == sorted(places)


@pytest.mark.parametrize(
    ("name", "most"),
    [
        ("2026-06-09/10-millrace", 6),
        ("2026-06-09/20-granary", 6),
        ("2026-06-10/20-millrace-mid", 6),
        ("2026-06-10/10-slipway", 7),  # two runs share the drive
        ("2026-06-10/30-kiln-acid", 9),  # acid fed by hand, and water on a line of its own; one page is for notes
    ],
)
def test_the_demo_s_jobs_are_no_longer_than_they_were(name: str, most: int) -> None:
    assert len(crew(book_of(name, "us").pdf)) <= most


@pytest.mark.parametrize(
    ("changes", "most"),
    [
        ((TWELVE,), 12),
        ((ROOF,), 8),
        ((ACID,), 8),
    ],
    ids=["twelve surfaces and three runs", "roof", "acid"],
)
def test_small_jobs_shrink_and_large_ones_grow_by_walls(changes: tuple[str, ...], most: int) -> None:
    checked = written(*changes)
    assert checked.verdict != "stop"
    pdf = job_packet(checked, paper="letter", system="us")
    assert problems(pdf, "letter") == []
    assert len(crew(pdf)) <= most
    # A rig is set up once, however many walls there are.
    assert sum(text.count("Set up at the rig") - text.count("Set up at the rig, continued") for text in crew(pdf)) == 1


@pytest.mark.parametrize(("paper", "system"), [("letter", "us"), ("a4", "si")])
@pytest.mark.parametrize("crew", [None, ALONE], ids=["two", "alone"])
@pytest.mark.parametrize("run", list(SMALL))
def test_one_wall_that_only_gets_water_off_the_tap_is_one_sheet(run: Any, crew: Any, paper: Paper, system: System) -> None:
    checked = written(TINY, *SMALL[run], *([crew] if crew else []))
    assert checked.verdict != "stop"
    pdf = job_packet(checked, paper=paper, system=system)
    assert problems(pdf, paper) == []
    sheets = texts(pdf)
    assert len(sheets) == 2
    for title, sheet in (("Job sheet at", 0), ("Walk-round before", 0), ("Safety read aloud", 0),
                         ("Wash from the tap, water alone", 1), ("What was done before", 1)):  # fmt: skip
        assert title in sheets[sheet], title
    assert all(text.startswith("Lead sheet " if crew else "Both sheet ") for text in sheets)


@pytest.mark.parametrize(("paper", "system"), [("letter", "us"), ("a4", "si")])
@pytest.mark.parametrize("changes", [(ALONE,), (ROOF, ALONE), (FED, ALONE)], ids=["house", "roof", "off the tap"])
def test_somebody_alone_has_three_sheets(changes: tuple[str, ...], paper: Paper, system: System) -> None:
    pdf = job_packet(written(*changes), paper=paper, system=system)
    assert problems(pdf, paper) == []
    whole = crew(pdf)
    assert len(whole) <= 6
    # Beds, leftovers and what keeps the water back are read before anything is set up.
    text = " ".join(whole)
    assert text.index("eftovers before you leave the rig") < text.index("Set up at the rig") < text.index("Mix at the drums")


def test_nobody_alone_is_asked_who_else_does_it() -> None:
    text = " ".join(crew(printed_of(ALONE)))
    for words in ("Who waters it", "The other one with you", "“Stop”", "Second", "second:"):
        assert words not in text, words


def test_somebody_alone_has_one_paper_and_no_calls() -> None:
    whole = crew(printed_of(ALONE))
    assert all(text.startswith("Lead sheet ") for text in whole)
    for said in ("Second", "“Ready”", "Wait for “Go”", "Call “"):
        assert said not in " ".join(whole), said


def test_a_job_for_one_sheet_of_paper_is_both_s_and_has_no_calls() -> None:
    whole = crew(printed_of(TINY))
    assert all(text.startswith("Both sheet ") for text in whole)
    assert "Call “" not in " ".join(whole)
    assert "drum is opened: " not in " ".join(whole)


def steps(*changes: str) -> list[str]:
    """Steps and stop points of one sheet, as they are read."""
    made = set_up.section(reading(*changes))
    return [re.sub(r" ([.,:;])", r"\1", " ".join(" ".join(_words(one.spans if isinstance(one, Step) else (one.title, one.questions))).split()))
            for one in walked(made.blocks) if isinstance(one, (Step, Hold))]  # fmt: skip


def test_water_alone_off_the_tap_reads_as_whoever_holds_the_hose_does_it() -> None:
    assert steps(TINY) == [
        "Lay out 100 ft of hose to the wall, no coils, no kinks.",
        "Join red, then tip long throw.",
        "Put the hose on the tap.",
        "Before the tap is opened People and animals clear? Gun shut, nobody in front of it?",
        "Second: open the tap fully, gun shut.",
        "Run 16 s onto the ground, until the line is full.",
        "Time 5 gal in a bucket at the tip.",
        "Shut the gun. Empty 5 gal from the bucket onto the lawn.",
        "Rinse front: 3 min 50 s (33 gal).",
        "Shut the gun. Second: shut the tap. Lead: open the gun until no water comes.",
        "Take the line apart. Drain each hose downhill onto the lawn and coil it: red.",
        "Load and strap what you brought. Look back, nothing is left and every gate is shut.",
    ]
    alone = steps(TINY, ALONE)
    assert "Open the tap fully, gun shut." in alone
    assert "Shut the gun. Shut the tap. Open the gun until no water comes." in alone
    assert not [words for words in alone if "econd" in words or "Lead" in words]


def test_a_small_job_s_pump_is_switched_by_the_second_without_a_call() -> None:
    found = steps(TINY, *SMALL["booster"])
    assert "Second: start booster, gun shut." in found
    assert "Second: start booster, gun shut. Lead: rinse front: 2 min 50 s (33 gal)." in found
    shut = "Shut the gun. Second: switch booster off. Shut the tap. Lead: open the gun until no water comes."
    assert shut in found
    assert found[found.index(shut) + 1].startswith("Before the hose is coiled ")


def test_every_act_of_a_job_on_one_sheet_is_printed_once() -> None:
    for change in ((), (ALONE,)):
        for small in SMALL.values():
            checked = written(TINY, *small, *change)
            made = reading(TINY, *small, *change)
            printed = [*acts_printed(walk_round.section(made).blocks), *acts_printed(set_up.section(made).blocks)]
            assert sorted(printed) == sorted(act.id for act in checked.plan.procedure.acts)


@pytest.mark.parametrize(("paper", "system"), [("letter", "us"), ("a4", "si")])
def test_a_plain_house_wash_with_every_usual_hazard_and_more_cautions_than_its_card_holds_is_no_longer(tmp_path: Path, paper: Paper, system: System) -> None:
    files = workspaces.merged(alder_files(), workspaces.as_written(USUAL))
    job = workspaces.checked(tmp_path, files, tables=True)
    assert job.verdict == "caution"
    assert len(cautions(job, system)) > MOST_CAUTIONS
    pdf = job_packet(job, paper=paper, system=system)
    assert problems(pdf, paper) == []
    assert len(crew(pdf)) <= 6


@pytest.mark.parametrize("case", ["wash", "roof", "three", "acid", "names"])
def test_no_title_stands_alone_at_the_foot_of_a_page(case: str) -> None:
    for sheet in sheets(printed(case)):
        for title in sheet.words:
            if abs(title.size - JOINED[1]) < 0.1:
                below = [word for word in sheet.words if title.bottom + 2 < word.top < sheet.tall - 34]
                assert sum(len(word.text) for word in below) > 20


class Solid(Flowable):  # type: ignore[misc]
    """Something on a page that never breaks."""

    def __init__(self, tall: float) -> None:
        super().__init__()
        self.height = tall

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        return available, self.height


def test_short_sheets_share_a_page_and_long_ones_do_not_tear_for_nothing() -> None:
    def sheet(tall: float) -> tuple[bool, list[Any]]:
        return (False, [Solid(tall / 8) for _ in range(8)])

    def joins(*sheets: Any) -> list[bool]:
        return arranged(sheets, 600.0)

    assert joins(sheet(200), sheet(200), sheet(100)) == [False, True, True]
    # 400 and 400 take two pages either way: the second begins its own.
    assert joins(sheet(400), sheet(400)) == [False, False]
    # A page is saved by tearing the second over the third's page.
    assert joins(sheet(300), sheet(400), sheet(340)) == [False, True, True]
    assert joins(sheet(100), (True, [Solid(50)])) == [False, False]
    # What begins a person's paper takes its own room there.
    assert joins(sheet(100), (True, [Solid(500)]), sheet(300)) == [False, False, False]
    assert joins(sheet(100), (True, [Solid(200)]), sheet(300)) == [False, False, True]


def test_the_back_of_an_odd_page_is_for_notes_so_that_the_next_person_begins_on_a_front() -> None:
    pdf = printed("roof")
    said = texts(pdf)
    blank = [n for n, sheet in enumerate(sheets(pdf), start=1) if is_for_notes(sheet)]
    changes = [n for n in range(1, len(said)) if said[n].split()[0] != said[n - 1].split()[0]]
    assert blank
    assert set(blank) <= set(changes)
    for n in blank:  # it is still a page of who has the sheet, after a page that says it is their last
        assert said[n - 1].split()[:4] == [*said[n - 2].split()[:3], "back"]
        assert "Last page" in said[n - 2] or "Then each takes" in said[n - 2]


def test_rounds_run_on_over_the_page_and_nothing_else_of_a_step_does() -> None:
    step = Step(spans=said_of("Water the bed."), rounds=tuple((f"8:{n:02d}", "1 gal, 1 min") for n in range(10)))
    whole = StepLine(step)
    tall = whole.wrap(MEASURE, 500.0)[1]
    first, rest = whole.split(MEASURE, tall - 10.0)
    assert first.block.rounds + rest.block.rounds == step.rounds
    assert first.block.rounds
    assert rest.block.rounds
    assert first.wrap(MEASURE, 500.0)[1] <= tall - 10.0
    assert StepLine(Step(spans=step.spans)).split(MEASURE, 5.0) == []


def drawing(*heights: float, rank: int = 1) -> Vectors:
    return Vectors(Picture(paint=lambda wide, tall: None, heights=heights, rank=rank))


def test_a_drawing_is_modest_only_where_that_saves_a_page() -> None:
    def joins(tall: float, *drawn: Any) -> list[bool]:
        return arranged([(False, [Solid(200), *drawn]), (False, [Solid(tall)])], 600.0)

    one = drawing(300.0, 100.0)
    assert joins(200, one) == [False, True]
    assert one.most == 100.0
    assert joins(500, one) == [False, False]
    assert one.most == 300.0


def test_where_not_every_drawing_has_room_each_is_kept_or_left_out_by_itself() -> None:
    six = [drawing(90.0, 0.0) for _ in range(6)]
    assert arranged([(False, [*six, Solid(190)]), (False, [Solid(100)])], 600.0) == [False, True]
    assert [one.most for one in six] == [90.0, 90.0, 90.0, 0.0, 0.0, 0.0]


def test_what_must_not_go_has_its_room_before_what_may() -> None:
    lines, states = drawing(150.0, 0.0, rank=3), drawing(66.0, 48.0, rank=0)
    assert arranged([(False, [lines, states, Solid(300)]), (False, [Solid(150)])], 600.0) == [False, True]
    assert (lines.most, states.most) == (0.0, 66.0)


def drawn_on(sections: Iterable[Section]) -> list[tuple[str, Picture]]:
    """Every drawing with the key of its section."""
    return [
        (section.key, block) for section in sections for block in walked(section.blocks) if isinstance(block, Picture)
    ]


def test_the_crew_sees_the_jet_drawn_half_a_page_wide_where_reach_is_a_close_call_and_else_the_owner_alone() -> None:
    for name, crew_too in (("2026-06-09/20-granary", True), ("2026-06-09/10-millrace", False)):
        packet = packet_of(name, "us")
        jets = [(key, one) for key, one in drawn_on(packet.sections) if one.told.startswith("Jet at")]
        assert [key for key, _ in jets] == ["wash", "worksheet"][not crew_too :]
        if crew_too:
            (two,) = [one for section in packet.sections if section.key == "wash" for one in section.blocks if isinstance(one, Two)]
            assert two.left == (jets[0][1],)
            assert columns(two.split[0]) >= 252.0
            assert 0.0 not in two.left[0].heights
            page = next(text for text in texts(packet.pdfs[0]) if "Wash at the wall" in text)
            assert "needed 17 ft" in page
            assert "at worst 20 ft" in page
    held_one = packet_of("Tall wall", "us")
    (two,) = [one for section in held_one.sections if section.key == "held" for one in section.blocks if isinstance(one, Two)]
    assert columns(two.split[1]) >= 252.0
    assert "to scale" in " ".join(texts(held_one.pdfs[0]))


def test_reach_is_a_close_call_below_fifteen_percent_in_hand_at_worst() -> None:
    def wall(worst: Any) -> bool:
        return close_call(run(needed=30.0, low=worst, nominal=60.0))

    assert (wall(34.4), wall(34.6)) == (True, False)
    assert close_call(run(needed=18.0, low=40.0, nominal=60.0, past_eave=4.0))
    assert close_call(run(falls=True))
    assert not close_call(run(needed=9.0, low=9.0, nominal=9.5))  # low work: any tip reaches


@pytest.mark.parametrize("name", ["2026-06-09/10-millrace", "2026-06-09/20-granary", "2026-06-10/30-kiln-acid"])
def test_the_marks_on_the_wall_are_the_sections_of_the_table_in_its_order(name: str) -> None:
    packet = packet_of(name, "us")
    (made,) = [one for key, one in drawn_on(packet.sections) if one.title == "The sections in order"]
    numbers = [shape.text for shape in made.paint(MEASURE, made.heights[0]).contents if hasattr(shape, "text")]
    walls: dict[str, Any] = {}
    for act in job_of(name).plan.procedure.acts:
        if act.phase == "wash" and act.section is not None:
            walls.setdefault(act.section.surface, act.section.of)
    plan = job_of(name).plan
    expected = [text for wall, of in walls.items() for text in (wall_name(plan, wall), *(f"{n}" for n in range(1, of + 1)))]
    assert numbers == expected
    page = next(text for text in texts(packet.pdfs[0]) if "In this order" in text)
    assert " ".join(expected) in page


@pytest.mark.parametrize("name", ["2026-06-09/10-millrace", "2026-06-09/20-granary", "2026-06-10/30-kiln-acid"])
def test_every_run_that_changes_between_water_and_mix_has_both_states_drawn(name: str) -> None:
    packet = packet_of(name, "us")
    changing = {mix.run.name for mix in job_of(name).plan.mixes}
    drawn = {one.title for key, one in drawn_on(packet.sections) if key in ("set_up", "wash") and one.told.startswith("Water: ")}
    assert drawn == changing
    assert " ".join(texts(packet.pdfs[0])).count("until stop point") == len(changing)


def test_the_card_says_when_we_arrive_and_how_long_we_stay() -> None:
    card = texts(printed("wash"))[0]
    assert re.search(r"Arrive 7:\d\d am, on site until \d+:\d\d am \(\d h \d\d min\)\.", card)
    assert "Leave the yard 7:00 am." in card


def test_the_clock_bar_ends_where_the_card_says_we_leave(alder: CheckedJob) -> None:
    job = written("job: {near: null, surfaces: [{name: front, kind: vinyl, area: 800 ft2}]}")
    card = texts(job_packet(job, paper="a4", system="us"))[0]
    until = re.search(r"on site until (\d+:\d\d [ap]m)", card)[1]
    assert card.count(until) == 2


# ------------------------------------------------------------------------------------------------ walk-round


def test_the_walk_round_asks_only_what_this_job_can_answer() -> None:
    plain = said("walk")
    for words in (
        "Paint: rub it",
        "Chalk on it",
        "Metal (aluminium)",
        "Windows, doors, vents shut",
        "they stand open",
        "cars away",
    ):
        assert words in plain
    for words in ("Mortar", "Limestone", "Roof from the ground", "rot, grey grain"):
        assert words not in plain
    assert "Mortar: whole" in said("walk", BRICK)
    assert "Limestone" not in said("walk", BRICK)
    assert "Limestone" in said("walk", ACID)
    assert "Roof from the ground" in said("walk", ROOF)
    assert "Chalk" not in said("walk", "job: {chemicals: []}")


def test_a_note_about_a_wall_is_something_to_look_at_and_prints_as_it_is() -> None:
    assert "wall: loose <b>face</b> by the door" in said("walk", BRICK)


def test_the_sketch_has_everything_near_with_its_distance_and_room_for_what_differs() -> None:
    page = next(text for text in texts(job_packet(written(BOTH), paper="letter", system="us")) if "Walk-round" in text)
    for words in ("fish pond 25 ft", "stream 90 ft", "well 80 ft", "storm drain 40 ft", "cars 30 ft", "rain barrel 10 ft",
                  "dots: 4 downspouts", "hatched: 300 ft2 of beds", "front, hose 100 ft", "N?",
                  "Not to scale: write in what differs", "Shown to the customer, initials"):  # fmt: skip
        assert words in page, words


# ------------------------------------------------------------------------------------------------ safety


def test_a_house_wash_has_its_own_hazards_and_no_others() -> None:
    plain = said("safety")
    for words in ("Wires: none written", "Fumes of the mix", "Slips and trips", "Above 10 mph or gusts of 15 mph"):
        assert words in plain
    for words in ("Ladder", "roof", "Jet through the skin", "acid fumes", "Heat", "Cold", "muriatic", "oxalic", "Engine",
                  "Dust", "Electric", "Drum"):  # fmt: skip
        assert words not in plain, words


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ((LADDER,), ("1 out for 4 up, 3 ft above", "Gun on a ladder", "never above 1,000 psi", "Power line, 22 ft away", "stay 10 ft clear", "Steep ground")),
        ((ROOF,), ("Fall from the roof", "Above 15 mph: stop", "soap")),
        ((ACID,), ("Fumes of acid", "muriatic stock", "muriatic mix", "bleach and pool chlorine", "bicarbonate")),
        (CASES["high pressure"], ("Jet through the skin", "high-pressure injection", "Engine exhaust")),
        (CASES["crystals"], ("dust mask to scoop", "Dust")),
        ((HOT,), ("Heat, 95 F forecast", "Cold, 30 F forecast")),
        ((GENERATOR,), ("Engine exhaust", "Electric shock", "GFCI tested")),
        ((DRUM,), ("Draw from it as it stands; never lift it.",)),
    ],
)  # fmt: skip
def test_a_hazard_comes_with_what_brings_it(changes: tuple[str, ...], words: str) -> None:
    text = said("safety", *changes)
    for one in words:
        assert one in text, one


def test_a_job_with_water_only_gets_only_the_general_half() -> None:
    text = said("safety", "job: {chemicals: []}")
    assert "Slips and trips" in text
    assert "Local codes, licensed practice come first." in text
    assert "Goggles on" in text
    assert "First aid" not in text
    for words in ("Never with", "Sign", "Eyes", "own sheet", "stock", "mix", "drum", "label"):
        assert words not in text


def test_a_mix_is_worn_against_as_a_mix_and_a_drum_as_a_drum() -> None:
    made = safety.section(reading(ROOF))
    table = next(block for block in made.blocks if isinstance(block, Table) and block.head[0] == "Sign")
    worn = {"".join(span.text for span in row[1]): (row[0], row[2]) for row in table.rows}
    stock = next(value for name, value in worn.items() if name.startswith("hypochlorite stock"))
    mix = next(value for name, value in worn.items() if name.startswith("hypochlorite mix"))
    assert stock[0] == Signs(names=("corrosion", "environment"), size=26.0)
    assert "face shield" in stock[1]
    assert "face shield" not in mix[1]
    assert "3.5 trade %" in next(name for name in worn if name.startswith("hypochlorite mix"))


@pytest.mark.parametrize("case", ["wash", "roof", "acid", "three", "other heel", "crystals"])
def test_every_forbidden_pair_of_what_is_aboard_is_on_the_page(case: str) -> None:
    plan = written(*CASES[case]).plan
    text = said("safety", *CASES[case])
    kinds = safety.aboard(plan)
    for n, first in enumerate(kinds):
        for second in kinds[n + 1 :]:
            pair = forbidden(plan, first, second)
            if pair is not None:
                assert pair.gives in text, (first, second)


def test_the_owner_finds_what_the_labels_statements_mean_and_where_they_come_from() -> None:
    owner = " ".join(texts(owners("wash")))
    assert "H314 Causes severe skin burns and eye damage" in owner
    assert "data sheet decides" in owner


def test_distances_and_limits_are_said_in_the_readers_units() -> None:
    text = said("safety", LADDER, system="si")
    assert "6.7 m away" in text
    assert "stay 3.1 m clear" in text
    assert not re.search(r"\d (ft|psi|mph)\b", text)
