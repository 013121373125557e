"""Opens a PDF that somebody sends: the texts in its form, the files attached to it, its subject.

Everything in the file is data, and any of it may be broken or lead back into itself: walks are counted, and what the
PDF library raises becomes one of our faults.  Only values of form fields are read, never what is painted.
"""

from __future__ import annotations

import json
import logging
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import field
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from planner.frozen import dataclass
from planner.writing import ordinary, read_ordinary

MOST_BYTES: Final = 64_000_000
"""No packet comes near it (our choice)."""
LONGEST: Final = 4000
"""Letters of one box; two pages of writing (our choice)."""
_MOST: Final = 5000
"""Fields, and branches of a tree (our choice)."""
_DEEPEST: Final = 32


class Unfit(Exception):
    """The file cannot be read as a packet: a fault's code, what is wrong, and what to do."""

    def __init__(self, code: str, message: str, remedy: str) -> None:
        super().__init__(message)
        self.code, self.message, self.remedy = code, message, remedy


@dataclass(slots=True, kw_only=True)
class Form:
    """The texts of a form by its fields' full names, and why a field has none that can be read."""

    texts: dict[str, str] = field(default_factory=dict)
    strange: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """What was found in a file: its form, its attached files of JSON by name, and its subject."""

    form: Form
    files: Mapping[str, dict[str, Any]]
    subject: str


def opened(path: Path, wanted: frozenset[str]) -> Opened:
    """The file's form and those of its attached files that are `wanted`. Raises Unfit, and no other exception."""
    content = _content(path)
    try:
        return _read(content, wanted)
    except Unfit:
        raise
    except Exception:  # the library raises what it likes on a broken file, RecursionError among it
        raise Unfit(
            "filled.damaged", "the file is damaged: it begins as a PDF but cannot be read as one",
            "Save the filled packet again from the program it was filled in, and copy it whole.",
        ) from None  # fmt: skip


def _content(path: Path) -> bytes:
    try:
        if (size := ordinary(path)) > MOST_BYTES:
            raise Unfit(
                "filled.large",
                f"the file holds {size:,} bytes, more than the {MOST_BYTES:,} that are read: no packet is that large",
                "Name the packet that was filled, not a scan or a collection.",
            )  # fmt: skip
        content = read_ordinary(path, MOST_BYTES)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be opened"
        raise Unfit(
            "filled.unreadable", f"the file cannot be opened: {reason}",
            "Name the filled packet with its folder, such as `filled/10-boathouse.pdf`.",
        ) from None  # fmt: skip
    if b"%PDF-" not in content[:1024]:
        raise Unfit(
            "filled.not_pdf", "the file is not a PDF",
            "Name the packet as it was saved after filling, a file that ends in .pdf.",
        )  # fmt: skip
    if content.rpartition(b"%%EOF")[2].strip(b"\x00\t\n\f\r ") or b"%%EOF" not in content:
        # The library would mend it, and find the boxes as they were before the last saving.
        raise Unfit(
            "filled.truncated", "the file ends too soon: part of it is missing",
            "Copy it again from where it was filled; check that the whole file arrived.",
        )  # fmt: skip
    return content


def _read(content: bytes, wanted: frozenset[str]) -> Opened:
    from pypdf import PdfReader
    from pypdf.errors import DependencyError

    with _quiet():
        reader = PdfReader(BytesIO(content), strict=False)
        if reader.is_encrypted:
            try:
                open_to_all = bool(reader.decrypt(""))
            except (DependencyError, NotImplementedError):
                open_to_all = False
            if not open_to_all:
                raise Unfit(
                    "filled.locked", "the file is locked with a password",
                    "Save a copy without a password, and name that.",
                )  # fmt: skip
        root = _plain(reader.trailer["/Root"])
        subject = _of(reader.trailer.get("/Info"), "/Subject")
        return Opened(
            form=_form(root), files=_attachments(root, wanted), subject=subject if isinstance(subject, str) else ""
        )


@contextmanager
def _quiet() -> Iterator[None]:
    """The library tells a log of all that it mends; what comes of it is said here."""
    log = logging.getLogger("pypdf")
    silent, kept = logging.NullHandler(), log.propagate
    log.addHandler(silent)
    log.propagate = False
    try:
        yield
    finally:
        log.removeHandler(silent)
        log.propagate = kept


def _plain(thing: Any) -> Any:
    """What a reference leads to; None where it leads nowhere."""
    for _ in range(_DEEPEST):
        if type(thing).__name__ == "NullObject":
            return None
        if type(thing).__name__ != "IndirectObject":
            return thing
        thing = thing.get_object()
    return None


def _of(thing: Any, key: str) -> Any:
    """What a dictionary has under a key; None where it is no dictionary, or has nothing there."""
    thing = _plain(thing)
    return _plain(dict.get(thing, key)) if isinstance(thing, dict) else None


def _each(thing: Any) -> list[Any]:
    """The members of an array, references as they are. Raises Unfit where there are more than can be meant."""
    thing = _plain(thing)
    if not isinstance(thing, list):
        return []
    if len(thing) > _MOST:
        raise _endless()
    return list(thing)


def _endless() -> Unfit:
    return Unfit(
        "filled.damaged", "the file's form has no end: its fields are too many, or lead back into each other",
        "Fill the packet again as it was printed.",
    )  # fmt: skip


def _attachments(root: Any, wanted: frozenset[str]) -> dict[str, dict[str, Any]]:
    """The wanted files as JSON. One that cannot be read is as good as lost; who misses it says what that costs."""
    found: dict[str, dict[str, Any]] = {}
    for name, place in _named(_of(_of(root, "/Names"), "/EmbeddedFiles")):
        if name not in wanted or name in found:
            continue
        stream = _of(_of(place, "/EF"), "/F")
        try:
            read = json.loads(bytes(stream.get_data()).decode("utf-8"))
        except Exception:  # no stream, no text, no JSON, nested too deep
            continue
        if isinstance(read, dict):
            found[name] = read
    return found


def _named(tree: Any) -> Iterator[tuple[str, Any]]:
    """Names and values of a name tree, its branches one after another."""
    branches, walked = [tree], 0
    while branches:
        branch = branches.pop()
        walked += 1
        if walked > _MOST or len(branches) > _MOST:
            raise _endless()
        pairs = _each(_of(branch, "/Names"))
        for name, value in zip(pairs[::2], pairs[1::2], strict=False):
            yield str(_plain(name)), value
        branches += reversed(_each(_of(branch, "/Kids")))


def _form(root: Any) -> Form:
    """Every text of the form by its field's full name. A field without a value takes that of the level above."""
    found = Form()
    fields = _each(_of(_of(root, "/AcroForm"), "/Fields"))
    waiting: list[tuple[Any, str, Any, int]] = [(one, "", None, 0) for one in reversed(fields)]
    walked = 0
    while waiting:
        one, above, value, depth = waiting.pop()
        walked += 1
        if walked > _MOST or len(waiting) > 2 * _MOST or depth > _DEEPEST:
            raise _endless()
        part, own = _of(one, "/T"), _of(one, "/V")
        name = ".".join(words for words in (above, str(part)) if words) if part is not None else above
        value = own if own is not None else value
        kids = _each(_of(one, "/Kids"))
        if kids:
            waiting += [(kid, name, value, depth + 1) for kid in reversed(kids)]
        elif name:
            _take(found, name, value)
    return found


def _take(found: Form, name: str, value: Any) -> None:
    """One field's value; the same name twice must say the same, or nothing once."""
    try:
        text = _text(value)
    except ValueError as error:
        found.strange[name] = str(error)
        return
    before = found.texts.get(name, "")
    if text and before and text != before:
        found.strange[name] = "the file holds two different entries for it"
    found.texts[name] = before or text


def _text(value: Any) -> str:
    """A value as one clean line. Raises ValueError with what it is instead."""
    if value is None:
        return ""
    if hasattr(value, "get_data"):  # a long text may stand in a stream of its own
        value = bytes(value.get_data())
    if isinstance(value, bytes):
        wide = value[:2] in (b"\xfe\xff", b"\xff\xfe")
        value = value.decode("utf-16", "replace") if wide else value.decode("utf-8", "replace")
    if not isinstance(value, (str, int, float)):
        raise ValueError("it holds something that is not text")
    text = clean(str(value))
    if len(text) > LONGEST:
        raise ValueError(f"it holds more than {LONGEST:,} letters")
    return text


def clean(text: str) -> str:
    """A text on one line: control, bidi and invisible characters gone, white space single."""
    return " ".join("".join(_kept(letter) for letter in unicodedata.normalize("NFC", text)).split())


def _kept(letter: str) -> str:
    kind = unicodedata.category(letter)
    if kind in ("Zs", "Zl", "Zp") or letter in "\r\n\t\v\f":
        return " "
    return "" if kind in ("Cc", "Cf", "Cs", "Co", "Cn") else letter
