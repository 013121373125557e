"""The rig's place: curves beside their points, nothing saved unasked, and what a change does to booked jobs."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing

import pytest
from werkzeug.test import TestResponse

from planner.cli import main
from planner.desk.gear import booked
from tests.desk.desks import Asked, words

pytestmark = pytest.mark.ci

RIG = "rigs/bittern.yaml"
CURVE = "    curve: [[0 gpm, 70 psi], [4 gpm, 66 psi], [8 gpm, 58 psi], [12 gpm, 46 psi], [16 gpm, 31 psi], [20 gpm, 12 psi]]"


def change(asked: Asked, **data: object) -> TestResponse:
    """Change the demo's rig from its own page."""
    return asked.edit(RIG, place=f"rig:{asked.id(RIG)}", **data)


def effect(asked: Asked, name: str = RIG) -> str:
    """What the second answer says of booked jobs."""
    found = asked.post(f"/booked/{asked.id(name)}").get_json()
    return words(next(part["html"] for part in found["swap"] if part["id"] == "booked"))


def test_the_rig_of_the_first_day_shows_its_gear_with_curves_and_a_dial(asked: Asked) -> None:
    page = asked.get("/rig").get_data(as_text=True)
    said = words(page)
    assert "The curve of booster through the 6 points in its file." in said
    assert "washer gives 5.5 gpm whatever the pressure." in said
    assert "The dial of panel, 10 % off on either side: 4 % at mark 1, 9 % at mark 2, 16 % at mark 3." in said
    assert page.count('<figure id="drawn-') == 5  # four pumps and the panel; an injector has no dial
    assert "7 booked jobs depend on it" in said


def test_a_change_is_told_for_every_booked_job_and_nothing_is_saved_until_it_is_asked_for(asked: Asked) -> None:
    before = asked.text(RIG)
    found = change(asked, v={"hoses[0].bore": "1/2 in"}).get_json()
    assert not found["saved"]
    said = effect(asked)
    assert "Not saved yet" in said
    first = said.index("Millrace Row, end terrace Tuesday, June 9 Go, with care, then Held")
    assert "The jet stops 3 ft short: it gets to 24 ft, 27 ft is needed." in said
    assert first < said.index("Millrace Row, middle terrace")  # what is held comes first
    assert "2 booked jobs stay as they are Slipway Cottage, drive" in said
    assert asked.text(RIG) == before
    saved = change(asked, save="yes").get_json()
    assert saved["saved"]
    line = "  - {name: red 1, bore: 3/4 in, length: 100 ft"
    assert asked.text(RIG) == before.replace(line, line.replace("3/4", "1/2"))
    assert "7 booked jobs depend on it" in effect(asked)


def test_a_change_that_alters_no_job_says_so_and_can_be_dropped(asked: Asked) -> None:
    before = asked.text(RIG)
    change(asked, v={"carried.ladder": "28 ft"})
    assert "No booked job changes." in effect(asked)
    assert "7 booked jobs stay as they are" in effect(asked)
    assert change(asked, do="revert").get_json()["saved"]
    assert asked.desk.files.unsaved() == {}
    assert asked.text(RIG) == before


def test_only_this_files_change_counts_where_a_job_is_unsaved_too(asked: Asked) -> None:
    asked.edit("2026-06-09/10-millrace.yaml", v={"building.height": "44 ft"})
    change(asked, v={"carried.ladder": "28 ft"})
    assert "No booked job changes." in effect(asked)


def test_a_fault_is_told_at_its_field_and_the_jobs_are_not_ready(asked: Asked) -> None:
    found = change(asked, v={"hoses[1].length": "fifty"}).get_json()
    assert list(found["said"]) == ["hoses[1].length"]
    assert found["live"].startswith("1 fault. Line 66: Fifty cannot be read")
    said = effect(asked)
    assert "7 of 7 booked jobs change" in said
    assert said.count("then Not ready") == 7


def test_a_fault_inside_a_curve_is_told_at_the_curve_and_only_that_pump_is_not_drawn(asked: Asked) -> None:
    rising = CURVE.strip().removeprefix("curve: ").replace("66 psi", "76 psi")
    found = change(asked, **{"r:pumps[0].curve": rising}).get_json()
    assert list(found["said"]) == ["pumps[0].curve"]
    drawn = {part["id"]: part["html"] for part in found["swap"] if part["id"].startswith("drawn-")}
    assert "<svg" not in drawn["drawn-pumps-0"]
    assert all("<svg" in html for id_, html in drawn.items() if id_ != "drawn-pumps-0")


def test_a_pump_by_its_plate_is_drawn_with_what_it_may_be_short(asked: Asked) -> None:
    path = asked.folder / RIG
    plate = "    shut_off: 70 psi\n    best: 10 gpm at 50 psi"
    path.write_text(asked.text(RIG).replace(CURVE, plate), encoding="utf-8")
    page = asked.get("/rig").get_data(as_text=True)
    booster = page[page.index('id="drawn-pumps-0"') : page.index('id="drawn-pumps-1"')]
    assert "The curve made of booster's plate, dashed 10 % under it" in booster.replace("&#39;", "'").replace(
        "&#x27;", "'"
    )
    assert "stroke-dasharray" in booster
    assert len(re.findall("<circle", booster)) == 2  # its outlet shut, and its best point


def test_a_job_on_record_is_no_longer_booked(asked: Asked) -> None:
    job = asked.folder / "2026-06-09/10-millrace.yaml"
    record = asked.folder / "records/2026-06-09-10-millrace.yaml"
    assert main(["packet", str(job), "-o", str(asked.folder.parent / "out")]) in (0, 1)
    assert main(["record", str(job), "--from", str(record)]) == 0
    said = words(asked.get("/rig"))
    assert "6 booked jobs depend on it" in said
    assert "No booked day is ahead" in said


def test_a_record_that_lies_in_the_archive_s_log_alone_is_seen(asked: Asked) -> None:
    job = asked.folder / "2026-06-09/10-millrace.yaml"
    assert main(["packet", str(job), "-o", str(asked.folder.parent / "out")]) in (0, 1)
    archive = asked.folder.parent / "archive.db"
    with closing(sqlite3.connect(archive)) as reader:  # as long as it reads, the file itself stays as it is
        assert reader.execute("SELECT count(*) FROM records").fetchone() == (0,)
        file, before = archive.stat(), asked.desk.rests_on()
        record = asked.folder / "records/2026-06-09-10-millrace.yaml"
        assert main(["record", str(job), "--from", str(record)]) == 0
        assert archive.stat().st_mtime_ns == file.st_mtime_ns
        assert asked.desk.rests_on() != before


def test_more_days_than_are_looked_at_are_counted(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(booked, "MOST_DAYS", 1)
    said = words(asked.get("/rig"))
    assert "1 of 2 booked days are looked at here." in said
    assert "4 booked jobs depend on it" in said  # the latest of the past


TEXTS = (
    "", "rig", "rig: [", "- 1\n- 2\n", "\x00\x01", "pumps: {a: b}\n", "rig: Bittern\npumps: [3, {name: x}]\n",
    "rig: {a: [b]}\ntanks: no\nhoses: [[]]\ndosing: [{kind: metered, dial: [[1, 4 %], [1, 2 %]]}]\n",
    "pumps: [{name: a, kind: piston, flow: 0 gpm}, {name: b, kind: centrifugal, curve: [[0 gpm, 0 psi], [1 gpm, 0 psi]]}]\n",
    "a: &a [*a]\n", "rig: x\nrig: y\n", "\ttabs: 1\n", "dosing: [{name: p, kind: metered, dial: [[0, 0 %], [1, 0 %]]}]\n",
)  # fmt: skip


@pytest.mark.parametrize("text", TEXTS)
def test_any_text_is_shown_with_its_faults_and_no_traceback(asked: Asked, text: str) -> None:
    found = change(asked, text=text)
    assert found.status_code == 200
    assert asked.post(f"/booked/{asked.id(RIG)}").status_code == 200
    page = asked.get(f"/rig/{asked.id(RIG)}")
    assert page.status_code == 200
    assert 'id="text"' in page.get_data(as_text=True)
    assert found.get_json()["live"]  # there is a fault in each of them


def test_a_rig_that_is_no_text_or_no_yaml_on_disk_still_has_its_page(asked: Asked) -> None:
    for content in (b"\xff\xfe\x00rig", b"rig: Bittern\npumps: [\n"):
        (asked.folder / RIG).write_bytes(content)
        page = asked.get("/rig")
        assert page.status_code == 200
        assert "fault" in words(page)


# ------------------------------------------------------------ new

PLATE = {
    "q:rig": "Finch", "q:water tank 1": "200", "q:pump 1": "multistage booster", "q:pump 1 shut_off": "60",
    "q:pump 1 best": "10 at 45", "q:pump 1 drive": "mains", "q:pump 1 draws": "13.8 A", "q:pump 1 volts": "115",
    "q:hose 1": "3/4 in x 200 ft", "q:tip 1": "solid", "q:tip 1 size": "1/4", "q:dosing 1": "panel",
    "q:dosing 1 dial": "1 at 4 %, 2 at 9 %",
}  # fmt: skip


def test_a_new_rig_asks_what_follows_from_what_was_answered(asked: Asked) -> None:
    page = asked.get("/newrig").get_data(as_text=True)
    assert 'name="q:pump 1"' in page
    assert 'name="q:pump 1 best"' not in page  # which plate is asked for follows from the kind
    found = asked.post("/newrig", {"q:pump 1": "pressure washer"}).get_json()["swap"][0]["html"]
    assert 'name="q:pump 1 pressure"' in found
    assert 'name="q:pump 1 best"' not in found


def test_a_new_rig_is_written_opened_and_sound(asked: Asked) -> None:
    found = asked.post("/newrig", {**PLATE, "do": "write"}, script=False)
    assert found.status_code == 302
    assert found.location == f"/rig/{asked.id('rigs/finch.yaml')}"
    text = asked.text("rigs/finch.yaml")
    assert "best: 10 gpm at 45 psi" in text
    assert "{name: house, pump: booster, feed: water, dosing: panel, hoses: [hose], tip: throw}" in text
    page = words(asked.get(found.location))
    assert "The curve made of booster's plate" in page
    assert "No booked job depends on it." in page
    assert not re.search(r"\bfaults?\b(?! of this)", page)
    again = asked.post("/newrig", {**PLATE, "do": "write"}, script=False)
    assert again.status_code == 200
    assert "is there already, and nothing is overwritten" in words(again)
    assert asked.text("rigs/finch.yaml") == text


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("q:pump 1 best", "10 at 90", "No pump makes more pressure at its best point than with its outlet shut"),
        ("q:hose 1", "three", "Three is not 2 figures"),
        ("q:tip 1 size", "", "An answer is needed here."),
        ("q:rig", "a/b", "Use letters, digits, spaces, dots and dashes"),
        ("q:dosing 1 dial", "1 at 4 %, 2 at 3 %", "A higher mark must draw more"),
        ("q:pump 1", "a horse", "Is not one of"),
        ("q:water tank 1", "\x00", "This cannot be taken as text"),
    ],
)
def test_a_new_rig_with_a_fault_says_it_at_its_field_and_writes_nothing(
    asked: Asked, key: str, text: str, said: str
) -> None:
    found = asked.post("/newrig", {**PLATE, key: text, "do": "write"}, script=False)
    assert found.status_code == 200
    page = found.get_data(as_text=True)
    at = page.index(f'id="said-q-{key.removeprefix("q:").replace(" ", "-")}"')
    assert said.casefold() in words(page[at : at + 700]).casefold()
    assert sorted(path.name for path in (asked.folder / "rigs").iterdir()) == ["bittern.yaml"]


def test_the_figure_above_the_rows_is_that_of_the_rows(asked: Asked) -> None:
    change(asked, v={"hoses[0].bore": "1/2 in"})
    said = effect(asked)
    assert "4 of 7 booked jobs change, and figures of 1 more." in said


def test_a_fault_that_is_saved_is_not_headed_saved_alone(asked: Asked) -> None:
    change(asked, v={"hoses[1].length": "fifty"}, save="yes")
    assert "Saved, but 1 fault, 7 of 7 booked jobs are Not ready" in effect(asked)
    change(asked, v={"hoses[1].length": "50 ft"}, save="yes")
    assert "Saved 7 booked jobs depend on it" in effect(asked)


def test_the_rig_of_the_day_is_found_by_its_name_however_its_file_spells_it(asked: Asked) -> None:
    (asked.folder / "rigs/old-blue.yaml").write_text(asked.text(RIG).replace("rig: Bittern", "rig: Old Blue"))
    for day in ("2026-06-09", "2026-06-10"):
        page = asked.folder / day / "day.yaml"
        page.write_text(page.read_text().replace("rig: Bittern", "rig: Old Blue"))
    assert "<h1>Old Blue</h1>" in asked.get("/rig").get_data(as_text=True)


def test_a_new_tip_is_asked_for_its_hole_or_size(asked: Asked) -> None:
    page = asked.get("/rig").get_data(as_text=True)
    for name in ("name", "pattern", "orifice", "size"):
        assert f'name="v:tips[+].{name}"' in page


def test_a_stop_that_the_rig_cures_leads_to_the_rigs_field(asked: Asked) -> None:
    text = asked.text(RIG).replace("  eyewash: 6 gal\n", "", 1)
    (asked.folder / RIG).write_text(text)
    page = asked.get(f"/job/{asked.id('2026-06-09/10-millrace.yaml')}").get_data(as_text=True)
    assert f'<a class="to" href="/rig/{asked.id(RIG)}#i-carried-eyewash">the rig</a>' in page
    assert 'id="i-carried-eyewash"' in asked.get("/rig").get_data(as_text=True)
