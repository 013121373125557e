"""What is said of a record once it is taken in: what it holds, counted, and what is odd in it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING

from planner.inputs.record import Planned, part_number
from planner.recording.doubts import Doubt
from planner.recording.sources import Source

if TYPE_CHECKING:
    from planner.contract.record import RecordJson


def told(content: RecordJson) -> str:
    """What a record holds, counted."""
    times = sum(value is not None for value in content["times"].values())
    alone = [key for key in ("water", "flush") if any(value is not None for value in content[key].values())]
    parts = [
        (times, "time"),
        (len(content["readings"]), "run"),
        (len(content["mixes"]), "mix"),
        (len(content["sides"]), "side"),
        (len(content["lots"]), "lot"),
        (len(content["heels"]), "heel"),
        (sum(content[key] is not None for key in ("deviations", "after", "callbacks", "cost")), "remark"),
    ]
    many = {"mix": "mixes"}
    parted = [f"{count} {word if count == 1 else many.get(word, f'{word}s')}" for count, word in parts if count]
    parted += alone
    parted += [
        word
        for value, word in (
            (content.get("callback"), "callback yes or no"),
            (content["spent"], "money"),
            (content["crew_s"], "crew hours"),
        )
        if value is not None
    ]
    parted += ["pump work"] if content["pump"] is not None else []
    parted.append(f"signed by {content['signed']}" if content["signed"] is not None else "not signed")
    return ", ".join(parted)


def spoken(odd: Sequence[Doubt], source: Source, planned: Planned, confirmed: Collection[str]) -> list[str]:
    """What is odd, by its key as it was written and the label of its box; not again what was asked again."""
    named = _as_written(source.read.raw, planned)
    lines = []
    for doubt in odd:
        if doubt.path in confirmed:
            continue
        key, _, rest = doubt.path.partition(".")
        number, _, last = rest.partition(".")
        path = f"{key}.{named[key, number]}.{last}" if (key, number) in named else doubt.path
        label = source.labels.get(path)
        lines.append(f"{path}{f' ({label})' if label else ''}: {doubt.message}; {doubt.remedy}")
    return lines


def _as_written(raw: Mapping[str, object], planned: Planned) -> dict[tuple[str, str], str]:
    """What a run, a mix or a side was called, by its kind and its number in the plan."""
    found = {}
    for key, parts in planned.names().items():
        written = raw.get(key)
        for name in written if isinstance(written, Mapping) else ():
            number = part_number(str(name), parts)
            if number is not None:
                found[key, str(number + 1)] = str(name)
    return found


def caution_json(doubt: Doubt) -> dict[str, str]:
    """The same as it is kept in the archive."""
    return {"path": doubt.path, "message": doubt.message, "remedy": doubt.remedy}
