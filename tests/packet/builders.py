"""Checked jobs made by hand, so that the paper is tested on cases no real job has yet brought.

Jobs with a mix are written as a user writes them: what a mix comes to is the plan's to say, not a test's.
"""

from __future__ import annotations

import datetime
import math
import tempfile
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import BaseModel

from planner.checks.model import CheckedJob, Finding
from planner.faults import Where
from planner.inputs.joined import Fitting, HosePiece, JobInput, RunInput, WaterInput
from planner.inputs.models.company import Company
from planner.inputs.models.day import Crew, Day, Forecast
from planner.inputs.models.gear import Pump, Tank, Tip
from planner.inputs.models.job import Job
from planner.inputs.models.quantities import Rain
from planner.inputs.models.rig import Dosing, Rig
from planner.inputs.models.site import Site
from planner.plan.model import Basis, JobPlan, Joint, Liquid, LossPart, Reach, RunPlan, Value
from planner.plan.water.model import WaterPlan
from tests.workspaces import as_written, base, checked, merged

FT, PSI, GPM, GAL, MPH = 0.3048, 6894.757, 6.30901964e-5, 3.785411784e-3, 0.44704
HERE = Where(file="10-boathouse.yaml")
M = TypeVar("M", bound=BaseModel)


def fahrenheit(degrees: float) -> float:
    """K."""
    return (degrees - 32) / 1.8 + 273.15


LIMITS = {"reach_from": 3.0, "shut_off_on_paper": 120.0, "shut_off_unknown": 120.0, "bypass_time": 180.0}


def thing(model: type[M], **parts: Any) -> M:
    """Something that was written, with just these keys: the others are as where nobody wrote them."""
    return model.model_construct(**parts)


def run(name: str = "lake side", **change: Any) -> RunPlan:
    """A hose run at 55 psi and 9.1 gpm that reaches 39 ft, at worst 32, unless told otherwise."""
    hoses = change.pop("hoses", 2)
    hose_names = change.pop("hose_names", [f"red {n + 1}" for n in range(hoses)])
    pump = change.pop("pump", thing(Pump, name="booster", kind="centrifugal"))
    feed = change.pop("feed", "tank")
    closed: float | None = change.pop("closed", 70 * PSI)
    uphill = change.pop("uphill", 6 * FT)
    opened, tip_pressure = change.pop("opened", 55 * PSI), change.pop("tip_pressure", 27 * PSI)
    nominal, low, needed = (change.pop(k, d) * FT for k, d in (("nominal", 39.0), ("low", 32.0), ("needed", 31.0)))
    falls = change.pop("falls", False)
    tip = change.pop("tip", thing(Tip, name="long throw", pattern="solid", orifice=0.25 * 0.0254))
    on_reel = change.pop("on_reel", 40 * FT)
    standoff, past = change.pop("standoff", 12 * FT), change.pop("past_eave", 0.0)
    dosing = change.pop("dosing", thing(Dosing, name="panel", kind="metered"))
    length = 100 * FT
    given = RunInput(
        name=name, pump=pump, feed=feed,
        feed_tank=thing(Tank, name="water", volume=275 * GAL) if feed == "tank" else None,
        feed_head=2 * FT, dosing=dosing, premix=False,
        hoses=tuple(HosePiece(name=n, bore=0.75 * 0.0254, length=length, roughness=1e-5, coil=0.45, rated=200 * PSI)
                    for n in hose_names),
        fittings=(Fitting(kind="coupling", count=3, k=2.0, k_times_ft=None, source="from memory"),), suction=(),
        suction_fittings=(), on_reel=on_reel, uphill=uphill, tip=tip, tip_height=4 * FT, standoff=standoff,
        past_eave=past, target=needed, same_time=(), surfaces=("lake wall",), share=1.0, where=HERE,
    )  # fmt: skip
    count = len(hose_names)
    joints = []
    if pump is not None:
        joints.append(Joint(name="pump in", kind="inlet", distance=0, height=2 * FT, open=-1 * PSI, closed=0.0))
    joints.append(
        Joint(name="gauge" if pump else "tap", kind="gauge", distance=0.0, height=0.6, open=opened, closed=closed)
    )
    for n in range(count):
        share = (n + 1) / count
        last = n == count - 1
        joints.append(
            Joint(
                name="tip" if last else f"{hose_names[n]} | {hose_names[n + 1]}", kind="tip" if last else "joint",
                distance=(n + 1) * length, height=uphill * share, open=opened + (tip_pressure - opened) * share,
                closed=None if closed is None else closed - 9800 * uphill * share,
            )
        )  # fmt: skip
    reach = None
    if not falls:
        peak = nominal - 4 * FT
        path = tuple((standoff * n / 20, 4 * FT + peak * math.sin(math.pi / 2 * n / 20)) for n in range(21))
        reach = Reach(nominal=nominal, low=low, high=nominal * 1.13, angle=1.2, path=path, wind=6 * MPH,
                      factor=0.85, records=0)  # fmt: skip
    flow = change.pop("flow", 9.1 * GPM)
    curve = tuple((n * GPM, opened + (9.1**2 - n**2) * 0.18 * PSI) for n in range(0, 17, 2))
    system = tuple((n * GPM, 10 * PSI + (opened - 10 * PSI) * (n / 9.1) ** 2) for n in range(14))
    solved = Basis(
        equation="operating_point",
        inputs=(
            ("pump", pump.name if pump else "tap alone"),
            ("hose", Value(amount=length * count, dimension="length")),
        ),
    )
    plan: dict[str, Any] = {
        "name": name, "input": given,
        "liquid": Liquid(density=1000, viscosity=1e-3, vapour_pressure=2339, strength=10, temperature=fahrenheit(61)),
        "flow": flow, "pump_flow": flow, "pump_head": 39.0, "pump_pressure": opened, "inlet_pressure": -PSI,
        "tip_pressure": tip_pressure, "tip_velocity": 19.0, "tip_z": uphill + 4 * FT, "pump_z": 2 * FT,
        "shut_off_pressure": closed, "rating": 125 * PSI, "weakest": "booster",
        "losses": (
            *(LossPart(part=n, pressure=12 * PSI, velocity=2.0, reynolds=38000.0) for n in hose_names),
            LossPart(part="fittings", pressure=1.2 * PSI, velocity=None, reynolds=None),
        ),
        "suction_loss": 1000.0, "joints": tuple(joints), "reach": reach, "needed": needed, "npsh_available": 9.8,
        "npsh_required": 2.44, "reaction": 11.0, "beyond_curve": False, "cycling": False, "bypassing": False,
        "injector_draws": None, "tap_pressure": None, "pump_curve": curve, "system_curve": system,
        "basis": {
            "flow": solved, "pump_pressure": solved,
            "tip_pressure": Basis(equation="tip_square_law", inputs=(("flow", Value(amount=flow, dimension="flow")),)),
            "losses": Basis(equation="hose_friction", inputs=(
                ("flow", Value(amount=flow, dimension="flow")),
                ("water", Value(amount=fahrenheit(61), dimension="temperature")),
                ("roughness", Value(amount=1e-5, dimension="roughness")))),
            "reach": Basis(equation="jet_height", inputs=(
                ("pressure at the tip", Value(amount=tip_pressure, dimension="pressure")),
                ("standoff", Value(amount=standoff, dimension="length")),
                ("wind for the low figure", Value(amount=6 * MPH, dimension="speed")))),
        },
    }  # fmt: skip
    plan.update(change)
    return RunPlan(**plan)


def finding(
    code: str, about: str = "lake side", level: str = "ok", case: str = "ok", *,
    accepted: tuple[str, str] | None = None, **values: Value | str,
) -> Finding:  # fmt: skip
    """A finding of a check that really exists, with the values its sentence asks for."""
    return Finding(code=code, about=about, level=level, case=case, values=values, where=HERE, accepted=accepted)  # type: ignore[arg-type]


def high(feet: float) -> Value:
    """A height in ft."""
    return Value(amount=feet * FT, dimension="height")


def short(about: str = "lake side", **change: Any) -> Finding:
    """The stop of a jet that stops 2 ft short."""
    values: dict[str, Any] = {"missing": high(2), "reach": high(29), "low": high(24), "needed": high(31)}
    return finding("reach.short", about, "stop", "short", **values, **change)


def low_only(about: str = "lake side", **change: Any) -> Finding:
    """The caution of a jet that reaches in still air only."""
    return finding("reach.short", about, "caution", "low_only", reach=high(39), low=high(30), needed=high(31), **change)


def quiet(count: int = 12) -> list[Finding]:
    """Checks that found nothing."""
    codes = ("reach.pattern", "line.rating", "pump.suction", "supply.pressure", "supply.backflow", "site.power_line")
    return [finding(codes[n % 6], f"run {n}", "ok" if n % 4 else "none") for n in range(count)]


def job(runs: list[RunPlan] | None = None, findings: list[Finding] | None = None, **change: Any) -> CheckedJob:
    """A checked job; the verdict follows from its findings."""
    runs = [run()] if runs is None else runs
    findings = quiet() if findings is None else findings
    title = change.pop("title", "Boathouse, lake side and gable")
    site = thing(
        Site,
        address=change.pop("address", "Old boathouse, north shore, Quillon Lake"),
        contact=change.pop("contact", "Caretaker 555-0142"),
        notes=change.pop("notes", "Gate on the left after the weir; keep off the grass."),
    )
    crew = change.pop("crew", ["Ana", "Bo"])
    date = change.pop("date", datetime.date(2026, 6, 9))
    forecast = thing(
        Forecast,
        low=fahrenheit(61),
        high=fahrenheit(74),
        wind=6 * MPH,
        gust=9 * MPH,
        rain=Rain(chance=0.3, start=15 * 3600.0),
        sun="part",
    )
    water = change.pop("water", None) or WaterInput(
        source="tap", static=58 * PSI, residual=31 * PSI, test_flow=6 * GPM, tested=True, temperature=fahrenheit(61),
        level=None, backflow="air_gap", chlorine=None, assumed=(), where=HERE,
    )  # fmt: skip
    day = thing(Day, crew=Crew(count=len(crew), names=tuple(crew)), leave_yard=7 * 3600.0, forecast=forecast)
    phones = change.pop("phones", {"poison": "555-0111", "spill": "555-0122"})
    given = JobInput(
        id="2026-06-09/10-boathouse", title=title, kind="wash", job=thing(Job, site=site, surfaces=()),
        rig=thing(Rig, rig=change.pop("rig", "Heron"), tanks=(), tips=()),
        company=thing(Company, name="Quillon Wash", phones=phones), lots=(),
        day=day if date else None,
        tables=MappingProxyType({"minutes": {"walk_pace": 0.254, "power": 5.0}}), date=date, place_in_day=(1, 3) if date else None, runs=tuple(r.input for r in runs), surfaces=(), water=water,
        accept=(), limits=LIMITS, where=HERE,
    )  # fmt: skip
    plan = JobPlan(
        id=given.id, title=title, kind="wash", input=given, runs=tuple(runs), shelf=(), mixes=(), work=(),
        water=WaterPlan(pre_wet=0.0, mix=0.0, rinse=0.0, clean=0.0, flush=0.0, beds=0.0, seconds={}), beds=None,
        flushes=(), neutralisers=(), differs=(), notes=change.pop("notes_made", ()), hash="7c41-e9b2", where=HERE,
    )  # fmt: skip
    open_ = {f.level for f in findings if f.accepted is None}
    verdict = "stop" if "stop" in open_ else "caution" if "caution" in open_ else "ok"
    assert not change, change
    return CheckedJob(plan=plan, findings=tuple(findings), verdict=verdict)  # type: ignore[arg-type]


WASH = """
job:
  job: House on Weir Lane
  building: {height: 24 ft}
  surfaces:
    - {name: front, kind: vinyl, width: 40 ft, height: 18 ft, soil: light}
    - {name: back, kind: vinyl, width: 60 ft, height: 18 ft, trim: [aluminium]}
  hose_runs: {0: {dosing: panel, target: 24 ft}}
  chemicals: [{stock: drum, strength: 0.8 %}]
  near: {flower_beds: 300 ft2, fish_pond: 40 ft, storm_drain: 60 ft, downspouts: 3, cars: 20 ft, open_windows: true}
day: {crew: [Ana, Bo], leave_yard: "07:00", drive: {10-case: 0 min}, forecast: {wind: 4 mph, gust: 9 mph, low: 58 F, high: 76 F}}
stock:
  lots:
    - {name: drum, chemical: bleach, strength: 12.5 trade %, made: 2026-06-01, kept_at: cool,
       tested: {strength: 10 trade %, on: 2026-06-09}, on_hand: 60 gal}
    - {name: acid, chemical: muriatic, strength: 31.45 wt %, on_hand: 5 gal}
    - {name: crystals, chemical: oxalic, on_hand: 20 lb}
    - {name: suds, chemical: soap, on_hand: 4 gal, bleach_stable: true}
"""
"""A plain house wash over tests/workspaces.py's own: one run, one mix on a panel."""

ROOF = """
job:
  job: Roof on Weir Lane
  surfaces: [{name: south slope, kind: asphalt_shingle, squares: 24, soil: heavy}]
  hose_runs:
    - {name: ridge, pump: transfer, feed: mix, dosing: premix, hoses: [red], tip: long throw, target: 9 ft,
       standoff: 10 ft}
  chemicals: [{stock: drum, strength: 3.5 %}, {stock: suds, dose: 1 fl oz/gal}]
day: {heels: {mix: {stock: bleach, strength: 3 trade %, volume: 2 gal}}}
"""
"""Three batches in a tank with a heel, soap last."""

INJECTED = """
job: {hose_runs: {0: {dosing: venturi, hoses: [red]}}, chemicals: [{stock: drum, strength: 0.5 %}, {stock: suds, dose: 0.5 fl oz/gal}]}
"""

ACID = """
job:
  surfaces: [{name: brick, kind: brick_acid, area: 300 ft2, soil: heavy}]
  hose_runs:
    - {name: wall, pump: transfer, feed: mix, dosing: premix, hoses: [red], tip: fan, target: 9 ft}
  chemicals: [{stock: acid, strength: "1:10"}]
  near: {flower_beds: 100 ft2, storm_drain: 60 ft, control: [berm, pumped_to: lawn]}
"""


def _without_nulls(part: Any) -> Any:
    """`null` as nothing, which takes a key away."""
    if isinstance(part, dict):
        return {key: _without_nulls(value) for key, value in part.items()}
    return None if part == "null" else part


@cache
def written(*changes: str) -> CheckedJob:
    """A job as YAML says it: the workspace of tests/workspaces.py, the house wash, then each change over it."""
    files = base()
    for text in (WASH, *changes):
        files = merged(files, _without_nulls(as_written(text)))
    with tempfile.TemporaryDirectory() as folder:
        return checked(Path(folder), files, tables=True)
