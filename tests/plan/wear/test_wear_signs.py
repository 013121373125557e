"""The table that reads gauge, bucket and throw together."""

from __future__ import annotations

from itertools import product

import pytest

from planner.commands.measured import wording
from planner.plan.wear.signs import FLOW_PUMP, HEAD_PUMP, TAP_ALONE, Row, read_together

SIGNS = ("low", "maybe", "sound", "high", "-")
TABLES = {"head pump": HEAD_PUMP, "piston pump": FLOW_PUMP, "tap": TAP_ALONE}


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_every_set_of_signs_has_an_answer_and_the_answer_has_words(table: tuple[Row, ...]) -> None:
    for signs in product(SIGNS, repeat=3):
        row = wording()["says"][read_together(table, *signs)]  # type: ignore[arg-type]
        assert row["means"]
        assert row["do"]


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES)
def test_no_row_of_a_table_is_hidden_by_those_above_it(table: tuple[Row, ...]) -> None:
    answered = {read_together(table, *signs) for signs in product(SIGNS, repeat=3)}  # type: ignore[arg-type]
    assert answered == {row[-1] for row in table}


def test_no_words_are_kept_for_an_answer_nobody_gives() -> None:
    made_later = {"worn_and_blocked", "worn_or_blocked_switch", "switch_only"}
    answers = {row[-1] for table in TABLES.values() for row in table}
    assert set(wording()["says"]) == answers | made_later


@pytest.mark.parametrize(
    ("gauge", "bucket", "throw", "says"),
    [
        ("sound", "sound", "sound", "sound"),
        ("low", "low", "low", "worn"),
        ("low", "-", "-", "worn"),
        ("sound", "sound", "low", "tip_or_aim"),
        ("sound", "low", "low", "blocked"),
        ("sound", "low", "-", "blocked"),
        ("sound", "low", "sound", "tip_small"),
        ("sound", "high", "low", "tip_worn"),
        ("-", "high", "-", "tip_worn"),
        ("low", "sound", "sound", "gauge_doubted"),
        ("high", "low", "low", "gauge_high"),
        ("-", "low", "low", "worn_or_blocked"),
        ("-", "-", "low", "worn_or_blocked"),
        ("-", "-", "maybe", "doubtful"),
        ("-", "-", "sound", "sound_in_band"),
        ("sound", "-", "-", "sound_shut"),
        ("sound", "-", "maybe", "sound"),
        ("low", "-", "maybe", "worn"),
        ("-", "sound", "high", "throw_high"),
        ("sound", "high", "high", "line_better"),
    ],
)
def test_a_pump_with_a_curve_is_read_as_the_trade_reads_it(gauge: str, bucket: str, throw: str, says: str) -> None:
    assert read_together(HEAD_PUMP, gauge, bucket, throw) == says  # type: ignore[arg-type]


def test_a_piston_pumps_low_throw_at_full_flow_is_its_tip() -> None:
    assert read_together(FLOW_PUMP, "-", "sound", "low") == "piston_tip_worn"
    assert read_together(FLOW_PUMP, "-", "low", "low") == "piston_worn"
