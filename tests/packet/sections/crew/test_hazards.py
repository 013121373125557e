"""The table of hazards and the signs: every row sourced, every sign drawn, a mix never taken for a drum."""

from __future__ import annotations

from typing import Any

import pytest
from reportlab.graphics.shapes import Group

from planner.checks.model import CheckedJob
from planner.chemistry import acids, hypochlorite
from planner.inputs.tables.chemicals import CHEMICALS
from planner.inputs.tables.rows import rows, table
from planner.inputs.tables.whole import limit_rows
from planner.packet.drawings.symbols import sign
from planner.packet.sections.crew.safety import forms_of
from planner.words.hazards import (
    chemical_hazards,
    first_aid,
    hazard_of,
    place_hazards,
    statements,
)
from planner.words.spoken import Words
from tests.packet.builders import ACID, written

PARTS = tuple(table("hazards"))

SIGNS = ("corrosion", "exclamation", "environment", "flame_over_circle")


@pytest.mark.parametrize("part", PARTS)
def test_every_row_says_where_it_comes_from(part: Any) -> None:
    assert rows("hazards", part)
    for row in rows("hazards", part):
        assert len(row["source"]) >= len("from memory"), row


def test_every_chemical_a_lot_can_hold_has_a_row_for_its_container() -> None:
    for name in {row.name for row in CHEMICALS.values()}:
        assert hazard_of(name, "stock") is not None, name


def test_every_statement_has_its_words_and_every_sign_is_drawn() -> None:
    assert {name for row in chemical_hazards() for name in row.signs} == set(SIGNS)
    for row in chemical_hazards():
        assert set(row.says) <= set(statements())
        assert row.wear
        assert row.does


def test_signs_follow_from_the_statements() -> None:
    for row in chemical_hazards():
        corrodes = {"H290", "H314", "H318"} & set(row.says)
        assert ("corrosion" in row.signs) == bool(corrodes), row
        assert ("environment" in row.signs) == bool({"H400", "H410", "H411"} & set(row.says)), row
        assert ("flame_over_circle" in row.signs) == ("H272" in row.says), row
        if {"H302", "H312", "H335"} & set(row.says) or ({"H315", "H319"} & set(row.says) and not corrodes):
            assert "exclamation" in row.signs, row


def test_a_weak_mix_is_no_drum() -> None:
    drum, strong, roof, house, weak = (
        hazard_of("hypochlorite", *form)
        for form in (("stock", 125.0), ("mix", 45.0), ("mix", 30.0), ("mix", 10.0), ("mix", 5.0))
    )
    assert "H314" in drum.says
    assert strong == roof
    assert "H314" not in roof.says
    assert house.signs == ("exclamation",)
    assert weak.signs == ()
    assert "face shield" in drum.wear
    assert "face shield" not in house.wear


@pytest.mark.parametrize(
    ("chemical", "form", "limit", "below", "at"),
    [
        ("hypochlorite", "mix", 9.5, {"H412"}, {"H315", "H319"}),
        ("hypochlorite", "mix", 24.0, {"H412"}, {"H400", "H411"}),
        ("hypochlorite", "mix", 29.0, {"H319"}, {"H318"}),
        ("hypochlorite", "mix", 50.0, {"H318"}, {"H314", "EUH031"}),
        ("hypochlorite", "stock", 50.0, {"H318"}, {"H314", "EUH031", "H290"}),
        ("muriatic", "mix", 104.0, {"H290"}, {"H315", "H319", "H335"}),
        ("muriatic", "mix", 280.0, {"H319"}, {"H314", "H318"}),
        ("muriatic", "stock", 280.0, {"H319"}, {"H314", "H318"}),
        ("caustic", "mix", 20.0, {"H315"}, {"H314"}),
        ("oxalic", "mix", 30.0, {"H319"}, {"H318"}),
    ],
)
def test_a_limit_is_where_the_next_row_begins(
    chemical: str, form: str, limit: float | None, below: Any, at: Any
) -> None:
    """Limits in the active as sold; the general and harmonised limits they stand for are from memory (see the rows)."""
    weaker, there = hazard_of(chemical, form, limit * 0.999), hazard_of(chemical, form, limit)
    assert there.least == pytest.approx(limit)
    assert below <= set(weaker.says)
    assert at <= set(there.says)
    assert not at & set(weaker.says)
    assert hazard_of(chemical, form, limit * (1 - 1e-12)) == there


def test_the_limits_stand_for_round_percents_by_weight_and_lie_on_the_safe_side() -> None:
    for strength, percent in ((9.5, 1.0), (24.0, 2.5), (29.0, 3.0), (50.0, 5.0)):
        exact = hypochlorite.from_wt_naocl(percent, 0.0)
        assert 0.97 * exact < strength <= exact
    for strength, percent in ((104.0, 10.0), (280.0, 25.0)):
        assert 0.99 * acids.from_label(percent, "wt") < strength <= acids.from_label(percent, "wt")


def test_a_strength_nobody_knows_is_taken_for_the_strongest() -> None:
    for name in {row.name for row in CHEMICALS.values()}:
        rows_of = [row for row in chemical_hazards() if row.chemical == name and row.form == "stock"]
        assert hazard_of(name, "stock") == max(rows_of, key=lambda row: row.least)
    assert hazard_of("nothing known", "stock") is None


@pytest.mark.ci
def test_stock_mix_and_heel_are_each_worn_for_by_their_own_strength() -> None:
    weak = "stock: {lots: [{name: jug, chemical: bleach, strength: 4 trade %, container: 1 gal}]}"
    strong = written("job: {chemicals: [{stock: bleach, strength: 1 %}], hose_runs: {0: {dosing: panel}}}")
    house = written(weak, "job: {chemicals: [{stock: bleach, strength: 0.3 %}], hose_runs: {0: {dosing: panel}}}")

    def rows_of(job: CheckedJob) -> dict[tuple[Any, ...], Any]:
        return {
            (form, strength): hazard_of(chemical, form, strength).says
            for _, chemical, form, strength in forms_of(job.plan)
        }

    assert any("H314" in says for (form, _), says in rows_of(strong).items() if form == "stock")
    assert not any("H314" in says for says in rows_of(house).values())
    # A label may be 15 percent under what is in the jug.
    assert next(strength for form, strength in rows_of(house) if form == "stock") == pytest.approx(46.0)

    acid = written(ACID, "day: {heels: {mix: {stock: bleach, strength: 1 %, volume: 2 gal}}}")
    (heel,) = [one for one in forms_of(acid.plan) if one[1] == "hypochlorite"]
    assert (heel[2], heel[3]) == ("mix", pytest.approx(10.0))


def test_a_control_names_only_limits_and_what_the_job_has() -> None:
    known = {
        **dict.fromkeys(limit_rows(), Words("1 ft", "us")),
        "chlorine": Words("1 ft", "us"),
        "distance": "x",
        "pressure": "x",
        "size": "x",
        "temperature": "x",
        "held": "x",
    }
    for row in place_hazards().values():
        assert "{" not in row["hazard"].format(**known) + row["control"].format(**known)


def test_first_aid_is_for_what_is_there() -> None:
    assert [row["route"] for row in first_aid(frozenset({"all"}))] == ["Eyes", "Skin", "Mouth"]
    assert "Dust" not in [row["route"] for row in first_aid(frozenset({"all", "gas", "chlorine"}))]


@pytest.mark.parametrize("name", SIGNS)
def test_a_sign_is_a_black_frame_with_a_symbol_that_stays_inside_it(name: str) -> None:
    drawn = sign(name, 72.0)
    assert (drawn.width, drawn.height) == (72.0, 72.0)
    frame, *symbol = drawn.contents[0].contents
    assert frame.fillColor.rgb() == (1, 1, 1)
    assert frame.strokeColor.rgb() == (0, 0, 0)
    corners = 0
    for shape in symbol:
        for x0, y0, x1, y1 in [shape.getBounds()]:
            for x, y in ((x0, (y0 + y1) / 2), (x1, (y0 + y1) / 2), ((x0 + x1) / 2, y0), ((x0 + x1) / 2, y1)):
                assert abs(x - 50) + abs(y - 50) < 46.5, (name, type(shape).__name__, x, y)
                corners += 1
    assert corners >= 4


def test_an_unknown_sign_is_an_error_of_ours() -> None:
    with pytest.raises(KeyError):
        sign("skull", 20.0)
    assert isinstance(sign("corrosion", 20.0).contents[0], Group)
