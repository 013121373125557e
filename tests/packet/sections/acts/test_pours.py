"""Rounded as jug, stick, scale and dial are marked, no mix that is made by its acts is stronger than asked."""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.chemistry.dosing import DialPoint, share_at
from planner.packet.pages.pages import Bound
from planner.packet.sections.acts.values import Telling
from planner.packet.sections.reading import Reading
from planner.plan.procedure.acts import Fill, Pour, SetDosing, Stir, StopPoint
from planner.units import System, read
from planner.words.measures import one_step
from tests import workspaces
from tests.sampled import examples

pytestmark = pytest.mark.ci

PROPERTY = settings(max_examples=examples(12), deadline=None, derandomize=True, database=None)
SYSTEMS = st.sampled_from(["us", "si"])
TARGETS = st.floats(0.2, 6.0)
AREAS = st.floats(20.0, 6000.0)
NOISE = 1 + 1e-9


def amount(text: str, dimension: str = "volume") -> float:
    """`2 5/8 gal`, `1 gal 20 fl oz`, `12.4 L`, `20 1/2 in` in SI; under a mark is nothing poured."""
    if text.startswith("under ") or not text:
        return 0.0
    if " gal " in text:
        return sum(amount(part) for part in (text.partition(" gal ")[0] + " gal", text.partition(" gal ")[2]))
    words = text.replace(",", "").split(" ")
    place = next(n for n, word in enumerate(words) if not word[0].isdigit())
    number = sum(Fraction(word) for word in words[:place])
    return float(read(f"{float(number)!r} {' '.join(words[place:])}", dimension))


def printed(
    system: System, change: dict[str, Any]
) -> tuple[Any, list[dict[str, dict[str, Any]]], list[dict[str, Any]]]:
    """The job's one mix; each making of it as its page has it, by what goes in; and the marks its panel is set to."""
    files = workspaces.merged(workspaces.base(), change)
    with TemporaryDirectory() as folder:
        checked = workspaces.checked(Path(folder), files)
    reading = Reading(checked=checked, system=system, places=Bound())
    (mix,) = checked.plan.mixes
    procedure = checked.plan.procedure
    assert procedure is not None
    telling = Telling(reading, procedure)
    vessels = {batch.tank for batch in mix.batches} or {f"jug {mix.run.name}"}
    makings: list[dict[str, dict[str, Any]]] = [{}]
    marks = []
    for act in procedure.acts:
        told = telling.values(act) if not isinstance(act.detail, StopPoint) else {}
        if isinstance(act.detail, (Fill, Pour)) and act.detail.into in vessels:
            if isinstance(act.detail, Fill) and mix.batches and act.id not in telling.additions:
                continue  # a tank's rinse
            makings[-1]["water" if isinstance(act.detail, Fill) else told["kind"]] = told
        elif isinstance(act.detail, Stir) and act.detail.tank in vessels and set(makings[-1]) - {"water"}:
            makings.append({})
        elif isinstance(act.detail, SetDosing) and act.detail.to == "mark":
            marks.append(told)
    return mix, [one for one in makings if set(one) - {"water"}], marks


def job(target: str, area: float, soap: float, **run: str) -> dict[str, Any]:
    uses = [{"stock": "bleach", "strength": target}]
    if soap:
        uses.append({"stock": "suds", "dose": f"{soap} fl oz/gal"})
    lots = {"lots": [
        {"name": "drum", "chemical": "bleach", "strength": "12.5 trade %", "made": "2026-06-01", "kept_at": "cool",
         "tested": {"strength": "10 trade %", "on": "2026-06-09"}, "on_hand": "900 gal"},
        {"name": "suds", "chemical": "soap", "on_hand": "50 gal", "bleach_stable": "true"},
    ]}  # fmt: skip
    surfaces = [{"name": "wall", "kind": "concrete", "area": f"{area:.2f} ft2"}]
    return {"stock": lots, "job": {"surfaces": surfaces, "chemicals": uses, "hose_runs": {0: run}}}


@given(SYSTEMS, TARGETS, AREAS, st.sampled_from([0.0, 1.0, 7.0, 40.0]), st.booleans())
@PROPERTY
def test_a_tankful_poured_by_the_jug_or_by_the_stick_is_never_stronger_than_asked(
    system: System, target: float, area: float, soap: float, heel: bool
) -> None:
    change = job(f"{target:.3f} trade %", area, soap, feed="mix", dosing="premix")
    if heel:
        change["day"] = {"heels": {"mix": {"stock": "bleach", "strength": "0.5 %", "volume": "1 gal"}}}
    mix, makings, _ = printed(system, change)
    strong = mix.lot.nominal
    across = math.pi / 4 * (24 * 0.0254) ** 2
    assert makings
    for batch, steps in zip(mix.batches, makings, strict=True):
        begins = batch.heel * (mix.heel_strength if batch is mix.batches[0] else mix.target)
        poured = {kind: amount(steps[kind]["amount"]) for kind in ("water", "stock", "soap") if kind in steps}
        whole = batch.heel + sum(poured.values())
        assert (poured["stock"] * strong + begins) / whole <= mix.target * NOISE
        # No less mix, but for a jug's mark of stock.
        assert whole >= batch.mix - max(one_step(batch.stock, "poured", system), amount("1/8 gal"))
        marks = {kind: amount(steps[kind]["stick"], "height") * across for kind in steps if steps[kind]["stick"]}
        if "water" in marks and "stock" in marks:
            by_stick = marks["stock"] - marks["water"]
            top = marks.get("soap", marks["stock"] + poured.get("soap", 0.0))
            assert (by_stick * strong + begins) / top <= mix.target * NOISE


@given(SYSTEMS, st.floats(0.4, 1.599), AREAS)
@PROPERTY
def test_a_dials_mark_draws_no_more_than_asked_and_hardly_less(system: System, target: float, area: float) -> None:
    mix, _, marks = printed(system, job(f"{target:.3f} trade %", area, 0.0, dosing="panel"))
    rows = [DialPoint(setting=one.setting, share=one.share) for one in mix.run.dosing.dial]
    assert marks
    for told in marks:
        drawn = share_at(float(told["mark"]), rows)
        assert drawn is not None
        # A mark half a percent above is that mark: no hand sets a dial closer.
        assert drawn <= mix.share * 1.01
        assert drawn >= mix.share * 0.94


@given(SYSTEMS, st.floats(0.1, 0.9), AREAS, st.sampled_from([0.0, 0.5, 2.0]))
@PROPERTY
def test_a_jug_made_up_by_its_marks_is_no_stronger_than_asked(
    system: System, target: float, area: float, soap: float
) -> None:
    mix, makings, _ = printed(system, job(f"{target:.3f} trade %", area, soap, dosing="venturi"))
    for told in makings:
        stock, water, suds = (
            amount(told[what]["amount"]) if what in told else 0.0 for what in ("stock", "water", "soap")
        )
        if stock and water:
            assert stock / (stock + water + suds) <= mix.jug_stock * NOISE


@given(SYSTEMS, st.floats(5.0, 60.0), AREAS)
@PROPERTY
def test_crystals_are_weighed_down_into_water_measured_up(system: System, grams: float, area: float) -> None:
    change = job(f"{grams:.2f} g/L", area, 0.0, feed="mix", dosing="premix")
    change["stock"] = {"lots": [{"name": "crystals", "chemical": "citric", "on_hand": "900 lb"}]}
    change["job"]["chemicals"] = [{"stock": "citric", "strength": f"{grams:.2f} g/L"}]
    mix, makings, _ = printed(system, change)
    for batch, steps in zip(mix.batches, makings, strict=True):
        if "dry" in steps:
            mass, water = amount(steps["dry"]["amount"], "mass"), amount(steps["water"]["amount"])
            begins = batch.heel * mix.target if batch is not mix.batches[0] else 0.0
            assert (mass + begins) / (water + batch.heel) <= mix.target * NOISE
