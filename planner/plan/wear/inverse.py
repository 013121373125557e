"""What a throw, a bucket and a closed gauge say of the pump: its `condition` solved from what was measured.

Each figure the plan gives rises with the pump's share of its sound self, so one bracketed root turns a measurement
into that share, and the two ends of its error into the share's band.  A throw is known to the jet model's own band
only; the three together tell pump, line and tip apart (`wear_signs`).

Wear of a centrifugal or diaphragm pump is a share of head (`condition`); of a piston pump a share of flow, so its
answer is a `flow` to write. A throw is the height at the standoff above the ground at the tip, without an eave.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from math import floor, sqrt
from typing import Final, Literal, TypeAlias

from fluids.numerics import brenth

from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.tables.defaults import default
from planner.physics.lines import Operating, SolveError, solve
from planner.plan.line.apparatus import tip_orifice
from planner.plan.line.throw import model_low, reach_of
from planner.plan.model import JobPlan, RunPlan
from planner.plan.wear.altered import altered_line, closed_gauge, solve_altered, wall_throw, with_share, with_tip
from planner.plan.wear.signs import FLOW_PUMP, HEAD_PUMP, TAP_ALONE, Sign, read_together

LEAST_SHARE: Final = 0.3
MOST_SHARE: Final = 1.2
"""Shares that are looked for: a pump below a third of its head is broken, not worn, and none grows by a fifth
(common practice, no source)."""


What: TypeAlias = Literal["throw", "bucket", "gauge"]
_FLOOR: Final = -100.0
_CLOSE: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What was measured on one run, None where it was not.

    `throw` m above the ground at the tip, at the run's standoff in still air; `flow` m3/s at the tip; `closed` Pa
    at the pump's outlet, or at the tap, with every gun closed.
    """

    throw: float | None = None
    flow: float | None = None
    closed: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """One measurement beside what the plan gives, all in its own SI unit.

    `planned` is with the pump as written, `sound` with all of its head or flow, `worn` at the wear limit; `share`
    is the pump that gives just this, `low` and `high` those at the ends of its error.  None: no pump, beyond what
    any share gives, or does not apply.
    """

    what: What
    measured: float
    planned: float | None
    sound: float | None
    worn: float | None
    share: float | None
    low: float | None
    high: float | None
    sign: Sign


@dataclass(frozen=True, slots=True, kw_only=True)
class Write:
    """What to write in a file: `key` under pump or water, with its band; `value` is a share, m3/s or Pa."""

    key: Literal["condition", "flow", "unloader", "static"]
    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Then:
    """A run's reach [m] with the pump as measured; `needed` None where height is not asked."""

    run: str
    nominal: float | None
    low: float | None
    needed: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Inverse:
    """All that measurements on one run say: `says` is a key of data/measured.yaml.

    `limit` is the share below which a pump counts as worn; `orifice` m is the bore that passes the bucket's flow.
    """

    run: RunPlan
    limit: float
    reads: tuple[Read, ...]
    says: str
    write: Write | None
    orifice: float | None
    then: tuple[Then, ...]


def plan_inverse(plan: JobPlan, run: RunPlan, measured: Measured) -> Inverse:
    """What `measured` says. Raises SolveError where the line has no operating point at some share."""
    job = plan.input
    limit = job.limits["pump_condition"]
    kind = run.input.pump.of_kind.wears if run.input.pump is not None else "tap"
    reads = tuple(_reads(job, run, measured, limit))
    signs = _signs(reads, kind)
    table = {"tap": TAP_ALONE, "flow": FLOW_PUMP, "head": HEAD_PUMP}[kind]
    says = read_together(table, signs["gauge"], signs["bucket"], signs["throw"])
    if says == "worn" and _line_takes_more(reads):
        says = "worn_and_blocked"
    if measured.closed is not None and signs["gauge"] == "-":
        says = _behind_switch(says, set(signs.values()))
    write = _write(run, reads, says, kind)
    return Inverse(
        run=run, limit=limit, reads=reads, says=says, write=write, orifice=_orifice(job, run, reads, says),
        then=_then(plan, run, write) if write is not None else (),
    )  # fmt: skip


def _reads(job: JobInput, run: RunPlan, measured: Measured, limit: float) -> list[Read]:
    @cache
    def point(share: float) -> Operating:
        return solve_altered(job, run, with_share(run.input, share))

    def throw(share: float) -> float | None:
        return wall_throw(run.input, point(share).tip_heads[0])

    found = []
    if measured.throw is not None:
        # The model's band is on the jet, from the tip up, not on the ground the tip is held above.
        factor, tip = model_low(job, run.input), run.input.tip_height
        jet = measured.throw - tip
        found.append(
            _read(run, "throw", throw, measured.throw, (tip + jet / (2.0 - factor), tip + jet / factor), limit)
        )
    if measured.flow is not None:
        band = (measured.flow / (1.0 + default("bucket_error")), measured.flow / (1.0 - default("bucket_error")))
        found.append(_read(run, "bucket", lambda share: point(share).flows[0], measured.flow, band, limit))
    if measured.closed is not None:
        error = default("gauge_error") if _switch(run) is None else default("switch_error")
        band = (measured.closed / (1.0 + error), measured.closed / (1.0 - error))
        found.append(_read(run, "gauge", lambda share: closed_gauge(job, run, share), measured.closed, band, limit))
    return found


def _read(
    run: RunPlan, what: What, value: Callable[[float], float | None], measured: float, band: tuple[float, float],
    limit: float,
) -> Read:  # fmt: skip
    pump = run.input.pump
    written = pump.share if pump is not None else 1.0
    planned, sound, worn = value(written), value(1.0), value(limit)
    settled = pump is None or (pump.of_kind.wears == "flow" and what == "gauge")
    share = low = high = None
    sign = _sign(measured, band, planned if settled else sound, None if settled else worn)
    if not settled:
        share, low, high = (_share(value, target) for target in (measured, *band))
    if what == "gauge" and sign == "sound" and _switch(run) is not None and _held(sound, worn):
        # The switch opens where it is set: the pump behind it may be sound or worn.
        sign, share, high = "-", None, None
    return Read(
        what=what, measured=measured, planned=planned, sound=sound, worn=None if settled else worn, share=share,
        low=low, high=high, sign=sign,
    )  # fmt: skip


def _switch(run: RunPlan) -> float | None:
    pump = run.input.pump
    return pump.cut_off if pump is not None else None


def _held(sound: float | None, worn: float | None) -> bool:
    return sound is not None and worn is not None and worn >= sound * (1.0 - _CLOSE)


def _behind_switch(says: str, signs: set[Sign]) -> str:
    """What a closed gauge that shows only the switch leaves of what the other signs say."""
    if signs == {"-"}:
        return "switch_only"
    return "worn_or_blocked_switch" if says == "worn_or_blocked" else says


def _share(value: Callable[[float], float | None], target: float) -> float | None:
    """The share at which `value`, which never falls with it, is `target`; None outside what is looked for."""

    def over(share: float) -> float:
        found = value(share)
        return (found if found is not None else _FLOOR) - target

    at_least, at_most = over(LEAST_SHARE), over(MOST_SHARE)
    if at_least > 0.0 or at_most < 0.0:
        return None
    try:
        found = float(brenth(over, LEAST_SHARE, MOST_SHARE, xtol=1e-12, fa=at_least, fb=at_most))
    except Exception as error:
        raise SolveError(f"no share of the pump found: {error}") from error
    # Where the jet first gets to the wall its height jumps; what lies inside the jump is no answer.
    return found if abs(over(found)) <= _CLOSE * max(abs(target), 1e-3) else None


def _sign(measured: float, band: tuple[float, float], sound: float | None, worn: float | None) -> Sign:
    if sound is None:
        return "high"
    if band[0] > sound:
        return "high"
    if worn is None:
        return "low" if band[1] < sound else "sound"
    if measured >= worn:
        return "sound"
    if band[1] < sound:
        return "low"
    # A switch that holds a sound pump and a worn one to the same figure hides wear: nothing to doubt.
    return "sound" if _held(sound, worn) else "maybe"


def _signs(reads: Sequence[Read], kind: str) -> dict[What, Sign]:
    signs: dict[What, Sign] = {"gauge": "-", "bucket": "-", "throw": "-"}
    signs.update({read.what: read.sign for read in reads})
    gauge = next((read for read in reads if read.what == "gauge"), None)
    if kind == "head" and gauge is not None and gauge.sign == "low":
        # The gauge says worn: what fits that within its error goes along with it.
        for read in reads:
            if read is not gauge and read.sign == "sound" and _fits(read, gauge):
                signs[read.what] = "low"
    return signs


def _fits(one: Read, other: Read) -> bool:
    """True where the bands of two shares meet; an open end meets everything."""
    lows = [low for low in (one.low, other.low) if low is not None]
    highs = [high for high in (one.high, other.high) if high is not None]
    return not lows or not highs or max(lows) <= min(highs)


def _line_takes_more(reads: Sequence[Read]) -> bool:
    gauge = next((read for read in reads if read.what == "gauge"), None)
    if gauge is None or gauge.low is None:
        return False
    # Less than the weakest share gives has no share of its own, and yet lies below any.
    highest = [
        LEAST_SHARE if read.high is None and read.low is None and read.sign == "low" else read.high
        for read in reads
        if read is not gauge
    ]
    return any(high is not None and high < gauge.low for high in highest)


_OF_PUMP: Final = frozenset(
    {
        "worn",
        "worn_and_blocked",
        "worn_and_tip",
        "worn_or_blocked",
        "worn_or_blocked_switch",
        "sound",
        "sound_shut",
        "piston_worn",
        "piston_fast",
    }
)


def _write(run: RunPlan, reads: Sequence[Read], says: str, kind: str) -> Write | None:
    by = {read.what: read for read in reads}
    if says.startswith(("unloader", "tap_static")) and says != "unloader_sound":
        key: Literal["unloader", "static"] = "unloader" if kind == "flow" else "static"
        measured = by["gauge"].measured
        off = default("gauge_error")
        return Write(key=key, value=measured, low=measured / (1.0 + off), high=measured / (1.0 - off))
    if says not in _OF_PUMP or kind == "tap":
        return None
    # The gauge sees the pump alone, the bucket the line too, the throw only through its band.
    best = next((by[what] for what in ("gauge", "bucket", "throw") if what in by and by[what].share is not None), None)
    pump = run.input.pump
    if best is None or best.share is None or pump is None:
        return None
    if kind == "flow":
        assert pump.flow is not None
        scaled = [None if share is None else share * pump.flow for share in (best.low, best.high)]
        fits = best.low is not None and best.high is not None and best.low <= 1.0 <= best.high
        if fits:
            return None
        return Write(key="flow", value=best.share * pump.flow, low=scaled[0], high=scaled[1])
    if (best.low or 0.0) <= pump.condition <= (best.high or MOST_SHARE):
        return None
    # Down to the hundredth a person writes; more than a sound pump's head is the measurement's error.
    value = floor(min(best.share, 1.0) * 100.0 + 1e-6) / 100.0
    return Write(key="condition", value=value, low=best.low, high=best.high)


def _orifice(job: JobInput, run: RunPlan, reads: Sequence[Read], says: str) -> float | None:
    """Bore [m] of the tip that passes the bucket's flow, the pump as the gauge says or as written."""
    by = {read.what: read for read in reads}
    if says not in ("tip_worn", "worn_and_tip", "tip_small") or "bucket" not in by:
        return None
    gauge = by.get("gauge")
    share = gauge.share if gauge is not None else None
    line = altered_line(job, run, with_share(run.input, share) if share is not None else run.input)

    def over(scale: float) -> float:
        return solve(with_tip(line, scale)).flows[0] - by["bucket"].measured

    least, most = 0.1, 10.0  # of the tip's flow coefficient: beyond that it is another thing than this tip
    if over(least) > 0.0 or over(most) < 0.0:
        return None
    return tip_orifice(run.input) * sqrt(float(brenth(over, least, most, xtol=1e-10)))


def _then(plan: JobPlan, run: RunPlan, write: Write) -> tuple[Then, ...]:
    """Reach of every run on the pump with it as measured."""
    pump = run.input.pump
    if pump is None or write.key not in ("condition", "flow"):
        return ()
    share = write.value if write.key == "condition" else write.value / (pump.flow or write.value)
    found = []
    for other in plan.runs:
        if other.input.pump is None or other.input.pump.name != pump.name or other.input.tip.pattern != "solid":
            continue
        head = solve_altered(plan.input, other, with_share(other.input, share)).tip_heads[0]
        reach = reach_of(plan.input, other.input, head)
        asked = other.needed is not None and other.needed > plan.input.limits["reach_from"]
        found.append(
            Then(
                run=other.name,
                nominal=reach.nominal if reach is not None else None,
                low=reach.low if reach is not None else None,
                needed=other.needed if asked else None,
            )
        )
    return tuple(found)


# ------------------------------------------------------------ least share
# How worn a run's pump may be before its jet, at the worst, no longer gets where it must.


def least_share(plan: JobPlan, run: RunPlan) -> float | None:
    """The share of the sound pump's head [-] at which the run's low reach just meets what it needs.

    None where no height is asked, there is no such pump, or none up to MOST_SHARE would do.
    """
    pump, needed = run.input.pump, run.needed
    if pump is None or pump.of_kind.wears == "flow" or needed is None or needed <= plan.input.limits["reach_from"]:
        return None

    def over(share: float) -> float:
        head = solve_altered(plan.input, run, with_share(run.input, share)).tip_heads[0]
        reach = reach_of(plan.input, run.input, head)
        return (reach.low if reach is not None else 0.0) - needed

    try:
        if over(MOST_SHARE) < 0.0:
            return None
        if over(LEAST_SHARE) >= 0.0:
            return LEAST_SHARE
        return float(brenth(over, LEAST_SHARE, MOST_SHARE, xtol=1e-6))
    except SolveError:
        return None
