"""A new job and a new day in the browser: the walk of `planner new` in one form, written as the walk writes it."""

from __future__ import annotations

import html
import random
import re
from collections.abc import Mapping
from pathlib import Path

import pytest

from planner.desk.places.new import asked as ask
from planner.interview.answers import Here, here_of
from planner.interview.draft import put
from planner.interview.questions import answered
from tests.desk.desks import Asked, words

pytestmark = pytest.mark.ci

DAY = "2026-06-10"
JOB = {
    "job": "Alder Lane, front",
    "address": "14 Alder Lane",
    "height": "27",
    "surface 1": "vinyl",
    "surface 1 size": "160 ft around x 18 ft",
    "setup": "house",
    "water bucket": "50",
    "near": "beds 400 ft2, pond 25 ft",
}


def _shown(page: str) -> dict[str, str]:
    """The form's questions and what they hold, as a browser would send them."""
    found = {}
    for field in re.findall(r'<input[^>]*name="a:[^>]*>|<select[^>]*name="a:.*?</select>', page, re.DOTALL):
        name = re.search(r'name="a:([^"]*)"', field)
        value = (
            re.search(r' value="([^"]*)"[^>]* selected', field)
            if field.startswith("<select")
            else re.search(r' value="([^"]*)"', field)
        )
        assert name is not None
        found[html.unescape(name[1])] = html.unescape(value[1]) if value is not None else ""
    return found


def _sent(
    asked: Asked, path: str, answers: dict[str, str], do: str = "write", rounds: int = 4, **more: str
) -> tuple[int, str, str]:
    """The form filled in and sent, and again where questions came up; its last status, page and where it led."""
    page = asked.get(path).get_data(as_text=True) if not more else ""
    for _ in range(rounds):
        held = {**_shown(page), **answers}
        found = asked.post(path, {f"a:{key}": text for key, text in held.items()} | {"do": do, **more}, script=False)
        page = found.get_data(as_text=True)
        if found.status_code == 303 or " come up, marked" not in words(page):
            break
    return found.status_code, page, found.headers.get("Location", "")


def _new(asked: Asked, day: str = DAY) -> str:
    return f"/new/{asked.id(day)}"


def test_a_new_form_asks_everything_with_the_walks_defaults_and_finds_no_fault(asked: Asked) -> None:
    page = asked.get(_new(asked)).get_data(as_text=True)
    said = words(page)
    assert "What is the job called" in said
    assert "The address, as you would say it on the phone" in said
    assert 'placeholder="the tallest wall below"' in page
    assert 'placeholder="40-new-job"' in page
    assert "1 house booster, panel, red 1 + red 2, long throw" in said
    assert "is needed here" not in said


def test_a_job_is_written_as_the_walk_writes_it(asked: Asked, tmp_path: Path) -> None:
    status, _, to = _sent(asked, _new(asked), {**JOB, "near control": "berm", "drive": "15"})
    assert status == 303
    made = asked.folder / DAY / "40-alder-lane-front.yaml"
    assert to == f"/job/{asked.id(f'{DAY}/{made.name}')}"
    assert "Alder Lane, front" in words(asked.get(to))
    text = made.read_text(encoding="utf-8")
    assert "building: {height: 27 ft}" in text
    assert "tap: 5 gal in 50 s" in text
    assert "fish_pond: 25 ft" in text
    assert "40-alder-lane-front: 15 min}" in asked.text(f"{DAY}/day.yaml")
    made.unlink()
    here = here_of(str(asked.folder / DAY), None)
    assert isinstance(here, Here)
    found = ask(answered(here), _all(here, {**JOB, "near control": "berm"}))
    assert found.made is not None
    assert put(here, found.made) is None
    assert made.read_text(encoding="utf-8") == text


def _all(here: Here, answers: dict[str, str]) -> dict[str, str]:
    """The answers with every question that comes up left empty."""
    for _ in range(5):
        keys = [one.key for one in ask(answered(here), answers).fields]
        answers = {**dict.fromkeys(keys, ""), **answers}
    return answers


def test_all_faults_are_told_at_once_each_at_its_field(asked: Asked) -> None:
    wrong = {**JOB, "job": "", "height": "27 fathoms", "surface 1 size": "long", "setup": "hause", "power line": "near"}
    status, page, _ = _sent(asked, _new(asked), wrong)
    assert status == 200
    for key in ("job", "height", "surface-1-size", "setup", "power-line"):
        told = re.search(rf'id="t-q-{key}">(.*?)</p>', page, re.DOTALL)
        assert told is not None
        assert "fault:" in told[1], key
    told = re.search(r'id="t-q-job">(.*?)</p>', page, re.DOTALL)
    assert told is not None
    assert "An answer is needed here." in words(told[1])
    assert 'value="27 fathoms"' in page
    assert "5 answers are missing or cannot be taken" in words(page)
    assert not list((asked.folder / DAY).glob("40-*"))


def test_what_came_up_is_looked_at_before_it_is_written(asked: Asked) -> None:
    path = _new(asked)
    held = {**_shown(asked.get(path).get_data(as_text=True)), **JOB}
    found = asked.post(path, {f"a:{key}": text for key, text in held.items()} | {"do": "write"}, script=False)
    assert found.status_code == 200
    assert "How do you keep runoff out of it" in words(found)
    assert "1 more question has come up" in words(found)
    assert not list((asked.folder / DAY).glob("40-*"))


def test_an_earlier_job_at_the_address_is_offered(asked: Asked) -> None:
    assert "Start from it" not in words(asked.get(_new(asked)))
    status, page, _ = _sent(asked, _new(asked), {"job": "Again", "address": "3 millrace row"}, do="look")
    assert status == 200
    assert "2026-06-09/10-millrace was at this address: Millrace Row, end terrace. Start from it" in words(page)
    assert 'placeholder="27 ft, as last time"' in page
    status, _, _ = _sent(asked, _new(asked), {"job": "Again", "address": "3 millrace row"})
    assert status == 303
    assert "like: 2026-06-09/10-millrace" in asked.text(f"{DAY}/40-again.yaml")


def test_a_script_gets_the_form_alone_and_writes_nothing(asked: Asked) -> None:
    found = asked.post(_new(asked), {"a:job": "Alder", "a:address": "3 Millrace Row", "a:height": "x"}).get_json()
    assert [part["id"] for part in found["swap"]] == ["new"]
    said = words(found["swap"][0]["html"])
    assert "Start from it" in said
    assert "is needed here" not in said
    assert "missing or cannot be taken" not in said
    assert "`" not in said


def test_nothing_is_written_over(asked: Asked) -> None:
    taken = asked.text(f"{DAY}/10-slipway.yaml")
    status, page, _ = _sent(asked, _new(asked), {**JOB, "near": "", "file": "10-slipway"})
    assert status == 200
    assert "This file is there already, and nothing is overwritten." in words(page)
    assert asked.text(f"{DAY}/10-slipway.yaml") == taken


def _script(asked: Asked, answers: Mapping[str, str | bytes], **more: str) -> str:
    """The form as the script gets it, for which no day is planned."""
    found = asked.post(_new(asked), {**{f"a:{key}": text for key, text in answers.items()}, **more})
    assert found.status_code == 200
    form: str = found.get_json()["swap"][0]["html"]
    return form


def test_no_name_leads_elsewhere(asked: Asked) -> None:
    before = sorted(asked.folder.parent.rglob("*"))
    held = {**_shown(_script(asked, {**JOB, "near": ""})), **JOB, "near": ""}
    for name in ("../../up", "/etc/x", "10-a/b", "day", "10-a.record", "30", ".hidden", "10-a\\b"):
        form = _script(asked, {**held, "file": name}, do="write")
        assert 'id="t-q-file"><svg' in form, name
    assert sorted(asked.folder.parent.rglob("*")) == before


def test_what_does_not_go_together_is_told_and_written_only_on_a_word(asked: Asked) -> None:
    rig = asked.folder / "rigs" / "bittern.yaml"
    text = rig.read_text(encoding="utf-8")
    rig.write_text(
        text.replace("name: house, pump: booster, feed", "name: house, pump: roof pump, feed"), encoding="utf-8"
    )
    status, page, _ = _sent(asked, _new(asked), {**JOB, "near": ""})
    assert status == 200
    assert "Panel is plumbed to booster" in words(page)
    assert "building: {height: 27 ft}" in html.unescape(page)
    assert not list((asked.folder / DAY).glob("40-*"))
    assert _sent(asked, _new(asked), {**JOB, "near": ""}, do="anyway")[0] == 303
    assert (asked.folder / DAY / "40-alder-lane-front.yaml").is_file()


def test_a_yard_job(asked: Asked) -> None:
    status, _, _ = _sent(
        asked, _new(asked), {"job": "Washer test", "kind": "yard", "yard pump": "booster", "yard work": "test"}
    )
    assert status == 303
    assert "kind: yard" in asked.text(f"{DAY}/100-washer-test.yaml")


@pytest.mark.ci
def test_the_drive_after_a_new_job_is_asked_for_again(asked: Asked) -> None:
    day = "2026-06-09"
    before = asked.text(f"{day}/day.yaml")
    status, _, to = _sent(asked, f"/new/{asked.id(day)}", {**JOB, "near": "", "drive": "15 min"})
    assert status == 303
    assert "home: 25 min" in before
    after = asked.text(f"{day}/day.yaml")
    assert after == before.replace("home: 25 min", "40-alder-lane-front: 15 min")
    said = words(asked.get(to))
    assert "Give the drive home again: until then it counts as the day's longest." in said
    assert "Ends 8:25 pm" in said


@pytest.mark.ci
def test_a_job_that_had_no_drive_is_not_asked_for_one(asked: Asked) -> None:
    _, _, to = _sent(asked, _new(asked), {**JOB, "near": "", "drive": "15 min"})
    assert "drives again" not in words(asked.get(to))


def test_a_drive_that_cannot_be_written_is_said(asked: Asked) -> None:
    path = asked.folder / DAY / "day.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("drive: {10-slip", "drive: &a {10-slip"), encoding="utf-8")
    before = path.read_bytes()
    status, _, to = _sent(asked, _new(asked), {**JOB, "near": "", "drive": "15 min"})
    assert status == 303
    assert (
        "The drive could not be written. Write it into the day's page: drive: {40-alder-lane-front: 15 min}."
        in words(asked.get(to))
    )
    assert path.read_bytes() == before


def test_without_a_rig_nothing_is_asked(asked: Asked) -> None:
    (asked.folder / "rigs" / "bittern.yaml").unlink()
    found = asked.get(_new(asked))
    assert found.status_code == 200
    assert "There is no rig here that can be read, with setups or hoses." in words(found)
    assert asked.post(_new(asked), {"a:job": "x", "do": "write"}, script=False).status_code == 409


@pytest.mark.parametrize("rounds", [6, pytest.param(150, marks=pytest.mark.ci)])
def test_no_answers_break_it(asked: Asked, rounds: int) -> None:
    chance = random.Random(20)
    odd = [
        "",
        "1",
        "no",
        "yes",
        "\x00",
        "\ud800",
        "'",
        '"',
        "{a: b}",
        "- x",
        "1e999 ft",
        "nan",
        "-4",
        "99999999999",
        "own",
        "new",
        "x" * 3000,
        "vinyl",
        "roof",
        "pond",
        "tank",
        "10 x 10 ft",
        "🙂",
        "a, b, c",
        "back",
        "stop",
        "?",
        "6/12",
    ]
    before = sorted(asked.folder.rglob("*"))
    form = _script(asked, {"job": "x"})
    for _ in range(rounds):
        held = {key: chance.choice(odd).encode("utf-8", "surrogatepass") for key in _shown(form)}
        form = _script(asked, held, do="look")
    assert sorted(asked.folder.rglob("*")) == before


# ------------------------------------------------------------ a day


def test_a_new_day_has_its_page_and_nothing_else(asked: Asked) -> None:
    assert "Date" in words(asked.get("/newday"))
    assert 'href="/newday"' in asked.get(f"/day/{asked.id(DAY)}").get_data(as_text=True)
    answers = {
        "crew": "Ana, Joe",
        "leave yard": "07:30",
        "forecast low": "55",
        "forecast wind": "6",
        "heel roof mix": "2",
    }
    answers |= {"heel roof mix strength": "3 %"}
    status, page, to = _sent(asked, "/newday", answers, date="2026-06-12")
    assert status == 303, words(page)
    assert to == f"/day/{asked.id('2026-06-12')}"
    assert sorted(path.name for path in (asked.folder / "2026-06-12").iterdir()) == ["day.yaml"]
    text = asked.text("2026-06-12/day.yaml")
    for line in ("rig: Bittern", "crew: [Ana, Joe]", 'leave_yard: "07:30"', "forecast: {low: 55 F, wind: 6 mph}"):
        assert line in text
    assert "roof mix: {stock: bleach, strength: 3 %, volume: 2 gal}" in text
    found = asked.get(to)
    assert found.status_code == 200
    assert "no job yet" in words(found)


def test_a_day_that_is_there_is_left_as_it_is(asked: Asked) -> None:
    before = asked.text(f"{DAY}/day.yaml")
    status, page, _ = _sent(asked, "/newday", {"crew": "2"}, date=DAY)
    assert status == 409
    assert "This day is there already." in words(page)
    assert asked.text(f"{DAY}/day.yaml") == before


@pytest.mark.parametrize(
    "date", ["tomorrow", "2026-13-40", "../2026-06-12", "2026-06-12/..", "", "2026-6-1", "2026-06-12 x"]
)
def test_a_day_is_named_by_its_date(asked: Asked, date: str) -> None:
    before = sorted(asked.folder.parent.rglob("*"))
    found = asked.post("/newday", {"date": date, "do": "write", "a:crew": "2"}, script=False)
    assert found.status_code == (409 if date else 200)
    assert sorted(asked.folder.parent.rglob("*")) == before


def test_a_link_is_no_day(asked: Asked, tmp_path: Path) -> None:
    (tmp_path / "away").mkdir()
    (asked.folder / "2026-06-12").symlink_to(tmp_path / "away")
    assert _sent(asked, "/newday", {"crew": "2"}, date="2026-06-12")[0] == 409
    assert not list((tmp_path / "away").iterdir())


def test_a_workspace_without_a_day_begins_one_for_tomorrow(asked: Asked) -> None:
    for folder in ("2026-06-09", "2026-06-10"):
        for file in (asked.folder / folder).iterdir():
            file.unlink()
        (asked.folder / folder).rmdir()
    found = asked.get("/")
    assert found.headers["Location"] == "/none"
    page = asked.get("/none").get_data(as_text=True)
    date = re.search(r'name="date" value="([0-9-]{10})"', page)
    assert date is not None
    first = asked.post("/newday", {"date": date[1]}, script=False)
    assert first.status_code == 200
    assert "Who works" in words(first)
    assert _sent(asked, "/newday", {"crew": "2"}, date=date[1])[0] == 303
    assert (asked.folder / date[1] / "day.yaml").is_file()


def test_several_rigs_are_asked_for(asked: Asked) -> None:
    text = asked.text("rigs/bittern.yaml").replace("rig: Bittern", "rig: Heron", 1)
    (asked.folder / "rigs" / "heron.yaml").write_text(text, encoding="utf-8")
    page = asked.post("/newday", {"date": "2026-06-12"}, script=False).get_data(as_text=True)
    assert "Which rig goes that day" in words(page)
    assert "Bittern, as last" in words(page)
    assert _sent(asked, "/newday", {"rig": "Heron"}, date="2026-06-12")[0] == 303
    assert "rig: Heron" in asked.text("2026-06-12/day.yaml")
