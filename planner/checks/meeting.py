"""What must never meet: in tanks, lines, on walls, in the load, and with what gas.

Of two chemicals written for one wall the first is planned and the job held: as `steps` where what they give is heat or
harmless gas alone (`may_follow`), which a strip of the same day clears in a job of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from typing import Final

from planner.checks.mix import mix_finding, strength_of, tank_of
from planner.checks.model import Finding, Level, check, over, under
from planner.checks.site import pending_findings
from planner.checks.yard import bath_end, bench
from planner.checks.yard.held import quiet_case
from planner.chemistry.reactions import Answer
from planner.inputs.models import Lot
from planner.inputs.tables.chemicals import ACIDS, BLEACH, CHEMICALS, SOAP, chemical_named, kind_of
from planner.inputs.tables.materials import Effect, Material, spoils, worst_on
from planner.plan.between.matrix import Gas, gas_of, meets
from planner.plan.between.meeting import Cleared, Meeting
from planner.plan.between.meetings import flushed_between, meetings
from planner.plan.between.sites import active, around_job
from planner.plan.mix.model import MixPlan
from planner.plan.mix.wetted import borne, strongest, wetted
from planner.plan.model import JobPlan, Value
from planner.plan.water.plain_water import foul_feeds, kept_for
from planner.plan.yard.held import by_setup

_NEVER_LEFT: Final = frozenset(
    chemical.name
    for chemical in CHEMICALS.values()
    if chemical.kind in ("acid", "alkali", "peroxide", "solvent") and chemical.lawn != "harmless"
)
"""What is always rinsed off a wall, whatever a roof's bleach may do (common practice, no source)."""


@check("mix.surface")
def mix_surface(plan: JobPlan) -> Iterator[Finding]:
    """What the mix touches that it must not: the surface itself, its trim, the metal of pump and tank."""
    job = plan.input
    within = Value(job.limits["trim_rinse_within"], "time")
    for mix in plan.mixes:
        high = strongest(mix)
        findings: list[Finding] = []
        for part in mix.parts:
            for words in wetted(part.surface):
                met = worst_on(mix.chemical, words)
                case = borne(job, mix, met[1], high) if met is not None else ""
                if met is None or not case:
                    continue
                values: dict[str, Value | str] = {
                    "surface": part.surface.name,
                    "strongest": strength_of(mix, high),
                    "limit": strength_of(mix, job.limits["trim_strength"]),
                    **_of(mix, *met),
                }
                level: Level = "stop" if case == "banned" else "caution"
                findings.append(mix_finding("mix.surface", mix, level, case, within=within, **values))
        for where, words, holds in _gear(plan, mix, high):
            met = worst_on(mix.chemical, words)
            how = borne(job, mix, met[1], holds) if met is not None else ""
            if met is None or not how:
                continue
            level, of_gear = ("stop", "gear") if how == "banned" else ("caution", "gear_rinse")
            findings.append(
                mix_finding("mix.surface", mix, level, of_gear, surface=where, within=within, **_of(mix, *met))
            )
        left = [part.surface.name for part in mix.parts if part.surface.rinse == "leave"]
        if left and mix.chemical in _NEVER_LEFT:
            findings.append(mix_finding("mix.surface", mix, "stop", "left", surface=", ".join(left)))
        yield from findings or [mix_finding("mix.surface", mix, "ok", "ok")]
        unsaid = _unsaid(plan, mix) if spoils(mix.chemical) else []
        if unsaid:
            finding = mix_finding("mix.surface", mix, "caution", "gear_unsaid", parts=", ".join(unsaid))
            yield replace(finding, about=f"{mix.name}, gear")
    yield from bench.surface(plan)


def _of(mix: MixPlan, material: Material, effect: Effect) -> dict[str, Value | str]:
    """The words of a material and what is done to it, with the hydrogen if all of the mix were spent on it."""
    gas = gas_values(gas_of(mix.chemical, active(mix), material.gas, None)) if material.gas is not None else {}
    return {"material": material.name, "why": effect.why, **gas}


def _unsaid(plan: JobPlan, mix: MixPlan) -> list[str]:
    """The parts a mix goes through whose materials nobody wrote."""
    return list(dict.fromkeys(where for where, words, _ in _touched(plan, mix, 0.0) if not words))


def _gear(plan: JobPlan, mix: MixPlan, strongest: float) -> Iterator[tuple[str, str, float]]:
    """Each material that is wetted on the rig, where, and how strong what wets it is [kg/m3]."""
    for where, words, holds in _touched(plan, mix, strongest):
        yield from ((where, word, holds) for word in words)


def _touched(plan: JobPlan, mix: MixPlan, strongest: float) -> Iterator[tuple[str, tuple[str, ...], float]]:
    """What is wetted on the rig: pump, tank and hoses by the mix, a panel or injector by the stock itself [kg/m3]."""
    pump, tank, device = mix.run.pump, mix.run.feed_tank, mix.run.dosing
    if pump is not None and mix.kind != "injector":
        yield f"pump {pump.name}", pump.wetted, strongest
    if tank is not None and mix.kind == "premix":
        yield f"tank {tank.name}", tank.wetted, strongest
    if device is not None:
        stock = mix.lot.high if mix.lot is not None and mix.lot.high is not None else strongest
        yield device.name, device.wetted, max(stock, strongest)
    for piece in mix.run.hoses:
        yield f"couplings of {piece.name}", piece.couplings, strongest


# ------------------------------------------------------------ gas values
# How much gas a meeting could give, as values a finding's words are filled with.


def gas_values(gas: Gas | None) -> dict[str, Value | str]:
    """Mass, volume and name of the gas, and the air it spoils where a limit is known of it; nothing where none comes.

    `air_level` and `air_means` are the limit's own words.
    """
    if gas is None:
        return {}
    values: dict[str, Value | str] = {
        "gas": gas.released.gas,
        "gas_mass": Value(gas.released.mass, "mass"),
        "gas_volume": Value(gas.released.volume, "air"),
    }
    if gas.air is not None and gas.limit is not None:
        values |= {"air": Value(gas.air, "air"), "air_level": gas.limit.level, "air_means": gas.limit.means}
    return values


# ------------------------------------------------------------ reacting
# What may never meet, however it could: in a mix, a tank, a line, a pump, on a wall, in the runoff, in a bucket.


_CLOSED = frozenset({"heel", "feed", "line", "part", "rinse", "rinse_kept"})
"""Where even a thin neutralising is shut in: tanks and lines."""
_ASKED = _CLOSED | {"wall", "runoff"}
"""Where two meet of which no chart tells, so that their labels are asked."""


@check("mix.reaction")
def mix_reaction(plan: JobPlan) -> Iterator[Finding]:
    """Any two things of this job, or of what was there before it, that must not meet."""
    around = around_job(plan.input, plan.found, plan.mixes, plan.shelf)
    cleared = flushed_between(plan.found, plan.changes)
    findings = [finding for meeting in meetings(around, cleared) if (finding := _finding_of(plan, meeting)) is not None]
    findings += [
        *_on_one_wall(plan),
        *_dedicated(plan),
        *_by_setup(plan),
        *_soaps(plan),
        *_neutralisers(plan),
        *bench.reaction(plan),
    ]
    findings += [*_foul_feeds(plan, cleared), *bath_end.heat(plan), *pending_findings(plan)]
    yield from findings
    if not any(finding.level in ("stop", "caution") for finding in findings):
        level: Level = "ok" if plan.mixes or bench.acids_of(plan) else "none"
        values: dict[str, Value | str] = {"pump": plan.yard.pump.name} if plan.yard is not None else {}
        case = quiet_case(plan) or level
        yield Finding(code="mix.reaction", about="job", level=level, case=case, values=values, where=plan.where)


def _finding_of(plan: JobPlan, meeting: Meeting) -> Finding | None:
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
    if meeting.answer.outcome == "declared" and meeting.kind in _ASKED and not meeting.cleared:
        # Soap's own lot tells of it, where it goes into a mix: _soaps.
        return ("ok", "") if SOAP in (meeting.first, meeting.second) else ("caution", "declared")
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
    read = {
        on_wall.surface for on_wall in around.walls if on_wall.chemical == meeting.first and on_wall.strip is not None
    }
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
    everywhere = {use.stock for use in plan.input.job.chemicals or () if use.surfaces is None}
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
    for foul_feed in foul_feeds(plan.input, plan.found, cleared):
        values: dict[str, Value | str] = {
            "run": foul_feed.run.name,
            "place": foul_feed.tank,
            "other": foul_feed.held.replace("_", " "),
        }
        yield Finding(
            code="mix.reaction", about=foul_feed.run.name, level="stop", case=f"feed_{foul_feed.why}", values=values,
            where=foul_feed.run.where,
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
        if pump.name in plan.found.bleach_pumps or plan.found.parts.get(pump.name) == BLEACH:
            continue
        sent = {chemical for chemical, _ in by_setup(plan.input, pump.name, plan.found, plan.shelf)}
        if BLEACH in sent:
            yield mix_finding("mix.reaction", mix, "caution", "bleach_setup", pump=pump.name)


def _soaps(plan: JobPlan) -> Iterator[Finding]:
    """Soap in bleach, acid or quat that nobody, or worse somebody, said anything about."""
    for mix in plan.mixes:
        if mix.soap_share <= 0.0 or meets(mix.chemical, SOAP).outcome != "declared":
            continue
        for use in plan.input.chemicals:
            if use.chemical != SOAP or not set(use.surfaces) & set(mix.surfaces):
                continue
            kind = kind_of(mix.chemical)
            bears = [_bears(lot, kind) for lot in use.lots] or [None]
            if all(bears):
                continue
            level: Level = "stop" if False in bears else "caution"
            case = {"bleach": "soap", "acid": "soap_acid", "disinfectant": "soap_quat"}.get(kind, "soap_other")
            yield mix_finding(
                "mix.reaction", mix, level, case if level == "stop" else f"{case}_unknown", soap=use.stock
            )


def _bears(lot: Lot, kind: str) -> bool | None:
    """Whether a soap bears a kind of chemical: its maker's word, else what its own kind tells; None: nobody said."""
    if kind == "bleach":
        # What is cationic is quat, or near enough: with bleach it chokes.
        return False if lot.bleach_stable is None and lot.kind == "cationic" else lot.bleach_stable
    if kind == "acid":
        return lot.acid_stable
    return lot.kind != "anionic" if kind == "disinfectant" and lot.kind is not None else None


def _neutralisers(plan: JobPlan) -> Iterator[Finding]:
    """What is left over may be neutralised thin; poured on anything stronger the heat throws it out of the bucket."""
    limit = plan.input.limits["neutralise_strength"]
    for leftover in plan.neutralisers:
        mix = next((mix for mix in plan.mixes if leftover.purpose.endswith(f"of {mix.name}")), None)
        if mix is None or mix.chemical != BLEACH or not over(leftover.strength, limit):
            continue
        thinned = leftover.thin_to is not None and not over(
            leftover.volume * leftover.strength / leftover.thin_to, limit
        )
        values: dict[str, Value | str] = {
            "agent": leftover.agent.replace("_", " "),
            "purpose": leftover.purpose,
            "strength": strength_of(mix, leftover.strength),
            "limit": strength_of(mix, limit),
            "thin_to": Value(leftover.thin_to or 0.0, "volume"),
        }
        yield mix_finding(
            "mix.reaction", mix, "ok" if thinned else "stop", "thinned" if thinned else "strong", **values
        )
