"""The pages of a day in the browser: what the crew would get, as pictures and text; printed as the command prints."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

import pytest

from planner.cli import main
from planner.desk.places import pages
from planner.desk.places.pages import Refused, into_folder
from tests.desk.desks import Asked, demo, words

pytestmark = pytest.mark.ci

DAY = "2026-06-09"
MILLRACE = f"{DAY}/10-millrace.yaml"


def _page(asked: Asked, query: str = "") -> str:
    found = asked.get(f"/pages/{asked.id(DAY)}{query}")
    assert found.status_code == 200, found.status_code
    return found.get_data(as_text=True)


def _key(html: str, stem: str) -> str:
    """The key of one file's pages."""
    section = html[html.index(f'id="h-{stem}"') :]
    match = re.search(r"/sheet/([0-9a-f]+)\.pdf", section)
    assert match is not None
    return match[1]


def test_the_list_names_each_page_and_a_held_job_says_why_it_has_one(asked: Asked) -> None:
    html = _page(asked)
    said = words(html)
    assert "1 Job sheet, walk-around 2 Safety, near the work" in said
    assert "Held. Its packet is one page that says why." in said
    assert "Page 1, front" in said
    assert "Page 2, back" in said
    assert "Make 4 PDFs" in said
    assert "Letter, US units. As saved." in said
    assert not (asked.folder.parent / "packets").exists()


def test_what_is_looked_at_is_what_the_command_prints(asked: Asked, tmp_path: Path) -> None:
    html = _page(asked, "?owner=yes&notice=yes&paper=a4&units=si")
    assert "A4, SI units" in html
    call = ["packet", str(asked.folder / DAY), "-o", str(tmp_path / "own"), "--owner", "--notice", "--html"]
    assert main([*call, "--paper", "a4", "--units", "si"]) == 1
    printed = sorted((tmp_path / "own" / DAY).glob("*.pdf"))
    assert len(printed) == 10
    for file in printed:
        key = _key(html, file.stem)
        assert asked.get(f"/sheet/{key}.pdf").data == file.read_bytes(), file.name
        twin = file.with_suffix(".html")
        if twin.exists():
            assert asked.get(f"/sheet/{key}.html").data == twin.read_bytes()


def test_the_text_has_its_own_policy_and_nothing_in_it_runs(asked: Asked) -> None:
    key = _key(_page(asked), "10-millrace")
    policy = asked.get(f"/sheet/{key}.html").headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; style-src 'unsafe-inline';")
    assert "script" not in policy
    assert "script-src 'self'" in asked.get("/").headers["Content-Security-Policy"]


def test_a_page_is_a_picture(asked: Asked) -> None:
    key = _key(_page(asked), "10-millrace")
    found = asked.get(f"/sheet/{key}/2.png")
    assert found.mimetype == "image/png"
    assert found.data.startswith(b"\x89PNG")
    assert found.data != asked.get(f"/sheet/{key}/1.png").data
    for wrong in (f"{key}/0.png", f"{key}/99.png", f"{'0' * 32}/1.png", f"{'0' * 32}.pdf"):
        assert asked.get(f"/sheet/{wrong}").status_code == 404


def test_without_pictures_the_browsers_own_viewer_shows_the_file(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "_pdfium", lambda: None)
    html = _page(asked)
    key = _key(html, "10-millrace")
    assert "<img" not in html
    assert f'<iframe src="/sheet/{key}.pdf"' in html
    assert asked.get(f"/sheet/{key}/1.png").status_code == 404


def test_pages_follow_what_is_typed_and_nothing_is_printed_of_it(asked: Asked) -> None:
    before = _key(_page(asked), "10-millrace")
    assert _key(_page(asked), "10-millrace") == before
    asked.edit(MILLRACE, v={"building.height": "26 ft"})
    html = _page(asked)
    assert _key(html, "10-millrace") != before
    assert "10-millrace.yaml has changes that are not saved, so nothing is printed yet" in words(html)
    found = asked.post(f"/pages/{asked.id(DAY)}", {"folder": "packets"}, script=False)
    assert found.status_code == 409
    assert "Nothing is printed while 2026-06-09/10-millrace.yaml has changes that are not saved" in words(found)
    assert not (asked.folder.parent / "packets").exists()


@pytest.mark.ci
def test_few_are_kept(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "MOST_MADE", 1)
    first = _key(_page(asked), "10-millrace")
    second = _key(_page(asked, "?paper=a4"), "10-millrace")
    assert asked.get(f"/sheet/{second}.pdf").status_code == 200
    assert asked.get(f"/sheet/{first}.pdf").status_code == 404


def test_a_job_with_a_fault_has_no_packet_and_the_others_have_theirs(asked: Asked) -> None:
    asked.edit(MILLRACE, v={"building.height": "27 fathoms"}, save="yes")
    said = words(_page(asked))
    assert "There is no packet until it can be planned." in said
    assert "Granary, south roof" in said
    assert "Make 3 PDFs" in said


# ------------------------------------------------------------ print


def _archived(path: Path) -> list[tuple[str, str]]:
    rows = sqlite3.connect(path).execute("select job, file from packets join plans on plans.sha256 = packets.plan")
    return sorted(rows.fetchall())


def test_it_prints_what_the_command_prints_and_archives_it(asked: Asked, tmp_path: Path) -> None:
    found = asked.post(f"/pages/{asked.id(DAY)}", {"folder": "packets", "notice": "yes"}, script=False)
    assert found.status_code == 303
    said = words(asked.get(found.headers["Location"]))
    assert f"7 files in {asked.folder.parent / 'packets'}" in said
    assert "2026-06-09/10-millrace.pdf" in said
    assert "2026-06-09/30-kiln.pdf HELD" in said
    assert "7 files in" not in words(_page(asked))
    archived = _archived(tmp_path / "archive.db")
    assert main(["packet", str(asked.folder / DAY), "-o", str(tmp_path / "own"), "--notice"]) == 1
    assert _archived(tmp_path / "archive.db") == archived  # the same plans and packets again are the same rows
    assert [job for job, _ in archived] == [f"{DAY}/10-millrace", f"{DAY}/20-granary", f"{DAY}/30-kiln"]
    own, theirs = asked.folder.parent / "packets" / DAY, tmp_path / "own" / DAY
    assert {file.name: file.read_bytes() for file in own.iterdir()} == {
        file.name: file.read_bytes() for file in theirs.iterdir()
    }


@pytest.mark.ci
def test_an_older_packet_is_put_aside_and_said(asked: Asked) -> None:
    asked.post(f"/pages/{asked.id(DAY)}", {"folder": "packets", "notice": "yes"}, script=False)
    asked.edit(MILLRACE, v={"building.height": "26 ft"}, save="yes")
    found = asked.post(f"/pages/{asked.id(DAY)}", {"folder": "packets"}, script=False)
    said = words(asked.get(found.headers["Location"]))
    assert "Do not work from the packet printed before: it is now" in said
    assert "10-millrace-notice-before.pdf" in said


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "  ",
        "../elsewhere",
        "/etc",
        "packets/../../..",
        "~/packets",
        "a\0b",
        "a\nb",
        ".hidden",
        "jobs/.schema",
        "x" * 5000,
    ],
)
def test_nothing_is_printed_elsewhere(tmp_path: Path, typed: str) -> None:
    asked = demo(tmp_path)
    with pytest.raises(Refused):
        into_folder(asked.folder, typed, DAY)


def test_a_folder_that_is_refused_is_said_and_stays_to_be_put_right(asked: Asked) -> None:
    found = asked.post(f"/pages/{asked.id(DAY)}", {"folder": "../elsewhere"}, script=False)
    assert found.status_code == 409
    assert f"Packets are printed in {asked.folder.parent} and the folders in it, nowhere else." in words(found)
    assert 'name="folder" value="../elsewhere"' in found.get_data(as_text=True)


def test_a_link_leads_nowhere_else(tmp_path: Path) -> None:
    away, beside = tmp_path / "away", tmp_path / "mine"
    asked = demo(beside)
    away.mkdir()
    (beside / "link").symlink_to(away)
    (beside / "packets").mkdir()
    (beside / "packets" / DAY).symlink_to(away)
    for typed in ("link", "packets"):
        with pytest.raises(Refused):
            into_folder(asked.folder, typed, DAY)
    assert into_folder(asked.folder, "jobs/paper", DAY) == asked.folder / "paper"
    assert into_folder(asked.folder, str(beside / "more"), DAY) == beside / "more"


def test_a_day_that_is_not_there(asked: Asked) -> None:
    assert asked.get("/pages/000000000000").status_code == 404
    assert asked.post("/pages/000000000000", {"folder": "packets"}).status_code == 404


@pytest.mark.ci
def test_no_packet_of_an_unsaved_text_is_handed_out(asked: Asked) -> None:
    said = asked.get(f"/pages/{asked.id('2026-06-09')}").get_data(as_text=True)
    pdf = re.findall(r'href="(/sheet/\w+\.pdf)"', said)[0]
    assert asked.get(pdf).status_code == 200
    asked.edit("2026-06-09/10-millrace.yaml", v={"building.height": "28 ft"})
    assert asked.get(pdf).status_code == 409
