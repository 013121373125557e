"""What an editor is told of every file, held against what the planner itself reads."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from planner.cli import SCHEMAS, main
from planner.inputs.schema import FILES, file_name, schema_of, schema_text
from planner.inputs.workspace import load
from planner.locate import jobs
from tests.commands.reading import as_an_editor_reads, as_we_read

DEMO = jobs()
MODELINE = re.compile(r"^# yaml-language-server: \$schema=(\S+)$", re.M)
YAMLS = sorted(path for path in DEMO.rglob("*.yaml") if "packets" not in path.parts)


@cache
def _validator(name: str) -> Draft202012Validator:
    return Draft202012Validator(schema_of(name))


def slips(name: str, value: Any) -> list[str]:
    return [f"{error.json_path}: {error.message}" for error in _validator(name).iter_errors(value)]


def written(name: str, text: str) -> list[str]:
    return slips(name, as_an_editor_reads(text))


def test_every_file_has_a_schema_and_the_command_line_names_them_all() -> None:
    assert tuple(FILES) == SCHEMAS


@pytest.mark.ci
@pytest.mark.parametrize("name", SCHEMAS)
def test_the_schema_is_printed_and_is_a_schema(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", name]) == 0
    printed = capsys.readouterr().out
    schema = json.loads(printed)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema)
    assert printed == schema_text(name)


@pytest.mark.ci
def test_all_of_them_are_written_into_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "--all", str(tmp_path / "new" / ".schema")]) == 0
    made = {path.name: path.read_text(encoding="utf-8") for path in (tmp_path / "new" / ".schema").iterdir()}
    assert made == {file_name(name): schema_text(name) for name in SCHEMAS}
    assert len(capsys.readouterr().out.splitlines()) == len(SCHEMAS)


@pytest.mark.ci
def test_a_folder_that_cannot_be_written_is_one_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("kept", encoding="utf-8")
    assert main(["schema", "--all", str(tmp_path / "file")]) == 2
    assert "schema.unwritable" in capsys.readouterr().err
    assert (tmp_path / "file").read_text(encoding="utf-8") == "kept"


@pytest.mark.parametrize("args", [[], ["nothing"], ["day", "--all", "x"]])
def test_wrong_usage_exits_2(args: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as stop:
        main(["schema", *args])
    assert stop.value.code == 2
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_demos_copies_are_fresh(name: str) -> None:
    """`planner schema --all jobs/.schema` writes them again."""
    assert (DEMO / ".schema" / file_name(name)).read_text(encoding="utf-8") == schema_text(name)


@pytest.mark.parametrize("path", YAMLS, ids=lambda path: str(path.relative_to(DEMO)))
def test_every_demo_file_names_its_schema_and_fits_it(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    (named,) = MODELINE.findall(text)
    schema = (path.parent / named).resolve()
    assert schema.parent == (DEMO / ".schema").resolve()
    assert schema.is_file()
    assert slips(schema.stem, as_an_editor_reads(text)) == []
    assert slips(schema.stem, as_we_read(text)) == []


def properties(node: Any) -> list[tuple[str, dict[str, Any]]]:
    """Every key of every mapping of a schema, with what is said of it."""
    found: list[tuple[str, dict[str, Any]]] = []
    if isinstance(node, dict):
        if isinstance(node.get("properties"), dict):
            found += node["properties"].items()
        for value in node.values():
            found += properties(value)
    elif isinstance(node, list):
        for value in node:
            found += properties(value)
    return found


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_key_is_described_and_its_examples_fit_it(name: str) -> None:
    schema = schema_of(name)
    for key, part in properties(schema):
        assert part["description"], key
        assert part["examples"], key
        whole = {"$defs": schema.get("$defs", {}), **part}
        for example in part["examples"]:
            assert not list(Draft202012Validator(whole).iter_errors(example)), (key, example)
    for part in schema.get("$defs", {}).values():
        assert part["description"].endswith(".")
        assert part["additionalProperties"] is False


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_top_level_key_of_the_model_is_there(name: str) -> None:
    assert set(schema_of(name)["properties"]) == set(FILES[name][0].model_fields)


@pytest.mark.parametrize("name", SCHEMAS)
def test_no_key_takes_an_empty_value_and_no_default_is_in_si(name: str) -> None:
    assert '"null"' not in schema_text(name)
    for key, part in properties(schema_of(name)):
        if "default" in part:
            assert not list(Draft202012Validator(part).iter_errors(part["default"])), key


SHORT = """
job: Short
site: {address: 1 Wharf}
building: {height: 20 ft}
surfaces: [{kind: vinyl, area: 500 ft2}]
"""
SETUP = SHORT + "setup: house\n"
RUNS = SHORT + "hose_runs: [{name: front, pump: booster, feed: water, hoses: [red 1], tip: long throw}]\n"


@pytest.mark.parametrize("text", [SETUP, RUNS, SHORT + "setup: [house, roof]\n"])
def test_a_job_with_a_setup_and_one_with_hose_runs_both_fit(text: str) -> None:
    assert written("job", text) == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("job", SHORT),
        ("job", SETUP + "hose_runs: [{name: front, feed: tap, hoses: [red 1], tip: long throw}]\n"),
        ("job", SHORT + "setup: []\n"),
        ("job", SETUP.replace("20 ft", "20")),
        ("job", SETUP.replace("kind: vinyl", "kid: vinyl")),
        ("job", SETUP.replace("vinyl, area", "vinyl, soil: filthy, area")),
        ("job", SETUP + "standoff: 12\n"),
        ("job", SETUP + "fittings: {cupling: 3}\n"),
        ("job", SETUP + "accept: [{finding: mix.reaction, reason: early start, by: owner}]\n"),
        ("job", "setup: house\n"),
        ("job", "like: 2026-06-09/10-millrace\nsetup: house\nhose_runs: []\n"),
        ("yard", "job: Booster\nkind: wash\npump: booster\nwork: descale\n"),
        ("yard", "job: Booster\nkind: yard\npump: booster\nwork: [polish]\n"),
        ("day", "crew: 2\n"),
        ("day", "rig: Bittern\ncrew: 0\n"),
        ("company", "units: us\n"),
        ("company", "name: A\nlimits: {wind_cation: 8 mph}\n"),
        ("rig", "rig: A\ntanks: []\ntips: [{name: a, orifice: 1/4 in}]\n"),
        ("stock", "lots: [{name: A}]\n"),
        ("surfaces", "surfaces: [{kind: vinyl, dwell: [5 min]}]\n"),
    ],
)  # fmt: skip
def test_what_an_editor_can_see_is_wrong_does_not_fit(name: str, text: str) -> None:
    assert written(name, text)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("job", "like: 2026-06-09/10-millrace\n"),
        ("job", "like: 2026-06-09/10-millrace\nsetup: house\ntap: 5 gal in 40 s\n"),
        ("job", SETUP + "access: {on_ladder: true, roof_work: {pitch: 6/12, eave: 9 ft, anchor: yes}}\n"),
        ("job", SETUP.replace("500 ft2", "500 ft2, soil: light").replace("vinyl", "limewash of our own")),
        ("yard", "like: 2026-06-10/90-booster\nthrow: 35 ft\n"),
        ("yard", "job: Booster\nkind: yard\npump: booster\nwork: descale\n"),
        ("day", "rig: 7\ncrew: one\nheels: {mix: {stock: water, volume: 3 gal}}\n"),
        ("stock", "lots: [{name: 14, chemical: bleach, kept_at: shed, bleach_stable: false}]\n"),
        ("rig", "rig: A\ntanks: [{name: 1, volume: 50 gal}]\ntips: [{name: a, size: 5.5, discharge_coefficient: 1}]\n"),
    ],
)  # fmt: skip
def test_nothing_that_is_right_is_called_wrong(name: str, text: str) -> None:
    assert written(name, text) == []
    assert slips(name, yaml.load(text, Loader=yaml.BaseLoader)) == []


def test_the_planner_reads_past_the_schemas_in_the_workspace() -> None:
    assert load([DEMO]).faults == ()
