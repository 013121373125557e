"""One job joined with its rig, its company, the shelf and the day: everything named put in its place."""

from __future__ import annotations

import datetime
import json
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from planner.faults import Where
from planner.frozen import dataclass
from planner.inputs.joined import JobInput
from planner.inputs.joining.learned import Applied, tap_note
from planner.inputs.joining.runs import runs_of
from planner.inputs.joining.together import too_many_guns
from planner.inputs.joining.walls import chemicals_of, highest_surface, surfaces_of, with_dwell_bound
from planner.inputs.joining.water import takes_known_tap, water_of
from planner.inputs.joining.yard import yard_run_of
from planner.inputs.models import Company, Day, Job, Lot, Rig, Site, SurfaceRow, YardJob
from planner.inputs.models.base import Location, Slip
from planner.inputs.reading.places import all_places, place
from planner.inputs.reading.tree import Node
from planner.inputs.tables.defaults import default
from planner.inputs.tables.whole import all_tables


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What a job is joined with, all of it already read and found good."""

    company: Company
    rig: Rig
    lots: tuple[Lot, ...]
    rows: Mapping[str, SurfaceRow]
    limits: Mapping[str, float]
    day: Day | None
    date: datetime.date | None
    place_in_day: tuple[int, int] | None
    id: str
    roots: Mapping[str, Node]
    learned: Applied


def joined(job: Job | YardJob, around: Around) -> tuple[JobInput | None, list[Slip]]:
    """The job joined, or None and the slips in how its parts go together; paths of slips are the job's own."""
    root = around.roots["job"]
    if isinstance(job, YardJob):
        return _yard(job, around, root)

    def where(at: Location) -> Where:
        return place(root, at, of_key=True)

    surfaces, slips = surfaces_of(job, around.rows, around.company, where)
    surfaces = around.learned.surfaces(surfaces)
    chemicals, surfaces, more = chemicals_of(job, surfaces, around.lots, around.company, where)
    height = job.building.height if job.building is not None else highest_surface(job, around.rows)
    runs, others, assumed = runs_of(job, around.rig, surfaces, height, where)
    slips += more + others
    crew = around.day.crew if around.day is not None else None
    slips += too_many_guns(runs, crew.count if crew is not None else None, lambda name: _run_at(job, name))
    assumed += around.learned.notes(runs, surfaces, (lot.name for use in chemicals for lot in use.lots))
    if slips:
        return None, slips
    if crew is None:
        assumed.append(f"crew: {default('crew'):g} people")
    known = around.learned.tap(job.site.address) if takes_known_tap(job) else None
    if known is not None:
        assumed.append(tap_note(known))
    water_at: Location = ("water",) if job.water is not None else ("tap",) if job.tap is not None else ()
    return JobInput(
        id=around.id,
        title=job.job,
        kind=job.kind,
        job=job,
        rig=around.rig,
        company=around.company,
        lots=around.lots,
        day=around.day,
        date=around.date,
        place_in_day=around.place_in_day,
        runs=runs,
        surfaces=tuple(map(with_dwell_bound, surfaces)),
        water=water_of(job, around.rig, around.date, where(water_at), known),
        accept=job.accept,
        limits=around.limits,
        tables=all_tables(around.rows, around.company.minutes),
        assumed=tuple(assumed),
        where=where(()),
        places=_places(around, job),
        source_text=source_text(around.roots),
        chemicals=chemicals,
        jets=around.learned.jets,
    ), []


def _run_at(job: Job, name: str) -> Location:
    """Where the runs a hose run is sprayed with are named, else the run."""
    place = next(n for n, run in enumerate(job.hose_runs or ()) if run.name == name)
    own = (job.hose_runs or ())[place]
    return ("hose_runs", place, "same_time") if own.same_time else ("hose_runs", place)


def _yard(job: YardJob, around: Around, root: Node) -> tuple[JobInput | None, list[Slip]]:
    """A yard job washes nothing: it has its pump, its bath and the line it is tested on, no surfaces and no runs."""
    run, slips, assumed = yard_run_of(job, around.rig, lambda at: place(root, at, of_key=True))
    if slips:
        return None, slips
    nothing = Job.model_construct(
        job=job.job,
        kind="yard",
        like=job.like,
        rig=job.rig,
        site=Site(address="the yard"),
        surfaces=(),
        accept=job.accept,
    )
    return JobInput(
        id=around.id,
        title=job.job,
        kind=job.kind,
        job=nothing,
        rig=around.rig,
        company=around.company,
        lots=around.lots,
        day=around.day,
        date=around.date,
        place_in_day=around.place_in_day,
        runs=(),
        surfaces=(),
        water=water_of(nothing, around.rig, around.date, place(root, ())),
        accept=job.accept,
        limits=around.limits,
        tables=all_tables(around.rows, around.company.minutes),
        assumed=(*assumed, *(text for pump, text in around.learned.pumps.items() if pump == job.pump)),
        where=place(root, ()),
        places=_places(around, None),
        source_text=source_text(around.roots),
        yard=job,
        yard_run=run,
        jets=around.learned.jets,
    ), []


def _places(around: Around, job: Job | None) -> Mapping[str, Where]:
    """Key paths with their places: the job's bare, other files' behind their own name (`rig.pumps[0]`)."""
    found: dict[str, Where] = {}
    for name, root in around.roots.items():
        found |= all_places(root, "" if name == "job" else name)
    for number, _ in enumerate(job.setups if job is not None else ()):
        # A setup makes the runs of a short job, so a finding about one of them points there.
        at = f"setup[{number}]" if f"setup[{number}]" in found else "setup"
        found.setdefault(f"hose_runs[{number}]", found[at])
    if job is not None and "water" not in found and "tap" in found:
        found["water"] = found["tap"]
    return MappingProxyType(found)


def source_text(roots: Mapping[str, Node]) -> str:
    """Everything that was written, in one fixed form: the same words give the same plan number."""
    plain: dict[str, Any] = {name: root.plain() for name, root in roots.items()}
    plain.get("company", {}).pop("archive", None)  # where results are kept says nothing of the work
    return json.dumps(plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
