"""The owner's summary: what is closest to its limit, sums that add up, and money only where it is written."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Any

import pytest
import yaml

from planner.checks.model import CHECKS
from planner.inputs.models.company import Lot
from planner.locate import data_file
from planner.packet.blocks import Span, Table, Verdict
from planner.packet.book import Book
from planner.packet.sections.owner.sums import adding_up, cost_of_one
from planner.units import System, read
from tests.packet.builders import ROOF, finding, high, job, low_only, quiet, short, written
from tests.packet.figures.jobs import CASES, job_of, owner_of
from tests.packet.figures.known import number_of
from tests.packet.printing import owner_worded
from tests.sampled import in_ci

PRICED = "{company: {pay: 30}, job: {price: $640}, stock: {lots: {0: {cost: 4.10 a gal}}}}"
SOME = [case if n % 16 in (0, 5) else in_ci(case) for n, case in enumerate(CASES)]
"""Every job in one of the two systems of units, turn about; in the other in CI."""


def _book(name: str, system: System) -> Book:
    return owner_of(name, system)


def _tables(book: Book) -> list[Table]:
    """The tables of the summary, in order."""
    return list(_of(book.sections[0].blocks, Table))


def _of(part: Any, kind: type) -> Any:
    if isinstance(part, kind):
        yield part
    elif isinstance(part, tuple):
        for one in part:
            yield from _of(one, kind)
    else:
        for name in ("left", "right"):
            yield from _of(getattr(part, name, ()), kind)


def _text(cell: Any) -> str:
    return cell if isinstance(cell, str) else "".join(span.text for span in cell) if isinstance(cell, tuple) else ""


def _rows(table: Table) -> list[tuple[str, ...]]:
    return [tuple(_text(cell) for cell in row) for row in table.rows]


def _sums(book: Book) -> dict[str, str]:
    """Name and figure of every row of the columns of sums."""
    return {name: figure for table in _tables(book) if not table.head for name, figure in _rows(table)}


@pytest.mark.parametrize(("name", "system"), SOME)
def test_the_summary_is_one_page(name: str, system: System) -> None:
    book = _book(name, system)
    assert [section.key for section in book.sections] == ["summary", "worksheet"]
    assert book.bound.page("summary") == 1
    assert book.bound.page("worksheet") <= 2


@pytest.mark.parametrize(("name", "system"), SOME)
def test_what_is_left_is_what_a_reader_subtracts(name: str, system: System) -> None:
    (table,) = (table for table in _tables(_book(name, system)) if "Limit" in table.head)
    for _, check, figure, limit, said in _rows(table):
        found = re.fullmatch(r"([\d,.]+(?: \d+/\d+)?) (\D+) (?:to spare|over|short)", said)
        if found is not None:
            left = abs(_number(figure) - _number(limit))
            assert number_of(found[1]) == left, check


def _number(text: str) -> Fraction:
    return number_of(re.match(r"[\d,.]+(?: \d+/\d+)?", text)[0])


@pytest.mark.parametrize(("name", "system"), SOME)
def test_water_by_use_adds_up_to_what_the_job_needs(name: str, system: System) -> None:
    tables = [table for table in _tables(_book(name, system)) if not table.head]
    water = [rows for table in tables if (rows := _rows(table))[-1][0].startswith("in all")]
    if not water:
        assert job_of(name).plan.water.need == 0.0
        return
    *uses, (label, total) = water[0]
    whole = sum((number_of(figure) for _, figure in uses), Fraction(0))
    assert whole == number_of(total) or ("up" in label and whole < number_of(total))
    unit = "gal" if system == "us" else "L"
    assert read(f"{total} {unit}", "volume") >= job_of(name).plan.water.need - 1e-9


@pytest.mark.parametrize("amounts", [[0.4, 0.4, 0.4], [3.2], [1.5, 1.5], [0.01, 7.0], [2.0, 3.0], [0.0, 9.99, 0.02]])
def test_parts_are_off_by_less_than_a_step_and_make_the_whole_rounded_up(amounts: list[float]) -> None:
    parts = adding_up(amounts, 1.0)
    assert sum(parts) == math.ceil(sum(amounts) - 1e-6)
    assert all(abs(part - amount) < 1.0 for part, amount in zip(parts, amounts, strict=True))


def test_stops_come_first_then_cautions_then_what_is_in_order_and_closest() -> None:
    stop, caution = short(), low_only("back wall")
    book = owner_worded(job(findings=[caution, *quiet(), stop]))
    (table,) = (table for table in _tables(book) if "Limit" in table.head)
    levels = [row[0].level for row in table.rows]
    assert levels[:2] == ["stop", "caution"]
    assert levels == sorted(levels, key=lambda level: ["stop", "caution", "ok"].index(str(level)))
    first, second, *_ = _rows(table)
    assert first[1:4] == ("Reach, lake side", "24 ft", "31 ft")
    assert second[1:4] == ("Reach, back wall", "30 ft", "31 ft")


def test_more_cautions_than_have_room_are_counted() -> None:
    many = [
        finding("reach.short", f"wall {n}", "caution", "low_only", reach=high(39), low=high(30 - n), needed=high(31))
        for n in range(14)
    ]
    book = owner_worded(job(findings=many))
    whole = " ".join(_text(getattr(block, "spans", "")) for block in book.sections[0].blocks)
    assert re.search(r"\d+ more are under every check\.", whole)


def test_a_held_job_says_what_holds_it() -> None:
    book = owner_worded(job(findings=[short(), *quiet()]))
    (verdict,) = _of(book.sections[0].blocks, Verdict)
    assert verdict.word == "Stop"
    assert "The jet stops 2 ft short" in verdict.items[1].text
    assert book.masthead.line.endswith("held")


@pytest.mark.ci
def test_money_is_there_only_where_it_is_written() -> None:
    bare = " ".join(_sums(owner_worded(written())))
    assert not re.search(r"price|pay|cost", bare)
    found = _sums(owner_worded(written(PRICED)))
    assert found["price"] == "$640"
    hours, minutes = re.fullmatch(r"(\d+) h (\d+) min", found["crew of 2"]).groups()
    pay = int(found["pay"].removeprefix("$"))
    assert pay - 1 <= 30 * (int(hours) + int(minutes) / 60) <= pay + 0.5
    used = read(re.match(r"\S+(?: \d+/\d+)? \S+", found["stock used"])[0].replace(" 1/2", ".5"), "volume")
    cost = int(found["cost of it"].removeprefix("$"))
    assert abs(cost - 4.10 * used / read("1 gal", "volume")) < 1.6
    assert int(found["after pay, chemical"].removeprefix("$")) == 640 - pay - cost


@pytest.mark.ci
@pytest.mark.parametrize(
    "change", ["{company: {pay: 30}, job: {price: 640}}", "{job: {price: 640}, stock: {lots: {0: {cost: 4 a gal}}}}"]
)
def test_what_is_left_of_a_price_is_not_told_where_pay_or_cost_is_missing(change: str) -> None:
    found = _sums(owner_worded(written(change)))
    assert "price" in found
    assert "after pay, chemical" not in found


@pytest.mark.parametrize(
    ("cost", "container", "mass", "by"),
    [
        ("4.10 a gal", None, False, 4.10 / read("1 gal", "volume")), ("$4.10/gal", None, False, 4.10 / read("1 gal", "volume")),
        ("2 dollars per lb", None, True, 2.0 / read("1 lb", "mass")), ("$60", "15 gal", False, 4.0 / read("1 gal", "volume")),
        ("$60", None, False, None), ("cheap", "15 gal", False, None), ("4.10 a gal", None, True, None), (None, "15 gal", False, None),
        ("3 a bucket", None, False, None),
    ],
)  # fmt: skip
def test_a_lots_cost_is_by_its_unit_or_its_container_and_else_is_not_known(
    cost: str | None, container: str | None, mass: bool, by: float | None
) -> None:
    lot = Lot.model_validate(
        {"name": "drum", "chemical": "bleach", "strength": "12.5 trade %", "cost": cost, "container": container}
    )
    assert cost_of_one(lot, mass=mass) == (pytest.approx(by) if by is not None else None)


def test_only_checks_there_are_have_a_row_and_each_pair_is_met_by_a_finding() -> None:
    rows = yaml.safe_load(data_file("closest.yaml").read_text(encoding="utf-8"))
    assert set(rows) <= set(CHECKS)
    for code, pairs in rows.items():
        for pair in pairs:
            assert pair.keys() <= {"figure", "limit", "safe", "span", "none"}, code
            assert pair.get("safe") in ("above", "below") or "none" in pair, code


def test_where_the_figures_come_from_names_what_the_crew_reads() -> None:
    whole = {row[0]: row[1:] for table in _tables(owner_worded(written())) if "Known from" in table.head for row in _rows(table)}  # fmt: skip
    assert whole["Booster as new"] == ("no wear is recorded", "gauge, bucket, jet at the wall")
    assert any(name.startswith("Hypochlorite 10.0 trade %, ") for name in whole)
    roof = owner_worded(written(ROOF))
    assert not any("panel" in _text(cell) for table in _tables(roof) for row in table.rows for cell in row)


def test_a_strong_span_is_a_figure() -> None:
    for table in _tables(owner_worded(written())):
        if not table.head:
            assert all(isinstance(span, Span) and span.strong for row in table.rows for span in row[1])
