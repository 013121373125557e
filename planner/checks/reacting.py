"""What may never meet, however it could: in a mix, a tank, a line, a pump, on a wall, in the runoff, in a bucket."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Final

from planner.checks import bath_end, bench
from planner.checks.bench_held import quiet_case
from planner.checks.gas_values import gas_values
from planner.checks.mix import mix_finding, strength_of, tank_of
from planner.checks.model import Finding, Level
from planner.checks.pending import pending_findings
from planner.checks.registry import check, over, under
from planner.chemistry.groups import Answer
from planner.chemistry.reactions import ACIDS
from planner.inputs.chemicals import chemical_named
from planner.plan.matrix import meets
from planner.plan.meeting_model import Cleared, Meeting
from planner.plan.meetings import flushed_between, meetings
from planner.plan.mixing import SOAP
from planner.plan.model import JobPlan, Value
from planner.plan.plain_water import foul_feeds, kept_for
from planner.plan.sites import around_job
from planner.plan.yard_held import by_setup

_CLOSED = frozenset({"heel", "feed", "line", "part", "rinse", "rinse_kept"})
"""Where even a thin neutralising is shut in: tanks and lines."""


@check("mix.reaction")
def mix_reaction(plan: JobPlan) -> Iterator[Finding]:
    """Any two things of this job, or of what was there before it, that must not meet."""
    around = around_job(plan.input, plan.found, plan.mixes, plan.shelf)
    cleared = flushed_between(plan.found, plan.changes)
    found = [finding for one in meetings(around, cleared) if (finding := _told(plan, one)) is not None]
    found += [
        *_on_one_wall(plan),
        *_dedicated(plan),
        *_by_setup(plan),
        *_soaps(plan),
        *_neutralisers(plan),
        *bench.reaction(plan),
    ]
    found += [*_foul_feeds(plan, cleared), *bath_end.heat(plan), *pending_findings(plan)]
    yield from found
    if not any(finding.level in ("stop", "caution") for finding in found):
        level: Level = "ok" if plan.mixes or bench.acids_of(plan) else "none"
        values: dict[str, Value | str] = {"pump": plan.yard.pump.name} if plan.yard is not None else {}
        case = quiet_case(plan) or level
        yield Finding(code="mix.reaction", about="job", level=level, case=case, values=values, where=plan.where)


def _told(plan: JobPlan, meeting: Meeting) -> Finding | None:
    """The finding of one meeting; None where nothing needs saying."""
    level, case = _level(plan, meeting)
    if not case:
        return None
    mix, other = meeting.mix, meeting.other
    before = meeting.before
    values: dict[str, Value | str] = {
        "chemical": (meeting.first if other is not None else meeting.second).replace("_", " "),
        "other": (meeting.second if other is not None else meeting.first).replace("_", " "),
        "gives": meeting.answer.gives,
        "place": meeting.place,
        "surface": ", ".join(meeting.surfaces),
        "run": other.run.name if other is not None else mix.run.name if mix is not None else meeting.run,
        "other_run": mix.run.name if mix is not None else meeting.run,
        "water_run": meeting.run,
        "tank": tank_of(mix) if mix is not None else "",
        "there": meeting.address,
        "pump": meeting.place,
        "on": on.isoformat() if before is not None and (on := before.day or plan.input.date) is not None else "",
        "strip": Value(before.strip, "number") if before is not None and before.strip is not None else "",
        "strip_low": Value(plan.input.limits["strip_low"], "number"),
        "strip_high": Value(plan.input.limits["strip_high"], "number"),
        **gas_values(meeting.gas),
    }
    about = mix.name if mix is not None else meeting.run
    if other is not None:
        about = f"{meeting.first} and {meeting.second}"
    where = mix.where if mix is not None else plan.where
    return Finding(code="mix.reaction", about=about, level=level, case=case, values=values, where=where)


def _level(plan: JobPlan, meeting: Meeting) -> tuple[Level, str]:
    """How bad a meeting is and in which words it is told; no words where nothing comes of it."""
    if meeting.answer.outcome == "thin" and meeting.kind in _CLOSED and not meeting.cleared:
        return "caution", "thin"
    if not meeting.answer.stops:
        return "ok", ""
    if meeting.kind in ("wall_before", "site_before"):
        return _before(plan, meeting)
    if meeting.kind == "site_today" and may_follow(meeting.answer) and _rinsed_off(plan, meeting):
        return "ok", ""
    if meeting.kind == "site_near":
        return "caution", "site_near"
    if meeting.cleared:
        # The flush itself, and whether it was ticked, is the matter of flush.needed.
        return "ok", "cleared"
    return "stop", {"pump": "bleach_pump"}.get(meeting.kind, meeting.kind)


def _rinsed_off(plan: JobPlan, meeting: Meeting) -> bool:
    """Whether a strip is written for every wall of the mix that had the other today; how it reads is told for each."""
    around = around_job(plan.input, plan.found, plan.mixes, plan.shelf)
    read = {one.surface for one in around.walls if one.chemical == meeting.first and one.strip is not None}
    return meeting.mix is not None and set(meeting.mix.surfaces) <= read


def _before(plan: JobPlan, meeting: Meeting) -> tuple[Level, str]:
    """A porous wall that had the other chemistry: not on one day, and not before a strip says its pores are neutral."""
    wall = meeting.before
    if wall is None:
        return "caution", "site_before"
    if wall.day is None or (plan.input.date is not None and wall.day >= plan.input.date):
        if not may_follow(meeting.answer):
            return "stop", "wall_today"
        if wall.strip is None:
            return "stop", "wall_strip"
    elif not wall.porous:
        return "ok", ""
    if wall.strip is None:
        # The next day and a strip, else not: washing out does not reach into pores (common practice, no source).
        return "stop", "wall_before"
    low, high = plan.input.limits["strip_low"], plan.input.limits["strip_high"]
    if under(wall.strip, low) or over(wall.strip, high):
        return "stop", "strip_bad"
    return "ok", "strip_ok"


_MILD: Final = frozenset({"H", "G"})
"""What two chemicals may give where one follows the other on a wall after a rinse: heat, and gas that harms nobody."""


def may_follow(answer: Answer) -> bool:
    """Whether the second may come on a wall the same day once a rinse has taken the first off it.

    What a rinse leaves behind then only warms or foams. Where gas that poisons or burns comes of it, or nobody knows
    what, never.
    """
    return answer.outcome != "unknown" and set(answer.codes) <= _MILD


def _on_one_wall(plan: JobPlan) -> Iterator[Finding]:
    """Two chemicals written for one wall: the first is planned, so the job is held until they are two jobs."""
    uses = [use for use in plan.input.chemicals if use.chemical != SOAP]
    everywhere = {one.stock for one in plan.input.job.chemicals or () if one.surfaces is None}
    for first, second in combinations(uses, 2):
        walls = [name for name in first.surfaces if name in second.surfaces]
        if first.chemical == second.chemical or not walls:
            continue
        both = meets(first.chemical, second.chemical)
        wide = [use.chemical.replace("_", " ") for use in (first, second) if use.stock in everywhere]
        yield Finding(
            code="mix.reaction",
            about=f"{first.chemical} and {second.chemical}, {walls[0]}",
            level="stop",
            case="steps" if may_follow(both) else "wall",
            values={
                "chemical": first.chemical.replace("_", " "),
                "other": second.chemical.replace("_", " "),
                "gives": both.gives,
                "surface": ", ".join(walls),
                **({"wide": wide[-1]} if wide and len(plan.input.surfaces) > 1 else {}),
            },
            where=second.where,
        )


def _foul_feeds(plan: JobPlan, cleared: Cleared) -> Iterator[Finding]:
    """Runs whose plain water comes out of a tank that does not surely hold any."""
    for one in foul_feeds(plan.input, plan.found, cleared):
        values: dict[str, Value | str] = {"run": one.run.name, "place": one.tank, "other": one.held.replace("_", " ")}
        yield Finding(
            code="mix.reaction", about=one.run.name, level="stop", case=f"feed_{one.why}", values=values,
            where=one.run.where,
        )  # fmt: skip


def _dedicated(plan: JobPlan) -> Iterator[Finding]:
    """Tanks and pumps kept for one chemical, however the run, its setup or its dosing uses them."""
    for mix in plan.mixes:
        tank, pump = mix.run.feed_tank, mix.run.pump
        held = "water" if tank is not None and tank.holds == "water" else ""
        held = held or (kept_for(plan.input, tank) if tank is not None else "")
        if tank is not None and mix.kind == "premix" and held not in ("", mix.chemical):
            yield mix_finding("mix.reaction", mix, "stop", "kept_tank", place=tank.name, other=held)
        if pump is None or not pump.dedicated:
            continue
        kept = chemical_named(pump.dedicated)
        only = kept.name if kept is not None else pump.dedicated
        if only != mix.chemical:
            yield mix_finding("mix.reaction", mix, "stop", "dedicated", pump=pump.name, other=only)


def _by_setup(plan: JobPlan) -> Iterator[Finding]:
    """Acid through a pump that the rig has a setup with bleach for, though no day looked back upon sends any."""
    for mix in plan.mixes:
        pump = mix.run.pump
        if mix.chemical not in ACIDS or pump is None or mix.kind == "injector" or pump.dedicated:
            continue
        if pump.name in plan.found.bleach_pumps or plan.found.parts.get(pump.name) == "hypochlorite":
            continue
        sent = {chemical for chemical, _ in by_setup(plan.input, pump.name, plan.found, plan.shelf)}
        if "hypochlorite" in sent:
            yield mix_finding("mix.reaction", mix, "caution", "bleach_setup", pump=pump.name)


def _soaps(plan: JobPlan) -> Iterator[Finding]:
    """Soap in bleach that nobody, or worse somebody, said anything about."""
    for mix in plan.mixes:
        if mix.soap_share <= 0.0 or meets(mix.chemical, SOAP).outcome != "declared":
            continue
        for use in plan.input.chemicals:
            if use.chemical != SOAP or not set(use.surfaces) & set(mix.surfaces):
                continue
            stable = [lot.bleach_stable for lot in use.lots] or [None]
            if all(stable):
                continue
            level: Level = "stop" if False in stable else "caution"
            case = "soap" if level == "stop" else "soap_unknown"
            yield mix_finding("mix.reaction", mix, level, case, soap=use.stock)


def _neutralisers(plan: JobPlan) -> Iterator[Finding]:
    """What is left over may be neutralised thin; poured on anything stronger the heat throws it out of the bucket."""
    limit = plan.input.limits["neutralise_strength"]
    for one in plan.neutralisers:
        mix = next((mix for mix in plan.mixes if one.purpose.endswith(f"of {mix.name}")), None)
        if mix is None or mix.chemical != "hypochlorite" or not over(one.strength, limit):
            continue
        thinned = one.thin_to is not None and not over(one.volume * one.strength / one.thin_to, limit)
        values: dict[str, Value | str] = {
            "agent": one.agent.replace("_", " "),
            "purpose": one.purpose,
            "strength": strength_of(mix, one.strength),
            "limit": strength_of(mix, limit),
            "thin_to": Value(one.thin_to or 0.0, "volume"),
        }
        yield mix_finding(
            "mix.reaction", mix, "ok" if thinned else "stop", "thinned" if thinned else "strong", **values
        )
