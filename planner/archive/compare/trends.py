"""Pumps, surfaces, lots, sites and crews over time: where each stands, how fast it moves, and when it will not do.

A pump tells one look a day: the closed gauge, else the bucket, the jet at the wall, the throw. A yard record with a
bath, new parts or a cost begins its line anew, once something is read after it: until then the pump is planned as it
was, without a forecast. What was only seen inside, spacers too, begins nothing. Forecasts start from where the line is,
unpulled: the cautious side. Bare readings at the bench are of after the work and count on the day of the service; those
of before count toward the line that ends there. Without work done the later of the two is one look, and a rebuild that
is only planned changes nobody's hydraulics.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from statistics import median
from typing import Final, TypeAlias

from planner.archive.compare.figures import learning
from planner.archive.compare.observed import Observed, Serviced, Subject
from planner.archive.compare.robust import Slope, shrunk, spread, theil_sen

Key: TypeAlias = tuple[Subject, tuple[str, ...], str]
_YEAR = 365.25
_TELLS_ALONE: Final = frozenset({"gauge", "bucket"})
"""What says how a pump is by itself; a throw along the ground hardly changes with it, and a jet is aimed by a hand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """One number [-] of one thing over time, resting on `count` records.

    `middle` and `spread` of them all; `now` where it stands at the last of them: on the line where the slope can be
    told from none, else in the middle; `pulled` the same pulled toward the default, but for a pump that gauge or bucket
    told: nothing pulls it above what was read. `lowest` and `next_lowest` of them, the one value twice. `per_year` is
    the slope with its interval, None for too few. `set_aside` counts those out of the range anything real has; `since`
    is the day of the last service. `benched`: gauge or bucket was read at the bench, right after the pump was mended.
    `unmeasured`: nothing was read since that service, so all of it is of before.
    """

    subject: Subject
    name: tuple[str, ...]
    what: str
    count: int
    first: datetime.date | None
    last: datetime.date | None
    middle: float
    spread: float
    lowest: float
    next_lowest: float
    now: float
    pulled: float
    per_year: float | None
    per_year_low: float | None
    per_year_high: float | None
    moves: bool
    line: Slope | None
    set_aside: int = 0
    since: datetime.date | None = None
    text: str = ""
    benched: bool = False
    unmeasured: bool = False

    @property
    def called(self) -> tuple[str, ...]:
        """Its name as somebody wrote it: an address is found by another."""
        return (self.text,) if self.subject == "tap" else self.name


def trends(found: Iterable[Observed], services: Iterable[Serviced] = ()) -> list[Trend]:
    """A trend of every number of every thing, by subject and name."""
    latest: dict[tuple[str, ...], datetime.date] = {}
    for service in services:
        latest[service.name] = max(service.date, latest.get(service.name, service.date))
    by_key: dict[Key, list[Observed]] = {}
    for one in found:
        by_key.setdefault((one.subject, one.name, one.what), []).append(one)
    made = (_trend(key, rows, latest) for key, rows in sorted(by_key.items()))
    return [trend for trend in made if trend is not None]


def _trend(key: Key, rows: list[Observed], latest: Mapping[tuple[str, ...], datetime.date]) -> Trend | None:
    subject, name, what = key
    since = latest.get(name) if subject == "pump" else None
    low, high = _range(what)
    every, unmeasured = rows, False
    if since is not None:
        # The day's own readings may be of before or after the work: they count for neither, unless they say so.
        rows = [row for row in rows if row.date is not None and (row.date > since or (row.after and row.date == since))]
        if not any(low <= row.value <= high for row in rows):
            # A word that it was worked on mends no pump: until something is read, it is what it was.
            rows, unmeasured = every, True
    kept = sorted((row for row in rows if low <= row.value <= high), key=_by_date)
    if not kept:
        return None
    values = [row.value for row in kept]
    dated = [(float(row.date.toordinal()), row.value) for row in kept if row.date is not None]
    line = theil_sen(dated, learning("trend", "confidence")) if len(dated) >= learning("trend", "least") else None
    moves = line is not None and (line.low > 0.0 or line.high < 0.0)
    middle = median(values)
    now = line.at(dated[-1][0]) if line is not None and moves else middle
    pulled = shrunk(now, 1.0, len(kept), learning("pump" if subject == "pump" else "surface", "k"))
    if subject == "pump" and 2 * sum(row.by in _TELLS_ALONE for row in kept) > len(kept):
        # Toward a sound pump is the bold side, and gauge and bucket are surer than that guess.
        pulled = min(pulled, now)
    infinite = line is None or line.low == float("-inf")
    return Trend(
        subject=subject,
        name=name,
        what=what,
        count=len(kept),
        first=kept[0].date,
        last=kept[-1].date,
        middle=middle,
        spread=spread(values),
        lowest=min(values),
        next_lowest=sorted(values)[:2][-1],
        now=now,
        pulled=pulled,
        per_year=line.slope * _YEAR if line is not None else None,
        per_year_low=line.low * _YEAR if line is not None and not infinite else None,
        per_year_high=line.high * _YEAR if line is not None and not infinite else None,
        moves=moves,
        line=line,
        set_aside=len(rows) - len(kept),
        since=since,
        text=kept[-1].text,
        benched=not unmeasured and any(row.after and row.by in _TELLS_ALONE for row in kept),
        unmeasured=unmeasured,
    )


def _by_date(row: Observed) -> tuple[datetime.date, str]:
    return (row.date or datetime.date.min, row.job)


def _range(what: str) -> tuple[float, float]:
    """What anything real has; a slip of the pen lies outside."""
    names = {"condition": "pump_range", "flow": "pump_range", "strength": "lot_range", "tap": "tap_range",
             "jet": "jet_range"}  # fmt: skip
    name = names.get(what, "surface_range")
    return learning(name, "low"), learning(name, "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """The least share of its sound head [-] a pump may have for one run of a booked job."""

    rig: str
    pump: str
    job: str
    run: str
    date: datetime.date
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """A pump against the hardest booked run: `falls` is the day its line comes below it, None where it does not fall.

    `earliest` and `latest` by the ends of the slope's interval, None beyond ten years; `expected` its share on the
    day of the job; `short` whether that is under the need.
    """

    need: Need
    count: int
    expected: float
    falls: datetime.date | None
    earliest: datetime.date | None
    latest: datetime.date | None
    short: bool


def forecasts(found: Iterable[Trend], needs: Iterable[Need]) -> list[Forecast]:
    """For each pump with a condition and booked runs: the run it fails first, by date, else the hardest."""
    by_pump: dict[tuple[str, str], list[Need]] = {}
    for need in needs:
        by_pump.setdefault((need.rig, need.pump), []).append(need)
    told = []
    for trend in found:
        if trend.subject != "pump" or trend.what != "condition" or trend.count < learning("pump", "least"):
            continue
        if trend.unmeasured:
            continue  # where its old line would have led it says nothing of a pump that was taken apart
        of_pump = sorted(by_pump.get((trend.name[0], trend.name[1]), ()), key=lambda need: (need.date, need.job))
        if of_pump:
            short = [need for need in of_pump if _expected(trend, need.date) < need.share]
            told.append(_forecast(trend, short[0] if short else max(of_pump, key=lambda need: need.share)))
    return told


def _expected(trend: Trend, date: datetime.date) -> float:
    """The condition on a day to come: along the line where it falls, from where records put it, never better."""
    if trend.line is None or not trend.moves or trend.line.slope >= 0.0 or trend.last is None:
        return trend.now
    return trend.now + trend.line.slope * (date - trend.last).days


def _forecast(trend: Trend, need: Need) -> Forecast:
    expected = _expected(trend, need.date)
    falls = earliest = latest = None
    if trend.line is not None and trend.moves and trend.line.slope < 0.0 and trend.last is not None:
        falls, earliest, latest = (
            _reaches(trend.now, slope, trend.last, need.share)
            for slope in (trend.line.slope, trend.line.low, trend.line.high)
        )
    return Forecast(
        need=need, count=trend.count, expected=expected, falls=falls, earliest=earliest, latest=latest,
        short=expected < need.share,
    )  # fmt: skip


def _reaches(now: float, slope: float, start: datetime.date, share: float) -> datetime.date | None:
    """The day a line from `now` at `start` comes down to `share`; None beyond ten years, or not at all."""
    if now <= share:
        return start
    if slope >= 0.0 or slope == float("-inf"):
        return None
    days = (share - now) / slope
    return start + datetime.timedelta(days=int(days)) if days <= 10.0 * _YEAR else None
