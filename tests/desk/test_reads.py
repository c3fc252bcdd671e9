"""What a view asks of the database does not grow with what it shows, nor is it asked twice."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, event

from shopdesk.desk import counter, moving, procedures
from shopdesk.views import comparing
from shopdesk.views import moving as views
from tests.desk.floor import Floor
from tests.desk.test_moving import WHY, in_force
from tests.desk.test_procedures import MANAGER, revised

At = Callable[..., Floor]


@pytest.fixture
def database() -> str:
    return "sqlite"


@contextmanager
def asked(of: Connection | Engine) -> Iterator[list[str]]:
    """The statements sent meanwhile."""
    sent: list[str] = []

    def note(_db: Any, _cursor: Any, sql: str, *_: Any) -> None:
        sent.append(" ".join(sql.split()))

    event.listen(of, "before_cursor_execute", note)
    yield sent
    event.remove(of, "before_cursor_execute", note)


def having(sent: list[str], words: str) -> int:
    return sum(words in sql for sql in sent)


def test_jobs_running_on_a_model_are_one_question(at: At) -> None:
    floor = at("teardown")
    first = floor.number
    in_force(floor)
    with floor.shop.read() as db, asked(db) as one:
        views.running(db, "GT-1")
    floor.take_in(serial="K-2")
    number = floor.take_in(serial="K-3")
    in_force(floor, revision="C")
    for _ in "CD":  # twice moved over, it was begun on B
        moving.move_over(floor.shop, MANAGER, number, WHY)
        in_force(floor, revision="D")
    with floor.shop.read() as db, asked(db) as three:
        found = views.running(db, "GT-1")
    assert len(three) <= len(one)
    assert [(job.revision, job.begun_on) for job in found.jobs] == [
        ("A", "A"),
        ("B", "B"),
        ("D", "B"),
    ]
    with floor.shop.read() as db, asked(db) as sent:
        views.plan(db, first, floor.clock(), "D")
    assert having(sent, "FROM entry") == 1


def test_a_document_is_compared_before_the_lock(at: At) -> None:
    floor = at("teardown")
    with asked(floor.shop.record._backend.writing) as sent:
        procedures.bring_in(floor.shop, MANAGER, revised(), "", name="new")
    assert having(sent, "INSERT INTO procedure_revision") == 1
    assert having(sent, "entry") == 0


def test_a_claim_reads_each_sheet_once(at: At) -> None:
    floor = at("shipment")
    floor.go("done")
    counter.hand_over(floor.shop, "CC", floor.number, "Coast Haulage")
    floor.clock.on(days=152)
    number = floor.take_in("GT-1", "K-1", kind="warranty", complaint="drips again")
    with floor.shop.read() as db, asked(db) as sent:
        found = comparing.compared(db, number, floor.clock())
    assert len(found.lots) > 1
    assert [lot.elsewhere for lot in found.lots] == [0] * len(found.lots)
    assert having(sent, "job.first_promised_on") == 2  # the claim's and the earlier
    assert having(sent, "customer.name AS customer, min(stock_move.at)") == 1
