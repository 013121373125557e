"""What each column of a wall's rows says: which section, seconds of open gun, the calls, the wait, the rinse."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from planner.packet.blocks import Cell, Span, Spans, Ticks
from planner.packet.sections.acts.acts import Printing
from planner.plan.mix.model import SurfaceWork
from planner.plan.procedure.acts import Act, ChangeTip, DrawFrom, Fill, Power, SetDosing, Shut, Spray, Wait, WaterBed
from planner.plan.procedure.totals import AGAIN
from planner.words.measures import gun_open, minutes_between, steps_of
from planner.words.spoken import wall_name

_MINUTE = 60.0
RAIN: Spans = (Span(text="rain"),)
Turns = tuple[Act, ...]
"""One act of a row with all its repeats."""


def use_of(act: Act) -> str:
    """What is sprayed: its use, `again` where mix keeps a section wet; nothing of another act."""
    if not isinstance(act.detail, Spray):
        return ""
    return "again" if act.why == AGAIN else act.detail.use


@dataclass(slots=True, kw_only=True)
class Row:
    """What is done to one section, `times` times: the acts in their order."""

    times: int
    turns: list[Turns] = field(default_factory=list)
    then: bool = False  # it goes in turn with the row above, as often
    once: bool = False  # its pump is off while the first of them stands, and no other

    def sprays(self, *uses: str) -> list[Turns]:
        """Its sprays of these uses."""
        return [turn for turn in self.turns if use_of(turn[0]) in uses]

    def section(self, *uses: str) -> Turns:
        """The first of its sprays of these uses with all repeats; empty where it has none."""
        groups = self.sprays(*uses)
        return groups[0] if groups else ()

    def before(self, is_it: Turns | None, *uses: str) -> float:
        """Seconds of gun for these uses before one of its acts; of all where it is None."""
        seconds = 0.0
        for turn in self.turns:
            if turn is is_it:
                break
            detail = turn[0].detail
            if isinstance(detail, Spray) and use_of(turn[0]) in uses:
                seconds += detail.seconds
        return seconds

    def amount(self, *uses: str) -> float:
        """Volume [m3] of its sprays of these uses."""
        return sum(turn[0].detail.volume for turn in self.sprays(*uses) if isinstance(turn[0].detail, Spray))


def _tip(row: Row, *uses: str) -> Spans:
    """The tip that is put on for the first spray of these uses, with what follows it; nothing where it is on."""
    name = ""
    for turn in row.turns:
        detail = turn[0].detail
        if isinstance(detail, ChangeTip):
            name = detail.tip
        elif isinstance(detail, Spray):
            if detail.use in uses:
                return (Span(text=f"{name}: "),) if name else ()
            name = ""
    return ()


def to_water(printing: Printing, act: Act) -> bool:
    return isinstance(act.detail, (SetDosing, DrawFrom)) and not printing.to_mix(act)


def cells_of(printing: Printing, row: Row, calls_differ: bool) -> tuple[Cell, ...]:
    mix_at = next((turn for turn in row.turns if printing.to_mix(turn[0])), None)
    water_at = next((turn for turn in row.turns if to_water(printing, turn[0])), None)
    wet, mix, rinse = row.before(None, "wet"), row.before(None, "mix"), row.before(None, "rinse")
    wetted = (*_tip(row, "wet"), *_gun(wet, up=True))
    early = row.before(mix_at, "wet") if mix_at is not None else 0.0
    called = _word(printing, mix_at, "Mix") if mix_at is not None else ""
    if early > 0.0 and wet > 0.0:
        wetted = (
            *wetted,
            Span(text=f", “{called}” at "),
            Span(text=gun_open(early), strong=True),
        )
    elif mix_at is not None and wet > 0.0:
        # The hose holds more than the wetting takes: mix is on its way before the gun is open.
        wetted = (*wetted, Span(text=f", “{called}” first"))
    sprayed = (*_tip(row, "mix"), *_gun(mix, up=False))
    if mix_at is not None and mix > 0.0 and not wet:
        sprayed = (Span(text=f"“{called}”, "), *sprayed)
    after: Spans = ()
    if water_at is not None and mix > 0.0:
        seconds = row.before(water_at, "mix")
        after = (Span(text=gun_open(seconds), strong=True),)
        words = dict.fromkeys(_word(printing, turn, "Water") for turn in row.turns if to_water(printing, turn[0]))
        wetting = seconds <= 0.0 < wet
        if wetting:
            # Called while the wall is still wetted: it is told with that, and counts from where that began.
            called = ", ".join(f"“{word}”" for word in words)
            after = (Span(text=f", {called} at "), Span(text=gun_open(row.before(water_at, "wet")), strong=True))
        for word in words if not wetting else ():
            after = (*after, Span(text=f", “{word}”")) if word != "Water" else after
        if not printing.telling.alone and _gun_shut(row, water_at):
            after = (*after, Span(text=", gun shut"))
        if wetting:
            wetted, after = (*wetted, *after), ()
    return (
        _what(printing, row, mix_at if calls_differ and printing.telling.alone else None),
        wetted,
        sprayed,
        after,
        stands(printing, row),
        (*_tip(row, "rinse"), *_gun(rinse, up=True)) if rinse else _left(printing, row),
        Ticks(count=row.times),
    )


def _word(printing: Printing, turn: Turns, bare: str) -> str:
    return printing.call_word(turn[0]) or bare


def _gun_shut(row: Row, call: Turns) -> bool:
    """Whether the gun is shut for a call."""
    before = row.turns[: next(n for n, turn in enumerate(row.turns) if turn is call)]
    for turn in reversed(before):
        if isinstance(turn[0].detail, (Shut, Spray)):
            return isinstance(turn[0].detail, Shut)
    return False


def _gun(seconds: float, *, up: bool) -> Spans:
    """Seconds of gun; nothing where it stays shut."""
    if seconds <= 0.0:
        return (Span(text=""),)
    return (Span(text=gun_open(seconds, "up" if up else "near"), strong=True),)


def _what(printing: Printing, row: Row, mix_at: Turns | None) -> Spans:
    """Which section, what comes back to which, and all that has no column."""
    cover, back = row.section("wet", "mix", "clean"), row.section("rinse")
    first = (cover or back)[0]
    assert first.section is not None
    spans = [Span(text=wall_name(printing.telling.plan, first.section.surface), strong=True)]
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
            said = f"cover {_numbers(cover)}, rinse {_numbers(back)}"
        elif apart:
            said = f"cover {_numbers(cover)}, then rinse {_numbers(back)}"
        elif row.times == 1:
            said = f"section {_numbers(cover)}" if cover else f"rinse {_numbers(back)}"
        spans.append(Span(text=f"{':' if row.times > 1 else ','} {said}"))
    if mix_at is not None:
        (step,) = printing.worded([printing.values(mix_at[0])])
        spans += [Span(text="; "), *printing.by(mix_at[0], step.spans, "lead")]
    spans += _besides(printing, row)
    return tuple(spans)


def _besides(printing: Printing, row: Row) -> list[Span]:
    """A cleaner, mix on again, a pump off meanwhile, beds at a shut gun."""
    spans: list[Span] = []
    again = row.sprays("again")
    if again:
        times = "once" if len(again) == 1 else f"{len(again)} times"
        spans += [
            Span(text="; wet again every "), Span(text=f"{printing.values(again[0][0])['again']} min", strong=True),
            Span(text=f", {times}: a light pass of mix, "),
            Span(text=gun_open(row.before(None, "again") / len(again), "near"), strong=True),
        ]  # fmt: skip
    clean = row.before(None, "clean")
    if clean > 0.0:
        spans += [Span(text="; "), *_tip(row, "clean"), Span(text="cleaner ")]
        spans.append(Span(text=gun_open(clean, "up"), strong=True))
    last = max((n for n, turn in enumerate(row.turns) if isinstance(turn[0].detail, Spray)), default=0)
    then = next((turn[0].detail.tip for turn in row.turns[last:] if isinstance(turn[0].detail, ChangeTip)), "")
    after = [Span(text="; then tip "), Span(text=then, strong=True)] if then else []
    if printing.telling.alone:
        return [*spans, *_meanwhile(printing, row), *after]
    spans += after
    off = _switched(printing, row)
    spans += [span for one in off for span in (Span(text="; "), *one)]
    beds = [turn[0] for turn in row.turns if isinstance(turn[0].detail, WaterBed)]
    if beds:
        values = printing.values(beds[0])
        spans += [
            Span(text=f"; gun shut, {values['place'].removeprefix('the ')} "),
            Span(text=values["amount"], strong=True),
        ]
    elif not (row.sprays("rinse") or off or then) and any(isinstance(turn[0].detail, Shut) for turn in row.turns):
        spans.append(Span(text="; shut the gun"))
    return spans


def _meanwhile(printing: Printing, row: Row) -> list[Span]:
    """What somebody alone does at a shut gun, in its order: pump, beds and tank; a walk to change to mix or water
    apart."""
    spans: list[Span] = []
    between: list[Act] = []
    for act in (*(turn[0] for turn in row.turns), None):
        if act is not None and not isinstance(act.detail, Spray):
            between.append(act)
            continue
        walked = any(isinstance(one.detail, (SetDosing, DrawFrom)) for one in between)
        # Gun, pump and dosing of the walk are said of all rows at once; what is filled or watered on it never is.
        walked = walked or any(one.id in printing.for_tips for one in between)
        acts = [one for one in between if isinstance(one.detail, (Fill, WaterBed))] if walked else between
        done = [said for one in acts if (said := _in_few(printing, one))]
        use = use_of(act) if act is not None else ""
        if done and not (use in ("rinse", "again") and all(isinstance(one.detail, (Shut, Wait)) for one in between)):
            spans.append(
                Span(text="; while it sits: " if use in ("rinse", "again") else "; then: " if not use else "; first ")
            )
            for n, said in enumerate(done):
                spans += [Span(text=", ")] * bool(n) + list(said)
        between = []
    return spans


def _in_few(printing: Printing, act: Act) -> Spans:
    """A gun shut, a pump switched, beds watered or a tank filled, as it stands in a row; nothing of any other act."""
    values = printing.values(act)
    match act.detail:
        case Shut():
            return (Span(text="gun shut"),)
        case Power(pump=pump, on=on):
            return (Span(text=f"{pump} {'on' if on else 'off'}"),)
        case WaterBed():
            return (Span(text=f"{values['place'].removeprefix('the ')} "), Span(text=values["amount"], strong=True))
        case Fill():
            return (Span(text="fill the tank "), Span(text=values["amount"], strong=True))
    return ()


def _switched(printing: Printing, row: Row) -> list[Spans]:
    """What is switched off and on in a row, and between which of its sprays."""
    said: list[Spans] = []
    between: list[Act] = []
    for act in (*(turn[0] for turn in row.turns), None):
        if act is not None and not isinstance(act.detail, Spray):
            between.append(act)
            continue
        # What is done for a tip is told of all rows at once.
        switches = [one for one in between if isinstance(one.detail, Power) and one.id not in printing.for_tips]
        if switches:
            words = _switch_words(printing, switches, between, act)
            first = (replace(span, text=span.text.replace("it sits", "the first sits")) for span in words)
            said.append(tuple(first) if row.once else words)
        between = []
    return list(dict.fromkeys(said))


def _switch_words(printing: Printing, switches: list[Act], between: list[Act], then: Act | None) -> Spans:
    """Pumps switched before a spray, or after the last."""
    words = [printing.call_word(act) for act in switches]
    use = use_of(then) if then is not None else ""
    if all(words):
        spans: list[Span] = []
        for n, word in enumerate(words):
            spans += [Span(text=", " if n else "then " if not use else ""), Span(text=f"“{word}”", strong=True)]
        called = next((act for act in between if isinstance(act.detail, (SetDosing, DrawFrom))), None)
        if called is not None:  # the pump is off for the change
            return (Span(text=f"at “{printing.call_word(called)}” "), *spans)
        if len(words) == 2 and use in ("rinse", "again"):  # off meanwhile
            spans.insert(2, Span(text=" while it sits"))
        ends = {"rinse": " to rinse", "again": " to wet it again", "": ""}.get(use, " first")
        return (*spans, *((Span(text=ends),) if ends else ()))
    off = [act.detail.pump for act in switches if isinstance(act.detail, Power) and not act.detail.on]
    on = [act.detail.pump for act in switches if isinstance(act.detail, Power) and act.detail.on]
    if off and off == on:
        stands = any(isinstance(act.detail, Wait) for act in between)
        return (Span(text=f"{off[0]} off while {'it sits' if stands else 'the gun is shut'}"),)
    return (Span(text=", ".join([*(f"{one} off" for one in off), *(f"{one} on" for one in on)])),)


def _numbers(turns: Turns) -> str:
    numbers = [turn.section.number for turn in turns if turn.section is not None]
    return f"{numbers[0]}" if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"


def _work(printing: Printing, act: Act) -> SurfaceWork | None:
    if act.section is None or not isinstance(act.detail, Spray):
        return None
    rows = [work for work in printing.telling.plan.work if work.surface.name == act.section.surface]
    return next((work for work in rows if work.dwell_most > 0.0), rows[0] if rows else None)


def stands(printing: Printing, row: Row) -> Spans:
    """How long mix stands before this row's rinse: the range asked, or what the acts come to where that is another.

    Nothing of what is left to the rain: nobody waits for it.
    """
    back = row.section("rinse") or row.section("mix")
    work = _work(printing, back[0]) if back else None
    if work is None or work.dwell_most <= 0.0 or work.surface.rinse == "leave":
        return (Span(text=""),)
    if not row.section("rinse") and work.rinse > 0.0:
        return (Span(text=""),)
    least, most = work.dwell_least, work.dwell_most
    found = [seconds for act in back if (seconds := _stood(printing, act)) is not None]
    if found and (min(found) < least - _MINUTE / 2 or max(found) > most + _MINUTE / 2):
        least, most = (steps_of(seconds / _MINUTE, "near") * _MINUTE for seconds in (min(found), max(found)))
    return (Span(text=minutes_between(least, most), strong=True),)


def _stood(printing: Printing, rinse: Act) -> float | None:
    """From the last mix on a section to its first rinse water [s]; None where it is not rinsed."""
    if not isinstance(rinse.detail, Spray) or rinse.detail.use != "rinse":
        return None
    mixed = [
        act.end for act in printing.telling.procedure.acts if act.section == rinse.section and use_of(act) == "mix"
    ]
    return rinse.start - max(mixed) if mixed else None


def _left(printing: Printing, row: Row) -> Spans:
    back = row.section("mix")
    work = _work(printing, back[0]) if back else None
    return RAIN if work is not None and work.surface.rinse == "leave" else (Span(text=""),)
