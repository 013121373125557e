"""A new job and, where it has none, its day, as the files they are written to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from planner.commands.new_earlier import Earlier, fitting
from planner.commands.new_here import Here
from planner.commands.new_text import DAY, JOB, file_text, schema_path


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """The job's `file` and `text`; `page` is the text of the day's page, None where the day has one or needs none."""

    file: Path
    text: str
    page: str | None = None


def written(
    here: Here, stem: str, job: Mapping[str, Any], earlier: Earlier | None, page: Mapping[str, Any] | None
) -> Written:
    """The files of a job as it was answered."""
    file = here.file(stem)
    whole = fitting(here, file, dict(job), earlier)
    schema = schema_path(here.workspace, here.day, "yard" if job.get("kind") == "yard" else "job")
    day = file_text(page, DAY, schema_path(here.workspace, here.day, "day")) if page is not None else None
    return Written(file=file, text=file_text(whole, JOB, schema), page=day)
