"""Which drawings a job's sheets have, and what stands on them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest

from planner.packet.blocks import Picture, Section, Two, walked
from planner.packet.pages.style import MEASURE, columns
from planner.words.figures import close_call
from planner.words.spoken import wall_name
from tests.packet.builders import run
from tests.packet.figures.jobs import job_of, packet_of
from tests.packet.mixing import texts

pytestmark = pytest.mark.ci


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
            (two,) = [
                one
                for section in packet.sections
                if section.key == "wash"
                for one in section.blocks
                if isinstance(one, Two)
            ]
            assert two.left == (jets[0][1],)
            assert columns(two.split[0]) >= 252.0
            assert 0.0 not in two.left[0].heights
            page = next(text for text in texts(packet.pdfs[0]) if "Wash at the wall" in text)
            assert "needed 17 ft" in page
            assert "at worst 20 ft" in page
    held_one = packet_of("Tall wall", "us")
    (two,) = [
        one for section in held_one.sections if section.key == "held" for one in section.blocks if isinstance(one, Two)
    ]
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
    expected = [
        text for wall, of in walls.items() for text in (wall_name(plan, wall), *(f"{n}" for n in range(1, of + 1)))
    ]
    assert numbers == expected
    page = next(text for text in texts(packet.pdfs[0]) if "In this order" in text)
    assert " ".join(expected) in page


@pytest.mark.parametrize("name", ["2026-06-09/10-millrace", "2026-06-09/20-granary", "2026-06-10/30-kiln-acid"])
def test_every_run_that_changes_between_water_and_mix_has_both_states_drawn(name: str) -> None:
    packet = packet_of(name, "us")
    changing = {mix.run.name for mix in job_of(name).plan.mixes}
    drawn = {
        one.title
        for key, one in drawn_on(packet.sections)
        if key in ("set_up", "wash") and one.told.startswith("Water: ")
    }
    assert drawn == changing
    assert " ".join(texts(packet.pdfs[0])).count("until stop point") == len(changing)
