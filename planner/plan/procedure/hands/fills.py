"""Somebody alone fills the water tank: opened where he stands at the rig anyway, it runs while he works on.

It ends where the tank is full, or as the tap is wanted for beds, a batch or a pail: one of them runs at a time.  What
stands in the tank is followed act by act, so that no fill brings more than there is room for.

A fill is opened by whoever is at the rig, from set-up on, and runs until the tank is full or beds, a batch or a gun
take the tap. Alone the lead opens it where he is at the rig anyway, and walks there only when it is low. Where a tank
would not last plain water, the crew waits for the tap (`tops` of `procedure/make.py`); the finding tells of the tank as
it would stand without that. Dry with mix on a wall, or where no tap fills it, holds the job.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import inf

from planner.plan.procedure.acts import Detail, Drain, DrawFrom, Fill, Prime, SetDosing, Spray, State, WaterBed
from planner.plan.procedure.book import Book, Draft
from planner.plan.water.tap import filler_of, water_tank

ROOM = 0.2
"""A tank is filled again once this share of it is free (our choice)."""

LEAST_FILL = 60.0
"""A fill that would run shorter [s] is not opened (our choice)."""

_LOW = 0.5
"""Below this share of what a tank gives he goes to the rig for it (our choice)."""

_TAP = frozenset({"tap", "hydrant"})


@dataclass(slots=True, kw_only=True)
class OwnFill:
    """The tank, what it takes and gives [m3], the tap's `rate` into it [m3/s], and what stands in it.

    `seen` acts are counted in `level` [m3], but for the fill that runs, which is number `at` among them.
    """

    tank: str
    volume: float
    dead: float
    rate: float
    source: str
    level: float
    seen: int = 0
    at: int | None = None
    own: set[int] = field(default_factory=set)
    feeds: dict[str, str] = field(default_factory=dict)
    shares: dict[str, float] = field(default_factory=dict)

    @classmethod
    def of(cls, book: Book, begin: State) -> OwnFill | None:
        """The same of a job; None with two people, without a tap, and where a gun draws on the tap."""
        job, tank = book.job, water_tank(book.job)
        filler = filler_of(job, tank)
        source = book.outside()
        if book.second is not None or tank is None or filler is None or source is None or not filler.flow() > 0.0:
            return None
        if any(run.feed == "tap" or (run.premix and run.feed_tank == tank) for run in job.runs):
            return None
        held = begin.tanks.get(tank.name)
        if held is None or held.stock not in ("water", "air"):
            return None
        stands = tank.volume if held.volume is None else min(held.volume, tank.volume)
        stands = 0.0 if held.stock == "air" else stands
        return cls(
            tank=tank.name, volume=tank.volume, dead=tank.dead_volume, rate=filler.flow(), source=source, level=stands
        )  # fmt: skip

    def open(self, book: Book, *, walks: bool = False) -> bool:
        """The tap opened into the tank where there is room, nothing else runs out of it, and he is at the rig.

        `walks`: he goes there for it. Whether he did.
        """
        if book.lead.place != "rig" and not walks:
            return False
        room = self._room(book)
        seconds = room / self.rate
        if room < ROOM * self.volume or seconds < LEAST_FILL or self._waits_for_rinse(book) or self._tap_runs(book):
            return False
        hands = min(book.minutes["fill_hands"], seconds)
        fill = Fill(into=self.tank, source=self.source, volume=seconds * self.rate)
        book.do(fill, "rig", seconds, hands=hands, phase="grounds")
        self.at = len(book.drafts) - 1
        self.own.add(self.at)
        return True

    def low(self, book: Book) -> bool:
        """Whether so little is left, and none runs in, that it is worth a walk."""
        return self._room(book) > (1.0 - _LOW) * (self.volume - self.dead) and not self._tap_runs(book)

    def give_way(self, book: Book, detail: Detail, moment: float) -> None:
        """The fill stopped for what else takes the tap from `moment` [s] on."""
        match detail:
            case Fill(source=source) | WaterBed(source=source):
                takes = source in _TAP
            case Spray(run=run) | Prime(run=run):
                takes = book.lines[run].feed in _TAP
            case _:
                takes = False
        if takes:
            self.stop(book, moment)

    def stop(self, book: Book, moment: float) -> None:
        """The fill that runs stopped at `moment` [s], or counted where it has ended by then."""
        if self.at is None:
            return
        draft = book.drafts[self.at]
        assert isinstance(draft.detail, Fill)
        volume = draft.detail.volume
        if moment < draft.end - 1e-9:
            volume -= (draft.end - moment) * self.rate
            detail = replace(draft.detail, volume=volume)
            book.drafts[self.at] = replace(draft, detail=detail, lasts=moment - draft.start)
        self.level += volume
        self.at = None

    def goes_on(self, book: Book, draft: Draft, walk: float) -> None:
        """The fill that runs goes on for what an act draws out of the tank meanwhile, until it is full all the same."""
        if self.at is None:
            return
        fill, since = book.drafts[self.at], draft.start + walk
        if fill.end <= since + 1e-9 or fill is draft:
            return
        assert isinstance(fill.detail, Fill)
        self._counted(book)
        rate = self._drawn(draft) / max(draft.end - since, 1e-9)
        if not rate > 0.0:
            return
        room = (fill.end - since) * self.rate
        end = since + room / (self.rate - rate) if self.rate > rate else inf
        if end > draft.end:
            end = draft.end + max(room - (self.rate - rate) * (draft.end - since), 0.0) / self.rate
        detail = replace(fill.detail, volume=fill.detail.volume + (end - fill.end) * self.rate)
        book.drafts[self.at] = replace(fill, lasts=end - fill.start, detail=detail)

    def _room(self, book: Book) -> float:
        """What the tank takes now [m3]; nothing while a fill runs."""
        if self.at is not None and book.drafts[self.at].end > book.lead.now + 1e-9:
            return 0.0
        self.stop(book, book.lead.now)
        self._counted(book)
        return self.volume - max(self.level, 0.0)

    def _counted(self, book: Book) -> None:
        for number in range(self.seen, len(book.drafts)):
            draft = book.drafts[number]
            match draft.detail:
                case DrawFrom(run=run, feed=feed):
                    self.feeds[run] = feed
                case SetDosing(run=run, draws=draws):
                    self.shares[run] = sum(draw.share for draw in draws)
                case Fill(into=self.tank, volume=volume) | Drain(to=self.tank, volume=volume) if number not in self.own:
                    self.level += volume
                case _:
                    self.level -= self._drawn(draft)
        self.seen = len(book.drafts)

    def _drawn(self, draft: Draft) -> float:
        """What an act takes out of the tank [m3]."""
        match draft.detail:
            case Spray(run=run, volume=volume) if self.feeds.get(run) == self.tank:
                return volume * (1.0 - self.shares.get(run, 0.0))
            case Fill(source=self.tank, volume=volume) | Drain(source=self.tank, volume=volume):
                return volume
            case WaterBed(source=self.tank, volume=volume):
                return volume
            case _:
                return 0.0

    def _waits_for_rinse(self, book: Book) -> bool:
        """Whether the tank is flushed before the work and has not been yet."""
        rinsed = any(change.tank is not None and change.tank.part == self.tank for change in book.asked.changes)
        return rinsed and book.phase in ("walk", "set_up", "flush_first")

    def _tap_runs(self, book: Book) -> bool:
        now = book.lead.now + 1e-9
        return any(
            draft.end > now and isinstance(draft.detail, Fill | WaterBed) and draft.detail.source in _TAP
            for draft in book.drafts
        )
