"""Whatever was imported or altered by hand into the archive, the other jobs are compared and that one is named."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import insert, update

from planner.archive.compare.comparison import compared
from planner.archive.compare.kept import kept_corrections
from planner.archive.compare.pairs import LEFT_OUT, pairs
from planner.archive.kept.content import hash_of, now
from planner.archive.kept.opening import Opened, opened
from planner.archive.kept.tables import CORRECTIONS, PLANS, RECORDS
from planner.cli import main
from tests.archive import seasons
from tests.archive.conftest import Place

ODD: tuple[Any, ...] = (
    None, 0, -1, 1e300, -1e300, float("inf"), float("nan"), 10**400, True, "", "much", "\ud800", [], {}, [[]], [None],
    {"a": None}, 5e-324, "x" * 5000, [1, 2], {"run": "front"},
)  # fmt: skip


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    return seasons.plan_of(tmp_path_factory.mktemp("unread"))


def whole_record(plan: dict[str, Any], job: str) -> dict[str, Any]:
    """A record that says something of everything."""
    run, part = plan["runs"][0], plan["mixes"][0]["parts"][0]
    mix = {"number": 1, "stock": "hypochlorite", "run": run["name"], "lot": "drum", "dial": 2.0, "batches": None}
    test = {"amount": 10.0, "basis": "trade", "g_per_l": 100.0}
    return {
        **seasons.empty_record(plan), "job": job, "date": job.partition("/")[0], "signed": "Ana", "cost": "6 gal",
        "times": {"arrived_s": 3e4, "first_mix_s": 3.2e4, "flushed_s": 4e4, "left_s": 4.2e4},
        "water": {"used_m3": 1.0, "tap_m3": 0.02, "tap_s": 60.0},
        "readings": [{**seasons.as_share(plan, 0.9), "run": run["name"]}],
        "mixes": [{**mix, "stock_test": test, "stock_m3": 0.02, "stock_kg": None, "mix_m3": 0.2, "left_m3": 0.01,
                   "water_m3": 0.18}],
        "sides": [seasons.side(part["surface"], run["name"], wet_m3=0.1, mix_m3=part["mix_m3"] * 1.1, dwell_s=500.0,
                               rinse_m3=0.2)],
        "lots": [{"lot": "drum", "test": test, "on_hand_m3": 0.1, "on_hand_kg": None}],
        "flush": {"residual_mg_per_l": 2.0, "ph": 7.0},
    }  # fmt: skip


def places(content: Any) -> Iterator[tuple[Any, Any]]:
    """Every container of a JSON value with each of its keys."""
    for key in list(content) if isinstance(content, dict) else range(len(content)):
        yield content, key
        if isinstance(content[key], dict | list) and content[key]:
            yield from places(content[key])


def mutated(content: Any, dice: random.Random) -> str:
    """The JSON with one to three of its values gone or of another kind, or its text cut short."""
    altered = copy.deepcopy(content)
    for _ in range(dice.choice((1, 1, 2, 3))):
        container, key = dice.choice(list(places(altered)))
        if dice.random() < 0.4:
            del container[key]
        else:
            container[key] = copy.deepcopy(dice.choice(ODD))
        if not altered:
            break
    text = json.dumps(altered)
    if dice.random() < 0.06:
        return dice.choice((text[: dice.randrange(len(text))], "[" * 5000, "null", "3", '"words"', ""))
    return text


def keep(archive: Opened, job: str, plan_text: str, record_text: str) -> None:
    """Rows as they stand, whatever is in them."""
    name = hash_of(job)
    with archive.writing() as connection:
        connection.execute(
            insert(PLANS).values(sha256=name, job=job, number="aaaa-0001", json=plan_text, program="0", at=now())
        )
        connection.execute(
            insert(RECORDS).values(
                job=job,
                revision=1,
                plan=name,
                plan_number=None,
                content="0",
                json=record_text,
                source="by hand",
                at=now(),
            )
        )


def with_sound(archive: Opened, plan: dict[str, Any], count: int = 3) -> list[str]:
    jobs = [f"2026-03-0{number + 1}/10-sound" for number in range(count)]
    for job in jobs:
        keep(archive, job, json.dumps({**plan, "id": job}), json.dumps(whole_record(plan, job)))
    return jobs


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["compare", *words])
    said = capsys.readouterr()
    return code, said.out, said.err


@pytest.mark.parametrize("rounds", [15, *(pytest.param(n, marks=pytest.mark.ci) for n in (30, 200))])
@pytest.mark.ci
def test_nothing_in_an_archive_keeps_the_sound_jobs_from_being_compared(
    rounds: int,
    plan: dict[str, Any],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")
    seasons.plan_of(tmp_path)
    dice = random.Random(20260310)
    with opened(None, tmp_path) as archive:
        sound = with_sound(archive, plan)
        _, alone, _ = told(capsys, str(tmp_path), "--json")
        before = {one["job"]: one for one in json.loads(alone)["jobs"]}
        for number in range(rounds):
            job = f"2026-04-{number % 30 + 1:02}/{number:03}-odd"
            record = whole_record(plan, job)
            texts = [json.dumps({**plan, "id": job}), json.dumps(record)]
            for which in dice.choice(((0,), (1,), (0, 1))):
                texts[which] = mutated(json.loads(texts[which]), dice)
            keep(archive, job, *texts)
    for words in ((), ("--json",), ("-o", str(tmp_path / "out")), ("--apply",), ("--since", "2026-04-01")):
        code, out, err = told(capsys, str(tmp_path), *words)
        assert code == 2, (words, err[-400:])
        assert "compare.plan" in err
        assert "compare.record" in err
        assert "Traceback" not in out + err
    code, out, err = told(capsys, str(tmp_path), "--json")
    whole = json.loads(out)
    after = {one["job"]: one for one in whole["jobs"]}
    assert {job: after[job] for job in sound} == before
    named = {fault["where"]["path"] for fault in whole["faults"]}
    assert not named & set(after), "a job is compared or named, never both"
    assert len(named) + len(after) == rounds + len(sound), "and none is lost"
    assert len(named) > rounds / 4
    for job in sorted(after)[:: 1 + len(after) // 40]:
        assert told(capsys, str(tmp_path / job))[0] == 0
    code, _, err = told(capsys, str(tmp_path / sorted(named)[0]))
    assert code == 2
    assert "compare.nothing" not in err


@pytest.mark.ci
def test_a_broken_plan_and_a_broken_record_are_named_for_what_they_are(
    plan: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")
    seasons.plan_of(tmp_path)
    with opened(None, tmp_path) as archive:
        with_sound(archive, plan, 1)
        for job, half in (("2026-05-01/10-plan", 0), ("2026-05-02/10-record", 1)):
            texts = [{**plan, "id": job}, whole_record(plan, job)]
            texts[half]["runs" if half == 0 else "readings"] = [{"name": "front", "run": "front"}]
            keep(archive, job, *map(json.dumps, texts))
    code, out, err = told(capsys, str(tmp_path))
    assert code == 2
    assert "2026-03-01/10-sound" in out
    assert "archive.db: 2026-05-01/10-plan: compare.plan the archived plan" in err
    assert "archive.db: 2026-05-02/10-record: compare.record its archived record" in err
    assert "print the job's packet again and then record the job again" in err
    assert ":1:1" not in err


@pytest.mark.ci
def test_a_correction_that_cannot_be_read_is_named_and_the_others_are_listed(
    plan: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")
    seasons.plan_of(tmp_path)
    with opened(None, tmp_path) as archive:
        with_sound(archive, plan)
        assert told(capsys, str(tmp_path), "--apply")[0] == 0
        there = len(kept_corrections(archive))
        assert there
        with archive.writing() as connection:
            connection.execute(
                insert(CORRECTIONS).values(
                    sha256="0", about="pumps/x", key="condition", value=None, json='{"about": 3}', at=now()
                )
            )
        assert len(kept_corrections(archive)) == there
    code, out, _ = told(capsys, str(tmp_path), "--json")
    (fault,) = json.loads(out)["faults"]
    assert (code, fault["code"], fault["where"]["path"]) == (2, "compare.correction", "pumps/x")


def test_what_is_left_unread_of_plans_changes_nothing(plan: dict[str, Any], place: Place) -> None:
    with opened(place.address, place.folder) as archive:
        with_sound(archive, plan)
        first = compared(pairs(archive), all_jobs=True)
        slim = {key: value for key, value in plan.items() if key not in LEFT_OUT}
        with archive.writing() as connection:
            connection.execute(update(PLANS).values(json=json.dumps(slim)))
        assert compared(pairs(archive), all_jobs=True) == first
        assert all(not set(LEFT_OUT) & set(pair.plan or ()) for pair in pairs(archive))
    assert first.jobs[0].found


@pytest.mark.ci
def test_more_jobs_than_are_read_in_one_go_come_each_once_and_in_order(plan: dict[str, Any], place: Place) -> None:
    record = seasons.empty_record(plan)
    with opened(place.address, place.folder) as archive, archive.writing() as connection:
        for number in range(450):
            for revision in (1, 2) if number % 7 == 0 else (1,):
                row = {**record, "job": f"2026-03-02/{number:03}-a", "signed": f"{revision}"}
                connection.execute(
                    insert(RECORDS).values(
                        job=row["job"], revision=revision, plan=None, plan_number=None, content="0",
                        json=json.dumps(row), source="by hand", at=now(),
                    )
                )  # fmt: skip
    with opened(place.address, place.folder) as archive:
        found = list(pairs(archive))
    assert [pair.job for pair in found] == [f"2026-03-02/{number:03}-a" for number in range(450)]
    assert all(pair.record["signed"] == str(pair.revision) for pair in found)
    assert sum(pair.revision == 2 for pair in found) == len(range(0, 450, 7))
