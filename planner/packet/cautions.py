"""What the crew must do about a caution: an act, and the sheet it is done on; what is only the owner's is left out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from string import Formatter
from typing import Any

from planner.checks.model import CheckedJob, Finding
from planner.frozen import dataclass
from planner.packet.blocks import Block, Caution, Section, Step, said
from planner.units import System
from planner.words import spoken as words

MOST_CAUTIONS = 3
RIG_CARD, HELD = "rig_card", "held"
SHEETS = {
    "walk_round": "Walk-around", "set_up": "Set up", "mix": "Mix", "wash": "Wash", "grounds": "Grounds",
    "flush": "Flush", "near": "Near the work", "yard_test": "Test", "yard_bath": "Bath", "yard_up": "Build up",
}  # fmt: skip
"""Where an act is done, by the key of its section, and what the card calls it."""

# Who or what an act left out would harm, worst first (common practice, no source): people, then water, wall and pump.
# A code, or a code and a case of it.
_FIRST = (
    "mix.reaction", "site.power_line", "power.gfci", "supply.backflow", "mix.heel", "flush.needed", "site.ladder",
    "line.reaction", "line.rating", "pump.shut_off", "mix.surface", "runoff.water_life", "runoff.drain",
    "flush.needed for_life", "flush.needed inlet", "weather.wind",
    "weather.freeze", "weather.heat", "weather.rain", "weather.rinse", "reach.short", "supply.dry", "supply.pressure",
    "pump.wear", "pump.suction", "pump.curve", "mix.reach", "mix.strength", "power.current",
)  # fmt: skip
_INSTEAD = {"near": "grounds", "mix": "set_up", "grounds": "wash", "flush": "wash", "wash": "set_up",
            "walk_round": "set_up", "yard_bath": "yard_test", "yard_up": "yard_test"}  # fmt: skip
"""The sheet that takes an act in where a job has no sheet of its own for it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToDo:
    """One caution as an act: its words, the key of its sheet, whether that has yet to be told, and a box for it.

    `step` is the `what` of the act that does it, where one does: of a mark or a reading, or what a spray is for.
    """

    act: str
    at: str
    put: bool
    tick: bool
    step: str
    finding: Finding


def card_of(finding: Finding) -> str | Mapping[str, Any]:
    """What data/findings.yaml has of a caution for the card: one of the three words, or its act and sheet."""
    row = words.wording()[finding.code].get("card", {})
    found: str | Mapping[str, Any] | None = row if isinstance(row, str) else row.get(finding.case)
    if found is None or (found == HELD and finding.level == "caution"):
        # A test refuses this; if it comes to it all the same, the crew sees it.
        return {"act": f"Ask the office: {words.title(finding.code)}", "at": "set_up"}
    return found


def cautions(checked: CheckedJob, system: System) -> list[ToDo]:
    """The acts of the cautions that are open, what hurts people first; each once, however much it is about."""
    told: dict[tuple[str, str], ToDo] = {}
    for finding in sorted(_together(checked.findings), key=_rank):
        given = card_of(finding)
        if isinstance(given, str):
            continue
        act = words.filled(str(given["act"]), finding, system).replace("`", "")
        key = (act, str(given["at"]))
        put, tick = (bool(given.get(word)) for word in ("put", "tick"))
        told.setdefault(
            key, ToDo(act=act, at=key[1], put=put, tick=tick, step=str(given.get("step", "")), finding=finding)
        )
    return list(told.values())


def _together(findings: Iterable[Finding]) -> list[Finding]:
    """The open cautions; those whose acts differ in one name are one: `red 1, red 2`."""
    kept: list[Finding] = []
    for finding in findings:
        if finding.level != "caution" or finding.accepted is not None:
            continue
        given = card_of(finding)
        fields = (
            set() if isinstance(given, str) else {name for _, name, _, _ in Formatter().parse(given["act"]) if name}
        )
        for n, other in enumerate(kept):
            if (other.code, other.case) != (finding.code, finding.case):
                continue
            differ = [name for name in fields if other.values[name] != finding.values[name]]
            one, more = (other.values[differ[0]], finding.values[differ[0]]) if len(differ) == 1 else ("", "")
            if isinstance(one, str) and isinstance(more, str) and one and more:
                named = one if more in one.split(", ") else f"{one}, {more}"
                kept[n] = replace(other, values={**other.values, differ[0]: named})
                break
        else:
            kept.append(finding)
    return kept


def _rank(finding: Finding) -> int:
    own = f"{finding.code} {finding.case}"
    names = [name for name in (own, finding.code) if name in _FIRST]
    return _FIRST.index(names[0]) if names else len(_FIRST)


def sheet_of(at: str, sheets: Iterable[str]) -> str:
    """The sheet an act is done on among those a job has; empty where none takes it."""
    has = set(sheets)
    while at and at not in has:
        at = _INSTEAD.get(at, "")
    return at


def with_cautions(sections: list[Section], checked: CheckedJob, system: System) -> list[Section]:
    """The sections, each with the acts at its head that no step of it says."""
    keys = [section.key for section in sections]
    lines: dict[str, list[Block]] = {}
    for one in cautions(checked, system):
        at = sheet_of(one.at, keys)
        if at and (one.put or at != one.at):
            words = said(f"{one.act}.")
            lines.setdefault(at, []).append(Step(spans=words) if one.tick else Caution(spans=words))
    return [replace(section, blocks=(*lines.get(section.key, ()), *section.blocks)) for section in sections]
