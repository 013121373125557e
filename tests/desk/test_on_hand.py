"""What is on hand: drawn down by days ahead alone, one strength everywhere, set by a record only if asked and once."""

from __future__ import annotations

import re
from html import unescape

import pytest

from tests.desk.desks import Asked, on_a_day, words
from tests.desk.test_done import GRANARY, MILLRACE, page, posted, sent
from tests.desk.test_shelf import STOCK

pytestmark = pytest.mark.ci


def offer(html: str) -> dict[str, str]:
    """The form that sets on hand, as a browser sends it."""
    found = re.search(r'name="to" value="([^"]+)".*?name="do" value="(onhand [^"]+)"', html, re.DOTALL)
    return {"to": unescape(found[1]), "do": unescape(found[2])} if found is not None else {}


def keep(desk: Asked, used: str, job: str = MILLRACE, **more: str) -> str:
    asked = {"a:mixes.1.stock_used": used, "a:signed": "Ana", "do": "keep", **more}
    return posted(desk, {**sent(page(desk, job, "?change=yes")), **asked}, job)


def test_past_days_draw_nothing_off_the_shelf(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    on_a_day(monkeypatch, 2026, 11, 30)
    said = words(asked.get("/shelf"))
    assert "No day ahead is booked, so nothing is taken off what is on hand" in said
    for word in ("The next booked day", "Left after", "Order by", "June 9:"):
        assert word not in said
    assert "Left after" not in str(asked.post(f"/booked/{asked.id(STOCK)}").get_json())


def test_a_learned_test_is_the_lots_strength_today(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    on_a_day(monkeypatch, 2026, 6, 9)
    (asked.folder / "learned.yaml").write_text(
        "lots:\n  H-0601: {strength: 10.9 trade %, on: 2026-06-09, records: 1}\n"
    )
    said = words(asked.get("/shelf"))
    row = said[said.index("H-0601") :]
    assert "Today 10.9 trade %" in row[:200]
    assert "tested today" in row[:200]


def test_what_a_record_used_is_offered_with_its_date_and_put_in_once(desk: Asked) -> None:
    before = desk.text(STOCK)
    html = keep(desk, "7 gal")
    said = words(html)
    assert "H-0518: 7.0 gal was used on 2026-06-09, Millrace Row, end terrace" in said
    assert "The plan goes on with 9.5 gal on hand" in said
    assert desk.text(STOCK) == before
    after = posted(desk, offer(html))
    assert "stock.yaml now has 2.5 gal on hand of H-0518" in words(after)
    assert desk.text(STOCK) == before.replace("on_hand: 9.5 gal", "on_hand: 2.5 gal")
    assert not offer(after)
    again = words(posted(desk, offer(html)))
    assert "Nothing was changed" in again
    assert "on_hand: 2.5 gal" in desk.text(STOCK)
    revised = keep(desk, "6 gal", **{"yes:revision": "revision-1"})
    assert not offer(revised)
    assert "An earlier revision may be off the shelf already. Count H-0518" in words(revised)


def test_a_count_made_since_is_not_gone_over(desk: Asked) -> None:
    html = keep(desk, "7 gal")
    desk.edit(STOCK, place="shelf:", v={"lots[0].on_hand": "3 gal"}, save="yes")
    assert not offer(page(desk))
    assert "Nothing was changed" in words(posted(desk, offer(html)))
    assert "on_hand: 3 gal" in desk.text(STOCK)


def test_nothing_is_set_while_the_day_still_takes_its_jobs_off(desk: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    on_a_day(monkeypatch, 2026, 6, 9)
    html = keep(desk, "7 gal")
    assert "The plan takes all jobs of that day off 9.5 gal: set it when all are on record" in words(html)
    assert not offer(html)
    assert "the job of it on record is still taken off" in words(desk.get("/shelf"))
    keep(desk, "9 gal", GRANARY)
    assert offer(page(desk))


def test_a_missing_date_of_a_test_stands_at_its_own_box(asked: Asked) -> None:
    found = asked.edit(STOCK, place="shelf:", v={"lots[1].tested.strength": "9 trade %"}).get_json()
    assert list(found["said"]) == ["lots[1].tested.on"]


def test_what_is_left_is_not_known_while_a_job_of_that_day_cannot_be_read(
    asked: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    on_a_day(monkeypatch, 2026, 6, 8)
    assert "not known without" not in words(asked.get("/shelf"))
    (asked.folder / MILLRACE).write_text("job: [\n", encoding="utf-8")
    assert "not known without 10-millrace" in words(asked.get("/shelf"))
