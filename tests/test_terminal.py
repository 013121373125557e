"""What is printed on a terminal is no wider than it is, and parts no number from its unit."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest

from planner.cli import main
from planner.terminal import folded, guarded, say, table

ROOT = Path(__file__).parents[1]


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def _screen(monkeypatch: pytest.MonkeyPatch) -> _Terminal:
    out = _Terminal()
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setattr("sys.stdout", out)
    return out


def test_no_line_ends_between_a_number_and_its_unit() -> None:
    text = "Pour 3 1/2 gal of stock at 10.3 trade % and 64 fl oz of soap, then wait 5 min."
    for width in range(14, 60):
        lines = folded(text, width)
        assert " ".join(lines) == text
        assert not [line for line in lines if re.search(r"(\d|\btrade|\bfl)$", line)]


def test_a_folded_line_hangs_and_one_that_fits_is_left_alone() -> None:
    assert folded("water 9 gal: wet 4 gal, rinse 5 gal", 24, 6) == ["water 9 gal: wet 4 gal,", "      rinse 5 gal"]
    assert folded("two  spaces stay", 20) == ["two  spaces stay"]


def test_a_table_of_figures_puts_names_above_where_they_do_not_fit(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = _screen(monkeypatch)
    row = ("a long name of a mix, lake side", *["10.3 trade %"] * 6)
    table(("mix", *["strength"] * 6), [row, row, ("", *row[1:])], numbers=range(1, 7))
    lines = screen.getvalue().splitlines()
    assert max(map(len, lines)) <= 80 + 4  # six figures that nothing can part
    assert lines.count("a long name of a mix, lake side") == 1
    assert not [line for line in lines if line.endswith(("10.3", "trade"))]


def test_what_is_copied_is_not_folded_and_prose_is(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = _screen(monkeypatch)
    command = f"  planner check {'a' * 90} b"
    with guarded():
        print(command)
        print('{"what": "' + "x y " * 40 + '"}')
        print("word " * 40)
        say("water " + "9 gal " * 20, hang=6)
    first, second, *rest = screen.getvalue().splitlines()
    assert first == command
    assert second.startswith('{"what"')
    assert len(second) > 160
    assert max(map(len, rest)) <= 80
    assert "      9 gal" in rest[-1]


@pytest.mark.parametrize("args", [("check", "jobs"), ("list", "jobs"), ("explain", "reach.short")])
@pytest.mark.ci
def test_a_command_fits_eighty_columns(args: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    screen = _screen(monkeypatch)
    monkeypatch.chdir(ROOT)
    main(list(args))
    lines = screen.getvalue().splitlines()
    assert len(lines) > 8
    assert [line for line in lines if len(line) > 80] == []
    assert [line for line in lines if re.search(r"\d (?:trade|fl)$", line)] == []


def test_a_packet_without_a_folder_says_what_to_type(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["packet", "my jobs", "--owner", "--paper", "a4"]) == 2
    assert capsys.readouterr().err.splitlines() == [
        "say which folder the packets go into, such as:", "",
        "  planner packet 'my jobs' -o packets --owner --paper a4",
    ]  # fmt: skip
