"""How high the run's jet gets at the wall, with its band."""

from __future__ import annotations

from planner.inputs.joined import JobInput, RunInput
from planner.inputs.models import LearnedJet
from planner.physics import jets
from planner.plan.line.apparatus import tip_orifice
from planner.plan.model import Reach
from planner.plan.sky.weather import of_run


def forecast_wind(job: JobInput, run: RunInput) -> float:
    """The most sustained wind [m/s] of a run's hours; 0 where none is forecast."""
    return of_run(job, run.name).wind or 0.0


def low_factor(job: JobInput, run: RunInput) -> float:
    """The low end of the jet's band, as a share of the model's height over the tip [-].

    What records say of the jets of this very tip, higher or lower than it is taken for a tip of which they say nothing;
    the company's own limit goes before them. A run without a pump was never learned of: its pressure is the street's.
    """
    known = _known(job, run)
    return job.limits["reach_low_factor"] if known is None else known.low


def model_low(job: JobInput, run: RunInput) -> float:
    """The low end of the jet model's own band [-], by which a throw is judged: as `low_factor`, and never wider than
    the model is known to be where no record tells.
    """
    low = low_factor(job, run)
    return low if _known(job, run) is not None else max(low, 1.0 - job.limits["reach_band"])


def _known(job: JobInput, run: RunInput) -> LearnedJet | None:
    return job.jets.get(run.tip.name) if run.pump is not None else None


def still_reach(run: RunInput, tip_head: float) -> float | None:
    """Nominal reach [m] alone, in still air, without the band or the path; None as for `reach_of`."""
    thrown = _still(run, tip_head)
    return None if thrown is None else run.tip_height + thrown.height


def _still(run: RunInput, tip_head: float) -> jets.Thrown | None:
    if run.tip.pattern != "solid" or tip_head <= 0.0:
        return None
    still = jets.highest_at(tip_head, tip_orifice(run), run.standoff, beyond=run.past_eave, obstacle=_obstacle(run))
    return still if still is not None and still.height + run.tip_height >= 0.0 else None


def _obstacle(run: RunInput) -> float | None:
    """What the jet must pass over at the wall line [m above the tip] on roof work."""
    return run.target - run.tip_height if run.past_eave > 0.0 else None


def reach_of(job: JobInput, run: RunInput, tip_head: float) -> Reach | None:
    """Reach of the run's jet; None for a fan tip, a tip that cannot flow, or a jet that falls short of the wall."""
    still = _still(run, tip_head)
    if still is None:
        return None
    orifice = tip_orifice(run)
    wind = forecast_wind(job, run)
    factor, known = low_factor(job, run), _known(job, run)
    blown = jets.highest_at(tip_head, orifice, run.standoff, wind=wind, beyond=run.past_eave, obstacle=_obstacle(run))
    low = run.tip_height + factor * blown.height if blown is not None else 0.0
    nominal = run.tip_height + still.height
    place = run.standoff + run.past_eave
    return Reach(
        nominal=nominal,
        low=min(low, nominal),
        # Low jets in the records are no reason to hope for higher ones.
        high=run.tip_height
        + (1.0 + min(1.0 - max(factor, job.limits["reach_low_factor"]), job.limits["reach_band"])) * still.height,
        angle=still.angle,
        path=tuple(
            (along, run.tip_height + height)
            for along, height in jets.path(tip_head, orifice, still.angle, until=place, floor=-run.tip_height)
        ),
        wind=wind,
        factor=factor,
        records=known.records if known is not None else 0,
    )
