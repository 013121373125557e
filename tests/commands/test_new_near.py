"""What is near, in the owner's words: food beds are beds, a word that is no figure is taken for none."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner import locate
from planner.interview.answers import Here, here_of
from planner.interview.asking import Unfit
from planner.interview.site import _near
from tests import workspaces


@pytest.fixture
def here() -> Here:
    """The demo's own units."""
    found = here_of(str(Path(locate.jobs()) / "2026-06-09"), None)
    assert isinstance(found, Here)
    return found


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("vegetable bed", {"flower_beds": None, "food": "true"}),
        ("vegetables", {"flower_beds": None, "food": "true"}),
        ("vegetable beds 100 ft2", {"flower_beds": "100 ft2", "food": "true"}),
        ("herbs 40", {"flower_beds": "40 ft2", "food": "true"}),
        ("kitchen garden, drain 40 ft", {"flower_beds": None, "food": "true", "storm_drain": "40 ft"}),
        ("flower beds, vegetable bed", {"flower_beds": None, "food": "true"}),
        ("flower beds 400 ft2 and vegetables", {"flower_beds": "400 ft2", "food": "true"}),
        ("rose beds", {"flower_beds": None}),
        ("koi pond 25 ft", {"fish_pond": "25 ft"}),
    ],
)
def test_it_is_understood(here: Here, said: str, found: dict[str, str | None]) -> None:
    assert dict(_near(said, here)) == found


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("no pond", "says that it is not near"),
        ("flower beds 400 ft2, vegetable beds 100 ft2", "beds are named twice"),
        ("drain 40 ft, drain 20 ft", "is named twice"),
        ("septic tank", "does not watch for"),
    ],
)
def test_it_is_asked_again(here: Here, said: str, why: str) -> None:
    with pytest.raises(Unfit, match=why):
        _near(said, here)


def test_food_without_beds_is_asked_about(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), {"job": {"near": {"food": "true"}}})
    read = workspaces.loaded(tmp_path, files)
    (fault,) = read.faults
    assert (fault.code, fault.message) == ("key.missing", "`flower_beds` is missing: `food` grows in the beds")
