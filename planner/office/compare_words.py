"""A comparison in words and columns: figures in the reader's units, causes and trends as data/compare.yaml has them."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from functools import lru_cache

from planner.archive.compare import causes
from planner.archive.compare.comparison import Compared, Comparison, DayTotal, FigureTotal
from planner.archive.compare.differences import Difference
from planner.archive.compare.figures import figures
from planner.archive.compare.learn import Correction
from planner.archive.compare.totals import Tally
from planner.archive.compare.trends import Forecast, Trend
from planner.contract.recordable import by_comparison, printed
from planner.inputs.tables.rows import table
from planner.units import System, show, show_number
from planner.words.measures import strength

FIGURE_HEAD = ("", "figure", "planned", "done", "difference", "as planned is", "")
TREND_HEAD = ("", "", "records", "middle", "spread", "now", "a year")
DAY_HEAD = ("day", "jobs", "figures", "outside", "callbacks", "spent", "crew h", "cost")
TALLY_HEAD = ("", "jobs", "callbacks", "of jobs", "spent", "a job", "crew h", "a job")
SEASON_HEAD = ("figure", "records", "done of planned", "spread", "outside")
_SIDES = {"low": "LOW", "high": "HIGH", "in": "", None: ""}
_ORDER = ("pump", "line", "tip", "lot", "crew", "surface", "site", "tap")
_UNIT = re.compile(r" (?![0-9])")
_WIDEST = 48
_MOST_NAMES = 4
_BARE = frozenset({"dial", "batches"})
_ELSEWHERE = frozenset({"", "bucket", "clock", "between"})
"""What paper tells in another form: a flow by bucket and watch, an hour of the day, both ends of a dwell."""
_SHARES = frozenset({"condition", "share_before", "share_after", "mixed"})


@lru_cache(maxsize=1)
def _words() -> dict[str, str]:
    words: dict[str, str] = table("compare")["words"]
    return words


def share(value: float) -> str:
    """`93 %`."""
    return f"{100.0 * value:.0f} %"


def figure_row(row: Difference, system: System, percent: str) -> tuple[str, ...]:
    """One figure's columns under FIGURE_HEAD."""
    words = figures()[row.figure].words

    def said(value: float | None, *, paper: bool = False) -> str:
        return "" if value is None else _shown(row, value, system, percent, paper=paper)

    band = ""
    if row.sign is not None:
        low, high = said(row.low), said(row.high)
        number, unit = _apart(low)
        band = f"{number if unit == _apart(high)[1] else low} to {high}" if low and high else f"up to {high}"
        band = low if low == high else band
    done = f"<{said(row.done)}" if row.below else said(row.done)
    return (
        _cut(row.about), words, said(row.planned, paper=True), done, _by(row), band, _SIDES[row.sign],
    )  # fmt: skip


def _apart(text: str) -> tuple[str, str]:
    """Number and unit: `2 5/8` and `gal`, `10.3` and `trade %`."""
    number, _, unit = _UNIT.sub("\n", text, count=1).partition("\n")
    return number, unit


def _shown(row: Difference, value: float, system: System, percent: str, *, paper: bool) -> str:
    """A figure in words: what was planned as `paper` has it, all else to the nearest that is read."""
    if row.figure in _SHARES:
        return share(value)
    told, at = by_comparison().get(row.figure, (None, 0))
    if paper and told is not None and told.told.partition(" ")[0] not in _ELSEWHERE:
        amount = (None, value) if at else (value, None)
        figure = amount if told.kind == "amount" else value
        if text := printed(told, figure, row.beside, system, percent).text:
            return text
    if row.figure == "stock_test":
        return strength(value, row.beside.stock, percent)
    if row.figure in _BARE:
        return show(value, "number", system, step=1.0 if row.figure == "batches" else 0.01)
    return show(value, figures()[row.figure].dimension, system)


def _by(row: Difference) -> str:
    """Done less planned: minutes for a time, a count for what is counted, else a share of what was planned."""
    if row.by is None or not row.planned:
        return ""
    sign = "+" if row.by > 0.0 else "-" if row.by < 0.0 else ""
    if figures()[row.figure].dimension == "time":
        return f"{sign}{' '.join(show_number(abs(row.by), 'time', 'us'))}" if row.by else "0 min"
    unit = "" if row.figure == "batches" else " %"
    number = f"{abs(row.by if row.figure == 'batches' else 100.0 * row.by / row.planned):.0f}"
    return f"{sign if number != '0' else ''}{number}{unit}"


def job_head(one: Compared) -> str:
    """The line above a job's table."""
    title = f"  {one.title}" if one.title else ""
    if one.planless:
        return f"{one.job}{title}: no plan is kept that its record could be held against"
    signed = f", signed {one.signed}" if one.signed else ""
    outside = sum(row.outside for row in one.found)
    judged = sum(row.sign is not None for row in one.found)
    told = f"{outside} of {judged} figures outside" if outside else f"all {judged} figures as planned"
    told = told if judged else "nothing to compare"
    return f"{one.job}{title}: {told}   (plan {one.plan}, record {one.revision}{signed})"


def cause_lines(one: Compared) -> list[str]:
    """Each likely cause once, with the figures it explains."""
    by_cause: dict[str, list[str]] = {}
    for row in one.found:
        if row.cause is not None:
            about = f"{_cut(row.about)}: " if row.about else ""
            by_cause.setdefault(row.cause, []).append(f"{about}{figures()[row.figure].words}")
    said = causes.words()
    return [f"{some(list(dict.fromkeys(names)))}. {said[cause]}" for cause, names in by_cause.items()]


def some(names: Sequence[str]) -> str:
    """A few names, and how many more there are."""
    shown = names if len(names) <= _MOST_NAMES else names[: _MOST_NAMES - 1]
    more = f"; {len(names) - len(shown)} more like these" if len(shown) < len(names) else ""
    return "; ".join(shown) + more


def season_causes(jobs: Sequence[Compared]) -> list[str]:
    """Each likely cause of several jobs: how many have it, the last of them, what it says; commonest first."""
    seen: dict[str, list[str]] = {}
    for one in jobs:
        for cause in dict.fromkeys(row.cause for row in one.found if row.cause is not None):
            seen.setdefault(cause, []).append(one.job)
    said = causes.words()
    ranked = sorted(seen.items(), key=lambda item: -len(item[1]))
    return [f"{len(names)} of {len(jobs)}, last {names[-1]}. {said[cause]}" for cause, names in ranked]


def written_costs(days: Sequence[DayTotal]) -> str:
    """Costs as they were written, the same ones counted."""
    counted: dict[str, int] = {}
    for cost in (cost for day in days for cost in day.costs):
        counted[cost] = counted.get(cost, 0) + 1
    return "; ".join(cost if count == 1 else f"{cost} ({count} times)" for cost, count in counted.items())


def remark_lines(one: Compared) -> list[str]:
    """What was written in words, and what it came to."""
    came = {
        "callback": "yes" if one.rang and not one.remarks.get("callbacks") else "",
        "spent": _money(one.spent),
        "crew hours": _hours(one.crew),
    }
    return [
        *(f"{name}: {' '.join(text.split())}" for name, text in one.remarks.items()),
        *(f"{name}: {text}" for name, text in came.items() if text),
    ]


def trend_row(trend: Trend) -> tuple[str, ...]:
    """One trend's columns under TREND_HEAD."""
    what = _words()[trend.what]
    if trend.unmeasured and trend.since is not None:
        what += _words()["unmeasured"].format(date=trend.since.isoformat())
    per_year = ""
    if trend.per_year is not None:
        per_year = f"{100.0 * trend.per_year:+.0f} %" if trend.moves else "level"
    told = trend.known or trend.subject != "pump"
    aside = f" ({trend.set_aside} set aside)" if trend.set_aside else ""
    off = share(trend.spread) if trend.count > 1 else ""
    shares = (share(trend.middle), off, share(trend.now)) if told else ("", "", _words()["untold"])
    return (f"{trend.subject} {', '.join(trend.called)}", what, f"{trend.count}{aside}", *shares, per_year)


def lead_lines(found: Comparison, ahead: Sequence[Forecast]) -> list[str]:
    """What somebody should act on: pumps that fall with their dates, then booked jobs, those that fail first."""
    dates = [line for trend in found.trends for line in below_lines(trend)]
    by_weight = sorted(ahead, key=lambda one: (not one.short, one.falls is None, one.need.date))
    return [*dates, *(forecast_line(one) for one in by_weight)]


def below_lines(trend: Trend) -> list[str]:
    """When a pump that falls comes under each share worth a date."""
    lines = []
    for one in trend.below:
        key = "was" if trend.last is not None and one.date <= trend.last else "will"
        when = _words()[key].format(date=one.date.isoformat(), between=_between(one.earliest, one.latest))
        words = _words()["below"].format(
            rig=trend.name[0], pump=trend.name[1], by=share(-(trend.per_year or 0.0)), share=share(one.share),
            when=when, records=records(trend.count),
        )  # fmt: skip
        lines.append(words)
    return lines


def _between(earliest: datetime.date | None, latest: datetime.date | None) -> str:
    ends = [date.isoformat() for date in (earliest, latest) if date is not None]
    if len(ends) == 2:
        return f" (between {ends[0]} and {ends[1]})"
    return f" ({ends[0]} at the earliest)" if ends and earliest is not None else ""


def told_trends(found: Comparison) -> list[Trend]:
    """Trends worth a line: of sites and crews only what came twice."""
    told = [one for one in found.trends if one.subject not in ("site", "crew") or one.count > 1]
    return sorted(told, key=lambda one: _ORDER.index(one.subject))


def season_row(total: FigureTotal) -> tuple[str, ...]:
    """One figure over all jobs, under SEASON_HEAD."""
    row = figures()[total.figure]
    return (
        f"{row.words} ({row.of})", f"{total.count:,}", share(total.middle),
        share(total.spread) if total.count > 1 else "", f"{total.outside:,}" if total.outside else "",
    )  # fmt: skip


def day_row(day: DayTotal) -> tuple[str, ...]:
    """One day under DAY_HEAD."""
    return (
        day.date.isoformat() if day.date is not None else "no date", f"{day.jobs}", f"{day.figures}",
        f"{day.outside}" if day.outside else "", f"{day.callbacks}" if day.callbacks else "",
        _money(day.spent), _hours(day.crew),
        _cut("; ".join(day.costs)),
    )  # fmt: skip


def told_tallies(found: Comparison) -> list[Tally]:
    """Callbacks and cost by all, crew and surface, where there is anything to tell of more than one job."""
    season = next((one for one in found.tallies if one.by == "all"), None)
    if season is None or season.jobs < 2 or not (season.callbacks or season.spent_jobs or season.crew_jobs):
        return []
    return list(found.tallies)


def tally_row(one: Tally) -> tuple[str, ...]:
    """One of them under TALLY_HEAD; money and hours a job over those jobs that have them."""
    name = "all jobs" if one.by == "all" else f"{one.by} {one.name}"
    return (
        _cut(name), f"{one.jobs:,}", f"{one.callbacks:,}" if one.callbacks else "",
        share(one.share) if one.callbacks else "", _money(one.spent),
        _money(one.spent / one.spent_jobs if one.spent is not None else None), _hours(one.crew),
        _hours(one.crew / one.crew_jobs if one.crew is not None else None),
    )  # fmt: skip


def _money(amount: float | None) -> str:
    return "" if amount is None else f"{amount:,.2f}"


def _hours(seconds: float | None) -> str:
    return "" if seconds is None else f"{seconds / 3600.0:,.1f}"


def _cut(text: str) -> str:
    """Text that leaves room for the columns before it; all of it stands with its job."""
    return text if len(text) <= _WIDEST else f"{text[: _WIDEST - 4].rstrip()} ..."


def forecast_line(one: Forecast) -> str:
    """What a booked run has to expect of its pump."""
    need = one.need
    key = "short" if one.short else "falls" if one.falls is not None else "enough"
    between = _between(one.earliest, one.latest)
    return _words()[key].format(
        pump=need.pump, rig=need.rig, job=need.job, run=need.run, date=need.date.isoformat(), needs=share(need.share),
        now=share(one.expected), falls=one.falls.isoformat() if one.falls is not None else "", between=between,
        records=records(one.count),
    )  # fmt: skip


def correction_line(one: Correction) -> str:
    """One thing learned."""
    value = one.text if one.text else f"{one.value:.2f}" if one.kind == "pumps" else share(one.value)
    if one.kind == "taps":
        value = f"{one.text} ({show(one.value, 'flow', 'si')})"
    raw = share(one.raw) if one.kind in ("surfaces", "paces", "jets") else f"{one.raw:.2f}"
    band = f", between {one.band[0]:.2f} and {one.band[1]:.2f}" if one.band is not None else ""
    line = _words()[f"learn_{one.kind}"].format(
        band=band, name=", ".join(one.about), value=value, raw=raw, records=records(one.records),
        date=one.through.isoformat() if one.through is not None else "",
    )  # fmt: skip
    return line if one.unmeasured is None else line + _words()["unread"].format(date=one.unmeasured.isoformat())


def records(count: int) -> str:
    """`7 records`."""
    return "1 record" if count == 1 else f"{count:,} records"


def outside_rows(jobs: Sequence[Compared], system: System, percent: str) -> list[tuple[str, ...]]:
    """What lies outside, of several jobs, the job's id before each."""
    return [
        (one.job, *figure_row(row, system, percent))
        for one in jobs
        for row in one.found
        if row.outside
    ]  # fmt: skip
