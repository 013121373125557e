"""The square code on the first page: which job and which plan, for a camera."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel
from reportlab.platypus import Flowable

from planner.packet.blocks import Code

QUIET = 4
"""White modules around the code (ISO/IEC 18004, from memory)."""


@lru_cache(maxsize=32)
def modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The code's dark modules row by row, top first, without the white around it; 15 % of it may be dirt."""
    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    return tuple(tuple(bool(dark) for dark in row) for row in code.modules)


class ScanCode(Flowable):  # type: ignore[misc]
    """Rows of black bars as vectors, white all round."""

    def __init__(self, block: Code) -> None:
        super().__init__()
        self.block = block

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        self.width = available
        count = len(modules(self.block.text))
        self.side = min(self.block.side * (count + 2 * QUIET) / count, available)
        self.height = self.side
        return available, self.height

    def draw(self) -> None:
        rows = modules(self.block.text)
        one = self.side / (len(rows) + 2 * QUIET)
        path: Any = self.canv.beginPath()
        for n, row in enumerate(rows):
            y = self.side - (QUIET + n + 1) * one
            at = 0
            while at < len(row):
                end = at
                while end < len(row) and row[end]:
                    end += 1
                if end > at:
                    path.rect(self.width - self.side + (QUIET + at) * one, y, (end - at) * one, one)
                at = max(end, at + 1)
        self.canv.drawPath(path, stroke=0, fill=1)
