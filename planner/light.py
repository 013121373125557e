"""Libraries loaded without others that they only take along."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without(*names: str) -> Iterator[None]:
    """What is imported meanwhile finds none of these libraries, as if they were not installed; loaded ones stay."""
    hidden = [name for name in names if name not in sys.modules]
    sys.modules.update(dict.fromkeys(hidden))  # type: ignore[arg-type]
    try:
        yield
    finally:
        for name in hidden:
            del sys.modules[name]
