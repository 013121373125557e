"""The shelf's place: strength today, what is left, what is typed there, and what that does to booked jobs."""

from __future__ import annotations

import datetime

import pytest
from werkzeug.test import TestResponse

from planner.desk.gear.shelf_place import values
from planner.inputs.shelf import Desk as Shelf
from planner.plan.mix.lots import lot_today
from planner.words.measures import strength
from tests.desk.desks import Asked, on_a_day, words
from tests.desk.test_rig import TEXTS, effect

pytestmark = pytest.mark.ci


@pytest.fixture(autouse=True)
def _before_the_demo(monkeypatch: pytest.MonkeyPatch) -> None:
    """The demo's days are ahead."""
    on_a_day(monkeypatch, 2026, 6, 8)


STOCK = "stock.yaml"


def change(asked: Asked, **data: object) -> TestResponse:
    """Change the shelf from its own page."""
    return asked.edit(STOCK, place="shelf:", **data)


def figures(found: TestResponse, n: int) -> str:
    """What an answer says of a container."""
    return words(next(part["html"] for part in found.get_json()["swap"] if part["id"] == f"lot-{n}"))


def test_each_container_has_its_strength_today_what_is_left_and_when_to_order(asked: Asked) -> None:
    said = words(asked.get("/shelf"))
    drum = Shelf(asked.folder).stock.value
    assert drum is not None
    lot = drum.lots[1]
    today = lot_today(lot, datetime.date(2026, 6, 8))
    assert today.nominal is not None
    assert today.low is not None
    now = strength(today.nominal, lot.chemical, "trade", "down", caustic=lot.excess_caustic)
    low = strength(today.low, lot.chemical, "trade", "down", caustic=lot.excess_caustic).split()[0]
    row = said[said.index("H-0601") :]
    assert f"Today {now} {low} to" in row
    assert "Left after June 9 37 1/2 gal then 11.8 trade %, 9.3 to 13.9" in row
    assert "Order by Hypochlorite by June 9: lot H-0601 may be too weak from June 9 on" in row


def test_what_is_left_is_on_hand_less_what_the_next_day_pulls(asked: Asked) -> None:
    with asked.app.test_request_context():
        sheet = asked.desk.files.of(asked.desk.files.folder / STOCK)
        assert sheet is not None
        before = {row.name: row.left for row in values(asked.desk, sheet, "", seek=True)["rows"]}
    change(asked, v={"lots[1].on_hand": "58 gal"})
    after = asked.post(f"/booked/{asked.id(STOCK)}")
    assert before["H-0601"] == "37 1/2 gal"
    assert "Left after June 9 47 1/2 gal" in figures(after, 1)
    assert before["M-2"] == "3 gal"  # its job is held on that day and takes nothing


def test_a_test_typed_there_shows_at_once_and_is_saved_only_when_asked(asked: Asked) -> None:
    before = asked.text(STOCK)
    today = "2026-06-08"
    found = change(asked, v={"lots[1].tested.strength": "9 trade %", "lots[1].tested.on": today})
    assert "Today 9.0 trade %" in figures(found, 1)
    assert "tested today" in figures(found, 1)
    assert not found.get_json()["saved"]
    assert asked.text(STOCK) == before
    assert "Not saved yet" in effect(asked, STOCK)
    change(asked, save="yes")
    assert f'tested: {{strength: 9 trade %, "on": {today}}}' in asked.text(STOCK)
    assert set(before.splitlines()) <= set(asked.text(STOCK).splitlines())  # no line went, no comment either


def test_less_on_hand_holds_the_jobs_it_no_longer_does_for(asked: Asked) -> None:
    change(asked, v={"lots[0].on_hand": "1 gal", "lots[1].on_hand": "2 gal"})
    said = effect(asked, STOCK)
    assert "Granary, south roof Tuesday, June 9 Go, with care, then Held" in said
    assert "gal for June 9: the shelf lacks it" in figures(asked.post(f"/booked/{asked.id(STOCK)}"), 0)


def test_a_container_is_added_and_taken_out_and_the_others_keep_their_comments(asked: Asked) -> None:
    before = asked.text(STOCK)
    new = {"v:lots[+].name": "H-0620", "v:lots[+].chemical": "bleach", "v:lots[+].strength": "12.5 trade %"}
    change(asked, do="add lots", **new)
    assert "H-0620" in words(asked.get("/shelf"))
    assert asked.text(STOCK) == before
    change(asked, do="drop lots[6]")
    change(asked, do="drop lots[5]", save="yes")
    assert asked.text(STOCK) == "".join(line for line in before.splitlines(True) if "name: thio" not in line)


def test_a_fault_stands_at_its_field_and_its_figures_are_not_known(asked: Asked) -> None:
    found = change(asked, v={"lots[0].tested.strength": "10.4 %"})
    said = found.get_json()["said"]
    assert list(said) == ["lots[0].tested.strength"]
    assert "Today not known" in figures(found, 0)
    assert "then Not ready" in effect(asked, STOCK)


@pytest.mark.parametrize("name", ["surfaces.yaml"])
def test_the_other_shared_files_have_a_form_and_a_text(asked: Asked, name: str) -> None:
    assert f'href="/shelf/{asked.id(name)}"' in asked.get("/shelf").get_data(as_text=True)
    page = asked.get(f"/shelf/{asked.id(name)}")
    assert page.status_code == 200
    assert "7 booked jobs depend on it" in words(page)
    place = f"shelf:{asked.id(name)}"
    found = asked.edit(name, place=place, text=f"{asked.text(name)}nonsense: 1\n").get_json()
    assert "Nonsense is not a key of" in found["live"]
    assert "then Not ready" in effect(asked, name)
    back = asked.edit(name, place=place, do="revert")
    assert back.get_json()["saved"]


def test_a_company_key_changes_what_booked_jobs_come_to(asked: Asked) -> None:
    text = asked.text("company.yaml").replace("age_cool: 21 d", "age_cool: 2 d\n  age_hot: 2 d")
    asked.edit("company.yaml", place=f"shelf:{asked.id('company.yaml')}", text=text)
    assert "4 of 7 booked jobs change" in effect(asked, "company.yaml")


@pytest.mark.parametrize("text", [*TEXTS, "lots: 3\n", "lots: [{tested: 3}, 4]\n", "lots: [{name: [a]}]\n"])
def test_any_text_is_shown_and_no_traceback(asked: Asked, text: str) -> None:
    assert change(asked, text=text).status_code == 200
    assert asked.post(f"/booked/{asked.id(STOCK)}").status_code == 200
    page = asked.get("/shelf")
    assert page.status_code == 200
    assert 'id="text"' in page.get_data(as_text=True)


def test_without_a_shelf_one_is_begun_with_its_first_container(asked: Asked) -> None:
    (asked.folder / STOCK).unlink()
    assert "There is no stock.yaml yet." in words(asked.get("/shelf"))
    wrong = asked.post("/newshelf", {"name": "drum 1", "chemical": "bleach", "strength": "12.5 %"}, script=False)
    assert "12.5 %" in wrong.get_data(as_text=True)
    assert not (asked.folder / STOCK).exists()
    lot = {"name": "drum 1", "chemical": "bleach", "strength": "12.5 trade %", "on_hand": "15 gal"}
    assert asked.post("/newshelf", lot, script=False).status_code == 303
    assert "drum 1" in words(asked.get("/shelf"))
    assert "{name: drum 1, chemical: bleach, strength: 12.5 trade %, on_hand: 15 gal}" in asked.text(STOCK)
