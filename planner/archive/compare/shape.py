"""Whether a record, and what was made of it and its plan, can be told at all: an import may have put anything there.

One row's trouble is that row's. Everything that reads kept JSON does so inside `MALFORMED`, and in one place:
`comparison.compared`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from typing import Any, Final

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
