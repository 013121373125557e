"""Every number on paper is a figure of the JSON, of what was written or of a limit, rounded to its safe side.

Two layers: by name, the number in these words on this sheet says that path of the JSON and no other; and a sweep,
nothing on paper that neither JSON, input, limit nor wording explains. Bare numbers on a chart's axes, a stick's marks
and the clock bar's quarter hours are scales, not figures, and are left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import fields, is_dataclass, replace
from functools import lru_cache
from io import BytesIO
from typing import Any

import pytest
from reportlab.pdfgen.canvas import Canvas

from planner import __version__
from planner.contract.plan import job_json
from planner.packet.blocks import Marked, Section, WriteIn
from planner.packet.pages.boxes import MarkedFigure
from planner.packet.pages.fonts import register
from planner.units import System
from tests.packet.figures.jobs import (
    ALONE,
    CASES,
    SYSTEMS,
    figures_in,
    figures_of,
    job_of,
    known_of,
    packet_of,
    wording_of,
)
from tests.packet.figures.known import Known, explained, nudged, number_of, says
from tests.packet.figures.named import NAMED, Named, allowed, named
from tests.packet.figures.read import Figure, Phrase, figures, marks_of_scales, numbers_painted, numbers_said
from tests.sampled import in_ci


def _meant(figure: Figure, name: str, system: System) -> tuple[Named | None, list[Known]]:
    """The row that names the figure, and of all that is known what it then may say."""
    owner = ("basis.", "change[", "strain[", "power[")
    where = ("told",)  # pages and steps, where one is named
    sums = ("near[", "sum.")  # the summary's alone
    elsewhere = {"differs": (*owner, *sums), "worksheet": ("table.", *sums), "summary": ("table.",)}.get(
        figure.sheet, (*owner, *sums, "table.")
    )
    known = [one for one in known_of(name, system) if not one.name.startswith(elsewhere)]
    known += wording_of(figure.sheet, system)
    figure = _by_name(figure, name)
    row = named(figure)
    return row, allowed(figure, row, known) if row is not None else [
        one for one in known if not one.name.startswith(where)
    ]


def _by_name(figure: Figure, name: str) -> Figure:
    """The figure with its wall in the row's words by its name, as the JSON has it: pages call it by its side."""
    for surface in job_of(name).plan.input.surfaces:
        if surface.side and figure.row.startswith(surface.side):
            return replace(figure, row=f"{surface.name}{figure.row.removeprefix(surface.side)}")
    return figure


@lru_cache(maxsize=8)
def _sentences(name: str, system: System) -> tuple[str, ...]:
    """How findings say what they found, their numbers left out; among many the card has the first clause alone."""
    said = [found["message"].partition("; ")[0] for found in job_json(job_of(name), system)["findings"]]
    whole = figures([Phrase(sheet="", text=text) for text in said], (), lambda _: False)
    return tuple(dict.fromkeys(one.words.rstrip(".") for one in whole))


def wrong(name: str, system: System, sections: Iterable[Section]) -> list[str]:
    """Every number of the sheets that says nothing known, not what its words say it is, or misquotes a finding."""
    return [
        str(one)
        for one in figures_in(name, system, sections)
        if not explained(one, _meant(one, name, system)[1]) or one.words.startswith(_sentences(name, system))
    ]


SOME = [case if n % 16 in (0, 5) else in_ci(case) for n, case in enumerate(CASES)]
"""Two jobs in eight, washes and one of the yard, in one of the two systems turn about; the others in CI."""

ALONE_SOME = [case if case in SOME else in_ci(case) for case in ((job, system) for job in ALONE for system in SYSTEMS)]
"""Of jobs of one run, those that are read above."""


@pytest.mark.ci
@pytest.mark.parametrize(("name", "system"), SOME)
def test_every_number_on_paper_is_a_known_figure_rounded_to_its_safe_side(name: str, system: System) -> None:
    found = [str(one) for one in figures_of(name, system) if not explained(one, _meant(one, name, system)[1])]
    assert not found, "\n".join(found)


@pytest.mark.ci
@pytest.mark.parametrize(("name", "system"), SOME)
def test_the_numbers_painted_are_those_that_were_read(name: str, system: System) -> None:
    packet = packet_of(name, system)
    said, painted = numbers_said(packet.sections), numbers_painted(*packet.pdfs)
    plan = job_of(name).plan
    surely = numbers_said(packet.sections, surely=True)
    assert not {token for token in surely if token not in painted}
    # The running head holds the date, the plan's number and the version, the foot the pages, the band the JSON's words.
    head = " ".join([str(plan.input.date or ""), plan.hash, __version__, plan.id, *(str(n) for n in range(1, 60))])
    own = " ".join(
        str(found[key]) for found in job_json(job_of(name), system)["findings"] for key in ("message", "remedy")
    )
    chrome = set(re.findall(r"\d+[\d.,:/]*", f"{head} {own}")) | set(re.findall(r"\d+", head))
    strange = {token for token in painted if token not in said and token.rstrip(".") not in chrome}
    assert not (strange and strange - marks_of_scales(packet.sections))


@pytest.mark.ci
def test_every_name_of_the_table_is_met_on_some_page() -> None:
    met = {named(one) for name, system in CASES for one in figures_of(name, system)}
    dead = [row for row in NAMED if row not in met]
    assert not dead, "\n".join(f"{row.sheet}: {row.place} {row.words}" for row in dead)


def named_figures(name: str, system: System) -> list[tuple[Figure, Known]]:
    """The figures of a packet that have a name, each with what it says."""
    pairs = []
    for figure in figures_of(name, system):
        row, meant = _meant(figure, name, system)
        if row is not None and figure.nth < len(row.paths):
            pairs.append((figure, explained(figure, meant)[0]))
    return pairs


def passes_one_step_off(name: str, system: System, pairs: list[tuple[Figure, Known]]) -> list[str]:
    """Every one of the named figures that would still pass if it were one step more or less."""
    missed = []
    for figure, known in pairs:
        for steps in (-1, 1):
            number = nudged(figure, known, steps)
            if number is None or number_of(number) == number_of(figure.number):
                continue
            off = Figure(
                sheet=figure.sheet, words=figure.words, row=figure.row, column=figure.column, number=number,
                unit=figure.unit, drawn=figure.drawn, nth=figure.nth,
            )  # fmt: skip
            others = [one.name for one in explained(off, _meant(off, name, system)[1])]
            if others:
                missed.append(f"{off} passes as {others[0]}")
    return missed


@pytest.mark.parametrize(("name", "system"), ALONE_SOME)
@pytest.mark.ci
def test_a_named_figure_one_step_off_is_found(name: str, system: System) -> None:
    pairs = named_figures(name, system)
    assert len(pairs) > 50
    missed = passes_one_step_off(name, system, pairs)
    assert not missed, "\n".join(missed)


def _altered(section: Section, old: str, new: str, at: int) -> Section:
    """The sheet with its `at`-th phrase holding `old` saying `new` instead."""
    count = 0

    def change(part: Any) -> Any:
        nonlocal count
        if isinstance(part, str):
            if old in part:
                count += 1
                return part.replace(old, new) if count == at + 1 else part
            return part
        if isinstance(part, tuple):
            return tuple(change(one) for one in part)
        if isinstance(part, WriteIn):
            return replace(part, planned=change(part.planned))
        if is_dataclass(part) and not isinstance(part, type):
            return replace(part, **{f.name: change(getattr(part, f.name)) for f in fields(part)})
        return part

    return replace(section, blocks=change(section.blocks))


@pytest.mark.ci
@pytest.mark.parametrize(
    ("name", "system", "old", "new"),
    [
        ("2026-06-09/10-millrace", "us", "730", "720"),
        ("2026-06-09/10-millrace", "us", "6 7/8", "6 3/4"),
        in_ci(("2026-06-09/10-millrace", "us", "2.1", "2.2")),
        in_ci(("2026-06-09/10-millrace", "us", "346", "345")),
        in_ci(("2026-06-09/10-millrace", "si", "3.4 bar", "3.5 bar")),
        ("Ferris Court", "us", "16 1/2", "17"),
        in_ci(("Alder Lane", "us", "27 ft", "26 ft")),
    ],
)
def test_a_page_altered_by_one_step_is_found(name: str, system: System, old: str, new: str) -> None:
    sections = packet_of(name, system).sections
    tried = 0
    for section in sections:
        for at in range(30):
            changed = _altered(section, old, new, at)
            if changed == section:
                break
            tried += 1
            assert wrong(name, system, [changed]), f"{old} as {new} on the sheet {section.key}"
    assert tried


@pytest.mark.parametrize(("name", "system"), ALONE_SOME)
def test_the_line_s_picture_reads_each_joint_of_the_json_in_order(name: str, system: System) -> None:
    said = [
        one
        for one in figures_of(name, system)
        if one.sheet == "set_up" and one.drawn and one.words == "#" and one.unit in ("psi", "bar")
    ]
    (run,) = job_json(job_of(name), system)["runs"]
    readings = [joint[key] for joint in run["joints"] for key in ("open_pa", "closed_pa")]
    assert len(said) == len(readings)
    for figure, reading in zip(said, readings, strict=True):
        assert says(figure, Known(name="", value=reading, family="pressure")), f"{figure} for {reading:.0f} Pa"  # type: ignore[arg-type]


@pytest.mark.parametrize("framed", [False, True])
@pytest.mark.parametrize("text", ["5.0", "12.8"])
def test_a_marked_figure_stands_whole_in_a_column_too_narrow_for_its_octagon(text: str, framed: bool) -> None:
    register()
    file = BytesIO()
    canvas = Canvas(file, invariant=1)
    figure = MarkedFigure(Marked(text=text, level="stop", framed=framed))
    figure.wrap(27.0, 20.0)
    figure.drawOn(canvas, 100.0, 400.0)
    canvas.save()
    assert numbers_painted(file.getvalue())[text] == 1
