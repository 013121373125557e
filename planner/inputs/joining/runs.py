"""Hose runs with their real gear in place of names, and every default filled in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import TypedDict

from planner.faults import Where
from planner.inputs.joined import Fitting, HosePiece, Role, RunInput, Surface
from planner.inputs.joining.together import Asked, one_hose, same_time, tips_alike
from planner.inputs.models import HoseRun, HoseSize, Job, Pump, Rig, RoleTip, Setup, Suction, SupplyHose, Tank, Tip
from planner.inputs.models.base import Location, Slip, listed
from planner.inputs.tables.defaults import default
from planner.inputs.tables.whole import fitting_rows, roughness

Places = Callable[[Location], Where]


_RUN_KEYS = ("on_reel", "uphill", "tip_height", "standoff", "past_eave", "target", "hot", "fittings")


def _asked(job: Job, rig: Rig) -> list[Asked]:
    if job.hose_runs is not None:
        return [
            Asked(at=("hose_runs", place), gear=run, keys={name: getattr(run, name) for name in _RUN_KEYS})
            for place, run in enumerate(job.hose_runs)
        ]
    by_name = {setup.name: setup for setup in rig.setups}
    asked = []
    for place, name in enumerate(job.setups):
        setup = by_name[name]
        keys = {}
        for key in _RUN_KEYS:
            over = getattr(job, key)
            keys[key] = over if over is not None else getattr(setup, key, None)
        asked.append(Asked(at=("setup",) if isinstance(job.setup, str) else ("setup", place), gear=setup, keys=keys))
    return asked


def runs_of(
    job: Job, rig: Rig, surfaces: Sequence[Surface], height: float | None, where: Places
) -> tuple[tuple[RunInput, ...], list[Slip], list[str]]:
    """The job's runs, the slips in them, and what was assumed. `height` [m]: the target where none is written."""
    asked = _asked(job, rig)
    slips: list[Slip] = []
    assumed: list[str] = []
    source = job.water.source if job.water is not None else "tap"
    together, clashes = same_time(asked)
    slips += clashes
    slips += one_hose(asked, {one.gear.name: hoses_of(one.gear, rig) for one in asked}, together)
    assumed += tips_alike(asked, together)
    shares, over = _shares(asked, [surface.name for surface in surfaces])
    slips += over
    runs = []
    for run in asked:
        slips += _gear_slips(run, rig, source, together[run.gear.name])
        slips += _line_slips(run, asked, rig)
        target = run.number("target")
        if target is None and height is None:
            slips.append(
                Slip(
                    code="key.missing",
                    message=f"the job does not say how high `{run.gear.name}` must reach",
                    remedy="add `building: {height: 27 ft}`, or a `target`",
                    at=("building",),
                )
            )
            continue
        runs.append(
            _run(
                run,
                rig,
                job,
                target if target is not None else height or 0.0,
                surfaces,
                shares,
                together,
                where,
                assumed,
            )
        )
    return tuple(runs), slips, assumed


def _run(
    one: Asked,
    rig: Rig,
    job: Job,
    target: float,
    surfaces: Sequence[Surface],
    shares: Mapping[str, Mapping[str, float]],
    together: Mapping[str, tuple[str, ...]],
    where: Places,
    assumed: list[str],
) -> RunInput:
    gear = one.gear
    pump = next((pump for pump in rig.pumps if pump.name == gear.pump), None)
    tank = next((tank for tank in rig.tanks if tank.name == gear.feed), None)
    feed = "tank" if tank is not None else gear.feed
    level = job.water.level if job.water is not None and job.water.level is not None else 0.0
    floor = tank.floor if tank is not None and tank.floor is not None else pump.height if pump is not None else 0.0
    if tank is not None and tank.floor is None:
        assumed.append(f"{gear.name}: floor of {tank.name}")
    hoses = hoses_of(gear, rig)
    suction, suction_fittings = suction_of(pump, rig.supply_hose, feed)
    own = shares[gear.name]
    tip_height, standoff = one.number("tip_height"), one.number("standoff")
    if tip_height is None:
        tip_height = default("tip_height")
        assumed.append(f"{gear.name}: tip_height")
    if standoff is None:
        standoff = min(max(target / 2, default("standoff_least")), default("standoff_most"))
        assumed.append(f"{gear.name}: standoff")
    if one.number("target") is None:
        assumed.append(f"{gear.name}: target")
    written = one.keys.get("fittings")
    return RunInput(
        name=gear.name,
        pump=pump,
        feed=feed,
        feed_tank=tank,
        feed_head=floor if feed == "tank" else level if feed == "pond" else 0.0,
        dosing=next((dosing for dosing in rig.dosing if dosing.name == gear.dosing), None),
        premix=gear.dosing == "premix",
        hoses=hoses,
        fittings=fittings_of(written if isinstance(written, Mapping) else {}, min(hose.bore for hose in hoses)),
        suction=suction,
        suction_fittings=suction_fittings,
        on_reel=one.number("on_reel") or 0.0,
        uphill=one.number("uphill") or 0.0,
        **tips_of(gear, rig, flat=any(wall.name in own and wall.row["family"] == "flat" for wall in surfaces)),
        tip_height=tip_height,
        standoff=standoff,
        past_eave=one.number("past_eave") or 0.0,
        target=target,
        hot=one.number("hot"),
        same_time=together[gear.name],
        surfaces=tuple(own),
        share=_mean(own, surfaces),
        where=where(one.at),
        shares=tuple(own.items()),
    )


def _mean(shares: Mapping[str, float], surfaces: Sequence[Surface]) -> float:
    """The share of all its surfaces' area together."""
    area = {surface.name: surface.area for surface in surfaces}
    whole = sum(area[name] for name in shares)
    same = set(shares.values())
    if len(same) == 1:
        return same.pop()
    return sum(area[name] * share for name, share in shares.items()) / whole if whole else 1.0


def hose_piece(name: str, hose: HoseSize | Suction | SupplyHose) -> HosePiece:
    """One length of hose as the plan takes it: its material's roughness unless measured."""
    rough = hose.roughness if hose.roughness is not None else roughness()[hose.material]
    coil = hose.coil if isinstance(hose, HoseSize) else default("coil")
    rated = None if isinstance(hose, Suction) else hose.rated
    couplings = hose.couplings if isinstance(hose, HoseSize) else ()
    return HosePiece(
        name=name, bore=hose.bore, length=hose.length, roughness=rough, coil=coil, rated=rated, material=hose.material,
        couplings=couplings, hot=hose.hot if isinstance(hose, HoseSize) else None,
    )  # fmt: skip


def hoses_of(gear: HoseRun | Setup, rig: Rig) -> tuple[HosePiece, ...]:
    """The hoses of a run or setup, in order from the pump."""
    by_name = {hose.name: hose for hose in rig.hoses}
    pieces = []
    for place, hose in enumerate(gear.hoses):
        if isinstance(hose, str):
            pieces.append(hose_piece(hose, by_name[hose]))
        else:
            piece = hose_piece(hose.name or f"hose {place + 1}", hose)
            pieces.append(piece if hose.name else replace(piece, named=False))
    return tuple(pieces)


class Tips(TypedDict):
    """A run's tips, one a role, and the hoses of those whose line is another."""

    tip: Tip
    rinse_tip: Tip | None
    cleaner: Tip | None
    role_hoses: Mapping[Role, tuple[HosePiece, ...]]


def tips_of(gear: HoseRun | Setup, rig: Rig, *, flat: bool = True) -> Tips:
    """The tips of a run or setup. A tip it has already, behind the same hoses, is none to change to.

    `flat`: there is flat work for its cleaner; else nothing is taken along for it.
    """
    by_name = {tip.name: tip for tip in rig.tips}
    own = by_name[gear.tip]
    hoses = hoses_of(gear, rig)
    known = {hose.name: hose_piece(hose.name, hose) for hose in rig.hoses} | {hose.name: hose for hose in hoses}
    tips: dict[Role, Tip] = {}
    lines: dict[Role, tuple[HosePiece, ...]] = {}
    for role, asked in _asked_roles(gear):
        line = tuple(known[name] for name in asked.hoses) if isinstance(asked, RoleTip) else hoses
        tip = by_name[tip_name(asked)]
        if tip is not own or line != hoses:
            tips[role] = tip
        if line != hoses and (flat or role != "cleaner"):
            lines[role] = line
    return Tips(
        tip=own,
        rinse_tip=tips.get("rinse_tip"),
        cleaner=tips.get("cleaner"),
        role_hoses=MappingProxyType(lines),
    )


def _asked_roles(gear: HoseRun | Setup) -> list[tuple[Role, str | RoleTip]]:
    """The roles that are written, in their order."""
    both: tuple[tuple[Role, str | RoleTip | None], ...] = (("rinse_tip", gear.rinse_tip), ("cleaner", gear.cleaner))
    return [(role, asked) for role, asked in both if asked is not None]


def tip_name(asked: str | RoleTip) -> str:
    """The tip's name of a role, however it is written."""
    return asked.tip if isinstance(asked, RoleTip) else asked


def fittings_of(written: Mapping[str, float], bore: float) -> tuple[Fitting, ...]:
    """Fittings as written, on `bore` [m], each with its row's resistance."""
    found = []
    for kind, count in written.items():
        if kind == "k":
            found.append(Fitting(kind="k", count=1.0, k=count, k_times_ft=None, source="as written", bore=bore))
            continue
        row = fitting_rows()[kind]
        if count > 0:
            found.append(
                Fitting(kind=kind, count=count, k=row.k, k_times_ft=row.k_times_ft, source=row.source, bore=bore)
            )
    return tuple(found)


def suction_of(
    pump: Pump | None, supply: SupplyHose | None, feed: str
) -> tuple[tuple[HosePiece, ...], tuple[Fitting, ...]]:
    """What lies before the pump, in order of the water: from a tap the supply hose, then the pump's own line."""
    if pump is None:
        return (), ()
    pieces: list[HosePiece] = []
    fittings: list[Fitting] = []
    if feed == "tap" and supply is not None:
        pieces.append(hose_piece("supply hose", supply))
        fittings += fittings_of(supply.fittings, supply.bore)
    if pump.suction is not None:
        pieces.append(hose_piece("suction", pump.suction))
        fittings += fittings_of(pump.suction.fittings, pump.suction.bore)
    return tuple(pieces), tuple(fittings)


def _gear_slips(one: Asked, rig: Rig, source: str, together: Sequence[str]) -> Iterator[Slip]:
    """Gear that does not go together."""
    gear, written = one.gear, isinstance(one.gear, HoseRun)

    def at(key: str) -> Location:
        return (*one.at, key) if written else one.at

    pump = next((pump for pump in rig.pumps if pump.name == gear.pump), None)
    dosing = next((dosing for dosing in rig.dosing if dosing.name == gear.dosing), None)
    if gear.feed == "tap" and source not in ("tap", "hydrant"):
        yield Slip(
            code="run.feed",
            message=f"`{gear.name}` draws from the tap, and `water` says {source}",
            remedy="write `source: tap` under `water`, or another feed",
            at=at("feed"),
        )
    if gear.feed == "pond" and source != "pond":
        yield Slip(
            code="run.feed",
            message=f"`{gear.name}` draws from a pond, and `water` does not say where it is",
            remedy="write `water: {source: pond, level: -4 ft}`",
            at=at("feed"),
        )
    if gear.feed != "tap" and pump is None:
        yield from _falling(one, next((tank for tank in rig.tanks if tank.name == gear.feed), None), at)
    if pump is not None and pump.draws is not None and gear.feed not in (*pump.draws, "tap", "pond"):
        yield Slip(
            code="run.feed",
            message=f"`{gear.name}` draws from `{gear.feed}`, and its pump `{pump.name}` does not reach it",
            remedy=f"add `{gear.feed}` to `draws` of the pump, or write another feed",
            at=at("feed"),
        )
    if gear.dosing == "premix" and gear.feed in ("tap", "pond"):
        yield Slip(
            code="run.dosing",
            message=f"a premix is in a tank, and `{gear.name}` draws from the {gear.feed}",
            remedy="write the mix tank's name as `feed`",
            at=at("dosing"),
        )
    if dosing is not None and dosing.kind == "metered" and (pump is None or dosing.pump not in (None, pump.name)):
        yield Slip(
            code="run.dosing",
            message=f"`{dosing.name}` is plumbed to {f'`{dosing.pump}`' if dosing.pump else 'a pump'}, "
            f"and `{gear.name}` uses {f'`{pump.name}`' if pump else 'no pump'}",
            remedy="name the panel's own pump, or another dosing",
            at=at("dosing"),
        )
    yield from _role_slips(one, rig, at, together)
    on_reel = one.number("on_reel") or 0.0
    total = sum(hose.length for hose in hoses_of(gear, rig))
    if on_reel > total * (1 + 1e-9):
        yield Slip(
            code="run.on_reel",
            message=f"more hose is left on the reel than `{gear.name}` has",
            remedy="write what stays coiled, such as `40 ft`",
            at=at("on_reel"),
        )


def _falling(one: Asked, tank: Tank | None, at: Callable[[str], Location]) -> Iterator[Slip]:
    """A run without a pump: its water falls out of a tank whose floor is written above its tip. A mix is not let run.

    A line is flushed with water, and out of a tank of mix by its own fall none comes.
    """
    gear = one.gear
    tip_height = one.number("tip_height")
    tip = (one.number("uphill") or 0.0) + (default("tip_height") if tip_height is None else tip_height)
    if tank is None or tank.floor is None or tank.floor <= tip:
        below = " up to its tip" if tank is not None and tank.floor is not None else ""
        floor = ", or write the tank's `floor` if it is above the tip" if tank and tank.floor is None else ""
        yield Slip(
            code="run.pump",
            message=f"nothing lifts the water of `{gear.name}` out of `{gear.feed}`{below}",
            remedy=f"add `pump: ` and a pump of the rig{floor}",
            at=at("pump"),
        )
    elif gear.dosing == "premix":
        yield Slip(
            code="run.dosing",
            message=f"a mix that runs out of `{gear.feed}` by itself leaves a line that no water flushes",
            remedy="add a pump, or feed the line from a tank of water",
            at=at("dosing"),
        )


def _role_slips(
    one: Asked, rig: Rig, at: Callable[[str], Location], together: Sequence[str]
) -> Iterator[Slip]:  # fmt: skip
    """Tips that cannot do what they are written for."""
    gear = one.gear
    patterns = {tip.name: tip.pattern for tip in rig.tips}
    cleaners = [name for name, pattern in patterns.items() if pattern == "surface_cleaner"]
    cleaner = tip_name(gear.cleaner) if gear.cleaner is not None else None
    rinse = tip_name(gear.rinse_tip) if gear.rinse_tip is not None else None
    if cleaner is not None and cleaner not in cleaners:
        yield Slip(
            code="run.cleaner",
            message=f"`{cleaner}`, the cleaner of `{gear.name}`, is not a surface cleaner",
            remedy=f"write {listed(cleaners)}" if cleaners else "add a tip with `pattern: surface_cleaner` to the rig",
            at=at("cleaner"),
        )
    if rinse is not None and rinse in cleaners:
        yield Slip(
            code="run.rinse_tip",
            message=f"`{rinse}` is a surface cleaner: `{gear.name}` cannot rinse through it",
            remedy=f"write `cleaner: {rinse}`, and a fan as `rinse_tip`",
            at=at("rinse_tip"),
        )
    roles = [role for role in ("rinse_tip", "cleaner") if getattr(gear, role) not in (None, gear.tip)]
    if roles and together:
        tips, others = (" and ".join(f"`{name}`" for name in names) for names in (roles, together))
        yield Slip(
            code="run.same_time",
            message=f"`{gear.name}` sprays at the same time as {others}, and a gun beside another keeps one tip: "
            f"nobody can change to its {tips}",
            remedy=f"take {tips} out of it, or take `same_time` out to spray one run after another",
            at=at(roles[0]),
        )


def _line_slips(one: Asked, asked: Sequence[Asked], rig: Rig) -> Iterator[Slip]:
    """Hoses of a role that cannot be its own: it begins as the run does, and what is put on for it carries no mix.

    A line that begins with another hose is another run; `on_reel` counts on each.
    """
    gear, hoses = one.gear, [hose.name for hose in hoses_of(one.gear, rig)]
    mixed = {
        hose.name: other.gear.name
        for other in asked
        if other is not one and other.gear.dosing is not None
        for hose in hoses_of(other.gear, rig)
        if hose.named
    }
    for role, line in tips_of(gear, rig)["role_hoses"].items():
        at = (*one.at, role, "hoses") if isinstance(gear, HoseRun) else one.at
        names = [hose.name for hose in line]
        shared = next((n for n, pair in enumerate(zip(names, hoses, strict=False)) if pair[0] != pair[1]), len(names))
        again = next((n for n, name in enumerate(names) if n >= shared and name in hoses), None)
        other = next((n for n, name in enumerate(names) if n >= shared and name in mixed), None)
        if shared == 0:
            yield Slip(
                code=f"run.{role}",
                message=f"the line of its `{role}` begins with `{names[0]}`, and `{gear.name}` with `{hoses[0]}`",
                remedy=f"begin with `{hoses[0]}`, or write a run of its own for it",
                at=(*at, 0) if isinstance(gear, HoseRun) else at,
            )
        elif again is not None:
            yield Slip(
                code=f"run.{role}",
                message=f"`{names[again]}` is at another place in `{gear.name}`",
                remedy="put on hoses the run does not have, after those that stay",
                at=(*at, again) if isinstance(gear, HoseRun) else at,
            )
        elif other is not None:
            yield Slip(
                code=f"run.{role}",
                message=f"`{names[other]}` brings the mix of `{mixed[names[other]]}`, "
                f"and `{gear.name}` cleans or rinses through it",
                remedy="put on a hose that no mix of this job goes through",
                at=(*at, other) if isinstance(gear, HoseRun) else at,
            )
        elif (one.number("on_reel") or 0.0) > sum(hose.length for hose in line) * (1 + 1e-9):
            yield Slip(
                code="run.on_reel",
                message=f"more hose is left on the reel than the line of `{gear.name}` with its `{role}` has",
                remedy="write what stays coiled, such as `40 ft`",
                at=(*one.at, "on_reel") if isinstance(gear, HoseRun) else one.at,
            )


def _shares(asked: Sequence[Asked], surfaces: Sequence[str]) -> tuple[dict[str, dict[str, float]], list[Slip]]:
    """Each run's part of each of its surfaces: as written, and what is left of it evenly among the others."""
    shares: dict[str, dict[str, float]] = {run.gear.name: {} for run in asked}
    slips: list[Slip] = []
    for surface in surfaces:
        naming = [run for run in asked if surface in _own_surfaces(run, surfaces)]
        written = {run.gear.name: run.gear.share for run in naming if isinstance(run.gear, HoseRun) and run.gear.share}
        left, free = 1.0 - sum(share for share in written.values() if share), len(naming) - len(written)
        if left < -1e-9 and not slips:
            last = [run for run in naming if run.gear.name in written][-1]
            slips.append(
                Slip(
                    code="run.share",
                    message=f"the shares of `{surface}` come to more than the whole",
                    remedy="let the shares of one surface add up to 100 %",
                    at=(*last.at, "share"),
                )
            )
        for one in naming:
            shares[one.gear.name][surface] = written.get(one.gear.name) or max(left, 0.0) / max(free, 1)
    return shares, slips


def _own_surfaces(one: Asked, surfaces: Sequence[str]) -> Sequence[str]:
    named = one.gear.surfaces if isinstance(one.gear, HoseRun) else None
    return surfaces if named is None else named
