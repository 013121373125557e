"""Whatever is answered, the file loads without a fault and means what was answered."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.commands.start import copy_demo
from planner.inputs.reading.letters import hidden, lost
from planner.inputs.reading.tree import parse_tree
from planner.inputs.shelf import Desk
from planner.inputs.workspace import load
from planner.interview.answers import Here, here_of, next_number, pick, slug
from planner.interview.asking import Asking, Unfit, Walk
from planner.interview.questions import whole
from planner.interview.surfaces import size_of
from planner.interview.text import Written, file_text
from planner.units import read as quantity
from tests.sampled import examples

FOOT, GALLON = 0.3048, 0.003785411784

# What can be typed on one line and an editor shows; an answer has no spaces at its ends.
LINE = st.text(
    st.characters(exclude_categories=["Cc", "Cf", "Cs", "Zl", "Zp", "Co", "Cn"])
    | st.sampled_from("'\":#{}[],&*!|>%@`-?~"),
    min_size=1,
    max_size=60,
).map(lambda text: " ".join(text.split()))
WORDS = LINE.filter(lambda text: text and text.casefold() not in ("back", "stop", "?", "-"))
NAMES = WORDS.filter(lambda text: not lost(text) and not hidden(text))
FEET = st.integers(2, 60)


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Here:
    folder = tmp_path_factory.mktemp("asked") / "ws"
    copy_demo(folder)
    found = here_of(str(folder / "2026-06-12"), None)
    assert isinstance(found, Here)
    return found


def _walked(walk: Walk[Written], answers: Mapping[str, str]) -> Written:
    """The end of a walk on which every question not named is left empty."""
    try:
        question = next(walk)
        while True:
            text = answers.get(question.key, "")
            assert text or question.blank is not None, question.key
            question = walk.send(question.read(text) if text else None)
    except StopIteration as done:
        made: Written = done.value
        return made


@st.composite
def _walls(draw: st.DrawFn) -> list[tuple[str, str, float]]:
    """Kind, size as typed, and gross area in ft2."""
    width, height, count = draw(FEET), draw(FEET), draw(st.integers(1, 4))
    unit = draw(st.sampled_from(["", " ft", "ft", "'"]))
    cross = draw(st.sampled_from([" x ", "x" if unit != " ft" else " × ", " by "]))
    wall = draw(st.sampled_from(["vinyl", "Stucco", "painted wood", "1", "brick"]))
    ways = [
        (wall, f"{width}{unit}{cross}{height} ft", 1.0 * width * height),
        (wall, f"{width} ft around x {height}", 1.0 * width * height),
        (wall, f"{width} round x {height}", 1.0 * width * height),
        (wall, f"all around {width} x {height}ft", 1.0 * width * height),
        (wall, f"{count} gables {width}{cross}{height}{unit}", 0.5 * count * width * height),
        (wall, f"{100 * width:,} ft2", 100.0 * width),
        (wall, f"{width}", 1.0 * width),
        ("concrete", f"{width}{cross}{height}{unit}", 1.0 * width * height),
        ("asphalt", f"{width} squares", 100.0 * width),
        ("clay tile", f"{width}{cross}{height}{unit} pitch 12/12", 2**0.5 * width * height),
    ]
    return [ways[at] for at in draw(st.lists(st.integers(0, len(ways) - 1), min_size=1, max_size=4))]


@settings(max_examples=examples(40), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    title=WORDS,
    contact=WORDS,
    name=NAMES,
    walls=_walls(),
    height=st.integers(60, 90),
    uphill=st.integers(-9, 9),
    bucket=st.integers(20, 200),
    beds=st.integers(1, 3000),
    drain=FEET,
    line=FEET,
    crew=st.integers(1, 9),
    heel=st.integers(1, 20),
)
@pytest.mark.ci
def test_the_loaded_job_is_what_was_answered(here: Here, tmp_path_factory: pytest.TempPathFactory, **said: Any) -> None:
    walls = said["walls"]
    answers = {
        "crew": str(said["crew"]),
        "heel roof mix": f"{said['heel']}",
        "heel roof mix strength": "3",
        "job": said["title"],
        "address": "1 Nowhere",
        "site contact": said["contact"],
        "height": str(said["height"]),
        "surface 1 name": said["name"],
        "setup": "1",
        "uphill": str(said["uphill"]),
        "water bucket": str(said["bucket"]),
        "power line": f"{said['line']} ft",
        "near": f"{said['beds']:,} ft2 beds, storm drain {said['drain']}",
    }
    for number, (kind, size, _) in enumerate(walls, 1):
        answers |= {f"surface {number}": kind, f"surface {number} size": size}
    made = _walked(whole(here), answers)
    folder = tmp_path_factory.mktemp("written") / "ws"
    copy_demo(folder)
    day = folder / "2026-06-12"
    day.mkdir()
    assert made.page is not None
    (day / "day.yaml").write_text(made.page, encoding="utf-8")
    (day / made.file.name).write_text(made.text, encoding="utf-8")
    read = load([day])
    assert read.faults == (), made.text
    (job,) = read.jobs
    assert job.title == said["title"]
    assert job.job.site.contact == said["contact"]
    assert job.job.building is not None
    assert job.job.building.height == pytest.approx(said["height"] * FOOT)
    assert job.surfaces[0].name == said["name"]
    assert [one.area for one in job.surfaces] == pytest.approx([area * FOOT**2 for *_, area in walls])
    assert [one.uphill for one in job.runs] == pytest.approx([said["uphill"] * FOOT])
    assert job.water.test_flow == pytest.approx(5 * GALLON / said["bucket"])
    assert job.job.access is not None
    assert job.job.access.power_line == pytest.approx(said["line"] * FOOT)
    assert job.job.near is not None
    assert job.job.near.flower_beds == pytest.approx(said["beds"] * FOOT**2)
    assert job.job.near.storm_drain == pytest.approx(said["drain"] * FOOT)
    assert job.day is not None
    assert job.day.crew is not None
    assert job.day.crew.count == said["crew"]
    assert job.day.heels["roof mix"].volume == pytest.approx(said["heel"] * GALLON)


@given(
    st.dictionaries(WORDS, WORDS | st.lists(WORDS, min_size=1) | st.dictionaries(WORDS, WORDS, min_size=1), min_size=1)
)
@settings(max_examples=examples(150), deadline=None)
@pytest.mark.ci
def test_what_is_written_reads_back_as_it_was(raw: dict[str, Any]) -> None:
    tree = parse_tree(file_text({f"key_{n}": value for n, value in enumerate(raw.values())}, "#", None).encode(), "f")
    assert tree.faults == ()
    assert tree.root is not None
    assert list(tree.root.plain().values()) == list(raw.values())


@pytest.mark.ci
@given(st.text(max_size=80))
@settings(max_examples=examples(150), deadline=None)
def test_any_size_is_read_or_refused_in_words(here: Here, text: str) -> None:
    rows = here.desk.rows
    assert rows is not None
    for kind in ("vinyl", "concrete", "asphalt_shingle"):
        told: tuple[tuple[str, str], ...] = (("read", "as it stands"),)
        try:
            size_of(text, rows[kind], "us")
        except Unfit as unfit:
            told = unfit.told
        assert all(message and remedy for message, remedy in told)


@pytest.mark.parametrize(
    ("text", "width", "height"),
    [("35ftx9ft", 35, 9), ("2ftx2 ft", 2, 2), ("35ft x9ft", 35, 9), ("35 ftx 9", 35, 9), ("35ft×9ft", 35, 9),
     ("35'x9'", 35, 9), ("35x9'", 35, 9), ("35FTX9FT", 35, 9), ("10mx3m", 10 / FOOT, 3 / FOOT),
     ("10 m x3", 10 / FOOT, 3 / FOOT), ("420inx.5ft", 35, 0.5)],
)  # fmt: skip
def test_a_cross_close_up_to_a_unit_is_a_cross(here: Here, text: str, width: float, height: float) -> None:
    rows = here.desk.rows
    assert rows is not None
    for system in ("us", "si"):
        found = size_of(text, rows["vinyl"], system)
        sides = [quantity(found[side], "length") for side in ("width", "height")]
        assert sides == pytest.approx([width * FOOT, height * FOOT])


def test_asking_again_from_kept_answers_comes_to_the_same(here: Here, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = {"crew": "2", "leave yard": "", "forecast low": "58 F", "forecast high": "warm", "forecast wind": "7 mph"}
    asking = Asking(answers=dict(kept))
    typed = itertools.chain(["80 F", "", "stop"])
    monkeypatch.setattr("builtins.input", lambda prompt: next(typed))
    with pytest.raises(Exception, match="stop"):
        asking.through(lambda: whole(here))
    assert asking.answers == {**kept, "forecast high": "80 F"}, "what no longer fits is asked, the rest offered again"


@pytest.mark.parametrize(
    ("text", "meant"),
    [("2", "roof mix"), ("Roof Mix", "roof mix"), ("roof", "roof mix"), ("mix", "roof mix"), ("tile", None), ("r", None),
     ("clay", "clay_tile"), ("painted wood", None), ("0", None), ("9", None), ("²", None)],
)  # fmt: skip
def test_a_name_may_be_said_shortly_but_never_guessed(text: str, meant: str | None) -> None:
    assert pick(text, ["water", "roof mix", "clay_tile", "concrete_tile"]) == meant


def test_a_file_is_named_by_the_job_and_numbered_after_the_days_last(tmp_path: Path) -> None:
    assert slug("Boathouse, lake side & the rest of it") == "boathouse-lake-side-the"
    assert slug("!!!") == "job"
    assert next_number(tmp_path) == 10
    for name in ("10-a.yaml", "34-b.yaml", "90-pump.yaml"):
        (tmp_path / name).write_text("", encoding="utf-8")
    assert next_number(tmp_path) == 40
    assert next_number(tmp_path, yard=True) == 100


def test_units_follow_the_company_unless_asked_otherwise(here: Here) -> None:
    assert here.system == "us"
    assert isinstance(here.desk, Desk)
    found = here_of(str(here.workspace / "2026-06-12"), "si")
    assert isinstance(found, Here)
    assert found.system == "si"
