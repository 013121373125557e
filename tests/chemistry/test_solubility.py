"""What water takes up of each dry chemical, and what hydrates bring of their own water."""

from __future__ import annotations

from itertools import pairwise

import pytest
from molmass import Formula

from planner.chemistry.solutions import solubility
from planner.inputs.tables.chemicals import CHEMICALS, DRY
from planner.inputs.tables.rows import rows

# g of anhydrous substance in 100 g of water at 0, 10, 20, 30 C, as handbooks print them (from memory).
OXALIC = {0: 3.5, 10: 6.1, 20: 9.5, 30: 14.2}
THIOSULFATE = {0: 50.2, 10: 59.7, 20: 70.1}


def test_every_dry_chemical_has_a_row_with_its_source() -> None:
    sources = {row["name"]: row["dissolves"] for row in rows("chemicals")}
    for name in DRY:
        row = CHEMICALS[name]
        assert row.form == "dry"
        assert row.dissolves, name
        assert len(sources[name]["source"]) > 10, name
        assert [celsius for celsius, _ in row.dissolves] == sorted(celsius for celsius, _ in row.dissolves)


def test_only_lime_dissolves_less_in_warmer_water() -> None:
    for name in DRY:
        falls = any(warm < cold for (_, cold), (_, warm) in pairwise(CHEMICALS[name].dissolves))
        assert falls == (name == "lime"), name


@pytest.mark.parametrize(
    ("name", "table", "dry", "crystals"),
    [("oxalic", OXALIC, "C2H2O4", "C2H6O6"), ("thiosulfate", THIOSULFATE, "Na2S2O3", "Na2S2O8H10")],
)
def test_rows_of_a_hydrate_follow_from_the_anhydrous_figures(
    name: str, table: dict[int, float], dry: str, crystals: str
) -> None:
    share = Formula(dry).mass / Formula(crystals).mass
    for celsius, grams in table.items():
        ours = solubility(CHEMICALS[name].dissolves, 273.15 + celsius)
        # A gram of crystals holds `share` of it and brings the rest as water of its own.
        crystals_in_a_litre = 10.0 * grams / (share - 10.0 * grams / 1000.0 * (1.0 - share))
        assert ours == pytest.approx(crystals_in_a_litre, rel=0.02)


def test_between_rows_it_is_straight_and_beyond_them_the_end_row_holds() -> None:
    known = ((0.0, 70.0), (10.0, 125.0), (20.0, 215.0))
    assert solubility(known, 273.15 + 15) == pytest.approx(170.0)
    assert solubility(known, 273.15 - 5) == 70.0
    assert solubility(known, 273.15 + 60) == 215.0
    assert solubility(known, 273.15 + 10) == pytest.approx(125.0)


def test_nothing_is_said_of_no_rows() -> None:
    with pytest.raises(ValueError, match="no solubility"):
        solubility((), 293.15)
