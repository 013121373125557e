"""`planner check`: findings and key numbers, as a table or as JSON."""

from __future__ import annotations

import argparse
import json

from planner.checks.model import CheckedJob
from planner.commands.as_json import document
from planner.commands.prepare import checked_jobs, exit_code, loaded, report
from planner.commands.tables import table
from planner.packet import words
from planner.plan.model import RunPlan
from planner.units import System, show

_VERDICT = {"ok": "go", "caution": "go, with care", "stop": "HELD"}
_MARK = {"stop": "STOP", "caution": "caution", "ok": "ok", "none": "-"}


def run(args: argparse.Namespace) -> int:
    """Check every job the paths name."""
    read = loaded(args.paths)
    faults = list(read.faults)
    jobs = list(checked_jobs(read.jobs, faults))
    if args.json:
        print(json.dumps(document(jobs, faults, args.units), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        report(faults)
        for n, job in enumerate(jobs):
            if n:
                print()
            _print_job(job, args.units or job.plan.input.company.units, everything=args.all)
    return exit_code(jobs, faults)


def _print_job(checked: CheckedJob, system: System, *, everything: bool) -> None:
    plan = checked.plan
    print(f"{plan.id}  {plan.title}: {_VERDICT[checked.verdict]}   (plan {plan.hash})")
    if plan.runs:
        table(
            ("run", "flow", "at the tip", "reach", "at worst", "needed", "gauge open", "closed", "suction"),
            [_run_row(run, system) for run in plan.runs],
            numbers=range(1, 9),
        )
    shown = [f for f in checked.findings if everything or f.level in ("stop", "caution")]
    if shown:
        rows = []
        for finding in shown:
            rows.append((_MARK[finding.level], finding.code, finding.about, words.message(finding, system)))
            if finding.accepted is not None:
                reason, by = finding.accepted
                rows.append(("", "", "", f"accepted by {by}: {reason}"))
            elif cure := words.remedy(finding, system):
                rows.append(("", "", "", cure))
        table(("", "finding", "about", "what"), rows)
    quiet = sum(1 for f in checked.findings if f.level == "ok")
    rest = sum(1 for f in checked.findings if f.level == "none")
    if not everything:
        print(f"{quiet} more checks ok, {rest} do not apply (--all lists them).")


def _run_row(run: RunPlan, system: System) -> tuple[str, ...]:
    def told(value: float | None, dimension: str, **side: str) -> str:
        return "-" if value is None else show(value, dimension, system, **side)  # type: ignore[arg-type]

    reach = run.reach
    closed = next((joint.closed for joint in run.joints if joint.kind == "gauge"), None)
    return (
        run.name,
        told(run.flow, "flow"),
        told(run.tip_pressure, "pressure"),
        told(reach.nominal if reach else None, "height", toward="down"),
        told(reach.low if reach else None, "height", toward="down"),
        told(run.needed, "height", toward="up"),
        told(run.pump_pressure, "pressure"),
        told(closed, "pressure"),
        told(run.npsh_available, "head", toward="down"),
    )
