"""What a record is compared with is what its packet printed, over every box of the demo."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from planner.archive.compare.differences import Difference, differences
from planner.archive.compare.wear import readings_of
from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.contract.recordable import KINDS, rows_of
from planner.days.prepare import Trouble, checked_jobs
from planner.inputs.workspace import load
from planner.locate import jobs
from planner.office.compare_words import figure_row
from planner.packet.blocks import WriteIn
from planner.packet.fields import boxes_of
from planner.plan.wear.fit import Look, fitted
from planner.units import System, read
from tests.archive import seasons
from tests.packet.printing import worded

Json = dict[str, Any]
_CLOCKS = {"begun", "set_up", "wash", "whole"}
_WRITTEN: Mapping[str, Any] = {
    "strength": {"amount": 10.0, "basis": "trade", "g_per_l": 100.0}, "words": "", "list": [], "clock": 40_000.0,
}  # fmt: skip


@pytest.fixture(scope="module")
def demo() -> list[CheckedJob]:
    return [one for one in checked_jobs(load([jobs()]), Trouble(faults=[])) if not one.held]


def _all(group: str, **called: Any) -> Json:
    """A part of a record with something in each of its keys."""
    keys = [(key, _WRITTEN.get(row.kind, 1.0)) for row in rows_of(group) for key in row.keys]
    return {**dict(keys), **called}


def _record(plan: Json) -> Json:
    """A record in which all that is compared was written down."""
    runs = [_all("readings", run=run["name"], standoff_m=None) for run in plan["runs"]]
    mixes = [
        _all("mixes", number=number, stock=mix["stock"], run=mix["run"], lot=mix["lot"])
        for number, mix in enumerate(plan["mixes"], 1)
    ]
    sides = [_all("sides", surface=side["surface"], run=side["run"]) for side in plan["work"]]
    record = {**seasons.empty_record(plan), "readings": runs, "mixes": mixes, "sides": sides}
    record |= {"water": _all("water"), "flush": _all("flush", residual_below=False), "times": _all("times")}
    return record | {"pump": _all("pump", stages=[]) if plan["kind"] == "yard" else None}


def _compared(plan: Json) -> dict[tuple[str, str, str], Difference]:
    pair = seasons.pair(plan, _record(plan), datetime.date(2026, 6, 9))
    return {(row.figure, row.about, row.run): row for row in differences(pair)}


def _printed(checked: CheckedJob, system: System) -> Iterator[tuple[str, WriteIn]]:
    """Every box with a planned figure, by the figures that are compared with it."""
    for box in boxes_of(worded(checked, system=system).sections):
        group, _, key = box.name.rpartition(".")
        row = {one.key: one for one in rows_of(group.partition(".")[0])}.get(key)
        for figure in row.compared.split() if row is not None and box.planned else ():
            yield figure, box


def _of(found: Mapping[tuple[str, str, str], Difference], figure: str, plan: Json, box: WriteIn) -> Difference | None:
    """The compared figure of a box: of the run, mix or side it is named by."""
    group, _, part = box.name.rpartition(".")[0].partition(".")
    rows = [row for (name, _, _), row in found.items() if name == figure]
    if group in ("readings", "mixes", "sides"):
        if part.isdigit():
            named = {"readings": plan["runs"], "mixes": plan["mixes"], "sides": plan["work"]}[group][int(part) - 1]
            about = named.get("name") or named.get("surface")
            near = [row for row in rows if about is None or row.about == about]
            rows = [row for row in near if row.run == (named.get("run") or named["name"])]
        else:
            rows = [row for row in rows if row.run.replace(" ", "_").lower() == part]
    return rows[0] if rows else None


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.ci
def test_every_figure_compared_is_the_one_that_was_printed(demo: list[CheckedJob], system: System) -> None:
    held: set[str] = set()
    for checked in demo:
        plan: Json = job_json(checked, "us")  # type: ignore[assignment]
        found = _compared(plan)
        for figure, box in _printed(checked, system):
            row = _of(found, figure, plan, box)
            if row is None or figure in _CLOCKS or (figure == "stock_mass" and row.planned is None):
                continue  # hours of the day are compared as the time between them; stock is poured or weighed
            _, _, planned, _, _, band, _ = figure_row(row, system, "trade")
            where = (checked.plan.id, box.name)
            if figure in ("bucket", "bucket_before", "bucket_after", "tap"):
                size, flow = box.lead.removesuffix(" in") or box.label.partition(", ")[2], read(planned, "flow")
                assert read(size, "volume") / float(box.planned) == pytest.approx(flow, rel=0.03), where
            elif figure == "stock_test" and row.beside.stock != "bleach":
                # What does not age is printed as its label says it.
                assert float(planned.partition(" ")[0]) == pytest.approx(float(box.planned), rel=0.01), where
            elif figure == "dwell":
                assert band == f"{box.planned} min", where
            else:
                told = planned.partition(" ")[0] if not box.unit else planned
                assert told.replace(",", "") == f"{box.planned} {box.unit}".strip().replace(",", ""), where
            held.add(figure)
    assert {"gauge_open", "gauge_closed", "bucket", "jet", "stock_test", "stock", "mix", "rinse", "water"} <= held


@pytest.mark.ci
def test_a_jet_as_printed_over_an_eave_is_no_worn_pump(demo: list[CheckedJob]) -> None:
    granary = next(one for one in demo if one.plan.id.endswith("granary"))
    plan: Json = job_json(granary, "us")  # type: ignore[assignment]
    (run,) = plan["runs"]
    (told,) = readings_of(run, seasons.reading(run["name"], jet_m=run["reach_m"]))
    fit = fitted([Look(day=None, readings=[told])])
    assert fit is not None
    assert fit.share == pytest.approx(1.0, abs=0.005)
    older = {
        **run,
        "wear": {**run["wear"], "points": [{**one, "throw_m": one["throw_m"] + 1.2} for one in run["wear"]["points"]]},
    }
    assert readings_of(older, seasons.reading(run["name"], jet_m=run["reach_m"])) == [], "kept without its eave"


def test_every_kind_that_is_written_can_be_filled_in() -> None:
    assert set(_WRITTEN) <= set(KINDS)
