"""Where a record comes from: a YAML file, a filled packet, or answers."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from pathlib import Path
from typing import Any

from planner.faults import Fault, Where
from planner.frozen import dataclass
from planner.inputs.reading.files import file_fault, shown
from planner.inputs.record import ReadRecord, read_record, record_of_text
from planner.writing import read_ordinary


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A record as it came: `read` the record, `answers` by key path where it was boxes or answers and no file of YAML.

    `labels` are what is printed beside those boxes, or asked; `plan` is the plan inside a packet, as JSON; `lost` what
    the packet's reader had to leave out, `rest` what an earlier revision says beside what was asked.
    """

    read: ReadRecord
    name: str
    answers: Mapping[str, str] = field(default_factory=dict)
    plan: Mapping[str, object] | None = None
    lost: tuple[Fault, ...] = ()
    labels: Mapping[str, str] = field(default_factory=dict)
    rest: Mapping[str, Any] = field(default_factory=dict)

    @property
    def drafted(self) -> bool:
        """Whether what could be read stands in no file of the reader's own yet."""
        return bool(self.answers)


def from_file(path: Path) -> Source | list[Fault]:
    """A filled packet or a YAML record, told apart by how it begins; or why it can't be read at all."""
    try:
        begins = read_ordinary(path, 1024)
    except OSError:
        begins = b""  # the strict reader says what is wrong with it
    if b"%PDF-" in begins:
        return from_packet(path)
    read = read_record(path)
    if read.tree.root is None:
        return [_no_text(path)] if b"\0" in begins and not begins.startswith(_WIDE) else list(read.faults)
    if read.record is not None and not _says(read.raw):
        remedy = "write what was done, such as `times: {arrived: 07:35}`; or leave out --from, and be asked"
        return [file_fault("record.blank", path, "this record says nothing about what was done", remedy)]
    return Source(read=read, name=_name(path))


_WIDE = (b"\xff\xfe", b"\xfe\xff")
"""How a text of two bytes a letter begins: that may be saved as UTF-8."""


def _no_text(path: Path) -> Fault:
    message = "this is neither a filled packet nor a YAML record; a picture cannot be read"
    return file_fault("record.kind", path, message, "name the packet as it was filled, a PDF, or write a YAML record")


def _says(raw: Mapping[str, Any]) -> bool:
    """Whether a record says anything beside what it is a record of."""
    return any(_filled(value) for key, value in raw.items() if key not in ("job", "plan", "date"))


def _filled(value: Any) -> bool:
    if isinstance(value, Mapping):
        return any(map(_filled, value.values()))
    return bool(value.strip()) if isinstance(value, str) else bool(value)


def _name(path: Path) -> str:
    """A file's name, whatever its bytes, as it can be kept."""
    return path.name.encode("utf-8", "replace").decode("utf-8")


def from_packet(path: Path) -> Source | list[Fault]:
    """What a filled packet says; or why it can't be read."""
    from planner.packet.filled.filled import read_filled

    filled = read_filled(path)
    if isinstance(filled, Fault):
        return [filled]
    if not filled.fields:
        blank = Fault(
            code="record.blank",
            message="the packet's boxes are empty",
            remedy="fill it and save it, or record the job by answering questions: leave out --from",
            where=Where(file=shown(path), lines=False),
        )
        return [blank, *filled.faults]
    answers = dict(filled.fields)
    plan = {"plan": filled.plan} if filled.plan else {}
    source = from_answers({"job": filled.job, **plan, **answers}, _name(path), shown(path), filled.labels)
    jobs = filled.document.get("jobs") if filled.document is not None else None
    inside = jobs[0] if isinstance(jobs, list) and jobs and isinstance(jobs[0], dict) else None
    return replace(source, plan=inside, lost=filled.faults)


def from_answers(
    answers: Mapping[str, str],
    name: str,
    file: str,
    labels: Mapping[str, str] | None = None,
    rest: Mapping[str, Any] | None = None,
) -> Source:
    """A record from texts by key path, and the `rest` under them.

    Its faults name the file and the box, for there are no lines to name.
    """
    read = record_of_text(yaml_text(nested(answers, rest)), file)
    source = Source(read=read, name=name, answers=answers, labels=labels or {}, rest=rest or {})
    return replace(source, read=replace(read, faults=tuple(without_lines(source, read.faults))))


def _of_box(where: Where, labels: Mapping[str, str]) -> Where:
    return Where(file=where.file, path=where.path, lines=False, label=labels.get(where.path, ""))


def without_lines(source: Source, faults: Sequence[Fault]) -> list[Fault]:
    """Faults of joining, placed as this source's own are."""
    if not source.drafted:
        return list(faults)
    return [replace(one, where=_of_box(one.where, source.labels)) for one in faults]


def nested(answers: Mapping[str, str], rest: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Texts by key path as mappings in mappings, over the `rest`; where one path runs through another's text the later
    one is left."""
    root: dict[str, Any] = {}
    for path, text in answers.items():
        *parents, last = path.split(".")
        at = root
        for name in parents:
            below = at.setdefault(name, {})
            at = below if isinstance(below, dict) else {}
        at.setdefault(last, text)
    return _over(root, rest or {})


def _over(answered: dict[str, Any], rest: Mapping[str, Any]) -> dict[str, Any]:
    """What was answered, and what it says nothing of from the rest."""
    for name, value in rest.items():
        own = answered.get(name)
        if name not in answered:
            answered[name] = value
        elif isinstance(own, dict) and isinstance(value, Mapping):
            _over(own, value)
    return answered


def yaml_text(content: Mapping[str, Any], indent: int = 0) -> str:
    """YAML of mappings, lists and texts, every text quoted: what somebody wrote is never taken for a mark."""
    lines = []
    for name, value in content.items():
        head = f"{'  ' * indent}{name if name.replace('_', '').isalnum() and name.isascii() else _quoted(name)}:"
        if isinstance(value, Mapping):
            lines += [head + "\n" + yaml_text(value, indent + 1)] if value else []
        elif isinstance(value, list):
            lines.append(f"{head} [{', '.join(_quoted(str(one)) for one in value)}]\n")
        else:
            lines.append(f"{head} {_quoted(str(value))}\n")
    return "".join(lines)


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
