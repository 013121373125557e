"""Whether a record, and what was made of it and its plan, can be told at all: an import may have put anything there.

One row's trouble is that row's. Everything that reads kept JSON does so inside `MALFORMED`, and in one place:
`comparison.compared`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from planner.inputs.tables.rows import table
from planner.units import DIMENSIONS, Toward, read

MALFORMED: Final = (LookupError, TypeError, ValueError, AttributeError, ArithmeticError, RecursionError)
"""What Python raises on JSON of another shape than ours: a key or item missing, another type, no number, no end."""

MOST: Final = 1e12
"""No figure in SI comes near it (our choice)."""

_NUMBERS: Final[Mapping[str, tuple[str, ...]]] = {
    "times": ("arrived_s", "first_mix_s", "flushed_s", "left_s"),
    "water": ("used_m3",),
    "flush": ("residual_mg_per_l", "ph"),
}
_ROWS: Final[Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]] = {
    "readings": (
        ("run",),
        ("gauge_open_pa", "gauge_closed_pa", "bucket_m3", "bucket_s", "jet_m", "throw_m", "standoff_m"),
    ),
    "mixes": ((), ("number", "dial", "batches", "stock_m3", "stock_kg", "mix_m3", "left_m3", "water_m3")),
    "sides": (("surface", "run"), ("wet_m3", "mix_m3", "dwell_s", "rinse_m3")),
    "lots": (("lot",), ("on_hand_m3", "on_hand_kg")),
}
_UNITS: Final = ("_pa", "_m", "_m3", "_s")
_WORDS: Final = ("signed", "deviations", "after", "callbacks", "cost")


def hold_record(record: Any) -> None:
    """Nothing where a record has the shape `record_json` gives it. Raises one of MALFORMED."""
    for key, names in _NUMBERS.items():
        part = record[key]
        hold_numbers(part[name] for name in names)
        hold_numbers(part.values())
    for key, (words, names) in _ROWS.items():
        for row in record[key]:
            hold_words(row[word] for word in words)
            hold_numbers(row[name] for name in names)
    for tested in (*(mix["stock_test"] for mix in record["mixes"]), *(lot["test"] for lot in record["lots"])):
        if tested is not None:
            hold_words((tested["basis"],))
            hold_numbers((tested["amount"], tested["g_per_l"]))
    for mix in record["mixes"]:
        hold_words((mix["lot"],))
        if not isinstance(mix["number"], int) or mix["number"] < 1:
            raise ValueError(mix["number"])
    hold_words(record[word] for word in _WORDS)
    if record["pump"] is not None:
        hold_numbers(record["pump"][name] for name in ("bath_s", "throw_before_m", "throw_after_m", "gauge_closed_pa"))
        hold_numbers(value for name, value in record["pump"].items() if name.endswith(_UNITS))
        hold_lists(record["pump"][name] for name in ("replaced", "spacers"))


def hold_numbers(values: Iterable[Any], *, least: float = -MOST, most: float = MOST) -> None:
    """Nothing where each is a number from `least` to `most`, a truth value, or None. Raises one of MALFORMED."""
    for value in values:
        if value is not None and not least <= value <= most:  # nor is what is no number
            raise ValueError(value)


def hold_words(values: Iterable[Any]) -> None:
    """Nothing where each is text that can be written out, or None. Raises one of MALFORMED."""
    for value in values:
        if value is not None:
            if not isinstance(value, str):
                raise TypeError(value)
            if not value.isascii():
                value.encode("utf-8")  # half of a surrogate pair is no letter


def hold_lists(values: Iterable[Any]) -> None:
    """Nothing where each is a list. Raises TypeError."""
    for value in values:
        if not isinstance(value, list):
            raise TypeError(value)


def date_of(text: Any) -> datetime.date | None:
    """An ISO date; None for anything else."""
    try:
        return datetime.date.fromisoformat(text)
    except (TypeError, ValueError):
        return None


# ------------------------------------------------------------ figures
# Which figures are compared, how far apart they may lie, and what is learned: data/compare.yaml in SI.


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One compared figure: `low` and `high` shares [-] of the planned one, None where the plan has its own band.

    `least` [SI of its dimension] is never called a difference. `paper` is the side the packet rounds the planned one
    to.
    """

    name: str
    of: str
    words: str
    dimension: str
    low: float | None
    high: float | None
    least: float
    source: str
    paper: Toward = "near"


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseRow:
    """A likely cause: the figures it explains with the signs they have, and what else must be so.

    `worked`: only where a pump was worked on, or only where it was not; None: either way. `yard`: only of yard jobs.
    """

    name: str
    of: Mapping[str, frozenset[str]]
    when: Mapping[str, frozenset[str]]
    says: str
    worked: bool | None = None
    yard: bool = False


@lru_cache(maxsize=1)
def figures() -> Mapping[str, Figure]:
    """Every figure by name, in the order they are told."""
    return {
        row["name"]: Figure(
            name=row["name"],
            of=row["of"],
            words=row["words"],
            dimension=row["dimension"],
            low=_share(row["low"]),
            high=_share(row["high"]),
            least=read(row["least"], row["dimension"]) if "least" in row else 0.0,
            source=row["source"],
            paper=row.get("paper", "near"),
        )
        for row in table("compare")["figures"]
    }


def most_of(figure: str) -> float:
    """The most [SI] that can be meant of a figure, as wherever its dimension is written."""
    kind = DIMENSIONS.get(figures()[figure].dimension)
    return kind.most if kind is not None else MOST


@lru_cache(maxsize=1)
def causes() -> tuple[CauseRow, ...]:
    """The likely causes; the first that fits is meant."""
    return tuple(
        CauseRow(
            name=row["name"],
            of=_signs(row["of"]),
            when=_signs(row["when"]),
            says=row["says"],
            worked=row["worked"] == "yes" if "worked" in row else None,
            yard=row.get("yard") == "yes",
        )
        for row in table("compare")["causes"]
    )


def learning(name: str, key: str) -> float:
    """One figure [-] of how learning goes."""
    return read(table("compare")["learning"][name][key], "number")


def _share(text: str) -> float | None:
    return None if text == "plan" else read(text, "number")


def _signs(row: Mapping[str, Any]) -> Mapping[str, frozenset[str]]:
    return {name: frozenset(text.split()) for name, text in row.items()}
