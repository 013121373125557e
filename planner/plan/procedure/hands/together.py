"""Walls of two runs sprayed at once: both worked in as many sections, in step, one at a time, their guns open together.

Each line is in plug flow like any other; where one of them changes between water and mix both guns are shut, and the
second goes to the rig and sets it.  Both draw from one tank, jug or drum: their mixes are made as one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import floor, inf
from typing import TYPE_CHECKING, Final

from planner.inputs.models import Tank
from planner.plan.mix.model import DwellMisfit, GunsMisfit, MixPlan
from planner.plan.procedure.acts import Drain, Read, Section
from planner.plan.procedure.book import PAIL, Book, about
from planner.plan.procedure.hands.beside import Both, Rows, pooled
from planner.plan.procedure.hands.guns import Guns, Shot, Shots
from planner.plan.procedure.hands.pails import Left
from planner.plan.procedure.hands.sections import (
    Share,
    mix_seconds,
    part_of,
    rinse_elapsed,
    wet_seconds,
)
from planner.plan.procedure.hands.supplies import BRIM, DROP, Supply
from planner.plan.procedure.stages import mixing
from planner.plan.water.tap import filler_of, usual_flow, water_tank

if TYPE_CHECKING:
    from planner.plan.procedure.stages.wash import Wash

_MOST: Final = 60
_FULL: Final = 0.8
"""A step takes no more than this share of the tank it draws from, and beds wait no longer than this (our choice)."""

_EARLY: Final = 0.6
"""Beds are watered again while walls stand once they have waited this share of the longest they may (our choice)."""

_SLACK: Final = 5.0
"""Seconds kept from the longest a mix may stand (our choice)."""

# ---------------------------------------------------------------------------------------------------- the work


@dataclass(slots=True, kw_only=True)
class Together:
    """Two guns at work; `enters` [m3] is what mix still goes into each line before water follows it.

    `since` [s] the second has a gun and no hands for anything else.
    """

    wash: Wash
    guns: Guns
    supplies: dict[tuple[int, int], Supply] = field(default_factory=dict)
    enters: list[float] = field(default_factory=lambda: [0.0, 0.0])
    since: float = 0.0

    @property
    def book(self) -> Book:
        """The book."""
        return self.wash.book

    @property
    def tank(self) -> Tank | None:
        """The tank both draw their plain water from; None from tap or pond."""
        run = self.guns.lines[0].plan.input
        return water_tank(self.book.job) if run.premix else run.feed_tank

    def work(self, both: Both) -> None:
        """Two walls, section beside section, then both guns shut and the pump off."""
        for line in self.guns.lines:
            self.wash.ready(line.name)
        self.wash.quiet()
        self.since = self.book.lead.now
        shares, of = self._shares(both)
        same = both.names[0] == both.names[1]
        for name in both.names:
            self.wash.counted[name] = 2 * of if same else of
        rests = both.mixes is not None and not any(share.rinses + share.wets > 0.0 for share in shares)
        for number in range(1, of + 1):
            sections = [
                Section(surface=name, number=2 * number - 1 + own if same else number, of=2 * of if same else of)
                for own, name in enumerate(both.names)
            ]
            if number > 1 and both.mixes is not None:
                self._tap_opened(both.rows, shares)
            began = self.book.lead.now
            if both.mixes is None:
                self._plain(shares, sections)
                continue
            supply = self._supply(both.mixes, shares, of if rests else 1)
            if rests:
                # No change shuts the guns: they are for the beds.
                self._beds_due(max(mix_seconds(share) for share in shares))
            self._load(supply, shares)
            if number == 1 or not rests:
                self._wet(supply, shares, sections, of if rests else 1)
            self._run(
                supply,
                [
                    list(self._in(own, Shot(volume=share.mixes, use="mix", lasts=mix_seconds(share),
                                            section=sections[own])))
                    for own, share in enumerate(shares)
                ],
            )  # fmt: skip
            if not rests and shares[0].rinses > 0.0:
                self._rinse(both.rows, shares, sections, began)
            if supply.wanted <= DROP:
                self._keep_over(supply)
        self.guns.away()
        self._mixing()

    def _tap_opened(self, rows: Rows, shares: Sequence[Share]) -> None:
        """Time for the second to open the tap into the tank before a section that leaves him none, or takes more."""
        book, tank = self.book, self.tank
        filler = filler_of(book.job, tank)
        water = sum(share.wets + share.rinses for share in shares)
        if tank is None or filler is None or not filler.flow() > 0.0 or not water > 0.0:
            return
        hands = book.minutes["fill_hands"]
        stands = max(row.dwell_least for row in rows) if shares[0].rinses > 0.0 else 0.0
        short = water / filler.flow() - max(rinse_elapsed(book, share) for share in shares) - stands
        if short > 0.0 or not stands > 2.0 * (self.guns.walk + book.minutes["power"]) + hands:
            self.guns.away()
            book.wait_until(book.lead.now + max(short, hands) + _SLACK)

    def _mixing(self) -> None:
        """Until now the second has been with a gun; while the lead mixes he is free for the beds."""
        self.wash.paired.append((self.since, self.book.lead.now))

    def _plain(self, shares: Sequence[Share], sections: Sequence[Section]) -> None:
        """A section each without mix: cleaned or wetted, and rinsed."""
        lists = []
        for share, section in zip(shares, sections, strict=True):
            row, count = share.row, share.last
            shots = [
                Shot(volume=share.cleans, use="clean", lasts=row.clean / count, section=section),
                Shot(volume=share.wets, use="wet", lasts=wet_seconds(self.book, share, share.wets), section=section),
                Shot(volume=share.rinses, use="rinse", lasts=rinse_elapsed(self.book, share), section=section),
            ]
            lists.append([shot for shot in shots if shot.volume > DROP])
        self._run(None, lists)

    # ----------------------------------------------------------------------------------------------- a section

    def _wet(self, supply: Supply, shares: Sequence[Share], sections: Sequence[Section], times: int) -> None:
        """Both walls wetted, the last line volume of each with mix on; what no wetting takes goes into pails."""
        lines = self.guns.lines
        volumes = [line.volume for line in lines]
        wets = [max(share.wets, line.volume) if share.wets > 0.0 else 0.0
                for share, line in zip(shares, lines, strict=True)]  # fmt: skip

        def shot(own: int, volume: float) -> Shot:
            if not wets[own] > 0.0:
                return Shot(volume=volume, use="line", onto="")
            lasts = wet_seconds(self.book, shares[own], volume)
            return Shot(volume=volume, use="wet", lasts=lasts, section=sections[own])

        ahead = [max(wets[own] - line.volume, 0.0) for own, line in enumerate(lines)]
        self._run(supply, [[shot(own, volume)] if volume > DROP else [] for own, volume in enumerate(ahead)])
        self.enters = [share.mixes * times for share in shares]
        if not supply.drawn and supply.mix.kind in ("metered", "injector"):
            supply.drawn = True
            seconds = self._test_seconds(supply, self.enters)
            tests = [seconds * line.plan.flow for line in lines]
            self._give([supply, supply], jug=True)
            shots = [replace(shot(own, volume), lasts=seconds) for own, volume in enumerate(tests)]
            self.guns.open([self._pails(one)[0] for one in shots])
            self._tested(supply, tests)
            volumes = [volume - test for volume, test in zip(volumes, tests, strict=True)]
            self.enters = [volume - test for volume, test in zip(self.enters, tests, strict=True)]
        lists = [list(self._in(own, shot(own, volume))) if volume > DROP else []
                 for own, volume in enumerate(volumes)]  # fmt: skip
        self._run(supply, lists, max(mix_seconds(share) for share in shares))

    def _rinse(self, rows: Rows, shares: Sequence[Share], sections: Sequence[Section], began: float) -> None:
        """Both rinsed once the later of the two has stood."""
        book, guns, landed = self.book, self.guns, self.book.lead.now
        least, bound = max(row.dwell_least for row in rows), min(row.dwell_bound for row in rows)
        lasts = max(rinse_elapsed(book, share) for share in shares)
        fixed = max((row.surface.row["section_time"] or 0.0) * row.surface.pace_factor for row in rows)
        until = landed + least
        power = book.minutes["power"]
        guns.called(least)
        if self.tank is not None and least > 2.0 * (guns.walk + power) + book.minutes["fill_hands"]:
            # Nobody opens the tap while both guns are: the second has it run before.
            guns.switch(on=False)
        back = guns.walk + (0.0 if guns.lines[0].on else guns.walk + power)
        beds = book.asked.beds
        if beds is not None and self.wash.first_mix is not None:
            late = until + lasts + back - self.wash.last_bed > beds.every * _FULL
            guns.switch(on=False)
            back = 2.0 * guns.walk + power + (book.minutes["fill_hands"] if self.tank is not None else 0.0)
            self._beds_while(until - back, landed + bound - _SLACK - back if late else 0.0)
        if guns.lines[0].pump is not None and not guns.lines[0].on and book.second is not None:
            book.wait_until(until - power - book.way(book.second, guns.names[1]) - self._to_rig())
        else:
            book.wait_until(until)
        lasts = max(lasts, fixed - (max(book.lead.now, until) - began) if fixed > 0.0 else 0.0)
        self._run(
            None,
            [
                [Shot(volume=share.rinses, use="rinse", lasts=lasts, section=section)]
                for share, section in zip(shares, sections, strict=True)
            ],
            inf,
        )

    def _beds_while(self, until: float, latest: float) -> None:
        """The beds get theirs while the walls stand, the last time just before `until`, or where that is too soon.

        Then it is done by `latest` [s].
        """
        book, wash, beds = self.book, self.wash, self.book.asked.beds
        assert beds is not None
        while wash.last_bed + _EARLY * beds.every < until:
            book.wait_until(max(wash.last_bed + _EARLY * beds.every, book.lead.now))
            before = wash.last_bed
            wash.water_beds(until)
            if wash.last_bed == before:
                break
        flow = book.tap or usual_flow(book.job)
        seconds = beds.each * min((until - wash.last_bed) / beds.every, 1.0) / flow
        book.wait_until(until - seconds)
        wash.water_beds(max(until, latest))

    def _to_rig(self) -> float:
        """The second's way to the rig and back, where he is at the wall [s]."""
        return 2.0 * self.guns.walk if self.book.second is not None and self.book.second.place == "wall" else 0.0

    # ----------------------------------------------------------------------------------------------- through both

    def _in(self, own: int, shot: Shot) -> Iterator[Shot]:
        """A spray by what goes in meanwhile: the mix that is still due, then water."""
        mix = min(shot.volume, self.enters[own])
        mix = shot.volume if shot.volume - mix <= DROP else mix
        self.enters[own] = max(self.enters[own] - mix, 0.0)
        if mix > DROP:
            yield replace(shot.part(mix / shot.volume), mix=True)
        if shot.volume - mix > DROP:
            yield shot.part(1.0 - mix / shot.volume)

    def _pails(self, shot: Shot) -> Shots:
        """A spray that no wall takes by the pails it goes into."""
        if shot.onto:
            return [shot]
        count = int(-(-shot.volume // (PAIL * BRIM)))
        found = []
        for _ in range(count):
            name = self.book.pail()
            self.wash.wastes.append(Left(place=name, stock="water", volume=shot.volume / count, strength=0.0))
            found.append(replace(shot.part(1.0 / count), onto=name))
        return found

    def _run(self, supply: Supply | None, lists: Sequence[Shots], more: float = 0.0) -> None:
        """Both guns' sprays side by side, both shut wherever a dosing changes or a tank, jug or drum is done.

        `more` [s] is how long they may be open after it without being shut; inf where the beds have had theirs.
        """
        ahead = more + max((sum(shot.lasts for shot in shots) for shots in lists), default=0.0)
        for mine, yours in self.guns.evened(
            *([pail for shot in shots for pail in self._pails(shot)] for shots in lists)
        ):
            shots = [mine, yours]
            while True:
                taking = sum(shot.volume for shot in shots if shot.mix)
                share = 1.0
                if supply is not None and taking > 0.0:
                    if supply.left <= DROP:
                        self._change_load(supply)
                    share = min(supply.left / taking, 1.0)
                    share = 1.0 if (1.0 - share) * taking <= DROP else share
                    supply.left -= taking * share
                    supply.wanted -= taking * share
                self._give([supply if shot.mix else None for shot in shots])
                if ahead < inf and not self.guns.lines[0].open:
                    self._beds_due(ahead)
                self.guns.open([shot.part(share) for shot in shots])
                if any(shot.use == "mix" for shot in shots):
                    self.wash.first_mix = self.wash.first_mix or self.book.lead.now
                if share >= 1.0:
                    break
                shots = [shot.part(1.0 - share) for shot in shots]

    def _give(self, supplies: Sequence[Supply | None], *, jug: bool = False) -> None:
        """What goes in at both dosings, changed by the second with both guns shut."""
        book, wash = self.book, self.wash
        changed = [
            (line, supply)
            for line, supply in zip(self.guns.lines, supplies, strict=True)
            if wash.setting.get(line.name, ("water",)) != wash.wanted(line, supply, jug)
        ]
        if not changed:
            return
        self.guns.called(len(changed) * max(book.minutes["draw_from"], book.minutes["set_dosing"]))
        for line, supply in changed:
            wash.setting[line.name] = wash.wanted(line, supply, jug)
            tank = line.plan.input.feed_tank
            if not line.plan.input.premix:
                book.dose(line, wash.dosing(line, supply, jug))
            elif supply is not None and tank is not None:
                book.draw(line, tank.name, mix=True)
            else:
                book.draw(line, book.water_feed(line))

    # ----------------------------------------------------------------------------------------------- the mix

    def _supply(self, mixes: tuple[MixPlan, MixPlan], shares: Sequence[Share], times: int) -> Supply:
        """Both runs' mix, its stop points passed and its first load made."""
        key = (id(mixes[0]), id(mixes[1]))
        if key in self.supplies:
            return self.supplies[key]
        book, wash = self.book, self.wash
        self.guns.shut()
        wash.quiet()
        self._mixing()
        supply = self.supplies[key] = wash.pool(self.guns.lines[0], pooled(mixes))
        _spread(supply)
        takes = sum(share.mixes for share in shares)
        while supply.mix.kind != "premix" and len(supply.loads) > 1 and supply.loads[0].gives < takes - DROP:
            if sum(load.most for load in supply.loads[1:]) < supply.wanted - DROP:
                break
            del supply.loads[0]
        if supply.mix.kind in ("metered", "injector"):
            supply.left = supply.loads[0].gives
            seconds = self._test_seconds(supply, [share.mixes * times for share in shares])
            supply.first = sum(seconds * line.plan.flow for line in self.guns.lines)
        book.phase = "mix"
        mixing.stock_stop(book, self.guns.lines[0], supply.mix)
        wash.next_load(supply)
        book.phase = "wash"
        for line in self.guns.lines:
            if line.mix_stop is None:
                mixing.before_mix(book, line)
                wash.last_bed = wash.bed_from = book.lead.now
        self.since = book.lead.now
        return supply

    def _load(self, supply: Supply, shares: Sequence[Share]) -> None:
        """The next tankful, jug or drum before a section that this one would not last, where the others are enough."""
        takes = sum(min(share.mixes, due) if due > DROP else share.mixes
                    for share, due in zip(shares, self.enters, strict=True))  # fmt: skip
        more = supply.at + 1 < len(supply.loads) and supply.later >= supply.wanted - DROP
        if more and supply.left < takes - DROP:
            self._change_load(supply)

    def _change_load(self, supply: Supply) -> None:
        """The next tankful, drum or jugful; what a tank holds over goes first."""
        self.guns.shut()
        self._keep_over(supply)
        _spread(supply)
        self._beds_due(0.0)
        self._mixing()
        self.wash.change_load(supply)
        self.since = self.book.lead.now

    def _keep_over(self, supply: Supply) -> None:
        """What stands in a tank beyond what its load was to give is left as well."""
        if supply.mix.kind == "premix" and supply.at >= 0 and supply.left < inf:
            supply.left += supply.load.most - supply.load.gives
            supply.load.gives = supply.load.most

    def _test_seconds(self, supply: Supply, enters: Sequence[float]) -> float:
        """How long the draw test's guns are open [s]: the largest whole 5 s that fits both lines."""
        lines = self.guns.lines
        whole = min(min(line.volume, due) / line.plan.flow for line, due in zip(lines, enters, strict=True))
        whole = min(whole, supply.left / sum(line.plan.flow for line in lines))
        seconds = 5.0 * floor(whole / 5.0 + 1e-9) or float(floor(whole + 1e-9)) or whole
        left = [line.volume - seconds * line.plan.flow > DROP for line in lines]
        # Where one line would have its mix at the tip and the other not, both keep some of it for after the reading.
        return seconds if all(left) or not any(left) else max(seconds - 5.0, seconds / 2.0)

    def _tested(self, supply: Supply, tests: Sequence[float]) -> None:
        """The jug read by the second, then the lot in its place."""
        book = self.book
        mine, down = self.guns.lines[0], sum(tests) * supply.jug_share
        supply.left -= sum(tests)
        supply.wanted -= sum(tests)
        minutes = book.minutes
        self.guns.called(minutes["jug_read"] + 2.0 * minutes["set_dosing"] + minutes["jug_back"])
        book.call(Read(), "rig", minutes["jug_read"], run=mine.name, expect=about("jug_down", "m3", down))
        if supply.mix.kind != "metered":
            return
        self._give([supply, supply])
        share = supply.load.share
        left = mixing.neat(share, down) - down if share is not None else 0.0
        if share is not None and left > DROP:
            book.call(
                Drain(source=f"jug {mine.name}", to=share.lot.name, volume=left), "drums", minutes["jug_back"],
                phase="grounds",
            )  # fmt: skip

    # ----------------------------------------------------------------------------------------------- sections, beds

    def _shares(self, both: Both) -> tuple[list[Share], int]:
        """Both runs' work on a section, and in how many: the larger number of the two, more for beds and tank."""
        rows = both.rows
        least = max(row.sections for row in rows) if both.mixes is not None else 1
        beds, tank = self.book.asked.beds, self.tank
        shares = [self._share(both, own, least) for own in range(2)]
        for of in range(least, least + _MOST):
            tried = [self._share(both, own, of) for own in range(2)]
            takes = sum(
                max(share.wets, line.volume if share.mixes > 0.0 else 0.0) + share.mixes + share.rinses + share.cleans
                for share, line in zip(tried, self.guns.lines, strict=True)
            )
            slow = beds is not None and both.mixes is not None and self._longest(tried) > beds.every * _FULL
            if not slow and (tank is None or takes <= _FULL * (tank.volume - tank.dead_volume)):
                shares = tried
                break
        else:
            if beds is not None and both.mixes is not None and self._longest(shares) > beds.every * _FULL:
                self.wash.unpaired.append(GunsMisfit(runs=self.guns.names, why="beds"))
        if both.mixes is not None and rows[0].rinse_volume > 0.0:
            self._dwells(both, shares)
        return shares, shares[0].last

    def _share(self, both: Both, own: int, of: int) -> Share:
        row = both.rows[own]
        part = part_of(self.book.asked, row)
        return Share(
            row=row, mix=part[0] if part is not None else None, first=1, last=of, wets=row.wet_volume / of,
            mixes=part[1].mix / of if part is not None else 0.0, rinses=row.rinse_volume / of,
            cleans=row.clean_volume / of,
        )  # fmt: skip

    def _dwells(self, both: Both, shares: Sequence[Share]) -> None:
        """Walls on which the mix stands too long, however soon the second is back."""
        minutes, allowed = self.book.minutes, self.guns.allowed
        least = max(row.dwell_least for row in both.rows)
        back = minutes["shut"]
        if (allowed < inf and least + 2.0 * self.guns.walk > allowed) or self.book.asked.beds is not None:
            back += 2.0 * (self.guns.walk + minutes["power"])
        for share in shares:
            row = share.row
            if max(least, back) > row.dwell_bound - _SLACK * (row.dwell_bound > least):
                self.wash.misfits.append(
                    DwellMisfit(
                        surface=row.surface.name, shortest=max(least, back), bound=row.dwell_bound,
                        least=row.dwell_least,
                    )
                )  # fmt: skip

    def _longest(self, shares: Sequence[Share]) -> float:
        """The longest both guns are open for a section each, with the second's way there and back [s]."""
        covers = max(
            wet_seconds(self.book, share, max(share.wets, line.volume if share.mixes > 0.0 else 0.0))
            + mix_seconds(share)
            for share, line in zip(shares, self.guns.lines, strict=True)
        )
        return max(covers, *(rinse_elapsed(self.book, share) for share in shares)) + self._back

    @property
    def _back(self) -> float:
        """From the rig to the wall and back, with what is done there [s]."""
        minutes = self.book.minutes
        return 2.0 * self.guns.walk + minutes["shut"] + 2.0 * (minutes["set_dosing"] + minutes["power"])

    def _beds_due(self, ahead: float, until: float = inf) -> None:
        """The beds get theirs at two shut guns before they have waited too long."""
        beds = self.book.asked.beds
        if beds is None or self.wash.first_mix is None:
            return
        if self.book.lead.now + ahead + self._back - self.wash.last_bed > beds.every * _FULL:
            self.guns.switch(on=False)
            self.wash.water_beds(until)


def _spread(supply: Supply) -> None:
    """Every tankful that was planned is made: each of those to come gives its part of what is still to go in."""
    later = supply.loads[supply.at + 1 :]
    if supply.mix.kind == "premix" and later:
        for load in later:
            load.gives = load.most * min(supply.wanted / sum(one.most for one in later), 1.0)
