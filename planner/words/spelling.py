"""How a word of our tables is spelled: as in the United States, or as elsewhere; the reader's units say which."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from planner.inputs.tables.rows import rows
from planner.units import System

_WORD = re.compile(r"[A-Za-z]+")


def spelled(text: str, system: System) -> str:
    """Words of a table as the reader of these units spells them; never for what people wrote of a job."""
    known = _known(system)
    return _WORD.sub(lambda word: known.get(word[0], word[0]), text)


@lru_cache(maxsize=2)
def _known(system: System) -> Mapping[str, str]:
    said, meant = ("elsewhere", "us") if system == "us" else ("us", "elsewhere")
    ways = [(row[said], row[meant]) for row in rows("spelling")]
    return dict((*ways, *((one.capitalize(), other.capitalize()) for one, other in ways)))
