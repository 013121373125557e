"""Safety, from a job as it is written to its page."""

from __future__ import annotations

import re

import pytest

from planner.packet.blocks import Signs, Table
from planner.packet.sections.crew import safety
from planner.plan.mix.lookups import forbidden
from tests.packet.builders import ACID, ROOF, written
from tests.packet.mixing import CASES, owners, texts
from tests.packet.sections.said import DRUM, GENERATOR, HOT, LADDER, reading, said

# ------------------------------------------------------------------------------------------------ safety


def test_a_house_wash_has_its_own_hazards_and_no_others() -> None:
    plain = said("safety")
    for words in ("Wires: none listed", "Fumes of the mix", "Slips and trips", "Above 10 mph or gusts of 15 mph"):
        assert words in plain
    for words in ("Ladder", "roof", "Jet through the skin", "acid fumes", "Heat", "Cold", "muriatic", "oxalic", "Engine",
                  "Dust", "Electric", "Drum"):  # fmt: skip
        assert words not in plain, words


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ((LADDER,), ("1 out for 4 up, 3 ft above", "Gun on a ladder", "never above 1,000 psi", "Power line, 22 ft away", "jet 10 ft clear", "Steep ground")),
        ((ROOF,), ("Fall from the roof", "Above 15 mph: stop", "soap")),
        ((ACID,), ("Fumes of acid", "muriatic stock", "muriatic mix", "bleach and pool chlorine", "bicarbonate")),
        (CASES["high pressure"], ("Jet through the skin", "high-pressure injection", "Engine exhaust")),
        (CASES["crystals"], ("dust mask to scoop", "Dust")),
        ((HOT,), ("Heat, 95 F forecast", "Cold, 30 F forecast")),
        ((GENERATOR,), ("Engine exhaust", "Electric shock", "Test the GFCI")),
        ((DRUM,), ("Draw from it where it is; never lift it.",)),
    ],
)  # fmt: skip
def test_a_hazard_comes_with_what_brings_it(changes: tuple[str, ...], words: str) -> None:
    text = said("safety", *changes)
    for one in words:
        assert one in text, one


def test_a_job_with_water_only_gets_only_the_general_half() -> None:
    text = said("safety", "job: {chemicals: []}")
    assert "Slips and trips" in text
    assert "Local codes, licensed practice come first." in text
    assert "Goggles on" in text
    assert "First aid" not in text
    for words in ("Never with", "Sign", "Eyes", "own sheet", "stock", "mix", "drum", "label"):
        assert words not in text


def test_a_mix_is_worn_against_as_a_mix_and_a_drum_as_a_drum() -> None:
    made = safety.section(reading(ROOF))
    table = next(block for block in made.blocks if isinstance(block, Table) and block.head[0] == "Sign")
    worn = {"".join(span.text for span in row[1]): (row[0], row[2]) for row in table.rows}
    stock = next(value for name, value in worn.items() if name.startswith("hypochlorite stock"))
    mix = next(value for name, value in worn.items() if name.startswith("hypochlorite mix"))
    assert stock[0] == Signs(names=("corrosion", "environment"), size=26.0)
    assert "face shield" in stock[1]
    assert "face shield" not in mix[1]
    assert "3.5 trade %" in next(name for name in worn if name.startswith("hypochlorite mix"))


@pytest.mark.parametrize("case", ["wash", "roof", "acid", "three", "other heel", "crystals"])
def test_every_forbidden_pair_of_what_is_aboard_is_on_the_page(case: str) -> None:
    plan = written(*CASES[case]).plan
    text = said("safety", *CASES[case])
    kinds = safety.aboard(plan)
    for n, first in enumerate(kinds):
        for second in kinds[n + 1 :]:
            pair = forbidden(plan, first, second)
            if pair is not None:
                assert pair.gives in text, (first, second)


@pytest.mark.ci
def test_the_owner_finds_what_the_labels_statements_mean_and_where_they_come_from() -> None:
    owner = " ".join(texts(owners("wash")))
    assert "H314 Causes severe skin burns and eye damage" in owner
    assert "data sheet decides" in owner


def test_distances_and_limits_are_said_in_the_readers_units() -> None:
    text = said("safety", LADDER, system="si")
    assert "6.7 m away" in text
    assert "jet 3.1 m clear" in text
    assert not re.search(r"\d (ft|psi|mph)\b", text)
