"""The bench while a yard job's acts are made: vessels and lots with what is in them, the test line, small acts.

The lead does it all at the rig, a second only dresses with him.  The hose lies out and back, so that its gun is beside
the pump: whoever holds it reads the gauge, and nobody walks while the pump runs against a shut gun.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from planner.inputs.joined import JobInput
from planner.plan.between.neutralisers import given_of
from planner.plan.mix.model import Carried, Neutraliser
from planner.plan.procedure.acts import (
    Done,
    Drain,
    DrawFrom,
    Expect,
    Fill,
    Join,
    Mark,
    Neutralise,
    Pour,
    Power,
    Prime,
    Relieve,
    SetDosing,
    Shut,
    Spray,
    Tap,
    Use,
)
from planner.plan.procedure.book import Book, Line
from planner.plan.road.power import on_mains
from planner.plan.water.tap import usual_flow
from planner.plan.yard.model import YardPlan

_GONE: Final = frozenset({"ground", "lawn", "sanitary", "carried_home"})
"""Places that nothing comes back from."""

_HAIR: Final = 1e-9  # m3; less is what sums leave over


@dataclass(slots=True, kw_only=True)
class Bench:
    """The bench so far.

    What is in each vessel [m3], and how much of a tank's own chemical, `active` [kg]; what was `taken` of each lot
    [m3, or kg of what is dry]; `rinses`: each filling's pails; `air` [m3] in the line's hoses; `worn` against what the
    pump may hold; `own`: pails of what stood in the tank it is tested from, which has `ahead` [m3] still to give.
    """

    job: JobInput
    yard: YardPlan
    book: Book
    found: Carried
    vessels: dict[str, float] = field(default_factory=dict)
    active: dict[str, float] = field(default_factory=dict)
    taken: dict[str, float] = field(default_factory=dict)
    rinses: list[list[str]] = field(default_factory=list)
    air: float = 0.0
    worn: list[str] = field(default_factory=list)
    own: list[str] = field(default_factory=list)
    ahead: float = 0.0
    on: bool = False
    open: bool = False

    def row(self, key: str) -> float:
        """A row of the table of minutes [s]."""
        return self.book.minutes[key]

    # ----------------------------------------------------------------------------------------------- marks, vessels

    def mark(self, verb: Done, what: str, seconds: float | None = None, *, stop: int | None = None) -> None:
        """Something done and ticked, by both where it is put on; `what`'s first word is its row."""
        lasts = self.row(what.split(" ")[0]) if seconds is None else seconds
        self.book.do(Mark(verb=verb, what=what), "bench", lasts, who="both" if verb == "wear" else "lead", stop=stop)

    def fill(self, into: str, volume: float) -> None:
        """Water out of the yard's tap."""
        source = self.book.outside() or "tap"
        flow = self.book.tap or usual_flow(self.job)
        self.book.do(Fill(into=into, source=source, volume=volume), "rig", volume / flow)
        self.vessels[into] = self.vessels.get(into, 0.0) + volume

    def empty(self, vessel: str, to: str, seconds: float, *, keep: float = 0.0) -> None:
        """All that a vessel holds but what it `keep`s [m3], poured away or into a vessel."""
        held = self.vessels.get(vessel, 0.0)
        if held > keep + _HAIR:
            self.book.do(Drain(source=vessel, to=to, volume=held - keep), "rig", seconds)
            self._moved(vessel, to, held - keep)

    def _moved(self, vessel: str, to: str, volume: float) -> None:
        """So much out of a vessel, with its share of what is in there."""
        active = self.active.get(vessel, 0.0) * volume / self.vessels[vessel]
        self.vessels[vessel] -= volume
        self.active[vessel] = self.active.get(vessel, 0.0) - active
        if to not in _GONE:
            self.vessels[to] = self.vessels.get(to, 0.0) + volume
            self.active[to] = self.active.get(to, 0.0) + active

    def pour(self, lot: str, volume: float, mass: float, order: int, stop: int) -> None:
        """A lot into the tub: so much of what is poured, or of what is weighed."""
        detail = Pour(lot=lot, into="tub", volume=volume or None, mass=mass or None, order=order)
        self.book.do(detail, "bench", self.row("pour"), stop=stop)
        self.vessels["tub"] += volume
        self._take(lot, volume or mass)

    def end(self, vessel: str, ends: Neutraliser, mass: float, seconds: float) -> None:
        """So much of an agent [kg] into a vessel, over `seconds`, out of its lots in the shelf's order."""
        lots = list(self._lots_of(ends.agent, mass))
        for lot, part in lots:
            dose = self.book.do(Neutralise(what=vessel, lot=lot, mass=part), "bench", seconds / len(lots))
            dose.ends = given_of(ends, part)
            self._take(lot, part)

    def enough(self, agent: str, mass: float) -> bool:
        """Whether the shelf has so much of an agent [kg], or one lot that nobody weighed."""
        left = [self.left(lot.name) for lot in self.job.lots if lot.chemical == agent]
        return any(one is None for one in left) or sum(one or 0.0 for one in left) >= mass

    def began(self, name: str) -> float | None:
        """What a lot held before the job; None where nobody measured it."""
        written = next(lot for lot in self.job.lots if lot.name == name).on_hand
        held = None if written is None else written.mass if written.mass is not None else written.volume
        return None if held is None else max(held - self.found.taken.get(name, 0.0), 0.0)

    def left(self, name: str) -> float | None:
        """What it holds now."""
        held = self.began(name)
        return None if held is None else held - self.taken.get(name, 0.0)

    def _lots_of(self, agent: str, mass: float) -> Iterator[tuple[str, float]]:
        """What each lot gives [kg]; the last gives all the rest, for what is short is told by the shelf's own check."""
        lots = [lot for lot in self.job.lots if lot.chemical == agent]
        for number, lot in enumerate(lots, start=1):
            left = self.left(lot.name)
            given = mass if left is None or number == len(lots) else min(mass, left)
            if given > 0.0:
                yield lot.name, given
            mass -= given

    def _take(self, name: str, amount: float) -> None:
        self.taken[name] = self.taken.get(name, 0.0) + amount

    # ----------------------------------------------------------------------------------------------- the test line

    def joined(self, line: Line) -> None:
        """The line made up, drawing clean water, primed, and its stop point before power."""
        book, run = self.book, line.plan.input
        motor = run.pump.motor if run.pump is not None else None
        book.do(Join(run=line.name), "rig", self.row("join"), run=line.name)
        if run.dosing is not None:
            book.do(SetDosing(run=line.name, to="water"), "rig", self.row("set_dosing"), run=line.name)
        book.do(DrawFrom(run=line.name, feed=self.yard.feed), "rig", self.row("draw_from"), run=line.name)
        book.do(Prime(run=line.name), "rig", self.row("prime"), run=line.name)
        line.running = self.yard.feed in ("tap", "hydrant")  # a pump that a tap feeds is primed by it
        asks = ["primed"]
        for what in ("breaker", "gun"):
            if what == "gun" or (motor is not None and on_mains(motor.volts)):
                self.mark("look", f"{what} {line.name}")
                asks.append(f"{what} {line.name}")
        line.power_stop = book.stop("power", line.name, asks, "rig")

    def power(self, line: Line, *, on: bool) -> None:
        """The pump switched; off, the tap that feeds it shut and its pressure let out too."""
        assert line.pump is not None
        stop = line.power_stop if on else None
        self.on = on
        if on and self.yard.feed in ("tap", "hydrant") and not line.running:
            self._tap(line, on=True, stop=stop)
        self.book.do(Power(pump=line.pump, on=on), "rig", self.row("power"), run=line.name, stop=stop)
        if not on:
            if line.running:
                self._tap(line, on=False)
            self.book.do(Relieve(run=line.name), "rig", self.row("relieve"), run=line.name)

    def _tap(self, line: Line, *, on: bool, stop: int | None = None) -> None:
        """The tap that feeds the line turned by whoever stands beside the pump."""
        self.book.do(Tap(run=line.name, on=on), "rig", self.row("tap"), run=line.name, stop=stop)
        line.running = on

    def spray(self, line: Line, volume: float, onto: str, use: Use, *, expect: Expect | None = None,
              why: str | None = None) -> None:  # fmt: skip
        """The gun open beside the pump."""
        self.fed(line, volume)
        self.open = True
        self.ahead -= volume
        seconds = volume / line.flow
        detail = Spray(run=line.name, seconds=seconds, volume=volume, onto=onto, use=use)
        self.book.do(detail, "rig", seconds, run=line.name, expect=expect, stop=line.power_stop, why=why)
        out = volume - min(self.air, volume)
        if self.yard.feed in self.vessels:
            self.vessels[self.yard.feed] -= volume
        self.air -= volume - out
        if onto not in _GONE:
            self.vessels[onto] = self.vessels.get(onto, 0.0) + out

    def fed(self, line: Line, volume: float) -> None:
        """So much over the outlet of the tank it draws from, if that has room for it; else filled again, pump off."""
        tank = next((tank for tank in self.job.rig.tanks if tank.name == self.yard.feed), None)
        if tank is None:
            return
        holds, room = self.vessels[tank.name], tank.volume - tank.dead_volume
        if holds - tank.dead_volume >= min(volume, room) - _HAIR:
            return
        on = self.on
        if self.open:
            self.shut(line)
        if on:
            self.power(line, on=False)
        self.fill(tank.name, tank.dead_volume + min(max(volume, self.ahead), room) - holds)
        if on:
            self.power(line, on=True)

    def shut(self, line: Line) -> None:
        """The gun closed."""
        self.open = False
        self.book.do(Shut(run=line.name), "rig", self.row("shut"), run=line.name)

    def read(self, expect: Expect, key: str, *, run: str | None = None, why: str | None = None) -> None:
        """A reading at the rig; a throw is paced out on the grounds."""
        self.book.read(expect, "grounds" if expect.what == "throw" else "rig", self.row(key), run=run, why=why)
