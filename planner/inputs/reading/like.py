"""`like:` takes what a job does not write from an earlier one; every key keeps the place where it was written."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.models.base import listed, nearest
from planner.inputs.reading.files import (
    YAML_ENDINGS,
    in_working_order,
    is_day,
    is_folder,
    is_there,
    listed_files,
)
from planner.inputs.reading.tree import Node, Tree
from planner.inputs.tables.chemicals import BLEACH, chemical_named

# Two ways to say one thing: whoever writes either does not take the other.  What someone took on was taken on
# for one visit, so an acceptance is never carried over.
_ONE_OF = (frozenset({"setup", "hose_runs"}), frozenset({"water", "tap"}), frozenset({"chemicals", "strength"}))
_NEVER = frozenset({"like", "accept"})
_RUN_KEYS = frozenset({"uphill", "tip_height", "standoff", "past_eave", "target", "on_reel", "fittings", "hot"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """A job with what it takes from earlier ones: `trees` are all the files that went in."""

    root: Node | None
    trees: tuple[Tree, ...]
    faults: tuple[Fault, ...]


def merged(tree: Tree, path: Path, workspace: Path, read: Callable[[Path], Tree]) -> Merged:
    """The job of a tree under everything it is like."""
    trees, faults, seen = [tree], [], [path]
    keys = dict(tree.mapping)
    here, here_path = tree, path
    while "like" in here.mapping:
        node = here.mapping["like"]
        if not isinstance(node.value, str):
            break  # the model says what is wrong with it
        found = _earlier(node.value, here_path.parent, workspace)
        if found is None:
            faults.append(_unknown(node, here_path.parent, workspace))
            break
        if found in seen:
            faults.append(
                Fault(
                    code="like.cycle",
                    message=f"`{node.value[:60]}` comes back to a job that is like it",
                    remedy="take `like` out of one of them",
                    where=node.where,
                )
            )
            break
        seen.append(found)
        here, here_path = read(found), found
        trees.append(here)
        faults += _left_behind(keys, here, node.value)
        _take(keys, here, of_a_day=is_day(path.parent))
    root = replace(tree.root, value=keys) if tree.root is not None else None
    return Merged(root=root, trees=tuple(trees), faults=tuple(faults))


def _left_behind(keys: dict[str, Node], earlier: Tree, name: str) -> list[Fault]:
    """A `strength` written now is for bleach alone: soap and all else of the earlier job's chemicals would be lost."""
    chemicals = earlier.mapping.get("chemicals")
    if "strength" not in keys or "chemicals" in keys or chemicals is None or not isinstance(chemicals.value, tuple):
        return []
    lost = []
    for use in chemicals.value:
        written = use.plain()
        stock = written.get("stock") if isinstance(written, dict) else None
        known = chemical_named(stock) if isinstance(stock, str) else None
        if isinstance(stock, str) and ("dose" in written or (known is not None and known.name != BLEACH)):
            lost.append(f"`{stock[:60]}`")
    if not lost:
        return []
    return [
        Fault(
            code="key.clash",
            message=f"`strength` is for bleach, and the chemicals of `{name[:60]}` have {', '.join(lost)} too",
            remedy="write `chemicals` in its place, each with its own strength or dose",
            where=keys["strength"].where,
        )
    ]


def _take(keys: dict[str, Node], earlier: Tree, *, of_a_day: bool) -> None:
    written = set(keys)
    for name, node in earlier.mapping.items():
        if name in written or name in _NEVER:
            continue
        if name == "rig" and of_a_day:
            continue  # today's rig is the day's, whatever came then
        if any(name in group and group & written for group in _ONE_OF):
            continue
        if name in _RUN_KEYS and "hose_runs" in written:
            continue
        if name == "temperature" and "water" in written:
            continue
        if name == "water" and "temperature" in written and isinstance(node.value, dict):
            # Today's temperature stands; the rest of the earlier water is taken.
            node = replace(node, value={key: one for key, one in node.value.items() if key != "temperature"})
        keys[name] = node


def _earlier(text: str, folder: Path, workspace: Path) -> Path | None:
    """The file of `2025-06-02/20-boathouse`, or of a job in the same folder; nothing outside the workspace."""
    words = text.strip().split("/")
    if len(words) > 2 or not all(re.fullmatch(r"[\w][\w .-]*", word) for word in words):
        return None
    start = workspace / words[0] if len(words) == 2 else folder
    for ending in ("", *YAML_ENDINGS):
        path = start / f"{words[-1]}{ending}"
        if path.suffix in YAML_ENDINGS and is_there(path) and not is_folder(path):
            return path.absolute()
    return None


def _unknown(node: Node, folder: Path, workspace: Path) -> Fault:
    days = [day for day in listed_files(workspace) if is_day(day)][-400:]
    jobs = [f"{day.name}/{path.stem}" for day in days for path in in_working_order(day)]
    text = str(node.value)
    near = nearest(text, jobs) or nearest(text.split("/")[-1], [path.stem for path in in_working_order(folder)])
    known = f"known here: {listed(jobs[-10:])}" if jobs else "write day and job like `2025-06-02/20-boathouse`"
    return Fault(
        code="name.unknown",
        message=f"there is no earlier job `{text[:60]}`",
        remedy=f"write `{near}` if that was meant" if near else known,
        where=node.where,
    )
