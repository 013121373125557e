"""The tap of an address: a bucket written down, held against the plan, learned, and planned with the next time."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from planner.archive.compare.comparison import compared
from planner.archive.compare.differences import Difference, differences
from planner.archive.compare.learn import Before, Correction, Known, corrections, learned_text, place_of
from planner.archive.compare.observed import LONGEST_ADDRESS
from planner.archive.compare.pairs import Pair
from planner.checks.model import findings_of
from planner.contract.record import planned_of
from planner.inputs.models import Learned
from planner.inputs.reading.tree import parse_tree
from planner.inputs.workspace import load
from planner.packet.sections.crew import done
from planner.plan.make import make_plan
from planner.recording.questions import questions
from planner.units import read
from tests import workspaces
from tests.archive import seasons

NOBODY = Known(pumps=(), kinds=(), lots=())
UNWRITTEN: dict[str, Any] = {"job": {"water": None}}
GALLONS = read("5 gal", "volume")


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """A job that writes nothing of its tap."""
    return seasons.plan_of(tmp_path_factory.mktemp("taps"), UNWRITTEN)


def season(plan: dict[str, Any], seconds: list[float], address: str = "") -> list[Pair]:
    """Jobs at one address whose bucket took so long each."""

    def record(number: int, record: dict[str, Any]) -> None:
        record["water"] = {"used_m3": None, "tap_m3": GALLONS, "tap_s": seconds[number]}

    return seasons.season({**plan, "address": address or plan["address"]}, len(seconds), record)


def learned(pairs: list[Pair], known: Known = NOBODY) -> list[Correction]:
    return corrections(compared(pairs).trends, known)


def tap_row(pair: Pair) -> Difference:
    (row,) = [row for row in differences(pair) if row.figure == "tap"]
    return row


@pytest.mark.ci
def test_a_plan_says_what_its_open_tap_gives(plan: dict[str, Any], tmp_path: Path) -> None:
    assert (plan["address"], plan["water"]["source"], plan["water"]["tap_tested"]) == ("1 Case Street", "tap", False)
    assert plan["water"]["tap_m3_per_s"] == pytest.approx(read("5 gpm", "flow"))
    tested = seasons.plan_of(tmp_path / "tested")["water"]
    # Q = Qf ((Ps - P) / (Ps - Pr))^0.54 of a flow test, NFPA 291: 8 gpm at 40 of 60 psi, all of it spent.
    assert tested["tap_m3_per_s"] == pytest.approx(read("8 gpm", "flow") * 3.0**0.54)
    pond = {"job": {"water": {"source": "tank", "static": None, "flow_test": None, "backflow": None}}}
    carried = seasons.plan_of(tmp_path / "carried", pond)["water"]
    assert (carried["source"], carried["tap_m3_per_s"], carried["tap_tested"]) == ("tank", None, None)


@pytest.mark.parametrize(("seconds", "sign", "cause"), [(60.0, "in", None), (90.0, "low", "tap_weak"),
                                                        (40.0, "high", "tap_strong")])  # fmt: skip
def test_the_bucket_is_held_against_the_tap_of_the_plan(
    plan: dict[str, Any], seconds: float, sign: str, cause: str | None
) -> None:
    row = tap_row(season(plan, [seconds])[0])
    assert (row.sign, row.cause) == (sign, cause)
    assert row.done == pytest.approx(GALLONS / seconds)


def test_plans_and_records_kept_before_the_tap_was_asked_for_say_nothing_of_it(plan: dict[str, Any]) -> None:
    old = {key: value for key, value in plan.items() if key != "address"}
    old["water"] = {"need_m3": plan["water"]["need_m3"]}
    (pair,) = season(plan, [60.0])
    before = seasons.pair(old, dict(pair.record))
    assert tap_row(before).sign is None
    assert learned([before]) == []
    empty = {**seasons.empty_record(plan), "water": {"used_m3": 1.0}}
    assert [row.figure for row in differences(seasons.pair(plan, empty))] == ["water"]


def test_a_tap_is_the_middle_of_its_buckets_however_the_address_is_written(plan: dict[str, Any]) -> None:
    first, second = season(plan, [50.0, 52.0], "1 Case Street"), season(plan, [48.0, 500.0], "1  CASE street ")
    (tap,) = learned([*first, *second])
    assert (tap.records, tap.key) == (4, "flow")
    assert tap.value == pytest.approx(GALLONS / 51.0, rel=0.01), "one slow bucket carries nothing away"
    assert len(learned([*first, *season(plan, [48.0], "2 Case Street")])) == 2
    assert learned(season(plan, [0.5])) == [], "no tap gives that: the seconds were written wrong"


def test_a_hydrant_teaches_nothing_of_the_tap(plan: dict[str, Any]) -> None:
    assert learned(season({**plan, "water": {**plan["water"], "source": "hydrant"}}, [20.0])) == []


def test_a_story_in_place_of_an_address_teaches_nothing(plan: dict[str, Any]) -> None:
    assert len(learned(season(plan, [50.0], "a" * LONGEST_ADDRESS))) == 1
    assert learned(season(plan, [50.0], "a" * (LONGEST_ADDRESS + 1))) == []


def test_what_is_learned_of_a_tap_reads_back(plan: dict[str, Any]) -> None:
    (found,) = learned(season(plan, [37.3], 'Häuser: 3 "b"'))
    tree = parse_tree(learned_text([found]).encode(), "learned.yaml")
    assert tree.root is not None
    tap = Learned.model_validate(tree.root.plain()).taps['Häuser: 3 "b"']
    assert (tap.flow, tap.records, tap.through) == (pytest.approx(found.value, rel=1e-12), 1, seasons.START)


def test_only_another_value_than_the_files_is_a_change(plan: dict[str, Any]) -> None:
    (found,) = learned(season(plan, [50.0]))
    place = place_of("taps", "1 CASE  Street")

    def known(value: float) -> Known:
        return Known(pumps=(), kinds=(), lots=(), before={place: Before(value=value)})

    assert found.changed
    (same,) = learned(season(plan, [50.0, 50.0]), known(found.value))
    assert not same.changed, "more records that say the same change nothing"
    (other,) = learned(season(plan, [60.0]), known(found.value))
    assert other.changed
    assert other.old == Before(value=found.value)


def with_learned(folder: Path, text: str, change: dict[str, Any]) -> Any:
    job = workspaces.write(folder, workspaces.merged(workspaces.base(), change))
    (folder / "learned.yaml").write_text(text, encoding="utf-8")
    read_back = load([job])
    assert read_back.faults == ()
    return read_back.jobs[0]


TAPS = "taps: {1 case  STREET: {flow: 7 gpm, records: 2, through: 2026-05-01}}\n"


def test_a_job_that_says_nothing_of_its_tap_is_planned_with_the_one_on_record(tmp_path: Path) -> None:
    job = with_learned(tmp_path, TAPS, UNWRITTEN)
    assert (job.water.test_flow, job.water.residual, job.water.tested) == (
        pytest.approx(read("7 gpm", "flow")),
        0.0,
        True,
    )
    assert "tap" not in job.water.assumed
    plan = make_plan(job, tables=False)
    assert "tap as found on 2026-05-01, learned from 2 records" in plan.notes
    (found,) = [finding for finding in findings_of(plan) if finding.code == "supply.pressure"]
    assert (found.level, found.case) == ("ok", "fills_tank")
    assert [(entry.planned, entry.lead) for entry in done.tap(plan, "us")] == [("43", "5 gal in")]
    assert [entry.planned for entry in done.tap(plan, "si")] == ["45"]


@pytest.mark.parametrize(
    "change",
    [
        {"job": {"water": None, "tap": "5 gal in 50 s"}},
        {},
        {"job": {"water": {"flow_test": None, "source": "hydrant"}}},
        {"job": {"water": None, "site": {"address": "11 Case Street"}}},
    ],
    ids=["bucket", "flow test", "hydrant", "another address"],
)
def test_what_the_job_says_goes_before_it_and_no_other_tap_is_taken_for_it(
    tmp_path: Path, change: dict[str, Any]
) -> None:
    job = with_learned(tmp_path, TAPS, change)
    assert job.water.test_flow != pytest.approx(read("7 gpm", "flow"))
    assert not any("learned" in note for note in job.assumed)


def test_the_tap_is_asked_for_with_what_was_planned(plan: dict[str, Any]) -> None:
    def asked(plan: dict[str, Any]) -> list[tuple[str, str]]:
        found = questions(plan, planned_of(plan), "us")
        return [(one.planned, one.unit) for one in found if one.path == "water.tap"]

    assert asked(plan) == [("5 gal in 60 s", "5 gal in {} s")]
    assert asked({**plan, "water": {**plan["water"], "source": "pond"}}) == []


def test_an_undated_bucket_teaches_nothing(plan: dict[str, Any]) -> None:
    (pair,) = season(plan, [50.0])
    undated = Pair(job="loose", date=None, revision=1, number=pair.number, record=pair.record, plan=pair.plan)
    assert learned([undated]) == []
    assert learned([pair])[0].through == datetime.date(2026, 3, 2)
