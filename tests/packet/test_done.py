"""The sheet of what was done: a box for every figure, each named, beside what was planned."""

from __future__ import annotations

import re

import pytest

from planner.packet.blocks import WriteIn
from planner.packet.sections import done
from tests.packet.builders import written
from tests.packet.test_mixing import CASES, crew, printed
from tests.packet.test_sheets import boxes, reading, said


@pytest.mark.parametrize("case", ["wash", "roof", "injected", "three", "names"])
def test_every_box_has_a_name_of_its_own_that_a_form_can_take(case):
    made = done.section(reading(*CASES[case]))
    names = [cell.name for cell, _, _ in boxes(made.blocks)]
    assert len(names) > 10
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[a-z0-9_]+(\.[a-z0-9_]+){0,3}", name) for name in names), names
    assert {"times.arrived", "times.left", "water.used", "deviations", "after", "signed"} <= set(names)


def test_the_planned_figure_stands_right_before_its_box():
    made = done.section(reading())
    found = {
        cell.name: row[at - 1] for cell, row, at in boxes(made.blocks) if at and not isinstance(row[at - 1], WriteIn)
    }
    planned = {
        name: before if isinstance(before, str) else "".join(span.text for span in before)
        for name, before in found.items()
    }
    assert planned["readings.front.gauge_open"] == "52"
    assert planned["mixes.1.stock_test"] == "10.0"
    assert planned["mixes.1.dial"] == "1.8"
    assert planned["flush.residual"] == "4.0"
    assert planned["sides.1.dwell"] == "5 to 10"
    assert planned["times.arrived"].startswith("7:")
    assert planned["readings.front.throw"] == ""
    assert all(cell.height >= 18 for cell, _, _ in boxes(made.blocks))


def test_without_a_clock_the_times_are_counted_from_arrival():
    job = written("day: {leave_yard: null}")
    entries = {entry.name: entry.planned for entry in done.times(job.plan, "us")}
    assert entries["times.arrived"] == "+0:00"
    assert entries["times.first_mix"] == "+0:50"  # stop points and stock come before it


def test_figures_of_what_was_done_are_those_of_the_other_sheets():
    sheets = " ".join(crew(printed("wash")))
    before, after = sheets.split("What was done", 1)
    for figure in ("52", "70"):
        assert f"{figure} psi" in before
        assert figure in after


def test_a_held_job_has_nothing_planned_to_write_against():
    text = said("done", *CASES["short"])
    assert "nothing was mixed" in text
    assert "gal" not in text
    names = [cell.name for cell, _, _ in boxes(done.section(reading(*CASES["short"])).blocks)]
    assert names == ["deviations", "signed", "signed_at"]


def test_each_of_several_sides_has_boxes_for_its_first_mix_and_its_sections_and_one_alone_no_first_mix():
    names = {cell.name for cell, _, _ in boxes(done.section(reading()).blocks)}
    assert {"sides.1.first_mix", "sides.2.first_mix", "sides.1.sections", "sides.2.sections", "sides.1.dwell"} <= names
    assert not {name for name in names if name.endswith(".wait")}  # its dwell says it
    one = {cell.name for cell, _, _ in boxes(done.section(reading(*CASES["roof"])).blocks)}
    assert "sides.1.sections" in one
    assert "sides.1.first_mix" not in one


def test_what_is_left_in_the_jug_is_what_the_second_pours_back():
    planned = {cell.name: cell.planned for cell, _, _ in boxes(done.section(reading()).blocks)}
    assert f"Empty {planned['mixes.1.jug_left']} fl oz from the jug" in " ".join(crew(printed("wash")))
