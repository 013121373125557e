"""Why something of a day stays as it is."""

from __future__ import annotations


class Refused(Exception):
    """What keeps a change of a day's files from being made."""
