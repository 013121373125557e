"""What is written down at the bench: readings beside what they should be, spacers stage by stage, what was done.

The boxes' names are key paths of a record, and each is asked for once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.contract.recordable import row_of
from planner.packet.blocks import Block, Cell, Hold, Span, Step, Table, Text, WriteIn
from planner.packet.findings import with_numbers
from planner.packet.sections.crew.done import Entry, entry
from planner.packet.sections.hours import arrives, leaves, on_site
from planner.plan.model import JobPlan
from planner.plan.procedure.acts import Act, Drain, Power, Relieve, Shut, Spray
from planner.plan.wear.model import Found, beside, finer_than, told_by
from planner.plan.yard.model import BenchPoint, ThrowTest, YardPlan
from planner.units import System, show, show_number
from planner.words.dates import after_text, clock_text
from planner.words.figures import bench_bucket
from planner.words.measures import gauge_number, minutes, timed

FALLBACK_ROWS = 8
"""Lines to write on where nobody wrote how many stages a pump has."""

_LOW, _TALL = 17.0, 26.0
_MOST_KNOWN = 40  # letters of a spacer that was written before


# ------------------------------------------------------------------------------------------------- readings


def with_boxes(
    steps: Sequence[Block], acts: Sequence[Act], yard: YardPlan, when: str, system: System
) -> tuple[Block, ...]:
    """The steps of a test, those that read something as rows: what to do, what it should show, a box, what if not.

    What is done for a reading is told in its row. A box that no act reads for has a row of its own, before the work
    stops for the next thing.
    """
    known = {act.id: act for act in acts}
    boxes = readings(yard, when, system)
    read = {act.expect.what for block in steps for act in _done(block, known) if act.expect is not None}
    bare = [_bare(box) for what, box in boxes.items() if what not in read]
    made: list[Block] = []
    rows: list[tuple[Cell, ...]] = []
    printed: list[str] = []
    waiting: list[Step] = []

    def end_table() -> None:
        """What has been gathered, as one table, and the steps that no reading came after."""
        if rows:
            made.append(_readings([*rows, *bare], printed, _head(when, yard, made)))
            bare.clear()
        made.extend(waiting)
        for one in (rows, printed, waiting):
            one.clear()

    for block in steps:
        done = _done(block, known)
        what = next((act.expect.what for act in done if act.expect is not None and act.expect.what in boxes), "")
        if isinstance(block, Step) and (what or (done and all(_for_reading(act) for act in done))):
            waiting.append(block)
            if what:
                rows.append(_row(waiting, boxes[what]))
                printed += [act for step in waiting for act in step.acts]
                waiting.clear()
            continue
        end_table()
        made.append(block)
    end_table()
    if bare:
        at = next((n for n, block in enumerate(made) if isinstance(block, Hold)), len(made))
        made.insert(at, _readings(bare, [], _head(when, yard, [])))
    return tuple(made)


def _done(block: Block, known: dict[str, Act]) -> list[Act]:
    return [known[act] for act in block.acts] if isinstance(block, Step) else []


def _for_reading(act: Act) -> bool:
    """Whether an act is done for the reading after it."""
    match act.detail:
        case Spray(use="test") | Shut() | Power(on=False) | Relieve() | Drain(source="bucket"):
            return True
    return False


def _row(steps: Sequence[Step], box: Entry) -> tuple[Cell, ...]:
    """One reading with all that is done for it; a caution of it stands with it."""
    spans: list[Span] = []
    for step in steps:
        spans += [*([Span(text=" ")] if spans else []), *step.spans]
        spans += [Span(text=f" {''.join(span.text for span in step.caution)}", strong=True)] if step.caution else []
    return (tuple(spans), steps[-1].should or "", box.box(""), box.unit, steps[-1].differs or "")


def _bare(box: Entry) -> tuple[Cell, ...]:
    planned = (Span(text=box.planned, strong=True),) if box.planned else ""
    return (f"{box.label}.", planned, box.box(""), box.unit, "")


def _head(when: str, yard: YardPlan, above: Sequence[Block]) -> tuple[str, ...]:
    """The head of the readings, which the rest of them after a step does without."""
    if any(isinstance(block, Table) for block in above):
        return ()
    return (f"Test {when}" if yard.opened else "Test", "Should be", "Read", "", "If not")


def _readings(rows: Sequence[tuple[Cell, ...]], printed: Sequence[str], head: tuple[str, ...]) -> Table:
    return Table(
        head=head, rows=tuple(rows), widths=(252, 102, 42, 24, 96),
        act=frozenset({4}), tight=True, acts=tuple(printed),
    )  # fmt: skip


def readings(yard: YardPlan, when: str, system: System) -> dict[str, Entry]:
    """The boxes of a test, `before` the work or `after` it, by what is read."""
    test, before = yard.test, when == "before"
    point = (test.before if before else test.after) if test is not None else None
    unit, pressure = "ft" if system == "us" else "m", gauge_number(0.0, system)[1]
    size, name = bench_bucket(test.bucket if test is not None else None, system)
    text = f", {when}" if yard.opened else ""

    def made(path: str, planned: str, unit: str, size: str = "") -> Entry:
        box = entry(path, planned, unit=unit, size=size)
        return replace(box, spoken=f"{box.spoken or box.label}{text}")

    boxes = {
        "bucket": made("pump.bucket_before" if before else "pump.bucket", _seconds(point, size), "s", name),
        "gauge_closed": made("pump.gauge_before" if before else "pump.gauge_closed", _shut(point, system), pressure),
    }
    if yard.pump.of_kind.wears == "head" or (test is not None and test.after.ground is not None):
        boxes["throw"] = made(f"pump.throw_{when}", _far(point, system), unit)
    return boxes


def _far(point: BenchPoint | None, system: System) -> str:
    return show_number(point.ground, "length", system, toward="down")[0] if point and point.ground is not None else ""


def _shut(point: BenchPoint | None, system: System) -> str:
    return gauge_number(point.closed, system)[0] if point and point.closed is not None else ""


def _seconds(point: BenchPoint | None, size: float) -> str:
    seconds = point.bucket(size) if point is not None else None
    return timed(seconds) if seconds is not None else ""


def paced(test: ThrowTest, system: System, *, opened: bool) -> list[Block]:
    """What was read before the work says of the pump; of one that is opened only what asks for another look."""
    texts = [_read_words(reading, test, system) for reading in test.found if not opened or _odd(reading, test)]
    if test.written is not None and test.paced is None:
        thrown = show(test.written, "length", system, toward="down")
        texts.append(
            f"Paced out before: {thrown}; this line's tip throws no jet to pace, so it says nothing about wear."
        )
    return [Text(spans=with_numbers(" ".join(texts)))] if texts else []


def _odd(one: Found, test: ThrowTest) -> bool:
    """Whether a reading does not go with the pump or with the others, so that it is looked at again."""
    lies = beside(one, finer_than(one, test.found, test.of)) if one.side != "high" else None
    return lies in ("under", "over") or one.side in ("short", "high")


def _read_words(one: Found, test: ThrowTest, system: System) -> str:
    """One reading: what it was, and what it tells."""
    value, sound = (_reading(one, amount, system) for amount in (one.value, one.sound))
    lead = {"gauge": "Gauge shut before", "bucket": "By bucket before", "throw": "Paced out before"}[one.by]
    again = {"gauge": "Read it again", "bucket": "Time it again", "throw": "Pace it again"}[one.by]
    text = f"{lead}: {value}, "
    finer = finer_than(one, test.found, test.of)
    lies = beside(one, finer) if one.side != "high" else None
    if finer is not None and lies == "under":
        look = "tip, hose, strainer and aim" if one.by == "throw" else "hose, tip, strainer and air"
        return f"{text}less than its {finer.by} says the pump gives: look at {look}. Set no condition by this."
    if finer is not None and lies == "over":
        return f"{text}more than its {finer.by} says the pump can give: read both again. Set no condition by this."
    if finer is not None and lies == "with" and not (one.by == "throw" and one.side == "inside"):
        return f"{text}which fits what its {finer.by} says about the pump."
    if one.side == "short":
        return f"{text}less than any pump gives on this line. {again}."
    if one.side == "high":
        return f"{text}more than a good pump gives on this line ({sound}). {again}."
    if one.side == "flat":
        return f"{text}the same for a worn pump as for a good one: it says nothing about wear."
    if one.by == "throw" and one.side == "inside":
        closer = "" if told_by(test.found, test.of) is not None else " Read the gauge shut: it shows wear."
        return f"{text}within the normal spread of a good pump's {sound}: it says nothing about wear.{closer}"
    high = show(one.high or 1.0, "fraction", system, toward="up")
    if one.by == "throw":
        low = f"{show(one.low, 'fraction', system, toward='down')} to {high}" if one.low else f"{high} at most"
        return (
            f"{text}the throw of a pump at {low} of a new one's {test.of}. Read the gauge shut: it shows wear better."
        )
    share = show(one.share or 0.0, "fraction", system, toward="down")
    limit = show(test.limit, "fraction", system)
    worn = f"; under {limit} it is worn or scaled" if (one.share or 0.0) < test.limit else ""
    return f"{text}a pump at {share} of a new one's {test.of}{worn}."


def _reading(one: Found, amount: float, system: System) -> str:
    if one.by == "gauge":
        return " ".join(gauge_number(amount, system))
    if one.by == "bucket":
        return show(amount, "flow", system)
    return show(amount, "length", system, toward="down")


# ------------------------------------------------------------------------------------------------- stages


def rows_of(yard: YardPlan) -> int:
    """How many lines there are to write on."""
    known = yard.stages if yard.pump.of_kind.stages else None
    return known or max(FALLBACK_ROWS, len(yard.spacers))


def _numbered(yard: YardPlan) -> bool:
    """True where each line is a stage whose number is known."""
    return yard.pump.of_kind.stages and yard.stages is not None


def _stage(yard: YardPlan, number: int, count: int) -> tuple[Cell, ...]:
    """A stage's number, what is known of its spacer, and its boxes; a part to name where there are no stages."""
    name = f"pump.stages.{number}"
    called = f"Stage {number}" if yard.pump.of_kind.stages else f"Line {number}"
    known = yard.spacers[number - 1] if number <= len(yard.spacers) else ""
    known = known if len(known) <= _MOST_KNOWN else f"{known[: _MOST_KNOWN - 1].rstrip()}…"
    first: Cell
    if _numbered(yard):
        ends = {1: "1 root", count: f"{count} clip"} if count > 1 else {}
        first = (Span(text=ends.get(number, f"{number}"), strong=number in (1, count)),)
    else:
        first = (Span(text=f"{number}"),)

    def box(key: str, planned: str = "", about: str = "") -> WriteIn:
        row = row_of(f"pump.stages.{key}")
        about = about or (not yard.pump.of_kind.stages and row.bench) or row.label
        return WriteIn(width=1000, height=_LOW, name=f"{name}.{key}", label=f"{called}: {about}", planned=planned)

    boxes: list[Cell] = []
    if yard.pump.of_kind.stages:
        boxes = [box("spacer", known), box("plate")]
        boxes.insert(*((2, box("part")) if _numbered(yard) else (0, box("part", about="which stage it is"))))
    else:
        boxes = [box("part"), box("plate")]
    boxes.append(box("cost"))
    return (first, *((known,) if yard.spacers and yard.pump.of_kind.stages else ()), *boxes)


def _stage_head(yard: YardPlan) -> tuple[tuple[str, ...], tuple[float, ...]]:
    """The head of the lines and their widths."""
    if not yard.pump.of_kind.stages:
        return ("", "Part", "Found", "Cost"), (14.0, 80.0, 80.0, 40.0)
    known = (("Was",), (40.0,)) if yard.spacers else ((), ())
    if _numbered(yard):
        return ("Stage", *known[0], "Spacer", "Plate", "Part", "Cost"), (36.0, *known[1], 48.0, 48.0, 44.0, 38.0)
    return ("", *known[0], "Stage", "Spacer", "Plate", "Cost"), (14.0, *known[1], 44.0, 50.0, 50.0, 40.0)


def stages(yard: YardPlan) -> Table:
    """The lines, one a stage from the root on, down one half and then the other."""
    head, widths = _stage_head(yard)
    count = rows_of(yard)
    half = (count + 1) // 2
    rows = []
    for n in range(1, half + 1):
        right = _stage(yard, n + half, count) if n + half <= count else ("",) * len(head)
        rows.append((*_stage(yard, n, count), "", *right, ""))
    return Table(
        head=(*head, "", *head, ""), rows=tuple(rows), widths=(*widths, 9.0, *widths, 6.0), tight=True, abreast=2
    )  # fmt: skip


# ------------------------------------------------------------------------------------------------- what was done


def done(plan: JobPlan, yard: YardPlan, system: System) -> tuple[Block, ...]:
    """The last boxes: begun, over, minutes in the bath, what was replaced, what went otherwise, who says so."""
    at, until, whole = arrives(plan), leaves(plan), on_site(plan)
    over = clock_text(until, system) if until is not None else after_text(whole) if whole else ""
    times = [
        entry("times.arrived", clock_text(at, system) if at is not None else "", bench=True),
        entry("times.left", over, bench=True),
    ]
    if yard.bath is not None:
        times.append(entry("pump.bath", minutes(yard.bath.soak, "down"), unit="min"))
    cells: list[Cell] = []
    for written in times:
        unit = f" {written.unit}" if written.unit else ""
        cells += [written.label, (Span(text=f"{written.planned}{unit}", strong=True),), written.box("")]
    row = Table(
        head=(), rows=(tuple(cells),), widths=(60.0, 48.0, 36.0) * len(times), right=frozenset({1, 4, 7}), tight=True
    )  # fmt: skip
    return (row, _work_done(yard), _last())


def _work_done(yard: YardPlan) -> Table:
    """What was replaced, looked at and kept, went otherwise, and where the leftovers went."""
    left = "Bath, parts: where" if yard.bath is not None else "Parts, oil: where"
    boxes = [replace(entry("deviations", ""), label="What differed"), replace(entry("after", ""), label=left)]
    if yard.opened:
        boxes = [entry("pump.replaced", ", ".join(yard.replace)), entry("pump.checked", ""), *boxes]
    row = tuple(
        WriteIn(width=1000, height=_TALL, name=box.name, label=box.label, planned=box.planned, tall=True)
        for box in boxes
    )
    return Table(head=tuple(box.label for box in boxes), rows=(row,), widths=(1.0,) * len(row), tight=True)


def _last() -> Table:
    """The cost, and who says so."""
    boxes = [entry("cost", ""), entry("signed", "", bench=True), entry("signed_at", "")]
    cells = [(box.label, WriteIn(width=1000, height=_LOW, name=box.name, label=box.label)) for box in boxes]
    return Table(
        head=(),
        rows=(tuple(cell for pair in cells for cell in pair),),
        widths=(3.4, 3.4, 2.4, 5.4, 4.4, 5.4),
        tight=True,
    )
