"""What a calculation is to a face: its fields, the sum it does, and what comes out."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from shopdesk.errors import BadInput, OutOfRange

if TYPE_CHECKING:
    from shopdesk.desk.calculator.given import Given


class Kind(StrEnum):
    """How a field's text is read."""

    QUANTITY = "quantity"  # in any unit of the field's dimension
    PRESSURE = "pressure"  # gauge unless its unit says absolute
    ATMOSPHERE = "atmosphere"  # absolute unless its unit says otherwise
    NUMBER = "number"
    COUNT = "count"  # a whole number
    PERCENT = "percent"
    MODULUS = "modulus"  # GPa, Mpsi and the like
    RATE = "rate"  # 3/h, or a plain number
    SPAN = "span"  # a time, or a plain number
    SPRING_RATE = "spring rate"  # N/mm, lbf/in
    LEAK_RATE = "leak rate"  # mbar l/s, sccm, g/yr
    READING = "reading"  # TIME=PRESSURE@TEMPERATURE
    VISCOSITY = "viscosity"  # mPa·s, Pa·s
    DAY = "day"  # in ISO form
    PAIR = "pair"  # FROM=PRICE, PIECES=SHARE
    NUMBERS = "numbers"
    WORDS = "words"
    TABLE = "table"  # the text of a CSV file


@dataclass(frozen=True, slots=True)
class Field:
    """One input. ``unit`` is its own, ``units`` those plausible beside it for a bare number.

    A ``repeated`` field takes several entries, one a line or separated by semicolons; ``options``
    are the words that are taken, where only some are; ``metavar`` shows how it is written.
    """

    name: str
    kind: Kind
    help: str
    required: bool = True
    default: str = ""
    unit: str = ""
    units: tuple[str, ...] = ()
    options: tuple[str, ...] = ()
    repeated: bool = False
    positional: bool = False
    metavar: str = ""


@dataclass(frozen=True, slots=True)
class Value:
    """``value`` in ``unit``, "" for none; dates and codes are text. ``as_text`` for people."""

    value: float | str
    unit: str
    as_text: str


@dataclass(frozen=True)
class Found:
    """What a calculation's work gives; ``sum_text`` is the sum with its figures."""

    results: Mapping[str, Value]
    sum_text: str
    source: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Outcome:
    """The inputs as they were read, defaults among them, and what came out."""

    inputs: Mapping[str, Value]
    results: Mapping[str, Value]
    sum_text: str
    source: str
    cautions: tuple[str, ...]


class Incomplete(BadInput):
    """Fields are still empty: ``missing`` names them in the form's order."""

    def __init__(self, message: str, missing: tuple[str, ...]) -> None:
        super().__init__(message)
        self.missing = missing


@dataclass(frozen=True)
class Calculation:
    """``example`` is a set of inputs that works, shown in the help."""

    name: str
    title: str
    inputs: tuple[Field, ...]
    work: Callable[["Given"], Found]
    example: Mapping[str, str]

    def field(self, name: str) -> Field:
        """The field of that name. Raises BadInput."""
        for field in self.inputs:
            if field.name == name:
                return field
        known = ", ".join(field.name for field in self.inputs)
        raise BadInput(f"{self.name} has no field {name[:40]!r}; its fields are {known}.")

    def run(self, values: Mapping[str, str]) -> Outcome:
        """The outcome for what was typed into the fields; empty text is a field left empty.

        Raises Incomplete for a required field left empty and BadInput (OutOfRange, BadQuantity)
        for what cannot be read or computed.
        """
        from shopdesk.desk.calculator.given import read

        given = read(self, values)
        try:
            found = self.work(given)
        except (ArithmeticError, ValueError) as fault:  # beyond what a float holds
            raise OutOfRange(
                f"{self.name}: these figures lead to no result ({fault}); check each number and "
                "its unit."
            ) from fault
        return Outcome(given.shown, found.results, found.sum_text, found.source, found.cautions)


def incomplete(name: str, fields: Iterable[Field]) -> Incomplete:
    """The refusal that says which fields are still empty."""
    missing = tuple(fields)
    said = "; ".join(f"{field.name} ({field.help.rstrip('.')})" for field in missing)
    return Incomplete(f"{name} still needs {said}.", tuple(field.name for field in missing))


def one_of(name: str, *alternatives: str) -> Incomplete:
    """The refusal where one of several fields, or sets of fields, is needed."""
    return Incomplete(f"{name} still needs {' or '.join(alternatives)}.", alternatives)
