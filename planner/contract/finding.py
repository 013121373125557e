"""A finding as the JSON contract writes it, of a job or of a day."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from planner.checks.model import CheckedJob, Finding
from planner.faults import WhereJson
from planner.inputs.joined import JobInput
from planner.inputs.models.job import RunKeys
from planner.remedies.search import run_of
from planner.units import System
from planner.words import spoken as words


class FindingJson(TypedDict):
    """`at` is the path of the key whose value matters most, in the job's own file, or behind another file's name
    (`rig.power`, `day.crew`); `at_written` as much of it as is written, so that a form can add the rest: `""` where
    nothing is, the file's name alone (`day`) where it is another file, `like` where an earlier job gives it."""

    code: str
    about: str
    level: str
    accepted: bool
    reason: str | None
    by: str | None
    message: str
    remedy: str
    basis: str
    where: WhereJson
    tip: NotRequired[str]
    at: NotRequired[str]
    at_written: NotRequired[str]


def finding_json(finding: Finding, system: System, checked: CheckedJob) -> FindingJson:
    """One finding of a job, or of a day that ends with it, its words in the reader's units."""
    accepted = finding.accepted
    at, written = key_at(finding, checked)
    found: FindingJson = {
        "code": finding.code,
        "about": finding.about,
        "level": finding.level,
        "accepted": accepted is not None,
        "reason": accepted[0] if accepted is not None else None,
        "by": accepted[1] if accepted is not None else None,
        "message": words.message(finding, system),
        "remedy": words.remedy(finding, system),
        "basis": words.basis(finding.code),
        "where": finding.where.as_json(),
        "at": at,
        "at_written": written,
    }
    if finding.tip:
        found["tip"] = finding.tip
    return found


# ------------------------------------------------------------ keys

_OTHER_FILES = frozenset({"company", "day", "stock", "rig"})


def key_at(finding: Finding, checked: CheckedJob) -> tuple[str, str]:
    """The path of the key a finding is about by its row in data/findings.yaml, and as much of it as is written."""
    job, row = checked.plan.input, words.wording()[finding.code]["key"]
    ways = [_path(way, finding, checked) for way in ([row] if isinstance(row, str) else row)]
    found = [(path, _written(job, path)) for path in ways]
    return max(found, key=lambda one: (len(one[1]), one[0] == one[1]))


def _path(way: str, finding: Finding, checked: CheckedJob) -> str:
    """A row's `key` as a path for one finding."""
    job = checked.plan.input
    if way == "about":
        return finding.about if _written(job, finding.about) else finding.where.path
    of, _, key = way.partition(".")
    if of not in ("run", "surface", "chemical", "chemicals"):
        return way
    if job.kind == "yard":
        return finding.where.path or "pump"
    if of == "run":
        return _of_run(finding, checked, key)
    if of == "surface":
        names = [surface.name for surface in job.surfaces]
        return f"surfaces[{names.index(finding.about)}].{key}" if finding.about in names else "surfaces"
    return _of_chemical(finding, checked, key)


def _of_run(finding: Finding, checked: CheckedJob, key: str) -> str:
    job = checked.plan.input
    run = run_of(checked, finding)
    place = job.runs.index(run) if run in job.runs else None
    if job.job.hose_runs is not None:
        return "hose_runs" if place is None else f"hose_runs[{place}].{key}"
    if key in RunKeys.model_fields and len(job.runs) == 1:
        return key
    return "setup" if place is None or isinstance(job.job.setup, str) else f"setup[{place}]"


def _of_chemical(finding: Finding, checked: CheckedJob, key: str) -> str:
    """The chemical a mix, a lot or a stock is; a short job has but one strength, of its bleach."""
    job = checked.plan.input
    uses = [mix.use for mix in checked.plan.mixes if mix.use is not None and finding.about == mix.name]
    for use in job.chemicals:
        uses += [use] if finding.about in (use.stock, use.chemical, *(lot.name for lot in use.lots)) else []
    written = next((use.where.path for use in uses if use.where.path.startswith("chemicals[")), "")
    if written and key:
        return f"{written}.{key}"
    return "strength" if key == "strength" and job.job.chemicals is None else "chemicals"


def _written(job: JobInput, path: str) -> str:
    """A path, or the nearest above it that is written where it is looked for; `like` where an earlier job gives it."""
    other = path.partition(".")[0] in _OTHER_FILES and "." in path
    while path:
        # The table of surfaces goes by the same name as the job's own: those are where their first one is.
        place = job.places.get("surfaces[0]" if path == "surfaces" else path)
        own = place is not None and place.file == job.where.file
        if place is not None and place.path in (
            (path, "surfaces[0]") if own else (path.partition(".")[2],) if other else ()
        ):
            return path
        if place is not None and not own and not other:
            return "like"
        path = path[: max(path.rfind("."), path.rfind("["), 0)]
    return ""
