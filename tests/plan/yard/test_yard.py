"""A yard job planned: what is poured, what it takes off the shelf, how long it takes, and its JSON."""

from __future__ import annotations

import itertools
from math import pi
from pathlib import Path

import pytest

from planner.checks.evaluate import check_plan
from planner.contract.plan import job_json
from planner.inputs.models.yard import _bath as bath_text
from planner.inputs.workspace import load
from planner.plan.make import make_plan
from planner.plan.yard.bath import SPENT_BATH
from planner.units import Unreadable
from planner.words import spoken as words
from planner.words.assumed import assumed_words
from tests import workspaces
from tests.plan.yard.benches import GAL, POUND, SETUPS, YARD, bath_of, checked, told


def test_the_usual_bath_comes_to_its_check_values(tmp_path: Path) -> None:
    bath = bath_of(checked(tmp_path, {"tub": "5 gal"}))
    assert bath.stock == pytest.approx(0.75 * GAL)
    assert bath.stock + bath.water == pytest.approx(bath.volume) == pytest.approx(5 * GAL)
    assert bath.strength == pytest.approx(54.66, abs=0.01)
    assert bath.acid is not None
    assert 100.0 * bath.acid.mass_fraction == pytest.approx(5.337, abs=1e-3)
    assert bath.acid.normality == pytest.approx(1.499, abs=1e-3)
    assert bath.acid.rise == pytest.approx(4.1, abs=0.7)
    # A tabulated heat of dilution and its capacity of 75.0 g of lime a litre of mixed bath.
    assert bath.capacity == pytest.approx(0.0750 * 1000.0 * bath.fills, rel=1e-3)
    assert bath.spent == pytest.approx(0.8 * (bath.capacity or 0.0))
    (of_bath,) = [one for one in bath.neutralise if one.purpose == SPENT_BATH]
    assert of_bath.mass / POUND == pytest.approx(1.05 * bath.fills / GAL, rel=5e-3)
    assert of_bath.carry == pytest.approx(1.2 * of_bath.mass)


@pytest.mark.ci
def test_acid_is_conserved_and_the_parts_are_what_is_poured(tmp_path: Path) -> None:
    for number, text in enumerate(
        ("15 vol % muriatic", "1:9 muriatic", "4 wt % muriatic", "1.2 N muriatic", "40 g/L muriatic")
    ):
        job = checked(tmp_path / f"{number}", {"bath": text})
        bath = bath_of(job)
        (share,) = bath.pours
        assert share.lot.nominal is not None
        assert bath.stock * share.lot.nominal == pytest.approx(bath.fills * bath.strength, rel=1e-9)
        assert bath.stock + bath.water == pytest.approx(bath.volume, rel=1e-12)
        assert 0.99 * bath.volume < bath.fills < bath.volume
    assert bath.strength == pytest.approx(40.0, rel=1e-9)


def test_soda_ash_on_the_shelf_is_taken_by_its_own_weight(tmp_path: Path) -> None:
    acid = {"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "5 gal"}
    ash = {"name": "ash", "chemical": "soda_ash", "on_hand": "50 lb"}
    bath = bath_of(checked(tmp_path, change={"stock": {"lots": [acid, ash]}}))
    of_bath, rinse = bath.neutralise
    assert of_bath.mass / POUND == pytest.approx(0.663 * bath.fills / GAL, rel=5e-3)
    assert rinse.agent == bath.rinse_with == "soda_ash", "nobody buys bicarbonate for what soda ash does too"
    # As much acid as 30 g/L of bicarbonate takes: 106 g do what 168 g do.
    assert bath.rinse_agent == pytest.approx(30.0 * bath.rinse * 105.9884 / (2 * 84.0066), rel=1e-3)


def test_nothing_written_is_five_gallons_of_fifteen_percent_and_said(tmp_path: Path) -> None:
    job = checked(tmp_path, {"bath": None})
    bath = bath_of(job)
    assert (bath.default, bath.tub_default, bath.amount) == (True, True, pytest.approx(15.0))
    assert bath.volume == pytest.approx(5 * GAL)
    assert {"bath: 15 vol % muriatic", "tub: 5.0 gal of bath"} <= set(assumed_words(job.plan, "us"))
    assert "tub: 18.9 L of bath" in assumed_words(job.plan, "si"), "in the reader's units"
    assert checked(tmp_path / "test", {"bath": None, "work": "test"}).plan.yard.bath is None


def test_levels_stand_by_the_tubs_own_width(tmp_path: Path) -> None:
    tub = {"tub": "5 gal", "across": "12 in", "tub_height": "20 in"}
    bath = bath_of(checked(tmp_path, tub))
    area = pi / 4.0 * (12 * 0.0254) ** 2
    water, acid = bath.levels
    assert (water.what, acid.what) == ("water", "muriatic")
    assert water.dip == pytest.approx(4.25 * GAL / area)
    assert acid.dip == pytest.approx(bath.fills / area)
    assert (water.by_stick, acid.by_stick) == (True, False), "an inch and a half of acid is measured, not read off"
    assert bath.free == pytest.approx(20 * 0.0254 - (bath.fills + 0.1 * bath.volume) / area)


@pytest.mark.parametrize(("height", "level"), [("12 in", "stop"), ("13 in", "caution"), ("18 in", "ok")])
def test_a_tub_that_would_run_over_stops(tmp_path: Path, height: str, level: str) -> None:
    job = checked(tmp_path, {"tub": "5 gal", "across": "11.2 in", "tub_height": height})
    assert told(job, "mix.heel")["tub"][0] == level


def test_crystals_are_weighed_and_only_the_first_proton_of_citric_counts(tmp_path: Path) -> None:
    citric = {"name": "citric", "chemical": "citric", "on_hand": "10 lb"}
    job = checked(tmp_path, {"bath": "5 wt % citric"}, {"stock": {"lots": [citric]}})
    bath = bath_of(job)
    assert bath.stock_mass == pytest.approx(bath.strength * bath.volume)
    assert bath.strength == pytest.approx(50.95, abs=0.05)  # 5 % of 1.0189 kg/L
    assert bath.capacity == pytest.approx((bath.stock_mass or 0.0) / 192.1238 * 100.0869 / 2, rel=1e-4)
    assert (bath.acid, bath.share) == (None, None)
    assert told(job, "mix.reach")["bath"] == ("ok", "ok")


def test_oxalic_seals_lime_and_more_than_dissolves_stops(tmp_path: Path) -> None:
    oxalic = {"stock": {"lots": [{"name": "ox", "chemical": "oxalic", "on_hand": "20 lb"}]}}
    weak = checked(tmp_path / "weak", {"bath": "3 wt % oxalic"}, oxalic)
    assert bath_of(weak).capacity is None
    assert told(weak, "mix.reaction")["bath"] == ("caution", "bath_seals")
    strong = checked(tmp_path / "strong", {"bath": "20 wt % oxalic"}, oxalic)
    assert told(strong, "mix.reach")["bath"] == ("stop", "wont_dissolve")
    assert not bath_of(strong).reachable


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("0.15 vol % muriatic", "15 vol % muriatic"), ("0.1 vol % muriatic", "10 vol % muriatic"),
        ("1.5 vol % muriatic", "15 vol % muriatic"), ("0.12 N muriatic", "1.2 N muriatic"),
        ("1:100 muriatic", "15 vol % muriatic"), ("0.5 wt % citric", "5 wt % citric"), ("0.3 wt % oxalic", "3 wt % oxalic"),
        ("0.001 vol % muriatic", "15 vol % muriatic"),
    ],
)  # fmt: skip
def test_a_bath_next_to_water_is_a_slip_and_told_as_what_was_meant(text: str, meant: str) -> None:
    with pytest.raises(Unreadable) as fault:
        bath_text(text)
    assert fault.value.code == "bath.weak"
    assert f"write `{meant}`" in str(fault.value.remedy)


@pytest.mark.parametrize(
    "text", ["2 vol % muriatic", "0.2 N muriatic", "7 g/L muriatic", "1 wt % citric", "5 g/L oxalic"]
)
def test_the_weakest_bath_is_still_one(text: str) -> None:
    assert bath_text(text).strength.amount > 0.0


@pytest.mark.parametrize(
    ("bath", "stock", "expected"),
    [
        ("30 vol % muriatic", "38 wt %", ("stop", "bath_too_strong")),  # 136 g/L, 3.7 N
        ("30 vol % muriatic", "31.45 wt %", ("caution", "bath_above")),
        ("10.5 wt % muriatic", "31.45 wt %", ("caution", "bath_above")),
        ("3 N muriatic", "31.45 wt %", ("caution", "bath_above")),
        ("7 degBe muriatic", "31.45 wt %", ("caution", "bath_above")),
        ("15 vol % muriatic", "4 wt %", ("stop", "bath_weak")),
        ("2 vol % muriatic", "31.45 wt %", ("ok", "bath_ok")),
    ],
)
def test_strength_is_judged_by_what_the_bath_really_holds(
    bath: str, stock: str, expected: tuple[str, str], tmp_path: Path
) -> None:
    lots = [
        {"name": "acid", "chemical": "muriatic", "strength": stock, "on_hand": "5 gal"},
        {"name": "bag", "chemical": "bicarbonate", "on_hand": "50 lb"},
    ]
    job = checked(tmp_path, {"bath": bath}, {"stock": {"lots": lots}})
    assert told(job, "mix.strength")["bath"] == expected


@pytest.mark.parametrize(
    ("key", "text", "remedy"),
    [
        ("across", "15 ft", "write `15 in`"), ("across", "15 mm", "write `15 in`"), ("across", "9 m", "write `9 in`"),
        ("tub_height", "12 ft", "write `12 in`"), ("tub_height", "2 in", "measure it inside"),
    ],
)  # fmt: skip
def test_a_tub_wider_or_lower_than_any_is_a_slip_of_the_unit(key: str, text: str, remedy: str, tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.merged(workspaces.base(), SETUPS), {})
    files["job"] = {**YARD, "across": "15 in", key: text}
    path = workspaces.write(tmp_path, files)
    (fault,) = load([path.parent]).faults
    assert (fault.code, remedy in fault.remedy) == ("quantity.range", True)


@pytest.mark.ci
def test_lime_comes_last_and_its_heat_is_a_caution_or_a_stop(tmp_path: Path) -> None:
    acid = {"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "5 gal"}
    sack = {"name": "sack", "chemical": "lime", "on_hand": "50 lb"}
    bag = {"name": "bag", "chemical": "bicarbonate", "on_hand": "50 lb"}
    both = checked(tmp_path / "both", {}, {"stock": {"lots": [acid, sack, bag]}})
    assert bath_of(both).neutralise[0].agent == "bicarbonate", "though the lime stands first"
    levels = {}
    for bath in ("5 vol % muriatic", "15 vol % muriatic", "30 vol % muriatic"):
        job = checked(tmp_path / bath[:2].strip(), {"bath": bath}, {"stock": {"lots": [acid, sack]}})
        levels[bath[:2].strip()] = told(job, "mix.reaction").get("bath, neutralized")
        first, rinse = bath_of(job).neutralise
        assert (first.agent, rinse.agent) == ("lime", "bicarbonate"), "lime bites what is rinsed in it"
    assert levels == {"5": None, "15": ("caution", "bath_heat"), "30": ("stop", "bath_hot")}
    rise = job_json(job, "si")["bath"]["neutralise"][0]["rise_delta_k"]
    assert 51.0 < rise < 55.0
    assert next(one for one in job_json(job, "si")["agents"] if one["agent"] == "lime")["rise_delta_k"] == rise
    (finding,) = [one for one in job.findings if one.case == "bath_hot"]
    assert "up to 96 F" in words.message(finding, "us")
    assert "up to 54 C" in words.message(finding, "si")
    assert "pH 12" in words.message(finding, "us")
    assert "bicarbonate" in words.remedy(finding, "us")


def test_a_bath_stronger_than_its_stock_stops_and_takes_nothing(tmp_path: Path) -> None:
    acid = {"name": "acid", "chemical": "muriatic", "strength": "8 wt %", "on_hand": "5 gal"}
    job = checked(tmp_path, {"bath": "100 g/L muriatic"}, {"stock": {"lots": [acid]}})
    assert told(job, "mix.reach")["bath"] == ("stop", "too_weak")
    assert dict(job.plan.left.taken) == {}
    assert job_json(job, "si")["bath"]["stock_m3"] is None


def test_two_lots_are_emptied_oldest_first_and_the_blend_has_the_strength_asked_for(tmp_path: Path) -> None:
    lots = [
        {"name": "old", "chemical": "muriatic", "strength": "28 wt %", "on_hand": "0.25 gal"},
        {"name": "new", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "4 gal"},
    ]
    bath = bath_of(checked(tmp_path, {"bath": "50 g/L muriatic"}, {"stock": {"lots": lots}}))
    old, new = bath.pours
    assert (old.lot.name, old.stock) == ("old", pytest.approx(0.25 * GAL))
    active = sum(one.stock * (one.lot.nominal or 0.0) for one in bath.pours)
    assert active == pytest.approx(50.0 * bath.fills, rel=1e-6)
    assert new.stock > old.stock


def test_more_than_is_on_hand_stops_and_is_bought(tmp_path: Path) -> None:
    acid = {"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "0.5 gal"}
    job = checked(tmp_path, {}, {"stock": {"lots": [acid]}})
    assert told(job, "mix.stock")["muriatic"] == ("stop", "short")
    assert bath_of(job).short == pytest.approx(0.25 * GAL)
    none = checked(
        tmp_path / "none", {}, {"stock": {"lots": [{"name": "drum", "chemical": "bleach", "strength": "12 trade %"}]}}
    )
    assert told(none, "mix.stock")["muriatic"] == ("stop", "no_lot")
    assert bath_of(none).strength == pytest.approx(54.66, abs=0.01), "what is sold is taken"


def test_a_bath_of_a_stock_hardly_stronger_leaves_no_water_to_pour_it_into(tmp_path: Path) -> None:
    acid = {"name": "acid", "chemical": "muriatic", "strength": "10.4 wt %", "on_hand": "9 gal"}
    job = checked(tmp_path, {"bath": "109 g/L muriatic"}, {"stock": {"lots": [acid]}})
    assert told(job, "mix.reach")["bath"] == ("stop", "too_weak")
    assert bath_of(job).water == 0.0


def test_the_tub_holds_the_bath_the_parts_and_their_foam(tmp_path: Path) -> None:
    wide = bath_of(checked(tmp_path / "wide", {"across": "14 in"}))
    area = pi / 4.0 * (14 * 0.0254) ** 2
    assert wide.tub_least == pytest.approx(1.1 * wide.volume + 3 * 0.0254 * area)
    unknown = checked(tmp_path / "unknown")
    assert bath_of(unknown).tub_least == pytest.approx(1.4 * 5 * GAL)
    (heel,) = [one for one in unknown.findings if one.code == "mix.heel"]
    assert "at least 7.0 gal" in words.message(heel, "us")


def test_the_steps_follow_each_other_and_take_what_the_trade_takes(tmp_path: Path) -> None:
    job = checked(tmp_path, change={"day": {"leave_yard": "07:00"}})
    spans = job.plan.time
    assert [span.what for span in spans] == [
        "test before", "take down", "mix the bath", "soak", "wipe and rinse", "neutralise", "build up", "test after",
    ]  # fmt: skip
    assert spans[0].start == 7 * 3600.0
    for one, following in itertools.pairwise(spans):
        assert one.start is not None
        assert following.start == pytest.approx(one.start + one.seconds)
    seconds = {span.what: span.seconds for span in spans}
    assert seconds["soak"] == pytest.approx(900.0)
    assert seconds["take down"] + seconds["build up"] == pytest.approx(7200.0), "one and a half to two hours"
    only = checked(tmp_path / "descale", {"work": "descale", "soak": "20 min"}).plan.time
    of = {span.what: span.seconds for span in only}
    assert (of["take down"] + of["build up"], of["soak"]) == (pytest.approx(5400.0), pytest.approx(1200.0))
    assert [span.what for span in checked(tmp_path / "test", {"work": "test", "bath": None}).plan.time] == ["test"]


def test_json_has_the_bath_the_parts_and_the_points_a_record_is_held_against(tmp_path: Path) -> None:
    job = checked(tmp_path, {"replace": ["shaft seal"]}, {"rig": {"pumps": {"0": {"stages": "7"}}}})
    whole, quick = job_json(job, "us"), job_json(job, "us", wear=False)
    bath, yard = whole["bath"], whole["yard"]
    assert (bath["chemical"], bath["lot"]) == ("muriatic", "acid")
    assert bath["stock_m3"] + bath["water_m3"] == pytest.approx(bath["volume_m3"])
    assert bath["wipe_s"] == [60.0, 120.0]
    assert [row["what"] for row in bath["levels"]] == ["water", "muriatic"]
    assert [row["for"] for row in whole["neutralise"]] == [row["for"] for row in bath["neutralise"]]
    assert (yard["work"], yard["stages"], yard["replace"]) == (["descale", "rebuild", "test"], 7, ["shaft seal"])
    assert [point["share"] for point in yard["points"]] == [0.6, 0.75, 0.9, 1.0, 1.15]
    assert quick["yard"]["points"] is None
    assert whole["yard_pump"] == "booster"
    wash = job_json(workspaces.checked(tmp_path / "wash", workspaces.base()), "us")
    assert (wash["bath"], wash["yard"]) == (None, None)


def test_a_wash_knows_nothing_of_a_bench(tmp_path: Path) -> None:
    job = workspaces.checked(tmp_path, workspaces.base())
    assert job.plan.yard is None
    assert make_plan(job.plan.input, tables=False).yard is None
    assert check_plan(job.plan).findings
