"""Two thousand ways of spoiling good files: nothing but faults ever comes out."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.inputs.workspace import load
from planner.locate import jobs
from tests.inputs.desk import WORKSPACE

ODD = [
    *("~", "\t", "&a ", "*a", "!x ", "<<: ", "{", "[", "]", "}", ":", "- ", "'", '"', "#", "%", "|", ">"),
    *("? ", "...", "---\n"),
    *("\x00", "\ufeff", "\u202e", "\u2028", "\r", "é", "٣", "½"),
    *("10**10**10", "9" * 400, "1e999", "nan", "-0", "1/0", "0x10"),
]


def flip(data: bytes, dice: random.Random) -> bytes:
    spoiled = bytearray(data)
    for _ in range(dice.randint(1, 4)):
        spoiled[dice.randrange(len(spoiled))] ^= 1 << dice.randrange(8)
    return bytes(spoiled)


def lines(data: bytes, dice: random.Random) -> bytes:
    rows = data.split(b"\n")
    first, second = dice.randrange(len(rows)), dice.randrange(len(rows))
    match dice.randrange(3):
        case 0:
            del rows[first]
        case 1:
            rows.insert(second, rows[first])
        case _:
            rows[first], rows[second] = rows[second], rows[first]
    return b"\n".join(rows)


def tokens(data: bytes, dice: random.Random) -> bytes:
    words = data.split(b" ")
    first, second = dice.randrange(len(words)), dice.randrange(len(words))
    words[first], words[second] = words[second], words[first]
    return b" ".join(words)


def indent(data: bytes, dice: random.Random) -> bytes:
    rows = data.split(b"\n")
    at = dice.randrange(len(rows))
    rows[at] = b" " * dice.randint(1, 5) + rows[at] if dice.random() < 0.5 else rows[at].lstrip()
    return b"\n".join(rows)


def odd(data: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(data))
    return data[:at] + dice.choice(ODD).encode() + data[at + dice.randint(0, 3) :]


def numbers(data: bytes, dice: random.Random) -> bytes:
    digits = [at for at, letter in enumerate(data) if chr(letter).isdigit()]
    if not digits:
        return data
    at = dice.choice(digits)
    huge = dice.choice([b"9" * 30, b"-1", b"0", b"1e308", b"1,000,000,000", b"0.0000001", b"1 000", b"."])
    return data[:at] + huge + data[at + 1 :]


def cut(data: bytes, dice: random.Random) -> bytes:
    return data[: dice.randrange(len(data))]


SPOILERS: list[Callable[[bytes, random.Random], bytes]] = [flip, lines, tokens, indent, odd, numbers, cut]


def _asked_for(folder: Path, spoiled: Path) -> Path:
    """The job or day to read so that the spoiled file is read with it, and little else."""
    if spoiled.parent == folder or spoiled.parent.name == "rigs":
        return next(path for path in sorted(folder.glob("*-*-*/*.yaml")) if path.name != "day.yaml")
    return spoiled.parent if spoiled.name == "day.yaml" else spoiled


@pytest.mark.parametrize("part", [0, 1, *(pytest.param(part, marks=pytest.mark.long) for part in range(2, 40))])
def test_spoiled_files_give_faults_and_never_an_exception(tmp_path: Path, part: int) -> None:
    dice = random.Random(4711 + part)
    folders = []
    for number, source in enumerate((WORKSPACE, jobs())):
        if (source / "company.yaml").is_file():
            folders.append(Path(shutil.copytree(source, tmp_path / str(number), ignore=shutil.ignore_patterns("*.db"))))
    files = [(folder, path) for folder in folders for path in sorted(folder.rglob("*.yaml"))]
    assert len(files) >= 8
    faulty = 0
    for turn in range(300):
        folder, path = files[turn % len(files)]
        good = path.read_bytes()
        spoiled = dice.choice(SPOILERS)(good, dice)
        path.write_bytes(spoiled)
        loaded = load([_asked_for(folder, path)])
        for fault in loaded.faults:
            assert fault.message
            assert fault.remedy
            assert fault.where.line >= 1
            assert fault.where.column >= 1
        faulty += bool(loaded.faults)
        path.write_bytes(good)
    # A mutation may land in a comment or a name; most must not go unseen.
    assert faulty > 150
