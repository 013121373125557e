"""Where a new job or rig goes: its workspace, its day and its file, as somebody typed it; nothing is overwritten."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.models import Written
from planner.inputs.models.base import TAGS, Slip, not_one_of
from planner.inputs.reading.files import (
    YAML_ENDINGS,
    file_fault,
    in_working_order,
    is_day,
    is_folder,
    is_there,
    listed_files,
    no_workspace,
    plain_name,
    reserved,
    shown,
)
from planner.inputs.reading.names import items, unknown
from planner.inputs.reading.places import slips_of
from planner.inputs.shelf import Desk
from planner.inputs.workspace import date_of
from planner.interview.asking import Unfit, with_unit
from planner.units import System, show_number

_YARD: Final = 90
_RIGS: Final = "rigs"
_NOT_DAYS: Final = (_RIGS, "records", ".schema")


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """A desk and the place on it: `day` is the folder the job or rig goes into, `stem` its file's name, empty where
    only the folder was named. `dated` where that folder is a day's; `written` as it was typed."""

    desk: Desk
    day: Path
    stem: str
    ending: str
    dated: bool
    system: System
    written: str

    @property
    def workspace(self) -> Path:
        """The folder company.yaml lies in."""
        return self.desk.folder

    @property
    def of_rig(self) -> bool:
        """Whether a rig is asked for, not a job."""
        return self.day == self.workspace / _RIGS

    @property
    def what(self) -> str:
        """What is asked for."""
        return "rig" if self.of_rig else "job"

    @property
    def page(self) -> Path:
        """The day's page, there or not."""
        return self.day / "day.yaml"

    @property
    def asks_day(self) -> bool:
        """Whether the day has no page yet."""
        return self.dated and not is_there(self.page)

    @property
    def numbered(self) -> bool:
        """Whether the name has its place in the day, or needs none."""
        return bool(self.stem) and (not self.dated or re.match(r"[0-9]+-", self.stem) is not None)

    def file(self, stem: str) -> Path:
        """The job's file under a name."""
        return self.day / f"{stem}{self.ending}"

    def raw_rig(self, name: str) -> Mapping[str, Any]:
        """A rig as it is written, empty where it is not."""
        rig = self.desk.rig_named(name)
        return (rig.raw or {}) if rig is not None else {}

    def sprays(self, rig: str) -> bool:
        """Whether a rig's file can be read, and has what a job is sprayed with."""
        raw = self.raw_rig(rig)
        return bool(items(raw, "setups") or items(raw, "hoses"))


def here_of(written: str, units: System | None) -> Here | list[Fault]:
    """The place a path names, or why nothing can be written there."""
    path = Path(written)
    try:
        full = path.absolute().resolve()
    except (OSError, RuntimeError, ValueError):
        return [file_fault("file.unreadable", path, "this cannot be read", "check the name and where its links lead")]
    inside = (full, *full.parents) if is_folder(full) else full.parents
    workspace = next((folder for folder in inside if is_there(folder / "company.yaml")), None)
    if workspace is None:
        remedy = "name a file in a workspace, such as `jobs/2026-06-11/10-alder.yaml`; `planner start DIR` makes one"
        return [no_workspace(path, remedy)]
    alone = is_folder(full) or ((date_of(full) is not None or full == workspace / _RIGS) and not is_there(full))
    ending = full.suffix if full.suffix in YAML_ENDINGS else YAML_ENDINGS[0]
    stem = "" if alone else full.name.removesuffix(ending) if full.suffix in YAML_ENDINGS else full.name
    day = full if alone else full.parent
    if fault := _misplaced(path, workspace, day, stem):
        return [fault]
    desk = Desk(workspace)
    company = desk.company.value
    return Here(
        desk=desk,
        day=day,
        stem=stem,
        ending=ending,
        dated=date_of(day) is not None or is_day(day),
        system=units or (company.units if company is not None else "us"),
        written=written,
    )


def _misplaced(path: Path, workspace: Path, day: Path, stem: str) -> Fault | None:
    example = "name a day's folder and the job, such as `2026-06-11/10-alder.yaml`"
    inside = day.relative_to(workspace).parts if day.is_relative_to(workspace) else ()
    if day == workspace / _RIGS:
        return _rig_misplaced(path, workspace, stem)
    if not stem and date_of(day) is None and not is_day(day):
        return file_fault("file.folder", path, "this folder is not a day", example)
    if any(part in _NOT_DAYS for part in inside):
        return file_fault("new.place", path, f"the planner looks for no job in the folder `{inside[0]}`", example)
    if stem == "day":
        return file_fault("new.place", path, "this is the day's own page", f"{example}; a new day is asked for with it")
    if (wrong := name_fault(stem)) and stem:
        return file_fault("new.name", path, wrong[0], wrong[1])
    if not is_folder(day) and (is_there(day) or date_of(day) is None):
        message = "this is not a folder" if is_there(day) else "there is no such folder, and its name is not a date"
        return file_fault("new.place", day, message, "name a day's folder by its date, such as `2026-06-11`")
    return taken(day, stem) if stem else None


def _rig_misplaced(path: Path, workspace: Path, stem: str) -> Fault | None:
    rigs = workspace / _RIGS
    if is_there(rigs) and not is_folder(rigs):
        return file_fault("new.place", rigs, "this is not a folder", "rename this file: rigs go in such a folder")
    if not stem:
        return None
    if wrong := name_fault(stem):
        return file_fault("new.name", path, wrong[0], "use letters, digits, spaces, dots and dashes, such as `heron`")
    return taken(rigs, stem)


def taken(day: Path, stem: str) -> Fault | None:
    """The fault of a name that is taken already; a rig's is however its case and spaces are written."""
    if day.name == _RIGS:
        files = [path for path in listed_files(day) if path.suffix in YAML_ENDINGS]
        found = next((path for path in files if plain_name(path.stem) == plain_name(stem)), None)
        other = f"{stem}-2"
    else:
        found = next((file for ending in YAML_ENDINGS if is_there(file := day / f"{stem}{ending}")), None)
        other = f"{next_number(day)}-{bare(stem)}-2"
    if found is None:
        return None
    remedy = f"open it in an editor, or name another, such as `{other}`"
    return file_fault("new.exists", found, "this file is there already, and nothing is overwritten", remedy)


def name_fault(stem: str) -> tuple[str, str] | None:
    """What is wrong with a file's name, and what to write; None where nothing is."""
    remedy = "use letters, digits, spaces, dots and dashes, such as `10-alder`"
    if not re.fullmatch(r"\w[\w .-]*", stem) or stem != stem.strip():
        return f"`{shown(Path(stem[:60]))}` cannot be a job's name", remedy
    if len(stem.encode("utf-8", "replace")) > 120:
        return f"this name is {len(stem)} characters long", "keep a file's name under 100"
    if over := reserved(stem):
        return f"the packet of `{stem}` would be printed over {over}", remedy
    if re.search(r"\.(record|draft)(\.|$)", stem):
        return f"`{stem}` would be taken for a record or a draft", remedy
    return None


def next_number(day: Path, *, yard: bool = False) -> int:
    """The next free leading number of a day: a ten above the last; yard jobs come last, from 90 on."""
    taken = [int(path.name.partition("-")[0][:9]) for path in in_working_order(day)]
    last = max((number for number in taken if number < _YARD), default=0)
    free = max(last // 10 * 10 + 10, _YARD if yard else 0)
    return free if free not in taken and (yard or free < _YARD) else max(taken) // 10 * 10 + 10


def bare(stem: str) -> str:
    """A name without its number."""
    return re.sub(r"^[0-9]+-", "", stem) or "job"


def slug(title: str) -> str:
    """A file's name made of a job's: its first words, lower case, joined by dashes."""
    words = re.findall(r"\w+", title.casefold().replace("_", " "))
    joined = ""
    for word in words[:4]:
        if joined and len(f"{joined}-{word}") > 28:
            break
        joined = f"{joined}-{word}" if joined else word[:28]
    return joined or "job"


# ------------------------------------------------------------ answers
# What an answer may be: a key of a file, one of some names, yes or no. Read by what reads the files.


Reader = Callable[[str], Any]


def command(name: str, path: str) -> str:
    """A call of the planner as somebody would type it."""
    return f"planner {name} {shlex.quote(path)}"


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


@dataclass(frozen=True, slots=True)
class Choice:
    """Reads one of the names: itself in any case, its number in the list, how it begins, or a word of it.

    `what` they are, for what is no such thing; `meant` turns what was typed into the spelling the names have.
    """

    names: tuple[str, ...]
    what: str = ""
    meant: Callable[[str], str] = str

    def __call__(self, text: str) -> str:
        """The name meant. Raises Unfit."""
        text = text if text in self.names else self.meant(text)
        found = pick(text, self.names)
        if found is None:
            refuse_slips(unknown(text, self.names, self.what, ()) if self.what else [not_one_of(text, self.names)])
        assert found is not None
        return found


def choice(names: Sequence[str], what: str = "") -> Choice:
    """Reads one of the names."""
    return Choice(tuple(names), what)


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
