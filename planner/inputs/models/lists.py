"""Lists that may be written as words with commas, as a box takes them, or stage by stage by their numbers."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, GetJsonSchemaHandler
from pydantic_core import CoreSchema

from planner.inputs.models.base import Slip
from planner.inputs.models.quantities import Reads, Words
from planner.units import Unreadable

NO_SPACER: Final = "none"
MOST_STAGES: Final = 99
"""No pump has a hundred stages; it bounds what a slip of the pen can make (our choice)."""

_NUMBERED = re.compile(r"([1-9][0-9]?) ?: ?(\S.*)")


class _NotSaid(str):
    """The place of a stage nothing is known of."""


def _commas(written: Any) -> Any:
    if not isinstance(written, str):
        return written
    return [part.strip() for part in written.split(",") if part.strip()]


def by_stage(text: str) -> list[str] | dict[str, str]:
    """Words of stages with commas, from the root of the shaft: one a place, or all with numbers, `4: thick`. Raises
    Unreadable where a place is blank, for what is after it would move by a stage, and where a number stands amiss."""
    parts = [part.strip() for part in text.split(",")]
    numbered = [_NUMBERED.fullmatch(part) for part in parts]
    for part, one in zip(parts, numbered, strict=True):
        second = re.search(r"\s([1-9][0-9]?) ?:", one[2] if one is not None else part)
        if second is not None:
            raise Unreadable(
                "list.stage", f"`{part[:60]}` has two stages in one place",
                f"write a comma before `{second[1]}:`",
            )  # fmt: skip
        if one is None and any(numbered):
            raise Unreadable(
                "list.stage", f"`{part[:60]}` says no stage, where others go by their number",
                "write the number of its stage too, such as `4: thick`, or number none",
            )  # fmt: skip
    if all(numbered):
        found = {one[1]: one[2] for one in numbered if one is not None}
        if len(found) < len(parts):
            raise Unreadable("list.stage", "a stage is written twice", "write each stage's number once")
        return found
    if "" in parts:
        raise Unreadable(
            "text.blank", f"stage {parts.index('') + 1} has a blank place",
            f"write `{NO_SPACER}` for a stage without a spacer, or number them, such as `4: thick`",
        )  # fmt: skip
    return parts


def _stages(written: Any) -> Any:
    """A list with a place for each stage; what a mapping leaves out stays blank."""
    if isinstance(written, list) and any(isinstance(one, str) and _NUMBERED.match(one) for one in written):
        written = ", ".join(map(str, written))
    if isinstance(written, str):
        try:
            written = by_stage(written)
        except Unreadable as slip:
            raise Slip(code=slip.code, message=slip.message, remedy=slip.remedy).error() from None
    if not isinstance(written, Mapping):
        return written
    for name in written:
        if not re.fullmatch(r"[1-9][0-9]?", str(name)):
            raise Slip(
                code="name.unknown",
                message=f"`{str(name)[:60]}` is no stage's number",
                remedy="count stages from the root of the shaft and write `1`, `2` and so on",
            ).error()
    last = max((int(name) for name in written), default=0)
    return [written.get(str(number), _NotSaid()) for number in range(1, min(last, MOST_STAGES) + 1)]


def _stage_words(text: str) -> str:
    reads: Any = Words.__metadata__[0]  # type: ignore[attr-defined]
    return "" if isinstance(text, _NotSaid) else str(reads(text))


@dataclass(frozen=True, slots=True)
class _Written(BeforeValidator):
    """A list's other spellings, told to editors too."""

    others: tuple[str, ...] = ()

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"anyOf": [handler(schema), *(_OTHERS[name] for name in self.others)]}


_OTHERS: Final[Mapping[str, dict[str, Any]]] = {
    "commas": {"type": "string", "description": "words with commas between them"},
    "stages": {
        "type": "object",
        "description": "stages by their number from the root of the shaft, such as `{4: 1 thick}`",
        "additionalProperties": {"type": ["string", "number"]},
    },
}


def _list(reader: Callable[[Any], Any], *others: str) -> _Written:
    return _Written(reader, others=others)


_StageWords = Annotated[str, Reads(_stage_words, (str,), "text", "`some words`", ("number",))]
Listed = Annotated[tuple[Words, ...], _list(_commas, "commas")]
"""Words: a list, or words with commas."""

Staged = Annotated[tuple[_StageWords, ...], _list(_stages, "commas", "stages")]
"""Words of stages from the root of the shaft: a list, words with commas, or by number. Blank where nothing is known."""
