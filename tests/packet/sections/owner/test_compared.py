"""The page of what was done: two at most whatever it has to tell, and what is left out is counted on it."""

from __future__ import annotations

import datetime
import re
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from planner.office import compare_words as words
from planner.packet.compared import ComparedPage, compared_pdf
from planner.packet.drawings.charts import Falls
from planner.packet.pages.pages import Paper
from tests.sampled import in_ci


def row(name: str, columns: int, last: str = "") -> tuple[str, ...]:
    return (name, *(["12"] * (columns - 2)), last)


def page_with(many: int, said: int) -> ComparedPage:
    """`many` rows in each table and `said` sentences of each kind, every one with a name of its own."""
    long = "and what stands behind it, told in as many words as such a sentence has on a day when much went otherwise."
    return ComparedPage(
        company="Case Wash", line="9 jobs", period="2026-03-02 to 2026-03-11", jobs="9 jobs", one=False, judged=99,
        outside=many, planless=0, callbacks=0, date=datetime.date(2026, 3, 11),
        head=("job", *words.FIGURE_HEAD),
        figures=tuple(row(f"figure{n:02}x", len(words.FIGURE_HEAD) + 1, "LOW") for n in range(many)),
        season_head=words.SEASON_HEAD,
        season=tuple(row(f"season{n:02}x", len(words.SEASON_HEAD), str(n) if n else "") for n in range(many)),
        trend_head=words.TREND_HEAD, trends=tuple(row(f"trend{n:02}x", len(words.TREND_HEAD)) for n in range(many)),
        tally_head=words.TALLY_HEAD, tallies=tuple(row(f"tally{n:02}x", len(words.TALLY_HEAD)) for n in range(many)),
        causes=tuple(f"cause{n:02}x {long}" for n in range(said)),
        forecasts=tuple(f"forecast{n:02}x {long}" for n in range(said)),
        learned=tuple(f"learned{n:02}x {long}" for n in range(said)),
        applied=False, costs="",
    )  # fmt: skip


NAMES = {
    "figure": "figures? outside", "cause": "causes?", "forecast": "forecasts?", "learned": "things? learned",
    "season": "rows? of the season", "trend": "trends?", "tally": "rows? of cost",
}  # fmt: skip


def text_of(content: bytes) -> str:
    first, *more = PdfReader(BytesIO(content)).pages
    assert len(more) <= 1
    return " ".join(word for page in (first, *more) for word in page.extract_text().split())


@pytest.mark.parametrize(
    ("many", "said"), [(1, 1), *(in_ci(one) for one in ((9, 3), (14, 2), (40, 1), (3, 9))), (40, 12)]
)
@pytest.mark.parametrize("paper", ["letter", in_ci("a4")])
@pytest.mark.ci
def test_all_of_it_is_on_two_pages_or_counted_as_left_out(paper: Paper, many: int, said: int) -> None:
    text = text_of(compared_pdf(page_with(many, said), paper))
    left = text.partition("Left out for room:")[2]
    for name, called in NAMES.items():
        shown = set(re.findall(rf"{name}\d\dx", text))
        counted = re.search(rf"(\d+) {called}", left)
        whole = said if name in ("cause", "forecast", "learned") else many
        assert len(shown) + (int(counted[1]) if counted else 0) == whole, (name, left)
    assert text.index("forecast00x") < text.index("learned00x") < text.index("cause00x"), "what to act on leads"
    assert "cause00x" in text
    assert "learned00x" in text


@pytest.mark.ci
def test_of_the_season_those_rows_stay_that_have_most_outside() -> None:
    text = text_of(compared_pdf(page_with(90, 2), "letter"))
    shown = [int(number) for number in re.findall(r"season(\d\d)x", text)]
    assert shown == list(range(90 - len(shown), 90))


def test_what_fits_is_told_whole() -> None:
    assert "Left out" not in text_of(compared_pdf(page_with(2, 2), "letter"))
    assert "Left out" not in text_of(compared_pdf(replace(page_with(2, 2), one=True), "a4"))


def test_a_pump_that_falls_is_drawn_with_its_dates_and_what_a_booked_job_takes() -> None:
    def day(number: int) -> datetime.date:
        return datetime.date(2026, 3, 1) + datetime.timedelta(days=number)

    one = Falls(
        name="booster of Case", first=day(0), last=day(60), now=0.87, per_year=-0.6,
        below=((0.95, day(11)), (0.85, day(72))), needs=((day(100), 0.84),),
    )  # fmt: skip
    assert one.on(day(60)) == 0.87
    assert one.on(day(0)) > 0.95 > one.on(day(72)) > one.on(day(100))
    text = text_of(compared_pdf(replace(page_with(2, 2), falls=(one,)), "letter"))
    for said in ("booster of Case, head left", "87 % now", "95 %", "85 %", "2026-03-12", "2026-05-12", "needs 84 %"):
        assert said in text
    assert text.index("forecast00x") < text.index("87 % now") < text.index("trend00x")
