"""Where pieces went: lot to jobs and serials, job to lots, part to where it is used."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Select, and_, bindparam, func, select
from sqlalchemy.orm import aliased

from shopdesk.errors import NotFound
from shopdesk.records.tables import (
    Customer,
    Job,
    Lot,
    Part,
    Person,
    StockMove,
    Unit,
    UnitModel,
)
from shopdesk.rules import ledger
from shopdesk.rules.kits import LotState
from shopdesk.views import documents, lists, lots
from shopdesk.views.asked import ASKED, with_asked


@dataclass(frozen=True, slots=True)
class Use:
    """Pieces of one lot that one job has: what came back is taken off. ``left_on`` None: the
    unit is still in the house; ``stands_in_for``: the part the job asked for."""

    lot: str
    part: str
    pieces: int
    job: str
    serial: str
    model: str
    customer: str
    issued_on: date
    left_on: date | None
    stands_in_for: str
    matched_set: str


@dataclass(frozen=True, slots=True)
class Fitted:
    """Pieces of one lot in one job, with what is known of the lot."""

    part: str
    description: str
    lot: str
    pieces: int
    cured: str
    use_by: date | None
    certificate: str
    origin: str
    issued_on: date
    stands_in_for: str
    matched_set: str


@dataclass(frozen=True, slots=True)
class Place:
    """A kit line that asks for the part, in the procedure in force."""

    model: str
    revision: str
    kit_line: str
    position: str
    quantity: int
    policy: str


@dataclass(frozen=True, slots=True)
class Trace:
    """``kind`` is "lot", "job" or "part"; what does not belong to the kind is empty. ``moved`` are
    a lot's transfers between bins in words, the oldest first."""

    kind: str
    code: str
    said: str
    uses: Sequence[Use] = ()
    fitted: Sequence[Fitted] = ()
    places: Sequence[Place] = ()
    moved: Sequence[str] = ()


_FOR = func.coalesce(func.max(ASKED.number), "").label("asked")
_OUT = func.sum(-StockMove.on_hand_change)
_USES = with_asked(
    select(
        Lot.number.label("lot"),
        Part.number.label("part"),
        _OUT.label("pieces"),
        Job.number.label("job"),
        Unit.serial,
        UnitModel.code.label("model"),
        Customer.name.label("customer"),
        func.min(StockMove.at).label("at"),
        Job.closed_at,
        lots.OF_SET,
        _FOR,
    )
    .select_from(StockMove)
    .join(Lot, Lot.id == StockMove.lot_id)
    .join(Part, Part.id == StockMove.part_id)
    .join(Job, Job.id == StockMove.job_id)
    .join(Unit, Unit.id == Job.unit_id)
    .join(UnitModel, UnitModel.id == Unit.unit_model_id)
    .join(Customer, Customer.id == Job.customer_id)
    .where(StockMove.kind.in_(ledger.DRAWN))
    .group_by(
        Lot.id,
        Lot.number,
        Part.number,
        Job.id,
        Job.number,
        Unit.serial,
        UnitModel.code,
        Customer.name,
        Job.closed_at,
        Lot.set_number,
        Lot.set_broken,
    )
    .having(_OUT > 0)
    .order_by(Job.number.desc(), Part.number, Lot.number)
)
_FITTED = lots.with_origin(
    with_asked(
        select(
            Part.number.label("part"),
            Part.description,
            Lot.number.label("lot"),
            _OUT.label("pieces"),
            Lot.cured,
            Lot.use_by,
            Lot.certificate,
            func.min(StockMove.at).label("at"),
            lots.OF_SET,
            _FOR,
        )
        .select_from(StockMove)
        .join(Lot, Lot.id == StockMove.lot_id)
        .join(Part, Part.id == StockMove.part_id)
        .join(Job, Job.id == StockMove.job_id)
        .where(StockMove.kind.in_(ledger.DRAWN))
        .group_by(
            *lots.ORIGIN,
            Part.number,
            Part.description,
            Lot.id,
            Lot.number,
            Lot.cured,
            Lot.use_by,
            Lot.certificate,
            Lot.set_number,
            Lot.set_broken,
        )
        .having(_OUT > 0)
        .order_by(Part.number, Lot.number)
    )
)

_TRANSFERS = (
    select(
        StockMove.at,
        StockMove.on_hand_change.label("pieces"),
        Part.number,
        StockMove.reason,
        Person.initials,
    )
    .join(Lot, Lot.id == StockMove.lot_id)
    .join(Part, Part.id == StockMove.part_id)
    .join(Person, Person.id == StockMove.person_id)
    .where(
        Lot.number == bindparam("lot"), StockMove.kind == "transfer", StockMove.on_hand_change > 0
    )
    .order_by(StockMove.id)
)


_away, _to = aliased(StockMove), aliased(StockMove)
_MADE = (
    select(_to.lot_id)
    .join(
        _away,
        and_(
            _to.part_id == _away.part_id,
            _to.at == _away.at,
            _to.reason == _away.reason,
            _to.bin == _away.bin,  # a transfer to another bin changes it, and not the lot
            _to.lot_id != _away.lot_id,
            _to.on_hand_change == -_away.on_hand_change,
        ),
    )
    .where(
        _to.kind == "transfer",
        _away.kind == "transfer",
        _away.on_hand_change < 0,
        _away.lot_id.in_(bindparam("lots", expanding=True)),
    )
)
"""The lots that pieces of others became."""


def of(db: Connection, code: str) -> Trace:
    """What a lot, a matched set, a job's tag or a part number leads to. Raises NotFound for
    anything else."""
    scan = lists.what_is(db, code)
    mates = lots.of_set(db, code.strip().upper()) if scan is None else ()
    if mates:
        return _set(db, mates)
    if scan is None or scan.kind not in ("lot", "job", "part"):
        raise NotFound(
            f"read {code.strip()[:40]!r}: no lot, job tag or part number, no matched set"
        )
    if scan.kind == "job":
        return _job(db, int(scan.name))
    return _lot(db, scan.code) if scan.kind == "lot" else _part(db, scan.code)


def of_lot(db: Connection, *lots: str) -> Sequence[Use]:
    """Every job that has pieces of a lot with one of these numbers, or of a lot that pieces of it
    became (mates of a matched set made up here), the newest first."""
    ids = db.execute(select(Lot.id).where(Lot.number.in_(lots))).scalars().all()
    return _uses(db, _USES.where(Lot.id.in_({*ids, *_made_of(db, ids)})))


def _made_of(db: Connection, ids: Collection[int]) -> set[int]:
    """The lots that pieces of these became, and pieces of those."""
    found: set[int] = set()
    ahead = set(ids)
    while ahead:
        ahead = {int(lot) for lot in db.execute(_MADE, {"lots": sorted(ahead)}).scalars() if lot}
        ahead -= found
        found |= ahead
    return found - set(ids)


def _set(db: Connection, mates: Sequence[LotState]) -> Trace:
    """Where the lots of a matched set went, as one answer."""
    number, broken = mates[0].set_number, any(mate.set_broken for mate in mates)
    uses = of_lot(db, *{mate.number for mate in mates})
    own = {(mate.part, mate.number) for mate in mates}
    went = tuple(use for use in uses if (use.part, use.lot) in own)
    parts = "; ".join(f"{one.part} lot {one.number}, {one.on_hand} in stores" for one in mates)
    state = "broken: " if broken else ""
    return Trace("lot", number, f"matched set {number}: {state}{_jobs(went)}; {parts}", went)


def _lot(db: Connection, lot: str) -> Trace:
    uses = of_lot(db, lot)
    left = db.execute(
        lots.with_origin(
            select(Lot.id, Part.number, Lot.on_hand, lots.OF_SET)
            .join(Part, Part.id == Lot.part_id)
            .where(Lot.number == lot)
            .order_by(Part.number)
        )
    ).all()
    there = "; ".join(
        f"{row.on_hand} of {row.number} {lots.said(row) or 'on the shelf'}"
        + (f", matched set {row.matched_set}" if row.matched_set else "")
        for row in left
    )
    made = _made_of(db, [row.id for row in left])
    if made:
        numbers = db.execute(select(Lot.number).where(Lot.id.in_(made)).distinct()).scalars()
        there += f"; pieces of it became lot {', '.join(sorted(numbers))}"
    moved = tuple(
        f"{row.at.astimezone():%Y-%m-%d} {row.pieces} of {row.number}: {row.reason}, {row.initials}"
        for row in db.execute(_TRANSFERS, {"lot": lot})
    )
    return Trace("lot", lot, f"lot {lot}: {_jobs(uses)}; {there}", uses, moved=moved)


def _job(db: Connection, number: int) -> Trace:
    rows = db.execute(_FITTED.where(Job.number == number))
    told = (lots.told(row) for row in rows)
    fitted = tuple(
        Fitted(issued_on=_day(each.pop("at")), stands_in_for=each.pop("asked"), **each)
        for each in told
    )
    count = len(fitted)
    said = f"J-{number}: pieces of {count} {'lot' if count == 1 else 'lots'}"
    return Trace("job", f"J-{number}", said, fitted=fitted)


def _part(db: Connection, part: str) -> Trace:
    uses = _uses(db, _USES.where(Part.number == part))
    places = tuple(
        Place(doc.model, doc.revision, kit.id, kit.position or "", kit.quantity, str(kit.policy))
        for doc in documents.newest(db)
        for kit in doc.kit
        if kit.part == part
    )
    models = len({place.model for place in places})
    said = f"{part}: in the kit of {models} {'model' if models == 1 else 'models'}; {_jobs(uses)}"
    return Trace("part", part, said, uses, places=places)


def _uses(db: Connection, question: Select[*tuple[Any, ...]]) -> tuple[Use, ...]:
    return tuple(
        Use(
            row.lot,
            row.part,
            int(row.pieces),
            f"J-{row.job}",
            row.serial,
            row.model,
            row.customer,
            _day(row.at),
            None if row.closed_at is None else _day(row.closed_at),
            row.asked,
            row.matched_set,
        )
        for row in db.execute(question)
    )


def _jobs(uses: Sequence[Use]) -> str:
    count = len({use.job for use in uses})
    return f"went into {count} {'job' if count == 1 else 'jobs'}"


def _day(moment: datetime) -> date:
    return moment.astimezone().date()
