"""Jobs an owner remembers: minutes and gallons, fitted to a crew's own paces and coverage before anything is recorded.

Each is planned as it was told, with the rig; its minutes give the share of the table's pace that takes as long, its mix
the share of the table's coverage, both as records are read. Of several the middle counts, within as far as they lie
apart, and never less than memory is good for. Water is no rate that is learned: what would make it agree is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import Any, Final

from planner.archive.compare.figures import learning
from planner.archive.compare.learn import REMEMBERED, Remembered, with_remembered
from planner.archive.compare.pace import factor_of
from planner.inputs.joining.learned import NAME, own_paces
from planner.inputs.models.job import SurfaceInput
from planner.inputs.reading.names import items
from planner.inputs.tables.spelled import table_kind
from planner.inputs.tables.whole import surface_rows
from planner.inputs.workspace import load
from planner.interview.answers import Here, Reader, choice, key_of, numbered, unit_of
from planner.interview.asking import Question, Unfit, Walk, with_unit
from planner.interview.rig.surer import laid_out, trial_house
from planner.interview.text import JOB, file_text
from planner.physics.lines import SolveError
from planner.plan.make import make_plan
from planner.plan.model import JobPlan
from planner.plan.water.model import Pace, Step
from planner.units import Unreadable, read, show
from planner.words.spelling import spelled
from planner.writing import write_whole

Raw = dict[str, Any]

_ASKED: Final = (
    ("minutes", "time", "min", "Minutes, from the first spray to the last rinse", "not known"),
    ("mix", "volume", "", "Mix it took", "not known"),
    ("water", "volume", "", "Water in all, mix and rinse", "not known"),
)


def remembered(here: Here, rig: Mapping[str, Any]) -> Walk[list[Mapping[str, str]]]:
    """Up to three jobs; none where there is nothing to plan them with."""
    found: list[Mapping[str, str]] = []
    rows = list(here.desk.rows or {})
    kinds = [spelled(kind, here.system) if kind in surface_rows() else kind for kind in rows]
    while kinds and rig.get("setups") and len(found) < int(learning("remembered", "most")):
        at = f"remembered {len(found) + 1}"
        kind = yield Question(
            key=at,
            about="Another job you remember: its surface" if found else "A job you remember well: its surface",
            read=choice((*kinds, *(kind for kind in rows if kind not in kinds)), "kind in the surface table"),
            blank="no more" if found else "none, plan by the trade's rates",
            before=() if found else ("Three jobs make times and gallons yours at once.", *numbered(kinds, columns=3)),
            more="One surface a job, such as a house's vinyl or a drive. Minutes, mix and water of it alone.\n"
            + "\n".join(numbered(kinds, columns=3)),
        )
        if kind is None:
            break
        area = unit_of("area", here.system)
        size = yield Question(
            key=f"{at} area", about="How much of it", unit=area, read=key_of(SurfaceInput, "area", area)
        )
        job = {"kind": table_kind(str(kind)), "area": str(size)}
        for name, dimension, unit, about, blank in _ASKED:
            own = unit or unit_of(dimension, here.system)
            answer = yield Question(
                key=f"{at} {name}", about=about, unit=own, read=_amount(dimension, own), blank=blank
            )
            if answer is not None:
                job[name] = answer
        found.append(job)
    return found


def _amount(dimension: str, unit: str) -> Reader:
    def read_it(text: str) -> str:
        given = with_unit(text, unit)
        try:
            if read(given, dimension) <= 0.0:
                raise Unfit((f"`{text[:40]}` must be more than zero", "write more than zero, or leave it empty"))
        except Unreadable as slip:
            raise Unfit((slip.message, slip.remedy)) from None
        return given

    return read_it


# ------------------------------------------------------------ fitted


Job = Mapping[str, str]
Shares = list[tuple[str, float]]
"""What single jobs come to of the table's [-], each with its kind."""


def learned_of(here: Here, rig: Mapping[str, Any], jobs: Sequence[Job]) -> Iterator[str]:
    """Fit the jobs, keep what they say in learned.yaml, and say it. Raises OSError.

    Coverage first: minutes are fitted at the crew's own gallons.
    """
    target = here.workspace / NAME
    text = target.read_text(encoding="utf-8") if target.is_file() else ""
    remarks: list[str] = []
    kept: list[Remembered] = []
    for section, fit in (("surfaces", _cover), ("paces", _minutes)):
        shares: Shares = []
        for job in jobs:
            plan = _planned(here, rig, job, text)
            if plan is not None and (share := fit(here, plan, job, remarks)) is not None:
                shares.append((job["kind"], share))
        rows = list(_rows(here, section, shares))
        text = with_remembered(text, rows) if rows else text
        kept += rows
    if kept:
        write_whole(target, text.encode("utf-8"))
        yield f"Written: {NAME}, and every packet says whose rates it is planned by:"
    for row in kept:
        what = "minutes" if row.section == "paces" else "a gallon covers"
        count = "1 job" if row.jobs == 1 else f"{row.jobs} jobs"
        share_said = f"{100.0 * row.value:.0f} % of the table's"
        yield f"  {_plain(row.kind)}: {what} {share_said}, by {count}, within {100.0 * row.off:.0f} %"
    yield from (f"  {remark}" for remark in remarks)


def _plain(kind: str) -> str:
    return kind.replace("_", " ")


def _fits(share: float) -> bool:
    """Whether a share of the table's is of the same work."""
    return learning("surface_range", "low") <= share <= learning("surface_range", "high")


def _rows(here: Here, section: str, shares: Shares) -> Iterator[Remembered]:
    by_kind: dict[str, list[float]] = {}
    for kind, share in shares:
        by_kind.setdefault(kind, []).append(share)
    own = here.desk.surfaces.value
    rows = own.surfaces if own is not None else ()
    known = set(getattr(here.desk.learned.value, section, {}))
    known |= own_paces(own) if section == "paces" else {row.kind for row in rows if row.cover is not None}
    for kind, values in by_kind.items():
        if kind in known:
            continue  # what is written, or was learned before, goes before memory
        middle = round(median(values), 2)
        off = max(learning("remembered", "off"), *(abs(value / middle - 1.0) for value in values))
        yield Remembered(
            section=section, kind=kind, key=REMEMBERED[section], value=middle, jobs=len(values), off=min(off, 1.0)
        )


def _cover(here: Here, plan: JobPlan, job: Job, remarks: list[str]) -> float | None:
    """The area a gallon covered, as a share of the table's [-]; None where the job does not say."""
    mixed = sum(part.mix * part.surface.cover_factor for mix in plan.mixes for part in mix.parts)
    if not mixed > 0.0 or "mix" not in job:
        return None
    cover = mixed / read(job["mix"], "volume")
    if _fits(cover):
        return cover
    table = show(mixed, "volume", here.system)
    remarks.append(f"{_plain(job['kind'])}: its mix is not taken: the table has {table}")
    return None


def _minutes(here: Here, plan: JobPlan, job: Job, remarks: list[str]) -> float | None:
    """The minutes it took, as a share of the table's [-], with its own water; None where the job does not say."""
    remarks += _water(here, plan, job)
    paces = [_with_its_water(work.pace, _rinse_share(plan, job)) for work in plan.work]
    if not paces or "minutes" not in job:
        return None
    minutes = factor_of(paces, read(job["minutes"], "time"))
    if _fits(minutes):
        return minutes
    table = show(sum(pace.seconds(1.0) for pace in paces), "time", here.system)
    gun = show(sum(step.least for pace in paces for step in pace.steps), "time", here.system)
    alone = f", and this gun alone needs {gun} for its water: was another tip on?" if minutes < 1.0 else ""
    remarks.append(f"{_plain(job['kind'])}: its minutes are not taken: the table has {table}{alone}")
    return None


def _rinse_share(plan: JobPlan, job: Job) -> float:
    """The share of the planned rinse [-] by which the job's water agrees; 1 where nobody remembers it."""
    rinse = sum(work.rinse_volume for work in plan.work)
    if "water" not in job or rinse <= 0.0:
        return 1.0
    rest = plan.water.need - plan.water.flush - plan.water.line - plan.water.test - rinse
    return max(read(job["water"], "volume") - rest, 0.0) / rinse


def _with_its_water(pace: Pace, share: float) -> Pace:
    """The work with so much of its rinse."""
    return replace(pace, rinse=Step(table=pace.rinse.table * share, least=pace.rinse.least * share))


def _water(here: Here, plan: JobPlan, job: Job) -> Iterator[str]:
    """How its water compares, and the rinse by which it would agree."""
    share, area = _rinse_share(plan, job), sum(surface.area for surface in plan.input.surfaces)
    if abs(share - 1.0) <= learning("remembered", "off"):
        return
    planned = show(plan.water.need, "volume", here.system)
    said = f"{_plain(job['kind'])}: planned with {planned} of water, yours took {job['water']}"
    rinse = share * sum(work.rinse_volume for work in plan.work) / area
    own = f"; `rinse: {show(rinse, 'spread', here.system)}` of it in surfaces.yaml says so" if rinse > 0.0 else ""
    yield said + own


def _planned(here: Here, rig: Mapping[str, Any], job: Job, learned: str) -> JobPlan | None:
    """The job planned as it was told, by setups that suit it and what is `learned`; None where it cannot be."""
    family = (here.desk.rows or {})[job["kind"]].family or ""
    house: Raw = trial_house(str(rig["rig"]), "", here.system)
    height = house["surfaces"][0]["height"]
    house |= {"surfaces": [{"kind": job["kind"], "area": job["area"]}], "setup": _setups(rig, family)}
    house |= {"building": {"height": height}} if family != "flat" else {}
    try:
        with TemporaryDirectory(prefix="planner-new-") as name:
            copy = Path(name).resolve()
            laid_out(here, copy)
            if learned:
                (copy / NAME).write_text(learned, encoding="utf-8")
            file = copy / "remembered.yaml"
            file.write_text(file_text(house, JOB, None), encoding="utf-8")
            jobs = load([file]).jobs
            return make_plan(jobs[0], None, tables=False) if jobs else None
    except (OSError, SolveError):
        return None


def _setups(rig: Mapping[str, Any], family: str) -> str | list[str]:
    """Flat work by all that is for flat work, a roof by its own, all else by the first."""
    names = [str(setup["name"]) for setup in items(rig, "setups")]
    of_family = [name for name in names if family and family in name]
    return of_family or names[:1] if family == "flat" else (of_family or names)[0]
