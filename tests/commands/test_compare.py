"""`planner compare` from end to end: a season of records in, tables, JSON, a page and learned.yaml out."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from planner.archive.compare.kept import kept_corrections
from planner.archive.kept.exchange import export, take_in
from planner.archive.kept.opening import opened
from planner.archive.kept.store import keep_record
from planner.archive.kept.tables import CORRECTIONS
from planner.cli import main
from tests import workspaces
from tests.archive import seasons


@pytest.fixture(autouse=True)
def _own_archive(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PLANNER_ARCHIVE")


def _done(plan: dict[str, Any]) -> Any:
    part, run = plan["mixes"][0]["parts"][0], plan["runs"][0]["name"]
    low, high = (seasons.as_share(plan, share)["gauge_closed_pa"] for share in (0.9, 1.0))

    def done(number: int, record: dict[str, Any]) -> None:
        share = 1.0 - 0.008 * number + 0.002 * (number % 3)
        record["readings"] = [seasons.reading(run, gauge_closed_pa=low + (high - low) * (share - 0.9) / 0.1)]
        record["sides"] = [seasons.side(part["surface"], run, mix_m3=part["mix_m3"] / 0.75, dwell_s=60.0)]
        record["callbacks"] = "streaks <b>by</b> the door" if number == 5 else None
        record["cost"] = "6 gal"
        record["signed"] = "Ana"

    return done


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with nine jobs done, and one booked after them."""
    folder = tmp_path_factory.mktemp("season")
    plan = seasons.plan_of(folder)
    seasons.keep(folder, seasons.season(plan, 9, _done(plan)))
    return folder


@pytest.fixture
def season(kept: Path, tmp_path: Path) -> Path:
    """A copy of it, the test's own."""
    shutil.copytree(kept, tmp_path / "ws")
    return tmp_path / "ws"


def told(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> str:
    assert main(["compare", *words]) == code
    return capsys.readouterr().out


@pytest.mark.ci
def test_a_season_is_told_with_causes_trends_and_what_would_be_learned(
    season: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = told(capsys, str(season))
    for words in (
        "2026-03-02/10-house-0  Case job", "mix on it", "More mix than planned", "Rinsed before its time",
        "callbacks: streaks <b>by</b> the door", "pump Case, booster", "coverage, of the table's",
        "2026-06-09/10-case", "by 9 records", "--apply would learn:", "Case, booster: condition 0.9",
    ):  # fmt: skip
        assert words in text, words
    assert not (season / "learned.yaml").exists()


def test_one_job_is_told_figure_by_figure_though_its_file_is_gone(
    season: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = told(capsys, str(season / "2026-03-02" / "10-house-0.yaml"))
    assert "2 of 4 figures outside" in text
    assert "gauge, gun closed" in text
    assert "HIGH" in text
    assert "learn:" not in text
    metric = told(capsys, str(season / "2026-03-02" / "10-house-0"), "--units", "si")
    assert "psi" not in metric
    assert "bar" in metric


@pytest.mark.ci
def test_json_holds_every_row_and_is_the_same_twice(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first = told(capsys, str(season), "--json")
    assert first == told(capsys, str(season), "--json")
    whole = json.loads(first)
    assert (whole["records"], len(whole["jobs"]), whole["faults"], whole["applied"]) == (9, 9, [], False)
    row = next(row for row in whole["jobs"][0]["figures"] if row["figure"] == "mix")
    assert row["done"] == pytest.approx(row["planned"] / 0.75)
    assert row["difference"] == pytest.approx(row["done"] - row["planned"])
    assert (row["side"], row["outside"], row["cause"]) == ("high", True, "cover_less")
    pump = next(trend for trend in whole["trends"] if trend["subject"] == "pump")
    assert pump["records"] == 9
    assert pump["per_year"] < 0.0
    assert whole["forecasts"][0]["job"] == "2026-06-09/10-case"
    since = json.loads(told(capsys, str(season), "--json", "--since", "2026-03-20"))
    assert since["records"] == 3
    day = json.loads(told(capsys, str(season), "--json", "--since", "2026-03-26"))
    assert [job["date"] for job in day["jobs"]] == ["2026-03-26"]


@pytest.mark.ci
def test_what_is_applied_is_planned_with_and_applied_again_is_the_same(
    season: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = str(season / "2026-06-09" / "10-case.yaml")
    before = json.loads(_checked(capsys, job))
    told(capsys, str(season), "--apply")
    text = (season / "learned.yaml").read_bytes()
    after = json.loads(_checked(capsys, job))
    assert before["runs"][0]["condition"] == 1.0
    assert 0.9 < after["runs"][0]["condition"] < 1.0
    assert after["runs"][0]["reach_m"] < before["runs"][0]["reach_m"]
    part, was = (plan["mixes"][0]["parts"][0] for plan in (after, before))
    assert part["cover_factor"] == pytest.approx(1.0 - 0.25 * 9 / 11, abs=0.006)
    assert part["cover_m2_per_m3"] < was["cover_m2_per_m3"]
    assert after["plan"] != before["plan"]
    assert any("learned from 9 records" in note for note in after["assumed"])
    told(capsys, str(season), "--apply")
    assert (season / "learned.yaml").read_bytes() == text
    with opened(None, season) as archive, archive.reading() as connection:
        assert len(connection.execute(CORRECTIONS.select()).all()) == 2


@pytest.mark.ci
def test_each_changed_value_is_kept_with_what_it_was_before_and_listed(
    season: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert json.loads(told(capsys, str(season), "--json"))["corrections"] == []
    first = json.loads(told(capsys, str(season), "--apply", "--json"))["corrections"]
    assert [(row["kind"], row["about"], row["key"], row["old"], row["records"]) for row in first] == [
        ("pumps", ["Case", "booster"], "condition", None, 9), ("surfaces", ["vinyl"], "cover", None, 9)
    ]  # fmt: skip
    assert [row["new"] for row in first] == [row["value"] for row in _learned(season, capsys)]
    assert json.loads(told(capsys, str(season), "--apply", "--json"))["corrections"] == first, "nothing new, no row"
    text = (season / "learned.yaml").read_text(encoding="utf-8")
    cover = f"cover: {first[1]['new']:.2f}"
    assert cover in text
    (season / "learned.yaml").write_text(text.replace(cover, "cover: 1.50"), encoding="utf-8")
    assert [row["old"] for row in _learned(season, capsys)] == [first[0]["new"], 1.5]
    later = json.loads(told(capsys, str(season), "--apply", "--json"))["corrections"]
    assert later[:2] == first
    assert [(row["key"], row["old"], row["new"]) for row in later[2:]] == [("cover", 1.5, first[1]["new"])]
    assert all(row["at"] for row in later)
    with opened(None, season) as archive:
        export(archive, season / "out")
    with opened("other.db", season) as other:
        take_in(other, season / "out")
        assert kept_corrections(other) == later


def _learned(season: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    return json.loads(told(capsys, str(season), "--json"))["learned"]


def _checked(capsys: pytest.CaptureFixture[str], job: str) -> str:
    assert main(["check", job, "--json"]) in (0, 1)
    return json.dumps(json.loads(capsys.readouterr().out)["jobs"][0])


@pytest.mark.ci
def test_a_faulty_learned_file_is_named_and_written_anew(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (season / "learned.yaml").write_text("pumps: {Case: {gone: {condition: 0.9, records: 3}}}\n", encoding="utf-8")
    assert main(["check", str(season / "2026-06-09" / "10-case.yaml")]) == 2
    assert "learned.yaml" in capsys.readouterr().err
    told(capsys, str(season), code=2)
    told(capsys, str(season), "--apply")
    assert main(["check", str(season / "2026-06-09" / "10-case.yaml")]) in (0, 1)


@pytest.mark.parametrize("which", ["", "2026-03-02/10-house-0"])
@pytest.mark.ci
def test_the_page_is_two_at_most_and_the_same_twice(
    season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], which: str
) -> None:
    path = str(season / which) if which else str(season)
    told(capsys, path, "-o", str(tmp_path / "a"))
    told(capsys, path, "-o", str(tmp_path / "b"))
    pdf = tmp_path / "a" / "compared.pdf"
    assert pdf.read_bytes() == (tmp_path / "b" / "compared.pdf").read_bytes()
    reader = PdfReader(pdf)
    assert len(reader.pages) <= 2
    text = "\n".join(page.extract_text() for page in reader.pages)
    assert "Planned against done" in text
    assert "mix on it" in text


@pytest.mark.ci
def test_long_names_many_sides_and_a_record_without_a_plan_fit_the_page(tmp_path: Path) -> None:
    plan = seasons.plan_of(tmp_path)
    name = "gable over the conservatory, north side " * 3
    sides = [{**plan["work"][0], "surface": f"{name}{number}"} for number in range(30)]
    parts = [{**plan["mixes"][0]["parts"][0], "surface": side["surface"]} for side in sides]
    long = {**plan, "title": "<Offices> & " + name * 2, "work": sides, "mixes": [{**plan["mixes"][0], "parts": parts}]}

    def done(_: int, record: dict[str, Any]) -> None:
        run = plan["runs"][0]["name"]
        record["sides"] = [seasons.side(side["surface"], run, mix_m3=1.0, dwell_s=5.0, rinse_m3=0.1) for side in sides]
        record["cost"] = "bleach & <soap>, " + name * 3

    seasons.keep(tmp_path, seasons.season(long, 3, done))
    with opened(None, tmp_path) as archive:
        keep_record(archive, {**seasons.empty_record(plan), "job": "2026-03-30/10-alone"}, plan=None, plan_number=None,
                    source="by hand")  # fmt: skip
    for which, paper in (("", "a4"), ("2026-03-02", "letter"), ("2026-03-30/10-alone", "letter")):
        path = str(tmp_path / which) if which else str(tmp_path)
        assert main(["compare", path, "-o", str(tmp_path / paper), "--paper", paper, "--units", "si"]) == 0
        first, *more = PdfReader(tmp_path / paper / "compared.pdf").pages
        assert len(more) <= 1
        assert ("Without a plan" in first.extract_text()) == ("03-02" not in which)


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["2026-03-02", "--apply"], "compare.part"),
        (["2026-06-09/10-case.yaml"], "compare.nothing"),
        (["--since", "2027-01-01"], "compare.nothing"),
        (["--since", "spring"], "date.text"),
        (["rigs"], "file.folder"),
    ],
)
def test_what_cannot_be_compared_is_a_fault(
    season: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, words: list[str], code: str
) -> None:
    monkeypatch.chdir(season)
    assert main(["compare", *words]) == 2
    assert code in capsys.readouterr().err
    assert main(["compare", *words, "--json"]) == 2
    assert [fault["code"] for fault in json.loads(capsys.readouterr().out)["faults"]] == [code]


def test_there_is_nothing_to_compare_before_anything_is_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    workspaces.write(tmp_path, workspaces.base())
    assert main(["compare", str(tmp_path)]) == 2
    assert "no archive yet" in capsys.readouterr().err
    assert not (tmp_path / "archive.db").exists()
    assert main(["compare", str(tmp_path.parent / "nowhere")]) == 2


@pytest.mark.ci
def test_a_falling_pump_is_told_with_its_band_and_its_dates(season: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = told(capsys, str(season))
    assert "booster of Case loses" in text
    assert "under 95 % since about 2026-03-" in text
    assert "under 85 % about 2026-" in text
    assert "(between 2026-" in text
    (pump,) = [one for one in json.loads(told(capsys, str(season), "--json"))["trends"] if one["subject"] == "pump"]
    assert pump["low"] < pump["now"] < pump["high"]
    assert (pump["moves"], pump["worn"], pump["known"]) == (True, True, True)
    first, second = pump["below"]
    assert (first["share"], second["share"]) == (0.95, 0.85)
    assert first["date"] < second["date"]
    assert second["earliest"] <= second["date"] <= second["latest"]
