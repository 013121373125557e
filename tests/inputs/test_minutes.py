"""The minutes of data/minutes.yaml, and a company's own over them."""

from __future__ import annotations

import pytest

from planner.inputs.tables.defaults import minutes
from planner.inputs.tables.rows import rows
from planner.units import read
from tests.inputs.desk import BOATHOUSE, Desk


def _own(desk: Desk, text: str) -> Desk:
    path = desk.folder / "company.yaml"
    path.write_text(path.read_text(encoding="utf-8") + f"\nminutes: {text}\n", encoding="utf-8")
    return desk


def test_minutes_are_seconds_a_pace_and_shares() -> None:
    table = minutes()
    assert table["walk"] == 900.0
    assert table["stop_point"] == 30.0
    assert table["walk_pace"] == pytest.approx(read("50 ft/min", "speed"))
    assert table["apply_trigger"] == 0.35


def test_no_two_rows_share_a_name() -> None:
    names = [row["name"] for row in rows("minutes")]
    assert len(names) == len(set(names))


def test_a_companys_own_minutes_go_before_the_tables(desk: Desk) -> None:
    before = desk.job(BOATHOUSE).tables["minutes"]
    assert before == minutes()
    own = _own(desk, "{set_up: 25 min, walk_pace: 60 ft/min, apply_trigger: 0.4, rinse_trigger: 65 %}")
    after = own.job(BOATHOUSE).tables["minutes"]
    changed = {name: after[name] for name in after if after[name] != before[name]}
    assert changed == pytest.approx(
        {"set_up": 1500.0, "walk_pace": read("60 ft/min", "speed"), "apply_trigger": 0.4, "rinse_trigger": 0.65}
    )
    assert after.keys() == before.keys()


@pytest.mark.parametrize(
    ("text", "code", "remedy"),
    [
        ("{setup: 25 min}", "key.unknown", "`set_up`"),
        ("{xyzzy: 25 min}", "key.unknown", "`walk_pace`"),
        ("{set_up: 25 ft}", "quantity.dimension", ""),
        ("{walk_pace: 2 min}", "quantity.dimension", ""),
        ("{set_up: 25}", "quantity.bare", ""),
        ("{set_up: 25 h}", "quantity.bounds", "25 min"),
        ("{apply_trigger: 4}", "quantity.bounds", "`0.4`"),
        ("{walk_pace: 0 ft/min}", "quantity.bounds", ""),
        ("{set_up: [25 min]}", "key.shape", "25 min"),
        ("25 min", "key.shape", "set_up"),
    ],
)
def test_minutes_that_cannot_be_meant_are_one_fault(desk: Desk, text: str, code: str, remedy: str) -> None:
    (fault,) = _own(desk, text).load(BOATHOUSE).faults
    assert (desk.brief(fault)[0], fault.code) == ("company.yaml", code)
    assert remedy in fault.remedy


def test_unusual_minutes_are_told(desk: Desk) -> None:
    (found,) = _own(desk, "{set_up: 3 h}").job(BOATHOUSE).unusual
    assert found.path == "company.minutes.set_up"
