"""What was learned, kept beside the records it rests on: a row of the table of corrections for each changed value."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import TypedDict

from sqlalchemy import insert, select

from planner.archive.compare.learn import Correction
from planner.archive.kept.content import hash_of, now, text_of
from planner.archive.kept.opening import Opened
from planner.archive.kept.tables import CORRECTIONS
from planner.contract.held import MALFORMED, hold_numbers, hold_words


class CorrectionJson(TypedDict):
    kind: str
    about: list[str]
    key: str
    value: float
    text: str | None
    raw: float
    old: float | None
    old_text: str | None
    records: int
    through: str | None


class KeptCorrectionJson(TypedDict):
    kind: str
    about: list[str]
    key: str
    old: float | None
    old_text: str | None
    new: float
    new_text: str | None
    records: int
    through: str | None
    at: str


def keep_corrections(archive: Opened, found: Iterable[Correction]) -> int:
    """Every changed value or none; gives how many rows are new: the same change for the same records is one row.

    Raises ArchiveRefused.
    """
    new = 0
    with archive.writing() as connection:
        for one in found:
            if not one.changed:
                continue
            said: dict[str, object] = {**correction_json(one), "about": [one.kind, *one.about]}
            del said["kind"]
            said |= {"branch": archive.branch} if archive.branch else {}
            text = text_of(said)
            name = hash_of(text)
            if connection.scalar(select(CORRECTIONS.c.sha256).where(CORRECTIONS.c.sha256 == name)) is None:
                about = "/".join((one.kind, *one.about))
                row = {"about": about, "key": one.key, "value": one.value, "json": text, "at": now()}
                row |= {"branch": archive.branch}
                connection.execute(insert(CORRECTIONS).values(sha256=name, **row))
                new += 1
    return new


def correction_json(one: Correction) -> CorrectionJson:
    """A changed value as it is told; as it is kept its kind is the first of what it is about."""
    return {
        "kind": one.kind,
        "about": list(one.about),
        "key": one.key,
        "value": one.value,
        "text": one.text or None,
        "raw": one.raw,
        "old": one.old.value if one.old is not None else None,
        "old_text": (one.old.text or None) if one.old is not None else None,
        "records": one.records,
        "through": one.through.isoformat() if one.through is not None else None,
    }


def kept_corrections(archive: Opened) -> list[KeptCorrectionJson]:
    """Every change that was kept, oldest first: what, old, new, records, and when (`at`, ISO text in UTC).

    SI, null where there was nothing before or it was kept before old values were. Raises ArchiveRefused.
    """
    return [told for _, told in _read(archive) if told is not None]


def unread_corrections(archive: Opened) -> list[str]:
    """What the kept changes are about that are not as they were written. Raises ArchiveRefused."""
    return [about for about, told in _read(archive) if told is None]


def _read(archive: Opened) -> list[tuple[str, KeptCorrectionJson | None]]:
    order = (CORRECTIONS.c.at, CORRECTIONS.c.about, CORRECTIONS.c.sha256)
    with archive.reading() as connection:
        query = select(CORRECTIONS.c.about, CORRECTIONS.c.json, CORRECTIONS.c.at).order_by(*order)
        query = query.where(CORRECTIONS.c.branch == archive.branch)
        rows = connection.execute(query).all()
    return [(row.about, _correction_of(row.json, row.at)) for row in rows]


def _correction_of(text: str, at: str) -> KeptCorrectionJson | None:
    try:
        row = json.loads(text)
        kind, *about = row["about"]
        told: KeptCorrectionJson = {
            "kind": kind,
            "about": about,
            "key": row["key"],
            "old": row.get("old"),
            "old_text": row.get("old_text"),
            "new": row["value"],
            "new_text": row["text"],
            "records": row["records"],
            "through": row["through"],
            "at": at,
        }
        hold_words((kind, *about, told["key"], told["old_text"], told["new_text"], told["through"]))
        hold_numbers((told["old"], told["new"], told["records"]))
    except MALFORMED:
        return None
    return told
