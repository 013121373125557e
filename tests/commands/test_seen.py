"""Nothing that somebody wrote reaches the screen but letters: not from names, values, records, or a database."""

from __future__ import annotations

import json
import os
import pty
import shutil
import sqlite3
import subprocess
import sys
import unicodedata
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

import planner
from planner.cli import main
from planner.terminal import visible
from tests.commands.asked import DAY, new
from tests.sampled import in_ci

HARM = "\x1b]0;x\x07\x1b[31m\x9b2J\u202e\u2066\u200b\u2060\ufeff\u00ad\u3164\ufe0f\U000e0041\x7f\r"
"""Escapes of a terminal, marks that turn a line around, letters nobody sees."""
BIDI = "\u202e\u2066\u200b\U000e0041"
"""Of those what a YAML file takes."""
ROOT = Path(planner.__file__).parent.parent

Screen = Callable[..., str]

pytestmark = [pytest.mark.usefixtures("own_archive"), pytest.mark.skipif(os.name != "posix", reason="odd file names")]


def unseen(text: str) -> set[str]:
    return {
        f"{ord(one):04X}"
        for one in text
        if one in "\u3164\ufe0f" or not (one.isprintable() or one in "\n\t" or unicodedata.category(one) == "Zs")
    }


@pytest.fixture
def screen(capsys: pytest.CaptureFixture[str]) -> Screen:
    def call(*words: str, code: tuple[int, ...] = (0, 1, 2)) -> str:
        try:
            given = main(words)
        except SystemExit as exit_:
            given = int(exit_.code or 0)
        shown = "".join(capsys.readouterr())
        assert given in code, ascii(shown)
        assert unseen(shown) == set()
        return shown

    return call


@pytest.mark.ci
@pytest.mark.parametrize("plane", [0, *(in_ci(n) for n in range(1, 17))])
def test_what_is_no_letter_of_a_plane_is_written_as_its_number(plane: int) -> None:
    assert unseen(visible("".join(map(chr, range(plane << 16, plane + 1 << 16))))) == set()


def test_what_is_no_letter_is_written_as_its_number() -> None:
    assert visible("Käte's 5\u00a0gal, ½ — 水\n\t") == "Käte's 5\u00a0gal, ½ — 水\n\t"
    assert visible("a\x1b[2J\u202e\x7f\udcff\U000e0041") == "a\\u001b[2J\\u202e\\u007f\\udcff\\udb40\\udc41"


def test_a_json_text_stays_one_and_says_the_same() -> None:
    for ascii_only in (True, False):
        assert json.loads(visible(json.dumps([HARM], ensure_ascii=ascii_only))) == [HARM]


@pytest.fixture
def odd(job: Path) -> Path:
    """A job whose file, title, contact and wall are called so."""
    file = job.with_name(f"10-ca{HARM}se.yaml")
    text = job.read_text(encoding="utf-8").replace("job: ", f"job: {BIDI}", 1)
    file.write_text(text + f'"a{BIDI}": "b{BIDI}"\n', encoding="utf-8")
    job.rename(job.with_name("20-case.yaml"))
    return file


@pytest.mark.parametrize(
    "words",
    [
        ("check", "{job}"), ("check", "{day}"), ("check", "--all", "{ws}"), ("check", "{job}", "--throw", HARM),
        ("check", "{day}", "--throw", "30 ft", "--run", HARM), ("packet", "{day}", "-o", "{out}", "--owner"),
        ("record", "{job}"), ("record", HARM), ("record", "{job}", "--from", HARM), ("record", "{job}", "--from", "{job}"),
        ("compare", "{ws}"), ("compare", HARM), ("compare", "--since", HARM, "{ws}"), ("explain", HARM), (HARM,),
        ("archive", "export", HARM, "--workspace", "{ws}"), ("archive", "import", HARM, "--workspace", "{ws}"),
        ("archive", "copy", HARM, "--workspace", "{ws}"), ("archive", "copy", "x.db", "--workspace", HARM),
        ("new", "{ws}/2026-06-09/30-" + HARM), ("start", "{out}/" + HARM), ("schema", HARM), ("schema", "--all", "{job}"),
        ("check", "--units", HARM), ("packet", "{job}", "-o", "{job}"),
    ],
)  # fmt: skip
def test_names_and_values_are_seen_whole(words: tuple[str, ...], odd: Path, tmp_path: Path, screen: Screen) -> None:
    os.chdir(tmp_path)
    places = {"{job}": odd, "{day}": odd.parent, "{ws}": odd.parents[1], "{out}": tmp_path / "out"}
    call = []
    for word in words:
        for name, path in places.items():
            word = word.replace(name, str(path))
        call.append(word)
    assert screen(*call)


def test_no_name_begins_a_line_of_its_own(job: Path, screen: Screen) -> None:
    file = job.rename(job.with_name("10-a\n9 faults in what was written.yaml"))
    file.write_text(file.read_text(encoding="utf-8") + "x: y\n", encoding="utf-8")
    assert not [one for one in screen("check", str(file)).splitlines() if one.startswith("9 faults")]


def test_json_is_what_it_was(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = job.rename(job.with_name(f"10-ca{HARM}se.yaml"))
    file.write_text(file.read_text(encoding="utf-8") + "x: y\n", encoding="utf-8")
    assert main(["check", "--json", str(file)]) in (0, 1, 2)
    assert any(HARM in fault["where"]["file"] for fault in json.loads(capsys.readouterr().out)["faults"])


def _spoil(job: Path) -> None:
    """Every text of the database's plans and records holds it, as an import of somebody's export might."""

    def spoilt(value: object) -> object:
        if isinstance(value, dict):
            return {name: spoilt(one) for name, one in value.items()}
        if isinstance(value, list):
            return [spoilt(one) for one in value]
        return f"{value}{HARM}" if isinstance(value, str) and " " in value else value

    with closing(sqlite3.connect(job.parents[1] / "archive.db")) as database, database:
        for table in ("plans", "records"):
            for row, text in database.execute(f"SELECT rowid, json FROM {table}").fetchall():
                database.execute(
                    f"UPDATE {table} SET json = ? WHERE rowid = ?", (json.dumps(spoilt(json.loads(text))), row)
                )
        database.execute("UPDATE records SET source = source || ?", (HARM,))


@pytest.mark.parametrize("words", [("compare",), ("compare", "--apply"), ("record", "{job}"), ("check", "{job}")])
def test_a_database_is_seen_whole(
    words: tuple[str, ...], whole: Path, screen: Screen, monkeypatch: pytest.MonkeyPatch
) -> None:
    _spoil(whole)
    monkeypatch.chdir(whole.parents[1])
    screen(*(word.replace("{job}", str(whole)) for word in words))


@pytest.mark.ci
def test_what_is_imported_is_seen_whole(whole: Path, tmp_path: Path, screen: Screen) -> None:
    assert main(["archive", "export", str(tmp_path / "export"), "--workspace", str(whole.parents[1])]) == 0
    path = tmp_path / "export" / "records.json"
    row = json.loads(path.read_text(encoding="utf-8"))
    row["job"] += HARM
    row["json"]["job"] = row["job"]
    path.write_text(json.dumps(row) + "\n", encoding="utf-8")
    other = tmp_path / "other"
    shutil.copytree(whole.parents[1], other, ignore=shutil.ignore_patterns("archive.db*"))
    screen("archive", "import", str(tmp_path / "export"), "--workspace", str(other), code=(2,))
    screen("compare", str(other), code=(0, 2))


@pytest.mark.ci
@pytest.mark.parametrize("depth", [100, 900, 100_000])
def test_deeply_nested_rows_are_not_imported_nor_any_other(
    depth: int, whole: Path, tmp_path: Path, screen: Screen
) -> None:
    assert main(["archive", "export", str(tmp_path / "export"), "--workspace", str(whole.parents[1])]) == 0
    path = tmp_path / "export" / "records.json"
    text = path.read_text(encoding="utf-8").replace('"json":{', '"json":{"deep":' + "[" * depth + "]" * depth + ",", 1)
    path.write_text(text, encoding="utf-8")
    other = tmp_path / "other"
    shutil.copytree(whole.parents[1], other, ignore=shutil.ignore_patterns("archive.db*"))
    assert "archive.torn" in screen("archive", "import", str(tmp_path / "export"), "--workspace", str(other), code=(2,))
    with closing(sqlite3.connect(other / "archive.db")) as database:
        assert database.execute("SELECT COUNT(*) FROM plans").fetchone() == (0,)


def test_answers_and_drafts_are_seen_whole(
    demo: Path, screen: Screen, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for answers in ([f"Alder{BIDI}", HARM], ["", "", ""]):
        assert new(f"{DAY}/40-{BIDI}", answers, monkeypatch) in (0, 1, 2)
        assert unseen("".join(capsys.readouterr())) == set()


@pytest.mark.short
@pytest.mark.parametrize(
    "words",
    [
        ("check", "{job}"),
        *(
            pytest.param(one, marks=pytest.mark.ci)
            for one in (("check", "{day}"), ("explain", HARM), ("new", "{day}/30-" + BIDI))
        ),
    ],
)
@pytest.mark.ci
def test_a_real_terminal_is_given_no_escapes_but_ours(words: tuple[str, ...], odd: Path) -> None:
    call = [word.replace("{job}", str(odd)).replace("{day}", str(odd.parent)) for word in words]
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "planner", *call], stdin=subprocess.DEVNULL, stdout=theirs, stderr=theirs,
        env={**os.environ, "PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "300"},
    ) as process:  # fmt: skip
        os.close(theirs)
        shown = b""
        while True:
            try:
                part = os.read(ours, 1 << 16)
            except OSError:  # the other end was closed
                break
            if not part:
                break
            shown += part
    os.close(ours)
    assert process.returncode in (0, 1, 2), shown
    text = shown.decode("utf-8")
    assert not {"\x07", "\x9b", "\u202e", "\u2066", "\u200b", "\U000e0041", "\u3164", "\x7f"} & set(text)
    assert "\x1b]" not in text
    assert "\x1b[31m" not in text
    assert "202e" in text
