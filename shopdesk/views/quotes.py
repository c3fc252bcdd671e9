"""A job's latest quote with its lines, as the office reads it out over the telephone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import Connection, select

from shopdesk.records.tables import Approval, Customer, Job, Person, Quote, QuoteLine
from shopdesk.rules.shop import ShopRules
from shopdesk.views import documents


@dataclass(frozen=True, slots=True)
class QuotedLine:
    """``kind`` is part, labour or margin; ``quantity`` pieces or hours; cents for all of it."""

    kind: str
    text: str
    quantity: float
    cents: int


@dataclass(frozen=True, slots=True)
class QuoteSeen:
    """``answer`` is "", "approved" or "declined"; amounts in cents of ``currency``; ``rules`` those
    it was made by."""

    job: int
    customer: str
    phone: str
    total_cents: int
    currency: str
    at: datetime
    made_by: str
    answer: str
    answered_by: str
    cap_cents: int
    lines: Sequence[QuotedLine]
    rules: ShopRules


def told(lines: Sequence[QuotedLine]) -> Sequence[QuotedLine]:
    """The lines as the customer is told them, each with its part of the margin in it: what they
    come to is what all lines come to. The margin is one on parts, so their lines carry it; the
    last cents go to the largest of them."""
    priced = [line for line in lines if line.kind != "margin"]
    margin = sum(line.cents for line in lines) - sum(line.cents for line in priced)
    base = sum(line.cents for line in priced if line.kind == "part")
    found = [line.cents for line in priced]
    if base:
        bearing = [n for n, line in enumerate(priced) if line.kind == "part"]
        for n in bearing:
            found[n] += priced[n].cents * margin // base
        left = sum(line.cents for line in lines) - sum(found)
        found[max(bearing, key=found.__getitem__)] += left
    return tuple(replace(line, cents=cents) for line, cents in zip(priced, found, strict=True))


def latest(db: Connection, number: int) -> QuoteSeen | None:
    """The latest quote of the job, None while there is none."""
    row = db.execute(
        select(
            Quote.id,
            Quote.total_cents,
            Quote.at,
            Person.initials,
            Customer.name,
            Customer.phone,
            Approval.answer,
            Approval.who,
            Approval.cap_cents,
        )
        .join(Job, Job.id == Quote.job_id)
        .join(Customer, Customer.id == Job.customer_id)
        .join(Person, Person.id == Quote.person_id)
        .outerjoin(Approval, Approval.quote_id == Quote.id)
        .where(Job.number == number)
        .order_by(Quote.id.desc())
        .limit(1)
    ).one_or_none()
    if row is None:
        return None
    rules = documents.rules_at(db, row.at)
    lines = db.execute(
        select(QuoteLine.kind, QuoteLine.text, QuoteLine.quantity, QuoteLine.cents)
        .where(QuoteLine.quote_id == row.id)
        .order_by(QuoteLine.id)
    )
    return QuoteSeen(
        job=number,
        customer=row.name,
        phone=row.phone,
        total_cents=row.total_cents,
        currency=rules.currency,
        at=row.at,
        made_by=row.initials,
        answer=row.answer or "",
        answered_by=row.who or "",
        cap_cents=row.cap_cents or 0,
        lines=tuple(QuotedLine(*line) for line in lines),
        rules=rules,
    )
