"""Pumps, surfaces, lots, sites and crews over time: where each stands, how fast it moves, and when it will not do.

A pump is fitted with its tips and line to all that was read of it at once (`plan/wear/fit.py`). It is called worn where
its share lies under 95 % and under a sound one's by more than it may be off; falling where the slope is told from none
by its own error, by five looks over three weeks. It is planned as sound where records know it that well, else as it is
written. A yard record with a bath, new parts or a cost begins its line anew, once something is read after it: until
then the pump is planned as it was, without a forecast. What was only seen inside, spacers too, begins nothing. Bare
readings at the bench are of after the work and count on the day of the service; those of before count toward the line
that ends there. A rebuild that is only planned changes nobody's hydraulics.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from statistics import median
from typing import TypeAlias

from planner.archive.compare.figures import learning
from planner.archive.compare.observed import Observed, PumpLook, Serviced, Subject
from planner.archive.compare.robust import Slope, normal, shrunk, spread, theil_sen
from planner.frozen import dataclass
from planner.plan.wear.fit import Factor, Fit, Look, fitted, possible

Key: TypeAlias = tuple[Subject, tuple[str, ...], str]
_YEAR = 365.25
_LONGEST = 3653


@dataclass(frozen=True, slots=True, kw_only=True)
class Below:
    """When a pump that falls comes below a `share` [-], by its line and by the ends of its band.

    `date` may lie before the last look; `latest` is None beyond ten years.
    """

    share: float
    date: datetime.date
    earliest: datetime.date
    latest: datetime.date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """One number [-] of one thing over time, resting on `count` records.

    `middle` and `spread` of them all; `now` where it stands at the last of them: on the line where the slope can be
    told from none, else in the middle; `pulled` the same pulled toward the default. `lowest` and `next_lowest` of them,
    the one value twice. `per_year` is the slope with its interval, None for too few. `set_aside` counts those out of
    the range anything real has.

    Of a pump, a tip or a line `spread` is how far the fitted value may be off; `low` and `high` end its band, and
    `worn` says that it is told from a sound one; `pulled` is what to plan with, `known` whether records say it surely
    enough. `below`: when a pump that falls comes under the shares worth a date. `since` is the day of the last service.
    `benched`: gauge or bucket was read at the bench, right after the pump was mended. `unmeasured`: nothing was read
    since that service, so all of it is of before.
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
    low: float | None = None
    high: float | None = None
    worn: bool = False
    known: bool = False
    below: tuple[Below, ...] = ()
    fit: Fit | None = None

    @property
    def called(self) -> tuple[str, ...]:
        """Its name as somebody wrote it: an address is found by another."""
        return (self.text,) if self.subject == "tap" else self.name


def trends(found: Iterable[Observed], services: Iterable[Serviced] = (), looks: Iterable[PumpLook] = ()) -> list[Trend]:
    """A trend of every number of every thing, by subject and name."""
    by_key: dict[Key, list[Observed]] = {}
    for one in found:
        by_key.setdefault((one.subject, one.name, one.what), []).append(one)
    made = [trend for key, rows in by_key.items() if (trend := _trend(key, rows)) is not None]
    made += _pumps(list(looks), services)
    return sorted(made, key=lambda one: (one.subject, one.name, one.what))


def _trend(key: Key, rows: list[Observed]) -> Trend | None:
    subject, name, what = key
    low, high = _range(what)
    kept = sorted((row for row in rows if low <= row.value <= high), key=_by_date)
    if not kept:
        return None
    values = [row.value for row in kept]
    dated = [(float(row.date.toordinal()), row.value) for row in kept if row.date is not None]
    # A test of a lot is held against what earlier ones taught of it: no slope of that is its own.
    line = (
        theil_sen(dated, learning("trend", "confidence"))
        if subject != "lot" and _carry([x for x, _ in dated])
        else None
    )
    moves = line is not None and (line.low > 0.0 or line.high < 0.0)
    middle = median(values)
    now = line.at(dated[-1][0]) if line is not None and moves else middle
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
        pulled=shrunk(now, 1.0, len(kept), learning("surface", "k")),
        per_year=line.slope * _YEAR if line is not None else None,
        per_year_low=line.low * _YEAR if line is not None and not infinite else None,
        per_year_high=line.high * _YEAR if line is not None and not infinite else None,
        moves=moves,
        line=line,
        set_aside=len(rows) - len(kept),
        text=kept[-1].text,
    )


def _pumps(looks: Sequence[PumpLook], services: Iterable[Serviced]) -> list[Trend]:
    """A trend of each pump, and of what of its tips and its line is told from what is written."""
    latest: dict[tuple[str, ...], datetime.date] = {}
    for service in services:
        latest[service.name] = max(service.date, latest.get(service.name, service.date))
    by_pump: dict[tuple[tuple[str, str], str], list[PumpLook]] = {}
    for look in looks:
        by_pump.setdefault((look.name, look.of), []).append(look)
    made: list[Trend] = []
    for (name, of), rows in by_pump.items():
        made += _pump(name, of, rows, latest.get(name))
    return made


def _pump(name: tuple[str, str], of: str, rows: Sequence[PumpLook], since: datetime.date | None) -> list[Trend]:
    every, unmeasured = rows, False
    found = None
    if since is not None:
        # The day's own readings may be of before or after the work: they count for neither, unless they say so.
        rows = [row for row in rows if row.date is not None and (row.date > since or (row.after and row.date == since))]
        found = _fitted(rows)
    if found is None:
        # A word that it was worked on mends no pump: until something is read, it is what it was.
        rows, unmeasured = every, since is not None
        found = _fitted(rows)
    if found is None:
        return []
    dates = sorted(row.date for row in rows if row.date is not None)
    moves = found.slope < 0.0
    far, sure = normal(learning("pump", "confidence")), normal(learning("pump", "sure"))
    now, off = found.share, found.off(found.day)
    worn = now < learning("pump", "worn") and now + sure * off < 1.0
    trend = Trend(
        subject="pump",
        name=name,
        what="condition" if of == "head" else "flow",
        count=found.looks,
        first=dates[0] if dates else None,
        last=dates[-1] if dates else None,
        middle=now if not moves or not dates else found.at((dates[0].toordinal() + found.day) / 2.0),
        spread=off,
        lowest=now,
        next_lowest=now,
        now=now,
        pulled=now if worn else 1.0,
        per_year=found.slope * _YEAR if moves else None,
        per_year_low=(found.slope - far * found.covers[1] ** 0.5) * _YEAR if moves else None,
        per_year_high=(found.slope + far * found.covers[1] ** 0.5) * _YEAR if moves else None,
        moves=moves,
        line=None,
        set_aside=sum(not any(map(possible, row.readings)) for row in rows),
        since=since,
        benched=not unmeasured and any(row.after and row.sure for row in rows),
        unmeasured=unmeasured,
        low=now - far * off,
        high=now + far * off,
        worn=worn,
        known=worn or off <= learning("pump", "known"),
        below=() if unmeasured else tuple(_below(found)),
        fit=found,
    )
    parts: list[tuple[Subject, tuple[str, ...], str, Factor]] = [
        ("tip", (name[0], tip), "bore", one) for tip, one in sorted(found.tips.items())
    ]
    parts += [("line", name, "loss", found.line)] if found.line is not None else []
    return [trend, *(_part(trend, *part) for part in parts if abs(part[3].value - 1.0) > sure * part[3].off)]


def _part(pump: Trend, subject: Subject, name: tuple[str, ...], what: str, one: Factor) -> Trend:
    """A tip or a line that is told from what is written."""
    far = normal(learning("pump", "confidence")) * one.off
    return Trend(
        subject=subject, name=name, what=what, count=pump.count, first=pump.first, last=pump.last, middle=one.value,
        spread=one.off, lowest=one.value, next_lowest=one.value, now=one.value, pulled=one.value, per_year=None,
        per_year_low=None, per_year_high=None, moves=False, line=None, low=one.value - far, high=one.value + far,
        worn=True, known=True,
    )  # fmt: skip


def _fitted(rows: Sequence[PumpLook]) -> Fit | None:
    """A pump by all its looks: with its slope where they carry one, else as it is all along."""
    latest = sorted(rows, key=lambda row: row.date or datetime.date.min)[-int(learning("pump", "most")) :]
    looks = [Look(day=float(row.date.toordinal()) if row.date else None, readings=row.readings) for row in latest]
    level = fitted(looks)
    days = [look.day for look in looks if look.day is not None]
    if level is None or level.looks < learning("trend", "least") or not _carry(days):
        return level
    line = fitted(looks, moving=True)
    if line is None or line.slope >= -normal(learning("fall", "confidence")) * line.covers[1] ** 0.5:
        return level
    if line.slope * (max(days) - min(days)) > learning("pump", "worn") - 1.0:
        return level  # in all its records it has not come down by what is told from none
    return line


def _carry(days: Sequence[float]) -> bool:
    """Whether records are enough, over days enough, for a slope to be asked after."""
    return len(days) >= learning("trend", "least") and max(days) - min(days) >= learning("trend", "days")


def _below(fit: Fit) -> Iterable[Below]:
    """When it comes below each share worth a date; nothing of a pump that does not fall."""
    if fit.slope >= 0.0:
        return
    for key in ("first", "second"):
        share = learning("below", key)
        date = _reaches(fit, share)
        earliest = _reaches(fit, share, -normal(learning("below", "confidence")))
        latest = _reaches(fit, share, normal(learning("below", "confidence")))
        if date is not None and earliest is not None:
            yield Below(share=share, date=date, earliest=earliest, latest=latest)


def _reaches(fit: Fit, share: float, sure: float = 0.0) -> datetime.date | None:
    """The first day on which the line, so many of its errors over or under, is no more than `share`.

    Before the last look it goes by the line alone; None beyond ten years.
    """
    last = datetime.date.fromordinal(int(fit.day))
    if fit.share + sure * fit.off(fit.day) <= share:
        return last + datetime.timedelta(days=int((share - fit.share) / fit.slope)) if sure == 0.0 else last
    low, high = 0, _LONGEST
    if fit.at(fit.day + high) + sure * fit.off(fit.day + high) > share:
        return None
    while high - low > 1:
        day = (low + high) // 2
        low, high = (low, day) if fit.at(fit.day + day) + sure * fit.off(fit.day + day) <= share else (day, high)
    return last + datetime.timedelta(days=high)


def _by_date(row: Observed) -> tuple[datetime.date, str]:
    return (row.date or datetime.date.min, row.job)


def _range(what: str) -> tuple[float, float]:
    """What anything real has; a slip of the pen lies outside."""
    names = {"strength": "lot_range", "tap": "tap_range", "jet": "jet_range"}
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
        if trend.unmeasured or not trend.known:
            continue  # an old line says nothing of a pump that was taken apart, and looks that tell nothing never do
        of_pump = sorted(by_pump.get((trend.name[0], trend.name[1]), ()), key=lambda need: (need.date, need.job))
        if of_pump:
            short = [need for need in of_pump if _expected(trend, need.date) < need.share]
            told.append(_forecast(trend, short[0] if short else max(of_pump, key=lambda need: need.share)))
    return told


def _expected(trend: Trend, date: datetime.date) -> float:
    """The condition on a day to come: along the line where it falls, else as it is planned with."""
    if trend.fit is None or not trend.moves or trend.last is None:
        return trend.pulled
    return min(trend.fit.at(float(max(date, trend.last).toordinal())), 1.0)


def _forecast(trend: Trend, need: Need) -> Forecast:
    expected = _expected(trend, need.date)
    falls = earliest = latest = None
    if trend.fit is not None and trend.moves:
        far = normal(learning("below", "confidence"))
        falls, earliest, latest = (_reaches(trend.fit, need.share, sure) for sure in (0.0, -far, far))
    return Forecast(
        need=need, count=trend.count, expected=expected, falls=falls, earliest=earliest, latest=latest,
        short=expected < need.share,
    )  # fmt: skip
