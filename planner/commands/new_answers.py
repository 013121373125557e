"""What an answer may be: a key of a file, one of some names, yes or no. Read by what reads the files."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from planner.commands.asking import Unfit, with_unit
from planner.inputs.models import Written
from planner.inputs.models.base import TAGS, Slip, not_one_of
from planner.inputs.names import unknown
from planner.inputs.places import slips_of
from planner.units import System, show_number

Reader = Callable[[str], Any]


def unit_of(dimension: str, system: System) -> str:
    """The unit a bare number is given."""
    return show_number(1.0, dimension, system)[1]


def slips_in(model: type[Written], raw: Mapping[str, Any]) -> list[Slip]:
    """Everything wrong with a mapping as written."""
    try:
        model.model_validate(dict(raw))
    except ValidationError as error:
        return list(slips_of(error))
    return []


def refuse_slips(slips: Iterable[Slip]) -> None:
    """Raises Unfit where there are any."""
    told = tuple(dict.fromkeys((slip.message, slip.remedy) for slip in slips))
    if told:
        raise Unfit(*told)


def key_of(model: type[Written], name: str, unit: str = "", beside: Mapping[str, Any] | None = None) -> Reader:
    """Reads an answer as one key of a model takes it, with what stands `beside` it; gives the text for the file."""

    def read(text: str) -> str:
        given = with_unit(text, unit)
        slips = slips_in(model, {**(beside or {}), name: given})
        refuse_slips(slip for slip in slips if _first(slip) == name)
        return given

    return read


def _first(slip: Slip) -> object:
    return next((step for step in slip.at if step not in TAGS), None)


def choice(names: Sequence[str], what: str = "") -> Reader:
    """Reads one of the names: itself in any case, its number in the list, how it begins, or a word of it."""

    def read(text: str) -> str:
        found = pick(text, names)
        if found is None:
            refuse_slips(unknown(text, names, what, ()) if what else [not_one_of(text, names)])
        assert found is not None
        return found

    return read


def pick(text: str, names: Sequence[str]) -> str | None:
    """The name meant, None where none is or several might be."""
    if text in names:
        return text
    if text.isascii() and text.isdigit() and len(text) < 4 and 1 <= int(text) <= len(names):
        return names[int(text) - 1]
    wanted = loose(text)
    same = [name for name in names if loose(name) == wanted]
    begin = [name for name in names if len(wanted) > 1 and loose(name).startswith(wanted)]
    within = [name for name in names if wanted and f" {wanted} " in f" {loose(name)} "]
    return next((found[0] for found in (same, begin, within) if len(found) == 1), None) if len(same) < 2 else None


def loose(text: str) -> str:
    """A name however its case, its spaces and its joints are written."""
    return " ".join(text.replace("_", " ").replace("-", " ").split()).casefold()


def several(names: Sequence[str], what: str = "") -> Reader:
    """Reads one or more of the names, parted by commas; each once, in the order said. A name may hold commas itself."""
    one = choice(names, what)

    def read(text: str) -> tuple[str, ...]:
        if pick(text, names) is not None:
            return (one(text),)
        return tuple(dict.fromkeys(one(part) for part in _parted(text, names))) or (one(text),)

    return read


def _parted(text: str, names: Sequence[str]) -> list[str]:
    """What stands between the commas, but for those inside a name written whole."""
    parts, found = text.split(","), list[str]()
    while parts:
        ends = (end for end in range(len(parts), 1, -1) if ",".join(parts[:end]).strip() in names)
        end = next(ends, 1)
        found.append(",".join(parts[:end]).strip())
        del parts[:end]
    return [part for part in found if part]


def yes(text: str) -> bool:
    """Reads yes or no."""
    word = text.casefold()
    if word in ("y", "yes", "true", "on"):
        return True
    if word in ("n", "no", "false", "off"):
        return False
    raise Unfit((f"`{text[:40]}` is neither yes nor no", "write `yes` or `no`"))


def numbered(names: Collection[str], notes: Mapping[str, str] | None = None, columns: int = 1) -> tuple[str, ...]:
    """A list to choose from, each with its number."""
    cells = [f"{number:>3} {name}" for number, name in enumerate(names, 1)]
    width = max(map(len, cells), default=0)
    if notes is not None:
        told = [notes.get(name, "") for name in names]
        return tuple(f"{cell:<{width}}  {note}".rstrip() for cell, note in zip(cells, told, strict=True))
    rows = -(-len(cells) // columns)
    lines = ["  ".join(f"{cell:<{width}}" for cell in cells[row::rows]) for row in range(rows)]
    return tuple(line.rstrip() for line in lines)
