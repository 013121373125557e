"""The page for what was done: the plan's figures, each with a box beside it.

What a step of the crew's sheets reads is written at that step, so nobody has to keep it in mind; the page asks for the
rest. The boxes' names are the key paths of a record, the same from plan to plan; what stands at each is its row of
data/recordable.yaml.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations_with_replacement
from typing import Any

from planner.contract.plan import job_json
from planner.contract.planned import mix_of_side, moments
from planner.contract.recordable import Recordable, Shown, asked_of, rows_in, shown
from planner.packet.blocks import Block, Cell, Section, Span, Table, WriteIn
from planner.packet.sections.acts.streams import procedure_of, role_of_second
from planner.packet.sections.mixes import pours, today
from planner.packet.sections.reading import Reading, template
from planner.packet.wording import section_from
from planner.plan.model import JobPlan, RunPlan
from planner.plan.procedure.acts import Spray
from planner.plan.procedure.totals import first_mix, jugs_left
from planner.units import System
from planner.words.dates import after_text, clock_text
from planner.words.figures import LOWEST_TARGET
from planner.words.measures import rounded
from planner.words.spoken import mix_title

_BOX, _TALL = 52.0, 18.0
_AT_A_STEP = 42.0
_LAST = 36.0
_READ = {"gauge_open": "gauge_open", "gauge_closed": "gauge_closed", "bucket": "bucket", "throw": "jet"}
"""What an act expects, and the key of a run's readings in a record."""
STRIPS = {"strip_chlorine": "flush.residual", "strip_ph": "flush.ph"}
_MOST_SURFACES = 40
_MOST_GROUPS = 8
Json = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing to write down: what it is, what was planned (`planned` as printed, `unit`), and its field's name.

    `of` is the unit of a bare number where the label says it, `lead` what stands before that number; `spoken` is the
    label for who does not see what it stands under.
    """

    name: str
    label: str
    planned: str
    unit: str = ""
    of: str = ""
    lead: str = ""
    spoken: str = ""

    def box(self, about: str) -> WriteIn:
        """Its box, whose field says of what it is where there are several."""
        words = self.spoken or self.label
        return WriteIn(
            width=_BOX, height=_TALL, name=self.name, label=f"{about}: {words}" if about else words,
            planned=self.planned, unit=self.of or self.unit, lead=self.lead,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Things to write down under one head; `about` says of which run or mix, where there are several."""

    title: str
    entries: list[Entry]
    about: str = ""


def section(reading: Reading) -> Section | None:
    """What was done, of a wash."""
    plan = reading.checked.plan
    if plan.kind != "wash":
        return None
    figures = figures_of(reading)
    places: dict[str, tuple[Block, ...]] = {
        "readings": tuple(_grid(reading, figures)),
        "surfaces": (_surfaces(reading, figures),) if plan.work and not _by_water_alone(plan) else (),
        "last": (_last(),),
    }
    values = {"surfaces": "yes" if places["surfaces"] else "no"}
    return section_from("done", template("done"), values, places, role=role_of_second(reading))


def figures_of(reading: Reading) -> Json:
    """The plan as its figures are kept: what is printed at a box is what its question and a comparison have."""
    return job_json(reading.checked, reading.system, wear=False)


def read_at_acts(reading: Reading) -> dict[str, WriteIn]:
    """By an act's id, the box for what is read by it: each figure once, by the first act that reads it."""
    if procedure_of(reading) is None or reading.checked.plan.kind != "wash":
        return {}
    return _at_acts(reading, figures_of(reading))


def _at_acts(reading: Reading, figures: Json) -> dict[str, WriteIn]:
    procedure, plan, system = procedure_of(reading), reading.checked.plan, reading.system
    if procedure is None:
        return {}
    entries = {
        (run["name"], entry.name.rpartition(".")[2]): entry.box(run["name"] if len(plan.runs) > 1 else "")
        for run, key in zip(figures["runs"], run_keys(plan.runs), strict=True)
        for entry in readings(figures, run, system, f"readings.{key}")
    }
    entries |= {("", entry.name): entry.box("") for entry in flushed(figures, system)}
    found: dict[str, WriteIn] = {}
    tests = jugs_left(procedure, [mix.run.name for mix in plan.mixes])
    for number, (mix, test) in enumerate(zip(plan.mixes, tests, strict=True), start=1):
        about = mix_title(plan.mixes, mix) if len(plan.mixes) > 1 else ""
        left = (one for one in mixed(reading, figures, number) if one.name.endswith(".jug_left"))
        if test is not None and (entry := next(left, None)) is not None:
            found[test.act] = replace(entry.box(about), width=_AT_A_STEP)
    run = ""
    for act in procedure.acts:
        run = act.detail.run if isinstance(act.detail, Spray) else run
        if act.expect is None:
            continue
        of_run = run if act.expect.what in _READ else ""
        box = entries.get((of_run, _READ.get(act.expect.what) or STRIPS.get(act.expect.what, "")))
        if (
            box is not None
            and (of_run or act.phase == "flush")
            and box.name not in {one.name for one in found.values()}
        ):
            found[act.id] = replace(box, width=_AT_A_STEP)
    return found


def field_key(text: str) -> str:
    """A name as part of a field's name: `Lake wall` as `lake_wall`; nothing where no letter or figure is left."""
    return re.sub(r"[^0-9a-z]+", "_", text.casefold()).strip("_")[:40].strip("_")


def run_keys(runs: Sequence[RunPlan]) -> list[str]:
    """Each run in a field's name: by its own name, by its number where that would not tell it from another."""
    keys = [field_key(run.name) for run in runs]
    numbers = {str(n) for n in range(1, len(runs) + 1)}
    return [
        key if key and key not in numbers and keys.count(key) == 1 else str(n) for n, key in enumerate(keys, start=1)
    ]


def boxed(row: Recordable, told: Shown, name: str) -> Entry:
    """The box of a row under the `name` of its part: where the label has the unit, a bare number is of that."""
    label = row.label.format(unit=told.unit, size=told.lead.removesuffix(" in"))
    said, unit = (told.unit, "") if "{unit}" in row.label else ("", told.unit)
    return Entry(name=f"{name}.{row.key}", label=label, planned=told.number, unit=unit, of=said, lead=told.lead,
                 spoken=row.spoken)  # fmt: skip


def entries_of(plan: Json, group: str, part: Json, system: System, name: str) -> list[Entry]:
    """The boxes of one part of a record: where the plan has a figure, and where it never has one."""
    rows = [(row, shown(row, plan, part, system)) for row in rows_in(group) if row.label and asked_of(row, plan, part)]
    return [boxed(row, told, name) for row, told in rows if told.number or not row.planned or group == "water"]


def times(plan: Json, system: System) -> list[Entry]:
    """Arrived, first spray, flushed, left: on the clock, or after so long where nobody wrote when the rig leaves."""
    at, dated = moments(plan)

    def planned(key: str) -> str:
        if key not in at:
            return ""
        return clock_text(at[key], system) if dated else after_text(at[key] - at.get("arrived", 0.0))

    return [
        Entry(name=row.path, label=row.label, planned=planned(row.key))
        for row in rows_in("times")
        if row.key in at or row.key in ("arrived", "left")
    ]


def readings(plan: Json, run: Json, system: System, prefix: str) -> list[Entry]:
    """Gauge open and closed, bucket seconds, and how high the jet got; no gauge hangs on a house's tap."""
    high = run["needed_m"] is not None and run["needed_m"] > LOWEST_TARGET
    none = {*(("gauge_open", "gauge_closed") if run["pump"] is None else ()), *(() if high else ("jet",))}
    found = entries_of(plan, "readings", run, system, prefix)
    return [one for one in found if one.name.rpartition(".")[2] not in none]


def mixed(reading: Reading, figures: Json, number: int) -> list[Entry]:
    """The stock's test, what was set, what was poured, what is left."""
    plan, mix, name = reading.checked.plan, reading.checked.plan.mixes[number - 1], f"mixes.{number}"
    found = entries_of(figures, "mixes", figures["mixes"][number - 1], reading.system, name)
    test = f"{name}.stock_test"
    if mix.lot is not None and mix.lot.nominal is not None:
        planned, _, unit = today(plan, mix.lot).partition(" ")  # as its own label says it
        row = next(row for row in rows_in("mixes") if row.key == "stock_test")
        own = boxed(row, Shown(number=planned, unit=unit), name)
        found = [own if one.name == test else one for one in found]
    return found if pours(reading, mix) else [one for one in found if one.name == test]


def flushed(plan: Json, system: System) -> list[Entry]:
    """What the strip at the tip should read after the flush: of chlorine where there was any in it, else its pH."""
    last = {flush["from"] for flush in plan["flushes"] if flush["when"] == "after"}
    read = "flush.residual" if "hypochlorite" in last else "flush.ph"
    return [one for one in entries_of(plan, "flush", plan, system, "flush") if one.name == read and last]


def _grid(reading: Reading, figures: Json) -> list[Block]:
    """The groups in three columns of figures with their boxes."""
    plan, system = reading.checked.plan, reading.system
    groups = _first(plan, figures, system)
    several = len(plan.runs) > 1
    for run, key in zip(figures["runs"], run_keys(plan.runs), strict=True):
        title, about = (run["name"], run["name"]) if several else ("Readings", "")
        groups.append(Group(title=title, entries=readings(figures, run, system, f"readings.{key}"), about=about))
    for number, mix in enumerate(plan.mixes, start=1):
        many = len(plan.mixes) > 1
        title = mix_title(plan.mixes, mix) if many else "Mix"
        groups.append(Group(title=title, entries=mixed(reading, figures, number), about=title if many else ""))
    if plan.mixes:
        groups[-1].entries.extend(flushed(figures, system))
    taken = {box.name for box in _at_acts(reading, figures).values()}
    groups = [replace(one, entries=[entry for entry in one.entries if entry.name not in taken]) for one in groups]
    groups = [one for one in groups if one.entries]
    return [abreast(groups[n : n + _MOST_GROUPS]) for n in range(0, len(groups), _MOST_GROUPS)]


def _first(plan: JobPlan, figures: Json, system: System) -> list[Group]:
    """Times and water; of one wall that only gets water, that too."""
    begun, used = times(figures, system), entries_of(figures, "water", figures, system, "water")
    if _by_water_alone(plan):
        number, unit = rounded(plan.work[0].rinse_volume, "volume", system, "up")
        used.append(Entry(name="sides.1.rinse", label="Rinse", planned=number, unit=unit))
    return [Group(title="Times", entries=begun), Group(title="Water", entries=used)]


def _by_water_alone(plan: JobPlan) -> bool:
    """Whether all that is done is one wall rinsed."""
    return not plan.mixes and len(plan.work) == 1 and plan.work[0].rinse > 0 and not plan.work[0].wet > 0


def abreast(groups: Sequence[Group]) -> Table:
    """Groups in their order as three columns of like height, in one table: label, planned, box, unit for each entry."""
    columns = [_lines(column) for column in _balanced(groups)]
    widths: list[float] = []
    for column in columns:
        on_clock = any(isinstance(line, Entry) and line.planned.endswith("m") for line, _ in column)
        widths += [60.0, 50.0, 39.0, 23.0] if on_clock else [66.0, 37.0, 42.0, 27.0]
    head = [words for column in columns for words in _head(column[0][0] if column else "")]
    rows = tuple(
        tuple(cell for column in columns for cell in _cells(*(column[n] if n < len(column) else ("", ""))))
        for n in range(1, max(len(column) for column in columns))
    )
    right = frozenset(range(1, len(head), 4))
    return Table(head=tuple(head), rows=rows, widths=tuple(widths), right=right, tight=True, abreast=3)


def _balanced(groups: Sequence[Group]) -> list[Sequence[Group]]:
    """The groups in three columns, none of them torn, so that the tallest is as short as it can be."""
    cuts = combinations_with_replacement(range(1, len(groups) + 1), 2)
    ways = [[groups[:a], groups[a:b], groups[b:]] for a, b in cuts]
    return min(ways, key=lambda way: sorted((len(_lines(column)) for column in way), reverse=True))


def _lines(groups: Sequence[Group]) -> list[tuple[str | Entry, str]]:
    """The lines of a column: the head of each group and its entries, with what the group is about."""
    found: list[tuple[str | Entry, str]] = []
    for one in groups:
        found += [(one.title, one.about), *((entry, one.about) for entry in one.entries)]
    return found


def _head(title: str | Entry) -> tuple[str, ...]:
    assert isinstance(title, str)
    return (title, "plan", "done", "") if title else ("", "", "", "")


def _cells(line: str | Entry, about: str) -> tuple[Cell, ...]:
    if isinstance(line, str):
        return ((Span(text=line, strong=True),), *_head(line)[1:]) if line else ("", "", "", "")
    return (line.label, (Span(text=line.planned, strong=True),), line.box(about), line.unit)


def _first_mixes(reading: Reading) -> list[str]:
    """When each side has its first mix; of one side alone the job's first spray tells it."""
    plan, procedure = reading.checked.plan, procedure_of(reading)
    if procedure is None or len(plan.work) < 2:
        return []
    at = [first_mix(procedure, one.surface.name, one.run) for one in plan.work]
    if all(one is None for one in at):
        return []
    dated = bool(plan.time) and plan.time[0].start is not None
    starts = procedure.starts
    return ["" if one is None else clock_text(one, reading.system) if dated else after_text(one - starts) for one in at]


_WIDE = {
    "first_mix": (42, 42), "sections": (16, 40), "wet": (32, 40), "mix": (34, 40), "dwell": (40, 40), "rinse": (34, 40),
}  # fmt: skip
"""How wide a side's figure is as planned, and its box."""


def _surfaces(reading: Reading, figures: Json) -> Table:
    """First mix, sections, wet, mix, dwell and rinse by side, planned and done; of water alone no mix and no dwell."""
    plan, system = reading.checked.plan, reading.system
    begun = _first_mixes(reading)
    columns = [
        row
        for row in rows_in("sides")
        if (row.key != "first_mix" or begun) and (row.key not in ("mix", "dwell") or plan.mixes)
    ]
    rows: list[tuple[Cell, ...]] = []
    heads: list[str] = []
    for number, (one, side) in enumerate(zip(plan.work, figures["work"], strict=True), start=1):
        run = f", {one.run}" if len(plan.runs) > 1 else ""
        told = [boxed(row, shown(row, figures, side, system), f"sides.{number}") for row in columns]
        heads = heads or [box.label for box in told]
        cells: list[Cell] = [(Span(text=one.surface.called, strong=True), Span(text=run))]
        for row, box in zip(columns, told, strict=True):
            if row.key in ("first_mix", "mix", "dwell") and mix_of_side(figures, side) is None:  # water alone
                cells += ["", ""]
                continue
            planned = begun[number - 1] if row.key == "first_mix" else box.planned
            about = f"{one.surface.called}{run}: {row.key.replace('_', ' ')}"
            cells += [planned, replace(box, planned=planned, spoken=about).box("")]
        rows.append(tuple(cells))
    widths = [70 + 84 * (not begun) + 160 * (not plan.mixes), *(wide for row in columns for wide in _WIDE[row.key])]
    return Table(
        head=("By side", *(cell for words in heads for cell in (words, ""))), rows=tuple(rows[:_MOST_SURFACES]),
        widths=tuple(widths), right=frozenset(range(1, len(widths), 2)), tight=True,
    )  # fmt: skip


_LAST_WIDE = {"deviations": 5.2, "after": 4.4, "signed": 2.9, "signed_at": 2.3}


def _last() -> Table:
    """What went otherwise, how things were left, and who says so: boxes under their names."""
    rows = [row for row in rows_in("") if row.key in _LAST_WIDE]
    boxes = tuple(
        WriteIn(width=1000, height=_LAST, name=row.key, label=row.label, tall=not row.key.startswith("signed"))
        for row in rows
    )
    head, widths = tuple(row.label for row in rows), tuple(_LAST_WIDE[row.key] for row in rows)
    return Table(head=head, rows=(boxes,), widths=widths, tight=True)
