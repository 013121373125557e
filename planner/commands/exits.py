"""Exit codes of every command."""

from __future__ import annotations

from typing import Final

OK: Final = 0
"""No stop."""
HELD: Final = 1
"""At least one stop."""
FAULTY: Final = 2
"""Faults in what was written, or wrong usage."""
OURS: Final = 3
"""Our own error."""
