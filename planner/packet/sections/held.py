"""The one page of a held job: why, with its number, what was tried, who decides, where to go next. Nothing to do."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from typing import Any

from planner.checks.model import CheckedJob, Finding, Remedy
from planner.frozen import dataclass
from planner.inputs.tables.rows import rows
from planner.packet.blocks import (
    Block,
    Bullet,
    Cell,
    DoNotStart,
    Gap,
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
from planner.packet.drawings.wall import elevation
from planner.packet.findings import headed, message_of, remedy_of, run_of, stops_of, with_numbers
from planner.packet.pages.pages import in_head
from planner.packet.sections.crew.card import letters
from planner.packet.sections.reading import Reading, eave_of, spoken, template
from planner.packet.sections.told import jet_told
from planner.packet.wording import section_from
from planner.plan.model import RunPlan, Value
from planner.units import System, show
from planner.words.cures import change, cures_of
from planner.words.dates import clock_text
from planner.words.figures import reaches
from planner.words.spoken import Words

_MOST = 6
ROOMY = _MOST + 1
"""Room for everything: white, the whole drawing, and so many lines of each list; from the next on drawing and white
shrink first, then the lists, to none."""

_REASON, _LINE, _SHORT, _NAME = 150, 170, 120, 90  # letters
_WALL, _WHITE = 190.0, 10.0  # pt of the drawing, and between the parts of the page
_PHONE = re.compile(r"\+?\d[\d ()./-]{4,}\d")
_NO_PLACE = "Call the office for where to go next."


def section(reading: Reading, *, day: Sequence[CheckedJob] = (), room: int = ROOMY) -> Section:
    """The page. `day` are the day's jobs, where they are known; `room` is how much the page may take, to `ROOMY`."""
    checked, system = reading.checked, reading.system
    plan = checked.plan
    stops = stops_of(checked)
    first = stops[0] if stops else None
    reason, rest = _reason(checked, first, system)
    figures = _figures(first, system)
    run = _drawn(checked, first)
    tiles: tuple[Block, ...] = (KeyFigures(tiles=figures.tiles),) if figures is not None else ()
    why: tuple[Block, ...] = (*tiles, *_words_of(rest, run, checked, first, system))
    if run is not None and room:
        why = (Two(left=why, right=(_wall(run, system, room, eave_of(plan)),), split=(6, 6)),)
    phones = tuple(_phones(checked))
    cures = _tried(checked, first, system, room) if first is not None else ()
    places: dict[str, tuple[Block, ...]] = {
        "stop": (DoNotStart(reason=with_numbers(reason), leave=_leave(checked)),),
        "why": why,
        "also": tuple(_also(checked, stops[1:], system, room)),
        "cures": cures,
        "phones": (KeyFigures(tiles=phones),) if phones else (),
        "next": (Text(use="reading", spans=with_numbers(_next(checked, day, system))),),
        "letters": tuple(letters(plan)),
        "job": () if in_head(plan.title) else (Text(use="reading", spans=said(plan.title)),),
    }
    values = {"plan": plan.hash, **{key: bool(places[key]) for key in ("job", "why", "also", "cures")}}
    white = Gap(height=_WHITE if room == ROOMY else 0.0)
    places = {key: (*blocks, white) if blocks else () for key, blocks in places.items()}
    return section_from("held", template("held"), values, places, foot="Only page of this job.")


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _leave(checked: CheckedJob) -> str:
    plan = checked.plan
    if plan.kind != "wash":
        return "Leave the pump as it is. Do not open it. Do not mix."
    return f"Leave the gear on the rig. Do not {'mix' if plan.mixes else 'spray'}."


# ------------------------------------------------------------------------------------------------ why


@dataclass(frozen=True, slots=True, kw_only=True)
class _Figures:
    """The two figures a stop rests on as they are printed, and `apart`, what they differ by; empty where it is none."""

    row: Mapping[str, Any]
    more: str
    less: str
    apart: str

    @classmethod
    def of(cls, row: Mapping[str, Any], finding: Finding, system: System) -> _Figures:
        """The figures of a stop's `row`, as `finding` has them: the stop itself, or what a change makes of it."""
        more, less = (
            format(Words(value, system), side) if isinstance(value := finding.values.get(row[key]), Value) else ""
            for key, side in (("more", "up"), ("less", "down"))
        )
        return cls(row=row, more=more, less=less, apart=_apart(more, less))

    def says(self, finding: Finding, system: System) -> str:
        """The reason, in a sentence."""
        values = {name: Words(value, system) for name, value in finding.values.items()}
        text = str(self.row["says"]).format(**{**values, "more": self.more, "less": self.less, "apart": self.apart})
        return f"{text[:1].upper()}{text[1:]}"

    @property
    def tiles(self) -> tuple[Tile, ...]:
        """What is needed, what there is, and what lies between them."""
        texts = ((self.row["asks"], self.more), (self.row["gives"], self.less), (self.row["apart"], self.apart))
        return tuple(
            Tile(label=label, number=text.partition(" ")[0], unit=text.partition(" ")[2], failing=text is self.apart)
            for label, text in texts
        )


@lru_cache(maxsize=1)
def _rows() -> dict[tuple[str, str], Mapping[str, Any]]:
    return {(row["code"], case): row for row in rows("held", "tiles") for case in row["cases"]}


def _row(finding: Finding | None) -> Mapping[str, Any]:
    """Empty for a stop that is told in its own sentence."""
    return _rows().get((finding.code, finding.case), {}) if finding is not None else {}


def _figures(finding: Finding | None, system: System) -> _Figures | None:
    """None where the stop is none of two figures that print apart."""
    row = _row(finding)
    figures = _Figures.of(row, finding, system) if finding is not None and row else None
    return figures if figures is not None and figures.apart else None


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
    figures = _figures(first, system)
    if figures is not None:
        reason, below = figures.says(first, system), ""
    else:
        message = message_of(first, system)
        sentences = re.split(r"(?<=[.?!]) (?=[A-Z])", message)
        # The number belongs to the reason: a sentence more where it has room.
        reason, *rest = sentences
        while rest and not re.search(r"\d", reason) and len(f"{reason} {rest[0]}") <= _REASON:
            reason = f"{reason} {rest.pop(0)}"
        below = message if len(reason) > _REASON else " ".join(sentences[1:]) if rest else ""
    about = run_of(checked, first)
    if about and len(checked.plan.runs) > 1 and about.casefold() not in reason.casefold():
        reason = f"{_cut(about[:1].upper() + about[1:], _NAME)}: {_low(reason)}"
    return _cut(reason, _REASON + _NAME), below


def _low(text: str) -> str:
    return f"{text[:1].lower()}{text[1:]}"


def _drawn(checked: CheckedJob, first: Finding | None) -> RunPlan | None:
    """The run whose wall is drawn: reach holds the job."""
    if first is None or not first.code.startswith("reach."):
        return None
    return next((run for run in checked.plan.runs if run.name == first.about and reaches(run)), None)


def _wall(run: RunPlan, system: System, room: int, eave: float | None) -> Picture:
    tall = _WALL if room == ROOMY else 0.6 * _WALL
    return Picture(
        paint=lambda wide, high: elevation(run, system, wide, high, eave), heights=(tall,), title="The jet at the wall",
        told=jet_told(run, system),
    )  # fmt: skip


def _words_of(
    rest: str, run: RunPlan | None, checked: CheckedJob, first: Finding | None, system: System
) -> list[Block]:
    """What else there is to say of the stop: the rest of its message, the jet in still air, the pressure that lacks."""
    texts = [rest] if rest else []
    if first is not None and (first.code, first.case) == ("reach.short", "short") and run is not None and run.reach:
        texts.append(f"In still air the jet gets to {show(run.reach.nominal, 'length', system, toward='down')}.")
    if first is not None:
        gaps = [remedy for remedy in cures_of(checked, first) if remedy.changes[0].kind.startswith("gap")]
        texts += [f"{change(remedy, system)}." for remedy in gaps]
    if run is not None and not texts:
        texts = [jet_told(run, system)]
    return [Text(use="reading", spans=with_numbers(_cut(" ".join(texts), 3 * _LINE)))] if texts else []


def _also(checked: CheckedJob, stops: Sequence[Finding], system: System, room: int) -> list[Block]:
    """The other stops, a line each with its number and what clears it."""
    if not stops:
        return []
    shown = stops[: min(room, _MOST)]
    lines: list[Block] = []
    for stop in shown:
        figures = _figures(stop, system)
        message = (
            figures.says(stop, system)
            if figures is not None
            else f"{message_of(stop, system).partition('; ')[0].rstrip('.')}."
        )
        cure = remedy_of(stop, system, checked)
        both = f"{message} {cure}".strip()
        short = _cut(both if len(both) <= _SHORT else message, _LINE)
        lines.append(Bullet(spans=with_numbers(f"{_cut(headed(stop, checked.plan), _NAME)}: {short}")))
    if left := len(stops) - len(shown):
        lines.append(Bullet(spans=with_numbers(f"{'and ' if shown else ''}{left} more, in the owner's file")))
    return lines


# ------------------------------------------------------------------------------------------------ what clears it


def _tried(checked: CheckedJob, first: Finding, system: System, room: int) -> tuple[Block, ...]:
    """What was tried, best first, each with its new figure; else what to do about it in general."""
    cures = [remedy for remedy in cures_of(checked, first) if not remedy.changes[0].kind.startswith("gap")]
    remedies = [
        *cures,
        *(remedy for remedy in checked.failed if (remedy.code, remedy.about) == (first.code, first.about)),
    ]
    if not remedies:
        text = remedy_of(first, system)
        return (Text(use="reading", spans=with_numbers(_cut(text, 2 * _LINE))),) if text else ()
    row = _row(first)
    shown = remedies[: min(max(room, 1), _MOST)]
    table = Table(
        head=("", "Tried", row.get("head", ""), "Result"), rows=tuple(_line(remedy, row, system) for remedy in shown),
        widths=(0.5, 5.6, 1.5, 2.6), right=frozenset({2}), act=frozenset({2}),
    )  # fmt: skip
    left = len(cures) - len(shown)  # what fails is told here alone, as far as it fits
    return (table, Bullet(spans=said(f"and {left} more, in the owner's file"))) if left > 0 else (table,)


def _line(one: Remedy, row: Mapping[str, Any], system: System) -> tuple[Cell, ...]:
    """One change with the figure it comes to, and whether that clears the stop."""
    tried = with_numbers(_cut(change(one, system) + ("" if one.on_rig else " (not on the trailer)"), _LINE))
    figures = _Figures.of(row, one.after, system) if one.after is not None and row else None
    new = getattr(figures, row["shown"]) if figures is not None and "shown" in row else ""
    level = one.after.level if one.after is not None else "none"
    if level in ("ok", "none"):
        spare = _apart(figures.less, figures.more) if figures is not None else ""
        # What was worked out and not tried promises no more than that.
        clears = "clears" if one.run is not None else "would clear"
        result = (Span(text=f"{clears}, {spare} to spare" if spare else clears, strong=True),)
        return State(level="ok", told="clears it"), tried, new, result
    short = f"{figures.apart} {row['apart'].split()[0].lower()}" if figures is not None and figures.apart else ""
    if level == "caution":
        return State(level="none", told="only eases it"), tried, new, f"goes with care, {short}".rstrip(", ")
    return State(level="none", told="does not clear it"), tried, new, short or "does not clear it"


# ------------------------------------------------------------------------------------------------ who decides, and then


def _phones(checked: CheckedJob) -> list[Tile]:
    """Whom to call: the office, and the customer of a wash."""
    given = {str(key): spoken(number) for key, number in checked.plan.input.company.phones.items()}
    office = next((given[key] for word in ("office", "owner", "boss") for key in given if word in key.lower()), "")
    customer = spoken(checked.plan.input.job.site.contact) if checked.plan.kind == "wash" else ""
    return [_phone(label, text) for label, text in (("Office, owner", office), ("Customer", customer)) if text]


def _phone(label: str, text: str) -> Tile:
    match = _PHONE.search(text)
    number = match.group() if match is not None else ""
    name = text.replace(number, "").strip(" ,;:.-") if number else text
    return Tile(label=label, number=number, unit="", lines=(name,) if name else ())


def _next(checked: CheckedJob, day: Sequence[CheckedJob], system: System) -> str:
    """Where the day's plan goes on, and when; no more than it knows."""
    plan = checked.plan
    if plan.input.place_in_day is None:
        return _NO_PLACE
    here, last = plan.input.place_in_day
    known = {job.plan.input.place_in_day[0]: job for job in day if job.plan.input.place_in_day is not None}
    for number in range(here + 1, last + 1):
        job = known.get(number)
        if job is None:
            return _NO_PLACE
        if job.held:
            continue
        start = next((span.start for span in job.plan.time), None)
        when = f"At {clock_text(start, system)} go" if start is not None else "Then go"
        site = job.plan.input.job.site.address.strip()
        place = _cut(", ".join(part for part in (job.plan.title, site) if part), _LINE)
        return f"{when} to job {number}, {place}, unless the office calls first."
    drive = "Drive back to the yard, unless the office calls first." if plan.kind == "wash" else ""
    return f"No job after this one goes today. {drive}".strip()
