"""A rig as YAML: an item a line, and above each part what its figures are for and how to measure them truer."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from typing import Any, Final

from planner.interview.answers import Here
from planner.interview.text import WIDEST, Written, flow_text, schema_path

_HEAD: Final = "# One rig, off plates and prints, question by question. What is left out is unknown."
_NOTES: Final = {
    "tanks": "`volume` is full to the rim; `floor` the inside floor above the ground, for suction and siphon. With a "
    "`shape`, inside, pours are given in inches. Truer: `dead_volume: 2 gal`, what stays below the outlet.",
    "pumps": "Off its plate a pump may be a tenth short. Truer: `curve: [[0 gpm, 70 psi], [4 gpm, 66 psi]]` in place "
    "of the plate. Gun shut, read the gauge; close a valve a little, read it again, time a bucket.",
    "hoses": "`bore` is the inside: a hose sold as 5/8 in that is 0.600 in loses a fifth more. `rated` is the working "
    "pressure printed on it. Couplings count: bleach spoils brass, and acid goes through no metal.",
    "tips": "`orifice` is the hole, by drill bit; or a rated `flow` and `at`; or `size`, gpm at 4000 psi. A worn tip "
    "gives more and reaches less: time a bucket at a known gauge.",
    "dosing": "A panel's dial is the share of stock in the flow at each mark, by bucket. `at` has the levels of that "
    "test; `again` is one mark near empty. An injector's ratio holds up to the gauge of its test, `full_draw`.",
    "setups": "Ready combinations, so that a job need only name one, such as `setup: house`. `rinse_tip` and `cleaner` "
    "are tips it changes to.",
    "supply_hose": "From the customer's faucet; without `backflow` a run fed straight from it is held.",
    "power": "What feeds pumps on a plug or a battery; a motor on house power without a GFCI is a stop.",
    "carried": "What rides along; stock aboard without eyewash is a stop.",
    "weights": "`empty` at a scale with dry tanks and all gear aboard; `rated` is on the plate.",
}


def rig_file(here: Here, stem: str, rig: Mapping[str, Any]) -> Written:
    """The rig's file as it was answered."""
    schema = schema_path(here.workspace, here.day, "rig")
    lines = [_HEAD, *([f"# yaml-language-server: $schema={schema}"] if schema else [])]
    for name, value in rig.items():
        lines += (f"# {line}" for line in textwrap.wrap(_NOTES.get(name, ""), 78))
        lines += _part(name, value)
    if "weights" not in rig:
        lines.append("# Not weighed, so no load is checked. `weights: {empty: 3200 lb, rated: 7000 lb}`")
    return Written(file=here.file(stem), text="\n".join(lines) + "\n")


def _part(name: str, value: Any) -> Iterator[str]:
    if isinstance(value, list):
        yield f"{name}:"
        for item in value:
            yield from _folded("  - ", item)
    elif isinstance(value, Mapping):
        yield from _folded(f"{name}: ", value)
    else:
        yield f"{name}: {flow_text(value)}"


def _folded(start: str, item: Mapping[str, Any]) -> Iterator[str]:
    """A mapping on one line, or on as few as hold it."""
    line, indent = start + "{", " " * (5 if start.startswith(" ") else len(start) + 1)
    entries = [flow_text({name: value})[1:-1] for name, value in item.items()]
    for place, entry in enumerate(entries):
        end = "}" if place == len(entries) - 1 else ","
        joined = f"{line} {entry}{end}" if line.endswith(",") else f"{line}{entry}{end}"
        if len(joined) > WIDEST and line.endswith(","):
            yield line
            joined = f"{indent}{entry}{end}"
        line = joined
    yield line
