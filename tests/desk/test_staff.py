"""People: PINs made to wait, wrong ones recorded, roles, badges, who has left."""

from collections.abc import Callable

import pytest
from sqlalchemy import select

from shopdesk.desk import entries, keeping, signing, staff
from shopdesk.desk.shop import Shop
from shopdesk.errors import BadInput, NotFound, Refused
from shopdesk.records import chain
from shopdesk.records.tables import Event, Person
from shopdesk.views import staff as listed
from tests.desk.floor import Clock, Floor

At = Callable[..., Floor]


def events(floor: Floor, kind: str) -> list[dict[str, object]]:
    with floor.shop.read() as db:
        return list(db.execute(select(Event.payload).where(Event.kind == kind)).scalars())


def wrong(shop: Shop, times: int, who: str = "TT") -> None:
    for _ in range(times):
        with pytest.raises(signing.WrongPin):
            signing.sign_in(shop, f"{who} 9999")


def test_wrong_pins_are_recorded_and_later_ones_wait(floor: Floor, clock: Clock) -> None:
    """Free tries and waits are the shop's; without a word three, then 5 s doubling."""
    shop = floor.shop
    wrong(shop, 3)
    with pytest.raises(Refused, match=r"3 wrong PINs in a row; the next can be tried in 5 s"):
        signing.sign_in(shop, "TT 3333")  # also the right one
    clock.on(seconds=5.1)
    wrong(shop, 1)
    with pytest.raises(Refused, match=r"in 10 s"):
        signing.sign_in(shop, "TT 3333")
    clock.on(seconds=10.1)
    assert signing.sign_in(shop, "TT 3333").initials == "TT"
    wrong(shop, 3)  # counted from the right one on
    said = events(floor, "wrong PIN")
    assert len(said) == 7
    assert "9999" not in str(said)
    with shop.read() as db:
        assert chain.verify(db).broken is None


def test_a_name_nobody_has_is_recorded_too(floor: Floor) -> None:
    with pytest.raises(Refused, match="do not fit"):
        signing.sign_in(floor.shop, "QQ 1234")
    assert events(floor, "wrong PIN") == [{"said": "QQ", "terminal": floor.shop.terminal}]


def test_a_wrong_pin_inside_a_deed_is_recorded_and_the_deed_is_not(at: At) -> None:
    floor = at("vent.seen")
    before = floor.look().sheet.facts.version
    with pytest.raises(signing.WrongPin):
        entries.record_entry(floor.shop, "TT", floor.number, "vent.seen", "UU 9999")
    assert floor.look().sheet.facts.version == before
    assert [said["said"] for said in events(floor, "wrong PIN")] == ["UU"]


def test_a_manager_keeps_the_list(floor: Floor) -> None:
    shop = floor.shop
    staff.change_role(shop, "MM 1111", "UU", "counter")
    staff.change_badge(shop, "MM 1111", "UU", "b-77")
    staff.change_pin(shop, "MM 1111", "UU", "8888", cost=2**4)
    assert signing.sign_in(shop, "B-77 8888").role == "counter"
    staff.change_pin(shop, "UU 8888", "UU", "7777", cost=2**4)  # one's own
    staff.retire(shop, "MM 1111", "UU")
    with pytest.raises(Refused):
        signing.sign_in(shop, "UU 7777")
    staff.take_back(shop, "MM 1111", "UU")
    assert signing.sign_in(shop, "UU 7777").initials == "UU"
    with shop.read() as db:
        [row] = listed.people(db, "b-77")
    assert (row.initials, row.role, row.active) == ("UU", "counter", True)
    assert "8888" not in str(events(floor, "person"))


@pytest.mark.parametrize("signs", ["TT 3333", "CC 2222", "MM 9999", "MM", ""])
def test_nobody_else_keeps_it(floor: Floor, signs: str) -> None:
    shop = floor.shop
    attempts: tuple[Callable[[], object], ...] = (
        lambda: staff.change_role(shop, signs, "UU", "manager"),
        lambda: staff.change_badge(shop, signs, "UU", "B-9"),
        lambda: staff.change_pin(shop, signs, "UU", "8888", cost=2**4),
        lambda: staff.retire(shop, signs, "UU"),
        lambda: staff.take_back(shop, signs, "UU"),
        lambda: keeping.adopt_document(shop, signs, "shop", "x"),
        lambda: keeping.add_person(
            shop, signs, initials="ZZ", name="Zed", role="manager", pin="1234", pin_cost=2**4
        ),
    )
    with shop.read() as db:
        before = listed.people(db)
    for attempt in attempts:
        with pytest.raises((Refused, BadInput)):
            attempt()
    with shop.read() as db:
        after = listed.people(db)
    kept = [(one.initials, one.role, one.badge, one.active) for one in after]
    assert kept == [(one.initials, one.role, one.badge, one.active) for one in before]


def test_a_shop_keeps_a_manager(floor: Floor) -> None:
    staff.retire(floor.shop, "MM 1111", "NN")
    with pytest.raises(Refused, match="needs a manager"):
        staff.retire(floor.shop, "MM 1111", "MM")
    with pytest.raises(Refused, match="needs a manager"):
        staff.change_role(floor.shop, "MM 1111", "MM", "counter")
    with floor.shop.read() as db:
        assert db.execute(select(Person.active).where(Person.initials == "MM")).scalar_one()


def test_bad_input_is_a_sentence(floor: Floor) -> None:
    shop = floor.shop
    with pytest.raises(Refused, match="badge B-TT1 is TT's"):
        staff.change_badge(shop, "MM 1111", "UU", "b-tt1")
    with pytest.raises(BadInput, match="4 to 12 digits"):
        staff.change_pin(shop, "MM 1111", "UU", "12", cost=2**4)
    with pytest.raises(NotFound, match="nobody here has the initials 'QQ'"):
        staff.retire(shop, "MM 1111", "QQ")
