"""How a call ends: exit codes, and our own mistake told without a traceback."""

from __future__ import annotations

import sys
from typing import Final

from planner import __version__

OK: Final = 0
"""No stop."""
HELD: Final = 1
"""At least one stop."""
FAULTY: Final = 2
"""Faults in what was written, or wrong usage."""
OURS: Final = 3
"""Our own error."""


# ------------------------------------------------------------ sorry
# An error of our own: one line on screen, the details in a file that can be sent to whoever maintains this.


def apologise(about: str = "") -> None:
    """Say sorry for the exception being handled, and where its details are."""
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile("w", prefix="planner-", suffix=".log", delete=False, encoding="utf-8") as log:
        log.write(f"planner {__version__}\n{' '.join(sys.argv)}\n{about}\n\n{traceback.format_exc()}")
    subject = f" with {about}" if about else ""
    print(f"Sorry, that is our mistake{subject}, not yours. The details are in {log.name}", file=sys.stderr)
