"""Templates as somebody at a desk writes them, slips and malice included."""

from __future__ import annotations

from typing import Any

import pytest

from planner.faults import Fault
from planner.packet.blocks import Bullet, Caution, Heading, Hold, Section, Span, Step, Text, Two, said
from planner.packet.sandbox import TemplateRefused, escaped, filled
from planner.packet.wording import section_from

pytestmark = pytest.mark.short


def page(source: str, values: dict[str, Any] | None = None, places: Any = None) -> Section:
    return section_from("trial", f"# Trial: here\n\n{source}", values or {}, places or {})


def refusal(source: str, values: dict[str, Any] | None = None) -> Fault:
    with pytest.raises(TemplateRefused) as caught:
        page(source, values)
    return caught.value.fault


def test_a_step_keeps_its_number_and_its_caution() -> None:
    blocks = page("- [ ] Fill to **14 1/4 in**.\n  > Never over the mark.\n").blocks
    expected = (Span(text="Fill to "), Span(text="14 1/4 in", strong=True), Span(text="."))
    assert blocks == (Step(spans=expected, caution=said("Never over the mark.")),)


def test_every_mark_of_the_template_becomes_its_block() -> None:
    source = "## Head\n\nWords\nrun on.\n\n> Mind it.\n\n- read me\n- [ ] tick me\n"
    source += "- [hold] Before power: Primed? **2 min** run?\n"
    blocks = page(source).blocks
    assert blocks == (
        Heading(spans=said("Head")),
        Text(spans=said("Words run on.")),
        Caution(spans=said("Mind it.")),
        Bullet(spans=said("read me")),
        Step(spans=said("tick me")),
        Hold(
            title="Before power", questions=(Span(text="Primed? "), Span(text="2 min", strong=True), Span(text=" run?"))
        ),
    )


def test_the_sheet_takes_its_name_and_place_from_the_first_line() -> None:
    section = page("Words.")
    assert (section.title, section.place) == ("Trial", "here")


def test_columns_and_drawings_stand_where_the_template_puts_them() -> None:
    places = {"wall": (Text(spans=said("wall")),)}
    blocks = page("@two 7 5\n\n@wall\n\n@beside\n\nright\n\n@end\n", places=places).blocks
    assert blocks == (Two(left=places["wall"], right=(Text(spans=said("right")),), split=(7, 5)),)


HOSTILE = [
    "**bold** _it_ `code`", "1. list", "- [ ] tick", "# head", "> quote", "@wall", "![x](file:///etc/passwd)",
    '<img src="file:///etc/passwd">', "[a](http://b)", "{{ 7*7 }} {% for %}", "&lt; &#64; \\* ~~x~~ | a | b |", "---",
    "Smith <Offices> & Sons", "***", "a\n\n# b\n\n- [ ] c", "http://a.example", "    indented", "```\ncode\n```",
]  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_what_somebody_wrote_is_printed_and_never_obeyed(name: str) -> None:
    plain = " ".join(name.split())
    assert page("{{ name }}\n", {"name": name}, {"wall": ()}).blocks == (Text(spans=said(plain)),)
    assert page("- [ ] Call {{ name }}.\n", {"name": name}).blocks == (Step(spans=said(f"Call {plain}.")),)


@pytest.mark.parametrize(
    "source",
    [
        "*slanted*\n", "### too deep\n", "1. counted\n", "- [ ] a\n  - b\n", "- plain\n  > caution\n", "@nowhere\n",
        "@two 7 6\n", "@two 7 5\n\nleft\n", "@end\n", "> - list in a caution\n", "- [ ] a\n\n      > far\n\n  more\n",
    ],
)  # fmt: skip
def test_what_a_page_has_no_use_for_is_refused_by_the_name_of_the_template(source: str) -> None:
    fault = refusal(source)
    assert fault.code == "template.wording"
    assert fault.where.file == "trial.md"
    assert fault.remedy


def test_html_and_pictures_in_a_template_are_only_letters() -> None:
    source = '<b>x</b> <img src="file:///etc/passwd"> ![p](file:///etc/passwd) [l](http://x)\n'
    (block,) = page(source).blocks
    assert block == Text(spans=said(source.strip()))


@pytest.mark.parametrize(
    "attack",
    [
        "{{ ''.__class__ }}", "{{ name.__class__.__mro__ }}", "{{ name.upper() }}", "{{ things.pop() }}",
        "{{ run.items }}", "{{ name.format(1) }}", "{% include '/etc/passwd' %}", "{% import 'os' as os %}",
        "{% extends 'card.md' %}", "{% from 'x' import y %}", "{% block a %}{% endblock %}", "{{ self }}",
        "{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}", "{{ lipsum(9999) }}",
        "{{ cycler('a') }}", "{{ range(201) }}",
        "{% for n in range(100000) %}x{% endfor %}", "{{ 'a' * 1000000000 }}",
        "{{ ('a' * 9) * 9 }}", "{{ 10 ** 10 }}", "{{ 1" + "+1" * 30_000 + " }}", "{{ " + "(" * 9_000 + "1" + ")" * 9_000 + " }}",
        "{{ " + "not " * 9_000 + "1 }}", "{{ " + "9" * 50_000 + " }}", "{% if 1 %}" * 150 + "x" + "{% endif %}" * 150,
        "{% for a in range(1) %}" * 30 + "x" + "{% endfor %}" * 30, "{% macro m() %}" * 2_000 + "{% endmacro %}" * 2_000,
        "{% include 'x' %}" * 500, "{{ 1" + " if 1 else 1" * 4_000 + " }}", "{{ " + "a" * 60_000 + " }}",
        "{{ 'a' ~ 'a' }}", "{{ '%99999999d' % 1 }}", "{{ name|center(999999999) }}", "{{ [1] * 99999999 }}",
        "{% set a = 'x' %}", "{% set a %}x{% endset %}", "{% filter upper %}x{% endfilter %}", "{{ things }}",
        "{{ missing }}", "{{ run.missing }}", "{{ things[99] }}", "{{ name[0] }}", "{{ 1 / 0 }}", "{% if %}",
        "{{ name",
        "{{ range }}",
        "{{ 999999999999 * 999999999999 }}", "{{ things|counted }}", "{% for a in name %}",
        "{% for a in things recursive %}{{ loop(things) }}{% endfor %}", "{{ loop.index }}", "{{ name|tojson }}",
        "{% for a in range(99) %}{% for b in range(99) %}{% for c in range(99) %}x{% endfor %}{% endfor %}{% endfor %}",
        "{{ " + "(" * 3000 + "1" + ")" * 3000 + " }}", "x" * 64_001, "{{ - name }}", "{{ caller() }}", "{{ varargs }}",
    ],
)  # fmt: skip
def test_a_hostile_template_is_refused(attack: str) -> None:
    fault = refusal(attack, {"name": "abc", "things": [1, 2], "run": {"a": 1}})
    assert fault.where.file == "trial.md"
    assert "passwd" not in fault.message or "include" in fault.message


def test_a_page_that_would_never_end_is_refused() -> None:
    block = "x" * 51
    source = "{% for n in range(200) %}{% for m in range(20) %}" + block + "{% endfor %}{% endfor %}"
    with pytest.raises(TemplateRefused, match="too long"):
        filled("trial", source, {})


def test_arithmetic_on_numbers_and_counted_loops_work() -> None:
    source = "{% for n in range(1, 4) %}{{ n * 2 + 1 }}{% if not loop.last %}, {% endif %}{% endfor %}"
    assert filled("trial", source, {}) == "3, 5, 7"


def test_a_truth_is_asked_for_as_yes_or_no_and_what_is_not_known_is_neither() -> None:
    source = '{% for on in rows %}{% if on == "yes" %}y{% elif on == "no" %}n{% else %}?{% endif %}{% endfor %}'
    assert filled("trial", source, {"rows": [True, False, None, ""]}) == "yn??"


def test_a_refusal_names_the_line() -> None:
    fault = refusal("Words.\n\n{% set a = 1 %}\n")
    assert fault.where.line == 5


def test_escaping_leaves_letters_alone() -> None:
    assert escaped("Æ 12 ft") == "Æ 12 ft"


def test_a_directive_right_under_a_step_is_still_one() -> None:
    places = {"wall": (Text(spans=said("wall")),)}
    assert page("- [ ] one\n  > mind\n@wall\n", places=places).blocks == (
        Step(spans=said("one"), caution=said("mind")), places["wall"][0],
    )  # fmt: skip
