"""Files are written whole, with the modes and through the links their owner gave them; only plain files are read."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import stat
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

import planner
from planner import writing
from planner.archive.kept.exchange import export
from planner.archive.kept.opening import opened
from planner.archive.kept.refused import ArchiveRefused
from planner.cli import main
from planner.commands.schema import write_all
from planner.commands.start import copy_demo
from planner.contract.plan import DocumentJson, document
from planner.days.prepare import Trouble, checked_jobs, days_of, loaded
from planner.inputs.reading.files import read_file
from planner.inputs.reading.tree import LARGEST_FILE
from planner.locate import jobs
from planner.packet.filled.pdf_in import Unfit
from planner.packet.filled.pdf_in import opened as opened_pdf
from planner.packet.sandbox import TemplateRefused
from planner.packet.sections import reading
from planner.writing import read_ordinary, unsaved, write_whole
from tests.sampled import one_in

pytestmark = pytest.mark.skipif(os.name != "posix", reason="modes, links and pipes as POSIX has them")


@pytest.fixture(params=[0o022, 0o077, 0o002], ids=oct)
def umask(request: pytest.FixtureRequest) -> Iterator[int]:
    before = os.umask(request.param)
    yield request.param
    os.umask(before)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.ci
def test_what_is_made_has_the_mode_the_umask_leaves(umask: int, tmp_path: Path) -> None:
    write_whole(tmp_path / "new.pdf", b"x")
    with opened("archive.db", tmp_path) as archive:
        export(archive, tmp_path / "out")
    copy_demo(tmp_path / "start")
    write_all(tmp_path / "schema")
    for file in ("new.pdf", "archive.db", "out/archive.json", "start/company.yaml", "schema/job.json"):
        assert mode(tmp_path / file) == 0o666 & ~umask, file
    for folder in ("out", "start", "start/rigs"):
        assert mode(tmp_path / folder) == 0o777 & ~umask, folder


@pytest.mark.parametrize("kept", [0o600, 0o664, 0o444])
def test_a_file_that_is_there_keeps_its_mode(kept: int, tmp_path: Path) -> None:
    target = tmp_path / "learned.yaml"
    target.write_bytes(b"old")
    target.chmod(kept)
    write_whole(target, b"new")
    assert (target.read_bytes(), mode(target)) == (b"new", kept)


@pytest.mark.parametrize("there", [True, False])
def test_a_link_inside_the_folder_is_written_through_and_stays(there: bool, tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "day").mkdir()
    end, link = tmp_path / "shared" / "real.yaml", tmp_path / "day" / "link.yaml"
    link.symlink_to("../shared/real.yaml")
    if there:
        end.write_bytes(b"old")
    write_whole(link, b"new", tmp_path)
    assert link.is_symlink()
    assert end.read_bytes() == b"new"


@pytest.mark.parametrize("there", [True, False])
def test_a_link_out_of_the_folder_is_refused_and_what_it_leads_to_is_left(there: bool, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    end, link = tmp_path / "theirs.yaml", tmp_path / "mine" / "link.yaml"
    link.symlink_to(end)
    if there:
        end.write_bytes(b"old")
    with pytest.raises(OSError, match="leads out"):
        write_whole(link, b"new")
    assert link.is_symlink()
    assert (end.read_bytes() if there else b"old") == b"old"
    assert end.exists() is there
    assert os.listdir(tmp_path / "mine") == ["link.yaml"]


def test_a_link_out_of_its_folder_may_lead_anywhere_in_the_workspace(tmp_path: Path) -> None:
    for name in ("company.yaml", "day/own"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(b"old")
    (tmp_path / "day" / "link").symlink_to("../end")
    write_whole(tmp_path / "day" / "link", b"new")
    assert (tmp_path / "end").read_bytes() == b"new"


def test_links_in_a_ring_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(OSError, match=r"."):
        write_whole(tmp_path / "a", b"new")


def test_an_archive_behind_a_link_is_the_file_it_leads_to_if_that_is_inside(tmp_path: Path) -> None:
    folder, out = tmp_path / "mine", tmp_path / "out.db"
    (folder / "kept").mkdir(parents=True)
    (folder / "archive.db").symlink_to("kept/real.db")
    for _ in range(2):  # made, then opened
        with opened(None, folder):
            assert (folder / "archive.db").is_symlink()
            assert (folder / "kept" / "real.db").is_file()
    (folder / "archive.db").unlink()
    (folder / "archive.db").symlink_to(out)
    with pytest.raises(ArchiveRefused, match="leads out"), opened(None, folder):
        pass
    assert not out.exists()


@pytest.mark.ci
def test_packets_are_not_written_through_a_link_out_of_their_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    theirs = tmp_path / "theirs.txt"
    theirs.write_bytes(b"old")
    (tmp_path / "pk" / "2026-06-09").mkdir(parents=True)
    (tmp_path / "pk" / "2026-06-09" / "10-millrace.pdf").symlink_to(theirs)
    assert main(["packet", str(jobs() / "2026-06-09" / "10-millrace.yaml"), "-o", str(tmp_path / "pk")]) == 2
    assert "packet.unwritable" in capsys.readouterr().err
    assert theirs.read_bytes() == b"old"


# ------------------------------------------------------------ what a killed run leaves

ROOT = Path(planner.__file__).parent.parent

KILLED = """
import os, signal, sys
from pathlib import Path
from planner import writing
from planner.archive.kept.sqlite_file import make_whole
target, what = Path(sys.argv[1]), sys.argv[2]
die = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
if what == "archive":
    make_whole(target, die)
elif what == "file":
    os.fsync = die
    writing.write_whole(target, b"half")
else:
    with writing.beside(target, target if what == "inside" else None) as stage:
        stage.mkdir()
        (stage / "company.yaml").write_text("half")
        die()
"""


@pytest.mark.parametrize("what", ["file", "archive", "folder", "inside"])
def test_what_a_killed_run_left_is_cleared_by_the_next(what: str, tmp_path: Path) -> None:
    target = tmp_path / "thing"
    if what == "inside":
        target.mkdir()
    done = subprocess.run([sys.executable, "-c", KILLED, str(target), what], check=False, cwd=ROOT)
    assert done.returncode == -signal.SIGKILL
    left = list((target if what == "inside" else tmp_path).glob(".*.part"))
    assert len(left) == 1
    if what in ("file", "archive"):
        write_whole(target, b"whole")
    else:
        assert main(["start", str(target)]) == 0
    assert not [name for name in os.listdir(tmp_path) if name.endswith(".part")]
    if target.is_dir():
        assert not list(target.glob(".*.part"))


def test_what_another_run_is_making_just_now_is_left_to_it(tmp_path: Path) -> None:
    target = tmp_path / "thing"
    with writing.beside(target) as first:
        first.write_bytes(b"first")
        write_whole(target, b"second")
        assert first.read_bytes() == b"first"
    assert target.read_bytes() == b"second"
    assert os.listdir(tmp_path) == ["thing"]


def test_a_strangers_part_is_left(tmp_path: Path) -> None:
    for name in (f".planner-{'0' * 16}.part", f".planner-{'0' * 16}.part.bak", ".thing-0123abcd.part"):
        (tmp_path / name).write_bytes(b"mine")
    (tmp_path / "away").mkdir()
    (tmp_path / "away" / "kept").write_bytes(b"mine")
    (tmp_path / f".planner-{'1' * 16}.part").symlink_to("away")
    write_whole(tmp_path / "thing", b"x")
    assert len(os.listdir(tmp_path)) == 6
    assert (tmp_path / "away" / "kept").exists()


def test_a_new_file_covers_nothing(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_bytes(b"theirs")
    with pytest.raises(FileExistsError):
        write_whole(tmp_path / "job.yaml", b"mine", new=True)
    assert (tmp_path / "job.yaml").read_bytes() == b"theirs"


# ------------------------------------------------------------ no plain file

KINDS = ("pipe", "socket", "device", "folder")


def put(kind: str, path: Path) -> None:
    if path.exists():
        path.unlink()
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "device":
        path.symlink_to("/dev/zero")
    elif kind == "folder":
        path.mkdir()
    else:
        here = os.getcwd()
        os.chdir(path.parent)  # a socket's whole path may be too long
        try:
            with socket.socket(socket.AF_UNIX) as made:
                made.bind(path.name)
        finally:
            os.chdir(here)


def alone(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """A call with an end: one that waits for a pipe would hang the tests."""
    ours = {"PLANNER_ARCHIVE": "", "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, "-m", "planner", *words], cwd=folder, env={**os.environ, **ours}, text=True, timeout=60,
        capture_output=True, check=False,
    )  # fmt: skip


@pytest.mark.parametrize("kind", one_in(2, KINDS))
@pytest.mark.ci
def test_no_plain_file_is_opened_wherever_one_is_expected(kind: str, tmp_path: Path) -> None:
    folder = tmp_path / "ws"
    shutil.copytree(jobs(), folder, ignore=shutil.ignore_patterns("2026-06-10", "archive.db*"))
    for name in ("stray.yaml", "stock.yaml", "2026-06-09/20-granary.yaml", "2026-06-09/40-more.yaml"):
        put(kind, folder / name)
    done = alone("check", str(folder), folder=tmp_path)
    assert done.returncode == 2, done.stderr
    assert "Traceback" not in done.stderr
    for name in ("stock.yaml", "20-granary.yaml", "40-more.yaml"):
        assert name in done.stderr


@pytest.mark.parametrize("kind", one_in(4, KINDS))
@pytest.mark.parametrize("name", ["filled.pdf", "record.yaml"])
@pytest.mark.ci
def test_no_plain_file_is_taken_for_a_record(kind: str, name: str, tmp_path: Path) -> None:
    put(kind, tmp_path / name)
    job = str(jobs() / "2026-06-09" / "10-millrace.yaml")
    done = alone("record", job, "--from", str(tmp_path / name), folder=tmp_path)
    assert done.returncode == 2, done.stderr
    assert name in done.stderr


@pytest.mark.parametrize("kind", KINDS)
def test_no_plain_file_is_read_as_pdf_template_or_archive(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(kind, tmp_path / "a.pdf")
    with pytest.raises(Unfit):
        opened_pdf(tmp_path / "a.pdf", frozenset())
    put(kind, tmp_path / "acts.md")
    monkeypatch.setattr(reading, "templates", lambda: tmp_path)
    reading.template.cache_clear()
    with pytest.raises(TemplateRefused):
        reading.template("acts")
    reading.template.cache_clear()
    put(kind, tmp_path / "archive.db")
    with pytest.raises(ArchiveRefused), opened(None, tmp_path):
        pass


@pytest.mark.parametrize("kind", ["pipe", "device", "folder"])
def test_nothing_is_written_over_what_is_no_plain_file(kind: str, tmp_path: Path) -> None:
    put(kind, tmp_path / "a")
    before = os.lstat(tmp_path / "a")
    with pytest.raises(OSError, match=r"."):
        write_whole(tmp_path / "a", b"x", Path("/"))
    assert os.lstat(tmp_path / "a").st_ino == before.st_ino


def _told(folder: Path) -> DocumentJson:
    read = loaded([str(folder)])
    trouble = Trouble(faults=list(read.faults))
    jobs = list(checked_jobs(read, trouble))
    return document(jobs, trouble.faults, None, days_of(read, jobs))


@pytest.mark.parametrize(
    ("file", "was", "becomes"),
    [
        ("2026-06-09/10-millrace.yaml", b"height: 27 ft", b"height: 44 ft"),
        ("2026-06-09/20-granary.yaml", b"surfaces:", b"surfaces: ["),
        ("2026-06-09/day.yaml", b"rig: ", b"rig: no"),
    ],
)
@pytest.mark.ci
def test_an_unsaved_text_is_checked_as_if_it_were_saved(file: str, was: bytes, becomes: bytes, tmp_path: Path) -> None:
    copy_demo(tmp_path / "jobs")
    path, day = tmp_path / "jobs" / file, tmp_path / "jobs" / "2026-06-09"
    before, saved = _told(day), path.read_bytes()
    assert saved.count(was) >= 1
    text = saved.replace(was, becomes, 1)
    elsewhere = list[DocumentJson]()
    with unsaved({path: text}):
        told = _told(day)
        other = threading.Thread(target=lambda: elsewhere.append(_told(day)))
        other.start()
        other.join()
    assert path.read_bytes() == saved
    assert _told(day) == before == elsewhere[0]
    path.write_bytes(text)
    assert told == _told(day) != before


def test_an_unsaved_text_is_found_through_links_and_as_long_as_it_is(tmp_path: Path) -> None:
    path, link = tmp_path / "a.yaml", tmp_path / "b.yaml"
    path.write_bytes(b"a: 1\n")
    link.symlink_to(path)
    with unsaved({link: b"a: 22\n"}), unsaved({tmp_path / "c.yaml": b""}):
        assert read_ordinary(path, 4) == b"a: 2"
        assert read_file(link).mapping["a"].value == "22"
    with unsaved({path: b"#" * (LARGEST_FILE + 5)}):
        assert f"{LARGEST_FILE + 5:,} bytes" in read_file(path).faults[0].message
    assert read_ordinary(path, 99) == b"a: 1\n"
