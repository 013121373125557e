"""Questions asked one by one, each answer read at once; one may go back, stop, and go on another day.

A walk is a generator: it yields a question and is sent what its answer was read to. It knows nothing of terminals, and
the same answers always lead to the same questions. So going back is walking again with one answer less, and a draft
is nothing but the answers.
"""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Callable, Generator, Mapping
from dataclasses import field
from typing import Any, Final, Literal, TypeVar

from planner.frozen import dataclass
from planner.terminal import asked, on_one_line

Made = TypeVar("Made")
Walk = Generator["Question", Any, Made]
"""Questions that come to something."""

BACK: Final = "back"
STOP: Final = "stop"
HELP: Final = "?"
USUAL: Final = "-"
_OWN: Final = "as you said"
LONGEST: Final = 2000
"""Characters of one answer: as many as a key of words takes."""

_BARE = re.compile(r"[+-]?[0-9][0-9.,/ ]*")
# What the strict YAML reader refuses; a tab is a space here, and U+FFFD stands for bytes that were no text.
_CONTROL = re.compile("[^\n\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffc\U00010000-\U0010ffff]")


class Unfit(Exception):
    """An answer that cannot be taken, with what is wrong and what to write instead."""

    def __init__(self, *told: tuple[str, str]) -> None:
        self.told = told
        super().__init__("; ".join(message for message, _ in told))


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question. `read` gives what an answer means, or raises Unfit; an empty answer is read to None.

    `blank` is what Enter means, None where an answer is needed; `unit` the one a bare number is given; `before` are
    lines said above it, `more` what `?` explains. `last`: all is said, and a script that ends here meant Enter.
    """

    key: str
    about: str
    read: Callable[[str], Any]
    unit: str = ""
    blank: str | None = None
    before: tuple[str, ...] = ()
    more: str = ""
    last: bool = False


class Ended(Exception):
    """The questions ended before their end: by a word, by Ctrl-C, or because the input did."""

    def __init__(self, *, how: Literal["stop", "done", "broken off", "input"]) -> None:
        self.how = how
        super().__init__(how)


@dataclass(slots=True, kw_only=True)
class Asking:
    """The answers so far, in order, and those given before to questions still to come.

    `said_as` says of those where they come from, but for what was typed in this sitting;
    `ends` is a word that ends the questions with all of them taken.
    """

    keep: Callable[[Mapping[str, str]], None] = lambda answers: None
    answers: dict[str, str] = field(default_factory=dict)
    ahead: dict[str, str] = field(default_factory=dict)
    said_as: str = _OWN
    ends: str = ""
    _offered: dict[str, str] = field(default_factory=dict)
    _own: set[str] = field(default_factory=set)

    def through(self, walk: Callable[[], Walk[Made]]) -> Made:
        """Ask all the way through. Raises Ended."""
        while True:
            going = walk()
            try:
                question = self._replayed(going, next(going))
                while True:
                    if (value := self._asked(question)) is _BACK:
                        break
                    question = going.send(value)
            except StopIteration as done:
                result: Made = done.value
                return result

    def _replayed(self, going: Walk[Any], question: Question) -> Question:
        """The first question without an answer; what no longer fits is offered again, not taken."""
        given, self.answers = self.answers, {}
        while question.key in given:
            text = given[question.key]
            try:
                value = question.read(text) if text else _blank(question)
            except Unfit:
                break
            if _meant(question, text, value) != text:
                break  # kept under its whole name, it now is another: a list it is on has changed
            self.answers[question.key] = given.pop(question.key)
            question = going.send(value)
        self.ahead |= {key: text for key, text in given.items() if text}
        return question

    def _asked(self, question: Question) -> Any:
        for line in question.before:
            print(line)
        said = self.ahead.get(question.key, "")
        while True:
            try:
                said_as = _OWN if question.key in self._own else self.said_as
                text = line_of(_prompt(question, said, said_as))
            except Ended as ended:
                if not question.last or question.blank is None or ended.how != "input" or typed():
                    raise
                text = ""
            word = text.casefold()
            if word == STOP:
                raise Ended(how="stop")
            if self.ends and text == self.ends:
                raise Ended(how="done")
            if word == BACK:
                if self.gone_back():
                    return _BACK
                print("  this is the first question")
                continue
            if text == HELP:
                _explain(question)
                continue
            if said and not text:
                text = said
            elif said and text == USUAL and question.blank is not None:
                text = ""
            try:
                hold_plain(text)
                value = question.read(text) if text else _blank(question)
            except Unfit as unfit:
                for message, remedy in unfit.told:
                    print(f"  {message}; {remedy}")
                continue
            self.answers[question.key] = _meant(question, text, value)
            self.ahead.pop(question.key, None)
            self._offered[question.key] = said
            self.keep(self.answers | {key: said for key, said in self.ahead.items() if key not in self.answers})
            return value

    def gone_back(self) -> bool:
        """Take the last answer back, to be asked for again; False where there is none."""
        if not self.answers:
            return False
        key, text = self.answers.popitem()
        offered = self._offered.get(key, "")
        if text and text != offered:
            self._own.add(key)
        if text or offered:
            self.ahead[key] = text or offered  # what was left blank is offered again: nobody need know it by heart
        return True


_BACK = object()


def _blank(question: Question) -> Any:
    if question.blank is None:
        raise Unfit(("an answer is needed here", f"`{HELP}` explains, `{BACK}` goes to the question before"))
    return None


def _meant(question: Question, text: str, value: Any) -> str:
    """What an answer was read to where that is text and reads back as itself, else the answer as typed.

    A number in a list is kept as the name it stood for, and a bare number with its unit: neither comes to mean
    something else when lists or units change before a draft is gone on from.
    """
    parts = [value] if isinstance(value, str) else value if isinstance(value, tuple | list) else [value]
    if not all(isinstance(part, str) for part in parts):
        return text
    whole = ", ".join(parts)
    try:
        return whole if question.read(whole) == value else text
    except Unfit:
        return text


def _prompt(question: Question, said: str, said_as: str) -> str:
    unit = f" [{question.unit.replace('{}', '..')}]" if question.unit else ""
    shown = said if len(said) <= 60 else f"{said[:57]}..."
    if said:
        other = f"; {USUAL}: {question.blank}" if question.blank is not None else ""
        enter = f" (Enter: {shown}, {said_as}{other})"
    else:
        enter = f" (Enter: {question.blank})" if question.blank is not None else ""
    return f"{question.about}{unit}{enter}: "


def _explain(question: Question) -> None:
    needed = "An answer is needed here." if question.blank is None else f"Enter takes: {question.blank}."
    for line in (question.more or needed).splitlines():
        print(f"  {line}")
    for line in question.before:
        print(line)
    print(f"  `{BACK}` goes to the question before, `{STOP}` keeps the answers for later.")


def hold_plain(text: str) -> None:
    """Nothing where a text is one that an editor shows. Raises Unfit."""
    if "\ufffd" in text or any("\ud800" <= letter <= "\udfff" for letter in text):
        raise Unfit(("this is not UTF-8 text", "type it again"))
    if found := _CONTROL.search(text):
        raise Unfit((f"there is an invisible character here (U+{ord(found[0]):04X})", "type it again without it"))
    if len(text) > LONGEST:
        raise Unfit((f"this is {len(text)} characters long", f"keep an answer under {LONGEST}"))


def ready() -> None:
    """Get the standard input ready: bytes that are no text are told, not died of; arrow keys edit the line."""
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
    if typed():
        try:
            import readline
        except ImportError:
            return  # an editor of the line is a comfort, and not everywhere
        readline.parse_and_bind("tab: self-insert")


def typed() -> bool:
    """Whether somebody sits at a terminal; a closed input is none."""
    try:
        return sys.stdin is not None and sys.stdin.isatty()
    except ValueError:
        return False


def line_of(prompt: str) -> str:
    """One line, without its end and the spaces around it. Raises Ended."""
    try:
        *first, last = asked(on_one_line(prompt))
        for line in first:
            print(line)
        text = input(last).replace("\t", " ").strip()
    except KeyboardInterrupt:
        print()
        raise Ended(how="broken off") from None
    except (EOFError, OSError, ValueError, RuntimeError):
        # The input is closed, gone, or was never there.
        print()
        raise Ended(how="input") from None
    if not typed():
        print(_CONTROL.sub("?", text[:200]))  # nobody types here: what was answered is seen nowhere else
    return text


def is_bare(text: str) -> bool:
    """Whether a text is a number and nothing else."""
    return _BARE.fullmatch(text) is not None


def with_unit(text: str, unit: str) -> str:
    """A bare number with its unit (`{}` its place in it); any other text as it is."""
    if not unit or not _BARE.fullmatch(text):
        return text
    return unit.replace("{}", text) if "{}" in unit else f"{text} {unit}"
