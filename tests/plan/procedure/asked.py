"""What a plan asks of its procedure, out of a workspace in YAML: the book as it is before the first act."""

from __future__ import annotations

from planner.inputs.joined import JobInput
from planner.plan.make import make_plan
from planner.plan.procedure.book import Asked, Book


def book_of(job: JobInput, begins: float = 0.0) -> Book:
    """An empty book for a job, as its plan settles what is asked."""
    plan = make_plan(job, tables=False)
    asked = Asked(
        job=job,
        runs=plan.runs,
        mixes=plan.mixes,
        work=plan.work,
        changes=plan.changes,
        flushes=plan.flushes,
        neutralisers=plan.neutralisers,
        looks=plan.looks,
        beds=plan.beds,
        found=plan.found,
    )
    return Book.of(asked, begins)
