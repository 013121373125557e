"""Lead and second each have their own sheet and meet by calls: what one calls, the other's sheet answers."""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest

from planner.checks.model import CheckedJob
from planner.packet.blocks import Block, Hold, Section, Span, Step, Table, walked
from planner.plan.procedure.acts import Act, ChangeTip, DrawFrom, Fill, Join, Power, SetDosing, StopPoint, Wait
from tests import workspaces
from tests.packet.builders import ACID, INJECTED, ROOF, written
from tests.packet.figures.jobs import DEMO, job_of
from tests.packet.mixing import THREE
from tests.packet.printing import worded
from tests.packet.sections.acts.test_acts import acts_printed
from tests.packet.sections.acts.test_agreeing import ONE_TANK, TWO_MIXES
from tests.rehearsal import drawn as drawn_jobs

CREW = ("walk_round", "set_up", "mix", "wash", "flush", "grounds")
ALONE = "day: {crew: [Ann]}"
MADE = {
    "house": (),
    "injector": (INJECTED,),
    "roof": (ROOF,),
    "acid out of a pail": (ACID,),
    "three runs": (THREE,),
    "two mixes": (TWO_MIXES,),
    "one tank twice": (ONE_TANK,),
    "alone": (ALONE,),
    "alone, roof": (ALONE, ROOF),
    "alone, injector": (ALONE, INJECTED),
    "alone, acid out of a pail": (ALONE, ACID),
}
_RUN = (
    "{{name: {0}, pump: booster, feed: water, dosing: panel, hoses: [{1}], tip: long throw, tip_height: 4 ft, uphill: 0 ft, "
    "standoff: 10 ft, target: 20 ft, on_reel: 0 ft, surfaces: [{2} wall], same_time: [{3}]}}"
)
TWO_GUNS = (
    "{rig: {tanks: {0: {volume: 60 gal}}, hoses: [{name: red, bore: 3/4 in, length: 100 ft}, "
    "{name: blue, bore: 3/4 in, length: 60 ft}]}, "
    "job: {surfaces: [{name: left wall, kind: vinyl, area: 300 ft2}, {name: right wall, kind: vinyl, area: 300 ft2}], "
    f"hose_runs: [{_RUN.format('A', 'red', 'left', 'B')}, {_RUN.format('B', 'blue', 'right', 'A')}], "
    "chemicals: [{stock: drum, strength: 0.6 %}]}}"
)
WASHED = tuple(name for name in DEMO if not name.endswith(("09/30-kiln", "90-booster")))
DRAWN = tuple(f"drawn {seed}" for seed in (0, 5, 28, 52, 58))
"""Jobs drawn at random: two guns at once, a line set up again and again, two draw tests, a tank and a jug filled twice."""
EVERY = (*WASHED, *MADE, *(pytest.param(name, marks=pytest.mark.ci) for name in DRAWN[1:]), DRAWN[0])
CREWS = tuple(name for name in EVERY if not str(name).startswith("alone"))
OFTEN = re.compile(r", (?:(\d+) times|each time, then)")


def job(name: str) -> CheckedJob:
    if name in DRAWN:
        return drawn(int(name.partition(" ")[2]))
    return written(*MADE[name]) if name in MADE else job_of(name)


@lru_cache(maxsize=8)
def drawn(seed: int) -> CheckedJob:
    with tempfile.TemporaryDirectory() as folder:
        return workspaces.checked(Path(folder), drawn_jobs.files(Random(seed)), tables=True)


@cache
def sheets(name: str) -> tuple[Section, ...]:
    return tuple(one for one in worded(job(name)).sections if one.role != "owner")


def acts(name: str) -> dict[str, Act]:
    procedure = job(name).plan.procedure
    assert procedure is not None
    return {act.id: act for act in procedure.acts}


def of(name: str, role: str) -> list[Block]:
    return [block for sheet in sheets(name) if sheet.role == role for block in walked(sheet.blocks)]


def words(spans: tuple[Span, ...]) -> str:
    return "".join(span.text for span in spans).replace("\u00a0", " ")


def called(name: str) -> Counter[str]:
    """How often the lead calls each word: out of the steps, and out of the rows as often as they are done."""
    found: Counter[str] = Counter()
    for block in of(name, "lead"):
        if isinstance(block, Step):
            found.update(re.findall(r"“(.+?)”", re.sub(r"Wait for “.+?”|Call “Go on”", "", words(block.spans))))
        elif isinstance(block, Table) and block.acts:
            times = 1
            waters = next((n for n, head in enumerate(block.head) if head.startswith("“Water”")), None)
            for row in block.rows:
                cells = [words(cell) if isinstance(cell, tuple) else "" for cell in row]
                often = OFTEN.search(cells[0])
                times = 1 if often is None else int(often[1] or times)
                if waters is not None and cells[waters]:
                    for word in re.findall(r"“(.+?)”", cells[waters]) or ["Water"]:
                        found[word] += times
                    cells[waters] = ""
                cells[0] = re.sub(r"at “.+?” ", "", cells[0])  # which call it is about
                for _ in tips(name) & {tip for cell in cells for tip in re.findall(r"(\w[\w ]*): ", cell)}:
                    found.update({"Off": times, "On": times})
                once = "while the first sits" in cells[0]
                for cell in cells:
                    for word in re.findall(r"“(.+?)”", cell):
                        found[word] += 1 if once else times
    return found


def tips(name: str) -> set[str]:
    """The tips that a job changes to."""
    return {act.detail.tip for act in acts(name).values() if isinstance(act.detail, ChangeTip)}


def answers(block: Block) -> dict[str, tuple[str, ...]]:
    """The words that a step of the second answers, with its acts: two of a pump off and on again for a tip."""
    if not isinstance(block, Step):
        return {}
    said = re.findall(r"(?:^|\d times: |\. )“(.+?)”: ", words(block.spans))
    if len(said) == 2:
        return {word: (act,) for word, act in zip(said, block.acts, strict=True)}
    return dict.fromkeys(said, block.acts)


def answered(name: str) -> Counter[str]:
    """How often the second's sheet answers each word."""
    found: Counter[str] = Counter()
    for block in of(name, "second"):
        if isinstance(block, Step):
            for word, ids in answers(block).items():
                found[word] += len(ids)
    return found


@pytest.mark.parametrize("name", CREWS)
def test_each_call_of_the_lead_is_answered_on_the_second_s_sheet_as_often(name: str) -> None:
    assert called(name) == answered(name)
    assert {"Read"} <= set(called(name))
    assert sum(called(name).values()) >= 5


@pytest.mark.parametrize("name", CREWS)
def test_what_the_second_says_is_waited_for_on_the_lead_s_sheet(name: str) -> None:
    lead = " ".join(
        words(block.questions if isinstance(block, Hold) else block.spans)
        for block in of(name, "lead")
        if isinstance(block, (Hold, Step))
    )
    second = " ".join(words(block.spans) for block in of(name, "second") if isinstance(block, Step))
    assert second.count("Call “Go”") == lead.count("Wait for “Go”")
    assert second.count("Call “Done”") == lead.count("Wait for “Done”")
    assert lead.count("Call “Go on”") == second.count("Wait for the lead's “Go on”")
    assert second.count("Call “Ready”") == lead.count("Second said “Ready”?") >= 1
    # What goes wrong is called, too, and the lead's sheet says what then.
    stops = [block for block in of(name, "second") if isinstance(block, Step) and "“Stop”" in words(block.differs)]
    told = [block for block in of(name, "lead") if isinstance(block, Step) and "“Stop”" in words(block.differs)]
    assert len(stops) == len(told) == second.count("Call “Go”")


@pytest.mark.parametrize("name", CREWS)
def test_a_word_means_one_thing_within_an_event(name: str) -> None:
    """Between two heads of the second's sheet the same word is never for another pump, line or mark."""
    known = acts(name)
    meant: dict[str, set[tuple[object, ...]]] = {}
    for block in of(name, "second"):
        if not isinstance(block, Step):
            meant = {}
            continue
        for word, one in ((word, one) for word, ids in answers(block).items() for one in ids):
            detail = known[one].detail
            thing: tuple[object, ...] = ()
            if isinstance(detail, Power):
                thing = (detail.pump, detail.on)
            elif isinstance(detail, SetDosing):
                thing = (detail.run, detail.mark, bool(detail.draws))
            elif isinstance(detail, DrawFrom):
                thing = (detail.run, detail.feed)
            meant.setdefault(word, set()).add(thing)
            assert len(meant[word]) == 1, (word, meant[word])


def test_two_pumps_are_called_by_their_names() -> None:
    acid = "2026-06-10/30-kiln-acid"
    assert {"Booster on", "Booster off", "Acid pump on", "Acid pump off"} <= set(called(acid))
    assert not {"On", "Off"} & set(called(acid))
    rows = [
        words(row[0])  # type: ignore[arg-type]
        for block in of(acid, "lead")
        if isinstance(block, Table) and block.acts
        for row in block.rows
    ]
    assert rows[0] == "plinth, 3 times: sections 1 to 3; “Acid pump off” while it sits, “Booster on” to rinse"
    assert rows[1] == "plinth (water), each time, then: sections 2 to 4; then “Booster off”, “Acid pump on”"


def test_a_suction_is_put_over_with_the_gun_shut() -> None:
    (table,) = [block for block in of("2026-06-10/30-kiln-acid", "lead") if isinstance(block, Table) and block.acts]
    waters = [words(row[3]) for row in table.rows if words(row[3])]  # type: ignore[arg-type]
    assert waters == ["12 s, gun shut"]


def test_mix_is_called_while_the_lead_goes_on_spraying() -> None:
    (step,) = [
        words(block.spans)
        for block in of("2026-06-10/20-millrace-mid", "lead")
        if isinstance(block, Step) and "Then call “Mix”, gun" in words(block.spans)
    ]
    assert step.endswith("Then call “Mix”, gun open.")


# ------------------------------------------------------------------------------------------------ whose act, once


@pytest.mark.parametrize("name", EVERY)
def test_every_act_is_on_paper_once_and_on_the_sheet_of_who_does_it(name: str) -> None:
    printed: Counter[str] = Counter()
    roles: dict[str, str] = {}
    for sheet in sheets(name):
        for one in acts_printed(sheet.blocks):
            printed[one] += 1
            roles[one] = sheet.role
    known = acts(name)
    assert printed == Counter(list(known))
    poured = {roles[one] for one, act in known.items() if act.at == "drums" and act.phase == "mix"}
    for one, act in known.items():
        if name.startswith("alone"):
            assert roles[one] == "lead"
        elif act.phase == "walk" and act.who == "lead":
            assert roles[one] == "both", one
        elif act.at == "drums" and act.phase == "mix" and not isinstance(act.detail, Wait):
            assert roles[one] in poured
        else:
            assert roles[one] == act.who, (one, act)


@pytest.mark.parametrize("name", CREWS)
def test_at_the_drums_both_are_on_the_sheet_of_who_pours_and_the_other_is_sent_there(name: str) -> None:
    known = acts(name)
    for role, other in (("lead", "second"), ("second", "lead")):
        holds = [
            block
            for block in of(name, role)
            if isinstance(block, Hold) and known[block.acts[-1]].who == "both" and block.number
        ]
        sent = " ".join(words(block.spans) for block in of(name, other) if hasattr(block, "spans"))
        for hold in holds:
            assert hold.who == ("lead", "second")
            assert re.search(rf"stop point {hold.number} on the {role}'s sheet", sent), (hold.number, role)


@pytest.mark.parametrize("name", EVERY)
def test_steps_are_numbered_from_one_over_each_sheet_and_the_walk_round_is_not(name: str) -> None:
    walk = {block.number for sheet in sheets(name) if sheet.key == "walk_round" for block in walked(sheet.blocks)
            if isinstance(block, Step)}  # fmt: skip
    assert walk == {0}
    for role in ("lead", "second"):
        numbers = [block.number for block in of(name, role) if isinstance(block, Step) and block.number]
        assert numbers == list(range(1, len(numbers) + 1))


@pytest.mark.parametrize("name", EVERY)
def test_a_sheet_goes_forward_in_time_save_for_rounds_and_calls_that_come_again(name: str) -> None:
    known = acts(name)
    place = {one: n for n, one in enumerate(known)}
    for role in ("lead", "second"):
        blocks = [block for block in of(name, role) if isinstance(block, (Step, Hold, Table)) and block.acts]
        # A stop point stands where it is passed: what was looked at before it is its question.
        firsts = [place[block.acts[-1 if isinstance(block, Hold) else 0]] for block in blocks]
        assert firsts == sorted(firsts) or role == "second"
        if role == "second":
            # Within a stretch between two things done again, all that is done once goes forward.
            once = [
                place[block.acts[0]] for block in blocks if not getattr(block, "rounds", ()) and len(block.acts) == 1
            ]
            late = [one for before, one in pairwise(once) if one < before]
            assert not [one for one in late if known[list(known)[one]].phase in ("walk", "set_up", "test", "mix")]


@pytest.mark.parametrize("name", EVERY)
def test_a_stop_point_stands_before_all_of_its_sheet_that_it_guards_and_frames_the_first(name: str) -> None:
    known = acts(name)
    for role in ("lead", "second"):
        blocks = [block for block in of(name, role) if isinstance(block, (Step, Hold, Table))]
        passed: set[int] = set()
        holds = {block.number for block in blocks if isinstance(block, Hold)}
        for n, block in enumerate(blocks):
            if isinstance(block, Hold):
                detail = known[block.acts[-1]].detail
                assert isinstance(detail, StopPoint)
                assert detail.number == block.number
                passed.add(block.number)
                if n + 1 == len(blocks) or not isinstance(blocks[n + 1], Step):
                    continue
                after = blocks[n + 1]
                if block.guards is None:
                    first = known[after.acts[0]]
                    assert first.stop_point != block.number
                    assert isinstance(first.detail, Join) or first.phase in ("grounds", "flush", "leave"), first
                else:
                    assert after is block.guards
                    continue
            guards = {known[one].stop_point for one in block.acts} - {None}
            assert guards & holds <= passed, (block.acts, guards)


@pytest.mark.parametrize("name", EVERY)
def test_stop_points_number_over_the_job_and_stand_on_one_sheet_each(name: str) -> None:
    numbers = [
        block.number for role in ("both", "lead", "second") for block in of(name, role) if isinstance(block, Hold)
    ]
    assert sorted(numbers) == list(range(1, len(numbers) + 1))


def test_alone_there_is_no_second_no_call_and_nothing_to_wait_for() -> None:
    for name in (name for name in MADE if name.startswith("alone")):
        assert not of(name, "second")
        for block in of(name, "lead"):
            text = words(block.questions if isinstance(block, Hold) else getattr(block, "spans", ()))
            assert not re.search(r"[Ss]econd\b|Lead:|Both:|Wait for|[Cc]all “", text), text
            if isinstance(block, Hold):
                assert block.who == ("lead",)


def test_alone_a_change_to_mix_is_told_once_with_gun_and_pump() -> None:
    said = [words(block.spans) for block in of("alone", "lead") if hasattr(block, "spans")]
    assert (
        "“Water”: Shut the gun. Switch booster off. Set panel to water. Start booster, gun shut. "
        "Open the gun again at the wall." in said
    )
    rows = [
        words(row[0])  # type: ignore[arg-type]
        for block in of("alone", "lead")
        if isinstance(block, Table) and block.acts
        for row in block.rows
    ]
    # Whatever is done at a shut gun stands in the row in its order, the tank's filling too.
    assert re.fullmatch(
        r"front, section 1; while it sits: gun shut, booster off, flower beds [\d /]+ gal, booster on; "
        r"then: gun shut, flower beds [\d /]+ gal, booster off, fill the tank [\d /]+ gal, booster on", rows[0]
    )  # fmt: skip
    assert len(rows) == 4


def test_water_out_of_a_pail_again_and_again_is_told_once() -> None:
    """Alone, a wall is rinsed a pail at a time: what is the same is one step with how often."""
    every = [block for block in of("alone, acid out of a pail", "lead") if isinstance(block, Step)]
    said = [words(block.spans) for block in every]
    assert any(re.match(r"12 times: Rinse brick, section 1 of 4: 47 s", one) for one in said)
    assert len(every) < 150 < sum(len(block.acts) for block in every)


def test_a_pail_that_is_sprayed_from_is_kept_full() -> None:
    said = [words(block.spans) for block in of("2026-06-10/30-kiln-acid", "second") if isinstance(block, Step)]
    assert any(one.startswith("Keep pail 1 full while the lead sprays from it: ") for one in said)


@pytest.mark.parametrize("name", CREWS)
def test_who_waits_is_told_what_for_and_the_other_one_s_sheet_says_to_call_it(name: str) -> None:
    """A wait is over by a word that stands on both sheets."""
    heard = {role: list(map(_words, of(name, role))) for role in ("lead", "second")}
    for waits, calls in (("lead", "second"), ("second", "lead")):
        for text in heard[waits]:
            if "Wait for" not in text:
                continue
            (word,) = re.findall(r"Wait for (?:the lead's )?(“[^”]+”)", text)
            assert any(f"Call {word}" in other for other in heard[calls]), text


def _words(block: Block) -> str:
    return "".join(span.text for span in block.spans).replace("\u00a0", " ") if isinstance(block, Step) else ""


@pytest.mark.ci
def test_the_second_with_a_gun_knows_how_long_mix_stands_and_when_a_gun_only_runs_on() -> None:
    made = worded(written(TWO_GUNS))
    said = [words(block.spans) for section in made.sections if section.role == "second"
            for block in walked(section.blocks) if isinstance(block, Step)]  # fmt: skip
    rinsed = [step for step in said if "rinse right wall" in step]
    assert rinsed
    assert all("Once its mix has sat 5 to 10 min: rinse right wall" in step for step in rinsed)
    flushed = next(n for n, step in enumerate(said) if step.startswith("Flush the line of B"))
    assert not [step for step in said[flushed:] if "until the line" in step]
    assert [step for step in said[flushed:] if "run on onto the ground until the other is done" in step]


@pytest.mark.ci
def test_a_fill_of_more_than_a_tank_holds_says_that_it_is_drawn_from_meanwhile() -> None:
    checked = written(TWO_GUNS.replace("60 gal", "80 gal").replace("300 ft2", "600 ft2"))
    base, plan = worded(checked), checked.plan
    fills = {act.id: act.detail for act in plan.procedure.acts if isinstance(act.detail, Fill)}
    room = {tank.name: tank.volume for tank in plan.input.rig.tanks}
    more = {name for name, fill in fills.items() if fill.into in room and fill.volume > room[fill.into]}
    assert more
    for section in base.sections:
        for block in walked(section.blocks):
            if isinstance(block, Step) and set(block.acts) & set(fills):
                assert bool(set(block.acts) & more) == ("it is drawn from as it fills" in words(block.spans))


@pytest.mark.ci
def test_a_stop_point_asks_of_a_line_without_a_pump_whether_its_tap_is_shut() -> None:
    tap = "{job: {surfaces: [{name: wall, kind: vinyl, area: 300 ft2}], chemicals: [{stock: drum, strength: 0.5 %}], hose_runs: {0: {feed: tap, dosing: venturi, pump: }}}}"
    for text, pump, shut in ((tap.replace(", pump: ", ", pump: null"), False, True), ("{}", True, False)):
        made = worded(written(text))
        (coil,) = [words(block.questions) for section in made.sections for block in walked(section.blocks)
                   if isinstance(block, Hold) and block.title.startswith("Before the hose is coiled")]  # fmt: skip
        assert ("Pump off, unplugged?" in coil, "Tap shut?" in coil) == (pump, shut)
