"""The walls, one after another: wet, mix, dwell, rinse, with every change of mix and water as an act of its own.

A line is in plug flow: the last line volume of a wetting goes in with mix on, the last of the mix with water on, so
that each lands where it should.  A section that takes less mix than the hose holds gets it as a slug between two
waters.  A line that no water goes through between its sections stays on mix from its first to its last.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil, floor, inf
from typing import Final, Literal

from planner.inputs.defaults import default
from planner.inputs.joined import JobInput
from planner.plan.mix_model import DwellMisfit, GunsMisfit, LotShare, MixPlan
from planner.plan.procedure import mixing, opening
from planner.plan.procedure.acts import (
    Drain,
    Draw,
    Fill,
    Mark,
    Read,
    Section,
    SetDosing,
    WaterBed,
)
from planner.plan.procedure.beside import pairs_of
from planner.plan.procedure.book import PAIL, Book, Draft, Line, about
from planner.plan.procedure.first import flush_first
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
    walls_of,
    wet_seconds,
)
from planner.plan.procedure.together import Together
from planner.plan.procedure.water import kept_for_acid
from planner.plan.tap import usual_flow

_DROP: Final = 1e-9
"""Less than this [m3] is nothing."""

_SPELL: Final = 0.5
"""Plain work is done in spells that take no more than this share of a water tank (our choice)."""

_BRIM: Final = 0.98
"""A pail is filled no higher than this share of it (our choice)."""


@dataclass(slots=True, kw_only=True)
class Load:
    """One tankful, drum or jugful of a mix: it gives `gives` [m3] of mix as planned, `most` where it has to."""

    number: int
    gives: float
    most: float
    share: LotShare | None = None


@dataclass(slots=True, kw_only=True)
class Supply:
    """A mix on its line: its loads, what the one in use still gives.

    `to_enter` [m3] goes in before water follows, `due` is still to land of that; `wanted` of all of it has not gone in.
    `first` [m3] is what the draw test of two guns at once sprays.
    """

    line: Line
    mix: MixPlan
    loads: list[Load]
    wanted: float
    at: int = -1
    left: float = 0.0
    to_enter: float = 0.0
    due: float = 0.0
    drawn: bool = False
    first: float | None = None

    @property
    def load(self) -> Load:
        """The load in use."""
        return self.loads[max(self.at, 0)]

    @property
    def later(self) -> float:
        """What the loads after this one can give [m3]."""
        return sum(one.most for one in self.loads[self.at + 1 :])


@dataclass(frozen=True, slots=True, kw_only=True)
class Chore:
    """Something the second does when there is time, once `after` is done."""

    detail: Drain
    at: Literal["drums", "wall"]
    seconds: float
    after: float


@dataclass(slots=True, kw_only=True)
class Wash:
    """The work on the walls being gone through."""

    book: Book
    walls: tuple[Wall, ...] = ()
    supplies: dict[int, Supply] = field(default_factory=dict)
    wastes: list[Left] = field(default_factory=list)
    chores: list[Chore] = field(default_factory=list)
    landed: dict[tuple[str, int], float] = field(default_factory=dict)
    first_mix: float | None = None
    last_bed: float = 0.0
    steps: list[tuple[Wall, int]] = field(default_factory=list)
    setting: dict[str, tuple[object, ...]] = field(default_factory=dict)
    flushed: set[int] = field(default_factory=set)
    counted: dict[str, int] = field(default_factory=dict)
    misfits: list[DwellMisfit] = field(default_factory=list)
    unpaired: list[GunsMisfit] = field(default_factory=list)
    paired: list[tuple[float, float]] = field(default_factory=list)
    catching: set[str] = field(default_factory=set)

    @property
    def job(self) -> JobInput:
        """The job."""
        return self.book.job

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
            if water is not None and id(mixer.mix) not in self.supplies and not apart(self.book, mixer, water):
                self.ready(water.row.run)
            supply = self.supply(mixer)
            if self.ends_in(supply, mixer):
                # Nothing stands on a wall while a tank, drum or jug is changed.
                self.rinse(wall, pending)
                pending = None
                if supply.later >= supply.wanted - _DROP:
                    self.change_load(supply)
            began = self.book.lead.now
            self.beds_due(wall, number)
            self.cover(wall, number, mixer, water, supply)
            if water is None or not water.rinses > 0.0:
                continue
            if wall.ahead:
                self.rinse(wall, pending)
                pending = number
            else:
                self.rinse(wall, number, began)
        self.rinse(wall, pending)

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
        for _ in range(count):
            self.through(line, None, volume / count, use, "section", lasts / count, section)

    def cover(self, wall: Wall, number: int, mixer: Share, water: Share | None, supply: Supply) -> None:
        """A section wetted, and its mix on it."""
        book, line = self.book, supply.line
        section = Section(surface=wall.name, number=number, of=wall.sections)
        own = water is not None and water.row.run == mixer.row.run
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
        elif own or supply.due <= _DROP:
            supply.to_enter = supply.due = mixer.mixes if own else self.stretch(wall, number, mixer)
            self.fill_line(supply, "line", "", 0.0, None)
        self.through(line, supply, mixer.mixes, "mix", "section", mix_seconds(mixer), section)
        supply.due -= mixer.mixes
        self.landed[wall.name, number] = book.lead.now
        if self.first_mix is None:
            self.first_mix = book.lead.now

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
        while left > _DROP:
            stock = supply is not None and supply.to_enter > _DROP
            part = left
            if stock and supply is not None:
                if supply.left <= _DROP:
                    self.change_load(supply)
                part = min(left, supply.to_enter, supply.left)
                # A drop less or more is the same: no act is made for it.
                part = left if left - part <= _DROP else part
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
                supply.to_enter = 0.0 if supply.to_enter <= _DROP else supply.to_enter

    def fill_line(
        self, supply: Supply, use: str, onto: str, lasts: float, section: Section | None
    ) -> None:  # fmt: skip
        """A line volume that brings the mix to the tip; the first of a panel or injector tells what it draws."""
        line, volume = supply.line, supply.line.volume
        if not supply.drawn and supply.mix.kind in ("metered", "injector"):
            supply.drawn = True
            seconds = self.test_seconds(supply, min(volume, supply.to_enter, supply.left))
            self.set(line, supply, jug=True)
            first = seconds * line.flow
            target = onto
            if not onto:
                target, _ = self.into_pail(first, "water", 0.0, whole=True)
            self.gun(line, first, target, use, seconds, section)
            self.book.shut(line)
            if self.book.second is None and line.allowed < inf:
                self.book.power(line, on=False)
            down = first * self.jug_share(supply)
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

    def gun(
        self, line: Line, volume: float, onto: str, use: str, lasts: float, section: Section | None
    ) -> None:  # fmt: skip
        """The gun of a line open, any other shut; its pump is on by then."""
        book = self.book
        self.lay_down(line)
        self.powered(line)
        fill = self.pail_kept_full(line, volume, lasts)
        done = book.spray(line, volume, onto, use, lasts=lasts, section=section, stop=line.mix_stop)
        if fill is not None and book.second is not None:
            # The walk to the wall comes first: what is drawn is filled while it is drawn.
            fill.start = done.end - max(lasts, volume / line.flow)
            fill.lasts = done.end - fill.start
            fill.hands = min(fill.hands or 0.0, fill.lasts)

    def lay_down(self, line: Line) -> None:
        """Any other gun shut, and its pump off if it may not stand so."""
        for other in self.book.lines.values():
            if other is not line:
                self.book.shut(other)
                if other.on and other.allowed < inf:
                    self.book.power(other, on=False)

    def powered(self, line: Line) -> None:
        """The line's pump on."""
        if not line.open:
            self.book.power(line, on=True)

    def pail_kept_full(self, line: Line, volume: float, lasts: float) -> Draft | None:
        """A suction that stood in acid draws from a pail, which is topped up while it does."""
        if not line.feed.startswith("pail") or self.book.second is None:
            return None
        source = self.book.outside() or self.book.source()
        seconds = max(lasts, volume / line.flow)
        self.book.second.now = self.book.lead.now
        return self.book.do(
            Fill(into=line.feed, source=source, volume=volume), "drums", seconds, who="second",
            hands=self.book.minutes["fill_hands"],
        )  # fmt: skip

    def into_pail(self, volume: float, stock: str, strength: float, *, whole: bool = False) -> tuple[str, float]:
        """A pail for what no wall takes, the last one where it has room, and how much of it goes in [m3]."""
        last = self.wastes[-1] if self.wastes else None
        same = last is not None and last.place in self.catching and (last.stock, last.strength) == (stock, strength)
        room = PAIL * _BRIM - last.volume if same and last is not None else 0.0
        if last is not None and room > (volume if whole else _DROP):
            part = min(volume, PAIL * _BRIM - last.volume)
            self.wastes[-1] = replace(last, volume=last.volume + part)
            return last.place, part
        part = min(volume, PAIL * _BRIM)
        name = self.book.pail()
        self.catching.add(name)
        self.wastes.append(Left(place=name, stock=stock, volume=part, strength=strength))
        return name, part

    # ----------------------------------------------------------------------------------------------- dosing and feed

    def set(self, line: Line, supply: Supply | None, *, jug: bool = False) -> None:
        """What goes in at the dosing: the mix of a supply, or plain water."""
        wanted = self.wanted(line, supply, jug)
        if self.setting.get(line.name, ("water",)) == wanted and (supply is None or line.stock or line.feed):
            return
        self.setting[line.name] = wanted
        book = self.book
        self.lay_down(line)
        ends = None
        pailed = line.plan.input.premix and supply is None and kept_for_acid(book, line)
        if line.open and book.second is not None and not pailed:
            seconds = book.minutes["draw_from" if line.plan.input.premix else "set_dosing"]
            if book.second.now <= book.lead.now - seconds:
                ends = book.lead.now
        if line.open and ends is None:
            book.shut(line)
            if book.second is None and line.allowed < inf:
                book.power(line, on=False)
        if line.plan.input.premix:
            if supply is not None and line.plan.input.feed_tank is not None:
                book.draw(line, line.plan.input.feed_tank.name, mix=True, ends=ends)
            else:
                book.draw(line, self.clean_feed(line), ends=ends)
            return
        book.dose(line, self.dosing(line, supply, jug), ends=ends)

    def wanted(self, line: Line, supply: Supply | None, jug: bool) -> tuple[object, ...]:
        """What a setting is known by."""
        if supply is None:
            return ("water",)
        if line.plan.input.premix:
            return ("mix",)
        if supply.mix.kind == "injector":
            return ("jug",)
        return ("jug" if jug else "mark", id(supply.mix), supply.at)

    def dosing(self, line: Line, supply: Supply | None, jug: bool) -> SetDosing:
        """The dosing's act."""
        if supply is None:
            return SetDosing(run=line.name, to="water")
        mix = supply.mix
        if mix.kind == "injector":
            device = mix.run.dosing
            ratio = device.water_to_stock if device is not None and device.water_to_stock is not None else 0.0
            return SetDosing(
                run=line.name, to="jug", draws=(Draw(source=f"jug {supply.line.name}", share=1.0 / (1.0 + ratio)),)
            )  # fmt: skip
        draws = []
        share = supply.load.share
        if share is not None and share.share:
            draws.append(Draw(source=f"jug {supply.line.name}" if jug else share.lot.name, share=share.share))
        if mix.soap_share > 0.0:
            draws.append(Draw(source=soap_lot(mix), share=mix.soap_share))
        mark = share.dial if share is not None and share.dial is not None else mix.dial
        return SetDosing(run=line.name, to="mark", draws=tuple(draws), mark=mark)

    def clean_feed(self, line: Line) -> str:
        """Plain water for a line that sprays tankfuls; a suction that stands in acid gets a pail of its own."""
        if not kept_for_acid(self.book, line):
            return self.book.water_feed(line)
        name = self.book.pail()
        source = self.book.outside() or self.book.source()
        volume = PAIL * 0.8
        seconds = volume / (self.book.tap or usual_flow(self.job))
        self.book.call(Fill(into=name, source=source, volume=volume), "drums", seconds)
        self.wastes.append(Left(place=name, stock="water", volume=volume, strength=0.0))
        return name

    def jug_share(self, supply: Supply) -> float:
        """What of the flow comes out of the jug [-]."""
        device = supply.mix.run.dosing
        if supply.mix.kind == "injector" and device is not None and device.water_to_stock is not None:
            return 1.0 / (1.0 + device.water_to_stock)
        share = supply.load.share
        return share.share or 0.0 if share is not None else supply.mix.soap_share

    def test_seconds(self, supply: Supply, volume: float) -> float:
        """How long the draw test's gun is open [s]: the largest whole 5 s that fits, under that whole seconds."""
        whole = volume / supply.line.plan.flow
        return 5.0 * floor(whole / 5.0 + 1e-9) or float(floor(whole + 1e-9)) or whole

    def jug_back(self, supply: Supply, down: float) -> None:
        """What a panel's jug has left goes back into its lot."""
        share = supply.load.share
        if share is None:
            return
        left = mixing.neat(share, down) - down
        if left <= _DROP:
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
        """The supply of a mix that two lines draw at once, what else stands in its tank drained first."""
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
            if supply.loads[0].gives >= mixer.mixes - _DROP or rest < supply.wanted - _DROP:
                return
            del supply.loads[0]

    def mixes_of(self, step: tuple[Wall, int]) -> MixPlan | None:
        """The mix of a section."""
        mixer = step[0].mixer(step[1])
        return mixer.mix if mixer is not None else None

    def ends_in(self, supply: Supply, mixer: Share) -> bool:
        """Whether a section takes more than the load in use still gives, with others after it."""
        takes = mixer.mixes if supply.due <= _DROP else min(mixer.mixes, supply.to_enter)
        return supply.at + 1 < len(supply.loads) and supply.left < takes - _DROP

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
        while left > _DROP:
            pail, part = self.into_pail(left, supply.mix.chemical, supply.mix.target)
            self.book.call(Drain(source=tank.name, to=pail, volume=part), "drums", self.book.minutes["pail_carried"])
            left -= part

    def leftovers(self) -> list[Left]:
        """What is left in tanks above their outlets, and in the jugs of injectors."""
        found = []
        for one in self.supplies.values():
            mix, tank = one.mix, one.mix.run.feed_tank
            if mix.kind == "premix" and tank is not None and _DROP < one.left < inf:
                found.append(Left(place=tank.name, stock=mix.chemical, volume=one.left, strength=mix.target))
            if mix.kind == "injector":
                share = self.jug_share(one)
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
                    mixing.jug(book, supply.line, mix, load.share, first * self.jug_share(supply))
            else:
                book.call(Mark(verb="look", what="lot_read"), "drums", book.minutes["lot_read"])
        elif mix.kind == "injector" and load.share is not None:
            mixing.jug(book, supply.line, mix, load.share, load.gives * self.jug_share(supply))
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
            return self.test_seconds(supply, volume) * supply.line.plan.flow
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

    def ready(self, run: str) -> Line:
        """A line joined and tested; what has its hoses or pump is taken off first."""
        book, line = self.book, self.book.lines[run]
        if line.joined:
            return line
        book_phase = book.phase
        self.quiet()
        for other in book.lines.values():
            if other.joined and shares_gear(line, other):
                self.setting.pop(other.name, None)
                opening.take_off(book, other)
        opening.set_up(book, line)
        book.phase = book_phase
        self.setting[line.name] = ("water",)
        return line

    def ready_again(self, line: Line) -> None:
        """A line joined, however it stood."""
        self.ready(line.name)

    def quiet(self) -> None:
        """Guns shut and pumps off that may not stand under pressure for long."""
        for line in self.book.lines.values():
            self.book.shut(line)
            if line.on and line.allowed < inf:
                self.book.power(line, on=False)

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
        walk = 0.0
        if book.second is None and book.lead.place == "rig":
            walk = line.length / book.minutes["walk_pace"]
        switch = book.minutes["power"] if line.pump is not None and not line.on else 0.0
        if book.second is None and book.asked.beds is not None and self.first_mix is not None:
            self.water_beds(moment - walk - switch)
        book.wait_until(max(moment - walk - switch, book.lead.now))

    # ----------------------------------------------------------------------------------------------- beds, alone

    def beds_due(self, wall: Wall, number: int, *, rinse: bool = False) -> None:
        """Alone: the beds get theirs at a shut gun before they have waited too long."""
        book, beds = self.book, self.book.asked.beds
        if beds is None or self.first_mix is None or (book.second is not None and not self.shares_tap()):
            return
        share = wall.waterer(number) if rinse else wall.mixer(number)
        if share is None:
            return
        ahead = rinse_elapsed(book, share) if rinse else cover_seconds(book, wall, number)
        if book.lead.now + ahead - self.last_bed > beds.every * 0.9:
            for line in book.lines.values():
                book.shut(line)
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

    def shares_tap(self) -> bool:
        """Whether a gun draws the tap that the beds are watered from, so that it has to be shut for them."""
        tap = self.book.outside() in ("tap", "hydrant")
        return tap and any(line.joined and line.feed in ("tap", "hydrant") for line in self.book.lines.values())


def soap_lot(mix: MixPlan) -> str:
    """The lot a panel draws its soap from."""
    return next((one.lot.name for one in mix.soaps if one.stock > 0.0), mix.soaps[0].lot.name if mix.soaps else "soap")


def loads_of(mix: MixPlan, mixes: Sequence[MixPlan]) -> list[Load]:
    """The tankfuls, drums or jugfuls of a mix in their order; what others of the `mixes` take of a drum is theirs."""
    planned: dict[str, float] = {}
    for share in (share for one in mixes for share in one.pours):
        planned[share.lot.name] = planned.get(share.lot.name, 0.0) + share.stock
    return list(_loads(mix, planned))


def _loads(mix: MixPlan, taken: Mapping[str, float]) -> Iterator[Load]:
    if mix.kind == "premix":
        tank = mix.run.feed_tank
        dead = tank.dead_volume if tank is not None else 0.0
        for number, batch in enumerate(mix.batches, start=1):
            gives = max(batch.mix - dead, 0.0)
            yield Load(number=number, gives=gives, most=gives)
        return
    shares: Sequence[LotShare] = [one for one in mix.pours if one.stock > 0.0]
    if not shares:
        yield Load(number=1, gives=inf, most=inf)
        return
    whole = sum(part.mix for part in mix.parts)
    for number, share in enumerate(shares, start=1):
        last = number == len(shares)
        planned = share.mix or 0.0
        on_hand = share.lot.on_hand
        spare = max(on_hand - taken[share.lot.name], 0.0) if on_hand is not None and share.share else inf
        if mix.kind == "metered":
            most = planned + spare / (share.share or 1.0)
            yield Load(number=number, gives=inf if last else planned, most=most, share=share)
            continue
        # A drum that is emptied gives no more than it holds, and the jug holds a little over.
        gives = whole if last else min(planned / default("jug_over"), whole)
        whole -= gives
        device = mix.run.dosing
        ratio = device.water_to_stock if device is not None and device.water_to_stock is not None else 0.0
        count = max(ceil(gives * default("jug_over") / (1.0 + ratio) / (PAIL * _BRIM) - 1e-9), 1)
        for jug in range(count):
            yield Load(number=number + jug, gives=gives / count, most=gives / count, share=share)
