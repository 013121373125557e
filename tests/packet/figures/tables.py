"""The tables a packet prints and the JSON leaves out, because only paper shows them: from the plan itself."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planner.plan.mix.model import MixPlan
from planner.plan.model import JobPlan
from planner.units import System
from tests.packet.figures.derived import in_percent
from tests.packet.figures.given import some
from tests.packet.figures.known import Known


def _feet(length: float, system: System) -> str:
    return f"{length / 0.3048:.0f} ft" if system == "us" else f"{length:.1f} m"


def _jugs(mix: MixPlan) -> float:
    """All that is drawn from a mix's jugs."""
    return sum(one.stock / (one.jug_stock or 1.0) for one in mix.pours)


def differing(plan: JobPlan, system: System) -> Iterator[Known]:
    """The tables to look things up in on site, which the JSON leaves out: from the plan itself."""
    for table in plan.differs:
        for change in table.hose:
            yield from some("table.hose", abs(change), "length")
        for standoff in table.standoffs:
            yield from some("table.standoff", standoff, "length")
        for change, row in zip(table.hose, table.heights, strict=True):
            for standoff, height in zip(table.standoffs, row, strict=True):
                more = f"{_feet(abs(change), system)} {'more' if change > 0 else 'less'}" if change else "as planned"
                name = f"table.reach[{more}][{_feet(standoff, system)}]"
                yield from some(name, height, "length", "down")
        for seconds, dry in table.dry:
            yield from some("table.bucket_s", seconds, "time", how="exact")
            yield from some("table.dry_s", dry, "time", "down")
        yield from some("table.bucket", table.bucket, "volume")
    percent = plan.input.company.percent
    for mix in plan.mixes:
        given = next((one for one in plan.input.lots if mix.lot is not None and one.name == mix.lot.name), None)
        for tested_at in mix.rows:
            caustic = given.excess_caustic if given is not None else 0.0
            tested = [*in_percent("table.tested", tested_at.strength, mix.chemical, percent, caustic, ("down",))]
            yield from tested
            # Rows and columns are headed by the strength as it is printed: two decimals below two, else one.
            fine = 100 if tested and tested[0].value < 2 else 10
            head = f"{math.floor(tested[0].value * fine + 1e-7) / fine:g}" if tested else ""
            yield from some(f"table.stock[{head}]", tested_at.stock, "volume", "down", how="jug")
            yield from some(f"table.dial[{head}]", tested_at.dial, "dial", "down")
            if mix.jug_stock and mix.lot is not None and mix.lot.nominal:
                share = mix.jug_stock * mix.lot.nominal / tested_at.strength
                yield from some(f"table.jug[{head}]", share * _jugs(mix), "volume", "down", how="jug")
