"""An earlier job at the same address, to start a new one from."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from planner.commands.new_here import Here
from planner.inputs.addresses import same_place, telling_word
from planner.inputs.files import in_working_order, is_day, listed_files, read_file
from planner.inputs.like import merged
from planner.inputs.models import Job
from planner.inputs.names import items
from planner.inputs.places import Refused, made
from planner.inputs.sizes import surface_names
from planner.inputs.tree import Tree, parse_tree

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
        return path.read_bytes()[: 1 << 20].decode("utf-8", "replace")
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
    from planner.commands.new_text import file_text

    return parse_tree(file_text(job, "#", None).encode(), str(file))
