"""The answers as YAML: what fits on one line stands on one, what might be taken for a mark is quoted."""

from __future__ import annotations

import json
import os
import re
import unicodedata
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from planner.frozen import dataclass
from planner.inputs.models import Job
from planner.inputs.reading.addresses import same_place, telling_word
from planner.inputs.reading.files import in_working_order, is_day, listed_files, read_file
from planner.inputs.reading.like import merged
from planner.inputs.reading.names import items
from planner.inputs.reading.places import Refused, made
from planner.inputs.reading.sizes import surface_names
from planner.inputs.reading.tree import Tree, parse_tree
from planner.interview.answers import Here
from planner.writing import read_ordinary

WIDEST: Final = 100

_SAFE: Final = re.compile(r"(?:-(?=[0-9]))?[^\W_](?:[\w ./%'()+;°²³-]*[\w./%'()+;°²³])?")
_MEANT_OTHERWISE: Final = re.compile(r"(y|n|yes|no|on|off|true|false|null|nan|inf)", re.I)

_COMMENTS: Final = {
    "like": "what is left out here is taken from it",
    "building": "the highest point the mix must reach",
    "uphill": "the ground at the tip is this far above the ground at the rig",
    "standoff": "from the tip to the wall",
    "past_eave": "from the wall line to where the mix must land",
    "tap": "a bucket under the open tap",
    "access": "`power_line` is the closest any wall, ladder, wand or jet comes to one",
    "tub": "how much bath is made; the tub itself holds more",
    "throw": "paced before, to compare with the throw after",
    "heels": "what is left in a tank tonight; a mix tank without a line here is dry",
}

JOB: Final = "# Written question by question. Everything left out has a default, and the packet says which."
DAY: Final = "# A day: one rig, one crew, the jobs in this folder in the order of their leading numbers."


def file_text(raw: Mapping[str, Any], head: str, schema: str | None) -> str:
    """A whole file; `schema` is its schema's path from the file."""
    lines = [head, *([f"# yaml-language-server: $schema={schema}"] if schema else [])]
    for name, value in raw.items():
        lines += _key(name, value)
    return "\n".join(lines) + "\n"


def schema_path(workspace: Path, folder: Path, name: str) -> str | None:
    """A schema's path as a file in `folder` names it, None where the workspace has none."""
    schema = workspace / ".schema" / f"{name}.json"
    return Path(os.path.relpath(schema, folder)).as_posix() if schema.is_file() else None


def _key(name: str, value: Any) -> list[str]:
    if isinstance(value, list) and any(isinstance(item, Mapping) for item in value):
        return [f"{name}:", *(line for item in value for line in _item(item))]
    one = f"{name}: {flow_text(value)}"
    if isinstance(value, Mapping) and value and len(one) > WIDEST:
        return [f"{name}:", *(f"  {_text(key)}: {flow_text(inner)}" for key, inner in value.items())]
    note = _COMMENTS.get(name)
    if note is None or (name == "access" and "power_line" not in value):
        return [one]
    return [f"{one:<34} # {note}"]


def _item(value: Any) -> list[str]:
    one = f"  - {flow_text(value)}"
    if isinstance(value, Mapping) and len(one) > WIDEST:
        lines = [f"    {_text(key)}: {flow_text(inner)}" for key, inner in value.items()]
        return [f"  - {lines[0].strip()}", *lines[1:]]
    return [one]


def flow_text(value: Any) -> str:
    """A value on one line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_text(name)}: {flow_text(inner)}" for name, inner in value.items()) + "}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(map(flow_text, value)) + "]"
    return _text(str(value))


def _text(text: str) -> str:
    # Our own reader takes every scalar as text; an editor would see a truth or nothing in some words.
    safe = _SAFE.fullmatch(text) and not (_MEANT_OTHERWISE.fullmatch(text) and text not in ("true", "false"))
    return text if safe else json.dumps(text, ensure_ascii=False)


# ------------------------------------------------------------ earlier
# An earlier job at the same address, to start a new one from.


_MOST_DAYS: Final = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """A job that was: `name` as `like:` names it, `raw` what it came to with all that it was like itself."""

    name: str
    title: str
    raw: Mapping[str, Any]


def at_address(here: Here, address: str) -> Earlier | None:
    """The latest sound wash job at an address, however it is spelled."""
    wanted = same_place(address)
    if not any(letter.isalnum() for letter in wanted):
        return None
    told = telling_word(address)
    days = [day for day in listed_files(here.workspace) if is_day(day)]
    if here.dated:
        days = [day for day in days if day.name <= here.day.name]
    days = days[-_MOST_DAYS:]
    for day in reversed(days):
        for path in reversed(in_working_order(day)):
            words = (day.name, path.stem)
            if not all(re.fullmatch(r"[\w][\w .-]*", word) for word in words):
                continue  # no `like:` can name it
            words_of = _words(path)
            if "address" not in words_of or told not in _plain(words_of):
                continue
            earlier = _read(here, path, "/".join(words))
            if earlier is not None and same_place(_address(earlier.raw)) == wanted:
                return earlier
    return None


def _plain(text: str) -> str:
    return "".join(re.findall(r"[^\W_]", unicodedata.normalize("NFKD", text.casefold())))


def _words(path: Path) -> str:
    """A file's text, to pass over quickly what cannot be meant; a job like another may not write its address."""
    try:
        return read_ordinary(path, 1 << 20).decode("utf-8", "replace")
    except OSError:
        return ""


def _address(raw: Mapping[str, Any]) -> str:
    site = raw.get("site")
    address = site.get("address") if isinstance(site, dict) else None
    return address if isinstance(address, str) else ""


def _read(here: Here, path: Path, name: str) -> Earlier | None:
    tree = read_file(path)
    whole = merged(tree, path, here.workspace, read_file)
    if whole.root is None or whole.faults or any(one.faults for one in whole.trees):
        return None
    raw = whole.root.plain()
    job, faults = made(Job, whole.root, Refused()) if raw.get("kind", "wash") == "wash" else (None, [])
    if job is None or faults:
        return None
    return Earlier(name=name, title=job.job, raw=raw)


def fitting(here: Here, file: Path, job: dict[str, Any], earlier: Earlier | None) -> dict[str, Any]:
    """The job itself; where chemicals it would take from the earlier one are for walls it no longer has, the earlier
    one's other keys written out in place of `like`: the surface table then says what goes on."""
    if earlier is None or "surfaces" not in job:
        return job
    walls = set(surface_names(job["surfaces"]))
    named = {str(wall) for use in items(earlier.raw, "chemicals") for wall in items(use, "surfaces")}
    if named <= walls and "strength" not in earlier.raw:
        return job
    whole = merged(_tree(job, file), file, here.workspace, read_file).root
    taken = whole.plain() if whole is not None else job
    kept = {name: value for name, value in taken.items() if name not in ("like", "chemicals", "strength", "accept")}
    return {
        name: job.get(name, kept[name]) for name in [*(n for n in job if n in kept), *(n for n in kept if n not in job)]
    }


def _tree(job: Mapping[str, Any], file: Path) -> Tree:

    return parse_tree(file_text(job, "#", None).encode(), str(file))


# ------------------------------------------------------------ written
# A new job and, where it has none, its day, as the files they are written to.


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """The `file` of a job or a rig and its `text`; `page` is the text of the day's page, None where the day has one or
    needs none; `remembered` are earlier jobs told with a rig."""

    file: Path
    text: str
    page: str | None = None
    remembered: tuple[Mapping[str, str], ...] = ()


def written(
    here: Here, stem: str, job: Mapping[str, Any], earlier: Earlier | None, page: Mapping[str, Any] | None
) -> Written:
    """The files of a job as it was answered."""
    file = here.file(stem)
    whole = fitting(here, file, dict(job), earlier)
    schema = schema_path(here.workspace, here.day, "yard" if job.get("kind") == "yard" else "job")
    day = file_text(page, DAY, schema_path(here.workspace, here.day, "day")) if page is not None else None
    return Written(file=file, text=file_text(whole, JOB, schema), page=day)
