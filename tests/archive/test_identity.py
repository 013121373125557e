"""Whose job an id is: two branches and the rigs of one date stay apart in one archive, and what was kept before stays."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from planner.archive.compare.pairs import Pair, counted, pairs, recorded
from planner.archive.kept import migrations
from planner.archive.kept.address import Address
from planner.archive.kept.content import hash_of, text_of
from planner.archive.kept.identity import name_branch
from planner.archive.kept.lately import records_between
from planner.archive.kept.opening import opened
from planner.archive.kept.refused import ArchiveRefused
from planner.archive.kept.store import (
    Printed,
    jobs_of_number,
    keep_printed,
    keep_record,
    latest_records,
    plan_of,
    record_of,
    withdraw,
)
from planner.cli import main
from tests import workspaces
from tests.archive.conftest import Place
from tests.archive.seasons import plan_of as made_plan

JOB, HERON = "2026-06-09/10-case", "2026-06-09-heron/10-case"
PLAN = {"id": JOB, "plan": "aaaa-0001", "address": "14 Millrace Road, Aldham"}


def at(place: Place, branch: str = "") -> Address:
    return Address(text=place.address, branch=branch)


def keep(place: Place, branch: str, plan: dict[str, object], text: str = "done") -> int:
    with opened(at(place, branch), place.folder) as archive:
        keep_printed(archive, [Printed(plan=plan, file="a.pdf", packet=text.encode(), pages=1, held=False)])
        done = {"job": plan["id"], "deviations": text}
        return keep_record(archive, done, plan=plan, plan_number="aaaa-0001", source="f").revision


def said(place: Place, branch: str, job: str = JOB) -> object:
    with opened(at(place, branch), place.folder, write=False) as archive:
        found = record_of(archive, job)
        return found.content["deviations"] if found is not None else None


def refusal(place: Place, branch: str, plan: dict[str, object]) -> tuple[str, str]:
    with pytest.raises(ArchiveRefused) as refused:
        keep(place, branch, plan)
    return refused.value.fault.code, f"{refused.value.fault.message}; {refused.value.fault.remedy}"


@pytest.mark.ci
def test_branches_of_one_archive_see_their_own_jobs_alone(place: Place) -> None:
    south = {**PLAN, "branch": "south", "address": "3 Quay Street, Birling"}
    assert keep(place, "north", {**PLAN, "branch": "north"}, "north") == 1
    assert keep(place, "south", south, "south") == 1, "no revision of the other branch's"
    assert (said(place, "north"), said(place, "south"), said(place, "")) == ("north", "south", None)
    for branch in ("north", "south"):
        with opened(at(place, branch), place.folder, write=False) as archive:
            assert counted(archive) == 1
            assert recorded(archive) == {JOB}
            kept = plan_of(archive, JOB, "aaaa-0001")
            assert kept is not None
            assert kept.content["branch"] == branch
            assert jobs_of_number(archive, "aaaa-0001") == [JOB]
            assert withdraw(archive, JOB, 1, "wrong house") is True
            assert latest_records(archive) == []
        assert said(place, branch) is None
    with opened(at(place), place.folder, write=False) as archive:
        assert plan_of(archive, JOB) is None


def test_two_rigs_folders_of_one_date_are_two_jobs(place: Place) -> None:
    heron = {**PLAN, "id": HERON, "plan": "bbbb-0002", "address": "3 Quay Street, Birling"}
    assert keep(place, "", PLAN, "bittern") == keep(place, "", heron, "heron") == 1
    assert (said(place, "", JOB), said(place, "", HERON)) == ("bittern", "heron")
    with opened(at(place), place.folder, write=False) as archive:
        assert plan_of(archive, JOB, "bbbb-0002") is None
        assert jobs_of_number(archive, "bbbb-0002") == [HERON]


@pytest.mark.ci
def test_an_id_at_another_address_is_refused_and_a_slip_put_right_is_not(place: Place) -> None:
    keep(place, "", PLAN)
    for same in ("14 Milrace Road, Aldham", "14 Millrace Rd., Aldham", "14 MILLRACE ROAD", None, ""):
        keep(place, "", {**PLAN, "plan": "cccc-0003", "address": same}, f"as {same}")
    code, words = refusal(place, "", {**PLAN, "plan": "dddd-0004", "address": "3 Quay Street, Birling"})
    assert code == "archive.another"
    assert "14 M" in words
    assert "another name" in words
    assert said(place, "") == "as "


@pytest.mark.ci
def test_a_job_of_another_branch_is_refused_and_what_was_before_branches_can_be_given_to_one(place: Place) -> None:
    keep(place, "", PLAN, "before")
    code, words = refusal(place, "north", {**PLAN, "branch": "north"})
    assert code == "archive.branch"
    assert "planner archive branch north" in words
    with opened(at(place, "north"), place.folder) as archive:
        assert name_branch(archive)["records"] == 1
        assert name_branch(archive)["records"] == 0
    assert keep(place, "north", {**PLAN, "branch": "north"}, "after") == 2
    code, words = refusal(place, "south", {**PLAN, "branch": "south"})
    assert code == "archive.branch"
    assert "branch: north" in words
    code, words = refusal(place, "", PLAN)
    assert code == "archive.branch"


def test_what_both_have_is_given_to_none(place: Place) -> None:
    keep(place, "", PLAN)
    keep(place, "north", {**PLAN, "branch": "north", "address": "3 Quay Street, Birling"}, "north")
    with opened(at(place, "north"), place.folder) as archive, pytest.raises(ArchiveRefused) as refused:
        name_branch(archive)
    assert refused.value.fault.code == "archive.clash"
    assert said(place, "") == "done"


def old_file(folder: Path, records: int) -> Path:
    """An archive as the first version of the program left it."""
    with opened(None, folder, known=migrations.ALL[:1]) as archive, archive.writing() as connection:
        plan = text_of(PLAN)
        connection.exec_driver_sql(
            "INSERT INTO plans (sha256, job, number, json, program, at) VALUES (?, ?, ?, ?, '0', 'then')",
            (hash_of(plan), JOB, "aaaa-0001", plan),
        )
        for number in range(1, records + 1):
            done = {"job": JOB, "deviations": f"revision {number}"}
            connection.exec_driver_sql(
                "INSERT INTO records VALUES (?, ?, ?, ?, ?, ?, 'f', 'then')",
                (JOB, number, hash_of(plan), "aaaa-0001", hash_of(text_of(done)), text_of(done)),
            )
    return folder / "archive.db"


def test_a_file_from_before_branches_is_brought_up_to_date_with_all_it_holds(tmp_path: Path) -> None:
    path = old_file(tmp_path, 3)
    with closing(sqlite3.connect(path)) as old:
        assert old.execute("SELECT COUNT(*) FROM pragma_table_info('records') WHERE name = 'branch'").fetchone() == (0,)
    with opened(None, tmp_path) as archive:
        found = record_of(archive, JOB)
        assert found is not None
        assert (found.revision, found.content["deviations"]) == (3, "revision 3")
        assert plan_of(archive, JOB, "aaaa-0001") is not None
        assert keep_record(archive, {"job": JOB}, plan=PLAN, plan_number=None, source="f").revision == 4
    with closing(sqlite3.connect(path)) as new:
        assert new.execute("SELECT branch, COUNT(*) FROM records GROUP BY branch").fetchall() == [("", 4)]
        assert new.execute("PRAGMA foreign_key_check").fetchall() == []
        assert not new.execute("SELECT name FROM sqlite_master WHERE name LIKE '%before'").fetchall()


@pytest.mark.ci
def test_an_older_file_is_read_for_the_days_before_without_being_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE", raising=False)
    plan = made_plan(tmp_path)
    job = workspaces.write(tmp_path, workspaces.base())
    (tmp_path / "done.yaml").write_text(f"job: {job.stem}\ndeviations: then\n", encoding="utf-8")
    assert main(["record", str(job), "--from", str(tmp_path / "done.yaml")]) == 0
    with opened(None, tmp_path) as archive:
        (record,) = latest_records(archive)
    apart = tmp_path / "apart"
    apart.mkdir()
    path = old_file(apart, 0)
    with closing(sqlite3.connect(path)) as old:
        old.execute(
            "INSERT INTO records VALUES (?, 1, NULL, NULL, 'x', ?, 'f', 'then')",
            (plan["id"], json.dumps(record.content)),
        )
        old.commit()
    before = path.read_bytes()
    for branch, count in (("", 1), ("north", 0)):
        assert len(records_between(Address(branch=branch), apart, "2000", "2999")) == count
        assert len(records_between(Address(branch=branch), tmp_path, "2000", "2999")) == count
    assert path.read_bytes() == before
    with opened(None, tmp_path) as archive:
        withdraw(archive, record.job, 1, "never done")
        assert list(pairs(archive)) == []
    assert records_between(None, tmp_path, "2000", "2999") == {}


@pytest.mark.ci
def test_a_withdrawn_revision_gives_its_place_to_the_one_before(place: Place) -> None:
    for n in (1, 2, 3):
        assert keep(place, "", PLAN, f"text {n}") == n
    with opened(at(place), place.folder) as archive:
        assert withdraw(archive, JOB, 3, "another house") is True
        assert withdraw(archive, JOB, 3, "again") is False
        assert withdraw(archive, JOB, 9, "none") is None
        assert [(one.revision, one.content["deviations"]) for one in latest_records(archive)] == [(2, "text 2")]
        stored = keep_record(
            archive, {"job": JOB, "deviations": "new"}, plan=PLAN, plan_number=None, source="f", after=2
        )
        assert (stored.revision, stored.new) == (4, True), "a number is never used twice"
        assert not [one for one in pairs(archive) if isinstance(one, Pair) and one.revision == 3]


@pytest.mark.ci
def test_the_command_gives_to_the_branch_that_company_yaml_has(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")
    job = workspaces.write(tmp_path, workspaces.base())
    company = tmp_path / "company.yaml"
    (tmp_path / "done.yaml").write_text(f"job: {job.stem}\ndeviations: then\n", encoding="utf-8")
    assert main(["record", str(job), "--from", str(tmp_path / "done.yaml")]) == 0
    assert main(["archive", "branch", "North", "--workspace", str(tmp_path)]) == 2
    assert "`branch: North` there first" in capsys.readouterr().err
    company.write_text(company.read_text(encoding="utf-8") + "branch: North\n", encoding="utf-8")
    assert main(["record", str(job), "--from", str(tmp_path / "done.yaml")]) == 2
    assert "planner archive branch north" in " ".join(capsys.readouterr().err.split())
    assert main(["archive", "branch", "North", "--workspace", str(tmp_path)]) == 0
    assert "1 plan, 1 record given to branch north" in capsys.readouterr().out
    assert main(["record", str(job), "--from", str(tmp_path / "done.yaml")]) == 0
    assert "recorded already as revision 1" in capsys.readouterr().out
