"""What is washed and what goes on it: surfaces with their area and strength, chemicals with their lots.

A heel that does not say how much is in it is a fault (`heel_strength`); one that gets past that counts as the strongest
lot.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from planner.faults import Where
from planner.inputs.joined import ChemicalInput, Surface
from planner.inputs.models import ChemicalUse, Company, Heel, Job, Lot, SurfaceInput, SurfaceRow
from planner.inputs.models.base import Location, Slip
from planner.inputs.models.quantities import bearing_of
from planner.inputs.reading.sizes import (
    ROOF_SIZES,
    net_area,
    side_names,
    sides_alike,
    sides_misspelled,
    surface_names,
)
from planner.inputs.reading.strengths import Strength, mix_slip
from planner.inputs.tables.chemicals import BLEACH, CHEMICALS, SOAP, chemical_named
from planner.inputs.tables.spelled import table_kind

Places = Callable[[Location], Where]
_BASIS_TEXT: dict[str, str] = {
    "trade": "trade %",
    "wt_naocl": "wt % NaOCl",
    "wt_cl2": "wt % Cl2",
    "vol": "vol %",
    "wt": "wt %",
}


def surfaces_of(
    job: Job, rows: Mapping[str, SurfaceRow], company: Company, where: Places
) -> tuple[tuple[Surface, ...], list[Slip]]:
    """Every surface with its area, and the strength the table gives it."""
    slips: list[Slip] = []
    surfaces = []
    own = on_the_wall(job.strength, BLEACH, company, ("strength",), slips) if job.strength else None
    named = zip(job.surfaces, surface_names(job.surfaces), side_names(job.surfaces), strict=True)
    for place, (written, name, side) in enumerate(named):
        row, at = rows[table_kind(written.kind)], ("surfaces", place)
        slips += _size_slips(written, row, name, at)
        usual = row_strength(row, written.soil)
        strength = own if own is not None and row.chemical == BLEACH else usual
        surfaces.append(
            Surface(
                name=name,
                kind=table_kind(written.kind),
                soil=written.soil,
                area=net_area(written),
                strength=strength,
                row=MappingProxyType({key: getattr(row, key) for key in SurfaceRow.model_fields}),
                where=where(at),
                chemical=row.chemical,
                stock=row.chemical,
                rinse=written.rinse or ("leave" if row.leave else "now"),
                trim=written.trim,
                side=side,
                faces=written.faces if written.faces is not None else bearing_of(written.side or ""),
                tone=written.tone,
            )
        )
    slips += [
        Slip(
            code="name.twice",
            message=f"two surfaces would be called `{side[:60]}` on paper",
            remedy="give one another side, such as `left gable`, or one on that side another name",
            at=("surfaces", place, "side"),
        )
        for place, side in sides_alike(job.surfaces)
    ]
    slips += [
        Slip(
            code="name.twice",
            message=f"this is the side `{first[:60]}` in other capitals or letters",
            remedy=f"write `side: {first[:60]}` if it is that side, or one that differs by more",
            at=("surfaces", place, "side"),
        )
        for place, first in sides_misspelled(job.surfaces)
    ]
    if own is not None and all(surface.chemical != BLEACH for surface in surfaces):
        slips.append(
            Slip(
                code="key.clash",
                message="`strength` is for hypochlorite, and no surface here takes any",
                remedy="write `chemicals`, each with its own strength",
                at=("strength",),
            )
        )
    return tuple(surfaces), slips


def _size_slips(written: SurfaceInput, row: SurfaceRow, name: str, at: Location) -> list[Slip]:
    slips = []
    if net_area(written) <= 0:
        slips.append(
            Slip(
                code="surface.less",
                message=f"more comes off `{name}` than it has",
                remedy="write what to take off, such as `120 ft2`",
                at=(*at, "less" if written.less else ""),
            )
        )
    if row.family != "roof":
        for key in ROOF_SIZES:
            if getattr(written, key) is not None:
                slips.append(
                    Slip(
                        code="key.clash",
                        message=f"`{key}` measures a roof, and {written.kind} is not a roof",
                        remedy="write `area`, or `width` and `height`",
                        at=(*at, key),
                    )
                )
    return slips


def row_strength(row: SurfaceRow, soil: str) -> Strength | None:
    """The table's strength for a soil: its light end, half way, or its heavy end."""
    if row.strength is None:
        return None
    light, heavy = row.strength
    if soil != "medium":
        return light if soil == "light" else heavy
    amount = (light.amount + heavy.amount) / 2
    return Strength(amount=amount, basis=light.basis, text=f"{amount:.3g} {_BASIS_TEXT.get(light.basis, light.basis)}")


def on_the_wall(
    strength: Strength, chemical: str, company: Company, at: Location, slips: list[Slip]
) -> Strength | None:
    """A strength on the wall with its percent settled, or None and a slip."""
    if strength.basis == "bare" and chemical == BLEACH:
        return replace(strength, basis=company.percent)
    wrong = mix_slip(strength, chemical)
    if wrong is not None:
        slips.append(Slip(code=wrong[0], message=wrong[1], remedy=wrong[2], at=at))
        return None
    return strength


def heel_strength(
    heel: Heel, lots: Sequence[Lot], company: Company, at: Location, slips: list[Slip]
) -> Strength | None:
    """A heel's strength with its percent settled; a slip where it does not say how much of the chemical is in it.

    An unknown strength is never taken for none: nothing is poured on a heel nobody can count.
    """
    if heel.strength is None or heel.volume <= 0.0:
        return heel.strength
    chemical, _ = resolved(heel.stock, lots)
    strength = heel.strength
    if chemical == "water":
        slips.append(
            Slip(
                code="key.clash",
                message=f"a heel of water has no strength, and `{strength.text}` says something is in it",
                remedy="write what it is under `stock`, or take `strength` out",
                at=at,
            )
        )
        return None
    if chemical == SOAP:
        if strength.basis == "vol":
            return strength
        slips.append(
            Slip(
                code="strength.basis",
                message=f"`{strength.text}` does not say how much of the heel is soap",
                remedy="write it like `2 vol %`",
                at=at,
            )
        )
        return None
    if strength.basis == "vol" and CHEMICALS[chemical].form != "dry":
        if any(lot.strength is not None or lot.tested is not None for lot in lots if lot.chemical == chemical):
            return strength
        example = "1 %" if chemical == BLEACH else "5 wt %"
        slips.append(
            Slip(
                code="strength.basis",
                message=f"`{strength.text}` is a share of stock, and no lot of {chemical} in stock.yaml has a strength",
                remedy=f"write what is in the heel itself, such as `{example}`, or the lot it came from",
                at=at,
            )
        )
        return None
    return on_the_wall(strength, chemical, company, at, slips)


def chemicals_of(
    job: Job, surfaces: Sequence[Surface], lots: Sequence[Lot], company: Company, where: Places
) -> tuple[tuple[ChemicalInput, ...], tuple[Surface, ...], list[Slip]]:
    """The job's chemicals, and its surfaces with what really goes on each."""
    if job.chemicals is None:
        return _usual(surfaces, lots, where), tuple(surfaces), []
    slips: list[Slip] = []
    uses = []
    placed: set[tuple[str, str]] = set()
    now = {wall.name: replace(wall, strength=None, chemical=None, stock=None) for wall in surfaces}
    usual = {wall.name: wall for wall in surfaces}
    for place, use in enumerate(job.chemicals):
        at: Location = ("chemicals", place)
        chemical, found = resolved(use.stock, lots)
        names = tuple(use.surfaces) if use.surfaces is not None else tuple(now)
        strength = None
        if use.strength is not None and chemical != SOAP:
            strength = on_the_wall(use.strength, chemical, company, (*at, "strength"), slips)
        uses.append(
            ChemicalInput(
                stock=use.stock,
                chemical=chemical,
                lots=found,
                strength=strength,
                dose=use.dose,
                surfaces=names,
                reason=use.reason,
                where=where(at),
            )
        )
        slips += _strong_as(use, chemical, at)
        twice = next((name for name in names if (name, chemical) in placed), None)
        placed |= {(name, chemical) for name in names}
        if twice is not None:
            slips.append(
                Slip(
                    code="name.twice",
                    message=f"{'soap' if chemical == SOAP else chemical} goes on `{twice}` twice",
                    remedy="write it once, with `surfaces:` where each strength is for other walls",
                    at=(*at, "stock"),
                )
            )
        elif chemical != SOAP and use.dose is None:
            slips += _put_on(use, chemical, strength, names, usual, now, at)
    return tuple(uses), tuple(now[wall.name] for wall in surfaces), slips


def _strong_as(use: ChemicalUse, chemical: str, at: Location) -> Iterator[Slip]:
    """Soap is dosed and everything else has a strength; the other way round it would go nowhere."""
    if use.dose is not None and chemical != SOAP:
        yield Slip(
            code="key.clash",
            message=f"`dose` is for soap, and {chemical} is not soap",
            remedy="write `strength: ` and how strong it is on the wall",
            at=(*at, "dose"),
        )
    if use.dose is None and chemical == SOAP:
        wrong = f"`strength: {use.strength.text}` does not dose it" if use.strength is not None else "it has no `dose`"
        yield Slip(
            code="key.missing",
            message=f"soap goes in by its dose, and {wrong}",
            remedy="write `dose: 1 fl oz/gal`, as its label says",
            at=(*at, "strength" if use.strength is not None else "dose"),
        )


def _put_on(
    use: ChemicalUse,
    chemical: str,
    strength: Strength | None,
    names: Sequence[str],
    usual: Mapping[str, Surface],
    now: dict[str, Surface],
    at: Location,
) -> list[Slip]:
    """Write one chemical onto its surfaces. The first one written stays; what else is written for a wall stops."""
    for name in names:
        if strength is None and use.strength is None and usual[name].row["chemical"] != chemical:
            return [
                Slip(
                    code="key.missing",
                    message=f"the table gives no strength of {chemical} for `{name}`",
                    remedy="add `strength: ` and how strong it is on the wall",
                    at=(*at, "strength"),
                )
            ]
        if now[name].chemical is None:
            own = strength if strength is not None else usual[name].strength
            now[name] = replace(now[name], strength=own, chemical=chemical, stock=use.stock)
    return []


def with_dwell_bound(surface: Surface) -> Surface:
    """The surface, its row with `dwell_bound` [s]: how long at most a mix may stand there, soap alone too."""
    row = surface.row
    times = row["dwell_times"] if surface.chemical == BLEACH else 1.0
    return replace(surface, row=MappingProxyType({**row, "dwell_bound": times * row["dwell"][1]}))


def resolved(stock: str, lots: Sequence[Lot]) -> tuple[str, tuple[Lot, ...]]:
    """A lot's name, else a chemical's: the chemical and the lots meant, oldest first."""
    named = [lot for lot in lots if lot.name == stock]
    if named:
        return named[0].chemical, tuple(named)
    chemical = chemical_named(stock)
    name = chemical.name if chemical is not None else stock
    return name, _oldest_first([lot for lot in lots if lot.chemical == name])


def _oldest_first(lots: Sequence[Lot]) -> tuple[Lot, ...]:
    return tuple(sorted(lots, key=lambda lot: lot.made or datetime.date.max))


def _usual(surfaces: Sequence[Surface], lots: Sequence[Lot], where: Places) -> tuple[ChemicalInput, ...]:
    """The surface table's own chemicals, each on the surfaces it is for."""
    chemicals = dict.fromkeys(surface.chemical for surface in surfaces if surface.chemical)
    return tuple(
        ChemicalInput(
            stock=chemical,
            chemical=chemical,
            lots=resolved(chemical, lots)[1],
            strength=None,
            dose=None,
            surfaces=tuple(wall.name for wall in surfaces if wall.chemical == chemical),
            reason=None,
            where=where(("surfaces",)),
        )
        for chemical in chemicals
    )


def highest_surface(job: Job, rows: Mapping[str, SurfaceRow]) -> float | None:
    """How high the surfaces go [m] where that can be told: flatwork 0, walls their height; None where not."""
    heights = []
    for surface in job.surfaces:
        if rows[table_kind(surface.kind)].family == "flat":
            heights.append(0.0)
        elif surface.height is not None:
            heights.append(surface.height)
        else:
            return None
    return max(heights, default=None)
