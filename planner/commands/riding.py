"""Which jobs of a day would be done at all."""

from __future__ import annotations

from typing import Final

from planner.checks.model import CheckedJob

LOAD: Final = frozenset({"load.weight", "load.transport", "load.apart"})
"""What holds a job for its load alone is put right in the yard, before anything leaves."""


def left_behind(job: CheckedJob) -> bool:
    """Whether a job would not go even if the load were put right: it is held for something else."""
    return bool(job.breaches) or any(
        one.level == "stop" and one.accepted is None and one.code not in LOAD for one in job.findings
    )


def held_then(job: CheckedJob) -> bool:
    """Whether a job of a day before was held, as far as that can be told today: the shelf has been counted since."""
    held = (one for one in job.findings if one.level == "stop" and one.accepted is None)
    return bool(job.breaches) or any(one.code not in LOAD | {"mix.stock"} for one in held)
