"""How strong a lot is on the day: its own storage, month by month, from the day it was made or last tested."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from planner.chemistry import acids, solutions
from planner.chemistry.hypochlorite import Stored, strength_since_made, strength_since_test
from planner.inputs.models import Lot
from planner.inputs.reading.strengths import read_strength
from planner.inputs.tables.chemicals import CHEMICALS
from planner.plan.between.heels import keeps
from planner.plan.mix.lots import active, lot_today
from tests import workspaces

DAY = 86400.0
JUNE = datetime.date(2026, 6, 9)


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


def lot(**written: Any) -> Lot:
    return Lot.model_validate({"name": "drum", "chemical": "bleach", "strength": "12.5 trade %", **written})


def test_a_drum_kept_at_one_temperature_fades_by_its_days() -> None:
    today = lot_today(lot(made="2026-05-10", kept_at="86 F"), JUNE)
    # A label may be a fifth too high, and 12.5 by weight is 14.1 trade %.
    aged = strength_since_made(125.0, [Stored(temperature=kelvin(86), seconds=30 * DAY)], error=(0.2, 0.15))
    assert (today.low, today.nominal, today.high) == pytest.approx((aged.low, aged.nominal, aged.high), rel=1e-9)
    assert today.age == 30 * DAY
    assert today.known
    assert today.hot


def test_twelve_temperatures_count_each_month_for_its_own_days() -> None:
    by_month = ["50 F"] * 3 + ["60 F", "70 F", "90 F", "100 F", "100 F", "80 F", "60 F", "50 F", "50 F"]
    today = lot_today(lot(made="2026-04-20", kept_at=by_month), JUNE)
    stretches = [(60, 11), (70, 31), (90, 8)]
    aged = strength_since_made(125.0, [Stored(temperature=kelvin(f), seconds=days * DAY) for f, days in stretches])
    assert today.nominal == pytest.approx(aged.nominal, rel=1e-12)
    # July's heat is still to come; June's it has seen.
    assert today.hot
    assert not lot_today(lot(made="2026-04-20", kept_at=by_month), datetime.date(2026, 5, 30)).hot


def test_a_test_is_a_new_start_and_the_drum_fades_on_from_it() -> None:
    tested = {"strength": "11 trade %", "on": "2026-06-02"}
    today = lot_today(lot(made="2026-05-01", kept_at="90 F", tested=tested), JUNE)
    aged = strength_since_test(110.0, [Stored(temperature=kelvin(90), seconds=7 * DAY)], 125.0)
    assert today.nominal == pytest.approx(aged.nominal, rel=1e-12)
    assert today.age == 7 * DAY
    assert today.tested
    assert not today.optimistic


def test_with_no_date_it_stands_as_written_and_says_so() -> None:
    today = lot_today(lot(), JUNE)
    assert (today.nominal, today.high) == (125.0, pytest.approx(1.15 * 125.0))
    # Its low end is that of a drum which stood two months in the shed.
    stood = [Stored(temperature=kelvin(80), seconds=60 * DAY)]
    assert today.low == pytest.approx(strength_since_made(125.0, stood, error=(0.2, 0.15)).low)
    assert not today.known
    assert today.age is None


BANDS: list[dict[str, Any]] = [
    {"tested": {"strength": "11 trade %", "on": "2026-06-09"}},
    {"tested": {"strength": "11 trade %", "on": "2026-06-09", "by": "titration"}},
    {"tested": {"strength": "11 trade %", "on": "2026-06-30"}},
    {"tested": {"strength": "11 trade %", "on": "2026-03-09"}, "made": "2026-03-09"},
    {"strength": "1 trade %", "tested": {"strength": "11 trade %", "on": "2026-06-08"}},
    {"made": "2026-06-09"},
    {"made": "2026-07-01"},
    {"made": "2026-06-01", "excess_caustic": "0.001 wt %"},
    {},
    {"chemical": "muriatic", "strength": "31.45 wt %"},
    {
        "chemical": "muriatic",
        "strength": "20 degBe",
        "tested": {"strength": "19 degBe", "on": "2026-06-09", "by": "hydrometer"},
    },
    {"chemical": "caustic", "strength": "50 wt %"},
]


@pytest.mark.parametrize("written", BANDS, ids=str)
@pytest.mark.parametrize("today", [JUNE, None])
def test_no_strength_is_exact_just_because_it_was_typed(written: dict[str, Any], today: datetime.date | None) -> None:
    found = lot_today(lot(**written), today)
    assert found.low is not None
    assert found.nominal is not None
    assert found.high is not None
    assert 0.0 < found.low <= 0.97 * found.nominal
    assert found.high >= 1.02 * found.nominal


def test_a_titration_is_closer_than_a_strip_and_either_than_a_label() -> None:
    def width(**written: Any) -> tuple[float, float]:
        found = lot_today(lot(**written), JUNE)
        assert found.low is not None
        assert found.nominal is not None
        assert found.high is not None
        return 1.0 - found.low / found.nominal, found.high / found.nominal - 1.0

    drops = width(tested={"strength": "11 trade %", "on": "2026-06-09", "by": "titration"})
    strip = width(tested={"strength": "11 trade %", "on": "2026-06-09", "by": "strip"})
    said_nothing = width(tested={"strength": "11 trade %", "on": "2026-06-09"})
    label = width(made="2026-06-09")
    undated = width()
    assert said_nothing == strip
    assert all(a < b for a, b in zip(drops, strip, strict=True))
    assert all(a < b for a, b in zip(strip, label, strict=True))
    assert undated[0] > label[0]
    assert undated[1] >= label[1]


def test_an_older_test_is_wider_than_one_of_today_and_the_last_one_counts() -> None:
    def band(on: str) -> tuple[float, float]:
        found = lot_today(lot(made="2026-05-01", kept_at="90 F", tested={"strength": "11 trade %", "on": on}), JUNE)
        assert found.low is not None
        assert found.nominal is not None
        return found.low / found.nominal, found.nominal

    assert band("2026-05-20") < band("2026-06-02") < band("2026-06-09")


def test_bleach_short_of_caustic_is_outside_the_model_and_never_fades_slower() -> None:
    drums = [
        lot(made="2026-05-10", kept_at="86 F", excess_caustic=f"{share} wt %") for share in (0.2, 0.05, 0.003, 0.0001)
    ]
    usual, little, short, none = (lot_today(drum, JUNE) for drum in drums)
    assert usual.nominal is not None
    for found in (little, short, none):
        assert found.nominal is not None
        # A strength by weight goes by the density; in trade % the mass in a litre is the same.
        assert found.nominal <= usual.nominal * (1 + 1e-9)
    assert [drum.lye_ph and drum.lye_ph >= 11 for drum in (usual, little, short, none)] == [True, True, False, False]
    assert short.extrapolated
    assert not little.extrapolated  # .05 % is pH 12.2
    assert none.low is not None
    assert usual.low is not None
    assert none.low < usual.low


def test_a_hydrometer_is_no_test_of_bleach_and_a_good_one_of_acid(tmp_path: Path) -> None:
    by = {"stock": {"lots": {0: {"tested": {"by": "hydrometer"}}}}}
    (fault,) = workspaces.loaded(tmp_path / "bleach", workspaces.merged(workspaces.base(), by)).faults
    assert "cannot see lost strength" in fault.message
    assert fault.where is not None
    acid = {"stock": {"lots": {1: {"tested": {"strength": "31 wt %", "on": "2026-06-09", "by": "hydrometer"}}}}}
    assert not workspaces.loaded(tmp_path / "acid", workspaces.merged(workspaces.base(), acid)).faults
    unknown = {"stock": {"lots": {0: {"tested": {"by": "nose"}}}}}
    (slip,) = workspaces.loaded(tmp_path / "nose", workspaces.merged(workspaces.base(), unknown)).faults
    assert "strip" in slip.remedy


@pytest.mark.parametrize(("target", "lye", "stays"), [("3 %", "0.2 wt %", True), ("1 %", "0.2 wt %", True),
                                                      ("0.4 %", "0.2 wt %", False), ("1 %", "0.05 wt %", False)])  # fmt: skip
def test_a_mix_that_its_lye_does_not_keep_above_ph_11_is_not_kept(
    tmp_path: Path, target: str, lye: str, stays: bool
) -> None:
    # .2 percent of lye is .057 mol/L; a tap's bicarbonate takes .002 of what is left of it in the mix.
    change = {"job": {"chemicals": [{"stock": "bleach", "strength": target}],
                      "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}},
              "stock": {"lots": {0: {"excess_caustic": lye}}}}  # fmt: skip
    (mix,) = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), change)).plan.mixes
    assert keeps(mix) is stays


def test_a_heel_typed_is_a_fifth_off_either_way_in_what_lands_and_in_what_is_loaded(tmp_path: Path) -> None:
    def mixed(folder: str, **day: Any) -> Any:
        change = {"day": day, "job": {"chemicals": [{"stock": "bleach", "strength": "3 %"}],
                                      "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}}}  # fmt: skip
        (mix,) = workspaces.checked(tmp_path / folder, workspaces.merged(workspaces.base(), change)).plan.mixes
        return mix

    dry = mixed("dry")
    heel = mixed("heel", heels={"mix": {"stock": "bleach", "strength": "3 %", "volume": "4 gal"}})
    assert (dry.wall_low, dry.wall_high) == (pytest.approx(30 * 0.875), pytest.approx(30 * 1.125))
    assert heel.wall_low < dry.wall_low
    assert heel.wall_high > dry.wall_high
    assert heel.pull > heel.stock / 0.875


def test_what_earlier_jobs_took_is_gone_and_never_less_than_nothing() -> None:
    gallon = 231 * 0.0254**3
    held = lot(on_hand="10 gal")
    assert lot_today(held, JUNE, 4 * gallon).on_hand == pytest.approx(6 * gallon)
    assert lot_today(held, JUNE, 10 * gallon).on_hand == 0.0
    assert lot_today(held, JUNE, 12 * gallon).on_hand == 0.0
    assert lot_today(lot(), JUNE, gallon).on_hand is None


def test_lye_is_known_by_weight_and_by_normality() -> None:
    assert active(read_strength("50 wt %"), "caustic") == pytest.approx(
        solutions.strength(CHEMICALS["caustic"].solution.rows, 0.5)
    )
    assert active(read_strength("5 N"), "caustic") == pytest.approx(200.0, rel=1e-3)


def acid_job(folder: Path, strength: str) -> Any:
    change = {
        "job": {"surfaces": [{"name": "wall", "kind": "brick_acid", "area": "100 ft2"}],
                "chemicals": [{"stock": "muriatic", "strength": strength}],
                "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}},
    }  # fmt: skip
    (mix,) = workspaces.checked(folder, workspaces.merged(workspaces.base(), change)).plan.mixes
    return mix


def test_fifteen_percent_by_volume_of_muriatic_comes_to_what_its_masses_say(tmp_path: Path) -> None:
    # 15 vol % of 31.45 wt %: 5.337 wt %, 1.0242 g/mL, 1.499 N, warms by 4.1 K +- .7 (Laliberte 2009, CRC heats).
    acid = acid_job(tmp_path, "15 vol %").acid
    assert acid is not None
    assert 100 * acid.mass_fraction == pytest.approx(5.337, abs=0.01)
    assert acid.density == pytest.approx(1024.2, abs=0.2)
    assert acid.normality == pytest.approx(1.499, abs=0.003)
    assert acid.rise == pytest.approx(4.1, abs=0.1)
    assert acid.rise_high == pytest.approx(4.8, abs=0.1)


def test_a_strength_by_weight_is_the_acid_that_comes_out(tmp_path: Path) -> None:
    mix = acid_job(tmp_path, "5 wt %")
    assert mix.acid is not None
    assert mix.target == pytest.approx(acids.strength(0.05))
    # Pouring by volume is out by the contraction, a quarter of a percent.
    assert mix.acid.mass_fraction == pytest.approx(0.05, rel=3e-3)


def test_bleach_has_no_figures_of_acid(tmp_path: Path) -> None:
    change = {"job": {"chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": {0: {"dosing": "panel"}}}}
    (mix,) = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), change)).plan.mixes
    assert mix.acid is None
    assert mix.dissolves is None


def test_strong_lye_is_pumped_as_the_thick_heavy_liquid_it_is(tmp_path: Path) -> None:
    runs = {}
    for name, strength in (("thin", "1 wt %"), ("thick", "20 wt %")):
        change = {
            "stock": {"lots": [{"name": "lye", "chemical": "caustic", "strength": "50 wt %", "on_hand": "30 gal"}]},
            "job": {"surfaces": [{"name": "wall", "kind": "brick", "area": "100 ft2"}],
                    "chemicals": [{"stock": "caustic", "strength": strength}],
                    "hose_runs": {0: {"feed": "mix", "dosing": "premix"}}},
        }  # fmt: skip
        plan = workspaces.checked(tmp_path / name, workspaces.merged(workspaces.base(), change)).plan
        (run,) = plan.runs
        assert plan.mixes[0].reachable
        runs[name] = run
    assert runs["thick"].liquid.viscosity / runs["thin"].liquid.viscosity == pytest.approx(4.661 / 1.011, rel=0.01)
    assert runs["thick"].liquid.density / runs["thin"].liquid.density == pytest.approx(1218.7 / 1009.2, rel=1e-3)
    reynolds = [max(part.reynolds or 0.0 for part in runs[name].losses) for name in ("thin", "thick")]
    assert reynolds[1] < 0.3 * reynolds[0]
    assert runs["thick"].npsh_available is not None
    assert runs["thin"].npsh_available is not None
    assert runs["thick"].npsh_available < runs["thin"].npsh_available
