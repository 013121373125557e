"""A record written, a packet filled and an archive looked into, for the tests of `record`."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

CHEMICALS = {"job": {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {"0": {"dosing": "panel"}}}}


def rows(job: Path, table: str) -> list[dict[str, Any]]:
    path = job.parents[1] / "archive.db"
    if not path.exists():
        return []
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as connection:
        connection.row_factory = sqlite3.Row
        return [dict(row) for row in connection.execute(f"SELECT * FROM {table}")]


def records(job: Path) -> list[dict[str, Any]]:
    return [json.loads(row["json"]) for row in sorted(rows(job, "records"), key=lambda row: row["revision"])]


def yaml(tmp_path: Path, text: str, name: str = "done.yaml") -> str:
    (tmp_path / name).write_text(text, encoding="utf-8")
    return str(tmp_path / name)


def fill(packet: Path, texts: dict[str, str]) -> Path:
    """The packet as a viewer saves it with these boxes filled."""
    from pypdf import PdfReader, PdfWriter

    reader = PdfReader(packet)
    names = {name.rpartition("/")[2]: name for name in reader.get_fields() or {}}
    writer = PdfWriter(clone_from=reader)
    for page in writer.pages:
        if "/Annots" in page:
            writer.update_page_form_field_values(page, {names[key]: text for key, text in texts.items()})
    filled = packet.with_name("filled.pdf")
    writer.write(filled)
    return filled


WHOLE = """
job: 2026-06-09/10-case
times: {arrived: 08:40, first_mix: 09:25, left: 12:30}
water: {used: 240 gal}
readings: {front: {gauge_open: 52 psi, bucket: 5 gal in 38 s, jet: 34 ft}}
mixes: {1: {stock_test: 10.5 trade %, stock_used: 1.5 gal, left: 1 gal}}
sides: {wall: {wet: 12 gal, dwell: 8 min, rinse: 40 gal}}
lots: {drum: {on_hand: 24 gal}}
heels: {mix: {stock: bleach, strength: 1 trade %, volume: 1 gal}}
flush: {residual: 2 mg/L, ph: 7}
deviations: by ladder at the gable
signed: Ana
"""
