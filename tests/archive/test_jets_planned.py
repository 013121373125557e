"""What was learned of jets is planned with, by rig and tip, from the season of records to the printed page."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from pypdf import PdfReader

from planner.cli import main
from planner.inputs.workspace import load
from planner.plan.line.throw import low_factor
from planner.plan.make import make_plan
from planner.plan.wear.inverse import Measured, plan_inverse
from planner.remedies.heads import Heads
from tests import workspaces
from tests.archive import seasons
from tests.archive.test_jets import LEAST, measured

LEARNED = "jets: {Case: {long throw: {low: 0.92, records: 4, through: 2026-06-08}}}\n"


def planned(folder: Path, learned: str = LEARNED, change: dict[str, Any] | None = None) -> Any:
    files = workspaces.merged(workspaces.base(), change or {})
    job = workspaces.write(folder, files)
    (folder / "learned.yaml").write_text(learned, encoding="utf-8")
    return load([job])


def test_the_low_reach_is_that_share_of_the_jets_height_over_the_tip(tmp_path: Path) -> None:
    without = make_plan(planned(tmp_path / "a", "{}\n").jobs[0], tables=False)
    with_it = make_plan(planned(tmp_path / "b").jobs[0], tables=False)
    before, after, tip = without.runs[0].reach, with_it.runs[0].reach, without.runs[0].input.tip_height
    assert before is not None
    assert after is not None
    assert (before.factor, after.factor, after.records) == (LEAST, 0.92, 4)
    assert after.nominal == before.nominal
    assert after.low - tip == pytest.approx((before.low - tip) * 0.92 / LEAST)
    assert after.high - tip == pytest.approx((before.high - tip) * 1.08 / 1.15)
    assert without.hash != with_it.hash


def test_another_tip_another_rig_and_a_tap_without_a_pump_keep_the_limit(tmp_path: Path) -> None:
    change = {
        "rig": {"tips": [{"name": "long throw", "pattern": "solid", "orifice": "1/4 in"},
                         {"name": "short", "pattern": "solid", "orifice": "1/4 in"}]},
    }  # fmt: skip
    job = planned(tmp_path, change=change).jobs[0]
    run = job.runs[0]
    short = next(tip for tip in job.rig.tips if tip.name == "short")
    assert low_factor(job, run) == 0.92
    assert low_factor(job, replace(run, tip=short)) == LEAST
    assert low_factor(job, replace(run, pump=None)) == LEAST
    (own,) = (tmp_path / "rigs").iterdir()
    twin = yaml.safe_load(own.read_text(encoding="utf-8")) | {"rig": "Other"}
    (tmp_path / "rigs" / "other.yaml").write_text(yaml.safe_dump(twin), encoding="utf-8")
    other = planned(tmp_path, LEARNED.replace("Case", "Other"), change)
    assert other.faults == ()
    assert low_factor(other.jobs[0], other.jobs[0].runs[0]) == LEAST


def test_a_remedy_with_another_tip_is_judged_by_that_tips_own_band(tmp_path: Path) -> None:
    change = {
        "rig": {"tips": [{"name": "long throw", "pattern": "solid", "orifice": "1/4 in"},
                         {"name": "short", "pattern": "solid", "orifice": "1/4 in"}]},
        "job": {"hose_runs": {"0": {"target": "34 ft"}}},
    }  # fmt: skip
    job = planned(tmp_path, change=change).jobs[0]
    run, heads = job.runs[0], Heads(job=job)
    other = replace(run, tip=next(tip for tip in job.rig.tips if tip.name == "short"))
    known, unknown = heads.needed(run), heads.needed(other)
    assert known is not None
    assert unknown is not None
    assert known < unknown, "of the same bore, and yet it needs more to be as sure"
    between = 0.5 * (known + unknown)
    assert heads.reaches(run, between, surely=True)
    assert not heads.reaches(other, between, surely=True)


@pytest.mark.ci
def test_a_measured_throw_is_read_with_the_tips_own_band(tmp_path: Path) -> None:
    wide = make_plan(planned(tmp_path / "a", "{}\n").jobs[0], tables=False)
    narrow = make_plan(planned(tmp_path / "b").jobs[0], tables=False)
    bands = []
    for one in (wide, narrow):
        reach = one.runs[0].reach
        assert reach is not None
        (read,) = plan_inverse(one, one.runs[0], Measured(throw=0.9 * reach.nominal)).reads
        assert read.share is not None
        assert read.low is not None
        bands.append(read.share - read.low)
    assert bands[1] < bands[0]


def test_a_low_end_the_company_wrote_goes_before_what_was_learned(tmp_path: Path) -> None:
    own = planned(tmp_path / "a", change={"company": {"limits": {"reach_low_factor": "0.88"}}}).jobs[0]
    assert low_factor(own, own.runs[0]) == 0.88
    assert not any("low end" in note for note in own.assumed)
    most = planned(tmp_path / "b", change={"company": {"limits": {"reach_recorded_factor": "0.9"}}}).jobs[0]
    assert low_factor(most, most.runs[0]) == 0.9
    assert "long throw: low end of the reach 90 % of the model's, learned from 4 records" in most.assumed


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("jets: {Case: {long throw: {low: 0.95, records: 4}}}", "quantity.range"),
        ("jets: {Case: {long throw: {low: 0.2, records: 4}}}", "quantity.range"),
        ("jets: {Case: {long thrwo: {low: 0.9, records: 4}}}", "name.unknown"),
        ("jets: {Cose: {long throw: {low: 0.9, records: 4}}}", "name.unknown"),
        ("jets: {Case: {long throw: {records: 4}}}", "key.missing"),
        ("jets: {long throw: {low: 0.9, records: 4}}", "key.shape"),
    ],
)
def test_a_slip_in_what_was_learned_of_jets_is_a_fault_at_its_place(tmp_path: Path, text: str, code: str) -> None:
    read = planned(tmp_path, text + "\n")
    assert read.jobs == ()
    assert {fault.code for fault in read.faults} == {code}
    assert read.faults[0].where.file.endswith("learned.yaml")


@pytest.fixture(autouse=True)
def _own_archive(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")


def _told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(list(words)) in (0, 1)
    return capsys.readouterr().out


@pytest.mark.ci
def test_a_season_of_jets_is_learned_planned_with_and_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "ws"
    plan = seasons.plan_of(folder, {"job": {"hose_runs": {"0": {"target": "34 ft"}}}})
    seasons.keep(folder, measured(plan, [1.0, 0.99, 1.02, 1.0, 1.4]))
    job = str(folder / "2026-06-09" / "10-case.yaml")

    def checked() -> dict[str, Any]:
        (found,) = json.loads(_told(capsys, "check", job, "--json"))["jobs"]
        run: dict[str, Any] = found["runs"][0]
        return {**run, "plan": found["plan"]}

    before = checked()
    seen = _told(capsys, "compare", str(folder))
    assert "Case, long throw: low end of the reach" in seen
    assert "tip Case, long throw" in seen
    assert not (folder / "learned.yaml").exists()
    applied = json.loads(_told(capsys, "compare", str(folder), "--apply", "--json"))
    (learned,) = [one for one in applied["learned"] if one["kind"] == "jets"]
    assert (learned["about"], learned["key"], learned["records"]) == (["Case", "long throw"], "low", 5)
    text = (folder / "learned.yaml").read_bytes()
    after = checked()
    tip = plan["runs"][0]["wear"]["tip_m"]
    rises = [(run["reach_low_m"] - tip) / run["reach_low_factor"] for run in (before, after)]
    assert before["reach_low_factor"] == LEAST
    assert after["reach_low_factor"] == learned["value"] == 0.93
    assert after["condition"] == before["condition"] == 1.0
    assert rises[1] == pytest.approx(rises[0]), "the same jet, in the same wind"
    assert after["reach_low_m"] > before["reach_low_m"]
    assert after["reach_m"] == before["reach_m"]
    assert after["plan"] != before["plan"]

    again = json.loads(_told(capsys, "compare", str(folder), "--apply", "--json"))
    assert (folder / "learned.yaml").read_bytes() == text
    rows = [row for row in again["corrections"] if row["kind"] == "jets"]
    assert [(row["about"], row["new"]) for row in rows] == [(["Case", "long throw"], 0.93)]

    out = tmp_path / "out"
    _told(capsys, "packet", "--owner", job, "-o", str(out))
    packet = " ".join(
        " ".join(page.extract_text() for page in PdfReader(out / "2026-06-09" / "10-case-owner.pdf").pages).split()
    )
    assert "low end, learned from 5 records: 93 %" in packet
    assert "low end of the reach 93 % of the model's, learned from 5 records" in packet
    _told(capsys, "compare", str(folder), "-o", str(out))
    page = " ".join(" ".join(one.extract_text() for one in PdfReader(out / "compared.pdf").pages).split())
    assert "low end of the reach 93 % of the model's height" in page


@pytest.mark.ci
def test_later_low_jets_take_the_narrow_band_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "ws"
    plan = seasons.plan_of(folder)
    seasons.keep(folder, measured(plan, [0.88, 0.9, 0.89, 0.9, 0.9]))
    (folder / "learned.yaml").write_text(LEARNED, encoding="utf-8")
    _told(capsys, "compare", str(folder), "--apply")
    jets = yaml.safe_load((folder / "learned.yaml").read_text(encoding="utf-8"))["jets"]
    assert jets["Case"]["long throw"]["low"] == 0.83, "0.9 x 0.93: under the band of a tip nobody measured"
    job = str(folder / "2026-06-09" / "10-case.yaml")
    after = json.loads(_told(capsys, "check", job, "--json"))["jobs"][0]["runs"][0]
    (folder / "learned.yaml").unlink()
    before = json.loads(_told(capsys, "check", job, "--json"))["jobs"][0]["runs"][0]
    assert after["reach_low_m"] < before["reach_low_m"]
    assert after["reach_high_m"] == before["reach_high_m"], "low jets are no reason to hope for higher ones"
