"""Columns side by side that break over pages between their parts, never inside one; and the drawings in them."""

from __future__ import annotations

from typing import Any

from reportlab.graphics import renderPDF
from reportlab.platypus import Flowable

from planner.packet.blocks import Picture
from planner.packet.pages.fonts import SEMIBOLD
from planner.packet.pages.style import GUTTER, RULE_HEAD

_FOOT = 2.0  # pt of white under the taller column
_TEARS = 450.0  # pt of room, less than any fresh page has, in which no drawing is parted from what stands beside it
_WHITE = 4.0  # pt above and below a drawing
COLUMNS = ("Should be", "If not")  # of steps, beside what is to be done
_HEAD = 5.0  # pt between the head of a section and what stands above it


class SectionHead(Flowable):  # type: ignore[misc]
    """The head of a section under its rule, with the heads of the columns of its steps on the same line."""

    def __init__(self, text: Any, columns: tuple[float, float] | None = None) -> None:
        super().__init__()
        self.text, self.columns = text, columns

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        _, tall = self.text.wrap(available, height)
        self.width, self.height = available, tall + _HEAD
        return available, self.height

    def draw(self) -> None:
        self.canv.setLineWidth(RULE_HEAD)
        self.canv.line(0, self.height - 2.5, self.width, self.height - 2.5)
        self.text.drawOn(self.canv, 0, self.height - 3.5 - self.text.height)
        self.canv.setFont(SEMIBOLD, 10)
        for words, at in zip(COLUMNS, self.columns or (), strict=False):
            self.canv.drawString(at, self.height - 15, words)


class Vectors(Flowable):  # type: ignore[misc]
    """A drawing that takes the largest of its heights that fits; when even the least does not, it moves on.

    A height of nought among them means that it may be left out: it is, where `most` is nought. `most` is what it may
    take, so that what comes after it has room.
    """

    def __init__(self, block: Picture) -> None:
        super().__init__()
        self.block = block
        self.chosen = self.most = block.heights[0]

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        ways = [tall for tall in self.block.heights if 0.0 < tall <= self.most] or [0.0]
        self.chosen = next((tall for tall in ways if tall + _WHITE <= height), ways[-1])
        self.width, self.height = available, self.chosen + _WHITE if self.chosen else 0.0
        return available, self.height

    def draw(self) -> None:
        if not self.chosen:
            return
        renderPDF.draw(self.block.paint(self.width, self.chosen), self.canv, 0, _WHITE / 2)


class SideBySide(Flowable):  # type: ignore[misc]
    """Left and right columns; the taller one runs on over the page, the other beside it if it must."""

    def __init__(self, left: list[Any], right: list[Any], widths: tuple[float, float]) -> None:
        super().__init__()
        self.sides = (left, right)
        self.parts = [*left, *right]
        self.widths = widths
        self._known: dict[tuple[int, int], float] = {}  # heights of parts that are as tall wherever they stand

    def _tall(self, side: int, n: int, height: float = 0.0) -> float:
        """Height in pt of a part with so much room; of what holds no drawing asked once."""
        if (side, n) not in self._known:
            part = self.sides[side][n]
            tall: float = part.wrap(self.widths[side], height)[1]
            if drawings_in(part):
                return tall
            self._known[side, n] = tall
        return self._known[side, n]

    def _heights(self, side: int, height: float) -> list[float]:
        """Heights in pt of the parts of a side; a drawing in it grows no taller than what stands beside it.

        One of the first rank does: what it shows is what the page is read for.
        """
        left = height - _FOOT
        if any(isinstance(part, Vectors) and part.block.rank for part in self.sides[side]):
            beside = sum(self._tall(1 - side, n) for n in range(len(self.sides[1 - side])))
            left = min(left, beside) if beside else left
        heights = []
        parts = self.sides[side]
        for n, part in enumerate(parts):
            room = left
            if isinstance(part, Vectors):  # a drawing leaves room for what stands below it
                room -= sum(self._tall(side, below) for below in range(n + 1, len(parts)))
            tall = self._tall(side, n, max(room, 0.0))
            heights.append(tall)
            left -= tall
        return heights

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        self.tall = (self._heights(0, height), self._heights(1, height))
        self.width, self.height = available, max(sum(self.tall[0]), sum(self.tall[1])) + _FOOT
        return available, self.height

    def first(self) -> float:
        """Height in pt of the least that stands on a page: down to the last drawing, else a few lines."""
        least = 0.0
        for side in (0, 1):
            tall = 0.0
            for n, part in enumerate(self.sides[side]):
                tall += self._tall(side, n)
                least = max(least, tall) if isinstance(part, Vectors) else least
        return min(least + _FOOT, _TEARS) if least else 90.0

    def split(self, available: float, height: float) -> list[Any]:
        first: tuple[list[Any], list[Any]] = ([], [])
        rest: tuple[list[Any], list[Any]] = ([], [])
        for side in (0, 1):
            heights = self._heights(side, height)
            used, fits = 0.0, 0
            while fits < len(heights) and used + heights[fits] <= height - _FOOT:
                used += heights[fits]
                fits += 1
            parts = list(self.sides[side])
            if fits < len(parts):
                pieces = parts[fits].split(self.widths[side], height - _FOOT - used)
                self._known.clear()  # what was asked to split may have forgotten how it lay
                if len(pieces) > 1:
                    parts[fits : fits + 1] = pieces
                    fits += 1
            while 0 < fits < len(parts) and isinstance(parts[fits - 1], SectionHead):
                fits -= 1  # a head never stands alone at the foot
            first[side].extend(parts[:fits])
            rest[side].extend(parts[fits:])
        if not first[0] and not first[1]:
            return []
        if height < _TEARS and any(isinstance(part, Vectors) for side in (0, 1) for part in rest[side]):
            return []  # what stands beside a drawing goes to the next page with it
        pages = [SideBySide(*first, self.widths)]
        if rest[0] or rest[1]:
            pages.append(SideBySide(*rest, self.widths))
        return pages if len(pages) > 1 else []

    def draw(self) -> None:
        for side, x in ((0, 0.0), (1, self.widths[0] + GUTTER)):
            y = self.height
            for part, tall in zip(self.sides[side], self.tall[side], strict=True):
                y -= tall
                part.drawOn(self.canv, x, y)


class Balanced(Flowable):  # type: ignore[misc]
    """Parts that run down the left column and on down the right one, both about as tall."""

    def __init__(self, parts: list[Any], width: float) -> None:
        super().__init__()
        self.parts = parts
        self.column = width

    def _cut(self, heights: list[float]) -> tuple[int, float]:
        """How many parts stand at the left, and how tall [pt] that makes the taller column."""
        ways = [(max(sum(heights[:n]), sum(heights[n:])), n) for n in range(1, len(heights) + 1)]
        ways = [(tall, n) for tall, n in ways if not isinstance(self.parts[n - 1], SectionHead)] or ways
        tall, at = min(ways, key=lambda way: (round(way[0], 1), -way[1]), default=(0.0, 0))
        return at, tall

    def wrap(self, available: float, height: float) -> tuple[float, float]:
        self.heights = [part.wrap(self.column, height)[1] for part in self.parts]
        self.at, tall = self._cut(self.heights)
        self.width, self.height = available, tall + _FOOT
        return available, self.height

    def split(self, available: float, height: float) -> list[Any]:
        self.wrap(available, height)
        fits = max(
            (n for n in range(1, len(self.parts)) if self._cut(self.heights[:n])[1] + _FOOT <= height), default=0
        )
        while fits and isinstance(self.parts[fits - 1], SectionHead):
            fits -= 1  # a head never stands alone at the foot
        if not fits:
            return []
        return [Balanced(self.parts[:fits], self.column), Balanced(self.parts[fits:], self.column)]

    def draw(self) -> None:
        for parts, heights, x in (
            (self.parts[: self.at], self.heights[: self.at], 0.0),
            (self.parts[self.at :], self.heights[self.at :], self.column + GUTTER),
        ):
            y = self.height
            for part, tall in zip(parts, heights, strict=True):
                y -= tall
                part.drawOn(self.canv, x, y)


def drawings_in(part: Any) -> list[Vectors]:
    """Every drawing in a part, those in its columns among them."""
    if isinstance(part, Vectors):
        return [part]
    if isinstance(part, (SideBySide, Balanced)):
        return [drawing for inner in part.parts for drawing in drawings_in(inner)]
    return []
