"""Dates as people type them, without guessing which number is the month."""

from datetime import date, timedelta

from shopdesk.errors import BadInput

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
EXPECTED = "expected a date such as 14 Mar, 14.3., 2027-03-14, or +10 for ten days on"


def read_date(text: str, today: date) -> date:
    """The date meant; without a year the next such day from ``today`` on. Raises BadInput."""
    words = text.strip().casefold()
    if not words.isascii():
        raise BadInput(f"read {text.strip()[:20]!r}; {EXPECTED}")
    try:
        if words.startswith("+"):
            return today + timedelta(days=_number(words[1:], text))
        if words[:4].isdigit() and words[4:5] == "-":
            return date.fromisoformat(words)
        return _day_first(words, today, text)
    except (ValueError, OverflowError) as fault:
        raise BadInput(f"read {text.strip()[:20]!r}; {EXPECTED}") from fault


def _day_first(words: str, today: date, text: str) -> date:
    parts = words.replace(".", " ").split()
    if len(parts) not in (2, 3):
        raise BadInput(f"read {text.strip()[:20]!r}; {EXPECTED}")
    day, month = _number(parts[0], text), _month(parts[1], text)
    if len(parts) == 3:
        year = _number(parts[2], text)
        return date(year + 2000 if year < 100 else year, month, day)
    for year in range(today.year, today.year + 9):
        try:
            found = date(year, month, day)
        except ValueError:
            continue
        if found >= today:
            return found
    raise BadInput(f"read {text.strip()[:20]!r}: there is no such day; {EXPECTED}")


def _month(word: str, text: str) -> int:
    if word.isdigit():
        return int(word)
    if len(word) >= 3 and word[:3] in MONTHS:
        return MONTHS.index(word[:3]) + 1
    raise BadInput(f"read {text.strip()[:20]!r}; {EXPECTED}")


def _number(word: str, text: str) -> int:
    if not word.isdigit() or len(word) > 4:
        raise BadInput(f"read {text.strip()[:20]!r}; {EXPECTED}")
    return int(word)
