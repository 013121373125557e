"""`planner check JOB --jet --bucket --gauge`: what was measured on a run, and what it says of the pump."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from difflib import get_close_matches
from typing import Any, TypedDict

from planner.checks.model import CheckedJob
from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.reading.handwriting import plain, read_bucket_text, read_gauge
from planner.inputs.tables import rows
from planner.inputs.tables.defaults import default
from planner.physics.lines import SolveError
from planner.plan.line.throw import model_low
from planner.plan.model import RunPlan
from planner.plan.wear.inverse import (
    LEAST_SHARE,
    Inverse,
    Measured,
    Read,
    Write,
    plan_inverse,
)
from planner.terminal import table
from planner.units import System, Toward, Unreadable, read, show
from planner.words.figures import source_of

_KINDS = {"throw": ("height", "m"), "bucket": ("flow", "m3_per_s"), "gauge": ("pressure", "pa")}
_READERS: dict[str, Callable[[str], float]] = {
    "throw": lambda text: read(plain(text, "a height"), "height"),
    "bucket": lambda text: read_bucket_text(text).flow,
    "gauge": read_gauge,
}
"""What was measured is read as crews write it in a record's boxes; a jet's height is a `throw` in JSON and in code."""

JET = "throw"
READ_AS_JET = "--throw was read as the jet's height up the wall, which is --jet; a throw is along the ground."

_WRITTEN = {"condition": ("number", ""), "flow": ("flow", "_m3_per_s"), "unloader": ("pressure", "_pa")}
_WRITTEN["static"] = _WRITTEN["unloader"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What the measurements say, and the id of the job they were made on."""

    job: str
    inverse: Inverse


def _option(args: argparse.Namespace, what: str) -> str:
    """What it is asked by; a jet's height was `--throw` before it was `--jet`."""
    return "jet" if what == JET and args.throw is None else what


def answer(args: argparse.Namespace, jobs: Sequence[CheckedJob]) -> Answer | list[Fault]:
    """What the options say, or every fault in them."""
    faults: list[Fault] = []
    values: dict[str, float | None] = {}
    options = {what: _option(args, what) for what in _READERS}
    for what, reader in _READERS.items():
        values[what] = _quantity(options[what], getattr(args, options[what]), reader, faults)
    named = "run" if args.run is not None else "tip"
    if all(getattr(args, option) is None for option in options.values()):
        faults.append(
            _fault(named, "missing", f"`--{named}` alone measures nothing", "Add --jet, --bucket or --gauge to it.")
        )
    found = _run(args.run, jobs, faults)
    if faults or found is None:
        return faults
    job, run = found
    on = _with(args.tip, run)
    if isinstance(on, Fault):
        return [on]
    run = on
    measured = Measured(throw=values["throw"], flow=values["bucket"], closed=values["gauge"])
    faults += _unfit(run, measured, options[JET], args.units or job.plan.input.company.units)
    if faults:
        return faults
    try:
        return Answer(job=job.plan.id, inverse=plan_inverse(job.plan, run, measured))
    except SolveError as error:
        return [_fault("run", "unsolved", str(error), "Check the pump's curve, the tip and the hoses of this run.")]


def _fault(option: str, kind: str, message: str, remedy: str) -> Fault:
    return Fault(
        code=f"measured.{kind}",
        message=message,
        remedy=remedy,
        where=Where(file="command line", path=f"--{option}", lines=False),
    )


def _quantity(option: str, text: str | None, reader: Callable[[str], float], faults: list[Fault]) -> float | None:
    if text is None:
        return None
    try:
        value = reader(text)
    except Unreadable as slip:
        remedy = slip.remedy[:1].upper() + slip.remedy[1:] + "."
        where = Where(file="command line", path=f"--{option}", lines=False)
        faults.append(Fault(code=slip.code, message=slip.message, remedy=remedy, where=where))
        return None
    if value <= 0.0:
        remedy = "Measure it again, or leave it out."
        faults.append(_fault(option, "nothing", f"`{text}` must be more than zero", remedy))
        return None
    return value


def _run(name: str | None, jobs: Sequence[CheckedJob], faults: list[Fault]) -> tuple[CheckedJob, RunPlan] | None:
    """The one run that is meant; a fault names those to choose from."""
    runs = [(job, run) for job in jobs for run in job.plan.runs]
    if not runs:
        if jobs:
            faults.append(_fault("run", "run", "no hose run here to measure", "Name a wash job that has one."))
        return None
    names = list(dict.fromkeys(run.name for _, run in runs))
    listed = ", ".join(f"`{known}`" for known in names)
    if name is None:
        fitting = runs
    else:
        fitting = [(job, run) for job, run in runs if run.name.casefold() == name.strip().casefold()]
        if not fitting:
            near = get_close_matches(name.casefold(), [known.casefold() for known in names], n=1)
            meant = next((known for known in names if near and known.casefold() == near[0]), names[0])
            faults.append(
                _fault("run", "run", f"no hose run is named `{name}`; there is {listed}", f"Write --run '{meant}'.")
            )
            return None
    if len(fitting) == 1:
        return fitting[0]
    if len({job.plan.id for job, _ in fitting}) > 1:
        faults.append(_fault("run", "job", "several jobs have a run that fits", "Name the one job it was measured on."))
    else:
        faults.append(
            _fault("run", "run", f"several hose runs: {listed}", f"Say which was measured, as in --run '{names[0]}'.")
        )
    return None


def _with(name: str | None, run: RunPlan) -> RunPlan | Fault:
    """The run with the tip on that is named, its own where none is; a fault names those it has."""
    if name is None:
        return run
    tips = {one.input.tip.name: one for one in run.every}
    found = next((one for tip, one in tips.items() if tip.casefold() == name.strip().casefold()), None)
    if found is not None:
        return found
    listed = ", ".join(f"`{tip}`" for tip in tips)
    return _fault(
        "tip",
        "tip",
        f"`{run.name}` has no tip `{name}` on this job; it has {listed}",
        f"Write --tip '{next(iter(tips))}'.",
    )


def _unfit(run: RunPlan, measured: Measured, jet: str, system: System) -> list[Fault]:
    """What was measured but can say nothing on this run."""
    faults = []
    if measured.throw is not None:
        if run.input.tip.pattern != "solid":
            faults.append(
                _fault(
                    jet, "throw", f"tip `{run.input.tip.name}` throws no solid jet",
                    "Give --bucket or --gauge, or name a run with a solid tip.",
                )
            )  # fmt: skip
        elif measured.throw <= run.input.tip_height:
            tip = show(run.input.tip_height, "height", system)
            faults.append(
                _fault(
                    jet, "throw", f"a jet no higher than the tip, which is held {tip} up, says nothing",
                    "Give its height up the wall, above the ground at the tip.",
                )
            )  # fmt: skip
    pump = run.input.pump
    if measured.closed is not None and pump is not None and pump.of_kind.relief == "unloader" and pump.unloader is None:
        faults.append(
            _fault(
                "gauge", "gauge", f"{pump.name} has no {pump.of_kind.reliever}: its gun must never be closed",
                f"Give --bucket instead, and fit {pump.of_kind.relief_called}.",
            )
        )  # fmt: skip
    return faults


def wording() -> dict[str, dict[str, Any]]:
    """The rows of data/measured.yaml."""
    return rows.table("measured")


def sentences(job: CheckedJob, inverse: Inverse, system: System) -> tuple[list[str], str]:
    """What the measurements mean, sentence by sentence, and what to do about it."""
    lines = wording()["lines"]
    row = wording()["says"][inverse.says]
    facts = _facts(inverse, system)
    told = [str(row["means"]).format(**facts)]
    for one in inverse.reads:
        if inverse.orifice is None and _beyond(one):
            key = "beyond" if one.sign == "high" else "beyond_low"
            told.append(
                lines[key].format(
                    measured=_shown(one, one.measured, system), sound=_shown(one, one.sound, system),
                    least=f"{100 * LEAST_SHARE:.0f} %",
                )
            )  # fmt: skip
    if inverse.orifice is not None:
        told.append(lines["tip"].format(**facts))
    return told, str(row["do"]).format(**facts)


def _beyond(one: Read) -> bool:
    """True where the pump alone decides the figure and no share of it gives what was measured."""
    return one.share is None and one.worn is not None and one.sign in ("low", "high")


def _facts(inverse: Inverse, system: System) -> dict[str, str]:
    run, write = inverse.run, inverse.write
    pump = run.input.pump
    shares = {one.what: one.share for one in inverse.reads}
    best = shares.get("gauge") or shares.get("bucket") or shares.get("throw") or 1.0
    bore = run.input.tip.orifice
    return {
        "pump": pump.name if pump is not None else f"the {source_of(run)}",
        "limit": f"{100 * inverse.limit:.0f} % of its head",
        "share": f"{100 * (write.value if write is not None and write.key == 'condition' else best):.0f} %",
        "tip": run.input.tip.name,
        "orifice": show(inverse.orifice, "bore", system) if inverse.orifice is not None else "",
        "inside": pump.of_kind.inside if pump is not None else "",
        "relief": pump.of_kind.reliever if pump is not None else "",
        "kind": pump.kind if pump is not None else "",
        "written_bore": show(bore, "bore", system) if bore is not None else "a rated tip",
    }


def _shown(one: Read, value: float | None, system: System) -> str:
    return "-" if value is None else show(value, _KINDS[one.what][0], system, digits=3)


def advice(job: CheckedJob, inverse: Inverse, system: System) -> list[str]:
    """What to write in which file, and what the job's runs reach with it."""
    lines, write, run = wording()["lines"], inverse.write, inverse.run
    pump = run.input.pump
    if write is None:
        settles = inverse.says in ("sound", "sound_shut", "worn", "worn_and_blocked", "worn_and_tip")
        if pump is None or pump.of_kind.wears == "flow" or not settles or all(r.share is None for r in inverse.reads):
            return []
        return [lines["stays"].format(written=f"`condition: {pump.condition:g}`")]
    dimension = _WRITTEN[write.key][0]

    def told(value: float | None, toward: Toward = "near", none: str = "") -> str:
        if value is None:
            return none
        return f"{value:.2f}" if dimension == "number" else show(value, dimension, system, digits=3, toward=toward)

    written = {"condition": pump.condition if pump else None, "flow": pump.flow if pump else None}.get(write.key)
    said = [
        lines[f"write_{write.key}"].format(
            value=told(write.value), pump=pump.name if pump is not None else "", rig=job.plan.input.rig.rig,
            low=told(write.low, none="less"), high=told(write.high, none="more"), written=told(written),
        )
    ]  # fmt: skip
    if inverse.says.startswith("worn_or_blocked"):
        said = [lines["write_if"].format(rest=said[0][1:])]
    for then in inverse.then:
        if then.nominal is None or then.low is None:
            said.append(lines["then_none"].format(run=then.run))
            continue
        needed = show(then.needed, "height", system, toward="up") if then.needed is not None else ""
        said.append(
            lines["then_asked" if needed else "then"].format(
                run=then.run, nominal=show(then.nominal, "height", system, toward="down"),
                low=show(then.low, "height", system, toward="down"), needed=needed,
            )
        )  # fmt: skip
    return said


def notes(job: CheckedJob, inverse: Inverse, system: System) -> list[str]:
    """How it was taken to be measured, and how far each measurement is to be trusted."""
    lines, run = wording()["lines"], inverse.run
    taken = [one.what for one in inverse.reads]
    switch = run.input.pump is not None and run.input.pump.cut_off is not None
    errors = {
        "throw": 1.0 - model_low(job.plan.input, run.input),
        "bucket": default("bucket_error"),
        "gauge": default("switch_error") if switch else default("gauge_error"),
    }
    said = []
    if "throw" in taken:
        place = lines["place_eave" if run.input.past_eave > 0.0 else "place"]
        at = {"standoff": run.input.standoff, "past": run.input.past_eave}
        lengths = {name: show(length, "length", system) for name, length in at.items()}
        said.append(place.format(**lengths, tip_height=show(run.input.tip_height, "height", system)))
    said.append(
        lines["errors"].format(errors=", ".join(f"{_called(what)} {100 * errors[what]:.0f} %" for what in taken))
    )
    if run.input.same_time:
        said.append(lines["together"].format(others=" and ".join(run.input.same_time)))
    if "gauge" in taken and run.input.feed == "tank" and _asks_curve(run):
        said.append(lines["level"])
    if run.input.feed == "tap" and "static" in job.plan.input.water.assumed:
        said.append(lines["untested"])
    return said


def _called(what: str) -> str:
    return "jet" if what == JET else what


def _asks_curve(run: RunPlan) -> bool:
    """True where the closed gauge is the pump's own head on top of what stands before it."""
    pump = run.input.pump
    return pump is not None and pump.of_kind.wears == "head" and pump.cut_off is None


def print_answer(job: CheckedJob, inverse: Inverse, system: System) -> None:
    """The measurements as a table and what they say below it."""
    run = inverse.run
    pump = run.input.pump
    share = "condition" if pump is not None and pump.of_kind.wears == "head" else "share of flow"
    rows = []
    for one in inverse.reads:
        row: list[str] = [_called(one.what) if one.what != "gauge" else "gauge, gun closed"]
        row += [_shown(one, value, system) for value in (one.measured, one.planned, one.sound, one.worn)]
        row += ["-" if one.share is None else f"{one.share:.2f}", _band(one)]
        rows.append(row)
    print()
    head = (run.name, "measured", "planned", "good", f"at {inverse.limit:g}", share, "within its error")
    table(head, rows, numbers=range(1, 7))
    means, do = sentences(job, inverse, system)
    for line in (*means, do, *advice(job, inverse, system), *notes(job, inverse, system)):
        print(line)


def _band(one: Read) -> str:
    if one.low is None and one.high is None:
        return "-"
    low = "less" if one.low is None else f"{one.low:.2f}"
    return f"{low} to {'more' if one.high is None else f'{one.high:.2f}'}"


class ThenJson(TypedDict):
    run: str
    reach_m: float | None
    reach_low_m: float | None
    needed_m: float | None


class MeasuredJson(TypedDict):
    run: str
    tip: str
    pump: str | None
    condition_limit: float
    readings: list[dict[str, object]]
    says: str
    message: str
    remedy: str
    orifice_m: float | None
    write: dict[str, object] | None
    then: list[ThenJson]


def measured_json(job: CheckedJob, inverse: Inverse, system: System) -> MeasuredJson:
    """The answer in SI, the unit in the key."""
    run, write = inverse.run, inverse.write
    means, do = sentences(job, inverse, system)
    return {
        "run": run.name,
        "tip": run.input.tip.name,
        "pump": run.input.pump.name if run.input.pump is not None else None,
        "condition_limit": inverse.limit,
        "readings": [_read_json(one) for one in inverse.reads],
        "says": inverse.says,
        "message": " ".join(means),
        "remedy": " ".join((do, *advice(job, inverse, system))),
        "orifice_m": inverse.orifice,
        "write": _write_json(write) if write is not None else None,
        "then": [
            {"run": then.run, "reach_m": then.nominal, "reach_low_m": then.low, "needed_m": then.needed}
            for then in inverse.then
        ],
    }


def _read_json(one: Read) -> dict[str, object]:
    unit = _KINDS[one.what][1]
    values = {"measured": one.measured, "planned": one.planned, "sound": one.sound, "worn": one.worn}
    shares = {"share": one.share, "share_low": one.low, "share_high": one.high, "sign": one.sign}
    return {"what": one.what, **{f"{name}_{unit}": value for name, value in values.items()}, **shares}


def _write_json(write: Write) -> dict[str, object]:
    unit = _WRITTEN[write.key][1]
    values = {"value": write.value, "low": write.low, "high": write.high}
    return {"key": write.key, **{f"{name}{unit}": value for name, value in values.items()}}
