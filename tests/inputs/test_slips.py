"""Slips in what people write: each at its place, each once, all of them at once."""

from __future__ import annotations

import pytest

from planner.faults import Where
from planner.inputs.models.site import Near
from planner.inputs.reading.places import Refused
from tests.inputs.desk import ALDER, BOATHOUSE, DAY, RIG, STOCK, YARD, Desk
from tests.sampled import one_in


def test_the_workspace_of_these_tests_is_sound(desk: Desk) -> None:
    loaded = desk.load("")
    assert loaded.faults == ()
    assert [job.id for job in loaded.jobs] == [
        "2025-06-02/20-boathouse", "2026-06-09/10-boathouse", "2026-06-09/20-alder-lane", "2026-06-09/90-booster",
    ]  # fmt: skip
    assert [day.name for day in loaded.days] == ["2025-06-02", "2026-06-09"]
    assert loaded.workspace == desk.folder


def test_eight_slips_in_three_files_make_exactly_eight_faults(desk: Desk) -> None:
    desk.change(RIG, "volume: 275 gal", "volume: 200 gal")  # 1: does not hold what its shape holds
    desk.change(RIG, "[8 gpm, 58 psi]", "[8 gpm, 68 psi]")  # 2: a curve that rises
    desk.change(RIG, "rated: 200 psi, material: rubber", "rated: 200, material: rubber")  # 3: bare
    desk.change(STOCK, "strength: 12.5 trade %", "strength: 12.5 %")  # 4: which percent
    desk.change(ALDER, "setup: house", "setup: hosue")  # 5: no such setup
    desk.change(ALDER, "{height: 27 ft}", "{hieght: 27 ft, height: 27 ft}")  # 6: unknown key
    desk.change(ALDER, "uphill: 4 ft", "uphill: 4 psi")  # 7: wrong dimension
    desk.change(ALDER, "soil: medium", "soil: filthy")  # 8: no such word
    assert desk.faults(ALDER) == [
        (ALDER, 3, "key.unknown"),
        (ALDER, 5, "value.choice"),
        (ALDER, 7, "name.unknown"),
        (ALDER, 8, "quantity.dimension"),
        (RIG, 3, "tank.shape"),
        (RIG, 8, "curve.rising"),
        (RIG, 23, "quantity.bare"),
        (STOCK, 2, "strength.bare"),
    ]


def test_slips_of_the_reader_the_model_and_the_names_stand_side_by_side(desk: Desk) -> None:
    desk.write(
        ALDER,
        "job: Alder\njob: Lane\nsite:\nbuilding: {height: &h 27 ft}\nsurfaces:\n  - {kind: vynil, area: 1,200 ft2}\n"
        "setup: house\nuphill:\t4 ft\nnear: {cars: 30}\n",
    )
    assert desk.faults(ALDER) == [
        (ALDER, 2, "yaml.duplicate"),
        (ALDER, 3, "yaml.empty"),
        (ALDER, 4, "yaml.anchor"),
        (ALDER, 6, "name.unknown"),
        (ALDER, 6, "yaml.comma"),
        (ALDER, 8, "yaml.tab"),
        (ALDER, 9, "quantity.bare"),
    ]


# One slip at a time: file, what stood there, what was written instead, the line and code it must be found under.
SLIPS = [
    (ALDER, "14 Alder Lane}", "14 Alder Lane, adress: x}", 2, "key.unknown"),
    (ALDER, "site: {address: 14 Alder Lane}", "site: {contact: x}", 2, "key.missing"),
    (ALDER, "site: {address: 14 Alder Lane}", "site: {adress: x}", 2, "key.unknown"),
    (ALDER, "setup: house", "setpu: house", 7, "key.unknown"),
    (ALDER, "height: 18 ft", "heihgt: 18 ft", 5, "key.unknown"),
    (ALDER, "around: 160 ft, height", "arond: 160 ft, height", 5, "key.unknown"),
    (ALDER, "near: {flower_beds: 400 ft2, fish_pond: 25 ft, storm_drain: 40 ft}", "near: 5", 10, "key.shape"),
    (STOCK, "muriatic, strength:", "muriatic, strenght:", 13, "key.unknown"),
    (ALDER, "site: {address: 14 Alder Lane}", "site: 14 Alder Lane", 2, "key.shape"),
    (ALDER, "job: Alder Lane\n", "", 1, "key.missing"),
    (ALDER, "job: Alder Lane", 'job: "  "', 1, "text.blank"),
    (ALDER, "setup: house\n", "", 1, "key.missing"),
    (ALDER, "setup: house", "setup: []", 7, "value.few"),
    (ALDER, "setup: house", "setup: [house, huose]", 7, "name.unknown"),
    (ALDER, "setup: house\nuphill: 4 ft", "hose_runs: []", 7, "value.few"),
    (ALDER, "around: 160 ft, height: 18 ft", "around: 160 ft", 5, "key.missing"),
    (ALDER, "soil: medium", "side: the long wall on the lane behind the garage", 5, "text.long"),
    (ALDER, "soil: medium", "name: all round, side: both gables}\n  - {kind: brick, name: Both  gables, area: 9 ft2", 5, "name.twice"),
    (ALDER, "soil: medium", "name: all round, side: rear}\n  - {kind: brick, name: Rear, side: front, area: 9 ft2", 5, "name.twice"),
    (ALDER, "soil: medium", "name: all round, side: rear}\n  - {kind: brick, name: steps, side: Rear, area: 9 ft2", 6, "name.twice"),
    (ALDER, "around: 160 ft, height: 18 ft", "height: 18 ft", 5, "key.missing"),
    (ALDER, "around: 160 ft,", "around: 160 ft, area: 20 ft2,", 5, "key.clash"),
    (ALDER, "around: 160 ft, height: 18 ft", "squares: 24", 5, "key.clash"),
    (ALDER, "around: 160 ft, height: 18 ft", "area: 100 ft2, less: 100 ft2", 5, "surface.less"),
    (ALDER, "around: 160 ft", "around: 160 feat", 5, "quantity.unit"),
    (ALDER, "around: 160 ft", "around: 0 ft", 5, "quantity.range"),
    (ALDER, "count: 2", "count: two", 6, "quantity.number"),
    (ALDER, "count: 2", "count: 0", 6, "quantity.range"),
    (ALDER, "35 ft x 9 ft", "35 ft by 9 ft", 6, "quantity.number"),
    (ALDER, "building: {height: 27 ft}\n", "", 1, "key.missing"),
    (ALDER, "5 gal in 50 s", "50 s", 9, "quantity.number"),
    (ALDER, "tap: 5 gal in 50 s", "tap: 5 gal in 50 s\nwater: {source: pond, level: -4 ft}", 9, "key.clash"),
    (ALDER, "tap: 5 gal in 50 s", "water: {source: pond}", 9, "key.missing"),
    (ALDER, "tap: 5 gal in 50 s", "water: {static: 9 psi, flow_test: {flow: 6 gpm, pressure: 31 psi}}", 9,
     "water.flow_test"),
    (ALDER, "tap: 5 gal in 50 s", "water: {flow_test: {flow: 6 gpm, pressure: 31 psi}}", 9, "key.missing"),
    (ALDER, "tap: 5 gal in 50 s", "strength: 1 %\nchemicals: []", 9, "key.clash"),
    (ALDER, "tap: 5 gal in 50 s", "chemicals: [{stock: vinegar}]", 9, "name.unknown"),
    (ALDER, "tap: 5 gal in 50 s", "chemicals: [{stock: bleach, strength: 1 %, dose: 2 %}]", 9, "key.clash"),
    (ALDER, "tap: 5 gal in 50 s", "chemicals: [{stock: muriatic, strength: 2 %}]", 9, "strength.bare"),
    (ALDER, "tap: 5 gal in 50 s", "chemicals: [{stock: bleach, strength: 2 N}]", 9, "strength.basis"),
    (ALDER, "tap: 5 gal in 50 s", "chemicals: [{stock: oxalic}]", 9, "key.missing"),
    (ALDER, "tap: 5 gal in 50 s", "chemicals: [{stock: bleach}, {stock: drum 12}]", 9, "name.twice"),
    (ALDER, "tap: 5 gal in 50 s", "rig: Egret", 9, "name.unknown"),
    (ALDER, "tap: 5 gal in 50 s", "accept: [{finding: site.power_line, reason: dry all week, by: owner}]", 9, "accept.never"),
    (ALDER, "tap: 5 gal in 50 s", "accept: [{finding: wether.wind, reason: dry all week, by: owner}]", 9, "name.unknown"),
    (ALDER, "tap: 5 gal in 50 s", "accept: [{finding: weather.wind, by: owner}]", 9, "key.missing"),
    (ALDER, "tap: 5 gal in 50 s", "accept: [{finding: weather.wind, reason: '?', by: owner}]", 9, "text.empty"),
    (ALDER, "tap: 5 gal in 50 s", "accept: [{finding: weather.wind, reason: x, by: owner}]", 9, "text.empty"),
    (ALDER, "tap: 5 gal in 50 s", "accept: [{finding: weather.wind, reason: to do later, by: owner}]", 9, "text.empty"),
    (ALDER, "tap: 5 gal in 50 s", "accept: [{finding: weather.wind, reason: sheltered court, by: '?'}]", 9, "text.empty"),
    (ALDER, "tap: 5 gal in 50 s", "accept: [{finding: weather.wind, reason: sheltered court, by: nobody}]", 9, "text.empty"),
    (ALDER, "tap: 5 gal in 50 s", "chemicals: [{stock: bleach, strength: 6 %, reason: todo}]", 9, "text.empty"),
    (ALDER, "storm_drain: 40 ft}", "storm_drain: 40 ft, control: none}", 10, "name.unknown"),
    (ALDER, "storm_drain: 40 ft}", "storm_drain: 40 ft, control: todo}", 10, "name.unknown"),
    (ALDER, "storm_drain: 40 ft}", "storm_drain: 40 ft, control: '?'}", 10, "name.unknown"),
    (ALDER, "storm_drain: 40 ft}", "storm_drain: 40 ft, control: 2}", 10, "name.unknown"),
    (ALDER, "storm_drain: 40 ft}", "storm_drain: 40 ft, control: [berm, moat]}", 10, "name.unknown"),
    (ALDER, "storm_drain: 40 ft}", "storm_drain: 40 ft, control: {pumped_to: moon}}", 10, "name.unknown"),
    (ALDER, "storm_drain: 40 ft}", "storm_drain: 40 ft, control: []}", 10, "value.few"),
    (ALDER, "tap: 5 gal in 50 s", "like: 2025-06-02/20-boathuose", 9, "name.unknown"),
    (ALDER, "tap: 5 gal in 50 s", "like: ../../../etc/passwd", 9, "name.unknown"),
    (ALDER, "tap: 5 gal in 50 s", "on_reel: 900 ft", 7, "run.on_reel"),
    (ALDER, "tap: 5 gal in 50 s", "fittings: {elbwo: 2}", 9, "name.unknown"),
    (ALDER, "tap: 5 gal in 50 s", "setup: roof", 9, "yaml.duplicate"),
    (BOATHOUSE, "lake side\n    pump: booster", "lake side\n    pump: bosster", 11, "name.unknown"),
    (BOATHOUSE, "hoses: [red 1, red 2]", "hoses: [red 1, red 3]", 14, "name.unknown"),
    (BOATHOUSE, "hoses: [{bore: 3/4 in, length: 60 ft,", "hoses: [{bore: 3/4 in,", 30, "key.missing"),
    (BOATHOUSE, "material: plastic}]", "material: silk}]", 30, "value.choice"),
    (BOATHOUSE, "tip: fan 40", "tip: fan 41", 31, "name.unknown"),
    (BOATHOUSE, "surfaces: [gable]\nchem", "surfaces: [gabel]\nchem", 32, "name.unknown"),
    (BOATHOUSE, "same_time: [garden side]", "same_time: [garden]", 23, "name.unknown"),
    (BOATHOUSE, "dosing: panel\n    hoses: [{", "dosing: venturi\n    hoses: [{", 23, "run.same_time"),
    (BOATHOUSE, "share: 100 %", "share: 120 %", 25, "quantity.range"),
    (RIG, "holds: water", "holds: watre", 3, "name.unknown"),
    (RIG, "holds: water", "holds: todo", 3, "name.unknown"),
    (RIG, "npsh_required: 8 ft", "dedicated: acid stuff", 12, "name.unknown"),
    (RIG, "name: washer 5.5", "name: fan 40", 29, "name.twice"),
    (BOATHOUSE, "target: 31 ft", "target: 31 ft\n    target: 32 ft", 23, "yaml.duplicate"),
    (BOATHOUSE, "tip_height: 4 ft", "tip_hight: 4 ft", 19, "key.unknown"),
    (BOATHOUSE, "uphill: 6 ft", "uphill: 6", 17, "quantity.bare"),
    (BOATHOUSE, "rig: Heron", "rig: Heron\nuphill: 3 ft", 5, "key.clash"),
    (BOATHOUSE, "k: 3.5", "k: 3.5 psi", 15, "quantity.number"),
    (BOATHOUSE, "on_ladder: false", "on_ladder: maybe", 38, "value.choice"),
    (BOATHOUSE, "pitch: 6/12", "pitch: 6", 38, "quantity.bare"),
    (BOATHOUSE, "source: tap", "source: well", 37, "value.choice"),
    (YARD, "pump: booster", "pump: boster", 3, "name.unknown"),
    (YARD, "[descale, rebuild, test]", "[descale, rebiuld]", 4, "value.choice"),
    (YARD, "15 vol % muriatic", "15 vol % vinegar", 6, "name.unknown"),
    (YARD, "15 vol % muriatic", "muriatic", 6, "strength.text"),
    (YARD, "throw: 38 ft", "surfaces: []", 8, "key.unknown"),
    (DAY, "rig: heron", "rig: egret", 1, "name.unknown"),
    (DAY, "leave_yard: 07:00", "leave_yard: 7", 3, "time.clock"),
    (DAY, "crew: [Ana, Joe]", "crew: 0", 2, "value.crew"),
    (DAY, "crew: [Ana, Joe]", "crew: [Ana, '?']", 2, "text.empty"),
    (DAY, "crew: [Ana, Joe]", "crew: [Ana, nobody]", 2, "text.empty"),
    (DAY, "crew: [Ana, Joe]", "crew: [Ana, ana]", 2, "name.twice"),
    (DAY, "wind: 7 mph", "wind: 7 psi", 4, "quantity.dimension"),
    (DAY, "30 % from 14:00", "maybe", 4, "value.rain"),
    (DAY, "heels: {mix:", "heels: {mxi:", 5, "name.unknown"),
    (DAY, "strength: 3 %, ", "", 5, "key.missing"),
    (DAY, "10-boathouse: 25 min", "10-boathuose: 25 min", 6, "name.unknown"),
    (RIG, "rig: Heron", "rig: Heron\nname: Heron", 2, "key.unknown"),
    (RIG, "kind: horizontal_cylinder", "kind: sphere", 3, "value.choice"),
    (RIG, "diameter: 38 in, length: 56 in}", "diameter: 38 in}", 3, "key.missing"),
    (RIG, "dead_volume: 6 gal", "dead_volume: 600 gal", 3, "tank.dead_volume"),
    (RIG, "pumps:\n", "  - {name: tap, volume: 5 gal}\npumps:\n", 5, "name.reserved"),
    (RIG, "pumps:\n", "  - {name: pail 1, volume: 5 gal}\npumps:\n", 5, "name.reserved"),
    (RIG, "pumps:\n", "  - {name: Lawn, volume: 5 gal}\npumps:\n", 5, "name.reserved"),
    (RIG, "pumps:\n", "  - {name: acid 1, volume: 5 gal}\npumps:\n", 5, "name.twice"),
    (RIG, "hoses:\n", "hoses:\n  - {name: bucket, bore: 1 in, length: 9 ft}\n", 23, "name.reserved"),
    (RIG, "hoses:\n", "hoses:\n  - {name: Mix, bore: 1 in, length: 9 ft}\n", 23, "name.twice"),
    (STOCK, "name: acid 1", "name: jug 4", 13, "name.reserved"),
    (RIG, "[0 gpm, 70 psi]", "[1 gpm, 70 psi]", 8, "curve.shut_off"),
    (RIG, "[4 gpm, 66 psi]", "[8 gpm, 66 psi]", 8, "curve.order"),
    (RIG, "[4 gpm, 66 psi]", "[4 gpm, 152 ft]", 8, "curve.mixed"),
    (RIG, "[4 gpm, 66 psi]", "[4 gpm, 66 psi, 3]", 8, "curve.pair"),
    (RIG, "[4 gpm, 66 psi]", "[4, 66 psi]", 8, "quantity.bare"),
    (RIG, "{foot_valve: 1, elbow: 2}", "{foot_vavle: 1}", 17, "name.unknown"),
    (RIG, "kind: piston, flow: 5.5 gpm,", "kind: piston,", 20, "key.missing"),
    (RIG, "kind: piston, flow", "kind: piston, cut_off: 60 psi, flow", 20, "key.clash"),
    (RIG, "orifice: 1/4 in, discharge", "discharge", 27, "key.missing"),
    (RIG, "flow: 5 gpm, at: 40 psi", "flow: 5 gpm", 28, "key.missing"),
    (RIG, "dial: [[1, 4 %], [2, 9 %], [3, 16 %]]", "dial: [[1, 4 %]]", 31, "curve.few"),
    (RIG, "[2, 9 %]", "[2, 3 %]", 31, "curve.order"),
    (RIG, "water_to_stock: 10, ", "", 32, "key.missing"),
    (RIG, "tested: 2026-05-01", "tested: 2026-13-01", 32, "date.text"),
    (RIG, "kind: metered, pump: booster", "kind: metered, pump: bosster", 31, "name.unknown"),
    (RIG, "tip: long throw, on_reel", "tip: long thrwo, on_reel", 34, "name.unknown"),
    (STOCK, "strength: 12.5 wt % NaOCl", "strength: 12.5 wt %", 5, "strength.bare"),
    (STOCK, "tested: {strength: 9.8 trade %", "tested: {strength: 9.8 %", 8, "strength.bare"),
    (STOCK, "chemical: muriatic, strength: 20 degBe", "chemical: muriatic", 13, "key.missing"),
    (STOCK, "kept_at: shed", "kept_at: sehd", 2, "value.choice"),
    (STOCK, "kept_at: [40 F, 42 F,", "kept_at: [40 F,", 7, "key.shape"),
    (STOCK, "kept_at: [40 F, 42 F,", "kept_at: [40, 42 F,", 7, "quantity.bare"),
    (STOCK, "chemical: soap", "chemical: sope", 12, "name.unknown"),
    (STOCK, "name: soda", "name: acid 1", 14, "name.twice"),
    (STOCK, "0.3 wt %", "0.3 %", 11, "strength.basis"),
    ("company.yaml", "units: us", "units: imperial", 2, "value.choice"),
    ("company.yaml", "wind_caution: 8 mph", "power_line_stop: 9 ft", 6, "limit.looser"),
    ("company.yaml", "wind_caution: 8 mph", "wind_cuation: 8 mph", 6, "key.unknown"),
    ("company.yaml", "name: Wharf Lane Wash\n", "", 1, "key.missing"),
    ("surfaces.yaml", "    family: wall\n", "", 3, "key.missing"),
    ("surfaces.yaml", "dwell: 3 min", "dwell: 3 ft", 7, "quantity.dimension"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "line", "code"), one_in(3, SLIPS), ids=lambda value: str(value)[:40])
def test_one_slip_makes_one_fault_at_its_line_with_a_remedy_and_no_pydantic_words(
    desk: Desk, file: str, old: str, new: str, line: int, code: str
) -> None:
    (fault,) = desk.change(file, old, new).load("2026-06-09").faults
    assert desk.brief(fault) == (file, line, code)
    assert fault.message
    assert fault.remedy
    for word in ("Input should", "pydantic", "validator", "None", "<text>", "<keys>"):
        assert word not in fault.message + fault.remedy, (fault.message, fault.remedy)
    assert "<" not in fault.where.path


def test_a_slip_in_a_text_or_keys_union_has_a_plain_path(desk: Desk) -> None:
    desk.change(BOATHOUSE, "length: 60 ft", "length: 60")
    (fault,) = desk.load(BOATHOUSE).faults
    assert fault.where.path == "hose_runs[1].hoses[0].length"


def test_the_nearest_known_key_is_offered(desk: Desk) -> None:
    (fault,) = desk.change(BOATHOUSE, "standoff: 12 ft", "standof: 12 ft").load(BOATHOUSE).faults
    assert "`standoff`" in fault.remedy
    assert fault.where.path == "hose_runs[0].standof"


def test_a_missing_key_points_at_its_parent_and_shows_how_it_is_written(desk: Desk) -> None:
    (fault,) = desk.change(ALDER, "{address: 14 Alder Lane}", "{contact: x}").load(ALDER).faults
    assert (fault.where.line, fault.where.column, fault.where.path) == (2, 1, "site")
    assert "address: 14 Alder Lane" in fault.remedy


def test_braces_in_what_was_written_stay_as_written(desk: Desk) -> None:
    (fault,) = desk.change(ALDER, "uphill: 4 ft", "uphill: '{0} {remedy} %s'").load(ALDER).faults
    assert "{0} {remedy} %s" in fault.message


def test_a_shape_and_a_volume_that_disagree_are_both_said(desk: Desk) -> None:
    (fault,) = desk.change(RIG, "volume: 275 gal", "volume: 250 gal").load(ALDER).faults
    assert "275 gal" in fault.message
    assert "250 gal" in fault.message


@pytest.mark.parametrize(
    ("volume", "sound"), [("283 gal", True), ("284 gal", False), ("267.1 gal", True), ("266 gal", False)]
)
def test_shape_and_volume_may_differ_by_three_percent(desk: Desk, volume: str, sound: bool) -> None:
    # pi/4 x (38 in)^2 x 56 in = 63,510 in3 = 274.9 gal; 3 % is counted of the volume written.
    assert bool(desk.change(RIG, "volume: 275 gal", f"volume: {volume}").faults(ALDER)) is not sound


def test_what_lies_at_or_below_a_refused_path_is_not_judged_again() -> None:
    """Each path is looked up, not held against every other: nine thousand of them are no wait."""
    refused = Refused(paths=frozenset(("f", f"key{n}") for n in range(9_000)))
    for n in range(9_000):
        assert refused.covers(Where(file="f", path=f"key{n}.a[0]"))
        assert not refused.covers(Where(file="f", path=f"key{n}0000"))
    assert not refused.covers(Where(file="g", path="key1"))
    assert Refused(paths=frozenset({("f", "")})).covers(Where(file="f", path="any.where"))


def test_all_that_is_near_with_a_distance_is_among_the_distances() -> None:
    far = [name for name, field in Near.model_fields.items() if "Distance" in (field.description or "")]
    assert set(Near.model_validate(dict.fromkeys(far, "25 ft")).distances) == set(far)
