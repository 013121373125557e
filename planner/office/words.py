"""The list, what is due and the months as columns of a terminal of 80 characters, and as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from planner.office.due import Due, due_words
from planner.office.listed import Listed, Used
from planner.office.months import Month
from planner.units import System, show, show_number
from planner.words.spoken import spoken_name

HEAD: Final = ("job", "address", "rig", "state", "hours", "stock")
DUE_HEAD: Final = ("rig", "part", "work", "due")
MONTH_HEAD: Final = ("", "jobs", "hours", "crew h", "stock used", "water", "spent", "rang")
_WIDEST: Final = {"job": 24, "address": 16, "rig": 9, "stock": 14}


def row(one: Listed, system: System) -> tuple[str, ...]:
    """One job under HEAD: hours as done of planned."""
    return (
        cut(one.job, _WIDEST["job"]), cut(one.address or one.title, _WIDEST["address"]), cut(one.rig, _WIDEST["rig"]),
        state(one), _hours_of(one), cut(stock(one.stock_done or one.stock_planned, system), _WIDEST["stock"]),
    )  # fmt: skip


def state(one: Listed) -> str:
    """Where it stands in a word; a star for paper whose files changed since."""
    return f"{one.status}*" if one.changed else one.status


def open_line(one: Listed) -> str:
    """A job that was printed and never written down."""
    told = ", ".join(part for part in (one.address or one.title, one.rig) if part)
    return f"  {one.job}{': ' if told else ''}{told}"


def _hours_of(one: Listed) -> str:
    planned = f"{one.planned_s / 3600.0:.1f}" if one.planned_s is not None else ""
    done = f"{one.done_s / 3600.0:.1f}" if one.done_s is not None else ""
    return f"{done} of {planned}" if done and planned else done or (f"({planned})" if planned else "")


def stock(used: Sequence[Used], system: System) -> str:
    """`6 gal bleach, 2 lb oxalic`."""
    return ", ".join(
        f"{_amount(one, system)} {spoken_name(one.chemical)}" for one in sorted(used, key=lambda one: one.chemical)
    )


def _amount(one: Used, system: System) -> str:
    if one.kg is not None:
        return show(one.kg, "mass", system)
    return show(one.m3 or 0.0, "volume", system)


def due_row(one: Due, system: System) -> tuple[str, ...]:
    """One service under DUE_HEAD."""
    return cut(one.rig, 12), cut(one.part, 18), cut(one.work, 26), due_words(one)


def month_rows(months: Iterable[Month], system: System) -> Iterator[tuple[str, ...]]:
    """Every month, and below it crews and surfaces, under MONTH_HEAD."""
    for month in months:
        for name, sums in (("", month.all), *month.by):
            yield (
                cut(name or month.name, 20) if not name else f"  {cut(name, 18)}",
                f"{sums.jobs}", hours(sums.done_s), hours(sums.crew_s), cut(stock(sums.stock, system), 18),
                show_number(sums.water_m3, "volume", system, step=1.0)[0] if sums.water_m3 is not None else "",
                f"{sums.spent:,.2f}" if sums.spent is not None else "", f"{sums.rang}" if sums.rang else "",
            )  # fmt: skip


def bought_lines(months: Iterable[Month], system: System) -> Iterator[str]:
    """What the shelf says was bought in each month."""
    for month in months:
        for one in month.bought:
            cost = f" for {one.cost}" if one.cost else ""
            yield f"{month.name}: bought {one.name}, {one.chemical}{cost}"


def hours(seconds: float | None) -> str:
    """Hours to a tenth; nothing where nobody wrote any."""
    return "" if seconds is None else f"{seconds / 3600.0:,.1f}"


def cut(text: str, widest: int) -> str:
    """Text that leaves room for the columns after it."""
    text = " ".join(text.split())
    return text if len(text) <= widest else f"{text[: widest - 3].rstrip()}..."


# ------------------------------------------------------------ JSON


def listed_json(one: Listed) -> dict[str, object]:
    """A row in SI, the unit in the key, null where nobody wrote it."""
    return {
        "id": one.job,
        "date": one.date.isoformat() if one.date is not None else None,
        "title": one.title,
        "kind": one.kind,
        "rig": one.rig or None,
        "address": one.address or None,
        "customer": one.customer or None,
        "state": one.status,
        "changed": one.changed,
        "file": one.file,
        "printed_at": one.printed_at,
        "plan": one.plan,
        "revision": one.revision,
        "lead": one.lead or None,
        "planned_s": one.planned_s,
        "done_s": one.done_s,
        "crew_s": one.crew_s,
        "stock_planned": [_used_json(used) for used in one.stock_planned],
        "stock": [_used_json(used) for used in one.stock_done],
        "water_m3": one.water_m3,
        "spent": one.spent,
        "callback": one.rang,
        "callbacks": one.callbacks or None,
        "surfaces": list(one.surfaces),
    }


def _used_json(one: Used) -> dict[str, object]:
    return {"stock": one.chemical, "m3": one.m3, "kg": one.kg}


def due_json(one: Due) -> dict[str, object]:
    """A service in SI."""
    return {
        "rig": one.rig,
        "part": one.part,
        "work": one.work,
        "state": one.state,
        "on": one.on.isoformat() if one.on is not None else None,
        "last": one.last.isoformat() if one.last is not None else None,
        "every_s": one.hours,
        "ran_s": one.ran,
        "jobs": one.counted,
        "jobs_without": one.silent,
    }


def month_json(month: Month) -> dict[str, object]:
    """A month's sums in SI."""
    return {
        "month": month.name,
        "sums": [
            {
                "by": by, "name": name or None, "jobs": sums.jobs, "done_s": sums.done_s, "crew_s": sums.crew_s,
                "stock": [_used_json(used) for used in sums.stock], "water_m3": sums.water_m3, "spent": sums.spent,
                "callbacks": sums.rang,
            }
            for by, name, sums in month.rows
        ],
        "bought": [{"lot": lot.name, "chemical": lot.chemical, "cost": lot.cost} for lot in month.bought],
    }  # fmt: skip
