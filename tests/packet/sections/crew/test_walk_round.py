"""The walk-round, from a job as it is written to its page."""

from __future__ import annotations

import pytest

from tests.packet.builders import ACID, ROOF, written
from tests.packet.mixing import texts
from tests.packet.printing import job_packet
from tests.packet.sections.said import BOTH, BRICK, said

# ------------------------------------------------------------------------------------------------ walk-round


def test_the_walk_round_asks_only_what_this_job_can_answer() -> None:
    plain = said("walk")
    for words in (
        "Paint: rub it",
        "Chalk on the cloth",
        "Metal (aluminium)",
        "Windows, doors, vents shut",
        "they are open",
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


@pytest.mark.ci
def test_the_sketch_has_everything_near_with_its_distance_and_room_for_what_differs() -> None:
    pages = texts(job_packet(written(BOTH), paper="letter", system="us"))
    page = next(text for text in pages if "Shown to the customer, initials" in text)
    for words in ("fish pond 25 ft", "stream 90 ft", "well 80 ft", "storm drain 40 ft", "cars 30 ft", "rain barrel 10 ft",
                  "dots: 4 downspouts", "hatched: 300 ft2 of beds", "front, hose 100 ft", "N?",
                  "Not to scale: write in what differs", "Shown to the customer, initials"):  # fmt: skip
        assert words in page, words
