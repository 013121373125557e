"""Hard cases in pairs: each way of being hard meets each way of every other kind at least once."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from planner.checks.model import CheckedJob
from planner.inputs.reading.letters import loses, printable
from tests.packet.builders import low_only, short, written
from tests.packet.mixing import texts
from tests.packet.printing import job_packet, owner_book
from tests.packet.reading import problems
from tests.sampled import one_in

LONGEST = "Uncommonly long, as names go that somebody types at night: "
NAMES: Mapping[str, Any] = {
    "plain": "red",
    "longest": LONGEST,
    "scripts": "Λίμνη Öst Łódź Заречье é",
    "marks": "Smith <Offices> & \"Sons\" 'x' </para> %s",
    "unprintable": "山田\u202e太郎\u200b",
}
KINDS: Mapping[str, Sequence[str]] = {
    "names": tuple(NAMES),
    "surfaces": ("1", "40"),
    "hoses": ("1", "12"),
    "findings": ("few", "25", "held"),
    "mix": ("panel", "tank"),
    "paper": ("letter", "a4"),
    "units": ("us", "si"),
}


def pairs_of(case: Mapping[str, Any]) -> set[tuple[tuple[str, str], tuple[str, str]]]:
    return set(combinations(sorted(case.items()), 2))


def chosen() -> list[dict[str, str]]:
    """Few cases that hold every pair: each is filled kind by kind with what meets most pairs not met yet."""
    wanted = {
        pair
        for one, other in combinations(sorted(KINDS), 2)
        for pair in (((one, a), (other, b)) for a in KINDS[one] for b in KINDS[other])
    }
    cases: list[dict[str, str]] = []
    while wanted:
        case = dict(min(wanted))
        for kind in KINDS:
            if kind not in case:
                case[kind] = max(KINDS[kind], key=lambda value: len(pairs_of({**case, kind: value}) & wanted))
        wanted -= pairs_of(case)
        cases.append(case)
    return cases


CASES = chosen()


def name(case: Mapping[str, Any], what: str) -> str:
    """A name of its own for each thing, as long as a name may be where it is the longest.

    What names a thing to act on has letters that can be printed, or it is a fault where it is written.
    """
    acted = case["names"] == "unprintable" and re.fullmatch(r"h\d+|wall \d+|run|lot", what)
    own = f"{NAMES['plain' if acted else case['names']]}{what}"
    return (own + "w" * 118)[:118] if case["names"] == "longest" else own


def files(case: Mapping[str, Any]) -> str:
    """The change over the house wash of builders.py, as YAML; a name in quotes is doubled as YAML asks."""

    def quoted(what: str) -> str:
        return "'" + name(case, what).replace("'", "''") + "'"

    tank = case["mix"] == "tank"
    hoses = ", ".join(quoted(f"h{n}") for n in range(int(case["hoses"])))
    rig_hoses = "\n".join(
        f"    - {{name: {quoted(f'h{n}')}, bore: 3/4 in, length: 10 ft, rated: 200 psi}}"
        for n in range(int(case["hoses"]))
    )
    walls = "\n".join(
        f"    - {{name: {quoted(f'wall {n}')}, kind: vinyl, area: 120 ft2}}" for n in range(int(case["surfaces"]))
    )
    return f"""
rig:
  hoses:
{rig_hoses}
job:
  job: {quoted("job")}
  site: {{address: {quoted("address")}, contact: {quoted("contact")}, notes: {quoted("notes")}}}
  surfaces:
{walls}
  hose_runs:
    - {{name: {quoted("run")}, pump: {"transfer" if tank else "booster"}, feed: {"mix" if tank else "water"},
       dosing: {"premix" if tank else "panel"}, hoses: [{hoses}], tip: long throw, target: 9 ft, standoff: 10 ft}}
  chemicals: [{{stock: {quoted("lot")}, strength: 1 %}}, {{stock: suds, dose: 1 fl oz/gal}}]
  near: {{flower_beds: 300 ft2, fish_pond: 40 ft, downspouts: 3, control: [berm, drain_cover]}}
day: {{crew: [{quoted("Ana")}, {quoted("Bo")}]}}
stock:
  lots:
    - {{name: {quoted("lot")}, chemical: bleach, strength: 12.5 trade %, made: 2026-06-01, kept_at: cool, on_hand: 90 gal}}
    - {{name: suds, chemical: soap, on_hand: 4 gal, bleach_stable: true}}
"""


def checked(case: Mapping[str, Any]) -> CheckedJob:
    job = written(files(case))
    if case["findings"] == "few":
        return job
    about = job.plan.runs[0].name
    more = tuple(low_only(f"part {n} of the work") for n in range(23))
    if case["findings"] == "held":
        return replace(job, findings=(short(about), *job.findings), verdict="stop")
    return replace(job, findings=(*job.findings, *more), verdict=job.verdict if job.verdict == "stop" else "caution")


def test_every_pair_is_met_and_not_one_case_is_wasted() -> None:
    met = set().union(*(pairs_of(case) for case in CASES))
    assert len(met) == sum(len(KINDS[a]) * len(KINDS[b]) for a, b in combinations(KINDS, 2))
    assert len(CASES) <= 20


@pytest.mark.parametrize(
    "case",
    one_in(12, CASES),
    ids=["-".join(case[kind] for kind in KINDS) for case in CASES],
)
@pytest.mark.ci
def test_a_hard_job_prints_whole(case: Mapping[str, Any]) -> None:
    pdf = job_packet(checked(case), paper=case["paper"], system=case["units"])
    assert problems(pdf, case["paper"]) == []
    assert problems(owner_book(checked(case), paper=case["paper"], system=case["units"]).pdf, case["paper"]) == []
    sheets = texts(pdf)
    whole = "".join("".join(sheets).split())
    held = ("job", "contact")
    for what in held if len(sheets) == 1 else (*held, "address", "notes", "run", "lot", "wall 0", "h0", "Ana", "Bo"):
        assert "".join(printable(name(case, what)).split()) in whole, what
    told = "cannot be printed; each is shown as ?" in sheets[0]
    assert told == loses(name(case, "job"))
