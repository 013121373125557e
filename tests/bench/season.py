"""A season of known truths: two rigs, one pump that wears and is rebuilt, good ones beside it, a weak lot, a slow crew.

Each week its jobs are planned as the workspace stands, done as the truth has it with what eye and hand add, written down
as a crew writes, recorded, and compared with --apply: what is learned is planned with the week after. What a run shows
is solved by the plan's own hydraulics with the true pump and tip, so what is told can be held against what is true.
"""

from __future__ import annotations

import contextlib
import datetime
import io
import json
import random
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from planner.checks.model import CheckedJob
from planner.cli import main
from planner.contract.record import planned_of, record_json
from planner.days.archiving import plan_json
from planner.days.prepare import Trouble, checked_jobs
from planner.inputs.record import joined_record, record_of_text
from planner.inputs.workspace import load
from planner.physics.lines import solve
from planner.plan.model import RunPlan
from planner.plan.wear.altered import altered_line, closed_at, wall_throw, with_share
from tests import workspaces
from tests.archive import seasons

Json = dict[str, Any]
GAL, PSI, GPM, FOOT = 3.785411784e-3, 6894.757293168, 3.785411784e-3 / 60.0, 0.3048
START = datetime.date(2026, 3, 2)
WORN, REBUILT = -1.5, 0.98
"""What the one pump, on sandy water, loses a year, and what it has left the day it comes back from the bench."""
COVER, WEAK, SLOW = 0.8, 0.85, 1.35
"""Coverage of the table's, the weak lot's strength of its paper's, and the slow crew's time of the others'."""
WELL = ("all well", "OK", "none", "")

_RIG: Json = {
    "pumps": {"0": {"wetted": ["plastic"]}},
    "tips": [
        {"name": "long throw", "pattern": "solid", "orifice": "1/4 in"},
        {"name": "roof tip", "pattern": "solid", "orifice": "1/8 in"},
        {"name": "fan", "pattern": "fan", "flow": "5 gpm", "at": "40 psi"},
    ],
    "setups": [{"name": "house", "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "long throw"}],
}
_JOBS: dict[str, Json] = {
    "house": {
        "chemicals": [{"stock": "bleach", "strength": "1 %"}],
        "hose_runs": {"0": {"dosing": "panel"}},
    },
    "roof": {
        "chemicals": [{"stock": "bleach", "strength": "1 %"}],
        "hose_runs": {"0": {"pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "roof tip", "target": "15 ft"}},
    },
    "drive": {
        "surfaces": {"0": {"kind": "concrete"}},
        "hose_runs": {"0": {"pump": "washer", "tip": "fan", "target": "3 ft"}},
    },
}  # fmt: skip
_YARD: Json = {
    "job": "Booster",
    "kind": "yard",
    "pump": "booster",
    "work": ["rebuild", "test"],
    "replace": ["shaft seal"],
}


@dataclass(slots=True)
class Truth:
    """What is so, by the day; `off` is what each rig's dial shows too much by, the same all season [-]."""

    rebuilt: datetime.date
    off: dict[str, float]
    callbacks: int = 0
    jobs: int = 0
    spent: float = 0.0
    tests: dict[datetime.date, float] = field(default_factory=dict)

    def under(self, share: float) -> float:
        """Days from the season's start until the rebuilt pump comes under a share."""
        return (self.rebuilt - START).days + (share - REBUILT) / WORN * 365.25

    def share(self, rig: str, pump: str, date: datetime.date) -> float:
        """A pump's share [-] on a day."""
        if (rig, pump) != ("Case", "booster"):
            return 1.0
        new, since = (1.0, START) if date < self.rebuilt else (REBUILT, self.rebuilt)
        return new + WORN * (date - since).days / 365.25


@dataclass(slots=True)
class Told:
    """One week's comparison, and what it says against good gear."""

    date: datetime.date
    found: Json
    alarms: list[str]


@dataclass(slots=True)
class Season:
    """A season as it goes: `weeks` long, with `often` jobs of the worn pump a week."""

    folder: Path
    weeks: int = 8
    often: int = 3
    seed: int = 1
    truth: Truth = field(init=False)
    told: list[Told] = field(init=False, default_factory=list)
    _draw: random.Random = field(init=False)
    _plans: dict[tuple[str, str], tuple[CheckedJob, Json]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Write the workspace."""
        self._draw = random.Random(self.seed)
        self.truth = Truth(
            rebuilt=START + datetime.timedelta(days=7 * (self.weeks // 2)),
            off={rig: self._draw.gauss(0.0, 0.015) for rig in ("Case", "Good")},
        )
        base = workspaces.base()
        rig = workspaces.merged(base["rig"], _RIG)
        _write(self.folder / "company.yaml", base["company"])
        for name in ("Case", "Good"):
            _write(self.folder / "rigs" / f"{name.lower()}.yaml", {**rig, "rig": name})
        lot = {"chemical": "bleach", "made": "2026-02-23", "kept_at": "cool", "strength": "12.5 trade %"}
        lots = [{"name": "weak", "on_hand": "900 gal", **lot}, *base["stock"]["lots"][1:]]
        _write(self.folder / "stock.yaml", {"lots": lots})

    def run(self) -> None:
        """All weeks."""
        for week in range(self.weeks):
            monday = START + datetime.timedelta(days=7 * week)
            self._plans.clear()
            if monday == self.truth.rebuilt:
                self._rebuild(monday)
            for number in range(self.often):
                self._job("Case", "house", monday + datetime.timedelta(days=number), number)
            self._job("Case", "roof", monday + datetime.timedelta(days=3), 5)
            self._job("Good", "house", monday + datetime.timedelta(days=1), 6)
            self._job("Good", "roof" if week % 2 else "drive", monday + datetime.timedelta(days=2), 7)
            if week == self.weeks - 1:
                self._book(monday + datetime.timedelta(days=85))
            self.told.append(self._compared(monday + datetime.timedelta(days=6)))

    def _book(self, date: datetime.date) -> None:
        """A job weeks ahead that asks for more height than the pump will have: its file stays."""
        job = workspaces.merged(workspaces.base()["job"], _JOBS["house"])
        job["hose_runs"][0]["target"] = "33 ft"
        _write(self.folder / date.isoformat() / "day.yaml", {"rig": "Case", "forecast": {"wind": "0 mph"}})
        _write(self.folder / date.isoformat() / "10-high.yaml", job)

    def _planned(self, rig: str, kind: str, date: datetime.date) -> tuple[CheckedJob, Json]:
        """The job as this week's workspace plans it: the same for all of one kind and rig that week."""
        if (rig, kind) not in self._plans:
            base = workspaces.base()
            hot = self._draw.uniform(62.0, 92.0)
            forecast = {"low": f"{hot - 18.0:.0f} F", "high": f"{hot:.0f} F", "wind": "0 mph", "humidity": "60 %"}
            day = self.folder / date.isoformat()
            job = _YARD if kind == "yard" else workspaces.merged(base["job"], _JOBS[kind])
            _write(day / "day.yaml", {"rig": rig, "forecast": forecast})
            _write(day / f"10-{kind}.yaml", job)
            trouble = Trouble(faults=[])
            read = load([day])
            made = list(checked_jobs(read, trouble))
            assert made, [str(fault) for fault in (*read.faults, *trouble.faults)]
            (checked,) = made
            shutil.rmtree(day)  # a season's files would be looked back upon by every plan after them
            self._plans[rig, kind] = checked, plan_json(checked, self.folder)  # type: ignore[assignment]
        return self._plans[rig, kind]

    def _job(self, rig: str, kind: str, date: datetime.date, number: int) -> None:
        checked, plan = self._planned(rig, kind, date)
        name = f"{date.isoformat()}/{number}0-{kind}-{rig.lower()}"
        self._keep({**plan, "id": name}, self._record(checked, plan, rig, date), name, date)

    def _record(self, checked: CheckedJob, plan: Json, rig: str, date: datetime.date) -> Json:
        """What the crew writes: with its units, to the mark it can read."""
        draw, run = self._draw, checked.plan.runs[0]
        wind = draw.uniform(0.0, 8.0)
        signed = draw.choice(("Ana", "Ana", "Bo"))
        took = self._took(plan) * (SLOW if signed == "Bo" else 1.0) * draw.gauss(1.0, 0.05)
        rang = draw.random() < 0.15
        self.truth.callbacks += rang
        self.truth.jobs += 1
        cost = draw.randrange(80, 240)
        self.truth.spent += cost
        said: Json = {"callback": "yes", "callbacks": "streaks"} if rang else self._well()
        record: Json = {
            "times": {"arrived": "08:00", "first_mix": "08:30", "flushed": _clock(8.5 * 3600 + took)},
            "readings": {run.name: self._readings(checked, run, rig, date, wind)},
            "signed": signed, "spent": str(cost), **said,
        }  # fmt: skip
        for at, mix in enumerate(plan["mixes"], 1):
            (part,) = mix["parts"]
            used = part["mix_m3"] * part["cover_factor"] / COVER * draw.gauss(1.0, 0.06)
            stock = mix["stock_m3"] * used / part["mix_m3"] * draw.gauss(1.0, 0.04)
            record["mixes"] = {str(at): {"stock_used": f"{stock / GAL:.2f} gal"}}
            dwell = plan["work"][0]["dwell_s"][0] * draw.uniform(1.05, 1.3)
            record["sides"] = {"1": {"mix": f"{used / GAL:.1f} gal", "dwell": f"{dwell / 60.0:.1f} min"}}
            if draw.random() < 0.4:
                true = WEAK * 12.5 * 0.5 ** ((date - START).days / 250.0)
                record["lots"] = {"weak": {"test": f"{true * draw.gauss(1.0, 0.02):.2f} trade %"}}
                self.truth.tests[date] = true
        return record

    def _well(self) -> Json:
        """How crews say that nobody called."""
        if self._draw.random() < 0.5:
            return {"callback": "no"}
        words = self._draw.choice(WELL)
        return {"callbacks": words} if words else {}

    def _readings(self, checked: CheckedJob, run: RunPlan, rig: str, date: datetime.date, wind: float) -> Json:
        job, draw = checked.plan.input, self._draw
        assert run.input.pump is not None
        line = altered_line(job, run, with_share(run.input, self.truth.share(rig, run.input.pump.name, date)))
        true, closed = solve(line), closed_at(line)
        dial = 1.0 + self.truth.off[rig]
        found = {
            "gauge_open": f"{true.outlet * dial * draw.gauss(1.0, 0.015) / PSI:.0f} psi",
            "bucket": f"5 gal in {5.0 * GAL / true.flows[0] * draw.gauss(1.0, 0.02):.0f} s",
        }
        if closed is not None:
            found["gauge_closed"] = f"{closed * dial * draw.gauss(1.0, 0.015) / PSI:.0f} psi"
        height = wall_throw(run.input, true.tip_heads[0])
        if height is not None and draw.random() < 0.7:
            found["jet"] = f"{height * draw.gauss(1.0 - 0.004 * wind, 0.03) / FOOT:.0f} ft"
        return found

    def _took(self, plan: Json) -> float:
        from planner.archive.compare.differences import spans_of

        return spans_of(plan).get("wash", 3600.0)  # type: ignore[arg-type]

    def _rebuild(self, date: datetime.date) -> None:
        """The worn pump on the bench: a gauge before and after, with new parts."""
        _, plan = self._planned("Case", "yard", date)
        (sound,) = [point for point in plan["yard"]["points"] if point["share"] == 1.0]
        before, after = self.truth.share("Case", "booster", date - datetime.timedelta(days=1)), REBUILT
        name = f"{date.isoformat()}/10-yard"
        gauges = {
            key: f"{share * sound['gauge_closed_pa'] * (1.0 + self.truth.off['Case']) / PSI:.0f} psi"
            for key, share in (("gauge_before", before), ("gauge_closed", after))
        }
        self._keep({**plan, "id": name}, {"pump": {**gauges, "replaced": ["shaft seal"]}}, name, date)

    def _keep(self, plan: Json, written: Json, job: str, date: datetime.date) -> None:
        """A record as it was written, read as the command reads it."""
        text = yaml.safe_dump({"job": job, "date": date.isoformat(), **written})
        read = record_of_text(text, "record.yaml")
        done, faults = joined_record(read, planned_of(plan))  # type: ignore[arg-type]
        assert done is not None, [str(fault) for fault in (*read.faults, *faults)]
        record = record_json(done, planned_of(plan), date.isoformat(), plan["plan"])  # type: ignore[arg-type]
        seasons.keep(self.folder, [seasons.pair(plan, record, date, job)])  # type: ignore[arg-type]

    def _compared(self, date: datetime.date) -> Told:
        said = io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(io.StringIO()):
            code = main(["compare", str(self.folder), "--apply", "--json"])
        assert code == 0, said.getvalue()[:2000]
        found: Json = json.loads(said.getvalue())
        return Told(date=date, found=found, alarms=list(self._alarms(found, date)))

    def _alarms(self, found: Json, date: datetime.date) -> Iterator[str]:
        """What is said against gear that is good, with the day: none of it may be."""
        good = {("Good", pump) for pump in ("booster", "transfer", "washer")} | {
            ("Case", "transfer"),
            ("Case", "washer"),
        }
        for trend in found["trends"]:
            if (
                trend["subject"] in ("pump", "line")
                and tuple(trend["name"]) in good
                and (trend["worn"] or trend["moves"])
            ):
                yield f"{date} {trend['subject']} {trend['name']}: {trend['now']:.2f}"
            if trend["subject"] in ("tip", "line") and trend["what"] in ("bore", "loss"):
                yield f"{date} {trend['subject']} {trend['name']} {trend['what']}: {trend['now']:.2f}"
        for one in found["learned"]:
            if one["kind"] == "pumps" and tuple(one["about"]) in good and one["value"] < 1.0:
                yield f"{date} learned {one['about']}: {one['value']}"
        for job in found["jobs"]:
            rig = "Good" if job["job"].endswith("good") else "Case"
            for row in job["figures"]:
                of = "transfer" if "roof" in job["job"] else "washer" if "drive" in job["job"] else "booster"
                if row["figure"] == "condition" and row["outside"] and (rig, of) in good:
                    yield f"{job['job']}: condition {row['done']:.2f}"


def _write(file: Path, content: Json) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(yaml.safe_dump(content), encoding="utf-8")


def _clock(seconds: float) -> str:
    return f"{int(seconds // 3600):02d}:{int(seconds % 3600 // 60):02d}"


@dataclass(frozen=True, slots=True)
class Row:
    """One truth beside what was told of it, and how far the two may lie apart; `when` it was told."""

    what: str
    true: float
    told: float | None
    within: float

    @property
    def holds(self) -> bool:
        """Whether what was told is the truth, near enough."""
        return self.told is not None and abs(self.told - self.true) <= self.within

    @property
    def line(self) -> str:
        """Its line of the table."""
        told = "nothing" if self.told is None else f"{self.told:9.3f}"
        return f"{self.what:44} {self.true:9.3f} {told:>9} {self.within:8.3f}  {'' if self.holds else 'OFF'}"


def rows(season: Season) -> list[Row]:
    """The table: told against true."""
    truth, last = season.truth, season.told[-1]
    before = season.told[season.weeks // 2 - 1]

    def trend(told: Told, subject: str, name: list[str], what: str, key: str = "now") -> Any:
        return next(
            (
                one[key]
                for one in told.found["trends"]
                if (one["subject"], one["name"], one["what"]) == (subject, name, what)
            ),
            None,
        )

    def pump_row(what: str, told: Told, rig: str, pump: str, of: str = "condition") -> Row:
        """A pump's share, which has to lie in the band that was told with it."""
        low, high = (trend(told, "pump", [rig, pump], of, key) for key in ("low", "high"))
        within = (high - low) / 2.0 if low is not None and high is not None else 0.0
        on = datetime.date.fromisoformat(trend(told, "pump", [rig, pump], of, "last") or told.date.isoformat())
        return Row(what, truth.share(rig, pump, on), trend(told, "pump", [rig, pump], of), within)

    booster = ["Case", "booster"]
    crew = [trend(last, "crew", [name], "time", "middle") for name in ("Bo", "Ana")]
    found = [
        pump_row("worn pump before its rebuild", before, "Case", "booster"),
        pump_row("the same at the season's end", last, "Case", "booster"),
        pump_row("good booster", last, "Good", "booster"),
        pump_row("good pump behind a switch", last, "Case", "transfer"),
        pump_row("good piston", last, "Good", "washer", "flow"),
        Row("coverage of vinyl, of the table's", COVER, trend(last, "surface", ["vinyl"], "cover"), 0.05),
        Row("slow crew's time of the other's", SLOW, crew[0] / crew[1] if crew[0] and crew[1] else None, 0.15),
        Row("callbacks", float(truth.callbacks), float(last.found["tallies"][0]["callbacks"]), 0.0),
        Row("money spent", truth.spent, last.found["tallies"][0]["spent"], 0.01),
    ]  # fmt: skip
    pump = next((one for one in last.found["trends"] if one["name"] == booster and one["subject"] == "pump"), None)
    found.append(Row("what it loses a year", WORN, pump["per_year"] if pump else None, 0.5))
    for one in pump["below"] if pump else ():
        days = (datetime.date.fromisoformat(one["date"]) - START).days
        found.append(Row(f"days until it is under {one['share']:.0%}", truth.under(one["share"]), days, 14.0))
    ahead = next((one for one in last.found["forecasts"] if one["rig"] == "Case"), None)
    if ahead is not None and ahead["falls"] is not None:
        days = (datetime.date.fromisoformat(ahead["falls"]) - START).days
        found.append(Row("days until it fails the job that is booked", truth.under(ahead["needs"]), days, 14.0))
        found.append(Row("the booked job is called short", 1.0, float(ahead["short"]), 0.0))
    else:
        found.append(Row("the booked job is called short", 1.0, None, 0.0))
    lots = [one for one in last.found["learned"] if one["kind"] == "lots"]
    on = max(truth.tests, default=None)
    told = float(lots[0]["text"].split()[0]) if lots else None
    return [*found, *([Row("weak lot, trade %", truth.tests[on], told, 0.8)] if on else [])]


def alarms(season: Season) -> list[str]:
    """Everything that was said against good gear, all season."""
    return [alarm for told in season.told for alarm in told.alarms]
