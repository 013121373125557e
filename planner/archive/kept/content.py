"""Content as text that is the same for the same content, its hash, and the time something was kept."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Mapping
from typing import Any, Final


def text_of(content: Any) -> str:
    """JSON with sorted keys, in ASCII, without spaces: equal content gives equal text. Raises ValueError for NaN."""
    return json.dumps(content, sort_keys=True, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


def hash_of(text: str | bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(text.encode() if isinstance(text, str) else text).hexdigest()


BESIDE: Final = ("as_written", "cautions")
"""What a record's JSON holds beside what it says: how it was written, and what was odd in it."""


def said_of(record: Mapping[str, Any]) -> dict[str, Any]:
    """What a record says, which its hash is of."""
    return {name: value for name, value in record.items() if name not in BESIDE}


def now() -> str:
    """The time in UTC as ISO text, whose order is the order of time."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="microseconds")
