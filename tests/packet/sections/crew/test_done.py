"""The sheet of what was done: a box for every figure, each named, beside what was planned."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest

from planner.packet.blocks import Hold, Step, WriteIn
from planner.packet.sections.crew import done
from planner.units import System
from tests import workspaces
from tests.packet.builders import written
from tests.packet.figures.jobs import job_of
from tests.packet.mixing import CASES, crew, printed
from tests.packet.printing import worded
from tests.packet.sections.said import boxes, reading
from tests.plan.line import test_roles


@pytest.mark.parametrize("case", ["wash", "roof", "injected", "three", "names"])
def test_every_box_has_a_name_of_its_own_that_a_form_can_take(case: str) -> None:
    made = done.section(reading(*CASES[case]))
    names = [cell.name for cell, _, _ in boxes(made.blocks)]
    assert len(names) > 10
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[a-z0-9_]+(\.[a-z0-9_]+){0,3}", name) for name in names), names
    assert {"times.arrived", "times.left", "water.used", "deviations", "after", "signed"} <= set(names)


def test_the_planned_figure_stands_right_before_its_box() -> None:
    made = done.section(reading())
    found = {
        cell.name: row[at - 1] for cell, row, at in boxes(made.blocks) if at and not isinstance(row[at - 1], WriteIn)
    }
    planned = {
        name: before if isinstance(before, str) else "".join(span.text for span in before)
        for name, before in found.items()
    }
    assert planned["mixes.1.stock_test"] == "10.0"
    assert planned["mixes.1.dial"] == "1.8"
    assert planned["sides.1.dwell"] == "5 to 10"
    assert planned["times.arrived"].startswith("7:")
    assert planned["readings.front.throw"] == ""
    assert all(cell.height >= 18 for cell, _, _ in boxes(made.blocks))


def test_without_a_clock_the_times_are_counted_from_arrival() -> None:
    job = written("day: {leave_yard: null}")
    entries = {entry.name: entry.planned for entry in done.times(job.plan, "us")}
    assert entries["times.arrived"] == "+0:00"
    assert entries["times.first_mix"] == "+0:50"  # stop points and stock come before it


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("case", ["wash", "roof", "injected", "three"])
def test_what_a_step_reads_is_written_there_against_its_figure_and_asked_for_nowhere_else(
    case: str, system: System
) -> None:
    checked = written(*CASES[case])
    made = worded(checked, system=system)
    at_steps = [step for step in steps(made.sections) if step.write is not None]
    assert len(at_steps) > 3
    for step in at_steps:
        said_first = "".join(span.text for span in step.should if span.strong)
        assert said_first.split()[0] == step.write.planned.replace("6 to 8", "7"), step
    names = [step.write.name for step in at_steps if not step.write.name.endswith(".jug_left")]
    page = [cell.name for cell, _, _ in boxes(done.section(reading(*CASES[case])).blocks)]
    assert not set(names) & set(page)
    asked = {
        entry.name
        for run, key in zip(checked.plan.runs, done.run_keys(checked.plan.runs), strict=True)
        for entry in done.readings(checked.plan, run, system, f"readings.{key}")
    } | {entry.name for entry in done.flushed(checked.plan, system)}
    assert sorted(names + [name for name in page if name in asked]) == sorted(asked)


def steps(part: object) -> Iterator[Step]:
    """Every step of blocks, those that stop points guard among them."""
    if isinstance(part, Step):
        yield part
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from steps(one)
    elif is_dataclass(part):
        for field in fields(part):
            yield from steps(getattr(part, field.name))


def test_each_of_several_sides_has_boxes_for_its_first_mix_and_its_sections_and_one_alone_no_first_mix() -> None:
    names = {cell.name for cell, _, _ in boxes(done.section(reading()).blocks)}
    assert {"sides.1.first_mix", "sides.2.first_mix", "sides.1.sections", "sides.2.sections", "sides.1.dwell"} <= names
    assert not {name for name in names if name.endswith(".wait")}  # its dwell says it
    one = {cell.name for cell, _, _ in boxes(done.section(reading(*CASES["roof"])).blocks)}
    assert "sides.1.sections" in one
    assert "sides.1.first_mix" not in one


def test_what_is_left_in_the_jug_is_what_the_second_pours_back() -> None:
    made = worded(written())
    planned = {step.write.name: step.write.planned for step in steps(made.sections) if step.write is not None}
    assert "mixes.1.jug_left" not in {cell.name for cell, _, _ in boxes(done.section(reading()).blocks)}
    assert f"Empty {planned['mixes.1.jug_left']} fl oz from the jug" in " ".join(crew(printed("wash")))


def test_what_is_washed_with_water_alone_has_no_box_for_mix_and_a_cleaner_none_for_bucket_or_throw(
    tmp_path: Path,
) -> None:
    files = test_roles.files({"tip": "spinner"}, chemicals=[])
    (run,) = files["job"]["hose_runs"]
    for key in ("dosing", "rinse_tip", "cleaner"):
        del run[key]
    spins = workspaces.checked(tmp_path, files, tables=True)
    (made,) = (section for section in worded(spins).sections if section.key == "done")
    names = {cell.name for cell, _, _ in boxes(made.blocks)}
    kinds = (".first_mix", ".mix", ".dwell", ".throw", ".bucket")
    assert not [name for name in names - {"times.first_mix"} if name.endswith(kinds)]


def test_a_line_that_changes_its_tip_has_one_row_with_all_that_is_done_on_the_wall() -> None:
    book = worded(job_of("2026-06-10/10-slipway"))
    (made,) = (section for section in book.sections if section.key == "done")
    names = {cell.name for cell, _, _ in boxes(made.blocks)}
    assert {"sides.1.sections", "sides.1.wet", "sides.1.mix", "sides.1.dwell", "sides.1.rinse"} <= names
    assert not [name for name in names if name.startswith("sides.2")]


def test_the_last_stop_point_asks_for_the_strips_of_the_last_flush_alone() -> None:
    book = worded(job_of("2026-06-10/30-kiln-acid"))
    asked = [block for section in book.sections for block in section.blocks if isinstance(block, Hold)]
    (coil,) = [hold for hold in asked if hold.title == "Before the hose is coiled"]
    assert "".join(span.text for span in coil.questions).startswith("Last strip at the tip pH 6 to 8? Pump off")
