"""Where it is written which archive is meant, and whose part of it; nothing is imported for it."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Final

from planner.frozen import dataclass

ADDRESS: Final = "PLANNER_ARCHIVE"
"""An address in the environment stands before the one in company.yaml: a password belongs in no file."""

COMPANY: Final = "company.yaml"

FILE: Final = "archive.db"
"""The file in a workspace that has written no other address."""

APPLICATION_ID: Final = 0x57415348
"""What SQLite's header says of our files: `WASH` in ASCII. With it a file is known before it is opened."""

_PLAIN_FILE: Final = "sqlite:///"
_SCHEME: Final = re.compile(r"[a-z][a-z0-9+.-]+:", re.IGNORECASE)
_SETTINGS: Final = re.compile(r"(?:^|\s)(?:host(?:addr)?|port|dbname|user|password|service|sslmode)\s*=", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """An archive as it is written, None for the workspace's own file, and the `branch` whose jobs are meant in it."""

    text: str | None = None
    branch: str = ""

    @classmethod
    def of(cls, written: Address | str | None) -> Address:
        """The same of a text, of a company that has one branch alone."""
        return written if isinstance(written, Address) else cls(text=written)


def written_in() -> str:
    """What names the archive: the environment where it does, else company.yaml."""
    return ADDRESS if os.environ.get(ADDRESS) else COMPANY


def is_settings(text: str) -> bool:
    """Whether a text is a server's settings, `host=... password=...`: no file is ever called so."""
    return _SETTINGS.search(text) is not None


def file_of(text: str | None, folder: Path) -> Path | None:
    """The file an address means, taken from the workspace; None where it means a server, or nothing we know."""
    written = (text or "").strip()
    plain = written.removeprefix(_PLAIN_FILE)
    if plain == written and (_SCHEME.match(written) or "://" in written or is_settings(written)):
        return None
    if plain != written and (not plain or plain == ":memory:" or "?" in plain):
        return None
    return folder / _at_home(plain or FILE)


def _at_home(file: str) -> Path:
    """A path in which `~` is the reader's own folder; as it is written where nobody knows that folder."""
    try:
        return Path(file).expanduser()
    except RuntimeError:
        return Path(file)
