"""What a certificate of the work says, as the record stood when it was issued.

Two issues: "release", from the release signature on, and "shipment", once the unit has left. Each
reads the record up to its own event, so that it says the same whenever it is asked for. A release
issue takes in corrections and concessions made after the signature: it may never say what the
record no longer holds.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, func, select

from shopdesk.calc import shelf
from shopdesk.errors import BadInput
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
from shopdesk.rules.answers import Answer, GasState
from shopdesk.rules.generated import Issue
from shopdesk.rules.sheet import LineState, Sheet, State
from shopdesk.views import sheets
from shopdesk.views.figures import (
    Defect,
    Figure,
    Given,
    Vented,
    as_received,
    defects,
    figure,
    labelled,
    last_charge,
    rounds,
    signer,
    vented,
)
from shopdesk.views.issues import RELEASE, SHIPMENT, Cut, as_it_stood, cut_of, released
from shopdesk.views.sheets import SheetView


@dataclass(frozen=True, slots=True)
class FittedLot:
    """Pieces of one lot that are in the unit; ``cured`` "2019Q2", "" where it has no cure date."""

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


@dataclass(frozen=True, slots=True)
class CertificateFacts:
    """Everything printed on a certificate. Times in UTC. ``charge`` is the last charge reading
    at the reference temperature, "" without one; ``event`` and ``head`` the id and the hash of
    the event this issue reads the record up to."""

    issue: str
    tag: str
    kind: str
    shop: str
    model: str
    model_name: str
    revision: str
    serial: str
    customer: str
    customer_code: str
    complaint: str
    received_at: datetime
    released_at: datetime
    shipped_at: datetime | None
    carrier: str
    received: tuple[Figure, ...]
    findings: tuple[Defect, ...]
    fitted: tuple[FittedLot, ...]
    torques: tuple[Figure, ...]
    settings: tuple[Figure, ...]
    tests: tuple[Figure, ...]
    charging: tuple[Figure, ...]
    charge: str
    charge_entries: tuple[int, ...]
    gas: str
    gas_state: str
    vent: Vented | None
    ports: tuple[Figure, ...]
    instruments: tuple[InstrumentUsed, ...]
    concessions: tuple[Conceded, ...]
    signatures: tuple[Signed, ...]
    cautions: tuple[str, ...]
    event: int
    head: str

    @property
    def issued_at(self) -> datetime:
        return self.shipped_at or self.released_at

    @property
    def oldest_cure(self) -> FittedLot | None:
        """The fitted lot with the oldest cure date."""
        cured = [lot for lot in self.fitted if lot.cured]
        return min(cured, key=lambda lot: shelf.cure_quarter(lot.cured), default=None)


def certificate(
    db: Connection, number: int, now: datetime, issue: str | None = None
) -> CertificateFacts:
    """The certificate of a job: its last issue, or the one named. ``now`` only loads the sheet;
    nothing on the certificate depends on it. Raises NotFound, Refused, BadInput."""
    if issue not in (None, RELEASE, SHIPMENT):
        raise BadInput(f"read {issue!r}; a certificate's issue is {RELEASE} or {SHIPMENT}")
    view = sheets.load(db, number, now)
    signed = released(view)
    cut = cut_of(db, view, signed, issue)
    return _facts(db, view, as_it_stood(db, view, cut), signed, cut)


def _facts(
    db: Connection, view: SheetView, sheet: Sheet, signed: Answer, cut: Cut
) -> CertificateFacts:
    heading, procedure = view.heading, sheet.procedure
    shipped = _shipment(db, heading.job_id) if cut.shipped else None
    charge = last_charge(sheet)
    figures = _Figures(sheet)
    names = {row.initials: row.name for row in db.execute(select(Person.initials, Person.name))}
    return CertificateFacts(
        issue=SHIPMENT if cut.shipped else RELEASE,
        tag=sheets.tag(heading.number),
        kind=heading.kind,
        shop=sheet.shop.name,
        model=heading.model,
        model_name=procedure.name,
        revision=procedure.revision,
        serial=heading.serial,
        customer=shipped.name if shipped else heading.customer,
        customer_code=shipped.code if shipped else heading.customer_code,
        complaint=heading.complaint,
        received_at=heading.opened_at,
        released_at=signed.at,
        shipped_at=cut.at if cut.shipped else None,
        carrier=shipped.carrier if shipped else "",
        received=figures.received(),
        findings=tuple(each for state in sheet.lines for each in defects(state)),
        fitted=tuple(_fitted(db, sheet, cut.at)),
        torques=figures.torques(),
        settings=figures.settings(),
        tests=figures.of("proof", doc.Reading, doc.Choice, doc.Wait),
        charging=figures.charging(),
        charge=charge[0] if charge else "",
        charge_entries=charge[2] if charge else (),
        gas=procedure.charge.gas if procedure.charge else "",
        gas_state=sheet.facts.gas_state.value,
        vent=vented(sheet) if sheet.facts.gas_state is GasState.VENTED else None,
        ports=figures.of("shipment", doc.Port),
        instruments=tuple(_instruments(db, sheet, cut.at)),
        concessions=tuple(_concessions(db, sheet, cut)),
        signatures=tuple(_signatures(sheet, names)),
        cautions=_cautions(sheet),
        event=cut.event,
        head=cut.head,
    )


@dataclass(frozen=True, slots=True)
class _Figures:
    sheet: Sheet

    def of(self, section: str, *kinds: type[doc.Line]) -> tuple[Figure, ...]:
        return tuple(
            figure(self.sheet, state, state.given)
            for state in self.sheet.section(section)
            if isinstance(state.line, kinds) and state.given
        )

    def received(self) -> tuple[Figure, ...]:
        kinds = (doc.Reading, doc.Survey, doc.Repeat, doc.Choice, doc.Note)
        return tuple(
            each
            for name in ("receipt", "vent", "teardown")
            for state in self.sheet.section(name)
            if isinstance(state.line, kinds)
            for each in as_received(self.sheet, state)
        )

    def torques(self) -> tuple[Figure, ...]:
        return self.of("build", doc.Torque)

    def settings(self) -> tuple[Figure, ...]:
        return self.of("build", doc.Restore, doc.Reading, doc.Repeat, doc.Survey, doc.Choice)

    def charging(self) -> tuple[Figure, ...]:
        charged = (doc.Regulator, doc.Charge, doc.Reading, doc.Choice)
        held = (doc.Wait, doc.Leak, doc.Reading, doc.Choice)
        return (
            *self.of("charge", *charged),
            *self.of("hold", *held),
            *self.of("release", doc.Reading, doc.Choice),
        )


def _shipment(db: Connection, job_id: int) -> Row[*tuple[Any, ...]] | None:
    """Whom it went to and how; None while an exchange unit stands on the shop's own shelf."""
    return db.execute(
        select(Customer.name, Customer.code, Shipment.carrier)
        .join(Customer, Customer.id == Shipment.customer_id)
        .where(Shipment.job_id == job_id)
    ).one_or_none()


def _fitted(db: Connection, sheet: Sheet, at: datetime) -> Iterator[FittedLot]:
    """Lots scanned on the lines that count, less what went back to the shelf."""
    rows = {
        (row.kit_line, row.lot): row
        for row in db.execute(
            select(
                StockMove.kit_line,
                Lot.number.label("lot"),
                Part.description,
                Lot.cured,
                Lot.use_by,
                Lot.use_by_source,
                Lot.certificate,
                func.sum(-StockMove.on_hand_change).label("pieces"),
            )
            .join(Lot, Lot.id == StockMove.lot_id)
            .join(Part, Part.id == StockMove.part_id)
            .where(StockMove.job_id == sheet.facts.id, StockMove.at <= at)
            .group_by(StockMove.kit_line, Lot.id, Part.id)
        )
    }
    for state in sheet.lines:
        if not isinstance(state.line, Issue):
            continue
        for answer in state.given.values():
            row = rows.get((state.line.kit, answer.answer.rpartition(" from ")[2]))
            pieces = min(round(answer.value_si or 0), int(row.pieces)) if row else 0
            if row and pieces > 0:
                yield FittedLot(
                    state.line.part,
                    row.description,
                    state.line.position,
                    row.lot,
                    pieces,
                    row.cured,
                    row.use_by,
                    row.use_by_source,
                    row.certificate,
                    (answer.id,),
                )


def _instruments(db: Connection, sheet: Sheet, at: datetime) -> Iterator[InstrumentUsed]:
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


def _concessions(db: Connection, sheet: Sheet, cut: Cut) -> Iterator[Conceded]:
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
            labelled(state.line),
            answer.answer,
            row.reason,
            row.name,
            row.customer_name,
            row.customer_how,
            row.at,
            (row.entry_id,),
        )


def _signatures(sheet: Sheet, names: dict[str, str]) -> Iterator[Signed]:
    for state in sheet.lines:
        if not isinstance(state.line, doc.Signature):
            continue
        for given in _shown(state):
            for answer in given.values():
                who = signer(answer)
                yield Signed(
                    labelled(state.line), names.get(who, who), who, answer.at, (answer.id,)
                )


def _cautions(sheet: Sheet) -> tuple[str, ...]:
    own = [
        state.line.text
        for name in ("release", "shipment")
        for state in sheet.section(name)
        if isinstance(state.line, doc.Caution) and state.state is State.SHOWN
    ]
    shops = [" ".join(text.split()) for text in sheet.shop.cautions_for("shipment")]
    return (*own, *shops)


__all__ = [
    "RELEASE",
    "SHIPMENT",
    "CertificateFacts",
    "Conceded",
    "FittedLot",
    "InstrumentUsed",
    "Signed",
    "certificate",
]
