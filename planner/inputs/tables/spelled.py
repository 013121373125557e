"""A kind of the surface table under its American spelling: understood wherever a file names it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from planner.inputs.tables.rows import table


def table_kind(kind: str) -> str:
    """The table's own name of a kind spelled as in the United States; any other kind as it is."""
    return _american().get(kind, kind)


@lru_cache(maxsize=1)
def _american() -> Mapping[str, str]:
    words = {row["elsewhere"]: row["us"] for row in table("spelling")["spelling"]}
    kinds = [row["kind"] for row in table("surfaces")["surfaces"]]
    american = {"_".join(words.get(word, word) for word in kind.split("_")): kind for kind in kinds}
    return {said: kind for said, kind in american.items() if said != kind}


def american_kinds() -> list[str]:
    """Kinds of the table that are spelled otherwise in the United States, as they are there."""
    return list(_american())
