"""The first answer is of the job that is typed in; those behind it are said to wait, and come with the second."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from planner.days.prepare import Earlier
from tests.desk.desks import Asked, demo, words

DAY = "2026-06-09"
MILLRACE, GRANARY, KILN = (f"{DAY}/{name}.yaml" for name in ("10-millrace", "20-granary", "30-kiln"))
TALL = {"building.height": "44 ft"}


def _rail(answer: dict[str, list[dict[str, str]]]) -> str:
    return words(next(one["html"] for one in answer["swap"] if one["id"] == "rail"))


def test_the_jobs_behind_the_one_that_is_typed_in_wait_for_the_second_answer(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(GRANARY)}")
    weak = asked.text(GRANARY).replace("tip: roof tip", "tip: long throw")
    first = _rail(asked.edit(GRANARY, text=weak, typing="yes").get_json())
    assert re.search(r"1 Millrace Row, end terrace .* to .* Go, with care 2 Granary", first)
    assert re.search(r"2 Granary, south roof .*Held.* 3 Kiln House, lean-to and plinth checked next, in a", first)
    assert "No end yet. The jobs after this one are checked next." in first
    second = _rail(asked.post(f"/cures/{asked.id(GRANARY)}").get_json())
    assert "in a moment" not in second
    assert "Ends" in second


def test_a_day_nobody_looked_at_yet_is_checked_whole(asked: Asked) -> None:
    said = _rail(asked.edit(MILLRACE, v=TALL, typing="yes").get_json())
    assert "in a moment" not in said


@pytest.mark.ci
@pytest.mark.parametrize(
    ("name", "was", "now"),
    [
        (MILLRACE, "27 ft}", "44 ft}"),
        (MILLRACE, "height: 18 ft", "height: 22 ft"),
        (GRANARY, "stock: bleach", "stock: soap-3"),
        (KILN, "width: 44 ft", "width: 60 ft"),
        (f"{DAY}/day.yaml", "crew:", "crew: 1 #"),
        (f"{DAY}/day.yaml", "volume: 2 gal", "volume: 3 gal"),
        ("rigs/bittern.yaml", "floor: 2 ft", "floor: 1 ft"),
        ("stock.yaml", "on_hand: 48 gal", "on_hand: 1 gal"),
    ],
)
def test_what_is_kept_of_a_day_is_what_a_desk_just_opened_finds(
    asked: Asked, name: str, was: str, now: str, tmp_path: Path
) -> None:
    """First answers between, of another job and of this one, leave nothing behind that the pages then show."""
    for job in (MILLRACE, GRANARY, KILN):
        asked.get(f"/job/{asked.id(job)}")
    asked.edit(GRANARY, v=TALL, typing="yes")
    asked.edit(GRANARY, do="undo")
    assert was in asked.text(name)
    text = asked.text(name).replace(was, now, 1)
    asked.edit(name, text=text)
    fresh = demo(tmp_path / "fresh")
    for job in (MILLRACE, GRANARY, KILN):  # what is shown of a job from before its fault
        fresh.get(f"/job/{fresh.id(job)}")
    fresh.desk._earlier = (None, Earlier())
    fresh.edit(name, text=text)

    def said(desk: Asked, job: str) -> str:
        return re.sub(r"(checked|From) \S+", "", words(desk.get(f"/job/{desk.id(job)}")))

    for job in (KILN, GRANARY, MILLRACE, KILN):
        assert said(asked, job) == said(fresh, job)
