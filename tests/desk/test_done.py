"""Done: entries read as `planner record` reads them, one draft for both, a record kept as the command keeps it."""

from __future__ import annotations

import io
import json
import re
import sqlite3
from contextlib import closing
from html import unescape
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.cli import main
from planner.desk.done import doing
from planner.recording.against import Against, RecordJob, planned_now
from tests.commands.conftest import typed  # noqa: F401  a terminal at which answers are typed
from tests.commands.recording import fill
from tests.desk.desks import HOST, Asked, over, words

pytestmark = pytest.mark.ci

MILLRACE, GRANARY, KILN = "2026-06-09/10-millrace.yaml", "2026-06-09/20-granary.yaml", "2026-06-09/30-kiln.yaml"
GIVEN = {
    "times.arrived": "7:35", "times.left": "10.50am", "water.used": "610", "water.tap": "48", "readings.1.gauge_open": "51",
    "readings.1.gauge_closed": "68 lb", "readings.1.bucket": "37", "readings.1.jet": "33 ft", "mixes.1.stock_test": "10.5",
    "mixes.1.stock_used": "7", "sides.1.dwell": "8", "flush.residual": "<1", "signed": "Ana",
    "deviations": "gable from the lane",
}  # fmt: skip


def rows(desk: Asked, table: str = "records") -> list[dict[str, Any]]:
    with closing(sqlite3.connect(desk.folder.parent / "archive.db")) as connection:
        connection.row_factory = sqlite3.Row
        return [dict(row) for row in connection.execute(f"SELECT * FROM {table}")]


def typing(desk: Asked, entries: dict[str, str], job: str = MILLRACE, **more: str) -> dict[str, Any]:
    """Entries as the page's script sends them, and its answer."""
    more = {"place": seen(page(desk, job, "?change=yes")), **more}
    found = desk.post(f"/done/{desk.id(job)}", {**{f"a:{path}": text for path, text in entries.items()}, **more})
    answer: dict[str, Any] = found.get_json()
    return answer


def part(answer: dict[str, Any], name: str) -> str:
    return words(next(one["html"] for one in answer["swap"] if one["id"] == name))


def page(desk: Asked, job: str = MILLRACE, more: str = "") -> str:
    found = desk.get(f"/done/{desk.id(job)}{more}")
    assert found.status_code == 200
    return str(found.get_data(as_text=True))


def seen(html: str) -> str:
    """Which plan a page says that it shows."""
    found = re.search(r'name="place" value="([^"]+)"', html)
    return found[1] if found is not None else ""


def sent(html: str) -> dict[str, str]:
    """What a browser would send of the page's form, no script in it."""
    found = dict(re.findall(r'<input id="[^"]*" name="(a:[^"]+)" value="([^"]*)"', html))
    found |= dict(re.findall(r'name="(a:[^"]+)"[^>]*>([^<]*)</textarea>', html))
    ticked = r'name="(yes:[^"]+)" value="([^"]*)" checked'
    found = {name: unescape(text) for name, text in found.items()}
    was = re.search(r'name="was" value="([^"]+)"', html)
    assert was is not None
    return {**found, **dict(re.findall(ticked, html)), "whole": "yes", "place": seen(html), "was": unescape(was[1])}


def posted(desk: Asked, data: dict[str, str], job: str = MILLRACE, status: int = 303) -> str:
    """A form sent without a script: the page it lands on."""
    found = desk.post(f"/done/{desk.id(job)}", data, script=False)
    assert found.status_code == status
    if status != 303:
        return str(found.get_data(as_text=True))
    return str(desk.get(found.location).get_data(as_text=True))


def draft(desk: Asked, job: str = MILLRACE) -> Path:
    return desk.folder / job.replace(".yaml", ".record.draft.yaml")


def tick(html: str, path: str) -> str:
    found = re.search(rf'name="yes:{re.escape(path)}" value="([^"]+)"', html)
    assert found is not None, path
    return found[1]


def test_a_day_says_what_is_typed_in_and_what_was_held(desk: Asked) -> None:
    typing(desk, {"readings.1.bucket": "37", "readings.1.gauge_closed": "68"})
    said = words(desk.get(f"/done/{desk.id('2026-06-09')}"))
    assert "1 Millrace Row, end terrace 2 typed in, 1 outside so far" in said
    assert "2 Granary, south roof nothing typed in yet" in said
    assert "3 Kiln House, lean-to and plinth was held, not done" in said
    assert "0 of 2 jobs recorded" in said
    assert desk.get("/done").location == f"/done/{desk.id('2026-06-10')}"


def test_a_day_follows_what_other_programs_change(desk: Asked) -> None:
    day = f"/done/{desk.id('2026-06-10')}"
    before = words(desk.get(day))
    rig = desk.folder / "rigs/bittern.yaml"
    rig.write_text(rig.read_text(encoding="utf-8").replace("bore: 3/4 in", "bore: 3/8 in"), encoding="utf-8")
    after = words(desk.get(day))
    assert "was held" not in before
    assert "was held" in after
    assert after == words(Asked(desk.folder).get(day)), "as a desk opened just now has it"
    slipway = "2026-06-10/10-slipway.yaml"
    typing(desk, {"signed": "Ana"}, slipway)
    assert "1 typed in" in words(desk.get(day))
    draft(desk, slipway).unlink()
    assert "1 typed in" not in words(desk.get(day))


def test_every_question_of_record_has_its_box(desk: Asked, typed: Any) -> None:  # noqa: F811
    asked = [prompt.partition(" [")[0].partition(" (")[0].removesuffix(": ") for prompt in _prompts(desk, typed)]
    html = page(desk)
    boxes = re.findall(r'name="a:([^"]+)"', html)
    assert len(boxes) == len(set(boxes)) == len(asked)
    said = words(html)
    for planned in (prompt.partition(", planned ")[2] for prompt in asked):
        assert f"planned {planned}" in said if planned else True


def _prompts(desk: Asked, typed: Any) -> list[str]:  # noqa: F811
    prompts: list[str] = typed({})
    assert main(["record", str(desk.folder / MILLRACE)]) == 0
    return prompts


def test_an_entry_is_held_against_the_plan_while_it_is_typed(desk: Asked) -> None:
    answer = typing(desk, {"readings.1.bucket": "37", "readings.1.gauge_closed": "68"})
    assert part(answer, "c-readings-1-bucket").endswith("LOW, -14 % ")
    assert "As planned is 8.7 to 10.0 gpm" in part(answer, "c-readings-1-bucket")
    assert "<circle" in next(one["html"] for one in answer["swap"] if one["id"] == "c-readings-1-gauge_closed")
    assert "Bucket. The pump makes its pressure with the gun closed, yet too little comes out" in part(answer, "side")
    assert answer["live"].startswith("1 of 3 figures outside the band.")
    raw = yaml.safe_load(draft(desk).read_text(encoding="utf-8"))
    assert raw["readings"] == {1: {"gauge_closed": "68 psi", "bucket": "5 gal in 37 s"}}
    answer = typing(desk, {"readings.1.bucket": "", "readings.1.gauge_closed": ""})
    assert not draft(desk).exists()
    assert part(answer, "kept") == " "


def test_entries_are_read_as_the_command_reads_them(desk: Asked) -> None:
    typing(
        desk,
        {"mixes.1.stock_used": "6 7/8", "times.left": "10.50am", "sides.1.dwell": "8 m", "flush.residual": "trace"},
    )
    raw = yaml.safe_load(draft(desk).read_text(encoding="utf-8"))
    assert raw["mixes"] == {1: {"stock_used": "6 7/8 gal"}}
    assert (raw["times"], raw["sides"]) == ({"left": "10.50am"}, {1: {"dwell": "8 m"}})
    assert "flush" not in raw, "`trace` is not a figure"
    answer = typing(desk, {"readings.1.gauge_open": "52/54"})
    level, text, _ = answer["said"]["readings.1.gauge_open"]
    assert level == "fault"
    assert "is two figures, and one is needed here. Write one of them" in text


def test_what_cannot_be_read_stays_in_its_box_and_nothing_is_kept(desk: Asked) -> None:
    typing(desk, {"times.left": "12:3O", "times.arrived": "7:35"})
    assert '# times.left: "12:3O"' in draft(desk).read_text(encoding="utf-8")
    again = Asked(desk.folder)  # the desk was closed and opened
    html = page(again)
    assert 'value="12:3O"' in html
    assert "is not a time of day. Write it by the 24 hour clock" in words(html)
    said = words(posted(again, {**sent(html), "do": "keep"}))
    assert "Nothing is kept yet. Left: 12:3O is not a time of day." in said
    assert rows(desk) == []
    said = words(posted(again, {"a:times.left": "12:30", "place": seen(html), "do": "keep"}))
    assert "Recorded, revision 1: 2 times, not signed." in said
    assert not draft(desk).exists()


def test_an_odd_figure_is_asked_about_and_never_taken_in_silence(desk: Asked) -> None:
    answer = typing(desk, {"readings.1.gauge_closed": "710", "signed": "Ana"})
    assert "above the 125 psi its gear is rated for" in answer["said"]["readings.1.gauge_closed"][1]
    assert "Yes, that is right" in part(answer, "t-readings-1-gauge_closed")
    assert "gauge_closed" not in yaml.safe_load(draft(desk).read_text(encoding="utf-8")).get("readings", {}).get(1, {})
    said = words(posted(desk, {**sent(page(desk)), "do": "keep"}))
    assert "Nothing is kept yet." in said
    assert "or tick that it is right" in said
    assert rows(desk) == []
    token = tick(page(desk), "readings.1.gauge_closed")
    other = typing(desk, {"readings.1.gauge_closed": "720", "yes:readings.1.gauge_closed": token})
    assert "720 psi" in other["said"]["readings.1.gauge_closed"][1]
    posted(desk, {**sent(page(desk)), "yes:readings.1.gauge_closed": token})
    assert "gauge_closed" not in draft(desk).read_text(encoding="utf-8").partition("job:")[2], "a tick is of one figure"
    token = tick(page(desk), "readings.1.gauge_closed")
    html = posted(desk, {**sent(page(desk)), "yes:readings.1.gauge_closed": token})
    assert 'gauge_closed: "720 psi"' in draft(desk).read_text(encoding="utf-8")
    assert re.search(rf'value="{token}" checked', html)
    assert "Recorded, revision 1" in words(posted(desk, {**sent(html), "do": "keep"}))
    (kept,) = rows(desk)
    assert json.loads(kept["json"])["cautions"][0]["path"] == "readings.1.gauge_closed"


def test_a_figure_made_odd_by_another_is_asked_about(desk: Asked) -> None:
    typing(desk, {"times.left": "12:10"})
    answer = typing(desk, {"times.arrived": "13:05"})
    assert "is taken as the day after" in answer["said"]["times.left"][1]
    assert "left" not in draft(desk).read_text(encoding="utf-8").partition("job:")[2]
    typing(desk, {"times.arrived": "7:35"})
    assert 'left: "12:10"' in draft(desk).read_text(encoding="utf-8").partition("job:")[2]


def test_the_terminal_goes_on_from_the_page(desk: Asked, typed: Any) -> None:  # noqa: F811
    typing(desk, {"times.arrived": "7:35", "readings.1.gauge_closed": "710", "times.left": "12:3O"})
    asked = typed({"Left": ["12:30"], "house: gauge closed": ["710", "710"]})
    assert main(["record", str(desk.folder / MILLRACE)]) == 0
    assert "holds 1 answer. Go on from there" in asked[0]
    assert sum(prompt.startswith("house: gauge closed") for prompt in asked) == 2, "odd, so it is asked again"
    (kept,) = rows(desk)
    raw = json.loads(kept["json"])["as_written"]
    assert raw["times"] == {"arrived": "7:35", "left": "12:30"}
    assert not draft(desk).exists()


def test_the_page_goes_on_from_the_terminal(desk: Asked, typed: Any) -> None:  # noqa: F811
    typed({"Arrived": ["7:35"], "house: gauge closed": ["710", "710"], "house: bucket": ["stop"]})
    assert main(["record", str(desk.folder / MILLRACE)]) == 0
    html = page(desk)
    assert 'value="7:35"' in html
    assert re.search(r'name="yes:readings.1.gauge_closed" value="[^"]+" checked', html), "said twice at the terminal"
    typing(desk, {"signed": "Ana"})
    assert "Recorded, revision 1" in words(posted(desk, {**sent(page(desk)), "do": "keep"}))
    raw = json.loads(rows(desk)[0]["json"])["as_written"]
    assert (raw["signed"], raw["readings"]) == ("Ana", {"1": {"gauge_closed": "710 psi"}})


def test_what_is_kept_is_the_command_s_to_the_byte(
    once: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: Any  # noqa: F811
) -> None:  # fmt: skip
    by_page = over(once, tmp_path / "page", monkeypatch)
    typing(by_page, GIVEN)
    assert "Recorded, revision 1" in words(posted(by_page, {**sent(page(by_page)), "do": "keep"}))
    by_hand = over(once, tmp_path / "hand", monkeypatch)
    _by_hand(by_hand, typed)
    mine, theirs = rows(by_page), rows(by_hand)
    for row in (*mine, *theirs):
        row.pop("at")
    assert mine == theirs
    assert len(mine) == 1
    assert json.loads(mine[0]["json"])["readings"][0]["gauge_closed_pa"] == pytest.approx(468843.4, rel=1e-6)


def _by_hand(desk: Asked, typed: Any) -> None:  # noqa: F811
    starts = {
        "times.arrived": "Arrived", "times.left": "Left", "water.used": "Water in all", "water.tap": "Bucket at the open",
        "readings.1.gauge_open": "house: gauge open", "readings.1.gauge_closed": "house: gauge closed",
        "readings.1.bucket": "house: bucket", "readings.1.jet": "house: jet",
        "mixes.1.stock_test": "hypochlorite, house: stock test",
        "mixes.1.stock_used": "hypochlorite, house: stock used", "sides.1.dwell": "all four walls, house: dwell",
        "flush.residual": "Chlorine", "signed": "Signed", "deviations": "What went differently",
    }  # fmt: skip
    typed({starts[path]: [text] for path, text in GIVEN.items()})
    assert main(["record", str(desk.folder / MILLRACE)]) == 0


def test_a_record_is_amended_only_by_asking_and_can_be_withdrawn(desk: Asked) -> None:
    typing(desk, {"times.arrived": "7:35", "signed": "Ana"})
    posted(desk, {**sent(page(desk)), "do": "keep"})
    html = page(desk)
    assert 'name="a:' not in html
    assert "Recorded, revision 1" in words(html)
    html = page(desk, more="?change=yes")
    html = posted(desk, {**sent(html), "a:signed": "", "a:times.left": "10:50", "do": "keep"})
    assert "Revision 1 is in the archive already. Tick that this takes its place." in words(html)
    assert "Revision 1 is in the archive. 2 changed, 1 of them left blank." in words(html)
    assert len(rows(desk)) == 1
    html = posted(desk, {**sent(html), "yes:revision": tick(html, "revision"), "do": "keep"})
    assert "Recorded, revision 2: 2 times, not signed." in words(html)
    assert "Nothing was withdrawn: say why." in words(posted(desk, {"do": "withdraw", "revision": "2"}))
    html = posted(desk, {"do": "withdraw", "revision": "2", "reason": "of the house next door"})
    assert "revision 2 is withdrawn; revision 1 counts now" in words(html)
    assert [row["reason"] for row in rows(desk, "withdrawn")] == ["of the house next door"]


def test_a_draft_older_than_the_record_waits_for_a_word(desk: Asked, tmp_path: Path) -> None:
    typing(desk, {"times.arrived": "7:35"})
    other = tmp_path / "other.yaml"
    other.write_text("job: 2026-06-09/10-millrace\nafter: beds fine\n", encoding="utf-8")
    assert main(["record", str(desk.folder / MILLRACE), "--from", str(other)]) == 0
    html = page(desk)
    assert "10-millrace.record.draft.yaml is older than revision 1." in words(html)
    assert 'value="7:35"' not in html
    html = posted(desk, {"do": "older"})
    assert 'value="7:35"' in html
    assert ">beds fine</textarea>" in html
    html = posted(desk, {**sent(html), "yes:revision": tick(html, "revision"), "do": "keep"})
    assert "Recorded, revision 2: 1 time, 1 remark" in words(html)


# ------------------------------------------------------------ packet


def upload(desk: Asked, content: bytes, job: str = MILLRACE, name: str = "filled.pdf") -> str:
    data = {"packet": (io.BytesIO(content), name)}
    found = desk.post(f"/packet/{desk.id(job)}", data, script=False)
    assert found.status_code == 303
    return str(desk.get(found.location).get_data(as_text=True))


def filled(desk: Asked, texts: dict[str, str], job: str = "10-millrace") -> bytes:
    return fill(desk.folder.parent / "out" / "2026-06-09" / f"{job}.pdf", texts).read_bytes()


def test_a_filled_packet_fills_the_boxes_and_what_is_odd_is_asked(desk: Asked) -> None:
    typing(desk, {"times.arrived": "7:40"})
    texts = {
        "times.arrived": "7:35",
        "times.left": "12:3O",
        "readings.house.bucket": "37",
        "readings.house.gauge_open": "510",
    }
    html = upload(desk, filled(desk, {**texts, "signed": "Ana"}))
    said = words(html)
    assert "5 entries of filled.pdf taken in. Nothing is recorded yet." in said
    assert "Arrived: the packet has 7:35, 7:40 stays." in said
    for value in ("7:40", "12:3O", "5 gal in 37 s", "510 psi", "Ana"):
        assert f'value="{value}"' in html, value
    assert "12:3O is not a time of day" in said
    assert "Read as 510 psi, above the" in said
    assert rows(desk) == []
    html = posted(desk, {**sent(html), "a:times.left": "12:30", "a:readings.1.gauge_open": "51", "do": "keep"})
    assert "Recorded, revision 1" in words(html)
    (kept,) = rows(desk)
    assert json.loads(kept["json"])["times"]["arrived_s"] == 7 * 3600 + 40 * 60


def test_a_packet_left_as_a_draft_by_the_command_has_its_odd_figures_asked(desk: Asked) -> None:
    path = desk.folder.parent / "filled.pdf"
    path.write_bytes(filled(desk, {"times.left": "12:3O", "readings.house.gauge_open": "510", "signed": "Ana"}))
    assert main(["record", str(desk.folder / MILLRACE), "--from", str(path)]) == 2
    html = page(desk)
    for value in ("12:3O", "510 psi", "Ana"):
        assert f'value="{value}"' in html, value
    assert not re.search(r'name="yes:readings.1.gauge_open" value="[^"]+" checked', html)
    said = words(posted(desk, {**sent(html), "a:times.left": "12:30", "do": "keep"}))
    assert "Nothing is kept yet. House: gauge open: read as 510 psi" in said


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"no packet at all", "The file is not a PDF."),
        (b"%PDF-1.7\n" + b"x" * (2 << 20), "The file ends too soon"),
        (b"%PDF-1.7\n%%EOF\n", "The file is damaged"),
    ],
)
def test_a_file_that_is_no_packet_is_refused_with_its_reason(desk: Asked, content: bytes, said: str) -> None:
    assert said in words(upload(desk, content, name="../../x<y>.pdf"))
    assert not draft(desk).exists()


def test_a_packet_of_another_job_is_refused(desk: Asked) -> None:
    said = words(upload(desk, filled(desk, {"times.arrived": "7:35"}, "20-granary")))
    assert "is the record of 2026-06-09/20-granary" in said
    assert not draft(desk).exists()
    assert "No file was chosen." in words(posted_packet(desk))


def posted_packet(desk: Asked) -> str:
    found = desk.post(f"/packet/{desk.id(MILLRACE)}", {}, script=False)
    return str(desk.get(found.location).get_data(as_text=True))


def test_only_a_packet_may_be_large(desk: Asked) -> None:
    large = {"a:deviations": "x" * (2 << 20)}
    assert desk.post(f"/done/{desk.id(MILLRACE)}", large).status_code == 413
    found = desk.client.post(
        f"/packet/{desk.id(MILLRACE)}", base_url=f"http://{HOST}", data={"packet": (io.BytesIO(b"x"), "x.pdf")},
        headers={"Origin": "http://elsewhere.test", "Sec-Fetch-Site": "same-origin"},
    )  # fmt: skip
    assert found.status_code == 403


# ------------------------------------------------------------ learn, held, yard


def test_learning_says_what_it_writes_and_waits_for_its_button(desk: Asked, tmp_path: Path) -> None:
    typing(desk, {"water.tap": "48", "mixes.1.stock_test": "10.5", "signed": "Ana"})
    answer = desk.post(f"/learn/{desk.id(MILLRACE)}").get_json()
    assert "Keep the record first; then you can use this." in part(answer, "lessons")
    html = posted(desk, {**sent(page(desk)), "do": "keep"})
    assert "Use both" in words(html)
    assert "3 Millrace Row: tap 6.25 gpm" in words(html)
    written = desk.folder / "learned.yaml"
    assert not written.exists()
    stale = desk.post(f"/learn/{desk.id(MILLRACE)}", {"do": "apply", "is": "0"}, script=False)
    assert "Nothing was changed: the records" in words(desk.get(stale.location))
    assert not written.exists()
    shown = re.search(r'name="is" value="([0-9a-f]+)"', html)
    assert shown is not None
    found = desk.post(f"/learn/{desk.id(MILLRACE)}", {"do": "apply", "is": shown[1]}, script=False)
    said = words(desk.get(found.location))
    assert "learned.yaml now has this. " in said
    assert "Use both" not in said
    text = written.read_bytes()
    written.unlink()
    assert main(["compare", str(desk.folder), "--apply"]) == 0
    assert written.read_bytes() == text, "as `compare --apply` writes it"


def test_a_held_job_was_not_done_unless_somebody_says_so(desk: Asked) -> None:
    html = page(desk, KILN)
    assert "Was held, not done" in words(html)
    assert 'name="a:' not in html
    typing(desk, {"signed": "Ana"}, KILN)
    html = page(desk, KILN)
    number = seen(html).rpartition(":")[2]
    said = words(posted(desk, {**sent(html), "do": "keep"}, KILN))
    assert re.fullmatch("[0-9a-f]{4}-[0-9a-f]{4}", number)
    assert f"Plan: plan {number} was held" in said
    assert rows(desk) == []
    html = page(desk, KILN)
    assert "Recorded" in words(posted(desk, {**sent(html), "yes:plan": tick(html, "plan"), "do": "keep"}, KILN))


def test_a_job_called_off_is_recorded_as_that(desk: Asked) -> None:
    typing(desk, {"status": "cancelled", "deviations": "rain"}, GRANARY)
    html = posted(desk, {**sent(page(desk, GRANARY)), "a:status": "cancelled", "do": "keep"}, GRANARY)
    assert "2 Granary, south roof canceled" in words(html)
    (kept,) = rows(desk)
    assert json.loads(kept["json"])["status"] == "cancelled"


def test_a_job_never_printed_is_held_against_its_plan_of_now(desk: Asked) -> None:
    job = "2026-06-10/90-booster.yaml"
    said = words(page(desk, job))
    assert "it was never printed, so this is the plan as it is now" in said
    typing(desk, {"pump.throw_after": "38 ft", "pump.bath": "20 min"}, job)
    assert "Recorded, revision 1" in words(posted(desk, {**sent(page(desk, job)), "do": "keep"}, job))


def test_a_job_never_printed_is_planned_once_while_nothing_changes(
    desk: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    late, planned = "2026-06-10/10-slipway.yaml", list[str]()

    def counted(job: RecordJob) -> Against:
        planned.append(job.id)
        return planned_now(job)

    monkeypatch.setattr(doing, "planned_now", counted)
    assert "Another " not in page(desk, late)
    typing(desk, {"readings.1.bucket": "37"}, late)
    typing(desk, {"times.left": "10:50"}, late)
    assert planned.count("2026-06-10/10-slipway") == 1
    path = desk.folder / late
    path.write_text(re.sub("(?m)^job: ", "job: Another ", path.read_text(encoding="utf-8")), encoding="utf-8")
    assert "Another " in page(desk, late)
    assert planned.count("2026-06-10/10-slipway") == 2


def test_what_cannot_be_planned_or_opened_says_why(desk: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    job = "2026-06-10/10-slipway.yaml"
    (desk.folder / job).write_text("job: [\n", encoding="utf-8")
    assert "No plan of 2026-06-10/10-slipway is in the archive" in words(page(desk, job))
    assert typing(desk, {"signed": "Ana"}, job)["trouble"].startswith("A value was expected here.")
    other = desk.folder.parent / "other.db"
    other.write_text("no archive at all, and long enough to be read as one" * 9, encoding="utf-8")
    monkeypatch.setenv("PLANNER_ARCHIVE", str(other))
    assert "is not a" in words(page(desk)).casefold()
    assert desk.get(f"/done/{desk.id('2026-06-09')}").status_code == 200
    assert desk.get("/done/ffffffffffff").status_code == 404
