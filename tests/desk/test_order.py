"""The order of a day in the browser: files and drives are renamed together or not at all, and never over another."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from werkzeug.test import TestResponse

from planner import writing
from planner.cli import main
from planner.desk.places import order
from planner.desk.places.drives import Refused
from planner.inputs.reading.files import in_working_order
from tests.desk.desks import Asked, words

pytestmark = pytest.mark.ci

DAY = "2026-06-10"
SLIPWAY, MIDDLE, ACID, PUMP = (
    f"{DAY}/{name}.yaml" for name in ("10-slipway", "20-millrace-mid", "30-kiln-acid", "90-booster")
)


def _names(asked: Asked, day: str = DAY) -> list[str]:
    return sorted(path.name for path in (asked.folder / day).iterdir())


def _move(asked: Asked, name: str, way: str, day: str = DAY) -> TestResponse:
    return asked.post(f"/order/{asked.id(day)}", {"do": f"{way} {asked.id(name)}"}, script=False)


def _bytes(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def test_two_jobs_swap_their_numbers_and_the_drives_that_changed_are_asked_for(asked: Asked) -> None:
    before = {name: asked.text(name) for name in (SLIPWAY, MIDDLE)}
    page = asked.text(f"{DAY}/day.yaml")
    found = _move(asked, MIDDLE, "up")
    assert found.status_code == 303
    assert found.headers["Location"] == f"/day/{asked.id(DAY)}#order-{asked.id(f'{DAY}/10-millrace-mid.yaml')}"
    assert _names(asked) == [
        "10-millrace-mid.yaml",
        "20-slipway.yaml",
        "30-kiln-acid.yaml",
        "90-booster.yaml",
        "day.yaml",
    ]
    assert asked.text(f"{DAY}/10-millrace-mid.yaml") == before[MIDDLE]
    assert asked.text(f"{DAY}/20-slipway.yaml") == before[SLIPWAY]
    assert asked.text(f"{DAY}/day.yaml") == page.replace(
        "{10-slipway: 20 min, 20-millrace-mid: 20 min, 30-kiln-acid: 20 min}", "{}"
    )
    said = words(asked.get(f"/day/{asked.id(DAY)}"))
    assert "times wait for them: to 10-millrace-mid, to 20-slipway, to 30-kiln-acid" in said
    assert "No end yet" in said
    assert "no time of day" in said
    assert said.index("1 Millrace Row, middle terrace") < said.index("2 Slipway Cottage, drive")
    assert _move(asked, f"{DAY}/10-millrace-mid.yaml", "down").status_code == 303
    assert asked.text(f"{DAY}/day.yaml") == page
    assert asked.text(SLIPWAY) == before[SLIPWAY]


def test_the_first_stays_first_and_others_are_not_found(asked: Asked) -> None:
    before = _bytes(asked.folder)
    assert _move(asked, SLIPWAY, "up").status_code == 303
    assert _move(asked, PUMP, "down").status_code == 303
    assert _move(asked, "2026-06-09/30-kiln.yaml", "up").status_code == 404
    assert _move(asked, f"{DAY}/day.yaml", "up").status_code == 404
    assert _move(asked, SLIPWAY, "sideways").status_code == 404
    assert asked.post("/order/000000000000", {"do": f"up {asked.id(MIDDLE)}"}).status_code == 404
    assert _bytes(asked.folder) == before


def test_unsaved_texts_stay_with_their_jobs(asked: Asked) -> None:
    asked.edit(SLIPWAY, v={"job": "Slipway, all of it"})
    asked.edit(f"{DAY}/day.yaml", place=f"day:{asked.id(DAY)}", v={"leave_yard": "06:30"})
    disk = asked.text(SLIPWAY)
    assert _move(asked, SLIPWAY, "down").status_code == 303
    moved = f"{DAY}/20-slipway.yaml"
    assert asked.text(moved) == disk
    sheet = asked.desk.files.of(asked.desk.files.folder / moved)
    assert sheet is not None
    assert sheet.unsaved
    assert b"Slipway, all of it" in sheet.text
    assert sheet.undo
    assert asked.edit(moved, save="yes").get_json()["saved"]
    assert "job: Slipway, all of it" in asked.text(moved)
    assert "10-slipway.yaml" not in _names(asked)
    page = asked.text(f"{DAY}/day.yaml")
    assert "drive: {}" in page
    assert "06:30" not in page
    assert asked.edit(f"{DAY}/day.yaml", place=f"day:{asked.id(DAY)}", save="yes").get_json()["saved"]
    page = asked.text(f"{DAY}/day.yaml")
    assert "drive: {}" in page
    assert "06:30" in page


def test_a_drive_that_no_swap_touches_stays_and_one_said_anew_is_kept(asked: Asked) -> None:
    first = asked.text("2026-06-09/day.yaml")
    shutil.rmtree(asked.folder / DAY)
    (asked.folder / "records" / "2026-06-09-10-millrace.yaml").unlink()
    kiln, day = "2026-06-09/30-kiln.yaml", "2026-06-09"
    assert _move(asked, kiln, "up", day).status_code == 303
    assert "drive: {10-millrace: 25 min}" in asked.text("2026-06-09/day.yaml")
    asked.edit("2026-06-09/day.yaml", place=f"day:{asked.id(day)}", v={"drive.home": "40"}, save="yes")
    assert "drive: {10-millrace: 25 min, home: 40 min}" in asked.text("2026-06-09/day.yaml")
    assert _move(asked, "2026-06-09/20-kiln.yaml", "down", day).status_code == 303
    assert asked.text("2026-06-09/day.yaml") == first.replace(
        "{10-millrace: 25 min, 20-granary: 15 min, 30-kiln: 20 min, home: 25 min}",
        "{10-millrace: 25 min, home: 25 min, 20-granary: 15 min, 30-kiln: 20 min}",
    )


def _refused(asked: Asked, name: str, way: str, why: str, day: str = DAY) -> None:
    before, folder = _bytes(asked.folder), asked.desk.files.folder
    with pytest.raises(Refused) as found:
        order.swapped(asked.desk, folder / day, folder / name, -1 if way == "up" else 1)
    assert why in str(found.value)
    assert _bytes(asked.folder) == before


def test_the_day_says_why_its_order_stays(asked: Asked) -> None:
    (asked.folder / DAY / "10-slipway.record.yaml").write_text("job: x\n", encoding="utf-8")
    before = _bytes(asked.folder)
    found = _move(asked, SLIPWAY, "down")
    assert found.status_code == 409
    assert "10-slipway.record.yaml lies beside, and goes by the name 10-slipway, so the order stays as it is." in words(
        found
    )
    assert "1 Slipway Cottage, drive" in words(found)
    assert _bytes(asked.folder) == before


def test_a_printed_plan_keeps_its_name_and_the_other_job_goes_past_it(asked: Asked, tmp_path: Path) -> None:
    assert main(["packet", str(asked.folder / MIDDLE), "-o", str(tmp_path / "packets")]) == 0
    assert _move(asked, SLIPWAY, "down").status_code == 303
    assert _names(asked)[:3] == ["20-millrace-mid.yaml", "25-slipway.yaml", "30-kiln-acid.yaml"]
    assert "If 20-millrace-mid is printed, print it again" in words(asked.get(f"/day/{asked.id(DAY)}"))
    assert _move(asked, MIDDLE, "down").status_code == 303
    assert _names(asked)[:3] == ["10-slipway.yaml", "20-millrace-mid.yaml", "30-kiln-acid.yaml"]
    assert main(["packet", str(asked.folder / SLIPWAY), "-o", str(tmp_path / "packets")]) == 0
    _refused(asked, SLIPWAY, "down", "Papers know both of these jobs by their numbers")


@pytest.mark.ci
def test_nobody_takes_the_name_of_a_job_that_was_printed(asked: Asked, tmp_path: Path) -> None:
    before = asked.text(f"{DAY}/day.yaml")
    assert _move(asked, MIDDLE, "up").status_code == 303
    assert main(["packet", str(asked.folder / DAY / "10-millrace-mid.yaml"), "-o", str(tmp_path / "packets")]) == 0
    (asked.folder / DAY / "10-millrace-mid.yaml").rename(asked.folder / MIDDLE)
    (asked.folder / DAY / "20-slipway.yaml").rename(asked.folder / SLIPWAY)
    (asked.folder / DAY / "day.yaml").write_text(before, encoding="utf-8")
    assert _move(asked, SLIPWAY, "down").status_code == 303
    assert _names(asked)[:2] == ["20-millrace-mid.yaml", "25-slipway.yaml"]


def test_an_archive_that_cannot_be_asked_may_know_it(asked: Asked, tmp_path: Path) -> None:
    (tmp_path / "archive.db").write_bytes(b"no archive of ours")
    _refused(asked, SLIPWAY, "down", "The archive cannot be asked what is printed")


@pytest.mark.parametrize(
    "name", ["10-slipway.record.yaml", "20-millrace-mid.record.draft", "10-slipway.draft", "20-slipway.draft", "10-slipway.pdf", ".10-slipway.yaml.swp", "20-Slipway.yaml.bak"]
)  # fmt: skip
def test_what_lies_beside_goes_by_the_name(asked: Asked, name: str) -> None:
    (asked.folder / DAY / name).write_text("job: x\n", encoding="utf-8")
    _refused(asked, SLIPWAY, "down", f"{name} lies beside")


def test_a_job_that_another_is_like_keeps_its_name(asked: Asked) -> None:
    (asked.folder / "records" / "2026-06-09-10-millrace.yaml").unlink()
    _refused(
        asked,
        "2026-06-09/20-granary.yaml",
        "up",
        "2026-06-10/20-millrace-mid is like 2026-06-09/10-millrace",
        "2026-06-09",
    )
    asked.edit(MIDDLE, v={"like": "2026-06-09/20-granary.yaml"})
    _refused(asked, "2026-06-09/10-millrace.yaml", "down", "is like 2026-06-09/20-granary", "2026-06-09")


def test_a_file_that_cannot_be_read_may_be_like_it(asked: Asked) -> None:
    (asked.folder / "2026-06-09" / "30-kiln.yaml").write_text("like: [10-slipway\n", encoding="utf-8")
    _refused(asked, SLIPWAY, "down", "2026-06-09/30-kiln.yaml cannot be read, and may be like 10-slipway")


def test_a_record_that_waits_is_of_the_name(asked: Asked) -> None:
    (asked.folder / "records" / "kept.yaml").write_text(f"job: {DAY}/10-slipway\n", encoding="utf-8")
    _refused(asked, SLIPWAY, "down", f"records/kept.yaml is a record of {DAY}/10-slipway")


def test_links_among_the_records_that_lead_back_or_elsewhere_are_not_walked(asked: Asked) -> None:
    for name in ("a", "b"):
        (asked.folder / "records" / name).symlink_to(".")
    _refused(asked, SLIPWAY, "down", f"records/a is a link to a folder, and may hold a record of {DAY}/10-slipway")


def test_two_of_one_number_have_no_order_to_swap(asked: Asked) -> None:
    (asked.folder / MIDDLE).rename(asked.folder / DAY / "10-also.yaml")
    _refused(asked, SLIPWAY, "up", "Two jobs of this day have one number")


def test_jobs_of_one_name_swap_too(asked: Asked) -> None:
    (asked.folder / MIDDLE).rename(asked.folder / DAY / "20-slipway.yaml")
    first, second = asked.text(SLIPWAY), asked.text(f"{DAY}/20-slipway.yaml")
    asked.edit(SLIPWAY, v={"job": "Unsaved"})
    assert _move(asked, f"{DAY}/20-slipway.yaml", "up").status_code == 303
    assert (asked.text(SLIPWAY), asked.text(f"{DAY}/20-slipway.yaml")) == (second, first)
    sheet = asked.desk.files.of(asked.desk.files.folder / f"{DAY}/20-slipway.yaml")
    assert sheet is not None
    assert b"Unsaved" in sheet.text
    assert len(_names(asked)) == 5


def test_a_page_that_showed_one_job_never_writes_over_another_that_took_its_name(asked: Asked) -> None:
    (asked.folder / MIDDLE).rename(asked.folder / DAY / "20-slipway.yaml")
    asked.get(f"/job/{asked.id(f'{DAY}/20-slipway.yaml')}")
    asked.edit(SLIPWAY, v={"job": "Slip"}, save="yes")  # the other's first change is its move
    page, shown = asked.get(f"/job/{asked.id(SLIPWAY)}").get_data(as_text=True), asked.text(SLIPWAY)
    version = re.findall(r'name="version" value="(\d+)"', page)[0]
    assert _move(asked, SLIPWAY, "down").status_code == 303
    swapped = asked.text(SLIPWAY)
    assert swapped != shown
    assert asked.edit(SLIPWAY, text=f"{shown}# mine\n", version=version, save="yes").status_code == 409
    assert asked.text(SLIPWAY) == swapped


@pytest.mark.parametrize("at", range(6))
def test_a_swap_that_is_cut_off_loses_no_job_of_the_day(asked: Asked, monkeypatch: pytest.MonkeyPatch, at: int) -> None:
    (asked.folder / MIDDLE).rename(asked.folder / DAY / "20-slipway.yaml")
    texts, calls = {asked.text(SLIPWAY), asked.text(f"{DAY}/20-slipway.yaml")}, iter(range(100))

    def killed(real: Callable[..., object]) -> object:
        def call(*args: object, **keys: object) -> object:
            if next(calls) == at:
                raise KeyboardInterrupt
            return real(*args, **keys)

        return call

    monkeypatch.setattr(order, "place_new", killed(writing.place_new))
    monkeypatch.setattr(Path, "unlink", killed(Path.unlink))
    folder = asked.desk.files.folder
    with pytest.raises(KeyboardInterrupt):
        order.swapped(asked.desk, folder / DAY, folder / SLIPWAY, 1)
    monkeypatch.undo()
    assert texts <= {path.read_text(encoding="utf-8") for path in in_working_order(folder / DAY)}


def test_a_link_and_a_text_in_dispute_stay(asked: Asked) -> None:
    asked.edit(SLIPWAY, v={"job": "Mine"})
    (asked.folder / SLIPWAY).write_text("job: Theirs\n", encoding="utf-8")
    _refused(asked, MIDDLE, "up", "There are two texts of 2026-06-10/10-slipway.yaml")
    asked.choose(SLIPWAY, "theirs")
    (asked.folder / ACID).rename(asked.folder / "kept.txt")
    (asked.folder / ACID).symlink_to(asked.folder / "kept.txt")
    _refused(asked, MIDDLE, "down", "30-kiln-acid.yaml is a link")


def test_drives_that_cannot_be_renamed_keep_the_order(asked: Asked) -> None:
    path = asked.folder / DAY / "day.yaml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("20-millrace-mid: 20 min", "20-slipway: 20 min"), encoding="utf-8"
    )
    _refused(asked, SLIPWAY, "down", "`drive` would have a key twice")
    path.write_text("rig: [Bittern\ndrive: {10-slipway: 20 min}\n", encoding="utf-8")
    _refused(asked, SLIPWAY, "down", "day.yaml: the file cannot be read")


@pytest.mark.parametrize("at", range(5))
def test_whatever_fails_all_is_put_back(asked: Asked, monkeypatch: pytest.MonkeyPatch, at: int) -> None:
    """The links and unlinks of both files and the writing of the page, each failing in its turn."""
    asked.edit(SLIPWAY, v={"job": "Unsaved"})
    before, calls = _bytes(asked.folder), iter(range(100))

    def failing(real: Callable[..., object]) -> object:
        def call(*args: object, **keys: object) -> object:
            if next(calls) == at:
                raise OSError(28, os.strerror(28))
            return real(*args, **keys)

        return call

    monkeypatch.setattr(order, "place_new", failing(writing.place_new))
    monkeypatch.setattr(Path, "unlink", failing(Path.unlink))
    monkeypatch.setattr(order, "write_whole", failing(writing.write_whole))
    folder = asked.desk.files.folder
    with pytest.raises(Refused, match=r"All is as it was\."):
        order.swapped(asked.desk, folder / DAY, folder / SLIPWAY, 1)
    monkeypatch.undo()
    assert _bytes(asked.folder) == before
    sheet = asked.desk.files.of(asked.desk.files.folder / SLIPWAY)
    assert sheet is not None
    assert b"Unsaved" in sheet.text


def test_a_name_taken_meanwhile_is_never_written_over(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    real, other = writing.place_new, asked.folder / DAY / "10-millrace-mid.yaml"

    def late(old: Path, new: Path) -> None:
        other.write_text("job: Somebody else's\n", encoding="utf-8")
        real(old, new)

    monkeypatch.setattr(order, "place_new", late)
    folder = asked.desk.files.folder
    with pytest.raises(Refused):
        order.swapped(asked.desk, folder / DAY, folder / SLIPWAY, 1)
    assert other.read_text(encoding="utf-8") == "job: Somebody else's\n"
    other.unlink()
    assert _names(asked) == [
        "10-slipway.yaml",
        "20-millrace-mid.yaml",
        "30-kiln-acid.yaml",
        "90-booster.yaml",
        "day.yaml",
    ]
