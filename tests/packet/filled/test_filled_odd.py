"""Files that are no filled packet of ours, or only half of one: each is refused with its reason."""

from __future__ import annotations

import logging
import subprocess
import sys
import zlib
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfWriter
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    NameObject,
    NumberObject,
    TextStringObject,
)

from planner.contract.plan import job_json, plan_text
from planner.faults import Fault
from planner.packet.filled import pdf_in
from planner.packet.filled.filled import Filled, read_filled
from tests.packet.builders import written
from tests.packet.filled.test_filled import (
    DONE,
    JOB,
    boxes,
    filled_in,
    fine,
    printed,
    refused,
    saved,
    writer,
)
from tests.packet.printing import Reads, job_book
from tests.sampled import one_in


def add_field(made: PdfWriter, name: str, value: str) -> None:
    field = DictionaryObject(
        {NameObject("/FT"): NameObject("/Tx"), NameObject("/T"): TextStringObject(name),
         NameObject("/V"): TextStringObject(value)}
    )  # fmt: skip
    made._root_object["/AcroForm"]["/Fields"].append(made._add_object(field))


@pytest.mark.ci
def test_one_box_twice_must_say_the_same_or_nothing_once(read: Reads) -> None:
    for value, ends in (("", {"times.arrived": "7:05"}), ("7:05", {"times.arrived": "7:05"}), ("9:00", {})):
        made = writer()
        boxes(made)["times.arrived"][NameObject("/V")] = TextStringObject("7:05")
        add_field(made, f"{JOB}/times.arrived", value)
        found = fine(read(saved(made)))
        assert found.fields == ends
        assert [fault.where.path for fault in found.faults] == ([] if ends else ["times.arrived"])


@pytest.mark.ci
def test_boxes_that_were_never_printed_are_named_and_left_out(read: Reads) -> None:
    made = writer()
    for name in (
        f"{JOB}/pump.bath",
        f"{JOB}/times.nope",
        f"{JOB}/__class__",
        "Text1",
        f"{JOB}/a\x1b[31m\u202eb" + "c" * 500,
    ):
        add_field(made, name, "20 min")
    add_field(made, "Signature1", "")
    found = fine(read(saved(made)))
    assert found.fields == {}
    assert len(found.faults) == 5
    for fault in found.faults:
        assert len(fault.message) < 200
        assert fault.message.isprintable()


@pytest.mark.ci
def test_a_packet_that_lost_its_attachments_is_read_as_far_as_it_goes(read: Reads) -> None:
    made = PdfWriter(clone_from=BytesIO(filled_in(DONE)))
    del made._root_object["/Names"]
    found = fine(read(saved(made)))
    assert (found.job, found.plan, found.document) == (JOB, written().plan.hash, None)
    assert found.fields["readings.front.gauge_open"] == "50"
    assert [fault.code for fault in found.faults] == ["filled.stripped"]


@pytest.mark.parametrize(
    "broken", one_in(3, [b"{", b"[]", b"\xff", b"[" * 100_000, b'{"jobs": 7, "boxes": 3, "job": []}', b"null"])
)
@pytest.mark.ci
def test_attachments_that_are_no_json_of_ours_are_as_good_as_lost(read: Reads, broken: Any) -> None:
    content = filled_in({"times.arrived": "7:05"})
    made = PdfWriter(clone_from=BytesIO(content))
    for entry in made._root_object["/Names"]["/EmbeddedFiles"]["/Names"][1::2]:
        stream = entry.get_object()["/EF"]["/F"].get_object()
        stream._data = zlib.compress(broken)
    found = fine(read(saved(made)))
    assert found.document is None
    assert dict(found.fields) == {"times.arrived": "7:05"}
    assert [fault.code for fault in found.faults] == ["filled.stripped"]


@pytest.mark.ci
def test_two_jobs_in_one_file_are_refused_by_name(read: Reads) -> None:
    made = writer()
    add_field(made, "2026-06-09/20-other/times.arrived", "7:05")
    fault = refused(read(saved(made)), "filled.mixed")
    assert "2026-06-09/10-case, 2026-06-09/20-other" in fault.message


def test_the_page_of_a_held_job_says_that_it_has_no_boxes(read: Reads) -> None:
    held = written("job: {access: {power_line: 5 ft}}")
    pdf = job_book(held, paper="letter", system="us", plan_json=plan_text(job_json(held, "us"))).pdf
    refused(read(pdf), "filled.held")


def test_a_flattened_packet_is_told_from_a_strangers_file(read: Reads) -> None:
    made = writer()
    del made._root_object["/AcroForm"]
    refused(read(saved(made)), "filled.flat")
    del made._root_object["/Names"]
    refused(read(saved(made)), "filled.other")
    empty = PdfWriter()
    empty.add_blank_page(200, 200)
    refused(read(saved(empty)), "filled.other")


@pytest.mark.ci
def test_a_form_of_somebody_elses_is_refused(read: Reads) -> None:
    made = writer()
    made._root_object["/AcroForm"][NameObject("/Fields")] = ArrayObject()
    del made._root_object["/Names"]
    add_field(made, "Customer/Name", "x")
    add_field(made, "Total", "x")
    assert "form is not ours" in refused(read(saved(made)), "filled.other").message


@pytest.mark.ci
def test_a_locked_file_is_refused_and_one_without_a_word_to_open_is_read(read: Reads) -> None:
    for word, locked in (("secret", True), ("", False)):
        made = PdfWriter(clone_from=BytesIO(filled_in({"times.arrived": "7:05"})))
        made.encrypt(user_password=word, owner_password="owner", algorithm="RC4-128")
        content = saved(made)
        if locked:
            refused(read(content), "filled.locked")
        else:
            assert fine(read(content)).fields == {"times.arrived": "7:05"}


@pytest.mark.parametrize(
    "content",
    [b"%PDF-1.7\n%%EOF", b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n<< /Root 1 0 R >>\nstartxref\n9\n%%EOF",
     b"%PDF-1.7\ntrailer << /Root 9 0 R >>\nstartxref\n0\n%%EOF", b"%PDF-1.7\n" + b"[" * 50_000 + b"\n%%EOF",
     b"%PDF-1.7\nxref\n0 1\n0000000000 65535 f \ntrailer\n<< /Prev 9 /Size 1 >>\nstartxref\n9\n%%EOF"],
)  # fmt: skip
def test_a_broken_file_is_refused_in_words(read: Reads, content: bytes) -> None:
    assert refused(read(content), read(content).code).code in ("filled.damaged", "filled.other")


@pytest.mark.ci
def test_bytes_turned_over_anywhere_never_raise(read: Reads) -> None:
    content = bytearray(filled_in(DONE))
    for n in range(24):
        at = 500 + n * (len(content) - 1000) // 24
        before = bytes(content[at : at + 8])
        content[at : at + 8] = b"\x00<< >>[("
        assert isinstance(read(bytes(content)), (Filled, Fault))
        content[at : at + 8] = before


@pytest.mark.ci
def test_fields_that_lead_back_into_each_other_come_to_an_end(read: Reads) -> None:
    made = writer()
    field = boxes(made)["times.arrived"]
    above = field["/Parent"].get_object()
    above["/Kids"].append(field.raw_get("/Parent"))
    refused(read(saved(made)), "filled.damaged")
    made = writer()
    made._root_object["/AcroForm"]["/Fields"].extend([NumberObject(1)] * 6000)
    refused(read(saved(made)), "filled.damaged")


@pytest.mark.ci
def test_names_that_lead_back_into_each_other_come_to_an_end(read: Reads) -> None:
    made = writer()
    tree = made._root_object["/Names"]["/EmbeddedFiles"]
    kept = made._add_object(DictionaryObject({NameObject("/Names"): tree["/Names"]}))
    loop = made._add_object(DictionaryObject())
    loop.get_object()[NameObject("/Kids")] = ArrayObject([loop, kept])
    del tree["/Names"]
    tree[NameObject("/Kids")] = ArrayObject([kept, loop])
    refused(read(saved(made)), "filled.damaged")


def test_what_is_no_file_or_no_pdf_is_told_apart(tmp_path: Path) -> None:
    assert read_filled(tmp_path / "nothing.pdf").code == "filled.unreadable"
    assert read_filled(tmp_path).code == "filled.unreadable"
    assert read_filled(Path("a\x00b.pdf")).code == "filled.unreadable"
    other = tmp_path / "10-case.yaml"
    other.write_text("job: x\n")
    assert read_filled(other).code == "filled.not_pdf"
    other.write_bytes(b"")
    assert read_filled(other).code == "filled.not_pdf"


def test_a_file_larger_than_any_packet_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf_in, "MOST_BYTES", 1000)
    path = tmp_path / "large.pdf"
    path.write_bytes(printed())
    refused(read_filled(path), "filled.large")


def test_the_librarys_own_warnings_stay_off_the_screen(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "x.pdf"
    path.write_bytes(b"junk\n" + printed() + b"\nmore junk %%EOF")
    assert isinstance(read_filled(path), (Filled, Fault))
    logging.getLogger("pypdf._reader").warning("after")
    told = capfd.readouterr()
    assert told.out == ""
    assert "invalid pdf header" not in told.err


@pytest.mark.ci
def test_printing_and_checking_never_load_the_library_that_reads() -> None:
    code = "import planner.commands.packet, planner.commands.check, planner.packet.filled.filled, sys; print('pypdf' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
