"""The tables the migrations make, and what the database itself refuses."""

from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Connection, insert, inspect, update
from sqlalchemy.exc import IntegrityError

from shopdesk.records import migrate
from shopdesk.records.engine import Record
from shopdesk.records.tables import (
    Base,
    Entry,
    Interchange,
    Job,
    Lot,
    Part,
    StockMove,
    Unit,
    indexes,
)

from .conftest import Fill, row_of

assert indexes  # loaded for what it adds to the tables

GROWING = ("event", "entry", "stock_move", "interchange", "interchange_answer", "matched_set")


def described(db: Connection) -> dict[str, Any]:
    """Everything SQLAlchemy's inspector reads of the tables, names of constraints included."""
    seen = inspect(db)
    tables = sorted(set(seen.get_table_names()) - {"alembic_version"})
    return {name: _table(seen, name) for name in tables if not trigrams(name)}


def trigrams(table: str) -> bool:
    """Whether it is a table of SQLite's full-text index, which no mapped class stands for."""
    return table.startswith("unit_pieces")


def _table(seen: Any, name: str) -> dict[str, Any]:
    columns = seen.get_columns(name)
    return {
        "columns": [(c["name"], str(c["type"]), c["nullable"], c["default"]) for c in columns],
        "key": seen.get_pk_constraint(name),
        "parents": sorted(map(str, seen.get_foreign_keys(name))),
        "unique": sorted(map(str, seen.get_unique_constraints(name))),
        "checks": sorted(map(str, seen.get_check_constraints(name))),
        "indexes": sorted(map(_index, seen.get_indexes(name))),
    }


def _index(found: dict[str, Any]) -> str:
    condition = {key: str(value) for key, value in found.get("dialect_options", {}).items()}
    return str({**found, "dialect_options": condition})


def test_the_mapped_classes_are_what_the_migrations_make(record: Record) -> None:
    with record.read() as db:
        context = MigrationContext.configure(
            db, opts={"compare_type": True, "include_object": migrate.compared}
        )
        assert compare_metadata(context, Base.metadata) == []


def test_checks_and_names_too(empty_url: str) -> None:
    """What Alembic does not compare: the database's own words for every constraint."""
    migrate.create(empty_url)
    with migrate.connection(empty_url) as db:
        made = described(db)
    migrate.downgrade(empty_url, "base")
    with migrate.connection(empty_url) as db:
        Base.metadata.create_all(db)
        assert made == described(db)
    assert "closed_at IS NULL" in str(made["job"]["indexes"])


def test_every_constraint_has_a_name() -> None:
    for table in Base.metadata.tables.values():
        for constraint in table.constraints:
            assert constraint.name, f"{table.name}: {constraint}"


@pytest.mark.parametrize(
    ("table", "change", "constraint"),
    [
        (Part, {"on_hand": -1, "reserved": -1}, "ck_part_"),
        (Part, {"on_hand": 0, "reserved": 1}, "ck_part_promised_once"),
        (Lot, {"on_hand": -1}, "ck_lot_on_hand"),
        (Job, {"gas_state": "perhaps"}, "ck_job_gas_state"),
        (Job, {"unit_id": 99}, "fk_job_unit_id"),
    ],
)
def test_a_row_may_not_become_this(
    record: Record, fill: Fill, table: type[Base], change: dict[str, Any], constraint: str
) -> None:
    record.run(fill)
    with pytest.raises(IntegrityError) as caught:
        record.run(lambda db: db.execute(update(table).values(change)))
    # SQLite names checks and unique columns, but no foreign keys: www.sqlite.org/foreignkeys.html
    expected = (
        "FOREIGN KEY" if constraint[:2] == "fk" and record.dialect == "sqlite" else constraint
    )
    assert expected in str(caught.value.orig)


def test_one_unit_has_one_open_job(record: Record, fill: Fill) -> None:
    record.run(fill)
    again = {**row_of(Base.metadata.tables["job"]), "number": 2, "closed_at": None}
    record.run(lambda db: db.execute(insert(Job).values(again)))
    with pytest.raises(IntegrityError):
        record.run(lambda db: db.execute(insert(Job).values({**again, "number": 3})))


def test_one_serial_of_a_model_is_one_unit(record: Record, fill: Fill) -> None:
    record.run(fill)
    with pytest.raises(IntegrityError):
        record.run(lambda db: db.execute(insert(Unit).values(row_of(Base.metadata.tables["unit"]))))


def test_an_entry_is_superseded_once(record: Record, fill: Fill) -> None:
    record.run(fill)
    again = row_of(Base.metadata.tables["entry"])
    with pytest.raises(IntegrityError):
        record.run(lambda db: db.execute(insert(Entry).values(again)))


def test_a_move_moves_something(record: Record, fill: Fill) -> None:
    record.run(fill)
    still = {**row_of(Base.metadata.tables["stock_move"]), "on_hand_change": 0}
    with pytest.raises(IntegrityError, match="ck_stock_move_moves"):
        record.run(lambda db: db.execute(insert(StockMove).values({**still, "reserved_change": 0})))


def test_no_part_stands_in_for_itself(record: Record, fill: Fill) -> None:
    record.run(fill)
    itself = {**row_of(Base.metadata.tables["interchange"]), "stand_in_id": 1}
    with pytest.raises(IntegrityError, match="ck_interchange_another_part"):
        record.run(lambda db: db.execute(insert(Interchange).values(itself)))


@pytest.mark.parametrize("table", GROWING)
@pytest.mark.parametrize("deed", ["UPDATE {} SET id = id", "DELETE FROM {}"])
def test_rows_that_only_come(record: Record, fill: Fill, table: str, deed: str) -> None:
    record.run(fill)
    with pytest.raises(IntegrityError, match=f"a row of {table} is never"):
        record.run(lambda db: db.exec_driver_sql(deed.format(table)))
    with record.read() as db:
        assert db.exec_driver_sql(f"SELECT count(*) FROM {table}").scalar_one() == 1


@pytest.mark.parametrize("table", GROWING)
def test_no_way_round_the_guards(record: Record, fill: Fill, table: str) -> None:
    record.run(fill)
    deeds = {
        "sqlite": f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
        "postgresql": f"TRUNCATE {table} CASCADE",
    }
    with pytest.raises(IntegrityError, match=f"a row of {table} is never"):
        record.run(lambda db: db.exec_driver_sql(deeds[record.dialect]))


def test_sqlite_replaces_nothing_by_another_unique_column(sqlite_url: str, fill: Fill) -> None:
    """sqlite.org/lang_conflict.html: REPLACE deletes rows without the delete triggers unless
    recursive triggers are on, as in a plain connection they are not."""
    import sqlite3

    from shopdesk.records.engine import open_record

    record = open_record(sqlite_url)
    record.run(fill)
    record.close()
    plain = sqlite3.connect(sqlite_url.removeprefix("sqlite:///"))
    columns = [row[1] for row in plain.execute("PRAGMA table_info(entry)") if row[1] != "id"]
    listed = ", ".join(columns)
    with pytest.raises(sqlite3.IntegrityError, match="never replaced"):
        plain.execute(f"INSERT OR REPLACE INTO entry ({listed}) SELECT {listed} FROM entry")
    plain.close()
