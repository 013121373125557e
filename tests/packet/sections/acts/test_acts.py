"""The crew's pages print the acts: each once, in their order, stop points before what they guard, walls as rows."""

from __future__ import annotations

import re
import shutil
from functools import lru_cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest import mock

import pytest

from planner.days.prepare import Trouble, checked_jobs, loaded
from planner.packet import blocks
from planner.packet.blocks import Heading, Hold, Step, Table, walked
from planner.packet.blocks import said as said_of
from planner.packet.book import Book, job_book
from planner.packet.sandbox import TemplateRefused
from planner.packet.sections.acts import acts as paper
from planner.packet.sections.acts import streams
from planner.packet.sections.acts.folding import folded
from planner.packet.sections.acts.framing import turned
from planner.packet.sections.acts.words import spoken_spans
from planner.packet.sections.reading import Reading
from planner.plan.procedure.acts import Act, Fill, Mark, Procedure, Read, Section, Shut, Spray, StopPoint, Wait
from planner.units import System
from planner.words import act_keys as act_words
from planner.words.act_keys import UnknownKey, act_keys, key_of, stop_titles
from planner.words.measures import drawn, gun_open
from tests.acts_read import procedure_of
from tests.packet.builders import job, short
from tests.packet.figures.jobs import DEMO, SANITY, job_of
from tests.packet.printing import owner_worded, unpainted, worded
from tests.packet.reading import texts
from tests.sampled import one_in

PUBLISHED = Path(__file__).resolve().parents[3] / "published"
HOUSE, ROOF = "2026-06-09/10-millrace", "2026-06-09/20-granary"
FILES = {HOUSE: "procedure_house.json", ROOF: "procedure_roof_one_person.json"}
CREW = ("walk_round", "set_up", "mix", "wash", "flush", "grounds")

LOOKS = (
    "walk_round", "vents_shut", "people_clear", "breaker house", "gun house", "dry roof mix", "eyewash", "lot_read",
    "company", "locked", "no_aluminium", "spacers",
)  # fmt: skip
KEYS = {
    "look": LOOKS, "ask": ("customer", "office_knows"), "write": ("photographs", "spacers_written"),
    "wear": ("gloves_goggles", "acid_gloves", "face_shield"),
    "cover": ("drains_covered", "downspouts_bagged", "beds_sheeted", "fittings_taped"),
    "uncover": ("drains_covered", "downspouts_bagged", "beds_sheeted", "fittings_taped"),
    "lay_out": ("hoses", "stages"), "coil": ("red 1",), "strap": ("drums",), "soak": ("stages", "housing"),
    "read": ("dip", "bucket", "gauge_open", "gauge_closed", "wind", "jug_down", "strip_chlorine", "strip_ph", "throw"),
    "state": ("primed", "water_only", "beds_wet", "residual", "power_off", "no_pressure"),
}  # fmt: skip
"""Every key of the contract of acts, by the verbs that take it."""


REAL = streams.procedure_of


@lru_cache(maxsize=2)
def acts_of(name: str) -> Procedure:
    return procedure_of(PUBLISHED / FILES[name])


def given(reading: Reading) -> Procedure | None:
    """The two jobs of the demo whose acts were written out by hand are printed by those."""
    if reading.checked.plan.id in FILES:
        return None if reading.checked.held else acts_of(reading.checked.plan.id)
    return REAL(reading)


@lru_cache(maxsize=4)
def book(name: str, system: System = "us") -> Book:
    with mock.patch.object(paper, "procedure_of", given):
        return unpainted(job_book)(job_of(name), paper="letter" if system == "us" else "a4", system=system)


def sheet(name: str, key: str, system: System = "us") -> blocks.Section:
    return next(section for section in book(name, system).sections if section.key == key)


def crew(name: str) -> list[str]:
    """The pages of the lead that the job has, in their order."""
    keys = {section.key for section in book(name).sections}
    return [key for key in CREW if key in keys and key != "grounds"]


def acts_printed(blocks: Any) -> list[str]:
    """The ids of all acts that blocks print, as often as they do."""
    return [act for block in walked(blocks) for act in getattr(block, "acts", ())]


def said(block: Any) -> str:
    spans = block.questions if isinstance(block, Hold) else block.spans
    return "".join(span.text for span in spans).replace("\u00a0", " ")


def steps(name: str, key: str, system: System = "us") -> list[str]:
    return [said(block) for block in walked(sheet(name, key, system).blocks) if isinstance(block, Step)]


def reads(name: str, key: str, what: str, system: System = "us") -> tuple[str, ...]:
    """A step with what it should be and what to do else."""
    (step,) = [one for one in walked(sheet(name, key, system).blocks) if isinstance(one, Step) and what in said(one)]
    return said(step), *(
        "".join(span.text for span in one).replace("\u00a0", " ") for one in (step.should, step.differs)
    )


def rows(name: str) -> list[list[str]]:
    """The rows of the walls as words, a cell each."""
    tables = [block for block in walked(sheet(name, "wash").blocks) if isinstance(block, Table) and block.acts]
    return [
        ["".join(span.text for span in cell) if isinstance(cell, tuple) else "" for cell in row]
        for table in tables
        for row in table.rows
    ]


# ------------------------------------------------------------------------------------------------ the keys


@pytest.mark.parametrize("verb", KEYS)
def test_every_key_of_the_contract_has_its_words(verb: str) -> None:
    hoses = frozenset({"red 1"})
    for what in KEYS[verb]:
        row, name = key_of(what, verb, hoses=hoses)
        assert bool(name) == bool(row.named)
        words = {"state": row.ask, "uncover": row.undo, "soak": row.soak}.get(verb, row.step)
        assert words, f"{what} has no words for {verb}"
        assert row.ask, f"no stop point can ask for {what}"
        assert (row.should in ("band", "most") and bool(row.differs)) == (verb == "read")


def test_every_row_can_be_asked_for_and_every_stop_point_has_its_head() -> None:
    named = {what if verb != "coil" else "HOSE" for verb, keys in KEYS.items() for what in keys}
    assert {name.partition(" ")[0] for name in named} <= set(act_keys())  # and those of a pump taken apart
    assert all(row.ask for row in act_keys().values())
    assert set(stop_titles()) == {"power", "stock", "mix", "coil", "open", "acid"}


@pytest.mark.parametrize(
    ("what", "verb"),
    [
        ("drains_coverd", "cover"),  # no such key
        ("drains_covered", "look"),  # a key, not of this verb
        ("breaker", "look"),  # a name is missing
        ("eyewash left", "look"),  # and one too many
        ("green hose", "coil"),  # no hose of this procedure
        ("primed", "read"),
    ],
)
def test_a_key_nobody_has_words_for_is_refused(what: str, verb: str) -> None:
    with pytest.raises(UnknownKey, match=what):
        key_of(what, verb, hoses=frozenset({"red 1"}))


def test_a_row_of_the_table_with_a_word_nobody_reads_is_refused() -> None:
    with pytest.raises(UnknownKey, match="stepp"):
        act_words._row({"key": "eyewash", "verbs": ["look"], "stepp": "Look."})


def test_a_name_with_braces_or_stars_in_it_is_printed_as_it_is() -> None:
    spans = spoken_spans("Look into **{name}**.", {"name": "the {odd} ** tank"})
    assert "".join(span.text for span in spans) == "Look into the {odd} ** tank."


# ------------------------------------------------------------------------------------------------ each act once


@pytest.mark.parametrize("system", ["us", pytest.param("si", marks=pytest.mark.ci)])
@pytest.mark.parametrize("name", FILES)
def test_every_act_is_on_paper_exactly_once(name: str, system: System) -> None:
    printed = [one for section in book(name, system).sections for one in acts_printed(section.blocks)]
    assert sorted(printed) == sorted(act.id for act in acts_of(name).acts)


@pytest.mark.ci
@pytest.mark.parametrize("name", one_in(3, [*DEMO, *SANITY]))
def test_every_act_of_every_job_is_on_paper_once_and_of_a_held_one_none(name: str) -> None:
    checked = job_of(name)
    made = (worded(job_of(name)), owner_worded(job_of(name)))
    printed = [one for book in made for section in book.sections for one in acts_printed(section.blocks)]
    acts = () if checked.verdict == "stop" else checked.plan.procedure.acts
    assert sorted(printed) == sorted(act.id for act in acts)


@pytest.mark.parametrize("name", FILES)
def test_nothing_has_a_box_or_a_stop_point_that_is_no_act(name: str) -> None:
    for section in book(name).sections:
        if section.key not in CREW:
            continue
        for block in walked(section.blocks):
            if isinstance(block, (Step, Hold)):
                assert block.acts, said(block)


@pytest.mark.parametrize("name", FILES)
def test_what_is_printed_stands_in_the_order_of_the_acts(name: str) -> None:
    """The lead's, that is; what is done again on a call or by the clock has the second's sheet (test_calls.py)."""
    place = {act.id: n for n, act in enumerate(acts_of(name).acts)}
    firsts = [
        place[block.acts[-1 if isinstance(block, Hold) else 0]]
        for key in crew(name)
        for block in walked(sheet(name, key).blocks)
        if isinstance(block, (Step, Hold, Table)) and block.acts
    ]
    assert firsts == sorted(firsts)


@pytest.mark.parametrize("name", FILES)
def test_a_stop_point_stands_before_all_that_it_guards(name: str) -> None:
    acts = {act.id: act for act in acts_of(name).acts}
    passed: set[int] = set()
    met = 0
    for key in (*crew(name)[:2], "grounds", *crew(name)[2:]):
        for block in walked(sheet(name, key).blocks):
            if isinstance(block, Hold):
                detail = acts[block.acts[-1]].detail
                assert isinstance(detail, StopPoint)
                assert block.number == detail.number
                passed.add(block.number)
            elif isinstance(block, (Step, Table)):
                guards = {acts[one].stop_point for one in block.acts} - {None}
                assert guards <= passed | ({3, 4} if key == "grounds" else set()), (block.acts, guards)
                met += len(guards)
    assert met >= 4
    assert passed == {1, 2, 3, 4}


def test_a_procedure_with_an_act_more_is_printed_with_it() -> None:
    """What the count above rests on: an act of the procedure that no page had would be missed."""
    procedure = acts_of(HOUSE)
    sheets = streams.sheets_of(procedure)
    lead = [act.id for page in (sheets.walk, sheets.set_up, sheets.mix, sheets.wash, sheets.flush) for act in page]
    held = [*lead, *(act.id for stage in sheets.second for act in stage.acts)]
    # What both do at a stop point of the lead's sheet is an event of the second's, too.
    beside = {act.id for stage in sheets.second if stage.key == "beside" for act in stage.acts}
    assert sorted(held) == sorted([*(act.id for act in procedure.acts), *beside])
    assert len(set(held)) == 162


# ------------------------------------------------------------------------------------------------ who does it


def test_the_second_s_acts_stand_on_the_second_s_sheet_and_the_lead_calls_for_them() -> None:
    own = steps(HOUSE, "grounds")
    for step in ("“On”: start booster, gun shut.", "Pour 100 fl oz of lot H-0518 into the jug.",
                 "“Mix”: set panel to 2.2, pick-up in the jug. As the tank falls: half full 2.15, a quarter full 2.1.", "“Water”: set panel to water."):  # fmt: skip
        assert step in own, step
    lead = [step for key in crew(HOUSE) for step in steps(HOUSE, key)]
    assert not [step for step in lead if step.startswith(("Second: ", "Both: ")) or "panel to 2.0" in step]
    assert "Shut the gun, then call “Read”, then “Off”." in lead
    (drums,) = [block for block in walked(sheet(HOUSE, "grounds").blocks) if isinstance(block, Hold)]
    assert drums.who == ("lead", "second")
    assert drums.guards is not None
    assert said(drums.guards) == "Pour 100 fl oz of lot H-0518 into the jug."
    assert "Dress for stock, initial stop point 2 on the second's sheet" in " ".join(lead)


def test_the_second_s_own_page_has_beds_covers_and_fills_by_the_clock() -> None:
    own = steps(HOUSE, "grounds")
    assert own[0] == "Cover the drains, edges sealed."
    assert reads(HOUSE, "grounds", "Water the flower beds: 40 gal")[1] == "7 min"
    (rounds,) = [one for one in walked(sheet(HOUSE, "grounds").blocks) if isinstance(one, Step) and one.rounds]
    assert said(rounds) == "Water the flower beds at each time."
    assert [time for time, _ in rounds.rounds][:2] == ["8:15", "8:25"]
    assert "".join(span.text for span in rounds.should) == "from 8:15 am"
    assert len(rounds.rounds) == len(rounds.acts) == 11
    assert {amount.replace("\u00a0", " ") for _, amount in rounds.rounds} == {"14 gal, 3 min"}
    heads = [said(block) for block in sheet(HOUSE, "grounds").blocks if isinstance(block, Heading)]
    assert heads[0] == "While the lead walks around and sets up, 7:25 am"
    assert "While the lead washes, 8:10 am" in heads


def test_alone_everything_stands_on_the_lead_s_pages_and_nobody_else_is_named() -> None:
    assert not [section for section in book(ROOF).sections if section.key == "grounds" and steps(ROOF, "grounds")]
    every = [step for key in CREW for step in steps(ROOF, key)]
    assert not [step for step in every if "Second" in step or "Both" in step]
    holds = [block for key in CREW for block in walked(sheet(ROOF, key).blocks) if isinstance(block, Hold)]
    assert {hold.who for hold in holds} == {("lead",)}
    assert "Office calls back at a set time?" in said(holds[1])
    assert "Bag the downspouts." in steps(ROOF, "walk_round")


# ------------------------------------------------------------------------------------------------ readings, stop points


def test_a_reading_says_what_it_should_be_and_what_to_do_if_it_differs() -> None:
    assert reads(HOUSE, "set_up", "Time 5 gal") == (
        "Time 5 gal in a bucket at the tip.", "31 s (29 to 33)", "Slow: kink or clog.",
    )  # fmt: skip
    assert reads(HOUSE, "grounds", "read the gauge")[1:] == ("70 psi (66 to 76)", "Low: worn or a leak.")
    _, jug, differs = reads(HOUSE, "grounds", "left in the jug")
    assert jug == "60 fl oz (57 to 63)"
    assert "“Stop”" in differs
    assert reads(HOUSE, "grounds", "left in the jug", "si")[1] == "1.7 L (1.65 to 1.8)"
    # A strip has an upper end alone.
    assert reads(HOUSE, "flush", "chlorine strip")[1:] == ("4.0 mg/L or less", "Flush 1 min more, read again.")


def test_a_reading_may_be_a_mark_off_however_narrow_its_band() -> None:
    assert reads(ROOF, "set_up", "Read the stick")[1] == "5/8 in (1/2 to 3/4)"


def test_a_stop_point_asks_what_its_act_asks_with_the_limit_of_the_reading() -> None:
    (mix,) = [block for block in walked(sheet(HOUSE, "wash").blocks) if isinstance(block, Hold)]
    assert mix.title == "Before mix goes on"
    assert (
        said(mix)
        == "Windows, doors and vents shut? People and animals clear? Beds wet? Wind 8 mph or less? Drains covered?"
    )
    (coil,) = [block for block in walked(sheet(HOUSE, "flush").blocks) if isinstance(block, Hold)]
    assert said(coil) == "Last strip at the tip chlorine 4.0 mg/L or less? Pump off, unplugged? Pressure let out?"


# ------------------------------------------------------------------------------------------------ walls


def test_a_wall_one_ahead_is_rows_in_the_order_of_the_gun() -> None:
    found = rows(HOUSE)
    assert [row[0] for row in found] == [
        "all four walls, section 1",
        "all four walls, cover 2, then rinse 1",
        "all four walls, 9 times: cover 3 to 11, rinse 2 to 10",
        "all four walls, rinse 11",
        "both gables; “Off” while it sits, “On” to rinse",
    ]
    assert found[2][1:6] == ["22 s, “Mix” first", "37 s", "15 s", "5 to 10", "3 min 20 s"]
    words = " ".join(said(block) for block in walked(sheet(HOUSE, "wash").blocks) if hasattr(block, "spans"))
    assert "One ahead: cover the next section while this one sits, come back and rinse this one." in words
    assert "all four walls, vinyl: 11 equal sections of 262 ft2." in words
    assert "Count only the time the gun is open." in words


def test_a_roof_alone_goes_section_by_section_with_the_beds_between() -> None:
    found = rows(ROOF)
    assert [row[0] for row in found] == [
        "south slope, 2 times: sections 1 to 2; then: gun shut, flower beds 16 gal",
        "south slope, section 3; then: gun shut, flower beds 16 gal",
    ]
    assert [row[1] for row in found] == ["3 min 10 s", "3 min 10 s"]
    assert found[1][2] == "2 min 30 s"
    words = " ".join(said(block) for block in walked(sheet(ROOF, "wash").blocks) if hasattr(block, "spans"))
    assert "Do not rinse: it is left to the rain." in words
    assert "“Water”: Shut the gun. Put the suction on the water tank. Open it again at the wall." in words


def _act(number: int, use: Any = "mix", n: int = 0) -> Act:
    section = Section(surface="wall", number=number, of=9)
    detail = Spray(run="house", seconds=10.0, volume=0.01, onto="section", use=use)
    return Act(id=f"a.{n}", phase="wash", who="lead", at="wall", detail=detail, start=n, lasts=1.0, section=section)


def test_sections_that_do_not_go_up_by_one_are_never_said_in_one_row() -> None:
    def same(act: Act) -> str:
        return act.detail.use

    up = folded([_act(1), _act(2), _act(3)], same)
    assert [(fold.times, len(fold.acts)) for fold in up] == [(3, 1)]
    odd = folded([_act(1), _act(3), _act(2)], same)
    assert [fold.times for fold in odd] == [1, 1, 1]


def test_what_is_repeated_is_the_shortest_stretch_that_covers_the_most() -> None:
    shut = Act(id="s", phase="wash", who="lead", at="wall", detail=Shut(run="house"), start=0.0, lasts=1.0)
    acts = [_act(1), shut, _act(2), shut, _act(3), shut, shut]
    found = folded(acts, lambda act: type(act.detail).__name__)
    assert [(fold.times, len(fold.acts)) for fold in found] == [(3, 2), (1, 1)]


@pytest.mark.parametrize(
    ("seconds", "toward", "words"),
    [
        (15.3, "near", "15 s"), (1.3, "up", "2 s"), (21.3, "up", "22 s"), (36.6, "near", "37 s"), (51.0, "up", "55 s"),
        (57.6, "near", "60 s"), (118.0, "near", "2 min"), (119.0, "up", "2 min"), (194.2, "up", "3 min 20 s"),
        (186.2, "near", "3 min 10 s"), (181.0, "up", "3 min 10 s"), (305.0, "up", "5 min 30 s"), (601.0, "up", "11 min"),
    ],
)  # fmt: skip
def test_a_gun_s_time_is_what_a_watch_shows(seconds: float, toward: Any, words: str) -> None:
    assert gun_open(seconds, toward) == words


# ------------------------------------------------------------------------------------------------ held, refused


def test_the_acts_of_a_job_are_printed_only_where_no_stop_holds_it() -> None:
    plan = SimpleNamespace(procedure=acts_of(HOUSE))

    def reading(held: bool) -> Any:
        return SimpleNamespace(checked=SimpleNamespace(plan=plan, held=held))

    assert REAL(reading(held=False)) is acts_of(HOUSE)
    assert REAL(reading(held=True)) is None


def test_a_held_job_has_a_page_of_its_own_and_no_act() -> None:
    held = job_book(job(findings=[short()]), paper="letter", system="us")
    assert [section.key for section in held.sections] == ["held"]
    assert not [
        block for section in held.sections for block in walked(section.blocks) if isinstance(block, (Step, Hold))
    ]


def test_a_template_that_words_a_verb_as_two_steps_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        paper, "template", lambda _: "# Acts: x\n\n{% for step in steps %}\n- [ ] one\n- [ ] two\n\n{% endfor %}\n"
    )
    with pytest.raises(TemplateRefused) as refused:
        job_book(job_of(HOUSE), paper="letter", system="us")
    assert "one step" in refused.value.fault.message


def test_an_act_with_an_unknown_key_stops_the_printing(monkeypatch: pytest.MonkeyPatch) -> None:
    procedure = acts_of(HOUSE)
    odd = Act(
        id="x.1", phase="walk", who="lead", at="grounds", detail=Mark(verb="look", what="moon"), start=0.0, lasts=1.0
    )
    spoiled = type(procedure)(acts=(odd, *procedure.acts), begin=procedure.begin, end=procedure.end)
    monkeypatch.setattr(paper, "procedure_of", lambda _: spoiled)
    with pytest.raises(UnknownKey, match="moon"):
        job_book(job_of(HOUSE), paper="letter", system="us")


@pytest.mark.ci
def test_somebody_alone_is_told_of_every_tankful(tmp_path: Path) -> None:
    copy = shutil.copytree(
        Path(__file__).parents[4] / "jobs", tmp_path / "jobs", ignore=shutil.ignore_patterns("archive*")
    )
    day = copy / "2026-06-09" / "day.yaml"
    text = re.sub(r"(?m)^crew:.*$", "crew: 1", day.read_text(encoding="utf-8"))
    day.write_text(text, encoding="utf-8")
    made = {job.plan.id: job for job in checked_jobs(loaded([str(copy / "2026-06-09")]), Trouble([]))}
    job = made["2026-06-09/10-millrace"]
    fills = [act.detail for act in job.plan.procedure.acts if isinstance(act.detail, Fill) and act.phase != "mix"]
    assert len(fills) > 4
    words = " ".join(" ".join(texts(job_book(job, paper="letter", system="us").pdf)).split())
    for fill in fills:
        assert drawn(fill.volume, "us", "up") in words
    # A row of several sections tells once what is done at each of them.
    again = sum(int(times) - 1 for times in re.findall(r"(\d+) times: sections", words))
    assert words.count("fill the tank") + words.count("Fill the water tank") + again >= len(fills)


@pytest.mark.parametrize("order", [(0, 1, 2), (1, 0, 2), (0, 2, 1), (1, 2), (2, 1)])
def test_a_step_of_waits_alone_is_told_with_what_comes_next_to_it(order: Any) -> None:
    acts = [
        Act(id="a", phase="wash", who="lead", at="wall", detail=Shut(run="front"), start=0.0, lasts=5.0),
        Act(id="b", phase="wash", who="lead", at="wall", detail=Wait(seconds=60.0), start=5.0, lasts=60.0),
        Act(id="c", phase="wash", who="lead", at="wall", detail=Read(), start=65.0, lasts=5.0),
    ]
    words = ("Shut the gun.", "Wait 1 min.", "Read a strip.")
    steps = [Step(spans=said_of(words[n]), acts=(acts[n].id,)) for n in order]
    told = " ".join(span.text for step in turned(steps, acts) for span in step.spans)
    assert all(words[n] in told for n in order)
