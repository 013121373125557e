"""Minutes by surface out of records: a crew of a known pace is found again, and the next plan is made at it."""

from __future__ import annotations

import datetime
import random
from pathlib import Path
from typing import Any

import pytest

from planner import cli
from planner.archive.compare.comparison import compared
from planner.archive.compare.differences import differences, spans_of
from planner.archive.compare.kept import kept_corrections
from planner.archive.compare.learn import Known, corrections
from planner.archive.compare.observed import observed
from planner.archive.compare.pace import crew_pace, factor_of, pace_of
from planner.archive.compare.pairs import Pair
from planner.archive.compare.trends import Trend
from planner.archive.kept.opening import opened
from planner.days.archiving import plan_json
from planner.plan.water.model import Pace, Step
from tests import workspaces
from tests.archive import seasons

Json = dict[str, Any]
BEGUN = 8 * 3600.0
KNOWN = Known(pumps=(), kinds={"vinyl", "concrete", "brick_acid", "painted_wood"}, lots=())
BLEACHED: Json = workspaces.merged(workspaces.base(), seasons.CHEMICALS)

CLEANED: Json = {
    "rig": {"tips": [{"name": "fan", "pattern": "fan", "flow": "5 gpm", "at": "1000 psi"},
                     {"name": "flat", "pattern": "surface_cleaner", "flow": "5 gpm", "at": "1000 psi"}]},
    "job": {
        "surfaces": [{"name": "drive", "kind": "concrete", "area": "1500 ft2"}],
        "hose_runs": [
            {"name": "clean", "pump": "washer", "feed": "water", "hoses": ["red"], "tip": "flat", "on_reel": "0 ft",
             "surfaces": ["drive"]},
            {"name": "treat", "pump": "transfer", "feed": "mix", "dosing": "premix", "hoses": ["red"],
             "tip": "soft", "target": "1 ft", "on_reel": "0 ft", "surfaces": ["drive"]},
        ],
        "chemicals": [{"stock": "bleach", "strength": "2 %"}],
    },
}  # fmt: skip
CLEANED["rig"]["tips"].append({"name": "soft", "pattern": "fan", "flow": "3 gpm", "at": "40 psi"})

ACID: Json = {
    "rig": {"tips": [{"name": "fan", "pattern": "fan", "flow": "5 gpm", "at": "40 psi"},
                     {"name": "hard", "pattern": "fan", "flow": "5 gpm", "at": "1000 psi"}]},
    "job": {
        "surfaces": [{"name": "plinth", "kind": "brick_acid", "area": "300 ft2"}],
        "hose_runs": [
            {"name": "acid", "pump": "transfer", "feed": "mix", "dosing": "premix", "hoses": ["red"], "tip": "fan",
             "target": "4 ft", "on_reel": "0 ft", "surfaces": ["plinth"]},
            {"name": "rinse", "pump": "washer", "feed": "water", "hoses": ["red"], "tip": "hard", "target": "4 ft",
             "on_reel": "0 ft", "surfaces": ["plinth"]},
        ],
        "chemicals": [{"stock": "acid", "strength": "1:15"}],
    },
}  # fmt: skip
MIXED: Json = {
    "job": {"surfaces": [{"name": "wall", "kind": "vinyl", "area": "500 ft2"},
                         {"name": "gable", "kind": "painted_wood", "area": "300 ft2"}]},
}  # fmt: skip


def planned(folder: Path, change: Json | None = None, learned: str = "") -> Json:
    """The base job planned as it is archived, with what was learned before."""
    files = workspaces.merged(BLEACHED, change or {})
    folder.mkdir(parents=True, exist_ok=True)
    workspaces.write(folder, files)
    if learned:
        (folder / "learned.yaml").write_text(f"{learned}\n", encoding="utf-8")
    return plan_json(workspaces.checked(folder, files), folder)


def done_in(plan: Json, seconds: float) -> Json:
    """A record of the job whose work at the walls and flush took so long, the mix standing as long as planned."""
    times = {"arrived_s": None, "first_mix_s": BEGUN, "flushed_s": BEGUN + seconds, "left_s": None}
    stood = [seasons.side(row["surface"], row["run"], dwell_s=row["table"]["dwell_s"])
             for row in plan["work"] if "table" in row]  # fmt: skip
    return {**seasons.empty_record(plan), "times": times, "sides": stood}


def at_pace(plan: Json, factor: float) -> float:
    """What the walls and the flush take [s] of a crew whose hands need so much of what this plan has for them.

    They keep to the sections that are printed, and wait and switch as planned.
    """
    rows = [(row["pace_factor"], pace_of(row)) for row in plan["work"]]
    moved = sum(made.seconds(factor) - made.seconds(planned) for planned, made in rows)
    return float(spans_of(plan)["wash"] + moved)


def told(plan: Json, seconds: float) -> tuple[str, float] | None:
    """The kind and the pace one job tells of."""
    one = seasons.pair(plan, done_in(plan, seconds))
    rows = [row for row in observed(one, differences(one)) if row.what == "pace"]
    return (rows[0].name[0], rows[0].value) if rows else None


def season(plan: Json, took: list[float]) -> list[Pair]:
    """So many jobs of one plan, each done in its own time."""

    def done(number: int, record: Json) -> None:
        written = done_in(plan, took[number])
        record["times"], record["sides"] = written["times"], written["sides"]

    return seasons.season(plan, len(took), done)


def pace(pairs: list[Pair]) -> Trend:
    """The one trend of minutes."""
    (found,) = [one for one in compared(pairs).trends if one.what == "pace"]
    return found


@pytest.mark.parametrize("factor", [0.55, 0.65, 0.8, 1.0, 1.25, 1.9])
@pytest.mark.parametrize(
    ("change", "kind"), [({}, "vinyl"), (CLEANED, "concrete"), (ACID, "brick_acid")], ids=["wall", "drive", "acid"]
)
def test_a_crew_of_a_known_pace_is_found_again(tmp_path: Path, change: Json, kind: str, factor: float) -> None:
    plan = planned(tmp_path / "table", change)
    found = told(plan, at_pace(plan, factor))
    assert found is not None
    assert found == (kind, pytest.approx(factor, abs=1e-6))


@pytest.mark.parametrize("dwell", [0.0, 0.5, 0.8, 1.5])
def test_a_mix_that_stood_another_time_makes_no_crew_quicker_or_slower(tmp_path: Path, dwell: float) -> None:
    plan = planned(tmp_path)
    (row,) = plan["work"]
    longest = row["table"]["dwell_s"]
    record = done_in(plan, spans_of(plan)["wash"] - longest + dwell * longest)
    record["sides"] = [seasons.side(row["surface"], row["run"], dwell_s=dwell * longest)]
    one = seasons.pair(plan, record)
    assert [seen.value for seen in observed(one, differences(one)) if seen.what == "pace"] == [pytest.approx(1.0)]


@pytest.mark.ci
def test_a_dwell_nobody_wrote_tells_nothing_where_it_could_hide_a_pace(tmp_path: Path) -> None:
    for name, area, tells in (("small", "500 ft2", False), ("large", "6000 ft2", True)):
        plan = planned(tmp_path / name, {"job": {"surfaces": {"0": {"area": area}}}})
        record = {**done_in(plan, spans_of(plan)["wash"]), "sides": []}
        one = seasons.pair(plan, record)
        assert bool([seen for seen in observed(one, differences(one)) if seen.what == "pace"]) == tells, name


@pytest.mark.parametrize("before", [0.6, 0.9, 1.4])
def test_what_was_learned_before_is_taken_out_again(tmp_path: Path, before: float) -> None:
    plan = planned(tmp_path / "table", learned=f"paces: {{vinyl: {{minutes: {before}, records: 3}}}}")
    assert plan["work"][0]["pace_factor"] == before
    assert told(plan, at_pace(plan, 1.25)) == ("vinyl", pytest.approx(1.25, abs=1e-6))


@pytest.mark.parametrize("factor", [0.8, 1.25])
def test_a_crew_that_waits_less_because_its_hands_take_longer_errs_toward_the_table(
    tmp_path: Path, factor: float
) -> None:
    """Planned anew at its pace, what the mix stands is more of it work and less of it waiting, or less and more."""
    plan = planned(tmp_path / "table")
    true = planned(tmp_path / "true", learned=f"paces: {{vinyl: {{minutes: {factor}, records: 9}}}}")
    found = told(plan, spans_of(true)["wash"])
    assert found is not None
    assert min(factor, 1.0) - 1e-6 <= found[1] <= max(factor, 1.0) + 1e-6
    assert abs(found[1] - factor) < abs(1.0 - factor)


def test_only_hands_are_quicker_or_slower(tmp_path: Path) -> None:
    plan = planned(tmp_path / "table")
    slow = planned(tmp_path / "slow", learned="paces: {vinyl: {minutes: 1.25, records: 9}}")
    (row,), (slowed,) = plan["work"], slow["work"]
    for key in ("wet_s", "apply_s", "rinse_s"):
        assert slowed[key] == pytest.approx(1.25 * row[key])
    for key in ("trigger_s", "dwell_s", "wet_m3", "rinse_m3", "least"):
        assert slowed[key] == row[key], key
    tables = [{key: value for key, value in one["table"].items() if key != "dwell_s"} for one in (row, slowed)]
    assert tables[0] == tables[1]
    # What the mix stands for is partly work on the next section: where that takes longer, less is waited.
    moved = 0.25 * (row["wet_s"] + row["apply_s"] + row["rinse_s"])
    assert 0.5 * moved < spans_of(slow)["wash"] - spans_of(plan)["wash"] <= moved + 1e-6
    assert spans_of(slow)["set_up"] == spans_of(plan)["set_up"]
    walls = [sum(one["seconds"] for one in made["water"]["steps"] if one["what"] in ("wet", "apply", "rinse"))
             for made in (plan, slow)]  # fmt: skip
    # The draw test's gun is open as long as it is, whoever holds it.
    assert 0.95 * moved < walls[1] - walls[0] <= moved, "the tanks' clock follows"


def test_no_step_is_quicker_than_the_gun(tmp_path: Path) -> None:
    quick = planned(tmp_path, learned="paces: {vinyl: {minutes: 0.5, records: 9}}")
    (row,) = quick["work"]
    flow = quick["runs"][0]["flow_m3_per_s"]
    assert row["wet_s"] == pytest.approx(row["wet_m3"] / flow)
    assert row["rinse_s"] == pytest.approx(row["rinse_m3"] / flow)
    assert row["apply_s"] == pytest.approx(0.5 * row["table"]["apply_s"])
    assert row["apply_s"] > row["trigger_s"]


@pytest.mark.ci
def test_a_surface_cleaners_water_goes_with_its_minutes(tmp_path: Path) -> None:
    plan = planned(tmp_path / "table", CLEANED)
    slow = planned(tmp_path / "slow", CLEANED, "paces: {concrete: {minutes: 1.5, records: 9}}")
    uses = [made["water"]["by_use_m3"] for made in (plan, slow)]
    assert uses[0]["clean"] > 0.0
    assert uses[1]["clean"] == pytest.approx(1.5 * uses[0]["clean"])
    assert uses[1]["rinse"] == pytest.approx(uses[0]["rinse"])


def test_a_fixed_section_time_moves_and_its_dwell_does_not(tmp_path: Path) -> None:
    plan = planned(tmp_path / "table", ACID)
    row = plan["work"][0]
    fixed = row["table"]["sections_s"]
    assert fixed == row["sections"] * 18 * 60.0
    made = pace_of(row)
    assert made.seconds(1.0) == pytest.approx(fixed)
    assert made.seconds(1.5) == pytest.approx(1.5 * fixed)
    steps = sum(step.at(0.5) for step in made.steps)
    assert made.seconds(0.5) == pytest.approx(max(0.5 * fixed, steps + row["sections"] * row["dwell_s"][0]))


def test_noise_and_one_wild_job_leave_the_pace_where_it_is(tmp_path: Path) -> None:
    plan = planned(tmp_path / "table")
    true = at_pace(plan, 1.25)
    draw = random.Random(5)
    took = [true + draw.gauss(0.0, 120.0) for _ in range(12)]
    calm = pace(season(plan, took))
    assert calm.now == pytest.approx(1.25, rel=0.04)
    wild = pace(season(plan, [*took[:6], 5.0 * true, *took[7:]]))
    assert (wild.count, wild.set_aside) == (11, 1)
    assert wild.now == pytest.approx(calm.now, rel=0.03)
    outlier = pace(season(plan, [*took[:6], 1.3 * true, *took[7:]]))
    assert outlier.count == 12
    assert outlier.now == pytest.approx(calm.now, rel=0.03)


def test_a_job_far_off_in_water_still_tells_its_pace(tmp_path: Path) -> None:
    plan = planned(tmp_path)
    record = done_in(plan, spans_of(plan)["wash"])
    record["water"] = {**record["water"], "used_m3": 3.0 * plan["water"]["need_m3"]}
    one = seasons.pair(plan, record)
    rows = [row.value for row in observed(one, differences(one)) if row.what == "pace"]
    assert rows == [pytest.approx(1.0)]


def test_less_than_the_gun_needs_is_all_it_needs_and_far_less_is_a_slip() -> None:
    held = [Pace(rinse=Step(table=1000.0, least=700.0), dwell=300.0)]
    assert factor_of(held, 1300.0) == pytest.approx(1.0)
    assert factor_of(held, 1000.0) == pytest.approx(0.7), "the largest that fits"
    assert factor_of(held, 900.0) == pytest.approx(0.7)
    assert factor_of(held, 500.0) == pytest.approx(0.2), "no gun at all would do it in half: set aside"
    assert factor_of(held, -1.0) == 0.0


@pytest.mark.parametrize("factor", [0.5, 0.71, 1.0, 1.37, 2.0, 7.5])
def test_steps_held_by_the_gun_and_a_fixed_time_are_solved_together(factor: float) -> None:
    paces = [
        Pace(wet=Step(table=300.0, least=60.0), apply=Step(table=1000.0, least=800.0), dwell=600.0),
        Pace(apply=Step(table=400.0, least=50.0), rinse=Step(table=500.0, least=350.0), soaks=900.0, sections=1600.0),
        Pace(clean=Step(table=2000.0)),
    ]
    assert factor_of(paces, sum(one.seconds(factor) for one in paces)) == pytest.approx(factor, abs=1e-9)


def test_a_job_of_several_kinds_tells_of_one_that_makes_nearly_all_of_it(tmp_path: Path) -> None:
    even = planned(tmp_path / "even", MIXED)
    assert told(even, spans_of(even)["wash"]) is None
    small = workspaces.merged(MIXED, {"job": {"surfaces": {"1": {"area": "20 ft2"}}}})
    plan = planned(tmp_path / "small", small)
    moved = next(pace_of(row) for row in plan["work"] if row["kind"] == "vinyl")
    done = spans_of(plan)["wash"] + moved.seconds(1.3) - moved.seconds(1.0)
    assert told(plan, done) == ("vinyl", pytest.approx(1.3, abs=1e-6))


def test_plans_kept_before_and_records_without_times_tell_nothing(tmp_path: Path) -> None:
    plan = planned(tmp_path)
    new = ("kind", "pace_factor", "table", "least")
    older = {**plan, "work": [{key: value for key, value in row.items() if key not in new} for row in plan["work"]]}
    assert told(older, 5000.0) is None
    assert compared(season(older, [5000.0] * 4)).count == 4
    assert crew_pace({**plan, "work": []}, 5000.0, 5000.0, {}) is None
    bare = seasons.pair(plan, seasons.empty_record(plan))
    assert [row for row in observed(bare, differences(bare)) if row.what == "pace"] == []


def test_few_records_teach_nothing_and_more_of_them_more(tmp_path: Path) -> None:
    plan = planned(tmp_path / "table")
    true = at_pace(plan, 1.25)

    def learned(count: int, known: Known = KNOWN) -> list[tuple[str, tuple[str, ...], str, float, int]]:
        found = corrections(compared(season(plan, [true] * count)).trends, known)
        return [(one.kind, one.about, one.key, one.value, one.records) for one in found]

    assert learned(2) == []
    assert learned(3) == [("paces", ("vinyl",), "minutes", 1.15, 3)]
    assert learned(8) == [("paces", ("vinyl",), "minutes", 1.20, 8)]
    assert learned(8, Known(pumps=(), kinds=(), lots=())) == []
    assert learned(8, Known(pumps=(), kinds={"vinyl"}, lots=(), own_paces={"vinyl"})) == []


def test_the_first_spray_is_where_the_page_has_it(tmp_path: Path) -> None:
    plan = planned(tmp_path, ACID)
    spans = {span["what"]: span["seconds"] for span in plan["time"]}
    assert spans["fill and mix"] > 0.0
    names = [span["what"] for span in plan["time"]]
    before = plan["time"][names.index("walk-round") : names.index("plinth")]
    assert spans_of(plan)["set_up"] == pytest.approx(sum(span["seconds"] for span in before))
    # A line that is joined in between is a part of the work at the walls.
    walls = plan["time"][names.index("plinth") : names.index("flush") + 1]
    assert spans_of(plan)["wash"] == pytest.approx(sum(span["seconds"] for span in walls))
    whole = sum(span["seconds"] for span in plan["time"])
    assert spans_of({**plan, "work": []}) == {"whole": pytest.approx(whole)}


@pytest.mark.ci
def test_a_season_is_learned_and_planned_with_and_learning_again_changes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    monkeypatch.delenv("PLANNER_ARCHIVE")
    plan = planned(tmp_path / "ws")
    true = at_pace(plan, 1.25)
    seasons.keep(tmp_path / "ws", season(plan, [true] * 8))
    before = workspaces.checked(tmp_path / "ws", BLEACHED).plan
    assert cli.main(["compare", str(tmp_path / "ws"), "--apply"]) == 0
    said = capsys.readouterr().out
    assert "vinyl: minutes 120 % of the table's (records alone: 125 %), from 8 records" in said
    text = (tmp_path / "ws" / "learned.yaml").read_text(encoding="utf-8")
    last = seasons.START + datetime.timedelta(days=21)
    assert f"  vinyl: {{minutes: 1.20, records: 8, through: {last}}}" in text
    after = workspaces.checked(tmp_path / "ws", BLEACHED).plan
    assert after.hash != before.hash
    assert after.work[0].apply == pytest.approx(1.2 * before.work[0].apply)
    assert "vinyl: minutes 120 % of the table's, learned from 8 records" in after.notes
    assert cli.main(["compare", str(tmp_path / "ws"), "--apply"]) == 0
    assert (tmp_path / "ws" / "learned.yaml").read_text(encoding="utf-8") == text
    with opened(None, tmp_path / "ws") as archive:
        rows = [row for row in kept_corrections(archive) if row["kind"] == "paces"]
    assert [(row["about"], row["key"], row["old"], row["new"]) for row in rows] == [(["vinyl"], "minutes", None, 1.2)]


@pytest.mark.parametrize(
    ("row", "factor"),
    [("{kind: vinyl, apply: 90 ft2/min, source: ours}", 1.0), ("{kind: vinyl, section_time: 20 min, source: ours}", 1.0),
     ("{kind: vinyl, rinse: 0.15 gal/ft2, source: ours}", 1.3)],
)  # fmt: skip
def test_minutes_that_somebody_wrote_go_before(tmp_path: Path, row: str, factor: float) -> None:
    (tmp_path / "surfaces.yaml").write_text(f"surfaces:\n  - {row}\n", encoding="utf-8")
    plan = planned(tmp_path, learned="paces: {vinyl: {minutes: 1.3, records: 9}}")
    assert plan["work"][0]["pace_factor"] == factor
    assert any("minutes 130 %" in note for note in plan["assumed"]) == (factor != 1.0)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("paces: {vynil: {minutes: 1.2, records: 3}}", "name.unknown"),
        ("paces: {vinyl: {minutes: 2.5, records: 3}}", "quantity.range"),
        ("paces: {vinyl: {minutes: 0.4, records: 3}}", "quantity.range"),
        ("paces: {vinyl: {records: 3}}", "key.missing"),
        ("paces: {vinyl: {minutes: 1.2, cover: 1.2, records: 3}}", "key.unknown"),
    ],
)
def test_a_slip_in_a_pace_is_a_fault_at_its_place(tmp_path: Path, text: str, code: str) -> None:
    (tmp_path / "learned.yaml").write_text(f"{text}\n", encoding="utf-8")
    read = workspaces.loaded(tmp_path, BLEACHED)
    assert [fault.code for fault in read.faults] == [code]
    assert read.faults[0].where.file.endswith("learned.yaml")
