"""Somebody's text on its way to the page."""

from __future__ import annotations

import re

import pytest
from reportlab.pdfbase import pdfmetrics

from planner.inputs.reading.letters import letters, loses, printable
from planner.packet.blocks import said
from planner.packet.pages.fonts import _FILES, BOLD, fitted, markup, register, width, wrapped
from planner.packet.pages.paragraphs import paragraph


@pytest.mark.parametrize(
    ("written", "printed"),
    [
        ("Smith <Offices> & Sons", "Smith <Offices> & Sons"),
        ("Łódź, Δ, Жук, ơ", "Łódź, Δ, Жук, ơ"),
        ("e\u0301", "é"),
        ("left\u202eright\u2066\u200b\u200f", "leftright"),
        ("a\x00b\x07c\x1b", "abc"),
        ("one\ntwo\tthree", "one two three"),
        ("１２ ｆｔ", "12 ft"),
        ("山田", "??"),
        ("\ufffd", "?"),
        ("\ud800x", "x"),
        ("non\u2011breaking", "non-breaking"),
    ],
)
def test_only_what_the_typeface_can_draw_is_printed(written: str, printed: str) -> None:
    assert printable(written) == printed


def test_lost_letters_are_known_to_be_lost() -> None:
    assert loses("山田")
    assert not loses("Which tap?")


def test_markup_is_escaped_and_numbers_keep_their_unit() -> None:
    assert markup('<img src="x"> & 12 ft', 11) == '&lt;img src="x"&gt; &amp; 12\u00a0ft'


def test_a_fraction_is_set_apart_and_never_under_ten_points() -> None:
    assert markup("17 1/8 in", 15) == ('17<font size="12.00">\u00a0</font><font size="12.60">1/8</font>\u00a0in')
    assert 'size="10.00">3/4' in markup("3/4 in", 11)
    assert "font" not in markup("24/7 and 6/12", 11)


def test_a_paragraph_prints_markup_as_letters() -> None:
    text = paragraph(said('<b>x</b> <img src="file:///etc/passwd"/> &amp; </para>'), "body")
    words = re.sub(r"\s+", " ", text.getPlainText())
    assert words == '<b>x</b> <img src="file:///etc/passwd"/> &amp; </para>'


def test_a_long_name_shrinks_and_then_ends_in_dots() -> None:
    short, size = fitted("Boathouse", BOLD, 200, 13)
    assert (short, size) == ("Boathouse", 13)
    text, size = fitted("Boathouse " * 30, BOLD, 200, 13)
    assert size == 10
    assert text.endswith("…")
    assert width(text, BOLD, size) <= 200


def test_wrapped_lines_fit_their_room() -> None:
    lines = wrapped("red and green and a Donaudampfschifffahrtsgesellschaft", BOLD, 10, 60, 3)
    assert len(lines) == 3
    assert all(width(line, BOLD, 10) <= 60 for line in lines)


def test_the_table_of_letters_is_the_fonts_own() -> None:
    register()
    drawn = [set(pdfmetrics.getFont(name).face.charToGlyph) for name in _FILES]
    assert letters() == set.intersection(*drawn), "make data/letters.yaml anew from what every weight can draw"
