"""The group method by itself: the very pair before the groups, the worst of the groups, both ways round."""

from __future__ import annotations

import pytest

from planner.chemistry.reactions import Matrix, Rule, Substance, answer, answers_among, matrix_of


def _substance(name: str, *groups: str) -> Substance:
    return Substance(name=name, groups=groups, molar=None, site=False, source="test")


def _rule(first: str, second: str, outcome: str, *codes: str) -> Rule:
    return Rule(first=first, second=second, outcome=outcome, gives=outcome, codes=codes, source="test")  # type: ignore[arg-type]


@pytest.fixture
def matrix() -> Matrix:
    return matrix_of(
        [_substance("a", "one"), _substance("b", "two"), _substance("c", "two", "three"), _substance("d", "four")],
        [_rule("a", "b", "harmless")],
        [_rule("one", "two", "thin", "H"), _rule("three", "one", "forbidden", "GT")],
    )


def test_a_row_for_the_very_pair_goes_before_its_groups(matrix: Matrix) -> None:
    assert (answer("a", "b", matrix).outcome, answer("a", "b", matrix).by) == ("harmless", "pair")
    assert answer("a", "b", matrix).codes == ()


def test_the_worst_of_all_their_groups_counts_and_every_consequence_is_told(matrix: Matrix) -> None:
    both = answer("a", "c", matrix)
    assert (both.outcome, both.codes, both.by) == ("forbidden", ("H", "GT"), "groups")
    assert both.stops


def test_what_the_chart_leaves_blank_is_harmless_and_two_of_one_kind_are_the_same(matrix: Matrix) -> None:
    assert answer("b", "c", matrix).outcome == "harmless"
    assert answer("a", "d", matrix).outcome == "harmless"
    assert answer("d", "d", matrix).outcome == "same"


def test_of_a_stranger_nobody_knows_and_that_stops_but_water_meets_anything(matrix: Matrix) -> None:
    assert answer("a", "moonshine", matrix).outcome == "unknown"
    assert answer("moonshine", "a", matrix).stops
    assert not answer("water", "a", matrix).stops


def test_each_two_of_several_are_asked_once(matrix: Matrix) -> None:
    assert [(one.first, one.second) for one in answers_among(["a", "b", "a", "c"], matrix)] == [
        ("a", "b"),
        ("a", "c"),
        ("b", "c"),
    ]


def test_two_rules_for_one_pair_and_a_name_written_twice_are_refused() -> None:
    with pytest.raises(ValueError, match="two rules"):
        matrix_of([], [], [_rule("x", "y", "thin"), _rule("y", "x", "forbidden")])
    with pytest.raises(ValueError, match="twice"):
        matrix_of([_substance("a", "x"), _substance("a", "y")], [], [])
