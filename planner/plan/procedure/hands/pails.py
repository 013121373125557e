"""What is left in tanks, jugs and pails: thinned, made harmless, and where it goes then."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil
from typing import Final

from planner.frozen import dataclass
from planner.inputs.tables.chemicals import SOAP, foams
from planner.inputs.tables.defaults import default
from planner.plan.between.neutralisers import (
    HARMLESS,
    NEVER_LAWN,
    given_of,
    left_of,
    once_mixed,
    treated_with,
)
from planner.plan.mix.model import Neutraliser
from planner.plan.procedure.acts import At, Drain, DrawFrom, Fill, Neutralise, Spray, Who
from planner.plan.procedure.book import PAIL, Book, Draft
from planner.plan.procedure.hands.water import tap_free
from planner.plan.water.tap import usual_flow

_DROP: Final = 1e-9  # m3; less is what sums leave over


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """So much [m3] of a stock at a strength [kg/m3] in a tank, `jug RUN` or `pail N`."""

    place: str
    stock: str
    volume: float
    strength: float = 0.0


def empty(book: Book, left: Left, who: Who, purpose: str = "") -> None:
    """What is left goes where it may: as it is, or by pails, thinned and neutralised; else it is carried home.

    `purpose` is the neutraliser's that was planned for just this; left out, the mix it is the most like.
    """
    if left.volume <= _DROP:
        return
    pail = left.place.startswith("pail ")
    if left.stock in HARMLESS or not (left.strength > 0.0 or left.stock == SOAP):
        volume = stands_in(book, left.place) if pail else left.volume
        if volume > _DROP:
            _emptied(book, left.place, "lawn", volume, "wall" if pail else "drums", who)
        return
    treated, purpose = _treated(book, left, purpose)
    lots = _lots(book, treated) if treated is not None else []
    first = len(book.drafts)
    times = treated.thin_to / left.volume if treated is not None and lots and treated.thin_to is not None else 1.0
    room = _room(left.stock, treated.agent) if treated is not None and lots else PAIL
    if pail and times == 1.0 and left.volume <= room + _DROP:
        _harmless(book, left.place, left, left.volume, lots, 1.0, who)
    else:
        _by_pails(book, left, times, room, lots, who)
    dose = next((draft for draft in book.drafts[first:] if isinstance(draft.detail, Neutralise)), None)
    if dose is not None and treated is not None:
        dose.ends = given_of(treated, sum(mass for _, mass in lots), purpose)


def _room(stock: str, agent: str) -> float:
    """What goes into a pail before its agent does [m3]: where a carbonate meets an acid, its foam has room too."""
    return PAIL / (1.0 + default("bath_foam")) if foams(stock) or foams(agent) else PAIL


def _by_pails(
    book: Book, left: Left, times: float, room: float, lots: Iterable[tuple[str, float]], who: Who
) -> None:  # fmt: skip
    """Pail after pail, each thinned so many `times` before what is left goes in."""
    count = max(ceil(left.volume * times / room - _DROP), 1)
    each = left.volume / count
    for _ in range(count):
        name = book.pail()
        if times > 1.0:
            fill(book, name, each * (times - 1.0), who)
        moved = Drain(source=left.place, to=name, volume=each)
        book.do(moved, "drums", book.minutes["pail_carried"], who=who)
        _harmless(book, name, left, each * times, lots, 1.0 / count, who)


def _harmless(
    book: Book, pail: str, left: Left, volume: float, lots: Iterable[tuple[str, float]], share: float, who: Who
) -> None:  # fmt: skip
    """One pail dosed and emptied; without an agent it goes home."""
    to = "carried_home"
    for lot, mass in lots:
        to = "sanitary" if left.stock in NEVER_LAWN else "lawn"
        dose = Neutralise(what=pail, lot=lot, mass=mass * share)
        book.do(dose, "drums", book.minutes["neutralise"], who=who, phase="grounds")
    _emptied(book, pail, to, volume, "drums" if to == "carried_home" else "grounds", who)


def _emptied(book: Book, place: str, to: str, volume: float, at: At, who: Who) -> None:
    key = "bucket_emptied" if at == "wall" else "pail_carried"
    book.do(Drain(source=place, to=to, volume=volume), at, book.minutes[key], who=who, phase="grounds")


def _treated(book: Book, left: Left, purpose: str) -> tuple[Neutraliser | None, str]:
    """What it takes of the agent that was chosen, by its own strength, as strong as it may be; and what that is for."""
    same = [leftover for leftover in book.asked.neutralisers if leftover.of == left.stock]
    own = [leftover for leftover in same if leftover.purpose == purpose]
    most = 1.0
    if not own:
        mixes = [mix for mix in book.asked.mixes if mix.chemical == left.stock and mix.target > 0.0]
        like = min(mixes, key=lambda mix: abs((mix.wall or mix.target) - left.strength), default=None)
        if like is not None:
            most = max((like.wall_high or 0.0) / (like.wall or like.target), 1.0)
            own = [leftover for leftover in same if leftover.purpose.endswith(f" of {like.name}")]
        purpose = f"{_what_is_left(left.place)} of {like.name if like is not None else left.stock.replace('_', ' ')}"
    chosen = next(iter([*own, *same]), None)
    if chosen is None:
        return None, purpose
    return treated_with(book.job, left.stock, chosen.agent, left.volume, left.strength * most), purpose


def _what_is_left(place: str) -> str:
    """What is left, by where it is."""
    kind, _, name = place.partition(" ")
    return {"jug": "the rest of the jug", "pail": "what was caught"}.get(kind if name else "", f"the spare in {place}")


def _lots(book: Book, treated: Neutraliser) -> list[tuple[str, float]]:
    """The lots that give it, with how much of each [kg]: one that is enough by itself, else several; none: []."""
    gone = once_mixed(book.asked.found.taken, book.asked.mixes)
    for draft in book.drafts:
        if isinstance(draft.detail, Neutralise):
            gone[draft.detail.lot] = gone.get(draft.detail.lot, 0.0) + draft.detail.mass
    held = {lot.name: left_of(lot, gone) for lot in book.job.lots if lot.chemical == treated.agent}
    wanted, given = treated.mass, []
    for name, left in held.items():
        if left is None or left >= wanted:
            return [(name, wanted)]
    for name, left in held.items():
        share = min(left or 0.0, wanted)
        given += [(name, share)] if share > 0.0 else []
        wanted -= share
    return given if wanted <= 0.0 else []


def stands_in(book: Book, pail: str) -> float:
    """What the acts so far leave in a pail [m3]: a suction may have drawn on it."""
    volume, feeds = 0.0, dict[str, str]()
    for draft in book.drafts:
        match draft.detail:
            case DrawFrom(run=run, feed=feed):
                feeds[run] = feed
            case Fill(into=into, volume=more) | Drain(to=into, volume=more) | Spray(onto=into, volume=more) if (
                into == pail
            ):
                volume += more
            case Spray(run=run, volume=less) if feeds.get(run) == pail:
                volume = max(volume - less, 0.0)
            case Drain(source=source, volume=less) if source == pail:
                volume = max(volume - less, 0.0)
            case _:
                pass
    return volume


# ------------------------------------------------------------------------------------------------------- water


def fill(book: Book, into: str, volume: float, who: Who, *, source: str = "") -> Draft:
    """Clean water into a vessel by somebody who stands by."""
    source = source or book.outside() or book.source()
    tap_free(book, who)
    return book.do(Fill(into=into, source=source, volume=volume), "drums", volume / rate(book, source), who=who)


def rate(book: Book, source: str) -> float:
    """How fast plain water comes [m3/s]: as the tap gives it, else as it is pumped over."""
    return book.tap if book.tap and source in ("tap", "hydrant") else usual_flow(book.job)
