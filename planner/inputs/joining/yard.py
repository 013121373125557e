"""The line a pump is tested on in the yard: a setup of the rig, laid out on level ground."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from planner.inputs.joined import RunInput
from planner.inputs.joining.runs import Places, runs_of
from planner.inputs.models import Job, Rig, Setup, Site, YardJob
from planner.inputs.models.base import Slip, listed
from planner.inputs.tables.defaults import default

_OF_A_WALL = (": standoff", ": target")
"""What a line needs only where there is a wall."""


def yard_run_of(job: YardJob, rig: Rig, where: Places) -> tuple[RunInput | None, list[Slip], list[str]]:
    """The line, the slips in its choice, and what was assumed of it; None where no setup sprays with this pump.

    The setup that is written, else the rig's first with this pump and a solid tip, whose throw can be paced out, else
    its first with this pump. A pond is not in the yard.
    """
    setup, slips = _chosen(job, rig)
    if setup is None:
        return None, slips, []
    asked = Job.model_construct(job=job.job, kind="yard", site=Site(address="the yard"), surfaces=(), setup=setup.name)
    runs, more, assumed = runs_of(asked, rig, (), default("tip_height"), where)
    if more or not runs:
        # A setup that no job could spray with is told of where a job asks for it.
        return None, [], []
    line = replace(runs[0], uphill=0.0, past_eave=0.0, rinse_tip=None, cleaner=None, role_hoses=MappingProxyType({}))
    return line, [], [one for one in assumed if not one.endswith(_OF_A_WALL)]


def _chosen(job: YardJob, rig: Rig) -> tuple[Setup | None, list[Slip]]:
    able = [setup for setup in rig.setups if setup.pump == job.pump and setup.feed != "pond"]
    if job.setup is None:
        solid = {tip.name for tip in rig.tips if tip.pattern == "solid"}
        throws = [setup for setup in able if setup.tip in solid]
        return next(iter(throws or able), None), []
    found = next((setup for setup in able if setup.name == job.setup), None)
    if found is not None:
        return found, []
    names = [setup.name for setup in able]
    slip = Slip(
        code="yard.setup",
        message=f"`{job.setup}` does not spray with `{job.pump}` in the yard",
        remedy=f"write one that does: {listed(names)}" if names else "take `setup` out: no setup of the rig does",
        at=("setup",),
    )
    return None, [slip]
