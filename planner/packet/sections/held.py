"""The one page of a held job: why, with its number, what was tried, who decides, where to go next. Nothing to do."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from typing import Any

from planner.checks.model import CheckedJob, Finding, Remedy
from planner.inputs.rows import rows
from planner.packet.blocks import (
    Block,
    Bullet,
    Cell,
    DoNotStart,
    KeyFigures,
    Picture,
    Section,
    Span,
    State,
    Table,
    Text,
    Tile,
    Two,
    said,
)
from planner.packet.cures import change, cures_of
from planner.packet.drawings.wall import elevation
from planner.packet.figures import reaches
from planner.packet.findings import headed, message_of, remedy_of, run_of, stops_of, with_numbers
from planner.packet.measures import clock_text
from planner.packet.sections.reading import Reading, spoken, template, written
from planner.packet.sections.told import jet_told
from planner.packet.wording import section_from
from planner.packet.words import Words
from planner.plan.model import RunPlan, Value
from planner.units import System, show

MOST = 6  # lines of each list, where they fit
_REASON, _LINE, _NAME = 150, 170, 90  # letters
_WALL = 150.0  # pt
_PHONE = re.compile(r"\+?\d[\d ()./-]{4,}\d")
_NO_PLACE = "Call the office for where to go next."


def section(reading: Reading, *, day: Sequence[CheckedJob] = (), room: int = MOST) -> Section:
    """The page. `day` are the day's jobs in order, where they are known; `room` is how many lines each list may take."""
    checked, system = reading.checked, reading.system
    plan = checked.plan
    stops = stops_of(checked)
    first = stops[0] if stops else None
    reason, rest = _reason(checked, first, system)
    figures = _figures(first, system) if first is not None else None
    run = _drawn(checked, first)
    tiles: tuple[Block, ...] = (KeyFigures(tiles=figures.tiles),) if figures is not None else ()
    why: tuple[Block, ...] = (*tiles, *_words_of(rest, run, checked, first, system))
    if run is not None and room:
        why = (Two(left=why, right=(_wall(run, system, room),), split=(7, 5)),)
    cures = _tried(checked, first, system, room) if first is not None else ()
    places: dict[str, tuple[Block, ...]] = {
        "stop": (DoNotStart(reason=with_numbers(reason), leave=_leave(checked)),),
        "why": why,
        "also": tuple(_also(checked, stops[1:], system, room)),
        "cures": cures,
        "who": (
            Text(
                use="reading",
                spans=(
                    Span(text="The owner changes the plan and prints a new packet. This sheet then goes in the trash: "),
                    Span(text="its plan number is "),
                    Span(text=plan.hash, strong=True),
                    Span(text="."),
                ),
            ),
        ),
        "phones": (KeyFigures(tiles=tuple(_phones(checked))),),
        "next": (Text(use="reading", spans=with_numbers(_next(checked, day))),),
    }
    values = {key: "yes" if places[key] else "no" for key in ("why", "also", "cures")}
    return section_from("held", template("held"), values, places, foot="Only page of this job.")


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _leave(checked: CheckedJob) -> str:
    plan = checked.plan
    if plan.kind != "wash":
        return "Leave the pump as it is. Do not open it. Do not mix."
    return f"Leave the gear on the rig. Do not {'mix' if plan.mixes else 'spray'}."


# ------------------------------------------------------------------------------------------------ why


class _Figures:
    """The figures a stop rests on, as they are printed."""

    def __init__(self, row: Mapping[str, Any], finding: Finding, system: System) -> None:
        self.row, self.system = row, system
        self.more, self.less = (
            self.text(finding, key, side) for key, side in ((row["more"], "up"), (row["less"], "down"))
        )
        self.apart = _apart(self.more, self.less)
        self.values = {
            **{name: Words(value, system) for name, value in finding.values.items()},
            "more": self.more, "less": self.less, "apart": self.apart,
        }  # fmt: skip

    def text(self, finding: Finding, key: str, side: str) -> str:
        value = finding.values.get(key)
        return format(Words(value, self.system), side) if isinstance(value, Value) else ""

    @property
    def says(self) -> str:
        """The reason, in a sentence."""
        text = str(self.row["says"]).format(**self.values)
        return f"{text[:1].upper()}{text[1:]}"

    @property
    def tiles(self) -> tuple[Tile, ...]:
        """What is needed, what there is, and what lies between them."""
        return tuple(
            Tile(label=label, number=number, unit=unit, failing=failing)
            for label, text, failing in (
                (self.row["asks"], self.more, False),
                (self.row["gives"], self.less, False),
                (self.row["apart"], self.apart, True),
            )
            for number, _, unit in (text.partition(" "),)
        )


@lru_cache(maxsize=1)
def _rows() -> dict[tuple[str, str], Mapping[str, Any]]:
    return {(row["code"], case): row for row in rows("held", "tiles") for case in row["cases"]}


def _figures(finding: Finding, system: System) -> _Figures | None:
    """None where the stop is none of two figures, or they print alike."""
    row = _rows().get((finding.code, finding.case))
    found = _Figures(row, finding, system) if row is not None else None
    return found if found is not None and found.apart else None


def _apart(more: str, less: str) -> str:
    """What two printed figures differ by, in their unit: a reader who subtracts gets the same. Empty where it is none.

    Figures of two units, `1 gal` and `30 fl oz`, are none to subtract.
    """
    (more_number, _, unit), (less_number, _, less_unit) = more.partition(" "), less.partition(" ")
    try:
        left = Decimal(more_number.replace(",", "")) - Decimal(less_number.replace(",", ""))
    except InvalidOperation:
        return ""
    return f"{left:,} {unit}" if unit == less_unit and left > 0 else ""


def _reason(checked: CheckedJob, first: Finding | None, system: System) -> tuple[str, str]:
    """The reason in large type, and what is left of the finding's words for below."""
    if first is None:
        return "The steps of this job failed our rehearsal.", ""
    about = run_of(checked, first)
    lead = f"{_cut(about[:1].upper() + about[1:], _NAME)}: " if about and len(checked.plan.runs) > 1 else ""
    figures = _figures(first, system)
    if figures is not None:
        return _cut(f"{lead}{_low(figures.says) if lead else figures.says}", _REASON + len(lead)), ""
    sentences = re.split(r"(?<=[.?!]) (?=[A-Z])", message_of(first, system))
    taken = 1
    # The number belongs to the reason: a sentence more where it has room.
    while (
        taken < len(sentences)
        and not re.search(r"\d", " ".join(sentences[:taken]))
        and len(" ".join(sentences[: taken + 1])) <= _REASON
    ):
        taken += 1
    return _cut(lead + " ".join(sentences[:taken]), _REASON + len(lead)), " ".join(sentences[taken:])


def _low(text: str) -> str:
    return f"{text[:1].lower()}{text[1:]}"


def _drawn(checked: CheckedJob, first: Finding | None) -> RunPlan | None:
    """The run whose wall is drawn: reach holds the job."""
    if first is None or not first.code.startswith("reach."):
        return None
    return next((run for run in checked.plan.runs if run.name == first.about and reaches(run)), None)


def _wall(run: RunPlan, system: System, room: int) -> Picture:
    heights = (_WALL,) if room >= MOST // 2 else (_WALL * 0.6,)
    return Picture(
        paint=lambda wide, tall: elevation(run, system, wide, tall), heights=heights, title="The jet at the wall",
        told=jet_told(run, system),
    )  # fmt: skip


def _words_of(
    rest: str, run: RunPlan | None, checked: CheckedJob, first: Finding | None, system: System
) -> list[Block]:
    """What else there is to say of the stop: the rest of its message, the jet in still air, the pressure that lacks."""
    told = [rest] if rest else []
    if first is not None and (first.code, first.case) == ("reach.short", "short") and run is not None and run.reach:
        told.append(f"In still air the jet gets to {show(run.reach.nominal, 'length', system, toward='down')}.")
    if first is not None:
        told += [
            f"It {_low(change(one, system))}." for one in cures_of(checked, first) if one.changes[0].kind == "gap"
        ]
    return [Text(use="reading", spans=with_numbers(_cut(" ".join(told), 3 * _LINE)))] if told else []


def _also(checked: CheckedJob, stops: Sequence[Finding], system: System, room: int) -> list[Block]:
    """The other stops, a line each with its number and what clears it."""
    if not stops:
        return []
    shown = stops[:room]
    lines: list[Block] = []
    for stop in shown:
        figures = _figures(stop, system)
        message = figures.says if figures is not None else message_of(stop, system).partition("; ")[0]
        cure = remedy_of(stop, system, checked)
        both = f"{message} {cure}".strip()
        short = _cut(both if len(both) <= _LINE else message, _LINE)
        spans = (Span(text=f"{_cut(headed(stop), _NAME)}: ", strong=True), *with_numbers(short))
        lines.append(Bullet(spans=spans))
    if left := len(stops) - len(shown):
        lines.append(Bullet(spans=with_numbers(f"{'and ' if shown else ''}{left} more, in the owner's file")))
    return lines


# ------------------------------------------------------------------------------------------------ what clears it


def _tried(checked: CheckedJob, first: Finding, system: System, room: int) -> tuple[Block, ...]:
    """What was tried, best first, each with its new figure; else what to do about it in general."""
    found = [one for one in cures_of(checked, first) if not one.changes[0].kind.startswith("gap")]
    found += [one for one in checked.failed if (one.code, one.about) == (first.code, first.about)]
    if not found:
        text = remedy_of(first, system)
        return (Text(use="reading", spans=with_numbers(_cut(text, 2 * _LINE))),) if text else ()
    row = _rows().get((first.code, first.case))
    key = row[row["shown"]] if row is not None and row["shown"] else ""
    label = "" if row is None or not key else {"low": "Worst case"}.get(key, row["gives" if row["shown"] == "less" else "asks"])
    shown = found[: max(room, 1)]
    lines = [_line(one, row, key, system) for one in shown]
    table = Table(
        head=("", "Tried", label, "Result"), rows=tuple(lines), widths=(0.5, 5.6, 1.5, 2.6), right=frozenset({2}),
        act=frozenset({2}),
    )  # fmt: skip
    left = len(found) - len(shown)
    return (table, Bullet(spans=said(f"and {left} more, in the owner's file"))) if left else (table,)


def _line(one: Remedy, row: Mapping[str, Any] | None, key: str, system: System) -> tuple[Cell, ...]:
    tried = change(one, system) + ("" if one.on_rig else " (not on the trailer)")
    figures = _Figures(row, one.after, system) if row is not None and one.after is not None else None
    level = one.after.level if one.after is not None else "none"
    side = "down" if row is not None and row["shown"] == "less" else "up"
    new = figures.text(one.after, key, side) if figures is not None and one.after is not None and key else ""
    short = f"{figures.apart} {'over' if row['apart'].startswith('Over') else 'short'}" if row is not None and figures is not None and figures.apart else ""
    if level in ("ok", "none"):
        spare = _apart(figures.less, figures.more) if figures is not None else ""
        # A figure that was worked out and not tried promises no more than that.
        clears = "clears" if one.run is not None else "would clear"
        result = (Span(text=f"{clears}, {spare} to spare" if spare else clears, strong=True),)
        return State(level="ok", told="clears it"), with_numbers(_cut(tried, _LINE)), new, result
    eased = "with care" if level == "caution" else ""
    told = ", ".join(part for part in (eased, short) if part) or "does not"
    return State(level="none", told="does not clear it"), with_numbers(_cut(tried, _LINE)), new, told


# ------------------------------------------------------------------------------------------------ who decides, and then


def _phones(checked: CheckedJob) -> list[Tile]:
    """Whom to call: the office, and the customer of a wash."""
    given = {str(key): spoken(number) for key, number in checked.plan.input.company.phones.items()}
    office = next((given[key] for word in ("office", "owner", "boss") for key in given if word in key.lower()), "")
    tiles = [_phone("Office, owner", office)]
    if checked.plan.kind == "wash":
        tiles.append(_phone("Customer", spoken(written(checked.plan.input.job, "site", "contact"))))
    return tiles


def _phone(label: str, text: str) -> Tile:
    found = _PHONE.search(text)
    number = found.group() if found is not None else ""
    name = text.replace(number, "").strip(" ,;:.-") if number else text
    return Tile(label=label, number=number, unit="", lines=(_cut(name, _NAME),) if name else () if number else ("no number given",))  # fmt: skip


def _next(checked: CheckedJob, day: Sequence[CheckedJob]) -> str:
    """Where the day's plan goes on, and when."""
    at = next((n for n, job in enumerate(day) if job.plan.id == checked.plan.id), None)
    if at is None:
        return _NO_PLACE
    for number, job in enumerate(day[at + 1 :], start=at + 2):
        if job.held:
            continue
        start = next((span.start for span in job.plan.time), None)
        when = f"At {clock_text(start)} go" if start is not None else "Then go"
        site = spoken(written(job.plan.input.job, "site", "address"))
        place = _cut(", ".join(part for part in (job.plan.title, site) if part), _LINE)
        return f"{when} to job {number}, {place}, unless the office calls first."
    return "No job after this one goes today. Drive back to the yard, unless the office calls first."
