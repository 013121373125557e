"""Form fields and attached files of a printed packet, as another program finds them in the file."""

from __future__ import annotations

import ctypes
import json
import re
from dataclasses import replace
from functools import lru_cache
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader
from pypdfium2 import PdfDocument, raw

from planner.contract.plan import document, job_json, plan_text
from planner.inputs.models.base import Written
from planner.inputs.models.record import Record
from planner.packet import book as binding
from planner.packet.blocks import Section, Span, Step
from planner.packet.book import Book, notice
from planner.packet.fields import boxes_of, hint, named, parts_of
from planner.packet.pages.attached import UNKEPT, Inside
from planner.packet.pages.pages import Bound, Masthead, bind
from planner.packet.sections.crew import done
from planner.packet.sections.crew.done import run_keys
from planner.packet.sections.reading import Reading
from planner.plan.days.day import plan_day
from tests.packet.builders import INJECTED, ROOF, finding, job, run, written
from tests.packet.figures.jobs import job_of as demo
from tests.packet.printing import day_packet, job_book, job_packet
from tests.packet.reading import problems, texts
from tests.sampled import one_in

TWO = """
job:
  surfaces: [{name: Front & back, kind: vinyl, area: 300 ft2}, {name: slope, kind: asphalt_shingle, squares: 10}]
  hose_runs:
    - {name: walls, pump: booster, feed: water, dosing: panel, hoses: [red], tip: long throw, target: 24 ft,
       surfaces: [Front & back]}
    - {name: ridge, pump: transfer, feed: mix, dosing: premix, hoses: [red], tip: long throw, target: 9 ft,
       standoff: 10 ft, surfaces: [slope]}
  chemicals: [{stock: drum, strength: 0.8 %, surfaces: [Front & back]}, {stock: drum, strength: 3 %, surfaces: [slope]}]
"""
JOBS = {"wash": (), "roof": (ROOF,), "injected": (INJECTED,)}


@lru_cache(maxsize=8)
def book(name: str = "wash", system: str = "us") -> Book:
    """A job's packet with its plan inside."""
    checked = written(*JOBS[name])
    return job_book(checked, paper="letter", system=system, plan_json=plan_text(job_json(checked, system)))  # type: ignore[arg-type]


@lru_cache(maxsize=8)
def opened(name: str = "wash") -> PdfReader:
    return PdfReader(BytesIO(book(name).pdf))


def fields(reader: PdfReader) -> dict[str, Any]:
    """The text fields by full name, without the counts of what is ticked many times."""
    found = reader.get_fields() or {}
    return {name: one for name, one in found.items() if one.get("/FT") == "/Tx" and "/ticks." not in name}


def to_write(reader: PdfReader) -> list[tuple[int, Any]]:
    """The boxes to write in, with their pages from 0."""
    return [(page, widget) for page, widget in widgets(reader) if widget["/FT"] == "/Tx"]


def ticks(reader: PdfReader) -> dict[str, Any]:
    """The boxes to tick by their names without the job."""
    return {full_name(one).rpartition("/")[2]: one for _, one in widgets(reader) if one["/FT"] == "/Btn"}


def widgets(reader: PdfReader) -> list[tuple[int, Any]]:
    return [(n, note.get_object()) for n, page in enumerate(reader.pages) for note in page.get("/Annots", ())]


def full_name(widget: Any) -> str:
    above = widget.get("/Parent")
    own = str(widget["/T"])
    return own if above is None else f"{full_name(above.get_object())}.{own}"


def leads_to(model: type[Written], path: list[str]) -> bool:
    """Whether a key path is one of the record's."""
    first, rest = path[0], path[1:]
    if first not in model.model_fields:
        return False
    kinds = re.findall(r"(dict\[str, )?[\w.]*?\.(\w+Done|PumpWork)\b", str(model.model_fields[first].annotation))
    if not kinds:
        return not rest
    inner = next(one for one in Written.__subclasses__() if one.__name__ == kinds[0][1])
    rest = rest[1:] if kinds[0][0] else rest
    return bool(rest) and leads_to(inner, rest)


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.ci
def test_every_field_is_named_by_the_job_and_a_key_path_of_a_record(name: str) -> None:
    found = fields(opened(name))
    assert len(found) > 10
    for full in found:
        job_id, _, key = full.rpartition("/")
        assert job_id == "2026-06-09/10-case"
        if key.partition(".")[0] not in UNKEPT:
            assert leads_to(Record, key.split(".")), key
    assert {"times.arrived", "water.used", "mixes.1.left", "sides.1.rinse", "deviations", "signed"} <= {
        full.rpartition("/")[2] for full in found
    }


def test_a_key_path_no_record_has_would_be_found() -> None:
    assert not any(
        leads_to(Record, path.split(".")) for path in ("times.nope", "nope", "mixes.1", "sides.1.throw", "signed.x")
    )
    assert leads_to(Record, ["pump", "throw_before"])


@pytest.mark.ci
@pytest.mark.parametrize("name", JOBS)
def test_every_box_of_the_page_has_its_field_and_every_field_its_box(name: str) -> None:
    boxes = boxes_of(book(name).sections)
    assert {f"2026-06-09/10-case/{box.name}" for box in boxes} == set(fields(opened(name)))
    for full, one in fields(opened(name)).items():
        box = next(box for box in boxes if full.endswith(f"/{box.name}"))
        assert one["/TU"] == hint(box)
        assert box.label


def test_no_level_of_a_name_holds_a_period_and_each_hangs_under_what_its_name_leads_through() -> None:
    for _, widget in widgets(opened()):
        assert "." not in widget["/T"]
        parent = widget.get("/Parent")
        if parent is not None:
            assert widget.indirect_reference in list(parent.get_object()["/Kids"])
    written = {full_name(widget) for _, widget in to_write(opened())}
    assert {name for name in written if "/ticks." not in name} == set(fields(opened()))


def test_the_hint_says_what_it_is_in_which_unit_and_what_was_planned() -> None:
    found = {full.rpartition("/")[2]: str(one["/TU"]) for full, one in fields(opened()).items()}
    assert found["readings.front.gauge_open"] == "Gauge open, in psi; planned 52"
    assert found["readings.front.bucket"] == "5 gal in, how many s; planned 28"
    assert found["mixes.1.stock_test"] == "Stock as tested, in trade %; planned 10.0"
    assert found["sides.2.dwell"] == "back: dwell, in min; planned 5"  # its trim is metal
    assert found["times.arrived"] == "Arrived; planned 7:00 am"


@pytest.mark.ci
def test_a_field_lies_inside_the_box_that_is_printed_for_it() -> None:
    reader = opened()
    with PdfDocument(book().pdf) as paper:
        for page, widget in widgets(reader):
            left, low, right, high = (float(n) for n in widget["/Rect"])
            ticked = "/ticks." in full_name(widget)
            assert right - left > (12 if ticked else 30)
            assert high - low > (12 if ticked else 14)
            frames = [shape.get_bounds() for shape in paper[page].get_objects() if shape.type == 2]
            fits = [
                box for box in frames
                if all(0 < gap < 4 for gap in (left - box[0], low - box[1], box[2] - right, box[3] - high))
            ]  # fmt: skip
            assert fits, full_name(widget)


@pytest.mark.ci
def test_an_empty_field_paints_nothing_and_leaves_the_box_as_it_was() -> None:
    bare = job_packet(written(), paper="letter", system="us")
    with PdfDocument(book().pdf) as document:
        document.init_forms()
        page = next(n for n, sheet in enumerate(texts(book().pdf)) if "What was done" in sheet)
        with_fields = document[page].render(scale=1, may_draw_forms=False).to_numpy()
    with PdfDocument(bare) as document:
        without = document[page].render(scale=1, draw_annots=False).to_numpy()
    assert (with_fields == without).all()
    assert problems(book().pdf, "letter") == []
    for _, widget in widgets(opened()):
        assert "/MK" not in widget
        assert "/BS" not in widget
        assert widget["/FT"] == "/Btn" or widget["/DA"].startswith("/Helv 1")
        assert widget["/F"] == 4  # what is filled in is printed


def test_the_boxes_for_many_words_take_several_lines_and_no_other_does() -> None:
    tall = {full_name(widget).rpartition("/")[2] for _, widget in to_write(opened()) if widget["/Ff"] & 1 << 12}
    assert tall == {"deviations", "after"}


def test_the_tab_key_goes_down_one_group_after_the_other() -> None:
    last = max(n for n, _ in widgets(opened()))
    names = [full_name(widget).rpartition("/")[2] for n, widget in widgets(opened()) if n == last]
    order = [name.rpartition(".")[0] for name in names if not name.startswith("ticks.")]
    groups = [group for n, group in enumerate(order) if n == 0 or order[n - 1] != group]
    assert len(groups) == len(set(groups))
    assert groups[:2] == ["times", "water"]


def test_the_form_is_in_helvetica_which_every_viewer_has() -> None:
    form = opened().trailer["/Root"]["/AcroForm"]
    assert form["/DR"]["/Font"]["/Helv"]["/BaseFont"] == "/Helvetica"
    assert "/NeedAppearances" not in form


@pytest.mark.ci
def test_hostile_job_ids_and_names_make_a_field_like_any_other() -> None:
    assert parts_of("a..b/times.left") == ["a..b/times", "left"]
    assert parts_of(".x./deviations") == [".x", "/deviations"]
    assert all(".".join(parts_of(name)) == name for name in ("..", "a...b", "x.", ".", "a.b/c.d"))
    assert parts_of("2026-06-09/10.5-weir/deviations") == ["2026-06-09/10", "5-weir/deviations"]
    made = written()
    strange = replace(made, plan=replace(made.plan, id="2026-06-09/(10) \\ 山 10.5"))
    reader = PdfReader(BytesIO(job_packet(strange, paper="letter", system="us")))
    assert "2026-06-09/(10) \\ 山 10.5/times.arrived" in fields(reader)


def test_runs_that_would_be_spelled_alike_go_by_their_numbers() -> None:
    names = ["lake side", "Lake Side!", "2", "山", "roof"]
    assert run_keys([run(name) for name in names]) == ["1", "2", "3", "4", "roof"]


@pytest.mark.ci
def test_two_runs_and_two_mixes_have_fields_of_their_own() -> None:
    made = boxes_of([section_done(TWO)])
    names = {box.name for box in made}
    assert {
        "readings.ridge.throw",
        "mixes.1.left",
        "mixes.2.left",
        "sides.2.rinse",
    } <= names
    about = {box.name: box.label for box in made}
    assert about["readings.ridge.throw"] == "ridge: Throw"
    assert about["sides.1.wet"] == "Front & back, walls: wet"


def section_done(*changes: str) -> Section:
    checked = written(*changes)
    made = done.section(Reading(checked=checked, system="us", places=Bound()))
    assert made is not None
    return made


def test_a_held_job_has_no_box_and_its_plan_all_the_same() -> None:
    stop = finding("supply.backflow", "job", "stop", "open")
    pdf = job_packet(job([run()], [stop], rig="x"), paper="letter", system="us", plan_json="{}")
    reader = PdfReader(BytesIO(pdf))
    assert not fields(reader)
    assert list(reader.attachments) == ["plan.json"]


def test_the_plan_is_attached_as_check_would_print_it() -> None:
    reader = opened()
    assert sorted(reader.attachments) == ["boxes.json", "plan.json"]
    inside = json.loads(reader.attachments["plan.json"][0])
    # What a worn pump would show is kept for later, in the packet alone: it takes as long as a plan.
    whole = document([written()], [], "us")
    assert whole["jobs"][0]["runs"][0]["wear"] is None
    whole["jobs"] = [job_json(written(), "us")]
    for one in (inside, whole):
        for row in one["jobs"][0]["findings"]:
            row["where"]["file"] = row["where"]["file"].rpartition("/")[2]
    assert inside == json.loads(json.dumps(whole))
    assert inside["jobs"][0]["plan"] == written().plan.hash


def test_the_attached_plan_names_nobodys_folders() -> None:
    text = plan_text(job_json(written(), "us"))
    assert not re.search(r'"[^"]*(?:/tmp|/home|\\\\)[^"]*"', text)


def test_what_each_box_is_for_is_attached_too() -> None:
    inside = json.loads(opened().attachments["boxes.json"][0])
    assert (inside["format"], inside["job"], inside["plan"]) == (1, "2026-06-09/10-case", written().plan.hash)
    assert inside["boxes"]["readings.front.bucket"] == {
        "label": "5 gal in",
        "planned": "28",
        "unit": "s",
        "lead": "5 gal in",
    }
    assert set(inside["boxes"]) == {box.name for box in boxes_of(book().sections)}


@pytest.mark.ci
def test_the_same_plan_gives_the_same_bytes_with_all_that_is_inside() -> None:
    checked = written()
    again = binding.job_book(checked, paper="letter", system="us", plan_json=plan_text(job_json(checked, "us"))).pdf
    assert again == book().pdf
    assert job_packet(checked, paper="letter", system="us", plan_json="{}") != again


def test_covers_and_notices_have_no_form_and_nothing_inside() -> None:
    one = written()
    cover = day_packet(plan_day([one.plan], frozenset(), frozenset()), [one], paper="letter", system="us")
    for pdf in (cover, notice(one, paper="letter", system="us")):
        root = PdfReader(BytesIO(pdf)).trailer["/Root"]
        assert "/AcroForm" not in root
        assert "/Names" not in root


ALL = {**JOBS, "two": (TWO,), "alone": ("day: {crew: 1}",), "nothing near": ("job: {near: null}",),
       "spouts": (ROOF, "job: {near: {downspouts: 3}}"), "yard": ()}  # fmt: skip


def of_every_kind(name: str) -> Book:
    return job_book(
        demo("2026-06-10/90-booster") if name == "yard" else written(*ALL[name]), paper="letter", system="us"
    )


@pytest.mark.parametrize("name", one_in(2, ALL, first=1))
@pytest.mark.ci
def test_every_box_that_is_printed_has_a_field_of_its_own(name: str) -> None:
    """Found by what is painted: small squares and frames, not by what the blocks are called."""
    pdf = of_every_kind(name).pdf
    by_page: dict[int, list[list[float]]] = {}
    for page, widget in widgets(PdfReader(BytesIO(pdf))):
        by_page.setdefault(page, []).append([float(n) for n in widget["/Rect"]])
    with PdfDocument(pdf) as paper:
        for n, sheet in enumerate(paper):
            for box in empty_boxes(sheet):
                middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
                inside = [at for at in by_page.get(n, ()) if at[0] < middle[0] < at[2] and at[1] < middle[1] < at[3]]
                assert len(inside) == 1, (n + 1, box, inside)


def empty_boxes(sheet: Any) -> list[tuple[float, float, float, float]]:
    """The frames on a page that a pen goes into: as high as a box is, only stroked, with nothing drawn or printed inside."""
    text = sheet.get_textpage()
    found = []
    shapes = [(shape, shape.get_bounds()) for shape in sheet.get_objects()]
    middles = [((at[0] + at[2]) / 2, (at[1] + at[3]) / 2, at[2] - at[0]) for _, at in shapes]
    for shape, (left, low, right, high) in shapes:
        if shape.type != 2 or not 11 < high - low < 40 or right - left < 11 or not _only_stroked(shape):
            continue
        if any(left < x < right and low < y < high and wide < right - left - 1 for x, y, wide in middles):
            continue  # a drawing
        if not text.get_text_bounded(left + 1, low + 1, right - 1, high - 1).strip():
            found.append((left, low, right, high))
    return found


def _only_stroked(shape: Any) -> bool:
    fill, stroke = ctypes.c_int(), ctypes.c_int()
    raw.FPDFPath_GetDrawMode(shape, fill, stroke)
    # A rectangle is a move, three lines and a closing, or the same with a fourth line.
    return fill.value == 0 and bool(stroke.value) and 4 <= raw.FPDFPath_CountSegments(shape) <= 5


def test_steps_rounds_rows_and_stop_points_are_named_by_their_numbers() -> None:
    made = ticks(PdfReader(BytesIO(job_packet(demo("2026-06-09/10-millrace"), paper="letter", system="us"))))
    assert {"ticks.lead.1", "ticks.second.1", "ticks.walk_round.1", "ticks.rows.1.1"} <= set(made)
    rounds = [name for name in made if re.fullmatch(r"ticks\.second\.\d+_\d{3,4}", name)]
    assert len(rounds) > 3
    written = fields(opened())
    assert "2026-06-09/10-case/initials.1.lead" in written
    assert "2026-06-09/10-case/customer" in written


def test_a_box_to_tick_is_off_and_says_what_it_is_of() -> None:
    for name, widget in ticks(opened()).items():
        assert widget["/V"] == widget["/AS"] == "/Off"
        assert set(widget["/AP"]["/N"]) == {"/Yes", "/Off"}
        assert len(str(widget["/TU"])) > 5, name
    looks = {one.raw_get("/AP").idnum for one in ticks(opened()).values()}
    assert len(looks) == 1  # painted once for all of them


def test_a_step_that_runs_on_over_a_page_keeps_a_field_for_each_of_its_boxes() -> None:
    rounds = tuple((f"{8 + n // 12}:{n % 12 * 5:02d}", "20 gal") for n in range(160))
    step = Step(spans=(Span(text="Water the beds."),), rounds=rounds, number=4)
    section = Section(key="grounds", title="Beds", place="", blocks=(step,), role="second")
    head = Masthead(job="j", line="", plan="", program="", date=None)
    written, _ = bind(named([section]), head, "letter", Bound(), Inside(job="d/j"))
    content = written()
    made = set(ticks(PdfReader(BytesIO(content))))
    assert {"ticks.second.4", "ticks.second.4_on1", "ticks.second.4_800", "ticks.second.4_2115"} <= made
    assert len(made) == 160 + len(PdfReader(BytesIO(content)).pages)
