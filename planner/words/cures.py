"""The words of remedies: what to do otherwise, and what the finding then says; for paper and screen alike."""

from __future__ import annotations

from functools import lru_cache

from planner.checks.model import CheckedJob, Finding, Remedy
from planner.inputs.tables.rows import rows
from planner.units import System, show
from planner.words import spoken as words


@lru_cache(maxsize=1)
def _say() -> dict[str, str]:
    return {row["kind"]: row["say"] for row in rows("remedies")}


def change(remedy: Remedy, system: System) -> str:
    """What to do and what it does to the day: `Stand 10 ft from the wall and fit the tip slim (adds 25 min)`."""
    texts = [
        _say()[one.kind].format(**{name: words.Words(value, system) for name, value in one.values.items()})
        for one in remedy.changes
    ]
    text = " and ".join(texts)
    if remedy.added > 0.0:
        text += f" (adds {show(remedy.added, 'time', system, toward='up')})"
    return text[:1].upper() + text[1:]


def sentence(remedy: Remedy, system: System) -> str:
    """The change with its new numbers: `Stand 10 ft from the wall: the jet gets to 31 ft, at worst 27 ft.`"""
    text = change(remedy, system)
    if not remedy.on_rig and not remedy.changes[0].kind.startswith("gap"):
        text = f"Not on the trailer, but would do: {text[:1].lower()}{text[1:]}"
    # What is to be rated so high has said its figure: the finding would only repeat it, rounded to its other side.
    if remedy.after is None or remedy.after.level == "none" or remedy.changes[0].kind == "get_rated":
        return f"{text}."
    after = words.message(remedy.after, system).rstrip(".")
    return f"{text}: {after[:1].lower()}{after[1:]}."


def cures_of(checked: CheckedJob, finding: Finding) -> list[Remedy]:
    """What was found for one finding."""
    return [remedy for remedy in checked.remedies if (remedy.code, remedy.about) == (finding.code, finding.about)]


def in_short(checked: CheckedJob, finding: Finding, system: System) -> str:
    """What to do in a line: the changes that clear it, else those that ease it, else that none does and why.

    Empty where no search was made: the finding's own general remedy then stands.
    """
    remedies = cures_of(checked, finding)
    here = [remedy for remedy in remedies if remedy.on_rig]
    if here:
        eases = all(remedy.after is not None and remedy.after.level not in ("ok", "none") for remedy in here)
        text = ", or ".join(_low(change(remedy, system)) for remedy in here[:2])
        return f"Only eases it: {text}." if eases else f"{text[:1].upper()}{text[1:]}."
    if (finding.code, finding.about) not in checked.tried or not remedies:
        return ""
    return f"Nothing tried on the trailer clears it. {sentence(remedies[0], system)}"


def in_full(checked: CheckedJob, finding: Finding, system: System) -> str:
    """Every remedy found, with its new numbers; that nothing on the trailer clears it, where nothing does.

    A search that was broken off is no word on what it did not try.
    """
    remedies = cures_of(checked, finding)
    if not remedies:
        return ""
    here = any(remedy.on_rig for remedy in remedies)
    lead = "Tried with what is on the trailer, singly, in pairs and in threes: nothing clears it. "
    if (finding.code, finding.about) in checked.broken_off:
        lead = "Tried with what is on the trailer, though not in every way: nothing found clears it. "
    lead = "" if here else lead
    return lead + " ".join(sentence(remedy, system) for remedy in remedies)


def _low(text: str) -> str:
    return f"{text[:1].lower()}{text[1:]}"
