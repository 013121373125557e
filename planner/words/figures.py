"""Figures of a run rounded to the safe side: reach down, what is needed up."""

from __future__ import annotations

from collections.abc import Sequence

from planner.frozen import dataclass
from planner.inputs.joined import RunInput
from planner.inputs.tables.defaults import default
from planner.plan.between.flushing import flush_flow
from planner.plan.model import JobPlan, Joint, RunPlan
from planner.plan.procedure.acts import Spray
from planner.plan.yard.model import BathPlan
from planner.units import System, show, show_number
from planner.words.measures import drawn, in_unit, timed
from planner.words.spoken import spoken_name

LOWEST_TARGET = 3.0  # m; below it anybody reaches, and the reach checks do not apply
BUCKET = 5 * 3.785411784e-3  # m3: five US gallons
BUCKET_SI = 0.020  # m3: the usual 20 L bucket


def bench_bucket(volume: float | None, system: System) -> tuple[float, str]:
    """The bucket a test in the yard is told by [m3], and its name: the test's own `volume` where that is round."""
    if system == "us":
        part = next((n for n in (2, 4) if volume is not None and abs(BUCKET / n - volume) < 1e-6), 1)
        return BUCKET / part, f"{5 / part:g} gal"
    round_ = volume is not None and abs(1e3 * volume - round(1e3 * volume)) < 1e-6
    return (volume, f"{1e3 * volume:.0f} L") if volume is not None and round_ else (BUCKET_SI, "20 L")


def bath_name(bath: BathPlan) -> str:
    """The bath in a word or two, as strong as it was written: `15 vol % muriatic`, `1:10 muriatic`."""
    strong = f"1:{100.0 / bath.amount - 1.0:g}" if bath.ratio else in_unit(bath.amount, bath.basis)
    return f"{strong} {spoken_name(bath.chemical)}"


def unit(dimension: str, system: System) -> str:
    """The unit a dimension is printed in."""
    return show_number(1.0, dimension, system)[1]


def gauge_of(run: RunPlan) -> Joint | None:
    """The place on the run where its gauge sits."""
    return next((joint for joint in run.joints if joint.kind == "gauge"), None)


def source_of(run: RunPlan) -> str:
    """What gives a run its pressure: the pump, the tap, or the tank its water falls out of."""
    return "pump" if run.input.pump is not None else "tank" if run.input.falls else "tap"


def reaches(run: RunPlan) -> bool:
    """True where height is asked of the run's jet."""
    return run.needed is not None and run.needed > LOWEST_TARGET


def timed_bucket(plan: JobPlan, run: RunPlan, system: System) -> float:
    """The bucket a run's flow is told by [m3]: the one the crew times it with, where they do."""
    for act in plan.procedure.acts if plan.procedure is not None else ():
        spray, read = act.detail, act.expect
        if isinstance(spray, Spray) and spray.run == run.name and read is not None and read.what == "bucket":
            return spray.volume
    return BUCKET if system == "us" else BUCKET_SI


def bucket_seconds(plan: JobPlan, run: RunPlan, system: System) -> tuple[str, str]:
    """A run's flow of plain water as a bucket and a watch, nothing where none flows: (`5 gal`, `33`)."""
    size, flow = timed_bucket(plan, run, system), flush_flow(run)
    return (drawn(size, system), timed(size / flow)) if flow > 0.0 else ("", "")


def bucket_name(system: System, size: float | None = None) -> str:
    """What a bucket of a `size` [m3] is called, the usual one where it has none: `5 gal`, `10 L`."""
    return drawn(size or (BUCKET if system == "us" else BUCKET_SI), system)


def bucket(flow: float, system: System, size: float | None = None) -> str:
    """A flow as a bucket of a `size` [m3], or the usual one, and a watch: `5 gal in 33 s`."""
    held = size or (BUCKET if system == "us" else BUCKET_SI)
    return f"{bucket_name(system, held)} in {timed(held / flow)} s" if flow > 0.0 else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """A run's height as it is printed: what is needed, what the jet gives, and what that leaves or lacks."""

    needed: tuple[str, str]
    nominal: str
    low: str
    hand: str
    hand_low: str
    short: bool


def reached(run: RunPlan, system: System) -> Reached | None:
    """The height figures of a run; None where no height is asked of it."""
    if not reaches(run) or run.needed is None:
        return None
    needed = show_number(run.needed, "length", system, toward="up")
    if run.reach is None:
        return Reached(needed=needed, nominal="none", low="none", hand="no reach", hand_low="no reach", short=True)
    return Reached(
        needed=needed,
        nominal=show(run.reach.nominal, "length", system, toward="down"),
        low=show(run.reach.low, "length", system, toward="down"),
        hand=_hand(run.reach.nominal, run.needed, system),
        hand_low=_hand(run.reach.low, run.needed, system),
        short=run.reach.nominal < run.needed,
    )


def _hand(reach: float, needed: float, system: System) -> str:
    """What the printed figures leave in hand, so a reader who subtracts gets the same."""
    given, unit_given = show_number(reach, "length", system, toward="down")
    asked, _ = show_number(needed, "length", system, toward="up")
    try:
        left = round(float(given.replace(",", "")) - float(asked.replace(",", "")), 3)
    except ValueError:
        left = round(reach - needed, 3)
        given = show(abs(left), "length", system, toward="down" if left >= 0 else "up")
        return f"{given} to spare" if left >= 0 else f"{given} short"
    if left > 0:
        return f"{left:g} {unit_given} to spare"
    if reach >= needed:
        return "just enough"
    return f"{-left:g} {unit_given} short" if left < 0 else "just short"


def close_call(run: RunPlan) -> bool:
    """True where the jet may not get there, has little in hand at worst, or goes over an eave: the crew sees it."""
    if not reaches(run) or run.needed is None:
        return False
    return run.reach is None or run.input.past_eave > 0.0 or run.reach.low < run.needed * (1.0 + default("close_call"))


def tightest(runs: tuple[RunPlan, ...]) -> RunPlan | None:
    """The run whose jet has least in hand at worst; None where height is asked of no run."""
    asked = [run for run in runs if reaches(run)]

    def left(run: RunPlan) -> float:
        return (run.reach.low if run.reach is not None else -1e9) - (run.needed or 0.0)

    return min(asked, key=left) if asked else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A line laid out: how much of its hose goes to the wall and how much stays on the reel [m]."""

    name: str
    laid: float
    on_reel: float


def lines_laid(runs: Sequence[RunInput]) -> list[Laid]:
    """The lines of runs whose hoses are laid out at once: runs that have a hose in common are one, laid out as far as
    the one that leaves least on the reel asks."""
    lines: list[list[RunInput]] = []
    for run in runs:
        met = [line for line in lines if _hoses([run]).keys() & _hoses(line).keys()]
        lines = [line for line in lines if line not in met] + [[one for line in met for one in line] + [run]]
    found = []
    for line in lines:
        left = min(run.on_reel for run in line)
        name = ", ".join(dict.fromkeys(run.name for run in line))
        found.append(Laid(name=name, laid=max(sum(_hoses(line).values()) - left, 0.0), on_reel=left))
    return found


def _hoses(line: Sequence[RunInput]) -> dict[tuple[str, ...], float]:
    """Lengths of the hoses of runs [m] by what tells each from any other: one without a name is its run's own."""
    return {
        (hose.name,) if hose.named else (run.name, f"{n}"): hose.length
        for run in line
        for n, hose in enumerate(run.hoses)
    }
