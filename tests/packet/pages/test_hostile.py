"""What anybody may write anywhere prints as itself, and opens nothing.

The places are found by walking the models of every file, so that a key added tomorrow is tried tomorrow.
"""

from __future__ import annotations

import builtins
import os
import re
import typing
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.days.prepare import Trouble, checked_jobs, days_of, loaded
from planner.inputs.models import Company, Day, Job, Rig, Stock, SurfaceTable, YardJob
from planner.inputs.models.base import Written
from planner.inputs.models.quantities import Reads
from planner.packet.book import notice
from tests import workspaces
from tests.packet.mixing import texts
from tests.packet.printing import day_packet, job_packet, owner_book
from tests.packet.reading import problems

FILES = (Company, Stock, SurfaceTable, Day, Job, Rig, YardJob)
WORKSPACE = """
company: {name: firm one, units: us, phones: {poison: phone one, boss: phone two}, archive: store one, transport: "papers carried, drivers trained"}
surfaces:
  surfaces:
    - {kind: face one, material: vinyl, family: wall, chemical: bleach, strength: [0.5 trade %, 1.5 trade %], dwell: [5 min, 10 min],
       wet: 0.01 gal/ft2, apply: 100 ft2/min, rinse: 0.12 gal/ft2, section: 600 ft2, note: lore one, source: book one}
stock:
  lots:
    - {name: acid one, chemical: muriatic, strength: 31.45 wt %, on_hand: 5 gal}
    - {name: bicarb, chemical: bicarbonate, on_hand: 60 lb}
    - {name: drum one, chemical: bleach, strength: 12.5 trade %, made: 2026-06-01, kept_at: cool, on_hand: 60 gal}
    - {name: suds one, chemical: soap, on_hand: 4 gal, bleach_stable: true}
rig:
  rig: rig one
  tanks:
    - {name: tank one, floor: 2 ft, volume: 275 gal}
    - {name: tank two, floor: 0 ft, volume: 50 gal, holds: mix, dead_volume: 1 gal, wetted: [plastic]}
  pumps:
    - {name: pump one, kind: centrifugal, curve: [[0 gpm, 70 psi], [8 gpm, 58 psi], [16 gpm, 31 psi]], height: 2 ft,
       max_pressure: 200 psi, wetted: [plastic], motor: {power: 0.75 hp, volts: 115, cord: {gauge: 12 AWG, length: 50 ft}}}
    - {name: pump two, kind: diaphragm, curve: [[0 gpm, 80 psi], [5.5 gpm, 0 psi]], cut_off: 60 psi, height: 0 ft, dedicated: bleach}
  hoses:
    - {name: hose one, bore: 3/4 in, length: 100 ft, rated: 200 psi, couplings: [brass]}
    - {name: hose two, bore: 1/2 in, length: 50 ft, rated: 200 psi}
  tips:
    - {name: tip one, pattern: solid, orifice: 1/4 in}
    - {name: tip two, pattern: fan, flow: 5 gpm, at: 40 psi}
    - {name: tip three, pattern: surface_cleaner, size: 7}
  dosing:
    - {name: panel one, kind: metered, pump: pump one, dial: [[1, 4 %], [2, 9 %], [3, 16 %]]}
  setups:
    - {name: way one, pump: pump one, feed: tank one, dosing: panel one, hoses: [hose one], tip: tip one, on_reel: 0 ft,
       rinse_tip: tip two, cleaner: tip three}
  carried: {eyewash: 6 gal}
  power: {generator: 3500 W, gfci: true, volts: 120}
  supply_hose: {bore: 3/4 in, length: 25 ft, backflow: air_gap}
day: {rig: rig one, crew: [hand one, hand two], leave_yard: "07:00", forecast: {low: 58 F, high: 78 F, wind: 12 mph}}
job:
  job: job one
  site: {address: place one, contact: person one, notes: note one}
  building: {height: 20 ft}
  surfaces:
    - {name: wall one, kind: face one, width: 40 ft, height: 18 ft, notes: look one, trim: [aluminium]}
    - {name: wall two, kind: vinyl, area: 300 ft2, side: side one}
  hose_runs:
    - {name: line one, pump: pump one, feed: tank one, dosing: panel one, hoses: [hose one], tip: tip one, target: 20 ft,
       surfaces: [wall one]}
    - {name: line two, pump: pump two, feed: tank two, dosing: premix, hoses: [hose two], tip: tip two, target: 8 ft,
       surfaces: [wall two]}
  chemicals: [{stock: drum one, strength: 1 %}, {stock: suds one, dose: 1 fl oz/gal}]
  near: {flower_beds: 100 ft2, storm_drain: 40 ft, fish_pond: 30 ft, control: drain_cover}
  access: {power_line: 24 ft}
  water: {source: tap, static: 60 psi, flow_test: {flow: 8 gpm, pressure: 40 psi}, backflow: air_gap}
  accept: [{finding: weather.wind, about: line one, reason: reason one, by: person two}]
yard: {job: bench one, kind: yard, pump: pump one, work: descale, tub: 5 gal, bath: 10 vol % muriatic, notes: word one,
       replace: [part one], spacers: [ring one], kept_out: [aluminium]}
"""
FREE = re.compile(r"[a-z]+ (one|two)|boss")
"""What is somebody's own words in the workspace above."""
ELSEWHERE = {
    "Setup": "names of gear, as in a hose run", "HoseSize": "a hose written in place: printed as a rig's hose is",
    "WallBefore": "a chemical of the table", "Heel": "a chemical of the table, or a lot",
    "Job.like": "the name of an earlier file", "Job.rig": "the day's rig", "Job.setup": "the name of a setup",
    "YardJob.like": "the name of an earlier file", "YardJob.rig": "the day's rig",
    "YardJob.setup": "the name of a setup",
    "Pump.dedicated": "a chemical of the table", "Pump.draws": "the name of a tank",
    "Tank.holds": "water, mix or a stock", "Accept.finding": "a finding's code", "Company.limits": "a quantity",
    "Company.branch": "whose part of the archive it is: in the JSON only",
    "Company.transport": "papers and training, by words of a table",
    "Service": "on the day's cover once it is due, see tests/office", "RigPower.beside": "the name of a pump", "HoseRun.same_time": "the name of a run", "Lot.cost": "never printed",
    "ChemicalUse.reason": "why a strength stands outside the table: in the JSON only",
    "ChemicalUse.surfaces": "the name of a surface",
}  # fmt: skip
"""Keys that take text but whose text must be something else's own, or is never printed, and why."""


def free_texts(model: type[Written], seen: set[type] | None = None) -> typing.Iterator[tuple[str, str]]:
    """Every key of a model, and of the models in it, that takes whatever is written."""
    seen = set() if seen is None else seen
    if model in seen:
        return
    seen.add(model)
    for name, field in model.model_fields.items():
        parts = list(_parts(field.annotation)) + list(field.metadata)
        if any(isinstance(part, Reads) and part.kinds == (str,) for part in parts):
            yield model.__name__, name
        for part in parts:
            if isinstance(part, type) and issubclass(part, Written):
                yield from free_texts(part, seen)


def _parts(annotation: typing.Any) -> typing.Iterator[typing.Any]:
    yield annotation
    for part in (*typing.get_args(annotation), *getattr(annotation, "__metadata__", ())):
        yield from _parts(part)


def changed(part: typing.Any, mark: typing.Callable[[int], str], seen: dict[str, str]) -> typing.Any:
    """The workspace with somebody's own words replaced, the same words by the same."""
    if isinstance(part, dict):
        return {changed(key, mark, seen): changed(value, mark, seen) for key, value in part.items()}
    if isinstance(part, list):
        return [changed(one, mark, seen) for one in part]
    if isinstance(part, str) and FREE.fullmatch(part):
        return seen.setdefault(part, mark(len(seen)))
    return part


def harmless(number: int) -> str:
    return f"word K{number:02d}Q"


def hostile(number: int) -> str:
    return f'<b src="e">&amp;{{{{7*7}}}}%s K{number:02d}Q'


def dump(path: Path, part: Any) -> None:
    path.write_text(yaml.safe_dump(part, sort_keys=False, allow_unicode=True), encoding="utf-8")


Printed = tuple[dict[str, str], list[tuple[str, bytes]]]


@lru_cache(maxsize=2)
def printed(folder: Path, mark: Callable[[int], str]) -> Printed:
    """What each of somebody's words became, and every file that is printed of the workspace."""
    seen: dict[str, str] = {}
    files = changed(workspaces.as_written(WORKSPACE), mark, seen)
    day = workspaces.write(folder, files).parent
    dump(folder / "surfaces.yaml", files["surfaces"])
    dump(day / "05-yard.yaml", files["yard"])
    read = loaded([str(day)])
    assert not read.faults, "\n".join(str(fault) for fault in read.faults)
    trouble = Trouble(faults=[])
    jobs = list(checked_jobs(read, trouble))
    assert not trouble.faults
    made = [(job.plan.kind, job_packet(job, paper="letter", system="us")) for job in jobs]
    made += [("owner", owner_book(job, paper="letter", system="us").pdf) for job in jobs]
    made += [("day", day_packet(plan, of_day, paper="letter", system="us")) for plan, of_day in days_of(read, jobs)]
    made += [("notice", notice(job, paper="letter", system="us")) for job in jobs if job.plan.kind == "wash"]
    return seen, made


def closed(text: str) -> str:
    """A text without its spaces and capitals: lines break anywhere, and a line begins with a capital."""
    return re.sub(r"\s", "", text).casefold()


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Printed:
    return printed(tmp_path_factory.mktemp("plain"), harmless)


@pytest.fixture(scope="module")
def attacked(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, str], list[tuple[str, bytes]], list[str]]:
    opened: list[str] = []

    def watched(really: Callable[..., Any]) -> Callable[..., Any]:
        def opens(file: Any, *rest: Any, **keys: Any) -> Any:
            opened.append(str(file))
            return really(file, *rest, **keys)

        return opens

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(builtins, "open", watched(open))
        patch.setattr(os, "open", watched(os.open))
        made = printed(tmp_path_factory.mktemp("attacked"), hostile)
    return (*made, opened)


def test_every_key_that_takes_words_is_written_in_the_workspace_or_has_its_reason() -> None:
    given = workspaces.as_written(WORKSPACE)
    keys = set(_keys(given))
    for model in FILES:
        for owner, name in free_texts(model):
            if owner not in ELSEWHERE and f"{owner}.{name}" not in ELSEWHERE:
                assert name in keys, f"{owner}.{name} takes words: write it in the workspace of this test"


def _keys(part: typing.Any) -> typing.Iterator[str]:
    if isinstance(part, dict):
        for key, value in part.items():
            yield key
            yield from _keys(value)
    elif isinstance(part, list):
        for one in part:
            yield from _keys(one)


@pytest.mark.ci
def test_whatever_is_printed_of_somebodys_words_is_printed_as_they_wrote_it(plain: Any, attacked: Any) -> None:
    names, sheets = plain
    hostile_names, hostile_sheets, _ = attacked
    looked_at = 0
    for (kind, before), (same, after) in zip(sheets, hostile_sheets, strict=True):
        assert kind == same
        was, now = closed(" ".join(texts(before))), closed(" ".join(texts(after)))
        for word, name in names.items():
            if closed(name) in was:
                looked_at += 1
                assert closed(hostile_names[word]) in now, f"{word} on the {kind}"
    assert looked_at > 40


@pytest.mark.ci
def test_what_is_never_printed_is_known(plain: Any) -> None:
    names, sheets = plain
    whole = closed(" ".join(" ".join(texts(pdf)) for _, pdf in sheets))
    unprinted = {word for word, name in names.items() if closed(name) not in whole}
    assert unprinted == {"store one", "lore one", "book one"}, unprinted


@pytest.mark.ci
def test_somebodys_words_open_nothing_run_nothing_and_lead_nowhere(attacked: Any) -> None:
    _, sheets, opened = attacked
    assert not [name for name in opened if os.path.basename(name) == "e" or ("7*7" in name and "rigs" not in name)]
    for _, pdf in sheets:
        for word in (b"/URI", b"/Launch", b"/JavaScript", b"/GoToR", b"/SubmitForm"):
            assert word not in pdf
        assert "49%s" not in " ".join(texts(pdf))


@pytest.mark.ci
def test_somebodys_words_break_no_page(attacked: Any) -> None:
    for kind, pdf in attacked[1]:
        assert problems(pdf, "letter") == [], kind
