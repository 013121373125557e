"""What is found of a pump that is to lie in acid: its metals, its bleach, the people beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.words import spoken as words
from tests import workspaces
from tests.plan.yard.benches import bath_of, checked, told


@pytest.mark.ci
def test_aluminium_zinc_and_galvanised_parts_stop_and_say_how_much_hydrogen(tmp_path: Path) -> None:
    for number, (metal, about) in enumerate(
        (("aluminum", "aluminium"), ("zinc", "zinc"), ("galvanised", "galvanised steel"))
    ):
        job = checked(tmp_path / f"{number}", change={"rig": {"pumps": {"0": {"wetted": ["plastic", metal]}}}})
        assert told(job, "mix.reaction")[f"booster, {about}"] == ("stop", "bath_metal")
        (finding,) = [one for one in job.findings if one.case == "bath_metal"]
        gas: Any = finding.values["gas_volume"]
        # A mole of hydrogen to two of acid.
        moles = bath_of(job).active / 36.46084e-3
        assert gas.amount == pytest.approx(moles / 2 * 24.465e-3, rel=1e-3)
    spacer = checked(tmp_path / "spacer", {"spacers": ["2 aluminium, 1 thick"]})
    assert told(spacer, "mix.reaction")["booster, aluminium"][0] == "stop"


def test_stainless_is_wiped_and_what_nobody_wrote_is_looked_at(tmp_path: Path) -> None:
    steel = checked(tmp_path / "steel", change={"rig": {"pumps": {"0": {"wetted": ["stainless", "plastic"]}}}})
    assert told(steel, "mix.surface")["booster"] == ("caution", "bath")
    unknown = checked(tmp_path / "unknown", {"pump": "washer"})
    assert told(unknown, "mix.surface")["washer"] == ("caution", "bath_unknown")
    assert told(checked(tmp_path / "plastic"), "mix.surface")["booster"] == ("ok", "bath_ok")


def test_acid_at_the_bench_wants_an_eyewash(tmp_path: Path) -> None:
    assert told(checked(tmp_path / "one"), "site.eyewash")["rig"] == ("ok", "ok")
    bare = checked(tmp_path / "none", change={"rig": {"carried": None}})
    assert told(bare, "site.eyewash")["rig"] == ("stop", "missing")
    test = {"work": "test", "bath": None}
    assert told(checked(tmp_path / "test", {**test, "pump": "washer"}), "site.eyewash")["rig"][0] == "none"
    assert told(checked(tmp_path / "held", test), "site.eyewash")["rig"] == ("ok", "ok"), "who knows what it holds"


def test_a_strip_is_asked_for_even_where_bleach_only_goes_on_other_days(tmp_path: Path) -> None:
    # Bleach in a pump that is only opened is a caution; acid on it is no less.
    assert told(checked(tmp_path / "maybe"), "flush.needed")["booster"] == ("caution", "bath_maybe")
    kept = checked(tmp_path / "never", change={"rig": {"pumps": {"0": {"dedicated": "muriatic"}}}})
    assert told(kept, "flush.needed")["booster"] == ("ok", "bath_never")
    assert (
        bath_of(checked(tmp_path / "kept", change={"rig": {"pumps": {"0": {"dedicated": "muriatic"}}}})).bleached
        == "never"
    )
    assert bath_of(checked(tmp_path / "washer", {"pump": "washer"})).bleached == "never"


def wetted(*names: str, pump: str = "0", **more: Any) -> dict[str, Any]:
    return {"rig": {"pumps": {pump: {"wetted": list(names), **more}}}}


@pytest.mark.parametrize(
    ("name", "case"),
    [
        ("steel", "bath_eaten"), ("carbon steel", "bath_eaten"), ("cast-iron", "bath_eaten"), ("Iron", "bath_eaten"),
        ("stainless steel 316", "bath"), ("brass", "bath_out"), ("bronze", "bath_out"), ("copper", "bath_out"),
        ("nylon", "bath_out"), ("plastic over moonmetal", "bath_unknown"),
        ("EPDM", "bath_ok"), ("glass filled polypropylene", "bath_ok"),
    ],
)  # fmt: skip
def test_each_material_is_told_of_by_its_name_and_one_that_no_list_has_is_never_well(
    name: str, case: str, tmp_path: Path
) -> None:
    job = checked(tmp_path, change=wetted("plastic", name))
    found = [one for one in job.findings if one.code == "mix.surface"]
    assert [one.case for one in found] == [case]
    assert found[0].level == ("ok" if case == "bath_ok" else "caution")


@pytest.mark.parametrize(
    ("name", "material"),
    [
        ("zinc plated steel", "zinc"),
        ("galvanized steel", "galvanised steel"),
        ("alu", "aluminium"),
        ("die-cast", "zinc"),
    ],
)
def test_what_gives_hydrogen_is_found_by_its_words_and_nobody_says_nothing_is_spoiled(
    name: str, material: str, tmp_path: Path
) -> None:
    job = checked(tmp_path, change=wetted("plastic", name))
    assert told(job, "mix.reaction") == {f"booster, {material}": ("stop", "bath_metal")}
    assert told(job, "mix.surface") == {"booster": ("none", "bath_reaction")}


def test_aluminium_bronze_is_a_bronze_and_citric_leaves_stainless_alone(tmp_path: Path) -> None:
    bronze = checked(tmp_path / "bronze", change=wetted("plastic", "aluminium bronze"))
    assert told(bronze, "mix.reaction") == {"job": ("ok", "bench_bath")}
    (quiet,) = [one for one in bronze.findings if one.code == "mix.reaction"]
    assert "Bleach left in it from another day would make chlorine" in words.message(quiet, "us")
    citric = {"name": "citric", "chemical": "citric", "on_hand": "10 lb"}
    change = {**wetted("plastic", "stainless"), "stock": {"lots": [citric]}}
    assert (
        told(checked(tmp_path / "citric", {"bath": "5 wt % citric"}, change), "mix.surface")["booster"][1] == "bath_ok"
    )


def test_a_metal_that_is_written_to_stay_out_is_a_caution_and_the_stop_says_what_to_write(tmp_path: Path) -> None:
    change = wetted("plastic", "aluminium")
    job = checked(tmp_path / "in", change=change)
    (stop,) = [one for one in job.findings if one.case == "bath_metal"]
    assert "`kept_out: [aluminum]`" in words.remedy(stop, "us")
    assert "`kept_out: [aluminium]`" in words.remedy(stop, "si")
    assert "take out `bath` and `descale`" in words.remedy(stop, "us")
    for word in ("aluminum", "aluminium"):
        out = checked(tmp_path / word, {"kept_out": [word]}, change)
        assert told(out, "mix.reaction") == {"booster, aluminium": ("caution", "bath_apart")}
    files = workspaces.merged(workspaces.base(), change)
    files["job"] = {"job": "Booster", "kind": "yard", "pump": "booster", "work": "descale", "kept_out": ["aluminiun"]}
    (fault,) = workspaces.loaded(tmp_path / "slip", files).faults
    assert (fault.code, fault.where.path) == ("name.unknown", "kept_out[0]"), "a slip of the pen lets nothing in"


def test_a_pump_without_a_shaft_is_not_wiped_and_has_no_bath_that_nothing_may_lie_in(tmp_path: Path) -> None:
    change = wetted("plastic", "stainless", pump="1")
    job = checked(tmp_path / "some", {"pump": "washer"}, change)
    (finding,) = [one for one in job.findings if one.code == "mix.surface"]
    assert finding.case == "bath_out"
    assert "wipe" not in words.remedy(finding, "us")
    none = checked(tmp_path / "none", {"pump": "washer"}, wetted("brass", "stainless", pump="1"))
    assert told(none, "mix.surface") == {"washer": ("stop", "bath_nothing")}
    assert none.plan.yard is not None
    assert none.plan.yard.bath is None
    assert (none.plan.neutralisers, dict(none.plan.left.taken)) == ((), {})
    assert "soak" not in [span.what for span in none.plan.time]
    shaft = checked(tmp_path / "shaft", change=wetted("stainless"))
    assert ("caution", "bath_rag") in [(one.level, one.case) for one in shaft.findings if one.code == "mix.surface"]
    assert bath_of(shaft).wipe is not None


@pytest.mark.ci
def test_a_shaft_is_wiped_only_where_it_bears_the_acid(tmp_path: Path) -> None:
    for number, (names, yard, wiped) in enumerate(
        (
            (["plastic", "stainless"], {}, True),
            (["plastic"], {}, True),
            (["plastic", "cast iron"], {}, False),
            (["plastic", "aluminium"], {"kept_out": ["aluminium"]}, False),
            (["plastic", "plastic over moonmetal"], {}, False),
            (["stainless", "cast iron"], {}, True),
        )
    ):
        bath = bath_of(checked(tmp_path / f"{number}", yard, wetted(*names)))
        assert (bath.wipe is not None, bath.passes > 0) == (wiped, wiped), names
    for number, (metal, yard) in enumerate((("aluminium", {"kept_out": ["aluminium"]}), ("cast iron", {}))):
        job = checked(tmp_path / f"only {number}", yard, wetted(metal))
        assert job.plan.yard is not None
        assert job.plan.yard.bath is None, "nothing to soak and nothing to wipe"
        assert told(job, "mix.surface")["booster"] == ("stop", "bath_nothing")


@pytest.mark.parametrize(
    ("pump", "names"),
    [
        ("washer", ["brass", "stainless", "ceramic", "nbr"]),
        ("transfer", ["brass", "nbr"]),
        ("washer", ["ceramic"]),
        ("washer", ["brass", "nbr over moonmetal"]),
    ],
)
def test_plungers_and_seals_and_what_nobody_knows_are_no_reason_to_mix_a_bath(
    pump: str, names: list[str], tmp_path: Path
) -> None:
    place = {"washer": "1", "transfer": "2"}[pump]
    job = checked(tmp_path, {"pump": pump}, wetted(*names, pump=place))
    assert job.plan.yard is not None
    assert job.plan.yard.bath is None
    assert told(job, "mix.surface") == {pump: ("stop", "bath_nothing")}
    (finding,) = [one for one in job.findings if one.case == "bath_nothing"]
    assert "Take `bath:` out" in words.remedy(finding, "us")
    assert "seals" in words.message(finding, "us")
    assert job.verdict == "stop"


@pytest.mark.parametrize(("soak", "level"), [("30 min", None), ("31 min", "caution"), ("2 h", "caution")])
def test_a_soak_over_half_an_hour_is_a_caution(soak: str, level: str | None, tmp_path: Path) -> None:
    job = checked(tmp_path, {"soak": soak})
    assert told(job, "mix.surface").get("bath", (None, ""))[0] == level


def test_oxalic_at_five_percent_is_usual_and_above_it_nobody_is_told_to_soak_lime_again(tmp_path: Path) -> None:
    lots = {"stock": {"lots": [{"name": "ox", "chemical": "oxalic", "on_hand": "20 lb"}]}}
    assert told(checked(tmp_path / "five", {"bath": "5 wt % oxalic"}, lots), "mix.strength")["bath"][0] == "ok"
    strong = checked(tmp_path / "six", {"bath": "6 wt % oxalic"}, lots)
    (finding,) = [one for one in strong.findings if one.code == "mix.strength"]
    assert (finding.level, finding.case) == ("caution", "bath_above_rust")
    assert "lime" not in words.message(finding, "us") + words.remedy(finding, "us")


ACID = {"name": "acid", "chemical": "muriatic", "strength": "31.45 wt %", "on_hand": "5 gal"}


@pytest.mark.parametrize(
    ("lots", "expected"),
    [
        ([], ("stop", "no_agent")),
        ([{"name": "bag", "chemical": "bicarbonate", "on_hand": "1 oz"}], ("stop", "agent_lacking")),
        ([{"name": "bag", "chemical": "bicarbonate", "on_hand": "5.1 lb"}], ("stop", "agent_lacking")),
        ([{"name": "bag", "chemical": "bicarbonate", "on_hand": "5.3 lb"}], ("caution", "agent_short")),
        ([{"name": "bag", "chemical": "bicarbonate"}], ("none", "not_counted")),
        ([{"name": "bag", "chemical": "bicarbonate", "on_hand": "20 lb"}], ("ok", "agent")),
    ],
)
def test_no_bath_is_mixed_that_the_shelf_cannot_end(
    lots: list[dict[str, str]], expected: tuple[str, str], tmp_path: Path
) -> None:
    job = checked(tmp_path, change={"stock": {"lots": [ACID, *lots]}})
    assert told(job, "mix.stock")["bicarbonate"] == expected


def test_soda_ash_alone_on_the_shelf_asks_for_no_bicarbonate(tmp_path: Path) -> None:
    ash = {"name": "ash", "chemical": "soda_ash", "on_hand": "50 lb"}
    found = told(checked(tmp_path, change={"stock": {"lots": [ACID, ash]}}), "mix.stock")
    assert found == {"soda_ash": ("ok", "agent"), "muriatic": ("ok", "ok")}


def test_a_throw_on_a_line_without_a_jet_tells_nothing_and_the_condition_still_does(tmp_path: Path) -> None:
    change = {"rig": {"pumps": {"0": {"condition": "0.7"}}}}
    found = told(checked(tmp_path, {"setup": "rinse", "throw": "40 ft"}, change), "pump.wear")
    assert found == {"throw": ("none", "throw_no_jet"), "booster": ("caution", "worn")}


TESTED: dict[str, Any] = {"work": "test", "bath": None}


def wears(job: Any) -> dict[str, tuple[str, str]]:
    return told(job, "pump.wear")


@pytest.mark.ci
def test_a_bucket_that_lacks_beside_a_sound_gauge_is_the_line_and_no_condition_comes_of_it(tmp_path: Path) -> None:
    line = checked(tmp_path / "line", {**TESTED, "gauge": "69 psi", "bucket": "5 gal in 45 s"})
    assert wears(line) == {"booster": ("ok", "gauge_ok"), "bucket": ("caution", "bucket_under")}
    (finding,) = [one for one in line.findings if one.about == "bucket"]
    assert "condition:" not in words.remedy(finding, "us")
    assert "strainer" in words.remedy(finding, "us")
    alone = checked(tmp_path / "alone", {**TESTED, "bucket": "5 gal in 45 s"})
    assert wears(alone) == {"booster": ("caution", "bucket_worn")}
    both = checked(tmp_path / "both", {**TESTED, "gauge": "49 psi", "bucket": "5 gal in 34 s"})
    assert wears(both) == {"booster": ("caution", "gauge_worn"), "bucket": ("ok", "bucket_with")}
    high = checked(tmp_path / "high", {**TESTED, "gauge": "90 psi", "bucket": "5 gal in 45 s"})
    assert wears(high) == {"booster": ("caution", "gauge_far"), "bucket": ("caution", "bucket_under")}
    assert high.plan.yard is not None
    assert high.plan.yard.test is not None
    assert high.plan.yard.test.before.share == 1.0, "no share from the bucket against the gauge"


@pytest.mark.ci
def test_a_gauge_less_than_the_tip_can_have_come_from_is_doubted(tmp_path: Path) -> None:
    doubted = checked(tmp_path / "low", {**TESTED, "gauge": "40 psi", "bucket": "5 gal in 31 s"})
    assert wears(doubted) == {"booster": ("caution", "gauge_worn"), "bucket": ("caution", "bucket_over")}
    short = checked(tmp_path / "short", {**TESTED, "gauge": "5 psi", "bucket": "5 gal in 45 s"})
    assert wears(short) == {"booster": ("caution", "gauge_short"), "bucket": ("caution", "bucket_over")}
    thrown = checked(tmp_path / "thrown", {**TESTED, "gauge": "69 psi", "throw": "45 ft"})
    assert wears(thrown) == {"booster": ("ok", "gauge_ok"), "throw": ("caution", "throw_under")}


@pytest.mark.parametrize(
    ("pump", "read", "inside", "never"),
    [
        ("booster", {"gauge": "50 psi"}, "wheels and plates", "diaphragm"),
        ("transfer", {"gauge": "30 psi"}, "valves and diaphragm", "wheels"),
        ("washer", {"bucket": "5 gal in 80 s"}, "valves, seats and packings", "wheels"),
    ],
)
def test_what_is_looked_at_is_what_that_kind_of_pump_has(
    pump: str, read: dict[str, str], inside: str, never: str, tmp_path: Path
) -> None:
    setup = {"name": "low", "pump": pump, "feed": "water", "hoses": ["red"], "tip": "fan"}
    job = checked(tmp_path, {**TESTED, "pump": pump, **read}, {"rig": {"setups": [setup]}})
    (finding,) = [one for one in job.findings if one.code == "pump.wear"]
    assert finding.level == "caution"
    assert inside in words.remedy(finding, "us")
    assert never not in words.remedy(finding, "us")


def test_a_wash_says_of_a_piston_pump_in_bypass_what_its_bench_says(tmp_path: Path) -> None:
    files = workspaces.merged(workspaces.base(), {"job": {"hose_runs": {0: {"pump": "washer"}}}})
    (finding,) = [one for one in workspaces.checked(tmp_path, files).findings if one.code == "pump.shut_off"]
    assert finding.case == "bypass"
    assert "2 min at most" in words.message(finding, "us")
