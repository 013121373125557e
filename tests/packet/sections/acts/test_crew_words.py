"""What the crew is told in words and totals that two pages share: water in all, hose laid out, what is waited for."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
import yaml

from planner.locate import data_file, templates
from planner.packet.blocks import Span, Step, walked
from planner.packet.html import twin
from planner.packet.sections.acts.framing import cautions_of
from planner.plan.procedure.acts import Drain, Fill, Pour, WaterBed
from planner.words.figures import lines_laid
from planner.words.spelling import spelled
from tests.packet import printing
from tests.packet.figures.jobs import DEMO, SANITY, book_of, job_of
from tests.packet.sections.acts.test_acts import said
from tests.packet.sections.acts.test_agreeing import GALLON
from tests.packet.sections.acts.test_calls import drawn
from tests.packet.sections.acts.test_pours import amount

WASHED = tuple(name for name in DEMO if not name.endswith(("09/30-kiln", "90-booster")))


def steps_of(name: str) -> list[Step]:
    """The steps of a job's crew pages in their order."""
    return [one for page in book_of(name, "us").sections for one in walked(page.blocks) if isinstance(one, Step)]


@pytest.mark.parametrize("name", WASHED)
def test_water_in_all_covers_what_the_acts_take_of_the_tap(name: str) -> None:
    plan = job_of(name).plan
    assert plan.procedure is not None
    taken = [
        act.detail.volume
        for act in plan.procedure.acts
        if isinstance(act.detail, (Fill, WaterBed)) and act.detail.source == "tap"
    ]
    assert plan.water.most >= sum(taken) - 1e-9
    assert plan.water.most >= plan.water.need


# ------------------------------------------------------------------------------------------------ spelling

ELSEWHERE = re.compile(
    r"alumini|galvanis|neutralis|anodis|colour|\bgrey|fibre|\bmetres?\b|lit(?:re|res)\b|fuell|centre|mould|odour|vapour"
    r"|neighbour|favour|behaviour|labell|travell|cancell|organis|recognis|licence|plough|sulph|\btowards\b|whilst|nought",
    re.IGNORECASE,
)
"""Spellings of elsewhere that no page of a company in US units prints."""
RANDOM = tuple(pytest.param(f"drawn {seed}", marks=pytest.mark.ci) for seed in (0, 5, 28, 52, 58))


@pytest.mark.parametrize("name", [*DEMO, *SANITY, *RANDOM])
def test_a_page_in_us_units_is_spelled_as_in_the_united_states(name: str) -> None:
    checked = job_of(name) if name in (*DEMO, *SANITY) else drawn(int(name.split()[1]))
    text = re.sub(r"<[^>]+>", " ", twin(printing.worded(checked)).decode())
    assert not [text[found.start() - 30 : found.end() + 10] for found in ELSEWHERE.finditer(text)]


@pytest.mark.ci
def test_no_sentence_or_row_of_ours_that_is_printed_is_spelled_as_elsewhere() -> None:
    """Of the words that a page may print: templates, findings, acts, hazards. Their sources and keys are not printed."""
    odd = []
    for path in sorted(templates().glob("*.md")):
        text = re.sub(r"\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}|@\w+", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        odd += [f"{path.name}: {found[0]}" for found in ELSEWHERE.finditer(text)]
    for name in ("findings", "acts", "hazards"):
        for key, text in told(yaml.safe_load(data_file(f"{name}.yaml").read_text(encoding="utf-8"))):
            said = re.sub(r"\{\w+(?::\w+)?\}", "", text)
            odd += [f"{name} {key}: {text}" for _ in ELSEWHERE.finditer(said)] if key not in KEPT else []
    assert not odd


KEPT = ("source", "key", "covers", "chemical", "verbs", "limits", "name", "gas")


def told(part: object, key: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a table with the key it is under."""
    if isinstance(part, dict):
        for name, value in part.items():
            yield from told(value, str(name))
    elif isinstance(part, list):
        for value in part:
            yield from told(value, key)
    elif isinstance(part, str):
        yield key, part


def test_words_of_tables_are_spelled_by_the_units_and_names_are_left_alone() -> None:
    assert spelled("No aluminium, galvanised steel", "us") == "No aluminum, galvanized steel"
    assert spelled("aluminum, zinc", "si") == "aluminium, zinc"
    assert spelled("Aluminium", "us") == "Aluminum"


# ------------------------------------------------------------------------------------------------ steps told as one


def test_two_steps_told_as_one_keep_both_cautions_and_say_the_same_once() -> None:
    def step(*words: str) -> Step:
        return Step(spans=(Span(text="Do it."),), caution=tuple(Span(text=one) for one in words) or None)

    mind, open_air = step("Mind the dust."), step("Open air only.")
    both = cautions_of(mind, open_air)
    assert both is not None
    assert "".join(span.text for span in both) == "Mind the dust. Open air only."
    assert cautions_of(mind, step()) == cautions_of(step(), mind) == cautions_of(mind, mind) == mind.caution
    assert cautions_of(step(), step()) is None


@pytest.mark.ci
def test_a_flushed_pail_says_how_much_goes_in_and_what_its_strip_must_read() -> None:
    (step,) = [one for one in steps_of("2026-06-10/90-booster") if "thiosulfate" in said(one)]
    assert re.search(r"Stir \d+ oz of thiosulfate, lot thio into each of pails 1 and 2", said(step))
    assert (
        "".join(span.text for span in step.caution or ())
        .replace("\u00a0", " ")
        .endswith("Wait 5 min, then a strip must read chlorine 1 mg/L or less.")
    )


# ------------------------------------------------------------------------------------------------ one figure


@pytest.mark.parametrize("name", WASHED)
def test_hose_told_to_lay_out_is_that_of_the_lines_that_are_joined(name: str) -> None:
    runs = job_of(name).plan.input.runs
    hoses = {hose.name: hose.length for run in runs for hose in run.hoses}
    told = [one for one in steps_of(name) if said(one).startswith("Lay out ")]
    feet = math.fsum(float(re.search(r"Lay out (\d+) ft", said(one))[1]) for one in told)
    left = sum(line.on_reel for line in lines_laid(runs))
    assert feet == pytest.approx((sum(hoses.values()) - left) / 0.3048, abs=1.0)


def test_runs_of_one_hose_are_laid_out_once_and_apart_where_they_have_none_in_common() -> None:
    (flat,), plinth = (job_of(f"2026-06-10/{name}").plan.input.runs for name in ("10-slipway", "30-kiln-acid"))
    slipway = (flat, replace(flat, name="drain"))
    assert [(line.name, round(line.laid / 0.3048)) for line in lines_laid(slipway)] == [("flat, drain", 100)]
    assert [round(line.laid / 0.3048) for line in lines_laid(plinth)] == [50, 150]
    near, far = (replace(run, on_reel=feet * 0.3048) for run, feet in zip(slipway, (40.0, 10.0), strict=True))
    assert [round(line.laid / 0.3048) for line in lines_laid([near, far])] == [90], "as far as the farther wall"


def test_what_the_closed_pump_gets_to_is_one_figure_on_every_page() -> None:
    text = re.sub(r"<[^>]+>", " ", twin(book_of("2026-06-10/10-slipway", "us")).decode()).replace("\u00a0", " ")
    assert "3,000 psi" in text
    assert "3,050" not in text


def test_water_is_told_as_more_only_where_something_is_in_the_tank() -> None:
    assert "Fill the acid bucket tank: 4 7/8 gal of water." in map(said, steps_of("2026-06-10/30-kiln-acid"))
    assert "Fill the roof mix tank: 16 1/2 gal more." in map(said, steps_of("2026-06-09/20-granary"))


# ------------------------------------------------------------------------------------------------ amounts on paper


@pytest.mark.parametrize("name", [*WASHED, "2026-06-10/90-booster"])
def test_an_act_s_step_says_its_amount_and_a_round_s_times_each_their_own(name: str) -> None:
    procedure = job_of(name).plan.procedure
    assert procedure is not None
    known = {act.id: act for act in procedure.acts}
    held = 0
    for step in steps_of(name):
        moved = [known[one].detail for one in step.acts if isinstance(known[one].detail, (Fill, Pour, Drain, WaterBed))]
        volumes = [one.volume for one in moved if one.volume is not None]
        told = [note for _, note in step.rounds] or [said(step)] * len(volumes)
        if not step.rounds and len(set(volumes)) > 1:
            continue  # told by what they have in common
        for words, volume in zip(told, volumes, strict=True):
            figures = [amount(found) for found in re.findall(r"\d[\d /]* (?:gal|fl oz)", words.replace("\u00a0", " "))]
            if figures:
                assert any(abs(one - volume) <= max(0.07 * volume, GALLON / 8) for one in figures), (words, volume)
                held += 1
    assert held >= 2
