"""The crew's sheets speak of this surface, this rig and this run only: a word on them has its reason in the job."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.packet.blocks import Section
from planner.plan.mix.model import MixPlan
from planner.plan.model import JobPlan
from tests import workspaces
from tests.packet import ordinary
from tests.packet.builders import ACID as ACID_JOB
from tests.packet.builders import ROOF, written
from tests.packet.printing import worded
from tests.packet.sections.crew.test_cautions import demo
from tests.packet.sections.said import ALONE, SMALL, TINY, each_word
from tests.rehearsal import drawn as rigs

DRAWN = 8
_SHOCKING = 60.0  # V
ACIDS = ("muriatic", "oxalic", "citric")
DRY = ("oxalic", "citric", "percarbonate", "soda_ash", "lime", "bisulfite", "sulfite")
MASONRY = ("brick", "brick_acid", "stucco", "eifs", "concrete", "pavers")
WOODEN = ("bare_wood", "painted_wood", "composite")


# ------------------------------------------------------------------------------------------------ what a job has


def _pumps(plan: JobPlan) -> list[Any]:
    return [run.input.pump for run in plan.runs if run.input.pump is not None]


def _mains(plan: JobPlan) -> bool:
    return any(one.motor is not None and (one.motor.volts or 120.0) >= _SHOCKING for one in _pumps(plan))


def _minutes(plan: JobPlan) -> bool:
    """Whether any pump of the job may not stand with its gun shut for long."""
    return any(one.cut_off is None for one in _pumps(plan))


def _engine(plan: JobPlan) -> bool:
    power = plan.input.rig.power
    own = any(one.kind == "piston" and one.motor is None for one in _pumps(plan))
    return own or (power is not None and power.generator is not None)


def _mixes(plan: JobPlan, kind: str = "") -> list[MixPlan]:
    return [mix for mix in plan.mixes if not kind or mix.kind == kind]


def _families(plan: JobPlan, *families: str) -> bool:
    return any(surface.row.get("family") in families for surface in plan.input.surfaces)


def _rinsed(plan: JobPlan) -> bool:
    return any(surface.rinse != "leave" or surface.chemical is None for surface in plan.input.surfaces)


def _tanks(plan: JobPlan) -> bool:
    return any(run.input.feed_tank is not None for run in plan.runs) or bool(plan.changes)


def _near(plan: JobPlan, key: str) -> bool:
    near = plan.input.job.near
    return near is not None and bool(getattr(near, key))


def _roof(plan: JobPlan) -> bool:
    access = plan.input.job.access
    return _families(plan, "roof") or (access is not None and access.roof_work is not None)


def _ladder(plan: JobPlan) -> bool:
    access = plan.input.job.access
    return _roof(plan) or (access is not None and (access.ladder is not None or bool(access.on_ladder)))


def _tap(plan: JobPlan) -> bool:
    return plan.input.water.source in ("tap", "hydrant")


def _two(plan: JobPlan) -> bool:
    crew = plan.input.day.crew if plan.input.day is not None else None
    return crew is None or crew.count > 1


def _soap(plan: JobPlan) -> bool:
    return any(use.dose is not None or use.chemical == "surfactant" for use in plan.input.chemicals)


def _chemistry(plan: JobPlan, *chemicals: str) -> bool:
    """Mixed here, or met in the gear, on the site, in what ends a leftover, or by a job that may have been done."""
    found = plan.found
    met = bool(found.parts or found.pending or found.tanks or found.bathed)
    here = {mix.chemical for mix in plan.mixes} | {one.agent for one in plan.neutralisers}
    return bool(here & set(chemicals)) or bool(plan.changes) or met


def _kinds(plan: JobPlan, *kinds: str) -> bool:
    return any(surface.kind in kinds for surface in plan.input.surfaces)


ACTS = frozenset({"set_up", "mix", "wash", "grounds", "flush"})
WORK = frozenset({"set_up", "wash", "flush"})
EVERY = ACTS | {"card", "walk_round", "safety", "differs", "done"}

WORDS: tuple[tuple[str, frozenset[str], Callable[[JobPlan], Any]], ...] = (
    # the word, the sheets it is looked for on, what of the job it has to come from
    (r"breakers?", ACTS, _mains),
    (r"two minutes", ACTS, _minutes),
    (r"engine|exhaust", EVERY, _engine),
    (r"glass", WORK, lambda plan: _families(plan, "wall", "trim")),
    # Spray of a mix gets in at any of them, of a roof's or a drive's too.
    (r"windows?|doors?|vents?", ACTS, lambda plan: _families(plan, "wall", "trim") or plan.mixes),
    (r"(?<!do not )(?:rinse[sd]?|rinsing)", frozenset({"wash"}), _rinsed),
    (r"drums?", EVERY, _mixes),
    (r"eyewash", EVERY, _mixes),
    (r"mix(es)?", ACTS, _mixes),
    (r"tanks?", WORK, _tanks),
    (r"beds?", EVERY, lambda plan: _near(plan, "flower_beds")),
    (r"panel|dial", EVERY - {"done"}, lambda plan: _mixes(plan, "metered")),
    (r"injector", EVERY, lambda plan: _mixes(plan, "injector")),
    (r"jugs?", ACTS, _mixes),
    (r"soap", ACTS, _soap),
    (r"taps?|faucet", WORK, _tap),
    (r"roofs?", ACTS | {"walk_round", "safety"}, _roof),
    (r"ladders?", ACTS - {"wash"}, _ladder),
    (r"cord|plug", ACTS, lambda plan: any(one.motor is not None for one in _pumps(plan))),
    (r"prime", ACTS, _pumps),
    (r"second:?", frozenset({"wash", "grounds"}), _two),
    (r"downspouts?", ACTS, lambda plan: _near(plan, "downspouts") or _roof(plan)),
    (r"storm drain", ACTS, lambda plan: _near(plan, "storm_drain")),
    (r"fish pond", ACTS, lambda plan: _near(plan, "fish_pond")),
    (r"hydrant", ACTS, lambda plan: plan.input.water.source == "hydrant"),
    (r"battery", ACTS, lambda plan: any(one.motor is not None for one in _pumps(plan)) and not _mains(plan)),
    (r"acid", WORK | {"grounds"}, lambda plan: _chemistry(plan, *ACIDS)),
    (r"chlorine|bleach", WORK, lambda plan: _chemistry(plan, "hypochlorite") or plan.input.water.chlorine),
    (r"mask|dust", ACTS, lambda plan: _chemistry(plan, *DRY)),
    (r"gloves|goggles|shield", ACTS, _mixes),
    (r"strips?", ACTS, lambda plan: plan.mixes or plan.changes),
    (r"neutrali[sz]\w*", ACTS, lambda plan: plan.mixes or plan.changes),
    (r"mortar|limestone|brick", ACTS | {"walk_round"}, lambda plan: _kinds(plan, *MASONRY)),
    (r"wood|grain|rot", ACTS | {"walk_round"}, lambda plan: _kinds(plan, *WOODEN)),
    (r"gutters?", ACTS | {"walk_round"}, lambda plan: _roof(plan) or _kinds(plan, "gutters") or plan.neutralisers),
    (r"reel", frozenset({"set_up"}), lambda plan: any(run.input.on_reel > 0.0 for run in plan.runs)),
    (r"suction", ACTS, _pumps),
    (r"pump", EVERY - {"safety"}, _pumps),
    (r"gauge|booster|psi at the pump", WORK | {"done"}, _pumps),
    (r"generator", EVERY, lambda plan: plan.input.rig.power is not None),
    (r"dwell|stock|stands", EVERY, _mixes),
    (r"poison line|spill line", EVERY, lambda plan: plan.mixes or plan.input.company.phones),
    (r"data sheet|label", EVERY, lambda plan: _mixes(plan) or _chemistry(plan)),
    (r"other one|who waters", EVERY | {"near"}, _two),
)


# ------------------------------------------------------------------------------------------------ what a sheet says


_HEAD = "Wet Mix on “Water” after Stands, min Rinse Time on"  # of every table of sections, whatever it holds


def _names(plan: JobPlan) -> list[str]:
    """What people called their things: no word of ours."""
    rig, job = plan.input.rig, plan.input.job
    found = [plan.title, *(lot.name for lot in plan.input.lots), *(surface.name for surface in plan.input.surfaces)]
    found += [run.name for run in plan.input.runs]
    parts: tuple[Any, ...] = (*rig.tanks, *rig.pumps, *rig.hoses, *rig.tips, *rig.dosing)
    found += [one.name for one in parts]
    found += [str(note) for surface in job.surfaces or () if (note := getattr(surface, "notes", None))]
    # `water` and `mix` are names and words alike: what is said beside them counts.
    return sorted({name for name in found if name not in ("water", "mix", "panel")}, key=len, reverse=True)


def _said(section: Section, plan: JobPlan) -> str:
    text = " ".join(" ".join(each_word(section.blocks)).replace("\u00a0", " ").split())
    text = text.replace(_HEAD, "")
    for name in _names(plan):
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", "NAME", text, flags=re.I)
    return text


def strays(job: CheckedJob) -> Iterator[str]:
    """Words on a sheet that nothing of the job gives reason for, with what stands around them."""
    plan = job.plan
    for section in worded(job).sections:
        if section.owner:
            continue
        text = _said(section, plan)
        for word, sheets, reason in WORDS:
            if section.key not in sheets or reason(plan):
                continue
            for found in re.finditer(rf"\b(?:{word})\b", text, re.I):
                around = text[max(0, found.start() - 50) : found.end() + 30]
                yield f"{plan.title} / {section.key}: `{found.group()}` in `{around}`"


def test_the_demo_has_no_word_of_another_job() -> None:
    for job in demo().values():
        if job.plan.kind == "wash" and not job.held:
            assert list(strays(job)) == []


@pytest.mark.parametrize("crew", [(), (ALONE,)], ids=["two", "alone"])
@pytest.mark.parametrize("run", [*SMALL, "house", "roof", "acid"])
def test_small_jobs_and_somebody_alone_have_no_word_of_a_larger_one(run: str, crew: tuple[str, ...]) -> None:
    larger = {"house": (), "roof": (ROOF,), "acid": (ACID_JOB,)}
    job = written(*(larger[run] if run in larger else (TINY, *SMALL.get(run, ()))), *crew)
    assert not job.held
    assert list(strays(job)) == []


@pytest.mark.ci
def test_ordinary_jobs_have_no_word_of_another_job(tmp_path: Path) -> None:
    for job in ordinary.jobs(DRAWN, tmp_path, seed=7):
        if not job.held:
            assert list(strays(job)) == []


@pytest.mark.parametrize("seed", [0, 5, *(pytest.param(n, marks=pytest.mark.ci) for n in range(1, 5))])
@pytest.mark.ci
def test_odd_rigs_have_no_word_of_another_rig(seed: int, tmp_path: Path) -> None:
    job = workspaces.checked(tmp_path, rigs.files(Random(seed)), tables=True)
    if not job.held:
        assert list(strays(job)) == []
