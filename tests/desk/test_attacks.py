"""Attempts on the record: somebody else's deeds, a screen gone stale, text that means to be SQL."""

import importlib
import inspect
import json
import pkgutil
from collections.abc import Callable, Iterator
from functools import cache, partial
from typing import Any

import pytest
from sqlalchemy import (
    Connection,
    Select,
    String,
    Text,
    bindparam,
    exists,
    func,
    or_,
    select,
    type_coerce,
)

import shopdesk.desk
from shopdesk.desk import bench
from shopdesk.desk.seen import AsSeen
from shopdesk.errors import Refused, ShopError, Stale
from shopdesk.records.tables import Base, Event
from shopdesk.records.tables.base import Words
from shopdesk.rules.people import MAY, ROLES
from shopdesk.views import finding, lists, stores, trace
from tests.desk import deeds as table
from tests.desk.deeds import undone
from tests.desk.floor import Floor

At = Callable[..., Floor]
Deeds = tuple[table.Deed, ...]
SQLITE = pytest.mark.parametrize("database", ["sqlite"], indirect=True)
WHO = {"counter": "CC 2222", "technician": "TT 3333", "manager": "MM 1111"}

# Drafts and wrong PINs are nobody's yet; a kept forecast is the record's own; the first files of a
# new shop come before its first person.
NOBODYS = {"drafts.keep", "signing.sign_in", "signing.note", "forecasting.keep"}
NOBODYS |= {"starting.start_from", "safekeeping.daily"}
READING = ("reports", "drafts.kept", "procedures.look", "sample", "calculator")


@pytest.fixture
def floor(at: At) -> Floor:
    return at("shipment", "PT-1")


@pytest.fixture
def deeds(floor: Floor) -> tuple[table.Deed, ...]:
    return table.deeds(table.stand(floor))


# Roles -------------------------------------------------------------------------------------------


@SQLITE
def test_no_deed_is_missing_from_the_table(deeds: Deeds) -> None:
    named = {deed.name for deed in deeds}
    assert set(_written()) - NOBODYS == named
    assert {deed.action for deed in deeds} == set(MAY)


def _written() -> Iterator[str]:
    """Public functions of the desk that take the shop and write."""
    for found in pkgutil.walk_packages(shopdesk.desk.__path__, "shopdesk.desk."):
        module = importlib.import_module(found.name)
        for name, made in vars(module).items():
            short = f"{found.name.removeprefix('shopdesk.desk.')}.{name}"
            here = inspect.isfunction(made) and made.__module__ == found.name
            if not here or name.startswith("_") or short.startswith(READING):
                continue
            if next(iter(inspect.signature(made).parameters), "") == "shop":
                yield short


def test_each_role_does_what_is_its_own_and_no_more(floor: Floor, deeds: Deeds) -> None:
    before = floor.written()
    for deed in deeds:
        for role in ROLES:
            said = undone(floor, deed.by(WHO[role]), lambda _db: None)
            foreign = isinstance(said, Refused) and f"this is a {role}" in str(said)
            assert foreign == (role not in MAY[deed.action] and role != "manager"), (
                deed.name,
                role,
                said,
            )
            if foreign:
                assert deed.action in str(said)
                assert said.whose_move.endswith("manager")
    assert floor.written() == before


@SQLITE
def test_a_retired_person_does_nothing(floor: Floor, deeds: Deeds) -> None:
    for deed in deeds:
        said = undone(floor, deed.by("XX 1111"), lambda _db: None)
        assert isinstance(said, ShopError), deed.name


# A stale screen ----------------------------------------------------------------------------------


@SQLITE
def test_a_deed_on_a_job_changed_since_it_was_seen_is_said_first(
    floor: Floor, deeds: Deeds
) -> None:
    """Told of the change, the same person may do it all the same."""
    asked = [
        deed
        for deed in deeds
        if "number" in deed.given and "seen" in inspect.signature(deed.do).parameters
    ]
    assert {deed.do.__name__ for deed in asked} == {
        *("take_job", "make_quote", "record_answer", "hand_over", "scrap", "concede"),
        *("change_promise", "move_over"),
    }
    for deed in asked:
        number = deed.given["number"]
        seen = AsSeen(floor.look(number).sheet.facts.version)
        bench.take_job(floor.shop, "UU", number, "UU")
        given = {**deed.given, "seen": seen}
        with floor.refused(kind=Stale, says="job taken, UU at 09:"):
            deed.by("MM 1111", given)(floor)
        said = undone(floor, deed.by("MM 1111", given), lambda _db: "done")
        assert said == "done", (deed.name, said)


@SQLITE
def test_what_changes_a_job_asks_what_was_seen_or_says_why_not(deeds: Deeds) -> None:
    """An entry is held against its slot, a correction against the entry it supersedes; what keeps
    people safe is never refused for that; the others add to a job and undo nothing of it."""
    spared = {"record_entry", "correct_entry", "report_hiss", "quarantine"}
    adding = {"give_back", "harvest", "record_hours", "record_bill", "put_off", "call_off", "hold"}
    for deed in deeds:
        if "number" in deed.given and deed.do.__name__ not in spared | adding:
            assert "seen" in inspect.signature(deed.do).parameters, deed.name


# SQL in what is typed ----------------------------------------------------------------------------

NASTY = ("x'; DROP TABLE entry; --", '" %(id)s :id ? {0} \\', "%")
BROKEN = ("Zz\0z", "Z" * 5000, "\ud800z")


@cache
def standing_of(dialect: str) -> Select[*tuple[Any, ...]]:
    """How many rows every table has, and whether a text stands in one of them, in any case."""
    within = func.instr if dialect == "sqlite" else func.strpos
    tables = Base.metadata.sorted_tables
    columns = [column for table in tables for column in table.columns]
    held = func.lower(type_coerce(Event.payload, Text))
    stands = or_(
        *(
            exists().where(func.lower(column) == bindparam("text"))
            for column in columns
            if isinstance(column.type, String | Words)
        ),
        exists().where(within(held, bindparam("held")) > 0),
    )
    counts = [select(func.count()).select_from(table).scalar_subquery() for table in tables]
    return select(*counts, stands)


def standing(db: Connection, text: str) -> tuple[object, ...]:
    held = json.dumps(text.lower(), ensure_ascii=False)[1:-1]
    found = db.execute(standing_of(db.dialect.name), {"text": text.lower(), "held": held})
    return tuple(found.one())


def test_text_that_means_to_be_sql_is_text(floor: Floor, deeds: Deeds) -> None:
    """Each nasty text in each text field does what a plain word does there, and stands in the
    record where that word would stand; or it is refused in a sentence, as the word is."""
    for deed in deeds:
        for place, plain in deed.with_text("Zz9"):
            expected = undone(floor, deed.by("MM 1111", plain), partial(standing, text="Zz9"))
            for text in NASTY if floor.shop.record.dialect == "sqlite" else NASTY[1:2]:
                given = dict(deed.with_text(text))[place]
                found = undone(floor, deed.by("MM 1111", given), partial(standing, text=text))
                if isinstance(found, ShopError):
                    refused = isinstance(expected, ShopError) or text == "%"
                    said = "room for" in str(found) or "expected" in str(found)
                    assert refused or said, (deed.name, place, text, found)
                else:
                    assert found == expected, (deed.name, place, text)


def test_text_that_no_record_holds_is_refused_in_a_sentence(floor: Floor, deeds: Deeds) -> None:
    """NUL, half of a character pair, and more than there is room for; or it is cut short."""
    for deed in deeds:
        for text in BROKEN:
            for place, given in deed.with_text(text):
                found = undone(floor, deed.by("MM 1111", given), lambda _db: "taken")
                assert found == "taken" or isinstance(found, ShopError), (deed.name, place)


@SQLITE
@pytest.mark.parametrize("text", ["%", "_", "' OR '1'='1", "x' UNION SELECT 1 --", "\\", "%(id)s"])
def test_a_finder_takes_no_text_for_a_pattern(floor: Floor, text: str) -> None:
    today = floor.clock().date()
    with floor.shop.read() as db:
        assert lists.what_is(db, text) is None
        for found in (
            finding.find(db, text),
            finding.history(db, text),
            stores.parts(db, today, text),
            lists.customers(db, text),
            lists.known_units(db, text),
            trace.of_lot(db, text),
        ):
            assert tuple(found) == ()
