"""Company, what is taken out, what is kept of a form that was left, what is remembered and what is said of the past."""

from __future__ import annotations

import datetime
import shutil

import pytest

from planner.cli import main
from planner.desk import frame
from tests.desk.desks import Asked, words

DAY, NEXT = "2026-06-09", "2026-06-10"
PAGE, MILLRACE, PUMP = f"{DAY}/day.yaml", f"{DAY}/10-millrace.yaml", f"{NEXT}/90-booster.yaml"


@pytest.mark.ci
def test_each_phone_has_a_box_and_its_comment_stays(asked: Asked) -> None:
    page = asked.get("/company").get_data(as_text=True)
    for key in ("office", "spill", "poison"):
        assert f'name="v:phones.{key}"' in page
    before = asked.text("company.yaml")
    asked.edit("company.yaml", place="company:", v={"phones.poison": "555 0142"}, save="yes")
    assert asked.text("company.yaml") == before.replace("1-800-222-1222 ", "555 0142 ")
    asked.edit("company.yaml", place="company:", v={"phones.office": "", "phones.spill": ""}, save="yes")
    said = words(asked.get("/company"))
    assert "There is no office number." in said
    assert "There is no spill number." in said


@pytest.mark.ci
def test_the_demos_name_and_phones_are_said_until_they_are_changed(asked: Asked) -> None:
    for page in ("/company", f"/day/{asked.id(DAY)}", f"/pages/{asked.id(DAY)}"):
        said = words(asked.get(page))
        assert "Office 555-0110 is the demo's number" in said, page
        assert "Spill 555-0119 is the demo's number" in said, page
        assert "still called Tern and Sedge Washing" in said, page
    own = {"name": "Own Washing", "phones.office": "555 0150", "phones.spill": "555 0151"}
    asked.edit("company.yaml", place="company:", v=own, save="yes")
    assert "demo's" not in words(asked.get(f"/day/{asked.id(DAY)}"))


@pytest.mark.ci
def test_a_drive_has_a_box_of_its_own_takes_bare_minutes_and_is_undone(asked: Asked) -> None:
    place, before = f"day:{asked.id(DAY)}", asked.text(PAGE)
    page = asked.get(f"/day/{asked.id(DAY)}").get_data(as_text=True)
    for key in ("10-millrace", "20-granary", "30-kiln", "home"):
        assert f'name="v:drive.{key}"' in page
    asked.edit(PAGE, place=place, v={"drive.20-granary": "35"}, save="yes")
    assert asked.text(PAGE) == before.replace("20-granary: 15 min", "20-granary: 35 min")
    assert 'value="undo">' in asked.get(f"/day/{asked.id(DAY)}").get_data(as_text=True).replace(" title", ">")
    asked.edit(PAGE, place=place, do="undo", save="yes")
    assert asked.text(PAGE) == before


@pytest.mark.ci
def test_what_cannot_be_taken_stays_in_its_box_and_the_text_is_at_hand(asked: Asked) -> None:
    before, typed = asked.text("company.yaml"), {"place": "company:", "r:limits": "8 mph", "save": "yes"}
    found = asked.post(f"/file/{asked.id('company.yaml')}", typed).get_json()
    assert asked.text("company.yaml") == before
    notes = next(part["html"] for part in found["swap"] if part["id"] == "notes")
    assert "What you typed stays in its box: 8 mph." in words(notes)
    assert 'href="?view=text#text"' in notes
    assert "form" not in {part["id"] for part in found["swap"]}
    page = asked.get("/company").get_data(as_text=True)
    assert 'value="8 mph"' in page
    assert "This box holds more than one value" in words(page)
    asked.edit("company.yaml", place="company:", v={"limits.age_cool": "20 d"}, save="yes")
    assert 'value="8 mph"' not in asked.get("/company").get_data(as_text=True)


@pytest.mark.ci
def test_a_remedy_at_a_box_does_not_repeat_its_key(asked: Asked) -> None:
    found = asked.edit(PAGE, place=f"day:{asked.id(DAY)}", v={"forecast.sun": "[a]"}, text=None)
    assert found.status_code == 200
    broken = asked.text(PAGE).replace("leave_yard: 07:00", "leave_yard: [7]")
    said = asked.edit(PAGE, place=f"day:{asked.id(DAY)}", text=broken).get_json()["said"]["leave_yard"]
    assert "leave_yard:" not in said[2].lower()


@pytest.mark.ci
def test_the_head_names_what_is_not_saved_and_leads_there(asked: Asked) -> None:
    asked.edit("stock.yaml", place="shelf:", v={"lots[0].on_hand": "3 gal"})
    page = asked.get(f"/job/{asked.id(MILLRACE)}").get_data(as_text=True)
    assert 'Not saved: <a href="/shelf">stock.yaml</a>' in page


@pytest.mark.ci
def test_a_job_is_taken_out_named_first_and_put_back(asked: Asked) -> None:
    before, page = asked.text(PUMP), asked.text(f"{NEXT}/day.yaml")
    at = f"/out/{asked.id(PUMP)}"
    assert f"Take out {PUMP}" in words(asked.get(at))
    assert asked.text(PUMP) == before
    assert asked.post(at, script=False).status_code == 303
    assert not (asked.folder / PUMP).exists()
    assert asked.text(f"{PUMP}.out") == before
    said = asked.get(f"/day/{asked.id(NEXT)}").get_data(as_text=True)
    assert "Put 90-booster.yaml back" in words(said)
    assert asked.post(f"/back/{asked.id(NEXT)}", {"file": "90-booster.yaml"}, script=False).status_code == 303
    assert asked.text(PUMP) == before
    assert asked.text(f"{NEXT}/day.yaml") == page
    assert asked.post(f"/back/{asked.id(NEXT)}", {"file": "../x.yaml"}, script=False).status_code == 404


@pytest.mark.ci
def test_what_is_printed_named_or_recorded_is_not_taken_out(asked: Asked, tmp_path: object) -> None:
    at = f"/out/{asked.id(MILLRACE)}"
    assert "so it stays" in words(asked.get(at))
    assert asked.post(at, script=False).status_code == 409
    assert (asked.folder / MILLRACE).exists()
    assert main(["packet", str(asked.folder / PUMP), "-o", f"{tmp_path}/packets"]) == 0
    found = asked.post(f"/out/{asked.id(PUMP)}", script=False)
    assert found.status_code == 409
    assert "printed or on record already" in words(found)
    rig = asked.post(f"/out/{asked.id('rigs/bittern.yaml')}", script=False)
    assert rig.status_code == 409
    assert "names this rig" in words(rig)
    assert asked.post(f"/out/{asked.id(DAY)}", script=False).status_code == 409


def test_an_empty_day_says_it_the_desks_way_and_can_go(asked: Asked) -> None:
    empty = asked.folder / "2026-06-20"
    empty.mkdir()
    shutil.copy(asked.folder / PAGE, empty / "day.yaml")
    (empty / "day.yaml").write_text("rig: Bittern\ncrew: 2\nleave_yard: 07:00\n", encoding="utf-8")
    said = words(asked.get(f"/day/{asked.id('2026-06-20')}"))
    assert "Add the first job" in said
    assert "job files like" not in said
    assert asked.post(f"/out/{asked.id('2026-06-20')}", script=False).status_code == 303
    assert not empty.exists()
    assert (asked.folder / ".2026-06-20.out" / "day.yaml").exists()
    assert "2026-06-20" not in [day.name for day in asked.desk.files.days()]


@pytest.mark.ci
@pytest.mark.parametrize("at", ["/newrig", "/newday", "job"])
def test_answers_of_a_form_that_was_left_are_there_again(asked: Asked, at: str) -> None:
    at = f"/new/{asked.id(DAY)}" if at == "job" else at
    key = {"/newrig": "q:rig", "/newday": "a:crew"}.get(at, "a:job")
    asked.post(at, {key: "Heron or so", **({"date": "2026-06-25"} if at == "/newday" else {})})
    page = asked.get(at).get_data(as_text=True)
    assert 'value="Heron or so"' in page
    assert "Your answers from before are here." in words(page)
    assert asked.post(at, {"do": "afresh"}, script=False).status_code == 303
    assert "Heron or so" not in asked.get(at).get_data(as_text=True)


@pytest.mark.ci
def test_a_workspace_with_a_company_alone_has_the_bar_and_leads_to_the_rig(asked: Asked) -> None:
    for one in asked.folder.iterdir():
        if one.name != "company.yaml":
            shutil.rmtree(one) if one.is_dir() else one.unlink()
    page = asked.get("/none").get_data(as_text=True)
    for href in ("/rig", "/shelf", "/done", "/company", "/newrig"):
        assert f'href="{href}"' in page
    said = asked.post("/newday", {"date": "2026-06-25"}, script=False).get_data(as_text=True)
    assert "planner new" not in said
    assert 'href="/newrig"' in said
    for path in ("/company", "/shelf", "/newrig"):
        assert asked.get(path).status_code == 200, path


@pytest.mark.ci
def test_which_view_is_shown_is_remembered(asked: Asked) -> None:
    found = asked.get(f"/job/{asked.id(MILLRACE)}?view=form")
    assert "view=form" in found.headers["Set-Cookie"]
    page = asked.get(f"/job/{asked.id('2026-06-09/20-granary.yaml')}").get_data(as_text=True)
    assert 'value="form" checked' in page


@pytest.mark.ci
def test_a_past_day_promises_nothing(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "To settle tonight" in words(asked.get(f"/day/{asked.id(DAY)}"))
    monkeypatch.setattr(frame, "today", lambda: datetime.date(2026, 7, 1))
    said = words(asked.get(f"/day/{asked.id(DAY)}"))
    assert "To settle tonight" not in said
    assert "past, not on record" in said
    assert "Go, with care" not in said
    assert "pm. with the drive" not in said


@pytest.mark.ci
def test_the_load_is_the_covers(asked: Asked) -> None:
    said = words(asked.get(f"/day/{asked.id(DAY)}"))
    assert "thiosulfate, for leftovers" in said
    assert "Eyewash" in said
