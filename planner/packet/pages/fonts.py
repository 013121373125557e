"""The typeface: Source Sans Pro, embedded, so a page looks the same on every printer.

What it has no glyph for is replaced by `inputs/reading/letters.py`.
"""

from __future__ import annotations

import re
from functools import lru_cache
from importlib.resources import files
from xml.sax.saxutils import escape

from planner.inputs.reading.letters import printable

REGULAR, SEMIBOLD, BOLD, BLACK = "Planner-Regular", "Planner-Semibold", "Planner-Bold", "Planner-Black"
_FILES = {
    REGULAR: "SourceSansPro-Regular.ttf",
    SEMIBOLD: "SourceSansPro-Semibold.ttf",
    BOLD: "SourceSansPro-Bold.ttf",
    BLACK: "SourceSansPro-Black.ttf",
}
_UNITS = (
    "ft3|ft2|ft|in|yd|psi|kPa|bar|gpm|gph|gal|qt|pt|L/min|L|mL|m2|m3|mm|cm|m|km/h|m/s|mph|lbf|lb|kg|g/L|g|N|"
    "h|min|s|days?|hp|kW|W|A|V|AWG|Hz|rpm|°F|°C|F|C|fl|oz|trade|wt|vol|%|sq|mg/L|ppm"
)
_NUMBER_UNIT = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?![A-Za-z]))")
_PERCENT = re.compile(r"\b(trade|wt|vol) %")
_FRACTION = re.compile(
    r"(?<![\d/.,])(?:(\d+)[ \u00a0])?(\d{1,2}/(?:2|3|4|8|16|32|64))(?=\u00a0(?:in|gal|ft|qt|pt|lb|hp|oz)\b)"
)
_POINTED = re.compile(r"(?<![\w.])\d[\d,]*[.:]\d+(?![\w])")
_GAP_EM = 0.16
_FRACTION_SIZE = 0.84
_LEAST = 10.0  # pt; nothing on a page is set smaller
_SPACE_EM = 0.2  # the width of this face's space


@lru_cache(maxsize=1)
def register() -> None:
    """Make the four weights known to the engine, once."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = files("font_source_sans_pro") / "files"
    for name, file in _FILES.items():
        pdfmetrics.registerFont(TTFont(name, str(folder / file)))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)


@lru_cache(maxsize=8192)
def markup(text: str, size: float, face: str = "") -> str:
    """Text for the paragraph maker at `size` pt: escaped, number kept to its unit, fractions set to be read.

    A whole number and its fraction stand 0.16 em apart and the fraction's figures are full height at 84 %:
    ready-made small fractions look alike at arm's length. Fractions, decimals and times are semibold where the `face`
    around them is regular: a copy loses their thin strokes and points.
    """
    heavier = f' name="{SEMIBOLD}"' if face == REGULAR else ""

    def plain(text: str) -> str:
        return _POINTED.sub(rf'<font name="{SEMIBOLD}">\g<0></font>', escape(text)) if heavier else escape(text)

    kept = _NUMBER_UNIT.sub("\u00a0", printable(text)).replace("fl oz", "fl\u00a0oz")
    kept = _PERCENT.sub("\\1\u00a0%", kept)
    pieces: list[str] = []
    at = 0
    for match in _FRACTION.finditer(kept):
        pieces.append(plain(kept[at : match.start()]))
        if match.group(1):
            gap = size * _GAP_EM / _SPACE_EM
            pieces.append(f'{match.group(1)}<font size="{gap:.2f}">\u00a0</font>')
        pieces.append(f'<font{heavier} size="{max(_LEAST, size * _FRACTION_SIZE):.2f}">{match.group(2)}</font>')
        at = match.end()
    pieces.append(plain(kept[at:]))
    return "".join(pieces)


def width(text: str, face: str, size: float) -> float:
    """Width in pt of a line of printable text."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    register()
    return float(stringWidth(text, face, size))


def fitted(text: str, face: str, room: float, largest: float, smallest: float = 10.0) -> tuple[str, float]:
    """The text and the largest half-point size (pt) at which it fits `room` pt; past the smallest it ends in …."""
    line = printable(text)
    size = largest
    while size > smallest and width(line, face, size) > room:
        size = max(smallest, size - 0.5)
    if width(line, face, size) <= room:
        return line, size
    low, high = 0, len(line)
    while low < high:
        middle = (low + high + 1) // 2
        if width(line[:middle].rstrip() + "…", face, size) <= room:
            low = middle
        else:
            high = middle - 1
    return (line[:low].rstrip() + "…" if low else ""), size


def in_figures(text: str, room: float) -> tuple[str, str, float]:
    """A cell's figures as they fit `room` pt, with face and size: semibold where they have a point or little room."""
    face = SEMIBOLD if _POINTED.search(text) else REGULAR
    if width(printable(text), face, 11.0) <= room:
        return printable(text), face, 11.0
    line, size = fitted(text, SEMIBOLD, room, 10.5)
    return line, SEMIBOLD, size


def wrapped(text: str, face: str, size: float, room: float, most: int) -> tuple[str, ...]:
    """The text in at most `most` lines of `room` pt, the last one ending in … where there is more."""
    words = printable(text).split()
    lines: list[str] = []
    while words and len(lines) < most:
        line = words.pop(0)
        while words and width(f"{line} {words[0]}", face, size) <= room:
            line = f"{line} {words.pop(0)}"
        if len(lines) == most - 1 and words:
            line = " ".join([line, *words])
            words = []
        lines.append(fitted(line, face, room, size, size)[0])
    return tuple(lines)
