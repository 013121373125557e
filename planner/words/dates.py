"""Days and times of day as the reader's country says them: `Tuesday, June 9, 2026`, `8:05 am`; files keep their own.

Every planned time of day is printed up to five minutes (`to_the_clock`), so that one moment reads the same on two
pages; a stay is what lies between its two printed times, a column's foot what its printed rows come to.
"""

from __future__ import annotations

import datetime
import math

from planner.units import System, Toward

CLOCK = 300.0
"""A planned time of day is told to five minutes [s]."""
MINUTE = 60.0
_DAY = 86400.0
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December")  # fmt: skip


def long_date(date: datetime.date | None, system: System) -> str:
    """`Tuesday, June 9, 2026` in US units, else `Tuesday, 9 June 2026`, whatever the machine's own language."""
    if date is None:
        return "no date"
    year = f", {date.year}" if system == "us" else f" {date.year}"
    return f"{day_text(date, system)}{year}"


def day_text(date: datetime.date, system: System) -> str:
    """The same without its year: `Tuesday, June 9`, `Tuesday, 9 June`."""
    return f"{_DAYS[date.weekday()]}, {short_date(date, system)}"


def short_date(date: datetime.date, system: System) -> str:
    """A day without its year: `June 16`, `16 June`."""
    month = _MONTHS[date.month - 1]
    return f"{month} {date.day}" if system == "us" else f"{date.day} {month}"


def to_the_clock(seconds: float, step: float = CLOCK, toward: Toward = "up") -> float:
    """A time of day [s] at the mark it is printed as: never earlier, whether something begins or is over then."""
    marks = seconds / step
    return step * (math.floor(marks + 1e-6) if toward == "down" else math.ceil(marks - 1e-6))


def clock_text(
    seconds: float, system: System, *, step: float = CLOCK, toward: Toward = "up", bare: bool = False
) -> str:  # fmt: skip
    """A time of day from seconds since midnight: `1:05 pm`, `13:05`; `bare` leaves out am and pm.

    `step` is CLOCK for what is planned, MINUTE for what somebody wrote or saw.
    """
    minutes = round(to_the_clock(seconds, step, toward) / MINUTE)
    if system != "us":
        return f"{minutes // 60:02d}:{minutes % 60:02d}"
    hour = minutes // 60 % 24
    text = f"{(hour + 11) % 12 + 1}:{minutes % 60:02d}"
    if bare:
        return text
    return f"{text} {'am' if hour < 12 else 'pm'}{' next day' if minutes * MINUTE >= _DAY else ''}"


def after_text(seconds: float, step: float = CLOCK) -> str:
    """So long after arrival, where no time of day is known: `+1:05`."""
    minutes = round(to_the_clock(seconds, step) / MINUTE)
    return f"+{minutes // 60}:{minutes % 60:02d}"
