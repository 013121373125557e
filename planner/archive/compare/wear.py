"""A run's readings as its pump's share, found between the points the plan was kept with.

The gauge with the gun closed sees the pump alone; the bucket sees line and tip too; the jet is known to the model's
band only, and along the ground the aim counts too. So the first of them that was read is taken, in that order.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal

from planner.contract.planned import bench_test, water_flow

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson, WornRunJson
    from planner.contract.record import PumpJson, ReadingJson, RecordJson

STOOD: Final = 0.05
"""A tip as near its planned standoff as this share of it stood where planned (common practice, no source)."""
LEAST_RISE: Final = 1.0
"""A jet planned to rise less than this [m] over its tip says nothing of the model: a hand's breadth on the wall would
be a tenth of it (common practice, no source)."""
_FLAT: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """`share` is the pump's [-] of its sound head, or of its flow (`of`); None where nothing was read that tells it.

    `by` is what told it: gauge, bucket, jet or throw; `planned` the share planned with; `throw` [m] what the jet was to
    reach, `ground` [m] how far it was to go along the ground; `stood` whether the tip stood where it was planned.
    """

    of: str
    share: float | None
    by: str
    planned: float
    throw: float | None
    ground: float | None
    stood: bool


def wear_of(run: WornRunJson, read: ReadingJson) -> Wear | None:
    """What one run's readings say; None without a pump, or of plans kept before these points were."""
    wear = run.get("wear")
    if wear is None:
        return None
    points = wear["points"]
    planned = run["condition"] if wear["of"] == "head" and run["condition"] is not None else 1.0
    stood = read["standoff_m"] is None or abs(read["standoff_m"] - wear["standoff_m"]) <= STOOD * wear["standoff_m"]
    flow = read["bucket_m3"] / read["bucket_s"] if read["bucket_m3"] and read["bucket_s"] else None
    if flow is not None and run["flow_m3_per_s"]:
        flow *= run["flow_m3_per_s"] / water_flow(None, run)
    share, by = _told(
        [point["share"] for point in points],
        ("gauge", read["gauge_closed_pa"], [point.get("gauge_closed_pa") for point in points]),
        ("bucket", flow, [point.get("flow_m3_per_s") for point in points]),
        ("jet", read["jet_m"] if stood else None, [point.get("throw_m") for point in points]),
        ("throw", read.get("throw_m"), [point.get("ground_m") for point in points]),
    )
    throw = value_at([(point["share"], point["throw_m"]) for point in points], planned)
    ground = value_at([(point["share"], point.get("ground_m")) for point in points], planned)
    return Wear(of=wear["of"], share=share, by=by, planned=planned, throw=throw, ground=ground, stood=stood)


def jet_of_model(run: WornRunJson, read: ReadingJson) -> float | None:
    """The jet measured at the wall as a share of the model's [-], both above the tip.

    The model's is with the pump as gauge or bucket told it that day, else as planned: a worn pump is not the model's
    error. None where the tip stood elsewhere, for a jet that hardly rises, and of plans kept before tip heights were.
    """
    wear, found = run.get("wear"), wear_of(run, read)
    tip = wear.get("tip_m") if wear else None
    if wear is None or found is None or tip is None or not found.stood or read["jet_m"] is None:
        return None
    told = found.share if found.by in ("gauge", "bucket") and found.share is not None else found.planned
    model = value_at([(point["share"], point["throw_m"]) for point in wear["points"]], told)
    if model is None or model - tip < LEAST_RISE:
        return None
    return float((read["jet_m"] - tip) / (model - tip))


def _told(shares: Sequence[float], *read: tuple[str, float | None, Sequence[float | None]]) -> tuple[float | None, str]:
    """The share that the first reading tells that tells one, and its name; each with what it is at these shares."""
    for name, value, shown in read:
        told = share_at(list(zip(shown, shares, strict=True)), value)
        if told is not None:
            return told, name
    return None, ""


def share_at(points: Sequence[tuple[float | None, float]], value: float | None) -> float | None:
    """The share at which a reading is `value`, straight between points; None outside them, or where it shows nothing.

    Points are (reading, share) by share. A reading a switch or an unloader holds is the same at all of them.
    """
    shown = [(reading, share) for reading, share in points if reading is not None]
    if value is None or len(shown) < 2:
        return None
    for (first, low), (second, high) in pairwise(shown):
        rises = second - first > _FLAT * abs(second)
        if rises and first <= value <= second:
            return low + (high - low) * (value - first) / (second - first)
    return None


def value_at(points: Sequence[tuple[float, float | None]], share: float) -> float | None:
    """The reading at a share, straight between points; None outside them."""
    shown = [(at, value) for at, value in points if value is not None]
    for (low, first), (high, second) in pairwise(shown):
        if low <= share <= high:
            return first + (second - first) * (share - low) / (high - low)
    return None


# ------------------------------------------------------------ bench
# What a yard job's record says of its pump: readings before and after the work, held between the points kept with it.
#
# As on a job, the first of gauge, bucket and throw that was read is taken: gauge first, which sees the pump alone.


When = Literal["before", "after"]

_Key = Literal[
    "gauge_before_pa", "bucket_before_m3", "bucket_before_s", "throw_before_m",
    "gauge_closed_pa", "bucket_m3", "bucket_s", "throw_after_m",
]  # fmt: skip

_KEYS: Final[Mapping[When, tuple[_Key, _Key, _Key, _Key]]] = {
    "before": ("gauge_before_pa", "bucket_before_m3", "bucket_before_s", "throw_before_m"),
    "after": ("gauge_closed_pa", "bucket_m3", "bucket_s", "throw_after_m"),
}
"""Where a record has gauge, bucket and throw; those of before and of the bucket are newer than the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchReading:
    """What was read `when`: `gauge` [Pa], `flow` [m3/s], `throw` [m].

    `planned` is the pump's share [-] by its plan, `share` what was read, None where none tells it; `by` what told it.
    `of` is what wear takes: head or flow.
    """

    when: When
    of: str
    gauge: float | None
    flow: float | None
    throw: float | None
    planned: float
    share: float | None
    by: str


def bench_readings(plan: PlanJson, record: RecordJson) -> Iterator[BenchReading]:
    """Before and after, of a yard job with a pump's test in its plan; none of another job, or of plans kept before."""
    work, yard, test = record["pump"], plan.get("yard"), bench_test(plan)
    if work is None or not yard or test is None:
        return
    points = yard["points"] or ()
    for when, (gauge, volume, seconds, throw) in _KEYS.items():
        caught, took = work.get(volume), work.get(seconds)
        flow = caught / took if caught and took else None
        share, by = _told(
            [point["share"] for point in points],
            ("gauge", work.get(gauge), [point["gauge_closed_pa"] for point in points]),
            ("bucket", flow, [point["flow_m3_per_s"] for point in points]),
            ("throw", work.get(throw), [point["ground_m"] for point in points]),
        )
        yield BenchReading(
            when=when, of=test["of"], gauge=work.get(gauge), flow=flow, throw=work.get(throw),
            planned=test[when]["share"], share=share, by=by,
        )  # fmt: skip


def worked_on(work: PumpJson) -> bool:
    """Whether a record says that anything was done to the pump; what was seen in it, spacers too, changes nothing."""
    return bool(work["replaced"] or work["bath_s"]) or any(stage["cost"] for stage in work.get("stages", ()))
