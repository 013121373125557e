"""What README and DEVELOPERS.md say is compared with the code."""

from __future__ import annotations

import io
import re
import shlex
from pathlib import Path

import pytest

from planner.checks import evaluate  # noqa: F401  (registers the checks)
from planner.checks.model import CHECKS
from planner.cli import main, parser
from planner.commands.explain import TOPICS
from planner.commands.start import copy_demo
from planner.locate import topic_file
from tests.commands.asked import ANSWERS
from tests.sampled import one_in

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def _tour() -> list[str]:
    """Every `planner ...` line of the README's fenced blocks after the first."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.S)[1:]
    return [line for block in blocks for line in block.splitlines() if line.startswith("planner ")]


def test_the_first_fenced_block_is_two_commands() -> None:
    block = re.search(r"```(\w*)\n(.*?)```", README, re.S)
    assert block is not None
    assert block.group(1) == "sh"
    lines = block.group(2).strip().splitlines()
    assert len(lines) == 2
    assert "planner packet jobs" in lines[0]
    assert "pytest" in lines[1]


def _closed_at_once(server: object) -> None:
    """Ctrl+C."""
    raise KeyboardInterrupt


@pytest.mark.parametrize("line", one_in(2, _tour(), first=1))
@pytest.mark.ci
def test_every_command_of_the_tour_runs(line: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    words = shlex.split(line, comments=True)[1:]
    if words[0] == "new":
        copy_demo(tmp_path / "jobs")  # it writes beside the jobs
        answers = ["", "", "58", "79", "7", "", "none", "", "", "", *ANSWERS, "25 min", "yes"]
        answers = (
            [] if words[1].startswith("jobs/rigs/") else answers
        )  # asked through in tests/commands/test_new_rig.py
        monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(answers)))
    else:
        (tmp_path / "jobs").symlink_to(ROOT / "jobs")
    if words[0] == "archive":
        main(["packet", "jobs/2026-06-09/10-millrace.yaml", "-o", "printed"])  # there must be something to export
    if words[0] == "desk":
        monkeypatch.setattr("planner.desk.server.webbrowser.open", lambda address: True)
        monkeypatch.setattr("werkzeug.serving.BaseWSGIServer.serve_forever", _closed_at_once)
    if words[0] == "compare" or "--add" in words:
        done = "jobs/records/2026-06-09-10-millrace.yaml"
        main(["record", "jobs/2026-06-09/10-millrace.yaml", "--from", done])  # there must be something to compare
    assert main(words) in (0, 1)


def test_the_tour_shows_every_command() -> None:
    (choices,) = [a.choices for a in parser()._subparsers._group_actions]
    assert {line.split()[1] for line in _tour()} == set(choices or ())


def _topic(name: str) -> str:
    return topic_file(name).read_text(encoding="utf-8")


def test_the_findings_topic_lists_every_finding() -> None:
    assert set(re.findall(r"^\| `(\w+\.\w+)` \|", _topic("findings"), re.M)) == set(CHECKS)


def test_every_topic_is_a_page_that_the_readme_leads_to() -> None:
    files = {path.stem for path in topic_file("files").parent.glob("*.md")}
    assert set(TOPICS) == files == set(re.findall(r"\(planner/topics/(\w+)\.md\)", README))


@pytest.mark.parametrize("topic", TOPICS)
def test_a_topic_names_keys_commands_and_options_that_there_are(topic: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", topic]) == 0
    said = capsys.readouterr().out
    assert said == _topic(topic)
    (choices,) = [a.choices for a in parser()._subparsers._group_actions]
    assert set(re.findall(r"`planner (\w+)", said)) <= set(choices or ())
    options = {name for one in (choices or {}).values() for action in one._actions for name in action.option_strings}
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", said)) <= options


def test_a_topic_on_a_terminal_fits_its_width(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    out = Terminal()
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setattr("sys.stdout", out)
    assert main(["explain", "gear"]) == 0
    lines = out.getvalue().splitlines()
    assert len(lines) > 20
    assert max(map(len, lines)) <= 80


def test_the_name_alone_says_what_one_can_do_tonight(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    said = capsys.readouterr().out
    assert max(map(len, said.splitlines())) <= 80
    (choices,) = [a.choices for a in parser()._subparsers._group_actions]
    named = set(re.findall(r"\bplanner ([a-z]+)", said.split("planner explain lists")[0]))
    assert {"start", "new", "check", "packet", "record", "list", "compare"} <= named <= set(choices or ())


@pytest.mark.ci
def test_what_the_readme_shows_of_a_check_is_what_it_says(capsys: pytest.CaptureFixture[str]) -> None:
    shown = re.search(r"```text\n(.*?)```", README, re.S)
    assert shown is not None
    main(["check", str(ROOT / "jobs" / "2026-06-09" / "10-millrace.yaml")])
    said = capsys.readouterr().out
    for line in shown.group(1).splitlines():
        assert re.sub(r"plan [\w-]+", "", line) in re.sub(r"plan [\w-]+", "", said)


_FOLDERS = "planner|templates|tests|jobs"


def _named(text: str) -> list[tuple[str, tuple[Path, ...]]]:
    """Every path in backticks, with the folders it may be meant in: a room's row names its modules without the room."""
    found = []
    for line in re.sub(r"```.*?```", "", text, flags=re.S).splitlines():
        rooms = [ROOT, ROOT / "planner"]
        for name in re.findall(r"`([\w.*-]+(?:/[\w.*-]*)+|[\w-]+\.(?:py|toml))`", line):
            found.append((name, tuple(rooms)))
            rooms += [base / name for base in rooms[:2] if (base / name).is_dir()]
    return found


def test_every_path_of_the_map_exists() -> None:
    named = _named((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert len(named) > 100
    assert not [name for name, rooms in named if not any((room / name).exists() for room in rooms)]


def test_every_path_of_ours_in_the_readme_exists() -> None:
    text = re.sub(r"```.*?```", "", README, flags=re.S)
    named = re.findall(rf"(?<![\w/])(?:{_FOLDERS})/[\w./-]*\w", text)
    assert not [name for name in named if not (ROOT / name).exists()]


def test_the_map_stays_a_map() -> None:
    assert (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").count("\n") <= 170
