"""If it differs on site, where no computer is: tables to look the answer up in."""

from __future__ import annotations

from planner.inputs.tables.chemicals import BLEACH
from planner.packet.blocks import Block, Cell, Heading, Marked, Section, Span, Table, Text, Two, said
from planner.packet.sections.acts.streams import on_one_sheet, procedure_of, role_of_second
from planner.packet.sections.mixes import dial_text, jug_of, pours, written_lot
from planner.packet.sections.owner.sensitivity import worn_values
from planner.packet.sections.reading import Reading, template
from planner.packet.wording import section_from
from planner.plan.mix.model import MixPlan, StrengthRow
from planner.plan.model import JobPlan, ReachTable, RunPlan
from planner.units import System, show
from planner.words.figures import reached
from planner.words.measures import minutes, poured, strength
from planner.words.spoken import mix_name

_SAME = 1e-6
_SHORT, _LONG = 5, 10  # letters that have room in a table of one row, beside another table and alone
_ALIKE = 0.005  # a tested strength so close to tonight's is tonight's


def section(reading: Reading) -> Section | None:
    """Reach by hose and standoff, dial or stock by tested strength, dry time by the bucket.

    None of a job on one sheet.
    """
    plan, system = reading.checked.plan, reading.system
    procedure = procedure_of(reading)
    if procedure is not None and plan.kind == "wash" and on_one_sheet(procedure):
        return None
    runs = {run.name: run for run in plan.runs}
    left: list[Block] = []
    right: list[Block] = []
    for table in plan.differs:
        run = runs.get(table.run)
        if run is not None and reached(run, system) is not None:
            left += _reach(table, run, system, len(runs) > 1)
    for mix in plan.mixes:
        if mix.rows and pours(reading, mix):
            right += _strengths(mix, plan, system, len(plan.mixes) > 1, _LONG if not left else _SHORT)
    dry: set[tuple[tuple[float, float | None], ...]] = set()
    for table in plan.differs:
        run = runs.get(table.run)
        tank = run.input.feed_tank if run is not None else None
        if run is None or tank is None or run.input.premix or not table.dry or table.dry in dry:
            continue
        if tank.holds in (None, "water"):
            dry.add(table.dry)
            right += _dry(table, tank.name, system, len(runs) > 1)
    if not left and not right:
        return None
    if right and not isinstance(right[0], Heading):
        right.insert(0, Heading(spans=said("Stock or tap differ; framed: as planned")))
    beside: tuple[Block, ...] = (Two(left=tuple(left), right=tuple(right), split=(5, 7)),)
    places = {"tables": beside if left and right else tuple(left or right)}
    values = {
        "marks": _marked((*left, *right)),
        "worn": worn_values(plan, system),
        "strips": _strips(plan),
    }
    return section_from("differs", template("differs"), values, places, role=role_of_second(reading))


def _marked(part: tuple[Block, ...]) -> bool:
    return any(
        isinstance(cell, Marked) and cell.level is not None
        for block in part
        if isinstance(block, Table)
        for row in block.rows
        for cell in row
    )


def _reach(table: ReachTable, run: RunPlan, system: System, named: bool) -> list[Block]:
    """Height at the wall; below what is needed it carries its octagon, as planned it is framed."""
    needed = run.needed or 0.0
    standoffs = [show(standoff, "length", system) for standoff in table.standoffs]
    rows: list[tuple[Cell, ...]] = []
    for change, heights in zip(table.hose, table.heights, strict=True):
        planned = abs(change) < _SAME
        length = show(abs(change), "length", system)
        label = "as planned" if planned else f"{length} {'more' if change > 0 else 'less'}"
        cells: list[Cell] = []
        for standoff, height in zip(table.standoffs, heights, strict=True):
            framed = planned and abs(standoff - run.input.standoff) < 0.01
            if height is None:
                cells.append(Marked(text="no", level="stop", framed=framed))
                continue
            text = show(height, "length", system, toward="down").rpartition(" ")[0]
            cells.append(Marked(text=text, level="stop" if height < needed - _SAME else None, framed=framed))
        rows.append(((Span(text=label, strong=planned),), *cells))
    unit = "ft" if system == "us" else "m"
    name = f", {run.name}" if named else ""
    ask = show(needed, "length", system, toward="up")
    return [
        Heading(spans=said(f"Reach in still air, {unit}{name}: {ask} needed")),
        Table(
            head=("Hose", *standoffs), rows=tuple(rows), widths=(2.5, *(1.3 for _ in standoffs)),
            right=frozenset(range(1, len(standoffs) + 1)),
        ),
    ]  # fmt: skip


def _strengths(mix: MixPlan, plan: JobPlan, system: System, named: bool, longest: int) -> list[Block]:
    """What to set or pour where the stock tests otherwise than the plan took it; figures of up to `longest` letters
    stand side by side."""
    lot = mix.lot
    given = written_lot(plan, lot.name) if lot is not None else None
    caustic = given.excess_caustic if given is not None else 0.0
    percent = plan.input.company.percent
    tested: list[str] = []
    cells: list[Marked] = []
    for row in mix.rows:
        text = _instead(mix, row, system)
        planned = lot is not None and bool(lot.nominal) and abs(row.strength / (lot.nominal or 1.0) - 1.0) < _ALIKE
        tested.append(strength(row.strength, mix.chemical, percent, "down", caustic=caustic))
        cells.append(Marked(text=text or "no", level=None if text else "stop", framed=planned))
    what = {
        "metered": f"Set {mix.run.dosing.name if mix.run.dosing is not None else 'the dial'} to",
        "injector": f"Stock for {poured(_jug(mix), system)} of jug in all",
    }.get(mix.kind, "Stock in the first batch" if len(mix.batches) > 1 else "Stock in the batch")
    name = f", {mix_name(plan.mixes, mix)}" if named else ""
    blocks: list[Block] = [Heading(spans=said(f"Stock stronger or weaker{name}"))] if name else []
    if max(len(cell.text) for cell in cells) <= longest:
        numbers = [text.partition(" ")[0] for text in tested]
        blocks.append(_across(f"Stock tests, {tested[0].partition(' ')[2]}", numbers, what, cells))
    else:
        rows = tuple(((Span(text=text, strong=cell.framed),), cell) for text, cell in zip(tested, cells, strict=True))
        blocks.append(Table(head=("It tests at", what), rows=rows, widths=(3, 3.4), right=frozenset({1})))
    if mix.kind == "premix":
        note = "The batch ends at the same mark: for more stock, put in that much less water first."
        blocks.append(Text(spans=said(note), use="small"))
    return blocks


def _across(label: str, heads: list[str], what: str, cells: list[Marked]) -> Table:
    """A table of one row, for short figures."""
    count = len(heads)
    return Table(
        head=(label, *heads), rows=((what, *cells),), widths=(2.6, *(1.0 for _ in heads)),
        right=frozenset(range(1, count + 1)),
    )  # fmt: skip


def _instead(mix: MixPlan, row: StrengthRow, system: System) -> str:
    if mix.kind == "metered":
        return dial_text(row.dial, mix) if row.dial is not None else ""
    if mix.kind == "injector":
        # The jug's share goes as one over the strength; with no room for water left it cannot be done.
        nominal = mix.lot.nominal if mix.lot is not None and mix.lot.nominal else 0.0
        share = (mix.jug_stock or 0.0) * nominal / row.strength
        if not 0.0 < share <= 1.0 - (mix.jug_soap or 0.0) + _SAME or (row.wall or 0.0) < mix.target * (1 - _SAME):
            return ""
        return poured(share * _jug(mix), system, "down")
    return poured(row.stock, system, "down") if row.stock is not None else ""


def _jug(mix: MixPlan) -> float:
    """All that an injector draws from its jugs [m3]."""
    jug = jug_of(mix)
    return jug.water + jug.stock + jug.soap if jug is not None else 0.0


def _dry(table: ReachTable, tank: str, system: System, named: bool) -> list[Block]:
    """Minutes until the tank is dry with the gun open all the time, by how slowly the tap fills a bucket."""
    cells = []
    for _, dry in table.dry:
        text = "never" if dry is None else minutes(dry, "down")
        cells.append(Marked(text=text))
    bucket = show(table.bucket, "volume", system, step=1.0)
    seconds = [f"{seconds:g} s" for seconds, _ in table.dry]
    name = "Full tank" if tank == "water" else f"Full {tank} tank"
    head = [Heading(spans=said(f"Tap slower or faster, {table.run}"))] if named else []
    return [*head, _across(f"Tap: {bucket} in", seconds, f"{name} dry, min", cells)]


def _strips(plan: JobPlan) -> str:
    """How a strip is read that tests stock for the table of its strengths; nothing where no page has that table.

    A millilitre in a litre thins it a thousandfold, so the strip's mg/L are the stock's g/L of available chlorine.
    """
    if not any(mix.rows and mix.chemical == BLEACH for mix in plan.mixes):
        return ""
    tenth = plan.input.company.percent == "trade"
    return "The strip's mg/L divided by ten is trade %." if tenth else "The strip's mg/L are its g/L of chlorine."
