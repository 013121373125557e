"""Every figure a packet shows, with the sheet, row and words it stands in: read from what is about to be painted.

Blocks are walked field by field, drawings by the strings they are made of, so a new kind of block is read too.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from pypdfium2 import PdfDocument

from planner.packet.blocks import (
    Code,
    Fields,
    Heading,
    KeyFigures,
    Picture,
    Section,
    Span,
    Step,
    Table,
    Tile,
    VerdictItem,
    WriteIn,
)
from planner.packet.pages.style import MEASURE

UNITS = (
    "fl oz/gal", "trade %", "wt % NaOCl", "wt % Cl2", "wt %", "vol %", "ft2/gal", "gal/ft2", "m2/L", "L/m2", "ft2/min",
    "mL/L", "fl oz", "mg/L", "kg/L", "g/L", "L/min", "km/h", "ft/s", "m/s", "m2/min", "ft2", "m2", "ft3", "m3", "ppm", "gpm", "gal", "psi", "bar", "mph",
    "lbf", "lb", "oz", "kg", "mm", "mL", "min", "AWG", "days", "day", "Ah", "hp", "ft", "in", "kW", "dial", "%", "h", "g", "L", "m", "s", "F", "C",
    "N", "V", "A", "W",
)  # fmt: skip
"""Units as they are printed; where one begins with another the longer stands first."""
STRENGTHS = ("trade %", "wt % NaOCl", "wt % Cl2", "wt %")

_NUMBER = r"(?<![\w.,/:-])[−-]?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+| \d+/\d+|/\d+)?(?![\d/:])(?!\.\d)"
_UNIT = "|".join(re.escape(unit) for unit in UNITS)
_FIGURE = re.compile(
    r"(?P<ratio>(?<![+\d])\d+(?:\.\d+)?:1\b(?!\d)|(?<![+\d])1:\d+\b(?![ ][ap]m))"
    r"|(?P<clock>\+?\b\d{1,2}:\d\d\b(?:[ ][ap]m\b)?)"
    r"|(?P<hours>\d+ h \d\d min\b)|(?P<seconds>\d+ min \d+ s\b)"
    rf"|(?P<number>{_NUMBER})(?:[ ](?P<unit>{_UNIT})(?![\w/2])(?! \d+ (?:min|s)\b))?"
)
_WATER = "W"
"""The mark for water at a panel's knob."""
_RANGE = re.compile(r"[\d.]+ to [\d.]+")
ONE_FIGURE = rf"[−-]?\d[\d,./]*(?: \d+/\d+)?(?: (?:{_UNIT})(?![\w/]))?(?: \d+ (?:min|s|fl oz)\b)?"
"""A figure with its unit as it stands in a sentence, read as far as it goes."""
_WORDS_ONLY = frozenset({"use", "name", "names", "level", "key", "foot", "place", "kind", "acts", "who"})
_NOT_A_FIGURE = re.compile(r"\b(?:E?U?H\d{3}(?: H\d{3})*|\d+ (?:CFR|U\.S\.)\S*(?: [\d.]+\S*)*)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number as printed with its unit, where there is one: `13.9` and `gal`.

    `words` are those around it, names as `@` and numbers as `#`, of which it is the `nth`; `row` begins its row of a table, `column` heads it.
    """

    sheet: str
    words: str
    row: str
    column: str
    number: str
    unit: str
    drawn: bool = False
    nth: int = 0

    def __str__(self) -> str:
        place = " > ".join(part for part in (self.sheet, self.row, self.column) if part)
        return f"{place}: {self.number} {self.unit} in `{self.words}`"


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A packet and its owner's file as they were bound: the bytes of each, and the sheets of the last printings."""

    pdfs: tuple[bytes, ...]
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """A run of words in one place. `unit` is what its bare numbers are in, by the head of the column or the sheet."""

    sheet: str
    text: str
    row: str = ""
    column: str = ""
    unit: str = ""
    drawn: bool = False
    may_go: bool = False  # of a drawing that is left out where it would cost a page


def phrases(section: Section) -> list[Phrase]:
    """All the words of a sheet, in order."""
    heads: list[str] = [""]
    return list(_phrases(section.key, section.blocks, heads))


def _phrases(sheet: str, part: Any, heads: list[str]) -> Iterator[Phrase]:
    if isinstance(part, str):
        yield Phrase(sheet=sheet, text=part)
    elif isinstance(part, tuple) and part and all(isinstance(one, Span) for one in part):
        yield Phrase(sheet=sheet, text=_text(part), column=heads[0])
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from _phrases(sheet, one, heads)
    elif isinstance(part, Table):
        yield from _of_table(sheet, part, heads[0])
    elif isinstance(part, Fields):
        for label, value in part.rows:
            if not isinstance(value, WriteIn):
                yield Phrase(sheet=sheet, text=_text(value), row=label)
    elif isinstance(part, Picture):
        yield from _of_picture(sheet, part, heads[0])
    elif isinstance(part, KeyFigures):
        for tile in part.tiles:
            yield from _of_tile(sheet, tile)
    elif isinstance(part, Step):  # what it should show and what to do else stand beside it: one sentence
        text = _text(part.spans)
        if part.should or part.differs:
            text = f"{text.rstrip('. ')}: {_text(part.should)}. {_text(part.differs)}"
        yield Phrase(sheet=sheet, text=text, column=heads[0])
        yield from _phrases(sheet, (part.caution or (), part.rounds), heads)
    elif isinstance(part, VerdictItem):
        yield Phrase(sheet=sheet, text=part.title)
        yield Phrase(sheet=sheet, text=part.text)
        yield Phrase(sheet=sheet, text=part.page, row=part.title)
    elif isinstance(part, Heading):
        heads[0] = _text(part.spans)
        yield Phrase(sheet=sheet, text=heads[0])
    elif is_dataclass(part) and not isinstance(part, (WriteIn, Code)):
        for field in fields(part):
            if field.name not in _WORDS_ONLY:
                yield from _phrases(sheet, getattr(part, field.name), heads)


def _text(cell: Any) -> str:
    if isinstance(cell, str):
        return cell
    if isinstance(cell, tuple):
        return "".join(span.text for span in cell)
    text = getattr(cell, "text", "")
    return text if isinstance(text, str) else ""


def _last_unit(text: str) -> str:
    """The unit a head or label ends with: `Wet, gal`, `gal`, `Reach, ft: 27 ft needed`."""
    found = re.search(rf"(?:^|, )(?P<unit>{_UNIT})(?=$|[:,]| left$)", text)
    return found["unit"] if found else ""


def _of_table(sheet: str, table: Table, head: str) -> Iterator[Phrase]:
    for place, column in enumerate(table.head):
        yield Phrase(sheet=sheet, text=column, column=head, unit=_last_unit(table.head[0]) if place else "")
    for row in table.rows:
        cells = [_text(cell) for cell in row]
        first = next((cell for cell in cells if cell), "")
        named = ""  # a column of labels within the row, as where boxes stand three across
        for place, cell in enumerate(cells):
            column = table.head[place] if place < len(table.head) else ""
            box = row[place]
            if isinstance(box, WriteIn) and box.planned:  # what its field's hint says was planned
                yield Phrase(sheet=sheet, text=box.planned, row=box.label, column="planned", unit=box.unit)
            if not cell or cell in UNITS:
                continue
            beside = cells[place + 2] if place + 2 < len(cells) else ""
            before = cells[place - 1] if place else ""
            unit = (
                _last_unit(column) or (beside if beside in UNITS else "") or _last_unit(before) or _last_unit(first)
                or (_unit_of(cells[:place]) if _RANGE.fullmatch(cell) else "") or (_last_unit(head) if place else "")
            )  # fmt: skip
            named = before if column == "plan" else first
            yield Phrase(sheet=sheet, text=cell, row=named, column=column or head, unit=unit)


def _unit_of(cells: list[str]) -> str:
    """The unit of the last figure before, which a range goes on in: `10.3 trade %`, then `10.2 to 10.4`."""
    found = [match["unit"] for cell in cells for match in _FIGURE.finditer(cell) if match["unit"]]
    return found[-1] if found and "%" in found[-1] else ""


def _of_tile(sheet: str, tile: Tile) -> Iterator[Phrase]:
    yield Phrase(sheet=sheet, text=f"{tile.number} {tile.unit}".strip(), row=tile.label)
    rest = " ".join(part for part in (*tile.lines, tile.last) if part)
    unit = tile.unit if "%" in tile.unit else ""
    yield Phrase(sheet=sheet, text=rest, row=tile.label, column="below", unit="trade %" if unit == "%" else unit)


def _of_picture(sheet: str, picture: Picture, head: str) -> Iterator[Phrase]:
    tall = max(picture.heights) or 40.0
    texts, may_go = list(_strings(picture.paint(300.0, tall))), 0.0 in picture.heights
    unit = _last_unit(head) or next((unit for text in texts if (unit := _last_unit(text)) and text != _WATER), "")
    for text in texts:
        yield Phrase(sheet=sheet, text=text, row=picture.title, column=head, unit=unit, drawn=True, may_go=may_go)
    for clause in re.split(r"[;,.] ", picture.told.removesuffix(".")):  # what the twin says of it
        yield Phrase(sheet=sheet, text=clause, row=picture.title, column=head, may_go=may_go)


def _strings(shape: Any) -> Iterator[str]:
    for one in getattr(shape, "contents", ()):
        if isinstance(getattr(one, "text", None), str):
            yield one.text
        else:
            yield from _strings(one)


def names_of(part: Any) -> tuple[str, ...]:
    """Everything somebody wrote as a name or a note that holds a digit, longest first."""
    found: set[str] = set()
    _names(part, found, set())
    return tuple(sorted(found, key=len, reverse=True))


def _names(part: Any, found: set[str], seen: set[int]) -> None:
    if isinstance(part, str):
        named = re.search(r"[^\W\d_]|\d-\d{3}", part)  # a telephone number is a name, too
        if re.search(r"\d", part) and named and not _FIGURE.fullmatch(part) and len(part) < 400:
            found.add(" ".join(part.split()))
        return
    if id(part) in seen or isinstance(part, (int, float, bytes)) or part is None:
        return
    seen.add(id(part))
    if isinstance(part, dict) or hasattr(part, "items"):
        for key, value in part.items():
            _names(key, found, seen)
            _names(value, found, seen)
    elif isinstance(part, (list, tuple, set, frozenset)):
        for one in part:
            _names(one, found, seen)
    elif is_dataclass(part):
        for field in fields(part):
            if field.name not in ("source_text", "source", "text", "where"):
                _names(getattr(part, field.name), found, seen)
    elif hasattr(type(part), "model_fields"):
        for name in type(part).model_fields:
            _names(getattr(part, name), found, seen)


def figures(said: Iterable[Phrase], names: Iterable[str], whole: Callable[[str], bool]) -> list[Figure]:
    """Every figure of the phrases. A phrase that `whole` knows is somebody's own words, told elsewhere."""
    found: list[Figure] = []
    kept = tuple(names)
    for phrase in said:
        if not re.search(r"\d", phrase.text) or whole(phrase.text):
            continue
        found += _figures(phrase, kept)
    return found


def _figures(phrase: Phrase, names: tuple[str, ...]) -> Iterator[Figure]:
    text = " ".join(phrase.text.replace("\u00a0", " ").split())
    for name in names:
        if name in text:
            text = re.sub(rf"(?<![\w.]){re.escape(name)}(?![\w])", "@", text)
    text = _NOT_A_FIGURE.sub("@", text)
    words = _FIGURE.sub(lambda match: f"# {match['unit']}" if match["unit"] else "#", text)
    before, strong, last = phrase.unit, "", ""
    for nth, match in enumerate(_FIGURE.finditer(text)):
        number, unit = match["number"], match["unit"]
        if number is None:
            number = match[0]
            if phrase.drawn and re.fullmatch(r"\+?\d+:\d\d(?: [ap]m)?", text):
                yield Figure(sheet=phrase.sheet, words=words, row=phrase.row, column=phrase.column, number=number,
                             unit="clock", drawn=True)  # fmt: skip
                continue
            unit = next(kind for kind in ("clock", "ratio", "hours", "seconds") if match[kind])
        elif unit is None:
            ranges = re.match(r"[\d.]+ to [\d.]", text[match.start() :]) or re.search(
                r"[\d.]+ to $", text[: match.start()]
            )
            within = re.search(rf"\((?:{_NUMBER} to )?$", text[: match.start()])  # `58 psi (54 to 62)`
            behind = re.match(rf"{_NUMBER} to {_NUMBER} (?P<unit>{_UNIT})\)", text[match.start() :])
            # `10.3 trade %, 10.2 to 10.4`; `58 psi (54 to 62 psi)`
            unit = behind["unit"] if behind else (last if within else "") or before or (strong if ranges else "")
        elif unit in STRENGTHS:
            strong = unit
        last = unit or ""
        yield Figure(
            sheet=phrase.sheet, words=words, row=phrase.row, column=phrase.column, number=number, unit=unit or "",
            drawn=phrase.drawn, nth=nth,
        )  # fmt: skip


_TOKEN = re.compile(r"\d[\d,.:/]*(?<![,.:/])")


def numbers_said(sections: Iterable[Section], *, surely: bool = False) -> Counter[str]:
    """Every run of digits in the blocks, names and all; of drawings only what is more than a mark of a scale.

    `surely` leaves out what only stands in a drawing that may be left out.
    """
    said = (one for section in sections for one in phrases(section) if not (surely and one.may_go))
    return Counter(
        token for one in said if not (one.drawn and _SCALE.fullmatch(one.text)) for token in _TOKEN.findall(one.text)
    )


_SCALE = re.compile(r"[\d.,]+|\+?\d+:\d\d(?: [ap]m)?")


def marks_of_scales(sections: Iterable[Section]) -> set[str]:
    """The marks drawings have at one size or another: axes, sticks, the clock bar."""
    found: set[str] = set()
    pictures = [one for section in sections for one in _pictures(section.blocks)]
    for picture in pictures:
        for wide in (180.0, 240.0, 330.0, 504.0, MEASURE):
            for tall in {*picture.heights} - {0.0}:
                texts = (text for text in _strings(picture.paint(wide, tall)) if _SCALE.fullmatch(text))
                found |= {token for text in texts for token in _TOKEN.findall(text)}
    return found


def _pictures(part: Any) -> Iterator[Picture]:
    if isinstance(part, Picture):
        yield part
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from _pictures(one)
    elif is_dataclass(part):
        for field in fields(part):
            yield from _pictures(getattr(part, field.name))


def numbers_painted(*pdfs: bytes) -> Counter[str]:
    """Every run of digits that stands on the paper."""
    texts: list[str] = []
    for pdf in pdfs:
        with PdfDocument(pdf) as document:
            texts += [sheet.get_textpage().get_text_range().replace("\u00a0", " ") for sheet in document]
    return Counter(token for text in texts for token in _TOKEN.findall(text))
