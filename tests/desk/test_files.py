"""The file stays the truth: nothing written over, nothing lost, every change undone, every byte that was not meant kept."""

from __future__ import annotations

import os
import random
import re
import stat
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from planner.desk.files import Files, blocks_of, changed_lines, typed_over
from planner.desk.server import _put_aside
from planner.inputs.reading.spans import all_lines, lines_of
from tests.desk.desks import Asked, demo, words
from tests.sampled import one_in

MILLRACE = "2026-06-09/10-millrace.yaml"
GRANARY = "2026-06-09/20-granary.yaml"


def _saved(asked: Asked, name: str, **data: str) -> dict[str, object]:
    found: dict[str, object] = asked.edit(name, save="yes", **data).get_json()
    return found


@pytest.mark.ci
def test_what_another_program_wrote_is_taken_in_where_nothing_is_unsaved(asked: Asked) -> None:
    stamp = asked.stamp(MILLRACE)
    assert asked.same(stamp)
    path = asked.folder / MILLRACE
    path.write_text(asked.text(MILLRACE).replace("27 ft}", "31 ft}"), encoding="utf-8")
    assert not asked.same(stamp)
    assert not asked.same(stamp)  # whichever page asks first
    said = words(asked.get(f"/job/{asked.id(MILLRACE)}"))
    assert "changed outside, line 5" in said
    assert 'value="31 ft"' in asked.get(f"/job/{asked.id(MILLRACE)}").get_data(as_text=True)
    undone = _saved(asked, MILLRACE, do="undo")
    assert undone["saved"]
    assert "27 ft}" in asked.text(MILLRACE)


@pytest.mark.ci
def test_two_editors_at_once_never_write_over_each_other(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    asked.edit(MILLRACE, v={"building.height": "30 ft"})
    path = asked.folder / MILLRACE
    theirs = asked.text(MILLRACE).replace("uphill: 4 ft", "uphill: 6 ft")
    path.write_text(theirs, encoding="utf-8")
    found = asked.edit(MILLRACE, save="yes")
    assert found.status_code == 409
    assert asked.text(MILLRACE) == theirs
    said = words(asked.get(f"/job/{asked.id(MILLRACE)}"))
    assert "Another program changed this file while you did." in said
    assert "height: 30 ft" in said
    assert "uphill: 6 ft" in said
    assert asked.text(MILLRACE) == theirs


@pytest.mark.ci
def test_keep_mine_writes_mine_and_theirs_can_still_be_seen_before(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    mine = asked.text(MILLRACE).replace("27 ft}", "30 ft}")
    asked.edit(MILLRACE, v={"building.height": "30 ft"})
    (asked.folder / MILLRACE).write_text("job: other\n", encoding="utf-8")
    asked.choose(MILLRACE, "mine")
    assert asked.text(MILLRACE) == mine


@pytest.mark.ci
def test_take_theirs_can_be_undone(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    mine = asked.text(MILLRACE).replace("27 ft}", "30 ft}")
    theirs = asked.text(MILLRACE).replace("uphill: 4 ft", "uphill: 6 ft")
    asked.edit(MILLRACE, v={"building.height": "30 ft"})
    (asked.folder / MILLRACE).write_text(theirs, encoding="utf-8")
    asked.choose(MILLRACE, "theirs")
    assert asked.text(MILLRACE) == theirs
    asked.edit(MILLRACE, do="undo", save="yes")
    assert asked.text(MILLRACE) == mine


@pytest.mark.ci
def test_nobody_chooses_against_a_text_that_was_not_shown(asked: Asked) -> None:
    asked.edit(MILLRACE, v={"building.height": "30 ft"})
    (asked.folder / MILLRACE).write_text("job: other\n", encoding="utf-8")
    page = asked.get(f"/job/{asked.id(MILLRACE)}").get_data(as_text=True)
    (asked.folder / MILLRACE).write_text("job: a third\n", encoding="utf-8")
    seen = re.findall(r'name="seen" value="(\w+)"', page)[0]
    assert "changed once more" in words(asked.edit(MILLRACE, do="mine", save="yes", seen=seen).get_data(as_text=True))
    assert asked.text(MILLRACE) == "job: a third\n"


@pytest.mark.ci
def test_a_text_in_dispute_is_not_written_where_the_file_was_taken_away(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    older = asked.text(MILLRACE)
    asked.edit(MILLRACE, v={"building.height": "31 ft"}, save="yes")
    assert asked.edit(MILLRACE, text=older.replace("27 ft}", "30 ft}"), version="0", save="yes").status_code == 409
    (asked.folder / MILLRACE).unlink()
    asked.edit(MILLRACE, save="yes")
    assert not (asked.folder / MILLRACE).exists()


@pytest.mark.ci
@pytest.mark.parametrize("name", ["rigs/bittern.yaml", "stock.yaml", f"{MILLRACE[:10]}/40-more.yaml", "learned.yaml"])
def test_a_page_is_old_once_any_file_of_the_workspace_changed(asked: Asked, name: str) -> None:
    stamp, path = asked.stamp(MILLRACE), asked.folder / name
    path.write_bytes((path.read_bytes() if path.exists() else b"") + b"# more\n")
    assert not asked.same(stamp)
    assert asked.same(asked.stamp(MILLRACE))


@pytest.mark.ci
def test_an_edit_of_one_page_makes_the_other_old_and_not_its_own(asked: Asked) -> None:
    stamp = asked.stamp(MILLRACE)
    found = asked.edit(MILLRACE, v={"building.height": "30 ft"}, save="yes").get_json()
    assert asked.same(found["stamp"])
    assert not asked.same(stamp)
    assert not found["refused"]
    assert asked.edit(MILLRACE, **{"r:hose_runs": "[a: {"}, save="yes").get_json()["refused"]


@pytest.mark.ci
def test_a_job_taken_away_outside_leaves_nothing_unsaved(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    (asked.folder / MILLRACE).unlink()
    assert asked.get(f"/job/{asked.id(MILLRACE)}").status_code == 404
    files = asked.client.application.config["desk"].files
    assert not files.waiting()


@pytest.mark.ci
def test_what_is_typed_into_a_page_whose_file_is_gone_is_said_to_be_nowhere_else(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    (asked.folder / MILLRACE).unlink()
    found = asked.edit(MILLRACE, v={"building.height": "30 ft"}, save="yes")
    assert found.status_code == 404
    assert "What you typed is on this page alone" in found.get_json()["trouble"]
    assert "on this page alone" in words(asked.post(f"/file/{asked.id(MILLRACE)}", {"save": "yes"}, script=False))


def _version(asked: Asked, name: str) -> str:
    page = asked.get(f"/job/{asked.id(name)}").get_data(as_text=True)
    return re.findall(r'name="version" value="(\d+)"', page)[0]


@pytest.mark.ci
def test_a_file_taken_away_and_written_anew_is_not_the_one_a_page_showed(asked: Asked) -> None:
    version, shown = _version(asked, MILLRACE), asked.text(MILLRACE)
    (asked.folder / MILLRACE).unlink()
    asked.get("/stamp")
    anew = shown.replace("27 ft}", "20 ft}")
    (asked.folder / MILLRACE).write_text(anew, encoding="utf-8")
    mine = f"{shown}# mine\n"
    assert asked.edit(MILLRACE, text=mine, version=version, save="yes").status_code == 409
    assert asked.text(MILLRACE) == anew
    sheet = asked.desk.files.of(asked.desk.files.folder / MILLRACE)
    assert sheet is not None
    assert (sheet.plain, sheet.theirs) == (mine, anew.encode())


@pytest.mark.ci
@pytest.mark.parametrize("name", [MILLRACE, f"{MILLRACE[:10]}/50-x.yaml", "rigs/x.yaml", "stock.yaml", "company.yaml"])
def test_what_cannot_be_read_leaves_the_other_pages_as_they_are(asked: Asked, name: str) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    (asked.folder / name).unlink(missing_ok=True)
    (asked.folder / name).mkdir()
    for path in ("/stamp", f"/day/{asked.id(MILLRACE[:10])}", f"/job/{asked.id(GRANARY)}", "/rig", "/shelf", "/done"):
        assert asked.get(path).status_code < 400, path


@pytest.mark.ci
@pytest.mark.skipif(sys.platform != "linux", reason="names are text there")
def test_a_name_that_is_no_text_is_told_and_hinders_no_page(asked: Asked) -> None:
    odd = os.fsdecode(b"50-\xff.yaml")
    (asked.folder / MILLRACE[:10] / odd).write_bytes((asked.folder / MILLRACE).read_bytes())
    (asked.folder / "rigs" / odd).write_bytes(b"rig: x\n")
    day, own = asked.id(MILLRACE[:10]), asked.id(f"{MILLRACE[:10]}/{odd}")
    for path in ("/rig", "/shelf", "/company", f"/done/{day}", f"/job/{own}", f"/done/{own}", f"/pages/{day}"):
        assert asked.get(path).status_code == 200, path
    assert "This name holds bytes that are not text." in words(asked.get(f"/day/{day}"))


@pytest.mark.ci
def test_a_folder_nobody_may_look_into_is_no_hindrance(asked: Asked, monkeypatch: pytest.MonkeyPatch) -> None:
    (asked.folder / "lost+found").mkdir()
    look = os.scandir

    def barred(path: str) -> Iterator[os.DirEntry[str]]:
        if path.endswith("lost+found"):
            raise PermissionError(13, "Permission denied", path)
        return look(path)

    monkeypatch.setattr("planner.desk.files.os.scandir", barred)
    assert asked.same(asked.stamp(MILLRACE))


@pytest.mark.ci
def test_a_text_whose_file_can_no_longer_be_read_is_kept_and_said(asked: Asked) -> None:
    asked.edit(MILLRACE, v={"building.height": "29 ft"})
    (asked.folder / MILLRACE).unlink()
    (asked.folder / MILLRACE).mkdir()
    for do in ("", "mine", "theirs"):
        found = asked.edit(MILLRACE, v={"building.height": "29 ft"}, do=do, save="yes")
        assert found.status_code in (200, 409)
        assert not found.get_json()["saved"]
    page = words(asked.get(f"/job/{asked.id(MILLRACE)}"))
    assert "cannot be read: this is a folder. The text is kept here." in page
    assert not any((asked.folder / MILLRACE).iterdir())


@pytest.mark.ci
@pytest.mark.parametrize("name", [MILLRACE, MILLRACE[:10]])
def test_a_link_put_in_a_files_place_is_not_followed_out_of_the_workspace(asked: Asked, name: str) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    outside = asked.folder.parent / "outside"
    (asked.folder / name).rename(outside)
    (asked.folder / name).symlink_to(outside)
    before = {one: one.read_bytes() for one in outside.parent.rglob("outside/*.yaml")} or outside.read_bytes()
    assert asked.edit(MILLRACE, v={"building.height": "33 ft"}, save="yes").status_code == 404
    assert asked.get(f"/job/{asked.id(MILLRACE)}").status_code == 404
    assert before == ({one: one.read_bytes() for one in outside.parent.rglob("outside/*.yaml")} or outside.read_bytes())


@pytest.mark.ci
def test_a_box_that_is_emptied_and_filled_anew_keeps_its_comment(asked: Asked) -> None:
    before = asked.text(MILLRACE)
    for value in ("", "3", "30 ft"):
        asked.edit(MILLRACE, v={"building.height": value}, typing="yes", save="yes")
    assert asked.text(MILLRACE) == before.replace("27 ft}", "30 ft}")


@pytest.mark.ci
def test_a_whole_text_and_a_field_sent_at_once_both_count(asked: Asked) -> None:
    text = asked.text(MILLRACE).replace("uphill: 4 ft", "uphill: 6 ft")
    asked.edit(MILLRACE, text=text, v={"building.height": "30 ft"}, save="yes")
    assert asked.text(MILLRACE) == text.replace("27 ft}", "30 ft}")


@pytest.mark.ci
def test_without_a_script_a_button_takes_what_was_typed_along(asked: Asked) -> None:
    asked.edit(MILLRACE, v={"building.height": "30 ft"}, do="drop site.notes", save="yes")
    assert "30 ft}" in asked.text(MILLRACE)


@pytest.mark.ci
def test_what_is_unsaved_at_the_end_is_all_put_aside_and_over_no_earlier_one(asked: Asked) -> None:
    for name in (MILLRACE, GRANARY):
        asked.edit(name, text="job: [\n")
        (asked.folder / f"{name}.unsaved").write_bytes(b"an earlier one")
    told = [_put_aside(sheet, asked.folder) for sheet in asked.client.application.config["desk"].files.waiting()]
    assert len(told) == 2
    for name in (MILLRACE, GRANARY):
        assert (asked.folder / f"{name}.unsaved").read_bytes() == b"an earlier one"
        assert (asked.folder / f"{name}.unsaved2").read_bytes() == b"job: [\n"
        assert any(f"{name}.unsaved2" in line for line in told)


@pytest.mark.ci
def test_a_page_that_shows_an_older_text_changes_nothing(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    asked.edit(MILLRACE, v={"building.height": "30 ft"}, save="yes")
    before = asked.text(MILLRACE)
    found = asked.edit(MILLRACE, v={"building.height": "20 ft"}, version="0", save="yes")
    assert found.status_code == 409
    assert asked.text(MILLRACE) == before


@pytest.mark.ci
def test_a_whole_text_begun_from_an_older_one_is_never_written_over_the_newer(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    older = asked.text(MILLRACE)
    theirs = older.replace("uphill: 4 ft", "uphill: 6 ft")
    (asked.folder / MILLRACE).write_text(theirs, encoding="utf-8")
    asked.get("/stamp")  # and so it is taken in
    mine = older.replace("27 ft}", "30 ft}")
    found = asked.edit(MILLRACE, text=mine, version="0", save="yes")
    assert found.status_code == 409
    assert asked.edit(MILLRACE, text=mine.replace("30 ft}", "31 ft}"), save="yes").status_code == 409
    assert asked.text(MILLRACE) == theirs
    assert "Another program changed this file while you did." in words(asked.get(f"/job/{asked.id(MILLRACE)}"))
    asked.choose(MILLRACE, "mine")
    assert asked.text(MILLRACE) == mine.replace("30 ft}", "31 ft}")
    asked.edit(MILLRACE, do="undo", save="yes")
    asked.edit(MILLRACE, do="undo", save="yes")
    assert asked.text(MILLRACE) == theirs


@pytest.mark.ci
def test_a_text_that_is_no_yaml_stays_here_and_is_not_written(asked: Asked) -> None:
    before = asked.text(MILLRACE)
    found = _saved(asked, MILLRACE, text="job: [Millrace\n")
    assert not found["saved"]
    assert asked.text(MILLRACE) == before
    said = words(asked.get(f"/job/{asked.id(MILLRACE)}"))
    assert "Not saved" in said
    assert "Not ready" in said
    assert _saved(asked, MILLRACE, do="undo")["saved"]


@pytest.mark.ci
def test_a_file_keeps_its_mode_and_its_line_ends(asked: Asked) -> None:
    path = asked.folder / MILLRACE
    content = b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n")
    path.write_bytes(content)
    path.chmod(0o640)
    _saved(asked, MILLRACE, **{"v:building.height": "30 ft"})
    assert path.read_bytes() == content.replace(b"27 ft}", b"30 ft}")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    text = path.read_bytes()[3:].decode().replace("\r\n", "\n").replace("30 ft}", "28 ft}")
    _saved(asked, MILLRACE, text=text)
    assert path.read_bytes() == content.replace(b"27 ft}", b"28 ft}")


def test_a_disk_that_will_not_have_it_is_told_and_the_text_is_kept(asked: Asked) -> None:
    if os.geteuid() == 0:
        pytest.skip("root may write anywhere")
    (asked.folder / "2026-06-09").chmod(0o500)
    found = _saved(asked, MILLRACE, **{"v:building.height": "30 ft"})
    assert not found["saved"]
    assert "could not be written" in str(found)


@pytest.mark.ci
def test_a_file_that_goes_away_is_told_and_never_written_anew(asked: Asked) -> None:
    asked.get(f"/job/{asked.id(MILLRACE)}")
    asked.edit(MILLRACE, v={"building.height": "30 ft"})
    (asked.folder / MILLRACE).unlink()
    assert asked.edit(MILLRACE, save="yes").status_code in (404, 409)
    assert not (asked.folder / MILLRACE).exists()
    assert [sheet.path.name for sheet in asked.desk.files.waiting()] == ["10-millrace.yaml"]


@pytest.mark.ci
def test_undo_goes_back_through_every_change_and_redo_forth(asked: Asked) -> None:
    texts = [asked.text(MILLRACE)]
    for height in ("30 ft", "31 ft", "32 ft"):
        asked.edit(MILLRACE, v={"building.height": height, "uphill": height})
        _saved(asked, MILLRACE)
        texts.append(asked.text(MILLRACE))
    for text in reversed(texts[:-1]):
        _saved(asked, MILLRACE, do="undo")
        assert asked.text(MILLRACE) == text
    for text in texts[1:]:
        _saved(asked, MILLRACE, do="redo")
        assert asked.text(MILLRACE) == text


@pytest.mark.ci
def test_what_is_typed_into_one_field_is_undone_in_one(asked: Asked) -> None:
    before = asked.text(MILLRACE)
    for typed in ("3", "30", "30 ", "30 f", "30 ft"):
        asked.edit(MILLRACE, v={"building.height": typed})
    _saved(asked, MILLRACE)
    _saved(asked, MILLRACE, do="undo")
    assert asked.text(MILLRACE) == before


@pytest.mark.ci
def test_an_unsaved_job_changes_the_day_but_not_the_disk(asked: Asked) -> None:
    asked.edit(MILLRACE, v={"building.height": "44 ft"})
    said = words(asked.get(f"/day/{asked.id('2026-06-09')}"))
    assert "2 of 3 held" in said
    assert "27 ft}" in asked.text(MILLRACE)


@pytest.mark.ci
def test_a_fault_in_one_job_leaves_the_others_times_waiting(asked: Asked) -> None:
    asked.edit(MILLRACE, v={"uphill": "steep"})
    said = words(asked.get(f"/day/{asked.id('2026-06-09')}"))
    assert "times wait for 10-millrace" in said
    assert "No end yet" in said


def _line(rng: random.Random) -> str:
    letters = "ab: -#[]{},'\"\t é\u2028\x85"
    return "".join(rng.choice(letters) for _ in range(rng.randrange(8)))


@pytest.mark.parametrize("seed", one_in(15, range(600)))
def test_a_whole_text_from_a_browser_keeps_every_line_that_was_not_changed(seed: int) -> None:
    rng = random.Random(seed)
    ends = ["\n", "\r\n", "\r"]
    old = [(_line(rng), rng.choice(ends)) for _ in range(rng.randrange(1, 12))]
    if rng.random() < 0.5:
        old[-1] = (old[-1][0] or "x", "")
    before = "".join(line + end for line, end in old).encode()
    if rng.random() < 0.3:
        before = b"\xef\xbb\xbf" + before
    as_browser = before.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    assert typed_over(before, as_browser.replace("\n", "\r\n")) == before
    assert typed_over(before, as_browser) == before
    lines = as_browser.split("\n")
    at = rng.randrange(len(lines))
    lines[at] = "changed"
    after = typed_over(before, "\n".join(lines))
    assert after.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n") == "\n".join(lines)


def test_which_lines_changed() -> None:
    assert changed_lines(b"a\nb\nc\n", b"a\nX\nc\n") == "line 2"
    assert changed_lines(b"a\nb\nc\n", b"a\nX\nY\n") == "lines 2 and 3"
    assert changed_lines(b"a\nb\n", b"a\n") == ""


@pytest.mark.ci
def test_many_lines_alike_are_compared_in_no_time(asked: Asked) -> None:
    many = [b"# %d" % (n % 7) for n in range(50_000)]
    assert blocks_of([b"a", *many, b"z"], [b"a", *many[::-1], b"z"]) == [
        ("equal", 0, 1, 0, 1),
        ("replace", 1, 50_001, 1, 50_001),
        ("equal", 50_001, 50_002, 50_001, 50_002),
    ]
    path = asked.folder / MILLRACE
    before = path.read_bytes()
    path.write_bytes(before + b"\n" * 60_000)
    asked.get(f"/job/{asked.id(MILLRACE)}")
    path.write_bytes(b"# x\n" + before + b"\n" * 60_001)
    assert "This file was changed outside" in words(asked.get(f"/job/{asked.id(MILLRACE)}"))


def test_ids_stay_the_same_and_tell_no_path(tmp_path: Path) -> None:
    (tmp_path / "company.yaml").write_text("name: A\n", encoding="utf-8")
    one, two = Files(tmp_path), Files(tmp_path)
    assert set(one.listing()) == set(two.listing())
    assert all(len(id_) == 12 and id_.isalnum() for id_ in one.listing())


@pytest.mark.parametrize("name", ["2026-06-09/10-millrace.yaml", "2026-06-09/20-granary.yaml", "rigs/bittern.yaml"])
def test_the_lines_of_all_keys_are_those_of_each(asked: Asked, name: str) -> None:
    text = (asked.folder / name).read_bytes()
    found = all_lines(text)
    assert len(found) > 10
    assert all(lines_of(text, path) == lines for path, lines in found.items())
    assert all_lines(b"job: [") == {}


@pytest.mark.ci
@pytest.mark.parametrize(
    ("name", "was", "now"),
    [
        (GRANARY, "stock: bleach", "stock: soap-3"),
        ("rigs/bittern.yaml", "floor: 2 ft", "floor: 1 ft"),
        ("stock.yaml", "on_hand: 48 gal", "on_hand: 1 gal"),
        (f"{MILLRACE[:10]}/day.yaml", "crew:", "crew: 1 #"),
    ],
)
@pytest.mark.parametrize("saved", [True, False])
def test_what_an_earlier_day_came_to_is_kept_only_while_nothing_it_rests_on_changes(
    asked: Asked, name: str, was: str, now: str, saved: bool, tmp_path: Path
) -> None:
    later = "2026-06-10/20-millrace-mid.yaml"
    for _ in range(2):
        asked.get(f"/job/{asked.id(later)}")
    assert was in asked.text(name)
    text = asked.text(name).replace(was, now, 1)
    if saved:
        (asked.folder / name).write_text(text, encoding="utf-8")
    else:
        asked.edit(name, text=text)

    def said(desk: Asked) -> str:
        return re.sub(r"checked \S+", "", words(desk.get(f"/job/{desk.id(later)}")))

    fresh = demo(tmp_path / "fresh")
    if saved:
        (fresh.folder / name).write_text(text, encoding="utf-8")
    else:
        fresh.edit(name, text=text)
    assert said(asked) == said(fresh)


@pytest.mark.ci
def test_a_file_left_out_of_the_day_is_no_day_that_goes(asked: Asked) -> None:
    (asked.folder / "2026-06-09/barn.yaml").write_text(asked.text(GRANARY), encoding="utf-8")
    said = words(asked.get(f"/day/{asked.id('2026-06-09')}"))
    assert "a file has a fault" in said
    assert "and all go" not in said
