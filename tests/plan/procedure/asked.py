"""What a plan asks of its procedure: the book of a job as it is before the first act."""

from __future__ import annotations

from planner.inputs.joined import JobInput
from planner.plan.between.changes import plan_changes
from planner.plan.between.flushing import plan_flushes
from planner.plan.between.heels import looks_of, tonight, with_clean_feeds
from planner.plan.line.hydraulics import plan_runs
from planner.plan.mix.mixing import plan_mixes
from planner.plan.procedure.asked import Asked
from planner.plan.procedure.book import Book
from planner.plan.water.work import beds_of, plan_work


def book_of(job: JobInput, begins: float = 0.0) -> Book:
    """An empty book for a job as it stands tonight."""
    found = tonight(job)
    runs = plan_runs(job, (), curves=False)
    mixes, _ = plan_mixes(job, runs, with_clean_feeds(job, found))
    changes = plan_changes(job, runs, mixes, found)
    work = plan_work(job, runs, mixes)
    asked = Asked(
        job=job,
        runs=runs,
        mixes=mixes,
        work=work,
        changes=changes,
        flushes=plan_flushes(job, runs, mixes, changes),
        looks=looks_of(job, mixes, found),
        beds=beds_of(job, work),
        found=found,
    )
    return Book.of(asked, begins)
