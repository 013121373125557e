"""A packet filled by one program or another is read back; whatever else comes is refused with its reason."""

from __future__ import annotations

import json
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    ByteStringObject,
    DecodedStreamObject,
    DictionaryObject,
    NameObject,
    NullObject,
    TextStringObject,
)

from planner.contract.plan import job_json, plan_text
from planner.faults import Fault
from planner.packet.filled.filled import Filled, read_filled
from planner.units import System
from tests.packet.builders import ROOF, written
from tests.packet.printing import Reads, job_packet

pytestmark = pytest.mark.short

JOB = "2026-06-09/10-case"
DONE = {
    "times.arrived": "7:05", "readings.front.gauge_open": "50", "readings.front.bucket": "31", "mixes.1.stock_test": "9.5",
    "mixes.1.stock_used": "3 1/8", "sides.2.dwell": "8", "readings.front.throw": "38 ft", "signed": "Ana",
    "deviations": "Gable by ladder,\r\nhose <short> ünd 山, {{ 7*7 }}",
}  # fmt: skip
READ = {
    "times.arrived": "7:05", "readings.front.gauge_open": "50 psi", "readings.front.bucket": "5 gal in 31 s",
    "mixes.1.stock_test": "9.5 trade %", "mixes.1.stock_used": "3 1/8 gal", "sides.2.dwell": "8 min",
    "readings.front.throw": "38 ft", "signed": "Ana", "deviations": "Gable by ladder, hose <short> ünd 山, {{ 7*7 }}",
}  # fmt: skip


@lru_cache(maxsize=4)
def printed(*changes: str, system: str = "us") -> bytes:
    checked = written(*changes)
    return job_packet(checked, paper="letter", system=system, plan_json=plan_text(job_json(checked, system)))  # type: ignore[arg-type]


def writer() -> PdfWriter:
    return PdfWriter(clone_from=BytesIO(printed()))


def saved(made: PdfWriter) -> bytes:
    file = BytesIO()
    made.write(file)
    return file.getvalue()


def boxes(made: PdfWriter) -> dict[str, DictionaryObject]:
    """Every field by its key path."""
    found = {}
    for page in made.pages:
        for note in page.get("/Annots", ()):
            field = note.get_object()
            names: list[str] = []
            level = field
            while level is not None:
                names.insert(0, str(level["/T"]))
                level = level["/Parent"].get_object() if "/Parent" in level else None
            found[".".join(names).rpartition("/")[2]] = field
    return found


def with_value(value: Any, key: str = "times.arrived") -> bytes:
    made = writer()
    boxes(made)[key][NameObject("/V")] = value
    return saved(made)


def fine(found: Filled | Fault) -> Filled:
    assert isinstance(found, Filled), found
    return found


def refused(found: Filled | Fault, code: str) -> Fault:
    assert isinstance(found, Fault)
    assert found.code == code
    assert found.message
    assert found.remedy.endswith(".")
    assert found.where.file.endswith(".pdf")
    return found


def filled_in(texts: dict[str, str], content: bytes | None = None) -> bytes:
    """Filled by a program that writes over the file, as viewers do with `Save as`."""
    made = PdfWriter(clone_from=BytesIO(content or printed()))
    made.update_page_form_field_values(
        None, {f"{JOB}/{key}": text for key, text in texts.items()}, auto_regenerate=False
    )
    return saved(made)


@pytest.mark.ci
def test_a_packet_nobody_filled_says_whose_it_is_and_nothing_else(read: Reads) -> None:
    found = fine(read(printed()))
    assert (found.job, found.plan) == (JOB, written().plan.hash)
    assert (found.fields, found.faults) == ({}, ())
    assert found.document is not None
    assert found.document["jobs"][0]["runs"][0]["name"] == "front"


def test_what_is_filled_in_comes_back_with_the_units_printed_beside_the_boxes(read: Reads) -> None:
    found = fine(read(filled_in(DONE)))
    assert dict(found.fields) == READ
    assert found.faults == ()


@pytest.mark.ci
def test_a_packet_filled_twice_says_what_was_written_last(read: Reads) -> None:
    found = fine(read(filled_in({"times.arrived": "7:20", "signed": ""}, filled_in(DONE))))
    assert found.fields["times.arrived"] == "7:20"
    assert "signed" not in found.fields
    assert found.fields["sides.2.dwell"] == "8 min"


def appended(content: bytes, key: str, value: bytes) -> bytes:
    """Filled by a program that adds its changes to the end of the file, as viewers do with `Save`; made by hand."""
    reader = PdfReader(BytesIO(content))
    made = PdfWriter(clone_from=BytesIO(content))
    want = boxes(made)[key]["/TU"]
    for page in reader.pages:
        for note in page.get("/Annots", ()):
            if note.get_object()["/TU"] == want:
                number = note.idnum
                body = b" ".join(
                    f"/{name[1:]} {_raw(value)}".encode() for name, value in note.get_object().items() if name != "/V"
                )
    at = content.rindex(b"startxref") + len(b"startxref")
    before = int(content[at:].split()[0])
    trailer = content[content.rindex(b"trailer") + 7 : content.rindex(b"startxref")]
    start = len(content)
    object_ = b"%d 0 obj\n<< %s /V %s >>\nendobj\n" % (number, body, value)
    table = b"xref\n%d 1\n%010d 00000 n \n" % (number, start)
    end = b"trailer\n%s\nstartxref\n%d\n%%%%EOF\n" % (
        trailer.replace(b"<<", b"<< /Prev %d" % before, 1), start + len(object_),
    )  # fmt: skip
    return content + object_ + table + end


def _raw(value: Any) -> str:
    file = BytesIO()
    raw = value
    if hasattr(raw, "write_to_stream"):
        raw.write_to_stream(file)
    return file.getvalue().decode("latin-1")


@pytest.mark.ci
def test_changes_added_to_the_end_of_the_file_are_read(read: Reads) -> None:
    wide = "8:02 山".encode("utf-16-be").hex().encode()
    found = fine(read(appended(printed(), "times.arrived", b"<feff" + wide + b">")))
    assert dict(found.fields) == {"times.arrived": "8:02 山"}
    twice = appended(appended(printed(), "times.arrived", b"(8:02)"), "signed", b"(Bo \\(lead\\))")
    assert dict(fine(read(twice)).fields) == {"times.arrived": "8:02", "signed": "Bo (lead)"}


@pytest.mark.ci
def test_a_file_that_lost_its_end_is_never_read_as_it_was_before_the_last_saving(read: Reads) -> None:
    whole = appended(printed(), "times.arrived", b"(8:02)")
    assert fine(read(whole)).fields
    for lost in (1, 2, 12, 40, 200):
        refused(read(whole[: -lost - 1]), "filled.truncated")
    assert fine(read(whole + b"\r\n\x00\x00")).fields
    for share in (0.99, 0.7, 0.3, 0.05):
        refused(read(printed()[: int(share * len(printed()))]), "filled.truncated")


@pytest.mark.ci
@pytest.mark.parametrize(
    ("text", "comes"),
    [
        ("50", "50 psi"), ("50 ", "50 psi"), ("3.4 bar", "3.4 bar"), ("52 to 54", "52 to 54 psi"), ("1,200", "1,200 psi"),
        ("50.", "50. psi"), ("fifty", "fifty"), ("broken", "broken"), ("\u202e50\x00\x1b", "50 psi"), ("５0", "５0 psi"),
    ],
)  # fmt: skip
def test_a_bare_number_gets_its_unit_and_nothing_else_is_altered(read: Reads, text: str, comes: Any) -> None:
    assert fine(read(with_value(TextStringObject(text), "readings.front.gauge_open"))).fields == {
        "readings.front.gauge_open": comes
    }


@pytest.mark.ci
@pytest.mark.parametrize(
    ("text", "comes"),
    [("31", "5 gal in 31 s"), ("31 s", "5 gal in 31 s"), ("2 gal in 12 s", "2 gal in 12 s"), ("no", "no")],
)
def test_bare_seconds_are_those_of_the_printed_bucket(read: Reads, text: str, comes: Any) -> None:
    assert fine(read(with_value(TextStringObject(text), "readings.front.bucket"))).fields == {
        "readings.front.bucket": comes
    }


@pytest.mark.ci
def test_gallons_and_ounces_become_one_amount(tmp_path: Path) -> None:
    path = tmp_path / "x.pdf"
    small = written("job: {surfaces: [{name: front, kind: vinyl, area: 120 ft2}]}")
    path.write_bytes(job_packet(small, paper="letter", system="us", plan_json=plan_text(job_json(small, "us"))))
    inside = json.loads(PdfReader(path).attachments["boxes.json"][0])["boxes"]["mixes.1.stock_used"]
    assert inside["unit"] == "fl oz"
    path.write_bytes(filled_in({"mixes.1.stock_used": "1 gal 20"}, path.read_bytes()))
    assert fine(read_filled(path)).fields == {"mixes.1.stock_used": "1 gal 20 fl oz"}


@pytest.mark.ci
def test_metric_paper_is_read_in_metric_units(tmp_path: Path) -> None:
    path = tmp_path / "x.pdf"
    path.write_bytes(filled_in({"readings.front.bucket": "35", "water.used": "1,400"}, printed(ROOF, system="si")))
    found = fine(read_filled(path))
    assert found.fields["water.used"] == "1,400 L"


@pytest.mark.ci
@pytest.mark.parametrize(("system", "said"), [("us", "5 gal in 47 s"), ("si", "20 L in 47 s")])
def test_seconds_in_the_taps_box_are_those_of_its_bucket(tmp_path: Path, system: System, said: str) -> None:
    path = tmp_path / "x.pdf"
    path.write_bytes(filled_in({"water.tap": "47"}, printed(ROOF, system=system)))
    assert fine(read_filled(path)).fields == {"water.tap": said}


@pytest.mark.ci
@pytest.mark.parametrize(
    "value",
    [
        TextStringObject("7:05"), ByteStringObject(b"7:05"), ByteStringObject(b"\xfe\xff" + "7:05".encode("utf-16-be")),
        TextStringObject("  7:05\r\n"),
    ],
)  # fmt: skip
def test_however_a_program_stores_a_text_it_is_the_same_text(read: Reads, value: Any) -> None:
    assert fine(read(with_value(value))).fields == {"times.arrived": "7:05"}


@pytest.mark.ci
def test_a_long_text_may_stand_in_a_stream_of_its_own(read: Reads) -> None:
    made = writer()
    stream = DecodedStreamObject()
    stream.set_data(b"7:05")
    boxes(made)["times.arrived"][NameObject("/V")] = made._add_object(stream)
    assert fine(read(saved(made))).fields == {"times.arrived": "7:05"}


@pytest.mark.ci
@pytest.mark.parametrize("value", [NullObject(), TextStringObject(""), TextStringObject(" \t\r\n\u200b")])
def test_what_is_blank_was_not_written(read: Reads, value: Any) -> None:
    found = fine(read(with_value(value)))
    assert (found.fields, found.faults) == ({}, ())


@pytest.mark.ci
def test_a_field_takes_the_value_of_the_level_above_it(read: Reads) -> None:
    made = writer()
    field = boxes(made)["times.arrived"]
    del field["/V"]
    field["/Parent"].get_object()[NameObject("/V")] = TextStringObject("7:05")
    assert fine(read(saved(made))).fields == {"times.arrived": "7:05"}


@pytest.mark.parametrize(
    ("value", "why"),
    [
        (ArrayObject([TextStringObject("7:05")]), "not text"), (DictionaryObject(), "not text"), (BooleanObject(True), "not text"),
        (TextStringObject("x" * 4001), "4,000"),
    ],
)  # fmt: skip
@pytest.mark.ci
def test_a_box_that_cannot_be_read_is_named_and_the_others_are_kept(read: Reads, value: Any, why: str) -> None:
    made = writer()
    boxes(made)["times.arrived"][NameObject("/V")] = value
    boxes(made)["signed"][NameObject("/V")] = TextStringObject("Ana")
    found = fine(read(saved(made)))
    assert found.fields == {"signed": "Ana"}
    assert [(fault.code, fault.where.path) for fault in found.faults] == [("filled.box", "times.arrived")]
    assert why in found.faults[0].message


@pytest.mark.ci
def test_ticks_and_notes_are_no_fault_and_no_part_of_the_record(read: Reads) -> None:
    made = writer()
    found = boxes(made)
    found["ticks.lead.1"][NameObject("/V")] = NameObject("/Yes")
    found["notes.near.1"][NameObject("/V")] = TextStringObject("by the gate")
    found["initials.1.lead"][NameObject("/V")] = TextStringObject("AB")
    taken = fine(read(saved(made)))
    assert dict(taken.fields) == {"initials.1.lead": "AB"}
    assert not taken.faults
    assert taken.labels["initials.1.lead"].startswith("Stop point 1, ")


@pytest.mark.ci
def test_what_is_only_painted_counts_for_nothing(read: Reads) -> None:
    made = writer()
    stream = DecodedStreamObject()
    stream.set_data(b"BT /Helv 11 Tf (9:99) Tj ET")
    boxes(made)["times.arrived"]["/AP"][NameObject("/N")] = made._add_object(stream)
    assert fine(read(saved(made))).fields == {}
