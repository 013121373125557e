"""Walls section by section, in the order the gun works: a row a section, what repeats itself in one; steps between."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from planner.packet.blocks import Block, Cell, Picture, Span, Spans, Table, Text
from planner.packet.drawings.marks import TALL, Strip, heights, marks, strip
from planner.packet.sections.acts.acts import Printing
from planner.packet.sections.acts.folding import folded
from planner.packet.sections.acts.framing import guarded
from planner.packet.sections.acts.streams import Sheets, trials_of, tried
from planner.packet.sections.acts.wash_cells import RAIN, Row, Turns, cells_of, stands, to_water
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import (
    Act,
    ChangeTip,
    DrawFrom,
    Fill,
    Power,
    Relieve,
    SetDosing,
    Shut,
    Spray,
    Tap,
    Wait,
    WaterBed,
)
from planner.units import show
from planner.words.measures import gun_open
from planner.words.spelling import spelled
from planner.words.spoken import spoken_name, wall_name

_ROWS = (SetDosing, DrawFrom, Shut, Wait, Power, WaterBed, Relieve, ChangeTip)
_HEAD = ("In this order", "Wet", "Mix on", "“Water” after", "Wait, min", "Rinse", "Done")
_WIDTHS = (176, 86, 44, 58, 50, 66, 64)
_WIDTHS_ALONE = (226, 74, 38, 52, 52, 68, 40)  # who does it all has more to read of each
_COUNT = "Count only the time the gun is open."


def wash_blocks(printing: Printing, sheets: Sheets) -> tuple[Block, ...]:
    """The lead's acts at the walls: tables of sections, and between them in their place what is no section's."""
    own = {act.id for act in sheets.wash}
    starts, ends = sheets.wash[0].start, max(act.end for act in sheets.wash)
    trials = trials_of(printing.telling.procedure)
    own |= {act.id for act in sheets.rig if starts <= act.start < ends and not tried(act, trials)}
    acts = [act for act in printing.telling.procedure.acts if act.id in own]
    trial = {act.id for act in acts if tried(act, trials)}
    kept, waits = printing.calls(acts)
    made: list[Block] = []
    new = {act.section.surface for act in acts if act.section is not None}
    for in_rows, parts in groupby(_parts(kept, trial), key=lambda one: one[0]):
        if in_rows:
            for _, part in parts:
                counted = any(isinstance(block, Table) for block in made)
                made += _table(printing, part, waits, new, counted=counted)
        else:
            part = [act for _, one in parts for act in one]
            printing.call_before(part, waits)
            with_waits = {act.id for act in part} | {one for act in part for one in waits.get(act.id, ())}
            made += printing.blocks(
                [act for act in acts if act.id in with_waits and (printing.whole or act.who != "second")]
            )
    return guarded(made, printing.telling.procedure.acts)


def _walls(printing: Printing, acts: Sequence[Act], new: set[str]) -> Spans:
    """What each wall is that is `new` here, and how large a section is, so that the gun knows where one ends."""
    parts = {act.section.surface: act.section.of for act in acts if act.section and act.section.surface in new}
    new -= set(parts)
    spans: list[Span] = []
    walls = {wall.name: wall for wall in printing.reading.checked.plan.input.surfaces}
    for name, of in parts.items():
        wall = walls[name]
        kind = spelled(spoken_name(wall.kind), printing.reading.system)
        what = "" if kind in spelled(wall.called.casefold(), printing.reading.system) else f", {kind}"
        size = show(wall.area / of, "area", printing.reading.system, toward="up")
        text = f"{what}: {f'{of} equal sections of ' if of > 1 else ''}{size}."
        spans += [Span(text=wall.called, strong=True), Span(text=f"{text} ")]
    return tuple(spans)


def _parts(acts: Sequence[Act], tried: set[str]) -> Iterator[tuple[bool, list[Act]]]:
    """Stretches of acts, and whether they are rows: two sprays of sections or more, not wetting alone."""
    for fits, stretch in groupby(acts, key=lambda act: act.id not in tried and _fits(act)):
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
    # Alone, the tank is filled at a shut gun too.
    fills = isinstance(act.detail, Fill) and act.phase == "grounds" and act.who == "lead"
    return _on_wall(act) or (act.expect is None and act.why is None and (fills or isinstance(act.detail, _ROWS)))


def _table(
    printing: Printing, acts: Sequence[Act], waits: dict[str, tuple[str, ...]], new: set[str], *, counted: bool
) -> list[Block]:  # fmt: skip
    """The rows of a stretch of acts under what the calls mean and how the sections follow each other.

    `counted` says that a table above told what is counted.
    """
    rows = _rinsed(printing, _whole([row for fold in _grouped(printing, acts) for row in fold]))
    ids = tuple(one for act in acts for one in ((act.id,) * (act.who != "second") + tuple(waits.get(act.id, ()))))
    cells: list[tuple[Cell, ...]] = [cells_of(printing, row, _calls_differ(printing, acts)) for row in rows]
    wide = _WIDTHS_ALONE if printing.telling.alone else _WIDTHS
    used = [n for n in range(len(_HEAD)) if n in (0, 6) or any(_says(row[n]) for row in cells)]
    first, *more = _patterns(printing, acts, counted=counted)
    if 5 not in used and any(cell[5] == RAIN for cell in cells):
        first = (*first, Span(text=" Do not rinse: it is left to the rain."))
    table = Table(
        head=tuple(_HEAD[n] for n in used), rows=tuple(tuple(row[n] for n in used) for row in cells),
        widths=tuple(wide[n] for n in used), right=frozenset(range(1, len(used) - 1)), acts=ids,
    )  # fmt: skip
    drawn = [*_strip(printing, rows), *_marks(printing.telling.plan, acts, new)]
    words = ((*_walls(printing, acts, new), *first), *more, _tips_told(printing, acts), *_calls_told(printing, acts))
    return [*drawn, *(Text(spans=spans, use="reading") for spans in words if spans), table]


def _strip(printing: Printing, rows: Sequence[Row]) -> list[Block]:
    """The section that comes most often as a strip, where mix is called and water after it."""
    found = [row for row in rows if row.before(None, "mix") > 0.0 and row.section("mix")]
    called = [row for row in found if any(printing.to_mix(turn[0]) for turn in row.turns)]
    row = max(called or found, key=lambda one: one.times, default=None)
    if row is None or printing.telling.alone:
        return []
    mix_at = next((turn for turn in row.turns if printing.to_mix(turn[0])), None)
    water_at = next((turn for turn in row.turns if to_water(printing, turn[0])), None)
    if mix_at is None and water_at is None:
        return []
    wet, mix = row.before(None, "wet"), row.before(None, "mix")
    after: float | None = None
    if water_at is not None:
        after = row.before(water_at, "mix")
        after = after if after > 0.0 else row.before(water_at, "wet") - wet
    waits = "".join(span.text for span in stands(printing, row))
    wall = row.section("mix")[0].section
    backs = [one for one in rows if (turns := one.section("rinse")) and turns[0].section and wall is not None
             and turns[0].section.surface == wall.surface]  # fmt: skip
    back = row if row in backs else next(iter(backs), None)
    rinse = back.before(None, "rinse") if back is not None else 0.0
    if not waits and back is not None:
        waits = "".join(span.text for span in stands(printing, back))
    shown = Strip(
        wet=wet, mix=mix, mix_at=row.before(mix_at, "wet") if mix_at is not None else None, water_at=after,
        said={"wet": gun_open(wet, "up"), "end": gun_open(wet + mix)}, wait=f"wait {waits} min" if waits else "",
        rinse=f"rinse {gun_open(rinse, 'up')}" if rinse > 0.0 else "",
    )  # fmt: skip

    def paint(wide: float, tall: float) -> object:
        return strip(shown, wide, tall)

    text = f"One section: wet {shown.said['wet']}, mix on {gun_open(mix)}, {shown.wait or 'no wait'}, {shown.rinse}."
    return [Picture(paint=paint, heights=(TALL, 0.0), title="One section", told=text.replace(", .", "."), rank=2)]


def _marks(plan: JobPlan, acts: Sequence[Act], new: set[str]) -> list[Block]:
    """The walls that are `new` here with their sections marked, where one has several."""
    parts = {act.section.surface: act.section.of for act in acts if act.section and act.section.surface in new}
    if max(parts.values(), default=1) == 1:
        return []
    walls = tuple((wall_name(plan, name), of) for name, of in parts.items())

    def paint(wide: float, tall: float) -> object:
        return marks(walls, wide, tall)

    text = "; ".join(f"{name}, {of} sections" if of > 1 else name for name, of in walls)
    tall = heights(walls)
    return [Picture(paint=paint, heights=(*tall, 0.0), title="The sections in order", told=f"{text}.")]


def _says(cell: Cell) -> bool:
    """Whether a column has anything for a row that is not said of all of them."""
    return isinstance(cell, tuple) and cell != RAIN and any(span.text for span in cell)


def _whole(rows: Sequence[Row]) -> list[Row]:
    """Rows that spray; a call without its own spray goes to the row after it."""
    made: list[Row] = []
    waiting: list[Turns] = []
    for row in rows:
        if not any(_on_wall(turn[0]) for turn in row.turns):
            waiting += row.turns
            continue
        made.append(Row(times=row.times, turns=[*waiting, *row.turns], then=row.then))
        waiting = []
    if waiting:
        made[-1].turns += waiting
    return made


def _rinsed(printing: Printing, rows: Sequence[Row]) -> list[Row]:
    """Rows that only rinse, one after another, are one if only the first had its pump off."""
    made: list[Row] = []
    for row in rows:
        last = made[-1] if made else None
        if last is None or printing.telling.alone or not _goes_on(printing, last, row):
            made.append(row)
            continue
        turns = [(*turn, *row.section("rinse")) if _on_wall(turn[0]) else turn for turn in last.turns]
        made[-1] = Row(times=last.times + 1, turns=turns, once=True)
    return made


def _goes_on(printing: Printing, last: Row, row: Row) -> bool:
    """Whether a row rinses the next section as the one before it did, but for its pump."""
    sprays = [[turn for turn in one.turns if _on_wall(turn[0])] for one in (last, row)]
    if any(len(turns) != 1 or turns[0] != one.section("rinse") for turns, one in zip(sprays, (last, row), strict=True)):
        return False
    plain = all(isinstance(turn[0].detail, (Spray, Shut, Wait)) for turn in row.turns)
    off = any(isinstance(turn[0].detail, Power) for turn in last.turns)
    others = all(isinstance(turn[0].detail, (Spray, Shut, Wait, Power)) for turn in last.turns)
    same = printing.same(sprays[0][0][0]) == printing.same(sprays[1][0][0])
    return plain and off and others and same and row.times == 1 and (last.times == 1 or last.once)


def _grouped(printing: Printing, acts: Sequence[Act]) -> Iterator[list[Row]]:
    """Rows in order: what repeats itself together, what does not cut where the next section begins."""
    single: list[Turns] = []
    for fold in folded(acts, printing.same, lambda act: _starts(printing, act)):
        times, turns = fold.times, fold.acts
        if times > 1 and _called_once(single):
            # A call before it is made once, not each time: the first turn stands by itself.
            single += [turn[:1] for turn in turns]
            times, turns = times - 1, tuple(turn[1:] for turn in turns)
        if times == 1:
            single += turns
            continue
        yield _cut(printing, single, 1)
        single = []
        yield _cut(printing, turns, times)
    yield _cut(printing, single, 1)


def _called_once(single: Sequence[Turns]) -> bool:
    """Whether a call stands after the last of these sprays."""
    sprays = [n for n, turn in enumerate(single) if _on_wall(turn[0])]
    after = single[sprays[-1] + 1 :] if sprays else single
    return any(isinstance(turn[0].detail, Power) for turn in after)


def _cut(printing: Printing, turns: Sequence[Turns], times: int) -> list[Row]:
    rows: list[Row] = []
    for n, turn in enumerate(turns):
        if not rows or _begins(printing, rows[-1], [acts[0] for acts in turns[n:]]):
            rows.append(Row(times=times, then=bool(rows) and times > 1))
        rows[-1].turns.append(turn)
    return rows


def _begins(printing: Printing, row: Row, acts: Sequence[Act]) -> bool:
    """Whether the first of these acts is the first of the next section."""
    covered, rinsed = row.section("wet", "mix", "clean"), row.section("rinse")
    act = acts[0]
    if printing.to_mix(act):
        upon = next((one.section for one in acts if _on_wall(one)), None)
        return bool(rinsed) or (bool(covered) and covered[0].section != upon)
    if isinstance(act.detail, Spray) and act.section is not None:
        if act.detail.use == "rinse":
            return bool(rinsed) and rinsed[0].section != act.section
        return bool(rinsed) or (bool(covered) and covered[0].section != act.section)
    return False


def _starts(printing: Printing, act: Act) -> bool:
    """Whether a section may be begun by an act, rather than gone on with or come back to."""
    return printing.to_mix(act) or (isinstance(act.detail, Spray) and act.detail.use == "wet")


def _calls_differ(printing: Printing, acts: Sequence[Act]) -> bool:
    return len({printing.same(act) for act in acts if printing.to_mix(act)}) > 1


def _calls_told(printing: Printing, acts: Sequence[Act]) -> list[Spans]:
    """What somebody alone does at each change to mix and to water, said once; with two it is the second's."""
    lines: list[Spans] = []
    if not printing.telling.alone:
        return lines
    for name, is_it in (("“Mix”", _to_mix), ("“Water”", to_water)):
        found = {printing.same(act): act for act in acts if is_it(printing, act)}
        if len(found) != 1:
            continue
        # Alone, the gun is shut before the walk to the rig.
        walk = max((_walk(acts, act) for act in acts if is_it(printing, act)), key=len)
        steps = printing.worded([printing.values(act) for act in walk])
        spans = [Span(text=name, strong=True), Span(text=":")]
        for step in steps:
            spans += [Span(text=" "), *step.spans]
        if isinstance(walk[0].detail, Shut):
            spans.append(
                Span(text=" Open it again at the wall." if len(walk) < 3 else " Open the gun again at the wall.")
            )
        lines.append(tuple(spans))
    return lines


def _behind(printing: Printing) -> str:
    """Which hoses each tip has behind it, where they are changed with it."""
    told: dict[str, str] = {}
    for act in printing.telling.procedure.acts:
        if isinstance(act.detail, ChangeTip) and (act.detail.off or act.detail.on):
            run = printing.telling.runs[act.detail.run]
            line = [hose.name for hose in run.hoses_on(act.detail.role)]
            told[act.detail.tip] = ", ".join(act.detail.on) or line[-1]
    return f" ({'; '.join(f'{tip} behind {hoses}' for tip, hoses in told.items())})" if told else ""


def _tips_told(printing: Printing, acts: Sequence[Act]) -> Spans:
    """What is done where a row names a tip, said once: all between two sprays but fills, beds and waits."""
    at = next((n for n, act in enumerate(acts) if isinstance(act.detail, ChangeTip)), None)
    if at is None:
        return ()
    begin, end = at, at
    while begin and not isinstance(acts[begin - 1].detail, Spray):
        begin -= 1
    while end < len(acts) and not isinstance(acts[end].detail, Spray):
        end += 1
    spans = [Span(text="Where a row names a tip: ")]
    for act in acts[begin:end]:
        if not isinstance(act.detail, (Shut, Power, Tap, Relieve, ChangeTip)):
            continue
        spans += [Span(text=", ")] * (len(spans) > 1)
        word = printing.call_word(act)
        if word:
            spans += [Span(text="call "), Span(text=f"“{word}”", strong=True)]
            continue
        match act.detail:
            case ChangeTip():
                spans.append(Span(text=f"put that tip on{_behind(printing)}"))
            case Power(pump=pump, on=on):
                spans.append(Span(text=f"switch {pump} {'on' if on else 'off'}"))
            case _:
                (step,) = printing.worded([printing.values(act)])
                text = "".join(span.text for span in step.spans).rstrip(".")
                spans.append(Span(text=text[:1].lower() + text[1:]))
    return (*spans, Span(text="."))


def _walk(acts: Sequence[Act], call: Act) -> list[Act]:
    """What somebody alone does for a change to mix or to water: with the gun and the pump right before and after it."""
    at = next(n for n, act in enumerate(acts) if act.id == call.id)
    begin, end = at, at + 1
    while begin and isinstance(acts[begin - 1].detail, (Shut, Power)):
        begin -= 1
    while end < len(acts) and isinstance(acts[end].detail, Power):
        end += 1
    return list(acts[begin:end])


def _to_mix(printing: Printing, act: Act) -> bool:
    return printing.to_mix(act)


def _patterns(printing: Printing, acts: Sequence[Act], *, counted: bool) -> list[Spans]:
    """How the sections follow each other, in words; each wall by its name where they differ."""
    ways: dict[str, list[str]] = {}
    for wall in dict.fromkeys(act.section.surface for act in acts if act.section is not None):
        way = _pattern([act for act in acts if act.section is not None and act.section.surface == wall])
        ways.setdefault(way, []).append(wall_name(printing.telling.plan, wall))
    lines: list[Spans] = []
    for way, walls in ways.items():
        if way:
            names = (Span(text=f"{', '.join(walls)}: ", strong=True),) if len(ways) > 1 else ()
            lines.append((*names, Span(text=way)))
    if counted:
        return lines or [()]
    return [*lines[:-1], (*(lines[-1] if lines else ()), Span(text=f"{' ' if lines else ''}{_COUNT}"))]


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
        return "One ahead: cover the next section while this one sits, come back and rinse this one."
    return "One at a time: cover a section, let it sit, rinse it, then start the next."
