"""The first page, enough on its own: who, where, when; go or stop; the numbers that matter; the worst cautions."""

from __future__ import annotations

from planner.inputs.reading.letters import loses
from planner.inputs.tables.chemicals import BLEACH, short_of
from planner.packet.blocks import (
    Block,
    Code,
    Gap,
    Heading,
    KeyFigures,
    Section,
    Span,
    Spans,
    State,
    Table,
    Text,
    Tile,
    Verdict,
    VerdictItem,
    said,
)
from planner.packet.cautions import MOST_CAUTIONS, SHEETS, ToDo, cautions, sheet_of
from planner.packet.findings import (
    accepted,
    crew_verdict,
    headed,
    message_of,
    stops_of,
)
from planner.packet.sections.crew.card_mixes import in_short, mix_rows, mix_tiles, strongest
from planner.packet.sections.facts import crew_of, emergency, facts
from planner.packet.sections.hours import clock
from planner.packet.sections.reading import Reading, template
from planner.packet.wording import section_from
from planner.plan.model import JobPlan, RunPlan
from planner.plan.water.tap import open_flow
from planner.units import System, show, show_number
from planner.words.figures import bucket, bucket_seconds, gauge_of, reached, source_of, tightest
from planner.words.measures import drawn, gauge, gauge_number, in_all, rounded
from planner.words.spoken import mix_name

_WORDS = {"ok": "Go", "caution": "Go, with care"}
_LISTED_RUNS = 2
_LONGEST_ACT = 160  # letters; the sheet or the owner's file has every word


def section(reading: Reading) -> Section | None:
    """The card of a wash; work in the yard has its own."""
    checked, system = reading.checked, reading.system
    plan = checked.plan
    if plan.kind != "wash":
        return None
    places: dict[str, tuple[Block, ...]] = {
        "facts": (facts(plan, system),),
        "code": (Code(text=f"{plan.id} {plan.hash}"),),
        "verdict": (verdict(reading),),
        "figures": tuple(_figures(reading)),
        "runs": tuple(_runs(reading)),
        "mixes": tuple(mix_rows(reading)),
        "emergency": (emergency(plan),),
        "accepted": tuple(accepted_blocks(reading)),
        "clock": tuple(clock(plan, reading.system)),
        "letters": tuple(letters(plan)),
    }
    values = {
        "title": plan.title,
        "date": plan.input.date.isoformat() if plan.input.date else "",
        "site": plan.input.job.site.address.strip(),
        "crew": crew_of(plan),
        "bleach": any(mix.chemical == BLEACH for mix in plan.mixes),
        "runs": len(plan.runs),
        "off": "pump" if any(run.input.pump is not None for run in plan.runs) or not plan.runs else _off(plan),
        "handled": _handled(plan),
    }
    return section_from("card", template("card"), values, places)


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s" if number else f"no {word}"


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def verdict(reading: Reading) -> Verdict:
    """Go, or go with care: at most three cautions, each an act with its page; a held job has a page of its own."""
    checked, system = reading.checked, reading.system
    level = crew_verdict(checked, system)
    acts = cautions(checked, system)
    items = [
        VerdictItem(level="caution", title=_cut(todo.act, _LONGEST_ACT), page=_page_and_step(reading, todo))
        for todo in acts[:MOST_CAUTIONS]
    ]
    counts = [f"{_count(len(acts), 'caution')}: {'do these' if len(acts) > 1 else 'do this'}"] if acts else []
    if waived := len(accepted(checked)):
        counts.append(f"{waived} accepted")
    return Verdict(level=level, word=_WORDS[level], count=", ".join(counts) or "the rig card's rules hold",
                   items=tuple(items), more=_more(reading, acts[MOST_CAUTIONS:]))  # fmt: skip


def _more(reading: Reading, acts: list[ToDo]) -> str:
    """How many more there are, and where each is."""
    pages = {todo.at: _page(reading, todo.at) for todo in acts}
    where = ", ".join(f"{SHEETS[at]} {page}".strip() for at, page in pages.items())
    return f"And {len(acts)} more, each on its sheet: {where}." if acts else ""


def _page(reading: Reading, at: str) -> str:
    """`page 5`, where the act is done; nothing before the book knows."""
    page = reading.bound.page(sheet_of(at, reading.bound.starts))
    return f"page {page}" if page else ""


def _page_and_step(reading: Reading, one: ToDo) -> str:
    """`page 5, step 1`, where a step does it; else its page alone."""
    procedure = reading.checked.plan.procedure
    acts = procedure.acts if one.step and procedure is not None else ()
    names = {run.name for run in reading.checked.plan.runs}
    for act in acts:
        if one.finding.about in names - {getattr(act.detail, "run", one.finding.about)}:
            continue
        does = {getattr(act.detail, "what", ""), getattr(act.detail, "use", ""), act.expect.what if act.expect else ""}
        if one.step in does and act.id in reading.bound.steps:
            return f"{_page(reading, one.at)}, step {reading.bound.steps[act.id]}"
    return _page(reading, one.at)


def _figures(reading: Reading) -> list[Block]:
    """The tiles, and whose they are where there are several runs."""
    runs = reading.checked.plan.runs
    tiles = KeyFigures(tiles=tuple(_tiles(reading)))
    if not tiles.tiles:
        return [Text(spans=said("No hose run is planned for this job."))]
    if len(runs) < _LISTED_RUNS:
        return [tiles, *in_short(reading, runs[0])]
    return [Gap(height=4.0), Text(spans=_whose(reading)), tiles]


def _whose(reading: Reading) -> Spans:
    """Of which run and mix the tiles are; where all work is low no run has least height in hand."""
    runs = reading.checked.plan.runs
    main, mix = tightest(runs), strongest(reading.checked.plan)
    if mix is None:
        least = " has less to spare than any other hose run; its figures:" if main is not None else ", its figures:"
        return (Span(text=(main or runs[0]).name, strong=True), Span(text=least))
    strong: Spans = (Span(text=mix_name(reading.checked.plan.mixes, mix), strong=True), Span(text="."))
    if main is None:
        return (Span(text="All work is low. The strongest mix is "), *strong)
    least = " has less height to spare than any other hose run; the strongest mix is "
    return (Span(text=main.name, strong=True), Span(text=least), *strong)


def _off(plan: JobPlan) -> str:
    """What stops the water of lines without a pump."""
    return " and ".join(dict.fromkeys("valve" if run.input.falls else "tap" for run in plan.runs))


def _tiles(reading: Reading) -> list[Tile]:
    checked, system = reading.checked, reading.system
    runs = checked.plan.runs
    stopped = {(finding.code, finding.about) for finding in stops_of(checked)}
    main = tightest(runs) or (runs[0] if runs else None)
    if main is None:
        return []
    mix = strongest(checked.plan)
    if mix is not None:
        return [_height(main, system), *mix_tiles(reading, mix)]
    if all(run.input.pump is None for run in runs):
        return [
            _height(main, system),
            _flow(checked.plan, main, system),
            _water(reading),
            _in_all(checked.plan, system),
        ]
    return [_height(main, system), _flow(checked.plan, main, system), _gauge(main, system, stopped), _water(reading)]


def _height(run: RunPlan, system: System) -> Tile:
    figures = reached(run, system)
    if figures is None:
        number, unit = show_number(run.needed or 0.0, "length", system, toward="up")
        return Tile(
            label="Height to reach",
            number=number,
            unit=unit,
            lines=("low work:",),
            last="any tip reaches",
        )
    number, unit = figures.needed
    short = figures.short
    if run.reach is None:
        why = (
            ("a fan tip does", "not reach")
            if run.input.tip.pattern != "solid"
            else ("the jet does not", "get to the wall")
        )
        return Tile(label="Height to reach", number=number, unit=unit, lines=why, last="nothing to spare", failing=True)
    lines = (f"jet gives {figures.nominal},", f"{figures.hand};", f"at worst {figures.low},")
    return Tile(
        label="Height to reach",
        number=number,
        unit=unit,
        lines=lines,
        last=figures.hand_low,
        failing=short,
    )


def _flow(plan: JobPlan, run: RunPlan, system: System) -> Tile:
    number, unit = show_number(run.flow, "flow", system)
    size, seconds = bucket_seconds(plan, run, system)
    counted = f"{size} in {seconds} s" if seconds else ""
    tip = gauge(run.tip_pressure, system)
    lines = (f"tip {run.input.tip.name}", f"{tip} at the tip")
    return Tile(label="Flow", number=number, unit=unit, lines=lines, last=counted, failing=run.flow <= 0)


def _gauge(run: RunPlan, system: System, stopped: set[tuple[str, str]]) -> Tile:
    joint = gauge_of(run)
    number, unit = gauge_number(joint.open if joint else run.pump_pressure, system)
    failing = bool(stopped & {("line.rating", run.name), ("pump.unloader", run.name)})
    closed = joint.closed if joint else None
    last = f"closed {gauge(closed, system)}" if closed is not None else "never close the gun"
    where = f"at the {source_of(run)},"
    return Tile(label="Gauge", number=number, unit=unit, lines=(where, "gun open"), last=last, failing=failing)


def _in_all(plan: JobPlan, system: System) -> Tile:
    """Water of the whole job, where no pump has a gauge."""
    number, unit = in_all(plan.water.most, system)
    return Tile(label="Water in all", number=number, unit=unit, lines=("at most,", "the test too"), last="no mix")


def _water(reading: Reading) -> Tile:
    plan, system = reading.checked.plan, reading.system
    water = plan.input.water
    fed = next((run.input for run in plan.runs if run.input.feed_tank is not None), None)
    tank = fed.feed_tank if fed is not None else None
    lines: list[str] = []
    if water.source in ("tap", "hydrant"):
        flow = open_flow(plan.input)
        number, unit = show_number(flow or 0.0, "flow", system, toward="down")
        if flow:
            lines.append(f"{water.source}, wide open" if water.residual else f"{water.source} as tested")
        else:
            number, unit = gauge_number(water.static or 0.0, system)
            lines += [f"{water.source}, static,", "never tested"]
        if flow and water.static is not None:
            lines.append(f"static {gauge(water.static, system)}")
        if tank is not None:
            lines.append(f"{tank.name} tank {drawn(tank.volume, system, 'down')}")
        last = "bucket test on arrival" if not water.tested else bucket(flow or 0.0, system)
    elif tank is not None:
        number, unit = rounded(tank.volume, "volume", system, "down")
        lines.append(f"{tank.name} tank, full")
        last = f"from {water.source}" if water.source != "tank" else "no tap on this job"
    else:
        number, unit = water.source.capitalize(), ""
        if water.level is not None:
            depth = show(abs(water.level), "length", system)
            lines.append(f"level {depth} {'below' if water.level < 0 else 'above'} the rig")
        last = "keep the strainer clear"
    return Tile(label="Water", number=number, unit=unit, lines=tuple(lines), last=last)


def _runs(reading: Reading) -> list[Block]:
    """With more runs than one the tiles show the tightest; this shows them all."""
    plan, system = reading.checked.plan, reading.system
    if len(plan.runs) < _LISTED_RUNS:
        return []
    rows = []
    for run in (one for line in plan.runs for one in line.every):
        figures = reached(run, system)
        joint = gauge_of(run)
        closed = joint.closed if joint else None
        rows.append(
            (
                (Span(text=run.name, strong=True), Span(text=f", {run.input.tip.name}")),
                " ".join(figures.needed) if figures else "low work",
                figures.nominal if figures else "",
                figures.low if figures else "",
                gauge(joint.open if joint else run.pump_pressure, system),
                gauge(closed, system) if closed is not None else "none",
                show(run.flow, "flow", system),
            )
        )
    head = ("Hose run, tip", "Needed", "Jet", "At worst", "Gauge", "Closed", "Flow")
    widths = (3.4, 1.1, 0.9, 1.1, 1.0, 1.0, 1.2)
    right = frozenset(range(1, 7))
    table = Table(head=head, rows=tuple(rows), widths=widths, right=right, act=frozenset({4}))
    return [Heading(spans=said("Every hose run")), table]


def accepted_blocks(reading: Reading) -> list[Block]:
    """Findings somebody accepted, with reason and name: the crew should know."""
    waived = accepted(reading.checked)
    if not waived:
        return []
    rows = tuple(
        (
            State(level=f.level),
            headed(f, reading.checked.plan),
            message_of(f, reading.system),
            f"{f.accepted[0]} ({f.accepted[1]})",
        )
        for f in waived
        if f.accepted is not None
    )
    table = Table(head=("", "Finding", "What was found", "Accepted because"), rows=rows, widths=(0.4, 2.2, 4.2, 3.2))
    return [Heading(spans=said("Accepted in writing")), table]


def letters(plan: JobPlan) -> list[Block]:
    """Says so where what may hold any letters has some the typeface has not got; names of things have none."""
    site = plan.input.job.site
    texts = [plan.title, site.address, site.contact or "", site.notes or ""]
    texts += plan.input.day.crew.names if plan.input.day is not None and plan.input.day.crew is not None else ()
    if not any(loses(text) for text in texts):
        return []
    return [Text(spans=said("Some letters in your files cannot be printed; each is shown as ?."), use="small")]


def _handled(plan: JobPlan) -> str:
    """What stock is opened, as it is said on the telephone."""
    names = dict.fromkeys(mix.chemical for mix in plan.mixes if mix.lot is not None)
    return ", ".join(short_of(name) for name in names)
