"""Whether JSON that was kept can be told at all: an import may have put anything there, and an older version less.

What a record has to have is its type. A plan is held to what is read of it: everything that reads one out of an archive
does so inside `MALFORMED`, in `archive/compare/comparison.py` and `recording/packet_plan.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any, Final, Literal, NotRequired, get_args, get_origin, get_type_hints, is_typeddict

from planner.contract.record import RecordJson

MALFORMED: Final = (LookupError, TypeError, ValueError, AttributeError, ArithmeticError, RecursionError)
"""What Python raises on JSON of another shape than ours: a key or item missing, another type, no number, no end."""

MOST: Final = 1e12
"""No figure in SI comes near it (our choice)."""


def record_of(content: Any) -> RecordJson:
    """A record as it was kept. Raises one of MALFORMED where it is of another shape."""
    _holder(RecordJson)(content)
    record: RecordJson = content
    if any(mix["number"] < 1 for mix in record["mixes"]):
        raise ValueError(record["mixes"])
    return record


@lru_cache(maxsize=64)
def _holder(kind: Any) -> Callable[[Any], None]:
    """What raises one of MALFORMED for a value that is not of a type of the contract; more keys than it has may be."""
    of = get_args(kind)
    if is_typeddict(kind):
        hints = get_type_hints(kind, include_extras=True)
        keys = [
            (name, True, _holder(get_args(one)[0])) if get_origin(one) is NotRequired else (name, False, _holder(one))
            for name, one in hints.items()
        ]

        def hold(value: Any) -> None:
            for name, may, inner in keys:
                if not may or name in value:
                    inner(value[name])

    elif get_origin(kind) is list:
        inner = _holder(of[0])

        def hold(value: Any) -> None:
            if not isinstance(value, list):
                raise TypeError(value)
            for one in value:
                inner(one)

    elif type(None) in of:
        inner = _holder(of[0])

        def hold(value: Any) -> None:
            if value is not None:
                inner(value)

    elif get_origin(kind) is Literal:

        def hold(value: Any) -> None:
            if value not in of:
                raise ValueError(value)

    else:
        plain = (int, float) if kind is float else kind
        within = hold_words if kind is str else hold_numbers

        def hold(value: Any) -> None:
            if not isinstance(value, plain):
                raise TypeError(value)
            within((value,))

    return hold


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
