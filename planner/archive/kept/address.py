"""Where it is written which archive is meant; nothing is imported for it."""

from __future__ import annotations

import os
from typing import Final

ADDRESS: Final = "PLANNER_ARCHIVE"
"""An address in the environment stands before the one in company.yaml: a password belongs in no file."""

COMPANY: Final = "company.yaml"

FILE: Final = "archive.db"
"""The file in a workspace that has written no other address."""

APPLICATION_ID: Final = 0x57415348
"""What SQLite's header says of our files: `WASH` in ASCII. With it a file is known before it is opened."""


def written_in() -> str:
    """What names the archive: the environment where it does, else company.yaml."""
    return ADDRESS if os.environ.get(ADDRESS) else COMPANY
