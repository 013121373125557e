"""What a throw, a bucket and a closed gauge say of the pump."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.inputs.tables.defaults import default
from planner.plan.model import JobPlan, RunPlan
from planner.plan.wear.altered import closed_gauge, solve_altered, wall_throw, with_share
from planner.plan.wear.differing import worn_signs
from planner.plan.wear.inverse import Inverse, Measured, plan_inverse
from tests import workspaces
from tests.sampled import examples

PSI = 6894.757293168
GPM = 231 * 0.0254**3 / 60
FOOT, INCH = 0.3048, 0.0254

FLAT_AND_WIDE = {
    "rig": {
        "pumps": {0: {"curve": [["0 gpm", "60 psi"], ["40 gpm", "60 psi"]]}},
        "hoses": {0: {"bore": "4 in", "length": "1 ft"}},
    }
}
TOGETHER = {
    "job": {
        "hose_runs": [
            {"name": name, "pump": "booster", "feed": "water", "hoses": ["red"], "tip": "long throw", "standoff": "10 ft",
             "same_time": [other], "target": "12 ft"}
            for name, other in (("front", "back"), ("back", "front"))
        ]
    }
}  # fmt: skip
PISTON = {"job": {"hose_runs": {0: {"pump": "washer"}}}}
DIAPHRAGM = {"job": {"hose_runs": {0: {"pump": "transfer"}}}}
TAP = {"job": {"hose_runs": {0: {"pump": None, "feed": "tap"}}}}


@lru_cache(maxsize=32)
def _plan(change: str = "{}") -> JobPlan:
    files = workspaces.merged(workspaces.base(), yaml.safe_load(change))
    with tempfile.TemporaryDirectory() as folder:
        return workspaces.checked(Path(folder), files).plan


def plan(change: dict[str, Any] | None = None) -> JobPlan:
    """The base job with a change laid over it, planned once."""
    return _plan(yaml.safe_dump(change or {}))


def signs(job: JobPlan, run: RunPlan, share: float = 1.0) -> Measured:
    """What would be measured with the pump at a share of its sound self."""
    point = solve_altered(job.input, run, with_share(run.input, share))
    return Measured(
        throw=wall_throw(run.input, point.tip_heads[0]), flow=point.flows[0], closed=closed_gauge(job.input, run, share)
    )


def told(change: dict[str, Any], **kept: bool) -> Inverse:
    """What the base plan makes of readings taken on a rig that differs from it by `change`."""
    true, written = plan(change), plan()
    seen = signs(true, true.runs[0], true.runs[0].input.pump.condition)
    seen = replace(seen, **{name: None for name, keep in kept.items() if not keep})
    return plan_inverse(written, written.runs[0], seen)


@pytest.mark.ci
@given(st.floats(0.35, 1.15))
@settings(max_examples=examples(25), deadline=None)
def test_a_condition_comes_back_from_the_throw_bucket_and_gauge_it_gives(share: float) -> None:
    job = plan()
    found = plan_inverse(job, job.runs[0], signs(job, job.runs[0], share))
    for read in found.reads:
        assert read.share == pytest.approx(share, abs=1e-6), read.what


@pytest.mark.ci
@given(st.floats(0.35, 1.15))
@settings(max_examples=examples(10), deadline=None)
def test_a_condition_comes_back_with_another_gun_open_too(share: float) -> None:
    job = plan(TOGETHER)
    found = plan_inverse(job, job.runs[1], signs(job, job.runs[1], share))
    assert [read.share for read in found.reads] == pytest.approx([share] * 3, abs=1e-6)


@pytest.mark.ci
@given(st.floats(0.7, 1.15))
@settings(max_examples=examples(10), deadline=None)
def test_a_piston_pumps_share_of_flow_comes_back_from_bucket_and_throw(share: float) -> None:
    job = plan(PISTON)
    seen = replace(signs(job, job.runs[0], share), closed=None)
    assert [read.share for read in plan_inverse(job, job.runs[0], seen).reads] == pytest.approx([share] * 2, abs=1e-6)


@given(st.lists(st.floats(0.35, 1.15), min_size=3, max_size=6, unique_by=lambda share: round(share, 3)))
@settings(max_examples=examples(10), deadline=None)
def test_throw_bucket_and_gauge_all_rise_with_the_condition(shares: list[float]) -> None:
    job = plan()
    found = [signs(job, job.runs[0], share) for share in sorted(shares)]
    for lower, higher in pairwise(found):
        assert lower.throw < higher.throw
        assert lower.flow < higher.flow
        assert lower.closed < higher.closed


@given(st.floats(3.0, 11.0))
@settings(max_examples=examples(20), deadline=None)
def test_without_friction_the_condition_is_the_tips_head_and_lift_over_the_pumps_head(gallons_a_minute: float) -> None:
    # A level curve and a hose without loss: c H = (Q / C)^2 + z, C from the tip's bore and its 0.95.
    job = plan(FLAT_AND_WIDE)
    run = job.runs[0]
    flow = gallons_a_minute * GPM
    area = 3.141592653589793 / 4 * (0.25 * INCH) ** 2
    head = (flow / (0.95 * area)) ** 2 / (2 * 9.80665) + 4 * FOOT
    condition = head / (60 * PSI / (998.2 * 9.80665))
    (read,) = plan_inverse(job, run, Measured(flow=flow)).reads
    if 0.3 < condition < 1.2:
        assert read.share == pytest.approx(condition, rel=2e-4)
    else:
        assert read.share is None


def test_the_closed_gauge_is_in_proportion_to_the_condition() -> None:
    job = plan(FLAT_AND_WIDE)
    found = plan_inverse(job, job.runs[0], Measured(closed=51 * PSI))
    assert found.reads[0].share == pytest.approx(51 / 60, rel=1e-4)


def test_the_band_of_a_throw_is_on_the_jet_above_the_tip() -> None:
    job = plan()
    run = job.runs[0]
    seen = signs(job, run, 0.9).throw
    (read,) = plan_inverse(job, run, Measured(throw=seen)).reads
    jet = seen - run.input.tip_height
    assert signs(job, run, read.low).throw - run.input.tip_height == pytest.approx(jet / 1.15, abs=1e-5)  # type: ignore[arg-type]
    assert plan_inverse(job, run, Measured(throw=0.9 * seen)).reads[0].high > read.share


def test_the_bands_of_bucket_and_gauge_are_their_stated_errors() -> None:
    job = plan()
    run = job.runs[0]
    seen = signs(job, run, 0.8)
    bucket, gauge = plan_inverse(job, run, replace(seen, throw=None)).reads
    assert signs(job, run, bucket.low).flow == pytest.approx(seen.flow / (1 + default("bucket_error")), rel=1e-7)  # type: ignore[arg-type]
    assert signs(job, run, gauge.high).closed == pytest.approx(seen.closed / (1 - default("gauge_error")), rel=1e-7)  # type: ignore[arg-type]
    assert gauge.low < 0.8 < gauge.high < bucket.high


def test_a_worn_pump_is_told_by_all_three_and_written_down_to_the_hundredth() -> None:
    found = told({"rig": {"pumps": {0: {"condition": "0.789"}}}})
    assert found.says == "worn"
    assert found.write is not None
    assert (found.write.key, found.write.value) == ("condition", 0.78)
    assert found.write.low < 0.789 < found.write.high
    (then,) = found.then
    assert then.nominal == pytest.approx(signs(plan(), plan().runs[0], 0.78).throw)
    assert then.low < then.nominal
    assert then.needed == pytest.approx(20 * FOOT)


def test_a_condition_already_written_is_left_alone() -> None:
    job = plan({"rig": {"pumps": {0: {"condition": "0.8"}}}})
    found = plan_inverse(job, job.runs[0], signs(job, job.runs[0], 0.805))
    assert (found.says, found.write) == ("worn", None)
    assert [read.planned for read in found.reads] != [read.sound for read in found.reads]


def test_a_pump_cleaned_since_it_was_written_as_worn_is_written_sound_again() -> None:
    job = plan({"rig": {"pumps": {0: {"condition": "0.7"}}}})
    found = plan_inverse(job, job.runs[0], signs(job, job.runs[0], 1.01))
    assert found.says == "sound"
    assert found.write is not None
    assert found.write.value == 1.0


def test_a_tip_worn_wider_is_told_with_the_bore_it_now_has() -> None:
    found = told({"rig": {"tips": {0: {"orifice": "0.29 in"}}}})
    assert (found.says, found.write) == ("tip_worn", None)
    assert found.orifice == pytest.approx(0.29 * INCH, rel=1e-5)


def test_a_worn_tip_on_a_worn_pump_is_told_as_both() -> None:
    found = told({"rig": {"tips": {0: {"orifice": "0.32 in"}}, "pumps": {0: {"condition": "0.8"}}}})
    assert found.says == "worn_and_tip"
    assert found.orifice == pytest.approx(0.32 * INCH, rel=1e-5)
    assert found.write is not None
    assert found.write.value == 0.8


def test_a_clogged_tip_passes_less_and_throws_as_high() -> None:
    found = told({"rig": {"tips": {0: {"orifice": "0.22 in"}}}})
    assert found.says == "tip_small"
    assert found.orifice == pytest.approx(0.22 * INCH, rel=1e-5)


@pytest.mark.parametrize("throw", [True, False])
def test_a_hose_that_chokes_leaves_the_closed_gauge_sound(throw: bool) -> None:
    found = told({"rig": {"hoses": {0: {"bore": "0.5 in"}}}}, throw=throw)
    assert (found.says, found.write) == ("blocked", None)


def test_a_hose_that_chokes_a_worn_pump_is_told_as_both() -> None:
    found = told({"rig": {"hoses": {0: {"bore": "0.5 in"}}, "pumps": {0: {"condition": "0.8"}}}})
    assert found.says == "worn_and_blocked"
    assert found.write is not None
    assert found.write.value == 0.8


def test_a_bucket_that_no_worn_pump_explains_is_not_laid_to_the_pump_its_gauge_shows_worn() -> None:
    run = _plan().runs[0]
    trickle = solve_altered(_plan().input, run, with_share(run.input, 0.3)).flows[0] / 2
    found = plan_inverse(_plan(), run, Measured(flow=trickle, closed=40 * PSI))
    assert found.says == "worn_and_blocked"


def test_low_flow_and_throw_without_the_gauge_do_not_blame_the_pump_alone() -> None:
    found = told({"rig": {"pumps": {0: {"condition": "0.6"}}}}, closed=False)
    assert found.says == "worn_or_blocked"


def test_a_low_throw_alone_with_the_rest_sound_is_the_tips_edge_or_the_aim() -> None:
    job = plan()
    seen = signs(job, job.runs[0])
    found = plan_inverse(job, job.runs[0], replace(seen, throw=0.7 * seen.throw))
    assert (found.says, found.write) == ("tip_or_aim", None)


def test_a_throw_just_under_the_wear_limit_is_doubtful_by_itself_and_settled_by_the_gauge() -> None:
    job = plan()
    run = job.runs[0]
    seen = replace(signs(job, run, 0.82), flow=None)
    assert plan_inverse(job, run, replace(seen, closed=None)).says == "doubtful"
    assert plan_inverse(job, run, seen).says == "worn"
    assert plan_inverse(job, run, replace(seen, closed=signs(job, run).closed)).says == "sound"


@pytest.mark.parametrize(("flow", "sign"), [(20.0, "high"), (1.0, "low")])
def test_what_no_condition_gives_has_none(flow: float, sign: str) -> None:
    job = plan()
    (read,) = plan_inverse(job, job.runs[0], Measured(flow=flow * GPM)).reads
    assert (read.share, read.sign) == (None, sign)


def test_a_pressure_switch_hides_wear_from_the_closed_gauge() -> None:
    job = plan(DIAPHRAGM)
    run = job.runs[0]
    found = plan_inverse(job, run, Measured(closed=59 * PSI))
    assert (found.says, found.reads[0].share, found.write) == ("switch_only", None, None)
    low = plan_inverse(job, run, Measured(closed=59 * PSI, flow=0.8 * signs(job, run).flow))
    assert low.says == "worn_or_blocked_switch"
    assert low.write is not None
    assert low.write.value < 0.85


def test_a_diaphragm_that_no_longer_gets_to_its_switch_is_worn() -> None:
    job = plan(DIAPHRAGM)
    (read,) = plan_inverse(job, job.runs[0], Measured(closed=40 * PSI)).reads
    assert read.share == pytest.approx(40 / 80, rel=1e-4)


def test_a_piston_pump_short_of_water_is_written_by_its_flow() -> None:
    job = plan(PISTON)
    found = plan_inverse(job, job.runs[0], Measured(flow=4.0 * GPM))
    assert found.says == "piston_worn"
    assert found.write is not None
    assert (found.write.key, found.write.value) == ("flow", pytest.approx(4.0 * GPM))
    assert found.then[0].nominal == pytest.approx(signs(job, job.runs[0], 0.8).throw)


@pytest.mark.parametrize(("psi", "says"), [(2700, "unloader_low"), (3000, "unloader_sound"), (3300, "unloader_high")])
def test_a_piston_pumps_closed_gauge_is_its_unloaders(psi: float, says: str) -> None:
    job = plan(PISTON)
    found = plan_inverse(job, job.runs[0], Measured(closed=psi * PSI))
    assert (found.says, found.reads[0].share) == (says, None)
    assert (found.write is None) == (says == "unloader_sound")


@pytest.mark.parametrize(("share", "says"), [(0.8, "tap_low"), (1.0, "tap_sound"), (1.2, "tap_high")])
def test_without_a_pump_the_bucket_speaks_of_the_tap(share: float, says: str) -> None:
    job = plan(TAP)
    run = job.runs[0]
    found = plan_inverse(job, run, Measured(flow=share * run.flow))
    assert (found.says, found.write, found.reads[0].share) == (says, None, None)


def test_without_a_pump_the_closed_gauge_is_the_taps_static_pressure() -> None:
    job = plan(TAP)
    found = plan_inverse(job, job.runs[0], Measured(closed=45 * PSI))
    assert found.says == "tap_static_low"
    assert found.write is not None
    assert (found.write.key, found.write.value) == ("static", 45 * PSI)


def test_the_signs_of_a_worn_pump_are_those_the_inverse_calls_085() -> None:
    job = plan()
    run = job.runs[0]
    worn = worn_signs(job.input, run)
    assert worn is not None
    found = plan_inverse(job, run, Measured(throw=worn.throw, flow=worn.flow, closed=worn.closed))
    assert [read.share for read in found.reads] == pytest.approx([0.85] * 3, abs=1e-6)


@pytest.mark.parametrize("change", [PISTON, TAP])
def test_without_a_head_to_lose_there_is_no_sign_of_wear(change: dict[str, Any]) -> None:
    job = plan(change)
    assert worn_signs(job.input, job.runs[0]) is None


def test_a_switch_takes_the_gauge_out_of_the_signs_of_wear() -> None:
    job = plan(DIAPHRAGM)
    worn = worn_signs(job.input, job.runs[0])
    assert worn is not None
    assert worn.closed is None
    assert worn.throw is not None
