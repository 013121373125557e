"""Reading one file from disk: whatever is wrong with it is a fault, never an exception."""

from __future__ import annotations

import datetime
import os
import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path

from planner.faults import Fault, Where
from planner.inputs.reading.tree import LARGEST_FILE, Tree, parse_tree
from planner.writing import read_ordinary, size_read

YAML_ENDINGS = (".yaml", ".yml")


def shown(path: Path) -> str:
    """A path as faults print it: from the current folder where it lies below, printable whatever its bytes."""
    text = os.path.abspath(path)
    here = os.getcwd() + os.sep
    text = text.removeprefix(here) if text.startswith(here) else text
    return text.encode("utf-8", "replace").decode("utf-8")


def file_fault(code: str, path: Path, message: str, remedy: str) -> Fault:
    """A fault about a whole file."""
    return Fault(code=code, message=message, remedy=remedy, where=Where(file=shown(path)))


def no_workspace(path: Path, remedy: str) -> Fault:
    """The fault where a path lies in no workspace."""
    message = "there is no company.yaml in this folder or any folder above it"
    return file_fault("workspace.missing", path, message, remedy)


def read_file(path: Path) -> Tree:
    """The tree of a file on disk."""
    name = shown(path)
    try:
        if path.is_dir():
            fault = file_fault("file.folder", path, "this is a folder", "put a file of this name in its place")
        elif not path.exists():
            fault = file_fault("file.missing", path, "there is no such file", "check the name, or write the file")
        elif not path.is_file():
            fault = file_fault(
                "file.unreadable", path, "this is not an ordinary file", "put a plain text file in its place"
            )
        else:
            return parse_tree(read_ordinary(path, LARGEST_FILE + 1), name, size=size_read(path))
    except (OSError, RuntimeError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it cannot be opened"
        fault = file_fault(
            "file.unreadable", path, f"this cannot be read: {reason}", "check the file and its permissions"
        )
    return Tree(file=name, root=None, faults=(fault,))


def is_there(path: Path) -> bool:
    """Whether anything of this name is there, a broken link too, so that a fault can be told about it."""
    try:
        return path.exists() or path.is_symlink()
    except (OSError, RuntimeError, ValueError):
        return False


def is_folder(path: Path) -> bool:
    """Whether a path is a folder that can be looked into; a loop of links is none."""
    try:
        return path.is_dir()
    except (OSError, RuntimeError, ValueError):
        return False


def listed_files(folder: Path) -> list[Path]:
    """What lies in a folder, by name; nothing where it cannot be looked into."""
    try:
        return sorted(folder.iterdir(), key=lambda path: path.name)
    except (OSError, RuntimeError, ValueError):
        return []


def in_working_order(folder: Path) -> list[Path]:
    """The job files of a day, by their leading number, then by name."""
    paths = [path for path in _yaml_in(folder) if re.match(r"[0-9]+-", path.name) and not _is_record(path)]
    return sorted(paths, key=lambda path: (_number(path), path.name))


def _yaml_in(folder: Path) -> list[Path]:
    """What ends as YAML does, without what editors and systems hide behind a leading dot, and the day's page."""
    return [path for path in listed_files(folder) if path.suffix in YAML_ENDINGS and path.stem != "day"]


def _is_record(path: Path) -> bool:
    """What was done lies beside what was planned."""
    return re.search(r"\.record(\.draft(-[0-9]+)?)?$", path.stem) is not None


def _number(path: Path) -> int:
    match = re.match(r"[0-9]+", path.name)
    return int(match[0][:9]) if match is not None else 0


_DATE = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"


def date_of(folder: Path) -> datetime.date | None:
    """The date a day's folder is named by, alone or before a dash and its rig."""
    try:
        return datetime.date.fromisoformat(folder.name[:10]) if re.match(rf"{_DATE}(-.+)?$", folder.name) else None
    except ValueError:
        return None


def rig_of(folder: Path) -> str:
    """The rig a day's folder names after its date, as in `2026-06-09-heron`; nothing where it names none."""
    return folder.name[11:] if date_of(folder) is not None else ""


def is_day(folder: Path) -> bool:
    """Whether a folder holds one day: it has a day's page, or a date for a name; with a rig after it, files too."""
    if not is_folder(folder):
        return False
    if re.fullmatch(_DATE, folder.name) or (is_there(folder / "day.yaml") and not is_there(folder / "company.yaml")):
        return True
    return date_of(folder) is not None and any(meant_as_yaml(path) for path in listed_files(folder))


def is_printed(folder: Path) -> bool:
    """Whether a folder holds packets and nothing else: it has a day's name too, and is none."""
    files = listed_files(folder)
    return bool(files) and all(path.suffix in (".pdf", ".html") for path in files)


NOT_DAYS = ("rigs", "records")
"""Folders of a workspace that hold no days."""


def days_below(folder: Path, deepest: int = 4) -> Iterator[Path]:
    """Every day's folder of a workspace, in seasons of their own too; none of another workspace."""
    for path in listed_files(folder):
        if path.name.startswith(".") or path.name in NOT_DAYS or not is_folder(path):
            continue
        if is_printed(path):
            continue
        if is_day(path):
            yield path
        elif deepest and not is_there(path / "company.yaml") and not path.is_symlink():
            yield from days_below(path, deepest - 1)


def astray(workspace: Path) -> list[Path]:
    """Folders at the top of a workspace that hold what looks like a job and whose name is no date."""
    paths = [path for path in listed_files(workspace) if not path.name.startswith(".") and path.name not in NOT_DAYS]
    folders = [path for path in paths if is_folder(path) and not is_there(path / "company.yaml")]
    return [
        path
        for path in folders
        if not (is_day(path) and date_of(path)) and any(map(looks_like_a_job, listed_files(path)))
    ]


def like_a_date(folder: Path) -> bool:
    """Whether a folder's name was meant as a date, however it is written."""
    return len(re.findall(r"[0-9]+", folder.name)) >= 3 or re.fullmatch(r"[0-9]{6}|[0-9]{8}", folder.name) is not None


def plain_name(text: str) -> str:
    """A rig's name however its case and its spaces are written."""
    return re.sub(r"[\s_-]+", "-", text.strip().casefold())


def meant_as_yaml(path: Path) -> bool:
    """Whether a file's name ends as YAML, or as it does by a slip: `10-x.YAML`, `10-x.yaml.txt`.

    What begins with a dot belongs to an editor or the system.
    """
    return not path.name.startswith(".") and re.search(r"\.ya?ml(\.txt)?$", path.name, re.IGNORECASE) is not None


def looks_like_a_job(path: Path) -> bool:
    """Whether a file outside of a day's folder was meant as a job's or a day's page, by its name or its first keys."""
    if not meant_as_yaml(path) or _is_record(path) or is_folder(path):
        return False
    if right_ending(path).stem.casefold() == "day":
        return True
    try:
        head = read_ordinary(path, 1 << 16)
    except (OSError, RuntimeError, ValueError):
        return re.match(r"[0-9]+-", path.name) is not None
    return re.search(rb"^job\s*:", head, re.MULTILINE) is not None and _JOB_KEYS.search(head) is not None


_JOB_KEYS = re.compile(rb"^(site|like|setup|hose_runs|surfaces|building|kind|pump|work)\s*:", re.MULTILINE)


def right_ending(path: Path) -> Path:
    """The path with its ending as a file of this program has it."""
    return path.with_name(re.sub(r"\.ya?ml(\.txt)?$", ".yaml", path.name, flags=re.IGNORECASE))


RESERVED = {"notice": "a customer's notice", "owner": "an owner's file", "rig-card": "a rig's card"}
"""What is printed beside a packet, by the end of its file's name."""


def reserved(stem: str) -> str | None:
    """Whose PDF a job of this name would print over, None where nobody's."""
    low = stem.casefold()
    if low == "00-day":
        return "the day's cover"
    return next((whose for end, whose in RESERVED.items() if low.endswith(f"-{end}")), None)


def no_text(path: Path) -> Fault | None:
    """The fault of a name that is no UTF-8: nothing can be printed or kept under it."""
    if re.search("[\ud800-\udfff]", path.name) is None:
        return None
    remedy = "rename it with letters, digits and dashes"
    return file_fault("file.name", path, "this name holds bytes that are not text", remedy)


def misnamed_in(day: Path) -> Iterator[tuple[Path, Fault]]:
    """Each file of a day's folder that would be skipped, or whose packet would fall on another's, and why."""
    jobs, orders = in_working_order(day), list[Path]()
    for path in (
        listed_file
        for listed_file in listed_files(day)
        if meant_as_yaml(listed_file) and listed_file not in jobs and not _is_record(listed_file)
    ):
        right = right_ending(path)
        if path.name == "day.yaml":
            continue
        if right.stem.casefold() == "day":
            message, remedy = "the day's page is read from `day.yaml` alone", "rename it `day.yaml`; keep one of them"
        elif path.suffix not in YAML_ENDINGS:
            message, remedy = f"a file that ends in `{path.suffix}` is not read", f"rename it `{right.name}`"
        else:
            message, remedy = "this file has no number, so no place in its day", _with_number(right, jobs)
        yield path, file_fault("file.name", path, message, remedy)
    for path in listed_files(day):
        if is_folder(path) and not path.name.startswith(".") and any(map(looks_like_a_job, listed_files(path))):
            message = "jobs in a folder inside a day are not read"
            yield path, file_fault("file.folder", path, message, "move them up into the day's folder")
    for path in jobs:
        if (fault := no_text(path)) is not None:
            yield path, fault
            continue
        over, same = reserved(path.stem), [order for order in orders if _number(order) == _number(path)]
        if over is not None:
            message, remedy = f"its packet would be printed over {over}", f"rename it `{_renamed(path)}`"
            yield path, file_fault("file.name", path, message, remedy)
        elif same:
            message = f"`{same[0].name}` has the same number, so which comes first is not known"
            remedy = f"give one of them a number of its own, such as `{_free(jobs)}-{_bare(path)}.yaml`, or remove it"
            fault = file_fault("file.name", path, message, remedy)
            yield from ((one, fault) for one in (path, same[0]))
        orders.append(path)


def _bare(path: Path) -> str:
    return re.sub(r"^[0-9]+[-_ .]*", "", path.stem) or "job"


def _free(jobs: Sequence[Path]) -> int:
    return max((_number(path) for path in jobs), default=0) // 10 * 10 + 10


def _with_number(right: Path, jobs: Sequence[Path]) -> str:
    own = re.match(r"[0-9]{1,9}", right.name)
    name = f"{own[0] if own is not None else _free(jobs)}-{_bare(right)}.yaml"
    return f"rename it `{name}` if it is a job, or move it out of the day's folder"


def _renamed(path: Path) -> str:
    low = path.stem.casefold()
    if low == "00-day":
        return "05-day-job.yaml"
    end = next(end for end in RESERVED if low.endswith(f"-{end}"))
    return f"{path.stem[: -len(end) - 1]}-{end}-job.yaml"


def date_meant(name: str) -> str:
    """What to name a day's folder whose name is not a date, as a remedy."""
    numbers = re.findall(r"[0-9]+", name)
    if len(numbers) == 1 and len(numbers[0]) == 8:
        numbers = [numbers[0][:4], numbers[0][4:6], numbers[0][6:]]
    found: list[str] = []
    if len(numbers) == 3:
        for year, month, day in ((0, 1, 2), (2, 0, 1), (2, 1, 0)):
            with suppress(ValueError):
                years = int(numbers[year]) + (2000 if len(numbers[year]) == 2 else 0)
                if len(numbers[year]) in (2, 4) and 1990 <= years < 2100:
                    found.append(datetime.date(years, int(numbers[month]), int(numbers[day])).isoformat())
    shown_dates = " or ".join(f"`{one}`" for one in dict.fromkeys(found)) or "its date, such as `2026-06-09`"
    return f"rename it to {shown_dates}; with several rigs out, the date, a dash and the rig: `2026-06-09-heron`"
