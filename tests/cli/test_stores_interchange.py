"""``shopdesk stores interchange`` and what is proposed, answered and held with it."""

import csv
import io
import json

import pytest

from shopdesk.desk import office, stores
from shopdesk.desk.shop import Shop
from shopdesk.records.engine import open_record
from tests.tui.conftest import fill, quoted

from .shell import run, sentence

OTHER = "OR-014-V90"


@pytest.fixture
def url(sqlite_url: str) -> str:
    """The small shop, short of rings for its one job, five of another rubber on the shelf."""
    record = open_record(sqlite_url)
    shop = Shop(record)
    fill(shop)
    stores.add_part(shop, "CC", stores.NewPart(OTHER, "O-ring", 61, "014", "FKM"))
    stores.receive(shop, "CC", stores.Delivery(OTHER, "L-V", 5, "1Q2026"))
    office.record_answer(
        shop, "CC", quoted(shop), approved=True, by="Ada", how="telephone", cap_cents=100_00
    )
    record.close()
    return sqlite_url


def test_from_proposal_to_withdrawal(url: str) -> None:
    def said(*words: str) -> str:
        result = run("stores", *words, "--database", url)
        assert result.exit_code == 0, result.output
        return result.output

    def refused(status: int, *words: str) -> str:
        return sentence(run("stores", *words, "--database", url), status)

    propose = ("propose-interchange", "or-014-n90", OTHER, "--reason", "same size", "--sign")
    assert "nothing may stand in" in said("interchange")
    made = said(*propose, "TT 3333")
    assert "interchange 1: OR-014-V90 in place of OR-014-N90, everywhere" in made
    assert "compound FKM in place of NBR" in made
    assert "is proposed already" in refused(3, *propose, "TT 3333")
    hold = ("hold", "J-1001", "OR-014-N90", OTHER, "--sign", "CC 2222")
    assert "is proposed, and waits for a manager" in refused(3, *hold)
    assert "takes a manager" in refused(3, "approve-interchange", "1", "--sign", "CC 2222")
    assert "not the other way round" in said("approve-interchange", "1", "--sign", "MM 4711")
    (missing,) = json.loads(said("missing", "--json"))
    assert missing["stands_in"] == "OR-014-V90 may stand in, 5 free (interchange 1)"
    assert "2 OR-014-V90 held for J-1001" in said(*hold)
    assert json.loads(said("missing", "--json")) == []
    withdraw = ("withdraw-interchange", "1", "--reason", "leaks", "--sign", "MM 4711")
    assert "stands in for OR-014-N90 no more" in said(*withdraw)
    assert json.loads(said("interchange", "--json")) == []
    (row,) = csv.DictReader(io.StringIO(said("interchange", OTHER, "--all", "--csv")))
    assert (row["stands"], row["answered by"], row["answer reason"]) == ("withdrawn", "MM", "leaks")
    said(*propose, "TT 3333")
    turned = ("approve-interchange", "2", "--turn-down", "--sign", "MM 4711")
    assert "why is it turned down" in refused(2, *turned)
    assert "is turned down" in said(*turned, "--reason", "no")
    moves = json.loads(said("moves", "--part", OTHER, "--json"))
    assert {(row["kind"], row["stands_in_for"]) for row in moves} == {
        ("release", "OR-014-N90"),
        ("reserve", "OR-014-N90"),
        ("receive", ""),
    }
