"""`planner check`: findings and key numbers, as a table or as JSON."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planner.checks.model import CheckedJob
from planner.days.prepare import Trouble, checked_jobs, days_of, exit_code, loaded, report
from planner.faults import Fault
from planner.inputs.tables.chemicals import BLEACH
from planner.inputs.workspace import BARE
from planner.plan.days.day import DayPlan
from planner.plan.mix.mixing import shared_notes
from planner.plan.mix.model import MixPlan
from planner.plan.model import JobPlan, RunPlan, Value
from planner.plan.water.timing import arrival_of, end_of
from planner.plan.yard.model import BathPlan, BenchPoint, ThrowTest
from planner.terminal import on_one_line, say, table
from planner.units import System, Toward, show
from planner.words import cures
from planner.words import spoken as words
from planner.words.dates import clock_text, long_date
from planner.words.day_words import day_lines
from planner.words.figures import bath_name, bench_bucket
from planner.words.measures import gauge, minutes, of_water, poured, weighed
from planner.words.sides import sides_words
from planner.words.spoken import spoken_name

if TYPE_CHECKING:
    from planner.commands.measured import Answer

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
        from planner.contract.plan import document

        days = days_of(read, jobs)
        clocked = {job.plan.id: job for _, of_day in days for job in of_day}
        told = [clocked.get(job.plan.id, job) for job in jobs]
        found = document(told, faults, args.units, days)
        for job, written in zip(told, found["jobs"], strict=True):
            if told_of is not None and job.plan.id == told_of.job:
                system = args.units or job.plan.input.company.units
                from planner.commands import measured

                written["measured"] = measured.measured_json(job, told_of.inverse, system)
        print(json.dumps(found, indent=2, ensure_ascii=True, allow_nan=False))
    else:
        report(faults)
        for fault in bare:
            say(f"{fault.where.file}: {fault.message}; {fault.remedy}", hang=4)
        for n, job in enumerate(jobs):
            if n:
                print()
            system = args.units or job.plan.input.company.units
            print_job(job, system, everything=args.all)
            if told_of is not None and job.plan.id == told_of.job:
                from planner.commands import measured

                measured.print_answer(job, told_of.inverse, system)
        for day, of_day in days_of(read, jobs):
            _print_day(day, of_day, args.units or day.jobs[0].input.company.units)
    return exit_code(jobs, trouble)


def _measured(args: argparse.Namespace, jobs: list[CheckedJob], faults: list[Fault]) -> Answer | None:
    """What jet, bucket and gauge say, where any was given; what is wrong with them joins the faults."""
    if all(getattr(args, name) is None for name in ("jet", "throw", "bucket", "gauge", "run", "tip")):
        return None
    from planner.commands import measured

    if args.throw is not None:
        print(measured.READ_AS_JET, file=sys.stderr)
    answer = measured.answer(args, jobs)
    if isinstance(answer, measured.Answer):
        return answer
    faults += answer
    return None


def _print_day(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> None:
    """The whole day, under its jobs: what one job's table cannot say."""
    print(f"\n{day_head(day, jobs, system)}")
    table(DAY_HEAD, day_rows(day, jobs, system), numbers=(2, 3))
    lines = list(day_lines(day, jobs, system))
    wide = max((len(name) for name, _ in lines), default=0)
    for name, said in lines:
        say(f"  {name.ljust(wide)}  {said}", hang=wide + 4)


def print_job(checked: CheckedJob, system: System, *, everything: bool) -> None:
    """One job's table."""
    plan = checked.plan
    verdict = _VERDICT["stop" if checked.held else checked.verdict]
    say(f"{on_one_line(f'{plan.id}  {plan.title}')}: {verdict}   (plan {plan.hash})", hang=4)
    for line in yard_lines(plan, system, held=checked.held):
        say(line, hang=5)
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
        say(_water_line(plan, system), hang=6)
        if said := sides_words(plan, system):
            say(said)
        for note in shared_notes(plan.input):
            say(f"taken as shared, no `share:` or `surfaces:` given  {note}")
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
    unit = "trade" if mix.chemical == BLEACH else "grams"

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
        told.append(f"from the tap {of_water(plan.water.most, system)}, with tanks refilled")
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


# ------------------------------------------------------------ day lines
# A day on the terminal: order and clock.


_SAID = {"ok": "go", "caution": "go, with care", "stop": "held"}
DAY_HEAD = ("", "job", "arrive", "leave", "verdict")


def day_head(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> str:
    """The day, its rig and how many of its jobs are held."""
    held = sum(job.held for job in jobs)
    whole, lost = len(jobs) + len(day.waits), len(day.waits)
    parts = ["1 job" if whole == 1 else f"{whole} jobs"]
    parts += [f"{held} held"] if held else []
    parts += [f"{lost} not planned"] if lost else []
    return f"{long_date(day.date, system)}  {day.rig}, {', '.join(parts)}"


def day_rows(day: DayPlan, jobs: Sequence[CheckedJob], system: System) -> list[tuple[str, ...]]:
    """One row a job in working order; times only where the day says when the rig leaves."""
    rows: list[tuple[str, ...]] = []
    for number, name, place in day.rows:
        if place is None:
            rows.append((f"{number}", on_one_line(name.rpartition("/")[2]), "-", "-", "not planned"))
            continue
        plan, job = day.jobs[place], jobs[place]
        at, until = arrival_of(plan.time), end_of(plan.time)
        rows.append(
            (
                f"{number}",
                plan.title,
                clock_text(at, system) if at is not None else "-",
                clock_text(until, system) if until is not None else "-",
                _SAID["stop" if job.held else job.verdict],
            )
        )
    return rows


# ------------------------------------------------------------ lines
# A yard job on the terminal: its bath in a line or two, what the test should show, how long it takes.


def yard_lines(plan: JobPlan, system: System, *, held: bool = False) -> Iterator[str]:
    """The lines of a yard job; none of a wash. Of a `held` one nothing to pour by."""
    yard = plan.yard
    if yard is None:
        return
    if yard.bath is not None:
        yield from _held(yard.bath, system) if held else _bath(yard.bath, system)
    elif yard.no_bath:
        yield f"no bath: no part of {yard.pump.name} may go in {spoken_name(yard.acid or '')}"
    if yard.test is not None:
        yield _test(yard.test, system)
    else:
        yield f"test: no setup of the rig sprays with {yard.pump.name}, so there is nothing to compare with"
    yield f"takes {minutes(sum(span.seconds for span in plan.time if span.what != 'drive'))} min"


def _named(bath: BathPlan, system: System) -> str:
    return f"{show(bath.volume, 'volume', system)} of {bath_name(bath)}"


def _held(bath: BathPlan, system: System) -> Iterator[str]:
    yield f"bath {_named(bath, system)}: held, mix nothing{'' if bath.reachable else '; it cannot be made'}"


def _bath(bath: BathPlan, system: System) -> Iterator[str]:
    stock = weighed(bath.stock_mass, system) if bath.stock_mass is not None else poured(bath.stock, system)
    lots = " then ".join(one.lot.name for one in bath.pours) or spoken_name(bath.chemical)
    wipe = f", wipe {bath.passes} times {minutes(bath.wipe[1], 'down')} min at most" if bath.wipe is not None else ""
    yield (
        f"bath {_named(bath, system)}, in a tub that holds {poured(bath.tub_least, system, 'up')} or more: "
        f"{poured(bath.water, system)} of water, then {stock} of {lots}; "
        f"soak {minutes(bath.soak, 'down')} min{wipe}"
    )
    spent = f"spent at {show(bath.spent, 'mass', system, toward='down')} of scale; " if bath.spent else ""
    carry: dict[str, float] = {}
    for one in bath.neutralise:
        carry[one.agent] = carry.get(one.agent, 0.0) + one.carry
    agents = ", ".join(f"{weighed(mass, system, 'up')} of {spoken_name(agent)}" for agent, mass in carry.items())
    yield f"     {spent}{agents}, spare included, neutralizes it"


def _test(test: ThrowTest, system: System) -> str:
    sound, now = (_shown(point, test.bucket, system) for point in (test.after, test.before))
    return f"test on {test.run.name}: a good pump {sound}; now {now}"


def _shown(point: BenchPoint, bucket: float, system: System) -> str:
    told = []
    if point.ground is not None:
        told.append(f"throws {show(point.ground, 'length', system, toward='down')}")
    if point.closed is not None:
        told.append(f"gauge {gauge(point.closed, system)} shut")
    size, name = bench_bucket(bucket, system)
    seconds = point.bucket(size)
    if seconds is not None:
        told.append(f"{name} in {seconds:.0f} s")
    return ", ".join(told) or "nothing leaves the tip"
