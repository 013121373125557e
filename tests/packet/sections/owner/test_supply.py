"""Water over time on paper: the tank's level drawn and told, and when the crew opens and shuts the fill."""

from __future__ import annotations

import itertools
import re

import pytest

from planner.packet.blocks import Step, walked
from planner.packet.drawings.level import level_chart, stages
from planner.packet.sections.owner import supply
from planner.units import System
from tests.packet.builders import ACID, ROOF, written
from tests.packet.drawings.test_drawings import labels
from tests.packet.printing import job_book, job_packet, owner_book
from tests.packet.reading import texts
from tests.packet.sections.acts.test_acts import said

LARGE = "job: {surfaces: {0: {width: 400 ft}}}"
NO_TAP = "job: {water: {source: tank, static: null, flow_test: null, backflow: null}}"
SLOW = "job: {water: {flow_test: {flow: 1.5 gpm, pressure: 0 psi}}}"
NO_CLOCK = "day: {leave_yard: null}"
FORTY = "job: {surfaces: [" + ", ".join(f"{{name: wall {n}, kind: vinyl, area: 90 ft2}}" for n in range(40)) + "]}"
JOBS = {
    "plain": (),
    "large": (LARGE,),
    "no tap": (NO_TAP,),
    "dry": (LARGE, NO_TAP),
    "slow tap": (LARGE, SLOW),
    "roof": (ROOF,),
    "acid": (ACID,),
    "forty walls": (FORTY,),
}


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("name", JOBS)
def test_the_levels_labels_lie_on_the_sheet_and_apart(name: str, system: System) -> None:
    plan = written(*JOBS[name]).plan
    for tank in plan.supply.tanks:
        wide, tall = 516.0, 172.0
        found = labels(level_chart(tank, plan.supply.phases, system, wide, tall))
        assert {"work", "fill"} <= {text for text, _, _ in found}
        assert any(text.startswith(("lowest", "dry after", "stays full")) for text, _, _ in found)
        for text, (x0, y0, x1, y1), size in found:
            assert x0 >= -0.6, text
            assert x1 <= wide + 0.6, text
            assert y0 >= -1, text
            assert y1 <= tall + 1, text
            assert size >= 10
        for (one, (a0, b0, a1, b1), _), (other, (c0, d0, c1, d1), _) in itertools.combinations(found, 2):
            assert a1 <= c0 or c1 <= a0 or b1 <= d0 or d1 <= b0, (one, other)


def test_a_dry_tank_says_when_and_not_how_low() -> None:
    plan = written(LARGE, NO_TAP).plan
    found = [text for text, _, _ in labels(level_chart(plan.supply.main, plan.supply.phases, "us", 516, 172))]  # type: ignore[arg-type]
    assert any(text.startswith("dry after") for text in found)
    assert not any(text.startswith("lowest") for text in found)


def test_stages_follow_each_other_without_a_gap() -> None:
    plan = written(ROOF).plan
    made = stages(plan.supply.phases)
    assert (made[0].name, made[0].start, made[0].end) == ("set up", -plan.supply.begins, pytest.approx(0.0))
    assert [stage.name for stage in made][-2:] == ["flush", "pack"]
    for before, after in itertools.pairwise(made):
        assert after.start == pytest.approx(before.end, abs=1e-6)


@pytest.mark.ci
def test_the_worksheet_names_the_tank_its_lowest_and_where_the_figures_come_from() -> None:
    checked = written(LARGE, SLOW)
    text = " ".join(texts(owner_book(checked, paper="letter", system="us").pdf))
    assert "The water tank through the job" in text
    assert "short of water" in text
    assert "Level = before +" in text
    assert "planner explain sources" in text


@pytest.mark.ci
def test_each_fill_of_the_tank_is_an_act_of_the_second_with_its_time() -> None:
    book = job_book(written(LARGE), paper="letter", system="us")
    (grounds,) = [section for section in book.sections if section.key == "grounds"]
    assert grounds.role == "second"
    (step,) = [one for one in walked(grounds.blocks) if isinstance(one, Step) and one.rounds and "tank" in said(one)]
    assert said(step) == "Fill the water tank at each time."
    text = " ".join(texts(book.pdf))
    for time, told in step.rounds:
        assert re.fullmatch(r"\d+:\d\d(?:\s[ap]m)?", time)
        assert re.fullmatch(r"[\d.,]+(?:\s\d/\d)?\sgal, \d+\smin", told)
        assert time.replace("\u00a0", " ") in text.replace("\u00a0", " ")


def test_where_no_tap_fills_a_tank_nothing_is_said_of_filling() -> None:
    pages = texts(job_packet(written(NO_TAP), paper="letter", system="us"))
    assert not any("Fill the water tank" in page for page in pages)


def test_what_stands_between_two_points_lies_on_their_line() -> None:
    tank = written(LARGE).plan.supply.main
    (before, low), (after, high) = tank.points[0], tank.points[1]
    assert supply.standing(tank, (before + after) / 2) == pytest.approx((low + high) / 2)  # type: ignore[arg-type]
    assert supply.standing(tank, tank.points[-1][0] + 1.0) == tank.end  # type: ignore[arg-type]
