"""What a yard job's record says of its pump: readings before and after the work, held between the points kept with it.

As on a job, the first of gauge, bucket and throw that was read is taken: gauge first, which sees the pump alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from planner.archive.compare.wear import share_at

Json = Mapping[str, Any]
When = Literal["before", "after"]

_KEYS: Final[Mapping[When, tuple[str, str, str, str]]] = {
    "before": ("gauge_before_pa", "bucket_before_m3", "bucket_before_s", "throw_before_m"),
    "after": ("gauge_closed_pa", "bucket_m3", "bucket_s", "throw_after_m"),
}
"""Where a record has gauge, bucket and throw; those of before and of the bucket are newer than the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchReading:
    """What was read `when`: `gauge` [Pa], `flow` [m3/s], `throw` [m].

    `share` is the pump's [-], None where none tells it; `by` what told it. `of` is what wear takes: head or flow.
    """

    when: When
    of: str
    gauge: float | None
    flow: float | None
    throw: float | None
    share: float | None
    by: str


def bench_readings(plan: Json, record: Json) -> Iterator[BenchReading]:
    """Before and after, of a yard job with a pump's test in its plan; none of another job, or of plans kept before."""
    work, yard = record["pump"], plan.get("yard")
    test = yard["throw"] if yard else None
    if work is None or yard is None or test is None:
        return
    points = yard["points"] or ()
    for when, (gauge, volume, seconds, throw) in _KEYS.items():
        flow = work[volume] / work[seconds] if work.get(volume) and work.get(seconds) else None
        share, by = None, ""
        read = (("gauge", "gauge_closed_pa", work.get(gauge)), ("bucket", "flow_m3_per_s", flow),
                ("throw", "ground_m", work.get(throw)))  # fmt: skip
        for name, key, value in read:
            told = share_at([(point[key], point["share"]) for point in points], value)
            if told is not None:
                share, by = told, name
                break
        yield BenchReading(
            when=when, of=test["of"], gauge=work.get(gauge), flow=flow, throw=work.get(throw), share=share, by=by
        )


def worked_on(work: Json) -> bool:
    """Whether a record says that anything was done to the pump; what was seen in it, spacers too, changes nothing."""
    return bool(work["replaced"] or work["bath_s"]) or any(stage["cost"] for stage in work.get("stages", ()))
