"""The kinds of pumps: data/pumps.yaml, a record each. What code asks of a kind of pump it asks of its row."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from functools import lru_cache
from typing import Any, Literal, get_args, get_type_hints

from planner.frozen import dataclass
from planner.inputs.tables.rows import rows


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpKind:
    """One record; the head of the file says what each field means."""

    kind: str
    curve: Literal["bent", "straight", "constant"]
    wears: Literal["head", "flow"]
    relief: Literal["none", "cut_off", "unloader"]
    relief_called: str
    sold_as: list[Mapping[str, Any]]
    driven_by: Literal["motor", "battery", "engine"]
    pulses: bool
    pierces: bool
    stages: bool
    shaft: bool
    inside: str
    prime: str
    bounds: list[Mapping[str, Any]]
    acts: Mapping[str, Mapping[str, str]]
    apart: str
    together: str
    winter: str
    source: str

    @property
    def gives(self) -> tuple[str, ...]:
        """The key of the rig that says what it gives."""
        return ("flow",) if self.curve == "constant" else ("curve",)

    @property
    def plate(self) -> tuple[str, ...]:
        """The keys of the rig that its plate fills, instead of a curve or beside a flow."""
        by_curve = {"constant": ("flow", "pressure"), "straight": ("flow", "shut_off"), "bent": ("shut_off", "best")}
        return by_curve[self.curve]

    @property
    def reliever(self) -> str:
        """What relieves it, without its article."""
        return self.relief_called.partition(" ")[2] or self.relief_called


ON_THE_BENCH = ("stages", "spacers_written", "spacers")
"""Keys of acts that every kind has words of its own for."""


def kind_from(record: Mapping[str, Any]) -> PumpKind:
    """A record as a row. Raises ValueError, which names the field that is left out, unknown, or says what cannot be."""
    hints, told = get_type_hints(PumpKind), record.get("kind", "a pump without a kind")
    wrong = [f"lacks `{field.name}`" for field in fields(PumpKind) if field.name not in record]
    wrong += [f"has no use for `{name}`" for name in record if name not in hints]
    wrong += [f"lacks `acts: {key}`" for key in ON_THE_BENCH if key not in record.get("acts", ON_THE_BENCH)]
    taken = dict(record)
    for name in hints.keys() & record.keys():
        words = ("true", "false") if hints[name] is bool else get_args(hints[name]) if name in _WORDS else ()
        if words and record[name] not in words:
            wrong.append(f"says `{name}: {record[name]}`, which is not one of {', '.join(words)}")
        if hints[name] is bool:
            taken[name] = record[name] == "true"
    # A constant flow is what wears, and has to go somewhere; a curve stands against a shut gun.
    constant = [(name, word) in record.items() for name, word in _CONSTANT.items()]
    if not wrong and any(constant) and not all(constant):
        wrong.append("must say all or none of " + ", ".join(f"`{name}: {word}`" for name, word in _CONSTANT.items()))
    if wrong:
        raise ValueError(f"data/pumps.yaml: {told} {'; '.join(wrong)}")
    return PumpKind(**taken)


_WORDS = ("curve", "wears", "relief", "driven_by")
_CONSTANT = {"curve": "constant", "wears": "flow", "relief": "unloader"}


@lru_cache(maxsize=1)
def pump_kinds() -> Mapping[str, PumpKind]:
    """Every kind by its name in a rig, in the order of the file."""
    return {kind.kind: kind for kind in map(kind_from, rows("pumps"))}


def has_stages(kind: object) -> bool:
    """Whether a kind, as a plan's JSON names it, is a row of stages; one that is no kind any more is none."""
    row = pump_kinds().get(kind) if isinstance(kind, str) else None
    return row is not None and row.stages
