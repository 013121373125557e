"""`planner check`: findings and key numbers, as a table or as JSON."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence

from planner.checks.model import CheckedJob
from planner.commands import day_lines, measured
from planner.commands.as_json import document
from planner.commands.prepare import Trouble, checked_jobs, days_of, exit_code, loaded, report
from planner.commands.tables import table
from planner.commands.yard_lines import yard_lines
from planner.faults import Fault
from planner.inputs.workspace import BARE
from planner.packet import cures, words
from planner.packet.measures import of_water
from planner.plan.day import DayPlan
from planner.plan.mix_model import MixPlan
from planner.plan.mixing import shared_notes
from planner.plan.model import JobPlan, RunPlan, Value
from planner.units import System, Toward, show

_VERDICT = {"ok": "go", "caution": "go, with care", "stop": "HELD"}
_MARK = {"stop": "STOP", "caution": "caution", "ok": "ok", "none": "-"}


def run(args: argparse.Namespace) -> int:
    """Check every job the paths name."""
    read = loaded(args.paths)
    trouble = Trouble(faults=[fault for fault in read.faults if fault.code != BARE])
    bare = [fault for fault in read.faults if fault.code == BARE]
    jobs = list(checked_jobs(read, trouble))
    faults = trouble.faults
    told_of = _measured(args, jobs, faults)
    if args.json:
        days = days_of(read, jobs)
        clocked = {job.plan.id: job for _, of_day in days for job in of_day}
        told = [clocked.get(job.plan.id, job) for job in jobs]
        found = document(told, faults, args.units, days)
        for job, written in zip(told, found["jobs"], strict=True):
            if told_of is not None and job.plan.id == told_of.job:
                system = args.units or job.plan.input.company.units
                written["measured"] = measured.measured_json(job, told_of.inverse, system)
        print(json.dumps(found, indent=2, ensure_ascii=True, allow_nan=False))
    else:
        report(faults)
        for fault in bare:
            print(f"{fault.where.file}: {fault.message}; {fault.remedy}")
        for n, job in enumerate(jobs):
            if n:
                print()
            system = args.units or job.plan.input.company.units
            _print_job(job, system, everything=args.all)
            if told_of is not None and job.plan.id == told_of.job:
                measured.print_answer(job, told_of.inverse, system)
        for day, of_day in days_of(read, jobs):
            _print_day(day, of_day, args.units or day.jobs[0].input.company.units)
    return exit_code(jobs, trouble)


def _measured(args: argparse.Namespace, jobs: list[CheckedJob], faults: list[Fault]) -> measured.Answer | None:
    """What throw, bucket and gauge say, where any was given; what is wrong with them joins the faults."""
    if not measured.asked(args):
        return None
    answer = measured.answer(args, jobs)
    if isinstance(answer, measured.Answer):
        return answer
    faults += answer
    return None


def _print_day(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> None:
    """The whole day, under its jobs: what one job's table cannot say."""
    print(f"\n{day_lines.day_head(day, jobs, system)}")
    table(day_lines.DAY_HEAD, day_lines.day_rows(day, jobs, system), numbers=(2, 3))
    lines = list(day_lines.day_lines(day, jobs, system))
    wide = max((len(name) for name, _ in lines), default=0)
    for name, said in lines:
        print(f"  {name.ljust(wide)}  {said}")


def _print_job(checked: CheckedJob, system: System, *, everything: bool) -> None:
    plan = checked.plan
    verdict = _VERDICT["stop" if checked.held else checked.verdict]
    print(f"{plan.id}  {plan.title}: {verdict}   (plan {plan.hash})")
    for line in yard_lines(plan, system, held=checked.held):
        print(line)
    if plan.runs:
        table(
            ("run", "flow", "at the tip", "reach", "at worst", "needed", "gauge open", "closed", "suction"),
            [_run_row(run, system) for run in plan.runs],
            numbers=range(1, 9),
        )
    if plan.mixes:
        table(
            ("mix", "wall", "stock today", "mix", "stock", "load", "water", "set"),
            [_mix_row(words.mix_name(plan.mixes, mix), mix, system) for mix in plan.mixes],
            numbers=range(1, 7),
        )
    if plan.kind == "wash" and plan.runs:
        print(_water_line(plan, system))
        for note in shared_notes(plan.input):
            print(f"taken as shared, no `share:` or `surfaces:` written  {note}")
    shown = [f for f in checked.findings if everything or f.level in ("stop", "caution")]
    if shown:
        rows = []
        for finding in shown:
            rows.append((_MARK[finding.level], finding.code, finding.about, words.message(finding, system)))
            if finding.accepted is not None:
                reason, by = finding.accepted
                rows.append(("", "", "", f"accepted by {by}: {reason}"))
                continue
            found = cures.cures_of(checked, finding)
            rows += [("", "", "", cures.sentence(remedy, system)) for remedy in found]
            if not found and (cure := words.remedy(finding, system)):
                rows.append(("", "", "", cure))
        table(("", "finding", "about", "what"), rows)
    quiet = sum(1 for f in checked.findings if f.level == "ok")
    rest = sum(1 for f in checked.findings if f.level == "none")
    if not everything:
        print(f"{quiet} more checks ok, {rest} do not apply (--all lists them).")


def _mix_row(name: str, mix: MixPlan, system: System) -> tuple[str, ...]:
    unit = "trade" if mix.chemical == "hypochlorite" else "grams"

    def volume(amount: float | None, side: Toward) -> str:
        return "-" if amount is None else show(amount, "volume", system, toward=side)

    lot = mix.lot
    today = words.strength(Value(lot.nominal, unit), "down") if lot is not None and lot.nominal else "-"
    wall = words.strength(Value(mix.wall, unit)) if mix.wall else "-"
    written = mix.parts[0].surface.strength
    if unit == "grams" and mix.wall and written is not None:
        wall = written.text
    stock = show(mix.stock_mass, "mass", system) if mix.stock_mass else volume(mix.stock, "near")
    setting = f"dial {mix.dial:.2f}" if mix.dial is not None else f"{len(mix.batches)} batch" if mix.batches else "-"
    if len(mix.batches) > 1:
        setting += "es"
    if mix.kind == "injector" and mix.jug_stock is not None:
        setting = f"jug {100 * mix.jug_stock:.0f} % stock"
    made = mix.mix if mix.reachable else None
    return (
        name,
        wall,
        today,
        volume(made, "up"),
        stock if mix.reachable else "-",
        volume(mix.pull if mix.reachable else None, "up"),
        volume(mix.water if mix.reachable else None, "up"),
        setting,
    )


def _water_line(plan: JobPlan, system: System) -> str:
    uses = (
        ("wet", plan.water.pre_wet),
        ("fill hoses", plan.water.line),
        ("test", plan.water.test),
        ("mix", plan.water.mix),
        ("clean", plan.water.clean),
        ("rinse", plan.water.rinse),
        ("flush", plan.water.flush),
        ("beds", plan.water.beds),
    )
    told = [f"{name} {of_water(amount, system)}" for name, amount in uses if amount > 0.0]
    if plan.water.most > plan.water.need:
        told.append(f"out of the tap {of_water(plan.water.most, system)}, a tank filled up again too")
    return f"water {show(plan.water.need, 'volume', system, toward='up')}: {', '.join(told)}"


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
