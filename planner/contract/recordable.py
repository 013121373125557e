"""Every figure that can be written down of a job: a row of data/recordable.yaml, and what is the same for all of them.

A row says where a figure is in a record, what was planned for it, and how that is printed: what follows from it on
paper, in the questions, among the doubts and in a comparison is made from that by whoever makes those.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from planner.chemistry import hypochlorite
from planner.contract.planned import PLANNED, acts_of, bench_test, moments, named_mix
from planner.frozen import dataclass
from planner.inputs.reading.strengths import Strength
from planner.inputs.tables.chemicals import BLEACH
from planner.inputs.tables.rows import rows as rows_of_table
from planner.plan.mix.lots import active
from planner.units import System, Toward, show_number
from planner.words.dates import clock_text
from planner.words.figures import bench_bucket, bucket_name, unit
from planner.words.jugs import rest
from planner.words.measures import (
    GALLON,
    dial_number,
    gauge_number,
    minutes,
    minutes_between,
    poured_number,
    rounded,
    strength_number,
    timed,
    volume,
    weighed,
)

if TYPE_CHECKING:
    from planner.contract.mix import JugTestJson, MixJson, WorkJson
    from planner.contract.plan import PlanJson, WornRunJson
    from planner.contract.record import MixDoneJson, ReadingJson, RecordJson, SideJson, TestJson

Part: TypeAlias = Mapping[str, Any]
"""A run, mix, side or all of a plan, or what a record has of one: read by the keys that a row of the table names."""
KINDS: Final[Mapping[str, tuple[str, ...]]] = {
    "pressure": ("_pa",), "length": ("_m",), "volume": ("_m3",), "time": ("_s",), "clock": ("_s",), "number": ("",),
    "words": ("",), "day": ("",), "list": ("",), "strength": ("",), "bucket": ("_m3", "_s"), "amount": ("_m3", "_kg"),
    "residual": ("_mg_per_l", "_below"), "yes_no": ("",),
}  # fmt: skip
"""What is written, and how its keys in a record's JSON end."""
_COLUMNS: Final = ("path", "kind", "planned", "told", "label", "asked", "doubt", "compared")
_LITTLE: Final = 1e-9  # m3; what sums leave over


class RowError(Exception):
    """A row of our own table that lacks something."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A planned figure as it is printed, empty where there is none; its unit, and what stands before a bucket's."""

    number: str
    unit: str = ""
    lead: str = ""

    @property
    def text(self) -> str:
        """All of it."""
        return " ".join(part for part in (self.lead, self.number, self.unit) if part) if self.number else ""


@dataclass(frozen=True, kw_only=True)
class Recordable:
    """One row, as the head of the table has it; what it has none of is empty."""

    path: str
    kind: str
    planned: str = ""
    told: str = ""
    label: str = ""
    asked: str = ""
    doubt: str = ""
    compared: str = ""
    json: str = ""
    spoken: str = ""
    more: str = ""
    when: str = ""
    bench: str = ""

    @property
    def group(self) -> str:
        """Which part of a record it is of: times, readings, mixes; empty of the record itself."""
        return self.path.rpartition(".")[0]

    @property
    def key(self) -> str:
        """Its key there."""
        return self.path.rpartition(".")[2]

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """Its keys in a record's JSON."""
        return tuple(f"{self.json or self.key}{end}" for end in KINDS[self.kind])

    @cached_property
    def _steps(self) -> tuple[tuple[str, bool], ...]:
        return tuple((step.rstrip("?"), step.endswith("?")) for step in self.planned.split("."))

    def plan_of(self, plan: PlanJson, part: Part) -> Any:
        """What was planned of it, in SI: a figure, or two of a band or an amount; None where nothing was."""
        if not self.planned:
            return None
        return reading(self.planned, plan, part) if self.planned[0] == "(" else _at(part, self._steps)

    def done_of(self, part: Part) -> Any:
        """What a record's JSON has of it, as `plan_of`; a bucket as a flow [m3/s]."""
        first, *second = (part.get(key) for key in self.keys)
        match self.kind:
            case "bucket":
                return first / second[0] if first and second[0] else None
            case "amount":
                return first, second[0]
            case "strength":
                return first["g_per_l"] if first is not None else None
        return first


def reading(name: str, plan: PlanJson, part: Part) -> Any:
    """What a `(name)` of the table reads in a plan."""
    return PLANNED[name[1:-1]](plan, part)


def _at(part: Any, steps: tuple[tuple[str, bool], ...]) -> Any:
    """What stands under keys in a plan; None where one is missing that may."""
    for name, may_lack in steps:
        if may_lack and (part is None or name not in part):
            return None
        part = None if part is None else part[name]
    return part


@lru_cache(maxsize=1)
def recordables() -> tuple[Recordable, ...]:
    """Every row, those that are only written down last."""
    rows = [_row(row, _COLUMNS) for row in rows_of_table("recordable")]
    return (*rows, *(_row(row, _COLUMNS[:2]) for row in rows_of_table("recordable", "alone")))


def _row(row: Mapping[str, str], columns: tuple[str, ...]) -> Recordable:
    lacking = [name for name in columns if not row.get(name)]
    if lacking:
        raise RowError(f"data/recordable.yaml: `{row.get('path', '?')}` has no {', '.join(lacking)}")
    if row["kind"] not in KINDS:
        raise RowError(f"data/recordable.yaml: `{row['path']}` has a kind that does not exist: {row['kind']}")
    return Recordable(**{name: "" if text == "none" else text for name, text in row.items()})


@lru_cache(maxsize=16)
def rows_of(group: str) -> tuple[Recordable, ...]:
    """The rows of one part of a record."""
    return tuple(row for row in recordables() if row.group == group)


@lru_cache(maxsize=64)
def row_of(path: str) -> Recordable:
    """The row of a figure. Raises KeyError where there is none."""
    return {row.path: row for row in recordables()}[path]


@lru_cache(maxsize=1)
def by_comparison() -> Mapping[str, tuple[Recordable, int]]:
    """The row behind each compared figure, and which of an amount's two it is."""
    return {name: (row, at) for row in recordables() for at, name in enumerate(row.compared.split())}


# ------------------------------------------------------------ record


def written_json(group: str, model: Any, chemical: str | None = None, **called: object) -> Any:
    """One part of a record as JSON, null where nothing was written; `chemical` its stock's, `called` what it goes by.

    Its keys are the table's: the types in contract/record.py have the same ones, and a test holds them to that.
    """
    for row in rows_of(group):
        called |= dict(zip(row.keys, _si(row.kind, getattr(model, row.key), chemical), strict=True))
    return called


def _si(kind: str, value: Any, chemical: str | None) -> tuple[Any, ...]:
    if value is None:
        return (None,) * len(KINDS[kind])
    match kind:
        case "bucket":
            return value.volume, value.seconds
        case "amount":
            return value.volume, value.mass
        case "residual":
            return value.value * 1000.0, value.below
        case "strength":
            return (_strength_json(value, chemical),)
        case "list":
            return (list(value),)
        case "day":
            return (value.isoformat(),)
    return (value,)


def _strength_json(strength: Strength, chemical: str | None) -> TestJson:
    """In the percent it was written in, and in g/L of the active where its chemical is known."""
    grams = active(strength, chemical) if chemical is not None else None
    return {"amount": strength.amount, "basis": strength.basis, "g_per_l": grams}


# ------------------------------------------------------------ plan


def parts_of(plan: PlanJson, group: str) -> Iterator[tuple[str, Part, str]]:
    """What a plan has of one part of a record: the key path of each, itself, and what its questions begin with."""
    match group:
        case "readings":
            yield from ((f"readings.{n}", run, f"{run['name']}: ") for n, run in enumerate(plan["runs"], 1))
        case "mixes":
            yield from ((f"mixes.{n}", mix, f"{named_mix(plan, n)}: ") for n, mix in enumerate(plan["mixes"], 1))
        case "sides":
            for n, side in enumerate(plan["work"], 1):
                yield f"sides.{n}", side, f"{side.get('side') or side['surface']}, {side['run']}: "
        case "times":
            at, dated = moments(plan)
            yield "times", at if dated else {}, ""
        case "flush" if not plan["flushes"]:
            return
        case _:
            yield group, plan, ""


def runs_of(record: RecordJson, plan: PlanJson) -> Iterator[tuple[str, WornRunJson, ReadingJson]]:
    """Each run that was read and that the plan has too: its key path, the plan's and the record's own."""
    runs = {run["name"]: (n, run) for n, run in enumerate(plan["runs"], 1)}
    yield from (
        (f"readings.{runs[row['run']][0]}", runs[row["run"]][1], row)
        for row in record["readings"]
        if row["run"] in runs
    )


def mixes_of(record: RecordJson, plan: PlanJson) -> Iterator[tuple[str, MixJson, MixDoneJson]]:
    """The same of mixes."""
    mixes = dict(enumerate(plan["mixes"], 1))
    yield from (
        (f"mixes.{row['number']}", mixes[row["number"]], row) for row in record["mixes"] if row["number"] in mixes
    )


def sides_of(record: RecordJson, plan: PlanJson) -> Iterator[tuple[str, WorkJson, SideJson]]:
    """The same of sides."""
    sides = {(side["surface"], side["run"]): (n, side) for n, side in enumerate(plan["work"], 1)}
    for row in record["sides"]:
        found = sides.get((row["surface"], row["run"]))
        if found is not None:
            yield f"sides.{found[0]}", found[1], row


def held_against(record: RecordJson, plan: PlanJson, group: str) -> Iterator[tuple[str, Part, Part]]:
    """All of these in turn by their group; what is written once for a job is held against the plan itself."""
    match group:
        case "readings":
            yield from runs_of(record, plan)
        case "mixes":
            yield from mixes_of(record, plan)
        case "sides":
            yield from sides_of(record, plan)
        case "water":
            yield group, plan, record["water"]
        case "pump" if record["pump"] is not None:
            yield group, plan, record["pump"]


_TAPS: Final = ("tap", "hydrant")


def from_tap(plan: PlanJson) -> bool:
    """Whether a job has its water from a tap; of plans kept before they named their source it is taken so."""
    return plan["water"] is not None and plan["water"].get("source", "tap") in _TAPS


def asked_of(row: Recordable, plan: PlanJson, part: Part) -> bool:
    """Whether this plan gives cause to ask for it."""
    match row.when:
        case "planned":
            return row.plan_of(plan, part) is not None
        case "tapped":
            return from_tap(plan)
        case "caught":  # nothing is caught from under a hood, and it throws nowhere
            return bool(part.get("tip_pattern") != "surface_cleaner")
        case "tank":
            return bool(part["batches"])
        case "mixed":
            return bool(part["dwell_s"][1])
        case "waited":  # where only rain rinses nobody waits
            rinsed = any(one["rinse_m3"] for one in plan["work"] if one["surface"] == part["surface"])
            return bool(part["dwell_s"][1]) and rinsed
        case "several":  # of one side alone the job's own time says it
            return bool(part["dwell_s"][1]) and len(plan["work"]) > 1
        case "chlorine":
            return any(flush.get("from", BLEACH) == BLEACH for flush in plan["flushes"])
        case "":
            return True
    raise RowError(f"data/recordable.yaml: `{row.path}` has a `when` that does not exist: {row.when}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What a figure is printed by besides its value: its `stock`, the `bucket` timed [m3], the test of its jug."""

    stock: str = ""
    bucket: float | None = None
    jug: JugTestJson | None = None


PLAIN: Final = Beside()
"""Of all others."""


def beside_of(row: Recordable, plan: PlanJson, part: Part) -> Beside:
    """The same of one figure in a plan."""
    match row.told.partition(" ")[0]:
        case "strength":
            return Beside(stock=part["stock"])
        case "bucket":
            return Beside(bucket=_bucket(row, plan, part))
        case "jug":
            return Beside(jug=part.get("jug_test"))
    return PLAIN


def shown(row: Recordable, plan: PlanJson, part: Part, system: System, percent: str = "trade") -> Shown:
    """What was planned as it is printed: the same at the box and with the question; `percent` is the company's own."""
    return printed(row, row.plan_of(plan, part), beside_of(row, plan, part), system, percent)


def printed(row: Recordable, value: Any, beside: Beside, system: System, percent: str = "trade") -> Shown:
    """A planned figure of a row as paper has it."""
    how, _, side = row.told.partition(" ")
    toward: Toward = "up" if side == "up" else "down" if side == "down" else "near"
    number, of = "", ""
    match how:
        case "says":
            number = side
        case "hours":
            of = "h"
        case "words":
            number = ", ".join(value or ())
        case "clock":
            number = clock_text(value, system) if value is not None else ""
        case "count":
            number = f"{value:g}" if value else ""
        case "dial":
            number = dial_number(value, long=value > 30.0) if value is not None else ""
        case "minutes":
            number, of = minutes(value, toward) if value is not None else "", "min"
        case "between":
            least, most = (seconds or 0.0 for seconds in value)
            number, of = minutes_between(least, most) if most else "", "min"
        case "column":
            number, of = volume(value, system, toward) if value else "", unit("volume", system)
        case "length" | "concentration":
            number, of = show_number(1.0 if value is None else value, how, system, toward=toward)
        case "gauge":
            number, of = gauge_number(value or 0.0, system, toward)
        case "strength":
            caustic = hypochlorite.USUAL_CAUSTIC
            number, of = strength_number(value or 1.0, beside.stock, percent, toward, caustic=caustic)
            number = number if value else ""
        case "volume" | "total":
            number, of = rounded(value or GALLON, how, system, toward)
            number = "0" if value is not None and value <= _LITTLE else number
        case "amount":
            number, of = _amount(value, system, toward)
        case "jug":
            number, of = _jug_left(value, beside.jug, system) if value is not None else ("", "")
        case "bucket":
            size, name = _named_bucket(row, beside.bucket, system)
            return Shown(number=timed(size / value) if value else "", unit="s", lead=f"{name} in")
        case _ if how:
            raise RowError(f"data/recordable.yaml: `{row.path}` has a `told` that does not exist: {row.told}")
    return Shown(number=number if value is not None or how == "says" else "", unit=of)


def _amount(value: tuple[float | None, float | None], system: System, toward: Toward) -> tuple[str, str]:
    """Stock to be used: weighed, or as a jug shows it."""
    poured, mass = value
    if mass is not None:
        number, _, of = weighed(mass, system, toward).rpartition(" ")
        return number, of
    return poured_number(poured, system, toward) if poured else ("", unit("volume", system))


def _jug_left(value: float, test: JugTestJson | None, system: System) -> tuple[str, str]:
    """What the draw test leaves, as the step that reads it has it; of plans kept before they had the test, as then."""
    if test is None:
        return rounded(value, "volume", system, "up")
    parts = [(part["what"], part["m3"]) for part in test["filled"]]
    low, high = test["down_between_m3"]
    left = rest(parts, test["down_m3"], (low, high), system, active=test["soap_thins"])
    return left.number, left.unit


def _bucket(row: Recordable, plan: PlanJson, part: Part) -> float | None:
    """The bucket a flow is told by [m3]: the one the plan's own acts have a run timed with; None: the usual one."""
    if row.group == "pump":
        test = bench_test(plan)
        return test.get("bucket_m3") if test else None
    for act in acts_of(plan) if row.group == "readings" else ():
        expect, volume = act["expect"], act.get("m3")
        if act["act"] == "spray" and act["run"] == part["name"] and expect and expect["what"] == "bucket" and volume:
            return float(volume)
    return None


def _named_bucket(row: Recordable, volume: float | None, system: System) -> tuple[float, str]:
    if row.group == "readings" and volume is not None:
        return volume, bucket_name(system, volume)
    return bench_bucket(volume if row.group == "pump" else None, system)
