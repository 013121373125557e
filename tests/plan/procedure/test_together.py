"""Two guns sprayed at once: opened and ended together by two people, and what they are given rehearsed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.days.rehearsing import rehearsed
from planner.plan.procedure.acts import Act, Read, Relieve, SetDosing, Shut, Spray
from tests import workspaces

PANEL = {"dosing": "panel"}
VENTURI = {"dosing": "venturi", "pump": "washer", "tip": "wide fan"}
TANKFUL = {"dosing": "premix", "feed": "mix", "pump": "transfer", "tip": "roof tip", "hoses": ["thin"]}
BLEACH = [{"stock": "drum", "strength": "0.8 %"}]


def files(own: dict[str, Any], *, walls: tuple[str, str] = ("front", "back"), **job: Any) -> dict[str, Any]:
    """Two runs of one pump, `own` laid over both, with what else is laid over the job."""
    found = workspaces.base()
    found["rig"]["hoses"] += [
        {"name": name, "bore": bore, "length": length, "rated": "3000 psi"}
        for name, bore, length in (
            ("blue", "5/8 in", "75 ft"), ("thin", "1/2 in", "100 ft"), ("thin too", "1/2 in", "75 ft"),
            ("narrow", "3/8 in", "50 ft"), ("narrow too", "3/8 in", "75 ft"),
        )
    ]  # fmt: skip
    found["rig"]["tips"] += [{"name": "roof tip", "pattern": "solid", "orifice": "1/8 in"},
                             {"name": "wide fan", "pattern": "fan", "size": "30"}]  # fmt: skip
    found["rig"]["dosing"][1] |= {"loss": {"pressure": "100 psi", "flow": "5.5 gpm"}}
    found["rig"]["pumps"][0] |= {"max_pressure": "200 psi"}
    found["stock"]["lots"] += [{"name": "thio", "chemical": "thiosulfate", "on_hand": "50 lb"}]
    found["day"]["crew"] = "2"
    hoses = {"thin": ("thin", "thin too"), "narrow": ("narrow", "narrow too")}.get(
        own.get("hoses", ["red"])[0], ("red", "blue")
    )  # fmt: skip
    run = {**found["job"]["hose_runs"][0], "target": "9 ft", "standoff": "5 ft", **own}
    found["job"]["surfaces"] = [
        {"name": name, "kind": "vinyl", "area": area}
        for name, area in {walls[0]: "500 ft2", walls[1]: "900 ft2"}.items()
    ]
    found["job"]["hose_runs"] = [
        {**run, "name": "one", "hoses": [hoses[0]], "surfaces": [walls[0]], "same_time": ["two"]},
        {**run, "name": "two", "hoses": [hoses[1]], "surfaces": [walls[1]]},
    ]
    found["job"] |= {"chemicals": BLEACH, **job}
    return found


def played(folder: Path, written: dict[str, Any]) -> CheckedJob:
    """The job rehearsed; nothing holds it and nothing is breached."""
    job = rehearsed(workspaces.checked(folder, written))
    assert job.held_by == []
    assert job.breaches == ()
    return job


def acts_of(job: CheckedJob) -> tuple[Act, ...]:
    """Its acts."""
    assert job.plan.procedure is not None
    return job.plan.procedure.acts


def guns(job: CheckedJob) -> list[tuple[Act, Act]]:
    """The last spray of the first run before it is shut with the other's, each time both are open."""
    last: dict[str, Act] = {}
    shut: dict[str, list[Act]] = {"one": [], "two": []}
    for act in acts_of(job):
        if isinstance(act.detail, Spray):
            last[act.detail.run] = act
        elif isinstance(act.detail, Shut):
            shut[act.detail.run].append(last[act.detail.run])
    return list(zip(shut["one"], shut["two"], strict=True))


JOBS: dict[str, dict[str, Any]] = {
    "panel": files(PANEL),
    "injector": files({**VENTURI, "hoses": ["narrow"]}),
    "tankfuls": files(TANKFUL),
    "water": files({}, chemicals=[]),
    "one wall": files(PANEL, walls=("front", "front")),
    "beds": files(PANEL, near={"flower_beds": "400 ft2"}),
    "soap": files(PANEL, chemicals=[*BLEACH, {"stock": "suds", "dose": "1 fl oz/gal"}]),
    "roof": files(TANKFUL),
    "SI": files(PANEL),
}
JOBS["soap"]["stock"]["lots"] += [
    {"name": "suds", "chemical": "soap", "on_hand": "5 gal", "bleach_stable": "true"}
]  # fmt: skip
JOBS["SI"]["company"]["units"] = "si"
for _surface in JOBS["roof"]["job"]["surfaces"]:
    _surface |= {"kind": "asphalt_shingle", "rinse": "leave"}
JOBS["roof"]["job"] |= {
    "access": {"roof_work": {"pitch": "6/12", "eave": "9 ft", "anchor": "true"}},
    "chemicals": [{"stock": "drum", "strength": "3 %"}],
}


@pytest.mark.parametrize("name", list(JOBS))
def test_two_guns_are_rehearsed_without_a_breach(name: str, tmp_path: Path) -> None:
    played(tmp_path, JOBS[name])


@pytest.mark.parametrize("name", ["panel", "water", "tankfuls"])
def test_both_guns_end_at_once_and_are_held_by_two_people(name: str, tmp_path: Path) -> None:
    pairs = guns(played(tmp_path, JOBS[name]))
    assert pairs
    for one, two in pairs:
        assert one.end == pytest.approx(two.end)
        assert {one.who, two.who} == {"lead", "second"}


def test_both_strips_are_read_before_either_line_runs_out(tmp_path: Path) -> None:
    acts = acts_of(played(tmp_path, JOBS["panel"]))
    strips = [act for act in acts if act.phase == "flush" and act.expect is not None]
    out = [act for act in acts if act.phase == "flush" and isinstance(act.detail, Relieve)]
    assert (len(strips), len(out)) == (2, 2)
    assert max(act.end for act in strips) <= min(act.start for act in out)


def test_two_walls_are_worked_in_as_many_sections(tmp_path: Path) -> None:
    job = played(tmp_path, JOBS["panel"])
    of = {act.section.surface: act.section.of for act in acts_of(job) if act.section is not None}
    assert of["front"] == of["back"] > 1
    assert {row.surface.name: row.sections for row in job.plan.work} == of


def test_two_guns_on_one_wall_take_its_sections_by_turns(tmp_path: Path) -> None:
    job = played(tmp_path, JOBS["one wall"])
    numbers = {name: {act.section.number for act in acts_of(job)
                      if act.section is not None and isinstance(act.detail, Spray) and act.detail.run == name}
               for name in ("one", "two")}  # fmt: skip
    assert all(number % 2 == 1 for number in numbers["one"])
    assert {number - 1 for number in numbers["two"]} == numbers["one"]


@pytest.mark.ci
def test_one_jug_is_read_once_for_both_lines(tmp_path: Path) -> None:
    for name in ("panel", "injector"):
        acts = acts_of(played(tmp_path / name, JOBS[name]))
        drawn = {draw.source for act in acts if isinstance(act.detail, SetDosing) for draw in act.detail.draws}
        assert {source for source in drawn if source.startswith("jug ")} == {"jug one"}
        reads = [act for act in acts
                 if isinstance(act.detail, Read) and act.expect is not None and act.expect.what == "jug_down"]  # fmt: skip
        assert len(reads) == 1


def test_each_mix_of_a_shared_jug_is_given_its_own_stock(tmp_path: Path) -> None:
    one, two = played(tmp_path, JOBS["injector"]).plan.mixes
    assert one.stock is not None
    assert two.stock is not None
    assert one.mix is not None
    assert two.mix is not None
    assert one.stock / one.mix == pytest.approx(two.stock / two.mix, rel=0.02)


def test_nobody_sets_anything_while_a_gun_is_open(tmp_path: Path) -> None:
    acts = acts_of(played(tmp_path, JOBS["panel"]))
    open_ = [(act.start, act.end) for act in acts if isinstance(act.detail, Spray)]
    for act in acts:
        if isinstance(act.detail, SetDosing):
            assert not any(start < act.end - 1e-6 and act.start < end - 1e-6 for start, end in open_)


def test_a_third_run_comes_after_two_at_once(tmp_path: Path) -> None:
    written = files(PANEL)
    written["job"]["surfaces"].append({"name": "drive", "kind": "concrete", "area": "300 ft2"})
    written["job"]["hose_runs"].append(
        {"name": "three", "pump": "washer", "feed": "water", "hoses": ["narrow"], "tip": "wide fan", "target": "0 ft",
         "standoff": "2 ft", "surfaces": ["drive"]}
    )  # fmt: skip
    written["job"]["chemicals"] = [{**BLEACH[0], "surfaces": ["front", "back"]}]
    job = played(tmp_path, written)
    assert {act.detail.run for act in acts_of(job) if isinstance(act.detail, Spray)} == {"one", "two", "three"}
