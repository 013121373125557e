"""The page for what was done: the plan's figures, each with a box beside it.

What a step of the crew's sheets reads is written at that step, so nobody has to keep it in mind; the page asks for the
rest. The boxes' names are the key paths of a record, planner/inputs/models/record.py, the same from plan to plan.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations_with_replacement

from planner.contract.recordable import row_of, rows_of
from planner.frozen import dataclass
from planner.inputs.tables.chemicals import BLEACH
from planner.packet.blocks import Block, Cell, Section, Span, Table, WriteIn
from planner.packet.sections.acts.streams import procedure_of, role_of_second
from planner.packet.sections.mixes import dial_set, pours, today
from planner.packet.sections.reading import Reading, template
from planner.packet.wording import section_from
from planner.plan.between.runoff import remains_of
from planner.plan.mix.model import MixPlan, SurfaceWork
from planner.plan.model import JobPlan, RunPlan
from planner.plan.procedure.acts import Spray
from planner.plan.procedure.totals import JugTest, first_mix, jugs_left
from planner.plan.water.tap import has_tap, open_flow
from planner.units import System, show_number
from planner.words.dates import after_text, clock_text
from planner.words.figures import BUCKET, BUCKET_SI, bucket_seconds, gauge_of, reached
from planner.words.figures import unit as unit_of
from planner.words.jugs import rest_of
from planner.words.measures import (
    gauge_number,
    in_all,
    minutes_between,
    poured_number,
    rounded,
    timed,
    volume,
    weighed,
)
from planner.words.spoken import mix_title

_BOX, _TALL = 52.0, 18.0
_AT_A_STEP = 42.0
_LAST = 24.0
_READ = {"gauge_open": "gauge_open", "gauge_closed": "gauge_closed", "bucket": "bucket", "throw": "jet"}
"""What an act expects, and the key of a run's readings in a record."""
STRIPS = {"strip_chlorine": "flush.residual", "strip_ph": "flush.ph"}
_MOST_SURFACES = 40
_MOST_GROUPS = 8
_NOISE = 1e-9  # m3; what sums leave over


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
    places: dict[str, tuple[Block, ...]] = {
        "readings": tuple(_grid(reading)),
        "surfaces": (_surfaces(reading),) if plan.work and not _by_water_alone(plan) else (),
        "last": _last(),
    }
    values = {"surfaces": bool(places["surfaces"])}
    return section_from("done", template("done"), values, places, role=role_of_second(reading))


def read_at_acts(reading: Reading) -> dict[str, WriteIn]:
    """By an act's id, the box for what is read by it: each figure once, by the first act that reads it."""
    procedure = procedure_of(reading)
    if procedure is None or reading.checked.plan.kind != "wash":
        return {}
    plan, system = reading.checked.plan, reading.system
    several = len(plan.runs) > 1
    entries = {
        (run.name, entry.name.rpartition(".")[2]): entry.box(run.name if several else "")
        for run, key in zip(plan.runs, run_keys(plan.runs), strict=True)
        for entry in readings(plan, run, system, f"readings.{key}")
    }
    entries |= {("", entry.name): entry.box("") for entry in flushed(plan, system)}
    found: dict[str, WriteIn] = {}
    for number, mix in enumerate(plan.mixes, start=1):
        test = _draw_test(reading, mix)
        about = mix_title(plan.mixes, mix) if len(plan.mixes) > 1 else ""
        left = (one for one in mixed(reading, mix, f"mixes.{number}") if one.name.endswith(".jug_left"))
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
            and box.name not in {write_in.name for write_in in found.values()}
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


def times(plan: JobPlan, system: System) -> list[Entry]:
    """Arrived, first spray, flushed, left: on the clock, or after so long where nobody wrote when the rig leaves."""
    at: dict[str, float] = {}
    now, surfaces, dated = 0.0, {surface.name for surface in plan.input.surfaces}, True
    for span in plan.time:
        start = span.start if span.start is not None else now
        dated = dated and span.start is not None
        if not span.road:
            at.setdefault("arrived", start)
        if span.what in surfaces and not span.road:
            at.setdefault("first_mix", start)
        now = start + span.seconds
        if span.what == "flush":
            at["flushed"] = now
    at["left"] = now

    def planned(key: str) -> str:
        if key not in at or not plan.time:
            return ""
        return clock_text(at[key], system) if dated else after_text(at[key] - at.get("arrived", 0.0))

    keys = (row.key for row in rows_of("times"))
    return [entry(f"times.{key}", planned(key)) for key in keys if key in at or key in ("arrived", "left")]


def entry(
    path: str, planned: str, prefix: str = "", *, unit: str = "", of: str = "", size: str = "", bench: bool = False
) -> Entry:  # fmt: skip
    """The entry of a row of data/recordable.yaml; `prefix` where its run or mix has a name, `size` of its bucket."""
    row = row_of(path)
    label = (row.bench if bench else None) or row.label.format(unit=of, size=size)
    return Entry(
        name=f"{prefix}.{row.key}" if prefix else path, label=label, planned=planned, unit=unit,
        of=of, lead=f"{size} in" if size else "", spoken=row.spoken,
    )  # fmt: skip


def readings(plan: JobPlan, run: RunPlan, system: System, prefix: str) -> list[Entry]:
    """Gauge open and closed, bucket seconds, and how high the jet got."""
    joint = gauge_of(run)
    number, unit = gauge_number(joint.open if joint is not None else run.pump_pressure, system)
    entries = [entry("readings.gauge_open", number, prefix, unit=unit)]
    if run.input.pump is None:
        joint, entries = None, []  # no gauge hangs on a house's tap
    hood = run.input.tip.pattern == "surface_cleaner"  # nothing is caught from under it, and it throws nowhere
    if joint is not None and joint.closed is not None:
        number, unit = gauge_number(joint.closed, system)
        entries.append(entry("readings.gauge_closed", number, prefix, unit=unit))
    size, seconds = bucket_seconds(plan, run, system)
    if seconds and not hood:
        entries.append(entry("readings.bucket", seconds, prefix, unit="s", size=size))
    figures = reached(run, system)
    if figures is not None and run.reach is not None:
        number, unit = show_number(run.reach.nominal, "length", system, toward="down")
        entries.append(entry("readings.jet", number, prefix, unit=unit))
    if not hood:
        unit = "ft" if system == "us" else "m"
        entries.append(entry("readings.throw", "", prefix, unit=unit))
    return entries


def mixed(reading: Reading, mix: MixPlan, prefix: str) -> list[Entry]:
    """The stock's test, what was set, what was poured, what is left."""
    plan, system = reading.checked.plan, reading.system
    made = pours(reading, mix)
    entries = []
    if mix.lot is not None and mix.lot.nominal is not None:
        number, _, unit = today(plan, mix.lot).partition(" ")
        entries.append(entry("mixes.stock_test", number, prefix, of=unit))
    if not made:
        return entries
    if mix.kind == "metered":
        entries.append(entry("mixes.dial", dial_set(mix), prefix))
    if mix.stock_mass is not None:
        number, _, unit = weighed(mix.stock_mass, system, "down").rpartition(" ")
        entries.append(entry("mixes.stock_used", number, prefix, unit=unit))
    elif mix.stock:  # of soap alone there is none
        number, unit = poured_number(mix.stock, system, "down")
        entries.append(entry("mixes.stock_used", number, prefix, unit=unit))
    if mix.kind == "premix":
        number, unit = rounded(sum(batch.mix for batch in mix.batches), "volume", system)
        entries.append(entry("mixes.mix_made", number, prefix, unit=unit))
    test = _draw_test(reading, mix)
    if test is not None:
        rest = rest_of(plan, test, system)
        entries.append(entry("mixes.jug_left", rest.number, prefix, unit=rest.unit))
    over = remains_of(mix).spare
    planned, unit = rounded(over, "volume", system, "up") if over > _NOISE else ("0", unit_of("volume", system))
    entries.append(entry("mixes.left", planned, prefix, unit=unit))
    return entries


def _draw_test(reading: Reading, mix: MixPlan) -> JugTest | None:
    """The draw test of a mix; None where it has none."""
    procedure, mixes = procedure_of(reading), reading.checked.plan.mixes
    tests = jugs_left(procedure, [one.run.name for one in mixes]) if procedure is not None else ()
    return next((test for one, test in zip(mixes, tests, strict=False) if one is mix), None)


def water(plan: JobPlan, system: System) -> Entry:
    """Water of the whole job."""
    number, unit = in_all(plan.water.most, system)
    return entry("water.used", number, unit=unit)


def tap(plan: JobPlan, system: System) -> list[Entry]:
    """A bucket under the open tap, where the job has one: what was tested, or the ordinary tap that was taken."""
    if not has_tap(plan.input):
        return []
    flow = open_flow(plan.input)
    size, words = (BUCKET, "5 gal") if system == "us" else (BUCKET_SI, "20 L")
    seconds = timed(size / flow) if flow else ""
    return [entry("water.tap", seconds, unit="s", size=words)]


def flushed(plan: JobPlan, system: System) -> list[Entry]:
    """What the strip at the tip should read after the flush."""
    if not plan.flushes:
        return []
    if any(flush.leaves == BLEACH for flush in plan.flushes):
        target = min(flush.target for flush in plan.flushes)
        number, unit = show_number(target, "concentration", system, toward="down")
        return [entry("flush.residual", number, of=unit)]
    low, high = plan.input.limits["strip_low"], plan.input.limits["strip_high"]
    return [entry("flush.ph", f"{low:g} to {high:g}")]


def _grid(reading: Reading) -> list[Block]:
    """The groups in three columns of figures with their boxes."""
    plan, system = reading.checked.plan, reading.system
    groups = _first(plan, system)
    several = len(plan.runs) > 1
    for run, key in zip(plan.runs, run_keys(plan.runs), strict=True):
        title, about = (run.name, run.name) if several else ("Readings", "")
        groups.append(Group(title=title, entries=readings(plan, run, system, f"readings.{key}"), about=about))
    for number, mix in enumerate(plan.mixes, start=1):
        many = len(plan.mixes) > 1
        title = mix_title(plan.mixes, mix) if many else "Mix"
        groups.append(Group(title=title, entries=mixed(reading, mix, f"mixes.{number}"), about=title if many else ""))
    if plan.mixes:
        groups[-1].entries.extend(flushed(plan, system))
    taken = {box.name for box in read_at_acts(reading).values()}
    groups = [replace(group, entries=[entry for entry in group.entries if entry.name not in taken]) for group in groups]
    groups = [group for group in groups if group.entries]
    return [abreast(groups[n : n + _MOST_GROUPS]) for n in range(0, len(groups), _MOST_GROUPS)]


def _first(plan: JobPlan, system: System) -> list[Group]:
    """Times and water; of one wall that only gets water, that too."""
    used = [water(plan, system), *tap(plan, system)]
    if not _by_water_alone(plan):
        return [Group(title="Times", entries=times(plan, system)), Group(title="Water", entries=used)]
    number, unit = rounded(plan.work[0].rinse_volume, "volume", system, "up")
    used.append(Entry(name="sides.1.rinse", label="Rinse", planned=number, unit=unit))
    return [Group(title="Times", entries=times(plan, system)), Group(title="Water", entries=used)]


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
    for group in groups:
        found += [(group.title, group.about), *((entry, group.about) for entry in group.entries)]
    return found


def _head(title: str | Entry) -> tuple[str, ...]:
    assert isinstance(title, str)
    return (title, "plan", "done", "") if title else ("", "", "", "")


def _cells(line: str | Entry, about: str) -> tuple[Cell, ...]:
    if isinstance(line, str):
        return ((Span(text=line, strong=True),), *_head(line)[1:]) if line else ("", "", "", "")
    return (line.label, (Span(text=line.planned, strong=True),), line.box(about), line.unit)


def wetted(reading: Reading, work: SurfaceWork) -> float:
    """What a side is wetted with [m3] by its acts: a hose that holds more than a section asks for wets it longer."""
    procedure = procedure_of(reading)
    if procedure is None:
        return work.wet_volume
    on = [act.detail for act in procedure.acts if act.section is not None and act.section.surface == work.surface.name]
    return sum(one.volume for one in on if isinstance(one, Spray) and one.run == work.run and one.use == "wet")


def _first_mixes(reading: Reading) -> list[str]:
    """When each side has its first mix; of one side alone the job's first spray tells it."""
    plan, procedure = reading.checked.plan, procedure_of(reading)
    if procedure is None or len(plan.work) < 2:
        return []
    at = [first_mix(procedure, work.surface.name, work.run) for work in plan.work]
    if all(one is None for one in at):
        return []
    dated = bool(plan.time) and plan.time[0].start is not None
    starts = procedure.starts
    return ["" if one is None else clock_text(one, reading.system) if dated else after_text(one - starts) for one in at]


def _surfaces(reading: Reading) -> Table:
    """First mix, sections, wet, mix, dwell and rinse by side, planned and done; of water alone no mix and no dwell."""
    plan, system = reading.checked.plan, reading.system
    unit = "gal" if system == "us" else "L"
    rows: list[tuple[Cell, ...]] = []
    begun = _first_mixes(reading)
    heads = {
        **({"first_mix": ("First mix", 42, 42)} if begun else {}), "sections": ("Sections", 16, 40),
        "wet": (f"Wet, {unit}", 32, 40), "mix": (f"Mix, {unit}", 34, 40), "dwell": ("Dwell, min", 40, 40),
        "rinse": (f"Rinse, {unit}", 34, 40),
    }  # fmt: skip
    if not plan.mixes:
        del heads["mix"], heads["dwell"]
    for number, work in enumerate(plan.work[:_MOST_SURFACES], start=1):
        parts = [part for mix in plan.mixes if mix.run.name == work.run for part in mix.parts]
        part = next((part for part in parts if part.surface.name == work.surface.name), None)
        pairs = [
            *([("first_mix", begun[number - 1])] if begun else []),
            ("sections", str(work.sections)),
            ("wet", volume(wetted(reading, work), system, "up") if work.wet > 0 else ""),
            ("mix", volume(part.mix, system) if part is not None else ""),
            ("dwell", dwell(work)),
            ("rinse", volume(work.rinse_volume, system, "up") if work.rinse > 0 else ""),
        ]
        # Where only rain rinses nobody waits; the run that rinses may be another.
        waited = any(other.rinse > 0 for other in plan.work if other.surface.name == work.surface.name)
        run = f", {work.run}" if len(plan.runs) > 1 else ""
        row: list[Cell] = [(Span(text=work.surface.called, strong=True), Span(text=run))]
        for name, planned in pairs:
            if name not in heads:
                continue
            if (part is None and name in ("first_mix", "mix", "dwell")) or (name == "dwell" and not waited):
                row += ["", ""]
                continue
            box = WriteIn(
                width=_BOX, height=_TALL, name=f"sides.{number}.{name}",
                label=f"{work.surface.called}{run}: {name.replace('_', ' ')}", planned=planned,
                unit={"dwell": "min", "first_mix": "", "sections": ""}.get(name, unit),
            )  # fmt: skip
            row += [planned, box]
        rows.append(tuple(row))
    widths = [70 + 84 * (not begun) + 160 * (not plan.mixes), *(wide for _, *both in heads.values() for wide in both)]
    return Table(
        head=("By side", *(cell for words, _, _ in heads.values() for cell in (words, ""))), rows=tuple(rows),
        widths=tuple(widths), right=frozenset(range(1, len(widths), 2)), tight=True,
    )  # fmt: skip


def dwell(one: SurfaceWork) -> str:
    """From the shortest to the longest dwell in whole minutes, the longest never rounded up."""
    return minutes_between(one.dwell_least, one.dwell_most) if one.dwell_most > 0 else ""


def _last() -> tuple[Block, ...]:
    """What went differently and how things were left; callback, hours and money; and who says so."""
    tall = [("What went differently, and why", "deviations", 5.2), ("Plants, glass, property, leftovers", "after", 4.4)]
    words = Table(
        head=tuple(label for label, _, _ in tall), widths=tuple(wide for *_, wide in tall), tight=True,
        rows=(tuple(WriteIn(width=1000, height=_LAST, name=name, label=label, tall=True) for label, name, _ in tall),),
    )  # fmt: skip
    cells: list[Cell] = []
    for path in ("callback", "hours", "spent", "signed", "signed_at"):
        unit, box = "h" if path == "hours" else "", entry(path, "")
        shown = "Date, time" if path == "signed_at" else box.label
        cells += [shown, WriteIn(width=1000, height=_TALL, name=path, label=box.spoken or shown, unit=unit)]
    said = Table(head=(), rows=(tuple(cells),), widths=(10.6, 5.2, 4.0, 4.9, 4.0, 4.9, 7.4, 5.6, 6.4, 5.2), tight=True)
    return words, said
