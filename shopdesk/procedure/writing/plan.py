"""What the questions give: figures as they were typed, each with its unit."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Stands:
    """Where a figure stands, and in which revision."""

    source: str
    revision: str


@dataclass(frozen=True, slots=True)
class Part:
    """A line of the kit. ``kept``: looked at, and replaced only when it is not good."""

    number: str
    what: str
    pieces: int = 1
    kept: bool = False
    how: str = ""  # how it goes in: "lips to the oil", "oiled"


@dataclass(frozen=True, slots=True)
class Measure:
    """A reading and its limit, either bound may be "". ``unit`` is the one the bounds are in."""

    what: str
    unit: str
    low: str = ""
    high: str = ""
    instrument: str = ""
    stands: Stands | None = None
    part: str = ""  # the number of the kept part that goes where it is outside


@dataclass(frozen=True, slots=True)
class Joint:
    """``tolerance`` is a torque or a share, "5 %"."""

    what: str
    target: str
    tolerance: str = "5 %"
    count: int = 1
    bit: str = ""
    stands: Stands | None = None


@dataclass(frozen=True, slots=True)
class Port:
    """A port and how it is closed for the road: plugged, capped or open."""

    name: str
    leave: str = "plugged"


@dataclass(frozen=True, slots=True)
class Gas:
    """The charge, and what is scanned for it beside the bottle and the rig."""

    limit: str
    target: str
    volume: str
    reference: str = "20 C"
    tolerance: str = "3 %"
    hottest: str = "60 C"
    valve: Port = Port("gas valve", "capped")
    before_proof: bool = False
    scanned: tuple[str, ...] = ("regulator", "hose")
    zero_held: str = "10 min"
    settle: str = "10 min"
    hold: str = "24 h"
    loss: str = "1 bar"


@dataclass(frozen=True, slots=True)
class Bench:
    """The proof: at which pressure, how long, and what is read there."""

    pressure: str
    held: str = "5 min"
    tests: tuple[Measure, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """``stands`` is where the figures stand that name nothing else; ``vented`` the shop's rule of
    what counts as zero. ``ports`` are those of the oil side."""

    model: str
    name: str
    rated: str
    stands: Stands
    bench: Bench
    on: date
    gas: Gas | None = None
    ports: tuple[Port, ...] = ()
    parts: tuple[Part, ...] = ()
    readings: tuple[Measure, ...] = ()
    joints: tuple[Joint, ...] = ()
    minutes: tuple[tuple[str, int], ...] = ()
    vented: Stands = Stands("shop rule 1, venting", "1")
    units: tuple[str, ...] = ("bar", "psi")
