"""Two whole procedures written out by hand break no rule, and are played in no time."""

from __future__ import annotations

import pytest

from planner.rehearsal.ending import day
from planner.rehearsal.play import rehearse
from tests.rehearsal.reading import BY_HAND, by_hand


@pytest.mark.parametrize("name", BY_HAND)
def test_a_procedure_written_out_by_hand_breaks_no_rule(name: str) -> None:
    setting, procedure = by_hand(name)
    assert rehearse(setting, procedure) == ()


def test_a_job_begins_as_the_one_before_left_the_rig() -> None:
    _, house = by_hand(BY_HAND[0])
    _, roof = by_hand(BY_HAND[1])
    found = day({"house": house, "roof": roof})
    assert found["house"] == ()
    assert {breach.rule for breach in found["roof"]} == {"end"}
    told = " ".join(breach.state for breach in found["roof"])
    assert "water" in told, "each of the two begins with the whole tank"
    assert "H-0518" in told, "and with the whole lot"
    assert day({"house": house, "again": roof.__class__(acts=(), begin=house.end, end=house.end)})["again"] == ()
