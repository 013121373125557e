"""Planned against done, figure by figure: SI values, the band that still counts as planned, the side it lies on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, TypeAlias

from planner.archive.compare.causes import cause_of
from planner.archive.compare.figures import figures
from planner.archive.compare.pairs import Pair
from planner.archive.compare.wear import Wear, bench_readings, water_flow, wear_of, worked_on
from planner.plan.mix.model import named_mix

Json = Mapping[str, Any]
Sign: TypeAlias = Literal["low", "in", "high"]
_NOISE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One figure of one job in SI. `about` is its run, mix or side, `run` the hose run of any of them.

    `low`, `high` end its band, None: no end, or nothing planned to hold it against. `cause` names a row of
    data/compare.yaml. `below`: it was less than `done`, the least that could be told. `chemical` is a mix's.
    """

    figure: str
    about: str
    run: str
    planned: float | None
    done: float
    low: float | None
    high: float | None
    sign: Sign | None
    cause: str | None = None
    below: bool = False
    chemical: str = ""

    @property
    def outside(self) -> bool:
        """Whether it lies beyond what still counts as planned."""
        return self.sign in ("low", "high")

    @property
    def by(self) -> float | None:
        """Done less planned, in its own unit; None where it was less than can be told."""
        return None if self.planned is None or self.below else self.done - self.planned


def differences(pair: Pair) -> tuple[Difference, ...]:
    """Every figure that was written down, with the likely cause of each that lies outside."""
    plan, record = pair.plan, pair.record
    if plan is None:
        return ()
    found = [
        *_runs(plan, record), *_bench(plan, record), *_mixes(plan, record), *_sides(plan, record), *_whole(plan, record)
    ]  # fmt: skip
    yard, work = plan.get("yard"), record["pump"]
    # Of plans kept before there was a bench nobody knows what was to be done.
    tested_alone = yard is not None and not {"descale", "rebuild"} & set(yard["work"])
    worked = not tested_alone or (work is not None and worked_on(work))
    at_bench = plan["kind"] == "yard"
    return tuple(
        replace(one, cause=cause_of(one, found, worked=worked, yard=at_bench)) if one.outside else one for one in found
    )


def _difference(
    figure: str, about: str, run: str, planned: float | None, done: float | None,
    low: float | None = None, high: float | None = None,
) -> Iterator[Difference]:  # fmt: skip
    """The row, where anything was written down. `low` and `high` are the plan's own band."""
    if done is None:
        return
    row = figures()[figure]
    if planned is not None:
        low = row.low * planned if row.low is not None else low
        high = row.high * planned if row.high is not None else high
        low = max(min(low, planned - row.least), 0.0) if low is not None else None
        high = max(high, planned + row.least) if high is not None else None
    yield Difference(
        figure=figure, about=about, run=run, planned=planned, done=done, low=low, high=high, sign=_sign(done, low, high)
    )


def _sign(done: float, low: float | None, high: float | None) -> Sign | None:
    """Which side of the band; what equals an end of it is inside."""
    if low is None and high is None:
        return None
    if low is not None and done < low - _NOISE * max(abs(low), abs(done)):
        return "low"
    return "high" if high is not None and done > high + _NOISE * max(abs(high), abs(done)) else "in"


def _runs(plan: Json, record: Json) -> Iterator[Difference]:
    planned = {run["name"]: run for run in plan["runs"]}
    for read in record["readings"]:
        run = planned.get(read["run"])
        if run is None:
            continue
        name, wear = run["name"], wear_of(run, read)
        gauge = next((joint for joint in run["joints"] if joint["name"] == "gauge"), None)
        closed = gauge["closed_pa"] if gauge is not None else None
        opened = run["pump_pressure_pa"]
        flow = read["bucket_m3"] / read["bucket_s"] if read["bucket_m3"] and read["bucket_s"] else None
        yield from _difference("gauge_closed", name, name, closed, read["gauge_closed_pa"])
        yield from _difference("gauge_open", name, name, opened, read["gauge_open_pa"])
        yield from _difference("bucket", name, name, water_flow(run), flow)
        yield from _jet(run, read, wear)
        yield from _difference("throw", name, name, wear.ground if wear is not None else None, read.get("throw_m"))
        if wear is not None:
            yield from _difference("condition", name, name, wear.planned, wear.share)


def _bench(plan: Json, record: Json) -> Iterator[Difference]:
    """A yard job: bath, and the pump's readings against what it was planned to show before the work and after it."""
    name, work, bath = plan.get("yard_pump") or "", record["pump"], plan.get("bath")
    if work is None:
        return
    yield from _difference("bath", name, "", bath["soak_s"] if bath else None, work["bath_s"])
    for read in bench_readings(plan, record):
        shown = plan["yard"]["throw"][read.when]
        yield from _difference(f"throw_{read.when}", name, "", shown["ground_m"], read.throw)
        yield from _difference(f"gauge_{read.when}", name, "", shown["gauge_closed_pa"], read.gauge)
        yield from _difference(f"bucket_{read.when}", name, "", shown["flow_m3_per_s"], read.flow)
        yield from _difference(f"share_{read.when}", name, "", shown["share"], read.share)


def _jet(run: Json, read: Json, wear: Wear | None) -> Iterator[Difference]:
    """The jet against its own plan where the tip stood where it was planned to stand, else only written down."""
    planned = wear.throw if wear is not None and wear.stood else None
    yield from _difference("jet", run["name"], run["name"], planned, read["jet_m"])


def _mixes(plan: Json, record: Json) -> Iterator[Difference]:
    for done in record["mixes"]:
        mix = plan["mixes"][done["number"] - 1] if done["number"] <= len(plan["mixes"]) else None
        if mix is None:
            continue
        about, run = named_mix(plan, done["number"]), mix["run"]
        test = done["stock_test"]["g_per_l"] if done["stock_test"] is not None else None
        same_lot = done["lot"] in (None, mix["lot"])
        today = mix["strength_today_g_per_l"] if same_lot else None
        tested = _difference("stock_test", about, run, today, test)
        yield from (replace(one, chemical=mix["stock"]) for one in tested)
        yield from _difference("dial", about, run, mix["setting"].get("dial"), done["dial"])
        batches = float(len(mix["batches"])) if mix["batches"] else None
        yield from _difference("batches", about, run, batches, done["batches"])
        yield from _difference("stock", about, run, mix["stock_m3"], done["stock_m3"])
        yield from _difference("stock_mass", about, run, mix["stock_kg"], done["stock_kg"])
        low, high = mix.get("jug_left_between_m3") or (None, None)
        yield from _difference("jug", about, run, mix.get("jug_left_m3"), done.get("jug_left_m3"), low, high)
        yield from _difference("mix_made", about, run, mix_made(mix), done["mix_m3"])
        yield from _difference("mix_water", about, run, mix["water_m3"], done["water_m3"])


def _sides(plan: Json, record: Json) -> Iterator[Difference]:
    work = {(side["surface"], side["run"]): side for side in plan["work"]}
    mixes = mix_by_side(plan)
    for done in record["sides"]:
        key = (done["surface"], done["run"])
        side = work.get(key)
        if side is None:
            continue
        about, run = key
        least, most = side["dwell_s"]
        begun = _since(record["times"]["arrived_s"], done.get("first_mix_s"))
        yield from _difference("begun", about, run, _since(_arrival(plan), side.get("first_mix_s")), begun)
        yield from _difference("sections", about, run, side.get("sections"), done.get("sections"))
        yield from _difference("wet", about, run, wetted(plan, side), done["wet_m3"])
        yield from _difference("mix", about, run, mixes.get(key), done["mix_m3"])
        # Anything between its two ends is a dwell as planned: there is no one figure to be off from.
        yield from _difference("dwell", about, run, None, done["dwell_s"], least if most else None, most or None)
        yield from _difference("rinse", about, run, side["rinse_m3"], done["rinse_m3"])


def _arrival(plan: Json) -> float | None:
    """When the plan has the rig arrive [s from midnight]; None where no time of day is known."""
    spans = plan["time"][1:] if plan["time"] and plan["time"][0]["what"] == "drive" else plan["time"]
    at: float | None = spans[0]["start_s"] if spans else None
    return at


def _since(start: float | None, at: float | None) -> float | None:
    """Seconds from a time of day to the next; a night's work may pass midnight."""
    return (at - start) % 86400.0 if start is not None and at is not None else None


def _whole(plan: Json, record: Json) -> Iterator[Difference]:
    yield from _difference("water", "", "", water_in_all(plan), record["water"]["used_m3"])
    planned, found = plan["water"].get("tap_m3_per_s") if plan["water"] is not None else None, tap_of(record)
    yield from _difference("tap", "", "", planned, found)
    targets = [flush["target_mg_per_l"] for flush in plan["flushes"] if flush["when"] == "after"]
    target = min((one * 1e-3 for one in targets if one is not None), default=None)
    yield from _residual(target, record["flush"])
    spans, times = spans_of(plan), record["times"]
    for figure, first, last in (
        ("set_up", "arrived_s", "first_mix_s"), ("wash", "first_mix_s", "flushed_s"), ("whole", "arrived_s", "left_s"),
    ):  # fmt: skip
        begun, ended = times[first], times[last]
        # A crew that finishes after midnight wrote an hour before the one it began at.
        took = (ended - begun) % 86400.0 if begun is not None and ended is not None else None
        yield from _difference(figure, "", "", spans.get(figure), took)


def _residual(target: float | None, flush: Json) -> Iterator[Difference]:
    """What the strip read. A strip that ends above the target tells nothing of it where it reads less than its end."""
    if flush["residual_mg_per_l"] is None:
        return
    read, below = flush["residual_mg_per_l"] * 1e-3, bool(flush.get("residual_below"))
    judged = target if target is None or not below or _sign(read, None, target) == "in" else None
    for row in _difference("residual", "", "", target, read, None, judged):
        yield replace(row, below=below)


def tap_of(record: Json) -> float | None:
    """Flow of the open tap by its bucket [m3/s]; None where none was written down, or kept before it was asked for."""
    water = record["water"]
    return water["tap_m3"] / water["tap_s"] if water.get("tap_m3") and water.get("tap_s") else None


def spans_of(plan: Json) -> Mapping[str, float]:
    """What the plan has for each part of the visit [s]; one span follows another, whether or not it has a clock.

    The first spray is where the page has it: when the first wall is begun, with the mix made.
    """
    sides = {side["surface"] for side in plan["work"]}
    first = flushed = None
    whole = 0.0
    for number, span in enumerate(plan["time"]):
        if number == 0 and span["what"] == "drive":  # a surface may be called so too
            continue
        if first is None and span["what"] in sides:
            first = whole
        whole += span["seconds"]
        if span["what"] == "flush":
            flushed = whole
    found = {"whole": whole} if whole else {}
    if first is not None:
        found["set_up"] = first
        if flushed is not None and flushed > first:
            found["wash"] = flushed - first
    return found


# ------------------------------------------------------------ planned
# What a plan's JSON has for a figure of a record, where several of its parts say it together; as on the paper.


def wetted(plan: Json, side: Json) -> float:
    """What a side is wetted with [m3] by the plan's acts; as asked where it has none."""
    wet = [
        act["m3"]
        for act in (plan.get("procedure") or {}).get("acts") or ()
        if act["act"] == "spray" and act["use"] == "wet" and act["run"] == side["run"]
        if act["section"] and act["section"]["surface"] == side["surface"]
    ]
    return float(sum(wet)) if wet else float(side["wet_m3"])


def water_in_all(plan: Json) -> float | None:
    """The most water of the whole job [m3], as on paper; of plans kept before that was said, what its uses come to."""
    water = plan["water"]
    return None if water is None else float(water.get("most_m3", water["need_m3"]))


def mix_by_side(plan: Json) -> Mapping[tuple[str, str], float]:
    """Mix planned for each (surface, run) [m3], without spare; empty of plans kept before parts were."""
    found: dict[tuple[str, str], float] = {}
    for mix in plan["mixes"]:
        for part in mix.get("parts", ()):
            key = (part["surface"], mix["run"])
            found[key] = found.get(key, 0.0) + part["mix_m3"]
    return found


def mix_made(mix: Json) -> float | None:
    """All the mix that stands in the tank, tankful by tankful [m3], what was in it before with it."""
    made = [batch.get("mix_m3") for batch in mix["batches"]]
    return float(sum(made)) if made and None not in made else mix["mix_m3"]
