"""Printed pages are kept between tests; the collector would walk all their letters again for each new page."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from planner.faults import Fault
from planner.packet.filled.filled import Filled, read_filled


@pytest.fixture(autouse=True, scope="package")
def _seldom_collected() -> Iterator[None]:
    before = gc.get_threshold()
    gc.set_threshold(200_000, 50, 100)
    yield
    gc.set_threshold(*before)


@pytest.fixture
def read(tmp_path: Path) -> Callable[[bytes], Filled | Fault]:
    def reader(content: bytes) -> Filled | Fault:
        path = tmp_path / "10-case.pdf"
        path.write_bytes(content)
        return read_filled(path)

    return reader
