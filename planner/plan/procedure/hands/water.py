"""Where clean water comes from and goes to: the feed a line is tried with, fills, and who has the tap meanwhile."""

from __future__ import annotations

from planner.plan.procedure.acts import At, Fill, Phase, WaterBed, Who
from planner.plan.procedure.book import Book, Draft, Line
from planner.plan.water.tap import has_tap, pour_flow


def test_feed(book: Book, line: Line) -> str | None:
    """Where a line's clean water comes from, a new pail's name where it is one; None: its suction gets to none.

    One that sprays tankfuls draws the rig's water where it gets there, a pail's where it stood in acid, and its own
    tank's where nothing else and nothing is in that.
    """
    run = line.plan.input
    feed = book.water_feed(line)
    draws = run.pump.draws if run.pump is not None else None
    if feed != "pail" or draws is None:
        return book.pail_of(line) if feed == "pail" else feed
    own, stands = run.feed_tank, {*book.asked.found.tanks, *book.asked.found.overnight}
    used = any(
        isinstance(draft.detail, Fill) and own is not None and draft.detail.into == own.name for draft in book.drafts
    )
    return own.name if own is not None and own.name not in stands and not used else None


def fill(book: Book, into: str, volume: float, at: At, *, run: str | None = None, who: Who = "lead",
         phase: Phase | None = None) -> Draft:  # fmt: skip
    """Water into a vessel, from the tap where there is one, else from the rig's; nobody else draws on a tap then."""
    source = (book.outside() if has_tap(book.job) else None) or book.source()
    wait_for(book, source)
    if who == "second" and book.second is not None:
        book.second.now = max(book.second.now, book.lead.now)
    # However little it is, the tap is opened and shut.
    seconds = max(volume / pour_flow(book.job), book.minutes["fill_hands"])
    return book.do(Fill(into=into, source=source, volume=volume), at, seconds, run=run, who=who, phase=phase)


def wait_for(book: Book, source: str) -> None:
    """The lead waits until what a tap or hydrant gives to beds and tanks has ended."""
    if source in ("tap", "hydrant"):
        tap_free(book, "lead")


def tap_free(book: Book, who: Who) -> None:
    """Nobody begins with the tap before what else runs from it is done."""
    if book.own_fill is not None:
        book.own_fill.stop(book, book.lead.now)
    runs = [draft.end for draft in book.drafts
            if isinstance(draft.detail, (Fill, WaterBed)) and draft.detail.source in ("tap", "hydrant")]  # fmt: skip
    until = max(runs, default=0.0)
    if who == "second" and book.second is not None:
        book.second.now = max(book.second.now, until)
    else:
        book.wait_until(until)
