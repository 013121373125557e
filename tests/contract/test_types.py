"""The types of the contract against the JSON that is written, the table of what can be written down, and what is kept."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal, NotRequired, Required, get_args, get_origin, get_type_hints, is_typeddict

import pytest
from sqlalchemy import update

from planner.archive.kept.lately import records_between
from planner.archive.kept.opening import opened
from planner.archive.kept.tables import RECORDS
from planner.cli import main
from planner.contract import record as kept
from planner.contract.held import MALFORMED, record_of
from planner.contract.mix import MixJson, WorkJson
from planner.contract.plan import DocumentJson, PlanJson, WornRunJson
from planner.contract.recordable import recordables, rows_of
from planner.locate import jobs
from planner.office.compare_json import ComparisonJson
from tests.archive import seasons

Seen = dict[tuple[str, str], int]
ROWS: dict[str, tuple[Any, set[str]]] = {
    "": (kept.RemarksJson, set()),
    "times": (kept.TimesJson, set()),
    "water": (kept.WaterDoneJson, set()),
    "flush": (kept.FlushDoneJson, set()),
    "readings": (kept.ReadingJson, {"run"}),
    "mixes": (kept.MixDoneJson, {"number", "stock", "run"}),
    "sides": (kept.SideJson, {"surface", "run"}),
    "lots": (kept.LotDoneJson, {"lot"}),
    "heels": (kept.HeelDoneJson, {"tank"}),
    "pump": (kept.PumpJson, {"stages"}),
    "pump.stages": (kept.StageJson, {"number", "spent"}),
    "initials": (kept.InitialsJson, {"stop_point"}),
}
"""The type of each part of a record, and what it has that nobody writes into a box."""


def wrong(value: Any, kind: Any, path: str, seen: Seen) -> Iterator[str]:
    """Where a value is of another shape than its type; `seen` counts the keys that may lack, by where they do not."""
    of, origin = get_args(kind), get_origin(kind)
    if is_typeddict(kind):
        hints = get_type_hints(kind, include_extras=True)
        yield from (f"{path}.{name} is in no type" for name in value.keys() - hints.keys())
        for name, one in hints.items():
            seen[kind.__name__, name] += name in value
            if name in value:
                marked = get_origin(one) in (Required, NotRequired)
                yield from wrong(value[name], get_args(one)[0] if marked else one, f"{path}.{name}", seen)
            elif get_origin(one) is not NotRequired and name not in kind.__optional_keys__:
                yield f"{path}.{name} is lacking"
    elif origin is list:
        for one in value:
            yield from wrong(one, of[0], f"{path}[]", seen)
    elif origin is dict:
        for one in value.values():
            yield from wrong(one, of[1], f"{path}{{}}", seen)
    elif type(None) in of:
        if value is not None:
            yield from wrong(value, of[0], path, seen)
    elif origin is Literal:
        if value not in of:
            yield f"{path} is {value!r}"
    elif kind in (str, int, bool, float):
        sound = (
            isinstance(value, (int, float)) and not isinstance(value, bool) if kind is float else type(value) is kind
        )
        if not sound:
            yield f"{path} is {value!r}, no {kind.__name__}"


@pytest.mark.ci
def test_what_check_writes_has_the_keys_of_its_types(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from planner.contract import plan as contract

    made = contract.job_json
    monkeypatch.setattr(contract, "job_json", lambda job, system, *, wear: made(job, system, wear=True))
    main(["check", "--json", str(jobs())])
    seen: Seen = defaultdict(int)
    assert not list(wrong(json.loads(capsys.readouterr().out), DocumentJson, "", seen))
    nowhere = [key for key, count in seen.items() if not count]
    # A company's branch, sides in another order, a jug's size, a wall wetted again, hoses changed with a tip, a finding
    # of such a tip, a bucket.
    unwritten = [
        ("PlanJson", "branch"),
        ("PlanJson", "sides"),
        ("SettingJson", "jug_m3"),
        ("WorkJson", "mists"),
        ("WorkJson", "mist_every_s"),
        ("ActJson", "off"),
        ("FindingJson", "tip"),
        ("ReadJson", "flow_m3_per_s"),
    ]
    assert nowhere == unwritten, "nobody writes a key of a type, but for what no demo job has"


@pytest.mark.ci
def test_what_compare_writes_has_the_keys_of_its_types(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")
    plan = seasons.plan_of(tmp_path)
    seasons.keep(
        tmp_path, seasons.season(plan, 6, lambda n, record: record["readings"].append(seasons.as_share(plan, 0.9)))
    )
    for words in (["--apply"], ["--json"]):
        assert main(["compare", str(tmp_path), *words]) == 0
    told = json.loads(capsys.readouterr().out.rpartition("\n{\n")[2].join(("{", "")))
    assert told["jobs"]
    assert not list(wrong(told, ComparisonJson, "", defaultdict(int)))


@pytest.mark.parametrize("group", sorted({row.group for row in recordables()}))
def test_a_part_of_a_record_has_the_keys_of_the_table(group: str) -> None:
    kind, named = ROWS[group]
    assert {key for row in rows_of(group) for key in row.keys} | named == set(get_type_hints(kind))


def test_a_row_of_the_table_reads_what_a_plan_has() -> None:
    part = {"readings": WornRunJson, "mixes": MixJson, "sides": WorkJson, "times": None}
    for row in recordables():
        kind = part.get(row.group, PlanJson)
        for step in row.planned.split(".") if row.planned[:1] not in ("", "(") and kind is not None else ():
            one = get_type_hints(kind)[step.rstrip("?")]
            kind = get_args(one)[0] if type(None) in get_args(one) else one


@pytest.mark.parametrize(("key", "value"), [("basis", "much"), ("amount", "10"), ("g_per_l", [])])
def test_a_record_of_another_shape_is_told(key: str, value: object, tmp_path: Path) -> None:
    record: Any = seasons.empty_record(seasons.plan_of(tmp_path))
    test = {"amount": 10.0, "basis": "trade", "g_per_l": 100.0}
    record["heels"] = [{"tank": "tank", "stock": "hypochlorite", "volume_m3": 0.1, "strength": test}]
    assert record_of(record) is record
    test[key] = value
    with pytest.raises(MALFORMED):
        record_of(record)


def test_a_record_altered_by_hand_says_nothing_of_what_tanks_and_lines_hold(tmp_path: Path) -> None:
    plan = seasons.plan_of(tmp_path)
    seasons.keep(tmp_path, seasons.season(plan, 2, lambda n, record: None))
    sound, odd = "2026-03-02/10-house-0", "2026-03-05/10-house-1"
    assert list(records_between(None, tmp_path, "2026-03-01", "2026-03-09")) == [sound, odd]
    with opened(None, tmp_path) as archive, archive.writing() as connection:
        connection.execute(update(RECORDS).where(RECORDS.c.job == odd).values(json='{"heels": [{"tank": "tank"}]}'))
    assert list(records_between(None, tmp_path, "2026-03-01", "2026-03-09")) == [sound]


def test_a_record_of_the_first_version_is_read() -> None:
    """Its keys as they were: none of those that came since."""
    strength = {"amount": 10.0, "basis": "trade", "g_per_l": 100.0}
    reading = dict.fromkeys(
        ("gauge_open_pa", "gauge_closed_pa", "bucket_m3", "bucket_s", "jet_m", "throw_m", "standoff_m")
    )
    mix = dict.fromkeys(("dial", "batches", "stock_m3", "stock_kg", "mix_m3", "left_m3", "water_m3"))
    first = {  # type: ignore[var-annotated]
        "format": 1, "job": "2026-03-02/10-house", "plan": "aaaa-0001", "date": "2026-03-02", "water": {"used_m3": 1.0},
        "times": dict.fromkeys(("arrived_s", "first_mix_s", "flushed_s", "left_s"), 3e4),
        "readings": [{"run": "front", **reading}],
        "mixes": [{"number": 1, "stock": "hypochlorite", "run": "front", "lot": "drum", "stock_test": strength, **mix}],
        "sides": [{"surface": "wall", "run": "front", **dict.fromkeys(("wet_m3", "mix_m3", "dwell_s", "rinse_m3"))}],
        "lots": [{"lot": "drum", "test": strength, "on_hand_m3": 0.1, "on_hand_kg": None}],
        "flush": {"residual_mg_per_l": 2.0, "ph": None},
        "heels": [{"tank": "mix", "stock": "hypochlorite", "strength": {**strength, "g_per_l": None}, "volume_m3": 0.01}],
        "pump": {"bath_s": 60, "spacers": [], "replaced": [], "checked": [], "throw_before_m": None,
                 "throw_after_m": None, "gauge_closed_pa": None},
        **dict.fromkeys(("deviations", "after", "callbacks", "cost", "signed", "signed_at")),
    }  # fmt: skip
    assert record_of(first) == first
