"""The walls, one after another: wet, mix, dwell, rinse, with every change of mix and water as an act of its own.

A line is in plug flow: the last line volume of a wetting goes in with mix on, the last of the mix with water on, so
that each lands where it should.  A section that takes less mix than the hose holds gets it as a slug between two
waters.  A line that no water goes through between its sections stays on mix from its first to its last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import ceil, inf
from typing import Final

from planner.inputs.tables.defaults import default
from planner.plan.mix.model import DwellMisfit, GunsMisfit
from planner.plan.procedure.acts import (
    Read,
    Section,
    WaterBed,
)
from planner.plan.procedure.book import Line, about
from planner.plan.procedure.hands.beside import pairs_of
from planner.plan.procedure.hands.guns import guns_of
from planner.plan.procedure.hands.pailfed import to_come
from planner.plan.procedure.hands.sections import (
    Share,
    Wall,
    apart,
    cover_seconds,
    mix_seconds,
    rinse_elapsed,
    sides_of,
    turns_of,
    walls_of,
    wet_seconds,
)
from planner.plan.procedure.hands.supplies import DROP, Supply
from planner.plan.procedure.hands.together import Together
from planner.plan.procedure.stages.loading import Loading
from planner.plan.procedure.totals import AGAIN
from planner.plan.water.tap import usual_flow

_JOINED: Final = ("join", "set_dosing", "draw_from", "prime", "breaker", "gun", "stop_point", "power")
"""What is done to join a line again, by its row in the table of minutes."""

_SPELL: Final = 0.5
"""Plain work is done in spells that take no more than this share of a water tank (our choice)."""


@dataclass(slots=True, kw_only=True)
class Wash(Loading):
    """The work on the walls being gone through."""

    walls: tuple[Wall, ...] = ()
    landed: dict[tuple[str, int], float] = field(default_factory=dict)
    first_mix: float | None = None
    counted: dict[str, int] = field(default_factory=dict)
    misfits: list[DwellMisfit] = field(default_factory=list)
    unpaired: list[GunsMisfit] = field(default_factory=list)
    paired: list[tuple[float, float]] = field(default_factory=list)
    sides: tuple[tuple[str, ...], ...] = ()

    def run(self) -> None:
        """Every wall; those of two runs sprayed at once side by side, when the first of them has its turn."""
        pairs, self.unpaired = pairs_of(self.book)
        beside = {name: both for both in pairs for name in both.names}
        order = walls_of(self.book)
        self.sides = tuple(tuple(order[at].name for at in stretch) for stretch in sides_of(self.book, order))
        self.walls = tuple(wall for wall in order if wall.name not in beside)
        turns = turns_of(self.book.asked, order)
        self.steps = [(wall, number) for wall, own in turns if wall.name not in beside for number in own]
        self.counted = {wall.name: wall.sections for wall in self.walls}
        self.misfits = [wall.misfit for wall in self.walls if wall.misfit is not None]
        self.book.phase = "wash"
        for wall in self.walls:
            for share in wall.cleaners:
                self.clean(wall, share)
        for line in self.book.lines.values():
            if line.joined and line.tip == "cleaner":
                # Taken off while its gun is shut anyway, before anybody goes to the drum.
                mixes = any(mix.run.name == line.name and mix.mix for mix in self.book.asked.mixes)
                self.tip(line, line.plan.role_of("mix" if mixes else "rinse"))
        teams: dict[str, Together] = {}
        done: set[int] = set()
        for wall, sections in turns:
            both = beside.get(wall.name)
            if both is None:
                self.wall(wall, sections)
            elif id(both) not in done:
                done.add(id(both))
                run = both.rows[0].run
                guns = guns_of(self.book, self.book.lines[run])
                assert guns is not None
                teams.setdefault(run, Together(wash=self, guns=guns)).work(both)

    # ----------------------------------------------------------------------------------------------- a wall

    def clean(self, wall: Wall, share: Share) -> None:
        """A surface cleaner over its sections of a wall."""
        line = self.ready(share.row.run)
        count = share.last - share.first + 1
        for number in range(share.first, share.last + 1):
            section = Section(surface=wall.name, number=number, of=wall.sections)
            self.plainly(line, share.cleans, "clean", share.row.clean / count, section)

    def wall(self, wall: Wall, sections: Sequence[int]) -> None:
        """These sections of it in their pattern; what stands is rinsed before a tank, drum or jug is changed."""
        pending: int | None = None
        for number in sections:
            mixer, water = wall.mixer(number), wall.waterer(number)
            if mixer is None:
                self.plain(wall, number, water)
                continue
            begins = id(mixer.mix) not in self.supplies
            if water is not None and begins and not (apart(self.book, mixer, water) and self.tested(water)):
                # No line is tried for the first time while mix stands on a wall.
                self.ready(water.row.run)
            supply = self.supply(mixer)
            if self.ends_in(supply, mixer):
                # Nothing stands on a wall while a tank, drum or jug is changed.
                self.rinse(wall, pending)
                pending = None
                if supply.later >= supply.wanted - DROP:
                    self.change_load(supply)
            began = self.book.lead.now
            self.beds_due(wall, number)
            self.spare = inf if pending is None else wall.spare
            self.top_up(self.spare)
            self.cover(wall, number, mixer, water, supply)
            if water is None or not water.rinses > 0.0:
                continue
            if wall.ahead:
                self.rinse(wall, pending)
                pending = number
            else:
                self.rinse(wall, number, began)
        self.rinse(wall, pending)

    def tested(self, share: Share) -> bool:
        """Whether the line of a share was tried."""
        return self.book.lines[share.row.run].tested

    def plain(self, wall: Wall, number: int, water: Share | None) -> None:
        """A section without mix: wetted and rinsed."""
        if water is None:
            return
        line = self.ready(water.row.run)
        section = Section(surface=wall.name, number=number, of=wall.sections)
        self.plainly(line, water.wets, "wet", wet_seconds(self.book, water, water.wets), section)
        self.plainly(line, water.rinses, "rinse", rinse_elapsed(self.book, water), section)

    def plainly(self, line: Line, volume: float, use: str, lasts: float, section: Section) -> None:
        """Plain water in spells that a tank lasts, so that it can be filled between them."""
        tank = line.plan.input.feed_tank
        most = _SPELL * (tank.volume - tank.dead_volume) if tank is not None and not line.plan.input.premix else inf
        count = max(ceil(volume / most - 1e-9), 1)
        self.spare = inf
        for _ in range(count):
            self.top_up(inf)
            self.through(line, None, volume / count, use, "section", lasts / count, section)

    def cover(self, wall: Wall, number: int, mixer: Share, water: Share | None, supply: Supply) -> None:
        """A section wetted, and its mix on it."""
        book, line = self.book, supply.line
        section = Section(surface=wall.name, number=number, of=wall.sections)
        own = water is not None and self.wets_itself(mixer, book.lines[water.row.run])
        if water is not None and not own and water.wets > 0.0:
            washer = self.ready(water.row.run)
            self.through(
                washer, None, water.wets, "wet", "section", wet_seconds(book, water, water.wets), section
            )  # fmt: skip
        self.ready(mixer.row.run)
        if own and water is not None and water.wets > 0.0:
            wets = max(water.wets, line.volume)
            ahead = wets - line.volume
            self.through(line, None, ahead, "wet", "section", wet_seconds(book, water, ahead), section)
            supply.to_enter = supply.due = mixer.mixes
            self.fill_line(supply, "wet", "section", wet_seconds(book, water, line.volume), section)
        elif supply.due <= DROP:
            # Else it stands in the line still: nothing was rinsed since.
            supply.to_enter = supply.due = mixer.mixes if own else self.stretch(wall, number, mixer)
            self.fill_line(supply, "line", "", 0.0, None)
        began = book.lead.now
        self.through(
            line, supply, mixer.mixes - mixer.mists * mixer.mist, "mix", "section", mix_seconds(mixer), section
        )  # fmt: skip
        supply.due -= mixer.mixes - mixer.mists * mixer.mist
        self.landed[wall.name, number] = book.lead.now
        self.keep_wet(mixer, supply, section, began)
        if self.first_mix is None:
            self.first_mix = book.lead.now

    def keep_wet(self, mixer: Share, supply: Supply, section: Section, began: float) -> None:
        """Mix on a section again, before what was wetted first since `began` [s] may be dry."""
        stands = self.book.lead.now - began + mixer.row.dwell_least
        for _ in range(mixer.mists):
            line = self.ready(mixer.row.run)
            began += stands / (mixer.mists + 1)
            self.rest(line, began)
            began = self.book.lead.now
            lasts = mix_seconds(mixer) * default("mist_pace")
            self.through(line, supply, mixer.mist, "mix", "section", lasts, section, AGAIN)
            supply.due -= mixer.mist

    def rinse(self, wall: Wall, number: int | None, began: float | None = None) -> None:
        """A section rinsed once it has stood; `began` where a section takes a fixed time."""
        if number is None:
            return
        water, mixer = wall.waterer(number), wall.mixer(number)
        assert water is not None
        assert mixer is not None
        line, lasts = self.ready(water.row.run), rinse_elapsed(self.book, water)
        if self.book.water_feed(line) == "pail":
            self.set(line, None)
            to_come(self.book, line, water.rinses, lasts)
        self.tip(line, line.plan.role_of("rinse"))
        self.rest(line, self.landed[wall.name, number] + mixer.row.dwell_least)
        self.beds_due(wall, number, rinse=True)
        self.top_up(self.spare)
        if wall.fixed is not None and began is not None:
            lasts = max(lasts, wall.fixed - (self.book.lead.now - began))
        section = Section(surface=wall.name, number=number, of=wall.sections)
        self.through(line, None, water.rinses, "rinse", "section", lasts, section)

    # ----------------------------------------------------------------------------------------------- through a line

    def through(
        self, line: Line, supply: Supply | None, volume: float, use: str, onto: str, lasts: float,
        section: Section | None, why: str | None = None,
    ) -> None:  # fmt: skip
        """So much out of the tip, while mix and then water go in at the dosing, load after load."""
        left = volume
        while left > DROP:
            stock = supply is not None and supply.to_enter > DROP
            part = left
            if stock and supply is not None:
                if supply.left <= DROP:
                    self.change_load(supply)
                part = min(left, supply.to_enter, supply.left)
                # A drop less or more is the same: no act is made for it.
                part = left if left - part <= DROP else part
            target = onto
            if not onto:
                target, part = self.into_pail(part, "water", 0.0)
            self.tip(line, line.plan.role_of(use))
            self.set(line, supply if stock else None)
            self.gun(line, part, target, use, lasts * part / volume, section, why)
            left -= part
            if stock and supply is not None:
                supply.to_enter -= part
                supply.left -= part
                supply.wanted -= part
                supply.to_enter = 0.0 if supply.to_enter <= DROP else supply.to_enter

    def fill_line(
        self, supply: Supply, use: str, onto: str, lasts: float, section: Section | None
    ) -> None:  # fmt: skip
        """A line volume that brings the mix to the tip; the first of a panel or injector tells what it draws."""
        line, volume = supply.line, supply.line.volume
        self.tip(line, "tip")
        if not supply.drawn and supply.mix.kind in ("metered", "injector"):
            supply.drawn = True
            seconds = supply.test_seconds(min(volume, supply.to_enter, supply.left))
            self.set(line, supply, jug=True)
            first = seconds * line.flow
            target = onto
            if not onto:
                target, _ = self.into_pail(first, "water", 0.0, whole=True)
            self.gun(line, first, target, use, seconds, section)
            self.book.off_for(line, self.book.minutes["jug_read"])
            down = first * supply.jug_share
            self.book.call(
                Read(), "rig", self.book.minutes["jug_read"], run=line.name, expect=about("jug_down", "m3", down)
            )
            supply.to_enter -= first
            supply.left -= first
            supply.wanted -= first
            if supply.mix.kind == "metered":
                self.set(line, supply)
                self.jug_back(supply, down)
            lasts = lasts * (volume - first) / volume
            volume -= first
        self.through(line, supply, volume, use, onto, lasts, section)

    # ----------------------------------------------------------------------------------------------- lines and waits

    def rest(self, line: Line, moment: float) -> None:
        """The gun shut until `moment` [s], when the line is opened; off meanwhile where its pump may not stand so."""
        book = self.book
        if book.lead.now >= moment - 1e-6:
            return
        for other in book.lines.values():
            book.shut(other)
        for other in book.lines.values():
            if other.on and moment + 2.0 * book.minutes["power"] - other.shut_at > other.allowed:
                book.power(other, on=False)
        switch = book.minutes["power"] if line.pump is not None and not line.on else 0.0
        if book.second is None and book.asked.beds is not None and self.first_mix is not None:
            self.water_beds(moment - sum(self.way_back(line, switch)) - switch)
        self.top_up(moment - sum(self.way_back(line, switch)) - switch - book.lead.now)
        first, then = self.way_back(line, switch)
        idle = moment - book.lead.now - switch - then
        if book.lead.at == "grounds":
            # What is waited out on the grounds counts as walked.
            idle = idle if idle + book.lead.away >= first else 0.0
        else:
            idle -= first
        book.wait_until(book.lead.now + max(idle, 0.0))

    def way_back(self, line: Line, switch: float) -> tuple[float, float]:
        """The walk to a line's gun [s] of somebody alone, and what follows on it where he has to `switch` first."""
        book, pace = self.book, self.book.minutes["walk_pace"]
        if book.second is not None or (book.lead.place == "wall" and not switch > 0.0):
            return 0.0, 0.0
        if book.lead.place == "rig":
            # Who switches first has all of the walk before them, wherever on the grounds they waited.
            return (0.0, line.length / pace) if switch > 0.0 else (line.length / pace, 0.0)
        return min(one.length for one in book.lines.values()) / pace, line.length / pace

    # ----------------------------------------------------------------------------------------------- beds, alone

    def beds_due(self, wall: Wall, number: int, *, rinse: bool = False) -> None:
        """Alone: the beds get theirs at a shut gun before they have waited too long."""
        book, beds = self.book, self.book.asked.beds
        if beds is None or self.first_mix is None or (book.second is not None and not self.shares_tap(wall)):
            return
        share = wall.waterer(number) if rinse else wall.mixer(number)
        if share is None:
            return
        ahead = rinse_elapsed(book, share) if rinse else cover_seconds(book, wall, number)
        if book.lead.now + ahead - self.last_bed > beds.every * 0.9:
            for line in book.lines.values():
                book.shut(line)
            self.water_beds(inf)

    def between(self, line: Line, ahead: float | None = None) -> None:
        """Alone, while mix is out and hoses, tips or loads are changed: the beds do not wait for all of it.

        `ahead` [s] is how long that takes, all that joins a line where none is given.
        """
        book, beds = self.book, self.book.asked.beds
        if book.second is None and beds is not None and self.first_mix is not None:
            joins = line.length / book.minutes["walk_pace"] + sum(book.minutes[key] for key in _JOINED)
            ahead = joins if ahead is None else ahead
            if book.lead.now + ahead - self.last_bed > beds.every * 0.9:
                self.water_beds(inf)

    def water_beds(self, until: float) -> None:
        """Water on the beds for as long as they have waited, done by `until` [s]."""
        book, beds = self.book, self.book.asked.beds
        assert beds is not None
        flow = book.tap or usual_flow(self.job)
        if book.second is None:
            volume = beds.each * min((book.lead.now - self.last_bed) / beds.every, 1.5)
        else:
            # With two they are owed their rate, also for as long as they are watered.
            volume = beds.each * (book.lead.now - self.bed_from) / beds.every
        volume = min(volume, max(until - book.lead.now, 0.0) * flow)
        if volume <= 0.1 * beds.each:
            return
        for line in book.lines.values():
            # It has to be switched off within what it may run shut, if nothing is sprayed next.
            if line.on and book.lead.now + volume / flow + book.minutes["power"] - line.shut_at > line.allowed:
                book.power(line, on=False)
        source = book.outside() or book.source()
        bed = WaterBed(bed="flower_beds", source=source, volume=volume)
        if book.second is not None:
            book.second.now = max(book.second.now, book.lead.now)
        done = book.do(bed, "grounds", volume / flow, who="second", phase="grounds")
        book.wait_until(done.end)
        self.last_bed, self.bed_from = book.lead.now, done.end - volume / flow

    def shares_tap(self, wall: Wall) -> bool:
        """Whether a wall's gun draws the tap that the beds are watered from, so that it has to be shut for them."""
        tap = self.book.outside() in ("tap", "hydrant")
        return tap and any(self.book.lines[share.row.run].plan.input.feed == "tap" for share in wall.shares)
