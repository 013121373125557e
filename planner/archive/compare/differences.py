"""Planned against done, figure by figure: SI values, the band that still counts as planned, the side it lies on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Literal, TypeAlias

from planner.archive.compare.causes import cause_of
from planner.archive.compare.figures import figures, learning
from planner.archive.compare.pairs import Pair
from planner.archive.compare.robust import normal
from planner.archive.compare.wear import bench_readings, gauge_is_held, stood, wear_of, worked_on
from planner.contract.planned import bench_test, gauge_closed, mix_made, named_mix, residual
from planner.contract.recordable import PLAIN, Beside, Part, beside_of, by_comparison, mixes_of, runs_of, sides_of
from planner.frozen import dataclass
from planner.inputs.tables.defaults import default

if TYPE_CHECKING:
    from planner.contract.mix import MixJson
    from planner.contract.plan import PlanJson
    from planner.contract.record import MixDoneJson, RecordJson

Sign: TypeAlias = Literal["low", "in", "high"]
_NOISE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One figure of one job in SI. `about` is its run, mix or side, `run` the hose run of any of them.

    `low`, `high` end its band, None: no end, or nothing planned to hold it against. `cause` names a row of
    data/compare.yaml. `below`: it was less than `done`, the least that could be told. `beside` is what paper prints
    it by.
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
    beside: Beside = PLAIN

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
    held = {run["name"] for run in plan["runs"] if gauge_is_held(run)}
    return tuple(
        replace(one, cause=cause_of(one, found, worked=worked, yard=at_bench, held=one.run in held))
        if one.outside
        else one
        for one in found
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
        # Where the figure has a band of its own beside the table's, the wider of the two counts.
        low = min(row.low * planned, low if low is not None else planned) if row.low is not None else low
        high = max(row.high * planned, high if high is not None else planned) if row.high is not None else high
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Own:
    """A figure that is held against something of its own: what was planned, what was done, and the plan's band."""

    planned: float | None
    done: float | None
    low: float | None = None
    high: float | None = None


def _share(planned: float, share: float | None, off: float | None) -> _Own:
    """A pump's share, which lies outside only where it is off by more than its readings may be."""
    far = normal(learning("pump", "sure")) * (off or 0.0)
    return _Own(planned=planned, done=share, low=planned - far, high=planned + far)


def _figures(
    of: str, plan: PlanJson, part: Part, record: Part, own: Mapping[str, _Own], about: str = "", run: str = ""
) -> Iterator[Difference]:  # fmt: skip
    """Every figure of one run, mix, side or job in the table's order: those of its `own`, the others by their rows."""
    for name in (one.name for one in figures().values() if one.of == of):
        if name in own:
            one = own[name]
        elif name in by_comparison():
            row, at = by_comparison()[name]
            planned, done = row.plan_of(plan, part), row.done_of(record)
            one = _Own(planned=planned[at], done=done[at]) if row.kind == "amount" else _Own(planned=planned, done=done)
        else:
            continue
        for found in _difference(name, about, run, one.planned, one.done, one.low, one.high):
            told = by_comparison().get(name)
            yield found if told is None else replace(found, beside=beside_of(told[0], plan, part))


def _runs(plan: PlanJson, record: RecordJson) -> Iterator[Difference]:
    for _, run, read in runs_of(record, plan):
        wear = wear_of(run, read)
        own = {"throw": _Own(planned=wear.ground if wear is not None else None, done=read.get("throw_m"))}
        if gauge_is_held(run) and (shut := gauge_closed(plan, run)) is not None:
            off = default("switch_error") * shut
            own["gauge_closed"] = _Own(planned=shut, done=read["gauge_closed_pa"], low=shut - off, high=shut + off)
        if not stood(run, read):
            # The jet goes against the printed one where the tip stood where it was planned to, else it is only told.
            own["jet"] = _Own(planned=None, done=read["jet_m"])
        if wear is not None:
            own["condition"] = _share(wear.planned, wear.share, wear.off)
        yield from _figures("run", plan, run, read, own, run["name"], run["name"])


def _bench(plan: PlanJson, record: RecordJson) -> Iterator[Difference]:
    """A yard job: bath, and the pump's readings against what it was planned to show before the work and after it."""
    work, throw = record["pump"], bench_test(plan)
    if work is None:
        return
    read = bench_readings(plan, record)
    own = {f"share_{one.when}": _share(one.planned, one.share, one.off) for one in read}
    found = _figures("pump", plan, plan, work, own, plan.get("yard_pump") or "")
    yield from (one for one in found if throw or one.figure == "bath")


def _mixes(plan: PlanJson, record: RecordJson) -> Iterator[Difference]:
    for _, mix, done in mixes_of(record, plan):
        test = done["stock_test"]["g_per_l"] if done["stock_test"] is not None else None
        low, high = mix.get("jug_left_between_m3") or (None, None)
        same_lot = done["lot"] in (None, mix["lot"])
        own = {
            "stock_test": _Own(planned=mix["strength_today_g_per_l"] if same_lot else None, done=test),
            "jug": _Own(planned=mix.get("jug_left_m3"), done=done.get("jug_left_m3"), low=low, high=high),
            "mixed": _Own(planned=1.0, done=_mixed(mix, done, record)),
        }
        yield from _figures("mix", plan, mix, done, own, named_mix(plan, done["number"]), mix["run"])


def _mixed(mix: MixJson, done: MixDoneJson, record: RecordJson) -> float | None:
    """Stock in the mix that was made, of the planned one [-]; None where stock or mix was not written down.

    The mix is what was made of it, else what its sides got and what was left; sides alone stand for the planned ones.
    """
    poured, planned = (done["stock_m3"], mix["stock_m3"]) if mix["stock_m3"] else (done["stock_kg"], mix["stock_kg"])
    if poured is None or not planned:
        return None
    parts = {part["surface"]: part["mix_m3"] for part in mix.get("parts", ())}
    sides = [
        side["mix_m3"]
        for side in record["sides"]
        if side["run"] == mix["run"] and side["surface"] in parts and side["mix_m3"] is not None
    ]
    made, whole = done["mix_m3"], mix_made(mix, mix)
    if made is None and parts and len(sides) == len(parts):
        left = done["left_m3"]
        made, whole = sum(sides) + (left or 0.0), mix["mix_m3"] if left is not None else sum(parts.values())
    return (poured / planned) / (made / whole) if made and whole else None


def _sides(plan: PlanJson, record: RecordJson) -> Iterator[Difference]:
    for _, side, done in sides_of(record, plan):
        least, most = side["dwell_s"]
        begun = _since(record["times"]["arrived_s"], done.get("first_mix_s"))
        own = {
            "begun": _Own(planned=_since(_arrival(plan), side.get("first_mix_s")), done=begun),
            # Anything between its two ends is a dwell as planned: there is no one figure to be off from.
            "dwell": _Own(planned=None, done=done["dwell_s"], low=least if most else None, high=most or None),
        }
        yield from _figures("side", plan, side, done, own, side["surface"], side["run"])


def _arrival(plan: PlanJson) -> float | None:
    """When the plan has the rig arrive [s from midnight]; None where no time of day is known."""
    spans = plan["time"][1:] if plan["time"] and plan["time"][0]["what"] == "drive" else plan["time"]
    at: float | None = spans[0]["start_s"] if spans else None
    return at


def _since(start: float | None, at: float | None) -> float | None:
    """Seconds from a time of day to the next; a night's work may pass midnight."""
    return (at - start) % 86400.0 if start is not None and at is not None else None


def _whole(plan: PlanJson, record: RecordJson) -> Iterator[Difference]:
    target, flush, times = residual(plan, plan), record["flush"], record["times"]
    below, read = bool(flush.get("residual_below")), flush["residual_mg_per_l"]
    read = read * 1e-3 if read is not None else None
    # A strip that ends above the target tells nothing of it where it reads less than its end.
    told = target is None or read is None or not below or _sign(read, None, target) == "in"
    own = {"residual": _Own(planned=target, done=read, high=target if told else None)}
    spans = spans_of(plan)
    # A crew that finishes after midnight wrote an hour before the one it began at.
    took = {
        "set_up": _since(times["arrived_s"], times["first_mix_s"]),
        "wash": _since(times["first_mix_s"], times["flushed_s"]),
        "whole": _since(times["arrived_s"], times["left_s"]),
    }
    own |= {figure: _Own(planned=spans.get(figure), done=done) for figure, done in took.items()}
    for one in _figures("job", plan, plan, record["water"], own):
        yield replace(one, below=below) if one.figure == "residual" else one


def tap_of(record: RecordJson) -> float | None:
    """Flow of the open tap by its bucket [m3/s]; None where none was written down, or kept before it was asked for."""
    volume, seconds = record["water"].get("tap_m3"), record["water"].get("tap_s")
    return volume / seconds if volume and seconds else None


def spans_of(plan: PlanJson) -> Mapping[str, float]:
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
