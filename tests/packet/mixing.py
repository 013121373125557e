"""Jobs that mix, printed once each and read back: what the mixing half's tests look at."""

from __future__ import annotations

from functools import cache

from pypdfium2 import PdfDocument

from planner.packet.pages.pages import Paper
from planner.units import System
from tests.packet.builders import ACID, INJECTED, ROOF, written
from tests.packet.printing import job_packet, owner_book

WORD = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft"
ATTACK = '<img src="file:///etc/passwd"> {{ 7*7 }} **x** @never'
SHORT = "stock: {lots: {0: {on_hand: 1 gal}}}"
BIG_DIAL = "rig: {dosing: {0: {dial: [[1, 1 %], [2, 2 %]]}}}"
CRYSTALS = """
job:
  surfaces: [{name: deck, kind: bare_wood, area: 300 ft2}]
  hose_runs: [{name: deck, pump: transfer, feed: mix, dosing: premix, hoses: [red], tip: fan, target: 8 ft}]
  chemicals: [{stock: crystals, strength: 3 wt %}]
  near: {control: [berm, pumped_to: lawn]}
"""
THREE = """
rig:
  tanks:
    - {name: water, floor: 0 ft, volume: 100 gal}
    - {name: mix, floor: 0 ft, volume: 50 gal, holds: mix, dead_volume: 1 gal, shape: {kind: box, length: 30 in, width: 20 in, height: 19.25 in}}
    - {name: tub, floor: 0 ft, volume: 30 gal, holds: mix, dead_volume: 0 gal}
job:
  surfaces:
    - {name: front, kind: vinyl, width: 40 ft, height: 18 ft}
    - {name: drive, kind: concrete, area: 900 ft2}
    - {name: step, kind: bare_wood, area: 90 ft2}
  hose_runs:
    - {name: house, pump: booster, feed: water, dosing: panel, hoses: [red], tip: long throw, target: 20 ft, surfaces: [front]}
    - {name: flat, pump: transfer, feed: mix, dosing: premix, hoses: [{bore: 1/2 in, length: 50 ft}], tip: fan, target: 3 ft, surfaces: [drive]}
    - {name: wood, pump: transfer, feed: tub, dosing: premix, hoses: [{bore: 1/2 in, length: 60 ft}], tip: fan, target: 3 ft, surfaces: [step]}
  chemicals:
    - {stock: drum, strength: 0.8 %, surfaces: [front, drive]}
    - {stock: lye, strength: 20 g/L, surfaces: [step]}
    - {stock: suds, dose: 1 fl oz/gal, surfaces: [front]}
  near: {control: [berm, pumped_to: lawn]}
stock:
  lots:
    - {name: drum, chemical: bleach, strength: 12.5 trade %, made: 2026-06-01, kept_at: cool, on_hand: 60 gal}
    - {name: lye, chemical: caustic, strength: 300 g/L, on_hand: 5 gal}
    - {name: suds, chemical: soap, on_hand: 4 gal, bleach_stable: true}
"""
TWELVE = "[" + ", ".join("{bore: 3/4 in, length: 10 ft}" for _ in range(12)) + "]"
FORTY = "\n".join(f"    - {{name: wall {n} by the weir, kind: vinyl, area: 120 ft2}}" for n in range(40))
NAMES = f"""
job:
  job: Smith <Offices> & Sons
  site: {{address: '{ATTACK}'}}
  surfaces:
    - {{name: 'Smith <Offices> & Sons', kind: vinyl, area: 900 ft2}}
    - {{name: '{WORD}', kind: vinyl, area: 900 ft2, trim: [aluminium]}}
    - {{name: '{ATTACK}', kind: vinyl, area: 900 ft2}}
{FORTY}
  near: {{flower_beds: 40 ft2, well: 30 ft, control: [berm, drain_cover, pumped_to: lawn], downspouts: 14}}
  chemicals: [{{stock: '{WORD[:60]}', strength: 0.8 %}}]
stock: {{lots: [{{name: '{WORD[:60]}', chemical: bleach, strength: 12.5 trade %, made: 2026-06-01}}]}}
rig: {{dosing: [{{name: '{WORD[:50]}', kind: metered, pump: booster, dial: [[1, 4 %], [2, 9 %]]}}]}}
"""
# Somebody alone walks longer to the switch and back than metal trim may wait by the table.
NAMES += "company: {limits: {trim_rinse_within: 6 min}}\n"
NAMES += f"day: {{crew: ['{WORD[:40]}']}}\n"

PLACES = {"Safety": "read aloud", "Near the work": "keep the runoff out", "Set up": "at the rig", "Mix": "at the drums",
          "Wash": "at the wall", "Flush and leave": "at the reel", "If it differs": "on site"}  # fmt: skip
CASES = {
    "wash": (),
    "weight percent": ("company: {percent: wt_naocl}",),
    "roof": (ROOF,),
    "spouts": (ROOF, "job: {near: {downspouts: 4}}"),
    "injected": (INJECTED,),
    "acid": (ACID,),
    "crystals": (CRYSTALS,),
    "three": (THREE,),
    "short": (SHORT,),
    "out of dial": (BIG_DIAL,),
    "names": (NAMES, f"job: {{hose_runs: {{0: {{dosing: '{WORD[:50]}', hoses: {TWELVE}}}}}}}"),
    "no stock": ("stock: {lots: []}", "job: {chemicals: [{stock: bleach, strength: 0.8 %}]}"),
    "other heel": (ROOF, "day: {heels: {mix: {stock: oxalic, strength: 5 wt %, volume: 3 gal}}}"),
    "six batches": (ROOF, "job: {surfaces: [{name: slope, kind: asphalt_shingle, squares: 60, soil: heavy}]}", "stock: {lots: {0: {on_hand: 200 gal}}}"),
    "no shape": (ROOF, "rig: {tanks: {1: {shape: null}}}"),
    "nothing near": ("job: {near: null}",),
    "water only": ("job: {chemicals: [], near: null}",),
    "high pressure": ("job: {hose_runs: {0: {pump: washer, dosing: venturi, tip: fan, target: 3 ft}}}",),
}  # fmt: skip
LAID_OUT = ("roof", "names")
LAID_OUT_TOO = ("three", "other heel")
HELD = ("short", "out of dial", "no stock", "other heel")


def printed(case: str, paper: Paper = "letter", system: System = "us") -> bytes:
    """A case's packet, printed once for all tests."""
    return job_packet(written(*CASES[case]), paper=paper, system=system)


def owners(case: str, paper: Paper = "letter", system: System = "us") -> bytes:
    """The same of its owner's file."""
    return owner_book(written(*CASES[case]), paper=paper, system=system).pdf


@cache
def texts(pdf: bytes) -> list[str]:
    """Each page's text in the order it is set, so that columns stay apart; spaces plain."""
    with PdfDocument(pdf) as document:
        return [" ".join(sheet.get_textpage().get_text_range().replace("\u00a0", " ").split()) for sheet in document]


def page(case: str, title: str, system: System = "us") -> str:
    """All pages that one section stands on, as text."""
    return " ".join(text for text in texts(printed(case, "letter", system)) if f" {title} {PLACES[title]}" in text)


def sheet(case: str, role: str, system: System = "us") -> str:
    """All pages of one person, as text: the tab in the head says whose they are."""
    return " ".join(text for text in texts(printed(case, "letter", system)) if text.startswith(f"{role} sheet "))


def crew(pdf: bytes) -> list[str]:
    """The crew's pages, as text."""
    return [text for text in texts(pdf) if "for the owner, not for the crew" not in text]
