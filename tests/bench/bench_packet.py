"""A packet beside the same pages through a general HTML-to-PDF library, a hundred packets, and their memory.

Run by hand: python tests/bench/bench_packet.py.  Ratios come from one run on one machine, the two sides taken turn and
turn about; nothing is asserted.  The library is no dependency of the planner: pip install '.[bench]', and on a bare
machine the Pango it draws with (Debian: apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0).

What is the same: the words of every sheet, made of the very blocks the packet is painted from (headings, text, steps
with their cautions, holds, tiles, fields, tables), the drawings as SVG, the typeface, paper, margins and sizes of type,
and that a step, a hold and a table's row are not parted.  What is not: the HTML has no form fields, outline, QR code,
attachment or numbers of other pages, its pages fall where they fall, and it is made before the clock starts, while the
packet's time holds everything from the checked job on: templates, blocks, drawings, and as many printings as page
numbers need.  Both are warm: fonts, style sheet and templates have been read.
"""

from __future__ import annotations

import gc
import resource
import sys
import time
import tracemalloc
from collections import Counter
from collections.abc import Callable, Sequence
from functools import partial
from html import escape
from importlib.resources import files
from pathlib import Path
from statistics import median
from typing import Any, get_args

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from reportlab.graphics import renderSVG

from planner.checks.model import CheckedJob
from planner.days.prepare import Depth, Trouble, checked_jobs, loaded
from planner.packet import blocks as b
from planner.packet.book import job_book
from planner.processes import cores, spread
from planner.units import System

ROOT = Path(__file__).resolve().parents[2]
JOB = "2026-06-09/10-millrace"
ROUNDS = 7
MANY = 100
FACES = (("Regular", 400), ("Semibold", 600), ("Bold", 700), ("Black", 900))
STYLE = """
@page { size: letter; margin: 54pt 54pt 54pt 54pt; @bottom-right { content: counter(page) " of " counter(pages); } }
body { font: 11pt/1.28 sans; } h1 { font-size: 24pt; margin: 0 0 6pt; } h2 { font-size: 13pt; border-top: 1pt solid;
margin: 8pt 0 3pt; break-after: avoid; } section { break-before: page; } section:first-of-type { break-before: auto; }
p { margin: 2pt 0; } .step, .hold, .tile, tr, figure { break-inside: avoid; } .step::before { content: "\\25A1  "; }
.caution { border-left: 3pt solid; padding-left: 8pt; } .hold { border: 2pt solid; padding: 5pt; }
table { width: 100%; border-collapse: collapse; } td, th { border-bottom: .4pt solid; text-align: left; padding: 2pt; }
.two { display: flex; gap: 12pt; } .two > div { flex: 1; } .tiles { display: flex; } .tile { flex: 1; border: 1pt solid;
padding: 4pt; } .number { font-size: 22pt; font-weight: 900; } figure { margin: 4pt 0; } svg { max-width: 100%; }
"""


def main() -> None:
    """Print the tables."""
    read = loaded([str(ROOT / "jobs")])
    jobs = list(checked_jobs(read, Trouble(faults=list(read.faults)), Depth(tables=True)))
    job = next((one for one in jobs if one.plan.id == JOB), jobs[0])
    _many(jobs)
    _spread(jobs)
    try:
        import weasyprint
    except (ImportError, OSError) as error:
        print(f"\nno comparison: {error}\npip install '.[bench]'; it also wants Pango, see the head of this file")
        return
    _beside(job, weasyprint)


def _many(jobs: Sequence[CheckedJob]) -> None:
    """A hundred packets of the demo's jobs in one process, and what they leave in memory."""
    wash = [job for job in jobs if job.plan.kind == "wash"]
    turns = [(job, system) for system in get_args(System) for job in wash]
    for job, system in turns[:1]:
        job_book(job, paper="letter", system=system)
    print(f"{'packets':>8} {'seconds':>8} {'a second':>9} {'peak rss MB':>12}")
    start = time.perf_counter()
    for n in range(1, MANY + 1):
        job, system = turns[n % len(turns)]
        job_book(job, paper="letter", system=system)
        if n in (1, MANY // 2, MANY):
            took = time.perf_counter() - start
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(f"{n:>8} {took:>8.2f} {n / took:>9.1f} {peak:>12.1f}")
    # What is still held after each, apart from the heap's high-water mark: it must not grow with the count.
    gc.collect()
    tracemalloc.start()
    print(f"\n{'packets':>8} {'held MB':>8} {'peak MB':>8}")
    for n in range(1, 2 * len(turns) + 1):
        job, system = turns[n % len(turns)]
        job_book(job, paper="letter", system=system)
        if n in (1, len(turns), 2 * len(turns)):
            gc.collect()
            held, peak = tracemalloc.get_traced_memory()
            print(f"{n:>8} {held / 1e6:>8.2f} {peak / 1e6:>8.2f}")
    tracemalloc.stop()


def _spread(jobs: Sequence[CheckedJob]) -> None:
    """The same hundred, four to a day, by one process and by one for each core that has yet to begin, turn about."""
    wash = [job for job in jobs if job.plan.kind == "wash"]
    turns = [wash[n % len(wash)] for n in range(MANY)]
    works = [partial(_day, turns[first : first + 4]) for first in range(0, MANY, 4)]

    def seconds(processes: int) -> float:
        start = time.perf_counter()
        list(spread(works, processes))
        return time.perf_counter() - start

    pairs = [(seconds(1), seconds(cores())) for _ in range(3)]
    one, all_cores = (median(pair[n] for pair in pairs) for n in (0, 1))
    print(f"\n{MANY} packets, {cores()} processes: {MANY / one:.1f} a second by one, {MANY / all_cores:.1f} by all,"
          f" {median(pair[0] / pair[1] for pair in pairs):.2f} times as fast")  # fmt: skip


def _day(jobs: Sequence[CheckedJob]) -> list[bytes]:
    return [job_book(job, paper="letter", system="us").pdf for job in jobs]


def _beside(job: CheckedJob, weasyprint: Any) -> None:
    """One packet and the same words as HTML, turn and turn about."""
    page, left_out = html_of(job_book(job, paper="letter", system="us").sections)
    fonts = weasyprint.text.fonts.FontConfiguration()
    sheet = weasyprint.CSS(string=_faces() + STYLE.replace("sans;", "Packet;"), font_config=fonts)

    def theirs() -> bytes:
        content: bytes = weasyprint.HTML(string=page).write_pdf(stylesheets=[sheet], font_config=fonts)
        return content

    def ours() -> bytes:
        return job_book(job, paper="letter", system="us").pdf

    ours(), theirs()
    pairs = [(_timed(ours), _timed(theirs)) for _ in range(ROUNDS)]
    own, other = (median(pair[n] for pair in pairs) for n in (0, 1))
    ratios = sorted(theirs / ours for ours, theirs in pairs)
    print(f"\n{JOB}, weasyprint {weasyprint.__version__}, median of {ROUNDS}")
    print(
        f"packet {own * 1e3:.0f} ms, {len(ours()) / 1e3:.0f} kB; HTML {other * 1e3:.0f} ms, {len(theirs()) / 1e3:.0f} kB"
    )
    print(f"HTML / packet {other / own:.1f}, from {ratios[0]:.1f} to {ratios[-1]:.1f} in pairs")
    if left_out:
        print("not in the HTML:", ", ".join(f"{count} {name}" for name, count in left_out.items()))


def _timed(function: Callable[[], object]) -> float:
    """Seconds of processor time, which neighbours on the machine hardly move."""
    start = time.process_time()
    function()
    return time.process_time() - start


def _faces() -> str:
    folder = Path(str(files("font_source_sans_pro"))) / "files"
    return "".join(
        f"@font-face {{ font-family: Packet; font-weight: {weight};"
        f" src: url({(folder / f'SourceSansPro-{face}.ttf').as_uri()}); }}\n"
        for face, weight in FACES
    )


# ---------------------------------------------------------------------------------------------- blocks as HTML


def html_of(sections: Sequence[b.Section]) -> tuple[str, Counter[str]]:
    """The sheets as one HTML page, and how many blocks of which kind it has no words for."""
    left_out: Counter[str] = Counter()
    body = "".join(
        f"<section><h1>{escape(one.title)} <small>{escape(one.place)}</small></h1>"
        f"{''.join(_block(block, left_out) for block in one.blocks)}</section>"
        for one in sections
    )
    return f'<!doctype html><html lang="en"><head><title>Packet</title></head><body>{body}</body></html>', left_out


def _spans(spans: Any) -> str:
    if isinstance(spans, str):
        return escape(spans)
    return "".join(f"<b>{escape(one.text)}</b>" if one.strong else escape(one.text) for one in spans)


def _cell(cell: Any) -> str:
    if isinstance(cell, (str, tuple)):
        return _spans(cell)
    if isinstance(cell, b.Marked):
        return f"<b>{escape(cell.text)}</b>" if cell.framed else escape(cell.text)
    return "&nbsp;"


def _block(block: Any, left_out: Counter[str]) -> str:
    def many(part: Sequence[Any]) -> str:
        return "".join(_block(one, left_out) for one in part)

    match block:
        case b.Heading():
            return f"<h2>{_spans(block.spans)}</h2>"
        case b.Text():
            return f"<p>{_spans(block.spans)}</p>"
        case b.Bullet():
            return f"<p>&bull; {_spans(block.spans)}</p>"
        case b.Caution():
            return f'<p class="caution">{_spans(block.spans)}</p>'
        case b.Step():
            caution = f'<p class="caution">{_spans(block.caution)}</p>' if block.caution else ""
            return f'<div class="step">{_spans(block.spans)}{caution}</div>'
        case b.Hold():
            return f'<div class="hold"><b>{block.number} {escape(block.title)}</b> {_spans(block.questions)}</div>'
        case b.Table():
            head = "".join(f"<th>{escape(one)}</th>" for one in block.head)
            rows = "".join(f"<tr>{''.join(f'<td>{_cell(one)}</td>' for one in row)}</tr>" for row in block.rows)
            return f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
        case b.Fields():
            rows = "".join(f"<tr><th>{escape(label)}</th><td>{_cell(text)}</td></tr>" for label, text in block.rows)
            return f"<table>{rows}</table>"
        case b.KeyFigures():
            return f'<div class="tiles">{"".join(_tile(one) for one in block.tiles)}</div>'
        case b.Verdict():
            items = "".join(f"<p><b>{escape(one.title)}</b> {escape(one.text)}</p>" for one in block.items)
            return f"<h2>{escape(block.word)}: {escape(block.count)}</h2>{items}<p>{escape(block.more)}</p>"
        case b.Picture():
            drawing = block.paint(250.0, max(block.heights))
            svg = renderSVG.drawToString(drawing)
            return f"<figure>{svg[svg.index('<svg') :]}</figure>"
        case b.Two():
            return f'<div class="two"><div>{many(block.left)}</div><div>{many(block.right)}</div></div>'
        case b.Columns():
            return f'<div class="two"><div>{many(block.blocks[::2])}</div><div>{many(block.blocks[1::2])}</div></div>'
        case b.NewPage() | b.Gap():
            return ""
        case _:
            left_out[type(block).__name__] += 1
            return ""


def _tile(tile: b.Tile) -> str:
    lines = "<br>".join(escape(line) for line in tile.lines)
    return (
        f'<div class="tile">{escape(tile.label)}<div class="number">{escape(tile.number)} {escape(tile.unit)}</div>'
        f"{lines}<br><b>{escape(tile.last)}</b></div>"
    )


if __name__ == "__main__":
    main()
