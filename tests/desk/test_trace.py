"""Parts found, lots traced to jobs and jobs to lots, on both databases."""

from collections.abc import Callable

import pytest

from shopdesk.desk import stores
from shopdesk.errors import NotFound
from shopdesk.views import stores as shelves
from shopdesk.views import trace
from shopdesk.views.trace import Trace
from tests.desk.floor import Floor

At = Callable[..., Floor]


def traced(floor: Floor, code: str) -> Trace:
    with floor.shop.read() as db:
        return trace.of(db, code)


def found(floor: Floor, text: str) -> list[str]:
    with floor.shop.read() as db:
        return [part.number for part in shelves.parts(db, floor.clock().date(), text)]


def test_a_lot_leads_to_the_serial_and_back(at: At) -> None:
    floor = at("build")
    lot = traced(floor, "s-old")
    assert [(use.job, use.serial, use.pieces, use.left_on) for use in lot.uses] == [
        (f"J-{floor.number}", "K-1", 2, None)
    ]
    job = traced(floor, f"j-{floor.number}")
    assert [(one.lot, one.pieces) for one in job.fitted] == [("S-OLD", 2), ("W-1", 1)]
    part = traced(floor, "SEAL-N90")
    assert {place.model for place in part.places} == {"GT-1", "PT-1"}
    assert [use.lot for use in part.uses] == ["S-OLD"]


def test_what_came_back_is_in_no_unit(at: At) -> None:
    floor = at("build")
    stores.give_back(floor.shop, "TT", floor.number, "S-OLD", 2, "left over")
    assert traced(floor, "S-OLD").uses == ()
    assert [one.lot for one in traced(floor, f"J-{floor.number}").fitted] == ["W-1"]


def test_a_lot_number_two_makers_use_leads_to_both_parts(floor: Floor) -> None:
    stores.receive(floor.shop, "MM", stores.Delivery("PISTON", "W-1", 1))
    assert traced(floor, "W-1").said.endswith("1 of PISTON on the shelf; 10 of WASHER on the shelf")


def test_what_is_nothing_is_said_to_be_nothing(floor: Floor) -> None:
    for code in ("", "J-1", "B-TT1", "W-01", "%", "x" * 500):
        with pytest.raises(NotFound, match="no lot, job tag or part number"):
            traced(floor, code)


def test_parts_are_found_by_any_piece_and_signs_stand_for_themselves(floor: Floor) -> None:
    assert found(floor, "seal-") == ["SEAL-N90", "SEAL-V90"]
    assert found(floor, " wAsH ") == ["WASHER"]
    for text in ("%", "_EAL", "s%0", "'", "\\"):
        assert found(floor, text) == []
