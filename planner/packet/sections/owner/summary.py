"""The first page of the owner's file: the verdict, what is closest to its limit, the sums, and what rests on what."""

from __future__ import annotations

from planner.packet.blocks import Block, Cell, Heading, Picture, Section, Span, Table, Two, Verdict, VerdictItem, said
from planner.packet.drawings.charts import along, meeting
from planner.packet.drawings.level import level_chart
from planner.packet.findings import accepted, headed, message_of, stops_of
from planner.packet.pages.flowables import flowables
from planner.packet.pages.fonts import register
from planner.packet.pages.pages import BODY_BOTTOM, HEAD, PAPERS, TITLE_HEIGHT, TOP
from planner.packet.pages.style import MEASURE
from planner.packet.sections.mixes import band_of, known_from, today
from planner.packet.sections.owner.closest import closest, closest_table
from planner.packet.sections.owner.sums import chemical_column, time_column, water_column
from planner.packet.sections.reading import Reading, template
from planner.packet.sections.told import along_told, level_told, meeting_told
from planner.packet.wording import section_from
from planner.plan.model import JobPlan, RunPlan
from planner.plan.water.tap import open_flow
from planner.plan.wear.model import told_by
from planner.units import System, show
from planner.words.figures import source_of, tightest
from planner.words.spoken import spoken_name

_FITS = ((148.0, 6, 9), (128.0, 6, 9), (112.0, 5, 8), (98.0, 4, 6), (98.0, 3, 4), (0.0, 3, 5))
"""How tall its charts are [pt], and of what is closest to its limit at least and at most how many rows: the first that
fits a page of letter paper is taken."""
_ROOM = PAPERS["letter"][1] - TOP - HEAD - TITLE_HEIGHT - BODY_BOTTOM - 6.0  # pt
_NOT_CHECKED = "nothing: the job is held"
_WORDS = {"ok": "Go", "caution": "Go, with care", "stop": "Stop"}
_MOST_LOTS, _MOST_STOPS = 2, 2


def section(reading: Reading) -> Section:
    """The summary."""
    register()
    for fit in _FITS[:-1]:
        made = _fitted(reading, *fit)
        if sum(float(part.wrap(MEASURE, 0.0)[1]) for part in flowables(made.blocks)) <= _ROOM:
            return made
    return _fitted(reading, *_FITS[-1])


def _fitted(reading: Reading, tall: float, least: int, most: int) -> Section:
    """The page with charts so `tall`, none at nought."""
    rows, left = closest(reading, least, most)
    first, last = reading.bound.page("worksheet") or 2, reading.bound.total
    values = {
        "pages": f"pages {first} to {last}" if last > first else f"page {first}",
        "more": f"{left} more {'is' if left == 1 else 'are'} under every check." if left else "",
    }
    places: dict[str, tuple[Block, ...]] = {
        "verdict": (_verdict(reading),),
        "closest": (closest_table(rows),),
        "curves": tuple(_curves(reading, (tall,))) if tall else (),
        "sums": tuple(_sums(reading)),
        "known": tuple(_known(reading)),
    }
    foot = f"From page {first}: worksheet, every check."
    return section_from("summary", template("summary"), values, places, foot=foot, role="owner")


def _verdict(reading: Reading) -> Verdict:
    """The word, how many checks came to what, and what holds the job."""
    checked = reading.checked
    items = [VerdictItem(level=checked.verdict, title="Checks", text=counted(reading))]
    items += [
        VerdictItem(level="stop", title=headed(finding), text=message_of(finding, reading.system))
        for finding in stops_of(checked)[:_MOST_STOPS]
    ]
    return Verdict(level=checked.verdict, word=_WORDS[checked.verdict], count="", items=tuple(items))


def counted(reading: Reading) -> str:
    """How many checks came to what."""
    levels = [finding.level for finding in reading.checked.findings]
    words = [f"{levels.count('ok')} ok"]
    words += [_many(levels.count("caution"), "caution"), _many(levels.count("stop"), "stop")]
    none = levels.count("none")
    words.append("1 does not apply" if none == 1 else f"{none} do not apply")
    if waived := len(accepted(reading.checked)):
        words.append(f"{waived} accepted")
    return ", ".join(words)


def _many(number: int, word: str) -> str:
    return f"1 {word}" if number == 1 else f"{number or 'no'} {word}s"


def _curves(reading: Reading, tall: tuple[float, ...]) -> list[Block]:
    """Where pump and hose meet on the run with least in hand, and the water tank, else the pressure along the hose."""
    plan, system = reading.checked.plan, reading.system
    run = tightest(plan.lines) or (plan.lines[0] if plan.lines else None)
    if run is None:
        return []
    if not run.pump_curve:
        return [Two(left=_beside(plan, run, system, tall), right=(), split=(6, 6))]
    named = f", {run.name}" if len(plan.lines) > 1 else ""
    source = source_of(run).capitalize()
    left = (Heading(spans=said(f"{source} meets hose{named}")), _meeting(run, system, tall))
    return [Two(left=left, right=_beside(plan, run, system, tall), split=(6, 6))]


def _meeting(run: RunPlan, system: System, tall: tuple[float, ...]) -> Picture:
    def paint(wide: float, tall: float) -> object:
        return meeting(run, system, wide, tall)

    return Picture(paint=paint, heights=tall, told=meeting_told(run, system))


def _beside(plan: JobPlan, run: RunPlan, system: System, tall: tuple[float, ...]) -> tuple[Block, ...]:
    supply = plan.supply
    if supply is None or not supply.tanks:

        def paint_along(wide: float, tall: float) -> object:
            return along(run, system, wide, tall)

        return (
            Heading(spans=said("Pressure along the hose")),
            Picture(paint=paint_along, heights=tall, told=along_told(run, system)),
        )
    tank, phases = supply.tanks[0], supply.phases

    def paint(wide: float, tall: float) -> object:
        return level_chart(tank, phases, system, wide, tall)

    return (
        Heading(spans=said(f"The {tank.name} tank, from the end of set-up")),
        Picture(paint=paint, heights=tall, told=level_told(tank, system)),
    )


def _sums(reading: Reading) -> list[Block]:
    """The three columns side by side; one that has nothing to say leaves its place to the others."""
    made = [column(reading) for column in (water_column, chemical_column, time_column)]
    found = [column for column in made if column]
    if len(found) == 3:
        return [Two(left=found[0], right=(Two(left=found[1], right=found[2], split=(4, 4)),), split=(4, 8))]
    if len(found) == 2:
        return [Two(left=found[0], right=found[1], split=(6, 6))]
    return list(found[0]) if found else []


def _known(reading: Reading) -> list[Block]:
    """What the plan rests on, how that is known, and by what the crew sees whether it is so."""
    plan = reading.checked.plan
    rows = [*_lots(plan), *_tap(plan, reading.system), *_pumps(plan), *_bench(plan, reading.system), *_dosing(plan)]
    if not rows:
        return []
    cells: tuple[tuple[Cell, ...], ...] = tuple(((Span(text=one, strong=True),), known, by) for one, known, by in rows)
    return [
        Heading(spans=said("Where the figures come from")),
        Table(head=("Figure", "Known from", "Checked on site by"), rows=cells, widths=(4.8, 3.4, 3.8)),
    ]


def _checked_by(plan: JobPlan, **words: str) -> str:
    """The readings of the procedure that show it, by their keys; says so where the crew reads none of them."""
    acts = plan.procedure.acts if plan.procedure is not None else ()
    read = {act.expect.what for act in acts if act.expect is not None}
    found = [text for key, text in words.items() if key in read]
    return ", ".join(found) or ("nothing" if acts else _NOT_CHECKED)


def _lots(plan: JobPlan) -> list[tuple[str, str, str]]:
    bath = plan.yard.bath if plan.yard is not None else None
    pours = [share for mix in plan.mixes for share in mix.pours] + list(bath.pours if bath is not None else ())
    used = {share.lot.name: share.lot for share in pours}
    rows = []
    for lot in list(used.values())[:_MOST_LOTS]:
        band = band_of(plan, lot)
        strength = f"{today(plan, lot)}, {band}" if band else today(plan, lot)
        by = "label and date, read out loud" if plan.procedure is not None else _NOT_CHECKED
        rows.append((f"{spoken_name(lot.chemical).capitalize()} {strength}", known_from(lot), by))
    return rows


def _tap(plan: JobPlan, system: System) -> list[tuple[str, str, str]]:
    water = plan.input.water
    if plan.kind != "wash" or water.source not in ("tap", "hydrant"):
        return []
    flow = open_flow(plan.input)
    name = water.source.capitalize()
    if flow:
        name += f" {show(flow, 'flow', system, toward='down')}"
    fills = plan.supply is not None and any(tank.fills for tank in plan.supply.tanks)
    return [(name, "a test" if water.tested else "never tested", "minutes of each fill" if fills else "nothing")]


def _pumps(plan: JobPlan) -> list[tuple[str, str, str]]:
    pumps = {run.input.pump.name: run.input.pump for run in plan.runs if run.input.pump is not None}
    by = _checked_by(plan, gauge_open="gauge", bucket="bucket", throw="jet at the wall")
    told = {True: list[str](), False: list[str]()}
    for name, pump in pumps.items():
        worn = pump.condition < 1.0
        told[worn].append(f"{name} at {show(pump.condition, 'fraction', 'us', toward='down')}" if worn else name)
    rows = [(f"{', '.join(told[True])} of new", "condition in the rig", by)] if told[True] else []
    if told[False]:
        rows.append((f"{', '.join(told[False])} as new", "no wear is recorded", by))
    return [(f"{name[:1].upper()}{name[1:]}", known, by) for name, known, by in rows]


def _bench(plan: JobPlan, system: System) -> list[tuple[str, str, str]]:
    """Of work in the yard: the pump as it stands before, and the tub that its levels are marked for."""
    yard = plan.yard
    rows = []
    if yard is not None and yard.test is not None:
        reading = told_by(yard.test.found, yard.test.of)
        share = show(yard.test.before.share, "fraction", system, toward="down")
        known = "condition in the rig" if yard.pump.condition < 1.0 else "no wear is recorded"
        known = f"its {reading.by}, in the job" if reading is not None else known
        by = _checked_by(plan, gauge_closed="gauge", bucket="bucket", throw="throw paced")
        name = f"{yard.pump.name[:1].upper()}{yard.pump.name[1:]}"
        rows.append((f"{name} at {share} of its {yard.test.of}" if share != "100 %" else f"{name} as new", known, by))
    if yard is not None and yard.bath is not None and yard.bath.across is not None:
        across = show(yard.bath.across, "dip", system)
        by = "stick" if any(level.by_stick for level in yard.bath.levels) else "what is poured"
        rows.append((f"Tub {across} across", "across, in the job", by if plan.procedure is not None else _NOT_CHECKED))
    return rows


def _dosing(plan: JobPlan) -> list[tuple[str, str, str]]:
    rows = []
    for mix in plan.mixes[:1]:
        device = mix.run.dosing
        if mix.kind == "metered" and device is not None and device.dial:
            points = len(device.dial)
            by = _checked_by(plan, jug_down="draw test at first mix")
            rows.append((f"Marks of {device.name}", f"{points} points of its dial", by))
        elif mix.kind == "injector" and device is not None:
            known = "a dated test" if mix.ratio_tested else "its plate, never tested"
            rows.append((f"Ratio of {device.name}", known, _checked_by(plan, jug_down="draw test at first mix")))
    return rows
