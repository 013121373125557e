"""A remedy as what to write into the job's file: key paths and the text that goes there."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable

from planner.checks.model import Remedy
from planner.inputs.joined import ROLES, JobInput, Role, RunInput
from planner.units import read, show

_PLAIN = re.compile(r"[A-Za-z][\w ./-]*")


def edits_of(job: JobInput, remedy: Remedy) -> list[tuple[str, str]]:
    """Paths and texts that make the remedy; none for what is not on the rig or is not written run by run."""
    written = [run.name for run in job.job.hose_runs or ()]
    if not remedy.on_rig or remedy.run is None or remedy.run.name not in written or job.job.like is not None:
        return []
    was, now = next(run for run in job.runs if run.name == remedy.run.name), remedy.run.input
    if {hose.name for hose in now.hoses} - {hose.name for hose in job.rig.hoses} or (was.pump and not now.pump):
        return []
    before, at = _texts(job, was), f"hose_runs[{written.index(now.name)}]"
    after = _texts(job, now)
    if not after["rinse_tip"] and before["rinse_tip"]:
        after["rinse_tip"] = _quoted(now.tip.name)  # it rinses through its own
    edits = [(f"{at}.{key}", text) for key, text in after.items() if text != before[key]]
    for other in job.runs:
        if was.same_time and not now.same_time and now.name in other.same_time:
            left = _listed(name for name in other.same_time if name != now.name)
            edits.append((f"hose_runs[{written.index(other.name)}].same_time", left))
    return edits


def _texts(job: JobInput, run: RunInput) -> dict[str, str]:
    """What the keys of a run that changes touch would say."""
    fittings = ((fitting.kind, fitting.k if fitting.kind == "k" else fitting.count) for fitting in run.fittings)
    return {
        "pump": _quoted(run.pump.name) if run.pump is not None else "",
        "feed": _quoted(run.feed_tank.name) if run.feed_tank is not None else run.feed,
        "dosing": "premix" if run.premix else _quoted(run.dosing.name) if run.dosing is not None else "",
        "hoses": _listed(hose.name for hose in run.hoses),
        "fittings": f"{{{', '.join(f'{kind}: {count:.12g}' for kind, count in fittings)}}}",
        "on_reel": _length(job, run.on_reel),
        **{role: _role(run, role) if role in run.tips else "" for role in ROLES},
        "standoff": _length(job, run.standoff),
        "same_time": _listed(run.same_time),
    }


def _role(run: RunInput, role: Role) -> str:
    """A tip, with its hoses where its line is another than the run's."""
    name = _quoted(run.tips[role].name)
    if role not in run.role_hoses:
        return name
    return f"{{tip: {name}, hoses: {_listed(hose.name for hose in run.role_hoses[role])}}}"


def _length(job: JobInput, amount: float) -> str:
    """A length [m] in the company's units, in as many figures as it takes."""
    plain = show(amount, "length", job.company.units)
    near = abs(read(plain, "length") - amount) < 1e-9
    return plain if near else show(amount, "length", job.company.units, digits=12)


def _quoted(name: str) -> str:
    return name if _PLAIN.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def _listed(names: Iterable[str]) -> str:
    return f"[{', '.join(_quoted(name) for name in names)}]"
