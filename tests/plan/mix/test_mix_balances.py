"""What must hold of any mix: nothing of the active is lost or made between lot and wall, and volumes add up."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.contract.plan import job_json
from planner.plan.mix.model import MixPlan
from tests import workspaces
from tests.sampled import examples

GALLON = 231 * 0.0254**3


def _mixes(files: dict[str, Any]) -> tuple[MixPlan, ...]:
    with TemporaryDirectory() as folder:
        return workspaces.checked(Path(folder), files).plan.mixes


def _job(target: float, area: float, soap: float, **run: str) -> dict[str, Any]:
    chemicals: list[dict[str, str]] = [{"stock": "bleach", "strength": f"{target:.4f} trade %"}]
    if soap > 0.0:
        chemicals.append({"stock": "soap", "dose": f"{soap:.3f} fl oz/gal"})
    change = {"job": {"surfaces": [{"name": "wall", "kind": "vinyl", "area": f"{area:.1f} ft2"}], "chemicals": chemicals,
                      "hose_runs": {0: run}}}  # fmt: skip
    return workspaces.merged(workspaces.base(), change)


@pytest.mark.ci
@settings(max_examples=examples(40), deadline=None)
@given(
    target=st.floats(0.3, 6.0),
    area=st.floats(20.0, 8000.0),
    soap=st.sampled_from([0.0, 0.5, 2.0]),
    heel=st.one_of(st.none(), st.tuples(st.floats(0.1, 8.0), st.floats(0.2, 6.0))),
)
def test_tankfuls_keep_the_active_and_the_volume(
    target: float, area: float, soap: float, heel: tuple[float, float] | None
) -> None:
    files = _job(target, area, soap, feed="mix", dosing="premix")
    if heel is not None:
        volume, strength = heel
        files["day"]["heels"] = {
            "mix": {"stock": "bleach", "strength": f"{strength:.4f} trade %", "volume": f"{volume:.4f} gal"}
        }
    (mix,) = _mixes(files)
    assert mix.lot is not None
    assert mix.lot.nominal is not None
    carried, strength_of_heel = mix.heel, mix.heel_strength
    for batch in mix.batches:
        assert batch.stock >= 0.0
        assert batch.water >= -1e-15
        assert batch.stock + batch.water + batch.soap + batch.heel == pytest.approx(batch.mix, rel=1e-9)
        active = batch.stock * mix.lot.nominal + carried * strength_of_heel
        assert active == pytest.approx(batch.mix * mix.target, rel=1e-9)
        assert sum(a.volume for a in batch.additions) == pytest.approx(batch.mix - batch.heel, rel=1e-9)
        carried, strength_of_heel = mix.run.feed_tank.dead_volume if mix.run.feed_tank else 0.0, mix.target
    if mix.batches:
        assert mix.mix is not None
        assert mix.stock is not None
        assert mix.water is not None
        assert mix.soap is not None
        assert mix.stock + mix.water + mix.soap + mix.heel == pytest.approx(mix.mix, rel=1e-9)
        usable = sum(batch.mix for batch in mix.batches) - len(mix.batches) * carried
        assert usable >= mix.need * (1 - 1e-9)


@pytest.mark.ci
@pytest.mark.parametrize(
    "active",
    [{"stock": "bleach", "strength": "1 trade %"}, {"stock": "crystals", "strength": "40 g/L"}, None],
    ids=["bleach", "crystals", "soap alone"],
)
def test_soap_in_the_heel_is_not_poured_again(active: dict[str, str] | None, tmp_path: Path) -> None:
    """Each tankful stands on a gallon of the one before, and the first on what was left last time: all of it has soap."""
    dose = {"stock": "soap", "dose": "2 fl oz/gal"}
    wall = {
        "name": "wall",
        "kind": "bare_wood" if active and active["stock"] == "crystals" else "vinyl",
        "area": "9000 ft2",
    }
    change: dict[str, Any] = {
        "stock": {"lots": [{"name": "drum", "chemical": "bleach", "strength": "10 trade %", "on_hand": "60 gal"},
                           {"name": "crystals", "chemical": "oxalic", "on_hand": "90 lb"},
                           {"name": "suds", "chemical": "soap", "on_hand": "9 gal", "bleach_stable": "true"}]},
        "job": {"surfaces": [wall], "chemicals": [active, dose] if active else [dose],
                "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}},
    }  # fmt: skip
    left = 0.0
    if active is None:
        change["day"] = {"heels": {"mix": {"stock": "soap", "strength": "1.5625 vol %", "volume": "4 gal"}}}
        left = 4.0 * GALLON
    (mix,) = job_json(workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), change)), "us")["mixes"]
    assert len(mix["batches"]) > 1
    assert mix["soap_m3"] == pytest.approx(2.0 / 128.0 * (mix["mix_m3"] - left))
    poured = [sum(one["m3"] for one in batch["additions"] if one["what"] == "soap") for batch in mix["batches"]]  # type: ignore[misc]
    assert sum(poured) == pytest.approx(mix["soap_m3"])


@pytest.mark.ci
@settings(max_examples=examples(25), deadline=None)
@given(target=st.floats(0.2, 2.5), area=st.floats(20.0, 8000.0), dosing=st.sampled_from(["panel", "venturi"]))
def test_a_panel_or_injector_keeps_the_active_and_the_volume(target: float, area: float, dosing: str) -> None:
    (mix,) = _mixes(_job(target, area, 0.0, feed="water", dosing=dosing))
    if dosing == "panel" and not mix.reachable:
        assert (mix.mix, mix.stock, mix.share) == (None, None, None)
        return
    assert mix.lot is not None
    assert mix.lot.nominal is not None
    assert mix.mix is not None
    assert mix.stock is not None
    assert mix.water is not None
    assert mix.soap is not None
    assert mix.stock + mix.water + mix.soap == pytest.approx(mix.mix, rel=1e-9)
    if mix.wall is not None and mix.reachable:
        # An injector's jug holds a twentieth over what is drawn of it.
        over = 1.0 if dosing == "panel" else 1.05
        assert mix.stock * mix.lot.nominal == pytest.approx(over * mix.mix * mix.wall, rel=1e-9)
        assert mix.wall == pytest.approx(mix.target, rel=1e-9)


def test_a_weak_lot_is_loaded_for_and_a_strong_one_checked_for(tmp_path: Path) -> None:
    files = _job(1.0, 500.0, 0.0, feed="water", dosing="panel")
    files["stock"]["lots"][0] |= {"made": "2026-04-20"}
    files["stock"]["lots"][0]["tested"]["on"] = "2026-05-01"
    files["stock"]["lots"][0]["kept_at"] = "90 F"
    mix = workspaces.checked(tmp_path, files).plan.mixes[0]
    assert mix.stock is not None
    assert mix.pull is not None
    assert mix.lot is not None
    assert mix.lot.low is not None
    assert mix.lot.nominal is not None
    assert mix.lot.high is not None
    assert mix.lot.low < mix.lot.nominal < mix.lot.high
    assert mix.mix is not None
    loaded = (mix.mix + 0.15 * mix.need) * mix.target / mix.lot.low
    assert mix.pull == pytest.approx(loaded)
    # A tenth more than its share, which its bucket test lets pass.
    assert mix.wall_high == pytest.approx(1.1 * mix.target * mix.lot.high / mix.lot.nominal)
    assert mix.wall_low == pytest.approx(0.9 * mix.target * mix.lot.low / mix.lot.nominal)


def test_soap_in_an_injectors_jug_is_stronger_by_all_the_water_it_meets(tmp_path: Path) -> None:
    files = _job(0.5, 500.0, 1.0, feed="water", dosing="venturi")
    mix = workspaces.checked(tmp_path, files).plan.mixes[0]
    assert mix.jug_soap == pytest.approx(11 / 128)


def test_crystals_are_weighed_into_measured_water(tmp_path: Path) -> None:
    change = {
        "stock": {"lots": [{"name": "crystals", "chemical": "oxalic", "on_hand": "20 lb"}]},
        "job": {"chemicals": [{"stock": "oxalic", "strength": "60 g/L"}],
                "surfaces": [{"name": "deck", "kind": "bare_wood", "area": "200 ft2"}],
                "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}},
    }  # fmt: skip
    mix = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), change)).plan.mixes[0]
    assert mix.stock_mass is not None
    assert mix.mix is not None
    assert mix.stock_mass == pytest.approx(60.0 * mix.mix)
    assert mix.batches[0].additions[0].what == "water"
    assert mix.batches[0].additions[1].mass == pytest.approx(mix.stock_mass)


def _crystals(heel: dict[str, str], chemical: str = "oxalic", strength: str = "3 wt %") -> dict[str, Any]:
    change = {
        "stock": {"lots": [{"name": "crystals", "chemical": chemical, "on_hand": "90 lb"},
                           {"name": "muri", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "1 gal"}]},
        "day": {"heels": {"mix": heel}},
        "job": {"chemicals": [{"stock": chemical, "strength": strength}],
                "surfaces": [{"name": "deck", "kind": "bare_wood", "area": "1000 ft2"}],
                "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}},
    }  # fmt: skip
    return workspaces.merged(workspaces.base(), change)


@pytest.mark.parametrize(
    ("chemical", "heel", "grams"),
    [
        # Laliberte (2009) through thermo: 5 wt % weighs 1.0394 as percarbonate, 1.0507 as soda ash, 1.0343 as
        # bicarbonate; CRC Handbook as quoted: 1.0189 as citric acid; oxalic by the acid in its crystals.
        ("percarbonate", "5 wt %", 51.97),
        ("soda_ash", "5 wt %", 52.53),
        ("bicarbonate", "5 wt %", 51.72),
        ("citric", "5 wt %", 50.945),
        ("oxalic", "3 wt %", 30.25),
        ("oxalic", "0.5 N", 31.52),
        ("oxalic", "30 g/L", 30.0),
    ],
)
def test_a_heel_of_crystals_counts_as_what_is_dissolved_in_it(chemical: str, heel: str, grams: float) -> None:
    (mix,) = _mixes(_crystals({"stock": chemical, "strength": heel, "volume": "20 gal"}, chemical, "40 g/L"))
    assert mix.heel_strength == pytest.approx(grams, rel=1e-3)
    held = mix.batches[0].heel * mix.heel_strength
    assert mix.stock_mass is not None
    assert mix.mix is not None
    assert held + mix.stock_mass == pytest.approx(40.0 * mix.mix)


def test_a_tank_topped_up_on_yesterdays_oxalic_is_no_stronger_than_asked() -> None:
    (mix,) = _mixes(_crystals({"stock": "oxalic", "strength": "3 wt %", "volume": "20 gal"}))
    assert mix.stock_mass is not None
    assert mix.mix is not None
    # The heel is as strong as the mix, so only the fresh water takes crystals: 30.25 g in each litre of it.
    fresh = mix.mix - mix.batches[0].heel
    assert mix.stock_mass == pytest.approx(30.25 * fresh, rel=1e-3)


@pytest.mark.parametrize(
    ("heel", "code"),
    [
        ({"stock": "oxalic", "strength": "3 vol %"}, "strength.basis"),
        ({"stock": "oxalic", "strength": "1:10"}, "strength.basis"),
        ({"stock": "oxalic", "strength": "3 %"}, "strength.bare"),
        ({"stock": "percarbonate", "strength": "0.5 N"}, "strength.basis"),
        ({"stock": "oxalic", "strength": "3 degBe"}, "strength.basis"),
        ({"stock": "muriatic", "strength": "3 %"}, "strength.bare"),
        ({"stock": "muriatic", "strength": "3 trade %"}, "strength.basis"),
        ({"stock": "muriatic", "strength": "60 wt %"}, "strength.range"),
        ({"stock": "caustic", "strength": "70 wt %"}, "strength.range"),
        # A share of stock says nothing where no lot of it has a strength.
        ({"stock": "bleach", "strength": "3 vol %"}, "strength.basis"),
        ({"stock": "bleach", "strength": "3 wt %"}, "strength.basis"),
        ({"stock": "soap", "strength": "2 wt %"}, "strength.basis"),
        ({"stock": "water", "strength": "2 wt %"}, "key.clash"),
        ({"stock": "oxalic"}, "key.missing"),
    ],
)
def test_a_heel_that_does_not_say_how_much_is_in_it_is_a_fault(tmp_path: Path, heel: dict[str, str], code: str) -> None:
    read = workspaces.loaded(tmp_path, _crystals({**heel, "volume": "2 gal"}))
    (fault,) = read.faults
    assert fault.code == code
    assert fault.where.file.endswith("day.yaml")
    assert fault.where.path.startswith("heels.mix")


def test_a_heel_of_thinned_acid_is_a_share_of_the_strongest_lot() -> None:
    (mix,) = _mixes(
        workspaces.merged(
            _crystals({"stock": "muriatic", "strength": "1:10", "volume": "2 gal"}),
            {"job": {"surfaces": [{"name": "wall", "kind": "brick_acid", "area": "400 ft2"}],
                     "chemicals": [{"stock": "muriatic", "strength": "1:10"}]}},
        )
    )  # fmt: skip
    # A label may be five percent short: too strong a heel is the safe reading.
    assert mix.heel_strength == pytest.approx(1.05 * mix.target)


def test_crystals_on_a_wall_are_asked_for_by_weight(tmp_path: Path) -> None:
    files = _crystals({"stock": "water", "volume": "2 gal"}, "oxalic", "8 wt %")
    (mix,) = _mixes(files)
    assert mix.target == pytest.approx(82.0, rel=2e-3)
    for strength in ("8 vol %", "1:10"):
        files["job"]["chemicals"][0]["strength"] = strength
        (fault,) = workspaces.loaded(tmp_path, files).faults
        assert (fault.code, fault.where.path) == ("strength.basis", "chemicals[0].strength")


def test_a_company_that_reads_its_stick_no_finer_has_its_own_least_rise() -> None:
    files = _job(3.0, 400.0, 0.0, feed="mix", dosing="premix")
    (fine,) = _mixes(files)
    (coarse,) = _mixes(workspaces.merged(files, {"company": {"limits": {"stick_least": "90 in"}}}))
    assert any(one.by_stick for batch in fine.batches for one in batch.additions)
    assert not any(one.by_stick for batch in coarse.batches for one in batch.additions)
