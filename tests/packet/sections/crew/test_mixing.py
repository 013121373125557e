"""The mixing half of the packet, from a job as it is written to the words on its pages."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from planner.checks.evaluate import check_plan
from planner.inputs.workspace import load
from planner.packet import book as binding
from planner.packet.pages.pages import Paper
from planner.plan.make import make_plan
from planner.units import System
from tests.packet.builders import FT, finding, written
from tests.packet.figures.known import number_of
from tests.packet.mixing import ATTACK, CASES, HELD, LAID_OUT, LAID_OUT_TOO, crew, owners, page, printed, sheet, texts
from tests.packet.printing import job_packet
from tests.packet.reading import pages, problems


@pytest.mark.parametrize("case", [*LAID_OUT, *(pytest.param(one, marks=pytest.mark.ci) for one in LAID_OUT_TOO)])
def test_nothing_is_cut_overlaps_or_is_missing(case: str) -> None:
    assert problems(printed(case), "letter") == []


@pytest.mark.parametrize("case", ["names"])
@pytest.mark.ci
def test_nothing_is_cut_on_the_other_paper_in_the_other_units(case: str) -> None:
    assert problems(printed(case, "a4", "si"), "a4") == []


@pytest.mark.ci
def test_a_mixing_packet_is_the_same_bytes_twice() -> None:
    assert binding.job_book(written(*CASES["roof"]), paper="letter", system="us").pdf == printed("roof")


@pytest.mark.parametrize(("paper", "system"), [("letter", "us"), ("a4", "si")])
@pytest.mark.ci
def test_the_demos_plain_house_wash_is_three_sheets_at_most(paper: Paper, system: System) -> None:
    read = load([Path("jobs/2026-06-09/10-millrace.yaml")])
    pdf = job_packet(check_plan(make_plan(read.jobs[0])), paper=paper, system=system)
    assert len(crew(pdf)) <= 6
    assert problems(pdf, paper) == []


def test_the_sheets_follow_the_work() -> None:
    whole = " ".join(texts(printed("wash")))
    titles = ("Job sheet at", "Walk-around before", "Safety read", "Near the work keep", "Set up at", "Wash at",
              "Flush and leave at", "water in time order", "If it differs on", "What was done before")  # fmt: skip
    places = [whole.index(title) for title in titles]
    assert places == sorted(places)


@pytest.mark.ci
@pytest.mark.parametrize("case", ["wash", "roof", "acid", "six batches"])
def test_each_person_begins_on_a_front_and_no_page_has_two_persons(case: str) -> None:
    roles = [re.match(r"(Both|Lead|Second) sheet (\d+), (front|back) ", text) for text in texts(printed(case))]
    assert all(roles)
    said = [(role[1], int(role[2]), role[3]) for role in roles]
    assert [(sheet, side) for _, sheet, side in said] == [
        (n // 2 + 1, "back" if n % 2 else "front") for n in range(len(said))
    ]
    order = list(dict.fromkeys(role for role, *_ in said))
    assert order == ["Both", "Lead", "Second"]
    firsts = [next(side for role, _, side in said if role == who) for who in order]
    assert firsts == ["front"] * 3


@pytest.mark.parametrize("case", ["wash", "roof", "six batches"])
def test_what_comes_next_is_where_the_foot_says(case: str) -> None:
    sheets = texts(printed(case))
    told = 0
    for number, text in enumerate(sheets, start=1):
        following = re.search(
            r"(Turn over|Next: page (\d+)): ([A-Z][\w ,-]*?)(, continued|, (?:at|on|in|before|read) )", text
        )
        if following is None:
            continue
        told += 1
        assert number % 2 if following[1] == "Turn over" else int(following[2]) == number + 1
        head = sheets[number].split(" today plan ")[1]
        assert following[3] in head.partition(", continued")[0] if "continued" in following[4] else following[3] in head
        assert text.split()[0] == sheets[number].split()[0]  # the same person goes on
    assert told


def test_the_card_says_what_lands_what_to_set_and_how_much_water() -> None:
    card = texts(printed("wash"))[0]
    for said in ("0.8 trade %", "lot drum today", "10.0 trade %", "1.8 dial", "8.0 % of the flow", "at most, in all;",
                 "Gauge, gun open, 52 psi", "tap 14.4 gpm", "5 gal in 21 s"):  # fmt: skip
        assert said in card


def test_the_card_of_a_tank_gives_the_first_batch_and_its_stock() -> None:
    card = texts(printed("roof"))[0]
    for said in ("40 gal", "batch 1 of 2, in", "the mix tank;", "stock 13 1/2 gal", "3.5 trade %"):
        assert said in card


@pytest.mark.ci
def test_the_companys_percent_is_the_one_on_the_card() -> None:
    assert "wt %" in texts(printed("weight percent"))[0]
    assert "as NaOCl" in texts(printed("weight percent"))[0]


@pytest.mark.ci
def test_several_mixes_stand_in_a_table_under_the_strongest() -> None:
    card = " ".join(texts(printed("three"))[:2])
    for said in ("Every mix of this job", "hypochlorite, house", "hypochlorite, flat", "caustic, wood"):
        assert said in card


@pytest.mark.ci
def test_a_water_only_job_keeps_flow_and_gauge_in_its_tiles_and_has_no_mix() -> None:
    whole = texts(printed("water only"))
    assert "On the wall" not in whole[0]
    assert " gun open closed" in whole[0]
    assert not any("at the drums" in text for text in whole)


def test_a_batch_is_poured_water_first_soap_last_with_jug_and_stick() -> None:
    mix = page("roof", "Mix")
    steps = ["Batch 1 of 2: Fill the mix tank: 25 gal more. stick at 13 5/8 in",
             "Pour 13 1/2 gal of lot drum into the mix tank. Stick at 20 3/8 in.",
             "Pour 41 fl oz of lot suds into the mix tank, soap last.", "Stir the mix tank gently, 2 min."]  # fmt: skip
    places = [mix.index(step) for step in steps]
    assert places == sorted(places)
    assert "Stock into water, never water into stock" in mix


def test_what_is_poured_stands_on_the_jugs_marks_near_what_the_plan_asks() -> None:
    for batch, said in zip(written(*CASES["roof"]).plan.mixes[0].batches, (13.5, 13.5), strict=True):
        assert 0.0 <= batch.stock / 3.785411784e-3 - said < 1 / 2


@pytest.mark.ci
def test_si_pours_in_litres_and_even_millimetres() -> None:
    mix = page("roof", "Mix", "si")
    assert re.search(r"Pour \d+ L of lot drum into the mix tank\. Stick at \d*[02468] mm", mix)
    assert re.search(r"Pour 1\.2 L of lot suds", mix)
    assert " gal" not in mix


def test_every_batch_is_made_in_its_place_between_the_walls() -> None:
    mix, wash = page("six batches", "Mix"), " ".join(texts(printed("six batches")))
    assert "Batch 1 of 5: Fill the mix tank" in mix
    places = [wash.index(f"Batch {n} of 5: Fill the mix tank") for n in range(1, 6)]
    assert places == sorted(places)
    assert wash.index("Wash at the wall") < places[1]


@pytest.mark.ci
def test_a_tank_without_a_shape_has_volumes_and_no_stick() -> None:
    mix = page("no shape", "Mix")
    assert "Fill the mix tank: 25 gal of water." in mix
    assert "stick at" not in mix


def test_acid_goes_into_water_and_is_said_in_parts() -> None:
    assert "Pour acid into water, never water into acid" in page("acid", "Mix")
    assert "It comes to 3.3 wt % HCl, 1.014 kg/L, 0.91 N" in page("acid", "Mix")
    card = texts(printed("acid"))[0]
    assert "1:10" in card
    assert "1 part to 10 of water" in card
    assert "31.45 wt %" in card
    assert "bleach and pool chlorine chlorine gas" in page("acid", "Safety")
    assert "Stays: mix tank: 1 gal of muriatic, 1:10, 1 part to 10 of water" in page("acid", "Flush and leave")


def test_crystals_are_weighed() -> None:
    assert re.search(r"Weigh \d+(\.\d)? (lb|oz) of lot crystals and stir it into", page("crystals", "Mix"))


def test_a_panel_is_set_and_its_draw_read_at_the_jug_after_the_mix_stop_point() -> None:
    second = sheet("wash", "Second")
    steps = ["“Mix”: set panel to 1.8, pick-up in the jug.", "“Read”: read what is left in the jug. 8 fl oz (7 to 9)",
             "Set panel to 1.8, pick-up in lot drum. Call “Go”."]  # fmt: skip
    places = [second.index(step) for step in steps]
    assert places == sorted(places)
    # The calls it answers, on the lead's sheet: none for mix before the stop point.
    lead = sheet("wash", "Lead")
    calls = [lead.index(said) for said in ("Before mix goes on", "call “Mix”, gun open", "call “Read”. Wait for “Go”.")]
    assert calls == sorted(calls)
    assert "“Mix”" not in lead[: calls[0]]


@pytest.mark.ci
def test_the_words_one_calls_are_the_words_the_other_answers() -> None:
    for case in ("wash", "roof", "acid", "injected"):
        answered = set(re.findall(r"\d “(\w+)”: ", sheet(case, "Second")))
        told = sheet(case, "Lead")
        assert answered <= {"On", "Off", "Mix", "Water", "Read", "Next"}
        for word in answered:
            assert f"“{word}”" in told, f"{case}: {word}"
        assert "Second said “Ready”?" in told
        assert "“Ready”" in sheet(case, "Second")


def test_an_injectors_jug_is_made_water_first_soap_last() -> None:
    second = sheet("injected", "Second")
    steps = ("Fill the jug: 182 fl oz of water", "Pour 244 fl oz of lot drum into the jug",
             "Pour 20 fl oz of lot suds into the jug, soap last", "Stir the jug gently, 2 min")  # fmt: skip
    places = [second.index(step) for step in steps]
    assert places == sorted(places)


def test_stock_is_guarded_by_a_hold_and_what_must_never_meet_it() -> None:
    guarded = r"Stop point 2 Before the drum is opened Dressed as the safety page says\?.*? lead second"
    for case, who in (("wash", "Second"), ("roof", "Lead"), ("injected", "Second"), ("acid", "Lead")):
        assert len(re.findall(guarded, " ".join(crew(printed(case))))) == 1
        assert re.search(guarded, sheet(case, who))
        pours = [found.start() for found in re.finditer(r"\d (?:Batch \d of \d: )?(?:Pour|Weigh) ", sheet(case, who))]
        stop = sheet(case, who).index("Before the drum is opened")
        # What the frame guards is set before its questions in the file, but no pour before that.
        assert all(place > stop or sheet(case, who)[place:stop].count("Pour") == 1 for place in pours)
    assert "ammonia, glass cleaner, urine chloramine gas" in page("wash", "Safety")
    assert "chlorine gas" in page("wash", "Safety")


@pytest.mark.parametrize("case", HELD)
@pytest.mark.ci
def test_a_held_mix_has_no_figure_to_pour_by(case: str) -> None:
    assert written(*CASES[case]).verdict == "stop"
    (text,) = texts(printed(case))
    assert "Leave the gear on the rig. Do not mix." in text
    for said in ("Pour in", "Fill with water", "Set panel to 1", "Load at least", "Stock stronger", "gal stock"):
        assert said not in text


def test_a_stop_about_one_mix_holds_every_act_of_the_job() -> None:
    checked = written(*CASES["three"])
    stop = finding("mix.surface", "hypochlorite, flat", "stop", "banned", surface="drive", material="wool",
                   chemical="hypochlorite", why="it dissolves")  # fmt: skip
    held = replace(checked, findings=(stop, *checked.findings), verdict="stop")
    # The acts are the whole job's: with one mix held nothing is poured.
    (whole,) = texts(job_packet(held, paper="letter", system="us"))
    assert "may not touch wool" in whole
    assert "Pour" not in whole


def test_the_wash_has_a_row_for_each_surface_and_rounds_its_dwell_down() -> None:
    wash = page("wash", "Wash")
    assert re.search(
        r"front, section 1 .*front, 2 times: rinse 1 to 2 5 to 10 4 min 10 s .*back, 2 times: sections 1 to 2; .* 5 6 min 30 s",
        wash,
    )
    assert "Rinse within 5 min: aluminum on back." in wash
    assert "Stop and rinse off if mix dries" in wash
    assert "Wait out wind over 10 mph or gusts over 15 mph" in wash
    assert "left to the rain" in page("roof", "Wash")
    assert "15 to 20" not in page("roof", "Wash"), "nobody waits for what the rain rinses"
    assert "wind passes 15 mph" in page("roof", "Wash")


def test_a_rinse_is_never_printed_short() -> None:
    plan = written(*CASES["wash"]).plan
    for one in plan.work:
        rows = (
            rf"{one.surface.name}, (\d) times: (?:rinse 1 to \d 5 to 10|sections 1 to \d; .*? 5) (\d+) min(?: (\d+) s)?"
        )
        row = re.search(rows, page("wash", "Wash"))
        assert row is not None
        seconds = 60.0 * int(row[2]) + int(row[3] or 0)
        assert int(row[1]) * seconds * plan.runs[0].flow >= one.rinse_volume


def test_the_grounds_give_beds_downspouts_distances_and_the_neutraliser() -> None:
    second, near = sheet("wash", "Second"), page("wash", "Near the work")
    # The open tap gives 14.5 gpm; the 8 gpm of its test were taken with 40 psi left.
    assert re.search(
        r"Water the flower beds: 30 gal\. Call “Ready”\. 3 min .*Water the flower beds: 45 gal\. 4 min", second
    )
    assert re.search(r"Water the flower beds at each time\. from 7:59 am 7:59 9 gal, 1 min 8:08 9 gal, 1 min", second)
    for said in ("Downspouts: 3", "fish pond 40 ft", "storm drain 60 ft", "Turn the runoff away; cover it"):
        assert said in near
    for said in ("Bag the downspouts", "thiosulfate", "Never on stock", "under 1 mg/L", "pH 6 to 9"):
        assert said in second
    near, second = page("acid", "Near the work"), sheet("acid", "Second")
    assert "Set berms below the work, sealed to the ground" in near
    assert "Set a pump at the low point, its hose to the lawn" in near
    for said in ("pH strip 6 to 9", "bicarbonate", "It foams"):
        assert said in second


@pytest.mark.ci
def test_a_roof_s_downspouts_say_what_each_takes() -> None:
    out = written(*CASES["spouts"]).plan.runoff.outlets
    assert "each about" not in sheet("wash", "Both")  # its walls have spouts, but no roof is sprayed
    assert "a bucket of gutter catch" in sheet("spouts", "Second")
    said = re.search(r"each about ([\d /]+) gal with ([\d /]+) lb of chlorine", page("spouts", "Near the work"))
    assert said is not None
    assert number_of(said[1]) >= out.volume / 3.785411784e-3 - 1e-9
    assert number_of(said[2]) >= out.active / 0.45359237 - 1e-9


def test_a_strong_leftover_is_thinned_first() -> None:
    roof = sheet("roof", "Second")
    assert "fill up to 2 gal" in roof  # as strong as a strip may miss
    assert "Water first" in roof


def test_a_neutraliser_is_never_weighed_short() -> None:
    said = re.findall(r"thiosulfate (\d+(?: \d/\d)?) (oz|lb)", sheet("roof", "Second"))
    planned = written(*CASES["roof"]).plan.neutralisers
    assert len(said) == len(planned)
    for (number, unit), one in zip(said, planned, strict=True):
        assert float(number_of(number)) * 0.45359237 / (16 if unit == "oz" else 1) >= one.mass - 1e-9


def test_the_flush_is_one_spray_and_never_too_little() -> None:
    flush = page("wash", "Flush and leave")
    row = re.search(r"Flush the line onto the lawn, tip on: (\d+) s \(([\d /]+) gal\)", flush)
    assert row is not None
    assert float(row[1]) >= math.fsum(part.seconds for part in written().plan.flushes)  # type: ignore[misc]
    assert number_of(row[2]) >= math.fsum(part.volume for part in written().plan.flushes) / 3.785411784e-3  # type: ignore[misc]
    assert "never toward the fish pond or the storm drain" in flush
    assert "Not clean enough for the fish pond" in flush
    assert "Before the hose is coiled" in flush


def test_a_mix_tanks_heel_stays_out_of_the_flush_and_is_told_for_tomorrow() -> None:
    flush = page("roof", "Flush and leave")
    assert "mix tank: 1 gal of hypochlorite at 3.5 trade %: tomorrow's heel" in flush


@pytest.mark.ci
def test_if_it_differs_frames_what_was_planned_and_marks_what_falls_short() -> None:
    checked = written("job: {building: {height: 40 ft}, hose_runs: {0: {target: 40 ft}}}")
    text = " ".join(crew(job_packet(checked, paper="letter", system="us")))
    assert "Octagon: not enough" in text
    plain = page("wash", "If it differs")
    assert "Octagon" not in plain
    assert re.search(r"Set panel to (?:\d\.\d+ ){3}1\.8 \d\.\d", plain)
    assert "Tap: 5 gal in" in plain
    assert "Full tank dry, min" in plain
    assert "…" not in plain


def test_reach_in_the_table_is_never_more_than_the_plan_found() -> None:
    table = written().plan.differs[0]
    row = re.search(r"as planned (\d+) (\d+) (\d+) (\d+)", page("wash", "If it differs"))
    assert row is not None
    planned = table.heights[table.hose.index(0.0)]
    for said, found in zip(row.groups(), planned, strict=True):
        assert int(said) <= found / FT < int(said) + 1


@pytest.mark.ci
def test_dial_cells_outside_the_tested_points_cannot_be_set() -> None:
    checked = written("rig: {dosing: {0: {dial: [[1, 4 %], [2, 9 %]]}}}")
    assert checked.plan.mixes[0].rows[0].dial is None
    assert "Set panel to no" in " ".join(crew(job_packet(checked, paper="letter", system="us")))


@pytest.mark.ci
def test_the_worksheet_shows_each_figure_of_the_mix_with_its_equation_and_says_where_the_sources_are() -> None:
    owner = " ".join(texts(owners("roof")))
    for said in ("stock today 10.0 trade %", "mix needed", "made in all", "C = C0 / (1 + C0 sum k2 dt)",
                 "planner explain sources", "south slope 2,400 ft2", "spare 15.0 %", "Water by use", "flower beds"):  # fmt: skip
        assert said in owner
    assert "Adam & Gordon" not in owner, "sources are printed once for the workspace"
    assert "Share of stock = Ct / Cs" in " ".join(texts(owners("wash")))
    assert "C = jug / (1 + r)" in " ".join(texts(owners("injected")))
    assert "Base by the balanced equation" in " ".join(texts(owners("acid")))


def test_names_are_printed_in_full_and_never_obeyed() -> None:
    whole = " ".join(texts(printed("names")))
    assert whole.count(ATTACK) >= 4
    assert "root:" not in whole
    assert "And 4 more: write them on the back." in whole


@pytest.mark.ci
def test_the_wash_of_the_tests_goes_and_has_boxes() -> None:
    for case, title, initials in (("wash", "Before the drum is opened", 2), ("roof", "Mix at the drums", 3)):
        both = zip(pages(printed(case)), texts(printed(case)), strict=True)
        drawn = next(drawn for drawn, text in both if title in text)
        assert len([r for r in drawn.rects if abs(r["width"] - 14) < 0.2 and not r["fill"]]) >= 3
        assert len([r for r in drawn.rects if abs(r["width"] - 46) < 0.2 and abs(r["height"] - 24) < 0.2]) == initials
