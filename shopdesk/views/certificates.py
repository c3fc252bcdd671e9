"""What a certificate of the work says, as the record stood when it was issued.

Two issues: "release", from the release signature on, and "shipment", once the unit has left. Each
reads the record up to its own event, so that it says the same whenever it is asked for. Work
changed after the signature voids it; the next signature makes the release issue anew.
"""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select

from shopdesk.calc import shelf
from shopdesk.errors import BadInput
from shopdesk.procedure import types as doc
from shopdesk.records.tables import Person
from shopdesk.rules import claims, pressures, service
from shopdesk.rules.answers import Answer, GasState
from shopdesk.rules.sheet import Sheet, State
from shopdesk.views import evidence, moves, sheets
from shopdesk.views import service as service_view
from shopdesk.views.evidence import Conceded, FittedLot, InstrumentUsed, Signed
from shopdesk.views.figures import (
    Defect,
    Figure,
    Vented,
    as_received,
    defects,
    figure,
    last_charge,
    vented,
)
from shopdesk.views.issues import RELEASE, SHIPMENT, Cut, as_it_stood, cut_of, released
from shopdesk.views.sheets import SheetView


@dataclass(frozen=True, slots=True)
class CertificateFacts:
    """Everything printed on a certificate. Times in UTC. ``charge`` is the last charge reading
    at the reference temperature, "" without one; ``claim`` the earlier job and what was decided
    where the unit came back under warranty, ``fault`` what was measured of it as it came;
    ``service`` what the charge lost in its last service and when to make it up; ``event`` and
    ``head`` the id and the hash of the event this issue reads the record up to."""

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
    order: str
    claim: str
    received_at: datetime
    released_at: datetime
    shipped_at: datetime | None
    carrier: str
    fault: tuple[Figure, ...]
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
    service: tuple[str, ...]
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
    db: Connection,
    number: int,
    now: datetime,
    issue: str | None = None,
    *,
    known: SheetView | None = None,
) -> CertificateFacts:
    """The certificate of a job: its last issue, or the one named. ``now`` only loads the sheet
    (``known`` as ``sheets.load``); nothing on the certificate depends on it. Raises NotFound,
    Refused, BadInput."""
    if issue not in (None, RELEASE, SHIPMENT):
        raise BadInput(f"read {issue!r}; a certificate's issue is {RELEASE} or {SHIPMENT}")
    view = sheets.load(db, number, now, known=known)
    signed = released(view)
    cut = cut_of(db, view, signed, issue)
    return _facts(db, view, as_it_stood(db, view, cut), signed, cut)


def _facts(
    db: Connection, view: SheetView, sheet: Sheet, signed: Answer, cut: Cut
) -> CertificateFacts:
    heading, procedure = view.heading, sheet.procedure
    shipped = evidence.shipment(db, heading.job_id) if cut.shipped else None
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
        revision=moves.named(moves.of_job(db, heading.job_id)[: cut.moves], procedure.revision),
        serial=heading.serial,
        customer=shipped.name if shipped else heading.customer,
        customer_code=shipped.code if shipped else heading.customer_code,
        complaint=heading.complaint,
        order=heading.order,
        claim=_claim(sheet),
        received_at=heading.opened_at,
        released_at=signed.at,
        shipped_at=cut.at if cut.shipped else None,
        carrier=shipped.carrier if shipped else "",
        fault=figures.fault(),
        received=figures.received(),
        findings=tuple(each for state in sheet.lines for each in defects(state)),
        fitted=tuple(evidence.fitted(db, sheet, cut.at)),
        torques=figures.torques(),
        settings=figures.settings(),
        tests=figures.of("proof", doc.Reading, doc.Choice, doc.Wait),
        charging=figures.charging(),
        charge=charge[0] if charge else "",
        charge_entries=charge[2] if charge else (),
        gas=procedure.charge.gas if procedure.charge else "",
        gas_state=sheet.facts.gas_state.value,
        service=_service(db, sheet, cut),
        vent=vented(sheet) if sheet.facts.gas_state is GasState.VENTED else None,
        ports=figures.of("shipment", doc.Port),
        instruments=tuple(evidence.instruments(db, sheet, cut.at)),
        concessions=tuple(evidence.concessions(db, sheet, cut)),
        signatures=tuple(evidence.signatures(sheet, names)),
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

    def fault(self) -> tuple[Figure, ...]:
        return tuple(each for name in claims.SECTIONS for each in self.of(name, claims.Again))

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


def _claim(sheet: Sheet) -> str:
    """ "on J-1012: covered; W1 joint loose; put right at our cost" """
    claim = sheet.facts.claim
    if claim is None:
        return ""
    said = [
        answer.answer
        for key in (claims.COVER, claims.CAUSE, claims.WHY)
        if (state := sheet.get(key)) is not None
        for answer in state.given.values()
    ]
    return f"on J-{claim.job}" + (f": {'; '.join(said)}" if said else "")


def _service(db: Connection, sheet: Sheet, cut: Cut) -> tuple[str, ...]:
    """In-service loss, and for a unit that leaves charged the day to make it up."""
    found = service_view.served(db, sheet)
    if found is None:
        return ()
    charged = pressures.last_charge_pa(sheet) or 0.0
    stays = sheet.facts.gas_state is GasState.CHARGED
    return service.said(found, sheet, charged if stays else 0.0, cut.at)


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
