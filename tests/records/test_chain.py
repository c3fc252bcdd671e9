"""The event chain: what it hashes, and that a changed, lost or added row is found and named."""

from datetime import timedelta, timezone
from functools import partial

import pytest
from sqlalchemy import Connection

from shopdesk.errors import BadInput, RecordFault
from shopdesk.records import chain
from shopdesk.records.chain import ChainReport
from shopdesk.records.engine import Record

from .conftest import MOMENT

NEW_YORK = timezone(timedelta(hours=-5))


def add(db: Connection, payload: object = None, key: str | None = None) -> int:
    return chain.append(
        db,
        at=MOMENT,
        kind="setting",
        job_id=None,
        person_id=None,
        payload={} if payload is None else payload,
        commit_key=key,
    )


def verified(record: Record, printed: str | None = None) -> ChainReport:
    with record.read() as db:
        return chain.verify(db, printed=printed)


@pytest.fixture
def five(record: Record) -> Record:
    """A record with five events."""
    for number in range(5):
        record.run(partial(add, payload={"n": number}))
    return record


def forge(record: Record, statement: str) -> None:
    """As the database's owner could, the guards taken down."""

    def past_the_guards(db: Connection) -> None:
        if record.dialect == "sqlite":
            db.exec_driver_sql("DROP TRIGGER IF EXISTS event_no_update")
            db.exec_driver_sql("DROP TRIGGER IF EXISTS event_no_delete")
        else:
            db.exec_driver_sql("SET LOCAL session_replication_role = replica")
        db.exec_driver_sql(statement)

    record.run(past_the_guards)


def forged(record: Record, statement: str) -> str | None:
    """What verifying says of it afterwards."""
    forge(record, statement)
    return verified(record).broken


def test_the_hash_is_of_the_documented_text(record: Record) -> None:
    """By coreutils' sha256sum of the text as the module describes it:

    {"at":"2026-01-31T08:00:00.000000Z","commit_key":null,"id":1,"job_id":null,"kind":"setting",
    "payload":"{\\"changed\\":\\"rule 4\\",\\"to\\":[1,2.5,\\"Ω\\"]}","person_id":null,
    "previous":"000...000"} (without these line breaks, 64 zeros).
    """
    record.run(lambda db: add(db, {"to": [1, 2.5, "Ω"], "changed": "rule 4"}))
    expected = "fc17c323f480609079a0995a379cad40224e7bc21d722915dc7d69f819182108"
    assert verified(record) == ChainReport(1, expected, None)


def test_one_moment_has_one_hash(record: Record) -> None:
    """A time given in another zone is the same moment, and so the same text."""
    moment = MOMENT.astimezone(NEW_YORK)
    record.run(
        lambda db: chain.append(
            db,
            at=moment,
            kind="setting",
            job_id=None,
            person_id=None,
            payload={"to": [1, 2.5, "Ω"], "changed": "rule 4"},
        )
    )
    assert (
        verified(record).head == "fc17c323f480609079a0995a379cad40224e7bc21d722915dc7d69f819182108"
    )


def test_ids_follow_without_a_gap(record: Record) -> None:
    assert [record.run(add) for _ in range(3)] == [1, 2, 3]

    def given_up(db: Connection) -> None:
        add(db)
        raise KeyError("the work fails")

    with pytest.raises(KeyError):
        record.run(given_up)
    assert record.run(add) == 4
    assert verified(record).broken is None


def test_a_chain_longer_than_a_page(record: Record, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chain, "_PAGE_ROWS", 10)

    def many(db: Connection) -> None:
        for number in range(25):
            add(db, number)

    record.run(many)
    assert verified(record).rows == 25
    assert forged(record, "UPDATE event SET payload = '1' WHERE id = 23") == (
        "event 23 was altered: it does not give its own hash"
    )


@pytest.mark.parametrize(
    "change",
    [
        "payload = '{\"n\":9}'",
        "payload = '{\"n\": 2}'",
        "kind = 'settinG'",
        "commit_key = 'k'",
        "at = '2026-01-31 08:00:00.000001+00:00'",
    ],
)
def test_an_altered_field_is_found(five: Record, change: str) -> None:
    broken = forged(five, f"UPDATE event SET {change} WHERE id = 3")
    assert broken == "event 3 was altered: it does not give its own hash"


def test_a_recomputed_row_is_found_at_the_next(five: Record) -> None:
    broken = forged(five, "UPDATE event SET hash = 'forged' WHERE id = 3")
    assert broken == "event 3 was altered: it does not give its own hash"
    with five.read() as db:
        row = next(r for r in chain._rows(db) if r.id == 3)
    fields = {k: v for k, v in row._mapping.items() if k != "hash"}
    fields |= {"kind": "forged", "at": chain._moment(row.at)}
    done = f"UPDATE event SET kind = 'forged', hash = '{chain._hash(fields)}' WHERE id = 3"
    assert forged(five, done) == (
        "event 4 does not carry event 3's hash: one of the two was altered"
    )


@pytest.mark.parametrize("gone", [1, 3])
def test_a_removed_row_is_found(five: Record, gone: int) -> None:
    assert forged(five, f"DELETE FROM event WHERE id = {gone}") == f"event {gone} is missing"


def test_a_removed_end_is_found(five: Record) -> None:
    broken = forged(five, "DELETE FROM event WHERE id > 3")
    assert broken == "event 4 is missing: the head names event 5 as the last"


@pytest.mark.parametrize("where", [0, 6])
def test_an_inserted_row_is_found(five: Record, where: int) -> None:
    previous = "0" * 64 if where == 0 else verified(five).head
    broken = forged(
        five,
        "INSERT INTO event (id, at, kind, payload, previous, hash) VALUES "
        f"({where}, '2026-01-31 08:00:00.000000+00:00', 'x', '1', '{previous}', 'h')",
    )
    assert broken is not None
    assert f"event {where} " in broken


def test_a_chain_cut_short_with_its_head_is_found_by_a_printed_hash(five: Record) -> None:
    printed = verified(five).head
    assert verified(five, printed).broken is None
    assert verified(five, "0" * 64).broken is None
    with five.read() as db:
        kept = db.exec_driver_sql("SELECT hash FROM event WHERE id = 4").scalar_one()
    forge(five, "DELETE FROM event WHERE id = 5")
    cut = f"UPDATE chain_head SET event_id = 4, hash = '{kept}'"
    assert forged(five, cut) is None
    assert verified(five, kept).broken is None
    assert printed in str(verified(five, printed).broken)


@pytest.mark.parametrize(
    ("statement", "broken"),
    [
        ("DELETE FROM chain_head", "the head of the chain is missing"),
        ("UPDATE chain_head SET hash = 'x'", "the head does not carry event 5's hash"),
        ("UPDATE chain_head SET event_id = 4", "event 5 was added past the head of the chain"),
    ],
)
def test_a_changed_head_is_found(five: Record, statement: str, broken: str) -> None:
    assert forged(five, statement) == broken


def test_nothing_is_added_without_a_head(five: Record) -> None:
    five.run(lambda db: db.exec_driver_sql("DELETE FROM chain_head"))
    with pytest.raises(RecordFault, match="lost the head of its event chain"):
        five.run(add)


@pytest.mark.parametrize("forgery", ["x'ff'", "CAST(x'ff' AS TEXT)", "NULL"])
def test_what_is_no_text_at_all_is_found(sqlite_url: str, forgery: str) -> None:
    """SQLite keeps any type in any column: www.sqlite.org/datatype3.html."""
    from shopdesk.records.engine import open_record

    record = open_record(sqlite_url)
    try:
        record.run(add)
        column = "commit_key" if forgery == "NULL" else "kind"
        record.run(lambda db: add(db, key="k"))
        broken = forged(record, f"UPDATE event SET {column} = {forgery} WHERE id = 2")
        assert broken is not None
        assert "event 2" in broken or "after 1" in broken
    finally:
        record.close()


@pytest.mark.parametrize("payload", [float("nan"), {"text": "\ud800"}])
def test_what_is_no_json_is_refused(record: Record, payload: object) -> None:
    with pytest.raises(BadInput, match="nothing was recorded"):
        record.run(lambda db: add(db, payload))
    assert verified(record).rows == 0


def test_a_commit_key_stands_once(record: Record) -> None:
    from sqlalchemy.exc import IntegrityError

    record.run(partial(add, key="k"))
    with pytest.raises(IntegrityError):
        record.run(partial(add, key="k"))
