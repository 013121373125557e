"""What is near, as the crew reads it: what is on file is never said to be nothing."""

from __future__ import annotations

from tests.packet.sections.said import said

BEDS = "job: {near: {flower_beds: 100 ft2, fish_pond: null, storm_drain: null, cars: null, downspouts: null}}"


def test_beds_on_file_are_named_where_nothing_else_is_near() -> None:
    page = said("near", BEDS)
    assert "Beds on file: 100 ft2. No pond, well, drain or car is on file" in page
    assert "Nothing is on file" not in page
    assert "Food" not in page


def test_beds_with_food_are_said_to_the_crew_and_to_the_customer() -> None:
    food = BEDS.replace("flower_beds", "food: true, flower_beds")
    assert "Food grows in the beds. Cover it or have it picked before mix goes on" in said("near", food)
    assert "Throw away food from the beds that got wet" in said("notice", food)
    assert "Throw away food" not in said("notice", BEDS)
