"""What a record's readings say of a pump, its tips and its line, by what its plan was kept with.

A plan keeps what each run shows at several shares of its pump. How that goes with the tip's flow and the line's loss
follows from the plan's own pressures: what the pump gives is what line and tip take, so a change of either is a change
of flow as the pump's own is (`plan/wear/fit.py` fits all of them at once). What a switch or an unloader holds is the
same at every share, and tells nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from math import log
from typing import TYPE_CHECKING, Final, Literal, cast

from planner.archive.compare.figures import learning
from planner.contract.planned import bench_test, water_flow
from planner.frozen import dataclass
from planner.physics.liquids import GRAVITY
from planner.plan.wear.fit import FLAT, Kind, Look, Reading, fitted

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson, WearPointJson, WornRunJson
    from planner.contract.record import PumpJson, ReadingJson, RecordJson
    from planner.contract.yard import PointJson

STOOD: Final = 0.05
"""A tip as near its planned standoff as this share of it stood where planned (common practice, no source)."""
LEAST_RISE: Final = 1.0
"""A jet planned to rise less than this [m] over its tip says nothing of the model: a hand's breadth on the wall would
be a tenth of it (common practice, no source)."""
SEES_PUMP: Final = frozenset({"gauge", "open", "bucket"})
"""What tells the pump by itself; a jet and a throw are the model's and a hand's too."""
_LOSS: Final = 1.85
"""Loss of a line goes with about this power of its flow, between smooth and rough."""
_LITTLE: Final = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """`share` is the pump's [-] of its sound head, or of its flow (`of`), `off` its standard deviation; None where what
    was read tells it less surely than a reading may lie beside its plan.

    `planned` is the share planned with; `ground` [m] how far the jet was to go along the ground.
    """

    of: str
    share: float | None
    off: float | None
    planned: float
    ground: float | None


def wear_of(run: WornRunJson, read: ReadingJson) -> Wear | None:
    """What one run's readings say; None without a pump, or of plans kept before these points were."""
    wear = run.get("wear")
    if wear is None:
        return None
    share, off = _told(readings_of(run, read))
    ground = value_at([(point["share"], point.get("ground_m")) for point in wear["points"]], _planned(run))
    return Wear(of=wear["of"], share=share, off=off, planned=_planned(run), ground=ground)


def _planned(run: WornRunJson) -> float:
    wear = run.get("wear")
    return run["condition"] if wear and wear["of"] == "head" and run["condition"] is not None else 1.0


def _told(readings: Sequence[Reading]) -> tuple[float, float] | tuple[None, None]:
    """A pump by one look at it, and how far that may be off; nothing where that is too far to say anything."""
    found = fitted([Look(day=None, readings=readings)]) if readings else None
    off = found.off(found.day) if found is not None else 0.0
    return (found.share, off) if found is not None and off <= learning("pump", "known") else (None, None)


def stood(run: WornRunJson, read: ReadingJson) -> bool:
    """Whether the tip stood where it was planned to, as far as anybody wrote."""
    at, wear = read["standoff_m"], run.get("wear")
    return at is None or (wear is not None and abs(at - wear["standoff_m"]) <= STOOD * wear["standoff_m"])


def gauge_is_held(run: WornRunJson) -> bool:
    """Whether the gauge with the gun closed shows where a switch or an unloader opens, and nothing of the pump."""
    wear = run.get("wear")
    curve = _curve(wear["points"], "gauge_closed_pa") if wear else []
    return len(curve) > 1 and abs(_slope(curve, _planned(run))) < FLAT


def readings_of(run: WornRunJson, read: ReadingJson) -> list[Reading]:
    """One run's readings as its plan can be fitted to them; none without a pump, or of plans kept before its points."""
    wear = run.get("wear")
    if wear is None or not run["flow_m3_per_s"]:
        return []
    points, tip, way = wear["points"], run.get("tip") or run["name"], _Way(run)
    flow = read["bucket_m3"] / read["bucket_s"] if read["bucket_m3"] and read["bucket_s"] else None
    if flow is not None:
        flow *= run["flow_m3_per_s"] / water_flow(None, run)
    above = wear.get("tip_m") or 0.0
    jet = read["jet_m"] if stood(run, read) and _as_printed(run) else None
    throw = read.get("throw_m")
    jets, grounds = _curve(points, "throw_m", above), _curve(points, "ground_m")
    found = (
        _reading("gauge", read["gauge_closed_pa"], _curve(points, "gauge_closed_pa")),
        _reading("open", read["gauge_open_pa"], way.open_curve(points), tip, *way.open_goes()),
        _reading("bucket", flow, _curve(points, "flow_m3_per_s"), tip, way.tip, way.loss),
        _reading("jet", None if jet is None else jet - above, jets, tip, *way.jet_goes(jets)),
        _reading("throw", throw, grounds, tip, *way.jet_goes(grounds)),
    )
    return [one for one in found if one is not None]


def _reading(
    kind: Kind, value: float | None, curve: Sequence[tuple[float, float]], tip: str = "", by_tip: float = 0.0,
    by_loss: float = 0.0,
) -> Reading | None:  # fmt: skip
    if value is None or value <= 0.0 or len(curve) < 2:
        return None
    return Reading(kind=kind, value=value, curve=curve, of_tip=tip, tip=by_tip, loss=by_loss)


def _curve(
    points: Sequence[WearPointJson | PointJson],
    key: Literal["gauge_closed_pa", "flow_m3_per_s", "throw_m", "ground_m"], above: float = 0.0,
) -> list[tuple[float, float]]:  # fmt: skip
    shown = ((point["share"], cast("float | None", point.get(key))) for point in points)
    return [(share, value - above) for share, value in shown if value is not None and value > above]


def _as_printed(run: WornRunJson) -> bool:
    """Whether the jet kept at several shares is the printed one: an older plan's of a roof left out its eave."""
    wear, reach = run.get("wear"), run["reach_m"]
    kept = value_at([(point["share"], point["throw_m"]) for point in wear["points"]], _planned(run)) if wear else None
    return reach is None or kept is None or abs(kept - reach) <= 0.02 * reach


class _Way:
    """How a run's flow, jet and open gauge go with what its tip passes and its line takes, by its plan's pressures."""

    __slots__ = ("flow_slope", "line", "loss", "outlet", "run", "tip", "tip_pressure")

    def __init__(self, run: WornRunJson) -> None:
        wear = run.get("wear")
        assert wear is not None
        self.run = run
        self.outlet = run["pump_pressure_pa"]
        self.tip_pressure = max(run["tip_pressure_pa"], 0.0)
        rise = run["density_kg_per_m3"] * GRAVITY * (run["tip_height_m"] - (run["pump_height_m"] or 0.0))
        self.line = max((self.outlet or 0.0) - self.tip_pressure - rise, 0.0)
        self.flow_slope = _slope(_curve(wear["points"], "flow_m3_per_s"), _planned(run))
        # What a pump gives at this flow, were it sound: a change of line or tip is weighed against that.
        given = ((self.outlet or 0.0) - (run["inlet_pressure_pa"] or 0.0)) / _planned(run)
        moved = self.flow_slope / given if wear["of"] == "head" and self.outlet is not None and given > 0.0 else 0.0
        self.tip, self.loss = 2.0 * self.tip_pressure * moved, -self.line * moved

    def jet_goes(self, jets: Sequence[tuple[float, float]]) -> tuple[float, float]:
        """Of a jet or a throw, which goes with the pressure at the tip."""
        slope = _slope(jets, _planned(self.run)) if len(jets) > 1 else 0.0
        if abs(self.flow_slope) < _LITTLE:
            return 0.0, 0.0
        by_pressure = slope / (2.0 * self.flow_slope)
        return by_pressure * 2.0 * (self.tip - 1.0), by_pressure * 2.0 * self.loss

    def open_curve(self, points: Sequence[WearPointJson]) -> list[tuple[float, float]]:
        """What the gauge shows with the gun open at each share."""
        flow = value_at([(point["share"], point["flow_m3_per_s"]) for point in points], _planned(self.run))
        if self.outlet is None or not flow:
            return []
        shown = []
        for share, at in _curve(points, "flow_m3_per_s"):
            by = at / flow
            taken = self.line * (by**_LOSS - 1.0) + self.tip_pressure * (by * by - 1.0)
            shown.append((share, self.outlet + taken))
        return [(share, value) for share, value in shown if value > 0.0]

    def open_goes(self) -> tuple[float, float]:
        """Of that gauge."""
        if not self.outlet or self.outlet <= 0.0:
            return 0.0, 0.0
        by_flow = _LOSS * self.line + 2.0 * self.tip_pressure
        tip, line = by_flow * self.tip - 2.0 * self.tip_pressure, by_flow * self.loss + self.line
        return tip / self.outlet, line / self.outlet


def _slope(curve: Sequence[tuple[float, float]], share: float) -> float:
    """How the logarithm of a reading goes with the share [- per -], across the points beside it."""
    if len(curve) < 2:
        return 0.0
    (low, first), (high, second) = min(pairwise(curve), key=lambda ends: abs(ends[0][0] + ends[1][0] - 2.0 * share))
    return (log(second) - log(first)) / (high - low)


def pump_that_day(run: WornRunJson, read: ReadingJson) -> float | None:
    """The pump's share by gauge and bucket alone, as far as they tell it; None where neither was read."""
    found = [one for one in readings_of(run, read) if one.kind in SEES_PUMP]
    fit = fitted([Look(day=None, readings=found)]) if found else None
    return fit.share if fit is not None else None


def jet_of_model(run: WornRunJson, read: ReadingJson) -> float | None:
    """The jet measured at the wall as a share of the model's [-], both above the tip.

    The model's is with the pump as gauge and bucket told it that day, else as planned: a worn pump is not the model's
    error. None where the tip stood elsewhere, for a jet that hardly rises, and of plans kept before tip heights were.
    """
    wear = run.get("wear")
    tip = wear.get("tip_m") if wear else None
    if wear is None or tip is None or not stood(run, read) or read["jet_m"] is None or not _as_printed(run):
        return None
    told = pump_that_day(run, read)
    share = min(max(told, wear["points"][0]["share"]), wear["points"][-1]["share"]) if told is not None else None
    shown = [(point["share"], point["throw_m"]) for point in wear["points"]]
    model = value_at(shown, _planned(run) if share is None else share)
    if model is None or model - tip < LEAST_RISE:
        return None
    return float((read["jet_m"] - tip) / (model - tip))


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
# All that was read at one time is fitted together, the gauge being by far the surest: it sees the pump alone.


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

    `planned` is the pump's share [-] by its plan, `share` what was read with its standard deviation `off`, None where
    that is not told surely enough; `readings` what can be fitted. `of` is what wear takes: head or flow.
    """

    when: When
    of: str
    gauge: float | None
    flow: float | None
    throw: float | None
    planned: float
    share: float | None
    off: float | None
    readings: Sequence[Reading]


def bench_readings(plan: PlanJson, record: RecordJson) -> Iterator[BenchReading]:
    """Before and after, of a yard job with a pump's test in its plan; none of another job, or of plans kept before."""
    work, yard, test = record["pump"], plan.get("yard"), bench_test(plan)
    if work is None or not yard or test is None:
        return
    points = yard["points"] or ()
    for when, (gauge, volume, seconds, throw) in _KEYS.items():
        caught, took = work.get(volume), work.get(seconds)
        flow = caught / took if caught and took else None
        # Of the bench's line no pressures are kept: half of what the pump gives is taken to be its, half the tip's.
        flows = _curve(points, "flow_m3_per_s")
        found = (
            _reading("gauge", work.get(gauge), _curve(points, "gauge_closed_pa")),
            _reading("bucket", flow, flows, "", 0.5 * _slope(flows, 1.0), -0.5 * _slope(flows, 1.0)),
            _reading("throw", work.get(throw), _curve(points, "ground_m")),
        )
        readings = [one for one in found if one is not None]
        share, off = _told(readings)
        yield BenchReading(
            when=when, of=test["of"], gauge=work.get(gauge), flow=flow, throw=work.get(throw),
            planned=test[when]["share"], share=share, off=off, readings=readings,
        )  # fmt: skip


def worked_on(work: PumpJson) -> bool:
    """Whether a record says that anything was done to the pump; what was seen in it, spacers too, changes nothing."""
    return bool(work["replaced"] or work["bath_s"]) or any(stage["cost"] for stage in work.get("stages", ()))
