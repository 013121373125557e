"""Whatever is typed: an answer, never an error of ours, and never a byte or a comment lost outside of the edit."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest

from planner import locate
from planner.desk.edits import added, changed, drop, moved, node_at
from planner.desk.files import Sheet
from planner.desk.form import Field, fields_in, parts_of
from planner.inputs.reading.spans import NotAsMeant, lines_of
from planner.inputs.reading.tree import parse_tree
from planner.interview.asking import is_bare
from tests.desk.desks import Asked, words
from tests.sampled import one_in

MILLRACE = "2026-06-09/10-millrace.yaml"
FILES = {
    "2026-06-09/10-millrace.yaml": "job", "2026-06-09/20-granary.yaml": "job", "2026-06-09/30-kiln.yaml": "job",
    "2026-06-10/10-slipway.yaml": "job", "2026-06-10/30-kiln-acid.yaml": "job", "2026-06-10/90-booster.yaml": "yard",
    "2026-06-09/day.yaml": "day", "rigs/bittern.yaml": "rig", "stock.yaml": "stock", "company.yaml": "company",
}  # fmt: skip
TYPED = (
    "", " ", "4 ft", "4", "44 ft # not a comment", "a: b", "[x", "{y", "- z", "'", '"', "yes", "null", "~", "&a", "*b", "!c",
    "x, y", "#", "% 3", "@", "`", "1,200 ft2", "\u202e", "\x07", "\ud7ff", "é" * 50, "9" * 3000, "\u2028", "two\nlines", "a\tb",
    ": ", "?", "|", ">", "---", "...", "<script>alert(1)</script>", "{{ 7*7 }}", "1:10", "5 gal in 50 s",
)  # fmt: skip


def _sheet(name: str) -> Sheet:
    path = locate.jobs() / name
    return Sheet(id="x", path=path, kind=FILES[name], text=path.read_bytes(), base=None)


def _fields(sheet: Sheet) -> list[Field]:
    root = parse_tree(sheet.text, "x").root
    parts = parts_of(sheet.kind, root, {}, lambda at: (0, 0))
    return [field for part in parts for field in fields_in((*part.items, *part.more))]


def _comments(text: bytes) -> list[str]:
    bare = re.sub(r'"(?:[^"\\\n]|\\.)*"', "", text.decode())  # a text in quotes may hold the mark
    return re.findall(r"(?m)(?:^|\s)#.*$", bare)


def _own_comments(text: bytes, path: str) -> set[str]:
    """Comments at the ends of the lines a key takes up, which go with it."""
    first, last = lines_of(text, path)
    return set(_comments("\n".join(["", *text.decode().splitlines()[first - 1 : last]]).encode()))


@pytest.mark.ci
@pytest.mark.parametrize("seed", one_in(25, range(500)))
def test_twenty_random_edits_keep_all_comments_and_change_what_they_name_alone(seed: int) -> None:
    rng = random.Random(seed)
    sheet = _sheet(rng.choice(list(FILES)))
    comments, reasons, fields = _comments(sheet.text), list[str](), list[Field]()
    for n in range(20):
        fields = _fields(sheet) if n % 5 == 0 else fields
        before = parse_tree(sheet.text, "x").root
        assert before is not None
        field = rng.choice(fields)
        value, kind = rng.choice(TYPED), rng.random()
        try:
            if kind < 0.75:
                text = changed(sheet, [(field.path, value, field.raw)])
            elif kind < 0.9:
                text = drop(sheet.text, sheet, field.path)
            elif field.chosen:
                text = moved(sheet.text, sheet, rng.choice(field.chosen)[0], rng.choice((-1, 1)))
            else:
                text = added(sheet.text, sheet, field.path, {"name": (value, False)})
        except NotAsMeant as refused:
            reasons.append(refused.reason)
            continue
        after = parse_tree(text, "x")
        assert after.root is not None, (field.path, value)
        if kind < 0.75 and value.strip() and not field.raw:
            node = node_at(after.root, field.path)
            assert node is not None
            written = node.plain()
            if is_bare(value.strip()) and written != value.strip():  # with its key's usual unit
                written = str(written).replace(value.strip(), "N", 1)
                assert re.fullmatch(r"N \S+|5 gal in N s", written), field.path
            else:
                assert written == value.strip(), field.path
        top = re.split(r"[.\[]", field.path)[0]
        plain, was = after.root.plain(), before.plain()
        assert {key: one for key, one in plain.items() if key != top} == {
            key: one for key, one in was.items() if key != top
        }
        gone = [one for one in comments if one not in _comments(text)]
        assert not gone or set(gone) <= _own_comments(sheet.text, field.path), gone
        comments = [one for one in comments if one not in gone]
        sheet.change(text, "edit")
    assert all(reasons)
    while sheet.undo:
        sheet.back()
    assert sheet.text == (locate.jobs() / sheet.path.relative_to(locate.jobs())).read_bytes()


@pytest.mark.parametrize("seed", one_in(10, range(60)))
@pytest.mark.ci
def test_random_texts_never_end_in_an_error_of_ours(asked: Asked, seed: int) -> None:
    rng = random.Random(seed)
    name = rng.choice([one for one, kind in FILES.items() if kind == "job"])
    text = asked.text(name)
    for _ in range(3):
        at, other = rng.randrange(len(text)), rng.choice(TYPED)
        text = text[:at] + other + text[at + rng.randrange(6) :]
    found = asked.edit(name, text=text)
    assert found.status_code == 200
    assert found.get_json()["live"]
    assert asked.post(f"/cures/{asked.id(name)}").status_code == 200
    for page in (f"/job/{asked.id(name)}", f"/day/{asked.id(name.partition('/')[0])}"):
        assert asked.get(page).status_code == 200


@pytest.mark.parametrize("value", one_in(9, [one for one in TYPED if one.strip()]))
@pytest.mark.ci
def test_what_is_typed_into_a_field_is_shown_as_typed_and_never_run(asked: Asked, value: str) -> None:
    found = asked.edit(MILLRACE, v={"site.notes": value})
    assert found.status_code == 200
    page = asked.get(f"/job/{asked.id(MILLRACE)}").get_data(as_text=True)
    assert "<script>alert" not in page
    assert "49" not in page.split("site-notes", 1)[1][:200]


@pytest.mark.ci
@pytest.mark.parametrize("edits", ["", "{}", "[1]", "[" * 100_000])
def test_a_remedy_that_cannot_be_read_changes_nothing(asked: Asked, edits: str) -> None:
    before = asked.text(MILLRACE)
    found = asked.edit(MILLRACE, do="apply", edits=edits, save="yes")
    assert (found.status_code, asked.text(MILLRACE)) == (200, before)
    assert "This remedy cannot be read." in found.get_data(as_text=True)


@pytest.mark.ci
def test_a_key_whose_mapping_is_not_there_yet_is_written_with_it(asked: Asked) -> None:
    name = "2026-06-10/20-millrace-mid.yaml"
    before = asked.text(name)
    assert "price" not in before
    asked.edit(name, v={"access.roof_work.pitch": "6/12"}, save="yes")
    assert "roof_work: {pitch: 6/12}" in asked.text(name)
    asked.edit(name, v={"access.roof_work.pitch": ""}, save="yes")
    assert "roof_work" not in asked.text(name)


@pytest.mark.ci
def test_hoses_are_picked_moved_and_taken_out(asked: Asked) -> None:
    name = "2026-06-09/30-kiln.yaml"
    asked.edit(name, do="add hose_runs[0].hoses", **{"n:hose_runs[0].hoses": "roof line"}, save="yes")
    assert "hoses: [red 1, red 2, roof line]" in asked.text(name)
    asked.edit(name, do="up hose_runs[0].hoses[2]", save="yes")
    assert "hoses: [red 1, roof line, red 2]" in asked.text(name)
    asked.edit(name, do="drop hose_runs[0].hoses[0]", save="yes")
    assert "hoses: [roof line, red 2]" in asked.text(name)


@pytest.mark.ci
def test_a_wall_is_added_and_taken_out(asked: Asked) -> None:
    before = asked.text(MILLRACE)
    new = {"v:surfaces[+].kind": "vinyl", "v:surfaces[+].side": "shed", "v:surfaces[+].soil": ""}
    asked.edit(MILLRACE, do="add surfaces", **new, save="yes")
    assert "  - {kind: vinyl, side: shed}\n" in asked.text(MILLRACE)
    asked.edit(MILLRACE, do="drop surfaces[2]", save="yes")
    assert asked.text(MILLRACE) == before


@pytest.mark.ci
def test_what_somebody_takes_on_is_written_with_reason_and_name(asked: Asked) -> None:
    asked.edit(MILLRACE, v={"building.height": "44 ft"})
    page = words(asked.get(f"/job/{asked.id(MILLRACE)}"))
    assert "Take it on" in page
    said = {"v:accept[+].finding": "reach.short", "v:accept[+].about": "house", "v:accept[+].reason": "a lift is there",
            "v:accept[+].by": "owner"}  # fmt: skip
    found = asked.edit(MILLRACE, do="add accept", **said, save="yes").get_json()
    assert "accept: [{finding: reach.short, about: house, reason: a lift is there, by: owner}]" in asked.text(MILLRACE)
    assert not found["live"].startswith("Held")


def test_without_a_script_a_form_lands_on_its_page(asked: Asked) -> None:
    data = {"place": "job:", "v:building.height": "30 ft", "save": "yes"}
    found = asked.post(f"/file/{asked.id(MILLRACE)}", data, script=False)
    assert found.status_code == 303
    assert found.headers["Location"] == f"/job/{asked.id(MILLRACE)}"
    assert "30 ft}" in asked.text(MILLRACE)


@pytest.mark.ci
def test_a_whole_form_sent_unchanged_changes_nothing(asked: Asked) -> None:
    for name, kind in FILES.items():
        if kind not in ("job", "yard"):
            continue
        page = asked.get(f"/job/{asked.id(name)}").get_data(as_text=True)
        form = page[page.index('id="form"') : page.index('id="file"')]
        data: dict[str, str] = {}
        for post, value in re.findall(r'<input[^>]* name="([vr]:[^"]*)" value="([^"]*)"', form):
            data[_plain(post)] = _plain(value)
        for post, body in re.findall(r'<select[^>]* name="(v:[^"]*)".*?>(.*?)</select>', form, re.DOTALL):
            chosen = re.search(r'value="([^"]*)" selected', body)
            data[_plain(post)] = _plain(chosen[1]) if chosen else ""
        before = asked.text(name)
        assert len(data) > 5
        asked.post(f"/file/{asked.id(name)}", {"place": "job:", **data, "save": "yes"}, script=False)
        assert asked.text(name) == before, name


def _plain(text: str) -> str:
    import html

    return html.unescape(text)


def test_every_demo_file_has_its_form(tmp_path: Path) -> None:
    for name in FILES:
        assert len(_fields(_sheet(name))) > 5


@pytest.mark.parametrize(
    ("name", "path", "typed", "written"),
    [
        (MILLRACE, "building.height", "31", "31 ft"),
        (MILLRACE, "access.ladder", "24", "24 ft"),
        (MILLRACE, "tap", "48", "5 gal in 48 s"),
        ("rigs/bittern.yaml", "hoses[0].bore", "1/2", "1/2 in"),
        ("rigs/bittern.yaml", "hoses[0].coil", "20", "20 in"),
        ("rigs/bittern.yaml", "hoses[0].rated", "300", "300 psi"),
        ("rigs/bittern.yaml", "weights.empty", "3100", "3100 lb"),
        ("stock.yaml", "lots[0].on_hand", "8", "8 gal"),
        ("stock.yaml", "lots[4].on_hand", "35", "35 lb"),
        ("stock.yaml", "lots[0].tested.strength", "10.2", "10.2"),  # which strength is asked for
        ("2026-06-09/day.yaml", "forecast.wind", "6", "6 mph"),
        ("rigs/bittern.yaml", "tips[0].size", "5.5", "5.5"),
    ],
)
def test_a_bare_number_takes_the_unit_its_key_usually_has(name: str, path: str, typed: str, written: str) -> None:
    sheet = _sheet(name)
    root = parse_tree(changed(sheet, [(path, typed, False)]), "x").root
    node = node_at(root, path)
    assert node is not None
    assert node.value == written


def test_what_is_added_takes_units_too_and_what_is_dry_is_weighed() -> None:
    sheet = _sheet("stock.yaml")
    for chemical, amount in (("bleach", "55 gal"), ("bicarbonate", "55 lb")):
        values = {"name": ("new", False), "chemical": (chemical, False), "on_hand": ("55", False)}
        node = node_at(parse_tree(added(sheet.text, sheet, "lots", values), "x").root, "lots[6].on_hand")
        assert node is not None
        assert node.value == amount


def test_a_company_in_metric_units_types_in_them(tmp_path: Path) -> None:
    (tmp_path / "company.yaml").write_text("name: A\nunits: si\n")
    sheet = Sheet(id="x", path=tmp_path / "rigs/a.yaml", kind="rig", text=b"rig: a\nhoses:\n  - {name: b}\n", base=None)
    text = changed(sheet, [("hoses[0].bore", "19", False), ("hoses[0].length", "30", False)])
    assert b"bore: 19 mm" in text
    assert b"length: 30 m" in text
