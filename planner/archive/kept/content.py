"""Content as text that is the same for the same content, its hash, and the time something was kept."""

from __future__ import annotations

import datetime
import hashlib
import json
from typing import Any


def text_of(content: Any) -> str:
    """JSON with sorted keys, in ASCII, without spaces: equal content gives equal text. Raises ValueError for NaN."""
    return json.dumps(content, sort_keys=True, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


def hash_of(text: str | bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(text.encode() if isinstance(text, str) else text).hexdigest()


def now() -> str:
    """The time in UTC as ISO text, whose order is the order of time."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="microseconds")
