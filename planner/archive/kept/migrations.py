"""Changes of the archive's tables, by name, in order: a change and the row that says it was made are one transaction.

A change that has been in anybody's hands is never edited; the next one is written below it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from sqlalchemy import Connection, insert, select

from planner import __version__
from planner.archive.kept.address import APPLICATION_ID
from planner.archive.kept.content import now
from planner.archive.kept.tables import MIGRATIONS
from planner.frozen import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Migration:
    """One change: `statements` in SQL, `{real}` and `{strict}` standing for what the databases spell differently."""

    name: str
    statements: tuple[str, ...]


ALL: Final = (
    Migration(
        name="001 plans, packets, records and corrections",
        statements=(
            "CREATE TABLE planner_migrations (name TEXT NOT NULL PRIMARY KEY, program TEXT NOT NULL, "
            "at TEXT NOT NULL){strict}",
            "CREATE TABLE plans (sha256 TEXT NOT NULL PRIMARY KEY, job TEXT NOT NULL, number TEXT NOT NULL, "
            "json TEXT NOT NULL, program TEXT NOT NULL, at TEXT NOT NULL){strict}",
            "CREATE INDEX plans_by_job ON plans (job, number)",
            "CREATE TABLE packets (sha256 TEXT NOT NULL PRIMARY KEY, plan TEXT NOT NULL REFERENCES plans (sha256), "
            "file TEXT NOT NULL, pages INTEGER NOT NULL, held INTEGER NOT NULL, at TEXT NOT NULL){strict}",
            "CREATE TABLE records (job TEXT NOT NULL, revision INTEGER NOT NULL, plan TEXT REFERENCES plans (sha256), "
            "plan_number TEXT, content TEXT NOT NULL, json TEXT NOT NULL, source TEXT NOT NULL, at TEXT NOT NULL, "
            "PRIMARY KEY (job, revision)){strict}",
            "CREATE TABLE corrections (sha256 TEXT NOT NULL PRIMARY KEY, about TEXT NOT NULL, key TEXT NOT NULL, "
            "value {real}, json TEXT NOT NULL, at TEXT NOT NULL){strict}",
        ),
    ),
    Migration(
        name="002 branches, and revisions withdrawn",
        statements=(
            "ALTER TABLE plans ADD COLUMN branch TEXT NOT NULL DEFAULT ''",
            "DROP INDEX plans_by_job",
            "CREATE INDEX plans_by_job ON plans (branch, job, number)",
            "ALTER TABLE records RENAME TO records_before",
            "CREATE TABLE records (branch TEXT NOT NULL, job TEXT NOT NULL, revision INTEGER NOT NULL, "
            "plan TEXT REFERENCES plans (sha256), plan_number TEXT, content TEXT NOT NULL, json TEXT NOT NULL, "
            "source TEXT NOT NULL, at TEXT NOT NULL, PRIMARY KEY (branch, job, revision)){strict}",
            "INSERT INTO records SELECT '', job, revision, plan, plan_number, content, json, source, at "
            "FROM records_before",
            "DROP TABLE records_before",
            "CREATE TABLE withdrawn (branch TEXT NOT NULL, job TEXT NOT NULL, revision INTEGER NOT NULL, "
            "reason TEXT NOT NULL, at TEXT NOT NULL, PRIMARY KEY (branch, job, revision)){strict}",
            "ALTER TABLE corrections ADD COLUMN branch TEXT NOT NULL DEFAULT ''",
        ),
    ),
)


def done(connection: Connection, there: bool) -> list[str]:
    """The names of changes made already; `there` says whether the table of them is."""
    return list(connection.scalars(select(MIGRATIONS.c.name).order_by(MIGRATIONS.c.name))) if there else []


def ahead(names: Sequence[str], known: Sequence[Migration] = ALL) -> list[str]:
    """Changes made by a newer program than this one."""
    return sorted(set(names) - {migration.name for migration in known})


def make(connection: Connection, migration: Migration) -> None:
    """Make one change and write down that it was made, inside the caller's transaction."""
    sqlite = connection.dialect.name == "sqlite"
    words = {"real": "REAL" if sqlite else "DOUBLE PRECISION", "strict": " STRICT" if sqlite else ""}
    if sqlite:
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    for statement in migration.statements:
        connection.exec_driver_sql(statement.format(**words))
    connection.execute(insert(MIGRATIONS).values(name=migration.name, program=__version__, at=now()))
