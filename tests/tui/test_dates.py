"""Dates as typed; what days there are is the Gregorian calendar's own (ISO 8601)."""

from datetime import date

import pytest

from shopdesk.errors import BadInput
from shopdesk.tui.dates import read_date

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("14 Mar", date(2026, 3, 14)),
        ("14 march", date(2026, 3, 14)),
        ("1 mar", date(2027, 3, 1)),
        ("14.3.", date(2026, 3, 14)),
        ("14.3.27", date(2027, 3, 14)),
        ("2027-03-14", date(2027, 3, 14)),
        ("+10", date(2026, 3, 12)),
        ("29 feb", date(2028, 2, 29)),
    ],
)
def test_dates_that_are_read(typed: str, meant: date) -> None:
    assert read_date(typed, TODAY) == meant


@pytest.mark.parametrize(
    "typed", ["", "soon", "3/4", "31.2.", "14 13", "2026-13-01", "+", "+99999", "14", "1 2 3 4"]
)
def test_dates_that_are_refused(typed: str) -> None:
    with pytest.raises(BadInput, match="expected a date"):
        read_date(typed, TODAY)
