"""Whose job an id is: the branch's, the day folder's with its rig, the file's name, and for ever at one address.

Two jobs under one id would be revisions of each other, and each be held against the other's plan.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, select, update

from planner.archive.kept.opening import Opened
from planner.archive.kept.refused import ArchiveRefused, refused
from planner.archive.kept.tables import CORRECTIONS, PLANS, RECORDS, WITHDRAWN
from planner.inputs.reading.addresses import near_place, same_place

if TYPE_CHECKING:
    from planner.contract.plan import PlanJson


def another_place(address: object, other: object) -> bool:
    """Whether two addresses mean two places: a slip put right means none, nor does what nobody wrote."""
    if not isinstance(address, str) or not isinstance(other, str) or not address or not other:
        return False
    return same_place(address) != same_place(other) and not near_place(address, other)


def refuse_another(connection: Connection, archive: Opened, plan: PlanJson) -> None:
    """Raises ArchiveRefused where the archive knows the plan's id as another job, or as another branch's."""
    job, address = plan["id"], plan.get("address")
    for branch, known in _addresses(connection, job).items():
        if branch == archive.branch and another_place(address, known):
            raise refused(
                "another",
                archive.where,
                f"the archive knows `{job}` as a job at `{_short(known)}`, and this one is at `{_short(address)}`",
                "give this job's file another name and print it again; where two branches share one archive, write "
                "`branch:` into the company.yaml of each",
            )
        if branch != archive.branch and address and known and same_place(str(address)) == same_place(known):
            raise _of_branch(archive, job, branch)


def _of_branch(archive: Opened, job: str, branch: str) -> ArchiveRefused:
    if not branch:
        return refused(
            "branch",
            archive.where,
            f"the archive knows `{job}` from before company.yaml had `branch: {archive.branch}`",
            f"run `planner archive branch {archive.branch}`: what was kept without a branch then belongs to this one",
        )
    own = f"branch `{archive.branch}`" if archive.branch else "a company without `branch:`"
    return refused(
        "branch",
        archive.where,
        f"the archive knows `{job}` as a job of branch `{branch}`, and this is {own}",
        f"write `branch: {branch}` into company.yaml if this is that one, or give this job's file another name",
    )


def _addresses(connection: Connection, job: str) -> Mapping[str, str]:
    """By branch, the address of what was last kept of an id."""
    rows = connection.execute(select(PLANS.c.branch, PLANS.c.json).where(PLANS.c.job == job).order_by(PLANS.c.at))
    return {row.branch: address for row in rows if (address := _address(row.json))}


def _address(text: str) -> str:
    try:
        plan: Any = json.loads(text)
    except (ValueError, RecursionError):
        return ""
    address = plan.get("address") if isinstance(plan, dict) else None
    return address if isinstance(address, str) else ""


def _short(text: object) -> str:
    return " ".join(str(text).split())[:60]


def name_branch(archive: Opened) -> dict[str, int]:
    """Give what was kept without a branch to the archive's own; all of it or, where that has the same, nothing.

    Gives how many rows of each table. Raises ArchiveRefused.
    """
    counts = {}
    with archive.writing() as connection:
        here = select(RECORDS.c.job).where(RECORDS.c.branch == archive.branch)
        both = connection.scalar(
            select(RECORDS.c.job).where((RECORDS.c.branch == "") & RECORDS.c.job.in_(here)).limit(1)
        )
        if both is not None:
            raise refused(
                "clash",
                archive.where,
                f"`{both}` has records without a branch and records of branch `{archive.branch}`: nothing was changed",
                f"withdraw one of them, or keep branch `{archive.branch}` in an archive of its own",
            )
        for table in (PLANS, RECORDS, WITHDRAWN, CORRECTIONS):
            done = connection.execute(update(table).where(table.c.branch == "").values(branch=archive.branch))
            counts[table.name] = done.rowcount
    return counts
