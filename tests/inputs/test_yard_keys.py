"""What may be written of a bath and a test, and what is told where it can not be meant."""

from __future__ import annotations

import pytest

from planner.chemistry import acids
from planner.inputs.tables.chemicals import CHEMICALS
from tests.inputs.desk import RIG, YARD, Desk

FILE = "2026-06-09/90-booster.yaml"


def _yard(more: str) -> str:
    return f"job: Booster\nkind: yard\npump: booster\nwork: descale\n{more}\n"


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("bath: 15 % muriatic", "strength.bare"),
        ("bath: 5 trade % muriatic", "strength.basis"),
        ("bath: 10 vol % citric", "strength.basis"),
        ("bath: 1 trade % bleach", "bath.chemical"),
        ("bath: 5 wt % soda ash", "bath.chemical"),
        ("soak: 0 min", "quantity.range"),
        ("soak: 121 min", "quantity.range"),
        ("bath: 31 vol % muriatic", "bath.strong"),
        ("bath: 100 vol % muriatic", "bath.strong"),
        ("bath: 31.45 wt % muriatic", "bath.strong"),
        ("bath: 111 g/L muriatic", "bath.strong"),
        ("bath: 3.1 N muriatic", "bath.strong"),
        ("bath: 20 degBe muriatic", "bath.strong"),
        ("bath: 21 wt % citric", "bath.strong"),
        ("tub_height: 14 in", "key.missing"),
        ("setup: nowhere", "name.unknown"),
    ],
)
def test_what_a_bath_can_not_be_is_told_at_its_line(desk: Desk, line: str, code: str) -> None:
    assert desk.write(FILE, _yard(line)).faults(FILE) == [(FILE, 5, code)]


@pytest.mark.parametrize(
    "text",
    ["15 vol % muriatic", "30 vol % muriatic", "1:9 muriatic acid", "5 wt % citric", "30 g/L oxalic", "1.5 N muriatic"],
)
def test_a_bath_is_read_as_the_trade_writes_it(desk: Desk, text: str) -> None:
    job = desk.write(FILE, _yard(f"bath: {text}")).job(FILE)
    assert job.yard is not None
    assert job.yard.bath is not None
    assert job.yard.bath.chemical in text


def test_a_setup_of_another_pump_is_no_test_of_this_one(desk: Desk) -> None:
    other = "\n  - {name: by tap, feed: tap, hoses: [{bore: 1/2 in, length: 50 ft}], tip: long throw}"
    text = (desk.folder / RIG).read_text(encoding="utf-8")
    desk.write(RIG, text.replace("setups:", f"setups:{other}", 1))
    assert desk.write(FILE, _yard("setup: by tap")).faults(FILE) == [(FILE, 5, "yard.setup")]
    assert YARD == FILE


def test_the_strongest_bath_is_the_same_however_it_is_written() -> None:
    row = CHEMICALS["muriatic"].bath
    assert row is not None
    most = row.most
    mixed = acids.diluted(0.3145, most["vol"] / 100.0)
    assert mixed.strength == pytest.approx(most["g_l"], rel=0.02)
    assert mixed.normality == pytest.approx(most["normal"], rel=0.02)
    assert 100.0 * mixed.mass_fraction == pytest.approx(most["wt"], rel=0.02)
    assert 145.0 * (1.0 - 1000.0 / mixed.density) == pytest.approx(most["degbe"], rel=0.03)


def test_a_soak_of_two_hours_is_the_longest_there_is(desk: Desk) -> None:
    job = desk.write(FILE, _yard("soak: 2 h")).job(FILE)
    assert job.yard is not None
    assert job.yard.soak == 7200.0
