"""The backlog's plain words."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest

from shopdesk.rules.filters import fits

NOW = datetime(2026, 3, 12, 9, tzinfo=UTC)


@dataclass
class Waiting:
    number: int = 1047
    kind: str = "customer"
    serial: str = "K-20418"
    model: str = "PA-016"
    customer: str = "Harbour Office"
    gas_state: str = "unknown"
    road: str = "repair"
    stage: str = "parts"
    waiting_for: str = "part short: OR-014-N90"
    waiting_on: str = "stores"
    waiting_since: datetime = datetime(2026, 3, 2, 9, tzinfo=UTC)
    promised_on: date = date(2026, 3, 10)
    assigned: str = "RT"


@pytest.mark.parametrize(
    "words",
    [
        *("late", "unknown", "stores", "Late stores", "rt", "or-014", "over 7"),
        *("harb late over 9", "charged or unknown", "stores's move", "Stores's move late"),
    ],
)
def test_words_that_fit(words: str) -> None:
    assert fits(words, Waiting(), NOW)


@pytest.mark.parametrize(
    "words",
    [
        *("charged", "bench", "late customers", "over 10", "vented"),
        *("charged or vented", "store's move", "RT's move"),
    ],
)
def test_words_that_do_not(words: str) -> None:
    assert not fits(words, Waiting(), NOW)
