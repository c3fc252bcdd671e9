"""Rows changed behind the record's back: each is named, though the chain itself still stands."""

import contextlib
from collections.abc import Callable

import pytest
from sqlalchemy import Connection, text

from shopdesk.records import chain, witness
from tests.desk.floor import Floor


class Undone(Exception):
    """Takes what was tried out of the record again."""


@pytest.fixture
def tried(at: Callable[..., Floor]) -> Callable[[str], str | None]:
    """What is found after a statement of somebody who has first taken the guards away."""
    floor = at("shipment")

    def found(statement: str) -> str | None:
        said: list[str | None] = []
        with contextlib.suppress(Undone), floor.shop.record.write() as db:
            _unguard(db)
            assert db.execute(text(statement)).rowcount >= 1
            assert chain.verify(db).broken is None
            said.append(witness.fault(db))
            raise Undone
        return said[0]

    with floor.shop.read() as db:
        assert witness.fault(db) is None
    return found


def _unguard(db: Connection) -> None:
    for table in ("entry", "stock_move", "gas_move"):
        if db.dialect.name == "postgresql":
            db.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
        else:
            for deed in ("update", "delete", "replace"):
                db.execute(text(f"DROP TRIGGER {table}_no_{deed}"))


FIRST = "SELECT min(id) FROM entry WHERE value_si IS NOT NULL"
LAST = "SELECT max(id) FROM entry"


def test_what_was_changed_is_named(tried: Callable[[str], str | None]) -> None:
    for statement, said in (
        (f"UPDATE entry SET value_si = value_si + 1e-9 WHERE id = ({FIRST})", "value_si"),
        ("UPDATE entry SET answer = 'good' WHERE id = 1", "recorded: answer"),
        ("UPDATE entry SET person_id = person_id + 1 WHERE id = 1", "recorded: person_id"),
        (f"DELETE FROM entry WHERE id = ({LAST})", "the row of entry that event"),
        ("UPDATE stock_move SET on_hand_change = 7 WHERE id = 1", "row 1 of stock_move"),
        ("UPDATE lot SET set_number = 'M-1' WHERE id = 1", "not of the matched set its events"),
        ("UPDATE lot SET set_broken = true WHERE id = 1", "not of the matched set its events"),
        ("UPDATE gas_move SET kg = 2 * kg", "row 1 of gas_move"),
        ("UPDATE approval SET cap_cents = cap_cents + 1", "row 1 of approval"),
        ("UPDATE shop_document SET document = document || '#'", "recorded: document"),
        ("UPDATE procedure_revision SET sha256 = 'x' WHERE id = 1", "recorded: sha256"),
        ("UPDATE part SET on_hand = on_hand + 1 WHERE id = 1", "the ledger's moves add up to"),
        (
            "UPDATE part SET reserved = on_hand WHERE on_hand > reserved",
            "the ledger's moves add up to",
        ),
        ("UPDATE lot SET on_hand = on_hand + 1 WHERE id = 1", "the ledger's moves add up to"),
    ):
        found = tried(statement)
        assert found is not None, statement
        assert said in found, statement


def test_a_row_nobody_recorded_is_named(tried: Callable[[str], str | None]) -> None:
    found = tried(
        "INSERT INTO entry (job_id, line, slot, typed, unit, answer, verdict, limit_text,"
        " limit_source, person_id, at, reason) SELECT job_id, line, slot, typed, unit, 'forged',"
        f" verdict, limit_text, limit_source, person_id, at, reason FROM entry WHERE id = ({LAST})"
    )
    assert found is not None
    assert "was never recorded by an event" in found
