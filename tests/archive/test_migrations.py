"""Changes of the tables: each whole with its own record or not there, made once, and what the code believes they are."""

from __future__ import annotations

import pytest
from sqlalchemy import inspect

from planner.archive.kept import migrations
from planner.archive.kept.migrations import ALL, Migration
from planner.archive.kept.opening import opened
from planner.archive.kept.store import keep_record, record_of
from planner.archive.kept.tables import METADATA
from tests.archive.conftest import Place

GOOD = Migration(name="900 a later column", statements=("ALTER TABLE corrections ADD COLUMN note TEXT",))
BAD = Migration(
    name="901 a slip halfway", statements=("CREATE TABLE half (name TEXT NOT NULL){strict}", "CREATE TABLE plans (n)")
)


def test_the_tables_made_are_the_tables_the_code_reads(place: Place) -> None:
    with opened(place.address, place.folder) as archive, archive.reading() as connection:
        looked = inspect(connection)
        for table in METADATA.sorted_tables:
            made = {column["name"]: column for column in looked.get_columns(table.name)}
            assert list(made) == table.columns.keys(), table.name
            for column in table.columns:
                assert made[column.name]["nullable"] == column.nullable, (table.name, column.name)
                assert made[column.name]["type"].python_type == column.type.python_type, (table.name, column.name)
            keys = looked.get_pk_constraint(table.name)["constrained_columns"]
            assert keys == [column.name for column in table.primary_key.columns]


def test_a_change_is_made_once_and_keeps_what_was_there(place: Place) -> None:
    content = {"job": "day/1", "n": 1}
    with opened(place.address, place.folder) as archive:
        keep_record(archive, content, plan=None, plan_number=None, source="f")
    for _ in range(2):
        with opened(place.address, place.folder, known=(*ALL, GOOD)) as archive:
            found = record_of(archive, "day/1")
            assert found is not None
            assert found.content == content
            with archive.reading() as connection:
                assert migrations.done(connection, True) == [*(one.name for one in ALL), GOOD.name]


def test_a_change_that_fails_halfway_leaves_nothing_of_itself(place: Place) -> None:
    with opened(place.address, place.folder):
        pass
    with pytest.raises(Exception, match="plans"), opened(place.address, place.folder, known=(*ALL, BAD)):
        pass
    with opened(place.address, place.folder) as archive, archive.reading() as connection:
        assert "half" not in inspect(connection).get_table_names()
        assert migrations.done(connection, True) == [one.name for one in ALL]


def test_names_are_in_order_and_none_is_used_twice() -> None:
    names = [migration.name for migration in ALL]
    assert names == sorted(set(names))
    assert all(migration.statements for migration in ALL)
