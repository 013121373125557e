"""The desk's frame: a day, a job, an edit that is checked, saved and undone."""

from __future__ import annotations

import pytest

from tests.desk.desks import Asked, words

MILLRACE = "2026-06-09/10-millrace.yaml"


@pytest.mark.ci
def test_the_page_opens_with_a_day_and_its_jobs(asked: Asked) -> None:
    found = asked.client.get("/", base_url="http://127.0.0.1:8199", follow_redirects=True)
    said = words(found)
    assert found.status_code == 200
    assert "Wednesday, June 10" in said
    assert "Slipway Cottage, drive" in said


def test_an_edit_changes_the_verdict_and_keeps_every_comment(asked: Asked) -> None:
    before = asked.text(MILLRACE)
    found = asked.edit(MILLRACE, v={"building.height": "44 ft"})
    answer = found.get_json()
    assert not answer["saved"]
    assert answer["live"].startswith("Held.")
    assert asked.text(MILLRACE) == before
    saved = asked.edit(MILLRACE, save="yes").get_json()
    assert saved["saved"]
    assert asked.text(MILLRACE) == before.replace("{height: 27 ft}", "{height: 44 ft}")
    undone = asked.edit(MILLRACE, do="undo", save="yes").get_json()
    assert undone["saved"]
    assert asked.text(MILLRACE) == before


@pytest.mark.ci
@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("/rig", "Bittern"), ("/shelf", "H-0518"), ("/done/{day}", "Millrace Row"), ("/done/{job}", "Gauge"),
        ("/new/{day}", "called"), ("/newrig", "rig"), ("/day/{day}", "To settle tonight"), ("/job/{job}", "Go, with care"),
    ],
)  # fmt: skip
def test_every_place_opens(asked: Asked, path: str, says: str) -> None:
    found = asked.get(path.format(day=asked.id("2026-06-09"), job=asked.id(MILLRACE)))
    assert found.status_code == 200
    assert says in words(found)
