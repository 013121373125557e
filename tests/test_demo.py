"""The demo is the first thing a newcomer sees: every job comes out as it was meant to, with figures a crew believes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from planner.checks.model import CheckedJob
from planner.cli import main
from planner.days.prepare import Trouble, checked_jobs
from planner.inputs.workspace import load
from planner.locate import jobs
from planner.plan.model import RunPlan
from planner.units import read

DEMO = jobs()
INTENDED = {
    "2026-06-09/10-millrace": "caution",
    "2026-06-09/20-granary": "ok",
    "2026-06-09/30-kiln": "stop",
    "2026-06-10/10-slipway": "caution",
    "2026-06-10/20-millrace-mid": "caution",
    "2026-06-10/30-kiln-acid": "ok",
    "2026-06-10/90-booster": "ok",
}


@pytest.fixture(scope="module")
def demo() -> dict[str, CheckedJob]:
    loaded = load([DEMO])
    assert not loaded.faults, "\n".join(str(fault) for fault in loaded.faults)
    trouble = Trouble(faults=[])
    found = {job.plan.id: job for job in checked_jobs(loaded, trouble)}
    assert not trouble.faults
    assert not trouble.ours
    return found


def between(value: float | None, low: str, high: str, dimension: str) -> bool:
    return value is not None and read(low, dimension) <= value <= read(high, dimension)


def codes(job: CheckedJob, level: str) -> set[str]:
    return {finding.code for finding in job.findings if finding.level == level and finding.accepted is None}


def run_of(job: CheckedJob, name: str) -> RunPlan:
    return next(run for run in job.plan.runs if run.name == name)


@pytest.mark.ci
def test_every_job_comes_out_as_it_was_meant_to(demo: dict[str, CheckedJob]) -> None:
    """A later check may turn a clear job into one with care; none may hold it, and none may free the held one."""
    assert list(demo) == list(INTENDED)
    for name, verdict in INTENDED.items():
        if verdict == "ok":
            assert demo[name].verdict in ("ok", "caution"), name
        else:
            assert demo[name].verdict == verdict, name


def test_one_job_is_held_and_for_the_reason_its_file_gives(demo: dict[str, CheckedJob]) -> None:
    held = demo["2026-06-09/30-kiln"]
    assert codes(held, "stop") == {"mix.reaction"}
    (finding,) = [f for f in held.findings if f.code == "mix.reaction" and f.level == "stop"]
    assert finding.case == "runoff"
    assert "chlorine gas" in str(finding.values["gives"])
    said = (DEMO / "2026-06-09" / "30-kiln.yaml").read_text(encoding="utf-8")
    assert "chlorine gas" in said
    assert "2026-06-10/30-kiln-acid.yaml" in said


def test_the_job_put_right_the_next_day_is_free(demo: dict[str, CheckedJob]) -> None:
    cured = demo["2026-06-10/30-kiln-acid"]
    assert not codes(cured, "stop")
    assert {mix.chemical for mix in cured.plan.mixes} == {"muriatic"}
    assert {run.input.pump.name for run in cured.plan.runs if run.input.pump and run.input.premix} == {"acid pump"}


def test_one_caution_is_accepted_with_a_reason_and_a_name(demo: dict[str, CheckedJob]) -> None:
    accepted = [(job.plan.id, f) for job in demo.values() for f in job.findings if f.accepted is not None]
    ((job, finding),) = accepted
    assert (job, finding.code, finding.level) == ("2026-06-10/10-slipway", "mix.strength", "caution")
    assert finding.accepted is not None
    assert finding.accepted[1] == "owner"


def test_the_house_wash_reaches_and_mixes_as_a_crew_knows_it(demo: dict[str, CheckedJob]) -> None:
    plan = demo["2026-06-09/10-millrace"].plan
    (run,) = plan.runs
    assert between(run.flow, "9 gpm", "10.5 gpm", "flow")
    assert between(run.tip_pressure, "26 psi", "35 psi", "pressure")
    assert run.reach is not None
    assert between(run.reach.nominal, "37 ft", "45 ft", "height")
    assert between(run.reach.low, "30 ft", "38 ft", "height")
    (mix,) = plan.mixes
    assert mix.lot is not None
    assert mix.lot.name == "H-0518"
    assert mix.dial is not None
    assert 1.5 < mix.dial < 2.5
    assert between(mix.mix, "60 gal", "85 gal", "volume")
    assert between(mix.stock, "5 gal", "9 gal", "volume")
    assert between(plan.water.rinse, "350 gal", "420 gal", "volume")


def test_the_roof_gets_its_mix_over_the_ridge_from_one_batch(demo: dict[str, CheckedJob]) -> None:
    plan = demo["2026-06-09/20-granary"].plan
    (run,) = plan.runs
    assert run.input.past_eave > 0
    assert run.reach is not None
    assert run.needed is not None
    assert run.reach.low >= run.needed
    assert between(run.flow, "2 gpm", "3.5 gpm", "flow")
    assert between(run.pump_pressure, "40 psi", "58 psi", "pressure")
    (mix,) = plan.mixes
    (batch,) = mix.batches
    assert between(batch.mix, "25 gal", "32 gal", "volume")
    assert mix.heel == pytest.approx(read("2 gal", "volume"))
    assert between(mix.stock, "7.5 gal", "10 gal", "volume")
    assert batch.stock + batch.water + batch.soap + batch.heel == pytest.approx(batch.mix, rel=1e-9)
    assert plan.water.rinse == 0.0


def test_the_drive_is_cleaned_treated_and_rinsed_by_one_setup(demo: dict[str, CheckedJob]) -> None:
    job = demo["2026-06-10/10-slipway"]
    treat = run_of(job, "flat")
    clean, rinse = treat.roles["cleaner"], treat.roles["rinse_tip"]
    assert between(clean.tip_pressure, "2200 psi", "2800 psi", "pressure")
    assert between(clean.shut_off_pressure, "2950 psi", "3050 psi", "pressure")
    assert between(rinse.tip_pressure, "450 psi", "650 psi", "pressure")
    assert treat.injector_draws
    assert between(treat.flow, "5.8 gpm", "6.3 gpm", "flow")
    (mix,) = job.plan.mixes
    assert mix.kind == "injector"
    assert mix.wall == pytest.approx(9.0, rel=1e-6)
    assert mix.jug_stock is not None
    assert 0.8 < mix.jug_stock <= 1.0
    assert between(job.plan.water.clean, "300 gal", "360 gal", "volume")
    concrete = job.plan.work[-1]
    assert concrete.rinse_volume == pytest.approx(read("800 ft2", "area") * read("0.15 gal/ft2", "spread"))


def test_the_repeat_takes_what_it_does_not_write_and_keeps_its_own_bucket(demo: dict[str, CheckedJob]) -> None:
    first, again = demo["2026-06-09/10-millrace"].plan.input, demo["2026-06-10/20-millrace-mid"].plan.input
    assert again.job.near == first.job.near
    assert again.runs[0].standoff == first.runs[0].standoff
    assert again.water.test_flow == pytest.approx(read("5 gal", "volume") / 48.0)
    assert first.water.test_flow == pytest.approx(read("5 gal", "volume") / 50.0)
    assert again.runs[0].target == pytest.approx(read("18 ft", "height"))


def test_acid_and_bleach_share_no_pump_no_tank_and_no_hose(demo: dict[str, CheckedJob]) -> None:
    gear: dict[str, set[str]] = {}
    for job in demo.values():
        for mix in job.plan.mixes:
            used = gear.setdefault(mix.chemical, set())
            used |= {hose.name for hose in mix.run.hoses}
            if mix.run.pump is not None:
                used.add(mix.run.pump.name)
            if mix.run.premix and mix.run.feed_tank is not None:
                used.add(mix.run.feed_tank.name)
    assert gear["muriatic"]
    assert not gear["muriatic"] & gear["hypochlorite"]


@pytest.mark.parametrize("name", INTENDED)
def test_no_line_is_near_its_rating_and_no_pump_starves(demo: dict[str, CheckedJob], name: str) -> None:
    for run in demo[name].plan.runs:
        assert run.flow > 0
        assert run.rating is not None
        assert run.shut_off_pressure is not None
        assert run.shut_off_pressure < 0.9 * run.rating
        assert run.npsh_available is not None
        assert run.npsh_required is not None
        assert run.npsh_available > 2 * run.npsh_required


@pytest.mark.ci
def test_the_season_is_checked_and_printed_as_it_stands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(DEMO)]) == 1
    said = capsys.readouterr()
    assert said.err == ""
    assert said.out.count("HELD") == 1
    assert main(["packet", str(DEMO), "-o", str(tmp_path)]) == 1
    said = capsys.readouterr()
    assert said.err == ""
    made = {str(path.relative_to(tmp_path).with_suffix("")) for path in tmp_path.rglob("*.pdf")}
    assert set(INTENDED) <= made
    assert {line.split("  ")[0] for line in said.out.splitlines() if line.endswith("HELD")} >= {
        str(tmp_path / "2026-06-09" / "30-kiln.pdf")
    }
    assert not list(tmp_path.rglob("*.part"))


def test_every_demo_file_teaches() -> None:
    """It opens with what it is for, says so in short lines, and holds no tab and nothing left to fill in."""
    for path in sorted(DEMO.rglob("*.yaml")):
        text = path.read_text(encoding="utf-8")
        lines = text.splitlines()
        assert lines[0].startswith("# "), path
        assert not lines[0].startswith("# yaml-language-server"), path
        comments = re.findall(r"(?:^|\s)# (.+)$", text, re.M)
        assert len(comments) >= 3, path
        assert max(len(line) for line in lines) <= 120, path
        assert "TODO" not in text, path
        assert "\t" not in text, path


@pytest.mark.ci
def test_yard_work_says_its_bath_and_what_the_pump_should_show(capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(jobs() / "2026-06-10" / "90-booster.yaml")])
    out = capsys.readouterr().out
    assert "in a tub that holds 7 7/8 gal or more: 4 1/2 gal of water, then 64 fl oz of M-2" in out
    assert "a good pump throws 63 ft, gauge 70 psi shut, 5 gal in 32 s; now throws 59 ft" in out
    assert "Gun closed, the gauge reads 58 psi: the pump is at 82 %" in out
    assert "The throw you paced, 61 ft" not in out, "near a sound pump's it is no caution"
