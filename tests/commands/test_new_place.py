"""Where a job can't go nothing is asked, and what is there already is left alone."""

from __future__ import annotations

import builtins
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from planner.cli import main
from tests.commands.asked import ANSWERS, DAY, JOB, as_written, new


@pytest.mark.parametrize(
    ("path", "code"),
    [
        (f"{DAY}/10-slipway", "new.exists"),
        (f"{DAY}/10-slipway.yml", "new.exists"),
        (f"{DAY}/day.yaml", "new.place"),
        ("records/30-x", "new.place"),
        ("rigs/deep/30-x", "new.place"),
        ("rigs/bittern", "new.exists"),
        ("rigs/Bittern.yml", "new.exists"),
        ("rigs/.hidden", "new.name"),
        ("2026-6-1/30-x", "new.place"),
        ("company.yaml/30-x", "new.place"),
        (".", "file.folder"),
        ("..", "workspace.missing"),
        (f"{DAY}/.hidden", "new.name"),
        (f"{DAY}/a\x01b", "new.name"),
        (f"{DAY}/10-x.record.yaml", "new.name"),
        (f"{DAY}/{'x' * 300}", "new.name"),
    ],
)
def test_where_no_job_can_go_is_a_fault_and_nothing_is_asked(
    path: str, code: str, demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = sorted(demo.rglob("*"))
    assert new(path, ANSWERS, monkeypatch) == 2
    said = capsys.readouterr()
    assert code in said.err
    assert said.out == ""
    assert sorted(demo.rglob("*")) == before


@pytest.mark.parametrize("spoil", ["no rigs", "a broken rig", "no rig on the day"])
def test_without_a_rig_nothing_is_asked(
    spoil: str, demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    rig = demo / "rigs" / "bittern.yaml"
    if spoil == "no rigs":
        rig.unlink()
    elif spoil == "a broken rig":
        rig.write_text("rig: [", encoding="utf-8")
    else:
        (demo / DAY / "day.yaml").write_text("crew: 2\n", encoding="utf-8")
    assert new(f"{DAY}/50-alder", ANSWERS, monkeypatch) == 2
    said = capsys.readouterr().err
    assert "new.rig" in said
    if spoil != "no rig on the day":
        assert f"`planner new {Path('rigs') / 'NAME'}`" in said


@pytest.mark.ci
def test_a_broken_shelf_does_not_keep_a_job_from_being_written(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (demo / "stock.yaml").write_text("lots: [\n", encoding="utf-8")
    assert new(f"{DAY}/50-alder", [*ANSWERS, "y"], monkeypatch) == 2
    said = capsys.readouterr()
    assert "1 fault in the workspace's own files" in said.out
    assert "stock.yaml" in said.err
    assert as_written(demo / DAY / "50-alder.yaml") == JOB


@pytest.mark.ci
def test_a_job_that_appears_meanwhile_is_not_overwritten(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file, texts = demo / DAY / "50-alder.yaml", iter([*ANSWERS, "y"])

    def typed(prompt: str = "") -> str:
        if prompt.startswith("Write it"):
            file.write_text("job: Somebody else's\n", encoding="utf-8")
        return next(texts)

    monkeypatch.setattr(builtins, "input", typed)
    assert main(["new", str(file)]) == 2
    assert file.read_text(encoding="utf-8") == "job: Somebody else's\n"
    assert "50-alder.draft" in capsys.readouterr().out


@pytest.mark.ci
def test_any_bytes_on_the_standard_input_end_in_words(demo: Path) -> None:
    odd = b"\xff\xfe\n\x00\x1b[A\na\x01b\n" + b"x" * 10_000 + b"\n?\nback\nAlder \xc3\xa9\n\xc3\x28\n"
    done = subprocess.run(
        [sys.executable, "-c", "from planner.cli import entry; entry()", "new", f"{DAY}/50-alder"],
        input=odd,
        capture_output=True,
        cwd=demo,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), "PYTHONUTF8": "1"},
        check=False,
    )
    assert done.returncode == 2
    assert b"Traceback" not in done.stdout + done.stderr
    assert b"Sorry" not in done.stderr
    draft = (demo / DAY / "50-alder.draft").read_text(encoding="utf-8")
    assert '"job": "Alder é"' in draft
    assert not re.search("[\x00-\x08\x1b]", draft)


@pytest.mark.ci
def test_asking_imports_neither_paper_nor_the_solver() -> None:
    code = (
        "import sys, planner.commands.new; "
        "print([name for name in ('reportlab', 'fluids', 'scipy', 'sqlalchemy', 'jinja2') if name in sys.modules])"
    )
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, check=True)
    assert done.stdout.strip() == "[]"
