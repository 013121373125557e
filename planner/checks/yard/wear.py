"""What is left of a pump: by what was read at the bench before its work, and by what that tells the day's wash jobs."""

from __future__ import annotations

from collections.abc import Iterator
from math import floor

from planner.checks.model import Finding, Level, under
from planner.plan.model import JobPlan, RunPlan, Value
from planner.plan.wear.model import Found, beside, finer_than, told_by
from planner.plan.yard.wear import HeldBack, WornRun

THROW = "throw"
"""What the finding of a throw that was paced out is about."""

_READ_IN = {"gauge": "pressure", "bucket": "flow", "throw": "length"}
_BY = {"gauge": "the gauge shut", "bucket": "a bucket", "throw": "a throw"}


def _finding(plan: JobPlan, about: str, level: Level, case: str, **values: Value | str) -> Finding:
    yard = plan.yard
    named = {"pump": yard.pump.name, "inside": yard.pump.of_kind.inside} if yard is not None else {}
    where = plan.input.places.get("throw" if about == THROW else "pump", plan.where)
    return Finding(code="pump.wear", about=about, level=level, case=case, values={**named, **values}, where=where)


def wear(plan: JobPlan) -> Iterator[Finding]:
    """pump.wear: what is left of the pump, by what somebody read of it, else as the rig or records have it."""
    yard = plan.yard
    if yard is None:
        return
    limit = plan.input.limits["pump_condition"]
    name = yard.pump.name
    test = yard.test
    readings = test.found if test is not None else ()
    if test is not None and test.written is not None and test.paced is None:
        yield _finding(plan, THROW, "none", "throw_no_jet", throw=Value(test.written, "length"))
    told = told_by(readings, test.of) if test is not None else None
    # What tells goes first and speaks for the pump; what else was read stands beside it.
    for reading in sorted(readings, key=lambda one: one is not told):
        yield _read_finding(plan, reading, name if reading is (told or readings[0]) else reading.by, limit)
    if readings:
        return
    if yard.pump.of_kind.wears == "flow":
        yield _finding(plan, name, "none", "flow", kind=yard.pump.kind)
        return
    low = under(yard.pump.condition, limit)
    measured = "condition" in yard.pump.model_fields_set
    yield _finding(
        plan, name, "caution" if low else "ok", "worn" if low else "ok" if measured else "as_new",
        condition=Value(yard.pump.condition, "fraction"), limit=Value(limit, "fraction"),
    )  # fmt: skip


def _read_finding(plan: JobPlan, one: Found, about: str, limit: float) -> Finding:
    """A reading of before the work: a gauge or a bucket as a share, a throw only where it lies outside its band."""
    yard = plan.yard
    test = yard.test if yard is not None else None
    of = test.of if test is not None else "head"
    finer = finer_than(one, test.found, of) if test is not None else None
    values: dict[str, Value | str] = {
        "read": Value(one.value, _READ_IN[one.by]),
        "sound": Value(one.sound, _READ_IN[one.by]),
        "limit": Value(limit, "fraction"),
        "of": of,
        "surely": "Time a bucket at the tip" if of == "flow" else "Read the gauge with the gun closed",
    }
    for key, share in (("share", one.share), ("low", one.low), ("high", one.high)):
        if share is not None:
            values[key] = Value(share, "fraction")
    if one.share is not None:
        values["write"] = f"{floor(one.share * 100.0 + 1e-6) / 100.0:.2f}"
    if finer is not None:
        values["finer"] = finer.by
    level, case = _case(one, of, beside(one, finer), limit)
    return _finding(plan, about, level, case, **values)


def _case(one: Found, of: str, beside_finer: str | None, limit: float) -> tuple[Level, str]:
    if one.side == "flat":
        return "ok", f"{one.by}_flat"
    if one.side == "high":
        return "caution", f"{one.by}_far"
    # A finer one has told how worn the pump is; this one says whether the line fits that.
    if beside_finer in ("under", "over"):
        return "caution", f"{one.by}_{beside_finer}"
    if one.by == "throw" and one.side == "inside":
        return "ok", "throw_inside"
    if beside_finer == "with":
        return "ok", f"{one.by}_with"
    if one.side == "short":
        return "caution", f"{one.by}_short"
    if one.by == "throw":
        return "caution", "throw_worn" if one.low is not None else "throw_worn_most"
    low = one.share is not None and under(one.share, limit)
    flow = "_flow" if of == "flow" else ""
    return ("caution", f"{one.by}_worn{flow}") if low else ("ok", f"{one.by}_ok")


# ------------------------------------------------------------------------------------------ told to the day's jobs


def _of_run(run: RunPlan, about: str, case: str, **values: Value | str) -> Finding:
    named = {"pump": run.input.pump.name if run.input.pump is not None else "", **values}
    return Finding(code="pump.wear", about=about, level="caution", case=case, values=named, where=run.input.where)


def bench_found(one: WornRun) -> Finding:
    """More of a pump is planned with than the day's yard job found of it."""
    reading = one.by.found
    values: dict[str, Value | str] = {
        "condition": Value(one.planned, "fraction"),
        "of": one.by.of,
        "job": one.by.job,
        "by": _BY[reading.by],
        "read": Value(reading.value, _READ_IN[reading.by]),
        "sound": Value(reading.sound, _READ_IN[reading.by]),
        "first": ", or do the yard job first" if one.by.mends else "",
    }
    if one.by.mended:
        return _of_run(one.run, one.run.name, "bench_mended", **values)
    if one.left is None:
        return _of_run(one.run, one.run.name, "bench_found_short" if one.by.mends else "bench_found_stopped", **values)
    case = "bench_found" if one.known else "bench_found_new"
    values |= {"share": Value(reading.share or one.left, "fraction"), "write": f"{one.left:.2f}"}
    if reading.by == "throw" and reading.high is not None and one.by.of == "head":
        # What a throw tells is a range; where no pump throws so little at its low end, none is left.
        case = "bench_found_thrown"
        values |= {"low": Value(reading.low or 0.0, "fraction"), "high": Value(reading.high, "fraction")}
    if one.flow is not None:
        case, values["flow"] = "bench_found_flow", Value(one.flow, "flow")
    if one.nominal is not None and one.low is not None and one.needed is not None:
        reach = {"then": one.nominal, "worst": one.low, "needed": one.needed}
        values |= {name: Value(height, "height") for name, height in reach.items()}
    return _of_run(one.run, one.run.name, case, **values)


def bench_line(one: HeldBack) -> Finding:
    """Gear that this run takes too passed less water at the bench than the pump gives; it is planned without that."""
    reading = one.by.found
    shared = " and ".join(part for part in (", ".join(one.shared[:-1]), one.shared[-1]) if part)
    return _of_run(
        one.run, f"{one.run.name}, line", "bench_line",
        job=one.by.job, by=_BY[reading.by], read=Value(reading.value, _READ_IN[reading.by]),
        sound=Value(reading.sound, _READ_IN[reading.by]), shared=shared,
    )  # fmt: skip
