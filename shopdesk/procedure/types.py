"""The procedure document as frozen values: what a unit model demands, line by line.

A procedure is one TOML file; ``loading`` reads it into these types and names every fault by
its path. Quantities keep what was written and its value in SI (pressures: gauge pascal).
"""

from dataclasses import dataclass
from enum import StrEnum

SECTIONS = (
    "receipt",
    "vent",
    "teardown",
    "decision",
    "parts",
    "build",
    "proof",
    "charge",
    "hold",
    "release",
    "shipment",
)
DISPOSITIONS = (
    "reuse",
    "dress",
    "hone or lap",
    "replace",
    "outside process",
    "scrap",
    "ask customer",
)
WORKED = ("dress", "hone or lap", "outside process")
"""Dispositions by which the part is worked on and stays: it is not as it was measured."""
BESIDE_REWORK = ("ask customer", "scrap")
"""What may be decided of a failed test; work on its parts is rework, which opens the unit."""
PORT_STATES = ("plugged", "capped", "open")
SEVERITIES = ("light", "moderate", "heavy")


class Kind(StrEnum):
    TICK = "tick"
    READING = "reading"
    SURVEY = "survey"
    FINDING = "finding"
    REPEAT = "repeat"
    RESTORE = "restore"
    TORQUE = "torque"
    FIT = "fit"
    PREPARE = "prepare"
    CAUTION = "caution"
    WAIT = "wait"
    VENT = "vent"
    REGULATOR = "regulator"
    CHARGE = "charge"
    LEAK = "leak"
    TEST = "test"
    PORT = "port"
    CHOICE = "choice"
    NOTE = "note"
    PHOTO = "photo"
    SIGNATURE = "signature"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value as written and in SI; pressures are gauge pascal, temperatures kelvin."""

    value_si: float
    unit: str
    typed: str


@dataclass(frozen=True, slots=True)
class Span:
    """A difference (tolerance, allowed loss) in SI: kelvin, pascal, metre, newton metre."""

    value_si: float
    unit: str
    typed: str


@dataclass(frozen=True, slots=True)
class Limit:
    """Low and high bound, either may be open; where the figure stands and its revision."""

    source: str
    revision: str
    low: Quantity | None = None
    high: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Rating:
    """A pressure the unit may not exceed, with where it stands."""

    value: Quantity
    source: str
    revision: str


class Is(StrEnum):
    WITHIN = "within"
    OUTSIDE = "outside"
    ANSWERED = "answered"
    MISSING = "missing"  # answered by nothing usable: skipped, void or "not measurable"


@dataclass(frozen=True, slots=True)
class Condition:
    """Holds when the named line's state, disposition or answer is as said. One of the three."""

    line: str
    is_: Is | None = None
    disposition: str | None = None
    answer: str | None = None

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines it is said of; any one of them is enough."""
        return (self.line,)


@dataclass(frozen=True, slots=True)
class AnyOf(Condition):
    """The same said of any of several lines. No document writes it; a kit line becomes it."""

    others: tuple[str, ...] = ()

    @property
    def lines(self) -> tuple[str, ...]:
        return (self.line, *self.others)


@dataclass(frozen=True, slots=True)
class Line:
    """What every line has; ``key`` is the full one, ``section.name`` or
    ``section.group.position.name``."""

    key: str
    text: str
    help: str = ""
    caution: str = ""
    position: str = ""
    when: tuple[Condition, ...] = ()

    @property
    def section(self) -> str:
        return self.key.split(".", 1)[0]

    @property
    def label(self) -> str:
        """The line's text, with its position where the text does not say it."""
        named = not self.position or self.position.casefold() in self.text.casefold()
        return self.text if named else f"{self.text}, {self.position}"


def measured_again(line: Line | None) -> tuple[str, ...]:
    """Keys of the lines that are asked again once the part of this one was worked on."""
    return getattr(line, "measure_again", ())


@dataclass(frozen=True, slots=True)
class Tick(Line):
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Line):
    """One value. ``at_temperature`` asks for the gas or fluid temperature beside it.
    ``measure_again``, here and on other kinds: lines asked again once the part was worked on."""

    unit: str
    units: tuple[str, ...] = ()
    limit: Limit | None = None
    instrument: str = ""
    at_temperature: str = ""  # unit of the temperature asked beside it, "" for none
    dispositions: tuple[str, ...] = ()
    measure_again: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Test(Reading):
    """A reading with limits on the bench; outside is kept and opens rework from that section."""

    rework_from: str = "build"


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey(Line):
    """Diameters at depths (rows) along axes (columns), asked row by row."""

    unit: str
    depths: tuple[Quantity, ...]
    axes: tuple[str, ...]
    nominal: Quantity
    limit: Limit
    units: tuple[str, ...] = ()
    out_of_round: Span | None = None
    taper: Span | None = None
    instrument: str = ""
    dispositions: tuple[str, ...] = ()
    measure_again: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding(Line):
    """The condition of one part: "good", or a defect with place, severity, extent, disposition."""

    part: str
    defects: tuple[str, ...]
    dispositions: tuple[str, ...]
    measure_again: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat(Line):
    """The same reading taken ``count`` times; their spread must stay inside ``spread``."""

    unit: str
    count: int
    spread: Span
    units: tuple[str, ...] = ()
    limit: Limit | None = None
    instrument: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Restore(Line):
    """Bring a setting back to what ``reference`` (a repeat or reading line) measured, in its unit
    where ``unit`` names no other. Without a valid reference reading the setting is left to the
    test line ``set_by_test``."""

    reference: str
    tolerance: Span
    set_by_test: str
    source: str
    revision: str
    unit: str = ""
    units: tuple[str, ...] = ()
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class Adapter:
    """A spanner end or extension: effective length beyond the drive, and its angle."""

    length: Quantity
    angle: Quantity
    wrench_length: Quantity


@dataclass(frozen=True, slots=True)
class Consequence:
    """What follows a joint pulled too far: lines asked again, kit lines needed once more."""

    text: str
    reopen: tuple[str, ...]
    again: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Torque(Line):
    """``target`` and ``tolerance``, or ``snug`` without a number. ``passes`` are shares of the
    target, asked one by one; the last is judged. ``count`` joints are pulled by ``pattern``."""

    unit: str = ""
    target: Quantity | None = None
    tolerance: Span | None = None
    snug: bool = False
    source: str = ""
    revision: str = ""
    count: int = 1
    pattern: str = ""
    passes: tuple[float, ...] = (1.0,)
    bit: str = ""
    adapter: Adapter | None = None
    instrument: str = "torque wrench"
    holds_pressure: bool = True
    over: Consequence | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit(Line):
    """Put a part of the kit in its place: how it is lubricated, turned and stacked."""

    kit: str
    lubricant: str = ""
    orientation: str = ""
    order: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepare(Line):
    """A tool or bench made ready; with ``instrument`` the line is answered by scanning one."""

    instrument: str = ""


@dataclass(frozen=True, slots=True)
class Caution(Line):
    """Stands where the hand is; asks for nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait(Line):
    """A timed hold: started, and ended no sooner than ``duration`` later."""

    duration: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Vent(Line):
    """One side let down: ``side`` "gas" or "oil". Answered by done."""

    side: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Regulator(Line):
    """The regulator's setting for today's gas temperature: asks temperature, then setting.
    ``unit`` and ``at_temperature``, here and in ``Charge`` and ``Leak``: the units it is asked in,
    those of the charge's target and reference where the document says none."""

    unit: str = ""
    units: tuple[str, ...] = ()
    at_temperature: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge(Line):
    """The charge read back with the rig off: pressure and gas temperature, judged at reference."""

    unit: str = ""
    units: tuple[str, ...] = ()
    at_temperature: str = ""
    instrument: str = "pressure gauge"


@dataclass(frozen=True, slots=True, kw_only=True)
class Leak(Line):
    """A later reading against the one of ``start``, both brought to reference temperature."""

    start: str
    loss: Span
    source: str
    revision: str
    unit: str = ""
    units: tuple[str, ...] = ()
    at_temperature: str = ""
    instrument: str = "pressure gauge"


@dataclass(frozen=True, slots=True, kw_only=True)
class Port(Line):
    """The state a port is left in for test or shipping."""

    port: str
    leave: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice(Line):
    """One of ``options``; those in ``outside`` count as outside limits."""

    options: tuple[str, ...]
    outside: tuple[str, ...] = ()
    dispositions: tuple[str, ...] = ()
    measure_again: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Note(Line):
    pass


@dataclass(frozen=True, slots=True)
class Photo(Line):
    """A picture by its file name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature(Line):
    """Initials and PIN. ``witness``: somebody who did not record any line of this section."""

    role: str = ""
    witness: bool = False


class Policy(StrEnum):
    ALWAYS = "always"  # replaced every time
    KEEP = "keep"  # inspected and kept; replaced when ``inspect`` says so
    CONDITION = "condition"  # only when ``when`` holds


@dataclass(frozen=True, slots=True, kw_only=True)
class KitLine:
    """One part the unit takes: ``inspect`` names the finding that may ask for another one,
    ``measured_by`` lines with a limit that may ask for it as well; with ``new`` it may not be a
    used one. Lines of one ``matched`` name are mates: stocked, fitted and replaced as one set."""

    id: str
    part: str
    quantity: int
    policy: Policy
    position: str = ""
    one_time: bool = False
    inspect: str = ""
    measured_by: tuple[str, ...] = ()
    when: tuple[Condition, ...] = ()
    new: bool = False
    matched: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GasCharge:
    """The charge: ``target`` gauge at ``reference`` temperature, in a space of ``volume``."""

    gas: str  # "nitrogen" is the only one a document may say
    target: Quantity
    reference: Quantity
    tolerance: Span
    volume: Quantity
    source: str
    revision: str
    before_proof: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Procedure:
    """One revision of one unit model's procedure, groups already laid out line by line."""

    model: str
    name: str
    revision: str
    effective: str
    changed: str
    gas_charged: bool
    order: tuple[str, ...]
    lines: tuple[Line, ...]  # in the order they are done
    kit: tuple[KitLine, ...] = ()
    rated_pressure: Rating | None = None
    precharge_limit: Rating | None = None
    highest_service_temperature: Quantity | None = None
    charge: GasCharge | None = None
    labour_minutes: tuple[tuple[str, int], ...] = ()

    def line(self, key: str) -> Line:
        """The line of that key. Raises KeyError."""
        return next(line for line in self.lines if line.key == key) if self.has(key) else _no(key)

    def has(self, key: str) -> bool:
        return any(line.key == key for line in self.lines)

    def in_section(self, section: str) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.section == section)


def _no(key: str) -> Line:
    raise KeyError(key)
