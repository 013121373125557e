"""Walls section by section, in the order the gun works: a row a section, what repeats itself in one; steps between."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby, pairwise

from planner.packet.blocks import Block, Cell, Span, Spans, Table, Text, WriteIn
from planner.packet.measures import gun_open, minutes_between, steps_of
from planner.packet.sections.acts import Printing, folded, side_by_side
from planner.packet.words import spoken_name
from planner.plan.mix_model import SurfaceWork
from planner.plan.procedure.acts import Act, DrawFrom, Power, SetDosing, Shut, Spray, Wait, WaterBed
from planner.units import show

_ROWS = (SetDosing, DrawFrom, Shut, Wait, Power, WaterBed)
_HEAD = ("In this order", "Wet", "Mix on", "“Water” after", "Stands, min", "Rinse", "Time on")
_WIDTHS = (178, 62, 66, 62, 54, 66, 44)
_MINUTE = 60.0
_COUNT = "Count only the time the gun is open."
Turns = tuple[Act, ...]
"""One act of a row with all its repeats."""


def wash_blocks(printing: Printing, acts: Sequence[Act]) -> tuple[Block, ...]:
    """The acts at the walls: tables of sections, and between them in their place what is no section's."""
    kept, waits = printing.calls(acts)
    made: list[Block] = []
    new = {act.section.surface for act in acts if act.section is not None}
    for in_rows, part in _parts(kept):
        if in_rows:
            made += _table(printing, part, waits, new)
        else:
            with_waits = {act.id for act in part} | {one for act in part for one in waits.get(act.id, ())}
            made += side_by_side(printing.blocks([act for act in acts if act.id in with_waits]))
    return tuple(made)


def _walls(printing: Printing, acts: Sequence[Act], new: set[str]) -> Spans:
    """What each wall is that is `new` here, and how large a section is, so that the gun knows where one ends."""
    parts = {act.section.surface: act.section.of for act in acts if act.section and act.section.surface in new}
    new -= set(parts)
    spans: list[Span] = []
    for one in printing.reading.checked.plan.input.surfaces:
        if one.name not in parts:
            continue
        kind, of = spoken_name(one.kind), parts[one.name]
        what = "" if one.name.casefold().startswith(kind) else f", {kind}"
        size = show(one.area / of, "area", printing.reading.system, toward="up")
        told = f"{what}: {f'{of} equal sections of ' if of > 1 else ''}{size}."
        spans += [Span(text=one.name, strong=True), Span(text=f"{told} ")]
    return tuple(spans)


def _parts(acts: Sequence[Act]) -> Iterator[tuple[bool, list[Act]]]:
    """Stretches of acts, and whether they are rows: two sprays of sections or more, not wetting alone."""
    for fits, stretch in groupby(acts, key=_fits):
        part = list(stretch)
        sprays = [n for n, act in enumerate(part) if _on_wall(act)]
        worked = any(isinstance(part[n].detail, Spray) and part[n].detail.use != "wet" for n in sprays)  # type: ignore[union-attr]
        if not fits or len(sprays) < 2 or not worked:
            yield False, part
            continue
        begin, end = sprays[0], sprays[-1] + 1
        while begin and isinstance(part[begin - 1].detail, (SetDosing, DrawFrom)):
            begin -= 1
        while end < len(part) and isinstance(part[end].detail, (Shut, WaterBed)):
            end += 1
        for rows, piece in ((False, part[:begin]), (True, part[begin:end]), (False, part[end:])):
            if piece:
                yield rows, piece


def _on_wall(act: Act) -> bool:
    return isinstance(act.detail, Spray) and act.section is not None and act.expect is None


def _fits(act: Act) -> bool:
    return _on_wall(act) or (act.expect is None and act.why is None and isinstance(act.detail, _ROWS))


@dataclass(slots=True, kw_only=True)
class _Row:
    """What is done to one section, `times` times: the acts in their order."""

    times: int
    turns: list[Turns] = field(default_factory=list)
    then: bool = False  # it goes in turn with the row above, as often

    def sprays(self, *uses: str) -> list[Turns]:
        """Its sprays of these uses."""
        return [turn for turn in self.turns if isinstance(turn[0].detail, Spray) and turn[0].detail.use in uses]

    def section(self, *uses: str) -> Turns:
        """The first of its sprays of these uses with all repeats; empty where it has none."""
        found = self.sprays(*uses)
        return found[0] if found else ()

    def before(self, is_it: Turns | None, *uses: str) -> float:
        """Seconds of gun for these uses before one of its acts; of all where it is None."""
        seconds = 0.0
        for turn in self.turns:
            if turn is is_it:
                break
            detail = turn[0].detail
            if isinstance(detail, Spray) and detail.use in uses:
                seconds += detail.seconds
        return seconds

    def amount(self, *uses: str) -> float:
        """Volume [m3] of its sprays of these uses."""
        return sum(turn[0].detail.volume for turn in self.sprays(*uses) if isinstance(turn[0].detail, Spray))


def _table(
    printing: Printing, acts: Sequence[Act], waits: dict[str, tuple[str, ...]], new: set[str]
) -> list[Block]:  # fmt: skip
    """The rows of a stretch of acts under what the calls mean and how the sections follow each other."""
    rows = _whole([row for fold in _grouped(printing, acts) for row in fold])
    ids = tuple(one for act in acts for one in (act.id, *waits.get(act.id, ())))
    cells: list[tuple[Cell, ...]] = [_cells(printing, row, _calls_differ(printing, acts)) for row in rows]
    table = Table(head=_HEAD, rows=tuple(cells), widths=_WIDTHS, right=frozenset(range(1, 6)), acts=ids)
    first, *more = _patterns(acts)
    words = ((*_walls(printing, acts, new), *first), *more, *_calls_told(printing, acts))
    return [*(Text(spans=spans, use="reading") for spans in words), table]


def _whole(rows: Sequence[_Row]) -> list[_Row]:
    """Rows that spray; a call without its own spray goes to the row after it."""
    made: list[_Row] = []
    waiting: list[Turns] = []
    for row in rows:
        if not any(_on_wall(turn[0]) for turn in row.turns):
            waiting += row.turns
            continue
        made.append(_Row(times=row.times, turns=[*waiting, *row.turns], then=row.then))
        waiting = []
    if waiting:
        made[-1].turns += waiting
    return made


def _grouped(printing: Printing, acts: Sequence[Act]) -> Iterator[list[_Row]]:
    """Rows in order: what repeats itself together, what does not cut where the next section begins."""
    single: list[Turns] = []
    for fold in folded(acts, printing.same, lambda act: _starts(printing, act)):
        if fold.times == 1:
            single += fold.acts
            continue
        yield _cut(printing, single, 1)
        single = []
        yield _cut(printing, fold.acts, fold.times)
    yield _cut(printing, single, 1)


def _cut(printing: Printing, turns: Sequence[Turns], times: int) -> list[_Row]:
    rows: list[_Row] = []
    for n, turn in enumerate(turns):
        if not rows or _begins(printing, rows[-1], [one[0] for one in turns[n:]]):
            rows.append(_Row(times=times, then=bool(rows) and times > 1))
        rows[-1].turns.append(turn)
    return rows


def _begins(printing: Printing, row: _Row, acts: Sequence[Act]) -> bool:
    """Whether the first of these acts is the first of the next section."""
    covered, rinsed = row.section("wet", "mix", "clean"), row.section("rinse")
    act = acts[0]
    if to_mix(printing, act):
        upon = next((one.section for one in acts if _on_wall(one)), None)
        return bool(rinsed) or (bool(covered) and covered[0].section != upon)
    if isinstance(act.detail, Spray) and act.section is not None:
        if act.detail.use == "rinse":
            return bool(rinsed) and rinsed[0].section != act.section
        return bool(rinsed) or (bool(covered) and covered[0].section != act.section)
    return False


def _starts(printing: Printing, act: Act) -> bool:
    """Whether a section may be begun by an act, rather than gone on with or come back to."""
    return to_mix(printing, act) or (isinstance(act.detail, Spray) and act.detail.use == "wet")


def to_mix(printing: Printing, act: Act) -> bool:
    """Whether an act puts mix into the line."""
    if isinstance(act.detail, SetDosing):
        return bool(act.detail.draws)
    if isinstance(act.detail, DrawFrom):
        return act.detail.feed in {batch.tank for mix in printing.telling.plan.mixes for batch in mix.batches}
    return False


def _to_water(printing: Printing, act: Act) -> bool:
    return isinstance(act.detail, (SetDosing, DrawFrom)) and not to_mix(printing, act)


def _calls_differ(printing: Printing, acts: Sequence[Act]) -> bool:
    return len({printing.same(act) for act in acts if to_mix(printing, act)}) > 1


def _calls_told(printing: Printing, acts: Sequence[Act]) -> list[Spans]:
    """What is done at each call, said once, with who does it."""
    told: list[Spans] = []
    for name, is_it in (("“Mix”", to_mix), ("“Water”", _to_water)):
        found = {printing.same(act): act for act in acts if is_it(printing, act)}
        if len(found) != 1:
            continue
        (act,) = found.values()
        (step,) = printing.worded([printing.values(act)])
        # Alone, the gun is shut before the walk to the rig.
        shut = any(isinstance(before.detail, Shut) and is_it(printing, one) for before, one in pairwise(acts))
        spans = [Span(text=name, strong=True), Span(text=": "), *printing.by(act, step.spans)]
        if shut and printing.telling.alone:
            spans.insert(2, Span(text="Shut the gun. "))
            spans.append(Span(text=" Open it again at the wall."))
        told.append(tuple(spans))
    return told


def _patterns(acts: Sequence[Act]) -> list[Spans]:
    """How the sections follow each other, in words; each wall by its name where they differ."""
    ways: dict[str, list[str]] = {}
    for wall in dict.fromkeys(act.section.surface for act in acts if act.section is not None):
        way = _pattern([act for act in acts if act.section is not None and act.section.surface == wall])
        ways.setdefault(way, []).append(wall)
    told: list[Spans] = []
    for way, walls in ways.items():
        if way:
            names = (Span(text=f"{', '.join(walls)}: ", strong=True),) if len(ways) > 1 else ()
            told.append((*names, Span(text=way)))
    return [*told[:-1], (*(told[-1] if told else ()), Span(text=f"{' ' if told else ''}{_COUNT}"))]


def _pattern(acts: Sequence[Act]) -> str:
    of = max(act.section.of for act in acts if act.section is not None)
    uses = [(act.detail.use, act.section.number) for act in acts if isinstance(act.detail, Spray) and act.section]
    rinsed = [number for use, number in uses if use == "rinse"]
    if of == 1:
        return ""
    if not rinsed:
        return "One section after the other."
    first = uses.index(("rinse", rinsed[0]))
    if any(number > rinsed[0] for _, number in uses[:first]):
        return "One ahead: cover the next section while this one stands, come back and rinse this one."
    return "One at a time: cover a section, let it stand, rinse it, then begin the next."


# ------------------------------------------------------------------------------------------------------ cells


def _cells(printing: Printing, row: _Row, calls_differ: bool) -> tuple[Cell, ...]:
    mix_at = next((turn for turn in row.turns if to_mix(printing, turn[0])), None)
    water_at = next((turn for turn in row.turns if _to_water(printing, turn[0])), None)
    wet, mix, rinse = row.before(None, "wet"), row.before(None, "mix"), row.before(None, "rinse")
    wetted = _gun(printing, wet, row.amount("wet"), up=True)
    early = row.before(mix_at, "wet") if mix_at is not None else 0.0
    if early > 0.0 and wet > 0.0:
        wetted = (*wetted, Span(text=", “Mix” at "), Span(text=gun_open(early), strong=True))
    elif mix_at is not None and wet > 0.0:
        # The hose holds more than the wetting takes: mix is on its way before the gun is open.
        wetted = (*wetted, Span(text=", “Mix” first"))
    after: Spans = ()
    if water_at is not None and mix > 0.0:
        seconds = row.before(water_at, "mix")
        after = (Span(text=gun_open(seconds), strong=True),)
        if seconds <= 0.0:
            after = (Span(text=gun_open(row.before(water_at, "wet")), strong=True), Span(text=" of wetting"))
    return (
        _what(printing, row, mix_at if calls_differ else None),
        wetted,
        _gun(printing, mix, row.amount("mix"), up=False),
        after,
        _stands(printing, row),
        _gun(printing, rinse, row.amount("rinse"), up=True) if rinse else _left(printing, row),
        WriteIn(width=40, height=18),
    )


def _gun(printing: Printing, seconds: float, volume: float, *, up: bool) -> Spans:
    """Seconds of gun, and what leaves it in them; nothing where it stays shut."""
    if seconds <= 0.0:
        return (Span(text=""),)
    side = "up" if up else "near"
    amount = printing.telling.measured(volume, "up" if up else "near")
    return (Span(text=gun_open(seconds, side), strong=True), Span(text=f" {amount}"))  # type: ignore[arg-type]


def _what(printing: Printing, row: _Row, mix_at: Turns | None) -> Spans:
    """Which section, what comes back to which, and all that has no column."""
    cover, back = row.section("wet", "mix", "clean"), row.section("rinse")
    first = (cover or back)[0]
    assert first.section is not None
    spans = [Span(text=first.section.surface, strong=True)]
    several = len({act.detail.run for act in printing.telling.procedure.acts if isinstance(act.detail, Spray)}) > 1
    runs = {turn[0].detail.run for turn in row.turns if isinstance(turn[0].detail, Spray)}
    if several and len(runs) == 1 and isinstance(first.detail, Spray):
        spans.append(Span(text=f" ({first.detail.run})"))
    if row.times > 1:
        often = "each time, then" if row.then else f"{row.times} times"
        spans += [Span(text=", "), Span(text=often, strong=True)]
    if first.section.of > 1:
        apart = bool(cover and back) and cover[0].section != back[0].section
        said = f"sections {_numbers(cover)}" if cover else f"rinse {_numbers(back)}"
        if row.times > 1 and apart:
            said = f"cover the next ({_numbers(cover)}), rinse the one that stands ({_numbers(back)})"
        elif apart:
            said = f"cover section {_numbers(cover)}, then rinse section {_numbers(back)}"
        elif row.times == 1:
            said = f"section {_numbers(cover)}" if cover else f"rinse section {_numbers(back)}"
        spans.append(Span(text=f"{':' if row.times > 1 else ','} {said}"))
    if mix_at is not None:
        (step,) = printing.worded([printing.values(mix_at[0])])
        spans += [Span(text="; "), *printing.by(mix_at[0], step.spans)]
    spans += _besides(printing, row)
    return tuple(spans)


def _besides(printing: Printing, row: _Row) -> list[Span]:
    """A cleaner, a pump off meanwhile, beds at a shut gun."""
    spans: list[Span] = []
    clean = row.before(None, "clean")
    if clean > 0.0:
        spans += [Span(text="; cleaner "), Span(text=gun_open(clean, "up"), strong=True)]
    off = _switched(row)
    spans += [Span(text=f"; {', then '.join(off)}")] if off else []
    beds = [turn[0] for turn in row.turns if isinstance(turn[0].detail, WaterBed)]
    if beds:
        told = printing.values(beds[0])
        spans += [
            Span(text=f"; gun shut, {told['place'].removeprefix('the ')} "),
            Span(text=told["amount"], strong=True),
        ]
    elif not row.sprays("rinse") and not off and any(isinstance(turn[0].detail, Shut) for turn in row.turns):
        spans.append(Span(text="; shut the gun"))
    return spans


def _switched(row: _Row) -> list[str]:
    """What is switched off and on in a row, between which of its sprays: `booster off, acid pump on`."""
    found: list[list[str]] = [[]]
    for turn in row.turns:
        detail = turn[0].detail
        if isinstance(detail, Power):
            found[-1].append(f"{detail.pump} {'on' if detail.on else 'off'}")
        elif isinstance(detail, (Spray, Wait)) and found[-1]:
            found.append([])
    return [", ".join(one) for one in found if one]


def _numbers(turns: Turns) -> str:
    numbers = [turn.section.number for turn in turns if turn.section is not None]
    return f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"


def _work(printing: Printing, act: Act) -> SurfaceWork | None:
    if act.section is None or not isinstance(act.detail, Spray):
        return None
    rows = [one for one in printing.telling.plan.work if one.surface.name == act.section.surface]
    return next((one for one in rows if one.dwell_most > 0.0), rows[0] if rows else None)


def _stands(printing: Printing, row: _Row) -> Spans:
    """How long mix stands before this row's rinse: the range asked, or what the acts come to where that is another."""
    back = row.section("rinse") or row.section("mix")
    one = _work(printing, back[0]) if back else None
    if one is None or one.dwell_most <= 0.0:
        return (Span(text=""),)
    if not row.section("rinse") and one.rinse > 0.0:
        return (Span(text=""),)
    least, most = one.dwell_least, one.dwell_most
    found = [seconds for act in back if (seconds := _stood(printing, act)) is not None]
    if found and (min(found) < least - _MINUTE / 2 or max(found) > most + _MINUTE / 2):
        least, most = (steps_of(seconds / _MINUTE, "near") * _MINUTE for seconds in (min(found), max(found)))
    return (Span(text=minutes_between(least, most), strong=True),)


def _stood(printing: Printing, rinse: Act) -> float | None:
    """From the last mix on a section to its first rinse water [s]; None where it is not rinsed."""
    if not isinstance(rinse.detail, Spray) or rinse.detail.use != "rinse":
        return None
    mixed = [
        act.end
        for act in printing.telling.procedure.acts
        if act.section == rinse.section and isinstance(act.detail, Spray) and act.detail.use == "mix"
    ]
    return rinse.start - max(mixed) if mixed else None


def _left(printing: Printing, row: _Row) -> Spans:
    back = row.section("mix")
    one = _work(printing, back[0]) if back else None
    return (Span(text="left to the rain" if one is not None and one.surface.rinse == "leave" else ""),)
