"""Figures that cannot be meant, figures that contradict each other, and figures that are only unusual."""

from __future__ import annotations

import typing
from collections.abc import Iterator
from typing import Any

import pytest
from pydantic import ValidationError

from planner.inputs.models import base, bounds, record, yard
from planner.inputs.models.gear import Tip
from planner.inputs.models.quantities import Reads
from planner.inputs.tables.pumps import pump_kinds
from tests.inputs.desk import ALDER, BOATHOUSE, DAY, RIG, STOCK, YARD, Desk

# File, what stood there, what was written instead, and what the remedy offers in its place.
IMPOSSIBLE = [
    (ALDER, "tap: 5 gal in 50 s", "tap: 99999 gal in 50 s", ""),
    (RIG, "name: red 1, bore: 3/4 in, length: 100 ft", "name: red 1, bore: 3/4 in, length: 0.001 ft", ""),
    (RIG, "bore: 0.745 in, length: 100 ft", "bore: 0.745 in, length: 10000 ft", "`100 ft`"),
    (RIG, "supply_hose: {bore: 5/8 in", "supply_hose: {bore: 5/8 ft", "`5/8 in`"),
    (RIG, "bore: 1/2 in, length: 150 ft", "bore: 7.5 in, length: 150 ft", "`0.75 in`"),
    (BOATHOUSE, "temperature: 61 F", "temperature: -5 C", ""),
    (BOATHOUSE, "temperature: 61 F", "temperature: 61 C", "`61 F`"),
    (RIG, "tested: 2026-05-01", "tested: 0001-05-01", ""),
    (STOCK, "made: 2026-05-20", "made: 1026-05-20", ""),
    (STOCK, "on: 2026-06-07", "on: 9026-06-07", ""),
    (RIG, "gfci: true, volts: 120", "gfci: true, volts: 99999", ""),
    (RIG, "[5.5 gpm, 0 psi]", "[55 gpm, 0 psi]", "`5.5 gpm`"),
    (RIG, "empty: 2900 lb", "empty: 0 lb", ""),
    (RIG, "empty: 2900 lb, rated: 7000 lb", "empty: 29 lb, rated: 7000 lb", "`290 lb`"),
    (RIG, "generator: 3500 W", "generator: 3500 kW", "`3.5 kW`"),
    (RIG, "orifice: 1/4 in", "orifice: 2.5 in", "`0.25 in`"),
    (RIG, "condition: 1.0", "condition: 10", "`1`"),
    (RIG, "npsh_required: 8 ft", "npsh_required: 80 ft", "`8 ft`"),
    (DAY, "high: 79 F", "high: 79 C", "`79 F`"),
    (DAY, "rain: 30 %", "rain: 300 %", ""),
    (DAY, "10-boathouse: 25 min", "10-boathouse: 25 h", "`25 min`"),
    (ALDER, "uphill: 4 ft", "uphill: 400 ft", "`40 ft`"),
    (YARD, "throw: 38 ft", "throw: 3800 ft", "`38 ft`"),
    ("surfaces.yaml", "dwell: 3 min", "dwell: 300 h", ""),
    ("surfaces.yaml", "strength: [0.2 trade %, 0.4 trade %]", "strength: [0.2 trade %, 20 trade %]", ""),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "meant"), IMPOSSIBLE, ids=lambda value: str(value)[:40])
def test_a_figure_that_cannot_be_meant_is_one_fault_that_shows_a_likely_one(
    desk: Desk, file: str, old: str, new: str, meant: str
) -> None:
    (fault,) = desk.change(file, old, new).load("2026-06-09").faults
    assert (desk.brief(fault)[0], fault.code) == (file, "quantity.bounds")
    assert fault.remedy
    assert meant in fault.remedy


CONTRADICTIONS = [
    (ALDER, "building: {height: 27 ft}", "building: {height: 2.7 ft}", "building.height"),
    (ALDER, "building: {height: 27 ft}", "building: {height: 8 ft}", "building.height"),
    (BOATHOUSE, "width: 48 ft, height: 22 ft", "width: 48 ft, height: 32 ft", "building.height"),
    (BOATHOUSE, "eave: 18 ft", "eave: 32 ft", "building.height"),
    (DAY, "low: 58 F, high: 79 F", "low: 79 F, high: 58 F", "key.clash"),
    (DAY, "gust: 12 mph", "gust: 6 mph", "key.clash"),
    (RIG, "unloader: 3000 psi", "unloader: 3600 psi", "key.clash"),
    (RIG, "cut_off: 60 psi, height", "cut_off: 60 psi, max_pressure: 50 psi, height", "key.clash"),
    (RIG, "name: red 2,", "name: Red  1,", "name.twice"),
    (RIG, "name: fan 40", "name: Long Throw", "name.twice"),
    (STOCK, "name: soap 2", "name: Drum 14", "name.twice"),
    (STOCK, "name: acid 1", "name: bleach", "name.reserved"),
    ("surfaces.yaml", "cover: [90 ft2/gal, 60 ft2/gal]", "cover: [60 ft2/gal, 90 ft2/gal]", "key.clash"),
    ("surfaces.yaml", "dwell: 3 min", "dwell: [10 min, 5 min]", "key.clash"),
    ("company.yaml", "wind_caution: 8 mph", "wind_caution: 150 mph", "quantity.bounds"),
    ("company.yaml", "wind_caution: 8 mph", "heat_caution: 90 C", "quantity.bounds"),
    (ALDER, "around: 160 ft, height: 18 ft", "area: 2.230 m2", "quantity.point"),
    (STOCK, "container: 55 gal, on_hand: 30 gal", "container: 55 gal, on_hand: 1.040 L", "quantity.point"),
    (RIG, "empty: 2900 lb", "empty: 2.900 kg", "quantity.point"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "code"), CONTRADICTIONS, ids=lambda value: str(value)[:40])
def test_figures_that_contradict_each_other_are_one_fault(desk: Desk, file: str, old: str, new: str, code: str) -> None:
    found = [found for found in desk.change(file, old, new).faults("2026-06-09") if found[2] != "name.unknown"]
    assert [(one[0], one[2]) for one in found] == [(file, code)]


def test_an_area_with_a_point_of_thousands_is_offered_both_ways(desk: Desk) -> None:
    (fault,) = desk.change(ALDER, "around: 160 ft, height: 18 ft", "area: 2.230 m2").load(ALDER).faults
    assert "`2.23 m2`" in fault.remedy
    assert "`2230 m2`" in fault.remedy
    for text in ("2.23 m2", "2,230 m2", "2230 m2", "0.230 acre", "1300.125 m2"):
        path = desk.folder / ALDER
        path.write_text(path.read_text().replace("area: 2.230 m2", f'area: "{text}"'), encoding="utf-8")
        assert desk.faults(ALDER) == [], text
        path.write_text(path.read_text().replace(f'area: "{text}"', "area: 2.230 m2"), encoding="utf-8")


def test_a_day_of_the_year_one_is_a_fault_of_its_folder(desk: Desk) -> None:
    (desk.folder / "2026-06-09").rename(desk.folder / "0026-06-09")
    assert desk.faults("0026-06-09") == [("0026-06-09", 1, "folder.date")]


UNUSUAL = [
    (DAY, "leave_yard: 07:00", "leave_yard: 03:00", "day.leave_yard", None),
    (DAY, "10-boathouse: 25 min", "10-boathouse: 250 min", "day.drive.10-boathouse", "250 s"),
    (STOCK, "drum 14, chemical: bleach, strength: 12.5 trade", "drum 14, chemical: bleach, strength: 1.25 trade",
     "stock.lots[0].strength", "12.5 trade %"),
    (BOATHOUSE, "tip_height: 4 ft", "tip_height: 90 ft", "hose_runs[0].tip_height", "9 ft"),
    (RIG, "[20 gpm, 12 psi]", "[200 gpm, 12 psi]", "rig.pumps[0].curve[5][0]", "20 gpm"),
    ("surfaces.yaml", "rinse: 0.15 gal/ft2", "rinse: 3 gal/ft2", "surfaces.surfaces[0].rinse", "0.3 gal/ft2"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "path", "meant"), UNUSUAL, ids=lambda value: str(value)[:40])
def test_an_unusual_figure_is_told_at_its_place(
    desk: Desk, file: str, old: str, new: str, path: str, meant: str | None
) -> None:
    assert desk.job(BOATHOUSE).unusual == ()
    (found,) = desk.change(file, old, new).job(BOATHOUSE).unusual
    assert (found.path, found.meant) == (path, meant)
    assert found.where.file.endswith(file)


def _models(of: type[Any]) -> Iterator[type[Any]]:
    for model in of.__subclasses__():
        yield model
        yield from _models(model)


def _readers(kind: Any) -> Iterator[Any]:
    if isinstance(kind, Reads):
        yield kind
    for part in (*typing.get_args(kind), *getattr(kind, "__metadata__", ())):
        yield from _readers(part)


WORDS = {"text", "a name", "yes or no", "a chemical's name", "a bath", "a reason", "a material", "a person", "a latitude",
         "a direction"}  # fmt: skip
"""What is no figure, or none beyond its own reader's ends; a bath has its own bounds in inputs/models/yard.py."""


def test_every_key_with_a_figure_has_its_row() -> None:
    known = {(row.key, name) for row in bounds.bound_rows() for name in (row.of or ("",))}
    missing, named = set(), set()
    for model in _models(base.Written):
        if model.__module__.endswith("models.record"):
            continue  # held against its plan by recording/doubts.py
        named |= {model.what}
        for name, field in model.model_fields.items():
            kinds = [one.article for one in _readers(field.annotation)] + [
                one.article for one in field.metadata if isinstance(one, Reads)
            ]
            if model.what == "this" or set(kinds) <= WORDS or name in ("records", "remembered"):
                continue
            owners = {"", model.what, *pump_kinds(), "hypochlorite"}
            if not any((name, owner) in known for owner in owners):
                missing.add((model.what, name))
    assert not missing
    besides = {*pump_kinds(), "hypochlorite", "muriatic"}
    assert {name for row in bounds.bound_rows() for name in row.of} <= named | besides
    assert record.Record.what
    assert yard.YardJob.what


def test_every_row_has_its_ends_in_order_and_a_source() -> None:
    seen = set()
    for row in bounds.bound_rows():
        assert row.possible[0] <= row.usual[0] < row.usual[1] <= row.possible[1], row
        assert row.source
        for name in row.of or ("",):
            assert (row.key, name, row.dimension) not in seen, row
            seen.add((row.key, name, row.dimension))


@pytest.mark.parametrize(
    ("stamp", "said"),
    [
        ("2540", "of `2540` the first two digits are the angle, and the size is `40`"),
        ("4006", "and the size is `6`"),
        ("0540", "and the size is `40`"),
        ("0403", "and the size is `3`"),  # as a number it is within the bounds
        ("15040", "from the maker's table"),  # read in more than one way
        ("2500", "from the maker's table"),
    ],
)
def test_a_stamp_of_angle_and_size_is_never_taken_for_a_size(stamp: str, said: str) -> None:
    with pytest.raises(ValidationError) as refused:
        Tip.model_validate({"name": "fan", "pattern": "fan", "size": stamp})
    assert "is an angle and a size in one" in str(refused.value)
    assert said in bounds.of_stamp(stamp)[1]


@pytest.mark.parametrize(("text", "size"), [("0040", 40.0), ("0006", 6.0), ("40", 40.0), ("5.5", 5.5)])
def test_a_size_of_its_own_is_read(text: str, size: float) -> None:
    assert Tip.model_validate({"name": "fan", "pattern": "fan", "size": text}).size == size
