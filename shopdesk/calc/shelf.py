"""Storage life of seals by compound and cure quarter, each standard apart.

The periods are data (``calc/data/shelf_life.csv``), each row with edition, source and confidence.
They are summaries of the standards, which nobody here has seen: check a bought copy before printing
"per standard". No standard gives a life to a seal already fitted in a unit.
"""

import csv
import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib.resources import files

from shopdesk.errors import BadInput

STANDARDS = ("ISO 2230", "ARP5316", "MIL-HDBK-695E")
NO_LIMIT = "no limit"
FIRST_YEAR, LAST_YEAR = 1950, 2199
_IN_TABLE = {
    "ISO 2230": "ISO 2230",
    "ARP5316": "SAE ARP5316 (now AS5316)",
    "MIL-HDBK-695E": "MIL-HDBK-695",
}
_SPELLINGS = {
    "ISO2230": "ISO 2230",
    "ISO22302002": "ISO 2230",
    "ARP5316": "ARP5316",
    "SAEARP5316": "ARP5316",
    "AS5316": "ARP5316",
    "SAEARP5316NOWAS5316": "ARP5316",
    "SAEAS5316": "ARP5316",
    "MILHDBK695": "MIL-HDBK-695E",
    "MILHDBK695E": "MIL-HDBK-695E",
}
_NOT_AGED = "none"
_QUARTER_FIRST = re.compile(r"(?:([1-4])\s*Q|Q\s*([1-4]))[\s/.-]*(\d{4}|\d{2})", re.IGNORECASE)
_YEAR_FIRST = re.compile(r"(\d{4})[\s/.-]*(?:([1-4])\s*Q|Q\s*([1-4]))", re.IGNORECASE)
_QUARTER_ENDS = ((3, 31), (6, 30), (9, 30), (12, 31))


@dataclass(frozen=True, order=True)
class Quarter:
    """A quarter of a year, 1 to 4; storage life is counted from its last day."""

    year: int
    number: int

    @property
    def end(self) -> date:
        month, day = _QUARTER_ENDS[self.number - 1]
        return date(self.year, month, day)

    def __str__(self) -> str:
        return f"{self.number}Q{self.year}"


@dataclass(frozen=True)
class Life:
    """One row of the table; years None where the standard sets no limit."""

    standard: str
    edition: str
    group: str
    compound: str
    material: str
    initial_years: int | None
    extension_years: int | None
    limited: bool
    storage: str
    confidence: str
    source: str
    note: str


@dataclass(frozen=True)
class UseBy:
    """Last day of storage, None where there is no limit; ``use_by_extended`` after one inspection,
    None where the standard has no extension."""

    life: Life
    cured: Quarter
    use_by: date | None
    use_by_extended: date | None
    cautions: tuple[str, ...]

    @property
    def as_text(self) -> str:
        return NO_LIMIT if self.use_by is None else self.use_by.isoformat()

    def past(self, on: date) -> bool:
        """Whether the initial life is over on a day; the last day itself is still inside."""
        return self.use_by is not None and on > self.use_by


def cure_quarter(text: str) -> Quarter:
    """The quarter a cure code names: 4Q2017, 4Q17, Q4/2017, 2017Q4, 2017-Q4.

    A two-digit year is 1950 to 2049. BadInput for anything else; "3/94" could be a month as well as
    a quarter, so the Q must be written. Source: common practice; ISO 2230 marks quarter and year.
    """
    stripped = text.strip()
    if match := _QUARTER_FIRST.fullmatch(stripped):
        number, year = match[1] or match[2], match[3]
    elif match := _YEAR_FIRST.fullmatch(stripped):
        number, year = match[2] or match[3], match[1]
    else:
        raise BadInput(
            f"Cure date was read as {text!r}; write the quarter as 4Q2017, Q4/2017 or 2017Q4."
        )
    return _quarter(text, int(number), year)


def _quarter(text: str, number: int, digits: str) -> Quarter:
    year = int(digits)
    if len(digits) == 2:
        year += 1900 if year >= FIRST_YEAR % 100 else 2000
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise BadInput(
            f"Cure date was read as {text!r}; a year from {FIRST_YEAR} to {LAST_YEAR} is accepted."
        )
    return Quarter(year, number)


def quarter_of(day: date) -> Quarter:
    """The quarter a day lies in."""
    return Quarter(day.year, (day.month + 2) // 3)


@lru_cache(maxsize=1)
def lives() -> tuple[Life, ...]:
    """Every row of the table. Source: ``shelf_life.csv``."""
    text = (files("shopdesk.calc") / "data" / "shelf_life.csv").read_text(encoding="utf-8")
    return tuple(_life(row) for row in csv.DictReader(text.splitlines()))


def _life(row: dict[str, str]) -> Life:
    initial, extension = row["initial_years"], row["extension_years"]
    return Life(
        standard=row["standard"],
        edition=row["edition"],
        group=row["group"],
        compound=row["code"],
        material=row["material"],
        initial_years=int(initial) if initial else None,
        extension_years=int(extension) if extension else None,
        limited=bool(initial),
        storage=row["storage_basis"],
        confidence=row["confidence"],
        source=row["source"],
        note=row["note"],
    )


def standard_name(text: str) -> str:
    """One of ``STANDARDS`` from how people write it: "ISO 2230", "SAE ARP5316", "MIL-HDBK-695".

    BadInput for another, ISO 2230 of another edition included.
    """
    squeezed = re.sub(r"[^A-Z0-9]", "", text.upper())
    if squeezed not in _SPELLINGS:
        known = ", ".join(STANDARDS)
        raise BadInput(f"Storage standard was read as {text!r}; known are {known}.")
    return _SPELLINGS[squeezed]


def short_name(in_table: str) -> str:
    """One of ``STANDARDS`` from a row's standard, "none" for what no standard limits."""
    return next((name for name, long in _IN_TABLE.items() if long == in_table), _NOT_AGED)


def life(compound: str, standard: str) -> Life:
    """The storage life of a compound (code or name: "NBR", "nitrile") under one standard.

    PTFE isn't an elastomer and no standard limits it. BadInput for a compound the standard's rows
    don't have, naming those they have. Source: the row's own.
    """
    name = standard_name(standard)
    wanted = compound.strip().lower()
    for row in lives():
        if row.standard in (_IN_TABLE[name], _NOT_AGED) and wanted in _names(row):
            return row
    known = ", ".join(row.compound for row in lives() if row.standard == _IN_TABLE[name])
    raise BadInput(f"Compound was read as {compound!r}; under {name} known are {known}, and PTFE.")


def _names(row: Life) -> tuple[str, ...]:
    return (row.compound.lower(), row.material.lower())


def use_by(compound: str, cured: Quarter | str, standard: str) -> UseBy:
    """Last day of storage under a standard: end of the cure quarter + life; + one extension.

    The extension only after inspection, once. Source: the periods of ``shelf_life.csv``; the
    quarter-end rule from a seal maker's guide.
    """
    quarter = cure_quarter(cured) if isinstance(cured, str) else cured
    found = life(compound, standard)
    last = None if found.initial_years is None else _later(quarter.end, found.initial_years)
    extended = None
    if last is not None and found.extension_years is not None:
        extended = _later(last, found.extension_years)
    return UseBy(found, quarter, last, extended, _cautions(found))


def compare(compound: str, cured: Quarter | str) -> tuple[UseBy, ...]:
    """The storage life under every standard that has the compound; never mix them on one shelf."""
    quarter = cure_quarter(cured) if isinstance(cured, str) else cured
    wanted = compound.strip().lower()
    known = [
        name
        for name in STANDARDS
        if any(row.standard == _IN_TABLE[name] and wanted in _names(row) for row in lives())
    ]
    if not known:
        return (use_by(compound, quarter, STANDARDS[0]),)
    return tuple(use_by(compound, quarter, name) for name in known)


def _later(day: date, years: int) -> date:
    return day.replace(year=day.year + years)


def _cautions(of: Life) -> tuple[str, ...]:
    found = ["For seals in store, packed as the standard asks; no life is set for a fitted seal."]
    if of.confidence != "high":
        found.append(f"Confidence in this period is {of.confidence}: {of.source}.")
    if of.note:
        found.append(f"Noted: {of.note}.")
    if less := _shorter_elsewhere(of):
        found.append(f"Other standards give less ({less}): go by the one the customer names.")
    return tuple(found)


def _shorter_elsewhere(of: Life) -> str:
    rows = [row for row in lives() if row.compound == of.compound and row.standard != of.standard]
    return ", ".join(
        f"{row.standard} {row.initial_years} years"
        for row in rows
        if row.initial_years and (of.initial_years is None or row.initial_years < of.initial_years)
    )
