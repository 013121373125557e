"""What a job has least in hand of: the checks nearest to their limits, stops and cautions first."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from planner.checks.model import Finding
from planner.frozen import dataclass
from planner.inputs.tables.rows import table
from planner.packet.blocks import Cell, Span, State, Table
from planner.packet.cautions import RIG_CARD, SHEETS, card_of
from planner.packet.findings import headed, remedy_of, worst_first
from planner.packet.sections.reading import Reading
from planner.plan.model import Value
from planner.units import System
from planner.words.spoken import Words, filled

_MOST_ABOUT = 3
_LONG = 44  # letters of what to do that take a line
_NUMBER = re.compile(r"(?P<number>-?[\d,]+(?:\.\d+)?(?: \d+/\d+)?|\d+/\d+) (?P<unit>\D.*)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Near:
    """A check's figure beside its limit as printed, what that leaves, and the `share` of the way it has gone there."""

    share: float
    figure: str
    limit: str
    spare: str


def near(finding: Finding, system: System) -> Near | None:
    """How near a check's figure comes to its limit; None where it compares no two figures."""
    found = [_near(finding, pair, system) for pair in table("closest").get(finding.code, ())]
    return max((one for one in found if one is not None), key=lambda one: one.share, default=None)


def _near(finding: Finding, pair: Mapping[str, Any], system: System) -> Near | None:
    figure, limit = (finding.values.get(pair.get(key, "")) for key in ("figure", "limit"))
    if not isinstance(figure, Value):
        return None
    if "none" in pair:
        return Near(share=0.0, figure=f"{Words(figure, system):up}", limit=pair["none"], spare="")
    if not isinstance(limit, Value) or limit.dimension != figure.dimension:
        return None
    below = pair["safe"] == "below"
    low, high = (figure.amount, limit.amount) if below else (limit.amount, figure.amount)
    if finding.level == "ok" and low > high:
        return None  # in order for another reason
    share = 1.0 - (high - low) / float(pair["span"]) if "span" in pair else low / high if high > 0.0 else 1.0
    sides = ("up", "down") if below else ("down", "up")
    texts = tuple(f"{Words(value, system):{side}}" for value, side in zip((figure, limit), sides, strict=True))
    spare = _spare(*texts, below=below)
    if finding.level == "ok" and spare.endswith((" over", " short")):  # less than a step apart
        texts, spare = (f"{Words(figure, system)}", f"{Words(limit, system)}"), "nothing to spare"
    return Near(share=share, figure=texts[0], limit=texts[1], spare=spare)


def _spare(figure: str, limit: str, *, below: bool) -> str:
    """What is left between the two as they are printed, so that a reader who subtracts gets the same."""
    read = [match for text in (figure, limit) if (match := _NUMBER.fullmatch(text))]
    if len(read) < 2 or read[0]["unit"].rstrip("s") != read[1]["unit"].rstrip("s"):
        return ""
    one, other = (_amount(match["number"]) for match in read)
    left = other - one if below else one - other
    decimals = max(len(match["number"].partition(".")[2]) for match in read)
    number = f"{abs(float(left)):,.{decimals}f}" if left.denominator == 1 or decimals else _mixed(abs(left))
    unit = read[0]["unit"]
    if unit in ("day", "days"):
        unit = "day" if number == "1" else "days"
    how = "to spare" if left > 0 else "over" if below else "short"
    return f"{number} {unit} {how}" if left else "nothing to spare"


def _amount(number: str) -> Fraction:
    """A printed number: `1,040`, `8 1/8`."""
    return sum((Fraction(part) for part in number.replace(",", "").split()), Fraction(0))


def _mixed(left: Fraction) -> str:
    whole, rest = divmod(left, 1)
    return f"{whole} {rest}" if whole else f"{rest}"


def closest(reading: Reading, least: int, most: int) -> tuple[list[tuple[Cell, ...]], int]:
    """The rows of the table: stops and cautions, at most `most`; up to `least` rows what is in order and nearest.

    Of what is in order there is one of a code. With the rows goes how many stops and cautions had no room.
    """
    system = reading.system
    findings = worst_first(reading.checked.findings)
    alike: dict[tuple[str, ...], list[tuple[Finding, tuple[str, str, str]]]] = {}
    for finding in findings:
        if finding.level in ("stop", "caution"):
            figure, limit, said = _figure_limit_rest(reading, finding, near(finding, system))
            key = (
                finding.level,
                finding.code,
                figure,
                limit,
                said.replace(finding.about, "@") if finding.about else said,
            )
            alike.setdefault(key, []).append((finding, (figure, limit, said)))
    told = [_row_of(of) for of in alike.values()]
    best: dict[str, tuple[Finding, Near]] = {}
    for one in findings:
        close = near(one, system) if one.level == "ok" else None
        if close is not None and (one.code not in best or close.share > best[one.code][1].share):
            best[one.code] = (one, close)
    rest = sorted(best.values(), key=lambda pair: -pair[1].share)[: max(least - len(told), 0)]
    rows = [*told[:most], *(_row(one, one.about, *_figure_limit_rest(reading, one, close)) for one, close in rest)]
    return rows, max(len(told) - most, 0)


def _abouts(names: Sequence[str]) -> str:
    more = len(names) - _MOST_ABOUT
    return ", ".join(names[:_MOST_ABOUT]) + (f", {more} more" if more > 0 else "")


def _row_of(alike: Sequence[tuple[Finding, tuple[str, str, str]]]) -> tuple[Cell, ...]:
    """Findings that differ in what they are about alone, as one."""
    first, (figure, limit, said) = alike[0]
    about = _abouts([finding.about for finding, _ in alike])
    return _row(
        first, about, figure, limit, said.replace(first.about, about) if len(alike) > 1 and first.about else said
    )


def closest_table(rows: Sequence[tuple[Cell, ...]]) -> Table:
    """The table itself."""
    return Table(
        head=("", "Check", "Figure", "Limit", "What to do, or margin"), rows=tuple(rows),
        widths=(0.5, 3.5, 1.8, 1.8, 4.9), right=frozenset({2, 3}),
    )  # fmt: skip


def _figure_limit_rest(reading: Reading, finding: Finding, close: Near | None) -> tuple[str, str, str]:
    """Figure, limit, and what to do or what is left."""
    figure, limit, spare = (close.figure, close.limit, close.spare) if close is not None else ("", "", "")
    if finding.accepted is not None:
        return figure, limit, f"accepted: {finding.accepted[0]} ({finding.accepted[1]})"
    if finding.level == "ok":
        return figure, limit, spare
    remedy = remedy_of(finding, reading.system, reading.checked)
    if finding.level == "stop":
        return figure, limit, remedy
    given = card_of(finding)
    if not isinstance(given, str):
        act = filled(str(given["act"]), finding, reading.system).replace("`", "")
        return figure, limit, f"{act} ({SHEETS[given['at']]})"
    return figure, limit, "A rule of the rig card." if given == RIG_CARD else _short(remedy) or spare


def _row(finding: Finding, about: str, figure: str, limit: str, said: str) -> tuple[Cell, ...]:
    name, _, about = headed(replace(finding, about=about)).partition(", ")
    named = (Span(text=name, strong=True), Span(text=f", {about}" if about else ""))
    return State(level=finding.level), named, figure, limit, said


def _short(remedy: str) -> str:
    """What to do about a caution in a line: as many clauses as go in, the first at least; all is under every check."""
    if len(remedy) <= _LONG:
        return remedy
    kept, *parts = re.split(r"(?<=[.;,]) ", remedy)
    for part in parts:
        if len(f"{kept} {part}") > _LONG:
            break
        kept = f"{kept} {part}"
    return f"{kept.rstrip('.;,')}."
