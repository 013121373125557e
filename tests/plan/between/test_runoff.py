"""From the lot to the wall to the foot of it: nothing is lost, nothing is made up."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.checks.evaluate import check_plan
from planner.contract.plan import job_json
from planner.inputs.models import Near
from planner.inputs.tables.chemicals import CHEMICALS, KINDS
from planner.inputs.tables.controls import controls
from planner.inputs.tables.whole import limit_rows
from planner.packet.html import twin
from planner.plan.between.runoff import ph_of, remains_of
from planner.plan.model import JobPlan
from planner.words import spoken as words
from tests import workspaces
from tests.packet.printing import job_book
from tests.sampled import examples

GALLON, POUND = 3.785411784e-3, 0.45359237
PROPERTY = settings(max_examples=examples(25), deadline=None, derandomize=True, database=None)

BLEACH = {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}}
ROOF = {
    "surfaces": [{"name": "roof", "kind": "asphalt_shingle", "area": "1200 ft2", "soil": "medium"}],
    "chemicals": [{"stock": "bleach", "strength": "3.5 %"}],
    "hose_runs": {0: {"feed": "mix", "dosing": "premix"}},
    "near": {"downspouts": "4"},
}
ACID = {
    "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "600 ft2"}],
    "chemicals": [{"stock": "muriatic", "strength": "1:10"}],
    "hose_runs": {0: {"feed": "mix", "dosing": "premix"}},
}
THIO = {"name": "thio", "chemical": "thiosulfate", "on_hand": "8 lb"}


def plan_of(folder: Path, job: dict[str, Any], **rest: Any) -> JobPlan:
    return workspaces.checked(folder, workspaces.merged(workspaces.base(), {"job": job, **rest})).plan


def with_lots(*more: dict[str, str]) -> dict[str, Any]:
    lots: list[Any] = workspaces.base()["stock"]["lots"]
    return {"lots": [*lots, *more]}


DOSINGS = {
    "tank": {"feed": "mix", "dosing": "premix"},
    "panel": {"dosing": "panel"},
    "injector": {"pump": "washer", "dosing": "venturi", "tip": "fan"},
}


@pytest.mark.ci
@given(
    dosing=st.sampled_from(sorted(DOSINGS)),
    strength=st.floats(0.45, 0.88),
    area=st.floats(50.0, 2500.0),
    heel=st.floats(0.0, 3.0),
    heel_strength=st.floats(0.1, 3.0),
    soap=st.booleans(),
)
@PROPERTY
def test_all_active_of_stock_and_heel_is_on_walls_in_the_tank_or_spare(
    dosing: str, strength: float, area: float, heel: float, heel_strength: float, soap: bool
) -> None:
    chemicals: list[Any] = [{"stock": "bleach", "strength": f"{strength:.3f} %"}]
    if soap:
        chemicals.append({"stock": "soap", "dose": "1 fl oz/gal"})
    job = {
        "surfaces": [{"name": "wall", "kind": "vinyl", "area": f"{area:.1f} ft2"}],
        "chemicals": chemicals,
        "hose_runs": {0: DOSINGS[dosing]},
    }
    held = {"mix": {"stock": "bleach", "strength": f"{heel_strength:.2f} trade %", "volume": f"{heel:.2f} gal"}}
    suds = {"name": "suds", "chemical": "soap", "on_hand": "5 gal", "bleach_stable": "true"}
    with tempfile.TemporaryDirectory() as folder:
        plan = plan_of(Path(folder), job, day={"heels": held}, stock=with_lots(suds))
    runoff, (mix,) = plan.runoff, plan.mixes
    if mix.mix is None:  # out of reach, or too much for the tank: nothing is made, nothing runs off
        assert runoff is None
        return
    assert runoff is not None
    (ledger,), (wall,) = runoff.ledger, runoff.surfaces
    lots = sum(share.stock * (share.lot.nominal or 0.0) for share in mix.pours)
    assert ledger.stock == pytest.approx(lots, rel=1e-9)
    out = ledger.walls + ledger.spare + ledger.heel
    assert ledger.stock + ledger.found == pytest.approx(out, rel=1e-6)
    assert min(ledger.walls, ledger.spare, ledger.heel) >= 0.0
    if dosing != "tank":  # a panel draws what lands; an injector's jug holds a twentieth over, and no more
        assert ledger.spare <= (0.05 if dosing == "injector" else 0.0) * ledger.walls + 1e-9 * ledger.stock
    assert wall.active is not None
    assert wall.active <= ledger.walls * (1 + 1e-9)
    assert wall.strength is not None
    assert wall.strength * wall.volume == pytest.approx(wall.active)
    assert (dosing == "tank") == (ledger.heel > 0.0)


def test_a_wall_s_water_is_what_wets_and_rinses_it(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, BLEACH)
    assert plan.runoff is not None
    (wall,) = plan.runoff.surfaces
    assert wall.water / GALLON == pytest.approx(500 * (0.01 + 0.12))
    assert wall.mix == pytest.approx(plan.mixes[0].parts[0].mix)
    assert wall.first == pytest.approx(10.0)
    assert wall.strength == pytest.approx(10.0 * wall.mix / (wall.mix + wall.water))
    # 0.019 and 0.011 mg/L, and the tap's own 1 mg/L.
    assert wall.times_acute == pytest.approx((wall.strength or 0) / 1.9e-5)
    assert wall.times_chronic == pytest.approx((wall.strength or 0) / 1.1e-5)
    assert wall.times_tap == pytest.approx((wall.strength or 0) / 1e-3)
    assert wall.ph is None


def test_criteria_for_life_are_those_of_the_limits() -> None:
    assert [limit_rows()[name].text for name in ("life_acute", "life_chronic")] == ["0.019 mg/L", "0.011 mg/L"]
    assert all("EPA national recommended" in limit_rows()[name].source for name in ("life_acute", "life_chronic"))


def test_two_runs_on_one_wall_leave_one_runoff(tmp_path: Path) -> None:
    one = plan_of(tmp_path / "one", BLEACH)
    first: dict[str, Any] = dict(workspaces.base()["job"]["hose_runs"][0])
    runs = [{**first, "dosing": "panel"}, {**first, "name": "back", "dosing": "panel", "hoses": list(first["hoses"])}]
    two = plan_of(tmp_path / "two", {**BLEACH, "hose_runs": runs})
    assert one.runoff is not None
    assert two.runoff is not None
    assert len(two.runoff.surfaces) == 1
    assert two.runoff.surfaces[0].active == pytest.approx(one.runoff.surfaces[0].active)
    assert two.runoff.surfaces[0].water == pytest.approx(one.runoff.surfaces[0].water)
    assert len(two.runoff.ledger) == 2


def test_a_roof_left_to_the_rain_gives_its_gutters_the_mix_itself(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, {**ROOF, "surfaces": [{**ROOF["surfaces"][0], "rinse": "leave"}]})
    assert plan.runoff is not None
    (roof,), out = plan.runoff.surfaces, plan.runoff.outlets
    assert (roof.water, roof.strength) == (0.0, pytest.approx(35.0))
    assert out is not None
    assert out.count == 4
    assert out.volume == pytest.approx(roof.mix / 4)
    # A gallon of 3.5 trade % holds 3.5 x 0.083454 lb of chlorine.
    assert out.active / POUND == pytest.approx(out.volume / GALLON * 3.5 * 0.083454, rel=1e-4)


def test_a_wall_s_runoff_goes_down_no_downspout(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, {**BLEACH, "near": {"downspouts": "4"}})
    assert plan.runoff is not None
    assert plan.runoff.outlets is None


def test_acid_s_ph_at_the_foot_follows_its_normality(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, ACID)
    assert plan.runoff is not None
    (wall,) = plan.runoff.surfaces
    # 1:10 of 31.45 wt % is 0.906 N; thinned by 450 gal of water on 7.2 to 10 gal of mix.
    expected = 0.9065 * wall.mix / wall.volume
    assert wall.ph is not None
    assert 10**-wall.ph == pytest.approx(expected, rel=2e-3)
    assert wall.times_acute is None
    assert wall.active is not None


@pytest.mark.parametrize(
    ("chemical", "strength", "ph"), [("muriatic", 3.646, 1.0), ("caustic", 4.0, 13.0), ("hypochlorite", 10.0, None)]
)
def test_only_acid_and_caustic_have_a_ph(chemical: str, strength: float, ph: float | None) -> None:
    found = ph_of(chemical, strength)
    assert found == (None if ph is None else pytest.approx(ph, abs=1e-3))
    assert (ph_of("oxalic", 10.0) or 9.0) < 2.0 < (ph_of("citric", 10.0) or 0.0) < 3.0


def test_plain_water_leaves_nothing_to_tell(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, {})
    assert plan.runoff is None
    assert plan.agents == ()


def test_soap_alone_runs_off_without_a_strength(tmp_path: Path) -> None:
    suds = {"name": "suds", "chemical": "soap", "on_hand": "5 gal"}
    job = {"surfaces": [{"name": "wall", "kind": "vinyl", "area": "500 ft2"}],
           "chemicals": [{"stock": "soap", "dose": "1 fl oz/gal"}],
           "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}}  # fmt: skip
    checked = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), {"job": job, "stock": with_lots(suds)}))
    (row,) = job_json(checked, "us")["runoff"]
    assert (row["chemical"], row["active_kg"], row["strength_g_per_l"], row["ph"]) == ("surfactant", None, None, None)
    assert row["volume_m3"] > 0.0
    assert job_json(checked, "us")["neutralise"] == []


def test_the_json_has_the_runoff_in_si(tmp_path: Path) -> None:
    checked = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), {"job": ROOF}))
    told = job_json(checked, "us")
    (row,), (total,) = told["runoff"], told["runoff_total"]
    assert {"surface", "active_kg", "volume_m3", "strength_g_per_l"} <= set(row)
    assert row["active_kg"] == pytest.approx(total["active_kg"])
    assert told["downspouts"]["count"] == 4
    (active,) = told["active"]
    out = sum(active[key] for key in ("walls_kg", "spare_kg", "line_kg", "heel_kg", "test_kg"))
    assert active["stock_kg"] + active["found_kg"] == pytest.approx(out)


# ------------------------------------------------------------------------------------------------- neutralisers


def test_a_roof_carries_agent_for_a_gallon_its_heel_its_spare_and_a_bucket_of_catch(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, ROOF, stock=with_lots(THIO))
    assert [one.purpose.split(" of hypochlorite")[0] for one in plan.neutralisers] == [
        "a leftover gallon", "the heel in mix", "the spare in mix", "a bucket of gutter catch",
    ]  # fmt: skip
    catch = plan.neutralisers[-1]
    assert catch.volume / GALLON == pytest.approx(min(5.0, (plan.runoff.outlets.volume if plan.runoff and plan.runoff.outlets else 0) / GALLON))  # fmt: skip
    assert catch.thin_to == pytest.approx(catch.volume * catch.strength / 20.0)
    assert catch.mass == pytest.approx(1.9 * catch.volume * catch.strength)
    # Far less than the whole runoff would take, which nobody carries.
    assert plan.runoff is not None
    assert sum(one.mass for one in plan.neutralisers) < 1.9 * (plan.runoff.totals[0].active or 0.0)


NARROW = {
    **ACID,
    "hose_runs": {0: {"feed": "mix", "dosing": "premix", "hoses": [{"bore": "1/4 in", "length": "50 ft"}]}},
}


@pytest.mark.parametrize("job", [ROOF, NARROW])
def test_all_a_tank_s_spare_is_left_in_it_once_water_has_chased_the_hose(tmp_path: Path, job: dict[str, Any]) -> None:
    plan = plan_of(tmp_path, job)
    (mix,) = plan.mixes
    left, tank = remains_of(mix), mix.run.feed_tank
    assert tank is not None
    assert mix.mix is not None
    assert left.spare == pytest.approx(mix.mix - sum(part.mix for part in mix.parts) - tank.dead_volume)
    (dosed,) = [one for one in plan.neutralisers if one.purpose.startswith("the spare in mix")]
    assert dosed.volume == pytest.approx(left.spare)


def test_what_the_shelf_holds_is_used_before_anything_is_bought(tmp_path: Path) -> None:
    salt = {"name": "salt", "chemical": "sulfite", "on_hand": "20 lb"}
    (need,) = plan_of(tmp_path, ROOF, stock=with_lots(salt)).agents
    assert (need.agent, need.lots, need.buy) == ("sulfite", ("salt",), 0.0)
    assert need.on_hand == pytest.approx(20 * POUND)
    assert need.carry == pytest.approx(1.2 * need.mass)


def test_an_agent_that_is_enough_goes_before_one_that_is_not(tmp_path: Path) -> None:
    short, enough = {**THIO, "on_hand": "4 oz"}, {"name": "sulfite", "chemical": "sulfite", "on_hand": "20 lb"}
    (need,) = plan_of(tmp_path, ROOF, stock=with_lots(short, enough)).agents
    assert (need.agent, need.buy) == ("sulfite", 0.0)


def test_what_is_short_is_to_be_bought(tmp_path: Path) -> None:
    (need,) = plan_of(tmp_path / "some", ROOF, stock=with_lots({**THIO, "on_hand": "1 lb"})).agents
    assert need.buy == pytest.approx(need.carry - POUND)
    (none,) = plan_of(tmp_path / "none", ROOF).agents
    assert (none.agent, none.lots, none.on_hand) == ("thiosulfate", (), 0.0)
    assert none.buy == pytest.approx(none.carry)


def test_a_lot_nobody_counted_is_neither_short_nor_enough_to_say(tmp_path: Path) -> None:
    (need,) = plan_of(tmp_path, ROOF, stock=with_lots({"name": "thio", "chemical": "thiosulfate"})).agents
    assert (need.on_hand, need.buy) == (None, 0.0)


def test_a_company_may_ask_for_thinner_but_never_dechlorinates_stronger_than_two_percent(tmp_path: Path) -> None:
    for limit, held in (("50 g/L", 20.0), ("10 g/L", 10.0)):
        company = {"limits": {"neutralise_strength": limit}}
        plan = plan_of(tmp_path / held.__str__(), ROOF, company=company)
        for one in plan.neutralisers:
            assert one.thin_to is not None
            assert one.volume * one.strength / one.thin_to == pytest.approx(held)


def test_acid_s_agent_warms_it_by_its_own_heat(tmp_path: Path) -> None:
    soda = {"name": "soda", "chemical": "soda_ash", "on_hand": "20 lb"}
    shelf = with_lots(soda)
    shelf["lots"] = [lot for lot in shelf["lots"] if lot["chemical"] != "bicarbonate"]
    plan = plan_of(tmp_path, ACID, stock=shelf)
    (need,) = plan.agents
    assert (need.agent, need.against) == ("soda_ash", "acid")
    strongest = max(one.strength for one in plan.neutralisers)
    # Half of 28.9 kJ for a mole of acid, over the four kJ a litre and kelvin of thin acid.
    assert need.rise == pytest.approx(strongest / 36.46 * 14.45 / 4.0, rel=0.03)
    assert need.mass == pytest.approx(1.453 * sum(one.volume * one.strength for one in plan.neutralisers))


def test_citric_acid_is_neutralised_too(tmp_path: Path) -> None:
    job = {"surfaces": [{"name": "wall", "kind": "vinyl", "area": "300 ft2"}],
           "chemicals": [{"stock": "citric", "strength": "50 g/L"}],
           "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}}  # fmt: skip
    lots = with_lots({"name": "crystals", "chemical": "citric", "on_hand": "50 lb"})
    plan = plan_of(tmp_path, job, stock=lots)
    gallon = plan.neutralisers[0]
    assert gallon.mass == pytest.approx(1.312 * GALLON * 50.0 * 1.05)  # a scale and crystals within five percent
    assert plan.runoff is not None
    assert 1.5 < (plan.runoff.surfaces[0].ph or 0.0) < 3.0
    (ledger,) = plan.runoff.ledger
    assert ledger.stock == pytest.approx(ledger.walls + ledger.spare + ledger.heel)


def test_findings_of_the_grounds_say_how_strong_the_runoff_is(tmp_path: Path) -> None:
    files = workspaces.merged(
        workspaces.base(), {"job": {**BLEACH, "near": {"storm_drain": "40 ft", "fish_pond": "40 ft"}}}
    )
    found = {one.code: words.message(one, "us") for one in workspaces.checked(tmp_path, files).findings}
    assert "g/L of chlorine" in found["runoff.drain"]
    assert "times the limit for water with life in it" in found["runoff.water_life"]


# ------------------------------------------------------------------------------------------- alkali, and which agent

LYE = {"name": "lye", "chemical": "caustic", "strength": "500 g/L", "on_hand": "5 gal"}
CITRIC = {"name": "citric", "chemical": "citric", "on_hand": "50 lb"}
DECK = {
    "surfaces": [{"name": "deck", "kind": "bare_wood", "area": "400 ft2"}],
    "hose_runs": {0: {"feed": "mix", "dosing": "premix"}},
}


def lye(folder: Path, strength: str, *lots: dict[str, str]) -> JobPlan:
    job = {**DECK, "chemicals": [{"stock": "caustic", "strength": strength}]}
    return plan_of(folder, job, stock={"lots": [LYE, *lots]})


def test_lye_takes_citric_acid_by_its_protons(tmp_path: Path) -> None:
    # A gallon at 60 g/L: 227 g of NaOH, 5.68 mol, a third of that of citric acid, 364 g; the label may be 5 % short.
    gallon = next(one for one in lye(tmp_path, "60 g/L", CITRIC).neutralisers if "gallon" in one.purpose)
    assert (gallon.agent, gallon.of) == ("citric", "caustic")
    assert gallon.mass == pytest.approx(1.05 * 0.364, rel=0.02)
    assert gallon.rise == pytest.approx(1.05 * 20.0, abs=0.5)
    assert gallon.thin_to is None


def test_lye_that_would_get_too_hot_is_thinned_first(tmp_path: Path) -> None:
    for one in lye(tmp_path, "120 g/L", CITRIC).neutralisers:
        assert one.thin_to is not None
        assert one.thin_to > one.volume
        assert one.rise == pytest.approx(22.0, abs=0.01)


@pytest.mark.ci
def test_lye_never_goes_to_the_lawn(tmp_path: Path) -> None:
    plan = lye(tmp_path, "20 g/L", CITRIC)
    assert {one.against for one in plan.agents} == {"alkali"}
    paper = paper_of(plan)
    assert "Never to the lawn or a bed." in paper
    assert "it may go to lawn" not in paper
    assert "Where it goes: lawn" not in paper


def paper_of(plan: JobPlan) -> str:
    words = (
        twin(job_book(check_plan(plan), paper="letter", system="us"))
        .decode()
        .replace("<strong>", "")
        .replace("</strong>", "")
    )
    return " ".join(words.replace("\u00a0", " ").split())


@pytest.mark.ci
def test_paper_says_how_warm_a_pail_gets_above_twenty_fahrenheit(tmp_path: Path) -> None:
    assert "warmer: stir slowly" in paper_of(lye(tmp_path / "a", "60 g/L", CITRIC))
    assert "warmer: stir slowly" not in paper_of(lye(tmp_path / "b", "20 g/L", CITRIC))


@pytest.mark.ci
def test_the_best_agent_is_taken_whatever_the_shelf_s_order(tmp_path: Path) -> None:
    ash = {"name": "ash", "chemical": "soda_ash", "on_hand": "40 lb"}
    acid = {"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "5 gal"}
    bicarb = {"name": "bicarb", "chemical": "bicarbonate", "on_hand": "40 lb"}
    for n, lots in enumerate(([acid, ash, bicarb], [acid, bicarb, ash])):
        assert {one.agent for one in plan_of(tmp_path / str(n), ACID, stock={"lots": lots}).neutralisers} == {
            "bicarbonate"
        }
    # What is too little goes after what is enough.
    little = {**bicarb, "on_hand": "1 oz"}
    assert {one.agent for one in plan_of(tmp_path / "c", ACID, stock={"lots": [acid, little, ash]}).neutralisers} == {
        "soda_ash"
    }


def test_what_is_counted_and_enough_goes_before_what_nobody_weighed(tmp_path: Path) -> None:
    thio, salt = (
        {"name": "thio", "chemical": "thiosulfate"},
        {"name": "salt", "chemical": "sulfite", "on_hand": "20 lb"},
    )
    assert {one.agent for one in plan_of(tmp_path / "a", BLEACH, stock=with_lots(thio, salt)).neutralisers} == {
        "sulfite"
    }
    plan = plan_of(tmp_path / "b", BLEACH, stock=with_lots(thio))
    assert {one.agent for one in plan.neutralisers} == {"thiosulfate"}


def test_what_frees_chlorine_from_the_pail_is_never_taken(tmp_path: Path) -> None:
    sour = (
        {"name": "sour", "chemical": "bisulfite", "on_hand": "20 lb"},
        {"name": "c", "chemical": "ascorbic", "on_hand": "20 lb"},
    )
    (need,) = plan_of(tmp_path, BLEACH, stock=with_lots(*sour)).agents
    assert (need.agent, need.lots) == ("thiosulfate", ())
    assert need.buy > 0.0


def test_lime_on_strong_acid_is_thinned_before_it_boils(tmp_path: Path) -> None:
    lots = [{"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "50 gal"},
            {"name": "lime", "chemical": "lime", "on_hand": "90 lb"}]  # fmt: skip
    strong = {**ACID, "chemicals": [{"stock": "muriatic", "strength": "1:4"}]}
    for one in plan_of(tmp_path, strong, stock={"lots": lots}).neutralisers:
        assert one.agent == "lime"
        assert one.thin_to is not None
        assert one.rise is not None
        assert one.rise <= 22.5


@pytest.mark.ci
def test_a_mix_nothing_neutralizes_is_kept_and_taken_home(tmp_path: Path) -> None:
    soap = {"name": "soap", "chemical": "surfactant", "on_hand": "5 gal"}
    job = {
        "chemicals": [{"stock": "soap", "dose": "1 fl oz/gal"}],
        "hose_runs": {0: {"feed": "mix", "dosing": "premix"}},
    }
    plan = plan_of(tmp_path, job, stock=with_lots(soap))
    assert plan.mixes
    assert "nothing here is known to neutralize them" in paper_of(plan)


@pytest.mark.ci
def test_each_control_says_what_near_the_job_it_keeps_the_runoff_from(tmp_path: Path) -> None:
    near = {"storm_drain": "40 ft", "fish_pond": "25 ft", "well": "80 ft"}
    written = ["drain_cover", {"pumped_to": "lawn"}, "dechlorinated"]
    bleach = workspaces.merged(workspaces.base(), {"job": {**BLEACH, "near": {**near, "control": written}}})
    assert job_json(workspaces.checked(tmp_path / "bleach", bleach), "us")["controls"] == [
        {"kind": "drain_cover", "keeps_from": ["storm_drain"]},
        {"kind": "pumped_to: lawn", "keeps_from": ["storm_drain", "fish_pond"]},
        {"kind": "dechlorinated", "keeps_from": ["fish_pond"]},
    ]
    acid = workspaces.merged(workspaces.base(), {"job": {**ACID, "near": {**near, "control": written}}})
    job = workspaces.checked(tmp_path / "acid", acid)
    assert job_json(job, "us")["controls"][2] == {"kind": "dechlorinated", "keeps_from": []}
    alone = workspaces.merged(workspaces.base(), {"job": {**ACID, "near": {**near, "control": "well_cap"}}})
    (stop,) = [one for one in workspaces.checked(tmp_path / "alone", alone).findings if one.code == "runoff.drain"]
    assert stop.level == "stop"
    assert "What `control:` has does not do it: well cap." in words.message(stop, "us")
    assert "`drain_cover`" in words.remedy(stop, "us")


def test_each_kind_of_control_keeps_something_that_near_can_name() -> None:
    for one in controls().values():
        assert one.keeps
        assert set(one.keeps) <= set(Near.model_fields)
        assert set(one.only) | set(one.never) <= {*CHEMICALS, *KINDS, "flatwork"}


def test_a_control_that_keeps_off_only_one_of_two_waters_keeps_off_neither(tmp_path: Path) -> None:
    drive = {"name": "drive", "kind": "concrete", "area": "300 ft2"}
    job = {**BLEACH, "surfaces": [drive], "near": {"stream": "5 ft", "control": "dechlorinated"}}
    files = workspaces.merged(workspaces.base(), {"job": job})
    found = {
        one.about: one.level for one in workspaces.checked(tmp_path, files).findings if one.code == "runoff.water_life"
    }
    assert found == {"stream": "stop"}
