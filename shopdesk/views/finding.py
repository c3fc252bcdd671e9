"""Jobs found as one types: by tag, serial, customer or model, quick however old the shop is.

What is open is looked through whole. Closed jobs are reached through an index for each of the
four, the newest of each, so that no text makes the database walk through all of them.
"""

from collections.abc import Iterator, Sequence
from itertools import chain

from sqlalchemy import ColumnElement, Connection, exists, func, literal, or_, select, union_all

from shopdesk.records.finding import PIECE, serial_starts, units_with
from shopdesk.records.tables import Customer, Job, ProcedureRevision, Unit, UnitModel, WorkOrder
from shopdesk.rules import serials
from shopdesk.views.board import JOBS, OPEN, JobRow, job_rows

FEW = 20
"""Up to so many customers or revisions are asked for their newest jobs one by one."""

RECENT = 20_000
"""With more, the shop's newest jobs are looked through."""

UNITS = 200
"""Units whose serials fit, at most, whose jobs are looked through."""

_DIGITS = 9


def find(db: Connection, text: str, limit: int = 50) -> Sequence[JobRow]:
    """Open jobs first, then closed ones, the newest first. A serial is found by any three signs
    of it, or by fewer it begins with; a tag by its first digits; customer and model by any part,
    an open job by any part of its order too.
    An empty text finds nothing."""
    words = text.strip()
    if not words:
        return ()
    wanted = _Wanted(words)
    # sorted here: asked for the newest, a database may walk all jobs ever for the few open ones
    open_ones = job_rows(db, OPEN.where(or_(*wanted.conditions())))
    found = sorted(open_ones, key=lambda job: -job.number)[:limit]
    if len(found) < limit:
        numbers = wanted.closed(db, limit - len(found))
        found += job_rows(db, JOBS.where(Job.number.in_(numbers)).order_by(Job.number.desc()))
    return found


def history(db: Connection, serial: str, limit: int = 20) -> Sequence[JobRow]:
    """Earlier and present visits of units whose serial begins with what is typed."""
    key = serials.key(serial)
    if len(key) < 2:
        return ()
    return job_rows(db, JOBS.where(serial_starts(db, key)).order_by(Job.number.desc()).limit(limit))


class _Wanted:
    """A text as each of the things it may be."""

    def __init__(self, words: str) -> None:
        self.key = serials.key(words)
        self.words = words.casefold()
        digits = words.upper().removeprefix("J-")
        plain = digits.isascii() and digits.isdigit() and len(digits) <= _DIGITS
        self.tags = list(_starting_with(int(digits))) if plain and int(digits) else []

    def conditions(self) -> Iterator[ColumnElement[bool]]:
        """For jobs few enough to be looked through."""
        yield self._customer()
        yield self._model()
        if len(self.key) >= PIECE:
            yield Unit.serial_key.like(f"%{self.key}%")
        elif self.key:
            yield Unit.serial_key.like(f"{self.key}%")
        yield exists().where(
            WorkOrder.id == Job.work_order_id,
            func.lower(WorkOrder.reference).contains(self.words, autoescape=True),
        )
        for first, last in self.tags:
            yield Job.number.between(first, last)

    def closed(self, db: Connection, limit: int) -> list[int]:
        """Numbers of closed jobs, the newest ``limit`` of all that were found."""
        found = chain(
            self._by_tag(db, limit),
            self._by_serial(db, limit),
            self._by_customer(db, limit),
            self._by_model(db, limit),
        )
        return sorted(set(found), reverse=True)[:limit]

    def _by_tag(self, db: Connection, limit: int) -> Sequence[int]:
        return _newest(db, [Job.number.between(*tags) for tags in self.tags], limit)

    def _by_serial(self, db: Connection, limit: int) -> Sequence[int]:
        if len(self.key) >= PIECE:
            return _newest(db, [Job.unit_id.in_(units_with(db, self.key, UNITS))], limit)
        if not self.key:
            return ()
        starting = select(Unit.id).where(serial_starts(db, self.key)).limit(UNITS)
        return _newest(db, [Job.unit_id.in_(db.execute(starting).scalars().all())], limit)

    def _by_customer(self, db: Connection, limit: int) -> Sequence[int]:
        ids = db.execute(select(Customer.id).where(self._customer())).scalars().all()
        if len(ids) <= FEW:
            return _newest(db, [Job.customer_id == each for each in ids], limit)
        return _recent(db, Job.customer_id.in_(ids), limit)

    def _by_model(self, db: Connection, limit: int) -> Sequence[int]:
        of_model = (
            select(ProcedureRevision.id)
            .join(UnitModel, UnitModel.id == ProcedureRevision.unit_model_id)
            .where(self._model())
        )
        ids = db.execute(of_model).scalars().all()
        if len(ids) <= FEW:
            return _newest(db, [Job.procedure_revision_id == each for each in ids], limit)
        return _recent(db, Job.procedure_revision_id.in_(ids), limit)

    def _customer(self) -> ColumnElement[bool]:
        return Customer.name_key.contains(self.words, autoescape=True)

    def _model(self) -> ColumnElement[bool]:
        return func.lower(UnitModel.code).contains(self.words, autoescape=True)


def _newest(db: Connection, each: Sequence[ColumnElement[bool]], limit: int) -> Sequence[int]:
    """The newest closed jobs under each condition, every one answered from an index."""
    if not each:
        return ()
    parts = [
        select(
            select(Job.number)
            .where(condition, Job.closed_at.is_not(None))
            .order_by(Job.number.desc())
            .limit(limit)
            .subquery()
        )
        for condition in each
    ]
    return db.execute(union_all(*parts)).scalars().all()


def _recent(db: Connection, condition: ColumnElement[bool], limit: int) -> Sequence[int]:
    newest = select(func.max(Job.number) - literal(RECENT)).scalar_subquery()
    return (
        db.execute(
            select(Job.number)
            .where(Job.number > newest, condition, Job.closed_at.is_not(None))
            .order_by(Job.number.desc())
            .limit(limit)
        )
        .scalars()
        .all()
    )


def _starting_with(number: int) -> Iterator[tuple[int, int]]:
    """Ranges of the numbers that begin with the digits of this one."""
    span = 1
    while number * span < 10**_DIGITS:
        yield number * span, number * span + span - 1
        span *= 10
