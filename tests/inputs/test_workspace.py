"""Paths: a job, a day, a season, a workspace, and everything that can be wrong with a file."""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

import pytest

from planner.inputs.tables.defaults import default
from planner.inputs.workspace import load
from tests import workspaces
from tests.inputs.desk import ALDER, BOATHOUSE, DAY, RIG, Desk
from tests.sampled import one_in

EARLIER = "2025-06-02/20-boathouse.yaml"


def test_a_day_gives_its_jobs_in_working_order(desk: Desk) -> None:
    for name in ("100-last.yaml", "9-first.yaml"):
        desk.write(f"2026-06-09/{name}", (desk.folder / ALDER).read_text())
    desk.write("2026-06-09/notes.yaml", "not: a job")
    loaded = desk.load("2026-06-09")
    names = [job.id.split("/")[1] for job in loaded.jobs]
    assert names == ["9-first", "10-boathouse", "20-alder-lane", "90-booster", "100-last"]
    (day,) = loaded.days
    assert day.jobs == tuple(f"2026-06-09/{name}" for name in names)
    assert [job.place_in_day for job in loaded.jobs] == [(n, 5) for n in range(1, 6)]


def test_a_lone_job_has_its_day_but_no_day_is_asked_for(desk: Desk) -> None:
    loaded = desk.load(ALDER)
    assert loaded.days == ()
    assert loaded.jobs[0].day is not None
    assert loaded.jobs[0].day.crew is not None
    assert loaded.jobs[0].day.crew.names == ("Ana", "Joe")


def test_the_same_job_named_twice_is_read_once(desk: Desk) -> None:
    assert len(desk.load(ALDER, "2026-06-09", ALDER).jobs) == 3


def test_a_faulty_job_is_left_out_and_the_others_come(desk: Desk) -> None:
    loaded = desk.change(ALDER, "uphill: 4 ft", "uphill: 4").load("2026-06-09")
    assert [job.id for job in loaded.jobs] == ["2026-06-09/10-boathouse", "2026-06-09/90-booster"]
    assert len(loaded.faults) == 1


def test_a_faulty_rig_is_told_once_and_holds_every_job_of_it(desk: Desk) -> None:
    loaded = desk.change(RIG, "cut_off: 60 psi", "cut_off: 60").load("2026-06-09")
    assert loaded.jobs == ()
    assert len(loaded.faults) == 1


def test_no_company_above_is_said_at_the_job(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text("job: x\n")
    (fault,) = load([tmp_path / "job.yaml"]).faults
    assert (fault.code, fault.where.line, fault.where.column) == ("workspace.missing", 1, 1)


def test_a_file_that_is_not_there_offers_the_nearest(desk: Desk) -> None:
    (fault,) = desk.load("2026-06-09/20-alder-lnae.yaml").faults
    assert fault.code == "file.missing"
    assert "20-alder-lane.yaml" in fault.remedy


def test_a_rig_file_is_no_job(desk: Desk) -> None:
    assert desk.faults(RIG) == [(RIG, 1, "file.kind")]


def test_a_workspace_without_days_is_read_all_the_same(desk: Desk) -> None:
    for day in desk.folder.glob("20*"):
        shutil.rmtree(day)
    assert desk.faults(".") == [(".", 1, "workspace.bare")]
    desk.change(RIG, "stages: 7", "stages: seven")
    assert desk.faults(".") == [(RIG, 19, "quantity.number")], "the fault comes first, and no word of jobs"
    assert (RIG, 19, "quantity.number") in desk.faults(RIG)


def test_a_workspace_says_what_is_still_to_be_written(tmp_path: Path) -> None:
    (tmp_path / "company.yaml").write_text("name: One\n", encoding="utf-8")
    (bare,) = load([tmp_path]).faults
    assert bare.message == "company is in order; no stock.yaml, no rig, no job and no day is here yet"
    assert "a rig's file in the folder rigs first" in bare.remedy


def test_a_rig_no_day_goes_with_is_read_with_its_workspace(desk: Desk) -> None:
    desk.write("rigs/spare.yaml", "rig: Spare\ntips: []\n")
    assert {file for file, _, _ in desk.faults(".")} == {"rigs/spare.yaml"}
    assert desk.faults("2026-06-09") == []


@pytest.mark.parametrize(
    "text",
    [
        "# Each line under a heading may be taken out.\n",
        "pumps:\n",
        "pumps:\n  Heron:\n",
        "pumps:\n  Heron:\n    booster:\n",
        "pumps: {Heron: {booster: {condition: , records: 3}}}\n",
        "pumps: {Heron: {booster: {condition: 0.9, records: 3, through: }}}\n",
        "surfaces:\npaces:\n  vinyl:\nlots:\n  drum 14:\ntaps:\njets:\n  Heron:\n    long throw:\n",
    ],
)
def test_lines_taken_out_of_learned_yaml_are_nothing_learned(text: str, desk: Desk) -> None:
    desk.write("learned.yaml", text)
    assert desk.faults(ALDER) == []
    assert bool(desk.job(ALDER).rig.pumps)
    (booster,) = [pump for pump in desk.job(ALDER).rig.pumps if pump.name == "booster"]
    assert booster.condition == (0.9 if "0.9" in text else 1.0)


def test_what_else_is_wrong_in_learned_yaml_is_told(desk: Desk) -> None:
    desk.write("learned.yaml", "pumps:\n  Heron:\n    boster: {condition: 0.9, records: 3}\n  Spare:\n")
    assert [code for _, _, code in desk.faults(ALDER)] == ["name.unknown"]


def test_a_folder_without_jobs_says_so(desk: Desk) -> None:
    (desk.folder / "empty").mkdir()
    assert desk.faults("empty") == [("empty", 1, "file.folder")]
    (desk.folder / "2027-01-01").mkdir()
    assert [code for _, _, code in desk.faults("2027-01-01")] == ["file.folder", "file.missing"]


@pytest.mark.ci
def test_a_day_of_more_jobs_than_are_planned_is_refused_and_none_of_them_opened(desk: Desk) -> None:
    most = int(default("jobs_most"))
    for number in range(most - 3):
        desk.write(f"2026-06-09/{number + 100}-none.yaml", "not: [read")
    assert [code for _, _, code in desk.faults("2026-06-09")].count("file.many") == 0  # just as many as are planned
    desk.write("2026-06-09/999-one-more.yaml", "not: [read")
    for asked in ("2026-06-09", ALDER, "."):
        assert desk.faults(asked) == [("2026-06-09", 1, "file.many")]
        assert not [job for job in desk.load(asked).jobs if job.id.startswith("2026")]


@pytest.mark.parametrize("key", ["surfaces", "hose_runs"])
def test_a_job_of_more_than_is_planned_is_one_fault(desk: Desk, key: str) -> None:
    text = (desk.folder / BOATHOUSE).read_text()
    most = int(default(f"{key}_most"))
    for count, many in ((most, 0), (most + 1, 1)):
        start = text.index(f"\n{key}:")
        rest = re.sub(rf"\n{key}:(\n[ #].*)*", "", text[start:])
        desk.write(BOATHOUSE, f"{text[:start]}\n{key}: [{', '.join(['{}'] * count)}]{rest}")
        assert [code for _, _, code in desk.faults(BOATHOUSE)].count("value.many") == many


def test_a_folder_in_place_of_a_file_is_a_fault(desk: Desk) -> None:
    (desk.folder / "stock.yaml").unlink()
    (desk.folder / "stock.yaml").mkdir()
    assert desk.faults(ALDER) == [("stock.yaml", 1, "file.folder")]


def test_loops_of_links_are_faults_and_no_tracebacks(desk: Desk, tmp_path: Path) -> None:
    loop = desk.folder / "2026-06-09" / "30-loop.yaml"
    loop.symlink_to(loop)
    assert [code for _, _, code in desk.faults("2026-06-09")] in (["file.missing"], ["file.unreadable"])
    around = desk.folder / "season"
    around.mkdir()
    (around / "2026-01-01").symlink_to(around)
    assert desk.load("season").faults
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    assert load([tmp_path / "a"]).faults


def test_a_folder_that_is_a_link_is_told_and_not_followed(desk: Desk, tmp_path: Path) -> None:
    """A day under a second name, another workspace's days, a season within; a link to no jobs is nobody's business."""
    elsewhere = tmp_path / "theirs" / "2026-06-11"
    elsewhere.mkdir(parents=True)
    (elsewhere / "day.yaml").write_text("rig: Bittern\n", encoding="utf-8")
    (elsewhere / "10-theirs.yaml").write_text("job: Theirs\n", encoding="utf-8")
    (tmp_path / "photos").mkdir()
    before = desk.faults(".")
    for name, to in {
        "2026-06-12": desk.folder / "2026-06-09", "2026-06-11": elsewhere, "season": elsewhere.parent,
        "pictures": tmp_path / "photos",
    }.items():  # fmt: skip
        (desk.folder / name).symlink_to(to)
    told = [one for one in desk.load(".").faults if one not in before]
    assert {one.where.file for one in told if "is a link" in one.message} >= {
        str(desk.folder / name) for name in ("2026-06-11", "2026-06-12", "season")
    }
    assert all(one.remedy for one in told)
    assert not any("10-theirs" in one.where.file or "pictures" in one.where.file for one in told)


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads every file")
def test_an_unreadable_file_is_a_fault(desk: Desk) -> None:
    (desk.folder / RIG).chmod(0)
    assert (RIG, 1, "file.unreadable") in desk.faults(ALDER)


def test_a_pipe_in_place_of_a_file_is_never_waited_for(desk: Desk) -> None:
    (desk.folder / ALDER).unlink()
    os.mkfifo(desk.folder / ALDER)
    assert desk.faults(ALDER) == [(ALDER, 1, "file.unreadable")]


def test_a_name_no_encoding_knows_is_still_printed(desk: Desk) -> None:
    (fault,) = load([Path(os.fsdecode(os.fsencode(desk.folder) + b"/2026-06-09/\xff.yaml"))]).faults
    assert fault.where.file.encode("utf-8")


def test_a_path_with_a_null_is_a_fault() -> None:
    assert load([Path("a\0b.yaml")]).faults


def test_like_takes_what_is_not_written_and_keeps_its_place(desk: Desk) -> None:
    job = desk.job(BOATHOUSE)
    assert job.job.site.address.startswith("Boathouse at the end")
    assert job.surfaces[0].kind == "vinyl"
    assert job.title == "Boathouse, lake side and gable"


def test_like_never_carries_an_acceptance_or_the_other_way_of_saying_a_thing(desk: Desk) -> None:
    desk.write(
        "2026-06-09/30-again.yaml",
        "job: Again\nlike: 2025-06-02/20-boathouse\nwater: {static: 60 psi}\n",
    )
    job = desk.job("2026-06-09/30-again.yaml")
    assert job.accept == ()
    assert not job.water.tested
    assert job.runs[0].name == "house"


def test_like_goes_through_several_jobs(desk: Desk) -> None:
    desk.write("2026-06-09/30-b.yaml", "job: B\nlike: 10-boathouse\nnear: {cars: 9 ft}\n")
    desk.write("2026-06-09/40-c.yaml", "job: C\nlike: 2026-06-09/30-b\n")
    job = desk.job("2026-06-09/40-c.yaml")
    assert job.job.near is not None
    assert job.job.near.cars == pytest.approx(9 * 0.3048)
    assert len(job.runs) == 2
    assert job.job.site.altitude == pytest.approx(600 * 0.3048)


def test_a_slip_in_what_was_taken_points_into_the_earlier_file(desk: Desk) -> None:
    desk.change(EARLIER, "altitude: 600 ft", "altitude: 600")
    assert desk.faults(BOATHOUSE) == [(EARLIER, 3, "quantity.bare")]


def test_jobs_like_one_another_in_a_circle_are_a_fault(desk: Desk) -> None:
    desk.change(EARLIER, "rig: Heron", "rig: Heron\nlike: 2026-06-09/10-boathouse")
    assert desk.faults(BOATHOUSE) == [(EARLIER, 3, "like.cycle")]
    desk.change(ALDER, "uphill: 4 ft", "like: 20-alder-lane")
    assert desk.faults(ALDER) == [(ALDER, 8, "like.cycle")]


@pytest.mark.parametrize("key", ["hot: 180 F", "standoff: 12 ft", "past_eave: 2 ft"])
def test_keys_for_the_run_of_an_earlier_job_are_left_with_its_setup(key: str, desk: Desk) -> None:
    desk.change(ALDER, "uphill: 4 ft", f"uphill: 4 ft\n{key}")
    again = "2026-06-09/30-again.yaml"
    run = "{name: house, pump: booster, feed: water, hoses: [red 1, red 2], tip: long throw, same_time: []}"
    desk.write(again, f"job: Again\nlike: 20-alder-lane\nhose_runs:\n  - {run}\n")
    assert desk.job(again).runs[0].hot is None


def test_a_day_without_a_rig_is_one_fault(desk: Desk) -> None:
    desk.change(DAY, "rig: heron\n", "")
    assert desk.faults(ALDER) == [(DAY, 1, "key.missing")]


def test_a_heel_larger_than_its_tank_is_a_fault_at_its_volume(tmp_path: Path) -> None:
    files = workspaces.merged(
        workspaces.base(), {"day": {"heels": {"mix": {"stock": "bleach", "strength": "3 %", "volume": "60 gal"}}}}
    )
    (fault,) = workspaces.loaded(tmp_path, files).faults
    assert (fault.code, fault.where.path) == ("heel.volume", "heels.mix.volume")
    assert "50 gal" in fault.message


NAMES = [
    ("2026-06-09/alder.yaml", "100-alder.yaml"),
    ("2026-06-09/30_alder.yaml", "30-alder.yaml"),
    ("2026-06-09/30-alder.YAML", "30-alder.yaml"),
    ("2026-06-09/30-alder.yaml.txt", "30-alder.yaml"),
    ("2026-06-09/day.yml", "day.yaml"),
    ("2026-06-09/Day.yaml", "day.yaml"),
    ("2026-06-09/00-day.yaml", "05-day-job.yaml"),
    ("2026-06-09/30-alder-notice.yaml", "30-alder-notice-job.yaml"),
    ("2026-06-09/30-alder-owner.yaml", "30-alder-owner-job.yaml"),
    ("2026-06-09/10-alder.yaml", "100-boathouse.yaml"),
    ("2026-06-09/20-alder-lane.yml", "100-alder-lane.yaml"),
    ("2026-06-09/20-Alder-Lane.yaml", "100-alder-lane.yaml"),
]


@pytest.mark.parametrize(("file", "meant"), one_in(3, NAMES))
@pytest.mark.ci
def test_a_job_under_a_name_that_is_skipped_or_overwritten_is_told_what_to_rename(
    desk: Desk, file: str, meant: str
) -> None:
    desk.write(file, (desk.folder / ALDER).read_text())
    for asked in ("2026-06-09", ".", BOATHOUSE):
        (fault,) = desk.load(asked).faults
        assert fault.code == "file.name"
        assert meant in fault.remedy
    ids = [job.id.casefold() for job in desk.load(".").jobs]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("name", ["30-alder.yaml.bak", "30-alder.yaml~", ".30-alder.yaml.swp", ".#30-alder.yaml"])
def test_what_an_editor_leaves_behind_is_no_job(desk: Desk, name: str) -> None:
    desk.write(f"2026-06-09/{name}", "job: x\n")
    assert desk.faults(".") == []


@pytest.mark.parametrize(
    ("folder", "meant"),
    [
        ("06-09-2026", "`2026-06-09` or `2026-09-06`"),
        ("2026.06.11", "`2026-06-11`"),
        ("20260611", "`2026-06-11`"),
        ("2026-11-31", "such as `2026-06-09`"),
        ("2026-W23-2", "such as `2026-06-09`"),
        ("quotes", "such as `2026-06-09`"),
    ],
)
@pytest.mark.parametrize("page", [True, False])
def test_jobs_in_a_folder_that_is_no_date_are_told_of(desk: Desk, folder: str, meant: str, page: bool) -> None:
    desk.write(f"{folder}/10-alder.yaml", (desk.folder / ALDER).read_text())
    if page:
        desk.write(f"{folder}/day.yaml", "rig: Heron\n")
    read = desk.load(".")
    (fault,) = [fault for fault in read.faults if fault.code == "folder.date"]
    assert meant in fault.remedy
    assert not [job for job in read.jobs if job.id.endswith("10-alder")]
    if folder != "quotes":
        assert "folder.date" in [code for _, _, code in desk.faults(f"{folder}/10-alder.yaml")]


def test_jobs_that_lie_in_no_day_are_told_of(desk: Desk) -> None:
    text = (desk.folder / ALDER).read_text()
    desk.write("30-alder.yaml", text).write("2026-06-09/more/30-alder.yaml", text).write("day.yaml", "rig: Heron\n")
    desk.write("records/30-alder.yaml", text).write(".old/30-alder.yaml", text).write("notes.yaml", "plants: wet\n")
    assert desk.faults(".") == [
        ("2026-06-09/more", 1, "file.folder"), ("30-alder.yaml", 1, "file.place"), ("day.yaml", 1, "file.place"),
    ]  # fmt: skip


@pytest.mark.ci
def test_a_season_inside_a_workspace_is_read_with_it(desk: Desk) -> None:
    desk.write("2024/2024-06-09/10-alder.yaml", (desk.folder / ALDER).read_text())
    desk.write("2024/2024-06-09/day.yaml", "rig: Heron\n")
    assert "2024-06-09/10-alder" in [job.id for job in desk.load(".").jobs]
    shutil.copytree(desk.folder / "2024", desk.folder / "old")
    assert {code for _, _, code in desk.faults(".")} == {"file.name"}, "two days of one name"
    shutil.copytree(desk.folder, desk.folder.parent / "copy")
    shutil.move(desk.folder.parent / "copy", desk.folder / "old2")
    assert ("old2", 1, "file.place") in desk.faults(".")


def test_two_workspaces_in_one_call_never_print_over_each_other(desk: Desk, tmp_path: Path) -> None:
    shutil.copytree(desk.folder, tmp_path / "other")
    read = load([desk.folder / ALDER, tmp_path / "other" / ALDER])
    assert [fault.code for fault in read.faults] == ["file.name"]
    assert len(read.jobs) == 1


@pytest.mark.ci
def test_two_rigs_may_work_on_one_date(desk: Desk) -> None:
    desk.write("rigs/tern.yaml", (desk.folder / RIG).read_text().replace("rig: Heron", "rig: Tern"))
    (desk.folder / "2026-06-09").rename(desk.folder / "2026-06-09-heron")
    shutil.copytree(desk.folder / "2026-06-09-heron", desk.folder / "2026-06-09-Tern")
    desk.change("2026-06-09-Tern/day.yaml", "rig: heron", "rig: tern")
    desk.change("2026-06-09-Tern/10-boathouse.yaml", "rig: Heron\n", "")
    read = desk.load(".")
    assert not read.faults
    twice = [job for job in read.jobs if job.id.endswith("/20-alder-lane")]
    assert [(job.id, job.rig.name, str(job.date)) for job in twice] == [
        ("2026-06-09-Tern/20-alder-lane", "Tern", "2026-06-09"),
        ("2026-06-09-heron/20-alder-lane", "Heron", "2026-06-09"),
    ]
    desk.change("2026-06-09-Tern/day.yaml", "rig: tern", "rig: heron")
    assert [code for _, _, code in desk.faults("2026-06-09-Tern")] == ["rig.disagrees"]
    (desk.folder / "2026-06-09-Tern").rename(desk.folder / "2026-06-09")
    assert [code for _, _, code in desk.faults("2026-06-09")] == ["folder.twice"]


@pytest.mark.parametrize(("stock", "name"), [("stock.yml", "company.yml"), ("Stock.yaml", "Company.yaml")])
def test_a_shared_file_under_another_name_is_never_taken_as_not_written(desk: Desk, stock: str, name: str) -> None:
    shutil.copy(desk.folder / "stock.yaml", desk.folder / stock)
    assert desk.faults(ALDER) == [(stock, 1, "file.name")]
    (desk.folder / "company.yaml").rename(desk.folder / name)
    (fault,) = desk.load(ALDER).faults
    assert fault.code == "workspace.missing"
    assert name in fault.remedy


def test_two_files_of_one_rig_are_a_fault_and_hold_its_jobs(desk: Desk) -> None:
    shutil.copy(desk.folder / RIG, desk.folder / "rigs/heron.yml")
    read = desk.load(ALDER)
    assert [fault.code for fault in read.faults] == ["file.name"]
    assert read.jobs == ()


def test_a_rigs_file_copied_and_not_renamed_inside_is_a_fault(desk: Desk) -> None:
    shutil.copy(desk.folder / RIG, desk.folder / "rigs/tern.yaml")
    assert desk.faults(".") == [("rigs/tern.yaml", 1, "name.twice")]


def test_a_missing_stock_file_says_so_where_something_is_poured(desk: Desk) -> None:
    (desk.folder / "stock.yaml").unlink()
    desk.change(ALDER, "tap: 5 gal in 50 s", "chemicals: []")
    assert desk.faults(ALDER) == []
    desk.change(ALDER, "chemicals: []", "tap: 5 gal in 50 s")
    (fault,) = desk.load(ALDER).faults
    assert (fault.code, Path(fault.where.file).name) == ("file.missing", "stock.yaml")
    assert desk.write("stock.yaml", "lots: []\n").faults(ALDER) == []


def test_a_folder_of_packets_in_the_workspace_is_no_day(tmp_path: Path) -> None:
    job = workspaces.write(tmp_path, workspaces.base())
    printed = tmp_path / "out" / "2026-06-09"
    printed.mkdir(parents=True)
    (printed / "10-case.pdf").write_bytes(b"%PDF")
    read = load([tmp_path])
    assert ([one.id for one in read.jobs], read.faults) == ([f"{job.parent.name}/{job.stem}"], ())
    (printed / "10-case.pdf").unlink()
    assert load([tmp_path]).faults, "an empty day is told"
