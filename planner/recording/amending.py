"""What is added to a record that is kept: a callback, money, a late reading, and the rest as it was.

Both are held against the plan of the revision added to, so a packet's number that differs is another packet's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.contract.record import planned_of
from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.reading.files import shown
from planner.inputs.record import Planned
from planner.recording.earlier import laid_over, leaves
from planner.recording.packet_plan import is_sound
from planner.recording.sources import Source, from_answers

if TYPE_CHECKING:
    from planner.archive.kept.opening import Opened
    from planner.archive.kept.store import KeptRecord
    from planner.contract.plan import PlanJson

ADDED = "--add"
_GROWS = ("callbacks",)
"""What a second time says more of, where it is not put right."""
_NOBODY = ("no", "none")
_AND = "; "


@dataclass(frozen=True, slots=True, kw_only=True)
class Amended:
    """A record with what was added: `source` the whole of it, `plan` the one it is of, `after` the revision added to;
    `told` what is other than it was, `known` what was odd in it before."""

    source: Source
    plan: PlanJson
    planned: Planned
    after: int
    told: tuple[str, ...]
    known: frozenset[tuple[str, str]]


def typed(pairs: Sequence[str], job: str, file: Path) -> Source | list[Fault]:
    """What was written behind `--add`, `KEY=TEXT` each."""
    found: dict[str, str] = {}
    for pair in pairs:
        key, _, text = pair.partition("=")
        key, text = key.strip(), text.strip().encode("utf-8", "replace").decode("utf-8")
        if not key or not text or key in ("job", "plan"):
            remedy = "write each as KEY=TEXT, such as `spent=312.50` or `callbacks='streaks by the door'`"
            return [_fault(file, "add", f"`{pair[:60]}` adds nothing to a record", remedy)]
        found[key] = text
    source = from_answers({"job": job, **found}, "typed in", ADDED)
    faults = list(source.read.faults)
    return faults if source.read.record is None and faults else source


def amended(archive: Opened, source: Source, job: str, file: Path) -> Amended | Fault:
    """The job's last revision with what a source says laid over it. Raises ArchiveRefused."""
    from planner.archive.kept import store

    last = store.record_of(archive, job)
    raw = last.content.get("as_written") if last is not None else None
    if last is None or not isinstance(raw, Mapping):
        return _fault(file, "nothing", f"no record of {job} is kept to add to", "record it first, without --add")
    kept = store.plan_by_hash(archive, last.plan) if last.plan is not None else None
    if kept is None or not is_sound(kept.content):
        remedy = "record all of it again, without --add"
        return _fault(file, "no_plan", f"the plan of revision {last.revision} cannot be read", remedy)
    plan = kept.content
    number = source.read.raw.get("plan")
    if isinstance(number, str) and number.strip() not in (plan["plan"], last.plan_number):
        message = f"plan {number.strip()[:40]} is another packet's: revision {last.revision} is of plan {plan['plan']}"
        return _fault(file, "plan", message, "record that packet whole, without --add")
    once = plan["id"] if plan["id"] != job else ""
    return _laid(last, raw, source, plan, replace(planned_of(plan), job=job, once=once))


def _laid(
    last: KeptRecord, raw: Mapping[str, Any], source: Source, plan: PlanJson, planned: Planned
) -> Amended:  # fmt: skip
    below, above = (laid_over({}, one, planned) for one in (raw, source.read.raw))
    for name in _GROWS:
        old, new = below.get(name), above.get(name)
        if isinstance(old, str) and isinstance(new, str) and old.casefold() not in _NOBODY:
            above[name] = old if new in old.split(_AND) else f"{old}{_AND}{new}"
    for one in (below, above):
        for name in ("job", "plan"):
            one.pop(name, None)
    was, now = dict(leaves(below)), dict(leaves(above))
    told = [
        f"{path} `{text}`" if path not in was else f"{path} `{text}`, `{was[path]}` before"
        for path, text in now.items()
        if was.get(path) != text
    ]
    whole = {"job": planned.job, **({"plan": last.plan_number} if last.plan_number is not None else {})}
    # As boxes and answers are read, for it lies in no file; a draft is made of nothing that is kept already.
    read = from_answers(whole, source.name, source.read.tree.file, rest=laid_over(above, below, planned))
    cautions = last.content.get("cautions")
    rows = [one for one in cautions if isinstance(one, dict)] if isinstance(cautions, list) else []
    return Amended(
        source=Source(read=read.read, name=source.name, labels=source.labels, lost=source.lost),
        plan=plan,
        planned=planned,
        after=last.revision,
        told=tuple(told),
        known=frozenset((str(one.get("path")), str(one.get("message"))) for one in rows),
    )


def _fault(file: Path, code: str, message: str, remedy: str) -> Fault:
    return Fault(code=f"record.{code}", message=message, remedy=remedy, where=Where(file=shown(file), lines=False))
