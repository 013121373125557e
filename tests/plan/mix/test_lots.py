"""Which drums a mix is poured from: oldest first, split where one runs short, less what earlier jobs took."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.checks.model import CheckedJob
from planner.contract.plan import document
from planner.days.prepare import Trouble, checked_jobs, days_of
from planner.inputs.workspace import load
from planner.plan.days.day import DayPlan
from planner.plan.mix.model import MixPlan
from tests import workspaces
from tests.sampled import examples

GALLON = 231 * 0.0254**3
POUND = 0.45359237
TODAY = "2026-06-09"


def drum(name: str, made: str, tested: str, on_hand: str | None) -> dict[str, Any]:
    lot: dict[str, Any] = {"name": name, "chemical": "bleach", "strength": "12.5 trade %", "made": made,
                           "tested": {"strength": f"{tested} trade %", "on": TODAY}}  # fmt: skip
    return lot | ({"on_hand": on_hand} if on_hand is not None else {})


def shelf(*amounts: str | None) -> dict[str, Any]:
    """Drums named A, B, C by age: of 10, 11 and 12 trade % tested today."""
    made = ("2026-05-01", "2026-05-10", "2026-05-20")
    return {
        "lots": [
            drum(name, day, tested, amount)
            for name, day, tested, amount in zip("ABC", made, ("10", "11", "12"), amounts, strict=False)
        ]
    }


def job(run: dict[str, str], strength: str = "1 %", area: str = "500 ft2", **more: Any) -> dict[str, Any]:
    return {"surfaces": [{"name": "wall", "kind": "vinyl", "area": area}],
            "chemicals": [{"stock": "bleach", "strength": strength}], "hose_runs": {0: run}, **more}  # fmt: skip


PREMIX = {"feed": "mix", "dosing": "premix"}
PANEL = {"dosing": "panel"}
VENTURI = {"dosing": "venturi"}


def mix_of(folder: Path, stock: dict[str, Any], wanted: dict[str, Any]) -> tuple[CheckedJob, MixPlan]:
    checked = workspaces.checked(folder, workspaces.merged(workspaces.base(), {"stock": stock, "job": wanted}))
    (mix,) = checked.plan.mixes
    return checked, mix


def given_by(mix: MixPlan) -> dict[str, tuple[float, float]]:
    return {one.lot.name: (one.stock / GALLON, one.pull / GALLON) for one in mix.pours}


def test_a_tankful_takes_what_the_oldest_drum_has_and_the_rest_from_the_next(tmp_path: Path) -> None:
    _, mix = mix_of(tmp_path, shelf("0.5 gal", "20 gal"), job(PREMIX, "3 %"))
    (batch,) = mix.batches
    assert [one.lot.name for one in mix.pours] == ["A", "B"]
    assert mix.pours[0].stock == pytest.approx(0.5 * GALLON)
    assert mix.lot is not None
    assert mix.lot.name == "A"
    assert [step.what for step in batch.additions] == ["water", "A", "B"]
    active = sum(one.stock * (one.lot.nominal or 0.0) for one in mix.pours)
    assert active == pytest.approx(batch.mix * 30.0, rel=1e-9)
    assert batch.stock + batch.water + batch.soap + batch.heel == pytest.approx(batch.mix, rel=1e-9)
    assert mix.stock == pytest.approx(sum(one.stock for one in mix.pours), rel=1e-9)


def test_each_batch_has_its_own_shares_and_an_empty_drum_is_not_opened_again(tmp_path: Path) -> None:
    _, mix = mix_of(tmp_path, shelf("20 gal", "40 gal"), job(PREMIX, "3 %", "5000 ft2"))
    assert len(mix.batches) > 2
    poured = [[step.what for step in batch.additions if step.what in "ABC"] for batch in mix.batches]
    assert poured[0] == ["A"]
    assert poured[-1] == ["B"]
    assert sorted(poured, key=lambda names: (names[-1], len(names) == 1)) == poured
    from_a = sum(step.volume for batch in mix.batches for step in batch.additions if step.what == "A")
    assert from_a == pytest.approx(20 * GALLON)


def test_a_panel_is_set_anew_when_the_drum_is_changed(tmp_path: Path) -> None:
    # Of the older drum no more is drawn than does whole sections.
    _, mix = mix_of(tmp_path, shelf("0.7 gal", "20 gal"), job(PANEL))
    first, second = mix.pours
    # 1 trade % from 10 is a share of 10 %, from 11 of 9.09 %; the dial has 4 % at 1, 9 % at 2, 16 % at 3.
    assert first.dial == pytest.approx(2 + 1 / 7)
    assert second.dial == pytest.approx(2 + (100 / 11 - 9) / 7)
    assert mix.dial == first.dial
    assert mix.mix is not None
    assert 0.0 < (first.mix or 0.0) <= 7.0 * GALLON
    assert first.stock == pytest.approx((first.mix or 0.0) * 0.1)
    assert (first.mix or 0.0) + (second.mix or 0.0) == pytest.approx(mix.mix)


def test_a_drum_that_would_not_do_a_section_is_left_alone_and_the_next_is_loaded_and_set_for(tmp_path: Path) -> None:
    _, mix = mix_of(tmp_path, shelf("0.5 gal", "20 gal"), job(PANEL))
    first, second = mix.pours
    assert first.stock == 0.0
    assert (mix.dial, mix.share) == (second.dial, second.share)
    # All of it comes from the second, as weak as that may be.
    assert second.lot.low is not None
    assert second.pull >= second.stock * (second.lot.nominal or 0.0) / second.lot.low * (1 - 1e-9)


def test_an_injector_has_a_jug_for_each_drum(tmp_path: Path) -> None:
    _, mix = mix_of(tmp_path, shelf("0.4 gal", "20 gal"), job(VENTURI, "0.8 %"))
    first, second = mix.pours
    assert first.jug_stock == pytest.approx(0.88)
    assert second.jug_stock == pytest.approx(0.8)
    assert mix.jug_stock == first.jug_stock
    assert mix.water is not None
    assert mix.stock is not None
    assert mix.stock + mix.water == pytest.approx(mix.mix)


def test_a_drum_too_weak_for_the_dosing_is_passed_over(tmp_path: Path) -> None:
    # 10:1 gives an eleventh: from 10 trade % .909 at most, from 11 just 1.
    checked, mix = mix_of(tmp_path, shelf("20 gal", "20 gal"), job(VENTURI, "1 %"))
    assert [one.lot.name for one in mix.pours] == ["B"]
    assert {f.level for f in checked.findings if f.code == "mix.reach"} == {"caution"}  # not if B is weak


def test_dregs_stay_shut_unless_they_are_needed(tmp_path: Path) -> None:
    _, whole = mix_of(tmp_path / "a", shelf("3 fl oz", "20 gal"), job(PREMIX, "3 %"))
    assert [one.lot.name for one in whole.pours] == ["B"]
    need = given_by(whole)["B"][1]
    checked, short = mix_of(tmp_path / "b", shelf("3 fl oz", f"{need - 0.02:.4f} gal"), job(PREMIX, "3 %"))
    assert [one.lot.name for one in short.pours] == ["B", "A"]
    assert {f.level for f in checked.findings if f.code == "mix.stock" and f.about == "hypochlorite"} == {"ok"}


def test_a_second_drum_rides_along_where_the_first_would_do_unless_it_is_weak(tmp_path: Path) -> None:
    old = {
        "name": "A",
        "chemical": "bleach",
        "strength": "12.5 trade %",
        "made": "2026-05-10",
        "kept_at": "80 F",
        "on_hand": "1.41 gal",
    }
    fresh = drum("B", "2026-06-01", "12", "20 gal")
    checked, mix = mix_of(tmp_path, {"lots": [old, fresh]}, job(PANEL))
    first, reserve = mix.pours
    assert first.stock / GALLON < 1.41
    assert (reserve.stock, reserve.lot.name) == (0.0, "B")
    assert reserve.pull > 0.0
    assert mix.lot is not None
    assert mix.lot.name == "A"
    assert {f.level for f in checked.findings if f.code == "mix.stock" and f.about == "hypochlorite"} == {"ok"}


@pytest.mark.ci
@settings(max_examples=examples(40), deadline=None)
@given(
    first=st.floats(0.05, 6.0), second=st.floats(0.05, 6.0), third=st.one_of(st.none(), st.floats(0.05, 60.0)),
    target=st.floats(0.45, 1.5), area=st.floats(100.0, 4000.0), how=st.sampled_from(["tank", "panel", "venturi"]),
    soap=st.sampled_from([0.0, 1.0]),
)  # fmt: skip
def test_any_shelf_keeps_active_and_volume_and_hits_the_target(
    first: float, second: float, third: float | None, target: float, area: float, how: str, soap: float
) -> None:
    stock = shelf(f"{first:.4f} gal", f"{second:.4f} gal", None if third is None else f"{third:.4f} gal")
    run = {"tank": PREMIX, "panel": PANEL, "venturi": VENTURI}[how]
    wanted = job(run, f"{target:.4f} trade %", f"{area:.1f} ft2")
    if soap:
        wanted["chemicals"].append({"stock": "soap", "dose": f"{soap} fl oz/gal"})
    with TemporaryDirectory() as folder:
        checked, mix = mix_of(Path(folder), stock, wanted)
    if not mix.reachable:
        return
    assert mix.mix is not None
    assert mix.stock is not None
    assert mix.water is not None
    assert mix.soap is not None
    assert mix.stock + mix.water + mix.soap + mix.heel == pytest.approx(mix.mix, rel=1e-9)
    assert sum(one.stock for one in mix.pours) == pytest.approx(mix.stock, rel=1e-9)
    active = sum(one.stock * (one.lot.nominal or 0.0) for one in mix.pours)
    # The target is written to four decimals; an injector's jug holds up to a twentieth over what is drawn of it.
    extra = active / (mix.mix * mix.target)
    assert active == pytest.approx(extra * mix.mix * 10.0 * float(f"{target:.4f}"), rel=1e-6)
    assert 1.0 - 1e-9 <= extra <= (1.05 if how == "venturi" else 1.0) + 1e-9
    assert all(one.pull >= one.stock * (1 - 1e-9) for one in mix.pours) or mix.short_pull > 0.0
    held = {"A": first, "B": second, "C": third}
    over = 0.0
    for one in mix.pours:
        limit = held[one.lot.name]
        over += 0.0 if limit is None else max(one.stock - round(limit, 4) * GALLON * (1 + 1e-9), 0.0)
    assert over == pytest.approx(mix.short, abs=1e-9)
    levels = {f.level for f in checked.findings if f.code == "mix.stock" and f.about == "hypochlorite"}
    assert ("stop" in levels) == (mix.short > 1e-9 * mix.stock)


# ------------------------------------------------------------------------------------- through the day and the days


def days(folder: Path, stock: dict[str, Any], *folders: list[dict[str, Any]]) -> tuple[list[CheckedJob], list[DayPlan]]:
    """Days in a row from today, each with its jobs; asked for in the wrong order."""
    base = workspaces.merged(workspaces.base(), {"stock": stock, "day": {"leave_yard": "07:00"}})
    workspaces.write(folder, base)
    (folder / TODAY / "10-case.yaml").unlink()
    paths = []
    for place, jobs in enumerate(folders):
        date = datetime.date.fromisoformat(TODAY) + datetime.timedelta(days=place)
        path = folder / date.isoformat()
        path.mkdir(exist_ok=True)
        paths.append(path)
        (path / "day.yaml").write_text(yaml.safe_dump(base["day"]), encoding="utf-8")
        for number, one in enumerate(jobs, start=1):
            written = workspaces.merged(base["job"], one)
            (path / f"{number}0-job.yaml").write_text(yaml.safe_dump(written), encoding="utf-8")
    read = load(paths[::-1])
    trouble = Trouble(faults=list(read.faults))
    jobs_now = list(checked_jobs(read, trouble))
    assert not trouble.faults, trouble.faults
    assert not trouble.ours
    found = days_of(read, jobs_now)
    return [one for _, clocked in found for one in clocked], [day for day, _ in found]


def test_what_an_earlier_job_pulls_is_off_the_shelf_before_the_next_is_planned(tmp_path: Path) -> None:
    jobs, (day,) = days(tmp_path, shelf("2 gal", "20 gal"), [job(PANEL), job(PANEL)])
    first, second = (one.plan.mixes[0] for one in jobs)
    assert list(given_by(first)) == ["A"]
    assert list(given_by(second)) == ["A", "B"]
    left = 2.0 - given_by(first)["A"][1]
    assert given_by(second)["A"][1] == pytest.approx(left)
    pulled = {pull.lot: pull.volume / GALLON for pull in day.pulls}
    assert pulled["A"] == pytest.approx(2.0)
    assert {f.level for one in jobs for f in one.findings if f.code == "mix.stock" and f.about == "hypochlorite"} == {
        "ok"
    }


def test_days_follow_each_other_whatever_order_they_were_asked_for_in(tmp_path: Path) -> None:
    jobs, found = days(tmp_path, shelf("2 gal", "20 gal"), [job(PANEL)], [job(PANEL)])
    assert [day.date.isoformat() for day in found] == [TODAY, "2026-06-10"]
    first, second = (one.plan.mixes[0] for one in jobs)
    assert given_by(second)["A"][1] == pytest.approx(2.0 - given_by(first)["A"][1])
    # The day after, the drum tested today is a day older.
    assert second.pours[0].lot.age == pytest.approx(86400.0)
    outlook = {one.lot.name: one for one in found[0].outlook}
    assert outlook["A"].runs_out == datetime.date(2026, 6, 10)
    assert outlook["A"].left == pytest.approx(2.0 * GALLON - found[0].pulls[0].volume)


def test_a_held_job_takes_nothing(tmp_path: Path) -> None:
    held = job(PANEL, access={"power_line": "5 ft"})
    jobs, _ = days(tmp_path, shelf("2 gal", "20 gal"), [held, job(PANEL)])
    assert jobs[0].verdict == "stop"
    assert given_by(jobs[1].plan.mixes[0]) == given_by(jobs[0].plan.mixes[0])


def test_two_mixes_of_one_job_do_not_pour_the_same_gallon(tmp_path: Path) -> None:
    second = {"name": "back", "pump": "transfer", "feed": "mix", "dosing": "premix", "tip": "fan", "target": "8 ft",
              "hoses": [{"bore": "1/2 in", "length": "50 ft"}], "surfaces": ["fence"]}  # fmt: skip
    front = workspaces.base()["job"]["hose_runs"][0] | PANEL | {"surfaces": ["wall"]}
    wanted = {
        "surfaces": [{"name": "wall", "kind": "vinyl", "area": "500 ft2"}, {"name": "fence", "kind": "vinyl", "area": "500 ft2"}],
        "chemicals": [{"stock": "bleach", "strength": "1 %"}], "hose_runs": [front, second],
    }  # fmt: skip
    files = workspaces.merged(workspaces.base(), {"stock": shelf("2 gal", "20 gal"), "job": wanted})
    plan = workspaces.checked(tmp_path, files).plan
    taken = sum(one.pull for mix in plan.mixes for one in mix.pours if one.lot.name == "A")
    assert taken / GALLON == pytest.approx(2.0)
    assert plan.left.taken["A"] / GALLON == pytest.approx(2.0)
    assert plan.found.taken == {}


def test_soap_is_taken_from_its_drums_alike(tmp_path: Path) -> None:
    soaps = [{"name": "S1", "chemical": "soap", "on_hand": "5 fl oz", "bleach_stable": "true", "made": "2026-01-01"},
             {"name": "S2", "chemical": "soap", "on_hand": "2 gal", "bleach_stable": "true", "made": "2026-02-01"}]  # fmt: skip
    stock = {"lots": [*shelf("20 gal")["lots"], *soaps]}
    wanted = job(PREMIX)
    wanted["chemicals"].append({"stock": "soap", "dose": "1 fl oz/gal"})
    jobs, (day,) = days(tmp_path, stock, [wanted, wanted])
    first, second = (one.plan.mixes[0] for one in jobs)
    assert [one.lot.name for one in first.soaps] == ["S1", "S2"]
    assert [one.lot.name for one in second.soaps] == ["S2"]
    assert {pull.lot for pull in day.pulls} == {"A", "S1", "S2"}


def test_crystals_come_from_two_bags(tmp_path: Path) -> None:
    bags = [{"name": "old bag", "chemical": "oxalic", "made": "2025-01-01", "on_hand": "2 lb"},
            {"name": "new bag", "chemical": "oxalic", "made": "2026-01-01", "on_hand": "50 lb"}]  # fmt: skip
    wanted = {"surfaces": [{"name": "wall", "kind": "brick", "area": "500 ft2"}],
              "chemicals": [{"stock": "oxalic", "strength": "60 g/L"}], "hose_runs": {0: PREMIX}}  # fmt: skip
    _, mix = mix_of(tmp_path, {"lots": bags}, wanted)
    assert [one.lot.name for one in mix.pours] == ["old bag", "new bag"]
    assert mix.pours[0].mass == pytest.approx(2 * POUND)
    assert mix.stock_mass == pytest.approx(sum(one.mass for one in mix.pours))


def test_a_shortage_of_a_later_day_is_ordered_the_day_before_it(tmp_path: Path) -> None:
    _, found = days(tmp_path, shelf("2 gal"), [job(PANEL)], [job(PANEL)])
    assert not found[0].buys
    (order,) = found[0].reorders
    assert (order.chemical, order.why) == ("hypochlorite", "runs_out")
    assert order.by == datetime.date(2026, 6, 9)
    assert order.ends == datetime.date(2026, 6, 10)
    (buy,) = found[1].buys
    wanted = given_by(found[0].jobs[0].mixes[0])["A"][1] + given_by(found[1].jobs[0].mixes[0])["A"][1]
    assert buy.volume / GALLON == pytest.approx(wanted - 2.0)


@pytest.mark.ci
def test_a_drum_is_reordered_before_it_is_too_weak_for_what_is_booked(tmp_path: Path) -> None:
    # 1.2 trade % through a panel whose highest point is 16 % takes stock of 7.5; kept at 90 F it gets there.
    warm = {"lots": [drum("A", "2026-05-01", "10", "50 gal") | {"kept_at": "90 F"}]}
    _, (day,) = days(tmp_path, warm, [job(PANEL, "1.2 %")])
    (order,) = day.reorders
    assert order.why == "too_weak"
    assert order.lot == "A"
    (outlook,) = [one for one in day.outlook if one.lot.name == "A"]
    assert outlook.too_weak == order.ends
    assert order.by == order.ends - datetime.timedelta(days=1)
    # Checked from the outside: planned on that day it is a caution at least, planned the day before it is none.
    for date, low in ((order.by, True), (order.ends, False)):
        files = workspaces.merged(workspaces.base(), {"stock": warm, "job": job(PANEL, "1.2 %")})
        path = workspaces.write(tmp_path / date.isoformat(), files)
        later = path.parent.rename(path.parent.parent / date.isoformat())
        (one,) = list(checked_jobs(load([later / path.name]), Trouble(faults=[])))
        assert one.plan.mixes[0].reachable_low is low


def test_the_document_tells_each_lot_of_a_mix_and_of_the_day(tmp_path: Path) -> None:
    jobs, (day,) = days(tmp_path, shelf("0.5 gal", "20 gal"), [job(PANEL)])
    told = json.loads(json.dumps(document(jobs, [], "us", [(day, jobs)]), allow_nan=False))
    (mix,) = told["jobs"][0]["mixes"]
    assert mix["lot"] == "A"
    assert [one["lot"] for one in mix["lots"]] == ["A", "B"]
    assert sum(one["stock_m3"] for one in mix["lots"]) == pytest.approx(mix["stock_m3"])
    assert sum(one["pull_m3"] for one in mix["lots"]) == pytest.approx(mix["pull_m3"])
    assert all(one["dial"] is not None for one in mix["lots"])
    row = told["days"][0]["stock"][0]
    assert row["lot"] == "A"
    assert row["on_hand_m3"] - row["m3"] == pytest.approx(row["left_m3"])
    assert row["reorder_on"] == row["runs_out"] == TODAY
