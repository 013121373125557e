"""The command line as a newcomer meets it."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from planner.cli import main
from planner.commands.start import copy_demo
from planner.locate import jobs
from tests import workspaces

DEMO = jobs()


def _fresh(*args: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "planner", *args], capture_output=True, text=True, cwd=cwd, timeout=60, check=False
    )


@pytest.mark.ci
def test_check_shows_the_demo_day_and_exits_1_for_its_held_job(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(DEMO / "2026-06-09")]) == 1
    out = capsys.readouterr().out
    assert "Millrace Row" in out
    assert "HELD" in out
    assert "mix.reaction" in out


def test_a_job_without_a_stop_exits_0(tmp_path: Path) -> None:
    assert main(["check", str(workspaces.write(tmp_path, workspaces.base()))]) == 0


@pytest.mark.ci
def test_json_has_every_contract_key(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", "--json", str(DEMO / "2026-06-09" / "10-millrace.yaml")])
    document = json.loads(capsys.readouterr().out)
    assert document["format"] == 1
    assert set(document) == {"format", "faults", "jobs", "days"}
    assert document["days"] == []
    (job,) = document["jobs"]
    assert {
        "id", "title", "kind", "verdict", "runs", "mixes", "water", "flushes", "load", "power", "time", "neutralise",
        "bath", "findings", "remedies",
    } <= set(job)  # fmt: skip
    assert job["id"] == "2026-06-09/10-millrace"
    (run,) = job["runs"]
    assert {
        "name", "pump", "dosing", "same_time", "condition", "flow_m3_per_s", "pump_head_m", "pump_pressure_pa",
        "tip_pressure_pa", "tip_velocity_m_per_s", "shut_off_pressure_pa", "shut_off_s", "surge_pa", "rating_pa",
        "losses", "reach_m", "reach_low_m", "reach_high_m", "needed_m", "npsh_available_m", "npsh_required_m",
        "reaction_n",
    } <= set(run)  # fmt: skip
    assert {part["part"] for part in run["losses"]} == {"red 1", "red 2"}
    for finding in job["findings"]:
        assert {"code", "about", "level", "accepted", "message", "remedy", "basis", "where"} <= set(finding)
        assert finding["level"] in ("stop", "caution", "ok", "none")
        assert finding["message"]


@pytest.mark.ci  # test_demo.py prints the season in every run
def test_packets_are_written_by_date_and_job_and_the_held_one_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["packet", str(DEMO), "-o", str(tmp_path / "out")]) == 1
    made = sorted(str(path.relative_to(tmp_path)) for path in tmp_path.rglob("*") if path.is_file())
    wanted = [f"out/{path.relative_to(DEMO).with_suffix('.pdf')}" for path in sorted(DEMO.glob("2*/[0-9]*.yaml"))]
    assert len(wanted) == 7
    assert set(wanted) <= set(made)
    said = capsys.readouterr().out
    assert "30-kiln.pdf  HELD" in said
    assert "20-granary.pdf\n" in said
    for path in made:
        assert (tmp_path / path).read_bytes().startswith(b"%PDF")


@pytest.mark.ci
def test_the_owners_file_comes_when_it_is_asked_for_or_always(tmp_path: Path) -> None:
    files = workspaces.base()
    job = workspaces.write(tmp_path, files)

    def printed(*more: str) -> set[str]:
        out = tmp_path / f"out{len(list(tmp_path.iterdir()))}"
        assert main(["packet", str(job), "-o", str(out), *more]) == 0
        return {path.name for path in out.rglob("*") if path.is_file()}

    assert printed() == {"10-case.pdf"}
    assert printed("--owner") == {"10-case.pdf", "10-case-owner.pdf"}
    assert printed("--owner", "--html") == {f"10-case{part}" for part in (".pdf", ".html", "-owner.pdf", "-owner.html")}
    files["company"] = {**files.get("company", {}), "owner_pages": "always"}
    workspaces.write(tmp_path, files)
    assert printed() == {"10-case.pdf", "10-case-owner.pdf"}


@pytest.mark.ci
def test_a_held_job_has_its_owners_file_too_and_the_archive_keeps_the_crews_packet_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")
    copy_demo(tmp_path / "jobs")
    held = tmp_path / "jobs" / "2026-06-09" / "30-kiln.yaml"
    assert main(["packet", "--owner", str(held), "-o", str(tmp_path / "out")]) == 1
    assert (tmp_path / "out" / "2026-06-09" / "30-kiln-owner.pdf").is_file()
    with sqlite3.connect(tmp_path / "jobs" / "archive.db") as archive:
        assert archive.execute("select file from packets").fetchall() == [("2026-06-09/30-kiln.pdf",)]


@pytest.mark.ci
def test_two_rigs_on_one_date_have_covers_packets_and_loads_of_their_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy_demo(tmp_path / "jobs")
    day, rigs = tmp_path / "jobs" / "2026-06-10", tmp_path / "jobs" / "rigs"
    tern = (rigs / "bittern.yaml").read_text(encoding="utf-8").replace("rig: Bittern", "rig: Tern")
    (rigs / "tern.yaml").write_text(tern, encoding="utf-8")
    for name in ("10-slipway", "30-kiln-acid", "90-booster"):
        (day / f"{name}.yaml").unlink()
    page = re.sub(r"drive: .*", "drive: {20-millrace-mid: 20 min}", (day / "day.yaml").read_text(encoding="utf-8"))
    (day / "day.yaml").write_text(page, encoding="utf-8")
    other = Path(shutil.copytree(day, day.with_name("2026-06-10-tern")))
    (other / "day.yaml").write_text(page.replace("rig: Bittern", "rig: Tern"), encoding="utf-8")
    day.rename(day.with_name("2026-06-10-bittern"))
    assert main(["check", "--json", str(tmp_path / "jobs")]) == 1
    found = json.loads(capsys.readouterr().out)
    assert not found["faults"]
    days = {one["id"]: one for one in found["days"] if one["date"] == "2026-06-10"}
    assert {name: one["order"] for name, one in days.items()} == {
        f"2026-06-10-{rig}": [f"2026-06-10-{rig}/20-millrace-mid"] for rig in ("bittern", "tern")
    }
    loads = [one["load"]["total_kg"] for one in days.values()]
    assert loads[0] == pytest.approx(loads[1], rel=0.05), "one rig's load, not both"
    assert main(["packet", str(other), str(other.with_name("2026-06-10-bittern")), "-o", str(tmp_path / "out")]) == 0
    assert sorted(str(path.relative_to(tmp_path / "out")) for path in (tmp_path / "out").rglob("*.pdf")) == [
        f"2026-06-10-{rig}/{name}.pdf" for rig in ("bittern", "tern") for name in ("00-day", "20-millrace-mid")
    ]


@pytest.mark.ci
def test_one_faulty_job_does_not_keep_the_others_from_print(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = workspaces.write(tmp_path, workspaces.base())
    (job.parent / "20-broken.yaml").write_text("job: Broken\nsite: {adress: here}\n", encoding="utf-8")
    assert main(["packet", str(job.parent), "-o", str(tmp_path / "out")]) == 2
    said = capsys.readouterr()
    assert "10-case.pdf" in said.out
    assert "20-broken.yaml:2:" in said.err
    assert "adress" in said.err
    assert not (tmp_path / "out" / "2026-06-09" / "20-broken.pdf").exists()


@pytest.mark.ci
def test_a_folder_that_cannot_be_written_is_a_fault_and_leaves_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = workspaces.write(tmp_path, workspaces.base())
    (tmp_path / "out").write_text("a file, not a folder", encoding="utf-8")
    assert main(["packet", str(job), "-o", str(tmp_path / "out")]) == 2
    assert "packet.unwritable" in capsys.readouterr().err
    assert (tmp_path / "out").read_text(encoding="utf-8") == "a file, not a folder"


def test_a_path_that_is_not_there_is_one_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(tmp_path / "nothing.yaml")]) == 2
    said = capsys.readouterr().err
    assert "nothing.yaml:1:1" in said
    assert "Traceback" not in said


def test_explain_gives_meaning_limit_source_and_cure(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "reach.short"]) == 0
    said = capsys.readouterr().out
    for word in ("means", "limit", "source", "cure"):
        assert word in said


def test_explain_lists_every_code_and_suggests_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain"]) == 0
    assert "pump.suction" in capsys.readouterr().out
    assert main(["explain", "reach.shot"]) == 2
    assert "reach.short" in capsys.readouterr().err


def test_every_source_is_printed_once_in_eighty_columns_by_the_name_the_owners_file_has_for_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    from planner.packet.sections.owner.mix_figures import short_title
    from planner.words import spoken as words

    assert main(["explain", "sources"]) == 0
    said = capsys.readouterr().out
    assert max(len(line) for line in said.splitlines()) <= 80
    whole = " ".join(said.split())
    for key, row in words.sources().items():
        assert f"{row['title']} {row['origin']}" in whole, key
        assert row["title"].startswith(short_title(key)), key


@pytest.mark.ci
def test_units_can_be_chosen_against_the_companys_own(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", "--units", "si", str(DEMO / "2026-06-09" / "10-millrace.yaml")])
    said = capsys.readouterr().out
    assert "L/min" in said
    assert "gpm" not in said


def test_wrong_usage_exits_2() -> None:
    with pytest.raises(SystemExit) as stop:
        main(["check"])
    assert stop.value.code == 2


def test_our_own_error_is_one_line_and_a_log(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import tempfile

    from planner.commands import explain

    def broken(args: object) -> int:
        raise RuntimeError("a slip of ours")

    monkeypatch.setattr(explain, "run", broken)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    assert main(["explain"]) == 3
    said = capsys.readouterr().err
    assert len(said.strip().splitlines()) == 1
    assert "Traceback" not in said
    (log,) = tmp_path.glob("planner-*.log")
    assert "a slip of ours" in log.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "command", ["packet", *(pytest.param(one, marks=pytest.mark.ci) for one in ("start", "check", "explain", "schema"))]
)
def test_commands_never_import_scipy(command: str, tmp_path: Path) -> None:
    job = str(DEMO / "2026-06-09" / "10-millrace.yaml")
    args = {
        "start": [str(tmp_path / "mine")],
        "check": [job],
        "packet": [job, "-o", str(tmp_path)],
        "explain": ["reach.short"],
        "schema": ["job"],
    }[command]
    program = (
        "import sys; from planner.cli import main\n"
        f"code = main({[command, *args]!r})\n"
        "assert code in (0, 1), code\n"
        "assert not [m for m in sys.modules if m.split('.')[0] == 'scipy']\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.ci
@pytest.mark.parametrize("more", [[], ["--json"]])
def test_check_imports_nothing_that_paper_or_the_archive_takes(more: list[str]) -> None:
    program = (
        "import sys; from planner.cli import main\n"
        f"assert main({['check', str(DEMO / '2026-06-10'), *more]!r}) in (0, 1)\n"
        "papers = {'reportlab', 'jinja2', 'markdown_it', 'PIL', 'pypdf', 'sqlalchemy'}\n"
        "found = [m for m in sys.modules if m.split('.')[0] in papers or m.startswith('planner.packet')]\n"
        "assert not found, found\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr


def test_help_imports_nothing_heavy() -> None:
    program = (
        "import sys\nfrom planner.cli import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'yaml', 'pydantic', 'pint', 'fluids', 'numpy', 'reportlab', 'jinja2', 'rich', 'scipy'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    for command in ("start", "check", "packet", "explain", "schema"):
        assert re.search(rf"^    {command} ", done.stdout, re.M), command


def test_start_reads_no_model_and_no_yaml_to_copy_the_demo(tmp_path: Path) -> None:
    program = (
        f"import sys\nfrom planner.cli import main\nassert main(['start', {str(tmp_path / 'mine')!r}]) == 0\n"
        "heavy = {'yaml', 'pydantic', 'pint', 'fluids', 'numpy', 'reportlab', 'jinja2', 'rich', 'scipy'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr


def test_it_runs_as_a_module_and_says_its_version() -> None:
    done = _fresh("--version")
    assert done.returncode == 0
    assert done.stdout.startswith("planner ")


@pytest.mark.ci
def test_output_in_a_pipe_is_plain_text() -> None:
    done = _fresh("check", str(DEMO / "2026-06-09"))
    assert done.returncode == 1
    assert "\x1b" not in done.stdout
    assert done.stderr == ""


def test_a_workspace_in_order_without_a_job_says_both(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    copy_demo(tmp_path / "ws")
    for day in (tmp_path / "ws").glob("20*"):
        shutil.rmtree(day)
    assert main(["check", str(tmp_path / "ws")]) == 0
    said = capsys.readouterr()
    assert "are in order; no job and no day is here yet" in said.out
    assert said.err == ""
    assert main(["packet", str(tmp_path / "ws"), "-o", str(tmp_path / "out")]) == 2
    assert "workspace.bare" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [
        ["start", ""], ["new", " "], ["check", ""], ["packet", "", "-o", "x"], ["packet", "jobs", "-o", ""],
        ["record", "a", "--from", ""], ["compare", ""], ["compare", "-o", ""],
        ["archive", "export", ""], ["archive", "copy", "a", "--workspace", ""], ["schema", "--all", ""],
    ],
    ids=" ".join,
)  # fmt: skip
def test_an_empty_path_is_wrong_usage_and_never_the_folder_we_stand_in(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as left:
        main(words)
    assert left.value.code == 2
    assert "this names no file or folder; write its name" in capsys.readouterr().err
