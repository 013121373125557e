"""A checked job as the page says it: verdict, four figures, findings at their keys, what cures them."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from typing import Final

from planner.checks.model import CheckedJob, Finding, Remedy
from planner.contract.finding import key_at
from planner.desk.svg import svg_of
from planner.faults import Fault
from planner.frozen import dataclass
from planner.inputs.tables.chemicals import short_of
from planner.inputs.tables.whole import may_accept
from planner.packet.drawings.wall import elevation
from planner.packet.sections.mixes import dial_set, on_the_wall, stock_in_all
from planner.packet.sections.reading import eave_of
from planner.packet.sections.told import jet_told
from planner.plan.water.tap import open_flow
from planner.plan.water.timing import arrival_of, end_of
from planner.remedies.edits import edits_of
from planner.units import System, show, show_number
from planner.words import cures, spoken
from planner.words.dates import clock_text
from planner.words.figures import reached, tightest
from planner.words.measures import in_all, poured, weighed

VERDICTS: Final = {"ok": "Go", "caution": "Go, with care", "stop": "Held", "fault": "Not ready"}
_WALL: Final = (205.0, 190.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """One remedy: what to do, what it then comes to, and the edits that write it; none where it is not on the rig."""

    change: str
    after: str
    level: str
    edits: str
    lines: tuple[str, ...]
    jet: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One finding or fault: its level, words, the key it stands at, and what would cure it."""

    id: str
    level: str
    title: str
    text: str
    remedy: str
    path: str
    line: int
    written: str = ""
    code: str = ""
    about: str = ""
    cures: tuple[Cure, ...] = ()
    acceptable: bool = False
    accepted: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One of the four figures."""

    label: str
    number: str
    unit: str
    lines: tuple[str, ...]
    level: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One job as the page says it."""

    level: str
    word: str
    count: str
    plan: str
    tiles: tuple[Tile, ...]
    wall: str
    stops: tuple[Remark, ...]
    cautions: tuple[Remark, ...]
    quiet: tuple[Remark, ...]
    holds: int
    silent: int


def told(job: CheckedJob, system: System) -> Told:
    """A planned job."""
    remarks = [_remark(job, one, n, system) for n, one in enumerate(job.findings)]
    stops = tuple(one for one in remarks if one.level == "stop")
    cautions = tuple(one for one in remarks if one.level == "caution")
    holds, silent = (sum(one.level == level for one in remarks) for level in ("ok", "none"))
    level = "stop" if job.held else job.verdict
    open_stops = sum(not one.accepted for one in stops)
    counts = [_count(open_stops, "stop")] if open_stops else []
    counts += (
        [_count(len(job.breaches), "step that fails its rehearsal", "steps that fail their rehearsal")]
        if job.breaches
        else []
    )
    counts += [_count(len(cautions), "caution")] if cautions else []
    taken = sum(bool(one.accepted) for one in remarks)
    counts += [f"{taken} taken on"] if taken else []
    return Told(
        level=level, word=VERDICTS[level], count=", ".join(counts) or f"{holds} checks hold", plan=job.plan.hash,
        tiles=tuple(_tiles(job, system)), wall=_wall(job, system), stops=stops, cautions=cautions,
        quiet=tuple(one for one in remarks if one.level in ("ok", "none")), holds=holds, silent=silent,
    )  # fmt: skip


def fault_remark(fault: Fault, n: int) -> Remark:
    """A fault in what was written. At its own box a remedy names the value alone: the key is there already.

    A key that is missing stands at the box it would have.
    """
    missing = re.match(r"`(\w+)` is missing", fault.message) if fault.code == "key.missing" else None
    path = ".".join(part for part in (fault.where.path, missing[1] if missing else "") if part)
    key = re.escape(re.sub(r"\[[0-9]+\]", "", path).rpartition(".")[2])
    remedy = re.sub(rf"`{key}: ([^`]+)`", r"`\1`", fault.remedy) if key else fault.remedy
    return Remark(
        id=f"fault-{n}", level="fault", title="", text=sentence(fault.message), remedy=sentence(remedy),
        path=path, line=fault.where.line, code=fault.code,
    )  # fmt: skip


def _count(number: int, word: str, many: str = "") -> str:
    return f"{number} {word if number == 1 else many or f'{word}s'}"


def sentence(text: str) -> str:
    """A message as a sentence of the page."""
    text = text.replace("`", "")
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith(('.', '?', '!')) else '.'}" if text else ""


def _remark(job: CheckedJob, finding: Finding, n: int, system: System) -> Remark:
    at, written = key_at(finding, job)
    told_cures = tuple(_cure(job, one, system) for one in cures.cures_of(job, finding))
    level = finding.level
    accepted = f"{finding.accepted[1]}: {finding.accepted[0]}" if finding.accepted is not None else ""
    return Remark(
        id=f"f{n}", level=level, title=spoken.title(finding.code), text=spoken.message(finding, system),
        remedy=spoken.remedy(finding, system) if level in ("stop", "caution") and not told_cures else "",
        path=at, line=finding.where.line, written=written, code=finding.code, about=finding.about, cures=told_cures,
        acceptable=level in ("stop", "caution") and not accepted and may_accept(finding.code, level, finding.case),
        accepted=accepted,
    )  # fmt: skip


def _cure(job: CheckedJob, remedy: Remedy, system: System) -> Cure:
    edits = edits_of(job.plan.input, remedy)
    after = spoken.message(remedy.after, system) if remedy.after is not None and remedy.after.level != "none" else ""
    return Cure(
        change=f"{cures.change(remedy, system)}." if remedy.on_rig else cures.sentence(remedy, system),
        after=after if remedy.on_rig else "",
        level=remedy.after.level if remedy.after is not None else "ok",
        edits=json.dumps(edits) if edits else "",
        lines=tuple(_edit(path, text) for path, text in edits),
        jet=next((f"jet {n}" for n, one in enumerate(_drawn(job)) if one is remedy), ""),
    )


def _edit(path: str, text: str | None) -> str:
    """One edit as the lines it writes."""
    if text is None:
        return f"{path} is taken out"
    return f"{path}:\n  {text.replace(chr(10), chr(10) + '  ')}" if "\n" in text else f"{path}: {text}"


# ------------------------------------------------------------ figures


def _tiles(job: CheckedJob, system: System) -> list[Tile]:
    plan = job.plan
    if plan.kind != "wash":
        return _yard(job, system)
    return [_reach(job, system), _mix(job, system), _water(job, system), _time(job, system)]


def _worst(job: CheckedJob, *begin: str) -> str:
    """The worst level among open findings of some codes."""
    levels = {one.level for one in job.findings if one.accepted is None and one.code.startswith(begin)}
    return "stop" if "stop" in levels else "caution" if "caution" in levels else "ok"


def _reach(job: CheckedJob, system: System) -> Tile:
    run = tightest(job.plan.runs)
    level = _worst(job, "reach.")
    if run is None:
        return Tile(label="Reach", number="low work", unit="", lines=("any tip reaches",), level=level)
    figures = reached(run, system)
    assert figures is not None
    tip = f"{show(run.tip_pressure, 'pressure', system)} at the tip"
    needed, unit = figures.needed
    if run.reach is None:
        return Tile(label="Reach", number="none", unit=f"of {needed} {unit}", lines=(tip,), level="stop")
    number, own = show_number(run.reach.nominal, "length", system, toward="down")
    return Tile(
        label="Reach", number=number, unit=f"{own} for {needed}", lines=(f"at worst {figures.low}", tip), level=level
    )


def _mix(job: CheckedJob, system: System) -> Tile:
    plan = job.plan
    if not plan.mixes:
        return Tile(label="Mix", number="water", unit="", lines=("no chemical",), level=_worst(job, "mix."))
    mix = plan.mixes[0]
    level = _worst(job, "mix.")
    wall = on_the_wall(plan, mix)
    more = (f"and {len(plan.mixes) - 1} more",) if len(plan.mixes) > 1 else ()
    if not mix.reachable:
        return Tile(label="Mix", number="none", unit="", lines=(f"{wall} cannot be made", *more), level="stop")
    lot = f" of {mix.lot.name}" if mix.lot is not None else ""
    lines = (f"{wall} {short_of(mix.chemical)}", f"{stock_in_all(mix, system)}{lot}", *more)
    if mix.dial is not None:
        return Tile(label="Mix", number=dial_set(mix), unit="dial", lines=lines, level=level)
    amount = poured(mix.mix or 0.0, system, "up").rsplit(" ", 1)
    return Tile(label="Mix", number=amount[0], unit=amount[-1], lines=lines, level=level)


def _water(job: CheckedJob, system: System) -> Tile:
    plan = job.plan
    number, unit = in_all(plan.water.most, system)
    tap = open_flow(plan.input)
    lines = [f"tap {show(tap, 'flow', system)}"] if tap is not None else []
    main = plan.supply.main if plan.supply is not None else None
    if main is not None:
        lines.append(f"{main.name} runs dry" if main.dry is not None else f"{main.name} lasts")
    return Tile(label="Water", number=number, unit=unit, lines=tuple(lines), level=_worst(job, "supply."))


def _time(job: CheckedJob, system: System) -> Tile:
    plan = job.plan
    seconds = sum(span.seconds for span in plan.time if span.what != "drive")
    begin, end = arrival_of(plan.time), end_of(plan.time)
    lines = (
        (f"{clock_text(begin, system)} to {clock_text(end, system)}",) if begin is not None and end is not None else ()
    )
    number, unit = hours(seconds)
    return Tile(label="On site", number=number, unit=unit, lines=lines, level=_worst(job, "weather.", "day."))


def hours(seconds: float) -> tuple[str, str]:
    """A stay, up to the minute: (`3 h 36`, `min`)."""
    minutes = int(-(-seconds // 60))
    return (f"{minutes // 60} h {minutes % 60}" if minutes >= 60 else f"{minutes}", "min")


def _yard(job: CheckedJob, system: System) -> list[Tile]:
    yard = job.plan.yard
    tiles = []
    if yard is not None and yard.bath is not None:
        bath = yard.bath
        stock = weighed(bath.stock_mass, system) if bath.stock_mass is not None else poured(bath.stock, system)
        number, _, unit = show(bath.volume, "volume", system).rpartition(" ")
        lines = (f"{stock} of {short_of(bath.chemical)}",)
        tiles.append(Tile(label="Bath", number=number, unit=unit, lines=lines, level=_worst(job, "bath.")))
    return [*tiles, _time(job, system)]


def _wall(job: CheckedJob, system: System) -> str:
    """The tightest run's wall with its jet, and dotted the jets of what would cure it, one of which is shown."""
    run = tightest(job.plan.runs)
    if run is None:
        return ""
    beside = [one.run for one in _drawn(job) if one.run is not None]
    return svg_of(elevation(run, system, *_WALL, eave_of(job.plan), beside), jet_told(run, system))


def _drawn(job: CheckedJob) -> list[Remedy]:
    """Remedies whose jet can be drawn on the wall that is shown."""
    run = tightest(job.plan.runs)
    return [
        one
        for one in job.remedies
        if one.on_rig and one.run is not None and run is not None and one.run.name == run.name and one.run.reach
    ]


def marks(remarks: Sequence[Remark], paths: Sequence[str]) -> str:
    """The worst level said of any of some keys; nothing where nothing is."""
    order = ("fault", "stop", "caution")
    levels = {one.level for one in remarks if not one.accepted and any(_below(one.path, path) for path in paths)}
    return next((level for level in order if level in levels), "")


def _below(path: str, key: str) -> bool:
    return path == key or path.startswith((f"{key}.", f"{key}["))


__all__ = ["VERDICTS", "Cure", "Remark", "Tile", "Told", "fault_remark", "hours", "marks", "told"]
