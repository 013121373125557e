"""The chemicals a lot can hold, by name and alias."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from planner.inputs.tables.rows import rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Chemical:
    """One row of chemicals.yaml: `active` is what its strength in g/L counts, `form` liquid or dry.

    `dissolves` pairs C with g of what is sold in a litre of water, of a dry chemical.
    """

    name: str
    aliases: tuple[str, ...]
    active: str
    form: str
    un: str | None
    source: str
    dissolves: tuple[tuple[float, float], ...] = ()


def _chemical(row: Mapping[str, Any]) -> Chemical:
    return Chemical(
        name=row["name"], aliases=tuple(row.get("aliases", ())), active=row["active"],
        form=row["form"], un=row.get("un"), source=row["source"],
        dissolves=tuple((float(celsius), float(grams)) for celsius, grams in row.get("dissolves", ())),
    )  # fmt: skip


CHEMICALS: Mapping[str, Chemical] = {row["name"]: _chemical(row) for row in rows("chemicals")}
_BY_ANY_NAME = {name: chemical for chemical in CHEMICALS.values() for name in (chemical.name, *chemical.aliases)}


def chemical_named(text: str) -> Chemical | None:
    """The chemical of a name or an alias, however its words are joined; None where there is none."""
    return _BY_ANY_NAME.get("_".join(text.casefold().replace("-", " ").replace("_", " ").split()))
