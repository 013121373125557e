"""Every way of writing how large a surface is."""

from __future__ import annotations

from math import sqrt

import pytest

from planner.inputs.models import SurfaceInput
from planner.inputs.reading.sizes import (
    net_area,
    side_names,
    sides_alike,
    sides_misspelled,
    surface_names,
)
from planner.inputs.reading.tree import parse_tree

FT2 = 0.3048**2


@pytest.mark.parametrize(
    ("text", "square_feet"),
    [
        ("area: '1,200 ft2'", 1200),
        ("width: 48 ft, height: 22 ft", 1056),
        ("width: 48 ft, height: 22 ft, less: 120 ft2", 936),
        ("around: 160 ft, height: 18 ft", 2880),
        ("gable: 35 ft x 9 ft", 157.5),
        ("gable: 35 ft x 9 ft, count: 2", 315),
        ("footprint: 40 ft x 30 ft, pitch: 6/12", 1200 * sqrt(1.25)),
        ("footprint: 1200 ft2, pitch: 12/12", 1200 * sqrt(2)),
        ("footprint: 1200 ft2, pitch: 0/12", 1200),
        ("squares: 24", 2400),
        ("squares: 24.5 squares", 2450),
    ],
)
def test_a_size_comes_to_its_area(text: str, square_feet: float) -> None:
    tree = parse_tree(f"{{kind: vinyl, {text}}}".encode(), "f")
    assert tree.root is not None
    surface = SurfaceInput.model_validate(tree.root.plain())
    assert net_area(surface) == pytest.approx(square_feet * FT2, rel=1e-12)


def test_surfaces_without_a_name_take_their_kinds_and_a_number_where_needed() -> None:
    kinds = [{"kind": "vinyl"}, {"kind": "asphalt_shingle"}, {"kind": "vinyl"}, {"kind": "brick", "name": "vinyl 1"}]
    assert surface_names(kinds) == ["vinyl 2", "asphalt shingle", "vinyl 3", "vinyl 1"]


def _sided(*sides: str, name: str = "") -> list[dict[str, str]]:
    return [{"kind": "vinyl", "side": side, **({"name": name} if name else {})} for side in sides]


def test_two_surfaces_on_one_side_are_told_apart_by_what_they_are() -> None:
    assert side_names([*_sided("front", "left gable"), {"kind": "brick"}]) == ["front", "left gable", ""]
    assert side_names([*_sided("front"), {"kind": "brick", "side": "Front"}]) == ["front, vinyl", "Front, brick"]
    assert side_names(_sided("front", "front")) == ["front, vinyl 1", "front, vinyl 2"]
    assert not sides_alike(_sided("front", "front"))


@pytest.mark.parametrize(
    "others",
    [
        [{"kind": "brick", "name": "Front"}],  # one by its side, the other by its name
        [{"kind": "brick", "name": "front", "side": "front"}],
        [{"kind": "brick", "name": "FRONT", "side": "left gable"}],  # another's name, though it has a side of its own
        [{"kind": "brick", "side": "front, vinyl"}, {"kind": "brick", "side": "front"}],
    ],
)
def test_a_side_that_does_not_tell_two_surfaces_apart_is_found(others: list[dict[str, str]]) -> None:
    assert sides_alike([*_sided("front"), *others])
    assert not sides_alike(others[:1])


def test_a_surface_may_have_its_own_name_for_its_side_and_not_that_of_an_unnamed_other() -> None:
    assert not sides_alike([{"kind": "vinyl", "name": "front", "side": "Front"}, {"kind": "brick"}])
    assert sides_alike([{"kind": "vinyl", "side": "vinyl 2"}, {"kind": "vinyl", "side": "back"}]) == [(0, "vinyl 2")]


def test_one_side_in_other_capitals_is_found_and_blanks_between_its_words_are_none() -> None:
    assert sides_misspelled(_sided("left gable", "back", "Left Gable", "left  gable")) == [(2, "left gable")]
    assert not sides_misspelled([{"kind": "vinyl"}, *_sided("back", "back")])
