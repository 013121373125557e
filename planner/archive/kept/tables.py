"""The archive's tables as the code reads and writes them; `migrations.py` makes them.

A row is named by what it holds (a hash) or by what it is about (job and revision), never by a counter: the same
thing kept twice is one row, and a row keeps its name from one archive to another. Times and JSON are text.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import REAL, Column, Double, ForeignKey, Integer, MetaData, Table, Text
from sqlalchemy.types import TypeEngine

METADATA: Final = MetaData()

NUMBER: Final[TypeEngine[float]] = Double().with_variant(REAL(), "sqlite")
"""SQLite's strict tables know a float by no other name."""

MIGRATIONS: Final = Table(
    "planner_migrations",
    METADATA,
    Column("name", Text, primary_key=True),
    Column("program", Text, nullable=False),
    Column("at", Text, nullable=False),
)
"""Each change of the tables that was made: its name is not one another program would use."""

PLANS: Final = Table(
    "plans",
    METADATA,
    Column("sha256", Text, primary_key=True),
    Column("job", Text, nullable=False),
    Column("number", Text, nullable=False),
    Column("json", Text, nullable=False),
    Column("program", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("branch", Text, nullable=False, default=""),
)
"""A plan by the hash of its JSON; `number` is the plan number on paper, `branch` whose job it is of: empty where the
company has one branch alone."""

PACKETS: Final = Table(
    "packets",
    METADATA,
    Column("sha256", Text, primary_key=True),
    Column("plan", Text, ForeignKey("plans.sha256"), nullable=False),
    Column("file", Text, nullable=False),
    Column("pages", Integer, nullable=False),
    Column("held", Integer, nullable=False),
    Column("at", Text, nullable=False),
)
"""A printed packet by the hash of its bytes; `held` 1 or 0."""

RECORDS: Final = Table(
    "records",
    METADATA,
    Column("branch", Text, primary_key=True, default=""),
    Column("job", Text, primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    Column("plan", Text, ForeignKey("plans.sha256")),
    Column("plan_number", Text),
    Column("content", Text, nullable=False),
    Column("json", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("at", Text, nullable=False),
)
"""What was done, revisions counted from 1. `content` is the hash of what it says, `plan_number` as it stood on the
packet, `plan` the plan it is held against; `source` the file it came from, or `typed in`."""

WITHDRAWN: Final = Table(
    "withdrawn",
    METADATA,
    Column("branch", Text, primary_key=True, default=""),
    Column("job", Text, primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    Column("reason", Text, nullable=False),
    Column("at", Text, nullable=False),
)
"""Revisions of records that count no more, and why; they themselves stay as they were."""

CORRECTIONS: Final = Table(
    "corrections",
    METADATA,
    Column("sha256", Text, primary_key=True),
    Column("about", Text, nullable=False),
    Column("key", Text, nullable=False),
    Column("value", NUMBER),
    Column("json", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("branch", Text, nullable=False, default=""),
)
"""What was learned from records: `key` of `about` (a pump, a surface, a tip) set to `value` in SI; `json` says why."""

KEPT: Final = (PLANS, PACKETS, RECORDS, WITHDRAWN, CORRECTIONS)
"""The tables with content, each after those it refers to."""
