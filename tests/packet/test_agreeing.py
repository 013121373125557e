"""One figure said twice on a crew's pages is the same twice: totals, clock times, what is left, names of mixes."""

from __future__ import annotations

import re
from contextlib import redirect_stdout
from functools import lru_cache
from io import StringIO
from pathlib import Path

import pytest

from planner.cli import main
from planner.packet import words
from planner.packet.book import job_packet
from planner.packet.measures import clock_text, to_the_minute
from planner.packet.sections.hours import arrives, hours, leaves, on_site
from planner.packet.sections.mixes import dial_set
from planner.packet.sections.safety import forms_of
from planner.packet.sections.worn import worn_values
from planner.plan.day import on_the_clock
from planner.plan.model import Sum
from planner.plan.runoff import remains_of
from planner.units import System, read
from tests import workspaces
from tests.packet.builders import INJECTED, ROOF, written
from tests.packet.figures_jobs import job_of
from tests.packet.mixing import CRYSTALS, crew

GALLON = 231 * 0.0254**3
MILLRACE, MID, SLIPWAY = "2026-06-09/10-millrace", "2026-06-10/20-millrace-mid", "2026-06-10/10-slipway"
TWO_MIXES = """
job:
  surfaces:
    - {name: front, kind: vinyl, width: 40 ft, height: 18 ft}
    - {name: plinth, kind: vinyl, area: 80 ft2}
  chemicals:
    - {stock: drum, strength: 0.8 %, surfaces: [front]}
    - {stock: drum, strength: 1.2 %, surfaces: [plinth]}
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
    return " ".join(crew(job_packet(job_of(name), paper="letter", system="us")))


@pytest.mark.parametrize("name", [MILLRACE, MID, SLIPWAY, "2026-06-09/20-granary"])
def test_what_the_beds_are_told_to_get_is_what_they_are_planned_to_get(name: str) -> None:
    said = demo(name)
    whole = re.search(r"Flower beds, .*?: about (\d+) gal in all", said)
    spell = re.search(
        r"Each (\d+) min of the (\d+) min it goes on and last dwells: ([\d.]+) gal.*?; ([\d.]+) gal in all", said
    )
    ends = [re.search(rf"{words}: ([\d.]+) gal", said) for words in ("Before any mix is out", "After the last rinse")]
    assert whole
    assert spell
    assert all(ends)
    every, out, each, during = (float(part) for part in spell.groups())
    assert during == pytest.approx(each * out / every, abs=each / every + 1.0)
    added = during + sum(float(one[1]) for one in ends if one)
    assert float(whole[1]) == pytest.approx(added, abs=2.0)
    beds = job_of(name).plan.beds
    assert beds is not None
    assert float(whole[1]) * GALLON == pytest.approx(beds.before + beds.during + beds.after, abs=GALLON)


def test_beds_of_a_short_job_get_their_share_once_and_no_round_each_quarter_hour() -> None:
    said = pages("job: {surfaces: [{name: porch, kind: vinyl, area: 60 ft2}]}")
    assert re.search(r"In the (\d+) min it goes on and dwells: ([\d.]+) gal", said)
    assert "Each 15 min of" not in said


def test_what_a_test_at_the_tip_draws_is_in_the_jug_and_is_the_small_part_of_it() -> None:
    said = demo(SLIPWAY)
    found = re.search(
        r"Make ([\d.]+) fl oz of it in all.*At the tip run 1 gal into pails: the jug goes down (\d+) fl oz", said
    )
    assert found
    (mix,) = job_of(SLIPWAY).plan.mixes
    walls = sum(part.mix for part in mix.parts) / 11.0
    jug = read(f"{found[1]} fl oz", "volume")
    assert jug >= 1.15 * walls + read(f"{found[2]} fl oz", "volume") - read("1 fl oz", "volume")
    assert float(found[2]) < float(found[1]) / 4.0


def test_a_wall_smaller_than_the_hose_is_never_told_to_go_on_water_early() -> None:
    said = pages("job: {surfaces: [{name: porch, kind: vinyl, area: 60 ft2}]}")
    assert "Last 2.3 gal before mix: panel to its mark." in said
    assert "porch, vinyl, 60 ft2; bucket 1.7 gal; then hose to bucket" in said
    assert (
        "spray no more than its mix. Then set panel to water only, run the 2.3 gal in the hose into a bucket, rinse after that"
        in said
    )
    assert "ft2 of porch" not in said


def test_a_wall_wetted_with_a_hoseful_has_the_panel_on_for_the_last_of_it() -> None:
    said = pages("job: {surfaces: [{name: porch, kind: vinyl, area: 400 ft2}]}")
    assert re.search(
        r"Last 2.3 gal before mix: panel to its mark\. Last [\d.]+ ft2 of [a-z ]+: water only; the hose does the rest",
        said,
    )
    assert "hose to bucket" not in said


def test_the_area_chased_is_never_more_than_the_wall() -> None:
    said = pages(TWO_MIXES)
    assert "ft2 of plinth: set" not in said
    assert re.search(r"plinth[^;]*; dial [\d.]+, lot drum; bucket [\d.]+ gal; then hose to bucket", said)


def test_columns_of_the_wash_add_up_as_printed() -> None:
    said = pages("job: {surfaces: [{name: a, kind: vinyl, area: 700 ft2}, {name: b, kind: vinyl, area: 300 ft2}, "
                 "{name: c, kind: vinyl, area: 310 ft2}]}")  # fmt: skip
    rows = re.findall(
        r"\b[abc], vinyl, [\d,]+ ft2(?:: .*? min each)? ([\d.]+) \d+ ([\d.]+) \d+ 5 to 10 ([\d.]+) in (\d+) min", said
    )
    whole = re.search(r"In all ([\d.]+) \d+ ([\d.]+) \d+ ([\d.]+) in (\d+) min", said)
    assert len(rows) == 3
    assert whole
    for column in range(4):
        assert float(whole[column + 1]) == pytest.approx(sum(float(row[column]) for row in rows))


def test_the_line_flushed_is_what_its_parts_come_to() -> None:
    said = pages(ROOF)
    whole = re.search(r"the line, tip off ([\d.]+) ", said)
    parts = re.findall(r"\b(?:transfer|red) ([\d.]+) \d+ s ", said)
    assert whole
    assert float(whole[1]) == pytest.approx(sum(float(one) for one in parts))
    assert f"run {whole[1]} gal through" in said


def test_a_job_begins_at_the_minute_the_one_before_leaves_and_arrives_a_drive_later() -> None:
    for first, second in ((MILLRACE, "2026-06-09/20-granary"), (SLIPWAY, MID)):
        one, two = on_the_clock([job_of(first).plan, job_of(second).plan])
        left, there = leaves(one), arrives(two)
        assert left is not None
        assert there is not None
        drive = two.time[0].seconds
        assert clock_text(left) == clock_text(two.time[0].start or 0.0)
        assert to_the_minute(there) == to_the_minute(left) + drive
        until = leaves(two)
        assert until is not None
        assert on_site(two) == to_the_minute(until) - to_the_minute(there)
        assert hours(on_site(two))


@pytest.mark.parametrize("seconds", [0.0, 59.0, 60.0, 61.0, 36000.4, 37140.1])
def test_one_moment_is_printed_one_way_and_never_early(seconds: float) -> None:
    shown, _, minutes = clock_text(seconds).partition(":")
    assert 60.0 * (60 * int(shown) + int(minutes)) >= seconds - 1e-3


def test_what_stays_in_a_drum_is_what_is_poured_off_it_with_the_spare_beside_it() -> None:
    plan = job_of(MILLRACE).plan
    (mix,) = plan.mixes
    assert mix.lot is not None
    assert mix.lot.on_hand is not None
    found = re.search(r"lot H-0518: about (.+?) left, at least (.+?) with the spare used", demo(MILLRACE))
    assert found
    ounce, eighth = read("1 fl oz", "volume"), read("1/8 gal", "volume")
    left, least = (
        sum(read(part, "volume") for part in re.findall(r"(?:\d+ )?[\d./]+ (?:gal|fl oz)", one))
        for one in found.groups()
    )
    assert left == pytest.approx(mix.lot.on_hand - (mix.stock or 0.0), abs=eighth)
    assert least == pytest.approx(mix.lot.on_hand - (mix.pull or 0.0), abs=ounce)


def test_mixes_called_alike_bear_number_and_walls_on_paper_and_screen(tmp_path: Path) -> None:
    said = pages(TWO_MIXES)
    for name in ("1: hypochlorite, front: front", "2: hypochlorite, front: plinth", "Mix 1: front", "Mix 2: plinth",
                 "2: Hypochlorite at 1.2 trade %, plinth"):  # fmt: skip
        assert name in said, name
    assert "1: hypochlorite" not in pages()


def test_a_mix_is_called_the_same_in_findings_and_at_the_neutraliser() -> None:
    job = written(TWO_MIXES)
    names = ["1: hypochlorite, front: front", "2: hypochlorite, front: plinth"]
    assert [mix.name for mix in job.plan.mixes] == names
    assert {one.about for one in job.findings if one.code == "mix.strength"} == set(names)
    for name in names:
        assert f"a leftover gallon of {name}" in pages(TWO_MIXES)


def test_each_wall_says_the_mark_its_own_mix_wants_where_one_panel_makes_two() -> None:
    said = pages(TWO_MIXES)
    wash = said[said.index("Wash at the wall") :]
    marks = [dial_set(mix) for mix in written(TWO_MIXES).plan.mixes]
    assert marks[0] != marks[1]
    for mark, wall in zip(marks, ("front", "plinth"), strict=True):
        assert re.search(rf"{wall}, vinyl, [^;]*; dial {mark}, lot drum", wash), wall
    assert "Before each wall: set panel to the mark in its row" in wash
    assert "the mark in its row" not in pages()
    assert "; dial" not in pages()


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("name", [MILLRACE, "2026-06-09/20-granary"])
def test_a_flush_is_one_figure_on_its_page_and_in_its_finding(name: str, system: System) -> None:
    job = job_of(name)
    said = " ".join(crew(job_packet(job, paper="letter", system=system)))
    ran = re.findall(r"Tip off: run ([\d.,]+ (?:gal|L)) through", said)
    told = [words.message(one, system) for one in job.findings if one.code == "flush.needed" and "volume" in one.values]
    assert ran
    for figure, message in zip(ran, told, strict=True):
        assert f"with {figure} to" in message or f"with {figure}, then" in message


def test_parts_of_a_flush_add_up_as_they_are_printed() -> None:
    # 2.801 and 11.01 gal are printed 2.9 and 11.1: what those come to is told, not 13.9.
    assert words.added_up([2.801 * GALLON, 11.01 * GALLON], "us") == "14 gal"
    shown = words.Words(Sum(13.811 * GALLON, "volume", (2.801 * GALLON, 11.01 * GALLON)), "us")
    assert f"{shown:up}" == "14 gal"


def test_mix_in_pails_is_told_at_the_reel() -> None:
    change = "job: {surfaces: [{name: wall, kind: vinyl, area: 60 ft2}]}"
    (mix,) = written(change).plan.mixes
    said = pages(change)
    found = re.search(r"The ([\d.]+ gal) of mix that stood in the hose: in pails\?", said)
    assert found
    assert read(found[1], "volume") == pytest.approx(mix.line.primes, rel=0.05)
    assert "dosed before it goes anywhere" in said
    assert "that stood in the hose" not in pages()


def test_a_tank_s_spare_is_drained_and_dosed_not_sprayed_on_a_rinsed_wall() -> None:
    found = re.search(r"Drain the mix tank by its valve to its heel: ([\d.]+ gal) into pails", pages(ROOF))
    assert found
    assert read(found[1], "volume") == pytest.approx(remains_of(written(ROOF).plan.mixes[-1]).spare, rel=0.05)
    assert "Spray the last" not in pages(ROOF)
    assert re.search(rf"Left over {re.escape(found[1].split()[0])} gal", pages(ROOF))


def test_a_drum_the_spare_empties_is_said_to_hold_none_with_it_used() -> None:
    """On hand is a hair over what is planned with the spare."""
    (mix,) = written().plan.mixes
    whole = (mix.pull or 0.0) / GALLON
    said = pages(f"stock: {{lots: {{0: {{on_hand: {whole + 1e-3:.4f} gal}}}}}}")
    assert "none with the spare used" in said
    assert "at least under" not in said


def test_of_a_held_mix_nothing_is_said_of_its_hose() -> None:
    small = "job: {surfaces: [{name: wall, kind: vinyl, area: 60 ft2}]}"
    made, held = pages(small), pages(small, "rig: {dosing: {0: {dial: [[1, 1 %], [2, 2 %]]}}}")
    made, held = (said[said.index("Wash at the wall") : said.index("Grounds second person")] for said in (made, held))
    for said in ("wall, vinyl, 60 ft2; ", "bucket"):
        assert said in made, said
        assert said not in held, said


def test_soap_alone_is_told_by_its_share_in_its_jug_and_on_the_wall() -> None:
    """An ounce of soap in a gallon is 0.78 % of it; eleven in the jug, for ten of water to one of jug."""
    said = pages(INJECTED, "job: {chemicals: [{stock: suds, dose: 1 fl oz/gal}]}")
    assert "Soap at 0.78 vol %" in said
    assert "11 fl oz of soap, lot suds for each gallon of jug" in said
    for wrong in ("0.0 g/L", "Mix nothing", "Never soap with .", "No lot of soap", "Stock into water"):
        assert wrong not in said, wrong


def test_crystals_asked_for_by_weight_are_so_in_their_finding_and_dry_in_their_lot() -> None:
    job = written(CRYSTALS)
    (found,) = [one for one in job.findings if one.code == "mix.reach"]
    assert "gets to 3 wt %" in words.message(found, "us")
    said = pages(CRYSTALS)
    assert "Lot crystals, oxalic: dry. Load at least" in said
    assert "not written today" not in said


def test_a_second_mix_in_one_tank_waits_for_the_first_to_be_sprayed_out() -> None:
    said = pages(ONE_TANK)
    assert "Once 1: hypochlorite, ridge: slope is sprayed out, not before, heel: the stick reads" in said
    assert re.search(r"Once batch 1 is sprayed out, not before, heel: the stick reads", pages(ROOF))


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
