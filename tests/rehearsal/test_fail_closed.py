"""What the rehearsal does not understand is a breach; every rule finds what breaks it, and says it with figures."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from planner.plan.procedure import acts as of
from planner.plan.procedure.acts import Act, Held, Procedure
from planner.rehearsal.breach import Breach
from planner.rehearsal.play import rehearse
from planner.rehearsal.setting import Pump, Setting
from tests.rehearsal.jobs import JOBS
from tests.rehearsal.reading import BY_HAND, by_hand

HOUSE, ROOF = BY_HAND


def changed(name: str, act: str, change: Callable[[Act], Act]) -> tuple[Breach, ...]:
    """What the rehearsal of a procedure by hand finds once one act is another."""
    setting, procedure = by_hand(name)
    acts = tuple(change(one) if one.id == act else one for one in procedure.acts)
    assert acts != procedure.acts
    return rehearse(setting, replace(procedure, acts=acts))


def detail(**fields: Any) -> Callable[[Act], Act]:
    """A change of an act's own fields."""
    return lambda act: replace(act, detail=replace(act.detail, **fields))


STRANGE: dict[str, tuple[str, str, Callable[[Act], Act]]] = {
    "a place nobody knows": (HOUSE, "a.25", detail(into="barrel")),
    "water out of the ground": (HOUSE, "g.1", detail(source="ground")),
    "a lot nobody knows": (HOUSE, "m.6", detail(lot="H-9999")),
    "a run nobody knows": (HOUSE, "a.7", detail(run="garage")),
    "a pump nobody knows": (HOUSE, "t.1", detail(pump="turbine")),
    "a key nobody knows": (HOUSE, "w.1", detail(what="moon_up")),
    "a use nobody knows": (HOUSE, "t.3", detail(use="paint")),
    "a guard nobody knows": (HOUSE, "s.9", detail(before="lunch")),
    "a part of the job nobody knows": (HOUSE, "w.1", lambda act: replace(act, phase="soak")),
    "a third who acts": (HOUSE, "g.1", lambda act: replace(act, who="third")),  # type: ignore[arg-type]
    "a place people are never at": (HOUSE, "w.1", lambda act: replace(act, at="roof")),  # type: ignore[arg-type]
    "an act it comes after that is none": (HOUSE, "a.5", lambda act: replace(act, after=("z.9",))),
    "an act that does not come after the stop point somebody else passed": (HOUSE, "a.5", lambda act: replace(act, after=())),
    "a time that is none": (HOUSE, "a.7", lambda act: replace(act, start=math.nan)),
    "an act before its time": (HOUSE, "a.7", lambda act: replace(act, start=0.0)),
    "a stop point that never comes": (HOUSE, "a.7", lambda act: replace(act, stop_point=77)),
    "a section nobody asked for": (HOUSE, "a.7", lambda act: replace(act, section=of.Section(surface="roof", number=1, of=1))),
    "a spray at no section": (HOUSE, "a.7", lambda act: replace(act, section=None)),
    "a reading of nothing": (HOUSE, "t.5", lambda act: replace(act, expect=None)),
    "an endless volume": (HOUSE, "a.25", detail(volume=math.inf)),
    "a volume below nothing": (HOUSE, "a.25", detail(volume=-0.1)),
    "a share of more than all": (HOUSE, "a.5", detail(draws=(of.Draw(source="jug house", share=1.5),))),
    "a verb nobody knows": (HOUSE, "t.6", lambda act: replace(act, detail=object())),  # type: ignore[arg-type]
    "a bed a pail is poured on": (ROOF, "g.6", detail(to="bed")),
    "a tank that was not told of": (HOUSE, "s.5", detail(feed="roof mix")),
}  # fmt: skip


@pytest.mark.parametrize("strange", STRANGE)
def test_what_it_does_not_understand_is_a_breach(strange: str) -> None:
    name, act, change = STRANGE[strange]
    assert changed(name, act, change)


RULES: dict[str, tuple[str, str, Callable[[Act], Act], str]] = {
    "clean": (HOUSE, "a.15", detail(to="mark", draws=(of.Draw(source="H-0518", share=0.09668933616100102),)), "hypochlorite"),
    "order": (HOUSE, "a.3", detail(asks=("vents_shut", "people_clear", "wind", "drains_covered")), "beds_wet"),
    "section": (HOUSE, "a.24", detail(seconds=100.0, volume=100.0 * 0.0006123696861663643), "rinsed"),
    "pump": (HOUSE, "t.7", lambda act: replace(act, start=act.start + 400.0), "booster"),
    "balance": (HOUSE, "a.25", detail(volume=0.2), "the tap gives"),
    "people": (HOUSE, "g.1", lambda act: replace(act, lasts=act.lasts + 60.0), "second"),
    "end": (ROOF, "g.7", detail(mass=0.2), "pail 3 holds 1.95 % of hypochlorite"),
    "paper": (HOUSE, "r.1", detail(seconds=42.0, volume=42.0 * 0.0006123696861663643), "is printed"),
}  # fmt: skip


@pytest.mark.parametrize("rule", RULES)
def test_each_rule_finds_what_breaks_it_and_says_what_stood_how(rule: str) -> None:
    name, act, change, says = RULES[rule]
    told = [breach.state for breach in changed(name, act, change) if breach.rule == rule]
    assert any(says in state for state in told), told


def test_what_may_not_meet_is_found_in_a_pail_a_pump_and_on_the_ground() -> None:
    setting, procedure = JOBS["acid"]()
    pails = tuple(
        replace(act, detail=replace(act.detail, lot="thio", mass=2.0)) if isinstance(act.detail, of.Neutralise) else act
        for act in procedure.acts
    )
    begin = replace(procedure.begin, lots={**procedure.begin.lots, "thio": 5.0})
    told = rehearse(setting, replace(procedure, acts=pails, begin=begin))
    assert any(one.rule == "meet" and "thiosulfate meets muriatic in pail 3" in one.state for one in told)
    soaked = replace(setting, parts={"acid pump": "hypochlorite"})
    assert any("muriatic meets hypochlorite in acid pump" in one.state for one in rehearse(soaked, procedure))
    stained = replace(procedure, begin=replace(procedure.begin, hoses={
        **procedure.begin.hoses, "red": Held(stock="hypochlorite", strength=10.0)}))  # fmt: skip
    assert any(one.rule == "meet" and "ground" in one.state for one in rehearse(setting, stained))


def test_a_line_that_nobody_knows_is_no_clean_line() -> None:
    setting, procedure = by_hand(HOUSE)
    unknown = {name: Held(stock="unknown") for name in procedure.begin.hoses}
    found = rehearse(setting, replace(procedure, begin=replace(procedure.begin, hoses=unknown)))
    assert any(one.rule == "clean" and "nobody knows" in one.state for one in found)


def test_a_suction_gets_only_to_the_tanks_its_pump_draws_from() -> None:
    setting, procedure = by_hand(ROOF)

    def draws(*tanks: str) -> Setting:
        return replace(setting, pumps={**setting.pumps, "roof pump": Pump(switched=True, draws=tanks)})

    assert not rehearse(draws("water", "roof mix"), procedure)
    assert any("does not get to water" in one.state for one in rehearse(draws("roof mix"), procedure))


def test_a_pump_that_does_not_stop_itself_may_not_wait_for_a_walk() -> None:
    setting, procedure = by_hand(ROOF)

    def kept(**fields: Any) -> Setting:
        return replace(setting, pumps={**setting.pumps, "roof pump": Pump(**fields)})

    assert any(one.rule == "pump" and "gun shut" in one.state for one in rehearse(kept(), procedure))
    # One with a bypass waits for the walk to its switch, and not for a bucket, beds or pails besides.
    assert {"t.2", "a.6"} <= {one.act for one in rehearse(kept(), procedure)}
    assert [one.act for one in rehearse(kept(bypass=True), procedure)] == ["t.7", "a.14", "r.5", "r.8"]


def test_a_pump_runs_no_longer_with_its_gun_shut_than_paper_says_however_much_it_bears() -> None:
    setting, procedure = by_hand(HOUSE)

    def told(seconds: float, bears: float) -> set[str]:
        pumps = {name: replace(pump, told=seconds) for name, pump in setting.pumps.items()}
        runs = {name: replace(run, shut_off=bears) for name, run in setting.runs.items()}
        return {one.rule for one in rehearse(replace(setting, pumps=pumps, runs=runs), procedure)}

    assert not told(120.0, 3600.0)
    assert told(5.0, 3600.0) == {"pump"}
    assert told(3600.0, 5.0) == {"pump"}


def test_nothing_to_do_is_no_procedure() -> None:
    setting, procedure = by_hand(HOUSE)
    assert rehearse(setting, Procedure(acts=(), begin=procedure.begin, end=procedure.end))
