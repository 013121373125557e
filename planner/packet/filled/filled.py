"""Reads a packet back that was filled on a screen: what stands in the boxes of the page for what was done.

Any viewer may have saved it, and anybody may have sent it.  What keeps a file from being read comes back as a fault,
never as an exception; a box that cannot be read is named, and the others are kept.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.models.record import Record
from planner.inputs.reading.files import shown
from planner.inputs.reading.handwriting import is_blank, with_unit
from planner.packet.filled.pdf_in import Opened, Unfit, clean, opened
from planner.packet.pages.attached import BOXES, PLAN, UNKEPT

_KEY = re.compile(r"[a-z0-9_]+(?:\.[a-z0-9_]+){0,3}")
_FEW = 6
"""Boxes that are named; of more their number is told."""
_NUMBER = re.compile(r"[a-z0-9-]{1,40}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """What was written into one packet.

    `job` is its id and `plan` its plan number, empty where the file has lost it; `document` is the plan's JSON as
    `check --json` gave it when it was printed, None where the file has lost it.  `fields` are the boxes that are not
    blank, by the key path of a record (`times.arrived`), each text with its printed unit after a bare number, without
    those that no record takes (attached.UNKEPT); `labels`
    are what is printed beside them.  `faults` name the boxes that were left out, and what the file has lost.
    """

    job: str
    plan: str
    document: Mapping[str, Any] | None
    fields: Mapping[str, str]
    faults: tuple[Fault, ...] = ()
    labels: Mapping[str, str] = field(default_factory=dict)


def read_filled(path: Path) -> Filled | Fault:
    """What was written into the packet at `path`, or the fault that keeps it from being read. Never raises."""
    where = Where(file=shown(path), lines=False)
    try:
        return _sorted_out(opened(path, frozenset({PLAN, BOXES})), where)
    except Unfit as unfit:
        return Fault(code=unfit.code, message=unfit.message, remedy=unfit.remedy, where=where)


def _sorted_out(file: Opened, where: Where) -> Filled:
    found, boxes, document = file.form, file.files.get(BOXES), file.files.get(PLAN)
    names = list(dict.fromkeys([*found.texts, *found.strange]))
    jobs = list(dict.fromkeys(job for name in names if (job := _split(name)[0])))
    if not jobs and _held(document):
        raise Unfit(
            "filled.held", "the packet is of a held job, and has no boxes",
            "Print it again once the plan is changed; if the job was done anyway, write a record as YAML.",
        )  # fmt: skip
    if not jobs:
        raise _no_boxes(bool(boxes or document), bool(names))
    if len(jobs) > 1:
        raise Unfit(
            "filled.mixed", f"the file holds the boxes of more than one job: {_listed(jobs)}",
            "Keep each job's packet in its own file, and name one of them.",
        )  # fmt: skip
    job = jobs[0]
    faults: list[Fault] = []
    known = _known(boxes, job)
    if known is None and not any(_split(name)[1].partition(".")[0] in Record.model_fields for name in names):
        raise _no_boxes(False, True)
    if known is None:
        faults.append(_lost(where))
    fields: dict[str, str] = {}
    labels = _labels(known)
    for name in names:
        key = _split(name)[1]
        if key.partition(".")[0] in UNKEPT:
            continue
        if (known is not None and key not in known) or not _KEY.fullmatch(key) or not _split(name)[0]:
            if found.texts.get(name) or name in found.strange:
                faults.append(_unread(where, key, "the packet has no such box"))
        elif name in found.strange:
            faults.append(_unread(where, key, found.strange[name], labels.get(key, "")))
        elif not is_blank(found.texts[name]):
            fields[key] = _with_unit(found.texts[name], known.get(key) if known else None)
    gone = [key for key in known or () if _kept(key) and f"{job}/{key}" not in names]
    if gone:
        faults.append(_deleted(where, [labels.get(key) or key for key in gone]))
    return Filled(
        job=job, plan=_number(boxes, document, file.subject),
        document=MappingProxyType(document) if document is not None and _job_of(document) == job else None,
        fields=MappingProxyType(fields), faults=tuple(dict.fromkeys(faults)), labels=MappingProxyType(labels),
    )  # fmt: skip


def _kept(key: str) -> bool:
    return key.partition(".")[0] not in UNKEPT


def _deleted(where: Where, gone: list[str]) -> Fault:
    more = f" and {len(gone) - _FEW} more" if len(gone) > _FEW else ""
    return Fault(
        code="filled.deleted",
        message=f"the file lacks boxes that the packet was printed with: {', '.join(gone[:_FEW])}{more}",
        remedy="If the crew wrote in them, add that: `planner record JOB --add`, or a record as YAML.",
        where=where,
    )


def _known(boxes: Mapping[str, Any] | None, job: str) -> Mapping[str, Any] | None:
    """What the job's boxes are for; None where the file has lost it."""
    rows = boxes.get("boxes") if boxes is not None and boxes.get("job") == job else None
    return rows if isinstance(rows, dict) else None


def _labels(known: Mapping[str, Any] | None) -> dict[str, str]:
    rows = {key: row.get("label") for key, row in (known or {}).items() if isinstance(row, dict)}
    return {key: _short(label) for key, label in rows.items() if isinstance(label, str) and label}


def _split(name: str) -> tuple[str, str]:
    """The job's id and the key path of a full name; no id where it is none of ours."""
    job, _, key = name.rpartition("/")
    return job, key


def _held(document: Any) -> bool:
    """Whether the plan's JSON is of one job that is held."""
    if _job_of(document) is None:
        return False
    job = document["jobs"][0]
    procedure = job.get("procedure")
    return job.get("verdict") == "stop" or bool(isinstance(procedure, dict) and procedure.get("breaches"))


def _job_of(document: Any) -> str | None:
    """The job a plan's JSON is about."""
    jobs = document.get("jobs") if isinstance(document, dict) else None
    first = jobs[0] if isinstance(jobs, list) and jobs else None
    name = first.get("id") if isinstance(first, dict) else None
    return name if isinstance(name, str) else None


def _number(boxes: Any, document: Any, subject: str) -> str:
    """The plan's number, by what is attached or by the file's own subject; empty where neither has it."""
    for number in (boxes.get("plan") if isinstance(boxes, dict) else None, subject.removeprefix("plan ")):
        if isinstance(number, str) and _NUMBER.fullmatch(number):
            return number
    jobs = document.get("jobs") if isinstance(document, dict) else None
    number = jobs[0].get("plan") if _job_of(document) is not None and jobs else None
    return number if isinstance(number, str) and _NUMBER.fullmatch(number) else ""


def _with_unit(text: str, box: Any) -> str:
    """A text with the unit that is printed beside its box, where it has none of its own: `52 psi`, `5 gal in 38 s`."""
    if not isinstance(box, dict):
        return text
    unit, lead = (one if isinstance(one := box.get(key), str) else "" for key in ("unit", "lead"))
    return with_unit(text, unit, lead)


def _listed(names: list[str]) -> str:
    shown = ", ".join(_short(name) for name in names[:3])
    return f"{shown} and {len(names) - 3} more" if len(names) > 3 else shown


def _short(name: str) -> str:
    """A name out of a stranger's file as it may stand in a message."""
    words = clean(name)
    return f"{words[:60]}…" if len(words) > 60 else words


def _no_boxes(ours: bool, others: bool) -> Unfit:
    if ours:
        return Unfit(
            "filled.flat", "the packet's boxes are gone: it was printed to a new file, or its form was flattened",
            "Save the filled packet with Save, not with Print; or write a record as YAML.",
        )  # fmt: skip
    what = "its form is not ours" if others else "it has no boxes to fill"
    return Unfit(
        "filled.other", f"the file is not a packet of the planner: {what}",
        "Name a packet that `planner packet` printed; a scan of paper cannot be read, write a record as YAML for it.",
    )  # fmt: skip


def _lost(where: Where) -> Fault:
    return Fault(
        code="filled.stripped",
        message="the file has lost the plan it was printed with: bare numbers have no units",
        remedy="Write units in the boxes, such as `52 psi`, or fill the packet in a program that keeps attached files.",
        where=where,
    )


def _unread(where: Where, key: str, why: str, label: str = "") -> Fault:
    name = _short(key)
    return Fault(
        code="filled.box",
        message=f"the box `{name}` was left out: {why}",
        remedy="Write that one into the record by hand.",
        where=Where(file=where.file, path=name, lines=False, label=label),
    )
