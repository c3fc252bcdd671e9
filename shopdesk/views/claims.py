"""The earlier job behind a claim: which lines of its certificate can be measured again."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Connection, bindparam, select
from sqlalchemy.orm import aliased

from shopdesk.procedure import types as doc
from shopdesk.records.tables import Claim as ClaimRow
from shopdesk.records.tables import Job, Shipment, Unit
from shopdesk.rules import claims, pressures
from shopdesk.rules.answers import Answer
from shopdesk.rules.claims import Claim, Earlier
from shopdesk.rules.shop import ShopRules
from shopdesk.views import documents
from shopdesk.views.answers import answers

_earlier = aliased(Job)
_CLAIM = (
    select(_earlier.id, _earlier.number, _earlier.procedure_revision_id, Shipment.at)
    .select_from(ClaimRow)
    .join(_earlier, _earlier.id == ClaimRow.earlier_job_id)
    .join(Shipment, Shipment.job_id == _earlier.id)
    .where(ClaimRow.job_id == bindparam("job_id"))
)
_LEFT = (
    select(Job.id, Job.number, Shipment.at)
    .join(Shipment, Shipment.job_id == Job.id)
    .join(Unit, Unit.id == Job.unit_id)
    .where(Unit.id == bindparam("unit_id"), Job.road == "repair")
    .order_by(Shipment.at.desc(), Job.id.desc())
    .limit(1)
)


def last_repair(db: Connection, unit_id: int) -> tuple[int, datetime] | None:
    """The job whose repair of this unit left last, and when."""
    row = db.execute(_LEFT, {"unit_id": unit_id}).one_or_none()
    return None if row is None else (row.id, row.at)


def of(db: Connection, job_id: int, shop: ShopRules) -> Claim | None:
    """The claim a job is on, None where it is on none. An earlier job is closed, so that its part
    of the sheet is the same whenever it is laid out."""
    row = db.execute(_CLAIM, {"job_id": job_id}).one_or_none()
    if row is None:
        return None
    procedure = documents.revision(db, row.procedure_revision_id)
    given: dict[str, dict[str, Answer]] = {}
    for answer in answers(db, row.id):
        if answer.counts:
            given.setdefault(answer.line, {})[answer.slot] = answer
    order = procedure.order
    return Claim(
        row.number,
        row.at,
        tuple(_lines(procedure, given, shop)),
        tuple(line for line in procedure.lines if isinstance(line, doc.Wait)),
        "charge" in order and "proof" in order and order.index("charge") < order.index("proof"),
    )


def line_of(db: Connection, job_id: int, key: str) -> doc.Line | None:
    """The line of the earlier certificate that a claim's line measures again, in words that say
    so; None for a key that is no claim's."""
    section, _, before = key.partition(".")
    row = db.execute(_CLAIM, {"job_id": job_id}).one_or_none()
    if section not in claims.SECTIONS or row is None:
        return None
    procedure = documents.revision(db, row.procedure_revision_id)
    if not procedure.has(before):
        return None
    line = procedure.line(before)
    return replace(line, text=f"{line.text}, as it came on the claim")


def _lines(
    procedure: doc.Procedure, given: Mapping[str, Mapping[str, Answer]], shop: ShopRules
) -> Iterator[Earlier]:
    for line in procedure.lines:
        answered = given.get(line.key, {})
        first = answered.get("answer" if isinstance(line, doc.Choice) else "value")
        if first is None or not claims.measurable(line):
            continue
        value, text = first.value_si, first.answer
        if isinstance(line, doc.Charge | doc.Leak):
            gas = answered.get("temperature")
            value = _settled(procedure, first, gas, shop)
            text = f"{first.answer} at {gas.answer}" if gas else first.answer
        yield Earlier(line, text, value, first.instrument, first.person, first.at, first.id)


def _settled(
    procedure: doc.Procedure, pressure: Answer, gas: Answer | None, shop: ShopRules
) -> float | None:
    plan = procedure.charge
    if plan is None or gas is None or pressure.value_si is None or gas.value_si is None:
        return None
    return pressures.at_reference_pa(pressure.value_si, gas.value_si, plan.reference.value_si, shop)
