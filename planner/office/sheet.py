"""The list as a spreadsheet: one row a job, in the company's units, UTF-8 with its mark so that umlauts come out right.

A cell that a spreadsheet would take for a formula stands behind an apostrophe.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from typing import Final

from planner.archive.kept.exchange import as_cell
from planner.office.listed import Listed, Used
from planner.units import System, show_number
from planner.words.spoken import spoken_name

_MARK: Final = "\ufeff"
_HEAD: Final[tuple[tuple[str, Callable[[Listed], object]], ...]] = (
    ("date", lambda one: one.date.isoformat() if one.date is not None else ""),
    ("job", lambda one: one.job),
    ("title", lambda one: one.title),
    ("customer", lambda one: one.customer),
    ("address", lambda one: one.address),
    ("rig", lambda one: one.rig),
    ("lead", lambda one: one.lead),
    ("state", lambda one: one.status),
    ("changed since printed", lambda one: "yes" if one.changed else ""),
    ("surfaces", lambda one: ", ".join(one.surfaces)),
    ("hours planned", lambda one: _hours(one.planned_s)),
    ("hours", lambda one: _hours(one.done_s)),
    ("crew hours", lambda one: _hours(one.crew_s)),
    ("spent", lambda one: "" if one.spent is None else f"{one.spent:.2f}"),
    ("callback", lambda one: "yes" if one.rang else ""),
    ("callbacks", lambda one: one.callbacks),
)


def sheet(rows: Sequence[Listed], system: System) -> bytes:
    """The whole file."""
    stock = sorted({(used.chemical, used.kg is not None) for one in rows for used in _all(one)})
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    water = "gal" if system == "us" else "L"
    names = [name for name, _ in _HEAD]
    names += [f"water, {water}"]
    units = [_unit(dry, system) for _, dry in stock]
    for (chemical, _), unit in zip(stock, units, strict=True):
        named = spoken_name(chemical)
        names += [f"{named} planned, {unit}", f"{named} used, {unit}"]
    writer.writerow([as_cell(name) for name in names])
    for one in rows:
        cells = [as_cell(told(one)) for _, told in _HEAD] + [_amount(one.water_m3, "volume", water, system)]
        for (chemical, dry), unit in zip(stock, units, strict=True):
            for used in (one.stock_planned, one.stock_done):
                cells.append(_of(used, chemical, dry, unit, system))
        writer.writerow(cells)
    return (_MARK + out.getvalue()).encode("utf-8")


def _all(one: Listed) -> tuple[Used, ...]:
    return (*one.stock_planned, *one.stock_done)


def _unit(dry: bool, system: System) -> str:
    return {"us": ("gal", "lb"), "si": ("L", "kg")}[system][dry]


def _of(used: Sequence[Used], chemical: str, dry: bool, unit: str, system: System) -> str:
    found = next((one for one in used if one.chemical == chemical and (one.kg is not None) == dry), None)
    return "" if found is None else _amount(found.kg if dry else found.m3, "mass" if dry else "volume", unit, system)


def _amount(value: float | None, dimension: str, unit: str, system: System) -> str:
    """A bare number in one unit for the whole column."""
    return "" if value is None else show_number(value, dimension, system, unit=unit, step=0.01)[0].replace(",", "")


def _hours(seconds: float | None) -> str:
    return "" if seconds is None else f"{seconds / 3600.0:.2f}"
