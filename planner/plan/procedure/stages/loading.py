"""What is mixed for the walls, load after load: tankfuls, drums and jugs made ready, changed, and what is left."""

from __future__ import annotations

from dataclasses import field
from math import inf
from typing import Final, Literal

from planner.frozen import dataclass
from planner.inputs.tables.defaults import default
from planner.plan.mix.model import MixPlan
from planner.plan.procedure.acts import Drain, Mark
from planner.plan.procedure.book import Line
from planner.plan.procedure.hands.gear import Gear
from planner.plan.procedure.hands.pailfed import seconds_more
from planner.plan.procedure.hands.pails import Left
from planner.plan.procedure.hands.sections import Share, Wall, shares_gear, swap_seconds, switch_seconds
from planner.plan.procedure.hands.supplies import DROP, Supply, loads_of
from planner.plan.procedure.stages import mixing
from planner.plan.procedure.stages.first import flush_first

_SOON: Final = 0.8
"""Of how long a wetted wall may wait for its mix, what walks and switches may take (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chore:
    """Something the second does when there is time, once `after` is done."""

    detail: Drain
    at: Literal["drums", "wall"]
    seconds: float
    after: float


@dataclass(slots=True, kw_only=True)
class Loading(Gear):
    """The mixes being made: what each line has of them, and what is left for whoever has time."""

    supplies: dict[int, Supply] = field(default_factory=dict)
    chores: list[Chore] = field(default_factory=list)
    last_bed: float = 0.0
    bed_from: float = 0.0
    steps: list[tuple[Wall, int]] = field(default_factory=list)
    flushed: set[int] = field(default_factory=set)

    def supply(self, share: Share) -> Supply:
        """The supply of a mix, its stop points passed and its first load made."""
        mix = share.mix
        assert mix is not None
        supply = self.supplies.get(id(mix))
        if supply is not None:
            return supply
        line = self.ready(share.row.run)
        self.quiet()
        supply = self.pool(line, mix)
        self.skip_dregs(supply)
        for change in self.book.asked.changes:
            if change.mix == mix.name and id(change) not in self.flushed:
                self.flushed.add(id(change))
                flush_first(self.book, line, change, self.ready_again)
                # Its suction may have been in the tank that was rinsed.
                self.setting[line.name] = ()
        self.book.phase = "mix"
        mixing.stock_stop(self.book, line, mix)
        self.next_load(supply)
        self.book.phase = "wash"
        if line.mix_stop is None:
            line.mix_stop = mixing.before_mix(self.book, line)
            self.last_bed = self.bed_from = self.book.lead.now
        return supply

    def pool(self, line: Line, mix: MixPlan) -> Supply:
        """The supply of a mix that one line draws, or two at once; what else stands in its tank or jug goes first."""
        supply = Supply(
            line=line, mix=mix, loads=loads_of(mix, self.book.asked.mixes), wanted=sum(part.mix for part in mix.parts)
        )
        for other in self.supplies.values():
            if other.vessel == supply.vessel and other.vessel:
                self.drain(other)
            # A line has one draw test.
            supply.drawn |= other.line is line
        self.supplies[id(mix)] = supply
        return supply

    def skip_dregs(self, supply: Supply) -> None:
        """Drums and jugs that would not do even the first section are left alone, where the others do without them."""
        wall, number = next((step for step in self.steps if self.mixes_of(step) is supply.mix), (None, 0))
        mixer = wall.mixer(number) if wall is not None else None
        while supply.mix.kind != "premix" and mixer is not None and len(supply.loads) > 1:
            rest = sum(load.most for load in supply.loads[1:])
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
        if supply.mix.kind == "premix":
            self.drain(supply)
        elif supply.neat and not supply.neat_next:
            # Water goes into no jug that holds a lot as it is sold: its rest goes first.
            rest = self.left_in(supply)
            self.drain(supply)
            supply.drained, supply.poured_out = False, supply.poured_out + (rest.volume if rest is not None else 0.0)
        self.book.phase = "mix"
        self.next_load(supply)
        self.book.phase = "wash"
        self.between(supply.line)

    def drain(self, supply: Supply) -> None:
        """What a tank or an injector's jug still holds goes into pails before something else is made in it."""
        rest = self.left_in(supply)
        supply.left, supply.drained = 0.0, True
        left = rest.volume if rest is not None else 0.0
        while rest is not None and left > DROP:
            pail, part = self.into_pail(left, rest.stock, rest.strength)
            self.book.call(Drain(source=rest.place, to=pail, volume=part), "drums", self.book.minutes["pail_carried"])
            left -= part

    def left_in(self, supply: Supply) -> Left | None:
        """What is left in its tank above the outlet, or in the jug of an injector; None of nothing."""
        mix, strength, volume = supply.mix, supply.mix.target, 0.0
        if mix.kind == "injector" and not supply.drained:
            poured = sum(load.gives for load in supply.loads[: supply.at + 1]) * default("jug_over")
            volume = (poured - (sum(part.mix for part in mix.parts) - supply.wanted)) * supply.jug_share
            volume -= supply.poured_out
            stock = supply.load.share
            strength = (stock.jug_stock or 0.0) * (stock.lot.nominal or 0.0) if stock is not None else 0.0
        elif mix.kind == "premix" and supply.left < inf:
            volume = supply.left
        left = Left(place=supply.vessel, stock=mix.chemical, volume=volume, strength=strength)
        return left if volume > DROP else None

    def leftovers(self) -> list[Left]:
        """What is left in tanks above their outlets, and in the jugs of injectors; not what the next job mixes on."""
        left = [self.left_in(supply) for supply in self.supplies.values() if not supply.mix.stays_for]
        return [one for one in left if one is not None]

    def kept(self) -> list[str]:
        """Tanks in which mix stays for the next job."""
        waits = [supply for supply in self.supplies.values() if supply.mix.stays_for]
        return [supply.vessel for supply in waits if self.left_in(supply) is not None]

    def next_load(self, supply: Supply) -> None:
        """A load made ready."""
        supply.at += 1
        book, load, mix = self.book, supply.load, supply.mix
        if mix.kind == "premix":
            mixing.batch(book, supply.line, mix, load.number)
        elif mix.kind == "metered":
            if supply.at == 0:
                first = self.first_fill(supply)
                if load.share is not None and not supply.drawn:
                    mixing.jug(book, supply.line, mix, load.share, first * supply.jug_share)
            else:
                book.call(Mark(verb="look", what="lot_read"), "drums", book.minutes["lot_read"])
        elif mix.kind == "injector":
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
        lines, whole = self.book.lines, 0.0
        line = lines[mixer.row.run]
        for other, section in self.steps[self.steps.index((wall, number)) :]:
            share, water = other.mixer(section), other.waterer(section)
            same = share is not None and share.mix is mixer.mix
            if share is not None and share.row.run == mixer.row.run and not same:
                break
            waters = water is not None and (water.row.run == line.name or shares_gear(line, lines[water.row.run]))
            if share is not None and same:
                wets = whole > 0.0 and water is not None and water.wets > 0.0
                if wets and water is not None and self.wets_itself(share, lines[water.row.run]):
                    break
                whole += share.mixes
                if waters:
                    break
            elif waters or (share is not None and shares_gear(line, lines[share.row.run])):
                break
        return whole

    def wets_itself(self, mixer: Share, washer: Line) -> bool:
        """Whether a mix's line wets too: what the washer wets would wait too long for hoses to be changed, or walks.

        The line is filled with mix meanwhile, and a section that takes less than it holds waits for water behind it.
        """
        line = self.book.lines[mixer.row.run]
        soon = _SOON * float(self.job.tables["defaults"]["wetted_most"])
        waits = swap_seconds(self.book, washer, line) + line.volume / line.plan.flow
        if mixer.mixes < line.volume - DROP:
            waits += switch_seconds(self.book, line)
        if self.book.water_feed(line) == "pail":
            waits += seconds_more(self.book, line, line.volume, 0.0)
        return line is washer or shares_gear(line, washer) or waits > soon

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
