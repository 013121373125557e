"""The jobs whose packets are read: the demo's, the sanity cases, and a wall with a line of sums; each printed once."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields, is_dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import yaml

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.days.prepare import Depth, Trouble, checked_jobs, days_of, loaded
from planner.locate import data_file
from planner.packet.blocks import Section, Step
from planner.packet.book import Book
from planner.packet.cautions import MOST_CAUTIONS, cautions, sheet_of
from planner.plan.procedure.acts import Act
from planner.remedies.search import with_remedies
from planner.units import System
from planner.words import spoken as words
from planner.words.spoken import for_crew
from tests import workspaces
from tests.packet.figures import given as given
from tests.packet.figures.acts import acted
from tests.packet.figures.derived import derived
from tests.packet.figures.known import Known, from_json
from tests.packet.figures.owner import changed, nearing, powered, summed, supplied, weighed
from tests.packet.figures.read import Figure, Printed, figures, names_of, phrases
from tests.packet.figures.stops import stopped
from tests.packet.figures.tables import differing
from tests.packet.figures.yard import benched
from tests.packet.printing import job_book, owner_book
from tests.plan.mix.test_sanity_mixing import FERRIS_COURT, TANNERY_ROW
from tests.plan.test_sanity_cases import ALDER_LANE
from tests.plan.yard.benches import SETUPS

ROOT = Path(__file__).resolve().parents[3]
DEMO = (
    "2026-06-09/10-millrace", "2026-06-09/20-granary", "2026-06-09/30-kiln", "2026-06-10/10-slipway",
    "2026-06-10/20-millrace-mid", "2026-06-10/30-kiln-acid", "2026-06-10/90-booster",
)  # fmt: skip
SANITY = (
    "Alder Lane",
    "Ferris Court",
    "Tannery Row",
    "Four walls",
    "Two chemistries",
    "Tall wall",
    "Worn booster",
    "Limed booster",
    "Blocked line",
    "Washer",
)
SYSTEMS: tuple[System, ...] = ("us", "si")
CASES = [(job, system) for job in (*DEMO, *SANITY) for system in SYSTEMS]
TWO_CHEMISTRIES = """
stock:
  lots:
    - {name: drum, chemical: bleach, strength: 10 trade %, made: 2026-06-01, tested: {strength: 10 trade %, on: 2026-06-09}, on_hand: 30 gal}
    - {name: ash, chemical: soda_ash, on_hand: 50 lb}
day: {heels: {mix: {stock: soap, strength: 2 vol %, volume: 3 gal}}}
job:
  job: Two chemistries
  surfaces:
    - {name: wall, kind: vinyl, area: 500 ft2}
    - {name: deck, kind: bare_wood, area: 300 ft2}
  chemicals:
    - {stock: drum, strength: 1 %, surfaces: [wall]}
    - {stock: ash, strength: 20 g/L, surfaces: [deck]}
  hose_runs:
    - {name: front, pump: transfer, feed: mix, dosing: premix, hoses: [red], tip: fan, target: 8 ft, surfaces: [wall, deck]}
"""
"""A tank that held soap tonight takes bleach, then soda ash: flushed first, and again between them."""
YARDS: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "Worn booster": (
        {"rig": {"pumps": {"0": {"condition": "0.84", "stages": "5", "wetted": ["plastic", "stainless"]}}}},
        {"pump": "booster", "work": ["descale", "rebuild", "test"], "tub": "8 gal", "across": "12 in", "tub_height": "24 in",
         "spacers": ["two thin", "one thick"], "replace": ["diffuser plates", "shaft seal"],
         "throw": "50 ft", "bucket": "5 gal in 45 s"},
    ),
    "Limed booster": (
        {"rig": {"pumps": {"0": {"wetted": ["plastic", "stainless"]}}},
         "stock": {"lots": [{"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "5 gal"},
                            {"name": "lime", "chemical": "lime", "on_hand": "50 lb"}]}},
        {"pump": "booster", "work": "descale", "tub": "5 gal", "across": "14 in", "tub_height": "16 in",
         "bath": "1:10 muriatic", "throw": "50 ft"},
    ),
    "Blocked line": (
        {}, {"pump": "booster", "work": "test", "gauge": "69 psi", "bucket": "5 gal in 45 s", "throw": "45 ft"},
    ),
    "Washer": ({}, {"pump": "washer", "work": ["rebuild", "test"], "replace": ["packings"]}),
}  # fmt: skip
"""Work in the yard on a worn pump in the usual bath, one that lime ends, a sound pump on a line that takes too much, and
a piston pump without any."""
ALONE = ("2026-06-09/10-millrace", "2026-06-09/20-granary", "Alder Lane", "Ferris Court", "Four walls")
"""Jobs of one run, where no other run's figure can stand in for an altered one."""


@lru_cache(maxsize=1)
def _demo() -> dict[str, CheckedJob]:
    """The demo's jobs by id, each on its day's clock."""
    jobs: dict[str, CheckedJob] = {}
    read = loaded([str(ROOT / "jobs")])
    assert not read.faults
    trouble = Trouble(faults=[])
    made = list(checked_jobs(read, trouble, Depth(tables=True)))
    assert not trouble.ours
    for job in made:
        jobs[job.plan.id] = job
    for _, of_day in days_of(read, made):
        jobs |= {job.plan.id: job for job in of_day}
    return jobs


@cache
def _sanity(name: str) -> CheckedJob:
    files: dict[str, Any] = {"company": {"name": "Case Company"}}
    if name in ("Alder Lane", "Four walls"):
        near = {"flower_beds": "400 ft2", "fish_pond": "25 ft", "storm_drain": "40 ft"}
        files = workspaces.merged(workspaces.as_written(ALDER_LANE), {"job": {"near": near}})
        if name == "Four walls":  # enough of them for a line of sums
            sizes = ("40 ft x 17 ft", "23 ft x 17 ft", "41 ft x 19 ft", "22 ft x 9 ft")
            files["job"]["surfaces"] = [
                {"name": f"side {n}", "kind": "vinyl", "width": size.split(" x ")[0], "height": size.split(" x ")[1]}
                for n, size in zip("abcd", sizes, strict=True)
            ]
    elif name in YARDS:
        files = workspaces.merged(workspaces.merged(workspaces.base(), SETUPS), YARDS[name][0])
        files["job"] = {"job": name, "kind": "yard", **YARDS[name][1]}
    elif name == "Two chemistries":
        files = workspaces.merged(workspaces.base(), workspaces.as_written(TWO_CHEMISTRIES))
    elif name == "Tall wall":  # held by reach: its one page
        files = workspaces.merged(workspaces.base(), {"job": {"hose_runs": {0: {"target": "50 ft"}}}})
    else:
        files |= FERRIS_COURT if name == "Ferris Court" else TANNERY_ROW
    # What the cases leave out and would be held for, so that their figures are all printed.
    files = workspaces.merged(files, {"rig": {"carried": {"eyewash": "6 gal"}}})
    with tempfile.TemporaryDirectory() as folder:
        if name == "Four walls":  # and washed by a crew whose pace is known
            learned = "paces: {vinyl: {minutes: 1.18, records: 6}}\n"
            (Path(folder) / "learned.yaml").write_text(learned, encoding="utf-8")
        checked = workspaces.checked(Path(folder), files, tables=True)
        return with_remedies(checked) if name == "Tall wall" else checked


def job_of(name: str) -> CheckedJob:
    return _sanity(name) if name in SANITY else _demo()[name]


@cache
def book_of(name: str, system: System) -> Book:
    """The crew's packet, printed once for all tests of a process: on a4 in SI units, on letter in US ones."""
    return job_book(job_of(name), paper="a4" if system == "si" else "letter", system=system)


@cache
def owner_of(name: str, system: System) -> Book:
    """The owner's file, likewise."""
    return owner_book(job_of(name), paper="a4" if system == "si" else "letter", system=system)


def packet_of(name: str, system: System) -> Printed:
    """A packet and its owner's file as they were bound."""
    made = (book_of(name, system), owner_of(name, system))
    return Printed(
        pdfs=tuple(one.pdf for one in made), sections=tuple(section for one in made for section in one.sections)
    )


@cache
def known_of(name: str, system: System) -> tuple[Known, ...]:
    """All a packet of the job may say, save the wording of each sheet."""
    checked = job_of(name)
    plan = checked.plan
    told = job_json(checked, system)
    return (
        *from_json(told), *acted(told, system), *given.inputs(plan), *given.laid_out(plan), *given.limits(plan), *given.counts(checked),  # type: ignore[arg-type]
        *derived(checked, system), *differing(plan, system), *supplied(plan), *powered(plan), *changed(plan, system), *weighed(plan),
        *benched(plan, system), *stopped(checked, system), *summed(plan, system), *nearing(checked, system),
        *told_where(name, system),
    )  # fmt: skip


def told_where(name: str, system: System) -> Iterator[Known]:
    """The page and the step at which each caution of a job's card is done, by the steps that are printed there."""
    checked, book = for_crew(job_of(name)), book_of(name, system)
    acts = checked.plan.procedure.acts if checked.plan.procedure is not None else ()
    runs = {run.name for run in checked.plan.runs}
    found = cautions(checked, system)
    numbers = [("told.more", len(found) - MOST_CAUTIONS)]
    for one in found:
        sheet = sheet_of(one.at, book.bound.starts)
        numbers.append((f"told[{one.act}].page", book.bound.page(sheet)))
        here: set[Any] = runs & {one.finding.about}
        does = {
            act.id
            for act in acts
            if _does(act, one.step) and getattr(act.detail, "run", None) in (here or {getattr(act.detail, "run", None)})
        }
        steps = [step for section in book.sections if section.key == sheet for step in steps_in(section.blocks)]
        numbers += [(f"told[{one.act}].step", step.number) for step in steps if does & set(step.acts)][:1]
    for path, number in numbers:
        yield Known(name=path, value=float(number), family="count", how="exact")


def _does(act: Act, what: str) -> bool:
    """Whether an act is what a caution asks for: a mark, a reading, or what a spray is for."""
    read = act.expect.what if act.expect is not None else ""
    return bool(what) and what in (getattr(act.detail, "what", ""), getattr(act.detail, "use", ""), read)


def steps_in(part: Any) -> Iterator[Step]:
    """Every numbered step of some blocks, in order."""
    if isinstance(part, Step) and part.number:
        yield part
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from steps_in(one)
    elif is_dataclass(part):
        for field in fields(part):
            yield from steps_in(getattr(part, field.name))


@lru_cache(maxsize=1)
def _references() -> tuple[str, ...]:
    """Titles and origins of equations and the sources of hazards: years, volumes and pages of books."""
    rows = words.sources().values()
    hazards = yaml.safe_load(data_file("hazards.yaml").read_text(encoding="utf-8"))
    own = [row["source"] for part in hazards.values() for row in part]
    return (*(text for row in rows for text in (row["title"], row["origin"])), *own)


@cache
def told_by(name: str, system: System) -> Callable[[str], bool]:
    """True of a phrase that is a reference, or whose numbers all stand in the JSON's own sentences."""
    found = job_json(job_of(name), system)["findings"]
    texts = {" ".join(str(one[key] or "").replace("`", "").split()).rstrip(".").lower() for one in found
             for key in ("message", "remedy", "reason")}  # fmt: skip
    # Among many the card tells a caution's first clause; a held job's page parts a message between its sentences.
    texts |= {part for text in texts for part in (text.partition("; ")[0], *re.split(r"(?<=[.?!]) ", text))}
    texts |= {text.partition(", or ")[0] for text in texts}  # the owner's summary tells a remedy's first way
    texts |= {text.rstrip(".") for text in texts}
    sentences = sorted((text for text in texts if text), key=len, reverse=True)

    def whole(text: str) -> bool:
        text = " ".join(text.split())
        if not text.isdigit() and any(reference.startswith(text) for reference in _references()):
            return True
        left = text.lower()
        for sentence in sentences:
            if left.endswith("…"):  # the card cuts a long one; the worksheet has every word
                left = left.replace(_shared(left[:-1].rstrip(), sentence), "", 1)
            left = left.replace(sentence, "")
        return not re.search(r"\d", left)

    return whole


def _shared(cut: str, sentence: str) -> str:
    """The end of a cut text that begins the sentence, where at least three words do."""
    starts = (cut[at:] for at in range(len(cut)) if len(cut) - at >= 12)
    return next((start for start in starts if sentence.startswith(start)), "\0")


def _is_scale(figure: Figure) -> bool:
    if not figure.drawn:
        return False
    if figure.unit == "clock":
        return int(figure.number.partition(":")[2][:2]) % 15 == 0
    return figure.words == "#" and figure.sheet in ("summary", "worksheet", "mix", "yard_bath")


@lru_cache(maxsize=256)
def wording_of(sheet: str, system: System) -> tuple[Known, ...]:
    return tuple(given.wording(sheet, system))


@lru_cache(maxsize=32)
def _names(name: str) -> tuple[str, ...]:
    return (*names_of(job_of(name).plan.input), job_of(name).plan.hash)


@cache
def figures_of(name: str, system: System) -> tuple[Figure, ...]:
    return tuple(figures_in(name, system, packet_of(name, system).sections))


def figures_in(name: str, system: System, sections: Iterable[Section]) -> list[Figure]:
    told = told_by(name, system)
    said = [phrase for section in sections for phrase in phrases(section)]
    return [one for one in figures(said, _names(name), told) if not _is_scale(one)]
