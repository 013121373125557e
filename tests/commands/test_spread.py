"""Many packets on many cores: the same files and words as one after another, failures named, nothing half-written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import MappingProxyType

import pytest

from planner.cli import main
from planner.days.prepare import Trouble
from planner.office import printing
from planner.processes import spread

Make = Callable[[], printing.Made]
DEMO = Path(__file__).resolve().parents[2] / "jobs"


def _files(root: Path) -> dict[str, bytes]:
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in root.rglob("*") if path.is_file()}


@pytest.mark.ci
def test_files_words_and_code_are_those_of_one_process(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(printing, "_FEW", 0)
    found = []
    for cores in (1, 2):
        monkeypatch.setattr(printing, "cores", lambda cores=cores: cores)
        root = tmp_path / str(cores)
        code = main(["packet", str(DEMO), "-o", str(root), "--html", "--notice", "--rig-card"])
        said = capsys.readouterr()
        found.append((code, said.out.replace(str(root), "OUT"), said.err, _files(root)))
    assert found[0] == found[1]
    lines = found[0][1].splitlines()
    assert [line.partition(": ")[0] for line in lines] == ["OUT/2026-06-09", "OUT/2026-06-10", "OUT"]
    assert ", 30-kiln.pdf  HELD, " in lines[0]
    assert ", 2026-06-10/00-day.pdf, " in lines[2]
    assert len(found[0][3]) > 20


def _print_all(root: Path, trouble: Trouble, **makers: Make) -> None:
    """A print a day, by two processes."""
    turns = [[printing.Print(target=root / f"{name}/10.pdf", held=False, make=make)] for name, make in makers.items()]
    printing._Printer(
        root=root, trouble=trouble, step=lambda: None, many=True, say=print, warn=printing._warn
    ).print_all(turns, list, 2)


@pytest.mark.ci
def test_what_fails_in_another_process_is_named_and_the_rest_is_printed(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    trouble = Trouble(faults=[])
    good: Make = partial(printing.Made, files={".pdf": b"%PDF"})
    _print_all(tmp_path, trouble, a=good, b=partial(int, "a slip of ours"), c=good)
    said = capfd.readouterr()
    assert trouble.ours
    assert said.out.splitlines() == [f"{tmp_path}/a: 10.pdf", f"{tmp_path}/c: 10.pdf"]
    assert "Sorry" in said.err
    assert "b/10.pdf" in said.err
    assert said.err.splitlines()[-1] == f"not printed: {tmp_path}/b/10.pdf"
    assert sorted(_files(tmp_path)) == ["a/10.pdf", "c/10.pdf"]


@pytest.mark.ci
def test_a_process_that_is_killed_takes_no_more_than_what_was_not_printed_yet(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    trouble = Trouble(faults=[])
    good: Make = partial(printing.Made, files={".pdf": b"%PDF"})
    _print_all(tmp_path, trouble, a=good, b=partial(_killed_later, 9), c=_slow)
    assert trouble.ours
    assert _files(tmp_path) == {"a/10.pdf": b"%PDF"}
    assert capfd.readouterr().err == f"not printed: {tmp_path}/b/10.pdf, {tmp_path}/c/10.pdf\n"


def _killed_later(code: int) -> None:
    time.sleep(1.0)  # what was done before is sent
    os._exit(code)


def _slow() -> dict[str, bytes]:
    time.sleep(60.0)
    return {}


def _after(seconds: float, given: object) -> object:
    time.sleep(seconds)
    return given


@pytest.mark.ci
def test_results_come_in_order_however_long_each_takes_and_frozen_mappings_are_sent() -> None:
    works = [partial(_after, 0.1 * (3 - n), MappingProxyType({"n": n})) for n in range(4)]
    assert list(spread(works, 3)) == list(spread(works, 1)) == [{"n": n} for n in range(4)]


@pytest.mark.ci
@pytest.mark.skipif(sys.platform == "win32", reason="a Ctrl-C is sent another way")
def test_ctrl_c_leaves_whole_files_and_nothing_else(tmp_path: Path) -> None:
    program = (
        "import sys; from planner.cli import main; from planner.office import printing\n"
        "printing._FEW = 0; printing.cores = lambda: 2\n"
        f"sys.exit(main(['packet', {str(DEMO)!r}, '--owner', '--html', '-o', {str(tmp_path)!r}]))\n"
    )
    done = subprocess.Popen(
        [sys.executable, "-u", "-c", program], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
    )  # fmt: skip
    assert done.stdout is not None
    done.stdout.readline()  # the first day is told, the second is being printed elsewhere
    os.killpg(done.pid, signal.SIGINT)
    _, said = done.communicate(timeout=60)
    assert (done.returncode, said) == (130, "stopped\n")
    files = _files(tmp_path)
    assert {name[:10] for name in files if "/00-day." not in name} == {"2026-06-09"}
    pdfs = [one for name, one in files.items() if name.endswith(".pdf")]
    assert pdfs
    assert all(one.startswith(b"%PDF") and one.rstrip().endswith(b"%%EOF") for one in pdfs)
    with pytest.raises(ProcessLookupError):
        _look_for(done.pid)


def _look_for(group: int) -> None:
    for _ in range(100):  # whoever is left is on its way out
        os.killpg(group, 0)
        time.sleep(0.1)
