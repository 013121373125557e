"""Walls in sections: how large, and in which of two patterns, so that every dwell fits and least time is lost.

One ahead: wet and mix the next section while this one stands, then come back and rinse this one; a section stands for
one rinse, one wetting and one mix.  Or one at a time: wet, mix, wait, rinse.  Sections are equal parts of a wall,
numbered once for all its runs; runs that share a wall take whole sections.

A section's pattern and size are chosen least time first, so that every dwell fits with its slack to spare; where the
acts stand longer than was thought, sections are sized anew (`procedure/make.py`), and what cannot fit is `wall.dwell`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from math import isclose

from planner.frozen import dataclass
from planner.plan.mix.model import DwellMisfit, MixPlan, SurfaceMix, SurfaceWork
from planner.plan.procedure.asked import Asked
from planner.plan.procedure.book import Book, Line
from planner.plan.procedure.hands.pailfed import seconds_more

_MOST = 60
"""So many section sizes are tried, each with one section more (our choice)."""

_SLACK = 30.0
"""Seconds a planned dwell keeps from its longest: for shutting, walking and switching (our choice)."""

_SLACK_ALONE = 120.0
"""The same for one person, who walks and waters too (our choice)."""

_NOISE = 1e-9
_REJOINED = (
    "relieve", "part", "join", "set_dosing", "draw_from", "prime", "breaker", "gun", "stop_point"
)  # fmt: skip
"""What is done to change one line for another, by its row in the table of minutes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """One run's part of a wall: sections `first` to `last` of it; volumes [m3] of one section.

    So many `mists` of it, `mist` [m3] each, are a part of what it `mixes`.
    """

    row: SurfaceWork
    mix: MixPlan | None
    first: int
    last: int
    wets: float
    mixes: float
    rinses: float
    cleans: float
    mists: int = 0
    mist: float = 0.0

    def does(self, section: int) -> bool:
        """Whether it works on a section."""
        return self.first <= section <= self.last


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A surface as it is worked: `sections` of it, one `ahead` or one at a time, by the runs' `shares`.

    `spare` [s]: a section may stand so much longer than is planned.
    """

    name: str
    sections: int
    ahead: bool
    shares: tuple[Share, ...]
    fixed: float | None
    misfit: DwellMisfit | None = None
    spare: float = 0.0

    def mixer(self, section: int) -> Share | None:
        """Who puts mix on a section."""
        return next((share for share in self.shares if share.mixes > 0.0 and share.does(section)), None)

    def waterer(self, section: int) -> Share | None:
        """Who wets and rinses a section."""
        return next((share for share in self.shares if share.wets + share.rinses > 0.0 and share.does(section)), None)

    @property
    def cleaners(self) -> tuple[Share, ...]:
        """Who cleans it with plain water first."""
        return tuple(share for share in self.shares if share.cleans > 0.0)


def walls_of(book: Book) -> tuple[Wall, ...]:
    """Every surface in the order it is first worked on."""
    asked = book.asked
    rows: dict[str, list[SurfaceWork]] = {}
    for work in asked.work:
        if book.lines[work.run].plan.flow > 0.0:
            rows.setdefault(work.surface.name, []).append(work)
    walls = [_wall(book, name, of_wall) for name, of_wall in rows.items()]
    # A mix is used up before the next one is made in its tank or jug.
    made = [next((id(share.mix) for share in wall.shares if share.mix is not None), None) for wall in walls]
    order = {number: made.index(mix) if mix is not None else number for number, mix in enumerate(made)}
    walls = [walls[number] for number in sorted(order, key=lambda number: (order[number], number))]
    sides = asked.job.sides or ()
    if sides:
        for stretch in sides_of(book, walls):
            own = sorted((walls[at] for at in stretch), key=lambda wall: _place(wall.name, sides))
            walls[stretch.start : stretch.stop] = own
    return tuple(walls)


def sides_of(book: Book, walls: Sequence[Wall]) -> list[range]:
    """Stretches of walls whose order is free: the same runs put the same on them, and it is known where they face.

    What is sprayed at once has its own order.
    """

    def alike(wall: Wall) -> object:
        if not wall.shares:
            return wall.name
        first = wall.shares[0].row.surface
        together = any(book.lines[share.row.run].plan.input.same_time for share in wall.shares)
        if first.faces is None or together:
            return wall.name
        return first.row["family"], first.rinse, tuple((share.row.run, id(share.mix)) for share in wall.shares)

    found, at = [], 0
    for _, of in groupby(walls, key=alike):
        found.append(range(at, at + len(list(of))))
        at = found[-1].stop
    return [stretch for stretch in found if len(stretch) > 1]


def turns_of(asked: Asked, walls: Sequence[Wall]) -> list[tuple[Wall, list[int]]]:
    """The walls with their sections in the order they are worked.

    Mixes made in one tank follow each other as they are planned, each on what the one before left in it: a wall that
    two of them share is come back to.
    """
    turns = [(wall, part) for wall in walls for part in _by_tank(wall)]
    made = [_made_for(wall, part[0]) for wall, part in turns]
    first = {mix: made.index(mix) for mix in made if mix is not None}
    tanks: dict[str, list[int]] = {}
    for mix in asked.mixes:
        if id(mix) in first and mix.kind == "premix" and mix.run.feed_tank is not None:
            tanks.setdefault(mix.run.feed_tank.name, []).append(id(mix))
    for mixes in tanks.values():
        first |= dict(zip(mixes, sorted(first[mix] for mix in mixes), strict=True))
    order = [first[mix] if mix is not None else number for number, mix in enumerate(made)]
    return [turns[number] for number in sorted(range(len(turns)), key=lambda number: (order[number], number))]


def _by_tank(wall: Wall) -> list[list[int]]:
    """Its sections by their mix where two of those are made in one tank, else all of them."""
    mixes = {id(share.mix): share.mix for share in wall.shares if share.mix is not None and share.mix.kind == "premix"}
    tanks = [mix.run.feed_tank.name for mix in mixes.values() if mix.run.feed_tank is not None]
    whole = len(set(tanks)) == len(tanks)
    numbers = range(1, wall.sections + 1)
    return [list(own) for _, own in groupby(numbers, lambda number: None if whole else _made_for(wall, number))]


def _made_for(wall: Wall, section: int) -> int | None:
    """Which mix goes on a section."""
    mixer = wall.mixer(section)
    return id(mixer.mix) if mixer is not None else None


def _place(name: str, sides: Sequence[str]) -> int:
    return sides.index(name) if name in sides else len(sides)


def part_of(asked: Asked, row: SurfaceWork) -> tuple[MixPlan, SurfaceMix] | None:
    """The mix a run puts on a surface, with what of it; None for plain water, or a mix that is not made."""
    for mix in asked.mixes:
        for part in mix.parts:
            if mix.run.name == row.run and part.surface.name == row.surface.name and mix.mix:
                return mix, part
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Try:
    """One size and pattern: seconds in all, the longest a section stands, how long its mix is being put on."""

    sections: int
    ahead: bool
    seconds: float
    stands: float
    applies: float = 0.0


def _wall(book: Book, name: str, rows: Sequence[SurfaceWork]) -> Wall:
    first = rows[0]
    found = {id(row): part_of(book.asked, row) for row in rows}
    mixers = [row for row in rows if found[id(row)] is not None]
    row = mixers[0] if mixers else first
    table = row.surface.row
    if not mixers or table["section_time"]:
        least = row.sections if mixers else 1
        wall = _made(book, name, rows, found, _split(least, _parts(rows, found)), False)
        return wall if not mixers or table["section_time"] is None else _fixed(book, wall, row)
    tries = list(_tries(book, name, rows, found, row))
    bound, more = _longest(book, row), book.spare.get(name, 0.0)
    rinsed = any(work.rinse_volume > 0.0 for work in rows)
    if not rinsed:
        best = min(tries, key=lambda one: (one.seconds, one.sections))
        return _made(book, name, rows, found, best.sections, False)
    # One at a time is waited for to the second; one ahead needs room for what comes between.
    borne = [
        attempt for attempt in tries if attempt.stands <= (bound if attempt.ahead else row.dwell_bound - more) + _NOISE
    ]
    if row.mists is not None:
        # Who keeps a section wet covers no other meanwhile.
        borne = [attempt for attempt in borne if not attempt.ahead]
    borne = [attempt for attempt in borne if _wet_long_enough(row, attempt)] or borne
    fitting = [attempt for attempt in borne if attempt.stands <= row.dwell_most + _NOISE] or borne
    misfit = None
    if not fitting:
        fitting = [min(tries, key=lambda one: one.stands)]
        misfit = DwellMisfit(
            surface=name, shortest=fitting[0].stands, bound=row.dwell_bound, least=row.dwell_least
        )  # fmt: skip
    best = min(fitting, key=lambda one: (one.seconds, one.sections))
    wall = _made(book, name, rows, found, best.sections, best.ahead, misfit)
    return replace(wall, spare=max(bound - best.stands, 0.0))


def _wet_long_enough(row: SurfaceWork, attempt: _Try) -> bool:
    """Whether the first strip of a section is wetted again, or rinsed, before it may be dry."""
    if row.dries is None or row.dries.supposed:
        return True
    if row.mists is not None:
        return attempt.applies <= row.mists.every
    return attempt.applies + attempt.stands <= row.dries.low


def _longest(book: Book, row: SurfaceWork) -> float:
    """The longest a section is planned to stand [s]: alone the walks and the beds need more room."""
    slack = _SLACK if book.second is not None else _SLACK_ALONE
    return row.dwell_bound - slack - book.spare.get(row.surface.name, 0.0)


def _fixed(book: Book, wall: Wall, row: SurfaceWork) -> Wall:
    """A wall whose sections take a fixed time each: its dwell is waited for, one section at a time."""
    change = _stands(book, wall, 1)
    if change <= row.dwell_bound + _NOISE:
        return wall
    misfit = DwellMisfit(surface=wall.name, shortest=change, bound=row.dwell_bound, least=row.dwell_least)
    return Wall(
        name=wall.name, sections=wall.sections, ahead=False, shares=wall.shares, fixed=wall.fixed, misfit=misfit
    )  # fmt: skip


def _parts(rows: Sequence[SurfaceWork], found: Mapping[int, tuple[MixPlan, SurfaceMix] | None]) -> list[list[float]]:
    """What part of the wall each run takes, of those that do the same on it."""
    kinds = [
        [part[1].area for row in rows if (part := found[id(row)]) is not None],
        [row.wet_volume + row.rinse_volume for row in rows if row.wet_volume + row.rinse_volume > 0.0],
        [row.clean_volume for row in rows if row.clean_volume > 0.0],
    ]
    return [[one / sum(kind) for one in kind] for kind in kinds if len(kind) > 1 and sum(kind) > 0.0]


def _split(least: int, parts: Sequence[Sequence[float]]) -> int:
    """The fewest sections, `least` of them or more, of which each run gets a whole number."""
    for number in range(max(least, *(len(part) for part in parts), 1), least + 200):
        if all(isclose(part * number, round(part * number), abs_tol=1e-6) for one in parts for part in one):
            return number
    return max(least, *(len(part) for part in parts), 1)


def _made(
    book: Book, name: str, rows: Sequence[SurfaceWork], found: Mapping[int, tuple[MixPlan, SurfaceMix] | None],
    sections: int, ahead: bool, misfit: DwellMisfit | None = None,
) -> Wall:  # fmt: skip
    shares = []
    at = {"mix": 0.0, "water": 0.0, "clean": 0.0}
    whole = {
        "mix": sum(part[1].area for row in rows if (part := found[id(row)]) is not None),
        "water": sum(row.wet_volume + row.rinse_volume for row in rows),
        "clean": sum(row.clean_volume for row in rows),
    }
    for row in rows:
        part = found[id(row)]
        kinds = {
            "mix": part[1].area if part is not None else 0.0,
            "water": row.wet_volume + row.rinse_volume,
            "clean": row.clean_volume,
        }
        for kind, amount in kinds.items():
            if not amount > 0.0:
                continue
            begins = at[kind]
            at[kind] += amount / whole[kind] * sections
            first, last = round(begins) + 1, round(at[kind])
            count = max(last - first + 1, 1)
            shares.append(
                Share(
                    row=row,
                    mix=part[0] if part is not None and kind == "mix" else None,
                    first=first,
                    last=last,
                    wets=row.wet_volume / count if kind == "water" else 0.0,
                    mixes=part[1].mix / count if part is not None and kind == "mix" else 0.0,
                    mists=part[1].mists if part is not None and kind == "mix" else 0,
                    mist=part[1].mist / count if part is not None and kind == "mix" else 0.0,
                    rinses=row.rinse_volume / count if kind == "water" else 0.0,
                    cleans=row.clean_volume / count if kind == "clean" else 0.0,
                )
            )
    mixed = next((row for row in rows if found[id(row)] is not None), None)
    fixed = None
    if mixed is not None and mixed.surface.row["section_time"]:
        fixed = mixed.surface.row["section_time"] * mixed.surface.pace_factor
    return Wall(name=name, sections=sections, ahead=ahead, shares=tuple(shares), fixed=fixed, misfit=misfit)


def _tries(
    book: Book, name: str, rows: Sequence[SurfaceWork], found: Mapping[int, tuple[MixPlan, SurfaceMix] | None],
    row: SurfaceWork,
) -> Iterator[_Try]:  # fmt: skip
    parts = _parts(rows, found)
    least, seen = row.sections, set()
    # Alone, or where a gun draws the beds' tap, they are watered at a shut gun.
    alone = book.second is None or any(line.plan.input.feed == "tap" for line in book.lines.values())
    every = book.asked.beds.every if book.asked.beds is not None else None
    for more in range(_MOST):
        sections = _split(least + more, parts)
        if sections in seen:
            continue
        seen.add(sections)
        wall = _made(book, name, rows, found, sections, False)
        covers, rinses = cover_seconds(book, wall, 1), rinse_seconds(book, wall, 1)
        mixer, water = wall.mixer(1), wall.waterer(1)
        longest = max(
            mix_seconds(mixer) if mixer is not None else 0.0, rinse_elapsed(book, water) if water is not None else 0.0
        )
        if alone and every is not None and longest > every * 0.95 and more < _MOST - 1:
            # No gun is open longer than they may wait.
            continue
        if not rinses > 0.0:
            yield _Try(sections=sections, ahead=False, seconds=sections * covers, stands=0.0)
            return
        stands = max(_stands(book, wall, 1), row.dwell_least)
        whole = sections * (covers + rinses + stands)
        applies = mix_seconds(mixer) if mixer is not None else 0.0
        yield _Try(sections=sections, ahead=False, seconds=whole, stands=stands, applies=applies)
        if row.mists is not None:
            if applies <= row.mists.every:
                return
            continue
        if not _one_line(book, wall):
            # A wait is as long whatever the size: larger sections lose less.
            return
        if sections > 1:
            between = covers + rinses
            # The first waits out what is short, and the second stands that much longer.
            first = max(row.dwell_least - covers, 0.0)
            second = rinses + (covers if sections > 2 else 0.0)
            waits = first + max(row.dwell_least - first - second, 0.0)
            waits += max(sections - 3, 0) * max(row.dwell_least - between, 0.0)
            waits += max(row.dwell_least - rinses, 0.0) if sections > 2 else 0.0
            longest = max(first + second, covers, row.dwell_least)
            attempt = _Try(
                sections=sections, ahead=True, seconds=sections * between + waits, stands=longest, applies=applies
            )  # fmt: skip
            yield attempt
            if longest <= min(row.dwell_most, _longest(book, row)) and _wet_long_enough(row, attempt):
                # Smaller ones fit as well, and lose more.
                return


def _one_line(book: Book, wall: Wall) -> bool:
    """Whether a section can be covered while another stands without taking hoses apart between."""
    mixers = [share for share in wall.shares if share.mixes > 0.0]
    waters = [share for share in wall.shares if share.wets + share.rinses > 0.0]
    return not any(apart(book, mixer, water) for mixer in mixers for water in waters)


def apart(book: Book, one: Share, other: Share) -> bool:
    """Whether two runs take the same hoses or pump, so that only one of them can be joined."""
    return one.row.run != other.row.run and shares_gear(book.lines[one.row.run], book.lines[other.row.run])


def shares_gear(one: Line, other: Line) -> bool:
    """Whether two lines have a hose or a pump in common and are not sprayed at once."""
    if one.name == other.name or other.name in one.plan.input.same_time:
        return False
    hoses = [
        {hose.name for hose in (*own.hoses, *own.put_on) if hose.named} for own in (one.plan.input, other.plan.input)
    ]
    return bool(hoses[0] & hoses[1]) or (one.pump is not None and one.pump == other.pump)


def switch_seconds(book: Book, line: Line) -> float:
    """What a change of feed or dosing costs while a section is worked [s]: nothing with a second at the rig."""
    if book.second is not None:
        return 0.0
    walk = line.length / book.minutes["walk_pace"]
    return 2.0 * walk + book.minutes["shut"] + book.minutes["draw_from"]


def swap_seconds(book: Book, of: Line, to: Line) -> float:
    """What it takes to lay one gun down and open the other [s]; with hoses to change, the line is taken apart.

    Of one line it is the tip between mix and water that is changed, where it has two.
    """
    minutes = book.minutes
    if of.name == to.name:
        role = of.plan.role_of("rinse")
        if role == "tip":
            return 0.0
        walks = 0.0 if book.second is not None else 4.0 * of.length / minutes["walk_pace"]
        return minutes["shut"] + 2.0 * minutes["power"] + minutes["relieve"] + book.tip_seconds(of, role) + walks
    guns = minutes["shut"] + 2.0 * minutes["power"]
    walks = 2.0 * max(of.length, to.length) / minutes["walk_pace"]
    if not shares_gear(of, to):
        return guns if book.second is not None else guns + walks
    return guns + walks + sum(minutes[key] for key in _REJOINED)


def cover_seconds(book: Book, wall: Wall, section: int) -> float:
    """Elapsed time to wet a section and put its mix on [s]."""
    mixer, water = wall.mixer(section), wall.waterer(section)
    if mixer is None:
        return 0.0
    line = book.lines[mixer.row.run]
    own = water is not None and water.row.run == mixer.row.run
    seconds = mix_seconds(mixer)
    if water is not None and water.wets > 0.0:
        wets = max(water.wets, line.volume) if own else water.wets
        seconds += wet_seconds(book, water, wets) + pail_seconds(book, water, wets)
        seconds += swap_seconds(book, book.lines[water.row.run], line)
    elif own:
        seconds += line.volume / line.plan.flow + swap_seconds(book, line, line)
    return seconds + (2.0 * switch_seconds(book, line) if own else 0.0)


def rinse_seconds(book: Book, wall: Wall, section: int) -> float:
    """Elapsed time to rinse a section [s]; 0 where the rain does."""
    water = wall.waterer(section)
    if water is None or not water.rinses > 0.0:
        return 0.0
    mixer = wall.mixer(section)
    swap = swap_seconds(book, book.lines[mixer.row.run], book.lines[water.row.run]) if mixer is not None else 0.0
    return rinse_elapsed(book, water) + pail_seconds(book, water, water.rinses) + swap


def _stands(book: Book, wall: Wall, section: int) -> float:
    """The shortest a section can stand between its mix and its rinse [s]."""
    mixer, water = wall.mixer(section), wall.waterer(section)
    if mixer is None or water is None:
        return 0.0
    return swap_seconds(book, book.lines[mixer.row.run], book.lines[water.row.run]) + book.minutes["shut"]


def pail_seconds(book: Book, share: Share, volume: float) -> float:
    """What a spray of clean water takes longer because it comes out of a pail [s]."""
    line = book.lines[share.row.run]
    if book.water_feed(line) != "pail" or not volume > 0.0:
        return 0.0
    return seconds_more(book, line, volume, wet_seconds(book, share, volume))


def mix_seconds(share: Share) -> float:
    """Elapsed time of one section's mix at the crew's pace [s]."""
    if share.mix is None:
        return 0.0
    part = next(part for part in share.mix.parts if part.surface.name == share.row.surface.name)
    return share.row.apply * share.mixes / part.mix


def wet_seconds(book: Book, share: Share, volume: float) -> float:
    """Elapsed time to wet with `volume` [m3]."""
    row, plan = share.row, book.lines[share.row.run].plan
    flow = plan.on(plan.role_of("wet")).flow
    if not row.wet_volume > 0.0:
        return volume / flow
    return max(row.wet / row.wet_volume, 1.0 / flow) * volume


def rinse_elapsed(book: Book, share: Share) -> float:
    """Elapsed time to rinse one section [s]."""
    row, plan = share.row, book.lines[share.row.run].plan
    flow = plan.on(plan.role_of("rinse")).flow
    if not row.rinse_volume > 0.0:
        return 0.0
    return max(row.rinse / row.rinse_volume, 1.0 / flow) * share.rinses
