"""What is left in a jug once its draw test is read, told so that the numbers of the paper add up.

What was poured, as it was printed, less what the test draws, as a jug shows it, is what is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import SOAP
from planner.plan.mix.model import MixPlan
from planner.plan.model import JobPlan
from planner.plan.procedure.totals import JugTest
from planner.units import System, Toward
from planner.words.measures import Row, as_read, poured, printed, row_of, side_of, steps_of

_MARKS = 2  # of a jug's own marks; less is told in smaller ones (our choice)
_DROP = 1e-7  # m3


@dataclass(frozen=True, slots=True, kw_only=True)
class JugRest:
    """A reading as printed: number, unit and the two ends; and the same three in m3."""

    number: str
    unit: str
    low: str
    high: str
    value: float
    between: tuple[float, float]


def filled(plan: JobPlan, test: JugTest) -> list[tuple[str, float]]:
    """What was put into a jug for its test, in order: `water`, `soap` or `stock` [m3]."""
    soaps = {lot.name for lot in plan.shelf if lot.chemical == SOAP}
    return [(what if what == "water" else "soap" if what in soaps else "stock", part) for what, part in test.filled]


def with_active(plan: JobPlan) -> bool:
    """Whether soap thins anything on this job; else it is the strong part itself."""
    return any(mix.stock or mix.stock_mass for mix in plan.mixes)


def rest_of(plan: JobPlan, test: JugTest, system: System) -> JugRest:
    """What a draw test leaves in its jug."""
    return rest(filled(plan, test), test.down, test.between, system, active=with_active(plan))


def rest(
    parts: Sequence[tuple[str, float]], down: float, between: tuple[float, float], system: System, *, active: bool
) -> JugRest:  # fmt: skip
    """The same of a jug into which `parts` went, and which goes `down` by so much, in order `between` so much [m3]."""
    whole = sum(printed(part, "poured", system, side_of(what, active=active)) for what, part in parts)
    value = max(whole - printed(down, "poured", system), 0.0)
    row = _row(value, down, system)
    step = row.one * float(row.step)
    left, most = steps_of(value / step, "near"), steps_of(whole / step, "down")
    least, highest = steps_of((whole - between[1]) / step, "up"), steps_of((whole - between[0]) / step, "down")
    # Nobody reads a jug closer than to its mark, but one that did not go down at all is never in order.
    low, high = max(min(least, left - 1), 0), max(min(max(highest, left + 1), most - 1), left)
    shown = [as_read(steps * row.step, row) for steps in (left, low, high)]
    return JugRest(
        number=shown[0], unit=row.unit, low=shown[1], high=shown[2],
        value=left * step, between=(low * step, high * step),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class JugFull:
    """What makes one full jug of a mix from a lot, as it is printed; `water` is what is left to its rim.

    `times`: so many jugs are drawn. What is not in it is empty.
    """

    size: str
    lot: str
    water: str
    stock: str
    soap: str
    times: int


def fulls_of(mix: MixPlan, system: System) -> tuple[JugFull, ...]:
    """A full jug for each lot an injector's mix draws on; nothing where nobody wrote how much its jug holds."""
    size = mix.run.dosing.jug if mix.run.dosing is not None and mix.kind == "injector" else None
    fulls = []
    for share in mix.pours if size is not None else ():
        if size is None or not share.jug_stock:
            continue
        row = row_of(size, "poured", system)
        stock, stock_said = _part(size * share.jug_stock, row, system, "down")
        soap, soap_said = _part(size * (mix.jug_soap or 0.0), row, system, "up")
        _, water_said = _part(size - stock - soap, row, system, "near")
        whole = share.stock / share.jug_stock  # the spare of a jug is in it
        fulls.append(
            JugFull(
                size=poured(size, system), lot=share.lot.name, water=water_said, stock=stock_said, soap=soap_said,
                times=ceil(whole / size - 1e-9),
            )
        )  # fmt: skip
    return tuple(fulls)


def _part(value: float, row: Row, system: System, toward: Toward) -> tuple[float, str]:
    """A part of a jug [m3] as printed, by the jug's own marks where it comes to some of them; nothing of nothing."""
    step = row.one * float(row.step)
    if value < step * _MARKS:
        if value <= _DROP:
            return 0.0, ""
        return printed(value, "poured", system, toward), poured(value, system, toward)
    steps = steps_of(value / step, toward)
    return steps * step, f"{as_read(steps * row.step, row)} {row.unit}"


def _row(value: float, down: float, system: System) -> Row:
    """The row `value` is told by, to the step of what went `down` where that is finer: else a full jug hid it."""
    own, drawn = row_of(value, "poured", system), row_of(down, "poured", system)
    if own.one * float(own.step) <= drawn.one * float(drawn.step):
        return own
    if own.unit == "gal":
        return drawn  # no jug has gallons marked in ounces
    return replace(own, step=(drawn.step * Fraction(drawn.one / own.one)).limit_denominator(1000))
