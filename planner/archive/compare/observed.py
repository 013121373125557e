"""What one job's record says of a pump, a surface, a lot, a site and a crew: one number each, put in line by date."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from planner.archive.compare.differences import Difference, tap_of
from planner.archive.compare.pace import crew_pace
from planner.archive.compare.pairs import Pair
from planner.archive.compare.wear import (
    SEES_PUMP,
    bench_readings,
    jet_of_model,
    pump_that_day,
    readings_of,
    worked_on,
)
from planner.frozen import dataclass
from planner.inputs.reading.addresses import same_place
from planner.inputs.tables.defaults import default
from planner.plan.wear.fit import Reading

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson
    from planner.contract.record import RecordJson

Subject: TypeAlias = Literal["pump", "line", "surface", "lot", "tap", "tip", "site", "crew"]
_BASES: Final = {"trade": "trade %", "wt_naocl": "wt % NaOCl", "wt_cl2": "wt % Cl2", "vol": "vol %", "wt": "wt %"}

LONGEST_ADDRESS: Final = 300
"""Characters of an address that is learned of: a key of YAML ends at 1,024, and no envelope takes so many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """One number [-] of one job: `what` is cover (of the table's coverage),
    pace (of the table's minutes), strength (of what was planned), tap (of an ordinary one's flow), time or water (of
    what was planned), jet (height over the tip, of the model's). `name` is (rig, tip), or one name, for a tap the
    address as it is compared. `text` is a strength or an address as it was written.
    """

    subject: Subject
    name: tuple[str, ...]
    what: str
    value: float
    date: datetime.date | None
    job: str
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpLook:
    """What one job read of a pump, `name` as (rig, pump); `of` is what wear takes of it, head or flow.

    `after`: read at the bench once the pump was mended, so that it counts on the day of the service too.
    """

    name: tuple[str, str]
    of: str
    date: datetime.date | None
    job: str
    readings: tuple[Reading, ...]
    after: bool = False

    @property
    def sure(self) -> bool:
        """Whether gauge or bucket was read, which see the pump by themselves."""
        return any(one.kind in SEES_PUMP for one in self.readings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Serviced:
    """A pump that was worked on: what was read before says nothing of it any more."""

    name: tuple[str, ...]
    date: datetime.date


def observed(pair: Pair, found: Sequence[Difference]) -> list[Observed]:
    """Everything one job says."""
    if pair.plan is None:
        return []
    plan = pair.plan
    return [
        *_covers(pair, plan, found), *_lots(pair, plan), *_taps(pair, plan), *_pace(pair, plan, found),
        *_minutes(pair, plan, found), *_jets(pair, plan),
    ]  # fmt: skip


def serviced(pair: Pair) -> Serviced | None:
    """The pump a yard job's record says was worked on; looking alone changes nothing."""
    plan, work = pair.plan, pair.record["pump"]
    pump = plan.get("yard_pump") if plan is not None else None
    if plan is None or work is None or pair.date is None or not pump or not worked_on(work):
        return None
    return Serviced(name=(plan["rig"], pump), date=pair.date)


def looks(pair: Pair) -> list[PumpLook]:
    """Each pump as one job looked at it: all that was read of it that day, whatever run it was read on.

    A yard job looks before and after where the pump was worked on, else the later of the two counts as its one look.
    """
    plan = pair.plan
    if plan is None or not plan.get("rig"):
        return []
    runs = {run["name"]: run for run in plan["runs"]}
    read: dict[tuple[str, str], list[Reading]] = {}
    of: dict[str, str] = {}
    for row in pair.record["readings"]:
        run = runs.get(row["run"])
        wear = run.get("wear") if run is not None else None
        if run is not None and run["pump"] is not None and wear is not None:
            read.setdefault((plan["rig"], run["pump"]), []).extend(readings_of(run, row))
            of[run["pump"]] = wear["of"]
    found = [
        PumpLook(name=name, of=of[name[1]], date=pair.date, job=pair.job, readings=tuple(readings))
        for name, readings in read.items()
        if readings
    ]
    return [*found, *_bench(pair, plan)]


def _bench(pair: Pair, plan: PlanJson) -> Iterator[PumpLook]:
    name = plan.get("yard_pump")
    if not name:
        return
    told = [read for read in bench_readings(plan, pair.record) if read.readings]
    mended = serviced(pair) is not None
    for read in told if mended else told[-1:]:
        yield PumpLook(
            name=(plan["rig"], name), of=read.of, date=pair.date, job=pair.job, readings=tuple(read.readings),
            after=mended and read.when == "after",
        )  # fmt: skip


def _jets(pair: Pair, plan: PlanJson) -> Iterator[Observed]:
    """Each tip's jet at the wall against the model's: of two runs with one tip on one day the lower.

    Only where gauge or bucket told the pump that day: a jet by itself tells of the pump, and is not told twice.
    """
    runs = {run["name"]: run for run in plan["runs"]}
    lowest: dict[str, float] = {}
    for read in pair.record["readings"]:
        run = runs.get(read["run"])
        seen = pump_that_day(run, read) if run is not None and run.get("tip") else None
        ratio = jet_of_model(run, read) if run is not None and seen is not None else None
        if run is not None and ratio is not None and plan.get("rig"):
            lowest[run["tip"]] = min(ratio, lowest.get(run["tip"], ratio))
    for tip, ratio in sorted(lowest.items()):
        yield Observed(
            subject="tip", name=(plan["rig"], tip), what="jet", value=ratio, date=pair.date, job=pair.job
        )  # fmt: skip


def _covers(pair: Pair, plan: PlanJson, found: Sequence[Difference]) -> Iterator[Observed]:
    """Coverage of each kind against the table's own, what was learned before taken out again."""
    done = {(one.about, one.run): one.done for one in found if one.figure == "mix"}
    table: dict[str, float] = {}
    taken: dict[str, float] = {}
    for number, mix in enumerate(plan["mixes"], 1):
        parts = mix.get("parts", [])
        whole = _used(pair.record, number)
        kinds = {part["kind"] for part in parts}
        sides = [(part, done.get((part["surface"], mix["run"]))) for part in parts]
        if all(side is None for _, side in sides) and whole is not None and len(kinds) == 1:
            # No side was written down by itself: the mix went on one kind, so all of it counts.
            total = sum(part["mix_m3"] for part in parts)
            sides = [(part, whole * part["mix_m3"] / total) for part in parts if total > 0.0]
        for part, side in sides:
            if side is not None and side > 0.0:
                kind = part["kind"]
                table[kind] = table.get(kind, 0.0) + part["mix_m3"] * part["cover_factor"]
                taken[kind] = taken.get(kind, 0.0) + side
    for kind, mixed in sorted(taken.items()):
        yield Observed(
            subject="surface", name=(kind,), what="cover", value=table[kind] / mixed, date=pair.date, job=pair.job
        )


def _used(record: RecordJson, number: int) -> float | None:
    """Mix made less what was left [m3]; None where either was not written down."""
    row = next((mix for mix in record["mixes"] if mix["number"] == number), None)
    if row is None or row["mix_m3"] is None or row["left_m3"] is None:
        return None
    used = row["mix_m3"] - row["left_m3"]
    return float(used) if used > 0.0 else None


def _lots(pair: Pair, plan: PlanJson) -> Iterator[Observed]:
    """Each test of a container, against the strength planned for it that day."""
    planned = {mix["lot"]: mix["strength_today_g_per_l"] for mix in plan["mixes"] if mix["lot"] is not None}
    planned |= {share["lot"]: share["strength_today_g_per_l"] for mix in plan["mixes"] for share in mix["lots"]}
    tests = {mix["lot"]: mix["stock_test"] for mix in pair.record["mixes"] if mix["lot"] and mix["stock_test"]}
    tests |= {lot["lot"]: lot["test"] for lot in pair.record["lots"] if lot["test"]}
    for lot, test in sorted(tests.items()):
        grams, before = test["g_per_l"], planned.get(lot)
        if grams is None or not before or test["basis"] not in _BASES:
            continue
        text = f"{test['amount']:g} {_BASES[test['basis']]}"
        yield Observed(
            subject="lot", name=(lot,), what="strength", value=grams / before, date=pair.date, job=pair.job, text=text
        )


def _taps(pair: Pair, plan: PlanJson) -> Iterator[Observed]:
    """The open tap of an address; a hydrant is another thing, and comes and goes."""
    flow, water, address = tap_of(pair.record), plan["water"], plan.get("address")
    if flow is None or not address or len(address) > LONGEST_ADDRESS:
        return
    if water is None or water.get("source") != "tap":
        return
    yield Observed(
        subject="tap", name=(same_place(address),), what="tap", value=flow / default("tap_flow"), date=pair.date,
        job=pair.job, text=" ".join(address.split()),
    )  # fmt: skip


def _minutes(pair: Pair, plan: PlanJson, found: Sequence[Difference]) -> Iterator[Observed]:
    """Minutes of the kind that was washed against the table's own, what was learned before taken out again."""
    wash = next((one for one in found if one.figure == "wash" and one.planned is not None), None)
    stood = {(one.about, one.run): one.done for one in found if one.figure == "dwell"}
    told = crew_pace(plan, wash.planned, wash.done, stood) if wash is not None and wash.planned is not None else None
    if told is not None:
        kind, factor = told
        yield Observed(
            subject="surface", name=(kind,), what="pace", value=factor, date=pair.date, job=pair.job
        )  # fmt: skip


def _pace(pair: Pair, plan: PlanJson, found: Sequence[Difference]) -> Iterator[Observed]:
    """Time and water against the plan's, by who led the work, where, and what was washed where that was one kind."""
    crew = pair.record["signed"]
    kinds = {part["kind"] for mix in plan["mixes"] for part in mix.get("parts", ())}
    subjects: list[tuple[Subject, str]] = [("site", plan["title"])]
    subjects += [("crew", crew)] if crew else []
    subjects += [("surface", next(iter(kinds)))] if len(kinds) == 1 else []
    for figure, what in (("wash", "time"), ("water", "water")):
        one = next((one for one in found if one.figure == figure and one.planned), None)
        if one is None or not one.planned:
            continue
        for subject, name in subjects:
            yield Observed(
                subject=subject, name=(name,), what=what, value=one.done / one.planned, date=pair.date, job=pair.job
            )
