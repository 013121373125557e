"""The table of hazards and the signs: every row sourced, every sign drawn, a mix never taken for a drum."""

from __future__ import annotations

import pytest
from reportlab.graphics.shapes import Group

from planner.inputs.chemicals import CHEMICALS
from planner.inputs.rows import rows, table
from planner.inputs.tables import limit_rows
from planner.packet.drawings.ghs import sign
from planner.packet.hazards import SIGNS, chemical_hazards, first_aid, hazard_of, place_hazards, statements

PARTS = tuple(table("hazards"))


@pytest.mark.parametrize("part", PARTS)
def test_every_row_says_where_it_comes_from(part):
    assert rows("hazards", part)
    for row in rows("hazards", part):
        assert len(row["source"]) >= len("from memory"), row


def test_every_chemical_a_lot_can_hold_has_a_row_for_its_container():
    for name in {row.name for row in CHEMICALS.values()}:
        assert hazard_of(name, "stock") is not None, name


def test_every_statement_has_its_words_and_every_sign_is_drawn():
    for row in chemical_hazards():
        assert set(row.says) <= set(statements())
        assert set(row.signs) <= set(SIGNS)
        assert row.wear
        assert row.does


def test_signs_follow_from_the_statements():
    for row in chemical_hazards():
        corrodes = {"H290", "H314", "H318"} & set(row.says)
        assert ("corrosion" in row.signs) == bool(corrodes), row
        assert ("environment" in row.signs) == bool({"H400", "H410", "H411"} & set(row.says)), row
        assert ("flame_over_circle" in row.signs) == ("H272" in row.says), row
        if {"H302", "H312", "H335"} & set(row.says) or ({"H315", "H319"} & set(row.says) and not corrodes):
            assert "exclamation" in row.signs, row


def test_a_weak_mix_is_no_drum():
    drum, strong, roof, house, weak = (
        hazard_of("hypochlorite", *form) for form in (("stock", 0.0), ("mix", 45.0), ("mix", 30.0), ("mix", 10.0), ("mix", 5.0))
    )
    assert "H314" in drum.says
    assert strong == roof
    assert "H314" not in roof.says
    assert house.signs == ("exclamation",)
    assert weak.signs == ()
    assert "face shield" in drum.wear
    assert "face shield" not in house.wear


def test_a_limit_is_where_the_next_row_begins():
    assert hazard_of("muriatic", "mix", 104.0).least == pytest.approx(104.0)
    assert hazard_of("muriatic", "mix", 103.9).least == 0.0
    assert hazard_of("nothing known", "stock") is None


def test_a_control_names_only_limits_and_what_the_job_has():
    known = {**dict.fromkeys(limit_rows(), "1 ft"), "distance": "x", "pressure": "x", "size": "x", "temperature": "x"}
    for row in place_hazards().values():
        assert "{" not in row["hazard"].format(**known) + row["control"].format(**known)


def test_first_aid_is_for_what_is_there():
    assert [row["route"] for row in first_aid(frozenset({"all"}))] == ["Eyes", "Skin", "Mouth"]
    assert "Dust" not in [row["route"] for row in first_aid(frozenset({"all", "gas", "chlorine"}))]


@pytest.mark.parametrize("name", SIGNS)
def test_a_sign_is_a_black_frame_with_a_symbol_that_stays_inside_it(name):
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


def test_an_unknown_sign_is_an_error_of_ours():
    with pytest.raises(KeyError):
        sign("skull", 20.0)
    assert isinstance(sign("corrosion", 20.0).contents[0], Group)
