"""Two thousand ways of spoiling good files: nothing but faults ever comes out."""

from __future__ import annotations

import random
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from planner.inputs.workspace import load
from planner.locate import data_file, jobs
from planner.units import Unreadable, read, read_bucket, read_rectangle
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


@pytest.mark.parametrize(
    ("part", "turns"),
    [
        (0, 40),
        *(
            pytest.param(part, 300 if part else 100, marks=pytest.mark.ci if part < 4 else pytest.mark.long)
            for part in range(41)
        ),
    ],
)
def test_spoiled_files_give_faults_and_never_an_exception(tmp_path: Path, part: int, turns: int) -> None:
    dice = random.Random(4711 + part)
    folders = []
    for number, source in enumerate((WORKSPACE, jobs())):
        if (source / "company.yaml").is_file():
            folders.append(Path(shutil.copytree(source, tmp_path / str(number), ignore=shutil.ignore_patterns("*.db"))))
    files = [(folder, path) for folder in folders for path in sorted(folder.rglob("*.yaml"))]
    assert len(files) >= 8
    faulty = 0
    for turn in range(turns):
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
    assert faulty > turns / 2


NUMBER = re.compile(r"(?<![A-Za-z0-9.])(-?[0-9]+(?:\.[0-9]+)?)(?=$|[ %x/:]|[a-z])")
WORDS = {
    "name",
    "job",
    "address",
    "contact",
    "notes",
    "phones",
    "like",
    "source",
    "reason",
    "transport",
    "stock",
    "plan",
}
"""Keys of words, where a number is part of a name."""
SWAPPED = {
    "ft": "in",
    "in": "ft",
    "psi": "bar",
    "gal": "L",
    "gpm": "L/min",
    "F": "C",
    "ft2": "m2",
    "min": "h",
    "s": "min",
}


def _table(name: str) -> list[dict[str, Any]]:
    whole = yaml.load(data_file(f"{name}.yaml").read_text(encoding="utf-8"), yaml.BaseLoader)
    rows: list[dict[str, Any]] = whole[name]
    return rows


BOUNDS = [*_table("bounds"), *(row for kind in _table("pumps") for row in kind["bounds"])]


def leaves(value: Any, path: tuple[int | str, ...] = ()) -> Iterator[tuple[tuple[int | str, ...], str]]:
    """Every text of a file that holds a figure, with the way to it."""
    for step, one in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        if step in WORDS or step == "limits":
            continue
        if isinstance(one, str):
            if NUMBER.search(one) and not re.search(
                r"[a-z]{4}", one.replace("degBe", "").replace("trade", "").replace("squares", "")
            ):
                yield (*path, step), one
        else:
            yield from leaves(one, (*path, step))


def slipped(text: str) -> Iterator[str]:
    """The text with its first or its last figure's point moved, or its unit another one."""
    for found in {match.span(): match for match in NUMBER.finditer(text)}.values():
        for by in (10.0, 100.0, 1000.0, 0.1, 0.01, 0.001):
            yield f"{text[: found.start()]}{round(float(found[1]) * by, 7):.10g}{text[found.end() :]}"
    for unit, other in SWAPPED.items():
        if re.search(rf"[0-9] {unit}$", text):
            yield re.sub(rf"{unit}$", other, text)


def usual(key: str, text: str) -> bool:
    """Whether every figure of a text stands in what is usual for its key, by the table as it is written."""

    def stands(value: float, dimension: str) -> bool:
        rows = [row for row in BOUNDS if row["key"] == key and row["dimension"] == dimension]
        ends = [tuple(figure(end, dimension) for end in row["usual"]) for row in rows]
        return any(least * (1 - 1e-9) - 1e-9 <= value <= most * (1 + 1e-9) + 1e-9 for least, most in ends)

    def figure(written: str, dimension: str) -> float:
        if dimension == "date":
            year, month, day = (int(part) for part in written.split("-"))
            return year * 372.0 + month * 31.0 + day
        if dimension == "clock":
            hours, minutes = written.split(":")
            return int(hours) * 60.0 + int(minutes)
        bare = dimension in ("trade", "wt", "wt_naocl", "wt_cl2", "g_l_cl2", "g_l", "degbe", "vol", "normal", "bare")
        written = f"{written} V" if dimension == "voltage" and written[-1:].isdigit() else written
        written = written.replace(" wt %", " %") if dimension == "fraction" else written
        return read(re.match(r"[0-9.]*", written)[0] if bare else written, "number" if bare else dimension)

    dimensions = dict.fromkeys(row["dimension"] for row in BOUNDS if row["key"] == key)
    if "volume" in dimensions and "time" in dimensions and " in " in text:
        bucket = read_bucket(text)
        return stands(bucket.volume, "volume") and stands(bucket.seconds, "time") and stands(bucket.flow, "flow")
    if re.fullmatch(r".+[0-9 a-z] ?x ?[0-9].+", text):
        return all(stands(side, "length") for side in read_rectangle(text)) if key == "gable" else True
    for dimension in dimensions:
        try:
            if stands(figure(text, dimension), dimension):
                return True
        except (Unreadable, ValueError):
            continue
    return False


@pytest.mark.parametrize("part", [pytest.param(part, marks=pytest.mark.ci) for part in range(12)])
def test_a_figure_of_another_size_is_a_fault_or_a_finding_or_usual(tmp_path: Path, part: int) -> None:
    slips = []
    for number, source in enumerate((WORKSPACE, jobs())):
        folder = Path(shutil.copytree(source, tmp_path / str(number), ignore=shutil.ignore_patterns("*.db", "records")))
        for path in sorted(folder.rglob("*.yaml")):
            whole = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)
            slips += [(folder, path, at, text, new) for at, text in leaves(whole) for new in slipped(text)]
    random.Random(815).shuffle(slips)
    assert len(slips) > 2000
    caught = 0
    for folder, path, at, text, new in slips[part::12]:
        good = path.read_text(encoding="utf-8")
        whole = yaml.load(good, yaml.BaseLoader)
        place = whole
        for step in at[:-1]:
            place = place[step]
        place[at[-1]] = new
        path.write_text(yaml.safe_dump(whole, sort_keys=False, width=1000), encoding="utf-8")
        read_again = load([_asked_for(folder, path)])
        path.write_text(good, encoding="utf-8")
        found = bool(read_again.faults) or any(job.unusual for job in read_again.jobs)
        caught += found
        known = {row["key"] for row in BOUNDS}
        key = next((str(step) for step in reversed(at) if step in known), "")
        money = at[-1] in ("price", "pay", "cost")  # nobody is hurt by it, and any sum may be meant
        assert found or money or "crew" in at or usual(key, new), (path.name, at, text, new)
    assert caught > len(slips[part::12]) / 3
