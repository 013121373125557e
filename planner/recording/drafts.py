"""Drafts of a record: files beside the job that keep what was answered or could be read until it is recorded."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from planner.faults import Fault, Where, in_order
from planner.frozen import dataclass
from planner.inputs.reading.files import read_file, shown
from planner.inputs.reading.tree import LARGEST_FILE
from planner.recording.sources import Source, nested, yaml_text
from planner.writing import read_ordinary, write_whole

_MOST_DRAFTS = 100
DRAFT: Final = ".record.draft"
_HEAD: Final = "# What was done on "
_BEGUN = re.compile(r"^# Begun when revision ([0-9]{1,6}) was the last\.$", re.MULTILINE)
_FROM = re.compile(r"^# What was done on .+, as far as it could be read \((.*)\)\.$", re.MULTILINE)
_REMARK = re.compile(r"^# .+  \(.+; .+\)$", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A draft as it lies there: `raw` what it says, None where it cannot be read; `begun` the revision it was begun
    from, 0 for none, None where it says nothing of one; `remarks` what could not be read; `at` when, ISO in UTC;
    `source` what its answers came in by."""

    path: Path
    raw: Mapping[str, Any] | None
    begun: int | None
    remarks: tuple[str, ...]
    at: str
    source: str = ""


def drafts_beside(file: Path) -> Iterator[Draft]:
    """Every draft kept beside a job's file, the last one first."""
    for number in range(_MOST_DRAFTS - 1, 0, -1):
        path = file.parent / _name(file.stem, number)
        if not path.is_file():
            continue
        tree = read_file(path)
        try:
            text = read_ordinary(path, LARGEST_FILE).decode("utf-8", "replace")
            written = datetime.datetime.fromtimestamp(path.stat().st_mtime, datetime.UTC)
        except OSError:
            continue  # taken away just now
        begun, source = _BEGUN.search(text), _FROM.search(text)
        yield Draft(
            path=path,
            raw=tree.root.plain() if tree.root is not None and not tree.faults else None,
            begun=int(begun[1]) if begun is not None else None,
            remarks=tuple(_REMARK.findall(text)),
            at=written.isoformat(timespec="microseconds"),
            source=source[1] if source is not None else "",
        )


def is_draft(path: Path) -> bool:
    """Whether a file is a draft of ours, by its name and how it begins."""
    if DRAFT not in path.name:
        return False
    try:
        return read_ordinary(path, len(_HEAD)) == _HEAD.encode()
    except OSError:
        return False


def keep_draft(
    source: Source,
    faults: Sequence[Fault],
    beside: Sequence[Path],
    job: str,
    over: Path | None = None,
    *,
    begun: int | None = None,
    remarks: Sequence[str] = (),
    elsewhere: bool = True,
) -> tuple[Path | None, Fault | None]:
    """Write what could be read to a draft, what could not as remarks in it; over no other draft than one that was gone
    on from, `over`. It lies beside the first of the files `beside` where it can be written, else, if it may lie
    `elsewhere`, in the folder we were called in.

    `begun` is the revision that was the last when it was begun, `remarks` those of the draft gone on from. Gives the
    draft's path, or the fault that kept it from being written.
    """
    spoilt = {fault.where.path for fault in faults if fault.where.path}
    bad = {path for path in source.answers if any(_covers(one, path) for one in spoilt)}
    good = {path: text for path, text in source.answers.items() if path not in bad and path != "job"}
    lines = [
        f"{_HEAD}{job}, as far as it could be read ({source.name}).\n",
        "# Write in what is missing, then take it in with `planner record JOB --from` this file;\n",
        "# or go on with questions: `planner record JOB`.\n",
    ]
    if begun is not None:
        lines.append(f"# Begun when revision {begun} was the last.\n")
    lines += [f"{remark}\n" for remark in remarks]
    for fault in in_order([*faults, *source.lost]):
        written = source.answers.get(fault.where.path)
        told = f"{fault.where.path}: {json.dumps(written)}" if written is not None else fault.where.path or source.name
        lines.append(f"# {told}  ({_one_line(fault.message)}; {_one_line(fault.remedy)})\n")
    text = "".join(lines) + yaml_text(nested({"job": job, **good}, source.rest))
    return _written(beside, text, over, elsewhere=elsewhere)


def drop(draft: Path) -> None:
    """Take away a draft whose answers are recorded."""
    try:
        draft.unlink(missing_ok=True)
    except OSError:
        print(f"The draft {shown(draft)} could not be taken away; it is no longer needed.")


def _name(stem: str, number: int) -> str:
    return f"{stem}{DRAFT}{f'-{number}' if number > 1 else ''}.yaml"


def _covers(spoilt: str, path: str) -> bool:
    plain = spoilt.partition("[")[0]
    return path == plain or path.startswith(f"{plain}.")


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _written(
    beside: Sequence[Path], text: str, over: Path | None, *, elsewhere: bool
) -> tuple[Path | None, Fault | None]:  # fmt: skip
    """The draft's path: beside one of these, or where nothing can be written there, in the folder we were called in."""
    content = text.encode("utf-8", "replace")[:LARGEST_FILE]
    unwritten: Fault | None = None
    if over is not None:
        try:
            write_whole(over, content)
            return over, None
        except OSError:
            pass  # where it could be read it may not be written any more
    here = [(Path(), beside[-1].stem)] if elsewhere else []
    for folder, stem in [*((file.parent, file.stem) for file in beside), *here]:
        for number in range(1, _MOST_DRAFTS):
            target = folder / _name(stem, number)
            try:
                if not target.exists():
                    write_whole(target, content)
                    return target, None
                if read_ordinary(target, LARGEST_FILE + 1) == content:
                    return target, None
            except OSError as error:
                unwritten = unwritten or Fault(
                    code="record.unwritable",
                    message=f"the draft could not be written: {error.strerror or error}",
                    remedy="copy the filled packet to a folder you may write to, and name it there",
                    where=Where(file=str(target)),
                )
                break
    return None, unwritten
