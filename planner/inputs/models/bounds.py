"""What a figure can be and what it usually is: data/bounds.yaml held against every key of every model."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from functools import lru_cache
from typing import Any, Final

from pydantic import BaseModel

from planner.faults import Where
from planner.frozen import dataclass
from planner.inputs.reading.tree import Node
from planner.inputs.tables.pumps import pump_kinds
from planner.inputs.tables.rows import rows
from planner.units import DIMENSIONS, Bucket, Unreadable, read

_SLACK: Final = 1e-9
"""An end itself passes, however its conversion rounds."""

Steps = tuple[int | str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """One row: the ends of what is `possible` and of what is `usual`, in SI, and the texts they were written as."""

    key: str
    of: tuple[str, ...]
    dimension: str
    possible: tuple[float, float]
    usual: tuple[float, float]
    texts: Mapping[str, tuple[str, str]]
    source: str

    def holds(self, value: float, ends: tuple[float, float]) -> bool:
        """Whether a value lies between two ends."""
        least, most = ends
        return least - _SLACK * abs(least) <= value <= most + _SLACK * abs(most)


def _end(text: str, dimension: str) -> float:
    if dimension == "date":
        return float(datetime.date.fromisoformat(text).toordinal())
    if dimension == "clock":
        hours, minutes = text.split(":")
        return int(hours) * 3600.0 + int(minutes) * 60.0
    if dimension in DIMENSIONS or dimension in ("gauge", "pitch", "squares"):
        return read(text, dimension)
    return read(text.partition(" ")[0], "number")  # a strength: its percent is the dimension


@lru_cache(maxsize=1)
def bound_rows() -> tuple[Bound, ...]:
    """Every row, in the order of the files."""
    found = []
    of_pumps = [{**row, "of": [kind.kind]} for kind in pump_kinds().values() for row in kind.bounds]
    for row in rows("bounds") + of_pumps:
        texts = {name: (row[name][0], row[name][1]) for name in ("possible", "usual")}
        ends = {name: (_end(one, row["dimension"]), _end(two, row["dimension"])) for name, (one, two) in texts.items()}
        found.append(
            Bound(
                key=row["key"],
                of=tuple(row.get("of", ())),
                dimension=row["dimension"],
                possible=ends["possible"],
                usual=ends["usual"],
                texts=texts,
                source=row["source"],
            )
        )
    return tuple(found)


@lru_cache(maxsize=2048)
def bounds_of(key: str, names: tuple[str, ...]) -> Mapping[str, Bound]:
    """The rows of a key by dimension: those for one of `names`, in their order, go before those for any."""
    found: dict[str, Bound] = {}
    for name in (*names, None):
        for row in bound_rows():
            if row.key == key and (name in row.of if name is not None else not row.of):
                found.setdefault(row.dimension, row)
    return found


def figures(value: Any, *, whole: bool = False) -> Iterator[tuple[Steps, str | None, float]]:
    """Every figure of a key's value: the steps to it, its dimension (None: the key's own), the figure in SI.

    `whole`: the value was one text, so that all its figures stand where it does.
    """
    if isinstance(value, bool) or value is None:
        return
    if isinstance(value, int | float):
        yield (), None, float(value)
    elif isinstance(value, datetime.date):
        yield (), "date", float(value.toordinal())
    elif isinstance(value, Bucket):
        yield (), "volume", value.volume
        yield (), "time", value.seconds
        yield (), "flow", value.flow
    elif isinstance(value, tuple):
        for place, one in enumerate(value):
            for steps, dimension, figure in figures(one):
                yield (() if whole else (place, *steps)), dimension, figure
    elif isinstance(value, dict):
        for name, one in value.items():
            for steps, dimension, figure in figures(one):
                yield (name, *steps), dimension, figure
    elif (basis := getattr(value, "basis", None)) is not None:
        yield (), str(basis), float(value.amount)
    else:
        for at, (name, dimension) in _PARTS.items():
            part = getattr(value, name, None)
            if isinstance(part, int | float) and type(value).__name__ == at[0]:
                yield at[1:], dimension, float(part)


_PARTS: Final[Mapping[tuple[Any, ...], tuple[str, str]]] = {
    ("CurvePoint", 0): ("flow", "flow"),
    ("CurvePoint", 1): ("pressure", "pressure"),
    ("CurvePoint", 1, ""): ("head", "head"),
    ("Best",): ("flow", "flow"),
    ("Best", ""): ("pressure", "pressure"),
    ("Best", "", ""): ("head", "head"),
    ("DialPoint", 0): ("setting", "number"),
    ("DialPoint", 1): ("share", "fraction"),
    ("Amount",): ("volume", "volume"),
    ("Amount", ""): ("mass", "mass"),
    ("Rain",): ("chance", "fraction"),
    ("Rain", ""): ("start", "clock"),
    ("Every",): ("hours", "time"),
    ("Every", ""): ("months", "number"),
}
"""Where the figures of a value of several parts stand below it, and what they are; a blank step leads nowhere."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Off:
    """A figure outside of one of its bounds: `steps` below its key, `text` as written, `meant` what it may be."""

    steps: Steps
    bound: Bound
    text: str
    meant: str | None


def off(key: str, value: Any, written: Any, names: tuple[str, ...], which: str) -> Iterator[Off]:
    """Every figure of a key outside of its `possible` or of its `usual` ends; one for each place."""
    bounds = bounds_of(key, names)
    if not bounds:
        return
    told: set[Steps] = set()
    for blank, dimension, figure in figures(value, whole=isinstance(written, str)):
        bound = next(iter(bounds.values())) if dimension is None else bounds.get(dimension)
        steps = tuple(step for step in blank if step != "")
        if bound is None or steps in told:
            continue
        text = _text(written, steps)
        if bound.holds(figure, getattr(bound, which)) and not (which == "possible" and is_stamp(key, text)):
            continue
        told.add(steps)
        yield Off(steps=steps, bound=bound, text=text, meant=_meant(text, bound))


def is_stamp(key: str, text: str) -> bool:
    """Whether a tip's `size` was taken whole off its stamp, the angle with it; of `0040` both ways come to 40."""
    return key == "size" and re.fullmatch(r"(?!00)[0-9]{4,5}", text) is not None


def of_stamp(text: str) -> tuple[str, str]:
    """What is wrong with a stamp as a size, and what to do: two digits of angle, then two of size."""
    message = f"`{text}` is an angle and a size in one"
    if len(text) == 4 and int(text[2:]):
        told = f"of `{text}` the first two digits are the angle, and the size is `{int(text[2:])}`"
        return message, f"write the size alone: {told}"
    return message, "write the size alone from the maker's table, or the `flow` it has there and `at` what pressure"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unusual:
    """A figure that can be meant and seldom is: `path` to it, `of` what it stands in, both ends of the usual."""

    path: str
    key: str
    of: str
    text: str
    least: str
    most: str
    meant: str | None
    where: Where


def unusual(value: Any, node: Node | None, path: str = "") -> Iterator[Unusual]:
    """Every unusual figure of a model, a list or mapping of models, at its place in the file."""
    if node is None:
        return
    below = node.value if isinstance(node.value, Mapping) else {}
    if isinstance(value, BaseModel):
        names = _names(value)
        for name, child in below.items():
            if name in type(value).model_fields:
                one = getattr(value, name)
                inner = f"{path}.{name}" if path else name
                yield from unusual(one, child, inner)
                for figure in off(name, one, child.plain(), names, "usual") if bounds_of(name, names) else ():
                    least, most = figure.bound.texts["usual"]
                    yield Unusual(
                        path=inner + "".join(f"[{s}]" if isinstance(s, int) else f".{s}" for s in figure.steps),
                        key=name,
                        of=getattr(value, "name", None) or names[-1],
                        text=figure.text,
                        least=least,
                        most=most,
                        meant=figure.meant,
                        where=child.key or child.where,
                    )
    elif isinstance(value, dict):
        for name, child in below.items():
            yield from unusual(value.get(name), child, f"{path}.{name}")
    elif isinstance(value, tuple) and isinstance(node.value, tuple):
        for place, (one, child) in enumerate(zip(value, node.value, strict=False)):
            yield from unusual(one, child, f"{path}[{place}]")


def _names(value: BaseModel) -> tuple[str, ...]:
    named: Any = getattr(type(value), "bound_names", None)
    found: tuple[str, ...] = named(value.__dict__) if named is not None else ("",)
    return found


def _text(written: Any, steps: Steps) -> str:
    for step in steps:
        try:
            written = written[step]
        except (KeyError, IndexError, TypeError):
            break
    return str(written)[:60]


def _meant(text: str, bound: Bound) -> str | None:
    """What was likely meant: a point one to three places on, or the same number in another unit."""
    match = re.fullmatch(r"(-?[0-9][0-9,./ ]*?|\.[0-9]+)( ?[A-Za-z%°\"'].*)?", text)
    if match is None or bound.dimension in ("date", "clock"):
        return None
    number, unit = match[1], match[2] or ""
    tries = [f"{number} {other}" for other in _UNITS.get(bound.dimension, ())]
    with suppress(ValueError):
        value = float(number.replace(",", ""))
        moved = [value * by for by in (0.1, 10.0, 0.01, 100.0, 0.001, 1000.0)]
        near = [f"{round(one, 6):,.10g}{unit}" if abs(one) >= 10000 else f"{round(one, 6):.10g}{unit}" for one in moved]
        tries = [*tries, *near] if bound.dimension in ("temperature", "time") else [*near, *tries]
    for one in tries:
        with suppress(Unreadable, ValueError):
            if one != text and bound.holds(_end(one, bound.dimension), bound.usual):
                return one
    return None


_UNITS: Final[Mapping[str, Sequence[str]]] = {
    "bore": ("in", "mm"),
    "length": ("in", "ft", "m", "cm", "mm"),
    "height": ("in", "ft", "m", "cm"),
    "area": ("ft2", "m2"),
    "volume": ("gal", "L", "fl oz"),
    "flow": ("gpm", "L/min"),
    "pressure": ("psi", "bar"),
    "head": ("ft", "m"),
    "temperature": ("F", "C"),
    "power": ("W", "kW", "hp"),
    "time": ("min", "h", "s"),
    "mass": ("lb", "kg"),
}
