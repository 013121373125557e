"""Records of a season made from one plan: what was done differs from it in a way the test chooses."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from planner.archive.compare.pairs import Pair
from planner.contract.record import planned_of, record_json
from planner.days.archiving import plan_json
from planner.inputs.models.record import Record
from planner.inputs.record import DoneJob
from tests import workspaces

CHEMICALS: dict[str, Any] = {
    "job": {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {"0": {"dosing": "panel"}}}
}
START = datetime.date(2026, 3, 2)
Json = dict[str, Any]


def plan_of(folder: Path, change: Mapping[str, Any] | None = None) -> Json:
    """The base workspace's job, planned with a panel, as it is archived."""
    files = workspaces.merged(workspaces.merged(workspaces.base(), CHEMICALS), change or {})
    checked = workspaces.checked(folder, files)
    return plan_json(checked, folder)


def empty_record(plan: Mapping[str, Any]) -> Json:
    """A record of the job in which nothing was written down."""
    done = DoneJob(record=Record.model_validate({"job": plan["id"]}), readings={}, mixes={}, sides={})
    return record_json(done, planned_of(plan), "2026-06-09", plan["plan"])


def reading(run: str, **read: float | None) -> Json:
    """What one run showed, all else not written down."""
    keys = ("gauge_open_pa", "gauge_closed_pa", "bucket_m3", "bucket_s", "jet_m", "throw_m", "standoff_m")
    return {"run": run, **dict.fromkeys(keys), **read}


def side(surface: str, run: str, **done: float) -> Json:
    """What one side took, all else not written down."""
    return {"surface": surface, "run": run, **dict.fromkeys(("wet_m3", "mix_m3", "dwell_s", "rinse_m3")), **done}


def as_share(plan: Mapping[str, Any], share: float) -> Json:
    """The readings of the plan's first run with its pump at one of the shares it was kept at."""
    run = plan["runs"][0]
    point = next(point for point in run["wear"]["points"] if abs(point["share"] - share) < 1e-9)
    return reading(
        run["name"], gauge_closed_pa=point["gauge_closed_pa"], bucket_m3=0.02, bucket_s=0.02 / point["flow_m3_per_s"],
        jet_m=point["throw_m"],
    )  # fmt: skip


def pair(plan: Json, record: Json, date: datetime.date = START, job: str = "") -> Pair:
    """A record beside its plan."""
    return Pair(job=job or plan["id"], date=date, revision=1, number=plan["plan"], record=record, plan=plan)


def season(plan: Json, count: int, done: Callable[[int, Json], None], days: int = 3) -> list[Pair]:
    """`count` jobs, `days` apart, each with what `done` writes into its record."""
    found = []
    for number in range(count):
        date = START + datetime.timedelta(days=days * number)
        job = f"{date.isoformat()}/10-house-{number}"
        record = {**empty_record(plan), "job": job, "date": date.isoformat()}
        done(number, record)
        found.append(pair({**plan, "id": job}, record, date, job))
    return found


def keep(folder: Path, pairs: list[Pair]) -> None:
    """The season in the workspace's own archive."""
    from planner.archive.kept.opening import opened
    from planner.archive.kept.store import keep_record

    with opened(None, folder) as archive:
        for one in pairs:
            assert one.plan is not None
            keep_record(archive, one.record, plan=one.plan, plan_number=one.number, source="by hand")
