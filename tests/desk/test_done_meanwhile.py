"""Done while others work too: another plan, another tab, a busy archive, a full disk. Nothing typed is lost or misread."""

from __future__ import annotations

import errno
import json
import re
import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from planner import writing
from planner.archive.kept.refused import ArchiveRefused
from planner.cli import main
from planner.faults import Fault, Where
from planner.recording import drafts
from tests.desk.desks import Asked, words
from tests.desk.test_done import MILLRACE, draft, filled, page, part, posted, rows, seen, sent, typing, upload

pytestmark = pytest.mark.ci
SLIPWAY = "2026-06-10/10-slipway.yaml"


def rewrite(desk: Asked, job: str, *changes: tuple[str, str]) -> None:
    file = desk.folder / job
    text = file.read_text(encoding="utf-8")
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    file.write_text(text, encoding="utf-8")


def test_a_record_is_never_kept_against_a_plan_the_page_did_not_show(desk: Asked) -> None:
    html = page(desk)
    rewrite(desk, MILLRACE, ("height: 18 ft", "height: 24 ft"), ("27 ft}", "31 ft}"))
    main(["packet", str(desk.folder / MILLRACE), "-o", str(desk.folder.parent / "again")])
    typed = {"a:signed": "Ana", "a:times.left": "10:50", "a:mixes.1.stock_used": "7"}
    after = posted(desk, {**sent(html), **typed, "do": "keep"}, status=409)
    assert rows(desk) == []
    before, now = seen(html).rpartition(":")[2], seen(after).rpartition(":")[2]
    assert before != now
    said = words(after)
    assert "Nothing is recorded yet. What you typed is kept; look it over." in said
    assert f"The page showed plan {before}, and by now the plan is {now}" in said
    assert "Flushed: planned 10:00 am before, " in said
    for value in ("Ana", "10:50", "7 gal"):
        assert f'value="{value}"' in after
    assert "Recorded, revision 1" in words(posted(desk, {**sent(after), "do": "keep"}))
    assert json.loads(rows(desk)[0]["json"])["plan"] == now


def test_an_entry_keeps_the_unit_that_was_beside_its_box(desk: Asked) -> None:
    html = page(desk, SLIPWAY)
    assert re.search(r"Stock used[^\[]*\[fl oz\]", words(html))
    rewrite(desk, SLIPWAY, ("area: 800", "area: 8000"))
    assert re.search(r"Stock used[^\[]*\[gal\]", words(page(desk, SLIPWAY)))
    found = desk.post(f"/done/{desk.id(SLIPWAY)}", {"place": seen(html), "a:mixes.1.stock_used": "40"})
    assert found.status_code == 409
    assert "each entry keeps the unit it was typed in" in found.get_json()["trouble"]
    assert 'stock_used: "40 fl oz"' in draft(desk, SLIPWAY).read_text(encoding="utf-8")
    after = posted(desk, {**sent(html), "a:mixes.1.stock_used": "40", "do": "keep"}, SLIPWAY, status=409)
    assert 'name="a:mixes.1.stock_used" value="40 fl oz"' in after
    assert rows(desk) == []


def test_an_entry_of_a_page_without_a_plan_is_not_guessed_at(desk: Asked) -> None:
    said = typing(desk, {"mixes.1.stock_used": "7"}, place="done")["trouble"]
    assert "this page does not say which plan it shows" in said
    assert not draft(desk).exists()


def test_a_page_opened_earlier_takes_away_nothing_that_came_in_since(desk: Asked) -> None:
    typing(desk, {"readings.1.bucket": "40"})
    stale = sent(page(desk))
    typing(desk, {"times.arrived": "7:35", "readings.1.bucket": "37", "deviations": "gable from the lane"})
    after = posted(desk, {**stale, "a:signed": "Ana", "do": "keep"}, status=409)
    assert rows(desk) == []
    said = words(after)
    assert "Arrived: 7:35 came in meanwhile." in said
    assert "House: bucket: 5 gal in 37 s came in meanwhile." in said
    for value in ("7:35", "5 gal in 37 s", "Ana"):
        assert f'value="{value}"' in after
    assert "gable from the lane" in draft(desk).read_text(encoding="utf-8")
    assert "Recorded, revision 1" in words(posted(desk, {**sent(after), "do": "keep"}))
    raw = json.loads(rows(desk)[0]["json"])["as_written"]
    assert (raw["times"], raw["signed"], raw["deviations"]) == ({"arrived": "7:35"}, "Ana", "gable from the lane")


def test_what_was_typed_here_stays_and_what_it_went_over_is_said(desk: Asked) -> None:
    typing(desk, {"times.left": "10:50", "after": "beds fine"})
    stale = sent(page(desk))
    typing(desk, {"times.arrived": "7:35", "times.left": "", "after": ""})
    said = words(posted(desk, {**stale, "a:times.arrived": "7:40", "a:after": "", "do": "keep"}, status=409))
    assert "Arrived: 7:35 came in meanwhile; 7:40 stays." in said
    assert "Left: it was left blank meanwhile; 10:50 stays." in said
    assert "Beds" not in said
    assert 'arrived: "7:40"' in draft(desk).read_text(encoding="utf-8")


def test_what_one_page_typed_itself_is_no_news_to_it(desk: Asked) -> None:
    opened = sent(page(desk))
    typing(desk, {"times.arrived": "7:35", "readings.1.bucket": "37"})
    own = {"a:times.arrived": "7:35", "a:readings.1.bucket": "37"}
    assert "Recorded, revision 1" in words(posted(desk, {**opened, **own, "do": "keep"}))


def full(desk: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    """No room is left on the workspace's disk."""
    before = writing.write_whole

    def write(target: Path, *rest: Any, **more: Any) -> None:
        if target.is_relative_to(desk.folder):
            raise OSError(errno.ENOSPC, "No space left on device")
        before(target, *rest, **more)

    monkeypatch.setattr(drafts, "write_whole", write)


def test_what_no_draft_can_take_is_said_shown_again_and_kept_once_there_is_room(
    desk: Asked, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:  # fmt: skip
    typing(desk, {"times.arrived": "7:35"})
    with monkeypatch.context() as patched:
        (tmp_path / "started").mkdir()
        patched.chdir(tmp_path / "started")
        full(desk, patched)
        answer = typing(desk, {"times.left": "10:50"})
        assert "The draft could not be written: No space left on device." in part(answer, "told")
        assert "Draft not kept" in part(answer, "kept")
        assert not answer["saved"]
        html = page(desk)
        assert "Draft not kept" in words(html)
        assert "The draft could not be written: No space left on device. What you typed is in no file yet" in words(
            html
        )
        for value in ("7:35", "10:50"):
            assert f'value="{value}"' in html
        assert list((tmp_path / "started").iterdir()) == []
    html = page(desk)
    assert "Draft kept" in words(html)
    assert 'left: "10:50"' in draft(desk).read_text(encoding="utf-8")


def test_a_packet_or_an_older_draft_that_no_draft_can_take_says_so(
    desk: Asked, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:  # fmt: skip
    typing(desk, {"times.arrived": "7:35"})
    other = tmp_path / "other.yaml"
    other.write_text("job: 2026-06-09/10-millrace\nafter: beds fine\n", encoding="utf-8")
    assert main(["record", str(desk.folder / MILLRACE), "--from", str(other)]) == 0
    full(desk, monkeypatch)
    assert "The draft could not be written: No space left" in words(posted(desk, {"do": "older"}))
    said = words(upload(desk, filled(desk, {"times.left": "10:50"})))
    assert "The draft could not be written: No space left on device. Nothing was taken in" in said
    assert "taken in. Nothing is recorded" not in said


def test_an_archive_that_gives_out_in_the_middle_is_said_and_never_ours(
    desk: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    gone = ArchiveRefused(Fault(code="archive.full", message="it went away", remedy="look", where=Where(file="")))

    def told(archive: object) -> None:
        raise gone

    html = page(desk)
    monkeypatch.setattr(desk.app.config["doing"], "told", told)
    found = desk.get(f"/done/{desk.id(MILLRACE)}")
    assert found.status_code == 200
    assert "It went away. Look." in words(found)
    assert desk.post(f"/learn/{desk.id(MILLRACE)}").get_json() == {"trouble": "It went away. Look."}
    assert "It went away. Look." in words(posted(desk, {**sent(html), "a:signed": "Ana"}))
    assert "signed" in draft(desk).read_text(encoding="utf-8")


def test_a_busy_archive_holds_the_desk_for_a_moment_and_says_so(desk: Asked) -> None:
    typing(desk, {"times.arrived": "7:35", "signed": "Ana"})
    form = {**sent(page(desk)), "do": "keep"}
    with closing(sqlite3.connect(desk.folder.parent / "archive.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        begun = time.monotonic()
        html = posted(desk, form)
        assert time.monotonic() - begun < 10, "another program is waited for 20 s"
        assert "Nothing is recorded yet: the archive is busy with another program." in words(html)
        assert 'value="7:35"' in html
        other.execute("ROLLBACK")
    assert "Recorded, revision 1" in words(posted(desk, {**sent(html), "do": "keep"}))
