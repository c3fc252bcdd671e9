"""Making, bringing up and taking back a record, on filled databases, killed in the middle."""

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import inspect

import shopdesk
from shopdesk import settings
from shopdesk.errors import RecordFault
from shopdesk.records import chain, migrate, serverdump
from shopdesk.records.engine import open_record

from .conftest import Fill
from .test_schema import described, trigrams


@pytest.fixture(autouse=True)
def _backups(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOPDESK_BACKUPS", str(tmp_path / "backups"))


NEXT = """
import sqlalchemy as sa
from alembic import op
revision, down_revision, branch_labels, depends_on = "next", "{head}", None, None
def upgrade():
    {up}
def downgrade():
    pass
"""


def scripts() -> ScriptDirectory:
    config = Config()
    config.set_main_option("script_location", str(migrate.migrations_folder()))
    return ScriptDirectory.from_config(config)


def rows(url: str) -> dict[str, int]:
    with migrate.connection(url) as db:
        names = inspect(db).get_table_names()
        return {
            name: db.exec_driver_sql(f'SELECT count(*) FROM "{name}"').scalar_one()
            for name in names
            if name not in ("alembic_version", "chain_head") and not trigrams(name)
        }


def filled(url: str, fill: Fill) -> None:
    record = open_record(url)
    record.run(fill)
    record.close()


@pytest.fixture
def next_revision(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The migrations with one more, "next", whose body the test writes."""
    folder = tmp_path / "migrations"
    shutil.copytree(migrate.migrations_folder(), folder)
    monkeypatch.setattr(migrate, "migrations_folder", lambda: folder)
    monkeypatch.setattr(migrate, "REVISIONS", (*migrate.REVISIONS, "next"))
    monkeypatch.setattr(migrate, "HEAD", "next")
    return folder / "versions" / "next.py"


def test_the_constants_are_the_folders_revisions() -> None:
    assert scripts().get_heads() == [migrate.HEAD]
    walked = [script.revision for script in scripts().walk_revisions()]
    assert tuple(reversed(walked)) == migrate.REVISIONS


def test_a_new_record_is_empty_and_whole(empty_url: str) -> None:
    assert migrate.current(empty_url) is None
    migrate.create(empty_url)
    assert migrate.current(empty_url) == migrate.HEAD
    assert set(rows(empty_url).values()) == {0}
    record = open_record(empty_url)
    with record.read() as db:
        assert chain.verify(db) == chain.ChainReport(0, "0" * 64, None)
    record.close()


def test_a_record_is_not_made_twice(database_url: str, fill: Fill) -> None:
    filled(database_url, fill)
    with pytest.raises(RecordFault, match="is there already; nothing was changed"):
        migrate.create(database_url)
    open_record(database_url, create=True).close()
    assert rows(database_url)["job"] == 1


def test_only_an_empty_database_becomes_a_record(empty_url: str) -> None:
    if empty_url.startswith("sqlite"):
        Path(f"{empty_url.removeprefix('sqlite:///')}-wal").touch()
        with pytest.raises(RecordFault, match="left of a record whose file is gone"):
            migrate.create(empty_url)
        return
    with migrate.connection(empty_url) as db:
        db.exec_driver_sql("CREATE TABLE cellar (id integer)")
        db.commit()
    with pytest.raises(RecordFault, match="holds other tables"):
        migrate.create(empty_url)


# By revision: what its tables hold that the chain tells of, and how a test takes it out again.
HELD = {
    "0021": {"purchase lines called off": "UPDATE purchase_line SET called_off = 0"},
    "0019": {"lots of matched sets": "DELETE FROM matched_set"},
    "0018": {
        "interchanges of parts": "UPDATE stock_move SET interchange_id = NULL;"
        "DELETE FROM interchange_answer; DELETE FROM interchange"
    },
    "0017": {
        "stock moves of newer kinds": "UPDATE stock_move SET kind = 'receive'",
        "lots that customers own": "UPDATE lot SET origin = 'bought', job_id = NULL",
    },
    "0016": {"counts of the shelf": "DELETE FROM stock_count"},
    "0015": {"claims": "DELETE FROM claim"},
    "0014": {"moves of gas": "DELETE FROM gas_move"},
    "0013": {
        "revisions that nobody approved": "UPDATE procedure_revision SET proposed = false",
        "moves of a job": "DELETE FROM procedure_move",
        "answers to proposed": "DELETE FROM procedure_approval",
    },
    "0006": {"costs written": "DELETE FROM job_cost", "gradings": "DELETE FROM core_grade"},
}


def put(url: str, *statements: str) -> None:
    """What a record would refuse: its guards are set aside meanwhile."""
    with migrate.connection(url) as db:
        guards = (
            db.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").all()
            if db.dialect.name == "sqlite"
            else ()
        )
        if db.dialect.name == "postgresql":
            db.exec_driver_sql("SET session_replication_role = replica")
        for name, _ in guards:
            db.exec_driver_sql(f"DROP TRIGGER {name}")
        for statement in ";".join(statements).split(";"):
            db.exec_driver_sql(statement)
        for _, made in guards:
            db.exec_driver_sql(made)
        db.commit()


def taken_out(url: str) -> None:
    put(url, *(statement for held in HELD.values() for statement in held.values()))


def test_no_way_down_past_rows_that_the_chain_tells_of(database_url: str, fill: Fill) -> None:
    filled(database_url, fill)
    put(
        database_url,
        "UPDATE purchase_line SET received = 0, called_off = quantity",
        "UPDATE stock_move SET kind = 'fit'",
        "UPDATE procedure_revision SET proposed = true",
        "UPDATE procedure_approval SET answer = 'turned down'",
    )
    for revision, held in HELD.items():
        below = migrate.REVISIONS[migrate.REVISIONS.index(revision) - 1]
        migrate.downgrade(database_url, revision)
        for said, statement in held.items():
            counted = rows(database_url)
            with pytest.raises(RecordFault, match=f"stays at revision {revision}: .*{said}"):
                migrate.downgrade(database_url, below)
            assert migrate.current(database_url) == revision
            assert rows(database_url) == counted
            put(database_url, statement)
        migrate.downgrade(database_url, below)


def test_down_and_up_again_keeps_what_the_tables_hold(database_url: str, fill: Fill) -> None:
    filled(database_url, fill)
    taken_out(database_url)
    counted = rows(database_url)
    for revision in reversed(migrate.REVISIONS[:-1]):
        migrate.downgrade(database_url, revision)
        left = rows(database_url)
        assert left == {name: counted[name] for name in left}
        with pytest.raises(RecordFault, match=r"older program.*`shopdesk db upgrade`"):
            open_record(database_url)
    migrate.downgrade(database_url, "base")
    assert rows(database_url) == {}
    assert migrate.current(database_url) is None


def test_up_from_every_revision(database_url: str) -> None:
    with migrate.connection(database_url) as db:
        expected = described(db)
    for revision in migrate.REVISIONS[:-1]:
        migrate.downgrade(database_url, revision)
        said = migrate.upgrade(database_url)
        assert f"went from revision {revision} to {migrate.HEAD}" in said
        with migrate.connection(database_url) as db:
            assert described(db) == expected


def test_the_guards_stand_after_every_upgrade(database_url: str) -> None:
    """A batch change on SQLite makes a table anew, without its triggers."""
    guards = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
    }
    with migrate.connection(database_url) as db:
        found = set(db.exec_driver_sql(guards[db.dialect.name]).scalars())
    for table in ("event", "entry", "stock_move", "gas_move"):
        assert {f"{table}_no_update", f"{table}_no_delete"} <= found


def test_a_copy_is_kept_of_the_record_as_it_was(
    database_url: str, fill: Fill, tmp_path: Path, empty_url: str
) -> None:
    filled(database_url, fill)
    taken_out(database_url)
    migrate.downgrade(database_url, "0003")
    said = migrate.upgrade(database_url)
    [copy] = [path for path in tmp_path.rglob("*.0003-*Z*") if "-lock" not in path.name]
    assert str(copy) in said
    if database_url.startswith("sqlite"):
        assert migrate.current(str(copy)) == "0003"
        assert rows(str(copy))["job"] == 1
    elif not empty_url.startswith("sqlite"):
        serverdump.load(copy, settings.database_url(empty_url), lambda *_: None)
        assert migrate.current(empty_url) == "0003"
        assert rows(empty_url)["job"] == 1
    assert "at revision" in migrate.upgrade(database_url)
    migrate.downgrade(database_url, "0003")
    assert "is kept as" not in migrate.upgrade(database_url, backup=False)


def test_a_newer_record_is_left_alone(database_url: str) -> None:
    with migrate.connection(database_url) as db:
        db.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
        db.commit()
    with pytest.raises(RecordFault, match=r"newer program \(revision 9999") as caught:
        open_record(database_url)
    assert caught.value.exit_status == 6
    with pytest.raises(RecordFault, match="newer program"):
        migrate.upgrade(database_url)
    assert migrate.current(database_url) == "9999"


def test_a_batch_change_of_a_parent_keeps_its_children(
    database_url: str, fill: Fill, next_revision: Path
) -> None:
    """With foreign keys on, SQLite would empty or refuse the child tables: alembic, "Dealing
    with Referencing Foreign Keys" (alembic.sqlalchemy.org/en/latest/batch.html)."""
    filled_before_next(database_url, fill)
    before = rows(database_url)
    body = 'with op.batch_alter_table("job") as b: b.alter_column("complaint", new_column_name="c")'
    next_revision.write_text(NEXT.format(up=body, head=migrate.REVISIONS[-2]))
    migrate.upgrade(database_url)
    assert rows(database_url) == before
    with migrate.connection(database_url) as db:
        assert db.exec_driver_sql("SELECT c FROM job").scalar_one() == "text"


def filled_before_next(url: str, fill: Fill) -> None:
    with migrate.connection(url) as db:
        fill(db)
        db.commit()


def test_a_change_that_orphans_rows_is_undone(
    database_url: str, fill: Fill, next_revision: Path
) -> None:
    filled_before_next(database_url, fill)
    before = rows(database_url)
    next_revision.write_text(
        NEXT.format(up='op.execute("DELETE FROM customer")', head=migrate.REVISIONS[-2])
    )
    with pytest.raises(Exception, match=r"without its row in|foreign key constraint"):
        migrate.upgrade(database_url)
    assert rows(database_url) == before
    assert migrate.current(database_url) == migrate.REVISIONS[-2]


KILLED = """
import os, signal, sys
from shopdesk.records import migrate
real = migrate.check_foreign_keys
def struck(db):
    if db.exec_driver_sql("SELECT version_num FROM alembic_version").scalar() == sys.argv[2]:
        os.kill(os.getpid(), signal.SIGKILL)
    real(db)
migrate.check_foreign_keys = struck
migrate.{deed}(sys.argv[1])
"""


def killed_in(deed: str, url: str, revision: str) -> None:
    code = KILLED.format(deed=deed)
    done = subprocess.run([sys.executable, "-c", code, url, revision], timeout=60, check=False)
    assert done.returncode == -signal.SIGKILL


def test_killed_in_the_middle_of_an_upgrade(database_url: str) -> None:
    """The database stands at the last revision that was whole, and goes on from there."""
    with migrate.connection(database_url) as db:
        expected = described(db)
    migrate.downgrade(database_url, "0002")
    killed_in("upgrade", database_url, "0004")
    assert migrate.current(database_url) == "0003"
    migrate.upgrade(database_url)
    with migrate.connection(database_url) as db:
        assert described(db) == expected


def test_killed_while_it_was_made(empty_url: str) -> None:
    killed_in("create", empty_url, "0003")
    if empty_url.startswith("sqlite"):
        assert not Path(empty_url.removeprefix("sqlite:///")).exists()
        migrate.create(empty_url)
    else:
        migrate.upgrade(empty_url)
    assert migrate.current(empty_url) == migrate.HEAD


def test_a_wheel_carries_its_migrations(tmp_path: Path) -> None:
    """The wheel's layout: the folder stands inside the package (pyproject, force-include)."""
    package = Path(shopdesk.__file__).parent
    installed = tmp_path / "site"
    shutil.copytree(package, installed / "shopdesk", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(package.parent / "migrations", installed / "shopdesk" / "_migrations")
    code = "from shopdesk.records import migrate; import sys; migrate.create(sys.argv[1]);"
    code += "print(migrate.migrations_folder())"
    ran = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "new.db")],
        env={**os.environ, "PYTHONPATH": str(installed)},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout.strip() == str(installed / "shopdesk" / "_migrations")


def test_the_alembic_command(sqlite_url: str) -> None:
    """Alembic's own command, configured in pyproject.toml, finds no difference."""
    command = [sys.executable, "-m", "alembic", "-x", f"url={sqlite_url}", "check"]
    root = migrate.migrations_folder().parent
    ran = subprocess.run(command, cwd=root, capture_output=True, text=True, check=True)
    assert "No new upgrade operations detected" in ran.stdout
