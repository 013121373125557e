"""What was learned, kept beside the records it rests on: a row of the table of corrections each."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import insert, select

from planner.archive.compare.learn import Correction
from planner.archive.content import hash_of, now, text_of
from planner.archive.opening import Opened
from planner.archive.tables import CORRECTIONS


def keep_corrections(archive: Opened, found: Iterable[Correction]) -> int:
    """All of them or none; gives how many are new: the same thing learned of the same records is one row.

    Raises ArchiveRefused.
    """
    new = 0
    with archive.writing() as connection:
        for one in found:
            text = text_of(
                {
                    "about": [one.kind, *one.about],
                    "key": one.key,
                    "value": one.value,
                    "text": one.text or None,
                    "raw": one.raw,
                    "records": one.records,
                    "through": one.through.isoformat() if one.through is not None else None,
                }
            )
            name = hash_of(text)
            if connection.scalar(select(CORRECTIONS.c.sha256).where(CORRECTIONS.c.sha256 == name)) is None:
                about = "/".join((one.kind, *one.about))
                row = {"about": about, "key": one.key, "value": one.value, "json": text, "at": now()}
                connection.execute(insert(CORRECTIONS).values(sha256=name, **row))
                new += 1
    return new
