"""Interchange on record: what may stand in for a part, for what it may, how much of it is free."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, bindparam, func, or_, select
from sqlalchemy.orm import aliased

from shopdesk.errors import NotFound
from shopdesk.records.tables import Interchange as Made
from shopdesk.records.tables import InterchangeAnswer, Job, Part, Person, StockMove
from shopdesk.rules import kits, ledger
from shopdesk.rules.interchange import APPROVED, PROPOSED, Asking, Interchange, Spec
from shopdesk.rules.sheet import Sheet
from shopdesk.rules.waiting import SHORT
from shopdesk.views import documents, sheets, usable
from shopdesk.views.asked import ASKED

_STAND_IN, _ANSWERED = aliased(Part), aliased(Person)
_LAST = (
    select(func.max(InterchangeAnswer.id))
    .where(InterchangeAnswer.interchange_id == Made.id)
    .correlate(Made)
    .scalar_subquery()
)
_ROWS = (
    select(
        Made.id,
        ASKED.number.label("part"),
        _STAND_IN.number.label("stand_in"),
        Made.only_in,
        Made.reason,
        Person.initials.label("by"),
        Made.at,
        InterchangeAnswer.answer,
        _ANSWERED.initials.label("answered_by"),
        InterchangeAnswer.at.label("answered_at"),
        InterchangeAnswer.reason.label("answer_reason"),
    )
    .join(ASKED, ASKED.id == Made.part_id)
    .join(_STAND_IN, _STAND_IN.id == Made.stand_in_id)
    .join(Person, Person.id == Made.person_id)
    .outerjoin(InterchangeAnswer, InterchangeAnswer.id == _LAST)
    .outerjoin(_ANSWERED, _ANSWERED.id == InterchangeAnswer.person_id)
    .order_by(Made.id)
)
_OF_PART = _ROWS.where(
    or_(ASKED.number == bindparam("number"), _STAND_IN.number == bindparam("number"))
)
_FREE = select(Part.number, Part.bin, usable.FREE.label("free"))


@dataclass(frozen=True, slots=True)
class StandIn:
    """A part that is approved to stand in, with what is free of it today."""

    interchange: Interchange
    free: int
    bin: str

    @property
    def part(self) -> str:
        return self.interchange.stand_in

    @property
    def said(self) -> str:
        """ "SEAL-V90 may stand in, 12 free (interchange 3, only in GT-1)"."""
        only = f", only in {self.interchange.where}" if self.interchange.only_in else ""
        return f"{self.part} may stand in, {self.free} free ({self.interchange.named}{only})"


@dataclass(frozen=True, slots=True)
class Listed:
    """A row of the list, as it is printed."""

    number: int
    part: str
    stand_in: str
    only_in: str
    stands: str
    by: str
    on: date
    reason: str
    answered_by: str
    answered_on: date | None
    answer_reason: str


@dataclass(frozen=True, slots=True)
class Offered:
    """A job that ``lacks`` so many pieces of a part, and what is free that may stand in."""

    job: int
    part: str
    lacks: int
    by: str
    said: str


def every(db: Connection, part: str = "") -> Sequence[Interchange]:
    """All on record, the oldest first; with a part those it stands on either side of."""
    rows = db.execute(_OF_PART, {"number": part}) if part else db.execute(_ROWS)
    return tuple(_read(row) for row in rows)


def listed(db: Connection, part: str = "", *, gone: bool = False) -> Sequence[Listed]:
    """As printed: those that stand or wait for their answer; with ``gone`` the others too."""
    return tuple(
        Listed(
            one.number,
            one.part,
            one.stand_in,
            one.where,
            one.stands,
            one.by,
            one.at.astimezone().date(),
            one.reason,
            one.answered_by,
            None if one.answered_at is None else one.answered_at.astimezone().date(),
            one.answer_reason,
        )
        for one in every(db, part.strip().upper())
        if gone or one.open
    )


def find(db: Connection, number: int) -> Interchange:
    """The one of that number. Raises NotFound."""
    row = db.execute(_ROWS.where(Made.id == number)).one_or_none()
    if row is None:
        raise NotFound(f"no interchange {number} is on record")
    return _read(row)


def waiting(db: Connection) -> Sequence[Interchange]:
    """Proposals no manager has answered."""
    return tuple(one for one in every(db) if one.stands == PROPOSED)


def stand_ins(
    db: Connection, part: str, today: date, *, model: str = "", kit: str = ""
) -> Sequence[StandIn]:
    """What is approved for the part (on this kit line, where one is named), the one with most free
    first."""
    standing = [
        one
        for one in every(db, part)
        if one.part == part and (one.allows(model, kit) if model else one.stands == APPROVED)
    ]
    return _with_free(db, standing, today)


def by_part(db: Connection, today: date) -> Mapping[str, Sequence[StandIn]]:
    """Everything approved, by the part it may stand in for; only what has free pieces."""
    found: dict[str, list[StandIn]] = defaultdict(list)
    for one in _with_free(db, [one for one in every(db) if one.stands == APPROVED], today):
        if one.free > 0:
            found[one.interchange.part].append(one)
    return found


def lacks(db: Connection, sheet: Sheet) -> str:
    """ "Short of SEAL-N90: SEAL-V90 may stand in, 12 free (interchange 3)"; "" where the job is
    short of nothing it holds a kit for."""
    if not kits.may_reserve(sheet):
        return ""
    today, said = sheet.facts.now.astimezone().date(), []
    for kit, _ in kits.short(sheet):
        there = stand_ins(db, kit.part, today, model=sheet.procedure.model, kit=kit.id)
        others = "; ".join(one.said for one in there if one.free > 0)
        said.append(f"{kit.part}: {others}" if others else kit.part)
    return f"Short of {', '.join(dict.fromkeys(said))}" if said else ""


def offered(db: Connection, part: str, now: datetime) -> Sequence[Offered]:
    """Jobs short of the part (or of any, with ""), that something approved and free may stand in
    for, the oldest promise first."""
    today = now.astimezone().date()
    others = {asked: there for asked, there in by_part(db, today).items() if part in ("", asked)}
    if not others:
        return ()
    jobs = db.execute(
        select(Job.number)
        .where(Job.closed_at.is_(None), Job.stage == "parts", Job.waiting_for.startswith(SHORT))
        .order_by(Job.promised_on, Job.number)
    ).scalars()
    found = []
    for number in jobs.all():
        sheet = sheets.load(db, number, now).sheet
        for kit, lacks in kits.short(sheet):
            found += [
                Offered(number, kit.part, lacks, one.part, one.said)
                for one in others.get(kit.part, ())
                if one.interchange.allows(sheet.procedure.model, kit.id)
            ]
    return tuple(found)


def _with_free(db: Connection, standing: Sequence[Interchange], today: date) -> Sequence[StandIn]:
    if not standing:
        return ()
    numbers = {one.stand_in for one in standing}
    free = usable.on(today, documents.asked(db))
    rows = {row.number: row for row in db.execute(_FREE.where(Part.number.in_(numbers)), free)}
    found = [StandIn(one, int(rows[one.stand_in].free), rows[one.stand_in].bin) for one in standing]
    return tuple(sorted(found, key=lambda one: (-one.free, one.part)))


def asking(db: Connection, part: str) -> Asking:
    """The models in force whose kit asks for the part, each with its kit lines."""
    found: dict[str, list[str]] = defaultdict(list)
    for doc in documents.newest(db):
        for kit in doc.kit:
            if kit.part == part:
                found[doc.model].append(kit.id)
    return found


def spec(db: Connection, part: str) -> Spec:
    """What stores knows a part by. Raises NotFound."""
    row = db.execute(
        select(
            Part.number, Part.description, Part.dash, Part.compound, Part.thread, Part.grade
        ).where(Part.number == part.strip().upper())
    ).one_or_none()
    if row is None:
        raise NotFound(f"no part {part.strip()[:40]!r} in stores")
    return Spec(*row)


def jobs_with(db: Connection, number: int) -> Sequence[int]:
    """The jobs that have pieces by it."""
    pieces = func.sum(-StockMove.on_hand_change)
    asked = _jobs(number).where(StockMove.kind.in_(ledger.DRAWN)).having(pieces > 0)
    return tuple(row.number for row in db.execute(asked))


def jobs_holding(db: Connection, number: int) -> Sequence[tuple[int, int]]:
    """Number and id of the jobs that pieces are reserved for by it."""
    asked = _jobs(number).having(func.sum(StockMove.reserved_change) > 0)
    return tuple((row.number, row.id) for row in db.execute(asked))


def _jobs(number: int) -> Select[*tuple[Any, ...]]:
    return (
        select(Job.number, Job.id)
        .join(StockMove, StockMove.job_id == Job.id)
        .where(StockMove.interchange_id == number)
        .group_by(Job.number, Job.id, Job.promised_on)
        .order_by(Job.promised_on, Job.number)
    )


def _read(row: Row[*tuple[Any, ...]]) -> Interchange:
    return Interchange(
        number=row.id,
        part=row.part,
        stand_in=row.stand_in,
        only_in=tuple((model, kit) for model, kit in row.only_in),
        reason=row.reason,
        by=row.by,
        at=row.at,
        stands=row.answer or PROPOSED,
        answered_by=row.answered_by or "",
        answered_at=row.answered_at,
        answer_reason=row.answer_reason or "",
    )
