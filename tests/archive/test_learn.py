"""What many records say: trends that wild values leave alone, forecasts, and what is learned and planned with."""

from __future__ import annotations

import datetime
import random
from pathlib import Path
from typing import Any

import pytest

from planner.archive.compare.comparison import compared
from planner.archive.compare.learn import Known, corrections, learned_text, quoted
from planner.archive.compare.pairs import Pair
from planner.archive.compare.trends import Need, Trend, forecasts
from planner.archive.compare.wear import value_at
from planner.archive.kept.exchange import export, take_in
from planner.archive.kept.opening import opened
from planner.inputs.joining.learned import learned_slips
from planner.inputs.models import Learned
from planner.inputs.reading.tree import parse_tree
from planner.inputs.workspace import load
from planner.plan.make import make_plan
from planner.plan.wear.inverse import least_share
from tests import workspaces
from tests.archive import seasons

KNOWN = Known(pumps={("Case", "booster")}, kinds={"vinyl"}, lots={"drum"})
BOOSTER = ("Case", "booster")


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return seasons.plan_of(tmp_path_factory.mktemp("learn"))


def worn(plan: dict[str, Any], shares: list[float]) -> list[Pair]:
    """A season of closed gauges, the pump at these shares."""
    sound = seasons.as_share(plan, 1.0)["gauge_closed_pa"]
    low = seasons.as_share(plan, 0.6)["gauge_closed_pa"]
    name = plan["runs"][0]["name"]

    def done(number: int, record: dict[str, Any]) -> None:
        closed = low + (sound - low) * (shares[number] - 0.6) / 0.4
        record["readings"] = [seasons.reading(name, gauge_closed_pa=closed)]

    return seasons.season(plan, len(shares), done)


def pump_of(pairs: list[Pair]) -> Trend:
    (found,) = [one for one in compared(pairs).trends if one.subject == "pump"]
    return found


def falling(count: int, by: float = 0.01, noise: float = 0.004) -> list[float]:
    draw = random.Random(7)
    return [1.0 - by * number + draw.gauss(0.0, noise) for number in range(count)]


@pytest.mark.ci
def test_a_falling_pump_is_where_its_line_is_and_a_wild_reading_leaves_it_there(plan: dict[str, Any]) -> None:
    shares = falling(15)
    calm = pump_of(worn(plan, shares))
    assert calm.moves
    assert calm.now == pytest.approx(1.0 - 0.01 * 14, abs=0.01)
    assert calm.per_year == pytest.approx(-0.01 / 3.0 * 365.25, rel=0.15)
    wild = pump_of(worn(plan, [0.62 if number == 6 else share for number, share in enumerate(shares)]))
    assert wild.count == 15
    assert wild.now == pytest.approx(calm.now, abs=0.006)
    impossible = pump_of(worn(plan, [0.3 if number == 6 else share for number, share in enumerate(shares)]))
    assert impossible.count == 14, "no share gives that: it is not counted at all"


def test_a_pump_that_stays_as_it_is_stands_at_its_middle(plan: dict[str, Any]) -> None:
    draw = random.Random(3)
    level = pump_of(worn(plan, [0.9 + draw.gauss(0.0, 0.01) for _ in range(12)]))
    assert not level.moves
    assert level.now == level.middle == pytest.approx(0.9, abs=0.01)


def test_work_on_a_pump_begins_its_line_anew(plan: dict[str, Any]) -> None:
    season = worn(plan, [0.75] * 4 + [0.98] * 4)
    yard_plan = {**plan, "id": "2026-03-12/90-booster", "yard_pump": "booster", "runs": [], "mixes": [], "work": []}
    record = seasons.empty_record(yard_plan)
    record["pump"] = {"bath_s": 1200.0, "spacers": [], "replaced": [], "checked": [], "throw_before_m": None,
                      "throw_after_m": None, "gauge_closed_pa": None}  # fmt: skip
    service = seasons.pair(yard_plan, record, seasons.START + datetime.timedelta(days=10))
    after = pump_of([*season, service])
    assert (after.count, after.since) == (4, service.date)
    assert after.now == pytest.approx(0.98, abs=0.005)
    record["pump"]["bath_s"] = None
    assert pump_of([*season, service]).count == 8, "looking at it changes nothing"


def test_coverage_is_learned_against_the_table_whatever_was_learned_before(plan: dict[str, Any]) -> None:
    part, run = plan["mixes"][0]["parts"][0], plan["runs"][0]["name"]

    def done(_: int, record: dict[str, Any]) -> None:
        record["sides"] = [seasons.side(part["surface"], run, mix_m3=part["mix_m3"] / 0.8)]

    def cover(of: dict[str, Any]) -> float:
        (found,) = [one for one in compared(seasons.season(of, 6, done)).trends if one.what == "cover"]
        return found.middle

    assert cover(plan) == pytest.approx(0.8)
    # The same mix on the same wall, planned with a factor: less area a gallon, so more mix was planned.
    factored = {**part, "cover_factor": 0.8, "mix_m3": part["mix_m3"] / 0.8}
    mixes = [{**plan["mixes"][0], "parts": [factored]}]
    assert cover({**plan, "mixes": mixes}) == pytest.approx(0.8), "it does not run away from what it learned"


def test_mix_made_less_what_was_left_counts_where_no_side_was_written(plan: dict[str, Any]) -> None:
    need = plan["mixes"][0]["parts"][0]["mix_m3"]

    def done(_: int, record: dict[str, Any]) -> None:
        row = dict.fromkeys(("lot", "stock_test", "dial", "batches", "stock_m3", "stock_kg", "water_m3"))
        record["mixes"] = [{"number": 1, **row, "mix_m3": need * 1.35, "left_m3": need * 0.1}]

    (found,) = [one for one in compared(seasons.season(plan, 3, done)).trends if one.what == "cover"]
    assert found.middle == pytest.approx(1.0 / 1.25)


def test_too_few_records_teach_nothing_and_few_teach_little(plan: dict[str, Any]) -> None:
    assert corrections(compared(worn(plan, [0.9] * 2)).trends, KNOWN) == []
    (three,) = corrections(compared(worn(plan, [0.9] * 3)).trends, KNOWN)
    (thirty,) = corrections(compared(worn(plan, [0.9] * 30)).trends, KNOWN)
    assert (three.value, three.records) == (0.90, 3), "a gauge is surer than the guess that a pump is sound"
    assert (thirty.value, thirty.records) == (0.90, 30)
    assert corrections(compared(worn(plan, [0.9] * 3)).trends, Known(pumps=(), kinds=(), lots=())) == []


def test_throws_alone_teach_nothing_of_a_pump(plan: dict[str, Any]) -> None:
    run = plan["runs"][0]
    points = [(point["share"], point["ground_m"]) for point in run["wear"]["points"]]
    thrown = value_at(points, 0.9)

    def done(_: int, record: dict[str, Any]) -> None:
        record["readings"] = [seasons.reading(run["name"], throw_m=thrown)]

    found = compared(seasons.season(plan, 9, done)).trends
    assert corrections(found, KNOWN) == []
    assert not any(one.known for one in found), "a hand aimed it, and it hardly goes with the pump"


def test_a_pump_better_than_its_curve_is_planned_as_sound(plan: dict[str, Any]) -> None:
    (found,) = corrections(compared(worn(plan, [1.03] * 5)).trends, KNOWN)
    assert found.value == 1.0


def test_a_lot_is_planned_with_its_last_test_and_no_test_over_its_paper_counts(plan: dict[str, Any]) -> None:
    strengths = [95.0, 92.0, 400.0]

    def done(number: int, record: dict[str, Any]) -> None:
        amount = strengths[number]
        test = {"amount": amount / 10.0, "basis": "trade", "g_per_l": amount}
        record["lots"] = [{"lot": "drum", "test": test, "on_hand_m3": None, "on_hand_kg": None}]

    (found,) = corrections(compared(seasons.season(plan, 3, done)).trends, KNOWN)
    assert (found.text, found.through) == ("9.2 trade %", seasons.START + datetime.timedelta(days=3))


def test_what_is_learned_reads_back_as_it_was_and_is_the_same_text_again(plan: dict[str, Any], tmp_path: Path) -> None:
    learned = corrections(compared(worn(plan, falling(9))).trends, KNOWN)
    text = learned_text(learned)
    assert text == learned_text(reversed(learned))
    tree = parse_tree(text.encode(), "learned.yaml")
    assert tree.root is not None
    assert not tree.faults
    model = Learned.model_validate(tree.root.plain())
    pump = model.pumps["Case"]["booster"]
    assert (pump.condition, pump.records) == (learned[0].value, 9)
    from planner.archive.compare.kept import keep_corrections

    with opened(None, tmp_path) as archive:
        assert keep_corrections(archive, learned) == 1
        assert keep_corrections(archive, learned) == 0
        export(archive, tmp_path / "out")
    with opened("other.db", tmp_path) as other:
        assert take_in(other, tmp_path / "out")["corrections"] == 1


@pytest.mark.parametrize(
    "name", ["booster", "drum 14", "yes", "12", "a: b", 'a "b" # c', "Häuser", "- x", "a,b", "~", "null"]
)
def test_any_name_reads_back_from_its_key(name: str) -> None:
    tree = parse_tree(f"{quoted(name)}: {{a: b}}\n".encode(), "x")
    assert tree.root is not None
    assert list(tree.root.plain()) == [name]


def test_a_forecast_says_when_a_booked_run_is_no_longer_reached(plan: dict[str, Any]) -> None:
    found = compared(worn(plan, falling(15))).trends
    (pump,) = [one for one in found if one.subject == "pump"]
    assert pump.last is not None

    def need(share: float, days: int) -> Need:
        date = pump.last + datetime.timedelta(days=days) if pump.last is not None else seasons.START
        return Need(rig="Case", pump="booster", job=f"{date}/10-high", run="front", date=date, share=share)

    (enough,) = forecasts(found, [need(0.5, 3)])
    assert not enough.short
    assert enough.falls is not None
    assert (enough.falls - pump.last).days == pytest.approx((pump.now - 0.5) / 0.01 * 3.0, rel=0.15)
    assert enough.earliest is not None
    assert enough.latest is not None
    assert enough.earliest <= enough.falls <= enough.latest
    (short,) = forecasts(found, [need(0.5, 3), need(pump.now - 0.05, 60)])
    assert short.short
    assert short.need.share == pytest.approx(pump.now - 0.05)
    assert short.count == 15
    assert forecasts(found, []) == []


def test_at_the_least_share_the_low_reach_is_just_what_is_needed(tmp_path: Path) -> None:
    high = workspaces.merged(workspaces.base(), {"job": {"hose_runs": {"0": {"target": "34 ft"}}}})
    job = load([workspaces.write(tmp_path, high)]).jobs[0]
    made = make_plan(job, tables=False)
    share = least_share(made, made.runs[0])
    assert share is not None
    files = workspaces.merged(high, {"rig": {"pumps": {"0": {"condition": f"{share:.9f}"}}}})
    worn_run = make_plan(load([workspaces.write(tmp_path / "worn", files)]).jobs[0], tables=False).runs[0]
    assert worn_run.reach is not None
    assert worn_run.reach.low == pytest.approx(worn_run.needed, abs=1e-4)


LEARNED = """
pumps: {Case: {booster: {condition: 0.91, records: 7}}}
surfaces: {vinyl: {cover: 0.9, records: 5}}
lots: {drum: {strength: 9 trade %, on: 2026-06-10, records: 1}}
"""


def with_learned(folder: Path, text: str, change: dict[str, Any] | None = None) -> Any:
    files = workspaces.merged(workspaces.merged(workspaces.base(), seasons.CHEMICALS), change or {})
    job = workspaces.write(folder, files)
    (folder / "learned.yaml").write_text(text, encoding="utf-8")
    return load([job])


@pytest.mark.ci
def test_a_plan_is_made_with_what_was_learned_and_says_so(tmp_path: Path) -> None:
    before = make_plan(
        load([workspaces.write(tmp_path, workspaces.merged(workspaces.base(), seasons.CHEMICALS))]).jobs[0]
    )
    read = with_learned(tmp_path, LEARNED)
    assert read.faults == ()
    after = make_plan(read.jobs[0])
    pump = after.runs[0].input.pump
    assert pump is not None
    assert pump.condition == 0.91
    assert after.mixes[0].parts[0].surface.cover_factor == 0.9
    assert after.mixes[0].parts[0].coverage == pytest.approx(before.mixes[0].parts[0].coverage * 0.9)
    tested = read.jobs[0].lots[0].tested
    assert tested is not None
    assert (tested.strength.amount, tested.on) == (9.0, datetime.date(2026, 6, 10))
    assert after.hash != before.hash, "a packet made with it has another number"
    said = " ".join(after.notes)
    for words in ("booster: condition 0.91, learned from 7 records", "vinyl: coverage 90 %", "drum: strength tested"):
        assert words in said
    (tmp_path / "learned.yaml").unlink()
    again = make_plan(load([tmp_path / "2026-06-09" / "10-case.yaml"]).jobs[0])
    assert again.hash == before.hash


def test_what_somebody_wrote_goes_before_what_was_learned(tmp_path: Path) -> None:
    change: dict[str, Any] = {
        "rig": {"pumps": {"0": {"condition": "0.8"}}},
        "stock": {"lots": {"0": {"tested": {"on": "2026-06-11"}}}},
    }
    (tmp_path / "surfaces.yaml").write_text(
        "surfaces:\n  - {kind: vinyl, cover: [60 ft2/gal, 40 ft2/gal], source: ours}\n", encoding="utf-8"
    )
    (job,) = with_learned(tmp_path, LEARNED, change).jobs
    assert job.runs[0].pump.condition == 0.8
    assert job.surfaces[0].cover_factor == 1.0
    assert job.lots[0].tested.strength.amount == 10.0
    assert not any("learned" in note for note in job.assumed)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("pumps: {Case: {boster: {condition: 0.9, records: 3}}}", "name.unknown"),
        ("pumps: {Cose: {booster: {condition: 0.9, records: 3}}}", "name.unknown"),
        ("surfaces: {vynil: {cover: 0.9, records: 3}}", "name.unknown"),
        ("pumps: {Case: {booster: {condition: 1.4, records: 3}}}", "quantity.range"),
        ("surfaces: {vinyl: {cover: 9, records: 3}}", "quantity.range"),
        ("pumps: {Case: {booster: {records: 3}}}", "key.missing"),
        ("bumps: {}", "key.unknown"),
        ("lots: {drum: {strength: 9 trade %, on: soon, records: 1}}", "date.text"),
    ],
)
def test_a_slip_in_it_is_a_fault_at_its_place(tmp_path: Path, text: str, code: str) -> None:
    read = with_learned(tmp_path, text + "\n")
    assert read.jobs == ()
    assert [fault.code for fault in read.faults] == [code]
    assert read.faults[0].where.file.endswith("learned.yaml")


def test_a_lot_that_is_used_up_is_no_slip(tmp_path: Path) -> None:
    read = with_learned(tmp_path, "lots: {drum 99: {strength: 9 trade %, on: 2026-06-10, records: 1}}\n")
    assert read.faults == ()
    assert list(learned_slips(Learned(), {}, ())) == []


def test_a_test_of_another_fill_of_the_same_container_is_not_used(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), seasons.CHEMICALS)
    files["stock"]["lots"][0]["name"] = "drum 14"
    del files["stock"]["lots"][0]["tested"]
    folder = tmp_path / "ws"
    workspaces.write(folder, files)

    def lot_tested(on: str) -> tuple[str, list[str]]:
        (folder / "learned.yaml").write_text(
            f"lots: {{drum 14: {{strength: 7.0 trade %, on: {on}, records: 1}}}}\n", encoding="utf-8"
        )
        job = load([folder]).jobs[0]
        (lot,) = [one for one in job.lots if one.name == "drum 14"]
        return (str(lot.tested.on) if lot.tested is not None else ""), [one for one in job.assumed if "drum 14" in one]

    assert lot_tested("2026-05-31") == (
        "", ["drum 14: its test of 2026-05-31 is older than the lot, made 2026-06-01, and is not used"]
    )  # fmt: skip
    assert lot_tested("2026-06-01") == (
        "2026-06-01", ["drum 14: strength tested 2026-06-01, learned from its record"]
    )  # fmt: skip


def test_a_written_test_from_before_the_lot_was_made_is_a_fault_at_its_date(tmp_path: Path) -> None:
    files = workspaces.base()
    files["stock"]["lots"][0]["tested"] = {"strength": "7.0 trade %", "on": "2026-05-20"}
    (fault,) = workspaces.loaded(tmp_path / "ws", files).faults
    assert (fault.code, fault.where.path) == ("key.clash", "lots[0].tested.on")
    assert "tested 2026-05-20, before it was made, 2026-06-01" in fault.message
