"""What is wrong with something that was written: one type, one printer, one JSON form.

A user's mistake is data, not an exception.  Every stage that reads gives back
its value and a list of faults; nothing stops at the first one.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Final, TypedDict

from planner.frozen import dataclass
from planner.terminal import on_one_line

MOST_TOLD: Final = 100
"""Faults of one file on a terminal (our choice)."""


class WhereJson(TypedDict):
    file: str
    line: int
    column: int
    path: str


class FaultJson(TypedDict):
    code: str
    message: str
    remedy: str
    where: WhereJson


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """A place in a file: line and column count from 1, `path` names the key (`tanks[0].volume`).

    `lines` is False where the source has none: a PDF, an archive, answers, the command line; `label` is what is printed
    beside a box there.
    """

    file: str
    line: int = 1
    column: int = 1
    path: str = ""
    lines: bool = True
    label: str = ""

    def __str__(self) -> str:
        if self.lines:
            return f"{self.file}:{self.line}:{self.column}"
        if self.label:
            return f'{self.file}: box "{self.label}" ({self.path}):'
        return f"{self.file}: {self.path}:" if self.path else f"{self.file}:"

    def as_json(self) -> WhereJson:
        """The place as the JSON contract writes it."""
        return {"file": self.file, "line": self.line, "column": self.column, "path": self.path}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with what was written, and what to write instead.

    `code` is two lower-case words joined by a dot (`quantity.unit`), `message`
    says what was found, `remedy` is an imperative with an example.
    """

    code: str
    message: str
    remedy: str
    where: Where

    def as_json(self) -> FaultJson:
        """The fault as the JSON contract writes it."""
        return {
            "code": self.code,
            "message": self.message,
            "remedy": self.remedy,
            "where": self.where.as_json(),
        }


def in_order(faults: Iterable[Fault]) -> list[Fault]:
    """Faults by file, then by line and column, each once, as a person would work through them."""
    seen = dict.fromkeys(faults)
    return sorted(seen, key=lambda f: (f.where.file, f.where.line, f.where.column, f.code))


def printed(faults: Iterable[Fault]) -> str:
    """Faults as text for a terminal: place and message on one line, key and remedy below it."""
    lines: list[str] = []
    for file, of_file in groupby(in_order(faults), lambda fault: fault.where.file):
        told = list(of_file)
        for fault in told[:MOST_TOLD]:
            lines.append(on_one_line(f"{fault.where} {fault.code} {fault.message}"))
            at = f"at {fault.where.path}: " if fault.where.path and fault.where.lines else ""
            lines.append(on_one_line(f"    {at}{fault.remedy}"))
        if len(told) > MOST_TOLD:
            lines.append(f"{on_one_line(file)}: and {len(told) - MOST_TOLD:,} more; fix these first")
    return "\n".join(lines)
