"""Stock handled: the stop point before it is opened, tankfuls and jugs poured, the stop point before mix is out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from planner.inputs.tables.chemicals import BURNS
from planner.inputs.tables.defaults import default
from planner.plan.line.drift import wind_stop_of
from planner.plan.mix.model import LotShare, MixPlan
from planner.plan.procedure.acts import (
    At,
    Drain,
    Expect,
    Fill,
    Mark,
    Pour,
    Spray,
    Stir,
    StopPoint,
    Who,
)
from planner.plan.procedure.book import Book, Draft, Line
from planner.plan.procedure.hands.water import fill
from planner.plan.procedure.stages.opening import water_beds

_TRACE: Final = 1e-12

# ---------------------------------------------------------------------------------------------------- stock


def stock_stop(book: Book, line: Line, mix: MixPlan) -> int:
    """All that comes before a mix's stock is opened, and its stop point; its number.

    What was put on or looked at for an earlier mix is not done again, but asked for again; lots are read each time.
    """
    book.phase = "mix"
    for what in ("gloves_goggles", *(("acid_gloves", "face_shield") if mix.chemical in BURNS else ())):
        if not _done(book, what):
            book.mark(Mark(verb="wear", what=what), "drums", who="both", run=line.name)
    worn = [
        draft.detail.what for draft in book.drafts if isinstance(draft.detail, Mark) and draft.detail.verb == "wear"
    ]
    if not _done(book, "eyewash"):
        book.mark(Mark(verb="look", what="eyewash"), "drums", run=line.name)
    book.mark(Mark(verb="look", what="lot_read"), "drums", run=line.name)
    here = "company" if book.people > 1 else "office_knows"
    if not _done(book, here):
        book.mark(Mark(verb="look" if here == "company" else "ask", what=here), "drums", run=line.name)
    return book.stop("stock", line.name, (*worn, "eyewash", "lot_read", here), "drums", who="both")


def _done(book: Book, what: str) -> bool:
    return any(isinstance(draft.detail, Mark) and draft.detail.what == what for draft in book.drafts)


def stock_stop_of(book: Book, line: Line) -> int | None:
    """The number of the line's last stop point before stock; None before the first."""
    return next(
        (
            draft.detail.number
            for draft in reversed(book.drafts)
            if isinstance(draft.detail, StopPoint)
            and draft.detail.before == "stock"
            and draft.detail.about == line.name
        ),
        None,
    )


def batch(book: Book, line: Line, mix: MixPlan, number: int) -> None:
    """Tankful `number` of a mix, from 1: water first, each lot in its order, soap last, stirred. The lead pours."""
    assert 1 <= number <= len(mix.batches)
    tankful = mix.batches[number - 1]
    stop = stock_stop_of(book, line)
    order = 0
    for part in tankful.additions:
        if part.what == "water":
            order = 1  # what is used as it is sold has no water: its lot is the first to go in
            _water(book, line, tankful.tank, part.volume)
            continue
        if not (part.mass or part.volume):
            # What stands in the tank is strong enough as it is.
            continue
        if part.what != "soap":
            order += 1
            if part.mass is not None:
                _pour(book, line, part.what, tankful.tank, None, part.mass, order, stop=stop)
            else:
                _pour(book, line, part.what, tankful.tank, part.volume, None, order, stop=stop)
            continue
        for lot, volume in _soap(book, mix, part.volume, stop):
            order += 1
            _pour(book, line, lot, tankful.tank, volume, None, order, stop=stop)
    if isinstance(book.drafts[-1].detail, (Fill, Pour)):
        seconds = book.minutes["stir"]
        book.do(Stir(tank=tankful.tank, seconds=seconds), "drums", seconds, run=line.name, phase="mix")


def _water(book: Book, line: Line, tank: str, volume: float) -> None:
    """A batch's water, less what a test left of its own in the tank; what that is too much goes first."""
    more = volume - left_of_test(book, tank)
    if more < -_TRACE:
        detail = Drain(source=tank, to="lawn", volume=-more)
        book.do(detail, "drums", book.minutes["pail_carried"], run=line.name, phase="mix")
    elif more > _TRACE:
        fill(book, tank, more, "drums", run=line.name, phase="mix")


def left_of_test(book: Book, tank: str) -> float:
    """Water [m3] that stands in a mix tank since a line was tested out of it; 0 once a batch was mixed in it."""
    if any(isinstance(draft.detail, Stir) and draft.detail.tank == tank for draft in book.drafts):
        return 0.0
    filled = sum(
        draft.detail.volume for draft in book.drafts if isinstance(draft.detail, Fill) and draft.detail.into == tank
    )
    fed = {line.name for line in book.lines.values() if line.feed == tank}
    drawn = sum(
        draft.detail.volume
        for draft in book.drafts
        if isinstance(draft.detail, Spray) and draft.detail.run in fed and draft.phase == "test"
    )
    return filled - drawn if filled > 0.0 else 0.0


def jug(book: Book, line: Line, mix: MixPlan, share: LotShare | None, drawn: float) -> None:
    """`jug RUN` made ready for `drawn` [m3] out of it: a panel's neat, an injector's as the plan thins it, or not.

    `share` None: an injector's of soap alone. The second pours and the lead stands beside; alone he pours himself.
    """
    place, stop = f"jug {line.name}", stock_stop_of(book, line)
    if not line.injector and share is not None:
        _pour(book, line, share.lot.name, place, neat(share, drawn), None, 1, stop=stop, who="second")
        return
    whole = drawn * default("jug_over")
    soap = whole * (mix.jug_soap or 0.0)
    stock = whole * (share.jug_stock or 0.0) if share is not None else 0.0
    order, water = 0, whole - stock - soap
    if water > _TRACE:
        order = 1
        fill(book, place, water, "drums", run=line.name, who="second", phase="mix")
        _beside(book)
    if share is not None and stock > _TRACE:
        order += 1
        _pour(book, line, share.lot.name, place, stock, None, order, stop=stop, who="second")
    for lot, volume in _soap(book, mix, soap, stop):
        order += 1
        _pour(book, line, lot, place, volume, None, order, stop=stop, who="second")
    seconds = book.minutes["stir"]
    book.call(Stir(tank=place, seconds=seconds), "drums", seconds, run=line.name, phase="mix")


def neat(share: LotShare, drawn: float) -> float:
    """What goes into a panel's jug of which `drawn` [m3] is drawn; of a drum that is nearly empty no more than that."""
    return drawn * default("jug_neat") if share.stock >= default("jug_spared") * drawn else drawn


def _soap(book: Book, mix: MixPlan, volume: float, stop: int | None) -> Iterator[tuple[str, float]]:
    """So much soap [m3] by lot, each for as long as it lasts behind this stop point; the last gives what is short."""
    for share in mix.soaps[:-1]:
        gone = sum(
            draft.detail.volume or 0.0
            for draft in book.drafts
            if isinstance(draft.detail, Pour) and draft.detail.lot == share.lot.name and draft.stop == stop
        )
        taken = min(max(share.stock - gone, 0.0), volume)
        if taken > _TRACE:
            volume -= taken
            yield share.lot.name, taken
    if volume > _TRACE:
        yield (mix.soaps[-1].lot.name if mix.soaps else "soap"), volume


def _pour(
    book: Book, line: Line, lot: str, into: str, volume: float | None, mass: float | None, order: int, *,
    stop: int | None, who: Who = "lead",
) -> Draft:  # fmt: skip
    """A lot into a vessel, longer where it comes out of a drum; by the second the lead stands beside."""
    detail = Pour(lot=lot, into=into, volume=volume, mass=mass, order=order)
    seconds = book.minutes["pour_drum" if (volume or 0.0) > default("pour_drum") else "pour"]
    if who == "lead":
        return book.do(detail, "drums", seconds, run=line.name, stop=stop, phase="mix")
    return book.call(detail, "drums", seconds, run=line.name, stop=stop, phase="mix")


def _beside(book: Book) -> None:
    """The lead waits until the second is done."""
    if book.second is not None:
        book.wait_until(book.second.now)


# ---------------------------------------------------------------------------------------------------- mix on the wall


def before_mix(book: Book, line: Line) -> int:
    """People, wind and beds looked to, and the stop point before a line's mix is out; its number.

    With two the lead stands at the wall and the second at the rig; alone he goes round and ends at the rig, where the
    mix is turned on.
    """
    book.phase = "wash"
    alone = book.second is None
    place: At = "grounds" if alone else "wall"
    beds = water_beds(book)
    book.mark(Mark(verb="look", what="people_clear"), place, run=line.name)
    job = book.job
    limit = job.limits[wind_stop_of(job, book.asked.runs, book.asked.mixes)]
    wind = Expect(what="wind", unit="m_per_s", value=limit / 2.0, low=0.0, high=limit)
    book.read(wind, place, book.minutes["wind"], run=line.name)
    if beds is not None:
        book.wait_until(beds.end)
    asks = ["vents_shut", "people_clear", *(("beds_wet",) if beds is not None else ()), "wind", *book.covered]
    if book.own_fill is not None:
        book.own_fill.open(book, walks=True)
    line.mix_stop = book.stop("mix", line.name, asks, "rig" if alone else "wall", after=(beds,))
    if book.second is not None:
        # Nothing is set for the mix before it is passed.
        book.second.now = max(book.second.now, book.lead.now)
    return line.mix_stop
