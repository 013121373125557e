"""One figure said twice on a crew's pages is the same twice: totals, clock times, what is left, names of mixes."""

from __future__ import annotations

import re
from contextlib import redirect_stdout
from functools import lru_cache
from io import StringIO
from pathlib import Path

import pytest

from planner.checks.model import CheckedJob
from planner.cli import main
from planner.packet.blocks import Picture, Step, Table, walked
from planner.packet.sections.crew.safety import forms_of
from planner.packet.sections.hours import arrives, hours, leaves, on_site
from planner.packet.sections.mixes import dial_set
from planner.packet.sections.owner.sensitivity import worn_values
from planner.plan.between.runoff import remains_of
from planner.plan.days.day import on_the_clock
from planner.plan.procedure.acts import Drain, Spray, WaterBed
from planner.units import System, read
from planner.words import spoken as words
from planner.words.dates import CLOCK, clock_text, to_the_clock
from planner.words.measures import drawn
from tests import workspaces
from tests.packet.builders import INJECTED, ROOF, written
from tests.packet.figures.jobs import book_of, job_of
from tests.packet.mixing import BIG_DIAL, CRYSTALS, crew, texts
from tests.packet.printing import job_packet, owner_book, worded
from tests.packet.sections.acts.test_acts import said as words_of
from tests.packet.sections.acts.test_pours import amount
from tests.sampled import in_ci

GALLON = 231 * 0.0254**3
MILLRACE, MID, SLIPWAY = "2026-06-09/10-millrace", "2026-06-10/20-millrace-mid", "2026-06-10/10-slipway"
GRANARY = "2026-06-09/20-granary"
PORCH = "job: {surfaces: [{name: porch, kind: vinyl, area: 60 ft2}]}"
WIDE_PORCH = PORCH.replace("60", "400")
THREE_WALLS = """
job:
  surfaces: [{name: a, kind: vinyl, area: 700 ft2}, {name: b, kind: vinyl, area: 300 ft2}, {name: c, kind: vinyl, area: 310 ft2}]
"""
TWO_MIXES = """
job:
  surfaces:
    - {name: front, kind: vinyl, width: 40 ft, height: 18 ft}
    - {name: plinth, kind: vinyl, area: 80 ft2}
  chemicals:
    - {stock: drum, strength: 0.8 %, surfaces: [front]}
    - {stock: drum, strength: 1.2 %, surfaces: [plinth]}
"""
SOAP = """
job:
  surfaces: [{name: wall, kind: vinyl, area: 600 ft2}]
  hose_runs: [{name: low, pump: transfer, feed: mix, dosing: premix, hoses: [red], tip: long throw, target: 9 ft, standoff: 10 ft}]
  chemicals: [{stock: suds, dose: 1 fl oz/gal}]
"""
ONE_TANK = """
job:
  surfaces:
    - {name: slope, kind: asphalt_shingle, squares: 8, soil: heavy}
    - {name: lower slope, kind: asphalt_shingle, squares: 6, soil: heavy}
  hose_runs:
    - {name: ridge, pump: transfer, feed: mix, dosing: premix, hoses: [red], tip: long throw, target: 9 ft, standoff: 10 ft}
  chemicals:
    - {stock: drum, strength: 3.5 %, surfaces: [slope]}
    - {stock: drum, strength: 4 %, surfaces: [lower slope]}
"""


@lru_cache(maxsize=16)
def pages(*changes: str) -> str:
    return " ".join(crew(job_packet(written(*changes), paper="letter", system="us")))


@lru_cache(maxsize=8)
def demo(name: str) -> str:
    return " ".join(crew(book_of(name, "us").pdf))


def steps(checked: CheckedJob) -> list[Step]:
    """Every box of the job's pages."""
    book = worded(checked)
    return [block for section in book.sections for block in walked(section.blocks) if isinstance(block, Step)]


def rows(checked: CheckedJob) -> list[tuple[int, dict[str, str]]]:
    """The rows at the walls: how often each is done, and the words of its cells by their heads."""
    book = worded(checked)
    blocks = next(section.blocks for section in book.sections if section.key == "wash")
    found: list[tuple[int, dict[str, str]]] = []
    for table in (block for block in walked(blocks) if isinstance(block, Table) and block.acts):
        for row in table.rows:
            said = [
                "".join(one.text for one in cell).replace("\u00a0", " ") if isinstance(cell, tuple) else ""
                for cell in row
            ]
            cells = dict.fromkeys(("Wet", "Mix on", "“Water” after", "Wait, min", "Rinse"), "")
            cells |= dict(zip(table.head, said, strict=True))
            often = re.search(r", (?:(\d+) times|each time, then)", said[0])
            found.append((1 if often is None else int(often[1] or found[-1][0]), cells))
    return found


def gun(told: str) -> tuple[float, float]:
    """The seconds that a gun's time says, and by how much it may be rounded."""
    found = re.match(r"(?:(\d+) min ?)?(?:(\d+) s)?", told)
    assert found, told
    seconds = 60.0 * int(found[1] or 0) + int(found[2] or 0)
    steps = ((20.0, 1.0), (120.0, 5.0), (300.0, 10.0), (600.0, 30.0))
    return seconds, next((step for most, step in steps if seconds < most), 60.0)


def on_the_walls(checked: CheckedJob) -> dict[tuple[str, str], list[tuple[float, float]]]:
    """By wall and use: the gun's time [s] of each step and row of the wash, as often as it is sprayed, with its step."""
    walls: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for told in map(words_of, steps(checked)):
        wet = re.search(r"Wet (.+?)(?:, section \d+ of \d+)?(?: \(.+?\))?: (.*?) \(.+\)", told)
        if wet:
            walls.setdefault((wet[1], "wet"), []).append(gun(wet[2]))
    for times, cells in rows(checked):
        wall = re.split(r" \(|, |;", cells["In this order"])[0]
        for use, head in (("wet", "Wet"), ("mix", "Mix on"), ("rinse", "Rinse")):
            told = cells[head].rpartition(": ")[2]  # after the tip it is done through, where the row names one
            if told[:1].isdigit():
                walls.setdefault((wall, use), []).extend([gun(told)] * times)
    return walls


def sprayed(checked: CheckedJob, wall: str, use: str) -> float:
    """What a wall's acts of a use come to [m3]."""
    assert checked.plan.procedure is not None
    acts = checked.plan.procedure.acts
    on = [act.detail for act in acts if act.section is not None and act.section.surface == wall]
    return sum(detail.volume for detail in on if isinstance(detail, Spray) and detail.use == use)


def open_for(checked: CheckedJob, wall: str, use: str) -> float:
    """The same as seconds of gun at each run's solved flow; an injector that draws nothing passes its water alone."""
    assert checked.plan.procedure is not None
    runs = {run.name: run for run in checked.plan.runs}
    seconds = 0.0
    for act in checked.plan.procedure.acts:
        spray = act.detail
        if not isinstance(spray, Spray) or spray.use != use or not act.section or act.section.surface != wall:
            continue
        run = runs[spray.run]
        stock = getattr(run.input.dosing, "water_to_stock", None)
        flows = [run.flow, run.flow * stock / (stock + 1.0)] if stock else [run.flow]
        seconds += min((spray.volume / flow for flow in flows), key=lambda one: abs(one - spray.seconds))
    return seconds


@pytest.mark.parametrize("name", [MILLRACE, MID, SLIPWAY, GRANARY])
def test_what_the_beds_get_step_by_step_is_what_they_get_in_all_and_what_is_planned(name: str) -> None:
    job = job_of(name)
    assert job.plan.procedure is not None
    given = {act.id: act.detail.volume for act in job.plan.procedure.acts if isinstance(act.detail, WaterBed)}
    gallons = 0.0
    seen: list[str] = []
    for step in steps(job):
        one = re.search(r"Water the flower beds: ([\d. /]+ gal)", words_of(step))
        told = [one[1]] * len(step.acts) if one else []
        if words_of(step).startswith("Water the flower beds at each time"):
            told = [said.replace("\u00a0", " ").partition(", ")[0] for _, said in step.rounds]
        for act, said in zip(step.acts if told else (), told, strict=True):
            assert given[act] <= amount(said) + 1e-9
            gallons += amount(said) / GALLON
            seen.append(act)
    assert sorted(seen) == sorted(given)
    beds = job.plan.beds
    assert beds is not None
    assert beds.before + beds.during + beds.after == pytest.approx(sum(given.values()))
    assert gallons * GALLON == pytest.approx(sum(given.values()), abs=(0.5 * len(given) + 1.0) * GALLON)


@pytest.mark.ci
def test_somebody_alone_is_told_the_beds_water_in_all() -> None:
    job = written("day: {crew: [Ann]}")
    assert job.plan.procedure is not None
    given = sum(act.detail.volume for act in job.plan.procedure.acts if isinstance(act.detail, WaterBed))
    whole = re.search(r"Flower beds, 300 ft2: up to ([\d.]+) gal of water in all", pages("day: {crew: [Ann]}"))
    assert whole
    assert given <= float(whole[1]) * GALLON + 1e-9 <= given + 10 * GALLON


def test_beds_of_a_short_job_are_watered_before_and_after_and_no_round_between() -> None:
    beds = [step for step in steps(written(PORCH)) if "Water the flower beds" in words_of(step)]
    assert [words_of(step) for step in beds] == [
        "Water the flower beds: 30 gal. Call “Ready”.",
        "Water the flower beds: 45 gal.",
    ]
    assert ["".join(span.text for span in step.should) for step in beds] == ["3 min", "4 min"]


def test_a_jug_holds_what_test_and_walls_draw_and_the_rest_is_told_where_it_goes() -> None:
    said = demo(SLIPWAY)
    jug = [
        re.search(pattern, said)
        for pattern in (r"Fill the jug: (\d+) fl oz", r"Pour (\d+) fl oz of lot H-0601 into the jug",
                        r"left in the jug. Call “Go”. (\d+) fl oz", r"Empty (\d+) fl oz from the jug into pail 1")
    ]  # fmt: skip
    water, stock, read, left = (float(one[1]) for one in jug if one)
    (mix,) = job_of(SLIPWAY).plan.mixes
    walls = sum(part.mix for part in mix.parts) / 11.0 / (GALLON / 128)
    assert water + stock - left == pytest.approx(walls, abs=3.0)
    assert (water + stock) * 0.75 < read < water + stock
    assert f"Stock used {stock:.0f} fl oz" in said


def test_what_a_pail_gets_is_what_is_poured_out_of_it() -> None:
    said = demo(SLIPWAY)
    found = re.search(r"Fill pail 1: (\d+) fl oz of water.*Empty (\d+) fl oz from the jug.*into pail 1"
                      r".*Stir [\d.]+ oz of thiosulfate.*Empty (\d+) fl oz from pail 1 onto the lawn once a strip reads clean", said)  # fmt: skip
    assert found
    assert int(found[1]) + int(found[2]) == int(found[3])


@pytest.mark.ci
def test_a_wall_smaller_than_the_hose_goes_on_water_while_it_is_wetted_and_nothing_is_left_for_a_pail() -> None:
    """The hose holds 2.3 gal: what is to be mix on a section of 0.7 is in it before the wetting is out."""
    found = rows(written(PORCH))
    covered = [cells for _, cells in found if cells["Mix on"]]
    assert len(covered) == 2
    flow = written(PORCH).plan.runs[0].flow
    for n, cells in enumerate(covered):
        seconds, step = gun(cells["Mix on"])
        assert (seconds - step) * flow < 2.3 * GALLON
        # The first section's mix is called before its draw test.
        assert ("“Mix” first" in cells["Wet"]) == (n > 0)
        assert re.search(r", “Water” at \d+ s(?:, gun shut)?$", cells["Wet"])
        assert not cells.get("“Water” after")
    assert "into pail" not in pages(PORCH)


def test_mix_is_called_so_early_that_what_is_sprayed_until_it_lands_is_what_the_hose_holds() -> None:
    """2.3 gal of hose at 10.5 gpm are some 13 s."""
    (cells,) = [cells for _, cells in rows(written(THREE_WALLS)) if "“Mix” at" in cells["Wet"]]
    found = re.fullmatch(r"(\d+) s, “Mix” at (\d+) s", cells["Wet"])
    assert found
    assert pytest.approx(float(found[1]) - float(found[2]), abs=5.0) == 2.3 / 10.5 * 60.0


@pytest.mark.parametrize(
    "change", [PORCH, THREE_WALLS, ROOF, MILLRACE, *map(in_ci, (WIDE_PORCH, TWO_MIXES, MID, SLIPWAY))]
)
def test_rows_and_steps_at_a_wall_come_to_what_its_acts_spray_and_its_record_plans(change: str) -> None:
    job = job_of(change) if change.startswith("2026") else written(change)
    walls, met = on_the_walls(job), 0
    said = demo(change) if change.startswith("2026") else pages(change)
    for one in job.plan.work:
        wall = one.surface.name
        uses = {use: sprayed(job, wall, use) for use in ("wet", "mix", "rinse")}
        for use in uses:
            # Gallons stand in no row: they are the gun's time at the solved flow.
            printed = walls.get((one.surface.called, use), [])
            steps_up = sum(step for _, step in printed)
            low, high = (-steps_up / 2, steps_up / 2) if use == "mix" else (0.0, steps_up)
            told = sum(seconds for seconds, _ in printed)
            assert low - 0.1 <= told - open_for(job, wall, use) <= high + 0.1, f"{wall} {use}"
        figure = r"(?:\d+ \d/\d|\d/\d|[\d.,]+)"
        begun = r"(?:\d+:\d\d [ap]m )?\d+ "  # first mix and sections
        row = (
            rf"{one.surface.called}(?:, {one.run})? {begun}((?:{figure} (?!to )){{1,2}})(?:\d+ to \d+(?: ({figure}))?)?"
        )
        record = re.search(rf"By side .*?\b{row}", said)
        if record is None:  # cleaned with water alone
            continue
        numbers = [amount(f"{number} gal") for number in re.findall(figure, record[1])]
        planned = {"wet": numbers[0], "mix": numbers[-1], "rinse": amount(f"{record[2]} gal") if record[2] else 0.0}
        if not one.wet_volume:
            planned["wet"] = 0.0
        for use, whole in uses.items():
            assert planned[use] == pytest.approx(whole, abs=GALLON if whole > 9.9 * GALLON else GALLON / 8), (
                f"{wall} {use}"
            )
            met += 1
    assert met >= 3


def test_a_job_begins_when_the_one_before_leaves_and_arrives_a_drive_later() -> None:
    for first, second in ((MILLRACE, "2026-06-09/20-granary"), (SLIPWAY, MID)):
        one, two = on_the_clock([job_of(first).plan, job_of(second).plan])
        left, there = leaves(one), arrives(two)
        assert left is not None
        assert there is not None
        drive = two.time[0].seconds
        assert clock_text(left, "us") == clock_text(two.time[0].start or 0.0, "us")
        assert abs(to_the_clock(there) - to_the_clock(left) - drive) < CLOCK
        until = leaves(two)
        assert until is not None
        assert on_site(two) == to_the_clock(until) - to_the_clock(there)
        assert hours(on_site(two))


@pytest.mark.parametrize("seconds", [0.0, 59.0, 60.0, 61.0, 36000.4, 37140.1])
def test_one_moment_is_printed_one_way_and_never_early(seconds: float) -> None:
    shown, _, minutes = clock_text(seconds, "si").partition(":")
    assert seconds - 1e-3 <= 60.0 * (60 * int(shown) + int(minutes)) < seconds + CLOCK


@pytest.mark.parametrize(
    ("seconds", "us", "si"),
    [(0.0, "12:00 am", "00:00"), (29100.0, "8:05 am", "08:05"), (43200.0, "12:00 pm", "12:00"),
     (46860.0, "1:05 pm", "13:05"), (86100.0, "11:55 pm", "23:55"), (87000.0, "12:10 am next day", "24:10")],
)  # fmt: skip
def test_a_time_of_day_is_said_as_the_reader_s_country_says_it(seconds: float, us: str, si: str) -> None:
    assert clock_text(seconds, "us") == us
    assert clock_text(seconds, "si") == si
    assert clock_text(seconds, "us", bare=True) == us.partition(" ")[0]


def owners(checked: CheckedJob) -> str:
    return " ".join(texts(owner_book(checked, paper="letter", system="us").pdf))


def test_what_stays_in_a_drum_is_what_is_not_poured_off_it() -> None:
    plan = job_of(MILLRACE).plan
    (mix,) = plan.mixes
    assert mix.lot is not None
    assert mix.lot.on_hand is not None
    found = re.search(r"left in H-0518 ([\d /]+ gal)", owners(job_of(MILLRACE)))
    assert found
    left = mix.lot.on_hand - (mix.stock or 0.0)
    assert left - GALLON / 4 <= amount(found[1]) <= left


@pytest.mark.ci
def test_mixes_called_alike_bear_number_and_walls_on_paper_and_screen(tmp_path: Path) -> None:
    said = pages(TWO_MIXES)
    for name in ("1: hypochlorite, front: front", "2: hypochlorite, front: plinth", "Mix 1: front", "Mix 2: plinth"):
        assert name in said, name
    assert "1: hypochlorite" not in pages()


def test_a_mix_is_called_the_same_in_findings_and_at_the_neutraliser() -> None:
    job = written(TWO_MIXES)
    names = ["1: hypochlorite, front: front", "2: hypochlorite, front: plinth"]
    assert [mix.name for mix in job.plan.mixes] == names
    strengths = {one.about for one in job.findings if one.code == "mix.strength"}
    assert {about for about in strengths if not about.endswith(", soap")} == set(names)
    for name in names:
        assert f"a leftover gallon of {name}" in pages(TWO_MIXES)


def test_each_mix_of_one_panel_has_its_mark_set_before_its_own_wall() -> None:
    said = pages(TWO_MIXES)
    marks = [dial_set(mix) for mix in written(TWO_MIXES).plan.mixes]
    assert marks[0] != marks[1]
    # Each on the second's sheet, the next one after both stood at the drums again, as the lead goes to the next wall.
    second = said[said.index("First mix, the draw test") :]
    again = second.index("stop point 4 on the lead's sheet")
    assert f"set panel to {marks[0]}" in second[:again]
    assert f"set panel to {marks[0]}" not in second[again:]
    assert f"set panel to {marks[1]}" not in second[:again]
    assert f"set panel to {marks[1]}" in second[again:]
    lead = said[said.index("Wash at the wall") :]
    assert lead.index("front, 2 times: rinse 1 to 2") < lead.index("Stop point 4") < lead.index("plinth, section 1")


@pytest.mark.parametrize("system", ["us", in_ci("si")])
@pytest.mark.parametrize("name", [MILLRACE, MID, GRANARY])
def test_a_flush_is_one_figure_on_its_page_and_in_its_finding(name: str, system: System) -> None:
    job = job_of(name)
    said = " ".join(crew(job_packet(job, paper="letter", system=system)))
    ran = re.findall(r"Flush the line onto the lawn, tip on: [^(]*\(([\d.,/ ]+ (?:gal|L))\)", said)
    told = [words.message(one, system) for one in job.findings if one.code == "flush.needed" and "volume" in one.values]
    assert len(ran) == len(told) == 1
    found = re.search(r"with ([\d.]+ (?:gal|L))(?: to|,)", told[0])
    assert found
    # The owner's finding has it finer than a crew can measure it.
    assert ran[0] == drawn(amount(found[1]), system, "up")


def test_a_flush_is_one_spray_of_all_its_parts() -> None:
    for job in (written(ROOF), job_of(MILLRACE)):
        assert job.plan.procedure is not None
        (flush,) = [
            act.detail for act in job.plan.procedure.acts if isinstance(act.detail, Spray) and act.detail.use == "flush"
        ]
        assert flush.volume == pytest.approx(sum(part.volume or 0.0 for part in job.plan.flushes))


def test_a_tank_s_spare_goes_into_pails_and_away_and_is_never_sprayed() -> None:
    """What the steps drain of the mix tank is the spare, in the record as in the table of leftovers."""
    job, said = written(ROOF), pages(ROOF)
    spare = remains_of(job.plan.mixes[-1]).spare
    drained: list[float] = []
    for step in steps(job):
        found = re.search(r"[Ee]mpty (.+?) from the mix tank into (?:that )?pail", words_of(step))
        drained += [amount(found[1])] * len(step.acts) if found else []
    assert sum(drained) == pytest.approx(spare, abs=GALLON / 8 * len(drained))
    assert job.plan.procedure is not None
    acts = [act.detail for act in job.plan.procedure.acts]
    away = [
        one.volume
        for one in acts
        if isinstance(one, Drain) and one.source.startswith("pail ") and one.to == "carried_home"
    ]
    assert sum(away) == pytest.approx(spare)
    left = re.search(r"Left over ([\d /]+) gal", said)
    assert left
    assert f"the spare in mix of hypochlorite, ridge ({left[1]} gal)" in said
    assert 0.0 <= amount(f"{left[1]} gal") - spare < GALLON


def test_of_a_held_mix_nothing_is_said_of_its_line() -> None:
    made, held = pages(PORCH), pages(PORCH, BIG_DIAL)
    for said in ("set panel to", "pick-up in", "porch, section 1", "Flush the line", "left in the jug"):
        assert said in made, said
        assert said not in held, said


@pytest.mark.ci
@pytest.mark.parametrize(
    ("changes", "vessel"),
    [((SOAP,), "mix tank"), ((INJECTED, "job: {chemicals: [{stock: suds, dose: 1 fl oz/gal}]}"), "jug")],
)
def test_soap_alone_is_told_by_its_share_in_tank_or_jug_and_on_the_wall(changes: tuple[str, ...], vessel: str) -> None:
    """An ounce of soap in a gallon is 0.78 % of it."""
    said = pages(*changes)
    assert "0.78 vol % soap" in said
    (mix,) = written(*changes).plan.mixes
    found = re.search(rf"[Pp]our (\d[^.]*?) of lot suds into the {vessel}", said)
    assert found
    assert amount(found[1]) == pytest.approx(mix.soap, abs=GALLON / 128)
    for wrong in ("0.0 g/L", "Mix nothing", "Never soap with", "No lot of soap", "Stock into water", "Stock used"):
        assert wrong not in said, wrong


@pytest.mark.ci
def test_crystals_asked_for_by_weight_are_so_in_their_finding_and_dry_in_their_lot() -> None:
    job = written(CRYSTALS)
    (found,) = [one for one in job.findings if one.code == "mix.reach"]
    assert "can make 3 wt %" in words.message(found, "us")
    said = pages(CRYSTALS)
    assert "3 wt % oxalic lot crystals today dry" in said
    assert re.search(r"Weigh [\d. /]+ (?:oz|lb) of lot crystals and stir it into the mix tank", said)
    assert "not written today" not in said


@pytest.mark.ci
@pytest.mark.parametrize(
    ("change", "last", "water", "stock"),
    [(ONE_TANK, "slope, section 2", "Fill the mix tank: 12 gal more. stick at 6 5/8 in",
      "Pour 7 7/8 gal of lot drum into the mix tank"),
     (ROOF, "south slope, 2 times: sections 1 to 2", "Batch 2 of 2: Fill the mix tank: 25 1/2 gal more. stick at 13 1/2 in",
      "Pour 13 1/2 gal of lot drum into the mix tank")],
)  # fmt: skip
def test_a_second_tankful_waits_for_the_first_to_be_sprayed_out(change: str, last: str, water: str, stock: str) -> None:
    wash = pages(change).partition("Wash at the wall")[2]
    assert 0 < wash.index(last) < wash.index("Wait for “Done”") < wash.index(water) < wash.index(stock)


def test_the_safety_sheet_names_every_strength_of_a_mix() -> None:
    weak = TWO_MIXES.replace("1.2 %", "0.9 %")
    told = ["".join(span.text for span in name) for name, *_ in forms_of(written(weak).plan)]
    assert "hypochlorite mix, 0.8 trade % and 0.9 trade %" in told


@pytest.mark.parametrize("system", ["us", "si"])
def test_a_worn_pump_s_throw_is_below_the_one_that_is_planned(system: str) -> None:
    for plan in (job_of("2026-06-09/20-granary").plan, job_of(MILLRACE).plan, written(ROOF).plan):
        for signs, table in zip(worn_values(plan, system), plan.differs, strict=False):  # type: ignore[arg-type]
            if not signs["throw"]:
                continue
            assert table.worn is not None
            assert table.worn.throw_planned is not None
            assert read(signs["throw"], "length") < table.worn.throw_planned


def test_check_says_which_walls_were_shared_without_being_asked(tmp_path: Path) -> None:
    run = workspaces.base()["job"]["hose_runs"][0] | {"dosing": "panel"}
    files = workspaces.merged(
        workspaces.base(), {"job": {"hose_runs": [run, run | {"name": "back", "hoses": ["red"]}]}}
    )
    path = workspaces.write(tmp_path, files)
    out = StringIO()
    with redirect_stdout(out):
        main(["check", str(path)])
    assert "wall: half by front and half by back" in out.getvalue()


def test_the_stock_of_a_mix_is_one_number_on_card_and_record() -> None:
    said = demo(MID)
    card = re.search(r"% of the flow, stock ([\d.]+) fl oz", said)
    done = re.search(r"Stock used ([\d.]+) fl oz", said)
    assert card
    assert done
    assert card[1] == done[1]


def test_each_drawing_of_a_tank_that_several_mixes_are_made_in_is_titled_by_its_mix() -> None:
    made = worded(written(ONE_TANK))
    (mix,) = [section for section in made.sections if section.key == "mix"]
    told = [one.told for one in walked(mix.blocks) if isinstance(one, Picture)]
    assert [any(name in one for one in told) for name in ("Mix 1: slope", "Mix 2: lower slope")] == [True, True]
    assert not [one for one in told if "Batch 1" in one]
