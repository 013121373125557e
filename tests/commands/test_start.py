"""A newcomer's first minutes: a workspace of one's own from the demo."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import pytest

from planner import locate
from planner.cli import main
from planner.commands import start

pytestmark = pytest.mark.short

ROOT = Path(__file__).resolve().parents[2]


def files_in(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_a_new_folder_gets_every_file_of_the_demo_and_nothing_else(tmp_path: Path) -> None:
    assert main(["start", str(tmp_path / "mine")]) == 0
    assert files_in(tmp_path / "mine") == set(start.DEMO)
    assert list(tmp_path.iterdir()) == [tmp_path / "mine"]
    for name in start.DEMO:
        if name != "company.yaml":
            assert (tmp_path / "mine" / name).read_bytes() == (locate.jobs() / name).read_bytes()


def test_the_demos_invented_phones_are_left_out_and_all_else_of_its_page_is_there(tmp_path: Path) -> None:
    main(["start", str(tmp_path / "mine")])
    own, demo = (folder / "company.yaml" for folder in (tmp_path / "mine", locate.jobs()))
    lines = list(zip(own.read_text("utf-8").splitlines(), demo.read_text("utf-8").splitlines(), strict=True))
    assert [mine for mine, theirs in lines if mine != theirs] == [
        "  # office: your own number", "  # spill: your own number",
    ]  # fmt: skip
    assert "555-01" not in own.read_text("utf-8")
    assert "poison: 1-800-222-1222" in own.read_text("utf-8")


def test_bare_leaves_out_days_rig_and_stock(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["start", "--bare", str(tmp_path / "mine")]) == 0
    assert {name for name in files_in(tmp_path / "mine") if not name.startswith(".schema/")} == {"company.yaml"}
    assert f"planner desk {tmp_path / 'mine'}" in capsys.readouterr().out.splitlines()[-1]


def test_what_start_copies_is_what_the_wheel_carries() -> None:
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    included = config["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert {f"jobs/{name}" for name in start.DEMO} == {name for name in included if name.startswith("jobs/")}
    assert all(target == f"planner/_{name}" for name, target in included.items())


def test_it_says_what_to_edit_first_and_what_to_run_next(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "my work"
    main(["start", str(folder)])
    said = capsys.readouterr().out
    order = [said.index(name) for name in ("company.yaml", "rigs/bittern.yaml", "stock.yaml", "10-millrace.yaml")]
    assert order == sorted(order)
    assert f"planner check '{folder}'" in said
    assert said.splitlines()[-1] == f"  planner desk '{folder}'"


@pytest.mark.ci
def test_what_was_begun_can_be_checked_as_it_stands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["start", str(tmp_path / "mine")])
    capsys.readouterr()
    assert main(["check", str(tmp_path / "mine")]) == 1
    said = capsys.readouterr()
    assert said.err == ""
    assert "HELD" in said.out


def test_an_empty_folder_is_filled_and_stays_the_same_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody stands in it: replacing it would leave their shell in a folder that is gone."""
    monkeypatch.chdir(tmp_path)
    before = os.stat(tmp_path).st_ino
    assert main(["start", "."]) == 0
    assert os.stat(tmp_path).st_ino == before
    assert files_in(Path()) == set(start.DEMO)


def test_a_folder_further_down_is_made_on_the_way(tmp_path: Path) -> None:
    assert main(["start", str(tmp_path / "a" / "b" / "mine")]) == 0
    assert files_in(tmp_path / "a" / "b" / "mine") == set(start.DEMO)


def test_a_folder_with_something_in_it_is_one_fault_and_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "company.yaml").write_text("name: Mine\n", encoding="utf-8")
    assert main(["start", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert f"{tmp_path}:1:1 start.not_empty" in said.err
    assert len(said.err.splitlines()) == 2
    assert files_in(tmp_path) == {"company.yaml"}
    assert (tmp_path / "company.yaml").read_text(encoding="utf-8") == "name: Mine\n"


@pytest.mark.parametrize("kind", ["a file", "a link to nothing"])
def test_a_name_that_is_taken_by_no_folder_is_one_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], kind: str
) -> None:
    taken = tmp_path / "mine"
    if kind == "a file":
        taken.write_text("kept", encoding="utf-8")
    else:
        taken.symlink_to(tmp_path / "nowhere")
    assert main(["start", str(taken)]) == 2
    assert "start.file" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == [taken]


def test_a_place_that_cannot_be_written_is_one_fault_and_nothing_is_left(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("a file, not a folder", encoding="utf-8")
    assert main(["start", str(tmp_path / "file" / "mine")]) == 2
    assert "start.unwritable" in capsys.readouterr().err
    assert files_in(tmp_path) == {"file"}


@pytest.mark.parametrize("there", [True, False])
def test_a_copy_that_breaks_off_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], there: bool
) -> None:
    folder = tmp_path / "deep" / "mine"
    if there:
        folder.mkdir(parents=True)
    monkeypatch.setattr(start, "DEMO", (*start.DEMO[:9], "not-there.yaml"))
    assert main(["start", str(folder)]) == 2
    assert "start.unwritable" in capsys.readouterr().err
    left = sorted(tmp_path.rglob("*"))
    assert left == ([tmp_path / "deep", folder] if there else [])


def test_whatever_else_lies_beside_the_demo_is_not_copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    main(["start", str(tmp_path / "demo")])
    for name in ("archive.db", "packets/2026-06-09/10-millrace.pdf", "2026-06-09/.10-millrace-x.part",
                 "2026-06-09/40-customer.yaml", "rigs/own.yaml"):  # fmt: skip
        path = tmp_path / "demo" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("somebody's own", encoding="utf-8")
    monkeypatch.setattr(locate, "jobs", lambda: tmp_path / "demo")
    assert main(["start", str(tmp_path / "mine")]) == 0
    assert files_in(tmp_path / "mine") == set(start.DEMO)
