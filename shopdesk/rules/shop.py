"""The shop's own rules, read from its documents: every rate, limit and period with its source."""

import tomllib
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any

from shopdesk.errors import BadInput
from shopdesk.rules.calendar import WEEKDAYS, Bench, Calendar
from shopdesk.rules.counting import Counting
from shopdesk.rules.counting import read as read_counting
from shopdesk.rules.reorder import Reordering

SEA_LEVEL_PA = 101325.0  # ISO 2533, standard atmosphere at sea level
MONTH_DAYS = 30.44  # a mean month
USE_BY_WARNING_DAYS = 90  # common practice, where a shop says nothing


@dataclass(frozen=True, slots=True)
class Overset:
    """How far above the corrected target the regulator is set, for the gas the rig takes."""

    default_pa: float
    enough: int
    source: str
    revision: str


@dataclass(frozen=True, slots=True)
class Transport:
    """What gas state may leave: ``highest_pa`` gauge where charged units may ship at all."""

    ships_charged: bool
    highest_pa: float
    source: str
    revision: str


@dataclass(frozen=True, slots=True)
class Recharge:
    """A charge is to be made up again where it has fallen to ``share`` of its target."""

    share: float
    source: str
    revision: str


@dataclass(frozen=True, slots=True)
class Keeping:
    """The daily copy of the record: due from ``hour`` on, local time, kept for ``days`` days."""

    hour: int
    days: int


@dataclass(frozen=True, slots=True)
class Labour:
    """What an hour costs, in cents: ``sections`` where it is another than ``cents_per_hour``.
    A longer time than ``longest_gap_min`` between two answers of a person was not work on it."""

    cents_per_hour: int
    sections: tuple[tuple[str, int], ...]
    longest_gap_min: float

    def cents_in(self, section: str) -> int:
        return dict(self.sections).get(section, self.cents_per_hour)


@dataclass(frozen=True, slots=True)
class Cores:
    """What a returned core brings back of its deposit, in percent: by grade, best first, and in
    percent of that when it came after its day."""

    grades: tuple[tuple[str, float], ...]
    late_percent: float
    source: str


@dataclass(frozen=True, slots=True)
class Harvest:
    """The shop's grades of used parts, with the percent of a new one's cost each stands for."""

    grades: tuple[tuple[str, float], ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True)
class Signing:
    """Wrong PINs in a row that cost nothing, the wait after the next and the longest; how long a
    terminal stays somebody's without a key. A shop that says nothing has these."""

    free_tries: int = 3
    first_wait_s: float = 5.0
    longest_wait_s: float = 600.0
    idle_s: float = 600.0


@dataclass(frozen=True, slots=True)
class Printing:
    """The shop's paper, and the system command that takes a PDF: its words, the file's name comes
    after them. Without any, lp or else lpr."""

    letter: bool = False
    command: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ShopRules:
    name: str
    revision: str
    atmosphere_pa: float
    reference_k: float
    torque_units: tuple[str, ...]
    pressure_units: tuple[str, ...]
    length_units: tuple[str, ...]
    currency: str
    labour: Labour
    cores: Cores
    margin_percent: float
    inspection_fee_cents: int
    answer_days: int
    overset: Overset
    transport: Transport
    slip_within: float
    warranty_months: int
    causes: tuple[str, ...]
    recharge: Recharge | None
    promise_days: int
    seal_standard: str
    keeping: Keeping | None
    cautions: tuple[tuple[str, str], ...]
    calendar: Calendar = field(default_factory=Calendar)
    benches: tuple[Bench, ...] = ()
    reordering: Reordering = field(default_factory=Reordering)
    signing: Signing = Signing()
    printing: Printing = field(default_factory=Printing)
    counting: Counting | None = None
    use_by_warning_days: int = USE_BY_WARNING_DAYS
    harvest: Harvest = Harvest()

    def warranty_until(self, left: datetime) -> datetime:
        """Until when a unit that left then may come back under warranty."""
        return left + timedelta(days=int(self.warranty_months * MONTH_DAYS))

    def cautions_for(self, section: str) -> tuple[str, ...]:
        return tuple(text for where, text in self.cautions if where == section)


@lru_cache(maxsize=8)
def read(text: str) -> ShopRules:
    """The rules in a shop document (TOML). Raises BadInput naming the key that is wrong."""
    try:
        return _read(_Table(tomllib.loads(text), "shop.toml"))
    except tomllib.TOMLDecodeError as fault:
        raise BadInput(f"shop.toml: not readable as TOML: {fault}") from fault


class _Table:
    """Typed look-ups that name the key in their complaint."""

    def __init__(self, raw: dict[str, Any], path: str) -> None:
        self.raw, self.path = raw, path

    def table(self, key: str) -> "_Table":
        value = self.raw.get(key)
        if not isinstance(value, dict):
            raise BadInput(f"{self.path}: [{key}] is missing; the shop's rules need it")
        return _Table(value, f"{self.path} [{key}]")

    def text(self, key: str) -> str:
        value = self.raw.get(key)
        if not isinstance(value, str) or not value:
            raise BadInput(f"{self.path}: {key}: read {value!r}, expected text")
        return value

    def number(self, key: str) -> float:
        value = self.raw.get(key)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise BadInput(f"{self.path}: {key}: read {value!r}, expected a number")
        return float(value)

    def whole(self, key: str, lowest: int, highest: int) -> int:
        value = self.raw.get(key)
        if isinstance(value, bool) or not isinstance(value, int) or not lowest <= value <= highest:
            raise BadInput(f"{self.path}: {key}: read {value!r}, expected {lowest} to {highest}")
        return value

    def flag(self, key: str) -> bool:
        value = self.raw.get(key)
        if not isinstance(value, bool):
            raise BadInput(f"{self.path}: {key}: read {value!r}, expected true or false")
        return value

    def words(self, key: str) -> tuple[str, ...]:
        value = self.raw.get(key)
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            raise BadInput(f"{self.path}: {key}: read {value!r}, expected a list of text")
        return tuple(value)

    def si(self, key: str, unit: str, *, span: bool = False) -> float:
        from shopdesk import quantities

        measured = quantities.parse(self.text(key), unit=unit)
        if not span:
            return measured.value_si
        zero = quantities.to_si(0.0, measured.unit)
        return measured.value_si - zero

    def cents(self, key: str) -> int:
        return cents(self.text(key), where=f"{self.path}: {key}")


MOST_CENTS = 2_000_000_000
"""The largest amount both databases keep in a column of whole cents, rounded down."""


def cents(text: str, *, where: str = "") -> int:
    """Money as typed ("612.40", "612") in cents. Raises BadInput."""
    head = f"{where}: " if where else ""
    whole, dot, part = text.strip().replace(",", ".").partition(".")
    part = part if dot else "00"
    digits = whole.isascii() and whole.isdigit() and part.isascii() and part.isdigit()
    if not digits or not 1 <= len(part) <= 2 or len(whole) > 9:
        raise BadInput(f"{head}read {text.strip()[:40]!r}, expected an amount such as 612.40")
    amount = int(whole) * 100 + int(part.ljust(2, "0"))
    if amount > MOST_CENTS:
        raise BadInput(f"{head}read {text.strip()[:40]!r}, the most is {money(MOST_CENTS)}")
    return amount


def money(amount_cents: int, currency: str = "") -> str:
    """ "612.40 EUR"; negative amounts keep their sign."""
    sign = "-" if amount_cents < 0 else ""
    whole, part = divmod(abs(amount_cents), 100)
    return f"{sign}{whole:,}.{part:02d} {currency}".strip()


def _read(top: _Table) -> ShopRules:
    overset, transport = top.table("overset"), top.table("transport")
    return ShopRules(
        name=top.text("name"),
        revision=top.text("revision"),
        atmosphere_pa=_atmosphere(top),
        reference_k=top.si("reference_temperature", "°C"),
        torque_units=top.words("torque_units"),
        pressure_units=top.words("pressure_units"),
        length_units=top.words("length_units"),
        currency=top.text("currency"),
        labour=_labour(top.table("labour")),
        cores=_cores(top),
        margin_percent=top.table("quote").number("margin_percent"),
        inspection_fee_cents=top.table("quote").cents("inspection_fee"),
        answer_days=int(top.table("quote").number("answer_days")),
        overset=Overset(
            default_pa=overset.si("default", "bar"),
            enough=int(overset.number("enough")),
            source=overset.text("source"),
            revision=overset.text("revision"),
        ),
        transport=Transport(
            ships_charged=transport.flag("ships_charged"),
            highest_pa=transport.si("highest", "bar"),
            source=transport.text("source"),
            revision=transport.text("revision"),
        ),
        slip_within=top.table("slip").number("within_percent") / 100,
        warranty_months=int(top.table("warranty").number("months")),
        causes=_causes(top.table("warranty")),
        recharge=_recharge(top),
        promise_days=int(top.table("promise").number("default_days")),
        seal_standard=top.text("seal_standard") if "seal_standard" in top.raw else "ISO 2230",
        keeping=_keeping(top),
        cautions=tuple(
            (_Table(row, "shop.toml [[caution]]").text("section"), str(row.get("text", "")))
            for row in top.raw.get("caution", [])
        ),
        calendar=_calendar(top),
        benches=tuple(_bench(row) for row in top.raw.get("bench", [])),
        reordering=_reordering(top),
        signing=_signing(top),
        printing=_printing(top),
        counting=read_counting(top),
        use_by_warning_days=_warning_days(top),
        harvest=_harvest(top),
    )


def _signing(top: _Table) -> Signing:
    if "signing" not in top.raw:
        return Signing()
    asked = top.table("signing")
    return Signing(
        free_tries=asked.whole("wrong_pins_free", 1, 20),
        first_wait_s=float(asked.whole("first_wait_seconds", 1, 3600)),
        longest_wait_s=float(asked.whole("longest_wait_seconds", 1, 86400)),
        idle_s=60.0 * asked.whole("lock_after_minutes", 1, 1440),
    )


def _keeping(top: _Table) -> Keeping | None:
    if "backup" not in top.raw:
        return None
    asked = top.table("backup")
    return Keeping(hour=asked.whole("hour", 0, 23), days=asked.whole("keep_days", 1, 3660))


def _printing(top: _Table) -> Printing:
    if "paper" not in top.raw:
        return Printing()
    table = top.table("paper")
    size = table.text("size")
    if size not in ("A4", "Letter"):
        raise BadInput(f"{table.path}: size: read {size!r}, expected A4 or Letter")
    command = table.words("print_command") if "print_command" in table.raw else ()
    return Printing(letter=size == "Letter", command=command)


def _warning_days(top: _Table) -> int:
    if "stores" not in top.raw or "use_by_warning_days" not in top.raw["stores"]:
        return USE_BY_WARNING_DAYS
    return top.table("stores").whole("use_by_warning_days", 1, 3650)


def _reordering(top: _Table) -> Reordering:
    if "stores" not in top.raw:
        return Reordering()
    table = top.table("stores")
    return Reordering(
        service=table.whole("service_percent", 1, 99) / 100,
        critical=table.whole("critical_service_percent", 1, 99) / 100,
        order_cents=table.cents("cost_of_an_order"),
        holding=table.whole("holding_percent_a_year", 1, 100) / 100,
        history_days=table.whole("history_days", 30, 3660),
        review_days=table.whole("review_days", 1, 60),
    )


def _labour(table: _Table) -> Labour:
    rates = table.table("section_rates") if "section_rates" in table.raw else None
    return Labour(
        cents_per_hour=table.cents("rate_per_hour"),
        sections=tuple((name, rates.cents(name)) for name in rates.raw) if rates else (),
        longest_gap_min=(
            table.number("longest_gap_minutes") if "longest_gap_minutes" in table.raw else 60.0
        ),
    )


def _cores(top: _Table) -> Cores:
    """Without a [cores] table a core brings its whole deposit back."""
    if "cores" not in top.raw:
        return Cores((("complete", 100.0),), 100.0, "")
    table = top.table("cores")
    grades = table.table("grades")
    return Cores(
        grades=tuple((name, grades.number(name)) for name in grades.raw),
        late_percent=table.number("late_percent"),
        source=table.text("source"),
    )


CAUSES = ("our work", "a part we fitted", "wear in use", "misuse", "transport", "no fault found")


def _causes(table: _Table) -> tuple[str, ...]:
    """Causes of returns, "P2 lot bad when fitted"; a shop that lists none has a few plain ones."""
    if "causes" not in table.raw:
        return CAUSES
    causes = table.table("causes")
    found = tuple(f"{code} {causes.text(code)}" for code in causes.raw)
    if not found:
        raise BadInput(f'{causes.path}: it is empty; expected a code and its words: P1 = "…"')
    return found


def _recharge(top: _Table) -> Recharge | None:
    if "recharge" not in top.raw:
        return None
    table = top.table("recharge")
    return Recharge(
        table.whole("at_percent", 1, 99) / 100, table.text("source"), table.text("revision")
    )


def _harvest(top: _Table) -> Harvest:
    if "harvest" not in top.raw:
        return Harvest()
    table = top.table("harvest")
    grades = table.table("grades")
    return Harvest(
        tuple((name, float(grades.whole(name, 0, 100))) for name in grades.raw),
        table.text("source"),
    )


def _atmosphere(top: _Table) -> float:
    from shopdesk.calc import charge

    return charge.site_atmosphere(top.si("altitude", "m"))


def _calendar(top: _Table) -> Calendar:
    """The hours the shop works; weekdays from 7 to 16 where the document says nothing."""
    if "calendar" not in top.raw:
        return Calendar()
    table = top.table("calendar")
    opens, closes = _hour(table, "opens"), _hour(table, "closes")
    if closes <= opens:
        raise BadInput(f"{table.path}: closes: read {table.text('closes')!r}, not after opens")
    names = table.words("days")
    unknown = [name for name in names if name not in WEEKDAYS]
    if unknown or not names:
        raise BadInput(f"{table.path}: days: read {unknown or 'none'}, expected Monday to Sunday")
    holidays = table.raw.get("holidays", [])
    if not isinstance(holidays, list) or any(type(day) is not date for day in holidays):
        raise BadInput(f"{table.path}: holidays: read {holidays!r}, expected dates: 2026-12-24")
    return Calendar(opens, closes, frozenset(map(WEEKDAYS.index, names)), frozenset(holidays))


def _hour(table: _Table, key: str) -> float:
    """A time of day such as "07:30", in hours."""
    text = table.text(key)
    hour, colon, minute = text.partition(":")
    if not (colon and hour.isdigit() and minute.isdigit() and len(minute) == 2):
        raise BadInput(f"{table.path}: {key}: read {text!r}, expected a time of day: 07:30")
    hours = int(hour) + int(minute) / 60.0
    if int(minute) > 59 or hours > 24.0:
        raise BadInput(f"{table.path}: {key}: read {text!r}, expected 00:00 to 24:00")
    return hours


def _bench(row: dict[str, Any]) -> Bench:
    table = _Table(row, "shop.toml [[bench]]")
    places = int(table.number("places"))
    if places < 1:
        raise BadInput(f"{table.path}: places: read {places}, expected 1 or more")
    return Bench(table.text("name"), frozenset(table.words("sections")), places)
