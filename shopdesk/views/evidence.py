"""What stands behind the work beside its readings: lots, instruments, concessions, signatures."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, func, select

from shopdesk.procedure import types as doc
from shopdesk.records.tables import (
    Calibration,
    Concession,
    Customer,
    Instrument,
    Lot,
    Part,
    Person,
    Shipment,
    StockMove,
)
from shopdesk.rules import ledger
from shopdesk.rules.generated import Issue
from shopdesk.rules.kits import issued_as
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.views import lots
from shopdesk.views.figures import Given, rounds, signer
from shopdesk.views.issues import Cut


@dataclass(frozen=True, slots=True)
class FittedLot:
    """Pieces of one lot that are in the unit; ``cured`` "2019Q2", "" where it has no cure date;
    ``asked``: the part that the kit line names."""

    asked: str
    part: str
    description: str
    position: str
    lot: str
    pieces: int
    cured: str
    use_by: date | None
    use_by_source: str
    certificate: str
    entries: tuple[int, ...]
    origin: str = ""
    stands_in: str = ""
    set_number: str = ""

    @property
    def not_as_asked(self) -> str:
        """What an owner has to know of it beside its number: whose or how old, in whose place."""
        said = ", ".join(each for each in (self.origin, self.stands_in) if each)
        return f"{self.pieces} x {self.part} of lot {self.lot}: {said}" if said else ""


@dataclass(frozen=True, slots=True)
class InstrumentUsed:
    code: str
    kind: str
    description: str
    due: date | None
    certificate: str
    entries: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Conceded:
    """An outside reading accepted by a manager and the customer."""

    label: str
    value: str
    reason: str
    manager: str
    customer: str
    how: str
    at: datetime
    entries: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Signed:
    label: str
    name: str
    initials: str
    at: datetime
    entries: tuple[int, ...]


def shipment(db: Connection, job_id: int) -> Row[*tuple[Any, ...]] | None:
    """Whom it went to and how; None while an exchange unit stands on the shop's own shelf."""
    return db.execute(
        select(Customer.name, Customer.code, Shipment.carrier)
        .join(Customer, Customer.id == Shipment.customer_id)
        .where(Shipment.job_id == job_id)
    ).one_or_none()


def fitted(db: Connection, sheet: Sheet, at: datetime) -> Iterator[FittedLot]:
    """Lots scanned on the lines that count, less what went back to the shelf."""
    asked = lots.with_origin(
        select(
            StockMove.kit_line,
            Lot.number.label("lot"),
            Part.number.label("part"),
            Part.description,
            Lot.cured,
            Lot.use_by,
            Lot.use_by_source,
            Lot.certificate,
            Lot.set_number,
            func.sum(-StockMove.on_hand_change).label("pieces"),
        )
        .join(Lot, Lot.id == StockMove.lot_id)
        .join(Part, Part.id == StockMove.part_id)
        .where(
            StockMove.job_id == sheet.facts.id,
            StockMove.at <= at,
            StockMove.kind.in_(ledger.DRAWN),
        )
        .group_by(StockMove.kit_line, Lot.id, Part.id, *lots.ORIGIN)
    )
    rows = {(row.kit_line, row.part, row.lot): row for row in db.execute(asked)}
    for state in sheet.lines:
        if not isinstance(state.line, Issue):
            continue
        for answer in state.given.values():
            part, lot = issued_as(answer.answer, state.line.part)
            row = rows.get((state.line.kit, part, lot))
            pieces = min(round(answer.value_si or 0), int(row.pieces)) if row else 0
            if row and pieces > 0:
                yield FittedLot(
                    state.line.part,
                    row.part,
                    row.description,
                    state.line.position,
                    row.lot,
                    pieces,
                    row.cured,
                    row.use_by,
                    row.use_by_source,
                    row.certificate,
                    (answer.id,),
                    lots.said(row),
                    f"{answer.limit_text} by {answer.limit_source}" if answer.limit_text else "",
                    row.set_number,
                )


def instruments(db: Connection, sheet: Sheet, at: datetime) -> Iterator[InstrumentUsed]:
    """Every instrument a reading carries, with the calibration in force at the issue."""
    used: dict[str, list[int]] = {}
    for state in sheet.lines:
        for given in _shown(state):
            for answer in given.values():
                if answer.instrument:
                    used.setdefault(answer.instrument, []).append(answer.id)
    for row in db.execute(
        select(Instrument.id, Instrument.code, Instrument.kind, Instrument.description)
        .where(Instrument.code.in_(used))
        .order_by(Instrument.code)
    ).all():
        last = db.execute(
            select(Calibration.due, Calibration.certificate)
            .where(Calibration.instrument_id == row.id, Calibration.passed, Calibration.at <= at)
            .order_by(Calibration.due.desc(), Calibration.id.desc())
            .limit(1)
        ).one_or_none()
        yield InstrumentUsed(
            row.code,
            row.kind,
            row.description,
            last.due.date() if last else None,
            last.certificate if last else "",
            tuple(sorted(used[row.code])),
        )


def _shown(state: LineState) -> tuple[Given, ...]:
    """The rounds of a line that the certificate shows."""
    gone = rounds(state)
    if state.line.section in ("receipt", "vent", "teardown") and gone:
        return (gone[0], gone[-1])[: len(gone)]
    return (state.given,)


def concessions(db: Connection, sheet: Sheet, cut: Cut) -> Iterator[Conceded]:
    rows = db.execute(
        select(
            Concession.line,
            Concession.entry_id,
            Concession.reason,
            Concession.customer_name,
            Concession.customer_how,
            Concession.at,
            Person.name,
        )
        .join(Person, Person.id == Concession.manager_id)
        .where(Concession.job_id == sheet.facts.id)
        .order_by(Concession.id)
        .limit(cut.concessions)
    ).all()
    for row in rows:
        state = sheet.get(row.line)
        answer = (
            next((a for a in state.given.values() if a.id == row.entry_id), None) if state else None
        )
        if state is None or answer is None:
            continue
        yield Conceded(
            state.line.label,
            answer.answer,
            row.reason,
            row.name,
            row.customer_name,
            row.customer_how,
            row.at,
            (row.entry_id,),
        )


def signatures(sheet: Sheet, names: dict[str, str]) -> Iterator[Signed]:
    for state in sheet.lines:
        if not isinstance(state.line, doc.Signature):
            continue
        for given in _shown(state):
            for answer in given.values():
                who = signer(answer)
                yield Signed(state.line.label, names.get(who, who), who, answer.at, (answer.id,))
