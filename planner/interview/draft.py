"""The answers to what is not written yet, kept after each of them, so that nothing typed is ever lost."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from planner.faults import Fault
from planner.inputs.reading.files import file_fault, is_folder, is_there, read_file
from planner.interview.answers import Here
from planner.interview.text import Written
from planner.writing import write_whole

ENDING: Final = ".draft"
"""No ending of YAML: a day does not take a draft for one of its jobs."""


def places(here: Here) -> tuple[Path, ...]:
    """Where a draft may lie: beside the job to be; where its day is still to be made, in the workspace's own folder."""
    stem = here.stem or "new"
    apart = here.workspace / f"{here.day.name}-{stem}{ENDING}"
    return (here.day / f"{stem}{ENDING}", apart) if is_folder(here.day) else (apart,)


def draft_of(here: Here) -> Path | None:
    """The draft left here, None where there is none."""
    return next((path for path in places(here) if is_there(path)), None)


def answers_in(draft: Path) -> dict[str, str] | None:
    """The answers a draft holds, None where it cannot be read."""
    tree = read_file(draft)
    found = {name: node.value for name, node in tree.mapping.items() if isinstance(node.value, str)}
    return found if found and not tree.faults else None


def put_aside(draft: Path) -> Path:
    """Rename a draft nobody wants to go on with; never over another. Raises OSError."""
    for number in range(1, 1000):
        aside = draft.with_name(f"{draft.stem}.old{number}{ENDING}")
        if not is_there(aside):
            return draft.rename(aside)
    raise FileExistsError(17, "there are a thousand drafts of it already", str(draft))


def draft_text(answers: Mapping[str, str], command: str, what: str) -> str:
    """Answers as the draft holds them."""
    lines = [f"# Answers to a {what} that is not finished yet. To go on:", f"#   {command}"]
    lines += [
        f"{json.dumps(key, ensure_ascii=False)}: {json.dumps(text, ensure_ascii=False)}"
        for key, text in answers.items()
    ]
    return "\n".join(lines) + "\n"


def keep(draft: Path, text: str) -> None:
    """Write a draft whole. Raises OSError."""
    write_whole(draft, text.encode("utf-8", "replace"))


def put(here: Here, made: Written) -> Fault | None:
    """Write the day's page and the job, both or neither; or the rig, or a day's page alone; else why not."""
    new_folder = not is_folder(here.day)
    page = False
    try:
        here.day.mkdir(parents=True, exist_ok=True)
        if made.page is not None:
            write_new(here.page, made.page.encode("utf-8"))
            page = True
        write_new(made.file, made.text.encode("utf-8"))
    except OSError as error:
        if page:
            here.page.unlink(missing_ok=True)
        if new_folder and is_folder(here.day) and not any(here.day.iterdir()):
            here.day.rmdir()
        what = "day" if made.file == here.page else here.what
        remedy = "name a file that is not there yet, in a folder you may write to"
        return file_fault("new.unwritable", made.file, f"the {what} could not be written: {error.strerror}", remedy)
    return None


def write_new(target: Path, content: bytes) -> None:
    """Write a file that is not there yet, whole or not at all. Raises FileExistsError, OSError."""
    write_whole(target, content, new=True)
