"""A job is judged after what its rig did before, however few files are named: as recorded, else as planned."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.checks.model import CheckedJob, Finding
from planner.cli import main
from planner.days.prepare import Trouble, checked_jobs
from planner.days.rehearsing import rehearsed
from planner.inputs.workspace import load
from planner.plan.procedure.acts import Spray
from planner.words import spoken as words
from tests import workspaces

pytestmark = pytest.mark.usefixtures("own_archive")

PREMIX = {"feed": "mix", "dosing": "premix", "pump": "transfer", "target": "8 ft"}
BLEACH: dict[str, Any] = {
    "surfaces": [{"name": "wall", "kind": "brick", "area": "100 ft2"}],
    "chemicals": [{"stock": "bleach", "strength": "1 %"}],
    "hose_runs": {0: PREMIX},
}
ACID: dict[str, Any] = {
    "site": {"address": "2 Case Street"},
    "surfaces": [{"name": "plinth", "kind": "brick_acid", "area": "100 ft2"}],
    "chemicals": [{"stock": "muriatic", "strength": "1:10"}],
    "hose_runs": {0: PREMIX},
}
OWN_PUMP = workspaces.merged(ACID, {"hose_runs": {0: {"pump": "acid pump"}}})
OWN_TANK = workspaces.merged(OWN_PUMP, {"hose_runs": {0: {"feed": "bucket"}}})
YESTERDAY, TODAY = "2026-06-08/10-one", "2026-06-09/10-two"


def _workspace(folder: Path, jobs: dict[str, Any], days: dict[str, dict[str, Any]] | None = None) -> Path:
    """A workspace with these jobs by day and stem; a text stands for a file as it is."""
    files = workspaces.base()
    files["rig"]["tanks"].append({"name": "bucket", "volume": "15 gal", "holds": "muriatic"})
    acid_pump = {**copy.deepcopy(files["rig"]["pumps"][2]), "name": "acid pump", "dedicated": "muriatic"}
    files["rig"]["pumps"].append(acid_pump)
    workspaces.write(folder, files).unlink()
    (folder / "2026-06-09" / "day.yaml").unlink()
    for name, change in jobs.items():
        path = folder / f"{name}.yaml"
        path.parent.mkdir(exist_ok=True)
        whole = change if isinstance(change, str) else yaml.safe_dump(workspaces.merged(files["job"], change))
        path.write_text(whole, encoding="utf-8")
        day = workspaces.merged(files["day"], (days or {}).get(path.parent.name, {}))
        (path.parent / "day.yaml").write_text(yaml.safe_dump(day), encoding="utf-8")
    return folder


def _alone(folder: Path, name: str = TODAY) -> CheckedJob:
    """One job checked, its file alone being named."""
    trouble = Trouble(faults=[])
    read = load([folder / f"{name}.yaml"])
    assert not read.faults, "\n".join(str(fault) for fault in read.faults)
    (job,) = checked_jobs(read, trouble)
    assert not trouble.faults
    assert not trouble.ours
    return job


def _of(job: CheckedJob, code: str) -> dict[str, str]:
    return {one.case: one.level for one in job.findings if one.code == code and one.level in ("stop", "caution")}


def _one(job: CheckedJob, code: str, case: str) -> Finding:
    return next(one for one in job.findings if (one.code, one.case) == (code, case))


def _record(folder: Path, text: str, name: str = YESTERDAY) -> None:
    """What was done of a job, printed and then taken in from a file."""
    job = folder / f"{name}.yaml"
    assert main(["packet", str(job), "-o", str(folder.parent / "out")]) in (0, 1)
    written = folder.parent / "done.yaml"
    written.write_text(f"job: {name}\n{text}", encoding="utf-8")
    assert main(["record", str(job), "--from", str(written)]) == 0


def test_bleach_left_in_the_tank_yesterday_is_drained_before_acid_is_mixed_in_it(tmp_path: Path) -> None:
    job = _alone(_workspace(tmp_path, {YESTERDAY: BLEACH, TODAY: OWN_PUMP}))
    (change,) = [one for one in job.plan.changes if one.tank is not None]
    assert change.tank is not None
    assert (change.tank.part, change.tank.leaves) == ("mix", "hypochlorite")


def test_a_pump_that_bleach_went_through_yesterday_takes_no_acid_today(tmp_path: Path) -> None:
    job = _alone(_workspace(tmp_path, {YESTERDAY: BLEACH, TODAY: ACID}))
    assert _of(job, "mix.reaction") == {"bleach_pump": "stop"}


def test_hoses_that_carried_bleach_yesterday_are_asked_for_their_flush(tmp_path: Path) -> None:
    job = _alone(_workspace(tmp_path, {YESTERDAY: BLEACH, TODAY: OWN_TANK}))
    assert _one(job, "flush.needed", "between").about == "red"


def test_brick_that_had_bleach_yesterday_takes_no_acid_today(tmp_path: Path) -> None:
    brick = {
        **OWN_TANK,
        "site": {"address": "1 Case Street"},
        "surfaces": [{**OWN_TANK["surfaces"][0], "name": "wall"}],
    }
    job = _alone(_workspace(tmp_path, {YESTERDAY: BLEACH, TODAY: brick}))
    assert _of(job, "mix.reaction") == {"wall_before": "stop"}


def test_a_heel_of_bleach_in_todays_own_page_makes_its_pump_a_bleach_pump(tmp_path: Path) -> None:
    heels = {"heels": {"mix": {"stock": "bleach", "strength": "3 %", "volume": "2 gal"}}}
    job = _alone(_workspace(tmp_path, {TODAY: ACID}, {"2026-06-09": heels}))
    assert _of(job, "mix.reaction") == {"bleach_pump": "stop"}


@pytest.mark.ci
def test_a_heel_of_the_same_mix_that_todays_page_leaves_out_is_to_be_read_off_the_stick(tmp_path: Path) -> None:
    folder = _workspace(tmp_path, {YESTERDAY: BLEACH, TODAY: BLEACH})
    job = _alone(folder)
    finding = _one(job, "mix.heel", "overnight")
    assert finding.level == "caution"
    assert "1.0 gal" in words.message(finding, "us")
    assert [(one.what, one.place) for one in job.plan.looks] == [("stick", "mix")]
    told = _workspace(
        tmp_path / "told",
        {YESTERDAY: BLEACH, TODAY: BLEACH},
        {"2026-06-09": {"heels": {"mix": {"stock": "water", "volume": "1 gal"}}}},
    )
    assert _of(_alone(told), "mix.heel") == {}
    assert _alone(told).plan.looks == ()


def test_a_tank_nothing_is_known_of_is_looked_into_first(tmp_path: Path) -> None:
    job = _alone(_workspace(tmp_path, {TODAY: BLEACH}))
    assert [(one.what, one.place) for one in job.plan.looks] == [("dry", "mix")]


@pytest.mark.ci
def test_a_strip_on_record_settles_the_line(tmp_path: Path) -> None:
    folder = _workspace(tmp_path / "ws", {YESTERDAY: BLEACH, TODAY: OWN_TANK})
    _record(folder, "flush: {residual: 2 mg/L}\nheels: {mix: {stock: water, volume: 1 gal}}\n")
    assert "between" not in _of(_alone(folder), "flush.needed")


@pytest.mark.ci
def test_a_strip_on_record_that_was_too_high_has_the_line_flushed_today(tmp_path: Path) -> None:
    folder = _workspace(tmp_path / "ws", {YESTERDAY: BLEACH, TODAY: OWN_TANK})
    _record(folder, "flush: {residual: 30 mg/L}\n")
    assert [part.part for change in _alone(folder).plan.changes for part in change.parts] == ["red"]


@pytest.mark.ci
@pytest.mark.parametrize("status", ["cancelled", "moved"])
def test_a_job_on_record_as_not_done_left_nothing_behind(status: str, tmp_path: Path) -> None:
    folder = _workspace(tmp_path / "ws", {YESTERDAY: BLEACH, TODAY: ACID})
    assert _of(_alone(folder), "mix.reaction")
    _record(folder, f"status: {status}\n")
    assert _of(_alone(folder), "mix.reaction") == {}


@pytest.mark.ci
def test_a_heel_on_record_counts_before_the_planned_one(tmp_path: Path) -> None:
    folder = _workspace(tmp_path / "ws", {YESTERDAY: BLEACH, TODAY: BLEACH})
    _record(folder, "heels: {mix: {stock: bleach, strength: 1 trade %, volume: 7 gal}}\n")
    assert "7.0 gal" in words.message(_one(_alone(folder), "mix.heel", "overnight"), "us")


@pytest.mark.ci
def test_a_page_between_says_what_stood_in_the_tank_since(tmp_path: Path) -> None:
    emptied = {"heels": {"mix": {"stock": "water", "volume": "5 gal"}}}
    jobs = {"2026-06-07/10-one": BLEACH, "2026-06-08/10-mid": {}, TODAY: OWN_PUMP}
    assert [one.tank.part for one in _alone(_workspace(tmp_path / "as", jobs)).plan.changes if one.tank] == ["mix"]
    job = _alone(_workspace(tmp_path / "told", jobs, {"2026-06-08": emptied}))
    assert [one for one in job.plan.changes if one.tank] == []
    assert _of(job, "mix.heel")["gainsaid"] == "caution", "bleach the day before that, and no record that it was rinsed"


@pytest.mark.ci
def test_a_job_held_yesterday_is_asked_about_and_one_on_record_was_done(tmp_path: Path) -> None:
    held = {**BLEACH, "access": {"power_line": "5 ft"}}
    folder = _workspace(tmp_path / "ws", {YESTERDAY: held, TODAY: ACID})
    job = _alone(folder)
    assert _of(job, "mix.reaction") == {"held_gear": "caution"}
    assert "of 2026-06-08 was held" in words.message(_one(job, "mix.reaction", "held_gear"), "us")
    assert "strip" in [one.what for one in job.plan.looks]
    _record(folder, "water: {used: 20 gal}\n")
    assert _of(_alone(folder), "mix.reaction") == {"bleach_pump": "stop"}


def test_yesterdays_file_that_cannot_be_read_is_named_if_it_may_have_used_this_gear(tmp_path: Path) -> None:
    job = _alone(_workspace(tmp_path / "a", {YESTERDAY: "job: [red, mix", TODAY: OWN_TANK}))
    assert _of(job, "mix.reaction") == {"unread": "caution"}
    assert "10-one of 2026-06-08" in words.message(_one(job, "mix.reaction", "unread"), "us")
    assert [(one.what, one.place) for one in job.plan.looks if one.what == "strip"] == [
        ("strip", "10-one of 2026-06-08")
    ]


@pytest.mark.parametrize(("day", "cases"), [("2026-05-10", {"bleach_pump": "stop"}), ("2026-05-09", {})])
def test_thirty_days_are_looked_back_upon(tmp_path: Path, day: str, cases: dict[str, str]) -> None:
    job = _alone(_workspace(tmp_path, {f"{day}/10-one": BLEACH, TODAY: ACID}))
    assert _of(job, "mix.reaction") == cases


@pytest.mark.ci
def test_what_an_earlier_day_pulled_is_off_the_shelf_already(tmp_path: Path) -> None:
    large = workspaces.merged(BLEACH, {"surfaces": {0: {"area": "30000 ft2"}}})
    folder = _workspace(tmp_path, {YESTERDAY: large, TODAY: BLEACH})
    assert "stop" in _of(_alone(folder, YESTERDAY), "mix.stock").values()
    assert "stop" not in _of(_alone(folder), "mix.stock").values()
    # Held that day for want of the stock it used itself: it was done all the same.
    assert _one(_alone(folder), "mix.heel", "overnight").level == "caution"


def test_another_rig_leaves_nothing_in_this_ones_hoses_but_may_have_been_on_its_walls(tmp_path: Path) -> None:
    brick = {
        **OWN_TANK,
        "site": {"address": "1 Case Street"},
        "surfaces": [{**OWN_TANK["surfaces"][0], "name": "wall"}],
    }
    folder = _workspace(tmp_path, {YESTERDAY: BLEACH, TODAY: brick})
    other = (folder / "rigs" / "case.yaml").read_text(encoding="utf-8").replace("rig: Case", "rig: Other")
    (folder / "rigs" / "other.yaml").write_text(other, encoding="utf-8")
    page = folder / "2026-06-08" / "day.yaml"
    page.write_text(page.read_text(encoding="utf-8").replace("rig: Case", "rig: Other"), encoding="utf-8")
    job = _alone(folder)
    assert _of(job, "mix.reaction") == {"wall_before": "stop"}
    assert "between" not in _of(job, "flush.needed")


@pytest.mark.ci
def test_a_day_or_a_season_says_the_same_as_one_file(tmp_path: Path) -> None:
    folder = _workspace(tmp_path, {YESTERDAY: BLEACH, TODAY: ACID})
    alone = _alone(folder)
    for paths in ([folder / "2026-06-09"], [folder]):
        whole = [job for job in checked_jobs(load(paths), Trouble(faults=[])) if job.plan.id == TODAY]
        assert [job.findings for job in whole] == [alone.findings]


def test_a_fault_in_the_first_job_keeps_its_place_and_the_others_wait(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drives = {"2026-06-09": {"leave_yard": "07:00", "drive": {"10-one": "20 min", "20-two": "15 min"}}}
    folder = _workspace(tmp_path, {"2026-06-09/10-one": {}, "2026-06-09/20-two": {}}, drives)
    second = _alone(folder, "2026-06-09/20-two")
    assert second.plan.time[0].start is not None
    assert second.plan.time[0].start > 8 * 3600.0
    (folder / "2026-06-09" / "10-one.yaml").write_text("job: [", encoding="utf-8")
    waits = _alone(folder, "2026-06-09/20-two")
    assert [span.start for span in waits.plan.time] == [None] * len(waits.plan.time)
    assert _of(waits, "time.day") == {"lost": "caution"}
    assert main(["check", str(folder / "2026-06-09")]) == 2
    assert "10-one" in capsys.readouterr().out


def test_a_drive_that_is_missing_is_asked_for_and_never_nothing(tmp_path: Path) -> None:
    days = {"2026-06-09": {"leave_yard": "07:00", "drive": {"10-one": "20 min"}}}
    folder = _workspace(tmp_path, {"2026-06-09/10-one": {}, "2026-06-09/20-two": {}}, days)
    second = _alone(folder, "2026-06-09/20-two")
    assert second.plan.time[0].start is None
    finding = _one(second, "time.day", "no_drive")
    assert words.remedy(finding, "us") == "Add it to day.yaml: `drive: {20-two: 25 min}`."


def test_a_page_with_a_slip_in_it_is_named_and_not_passed_over(tmp_path: Path) -> None:
    folder = _workspace(tmp_path, {"2026-06-08/10-mid": {}, TODAY: OWN_PUMP})
    page = folder / "2026-06-08" / "day.yaml"
    heel = "heels: {mix: {stock: bleach, strength: 3 trade %, volume: 5 gal}}\n"
    page.write_text(page.read_text(encoding="utf-8") + heel, encoding="utf-8")
    assert [one.tank.part for one in _alone(folder).plan.changes if one.tank] == ["mix"]
    page.write_text(page.read_text(encoding="utf-8") + "leeave: 3\n", encoding="utf-8")
    job = _alone(folder)
    assert _of(job, "mix.reaction")["unread"] == "caution"
    assert "day.yaml of 2026-06-08" in words.message(_one(job, "mix.reaction", "unread"), "us")


def test_a_job_of_plain_water_is_told_of_yesterdays_unreadable_file_too(tmp_path: Path) -> None:
    job = _alone(_workspace(tmp_path, {YESTERDAY: "job: [red", TODAY: {}}))
    assert _of(job, "mix.reaction") == {"unread": "caution"}
    assert [one.what for one in job.plan.looks] == ["strip"]


def test_acid_in_the_tank_a_batch_takes_its_water_from_is_found_a_day_later(tmp_path: Path) -> None:
    heels = {"heels": {"water": {"stock": "muriatic", "strength": "10 wt %", "volume": "20 gal"}}}
    tap = {"hose_runs": {0: {"feed": "tap", "pump": None, "target": "8 ft", "tip": "fan"}}}
    folder = _workspace(tmp_path, {"2026-06-08/10-mid": tap, TODAY: BLEACH}, {"2026-06-08": heels})
    assert ("water", "muriatic") in [
        (one.tank.part, one.tank.leaves) for one in _alone(folder).plan.changes if one.tank
    ]


@pytest.mark.ci
@pytest.mark.parametrize("order", [("drum", "suds"), ("suds", "drum")])
def test_what_read_dirty_stands_whatever_the_strip_says_of_another(tmp_path: Path, order: tuple[str, str]) -> None:
    walls = [{"name": "one", "kind": "vinyl", "area": "100 ft2"}, {"name": "two", "kind": "vinyl", "area": "100 ft2"}]
    uses = {"drum": {"stock": "drum", "strength": "1 %"}, "suds": {"stock": "acid", "strength": "1:20"}}
    chemicals = [{**uses[stock], "surfaces": [wall["name"]]} for stock, wall in zip(order, walls, strict=True)]
    runs = [
        {**workspaces.base()["job"]["hose_runs"][0], **PREMIX, "name": wall["name"], "surfaces": [wall["name"]]}
        for wall in walls
    ]
    folder = _workspace(
        tmp_path / "ws", {YESTERDAY: {"surfaces": walls, "chemicals": chemicals, "hose_runs": runs}, TODAY: OWN_TANK}
    )
    _record(folder, "flush: {residual: 200 mg/L, ph: 7}\n")
    found = _alone(folder).plan.found
    assert found.parts["red"] == "hypochlorite"
    assert "red" in found.unflushed


@pytest.mark.parametrize(
    "heel", [{"stock": "water", "volume": "1 gal"}, {"stock": "muriatic", "strength": "10 wt %", "volume": "1 gal"}]
)
def test_a_page_that_says_otherwise_than_yesterday_left_it_is_asked_about(tmp_path: Path, heel: dict[str, str]) -> None:
    folder = _workspace(tmp_path, {YESTERDAY: BLEACH, TODAY: OWN_PUMP}, {"2026-06-09": {"heels": {"mix": heel}}})
    job = _alone(folder)
    assert _of(job, "mix.heel")["gainsaid"] == "caution"
    assert ("gainsaid", "mix") in [(one.what, one.place) for one in job.plan.looks]


@pytest.mark.parametrize("asked", ["2026-06-09", "2026-06-09-other"])
def test_two_rigs_on_one_site_the_same_day_see_each_other_whichever_is_named(tmp_path: Path, asked: str) -> None:
    here = {**OWN_TANK, "site": {"address": "1 Case Street"}}
    folder = _workspace(tmp_path, {TODAY: here, "2026-06-09-other/10-two": BLEACH})
    other = (folder / "rigs" / "case.yaml").read_text(encoding="utf-8").replace("rig: Case", "rig: Other")
    (folder / "rigs" / "other.yaml").write_text(other, encoding="utf-8")
    page = folder / "2026-06-09-other" / "day.yaml"
    page.write_text(page.read_text(encoding="utf-8").replace("rig: Case", "rig: Other"), encoding="utf-8")
    job = _alone(folder, f"{asked}/10-two")
    assert _of(job, "mix.reaction") == {"beside_site": "stop"}


def test_an_earlier_day_of_a_rig_nobody_has_is_not_passed_over(tmp_path: Path) -> None:
    folder = _workspace(
        tmp_path,
        {YESTERDAY: BLEACH, TODAY: {**OWN_TANK, "site": {"address": "1 Case Street"}}},
        {"2026-06-08": {"rig": "Cassse"}},
    )
    assert _of(_alone(folder), "mix.reaction")["unread"] == "caution"


@pytest.mark.parametrize("odd", ["06-08-2026", "2026_06_08", "June 8"])
def test_a_folder_that_may_be_an_earlier_day_is_named_to_who_asks_for_today(tmp_path: Path, odd: str) -> None:
    folder = _workspace(tmp_path, {f"{odd}/10-one": BLEACH, TODAY: ACID})
    job = _alone(folder)
    assert _of(job, "mix.reaction")["unread"] == "caution"
    assert f"cannot read folder {odd}." in words.message(_one(job, "mix.reaction", "unread"), "us")


def test_water_for_acid_through_a_line_that_setups_send_bleach_through_is_run_clear_first(tmp_path: Path) -> None:
    rinse = {**workspaces.base()["job"]["hose_runs"][0], "name": "water", "tip": "fan", "target": "8 ft"}
    acid = {
        **OWN_TANK,
        "hose_runs": [{**workspaces.base()["job"]["hose_runs"][0], **OWN_TANK["hose_runs"][0], "name": "acid"}, rinse],
    }
    folder = _workspace(tmp_path, {TODAY: acid})
    rig = folder / "rigs" / "case.yaml"
    setup = "setups: [{name: house, pump: booster, feed: water, dosing: panel, hoses: [red], tip: long throw}]\n"
    rig.write_text(rig.read_text(encoding="utf-8") + setup, encoding="utf-8")
    assert ("chlorine", "water") in [(one.what, one.place) for one in _alone(folder).plan.looks]


def test_another_rigs_unreadable_file_of_the_same_day_is_named(tmp_path: Path) -> None:
    here = {**OWN_TANK, "site": {"address": "1 Case Street"}}
    folder = _workspace(tmp_path, {TODAY: here, "2026-06-09-other/10-two": "job: [1 Case Street"})
    other = (folder / "rigs" / "case.yaml").read_text(encoding="utf-8").replace("rig: Case", "rig: Other")
    (folder / "rigs" / "other.yaml").write_text(other, encoding="utf-8")
    page = folder / "2026-06-09-other" / "day.yaml"
    page.write_text(page.read_text(encoding="utf-8").replace("rig: Case", "rig: Other"), encoding="utf-8")
    assert _of(_alone(folder), "mix.reaction")["unread"] == "caution"


def test_hoses_begin_unknown_after_a_file_nobody_can_read_and_a_strip_is_read_before_anything_is_sprayed(
    tmp_path: Path,
) -> None:
    job = rehearsed(_alone(_workspace(tmp_path, {YESTERDAY: "job: [red", TODAY: {}})))
    assert not job.breaches
    procedure = job.plan.procedure
    assert procedure is not None
    assert procedure.begin.hoses
    assert {held.stock for held in procedure.begin.hoses.values()} == {"unknown"}
    assert {held.stock for held in procedure.end.hoses.values()} == {"air"}
    strip = next(act for act in procedure.acts if act.expect is not None and act.expect.what == "strip_chlorine")
    assert strip.end <= min(act.start for act in procedure.acts if isinstance(act.detail, Spray))
