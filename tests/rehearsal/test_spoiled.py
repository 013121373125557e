"""Spoiled procedures are refused; what is not refused is named harmless, with its reason."""

from __future__ import annotations

from collections import Counter
from random import Random

import pytest

from planner.plan.procedure.acts import Procedure
from planner.rehearsal.play import rehearse
from planner.rehearsal.setting import Setting
from tests.rehearsal.harmless import reason
from tests.rehearsal.jobs import JOBS
from tests.rehearsal.reading import BY_HAND, by_hand
from tests.rehearsal.spoil import Spoiled, spoiled
from tests.sampled import in_ci


def job_of(name: str) -> tuple[Setting, Procedure]:
    """A job written out by hand, or one of the small ones."""
    return JOBS[name]() if name in JOBS else by_hand(name)


def judged(share: float, name: str) -> tuple[Counter[str], Counter[str], Counter[str], list[Spoiled]]:
    """Of a share of all spoiled procedures: how many of each kind, refused, refused by more than the clock; the rest."""
    setting, procedure = job_of(name)
    random = Random(14)
    made, refused, hard = Counter[str](), Counter[str](), Counter[str]()
    passed = []
    for one in spoiled(setting, procedure):
        if random.random() >= share:
            continue
        breaches = rehearse(one.setting, one.procedure)
        made[one.kind] += 1
        refused[one.kind] += bool(breaches)
        hard[one.kind] += any(breach.rule != "people" for breach in breaches)
        if not breaches:
            passed.append(one)
    return made, refused, hard, passed


def told(name: str, share: float) -> list[Spoiled]:
    """The same printed; what passed without a reason."""
    made, refused, hard, passed = judged(share, name)
    print(f"\n{name}: {sum(refused.values())} of {sum(made.values())} spoiled procedures are refused")
    for kind, number in made.items():
        part = f"{refused[kind] / number:.0%}"
        print(f"  {kind:34} {refused[kind]:4} of {number:4} {part:>5}, by more than people's time {hard[kind]:4}")
    for why, number in Counter(reason(one) or "NOBODY KNOWS WHY" for one in passed).most_common():
        print(f"  harmless {number:4}: {why}")
    return [one for one in passed if reason(one) is None]


@pytest.mark.parametrize("share", [0.05, in_ci(0.15)])
@pytest.mark.parametrize("name", [*BY_HAND, *JOBS])
@pytest.mark.ci
def test_what_passes_of_a_share_of_all_spoiled_procedures_is_harmless(name: str, share: float) -> None:
    unexplained = told(name, share=share)
    assert not unexplained, [(one.kind, one.act.id, one.how) for one in unexplained]


@pytest.mark.long
@pytest.mark.parametrize("name", [*BY_HAND, *JOBS])
def test_what_passes_of_all_spoiled_procedures_is_harmless(name: str) -> None:
    unexplained = told(name, share=1.0)
    assert not unexplained, [(one.kind, one.act.id, one.how) for one in unexplained]


GRAVE = {
    "wrong tank", "wrong lot", "gun twice as long", "seconds doubled, volume not", "dwell halved", "stop point moved",
    "rinse from another tank", "wet from another tank", "mix from another tank", "flush from another tank",
    "stop point asks less", "stock left on", "wrong share", "wrong section", "second at two places", "wrong begin",
    "wrong end", "wrong reading",
}  # fmt: skip


@pytest.mark.parametrize("name", [in_ci(BY_HAND[0]), *BY_HAND[1:], *JOBS])
def test_what_could_hurt_somebody_is_refused_whole(name: str) -> None:
    setting, procedure = job_of(name)
    passed = [
        (one.kind, one.act.id, one.how)
        for one in spoiled(setting, procedure)
        if one.kind in GRAVE and (one.act.section is None or one.act.section.number in (1, one.act.section.of))
        if not rehearse(one.setting, one.procedure)
    ]
    assert not passed
