"""The fields as read: every text through one reader for its kind."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import TypeVar

from shopdesk.calc.charge import site_atmosphere
from shopdesk.desk.calculator import readers, values
from shopdesk.desk.calculator.forms import Calculation, Field, Kind, Value, incomplete
from shopdesk.desk.calculator.readers import LeakRate, Pair, Timed, TimedReading
from shopdesk.errors import BadInput, BadQuantity
from shopdesk.quantities import STANDARD_ATMOSPHERE_PA, Ambiguous, Measured

Read = TypeVar("Read")

_SCALED = {Kind.MODULUS: "Pa", Kind.SPRING_RATE: "N/m", Kind.VISCOSITY: "Pa·s"}

ATMOSPHERE, ALTITUDE = "atmosphere", "altitude"
SITE = (
    Field(
        ATMOSPHERE,
        Kind.ATMOSPHERE,
        "The site's air pressure, absolute: 950 mbar.",
        required=False,
        metavar="PRESSURE",
    ),
    Field(
        ALTITUDE,
        Kind.QUANTITY,
        "Or the site's height above the sea.",
        required=False,
        unit="m",
        units=("ft",),
        metavar="LENGTH",
    ),
)
"""The two fields of every calculation that turns gauge into absolute."""


@dataclass(frozen=True)
class Pressure:
    """A pressure and the way it was written, in which the results are given."""

    pa_abs: float
    unit: str
    atmosphere_pa: float

    def like(self, pa_abs: float) -> Value:
        """Another absolute pressure in this one's unit and reference."""
        return values.pressure(pa_abs, self.unit, self.atmosphere_pa)


class Given:
    """What the fields hold. A name that is asked for must be a field of the calculation."""

    def __init__(
        self, read: Mapping[str, object], typed: Iterable[str], atmosphere_pa: float
    ) -> None:
        self.typed = frozenset(typed)
        self.atmosphere_pa = atmosphere_pa
        self.shown: dict[str, Value] = {}
        self._read = read

    def has(self, *names: str) -> bool:
        """Whether all of these were given or have a default."""
        return all(name in self._read for name in names)

    def pressure(self, name: str) -> Pressure:
        found = self._as(name, Measured)
        return Pressure(found.value_si + self.atmosphere_pa, found.unit, self.atmosphere_pa)

    def measured(self, name: str) -> Measured:
        return self._as(name, Measured)

    def si(self, name: str) -> float:
        """A quantity in SI, or a plain number."""
        found = self._read[name]
        return found.value_si if isinstance(found, Measured) else self._as(name, float)

    def si_or(self, name: str, otherwise: float) -> float:
        return self.si(name) if self.has(name) else otherwise

    def count(self, name: str) -> int:
        return self._as(name, int)

    def words(self, name: str) -> str:
        return self._as(name, str)

    def day(self, name: str) -> date:
        return self._as(name, date)

    def timed(self, name: str) -> Timed:
        return self._as(name, Timed)

    def leak_rate(self, name: str) -> LeakRate:
        return self._as(name, LeakRate)

    def numbers(self, name: str) -> tuple[float, ...]:
        return tuple(each for each in self._as(name, tuple) if isinstance(each, float))

    def many_si(self, name: str) -> tuple[float, ...]:
        """A repeated quantity's values in SI."""
        return tuple(each.value_si for each in self._as(name, tuple) if isinstance(each, Measured))

    def many(self, name: str) -> tuple[str, ...]:
        """A repeated field's texts."""
        return tuple(each for each in self._as(name, tuple) if isinstance(each, str))

    def first_unit(self, name: str) -> str:
        """The unit the first entry of a repeated quantity came in."""
        return next(each.unit for each in self._as(name, tuple) if isinstance(each, Measured))

    def readings(self, name: str) -> tuple[TimedReading, ...]:
        return tuple(each for each in self._as(name, tuple) if isinstance(each, TimedReading))

    def pairs(self, name: str) -> tuple[tuple[float, float], ...]:
        found = (each for each in self._as(name, tuple) if isinstance(each, Pair))
        return tuple((each.first, each.second) for each in found)

    def _as(self, name: str, kind: type[Read]) -> Read:
        found = self._read[name]
        if not isinstance(found, kind):
            raise TypeError(f"{name} was read as {type(found).__name__}, asked as {kind.__name__}")
        return found


def read(calculation: Calculation, typed: Mapping[str, str]) -> Given:
    """Every field read. Raises Incomplete, BadInput and BadQuantity, naming the field."""
    filled = {calculation.field(name).name: text for name, text in typed.items() if text.strip()}
    empty = [field for field in calculation.inputs if field.required and field.name not in filled]
    if empty:
        raise incomplete(calculation.name, empty)
    texts = {
        field.name: filled.get(field.name, field.default)
        for field in calculation.inputs
        if filled.get(field.name, field.default)
    }
    atmosphere_pa = _atmosphere(calculation, texts)
    found = {name: _one(calculation.field(name), texts[name], atmosphere_pa) for name in texts}
    given = Given(found, filled, atmosphere_pa)
    for name, text in texts.items():
        given.shown[name] = _shown(calculation.field(name), found[name], text)
    return given


def _atmosphere(calculation: Calculation, texts: Mapping[str, str]) -> float:
    """The site's; the standard one where neither of the two fields is filled."""
    if ATMOSPHERE in texts and ALTITUDE in texts:
        raise BadInput("Both atmosphere and altitude were given; one follows from the other.")
    if ATMOSPHERE in texts:
        field = calculation.field(ATMOSPHERE)
        return _named(field, partial(readers.atmosphere, texts[ATMOSPHERE])).value_si
    if ALTITUDE in texts:
        height = _one(calculation.field(ALTITUDE), texts[ALTITUDE], STANDARD_ATMOSPHERE_PA)
        assert isinstance(height, Measured)
        return site_atmosphere(height.value_si)
    return STANDARD_ATMOSPHERE_PA


def _one(field: Field, text: str, atmosphere_pa: float) -> object:
    if not field.repeated:
        return _named(field, partial(readers.entry, field, text, atmosphere_pa))
    entries = [entry for entry in text.replace(";", "\n").splitlines() if entry.strip()]
    return tuple(
        _named(field, partial(readers.entry, field, entry, atmosphere_pa)) for entry in entries
    )


def _named(field: Field, reader: Callable[[], Read]) -> Read:
    """Puts the field's name before what its reader refuses."""
    try:
        return reader()
    except Ambiguous as fault:
        raise Ambiguous(f"{field.name}: {fault}", fault.choices) from None
    except BadQuantity as fault:
        raise BadQuantity(f"{field.name}: {fault}") from None
    except BadInput as fault:
        raise BadInput(f"{field.name}: {fault}") from None


def _shown(field: Field, found: object, text: str) -> Value:
    """An input as it was read, in the unit it was written in."""
    written = "; ".join(" ".join(line.split()) for line in text.strip().splitlines())
    match found:
        case Measured():
            figure = readers.figure(found)
            return values.plain(figure, found.unit, text=f"{figure:.10g} {found.unit}")
        case Timed():
            per = "1/" if field.kind is Kind.RATE and found.unit else ""
            return values.plain(found.value, per + found.unit, text=written)
        case LeakRate():
            return values.plain(found.value, found.unit, text=written)
        case float() if field.kind is Kind.PERCENT:
            return values.plain(100.0 * found, "%", text=f"{100.0 * found:g} %")
        case float() | int():
            return values.plain(float(found), _SCALED.get(field.kind, ""), text=written)
        case date():
            return values.words(found.isoformat())
    return values.words(text if field.kind is Kind.TABLE else written)
