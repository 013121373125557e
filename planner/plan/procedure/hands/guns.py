"""Two guns of one pump, open at once: the lead holds one, the second the other, and nobody is at the rig meanwhile.

Both open together and end together; each one's walk comes first in its own act, so that the nearer one sets out later.
Whatever is done at the rig is the second's, with both guns shut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from planner.frozen import dataclass
from planner.plan.procedure.acts import Section, Shut, Spray, Use, Wait, Who
from planner.plan.procedure.book import Book, Line

_GUNS: Final = 2
_HAIR: Final = 1e-9
_AT_ONCE: Final = 1e-6
_MEANWHILE: Final = 5.0
"""A gun with nothing to do while the other one works runs onto the ground for so long [s] (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """What one of the guns sprays while both are open, over `lasts` [s] or longer; `mix`: stock goes in meanwhile."""

    volume: float
    use: Use
    onto: str = "section"
    lasts: float = 0.0
    section: Section | None = None
    mix: bool = False

    def part(self, share: float) -> Shot:
        """So much of it [-]."""
        return replace(self, volume=self.volume * share, lasts=self.lasts * share)


Shots = list[Shot]


@dataclass(slots=True, kw_only=True)
class Guns:
    """The lead's line and the second's. Their one pump's switch is kept with the lead's."""

    book: Book
    lines: tuple[Line, Line]

    @property
    def names(self) -> tuple[str, str]:
        """The runs, the lead's first."""
        return self.lines[0].name, self.lines[1].name

    @property
    def walk(self) -> float:
        """The longer of the two ways between rig and wall [s]."""
        return max(line.length for line in self.lines) / self.book.minutes["walk_pace"]

    @property
    def allowed(self) -> float:
        """How long the pump may run with both shut [s]."""
        return min(line.allowed for line in self.lines)

    def shut(self) -> None:
        """Both guns closed, where they are open."""
        book, (mine, yours) = self.book, self.lines
        if yours.open:
            book.do(Shut(run=yours.name), "wall", book.minutes["shut"], who="second", run=yours.name)
            yours.open, yours.shut_at = False, book.lead.now + book.minutes["shut"]
        book.shut(mine)

    def switch(self, *, on: bool) -> None:
        """The pump switched by the second, both guns shut."""
        self.shut()
        self.book.power(self.lines[0], on=on)

    def called(self, seconds: float) -> None:
        """Both shut, for something the second does at the rig; the pump off where it may not stand that long."""
        self.shut()
        mine = self.lines[0]
        stood = self.book.lead.now - mine.shut_at
        if mine.on and stood + seconds + 2.0 * self.walk + _MEANWHILE > self.allowed:
            self.switch(on=False)

    def open(self, shots: Sequence[Shot]) -> None:
        """Both sprays, from one moment to another; a tank that would not last them is filled before."""
        book = self.book
        assert book.second is not None
        mine, yours = self.lines
        lasts = max(
            max(shot.lasts, shot.volume / line.flow) for shot, line in zip(shots, self.lines, strict=True)
        )  # fmt: skip
        whole = [self._filled(shot, line, lasts) for shot, line in zip(shots, self.lines, strict=True)]
        number, count = len(book.sprays), sum(len(parts) for parts in whole)
        if any(book.tops.get(number + spray, 0.0) > 0.0 for spray in range(count)):
            self.shut()
            book.top_up(mine, guns=count)
        if not all(line.open for line in self.lines):
            self.switch(on=True)
        ways = [book.way(book.lead, mine.name), book.way(book.second, yours.name)]
        begins = max(book.lead.now + ways[0], book.second.now + ways[1])
        idle = begins - ways[1] - book.second.now
        if idle > _HAIR and book.second.at != "grounds":
            book.do(Wait(seconds=idle), book.second.at, idle, who="second")
        book.second.now = begins - ways[1]
        book.wait_until(begins - ways[0])
        hands: tuple[tuple[Shots, Line, Who], ...] = ((whole[1], yours, "second"), (whole[0], mine, "lead"))
        for parts, line, who in hands:
            for shot in parts:
                seconds = shot.volume / line.flow
                detail = Spray(run=line.name, seconds=seconds, volume=shot.volume, onto=shot.onto, use=shot.use)
                done = book.do(
                    detail, "wall", seconds if len(parts) > 1 else lasts, who=who, run=line.name, section=shot.section,
                    stop=line.mix_stop,
                )  # fmt: skip
                line.open = True
                book.sprays.append(done)

    def _filled(self, shot: Shot, line: Line, lasts: float) -> Shots:
        """One gun's shot over all of the time [s] both are open.

        On a wall it is drawn out; what is let run is let run no longer than it takes, the rest is water on the ground.
        """
        rest = lasts - shot.volume / line.flow
        if shot.section is not None or shot.mix or rest <= _AT_ONCE:
            return [shot]
        return [shot, replace(self.meanwhile(line), volume=rest * line.flow)]

    def meanwhile(self, line: Line) -> Shot:
        """Plain water onto the ground, for a gun that has nothing to do."""
        return Shot(volume=_MEANWHILE * line.flow, use="line", onto="ground")

    def evened(self, mine: Shots, yours: Shots) -> list[tuple[Shot, Shot]]:
        """As many shots of one gun as of the other: the largest is halved; one without any runs meanwhile."""
        both = [list(mine), list(yours)]
        if not any(both):
            return []
        for shots, line in zip(both, self.lines, strict=True):
            if not shots:
                shots.append(self.meanwhile(line))
        while len(both[0]) != len(both[1]):
            fewer = min(both, key=len)
            at = max(range(len(fewer)), key=lambda place: fewer[place].volume)
            fewer[at : at + 1] = [fewer[at].part(0.5)] * 2
        return list(zip(*both, strict=True))

    def away(self) -> None:
        """Both shut, the pump off, the second back at the rig."""
        self.switch(on=False)
        book = self.book
        if book.second is not None and book.second.place != "rig":
            book.second.now = max(book.second.now, book.lead.now)
            done = book.do(Wait(seconds=0.0), "rig", 0.0, who="second")
            book.wait_until(done.end)

    @property
    def far(self) -> bool:
        """Whether the pump may not stand shut for as long as the second is on the way to its switch."""
        way = max(line.way for line in self.lines)
        return way > min(line.bears for line in self.lines)


def guns_of(book: Book, line: Line) -> Guns | None:
    """The two guns a line is one of, the earlier run's with the lead; None of one sprayed alone, or among more."""
    names = {line.name, *line.plan.input.same_time}
    both = [one for name, one in book.lines.items() if name in names and one.plan.flow > 0.0]
    if len(names) != _GUNS or len(both) != _GUNS or line.name not in {one.name for one in both} or not book.second:
        return None
    return Guns(book=book, lines=(both[0], both[1]))
