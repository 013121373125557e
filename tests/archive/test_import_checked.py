"""An import takes all of an export or nothing, whatever somebody wrote into it, and can be exported again."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select, update

from planner.archive.kept.content import hash_of, text_of
from planner.archive.kept.exchange import export, take_in
from planner.archive.kept.opening import opened
from planner.archive.kept.refused import ArchiveRefused
from planner.archive.kept.store import Printed, keep_printed, keep_record, withdraw
from planner.archive.kept.tables import KEPT, RECORDS
from tests.archive.conftest import Place
from tests.sampled import one_in

JOB = "2026-06-09/10-case"
PLAN = {"id": JOB, "plan": "aaaa-0001", "address": "14 Mill Road"}
DONE = {"job": JOB, "deviations": "gable by ladder", "spent": 12.5}


@pytest.fixture
def out(place: Place, tmp_path: Path) -> Path:
    """An export with a row in every table but one."""
    folder = tmp_path / "made"
    folder.mkdir()
    with opened(None, folder) as archive:
        keep_printed(archive, [Printed(plan=PLAN, file="a.pdf", packet=b"%PDF", pages=3, held=True)])
        for text in ("one", "two"):
            beside = {"as_written": {"deviations": text}, "cautions": []}
            keep_record(archive, {**DONE, "after": text}, plan=PLAN, plan_number=None, source="f", beside=beside)
        withdraw(archive, JOB, 1, "wrong house")
        export(archive, folder / "out")
    return folder / "out"


def rehashed(row: dict[str, Any]) -> None:
    """A row whose hash somebody made anew."""
    said = {name: value for name, value in row["json"].items() if name not in ("as_written", "cautions")}
    row["content"] = hash_of(text_of(said))


def _json(change: Callable[[dict[str, Any]], object]) -> Callable[[dict[str, Any]], None]:
    def spoil(row: dict[str, Any]) -> None:
        change(row["json"])
        rehashed(row)

    return spoil


def nested(levels: int) -> object:
    made: object = 1
    for _ in range(levels):
        made = [made]
    return made


SPOILT: dict[str, tuple[str, Callable[[dict[str, Any]], object]]] = {
    "a record's text": ("records", lambda row: row["json"].update(deviations="nothing")),
    "a record's hash": ("records", lambda row: row.update(content="0" * 64)),
    "a record's job": ("records", lambda row: row.update(job="2026-06-09/20-other")),
    "a record's plan that is nowhere": ("records", lambda row: row.update(plan="0" * 64)),
    "a record that is null": ("records", lambda row: row.update(json=None)),
    "a record that is a list": ("records", lambda row: row.update(json=[])),
    "no hash": ("records", lambda row: row.update(content=None)),
    "65 bits": ("records", lambda row: row.update(revision=2**64)),
    "33 bits": ("records", lambda row: row.update(revision=2**32)),
    "revision nought": ("records", lambda row: row.update(revision=0)),
    "revision minus": ("records", lambda row: row.update(revision=-1)),
    "a revision that is true": ("records", lambda row: row.update(revision=True)),
    "65 bits within": ("records", _json(lambda json: json.update(spent=2**64))),
    "no number within": ("records", _json(lambda json: json.update(spent=1e300))),
    "half a letter": ("records", lambda row: row.update(source="\ud800")),
    "half a letter within": ("records", _json(lambda json: json.update(after="\udfff"))),
    "half a letter in a key": ("records", _json(lambda json: json.update({"\ud800": 1}))),
    "a letter that ends a text": ("records", lambda row: row.update(source="a\0b")),
    "too deep": ("records", _json(lambda json: json.update(after=nested(80)))),
    "a key more": ("records", lambda row: row.update(more=1)),
    "a key less": ("records", lambda row: row.pop("source")),
    "a branch that is null": ("records", lambda row: row.update(branch=None)),
    "a plan's number": ("plans", lambda row: row.update(number="bbbb-0002")),
    "a plan's job": ("plans", lambda row: row.update(job="2026-06-09/20-other")),
    "a plan that is null": ("plans", lambda row: row.update(json=None)),
    "a packet of no plan": ("packets", lambda row: row.update(plan="0" * 64)),
    "a packet's pages": ("packets", lambda row: row.update(pages=2**40)),
    "a packet's pages in parts": ("packets", lambda row: row.update(pages=2.5)),
    "a withdrawal of nought": ("withdrawn", lambda row: row.update(revision=0)),
}


@pytest.mark.ci
@pytest.mark.parametrize("name", one_in(3, SPOILT))
def test_what_somebody_changed_is_refused_whole(name: str, place: Place, out: Path, tmp_path: Path) -> None:
    table, spoil = SPOILT[name]
    path = out / f"{table}.json"
    *rows, last = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    spoil(last)
    path.write_text("".join(f"{json.dumps(row)}\n" for row in [*rows, last]), encoding="utf-8")
    with opened(place.address, place.folder) as archive:
        with pytest.raises(ArchiveRefused) as refused:
            take_in(archive, out)
        assert refused.value.fault.code == "archive.torn"
        with archive.reading() as connection:
            assert [connection.scalar(select(func.count()).select_from(one)) for one in KEPT] == [0] * len(KEPT)
        export(archive, tmp_path / "again")


@pytest.mark.parametrize(
    "line", ["null", "[]", "7", '"a"', "{}", "[" * 5000, '{"job": NaN}', '{"a": 1e999}', "\ufeff{}", ""]
)
def test_a_line_that_is_no_row_is_refused_whole(line: str, place: Place, out: Path) -> None:
    path = out / "records.json"
    path.write_text(path.read_text(encoding="utf-8") + line + "\n", encoding="utf-8")
    with opened(place.address, place.folder) as archive, pytest.raises(ArchiveRefused) as refused:
        take_in(archive, out)
    assert refused.value.fault.code == "archive.torn"


@pytest.mark.ci
def test_an_export_from_before_branches_is_taken_in(place: Place, out: Path, tmp_path: Path) -> None:
    for name in ("plans", "records"):
        path = out / f"{name}.json"
        rows = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
        for row in rows:
            del row["branch"]
        path.write_text("".join(f"{json.dumps(row)}\n" for row in rows), encoding="utf-8")
    (out / "withdrawn.json").unlink()
    head = json.loads((out / "archive.json").read_text(encoding="utf-8"))
    head["format"] = 1
    del head["tables"]["withdrawn"]
    (out / "archive.json").write_text(json.dumps(head), encoding="utf-8")
    with opened(place.address, place.folder) as archive:
        assert take_in(archive, out) == {"plans": 1, "packets": 1, "records": 2, "corrections": 0}
        export(archive, tmp_path / "again")


@pytest.mark.ci
def test_what_somebody_spoiled_in_the_archive_itself_is_named_by_the_export(
    place: Place, out: Path, tmp_path: Path
) -> None:
    with opened(place.address, place.folder) as archive:
        take_in(archive, out)
        with archive.writing() as connection:
            connection.execute(update(RECORDS).where(RECORDS.c.revision == 1).values(json='{"job": '))
        with pytest.raises(ArchiveRefused) as refused:
            export(archive, tmp_path / "again")
        assert refused.value.fault.code == "archive.unread"
        assert JOB in refused.value.fault.message
        with archive.writing() as connection:
            connection.execute(update(RECORDS).where(RECORDS.c.revision == 1).values(json="null"))
            connection.execute(update(RECORDS).where(RECORDS.c.revision == 2).values(json='{"after": "\\ud800"}'))
        export(archive, tmp_path / "again")
