"""The site and what was written of it: power lines, idle walls, unusual figures, jobs that are pending."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.mix import mix_finding
from planner.checks.model import Finding, Level, check, over, under
from planner.inputs.reading.addresses import near_place, same_place
from planner.inputs.tables.chemicals import ACIDS, BLEACH
from planner.plan.between.matrix import meets
from planner.plan.between.meetings import parts_held
from planner.plan.days.pending import Pending
from planner.plan.mix.model import MixPlan
from planner.plan.model import JobPlan, Value
from planner.plan.sky.weather import forecast_of, hours_of
from planner.plan.water.plain_water import waters_through


@check("site.power_line")
def site_power_line(plan: JobPlan) -> Iterator[Finding]:
    """The closest any wall, ladder, wand or jet of this job comes to a power line."""
    access = plan.input.job.access
    distance = access.power_line if access is not None else None
    level: Level = "none"
    values: dict[str, Value | str] = {}
    if distance is not None:
        stop, caution = plan.input.limits["power_line_stop"], plan.input.limits["power_line_caution"]
        level = "stop" if under(distance, stop) else "caution" if under(distance, caution) else "ok"
        values = {
            "distance": Value(distance, "length"),
            "stop": Value(stop, "length"),
            "caution": Value(caution, "length"),
        }
    yield Finding(
        code="site.power_line",
        about="site",
        level=level,
        case=level,
        values=values,
        where=plan.input.places.get("access.power_line", plan.where),
    )


# ------------------------------------------------------------ walls
# Walls of a job that nothing is done to, and mix left on one for a rain that does not come.


@check("wall.idle")
def wall_idle(plan: JobPlan) -> Iterator[Finding]:
    """Walls that no run wets, sprays, cleans or rinses."""
    done = {work.surface.name for work in plan.work}
    idle = [surface for surface in plan.input.surfaces if surface.name not in done]
    if plan.kind != "wash":
        yield Finding(code="wall.idle", about="walls", level="none", case="none", values={}, where=plan.where)
    elif not done:
        yield Finding(code="wall.idle", about="job", level="stop", case="nothing", values={}, where=plan.where)
    elif not idle:
        yield Finding(code="wall.idle", about="walls", level="ok", case="ok", values={}, where=plan.where)
    else:
        for surface in idle:
            case = "left" if surface.rinse == "leave" else "idle"
            values: dict[str, Value | str] = {"surface": surface.name}
            yield Finding(
                code="wall.idle", about=surface.name, level="caution", case=case, values=values, where=surface.where
            )


@check("weather.rinse")
def weather_rinse(plan: JobPlan) -> Iterator[Finding]:
    """Walls whose mix is left to the rain, and whether any is forecast."""
    left = [work.surface for work in plan.work if work.apply > 0.0 and work.surface.rinse == "leave"]
    walls = list({surface.name: surface for surface in left}.values())
    if not walls:
        yield Finding(code="weather.rinse", about="walls", level="none", case="none", values={}, where=plan.where)
    limit = plan.input.limits["rain_chance"]
    for surface in walls:
        values: dict[str, Value | str] = {"surface": surface.name, "limit": Value(limit, "fraction")}
        case = "unknown"
        chance = _rain_after(plan, surface.name)
        if chance is not None:
            values["chance"] = Value(chance, "fraction")
            case = "ok" if over(chance, limit) else "unlikely" if chance > 0.0 else "dry"
        yield Finding(
            code="weather.rinse", about=surface.name, level="ok" if case == "ok" else "caution", case=case,
            values=values, where=surface.where,
        )  # fmt: skip


def _rain_after(plan: JobPlan, wall: str) -> float | None:
    """The chance of rain once a wall's mix is on, by the rows of its last hour and later, else the day's; None where
    nobody wrote it. A start without a chance is rain that is expected."""
    forecast, on = forecast_of(plan.input.day), hours_of(plan.input, [wall])
    if forecast is None:
        return None
    later = [row.rain for row in forecast.hours if on and row.hour >= max(on) * 3600.0 and row.rain is not None]
    rain = forecast.rain
    return max(later) if later else None if rain is None else 1.0 if rain.chance is None else rain.chance


# ------------------------------------------------------------ unusual
# Whether every figure is one of those people usually write: a slip of a point or a unit may look like another job.


@check("value.unusual")
def value_unusual(plan: JobPlan) -> Iterator[Finding]:
    """Figures of the job and of all its files outside of what is usual, by data/bounds.yaml."""
    for unusual in plan.input.unusual:
        values = {
            "key": unusual.key,
            "of": unusual.of,
            "text": unusual.text,
            "least": unusual.least,
            "most": unusual.most,
        }
        if unusual.meant is not None:
            values["meant"] = unusual.meant
        case = "unusual" if unusual.meant is None else "slip"
        yield Finding(
            code="value.unusual", about=unusual.path, level="caution", case=case, values=values, where=unusual.where
        )
    if not plan.input.unusual:
        where = plan.input.where
        yield Finding(code="value.unusual", about="figures", level="ok", case="ok", values={}, where=where)


# ------------------------------------------------------------ pending
# What comes first and is not counted as done: what it would bring that this job's mix may not meet.


_STATES = {("held", True): "is held", ("held", False): "was held"}
_UNPLANNED = "could not be worked out"


def pending_findings(plan: JobPlan) -> Iterator[Finding]:
    """A job that is not counted as done may be done all the same: a caution. What could not be read may be anything."""
    unread = [waiting.called for waiting in plan.found.pending if waiting.why == "unread"]
    if unread:
        yield Finding(
            code="mix.reaction", about="day", level="caution", case="unread", values={"place": ", ".join(unread)},
            where=plan.where,
        )  # fmt: skip
    for pending in plan.found.pending:
        told: set[tuple[str, str]] = set()
        for mix in plan.mixes:
            for chemical in pending.chemicals:
                if (chemical, mix.chemical) in told or not meets(chemical, mix.chemical).stops:
                    continue
                finding = _met(plan, pending, chemical, mix)
                if finding is not None:
                    told.add((chemical, mix.chemical))
                    yield finding


def _met(plan: JobPlan, one: Pending, chemical: str, mix: MixPlan) -> Finding | None:
    here = plan.input.job.site.address
    parts = {*parts_held(mix), *(part for run in plan.input.runs for part in waters_through(run, plan.mixes))}
    shared = [part for of, part in one.gear if of == chemical and part in parts]
    site = same_place(one.address) == same_place(here)
    near = near_place(one.address, here, plan.input.limits["neighbor_numbers"])
    if not site and not shared and not near:
        return None
    pump = mix.run.pump
    through_pump = pump is not None and pump.name in shared and chemical == BLEACH and mix.chemical in ACIDS
    where = "site" if site else "gear" if shared else "near"
    # Which of two rigs comes first on a site, nobody knows.
    beside = one.why == "beside"
    return mix_finding(
        "mix.reaction",
        mix,
        "stop" if beside and site else "caution",
        f"beside_{where}" if beside else f"held_{where}",
        there=one.address,
        place=one.called,
        other=chemical.replace("_", " "),
        gives=meets(chemical, mix.chemical).gives,
        part=pump.name if pump is not None and through_pump else shared[0] if shared else "",
        state=_STATES.get((one.why, one.day is None), _UNPLANNED),
    )
