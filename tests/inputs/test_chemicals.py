"""One record a chemical: what it lacks is told by name, and what nobody knows of it is never taken as harmless."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import pytest

from planner.inputs.tables.chemicals import (
    CHEMICALS,
    FIELDS,
    KINDS,
    Chemical,
    chemical_of,
    foams,
    lawn_of,
)
from planner.inputs.tables.materials import effect_on, materials, spoils
from planner.inputs.tables.rows import rows
from planner.plan.between.matrix import gas_of, gas_reactions, matrix, meets
from planner.plan.between.neutralisers import rise_of
from planner.plan.between.runoff import ph_of
from planner.words.hazards import chemical_hazards, hazard_of, place_hazards, statements
from tests import workspaces

RECORDS: dict[str, dict[str, Any]] = {row["name"]: row for row in rows("chemicals")}
PHOSPHORIC = RECORDS["phosphoric"]
KEYS = [(field, key) for field, block in PHOSPHORIC.items() if isinstance(block, dict) for key in block]
ROWS = [(field, key) for field, block in PHOSPHORIC.items() if isinstance(block, list) and field != "aliases"
        for key in block[0] if key not in ("regulation", "last")]  # fmt: skip


def changed(record: dict[str, Any], **change: Any) -> dict[str, Any]:
    return {**copy.deepcopy(record), **change}


@pytest.mark.parametrize("field", FIELDS)
def test_a_record_that_leaves_out_a_field_is_told_which(field: str) -> None:
    record = changed(PHOSPHORIC)
    del record[field]
    name = "a record without a name" if field == "name" else "phosphoric"
    with pytest.raises(RuntimeError) as told:
        chemical_of(record)
    assert str(told.value) == (
        f"data/chemicals.yaml: `{name}` has no `{field}`: write it with its source, or `none found`"
    )


@pytest.mark.parametrize(("field", "key"), [one for one in KEYS if one != ("transport", "listed")])
def test_a_block_that_leaves_out_a_key_is_told_which(field: str, key: str) -> None:
    record = changed(PHOSPHORIC)
    del record[field][key]
    with pytest.raises(RuntimeError, match=rf"`phosphoric` has no `{field}\.{key}`"):
        chemical_of(record)


@pytest.mark.parametrize(("field", "key"), ROWS)
def test_a_row_that_leaves_out_a_key_is_told_which(field: str, key: str) -> None:
    record = changed(PHOSPHORIC)
    del record[field][0][key]
    with pytest.raises(RuntimeError, match=rf"has no `{key}` in row 1 of `{field}`"):
        chemical_of(record)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"kind": "salt"}, "`kind: salt` is not one of bleach"),
        ({"label": "none found"}, "`label` cannot be left at `none found`"),
        ({"groups": "none"}, "there is `groups` of every chemical"),
        ({"acid": "a weak one"}, "`acid: a weak one` says nothing"),
        ({"solution": "none found"}, "a liquid has to say `solution.heaviest`"),
        ({"form": "dry"}, "what is dry has to say `dissolves`"),
        ({"acid": "none found", "bath": RECORDS["citric"]["bath"]}, "a `bath` asks for its `acid`"),
    ],
)
def test_what_no_record_can_say_is_refused(change: dict[str, Any], told: str) -> None:
    with pytest.raises(RuntimeError, match=told):
        chemical_of(changed(PHOSPHORIC, **change))


def test_every_record_reads_and_every_figure_of_it_has_its_source() -> None:
    for name, record in RECORDS.items():
        one = CHEMICALS[name]
        assert one.kind in KINDS
        for field, block in record.items():
            for row in block if isinstance(block, list) and field not in ("aliases", "gases") else [block]:
                if isinstance(row, dict) and field != "called":
                    assert len(row["source"]) > 4, (name, field)
        for key in (one.people.fumes, one.people.spill):
            assert not key or key in place_hazards(), (name, key)
        for row in one.hazards:
            assert set(row["says"]) <= set(statements()), name
        assert hazard_of(name, "stock") is not None


# -------------------------------------------------------------------------------------------------- nobody knows


@pytest.fixture
def unknown(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """Phosphoric acid with some fields at `none found`, laid over the table for one test."""
    caches = (matrix, gas_reactions, chemical_hazards)

    def laid(*fields: str) -> Chemical:
        one = chemical_of(changed(PHOSPHORIC, **dict.fromkeys(fields, "none found")))
        monkeypatch.setitem(cast(dict[str, Chemical], CHEMICALS), "phosphoric", one)
        for cache in caches:
            cache.cache_clear()
        return one

    yield laid
    monkeypatch.undo()
    for cache in caches:
        cache.cache_clear()


JOB: dict[str, Any] = {
    "surfaces": [{"name": "wall", "kind": "brick_acid", "area": "600 ft2"}],
    "chemicals": [{"stock": "phosphoric", "strength": "5 wt %"}],
    "hose_runs": {0: {"feed": "mix", "dosing": "premix"}},
    "near": {"storm_drain": "20 ft"},
}
LOTS = {"lots": [{"name": "jug", "chemical": "phosphoric acid", "strength": "75 wt %", "on_hand": "5 gal"},
                 {"name": "bicarb", "chemical": "bicarbonate", "on_hand": "40 lb"}]}  # fmt: skip


def levels(folder: Path, job: dict[str, Any] = JOB) -> dict[tuple[str, str], str]:
    files = workspaces.merged(workspaces.base(), {"job": job, "stock": LOTS})
    return {(one.code, one.case): one.level for one in workspaces.checked(folder, files).findings}


def test_what_nobody_knows_the_groups_of_may_meet_nothing(unknown: Any) -> None:
    unknown("groups")
    for other in ("hypochlorite", "bicarbonate", "surfactant"):
        assert meets("phosphoric", other).outcome == "unknown"
        assert meets("phosphoric", other).stops
    assert meets("phosphoric", "water").outcome == "harmless"


def test_what_nobody_knows_the_touch_of_is_tried_first_everywhere(unknown: Any) -> None:
    unknown("touches")
    assert spoils("phosphoric")
    assert {effect_on("phosphoric", one).name for one in materials().values()} == {"try_first"}


def test_what_nobody_knows_the_heat_of_is_neutralized_by_nothing(unknown: Any, tmp_path: Path) -> None:
    unknown("acid")
    assert rise_of("phosphoric", 50.0, "bicarbonate") is None
    assert ph_of("phosphoric", 50.0) is None
    files = workspaces.merged(workspaces.base(), {"job": JOB, "stock": LOTS})
    assert workspaces.checked(tmp_path, files).plan.neutralisers == ()


def test_what_nothing_is_known_to_end_is_kept_and_goes_nowhere(unknown: Any, tmp_path: Path) -> None:
    unknown("neutralised", "lawn")
    assert lawn_of("phosphoric") == "never"
    plan = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), {"job": JOB, "stock": LOTS})).plan
    assert plan.neutralisers == ()


def test_what_nobody_looked_up_for_the_road_counts_as_listed(unknown: Any, tmp_path: Path) -> None:
    one = unknown("transport")
    assert one.listed is not None
    assert one.listed.least == 0.0
    plan = workspaces.checked(tmp_path, workspaces.merged(workspaces.base(), {"job": JOB, "stock": LOTS})).plan
    assert plan.load is not None
    assert any(item.regulated and item.chemical == "phosphoric" for item in plan.load.out.items)


def test_of_what_nobody_looked_up_for_people_the_worst_is_taken(unknown: Any) -> None:
    one = unknown("people", "hazards")
    assert one.people.burns == "strong"
    assert {one.people.fumes, one.people.spill} <= set(place_hazards())
    assert hazard_of("phosphoric", "mix", 50.0) is None, "the page then says: by its own data sheet"


def test_no_gas_is_worked_out_without_a_molar_mass_and_what_no_record_tells_of_foams(unknown: Any) -> None:
    assert gas_of("phosphoric", 1.0, "hypochlorite", 1.0) is not None
    unknown("molar")
    assert gas_of("phosphoric", 1.0, "hypochlorite", 1.0) is None
    assert foams("something else")
    assert lawn_of("something else") == "never"


def test_runoff_nobody_knows_the_ph_of_counts_as_waste(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    peroxide = {"chemicals": [{"stock": "peroxide", "strength": "3 wt %"}]}
    lots = {"lots": [{"name": "jug", "chemical": "hydrogen peroxide", "strength": "35 wt %", "on_hand": "5 gal"}]}
    files = workspaces.merged(workspaces.base(), {"job": JOB, "stock": lots})
    files["job"]["chemicals"] = peroxide["chemicals"]
    known = {one.case for one in workspaces.checked(tmp_path / "known", files).findings if one.code == "runoff.drain"}
    one = chemical_of(changed(RECORDS["hydrogen_peroxide"], base="none found"))
    monkeypatch.setitem(cast(dict[str, Chemical], CHEMICALS), "hydrogen_peroxide", one)
    cases = {one.case for one in workspaces.checked(tmp_path / "not", files).findings if one.code == "runoff.drain"}
    assert cases != known
