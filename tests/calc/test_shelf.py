"""Storage life row by row against the reference table, and cure codes as people write them."""

import csv
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import shelf
from shopdesk.errors import BadInput

from .worked import REFERENCE

WRITTEN = {
    "ISO 2230": "ISO 2230",
    "SAE ARP5316 (now AS5316)": "ARP5316",
    "MIL-HDBK-695": "MIL-HDBK-695E",
    "none": "ISO 2230",
}


def _table() -> list[dict[str, str]]:
    with (REFERENCE / "shelf_life.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


PERIODS = _table()
IDS = [f"{row['standard']} {row['code']}" for row in PERIODS]
QUARTERS = st.builds(shelf.Quarter, st.integers(1950, 2100), st.integers(1, 4))


@pytest.mark.parametrize("row", PERIODS, ids=IDS)
def test_period(row: dict[str, str]) -> None:
    """Cured 3Q2020, which ends on 30 September. Source: the row's own, in shelf_life.csv."""
    found = shelf.use_by(row["code"], "3Q2020", WRITTEN[row["standard"]])
    years, more = row["initial_years"], row["extension_years"]
    assert found.use_by == (date(2020 + int(years), 9, 30) if years else None)
    total = date(2020 + int(row["total_years"]), 9, 30) if more else None
    assert found.use_by_extended == total
    assert (found.as_text == "no limit") == (row["total_years"] in ("unlimited", "not age-limited"))
    assert found.life.edition == row["edition"]
    assert found.life.source == row["source"]


def test_the_table_is_whole() -> None:
    assert len(shelf.lives()) == len(PERIODS) == 59


@pytest.mark.parametrize(
    "text", ["4Q2017", "4q2017", "Q4/2017", "2017Q4", "2017-Q4", " 4Q 2017 ", "4Q17", "Q4-17"]
)
def test_cure_code_as_people_write_it(text: str) -> None:
    assert shelf.cure_quarter(text) == shelf.Quarter(2017, 4)
    assert shelf.cure_quarter(text).end == date(2017, 12, 31)


@pytest.mark.parametrize(
    "text", ["", "5Q2017", "0Q2017", "2017", "3/94", "2017-12", "4Q1017", "4Q9999", "Q", "NaN"]
)
def test_cure_code_refused(text: str) -> None:
    with pytest.raises(BadInput, match="Cure date was read as"):
        shelf.cure_quarter(text)


def test_a_quarter_ends_on_its_last_day() -> None:
    """2Q2019 ends on 30 June 2019. Source: a seal maker's guide; ISO 2230: 3/94 is to September."""
    assert shelf.cure_quarter("2Q2019").end == date(2019, 6, 30)
    assert shelf.cure_quarter("3Q94").end == date(1994, 9, 30)


@given(quarter=QUARTERS)
def test_quarter_there_and_back(quarter: shelf.Quarter) -> None:
    assert shelf.cure_quarter(str(quarter)) == quarter
    assert shelf.quarter_of(quarter.end) == quarter


@given(day=st.dates(date(1950, 1, 1), date(2199, 12, 31)))
def test_a_day_lies_in_its_quarter(day: date) -> None:
    quarter = shelf.quarter_of(day)
    assert day <= quarter.end
    assert (quarter.end - day).days < 92


def test_the_last_day_is_still_inside() -> None:
    found = shelf.use_by("NBR", "2Q2019", "ISO 2230")
    assert not found.past(date(2026, 6, 30))
    assert found.past(date(2026, 7, 1))
    assert not shelf.use_by("FKM", "2Q1990", "ARP5316").past(date(2199, 12, 31))


@pytest.mark.parametrize("text", ["ISO 2230:2002", "iso2230", "AS5316", "mil hdbk 695"])
def test_standard_as_people_write_it(text: str) -> None:
    assert shelf.standard_name(text) in shelf.STANDARDS


def test_standards_stay_apart() -> None:
    """NBR: 7 years in ISO 2230, 15 in the other two. Source: shelf_life notes, disagreements."""
    found = {one.life.standard: one.as_text for one in shelf.compare("nitrile", "2Q2019")}
    assert found == {
        "ISO 2230": "2026-06-30",
        "SAE ARP5316 (now AS5316)": "2034-06-30",
        "MIL-HDBK-695": "2034-06-30",
    }


def test_cautions_say_what_is_not_sure() -> None:
    """SBR is 15 years in one summary of ARP5316 and 3 in the MIL-HDBK-695E chart."""
    doubtful = " ".join(shelf.use_by("SBR", "1Q2020", "ARP5316").cautions)
    assert "MIL-HDBK-695 3 years" in doubtful
    assert "low" in doubtful
    sure = shelf.use_by("NBR", "1Q2020", "ISO 2230").cautions
    assert sure == (
        "For seals in store, packed as the standard asks; no life is set for a fitted seal.",
    )


def test_refusals_name_what_is_known() -> None:
    with pytest.raises(BadInput, match="ARP5316"):
        shelf.use_by("NBR", "2Q2019", "DIN 7716")
    with pytest.raises(BadInput, match="FKM"):
        shelf.use_by("cheese", "2Q2019", "ISO 2230")
    with pytest.raises(BadInput, match="ISO 2230"):
        shelf.standard_name("")
