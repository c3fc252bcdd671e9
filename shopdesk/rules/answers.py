"""What a sheet is made from: the answers given so far and the facts of the job."""

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from shopdesk.rules.claims import Claim


class GasState(StrEnum):
    CHARGED = "charged"
    VENTED = "vented"
    UNKNOWN = "unknown"
    NONE = "none"

    @property
    def counts_as_charged(self) -> bool:
        return self in (GasState.CHARGED, GasState.UNKNOWN)


class Road(StrEnum):
    REPAIR = "repair"
    DECLINED = "declined"
    SCRAPPED = "scrapped"
    QUARANTINED = "quarantined"


# Causes of a reopening by which work is done over, and what it spent the shop's to pay.
DONE_OVER = ("rework", "consequence")

# Roads with lines of their own, from the shop's roads document.
SIDE_ROADS = ("declined", "scrapped", "quarantined")


class Verdict(StrEnum):
    WITHIN = "within"
    OUTSIDE = "outside"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Answer:
    """One entry of the record. ``superseded`` by a correction, or ``set_aside`` by a reopening
    (its cause; ``aside_for`` says why and who), it stays visible and no longer counts."""

    id: int
    line: str
    slot: str
    typed: str
    answer: str
    verdict: Verdict
    person: str
    at: datetime
    value_si: float | None = None
    unit: str = ""
    limit_text: str = ""
    limit_source: str = ""
    instrument: str = ""
    witness: str = ""
    supersedes: int | None = None
    reason: str = ""
    superseded: bool = False
    set_aside: str = ""
    doubt: str = ""  # its instrument failed the next check: how it read then
    aside_for: str = ""

    @property
    def counts(self) -> bool:
        return not self.superseded and not self.set_aside

    @property
    def done_over(self) -> bool:
        """Whether the work it tells of was undone: the parts it issued are spent."""
        return self.set_aside in DONE_OVER


@dataclass(frozen=True, slots=True)
class KitState:
    """One kit line of the job: pieces needed, issued to it, and what the shelf could give."""

    id: str
    part: str
    description: str
    quantity: int
    issued: int = 0
    reserved: int = 0
    available: int = 0  # could be issued today and is promised to nobody
    own: int = 0  # of the part, brought by the job's customer and not yet issued


@dataclass(frozen=True, slots=True)
class QuoteState:
    """The latest quote and its answer; ``cap_cents`` is what the customer agreed to at most."""

    id: int
    total_cents: int
    at: datetime
    answer: str = ""  # "", "approved", "declined"
    cap_cents: int = 0
    who: str = ""
    how: str = ""


@dataclass(frozen=True, slots=True)
class LeftWith:
    """The charge a unit left the shop with last time: gauge pascal at reference, and when."""

    pressure_pa: float
    at: datetime


@dataclass(frozen=True, slots=True)
class JobFacts:
    """The job beside its entries. ``road_reason``: why it left repair, and who agreed;
    ``extra_cents``: parts issued beyond what was quoted; ``claim``: the earlier job that a unit
    back under warranty is measured against."""

    id: int
    number: int
    kind: str
    road: Road
    gas_state: GasState
    now: datetime
    road_reason: str = ""
    quote: QuoteState | None = None
    extra_cents: int = 0
    kit: tuple[KitState, ...] = ()
    conceded: frozenset[int] = field(default_factory=frozenset)
    left_with: LeftWith | None = None
    claim: Claim | None = None
    assigned: str = ""
    closed: bool = False
    version: int = 1
