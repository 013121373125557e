"""The walls, one after another: wet, mix, dwell, rinse, with every change of mix and water as an act of its own.

A line is in plug flow: the last line volume of a wetting goes in with mix on, the last of the mix with water on, so
that each lands where it should.  A section that takes less mix than the hose holds gets it as a slug between two
waters.  A line that no water goes through between its sections stays on mix from its first to its last.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, inf
from typing import Final, Literal

from planner.inputs.defaults import default
from planner.plan.mix_model import DwellMisfit, GunsMisfit, MixPlan
from planner.plan.procedure import mixing
from planner.plan.procedure.acts import (
    Drain,
    Mark,
    Read,
    Section,
    WaterBed,
)
from planner.plan.procedure.beside import pairs_of
from planner.plan.procedure.book import Line, about
from planner.plan.procedure.first import flush_first
from planner.plan.procedure.gear import Gear
from planner.plan.procedure.guns import guns_of
from planner.plan.procedure.pails import Left
from planner.plan.procedure.sections import (
    Share,
    Wall,
    apart,
    cover_seconds,
    mix_seconds,
    rinse_elapsed,
    shares_gear,
    swap_seconds,
    walls_of,
    wet_seconds,
)
from planner.plan.procedure.supplies import DROP, Supply, loads_of
from planner.plan.procedure.together import Together
from planner.plan.tap import usual_flow

_SOON: Final = 0.8
"""Of how long a wetted wall may wait for its mix, what walks and switches may take (our choice)."""

_JOINED: Final = ("join", "set_dosing", "draw_from", "prime", "breaker", "gun", "stop_point", "power")
"""What is done to join a line again, by its row in the table of minutes."""

_SPELL: Final = 0.5
"""Plain work is done in spells that take no more than this share of a water tank (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chore:
    """Something the second does when there is time, once `after` is done."""

    detail: Drain
    at: Literal["drums", "wall"]
    seconds: float
    after: float


@dataclass(slots=True, kw_only=True)
class Wash(Gear):
    """The work on the walls being gone through."""

    walls: tuple[Wall, ...] = ()
    supplies: dict[int, Supply] = field(default_factory=dict)
    chores: list[Chore] = field(default_factory=list)
    landed: dict[tuple[str, int], float] = field(default_factory=dict)
    first_mix: float | None = None
    last_bed: float = 0.0
    steps: list[tuple[Wall, int]] = field(default_factory=list)
    flushed: set[int] = field(default_factory=set)
    counted: dict[str, int] = field(default_factory=dict)
    misfits: list[DwellMisfit] = field(default_factory=list)
    unpaired: list[GunsMisfit] = field(default_factory=list)
    paired: list[tuple[float, float]] = field(default_factory=list)

    def run(self) -> None:
        """Every wall; those of two runs sprayed at once side by side, when the first of them has its turn."""
        pairs, self.unpaired = pairs_of(self.book)
        beside = {name: both for both in pairs for name in both.names}
        order = walls_of(self.book)
        self.walls = tuple(wall for wall in order if wall.name not in beside)
        self.steps = [(wall, number) for wall in self.walls for number in range(1, wall.sections + 1)]
        self.counted = {wall.name: wall.sections for wall in self.walls}
        self.misfits = [wall.misfit for wall in self.walls if wall.misfit is not None]
        self.book.phase = "wash"
        for wall in self.walls:
            for share in wall.cleaners:
                self.clean(wall, share)
        teams: dict[str, Together] = {}
        done: set[int] = set()
        for wall in order:
            both = beside.get(wall.name)
            if both is None:
                self.wall(wall)
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

    def wall(self, wall: Wall) -> None:
        """Its sections in their pattern; what stands is rinsed before a tank, drum or jug is changed."""
        pending: int | None = None
        for number in range(1, wall.sections + 1):
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
        own = water is not None and self.wets_itself(line, book.lines[water.row.run])
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
        elif own or supply.due <= DROP:
            supply.to_enter = supply.due = mixer.mixes if own else self.stretch(wall, number, mixer)
            self.fill_line(supply, "line", "", 0.0, None)
        self.through(line, supply, mixer.mixes, "mix", "section", mix_seconds(mixer), section)
        supply.due -= mixer.mixes
        self.landed[wall.name, number] = book.lead.now
        if self.first_mix is None:
            self.first_mix = book.lead.now

    def wets_itself(self, line: Line, washer: Line) -> bool:
        """Whether a mix's line wets too: what the washer wets would wait too long for hoses to be changed, or walks."""
        soon = _SOON * float(self.job.tables["defaults"]["wetted_most"])
        return line is washer or shares_gear(line, washer) or swap_seconds(self.book, washer, line) > soon

    def rinse(self, wall: Wall, number: int | None, began: float | None = None) -> None:
        """A section rinsed once it has stood; `began` where a section takes a fixed time."""
        if number is None:
            return
        water, mixer = wall.waterer(number), wall.mixer(number)
        assert water is not None
        assert mixer is not None
        line = self.ready(water.row.run)
        self.rest(line, self.landed[wall.name, number] + mixer.row.dwell_least)
        self.beds_due(wall, number, rinse=True)
        self.top_up(self.spare)
        lasts = rinse_elapsed(self.book, water)
        if wall.fixed is not None and began is not None:
            lasts = max(lasts, wall.fixed - (self.book.lead.now - began))
        section = Section(surface=wall.name, number=number, of=wall.sections)
        self.through(line, None, water.rinses, "rinse", "section", lasts, section)

    # ----------------------------------------------------------------------------------------------- through a line

    def through(
        self, line: Line, supply: Supply | None, volume: float, use: str, onto: str, lasts: float,
        section: Section | None,
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
            self.set(line, supply if stock else None)
            self.gun(line, part, target, use, lasts * part / volume, section)
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
        if not supply.drawn and supply.mix.kind in ("metered", "injector"):
            supply.drawn = True
            seconds = supply.test_seconds(min(volume, supply.to_enter, supply.left))
            self.set(line, supply, jug=True)
            first = seconds * line.flow
            target = onto
            if not onto:
                target, _ = self.into_pail(first, "water", 0.0, whole=True)
            self.gun(line, first, target, use, seconds, section)
            self.book.shut(line)
            if self.book.second is None and line.allowed < inf:
                self.book.power(line, on=False)
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

    # ----------------------------------------------------------------------------------------------- dosing and feed

    def jug_back(self, supply: Supply, down: float) -> None:
        """What a panel's jug has left goes back into its lot."""
        share = supply.load.share
        if share is None:
            return
        left = mixing.neat(share, down) - down
        if left <= DROP:
            return
        detail = Drain(source=f"jug {supply.line.name}", to=share.lot.name, volume=left)
        seconds = self.book.minutes["jug_back"]
        if self.book.second is None:
            self.book.call(detail, "drums", seconds)
        else:
            self.chores.append(Chore(detail=detail, at="drums", seconds=seconds, after=self.book.lead.now))

    # ----------------------------------------------------------------------------------------------- loads

    def supply(self, share: Share) -> Supply:
        """The supply of a mix, its stop points passed and its first load made."""
        mix = share.mix
        assert mix is not None
        found = self.supplies.get(id(mix))
        if found is not None:
            return found
        line = self.ready(share.row.run)
        self.quiet()
        found = self.pool(line, mix)
        self.skip_dregs(found)
        for change in self.book.asked.changes:
            if change.mix == mix.name and id(change) not in self.flushed:
                self.flushed.add(id(change))
                flush_first(self.book, line, change, self.ready_again)
        self.book.phase = "mix"
        mixing.stock_stop(self.book, line, mix)
        self.next_load(found)
        self.book.phase = "wash"
        if line.mix_stop is None:
            line.mix_stop = mixing.before_mix(self.book, line)
            self.last_bed = self.book.lead.now
        return found

    def pool(self, line: Line, mix: MixPlan) -> Supply:
        """The supply of a mix that one line draws, or two at once; what else stands in its tank is drained first."""
        found = Supply(
            line=line, mix=mix, loads=loads_of(mix, self.book.asked.mixes), wanted=sum(part.mix for part in mix.parts)
        )
        for other in self.supplies.values():
            if mix.kind == "premix" and other.mix.kind == "premix" and other.mix.run.feed_tank == mix.run.feed_tank:
                self.drain(other)
        self.supplies[id(mix)] = found
        return found

    def skip_dregs(self, supply: Supply) -> None:
        """Drums and jugs that would not do even the first section are left alone, where the others do without them."""
        wall, number = next((step for step in self.steps if self.mixes_of(step) is supply.mix), (None, 0))
        mixer = wall.mixer(number) if wall is not None else None
        while supply.mix.kind != "premix" and mixer is not None and len(supply.loads) > 1:
            rest = sum(one.most for one in supply.loads[1:])
            if supply.loads[0].gives >= mixer.mixes - DROP or rest < supply.wanted - DROP:
                return
            del supply.loads[0]

    def mixes_of(self, step: tuple[Wall, int]) -> MixPlan | None:
        """The mix of a section."""
        mixer = step[0].mixer(step[1])
        return mixer.mix if mixer is not None else None

    def ends_in(self, supply: Supply, mixer: Share) -> bool:
        """Whether a section takes more than the load in use still gives, with others after it."""
        takes = mixer.mixes if supply.due <= DROP else min(mixer.mixes, supply.to_enter)
        return supply.at + 1 < len(supply.loads) and supply.left < takes - DROP

    def change_load(self, supply: Supply) -> None:
        """The next tankful, drum or jugful, with the gun shut and the pump off."""
        self.quiet()
        if supply.at + 1 >= len(supply.loads):
            # The last of all: what is left of its spare has to do.
            supply.left = inf
            return
        self.drain(supply)
        self.book.phase = "mix"
        self.next_load(supply)
        self.book.phase = "wash"

    def drain(self, supply: Supply) -> None:
        """What a tank still holds above its outlet goes into pails before another batch is made in it."""
        tank = supply.mix.run.feed_tank
        if supply.mix.kind != "premix" or tank is None:
            return
        left, supply.left = min(supply.left, tank.volume), 0.0
        while left > DROP:
            pail, part = self.into_pail(left, supply.mix.chemical, supply.mix.target)
            self.book.call(Drain(source=tank.name, to=pail, volume=part), "drums", self.book.minutes["pail_carried"])
            left -= part

    def leftovers(self) -> list[Left]:
        """What is left in tanks above their outlets, and in the jugs of injectors."""
        found = []
        for one in self.supplies.values():
            mix, tank = one.mix, one.mix.run.feed_tank
            if mix.kind == "premix" and tank is not None and DROP < one.left < inf:
                found.append(Left(place=tank.name, stock=mix.chemical, volume=one.left, strength=mix.target))
            if mix.kind == "injector":
                share = one.jug_share
                poured = sum(load.gives for load in one.loads[: one.at + 1]) * share * default("jug_over")
                used = (sum(part.mix for part in mix.parts) - one.wanted) * share
                stock = one.load.share
                strength = (stock.jug_stock or 0.0) * (stock.lot.nominal or 0.0) if stock is not None else 0.0
                found.append(
                    Left(place=f"jug {one.line.name}", stock=mix.chemical, volume=poured - used, strength=strength)
                )
        return found

    def next_load(self, supply: Supply) -> None:
        """A load made ready."""
        supply.at += 1
        book, load, mix = self.book, supply.load, supply.mix
        if mix.kind == "premix":
            mixing.batch(book, supply.line, mix, load.number)
        elif mix.kind == "metered":
            if supply.at == 0:
                first = self.first_fill(supply)
                if load.share is not None:
                    mixing.jug(book, supply.line, mix, load.share, first * supply.jug_share)
            else:
                book.call(Mark(verb="look", what="lot_read"), "drums", book.minutes["lot_read"])
        elif mix.kind == "injector" and load.share is not None:
            mixing.jug(book, supply.line, mix, load.share, load.gives * supply.jug_share)
        supply.left = load.gives

    def first_fill(self, supply: Supply) -> float:
        """What the draw test sprays [m3]."""
        if supply.first is not None:
            return supply.first
        for wall, number in self.steps:
            mixer = wall.mixer(number)
            if mixer is None or mixer.mix is not supply.mix:
                continue
            water = wall.waterer(number)
            own = water is not None and water.row.run == mixer.row.run
            enters = mixer.mixes if own else self.stretch(wall, number, mixer)
            volume = min(supply.line.volume, enters, supply.load.gives)
            return supply.test_seconds(volume) * supply.line.plan.flow
        return 0.0

    def stretch(self, wall: Wall, number: int, mixer: Share) -> float:
        """All the mix of a line until water goes through it again [m3]."""
        line, whole = self.book.lines[mixer.row.run], 0.0
        for other, section in self.steps[self.steps.index((wall, number)) :]:
            one, water = other.mixer(section), other.waterer(section)
            same = one is not None and one.mix is mixer.mix
            if one is not None and one.row.run == mixer.row.run and not same:
                break
            waters = water is not None and (
                water.row.run == line.name or shares_gear(line, self.book.lines[water.row.run])
            )
            if one is not None and same:
                whole += one.mixes
                if waters:
                    break
            elif waters or (one is not None and shares_gear(line, self.book.lines[one.row.run])):
                break
        return whole

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
            return line.length / pace, 0.0
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

    def between(self, line: Line) -> None:
        """Alone, while mix stands and hoses are changed: the beds do not wait for all of it."""
        book, beds = self.book, self.book.asked.beds
        if book.second is None and beds is not None and self.first_mix is not None:
            ahead = line.length / book.minutes["walk_pace"] + sum(book.minutes[key] for key in _JOINED)
            if book.lead.now + ahead - self.last_bed > beds.every * 0.9:
                self.water_beds(inf)

    def water_beds(self, until: float) -> None:
        """Water on the beds for as long as they have waited, done by `until` [s]."""
        book, beds = self.book, self.book.asked.beds
        assert beds is not None
        flow = book.tap or usual_flow(self.job)
        volume = beds.each * min((book.lead.now - self.last_bed) / beds.every, 1.5)
        volume = min(volume, max(until - book.lead.now, 0.0) * flow)
        if volume <= 0.1 * beds.each:
            return
        for line in book.lines.values():
            if line.on and book.lead.now + volume / flow - line.shut_at > line.allowed:
                book.power(line, on=False)
        source = book.outside() or book.source()
        bed = WaterBed(bed="flower_beds", source=source, volume=volume)
        if book.second is not None:
            book.second.now = max(book.second.now, book.lead.now)
        done = book.do(bed, "grounds", volume / flow, who="second", phase="grounds")
        book.wait_until(done.end)
        self.last_bed = book.lead.now

    def shares_tap(self, wall: Wall) -> bool:
        """Whether a wall's gun draws the tap that the beds are watered from, so that it has to be shut for them."""
        tap = self.book.outside() in ("tap", "hydrant")
        return tap and any(self.book.lines[one.row.run].plan.input.feed == "tap" for one in wall.shares)
