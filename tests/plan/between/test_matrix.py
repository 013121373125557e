"""The tables of reactions: every pair has an answer, every equation balances, every limit is what its source prints."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from itertools import combinations

import pytest
from molmass import Formula

from planner.chemistry.reactions import CODES, SEVERITY
from planner.inputs.tables.chemicals import CHEMICALS, covered_by
from planner.inputs.tables.rows import rows, table
from planner.plan.between.matrix import (
    exposures,
    forbidden_pairs,
    gas_of,
    gas_reactions,
    limit_of,
    matrix,
    meets,
)

SUBSTANCES = tuple(matrix().substances)
PAIRS = tuple(combinations(SUBSTANCES, 2))
GALLON = 231 * 0.0254**3

# Written out by hand from the contract's pages, chemical by chemical: what each may not meet among all a lot can hold.
NEVER = {
    "hypochlorite": "muriatic oxalic citric phosphoric sulfamic ascorbic bisulfite sulfite thiosulfate percarbonate"
    " hydrogen_peroxide quat benzyl_alcohol dibasic_ester caustic_degreaser",
    "muriatic": "hypochlorite sulfite bisulfite thiosulfate percarbonate hydrogen_peroxide caustic"
    " caustic_degreaser benzyl_alcohol dibasic_ester",
    "oxalic": "hypochlorite sulfite bisulfite thiosulfate percarbonate hydrogen_peroxide caustic caustic_degreaser",
    "citric": "hypochlorite sulfite bisulfite thiosulfate percarbonate hydrogen_peroxide caustic caustic_degreaser",
    "phosphoric": "hypochlorite sulfite bisulfite thiosulfate percarbonate hydrogen_peroxide caustic"
    " caustic_degreaser benzyl_alcohol dibasic_ester",
    "sulfamic": "hypochlorite sulfite bisulfite thiosulfate percarbonate hydrogen_peroxide caustic"
    " caustic_degreaser benzyl_alcohol dibasic_ester",
    "caustic": "muriatic oxalic citric phosphoric sulfamic dibasic_ester",
    "caustic_degreaser": "muriatic oxalic citric phosphoric sulfamic dibasic_ester hypochlorite percarbonate"
    " hydrogen_peroxide",
    "percarbonate": "hypochlorite muriatic oxalic citric phosphoric sulfamic ascorbic sulfite bisulfite thiosulfate"
    " benzyl_alcohol dibasic_ester caustic_degreaser",
    "hydrogen_peroxide": "hypochlorite muriatic oxalic citric phosphoric sulfamic ascorbic sulfite bisulfite thiosulfate"
    " benzyl_alcohol dibasic_ester caustic_degreaser",
    "quat": "hypochlorite",
    "benzyl_alcohol": "hypochlorite muriatic phosphoric sulfamic percarbonate hydrogen_peroxide",
    "dibasic_ester": "hypochlorite muriatic phosphoric sulfamic percarbonate hydrogen_peroxide caustic"
    " caustic_degreaser lime",
    "surfactant": "",
    "bicarbonate": "",
    "soda_ash": "",
    "lime": "dibasic_ester",
    "thiosulfate": "hypochlorite muriatic oxalic citric phosphoric sulfamic ascorbic percarbonate hydrogen_peroxide",
    "sulfite": "hypochlorite muriatic oxalic citric phosphoric sulfamic percarbonate hydrogen_peroxide",
    "bisulfite": "hypochlorite muriatic oxalic citric phosphoric sulfamic percarbonate hydrogen_peroxide",
    "ascorbic": "hypochlorite percarbonate hydrogen_peroxide thiosulfate",
}
THIN = {
    "muriatic": "bicarbonate soda_ash lime",
    "oxalic": "bicarbonate soda_ash lime benzyl_alcohol",
    "citric": "bicarbonate soda_ash lime benzyl_alcohol",
    "phosphoric": "bicarbonate soda_ash lime",
    "sulfamic": "bicarbonate soda_ash lime",
    "ascorbic": "bicarbonate soda_ash lime caustic caustic_degreaser benzyl_alcohol",
    "bisulfite": "bicarbonate soda_ash lime caustic caustic_degreaser",
    "percarbonate": "caustic lime",
    "hydrogen_peroxide": "caustic lime soda_ash",
}
# What depends on the label, so that it is asked for: soap with bleach, acid and quat; quat with acid, lye and peroxide.
ACID = "muriatic oxalic citric phosphoric sulfamic ascorbic"
ASKED = {
    "surfactant": f"hypochlorite quat {ACID}",
    "quat": f"caustic caustic_degreaser lime percarbonate hydrogen_peroxide {ACID}",
    "benzyl_alcohol": "caustic caustic_degreaser lime",
    "dibasic_ester": "oxalic citric ascorbic",
}


def test_every_chemical_a_lot_can_hold_is_in_the_matrix_and_has_a_molar_mass_but_mixtures() -> None:
    assert set(CHEMICALS) <= set(SUBSTANCES)
    assert [name for name in CHEMICALS if matrix().substances[name].molar is None] == [
        "surfactant", "quat", "dibasic_ester",
    ]  # fmt: skip


@pytest.mark.parametrize("name", sorted(CHEMICALS))
def test_every_pair_of_chemicals_comes_to_what_was_written_by_hand(name: str) -> None:
    assert {other for other in CHEMICALS if meets(name, other).outcome == "forbidden"} == set(NEVER[name].split())
    thin = {other for one, others in THIN.items() for other in others.split() if one == name}
    thin |= {one for one, others in THIN.items() if name in others.split()}
    assert {other for other in CHEMICALS if meets(name, other).outcome == "thin"} == thin
    asked = {other for one, others in ASKED.items() for other in others.split() if one == name}
    asked |= {one for one, others in ASKED.items() if name in others.split()}
    assert {other for other in CHEMICALS if meets(name, other).outcome == "declared"} == asked


def test_every_pair_of_substances_has_one_answer_both_ways_round() -> None:
    found = {pair: wrong for pair in PAIRS if (wrong := _wrong(*pair))}
    assert not found


def _wrong(first: str, second: str) -> str:
    """What is amiss with what the two come to, if anything."""
    one, other = meets(first, second), meets(second, first)
    if one.outcome not in SEVERITY or one.outcome in ("same", "unknown"):
        return one.outcome
    if (one.outcome, one.gives, one.codes, one.source) != (other.outcome, other.gives, other.codes, other.source):
        return "two answers"
    if len(one.source) <= 10 or not set(one.codes) <= set(CODES):
        return f"{one.source}: {one.codes}"
    return "gives nothing" if one.outcome in ("forbidden", "thin") and one.gives == "nothing" else ""


@pytest.mark.parametrize(
    ("brought", "chemical"),
    [
        ("ammonia_cleaner", "hypochlorite"), ("vinegar", "hypochlorite"), ("rust_remover", "hypochlorite"),
        ("urine", "hypochlorite"), ("quat_disinfectant", "hypochlorite"), ("petrol", "hypochlorite"),
        ("pool_chlorine", "muriatic"), ("pool_chlorine", "oxalic"), ("ammonia_cleaner", "caustic"),
        ("petrol", "percarbonate"), ("aluminium", "caustic"), ("zinc", "muriatic"),
    ],
)  # fmt: skip
def test_what_people_bring_must_not_meet_what_we_carry(brought: str, chemical: str) -> None:
    assert meets(brought, chemical).outcome == "forbidden"


def test_what_the_safety_page_says_in_plain_words_the_matrix_forbids() -> None:
    for chemical in CHEMICALS.values():
        for row in chemical.brought:
            for other in covered_by(row["covers"]):
                assert meets(chemical.name, other).stops, row


def test_groups_that_are_named_are_known_and_every_group_belongs_to_something() -> None:
    known = {row["name"] for row in rows("reactions", "groups")}
    used = {group for one in matrix().substances.values() for group in one.groups}
    assert used == known
    assert {name for row in rows("reactions", "group_pairs") for name in (row["first"], row["second"])} <= known
    assert {row["with"] for one in CHEMICALS.values() for row in (*one.meets, *one.gases)} <= set(SUBSTANCES)


def _parts(formula: str) -> Iterator[tuple[int, Formula]]:
    """The parts of a formula with their counts: a hydrate or a double salt is written with full stops."""
    for part in formula.strip("()").split(".") if "." in formula else [formula]:
        match = re.fullmatch(r"(\d*)(.+)", part)
        assert match is not None
        yield int(match[1] or 1), Formula(match[2])


def _elements(side: str) -> Counter[str]:
    total: Counter[str] = Counter()
    for term in side.split(" + "):
        count, _, formula = term.rpartition(" ")
        for times, part in _parts(formula):
            for element in part.composition().values():
                total[element.symbol] += element.count * times * int(count or 1)
    return total


def _molar(formula: str) -> float:
    return float(sum(times * part.mass for times, part in _parts(formula)))


GASES = [(one.name, row) for one in CHEMICALS.values() for row in one.gases]


@pytest.mark.parametrize(("first", "row"), GASES, ids=[f"{name} {row['with']}" for name, row in GASES])
def test_every_equation_balances_and_says_the_moles_of_its_row(first: str, row: dict[str, object]) -> None:
    before, after = str(row["equation"]).split(" -> ")
    assert _elements(before) == _elements(after)
    formulas = {one["name"]: one["formula"] for one in rows("reactions", "gases")}
    assert re.match(rf"({row['gives']} )?{formulas[row['gas']]}( |$)", after)
    takes = row["takes"]
    assert isinstance(takes, list)
    reagents = [term for term in before.split(" + ") if term.split(" ")[-1] not in ("NaCl", "H2O")]
    assert [int(term.rpartition(" ")[0] or 1) for term in reagents] == [int(one) for one in takes if one != "0"]
    assert meets(first, str(row["with"])).outcome in ("forbidden", "thin")


def test_molar_masses_are_those_of_the_formulas() -> None:
    for row in rows("reactions", "gases"):
        assert float(row["molar"]) == pytest.approx(_molar(row["formula"]), rel=1e-5)
    formulas = {row["name"]: row["formula"] for row in rows("chemicals")}
    for name in CHEMICALS:
        molar = matrix().substances[name].molar
        if molar is not None:  # hypochlorite is counted as available chlorine
            formula = "Cl2" if name == "hypochlorite" else formulas[name]
            assert molar * 1e3 == pytest.approx(_molar(formula), rel=1e-5), name


def test_every_forbidden_pair_that_gives_a_gas_by_its_words_says_how_much() -> None:
    for first, second in combinations(CHEMICALS, 2):
        told = meets(first, second)
        if told.outcome in ("forbidden", "thin") and re.search("chlorine|sulfur|oxygen|carbon", told.gives):
            assert frozenset((first, second)) in gas_reactions(), (first, second)


def test_limits_are_those_of_their_sources() -> None:
    # NIOSH, documentation for immediately dangerous concentrations, May 1994: chlorine 10 ppm, sulfur dioxide 100 ppm.
    printed = {(one.gas, one.kind): one.share for one in exposures()}
    assert printed["chlorine", "IDLH"] == pytest.approx(10e-6)
    assert printed["chlorine", "ceiling"] == pytest.approx(1e-6)
    assert printed["chlorine", "ceiling of 15 min"] == pytest.approx(0.5e-6)
    assert printed["sulfur dioxide", "IDLH"] == pytest.approx(100e-6)
    assert printed["sulfur dioxide", "PEL"] == pytest.approx(5e-6)
    assert printed["hydrogen chloride", "ceiling"] == pytest.approx(5e-6)
    spoken = {gas: limit_of(gas) for gas in ("chlorine", "hydrogen", "oxygen")}
    assert spoken["chlorine"] is not None
    assert spoken["chlorine"].kind == "IDLH"
    assert spoken["hydrogen"] is not None
    assert spoken["hydrogen"].kind == "LEL"
    assert spoken["oxygen"] is None
    assert [row["level"] for row in table("hazards")["exposure"] if row["gas"] == "oxalic acid dust"] == ["1 mg/m3"]


def test_gas_of_a_pair_is_the_same_whichever_is_named_first() -> None:
    one = gas_of("hypochlorite", GALLON * 125.0, "muriatic", 1.0)
    other = gas_of("muriatic", 1.0, "hypochlorite", GALLON * 125.0)
    assert one is not None
    assert one == other
    assert one.air == pytest.approx(one.released.volume / 10e-6)


def test_no_gas_is_told_where_none_comes_or_nobody_knows_how_much() -> None:
    assert gas_of("hypochlorite", 1.0, "thiosulfate", 1.0) is None
    assert gas_of("hypochlorite", None, "muriatic", None) is None
    assert gas_of("hypochlorite", 0.0, "muriatic", 1.0) is None


def test_forbidden_pairs_of_a_load_are_each_told_once() -> None:
    pairs = forbidden_pairs(["hypochlorite", "muriatic", "bicarbonate", "hypochlorite", "thiosulfate"])
    assert [(one.first, one.second) for one in pairs] == [
        ("hypochlorite", "muriatic"),
        ("hypochlorite", "thiosulfate"),
        ("muriatic", "thiosulfate"),
    ]
