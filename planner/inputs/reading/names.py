"""Names one file uses and another gives: every one checked on what was written, whatever else is wrong there."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from planner.frozen import dataclass
from planner.inputs.models.base import Location, Slip, listed, name_of_place, nearest
from planner.inputs.models.gear import quietly
from planner.inputs.reading.letters import alike
from planner.inputs.reading.sizes import surface_names
from planner.inputs.tables.chemicals import CHEMICALS, chemical_named, refused_name
from planner.inputs.tables.spelled import american_kinds
from planner.inputs.tables.whole import accept_rows, fitting_rows
from planner.units import show

Raw = Mapping[str, Any]


def items(raw: Any, name: str) -> list[Any]:
    """The list under a key, empty where there is none."""
    found = raw.get(name) if isinstance(raw, Mapping) else None
    return found if isinstance(found, list) else []


def names_under(raw: Raw | None, name: str) -> set[str]:
    """The names a list's items give themselves."""
    generator = (item.get("name") for item in items(raw, name) if isinstance(item, dict))
    return {" ".join(one.split()) for one in generator if isinstance(one, str)}


def unknown(written: Any, known: Iterable[str], what: str, at: Location, *, exact: bool = False) -> Iterator[Slip]:
    """One slip if a name is written and not known; `exact`: of a key, whose blanks stay as they are."""
    if not isinstance(written, str) or (written if exact else " ".join(written.split())) in known:
        return
    near = nearest(written, known)
    remedy = f"write `{near}` if that was meant; known here: " if near else "known here: "
    message = f"there is no {what} called `{written[:60]}`"
    yield Slip(code="name.unknown", message=message, remedy=remedy + listed(sorted(known), 30), at=at)


def called_twice(written: Any, others: Iterable[str], what: str, remedy: str, at: Location) -> Iterator[Slip]:
    """One slip if something has the name of something else, or one that looks like it on paper."""
    if isinstance(written, str) and alike(written) in {alike(other) for other in others}:
        yield Slip(code="name.twice", message=f"{what} are both called `{written[:60]}`", remedy=remedy, at=at)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What a rig gives names to, from its file as written."""

    rig: str
    pumps: set[str]
    tanks: set[str]
    dosing: set[str]
    hoses: set[str]
    tips: set[str]
    setups: set[str]


def known_on(rig: Raw) -> Known:
    """The names on a rig."""
    name = rig.get("rig")
    return Known(
        rig=name if isinstance(name, str) else "this rig",
        pumps=names_under(rig, "pumps"),
        tanks=names_under(rig, "tanks"),
        dosing=names_under(rig, "dosing"),
        hoses=names_under(rig, "hoses"),
        tips=names_under(rig, "tips"),
        setups=names_under(rig, "setups"),
    )


def _line(raw: Any, known: Known, at: Location) -> Iterator[Slip]:
    """The gear a setup or a hose run names."""
    if not isinstance(raw, dict):
        return
    of = f"of rig {known.rig}"
    yield from unknown(raw.get("pump"), known.pumps, f"pump {of}", (*at, "pump"))
    yield from unknown(raw.get("feed"), known.tanks | {"tap", "pond"}, f"tank {of}", (*at, "feed"))
    yield from unknown(raw.get("dosing"), known.dosing | {"premix"}, f"dosing {of}", (*at, "dosing"))
    for role in ("tip", "rinse_tip", "cleaner"):
        own = raw.get(role)
        tip, where = (own.get("tip"), (*at, role, "tip")) if isinstance(own, dict) else (own, (*at, role))
        yield from unknown(tip, known.tips, f"tip {of}", where)
        for place, hose in enumerate(items(own, "hoses")):
            yield from unknown(hose, known.hoses | names_under(raw, "hoses"), f"hose {of}", (*at, role, "hoses", place))
    for place, hose in enumerate(items(raw, "hoses")):
        yield from unknown(hose, known.hoses, f"hose {of}", (*at, "hoses", place))
        if isinstance(hose, dict):
            where, remedy = (*at, "hoses", place, "name"), "give the hose another name"
            yield from name_of_place(hose.get("name"), "hose", remedy, where)
            yield from called_twice(hose.get("name"), known.tanks, "a hose and a tank", remedy, where)


def fitting_slips(raw: Any, at: Location) -> Iterator[Slip]:
    """Fittings no table knows."""
    fittings = raw.get("fittings") if isinstance(raw, dict) else None
    kinds = {*fitting_rows(), "k"}
    for kind in fittings if isinstance(fittings, dict) else ():
        yield from unknown(kind, kinds, "fitting this planner knows", (*at, "fittings", kind))


def rig_slips(rig: Raw, stock: Raw | None = None) -> Iterator[Slip]:
    """Names inside one rig, and what its tanks and pumps are kept for: a word nobody knows keeps nothing out."""
    known = known_on(rig)
    # A pump is kept for a chemical, whatever its container is called.
    kept = {
        ("tanks", "holds"): stock_names(stock) | {"water", "mix"},
        ("pumps", "dedicated"): stock_names(None) | {"water"},
    }
    for (of, key), names in kept.items():
        for place, one in enumerate(items(rig, of)):
            if isinstance(one, dict):
                yield from _kept(one.get(key), names, (of, place, key))
    for place, tank in enumerate(items(rig, "tanks")):
        name, lots = tank.get("name") if isinstance(tank, dict) else None, names_under(stock, "lots") - {"water", "mix"}
        yield from called_twice(name, lots, "a tank and a lot", "give the tank another name", ("tanks", place, "name"))
    for place, hose in enumerate(items(rig, "hoses")):
        name = hose.get("name") if isinstance(hose, dict) else None
        remedy = "give the hose another name"
        yield from called_twice(name, known.tanks, "a hose and a tank", remedy, ("hoses", place, "name"))
    for place, setup in enumerate(items(rig, "setups")):
        yield from _line(setup, known, ("setups", place))
        yield from fitting_slips(setup, ("setups", place))
    for place, dosing in enumerate(items(rig, "dosing")):
        if isinstance(dosing, dict):
            yield from unknown(dosing.get("pump"), known.pumps, f"pump of rig {known.rig}", ("dosing", place, "pump"))
    for place, pump in enumerate(items(rig, "pumps")):
        if isinstance(pump, dict):
            yield from fitting_slips(pump.get("suction"), ("pumps", place, "suction"))
        for inner, tank in enumerate(items(pump, "draws")):
            yield from unknown(tank, known.tanks, f"tank of rig {known.rig}", ("pumps", place, "draws", inner))
    yield from fitting_slips(rig.get("supply_hose"), ("supply_hose",))
    for place, pump in enumerate(items(rig.get("power"), "beside")):
        yield from unknown(pump, known.pumps, f"pump of rig {known.rig}", ("power", "beside", place))


def stock_names(stock: Raw | None) -> set[str]:
    """Every name `stock:` may say: the lots, and the chemicals by any of their names."""
    chemicals = {name for row in CHEMICALS.values() for name in (row.name, *row.aliases)}
    return names_under(stock, "lots") | chemicals


def _kept(written: Any, known: set[str], at: Location) -> Iterator[Slip]:
    """What a tank or a pump is kept for: a chemical, a lot, or one of a few words."""
    if not isinstance(written, str) or chemical_named(written) is not None or " ".join(written.split()) in known:
        return
    refused = refused_name(written)
    if refused is not None:
        yield Slip(code="chemical.refused", message=refused[0], remedy=refused[1], at=at)
        return
    near = nearest(written, known)
    also = [word for word in ("water", "mix") if word in known]
    yield Slip(
        code="name.unknown",
        message=f"`{written[:60]}` is not a chemical this planner knows",
        remedy=(f"write `{near}` if that was meant, or " if near else "write ") + listed([*also, *CHEMICALS], 20),
        at=at,
    )


def _stock(written: Any, known: set[str], at: Location) -> Iterator[Slip]:
    if isinstance(written, str) and chemical_named(written) is None:
        refused = refused_name(written) if " ".join(written.split()) not in known else None
        if refused is not None:
            yield Slip(code="chemical.refused", message=refused[0], remedy=refused[1], at=at)
            return
        yield from unknown(written, known, "lot or chemical", at)


def job_slips(job: Raw, rig: Raw | None, stock: Raw | None, kinds: Iterable[str]) -> Iterator[Slip]:
    """Names a wash job uses. `rig` None: it could not be found, and its names are not judged."""
    surfaces = [item for item in items(job, "surfaces") if isinstance(item, dict)]
    walls = set(surface_names(surfaces))
    runs = names_under(job, "hose_runs")
    if rig is not None:
        known = known_on(rig)
        for place, run in enumerate(items(job, "hose_runs")):
            yield from _line(run, known, ("hose_runs", place))
        setup = job.get("setup")
        of = f"setup of rig {known.rig}"
        yield from unknown(setup, known.setups, of, ("setup",))
        for place, one in enumerate(setup if isinstance(setup, list) else []):
            yield from unknown(one, known.setups, of, ("setup", place))
    yield from fitting_slips(job, ())
    for place, run in enumerate(items(job, "hose_runs")):
        yield from fitting_slips(run, ("hose_runs", place))
        for inner, one in enumerate(items(run, "same_time")):
            yield from unknown(one, runs, "hose run of this job", ("hose_runs", place, "same_time", inner))
        for inner, one in enumerate(items(run, "surfaces")):
            yield from unknown(one, walls, "surface of this job", ("hose_runs", place, "surfaces", inner))
    for place, use in enumerate(items(job, "chemicals")):
        if isinstance(use, dict):
            yield from _stock(use.get("stock"), stock_names(stock), ("chemicals", place, "stock"))
        for inner, one in enumerate(items(use, "surfaces")):
            yield from unknown(one, walls, "surface of this job", ("chemicals", place, "surfaces", inner))
    for place, one in enumerate(items(job, "surfaces")):
        if isinstance(one, dict):
            yield from unknown(
                one.get("kind"), {*kinds, *american_kinds()}, "kind in the surface table", ("surfaces", place, "kind")
            )
    yield from accept_slips(job)


def accept_slips(job: Raw) -> Iterator[Slip]:
    """Acceptances of findings that are none, or that nobody may take on."""
    for place, one in enumerate(items(job, "accept")):
        code = one.get("finding") if isinstance(one, dict) else None
        at: Location = ("accept", place, "finding")
        yield from unknown(code, accept_rows(), "finding", at)
        if isinstance(code, str) and accept_rows().get(code) == "never":
            yield Slip(
                code="accept.never",
                message=f"`{code}` cannot be accepted",
                remedy="take the acceptance out and cure the finding",
                at=at,
            )


def yard_slips(job: Raw, rig: Raw | None) -> Iterator[Slip]:
    """Names a yard job uses."""
    if rig is not None:
        known = known_on(rig)
        yield from unknown(job.get("pump"), known.pumps, f"pump of rig {known.rig}", ("pump",))
        yield from unknown(job.get("setup"), known.setups, f"setup of rig {known.rig}", ("setup",))
        yield from _stages(job, rig)
    yield from accept_slips(job)


def _stages(job: Raw, rig: Raw) -> Iterator[Slip]:
    """Spacers at stages the pump has not."""
    pumps = [item for item in items(rig, "pumps") if isinstance(item, dict) and item.get("name") == job.get("pump")]
    spacers, stages = job.get("spacers"), pumps[0].get("stages") if pumps else None
    if not isinstance(spacers, dict) or not isinstance(stages, str) or not stages.isdecimal():
        return
    for name in spacers:
        if re.fullmatch(r"[1-9][0-9]?", name) and int(name) > int(stages):
            yield Slip(
                code="yard.stage",
                message=f"there is no stage {name}: the pump has {stages}",
                remedy=f"write a number from 1 to {stages}, counted from the root of the shaft",
                at=("spacers", name),
            )


def day_slips(day: Raw, rig: Raw | None, stock: Raw | None, stems: Iterable[str]) -> Iterator[Slip]:
    """Names a day uses: tanks and stocks of its heels, jobs of its drives."""
    heels, drive = day.get("heels"), day.get("drive")
    known = known_on(rig) if rig is not None else None
    for tank, heel in heels.items() if isinstance(heels, dict) else ():
        if known is not None:
            yield from unknown(tank, known.tanks, f"tank of rig {known.rig}", ("heels", tank), exact=True)
        if rig is not None and isinstance(heel, dict):
            yield from too_full(tank, heel.get("volume"), _size(tank, rig), ("heels", tank, "volume"))
        written = heel.get("stock") if isinstance(heel, dict) else None
        yield from kept_stock(written, names_under(stock, "lots"), ("heels", tank, "stock"))
        if isinstance(written, str) and written != "water" and isinstance(heel, dict) and "strength" not in heel:
            yield Slip(
                code="key.missing",
                message=f"the heel in `{tank}` has no `strength`",
                remedy="add `strength: 3 %`, or write `stock: water`",
                at=("heels", tank, "strength"),
            )
    stems = set(stems)
    for job in drive if isinstance(drive, dict) else ():
        if job != "home":
            yield from unknown(job, stems, "job of this day", ("drive", job), exact=True)


def kept_stock(written: Any, lots: Iterable[str], at: Location) -> Iterator[Slip]:
    """What is left in a tank: a lot, a chemical by any of its names, or plain water."""
    yield from _stock(written, {*stock_names(None), *lots, "water"}, at)


def _size(tank: str, rig: Raw) -> Any:
    tanks = (item for item in items(rig, "tanks") if isinstance(item, dict))
    return next((one.get("volume") for one in tanks if one.get("name") == tank), None)


def too_full(tank: str, stands: Any, size: Any, at: Location) -> Iterator[Slip]:
    """A heel larger than the tank it stands in; `size` as it was written, or in m3."""
    holds, stood = quietly(size, "volume"), quietly(stands, "volume")
    if holds and stood and stood > holds * (1 + 1e-9):
        metric = re.search(r"[^a-zA-Z](l|L|mL|ml|m3)$", str(stands)) is not None
        text = size if isinstance(size, str) else show(holds, "volume", "si" if metric else "us", toward="down")
        yield Slip(
            code="heel.volume",
            message=f"{stands} are in `{tank}`, which holds {text}",
            remedy="write what the stick says is left in it, such as `2 gal`",
            at=at,
        )
