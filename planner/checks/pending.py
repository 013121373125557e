"""What comes first and is not counted as done: what it would bring that this job's mix may not meet."""

from __future__ import annotations

from collections.abc import Iterator

from planner.checks.mix import mix_finding
from planner.checks.model import Finding
from planner.chemistry.reactions import ACIDS
from planner.inputs.addresses import near_place, same_place
from planner.plan.matrix import meets
from planner.plan.meetings import parts_held
from planner.plan.mix_model import MixPlan
from planner.plan.model import JobPlan
from planner.plan.pending import Pending
from planner.plan.plain_water import waters_through

_STATES = {("held", True): "is held", ("held", False): "was held"}
_UNPLANNED = "could not be worked out"


def pending_findings(plan: JobPlan) -> Iterator[Finding]:
    """A job that is not counted as done may be done all the same: a caution. What could not be read may be anything."""
    unread = [one.called for one in plan.found.pending if one.why == "unread"]
    if unread:
        yield Finding(
            code="mix.reaction", about="day", level="caution", case="unread", values={"place": ", ".join(unread)},
            where=plan.where,
        )  # fmt: skip
    for one in plan.found.pending:
        told: set[tuple[str, str]] = set()
        for mix in plan.mixes:
            for chemical in one.chemicals:
                if (chemical, mix.chemical) in told or not meets(chemical, mix.chemical).stops:
                    continue
                finding = _met(plan, one, chemical, mix)
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
    through_pump = pump is not None and pump.name in shared and chemical == "hypochlorite" and mix.chemical in ACIDS
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
