"""A yard job asked for: what its questions say, what they refuse, and what a draft of it keeps."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from planner.cli import parser
from planner.commands import check
from planner.interview.answers import choice, several
from planner.interview.asking import Asking, Question, Walk
from tests.commands.asked import ANSWERS, DAY, as_written, new
from tests.sampled import one_in

FILE = f"{DAY}/95-lime"
RIG = "rigs/bittern.yaml"


@pytest.mark.ci
def test_enter_says_what_it_means_and_the_tub_is_asked_for_its_levels(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    new(FILE, ["Lime", "yard", "roof", "descale", "", "14", "", "", "", "", "y"], monkeypatch)
    said = capsys.readouterr().out
    assert "How much bath is made (the tub holds more) [gal] (Enter: 5 gal): " in said
    assert "What it is soaked in (Enter: 15 vol % muriatic): " in said
    assert said.index("How much bath") < said.index("Across the tub") < said.index("Height of the tub")
    raw = as_written(demo / f"{FILE}.yaml")
    assert raw == {"job": "Lime", "kind": "yard", "pump": "roof pump", "work": "descale", "across": "14 in"}


@pytest.mark.ci
def test_a_tub_of_unknown_width_is_not_asked_for_its_height(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    new(FILE, ["Lime", "yard", "roof", "descale", *[""] * 5, "y"], monkeypatch, "--units", "si")
    said = capsys.readouterr().out
    assert "[L] (Enter: 18.9 L)" in said
    assert "Across the tub, inside [mm]" in said
    assert "Height of the tub" not in said


@pytest.mark.ci
def test_what_no_bath_and_no_throw_can_be_is_refused_and_asked_again(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    bath = ["0", "1 pt", "1 qt", "", "0 vol % muriatic", "0 wt % citric", "5 wt % citric"]
    new(FILE, ["Lime", "yard", "roof", "descale", *bath, "0", "-3 ft", "36", "", "y"], monkeypatch)
    said = capsys.readouterr().out
    assert "`1 pt` is too little for a bath" in said
    assert "`0 vol %` holds nothing; write how strong, such as `15 vol % muriatic`" in said
    assert "`0 wt %` holds nothing; write how strong, such as `5 wt % citric`" in said
    raw = as_written(demo / f"{FILE}.yaml")
    assert (raw["tub"], raw["bath"], raw["throw"]) == ("1 qt", "5 wt % citric", "36 ft")


@pytest.mark.ci
@pytest.mark.parametrize(
    ("blank", "stage"), one_in(4, [("2 thin, , 1 thick", 2), (", 1 thick", 1), ("2 thin,", 2), (",", 1)])
)
def test_a_stage_left_blank_is_refused_never_dropped(
    blank: str, stage: int, demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    rebuild = ["Wheels", "yard", "roof", "rebuild", "", "", blank, "2 thin, none, 1 thick", "", "y"]
    new(FILE, rebuild, monkeypatch)
    told = f"stage {stage} has a blank place; write `none` for a stage without a spacer"
    assert told in capsys.readouterr().out
    assert as_written(demo / f"{FILE}.yaml")["spacers"] == ["2 thin", "none", "1 thick"]


@pytest.mark.ci
def test_a_draft_keeps_the_pump_that_was_chosen_not_its_number(
    demo: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    new(FILE, ["Lime", "yard", "2", "rebuild", "stop"], monkeypatch)
    assert "  2 booster\n" in capsys.readouterr().out
    rig = demo / RIG
    text = rig.read_text(encoding="utf-8")
    assert text.count("\npumps:\n") == 1
    added = "  - {name: a spare, kind: centrifugal, curve: [[0 gpm, 60 psi], [8 gpm, 40 psi], [16 gpm, 10 psi]]}\n"
    rig.write_text(text.replace("\npumps:\n", f"\npumps:\n{added}"), encoding="utf-8")
    new(FILE, ["yes", "", "", "", "", "y"], monkeypatch)
    assert as_written(demo / f"{FILE}.yaml")["pump"] == "booster"


def _asks(names: Sequence[str], more: Sequence[str]) -> Walk[tuple[Any, Any, Any]]:
    one = yield Question(key="one", about="One", read=choice(names))
    some = yield Question(key="some", about="Some", read=several(more))
    last = yield Question(key="last", about="Last", read=str)
    return one, some, last


def _typed(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    waiting = iter(lines)
    monkeypatch.setattr("builtins.input", lambda prompt: next(waiting))


def test_numbers_are_kept_as_the_names_they_stood_for_commas_and_all(monkeypatch: pytest.MonkeyPatch) -> None:
    names, hoses = ["east", "west"], ["blue", "red, long", "red"]
    first = Asking()
    _typed(monkeypatch, "2", "2,1", "stop")
    with pytest.raises(Exception, match="stop"):
        first.through(lambda: _asks(names, hoses))
    assert first.answers == {"one": "west", "some": "red, long, blue"}
    again = Asking(answers=dict(first.answers))
    _typed(monkeypatch, "done")
    asked = again.through(lambda: _asks(["a new one", *names], ["a new one", *hoses]))
    assert asked == ("west", ("red, long", "blue"), "done")


def test_a_name_kept_that_would_now_mean_another_is_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    asking = Asking(answers={"one": "roof pump", "some": "blue"})
    _typed(monkeypatch, "spare", "", "done")
    assert asking.through(lambda: _asks(["spare", "roof pump 2"], ["blue"])) == ("spare", ("blue",), "done")


@pytest.mark.ci
def test_the_check_at_the_end_is_given_what_its_own_command_line_gives(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    given: list[argparse.Namespace] = []
    monkeypatch.setattr(check, "run", lambda args: (given.append(args), 0)[1])  # type: ignore[func-returns-value]
    assert new(f"{DAY}/50-alder", [*ANSWERS, "y"], monkeypatch, "--units", "si") == 0
    (args,) = given
    own = parser().parse_args(["check", f"{DAY}/50-alder.yaml", "--units", "si"])
    assert {**vars(args), "command": "check"} == vars(own)
