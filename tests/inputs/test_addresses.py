"""One place under many spellings, and two places that look alike."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.inputs.reading.addresses import near_place, same_place, telling_word

ALDER = (
    "14 Alder  Lane.", "14, alder lane", "14 ALDER LN", "14 Alder Ln., Fernhill", "14 Alder Ln Fernhill NY 12345",
    "14 Alder-Lane", "0014 Alder Lane", "Fourteen Alder Lane", "No. 14 Alder Lane", "14 Alder Lane, Apt. 2B",
    "14 Alder Lane #3", "# 3, 14 Alder Lane", "Unit B, 14 Alder Lane", "Suite 5 14 Alder Lane", "14 Alder Lane 2nd floor",
    "Smith residence, 14 Alder Lane", "7 Oaks Apartments, 14 Alder Lane", "14 Alder Lane (rear)", "14 Álder Lane",
)  # fmt: skip


@pytest.mark.parametrize("spelled", ALDER)
def test_case_marks_street_type_unit_and_town_are_not_compared(spelled: str) -> None:
    assert same_place(spelled) == same_place("14 Alder Lane")


@pytest.mark.parametrize(
    "spellings",
    [
        ("1 Case Street", "1 Case St", "1 case str.", "One Case Street"),
        ("9 NE 5th Ave", "9 N.E. Fifth Avenue", "9 North East 5th Av", "9 northeast 5th ave"),
        ("3 Mill Rd", "3 Mill Road"),
        ("3 Mill Ct", "3 Mill Court"),
        ("3 Mill Dr", "3 Mill Drive"),
        ("3 Mill Blvd", "3 Mill Boulevard"),
        ("4120 Hwy 9", "4120 Highway 9, Fernhill"),
        ("4120 County Rd 12", "4120 County Road 12", "4120 CR 12", "4120 Co. Rd. 12"),
        ("9 State Route 7", "9 SR 7", "9 State Hwy 7"),
        ("12 US Highway 9", "12 US 9", "12 U.S. Hwy 9", "12 US-9"),
        ("5 Court St", "5 Court Street"),
        ("12 Park Lane Dr", "12 Park Lane Drive"),
        ("7 St. James Ct", "7 Saint James Court"),
        ("10 North St", "10 N. Street"),
        ("14A Alder Lane", "14 A Alder Ln", "14a alder lane"),
        ("3 A Street", "3 A St"),
        ("14 1/2 Alder Lane", "14½ Alder Ln"),
        ("21 Broadway, Apt 3", "21 Broadway"),
        ("14 Alder Lane N", "14 Alder Ln. North"),
        ("Boathouse, Heron Lake Rd", "boathouse Heron Lake Road"),
        ("Twenty-One Case Street", "21 Case St"),
        ("Alder Lane 14", "14 Alder Ln"),
        ("Mühlstraße 3, Fernhill", "mühlstrasse 3"),
    ],
)
def test_one_place_has_many_spellings(spellings: tuple[str, ...]) -> None:
    assert len({same_place(one) for one in spellings}) == 1


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("12 Alder Lane", "14 Alder Lane"),
        ("14 Alder Lane", "14 Alder Court"),
        ("12 Park Lane", "12 Park Lane Drive"),
        ("12 N Main St", "12 S Main St"),
        ("4120 Highway 9", "4120 Highway 12"),
        ("3 A Street", "3 B Street"),
        ("14 Alder Lane", "14A Alder Lane"),
        ("Lot 7, Heron Lake Road", "Lot 8, Heron Lake Road"),
        ("Boathouse, Heron Lake", "Barn, Heron Lake"),
        ("5 1st Street", "5 2nd Street"),
        ("Mühlgasse 3, Fernhill", "Hauptgasse 3, Fernhill"),
        ("Highway 9, Fernhill", "9 Fernhill"),
    ],
)
def test_two_places_are_not_made_one(one: str, other: str) -> None:
    assert same_place(one) != same_place(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("14 Alder Lane", "14 Adler Lane"),
        ("14 Alder Lane", "14 Aldr Ln"),
        ("14 Alder Lane", "14 Alder"),
        ("14 Alder Lane", "14 Alder Court"),
        ("14 Alder Lane", "14 N Alder Lane"),
        ("14 Alder Lane", "1 4 Alder Lane"),
        ("14 Alder Lane", "14A Alder Lane"),
        ("14 Alder Lane", "14-16 Alder Lane"),
        ("14 Alder Lane", "Alder Lane"),
        ("14 Alder Lane", "14 Alderlane"),
        ("14 Mill Race", "14 Millrace"),
        ("Boathouse, Heron Lake", "Boathouse"),
    ],
)
def test_a_slip_of_the_pen_is_asked_about(one: str, other: str) -> None:
    assert near_place(one, other)
    assert near_place(other, one)


@pytest.mark.parametrize(
    ("one", "other", "near"),
    [
        ("12 Alder Lane", "14 Alder Lane", True),
        ("4 Alder Lane", "14 Alder Lane", True),
        ("26 Alder Lane", "14 Alder Lane", False),
        ("41 Alder Lane", "14 Alder Lane", True),
        ("12 Alder Lane", "14 Oak Lane", False),
        ("12 Alder Lane", "14 Elder Court", False),
        ("14 Elm Street", "14 Elk Street", False),
        ("14 Alder Lane", "14 alder ln", False),
    ],
)
def test_neighbors_share_a_gutter_but_are_not_one_site(one: str, other: str, near: bool) -> None:
    assert near_place(one, other, 10.0) is near
    assert near_place(other, one, 10.0) is near


_WORDS = (
    "14",
    "14a",
    "1/2",
    "a",
    "N.",
    "north",
    "Street",
    "ln",
    "Alder",
    "Unit",
    "#",
    "3rd",
    ",",
    "one",
    "Hwy",
    "9",
    "the",
)


def test_an_address_of_endless_digits_is_only_another_address() -> None:
    assert not near_place("9" * 6000 + " Case Street", "1 Case Street", 10.0)


@given(st.one_of(st.text(max_size=40), st.lists(st.sampled_from(_WORDS), max_size=8).map(" ".join)))
def test_what_is_compared_compares_as_the_address_itself(text: str) -> None:
    assert same_place(same_place(text)) == same_place(text)
    assert not near_place(text, text, 10.0)
    assert telling_word(text) in same_place(text)
