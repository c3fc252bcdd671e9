"""What a job waits for, and whose move it is, told from its sheet."""

import pytest

from shopdesk.rules import waiting
from shopdesk.rules.answers import KitState, Road, Verdict
from tests.rules.conftest import Laid, answer
from tests.rules.test_gates import VENTED


def says(laid: Laid, *answers: object, **given: object) -> tuple[str, str]:
    found = waiting.waiting(laid(*answers, **given))
    return found.reason, found.owner


def test_from_receipt_to_teardown(laid: Laid) -> None:
    assert says(laid) == ("receipt to finish", "counter")
    assert says(laid, VENTED[0]) == ("vent: Gas pressure on arrival", "bench")
    assert says(laid, VENTED[0], assigned="TT")[1] == "TT"
    assert says(laid, *VENTED[:6])[1] == "a second person"


@pytest.mark.parametrize(
    ("word", "owner"),
    [("ask customer", "customer"), ("scrap", "office"), ("hone or lap", "bench")],
)
def test_an_outside_reading_names_its_owner(laid: Laid, word: str, owner: str) -> None:
    wide = answer(8, "teardown.oil", "value", "11 mL", 11e-6, Verdict.OUTSIDE)
    decided = answer(9, "teardown.oil", "disposition", word)
    sheet = laid(*VENTED, wide, decided, gas_state="vented")
    state = sheet.get("teardown.oil")
    assert state is not None
    assert waiting._unresolved(state).owner == owner


def test_a_closed_job_waits_for_nothing(laid: Laid) -> None:
    assert says(laid, closed=True) == ("nothing: closed", "")


@pytest.mark.parametrize(
    ("reserved", "available", "short"),
    [(0, 0, True), (0, 1, True), (1, 0, True), (0, 2, False), (1, 1, False), (2, 0, False)],
)
def test_a_part_is_short_when_shelf_and_reserve_do_not_cover_it(
    laid: Laid, reserved: int, available: int, short: bool
) -> None:
    seal = KitState("seal", "SEAL-N90", "", 2, 0, reserved, available)
    washer = KitState("washer", "WASHER", "", 1, 0, 1, 0)
    found = waiting.short_parts(laid(kit=(seal, washer)))
    assert found == (("SEAL-N90",) if short else ())


def test_a_side_road_waits_at_the_counter(laid: Laid) -> None:
    given = {"road": Road.DECLINED, "gas_state": "vented"}
    assert says(laid, *VENTED, **given) == ("declined: Loose parts bagged and listed", "counter")
