"""The HTML twin says what the paper says, no more and no less, and whatever was written in it stays words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import pytest

from planner.packet import book as binding
from planner.packet.blocks import Code, Picture, Section, Span, WriteIn
from planner.packet.book import Book, day_book
from planner.packet.html import twin
from tests.packet.builders import finding, job, quiet, run, short, written
from tests.packet.figures.jobs import book_of, job_of, owner_of
from tests.packet.figures.read import numbers_painted
from tests.packet.pages.test_packet import ATTACK, CASES
from tests.packet.printing import job_book, owner_book
from tests.sampled import one_in

DEMO = ("2026-06-09/10-millrace", "2026-06-10/30-kiln-acid", "2026-06-09/30-kiln", "Ferris Court")
OWNERS = tuple(f"owner: {name}" for name in DEMO[:3])
SYSTEMS = {
    "2026-06-09/10-millrace": "us",
    "2026-06-10/30-kiln-acid": "si",
    "2026-06-09/30-kiln": "us",
    "Ferris Court": "si",
}
TOKEN = re.compile(r"\d[\d,.:/]*(?<![,.:/])")
VOID = {"meta", "input", "br", "link", "img"}
KNOWN = VOID | {
    "html", "head", "title", "style", "body", "header", "nav", "main", "section", "h1", "h2", "h3", "p", "ul", "li", "a",
    "dl", "dt", "dd", "div", "table", "thead", "tbody", "tr", "th", "td", "strong", "label",
}  # fmt: skip
INSIDE = {"li": "ul", "tr": {"thead", "tbody"}, "th": "tr", "td": "tr", "dt": "dl", "dd": "dl"}


class Strict(HTMLParser):
    """Refuses what a browser would have to guess: tags not closed, closed twice, unknown or in the wrong place."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.words: list[str] = []
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.heads: list[int] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in KNOWN, tag
        found = {name: value or "" for name, value in attrs}
        assert len(found) == len(attrs), f"{tag} twice the same attribute"
        wanted = INSIDE.get(tag)
        if wanted is not None:
            assert self.open[-1] in (wanted if isinstance(wanted, set) else {wanted}), (tag, self.open)
        if tag in ("p", "h1", "h2", "h3", "ul", "table", "dl"):
            assert "p" not in self.open, f"{tag} inside a paragraph"
        if re.fullmatch(r"h\d", tag):
            self.heads.append(int(tag[1]))
        self.tags.append((tag, found))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, tag
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.words.append(data)

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def unknown_decl(self, data: str) -> None:
        raise AssertionError(data)

    def handle_pi(self, data: str) -> None:
        raise AssertionError(data)


def parsed(html: bytes) -> Strict:
    reader = Strict()
    text = html.decode("utf-8")
    assert text.startswith("<!DOCTYPE html>\n")
    reader.feed(text)
    reader.close()
    assert reader.open == []
    return reader


def plain(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


@lru_cache(maxsize=64)
def book(name: str) -> Book:
    """A job of the demo, a sanity case, or a case made by hand, bound once; `owner: ` before it is its owner's file."""
    make, job_name = (owner_book, name[7:]) if name.startswith("owner: ") else (job_book, name)
    if job_name in CASES:
        return make(CASES[job_name](), paper="letter", system="us")
    return (book_of if make is job_book else owner_of)(job_name, SYSTEMS[job_name])


@lru_cache(maxsize=64)
def read(name: str) -> Strict:
    return parsed(twin(book(name)))


def texts_of(part: Any) -> Iterator[str]:
    """Every text of the blocks, found by walking them field by field, so that a new kind of block is missed here."""
    if isinstance(part, str):
        yield part
    elif isinstance(part, Span):
        yield part.text
    elif isinstance(part, (tuple, list)):
        for one in part:
            yield from texts_of(one)
    elif isinstance(part, Picture):
        yield part.told
    elif isinstance(part, Code):
        yield part.text
    elif hasattr(part, "__slots__") and not isinstance(part, WriteIn):
        for name in part.__slots__:
            if name not in ("use", "level", "key", "paint", "heights", "names", "acts", "who", "role", "tick"):
                yield from texts_of(getattr(part, name))


def walked(part: Any) -> Iterator[Any]:
    """Every block, and what stands in it."""
    yield part
    inside = (
        part if isinstance(part, (tuple, list)) else [getattr(part, name) for name in getattr(part, "__slots__", ())]
    )
    for one in inside:
        yield from walked(one)


@pytest.mark.parametrize("name", [*one_in(4, [*DEMO, *OWNERS]), "held", "six runs", "hard names"])
def test_every_text_of_the_blocks_is_in_the_twin_and_in_its_place(name: str) -> None:
    """Each sheet's own words stand in its own section of the file."""
    sheets = re.split(r"(?=<section )", twin(book(name)).decode("utf-8"))[1:]
    assert len(sheets) == len(book(name).sections)
    missing = []
    for section, sheet in zip(book(name).sections, sheets, strict=True):
        reader = Strict()
        reader.feed(sheet.split("</main>")[0])
        found = plain("".join(reader.words))
        for text in texts_of(section):
            words = plain("".join(c for c in text if c.isprintable()))
            if words and words not in found:
                missing.append(f"{section.key}: {words}")
    assert not missing, "\n".join(missing)


@pytest.mark.ci
@pytest.mark.parametrize("name", [*DEMO, *OWNERS])
def test_every_number_of_the_twin_is_on_paper(name: str) -> None:
    codes = " ".join(
        block.text for section in book(name).sections for block in walked(section.blocks) if isinstance(block, Code)
    )
    painted = {*numbers_painted(book(name).pdf), *TOKEN.findall(codes)}  # the square code is on paper, too
    # A drawing that a full page leaves out is told all the same: to whom it is read, it takes no room.
    left_out = [
        plain(block.told)
        for section in book(name).sections
        for block in walked(section.blocks)
        if isinstance(block, Picture) and block.heights[-1] == 0.0
    ]
    words = plain(" ".join(plain(text) for text in read(name).words))
    for told in left_out:
        assert told in words
        words = words.replace(told, "")
    said = set(TOKEN.findall(words))
    assert len(said) > (10 if name == "2026-06-09/30-kiln" else 40)
    assert not {number for number in said if number not in painted}


@pytest.mark.parametrize("name", [*DEMO, *OWNERS, "held", "six runs", "12 hoses", "no day"])
def test_heads_go_down_one_step_at_a_time_and_every_sheet_has_its_own(name: str) -> None:
    heads = read(name).heads
    assert heads[0] == 1
    assert heads.count(1) == 1
    assert heads.count(2) == len(book(name).sections)
    assert all(later <= before + 1 for before, later in pairwise(heads))


@pytest.mark.parametrize("name", [*DEMO, "held"])
def test_every_box_has_a_label_of_its_own_and_every_link_leads_somewhere(name: str) -> None:
    tags = read(name).tags
    boxes = [found["id"] for tag, found in tags if tag == "input"]
    assert all(found["type"] == "checkbox" for tag, found in tags if tag == "input")
    assert [found["for"] for tag, found in tags if tag == "label"] == boxes
    names = [found["id"] for _, found in tags if "id" in found]
    assert len(set(names)) == len(names)
    links = [found["href"] for tag, found in tags if tag == "a"]
    assert len(links) == len(book(name).sections)
    assert all(link.startswith("#") and link[1:] in names for link in links)
    assert all(found["aria-labelledby"] in names for tag, found in tags if tag == "section")


def test_every_row_of_a_table_has_as_many_cells_as_its_head_and_heads_say_what_they_head() -> None:
    for name in (*DEMO, *OWNERS):
        for table in re.findall(r"<table>.*?</table>", twin(book(name)).decode(), flags=re.S):
            counts = {
                len(re.findall(r"<t[hd]", row)) for row in re.findall(r"<tr>.*?</tr>", table, flags=re.S)
                if "colspan" not in row
            }  # fmt: skip
            assert len(counts) <= 1, table
            assert re.findall(r"<th (?!scope=\"(?:col|row)\")", table) == []


def test_a_held_job_has_nothing_to_tick_and_says_first_why() -> None:
    reader = read("held")
    assert not [tag for tag, _ in reader.tags if tag == "input"]
    words = plain(" ".join(reader.words))
    assert "Do not start" in words
    assert words.index("the jet stops 7 ft short") < words.index("Height needed")


def test_a_job_that_goes_has_boxes_and_no_word_of_being_held() -> None:
    reader = read("2026-06-09/10-millrace")
    assert sum(tag == "input" for tag, _ in reader.tags) > 20
    assert "Held" not in "".join(reader.words)


def test_what_somebody_wrote_is_words_and_nothing_else() -> None:
    wicked = '"><script>alert(1)</script><img src=x onerror=alert(1)>&amp;\x00\x1b\u202e</title></style><!-- <p'
    made = job(
        [run(wicked, hose_names=[wicked, "a\u2028b"])], [short(wicked), finding("reach.pattern", wicked, "caution", "fan_high"),
        *quiet()][:1], title=wicked, address=ATTACK, contact=wicked, notes=wicked, rig=wicked, phones={wicked: wicked},
    )  # fmt: skip
    html = twin(job_book(made, paper="letter", system="us"))
    reader = parsed(html)  # a tag of somebody's own would be unknown, or unclosed
    assert not {"script", "img", "iframe", "object"} & {tag for tag, _ in reader.tags}
    allowed = {"lang", "charset", "http-equiv", "content", "name", "class", "role", "aria-label", "aria-labelledby", "href",
               "id", "scope", "type", "for", "colspan"}  # fmt: skip
    assert {name for _, found in reader.tags for name in found} <= allowed
    text = html.decode()
    assert not re.search("[\x00-\x09\x0b-\x1f\u202a-\u202e\u2028]", text)
    assert "<script>alert(1)</script>" in "".join(reader.words)
    assert re.search(r"https?:|url\(|@import|src=", re.sub(r"&\w+;", "", re.sub(r">[^<]*<", "><", text))) is None


@pytest.mark.ci
def test_the_same_book_gives_the_same_bytes_and_lets_nothing_in_from_outside() -> None:
    again = binding.job_book(job_of(DEMO[0]), paper="letter", system="us")
    assert twin(again) == twin(book(DEMO[0]))
    policy = [found["content"] for tag, found in read(DEMO[0]).tags if found.get("http-equiv")]
    assert policy == ["default-src 'none'; style-src 'unsafe-inline'"]


def test_every_drawing_is_told_in_sentences_that_end() -> None:
    parts = [part for name in (*DEMO, *OWNERS) for section in book(name).sections for part in walked(section.blocks)]
    told = [part for part in parts if isinstance(part, Picture)]
    assert len(told) > 15
    for picture in told:
        assert re.search(r"[.!]$", picture.told), (picture.title, picture.told)
        assert ".." not in picture.told


def test_tables_that_stand_abreast_on_paper_are_tables_of_their_own() -> None:
    text = twin(job_book(written(), paper="letter", system="us")).decode()
    done = text[text.index('id="done"') :]
    heads = re.findall(r'<thead><tr><th scope="col">(.*?)</th>', done)
    assert heads[:4] == ["Times", "Water", "Mix", "By side"]
    times = done[done.index("Times") : done.index("</table>")]
    assert re.findall(r'<th scope="row">(.*?)</th>', times)[:2] == ["Arrived", "First spray"]
    assert "to fill in" in times


def test_a_day_has_a_twin_too() -> None:
    from planner.plan.days.day import plan_day

    day = [job_of("2026-06-09/10-millrace"), job_of("2026-06-09/20-granary")]
    made = day_book(plan_day([one.plan for one in day], frozenset(), frozenset()), day, paper="letter", system="us")
    words = plain("".join(parsed(twin(made)).words))
    assert "Tuesday, June 9, 2026" in words
    assert "From 7:00 am to" in words
    assert "In this order: drive, 1 Millrace" in words
    assert "whose boxes can be filled in" not in words


def test_nothing_that_only_paper_needs_makes_an_empty_part() -> None:
    for name in (*DEMO, *OWNERS):
        assert not re.search(r"<(p|ul|td colspan[^>]*|dl|h3|li)></", twin(book(name)).decode())


def test_a_section_made_by_hand_keeps_its_order() -> None:
    from planner.packet.blocks import Step, Text, Two, said

    blocks = (
        Two(left=(Text(spans=said("one")),), right=(Text(spans=said("two")),)), Step(spans=said("three")),
        Step(spans=said("four")), Text(spans=said("five")),
    )  # fmt: skip
    base = book("held")
    made = Book(
        pdf=b"",
        sections=(Section(key="k", title="T", place="", blocks=blocks),),
        masthead=base.masthead,
        bound=base.bound,
    )
    words = plain(" ".join(parsed(twin(made)).words))
    assert [words.index(word) for word in ("one", "two", "three", "four", "five")] == sorted(
        words.index(word) for word in ("one", "two", "three", "four", "five")
    )
