"""``shopdesk stores count``, ``approve-count``, ``put-off`` and their lists."""

import json

import pytest

from shopdesk.desk import keeping, purchases
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from tests.desk.test_counting import RULE
from tests.tui.conftest import DATA, fill, on_shelf

from .shell import run, sentence

PART, LOT = "OR-014-N90", "L-1"


@pytest.fixture
def url(sqlite_url: str) -> str:
    """The small shop with a rule for counts, 12 rings on the shelf, 25 on order."""
    record = open_record(sqlite_url)
    shop = Shop(record)
    fill(shop)
    text = (DATA / "shop.toml").read_text().replace('revision = "4', 'revision = "4b') + RULE
    keeping.adopt_document(shop, "MM 4711", "shop", text)
    on_shelf(shop)
    purchases.order(shop, "CC", "S01", ((PART, 25),))
    record.close()
    return sqlite_url


def test_a_count_by_two_people_and_a_manager(url: str) -> None:
    def said(*words: str) -> str:
        result = run("stores", *words, "--database", url)
        assert result.exit_code == 0, result.output
        return result.output

    def refused(*words: str) -> str:
        return sentence(run("stores", *words, "--database", url), 3)

    count = ("count", PART, LOT)
    assert "somebody else counts it again" in said(*count, "5", "--sign", "CC 2222")
    assert "somebody else counts it again" in refused(*count, "5", "--sign", "CC 2222")
    assert "a manager approves it" in said(*count, "5", "--sign", "TT 3333")
    (waits,) = json.loads(said("to-count", "--json"))
    assert (waits["lot"], waits["state"]) == (LOT, "to be approved")
    approve = ("approve-count", PART, LOT, "--reason", "a bag was lost", "--sign")
    assert "takes a manager" in refused(*approve, "CC 2222")
    assert "approved, -7" in said(*approve, "MM 4711")
    rows = json.loads(said("counts", "--json"))
    assert [row["outcome"] for row in rows] == ["adjusted", "to be approved", "to be recounted"]
    for time, says in (("9", "such as 10:05"), ("24:10", "00:00 to 23:59")):
        asked = run("stores", *count, "5", "--at", time, "--sign", "CC 2222", "--database", url)
        assert says in sentence(asked, 2)


def test_what_will_not_come_is_called_off(url: str) -> None:
    words = ("stores", "call-off", "501", PART.lower(), "--reason", "not made any more")
    signed = ("--sign", "CC 2222", "--database", url)
    done = run(*words, *signed)
    assert done.exit_code == 0, done.output
    assert f"25 of {PART} of purchase 501 called off" in done.stdout
    assert f"purchase 501 has none of {PART} due" in run(*words, *signed).output


def test_a_purchase_is_put_off(url: str) -> None:
    def put_off(number: str, day: str) -> tuple[int, str]:
        words = ("put-off", number, day, "--reason", "their word", "--sign", "CC 2222")
        result = run("stores", *words, "--database", url)
        return result.exit_code, result.output

    assert put_off("501", "2199-01-04")[0] == 0
    for number, day, says in (
        ("502", "2199-01-04", "no purchase 502"),
        ("501", "2026-01-04", "which has passed"),
        ("501", "soon", "is not a date"),
    ):
        status, output = put_off(number, day)
        assert status in (2, 3, 4), output
        assert says in output
