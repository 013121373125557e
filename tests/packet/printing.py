"""Packets and covers as the bytes of their files alone."""

from __future__ import annotations

from collections.abc import Sequence

from planner.checks.model import CheckedJob
from planner.packet.book import day_book, job_book
from planner.packet.pages.pages import Paper
from planner.plan.days.day import DayPlan
from planner.units import System


def job_packet(checked: CheckedJob, *, paper: Paper, system: System, plan_json: str = "") -> bytes:
    """The crew's packet of a job."""
    return job_book(checked, paper=paper, system=system, plan_json=plan_json).pdf


def day_packet(day: DayPlan, jobs: Sequence[CheckedJob], *, paper: Paper, system: System) -> bytes:
    """The cover of a day."""
    return day_book(day, jobs, paper=paper, system=system).pdf
