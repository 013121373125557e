"""The drives of a day whose jobs change their order: a drive belongs to its two ends, and no other is taken for it.

Where nobody has said how long it is from one job to the next, the key is taken out and the times of the day wait. What
was once said is remembered while the desk is open, so that an order taken back has its drives again.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from pathlib import Path

from planner.desk.edits import node_at, put
from planner.desk.files import Sheet, tree_of
from planner.desk.state import Desk
from planner.inputs.reading import spans
from planner.inputs.reading.files import in_working_order, shown
from planner.inputs.reading.spans import NotAsMeant
from planner.writing import write_whole

_HOME = "home"


class Refused(Exception):
    """What keeps a change of a day's files from being made."""


def page_texts(
    desk: Desk, page: Sheet | None, names: Mapping[str, str], after: Sequence[str]
) -> tuple[tuple[bytes, bytes] | None, tuple[str, ...]]:
    """The day's page as disk and screen have it, with the drives of jobs in the order `after`, and those to be asked
    for. `names`: each job of before, in order, and what it is called now. Raises Refused."""
    if page is None or page.base is None:
        return None, ()
    try:
        base, _ = _ordered(desk, page, page.base, names, after)
        text, asked = _ordered(desk, page, page.text, names, after)
    except NotAsMeant as error:
        raise Refused(f"day.yaml: {error.reason}. The order stays as it is.") from None
    return (base, text), asked


def put_in(desk: Desk, page: Sheet, new: Path, minutes: str) -> tuple[str, ...]:
    """A new job's drive into the day's page and onto the disk; the drives to be asked for, as they begin there now.

    Raises Refused, OSError.
    """
    if any(fault.code.startswith("yaml.") for fault in page.tree.faults):
        raise Refused("the day's page cannot be read")
    after = [one.stem for one in in_working_order(new.parent)]
    ends = dict(zip(after, ["", *map(_bare, after)], strict=False))
    desk.legs[new.parent, ends[new.stem], _bare(new.stem)] = minutes
    texts, asked = page_texts(desk, page, {stem: stem for stem in after if stem != new.stem}, after)
    if texts is None:
        raise Refused("there is no page of the day")
    said = node_at(page.tree.root, "drive")
    written = said.value if said is not None and isinstance(said.value, Mapping) else {}
    try:
        base, text = (_with(one, page, new.stem, minutes) for one in texts)
    except NotAsMeant as error:
        raise Refused(error.reason) from None
    write_whole(page.path, base, desk.files.folder, was=page.base)
    # A job that had no drive before, such as one in the yard, needs none now.
    asked = tuple(one for one in asked if one.removeprefix("to ") in written)
    take(page, (base, text), f"{new.name} is new.", asked)
    return asked


def _with(text: bytes, page: Sheet, key: str, value: str) -> bytes:
    there = node_at(tree_of(text, shown(page.path)).root, f"drive.{key}") is not None
    return text if there else _put(text, page, key, value)


def take(page: Sheet | None, texts: tuple[bytes, bytes] | None, said: str, asked: Sequence[str]) -> None:
    """Give the page its texts. What could be undone names the jobs as they were called before."""
    if page is None or texts is None:
        return
    page.base, page.text = texts
    page.undo.clear()
    page.redo.clear()
    page.refused = {}
    page.version += 1
    waits = again(asked)
    page.note = f"{said} {waits}".strip() if waits or said.count(".") > 1 else ""


def again(asked: Sequence[str]) -> str:
    """What to say of drives that begin elsewhere now: without one the times wait, but for the one home."""
    jobs = ", ".join(one for one in asked if one != _HOME)
    told = [f"Give these drives again, the day's times wait for them: {jobs}."] if jobs else []
    told += ["Give the drive home again: until then it counts as the day's longest."] if _HOME in asked else []
    return " ".join(told)


def _ordered(
    desk: Desk, page: Sheet, text: bytes, names: Mapping[str, str], after: Sequence[str]
) -> tuple[bytes, tuple[str, ...]]:
    if b"drive" not in text:
        return text, ()
    root = tree_of(text, shown(page.path)).root
    if root is None:
        raise NotAsMeant("the file cannot be read")
    written = node_at(root, "drive")
    if written is None or not isinstance(written.value, Mapping):
        return text, ()
    said = {key: node.value for key, node in written.value.items() if isinstance(node.value, str)}
    folder, asked = page.path.parent, list[str]()
    for (start, end), key in _legs(list(names)):
        if key in said:
            desk.legs[folder, start, end] = said[key]
    text = spans.rename_keys(text, "drive", names)
    now = {names.get(key, key) for key in said}
    twice = len({_bare(stem) for stem in after}) < len(after)
    for key in (now & set(names.values())) - set(after):
        text = _put(text, page, key, "")
    for (start, end), key in _legs(after):
        known = None if twice else desk.legs.get((folder, start, end))
        if known is not None or key in now:
            text = _put(text, page, key, known or "")
        if known is None and (key in now or key != _HOME):
            asked.append(_HOME if key == _HOME else f"to {key}")
    return text, tuple(asked)


def _legs(stems: Sequence[str]) -> Iterator[tuple[tuple[str, str], str]]:
    """Both ends of each drive and the key it is under; the yard is nobody's name."""
    ends = ["", *map(_bare, stems), _HOME]
    yield from zip(pairwise(ends), [*stems, _HOME], strict=True)


def _bare(stem: str) -> str:
    return re.sub(r"^[0-9]+-", "", stem)


def _put(text: bytes, page: Sheet, key: str, value: str) -> bytes:
    if not re.fullmatch(r"[\w -]+", key):
        raise NotAsMeant(f"the drive to `{key}` cannot be changed here")
    if value:
        return put(text, page, f"drive.{key}", value)
    root = tree_of(text, shown(page.path)).root
    return spans.drop_key(text, f"drive.{key}") if node_at(root, f"drive.{key}") is not None else text
