"""What was typed outlives a closed window, a revision beside it and a packet printed again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.cli import main
from planner.units import read
from tests.commands.recording import WHOLE, fill, records, rows, yaml

pytestmark = [pytest.mark.usefixtures("own_archive"), pytest.mark.ci]
DRAFT = "10-case.record.draft.yaml"


class Closed(BaseException):
    """The window is closed: nothing runs any more."""


def printed_again(job: Path, tmp_path: Path, *changes: tuple[str, str]) -> str:
    """The job changed and printed once more; its new number."""
    text = job.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    job.write_text(text, encoding="utf-8")
    assert main(["packet", str(job), "-o", str(tmp_path / "again")]) in (0, 1)
    return str(max(rows(job, "plans"), key=lambda row: row["at"])["number"])


RENAMED = (("name: wall", "name: siding"),)


def test_a_closed_window_loses_no_answer(job: Path, printed: Path, typed: Any) -> None:
    typed({"Arrived": ["08:15"], "Left": ["12:10"], "Water in all": [Closed]})
    with pytest.raises(Closed):
        main(["record", str(job)])
    text = job.with_name(DRAFT).read_text(encoding="utf-8")
    assert 'arrived: "08:15"' in text
    assert 'left: "12:10"' in text
    typed({"Signed": ["Ana"]})
    assert main(["record", str(job)]) == 0
    (done,) = records(job)
    assert (done["times"]["left_s"], done["signed"]) == (read("12 h 10 min", "time"), "Ana")
    assert not list(job.parent.glob("*.draft*"))


def test_the_count_is_held_against_the_revision_and_a_blank_wants_a_word(whole: Path, typed: Any) -> None:
    everything = ("Arrived", "First", "Flushed", "Left", "Water", "Bucket", "front", "hypo", "Bleach", "bleach", "wall",
                  "What", "pH", "Residual", "Signed")  # fmt: skip
    typed({start: ["-"] * 9 for start in everything})
    assert main(["record", str(whole)]) == 0
    assert len(records(whole)) == 1
    asked = typed({})
    assert main(["record", str(whole)]) == 0
    (keep,) = [prompt for prompt in asked if prompt.startswith("Keep")]
    assert "of them left blank" in keep
    assert keep.endswith("[y/N] ")
    assert len(records(whole)) == 1, "one Enter empties nothing"


def test_a_draft_older_than_the_record_is_named_and_laid_over_it(
    job: Path, printed: Path, typed: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    typed({"Arrived": ["08:15"], "Left": ["12:10"], "Water in all": ["stop"]})
    assert main(["record", str(job)]) == 0
    assert main(["record", str(job), "--from", yaml(tmp_path, "job: 10-case\nafter: fern bleached\n")]) == 0
    asked = typed({f"{job.with_name(DRAFT)}": ["", "no"], "Arrived": ["08:20"], "First": ["stop"]})
    assert main(["record", str(job)]) == 0
    assert "holds 2 answers and is older than revision 1. Go on from there" in asked[0]
    assert asked[0] == asked[1], "an older one wants a word"
    assert f"{DRAFT} is left as it is" in capsys.readouterr().out
    second = job.with_name("10-case.record.draft-2.yaml")
    assert second.exists()
    second.unlink()
    typed({f"{job.with_name(DRAFT)}": ["yes"]})
    assert main(["record", str(job)]) == 0
    done = records(job)[-1]
    assert (done["after"], done["times"]["arrived_s"]) == ("fern bleached", read("8 h 15 min", "time"))
    assert not list(job.parent.glob("*.draft*"))


def test_an_older_draft_that_is_all_recorded_is_not_offered(
    job: Path, printed: Path, typed: Any, tmp_path: Path
) -> None:
    typed({"Arrived": ["08:40"], "First": ["stop"]})
    assert main(["record", str(job)]) == 0
    assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
    asked = typed({})
    assert main(["record", str(job)]) == 0
    assert asked[0].startswith("Arrived")


def test_a_record_that_comes_in_meanwhile_is_not_written_over(
    job: Path, printed: Path, typed: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: Any
) -> None:
    typed({"Arrived": ["08:15"], "Left": ["12:10"]})
    from planner.interview import record as record_asked

    agreed = record_asked._agreed

    def meanwhile(*args: Any, **more: Any) -> Any:
        assert main(["record", str(job), "--from", yaml(tmp_path, WHOLE)]) == 0
        return agreed(*args, **more)

    monkeypatch.setattr(record_asked, "_agreed", meanwhile)
    assert main(["record", str(job)]) == 2
    assert "revision 1 of 2026-06-09/10-case came in while" in capsys.readouterr().err
    assert len(records(job)) == 1
    monkeypatch.setattr(record_asked, "_agreed", agreed)
    asked = typed({f"{job.with_name(DRAFT)}": ["yes"]})
    assert main(["record", str(job)]) == 0
    assert "is older than revision 1" in asked[0]
    first, second = records(job)
    assert second["times"]["arrived_s"] == read("8 h 15 min", "time")
    for key in ("readings", "mixes", "sides", "lots", "heels", "water"):
        assert first[key] == second[key], key


def test_a_revision_by_questions_is_of_the_plan_it_was_made_from(
    whole: Path, typed: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = rows(whole, "records")[0]["plan"]
    number = rows(whole, "plans")[0]["number"]
    newer = printed_again(whole, tmp_path, *RENAMED)
    assert newer != number
    typed({"front: gauge open": ["50"]})
    assert main(["record", str(whole)]) == 0
    said = capsys.readouterr().out
    assert f"{newer} was printed since" in said
    assert "left out" not in said
    assert f"against plan {number}" in said
    _, second = sorted(rows(whole, "records"), key=lambda row: row["revision"])
    assert second["plan"] == first
    assert records(whole)[1]["sides"] == records(whole)[0]["sides"]


def test_a_draft_is_gone_on_from_after_another_printing(
    job: Path, printed: Path, typed: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    typed({"wall, front: dwell": ["8"], "wall, front: rinse": ["stop"]})
    assert main(["record", str(job)]) == 0
    number = rows(job, "plans")[0]["number"]
    newer = printed_again(job, tmp_path, *RENAMED)
    asked = typed({})
    assert main(["record", str(job)]) == 0
    assert f"holds 1 answer, of plan {number}; {newer} was printed since" in asked[0]
    (done,) = records(job)
    assert (done["plan"], done["sides"][0]["dwell_s"]) == (number, 480.0)


def test_drafts_that_cannot_be_gone_on_from_are_told_apart(
    job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    draft = job.with_name(DRAFT)
    for text, told in (
        ("job: 10-case\ntimes: {arrived: 08:15\n", "has a mistake in it"),
        (
            "job: 10-case\nplan: aaaa-0001\ntimes: {arrived: 08:15}\n",
            "is of plan aaaa-0001, which the archive does not",
        ),
        ("job: 20-other\ntimes: {arrived: 08:15}\n", "is not of 2026-06-09/10-case"),
    ):
        draft.write_text(text, encoding="utf-8")
        typed({})
        assert main(["record", str(job)]) == 0
        said = capsys.readouterr().out
        assert told in said
        assert f"{DRAFT} stays as it was" in said


def test_the_draft_of_a_faulty_packet_is_gone_on_from_by_questions(
    job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    filled = fill(printed, {"times.arrived": "08:40", "times.left": "12:3O", "readings.front.gauge_open": "52"})
    assert main(["record", str(job), "--from", str(filled)]) == 2
    capsys.readouterr()
    asked = typed({"Left": ["12:30"], "Signed": ["stop"]})
    assert main(["record", str(job)]) == 0
    assert "holds 2 answers" in asked[0]
    assert '  not read: times.left: "12:3O"' in capsys.readouterr().out
    assert '# times.left: "12:3O"' in job.with_name(DRAFT).read_text(encoding="utf-8")
    typed({})
    assert main(["record", str(job)]) == 0
    (done,) = records(job)
    assert done["times"]["left_s"] == read("12 h 30 min", "time")
    assert done["readings"][0]["gauge_open_pa"] == pytest.approx(read("52 psi", "pressure"))


def test_a_draft_taken_in_is_taken_away(job: Path, printed: Path, typed: Any, tmp_path: Path) -> None:
    typed({"Arrived": ["08:15"], "First": ["stop"]})
    assert main(["record", str(job)]) == 0
    assert main(["record", str(job), "--from", str(job.with_name(DRAFT))]) == 0
    assert not job.with_name(DRAFT).exists()
    own = yaml(tmp_path, WHOLE, "10-case.record.yaml")
    assert main(["record", str(job), "--from", own]) == 0
    assert Path(own).exists(), "nobody's own file is touched"


def test_a_dash_and_back_offers_the_figure_again(whole: Path, typed: Any) -> None:
    asked = typed({"Arrived": ["-"], "First": ["back"]})
    assert main(["record", str(whole)]) == 0
    offered = [prompt for prompt in asked if prompt.startswith("Arrived")]
    assert len(offered) == 2
    assert offered[0] == offered[1]
    assert records(whole)[-1]["times"]["arrived_s"] == read("8 h 40 min", "time")


def test_what_was_typed_in_this_sitting_is_said_to_be(whole: Path, typed: Any) -> None:
    asked = typed({"Arrived": ["08:50"], "First": ["back"]})
    assert main(["record", str(whole)]) == 0
    offered = [prompt for prompt in asked if prompt.startswith("Arrived")]
    assert "(Enter: 08:40, as in revision 1;" in offered[0]
    assert "(Enter: 08:50, as you said;" in offered[1]


def test_yes_or_no_takes_the_words_of_questions(
    job: Path, printed: Path, typed: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = typed({"Arrived": ["08:15"], "Keep": ["yse", "?", "back", "stop"], "Signed": ["", "Ana"]})
    assert main(["record", str(job)]) == 0
    said = capsys.readouterr().out
    assert "`yse` is neither yes nor no" in said
    assert "Yes keeps it as the record" in said
    assert sum(prompt.startswith("Date and time signed") for prompt in asked) == 2, "back is to the last question"
    assert records(job) == []
    asked = typed({f"{job.with_name(DRAFT)}": ["?", KeyboardInterrupt]})
    assert main(["record", str(job)]) == 0
    said = capsys.readouterr().out
    assert "No starts over and leaves it as it is." in said
    assert f"{DRAFT} stays as it was" in said


def test_nothing_written_says_what_stands(whole: Path, typed: Any, capsys: pytest.CaptureFixture[str]) -> None:
    typed({"Arrived": [EOFError]})
    assert main(["record", str(whole)]) == 0
    assert "so nothing is kept; revision 1 stays as it was" in capsys.readouterr().out
