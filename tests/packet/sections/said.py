"""Small and large house washes, and all words and boxes of one sheet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from planner.packet.blocks import Table, WriteIn, walked
from planner.packet.pages.pages import Bound
from planner.packet.sections import notice
from planner.packet.sections.crew import done, near, safety, walk_round
from planner.packet.sections.reading import Reading
from planner.units import System
from tests import workspaces
from tests.packet.builders import written
from tests.packet.printing import job_packet
from tests.plan.test_sanity_cases import ALDER_LANE

LADDER = "job: {access: {ladder: 24 ft, on_ladder: true, power_line: 22 ft, slope: steep}}"
HOT = "day: {forecast: {wind: 4 mph, high: 95 F, low: 30 F}}"
GENERATOR = "rig: {power: {generator: 3500 W, gfci: true, volts: 120}}"
DRUM = "stock: {lots: {0: {container: 55 gal}}}"
BRICK = "job: {surfaces: [{name: wall, kind: brick, area: 300 ft2, notes: 'loose <b>face</b> by the door'}]}"
BOTH = "job: {near: {fish_pond: 25 ft, stream: 90 ft, well: 80 ft, storm_drain: 40 ft, cars: 30 ft, rain_barrel: 10 ft, downspouts: 4, control: [barrel_off]}}"


ALONE = "day: {crew: [Ana]}"
TINY = """
job:
  surfaces: [{name: front, kind: vinyl, width: 30 ft, height: 9 ft}]
  building: {height: 10 ft}
  hose_runs: {0: {pump: null, feed: tap, dosing: null, target: 9 ft}}
  chemicals: []
  near: null
"""
"""One wall from the tap, no chemical."""
WALLS = [f"wall {n}" for n in range(1, 9)]
SMALL = {
    "no pump": (),
    "booster": ("job: {hose_runs: {0: {pump: booster}}}",),
    "booster and a tall wall": ("job: {building: {height: 24 ft}, hose_runs: {0: {pump: booster, target: 24 ft}}}",),
    "demand pump": ("job: {hose_runs: {0: {pump: transfer, tip: fan, standoff: 3 ft}}}",),
}
"""The same wall off the tap with what may stand between."""
FED = "job: {hose_runs: {0: {feed: tap}}}"
TWELVE = f"""
job:
  surfaces:
    [{", ".join(f"{{name: {name}, kind: vinyl, width: {20 + 2 * n} ft, height: 18 ft}}" for n, name in enumerate(WALLS))},
     {", ".join(f"{{name: walk {n}, kind: concrete, area: {100 + 20 * n} ft2}}" for n in range(1, 5))}]
  hose_runs:
    - {{name: walls, pump: booster, feed: water, dosing: panel, hoses: [red], tip: long throw, target: 20 ft, surfaces: [{", ".join(WALLS)}]}}
    - {{name: walks, pump: washer, feed: water, hoses: [{{bore: 3/8 in, length: 100 ft, rated: 4000 psi}}], tip: fan, target: 3 ft, surfaces: [walk 1, walk 2]}}
    - {{name: rinse, pump: booster, feed: water, hoses: [red], tip: fan, target: 3 ft, surfaces: [walk 3, walk 4]}}
  chemicals: [{{stock: drum, strength: 1 %, surfaces: [{", ".join(WALLS)}]}}]
  near: {{control: [drain_cover, pumped_to: lawn]}}
"""

USUAL = """
rig:
  power: {generator: 3500 W, gfci: true, volts: 120}
  pumps: {0: {wetted: [plastic], motor: {power: 0.75 hp, volts: 115, cord: {gauge: 12 AWG, length: 50 ft}}}}
  dosing: {0: {wetted: [plastic]}}
  hoses: {0: {couplings: [plastic]}, 1: {couplings: [plastic]}}
job:
  site: {contact: 555-0142, notes: Gate on the left}
  access: {power_line: 18 ft}
  near: {cars: 20 ft, open_windows: true}
day: {crew: [Ana, Bo], leave_yard: "07:00", drive: {10-case: 20 min}, forecast: {low: 58 F, high: 78 F, wind: 11 mph, gust: 14 mph}}
"""


def printed_of(*changes: str) -> bytes:
    """A changed house wash on letter paper."""
    return job_packet(written(*changes), paper="letter", system="us")


def alder_files() -> dict[str, Any]:
    """Sanity case A as it is written, with what is near it, and an eyewash aboard."""
    files = workspaces.as_written(ALDER_LANE)
    files["rig"]["carried"] = {"eyewash": "6 gal", "spill_kit": "true"}
    files["job"]["near"] = {"flower_beds": "400 ft2", "fish_pond": "25 ft", "storm_drain": "40 ft"}
    return files


def reading(*changes: str, system: System = "us") -> Reading:
    checked = written(*changes)
    return Reading(checked=checked, system=system, places=Bound())


@lru_cache(maxsize=32)
def said(sheet: str, *changes: str, system: System = "us") -> str:
    """All words of one sheet's blocks, spaces plain."""
    made = {"walk": walk_round, "safety": safety, "done": done, "near": near, "notice": notice}[sheet].section(
        reading(*changes, system=system)
    )
    text = " ".join(each_word(made.blocks)).replace("\u00a0", " ") if made is not None else ""
    return re.sub(r" ([.,:;])", r"\1", " ".join(text.split()))


def each_word(part: Any) -> Iterator[str]:
    if isinstance(part, str):
        yield part
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from each_word(one)
    elif hasattr(part, "__slots__") and not isinstance(part, type):
        for name in part.__slots__:
            if name not in ("paint", "use", "name", "heights", "acts", "who"):
                yield from each_word(getattr(part, name))


def boxes(blocks: Any) -> Iterator[tuple[WriteIn, Any, int]]:
    """Every box to write in, in order."""
    for block in walked(blocks):
        if isinstance(block, Table):
            for row in block.rows:
                for at, cell in enumerate(row):
                    if isinstance(cell, WriteIn):
                        yield cell, row, at
