"""A season of known truths told against true: the worn pump and the weak lot are found, good gear is left in peace."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.cli import main
from tests.bench.season import Season, alarms, rows

pytestmark = pytest.mark.ci


@pytest.fixture(scope="module")
def short(tmp_path_factory: pytest.TempPathFactory) -> Season:
    """Eight weeks with the rebuild in their middle: seconds, as all that compare says stands on it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("PLANNER_ARCHIVE", raising=False)
        season = Season(folder=tmp_path_factory.mktemp("season"))
        season.run()
    return season


def test_what_is_told_is_what_is_true(short: Season) -> None:
    table = rows(short)
    assert len(table) >= 14, "worn, rebuilt, good, forecast, cover, crew, callbacks, money, lot"
    assert [row.line for row in table if not row.holds] == []


def test_nothing_is_said_against_good_gear(short: Season) -> None:
    assert alarms(short) == []


def test_the_worn_pump_is_learned_and_its_rebuild_begins_it_anew(short: Season) -> None:
    learned = [
        {tuple(one["about"]): one["value"] for one in told.found["learned"] if one["kind"] == "pumps"}
        for told in short.told
    ]
    half = short.weeks // 2
    assert learned[half - 1]["Case", "booster"] < 0.95
    assert learned[half].get(("Case", "booster"), 1.0) >= 0.95
    assert learned[-1]["Case", "booster"] < 0.92
    assert learned[-1]["Good", "booster"] == 1.0


def test_what_is_due_begins_with_the_worn_pump(
    short: Season, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE", raising=False)
    assert main(["list", "--due", str(short.folder)]) == 0
    said = capsys.readouterr().out.splitlines()
    assert "Good" not in " ".join(said)
    assert any("booster of Case" in line for line in said)
    assert said[-1].startswith("No rig has a `service` list")


@pytest.mark.parametrize("seed", [1, 3, 4])
def test_a_long_season_is_told_as_true(seed: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE", raising=False)
    season = Season(folder=tmp_path, weeks=14, seed=seed)
    season.run()
    assert alarms(season) == []
    assert [row.line for row in rows(season) if not row.holds] == []
