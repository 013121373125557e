"""What is kept is found again, the same on both databases, whoever else writes and whoever is killed meanwhile."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import insert, select

from planner.archive.kept.content import hash_of, text_of
from planner.archive.kept.exchange import copy, export, take_in
from planner.archive.kept.opening import Opened, opened
from planner.archive.kept.refused import ArchiveRefused
from planner.archive.kept.store import (
    Printed,
    Stored,
    keep_printed,
    keep_record,
    latest_records,
    plan_by_hash,
    plan_of,
    record_of,
)
from planner.archive.kept.tables import CORRECTIONS, KEPT, PLANS, RECORDS
from tests.archive.conftest import Place
from tests.sampled import in_ci

JOB = "2026-06-09/10-case"
PLAN = {"id": JOB, "plan": "aaaa-0001", "runs": [{"flow_m3_per_s": 2.5e-4}], "title": "Häuser =1+1"}
LATER = {**PLAN, "plan": "bbbb-0002"}
DONE = {"job": JOB, "water": {"used_m3": 0.9}, "deviations": "=1+1, 5 % ½ none"}


def same_content(one: Opened, other: Opened) -> bool:
    """Whether two archives hold the same rows."""
    with one.reading() as first, other.reading() as second:
        return all(
            set(first.execute(select(table)).all()) == set(second.execute(select(table)).all()) for table in KEPT
        )


def record(place: Place, content: object, plan: object = PLAN) -> Stored:
    with opened(place.address, place.folder) as archive:
        return keep_record(archive, content, plan=plan, plan_number="aaaa-0001", source="f.yaml")


@pytest.mark.ci
def test_the_same_record_twice_changes_nothing_and_another_is_a_revision(place: Place) -> None:
    assert record(place, DONE) == Stored(revision=1, new=True)
    assert record(place, dict(reversed(DONE.items()))) == Stored(revision=1, new=False)
    assert record(place, {**DONE, "water": {"used_m3": 0.95}}) == Stored(revision=2, new=True)
    assert record(place, DONE) == Stored(revision=3, new=True), "going back is a revision too"
    assert record(place, DONE, LATER) == Stored(revision=4, new=True), "the same against another plan"
    assert record(place, DONE) == Stored(revision=5, new=True)
    with opened(place.address, place.folder) as archive:
        latest = record_of(archive, JOB)
        assert latest is not None
        assert (latest.revision, latest.content, latest.source) == (5, DONE, "f.yaml")
        assert latest.plan is not None
        found = plan_by_hash(archive, latest.plan)
        assert found is not None
        assert found.content == PLAN
        assert record_of(archive, "2026-06-09/1-other") is None


def test_a_plan_is_found_by_its_number_and_the_latest_without_one(place: Place) -> None:
    with opened(place.address, place.folder) as archive:
        assert plan_of(archive, JOB) is None
        for plan in (PLAN, PLAN, LATER):
            keep_printed(archive, [Printed(plan=plan, file="a.pdf", packet=b"%PDF", pages=3, held=False)])
        with archive.reading() as connection:
            assert len(list(connection.execute(select(PLANS)))) == 2
        by_number, latest = plan_of(archive, JOB, "aaaa-0001"), plan_of(archive, JOB)
        assert by_number is not None
        assert latest is not None
        assert (by_number.content, latest.content) == (PLAN, LATER)
        assert plan_of(archive, JOB, "cccc-0003") is None


def test_a_printing_is_kept_whole_or_not_at_all(place: Place) -> None:
    good = Printed(plan=PLAN, file="10-case.pdf", packet=b"%PDF one", pages=8, held=False)
    bad = Printed(plan={"id": JOB}, file="bad.pdf", packet=b"%PDF two", pages=8, held=False)
    with opened(place.address, place.folder) as archive:
        with pytest.raises(KeyError):
            keep_printed(archive, [good, bad])
        assert plan_of(archive, JOB) is None
        keep_printed(archive, [good])
        keep_printed(archive, [good])
        assert plan_of(archive, JOB) is not None


def test_the_plan_printed_last_is_the_latest_though_it_was_kept_before(place: Place) -> None:
    prints = [
        Printed(plan=plan, file="10-case.pdf", packet=b"%PDF one", pages=8, held=False) for plan in (PLAN, LATER, PLAN)
    ]
    with opened(place.address, place.folder) as archive:
        for one, number in zip(prints, ("aaaa-0001", "bbbb-0002", "aaaa-0001"), strict=True):
            keep_printed(archive, [one])
            latest = plan_of(archive, JOB)
            assert latest is not None
            assert latest.number == number


@pytest.mark.ci
def test_an_export_taken_in_gives_the_same_archive_and_twice_changes_nothing(place: Place, tmp_path: Path) -> None:
    record(place, DONE)
    record(place, {**DONE, "water": {"used_m3": 1e-7}}, LATER)
    reason = text_of({"why": "three throws"})
    with opened(place.address, place.folder) as archive:
        keep_printed(archive, [Printed(plan=PLAN, file="a.pdf", packet=b"%PDF", pages=3, held=True)])
        with archive.writing() as connection:
            row = {"about": "booster", "key": "condition", "value": 0.1 + 0.2, "json": reason, "at": "now"}
            connection.execute(insert(CORRECTIONS).values(sha256=hash_of(reason), **row))
        counts = export(archive, tmp_path / "out")
        assert counts == {"plans": 2, "packets": 1, "records": 2, "withdrawn": 0, "corrections": 1}
        with opened(None, tmp_path / "out") as new:
            assert take_in(new, tmp_path / "out") == counts
            assert same_content(archive, new)
            assert set(take_in(new, tmp_path / "out").values()) == {0}
            assert same_content(archive, new)
        assert set(take_in(archive, tmp_path / "out").values()) == {0}
    sheet = (tmp_path / "out" / "records.csv").read_text(encoding="utf-8")
    assert "'=1+1" in sheet
    assert ",=1+1" not in sheet
    assert "water.used_m3" in sheet.splitlines()[0]


def test_a_copy_holds_the_same_and_covers_nothing(place: Place, tmp_path: Path) -> None:
    record(place, DONE)
    target = tmp_path / "kept" / "copy.db"
    with opened(place.address, place.folder) as archive:
        with pytest.raises(ArchiveRefused) as refused:
            copy(archive, target)
        assert refused.value.fault.code == "archive.no_folder"
        assert not target.parent.exists(), "a slip of the pen makes no folder"
        target.parent.mkdir()
        copy(archive, target)
        with opened(str(target), tmp_path) as copied:
            assert same_content(archive, copied)
        before = target.read_bytes()
        with pytest.raises(ArchiveRefused) as refused:
            copy(archive, target)
        assert refused.value.fault.code == "archive.not_empty"
        assert target.read_bytes() == before
    assert [path.name for path in target.parent.iterdir()] == ["copy.db"]


@pytest.mark.ci
def test_ten_thousand_records_are_kept_and_the_latest_of_each_job_is_found(place: Place) -> None:
    text = text_of({**DONE, "padding": "x" * 500})
    rows = [
        {"job": f"day/{n // 2}", "revision": n % 2 + 1, "content": str(n), "json": text, "source": "f", "at": "now"}
        for n in range(10_000)
    ]
    with opened(place.address, place.folder) as archive:
        with archive.writing() as connection:
            connection.execute(insert(RECORDS), rows)
        latest = latest_records(archive)
        assert len(latest) == 5_000
        assert {one.revision for one in latest} == {2}
    assert record(place, {**DONE, "job": "day/4999"}).revision == 3


def _run(mode: str, place: Place, *rest: str) -> dict[str, int]:
    # The common archive of the tests is not the one that is written to here.
    env = {name: value for name, value in os.environ.items() if name != "PLANNER_ARCHIVE"}
    if place.address is not None:
        env["PLANNER_ARCHIVE"] = place.address
    command = [sys.executable, "-m", "tests.archive.writers", mode, place.address or "", str(place.folder), *rest]
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(command, capture_output=True, text=True, env=env, cwd=root, timeout=900, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return dict(json.loads(done.stdout.splitlines()[-1]))


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked here")
@pytest.mark.parametrize("rounds", [5, in_ci(20)])
def test_no_acknowledged_record_is_lost_when_a_writer_is_killed_at_any_instant(place: Place, rounds: int) -> None:
    assert _run("killed", place, str(rounds), "7", "")["acknowledged"] >= rounds


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked here")
@pytest.mark.ci
def test_whoever_makes_the_archive_can_be_killed_at_any_instant(place: Place) -> None:
    told = _run("born", place, "12", "3")
    assert told["rounds"] == 12
    assert place.address is not None or 0 < told["unmade"] < 12, "some died before there was a file, others after"


@pytest.mark.long
@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked here")
def test_nor_in_three_hundred_rounds(place: Place) -> None:
    assert _run("born", place, "300", "13")["rounds"] == 300


@pytest.mark.long
@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked here")
def test_nor_in_five_hundred_rounds_with_the_command_itself_among_them(place: Place) -> None:
    from tests import workspaces

    job = workspaces.write(place.folder, workspaces.base())
    assert _run("killed", place, "500", "11", str(job))["acknowledged"] >= 500


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked here")
@pytest.mark.parametrize("each", [4, in_ci(12)])
@pytest.mark.ci
def test_writers_at_once_all_land_and_none_overwrites_another(place: Place, each: int) -> None:
    assert _run("at-once", place, "3", str(each))["kept"] == 3 * each * 2
