"""The lines while walls are worked: joined, set, opened and shut, one gun at a time; pails for what no wall takes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import inf

from planner.inputs.joined import JobInput, Role
from planner.physics.hoses import area
from planner.plan.procedure.acts import Draw, Section, SetDosing
from planner.plan.procedure.book import PAIL, Book, Line
from planner.plan.procedure.hands.pailfed import from_pail
from planner.plan.procedure.hands.pails import Left
from planner.plan.procedure.hands.sections import shares_gear
from planner.plan.procedure.hands.supplies import BRIM, DROP, Supply, soap_lot
from planner.plan.procedure.stages import opening
from planner.plan.procedure.stages.trial import strip


@dataclass(slots=True, kw_only=True)
class Gear:
    """What each line's dosing stands on (`setting`), and the pails: those still `catching`, and what is in them.

    `spare` [s]: what is left of how long mix may stand on the wall.
    """

    book: Book
    wastes: list[Left] = field(default_factory=list)
    setting: dict[str, tuple[object, ...]] = field(default_factory=dict)
    catching: set[str] = field(default_factory=set)
    spare: float = inf

    @property
    def job(self) -> JobInput:
        """The job."""
        return self.book.job

    def gun(
        self, line: Line, volume: float, onto: str, use: str, lasts: float, section: Section | None,
        why: str | None = None,
    ) -> None:  # fmt: skip
        """The gun of a line open, any other shut; its pump is on by then."""
        self.lay_down(line)

        def opened(part: float, seconds: float) -> None:
            if self.by_pail(line) and not line.open:
                self.top_up(self.spare)
            self.powered(line)
            self.book.spray(line, part, onto, use, lasts=seconds, section=section, stop=line.mix_stop, why=why)

        if self.by_pail(line):
            from_pail(self.book, line, volume, lasts, opened)
        else:
            opened(volume, lasts)

    def tip(self, line: Line, role: Role) -> None:
        """The tip for what comes next on its gun; no stock is drawn behind any but the mix's own."""
        if line.tip != role:
            if role != "tip":
                self.set(line, None)
            self.quiet()
            walks = 4.0 * line.length / self.book.minutes["walk_pace"]
            self.between(line, walks + self.book.tip_seconds(line, line.tip, role))
            opening.change_tip(self.book, line, role)
            dry = [hose for hose in line.plan.input.hoses_on(role) if hose in line.plan.input.put_on]
            dry = [hose for hose in dry if hose.name not in line.filled]
            if dry and opening.strange(self.book, line):
                self.book.read(
                    strip(self.book, "residual"), "wall", self.book.minutes["strip"], run=line.name, why="mix.reaction"
                )
            if dry:
                # What they hold of air comes out before anything is rinsed or cleaned by the minute.
                line.filled |= {hose.name for hose in dry}
                self.gun(line, sum(area(hose.bore) * hose.length for hose in dry), "ground", "line", 0.0, None)

    def by_pail(self, line: Line) -> bool:
        """Whether what it sprays now is clean water out of a pail of its own."""
        plain = self.setting.get(line.name, ("water",)) == ("water",)
        return plain and self.book.water_feed(line) == "pail"

    def lay_down(self, line: Line) -> None:
        """Any other gun shut, and its pump off if it may not stand so."""
        for other in self.book.lines.values():
            if other is not line:
                self.book.shut(other)
                if other.on and other.allowed < inf:
                    self.book.power(other, on=False)

    def powered(self, line: Line) -> None:
        """The line's pump on; whoever switches it has another's off first, if a switch held it meanwhile."""
        if line.open:
            return
        for other in self.book.lines.values():
            if other.on and line.pump is not None and not line.on and other.pump != line.pump:
                self.book.power(other, on=False)
        self.book.power(line, on=True)

    def quiet(self) -> None:
        """Guns shut and pumps off that may not stand under pressure for long."""
        for line in self.book.lines.values():
            self.book.shut(line)
            if line.on and line.allowed < inf:
                self.book.power(line, on=False)

    def top_up(self, spare: float) -> None:
        """Alone: the tap opened into the tank at the rig, or by a walk there where little is left, within `spare` s."""
        book, own = self.book, self.book.own_fill
        if own is None:
            return
        hands = book.minutes["fill_hands"]
        if book.lead.place == "rig":
            if spare >= hands and own.open(book):
                self.spare -= hands
            return
        far = max(line.length for line in book.lines.values())
        takes = 2.0 * far / book.minutes["walk_pace"] + hands + book.minutes["shut"] + 2.0 * book.minutes["power"]
        if spare >= takes and own.low(book):
            self.quiet()
            own.open(book, walks=True)
            self.spare -= takes

    def into_pail(self, volume: float, stock: str, strength: float, *, whole: bool = False) -> tuple[str, float]:
        """A pail for what no wall takes, the last one where it has room, and how much of it goes in [m3]."""
        last = self.wastes[-1] if self.wastes else None
        same = last is not None and last.place in self.catching and (last.stock, last.strength) == (stock, strength)
        room = PAIL * BRIM - last.volume if same and last is not None else 0.0
        if last is not None and room > (volume if whole else DROP):
            part = min(volume, PAIL * BRIM - last.volume)
            self.wastes[-1] = replace(last, volume=last.volume + part)
            return last.place, part
        part = min(volume, PAIL * BRIM)
        name = self.book.pail()
        self.catching.add(name)
        self.wastes.append(Left(place=name, stock=stock, volume=part, strength=strength))
        return name, part

    def set(self, line: Line, supply: Supply | None, *, jug: bool = False) -> None:
        """What goes in at the dosing: the mix of a supply, or plain water."""
        wanted = self.wanted(line, supply, jug)
        if self.setting.get(line.name, ("water",)) == wanted and (supply is None or line.stock or line.feed):
            return
        self.setting[line.name] = wanted
        book = self.book
        self.lay_down(line)
        ends = None
        if self.by_pail(line):
            # It is drawn as the gun opens.
            book.shut(line)
            return
        seconds = book.minutes["draw_from" if line.plan.input.premix else "set_dosing"]
        if line.open and book.second is not None and book.second.now <= book.lead.now - seconds:
            ends = book.lead.now
        if ends is None:
            book.off_for(line, seconds)
        if line.plan.input.premix:
            if supply is not None and line.plan.input.feed_tank is not None:
                book.draw(line, line.plan.input.feed_tank.name, mix=True, ends=ends)
            else:
                book.draw(line, book.water_feed(line), ends=ends)
        else:
            book.dose(line, self.dosing(line, supply, jug), ends=ends)
        self.top_up(self.spare)

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
        self.between(line)
        opening.set_up(book, line)
        book.phase = book_phase
        self.setting[line.name] = ("water",)
        return line

    def between(self, line: Line, ahead: float | None = None) -> None:
        """What is done before a line is joined, gets another tip, or goes on with another load."""

    def ready_again(self, line: Line) -> None:
        """A line joined, however it stood."""
        self.ready(line.name)
