"""The day's page with its forecast by the hour: a CSV it names is read, its rows put where the name was."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final

from planner.faults import Fault
from planner.inputs.models import Hour
from planner.inputs.models.base import nearest
from planner.inputs.reading.csv_text import Sheet, read_sheet
from planner.inputs.reading.files import is_there, listed_files
from planner.inputs.reading.tree import Node, Tree

_CSV: Final = re.compile(r"[^/\\]+\.csv", re.IGNORECASE)


def with_hours(tree: Tree, folder: Path) -> Tree:
    """The tree of a day.yaml in `folder`; what is wrong with the CSV joins its faults."""
    forecast = tree.mapping.get("forecast")
    keys = forecast.value if forecast is not None and isinstance(forecast.value, Mapping) else {}
    named = keys.get("hours")
    if tree.root is None or forecast is None or named is None or not isinstance(named.value, str):
        return tree
    if named.where.path in tree.refused:
        return tree
    sheet = _sheet(named, named.value.strip(), folder)
    faults = (*tree.faults, *sheet.faults)
    if sheet.rows is None:
        # Its faults are told: the key is as one that YAML's reader refused.
        return replace(tree, faults=faults, refused=tree.refused | {named.where.path})
    below = replace(forecast, value={**keys, "hours": sheet.rows})
    return replace(tree, root=replace(tree.root, value={**tree.mapping, "forecast": below}), faults=faults)


def _sheet(named: Node, name: str, folder: Path) -> Sheet:
    if not _CSV.fullmatch(name):
        message = f"`{name[:60]}` is neither a list of hours nor the name of a CSV beside this file"
        remedy = "write the name alone, such as `hours.csv`"
    elif not is_there(folder / name):
        near = nearest(name, [one.name for one in listed_files(folder) if one.suffix.casefold() == ".csv"])
        message = f"there is no `{name[:60]}` beside this file"
        remedy = f"write `{near}` if that was meant" if near else "put the file beside this one"
    else:
        return read_sheet(folder / name, tuple(Hour.model_fields), named.where.path)
    return Sheet(rows=None, faults=(Fault(code="csv.name", message=message, remedy=remedy, where=named.where),))
