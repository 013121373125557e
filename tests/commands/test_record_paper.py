"""What a record's questions ask for is what stands before the boxes on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

import pytest

from planner.checks.model import CheckedJob
from planner.contract.plan import job_json
from planner.contract.record import planned_of, record_json
from planner.days.prepare import Depth, Trouble, checked_jobs, loaded
from planner.inputs.record import joined_record, record_of_text
from planner.packet.blocks import Step, WriteIn
from planner.plan.procedure.totals import jug_tests
from planner.recording.doubts import doubts
from planner.recording.questions import Question, questions
from planner.units import System
from planner.words.jugs import rest
from planner.words.measures import printed, rounded
from tests import workspaces
from tests.packet.builders import written
from tests.packet.mixing import CASES
from tests.packet.printing import worded
from tests.plan.line import test_roles

Part = TypeVar("Part")
JOBS = Path(__file__).parents[2] / "jobs"
MADE = ("wash", "roof", "injected", "three")


@lru_cache(maxsize=1)
def jobs() -> dict[str, CheckedJob]:
    """Every job of the demo, and a few of other gear."""
    demo = checked_jobs(loaded([str(JOBS)]), Trouble(faults=[]), Depth(tables=True))
    made = {case: written(*CASES[case]) for case in MADE}
    metric = {f"{case}, metric": written(*CASES[case], "company: {units: si}") for case in ("wash", "roof")}
    return {job.plan.id: job for job in demo} | made | metric


@lru_cache(maxsize=64)
def asked(name: str, system: System) -> dict[str, tuple[WriteIn, Question]]:
    """Every box of a job's paper that a question asks for too, with it, by key path."""
    checked = jobs()[name]
    plan = job_json(checked, system)
    of = {one.path: one for one in questions(plan, planned_of(plan), system, checked.plan.input.company.percent)}
    runs = {run["name"].replace(" ", "_"): str(n) for n, run in enumerate(plan["runs"], 1)}
    found = {}
    for box in boxes(worded(checked, system=system).sections):
        head, _, rest = box.name.partition(".")
        run, _, key = rest.partition(".")
        path = f"readings.{runs.get(run, run)}.{key}" if head == "readings" else box.name
        if path in of:
            found[path] = (box, of[path])
    return found


def boxes(part: object) -> Iterator[WriteIn]:
    """Every box of blocks, at steps too."""
    yield from every(WriteIn, part)


def every(kind: type[Part], part: object) -> Iterator[Part]:
    """Every block of a kind in blocks, those in others among them."""
    if isinstance(part, kind):
        yield part
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from every(kind, one)
    elif is_dataclass(part):
        for field in fields(part):
            yield from every(kind, getattr(part, field.name))


NAMES = (
    "2026-06-09/10-millrace", "2026-06-09/20-granary", "2026-06-10/10-slipway", "2026-06-10/20-millrace-mid",
    "2026-06-10/30-kiln-acid", "2026-06-10/90-booster", *MADE, "wash, metric", "roof, metric",
)  # fmt: skip
SYSTEMS: tuple[System, ...] = ("us", "si")


@pytest.mark.ci
def test_every_job_of_the_demo_that_has_boxes_is_looked_at() -> None:
    assert {name for name in jobs() if asked(name, "us")} == set(NAMES)


@pytest.mark.ci
@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("name", NAMES)
def test_a_question_has_the_planned_figure_of_its_box_and_takes_a_bare_number_alike(name: str, system: System) -> None:
    found = asked(name, system)
    assert len(found) > 15
    for path, (box, question) in found.items():
        unit = f"{box.lead} {{}} {box.unit}" if box.lead else box.unit
        assert question.unit == unit, path
        if path.endswith(".stock_test"):
            continue  # paper has it as its own label says: `31.45 wt %`
        planned = " ".join(part for part in (box.lead, box.planned, box.unit) if part) if box.planned else ""
        assert question.planned.removeprefix("up to ") == planned, path


@pytest.mark.parametrize(
    ("name", "system", "size"),
    [("2026-06-09/20-granary", "us", "2 gal"), ("wash", "us", "5 gal"), ("wash, metric", "si", "10 L"),
     ("roof, metric", "si", "10 L")],
)  # fmt: skip
def test_a_question_asks_for_the_bucket_that_the_acts_have_timed(name: str, system: System, size: str) -> None:
    _, question = asked(name, system)["readings.1.bucket"]
    assert question.unit == f"{size} in {{}} s"


def test_of_a_surface_cleaner_neither_bucket_nor_throw_is_asked(tmp_path: Path) -> None:
    def asked(checked: CheckedJob) -> list[str]:
        plan = job_json(checked, "us")
        paths = [one.path for one in questions(plan, planned_of(plan), "us")]
        return [path for path in paths if path.endswith((".bucket", ".throw"))]

    assert asked(jobs()["2026-06-10/10-slipway"]) == ["readings.1.bucket", "readings.1.throw"]
    files = test_roles.files({"tip": "spinner"}, chemicals=[])
    for key in ("dosing", "rinse_tip", "cleaner"):
        del files["job"]["hose_runs"][0][key]
    assert asked(workspaces.checked(tmp_path, files)) == []


def odd(name: str, text: str) -> dict[str, str]:
    """What is doubted in a record of a job, by key path."""
    plan = job_json(jobs()[name], "us")
    planned = planned_of(plan)
    read = record_of_text(f"job: {plan['id']}\n{text}", "done.yaml")
    done, faults = joined_record(read, planned)
    assert done is not None, (read.faults, faults)
    return {one.path: one.told() for one in doubts(record_json(done, planned, None, plan["plan"]), plan, "us")}


@pytest.mark.parametrize(
    ("seconds", "doubted"),
    # Planned are 49 s for 2 gal. A 1 gal and a 5 gal bucket, twice and half of it, then a pump worn to seven tenths.
    [(24.5, True), (122.5, True), (98, True), (49, False), (70, False), (40, False)],
)
def test_seconds_of_another_bucket_are_asked_after_and_those_of_a_worn_pump_are_not(
    seconds: float, doubted: bool
) -> None:
    found = odd("2026-06-09/20-granary", f"readings: {{1: {{bucket: 2 gal in {seconds} s}}}}\n")
    assert ("readings.1.bucket" in found) == doubted, found
    if doubted:
        assert "which bucket" in found["readings.1.bucket"]


def test_a_tap_is_held_as_tight_only_where_it_was_tested() -> None:
    plan = job_json(jobs()["wash"], "us")
    flow = 1000 * plan["water"]["tap_m3_per_s"]
    record = {"water": {"used_m3": None, "tap_m3": 0.02, "tap_s": 20.0 / flow / 2.0}}
    times = dict.fromkeys(("arrived_s", "first_mix_s", "flushed_s", "left_s"))
    of: dict[str, Any] = {
        "readings": [],
        "mixes": [],
        "sides": [],
        "times": times,
        "pump": None,
        "cost": None,
        "spent": None,
    }
    of |= {"flush": {"residual_mg_per_l": None, "ph": None}, "signed_at": None}
    for tested in (True, False):
        planned = {**plan, "water": {**plan["water"], "tap_tested": tested}}
        found = {one.path for one in doubts({**of, **record}, planned, "us")}
        assert ("water.tap" in found) == tested


JUGS = (
    "2026-06-09/10-millrace",
    "2026-06-10/10-slipway",
    "2026-06-10/20-millrace-mid",
    "wash",
    "wash, metric",
    "injected",
)


def _should(step: Step) -> str:
    return "".join(span.text for span in step.should).replace("\u00a0", " ")


def fluid(text: str) -> float:
    """An amount of a jug as it stands on paper, in fl oz or mL."""
    number, _, unit = text.replace(",", "").partition(" ")
    return float(number) * (1000.0 if unit == "L" else 1.0)


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("name", JUGS)
def test_what_was_poured_less_what_the_test_draws_is_what_is_left_everywhere_it_is_said(
    name: str, system: System
) -> None:
    checked = jobs()[name]
    procedure = checked.plan.procedure
    assert procedure is not None
    ((jug, (test,)),) = jug_tests(procedure).items()
    (number,) = [n for n, mix in enumerate(checked.plan.mixes, 1) if jug == f"jug {mix.run.name}"]
    amounts = r"([\d.,]+ (?:fl oz|mL|L))"
    steps = list(every(Step, worded(checked, system=system).sections))
    said = " ".join("".join(span.text for span in step.spans).replace("\u00a0", " ") for step in steps)
    start = sum(
        fluid(one)
        for one in re.findall(rf"(?:Pour|Fill the jug[^:]*:) {amounts} (?:of lot \S+ into the jug|of water)", said)
    )
    (read,) = [step for step in steps if "left in the jug" in "".join(span.text for span in step.spans)]
    left, low, high = re.fullmatch(rf"{amounts} \((\S+) to (\S+)\)", _should(read)).groups()
    unit = left.partition(" ")[2]
    down = fluid(" ".join(rounded(test.down, "poured", system)))
    assert fluid(left) == pytest.approx(start - down)
    assert fluid(f"{low} {unit}") < fluid(left) < fluid(f"{high} {unit}") < start + 1e-6
    # The box stands there, and archive and question have the same.
    assert read.write is not None
    assert (read.write.name, f"{read.write.planned} {read.write.unit}") == (f"mixes.{number}.jug_left", left)
    plan = job_json(checked, system)
    kept = plan["mixes"][number - 1]
    ml = 1e-6 if system == "si" else 29.5735295625e-6
    assert kept["jug_left_m3"] == pytest.approx(fluid(left) * ml)
    assert kept["jug_left_between_m3"] == pytest.approx([fluid(f"{one} {unit}") * ml for one in (low, high)])
    back = re.search(rf"Empty {amounts} from the jug into lot", said)
    assert back is None or back[1] == left


def test_a_jug_that_did_not_go_down_is_never_in_order_and_a_full_one_hides_no_test() -> None:
    for down in (0.02e-3, 0.03e-3, 0.2e-3):
        for system in SYSTEMS:
            found = rest([("stock", 9e-3)], down, (0.9 * down, 1.1 * down), system, active=True)
            assert found.between[1] < printed(9e-3, "poured", system, "down") - 1e-9
    assert rest([("stock", 5.3e-3)], 0.35e-3, (0.33e-3, 0.37e-3), "si", active=True).number == "4.9"
    assert rest([("stock", 1.8e-3)], 0.35e-3, (0.33e-3, 0.37e-3), "si", active=True).unit == "L"


def test_a_plan_kept_before_it_had_its_test_is_asked_as_its_paper_was() -> None:
    plan = job_json(jobs()["wash"], "us")
    mix = {**plan["mixes"][0], "jug_left_m3": 20.4 * 29.5735295625e-6}
    del mix["jug_test"]
    old = {**plan, "mixes": [mix]}
    found = {one.path: one.planned for one in questions(old, planned_of(old), "us")}
    assert found["mixes.1.jug_left"] == "21 fl oz"
