"""The packet as one HTML file for a screen reader: the same sheets from the same blocks, in the order they are read.

Nothing in it runs and nothing comes from outside. One function, `_safe`, makes whatever was written into text that may
stand in the file; no other text reaches it. Drawings are there as the sentences their blocks carry.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape
from itertools import groupby

from planner.checks.model import Level
from planner.packet.blocks import (
    Block,
    Bullet,
    Caution,
    Cell,
    Code,
    Columns,
    DoNotStart,
    Fields,
    Gap,
    Heading,
    Hold,
    KeyFigures,
    Marked,
    NewPage,
    Picture,
    Section,
    Signs,
    Spans,
    State,
    Step,
    StepHead,
    Table,
    Text,
    Ticks,
    Two,
    Verdict,
    WriteIn,
    inner,
)
from planner.packet.book import Book
from planner.packet.fields import boxes_of

_LEVELS: dict[Level, str] = {"stop": "stop", "caution": "caution", "ok": "ok", "none": "does not apply"}
_ABOUT = "This is the text of the printed pages; page numbers refer to the paper."
_FILL = " What was done is written into the PDF, whose boxes can be filled in."
_STYLE = """
body { font: 1.1rem/1.5 "Source Sans Pro", "Source Sans 3", sans-serif; color: #000; background: #fff; max-width: 46rem;
  margin: 0 auto; padding: 1rem; }
h1, h2, h3 { line-height: 1.2; }
section { border-top: 3px solid #000; margin-top: 2rem; }
table { border-collapse: collapse; margin: .5rem 0 1rem; }
caption { text-align: left; font-weight: bold; }
th, td { text-align: left; vertical-align: top; padding: .2rem .8rem .2rem 0; border-bottom: 1px solid #555; }
.number { text-align: right; }
.caution { border-left: 4px solid #000; padding-left: .6rem; }
.hold, .held, .verdict { border: 3px solid #000; padding: .2rem .8rem; margin: .8rem 0; }
ul.steps { list-style: none; padding-left: 0; }
ul.steps li { margin: .4rem 0; }
input { width: 1.2rem; height: 1.2rem; }
"""


def twin(book: Book) -> bytes:
    """The book as HTML in UTF-8: the same book gives the same bytes."""
    head = book.masthead
    number = f"plan {head.plan}" if head.plan else ""
    line = ", ".join(part.strip() for part in head.line.split("    ") if part.strip())
    parts = [
        "<!DOCTYPE html>",
        '<html lang="en-US">',
        "<head>",
        '<meta charset="utf-8">',
        # Belt and braces: a reader's browser fetches and runs nothing, whatever a file may hold.
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{_safe(', '.join(part for part in (head.job, number) if part))}</title>",
        f"<style>{_STYLE}</style>",
        "</head>",
        "<body>",
        "<header>",
        f"<h1>{_safe(head.job)}</h1>",
        f"<p>{_safe(', '.join(part for part in (line, number) if part))}</p>",
        f"<p>{_ABOUT}{_FILL if boxes_of(book.sections) else ''}</p>",
        "</header>",
        *_contents(book),
        "<main>",
    ]
    sheets = _Sheets()
    for section in book.sections:
        parts += sheets.section(section)
    parts += ["</main>", "</body>", "</html>", ""]
    return "\n".join(parts).encode("utf-8")


def _safe(text: object) -> str:
    """Any text as it may stand in the file: no control, bidi or invisible characters, and nothing that is markup."""
    kept = "".join(_kept(letter) for letter in unicodedata.normalize("NFC", str(text)))
    return escape(kept, quote=True)


def _kept(letter: str) -> str:
    kind = unicodedata.category(letter)
    if kind in ("Zs", "Zl", "Zp") or letter in "\r\n\t\v\f":
        return "\u00a0" if letter == "\u00a0" else " "
    return "" if kind in ("Cc", "Cf", "Cs", "Co", "Cn") else letter


def _words(text: str | Spans) -> str:
    """Words, or spans with the numbers to act on strong."""
    if isinstance(text, str):
        return _safe(text)
    return "".join(f"<strong>{_safe(span.text)}</strong>" if span.strong else _safe(span.text) for span in text)


def _contents(book: Book) -> Iterator[str]:
    yield '<nav aria-label="Sheets">'
    yield "<ul>"
    for section in book.sections:
        page = book.bound.page(section.key)
        where = f", page {page}" if page else ""
        yield f'<li><a href="#{_safe(section.key)}">{_safe(_title(section))}</a>{where}</li>'
    yield "</ul>"
    yield "</nav>"


def _title(section: Section) -> str:
    return f"{section.title}: {section.place}" if section.place else section.title


@dataclass(slots=True, kw_only=True)
class _Sheets:
    """The sheets as they are written one after another; `boxes` counts what is ticked, for the labels."""

    boxes: int = 0

    def section(self, section: Section) -> Iterator[str]:
        """One sheet under its title."""
        key = _safe(section.key)
        yield f'<section id="{key}" aria-labelledby="{key}-title">'
        yield f'<h2 id="{key}-title">{_safe(_title(section))}</h2>'
        if section.owner:
            yield "<p>For the owner, not for the crew.</p>"
        yield from self.blocks(section.blocks)
        if section.foot:
            yield f"<p>{_safe(section.foot)}</p>"
        yield "</section>"

    def blocks(self, blocks: Iterable[Block]) -> Iterator[str]:
        """Blocks in order; steps that follow each other are one list, and so are lines that are only read."""
        for kind, alike in groupby(blocks, key=type):
            if kind is Step:
                yield '<ul class="steps">'
            elif kind is Bullet:
                yield "<ul>"
            for block in alike:
                yield from self.block(block)
            if kind in (Step, Bullet):
                yield "</ul>"

    def block(self, block: Block) -> Iterator[str]:
        """One block; steps and lines that are only read are lines of a list."""
        match block:
            case Step():
                yield self.step(block)
            case Bullet():
                yield f"<li>{_words(block.spans)}</li>"
            case Heading():
                yield f"<h3>{_words(block.spans)}</h3>"
            case Text():
                yield f"<p>{_words(block.spans)}</p>"
            case Caution():
                yield f'<p class="caution"><strong>Caution:</strong> {_words(block.spans)}</p>'
            case Hold():
                yield from self.hold(block)
            case Table():
                yield from _table(block)
            case Fields():
                yield "<dl>"
                for label, value in block.rows:
                    yield f"<dt>{_safe(label)}</dt><dd>{_cell(value)}</dd>"
                yield "</dl>"
            case KeyFigures():
                yield from _tiles(block)
            case Verdict():
                yield from _verdict(block)
            case Picture():
                if block.told:
                    title = f"<strong>{_safe(block.title)}.</strong> " if block.title else ""
                    yield f"<p>{title}{_safe(block.told)}</p>"
            case DoNotStart():
                yield f'<div class="held" role="note"><p><strong>Do not start.</strong> {_words(block.reason)}</p>'
                yield f"<p>{_safe(block.leave)}</p></div>"
            case Two() | Columns():
                yield from self.blocks(inner(block))
            case Code():
                yield f"<p>To scan: {_safe(block.text)}</p>"
            case Gap() | NewPage() | StepHead():
                return

    def step(self, step: Step) -> str:
        """A box to tick with its words as its label."""
        words = _words(step.spans)
        if step.number:
            words = f"{step.number}. {words}"
        if step.should:
            words += f" Should be: {_words(step.should)}."
        if step.differs:
            words += f" If not: {_words(step.differs)}"
        if step.write is not None:
            words += " To fill in."
        line = self.box(words)
        caution = f'<p class="caution"><strong>Caution:</strong> {_words(step.caution)}</p>' if step.caution else ""
        again = "".join(f"<li>{self.box(_safe(f'{clock} {note}'.strip()))}</li>" for clock, note in step.rounds)
        return f"<li>{line}{caution}{f'<ul>{again}</ul>' if again else ''}</li>"

    def box(self, words: str) -> str:
        """A box to tick with its label, `words` safe already."""
        self.boxes += 1
        return f'<input type="checkbox" id="box-{self.boxes}"> <label for="box-{self.boxes}">{words}</label>'

    def hold(self, hold: Hold) -> Iterator[str]:
        """A hold point: what it stands before, its questions, and a box for each who answers."""
        yield '<div class="hold">'
        yield f"<p><strong>Stop point {hold.number}. {_safe(hold.title)}:</strong> {_words(hold.questions)}</p>"
        yield f"<p>{' '.join(self.box(f'Stop point {hold.number}, {who}') for who in hold.who)}</p>"
        if hold.guards is not None:
            yield f'<ul class="steps">{self.step(hold.guards)}</ul>'
        yield "</div>"


def _cell(cell: Cell) -> str:
    match cell:
        case WriteIn():
            return "to fill in"
        case State():
            return _safe(cell.told) or _LEVELS[cell.level]
        case Marked():
            level = f"{_LEVELS[cell.level]}: " if cell.level is not None else ""
            words = f"<strong>{_safe(cell.text)}</strong>, as planned" if cell.framed else _safe(cell.text)
            return f"{level}{words}"
        case Ticks():
            return f"to check off, {cell.count} times" if cell.count > 1 else "to check off"
        case Signs():
            return _safe(", ".join(name.replace("_", " ") for name in cell.names))
        case _:
            return _words(cell)


def _said(cell: Cell) -> bool:
    """True where a cell says something."""
    return bool(cell) if isinstance(cell, str) else not isinstance(cell, tuple) or any(span.text for span in cell)


def _table(table: Table) -> Iterator[str]:
    """A table with its heads; one of several that stand abreast on paper is a table of its own here."""
    many = len(table.widths) // table.abreast
    for first in range(0, len(table.widths), many):
        head = table.head[first : first + many]
        last = first + many >= len(table.widths)
        rows = [
            (row if n in table.across else row[first : first + many], n in table.across)
            for n, row in enumerate(table.rows)
            if last or n not in table.across
        ]
        rows = [(row, across) for row, across in rows if any(_said(cell) for cell in row)]
        if not rows and not any(head):
            continue
        yield "<table>"
        if any(head):
            cells = "".join(
                f'<th scope="col"{_right(first + n, table)}>{_safe(words)}</th>' if words else "<td></td>"
                for n, words in enumerate(head)
            )
            yield f"<thead><tr>{cells}</tr></thead>"
        yield "<tbody>"
        for row, across in rows:
            yield f"<tr>{_row(row, across, first, many, table)}</tr>"
        yield "</tbody>"
        yield "</table>"


def _row(row: tuple[Cell, ...], across: bool, first: int, many: int, table: Table) -> str:
    if across:
        return f'<td colspan="{many}">{_cell(row[0])}</td>'
    named = (n for n, cell in enumerate(row) if isinstance(cell, (str, tuple)) and _said(cell))
    heads = next(named, -1) if many > 1 else -1
    return "".join(
        f'<th scope="row">{_cell(cell)}</th>' if n == heads else f"<td{_right(first + n, table)}>{_cell(cell)}</td>"
        for n, cell in enumerate(row)
    )


def _right(column: int, table: Table) -> str:
    return ' class="number"' if column in table.right else ""


def _tiles(block: KeyFigures) -> Iterator[str]:
    yield "<ul>"
    for tile in block.tiles:
        number = " ".join(part for part in (tile.number, tile.unit) if part)
        below = _safe(" ".join(line for line in (*tile.lines, tile.last) if line))
        failing = " (stop)" if tile.failing else ""
        yield f"<li>{_safe(tile.label)}: <strong>{_safe(number)}</strong>{failing} {below}</li>"
    yield "</ul>"


def _verdict(block: Verdict) -> Iterator[str]:
    yield '<div class="verdict">'
    yield f"<p><strong>{_safe(block.word)}</strong> {_safe(block.count)}</p>"
    if block.items:
        yield "<ul>"
        for item in block.items:
            level = _LEVELS[item.level]
            words = f"<strong>{_safe(item.title)}:</strong> {_safe(item.text)}" if item.text else _safe(item.title)
            yield f"<li>{level}: {words}{f', {_safe(item.page)}' if item.page else ''}</li>"
        yield "</ul>"
    if block.more:
        yield f"<p>{_safe(block.more)}</p>"
    yield "</div>"
