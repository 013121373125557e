"""Jobs joined: real gear in place of names, every default filled in and named."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.inputs.tables.defaults import default
from tests import workspaces
from tests.inputs.desk import ALDER, BOATHOUSE, DAY, RIG, STOCK, YARD, Desk

FT, PSI, GPM, GAL = 0.3048, 6894.757293168361, 3.785411784e-3 / 60, 3.785411784e-3


def test_a_full_job_is_joined_as_it_was_written(desk: Desk) -> None:
    job = desk.job(BOATHOUSE)
    lake, garden = job.runs
    assert (lake.name, lake.feed, lake.premix) == ("lake side", "tank", False)
    assert lake.pump is not None
    assert lake.pump.name == "booster"
    assert lake.dosing is not None
    assert lake.dosing.kind == "metered"
    assert lake.feed_tank is not None
    assert lake.feed_head == pytest.approx(2 * FT)
    assert [hose.name for hose in lake.hoses] == ["red 1", "red 2"]
    assert [hose.roughness for hose in lake.hoses] == [1e-5, 3e-5]
    assert [hose.rated for hose in lake.hoses] == [pytest.approx(200 * PSI), None]
    assert {f.kind: (f.count, f.k, f.k_times_ft) for f in lake.fittings} == {
        "coupling": (3, 2.0, None), "ball_valve": (1, None, 3), "elbow": (2, None, 30), "k": (1, 3.5, None),
    }  # fmt: skip
    assert all(fitting.bore == pytest.approx(0.745 * 0.0254) for fitting in lake.fittings)
    assert (lake.uphill, lake.tip_height, lake.standoff) == pytest.approx((6 * FT, 4 * FT, 12 * FT))
    assert [piece.name for piece in lake.suction] == ["suction"]
    assert [fitting.kind for fitting in lake.suction_fittings] == ["foot_valve", "elbow"]
    assert garden.hoses[0].name == "hose 1"
    assert garden.hoses[0].roughness == 1.5e-6
    assert garden.target == pytest.approx(31 * FT)
    assert job.limits["wind_caution"] == pytest.approx(3.57632)
    assert job.place_in_day == (1, 3)
    assert job.date is not None
    assert job.date.isoformat() == "2026-06-09"


def test_a_short_job_takes_its_setup_and_lays_its_own_keys_over_it(desk: Desk) -> None:
    desk.change(
        ALDER, "uphill: 4 ft", "uphill: 4 ft\ntip_height: 5 ft\non_reel: 20 ft\nfittings: {elbow: 1}\ntarget: 26 ft"
    )
    job = desk.job(ALDER)
    (run,) = job.runs
    assert (run.name, run.uphill, run.tip_height) == ("house", pytest.approx(4 * FT), pytest.approx(5 * FT))
    assert run.on_reel == pytest.approx(20 * FT)
    assert [fitting.kind for fitting in run.fittings] == ["elbow"]
    assert run.target == pytest.approx(26 * FT)
    assert job.places["hose_runs[0]"].line == 7
    assert run.where == job.places["setup"]


def test_what_nobody_wrote_is_filled_in_and_named(desk: Desk) -> None:
    job = desk.job(ALDER)
    (run,) = job.runs
    assert run.tip_height == pytest.approx(4 * FT)
    assert run.standoff == pytest.approx(13.5 * FT)
    assert set(job.assumed) == {"rates: the trade's", "house: tip_height", "house: standoff", "house: target"}


@pytest.mark.parametrize(("height", "standoff"), [("18 ft", 10), ("20 ft", 10), ("31 ft", 15.5), ("60 ft", 20)])
def test_the_standoff_is_half_the_target_within_ten_and_twenty_feet(desk: Desk, height: str, standoff: float) -> None:
    job = desk.change(ALDER, "{height: 27 ft}", f"{{height: {height}}}").job(ALDER)
    assert job.runs[0].standoff == pytest.approx(standoff * FT)


def test_a_tank_without_a_floor_feeds_from_the_pumps_height(desk: Desk) -> None:
    job = desk.change(ALDER, "setup: house", "setup: roof").job(ALDER)
    assert job.runs[0].premix
    assert job.runs[0].feed_head == pytest.approx(1 * FT)
    assert job.runs[0].suction == ()
    assert job.runs[0].hoses[0].roughness == pytest.approx(2e-6)
    assert "roof: floor of mix" in job.assumed


def test_from_a_tap_the_supply_hose_lies_before_the_pumps_own_line(desk: Desk) -> None:
    (run,) = desk.change(ALDER, "setup: house", "setup: from tap").job(ALDER).runs
    assert run.feed == "tap"
    assert run.feed_head == 0
    assert [piece.name for piece in run.suction] == ["supply hose", "suction"]
    assert [(f.kind, round((f.bore or 0) / 0.0254, 4)) for f in run.suction_fittings] == [
        ("coupling", 0.625), ("foot_valve", 1.0), ("elbow", 1.0),
    ]  # fmt: skip


def test_a_tap_alone_needs_no_pump_and_has_no_suction(desk: Desk) -> None:
    desk.write(
        ALDER,
        (desk.folder / ALDER)
        .read_text()
        .replace("setup: house\nuphill: 4 ft", "hose_runs:\n  - {name: a, feed: tap, hoses: [red 1], tip: long throw}"),
    )
    (run,) = desk.job(ALDER).runs
    assert run.pump is None
    assert run.suction == ()


def test_a_crew_nobody_wrote_is_taken_for_two_and_said(desk: Desk) -> None:
    assert not any("crew" in note for note in desk.job(ALDER).assumed)
    crew = next(line for line in (desk.folder / DAY).read_text().splitlines() if line.startswith("crew:"))
    assert "crew: 2 people" in desk.change(DAY, crew + "\n", "").job(ALDER).assumed


def test_a_pump_gets_to_the_tanks_it_draws_and_to_no_other(desk: Desk) -> None:
    pump = desk.job(ALDER).runs[0].pump
    assert pump is not None
    assert (pump.bypass, pump.draws) == (False, None)
    desk.change(RIG, "    npsh_required: 8 ft\n", "    npsh_required: 8 ft\n    bypass: yes\n    draws: [water]\n")
    pump = desk.job(ALDER).runs[0].pump
    assert pump is not None
    assert (pump.bypass, pump.draws) == (True, ("water",))
    desk.change(RIG, "draws: [water]", "draws: [mix]")
    assert [(file, code) for file, _, code in desk.faults(ALDER)] == [(ALDER, "run.feed")]
    desk.change(RIG, "draws: [mix]", "draws: [mix, watr]")
    (fault,) = (fault for fault in desk.load(ALDER).faults if fault.code == "name.unknown")
    assert desk.brief(fault)[0] == RIG
    assert "`water`" in fault.remedy
    desk.change(RIG, "draws: [mix, watr]", "draws: []")
    assert [code for file, _, code in desk.faults(ALDER)] == ["value.few"]


GEAR = "hose_runs:\n  - {name: a, pump: booster, feed: water, dosing: panel, hoses: [red 1], tip: long throw}\n"


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("{name: a, feed: water, hoses: [red 1], tip: long throw}", "run.pump"),
        ("{name: a, pump: booster, feed: pond, hoses: [red 1], tip: long throw}", "run.feed"),
        ("{name: a, pump: booster, feed: tap, dosing: premix, hoses: [red 1], tip: long throw}", "run.dosing"),
        ("{name: a, pump: washer, feed: water, dosing: panel, hoses: [red 1], tip: long throw}", "run.dosing"),
        ("{name: a, pump: booster, feed: water, hoses: [red 1], tip: long throw, on_reel: 101 ft}", "run.on_reel"),
    ],
)
def test_gear_that_does_not_go_together_is_a_fault_at_the_run(desk: Desk, line: str, code: str) -> None:
    text = (desk.folder / ALDER).read_text()
    desk.write(ALDER, text.replace("setup: house\nuphill: 4 ft\n", f"hose_runs:\n  - {line}\n"))
    assert desk.faults(ALDER) == [(ALDER, 8, code)]


def runs_of(desk: Desk, *lines: str) -> Desk:
    gear = "pump: booster, feed: water, hoses: [red 1], tip: long throw"
    runs = "".join(f"  - {{name: {line}, {gear}}}\n" for line in lines)
    text = (desk.folder / ALDER).read_text().replace("setup: house\nuphill: 4 ft\n", f"hose_runs:\n{runs}")
    return desk.write(ALDER, text)


def test_naming_one_way_is_enough_and_carries_through_others(desk: Desk) -> None:
    desk.change(DAY, "crew: [Ana, Joe]", "crew: 3")
    runs = runs_of(desk, "a, same_time: [b]", "b", "c, same_time: [b]", "d").job(ALDER).runs
    assert [run.same_time for run in runs] == [("b", "c"), ("a", "c"), ("a", "b"), ()]


def test_runs_that_name_one_surface_share_it_evenly_unless_a_share_is_written(desk: Desk) -> None:
    runs = runs_of(desk, "a", "b, surfaces: [vinyl 1]").job(ALDER).runs
    assert dict(runs[0].shares) == {"vinyl 1": 0.5, "vinyl 2": 1.0}
    assert dict(runs[1].shares) == {"vinyl 1": 0.5}
    assert runs[0].share == pytest.approx((2880 * 0.5 + 315) / 3195)
    runs = runs_of(Desk(desk.folder / "again"), "a, share: 70 %", "b", "c").job(ALDER).runs
    assert [round(run.share, 9) for run in runs] == [0.7, 0.15, 0.15]


def test_shares_beyond_the_whole_are_a_fault(desk: Desk) -> None:
    assert runs_of(desk, "a, share: 70 %", "b, share: 40 %").faults(ALDER) == [(ALDER, 9, "run.share")]


def test_a_bucket_spends_all_of_an_assumed_pressure(desk: Desk) -> None:
    water = desk.job(ALDER).water
    assert (water.source, water.tested, water.residual) == ("tap", True, 0.0)
    assert water.static == pytest.approx(50 * PSI)
    assert water.test_flow == pytest.approx(6 * GPM)
    assert set(water.assumed) == {"static", "temperature"}
    assert water.backflow == "air_gap"
    assert water.temperature == pytest.approx(291.4833333333)  # June, 65 F
    assert water.where.path == "tap"


def test_nothing_said_of_the_water_means_an_ordinary_tap(desk: Desk) -> None:
    water = desk.change(ALDER, "tap: 5 gal in 50 s\n", "").job(ALDER).water
    assert (water.tested, water.residual) == (False, 0.0)
    assert water.test_flow == pytest.approx(5 * GPM)
    assert "tap" in water.assumed


def test_a_static_pressure_alone_is_not_a_test(desk: Desk) -> None:
    water = desk.change(ALDER, "tap: 5 gal in 50 s", "water: {static: 60 psi}").job(ALDER).water
    assert (water.tested, water.residual, water.test_flow) == (False, None, None)
    assert water.static == pytest.approx(60 * PSI)


def test_a_pond_has_its_level_and_no_tap(desk: Desk) -> None:
    text = (desk.folder / ALDER).read_text()
    text = text.replace("setup: house\nuphill: 4 ft\n", GEAR.replace("feed: water", "feed: pond"))
    desk.write(ALDER, text.replace("tap: 5 gal in 50 s", "water: {source: pond, level: -4 ft}"))
    job = desk.job(ALDER)
    assert job.runs[0].feed_head == pytest.approx(-4 * FT)
    assert (job.water.static, job.water.chlorine, job.water.level) == (None, None, pytest.approx(-4 * FT))


def test_water_without_a_date_is_sixty_fahrenheit(desk: Desk) -> None:
    desk.write("loose/alder.yaml", "rig: Heron\n" + (desk.folder / ALDER).read_text())
    job = desk.job("loose/alder.yaml")
    assert job.id == "alder"
    assert (job.date, job.day, job.place_in_day) == (None, None, None)
    assert job.water.temperature == pytest.approx(default("water_temperature"))


def test_soil_picks_the_tables_light_middle_or_heavy_end(desk: Desk) -> None:
    for soil, amount in (("light", 0.5), ("medium", 1.0), ("heavy", 1.5)):
        job = Desk(desk.folder / soil).change(ALDER, "soil: medium", f"soil: {soil}").job(ALDER)
        strength = job.surfaces[0].strength
        assert strength is not None
        assert (strength.amount, strength.basis) == (amount, "trade")


def test_a_percent_on_the_wall_is_the_companys_percent(desk: Desk) -> None:
    desk.change("company.yaml", "percent: trade", "percent: wt_naocl").change(ALDER, "uphill: 4 ft", "strength: 0.8 %")
    strength = desk.job(ALDER).surfaces[0].strength
    assert strength is not None
    assert (strength.amount, strength.basis, strength.text) == (0.8, "wt_naocl", "0.8 %")


def test_water_only_leaves_every_surface_without_strength(desk: Desk) -> None:
    job = desk.change(ALDER, "uphill: 4 ft", "chemicals: []").job(ALDER)
    assert [surface.strength for surface in job.surfaces] == [None, None]
    assert job.chemicals == ()


def test_a_stock_is_a_lot_or_every_lot_of_a_chemical_oldest_first(desk: Desk) -> None:
    bleach, drum, soap = desk.job(BOATHOUSE).chemicals
    assert [lot.name for lot in bleach.lots] == ["drum 12", "drum 14"]
    assert [lot.name for lot in drum.lots] == ["drum 12"]
    assert drum.chemical == "hypochlorite"
    assert soap.dose == pytest.approx(1 / 128)
    assert soap.surfaces == ("lake wall", "gable")


def test_the_tables_row_under_a_companys_own(desk: Desk) -> None:
    row = desk.job(ALDER).surfaces[0].row
    assert row["rinse"] == pytest.approx(0.15 * GAL / FT**2)
    assert row["wet"] == pytest.approx(0.01 * GAL / FT**2)
    job = Desk(desk.folder / "lime").change(ALDER, "kind: vinyl, around", "kind: limewash, around").job(ALDER)
    assert job.surfaces[0].kind == "limewash"


def test_a_lot_keeps_what_its_drum_says(desk: Desk) -> None:
    lots = {lot.name: lot for lot in desk.job(ALDER).lots}
    assert lots["drum 14"].kept_at == (default("kept_shed"),)
    assert len(lots["drum 12"].kept_at or ()) == 12
    assert lots["drum 12"].excess_caustic == pytest.approx(0.003)
    assert lots["drum 14"].excess_caustic == pytest.approx(0.002)
    assert lots["soda"].on_hand is not None
    assert lots["soda"].on_hand.mass == pytest.approx(20 * 0.45359237)
    assert lots["soap 2"].chemical == "surfactant"


def test_the_target_comes_from_the_surfaces_where_they_tell_it(desk: Desk) -> None:
    desk.write(ALDER, "job: Drive\nsite: {address: x}\nsurfaces:\n  - {kind: concrete, area: 600 ft2}\nsetup: house\n")
    assert desk.job(ALDER).runs[0].target == 0.0
    other = Desk(desk.folder / "wall")
    other.write(
        ALDER, "job: Wall\nsite: {address: x}\nsurfaces:\n  - {kind: brick, width: 9 ft, height: 8 ft}\nsetup: house\n"
    )
    assert other.job(ALDER).runs[0].target == pytest.approx(8 * FT)


def test_several_setups_make_several_runs(desk: Desk) -> None:
    job = desk.change(ALDER, "setup: house", "setup: [house, roof]").job(ALDER)
    assert [(run.name, run.share) for run in job.runs] == [("house", 0.5), ("roof", 0.5)]
    assert job.places["hose_runs[1]"].path == "setup[1]"


def test_a_yard_job_has_its_bath_and_no_runs(desk: Desk) -> None:
    job = desk.job(YARD)
    assert (job.kind, job.runs, job.surfaces) == ("yard", (), ())
    assert job.yard is not None
    assert job.yard.works == ("descale", "rebuild", "test")
    assert job.yard.bath is not None
    assert (job.yard.bath.chemical, job.yard.bath.strength.amount) == ("muriatic", 15.0)
    assert job.yard.tub == pytest.approx(5 * GAL)


def test_a_rig_may_be_written_inside_the_job(desk: Desk) -> None:
    rig = (
        "rig:\n  rig: Lent\n  tanks: [{name: water, volume: 50 gal}]\n  tips: [{name: long throw, size: 5.5}]\n"
        "  pumps: [{name: p, kind: piston, flow: 4 gpm}]\n"
        "  setups: [{name: house, pump: p, feed: water, hoses: [{bore: 3/8 in, length: 50 ft}], tip: long throw}]\n"
    )
    desk.write("loose/alder.yaml", rig + (desk.folder / ALDER).read_text())
    assert desk.job("loose/alder.yaml").rig.name == "Lent"
    desk.change("loose/alder.yaml", "flow: 4 gpm", "flow: 4")
    assert [code for _, _, code in desk.faults("loose/alder.yaml")] == ["quantity.bare"]


def test_rig_names_are_blind_to_case_but_a_job_and_its_day_must_agree(desk: Desk) -> None:
    desk.write("rigs/Grey Egret.yaml", (desk.folder / RIG).read_text().replace("rig: Heron", "rig: Grey Egret"))
    desk.change(DAY, "rig: heron", "rig: GREY egret")
    assert desk.faults(BOATHOUSE) == [(BOATHOUSE, 4, "rig.disagrees")]
    assert desk.job(ALDER).rig.name == "Grey Egret"


def test_the_source_text_follows_the_words_and_not_the_comments(desk: Desk) -> None:
    before = desk.job(ALDER).source_text
    desk.change(ALDER, "uphill: 4 ft", "uphill:   4 ft   # measured")
    assert desk.job(ALDER).source_text == before
    desk.change(STOCK, "on_hand: 30 gal", "on_hand: 29 gal")
    assert desk.job(ALDER).source_text != before


def test_findings_can_point_at_every_key_of_every_file(desk: Desk) -> None:
    places = desk.job(BOATHOUSE).places
    for path, line in (
        ("hose_runs[0]", 10), ("hose_runs[0].standoff", 20), ("surfaces[1]", 8), ("water", 37),
        ("access.power_line", 38),
        ("accept[0]", 40), ("site", 3),
    ):  # fmt: skip
        assert places[path].line == line, path
    assert places["site"].file.endswith("2025-06-02/20-boathouse.yaml")
    assert places["rig.pumps[0].curve"].line == 8


def test_a_heels_bare_percent_is_the_companys_and_only_hypochlorite_has_one(desk: Desk) -> None:
    desk.change("company.yaml", "percent: trade", "percent: wt_cl2")
    day = desk.job(ALDER).day
    assert day is not None
    assert day.heels["mix"].strength is not None
    assert day.heels["mix"].strength.basis == "wt_cl2"
    desk.change(DAY, "mix: {stock: bleach", "mix: {stock: acid 1")
    assert desk.faults(ALDER) == [(DAY, 5, "strength.bare")]


def test_a_strength_no_surface_takes_is_a_fault(desk: Desk) -> None:
    desk.change(ALDER, "kind: vinyl, around", "kind: brick_acid, around")
    desk.change(ALDER, "kind: vinyl, gable", "kind: brick_acid, gable").change(ALDER, "uphill: 4 ft", "strength: 1 %")
    assert desk.faults(ALDER) == [(ALDER, 8, "key.clash")]


def test_where_results_are_kept_changes_no_plan_number(tmp_path: Path) -> None:
    files = workspaces.base()
    (job,) = workspaces.loaded(tmp_path / "one", files).jobs
    files["company"]["archive"] = "other.db"
    (moved,) = workspaces.loaded(tmp_path / "two", files).jobs
    assert job.source_text == moved.source_text
    files["company"]["name"] = "Another"
    (other,) = workspaces.loaded(tmp_path / "three", files).jobs
    assert job.source_text != other.source_text


def test_more_guns_at_once_than_people_is_a_fault(desk: Desk) -> None:
    runs_of(desk, "a, same_time: [b]", "b", "c, same_time: [b]")
    (fault,) = desk.load(ALDER).faults
    assert (fault.code, fault.where.line) == ("run.same_time", 8)
    assert "3 guns" in fault.message
    assert "crew of 2" in fault.message


def hosed(desk: Desk, first: str, second: str, more: str = "") -> Desk:
    gear = "pump: booster, feed: water, tip: long throw, target: 20 ft"
    runs = f"  - {{name: a, hoses: {first}, same_time: [b], {gear}}}\n  - {{name: b, hoses: {second}, {gear}{more}}}\n"
    text = (desk.folder / ALDER).read_text().replace("setup: house\nuphill: 4 ft\n", f"hose_runs:\n{runs}")
    return desk.write(ALDER, text)


OWN = "{name: mine, bore: 5/8 in, length: 50 ft}"


@pytest.mark.parametrize(
    ("first", "second", "more", "said"),
    [
        ("[red 1, red 2]", "[red 2]", "", "through `red 2`, and not from the pump on"),
        ("[red 1, red 2]", "[red 2, red 1]", "", "through `red 2`, and not from the pump on"),
        (f"[{OWN}, red 1]", f"[red 2, {OWN}]", "", "through `mine`, and not from the pump on"),
        (f"[{OWN}]", "[{name: mine, bore: 3/4 in, length: 50 ft}]", "", "each has another hose called `mine`"),
        ("[red 1]", "[red 1, red 2]", ", on_reel: 30 ft", "leave different lengths of it on its reel"),
    ],
)
def test_a_hose_shared_otherwise_than_from_the_pump_on_is_a_fault(
    desk: Desk, first: str, second: str, more: str, said: str
) -> None:
    faults = hosed(desk, first, second, more).load(ALDER).faults
    assert {fault.code for fault in faults} == {"run.same_time"}
    assert said in faults[0].message


def test_the_same_hoses_one_after_another_or_unnamed_ones_are_no_fault(desk: Desk) -> None:
    unnamed = "{bore: 5/8 in, length: 50 ft}"
    assert not hosed(desk, f"[red 1, {unnamed}]", f"[red 1, {unnamed}]").load(ALDER).faults
    apart = Desk(desk.folder / "apart")
    assert not runs_of(apart, "a", "b").load(ALDER).faults


def test_one_hose_twice_in_a_line_is_a_fault_in_job_and_setup(desk: Desk) -> None:
    assert desk.change(RIG, "hoses: [red 1, red 2]", "hoses: [red 1, red 1]").faults(ALDER)[0][2] == "hose.twice"
    other = hosed(Desk(desk.folder / "again"), "[red 1, red 1]", "[red 2]")
    assert [fault.code for fault in other.load(ALDER).faults] == ["hose.twice"]


def test_two_guns_with_one_tip_each_of_a_kind_are_said(desk: Desk) -> None:
    assert "a and b: a tip long throw for each" in hosed(desk, "[red 1]", "[red 2]").job(ALDER).assumed


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("max_back_pressure: 250 psi, loss: {pressure: 40 psi, flow: 5.5 gpm}", "injector.loss"),
        ("max_back_pressure: 250 psi, loss: {pressure: 64.9 psi, flow: 5.5 gpm}", "injector.loss"),
        ("max_back_pressure: 250 psi, loss: {pressure: 65 psi, flow: 5.5 gpm}", None),
        ("loss: {pressure: 1 psi, flow: 5.5 gpm}", None),
        ("max_back_pressure: 250 psi, full_draw: 251 psi", "injector.full_draw"),
        ("max_back_pressure: 250 psi, full_draw: 250 psi", None),
    ],
)
def test_an_injector_that_cannot_exist_is_a_fault(desk: Desk, written: str, code: str | None) -> None:
    desk.change(RIG, "max_back_pressure: 250 psi, loss: {pressure: 100 psi, flow: 5.5 gpm}", written)
    assert [fault.code for fault in desk.load(ALDER).faults] == ([code] if code else [])
