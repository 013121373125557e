"""What rides and what it weighs, on paper: the load against the rating, what the road calls it, the owner's figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from planner.checks.load import moment_words
from planner.inputs.tables.chemicals import BLEACH, ended_by, kind_of
from planner.inputs.tables.transport import listed
from planner.packet.blocks import Block, Heading, Picture, Span, Table, Text, said
from planner.packet.drawings.load import Piece, load_bar, load_height
from planner.packet.sections.owner.mix_figures import Figure, short_title
from planner.packet.sections.reading import Reading
from planner.packet.sections.told import load_told
from planner.plan.model import JobPlan
from planner.plan.road.model import Leg, LoadItem, LoadPlan
from planner.units import System, show
from planner.words.measures import poured, weighed
from planner.words.spoken import spoken_name

_KINDS = (("rig, empty", ("rig",)), ("water", ("water",)), ("stock", ("stock", "soap")),
          ("other", ("heel", "neutraliser", "eyewash")))  # fmt: skip


def ridden(load: LoadPlan | None) -> dict[str, LoadItem]:
    """Stock, soap and neutralisers by name, as they leave the yard."""
    if load is None:
        return {}
    return {item.what: item for item in load.out.items if item.kind in ("stock", "soap", "neutraliser")}


def with_drum(item: LoadItem | None, system: System) -> str:
    """What a lot weighs in its container, to follow it on the list: `; 63 lb in its container`; empty where unknown."""
    if item is None or not item.volume:
        return ""
    return f"; {weighed(item.mass, system, 'up')} in its container"


def weight_blocks(load: LoadPlan | None, plan: JobPlan, system: System) -> Iterator[Block]:
    """The load against the rating, each leg that is heavier than the one before, and what the road calls the stock."""
    if load is None:
        return
    picture = _picture(load, plan, system)
    if picture is not None:
        yield picture
    leg, rated = load.heaviest, load.rated
    if leg.total is not None and rated:
        yield Text(
            spans=(
                Span(text=weighed(leg.total, system, "up"), strong=True),
                Span(text=f" {moment_words(leg)}, of {weighed(rated, system, 'down')} rated. "
                          f"The crew and anything not listed are not counted."),
            )
        )  # fmt: skip
    else:
        yield Text(
            spans=(
                Span(text=weighed(leg.carried, system, "up"), strong=True),
                Span(text=f" aboard {moment_words(leg)}. The rig's own weights are not given: weigh it."),
            )
        )
    yield from _on_the_road(load, plan, system)


def _picture(load: LoadPlan, plan: JobPlan, system: System) -> Picture | None:
    leg, rated = load.heaviest, load.rated
    if leg.total is None or not rated:
        return None
    caution = plan.input.limits["weight_caution"] * rated
    pieces = [piece for name, kinds in _KINDS if (piece := _piece(name, kinds, leg)).mass > 0.0]

    def paint(wide: float, tall: float) -> object:
        return load_bar(pieces, rated, caution, system, wide, tall)

    text = load_told(sum(piece.mass for piece in pieces), rated, caution, system)
    return Picture(paint=paint, heights=(load_height(),), title=f"The load {moment_words(leg)}", told=text)


def _piece(name: str, kinds: tuple[str, ...], leg: Leg) -> Piece:
    return Piece(label=name, mass=sum(item.mass for item in leg.items if item.kind in kinds))


def _on_the_road(load: LoadPlan, plan: JobPlan, system: System) -> Iterator[Block]:
    """Transport quantities as they leave the yard, by what the papers call them."""
    riding = [item for item in load.out.items if item.regulated]
    if not riding:
        return
    total = weighed(load.out.hazardous, system, "up")
    yield Text(
        spans=(Span(text=total, strong=True), Span(text=f" gross of hazardous material: {_called(riding, system)}."))
    )
    arranged = plan.input.company.transport
    words = "Label and safety data sheet decide."
    yield Text(spans=said(f"On the road: {arranged}. {words}" if arranged else words))
    apart = [beside for beside in load.beside if beside.apart]
    if apart:
        names = "; ".join(f"{spoken_name(beside.first)} and {spoken_name(beside.second)}" for beside in apart)
        yield Text(spans=said(f"Carried apart, says the rig's file: {names}. Check that it is so."))


def _called(items: Iterable[LoadItem], system: System) -> str:
    """Each chemical by its UN number and proper wording, with what there is of it."""
    amounts: dict[str, tuple[float, float]] = {}
    for item in items:
        volume, mass = amounts.get(str(item.chemical), (0.0, 0.0))
        amounts[str(item.chemical)] = (volume + item.volume, mass + (0.0 if item.volume else item.mass))
    told = []
    for chemical, (volume, mass) in amounts.items():
        row = listed(chemical)
        much = [poured(volume, system, "up")] if volume else []
        much += [weighed(mass, system, "up")] if mass else []
        told.append(f"UN {row.un} {row.wording}, {' and '.join(much)}")
    return "; ".join(told)


# ------------------------------------------------------------------------------------------------- the owner's page


def load_sheet(reading: Reading) -> list[Block]:
    """For the worksheet: everything aboard on the heaviest leg, what it adds up to, what the road counts."""
    plan, system = reading.checked.plan, reading.system
    if plan.load is None:
        return []
    rows = tuple(
        (
            figure.name,
            (Span(text=figure.value, strong=True),),
            short_title(figure.equation),
            figure.inputs,
        )
        for figure in load_figures(plan, system)
    )
    table = Table(head=("Figure", "Value", "Equation", "What went in"), rows=rows, widths=(2.1, 2.1, 3.4, 4.4))
    return [Heading(spans=said(f"The load {moment_words(plan.load.heaviest)}")), table]


def load_figures(plan: JobPlan, system: System) -> list[Figure]:
    """Each thing aboard with its weight, the total, and what the rules on the road count."""
    load = plan.load
    if load is None:
        return []
    leg = load.heaviest
    figures = [
        Figure(
            name=item.what,
            value=weighed(item.mass, system, "up"),
            equation=_equation(item, plan),
            inputs=_inputs(item, system),
        )
        for item in leg.items
    ]
    if leg.total is not None:
        rated = f"rated {weighed(load.rated, system, 'down')}; " if load.rated else ""
        figures.append(Figure(name="all of it", value=weighed(leg.total, system, "up"),
                              equation="load_total", inputs=f"{rated}crew not counted"))  # fmt: skip
    out = load.out
    if out.hazardous:
        figures.append(
            Figure(
                name="hazardous material",
                value=weighed(out.hazardous, system, "up"),
                equation="transport_gross",
                inputs=f"{moment_words(out)}, containers and all",
            )
        )
    for chemical in dict.fromkeys(str(item.chemical) for item in out.items if item.regulated):
        if f"reportable_{chemical}" in plan.input.limits:
            figures.append(
                Figure(
                    name=f"reportable, {spoken_name(chemical)}",
                    value=weighed(out.counted(chemical), system, "up"),
                    equation="transport_reportable",
                    inputs="NaOCl, not available chlorine" if chemical == BLEACH else "as sold",
                )
            )
    return figures


def _equation(item: LoadItem, plan: JobPlan) -> str:
    if item.kind == "rig":
        return "as_written"
    if item.kind == "neutraliser":
        kind = "alkali" if kind_of(item.chemical) == "acid" else "acid"
        return "dechlorinating" if item.chemical in ended_by(BLEACH) else f"neutralising_{kind}"
    return "load_weight"


def _inputs(item: LoadItem, system: System) -> str:
    """What a weight was worked out from."""
    told = []
    if item.volume:
        told.append(show(item.volume, "volume", system, toward="up"))
        dense = (item.mass - item.tare) / item.volume
        told.append(f"{dense / 1000.0:.3f} kg/L")
    if item.tare:
        count = f"{item.packages} containers" if item.packages > 1 else "its container"
        told.append(f"{count} {weighed(item.tare, system, 'up')}")
    if item.kind == "neutraliser":
        told.append("carried for leftovers")
    return ", ".join(told) or "the rig's own file"
