"""What is loaded or made ready only where somebody uses it: a command is quick that does little."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, cast


class _Later:
    """A pattern that is compiled when it is first used."""

    def __init__(self, text: str, flags: int) -> None:
        self._asked = (text, flags)

    def __getattr__(self, name: str) -> Any:
        found = getattr(re.compile(*self._asked), name)
        setattr(self, name, found)
        return found


def pattern(text: str, flags: int = 0) -> re.Pattern[str]:
    """As `re.compile`, done at its first use: a long one takes ten milliseconds, and few commands need it."""
    return cast("re.Pattern[str]", _Later(text, flags))


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
