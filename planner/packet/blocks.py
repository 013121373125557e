"""What a page says, before anything is known of type, paper or printing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any, Literal, TypeAlias

from planner.checks.model import Level
from planner.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A run of words; `strong` marks a number to act on."""

    text: str
    strong: bool = False


Spans: TypeAlias = tuple[Span, ...]
Role: TypeAlias = Literal["both", "lead", "second", "owner"]
"""Whose sheet a page is."""


def said(text: str) -> Spans:
    """Plain words as spans."""
    return (Span(text=text),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """The head of a section of the page, under a rule; over steps, with the heads of their `columns` on its line."""

    spans: Spans
    columns: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Running text. `use` is a key of style.FACES."""

    spans: Spans
    use: str = "body"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bullet:
    """One line of a list that nobody ticks."""

    spans: Spans


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """What may go wrong, said where it may go wrong."""

    spans: Spans


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One action with a box to tick, never parted from its caution.

    Across a page it has columns of its own for what `should` be read and what to do if it `differs`. `rounds` are times
    at which it is done again, each with a box, its clock and a word; `write` is where what was read goes; `number` is
    given when the book is bound, where the sheet counts its steps, and so are the `columns`, where they begin [pt], and
    `tick`, the name of its box's field. `acts` are the ids of the procedure's acts that it prints.
    `together`: on one page with the steps by the clock after it, which are done in turn.
    """

    spans: Spans
    caution: Spans | None = None
    should: Spans = ()
    differs: Spans = ()
    rounds: tuple[tuple[str, str], ...] = ()
    write: WriteIn | None = None
    number: int = 0
    columns: tuple[float, float] = (254.0, 363.0)
    tick: str = ""
    acts: tuple[str, ...] = ()
    together: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StepHead:
    """The heads of the columns that steps have across a page; `columns` as a step's."""

    columns: tuple[float, float] = (254.0, 363.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A stop before an act: questions answered yes, and initials of `who`; its frame holds the act it `guards`.

    `number` is the procedure's own, or given when the book is bound; `acts` as a step's.
    """

    title: str
    questions: Spans
    number: int = 0
    who: tuple[str, ...] = ("lead", "second")
    guards: Step | None = None
    acts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WriteIn:
    """An empty box to write in, `width` and `height` in pt, several lines of text where it is `tall`.

    `name` is its field's, without the job's id before it: a key path of a record, or what no record takes
    (attached.UNKEPT), given when the book is bound.  `label`
    says what goes in, `planned` what the plan has for it, `unit` what a bare number is in; `lead` stands before a
    number, as `5 gal in` before a bucket's seconds.
    """

    width: float = 60.0
    height: float = 18.0
    name: str = ""
    label: str = ""
    planned: str = ""
    unit: str = ""
    lead: str = ""
    tall: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """A check's answer as a shape; `told` is what it says where that is not the level."""

    level: Level
    told: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """A figure of a table with its shape before it; `framed` is the one that was planned with."""

    text: str
    level: Level | None = None
    framed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """Hazard signs side by side, by their names in drawings/ghs.py, each `size` pt."""

    names: tuple[str, ...]
    size: float = 34.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticks:
    """A box to tick for each of `count` times; of many a count to write down. `tick` as a step's."""

    count: int
    tick: str = ""


Cell: TypeAlias = str | Spans | WriteIn | State | Marked | Signs | Ticks


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under a head, which may be empty. `widths` are shares of the measure; `right`, `act` name columns by index.

    `tight` rows hold boxes to write in: less white, what is beside a box in its middle, no rules. The rows of `across`,
    by index, have one cell for the whole width. `abreast` counts tables of like columns that stand side by side in one.
    `acts` are those its rows print, as a step's.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[float, ...]
    right: frozenset[int] = frozenset()
    act: frozenset[int] = frozenset()
    tight: bool = False
    across: frozenset[int] = frozenset()
    abreast: int = 1
    acts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fields:
    """Label and text, or label and a box to write in, one row each. `label` is the label column's width in pt."""

    rows: tuple[tuple[str, Spans | WriteIn], ...]
    label: float = 64.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """White space, `height` pt."""

    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """A key figure: what it is, the number large with its unit, lines below, the last of them bold."""

    label: str
    number: str
    unit: str
    lines: tuple[str, ...] = ()
    last: str = ""
    failing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyFigures:
    """Tiles side by side, four across a page; two alone take half of it each."""

    tiles: tuple[Tile, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictItem:
    """One line of the verdict: a shape, a word or two, and what was found; or an act, and the page it is done on."""

    level: Level
    title: str
    text: str = ""
    page: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Go, go with care, or stop: the shape says it before the words do."""

    level: Level
    word: str
    count: str
    items: tuple[VerdictItem, ...] = ()
    more: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoNotStart:
    """A held job's reason beside a black tile, and what to leave alone. Its page needs no other title."""

    reason: Spans
    leave: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A drawing: `paint(width, height)` gives vectors. It takes the largest of `heights` (pt) that fits the page.

    `told` are the same things as sentences, for who cannot see it; every number in them stands on paper. Where room is
    short, one of a lower `rank` has its before the others.
    """

    paint: Callable[[float, float], Any]
    heights: tuple[float, ...]
    title: str = ""
    told: str = ""
    rank: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPage:
    """What follows, up to the next of these, begins a page unless all of it fits what is left of this one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Two:
    """Two columns side by side; `split` counts columns of twelve."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    split: tuple[int, int] = (7, 5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """Short things that run down one half of the page and on down the other."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """A square code to scan: `text` is all it holds, `side` its width in pt without the white it needs around it."""

    text: str
    side: float = 51.5


Block: TypeAlias = (
    Heading
    | Text
    | Bullet
    | Caution
    | Step
    | StepHead
    | Hold
    | Table
    | Fields
    | Gap
    | KeyFigures
    | Verdict
    | DoNotStart
    | Picture
    | NewPage
    | Two
    | Columns
    | Code
)


def inner(block: Block) -> tuple[Block, ...]:
    """The blocks that stand inside one, in the order they are read."""
    match block:
        case Two():
            return (*block.left, *block.right)
        case Columns():
            return block.blocks
        case Hold(guards=Step() as guards):
            return (guards,)
    return ()


def walked(blocks: Iterable[Block]) -> Iterator[Block]:
    """Every block in the order they are read, each before what stands inside it."""
    for block in blocks:
        yield block
        yield from walked(inner(block))


def renewed(block: Block, make: Callable[[tuple[Block, ...]], tuple[Block, ...]]) -> Block:
    """A block with what stands inside it made anew by `make`, as many as there were."""
    match block:
        case Two():
            return replace(block, left=make(block.left), right=make(block.right))
        case Columns():
            return replace(block, blocks=make(block.blocks))
        case Hold(guards=Step() as guards):
            (step,) = make((guards,))
            assert isinstance(step, Step)
            return replace(block, guards=step)
    return block


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One place of work on the sheet of one `role`. `foot` is its own foot line; empty: where to go next.

    Each role begins a sheet, on its front. Within it a section stands below the one before it where that saves a page.
    """

    key: str
    title: str
    place: str
    blocks: tuple[Block, ...]
    foot: str = ""
    role: Role = "both"

    @property
    def owner(self) -> bool:
        """Whether it is not for the crew."""
        return self.role == "owner"
