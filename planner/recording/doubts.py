"""Figures of a record that were hardly meant: far from what was planned, above a rating, times that run backward.

They are asked after, or told; they are kept all the same, for nobody here knows better than who was there.

On a terminal a doubted figure is asked again and the same answer then taken; of a file it is told, and kept under
`cautions` beside the record's JSON, outside of what makes a revision. What is far is in data/record.yaml.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal

from planner.archive.compare.totals import rang
from planner.chemistry import hypochlorite
from planner.contract.planned import NOT_DONE, acts_of, mix_of_side
from planner.contract.record import planned_of
from planner.contract.recordable import (
    Part,
    Recordable,
    asked_of,
    from_tap,
    held_against,
    mixes_of,
    reading,
    rows_of,
    sides_of,
)
from planner.frozen import dataclass
from planner.inputs.tables.rows import table
from planner.inputs.tables.whole import limits_with
from planner.units import System, Unreadable, read, show, show_number
from planner.words.dates import MINUTE, clock_text
from planner.words.measures import strength

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson
    from planner.contract.record import FlushDoneJson, RecordJson, TimesJson

_DIMENSIONS = {"pour": "volume", "bucket": "flow"}
_DAY = 86400.0  # s
_NOUGHT_IS_SAID = frozenset({"volume", "pour", "mass", "number"})
"""Dimensions where nought is an answer: nothing was poured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """What is odd about the figure at a key path, and what to do where it was not meant."""

    path: str
    message: str
    remedy: str

    def told(self) -> str:
        """Both as one line."""
        return f"{self.path}: {self.message}; {self.remedy}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Figure:
    """A figure in SI, the two ends of what was planned, and what it may not pass; None where there is none."""

    path: str
    done: float | None
    least: float | None
    most: float | None
    of: str
    rated: float | None = None
    chemical: str = ""

    def shown(self, value: float, system: System, percent: str) -> str:
        """A value of it in the reader's units; a strength in the company's percent."""
        if self.chemical:
            return strength(value, self.chemical, percent, caustic=hypochlorite.USUAL_CAUSTIC)
        return show(value, _DIMENSIONS.get(self.of, self.of), system, digits=3)


def doubts(
    record: RecordJson, plan: PlanJson, system: System, percent: str = "trade",
    written: Mapping[str, str] | None = None, today: datetime.date | None = None,
) -> Iterator[Doubt]:  # fmt: skip
    """Everything odd in a record's JSON, held against its plan's, by key path. `written` are its texts by key path,
    with runs, mixes and sides by their numbers: of a figure in another unit than was planned they tell a slip. No date
    lies after `today`."""
    for figure in _figures(record, plan):
        far = list(_far_off(figure, system, percent))
        yield from far or _in_another_unit(figure, system, (written or {}).get(figure.path, ""))
    yield from _of_times(record["times"], system)
    yield from _of_strips(record["flush"], plan)
    yield from _of_nothing(record, plan)
    yield from _of_dates(record, plan, today or datetime.date.today())
    yield from _of_first_mixes(record, plan, system)
    yield from _of_initials(record, plan)
    yield from _of_money(record)
    yield from _of_spacers(record)
    yield from _of_held(plan)
    yield from _of_status(record)
    yield from _of_callbacks(record)


def _of_status(record: RecordJson) -> Iterator[Doubt]:
    """Figures of a job that was not done: one of the two is a slip."""
    status = record.get("status")
    if status not in NOT_DONE:
        return
    figures = any(record[key] for key in ("readings", "mixes", "sides")) or record["water"]["used_m3"]
    if figures or any(value is not None for value in record["times"].values()):
        yield Doubt(
            path="status",
            message=f"`{status}` says nothing was done that day, and there are figures of what was",
            remedy="write `part` or `done`, or take the figures out",
        )


def _of_callbacks(record: RecordJson) -> Iterator[Doubt]:
    """A customer who did not call back, and words of what they called about."""
    words = record.get("callbacks")
    if record.get("callback") is False and rang(words):
        message = f"`no` says nobody called back, and `callbacks` has `{(words or '')[:40]}`"
        yield Doubt(path="callback", message=message, remedy="write `callback: yes`, or take the words out")


def _far_off(figure: _Figure, system: System, percent: str) -> Iterator[Doubt]:
    done, least, most = figure.done, figure.least, figure.most
    if done is None or (done == 0.0 and figure.of in _NOUGHT_IS_SAID):
        return
    times, apart = _times(figure.of), _apart(figure.of)

    def shown(value: float) -> str:
        return figure.shown(value, system, percent)

    if figure.rated is not None and done > figure.rated * (1.0 + 1e-9):
        odd = f"above the {shown(figure.rated)} its gear is rated for"
    elif most and done > times * most and done - most > apart:
        odd = f"more than {times:g} times the {shown(most)} planned"
    elif least and done < least / times and least - done > apart:
        odd = f"less than {_PART.get(times, 'a part')} of the {shown(least)} planned"
    else:
        return
    remedy = _REMEDIES.get(figure.of, "check its unit and the figure")
    yield Doubt(path=figure.path, message=f"read as {shown(done)}, {odd}", remedy=remedy)


def _in_another_unit(figure: _Figure, system: System, text: str) -> Iterator[Doubt]:
    """A figure with another unit than its planned one, which in that would lie nearer: feet written as metres."""
    done, least, most = figure.done, figure.least, figure.most
    number = _NUMBER.match(text.strip())
    if not done or not least or not most or number is None or figure.of not in _MISTAKEN or figure.chemical:
        return
    dimension = _DIMENSIONS.get(figure.of, figure.of)
    _, unit = show_number(most, dimension, system)
    try:
        bare = read(f"{number[1]} {unit}", dimension)
    except Unreadable:
        return
    near = min(max(done, least), most)
    if not bare or abs(done - near) <= _apart(figure.of) or math.isclose(bare, done, rel_tol=0.02):
        return
    if _apart_by(bare, least, most) < _apart_by(done, least, most):
        planned = show(near, dimension, system, digits=3)
        yield Doubt(
            path=figure.path,
            message=f"read as {show(done, dimension, system, digits=3)}; {number[1]} {unit} would be nearer to the "
            f"{planned} planned",
            remedy="check its unit and the figure",
        )


_NUMBER = re.compile(r"([0-9][0-9.,]*) ?[A-Za-z]+$")
_MISTAKEN = frozenset({"length", "volume", "pour", "pressure", "mass"})


def _apart_by(value: float, least: float, most: float) -> float:
    """How many times a value lies beyond its two ends, as a logarithm."""
    return abs(math.log(value / min(max(value, least), most)))


_PART = {1.5: "two thirds", 2.0: "half", 3.0: "a third", 4.0: "a quarter", 5.0: "a fifth"}
_REMEDIES = {"bucket": "check which bucket it was, and the seconds"}


def _row(of: str) -> Mapping[str, str]:
    rows: list[Mapping[str, str]] = table("record")["least"]
    return next(row for row in rows if row["name"] == of)


@lru_cache(maxsize=16)
def _times(of: str) -> float:
    return read(_row(of).get("times") or table("record")["times"]["value"], "number")


@lru_cache(maxsize=16)
def _apart(of: str) -> float:
    return read(_row(of)["value"], _DIMENSIONS.get(of, of))


def _figures(record: RecordJson, plan: PlanJson) -> Iterator[_Figure]:
    """Every figure that is doubted where it lies far from what was planned."""
    for group in ("readings", "mixes", "sides", "water", "pump"):
        for path, part, done in held_against(record, plan, group):
            for row in rows_of(group):
                if row.doubt:
                    yield from _of_row(row, f"{path}.{row.key}", plan, part, done)


def _of_row(row: Recordable, path: str, plan: PlanJson, part: Part, written: Part) -> Iterator[_Figure]:
    of, _, against = row.doubt.partition(" ")
    done, planned = row.done_of(written), reading(against, plan, part) if against else row.plan_of(plan, part)
    if row.kind == "amount":
        for one, two, kind in zip(done, planned, (of, "mass"), strict=True):
            yield _Figure(path=path, done=one, least=two, most=two, of=kind)
        return
    if row.path == "water.tap" and not (plan["water"] and plan["water"].get("tap_tested")):
        of = "flow"  # an ordinary tap, untested, is only a guess
    least, most = planned if isinstance(planned, (tuple, list)) else (planned, planned)
    yield _Figure(
        path=path, done=done, least=least, most=most, of=of, rated=_rated(row, plan, part),
        chemical=part["stock"] if row.kind == "strength" else "",
    )  # fmt: skip


def _rated(row: Recordable, plan: PlanJson, part: Part) -> float | None:
    """What the gear a gauge hangs on is rated for [Pa]; at the bench the weakest there is."""
    if row.kind != "pressure":
        return None
    rated = [part.get("rating_pa")] if row.group == "readings" else [run.get("rating_pa") for run in plan["runs"]]
    return min((one for one in rated if one), default=None)


def _of_times(times: TimesJson, system: System) -> Iterator[Doubt]:
    """Times that run backward. A night's work may pass midnight."""
    said = [(key.removesuffix("_s"), at) for key in _CLOCKS if (at := times[key]) is not None]
    for (earlier, before), (later, after) in pairwise(said):
        if after < before:
            took = round((after - before) % _DAY / 60.0)
            shown = [clock_text(time, system, step=MINUTE) for time in (before, after)]
            yield Doubt(
                path=f"times.{later}",
                message=f"{_spoken(later)} {shown[1]} is taken as the day after {_spoken(earlier)} {shown[0]}, "
                f"{took // 60} h {took % 60:02d} min on",
                remedy="times go by the 24 hour clock, so an afternoon's is written like `13:15` or `1:15 pm`",
            )


_CLOCKS: Final[tuple[Literal["arrived_s", "first_mix_s", "flushed_s", "left_s"], ...]] = (
    "arrived_s", "first_mix_s", "flushed_s", "left_s",
)  # fmt: skip


def _of_first_mixes(record: RecordJson, plan: PlanJson, system: System) -> Iterator[Doubt]:
    """A side that had its first mix while the rig was not there: by a slip of am and pm, as a rule."""
    arrived, left = record["times"]["arrived_s"], record["times"]["left_s"]
    for path, _, row in sides_of(record, plan):
        at = row.get("first_mix_s")
        if at is None or arrived is None or left is None or (at - arrived) % _DAY <= (left - arrived) % _DAY:
            continue
        shown = [clock_text(time, system, step=MINUTE) for time in (at, arrived, left)]
        yield Doubt(
            path=f"{path}.first_mix",
            message=f"first mix at {shown[0]} is not between arrived {shown[1]} and left {shown[2]}",
            remedy="times go by the 24 hour clock, so an afternoon's is written like `13:15` or `1:15 pm`",
        )


def _of_strips(flush: FlushDoneJson, plan: PlanJson) -> Iterator[Doubt]:
    """A strip after the flush outside of what the plan's own last step takes as clean: the line stays dirty."""
    remedy = "flush again while the line is there; until a clean strip is on record it counts as dirty"
    for key, read_off, what, unit in (
        ("residual", flush["residual_mg_per_l"], "strip_chlorine", " mg/L"), ("ph", flush["ph"], "strip_ph", ""),
    ):  # fmt: skip
        low, high = _band(plan, what)
        if read_off is None or (low * (1 - 1e-9) <= read_off <= high * (1 + 1e-9)):
            continue
        clean = f"{low:g} to {high:g}" if what == "strip_ph" else f"{high:g} mg/L or less"
        name = "pH" if what == "strip_ph" else "chlorine"
        message = f"{name} read as {read_off:.3g}{unit} after the flush, and clean is {clean}"
        yield Doubt(path=f"flush.{key}", message=message, remedy=remedy)


def _band(plan: PlanJson, what: str) -> tuple[float, float]:
    """What the last step of the plan that reads such a strip takes; of a plan without one, the table's limits."""
    told = [expect for act in acts_of(plan) if (expect := act.get("expect")) and expect["what"] == what]
    if told:
        return told[-1]["low"], told[-1]["high"]
    limits, _ = limits_with({})
    if what == "strip_ph":
        return limits["let_go_ph_low"], limits["let_go_ph_high"]
    return 0.0, limits["residual"] * 1000.0


def _of_nothing(record: RecordJson, plan: PlanJson) -> Iterator[Doubt]:
    """Figures of what the plan has none of, and no water at all where it wants some."""
    if record["water"]["used_m3"] == 0.0 and plan["water"] is not None and plan["water"]["need_m3"] > 0.0:
        yield Doubt(path="water.used", message="no water at all, and the plan needs some", remedy="check the figure")
    remedy = "check which mix or side it belongs to, or take it out"
    for path, mix, done in mixes_of(record, plan):
        for row in rows_of("mixes"):
            if row.when == "planned" and row.done_of(done) is not None and not asked_of(row, plan, mix):
                message = f"mix {done['number']}, {mix.get('name') or mix['stock']}, has no {_NAMED[row.key]}"
                yield Doubt(path=f"{path}.{row.key}", message=message, remedy=remedy)
    for path, side, washed in sides_of(record, plan):
        for row in rows_of("sides"):
            if row.when in _OF_MIX and mix_of_side(plan, side) is None and row.done_of(washed):
                message = f"no mix is planned for {side['surface']} by {side['run']}"
                yield Doubt(path=f"{path}.{row.key}", message=message, remedy=remedy)
    if record["water"]["tap_s"] is not None and plan["water"] is not None and not from_tap(plan):
        message = f"the plan takes its water from a {plan['water']['source']}, not from a tap"
        yield Doubt(path="water.tap", message=message, remedy="check which job it is from, or take it out")


_NAMED = {"dial": "dial", "jug_left": "jug", "batches": "tankfuls"}
_OF_MIX = ("mixed", "waited", "several")


def _of_dates(record: RecordJson, plan: PlanJson, today: datetime.date) -> Iterator[Doubt]:
    """A day that has not come yet or lies far from the plan's own, and a signature's day that is none."""
    day, own = _date(record.get("date")), _date(plan["id"][:10])
    remedy = "check the year, the month and the day"
    if day is not None and day > today:
        yield Doubt(path="date", message=f"{day.isoformat()} has not come yet", remedy=remedy)
    elif day is not None and own is not None and not -_days("early") <= (day - own).days <= _days("late"):
        apart = abs((day - own).days)
        when = "before" if day < own else "after"
        message = f"{day.isoformat()} is {apart} days {when} the plan's day, {own.isoformat()}"
        yield Doubt(path="date", message=message, remedy=remedy)
    found = re.match(r"\s*([0-9]{4}-[0-9]{1,2}-[0-9]{1,2})(?![0-9])", record["signed_at"] or "")
    if found is None:
        return
    signed = _date(found[1])
    if signed is None:
        yield Doubt(path="signed_at", message=f"`{found[1]}` is not a date", remedy=remedy)
    elif signed > today:
        yield Doubt(path="signed_at", message=f"{signed.isoformat()} has not come yet", remedy=remedy)
    elif day is not None and signed < day:
        message = f"signed on {signed.isoformat()}, before the job was done on {day.isoformat()}"
        yield Doubt(path="signed_at", message=message, remedy=remedy)


def _date(text: str | None) -> datetime.date | None:
    found = re.fullmatch(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})", text or "")
    with suppress(ValueError):
        return datetime.date(*map(int, found.groups())) if found is not None else None
    return None


@lru_cache(maxsize=4)
def _days(key: str) -> float:
    """How far from the plan's day a record's own may lie [d]."""
    return read(table("record")["days"][key], "time") / _DAY


def _of_held(plan: PlanJson) -> Iterator[Doubt]:
    """A job nobody was to begin, by the paper it is a record of."""
    if plan.get("verdict") != "stop":
        return
    stops = [one for one in plan["findings"] if one["level"] == "stop" and not one["accepted"]]
    codes = ", ".join(dict.fromkeys(one["code"] for one in stops))
    yield Doubt(
        path="plan",
        message=f"plan {plan['plan']} was held ({codes}): its paper tells the crew not to start",
        remedy="check whether the crew worked from another plan; if not, say in `deviations` what was done about it",
    )


def _spoken(key: str) -> str:
    return key.replace("_", " ")


_CREW: Final[tuple[Literal["lead", "second"], ...]] = ("lead", "second")


def _of_initials(record: RecordJson, plan: PlanJson) -> Iterator[Doubt]:
    """Stop points that nobody put initials to, of a job where some have theirs: passed by, or not filled in; and
    initials of somebody who had none to give there."""
    given = {row["stop_point"]: row for row in record.get("initials") or ()}
    lacking = []
    for stop in planned_of(plan).stops or () if given else ():
        row = given.get(stop.number)
        signed = {who for who in _CREW if row and row[who]}
        names = " and ".join(one for one in stop.who if one not in signed)
        lacking += [f"{stop.number} ({names})"] if names else []
        for who in sorted(signed - set(stop.who)):
            message = f"stop point {stop.number} is the {stop.who[0]}'s alone, and the {who} has initials there"
            yield Doubt(path=f"initials.{stop.number}.{who}", message=message, remedy="check whose they are")
    if lacking:
        message = f"no initials at stop point{'s' if len(lacking) > 1 else ''} {', '.join(lacking)}"
        yield Doubt(path="initials", message=message, remedy="write them, or say in `deviations` what was left out")


def _of_money(record: RecordJson) -> Iterator[Doubt]:
    """What a thing cost, where no sum can be made of the words."""
    rows = record["pump"]["stages"] if record["pump"] is not None else ()
    costs = [(f"pump.stages.{row['number']}.cost", row["cost"], row["spent"]) for row in rows]
    costs += [("cost", record["cost"], record["spent"])]
    for path, words, spent in costs:
        if words is None or spent is not None or (path == "cost" and any(map(str.isdigit, words))):
            continue
        message = f"`{words[:40]}` is not a sum of money, so it is kept as words and left out of every total"
        yield Doubt(path=path, message=message, remedy="write the figure, such as `62.50`")


def _of_spacers(record: RecordJson) -> Iterator[Doubt]:
    """A stage whose spacer is written twice, and not alike."""
    pump = record["pump"]
    if pump is None:
        return
    for row in pump["stages"]:
        number, spacer = row["number"], row["spacer"]
        other = pump["spacers"][number - 1] if number <= len(pump["spacers"]) else ""
        if spacer and other and " ".join(spacer.split()).casefold() != " ".join(other.split()).casefold():
            yield Doubt(
                path=f"pump.stages.{number}.spacer",
                message=f"stage {number} has `{spacer[:40]}` here and `{other[:40]}` among the spacers",
                remedy="write the same for both, or write only one",
            )
