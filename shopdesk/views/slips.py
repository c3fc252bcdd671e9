"""What a packing slip says: the unit as it leaves, its ports, what is bagged, what is due."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select

from shopdesk.errors import Refused
from shopdesk.procedure import types as doc
from shopdesk.records.tables import Customer, Job, Lot, Part, Shipment, StockMove
from shopdesk.rules.answers import GasState, Road
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.views import documents, orders, quotes, sheets
from shopdesk.views.evidence import FittedLot, fitted
from shopdesk.views.figures import Vented, last_charge, vented
from shopdesk.views.sheets import Heading, SheetView

_REFUSED = {
    Road.SCRAPPED: "was scrapped: no unit goes back",
    Road.QUARANTINED: "stands in quarantine: nothing of it is packed",
}


@dataclass(frozen=True, slots=True)
class Said:
    """One answered line with the entries it stands on."""

    label: str
    value: str
    entries: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Own:
    """Pieces of a lot the customer brought that go back with the unit."""

    part: str
    description: str
    lot: str
    pieces: int


@dataclass(frozen=True, slots=True)
class Slip:
    """``part``: what is said of the rest of their order. ``declined``: goes back as it is.
    ``fee_cents`` is None where nothing is due for looking at it; it is what the quote said that was
    declined, by the rules of then (``fee_rules``). ``shipped_at`` is None while it has not left."""

    shop: str
    rules_revision: str
    heading: Heading
    place: str
    part: tuple[str, ...]
    declined: bool
    gas_state: str
    charge: str
    vent: Vented | None
    condition: tuple[Said, ...]
    bags: tuple[Said, ...]
    ports: tuple[Said, ...]
    fitted: tuple[FittedLot, ...]
    left_over: tuple[Own, ...]
    fee_cents: int | None
    fee_rules: str
    currency: str
    carrier: str
    shipped_at: datetime | None
    cautions: tuple[str, ...]


def slip(db: Connection, number: int, now: datetime) -> Slip:
    """The packing slip, once everything it lists is answered; of a unit that has left the same at
    every printing. Raises NotFound, Refused."""
    view = sheets.load(db, number, now)
    sheet, heading = view.sheet, view.heading
    sections = _leaving(view)
    sent = db.execute(
        select(Shipment.carrier, Shipment.at).where(Shipment.job_id == heading.job_id)
    ).one_or_none()
    rules = documents.rules_at(db, sent.at) if sent else sheet.shop
    as_of = sent.at if sent else now
    declined = sheet.facts.road is Road.DECLINED
    quote = quotes.latest(db, number)
    fee = quote.rules if quote is not None else rules
    charge, gas = last_charge(sheet), sheet.facts.gas_state
    place = db.execute(
        select(Customer.place)
        .join(Job, Job.customer_id == Customer.id)
        .where(Job.id == heading.job_id)
    ).scalar_one()
    order = orders.of_number(db, number, as_of)
    return Slip(
        shop=rules.name,
        rules_revision=rules.revision,
        heading=heading,
        place=place,
        part=order.told() if order else (),
        declined=declined,
        gas_state=gas.value,
        charge=charge[0] if charge and gas is GasState.CHARGED else "",
        vent=vented(sheet) if gas is GasState.VENTED else None,
        condition=_said(sections, doc.Choice) if declined else (),
        bags=_said(sections, doc.Note),
        ports=_said(sections, doc.Port),
        fitted=tuple(fitted(db, sheet, as_of)),
        left_over=_left_over(db, heading.job_id),
        fee_cents=fee.inspection_fee_cents if declined else None,
        fee_rules=fee.revision,
        currency=fee.currency,
        carrier=sent.carrier if sent else "",
        shipped_at=sent.at if sent else None,
        cautions=tuple(" ".join(text.split()) for text in rules.cautions_for("shipment")),
    )


def _left_over(db: Connection, job_id: int) -> tuple[Own, ...]:
    """Still here before the unit leaves, handed back after."""
    given = (
        select(func.coalesce(func.sum(-StockMove.on_hand_change), 0))
        .where(StockMove.lot_id == Lot.id, StockMove.kind == "hand back")
        .scalar_subquery()
    )
    rows = db.execute(
        select(Part.number, Part.description, Lot.number, Lot.on_hand + given)
        .join(Part, Part.id == Lot.part_id)
        .where(Lot.job_id == job_id, Lot.origin == "customer", Lot.on_hand + given > 0)
        .order_by(Part.number, Lot.number)
    )
    return tuple(Own(row[0], row[1], row[2], int(row[3])) for row in rows)


def _leaving(view: SheetView) -> tuple[LineState, ...]:
    """The lines a unit leaves by. What the slip lists has to be answered first."""
    sheet, name = view.sheet, sheets.tag(view.heading.number)
    road = sheet.facts.road
    if road in _REFUSED:
        raise Refused(f"{name} {_REFUSED[road]}")
    lines = (*sheet.section(road.value), *sheet.section("shipment"))
    missing = [
        state
        for state in lines
        if state.open and isinstance(state.line, doc.Choice | doc.Note | doc.Port)
    ]
    if missing:
        first = missing[0].line
        raise Refused(
            f"{name}: the packing slip lists what is packed and how; first open: {first.text}",
            tuple(state.line.key for state in missing),
            _mover(sheet),
        )
    return lines


def _mover(sheet: Sheet) -> str:
    return "counter" if sheet.stage in ("shipment", "declined") else "bench"


def _said(lines: tuple[LineState, ...], kind: type[doc.Line]) -> tuple[Said, ...]:
    return tuple(
        Said(state.line.label, answer.answer, (answer.id,))
        for state in lines
        if isinstance(state.line, kind)
        for slot, answer in state.given.items()
        if slot not in ("disposition",)
    )
