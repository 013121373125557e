"""The tables of planner/data in SI, with a company's own rows and limits laid over them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from planner.frozen import dataclass
from planner.inputs.models.base import Location, Slip, listed, nearest
from planner.inputs.models.company import Minute, SurfaceRow, SurfaceTable
from planner.inputs.reading.strengths import mix_slip
from planner.inputs.tables.chemicals import CHEMICALS, SOAP
from planner.inputs.tables.defaults import defaults, minutes
from planner.inputs.tables.electric import electric_tables
from planner.inputs.tables.materials import refused
from planner.inputs.tables.outside import outside_rows
from planner.inputs.tables.rows import rows, table
from planner.units import Unreadable, read, show


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit in SI. `looser` is the direction it may not be moved in where `regulation` is True."""

    name: str
    finding: str
    level: str
    value: float
    text: str
    dimension: str
    looser: str
    regulation: bool
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingRow:
    """Resistance of one kind of fitting: `k`, or `k_times_ft` friction factors; both None follows from the bores."""

    kind: str
    k: float | None
    k_times_ft: float | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoseWall:
    """What is assumed of a hose's wall: `wall_to_bore` [-], Young's `modulus` [Pa] at its softest and stiffest.

    `rated_from` [Pa]: hose rated so high is made this way, whatever its material.
    """

    name: str
    wall_to_bore: float
    modulus: tuple[float, float]
    rated_from: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GunFlow:
    """Siding covered by mix at a gun's flow [m3/s]: `cover` m2 per m3, light soil to heavy."""

    least: float
    most: float
    cover: tuple[float, float]


@lru_cache(maxsize=1)
def limit_rows() -> Mapping[str, Limit]:
    """Every limit by name."""
    return {
        row["name"]: Limit(
            name=row["name"],
            finding=row["finding"],
            level=row["level"],
            value=read(row["value"], row["dimension"]),
            text=row["value"],
            dimension=row["dimension"],
            looser=row["looser"],
            regulation=row.get("regulation") == "true",
            source=row["source"],
        )
        for row in (*rows("limits"), *(row for chemical in CHEMICALS.values() for row in chemical.limits))
    }


@lru_cache(maxsize=1)
def accept_rows() -> Mapping[str, str]:
    """What may be accepted of each finding: `never`, `caution` or `stop`."""
    return {row["code"]: row["accept"] for row in rows("limits", "findings")}


def may_accept(code: str, level: str, case: str = "") -> bool:
    """Whether someone may take on a finding of this code at this level; some cases of one nobody may."""
    row = next((row for row in rows("limits", "findings") if row["code"] == code), {})
    accept = row.get("accept", "never")
    return case not in row.get("never", ()) and (accept == "stop" or (accept == "caution" and level == "caution"))


def _number(row: Mapping[str, Any], name: str) -> float | None:
    return read(row[name], "number") if name in row else None


@lru_cache(maxsize=1)
def fitting_rows() -> Mapping[str, FittingRow]:
    """Every fitting by kind."""
    return {
        row["kind"]: FittingRow(
            kind=row["kind"], k=_number(row, "k"), k_times_ft=_number(row, "k_times_ft"), source=row["source"]
        )
        for row in rows("fittings")
    }


@lru_cache(maxsize=1)
def roughness() -> Mapping[str, float]:
    """Wall roughness [m] by hose material."""
    return {row["name"]: read(row["roughness"], "length") for row in rows("materials")}


WIRE = "wire braid"
"""The row of hose made for high pressure."""


@lru_cache(maxsize=1)
def hose_walls() -> Mapping[str, HoseWall]:
    """What is assumed of hoses' walls, by material, and the row of hose made for high pressure."""
    return {
        row["name"]: HoseWall(
            name=row["name"],
            wall_to_bore=read(row["wall_to_bore"], "number"),
            modulus=(1e6 * read(row["modulus"][0], "number"), 1e6 * read(row["modulus"][1], "number")),
            rated_from=read(row["rated_from"], "pressure"),
        )
        for row in rows("materials", "hose_walls")
    }


@lru_cache(maxsize=1)
def surface_rows() -> Mapping[str, SurfaceRow]:
    """The built-in surface table by kind."""
    built_in = SurfaceTable.model_validate({"surfaces": table("surfaces")["surfaces"]})
    return {row.kind: row for row in built_in.surfaces}


@lru_cache(maxsize=1)
def gun_flow() -> tuple[GunFlow, ...]:
    """Coverage of siding by gun flow, least flow first."""
    return tuple(
        GunFlow(
            least=read(row["from"], "flow"),
            most=read(row["to"], "flow"),
            cover=(read(row["cover"][0], "coverage"), read(row["cover"][1], "coverage")),
        )
        for row in table("surfaces")["gun_flow"]
    )


@lru_cache(maxsize=1)
def surface_cleaner() -> tuple[tuple[float, float], ...]:
    """Flow [m3/s] and pace [m2/s] of a surface cleaner, least flow first."""
    return tuple((read(row["flow"], "flow"), read(row["pace"], "pace")) for row in table("surfaces")["surface_cleaner"])


def with_own_rows(own: SurfaceTable | None) -> Mapping[str, SurfaceRow]:
    """The surface table with a company's rows over it: what a row leaves out keeps the built-in value."""
    table_now = dict(surface_rows())
    for row in own.surfaces if own else ():
        before = table_now.get(row.kind)
        written = {name: getattr(row, name) for name in row.model_fields_set}
        table_now[row.kind] = before.model_copy(update=written) if before else row
    return table_now


# What a row must say before a job can be planned with it.
_NEEDED = ("family", "chemical", "strength", "dwell", "wet", "apply", "rinse", "section")


def row_slips(own: SurfaceTable) -> list[Slip]:
    """What a company's new rows leave out that no built-in row gives."""
    merged = with_own_rows(own)
    slips = []
    for place, row in enumerate(own.surfaces):
        missing = [name for name in _NEEDED if getattr(merged[row.kind], name) is None]
        if missing:
            example = SurfaceRow.model_fields[missing[0]].examples
            slips.append(
                Slip(
                    code="key.missing",
                    message=f"`{row.kind}` is a new kind and lacks {listed(missing).replace(' or ', ' and ')}",
                    remedy=f"add `{missing[0]}: {example[0] if example else ''}`"
                    + (" and the others" if missing[1:] else ""),
                    at=("surfaces", place),
                )
            )
        elif merged[row.kind].material is None and refused(row.kind) is not None:
            slips.append(
                Slip(
                    code="key.missing",
                    message=f"what `{row.kind}` is made of is not known",
                    remedy="add `material: limestone`, or what it is",
                    at=("surfaces", place),
                )
            )
        slips += _strength_slips(merged[row.kind], ("surfaces", place, "strength" if row.strength else "chemical"))
        known = surface_rows().get(row.kind)
        if known is not None and known.porous and "porous" in row.model_fields_set and not row.porous:
            slips.append(
                Slip(
                    code="key.clash",
                    message=f"`{row.kind}` keeps in its pores what was on it, whatever a company says",
                    remedy="take `porous` out, or give what is sealed a kind of its own",
                    at=("surfaces", place, "porous"),
                )
            )
    return slips


def _strength_slips(row: SurfaceRow, at: Location) -> Iterator[Slip]:
    """A range that does not say how much of its chemical it is, or whose ends are told in two ways."""
    if row.chemical is None or row.strength is None:
        return
    if row.chemical == SOAP:
        yield Slip(
            code="strength.basis",
            message="soap is dosed on top of what washes a wall, and has no strength there",
            remedy="write what washes it under `chemical:`, and soap as `dose:` in the job",
            at=at,
        )
        return
    wrong = next((slip for end in row.strength if (slip := mix_slip(end, row.chemical)) is not None), None)
    if wrong is not None:
        yield Slip(code=wrong[0], message=wrong[1], remedy=wrong[2], at=at)
    elif len({end.basis for end in row.strength}) > 1:
        yield Slip(
            code="strength.basis",
            message="the light and the heavy end of this range are given in two different percents",
            remedy="write both in the same, such as `[0.5 trade %, 1.5 trade %]`",
            at=at,
        )


def limits_with(own: Mapping[str, str]) -> tuple[Mapping[str, float], list[Slip]]:
    """Every limit in SI under the company's own, and the slips in those (at `limits`.name)."""
    table_now = {name: row.value for name, row in limit_rows().items()}
    slips: list[Slip] = []
    for name, text in own.items():
        row, at = limit_rows().get(name), ("limits", name)
        if row is None:
            near = nearest(name, limit_rows())
            remedy = f"write `{near}` if that was meant" if near else f"known here: {listed(limit_rows(), 60)}"
            slips.append(Slip(code="key.unknown", message=f"`{name[:60]}` is not a limit", remedy=remedy, at=at))
            continue
        try:
            value = read(text, row.dimension)
        except Unreadable as fault:
            slips.append(Slip(code=fault.code, message=fault.message, remedy=fault.remedy, at=at))
            continue
        looser = value > row.value if row.looser == "higher" else value < row.value
        if row.regulation and looser:
            shown = show(row.value, row.dimension, "us") if row.dimension != "number" else row.text
            slips.append(
                Slip(
                    code="limit.looser",
                    message=f"`{name}: {text}` is looser than the regulation's {shown} ({row.source})",
                    remedy=f"write {shown} or tighter, or take `{name}` out",
                    at=at,
                )
            )
            continue
        if not row.regulation and _far_looser(row, value):
            slips.append(
                Slip(
                    code="quantity.bounds",
                    message=f"`{name}: {text}` cannot be right: it is far looser than the usual {row.text}",
                    remedy=f"check the decimal point and the unit, or take `{name}` out",
                    at=at,
                )
            )
            continue
        table_now[name] = value
    return MappingProxyType(table_now), slips


def _far_looser(row: Limit, value: float) -> bool:
    """Whether an own limit is so much looser than the table's that a point or a unit must have slipped."""
    most = table("bounds")["own_limits"]
    if row.dimension == "temperature":
        return (value - row.value if row.looser == "higher" else row.value - value) > read(most["warmer"], "warming")
    times = float(most["times"])
    return value > times * row.value > 0.0 if row.looser == "higher" else value * times < row.value


def all_tables(surfaces: Mapping[str, SurfaceRow], own: Mapping[str, Minute]) -> Mapping[str, Any]:
    """The tables a plan is made with, read only; a company's `own` minutes go before the table's."""
    return MappingProxyType(
        {
            "surfaces": surfaces,
            "outside": outside_rows(),
            "gun_flow": gun_flow(),
            "surface_cleaner": surface_cleaner(),
            "fittings": fitting_rows(),
            "roughness": roughness(),
            "hose_walls": hose_walls(),
            "chemicals": CHEMICALS,
            "limits": limit_rows(),
            "electric": electric_tables(),
            "defaults": MappingProxyType(defaults()),
            "minutes": MappingProxyType({**minutes(), **{name: minute.amount for name, minute in own.items()}}),
            "accept": accept_rows(),
        }
    )
